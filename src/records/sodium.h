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

#endif
