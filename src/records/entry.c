/* One entry. */
#include "records/entry.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/scan.h"
#include "records/stamp.h"

static const int64_t WHOLE_MAX = 9007199254740991; /* 2^53 - 1, what every JSON reader keeps */

/* --- Hashes and ids -------------------------------------------------------------------------- */

RecHash rec_entry_hash(const Text *bytes)
{
    return rec_sha256("\x00", 1, text_string(bytes), bytes->len);
}

RecHash rec_commitment(const unsigned char *salt, const char *text, size_t len)
{
    unsigned char head[1 + REC_HASH_BYTES];
    head[0] = 0x01;
    memcpy(head + 1, salt, REC_HASH_BYTES);
    return rec_sha256(head, sizeof head, text, len);
}

void rec_id_new(char out[REC_ID_BYTES])
{
    unsigned char bytes[16];
    char hex[2 * sizeof bytes + 1];
    os_random(bytes, sizeof bytes);
    bytes[6] = (unsigned char)((bytes[6] & 0x0f) | 0x40);
    bytes[8] = (unsigned char)((bytes[8] & 0x3f) | 0x80);
    rec_hex_print(bytes, sizeof bytes, hex);
    static const int groups[] = {8, 4, 4, 4, 12};
    const char *from = hex;
    for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
        if (i > 0) *out++ = '-';
        memcpy(out, from, (size_t)groups[i]);
        out += groups[i];
        from += groups[i];
    }
    *out = '\0';
}

/* --- Bytes ----------------------------------------------------------------------------------- */

/* The same with a body that need not be canonical. */
static void print_loose(const RecEntry *entry, const char *body_json, Text *out)
{
    char time[REC_STAMP_BYTES];
    rec_stamp_print(entry->time_us, time);
    text_addf(out,
              "{\"author\":\"%s\",\"body\":%s,\"kind\":\"%s\",\"number\":%lld,\"previous\":\"%s\","
              "\"start\":%lld,\"station\":\"%s\",\"ticks\":%lld,\"time\":\"%s\"}",
              entry->author, body_json, entry->kind, (long long)entry->number, entry->previous,
              (long long)entry->start, entry->station, (long long)entry->ticks_us, time);
}

bool rec_entry_print(const RecEntry *entry, const char *body_json, Text *bytes, Err *err)
{
    Text loose = {0};
    JsonDoc *doc = NULL;
    print_loose(entry, body_json, &loose);
    bool ok = json_parse("entry", loose.bytes, loose.len, &doc, err) &&
              rec_canonical(json_root(doc), bytes, err);
    json_free(doc);
    text_clear(&loose);
    return ok;
}

bool rec_entry_make(const RecEntry *entry, const char *body_json, Text *bytes, RecEntry *out,
                    Err *err)
{
    print_loose(entry, body_json, bytes);
    if (rec_entry_scan(bytes, out)) return true;
    text_clear(bytes);
    return rec_entry_print(entry, body_json, bytes, err) && rec_entry_read(bytes, out, err);
}

static bool is_canonical(const JsonValue *root, const Text *bytes, Err *err)
{
    Text again = {0};
    bool ok = rec_canonical(root, &again, err);
    if (ok && (again.len != bytes->len || memcmp(again.bytes, bytes->bytes, again.len) != 0)) {
        ok = err_set(err, ERR_INPUT, "is not canonical JSON");
    }
    text_clear(&again);
    return ok;
}

static bool whole_from(const JsonValue *object, const char *key, int64_t *out)
{
    const JsonValue *value = json_get(object, key);
    return value != NULL && json_kind(value) == JSON_NUMBER && json_is_integer(value, out) &&
           *out >= 0;
}

static bool is_text_field(const JsonValue *root, const char *key, bool (*fits)(const char *text))
{
    const JsonValue *value = json_get(root, key);
    return value != NULL && json_kind(value) == JSON_STRING && fits(json_string(value));
}

static bool is_author(const char *text)
{
    return strcmp(text, "station") == 0 || rec_is_id(text);
}

static bool is_any_text(const char *text)
{
    return text != NULL;
}

/* The entry's own fields, but for what its body holds. */
static bool check_fields(const JsonValue *root, Err *err)
{
    static const struct {
        const char *key;
        bool (*fits)(const char *text);
    } texts[] = {{"author", is_author},
                 {"kind", text_is_id},
                 {"previous", rec_is_hash},
                 {"station", rec_is_id},
                 {"time", is_any_text}};
    static const char *const wholes[] = {"number", "start", "ticks"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (!is_text_field(root, texts[i].key, texts[i].fits)) {
            return err_set(err, ERR_INPUT, "%s is missing or not well-formed", texts[i].key);
        }
    }
    for (size_t i = 0; i < sizeof wholes / sizeof wholes[0]; i++) {
        int64_t whole = 0;
        if (!whole_from(root, wholes[i], &whole)) {
            return err_set(err, ERR_INPUT, "%s is missing or not well-formed", wholes[i]);
        }
    }
    if (json_get(root, "body") == NULL || json_kind(json_get(root, "body")) != JSON_OBJECT) {
        return err_set(err, ERR_INPUT, "body is missing or not well-formed");
    }
    if (json_count(root) != 9) return err_set(err, ERR_INPUT, "has fields that no entry has");
    return true;
}

