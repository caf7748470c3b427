/* PINs, passphrases and recovery codes. */
#include "support.h"

#include "records/secrets.h"

static const char ROSA[] = "6f1c2a54-9d0e-4b7a-8c33-51e0a7d4b2f9";
static const char OLEK[] = "1b9d6bcd-bbfd-4b2d-9b5d-ab8dfbbd4bed";
static const unsigned char SEED[REC_SEED_BYTES] = "thirty-two bytes of a seed, here";

static void unhex(const char *hex, Text *out)
{
    size_t len = strlen(hex) / 2;
    unsigned char bytes[REC_SEED_BLOB_BYTES];
    assert_true(len <= sizeof bytes);
    assert_true(len == 0 || rec_hex_read(hex, strlen(hex), bytes, len));
    text_add_bytes(out, (const char *)bytes, len);
}

/* The table's blobs and codes were made by tools/secret_blobs.py from the layout alone, with other
 * libraries. */
static void test_rec_open_blobs_made_elsewhere(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/secret_blobs.csv");
    for (size_t i = 0; i < csv.rows; i++) {
        const char *kind = csv_text(&csv, i, "kind");
        const char *typed = csv_text(&csv, i, "typed");
        const char *person = csv_text(&csv, i, "person");
        Text blob = {0};
        Text want = {0};
        Err err = {0};
        unsigned char seed[REC_SEED_BYTES] = {0};
        bool right = false;
        bool ok = false;
        unhex(csv_text(&csv, i, "blob_hex"), &blob);
        unhex(csv_text(&csv, i, "secret_hex"), &want);
        if (strcmp(kind, "pin") == 0) {
            ok = rec_pin_check(person, &blob, typed, &right, &err);
        } else if (strcmp(kind, "passphrase") == 0) {
            ok = rec_passphrase_open(person, &blob, typed, seed, &right, &err);
        } else {
            ok = rec_recovery_open(person, &blob, typed, seed, &right, &err);
        }
        if (!ok) fail_msg("row %zu: %s", i, err.text);
        if (!right) fail_msg("row %zu: not the word", i);
        assert_memory_equal(seed, want.bytes == NULL ? (const char *)seed : want.bytes, want.len);
        text_clear(&want);
        text_clear(&blob);
    }
    csv_free(&csv);
}

static void test_rec_pin_forms(void **state)
{
    (void)state;
    static const char *const bad[] = {"",      "123",   "123456789", "12a4",  "12 4",
                                      " 1234", "1234 ", "-123",      "12.34", "\xd9\xa1\xd9\xa2"};
    Text blob = {0};
    Err err = {0};
    text_add(&blob, "kept");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        if (rec_pin_set(ROSA, bad[i], &blob, &err)) fail_msg("\"%s\" was taken", bad[i]);
        assert_int_equal(err.code, ERR_INPUT);
        assert_string_equal(blob.bytes, "kept");
    }
    assert_true(rec_pin_set(ROSA, "0000", &blob, &err));
    assert_int_equal(blob.len, REC_PIN_BLOB_BYTES);
    assert_true(rec_pin_set(ROSA, "00000000", &blob, &err));
    text_clear(&blob);
}

static void test_rec_pin_check_answers(void **state)
{
    (void)state;
    Text blob = {0};
    Text other = {0};
    Err err = {0};
    bool right = false;
    assert_true(rec_pin_set(ROSA, "0472", &blob, &err));
    assert_true(rec_pin_set(ROSA, "0472", &other, &err));
    assert_memory_not_equal(blob.bytes, other.bytes, blob.len); /* salted */
    assert_true(rec_pin_check(ROSA, &blob, "0472", &right, &err) && right);
    static const char *const wrong[] = {"00472", "0473", ""};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        right = true;
        assert_true(rec_pin_check(ROSA, &blob, wrong[i], &right, &err));
        if (right) fail_msg("\"%s\" is the PIN", wrong[i]);
    }
    text_clear(&other);
    text_clear(&blob);
}

