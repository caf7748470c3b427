/* Scripts: what they do to a run, and what is said of bad ones. */
#include "app/script.h"
#include "bad.h"

static int load(void **state)
{
    Err err = {0};
    Work *work = NULL;
    bool ok =
        work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL, &work, &err);
    if (!ok) print_error("%s\n", err.text);
    *state = work;
    return ok ? 0 : -1;
}

static int unload(void **state)
{
    work_free(*state);
    return 0;
}

static AppRun *begin(const Work *work)
{
    Err err = {0};
    AppRun *run = NULL;
    AppRunSetup setup = {.seed = 1, .is_scripted = true};
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    return run;
}

static bool play(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    AppRun *run = begin(context);
    bool ok = script_play(run, file, bytes, len, err);
    assert_true(!ok || player_has_ended(app_run_player(run)));
    app_run_free(run);
    return ok;
}

#define WAIT_WORDS "is no wait such as +800ms, +2s or +1min"
#define ENDED "the run has ended; nothing can be done any more"

/* The scenario lasts ten minutes; its first scene is done by "next". */
static const struct {
    const char *text, *want;
} rows[] = {
    {"", NULL},
    {"\n\n \t\n# a remark\n   # another", NULL},
    {"+1s next\r\n", NULL},
    {"  +1s \t next\t\n", NULL},
    {"next", NULL},
    {"+0us next\n+1ms stop\n+1s start\n+1min stop\n", NULL},
    {"stop\nuntil line-stopped\nuntil\tline-stopped\n", NULL},
    {"until scene-begun\n", NULL},
    {"stop\n+1s lock-off\nuntil locked-off\n+1s unlock\nuntil unlocked\n", NULL},
    {"^lock\n", "\"lock\" is no action; the nearest is \"block\""},
    {"lock-off ^by=me\n", "\"lock-off\" has no field \"by\", but none"},
    {"lock-off\nuntil ^locked-off\n",
     "the run ended before \"locked-off\" happened; at 06:00:00 this could not be done: "
     "lock-off (line-is-running)"},
    {"+0s stop\nuntil stop\n", NULL},
    {"^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"next\n  ^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"+1s ^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"\t+1s\t\t^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"+1s^", "there is no action here"},
    {"+1s^   \n", "there is no action here"},
    {"+1s ^# a remark", "\"#\" is no action"},
    {"^2s read-program", "\"2s\" is no action; a wait begins with +: +2s"},
    {"  ^800ms next", "\"800ms\" is no action; a wait begins with +: +800ms"},
    {"^800 next", "\"800\" is no action"},
    {"^+s next", "\"+s\" " WAIT_WORDS},
    {"^+ next", "\"+\" " WAIT_WORDS},
    {"^+", "\"+\" " WAIT_WORDS},
    {"^+1 next", "\"+1\" " WAIT_WORDS},
    {"^+1h next", "\"+1h\" " WAIT_WORDS},
    {"^+1S next", "\"+1S\" " WAIT_WORDS},
    {"^+1sec next", "\"+1sec\" " WAIT_WORDS},
    {"^+1.5s next", "\"+1.5s\" " WAIT_WORDS},
    {"^+-1s next", "\"+-1s\" " WAIT_WORDS},
    {"^++1s next", "\"++1s\" " WAIT_WORDS},
    {"^+1s2ms next", "\"+1s2ms\" " WAIT_WORDS},
    {"^+1m next", "\"+1m\" " WAIT_WORDS},
    {"^+s1 next", "\"+s1\" " WAIT_WORDS},
    {"^+1\xc2\xb5s next", "\"+1\xc2\xb5s\" " WAIT_WORDS},
    {"^+86400000001us next", "the wait is +86400000001us, limit +0us..+1440min"},
    {"^+86400001ms next", "the wait is +86400001ms, limit +0us..+1440min"},
    {"^+86401s next", "the wait is +86401s, limit +0us..+1440min"},
    {"^+1441min next", "the wait is +1441min, limit +0us..+1440min"},
    {"^+99999999999999999999us next", "the wait is +99999999999999999999us, limit +0us..+1440min"},
    {"+1440min ^next", ENDED},
    {"+1s stop\n+1440min ^stop", ENDED},
    {"+10min ^next", ENDED},
    {"+600000001us ^stop", ENDED},
    {"leave\n^next\n", ENDED},
    {"leave\n+1s ^next\n", ENDED},
    {"+1s ^until line-stopped\n", "a wait goes with an action, not with until"},
    {"+0s ^until line-stopped\n", "a wait goes with an action, not with until"},
    {"+1s ^until", "a wait goes with an action, not with until"},
    {"until^", "there is no action or happening here"},
    {"until^   \n", "there is no action or happening here"},
    {"until ^line-stoped\n",
     "\"line-stoped\" is no action or happening; the nearest is \"line-stopped\""},
    {"until   removed ^packs=1\n",
     "\"removed\" has no field \"packs\", but pack= pieces= seen= lane= beside="},
    {"until removed ^pack\n", "pack has no value; there must be pack=... here"},
    {"until removed ^pack=65\n", "pack is 65, limit 0..64"},
    {"until ^line-stopped\n", "the run ended before \"line-stopped\" happened"},
    {"stop\nnext\nuntil ^line-stopped\n", "the run ended before \"line-stopped\" happened"},
    {"leave\nuntil ^removed pack=1\n", "the run ended before \"removed pack=1\" happened"},
    {"^untilremoved pack=1\n", "\"untilremoved\" is no action"},
    {"^Until removed pack=1\n", "\"Until\" is no action"},
    {"take^", "\"take\" needs piece="},
    {"take ^FE-15-03", "\"take\" has no field \"FE-15-03\", but piece="},
    {"take ^piece", "piece has no value; there must be piece=... here"},
    {"take ^piece=", "piece is \"\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take piece=A ^piece=B", "piece is given twice"},
    {"take piece=A ^# now", "\"take\" has no field \"#\", but piece="},
    {"make-pack ^pack=65 marked=yes", "pack is 65, limit 1..64"},
    {"make-pack ^pack=0 marked=yes", "pack is 0, limit 1..64"},
    {"+2s make-pack pack=1^", "\"make-pack\" needs marked="},
    {"send pack=1 ^across_um=5000001", "across_um is 5000001, limit -5000000..5000000"},
    {"send pack=1 ^across_um=1mm",
     "across_um is \"1mm\", must be a whole number, limit -5000000..5000000"},
    {"count what=bin ^said=three", "said is \"three\", must be a whole number, limit 0..100000"},
    {"set-sensitivity ^percent=5", "percent is 5, limit 10..1000"},
    {"^blow", "\"blow\" is no action; the nearest is \"block\""},
    {"^0 > next", "\"0\" is no action"},
    {"\xef\xbb\xbfnext", NULL},
    {"next ^\xff", "the line is no text in UTF-8 without NUL"},
    {"next\n# ^\xc3", "the line is no text in UTF-8 without NUL"},
};

