/* Home: what comes next, what is done, the own record, and the ways out of it. */
#include "app/script.h"
#include "ui_place.h"

static int find_scenario(const Session *session, const char *id)
{
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, id) == 0) return i;
    }
    fail_msg("no scenario %s", id);
    return -1;
}

/* Play a scenario's script to its end as the person who is here, and keep the result. */
static void play(Window *window, const char *id, const char *script, bool is_scripted)
{
    Session *session = window->session;
    Text path = {0};
    Text text = {0};
    Err err = {0};
    AppRun *run = NULL;
    AppRunSetup setup = {.seed = 7, .is_scripted = is_scripted};
    text_addf(&path, "scenarios/ostrel-mill/%s.%s.txt", id, script);
    assert_true(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &text, &err));
    assert_true(
        app_run_begin(session->scenarios[find_scenario(session, id)].work, &setup, &run, &err));
    if (!script_play(run, path.bytes, text.bytes, text.len, &err)) fail_msg("%s", err.text);
    app_run_finish(run);
    const char *person = session->people[session->chosen_person].id;
    assert_true(app_run_record(run, session->records, person, &session->entry, &err));
    app_run_free(run);
    text_clear(&path);
    text_clear(&text);
    window_draw(window);
}

static void look(Window *window)
{
    bool big = window->session->text_percent >= 150;
    for (int tab = 0; big && tab < 4; tab++) {
        window_press(window, "tab", tab);
        check_picture(window);
        check_whole(window);
    }
    if (!big) {
        check_picture(window);
        check_whole(window);
        window_press(window, "runs", 9);
        check_picture(window);
        check_whole(window);
        window_press(window, "runs", 9);
    }
    window->session->pages = (Pages){0};
}

static void test_place_home_everywhere(void **state)
{
    Window *window = *state;
    check_everywhere(window, "home, new", look);
    play(window, "nine-passes", "right", false);
    play(window, "the-beep", "k7", false);
    play(window, "eleven-oclock", "right", true);
    check_everywhere(window, "home, three runs", look);
}

/* A hundred runs: each is on some page of the list. */
static void test_place_home_many_runs(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    for (int i = 0; i < HOME_RUNS_MAX; i++) {
        session->home.runs[i] = (HomeRun){.time_us = INT64_C(1700000000000000),
                                          .scenario = i % 4 - 1,
                                          .is_competent = i % 2 == 0,
                                          .is_assessment = i % 3 == 0,
                                          .is_scripted = i % 5 == 0,
                                          .reason = "out-of-time"};
    }
    session->home.run_count = HOME_RUNS_MAX;
    check_everywhere(window, "home, many runs", look);
    window_press(window, "runs", 9);
    int marks = 0;
    for (;;) {
        for (size_t i = 0; i < window->list.item_count; i++) {
            const DrawItem *item = &window->list.items[i];
            if (item->kind != DRAW_ITEM_TEXT) continue;
            marks += strstr(draw_words(&window->list, item), "14 November 2023, ") != NULL;
        }
        if (window_find(window, "runs", 1) == NULL) break;
        window_press(window, "runs", 1);
    }
    assert_int_equal(marks, HOME_RUNS_MAX);
}

/* In the order of their dates: first-pass, nine-passes, the-beep, eleven-oclock, back-to-back. */
static void test_place_home_next(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    assert_true(window_shows(window, "Start: First pack"));
    assert_true(window_shows(window, "You have not done it yet."));
    assert_true(window_shows(window, "In training. No run yet."));
    play(window, "first-pass", "right", false);
    assert_true(window_shows(window, "Start: Nine passes"));
    play(window, "nine-passes", "k5", false);
    assert_true(window_shows(window, "Start: Nine passes"));
    assert_true(window_shows(window, "Your last run missed a critical step."));
    play(window, "nine-passes", "right", false);
    assert_true(window_shows(window, "Start: The beep"));
    assert_true(window_shows(window, "done "));
    play(window, "the-beep", "right", true); /* from a file: no evidence */
    assert_true(window_shows(window, "Start: The beep"));
    assert_true(window_shows(window, "no evidence"));
    play(window, "the-beep", "right", false);
    play(window, "eleven-oclock", "right", false);
    assert_true(window_shows(window, "Start: Back to back"));
    assert_true(window_shows(window, "You have not done it yet."));
    assert_int_equal(session->home.run_count, 6);
}

/* Nobody sees another's runs. */
static void test_place_home_is_own(void **state)
{
    Window *window = *state;
    play(window, "nine-passes", "right", false);
    assert_int_equal(window->session->home.run_count, 1);
    session_enter(window->session, 1);
    window_draw(window);
    assert_int_equal(window->session->home.run_count, 0);
    assert_true(window_shows(window, "In training. No run yet."));
    assert_true(window_shows(window, "Hello, Marit"));
}

static void test_place_home_starts(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    int beep = find_scenario(session, "the-beep");
    window_press(window, "scenario", beep);
    assert_int_equal(session->chosen_scenario, beep);
    window_press(window, "next", 0);
    assert_int_equal(session->place, PLACE_RUN);
    assert_false(session->is_assessment);
    assert_ptr_equal(app_run_work(session->run), session->scenarios[beep].work);
    session_go(session, PLACE_HOME);
    window_draw(window);
    assert_true(window_shows(window, "One sitting. The result is kept."));
    window_press(window, "assess", 0);
    assert_int_equal(session->place, PLACE_RUN);
    assert_true(session->is_assessment);
}

static void test_place_home_ways_out(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    window_press(window, "bench", 0);
    assert_int_equal(session->place, PLACE_BENCH);
    session_go(session, PLACE_HOME);
    window_draw(window);
    assert_int_equal(session->bench.puzzle, PUZZLE_NONE);
    window_press(window, "hide", 0);
    assert_int_equal(session->place, PLACE_BENCH);
    assert_int_equal(session->bench.puzzle, PUZZLE_HIDE);
    assert_true(window_shows(window, "Hide this wire from the head."));
    session_go(session, PLACE_HOME);
    window_draw(window);
    window_press(window, "bench", 0);
    assert_int_equal(session->bench.puzzle, PUZZLE_NONE);
    session_go(session, PLACE_HOME);
    window_draw(window);
    window_key(window, UI_KEY_ESCAPE);
    assert_int_equal(session->place, PLACE_DOOR);
    assert_int_equal(session->chosen_person, -1);
}

/* The cautions that the program always carries stand on the first page. */
static void test_place_home_cautions(void **state)
{
    Window *window = *state;
    assert_true(window_shows(window, "Never reach into a running conveyor"));
    assert_true(window_shows(window, "implant"));
    assert_true(window_shows(window, "does not verify a detector"));
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind != DRAW_ITEM_TEXT) continue;
        bool is_about_hands = strstr(draw_words(&window->list, item), "Never reach") != NULL;
        if (is_about_hands) assert_true(item->size_px >= 19);
    }
}

/* The switches say how it is now, not what a press would do. */
static void test_place_home_switches(void **state)
{
    Window *window = *state;
    assert_true(window_shows(window, "Motion: on"));
    assert_true(window_shows(window, "Sound: on"));
    window_press(window, "calm", 0);
    window_press(window, "silent", 0);
    assert_true(window->session->is_calm && window->session->is_silent);
    assert_true(window_shows(window, "Motion: less"));
    assert_true(window_shows(window, "Sound: off"));
    check_everywhere(window, "home, quiet", check_picture);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_place_home_everywhere, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_many_runs, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_next, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_is_own, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_starts, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_ways_out, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_cautions, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_home_switches, window_enter, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
