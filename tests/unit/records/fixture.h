/* What the tests of records/ share: a clock that is set by hand, folders, and raw SQL as somebody
 * with the sqlite3 tool would give it. */
#ifndef TESTS_UNIT_RECORDS_FIXTURE_H
#define TESTS_UNIT_RECORDS_FIXTURE_H

#include "support.h"

#include <sqlite3.h>

#include "base/os.h"
#include "records/verify.h"

enum { SECOND_US = 1000000, FILE_BYTES_MAX = 64 * 1024 * 1024 };

/* Each look moves both clocks on by `step_us`. */
typedef struct {
    int64_t wall_us;
    int64_t uptime_us;
    int64_t step_us;
} FakeClock;

static inline int64_t fake_wall(void *context)
{
    FakeClock *fake = context;
    fake->wall_us += fake->step_us;
    return fake->wall_us;
}

static inline int64_t fake_uptime(void *context)
{
    FakeClock *fake = context;
    fake->uptime_us += fake->step_us;
    return fake->uptime_us;
}

static inline RecOutside fake_clock(FakeClock *fake)
{
    return (RecOutside){.clock = {fake_wall, fake_uptime, fake}};
}

/* 2026-03-02T09:14:31Z, an hour after the machine was started. */
static const FakeClock FAKE_START = {1772442871000000, 3600LL * SECOND_US, SECOND_US / 8};

#define assert_ok(call)                                                                            \
    do {                                                                                           \
        if (!(call)) fail_msg("%s: %s", #call, err.text);                                          \
    } while (0)

static inline void new_folder(Text *out)
{
    Err err = {0};
    assert_ok(os_folder_make_temporary(out, &err));
}

static inline Text path_in(const Text *folder, const char *name)
{
    Text path = {0};
    text_addf(&path, "%s/%s", folder->bytes, name);
    return path;
}

/* The file's bytes; empty when it is not there. */
static inline Text read_file(const Text *folder, const char *name)
{
    Err err = {0};
    Text bytes = {0};
    Text path = path_in(folder, name);
    if (os_is_file(path.bytes)) assert_ok(os_file_read(path.bytes, FILE_BYTES_MAX, &bytes, &err));
    text_clear(&path);
    return bytes;
}

/* Without a sync, which thousands of files would have to wait for. */
static inline void write_file(const Text *folder, const char *name, const Text *bytes)
{
    Text path = path_in(folder, name);
    FILE *file = fopen(path.bytes, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text_string(bytes), 1, bytes->len, file), bytes->len);
    assert_int_equal(fclose(file), 0);
    text_clear(&path);
}

static inline void remove_file(const Text *folder, const char *name)
{
    Text path = path_in(folder, name);
    (void)remove(path.bytes);
    text_clear(&path);
}

static inline void remove_folder(Text *folder)
{
    static const char *const names[] = {"store.db",        "store.db-journal", "head",
                                        "head.new",        "station.key",      "station.key.new",
                                        "station.key.next"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        remove_file(folder, names[i]);
    }
    (void)remove(folder->bytes);
    text_clear(folder);
}

/* Run SQL on the store as it lies there, with no regard for what it is. */
static inline void raw_sql(const Text *folder, const char *sql)
{
    sqlite3 *db = NULL;
    char *wrong = NULL;
    Text path = path_in(folder, "store.db");
    assert_int_equal(sqlite3_open(path.bytes, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &wrong) != SQLITE_OK) fail_msg("%s: %s", sql, wrong);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    text_clear(&path);
}

/* The error that SQL gives, into `out`; empty when there is none. */
static inline void raw_error(const Text *folder, const char *sql, Text *out)
{
    sqlite3 *db = NULL;
    char *wrong = NULL;
    Text path = path_in(folder, "store.db");
    assert_int_equal(sqlite3_open(path.bytes, &db), SQLITE_OK);
    (void)sqlite3_exec(db, sql, NULL, NULL, &wrong);
    text_clear(out);
    text_add(out, wrong == NULL ? "" : wrong);
    sqlite3_free(wrong);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    text_clear(&path);
}

