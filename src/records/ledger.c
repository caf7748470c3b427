/* The ledger: adding and reading. */
#include "records/ledger.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/entry.h"

static const char NO_HASH[REC_HEX_BYTES] =
    "0000000000000000000000000000000000000000000000000000000000000000";

struct Records {
    RecStore *store;
    Text folder;
    RecClock clock;
    char station[REC_ID_BYTES];
    int64_t start; /* which opening for writing this is; 0: not open for writing */
};

static int64_t wall_now(void *context)
{
    (void)context;
    return os_wall_time_us();
}

static int64_t uptime_now(void *context)
{
    (void)context;
    return os_uptime_us();
}

static const RecClock machine_clock = {wall_now, uptime_now, NULL};

/* --- One entry ------------------------------------------------------------------------------- */

/* Read the row's entry; a mismatch of any kind is damage. */
static bool read_row(const RecRow *row, RecEntry *entry, Err *err)
{
    bool ok = rec_entry_read(&row->bytes, entry, err);
    if (ok &&
        (strcmp(entry->hash.hex, text_string(&row->hash)) != 0 || entry->number != row->number)) {
        rec_entry_clear(entry);
        ok = err_set(err, ERR_INPUT, "its number or hash is not what was written");
    }
    if (ok) return true;
    err_context(err, "entry %lld was changed", (long long)row->number);
    err->code = ERR_DAMAGE;
    return false;
}

/* The last entry numbered `limit` or less; *found false and `entry` empty when there is none. */
static bool read_last(RecStore *store, RecNumber limit, RecEntry *entry, bool *found, Err *err)
{
    RecRow row = {0};
    bool ok = rec_store_entry_until(store, limit, &row, found, err) &&
              (!*found || read_row(&row, entry, err));
    rec_row_clear(&row);
    return ok;
}

/* Add one entry behind `last` (number 0: the first) with these times, and make it the last. */
static bool add_entry(Records *records, const char *author, const char *kind, const char *body,
                      int64_t time_us, int64_t ticks_us, RecEntry *last, Err *err)
{
    RecEntry entry = {
        .number = last->number + 1,
        .previous = last->number == 0 ? NO_HASH : last->hash.hex,
        .station = records->station,
        .author = author,
        .kind = kind,
        .time_us = time_us,
        .ticks_us = ticks_us,
        .start = records->start,
    };
    Text bytes = {0};
    RecEntry added = {0};
    bool ok = rec_entry_print(&entry, body, &bytes, err) && rec_entry_read(&bytes, &added, err) &&
              rec_store_entry_add(records->store, entry.number, &bytes, added.hash.hex, err);
    if (ok) {
        rec_entry_clear(last);
        *last = added;
        added = (RecEntry){0}; /* handed over */
    }
    rec_entry_clear(&added);
    text_clear(&bytes);
    return ok;
}

/* Add one entry, and in front of it one that says so if the clock was moved since the last. */
static bool append(Records *records, const char *author, const char *kind, const char *body,
                   RecNumber *number, Err *err)
{
    RecEntry last = {0};
    Text moved_body = {0};
    bool found = false;
    bool ok = false;
    int64_t time_us = records->clock.wall_us(records->clock.context);
    int64_t ticks_us = records->clock.uptime_us(records->clock.context);
    char stamp[REC_STAMP_BYTES];
    rec_stamp_print(time_us, stamp);
    CHECK(rec_stamp_read(stamp, &time_us) && ticks_us >= 0); /* within the years that are written */

    if (!read_last(records->store, INT64_MAX, &last, &found, err)) goto done;
    int64_t moved = 0;
    if (found) moved = rec_clock_moved(&last, time_us, ticks_us, strcmp(kind, "start") == 0);
    if (moved != 0) {
        text_addf(&moved_body, "{\"moved_us\":%lld}", (long long)moved);
        if (!add_entry(records, "station", "clock", moved_body.bytes, time_us, ticks_us, &last,
                       err))
            goto done;
    }
    if (!add_entry(records, author, kind, body, time_us, ticks_us, &last, err)) goto done;
    if (number != NULL) *number = last.number;
    ok = true;
done:
    text_clear(&moved_body);
    rec_entry_clear(&last);
    return ok;
}

