/* A text that grows: UTF-8 bytes, always with a NUL behind them. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/check.h"

/* All zeros: empty. `bytes` is NULL until something is added, then ends in a NUL not counted by
 * `len`. The owner ends it with text_clear. */
typedef struct {
    char *bytes;
    size_t len;
    size_t capacity;
} Text;

/* Free the bytes and leave the text empty; takes an all-zero text. */
void text_clear(Text *text);

/* Append `len` bytes, which may hold NULs. */
void text_add_bytes(Text *text, const char *bytes, size_t len);

/* Append a NUL-ended string. */
void text_add(Text *text, const char *string);

/* Append as printf would. */
void text_addf(Text *text, const char *format, ...) PRINTF_LIKE(2, 3);

/* Append a number as "%.17g" would, ten times as fast for most: reading it gives the same bits. */
void text_add_double(Text *text, double value);

/* Append `string` in double quotes with the escapes of RFC 8785 section 3.2.2.2, as JSON wants it;
 * `string` is valid UTF-8. */
void text_add_quoted(Text *text, const char *string);

/* The text as a NUL-ended string, "" when empty; borrowed until the next change. */
const char *text_string(const Text *text);

/* True when the bytes are valid UTF-8 (RFC 3629: no surrogates, no overlong forms). On false
 * *bad_at, if not NULL, is the offset of the first byte that is wrong. */
MUST_USE bool text_is_utf8(const char *bytes, size_t len, size_t *bad_at);

/* True when `string` is an id: 1 to 64 characters of a-z, A-Z, 0-9, '-', '_' and '.'. */
MUST_USE bool text_is_id(const char *string);

/* A whole decimal number with an optional '-', nothing around it; false when it is none or outside
 * int64_t. */
MUST_USE bool text_to_int(const char *string, int64_t *value);

/* The number of single-character edits between two strings (Levenshtein), for "did you mean". */
int text_distance(const char *a, const char *b);

/* True when two texts, valid UTF-8, differ at most in the case of their letters and in their
 * blanks: those at either end, and how many stand between two words. Letters are the Latin ones up
 * to U+017F, those of Romanian, and the plain Greek and Cyrillic ones; of accents that stand apart
 * from their letter nothing is known. */
MUST_USE bool text_is_same_name(const char *a, const char *b);

#endif
