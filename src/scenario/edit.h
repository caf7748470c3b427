/* Changing a JSON text where it stands: what is not changed keeps its bytes, so that whoever wrote
 * the file finds it as it was: order, blanks, and how a number is written.
 */
#ifndef SCENARIO_EDIT_H
#define SCENARIO_EDIT_H

#include "base/text.h"
#include "scenario/json.h"

/* A text and its values as they are now. All zeros: none. Each change reads the text anew, so
 * values that were looked up before it are gone. The owner ends it with edit_clear. */
typedef struct {
    Text text;
    JsonDoc *doc;
} Edit;

/* Begin with a text, which is copied; fails as json_parse, and leaves all zeros. */
MUST_USE bool edit_begin(const char *file, const char *bytes, size_t len, Edit *out, Err *err);
void edit_clear(Edit *edit);

/* The outermost value. */
const JsonValue *edit_root(const Edit *edit);

/* The bytes in which a value stands: from text.bytes + *from, *len of them. */
void edit_span(const Edit *edit, const JsonValue *value, size_t *from, size_t *len);

/* Put `json` where the value stands. What is put in here and below is JSON. All fail as json_parse
 * does, and then nothing is changed. */
MUST_USE bool edit_replace(Edit *edit, const JsonValue *value, const char *json, Err *err);

/* Put `json` under `key` (which needs no escapes) of an object: in place of what is there, or as
 * its last member. */
MUST_USE bool edit_set(Edit *edit, const JsonValue *object, const char *key, const char *json,
                       Err *err);

/* For each element of an array, which has some: put replaced[i] in its place where that is not NULL
 * (`replaced` NULL: nowhere); behind them all put `added_count` more, with the blanks that stand
 * before the last. Costs one reading, however many they are. */
MUST_USE bool edit_list(Edit *edit, const JsonValue *array, const char *const replaced[],
                        const char *const added[], size_t added_count, Err *err);

#endif