/* --- Writing as a whole ---------------------------------------------------------------------- */

/* Write the head that states the last entry. Nobody else is writing. */
static bool write_head(Records *records, Err *err)
{
    RecEntry last = {0};
    Text head = {0};
    Text path = {0};
    bool found = false;
    bool ok = read_last(records->store, INT64_MAX, &last, &found, err);
    if (ok && found) {
        rec_head_print(&last, &head);
        text_addf(&path, "%s/head", records->folder.bytes);
        ok = os_file_write(path.bytes, head.bytes, head.len, err);
    }
    text_clear(&path);
    text_clear(&head);
    rec_entry_clear(&last);
    return ok;
}

/* Start adding. A head that disagrees refuses it: adding would write a new head over the only sign
 * that something was cut off. A head left behind by a program that died is brought up first, so
 * that it is never behind by more than one writing. */
static bool begin(Records *records, Err *err)
{
    CHECK(records != NULL);
    RecEntry last = {0};
    bool found = false;
    bool agrees = false;
    int behind = 0;
    bool ok = false;

    if (!rec_store_begin(records->store, err)) return false;
    if (!read_last(records->store, INT64_MAX, &last, &found, err)) goto done;
    if (!rec_head_compare(records->store, records->folder.bytes, last.number, &agrees, &behind,
                          err))
        goto done;
    if (!agrees) {
        (void)err_set(
            err, ERR_DAMAGE,
            "%s: head and store.db disagree, so something was removed or changed; nothing "
            "is added; \"records verify\" tells more",
            records->folder.bytes);
        goto done;
    }
    if (behind > 0 && !write_head(records, err)) goto done;
    ok = true;
done:
    if (!ok) rec_store_rollback(records->store);
    rec_entry_clear(&last);
    return ok;
}

/* End adding: with `ok` false nothing is stored, else rows first and then the head. It is written
 * under the lock again, so that of two programs none puts an older head over a newer. */
static bool end(Records *records, bool ok, Err *err)
{
    if (!ok) {
        rec_store_rollback(records->store);
        return false;
    }
    if (!rec_store_commit(records->store, err)) return false;
    ok = rec_store_begin(records->store, err) && write_head(records, err);
    rec_store_rollback(records->store);
    if (!ok) err_context(err, "the entry is stored, but the head could not be written");
    return ok;
}

/* --- Opening --------------------------------------------------------------------------------- */

static bool copy_station(Records *records, Err *err)
{
    RecEntry last = {0};
    bool found = false;
    if (!read_last(records->store, INT64_MAX, &last, &found, err)) return false;
    if (last.station == NULL) {
        return err_set(err, ERR_DAMAGE, "%s: the store has no entries", records->folder.bytes);
    }
    memcpy(records->station, last.station, REC_ID_BYTES);
    rec_entry_clear(&last);
    return true;
}

/* The newest "start" entry has the highest counter, and is never far from the end. */
static bool last_start(Records *records, int64_t *start, Err *err)
{
    RecNumber limit = INT64_MAX;
    bool found = true;
    bool ok = true;
    *start = 0;
    while (ok && found && *start == 0 && limit > 0) {
        RecEntry entry = {0};
        ok = read_last(records->store, limit, &entry, &found, err);
        if (ok && found && strcmp(entry.kind, "start") == 0) *start = entry.start;
        limit = entry.number - 1;
        rec_entry_clear(&entry);
    }
    return ok;
}

static bool add_openings(Records *records, const char *program, Err *err)
{
    Text body = {0};
    RecEntry last = {0};
    bool found = false;
    bool ok = read_last(records->store, INT64_MAX, &last, &found, err);
    rec_entry_clear(&last);
    if (ok && !found) {
        rec_id_new(records->station);
        records->start = 1;
        text_addf(&body, "{\"format\":%d,\"program\":\"%s\"}", REC_FORMAT, program);
        ok = append(records, "station", "store", body.bytes, NULL, err);
        text_clear(&body);
    } else if (ok) {
        ok = copy_station(records, err) && last_start(records, &records->start, err);
        records->start++;
    }
    text_addf(&body, "{\"program\":\"%s\"}", program);
    ok = ok && append(records, "station", "start", body.bytes, NULL, err);
    text_clear(&body);
    return ok;
}

