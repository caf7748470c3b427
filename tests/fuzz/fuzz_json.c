/* Any bytes are JSON with every value in its place, or one error at a place within the text. */
#include <math.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "scenario/json.h"

static void walk(const JsonValue *value)
{
    CHECK(json_place(value).line >= 1 && json_place(value).column >= 1);
    JsonKind kind = json_kind(value);
    int64_t whole = 0;
    if (kind == JSON_STRING)
        CHECK(text_is_utf8(json_string(value), strlen(json_string(value)), NULL));
    if (kind == JSON_NUMBER && json_is_integer(value, &whole)) {
        CHECK((double)whole == json_number(value));
    }
    for (size_t i = 0; i < json_count(value); i++) {
        if (kind == JSON_OBJECT) CHECK(json_get(value, json_key_at(value, i)) == json_at(value, i));
        walk(json_at(value, i));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    if (json_parse("any", (const char *)bytes, count, &doc, &err)) {
        walk(json_root(doc));
        json_free(doc);
    } else {
        CHECK(doc == NULL && strncmp(err.text, "any:", strlen("any:")) == 0);
    }
    return 0;
}
