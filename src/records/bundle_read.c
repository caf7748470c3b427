/* Reading bundles. */
#include "records/bundle_read.h"

#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "records/canonical.h"

enum { CHUNK_BYTES = 65536 };

static const char NO_HASH[REC_HEX_BYTES] =
    "0000000000000000000000000000000000000000000000000000000000000000";
static const char CONTENT_START[] = "{\"base64\":\"";
static const char CONTENT_MIDDLE[] = "\",\"content\":\"";
static const char CONTENT_END[] = "\"}";

struct RecBundleReader {
    const char *name;
    RecBundleFill fill;
    void *context;
    RecHasher *hasher; /* of all lines before this one */
    RecBundleHeader header;
    RecBundlePart parts[REC_BUNDLE_STATIONS_MAX];
    RecNumber last_number; /* of the entry before, of the same station */
    RecHash last_hash;     /* of the entry, content or text before */
    size_t station;        /* whose entries are being read */
    int64_t entries;
    RecBundleLine line;
    size_t chunk_at;
    size_t chunk_len;
    char chunk[CHUNK_BYTES];
};

/* --- Lines ----------------------------------------------------------------------------------- */

static bool refuse(const RecBundleReader *reader, Err *err, const char *format, ...)
    PRINTF_LIKE(3, 4);
static bool refuse(const RecBundleReader *reader, Err *err, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return err_at(err, (ErrPlace){reader->name, reader->line.line, 1}, "%s", said);
}

bool rec_bundle_refuse(const RecBundleReader *reader, int line, const char *station,
                       RecNumber number, Err *err, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return err_at(err, (ErrPlace){reader->name, line, 1}, "entry %lld of station %s: %s",
                  (long long)number, station, said);
}

/* Read up to the next end of line; *is_end: there is nothing more. */
static bool read_line(RecBundleReader *reader, bool *is_end, Err *err)
{
    Text *bytes = &reader->line.bytes;
    bytes->len = 0; /* its room is used again */
    *is_end = false;
    if (reader->line.line == INT_MAX) return refuse(reader, err, "too many lines");
    reader->line.line++;
    for (;;) {
        if (reader->chunk_at == reader->chunk_len) {
            size_t got = 0;
            if (!reader->fill(reader->context, reader->chunk, CHUNK_BYTES, &got, err)) return false;
            *is_end = got == 0 && bytes->len == 0;
            if (*is_end) return true;
            if (got == 0) return refuse(reader, err, "the bundle is cut off in this line");
            reader->chunk_at = 0;
            reader->chunk_len = got;
        }
        const char *start = reader->chunk + reader->chunk_at;
        size_t left = reader->chunk_len - reader->chunk_at;
        const char *end = memchr(start, '\n', left);
        size_t len = end == NULL ? left : (size_t)(end - start);
        if (len > REC_BUNDLE_LINE_BYTES_MAX - bytes->len) {
            return refuse(reader, err, "the line is longer than %d bytes",
                          REC_BUNDLE_LINE_BYTES_MAX);
        }
        text_add_bytes(bytes, start, len);
        reader->chunk_at += len + (end == NULL ? 0 : 1);
        if (end != NULL) return true;
    }
}

static bool starts_with(const Text *bytes, const char *start)
{
    size_t len = strlen(start);
    return bytes->len >= len && memcmp(bytes->bytes, start, len) == 0;
}

/* Parse the line as an object in canonical form with these members, each a text but for "stations";
 * the caller frees *doc. */
