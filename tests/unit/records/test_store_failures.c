/* The world refuses: no rights, no room, another's file or lock, a sudden end. Each gives one clear
 * message, and nothing that was stored is harmed. */
#define _GNU_SOURCE
#include "fixture.h"

#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { NOBODY = 65534, ROUNDS = 25 };

static void assert_refused(const Text *folder, RecMode mode, ErrCode code, const char *says)
{
    Err err = {0};
    Records *records = NULL;
    if (rec_open(folder->bytes, mode, "0.1.0", NULL, &records, &err)) fail_msg("opened: %s", says);
    if (strstr(err.text, says) == NULL || err.code != code) fail_msg("%s, not %s", err.text, says);
    assert_null(records);
}

/* A store with one person and `count` remarks. */
static void make_store(const Text *folder, int count)
{
    Err err = {0};
    FakeClock fake = FAKE_START;
    RecOutside outside = fake_clock(&fake);
    Records *records = NULL;
    char id[REC_ID_BYTES];
    assert_ok(rec_open(folder->bytes, REC_CREATE, "0.1.0", &outside, &records, &err));
    assert_ok(rec_person_add(records, "Sam", id, &err));
    for (int i = 0; i < count; i++) {
        assert_ok(add_remark(records, id, 1, "a remark", NULL, &err));
    }
    rec_close(records);
}

static void test_rec_open_no_store(void **state)
{
    (void)state;
    Err err = {0};
    RecReport report = {0};
    Text folder = {0};
    new_folder(&folder);
    assert_refused(&folder, REC_READ, ERR_IO, ": there is no store here");
    assert_refused(&folder, REC_WRITE, ERR_IO, ": there is no store here");
    assert_false(rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(err.code, ERR_IO);
    Text names = path_in(&folder, "store.db");
    assert_false(os_is_file(names.bytes));
    text_clear(&names);

    Text inside = path_in(&folder, "a-file");
    Text bytes = {0};
    text_add(&bytes, "text");
    write_file(&folder, "a-file", &bytes);
    assert_refused(&inside, REC_CREATE, ERR_IO, "a-file: is not a folder");
    assert_refused(&inside, REC_WRITE, ERR_IO, ": there is no store here");
    Text below = path_in(&inside, "below");
    assert_refused(&below, REC_CREATE, ERR_IO, "Not a directory");
    remove_file(&folder, "a-file");
    text_clear(&below);
    text_clear(&inside);
    text_clear(&bytes);
    remove_folder(&folder);
}

/* A file that is no store of ours is refused in every mode and not touched. */
static void test_rec_open_foreign(void **state)
{
    (void)state;
    static const struct {
        const char *name, *sql, *bytes;
        ErrCode code;
        const char *says;
    } rows[] = {
        {"another program's", "CREATE TABLE t(a); INSERT INTO t VALUES (1)", NULL, ERR_INPUT,
         "store.db: is empty or a database of another program"},
        {"another program's with its id", "PRAGMA application_id = 5; CREATE TABLE t(a)", NULL,
         ERR_INPUT, "store.db: is empty or a database of another program"},
        {"older format",
         "PRAGMA application_id = 1414553971; PRAGMA user_version = 1;"
         "CREATE TABLE entry(number INTEGER PRIMARY KEY, bytes TEXT NOT NULL, hash TEXT NOT NULL)",
         NULL, ERR_INPUT, "store.db: its format is 1, this program knows 2 only"},
        {"newer format", "PRAGMA application_id = 1414553971; PRAGMA user_version = 3", NULL,
         ERR_INPUT, "store.db: its format is 3, this program knows 2 only"},
        {"our id, other tables",
         "PRAGMA application_id = 1414553971; PRAGMA user_version = 2;"
         "CREATE TABLE entry(number)",
         NULL, ERR_DAMAGE, "store.db: \"content\" is missing from the schema"},
        {"text", NULL, "This is no database, however long the text may go on and on.", ERR_DAMAGE,
         "store.db: is no SQLite database"},
        {"a short text", NULL, "short", ERR_DAMAGE, "store.db: is no SQLite database"},
    };
    static const RecMode modes[] = {REC_READ, REC_WRITE, REC_CREATE};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text folder = {0};
        Text bytes = {0};
        new_folder(&folder);
        if (rows[i].sql != NULL) raw_sql(&folder, rows[i].sql);
        for (int j = 0; rows[i].bytes != NULL && j < (i == 5 ? 100 : 1); j++) {
            text_add(&bytes, rows[i].bytes);
        }
        if (bytes.len > 0) write_file(&folder, "store.db", &bytes);
        Text before = read_file(&folder, "store.db");
        for (size_t m = 0; m < 3; m++) {
            assert_refused(&folder, modes[m], rows[i].code, rows[i].says);
        }
        Text after = read_file(&folder, "store.db");
        assert_int_equal(before.len, after.len);
        assert_memory_equal(before.bytes, after.bytes, before.len);
        text_clear(&before);
        text_clear(&after);
        text_clear(&bytes);
        remove_folder(&folder);
    }
}

