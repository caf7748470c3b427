/* Cutting and joining a JSON text that was read and is known to be right. */
#include "scenario/edit.h"

#include <stdlib.h>
#include <string.h>

/* The offset behind the value that begins at `at`. */
static size_t skip_value(const char *bytes, size_t at)
{
    int depth = 0;
    do {
        char c = bytes[at];
        if (c == '"') {
            for (at++; bytes[at] != '"'; at++) {
                if (bytes[at] == '\\') at++;
            }
            at++;
        } else if (c == '{' || c == '[') {
            depth++;
            at++;
        } else if (c == '}' || c == ']') {
            depth--;
            at++;
        } else if (depth > 0) {
            at++;
        } else {
            at += strcspn(bytes + at, ",]} \t\r\n");
        }
    } while (depth > 0);
    return at;
}

static size_t skip_space(const char *bytes, size_t at)
{
    return at + strspn(bytes + at, " \t\r\n");
}

/* One member or element: `lead` is behind the bracket or comma before it, `start` at its key or
 * value, then its value. */
typedef struct {
    size_t lead, start, value, end;
} Item;

/* The items of the container that begins at `at`, json_count of them. */
static Item *cut_items(const char *bytes, size_t at, const JsonValue *container)
{
    size_t count = json_count(container);
    Item *items = check_calloc(count + 1, sizeof *items);
    bool is_object = json_kind(container) == JSON_OBJECT;
    for (size_t i = 0; i < count; i++) {
        Item *item = &items[i];
        item->lead = at + 1;
        item->start = skip_space(bytes, item->lead);
        item->value = item->start;
        if (is_object) {
            size_t colon = skip_space(bytes, skip_value(bytes, item->start));
            item->value = skip_space(bytes, colon + 1);
        }
        item->end = skip_value(bytes, item->value);
        at = skip_space(bytes, item->end);
    }
    return items;
}

static size_t offset_of(const Edit *edit, const JsonValue *value)
{
    ErrPlace place = json_place(value);
    size_t at = 0;
    for (int line = 1; line < place.line; line++) {
        at = (size_t)(strchr(edit->text.bytes + at, '\n') - edit->text.bytes) + 1;
    }
    return at + (size_t)place.column - 1;
}

/* The text is `text` now, and cleared. */
static bool take(Edit *edit, Text *text, Err *err)
{
    JsonDoc *doc = NULL;
    const char *file = edit->doc == NULL ? "" : json_place(edit_root(edit)).file;
    bool ok = json_parse(file, text_string(text), text->len, &doc, err);
    if (ok) {
        json_free(edit->doc);
        edit->doc = doc;
        text_clear(&edit->text);
        edit->text = *text;
        *text = (Text){0};
    }
    text_clear(text);
    return ok;
}

bool edit_begin(const char *file, const char *bytes, size_t len, Edit *out, Err *err)
{
    *out = (Edit){0};
    if (!json_parse(file, bytes, len, &out->doc, err)) return false;
    text_add_bytes(&out->text, bytes, len);
    return true;
}

void edit_clear(Edit *edit)
{
    json_free(edit->doc);
    text_clear(&edit->text);
    *edit = (Edit){0};
}

const JsonValue *edit_root(const Edit *edit)
{
    return json_root(edit->doc);
}

void edit_span(const Edit *edit, const JsonValue *value, size_t *from, size_t *len)
{
    *from = offset_of(edit, value);
    *len = skip_value(edit->text.bytes, *from) - *from;
}

/* Put `json` between two offsets. */
static bool put(Edit *edit, size_t from, size_t to, const char *json, Err *err)
{
    Text text = {0};
    text_add_bytes(&text, edit->text.bytes, from);
    text_add(&text, json);
    text_add_bytes(&text, edit->text.bytes + to, edit->text.len - to);
    return take(edit, &text, err);
}

bool edit_replace(Edit *edit, const JsonValue *value, const char *json, Err *err)
{
    size_t from;
    size_t len;
    edit_span(edit, value, &from, &len);
    return put(edit, from, from + len, json, err);
}

bool edit_set(Edit *edit, const JsonValue *object, const char *key, const char *json, Err *err)
{
    const JsonValue *there = json_get(object, key);
    if (there != NULL) return edit_replace(edit, there, json, err);
    size_t at = offset_of(edit, object);
    size_t count = json_count(object);
    Text member = {0};
    if (count == 0) {
        text_addf(&member, "{ \"%s\": %s }", key, json);
        bool ok = put(edit, at, skip_value(edit->text.bytes, at), member.bytes, err);
        text_clear(&member);
        return ok;
    }
    Item *items = cut_items(edit->text.bytes, at, object);
    const Item *last = &items[count - 1];
    text_add(&member, ",");
    text_add_bytes(&member, edit->text.bytes + last->lead, last->start - last->lead);
    text_addf(&member, "%s\"%s\": %s", last->start == last->lead ? " " : "", key, json);
    bool ok = put(edit, last->end, last->end, member.bytes, err);
    text_clear(&member);
    free(items);
    return ok;
}

bool edit_list(Edit *edit, const JsonValue *array, const char *const replaced[],
               const char *const added[], size_t added_count, Err *err)
{
    const char *bytes = edit->text.bytes;
    size_t count = json_count(array);
    CHECK(count > 0);
    Item *items = cut_items(bytes, offset_of(edit, array), array);
    const Item *last = &items[count - 1];
    size_t done = 0; /* the bytes before it are in the new text */
    Text text = {0};
    for (size_t i = 0; i < count; i++) {
        if (replaced != NULL && replaced[i] != NULL) {
            text_add_bytes(&text, bytes + done, items[i].start - done);
            text_add(&text, replaced[i]);
            done = items[i].end;
        }
    }
    text_add_bytes(&text, bytes + done, last->end - done);
    for (size_t i = 0; i < added_count; i++) {
        text_add(&text, ",");
        text_add_bytes(&text, bytes + last->lead, last->start - last->lead);
        text_add(&text, added[i]);
    }
    text_add_bytes(&text, bytes + last->end, edit->text.len - last->end);
    free(items);
    return take(edit, &text, err);
}
