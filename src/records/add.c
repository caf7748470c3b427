/* The ledger: adding entries of each kind. */
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/rules.h"
#include "records/writing.h"

static bool check_text(const char *what, const char *text, size_t min, size_t max, Err *err)
{
    size_t len = strlen(text);
    size_t bad_at = 0;
    if (len < min || len > max) {
        return err_set(err, ERR_RANGE, "%s has %zu bytes, limit %zu..%zu", what, len, min, max);
    }
    if (!text_is_utf8(text, len, &bad_at)) {
        return err_set(err, ERR_INPUT, "%s is not UTF-8 at byte %zu", what, bad_at + 1);
    }
    return true;
}

static bool check_content(const char *name, const RecContent *content, Err *err)
{
    CHECK(content->bytes != NULL || content->len == 0);
    if (content->len <= REC_CONTENT_BYTES_MAX) return true;
    return err_set(err, ERR_RANGE, "content %s has %zu bytes, limit %d", name, content->len,
                   REC_CONTENT_BYTES_MAX);
}

/* Store a content and append its hash in quotes. */
static bool add_content(Records *records, const RecContent *content, Text *body, Err *err)
{
    RecHash hash = rec_sha256(NULL, 0, content->bytes, content->len);
    text_addf(body, "\"%s\"", hash.hex);
    return rec_store_content_add(records->store, hash.hex, content->bytes, content->len, err);
}

/* --- People and runs ------------------------------------------------------------------------- */

bool rec_person_add(Records *records, const char *name, char person[REC_ID_BYTES], Err *err)
{
    RecHash commitment;
    RecWriting writing;
    Text body = {0};
    char id[REC_ID_BYTES];
    bool is_taken = false;
    if (!check_text("the name", name, 1, REC_NAME_BYTES_MAX, err) ||
        !rec_writing_begin(records, false, &writing, err))
        return false;
    bool ok = rec_person_find(records, name, id, &is_taken, err);
    if (ok && is_taken) {
        ok = err_set(err, ERR_INPUT, "\"%s\" is here already; names must differ", name);
    }
    ok = ok && rec_writing_veil(records, name, &commitment, err);
    if (ok) {
        rec_id_new(id);
        text_addf(&body, "{\"name\":\"%s\",\"person\":\"%s\"}", commitment.hex, id);
        ok = rec_writing_add(records, &writing, "station", REC_KIND_PERSON, body.bytes, err);
    }
    ok = rec_writing_end(records, &writing, ok, err);
    if (ok) memcpy(person, id, sizeof id);
    text_clear(&body);
    return ok;
}

static bool check_run(const RecRun *run, Err *err)
{
    CHECK(run->person != NULL && run->model != NULL && run->result_json != NULL);
    CHECK(text_is_id(run->model) && run->contents != NULL && run->supervised_by != NULL);
    CHECK(run->scenario != NULL && text_is_id(run->scenario));
    CHECK(run->language != NULL && text_is_id(run->language));
    CHECK(run->content_count >= 1 && run->content_count <= REC_CONTENTS_MAX);
    for (size_t i = 0; i < run->content_count; i++) {
        const RecContent *content = &run->contents[i];
        CHECK(text_is_id(content->name));
        for (size_t j = 0; j < i; j++) {
            CHECK(strcmp(run->contents[j].name, content->name) != 0);
        }
        if (!check_content(content->name, content, err)) return false;
    }
    size_t len = strlen(run->result_json);
    if (len > REC_RESULT_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "the result has %zu bytes, limit %d", len,
                       REC_RESULT_BYTES_MAX);
    }
    return true;
}

static bool add_contents(Records *records, const RecRun *run, Text *body, Err *err)
{
    for (size_t i = 0; i < run->content_count; i++) {
        text_addf(body, "%s\"%s\":", i == 0 ? "" : ",", run->contents[i].name);
        if (!add_content(records, &run->contents[i], body, err)) return false;
    }
    return true;
}

