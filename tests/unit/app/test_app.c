/* The single door: a run recorded, judged again, and what makes that fail. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/script.h"
#include "base/os.h"

static Work *read_work(void)
{
    Work *work = NULL;
    Err err = {0};
    if (!work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL, &work,
                   &err)) {
        fail_msg("%s", err.text);
    }
    return work;
}

static AppRun *play(const Work *work, uint64_t seed)
{
    AppRun *run = NULL;
    Text script = {0};
    Err err = {0};
    AppRunSetup setup = {.seed = seed, .is_scripted = true};
    assert_true(os_file_read("scenarios/ostrel-mill/nine-passes.right.txt", SCRIPT_BYTES_MAX,
                             &script, &err));
    assert_true(app_run_begin(work, &setup, &run, &err));
    assert_true(script_play(run, "right", script.bytes, script.len, &err));
    text_clear(&script);
    return run;
}

/* What the store would hand out for this run, with `old` in its log replaced by `new`. */
static RecRunView view_of(const AppRun *run, uint64_t seed, const char *old, const char *new)
{
    RecRunView view = {.seed = seed, .is_scripted = true, .content_count = WORK_PART_COUNT + 1};
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        const Text *part = work_part(app_run_work(run), (WorkPart)i);
        text_add(&view.content_names[i], work_part_names[i]);
        text_add_bytes(&view.contents[i], text_string(part), part->len);
    }
    Text log = {0};
    player_print_run(app_run_player(run), &log);
    Text *stored = &view.contents[WORK_PART_COUNT];
    text_add(&view.content_names[WORK_PART_COUNT], "log");
    const char *at = old == NULL ? NULL : strstr(log.bytes, old);
    if (old != NULL) {
        assert_non_null(at);
        text_add_bytes(stored, log.bytes, (size_t)(at - log.bytes));
        text_addf(stored, "%s%s", new, at + strlen(old));
    } else {
        text_add(stored, log.bytes);
    }
    text_clear(&log);
    return view;
}

/* Judge again; *same tells whether the result is the live one's. */
static bool rejudge(const AppRun *run, RecRunView *view, bool *same, Text *why)
{
    Text result = {0};
    Text live = {0};
    Score score;
    app_run_score(run, &score);
    score_print(&score, &live);
    bool ok = app_rejudge(NULL, view, &result, why);
    *same = strcmp(text_string(&live), text_string(&result)) == 0;
    text_clear(&result);
    text_clear(&live);
    rec_run_view_clear(view);
    return ok;
}

static void test_app_rejudge_table(void **state)
{
    static const struct {
        const char *name;
        uint64_t seed;
        const char *model; /* of the entry */
        const char *old, *new;
        bool ok, same;
        const char *why;
    } rows[] = {
        {"untouched", 7, "3", NULL, NULL, true, true, ""},
        {"another seed in the entry", 8, "3", NULL, NULL, false, false, "another run"},
        {"another seed in the log", 7, "3", "seed 7\n", "seed 8\n", false, false, "another run"},
        {"another scenario", 7, "3", "nine-passes", "the-beep", false, false, "another run"},
        {"a happening made up", 7, "3", "removed pack=1 pieces=1 seen=yes",
         "removed pack=1 pieces=1 seen=no", false, false, "differs"},
        {"a ratio made better", 7, "3", "found=yes ratio_milli=1", "found=yes ratio_milli=2", false,
         false, "differs"},
        {"an action made later", 7, "3", "> count what=kit said=6", "> count what=kit said=7",
         false, false, "differs"},
        {"an action that is none", 7, "3", "> sign as=self", "> sing as=self", false, false,
         "\"sing\" is no action"},
        {"another model in the log than in the entry", 7, "3", "model 3\n", "model 1\n", false,
         false, "the log says model 1"},
        {"computed by an older model", 7, "1", "model 3\n", "model 1\n", true, true,
         "not computed again: model 1"},
        {"computed by a model that is not known yet", 7, "4", "model 3\n", "model 4\n", false,
         false, "this program knows up to 3"},
    };
    (void)state;
    Work *work = read_work();
    AppRun *run = play(work, 7);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bool same;
        Text why = {0};
        RecRunView view = view_of(run, rows[i].seed, rows[i].old, rows[i].new);
        text_add(&view.model, rows[i].model);
        bool ok = rejudge(run, &view, &same, &why);
        if (ok != rows[i].ok || same != rows[i].same ||
            strstr(text_string(&why), rows[i].why) == NULL) {
            fail_msg("%s: ok %d, same %d, why \"%s\"", rows[i].name, ok, same, text_string(&why));
        }
        text_clear(&why);
    }
    app_run_free(run);
    work_free(work);
}

static void test_app_run_finish_ends_at_its_time(void **state)
{
    (void)state;
    Work *work = read_work();
    AppRun *run = NULL;
    Err err = {0};
    Score score;
    AppRunSetup setup = {.seed = 1};
    assert_true(app_run_begin(work, &setup, &run, &err));
    app_run_score(run, &score);
    assert_int_equal(score.reason, SCORE_UNFINISHED);
    assert_false(score.competent);
    app_run_finish(run);
    assert_true(player_has_ended(app_run_player(run)));
    assert_int_equal(player_now_us(app_run_player(run)), INT64_C(600000000));
    app_run_score(run, &score);
    assert_int_equal(score.reason, SCORE_CRITICAL_MISSED);
    LogLine late = log_action(ACTION_STOP, player_now_us(app_run_player(run)));
    assert_false(app_run_do(run, &late));
    app_run_free(run);
    work_free(work);
}

static void test_app_run_left_is_broken_off(void **state)
{
    (void)state;
    Work *work = read_work();
    AppRun *run = NULL;
    Err err = {0};
    Score score;
    AppRunSetup setup = {.seed = 1};
    assert_true(app_run_begin(work, &setup, &run, &err));
    LogLine leave = log_action(ACTION_LEAVE, 1000000);
    assert_true(app_run_do(run, &leave));
    app_run_score(run, &score);
    assert_false(score.competent);
    assert_true(player_has_ended(app_run_player(run)));
    app_run_free(run);
    work_free(work);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_app_rejudge_table),
        cmocka_unit_test(test_app_run_finish_ends_at_its_time),
        cmocka_unit_test(test_app_run_left_is_broken_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
