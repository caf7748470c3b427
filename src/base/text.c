/* Growing texts and the few questions we ask of strings. */
#include "base/text.h"

#include <errno.h>
#include <float.h>
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

/* The seventeen significant digits of a positive number as one whole number, and the power of ten
 * of the first; false where the machine's long numbers cannot tell, which is seldom. */
static bool find_digits(double value, uint64_t *digits, int *ten)
{
#if LDBL_MANT_DIG < 64
    (void)value, (void)digits, (void)ten;
    return false;
#else
    /* Whole in 64 bits up to here, as 5^27 is. */
    static const long double tens[] = {1e0L,  1e1L,  1e2L,  1e3L,  1e4L,  1e5L,  1e6L,
                                       1e7L,  1e8L,  1e9L,  1e10L, 1e11L, 1e12L, 1e13L,
                                       1e14L, 1e15L, 1e16L, 1e17L, 1e18L, 1e19L, 1e20L,
                                       1e21L, 1e22L, 1e23L, 1e24L, 1e25L, 1e26L, 1e27L};
    enum { TENS = sizeof tens / sizeof tens[0], LAST = 16 };
    int first = (int)floor(log10(value)); /* or one off */
    if (first < LAST - TENS + 2 || first > LAST + TENS - 2) return false;
    int up = LAST - first;
    long double scaled = up >= 0 ? (long double)value * tens[up] : (long double)value / tens[-up];
    if (scaled < tens[LAST] || scaled >= tens[LAST + 1]) {
        up += scaled < tens[LAST] ? 1 : -1;
        scaled = up >= 0 ? (long double)value * tens[up] : (long double)value / tens[-up];
    }
    /* Below 2^57, so off by 2^-8 at most. */
    uint64_t whole = (uint64_t)scaled;
    long double rest = scaled - (long double)whole;
    if (rest > 0.49L && rest < 0.51L) return false;
    *digits = whole + (rest > 0.5L);
    *ten = LAST - up;
    if (*digits == (uint64_t)tens[LAST + 1]) {
        *digits /= 10;
        ++*ten;
    }
    return true;
#endif
}

void text_add_double(Text *text, double value)
{
    enum { DIGITS = 17, TEN_MIN = -4 };
    /* The sign, perhaps "0." and zeros, and over the rest the digits with a point among them. */
    char out[2 * DIGITS + 8] = "-0.0000";
    uint64_t number;
    int ten;
    if (value == 0.0 || !find_digits(fabs(value), &number, &ten) || ten < TEN_MIN ||
        ten >= DIGITS) {
        text_addf(text, "%.17g", value);
        return;
    }
    char *digits = out + (ten < 0 ? 2 - ten : 1);
    for (int i = DIGITS; i-- > 0; number /= 10) {
        digits[i] = (char)('0' + number % 10);
    }
    int count = DIGITS;
    while (count > 1 && digits[count - 1] == '0') {
        count--;
    }
    if (ten >= 0 && count > ten + 1) {
        memmove(digits + ten + 2, digits + ten + 1, (size_t)(count - ten - 1));
        digits[ten + 1] = '.';
        count++;
    } else if (ten >= 0) {
        count = ten + 1;
    }
    const char *begin = out + (value > 0.0);
    text_add_bytes(text, begin, (size_t)(digits + count - begin));
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
    for (size_t i = 0; i < len;) {
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