/* Run `part` in a process of its own; its exit status, or minus the signal that ended it. */
static int in_child(void (*part)(const Text *folder), const Text *folder)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        part(folder);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

/* In the child: leave with a number that tells the parent where, and a line that tells a person. */
static void must(bool ok, int place, const Err *err)
{
    if (ok) return;
    print_error("place %d: %s\n", place, err->text);
    _exit(place);
}

static void read_only_part(const Text *folder)
{
    Err err = {0};
    Records *records = NULL;
    RecReport report = {0};
    Text name = {0};
    RecPerson *people = NULL;
    size_t count = 0;
    if (getuid() == 0) must(setgid(NOBODY) == 0 && setuid(NOBODY) == 0, 1, &err);
    must(!rec_open(folder->bytes, REC_WRITE, "0.1.0", NULL, &records, &err), 2, &err);
    must(err.code == ERR_IO && strstr(err.text, "no right to write") != NULL, 3, &err);
    must(!rec_open(folder->bytes, REC_CREATE, "0.1.0", NULL, &records, &err), 4, &err);
    must(rec_open(folder->bytes, REC_READ, "0.1.0", NULL, &records, &err), 5, &err);
    must(rec_people(records, &people, &count, &err) && count == 1, 6, &err);
    rec_people_free(people, count);
    rec_close(records);
    must(rec_verify(folder->bytes, NULL, NULL, NULL, &report, &err) && report.finding_count == 0, 7,
         &err);
    rec_report_clear(&report);
    text_add(&name, folder->bytes);
    text_add(&name, "/new");
    must(!rec_open(name.bytes, REC_CREATE, "0.1.0", NULL, &records, &err), 8, &err);
    must(strstr(err.text, "cannot make the folder") != NULL, 9, &err);
    text_clear(&name);
}

static void test_rec_open_read_only(void **state)
{
    (void)state;
    Text folder = {0};
    new_folder(&folder);
    make_store(&folder, 2);
    Text path = path_in(&folder, "store.db");
    assert_int_equal(chmod(path.bytes, 0444), 0);
    assert_int_equal(chmod(folder.bytes, 0555), 0);
    Text before = read_file(&folder, "store.db");
    assert_int_equal(in_child(read_only_part, &folder), 0);
    Text after = read_file(&folder, "store.db");
    assert_memory_equal(before.bytes, after.bytes, before.len);
    assert_int_equal(chmod(folder.bytes, 0755), 0);
    text_clear(&before);
    text_clear(&after);
    text_clear(&path);
    remove_folder(&folder);
}

