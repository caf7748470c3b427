/* Each scene of each scenario that comes with the program has room in the window: in every
 * language, at the usual and the largest text, on the canvases of a window of 1280 x 800 pixels
 * and of the smallest one, 1024 x 600, which is 1365 x 800; every tab and page of it, and so has
 * the look back. */
#include "ui_place.h"

#include "app/script.h"

enum { SEED = 1, PERCENTS = 2, SIZES = 2 };

static AppRun *new_run(const Window *window)
{
    const Session *session = window->session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    const Work *work = session->scenarios[session->chosen_scenario].work;
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    return run;
}

/* A whole run, by that right script of the scenario which is right in the form of this seed. */
static AppRun *right_run(const Window *window)
{
    Err err = {0};
    const Session *session = window->session;
    const Scenario *scenario = work_scenario(session->scenarios[session->chosen_scenario].work);
    AppRun *run = new_run(window);
    for (int i = 0; i < scenario->script_count; i++) {
        Text path = {0};
        Text text = {0};
        if (scenario->scripts[i].misses != 0) continue;
        text_addf(&path, "scenarios/ostrel-mill/%s", scenario->scripts[i].file);
        assert_true(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &text, &err));
        bool ok = script_play(run, path.bytes, text_string(&text), text.len, &err);
        text_clear(&path);
        text_clear(&text);
        Score score = {0};
        if (ok) {
            app_run_finish(run);
            app_run_score(run, &score);
        }
        if (score.competent) return run;
        app_run_free(run);
        run = new_run(window);
    }
    fail_msg("%s: no right script: %s", scenario->id, err.text);
    return run;
}

/* What one picture must keep; that Tab reaches all is checked for each place in its own test. */
static void look(Window *window, const char *name)
{
    window_draw(window);
    (void)snprintf(window->name, sizeof window->name, "%s, %s, %g x %g, text %d, page %d, tab %d",
                   name, session_language(window->session), window->width, window->height,
                   window->session->text_percent, window->session->view.page,
                   (int)window->session->view.tab);
    check_colours(window);
    check_texts(window, window->session->text_percent);
    check_targets(window);
    /* The look back tells a scene that begins by its words, as many as there is room for. */
    if (window->session->place == PLACE_RUN) check_whole(window);
}

/* The scene's tabs; enlarged its pages, and the tabs on the second of them; else what a scene that
 * speaks asks, its sheet and its line. */
static void look_at_tabs(Window *window, const char *name, bool works)
{
    RunView *view = &window->session->view;
    bool is_big = window->session->text_percent > 100;
    RunTab tab = view->tab;
    look(window, name);
    for (int t = 0; works && t < (int)TAB_COUNT_OF; t++) {
        view->tab = (RunTab)t;
        view->page = 1;
        look(window, name);
    }
    for (int page = 1; is_big && page < 3; page++) {
        view->page = page;
        view->ask_page = page;
        look(window, name);
    }
    view->tab = tab;
    view->page = 0;
    view->ask_page = 0;
}

/* Every tab in every scene would take minutes: each picture has one language, one size of text and
 * one canvas of the eight that there are, and the scenes go through all of them in turn. */
static void look_at_scene(Window *window, int *turn)
{
    static const double widths[SIZES] = {1280, 1365};
    static const int percents[PERCENTS] = {100, 200};
    Session *session = window->session;
    const Player *player = app_run_player(session->run);
    const Scenario *scenario = app_run_scenario(session->run);
    const Scene *scene = &scenario->scenes[player_scene(player)];
    bool works =
        scene->kind == SCENE_PASS || (scene->kind == SCENE_WRITE && scene->given_count == 0);
    int ways = session->language_count * PERCENTS * SIZES;
    char name[96];
    (void)snprintf(name, sizeof name, "%.40s, %.40s", scenario->id, scene->id);
    for (int i = 0; i < ways; i++) {
        session->language = i / (PERCENTS * SIZES);
        session->text_percent = percents[i / SIZES % PERCENTS];
        window->width = widths[i % SIZES];
        look(window, name);
        if (i == *turn % ways) look_at_tabs(window, name, works);
    }
    *turn += 3; /* has no part in common with the ways, so that each has its turn */
}

/* Play the run's actions again in the window, and look at each scene as it begins and as it is
 * before its last action. */
static void look_at_scenes(Window *window, const AppRun *whole, int *turn)
{
    Session *session = window->session;
    const Scenario *scenario = app_run_scenario(whole);
    size_t count;
    const LogLine *log = player_log(app_run_player(whole), &count);
    bool seen[SCENARIO_SCENES_MAX] = {false};
    for (size_t i = 0; i < count; i++) {
        LogValue pack;
        bool is_number;
        int scene = player_scene(app_run_player(session->run));
        if (!player_has_ended(app_run_player(session->run)) && scene < scenario->scene_count &&
            !seen[scene]) {
            seen[scene] = true;
            look_at_scene(window, turn);
        }
        if (!log[i].is_action) continue;
        if (log_is_action(&log[i], ACTION_NEXT)) look_at_scene(window, turn);
        app_run_advance(session->run, log[i].time_us);
        session_do(session, log[i]);
        if (log_field(&log[i], "pack", &pack, &is_number)) session->view.pack = (int)pack.number;
    }
    for (int i = 0; i < scenario->scene_count; i++) {
        if (!seen[i]) fail_msg("%s: scene %s was not seen", scenario->id, scenario->scenes[i].id);
    }
}

static void look_at_look_back(Window *window)
{
    Session *session = window->session;
    const char *id = app_run_scenario(session->run)->id;
    session_go(session, PLACE_LOOK_BACK);
    for (int i = 0; i < session->language_count * PERCENTS; i++) {
        session->language = i / PERCENTS;
        session->text_percent = i % PERCENTS == 0 ? 100 : 200;
        for (int tab = 0; tab < 4; tab++) {
            session->pages = (Pages){.tab = tab};
            look(window, id);
        }
    }
}

static void test_every_scene_has_room(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    int turn = 0;
    session_enter(session, 0);
    assert_true(session->scenario_count > 0);
    for (int i = 0; i < session->scenario_count; i++) {
        session->chosen_scenario = i;
        session_begin_run(session, false);
        AppRun *whole = right_run(window);
        app_run_free(session->run); /* its luck was the system's */
        session->run = new_run(window);
        look_at_scenes(window, whole, &turn);
        look_at_look_back(window);
        app_run_free(whole);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_every_scene_has_room, window_enter, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
