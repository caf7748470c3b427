/* The real program: demo, check, play and records, as a person at a terminal would use them. */
#include "program.h"

#include "scenario/json.h"

#define MILL "\"$TREE\"/scenarios/ostrel-mill"

/* Run and expect an exit code, and a text somewhere on standard output and error ("" for any). */
static void expect(const char *folder, const char *arguments, int code, const char *out,
                   const char *err)
{
    Call call;
    run(folder, arguments, &call);
    const char *said = text_string(&call.out);
    const char *blamed = text_string(&call.err);
    if (call.code != code || strstr(said, out) == NULL || strstr(blamed, err) == NULL) {
        fail_msg("threepass %s: code %d, out:\n%.3000s\nerr:\n%.1000s", arguments, call.code, said,
                 blamed);
    }
    if (code == 2) assert_int_equal(call.out.len, 0); /* what cannot be done says nothing else */
    call_clear(&call);
}

static void test_play_exit_codes(void **state)
{
    const char *folder = folder_of(state);
    const char *right = "play " MILL "/nine-passes.json --script " MILL "/nine-passes.right.txt";
    Text call = {0};
    expect(folder, right, 0, "Competent", "");
    text_addf(&call, "%s --seed 18446744073709551615", right);
    expect(folder, call.bytes, 0, "Competent", "");
    text_clear(&call);
    text_addf(&call, "%s --seed 18446744073709551616", right);
    expect(folder, call.bytes, 2, "", "limit 0..18446744073709551615");
    text_clear(&call);
    text_addf(&call, "%s --store s", right);
    expect(folder, call.bytes, 2, "", "--person");
    text_clear(&call);
    expect(folder, "play " MILL "/nine-passes.json --script " MILL "/nine-passes.k5.txt", 1,
           "A test piece never came back", "");
    expect(folder, "play " MILL "/nine-passes.json", 2, "", "--script FILE");
    expect(folder, "play missing.json --script x", 2, "", "site.json: cannot open");
    write_file(folder, "bad.txt", "+1s next\n+1s tale piece=SS-25-07\n");
    expect(folder, "play " MILL "/nine-passes.json --script bad.txt", 2, "",
           "bad.txt:2:5: error: \"tale\" is no action; the nearest is \"take\"");
    write_file(folder, "word.txt", "+1s next\nsign as=Aldis\n");
    expect(folder, "play " MILL "/nine-passes.json --script word.txt", 2, "",
           "word.txt:2:6: error: as is \"Aldis\", must be one of self, colleague");
    write_file(folder, "vain.txt", "+1s next\n+1s take piece=SS-25-07\nuntil removed pack=1\n");
    expect(folder, "play " MILL "/nine-passes.json --script vain.txt", 2, "",
           "The run ends: the time is over.");
}

static void test_play_json_is_json(void **state)
{
    Call call;
    Err err = {0};
    JsonDoc *doc = NULL;
    run(folder_of(state), "play " MILL "/the-beep.json --script " MILL "/the-beep.k7.txt --json",
        &call);
    assert_int_equal(call.code, 1);
    if (!json_parse("answer", text_string(&call.out), call.out.len, &doc, &err)) {
        fail_msg("%s", err.text);
    }
    const JsonValue *result = json_get(json_root(doc), "result");
    assert_string_equal(json_string(json_get(result, "verdict")), "not yet competent");
    json_free(doc);
    call_clear(&call);
}

static void test_check_exit_codes(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "check " MILL, 0, " scenarios: 0 errors, 0 warnings", "");
    expect(folder, "check \"$TREE\"/scenarios --json", 0, "\"errors\": 0", "");
    expect(folder, "check nothing-there", 2, "", "there is no such file or folder");
    assert_int_equal(system("mkdir -p /tmp/threepass-check-empty"), 0);
    expect(folder, "check /tmp/threepass-check-empty", 2, "", "holds no site and no scenario");
    assert_int_equal(system("rmdir /tmp/threepass-check-empty"), 0);
    write_file(folder, "alone.json", "{}");
    expect(folder, "check .", 1, "1 errors", "./alone.json:1:1: error: there is no site.json");
    assert_int_equal(system("cp -r scenarios/ostrel-mill /tmp/threepass-check-copy"), 0);
    assert_int_equal(system("sed -i 's/\"belt_mm_s\": 500, \"packs_per_minute\": 80/\"belt_mm_s\": "
                            "50000, \"packs_per_minute\": 80/' "
                            "/tmp/threepass-check-copy/site.json"),
                     0);
    expect(folder, "check /tmp/threepass-check-copy/site.json", 1, "1 errors",
           "error: belt_mm_s is 50000, limit 1..5000");
    expect(folder, "check /tmp/threepass-check-copy", 1, "1 sites, 0 scenarios: 1 errors",
           "error: belt_mm_s is 50000, limit 1..5000"); /* told once, not for each scenario */
    assert_int_equal(system("rm -r /tmp/threepass-check-copy"), 0);
}