static bool parse(const RecBundleReader *reader, const char *const keys[], JsonDoc **doc, Err *err)
{
    const Text *bytes = &reader->line.bytes;
    Text again = {0};
    Err wrong = {0};
    size_t count = 0;
    if (bytes->len > REC_BUNDLE_ENTRY_BYTES_MAX) {
        return refuse(reader, err, "the line is longer than %d bytes", REC_BUNDLE_ENTRY_BYTES_MAX);
    }
    bool ok = json_parse("line", text_string(bytes), bytes->len, doc, &wrong);
    if (!ok) return refuse(reader, err, "%s", wrong.text);
    ok = rec_canonical(json_root(*doc), &again, &wrong) && again.len == bytes->len &&
         memcmp(again.bytes, bytes->bytes, again.len) == 0;
    if (!ok) (void)refuse(reader, err, "is not canonical JSON");
    for (; ok && keys[count] != NULL; count++) {
        const JsonValue *value = json_get(json_root(*doc), keys[count]);
        bool is_list = strcmp(keys[count], "stations") == 0;
        ok = value != NULL && json_kind(value) == (is_list ? JSON_ARRAY : JSON_STRING);
        if (!ok) (void)refuse(reader, err, "%s is missing or not well-formed", keys[count]);
    }
    if (ok && json_count(json_root(*doc)) != count) {
        ok = refuse(reader, err, "has members that no such line has");
    }
    text_clear(&again);
    if (!ok) json_free(*doc);
    return ok;
}

static const char *text_of(const JsonValue *object, const char *key)
{
    const JsonValue *value = json_get(object, key);
    return value != NULL && json_kind(value) == JSON_STRING ? json_string(value) : "";
}

/* --- The first line -------------------------------------------------------------------------- */

static bool read_head(const JsonValue *value, RecSignedHead *out)
{
    const char *station = text_of(value, "station");
    const char *hash = text_of(value, "hash");
    const char *time = text_of(value, "time");
    const char *signature = text_of(value, "signature");
    const JsonValue *number = json_get(value, "number");
    int64_t time_us = 0;
    *out = (RecSignedHead){0};
    bool ok = json_kind(value) == JSON_OBJECT && json_count(value) == 5 && rec_is_id(station) &&
              rec_is_hash(hash) && rec_stamp_read(time, &time_us) && number != NULL &&
              json_kind(number) == JSON_NUMBER && json_is_integer(number, &out->states.number) &&
              out->states.number >= 1 &&
              rec_hex_read(signature, strlen(signature), out->signature, sizeof out->signature);
    if (!ok) return false;
    memcpy(out->states.station, station, REC_ID_BYTES);
    memcpy(out->states.hash.hex, hash, REC_HEX_BYTES);
    memcpy(out->states.time, time, REC_STAMP_BYTES);
    return true;
}

static bool read_stations(RecBundleReader *reader, const JsonValue *root, Err *err)
{
    RecBundleHeader *header = &reader->header;
    const JsonValue *stations = json_get(root, "stations");
    const char *from = text_of(root, "from");
    bool has_from = false;
    header->count = json_count(stations);
    if (header->count < 1 || header->count > REC_BUNDLE_STATIONS_MAX) {
        return refuse(reader, err, "%zu stations, limit 1..%d", header->count,
                      REC_BUNDLE_STATIONS_MAX);
    }
    for (size_t i = 0; i < header->count; i++) {
        if (!read_head(json_at(stations, i), &header->heads[i])) {
            return refuse(reader, err, "the head of station %zu is not well-formed", i + 1);
        }
        const char *station = header->heads[i].states.station;
        if (i > 0 && strcmp(header->heads[i - 1].states.station, station) >= 0) {
            return refuse(reader, err, "station %s is out of order", station);
        }
        if (strcmp(station, from) == 0) has_from = true;
    }
    if (!has_from) return refuse(reader, err, "from is none of the stations");
    memcpy(header->from, from, REC_ID_BYTES);
    return true;
}

static bool read_header(RecBundleReader *reader, Err *err)
{
    static const char *const keys[] = {"format", "from", "stations", NULL};
    JsonDoc *doc = NULL;
    bool is_end = false;
    if (!read_line(reader, &is_end, err)) return false;
    if (is_end || !starts_with(&reader->line.bytes, "{\"format\":\"threepass-bundle-")) {
        return refuse(reader, err, "this is no bundle");
    }
    if (!parse(reader, keys, &doc, err)) return false;
    const char *format = text_of(json_root(doc), "format");
    bool ok = strcmp(format, REC_BUNDLE_FORMAT) == 0
                  ? read_stations(reader, json_root(doc), err)
                  : refuse(reader, err, "its format is %.40s, this program knows %s only", format,
                           REC_BUNDLE_FORMAT);
    json_free(doc);
    return ok;
}

