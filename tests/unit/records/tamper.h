/* Stores that are tampered with by hand, as somebody with the sqlite3 tool, the station's key and
 * all knowledge of the formats would. */
#ifndef TESTS_UNIT_RECORDS_TAMPER_H
#define TESTS_UNIT_RECORDS_TAMPER_H

#include "fixture.h"

#include "records/head.h"

enum { ENTRIES_MAX = 200 };

typedef struct {
    Text base;       /* a folder with a store in which all kinds of entries are; never changed */
    Text work;       /* a copy that is tampered with */
    Text old;        /* the database as it was some entries before */
    RecNumber count; /* of entries in base */
} Store;

static inline void copy_base(const Store *store)
{
    static const char *const names[] = {"store.db", "head", "station.key"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        Text bytes = read_file(&store->base, names[i]);
        write_file(&store->work, names[i], &bytes);
        text_clear(&bytes);
    }
}

/* --- Tampering ------------------------------------------------------------------------------- */

static inline void must_run(sqlite3 *db, const char *sql)
{
    char *wrong = NULL;
    if (sqlite3_exec(db, sql, NULL, NULL, &wrong) != SQLITE_OK) fail_msg("%s: %s", sql, wrong);
}

static inline sqlite3 *open_work(const Store *store)
{
    sqlite3 *db = NULL;
    Text path = path_in(&store->work, "store.db");
    assert_int_equal(sqlite3_open(path.bytes, &db), SQLITE_OK);
    text_clear(&path);
    must_run(db, "PRAGMA synchronous = OFF"); /* some thousand stores, none worth a wait */
    return db;
}

/* All rows of one column, a line each. */
static inline int add_row(void *context, int columns, char **values, char **names)
{
    (void)columns;
    (void)names;
    text_addf(context, "%s\n", values[0]);
    return 0;
}

static inline Text query(sqlite3 *db, const char *sql)
{
    Text out = {0};
    char *wrong = NULL;
    if (sqlite3_exec(db, sql, add_row, &out, &wrong) != SQLITE_OK) fail_msg("%s: %s", sql, wrong);
    return out;
}

/* Take the triggers off, run the SQL, and put them on again, so that the schema gives nothing away.
 * Returns how many rows were changed. */
static inline int tamper(sqlite3 *db, const char *sql)
{
    Text drops = query(db, "SELECT 'DROP TRIGGER ' || name || ';' FROM sqlite_schema "
                           "WHERE type = 'trigger'");
    Text makes = query(db, "SELECT sql || ';' FROM sqlite_schema WHERE type = 'trigger'");
    must_run(db, drops.bytes);
    must_run(db, sql);
    int changes = sqlite3_changes(db);
    must_run(db, makes.bytes);
    text_clear(&drops);
    text_clear(&makes);
    return changes;
}

/* The head that states the entry with these bytes, signed as whoever owns the folder can; of bytes
 * that are none, the head stays. */
static inline void print_head(const Store *store, const Text *bytes, Text *head)
{
    Err err = {0};
    RecEntry entry = {0};
    unsigned char seed[REC_SEED_BYTES];
    if (!rec_entry_read(bytes, &entry, &err)) return;
    Text key = read_file(&store->work, "station.key");
    assert_true(rec_hex_read(key.bytes, key.len - 1, seed, sizeof seed));
    text_clear(head);
    rec_head_print(&entry, seed, head);
    text_clear(&key);
    rec_entry_clear(&entry);
}

static inline sqlite3_stmt *prepare(sqlite3 *db, const char *sql)
{
    sqlite3_stmt *statement = NULL;
    if (sqlite3_prepare_v2(db, sql, -1, &statement, NULL) != SQLITE_OK) fail_msg("%s", sql);
    return statement;
}

static inline bool make_fact(void *context, const RecRow *row, Err *err)
{
    RecEntry entry = {0};
    RecFact fact;
    Text value = {0};
    Err wrong = {0};
    if (!rec_entry_read(&row->bytes, &entry, &wrong)) return true;
    rec_fact_of(&entry, &value, &fact);
    fact.station = row->station.bytes;
    fact.number = row->number;
    bool ok = rec_store_fact_add(context, &fact, err);
    text_clear(&value);
    rec_entry_clear(&entry);
    return ok;
}

/* As somebody would who knows how the program does it. */
static inline void make_facts(const Store *store)
{
    Err err = {0};
    RecStore *rows = NULL;
    Text path = path_in(&store->work, "store.db");
    assert_ok(rec_store_open(path.bytes, REC_STORE_WRITE, &rows, &err));
    assert_ok(rec_store_begin(rows, &err));
    assert_ok(rec_store_facts_clear(rows, &err));
    assert_ok(rec_store_entries(rows, NULL, 0, make_fact, rows, &err));
    assert_ok(rec_store_commit(rows, &err));
    rec_store_close(rows);
    text_clear(&path);
}

/* Replace each place where `bytes` name an entry by its old hash. */
static inline void rename_hashes(Text *bytes, RecHash (*pairs)[2], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        for (char *at = strstr(bytes->bytes, pairs[i][0].hex); at != NULL;
             at = strstr(at + 1, pairs[i][0].hex)) {
            memcpy(at, pairs[i][1].hex, REC_HEX_BYTES - 1);
        }
    }
}

