/* Whatever is changed by hand in a store, in any row and column, is found, and the entry named. */
#include "tamper.h"

static bool first_text(void *context, const RecEntry *entry, Err *err)
{
    Text *commitment = context;
    (void)err;
    if (commitment->len == 0) text_add(commitment, json_string(json_get(entry->body, "text")));
    return true;
}

static bool count_entry(void *context, const RecEntry *entry, Err *err)
{
    (void)err;
    *(RecNumber *)context = entry->number;
    return true;
}

/* Three people, six runs of two models, remarks, an erasure, two starts and a clock put back. */
static void build(Store *store)
{
    Err err = {0};
    FakeClock fake = FAKE_START;
    RecOutside outside = fake_clock(&fake);
    Records *records = NULL;
    static const char *const names[] = {"Rosa Gr\xc3\xbcn", "Sam", "Bo"};
    char people[3][REC_ID_BYTES];
    Text commitment = {0};
    const RecFilter remarks = {.kind = "remark"};
    assert_ok(rec_open(store->base.bytes, REC_CREATE, "0.1.0", &outside, &records, &err));
    for (size_t i = 0; i < 3; i++) {
        assert_ok(rec_person_add(records, names[i], people[i], &err));
    }
    (void)add_run(records, people[0], "0 send\n1000 stop\n900 leave\n", "1", 7);
    (void)add_run(records, people[1], "0 send\n", "1", UINT64_MAX);
    assert_ok(add_remark(records, "station", 6, "came late", NULL, &err));
    assert_ok(add_remark(records, people[2], 7, "left early", NULL, &err));
    (void)add_run(records, people[0], "0 send\n1000 stop\n", "1", 12);
    rec_close(records);
    store->old = read_file(&store->base, "store.db");

    fake.wall_us -= 365 * 86400LL * SECOND_US;
    assert_ok(rec_open(store->base.bytes, REC_WRITE, "0.1.0", &outside, &records, &err));
    (void)add_run(records, people[2], "0 send\n", "2", 3); /* the log of another run */
    assert_ok(rec_each(records, &remarks, first_text, &commitment, &err));
    assert_ok(rec_erase(records, "station", commitment.bytes, "asked for", NULL, &err));
    assert_ok(add_remark(records, people[2], 9, "well done", NULL, &err));
    (void)add_run(records, people[1], "0 send\n2000 stop\n3000 hold\n", "1", 1);
    assert_ok(rec_each(records, NULL, count_entry, &store->count, &err));
    rec_close(records);
    text_clear(&commitment);
}

static int set_up(void **state)
{
    Store *store = check_calloc(1, sizeof *store);
    new_folder(&store->base);
    new_folder(&store->work);
    build(store);
    *state = store;
    return 0;
}

static int tear_down(void **state)
{
    Store *store = *state;
    remove_folder(&store->base);
    remove_folder(&store->work);
    text_clear(&store->old);
    free(store);
    return 0;
}

/* --- Tests ----------------------------------------------------------------------------------- */

static void test_rec_verify_untouched(void **state)
{
    Store *store = *state;
    Err err = {0};
    RecReport report = {0};
    int calls = 0;
    Text before = read_file(&store->base, "store.db");
    assert_ok(rec_verify(store->base.bytes, NULL, fake_rejudge, &calls, &report, &err));
    if (report.finding_count > 0) print_report(&report);
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.entries, store->count);
    assert_int_equal(report.people, 3);
    assert_int_equal(report.runs, 5);
    assert_int_equal(report.runs_rejudged, 5);
    assert_int_equal(calls, 5);
    assert_int_equal(report.contents, 7); /* scenario, site, no metals, four different logs */
    assert_int_equal(report.texts, 5);
    assert_int_equal(report.erasures, 1);
    assert_int_equal(report.note_count, 2);
    assert_non_null(strstr(report.notes[0].text.bytes, "not computed again: model 2"));
    assert_non_null(strstr(report.notes[0].text.bytes, "person Bo"));
    assert_non_null(strstr(report.notes[1].text.bytes, "all 16 entries anew"));
    rec_report_clear(&report);
    Text after = read_file(&store->base, "store.db");
    assert_int_equal(before.len, after.len);
    assert_memory_equal(before.bytes, after.bytes, before.len);
    text_clear(&before);
    text_clear(&after);
}

