/* libsodium behind our own names. */
#include "records/sodium.h"

#include <sodium.h>
#include <string.h>

_Static_assert(REC_HASH_BYTES == crypto_hash_sha256_BYTES, "a SHA-256 has 32 bytes");
_Static_assert(REC_BASE64_BYTES ==
                   sodium_base64_ENCODED_LEN(REC_HASH_BYTES, sodium_base64_VARIANT_ORIGINAL),
               "base64 of a SHA-256 has 44 characters");

RecHash rec_sha256(const void *head, size_t head_len, const void *bytes, size_t len)
{
    CHECK((head != NULL || head_len == 0) && (bytes != NULL || len == 0));
    crypto_hash_sha256_state state;
    unsigned char out[REC_HASH_BYTES];
    (void)crypto_hash_sha256_init(&state);
    if (head_len > 0) (void)crypto_hash_sha256_update(&state, head, head_len);
    if (len > 0) (void)crypto_hash_sha256_update(&state, bytes, len);
    (void)crypto_hash_sha256_final(&state, out);
    RecHash hash;
    rec_hex_print(out, sizeof out, hash.hex);
    return hash;
}

bool rec_hex_read(const char *hex, size_t hex_len, unsigned char *out, size_t count)
{
    if (hex_len != 2 * count) return false;
    for (size_t i = 0; i < hex_len; i++) {
        if (hex[i] == '\0' || strchr("0123456789abcdef", hex[i]) == NULL) return false;
    }
    size_t got = 0;
    return sodium_hex2bin(out, count, hex, hex_len, NULL, &got, NULL) == 0 && got == count;
}

void rec_hex_print(const unsigned char *bytes, size_t count, char *out)
{
    (void)sodium_bin2hex(out, 2 * count + 1, bytes, count);
}

void rec_base64_print(const RecHash *hash, char out[REC_BASE64_BYTES])
{
    unsigned char bytes[REC_HASH_BYTES];
    CHECK(rec_hex_read(hash->hex, strlen(hash->hex), bytes, sizeof bytes));
    (void)sodium_bin2base64(out, REC_BASE64_BYTES, bytes, sizeof bytes,
                            sodium_base64_VARIANT_ORIGINAL);
}

void rec_base64_print_signature(const unsigned char signature[REC_SIGNATURE_BYTES],
                                char out[REC_SIGNATURE_BASE64_BYTES])
{
    (void)sodium_bin2base64(out, REC_SIGNATURE_BASE64_BYTES, signature, REC_SIGNATURE_BYTES,
                            sodium_base64_VARIANT_ORIGINAL);
}

/* libsodium refuses all but the one spelling with padding and without spare bits. */
static bool read_base64(const char *base64, unsigned char *out, size_t count)
{
    size_t got = 0;
    return sodium_base642bin(out, count, base64, strlen(base64), NULL, &got, NULL,
                             sodium_base64_VARIANT_ORIGINAL) == 0 &&
           got == count;
}

bool rec_base64_read(const char *base64, RecHash *out)
{
    unsigned char bytes[REC_HASH_BYTES];
    if (!read_base64(base64, bytes, sizeof bytes)) return false;
    rec_hex_print(bytes, sizeof bytes, out->hex);
    return true;
}

bool rec_base64_read_signature(const char *base64, unsigned char out[REC_SIGNATURE_BYTES])
{
    return read_base64(base64, out, REC_SIGNATURE_BYTES);
}

void rec_wipe(void *bytes, size_t count)
{
    sodium_memzero(bytes, count);
}

void rec_key_from_seed(const unsigned char seed[REC_SEED_BYTES], unsigned char key[REC_KEY_BYTES])
{
    unsigned char secret[crypto_sign_SECRETKEYBYTES];
    CHECK(crypto_sign_seed_keypair(key, secret, seed) == 0);
    sodium_memzero(secret, sizeof secret);
}

void rec_ed25519_sign(const unsigned char seed[REC_SEED_BYTES], const void *bytes, size_t len,
                      unsigned char out[REC_SIGNATURE_BYTES])
{
    unsigned char key[REC_KEY_BYTES];
    unsigned char secret[crypto_sign_SECRETKEYBYTES];
    CHECK(crypto_sign_seed_keypair(key, secret, seed) == 0);
    CHECK(crypto_sign_detached(out, NULL, bytes, len, secret) == 0);
    sodium_memzero(secret, sizeof secret);
}

bool rec_ed25519_verify(const unsigned char key[REC_KEY_BYTES], const void *bytes, size_t len,
                        const unsigned char signature[REC_SIGNATURE_BYTES])
{
    return crypto_sign_verify_detached(signature, bytes, len, key) == 0;
}
