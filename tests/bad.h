/* Tables of bad inputs: a good text in which one part is replaced, and what must be said of it.
 *
 * A '^' in a text marks the place that the message must point to; it is taken out before the parser
 * reads the text, and line and column are counted here, apart from the parsers.
 */
#ifndef TESTS_BAD_H
#define TESTS_BAD_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/os.h"

enum { BAD_FILE_BYTES_MAX = 1024 * 1024, BAD_ROWS_MIN = 60 };

/* One edit of the good text. The place to blame is the '^' in `replacement`, or where `at` first
 * stands in the good text, before the edit. */
typedef struct {
    const char *name, *old, *replacement, *at, *want;
} BadRow;

/* A parser under test: false with `err` filled, or true with all it made freed again. */
typedef bool BadParse(void *context, const char *file, const char *bytes, size_t len, Err *err);

/* Parse a text with its '^' and compare the whole message; `want` NULL: it must be read. Returns
 * false, and prints the row's name, when it is not as wanted. */
static inline bool bad_is_told(const char *name, const char *marked, BadParse *parse, void *context,
                               const char *want)
{
    Text plain = {0};
    Text message = {0};
    Err err = {0};
    int line = 1;
    int column = 1;
    const char *mark = strchr(marked, '^');
    for (const char *at = marked; mark != NULL && at < mark; at++) {
        column = *at == '\n' ? 1 : column + 1;
        line += *at == '\n';
    }
    text_add_bytes(&plain, marked, mark == NULL ? strlen(marked) : (size_t)(mark - marked));
    if (mark != NULL) text_add(&plain, mark + 1);
    if (want != NULL) text_addf(&message, "file:%d:%d: error: %s", line, column, want);
    bool ok = parse(context, "file", text_string(&plain), plain.len, &err);
    bool as_wanted = ok ? want == NULL : strcmp(text_string(&message), err.text) == 0;
    if (!as_wanted) {
        print_error("%s:\n    got  %s\n    want %s\n", name, ok ? "nothing wrong" : err.text,
                    want == NULL ? "nothing wrong" : message.bytes);
    }
    text_clear(&plain);
    text_clear(&message);
    return as_wanted;
}

/* The good text with a row's edit and its mark. */
static inline void bad_edit(const char *good, const BadRow *row, Text *out)
{
    const char *old = strstr(good, row->old);
    if (old == NULL) fail_msg("%s: the good text has no %s", row->name, row->old);
    const char *at = row->at == NULL ? NULL : strstr(good, row->at);
    if (row->at != NULL && at == NULL) fail_msg("%s: the good text has no %s", row->name, row->at);
    const char *behind = old + strlen(row->old);
    bool is_before = at != NULL && at <= old;
    bool is_behind = at != NULL && at >= behind;
    if (is_before) {
        text_add_bytes(out, good, (size_t)(at - good));
        text_add(out, "^");
    }
    const char *from = is_before ? at : good;
    text_add_bytes(out, from, (size_t)(old - from));
    text_add(out, row->replacement);
    if (is_behind) {
        text_add_bytes(out, behind, (size_t)(at - behind));
        text_add(out, "^");
    }
    text_add(out, is_behind ? at : behind);
}

static inline void bad_check_rows(const char *good, const BadRow rows[], size_t count,
                                  BadParse *parse, void *context)
{
    bool all = true;
    for (size_t i = 0; i < count; i++) {
        Text marked = {0};
        bad_edit(good, &rows[i], &marked);
        all = bad_is_told(rows[i].name, text_string(&marked), parse, context, rows[i].want) && all;
        text_clear(&marked);
    }
    assert_true(all);
}

static inline void bad_read_file(const char *path, Text *out)
{
    Err err = {0};
    if (!os_file_read(path, BAD_FILE_BYTES_MAX, out, &err)) fail_msg("%s", err.text);
}

/* --- Objects made of keys with limits -------------------------------------------------------- */

/* A key of a JSON object, the value that is good, and what its limits are. */
typedef enum { KEY_NUMBER, KEY_INTEGER, KEY_ID, KEY_STRING, KEY_OTHER } BadKeyKind;

typedef struct {
    const char *key;
    const char *good; /* a JSON value */
    BadKeyKind kind;
    bool optional;
    const char *min, *max;      /* as the message prints them; of a string its bytes */
    const char *below, *beyond; /* values just outside; NULL for strings */
} BadKey;

/* An object with the value of key `which` replaced; NULL leaves the key out and marks the object.
 * */
static inline void bad_print_object(const BadKey keys[], size_t count, size_t which,
                                    const char *value, Text *out)
{
    text_add(out, value == NULL ? "^{" : "{");
    bool first = true;
    for (size_t i = 0; i < count; i++) {
        if (i == which && value == NULL) continue;
        text_addf(out, "%s\"%s\":\n %s", first ? "" : ", ", keys[i].key,
                  i == which ? value : keys[i].good);
        first = false;
    }
    text_add(out, "}");
}

/* Where such an object stands in a whole text. */
typedef struct {
    const BadKey *keys;
    size_t count;
    const char *before, *after;
} BadObject;

