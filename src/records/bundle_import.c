/* Importing bundles. */
#include "records/bundle.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/bundle_read.h"
#include "records/chain.h"
#include "records/named.h"
#include "records/rules.h"
#include "records/writing.h"

/* A station of the bundle, as the store has it. */
typedef struct {
    RecNumber have; /* how many entries were here before; 0: none, it is new */
    RecHash have_hash;
    RecEntry last;       /* the last one here, old or new */
    int64_t starts;      /* up to it */
    RecNumber first_new; /* 0: none is new */
    bool is_looked_up;
    bool is_forked;
} Station;

typedef struct {
    Records *records;
    const char *path;
    RecBundleReader *reader;
    const RecBundleHeader *header;
    bool take_new;
    RecWriting writing;
    Station stations[REC_BUNDLE_STATIONS_MAX];
    RecNamedSet named;
    RecNamedSet erased; /* all texts that any entry erased; made when the entries are in */
    bool entries_done;
    RecImported done;
} Import;

static bool refuse_line(const Import *import, const RecBundleLine *line, Err *err,
                        const char *format, ...) PRINTF_LIKE(4, 5);
static bool refuse_line(const Import *import, const RecBundleLine *line, Err *err,
                        const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return rec_bundle_refuse(import->reader, line->line, line->entry.station, line->entry.number,
                             err, "%s", said);
}

static bool refuse_at(const Import *import, int line, Err *err, const char *format, ...)
    PRINTF_LIKE(4, 5);
static bool refuse_at(const Import *import, int line, Err *err, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return err_at(err, (ErrPlace){import->path, line, 1}, "%s", said);
}

/* --- Forks ----------------------------------------------------------------------------------- */

static void print_fork(const RecFork *fork, Text *out)
{
    text_addf(out, "{\"number\":%lld,\"of\":\"%s\",\"ours\":\"%s\",\"theirs\":\"%s\"}",
              (long long)fork->number, fork->station, fork->ours.hex, fork->theirs.hex);
}

typedef struct {
    const char *station;
    const char *value;
    bool found;
} ValueSearch;

static bool compare_value(void *context, const RecFact *fact, Err *err)
{
    ValueSearch *search = context;
    (void)err;
    if (strcmp(fact->station, search->station) == 0 && strcmp(fact->value, search->value) == 0) {
        search->found = true;
    }
    return true;
}

/* Note that a station has shown two entries of one number; nothing more of it is taken. */
static bool take_fork(Import *import, size_t station, RecNumber number, const char *ours,
                      const char *theirs, Err *err)
{
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_FORK]};
    Text value = {0};
    if (import->done.fork_count == REC_BUNDLE_FORKS_MAX) {
        return err_set(err, ERR_RANGE, "more than %d stations have two entries of one number",
                       REC_BUNDLE_FORKS_MAX);
    }
    RecFork *fork = &import->done.forks[import->done.fork_count++];
    *fork = (RecFork){.number = number};
    memcpy(fork->station, import->header->heads[station].states.station, REC_ID_BYTES);
    memcpy(fork->ours.hex, ours, REC_HEX_BYTES);
    memcpy(fork->theirs.hex, theirs, REC_HEX_BYTES);
    import->stations[station].is_forked = true;
    print_fork(fork, &value);
    ValueSearch search = {.station = import->records->station, .value = value.bytes};
    bool ok = rec_store_facts(import->records->store, &query, compare_value, &search, err);
    fork->is_new = !search.found;
    text_clear(&value);
    return ok;
}

/* --- Entries --------------------------------------------------------------------------------- */

typedef struct {
    const char *station;
    int64_t starts;
} Starts;

static bool count_start(void *context, const RecFact *fact, Err *err)
{
    Starts *starts = context;
    (void)err;
    if (strcmp(fact->station, starts->station) == 0) starts->starts++;
    return true;
}

