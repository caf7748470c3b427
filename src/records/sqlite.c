/* The ledger's rows in SQLite; the only file that includes it. */
#include "records/storage.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#define TEXT_OF(x) #x
#define NUMBER_TEXT(x) TEXT_OF(x)

/* "TPas": says in the file's header whose database this is. */
#define STORE_APPLICATION_ID 1414553971
#define STORE_USER_VERSION 2
#define STORE_AUDIT_CACHE_KB 131072

_Static_assert(STORE_USER_VERSION == REC_STORE_FORMAT, "the file says its format");

enum { STORE_VALUE_BYTES_MAX = 20 * 1024 * 1024, STORE_SQL_BYTES_MAX = 10000 };

typedef struct {
    const char *name;
    const char *sql;
    bool is_table;
} Part;

#define NO_CHANGE(table, verb)                                                                     \
    "CREATE TRIGGER " table "_no_" verb " BEFORE " verb " ON " table                               \
    " BEGIN SELECT RAISE(ABORT, 'records only grow'); END"

/* Sorted by name, as they are compared. A table WITHOUT ROWID holds nothing but what is named. */
static const Part schema[] = {
    {"content",
     "CREATE TABLE content(hash TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT, WITHOUT ROWID",
     true},
    {"content_no_delete", NO_CHANGE("content", "delete"), false},
    {"content_no_update", NO_CHANGE("content", "update"), false},
    {"entry",
     "CREATE TABLE entry(station TEXT, number INTEGER, bytes TEXT NOT NULL, hash TEXT NOT NULL, "
     "PRIMARY KEY(station, number)) STRICT, WITHOUT ROWID",
     true},
    {"entry_no_delete", NO_CHANGE("entry", "delete"), false},
    {"entry_no_update", NO_CHANGE("entry", "update"), false},
    {"fact",
     "CREATE TABLE fact(station TEXT, number INTEGER, hash TEXT NOT NULL, time_us INTEGER NOT "
     "NULL, "
     "kind TEXT NOT NULL, author TEXT NOT NULL, person TEXT NOT NULL, subject TEXT NOT NULL, "
     "value TEXT NOT NULL, PRIMARY KEY(station, number)) STRICT, WITHOUT ROWID",
     true},
    {"fact_by_hash", "CREATE INDEX fact_by_hash ON fact(hash)", false},
    {"fact_by_kind", "CREATE INDEX fact_by_kind ON fact(kind, person, time_us)", false},
    {"fact_by_person", "CREATE INDEX fact_by_person ON fact(person, time_us)", false},
    {"secret",
     "CREATE TABLE secret(person TEXT, kind TEXT, bytes BLOB NOT NULL, PRIMARY KEY(person, kind)) "
     "STRICT, WITHOUT ROWID",
     true},
    {"veiled",
     "CREATE TABLE veiled(commitment TEXT PRIMARY KEY, salt TEXT NOT NULL, text TEXT NOT NULL) "
     "STRICT, WITHOUT ROWID",
     true},
    {"veiled_no_delete",
     "CREATE TRIGGER veiled_no_delete BEFORE delete ON veiled WHEN NOT EXISTS (SELECT 1 FROM fact "
     "WHERE kind = 'erasure' AND subject = OLD.commitment) "
     "BEGIN SELECT RAISE(ABORT, 'a text goes only by an erasure entry'); END",
     false},
    {"veiled_no_update", NO_CHANGE("veiled", "update"), false},
};

enum { PARTS = sizeof schema / sizeof schema[0] };

enum {
    ENTRY_ADD,
    ENTRY_FROM,
    ENTRY_UNTIL,
    ENTRIES_OF_STATION,
    ENTRIES_OF_ALL,
    STATION_AFTER,
    FACT_ADD,
    FACTS_BY_HASH,
    FACTS_BY_KIND_AND_PERSON,
    FACTS_BY_KIND,
    FACTS_BY_PERSON,
    FACTS_ALL,
    CONTENT_ADD,
    CONTENT_READ,
    CONTENT_AFTER,
    CONTENTS,
    VEIL_ADD,
    VEIL_READ,
    VEIL_AFTER,
    VEIL_ERASE,
    SECRET_READ,
    SECRET_WRITE,
    SECRET_REMOVE,
    BEGIN,
    COMMIT,
    ROLLBACK,
    STATEMENTS
};

#define ENTRY_SELECT "SELECT station, number, bytes, hash FROM entry "
#define FACT_SELECT                                                                                \
    "SELECT station, number, hash, time_us, kind, author, person, subject, value FROM fact "

