/* Whatever is changed by hand in a store with every kind of entry is found: each value, each field
 * of each kind, rows removed, copied, swapped and added, signatures moved and made with other
 * keys. */
#include "kinds.h"
#include "tamper.h"

static int set_up(void **state)
{
    Store *store = check_calloc(1, sizeof *store);
    Site site;
    RecHead *heads = NULL;
    size_t count = 0;
    Err err = {0};
    full_site(&site);
    assert_ok(rec_heads(site.records, &heads, &count, &err));
    for (size_t i = 0; i < count; i++) {
        if (strcmp(heads[i].station, rec_station(site.records)) == 0)
            store->count = heads[i].number;
    }
    free(heads);
    rec_close(site.records);
    store->base = site.folder;
    new_folder(&store->work);
    *state = store;
    return 0;
}

static int tear_down(void **state)
{
    Store *store = *state;
    remove_folder(&store->base);
    remove_folder(&store->work);
    free(store);
    return 0;
}

/* --- Values and rows ------------------------------------------------------------------------- */

static const struct {
    const char *table, *key, *column;
    const char *changes[3];
} columns[] = {
    {"entry", "hash", "station", {"'' || substr(COL, 2)", "'x'", "upper(COL)"}},
    {"entry", "hash", "number", {"COL + 1000", "-COL", NULL}},
    {"entry", "hash", "bytes", {"substr(COL, 2)", "replace(COL, 'a', 'b')", NULL}},
    {"entry", "hash", "hash", {"substr(COL, 2) || '0'", "upper(COL)", "''"}},
    {"fact", "hash", "station", {"'x'", NULL, NULL}},
    {"fact", "hash", "number", {"COL + 1000", "-COL", NULL}},
    {"fact", "hash", "hash", {"substr(COL, 2) || '0'", NULL, NULL}},
    {"fact", "hash", "time_us", {"COL + 1", NULL, NULL}},
    {"fact", "hash", "kind", {"'remark'", "'x'", NULL}},
    {"fact", "hash", "author", {"'station'", "'x'", NULL}},
    {"fact", "hash", "person", {"''", "'x'", NULL}},
    {"fact", "hash", "subject", {"''", "COL || 'x'", NULL}},
    {"fact", "hash", "value", {"COL || ' '", "'{}'", NULL}},
};

static void replace_all(Text *out, const char *in, const char *column)
{
    for (const char *at = in; *at != '\0';) {
        bool is_column = strncmp(at, "COL", 3) == 0;
        if (is_column)
            text_add(out, column);
        else
            text_add_bytes(out, at, 1);
        at += is_column ? 3 : 1;
    }
}

/* The number of the entry that a row of `table` belongs to, by its hash. */
static RecNumber number_of(sqlite3 *db, const char *table, const char *key)
{
    Text sql = {0};
    text_addf(&sql, "SELECT number FROM %s WHERE hash = %s", table, key);
    Text got = query(db, sql.bytes);
    RecNumber number = strtoll(got.bytes, NULL, 10);
    text_clear(&got);
    text_clear(&sql);
    return number;
}

static int try_change(const Store *store, size_t at, const char *change, const char *key)
{
    Text sql = {0};
    Text value = {0};
    replace_all(&value, change, columns[at].column);
    text_addf(&sql, "UPDATE %s SET %s = %s WHERE hash = %s AND %s IS NOT %s", columns[at].table,
              columns[at].column, value.bytes, key, columns[at].column, value.bytes);
    copy_base(store);
    sqlite3 *db = open_work(store);
    RecNumber number = number_of(db, columns[at].table, key);
    int changes = tamper(db, sql.bytes);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    if (changes > 0) assert_names(store, number, sql.bytes);
    text_clear(&value);
    text_clear(&sql);
    return changes;
}

static Text keys_of(const Store *store, const char *sql)
{
    copy_base(store);
    sqlite3 *db = open_work(store);
    Text keys = query(db, sql);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    return keys;
}

static void test_rec_verify_every_value(void **state)
{
    const Store *store = *state;
    int tried = 0;
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        Text keys = keys_of(store, "SELECT quote(hash) FROM entry");
        char *at = keys.bytes;
        for (char *key = next_key(&at); key != NULL; key = next_key(&at)) {
            for (size_t i = 0; i < 3 && columns[c].changes[i] != NULL; i++) {
                tried += try_change(store, c, columns[c].changes[i], key);
            }
        }
        text_clear(&keys);
    }
    print_message("%d changed values found\n", tried);
    assert_true(tried > 700);
}

