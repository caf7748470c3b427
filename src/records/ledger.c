/* The ledger: opening, writing as a whole, reading. */
#include "records/ledger.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/rules.h"
#include "records/writing.h"

static const char NO_HASH[REC_HEX_BYTES] =
    "0000000000000000000000000000000000000000000000000000000000000000";

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

/* The last entry of the own station, moved to `entry`; *found false and `entry` empty when there is
 * none. Its bytes are read anew unless they are those of our own last writing. */
static bool read_last(Records *records, RecEntry *entry, bool *found, Err *err)
{
    RecRow row = {0};
    bool ok = rec_store_entry_until(records->store, records->station, INT64_MAX, &row, found, err);
    if (ok && *found && records->last.number == row.number &&
        strcmp(records->last.hash.hex, text_string(&row.hash)) == 0 &&
        strcmp(records->last.hash.hex, rec_entry_hash(&row.bytes).hex) == 0) {
        *entry = records->last;
        records->last = (RecEntry){0}; /* handed over */
    } else if (ok && *found) {
        ok = rec_row_read(&row, entry, err);
    }
    rec_row_clear(&row);
    return ok;
}

/* Keep what read_last gave for the next time. */
static void keep_last(Records *records, RecEntry *last)
{
    rec_entry_clear(&records->last);
    records->last = *last;
    *last = (RecEntry){0}; /* handed over */
}

bool rec_writing_add(Records *records, RecWriting *writing, const char *author, RecKind kind,
                     const char *body, Err *err)
{
    RecEntry *last = &writing->last;
    RecEntry entry = {
        .number = last->number + 1,
        .previous = last->number == 0 ? NO_HASH : last->hash.hex,
        .station = records->station,
        .author = author,
        .kind = rec_kind_names[kind],
        .time_us = writing->time_us,
        .ticks_us = writing->ticks_us,
        .start = records->start,
    };
    Text bytes = {0};
    Text value = {0};
    RecEntry added = {0};
    bool ok = rec_entry_make(&entry, body, &bytes, &added, err) &&
              rec_rules_check(records->store, &added, err);
    if (ok) {
        RecFact fact;
        rec_fact_of(&added, &value, &fact);
        ok = rec_store_entry_add(records->store, &fact, &bytes, err);
    }
    if (ok) {
        rec_entry_clear(last);
        *last = added;
        added = (RecEntry){0}; /* handed over */
    }
    rec_entry_clear(&added);
    text_clear(&value);
    text_clear(&bytes);
    return ok;
}

bool rec_writing_add_foreign(Records *records, const Text *bytes, Err *err)
{
    RecEntry entry = {0};
    RecRow row = {0};
    RecFact fact;
    Text value = {0};
    bool found = false;
    if (!rec_entry_read(bytes, &entry, err)) return false;
    bool ok = rec_store_entry_from(records->store, entry.station, entry.number, &row, &found, err);
    if (ok &&
        (strcmp(entry.station, records->station) == 0 || (found && row.number == entry.number))) {
        ok = err_set(err, ERR_INPUT, "entry %lld of station %s is here already",
                     (long long)entry.number, entry.station);
    }
    if (ok) {
        rec_fact_of(&entry, &value, &fact);
        ok = rec_store_entry_add(records->store, &fact, bytes, err);
    }
    rec_row_clear(&row);
    text_clear(&value);
    rec_entry_clear(&entry);
    return ok;
}

bool rec_writing_veil(Records *records, const char *text, RecHash *commitment, Err *err)
{
    unsigned char salt[REC_HASH_BYTES];
    char salt_hex[REC_HEX_BYTES];
    os_random(salt, sizeof salt);
    rec_hex_print(salt, sizeof salt, salt_hex);
    *commitment = rec_commitment(salt, text, strlen(text));
    return rec_store_veil_add(records->store, commitment->hex, salt_hex, text, err);
}

/* --- Writing as a whole ---------------------------------------------------------------------- */

/* Write the head that states the last entry. Nobody else is writing. To wait for the disk each time
 * would double the time an entry takes; instead the head that is on disk may be behind by some
 * entries after a power cut, which check_head then brings up. */