/* A script that is not there, or says a word that cannot be, is told of without playing it. */
static void test_check_reads_scripts(void **state)
{
    const char *folder = folder_of(state);
    assert_int_equal(system("cp -r scenarios/ostrel-mill /tmp/threepass-check-scripts && "
                            "cd /tmp/threepass-check-scripts && rm nine-passes.k5.txt && "
                            "sed -i 's/sign as=self/sign as=Aldis/' nine-passes.k2.txt"),
                     0);
    expect(folder, "check /tmp/threepass-check-scripts/nine-passes.json", 1, "2 errors",
           "nine-passes.k5.txt: cannot open");
    expect(folder, "check /tmp/threepass-check-scripts/nine-passes.json", 1, "2 errors",
           "error: as is \"Aldis\", must be one of self, colleague");
    assert_int_equal(system("rm -r /tmp/threepass-check-scripts"), 0);
}

/* A row left out is named as on the sheet, not by the piece that was sent. */
static void test_play_names_the_missing_row(void **state)
{
    const char *folder = folder_of(state);
    Text command = {0};
    text_addf(&command,
              "grep -v row=brass/middle scenarios/ostrel-mill/nine-passes.right.txt "
              ">'%s/short.txt'",
              folder);
    assert_int_equal(system(command.bytes), 0);
    text_clear(&command);
    expect(folder, "play " MILL "/nine-passes.json --script short.txt", 1,
           "The sheet has no row for this. (non-ferrous, middle)", "");
}

static void test_check_proves_every_scenario(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "check --prove " MILL, 0, " scripts played: 0 errors, 0 warnings", "");
}

static void test_demo_leaves_a_store_that_verifies(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "demo --store story", 0, "Nothing was altered.", "");
    expect(folder, "records verify --store story", 0, "2 played and scored again", "");
    expect(folder, "records verify --store story --json", 0, "\"findings\": []", "");
    expect(folder, "records show --store story", 0, "Ife, assessment, scripted, the-beep (", "");
    expect(folder, "records show --store story --json", 0, "\"kind\":\"run\"", "");
    expect(folder,
           "play " MILL "/nine-passes.json --script " MILL "/nine-passes.right.txt --store story "
           "--person Marit",
           0, "Recorded as entry", "");
    expect(folder, "records verify --store story", 0, "3 played and scored again", "");
    expect(folder, "records show --store story --script 8", 0, "+2s read-program\n", "");
    expect(folder, "records show --store story --script 1", 2, "", "1");
    expect(folder, "records show --store story --script x", 2, "", "must be an entry's number");
}

static void test_records_exit_codes(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "records", 2, "", "");
    expect(folder, "records tell --store story", 2, "", "show and verify");
    expect(folder, "records show --store nowhere", 2, "", "nowhere");
    expect(folder, "records verify --store nowhere", 2, "", "nowhere");
}

static void test_records_verify_finds_a_change(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "demo --store changed", 0, "", "");
    Text command = {0}; /* the same length, so that the database itself stays whole */
    text_addf(&command,
              "LC_ALL=C sed -i 's/\"critical_missed\":[1-9]/\"critical_missed\":0/' "
              "'%s/changed/store.db'",
              folder);
    assert_int_equal(system(command.bytes), 0);
    text_clear(&command);
    expect(folder, "records verify --store changed", 1, "entry 4", "");
    write_file(folder, "changed/store.db", "this is no database, but long enough to be one");
    expect(folder, "records verify --store changed", 1, "", "store.db");
}

/* A copy without threepass-window beside it: one line, exit 2. */
static void test_window_where_there_is_none(void **state)
{
    Text command = {0};
    Text said = {0};
    text_addf(&command, "cd '%s' && cp '%s' alone && ./alone window >out 2>err; test $? = 2",
              folder_of(state), THREEPASS_PROGRAM);
    assert_int_equal(system(command.bytes), 0);
    read_file(folder_of(state), "err", &said);
    assert_string_equal(said.bytes, "threepass: this build has no window; `threepass demo` plays "
                                    "the story without one\n");
    text_clear(&command);
    text_clear(&said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_window_where_there_is_none),
        cmocka_unit_test(test_play_exit_codes),
        cmocka_unit_test(test_play_json_is_json),
        cmocka_unit_test(test_check_exit_codes),
        cmocka_unit_test(test_check_reads_scripts),
        cmocka_unit_test(test_play_names_the_missing_row),
        cmocka_unit_test(test_check_proves_every_scenario),
        cmocka_unit_test(test_demo_leaves_a_store_that_verifies),
        cmocka_unit_test(test_records_exit_codes),
        cmocka_unit_test(test_records_verify_finds_a_change),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