static void test_rec_open_busy(void **state)
{
    (void)state;
    Text folder = {0};
    new_folder(&folder);
    make_store(&folder, 1);
    sqlite3 *db = NULL;
    Text path = path_in(&folder, "store.db");
    assert_int_equal(sqlite3_open(path.bytes, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "BEGIN EXCLUSIVE", NULL, NULL, NULL), SQLITE_OK);
    assert_refused(&folder, REC_WRITE, ERR_IO, "another program is busy with it; try again");
    assert_int_equal(sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    text_clear(&path);
    assert_clean(&folder);
    remove_folder(&folder);
}

/* A journal that a dead program left: verify, which touches nothing, says so; opening takes it
 * back. */
static void test_rec_open_after_cut_short(void **state)
{
    (void)state;
    Err err = {0};
    RecReport report = {0};
    Records *records = NULL;
    Text folder = {0};
    Text copy = {0};
    sqlite3 *db = NULL;
    new_folder(&folder);
    new_folder(&copy);
    make_store(&folder, 1);
    Text path = path_in(&folder, "store.db");
    assert_int_equal(sqlite3_open(path.bytes, &db), SQLITE_OK);
    const char *half = "PRAGMA cache_size = 1; BEGIN; INSERT INTO content VALUES ('a', "
                       "zeroblob(200000)); INSERT INTO content VALUES ('b', zeroblob(200000))";
    assert_int_equal(sqlite3_exec(db, half, NULL, NULL, NULL), SQLITE_OK);
    static const char *const names[] = {"store.db", "store.db-journal", "head", "station.key"};
    for (size_t i = 0; i < 4; i++) {
        Text bytes = read_file(&folder, names[i]);
        assert_true(bytes.len > 0);
        write_file(&copy, names[i], &bytes);
        text_clear(&bytes);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_false(rec_verify(copy.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(err.code, ERR_IO);
    assert_non_null(strstr(err.text, "a writing was cut short and is still to be put back"));
    assert_ok(rec_open(copy.bytes, REC_READ, "0.1.0", NULL, &records, &err));
    rec_close(records);
    assert_clean(&copy);
    text_clear(&path);
    remove_folder(&copy);
    remove_folder(&folder);
}

/* The head cannot be written, which is longer from entry 10 on: said so, kept to one writing, and
 * made good by the next. */
static void test_rec_head_refused(void **state)
{
    (void)state;
    Err err = {0};
    Text folder = {0};
    Records *records = NULL;
    FakeClock fake = FAKE_START;
    fake.wall_us += 3600LL * SECOND_US;
    fake.uptime_us += 3600LL * SECOND_US;
    RecOutside outside = fake_clock(&fake);
    new_folder(&folder);
    make_store(&folder, 4);
    assert_ok(rec_open(folder.bytes, REC_WRITE, "0.1.0", &outside, &records, &err));
    Text in_the_way = path_in(&folder, "head.new");
    assert_int_equal(mkdir(in_the_way.bytes, 0755), 0);
    fake.wall_us -= 60LL * SECOND_US; /* with a clock entry: entries 9 and 10 */
    assert_false(add_remark(records, "station", 1, "stored", NULL, &err));
    assert_int_equal(err.code, ERR_IO);
    assert_true(strstr(err.text, "the entry is stored, but the head could not be written") ==
                err.text);
    assert_false(add_remark(records, "station", 1, "not stored", NULL, &err));
    assert_null(strstr(err.text, "is stored"));
    RecReport report = {0};
    assert_ok(rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.entries, 10);
    assert_non_null(strstr(report.notes[0].text.bytes, "head is behind it"));
    rec_report_clear(&report);
    assert_int_equal(rmdir(in_the_way.bytes), 0);
    RecNumber number = 0;
    assert_ok(add_remark(records, "station", 1, "stored too", &number, &err));
    assert_int_equal(number, 11);
    rec_close(records);
    assert_ok(rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.note_count, 1);
    rec_report_clear(&report);
    text_clear(&in_the_way);
    remove_folder(&folder);
}

/* --- No room --------------------------------------------------------------------------------- */

/* Numbers go to the parent by a pipe, which the limit on files does not stop. */
static int acknowledged[2];

static void acknowledge(RecNumber number)
{
    if (write(acknowledged[1], &number, sizeof number) != (ssize_t)sizeof number) _exit(20);
}

/* The highest number that came through the pipe; 0 for none. */
static RecNumber last_acknowledged(void)
{
    RecNumber number = 0;
    RecNumber last = 0;
    assert_int_equal(close(acknowledged[1]), 0);
    while (read(acknowledged[0], &number, sizeof number) == (ssize_t)sizeof number) {
        last = number;
    }
    assert_int_equal(close(acknowledged[0]), 0);
    return last;
}

static rlim_t room_bytes;

/* No file may grow beyond the limit: a write fails there, as it does on a full disk. */
static void no_room_part(const Text *folder)
{
    const struct rlimit limit = {room_bytes, room_bytes};
    Err err = {0};
    Records *records = NULL;
    FakeClock fake = FAKE_START;
    RecOutside outside = fake_clock(&fake);
    char log[3000];
    memset(log, 'l', sizeof log);
    (void)signal(SIGXFSZ, SIG_IGN);
    must(setrlimit(RLIMIT_FSIZE, &limit) == 0, 1, &err);
    if (!rec_open(folder->bytes, REC_CREATE, "0.1.0", &outside, &records, &err)) {
        must(err.code == ERR_IO, 2, &err);
        return;
    }
    acknowledge(2);
    char id[REC_ID_BYTES];
    if (rec_person_add(records, "Sam", id, &err)) {
        acknowledge(3);
        for (RecNumber i = 4; i < 12; i++) {
            log[0] = (char)('a' + i);
            const RecContent content = {"log", log, sizeof log};
            const RecRun run = {.person = id,
                                .model = "1",
                                .scenario = "the-beep",
                                .supervised_by = "",
                                .language = "en",
                                .contents = &content,
                                .content_count = 1,
                                .result_json = "{\"points\":3000}"};
            RecNumber number = 0;
            if (!rec_run_add(records, &run, &number, &err)) break;
            acknowledge(number);
        }
    }
    must(err.code == ERR_NONE || err.code == ERR_IO, 3, &err);
    rec_close(records);
}

static void check_after(const Text *folder, RecNumber want, const char *what)
{
    Err err = {0};
    RecReport report = {0};
    Records *records = NULL;
    if (!rec_open(folder->bytes, REC_CREATE, "0.1.0", NULL, &records, &err)) {
        fail_msg("%s: %s", what, err.text);
    }
    rec_close(records);
    assert_ok(rec_verify(folder->bytes, NULL, NULL, NULL, &report, &err));
    if (report.finding_count > 0 || report.entries < want) {
        print_report(&report);
        fail_msg("%s: %lld entries, acknowledged %lld", what, (long long)report.entries,
                 (long long)want);
    }
    rec_report_clear(&report);
}

static void test_rec_no_room(void **state)
{
    (void)state;
    int unfinished = 0;
    for (room_bytes = 0; room_bytes <= 172032; room_bytes += 3571) {
        Text folder = {0};
        Text what = {0};
        new_folder(&folder);
        assert_int_equal(pipe(acknowledged), 0);
        assert_int_equal(in_child(no_room_part, &folder), 0);
        RecNumber last = last_acknowledged();
        text_addf(&what, "room for %llu bytes", (unsigned long long)room_bytes);
        check_after(&folder, last, what.bytes);
        if (last < 11) unfinished++;
        text_clear(&what);
        remove_folder(&folder);
    }
    assert_true(unfinished > 10 && unfinished < 48);
}

/* --- A sudden end ---------------------------------------------------------------------------- */

static void append_for_ever(const Text *folder)
{
    Err err = {0};
    Records *records = NULL;
    must(rec_open(folder->bytes, REC_CREATE, "0.1.0", NULL, &records, &err), 2, &err);
    for (;;) {
        RecNumber number = 0;
        must(add_remark(records, "station", 1, "before the end", &number, &err), 3, &err);
        acknowledge(number);
    }
}

static void test_rec_killed(void **state)
{
    (void)state;
    Text folder = {0};
    new_folder(&folder);
    RecNumber total = 0;
    for (int round = 0; round < ROUNDS; round++) {
        assert_int_equal(pipe(acknowledged), 0);
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) append_for_ever(&folder);
        struct timespec wait = {0, (3 + 7 * round) * 1000000L};
        (void)nanosleep(&wait, NULL);
        assert_int_equal(kill(child, SIGKILL), 0);
        int status = 0;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
        RecNumber last = last_acknowledged();
        check_after(&folder, last, "killed");
        if (last > total) total = last;
    }
    print_message("killed %d times, at last with %lld entries\n", ROUNDS, (long long)total);
    assert_true(total > ROUNDS);
    remove_folder(&folder);
}

static void append_some(const Text *folder)
{
    Err err = {0};
    Records *records = NULL;
    must(rec_open(folder->bytes, REC_CREATE, "0.1.0", NULL, &records, &err), 2, &err);
    for (int i = 0; i < 10; i++) {
        must(add_remark(records, "station", 1, "one of many", NULL, &err), 3, &err);
    }
    rec_close(records);
}

/* Several programs make the store and add to it at once, while another verifies it. */
static void test_rec_many_writers(void **state)
{
    (void)state;
    enum { WRITERS = 4 };
    Err err = {0};
    Text folder = {0};
    RecReport report = {0};
    pid_t children[WRITERS];
    new_folder(&folder);
    for (int i = 0; i < WRITERS; i++) {
        children[i] = fork();
        assert_true(children[i] >= 0);
        if (children[i] == 0) {
            append_some(&folder);
            _exit(0);
        }
    }
    for (int i = 0; i < WRITERS; i++) {
        int status = 0;
        assert_int_equal(waitpid(children[i], &status, 0), children[i]);
        assert_int_equal(status, 0);
        /* Another one's journal may lie there just now; that is no finding but a refusal. */
        if (rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err) && report.finding_count > 0) {
            print_report(&report);
            fail_msg("damaged while %d others write", WRITERS - 1 - i);
        }
        rec_report_clear(&report);
    }
    assert_ok(rec_verify(folder.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.entries, 1 + WRITERS * 11);
    rec_report_clear(&report);
    remove_folder(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_open_no_store),
        cmocka_unit_test(test_rec_open_foreign),
        cmocka_unit_test(test_rec_open_read_only),
        cmocka_unit_test(test_rec_open_busy),
        cmocka_unit_test(test_rec_open_after_cut_short),
        cmocka_unit_test(test_rec_head_refused),
        cmocka_unit_test(test_rec_no_room),
        cmocka_unit_test(test_rec_killed),
        cmocka_unit_test(test_rec_many_writers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