static void test_script_play_bad(void **state)
{
    size_t bad = 0;
    bool ok = true;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ok = bad_is_told(rows[i].text, rows[i].text, play, *state, rows[i].want) && ok;
        bad += rows[i].want != NULL;
    }
    assert_true(ok);
    print_message("%zu bad scripts\n", bad);
    assert_true(bad >= BAD_ROWS_MIN);
}

/* Words that no run can take, found before anything is played. The pieces, rows and programs are
 * those of the example site and the scenario's plan. */
static const struct {
    const char *text, *want;
} checked[] = {
    {"+1s tell who=quality about=check-failed\nsign as=colleague\nwrite row=re-check value=good",
     NULL},
    {"until removed seen=no\nlook what=belt\nopen-bin by=line-leader\n", NULL},
    {"write row=chrome-steel/middle value=missed\nwrite row=bin-count value=9", NULL},
    {"take piece=FE-15-03\nwrite row=held-from value=04:00", NULL},
    {"tell who=quality ^about=banana",
     "about is \"banana\", must be one of check-starts, gap, run, check-good, check-failed, "
     "piece-missing, bin, program, find, other"},
    {"stop\n  +1s  tell who=quality  ^about=check-faled",
     "about is \"check-faled\", must be one of check-starts, gap, run, check-good, check-failed, "
     "piece-missing, bin, program, find, other; did you mean \"check-failed\"?"},
    {"tell about=find ^who=qualty",
     "who is \"qualty\", must be one of line-checker, line-leader, supervisor, quality, "
     "maintenance, warehouse, food-safety-team-leader; did you mean \"quality\"?"},
    {"send pack=1 across_um=0 ^lane=2", "lane is 2, limit 1..1"},
    {"send-good ^lane=9", "lane is 9, limit 1..8"},
    {"sign ^as=Aldis", "as is \"Aldis\", must be one of self, colleague"},
    {"make-pack pack=1 ^marked=true", "marked is \"true\", must be one of yes, no"},
    {"search ^place=bin", "place is \"bin\", must be one of floor, waste, belt, clothes"},
    {"count ^what=bun said=3", "what is \"bun\", must be one of bin, kit; did you mean \"bin\"?"},
    {"until removed ^seen=maybe", "seen is \"maybe\", must be one of yes, no"},
    {"write row=result ^value=ok", "value is \"ok\", must be one of good, failed"},
    {"write row=chrome-steel/middle ^value=gone",
     "value is \"gone\", must be one of removed, missed, found-not-removed, not-finished"},
    {"ask who=quality ^for=repairs",
     "for is \"repairs\", must be one of repair, restore-settings, re-learn, empty-bin, release; "
     "did you mean \"repair\"?"},
    {"stop\n^tale", "\"tale\" is no action; the nearest is \"take\""},
};

