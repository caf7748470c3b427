/* Canonical JSON and the hashes over it. */
#include "support.h"

#include "records/canonical.h"
#include "records/entry.h"

static bool canonical(const char *json, Text *out, Err *err)
{
    JsonDoc *doc = NULL;
    bool ok = json_parse("test", json, strlen(json), &doc, err);
    assert_true(ok);
    ok = rec_canonical(json_root(doc), out, err);
    json_free(doc);
    return ok;
}

static void test_rec_canonical_forms(void **state)
{
    (void)state;
    static const struct {
        const char *name, *json, *want;
    } rows[] = {
        /* Test data of RFC 8785's authors (cyberphone/json-canonicalization), "structures". */
        {"structures",
         "{\"1\":{\"f\":{\"f\":\"hi\",\"F\":5},\"\\n\":56.0},\"10\":{},\"\":\"empty\",\"a\":{},"
         "\"111\":[{\"e\":\"yes\",\"E\":\"no\"}],\"A\":{}}",
         "{\"\":\"empty\",\"1\":{\"\\n\":56,\"f\":{\"F\":5,\"f\":\"hi\"}},\"10\":{},"
         "\"111\":[{\"E\":\"no\",\"e\":\"yes\"}],\"A\":{},\"a\":{}}"},
        /* The same, "weird", as RFC 8785 section 3.2.3 lists the order: U+1F602 is written with
         * surrogates and so comes before U+FB33. Values here are ours. */
        {"key order",
         "{\"\\u20ac\":7,\"\\r\":2,\"\\ufb33\":9,\"1\":3,\"\\u0080\":5,\"\\n\":1,"
         "\"\\ud83d\\ude02\":8,\"\\u00f6\":6,\"</script>\":4}",
         "{\"\\n\":1,\"\\r\":2,\"1\":3,\"</script>\":4,\"\xc2\x80\":5,\"\xc3\xb6\":6,"
         "\"\xe2\x82\xac\":7,\"\xf0\x9f\x98\x82\":8,\"\xef\xac\xb3\":9}"},
        /* RFC 8785 section 3.2.2.2: the escapes; and no Unicode normalisation. */
        {"escapes",
         "[\"\\u20ac$\\u000F\\u000aA'\\u0042\\u0022\\u005c\\\\\\\"\\/"
         "\",\"\\u0008\\u0009\\u000c\\u007f\","
         "\"A\\u030a\"]",
         "[\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\",\"\\b\\t\\f\x7f\",\"A\xcc\x8a\"]"},
        {"spaces", " [ true , false , [ ] , { } ] ", "[true,false,[],{}]"},
        /* RFC 8785 appendix B: 0 for minus zero; the rest is ECMAScript's Number to string. */
        {"numbers", "[0,-0,-0.0,1e2,4.50e1,-7,9007199254740991,-9007199254740991]",
         "[0,0,0,100,45,-7,9007199254740991,-9007199254740991]"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        Text got = {0};
        if (!canonical(rows[i].json, &got, &err)) fail_msg("%s: %s", rows[i].name, err.text);
        if (strcmp(got.bytes, rows[i].want) != 0) fail_msg("%s: %s", rows[i].name, got.bytes);
        text_clear(&got);
    }
}

static void test_rec_canonical_refuses(void **state)
{
    (void)state;
    static const struct {
        const char *json, *says;
    } rows[] = {
        {"{\"a\":[1,null]}", "test:1:9: error: null cannot be recorded"},
        {"[0.5]", "test:1:2: error: 0.5 cannot be recorded"},
        {"[9007199254740992]", "test:1:2: error: 9007199254740992 cannot be recorded"},
        {"[-9007199254740993]", "error: -9007199254740992 cannot be recorded"},
        {"[1e400]", "cannot be recorded"},
        {"[5e-324]", "cannot be recorded"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        Text got = {0};
        text_add(&got, "kept");
        if (canonical(rows[i].json, &got, &err)) fail_msg("%s was taken", rows[i].json);
        assert_int_equal(err.code, ERR_INPUT);
        if (strstr(err.text, rows[i].says) == NULL) fail_msg("%s: %s", rows[i].json, err.text);
        assert_string_equal(got.bytes, "kept");
        text_clear(&got);
    }
}

/* The table's rows, sources in its first line: each text reads as the very double it names, and is
 * printed as it stands where it is a whole number that we record; the others are refused. */
static void test_rec_canonical_numbers(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/jcs_numbers.csv");
    int printed = 0;
    int refused = 0;
    for (size_t i = 0; i < csv.rows; i++) {
        const char *text = csv_text(&csv, i, "text");
        if (strcmp(text, "refuse") == 0) continue; /* what JSON cannot say */
        char *end = NULL;
        uint64_t bits = strtoull(csv_text(&csv, i, "ieee754_hex"), &end, 16);
        double want = 0;
        memcpy(&want, &bits, sizeof want);
        JsonDoc *doc = NULL;
        Text got = {0};
        Err err = {0};
        if (!json_parse("test", text, strlen(text), &doc, &err)) fail_msg("%s", err.text);
        double read = json_number(json_root(doc));
        if (read != want) fail_msg("%s reads as %.17g", text, read);
        bool whole = floor(want) == want && fabs(want) < 9007199254740992.0;
        if (rec_canonical(json_root(doc), &got, &err) != whole) fail_msg("%s", text);
        if (whole) assert_string_equal(got.bytes, text);
        printed += whole;
        refused += !whole;
        text_clear(&got);
        json_free(doc);
    }
    assert_int_equal(printed, 2);
    assert_int_equal(refused, 24);
    csv_free(&csv);
}

static const char *vector_text(const JsonDoc *doc, const char *key)
{
    const JsonValue *value = json_get(json_root(doc), key);
    assert_non_null(value);
    return json_string(value);
}

static RecHash check_canonical(const JsonDoc *doc, const char *key, const char *canonical_key,
                               const char *hash_key)
{
    Text text = {0};
    Err err = {0};
    const JsonValue *value = json_get(json_root(doc), key);
    assert_non_null(value);
    if (!rec_canonical(value, &text, &err)) fail_msg("%s", err.text);
    assert_string_equal(text.bytes, vector_text(doc, canonical_key));
    RecHash hash = rec_sha256(NULL, 0, text.bytes, text.len);
    assert_string_equal(hash.hex, vector_text(doc, hash_key));
    text_clear(&text);
    return hash;
}

/* A document signed by the steps that ours are signed by: canonical JSON, SHA-256, Ed25519. W3C,
 * Data Integrity EdDSA Cryptosuites v1.0, appendix B.3; the file names source and licence. */
static void test_rec_eddsa_jcs_vector(void **state)
{
    (void)state;
    JsonDoc *doc = NULL;
    Err err = {0};
    if (!json_load("tests/data/eddsa_jcs_2022_vector.json", &doc, &err)) fail_msg("%s", err.text);
    RecHash options =
        check_canonical(doc, "proofOptions", "canonicalProofOptions", "proofOptionsHashHex");
    RecHash document =
        check_canonical(doc, "unsignedDocument", "canonicalDocument", "documentHashHex");
    unsigned char both[2 * REC_HASH_BYTES], seed[REC_SEED_BYTES], key[REC_KEY_BYTES];
    unsigned char signature[REC_SIGNATURE_BYTES];
    char hex[2 * REC_SIGNATURE_BYTES + 1];
    const JsonValue *derived = json_get(json_root(doc), "derived");
    const char *seed_hex = json_string(json_get(derived, "secretSeedHex"));
    assert_true(rec_hex_read(options.hex, 64, both, REC_HASH_BYTES));
    assert_true(rec_hex_read(document.hex, 64, both + REC_HASH_BYTES, REC_HASH_BYTES));
    assert_true(rec_hex_read(seed_hex, 64, seed, sizeof seed));
    rec_key_from_seed(seed, key);
    rec_hex_print(key, sizeof key, hex);
    assert_string_equal(hex, json_string(json_get(derived, "publicKeyHex")));
    rec_ed25519_sign(seed, both, sizeof both, signature);
    rec_hex_print(signature, sizeof signature, hex);
    assert_string_equal(hex, vector_text(doc, "signatureHex"));
    assert_true(rec_ed25519_verify(key, both, sizeof both, signature));
    json_free(doc);
}

static size_t unhex(const char *hex, unsigned char *out, size_t size)
{
    size_t len = strlen(hex) / 2;
    assert_true(len <= size);
    for (size_t i = 0; i < len; i++) {
        unsigned byte = 0;
        for (size_t j = 0; j < 2; j++) {
            const char *digit = strchr("0123456789abcdef", hex[2 * i + j]);
            assert_non_null(digit);
            byte = 16 * byte + (unsigned)(digit - "0123456789abcdef");
        }
        out[i] = (unsigned char)byte;
    }
    return len;
}

/* FIPS 180-4 examples; the table's first line names its sources. */
static void test_rec_sha256_vectors(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/crypto_vectors.csv");
    int checked = 0;
    unsigned char *bytes = calloc(1000000, 1);
    for (size_t i = 0; i < csv.rows; i++) {
        if (strcmp(csv_text(&csv, i, "algorithm"), "sha256") != 0) continue;
        const char *input = csv_text(&csv, i, "input_hex");
        size_t len = 1000000;
        if (strcmp(input, "61 x 1000000") == 0)
            memset(bytes, 'a', len);
        else
            len = unhex(input, bytes, len);
        for (size_t cut = 0; cut <= len && cut < 60; cut += 7) {
            RecHash hash = rec_sha256(bytes, cut, bytes + cut, len - cut);
            assert_string_equal(hash.hex, csv_text(&csv, i, "output_hex"));
        }
        checked++;
    }
    assert_int_equal(checked, 4);
    free(bytes);
    csv_free(&csv);
}

/* The prefixes of RFC 9162 section 2.1: 00 before a leaf. Hashes computed with Python's hashlib. */
static void test_rec_entry_hash_prefix(void **state)
{
    (void)state;
    Text bytes = {0};
    RecHash empty = rec_entry_hash(&bytes);
    assert_string_equal(empty.hex,
                        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d");
    text_add(&bytes, "{\"author\":\"station\",\"kind\":\"start\"}");
    RecHash some = rec_entry_hash(&bytes);
    assert_string_equal(some.hex,
                        "11125450db2ceb06615a77396b71888492080f422b7b4b7086b99b428d574aaa");
    unsigned char salt[REC_HASH_BYTES];
    for (unsigned i = 0; i < sizeof salt; i++) {
        salt[i] = (unsigned char)i;
    }
    RecHash veiled = rec_commitment(salt, "Rosa Gr\xc3\xbcn", 10);
    assert_string_equal(veiled.hex,
                        "c4318bc473981a9c1dd0e0032207b157055d0529e4dbcd5cbffe4a3e3ca9911b");
    text_clear(&bytes);
}

static void test_rec_hex_and_base64(void **state)
{
    (void)state;
    unsigned char bytes[4];
    char hex[9];
    assert_true(rec_hex_read("00ff10ab", 8, bytes, 4));
    assert_int_equal(bytes[1], 0xff);
    rec_hex_print(bytes, 4, hex);
    assert_string_equal(hex, "00ff10ab");
    assert_false(rec_hex_read("00FF10ab", 8, bytes, 4)); /* one value, one spelling */
    assert_false(rec_hex_read("00ff10a", 7, bytes, 4));
    assert_false(rec_hex_read("00ff10ab0", 9, bytes, 4));
    assert_false(rec_hex_read("00ff10a\0", 8, bytes, 4));
    assert_false(rec_hex_read("00 f10ab", 8, bytes, 4));
    /* RFC 4648 section 4, of SHA-256("abc"); computed with Python's base64. */
    RecHash abc = rec_sha256("a", 1, "bc", 2);
    char base64[REC_BASE64_BYTES];
    rec_base64_print(&abc, base64);
    assert_string_equal(base64, "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
}

static void test_rec_stamp(void **state)
{
    (void)state;
    /* RFC 3339 section 5.8 in UTC and with our six digits, and ends of ranges; microseconds by
     * Python's datetime. */
    static const struct {
        const char *text;
        int64_t time_us;
    } good[] = {
        {"1985-04-12T23:20:50.520000Z", 482196050520000},
        {"1996-12-20T00:39:57.000000Z", 851042397000000},
        {"1970-01-01T00:00:00.000000Z", 0},
        {"2000-02-29T12:00:00.000000Z", 951825600000000},
        {"2100-03-01T00:00:00.000000Z", 4107542400000000},
        {"9999-12-31T23:59:59.999999Z", 253402300799999999},
    };
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        char text[REC_STAMP_BYTES];
        int64_t time_us = -1;
        rec_stamp_print(good[i].time_us, text);
        assert_string_equal(text, good[i].text);
        if (!rec_stamp_read(good[i].text, &time_us)) fail_msg("%s", good[i].text);
        assert_true(time_us == good[i].time_us);
    }
    /* RFC 3339 section 5.7 and appendix C; a leap second is one that we never write. */
    static const char *const bad[] = {
        "2026-03-02T24:00:00.000000Z",
        "2026-13-02T00:00:00.000000Z",
        "2026-00-02T00:00:00.000000Z",
        "1900-02-29T00:00:00.000000Z",
        "2023-02-29T00:00:00.000000Z",
        "2026-04-31T00:00:00.000000Z",
        "2026-03-02T09:60:00.000000Z",
        "1990-12-31T23:59:60.000000Z",
        "2026-03-02T09:14:31.120000",
        "2026-03-02t09:14:31.120000z",
        "2026-03-02T09:14:31.12Z",
        "2026-03-00T09:14:31.120000Z",
        "1969-12-31T23:59:59.000000Z",
        "2026-03-02T09:14:31.120000+00:00",
        "",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        int64_t time_us = 0;
        if (rec_stamp_read(bad[i], &time_us)) fail_msg("%s was taken", bad[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_canonical_forms),   cmocka_unit_test(test_rec_canonical_refuses),
        cmocka_unit_test(test_rec_canonical_numbers), cmocka_unit_test(test_rec_eddsa_jcs_vector),
        cmocka_unit_test(test_rec_sha256_vectors),    cmocka_unit_test(test_rec_entry_hash_prefix),
        cmocka_unit_test(test_rec_hex_and_base64),    cmocka_unit_test(test_rec_stamp),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
