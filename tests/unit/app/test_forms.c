/* Scenes that ask, the forms that a seed draws, seeds that count, and scripts written from a run.
 * Where a piece is hardest to find is common practice: as near the centre line as the pack lets it
 * lie; on top of a block of butter, in the middle of a loaf. */
#include "asked.h"

#include <stdio.h>
#include <string.h>

#include "app/inspect.h"
#include "app/script.h"
#include "base/os.h"

enum { SEEDS = 64 };

/* Play a script with seed 1 and keep the run. */
static AppRun *play(const Work *work, uint64_t seed, const char *script)
{
    AppRun *run = NULL;
    Err err = {0};
    AppRunSetup setup = {.seed = seed, .is_scripted = true};
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    if (!script_play(run, "script", script, strlen(script), &err)) fail_msg("%s", err.text);
    return run;
}

static int count_of(const AppRun *run, const char *text)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    int seen = 0;
    const LogLine *log = player_log(app_run_player(run), &count);
    if (!log_parse_pattern(text, (ErrPlace){"pattern", 1, 1}, &pattern, &err))
        fail_msg("%s", err.text);
    for (size_t i = 0; i < count; i++) {
        seen += log_matches(&log[i], &pattern);
    }
    return seen;
}

#define WHERE "+1s point across_um=0 up_um=40000\n"
#define ORDER                                                                                      \
    "+1s arrange step=stop at=1\narrange step=hold at=2\narrange step=tell at=3\n"                 \
    "arrange step=release at=4\n+1s answer choice=so\n"
#define SHEET                                                                                      \
    "+1s write row=brass/middle value=missed\n+1s write row=result value=failed\n+1s next\n"

static void test_questions_each(void **state)
{
    (void)state;
    static const struct {
        const char *name, *script, *wanted; /* what must be in the log */
    } rows[] = {
        {"the record corrected", SHEET, "answered scene=sheet right=yes"},
        {"the record half corrected", "write row=result value=failed\nnext\n",
         "answered scene=sheet right=no mistake=M24"},
        {"the record left as it is", "next\n", "answered scene=sheet right=no"},
        {"a right row made wrong", "write row=bin-count value=2\n" SHEET,
         "answered scene=sheet right=no"},
        {"what a row cannot say", "write row=result value=perhaps\n",
         "not-possible why=no-such-value"},
        {"the own sheet beside it", "write row=program value=butter-200\n",
         "row-written row=program truth=true"},
        {"on top, in the middle", SHEET WHERE, "answered scene=where right=yes mistake=none"},
        {"at the wall of the pack", SHEET "point across_um=35000 up_um=40000\n",
         "answered scene=where right=no mistake=M3"},
        {"inside, where nobody can lay it", SHEET "point across_um=0 up_um=20000\n",
         "answered scene=where right=no"},
        {"beside the pack", SHEET "point across_um=36000 up_um=40000\n",
         "answered scene=where right=no"},
        {"no answer to a place", SHEET "answer choice=so\n", "not-possible why=no-question"},
        {"no next past a place", SHEET "next\n", "not-possible why=answer-first"},
        {"in order", SHEET WHERE ORDER, "answered scene=order choice=in-this-order right=yes"},
        {"in the other order that is right",
         SHEET WHERE "arrange step=hold at=1\narrange step=stop at=1\narrange step=tell "
                     "at=2\narrange step=release at=4\nanswer choice=so\n",
         "answered scene=order right=yes"},
        {"released first", SHEET WHERE "arrange step=release at=1\nanswer choice=so\n",
         "answered scene=order right=no"},
        {"no such step", SHEET WHERE "arrange step=pray at=1\n", "not-possible why=no-such-step"},
        {"no such place in the order", SHEET WHERE "arrange step=stop at=5\n",
         "not-possible why=no-such-step"},
        {"all right go straight on", SHEET WHERE ORDER, "scene-begun scene=why"},
        {"one wrong is told so", SHEET "point across_um=35000 up_um=40000\n" ORDER,
         "scene-begun scene=again"},
        {"a wrong answer leads to work", SHEET WHERE ORDER "answer choice=b\n",
         "scene-begun scene=work"},
        {"a right answer leads to the end", SHEET WHERE ORDER "answer choice=a\nnext\n",
         "run-ended why=done"},
    };
    Work *work = asked_work(ASKED);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        AppRun *run = play(work, 1, rows[i].script);
        if (count_of(run, rows[i].wanted) != 1)
            fail_msg("%s: no \"%s\"", rows[i].name, rows[i].wanted);
        app_run_free(run);
    }
    AppRun *run = play(work, 1, SHEET WHERE ORDER "answer choice=a\nnext\n");
    Score score;
    app_run_score(run, &score);
    assert_true(score.competent);
    app_run_free(run);
    work_free(work);
}