static const char *const statement_sql[STATEMENTS] = {
    [ENTRY_ADD] = "INSERT INTO entry(station, number, bytes, hash) VALUES (?1, ?2, ?3, ?4)",
    [ENTRY_FROM] = ENTRY_SELECT "WHERE station = ?1 AND number >= ?2 ORDER BY number LIMIT 1",
    [ENTRY_UNTIL] = ENTRY_SELECT "WHERE station = ?1 AND number <= ?2 ORDER BY number DESC LIMIT 1",
    [ENTRIES_OF_STATION] = ENTRY_SELECT "WHERE station = ?1 AND number >= ?2 ORDER BY number",
    [ENTRIES_OF_ALL] = ENTRY_SELECT "ORDER BY station, number",
    [STATION_AFTER] = "SELECT station FROM entry WHERE station > ?1 ORDER BY station LIMIT 1",
    [FACT_ADD] = "INSERT INTO fact VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
    [FACTS_BY_HASH] = FACT_SELECT "WHERE hash = ?1 ORDER BY time_us, station, number",
    [FACTS_BY_KIND_AND_PERSON] =
        FACT_SELECT "WHERE kind = ?2 AND person = ?1 ORDER BY time_us, station, number",
    [FACTS_BY_KIND] = FACT_SELECT "WHERE kind = ?2 ORDER BY time_us, station, number",
    [FACTS_BY_PERSON] = FACT_SELECT "WHERE person = ?1 ORDER BY time_us, station, number",
    [FACTS_ALL] = FACT_SELECT "ORDER BY station, number",
    [CONTENT_ADD] = "INSERT INTO content(hash, bytes) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
    [CONTENT_READ] = "SELECT hash, bytes FROM content WHERE hash = ?1",
    [CONTENT_AFTER] = "SELECT hash, bytes FROM content WHERE hash > ?1 ORDER BY hash LIMIT 1",
    [CONTENTS] = "SELECT hash, bytes FROM content ORDER BY hash",
    [VEIL_ADD] = "INSERT INTO veiled(commitment, salt, text) VALUES (?1, ?2, ?3)",
    [VEIL_READ] = "SELECT commitment, salt, text FROM veiled WHERE commitment = ?1",
    [VEIL_AFTER] = ("SELECT commitment, salt, text FROM veiled WHERE commitment > ?1 "
                    "ORDER BY commitment LIMIT 1"),
    [VEIL_ERASE] = "DELETE FROM veiled WHERE commitment = ?1",
    [SECRET_READ] = "SELECT bytes FROM secret WHERE person = ?1 AND kind = ?2",
    [SECRET_WRITE] = ("INSERT INTO secret(person, kind, bytes) VALUES (?1, ?2, ?3) "
                      "ON CONFLICT DO UPDATE SET bytes = excluded.bytes"),
    [SECRET_REMOVE] = "DELETE FROM secret WHERE person = ?1 AND kind = ?2",
    [BEGIN] = "BEGIN IMMEDIATE",
    [COMMIT] = "COMMIT",
    [ROLLBACK] = "ROLLBACK",
};

struct RecStore {
    sqlite3 *db;
    sqlite3_stmt *statements[STATEMENTS];
    Text path;
    RecStoreMode mode;
};

void rec_row_clear(RecRow *row)
{
    text_clear(&row->station);
    text_clear(&row->bytes);
    text_clear(&row->hash);
    *row = (RecRow){0};
}

void rec_veil_clear(RecVeil *veil)
{
    text_clear(&veil->commitment);
    text_clear(&veil->salt);
    text_clear(&veil->text);
}

/* What SQLite refused, in words a person can act on. Always false. */
static bool fail(const RecStore *store, Err *err)
{
    const char *path = text_string(&store->path);
    int code = sqlite3_extended_errcode(store->db);
    if (code == SQLITE_READONLY_ROLLBACK) {
        return err_set(err, ERR_IO,
                       "%s: a writing was cut short and is still to be put back; open the store "
                       "once",
                       path);
    }
    switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return err_set(err, ERR_IO, "%s: another program is busy with it; try again", path);
    case SQLITE_FULL:
        return err_set(err, ERR_IO, "%s: the disk is full", path);
    case SQLITE_READONLY:
    case SQLITE_CANTOPEN:
    case SQLITE_PERM:
        return err_set(err, ERR_IO, "%s: no right to write to it or to its folder", path);
    case SQLITE_NOTADB:
        return err_set(err, ERR_DAMAGE, "%s: is no SQLite database", path);
    case SQLITE_CORRUPT:
        return err_set(err, ERR_DAMAGE, "%s: the file is torn: %s", path,
                       sqlite3_errmsg(store->db));
    default:
        return err_set(err, ERR_IO, "%s: %s", path, sqlite3_errmsg(store->db));
    }
}

static bool run_sql(const RecStore *store, const char *sql, Err *err)
{
    return sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK || fail(store, err);
}