bool rec_run_add(Records *records, const RecRun *run, RecNumber *number, Err *err)
{
    JsonDoc *result = NULL;
    RecWriting writing;
    Text body = {0};
    Text rest = {0}; /* of the body, behind the contents */
    bool ok = false;

    if (!check_run(run, err)) return false;
    if (!json_parse("result", run->result_json, strlen(run->result_json), &result, err)) goto done;
    text_addf(&rest,
              ",\"language\":\"%s\",\"mode\":\"%s\",\"model\":\"%s\",\"result\":", run->language,
              run->is_assessment ? "assessment" : "practice", run->model);
    if (!rec_canonical(json_root(result), &rest, err)) goto done;
    text_addf(&rest, ",\"scenario\":\"%s\",\"scripted\":%s,\"seed\":\"%llu\",\"supervised_by\":",
              run->scenario, run->is_scripted ? "true" : "false", (unsigned long long)run->seed);
    text_add_quoted(&rest, run->supervised_by);
    text_add(&rest, "}");

    if (!rec_writing_begin(records, false, &writing, err)) goto done;
    text_add(&body, "{\"contents\":{");
    ok = add_contents(records, run, &body, err);
    text_addf(&body, "}%s", rest.bytes);
    ok = ok && rec_writing_add(records, &writing, run->person, REC_KIND_RUN, body.bytes, err);
    if (ok && number != NULL) *number = writing.last.number;
    ok = rec_writing_end(records, &writing, ok, err);
done:
    json_free(result);
    text_clear(&rest);
    text_clear(&body);
    return ok;
}

/* --- All other kinds ------------------------------------------------------------------------- */

/* What a body is made from, besides the RecNew itself. */
typedef struct {
    Records *records;
    const RecNew *what;
    const RecWriting *writing;
    char person[REC_ID_BYTES]; /* whom the entry named by `about` is about */
    char key[REC_HEX_BYTES];   /* the author's, public */
} Making;

/* Whatever stands at the field's offset in the RecNew. */
static const void *given(const Making *making, const RecField *field)
{
    CHECK(field->at != REC_NOT_GIVEN);
    return (const char *)making->what + field->at;
}

static const char *given_text(const Making *making, const RecField *field)
{
    const char *text = NULL;
    memcpy(&text, given(making, field), sizeof(const char *));
    return text;
}

static bool print_list(const Making *making, const RecField *field, Text *body, Err *err)
{
    RecList list;
    memcpy(&list, given(making, field), sizeof list);
    if (list.count > REC_LIST_MAX) {
        return err_set(err, ERR_RANGE, "%s has %zu items, limit %d", field->key, list.count,
                       REC_LIST_MAX);
    }
    text_add(body, "[");
    for (size_t i = 0; i < list.count; i++) {
        if (!check_text(field->key, list.items[i], 1, REC_REASON_BYTES_MAX, err)) return false;
        if (i > 0) text_add(body, ",");
        text_add_quoted(body, list.items[i]);
    }
    text_add(body, "]");
    return true;
}

static bool print_content(const Making *making, const RecField *field, Text *body, Err *err)
{
    RecContent content;
    memcpy(&content, given(making, field), sizeof content);
    if (content.bytes == NULL && field->want == WANT_CONTENT_OR_NONE) {
        text_add(body, "\"\"");
        return true;
    }
    return check_content(field->key, &content, err) &&
           add_content(making->records, &content, body, err);
}

static bool print_veil(const Making *making, const RecField *field, Text *body, Err *err)
{
    RecHash commitment = {""};
    const char *text = given_text(making, field);
    if (text == NULL && field->want == WANT_VEIL) text = "";
    if (text != NULL && (!check_text(field->key, text, 1, REC_REMARK_BYTES_MAX, err) ||
                         !rec_writing_veil(making->records, text, &commitment, err))) {
        return false;
    }
    text_addf(body, "\"%s\"", commitment.hex);
    return true;
}