/* Each row removed, and each entry and fact copied under another number. */
static const char *const row_changes[] = {
    "DELETE FROM entry WHERE hash = %s",
    "DELETE FROM fact WHERE hash = %s",
    "INSERT INTO entry SELECT station, number + 1000, bytes, hash FROM entry WHERE hash = %s",
    ("INSERT INTO fact SELECT station, number + 1000, hash, time_us, kind, author, person, "
     "subject, "
     "value FROM fact WHERE hash = %s"),
};

static void test_rec_verify_every_row(void **state)
{
    const Store *store = *state;
    for (size_t i = 0; i < sizeof row_changes / sizeof row_changes[0]; i++) {
        Text keys = keys_of(store, "SELECT quote(hash) FROM entry");
        char *at = keys.bytes;
        for (char *key = next_key(&at); key != NULL; key = next_key(&at)) {
            copy_base(store);
            sqlite3 *db = open_work(store);
            RecNumber number = number_of(db, "entry", key) + (i < 2 ? 0 : 1000);
            const char *place = strstr(row_changes[i], "%s");
            Text sql = {0};
            text_add_bytes(&sql, row_changes[i], (size_t)(place - row_changes[i]));
            text_add(&sql, key);
            assert_int_equal(tamper(db, sql.bytes), 1);
            assert_int_equal(sqlite3_close(db), SQLITE_OK);
            assert_names(store, number, sql.bytes);
            text_clear(&sql);
        }
        text_clear(&keys);
    }
}

/* Each entry in the place of the next, with its row's number or as its bytes say it. */
static void test_rec_verify_every_swap(void **state)
{
    const Store *store = *state;
    for (RecNumber number = 1; number < store->count; number++) {
        Text sql = {0};
        const char *own = "(SELECT station FROM entry GROUP BY station ORDER BY count(*) DESC "
                          "LIMIT 1)";
        copy_base(store);
        sqlite3 *db = open_work(store);
        text_addf(
            &sql,
            "CREATE TEMP TABLE o AS SELECT %s AS s;"
            "UPDATE entry SET number = -1 WHERE number = %lld AND station = (SELECT s FROM o);"
            "UPDATE entry SET number = %lld WHERE number = %lld AND station = (SELECT s FROM "
            "o);"
            "UPDATE entry SET number = %lld WHERE number = -1",
            own, (long long)number, (long long)number, (long long)number + 1,
            (long long)number + 1);
        assert_int_equal(tamper(db, sql.bytes), 1);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        assert_names(store, number, sql.bytes);
        assert_names(store, number + 1, sql.bytes);
        text_clear(&sql);
    }
}

/* --- Fields ---------------------------------------------------------------------------------- */

/* Change the first letter, digit or word of the value of `key` in the body; false when it has
 * none. */
static bool mutate(Text *bytes, const char *key)
{
    Text look = {0};
    text_addf(&look, "\"%s\":", key);
    char *body = strstr(bytes->bytes, "\"body\":{");
    char *at = strstr(body + 7, look.bytes);
    assert_non_null(at);
    at += look.len;
    text_clear(&look);
    char *end = at;
    /* In a list or object: its first value. Keys in it come first only in "contents". */
    while (*end == '[' || *end == '{' || *end == '"') {
        end++;
    }
    if (strncmp(end, "true", 4) == 0 || strncmp(end, "false", 5) == 0) {
        bool is_true = *end == 't';
        Text changed = {0};
        text_add_bytes(&changed, bytes->bytes, (size_t)(end - bytes->bytes));
        text_add(&changed, is_true ? "false" : "true");
        text_add(&changed, end + (is_true ? 4 : 5));
        text_clear(bytes);
        *bytes = changed;
        return true;
    }
    if (*end == '-') end++;
    if (*end == ']' || *end == ',' || *end == '}') return false; /* empty */
    *end = (char)(*end == '1' ? '2' : *end >= '0' && *end <= '9' ? '1' : *end == 'b' ? 'c' : 'b');
    return true;
}

