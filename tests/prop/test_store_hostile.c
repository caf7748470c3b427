/* Database files made to harm: bytes of a real store changed, cut off, moved and added, and schemas
 * with things that are not ours. Each is opened and verified: one clear message or none, no crash,
 * no hang, and a file that was only read is byte for byte as it was.
 *
 * The tests try a sample; `test_store_hostile CASES [SEED]` so many more by chance. */
#define _GNU_SOURCE
#include "unit/records/kinds.h"

#include <unistd.h>

#include "base/random.h"

enum {
    CASES = 250,
    CASE_SECONDS = 300, /* one that takes longer hangs, and the signal ends the test */
    HEADER_BYTES = 100,
    PAGE_BYTES = 4096,
};

typedef struct {
    Text folder;
    Text base; /* the database as it was */
    int64_t cases;
    uint64_t seed;
    /* How many were refused, opened with findings, and opened without. */
    int refused, found, passed;
} World;

/* --- What must hold -------------------------------------------------------------------------- */

static void check_line(const char *text, const char *what)
{
    if (*text == '\0') fail_msg("%s: no message", what);
    for (const char *at = text; *at != '\0'; at++) {
        if ((unsigned char)*at < 0x20 || *at == 0x7f) fail_msg("%s: not one line: %s", what, text);
    }
}

static void check_message(const Err *err, const char *what)
{
    bool is_known = err->code == ERR_INPUT || err->code == ERR_IO || err->code == ERR_DAMAGE ||
                    err->code == ERR_RANGE;
    if (!is_known) fail_msg("%s: code %d", what, (int)err->code);
    check_line(err->text, what);
}

static void check_untouched(const World *world, const Text *bytes, const char *what)
{
    static const char *const beside[] = {"store.db-journal", "store.db-wal", "store.db-shm"};
    Text after = read_file(&world->folder, "store.db");
    if (after.len != bytes->len || memcmp(after.bytes, bytes->bytes, bytes->len) != 0) {
        fail_msg("%s: reading changed the file", what);
    }
    text_clear(&after);
    /* A file that says it has another kind of journal makes SQLite put that beside it, empty. */
    bool is_wal = bytes->len > 19 && (bytes->bytes[18] == 2 || bytes->bytes[19] == 2);
    for (size_t i = 0; i < (is_wal ? 1 : 3); i++) {
        Text path = path_in(&world->folder, beside[i]);
        if (os_is_file(path.bytes)) fail_msg("%s: reading left %s", what, beside[i]);
        text_clear(&path);
    }
}

static bool look_at(void *context, const RecEntry *entry, Err *err)
{
    size_t *bytes = context;
    (void)err;
    *bytes += strlen(entry->kind) + json_count(entry->body);
    return true;
}

static bool look_at_fact(void *context, const RecFact *fact, Err *err)
{
    size_t *bytes = context;
    (void)err;
    *bytes += strlen(fact->person) + strlen(fact->value);
    return true;
}

/* Read all that can be read of it. */
static void read_all(Records *records, const char *what)
{
    Err errs[4] = {0};
    RecPerson *people = NULL;
    RecHead *heads = NULL;
    RecRunView run = {0};
    size_t count = 0;
    size_t bytes = 0;
    bool is_read[4];
    is_read[0] = rec_each(records, NULL, look_at, &bytes, &errs[0]);
    is_read[1] = rec_facts(records, NULL, NULL, look_at_fact, &bytes, &errs[1]);
    is_read[2] = rec_people(records, &people, &count, &errs[2]);
    if (is_read[2]) rec_people_free(people, count);
    is_read[3] = rec_heads(records, &heads, &count, &errs[3]);
    if (is_read[3]) free(heads);
    for (int i = 0; i < 4; i++) {
        if (!is_read[i]) check_message(&errs[i], what);
    }
    for (RecNumber number = 1; number < 60; number++) {
        Err err = {0};
        if (!rec_run_load(records, number, &run, &err)) check_message(&err, what);
        rec_run_view_clear(&run);
        run = (RecRunView){0};
    }
}

static void verify_it(World *world, const char *what)
{
    Err err = {0};
    RecReport report = {0};
    if (!rec_verify(world->folder.bytes, NULL, fake_rejudge, NULL, &report, &err)) {
        check_message(&err, what);
        world->refused++;
    } else if (report.finding_count > 0) {
        world->found++;
    } else {
        world->passed++;
    }
    for (size_t i = 0; i < report.finding_count; i++) {
        check_line(report.findings[i].text.bytes, what);
    }
    rec_report_clear(&report);
}