static bool read_number(const RecStore *store, const char *sql, int64_t *out, Err *err)
{
    sqlite3_stmt *statement = NULL;
    bool ok = sqlite3_prepare_v2(store->db, sql, -1, &statement, NULL) == SQLITE_OK &&
              sqlite3_step(statement) == SQLITE_ROW;
    if (ok)
        *out = sqlite3_column_int64(statement, 0);
    else
        (void)fail(store, err);
    (void)sqlite3_finalize(statement);
    return ok;
}

static void column_text(sqlite3_stmt *statement, int column, Text *out)
{
    const char *bytes = sqlite3_column_blob(statement, column);
    text_clear(out);
    text_add_bytes(out, bytes == NULL ? "" : bytes,
                   (size_t)sqlite3_column_bytes(statement, column));
}

/* --- Opening --------------------------------------------------------------------------------- */

static void limit_sizes(sqlite3 *db)
{
    (void)sqlite3_limit(db, SQLITE_LIMIT_LENGTH, STORE_VALUE_BYTES_MAX);
    (void)sqlite3_limit(db, SQLITE_LIMIT_SQL_LENGTH, STORE_SQL_BYTES_MAX);
    (void)sqlite3_limit(db, SQLITE_LIMIT_COLUMN, 20);
    (void)sqlite3_limit(db, SQLITE_LIMIT_EXPR_DEPTH, 50);
    (void)sqlite3_limit(db, SQLITE_LIMIT_COMPOUND_SELECT, 5);
    (void)sqlite3_limit(db, SQLITE_LIMIT_ATTACHED, 0);
    (void)sqlite3_limit(db, SQLITE_LIMIT_VARIABLE_NUMBER, 10);
    (void)sqlite3_limit(db, SQLITE_LIMIT_TRIGGER_DEPTH, 5);
}

/* On every connection, before the file is read. */
static bool settle(const RecStore *store, Err *err)
{
    (void)sqlite3_busy_timeout(store->db, REC_STORE_BUSY_MS);
    limit_sizes(store->db);
    return (sqlite3_db_config(store->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL) == SQLITE_OK ||
            fail(store, err)) &&
           run_sql(store,
                   "PRAGMA trusted_schema = OFF; PRAGMA foreign_keys = ON;"
                   "PRAGMA recursive_triggers = ON; PRAGMA cell_size_check = ON;"
                   "PRAGMA mmap_size = 0; PRAGMA secure_delete = ON",
                   err);
}

/* Compare sqlite_schema with our own text, name by name. Both are sorted, so one walk does it. */
static bool compare_schema(const RecStore *store, RecStoreComplaint complain, void *context,
                           bool *readable, Err *err)
{
    sqlite3_stmt *rows = NULL;
    Text sentence = {0};
    size_t at = 0;
    int step = sqlite3_prepare_v2(store->db, "SELECT name, sql FROM sqlite_schema ORDER BY name",
                                  -1, &rows, NULL);
    *readable = true;
    if (step == SQLITE_OK) step = sqlite3_step(rows);
    while (step == SQLITE_ROW || (step == SQLITE_DONE && at < PARTS)) {
        const char *name = step == SQLITE_ROW ? (const char *)sqlite3_column_text(rows, 0) : NULL;
        const char *sql = step == SQLITE_ROW ? (const char *)sqlite3_column_text(rows, 1) : NULL;
        int order = name == NULL ? 1 : at == PARTS ? -1 : strcmp(name, schema[at].name);
        text_clear(&sentence);
        if (order < 0) {
            text_addf(&sentence, "the schema has \"%s\", which is not ours", name);
        } else if (order > 0) {
            text_addf(&sentence, "\"%s\" is missing from the schema", schema[at].name);
        } else if (sql == NULL || strcmp(sql, schema[at].sql) != 0) {
            text_addf(&sentence, "\"%s\" in the schema was changed", schema[at].name);
        }
        if (sentence.len > 0) complain(context, sentence.bytes);
        if (order >= 0 && sentence.len > 0 && schema[at].is_table) *readable = false;
        if (order >= 0) at++;
        if (order <= 0) step = sqlite3_step(rows);
    }
    bool ok = step == SQLITE_DONE || fail(store, err);
    (void)sqlite3_finalize(rows);
    text_clear(&sentence);
    return ok;
}

static void keep_first(void *context, const char *sentence)
{
    Text *first = context;
    if (first->len == 0) text_add(first, sentence);
}

/* For sqlite3_exec: take one row of a check; 0 lets it go on. */
static int take_check(void *context, int columns, char **values, char **names)
{
    (void)columns;
    (void)names;
    if (values[0] != NULL && strcmp(values[0], "ok") != 0) keep_first(context, values[0]);
    return 0;
}

