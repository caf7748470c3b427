/* The real program's report on items, over a store with runs by people and by scripts. */
#include "program.h"

#include "app/script.h"
#include "scenario/json.h"

#define MILL "scenarios/ostrel-mill"

/* Play a script of "the-beep" into the store, as if by a person's own hands. */
static void play(const Work *work, Records *records, const char *name, const char *script,
                 bool is_scripted)
{
    AppRunSetup setup = {.seed = 1, .is_assessment = true, .is_scripted = is_scripted};
    AppRun *run = NULL;
    Text text = {0};
    Err err = {0};
    char person[REC_ID_BYTES];
    RecNumber number;
    read_file(MILL, script, &text);
    bool ok = app_run_begin(work, &setup, &run, &err) &&
              script_play(run, script, text.bytes, text.len, &err) &&
              app_person(records, name, person, &err) &&
              app_run_record(run, records, person, &number, &err);
    if (!ok) fail_msg("%s", err.text);
    app_run_free(run);
    text_clear(&text);
}

/* Thirty people, ten of whom never watch a removal; one of them plays twice; one script. */
static void fill_store(const char *folder)
{
    Work *work = NULL;
    Records *records = NULL;
    Text store = {0};
    Err err = {0};
    text_addf(&store, "%s/store", folder);
    if (!work_read("assets", MILL, "the-beep.json", NULL, NULL, &work, &err) ||
        !rec_open(store.bytes, REC_CREATE, "test", NULL, &records, &err)) {
        fail_msg("%s", err.text);
    }
    for (int i = 0; i < 30; i++) {
        Text name = {0};
        text_addf(&name, "Person %d", i);
        play(work, records, name.bytes, i < 10 ? "the-beep.k4.txt" : "the-beep.right.txt", false);
        text_clear(&name);
    }
    play(work, records, "Person 0", "the-beep.right.txt", false);
    play(work, records, "Script", "the-beep.k1.txt", true);
    rec_close(records);
    work_free(work);
    text_clear(&store);
}

static const JsonValue *find_item(const JsonDoc *doc, const char *id)
{
    const JsonValue *scenario = json_at(json_get(json_root(doc), "scenarios"), 0);
    const JsonValue *items = json_get(scenario, "items");
    for (size_t i = 0; i < json_count(items); i++) {
        const JsonValue *item = json_at(items, i);
        if (strcmp(json_string(json_get(item, "id")), id) == 0) return item;
    }
    fail_msg("no item %s", id);
    return NULL;
}

static int64_t number(const JsonValue *object, const char *key)
{
    int64_t value = -1;
    assert_true(json_is_integer(json_get(object, key), &value));
    return value;
}

static JsonDoc *report(const char *folder, const char *options)
{
    Call call;
    Text line = {0};
    Err err = {0};
    JsonDoc *doc = NULL;
    text_addf(&line, "report items --store store --json %s", options);
    run(folder, line.bytes, &call);
    assert_int_equal(call.code, 0);
    if (!json_parse("answer", text_string(&call.out), call.out.len, &doc, &err)) {
        fail_msg("%s", err.text);
    }
    call_clear(&call);
    text_clear(&line);
    return doc;
}

static void check_counts(const char *folder, const char *options, int64_t runs, int64_t people,
                         int64_t watched, int64_t left_out)
{
    JsonDoc *doc = report(folder, options);
    const JsonValue *scenario = json_at(json_get(json_root(doc), "scenarios"), 0);
    assert_string_equal(json_string(json_get(scenario, "id")), "the-beep");
    assert_int_equal(number(scenario, "runs"), runs);
    assert_int_equal(number(scenario, "people"), people);
    assert_int_equal(number(json_root(doc), "scripted_left_out"), left_out);
    assert_int_equal(number(find_item(doc, "removal"), "reached"), runs);
    assert_int_equal(number(find_item(doc, "removal"), "right"), watched);
    json_free(doc);
}

static void test_report_items(void **state)
{
    const char *folder = folder_of(state);
    fill_store(folder);
    check_counts(folder, "", 31, 30, 21, 1);
    check_counts(folder, "--first", 30, 30, 20, 1);
    check_counts(folder, "--scripted", 32, 31, 22, 0);

    JsonDoc *doc = report(folder, "--first");
    const JsonValue *removal = find_item(doc, "removal");
    const JsonValue *interval = json_get(removal, "interval");
    /* Clopper and Pearson's interval of 20 in 30, by bisection of the binomial sum (Python). */
    assert_true(json_number(json_get(interval, "low")) > 0.4718);
    assert_true(json_number(json_get(interval, "low")) < 0.4720);
    assert_true(json_number(json_get(interval, "high")) > 0.8270);
    assert_true(json_number(json_get(interval, "high")) < 0.8272);
    const JsonValue *question = find_item(doc, "what-now");
    assert_string_equal(json_string(json_get(question, "verdict")), "all-right");
    assert_string_equal(json_string(json_get(question, "says")),
                        "Everybody gets it right, or nearly: it teaches nothing.");
    const JsonValue *answers = json_get(question, "answers");
    assert_int_equal(json_count(answers), 4);
    assert_int_equal(number(json_at(answers, 0), "chosen"), 0);
    assert_int_equal(number(json_at(answers, 1), "chosen"), 30);
    json_free(doc);
}

static void test_report_tells_people(void **state)
{
    const char *folder = folder_of(state);
    Call call;
    run(folder, "report items --store store", &call);
    assert_int_equal(call.code, 0);
    assert_non_null(strstr(call.out.bytes, "31 runs, 30 people"));
    assert_non_null(strstr(call.out.bytes, "Some people played more than once"));
    assert_non_null(strstr(call.out.bytes, "1 scripted runs are left out"));
    call_clear(&call);
    run(folder, "report people --store store", &call);
    assert_int_equal(call.code, 2);
    assert_string_equal(call.err.bytes,
                        "threepass: report knows board, tonight, person, certificate, line, "
                        "observation and items as its first word, not \"people\"\n");
    call_clear(&call);
    run(folder, "report items --store nowhere", &call);
    assert_int_equal(call.code, 2);
    call_clear(&call);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_report_items),
        cmocka_unit_test(test_report_tells_people),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
