/* The kinds of entries and their fields. */
#include "records/kinds.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "records/stamp.h"

const char *const rec_kind_names[REC_KIND_COUNT] = {
    [REC_KIND_STORE] = "store",
    [REC_KIND_START] = "start",
    [REC_KIND_STATION_KEY] = "station-key",
    [REC_KIND_PERSON] = "person",
    [REC_KIND_ROLE] = "role",
    [REC_KIND_KEY] = "key",
    [REC_KIND_ATTEMPT] = "attempt",
    [REC_KIND_ASSIGNMENT] = "assignment",
    [REC_KIND_RUN] = "run",
    [REC_KIND_VOID] = "void",
    [REC_KIND_OBSERVATION] = "observation",
    [REC_KIND_SIGNATURE] = "signature",
    [REC_KIND_ACKNOWLEDGEMENT] = "acknowledgement",
    [REC_KIND_WITHDRAWAL] = "withdrawal",
    [REC_KIND_CORRECTION] = "correction",
    [REC_KIND_REMARK] = "remark",
    [REC_KIND_PAPER] = "paper",
    [REC_KIND_IMPORT] = "import",
    [REC_KIND_FORK] = "fork",
    [REC_KIND_CLOCK] = "clock",
    [REC_KIND_RESTORE] = "restore",
    [REC_KIND_ERASURE] = "erasure",
};

#define NEW(member) offsetof(RecNew, member)
#define NOT REC_NOT_GIVEN