/* Refuse what is not a sound store of ours. */
static bool identify(const RecStore *store, Err *err)
{
    const char *path = text_string(&store->path);
    int64_t application = 0;
    int64_t format = 0;
    Text wrong = {0};
    bool readable = false;
    bool ok = false;

    if (!read_number(store, "PRAGMA application_id", &application, err)) goto done;
    if (!read_number(store, "PRAGMA user_version", &format, err)) goto done;
    if (application != STORE_APPLICATION_ID) {
        (void)err_set(err, ERR_INPUT, "%s: is empty or a database of another program", path);
        goto done;
    }
    if (format != REC_STORE_FORMAT) {
        (void)err_set(err, ERR_INPUT, "%s: its format is %lld, this program knows %d only", path,
                      (long long)format, REC_STORE_FORMAT);
        goto done;
    }
    if (!compare_schema(store, keep_first, &wrong, &readable, err)) goto done;
    if (wrong.len == 0 &&
        sqlite3_exec(store->db, "PRAGMA quick_check", take_check, &wrong, NULL) != SQLITE_OK) {
        (void)fail(store, err);
        goto done;
    }
    if (wrong.len > 0) {
        (void)err_set(err, ERR_DAMAGE, "%s: %s; \"records verify\" tells more", path, wrong.bytes);
        goto done;
    }
    ok = true;
done:
    text_clear(&wrong);
    return ok;
}

/* True in *out when nothing was ever stored in the file. */
static bool is_empty(const RecStore *store, bool *out, Err *err)
{
    int64_t parts = 0;
    int64_t ids = 0;
    if (!read_number(store, "SELECT count(*) FROM sqlite_schema", &parts, err)) return false;
    if (!read_number(store, "PRAGMA application_id", &ids, err)) return false;
    *out = parts == 0 && ids == 0;
    return true;
}

/* How each mode is opened, and what it must find. EXTRA also syncs the folder after the journal has
 * gone, without which a power cut can bring the last entry's journal back. */
static bool enter(const RecStore *store, Err *err)
{
    bool empty = false;
    if (!settle(store, err)) return false;
    switch (store->mode) {
    case REC_STORE_AUDIT: /* all is read twice: by SQLite's own check, and by ours */
        return run_sql(store, "PRAGMA cache_size = -" NUMBER_TEXT(STORE_AUDIT_CACHE_KB), err);
    case REC_STORE_READ:
        return identify(store, err) && run_sql(store, "PRAGMA query_only = ON", err);
    case REC_STORE_CREATE:
        if (!is_empty(store, &empty, err)) return false;
        break;
    case REC_STORE_WRITE:
        break;
    }
    return (empty || identify(store, err)) &&
           run_sql(store, "PRAGMA journal_mode = DELETE; PRAGMA synchronous = EXTRA", err);
}

bool rec_store_open(const char *path, RecStoreMode mode, RecStore **out, Err *err)
{
    static const int flags[] = {
        [REC_STORE_READ] = SQLITE_OPEN_READWRITE,
        [REC_STORE_WRITE] = SQLITE_OPEN_READWRITE,
        [REC_STORE_CREATE] = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE,
        [REC_STORE_AUDIT] = SQLITE_OPEN_READONLY,
    };
    CHECK(path != NULL && out != NULL && err != NULL);
    RecStore *store = check_calloc(1, sizeof *store);
    text_add(&store->path, path);
    store->mode = mode;
    int code = sqlite3_open_v2(path, &store->db, flags[mode] | SQLITE_OPEN_NOMUTEX, NULL);
    CHECK(store->db != NULL);
    if (code != SQLITE_OK ? fail(store, err) : enter(store, err)) {
        *out = store;
        return true;
    }
    rec_store_close(store);
    return false;
}

void rec_store_close(RecStore *store)
{
    if (store == NULL) return;
    for (size_t i = 0; i < STATEMENTS; i++) {
        (void)sqlite3_finalize(store->statements[i]);
    }
    CHECK(sqlite3_close(store->db) == SQLITE_OK);
    text_clear(&store->path);
    free(store);
}

/* --- Statements ------------------------------------------------------------------------------ */

static bool prepare(RecStore *store, int which, sqlite3_stmt **out, Err *err)
{
    if (store->statements[which] == NULL &&
        sqlite3_prepare_v3(store->db, statement_sql[which], -1, SQLITE_PREPARE_PERSISTENT,
                           &store->statements[which], NULL) != SQLITE_OK) {
        return fail(store, err);
    }
    *out = store->statements[which];
    return true;
}

static bool finish(const RecStore *store, sqlite3_stmt *statement, int step, Err *err)
{
    bool ok = step == SQLITE_ROW || step == SQLITE_DONE || fail(store, err);
    (void)sqlite3_reset(statement);
    (void)sqlite3_clear_bindings(statement);
    return ok;
}

/* Run a statement that has nothing bound and gives no row. */
static bool run(RecStore *store, int which, Err *err)
{
    sqlite3_stmt *statement = NULL;
    return prepare(store, which, &statement, err) &&
           finish(store, statement, sqlite3_step(statement), err);
}

/* --- Transactions ---------------------------------------------------------------------------- */

