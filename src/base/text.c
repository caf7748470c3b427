/* Growing texts and the few questions we ask of strings. */
#include "base/text.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_FIRST_CAPACITY = 256, ID_BYTES_MAX = 64, DISTANCE_BYTES_MAX = 128 };

void text_clear(Text *text)
{
    free(text->bytes);
    *text = (Text){0};
}

static void reserve(Text *text, size_t more)
{
    CHECK(more < SIZE_MAX / 4 - text->len);
    size_t need = text->len + more + 1;
    if (need <= text->capacity) return;
    size_t capacity = text->capacity == 0 ? TEXT_FIRST_CAPACITY : text->capacity * 2;
    if (capacity < need) capacity = need;
    text->bytes = check_realloc(text->bytes, capacity, 1);
    text->capacity = capacity;
}

void text_add_bytes(Text *text, const char *bytes, size_t len)
{
    reserve(text, len);
    if (len > 0) memcpy(text->bytes + text->len, bytes, len);
    text->len += len;
    text->bytes[text->len] = '\0';
}

void text_add(Text *text, const char *string)
{
    text_add_bytes(text, string, strlen(string));
}

void text_addf(Text *text, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    va_list again;
    va_copy(again, args);
    int len = vsnprintf(NULL, 0, format, args);
    va_end(args);
    CHECK(len >= 0);
    reserve(text, (size_t)len);
    (void)vsnprintf(text->bytes + text->len, (size_t)len + 1, format, again);
    va_end(again);
    text->len += (size_t)len;
}

enum { DIGITS = 17 };

/* mantissa 2^two 10^up as a whole number, a tie to the even one; false where there is nothing to
 * round. All is exact: 53 bits times those of 5^up fit in 128. */
static bool scale(uint64_t mantissa, int two, int up, uint64_t *out)
{
    static const uint64_t fives[] = {1,
                                     5,
                                     25,
                                     125,
                                     625,
                                     3125,
                                     15625,
                                     78125,
                                     390625,
                                     1953125,
                                     9765625,
                                     48828125,
                                     244140625,
                                     1220703125,
                                     6103515625,
                                     30517578125,
                                     152587890625,
                                     762939453125,
                                     3814697265625,
                                     19073486328125,
                                     95367431640625,
                                     476837158203125};
    __extension__ typedef unsigned __int128 Wide;
    CHECK(up >= 0 && up < (int)(sizeof fives / sizeof fives[0]));
    int shift = -two - up;
    if (shift < 1 || shift > 63) return false;
    Wide product = (Wide)mantissa * fives[up];
    uint64_t whole = (uint64_t)(product >> shift);
    uint64_t half = (uint64_t)1 << (shift - 1);
    uint64_t rest = (uint64_t)product & (2 * half - 1);
    *out = whole + (rest > half || (rest == half && whole % 2 == 1));
    return true;
}

/* The seventeen significant digits of a positive number as one whole number, and the power of ten
 * of the first; false outside 1e-5 to about 1e15. */
static bool find_digits(double value, uint64_t *digits, int *ten)
{
    int two;
    uint64_t mantissa = (uint64_t)(frexp(value, &two) * 0x1p53);
    double first = floor((two - 1) * 0.30102999566398120); /* log10(2); or one less */
    if (first < -5.0 || first >= DIGITS - 1.0) return false;
    *ten = (int)first;
    if (!scale(mantissa, two - 53, DIGITS - 1 - *ten, digits)) return false;
    if (*digits < 100000000000000000) return true;
    ++*ten;
    return scale(mantissa, two - 53, DIGITS - 1 - *ten, digits);
}

/* The last eight digits of a number, by twos. */
static void write_eight(char *out, uint32_t number)
{
    static const char pairs[] = "0001020304050607080910111213141516171819"
                                "2021222324252627282930313233343536373839"
                                "4041424344454647484950515253545556575859"
                                "6061626364656667686970717273747576777879"
                                "8081828384858687888990919293949596979899";
    for (int i = 6; i >= 0; i -= 2, number /= 100) {
        memcpy(out + i, &pairs[(size_t)2 * (number % 100)], 2);
    }
}