static void assert_damage(const char *name, const char *person, const Text *blob)
{
    Err err = {0};
    bool right = false;
    unsigned char seed[REC_SEED_BYTES] = {0};
    if (rec_passphrase_open(person, blob, "correct battery", seed, &right, &err)) {
        fail_msg("%s was taken", name);
    }
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_non_null(strstr(err.text, "passphrase opens is torn, altered, another person's"));
}

static void test_rec_blobs_refused(void **state)
{
    (void)state;
    Text blob = {0};
    Text bad = {0};
    Err err = {0};
    assert_damage("nothing", ROSA, &blob);
    rec_passphrase_set(ROSA, "correct battery", SEED, &blob);
    assert_int_equal(blob.len, REC_SEED_BLOB_BYTES);
    assert_damage("another person's", OLEK, &blob);
    for (size_t i = 0; i < blob.len; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "byte %zu", i);
        blob.bytes[i] ^= 1;
        assert_damage(name, ROSA, &blob);
        blob.bytes[i] ^= 1;
        text_clear(&bad);
        text_add_bytes(&bad, blob.bytes, i);
        assert_damage("cut", ROSA, &bad);
    }
    text_clear(&bad);
    text_add_bytes(&bad, blob.bytes, blob.len);
    text_add(&bad, "x");
    assert_damage("longer", ROSA, &bad);
    assert_true(rec_pin_set(ROSA, "1234", &bad, &err));
    assert_damage("a PIN's", ROSA, &bad);
    char code[REC_RECOVERY_TEXT_BYTES];
    rec_recovery_set(ROSA, SEED, code, &bad);
    assert_damage("a recovery code's", ROSA, &bad);
    text_clear(&bad);
    text_clear(&blob);
}

/* Whoever alters a blob and makes its last eight bytes anew, by the layout, gains nothing. */
static void test_rec_blob_sum_made_anew(void **state)
{
    (void)state;
    static const size_t places[] = {2, 18, 42, 74}; /* salt, nonce, sealed seed, its tag */
    static const unsigned char none[REC_SEED_BYTES] = {0};
    Text blob = {0};
    Err err = {0};
    rec_passphrase_set(ROSA, "correct battery", SEED, &blob);
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        unsigned char seed[REC_SEED_BYTES] = {0};
        bool right = true;
        blob.bytes[places[i]] ^= 1;
        RecHash hash = rec_sha256(ROSA, strlen(ROSA), blob.bytes, blob.len - 8);
        assert_true(rec_hex_read(hash.hex, 16, (unsigned char *)blob.bytes + blob.len - 8, 8));
        assert_true(rec_passphrase_open(ROSA, &blob, "correct battery", seed, &right, &err));
        assert_false(right);
        assert_memory_equal(seed, none, sizeof seed);
        blob.bytes[places[i]] ^= 1;
    }
    text_clear(&blob);
}

static void test_rec_wait_us(void **state)
{
    (void)state;
    static const int64_t s = 1000000;
    static const struct {
        const char *name;
        int64_t failed, last_s, now_s, want_s;
    } rows[] = {
        {"none failed", 0, 100, 100, 0},
        {"third", 3, 100, 100, 0},
        {"fourth", 4, 100, 100, 5},
        {"fifth", 5, 100, 100, 10},
        {"eleventh", 11, 100, 100, 640},
        {"twelfth, the longest", 12, 100, 100, 900},
        {"any later", INT64_MAX, 100, 100, 900},
        {"while it passes", 4, 100, 103, 2},
        {"just before its end", 5, 100, 109, 1},
        {"its end", 5, 100, 110, 0},
        {"long after", 12, 100, INT64_MAX / 1000000, 0},
        {"restarted: counts from the start", 12, 5000, 0, 900},
        {"restarted a while ago", 12, 5000, 899, 1},
        {"restarted, and waited for", 12, 5000, 900, 0},
        {"restarted, up longer than before", 12, 100, 700, 300},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t got = rec_wait_us(rows[i].failed, rows[i].last_s * s, rows[i].now_s * s);
        if (got != rows[i].want_s * s) fail_msg("%s: %lld us", rows[i].name, (long long)got);
    }
}