/* What must be there before SQLite is asked, whose own message would not help. */
static bool check_folder(const char *folder, RecMode mode, Text *database, Err *err)
{
    Err none = {0};
    if (mode == REC_CREATE && !os_folder_make(folder, err)) return false;
    if (rec_folder_check(folder, database, &none)) return true;
    if (mode == REC_CREATE && none.code == ERR_IO) { /* none there, as it should be */
        text_addf(database, "%s/store.db", folder);
        return true;
    }
    *err = none;
    return false;
}

bool rec_open(const char *folder, RecMode mode, const char *program, const RecClock *clock,
              Records **out, Err *err)
{
    static const RecStoreMode modes[] = {
        [REC_READ] = REC_STORE_READ,
        [REC_WRITE] = REC_STORE_WRITE,
        [REC_CREATE] = REC_STORE_CREATE,
    };
    CHECK(folder != NULL && out != NULL && err != NULL && program != NULL && text_is_id(program));
    Records *records = check_calloc(1, sizeof *records);
    Text database = {0};
    bool ok = false;

    records->clock = clock == NULL || clock->wall_us == NULL ? machine_clock : *clock;
    text_add(&records->folder, folder);
    if (!check_folder(folder, mode, &database, err)) goto done;
    if (!rec_store_open(database.bytes, modes[mode], &records->store, err)) goto done;
    if (mode == REC_READ) {
        if (!copy_station(records, err)) goto done;
    } else {
        if (!begin(records, err)) goto done;
        if (!end(records, add_openings(records, program, err), err)) goto done;
    }
    *out = records;
    records = NULL; /* handed over */
    ok = true;
done:
    rec_close(records);
    text_clear(&database);
    return ok;
}

void rec_close(Records *records)
{
    if (records == NULL) return;
    rec_store_close(records->store);
    text_clear(&records->folder);
    free(records);
}

const char *rec_station(const Records *records)
{
    return records->station;
}

/* --- Adding ---------------------------------------------------------------------------------- */

static bool check_text(const char *what, const char *text, size_t max, Err *err)
{
    size_t len = strlen(text);
    size_t bad_at = 0;
    if (len < 1 || len > max) {
        return err_set(err, ERR_RANGE, "%s has %zu bytes, limit 1..%zu", what, len, max);
    }
    if (!text_is_utf8(text, len, &bad_at)) {
        return err_set(err, ERR_INPUT, "%s is not UTF-8 at byte %zu", what, bad_at + 1);
    }
    return true;
}

static bool check_author(Records *records, const char *author, Err *err)
{
    Text name = {0};
    bool found = strcmp(author, "station") == 0;
    bool ok = found || rec_person_name(records, author, &name, &found, err);
    if (ok && !found) ok = err_set(err, ERR_INPUT, "no person has the id %s", author);
    text_clear(&name);
    return ok;
}

/* Store a text apart from the chain and give the commitment that the chain gets. */
static bool veil(Records *records, const char *text, RecHash *commitment, Err *err)
{
    unsigned char salt[REC_HASH_BYTES];
    char salt_hex[REC_HEX_BYTES];
    os_random(salt, sizeof salt);
    rec_hex_print(salt, sizeof salt, salt_hex);
    *commitment = rec_commitment(salt, text, strlen(text));
    return rec_store_veil_add(records->store, commitment->hex, salt_hex, text, err);
}

bool rec_person_add(Records *records, const char *name, char person[REC_ID_BYTES], Err *err)
{
    RecHash commitment;
    Text body = {0};
    char id[REC_ID_BYTES];
    bool is_taken = false;
    if (!check_text("the name", name, REC_NAME_BYTES_MAX, err) || !begin(records, err))
        return false;
    bool ok = rec_person_find(records, name, id, &is_taken, err);
    if (ok && is_taken) {
        ok = err_set(err, ERR_INPUT, "\"%s\" is here already; names must differ", name);
    }
    ok = ok && veil(records, name, &commitment, err);
    if (ok) {
        rec_id_new(id);
        text_addf(&body, "{\"person\":\"%s\",\"name\":\"%s\"}", id, commitment.hex);
        ok = append(records, "station", "person", body.bytes, NULL, err);
    }
    ok = end(records, ok, err);
    if (ok) memcpy(person, id, sizeof id);
    text_clear(&body);
    return ok;
}

