/* The ledger as it is meant to be used. */
#include "fixture.h"

#include "records/head.h"

static const char ROSA[] = "Rosa Gr\xc3\xbcn";

typedef struct {
    Text folder;
    FakeClock fake;
    Records *records;
} Fixture;

static Fixture open_new(void)
{
    Fixture fixture = {.fake = FAKE_START};
    new_folder(&fixture.folder);
    return fixture;
}

static void open_again(Fixture *fixture, RecMode mode)
{
    Err err = {0};
    RecOutside outside = fake_clock(&fixture->fake);
    rec_close(fixture->records);
    fixture->records = NULL;
    assert_ok(rec_open(fixture->folder.bytes, mode, "0.1.0", &outside, &fixture->records, &err));
}

static void end(Fixture *fixture)
{
    rec_close(fixture->records);
    assert_clean(&fixture->folder);
    remove_folder(&fixture->folder);
}

/* All entries as "number kind author-is-person start", one a line. */
static bool list_entry(void *context, const RecEntry *entry, Err *err)
{
    (void)err;
    text_addf(context, "%lld %s %s %lld\n", (long long)entry->number, entry->kind,
              strcmp(entry->author, "station") == 0 ? "station" : "person",
              (long long)entry->start);
    return true;
}

static Text list(Records *records, const RecFilter *filter)
{
    Err err = {0};
    Text out = {0};
    assert_ok(rec_each(records, filter, list_entry, &out, &err));
    return out;
}

static void assert_list(Records *records, const RecFilter *filter, const char *want)
{
    Text got = list(records, filter);
    assert_string_equal(text_string(&got), want);
    text_clear(&got);
}

static void test_rec_open_creates(void **state)
{
    (void)state;
    Fixture fixture = open_new();
    open_again(&fixture, REC_CREATE);
    assert_list(fixture.records, NULL, "1 store station 1\n2 start station 1\n");
    assert_true(rec_is_id(rec_station(fixture.records)));
    Text station = {0};
    text_add(&station, rec_station(fixture.records));
    open_again(&fixture, REC_READ); /* adds nothing */
    assert_list(fixture.records, NULL, "1 store station 1\n2 start station 1\n");
    open_again(&fixture, REC_CREATE);
    open_again(&fixture, REC_WRITE);
    const RecFilter from_3 = {.from = 3};
    assert_list(fixture.records, &from_3, "3 start station 2\n4 start station 3\n");
    assert_string_equal(rec_station(fixture.records), station.bytes);
    text_clear(&station);
    end(&fixture);
}

/* The bytes of an entry and of the head, letter by letter as the formats are promised. */
static void test_rec_entry_bytes(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    RecStore *store = NULL;
    RecRow row = {0};
    Text want = {0};
    bool found = false;
    char base64[REC_BASE64_BYTES];
    open_again(&fixture, REC_CREATE);
    Text station = {0};
    text_add(&station, rec_station(fixture.records));
    rec_close(fixture.records);
    fixture.records = NULL;

    Text path = path_in(&fixture.folder, "store.db");
    Text seed = read_file(&fixture.folder, "station.key");
    unsigned char seed_bytes[REC_SEED_BYTES];
    unsigned char key_bytes[REC_KEY_BYTES];
    char key[REC_HEX_BYTES];
    assert_true(rec_hex_read(seed.bytes, seed.len - 1, seed_bytes, sizeof seed_bytes));
    rec_key_from_seed(seed_bytes, key_bytes);
    rec_hex_print(key_bytes, sizeof key_bytes, key);
    assert_ok(rec_store_open(path.bytes, REC_STORE_READ, &store, &err));
    assert_ok(rec_store_entry_from(store, station.bytes, 1, &row, &found, &err));
    text_addf(
        &want,
        "{\"author\":\"station\",\"body\":{\"format\":2,\"key\":\"%s\",\"program\":\"0.1.0\"},"
        "\"kind\":\"store\",\"number\":1,\"previous\":\"%064d\",\"start\":1,"
        "\"station\":\"%s\",\"ticks\":3600125000,\"time\":\"2026-03-02T09:14:31.125000Z\"}",
        key, 0, station.bytes);
    assert_string_equal(row.bytes.bytes, want.bytes);
    RecHash first = rec_sha256("\0", 1, row.bytes.bytes, row.bytes.len);
    assert_string_equal(row.hash.bytes, first.hex);
    assert_ok(rec_store_entry_from(store, station.bytes, 2, &row, &found, &err));
    assert_non_null(strstr(row.bytes.bytes, first.hex));
    RecHash second = rec_sha256("\0", 1, row.bytes.bytes, row.bytes.len);
    rec_base64_print(&second, base64);
    text_clear(&want);
    /* Both entries of one writing have one time. */
    text_addf(&want, "%s\n2\n%s\n2026-03-02T09:14:31.125000Z\n", station.bytes, base64);
    Text head = read_file(&fixture.folder, "head");
    assert_int_equal(head.len, want.len + 89);
    assert_memory_equal(head.bytes, want.bytes, want.len);
    RecSignedHead signed_head;
    assert_true(rec_head_read(&head, &signed_head));
    assert_true(rec_ed25519_verify(key_bytes, want.bytes, want.len, signed_head.signature));
    assert_true(rec_head_is_signed(&signed_head, key));
    text_clear(&seed);
    rec_store_close(store);
    rec_row_clear(&row);
    text_clear(&head);
    text_clear(&path);
    text_clear(&want);
    text_clear(&station);
    end(&fixture);
}