/* Find what the store has of a station. */
static bool look_up(Import *import, size_t at, Err *err)
{
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_START]};
    const char *id = import->header->heads[at].states.station;
    Station *station = &import->stations[at];
    Starts starts = {.station = id};
    RecRow row = {0};
    bool found = false;
    if (station->is_looked_up) return true;
    bool ok = rec_store_entry_until(import->records->store, id, INT64_MAX, &row, &found, err) &&
              (!found || rec_row_read(&row, &station->last, err));
    if (ok && found) {
        station->have = row.number;
        station->have_hash = station->last.hash;
        ok = rec_store_facts(import->records->store, &query, count_start, &starts, err);
        station->starts = starts.starts;
    }
    station->is_looked_up = ok;
    rec_row_clear(&row);
    return ok;
}

/* The first entry of a station: does it go on from what is here? */
static bool begin_station(Import *import, const RecBundleLine *line, Err *err)
{
    Station *station = &import->stations[line->station];
    const RecEntry *entry = &line->entry;
    if (!look_up(import, line->station, err)) return false;
    if (station->have == 0 && !import->take_new) {
        return refuse_line(import, line, err,
                           "nothing of this station is here yet; make sure that it is one of the "
                           "site's, and take it as new");
    }
    if (entry->number > station->have + 1) {
        return refuse_line(import, line, err,
                           "entries %lld to %lld are missing: export from entry %lld on",
                           (long long)station->have + 1, (long long)entry->number - 1,
                           (long long)station->have + 1);
    }
    if (entry->number == station->have + 1 && station->have > 0 &&
        strcmp(entry->previous, station->have_hash.hex) != 0) {
        return take_fork(import, line->station, station->have, station->have_hash.hex,
                         entry->previous, err);
    }
    return true;
}

static bool compare_known(Import *import, const RecBundleLine *line, Err *err)
{
    const RecEntry *entry = &line->entry;
    RecRow row = {0};
    bool found = false;
    bool ok = rec_store_entry_from(import->records->store, entry->station, entry->number, &row,
                                   &found, err);
    if (ok && (!found || row.number != entry->number)) {
        ok = err_set(err, ERR_DAMAGE, "entry %lld of station %s is missing here",
                     (long long)entry->number, entry->station);
    }
    if (ok && strcmp(text_string(&row.hash), entry->hash.hex) != 0) {
        ok = take_fork(import, line->station, entry->number, text_string(&row.hash),
                       entry->hash.hex, err);
    } else if (ok) {
        import->done.known++;
    }
    rec_row_clear(&row);
    return ok;
}

static bool find_any(void *context, const RecFact *fact, Err *err)
{
    bool *found = context;
    (void)fact;
    (void)err;
    *found = true;
    return true;
}

/* What an entry must be that its own bytes and the bundle alone do not show, but for the rules. */
static bool check_new(Import *import, const RecBundleLine *line, Err *err)
{
    Station *station = &import->stations[line->station];
    const RecEntry *entry = &line->entry;
    const RecEntry *before = station->last.doc == NULL ? NULL : &station->last;
    int64_t format = REC_FORMAT;
    bool is_there = false;
    Err wrong = {0};
    if (strcmp(entry->station, import->records->station) == 0) {
        return refuse_line(import, line, err, "is of this station, which never wrote it");
    }
    if (!rec_chain_check_times(before, station->starts, entry, &wrong)) {
        return refuse_line(import, line, err, "%s", wrong.text);
    }
    if (entry->kind_code == REC_KIND_STORE &&
        !(json_is_integer(json_get(entry->body, "format"), &format) && format == REC_FORMAT)) {
        return refuse_line(import, line, err, "its format is %lld, this program knows %d only",
                           (long long)format, REC_FORMAT);
    }
    if (entry->kind_code == REC_KIND_PERSON) {
        const RecFactQuery query = {.kind = entry->kind, .person = rec_body_text(entry, "person")};
        if (!rec_store_facts(import->records->store, &query, find_any, &is_there, err)) {
            return false;
        }
        if (is_there) {
            return refuse_line(import, line, err, "person %s was added by another entry already",
                               query.person);
        }
    }
    return true;
}

