/* How fast the records are, each as a ratio within this run:
 *
 *   bench_records [verify|append|board|import]
 *
 *   verify   rec_verify of a store of runs, against sha256sum over the same bytes
 *   append   rec_add, against a bare SQLite loop that stores the same bytes under the same pragmas
 *   board    everybody's standing from a million entries, against reading these rows
 *   import   a bundle of four times the entries, against four times the time
 *
 * Verify, board and import are of the processor: times are the processes' own, the stores lie in
 * memory. Append is of the disk, the one that temporary files lie on (TMPDIR): its times are the
 * clock's, and the two take turns. */
#define _GNU_SOURCE
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "base/os.h"
#include "base/random.h"
#include "records/bundle.h"
#include "records/competence.h"
#include "records/event_of.h"
#include "records/verify.h"
#include "records/writing.h"

enum {
    RUNS = 4000,
    LOG_BYTES = 16000, /* of a run; those of the example site are about as long */
    APPENDS = 300,
    PEOPLE = 5000,
    COMPETENCES = 40,
    ENTRIES = 1000000,
    YEARS = 3,
};

static void fail(const char *why)
{
    (void)fprintf(stderr, "bench_records: %s\n", why);
    exit(2);
}

static Err err; /* of the one thing that is measured at a time */

static void must(bool ok)
{
    if (!ok) fail(err.text);
}

static double processor_s(int who)
{
    struct rusage use;
    if (getrusage(who, &use) != 0) fail("no times");
    return (double)use.ru_utime.tv_sec + (double)use.ru_stime.tv_sec +
           ((double)use.ru_utime.tv_usec + (double)use.ru_stime.tv_usec) / 1e6;
}

static double clock_s(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static Text folder_in(const char *base, const char *name)
{
    Text path = {0};
    text_addf(&path, "%s/%s", base, name);
    return path;
}

static Records *open_store(const char *base, const char *name)
{
    Records *records = NULL;
    Text path = folder_in(base, name);
    must(rec_open(path.bytes, REC_CREATE, "0.1.0", NULL, &records, &err));
    text_clear(&path);
    return records;
}

/* --- Verify ---------------------------------------------------------------------------------- */

static void add_runs(Records *records, const char *person, int count)
{
    Random random;
    Text log = {0};
    random_init(&random, 7);
    for (int i = 0; i < count; i++) {
        text_clear(&log);
        while (log.len < LOG_BYTES) {
            text_addf(&log, "%llu pack-sent pack=%llu\n",
                      (unsigned long long)random_below(&random, 600000000),
                      (unsigned long long)random_below(&random, 1000));
        }
        const RecContent contents[] = {{"log", log.bytes, log.len}, {"scenario", "{}", 2}};
        const RecRun run = {.person = person,
                            .seed = 1,
                            .model = "1",
                            .scenario = "the-beep",
                            .supervised_by = "",
                            .language = "en",
                            .contents = contents,
                            .content_count = 2,
                            .result_json = "{\"points\":12,\"verdict\":\"passed\"}"};
        must(rec_run_add(records, &run, NULL, &err));
    }
    text_clear(&log);
}

static bool save_row(void *context, const RecRow *row, Err *wrong)
{
    (void)wrong;
    return fwrite(row->bytes.bytes, 1, row->bytes.len, context) == row->bytes.len;
}

/* All that is hashed, in one file. */
static size_t save_bytes(Records *records, const char *path)
{
    Text after = {0};
    Text hash = {0};
    Text bytes = {0};
    bool found = true;
    size_t size = 0;
    FILE *file = fopen(path, "wb");
    if (file == NULL) fail(path);
    must(rec_store_entries(records->store, NULL, 0, save_row, file, &err));
    while (found) {
        must(rec_store_content_after(records->store, &after, &hash, &bytes, &found, &err));
        if (!found) break;
        (void)fwrite(bytes.bytes, 1, bytes.len, file);
        text_clear(&after);
        text_add(&after, hash.bytes);
    }
    size = (size_t)ftell(file);
    if (fclose(file) != 0) fail(path);
    text_clear(&bytes);
    text_clear(&hash);
    text_clear(&after);
    return size;
}

static void measure_verify(const char *memory)
{
    char person[REC_ID_BYTES];
    RecReport report = {0};
    Text folder = folder_in(memory, "verify");
    Text path = folder_in(memory, "bytes");
    Text command = {0};
    Records *records = open_store(memory, "verify");
    must(rec_person_add(records, "Rosa", person, &err));
    add_runs(records, person, RUNS);
    size_t size = save_bytes(records, path.bytes);
    rec_close(records);
    text_addf(&command, "sha256sum '%s' >'%s.sum'", path.bytes, path.bytes);
    double least[2] = {1e9, 1e9};
    for (int i = 0; i < 5; i++) {
        double begin = processor_s(RUSAGE_SELF);
        must(rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err));
        double own = processor_s(RUSAGE_SELF) - begin;
        if (report.finding_count > 0) fail(report.findings[0].text.bytes);
        rec_report_clear(&report);
        begin = processor_s(RUSAGE_CHILDREN);
        if (system(command.bytes) != 0) fail("no sha256sum");
        double theirs = processor_s(RUSAGE_CHILDREN) - begin;
        if (own < least[0]) least[0] = own;
        if (theirs < least[1]) least[1] = theirs;
    }
    (void)printf("verify: %d runs, %.1f MB: %.0f ms, sha256sum %.0f ms, ratio %.2f, at most 1.5\n",
                 RUNS, (double)size / 1e6, least[0] * 1e3, least[1] * 1e3, least[0] / least[1]);
    text_clear(&command);
    text_clear(&path);
    text_clear(&folder);
}