bool rec_bundle_reader_new(const char *name, RecBundleFill fill, void *context,
                           RecBundleReader **out, Err *err)
{
    CHECK(name != NULL && fill != NULL && out != NULL && err != NULL);
    RecBundleReader *reader = check_calloc(1, sizeof *reader);
    reader->name = name;
    reader->fill = fill;
    reader->context = context;
    reader->hasher = rec_hasher_new();
    if (read_header(reader, err)) {
        *out = reader;
        return true;
    }
    rec_bundle_reader_free(reader);
    return false;
}

static void line_clear(RecBundleLine *line)
{
    rec_entry_clear(&line->entry);
    rec_veil_clear(&line->veil);
    line->content.len = 0;
}

void rec_bundle_reader_free(RecBundleReader *reader)
{
    if (reader == NULL) return;
    line_clear(&reader->line);
    text_clear(&reader->line.content);
    text_clear(&reader->line.bytes);
    (void)rec_hasher_end(reader->hasher);
    free(reader);
}

const RecBundleHeader *rec_bundle_header(const RecBundleReader *reader)
{
    return &reader->header;
}

const RecBundlePart *rec_bundle_part(const RecBundleReader *reader, size_t station)
{
    return &reader->parts[station];
}

/* --- Entries --------------------------------------------------------------------------------- */

/* The station's entries end where its head says. */
static bool end_station(const RecBundleReader *reader, Err *err)
{
    const RecHead *head = &reader->header.heads[reader->station].states;
    if (reader->parts[reader->station].count == 0) return true;
    if (reader->last_number == head->number && strcmp(reader->last_hash.hex, head->hash.hex) == 0) {
        return true;
    }
    return refuse(reader, err,
                  "the entries of station %s end with %lld, which is not the head that the first "
                  "line states, %lld",
                  head->station, (long long)reader->last_number, (long long)head->number);
}

static bool find_station(RecBundleReader *reader, const RecEntry *entry, Err *err)
{
    size_t at = reader->station;
    while (at < reader->header.count &&
           strcmp(reader->header.heads[at].states.station, entry->station) != 0) {
        at++;
    }
    if (at == reader->header.count) {
        return refuse(reader, err,
                      "entry %lld is of station %s, which is not next in the first line",
                      (long long)entry->number, entry->station);
    }
    if (at != reader->station) {
        if (!end_station(reader, err)) return false;
        reader->station = at;
    }
    return true;
}

static bool take_entry(RecBundleReader *reader, Err *err)
{
    RecBundleLine *line = &reader->line;
    RecEntry *entry = &line->entry;
    Err wrong = {0};
    if (line->bytes.len > REC_BUNDLE_ENTRY_BYTES_MAX) {
        return refuse(reader, err, "the line is longer than %d bytes", REC_BUNDLE_ENTRY_BYTES_MAX);
    }
    if (++reader->entries > REC_BUNDLE_ENTRIES_MAX) {
        return refuse(reader, err, "more than %d entries", REC_BUNDLE_ENTRIES_MAX);
    }
    if (!rec_entry_read(&line->bytes, entry, &wrong)) {
        return refuse(reader, err, "is no entry: %s", wrong.text);
    }
    if (!find_station(reader, entry, err)) return false;
    RecBundlePart *part = &reader->parts[reader->station];
    const char *said = NULL;
    if (part->count == 0) {
        part->first_line = line->line;
        part->first = entry->number;
        if (entry->number < 1) said = "numbers begin with 1";
    } else if (entry->number != reader->last_number + 1) {
        said = "the entry before it in the bundle has not the number before";
    } else if (strcmp(entry->previous, reader->last_hash.hex) != 0) {
        said = "does not follow from the entry before it: one of the two was changed";
    }
    if (said == NULL && (entry->number == 1) != (strcmp(entry->previous, NO_HASH) == 0)) {
        said = "the first entry, and only it, follows no other";
    }
    if (said == NULL && (entry->number == 1) != (entry->kind_code == REC_KIND_STORE)) {
        said = "the first entry, and only it, is of kind store";
    }
    const RecHead *head = &reader->header.heads[reader->station].states;
    if (said == NULL && entry->number == head->number && strcmp(entry->time, head->time) != 0) {
        said = "its time is not the one in the station's head";
    }
    if (said != NULL) {
        return rec_bundle_refuse(reader, line->line, entry->station, entry->number, err, "%s",
                                 said);
    }
    part->count++;
    line->station = reader->station;
    reader->last_number = entry->number;
    reader->last_hash = entry->hash;
    return true;
}