static bool add_new(Import *import, RecBundleLine *line, Err *err)
{
    Station *station = &import->stations[line->station];
    RecEntry *entry = &line->entry;
    RecFact fact;
    Text value = {0};
    RecVeil veil = {0};
    bool found = false;
    if (!check_new(import, line, err)) return false;
    rec_fact_of(entry, &value, &fact);
    bool ok = rec_store_entry_add(import->records->store, &fact, &line->bytes, err);
    if (ok && entry->kind_code == REC_KIND_ERASURE) {
        const char *commitment = rec_body_text(entry, "commitment");
        ok = rec_store_veil_read(import->records->store, commitment, &veil, &found, err) &&
             (!found || rec_store_veil_erase(import->records->store, commitment, err));
        if (ok && found) import->done.erased++;
    }
    if (ok) {
        import->done.added++;
        if (station->first_new == 0) station->first_new = entry->number;
        if (entry->kind_code == REC_KIND_START) station->starts = entry->start;
        rec_entry_clear(&station->last);
        station->last = *entry;
        *entry = (RecEntry){0}; /* handed over */
    }
    rec_veil_clear(&veil);
    text_clear(&value);
    return ok;
}

static bool take_entry(Import *import, RecBundleLine *line, Err *err)
{
    Station *station = &import->stations[line->station];
    bool is_first = rec_bundle_part(import->reader, line->station)->count == 1;
    if (is_first && !begin_station(import, line, err)) return false;
    bool is_known = line->entry.number <= station->have;
    if (!station->is_forked && is_known && !compare_known(import, line, err)) return false;
    bool is_new = !is_known && !station->is_forked;
    rec_named_add_entry(&import->named, &line->entry, is_new, line->line);
    return !is_new || add_new(import, line, err);
}

/* --- Contents and texts ---------------------------------------------------------------------- */

static bool add_erased(void *context, const RecFact *fact, Err *err)
{
    (void)err;
    rec_named_add(context, fact->subject, (RecNamed){.is_text = true});
    return true;
}

static bool end_entries(Import *import, Err *err)
{
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_ERASURE]};
    if (import->entries_done) return true;
    import->entries_done = true;
    rec_named_sort(&import->named);
    if (!rec_store_facts(import->records->store, &query, add_erased, &import->erased, err)) {
        return false;
    }
    rec_named_sort(&import->erased);
    return true;
}

static bool refuse_unnamed(const Import *import, const RecBundleLine *line, const char *hash,
                           Err *err)
{
    return refuse_at(import, line->line, err, "%.12s... is named by no entry of the bundle", hash);
}

static bool take_content(Import *import, const RecBundleLine *line, Err *err)
{
    RecNamed *named = rec_named_find(&import->named, line->hash.hex, false);
    if (named == NULL) return refuse_unnamed(import, line, line->hash.hex, err);
    named->came = true;
    return !named->is_new ||
           rec_store_content_add(import->records->store, line->hash.hex,
                                 text_string(&line->content), line->content.len, err);
}

static bool take_veil(Import *import, const RecBundleLine *line, Err *err)
{
    const RecVeil *veil = &line->veil;
    const char *commitment = veil->commitment.bytes;
    RecNamed *named = rec_named_find(&import->named, commitment, true);
    RecVeil there = {0};
    bool found = false;
    if (named == NULL) return refuse_unnamed(import, line, commitment, err);
    named->came = true;
    if (!named->is_new || rec_named_find(&import->erased, commitment, true) != NULL) return true;
    bool ok = rec_store_veil_read(import->records->store, commitment, &there, &found, err);
    rec_veil_clear(&there);
    return ok && (found || rec_store_veil_add(import->records->store, commitment, veil->salt.bytes,
                                              text_string(&veil->text), err));
}

/* All that new entries name came, was here, or was erased. */
static bool check_came(Import *import, Err *err)
{
    char hex[REC_HEX_BYTES];
    Text bytes = {0};
    RecVeil veil = {0};
    bool ok = true;
    for (size_t i = 0; ok && i < import->named.count; i++) {
        const RecNamed *named = &import->named.items[i];
        bool found = false;
        if (named->came || !named->is_new) continue;
        rec_hex_print(named->hash, sizeof named->hash, hex);
        if (!named->is_text) {
            ok = rec_store_content_read(import->records->store, hex, &bytes, &found, err);
        } else if (rec_named_find(&import->erased, hex, true) != NULL) {
            found = true;
        } else {
            ok = rec_store_veil_read(import->records->store, hex, &veil, &found, err);
        }
        if (ok && !found) {
            ok = refuse_at(import, named->line, err,
                           "the entry names %s %.12s..., which is missing%s",
                           named->is_text ? "text" : "content", hex,
                           named->is_text ? ", and no entry erased it" : "");
        }
    }
    rec_veil_clear(&veil);
    text_clear(&bytes);
    return ok;
}

