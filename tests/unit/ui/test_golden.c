/* Each place's draw list, in every theme, language and two sizes of text, against what it was.
 *
 *   test_golden [--bless]
 *
 * Letters have one width here, so that no font matters. `--bless` writes the files anew from what
 * is drawn now; the commit then says why they changed. */
#include "ui_place.h"

#include "app/script.h"

#define FOLDER "tests/golden/ui"

enum { SEED = 1, BYTES_MAX = 4 * 1024 * 1024 };

typedef struct {
    Window window;
    bool is_bless;
    int differing, compared;
} Golden;

static void compare(Golden *golden, const char *name)
{
    Session *session = golden->window.session;
    Err err = {0};
    Text path = {0};
    Text got = {0};
    Text want = {0};
    text_addf(&path, "%s/%s-%s-%s-%d.txt", FOLDER, name, draw_theme_words[session->theme],
              session_language(session), session->text_percent);
    draw_print(&golden->window.list, &got);
    if (golden->is_bless) {
        if (!os_file_write(path.bytes, got.bytes, got.len, &err)) fail_msg("%s", err.text);
    } else if (!os_file_read(path.bytes, BYTES_MAX, &want, &err)) {
        print_error("%s\n", err.text);
        golden->differing++;
    } else if (strcmp(text_string(&want), text_string(&got)) != 0) {
        size_t at = 0;
        int line = 1;
        for (; want.bytes[at] == got.bytes[at]; at++) {
            line += want.bytes[at] == '\n';
        }
        print_error("%s:%d: differs from what is drawn now; from there on that is:\n%.200s\n",
                    path.bytes, line, got.bytes + at);
        golden->differing++;
    }
    golden->compared++;
    text_clear(&path);
    text_clear(&got);
    text_clear(&want);
}

/* The place as it is now, in every theme, language and two sizes of text. */
static void look(Golden *golden, const char *name)
{
    Session *session = golden->window.session;
    for (int language = 0; language < session->language_count; language++) {
        for (int theme = 0; theme < (int)DRAW_THEME_COUNT; theme++) {
            for (int percent = 100; percent <= 200; percent += 100) {
                session->language = language;
                session->theme = (DrawTheme)theme;
                session->text_percent = percent;
                window_draw(&golden->window);
                compare(golden, name);
            }
        }
    }
    session->language = 0;
    session->theme = DRAW_LIGHT;
    session->text_percent = 100;
}

static void choose(Session *session, const char *scenario)
{
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, scenario) == 0) session->chosen_scenario = i;
    }
}

/* The run of a script, taken over at the moment before its first answer, or at its end. */
static void play(Golden *golden, const char *scenario, const char *script, bool to_end)
{
    Session *session = golden->window.session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    Text text = {0};
    Err err = {0};
    AppRun *whole = NULL;
    AppRun *run = NULL;
    choose(session, scenario);
    const Work *work = session->scenarios[session->chosen_scenario].work;
    session_begin_run(session, false);
    if (!os_file_read(script, SCRIPT_BYTES_MAX, &text, &err) ||
        !app_run_begin(work, &setup, &whole, &err) || !app_run_begin(work, &setup, &run, &err) ||
        !script_play(whole, script, text_string(&text), text.len, &err)) {
        fail_msg("%s", err.text);
    }
    app_run_free(session->run); /* its luck was the system's */
    session->run = run;
    size_t count;
    const LogLine *log = player_log(app_run_player(whole), &count);
    for (size_t i = 0; i < count; i++) {
        if (!log[i].is_action) continue;
        if (!to_end && log_is_action(&log[i], ACTION_ANSWER)) break;
        app_run_advance(run, log[i].time_us);
        session_do(session, log[i]);
    }
    if (to_end) {
        app_run_finish(run);
        session_record(session);
    }
    app_run_free(whole);
    text_clear(&text);
}

static void test_golden_places(void **state)
{
    Golden *golden = *state;
    window_open(&golden->window);
    Session *session = golden->window.session;
    look(golden, "door");
    session_enter(session, 0);
    look(golden, "home");
    session_go(session, PLACE_BENCH);
    look(golden, "bench");
    choose(session, "nine-passes");
    session_begin_run(session, false);
    look(golden, "run-begun");
    play(golden, "eleven-oclock", "scenarios/ostrel-mill/eleven-oclock.right.txt", false);
    look(golden, "run-question");
    play(golden, "eleven-oclock", "scenarios/ostrel-mill/eleven-oclock.k7.txt", true);
    look(golden, "run-over");
    session_go(session, PLACE_LOOK_BACK);
    look(golden, "look-back");
    window_close(&golden->window);
    print_message("%d draw lists, %d differ\n", golden->compared, golden->differing);
    assert_true(golden->compared > 0);
    assert_int_equal(golden->differing, 0);
}

int main(int argc, char **argv)
{
    Golden golden = {.is_bless = argc == 2 && strcmp(argv[1], "--bless") == 0};
    if (argc > 1 && !golden.is_bless) {
        (void)fputs("usage: test_golden [--bless]\n", stderr);
        return 2;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(test_golden_places, &golden),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