/* Give every entry the hash its bytes have now; with `links` also the link to the one before and
 * the hashes by which it names others. The head of the last goes to `head`, if not NULL. */
static inline void rehash(const Store *store, sqlite3 *db, bool links, Text *head)
{
    static RecHash pairs[ENTRIES_MAX][2];
    size_t count = 0;
    RecHash before;
    Text station = {0};
    Text own = read_file(&store->work, "head"); /* its first line is the station */
    /* Rows that are changed while they are walked may come twice. */
    must_run(db, "CREATE TEMP TABLE before AS SELECT station, number, bytes, hash FROM entry;"
                 "DROP TRIGGER entry_no_update");
    sqlite3_stmt *read =
        prepare(db, "SELECT station, number, bytes, hash FROM before ORDER BY station, number");
    sqlite3_stmt *write =
        prepare(db, "UPDATE entry SET bytes = ?2, hash = ?3 WHERE number = ?1 AND station = ?4");
    while (sqlite3_step(read) == SQLITE_ROW) {
        Text bytes = {0};
        const char *of = (const char *)sqlite3_column_text(read, 0);
        if (strcmp(of, text_string(&station)) != 0) memset(before.hex, '0', REC_HEX_BYTES - 1);
        before.hex[REC_HEX_BYTES - 1] = '\0';
        text_clear(&station);
        text_add(&station, of);
        text_add_bytes(&bytes, sqlite3_column_blob(read, 2), (size_t)sqlite3_column_bytes(read, 2));
        if (links) rename_hashes(&bytes, pairs, count);
        char *link = strstr(bytes.bytes, "\"previous\":\"");
        if (links && link != NULL) memcpy(link + 12, before.hex, REC_HEX_BYTES - 1);
        before = rec_entry_hash(&bytes);
        assert_true(count < ENTRIES_MAX);
        (void)snprintf(pairs[count][0].hex, REC_HEX_BYTES, "%s",
                       (const char *)sqlite3_column_text(read, 3));
        pairs[count++][1] = before;
        (void)sqlite3_bind_int64(write, 1, sqlite3_column_int64(read, 1));
        (void)sqlite3_bind_text(write, 2, bytes.bytes, (int)bytes.len, SQLITE_TRANSIENT);
        (void)sqlite3_bind_text(write, 3, before.hex, -1, SQLITE_TRANSIENT);
        (void)sqlite3_bind_text(write, 4, station.bytes, -1, SQLITE_TRANSIENT);
        assert_int_equal(sqlite3_step(write), SQLITE_DONE);
        (void)sqlite3_reset(write);
        bool is_own = own.len > 36 && strncmp(own.bytes, station.bytes, 36) == 0;
        if (head != NULL && is_own) print_head(store, &bytes, head);
        text_clear(&bytes);
    }
    text_clear(&own);
    text_clear(&station);
    (void)sqlite3_finalize(read);
    (void)sqlite3_finalize(write);
    must_run(db, "CREATE TRIGGER entry_no_update BEFORE update ON entry BEGIN SELECT RAISE(ABORT, "
                 "'records only grow'); END");
}

/* --- What must be found ---------------------------------------------------------------------- */

static inline RecReport verify(const Store *store)
{
    Err err = {0};
    RecReport report = {0};
    assert_ok(rec_verify(store->work.bytes, NULL, fake_rejudge, NULL, &report, &err));
    return report;
}

static inline bool says(const RecReport *report, const char *words)
{
    for (size_t i = 0; i < report->finding_count; i++) {
        if (strstr(report->findings[i].text.bytes, words) != NULL) return true;
    }
    return false;
}

/* Some finding is about this entry, or says that it is missing. */
static inline bool names_entry(const RecReport *report, RecNumber number)
{
    for (size_t i = 0; i < report->finding_count; i++) {
        const char *text = report->findings[i].text.bytes;
        if (report->findings[i].number == number) return true;
        const char *one = strstr(text, "entry ");
        if (one != NULL && strtoll(one + 6, NULL, 10) == number) return true;
        const char *many = strstr(text, "entries ");
        char *to = NULL;
        if (many != NULL && strtoll(many + 8, &to, 10) <= number && strncmp(to, " to ", 4) == 0 &&
            strtoll(to + 4, NULL, 10) >= number) {
            return true;
        }
    }
    return false;
}

static inline void assert_names(const Store *store, RecNumber number, const char *what)
{
    RecReport report = verify(store);
    if (!names_entry(&report, number)) {
        print_report(&report);
        fail_msg("%s: entry %lld is not named", what, (long long)number);
    }
    rec_report_clear(&report);
}

/* The entries whose bytes have this text, a number a line. */
static inline Text entries_with(sqlite3 *db, const char *key)
{
    char *sql = sqlite3_mprintf("SELECT number FROM entry WHERE instr(bytes, %s)", key);
    Text out = query(db, sql);
    sqlite3_free(sql);
    return out;
}

/* Call for each line of `keys`, cut off in place. */
static inline char *next_key(char **at)
{
    if (**at == '\0') return NULL;
    char *key = *at;
    size_t len = strcspn(key, "\n");
    *at = key + len + 1;
    key[len] = '\0';
    return key;
}

#endif