/* In the order of the kinds, and of each in that of canonical JSON. */
static const RecField fields[] = {
    {REC_KIND_STORE, "format", WANT_WHOLE, false, NOT, NULL},
    {REC_KIND_STORE, "key", WANT_PUBLIC_KEY, true, NOT, NULL},
    {REC_KIND_STORE, "program", WANT_WORD, false, NOT, NULL},
    {REC_KIND_START, "program", WANT_WORD, false, NOT, NULL},
    {REC_KIND_STATION_KEY, "key", WANT_PUBLIC_KEY, false, NOT, NULL},
    {REC_KIND_STATION_KEY, "old_signature", WANT_SIGNATURE, false, NOT, NULL},
    {REC_KIND_STATION_KEY, "public", WANT_PUBLIC_KEY, true, NOT, NULL},
    {REC_KIND_STATION_KEY, "signature", WANT_SIGNATURE, false, NOT, NULL},
    {REC_KIND_PERSON, "name", WANT_VEIL, true, NOT, NULL},
    {REC_KIND_PERSON, "person", WANT_PERSON, false, NOT, NULL},
    {REC_KIND_ROLE, "given", WANT_BOOL, false, NEW(is_yes), NULL},
    {REC_KIND_ROLE, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_ROLE, "role", WANT_CHOICE, true, NEW(word),
     "operator assessor supervisor quality trainer"},
    {REC_KIND_KEY, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_KEY, "public", WANT_PUBLIC_KEY, true, NEW(public_key), NULL},
    {REC_KIND_KEY, "why", WANT_CHOICE, false, NEW(word), "first changed reissued lost"},
    {REC_KIND_ATTEMPT, "failed", WANT_COUNT, false, NEW(failed), NULL},
    {REC_KIND_ATTEMPT, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_ATTEMPT, "what", WANT_CHOICE, true, NEW(word), "pin passphrase"},
    {REC_KIND_ASSIGNMENT, "buddy", WANT_BUDDY, false, NEW(buddy), NULL},
    {REC_KIND_ASSIGNMENT, "competence", WANT_WORD, true, NEW(competence), NULL},
    {REC_KIND_ASSIGNMENT, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_RUN, "contents", WANT_CONTENTS, false, NOT, NULL},
    {REC_KIND_RUN, "language", WANT_WORD, false, NOT, NULL},
    {REC_KIND_RUN, "mode", WANT_CHOICE, false, NOT, "practice assessment"},
    {REC_KIND_RUN, "model", WANT_WORD, false, NOT, NULL},
    {REC_KIND_RUN, "result", WANT_RESULT, false, NOT, NULL},
    {REC_KIND_RUN, "scenario", WANT_WORD, true, NOT, NULL},
    {REC_KIND_RUN, "scripted", WANT_BOOL, false, NOT, NULL},
    {REC_KIND_RUN, "seed", WANT_SEED, false, NOT, NULL},
    {REC_KIND_RUN, "supervised_by", WANT_BUDDY, false, NOT, NULL},
    {REC_KIND_VOID, "about", WANT_ABOUT, true, NEW(about), NULL},
    {REC_KIND_VOID, "person", WANT_ABOUT_WHOM, false, NOT, NULL},
    {REC_KIND_VOID, "reason", WANT_TEXT, false, NEW(reason), NULL},
    {REC_KIND_OBSERVATION, "answers", WANT_CHOICES, false, NEW(answers), "yes no not-seen"},
    {REC_KIND_OBSERVATION, "checklist", WANT_CONTENT, false, NEW(checklist), NULL},
    {REC_KIND_OBSERVATION, "competence", WANT_WORD, true, NEW(competence), NULL},
    {REC_KIND_OBSERVATION, "good", WANT_BOOL, false, NEW(is_yes), NULL},
    {REC_KIND_OBSERVATION, "line", WANT_WORD, false, NEW(line), NULL},
    {REC_KIND_OBSERVATION, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_OBSERVATION, "photo", WANT_CONTENT_OR_NONE, false, NEW(photo), NULL},
    {REC_KIND_OBSERVATION, "remark", WANT_VEIL_OR_NONE, false, NEW(text), NULL},
    {REC_KIND_OBSERVATION, "seen_on", WANT_DATE, false, NEW(date), NULL},
    {REC_KIND_OBSERVATION, "sheet", WANT_TEXT, false, NEW(sheet), NULL},
    {REC_KIND_SIGNATURE, "buddy", WANT_BUDDY, false, NEW(buddy), NULL},
    {REC_KIND_SIGNATURE, "checks", WANT_WORDS, false, NEW(checks), NULL},
    {REC_KIND_SIGNATURE, "competence", WANT_WORD, true, NEW(competence), NULL},
    {REC_KIND_SIGNATURE, "decision", WANT_CHOICE, false, NEW(word), "signed with-buddy refused"},
    {REC_KIND_SIGNATURE, "evidence", WANT_EVIDENCE, false, NEW(evidence), NULL},
    {REC_KIND_SIGNATURE, "good_until", WANT_DATE, false, NEW(good_until), NULL},
    {REC_KIND_SIGNATURE, "head", WANT_HEAD, false, NOT, NULL},
    {REC_KIND_SIGNATURE, "key", WANT_PUBLIC_KEY, false, NOT, NULL},
    {REC_KIND_SIGNATURE, "lines", WANT_WORDS, false, NEW(lines), NULL},
    {REC_KIND_SIGNATURE, "meaning", WANT_TEXT, false, NEW(meaning), NULL},
    {REC_KIND_SIGNATURE, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_SIGNATURE, "products", WANT_WORDS, false, NEW(products), NULL},
    {REC_KIND_SIGNATURE, "signature", WANT_SIGNATURE, false, NOT, NULL},
    {REC_KIND_SIGNATURE, "statement", WANT_CONTENT, false, NEW(statement), NULL},
    {REC_KIND_ACKNOWLEDGEMENT, "about", WANT_ABOUT, true, NEW(about), NULL},
    {REC_KIND_ACKNOWLEDGEMENT, "person", WANT_ABOUT_WHOM, false, NOT, NULL},
    {REC_KIND_WITHDRAWAL, "about", WANT_ABOUT, true, NEW(about), NULL},
    {REC_KIND_WITHDRAWAL, "key", WANT_PUBLIC_KEY, false, NOT, NULL},
    {REC_KIND_WITHDRAWAL, "person", WANT_ABOUT_WHOM, false, NOT, NULL},
    {REC_KIND_WITHDRAWAL, "reason", WANT_TEXT, false, NEW(reason), NULL},
    {REC_KIND_WITHDRAWAL, "signature", WANT_SIGNATURE, false, NOT, NULL},
    {REC_KIND_CORRECTION, "about", WANT_ABOUT, true, NEW(about), NULL},
    {REC_KIND_CORRECTION, "person", WANT_ABOUT_WHOM, false, NOT, NULL},
    {REC_KIND_CORRECTION, "reason", WANT_TEXT, false, NEW(reason), NULL},
    {REC_KIND_CORRECTION, "text", WANT_VEIL, false, NEW(text), NULL},
    {REC_KIND_REMARK, "about", WANT_ABOUT, true, NEW(about), NULL},
    {REC_KIND_REMARK, "person", WANT_ABOUT_WHOM, false, NOT, NULL},
    {REC_KIND_REMARK, "text", WANT_VEIL, false, NEW(text), NULL},
    {REC_KIND_PAPER, "competence", WANT_WORD, true, NEW(competence), NULL},
    {REC_KIND_PAPER, "good_until", WANT_DATE, false, NEW(good_until), NULL},
    {REC_KIND_PAPER, "lines", WANT_WORDS, false, NEW(lines), NULL},
    {REC_KIND_PAPER, "person", WANT_PERSON, false, NEW(person), NULL},
    {REC_KIND_PAPER, "signed_by", WANT_VEIL, false, NEW(text), NULL},
    {REC_KIND_PAPER, "signed_on", WANT_DATE, false, NEW(date), NULL},
    {REC_KIND_IMPORT, "bundle", WANT_HASH, true, NOT, NULL},
    {REC_KIND_IMPORT, "stations", WANT_HEADS, false, NOT, NULL},
    {REC_KIND_FORK, "number", WANT_COUNT, false, NOT, NULL},
    {REC_KIND_FORK, "of", WANT_STATION, true, NOT, NULL},
    {REC_KIND_FORK, "ours", WANT_HASH, false, NOT, NULL},
    {REC_KIND_FORK, "theirs", WANT_HASH, false, NOT, NULL},
    {REC_KIND_CLOCK, "moved_us", WANT_WHOLE, false, NOT, NULL},
    {REC_KIND_RESTORE, "outside_hash", WANT_HASH, true, NOT, NULL},
    {REC_KIND_RESTORE, "outside_number", WANT_COUNT, false, NOT, NULL},
    {REC_KIND_ERASURE, "commitment", WANT_HASH, true, NOT, NULL},
    {REC_KIND_ERASURE, "reason", WANT_TEXT, false, NOT, NULL},
};