static void set_bytes(sqlite3 *db, const char *station, RecNumber number, const Text *bytes)
{
    must_run(db, "DROP TRIGGER entry_no_update");
    sqlite3_stmt *write =
        prepare(db, "UPDATE entry SET bytes = ?1 WHERE number = ?2 AND station = ?3");
    (void)sqlite3_bind_text(write, 1, bytes->bytes, (int)bytes->len, SQLITE_STATIC);
    (void)sqlite3_bind_int64(write, 2, number);
    (void)sqlite3_bind_text(write, 3, station, -1, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(write), SQLITE_DONE);
    assert_int_equal(sqlite3_changes(db), 1);
    (void)sqlite3_finalize(write);
    must_run(db, "CREATE TRIGGER entry_no_update BEFORE update ON entry BEGIN SELECT RAISE(ABORT, "
                 "'records only grow'); END");
}

static RecEntry entry_at(sqlite3 *db, const char *station, RecNumber number, Text *bytes)
{
    Err err = {0};
    RecEntry entry = {0};
    sqlite3_stmt *read = prepare(db, "SELECT bytes FROM entry WHERE number = ?1 AND station = ?2");
    (void)sqlite3_bind_int64(read, 1, number);
    (void)sqlite3_bind_text(read, 2, station, -1, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(read), SQLITE_ROW);
    text_clear(bytes);
    text_add_bytes(bytes, sqlite3_column_blob(read, 0), (size_t)sqlite3_column_bytes(read, 0));
    (void)sqlite3_finalize(read);
    assert_ok(rec_entry_read(bytes, &entry, &err));
    return entry;
}

/* How much of the store the forger makes anew after the change. */
typedef enum { NOTHING, OWN_HASH, ALL, WAYS } Way;

static RecReport forge(const Store *store, const char *station, RecNumber number, const Text *bytes,
                       Way way)
{
    Text head = {0};
    copy_base(store);
    sqlite3 *db = open_work(store);
    set_bytes(db, station, number, bytes);
    if (way != NOTHING) rehash(store, db, way == ALL, &head);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    if (way == ALL) {
        write_file(&store->work, "head", &head);
        make_facts(store);
    }
    text_clear(&head);
    return verify(store);
}

static Text own_station(const Store *store)
{
    Text head = read_file(&store->base, "head");
    head.bytes[36] = '\0';
    head.len = 36;
    return head;
}

/* The last entry of kind "signature": its head stands for all before it. */
static RecNumber last_signature(sqlite3 *db, const char *station, RecNumber count)
{
    RecNumber last = 0;
    for (RecNumber i = 1; i <= count; i++) {
        Text bytes = {0};
        RecEntry entry = entry_at(db, station, i, &bytes);
        if (entry.kind_code == REC_KIND_SIGNATURE) last = i;
        rec_entry_clear(&entry);
        text_clear(&bytes);
    }
    return last;
}

/* Each field of each kind: changed alone it is found in its entry; with its row's hash made anew,
 * in the next one or the head; and with everything made anew, hashes, links, facts and the head
 * signed with the station's key, still wherever a person's signature stands for it. */
/* The same of a copy; false, and no copy, when there is nothing to change. */
static bool mutate_copy(const Text *bytes, const char *key, Text *copy)
{
    text_add_bytes(copy, bytes->bytes, bytes->len);
    if (mutate(copy, key)) return true;
    text_clear(copy);
    return false;
}

static void want_found(bool must_find, bool must_name, const RecReport *report, RecNumber number,
                       const char *what)
{
    if (must_find && report->finding_count == 0) fail_msg("%s", what);
    if (must_name && !names_entry(report, number)) fail_msg("%s", what);
}

static void must_say(const RecReport *report, const char *words, RecNumber number, const char *kind)
{
    if (says(report, words) && names_entry(report, number)) return;
    print_report(report);
    fail_msg("%s: not said: %s", kind, words);
}

