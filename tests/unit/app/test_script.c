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
    {"lock-off ^by=me\n", "\"lock-off\" has no field \"by\""},
    {"lock-off\nuntil ^locked-off\n",
     "the run ended before \"locked-off\" happened; what could not be done last: "
     "line-is-running"},
    {"+0s stop\nuntil stop\n", NULL},
    {"^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"next\n  ^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"+1s ^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"\t+1s\t\t^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {"+1s^", "there is no action here"},
    {"+1s^   \n", "there is no action here"},
    {"+1s ^# a remark", "\"#\" is no action; the nearest is \"ask\""},
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
    {"until   removed ^packs=1\n", "\"removed\" has no field \"packs\""},
    {"until removed ^pack\n", "pack has no value; there must be pack=... here"},
    {"until removed ^pack=65\n", "pack is 65, limit 0..64"},
    {"until ^line-stopped\n", "the run ended before \"line-stopped\" happened"},
    {"stop\nnext\nuntil ^line-stopped\n", "the run ended before \"line-stopped\" happened"},
    {"leave\nuntil ^removed pack=1\n", "the run ended before \"removed pack=1\" happened"},
    {"^untilremoved pack=1\n", "\"untilremoved\" is no action; the nearest is \"unlock\""},
    {"^Until removed pack=1\n", "\"Until\" is no action; the nearest is \"watch\""},
    {"take^", "\"take\" needs piece="},
    {"take ^FE-15-03", "\"take\" has no field \"FE-15-03\""},
    {"take ^piece", "piece has no value; there must be piece=... here"},
    {"take ^piece=", "piece is \"\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take piece=A ^piece=B", "piece is given twice"},
    {"take piece=A ^# now", "\"take\" has no field \"#\""},
    {"make-pack ^pack=65 marked=yes", "pack is 65, limit 1..64"},
    {"make-pack ^pack=0 marked=yes", "pack is 0, limit 1..64"},
    {"+2s make-pack pack=1^", "\"make-pack\" needs marked="},
    {"send pack=1 ^across_um=5000001", "across_um is 5000001, limit -5000000..5000000"},
    {"send pack=1 ^across_um=1mm",
     "across_um is \"1mm\", must be a whole number, limit -5000000..5000000"},
    {"count what=bin ^said=three", "said is \"three\", must be a whole number, limit 0..100000"},
    {"set-sensitivity ^percent=5", "percent is 5, limit 10..1000"},
    {"^blow", "\"blow\" is no action; the nearest is \"block\""},
    {"^0 > next", "\"0\" is no action; the nearest is \"ask\""},
    {"^\xef\xbb\xbfnext", "\"\xef\xbb\xbfnext\" is no action; the nearest is \"next\""},
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
        cmocka_unit_test(test_script_play_bad),
        cmocka_unit_test(test_script_play_sizes),
        cmocka_unit_test(test_script_play_units),
        cmocka_unit_test(test_script_play_until),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