bool rec_entry_read(const Text *bytes, RecEntry *out, Err *err)
{
    JsonDoc *doc = NULL;
    bool ok = false;

    if (!json_parse("entry", text_string(bytes), bytes->len, &doc, err)) goto done;
    const JsonValue *root = json_root(doc);
    if (!is_canonical(root, bytes, err)) goto done;
    if (json_kind(root) != JSON_OBJECT) {
        (void)err_set(err, ERR_INPUT, "is no object");
        goto done;
    }
    if (!check_fields(root, err)) goto done;
    *out = (RecEntry){
        .hash = rec_entry_hash(bytes),
        .previous = json_string(json_get(root, "previous")),
        .station = json_string(json_get(root, "station")),
        .author = json_string(json_get(root, "author")),
        .kind = json_string(json_get(root, "kind")),
        .time = json_string(json_get(root, "time")),
        .body = json_get(root, "body"),
    };
    CHECK(whole_from(root, "number", &out->number) && whole_from(root, "ticks", &out->ticks_us) &&
          whole_from(root, "start", &out->start));
    if (!rec_stamp_read(out->time, &out->time_us)) {
        (void)err_set(err, ERR_INPUT, "time is not well-formed");
        goto done;
    }
    if (!rec_kind_find(out->kind, &out->kind_code)) {
        (void)err_set(err, ERR_INPUT, "kind \"%s\" is unknown", out->kind);
        goto done;
    }
    if (!rec_body_check(out->body, out->kind_code, err)) goto done;
    out->doc = doc;
    doc = NULL; /* handed over */
    ok = true;
done:
    if (!ok) *out = (RecEntry){0};
    json_free(doc);
    return ok;
}

bool rec_row_read(const RecRow *row, RecEntry *entry, Err *err)
{
    bool ok = rec_entry_read(&row->bytes, entry, err);
    if (ok &&
        (strcmp(entry->hash.hex, text_string(&row->hash)) != 0 ||
         strcmp(entry->station, text_string(&row->station)) != 0 || entry->number != row->number)) {
        rec_entry_clear(entry);
        ok = err_set(err, ERR_INPUT, "its station, number or hash is not what was written");
    }
    if (ok) return true;
    err_context(err, "entry %lld was changed", (long long)row->number);
    err->code = ERR_DAMAGE;
    return false;
}

void rec_entry_clear(RecEntry *entry)
{
    json_free(entry->doc);
    free(entry->flat);
    *entry = (RecEntry){0};
}

int64_t rec_clock_moved(const RecEntry *before, int64_t time_us, int64_t ticks_us,
                        bool is_new_start)
{
    int64_t passed = time_us - before->time_us;
    int64_t moved = passed - (ticks_us - before->ticks_us);
    /* Fewer ticks than before: the machine was started since, so at least these have passed. */
    if (is_new_start && ticks_us < before->ticks_us) moved = passed - ticks_us;
    if (passed < 0 && moved > passed) moved = passed;
    bool is_back = passed < 0 || moved < -REC_CLOCK_TOLERANCE_US;
    bool is_leap = !is_new_start && moved > REC_CLOCK_TOLERANCE_US;
    if (!is_back && !is_leap) return 0;
    return moved > WHOLE_MAX ? WHOLE_MAX : moved < -WHOLE_MAX ? -WHOLE_MAX : moved;
}

/* --- What it says ---------------------------------------------------------------------------- */

/* Where the flat body has that field. */
static size_t flat_index(const RecFlat *flat, const char *key)
{
    size_t at = 0;
    while (at < flat->count && strcmp(flat->fields[at].key, key) != 0) {
        at++;
    }
    return at;
}

static RecSpan flat_value(const RecFlat *flat, const char *key)
{
    size_t at = flat_index(flat, key);
    CHECK(at < flat->count);
    return flat->values[at];
}

int64_t rec_body_whole(const RecEntry *entry, const char *key)
{
    int64_t whole = 0;
    if (entry->flat != NULL) return strtoll(flat_value(entry->flat, key).from, NULL, 10);
    CHECK(json_is_integer(json_get(entry->body, key), &whole));
    return whole;
}