/* --- Heads, keys, rules ---------------------------------------------------------------------- */

/* The head of a station of which the bundle has no entries. */
static bool check_absent(Import *import, size_t at, Err *err)
{
    const RecHead *head = &import->header->heads[at].states;
    const Station *station = &import->stations[at];
    RecRow row = {0};
    bool found = false;
    if (!look_up(import, at, err)) return false;
    if (head->number > station->have) {
        return refuse_at(import, 1, err,
                         "entries %lld to %lld of station %s are missing: export from entry "
                         "%lld on",
                         (long long)station->have + 1, (long long)head->number, head->station,
                         (long long)station->have + 1);
    }
    bool ok = rec_store_entry_from(import->records->store, head->station, head->number, &row,
                                   &found, err);
    if (ok && found && strcmp(text_string(&row.hash), head->hash.hex) != 0) {
        ok = take_fork(import, at, head->number, text_string(&row.hash), head->hash.hex, err);
    }
    rec_row_clear(&row);
    return ok;
}

static bool check_heads(Import *import, const RecBundleLine *last, Err *err)
{
    char key[REC_HEX_BYTES];
    RecStore *store = import->records->store;
    for (size_t i = 0; i < import->header->count; i++) {
        const RecSignedHead *head = &import->header->heads[i];
        const RecHead *states = &head->states;
        if (rec_bundle_part(import->reader, i)->count == 0 && !check_absent(import, i, err)) {
            return false;
        }
        if (!rec_station_key_at(store, states->station, states->number, key, err)) return false;
        if (!rec_head_is_signed(head, key)) {
            return refuse_at(import, 1, err, "the head of station %s is not signed by it",
                             states->station);
        }
        if (strcmp(states->station, import->header->from) == 0 && strcmp(key, last->key) != 0) {
            return refuse_at(import, last->line, err, "the bundle is not signed by station %s",
                             states->station);
        }
    }
    return true;
}

typedef struct {
    Import *import;
    size_t station;
} RuleWalk;

static bool check_rules(void *context, const RecRow *row, Err *err)
{
    const RuleWalk *walk = context;
    const Import *import = walk->import;
    const RecBundlePart *part = rec_bundle_part(import->reader, walk->station);
    RecEntry entry = {0};
    Err wrong = {0};
    if (!rec_row_read(row, &entry, err)) return false;
    bool ok = rec_rules_check(import->records->store, &entry, &wrong);
    if (!ok && wrong.code == ERR_INPUT) {
        int line = part->first_line + (int)(entry.number - part->first);
        (void)rec_bundle_refuse(import->reader, line, entry.station, entry.number, err, "%s%s",
                                wrong.text,
                                import->done.fork_count == 0
                                    ? ""
                                    : "; it may rest on the branch of a station that is not taken");
    } else if (!ok) {
        *err = wrong;
    }
    rec_entry_clear(&entry);
    return ok;
}

static bool check_all_rules(Import *import, Err *err)
{
    for (size_t i = 0; i < import->header->count; i++) {
        RuleWalk walk = {import, i};
        if (import->stations[i].first_new == 0) continue;
        if (!rec_store_entries(import->records->store, import->header->heads[i].states.station,
                               import->stations[i].first_new, check_rules, &walk, err)) {
            return false;
        }
    }
    return true;
}

/* --- What is added of our own ---------------------------------------------------------------- */

static bool add_forks(Import *import, bool *is_any, Err *err)
{
    for (size_t i = 0; i < import->done.fork_count; i++) {
        Text body = {0};
        if (!import->done.forks[i].is_new) continue;
        *is_any = true;
        print_fork(&import->done.forks[i], &body);
        bool ok = rec_writing_add(import->records, &import->writing, "station", REC_KIND_FORK,
                                  body.bytes, err);
        text_clear(&body);
        if (!ok) return false;
    }
    return true;
}