static void test_rec_people(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    char rosa[REC_ID_BYTES];
    char sam[REC_ID_BYTES];
    char got[REC_ID_BYTES];
    Text name = {0};
    bool found = false;
    open_again(&fixture, REC_CREATE);
    assert_ok(rec_person_add(fixture.records, ROSA, rosa, &err));
    assert_ok(rec_person_add(fixture.records, "Sam \"the belt\" \\ O'Dell", sam, &err));
    assert_string_not_equal(rosa, sam);
    assert_ok(rec_person_find(fixture.records, ROSA, got, &found, &err));
    assert_true(found);
    assert_string_equal(got, rosa);
    assert_ok(rec_person_find(fixture.records, "Rosa", got, &found, &err));
    assert_false(found);
    assert_ok(rec_person_name(fixture.records, sam, &name, &found, &err));
    assert_true(found);
    assert_string_equal(name.bytes, "Sam \"the belt\" \\ O'Dell");
    assert_ok(rec_person_name(fixture.records, rec_station(fixture.records), &name, &found, &err));
    assert_false(found);

    assert_false(rec_person_add(fixture.records, ROSA, got, &err));
    assert_int_equal(err.code, ERR_INPUT);
    assert_string_equal(err.text, "\"Rosa Gr\xc3\xbcn\" is here already; names must differ");
    RecPerson *people = NULL;
    size_t count = 0;
    assert_ok(rec_people(fixture.records, &people, &count, &err));
    assert_int_equal(count, 2);
    assert_string_equal(people[0].name.bytes, ROSA);
    assert_int_equal(people[1].number, 4);
    rec_people_free(people, count);
    text_clear(&name);
    end(&fixture);
}