bool rec_body_bool(const RecEntry *entry, const char *key)
{
    if (entry->flat != NULL) return flat_value(entry->flat, key).from[0] == 't';
    return json_bool(json_get(entry->body, key));
}

bool rec_body_has_items(const RecEntry *entry, const char *key)
{
    if (entry->flat != NULL) return flat_value(entry->flat, key).len > strlen("[]");
    return json_count(json_get(entry->body, key)) > 0;
}

bool rec_body_content(const RecEntry *entry, size_t index, const char **name, const char **hash)
{
    const RecFlat *flat = entry->flat;
    if (flat != NULL) {
        if (index >= flat->content_count) return false;
        *name = flat->contents[index].name;
        *hash = flat->contents[index].hash;
        return true;
    }
    const JsonValue *contents = json_get(entry->body, "contents");
    if (contents == NULL || index >= json_count(contents)) return false;
    *name = json_key_at(contents, index);
    *hash = json_string(json_at(contents, index));
    return true;
}

const char *rec_body_text(const RecEntry *entry, const char *key)
{
    if (entry->flat != NULL) {
        size_t at = flat_index(entry->flat, key);
        return at < entry->flat->count ? entry->flat->texts[at] : "";
    }
    const JsonValue *value = json_get(entry->body, key);
    return value != NULL && json_kind(value) == JSON_STRING ? json_string(value) : "";
}

/* Append the body without the fields for which `leave` says so. Its order is canonical already. */
static bool print_body(const JsonValue *body, RecKind kind, bool (*leave)(const RecField *field),
                       Text *out, Err *err)
{
    size_t count = 0;
    const RecField *fields = rec_fields(kind, &count);
    const char *comma = "";
    text_add(out, "{");
    for (size_t i = 0; i < json_count(body); i++) {
        const char *key = json_key_at(body, i);
        size_t at = 0;
        while (at < count && strcmp(fields[at].key, key) != 0) {
            at++;
        }
        if (at < count && leave(&fields[at])) continue;
        text_add(out, comma);
        text_add_quoted(out, key);
        text_add(out, ":");
        if (!rec_canonical(json_at(body, i), out, err)) return false;
        comma = ",";
    }
    text_add(out, "}");
    return true;
}

static bool is_signature(const RecField *field)
{
    return field->want == WANT_SIGNATURE;
}

static bool is_apart(const RecField *field)
{
    return field->want == WANT_SIGNATURE || field->want == WANT_CONTENTS ||
           field->want == WANT_RESULT;
}

bool rec_message_print(const char *author, const JsonValue *body, RecKind kind, const char *station,
                       Text *out, Err *err)
{
    text_addf(out, "{\"author\":\"%s\",\"body\":", author);
    if (!print_body(body, kind, is_signature, out, err)) return false;
    text_addf(out, ",\"kind\":\"%s\",\"station\":\"%s\"}", rec_kind_names[kind], station);
    return true;
}

/* The value of a fact from a flat body, and from a tree. */
static void print_flat_value(const RecFlat *flat, Text *out)
{
    static const char verdict[] = "\"verdict\":";
    const char *mark = "{\"";
    for (size_t i = 0; i < flat->count; i++) {
        if (is_apart(&flat->fields[i])) continue;
        text_add(out, mark);
        text_add(out, flat->fields[i].key);
        text_add_bytes(out, "\":", 2);
        text_add_bytes(out, flat->values[i].from, flat->values[i].len);
        mark = ",\"";
    }
    if (flat->verdict.len > 0) {
        text_add_bytes(out, ",", 1);
        text_add_bytes(out, verdict, strlen(verdict));
        text_add_bytes(out, flat->verdict.from, flat->verdict.len);
    }
    text_add_bytes(out, "}", 1);
}

static void print_value(const RecEntry *entry, Text *value)
{
    Err none = {0};
    CHECK(print_body(entry->body, entry->kind_code, is_apart, value, &none)); /* it was canonical */
    if (entry->kind_code != REC_KIND_RUN) return;
    const JsonValue *verdict = json_get(json_get(entry->body, "result"), "verdict");
    if (verdict == NULL || json_kind(verdict) != JSON_STRING) return;
    value->len--; /* the closing brace */
    text_add(value, ",\"verdict\":");
    text_add_quoted(value, json_string(verdict));
    text_add(value, "}");
}

void rec_fact_of(const RecEntry *entry, Text *value, RecFact *fact)
{
    size_t count = 0;
    const RecField *fields = rec_fields(entry->kind_code, &count);
    *fact = (RecFact){.station = entry->station,
                      .number = entry->number,
                      .hash = entry->hash.hex,
                      .time_us = entry->time_us,
                      .kind = entry->kind,
                      .author = entry->author,
                      .person = rec_body_text(entry, "person"),
                      .subject = ""};
    for (size_t i = 0; i < count; i++) {
        if (fields[i].is_subject) fact->subject = rec_body_text(entry, fields[i].key);
    }
    if (entry->kind_code == REC_KIND_RUN) fact->person = entry->author;
    if (entry->flat != NULL)
        print_flat_value(entry->flat, value);
    else
        print_value(entry, value);
    fact->value = text_string(value);
}