/* --- Append ---------------------------------------------------------------------------------- */

static sqlite3 *open_bare(const char *path)
{
    sqlite3 *db = NULL;
    if (sqlite3_open(path, &db) != SQLITE_OK ||
        sqlite3_exec(db,
                     "PRAGMA trusted_schema = OFF; PRAGMA foreign_keys = ON;"
                     "PRAGMA recursive_triggers = ON; PRAGMA cell_size_check = ON;"
                     "PRAGMA mmap_size = 0; PRAGMA secure_delete = ON;"
                     "PRAGMA journal_mode = DELETE; PRAGMA synchronous = EXTRA;"
                     "CREATE TABLE entry(number INTEGER PRIMARY KEY, bytes TEXT NOT NULL)",
                     NULL, NULL, NULL) != SQLITE_OK) {
        fail("no database");
    }
    return db;
}

static void measure_append(const char *disk)
{
    char person[REC_ID_BYTES];
    char bytes[500];
    sqlite3_stmt *add = NULL;
    Text path = folder_in(disk, "bare.db");
    Records *records = open_store(disk, "append");
    sqlite3 *db = open_bare(path.bytes);
    must(rec_person_add(records, "Rosa", person, &err));
    memset(bytes, 'x', sizeof bytes); /* as long as an entry of a role */
    if (sqlite3_prepare_v2(db, "INSERT INTO entry(bytes) VALUES (?1)", -1, &add, NULL) !=
        SQLITE_OK) {
        fail("no statement");
    }
    double own = 0.0;
    double bare = 0.0;
    for (int i = 0; i < APPENDS; i++) {
        const RecNew what = {.kind = REC_KIND_ATTEMPT,
                             .author = "station",
                             .person = person,
                             .word = "pin",
                             .failed = i};
        double begin = clock_s();
        must(rec_add(records, &what, NULL, &err));
        double between = clock_s();
        (void)sqlite3_bind_text(add, 1, bytes, (int)sizeof bytes, SQLITE_STATIC);
        if (sqlite3_step(add) != SQLITE_DONE || sqlite3_reset(add) != SQLITE_OK) fail("no row");
        bare += clock_s() - between;
        own += between - begin;
    }
    (void)printf("append: %d entries: %.2f ms each, bare loop %.2f ms, ratio %.2f, at least 0.8\n",
                 APPENDS, own * 1e3 / APPENDS, bare * 1e3 / APPENDS, bare / own);
    (void)sqlite3_finalize(add);
    (void)sqlite3_close(db);
    rec_close(records);
    text_clear(&path);
}

/* --- Board ----------------------------------------------------------------------------------- */

static void person_id(int number, char out[REC_ID_BYTES])
{
    (void)snprintf(out, REC_ID_BYTES, "%08d-0000-4000-8000-000000000000", number);
}

static void hex_of(uint64_t number, char out[REC_HEX_BYTES])
{
    (void)snprintf(out, REC_HEX_BYTES, "%064llx", (unsigned long long)number);
}