/* Take a file as the store: verify it, read it, and write to it. */
static void try_file(World *world, const Text *bytes, const char *what)
{
    Err err = {0};
    Records *records = NULL;
    write_file(&world->folder, "store.db", bytes);
    (void)alarm(CASE_SECONDS);
    verify_it(world, what);
    check_untouched(world, bytes, what);
    if (rec_open(world->folder.bytes, REC_READ, "0.1.0", NULL, &records, &err)) {
        read_all(records, what);
        rec_close(records);
    } else {
        check_message(&err, what);
    }
    check_untouched(world, bytes, what);
    records = NULL;
    if (!rec_open(world->folder.bytes, REC_CREATE, "0.1.0", NULL, &records, &err)) {
        check_message(&err, what);
    } else if (!rec_person_add(records, "New", (char[REC_ID_BYTES]){""}, &err)) {
        check_message(&err, what);
    }
    rec_close(records);
    (void)alarm(0);
    remove_file(&world->folder, "store.db-journal");
    remove_file(&world->folder, "store.db-wal");
    remove_file(&world->folder, "store.db-shm");
}

/* --- Bytes ----------------------------------------------------------------------------------- */

static Text copy_of(const Text *bytes)
{
    Text copy = {0};
    text_add_bytes(&copy, text_string(bytes), bytes->len);
    return copy;
}

/* Each byte of the header, at its least, at its most, and with one bit changed. */
static void test_header(void **state)
{
    World *world = *state;
    for (size_t at = 0; at < HEADER_BYTES; at++) {
        const char was = world->base.bytes[at];
        const char values[] = {0, (char)0xff, (char)(was ^ 1), (char)(was ^ 2)};
        for (size_t i = 0; i < sizeof values; i++) {
            if (values[i] == was) continue;
            Text what = {0};
            Text bytes = copy_of(&world->base);
            bytes.bytes[at] = values[i];
            text_addf(&what, "byte %zu of the header is %d", at, (unsigned char)values[i]);
            try_file(world, &bytes, what.bytes);
            text_clear(&bytes);
            text_clear(&what);
        }
    }
}

/* The file ends at each border of a page, and beside it. */
static void test_cut_off(void **state)
{
    World *world = *state;
    for (size_t page = 0; page * PAGE_BYTES <= world->base.len; page++) {
        for (int beside = -1; beside <= 1; beside++) {
            size_t len = page * PAGE_BYTES + (size_t)beside;
            if (len == 0 || len >= world->base.len) continue; /* nothing at all: an empty store */
            Text what = {0};
            Text bytes = {0};
            text_add_bytes(&bytes, world->base.bytes, len);
            text_addf(&what, "cut off at %zu", len);
            try_file(world, &bytes, what.bytes);
            text_clear(&bytes);
            text_clear(&what);
        }
    }
}

static size_t any_page(const World *world, Random *luck)
{
    return (size_t)random_below(luck, world->base.len / PAGE_BYTES) * PAGE_BYTES;
}

/* Some bytes of one page, mostly of its head and the places of cells, where the structure is. */
static void change_bytes(const World *world, Random *luck, Text *bytes)
{
    size_t page = any_page(world, luck);
    size_t reach = random_below(luck, 3) == 0 ? PAGE_BYTES : 64;
    uint64_t count = 1 + random_below(luck, 4);
    for (uint64_t i = 0; i < count; i++) {
        size_t from = page == 0 && reach == 64 ? HEADER_BYTES : 0;
        bytes->bytes[page + from + random_below(luck, reach)] = (char)random_below(luck, 256);
    }
}

/* One page lies where another was, or its bytes in another order. */
static void move_pages(const World *world, Random *luck, Text *bytes)
{
    size_t to = any_page(world, luck);
    size_t from = any_page(world, luck);
    size_t shift = random_below(luck, 2) == 0 ? 0 : random_below(luck, PAGE_BYTES);
    memcpy(bytes->bytes + to, world->base.bytes + from + shift, PAGE_BYTES - shift);
}

static void clear_page(const World *world, Random *luck, Text *bytes)
{
    memset(bytes->bytes + any_page(world, luck), random_below(luck, 2) == 0 ? 0 : 0xff, PAGE_BYTES);
}