static bool check(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    return script_check(work_scenario(context), file, bytes, len, err);
}

static void test_script_check_rows(void **state)
{
    bool ok = true;
    for (size_t i = 0; i < sizeof checked / sizeof checked[0]; i++) {
        ok = bad_is_told(checked[i].text, checked[i].text, check, *state, checked[i].want) && ok;
    }
    assert_true(ok);
}

/* The list of what can stand there is long here; its end tells what was meant. */
static void test_script_check_names(void **state)
{
    static const struct {
        const char *text, *begins, *ends;
    } names[] = {
        {"write row=programme value=1",
         "file:1:7: error: row is \"programme\", must be one of "
         "program, bin-count, kit-count, good-run, held-from, result, re-check, ",
         "; did you mean \"program\"?"},
        {"\xef\xbb\xbf+1s nxt", "file:1:5: error: \"nxt\" is no action",
         "; the nearest is \"next\""},
        {"take piece=FE-15-3", "file:1:6: error: piece is \"FE-15-3\", must be one of ",
         "; did you mean \"FE-15-03\"?"},
        {"set-program product=buter-200",
         "file:1:13: error: product is \"buter-200\", must be one of ",
         "; did you mean \"butter-200\"?"},
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        Err err = {0};
        assert_false(check(*state, "file", names[i].text, strlen(names[i].text), &err));
        if (strncmp(err.text, names[i].begins, strlen(names[i].begins)) != 0 ||
            strcmp(err.text + strlen(err.text) - strlen(names[i].ends), names[i].ends) != 0)
            fail_msg("%s", err.text);
    }
}

static void test_script_play_sizes(void **state)
{
    Err err = {0};
    Text text = {0};
    text_add(&text, "# ");
    while (text.len < SCRIPT_LINE_BYTES_MAX) {
        text_add(&text, "x");
    }
    assert_true(play(*state, "file", text.bytes, text.len, &err));
    text_add(&text, "x");
    assert_false(play(*state, "file", text.bytes, text.len, &err));
    assert_string_equal(err.text, "file:1:1: error: a line of 901 bytes, limit 900");
    text_clear(&text);
    while (text.len < SCRIPT_BYTES_MAX) {
        text_add(&text, "#\n");
    }
    assert_true(play(*state, "file", text.bytes, text.len, &err));
    text_add(&text, "#");
    assert_false(play(*state, "file", text.bytes, text.len, &err));
    assert_string_equal(err.text, "file: is 1048577 bytes long, limit 0..1048576");
    text_clear(&text);
    assert_false(play(*state, "file", "next\nst\0op\n", 11, &err));
    assert_string_equal(err.text, "file:2:3: error: the line is no text in UTF-8 without NUL");
}