static bool print_text(const Making *making, const RecField *field, Text *body, Err *err)
{
    bool is_prose = field->want == WANT_TEXT;
    const char *text = field->want == WANT_ABOUT_WHOM ? making->person
                       : field->at == REC_NOT_GIVEN   ? making->key
                                                      : given_text(making, field);
    if (text == NULL) text = "";
    if (!check_text(field->key, text, is_prose ? 1 : 0, REC_REASON_BYTES_MAX, err)) return false;
    text_add_quoted(body, text);
    return true;
}

static bool print_field(const Making *making, const RecField *field, Text *body, Err *err)
{
    int64_t number = 0;
    bool is_yes = false;
    text_addf(body, "\"%s\":", field->key);
    if (field->want == WANT_COUNT) {
        memcpy(&number, given(making, field), sizeof number);
        text_addf(body, "%lld", (long long)number);
    } else if (field->want == WANT_BOOL) {
        memcpy(&is_yes, given(making, field), sizeof is_yes);
        text_add(body, is_yes ? "true" : "false");
    } else if (field->want == WANT_HEAD) {
        const RecEntry *last = &making->writing->last;
        text_addf(body, "{\"hash\":\"%s\",\"number\":%lld}", last->hash.hex,
                  (long long)last->number);
    } else if (field->want == WANT_WORDS || field->want == WANT_CHOICES ||
               field->want == WANT_EVIDENCE) {
        return print_list(making, field, body, err);
    } else if (field->want == WANT_CONTENT || field->want == WANT_CONTENT_OR_NONE) {
        return print_content(making, field, body, err);
    } else if (field->want == WANT_VEIL || field->want == WANT_VEIL_OR_NONE) {
        return print_veil(making, field, body, err);
    } else {
        return print_text(making, field, body, err);
    }
    return true;
}

/* The signature of a body that ends without a brace, by a seed, as one more field behind it. */
static bool sign_body(const Records *records, const char *author, RecKind kind, const char *field,
                      const unsigned char *seed, Text *body, Err *err)
{
    unsigned char signature[REC_SIGNATURE_BYTES];
    char hex[2 * REC_SIGNATURE_BYTES + 1];
    Text closed = {0};
    Text canonical = {0};
    Text message = {0};
    JsonDoc *loose = NULL;
    JsonDoc *doc = NULL;
    text_addf(&closed, "%s}", body->bytes);
    bool ok = json_parse("body", closed.bytes, closed.len, &loose, err) &&
              rec_canonical(json_root(loose), &canonical, err) &&
              json_parse("body", canonical.bytes, canonical.len, &doc, err) &&
              rec_message_print(author, json_root(doc), kind, records->station, &message, err);
    if (ok) {
        rec_ed25519_sign(seed, message.bytes, message.len, signature);
        rec_hex_print(signature, sizeof signature, hex);
        text_addf(body, ",\"%s\":\"%s\"", field, hex);
    }
    json_free(doc);
    json_free(loose);
    text_clear(&message);
    text_clear(&canonical);
    text_clear(&closed);
    return ok;
}

static void print_key(const unsigned char *seed, char out[REC_HEX_BYTES])
{
    unsigned char key[REC_KEY_BYTES];
    rec_key_from_seed(seed, key);
    rec_hex_print(key, sizeof key, out);
}

static bool print_body(Making *making, Text *body, Err *err)
{
    const RecNew *what = making->what;
    const char *station = making->records->station;
    size_t count = 0;
    bool found = false;
    bool is_signed = false;
    const RecField *fields = rec_fields(what->kind, &count);
    if (what->about != NULL && !rec_rules_whom(making->records->store, station, INT64_MAX,
                                               what->about, making->person, &found, err))
        return false;
    if (what->seed != NULL) print_key(what->seed, making->key);
    for (size_t i = 0; i < count; i++) {
        if (fields[i].want == WANT_SIGNATURE) {
            is_signed = true;
            continue;
        }
        text_add(body, body->len == 0 ? "{" : ",");
        if (!print_field(making, &fields[i], body, err)) return false;
    }
    CHECK(is_signed == (what->seed != NULL));
    if (is_signed &&
        !sign_body(making->records, what->author, what->kind, "signature", what->seed, body, err))
        return false;
    text_add(body, "}");
    return true;
}