/* --- Contents, texts, the last line ---------------------------------------------------------- */

/* Contents and texts come sorted, so that none comes twice. */
static bool take_order(RecBundleReader *reader, const char *hash, Err *err)
{
    if (strcmp(reader->last_hash.hex, hash) >= 0) {
        return refuse(reader, err, "%.12s... is out of order", hash);
    }
    memcpy(reader->last_hash.hex, hash, REC_HEX_BYTES);
    return true;
}

static bool take_content(RecBundleReader *reader, Err *err)
{
    RecBundleLine *line = &reader->line;
    size_t start = strlen(CONTENT_START);
    size_t tail = strlen(CONTENT_MIDDLE) + REC_HEX_BYTES - 1 + strlen(CONTENT_END);
    if (line->bytes.len < start + tail) return refuse(reader, err, "is no content");
    const char *middle = line->bytes.bytes + line->bytes.len - tail;
    const char *hash = middle + strlen(CONTENT_MIDDLE);
    memcpy(line->hash.hex, hash, REC_HEX_BYTES - 1);
    line->hash.hex[REC_HEX_BYTES - 1] = '\0';
    bool ok =
        memcmp(middle, CONTENT_MIDDLE, strlen(CONTENT_MIDDLE)) == 0 &&
        strcmp(hash + REC_HEX_BYTES - 1, CONTENT_END) == 0 && rec_is_hash(line->hash.hex) &&
        rec_base64_take(line->bytes.bytes + start, line->bytes.len - start - tail, &line->content);
    if (!ok) return refuse(reader, err, "is no content");
    if (line->content.len > REC_CONTENT_BYTES_MAX) {
        return refuse(reader, err, "the content has %zu bytes, limit %d", line->content.len,
                      REC_CONTENT_BYTES_MAX);
    }
    RecHash now = rec_sha256(NULL, 0, text_string(&line->content), line->content.len);
    if (strcmp(now.hex, line->hash.hex) != 0) {
        return refuse(reader, err, "content %.12s... was changed", line->hash.hex);
    }
    return take_order(reader, line->hash.hex, err);
}

static bool take_veil(RecBundleReader *reader, Err *err)
{
    static const char *const keys[] = {"commitment", "salt", "text", NULL};
    RecVeil *veil = &reader->line.veil;
    JsonDoc *doc = NULL;
    unsigned char salt[REC_HASH_BYTES];
    if (!parse(reader, keys, &doc, err)) return false;
    text_add(&veil->commitment, text_of(json_root(doc), "commitment"));
    text_add(&veil->salt, text_of(json_root(doc), "salt"));
    text_add(&veil->text, text_of(json_root(doc), "text"));
    json_free(doc);
    if (veil->text.len > REC_REMARK_BYTES_MAX) {
        return refuse(reader, err, "the text has %zu bytes, limit %d", veil->text.len,
                      REC_REMARK_BYTES_MAX);
    }
    if (!rec_is_hash(text_string(&veil->commitment)) ||
        !rec_hex_read(text_string(&veil->salt), veil->salt.len, salt, sizeof salt)) {
        return refuse(reader, err, "commitment or salt is not well-formed");
    }
    RecHash now = rec_commitment(salt, text_string(&veil->text), veil->text.len);
    if (strcmp(now.hex, veil->commitment.bytes) != 0) {
        return refuse(reader, err, "the text of %.12s... was changed", veil->commitment.bytes);
    }
    return take_order(reader, veil->commitment.bytes, err);
}