/* Every way of changing one value, tried on every row. */
static const char *const text_changes[] = {
    "''",
    "substr(COL, 2)",
    "substr(COL, 1, length(COL) - 1)",
    "COL || ' '",
    "COL || char(0)",
    "upper(COL)",
    ("substr(COL, 1, length(COL) / 2) || CASE substr(COL, length(COL) / 2 + 1, 1) WHEN '0' THEN "
     "'1' "
     "ELSE '0' END || substr(COL, length(COL) / 2 + 2)"),
    "substr(COL, 1, length(COL) - 1) || CASE substr(COL, -1) WHEN '0' THEN '1' ELSE '0' END",
};

static const char *const blob_changes[] = {
    "x''",
    "zeroblob(length(COL))",
    "CAST(CAST(COL AS TEXT) || 'x' AS BLOB)",
    "CAST(upper(CAST(COL AS TEXT)) AS BLOB)",
    "CAST(substr(CAST(COL AS TEXT), 2) AS BLOB)",
};

static const char *const number_changes[] = {"COL + 1000", "-COL", "9223372036854775807",
                                             "-9223372036854775807 - 1"};

static const struct {
    const char *table, *key, *column;
    const char *const *changes;
    size_t change_count;
} columns[] = {
    {"entry", "number", "number", number_changes, 4},
    {"entry", "number", "bytes", text_changes, 8},
    {"entry", "number", "hash", text_changes, 8},
    {"content", "hash", "hash", text_changes, 8},
    {"content", "hash", "bytes", blob_changes, 5},
    {"veiled", "commitment", "commitment", text_changes, 8},
    {"veiled", "commitment", "salt", text_changes, 8},
    {"veiled", "commitment", "text", text_changes, 8},
};

static void put_column(Text *sql, const char *change, const char *column)
{
    for (const char *at = change; *at != '\0';) {
        const char *next = strstr(at, "COL");
        if (next == NULL) next = at + strlen(at);
        text_add_bytes(sql, at, (size_t)(next - at));
        if (*next != '\0') text_add(sql, column);
        at = *next == '\0' ? next : next + 3;
    }
}

/* Each entry in the list of lines must be named. */
static void assert_names_all(const Store *store, const Text *numbers, const char *what)
{
    assert_true(numbers->len > 0);
    for (const char *at = numbers->bytes; *at != '\0'; at += strcspn(at, "\n") + 1) {
        assert_names(store, strtoll(at, NULL, 10), what);
    }
}

/* The entries that hold a row of `table` in place. */
static Text holders(sqlite3 *db, const char *table, const char *key)
{
    Text numbers = {0};
    if (strcmp(table, "entry") == 0)
        text_addf(&numbers, "%s\n", key);
    else
        numbers = entries_with(db, key);
    return numbers;
}

/* Change one value of one row in one way; returns 0 when the way changes nothing there. */
static int try_change(const Store *store, size_t column, size_t change, const char *key)
{
    Text sql = {0};
    Text value = {0};
    put_column(&value, columns[column].changes[change], columns[column].column);
    text_addf(&sql, "UPDATE %s SET %s = %s WHERE %s = %s AND %s IS NOT %s", columns[column].table,
              columns[column].column, value.bytes, columns[column].key, key, columns[column].column,
              value.bytes);
    copy_base(store);
    sqlite3 *db = open_work(store);
    Text numbers = holders(db, columns[column].table, key);
    int changes = tamper(db, sql.bytes);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    if (changes > 0) assert_names_all(store, &numbers, sql.bytes);
    text_clear(&numbers);
    text_clear(&value);
    text_clear(&sql);
    return changes;
}

static Text keys_of(const Store *store, const char *table, const char *key)
{
    copy_base(store);
    sqlite3 *db = open_work(store);
    char *sql = sqlite3_mprintf("SELECT quote(%s) FROM %s", key, table);
    Text keys = query(db, sql);
    sqlite3_free(sql);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    return keys;
}

static void test_rec_verify_every_value(void **state)
{
    Store *store = *state;
    int tried = 0;
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        Text keys = keys_of(store, columns[c].table, columns[c].key);
        char *at = keys.bytes;
        for (char *key = next_key(&at); key != NULL; key = next_key(&at)) {
            int changed = 0;
            for (size_t i = 0; i < columns[c].change_count; i++) {
                changed += try_change(store, c, i, key);
            }
            if (changed == 0) fail_msg("%s %s", columns[c].table, key);
            tried += changed;
        }
        text_clear(&keys);
    }
    print_message("%d changed values found\n", tried);
    assert_true(tried > 400);
}

