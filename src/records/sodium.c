/* libsodium behind our own names. */
#include "records/sodium.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(REC_HASH_BYTES == crypto_hash_sha256_BYTES, "a SHA-256 has 32 bytes");
_Static_assert(REC_BASE64_BYTES ==
                   sodium_base64_ENCODED_LEN(REC_HASH_BYTES, sodium_base64_VARIANT_ORIGINAL),
               "base64 of a SHA-256 has 44 characters");
_Static_assert(REC_KEY_BYTES == crypto_sign_PUBLICKEYBYTES &&
                   REC_SEED_BYTES == crypto_sign_SEEDBYTES &&
                   REC_SIGNATURE_BYTES == crypto_sign_BYTES,
               "Ed25519: key and seed have 32 bytes, a signature 64");
_Static_assert(REC_SALT_BYTES == crypto_pwhash_argon2id_SALTBYTES &&
                   REC_SEAL_KEY_BYTES == crypto_aead_xchacha20poly1305_ietf_KEYBYTES &&
                   REC_NONCE_BYTES == crypto_aead_xchacha20poly1305_ietf_NPUBBYTES &&
                   REC_TAG_BYTES == crypto_aead_xchacha20poly1305_ietf_ABYTES,
               "Argon2id and XChaCha20-Poly1305 take and give what sodium.h says");

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

struct RecHasher {
    crypto_hash_sha256_state state;
};

RecHasher *rec_hasher_new(void)
{
    RecHasher *hasher = check_calloc(1, sizeof *hasher);
    (void)crypto_hash_sha256_init(&hasher->state);
    return hasher;
}

void rec_hasher_add(RecHasher *hasher, const void *bytes, size_t len)
{
    if (len > 0) (void)crypto_hash_sha256_update(&hasher->state, bytes, len);
}

RecHash rec_hasher_end(RecHasher *hasher)
{
    unsigned char out[REC_HASH_BYTES];
    RecHash hash = {""};
    if (hasher == NULL) return hash;
    (void)crypto_hash_sha256_final(&hasher->state, out);
    rec_hex_print(out, sizeof out, hash.hex);
    free(hasher);
    return hash;
}

void rec_base64_add(const void *bytes, size_t len, Text *out)
{
    size_t size = sodium_base64_encoded_len(len, sodium_base64_VARIANT_ORIGINAL);
    char *base64 = check_calloc(size, 1);
    (void)sodium_bin2base64(base64, size, len == 0 ? (const void *)"" : bytes, len,
                            sodium_base64_VARIANT_ORIGINAL);
    text_add_bytes(out, base64, size - 1);
    free(base64);
}

bool rec_base64_take(const char *base64, size_t len, Text *out)
{
    size_t size = len / 4 * 3 + 3;
    size_t got = 0;
    unsigned char *bytes = check_calloc(size, 1);
    bool ok = sodium_base642bin(bytes, size, base64, len, NULL, &got, NULL,
                                sodium_base64_VARIANT_ORIGINAL) == 0;
    if (ok) text_add_bytes(out, (const char *)bytes, got);
    free(bytes);
    return ok;
}

bool rec_hex_read(const char *hex, size_t hex_len, unsigned char *out, size_t count)
{
    if (hex_len != 2 * count) return false;
    for (size_t i = 0; i < hex_len; i++) {
        bool is_digit = hex[i] >= '0' && hex[i] <= '9';
        if (!is_digit && !(hex[i] >= 'a' && hex[i] <= 'f')) return false;
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

void rec_key_from_seed(const unsigned char seed[REC_SEED_BYTES], unsigned char key[REC_KEY_BYTES])
{
    unsigned char secret[crypto_sign_SECRETKEYBYTES];
    CHECK(crypto_sign_seed_keypair(key, secret, seed) == 0);
    rec_wipe(secret, sizeof secret);
}

void rec_ed25519_sign(const unsigned char seed[REC_SEED_BYTES], const void *bytes, size_t len,
                      unsigned char out[REC_SIGNATURE_BYTES])
{
    CHECK(bytes != NULL || len == 0);
    unsigned char key[REC_KEY_BYTES];
    unsigned char secret[crypto_sign_SECRETKEYBYTES];
    CHECK(crypto_sign_seed_keypair(key, secret, seed) == 0);
    CHECK(crypto_sign_detached(out, NULL, bytes != NULL ? bytes : "", len, secret) == 0);
    rec_wipe(secret, sizeof secret);
}

bool rec_ed25519_verify(const unsigned char key[REC_KEY_BYTES], const void *bytes, size_t len,
                        const unsigned char signature[REC_SIGNATURE_BYTES])
{
    CHECK(bytes != NULL || len == 0);
    return crypto_sign_verify_detached(signature, bytes != NULL ? bytes : "", len, key) == 0;
}

void rec_argon2id(const RecCost *cost, const void *typed, size_t len,
                  const unsigned char salt[REC_SALT_BYTES], unsigned char out[REC_SEAL_KEY_BYTES])
{
    CHECK(typed != NULL || len == 0);
    CHECK(cost->passes >= 1 && cost->passes <= 100);
    CHECK(cost->memory_kib >= 8 && cost->memory_kib <= 1048576);
    CHECK(sodium_init() >=
          0); /* chooses the fastest of its codes; without it the slowest is used */
    /* It fails for want of memory alone. */
    CHECK(crypto_pwhash(out, REC_SEAL_KEY_BYTES, typed != NULL ? typed : "", len, salt,
                        (unsigned long long)cost->passes, (size_t)cost->memory_kib * 1024,
                        crypto_pwhash_ALG_ARGON2ID13) == 0);
}

void rec_seal(const RecSealing *with, const void *plain, size_t len, unsigned char *out)
{
    CHECK(plain != NULL || len == 0);
    CHECK(crypto_aead_xchacha20poly1305_ietf_encrypt(out, NULL, plain, len, with->associated,
                                                     with->associated_len, NULL, with->nonce,
                                                     with->key) == 0);
}

bool rec_unseal(const RecSealing *with, const unsigned char *sealed, size_t len, unsigned char *out)
{
    if (len < REC_TAG_BYTES) return false;
    return crypto_aead_xchacha20poly1305_ietf_decrypt(out, NULL, NULL, sealed, len,
                                                      with->associated, with->associated_len,
                                                      with->nonce, with->key) == 0;
}

void rec_wipe(void *bytes, size_t len)
{
    sodium_memzero(bytes, len);
}