/* --- Folder ---------------------------------------------------------------------------------- */

bool rec_folder_check(const char *folder, Text *database, Err *err)
{
    Text head = {0};
    text_addf(&head, "%s/head", folder);
    text_addf(database, "%s/store.db", folder);
    bool has_head = os_is_file(head.bytes);
    text_clear(&head);
    if (os_is_file(database->bytes)) return true;
    text_clear(database);
    if (has_head) {
        return err_set(err, ERR_DAMAGE, "%s: has a head but no store.db: the records were removed",
                       folder);
    }
    return err_set(err, ERR_IO, "%s: there is no store here", folder);
}

/* --- Veiled texts and runs ------------------------------------------------------------------- */

bool rec_text_read(RecStore *store, const char *commitment, Text *out, bool *there, Err *err)
{
    RecVeil veil = {0};
    unsigned char salt[REC_HASH_BYTES];
    bool ok = rec_store_veil_read(store, commitment, &veil, there, err);
    text_clear(out);
    if (ok && *there) {
        ok = rec_hex_read(text_string(&veil.salt), veil.salt.len, salt, sizeof salt) &&
             strcmp(rec_commitment(salt, text_string(&veil.text), veil.text.len).hex, commitment) ==
                 0 &&
             memchr(text_string(&veil.text), '\0', veil.text.len) == NULL;
        if (ok)
            text_add(out, text_string(&veil.text));
        else
            (void)err_set(err, ERR_DAMAGE, "the text of %.8s... was changed", commitment);
    }
    rec_veil_clear(&veil);
    return ok;
}

static bool read_contents(RecStore *store, const JsonValue *contents, RecRunView *out, Err *err)
{
    for (size_t i = 0; i < json_count(contents); i++) {
        const char *hash = json_string(json_at(contents, i));
        Text *bytes = &out->contents[i];
        bool found = false;
        text_add(&out->content_names[i], json_key_at(contents, i));
        out->content_count = i + 1;
        if (!rec_store_content_read(store, hash, bytes, &found, err)) return false;
        RecHash now = rec_sha256(NULL, 0, text_string(bytes), bytes->len);
        if (!found || strcmp(now.hex, hash) != 0) {
            return err_set(err, ERR_DAMAGE, "entry %lld: content %s (%.8s...) %s",
                           (long long)out->number, json_key_at(contents, i), hash,
                           found ? "was changed" : "is missing");
        }
    }
    return true;
}

bool rec_run_view_read(RecStore *store, const RecEntry *entry, RecRunView *out, Err *err)
{
    if (strcmp(entry->kind, "run") != 0) {
        return err_set(err, ERR_INPUT, "entry %lld is a %s, not a run", (long long)entry->number,
                       entry->kind);
    }
    RecRunView view = {
        .number = entry->number,
        .is_assessment = strcmp(json_string(json_get(entry->body, "mode")), "assessment") == 0,
        .is_scripted = json_bool(json_get(entry->body, "scripted")),
    };
    text_add(&view.time, entry->time);
    text_add(&view.person, entry->author);
    text_add(&view.model, json_string(json_get(entry->body, "model")));
    text_add(&view.scenario, rec_body_text(entry, "scenario"));
    text_add(&view.language, rec_body_text(entry, "language"));
    memcpy(view.station, entry->station, REC_ID_BYTES);
    CHECK(rec_seed_read(json_string(json_get(entry->body, "seed")), &view.seed));
    bool ok = rec_canonical(json_get(entry->body, "result"), &view.result, err) &&
              read_contents(store, json_get(entry->body, "contents"), &view, err);
    if (ok)
        *out = view;
    else
        rec_run_view_clear(&view);
    return ok;
}

void rec_run_view_clear(RecRunView *view)
{
    text_clear(&view->time);
    text_clear(&view->person);
    text_clear(&view->model);
    text_clear(&view->scenario);
    text_clear(&view->language);
    text_clear(&view->result);
    for (size_t i = 0; i < REC_CONTENTS_MAX; i++) {
        text_clear(&view->content_names[i]);
        text_clear(&view->contents[i]);
    }
    *view = (RecRunView){0};
}

const Text *rec_run_content(const RecRunView *view, const char *name)
{
    for (size_t i = 0; i < view->content_count; i++) {
        if (strcmp(text_string(&view->content_names[i]), name) == 0) return &view->contents[i];
    }
    return NULL;
}