/* The value of one random fact about a competence: a run, an observation or a signature of it. */
static RecKind random_value(Random *random, int competence, const char *judge, Text *value)
{
    char run[REC_HEX_BYTES];
    text_clear(value);
    uint64_t which = random_below(random, 10);
    hex_of(1000 + random_below(random, ENTRIES), run);
    if (which < 6) {
        text_addf(value,
                  "{\"language\":\"en\",\"mode\":\"%s\",\"model\":\"1\",\"scenario\":\"form-%d\","
                  "\"scripted\":false,\"seed\":\"17\",\"supervised_by\":\"%s\",\"verdict\":\"%s\"}",
                  which < 3 ? "assessment" : "practice", competence, judge,
                  which == 0 ? "failed" : "passed");
        return REC_KIND_RUN;
    }
    if (which < 8) {
        text_addf(value,
                  "{\"answers\":[\"yes\",\"yes\"],\"checklist\":\"%s\",\"competence\":\"c-%d\","
                  "\"good\":true,\"line\":\"d1\",\"person\":\"\",\"photo\":\"\",\"remark\":\"\","
                  "\"seen_on\":\"2026-01-02\",\"sheet\":\"\"}",
                  run, competence);
        return REC_KIND_OBSERVATION;
    }
    text_addf(
        value,
        "{\"buddy\":\"\",\"checks\":[],\"competence\":\"c-%d\",\"decision\":\"signed\","
        "\"evidence\":[\"%s\"],\"good_until\":\"2027-01-02\",\"head\":{\"hash\":\"%s\","
        "\"number\":1},\"key\":\"%s\",\"lines\":[\"d1\"],\"meaning\":\"alone\",\"person\":\"\","
        "\"products\":[],\"statement\":\"%s\"}",
        competence, run, run, run, run);
    return REC_KIND_SIGNATURE;
}

static void run_sql(sqlite3 *db, const char *sql)
{
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK) fail(sqlite3_errmsg(db));
}

/* One random fact, bound to the statement and stored. */
static void add_fact(sqlite3_stmt *add, Random *random, int number, const char *station)
{
    static Text value;
    char person[REC_ID_BYTES];
    char judge[REC_ID_BYTES];
    char hash[REC_HEX_BYTES];
    char subject[100];
    int competence = (int)random_below(random, COMPETENCES);
    person_id((int)random_below(random, PEOPLE), person);
    person_id((int)random_below(random, PEOPLE), judge);
    RecKind kind = random_value(random, competence, judge, &value);
    hex_of((uint64_t)number, hash);
    (void)snprintf(subject, sizeof subject, "%s-%d", kind == REC_KIND_RUN ? "form" : "c",
                   competence);
    const char *const texts[] = {
        station, hash,    rec_kind_names[kind], kind == REC_KIND_RUN ? person : judge,
        person,  subject, value.bytes};
    for (int i = 0; i < 7; i++) {
        (void)sqlite3_bind_text(add, i + 1, texts[i], -1, SQLITE_STATIC);
    }
    (void)sqlite3_bind_int64(add, 8, number);
    (void)sqlite3_bind_int64(add, 9, 1700000000000000 + (int64_t)number * YEARS * 31557600);
    if (sqlite3_step(add) != SQLITE_DONE || sqlite3_reset(add) != SQLITE_OK) fail("no row");
    text_clear(&value);
}

