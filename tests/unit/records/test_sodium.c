/* Signatures, slow keys and seals against published vectors. */
#include "support.h"

#include "records/sodium.h"

enum { BYTES_MAX = 256 };

/* Bytes of a hex cell. */
static size_t unhex(const char *hex, unsigned char out[BYTES_MAX])
{
    size_t len = strlen(hex) / 2;
    assert_true(len <= BYTES_MAX);
    assert_true(len == 0 || rec_hex_read(hex, strlen(hex), out, len));
    return len;
}

static void assert_hex(const unsigned char *got, size_t len, const char *want)
{
    char hex[2 * BYTES_MAX + 1];
    assert_true(len <= BYTES_MAX);
    rec_hex_print(got, len, hex);
    assert_string_equal(hex, want);
}

/* RFC 8032 section 7.1, tests 1 to 3; the table's first line names its sources. */
static void test_rec_ed25519_vectors(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/crypto_vectors.csv");
    int checked = 0;
    for (size_t i = 0; i < csv.rows; i++) {
        if (strcmp(csv_text(&csv, i, "algorithm"), "ed25519") != 0) continue;
        unsigned char seed[BYTES_MAX] = {0}, message[BYTES_MAX] = {0};
        unsigned char key[REC_KEY_BYTES], signature[REC_SIGNATURE_BYTES];
        assert_int_equal(unhex(csv_text(&csv, i, "key_hex"), seed), REC_SEED_BYTES);
        size_t len = unhex(csv_text(&csv, i, "input_hex"), message);
        rec_key_from_seed(seed, key);
        assert_hex(key, sizeof key, csv_text(&csv, i, "extra_hex"));
        rec_ed25519_sign(seed, len > 0 ? message : NULL, len, signature);
        assert_hex(signature, sizeof signature, csv_text(&csv, i, "output_hex"));
        assert_true(rec_ed25519_verify(key, len > 0 ? message : NULL, len, signature));
        for (size_t bit = 0; bit < 8 * sizeof signature; bit++) {
            signature[bit / 8] ^= (unsigned char)(1U << bit % 8);
            assert_false(rec_ed25519_verify(key, message, len, signature));
            signature[bit / 8] ^= (unsigned char)(1U << bit % 8);
        }
        message[len] = 'x';
        assert_false(rec_ed25519_verify(key, message, len + 1, signature));
        key[0] ^= 1U;
        assert_false(rec_ed25519_verify(key, message, len, signature));
        checked++;
    }
    assert_int_equal(checked, 3);
    csv_free(&csv);
}

/* RFC 8032 section 5.1.7 wants S below the order of the group L; adding L (section 5.1) to the S of
 * its test 1 gives a second spelling, which must not pass. A key of order 1 (the point 0, 1) would
 * let anybody sign. */
static void test_rec_ed25519_refuses_second_spellings(void **state)
{
    (void)state;
    unsigned char key[BYTES_MAX], signature[BYTES_MAX], order[BYTES_MAX];
    (void)unhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", key);
    (void)unhex("e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bac"
                "c61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
                signature);
    (void)unhex("edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010", order);
    assert_true(rec_ed25519_verify(key, NULL, 0, signature));
    unsigned carry = 0;
    for (size_t i = 0; i < 32; i++) {
        carry += (unsigned)signature[32 + i] + order[i];
        signature[32 + i] = (unsigned char)carry;
        carry >>= 8;
    }
    assert_false(rec_ed25519_verify(key, NULL, 0, signature));
    unsigned char one[REC_KEY_BYTES] = {1}, none[REC_KEY_BYTES] = {0};
    unsigned char trivial[REC_SIGNATURE_BYTES] = {1}; /* R = (0, 1), S = 0 */
    assert_false(rec_ed25519_verify(one, "any", 3, trivial));
    assert_false(rec_ed25519_verify(none, "any", 3, trivial));
}

/* The rows of the table with one lane and a salt of 16 bytes; those of our own costs were computed
 * with Python's cryptography 48.0.0 (OpenSSL's Argon2id). */
