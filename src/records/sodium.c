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
