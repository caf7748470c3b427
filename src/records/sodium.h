/* Hashes and their spellings, signatures, slow keys from typed words, sealed bytes. sodium.c is the
 * only file that includes libsodium. Signing and opening take a time that tells nothing of a key.
 */
#ifndef RECORDS_SODIUM_H
#define RECORDS_SODIUM_H

#include <stdbool.h>
#include <stddef.h>

#include "base/check.h"

enum {
    REC_HASH_BYTES = 32,   /* a SHA-256 */
    REC_HEX_BYTES = 65,    /* the same in hex, with its NUL */
    REC_BASE64_BYTES = 45, /* the same in base64, with its NUL */
    REC_KEY_BYTES = 32,    /* the public half of a signing key */
    REC_SEED_BYTES = 32,   /* its secret half: the seed of RFC 8032, from which all else follows */
    REC_SIGNATURE_BYTES = 64,
    REC_SIGNATURE_BASE64_BYTES = 89, /* the same in base64, with its NUL */
    REC_SALT_BYTES = 16,             /* of Argon2id */
    REC_SEAL_KEY_BYTES = 32,         /* what a seal is made and opened with */
    REC_NONCE_BYTES = 24,            /* so long that a random one never comes twice */
    REC_TAG_BYTES = 16,              /* by which sealed bytes are longer than plain ones */
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

/* Write a hash, or a signature, as base64 with padding (RFC 4648 section 4) and a NUL. */
void rec_base64_print(const RecHash *hash, char out[REC_BASE64_BYTES]);
void rec_base64_print_signature(const unsigned char signature[REC_SIGNATURE_BYTES],
                                char out[REC_SIGNATURE_BASE64_BYTES]);

/* Read what these print; false for any other spelling. */
MUST_USE bool rec_base64_read(const char *base64, RecHash *out);
MUST_USE bool rec_base64_read_signature(const char *base64, unsigned char out[REC_SIGNATURE_BYTES]);

/* --- Signatures: Ed25519 (RFC 8032 section 5.1, without prehash or context) ------------------- */

/* The public key that belongs to `seed`, REC_SEED_BYTES from os_random. */
void rec_key_from_seed(const unsigned char seed[REC_SEED_BYTES], unsigned char key[REC_KEY_BYTES]);

/* Sign `len` bytes (NULL when 0) with the key of `seed`; the same bytes give the same signature. */
void rec_ed25519_sign(const unsigned char seed[REC_SEED_BYTES], const void *bytes, size_t len,
                      unsigned char out[REC_SIGNATURE_BYTES]);

/* True when `signature` is that of `key` over the bytes. A signature in a second spelling is not
 * (S is below the order of the group), nor any by a key of small order, such as all zeros. */
MUST_USE bool rec_ed25519_verify(const unsigned char key[REC_KEY_BYTES], const void *bytes,
                                 size_t len, const unsigned char signature[REC_SIGNATURE_BYTES]);

/* --- Typed words and sealed bytes ------------------------------------------------------------- */

/* What one guess costs whoever guesses. */
typedef struct {
    int passes;     /* 1 to 100 */
    int memory_kib; /* 8 to 1048576 KiB */
} RecCost;

/* Make a key of `len` typed bytes (NULL when 0): Argon2id, version 0x13 (RFC 9106), one lane, no
 * secret and no associated data. Takes the time and memory of `cost`. */
void rec_argon2id(const RecCost *cost, const void *typed, size_t len,
                  const unsigned char salt[REC_SALT_BYTES], unsigned char out[REC_SEAL_KEY_BYTES]);

/* What a seal is made with: XChaCha20-Poly1305 (RFC 8439 with the 24-byte nonce of
 * draft-irtf-cfrg-xchacha-03). Borrowed. */
typedef struct {
    const unsigned char *key;   /* REC_SEAL_KEY_BYTES */
    const unsigned char *nonce; /* REC_NONCE_BYTES from os_random, never twice with one key */
    const void *associated;     /* what is not hidden but must be the same at opening; NULL: none */
    size_t associated_len;
} RecSealing;

/* Seal `len` bytes (NULL when 0) into `out`, len + REC_TAG_BYTES. */
void rec_seal(const RecSealing *with, const void *plain, size_t len, unsigned char *out);

/* Open `len` sealed bytes into `out`, len - REC_TAG_BYTES (NULL when that is 0). False when they
 * are torn or altered, or key, nonce or associated bytes are not those they were sealed with; `out`
 * is then not to be used. */
MUST_USE bool rec_unseal(const RecSealing *with, const unsigned char *sealed, size_t len,
                         unsigned char *out);

/* Write zeros over a secret; no compiler leaves it out. */
void rec_wipe(void *bytes, size_t len);

#endif