/* Are the station's entries up to that head here, and another's? */
static bool is_stated(const Import *import, size_t at)
{
    return !import->stations[at].is_forked &&
           strcmp(import->header->heads[at].states.station, import->records->station) != 0;
}

static bool add_import(Import *import, Err *err)
{
    char signature[2 * REC_SIGNATURE_BYTES + 1];
    Text body = {0};
    const char *comma = "";
    text_addf(&body, "{\"bundle\":\"%s\",\"stations\":[", import->done.bundle.hex);
    for (size_t i = 0; i < import->header->count; i++) {
        const RecSignedHead *head = &import->header->heads[i];
        if (!is_stated(import, i)) continue;
        rec_hex_print(head->signature, sizeof head->signature, signature);
        text_addf(&body,
                  "%s{\"hash\":\"%s\",\"number\":%lld,\"signature\":\"%s\",\"station\":\"%s\"}",
                  comma, head->states.hash.hex, (long long)head->states.number, signature,
                  head->states.station);
        comma = ",";
    }
    text_add(&body, "]}");
    bool ok = rec_writing_add(import->records, &import->writing, "station", REC_KIND_IMPORT,
                              body.bytes, err);
    text_clear(&body);
    return ok;
}

/* --- All ------------------------------------------------------------------------------------- */

static bool take_line(Import *import, RecBundleLine *line, Err *err)
{
    switch (line->kind) {
    case REC_LINE_ENTRY:
        return take_entry(import, line, err);
    case REC_LINE_CONTENT:
        return end_entries(import, err) && take_content(import, line, err);
    case REC_LINE_VEIL:
        return end_entries(import, err) && take_veil(import, line, err);
    case REC_LINE_LAST:
        import->done.bundle = line->hash;
        return end_entries(import, err) && check_came(import, err) &&
               check_heads(import, line, err) && check_all_rules(import, err);
    }
    CHECK(false);
    return false;
}

/* All but the end of the writing. *is_any: something was added. */
static bool take_bundle(Import *import, bool *is_any, Err *err)
{
    RecBundleLine *line = NULL;
    do {
        if (!rec_bundle_next(import->reader, &line, err)) return false;
        if (!take_line(import, line, err)) return false;
    } while (line->kind != REC_LINE_LAST);
    *is_any = import->done.added > 0;
    return add_forks(import, is_any, err) && (import->done.added == 0 || add_import(import, err));
}

static bool fill_from_file(void *context, char *bytes, size_t size, size_t *got, Err *err)
{
    return os_source_read(context, bytes, size, got, err);
}

bool rec_bundle_import(Records *records, const char *path, bool take_new, RecImported *out,
                       Err *err)
{
    CHECK(records != NULL && path != NULL && out != NULL && err != NULL);
    Import *import = check_calloc(1, sizeof *import);
    OsSource *source = NULL;
    bool is_any = false;
    bool ok = false;

    import->records = records;
    import->path = path;
    import->take_new = take_new;
    if (!os_source_open(path, &source, err)) goto done;
    if (!rec_bundle_reader_new(path, fill_from_file, source, &import->reader, err)) goto done;
    import->header = rec_bundle_header(import->reader);
    memcpy(import->done.from, import->header->from, REC_ID_BYTES);
    if (!rec_writing_begin(records, false, &import->writing, err)) goto done;
    ok = take_bundle(import, &is_any, err);
    if (ok && !is_any) {
        rec_store_rollback(records->store);
        rec_entry_clear(&import->writing.last);
    } else {
        ok = rec_writing_end(records, &import->writing, ok, err);
    }
    if (ok) *out = import->done;
    for (size_t i = 0; ok && i < import->header->count; i++) {
        if (is_stated(import, i)) rec_outside_keep(records, &import->header->heads[i]);
    }
done:
    for (size_t i = 0; i < REC_BUNDLE_STATIONS_MAX; i++) {
        rec_entry_clear(&import->stations[i].last);
    }
    rec_named_clear(&import->named);
    rec_named_clear(&import->erased);
    rec_bundle_reader_free(import->reader);
    os_source_close(source);
    free(import);
    return ok;
}