static bool make_tables(const RecStore *store, Err *err)
{
    for (size_t i = 0; i < PARTS; i++) {
        if (!run_sql(store, schema[i].sql, err)) return false;
    }
    return run_sql(
        store,
        "PRAGMA application_id = " NUMBER_TEXT(
            STORE_APPLICATION_ID) ";"
                                  "PRAGMA user_version = " NUMBER_TEXT(STORE_USER_VERSION),
        err);
}

bool rec_store_begin(RecStore *store, Err *err)
{
    CHECK(store->mode == REC_STORE_WRITE || store->mode == REC_STORE_CREATE);
    bool empty = false;
    if (!run(store, BEGIN, err)) return false;
    bool ok = store->mode == REC_STORE_WRITE || is_empty(store, &empty, err);
    if (ok && empty)
        ok = make_tables(store, err);
    else if (ok)
        store->mode = REC_STORE_WRITE; /* it stays so; a new one may still be rolled back */
    if (!ok) rec_store_rollback(store);
    return ok;
}

bool rec_store_commit(RecStore *store, Err *err)
{
    if (run(store, COMMIT, err)) return true;
    rec_store_rollback(store);
    return false;
}

void rec_store_rollback(RecStore *store)
{
    /* After a full disk SQLite may have rolled back by itself, and then this does nothing. */
    if (sqlite3_get_autocommit(store->db) == 0) {
        Err none = {0};
        (void)run(store, ROLLBACK, &none);
    }
}

bool rec_store_freeze(RecStore *store, Err *err)
{
    int64_t parts = 0; /* reading anything takes the lock that holds the rows still */
    if (!run_sql(store, "BEGIN", err)) return false;
    if (read_number(store, "SELECT count(*) FROM sqlite_schema", &parts, err)) return true;
    rec_store_rollback(store);
    return false;
}

/* --- Rows ------------------------------------------------------------------------------------ */

static void bind_text(sqlite3_stmt *statement, int place, const char *bytes, size_t len)
{
    CHECK(sqlite3_bind_text64(statement, place, bytes, len, SQLITE_STATIC, SQLITE_UTF8) ==
          SQLITE_OK);
}

bool rec_store_entry_add(RecStore *store, const RecFact *fact, const Text *bytes, Err *err)
{
    sqlite3_stmt *add = NULL;
    if (!prepare(store, ENTRY_ADD, &add, err)) return false;
    bind_text(add, 1, fact->station, strlen(fact->station));
    CHECK(sqlite3_bind_int64(add, 2, fact->number) == SQLITE_OK);
    bind_text(add, 3, bytes->bytes, bytes->len);
    bind_text(add, 4, fact->hash, strlen(fact->hash));
    return finish(store, add, sqlite3_step(add), err) && rec_store_fact_add(store, fact, err);
}

static bool read_entry(RecStore *store, int which, const char *station, int64_t number, RecRow *row,
                       bool *found, Err *err)
{
    sqlite3_stmt *read = NULL;
    rec_row_clear(row);
    if (!prepare(store, which, &read, err)) return false;
    bind_text(read, 1, station, strlen(station));
    CHECK(sqlite3_bind_int64(read, 2, number) == SQLITE_OK);
    int step = sqlite3_step(read);
    *found = step == SQLITE_ROW;
    if (*found) {
        column_text(read, 0, &row->station);
        row->number = sqlite3_column_int64(read, 1);
        column_text(read, 2, &row->bytes);
        column_text(read, 3, &row->hash);
    }
    return finish(store, read, step, err);
}

bool rec_store_entry_from(RecStore *store, const char *station, int64_t number, RecRow *row,
                          bool *found, Err *err)
{
    return read_entry(store, ENTRY_FROM, station, number, row, found, err);
}

bool rec_store_entry_until(RecStore *store, const char *station, int64_t number, RecRow *row,
                           bool *found, Err *err)
{
    return read_entry(store, ENTRY_UNTIL, station, number, row, found, err);
}

/* A statement for a walk: while one walk of a kind goes on, an inner one gets another. */
static bool prepare_walk(RecStore *store, int which, sqlite3_stmt **out, Err *err)
{
    if (!prepare(store, which, out, err)) return false;
    if (sqlite3_stmt_busy(*out) == 0) return true;
    return sqlite3_prepare_v2(store->db, statement_sql[which], -1, out, NULL) == SQLITE_OK ||
           fail(store, err);
}

static bool finish_walk(const RecStore *store, int which, sqlite3_stmt *walk, int step,
                        bool goes_on, Err *err)
{
    bool ok = !goes_on || step == SQLITE_DONE || fail(store, err);
    if (walk == store->statements[which]) {
        (void)sqlite3_reset(walk);
        (void)sqlite3_clear_bindings(walk);
    } else {
        (void)sqlite3_finalize(walk);
    }
    return ok && goes_on;
}