static void test_rec_argon2id_vectors(void **state)
{
    (void)state;
    static const struct {
        RecCost cost;
        const char *algorithm;
    } rows[] = {
        {{3, 256}, "argon2id v=19 m=256 t=3 p=1 secret= ad="},
        {{2, 65536}, "argon2id v=19 m=65536 t=2 p=1 secret= ad="},
        {{3, 65536}, "argon2id v=19 m=65536 t=3 p=1 secret= ad="},
    };
    Csv csv = csv_load("tests/data/crypto_vectors.csv");
    size_t checked = 0;
    for (size_t i = 0; i < csv.rows; i++) {
        for (size_t j = 0; j < sizeof rows / sizeof rows[0]; j++) {
            if (strcmp(csv_text(&csv, i, "algorithm"), rows[j].algorithm) != 0) continue;
            unsigned char typed[BYTES_MAX], salt[BYTES_MAX], out[REC_SEAL_KEY_BYTES];
            size_t len = unhex(csv_text(&csv, i, "key_hex"), typed);
            assert_int_equal(unhex(csv_text(&csv, i, "input_hex"), salt), REC_SALT_BYTES);
            rec_argon2id(&rows[j].cost, typed, len, salt, out);
            assert_hex(out, sizeof out, csv_text(&csv, i, "output_hex"));
            checked++;
        }
    }
    assert_int_equal(checked, sizeof rows / sizeof rows[0]);
    csv_free(&csv);
}

/* draft-irtf-cfrg-xchacha-03 appendix A.3.1, from memory; the values agree with ChaCha20-Poly1305
 * of Python's cryptography 48.0.0 under the key that HChaCha20 makes. */
static void test_rec_seal_vector(void **state)
{
    (void)state;
    static const char plain[] =
        "Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the "
        "future, sunscreen would be it.";
    unsigned char key[BYTES_MAX], nonce[BYTES_MAX], associated[BYTES_MAX];
    (void)unhex("808182838485868788898a8b8c8d8e8f909192939495969798999a9b9c9d9e9f", key);
    (void)unhex("404142434445464748494a4b4c4d4e4f5051525354555657", nonce);
    RecSealing with = {key, nonce, associated, unhex("50515253c0c1c2c3c4c5c6c7", associated)};
    unsigned char sealed[BYTES_MAX], again[BYTES_MAX];
    size_t len = strlen(plain);
    rec_seal(&with, plain, len, sealed);
    assert_hex(sealed, len + REC_TAG_BYTES,
               "bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb731c7f1b0b4aa644"
               "0bf3a82f4eda7e39ae64c6708c54c216cb96b72e1213b4522f8c9ba40db5d945b11b69b982c1bb9e"
               "3f3fac2bc369488f76b2383565d3fff921f9664c97637da9768812f615c68b13b52e"
               "c0875924c1c7987947deafd8780acf49");
    assert_true(rec_unseal(&with, sealed, len + REC_TAG_BYTES, again));
    assert_memory_equal(again, plain, len);
    for (size_t i = 0; i < len + REC_TAG_BYTES; i++) {
        assert_false(rec_unseal(&with, sealed, i, again));
        sealed[i] ^= 0x80U;
        assert_false(rec_unseal(&with, sealed, len + REC_TAG_BYTES, again));
        sealed[i] ^= 0x80U;
    }
    associated[0] ^= 1U;
    assert_false(rec_unseal(&with, sealed, len + REC_TAG_BYTES, again));
    with.associated_len = 0;
    rec_seal(&with, NULL, 0, sealed);
    assert_true(rec_unseal(&with, sealed, REC_TAG_BYTES, NULL));
    sealed[0] ^= 1U;
    assert_false(rec_unseal(&with, sealed, REC_TAG_BYTES, NULL));
}

static void test_rec_wipe(void **state)
{
    (void)state;
    unsigned char bytes[5] = {1, 2, 3, 4, 5};
    static const unsigned char want[5] = {1, 0, 0, 0, 5};
    rec_wipe(bytes + 1, 3);
    assert_memory_equal(bytes, want, sizeof want);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_ed25519_vectors),
        cmocka_unit_test(test_rec_ed25519_refuses_second_spellings),
        cmocka_unit_test(test_rec_argon2id_vectors),
        cmocka_unit_test(test_rec_seal_vector),
        cmocka_unit_test(test_rec_wipe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
