/* Blobs sealed by what a person knows, and the text of recovery codes. */
#include "records/secrets.h"

#include <string.h>

#include "base/os.h"

/* Also the second byte of a blob. */
typedef enum { BY_PIN = 1, BY_PASSPHRASE = 2, BY_RECOVERY = 3 } Opener;

enum {
    BLOB_VERSION = 1,
    ID_BYTES = REC_ID_BYTES - 1,
    SALT_AT = 2,
    NONCE_AT = SALT_AT + REC_SALT_BYTES,
    SEALED_AT = NONCE_AT + REC_NONCE_BYTES,
    SUM_BYTES = 8,
    CODE_CHARACTERS = 28, /* with the check */
    CODE_CHECKS = 2,
    CODE_GROUP = 4,
};

_Static_assert(SEALED_AT + REC_TAG_BYTES + SUM_BYTES == REC_PIN_BLOB_BYTES &&
                   REC_PIN_BLOB_BYTES + REC_SEED_BYTES == REC_SEED_BLOB_BYTES,
               "a blob is as long as its parts");
_Static_assert(CODE_CHARACTERS + CODE_CHARACTERS / CODE_GROUP == REC_RECOVERY_TEXT_BYTES,
               "groups of four, a '-' or the NUL behind each");

/* What was typed, as bytes. */
typedef struct {
    Opener opener;
    const void *bytes;
    size_t len;
} Typed;

/* The key of the seal and the bytes it is bound to; wiped by its user. */
typedef struct {
    unsigned char key[REC_SEAL_KEY_BYTES];
    unsigned char associated[SEALED_AT + ID_BYTES];
} SealKey;

static size_t secret_bytes(Opener opener)
{
    return opener == BY_PIN ? 0 : REC_SEED_BYTES;
}

/* `blob` holds the bytes before the sealed ones; they are borrowed with `key`. */
static RecSealing sealing_of(const char *person, const Typed *typed, const unsigned char *blob,
                             SealKey *key)
{
    int passes = typed->opener == BY_PIN ? REC_PIN_PASSES : REC_PASSPHRASE_PASSES;
    RecCost cost = {passes, REC_SECRET_MEMORY_KIB};
    rec_argon2id(&cost, typed->bytes, typed->len, blob + SALT_AT, key->key);
    memcpy(key->associated, blob, SEALED_AT);
    memcpy(key->associated + SEALED_AT, person, ID_BYTES);
    return (RecSealing){key->key, blob + NONCE_AT, key->associated, sizeof key->associated};
}

static void sum_of(const char *person, const unsigned char *blob, size_t len,
                   unsigned char sum[SUM_BYTES])
{
    RecHash hash = rec_sha256(person, ID_BYTES, blob, len);
    CHECK(rec_hex_read(hash.hex, (size_t)2 * SUM_BYTES, sum, SUM_BYTES));
}

/* Replace `out` with a new blob of `secret`, NULL for a PIN. */
static void blob_make(const char *person, const Typed *typed, const unsigned char *secret,
                      Text *out)
{
    CHECK(strlen(person) == ID_BYTES);
    unsigned char blob[REC_SEED_BLOB_BYTES];
    SealKey key;
    blob[0] = BLOB_VERSION;
    blob[1] = (unsigned char)typed->opener;
    os_random(blob + SALT_AT, REC_SALT_BYTES + REC_NONCE_BYTES);
    RecSealing with = sealing_of(person, typed, blob, &key);
    size_t secret_len = secret_bytes(typed->opener);
    size_t len = SEALED_AT + secret_len + REC_TAG_BYTES;
    rec_seal(&with, secret, secret_len, blob + SEALED_AT);
    rec_wipe(&key, sizeof key);
    sum_of(person, blob, len, blob + len);
    text_clear(out);
    text_add_bytes(out, (const char *)blob, len + SUM_BYTES);
}

/* Is the blob whole, of our version, for this opener and this person? */
static bool blob_check(const char *person, Opener opener, const unsigned char *blob, size_t len)
{
    unsigned char sum[SUM_BYTES];
    if (len != REC_PIN_BLOB_BYTES + secret_bytes(opener)) return false;
    if (blob[0] != BLOB_VERSION || blob[1] != opener) return false;
    sum_of(person, blob, len - SUM_BYTES, sum);
    return memcmp(sum, blob + len - SUM_BYTES, SUM_BYTES) == 0; /* no secret: it stands there */
}