/* The column as SQLite holds it, with a NUL behind; good until the next step. */
static const char *column_string(sqlite3_stmt *statement, int column)
{
    const char *text = (const char *)sqlite3_column_text(statement, column);
    return text == NULL ? "" : text;
}

static void borrow_text(sqlite3_stmt *statement, int column, Text *out)
{
    const unsigned char *bytes = sqlite3_column_text(statement, column);
    size_t len = (size_t)sqlite3_column_bytes(statement, column);
    *out = (Text){0};
    if (bytes != NULL) memcpy(&out->bytes, &bytes, sizeof bytes); /* read only, by promise */
    if (bytes != NULL) out->len = len;
}

/* The same of bytes, which may hold anything and have no NUL behind. */
static void borrow_blob(sqlite3_stmt *statement, int column, Text *out)
{
    const void *bytes = sqlite3_column_blob(statement, column);
    *out = (Text){.len = (size_t)sqlite3_column_bytes(statement, column)};
    memcpy(&out->bytes, &bytes, sizeof bytes); /* read only, by promise */
}

bool rec_store_entries(RecStore *store, const char *station, int64_t number, RecEachRow each,
                       void *context, Err *err)
{
    int which = station == NULL ? ENTRIES_OF_ALL : ENTRIES_OF_STATION;
    sqlite3_stmt *walk = NULL;
    bool goes_on = true;
    if (!prepare_walk(store, which, &walk, err)) return false;
    if (station != NULL) {
        bind_text(walk, 1, station, strlen(station));
        CHECK(sqlite3_bind_int64(walk, 2, number) == SQLITE_OK);
    }
    int step = sqlite3_step(walk);
    for (; goes_on && step == SQLITE_ROW; step = goes_on ? sqlite3_step(walk) : step) {
        RecRow row = {.number = sqlite3_column_int64(walk, 1)};
        borrow_text(walk, 0, &row.station);
        borrow_text(walk, 2, &row.bytes);
        borrow_text(walk, 3, &row.hash);
        goes_on = each(context, &row, err);
    }
    return finish_walk(store, which, walk, step, goes_on, err);
}

bool rec_store_fact_add(RecStore *store, const RecFact *fact, Err *err)
{
    sqlite3_stmt *add = NULL;
    if (!prepare(store, FACT_ADD, &add, err)) return false;
    const char *const texts[] = {
        [1] = fact->station, [3] = fact->hash,    [5] = fact->kind, [6] = fact->author,
        [7] = fact->person,  [8] = fact->subject, [9] = fact->value};
    for (int i = 1; i < (int)(sizeof texts / sizeof texts[0]); i++) {
        if (texts[i] != NULL) bind_text(add, i, texts[i], strlen(texts[i]));
    }
    CHECK(sqlite3_bind_int64(add, 2, fact->number) == SQLITE_OK);
    CHECK(sqlite3_bind_int64(add, 4, fact->time_us) == SQLITE_OK);
    return finish(store, add, sqlite3_step(add), err);
}

bool rec_store_facts_clear(RecStore *store, Err *err)
{
    return run_sql(store, "DELETE FROM fact", err);
}

bool rec_store_facts(RecStore *store, const RecFactQuery *query, RecEachFact each, void *context,
                     Err *err)
{
    int which = query->hash != NULL                            ? FACTS_BY_HASH
                : query->kind != NULL && query->person != NULL ? FACTS_BY_KIND_AND_PERSON
                : query->kind != NULL                          ? FACTS_BY_KIND
                : query->person != NULL                        ? FACTS_BY_PERSON
                                                               : FACTS_ALL;
    sqlite3_stmt *walk = NULL;
    bool goes_on = true;
    if (!prepare_walk(store, which, &walk, err)) return false;
    const char *first = query->hash != NULL ? query->hash : query->person;
    if (first != NULL) bind_text(walk, 1, first, strlen(first));
    if (query->hash == NULL && query->kind != NULL) {
        bind_text(walk, 2, query->kind, strlen(query->kind));
    }
    int step = sqlite3_step(walk);
    for (; goes_on && step == SQLITE_ROW; step = goes_on ? sqlite3_step(walk) : step) {
        RecFact fact = {.station = column_string(walk, 0),
                        .number = sqlite3_column_int64(walk, 1),
                        .hash = column_string(walk, 2),
                        .time_us = sqlite3_column_int64(walk, 3),
                        .kind = column_string(walk, 4),
                        .author = column_string(walk, 5),
                        .person = column_string(walk, 6),
                        .subject = column_string(walk, 7),
                        .value = column_string(walk, 8)};
        goes_on = each(context, &fact, err);
    }
    return finish_walk(store, which, walk, step, goes_on, err);
}