bool rec_add(Records *records, const RecNew *what, RecAdded *added, Err *err)
{
    CHECK(what != NULL && what->author != NULL);
    RecWriting writing;
    Text body = {0};
    if (!rec_writing_begin(records, false, &writing, err)) return false;
    Making making = {.records = records, .what = what, .writing = &writing};
    bool ok = print_body(&making, &body, err) &&
              rec_writing_add(records, &writing, what->author, what->kind, body.bytes, err);
    if (ok && added != NULL) *added = (RecAdded){writing.last.number, writing.last.hash};
    ok = rec_writing_end(records, &writing, ok, err);
    if (ok && what->seed != NULL) rec_outside_write(records);
    text_clear(&body);
    return ok;
}

bool rec_station_key_change(Records *records, const char *supervisor, const unsigned char *seed,
                            Err *err)
{
    unsigned char next[REC_SEED_BYTES];
    char public_key[REC_HEX_BYTES];
    char key[REC_HEX_BYTES];
    RecWriting writing;
    Text body = {0};
    Text from = {0};
    Text to = {0};
    const char *folder = records->folder.bytes;
    if (!rec_writing_begin(records, false, &writing, err)) return false;
    os_random(next, sizeof next);
    print_key(next, public_key);
    print_key(seed, key);
    text_addf(&body, "{\"public\":\"%s\",\"key\":\"%s\"", public_key, key);
    bool ok = sign_body(records, supervisor, REC_KIND_STATION_KEY, "old_signature", records->seed,
                        &body, err) &&
              sign_body(records, supervisor, REC_KIND_STATION_KEY, "signature", seed, &body, err);
    text_add(&body, "}");
    ok = ok &&
         rec_writing_add(records, &writing, supervisor, REC_KIND_STATION_KEY, body.bytes, err) &&
         rec_station_seed_write(folder, "station.key.next", next, err);
    writing.next_seed = next; /* the new head is signed with it */
    ok = rec_writing_end(records, &writing, ok, err);
    text_addf(&from, "%s/station.key.next", folder);
    text_addf(&to, "%s/station.key", folder);
    ok = ok && os_file_move(from.bytes, to.bytes, err);
    rec_wipe(next, sizeof next);
    text_clear(&from);
    text_clear(&to);
    text_clear(&body);
    return ok;
}

bool rec_erase(Records *records, const char *author, const char *commitment, const char *reason,
               RecNumber *number, Err *err)
{
    Text body = {0};
    RecVeil there = {0};
    RecWriting writing;
    bool found = false;
    if (!check_text("the reason", reason, 1, REC_REASON_BYTES_MAX, err) ||
        !rec_writing_begin(records, false, &writing, err)) {
        return false;
    }
    bool ok = rec_store_veil_read(records->store, commitment, &there, &found, err);
    if (ok && !found) ok = err_set(err, ERR_INPUT, "no text has the commitment %s", commitment);
    if (ok) {
        text_addf(&body, "{\"commitment\":\"%s\",\"reason\":", commitment);
        text_add_quoted(&body, reason);
        text_add(&body, "}");
        ok = rec_writing_add(records, &writing, author, REC_KIND_ERASURE, body.bytes, err) &&
             rec_store_veil_erase(records->store, commitment, err);
        if (ok && number != NULL) *number = writing.last.number;
    }
    ok = rec_writing_end(records, &writing, ok, err);
    rec_veil_clear(&there);
    text_clear(&body);
    return ok;
}