static void test_rec_verify_every_row_removed(void **state)
{
    Store *store = *state;
    static const char *const tables[][2] = {
        {"entry", "number"}, {"content", "hash"}, {"veiled", "commitment"}};
    for (size_t t = 0; t < 3; t++) {
        Text keys = keys_of(store, tables[t][0], tables[t][1]);
        char *at = keys.bytes;
        for (char *key = next_key(&at); key != NULL; key = next_key(&at)) {
            copy_base(store);
            sqlite3 *db = open_work(store);
            Text numbers = holders(db, tables[t][0], key);
            char *sql =
                sqlite3_mprintf("DELETE FROM %s WHERE %s = %s", tables[t][0], tables[t][1], key);
            assert_int_equal(tamper(db, sql), 1);
            assert_int_equal(sqlite3_close(db), SQLITE_OK);
            assert_names_all(store, &numbers, sql);
            sqlite3_free(sql);
            text_clear(&numbers);
        }
        text_clear(&keys);
    }
}

/* Whoever changes an entry and gives its row the right hash is betrayed by the next entry; whoever
 * links all entries anew, by the head. */
static void test_rec_verify_rehashed(void **state)
{
    Store *store = *state;
    for (RecNumber number = 1; number <= store->count; number++) {
        for (int links = 0; links < 2; links++) {
            copy_base(store);
            sqlite3 *db = open_work(store);
            /* The last digit of the microseconds: nothing but the hash can know. */
            char *sql = sqlite3_mprintf(
                "UPDATE entry SET bytes = substr(bytes, 1, length(bytes) - 4) || '7Z\"}' "
                "WHERE number = %lld",
                (long long)number);
            assert_int_equal(tamper(db, sql), 1);
            rehash(store, db, links == 1, NULL);
            assert_int_equal(sqlite3_close(db), SQLITE_OK);
            RecNumber betrayer = links == 1 || number == store->count ? store->count : number + 1;
            assert_names(store, betrayer, sql);
            sqlite3_free(sql);
        }
    }
}

/* Everything made anew, the head too: only playing the run again finds it. Without, nothing can,
 * and the report says so; this is the limit that the manual names. */