/* Facts alone, as the board reads nothing else; the indexes are made when all are there. */
static void add_facts(const char *memory, const char *station)
{
    static const char *const indexes[] = {"fact_by_hash", "fact_by_kind", "fact_by_person"};
    Text sql[3] = {{0}};
    Text path = folder_in(memory, "board/store.db");
    Random random;
    sqlite3 *db = NULL;
    sqlite3_stmt *add = NULL;
    sqlite3_stmt *read = NULL;
    random_init(&random, 11);
    if (sqlite3_open(path.bytes, &db) != SQLITE_OK) fail("no database");
    run_sql(db, "BEGIN");
    for (int i = 0; i < 3; i++) {
        Text drop = {0};
        (void)sqlite3_prepare_v2(db, "SELECT sql FROM sqlite_schema WHERE name = ?1", -1, &read,
                                 NULL);
        (void)sqlite3_bind_text(read, 1, indexes[i], -1, SQLITE_STATIC);
        if (sqlite3_step(read) != SQLITE_ROW) fail(indexes[i]);
        text_add(&sql[i], (const char *)sqlite3_column_text(read, 0));
        (void)sqlite3_finalize(read);
        text_addf(&drop, "DROP INDEX %s", indexes[i]);
        run_sql(db, drop.bytes);
        text_clear(&drop);
    }
    if (sqlite3_prepare_v2(db,
                           "INSERT INTO fact(station, hash, kind, author, person, subject, value, "
                           "number, time_us) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                           -1, &add, NULL) != SQLITE_OK) {
        fail(sqlite3_errmsg(db));
    }
    for (int i = 0; i < ENTRIES; i++) {
        add_fact(add, &random, 1000 + i, station);
    }
    (void)sqlite3_finalize(add);
    for (int i = 0; i < 3; i++) {
        run_sql(db, sql[i].bytes);
        text_clear(&sql[i]);
    }
    run_sql(db, "COMMIT");
    (void)sqlite3_close(db);
    text_clear(&path);
}

static bool count_bytes(void *context, const RecFact *fact, Err *wrong)
{
    size_t *bytes = context;
    (void)wrong;
    *bytes += strlen(fact->person) + strlen(fact->subject) + strlen(fact->value);
    return true;
}

static void make_competences(Competence *competences)
{
    static char names[COMPETENCES][2][16];
    for (int i = 0; i < COMPETENCES; i++) {
        Competence *each = &competences[i];
        *each = (Competence){.rules = competence_rules_default(),
                             .id = names[i][0],
                             .lines = {"d1"},
                             .line_count = 1,
                             .scenario_count = 1};
        (void)snprintf(names[i][0], sizeof names[i][0], "c-%d", i);
        (void)snprintf(names[i][1], sizeof names[i][1], "form-%d", i);
        each->scenarios[0] = names[i][1];
    }
}

static void measure_board(const char *memory)
{
    static Competence competences[COMPETENCES];
    const RecMoment moment = {.as_of_us = 1800000000000000};
    RecEventSet *set = NULL;
    size_t bytes = 0;
    size_t people = 0;
    double least[2] = {1e9, 1e9};
    Records *records = open_store(memory, "board");
    add_facts(memory, rec_station(records));
    make_competences(competences);
    for (int i = 0; i < 3; i++) {
        double begin = processor_s(RUSAGE_SELF);
        must(rec_facts(records, NULL, NULL, count_bytes, &bytes, &err));
        double reading = processor_s(RUSAGE_SELF) - begin;
        begin = processor_s(RUSAGE_SELF);
        must(rec_events_read(records, NULL, &set, &err));
        RecCell *cells = rec_cells(set, competences, COMPETENCES, &moment);
        double board = processor_s(RUSAGE_SELF) - begin;
        people = rec_event_set_people(set);
        free(cells);
        rec_event_set_free(set);
        if (reading < least[0]) least[0] = reading;
        if (board < least[1]) least[1] = board;
    }
    if (people != PEOPLE || bytes == 0) fail("the board has not everybody");
    (void)printf("board: %d people, %d competences, %d entries: %.2f s, reading %.2f s, ratio "
                 "%.2f, at most 2\n",
                 PEOPLE, COMPETENCES, ENTRIES, least[1], least[0], least[1] / least[0]);
    rec_close(records);
}

/* --- Import ---------------------------------------------------------------------------------- */

static double import_s(const char *memory, const char *name, int runs)
{
    char person[REC_ID_BYTES];
    Text path = {0};
    Text to_name = {0};
    RecExported exported;
    RecImported done;
    Records *from = open_store(memory, name);
    must(rec_person_add(from, "Rosa", person, &err));
    add_runs(from, person, runs);
    text_addf(&path, "%s/%s.bundle", memory, name);
    must(rec_bundle_export(from, NULL, 0, path.bytes, &exported, &err));
    rec_close(from);
    text_addf(&to_name, "%s-to", name);
    Records *to = open_store(memory, to_name.bytes);
    double begin = processor_s(RUSAGE_SELF);
    must(rec_bundle_import(to, path.bytes, true, &done, &err));
    double took = processor_s(RUSAGE_SELF) - begin;
    rec_close(to);
    text_clear(&to_name);
    text_clear(&path);
    return took;
}

static void measure_import(const char *memory)
{
    double few = import_s(memory, "few", RUNS / 4);
    double many = import_s(memory, "many", RUNS);
    (void)printf("import: %d runs %.0f ms, %d runs %.0f ms, ratio to linear %.2f\n", RUNS / 4,
                 few * 1e3, RUNS, many * 1e3, many / few / 4.0);
}

int main(int argc, char **argv)
{
    Text disk = {0};
    Text memory = {0};
    Text command = {0};
    must(os_folder_make_temporary(&disk, &err));
    if (os_is_folder("/dev/shm")) (void)setenv("TMPDIR", "/dev/shm", 1);
    must(os_folder_make_temporary(&memory, &err));
    const char *only = argc > 1 ? argv[1] : "";
    if (only[0] == '\0' || strcmp(only, "verify") == 0) measure_verify(memory.bytes);
    if (only[0] == '\0' || strcmp(only, "append") == 0) measure_append(disk.bytes);
    if (only[0] == '\0' || strcmp(only, "board") == 0) measure_board(memory.bytes);
    if (only[0] == '\0' || strcmp(only, "import") == 0) measure_import(memory.bytes);
    text_addf(&command, "rm -rf '%s' '%s'", disk.bytes, memory.bytes);
    if (system(command.bytes) != 0) fail("folders are left");
    text_clear(&command);
    text_clear(&memory);
    text_clear(&disk);
    return 0;
}