/* What stands around the object that begins with `start` in a text. */
static inline void bad_find_object(const char *good, const char *start, Text *before,
                                   const char **after)
{
    const char *at = strstr(good, start);
    if (at == NULL) fail_msg("the good text has no %s", start);
    text_add_bytes(before, good, (size_t)(at - good));
    int depth = 0;
    do {
        depth += *at == '{';
        depth -= *at == '}';
        at++;
    } while (depth > 0);
    *after = at;
}

static inline bool bad_try_value(const BadObject *object, size_t which, const char *value,
                                 BadParse *parse, void *context, const char *want)
{
    Text text = {0};
    Text name = {0};
    text_addf(&name, "%s = %.40s", object->keys[which].key, value == NULL ? "missing" : value);
    text_add(&text, object->before);
    bad_print_object(object->keys, object->count, which, value, &text);
    text_add(&text, object->after);
    bool ok = bad_is_told(name.bytes, text.bytes, parse, context, want);
    text_clear(&text);
    text_clear(&name);
    return ok;
}

/* A JSON string of so many bytes. */
static inline void bad_string(size_t bytes, Text *out)
{
    text_add(out, "\"");
    for (size_t i = 0; i < bytes; i++) {
        text_add(out, "x");
    }
    text_add(out, "\"");
}

static inline bool bad_try_number(const BadObject *object, size_t which, BadParse *parse,
                                  void *context, size_t *rows)
{
    const BadKey *key = &object->keys[which];
    const char *const outside[] = {key->below, key->beyond};
    Text marked = {0};
    Text want = {0};
    bool ok = bad_try_value(object, which, key->min, parse, context, NULL) &&
              bad_try_value(object, which, key->max, parse, context, NULL);
    for (int i = 0; i < 2; i++) {
        text_clear(&marked);
        text_clear(&want);
        text_addf(&marked, "^%s", outside[i]);
        text_addf(&want, "%s is %s, limit %s..%s", key->key, outside[i], key->min, key->max);
        ok = bad_try_value(object, which, marked.bytes, parse, context, want.bytes) && ok;
        *rows += 1;
    }
    text_clear(&want);
    text_addf(&want, "%s: has a point or an exponent, must be a whole number", key->key);
    if (key->kind == KEY_INTEGER) {
        ok = bad_try_value(object, which, "^1.5", parse, context, want.bytes) && ok;
        *rows += 1;
    }
    text_clear(&want);
    text_clear(&marked);
    return ok;
}

static inline bool bad_try_string(const BadObject *object, size_t which, BadParse *parse,
                                  void *context, size_t *rows)
{
    const BadKey *key = &object->keys[which];
    size_t max = (size_t)strtol(key->max, NULL, 10);
    Text fits = {0};
    Text beyond = {0};
    Text want = {0};
    bad_string(max, &fits);
    text_add(&beyond, "^");
    bad_string(max + 1, &beyond);
    text_addf(&want, "%s is %zu bytes long, limit 1..%zu", key->key, max + 1, max);
    bool ok = bad_try_value(object, which, fits.bytes, parse, context, NULL);
    ok = bad_try_value(object, which, beyond.bytes, parse, context, want.bytes) && ok;
    text_clear(&want);
    text_addf(&want, "%s is 0 bytes long, limit 1..%zu", key->key, max);
    ok = bad_try_value(object, which, "^\"\"", parse, context, want.bytes) && ok;
    *rows += 2;
    text_clear(&want);
    text_clear(&beyond);
    text_clear(&fits);
    return ok;
}

static inline bool bad_try_id(const BadObject *object, size_t which, BadParse *parse, void *context,
                              size_t *rows)
{
    Text want = {0};
    text_addf(&want, "%s is \"a b\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'",
              object->keys[which].key);
    bool ok = bad_try_value(object, which, "^\"a b\"", parse, context, want.bytes);
    text_clear(&want);
    *rows += 1;
    return ok;
}

/* Every key missing, of another kind, misspelt, at its limits and just beyond them. Returns how
 * many bad texts were tried; the test fails when one is not told of as it should be. */
static inline size_t bad_check_object(const BadObject *object, BadParse *parse, void *context)
{
    static const char *const kinds[] = {"a number", "a number", "a string", "a string"};
    size_t rows = 0;
    bool ok = true;
    for (size_t i = 0; i < object->count; i++) {
        const BadKey *key = &object->keys[i];
        Text want = {0};
        text_addf(&want, "%s is missing", key->key);
        ok =
            bad_try_value(object, i, NULL, parse, context, key->optional ? NULL : want.bytes) && ok;
        text_clear(&want);
        rows += !key->optional;
        if (key->kind == KEY_OTHER) continue;
        text_addf(&want, "%s: is true or false, must be %s", key->key, kinds[key->kind]);
        ok = bad_try_value(object, i, "^true", parse, context, want.bytes) && ok;
        text_clear(&want);
        rows++;
        if (key->kind == KEY_STRING) {
            ok = bad_try_string(object, i, parse, context, &rows) && ok;
        } else if (key->kind == KEY_ID) {
            ok = bad_try_id(object, i, parse, context, &rows) && ok;
        } else {
            ok = bad_try_number(object, i, parse, context, &rows) && ok;
        }
    }
    assert_true(ok);
    return rows;
}

#endif