/* Open into `secret`, of secret_bytes, NULL for a PIN. */
static bool blob_open(const char *person, const Text *blob, const Typed *typed,
                      unsigned char *secret, bool *right, Err *err)
{
    static const char *const names[] = {"", "PIN", "passphrase", "recovery code"};
    CHECK(strlen(person) == ID_BYTES);
    const unsigned char *bytes = (const unsigned char *)blob->bytes;
    if (!blob_check(person, typed->opener, bytes, blob->len)) {
        return err_set(err, ERR_DAMAGE,
                       "what the %s opens is torn, altered, another person's or of another "
                       "version; it must be made anew",
                       names[typed->opener]);
    }
    SealKey key;
    unsigned char opened[REC_SEED_BYTES] = {0};
    size_t secret_len = secret_bytes(typed->opener);
    RecSealing with = sealing_of(person, typed, bytes, &key);
    *right = rec_unseal(&with, bytes + SEALED_AT, secret_len + REC_TAG_BYTES, opened);
    if (*right && secret_len > 0) memcpy(secret, opened, secret_len);
    rec_wipe(opened, sizeof opened);
    rec_wipe(&key, sizeof key);
    return true;
}

/* --- PIN ------------------------------------------------------------------------------------- */

static bool is_pin(const char *pin)
{
    size_t len = strlen(pin);
    return len >= REC_PIN_DIGITS_MIN && len <= REC_PIN_DIGITS_MAX &&
           strspn(pin, "0123456789") == len;
}

bool rec_pin_set(const char *person, const char *pin, Text *blob, Err *err)
{
    CHECK(person != NULL && pin != NULL && blob != NULL && err != NULL);
    if (!is_pin(pin)) return err_set(err, ERR_INPUT, "a PIN is 4 to 8 digits");
    blob_make(person, &(Typed){BY_PIN, pin, strlen(pin)}, NULL, blob);
    return true;
}

bool rec_pin_check(const char *person, const Text *blob, const char *pin, bool *right, Err *err)
{
    CHECK(person != NULL && blob != NULL && pin != NULL && right != NULL && err != NULL);
    return blob_open(person, blob, &(Typed){BY_PIN, pin, strlen(pin)}, NULL, right, err);
}

int64_t rec_wait_us(int64_t failed, int64_t last_ticks_us, int64_t ticks_us)
{
    enum { FREE_TRIES = 3 };
    const int64_t first_us = 5000000;
    const int64_t longest_us = 900000000;
    CHECK(last_ticks_us >= 0 && ticks_us >= 0);
    if (failed <= FREE_TRIES) return 0;
    int64_t wait_us = first_us;
    for (int64_t i = FREE_TRIES + 1; i < failed && wait_us < longest_us; i++) {
        wait_us *= 2;
    }
    if (wait_us > longest_us) wait_us = longest_us;
    /* Ticks that went back tell of a restart: at least they have passed since. When they did not go
     * back there may still have been one, and then more has passed than their difference. */
    int64_t passed_us = ticks_us >= last_ticks_us ? ticks_us - last_ticks_us : ticks_us;
    return passed_us < wait_us ? wait_us - passed_us : 0;
}

/* --- Passphrase ------------------------------------------------------------------------------ */

/* The next byte of `text` at *at, blanks left out and A-Z made small. */
static char next_folded(const char *text, size_t *at)
{
    while (text[*at] == ' ') {
        *at += 1;
    }
    char c = text[*at];
    if (c == '\0') return c;
    *at += 1;
    return (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
}

static bool same_folded(const char *a, const char *b)
{
    size_t a_at = 0;
    size_t b_at = 0;
    for (;;) {
        char c = next_folded(a, &a_at);
        if (c != next_folded(b, &b_at)) return false;
        if (c == '\0') return true;
    }
}

/* The length of the character, valid UTF-8, that `text` begins with; 0 at its end. */
static size_t character_bytes(const char *text)
{
    if (text[0] == '\0') return 0;
    size_t len = 1;
    while (((unsigned char)text[len] & 0xc0U) == 0x80U) {
        len++;
    }
    return len;
}

bool rec_passphrase_fits(const char *passphrase, const char *name, Err *err)
{
    CHECK(passphrase != NULL && name != NULL && err != NULL);
    size_t len = strlen(passphrase);
    if (len > REC_PASSPHRASE_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "the passphrase has %zu bytes, limit %d", len,
                       REC_PASSPHRASE_BYTES_MAX);
    }
    if (!text_is_utf8(passphrase, len, NULL)) {
        return err_set(err, ERR_INPUT, "the passphrase is not valid UTF-8");
    }
    size_t first_len = character_bytes(passphrase);
    bool all_same = true;
    int characters = 0;
    for (size_t at = 0; at < len; characters++) {
        size_t here = character_bytes(passphrase + at);
        unsigned char c = (unsigned char)passphrase[at];
        if (c < 0x20 || c == 0x7f) {
            return err_set(err, ERR_INPUT, "the passphrase holds a control character");
        }
        all_same = all_same && strncmp(passphrase + at, passphrase, first_len) == 0;
        at += here;
    }
    if (characters < REC_PASSPHRASE_CHARACTERS_MIN) {
        return err_set(err, ERR_RANGE, "the passphrase has %d characters, at least %d are needed",
                       characters, REC_PASSPHRASE_CHARACTERS_MIN);
    }
    if (all_same) {
        return err_set(err, ERR_INPUT, "the passphrase is one character over and over");
    }
    if (same_folded(passphrase, name)) {
        return err_set(err, ERR_INPUT, "the passphrase is the person's name");
    }
    return true;
}