/* A loaf takes its piece inside: at the height of the aperture's centre, 60 mm above its bottom
 * (75 mm above the aperture's floor, the belt 15 mm above that), not at its bottom. */
static void test_questions_loaf(void **state)
{
    (void)state;
    static const char loaf[] =
        "{\"format\": \"threepass-scenario-1\", \"id\": \"loaf\", \"title\": {\"en\": \"L\"},\n"
        " \"site\": \"ostrel-mill\", \"line\": \"b1\", \"product\": \"loaf-800\",\n"
        " \"role\": \"line-checker\", \"plan\": \"start\", \"minutes\": 5, \"date\": "
        "\"2026-03-02\", \"clock\": \"06:00\", \"last_good_check\": \"06:00\",\n"
        " \"kit\": [\"SS-30-06\"], \"scenes\": [{\"id\": \"where\", \"kind\": \"place\", "
        "\"text\": {\"en\": \"W\"}, \"piece\": \"SS-30-06\", \"within_percent\": 1}],\n"
        " \"rubric\": [{\"id\": \"r\", \"points\": 1, \"text\": {\"en\": \"R\"}, \"need\": "
        "{\"seen\": \"answered right=yes\"}}], \"pass_percent\": 80}\n";
    Work *work = asked_work(loaf);
    const CoilHead *coils = &work_site(work)->heads[work_scenario(work)->line->head].head.coils;
    ProductBlock block =
        site_block(work_site(work), work_scenario(work)->line, work_scenario(work)->product);
    int64_t axis_um = (int64_t)((block.height_m / 2.0 - block.centre_up_m) * 1e6 + 0.5);
    assert_true(axis_um > 0 && coils->aperture_height_m > block.height_m);
    for (int i = 0; i < 3; i++) {
        Text script = {0};
        const int64_t ups[] = {axis_um, 12000, axis_um};
        const int64_t across[] = {0, 0, 50000};
        text_addf(&script, "point across_um=%lld up_um=%lld\n", (long long)across[i],
                  (long long)ups[i]);
        AppRun *run = play(work, 1, script.bytes);
        int right = count_of(run, "answered right=yes");
        if (right != (i == 0)) fail_msg("%s", script.bytes);
        app_run_free(run);
        text_clear(&script);
    }
    work_free(work);
}

/* --- Forms ----------------------------------------------------------------------------------- */

static const Scene *scene_named(const Scenario *scenario, const char *id)
{
    for (int i = 0; i < scenario->scene_count; i++) {
        if (strcmp(scenario->scenes[i].id, id) == 0) return &scenario->scenes[i];
    }
    fail_msg("no scene %s", id);
    return NULL;
}

static int step_at(const Scene *scene, const char *id)
{
    for (int i = 0; i < scene->step_count; i++) {
        if (strcmp(scene->steps[i].id, id) == 0) return i;
    }
    return -1;
}

