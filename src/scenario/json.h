/* JSON as RFC 8259 has it and nothing more, where every value knows its line and column.
 *
 * A text is refused, before anything is read from it, for whatever the RFC forbids, and for
 * duplicate keys, invalid UTF-8, lone surrogates, U+0000 in a string, and nesting over
 * JSON_DEPTH_MAX. The message reads "FILE:LINE:COLUMN: error: not JSON: ...". Lines and columns
 * count from 1, columns in bytes. A byte order mark is not JSON.
 */
#ifndef SCENARIO_JSON_H
#define SCENARIO_JSON_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"

enum {
    JSON_DEPTH_MAX = 64,
    JSON_BYTES_MAX = 16 * 1024 * 1024,
    JSON_STRING_BYTES_MAX = 65536, /* one string, its escapes resolved */
};

typedef enum { JSON_NULL, JSON_BOOL, JSON_NUMBER, JSON_STRING, JSON_ARRAY, JSON_OBJECT } JsonKind;

typedef struct JsonDoc JsonDoc;     /* one parsed text; owns everything below it */
typedef struct JsonValue JsonValue; /* one value in it; borrowed, lives as long as the document */

/* Parse `len` bytes. `file` is copied and names the text in every message. On true the caller ends
 * *out with json_free. Fails with ERR_INPUT as above, or ERR_RANGE over JSON_BYTES_MAX. */
MUST_USE bool json_parse(const char *file, const char *bytes, size_t len, JsonDoc **out, Err *err);

/* Read the file ("-" is standard input) and parse it. */
MUST_USE bool json_load(const char *path, JsonDoc **out, Err *err);

/* End a document and every value in it; takes NULL. */
void json_free(JsonDoc *doc);

/* The outermost value. */
const JsonValue *json_root(const JsonDoc *doc);

/* What a value is, where it begins, and the document's name for messages. */
JsonKind json_kind(const JsonValue *value);
ErrPlace json_place(const JsonValue *value);

/* Members of an object or elements of an array, in the file's order; 0 for any other kind. */
size_t json_count(const JsonValue *value);
const JsonValue *json_at(const JsonValue *value, size_t index); /* index below the count */
const char *json_key_at(const JsonValue *value, size_t index);  /* of an object */

/* The member called `key`, NULL when the value is no object or has none. */
const JsonValue *json_get(const JsonValue *value, const char *key);

/* The plain content; the value is of that kind. A number beyond a double reads as infinite. */
bool json_bool(const JsonValue *value);
double json_number(const JsonValue *value);
const char *json_string(const JsonValue *value);

/* True when a number is written without fraction and exponent, and fits in 53 bits; *out gets
 * it. */
MUST_USE bool json_is_integer(const JsonValue *value, int64_t *out);

/* --- Reading with limits: each fails with ERR_INPUT at the place to blame, in words such as
 * "belt_mm_s is 2400, limit 1..2000", "unknown key \"bet_mm_s\"; did you mean \"belt_mm_s\"?",
 * "reject: is a string, must be an object", "at_mm is missing". ------------------------------- */

/* `value` (called `name` in messages) is an object and has no keys but `keys` (NULL-ended). */
MUST_USE bool json_want_object(const JsonValue *value, const char *name, const char *const keys[],
                               Err *err);

/* `value` is an array of min to max elements. */
MUST_USE bool json_want_array(const JsonValue *value, const char *name, size_t min, size_t max,
                              Err *err);

/* Member `key` of `object`, which must be there. The value goes to *out. */
MUST_USE bool json_need(const JsonValue *object, const char *key, const JsonValue **out, Err *err);

/* A finite number, a whole number, a boolean or a string of min to max bytes under `key`. With
 * `required` false and the key absent *out stays as it was. */
MUST_USE bool json_read_number(const JsonValue *object, const char *key, bool required, double min,
                               double max, double *out, Err *err);
MUST_USE bool json_read_integer(const JsonValue *object, const char *key, bool required,
                                int64_t min, int64_t max, int64_t *out, Err *err);
MUST_USE bool json_read_bool(const JsonValue *object, const char *key, bool required, bool *out,
                             Err *err);
MUST_USE bool json_read_string(const JsonValue *object, const char *key, bool required,
                               size_t min_bytes, size_t max_bytes, const char **out, Err *err);

/* An id (text_is_id) under `key`. */
MUST_USE bool json_read_id(const JsonValue *object, const char *key, bool required,
                           const char **out, Err *err);

/* One of `words` (NULL-ended) under `key`; *out gets its index. The message lists the words. */
MUST_USE bool json_read_word(const JsonValue *object, const char *key, bool required,
                             const char *const words[], int *out, Err *err);

/* The same of a value that is no member, called `name` in the message. */
MUST_USE bool json_want_word(const JsonValue *value, const char *name, const char *const words[],
                             int *out, Err *err);

/* --- Writing
 * ------------------------------------------------------------------------------------ */

/* Append a double so that reading it gives the same bits: seventeen significant digits, "%.17g".
 * The value is finite. */
void json_add_number(Text *out, double value);

#endif