void text_add_double(Text *text, double value)
{
    enum { TEN_MIN = -4, BYTES_MAX = 2 + DIGITS - TEN_MIN }; /* "-0.000" and the digits */
    static const char zeros[] = {'0', '.', '0', '0', '0'};
    const uint32_t eight = 100000000;
    uint64_t number;
    int ten;
    if (value == 0.0 || !find_digits(fabs(value), &number, &ten) || ten < TEN_MIN) {
        text_addf(text, "%.17g", value);
        return;
    }
    /* In place, as bytes that were just written one by one are slow to copy. */
    reserve(text, BYTES_MAX);
    char *to = text->bytes + text->len;
    if (value < 0.0) *to++ = '-';
    if (ten < 0) {
        memcpy(to, zeros, sizeof zeros);
        to += 1 - ten;
    }
    char *digits = ten < 0 ? to : to + 1;
    uint32_t high = (uint32_t)(number / eight);
    uint32_t low = (uint32_t)(number % eight);
    digits[0] = (char)('0' + high / eight);
    write_eight(digits + 1, high % eight);
    write_eight(digits + 9, low);
    char *end = digits + (low == 0 ? 9 : DIGITS);
    while (end > digits + 1 && end[-1] == '0') {
        end--;
    }
    for (int i = 0; i <= ten; i++) {
        to[i] = digits[i];
    }
    if (ten >= 0) to[ten + 1] = '.';
    if (ten >= 0 && end <= to + ten + 2) end = to + ten + 1;
    *end = '\0';
    text->len = (size_t)(end - text->bytes);
}

void text_add_quoted(Text *text, const char *string)
{
    static const char *const short_forms[] = {
        ['\b'] = "\\b", ['\t'] = "\\t", ['\n'] = "\\n",  ['\f'] = "\\f",
        ['\r'] = "\\r", ['"'] = "\\\"", ['\\'] = "\\\\",
    };
    text_add(text, "\"");
    for (; *string != '\0'; string++) {
        unsigned char byte = (unsigned char)*string;
        if (byte < sizeof short_forms / sizeof short_forms[0] && short_forms[byte] != NULL) {
            text_add(text, short_forms[byte]);
        } else if (byte < 0x20) {
            text_addf(text, "\\u%04x", (unsigned)byte);
        } else {
            text_add_bytes(text, string, 1);
        }
    }
    text_add(text, "\"");
}

const char *text_string(const Text *text)
{
    return text->bytes == NULL ? "" : text->bytes;
}

/* The length of the well-formed character at `bytes`, or 0 (Unicode, table 3-7). */
static size_t utf8_character(const unsigned char *bytes, size_t len)
{
    unsigned char first = bytes[0];
    if (first < 0x80) return 1;
    size_t more = first >= 0xf0 ? 3 : first >= 0xe0 ? 2 : 1;
    unsigned char low = first == 0xe0 ? 0xa0 : first == 0xf0 ? 0x90 : 0x80;
    unsigned char high = first == 0xed ? 0x9f : first == 0xf4 ? 0x8f : 0xbf;
    if (first < 0xc2 || first > 0xf4 || len <= more) return 0;
    if (bytes[1] < low || bytes[1] > high) return 0;
    for (size_t i = 2; i <= more; i++) {
        if (bytes[i] < 0x80 || bytes[i] > 0xbf) return 0;
    }
    return more + 1;
}

bool text_is_utf8(const char *bytes, size_t len, size_t *bad_at)
{
    const uint64_t high_bits = UINT64_C(0x8080808080808080);
    for (size_t i = 0; i < len;) {
        uint64_t eight = high_bits;
        if (len - i >= sizeof eight) memcpy(&eight, bytes + i, sizeof eight);
        if ((eight & high_bits) == 0) { /* eight characters at once */
            i += sizeof eight;
            continue;
        }
        size_t step = utf8_character((const unsigned char *)bytes + i, len - i);
        if (step == 0) {
            if (bad_at != NULL) *bad_at = i;
            return false;
        }
        i += step;
    }
    return true;
}