/* What the steps come after is the same by name in every order. */
static void want_same_steps(const Scene *scene)
{
    static const int plain[] = {0, 1, 2, 3, 4, 5, 6, 7};
    int stop = step_at(scene, "stop");
    int hold = step_at(scene, "hold");
    int tell = step_at(scene, "tell");
    int release = step_at(scene, "release");
    assert_int_equal(scene->steps[stop].after, 0);
    assert_int_equal(scene->steps[hold].after, 1U << stop);
    assert_int_equal(scene->steps[tell].after, 1U << stop);
    assert_int_equal(scene->steps[release].after, 1U << hold | 1U << tell);
    assert_false(scenario_order_is_right(scene, plain));
    const int right[] = {stop, tell, hold, release};
    assert_true(scenario_order_is_right(scene, right));
}

static void test_scenario_form_each(void **state)
{
    (void)state;
    Work *work = asked_work(ASKED);
    int kits[3] = {0};
    int faults[2] = {0};
    int first[3] = {0};
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        Scenario *form = scenario_form(work_scenario(work), seed);
        Scenario *again = scenario_form(work_scenario(work), seed);
        const Scene *why = scene_named(form, "why");
        kits[form->kit_count]++;
        faults[form->fault_count]++;
        first[why->answers[0].id[0] - 'a']++;
        want_same_steps(scene_named(form, "order"));
        assert_int_equal(form->kit_count, again->kit_count);
        assert_int_equal(form->fault_count, again->fault_count);
        for (int i = 0; i < why->answer_count; i++) {
            bool is_right = why->answers[i].id[0] == 'a';
            assert_true(why->answers[i].right == is_right);
            assert_string_equal(why->answers[i].id, scene_named(again, "why")->answers[i].id);
        }
        scenario_form_free(again);
        scenario_form_free(form);
    }
    /* A draw of one in two or three comes up at least once in 64, but for one time in 1e11. */
    assert_true(kits[1] > 0 && kits[2] > 0 && faults[0] > 0 && faults[1] > 0);
    assert_true(first[0] > 0 && first[1] > 0 && first[2] > 0);
    work_free(work);
}

/* --- Seeds that count ------------------------------------------------------------------------ */

typedef struct {
    Text folder;
    int findings;
    char last[ERR_TEXT_BYTES];
} Trial;

static void write_file(const Trial *trial, const char *name, const char *text)
{
    Text path = {0};
    Err err = {0};
    text_addf(&path, "%s/%s", trial->folder.bytes, name);
    if (!os_file_write(path.bytes, text, strlen(text), &err)) fail_msg("%s", err.text);
    text_clear(&path);
}

static void remove_file(const Trial *trial, const char *name)
{
    Text path = {0};
    text_addf(&path, "%s/%s", trial->folder.bytes, name);
    assert_int_equal(remove(path.bytes), 0);
    text_clear(&path);
}

static void hear(void *context, bool is_error, const char *text)
{
    Trial *trial = context;
    trial->findings += is_error;
    if (is_error) (void)snprintf(trial->last, sizeof trial->last, "%s", text);
}

/* A fault in one of so many forms, and a scenario that is about the fault. */
#define ABOUT(forms)                                                                               \
    ASKED_HEAD " \"kit\": [\"FE-15-03\"],\n \"faults\": [{\"one_of\": [" forms "]}],\n"            \
               " \"scenes\": [{\"id\": \"a\", \"kind\": \"tell\", \"text\": {\"en\": \"A\"}}],\n"  \
               " \"rubric\": [{\"id\": \"r\", \"points\": 1, \"text\": {\"en\": \"R\"}, \"need\":" \
               " {\"seen\": \"next\"}}],\n \"pass_percent\": 80,\n"                                \
               " \"needs\": [\"fault-set\"],\n \"scripts\": {\"right\": \"t.txt\"}}\n"
#define LATE "[{\"kind\": \"reject-late\", \"by_ms\": 90}]"