static bool write_head(Records *records, const RecEntry *last, Err *err)
{
    Text path = {0};
    Err other = {0};
    size_t len_before = records->head.len;
    bool syncs =
        last->number / REC_HEAD_SYNC_ENTRIES != records->head_number / REC_HEAD_SYNC_ENTRIES;
    text_clear(&records->head);
    rec_head_print(last, records->seed, &records->head);
    text_addf(&path, "%s/head", records->folder.bytes);
    bool ok =
        (records->head.len == len_before &&
         os_file_overwrite(path.bytes, records->head.bytes, records->head.len, syncs, &other)) ||
        os_file_write(path.bytes, records->head.bytes, records->head.len, err);
    records->head_number = last->number;
    if (!ok) text_clear(&records->head);
    text_clear(&path);
    return ok;
}

/* Is the head file what we wrote for this last entry? Then it need not be read and checked. */
static bool is_own_head(const Records *records, const char *path, const RecEntry *last)
{
    Text there = {0};
    Err unread = {0};
    bool is_own = records->head.len > 0 && records->head_number == last->number &&
                  os_file_read(path, REC_HEAD_BYTES_MAX, &there, &unread) &&
                  there.len == records->head.len &&
                  memcmp(there.bytes, records->head.bytes, there.len) == 0;
    text_clear(&there);
    return is_own;
}

static bool check_head(Records *records, const RecEntry *last, Err *err)
{
    RecSignedHead head;
    RecHeadState state = REC_HEAD_AGREES;
    Text path = {0};
    text_addf(&path, "%s/head", records->folder.bytes);
    bool ok = is_own_head(records, path.bytes, last);
    if (!ok && rec_head_compare(records->store, path.bytes, records->station, last->number, &head,
                                &state, err)) {
        ok = state == REC_HEAD_AGREES;
        if (!ok) {
            (void)err_set(err, ERR_DAMAGE,
                          "%s: head and store.db disagree, so something was removed or changed; "
                          "nothing is added; \"records verify\" tells more",
                          records->folder.bytes);
        } else if (last->number != 0 && head.states.number < last->number) {
            ok = write_head(records, last, err);
        }
    }
    text_clear(&path);
    return ok;
}

static bool add_clock(Records *records, bool is_new_start, RecWriting *writing, Err *err)
{
    char stamp[REC_STAMP_BYTES];
    Text body = {0};
    writing->time_us = records->clock.wall_us(records->clock.context);
    writing->ticks_us = records->clock.uptime_us(records->clock.context);
    rec_stamp_print(writing->time_us, stamp); /* within the years that are written */
    CHECK(rec_stamp_read(stamp, &writing->time_us) && writing->ticks_us >= 0);
    if (writing->last.number == 0) return true;
    int64_t moved =
        rec_clock_moved(&writing->last, writing->time_us, writing->ticks_us, is_new_start);
    if (moved == 0) return true;
    text_addf(&body, "{\"moved_us\":%lld}", (long long)moved);
    bool ok = rec_writing_add(records, writing, "station", REC_KIND_CLOCK, body.bytes, err);
    text_clear(&body);
    return ok;
}

/* The rest of rec_writing_begin, once nobody else writes. On false the caller ends the writing. */
static bool take_up(Records *records, bool is_new_start, RecWriting *writing, Err *err)
{
    bool found = false;
    *writing = (RecWriting){0};
    return read_last(records, &writing->last, &found, err) &&
           check_head(records, &writing->last, err) &&
           add_clock(records, is_new_start, writing, err);
}

bool rec_writing_begin(Records *records, bool is_new_start, RecWriting *writing, Err *err)
{
    CHECK(records != NULL && records->start > 0);
    if (!rec_store_begin(records->store, err)) return false;
    if (take_up(records, is_new_start, writing, err)) return true;
    rec_store_rollback(records->store);
    rec_entry_clear(&writing->last);
    return false;
}

/* The head is written under the lock again, so that of two programs none puts an older head over a
 * newer. */
static bool write_new_head(Records *records, Err *err)
{
    RecEntry last = {0};
    bool found = false;
    if (!rec_store_begin(records->store, err)) return false;
    bool ok = read_last(records, &last, &found, err) && found && write_head(records, &last, err);
    rec_store_rollback(records->store);
    keep_last(records, &last);
    return ok;
}