const RecField *rec_fields(RecKind kind, size_t *count)
{
    size_t first = 0;
    while (fields[first].kind != kind) {
        first++;
    }
    size_t end = first;
    while (end < sizeof fields / sizeof fields[0] && fields[end].kind == kind) {
        end++;
    }
    *count = end - first;
    return &fields[first];
}

bool rec_kind_find(const char *name, RecKind *kind)
{
    for (int i = 0; i < REC_KIND_COUNT; i++) {
        if (strcmp(rec_kind_names[i], name) != 0) continue;
        *kind = (RecKind)i;
        return true;
    }
    return false;
}

/* --- Forms ----------------------------------------------------------------------------------- */

bool rec_is_id(const char *text)
{
    static const char form[] = "hhhhhhhh-hhhh-hhhh-hhhh-hhhhhhhhhhhh";
    if (strlen(text) != sizeof form - 1) return false;
    for (size_t i = 0; i < sizeof form - 1; i++) {
        bool is_digit = (text[i] >= '0' && text[i] <= '9') || (text[i] >= 'a' && text[i] <= 'f');
        if (form[i] == '-' ? text[i] != '-' : !is_digit) return false;
    }
    return true;
}

bool rec_is_hash(const char *text)
{
    unsigned char bytes[REC_HASH_BYTES];
    return rec_hex_read(text, strlen(text), bytes, sizeof bytes);
}

bool rec_is_signature(const char *text)
{
    unsigned char bytes[REC_SIGNATURE_BYTES];
    return rec_hex_read(text, strlen(text), bytes, sizeof bytes);
}

bool rec_seed_read(const char *text, uint64_t *seed)
{
    Text again = {0};
    errno = 0;
    unsigned long long value = strtoull(text, NULL, 10);
    text_addf(&again, "%llu", value); /* signs, spaces and leading zeros come back otherwise */
    bool ok = errno == 0 && strcmp(again.bytes, text) == 0;
    text_clear(&again);
    *seed = value;
    return ok;
}

static bool is_one_of(const char *words, const char *word)
{
    size_t len = strlen(word);
    while (*words != '\0') {
        size_t size = strcspn(words, " ");
        if (size == len && strncmp(words, word, len) == 0) return true;
        words += size + (words[size] == ' ' ? 1 : 0);
    }
    return false;
}

static bool is_whole(const JsonValue *value, int64_t min)
{
    int64_t whole = 0;
    return value != NULL && json_kind(value) == JSON_NUMBER && json_is_integer(value, &whole) &&
           whole >= min;
}

static bool are_contents(const JsonValue *value)
{
    size_t count = json_kind(value) == JSON_OBJECT ? json_count(value) : 0;
    if (count < 1 || count > REC_CONTENTS_MAX) return false;
    for (size_t i = 0; i < count; i++) {
        const JsonValue *each = json_at(value, i);
        if (!text_is_id(json_key_at(value, i))) return false;
        if (json_kind(each) != JSON_STRING || !rec_is_hash(json_string(each))) return false;
    }
    return true;
}