/* Each limit of a text, at it and one past. */
static void test_rec_text_limits(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    char id[REC_ID_BYTES];
    static char text[REC_REMARK_BYTES_MAX + 2];
    open_again(&fixture, REC_CREATE);
    memset(text, 'n', REC_NAME_BYTES_MAX);
    assert_ok(rec_person_add(fixture.records, text, id, &err));
    text[REC_NAME_BYTES_MAX] = 'n';
    assert_false(rec_person_add(fixture.records, text, id, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_string_equal(err.text, "the name has 201 bytes, limit 1..200");
    assert_false(rec_person_add(fixture.records, "", id, &err));
    assert_false(rec_person_add(fixture.records, "ab\xff", id, &err));
    assert_string_equal(err.text, "the name is not UTF-8 at byte 3");
    memset(text, 'r', REC_REMARK_BYTES_MAX);
    assert_ok(add_remark(fixture.records, id, 1, text, NULL, &err));
    text[REC_REMARK_BYTES_MAX] = 'r';
    assert_false(add_remark(fixture.records, id, 1, text, NULL, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_ok(add_remark(fixture.records, id, 4, "fine", NULL, &err));
    assert_false(add_remark(fixture.records, id, 6, "fine", NULL, &err));
    assert_string_equal(err.text, "it is about 111111111111..., which is no entry before it");
    assert_false(add_remark(fixture.records, id, 0, "fine", NULL, &err));
    assert_false(add_remark(fixture.records, rec_station(fixture.records), 1, "a", NULL, &err));
    assert_int_equal(err.code, ERR_INPUT);
    assert_list(fixture.records, NULL,
                "1 store station 1\n2 start station 1\n3 person station 1\n"
                "4 remark person 1\n5 remark person 1\n");
    end(&fixture);
}

static void test_rec_run(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    char rosa[REC_ID_BYTES];
    char sam[REC_ID_BYTES];
    RecRunView view = {0};
    open_again(&fixture, REC_CREATE);
    assert_ok(rec_person_add(fixture.records, ROSA, rosa, &err));
    assert_ok(rec_person_add(fixture.records, "Sam", sam, &err));
    assert_int_equal(add_run(fixture.records, rosa, "a log of some length\n", "1", UINT64_MAX), 5);
    assert_int_equal(add_run(fixture.records, sam, "short", "1", 0), 6);
    assert_int_equal(add_run(fixture.records, rosa, "a log", "1", 4), 7);
    const RecFilter runs_of_rosa = {.kind = "run", .author = rosa};
    assert_list(fixture.records, &runs_of_rosa, "5 run person 1\n7 run person 1\n");

    assert_ok(rec_run_load(fixture.records, 5, &view, &err));
    assert_true(view.seed == UINT64_MAX);
    assert_true(view.is_scripted);
    assert_false(view.is_assessment);
    assert_string_equal(view.person.bytes, rosa);
    assert_string_equal(view.result.bytes,
                        "{\"passed\":true,\"points\":21,\"seed\":\"18446744073709551615\"}");
    assert_int_equal(view.content_count, 4);
    assert_string_equal(rec_run_content(&view, "log")->bytes, "a log of some length\n");
    assert_int_equal(rec_run_content(&view, "metals")->len, 0);
    assert_null(rec_run_content(&view, "course"));
    rec_run_view_clear(&view);
    assert_false(rec_run_load(fixture.records, 4, &view, &err));
    assert_string_equal(err.text, "entry 4 is a person, not a run");
    assert_false(rec_run_load(fixture.records, 8, &view, &err));
    assert_string_equal(err.text, "there is no entry 8");
    end(&fixture);
}

static void test_rec_run_refuses(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    char rosa[REC_ID_BYTES];
    open_again(&fixture, REC_CREATE);
    assert_ok(rec_person_add(fixture.records, ROSA, rosa, &err));
    RecContent log = {"log", "x", 1};
    RecRun run = {.person = rosa,
                  .model = "1",
                  .scenario = "the-beep",
                  .supervised_by = "",
                  .language = "en",
                  .contents = &log,
                  .content_count = 1};
    static const struct {
        const char *result, *says;
    } rows[] = {
        {"{\"points\":1.5}", "result:1:11: error: 1.5 cannot be recorded"},
        {"{\"points\":null}", "result:1:11: error: null cannot be recorded"},
        {"{\"points\":", "result:1:"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        run.result_json = rows[i].result;
        assert_false(rec_run_add(fixture.records, &run, NULL, &err));
        assert_int_equal(err.code, ERR_INPUT);
        if (strstr(err.text, rows[i].says) != err.text) fail_msg("%s", err.text);
    }
    run.result_json = "{}";
    run.person = "00000000-0000-4000-8000-000000000000";
    assert_false(rec_run_add(fixture.records, &run, NULL, &err));
    assert_int_equal(err.code, ERR_INPUT);
    run.person = rosa;
    char *large = calloc(REC_CONTENT_BYTES_MAX + 1, 1);
    log = (RecContent){"log", large, REC_CONTENT_BYTES_MAX + 1};
    assert_false(rec_run_add(fixture.records, &run, NULL, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_string_equal(err.text, "content log has 16777217 bytes, limit 16777216");
    log.len--;
    RecNumber number = 0;
    assert_ok(rec_run_add(fixture.records, &run, &number, &err));
    assert_int_equal(number, 4);
    RecRunView view = {0};
    assert_ok(rec_run_load(fixture.records, number, &view, &err));
    assert_int_equal(rec_run_content(&view, "log")->len, REC_CONTENT_BYTES_MAX);
    rec_run_view_clear(&view);

    memset(large, ' ', REC_RESULT_BYTES_MAX + 1);
    memcpy(large, "{}", 2);
    run.result_json = large;
    large[REC_RESULT_BYTES_MAX + 1] = '\0';
    log = (RecContent){"log", "x", 1};
    assert_false(rec_run_add(fixture.records, &run, NULL, &err));
    assert_string_equal(err.text, "the result has 1048577 bytes, limit 1048576");
    large[REC_RESULT_BYTES_MAX] = '\0';
    assert_ok(rec_run_add(fixture.records, &run, NULL, &err));
    free(large);
    rec_close(fixture.records);
    fixture.records = NULL;
    remove_folder(&fixture.folder); /* these runs have no honest score */
}

static bool find_commitment(void *context, const RecEntry *entry, Err *err)
{
    const JsonValue *text =
        json_get(entry->body, strcmp(entry->kind, "person") == 0 ? "name" : "text");
    (void)err;
    text_clear(context);
    text_add(context, json_string(text));
    return true;
}

static void test_rec_erase(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    char rosa[REC_ID_BYTES];
    Text commitment = {0};
    Text text = {0};
    bool there = false;
    open_again(&fixture, REC_CREATE);
    assert_ok(rec_person_add(fixture.records, "Wilhelmina Vandersteen", rosa, &err));
    (void)add_run(fixture.records, rosa, "a log", "1", 2);
    const RecFilter people = {.kind = "person"};
    assert_ok(rec_each(fixture.records, &people, find_commitment, &commitment, &err));
    assert_ok(rec_text(fixture.records, commitment.bytes, &text, &there, &err));
    assert_true(there);
    assert_string_equal(text.bytes, "Wilhelmina Vandersteen");

    assert_false(rec_erase(fixture.records, "station", commitment.bytes, "", NULL, &err));
    RecNumber number = 0;
    assert_false(rec_erase(fixture.records, rosa, commitment.bytes, "mine", &number, &err));
    assert_string_equal(err.text, "the author is no supervisor or quality");
    assert_ok(
        rec_erase(fixture.records, "station", commitment.bytes, "the person left", &number, &err));
    assert_int_equal(number, 5);
    assert_ok(rec_text(fixture.records, commitment.bytes, &text, &there, &err));
    assert_false(there);
    bool found = false;
    assert_ok(rec_person_name(fixture.records, rosa, &text, &found, &err));
    assert_true(found);
    assert_int_equal(text.len, 0);
    assert_false(rec_erase(fixture.records, "station", commitment.bytes, "again", NULL, &err));
    assert_int_equal(err.code, ERR_INPUT);
    rec_close(fixture.records);
    fixture.records = NULL;
    /* Nothing of it is left in the file, not even in pages that are free now. */
    Text bytes = read_file(&fixture.folder, "store.db");
    for (size_t i = 0; i + 11 < bytes.len; i++) {
        assert_memory_not_equal(bytes.bytes + i, "Wilhelmina", 10);
    }
    text_clear(&bytes);
    text_clear(&text);
    text_clear(&commitment);
    end(&fixture);
}

static bool is_clock_entry(Records *records, RecNumber number)
{
    Text got = list(records, NULL);
    Text line = {0};
    text_addf(&line, "\n%lld clock station ", (long long)number);
    bool is_clock = strstr(got.bytes, line.bytes) != NULL;
    text_clear(&line);
    text_clear(&got);
    return is_clock;
}

static void test_rec_clock(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int64_t wall_us, uptime_us; /* how far each goes on */
        bool is_new_start, is_told;
    } rows[] = {
        {"an hour", 3600LL * SECOND_US, 3600LL * SECOND_US, false, false},
        {"a second lost", 3600LL * SECOND_US, 3601LL * SECOND_US, false, false},
        {"a year back", -365 * 86400LL * SECOND_US, 60LL * SECOND_US, false, true},
        {"a second back", -1LL * SECOND_US, 0, false, true},
        {"a day on", 86400LL * SECOND_US, 60LL * SECOND_US, false, true},
        {"machine off for a week", 7 * 86400LL * SECOND_US, -1800LL * SECOND_US, true, false},
        {"off for a week, longer up", 7 * 86400LL * SECOND_US, 3600LL * SECOND_US, true, false},
        {"off, then a year back", -365 * 86400LL * SECOND_US, -1800LL * SECOND_US, true, true},
        {"program only closed", 60LL * SECOND_US, 60LL * SECOND_US, true, false},
        {"closed, then an hour back", -3600LL * SECOND_US, 60LL * SECOND_US, true, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        Fixture fixture = open_new();
        open_again(&fixture, REC_CREATE);
        fixture.fake.wall_us += rows[i].wall_us;
        fixture.fake.uptime_us += rows[i].uptime_us;
        if (rows[i].is_new_start)
            open_again(&fixture, REC_WRITE);
        else
            assert_ok(add_remark(fixture.records, "station", 1, "text", NULL, &err));
        if (is_clock_entry(fixture.records, 3) != rows[i].is_told) fail_msg("%s", rows[i].name);
        /* Told once, it is not told again. */
        assert_ok(add_remark(fixture.records, "station", 1, "more", NULL, &err));
        assert_false(is_clock_entry(fixture.records, 4) || is_clock_entry(fixture.records, 5));
        end(&fixture);
    }
}

/* Two programs with the store open: each entry follows the last, whoever wrote it. */
static void test_rec_two_writers(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    Records *other = NULL;
    char sam[REC_ID_BYTES];
    bool found = false;
    open_again(&fixture, REC_CREATE);
    RecOutside outside = fake_clock(&fixture.fake);
    assert_ok(rec_open(fixture.folder.bytes, REC_WRITE, "0.1.0", &outside, &other, &err));
    assert_ok(rec_person_add(fixture.records, "Sam", sam, &err));
    assert_ok(rec_person_find(other, "Sam", sam, &found, &err));
    assert_true(found);
    assert_false(rec_person_add(other, "Sam", sam, &err));
    assert_ok(add_remark(other, sam, 4, "seen", NULL, &err));
    assert_ok(add_remark(fixture.records, sam, 5, "seen too", NULL, &err));
    const RecFilter from_3 = {.from = 3};
    assert_list(other, &from_3,
                "3 start station 2\n4 person station 1\n5 remark person 2\n6 remark person 1\n");
    rec_close(other);
    end(&fixture);
}

/* The machine's own clocks, which the other tests do not use. */
static void test_rec_open_machine_clock(void **state)
{
    (void)state;
    Err err = {0};
    Fixture fixture = open_new();
    assert_ok(rec_open(fixture.folder.bytes, REC_CREATE, "0.1.0", NULL, &fixture.records, &err));
    assert_ok(add_remark(fixture.records, "station", 1, "text", NULL, &err));
    assert_list(fixture.records, NULL,
                "1 store station 1\n2 start station 1\n3 remark station 1\n");
    end(&fixture);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_open_creates), cmocka_unit_test(test_rec_entry_bytes),
        cmocka_unit_test(test_rec_people),       cmocka_unit_test(test_rec_text_limits),
        cmocka_unit_test(test_rec_run),          cmocka_unit_test(test_rec_run_refuses),
        cmocka_unit_test(test_rec_erase),        cmocka_unit_test(test_rec_clock),
        cmocka_unit_test(test_rec_two_writers),  cmocka_unit_test(test_rec_open_machine_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