/* The site's last member. */
static void drop_competences(Text *site)
{
    char *from = strstr(site->bytes, ",\n  \"competences\"");
    assert_non_null(from);
    memcpy(from, "}", sizeof "}");
    site->len = strlen(site->bytes);
}

static void test_app_seed_counts(void **state)
{
    (void)state;
    Trial trial = {0};
    Err err = {0};
    Work *work = NULL;
    InspectCount count = {0};
    Text site = {0};
    assert_true(os_folder_make_temporary(&trial.folder, &err));
    assert_true(os_file_read("scenarios/ostrel-mill/site.json", 1 << 20, &site, &err));
    drop_competences(&site); /* their scenarios are not here */
    write_file(&trial, "site.json", site.bytes);
    write_file(&trial, "t.json", ABOUT(LATE ", []"));
    write_file(&trial, "t.txt", "next\n");
    if (!work_read("assets", trial.folder.bytes, "t.json", NULL, NULL, &work, &err))
        fail_msg("%s", err.text);
    int given_way = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        bool counts;
        AppRun *run = NULL;
        AppRunSetup setup = {.seed = seed};
        if (!app_seed_counts(work, seed, &counts, &err)) fail_msg("%s", err.text);
        if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
        assert_int_equal(app_run_scenario(run)->fault_count, 1);
        assert_true(counts == (app_run_seed(run) == seed) && app_run_seed(run) >= seed);
        given_way += !counts;
        app_run_free(run);
    }
    assert_true(given_way > 0 && given_way < SEEDS);
    work_free(work);
    /* One in eight is luck; the file and the place of the needs are told. */
    write_file(&trial, "t.json", ABOUT(LATE ", [], [], [], [], [], [], []"));
    assert_true(inspect_path("assets", trial.folder.bytes, true, hear, &trial, &count, &err));
    assert_int_equal(trial.findings, 1);
    assert_non_null(strstr(trial.last, "t.json:10:13: error: only "));
    assert_non_null(strstr(trial.last, "of 20 seeds show in a right run what the scenario needs"));
    remove_file(&trial, "t.json");
    remove_file(&trial, "t.txt");
    remove_file(&trial, "site.json");
    assert_int_equal(remove(trial.folder.bytes), 0);
    text_clear(&trial.folder);
    text_clear(&site);
}

/* --- Scripts from runs ----------------------------------------------------------------------- */

static void test_script_print_plays_alike(void **state)
{
    (void)state;
    static const char *const names[] = {"nine-passes", "the-beep", "eleven-oclock", "first-pass"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[128];
        char file[64];
        Work *work = NULL;
        Text script = {0};
        Text again = {0};
        Text first = {0};
        Text second = {0};
        Err err = {0};
        size_t count;
        (void)snprintf(path, sizeof path, "scenarios/ostrel-mill/%s.right.txt", names[i]);
        (void)snprintf(file, sizeof file, "%s.json", names[i]);
        assert_true(work_read("assets", "scenarios/ostrel-mill", file, NULL, NULL, &work, &err));
        assert_true(os_file_read(path, SCRIPT_BYTES_MAX, &script, &err));
        AppRun *run = play(work, 7, script.bytes);
        const LogLine *log = player_log(app_run_player(run), &count);
        script_print(log, count, &again);
        player_print_run(app_run_player(run), &first);
        AppRun *other = play(work, 7, again.bytes);
        player_print_run(app_run_player(other), &second);
        assert_string_equal(first.bytes, second.bytes);
        app_run_free(run);
        app_run_free(other);
        work_free(work);
        text_clear(&script);
        text_clear(&again);
        text_clear(&first);
        text_clear(&second);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_questions_each),           cmocka_unit_test(test_questions_loaf),
        cmocka_unit_test(test_scenario_form_each),       cmocka_unit_test(test_app_seed_counts),
        cmocka_unit_test(test_script_print_plays_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