bool rec_writing_end(Records *records, RecWriting *writing, bool ok, Err *err)
{
    if (!ok) {
        rec_store_rollback(records->store);
        rec_entry_clear(&writing->last);
        return false;
    }
    keep_last(records, &writing->last);
    if (!rec_store_commit(records->store, err)) return false;
    if (writing->next_seed != NULL) memcpy(records->seed, writing->next_seed, REC_SEED_BYTES);
    records->has_added = true;
    ok = write_new_head(records, err);
    if (!ok) err_context(err, "the entry is stored, but the head could not be written");
    return ok;
}

/* --- The station's key ----------------------------------------------------------------------- */

bool rec_station_seed_write(const char *folder, const char *name, const unsigned char *seed,
                            Err *err)
{
    char hex[2 * REC_SEED_BYTES + 1];
    Text path = {0};
    Text line = {0};
    rec_hex_print(seed, REC_SEED_BYTES, hex);
    text_addf(&path, "%s/%s", folder, name);
    text_addf(&line, "%s\n", hex);
    bool ok = os_file_write_private(path.bytes, line.bytes, line.len, err);
    rec_wipe(line.bytes, line.len);
    rec_wipe(hex, sizeof hex);
    text_clear(&line);
    text_clear(&path);
    return ok;
}

/* Read a seed whose public key is `key`; *found false when the file holds none or another. */
static bool read_seed(const char *folder, const char *name, const char *key, unsigned char *seed,
                      bool *found, Err *err)
{
    unsigned char public_key[REC_KEY_BYTES];
    char hex[REC_HEX_BYTES];
    Text path = {0};
    Text line = {0};
    text_addf(&path, "%s/%s", folder, name);
    bool ok = true;
    *found = false;
    if (os_is_file(path.bytes)) ok = os_file_read(path.bytes, REC_HEAD_BYTES_MAX, &line, err);
    if (!ok) err_context(err, "%s: no right to write to it", folder);
    if (ok && line.len == 2 * REC_SEED_BYTES + 1 && line.bytes[line.len - 1] == '\n' &&
        rec_hex_read(line.bytes, line.len - 1, seed, REC_SEED_BYTES)) {
        rec_key_from_seed(seed, public_key);
        rec_hex_print(public_key, sizeof public_key, hex);
        *found = strcmp(hex, key) == 0;
    }
    if (line.len > 0) rec_wipe(line.bytes, line.len);
    text_clear(&line);
    text_clear(&path);
    return ok;
}

/* Take the seed that belongs to the key the entries have for this station. A change of key that was
 * cut short left the new one beside the old one. */
static bool take_seed(Records *records, Err *err)
{
    char key[REC_HEX_BYTES];
    const char *folder = records->folder.bytes;
    bool found = false;
    Text from = {0};
    Text to = {0};
    bool ok = rec_station_key_at(records->store, records->station, INT64_MAX, key, err) &&
              read_seed(folder, "station.key", key, records->seed, &found, err);
    if (ok && !found) {
        ok = read_seed(folder, "station.key.next", key, records->seed, &found, err);
        text_addf(&from, "%s/station.key.next", folder);
        text_addf(&to, "%s/station.key", folder);
        if (ok && found) ok = os_file_move(from.bytes, to.bytes, err);
    }
    if (ok && !found) {
        ok = err_set(err, ERR_DAMAGE,
                     "%s: station.key is missing or is not this station's; nothing is added",
                     folder);
    }
    text_clear(&from);
    text_clear(&to);
    return ok;
}

/* --- Heads outside --------------------------------------------------------------------------- */

void rec_outside_write(Records *records)
{
    RecSignedHead there;
    Err unwritten = {0};
    Text path = {0};
    bool found = false;
    bool holds = false;
    if (records->heads.len == 0 || records->head.len == 0) return;
    rec_outside_path(records->heads.bytes, records->station, &path);
    /* Another program that has this store open may have been ahead of us. */
    bool ok = rec_outside_read(records->store, records->heads.bytes, records->station, &there,
                               &found, &unwritten) &&
              (!found || rec_head_holds(records->store, &there.states, &holds, &unwritten));
    if (ok && !(holds && there.states.number >= records->head_number)) {
        ok = os_folder_make(records->heads.bytes, &unwritten) &&
             os_file_write(path.bytes, records->head.bytes, records->head.len, &unwritten);
    }
    records->has_added = !ok;
    text_clear(&path);
}

