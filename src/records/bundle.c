/* Writing bundles. */
#include "records/bundle.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/bundle_read.h"
#include "records/named.h"
#include "records/writing.h"

typedef struct {
    Records *records;
    RecSignedHead *heads;
    size_t head_count;
    const RecHead *known;
    size_t known_count;
    OsSink *sink;
    RecHasher *hasher;
    RecNamedSet named;
    RecExported done;
} Export;

/* --- Heads ----------------------------------------------------------------------------------- */

/* Take the signatures of others' heads from what an import stated. */
static bool take_import(void *context, const RecFact *fact, Err *err)
{
    Export *export = context;
    JsonDoc *doc = NULL;
    if (strcmp(fact->station, export->records->station) != 0) return true;
    if (!json_parse("import", fact->value, strlen(fact->value), &doc, err)) return false;
    const JsonValue *stations = json_get(json_root(doc), "stations");
    for (size_t i = 0; stations != NULL && i < json_count(stations); i++) {
        const JsonValue *value = json_at(stations, i);
        const char *signature = json_string(json_get(value, "signature"));
        for (size_t j = 0; j < export->head_count; j++) {
            RecSignedHead *head = &export->heads[j];
            if (strcmp(json_string(json_get(value, "station")), head->states.station) != 0) {
                continue;
            }
            if (strcmp(json_string(json_get(value, "hash")), head->states.hash.hex) != 0) continue;
            CHECK(rec_hex_read(signature, strlen(signature), head->signature,
                               sizeof head->signature));
        }
    }
    json_free(doc);
    return true;
}

/* Sign the own head. */
static void sign_own(const Export *export, RecSignedHead *head)
{
    const RecHead *states = &head->states;
    RecEntry last = {.number = states->number,
                     .hash = states->hash,
                     .station = states->station,
                     .time = states->time};
    Text lines = {0};
    RecSignedHead again;
    rec_head_print(&last, export->records->seed, &lines);
    CHECK(rec_head_read(&lines, &again));
    *head = again;
    text_clear(&lines);
}

static bool find_heads(Export *export, Err *err)
{
    static const unsigned char none[REC_SIGNATURE_BYTES] = {0};
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_IMPORT]};
    RecHead *heads = NULL;
    if (!rec_heads(export->records, &heads, &export->head_count, err)) return false;
    export->heads = check_calloc(export->head_count + 1, sizeof *export->heads);
    for (size_t i = 0; i < export->head_count; i++) {
        export->heads[i].states = heads[i];
    }
    free(heads);
    if (export->head_count > REC_BUNDLE_STATIONS_MAX) {
        return err_set(err, ERR_RANGE, "%zu stations, limit %d", export->head_count,
                       REC_BUNDLE_STATIONS_MAX);
    }
    if (!rec_store_facts(export->records->store, &query, take_import, export, err)) return false;
    for (size_t i = 0; i < export->head_count; i++) {
        RecSignedHead *head = &export->heads[i];
        if (strcmp(head->states.station, export->records->station) == 0) {
            sign_own(export, head);
        } else if (memcmp(head->signature, none, sizeof none) == 0) {
            return err_set(err, ERR_DAMAGE, "no import states entry %lld of station %s",
                           (long long)head->states.number, head->states.station);
        }
    }
    return true;
}

/* --- Lines ----------------------------------------------------------------------------------- */

static bool put_line(Export *export, const Text *line, Err *err)
{
    rec_hasher_add(export->hasher, line->bytes, line->len);
    rec_hasher_add(export->hasher, "\n", 1);
    return os_sink_add(export->sink, line->bytes, line->len, err) &&
           os_sink_add(export->sink, "\n", 1, err);
}

static bool put_header(Export *export, Err *err)
{
    char signature[2 * REC_SIGNATURE_BYTES + 1];
    Text line = {0};
    text_addf(&line, "{\"format\":\"%s\",\"from\":\"%s\",\"stations\":[", REC_BUNDLE_FORMAT,
              export->records->station);
    for (size_t i = 0; i < export->head_count; i++) {
        const RecHead *states = &export->heads[i].states;
        rec_hex_print(export->heads[i].signature, REC_SIGNATURE_BYTES, signature);
        text_addf(&line,
                  "%s{\"hash\":\"%s\",\"number\":%lld,\"signature\":\"%s\",\"station\":\"%s\","
                  "\"time\":\"%s\"}",
                  i == 0 ? "" : ",", states->hash.hex, (long long)states->number, signature,
                  states->station, states->time);
    }
    text_add(&line, "]}");
    bool ok = put_line(export, &line, err);
    text_clear(&line);
    return ok;
}

static bool put_entry(void *context, const RecRow *row, Err *err)
{
    Export *export = context;
    RecEntry entry = {0};
    if (!rec_row_read(row, &entry, err)) return false;
    rec_named_add_entry(&export->named, &entry, true, 0);
    rec_entry_clear(&entry);
    if (++export->done.entries > REC_BUNDLE_ENTRIES_MAX) {
        return err_set(err, ERR_RANGE, "more than %d entries; export those after some heads only",
                       REC_BUNDLE_ENTRIES_MAX);
    }
    return put_line(export, &row->bytes, err);
}