/* A score that anybody can compute again: the length of the log and the seed. */
static inline void score(const Text *log, uint64_t seed, Text *out)
{
    text_addf(out, "{\"points\":%zu,\"passed\":%s,\"seed\":\"%llu\"}", log->len,
              log->len > 20 ? "true" : "false", (unsigned long long)seed);
}

static inline bool fake_rejudge(void *context, const RecRunView *run, Text *result, Text *why)
{
    int *calls = context;
    const Text *log = rec_run_content(run, "log");
    if (calls != NULL) (*calls)++;
    if (log == NULL) {
        text_add(why, "the run has no log");
        return false;
    }
    if (strcmp(run->model.bytes, "1") != 0) {
        text_addf(why, "not computed again: model %s", run->model.bytes);
    }
    score(log, run->seed, result);
    return true;
}

/* Add a run of `person` whose log says `log`. */
static inline RecNumber add_run(Records *records, const char *person, const char *log,
                                const char *model, uint64_t seed)
{
    Err err = {0};
    Text log_text = {0};
    Text result = {0};
    RecNumber number = 0;
    text_add(&log_text, log);
    score(&log_text, seed, &result);
    const RecContent contents[] = {
        {"scenario", "{\"id\":\"the-beep\"}", 17},
        {"site", "{\"id\":\"ostrel-mill\"}", 20},
        {"metals", "", 0},
        {"log", log, log_text.len},
    };
    const RecRun run = {
        .person = person,
        .is_assessment = seed % 2 == 0,
        .is_scripted = seed % 3 == 0,
        .seed = seed,
        .model = model,
        .scenario = "the-beep",
        .supervised_by = "",
        .language = "en",
        .contents = contents,
        .content_count = sizeof contents / sizeof contents[0],
        .result_json = result.bytes,
    };
    assert_ok(rec_run_add(records, &run, &number, &err));
    text_clear(&result);
    text_clear(&log_text);
    return number;
}

static inline bool take_hash(void *context, const RecEntry *entry, Err *err)
{
    RecHash *hash = context;
    (void)err;
    if (hash->hex[0] == '\0') *hash = entry->hash;
    return true;
}

/* The hash of an own entry; of one that is not there 64 times "1". */
static inline RecHash hash_of(Records *records, RecNumber number)
{
    Err err = {0};
    RecHash hash = {""};
    const RecFilter filter = {.from = number};
    assert_ok(rec_each(records, &filter, take_hash, &hash, &err));
    if (hash.hex[0] == '\0' || number < 1) memset(hash.hex, '1', REC_HEX_BYTES - 1);
    hash.hex[REC_HEX_BYTES - 1] = '\0';
    return hash;
}

static inline MUST_USE bool add_remark(Records *records, const char *author, RecNumber about,
                                       const char *text, RecNumber *number, Err *err)
{
    RecHash hash = hash_of(records, about);
    RecAdded added;
    const RecNew what = {
        .kind = REC_KIND_REMARK, .author = author, .about = hash.hex, .text = text};
    if (!rec_add(records, &what, &added, err)) return false;
    if (number != NULL) *number = added.number;
    return true;
}

static inline void print_report(const RecReport *report)
{
    for (size_t i = 0; i < report->finding_count; i++) {
        print_message("  %s\n", report->findings[i].text.bytes);
    }
    for (size_t i = 0; i < report->note_count; i++) {
        print_message("  note: %s\n", report->notes[i].text.bytes);
    }
}

/* The store is as it was written. */
static inline void assert_clean(const Text *folder)
{
    Err err = {0};
    RecReport report = {0};
    assert_ok(rec_verify(folder->bytes, NULL, fake_rejudge, NULL, &report, &err));
    if (report.finding_count > 0) print_report(&report);
    assert_int_equal(report.finding_count, 0);
    rec_report_clear(&report);
}

#endif