static void add_pages(const World *world, Random *luck, Text *bytes)
{
    uint64_t count = 1 + random_below(luck, 3);
    for (uint64_t i = 0; i < count; i++) {
        text_add_bytes(bytes, world->base.bytes + any_page(world, luck),
                       1 + random_below(luck, PAGE_BYTES));
    }
}

static void test_pages(void **state)
{
    static void (*const changes[])(const World *world, Random *luck, Text *bytes) = {
        change_bytes, change_bytes, change_bytes, change_bytes, move_pages, clear_page, add_pages};
    World *world = *state;
    for (int64_t i = 0; i < world->cases; i++) {
        Random luck;
        Text what = {0};
        Text bytes = copy_of(&world->base);
        random_init(&luck, world->seed + (uint64_t)i);
        changes[random_below(&luck, sizeof changes / sizeof changes[0])](world, &luck, &bytes);
        text_addf(&what, "test_store_hostile 1 %llu",
                  (unsigned long long)world->seed + (unsigned long long)i);
        try_file(world, &bytes, what.bytes);
        text_clear(&bytes);
        text_clear(&what);
    }
    print_message("so far %d refused, %d with findings, %d without\n", world->refused, world->found,
                  world->passed);
    assert_true(world->refused > 0 && world->found > 0);
}

/* --- Schemas --------------------------------------------------------------------------------- */

/* Values of 21 MB, which is more than any of ours. */
#define HUGE "zeroblob(21000000)"