/* {hash, number}, and {hash, number, signature, station} with `stations`. */
static bool is_head(const JsonValue *value, bool stations)
{
    if (json_kind(value) != JSON_OBJECT || json_count(value) != (stations ? 4 : 2)) return false;
    const JsonValue *hash = json_get(value, "hash");
    const JsonValue *station = json_get(value, "station");
    if (hash == NULL || json_kind(hash) != JSON_STRING || !rec_is_hash(json_string(hash))) {
        return false;
    }
    if (!is_whole(json_get(value, "number"), 0)) return false;
    if (!stations) return true;
    const JsonValue *signature = json_get(value, "signature");
    return station != NULL && json_kind(station) == JSON_STRING &&
           rec_is_id(json_string(station)) && signature != NULL &&
           json_kind(signature) == JSON_STRING && rec_is_signature(json_string(signature));
}

bool rec_item_fits(const RecField *field, const char *text)
{
    return field->want == WANT_WORDS     ? text_is_id(text)
           : field->want == WANT_CHOICES ? is_one_of(field->words, text)
                                         : rec_is_hash(text);
}

static bool is_list(const RecField *field, const JsonValue *value)
{
    if (json_kind(value) != JSON_ARRAY || json_count(value) > REC_LIST_MAX) return false;
    for (size_t i = 0; i < json_count(value); i++) {
        const JsonValue *each = json_at(value, i);
        const char *text = json_kind(each) == JSON_STRING ? json_string(each) : NULL;
        bool ok = field->want == WANT_HEADS ? is_head(each, true)
                                            : text != NULL && rec_item_fits(field, text);
        if (!ok) return false;
    }
    return true;
}

bool rec_text_fits(const RecField *field, const char *text)
{
    uint64_t seed = 0;
    bool is_empty = text[0] == '\0';
    switch (field->want) {
    case WANT_TEXT:
        return strlen(text) <= REC_REASON_BYTES_MAX;
    case WANT_WORD:
        return text_is_id(text);
    case WANT_CHOICE:
        return is_one_of(field->words, text);
    case WANT_DATE:
        return rec_is_date(text);
    case WANT_BUDDY:
    case WANT_ABOUT_WHOM:
        return is_empty || rec_is_id(text);
    case WANT_PERSON:
    case WANT_STATION:
        return rec_is_id(text);
    case WANT_VEIL_OR_NONE:
    case WANT_CONTENT_OR_NONE:
        return is_empty || rec_is_hash(text);
    case WANT_ABOUT:
    case WANT_VEIL:
    case WANT_CONTENT:
    case WANT_HASH:
    case WANT_PUBLIC_KEY:
        return rec_is_hash(text);
    case WANT_SIGNATURE:
        return rec_is_signature(text);
    case WANT_SEED:
        return rec_seed_read(text, &seed);
    case WANT_WHOLE:
    case WANT_COUNT:
    case WANT_BOOL:
    case WANT_WORDS:
    case WANT_CHOICES:
    case WANT_EVIDENCE:
    case WANT_CONTENTS:
    case WANT_HEAD:
    case WANT_HEADS:
    case WANT_RESULT:
        return false;
    }
    CHECK(false);
    return false;
}

bool rec_field_fits(const RecField *field, const JsonValue *value)
{
    RecWant want = field->want;
    if (want == WANT_RESULT) return true;
    if (want == WANT_WHOLE) return is_whole(value, INT64_MIN);
    if (want == WANT_COUNT) return is_whole(value, 0);
    if (want == WANT_HEAD) return is_head(value, false);
    if (want == WANT_CONTENTS) return are_contents(value);
    if (json_kind(value) == JSON_BOOL) return want == WANT_BOOL;
    if (json_kind(value) == JSON_STRING) return rec_text_fits(field, json_string(value));
    return (want == WANT_WORDS || want == WANT_CHOICES || want == WANT_EVIDENCE ||
            want == WANT_HEADS) &&
           is_list(field, value);
}

bool rec_body_check(const JsonValue *body, RecKind kind, Err *err)
{
    size_t count = 0;
    const RecField *field = rec_fields(kind, &count);
    for (size_t i = 0; i < count; i++) {
        const JsonValue *value = json_get(body, field[i].key);
        if (value == NULL) return err_set(err, ERR_INPUT, "%s is missing", field[i].key);
        if (!rec_field_fits(&field[i], value)) {
            return err_set(err, ERR_INPUT, "%s is not well-formed", field[i].key);
        }
    }
    if (json_count(body) != count) {
        return err_set(err, ERR_INPUT, "%zu fields where %zu are known", json_count(body), count);
    }
    return true;
}