static Typed typed_passphrase(const char *passphrase)
{
    return (Typed){BY_PASSPHRASE, passphrase, strlen(passphrase)};
}

void rec_passphrase_set(const char *person, const char *passphrase,
                        const unsigned char seed[REC_SEED_BYTES], Text *blob)
{
    CHECK(person != NULL && passphrase != NULL && seed != NULL && blob != NULL);
    Err err = {0};
    CHECK(rec_passphrase_fits(passphrase, "", &err));
    Typed typed = typed_passphrase(passphrase);
    blob_make(person, &typed, seed, blob);
}

bool rec_passphrase_open(const char *person, const Text *blob, const char *passphrase,
                         unsigned char seed[REC_SEED_BYTES], bool *right, Err *err)
{
    CHECK(person != NULL && blob != NULL && passphrase != NULL && seed != NULL);
    CHECK(right != NULL && err != NULL);
    Typed typed = typed_passphrase(passphrase);
    return blob_open(person, blob, &typed, seed, right, err);
}

bool rec_passphrase_change(const char *person, Text *blob, const char *old, const char *passphrase,
                           bool *right, Err *err)
{
    CHECK(passphrase != NULL);
    unsigned char seed[REC_SEED_BYTES];
    if (!rec_passphrase_open(person, blob, old, seed, right, err)) return false;
    if (*right) rec_passphrase_set(person, passphrase, seed, blob);
    rec_wipe(seed, sizeof seed);
    return true;
}

/* --- Recovery code --------------------------------------------------------------------------- */