void rec_bundle_message(const RecHash *hash, Text *out)
{
    text_addf(out, "%s %s\n", REC_BUNDLE_FORMAT, hash->hex);
}

static bool take_last(RecBundleReader *reader, Err *err)
{
    static const char *const keys[] = {"hash", "key", "signature", NULL};
    RecBundleLine *line = &reader->line;
    JsonDoc *doc = NULL;
    Text message = {0};
    unsigned char key[REC_KEY_BYTES];
    unsigned char signature[REC_SIGNATURE_BYTES];
    bool is_end = false;
    if (!parse(reader, keys, &doc, err)) return false;
    const char *hash = text_of(json_root(doc), "hash");
    const char *key_hex = text_of(json_root(doc), "key");
    const char *signed_hex = text_of(json_root(doc), "signature");
    line->hash = rec_hasher_end(reader->hasher);
    reader->hasher = NULL;
    rec_bundle_message(&line->hash, &message);
    bool ok = rec_hex_read(key_hex, strlen(key_hex), key, sizeof key) &&
              rec_hex_read(signed_hex, strlen(signed_hex), signature, sizeof signature);
    if (!ok)
        (void)refuse(reader, err, "key or signature is not well-formed");
    else if (strcmp(hash, line->hash.hex) != 0)
        ok = refuse(reader, err, "the bundle was changed: its hash is %.12s..., it says %.12s...",
                    line->hash.hex, hash);
    else if (!rec_ed25519_verify(key, message.bytes, message.len, signature))
        ok = refuse(reader, err, "the bundle's signature is not by the key beside it");
    if (ok) memcpy(line->key, key_hex, REC_HEX_BYTES);
    text_clear(&message);
    json_free(doc);
    if (!ok || !read_line(reader, &is_end, err)) return false;
    return is_end || refuse(reader, err, "the bundle goes on after its last line");
}

bool rec_bundle_next(RecBundleReader *reader, RecBundleLine **out, Err *err)
{
    static const struct {
        const char *start;
        RecLineKind kind;
        bool (*take)(RecBundleReader *reader, Err *err);
    } kinds[] = {
        {"{\"author\":", REC_LINE_ENTRY, take_entry},
        {"{\"base64\":\"", REC_LINE_CONTENT, take_content},
        {"{\"commitment\":", REC_LINE_VEIL, take_veil},
        {"{\"hash\":", REC_LINE_LAST, take_last},
    };
    RecBundleLine *line = &reader->line;
    CHECK(reader->hasher != NULL); /* not after the last line */
    bool is_end = false;
    rec_hasher_add(reader->hasher, text_string(&line->bytes), line->bytes.len);
    rec_hasher_add(reader->hasher, "\n", 1);
    line_clear(line);
    if (!read_line(reader, &is_end, err)) return false;
    if (is_end) return refuse(reader, err, "the bundle is cut off: its last line is missing");
    size_t at = 0;
    while (at < sizeof kinds / sizeof kinds[0] && !starts_with(&line->bytes, kinds[at].start)) {
        at++;
    }
    if (at == sizeof kinds / sizeof kinds[0]) {
        return refuse(reader, err, "is no line of a bundle");
    }
    if (kinds[at].kind < line->kind) return refuse(reader, err, "the line is out of order");
    if (kinds[at].kind != REC_LINE_ENTRY && line->kind == REC_LINE_ENTRY &&
        !end_station(reader, err)) {
        return false;
    }
    if (kinds[at].kind != line->kind) reader->last_hash = (RecHash){""};
    line->kind = kinds[at].kind;
    if (!kinds[at].take(reader, err)) return false;
    *out = line;
    return true;
}
