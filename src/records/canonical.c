/* Canonical JSON. */
#include "records/canonical.h"

#include <math.h>
#include <stdlib.h>

typedef struct {
    const char *key;
    const JsonValue *value;
} Member;

/* UTF-8 sorts by code point. UTF-16 differs in one thing: characters beyond U+FFFF are written with
 * surrogates, which sort before U+E000..U+FFFF. So lead bytes F0..F4 come before EE and EF. */
static int utf16_rank(unsigned char byte)
{
    if (byte >= 0xf0) return byte - 0xf0 + 0xee;
    if (byte >= 0xee) return byte - 0xee + 0xf3;
    return byte;
}

static int compare_members(const void *a, const void *b)
{
    const unsigned char *x = (const unsigned char *)((const Member *)a)->key;
    const unsigned char *y = (const unsigned char *)((const Member *)b)->key;
    while (*x == *y && *x != '\0') {
        x++;
        y++;
    }
    return utf16_rank(*x) - utf16_rank(*y);
}

static bool add_number(const JsonValue *value, Text *out, Err *err)
{
    const double limit = 9007199254740992.0; /* 2^53: from here on doubles skip whole numbers */
    double number = json_number(value);
    if (!(fabs(number) < limit) || floor(number) < number) {
        return err_at(err, json_place(value),
                      "%.17g cannot be recorded, only whole numbers from -9007199254740991 to "
                      "9007199254740991",
                      number);
    }
    text_addf(out, "%lld", (long long)number); /* also makes -0 a 0, as ECMAScript does */
    return true;
}

static bool add_value(const JsonValue *value, Text *out, Err *err);

static bool add_array(const JsonValue *value, Text *out, Err *err)
{
    text_add(out, "[");
    for (size_t i = 0; i < json_count(value); i++) {
        if (i > 0) text_add(out, ",");
        if (!add_value(json_at(value, i), out, err)) return false;
    }
    text_add(out, "]");
    return true;
}

static bool add_object(const JsonValue *value, Text *out, Err *err)
{
    size_t count = json_count(value);
    Member *members = check_calloc(count + 1, sizeof *members);
    for (size_t i = 0; i < count; i++) {
        members[i] = (Member){json_key_at(value, i), json_at(value, i)};
    }
    qsort(members, count, sizeof *members, compare_members);
    bool ok = true;
    text_add(out, "{");
    for (size_t i = 0; ok && i < count; i++) {
        if (i > 0) text_add(out, ",");
        text_add_quoted(out, members[i].key);
        text_add(out, ":");
        ok = add_value(members[i].value, out, err);
    }
    text_add(out, "}");
    free(members);
    return ok;
}

static bool add_value(const JsonValue *value, Text *out, Err *err)
{
    switch (json_kind(value)) {
    case JSON_NULL:
        return err_at(err, json_place(value), "null cannot be recorded; leave the key out");
    case JSON_BOOL:
        text_add(out, json_bool(value) ? "true" : "false");
        return true;
    case JSON_NUMBER:
        return add_number(value, out, err);
    case JSON_STRING:
        text_add_quoted(out, json_string(value));
        return true;
    case JSON_ARRAY:
        return add_array(value, out, err);
    case JSON_OBJECT:
        return add_object(value, out, err);
    }
    CHECK(false);
    return false;
}

bool rec_canonical(const JsonValue *value, Text *out, Err *err)
{
    CHECK(value != NULL && out != NULL && err != NULL);
    Text text = {0};
    bool ok = add_value(value, &text, err);
    if (ok) text_add_bytes(out, text.bytes, text.len);
    text_clear(&text);
    return ok;
}