bool rec_store_content_add(RecStore *store, const char *hash, const char *bytes, size_t len,
                           Err *err)
{
    sqlite3_stmt *add = NULL;
    if (!prepare(store, CONTENT_ADD, &add, err)) return false;
    bind_text(add, 1, hash, strlen(hash));
    /* A NULL pointer would bind SQL's NULL; no bytes are a content too. */
    CHECK(sqlite3_bind_blob64(add, 2, len == 0 ? "" : bytes, len, SQLITE_STATIC) == SQLITE_OK);
    return finish(store, add, sqlite3_step(add), err);
}

/* Run a SELECT of up to three texts with one text to look for. */
static bool read_texts(RecStore *store, int which, const char *key, size_t key_len,
                       Text *const columns[], int count, bool *found, Err *err)
{
    sqlite3_stmt *read = NULL;
    if (!prepare(store, which, &read, err)) return false;
    bind_text(read, 1, key, key_len);
    int step = sqlite3_step(read);
    *found = step == SQLITE_ROW;
    for (int i = 0; i < count; i++) {
        if (*found)
            column_text(read, i, columns[i]);
        else
            text_clear(columns[i]);
    }
    return finish(store, read, step, err);
}

/* The same for the next row after a key. In a torn file the next may lie before it, and a walk
 * would never end. */
static bool read_after(RecStore *store, int which, const char *after, size_t after_len,
                       Text *const columns[], int count, bool *found, Err *err)
{
    if (!read_texts(store, which, after, after_len, columns, count, found, err)) return false;
    if (!*found) return true;
    size_t len = columns[0]->len;
    int order = memcmp(text_string(columns[0]), after, len < after_len ? len : after_len);
    if (order > 0 || (order == 0 && len > after_len)) return true;
    *found = false;
    return err_set(err, ERR_DAMAGE, "%s: the file is torn: rows are out of order",
                   text_string(&store->path));
}

bool rec_store_content_read(RecStore *store, const char *hash, Text *bytes, bool *found, Err *err)
{
    Text key = {0};
    Text *const columns[] = {&key, bytes};
    bool ok = read_texts(store, CONTENT_READ, hash, strlen(hash), columns, 2, found, err);
    text_clear(&key);
    return ok;
}

bool rec_store_contents(RecStore *store, RecEachContent each, void *context, Err *err)
{
    sqlite3_stmt *walk = NULL;
    bool goes_on = true;
    if (!prepare_walk(store, CONTENTS, &walk, err)) return false;
    int step = sqlite3_step(walk);
    for (; goes_on && step == SQLITE_ROW; step = goes_on ? sqlite3_step(walk) : step) {
        Text hash;
        Text bytes;
        borrow_text(walk, 0, &hash);
        borrow_blob(walk, 1, &bytes);
        goes_on = each(context, &hash, &bytes, err);
    }
    return finish_walk(store, CONTENTS, walk, step, goes_on, err);
}

bool rec_store_content_after(RecStore *store, const Text *after, Text *hash, Text *bytes,
                             bool *found, Err *err)
{
    Text *const columns[] = {hash, bytes};
    return read_after(store, CONTENT_AFTER, text_string(after), after->len, columns, 2, found, err);
}

bool rec_store_veil_add(RecStore *store, const char *commitment, const char *salt, const char *text,
                        Err *err)
{
    sqlite3_stmt *add = NULL;
    if (!prepare(store, VEIL_ADD, &add, err)) return false;
    bind_text(add, 1, commitment, strlen(commitment));
    bind_text(add, 2, salt, strlen(salt));
    bind_text(add, 3, text, strlen(text));
    return finish(store, add, sqlite3_step(add), err);
}

bool rec_store_veil_read(RecStore *store, const char *commitment, RecVeil *veil, bool *found,
                         Err *err)
{
    Text *const columns[] = {&veil->commitment, &veil->salt, &veil->text};
    return read_texts(store, VEIL_READ, commitment, strlen(commitment), columns, 3, found, err);
}

bool rec_store_veil_after(RecStore *store, const Text *after, RecVeil *veil, bool *found, Err *err)
{
    Text *const columns[] = {&veil->commitment, &veil->salt, &veil->text};
    return read_after(store, VEIL_AFTER, text_string(after), after->len, columns, 3, found, err);
}

bool rec_store_veil_erase(RecStore *store, const char *commitment, Err *err)
{
    sqlite3_stmt *erase = NULL;
    if (!prepare(store, VEIL_ERASE, &erase, err)) return false;
    bind_text(erase, 1, commitment, strlen(commitment));
    return finish(store, erase, sqlite3_step(erase), err);
}

bool rec_store_station_after(RecStore *store, const char *after, Text *station, bool *found,
                             Err *err)
{
    Text *const columns[] = {station};
    return read_after(store, STATION_AFTER, after, strlen(after), columns, 1, found, err);
}