void rec_outside_keep(Records *records, const RecSignedHead *head)
{
    RecSignedHead there;
    Err unwritten = {0};
    Text path = {0};
    Text lines = {0};
    bool found = false;
    if (records->heads.len == 0) return;
    rec_outside_path(records->heads.bytes, head->states.station, &path);
    bool ok = rec_outside_read(records->store, records->heads.bytes, head->states.station, &there,
                               &found, &unwritten);
    if (ok && !(found && there.states.number >= head->states.number)) {
        rec_head_print_signed(head, &lines);
        /* As with the own one: what cannot be kept outside does not stop the work. */
        (void)(os_folder_make(records->heads.bytes, &unwritten) &&
               os_file_write(path.bytes, lines.bytes, lines.len, &unwritten));
    }
    text_clear(&lines);
    text_clear(&path);
}

/* When the head outside states what is not here, the folder was put back from an older copy. That
 * is written down, and the work goes on. */
static bool add_restore(Records *records, RecWriting *writing, Err *err)
{
    RecSignedHead head;
    bool found = false;
    bool holds = false;
    Text body = {0};
    if (records->heads.len == 0) return true;
    if (!rec_outside_read(records->store, records->heads.bytes, records->station, &head, &found,
                          err))
        return false;
    if (!found) return true;
    if (!rec_head_holds(records->store, &head.states, &holds, err)) return false;
    if (holds) return true;
    text_addf(&body, "{\"outside_hash\":\"%s\",\"outside_number\":%lld}", head.states.hash.hex,
              (long long)head.states.number);
    bool ok = rec_writing_add(records, writing, "station", REC_KIND_RESTORE, body.bytes, err);
    text_clear(&body);
    return ok;
}

/* --- Opening --------------------------------------------------------------------------------- */

typedef struct {
    const char *station;
    int64_t start;
} Starts;

static bool count_start(void *context, const RecFact *fact, Err *err)
{
    Starts *starts = context;
    (void)err;
    if (strcmp(fact->station, starts->station) == 0) starts->start++;
    return true;
}

/* How many "start" entries the own station has: each opening for writing adds one. */
static bool last_start(Records *records, int64_t *start, Err *err)
{
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_START]};
    Starts starts = {.station = records->station};
    bool ok = rec_store_facts(records->store, &query, count_start, &starts, err);
    *start = starts.start;
    return ok;
}

/* A new station, with a key, and the body of its first entry. */
static bool make_station(Records *records, const char *program, Text *body, Err *err)
{
    unsigned char key[REC_KEY_BYTES];
    char hex[REC_HEX_BYTES];
    os_random(records->seed, sizeof records->seed);
    rec_key_from_seed(records->seed, key);
    rec_hex_print(key, sizeof key, hex);
    rec_id_new(records->station);
    text_addf(body, "{\"format\":%d,\"key\":\"%s\",\"program\":\"%s\"}", REC_FORMAT, hex, program);
    return rec_station_seed_write(records->folder.bytes, "station.key", records->seed, err);
}

/* Which station this is; with no entry at all it is a new one, and `body` its first entry's. */
static bool settle_station(Records *records, const char *program, Text *body, Err *err)
{
    Text station = {0};
    bool found = false;
    bool ok = rec_store_station_after(records->store, "", &station, &found, err);
    text_clear(&station);
    records->start = 1;
    if (!ok) return false;
    if (!found) return make_station(records, program, body, err);
    ok = rec_station_find(records->store, records->folder.bytes, records->station, err) &&
         take_seed(records, err) && last_start(records, &records->start, err);
    records->start++;
    return ok;
}