static void test_rec_verify_rebuilt(void **state)
{
    Store *store = *state;
    Err err = {0};
    RecReport report = {0};
    Text head = {0};
    copy_base(store);
    sqlite3 *db = open_work(store);
    assert_int_equal(tamper(db, "UPDATE entry SET bytes = replace(bytes, '\"passed\":false', "
                                "'\"passed\":true') WHERE number = 7"),
                     1);
    rehash(store, db, true, &head);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    make_facts(store);
    write_file(&store->work, "head", &head);
    report = verify(store);
    assert_int_equal(report.finding_count, 1);
    assert_int_equal(report.findings[0].number, 7);
    assert_string_equal(report.findings[0].text.bytes,
                        "entry 7 (run of 2026-03-02T09:14:31Z, person Sam): scored again, it gives "
                        "another result than the stored one");
    rec_report_clear(&report);
    assert_ok(rec_verify(store->work.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_non_null(strstr(report.notes[0].text.bytes, "no run was played and scored again"));
    assert_non_null(strstr(report.notes[1].text.bytes, "could have made all 16 entries anew"));
    rec_report_clear(&report);
    text_clear(&head);
}

#define ID_OF_3                                                                                    \
    "(SELECT substr(bytes, instr(bytes, '\"person\":\"') + 10, 36) FROM entry WHERE number = 3)"
#define NAME_OF_5                                                                                  \
    "(SELECT substr(bytes, instr(bytes, '\"name\":\"') + 8, 64) FROM entry WHERE number = 5)"

/* Entries that never were so written, in a chain and with a head made anew to fit: what they say is
 * still checked. */
static const struct {
    const char *name, *sql, *says;
} forgeries[] = {
    {"nobody's run",
     "UPDATE entry SET bytes = '{\"author\":\"00000000-0000-4000-8000-000000000000' || "
     "substr(bytes, 48) WHERE number = 16",
     "the author is 00000000-0000-4000-8000-000000000000, who is not in the entries before"},
    {"the station's run",
     "UPDATE entry SET bytes = '{\"author\":\"station' || substr(bytes, 48) WHERE number = 16",
     "entry 16 (run of 2025-03-02T09:14:32Z): a run names no person"},
    {"a person twice",
     "UPDATE entry SET bytes = substr(bytes, 1, instr(bytes, '\"person\":\"') + 9) || " ID_OF_3
     " || substr(bytes, instr(bytes, '\"person\":\"') + 46) WHERE number = 4",
     "was added before"},
    {"an erasure of nothing",
     "UPDATE entry SET bytes = substr(bytes, 1, instr(bytes, '\"commitment\":\"') + 13) || "
     "replace(hex(zeroblob(32)), '0', 'a') || substr(bytes, instr(bytes, '\"commitment\":\"') + "
     "78) "
     "WHERE number = 14",
     "erases aaaaaaaaaaaa..., which no entry before it names"},
    {"an erasure without effect",
     "UPDATE entry SET bytes = substr(bytes, 1, instr(bytes, '\"commitment\":\"') + 13) "
     "|| " NAME_OF_5 " || substr(bytes, instr(bytes, '\"commitment\":\"') + 78) WHERE number = 14",
     "was erased, yet it is there"},
    {"a clock put back unsaid",
     "UPDATE entry SET bytes = replace(bytes, '\"time\":\"2025', '\"time\":\"2024') WHERE number = "
     "16",
     "us without a clock entry"},
    {"a clock moved otherwise",
     "UPDATE entry SET bytes = replace(bytes, '\"moved_us\":-3', '\"moved_us\":-2') WHERE number = "
     "11",
     "entry 11 (clock of 2025-03-02T09:14:32Z): says that PC time moved by"},
    {"a start too many",
     "UPDATE entry SET bytes = replace(bytes, '\"start\":2', '\"start\":5') WHERE number = 12",
     "start is 5 after 1 starts"},
    {"a remark about the future",
     "UPDATE entry SET bytes = substr(bytes, 1, instr(bytes, '\"about\":\"') + 8) || "
     "replace(hex(zeroblob(32)), '0', 'a') || substr(bytes, instr(bytes, '\"about\":\"') + 73) "
     "WHERE number = 15",
     "it is about aaaaaaaaaaaa..., which is no entry before it"},
    {"another station",
     "UPDATE entry SET bytes = substr(bytes, 1, instr(bytes, '\"station\":\"') + 10) || "
     "'00000000' || substr(bytes, instr(bytes, '\"station\":\"') + 19) WHERE number = 9",
     "entry 9 (remark of 2026-03-02T09:14:32Z, person Bo): its bytes are of station 00000000-"},
    {"another format",
     "UPDATE entry SET bytes = replace(bytes, '\"format\":2', '\"format\":3') WHERE number = 1",
     "format is not 2"},
    {"a field more",
     "UPDATE entry SET bytes = replace(bytes, '\"body\":{', '\"body\":{\"a\":1,') WHERE number = 6",
     "entry 6: was changed: 10 fields where 9 are known"},
    {"an unknown mode",
     "UPDATE entry SET bytes = replace(bytes, '\"practice\"', '\"exam\"') WHERE number = 6",
     "entry 6: was changed: mode is not well-formed"},
    {"an unknown kind",
     "UPDATE entry SET bytes = replace(bytes, '\"remark\"', '\"rumour\"') WHERE number = 9",
     "entry 9: was changed: kind \"rumour\" is unknown"},
    {"a space",
     "UPDATE entry SET bytes = replace(bytes, '\"time\":', '\"time\": ') WHERE number = 9",
     "entry 9: was changed: is not canonical JSON"},
    {"no JSON", "UPDATE entry SET bytes = substr(bytes, 2) WHERE number = 9",
     "entry 9: was changed: entry:1:"},
};

static void test_rec_verify_forged(void **state)
{
    Store *store = *state;
    for (size_t i = 0; i < sizeof forgeries / sizeof forgeries[0]; i++) {
        Text head = {0};
        copy_base(store);
        sqlite3 *db = open_work(store);
        if (tamper(db, forgeries[i].sql) != 1) fail_msg("%s: no row", forgeries[i].name);
        rehash(store, db, true, &head);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        make_facts(store);
        write_file(&store->work, "head", &head);
        RecReport report = verify(store);
        if (!says(&report, forgeries[i].says)) {
            print_report(&report);
            fail_msg("%s: nothing says \"%s\"", forgeries[i].name, forgeries[i].says);
        }
        rec_report_clear(&report);
        text_clear(&head);
    }
}

/* Changes by SQL that are no single value, and the words that must be said. */
static const struct {
    const char *name, *sql, *says;
} sql_changes[] = {
    {"copied entry",
     "INSERT INTO entry SELECT station, 17, bytes, hash FROM entry WHERE number = 6",
     "entry 17 (run of 2026-03-02T09:14:31Z, person Rosa Gr\xc3\xbcn): its row has this "
     "number, "
     "its bytes say 6"},
    {"copied entry in front",
     "INSERT INTO entry SELECT station, 0, bytes, hash FROM entry WHERE number = 1",
     "entry 0: no entry has such a number; it was added"},
    {"swapped entries",
     "UPDATE entry SET number = -1 WHERE number = 6; UPDATE entry SET number = 6 WHERE number "
     "= 7;"
     "UPDATE entry SET number = 7 WHERE number = -1",
     "entry 6 (run of 2026-03-02T09:14:31Z, person Sam): its row has this number, its bytes "
     "say "
     "7"},
    {"end cut off", "DELETE FROM entry WHERE number > 13",
     "entries 14 to 16 are missing: head states them, the end was cut off"},
    {"last cut off", "DELETE FROM entry WHERE number = 16",
     "entry 16 is missing: head states them, the end was cut off"},
    {"all removed", "DELETE FROM entry", "entries 1 to 16 are missing"},
    {"some removed", "DELETE FROM entry WHERE number BETWEEN 4 AND 6",
     "entries 4 to 6 are missing"},
    {"content added",
     "INSERT INTO content SELECT 'x' || substr(hash, 2), bytes FROM content "
     "ORDER BY hash LIMIT 1",
     "is named by no entry"},
    {"text added",
     "INSERT INTO veiled SELECT 'x' || substr(commitment, 2), salt, text FROM "
     "veiled ORDER BY commitment LIMIT 1",
     "is named by no entry"},
    {"texts swapped between two people",
     "CREATE TEMP TABLE t AS SELECT * FROM veiled WHERE text IN ('Sam', 'Bo');"
     "UPDATE veiled SET (salt, text) = (SELECT t.salt, t.text FROM t WHERE t.commitment <> "
     "veiled.commitment) WHERE text IN ('Sam', 'Bo')",
     "entry 4 (person of 2026-03-02T09:14:31Z): its name"},
    {"contents swapped",
     "CREATE TEMP TABLE t AS SELECT * FROM content ORDER BY hash LIMIT 2;"
     "UPDATE content SET bytes = (SELECT t.bytes FROM t WHERE t.hash <> content.hash) WHERE "
     "hash "
     "IN (SELECT hash FROM t)",
     "was changed"},
    {"application_id", "PRAGMA application_id = 7", "application_id is 7, must be 1414553971"},
    {"user_version", "PRAGMA user_version = 3", "user_version is 3, must be 2"},
    {"journal", "PRAGMA journal_mode = WAL", "journal_mode was changed, must be delete"},
    {"table added", "CREATE TABLE extra(a)", "the schema has \"extra\", which is not ours"},
    {"index added", "CREATE INDEX by_hash ON entry(hash)", "the schema has \"by_hash\""},
    {"column added", "ALTER TABLE entry ADD COLUMN extra TEXT",
     "\"entry\" in the schema was changed"},
    {"table gone", "DROP TABLE veiled", "\"veiled\" is missing from the schema"},
    {"table renamed", "ALTER TABLE content RENAME TO contents",
     "\"content\" is missing from the schema"},
    {"statistics", "ANALYZE", "the schema has \"sqlite_stat1\""},
};

static void test_rec_verify_sql(void **state)
{
    Store *store = *state;
    for (size_t i = 0; i < sizeof sql_changes / sizeof sql_changes[0]; i++) {
        copy_base(store);
        sqlite3 *db = open_work(store);
        if (strstr(sql_changes[i].name, "gone") != NULL ||
            strstr(sql_changes[i].name, "renamed") != NULL) {
            must_run(db, sql_changes[i].sql);
        } else {
            (void)tamper(db, sql_changes[i].sql);
        }
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        RecReport report = verify(store);
        if (!says(&report, sql_changes[i].says)) {
            print_report(&report);
            fail_msg("%s: nothing says \"%s\"", sql_changes[i].name, sql_changes[i].says);
        }
        rec_report_clear(&report);
    }
}

/* Triggers that were dropped or weakened are named one by one. */
static void test_rec_verify_triggers(void **state)
{
    Store *store = *state;
    static const char *const names[] = {"content_no_delete", "content_no_update",
                                        "entry_no_delete",   "entry_no_update",
                                        "veiled_no_delete",  "veiled_no_update"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        Text sql = {0};
        Text want = {0};
        copy_base(store);
        text_addf(&sql, "DROP TRIGGER %s", names[i]);
        raw_sql(&store->work, sql.bytes);
        text_addf(&want, "\"%s\" is missing from the schema", names[i]);
        RecReport report = verify(store);
        assert_int_equal(report.finding_count, 1);
        assert_true(says(&report, want.bytes));
        rec_report_clear(&report);
        text_addf(&sql, "; CREATE TRIGGER %s BEFORE DELETE ON entry BEGIN SELECT 1; END", names[i]);
        copy_base(store);
        raw_sql(&store->work, sql.bytes);
        text_clear(&want);
        text_addf(&want, "\"%s\" in the schema was changed", names[i]);
        report = verify(store);
        assert_true(says(&report, want.bytes));
        rec_report_clear(&report);
        text_clear(&sql);
        text_clear(&want);
    }
}

/* While they are there, the triggers refuse each change, also by REPLACE in our own connections. */
static void test_rec_triggers_refuse(void **state)
{
    Store *store = *state;
    static const struct {
        const char *sql, *says;
    } rows[] = {
        {"UPDATE entry SET hash = ''", "records only grow"},
        {"DELETE FROM entry WHERE number = 16", "records only grow"},
        {"UPDATE content SET bytes = x''", "records only grow"},
        {"DELETE FROM content", "records only grow"},
        {"UPDATE veiled SET text = 'Nobody'", "records only grow"},
        {"DELETE FROM veiled WHERE text = 'Sam'", "a text goes only by an erasure entry"},
        {"PRAGMA recursive_triggers = ON; REPLACE INTO entry SELECT station, 1, '', '' FROM entry "
         "WHERE number = 1",
         "records only grow"},
        {"INSERT INTO entry VALUES ('s', 17, 1.5, x'00')",
         "cannot store BLOB value in TEXT column"},
    };
    copy_base(store);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text wrong = {0};
        raw_error(&store->work, rows[i].sql, &wrong);
        if (strstr(wrong.bytes, rows[i].says) == NULL) fail_msg("%s: %s", rows[i].sql, wrong.bytes);
        text_clear(&wrong);
    }
    assert_clean(&store->work);
}

static void test_rec_verify_head(void **state)
{
    Store *store = *state;
    Text head = read_file(&store->base, "head");
    RecReport report;
    /* Any one character changed, left out or added. */
    for (size_t i = 0; i <= head.len; i++) {
        for (int way = 0; way < 3; way++) {
            Text changed = {0};
            if (i == head.len && way != 2) continue;
            text_add_bytes(&changed, head.bytes, i);
            if (way != 1) text_add(&changed, i < head.len && head.bytes[i] == '5' ? "6" : "5");
            text_add_bytes(&changed, head.bytes + i + (way < 2), head.len - i - (way < 2));
            copy_base(store);
            write_file(&store->work, "head", &changed);
            report = verify(store);
            if (report.finding_count == 0) fail_msg("head at %zu, way %d", i, way);
            rec_report_clear(&report);
            text_clear(&changed);
        }
    }
    copy_base(store);
    remove_file(&store->work, "head");
    report = verify(store);
    assert_int_equal(report.finding_count, 1);
    assert_string_equal(report.findings[0].text.bytes, "store: head: is missing");
    rec_report_clear(&report);

    /* A head without a hash that states an entry which is not there. */
    Text bare = {0};
    text_addf(&bare, "%.36s\n7\n\n2026-03-02T09:14:31.000000Z\n", head.bytes);
    write_file(&store->work, "head", &bare);
    sqlite3 *db = open_work(store);
    (void)tamper(db, "DELETE FROM entry WHERE number = 7");
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    report = verify(store);
    assert_true(says(&report, "head: was changed"));
    rec_report_clear(&report);
    text_clear(&bare);

    Text large = {0};
    for (int i = 0; i < 100; i++) {
        text_add_bytes(&large, head.bytes, head.len);
    }
    write_file(&store->work, "head", &large);
    report = verify(store);
    assert_true(says(&report, "head: was changed"));
    rec_report_clear(&report);
    text_clear(&large);
    text_clear(&head);
}

/* An old copy of the database under the new head. */
static void test_rec_verify_old_copy(void **state)
{
    Store *store = *state;
    Err err = {0};
    Records *records = NULL;
    copy_base(store);
    write_file(&store->work, "store.db", &store->old);
    RecReport report = verify(store);
    assert_true(says(&report, "entries 11 to 16 are missing: head states them"));
    rec_report_clear(&report);
    /* And nothing is written over the head that tells. */
    assert_false(rec_open(store->work.bytes, REC_WRITE, "0.1.0", NULL, &records, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_non_null(strstr(err.text, "head and store.db disagree"));
    assert_false(rec_open(store->work.bytes, REC_CREATE, "0.1.0", NULL, &records, &err));
    remove_file(&store->work, "store.db");
    assert_false(rec_open(store->work.bytes, REC_CREATE, "0.1.0", NULL, &records, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_non_null(strstr(err.text, "has a head but no store.db"));
    assert_false(rec_verify(store->work.bytes, NULL, NULL, NULL, &report, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
}

/* Each byte of the file changed, in steps: never a crash, and what is not found is in no row. */
static void test_rec_verify_torn_file(void **state)
{
    Store *store = *state;
    Text base = read_file(&store->base, "store.db");
    int found = 0;
    int tried = 0;
    for (size_t i = 0; i < base.len; i += 61) {
        Err err = {0};
        RecReport report = {0};
        char kept = base.bytes[i];
        base.bytes[i] = (char)(kept ^ 0x55);
        copy_base(store);
        write_file(&store->work, "store.db", &base);
        tried++;
        if (!rec_verify(store->work.bytes, NULL, NULL, NULL, &report, &err))
            found += err.text[0] != '\0';
        else
            found += report.finding_count > 0;
        rec_report_clear(&report);
        base.bytes[i] = kept;
    }
    print_message("%d of %d changed bytes found; the others are unused space\n", found, tried);
    assert_true(found > tried / 10);
    text_clear(&base);
}

static bool broken_rejudge(void *context, const RecRunView *run, Text *result, Text *why)
{
    (void)context;
    if (run->number == 6) {
        text_add(why, "happening 3 at 1000 us differs");
        return false;
    }
    text_add(result, run->number == 7 ? "{\"points\":" : "{\"points\":0.5}");
    return true;
}

static void test_rec_verify_rejudge_refuses(void **state)
{
    Store *store = *state;
    Err err = {0};
    RecReport report = {0};
    assert_ok(rec_verify(store->base.bytes, NULL, broken_rejudge, NULL, &report, &err));
    assert_int_equal(report.finding_count, 5);
    assert_string_equal(report.findings[0].text.bytes,
                        "entry 6 (run of 2026-03-02T09:14:31Z, person Rosa Gr\xc3\xbcn): played "
                        "again: happening 3 at 1000 us differs");
    assert_non_null(strstr(report.findings[1].text.bytes, "scored again, it gives no result"));
    assert_non_null(strstr(report.findings[2].text.bytes, "0.5 cannot be recorded"));
    rec_report_clear(&report);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_verify_untouched),
        cmocka_unit_test(test_rec_verify_every_value),
        cmocka_unit_test(test_rec_verify_every_row_removed),
        cmocka_unit_test(test_rec_verify_rehashed),
        cmocka_unit_test(test_rec_verify_rebuilt),
        cmocka_unit_test(test_rec_verify_forged),
        cmocka_unit_test(test_rec_verify_sql),
        cmocka_unit_test(test_rec_verify_triggers),
        cmocka_unit_test(test_rec_triggers_refuse),
        cmocka_unit_test(test_rec_verify_head),
        cmocka_unit_test(test_rec_verify_old_copy),
        cmocka_unit_test(test_rec_verify_torn_file),
        cmocka_unit_test(test_rec_verify_rejudge_refuses),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