static const char ALPHABET[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/* Times x in GF(32) made by x^5 + x^2 + 1, which is primitive: x^i differs for i from 0 to 30. */
static unsigned times_x(unsigned c)
{
    c <<= 1U;
    return c >= 32 ? c ^ 0x25U : c;
}

static bool code_holds(const unsigned char symbols[CODE_CHARACTERS])
{
    unsigned sum = 0;
    unsigned weighted = 0;
    for (size_t i = 0; i < CODE_CHARACTERS; i++) {
        sum ^= symbols[i];
        weighted = times_x(weighted) ^ symbols[i];
    }
    return sum == 0 && weighted == 0;
}

/* Cut the bits into fives; the two that the last five lack are 0, and so are the check symbols. */
static void symbols_of(const unsigned char bits[REC_RECOVERY_BYTES],
                       unsigned char symbols[CODE_CHARACTERS])
{
    memset(symbols, 0, CODE_CHARACTERS);
    for (size_t bit = 0; bit < (size_t)8 * REC_RECOVERY_BYTES; bit++) {
        unsigned value = (unsigned)bits[bit / 8] >> (7 - bit % 8) & 1U;
        symbols[bit / 5] |= (unsigned char)(value << (4 - bit % 5));
    }
}

void rec_recovery_print(const unsigned char bits[REC_RECOVERY_BYTES],
                        char code[REC_RECOVERY_TEXT_BYTES])
{
    CHECK(bits != NULL && code != NULL);
    unsigned char symbols[CODE_CHARACTERS];
    symbols_of(bits, symbols);
    unsigned check = 0; /* of 1024 pairs of check characters exactly one holds */
    while (!code_holds(symbols)) {
        check++;
        CHECK(check < 32 * 32);
        symbols[CODE_CHARACTERS - 2] = (unsigned char)(check / 32);
        symbols[CODE_CHARACTERS - 1] = (unsigned char)(check % 32);
    }
    for (size_t i = 0; i < CODE_CHARACTERS; i++) {
        code[i + i / CODE_GROUP] = ALPHABET[symbols[i]];
        code[i + i / CODE_GROUP + 1] = '-';
    }
    code[REC_RECOVERY_TEXT_BYTES - 1] = '\0';
    rec_wipe(symbols, sizeof symbols);
}

/* The symbol that a typed character stands for, or 32. */
static unsigned symbol_of(char c)
{
    if (c >= 'a' && c <= 'z') c = (char)(c - ('a' - 'A'));
    if (c == 'O') c = '0';
    if (c == 'I' || c == 'L') c = '1';
    const char *found = strchr(ALPHABET, c);
    return found != NULL ? (unsigned)(found - ALPHABET) : 32U;
}

/* Fill the symbols; `typed` is all of them, no more and no fewer. */
static bool symbols_read(const char *typed, unsigned char symbols[CODE_CHARACTERS], Err *err)
{
    int count = 0;
    for (size_t at = 0; typed[at] != '\0'; at++) {
        if (strchr(" \t\r\n-", typed[at]) != NULL) continue;
        unsigned symbol = symbol_of(typed[at]);
        if (symbol >= 32) {
            return err_set(err, ERR_INPUT,
                           "character %d of the recovery code is neither a digit nor a letter "
                           "that it can hold",
                           count + 1);
        }
        if (count < CODE_CHARACTERS) symbols[count] = (unsigned char)symbol;
        if (count <= CODE_CHARACTERS) count++;
    }
    if (count == CODE_CHARACTERS) return true;
    return err_set(err, ERR_INPUT, "the recovery code has %s%d characters, it needs %d",
                   count > CODE_CHARACTERS ? "more than " : "",
                   count > CODE_CHARACTERS ? CODE_CHARACTERS : count, CODE_CHARACTERS);
}

bool rec_recovery_read(const char *typed, unsigned char bits[REC_RECOVERY_BYTES], Err *err)
{
    CHECK(typed != NULL && bits != NULL && err != NULL);
    unsigned char symbols[CODE_CHARACTERS] = {0};
    unsigned char read[REC_RECOVERY_BYTES] = {0};
    bool ok = symbols_read(typed, symbols, err);
    /* Two bits are over and 0 in every code that was printed. */
    if (ok && (!code_holds(symbols) || symbols[CODE_CHARACTERS - CODE_CHECKS - 1] % 4 != 0)) {
        ok = err_set(err, ERR_INPUT,
                     "the recovery code is mistyped: its last characters, which "
                     "check the others, do not fit");
    }
    for (size_t bit = 0; ok && bit < (size_t)8 * REC_RECOVERY_BYTES; bit++) {
        unsigned value = (unsigned)symbols[bit / 5] >> (4 - bit % 5) & 1U;
        read[bit / 8] |= (unsigned char)(value << (7 - bit % 8));
    }
    if (ok) memcpy(bits, read, sizeof read);
    rec_wipe(read, sizeof read);
    rec_wipe(symbols, sizeof symbols);
    return ok;
}

void rec_recovery_set(const char *person, const unsigned char seed[REC_SEED_BYTES],
                      char code[REC_RECOVERY_TEXT_BYTES], Text *blob)
{
    CHECK(person != NULL && seed != NULL && code != NULL && blob != NULL);
    unsigned char bits[REC_RECOVERY_BYTES];
    os_random(bits, sizeof bits);
    rec_recovery_print(bits, code);
    blob_make(person, &(Typed){BY_RECOVERY, bits, sizeof bits}, seed, blob);
    rec_wipe(bits, sizeof bits);
}

bool rec_recovery_open(const char *person, const Text *blob, const char *typed,
                       unsigned char seed[REC_SEED_BYTES], bool *right, Err *err)
{
    CHECK(person != NULL && blob != NULL && typed != NULL && seed != NULL);
    CHECK(right != NULL && err != NULL);
    unsigned char bits[REC_RECOVERY_BYTES];
    if (!rec_recovery_read(typed, bits, err)) return false;
    bool ok = blob_open(person, blob, &(Typed){BY_RECOVERY, bits, sizeof bits}, seed, right, err);
    rec_wipe(bits, sizeof bits);
    return ok;
}