/* All in one writing, whose beginning shows whether the store is new. */
static bool add_openings(Records *records, const char *program, Err *err)
{
    Text first = {0};
    Text body = {0};
    RecWriting writing = {0};
    text_addf(&body, "{\"program\":\"%s\"}", program);
    bool ok = rec_store_begin(records->store, err);
    if (ok) {
        ok = settle_station(records, program, &first, err) &&
             take_up(records, true, &writing, err) &&
             (first.len == 0 ||
              rec_writing_add(records, &writing, "station", REC_KIND_STORE, first.bytes, err)) &&
             add_restore(records, &writing, err) &&
             rec_writing_add(records, &writing, "station", REC_KIND_START, body.bytes, err);
        ok = rec_writing_end(records, &writing, ok, err);
        if (ok) rec_outside_write(records);
    }
    text_clear(&first);
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

bool rec_open(const char *folder, RecMode mode, const char *program, const RecOutside *outside,
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

    records->clock =
        outside == NULL || outside->clock.wall_us == NULL ? machine_clock : outside->clock;
    if (outside != NULL && outside->heads != NULL) text_add(&records->heads, outside->heads);
    text_add(&records->folder, folder);
    if (!check_folder(folder, mode, &database, err)) goto done;
    if (!rec_store_open(database.bytes, modes[mode], &records->store, err)) goto done;
    if (mode == REC_READ) {
        if (!rec_station_find(records->store, folder, records->station, err)) goto done;
    } else if (!add_openings(records, program, err)) {
        goto done;
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
    if (records->has_added) rec_outside_write(records);
    rec_store_close(records->store);
    rec_wipe(records->seed, sizeof records->seed);
    rec_entry_clear(&records->last);
    text_clear(&records->head);
    text_clear(&records->heads);
    text_clear(&records->folder);
    free(records);
}

void rec_now(const Records *records, int64_t *wall_us, int64_t *uptime_us)
{
    *wall_us = records->clock.wall_us(records->clock.context);
    *uptime_us = records->clock.uptime_us(records->clock.context);
}

const char *rec_station(const Records *records)
{
    return records->station;
}

/* --- Reading --------------------------------------------------------------------------------- */

typedef struct {
    const RecFilter *want;
    RecEach each;
    void *context;
} Walk;

static bool walk_row(void *context, const RecRow *row, Err *err)
{
    Walk *walk = context;
    const RecFilter *want = walk->want;
    RecEntry entry = {0};
    if (!rec_row_read(row, &entry, err)) return false;
    bool is_wanted = (want->kind == NULL || strcmp(want->kind, entry.kind) == 0) &&
                     (want->author == NULL || strcmp(want->author, entry.author) == 0);
    bool ok = !is_wanted || walk->each(walk->context, &entry, err);
    rec_entry_clear(&entry);
    return ok;
}

bool rec_each(Records *records, const RecFilter *filter, RecEach each, void *context, Err *err)
{
    const RecFilter all = {0};
    Walk walk = {.want = filter == NULL ? &all : filter, .each = each, .context = context};
    const char *station = walk.want->station == NULL ? records->station : walk.want->station;
    return rec_store_entries(records->store, station, walk.want->from, walk_row, &walk, err);
}

bool rec_facts(Records *records, const char *person, const char *kind, RecEachFact each,
               void *context, Err *err)
{
    const RecFactQuery query = {.person = person, .kind = kind};
    return rec_store_facts(records->store, &query, each, context, err);
}

typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    bool found;
} Finding;

static bool take_place(void *context, const RecFact *fact, Err *err)
{
    Finding *finding = context;
    (void)err;
    if (finding->found) return true;
    finding->found = strlen(fact->station) == REC_ID_BYTES - 1;
    if (finding->found) memcpy(finding->station, fact->station, REC_ID_BYTES);
    finding->number = fact->number;
    return true;
}

bool rec_find(Records *records, const char *hash, char station[REC_ID_BYTES], RecNumber *number,
              bool *found, Err *err)
{
    const RecFactQuery query = {.hash = hash};
    Finding finding = {.found = false};
    if (!rec_store_facts(records->store, &query, take_place, &finding, err)) return false;
    *found = finding.found;
    if (finding.found) {
        memcpy(station, finding.station, REC_ID_BYTES);
        *number = finding.number;
    }
    return true;
}

bool rec_heads(Records *records, RecHead **out, size_t *count, Err *err)
{
    RecHead *heads = NULL;
    Text station = {0};
    Text after = {0};
    bool found = true;
    bool ok = true;
    size_t have = 0;
    while (ok && found) {
        RecRow row = {0};
        RecEntry entry = {0};
        ok = rec_store_station_after(records->store, text_string(&after), &station, &found, err);
        if (!ok || !found) break;
        ok = rec_store_entry_until(records->store, station.bytes, INT64_MAX, &row, &found, err) &&
             rec_row_read(&row, &entry, err);
        if (ok) {
            heads = check_realloc(heads, have + 1, sizeof *heads);
            RecHead *head = &heads[have++];
            *head = (RecHead){.number = entry.number, .hash = entry.hash};
            memcpy(head->station, entry.station, REC_ID_BYTES);
            memcpy(head->time, entry.time, REC_STAMP_BYTES);
        }
        rec_entry_clear(&entry);
        rec_row_clear(&row);
        text_clear(&after);
        text_add(&after, text_string(&station));
    }
    text_clear(&after);
    text_clear(&station);
    if (!ok) {
        free(heads);
        return false;
    }
    *out = heads;
    *count = have;
    return true;
}

static bool remake_fact(void *context, const RecRow *row, Err *err)
{
    Records *records = context;
    RecEntry entry = {0};
    RecFact fact;
    Text value = {0};
    if (!rec_row_read(row, &entry, err)) return false;
    rec_fact_of(&entry, &value, &fact);
    bool ok = rec_store_fact_add(records->store, &fact, err);
    text_clear(&value);
    rec_entry_clear(&entry);
    return ok;
}

bool rec_views_rebuild(Records *records, Err *err)
{
    CHECK(records->start > 0);
    if (!rec_store_begin(records->store, err)) return false;
    if (rec_store_facts_clear(records->store, err) &&
        rec_store_entries(records->store, NULL, 0, remake_fact, records, err)) {
        return rec_store_commit(records->store, err);
    }
    rec_store_rollback(records->store);
    return false;
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

static bool list_person(void *context, const RecFact *fact, Err *err)
{
    PeopleList *list = context;
    list->people = check_realloc(list->people, list->count + 1, sizeof *list->people);
    RecPerson *person = &list->people[list->count++];
    *person = (RecPerson){.number = fact->number};
    (void)snprintf(person->id, sizeof person->id, "%s", fact->person);
    bool there = false;
    return rec_text(list->records, fact->subject, &person->name, &there, err);
}

bool rec_people(Records *records, RecPerson **out, size_t *count, Err *err)
{
    PeopleList list = {.records = records};
    if (!rec_facts(records, NULL, rec_kind_names[REC_KIND_PERSON], list_person, &list, err)) {
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

typedef struct {
    Records *records;
    Text *out;
    bool found;
} NameSearch;

static bool take_name(void *context, const RecFact *fact, Err *err)
{
    NameSearch *search = context;
    bool there = false;
    search->found = true;
    return rec_text(search->records, fact->subject, search->out, &there, err);
}

bool rec_person_name(Records *records, const char *person, Text *out, bool *found, Err *err)
{
    NameSearch search = {.records = records, .out = out};
    text_clear(out);
    if (!rec_facts(records, person, rec_kind_names[REC_KIND_PERSON], take_name, &search, err)) {
        return false;
    }
    *found = search.found;
    return true;
}

static bool load_run(Records *records, const char *station, RecNumber number, RecRunView *out,
                     Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    bool found = false;
    bool ok = rec_store_entry_from(records->store, station, number, &row, &found, err);
    if (ok && (!found || row.number != number)) {
        ok = err_set(err, ERR_INPUT, "there is no entry %lld", (long long)number);
    }
    ok = ok && rec_row_read(&row, &entry, err) &&
         rec_run_view_read(records->store, &entry, out, err);
    rec_entry_clear(&entry);
    rec_row_clear(&row);
    return ok;
}

bool rec_run_load(Records *records, RecNumber number, RecRunView *out, Err *err)
{
    return load_run(records, records->station, number, out, err);
}

bool rec_run_load_hash(Records *records, const char *hash, RecRunView *out, Err *err)
{
    char station[REC_ID_BYTES];
    RecNumber number = 0;
    bool found = false;
    if (!rec_find(records, hash, station, &number, &found, err)) return false;
    if (!found) return err_set(err, ERR_INPUT, "there is no entry %.12s...", hash);
    return load_run(records, station, number, out, err);
}

bool rec_secret_read(Records *records, const char *person, const char *kind, Text *bytes,
                     bool *found, Err *err)
{
    return rec_store_secret_read(records->store, person, kind, bytes, found, err);
}

bool rec_secret_write(Records *records, const char *person, const char *kind, const Text *bytes,
                      Err *err)
{
    CHECK(records->start > 0);
    if (!rec_store_begin(records->store, err)) return false;
    if (rec_store_secret_write(records->store, person, kind, bytes, err)) {
        return rec_store_commit(records->store, err);
    }
    rec_store_rollback(records->store);
    return false;
}