static void test_rec_verify_every_field(void **state)
{
    const Store *store = *state;
    Text station = own_station(store);
    int tried = 0;
    copy_base(store);
    sqlite3 *db = open_work(store);
    RecNumber signed_until = last_signature(db, station.bytes, store->count);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    assert_true(signed_until > 20);
    for (RecNumber number = 1; number <= store->count; number++) {
        Text bytes = {0};
        size_t count = 0;
        copy_base(store);
        db = open_work(store);
        RecEntry entry = entry_at(db, station.bytes, number, &bytes);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        const RecField *fields = rec_fields(entry.kind_code, &count);
        bool is_signed =
            entry.kind_code == REC_KIND_WITHDRAWAL || entry.kind_code == REC_KIND_STATION_KEY;
        for (size_t i = 0; i < count; i++) {
            for (Way way = NOTHING; way < WAYS; way++) {
                Text changed = {0};
                Text what = {0};
                if (!mutate_copy(&bytes, fields[i].key, &changed)) continue;
                RecReport report = forge(store, station.bytes, number, &changed, way);
                text_addf(&what, "%s of %s, way %d, entry %lld", fields[i].key, entry.kind,
                          (int)way, (long long)number);
                bool must_name = way == NOTHING;
                bool must_find = way != ALL || is_signed || number <= signed_until;
                want_found(must_find, must_name, &report, number, what.bytes);
                tried += report.finding_count > 0;
                rec_report_clear(&report);
                text_clear(&what);
                text_clear(&changed);
            }
        }
        rec_entry_clear(&entry);
        text_clear(&bytes);
    }
    print_message("%d changed fields found\n", tried);
    assert_true(tried > 250);
    text_clear(&station);
}

/* --- Signatures ------------------------------------------------------------------------------ */

/* Make the body's signature anew with somebody's key; with `key` that key is named too. */
static void sign_anew(const RecEntry *entry, int who, bool names_key, Text *bytes)
{
    Err err = {0};
    RecEntry changed = {0};
    Text message = {0};
    unsigned char signature[REC_SIGNATURE_BYTES];
    char hex[2 * REC_SIGNATURE_BYTES + 1];
    RecHash key = key_of(who);
    char *at = strstr(bytes->bytes, "\"key\":\"");
    if (names_key) memcpy(at + 7, key.hex, REC_HEX_BYTES - 1);
    assert_ok(rec_entry_read(bytes, &changed, &err));
    assert_ok(rec_message_print(entry->author, changed.body, entry->kind_code, entry->station,
                                &message, &err));
    rec_ed25519_sign(seed_of(who).bytes, message.bytes, message.len, signature);
    rec_hex_print(signature, sizeof signature, hex);
    at = strstr(bytes->bytes, "\"signature\":\"");
    memcpy(at + 13, hex, sizeof hex - 1);
    rec_entry_clear(&changed);
    text_clear(&message);
}

static void test_rec_verify_other_keys(void **state)
{
    const Store *store = *state;
    Text station = own_station(store);
    int tried = 0;
    static const struct {
        int who;
        bool names_key;
        const char *says;
    } rows[] = {{TOM, true, "is not the author's at this place"},  /* a key that was lost */
                {ROSA, true, "is not the author's at this place"}, /* one that never was */
                {TOM, false, "its signature is not the author's"}};
    for (RecNumber number = 1; number <= store->count; number++) {
        Text bytes = {0};
        copy_base(store);
        sqlite3 *db = open_work(store);
        RecEntry entry = entry_at(db, station.bytes, number, &bytes);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        bool is_signed = json_get(entry.body, "signature") != NULL;
        for (size_t i = 0; is_signed && i < 3; i++) {
            Text changed = {0};
            text_add_bytes(&changed, bytes.bytes, bytes.len);
            sign_anew(&entry, rows[i].who, rows[i].names_key, &changed);
            RecReport report = forge(store, station.bytes, number, &changed, ALL);
            must_say(&report, rows[i].says, number, entry.kind);
            rec_report_clear(&report);
            text_clear(&changed);
            tried++;
        }
        rec_entry_clear(&entry);
        text_clear(&bytes);
    }
    assert_int_equal(tried, 9); /* signature, withdrawal, station-key */
    text_clear(&station);
}

/* A signature put into a later place by somebody who has the station's key: with its old head it
 * does not fit there, with a new one it is not the person's any more. */