static void test_rec_passphrase_fits(void **state)
{
    (void)state;
    char long_enough[REC_PASSPHRASE_BYTES_MAX + 2] = {0};
    memset(long_enough, 'a', sizeof long_enough - 1);
    long_enough[0] = 'b';
    char longest[REC_PASSPHRASE_BYTES_MAX + 1] = {0};
    memcpy(longest, long_enough, sizeof longest - 1);
    const struct {
        const char *typed, *name;
        ErrCode want;
        const char *says;
    } rows[] = {
        {"abcdefghijkl", "Rosa", ERR_NONE, ""},
        {"abcdefghijk", "Rosa", ERR_RANGE, "has 11 characters, at least 12"},
        {"", "", ERR_RANGE, "has 0 characters"},
        {longest, "Rosa", ERR_NONE, ""},
        {long_enough, "Rosa", ERR_RANGE, "has 201 bytes, limit 200"},
        {"\xc4\x85\xc4\x87\xc4\x99\xc5\x82\xc5\x84\xc3\xb3\xc5\x9b\xc5\xba\xc5\xbc\xc4\x84\xc4\x86"
         "\xc4\x98",
         "Rosa", ERR_NONE, ""}, /* 12 letters of two bytes */
        {"\xc4\x85\xc4\x87\xc4\x99\xc5\x82\xc5\x84\xc3\xb3", "", ERR_RANGE, "has 6 characters"},
        {"            ", "", ERR_INPUT, "one character over and over"},
        {"\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc"
         "\xc5\xbc",
         "", ERR_INPUT, "one character over and over"},
        {"\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc\xc5\xbc"
         "\xc5\x82",
         "", ERR_NONE, ""},
        {"Rosa Gr\xc3\xbcnwald", "Rosa Gr\xc3\xbcnwald", ERR_INPUT, "is the person's name"},
        {" rosagr\xc3\xbcn  WALD", "Rosa Gr\xc3\xbcnwald", ERR_INPUT, "is the person's name"},
        {"Rosa Gr\xc3\xbcnwald 7", "Rosa Gr\xc3\xbcnwald", ERR_NONE, ""},
        {"Rosa Gr\xc3\xbcnwal", "Rosa Gr\xc3\xbcnwald", ERR_NONE, ""},
        {"abcdef\tghijkl", "", ERR_INPUT, "control character"},
        {"abcdefghijkl\n", "", ERR_INPUT, "control character"},
        {"abcdefghijkl\x7f", "", ERR_INPUT, "control character"},
        {"abcdefghijkl\xff", "", ERR_INPUT, "not valid UTF-8"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        bool fits = rec_passphrase_fits(rows[i].typed, rows[i].name, &err);
        if (fits != (rows[i].want == ERR_NONE)) fail_msg("row %zu: %s", i, err.text);
        if (err.code != rows[i].want) fail_msg("row %zu: code %d", i, (int)err.code);
        if (strstr(err.text, rows[i].says) == NULL) fail_msg("row %zu: %s", i, err.text);
    }
}

static bool opens(const Text *blob, const char *passphrase)
{
    Err err = {0};
    unsigned char seed[REC_SEED_BYTES] = {0};
    bool right = false;
    assert_true(rec_passphrase_open(ROSA, blob, passphrase, seed, &right, &err));
    if (right) assert_memory_equal(seed, SEED, sizeof seed);
    return right;
}

static void test_rec_passphrase_change(void **state)
{
    (void)state;
    Text blob = {0};
    Text before = {0};
    Err err = {0};
    bool right = true;
    rec_passphrase_set(ROSA, "correct battery", SEED, &blob);
    text_add_bytes(&before, blob.bytes, blob.len);
    assert_true(opens(&blob, "correct battery"));
    assert_false(opens(&blob, "correct battery "));
    assert_false(opens(&blob, "Correct battery"));
    assert_true(
        rec_passphrase_change(ROSA, &blob, "a wrong guess", "new and longer", &right, &err));
    assert_false(right);
    assert_memory_equal(blob.bytes, before.bytes, before.len);
    assert_true(
        rec_passphrase_change(ROSA, &blob, "correct battery", "new and longer", &right, &err));
    assert_true(right);
    assert_false(opens(&blob, "correct battery"));
    assert_true(opens(&blob, "new and longer"));
    assert_false(
        rec_passphrase_change(OLEK, &blob, "new and longer", "yet another one", &right, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    text_clear(&before);
    text_clear(&blob);
}

static void test_rec_recovery_opens(void **state)
{
    (void)state;
    Text blob = {0};
    Text other = {0};
    Err err = {0};
    char code[REC_RECOVERY_TEXT_BYTES], other_code[REC_RECOVERY_TEXT_BYTES];
    unsigned char seed[REC_SEED_BYTES] = {0};
    bool right = false;
    rec_recovery_set(ROSA, SEED, code, &blob);
    rec_recovery_set(ROSA, SEED, other_code, &other);
    assert_string_not_equal(code, other_code);
    assert_true(rec_recovery_open(ROSA, &blob, code, seed, &right, &err) && right);
    assert_memory_equal(seed, SEED, sizeof seed);
    memset(seed, 7, sizeof seed);
    assert_true(rec_recovery_open(ROSA, &blob, other_code, seed, &right, &err));
    assert_false(right);
    assert_int_equal(seed[0], 7);
    code[5] = code[5] == '7' ? '8' : '7';
    assert_false(rec_recovery_open(ROSA, &blob, code, seed, &right, &err));
    assert_int_equal(err.code, ERR_INPUT);
    text_clear(&other);
    text_clear(&blob);
}

/* Bits of which every character of the code differs from its neighbours. */
static const unsigned char BITS[REC_RECOVERY_BYTES] = {
    0x08, 0x86, 0x42, 0x98, 0xe8, 0x4a, 0xc5, 0x6e, 0x77, 0xbf, 0x13, 0x5d, 0xe1, 0x9a, 0x35, 0xf4};

static void expect_mistyped(const char *code, size_t i, size_t j)
{
    unsigned char bits[REC_RECOVERY_BYTES];
    Err err = {0};
    if (rec_recovery_read(code, bits, &err)) fail_msg("%s: %zu and %zu went unseen", code, i, j);
    assert_int_equal(err.code, ERR_INPUT);
    assert_null(strstr(err.text, code));
}

/* Every wrong character, every swapped two and some of each two wrong ones: what a code of distance
 * 3 shows (Reed and Solomon, as secrets.h cites them). */
static void test_rec_recovery_check_characters(void **state)
{
    (void)state;
    static const char all[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
    char code[REC_RECOVERY_TEXT_BYTES];
    rec_recovery_print(BITS, code);
    for (size_t i = 0; code[i] != '\0'; i++) {
        char is_i = code[i];
        if (is_i == '-') continue;
        for (size_t a = 0; a < 32; a++) {
            code[i] = all[a];
            if (all[a] != is_i) expect_mistyped(code, i, i);
        }
        for (size_t j = i + 1; code[j] != '\0'; j++) {
            char is_j = code[j];
            if (is_j == '-') continue;
            code[i] = is_j;
            code[j] = is_i;
            if (is_i != is_j) expect_mistyped(code, i, j);
            for (size_t a = 0; a < 32; a++) {
                code[i] = all[(a * 7 + i) % 32];
                code[j] = all[(a * 11 + j) % 32];
                if (code[i] != is_i || code[j] != is_j) expect_mistyped(code, i, j);
            }
            code[j] = is_j;
        }
        code[i] = is_i;
    }
    unsigned char bits[REC_RECOVERY_BYTES];
    Err err = {0};
    assert_true(rec_recovery_read(code, bits, &err));
    assert_memory_equal(bits, BITS, sizeof bits);
}

static void test_rec_recovery_typing(void **state)
{
    (void)state;
    /* Code and bits of the table that tools/secret_blobs.py made. */
    static const struct {
        const char *typed, *says;
    } rows[] = {
        {"008J-4CT4-ANK7-F24S-NAXW-SQFE-ZWXR", ""},
        {"oo8j 4ct4 ank7 f24s naxw sqfe zwxr", ""},
        {"  O08J4CT4ANK7F24SNAXWSQFEZWXR\r\n", ""},
        {"0-0-8-J-4-C-T-4 ANK7\tF24S--NAXW SQFE ZWXR-", ""},
        {"008J-4CT4-ANK7-F24S-NAXW-SQFE-ZWX", "has 27 characters, it needs 28"},
        {"008J-4CT4-ANK7-F24S-NAXW-SQFE-ZWXRR", "has more than 28 characters"},
        {"", "has 0 characters"},
        {"008U-4CT4-ANK7-F24S-NAXW-SQFE-ZWXR", "character 4 of the recovery code"},
        {"008J_4CT4-ANK7-F24S-NAXW-SQFE-ZWXR", "character 5 of the recovery code"},
        {"008\xc3\x84-4CT4-ANK7-F24S-NAXW-SQFE-ZWXR", "character 4 of the recovery code"},
        {"0O8J-4CT4-ANK7-F24S-NAXW-SQFE-ZWXB", "mistyped"},
    };
    Err err = {0};
    unsigned char want[REC_RECOVERY_BYTES], bits[REC_RECOVERY_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES];
    for (unsigned i = 0; i < sizeof want; i++) {
        want[i] = (unsigned char)(17 * i);
    }
    rec_recovery_print(want, code);
    assert_string_equal(code, rows[0].typed);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        memset(bits, 1, sizeof bits);
        bool ok = rec_recovery_read(rows[i].typed, bits, &err);
        if (ok != (rows[i].says[0] == '\0')) fail_msg("row %zu: %s", i, err.text);
        if (ok) assert_memory_equal(bits, want, sizeof bits);
        if (!ok && strstr(err.text, rows[i].says) == NULL) fail_msg("row %zu: %s", i, err.text);
        if (!ok) assert_int_equal(bits[0], 1);
    }
    memset(want, 0, sizeof want); /* I and L for 1 in a code that holds some */
    want[0] = 0x08;
    rec_recovery_print(want, code);
    assert_int_equal(code[0], '1');
    code[0] = 'l';
    assert_true(rec_recovery_read(code, bits, &err));
    code[0] = 'I';
    assert_true(rec_recovery_read(code, bits, &err));
    assert_memory_equal(bits, want, sizeof bits);
}

/* Two spare bits must be 0, or one code would have four spellings. The check characters are those
 * that tools/secret_blobs.py's division gives for the message. */
static void test_rec_recovery_spare_bits(void **state)
{
    (void)state;
    unsigned char bits[REC_RECOVERY_BYTES];
    Err err = {0};
    assert_true(rec_recovery_read("0000-0000-0000-0000-0000-0000-0000", bits, &err));
    static const char *const spare[] = {"0000000000000000000000000132",
                                        "0000000000000000000000000264"};
    for (size_t i = 0; i < sizeof spare / sizeof spare[0]; i++) {
        assert_false(rec_recovery_read(spare[i], bits, &err));
        assert_non_null(strstr(err.text, "mistyped"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_open_blobs_made_elsewhere),
        cmocka_unit_test(test_rec_pin_forms),
        cmocka_unit_test(test_rec_pin_check_answers),
        cmocka_unit_test(test_rec_blobs_refused),
        cmocka_unit_test(test_rec_blob_sum_made_anew),
        cmocka_unit_test(test_rec_wait_us),
        cmocka_unit_test(test_rec_passphrase_fits),
        cmocka_unit_test(test_rec_passphrase_change),
        cmocka_unit_test(test_rec_recovery_opens),
        cmocka_unit_test(test_rec_recovery_check_characters),
        cmocka_unit_test(test_rec_recovery_typing),
        cmocka_unit_test(test_rec_recovery_spare_bits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
