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
    text_addf(&call, "%s --store s --person marit", right);
    expect(folder, call.bytes, 2, "", "the site has no \"marit\"; did you mean \"Marit\"?");
    text_clear(&call);
    text_addf(&call, "%s --store s --person Odile", right);
    expect(folder, call.bytes, 0, "Recorded as entry", "");
    text_clear(&call);
    text_addf(&call, "%s --store s --person 'odile '", right);
    expect(folder, call.bytes, 2, "", "there is no \"odile \" here; did you mean \"Odile\"?");
    text_clear(&call);
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

/* Competences stand at the end of a site, and name scenarios that are not copied with it. */
#define NO_COMPETENCES                                                                             \
    "sed -i '/^  \"competences\"/,$d' site.json && sed -i '$ s/,$//' site.json && "                \
    "echo '}' >> site.json && "

/* Courses are counted on a line of their own; each that is wrong is told of at its place. */
static void test_check_reads_courses(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "check " MILL "/courses", 0, "1 courses\n0 sites, 0 scenarios: 0 errors", "");
    expect(folder, "check --json " MILL "/courses", 0, "\"courses\": 1,", "");
    assert_int_equal(system("mkdir -p /tmp/threepass-check-courses && "
                            "cp -r scenarios/ostrel-mill/site.json scenarios/ostrel-mill/courses "
                            "scenarios/ostrel-mill/nine-passes.* /tmp/threepass-check-courses && "
                            "cd /tmp/threepass-check-courses/courses && cp routine-check.json .. &&"
                            "echo '{' > broken.json"),
                     0);
    expect(folder, "check /tmp/threepass-check-courses", 1,
           "3 courses\n1 sites, 1 scenarios: 26 err",
           "routine-check.json:9:19: error: the site has no scenario \"first-pass\"");
    expect(folder, "check /tmp/threepass-check-courses", 1, "26 errors, 0 warnings",
           "courses/broken.json:2:1: error: not JSON");
    expect(
        folder, "check /tmp/threepass-check-courses", 1, "26 errors, 0 warnings",
        "threepass-check-courses/routine-check.json:1:1: error: a course belongs into the folder "
        "\"courses\" beside a site's scenarios");
    /* a slip in a scenario's file is told of, and is not told of as a scenario that is not there */
    assert_int_equal(system("echo '{' > /tmp/threepass-check-courses/nine-passes.json"), 0);
    expect(
        folder, "check /tmp/threepass-check-courses/courses/routine-check.json", 1, "errors",
        "the site has no scenario \"nine-passes\" that can be read: mend nine-passes.json first");
    assert_int_equal(system("echo '[]' > /tmp/threepass-check-courses/site.json"), 0);
    expect(folder, "check /tmp/threepass-check-courses", 1, "1 sites, 0 scenarios: 2 errors",
           "site.json:1:1: error: site: is an array, must be an object");
    assert_int_equal(system("rm -r /tmp/threepass-check-courses"), 0);
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
    /* one call tells of each part of a file that is wrong, and of each line of a script */
    assert_int_equal(
        system("cd /tmp/threepass-check-scripts && cp ../threepass-check-scripts/nine-passes.json "
               "two.json && sed -i -e 's/\"minutes\": 10/\"minutes\": 99/' -e "
               "'s/\"pass_percent\": 80/\"pass_percent\": 0/' -e "
               "'s/\"rule\": \"right-program\"/\"rule\": \"\"/' two.json && "
               "sed -i 's/who=line-leader/who=boss/' nine-passes.k1.txt"),
        0);
    expect(folder, "check /tmp/threepass-check-scripts/two.json", 1, "3 errors",
           "minutes is 99, limit 1..60");
    expect(folder, "check /tmp/threepass-check-scripts/two.json", 1, "3 errors",
           "pass_percent is 0, limit 1..100");
    expect(folder, "check /tmp/threepass-check-scripts/nine-passes.json", 1, "errors",
           "nine-passes.k1.txt");
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

/* A line of the rubric that no right run meets is told of, and a right run that fails says how. */
static void test_check_proves_each_line(void **state)
{
    const char *folder = folder_of(state);
    assert_int_equal(system("mkdir /tmp/threepass-check-lines && cd scenarios/ostrel-mill && "
                            "cp site.json nine-passes.* /tmp/threepass-check-lines && "
                            "cd /tmp/threepass-check-lines && " NO_COMPETENCES
                            "sed -i 's/\"told who=line-leader about=check-starts\"/\"blow-weak\"/' "
                            "nine-passes.json && grep -q blow-weak nine-passes.json"),
                     0);
    expect(folder, "check --prove /tmp/threepass-check-lines", 0, "0 errors, 1 warnings",
           "warning: no right run meets \"told-before\", which has 2 points");
    expect(folder, "check /tmp/threepass-check-lines", 0, "0 errors, 0 warnings", "");
    assert_int_equal(system("cd /tmp/threepass-check-lines && cp nine-passes.k5.txt "
                            "nine-passes.right.txt"),
                     0);
    expect(folder, "check --prove /tmp/threepass-check-lines", 1, "1 errors, 0 warnings",
           "it misses critical line \"back\", 78 points, 72 needed; threepass play --seed 1 shows "
           "where");
    assert_int_equal(system("cd scenarios/ostrel-mill && rm /tmp/threepass-check-lines/nine* && "
                            "cp eleven-oclock.* /tmp/threepass-check-lines && "
                            "sed '$d' eleven-oclock.right.txt > "
                            "/tmp/threepass-check-lines/eleven-oclock.right.txt"),
                     0);
    expect(folder, "check --prove /tmp/threepass-check-lines", 1, "1 errors, 0 warnings",
           "with seed 1: the time is over before the last scene is done;");
    assert_int_equal(system("rm -r /tmp/threepass-check-lines"), 0);
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
    expect(folder, "records show --store story --script 16", 0, "+2s read-program\n", "");
    expect(folder, "records show --store story --script 1", 2, "", "1");
    expect(folder, "records show --store story --script x", 2, "", "must be an entry's number");
}

static void test_records_exit_codes(void **state)
{
    const char *folder = folder_of(state);
    expect(folder, "records", 2, "", "");
    expect(folder, "records tell --store story", 2, "", "records has no \"tell\"");
    expect(folder, "records --store story", 2, "", "records needs a verb");
    expect(folder, "records show --store story x", 2, "",
           "threepass records show: 1 words behind it, limit 0..0; see threepass records show "
           "--help");
    expect(folder, "records --help", 0, "standing NAME", "");
    expect(folder, "records sign --help", 0, "with --write sign it", "");
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
    expect(folder, "records verify --store changed", 1, "entry 10", "");
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
        cmocka_unit_test(test_check_reads_courses),
        cmocka_unit_test(test_check_reads_scripts),
        cmocka_unit_test(test_play_names_the_missing_row),
        cmocka_unit_test(test_check_proves_every_scenario),
        cmocka_unit_test(test_check_proves_each_line),
        cmocka_unit_test(test_demo_leaves_a_store_that_verifies),
        cmocka_unit_test(test_records_exit_codes),
        cmocka_unit_test(test_records_verify_finds_a_change),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