static void test_rec_verify_signature_moved(void **state)
{
    const Store *store = *state;
    Text station = own_station(store);
    for (int with_head = 0; with_head < 2; with_head++) {
        Text bytes = {0};
        Text last_bytes = {0};
        Text moved = {0};
        Text head = {0};
        copy_base(store);
        sqlite3 *db = open_work(store);
        RecNumber number = last_signature(db, station.bytes, store->count);
        RecEntry entry = entry_at(db, station.bytes, number, &bytes);
        RecEntry last = entry_at(db, station.bytes, store->count, &last_bytes);
        RecEntry copy = last;
        copy.number++;
        copy.previous = last.hash.hex;
        copy.author = entry.author;
        copy.kind = entry.kind;
        const char *body = strstr(bytes.bytes, "\"body\":") + 7;
        const char *end = strstr(bytes.bytes, ",\"kind\":");
        Text body_json = {0};
        text_add_bytes(&body_json, body, (size_t)(end - body));
        if (with_head == 1) {
            char *hash = strstr(body_json.bytes, "\"head\":{\"hash\":\"") + 16;
            Text rest = {0};
            memcpy(hash, last.hash.hex, REC_HEX_BYTES - 1);
            char *at = strstr(hash, "\"number\":") + 9;
            text_add(&rest, at + strcspn(at, "}"));
            body_json.len = (size_t)(at - body_json.bytes);
            text_addf(&body_json, "%lld%s", (long long)last.number, rest.bytes);
            text_clear(&rest);
        }
        Err err = {0};
        assert_ok(rec_entry_print(&copy, body_json.bytes, &moved, &err));
        sqlite3_stmt *add = prepare(db, "INSERT INTO entry VALUES (?1, ?2, ?3, ?4)");
        RecHash hash = rec_entry_hash(&moved);
        (void)sqlite3_bind_text(add, 1, station.bytes, -1, SQLITE_STATIC);
        (void)sqlite3_bind_int64(add, 2, copy.number);
        (void)sqlite3_bind_text(add, 3, moved.bytes, -1, SQLITE_STATIC);
        (void)sqlite3_bind_text(add, 4, hash.hex, -1, SQLITE_STATIC);
        assert_int_equal(sqlite3_step(add), SQLITE_DONE);
        (void)sqlite3_finalize(add);
        print_head(store, &moved, &head);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        write_file(&store->work, "head", &head);
        make_facts(store);
        RecReport report = verify(store);
        assert_true(names_entry(&report, copy.number));
        if (!says(&report, with_head == 1
                               ? "its signature is not the author's"
                               : "the head it was signed at is not the entry before it")) {
            print_report(&report);
            fail_msg("with_head %d", with_head);
        }
        rec_report_clear(&report);
        rec_entry_clear(&entry);
        rec_entry_clear(&last);
        text_clear(&body_json);
        text_clear(&bytes);
        text_clear(&last_bytes);
        text_clear(&moved);
        text_clear(&head);
    }
    text_clear(&station);
}

/* --- Other stations -------------------------------------------------------------------------- */

static const struct {
    const char *name, *sql, *says;
} foreign[] = {
    {"end cut off",
     "DELETE FROM entry WHERE number = (SELECT max(number) FROM entry WHERE station = (SELECT s "
     "FROM other)) AND station = (SELECT s FROM other)",
     "entry 4 is missing: the head in entry"},
    {"all removed", "DELETE FROM entry WHERE station = (SELECT s FROM other)",
     "entries 1 to 4 are missing: the head in entry"},
    {"one removed", "DELETE FROM entry WHERE station = (SELECT s FROM other) AND number = 2",
     "entry 2 is missing"},
    {"a station made up",
     "INSERT INTO entry SELECT '00000000-0000-4000-8000-000000000000', number, bytes, hash FROM "
     "entry WHERE station = (SELECT s FROM other)",
     "its bytes are of station"},
};

static void test_rec_verify_foreign(void **state)
{
    const Store *store = *state;
    for (size_t i = 0; i < sizeof foreign / sizeof foreign[0]; i++) {
        Text sql = {0};
        copy_base(store);
        sqlite3 *db = open_work(store);
        text_addf(
            &sql,
            "CREATE TEMP TABLE other AS SELECT station AS s FROM entry GROUP BY station ORDER "
            "BY count(*) LIMIT 1; %s",
            foreign[i].sql);
        (void)tamper(db, sql.bytes);
        assert_int_equal(sqlite3_close(db), SQLITE_OK);
        make_facts(store);
        RecReport report = verify(store);
        if (!says(&report, foreign[i].says)) {
            print_report(&report);
            fail_msg("%s", foreign[i].name);
        }
        rec_report_clear(&report);
        text_clear(&sql);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_verify_every_value),
        cmocka_unit_test(test_rec_verify_every_row),
        cmocka_unit_test(test_rec_verify_every_swap),
        cmocka_unit_test(test_rec_verify_every_field),
        cmocka_unit_test(test_rec_verify_other_keys),
        cmocka_unit_test(test_rec_verify_signature_moved),
        cmocka_unit_test(test_rec_verify_foreign),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