static bool check_run(const RecRun *run, Err *err)
{
    CHECK(run->person != NULL && run->model != NULL && run->result_json != NULL);
    CHECK(text_is_id(run->model) && run->contents != NULL);
    CHECK(run->content_count >= 1 && run->content_count <= REC_CONTENTS_MAX);
    for (size_t i = 0; i < run->content_count; i++) {
        const RecContent *content = &run->contents[i];
        CHECK(text_is_id(content->name) && (content->bytes != NULL || content->len == 0));
        for (size_t j = 0; j < i; j++) {
            CHECK(strcmp(run->contents[j].name, content->name) != 0);
        }
        if (content->len > REC_CONTENT_BYTES_MAX) {
            return err_set(err, ERR_RANGE, "content %s has %zu bytes, limit %d", content->name,
                           content->len, REC_CONTENT_BYTES_MAX);
        }
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
        const RecContent *content = &run->contents[i];
        RecHash hash = rec_sha256(NULL, 0, content->bytes, content->len);
        text_addf(body, "%s\"%s\":\"%s\"", i == 0 ? "" : ",", content->name, hash.hex);
        if (!rec_store_content_add(records->store, hash.hex, content->bytes, content->len, err)) {
            return false;
        }
    }
    return true;
}

bool rec_run_add(Records *records, const RecRun *run, RecNumber *number, Err *err)
{
    JsonDoc *result = NULL;
    Text body = {0};
    bool ok = false;

    if (!check_run(run, err)) return false;
    if (!json_parse("result", run->result_json, strlen(run->result_json), &result, err)) goto done;
    text_addf(&body,
              "{\"mode\":\"%s\",\"scripted\":%s,\"seed\":\"%llu\",\"model\":\"%s\",\"result\":",
              run->is_assessment ? "assessment" : "practice", run->is_scripted ? "true" : "false",
              (unsigned long long)run->seed, run->model);
    if (!rec_canonical(json_root(result), &body, err)) goto done;
    text_add(&body, ",\"contents\":{");

    if (!begin(records, err)) goto done;
    ok = check_author(records, run->person, err) && add_contents(records, run, &body, err);
    text_add(&body, "}}");
    ok = ok && append(records, run->person, "run", body.bytes, number, err);
    ok = end(records, ok, err);
done:
    json_free(result);
    text_clear(&body);
    return ok;
}

bool rec_remark_add(Records *records, const char *author, RecNumber about, const char *text,
                    RecNumber *number, Err *err)
{
    RecHash commitment;
    RecEntry last = {0};
    Text body = {0};
    bool found = false;
    if (!check_text("the remark", text, REC_REMARK_BYTES_MAX, err) || !begin(records, err)) {
        return false;
    }
    bool ok = check_author(records, author, err) &&
              read_last(records->store, INT64_MAX, &last, &found, err);
    if (ok && (about < 1 || about > last.number)) {
        ok = err_set(err, ERR_RANGE, "a remark about entry %lld, limit 1..%lld", (long long)about,
                     (long long)last.number);
    }
    ok = ok && veil(records, text, &commitment, err);
    if (ok) {
        text_addf(&body, "{\"about\":%lld,\"text\":\"%s\"}", (long long)about, commitment.hex);
        ok = append(records, author, "remark", body.bytes, number, err);
    }
    ok = end(records, ok, err);
    rec_entry_clear(&last);
    text_clear(&body);
    return ok;
}

bool rec_erase(Records *records, const char *author, const char *commitment, const char *reason,
               RecNumber *number, Err *err)
{
    Text body = {0};
    RecVeil there = {0};
    bool found = false;
    if (!check_text("the reason", reason, REC_REASON_BYTES_MAX, err) || !begin(records, err)) {
        return false;
    }
    bool ok = check_author(records, author, err) &&
              rec_store_veil_read(records->store, commitment, &there, &found, err);
    if (ok && !found) ok = err_set(err, ERR_INPUT, "no text has the commitment %s", commitment);
    if (ok) {
        text_addf(&body, "{\"commitment\":\"%s\",\"reason\":", commitment);
        text_add_quoted(&body, reason);
        text_add(&body, "}");
        ok = append(records, author, "erasure", body.bytes, number, err) &&
             rec_store_veil_erase(records->store, commitment, err);
    }
    ok = end(records, ok, err);
    rec_veil_clear(&there);
    text_clear(&body);
    return ok;
}