bool rec_store_secret_read(RecStore *store, const char *person, const char *kind, Text *bytes,
                           bool *found, Err *err)
{
    sqlite3_stmt *read = NULL;
    text_clear(bytes);
    if (!prepare(store, SECRET_READ, &read, err)) return false;
    bind_text(read, 1, person, strlen(person));
    bind_text(read, 2, kind, strlen(kind));
    int step = sqlite3_step(read);
    *found = step == SQLITE_ROW;
    if (*found) column_text(read, 0, bytes);
    return finish(store, read, step, err);
}

bool rec_store_secret_write(RecStore *store, const char *person, const char *kind,
                            const Text *bytes, Err *err)
{
    sqlite3_stmt *write = NULL;
    if (!prepare(store, bytes == NULL ? SECRET_REMOVE : SECRET_WRITE, &write, err)) return false;
    bind_text(write, 1, person, strlen(person));
    bind_text(write, 2, kind, strlen(kind));
    if (bytes != NULL) {
        CHECK(sqlite3_bind_blob64(write, 3, text_string(bytes), bytes->len, SQLITE_STATIC) ==
              SQLITE_OK);
    }
    return finish(store, write, sqlite3_step(write), err);
}

/* --- Copy ------------------------------------------------------------------------------------ */

bool rec_store_copy(RecStore *store, const char *path, Err *err)
{
    RecStore copy = {.mode = REC_STORE_CREATE};
    text_add(&copy.path, path);
    bool ok = sqlite3_open_v2(path, &copy.db,
                              SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX,
                              NULL) == SQLITE_OK;
    CHECK(copy.db != NULL);
    ok = ok ? run_sql(&copy, "PRAGMA synchronous = EXTRA", err) : fail(&copy, err);
    if (ok) {
        /* In one step, so that nothing changes in between; its end syncs the file. */
        sqlite3_backup *backup = sqlite3_backup_init(copy.db, "main", store->db, "main");
        ok = backup != NULL;
        if (ok) (void)sqlite3_backup_step(backup, -1);
        if (ok) ok = sqlite3_backup_finish(backup) == SQLITE_OK;
        if (!ok) (void)fail(&copy, err);
    }
    CHECK(sqlite3_close(copy.db) == SQLITE_OK);
    text_clear(&copy.path);
    return ok;
}

/* --- Audit ----------------------------------------------------------------------------------- */

/* Another journal is set in the file's header, so it is one more value that can be changed. */
static bool audit_journal(const RecStore *store, RecStoreComplaint complain, void *context,
                          Err *err)
{
    sqlite3_stmt *read = NULL;
    bool ok = sqlite3_prepare_v2(store->db, "PRAGMA journal_mode", -1, &read, NULL) == SQLITE_OK &&
              sqlite3_step(read) == SQLITE_ROW;
    const char *mode = ok ? (const char *)sqlite3_column_text(read, 0) : NULL;
    if (!ok) {
        (void)fail(store, err);
    } else if (mode == NULL || strcmp(mode, "delete") != 0) {
        complain(context, "journal_mode was changed, must be delete");
    }
    (void)sqlite3_finalize(read);
    return ok;
}

static bool audit_integrity(const RecStore *store, RecStoreComplaint complain, void *context,
                            Err *err)
{
    sqlite3_stmt *rows = NULL;
    int step = sqlite3_prepare_v2(store->db, "PRAGMA integrity_check", -1, &rows, NULL);
    if (step == SQLITE_OK) step = sqlite3_step(rows);
    for (; step == SQLITE_ROW; step = sqlite3_step(rows)) {
        const char *said = (const char *)sqlite3_column_text(rows, 0);
        if (said != NULL && strcmp(said, "ok") != 0) complain(context, said);
    }
    bool ok = step == SQLITE_DONE || fail(store, err);
    (void)sqlite3_finalize(rows);
    return ok;
}

bool rec_store_audit(RecStore *store, RecStoreComplaint complain, void *context, bool *readable,
                     Err *err)
{
    int64_t application = 0;
    int64_t format = 0;
    Text sentence = {0};
    bool ok = false;

    if (!read_number(store, "PRAGMA application_id", &application, err)) goto done;
    if (!read_number(store, "PRAGMA user_version", &format, err)) goto done;
    if (application != STORE_APPLICATION_ID) {
        text_addf(&sentence, "application_id is %lld, must be %d", (long long)application,
                  STORE_APPLICATION_ID);
        complain(context, sentence.bytes);
    }
    text_clear(&sentence);
    if (format != REC_STORE_FORMAT) {
        text_addf(&sentence, "user_version is %lld, must be %d", (long long)format,
                  REC_STORE_FORMAT);
        complain(context, sentence.bytes);
    }
    ok = audit_journal(store, complain, context, err) &&
         audit_integrity(store, complain, context, err) &&
         compare_schema(store, complain, context, readable, err);
done:
    text_clear(&sentence);
    return ok;
}