static const struct {
    const char *name, *sql;
    const char *says; /* of opening; NULL: it may be opened, for what is wrong is in a row */
} schemas[] = {
    {"a trigger", "CREATE TRIGGER t AFTER INSERT ON entry BEGIN DELETE FROM secret; END",
     "the schema has \"t\", which is not ours"},
    {"a trigger without end",
     "CREATE TRIGGER t AFTER INSERT ON secret BEGIN INSERT INTO secret SELECT person || 'x', kind, "
     "bytes FROM secret; END",
     "the schema has \"t\", which is not ours"},
    {"a view", "CREATE VIEW v AS SELECT * FROM entry", "the schema has \"v\", which is not ours"},
    {"a view that never ends",
     "CREATE VIEW a AS WITH RECURSIVE c(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM c) SELECT "
     "count(*) FROM c",
     "the schema has \"a\", which is not ours"},
    {"a view for a table",
     "DROP TRIGGER veiled_no_delete; DROP TABLE fact; CREATE VIEW fact AS SELECT station, number, "
     "hash, 0 AS time_us, '' AS kind, '' AS author, '' AS person, '' AS subject, '' AS value FROM "
     "entry",
     "\"fact\" in the schema was changed"},
    {"another table", "CREATE TABLE more(a)", "the schema has \"more\", which is not ours"},
    {"a table with a name that is not one line", "CREATE TABLE \"a\nb\033[2J\"(a)",
     "the schema has \"a?b?[2J\", which is not ours"},
    {"a table with a long name", NULL, "malformed database schema (namename"},
    {"an index", "CREATE INDEX i ON content(bytes)", "the schema has \"i\", which is not ours"},
    {"an index by an expression", "CREATE INDEX i ON entry(hex(bytes))",
     "the schema has \"i\", which is not ours"},
    {"no trigger", "DROP TRIGGER entry_no_delete",
     "\"entry_no_delete\" is missing from the schema"},
    {"a trigger of our name",
     "DROP TRIGGER entry_no_delete; CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry BEGIN "
     "SELECT 1; END",
     "\"entry_no_delete\" in the schema was changed"},
    {"a column more", "ALTER TABLE secret ADD COLUMN more TEXT DEFAULT 'x'",
     "\"secret\" in the schema was changed"},
    {"a schema that is no SQL",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = 'CREATE nothing' WHERE name = "
     "'content'",
     "malformed"},
    {"a table on another's page",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET rootpage = (SELECT rootpage FROM "
     "sqlite_schema WHERE name = 'content') WHERE name = 'secret'",
     NULL},
    {"a table on no page",
     "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET rootpage = 9999999 WHERE name = 'fact'",
     "malformed"},
    {"a newer format", "PRAGMA user_version = 3", "its format is 3, this program knows 2 only"},
    {"a far newer format", "PRAGMA user_version = 2147483647",
     "its format is 2147483647, this program knows 2 only"},
    {"another's id", "PRAGMA application_id = 252006674", "a database of another program"},
    {"a huge content", "INSERT INTO content VALUES ('a', " HUGE ")", NULL},
    {"a huge entry",
     "INSERT INTO entry SELECT station, 4000, CAST(" HUGE " AS TEXT), hash FROM entry LIMIT 1",
     NULL},
    {"a huge fact",
     "DROP TRIGGER veiled_no_delete; UPDATE fact SET value = CAST(" HUGE " AS TEXT) WHERE number = "
     "3; CREATE TRIGGER veiled_no_delete BEFORE delete ON veiled WHEN NOT EXISTS (SELECT 1 FROM "
     "fact WHERE "
     "kind = 'erasure' AND subject = OLD.commitment) BEGIN SELECT RAISE(ABORT, 'a text goes only "
     "by an erasure entry'); END",
     NULL},
    {"an entry with a number out of reach",
     "INSERT INTO entry SELECT station, 9223372036854775807, bytes, hash FROM entry LIMIT 1", NULL},
    {"an entry with a number below",
     "INSERT INTO entry SELECT station, -9223372036854775808, "
     "bytes, hash FROM entry LIMIT 1",
     NULL},
    {"an entry nested deeply",
     "INSERT INTO entry SELECT station, 4000, replace(hex(zeroblob(1000000)), '00', '['), hash "
     "FROM "
     "entry LIMIT 1",
     NULL},
    {"bytes that are no text",
     "INSERT INTO entry SELECT station, 4000, CAST(x'ff00fe0a1b5b' AS TEXT), CAST(x'ff00fe' AS "
     "TEXT) FROM entry LIMIT 1",
     NULL},
    {"many tables", NULL, "which is not ours"},
    {"the journal of another kind", "PRAGMA journal_mode = WAL", NULL},
};

/* What is too long to be written out. */
static void add_long_sql(const char *name, Text *sql)
{
    if (strcmp(name, "many tables") == 0) {
        for (int i = 0; i < 3000; i++) {
            text_addf(sql, "CREATE TABLE t%d(a);", i);
        }
    } else {
        text_add(sql, "CREATE TABLE \"");
        for (int i = 0; i < 50000; i++) {
            text_add(sql, "name");
        }
        text_add(sql, "\"(a)");
    }
}

static void test_schemas(void **state)
{
    World *world = *state;
    for (size_t i = 0; i < sizeof schemas / sizeof schemas[0]; i++) {
        Err err = {0};
        Text sql = {0};
        Records *records = NULL;
        if (schemas[i].sql == NULL)
            add_long_sql(schemas[i].name, &sql);
        else
            text_add(&sql, schemas[i].sql);
        write_file(&world->folder, "store.db", &world->base);
        raw_sql(&world->folder, sql.bytes);
        Text bytes = read_file(&world->folder, "store.db");
        try_file(world, &bytes, schemas[i].name);
        write_file(&world->folder, "store.db", &bytes);
        bool opens = rec_open(world->folder.bytes, REC_READ, "0.1.0", NULL, &records, &err);
        if (opens && schemas[i].says != NULL) fail_msg("%s: opened", schemas[i].name);
        if (!opens && schemas[i].says != NULL && strstr(err.text, schemas[i].says) == NULL) {
            fail_msg("%s: %s, not %s", schemas[i].name, err.text, schemas[i].says);
        }
        rec_close(records);
        text_clear(&bytes);
        text_clear(&sql);
    }
}

int main(int argc, char **argv)
{
    World world = {.cases = argc > 1 ? strtoll(argv[1], NULL, 10) : CASES,
                   /* The first page of this one made a walk go in a ring. */
                   .seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 6160};
    Site site;
    CHECK(world.cases > 0);
    if (os_is_folder("/dev/shm")) CHECK(setenv("TMPDIR", "/dev/shm", 0) == 0);
    full_site(&site);
    rec_close(site.records);
    world.folder = site.folder;
    world.base = read_file(&world.folder, "store.db");
    CHECK(world.base.len > 0 && world.base.len % PAGE_BYTES == 0);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(test_header, &world),
        cmocka_unit_test_prestate(test_cut_off, &world),
        cmocka_unit_test_prestate(test_pages, &world),
        cmocka_unit_test_prestate(test_schemas, &world),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    remove_folder(&world.folder);
    text_clear(&world.base);
    return failed;
}