/* --- Reading --------------------------------------------------------------------------------- */

bool rec_each(Records *records, const RecFilter *filter, RecEach each, void *context, Err *err)
{
    const RecFilter all = {0};
    const RecFilter *want = filter == NULL ? &all : filter;
    RecNumber from = want->from;
    bool found = true;
    bool ok = true;
    while (ok && found) {
        RecRow row = {0};
        RecEntry entry = {0};
        ok = rec_store_entry_from(records->store, from, &row, &found, err) &&
             (!found || read_row(&row, &entry, err));
        if (ok && found) {
            bool is_wanted = (want->kind == NULL || strcmp(want->kind, entry.kind) == 0) &&
                             (want->author == NULL || strcmp(want->author, entry.author) == 0);
            from = entry.number + 1;
            ok = !is_wanted || each(context, &entry, err);
        }
        rec_entry_clear(&entry);
        rec_row_clear(&row);
    }
    return ok;
}

bool rec_text(Records *records, const char *commitment, Text *out, bool *there, Err *err)
{
    return rec_text_read(records->store, commitment, out, there, err);
}

typedef struct {
    Records *records;
    RecPerson *people;
    size_t count;
} PeopleList;

static bool list_person(void *context, const RecEntry *entry, Err *err)
{
    PeopleList *list = context;
    list->people = check_realloc(list->people, list->count + 1, sizeof *list->people);
    RecPerson *person = &list->people[list->count++];
    *person = (RecPerson){.number = entry->number};
    memcpy(person->id, json_string(json_get(entry->body, "person")), REC_ID_BYTES);
    bool there = false;
    return rec_text(list->records, json_string(json_get(entry->body, "name")), &person->name,
                    &there, err);
}

bool rec_people(Records *records, RecPerson **out, size_t *count, Err *err)
{
    const RecFilter filter = {.kind = "person"};
    PeopleList list = {.records = records};
    if (!rec_each(records, &filter, list_person, &list, err)) {
        rec_people_free(list.people, list.count);
        return false;
    }
    *out = list.people;
    *count = list.count;
    return true;
}

void rec_people_free(RecPerson *people, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_clear(&people[i].name);
    }
    free(people);
}

bool rec_person_find(Records *records, const char *name, char person[REC_ID_BYTES], bool *found,
                     Err *err)
{
    RecPerson *people = NULL;
    size_t count = 0;
    if (!rec_people(records, &people, &count, err)) return false;
    *found = false;
    for (size_t i = 0; i < count && !*found; i++) {
        *found = people[i].name.len > 0 && strcmp(people[i].name.bytes, name) == 0;
        if (*found) memcpy(person, people[i].id, REC_ID_BYTES);
    }
    rec_people_free(people, count);
    return true;
}

bool rec_person_name(Records *records, const char *person, Text *out, bool *found, Err *err)
{
    RecPerson *people = NULL;
    size_t count = 0;
    if (!rec_people(records, &people, &count, err)) return false;
    *found = false;
    text_clear(out);
    for (size_t i = 0; i < count && !*found; i++) {
        *found = strcmp(people[i].id, person) == 0;
        if (*found) text_add(out, text_string(&people[i].name));
    }
    rec_people_free(people, count);
    return true;
}

bool rec_run_load(Records *records, RecNumber number, RecRunView *out, Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    bool found = false;
    bool ok = rec_store_entry_from(records->store, number, &row, &found, err);
    if (ok && (!found || row.number != number)) {
        ok = err_set(err, ERR_INPUT, "there is no entry %lld", (long long)number);
    }
    ok = ok && read_row(&row, &entry, err) && rec_run_view_read(records->store, &entry, out, err);
    rec_entry_clear(&entry);
    rec_row_clear(&row);
    return ok;
}
