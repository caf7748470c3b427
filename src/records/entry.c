/* One entry and the head. */
#include "records/entry.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"

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

bool rec_is_id(const char *text)
{
    static const char form[] = "hhhhhhhh-hhhh-hhhh-hhhh-hhhhhhhhhhhh";
    if (strlen(text) != sizeof form - 1) return false;
    for (size_t i = 0; i < sizeof form - 1; i++) {
        bool fits = form[i] == '-' ? text[i] == '-' : strchr("0123456789abcdef", text[i]) != NULL;
        if (!fits) return false;
    }
    return true;
}

/* --- Fields ---------------------------------------------------------------------------------- */

typedef enum {
    WANT_WHOLE,
    WANT_BOOL,
    WANT_TEXT,
    WANT_WORD,   /* text_is_id */
    WANT_ID,     /* a UUID */
    WANT_AUTHOR, /* a UUID or "station" */
    WANT_HASH,
    WANT_MODE,
    WANT_SEED, /* 0 to 2^64 - 1 in decimal: too wide for a JSON number */
    WANT_HASHES,
    WANT_OBJECT,
    WANT_ANY,
} Want;

typedef struct {
    const char *kind; /* NULL: of the entry itself */
    const char *key;
    Want want;
} Field;

static const Field fields[] = {
    {NULL, "author", WANT_AUTHOR},
    {NULL, "body", WANT_OBJECT},
    {NULL, "kind", WANT_WORD},
    {NULL, "number", WANT_WHOLE},
    {NULL, "previous", WANT_HASH},
    {NULL, "start", WANT_WHOLE},
    {NULL, "station", WANT_ID},
    {NULL, "ticks", WANT_WHOLE},
    {NULL, "time", WANT_TEXT},
    {"store", "format", WANT_WHOLE},
    {"store", "program", WANT_WORD},
    {"start", "program", WANT_WORD},
    {"person", "person", WANT_ID},
    {"person", "name", WANT_HASH},
    {"run", "mode", WANT_MODE},
    {"run", "scripted", WANT_BOOL},
    {"run", "seed", WANT_SEED},
    {"run", "model", WANT_WORD},
    {"run", "contents", WANT_HASHES},
    {"run", "result", WANT_ANY},
    {"remark", "about", WANT_WHOLE},
    {"remark", "text", WANT_HASH},
    {"erasure", "commitment", WANT_HASH},
    {"erasure", "reason", WANT_TEXT},
    {"clock", "moved_us", WANT_WHOLE},
};

static bool is_hash(const char *text)
{
    unsigned char bytes[REC_HASH_BYTES];
    return rec_hex_read(text, strlen(text), bytes, sizeof bytes);
}

static bool is_seed(const char *text, uint64_t *seed)
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

static bool are_hashes(const JsonValue *value)
{
    size_t count = json_kind(value) == JSON_OBJECT ? json_count(value) : 0;
    if (count < 1 || count > REC_CONTENTS_MAX) return false;
    for (size_t i = 0; i < count; i++) {
        const JsonValue *each = json_at(value, i);
        if (!text_is_id(json_key_at(value, i))) return false;
        if (json_kind(each) != JSON_STRING || !is_hash(json_string(each))) return false;
    }
    return true;
}

static bool fits(const JsonValue *value, Want want)
{
    int64_t whole = 0;
    uint64_t seed = 0;
    const char *text = json_kind(value) == JSON_STRING ? json_string(value) : NULL;
    switch (want) {
    case WANT_WHOLE:
        return json_kind(value) == JSON_NUMBER && json_is_integer(value, &whole);
    case WANT_BOOL:
        return json_kind(value) == JSON_BOOL;
    case WANT_TEXT:
        return text != NULL;
    case WANT_WORD:
        return text != NULL && text_is_id(text);
    case WANT_ID:
        return text != NULL && rec_is_id(text);
    case WANT_AUTHOR:
        return text != NULL && (strcmp(text, "station") == 0 || rec_is_id(text));
    case WANT_HASH:
        return text != NULL && is_hash(text);
    case WANT_MODE:
        return text != NULL && (strcmp(text, "practice") == 0 || strcmp(text, "assessment") == 0);
    case WANT_SEED:
        return text != NULL && is_seed(text, &seed);
    case WANT_HASHES:
        return are_hashes(value);
    case WANT_OBJECT:
        return json_kind(value) == JSON_OBJECT;
    case WANT_ANY:
        return true;
    }
    CHECK(false);
    return false;
}

