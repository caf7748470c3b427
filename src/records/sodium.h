/* Hashes and their spellings. sodium.c is the only file that includes libsodium. */
#ifndef RECORDS_SODIUM_H
#define RECORDS_SODIUM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/check.h"

enum {
    REC_HASH_BYTES = 32,   /* a SHA-256 */
    REC_HEX_BYTES = 65,    /* the same in hex, with its NUL */
    REC_BASE64_BYTES = 45, /* the same in base64, with its NUL */
    REC_KEY_BYTES = 32,    /* an Ed25519 public key */
    REC_SEED_BYTES = 32,   /* the secret it is made from */
    REC_SIGNATURE_BYTES = 64,
    REC_SIGNATURE_BASE64_BYTES = 89, /* the same in base64, with its NUL */
};

/* A SHA-256 (FIPS 180-4) as 64 lower-case hex digits and a NUL; all zeros: none yet. */
typedef struct {
    char hex[REC_HEX_BYTES];
} RecHash;

/* SHA-256 of `head` followed by `bytes`; each may be NULL when its length is 0. */
RecHash rec_sha256(const void *head, size_t head_len, const void *bytes, size_t len);

/* Read `hex` of `hex_len` characters, lower-case only, as exactly `count` bytes into `out`. False
 * when it is anything else: one value has one spelling, or a change of case would go unseen. */
MUST_USE bool rec_hex_read(const char *hex, size_t hex_len, unsigned char *out, size_t count);

/* Write `count` bytes as lower-case hex with a NUL into `out`, of 2 * count + 1 bytes. */
void rec_hex_print(const unsigned char *bytes, size_t count, char *out);

/* Write a hash as base64 with padding (RFC 4648 section 4) and a NUL. */
void rec_base64_print(const RecHash *hash, char out[REC_BASE64_BYTES]);
void rec_base64_print_signature(const unsigned char signature[REC_SIGNATURE_BYTES],
                                char out[REC_SIGNATURE_BASE64_BYTES]);

/* Read what these print; false for any other spelling. */
MUST_USE bool rec_base64_read(const char *base64, RecHash *out);
MUST_USE bool rec_base64_read_signature(const char *base64, unsigned char out[REC_SIGNATURE_BYTES]);

/* Overwrite a secret, so that no copy of it stays behind in memory. */
void rec_wipe(void *bytes, size_t count);

/* The Ed25519 (RFC 8032) public key of a secret seed. */
void rec_key_from_seed(const unsigned char seed[REC_SEED_BYTES], unsigned char key[REC_KEY_BYTES]);

/* Sign `bytes` with the key of a seed. */
void rec_ed25519_sign(const unsigned char seed[REC_SEED_BYTES], const void *bytes, size_t len,
                      unsigned char out[REC_SIGNATURE_BYTES]);

/* True when the signature of `bytes` is the key's. */
MUST_USE bool rec_ed25519_verify(const unsigned char key[REC_KEY_BYTES], const void *bytes,
                                 size_t len, const unsigned char signature[REC_SIGNATURE_BYTES]);

#endif