/* A wait in vain tells what became last of the pack or the piece; the scenario's clock starts at
 * its own time of day. */
static void test_script_play_in_vain(void **state)
{
    static const struct {
        const char *text, *want;
    } vain[] = {
        {"next\n+1s take piece=SS-25-07\nuntil put-back piece=SS-25-07",
         "file:3:7: error: the run ended before \"put-back piece=SS-25-07\" happened; the last of "
         "piece SS-25-07: 06:00:01 piece-taken piece=SS-25-07"},
        {"next\n+2s make-pack pack=1 marked=yes\n+1s destroy pack=1\nuntil removed pack=1",
         "file:4:7: error: the run ended before \"removed pack=1\" happened; the last of pack 1: "
         "06:00:03 pack-destroyed pack=1 pieces=0"},
        {"next\n+2s make-pack pack=1 marked=yes\n+1s start\nuntil removed pack=1",
         "file:4:7: error: the run ended before \"removed pack=1\" happened; the last of pack 1: "
         "06:00:02 pack-made pack=1 marked=yes; at 06:00:03 this could not be done: start "
         "(line-is-running)"},
        {"next\n+1s lock-off\n+1s send pack=1 across_um=0\nuntil removed pack=1",
         "file:4:7: error: the run ended before \"removed pack=1\" happened; at 06:00:01 this "
         "could "
         "not be done: lock-off (line-is-running)"}, /* the first, and once */
        {"next\nuntil removed pack=2",
         "file:2:7: error: the run ended before \"removed pack=2\" happened"},
    };
    for (size_t i = 0; i < sizeof vain / sizeof vain[0]; i++) {
        Err err = {0};
        assert_false(play(*state, "file", vain[i].text, strlen(vain[i].text), &err));
        assert_string_equal(err.text, vain[i].want);
    }
}

/* The log line with the n-th action of a script, from 0. */
static const LogLine *action_at(const AppRun *run, int n)
{
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    for (size_t i = 0; i < count; i++) {
        if (log[i].is_action && n-- == 0) return &log[i];
    }
    fail_msg("there are fewer actions");
    return NULL;
}

static void test_script_play_units(void **state)
{
    static const char text[] = "+7us stop\n+3ms start\n+2s stop\nstart\n+1min stop\n";
    Err err = {0};
    AppRun *run = begin(*state);
    assert_true(script_play(run, "file", text, strlen(text), &err));
    assert_true(action_at(run, 0)->time_us == 7);
    assert_true(action_at(run, 1)->time_us == 3007);
    assert_true(action_at(run, 2)->time_us == 2003007);
    assert_true(action_at(run, 3)->time_us == 2003007);
    assert_true(action_at(run, 4)->time_us == 62003007);
    app_run_free(run);
}

/* "until" counts from the last action on; what was before does not end it. The run then stands
 * where it was when a line is refused. */
static void test_script_play_until(void **state)
{
    static const char text[] = "+1s stop\n+1s start\nuntil line-started\nuntil start\n"
                               "+1s stop\nuntil line-stopped\n+1s nonsense\n";
    Err err = {0};
    AppRun *run = begin(*state);
    assert_false(script_play(run, "file", text, strlen(text), &err));
    assert_memory_equal(err.text, "file:7:5: ", 10);
    assert_false(player_has_ended(app_run_player(run)));
    assert_true(player_now_us(app_run_player(run)) == 3000000);
    assert_true(log_is_action(action_at(run, 2), ACTION_STOP));
    app_run_free(run);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_script_play_bad),     cmocka_unit_test(test_script_check_rows),
        cmocka_unit_test(test_script_check_names),  cmocka_unit_test(test_script_play_sizes),
        cmocka_unit_test(test_script_play_in_vain), cmocka_unit_test(test_script_play_units),
        cmocka_unit_test(test_script_play_until),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