/* `object` has exactly the fields of `kind`. */
static bool check_fields(const JsonValue *object, const char *kind, Err *err)
{
    size_t wanted = 0;
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        const Field *field = &fields[i];
        bool is_of_kind = kind == NULL ? field->kind == NULL
                                       : field->kind != NULL && strcmp(field->kind, kind) == 0;
        if (!is_of_kind) continue;
        wanted++;
        const JsonValue *value = json_get(object, field->key);
        if (value == NULL) return err_set(err, ERR_INPUT, "%s is missing", field->key);
        if (!fits(value, field->want)) {
            return err_set(err, ERR_INPUT, "%s is not well-formed", field->key);
        }
    }
    if (wanted == 0) return err_set(err, ERR_INPUT, "kind \"%s\" is unknown", kind);
    if (json_count(object) != wanted) {
        return err_set(err, ERR_INPUT, "%zu fields where %zu are known", json_count(object),
                       wanted);
    }
    return true;
}

/* --- Bytes ----------------------------------------------------------------------------------- */

bool rec_entry_print(const RecEntry *entry, const char *body_json, Text *bytes, Err *err)
{
    char time[REC_STAMP_BYTES];
    Text loose = {0};
    JsonDoc *doc = NULL;
    rec_stamp_print(entry->time_us, time);
    text_addf(&loose,
              "{\"author\":\"%s\",\"body\":%s,\"kind\":\"%s\",\"number\":%lld,\"previous\":\"%s\","
              "\"start\":%lld,\"station\":\"%s\",\"ticks\":%lld,\"time\":\"%s\"}",
              entry->author, body_json, entry->kind, (long long)entry->number, entry->previous,
              (long long)entry->start, entry->station, (long long)entry->ticks_us, time);
    bool ok = json_parse("entry", loose.bytes, loose.len, &doc, err) &&
              rec_canonical(json_root(doc), bytes, err);
    json_free(doc);
    text_clear(&loose);
    return ok;
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
    return json_is_integer(json_get(object, key), out) && *out >= 0;
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
    if (!check_fields(root, NULL, err)) goto done;
    *out = (RecEntry){
        .hash = rec_entry_hash(bytes),
        .previous = json_string(json_get(root, "previous")),
        .station = json_string(json_get(root, "station")),
        .author = json_string(json_get(root, "author")),
        .kind = json_string(json_get(root, "kind")),
        .time = json_string(json_get(root, "time")),
        .body = json_get(root, "body"),
    };
    if (!rec_stamp_read(out->time, &out->time_us) || !whole_from(root, "number", &out->number) ||
        !whole_from(root, "ticks", &out->ticks_us) || !whole_from(root, "start", &out->start)) {
        (void)err_set(err, ERR_INPUT, "time, number, ticks or start is not well-formed");
        goto done;
    }
    if (!check_fields(out->body, out->kind, err)) goto done;
    out->doc = doc;
    doc = NULL; /* handed over */
    ok = true;
done:
    if (!ok) *out = (RecEntry){0};
    json_free(doc);
    return ok;
}

void rec_entry_clear(RecEntry *entry)
{
    json_free(entry->doc);
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

/* --- Head ------------------------------------------------------------------------------------ */

void rec_head_print(const RecEntry *last, Text *out)
{
    char hash[REC_BASE64_BYTES];
    rec_base64_print(&last->hash, hash);
    text_addf(out, "%s\n%lld\n%s\n%s\n", last->station, (long long)last->number, hash, last->time);
}

/* True when `head` states the entry `number`; an entry that cannot be read is stated by none. */
static bool head_states(RecStore *store, const Text *head, RecNumber number, bool *states, Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    Text want = {0};
    Err unreadable = {0};
    bool found = false;
    bool ok = rec_store_entry_from(store, number, &row, &found, err);
    *states = false;
    if (ok && found && row.number == number && rec_entry_read(&row.bytes, &entry, &unreadable)) {
        rec_head_print(&entry, &want);
        *states = want.len == head->len && memcmp(want.bytes, head->bytes, want.len) == 0;
    }
    text_clear(&want);
    rec_entry_clear(&entry);
    rec_row_clear(&row);
    return ok;
}

bool rec_head_compare(RecStore *store, const char *folder, RecNumber last, bool *agrees,
                      int *behind, Err *err)
{
    Text path = {0};
    Text head = {0};
    text_addf(&path, "%s/head", folder);
    bool is_there = os_is_file(path.bytes);
    Err unread = {0};
    bool ok = !is_there || os_file_read(path.bytes, REC_HEAD_BYTES_MAX, &head, &unread) ||
              unread.code == ERR_RANGE; /* far too long for a head: it will agree with nothing */
    if (!ok) *err = unread;
    *agrees = false;
    for (*behind = 0; ok && !*agrees && *behind <= REC_STEP_ENTRIES_MAX; (*behind)++) {
        RecNumber number = last - *behind;
        if (number < 0) break;
        if (number == 0)
            *agrees = !is_there;
        else if (is_there)
            ok = head_states(store, &head, number, agrees, err);
        if (*agrees) break;
    }
    text_clear(&head);
    text_clear(&path);
    return ok;
}

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
    CHECK(is_seed(json_string(json_get(entry->body, "seed")), &view.seed));
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
