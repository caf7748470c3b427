/* Events from facts. */
#include "records/event.h"

#include <string.h>

#include "records/calendar.h"
#include "scenario/json.h"

static const char *const kind_words[REC_EVENT_KIND_COUNT + 1] = {
    "assignment", "run",   "void", "observation", "signature", "acknowledgement",
    "withdrawal", "paper", "role", "key",         NULL};
static const char *const decision_words[] = {"signed", "with-buddy", "refused", NULL};

static int index_of(const char *word, const char *const words[])
{
    int i = 0;
    while (words[i] != NULL && strcmp(words[i], word) != 0) {
        i++;
    }
    return words[i] == NULL ? -1 : i;
}

/* A text of the value, "" when it has none of that name. */
static const char *text_in(const JsonValue *value, const char *key)
{
    const JsonValue *found = json_get(value, key);
    return found != NULL && json_kind(found) == JSON_STRING ? json_string(found) : "";
}

static bool bool_in(const JsonValue *value, const char *key)
{
    const JsonValue *found = json_get(value, key);
    return found != NULL && json_kind(found) == JSON_BOOL && json_bool(found);
}

/* Copy a text into a field; false when it is too long. */
static bool copy(const char *text, char *out, size_t bytes)
{
    size_t len = strlen(text);
    if (len >= bytes) return false;
    memcpy(out, text, len + 1);
    return true;
}

#define COPY(text, field) copy((text), (field), sizeof(field))

static bool day_in(const JsonValue *value, const char *key, int32_t *day)
{
    const char *text = text_in(value, key);
    return text[0] == '\0' || rec_day_read(text, day);
}

/* Append the words under `key`, an array or one text, with blanks between and a NUL behind. */
static void add_list(const JsonValue *value, const char *key, Text *room)
{
    const JsonValue *list = json_get(value, key);
    bool is_array = list != NULL && json_kind(list) == JSON_ARRAY;
    for (size_t i = 0; is_array && i < json_count(list); i++) {
        const JsonValue *word = json_at(list, i);
        if (i > 0) text_add(room, " ");
        if (json_kind(word) == JSON_STRING) text_add(room, json_string(word));
    }
    text_add(room, text_in(value, key));
    text_add_bytes(room, "", 1);
}

static void read_lists(const JsonValue *value, RecEvent *out, Text *room)
{
    const char *line_key = out->kind == REC_EVENT_OBSERVATION ? "line" : "lines";
    const char *const keys[] = {line_key, "products", "checks", "evidence"};
    const char **const fields[] = {&out->lines, &out->products, &out->checks, &out->evidence};
    size_t at[4];
    for (int i = 0; i < 4; i++) {
        at[i] = room->len;
        add_list(value, keys[i], room);
    }
    for (int i = 0; i < 4; i++) {
        *fields[i] = room->bytes + at[i]; /* it moves no more */
    }
}

static bool read_run(const JsonValue *value, RecEvent *out)
{
    const char *verdict = text_in(value, "verdict");
    out->is_assessment = strcmp(text_in(value, "mode"), "assessment") == 0;
    out->is_scripted = bool_in(value, "scripted");
    out->verdict = strcmp(verdict, "competent") == 0    ? REC_RUN_COMPETENT
                   : strcmp(verdict, "broken-off") == 0 ? REC_RUN_BROKEN_OFF
                                                        : REC_RUN_NOT_YET;
    return COPY(text_in(value, "supervised_by"), out->other);
}

/* What only some kinds have. The subject of a fact is the public key of a key, and what an entry is
 * about. */
static bool read_value(const RecFact *fact, const JsonValue *value, RecEvent *out)
{
    bool is_key = out->kind == REC_EVENT_KEY;
    bool is_paper = out->kind == REC_EVENT_PAPER;
    if (json_get(value, "about") != NULL) return COPY(fact->subject, out->about);
    if (!COPY(is_key ? text_in(value, "why") : fact->subject, out->subject)) return false;
    if (!COPY(is_key ? fact->subject : text_in(value, "key"), out->key)) return false;
    if (out->kind == REC_EVENT_RUN) return read_run(value, out);
    if (out->kind == REC_EVENT_SIGNATURE) {
        int decision = index_of(text_in(value, "decision"), decision_words);
        if (decision < 0) return false;
        out->decision = (RecDecision)decision;
    }
    out->is_good = bool_in(value, out->kind == REC_EVENT_ROLE ? "given" : "good");
    return COPY(text_in(value, "buddy"), out->other) &&
           day_in(value, is_paper ? "signed_on" : "seen_on", &out->day) &&
           day_in(value, "good_until", &out->until_day);
}

bool rec_event_read(const RecFact *fact, RecEvent *out, Text *room, bool *is_one, Err *err)
{
    JsonDoc *document = NULL;
    Err why = {0};
    int kind = index_of(fact->kind, kind_words);
    *is_one = kind >= 0;
    if (!*is_one) return true;
    *out = (RecEvent){.kind = (RecEventKind)kind, .number = fact->number, .time_us = fact->time_us};
    bool ok = json_parse("fact", fact->value, strlen(fact->value), &document, &why) &&
              COPY(fact->station, out->station) && COPY(fact->hash, out->hash) &&
              COPY(fact->person, out->person) && COPY(fact->author, out->author) &&
              read_value(fact, json_root(document), out);
    if (ok) read_lists(json_root(document), out, room);
    json_free(document);
    if (ok) return true;
    return err_set(err, ERR_DAMAGE, "the fact of entry %.8s... is none that an entry gives",
                   fact->hash);
}