bool text_is_id(const char *string)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "0123456789-_.";
    size_t len = strspn(string, letters);
    return len >= 1 && len <= ID_BYTES_MAX && string[len] == '\0';
}

bool text_to_int(const char *string, int64_t *value)
{
    const char *digits = string[0] == '-' ? string + 1 : string;
    size_t len = strspn(digits, "0123456789");
    if (len == 0 || digits[len] != '\0') return false;
    errno = 0;
    long long got = strtoll(string, NULL, 10);
    if (errno != 0) return false;
    *value = got;
    return true;
}

int text_distance(const char *a, const char *b)
{
    size_t a_len = strlen(a);
    size_t b_len = strlen(b);
    if (a_len > DISTANCE_BYTES_MAX || b_len > DISTANCE_BYTES_MAX) return DISTANCE_BYTES_MAX;
    int row[DISTANCE_BYTES_MAX + 1];
    for (size_t j = 0; j <= b_len; j++) {
        row[j] = (int)j;
    }
    for (size_t i = 1; i <= a_len; i++) {
        int diagonal = row[0];
        row[0] = (int)i;
        for (size_t j = 1; j <= b_len; j++) {
            int swap = diagonal + (a[i - 1] != b[j - 1]);
            int edit = 1 + (row[j] < row[j - 1] ? row[j] : row[j - 1]);
            diagonal = row[j];
            row[j] = swap < edit ? swap : edit;
        }
    }
    return row[b_len];
}

/* The character at *at, which is then behind it; 0 at the end. The bytes are valid UTF-8. */
static uint32_t next_character(const char **at)
{
    const unsigned char *c = (const unsigned char *)*at;
    if (c[0] == 0) return 0;
    int more = c[0] < 0x80 ? 0 : c[0] < 0xe0 ? 1 : c[0] < 0xf0 ? 2 : 3;
    uint32_t value = more == 0 ? c[0] : c[0] & (0x3fU >> more);
    for (int i = 1; i <= more; i++) {
        value = value << 6 | (c[i] & 0x3fU);
    }
    *at += more + 1;
    return value;
}

/* The small letter of a capital: the simple lower case of the Unicode Standard, UnicodeData.txt. */
static uint32_t small_letter(uint32_t c)
{
    bool is_plain = (c >= 'A' && c <= 'Z') || (c >= 0xc0 && c <= 0xde && c != 0xd7) ||
                    (c >= 0x391 && c <= 0x3a9 && c != 0x3a2) || (c >= 0x410 && c <= 0x42f);
    if (is_plain) return c + 0x20;
    if (c >= 0x400 && c <= 0x40f) return c + 0x50;
    if (c == 0x178) return 0xff;
    bool is_even_capital = (c >= 0x100 && c <= 0x137 && c != 0x130) || (c >= 0x14a && c <= 0x177) ||
                           (c >= 0x218 && c <= 0x21b);
    bool is_odd_capital = (c >= 0x139 && c <= 0x148) || (c >= 0x179 && c <= 0x17e);
    if (is_even_capital) return c | 1;
    return is_odd_capital ? c + (c & 1) : c;
}

static bool is_blank(uint32_t c)
{
    return c == ' ' || c == '\t' || c == 0xa0; /* U+00A0: a blank at which no line breaks */
}

/* The next small letter of a name, one blank for any number between two words; 0 at the end. */
static uint32_t next_of_name(const char **at, bool is_first)
{
    const char *before = *at;
    uint32_t c = next_character(at);
    bool was_blank = is_blank(c);
    while (is_blank(c)) {
        before = *at;
        c = next_character(at);
    }
    if (!was_blank || is_first || c == 0) return small_letter(c);
    *at = before;
    return ' ';
}

bool text_is_same_name(const char *a, const char *b)
{
    for (bool is_first = true;; is_first = false) {
        uint32_t of_a = next_of_name(&a, is_first);
        if (of_a != next_of_name(&b, is_first)) return false;
        if (of_a == 0) return true;
    }
}