static bool put_entries(Export *export, Err *err)
{
    for (size_t i = 0; i < export->head_count; i++) {
        const char *station = export->heads[i].states.station;
        RecNumber have = 0;
        for (size_t j = 0; j < export->known_count; j++) {
            if (strcmp(export->known[j].station, station) == 0) have = export->known[j].number;
        }
        if (!rec_store_entries(export->records->store, station, have + 1, put_entry, export, err)) {
            return false;
        }
    }
    return true;
}

static bool put_content(Export *export, const char *hash, Err *err)
{
    Text bytes = {0};
    Text line = {0};
    bool found = false;
    bool ok = rec_store_content_read(export->records->store, hash, &bytes, &found, err);
    if (ok &&
        (!found || strcmp(rec_sha256(NULL, 0, text_string(&bytes), bytes.len).hex, hash) != 0)) {
        ok = err_set(err, ERR_DAMAGE, "content %.12s... %s", hash,
                     found ? "was changed" : "is missing");
    }
    if (ok) {
        text_add(&line, "{\"base64\":\"");
        rec_base64_add(bytes.bytes, bytes.len, &line);
        text_addf(&line, "\",\"content\":\"%s\"}", hash);
        ok = put_line(export, &line, err);
        export->done.contents++;
    }
    text_clear(&line);
    text_clear(&bytes);
    return ok;
}

static bool put_text(Export *export, const char *commitment, Err *err)
{
    RecVeil veil = {0};
    Text text = {0};
    Text line = {0};
    bool there = false;
    bool ok = rec_text_read(export->records->store, commitment, &text, &there, err);
    if (ok && there) {
        ok = rec_store_veil_read(export->records->store, commitment, &veil, &there, err);
        text_addf(&line, "{\"commitment\":\"%s\",\"salt\":\"%s\",\"text\":", commitment,
                  text_string(&veil.salt));
        text_add_quoted(&line, text_string(&text));
        text_add(&line, "}");
        ok = ok && put_line(export, &line, err);
        export->done.texts++;
    }
    text_clear(&line);
    text_clear(&text);
    rec_veil_clear(&veil);
    return ok;
}

/* The contents, then the texts: so they are sorted. */
static bool put_named(Export *export, Err *err)
{
    char hex[REC_HEX_BYTES];
    rec_named_sort(&export->named);
    for (size_t i = 0; i < export->named.count; i++) {
        const RecNamed *named = &export->named.items[i];
        rec_hex_print(named->hash, sizeof named->hash, hex);
        if (!(named->is_text ? put_text(export, hex, err) : put_content(export, hex, err))) {
            return false;
        }
    }
    return true;
}

static bool put_last(Export *export, Err *err)
{
    unsigned char signature[REC_SIGNATURE_BYTES];
    unsigned char key[REC_KEY_BYTES];
    char signature_hex[2 * REC_SIGNATURE_BYTES + 1];
    char key_hex[REC_HEX_BYTES];
    Text message = {0};
    Text line = {0};
    RecHash *hash = &export->done.hash;
    *hash = rec_hasher_end(export->hasher);
    export->hasher = NULL;
    rec_bundle_message(hash, &message);
    rec_ed25519_sign(export->records->seed, message.bytes, message.len, signature);
    rec_key_from_seed(export->records->seed, key);
    rec_hex_print(signature, sizeof signature, signature_hex);
    rec_hex_print(key, sizeof key, key_hex);
    text_addf(&line, "{\"hash\":\"%s\",\"key\":\"%s\",\"signature\":\"%s\"}\n", hash->hex, key_hex,
              signature_hex);
    bool ok = os_sink_add(export->sink, line.bytes, line.len, err);
    text_clear(&line);
    text_clear(&message);
    return ok;
}

bool rec_bundle_export(Records *records, const RecHead *known, size_t known_count, const char *path,
                       RecExported *out, Err *err)
{
    CHECK(records != NULL && records->start > 0 && path != NULL && out != NULL && err != NULL);
    CHECK(known != NULL || known_count == 0);
    Export export = {.records = records, .known = known, .known_count = known_count};
    bool ok = false;

    if (!rec_store_freeze(records->store, err)) return false;
    if (!os_sink_open(path, &export.sink, err)) goto done;
    export.hasher = rec_hasher_new();
    ok = find_heads(&export, err) && put_header(&export, err) && put_entries(&export, err) &&
         put_named(&export, err) && put_last(&export, err);
    if (ok) {
        ok = os_sink_end(export.sink, err);
        export.sink = NULL;
    }
    if (ok) *out = export.done;
done:
    rec_store_rollback(records->store);
    os_sink_drop(export.sink);
    (void)rec_hasher_end(export.hasher);
    rec_named_clear(&export.named);
    free(export.heads);
    return ok;
}
