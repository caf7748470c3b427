/* The run place: every tab and scene keeps its room, and its widgets do in the run what they say.
 * */
#include "ui_place.h"

/* Go in as the first person and begin the scenario of that id. */
static void begin(Window *window, const char *id, bool is_assessment)
{
    Session *session = window->session;
    session_enter(session, 0);
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, id) == 0) session->chosen_scenario = i;
    }
    session_begin_run(session, is_assessment);
    assert_int_equal(session->place, PLACE_RUN);
    window_draw(window);
}

static const Player *player_of(const Window *window)
{
    return app_run_player(window->session->run);
}

/* How often a line that matches stands in the log. */
static int logged(const Window *window, const char *pattern_text)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    int found = 0;
    const LogLine *log = player_log(player_of(window), &count);
    assert_true(log_parse_pattern(pattern_text, (ErrPlace){"pattern", 1, 1}, &pattern, &err));
    for (size_t i = 0; i < count; i++) {
        found += log_matches(&log[i], &pattern);
    }
    return found;
}

static void look_at_pages(Window *window)
{
    RunView *view = &window->session->view;
    for (int page = 0; page < 3; page++) {
        view->page = page;
        for (int tab = 0; tab < (int)TAB_COUNT_OF; tab++) {
            view->tab = (RunTab)tab;
            view->cell = -1;
            window_draw(window);
            check_picture(window);
        }
        view->tab = TAB_SHEET;
        view->cell = 4;
        window_draw(window);
        check_picture(window);
        if (window->session->text_percent == 100) break;
    }
    view->cell = -1;
}

static void test_run_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    check_everywhere(&window, "run, tell", NULL);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    check_everywhere(&window, "run, empty table", look_at_pages);
    window_draw(&window);
    window_press(&window, "make", 0);
    window_press(&window, "tab", TAB_TRAY);
    window_press(&window, "piece", 0);
    window_press(&window, "spot", SITE_TRAILING);
    check_everywhere(&window, "run, piece in hand", look_at_pages);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    session_do(window.session, log_action(ACTION_NEXT, 0));
    check_everywhere(&window, "run, question", NULL);
    window_close(&window);
}

static void test_run_turn_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "the-beep", true);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    check_everywhere(&window, "run, turn", NULL);
    window_close(&window);
}

/* A whole pass by pointer: make, take, lay, send, watch, and the sheet. */
static void test_run_by_pointer(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    window_press(&window, "next", 0);
    assert_int_equal(logged(&window, "scene-begun scene=check"), 1);
    window_press(&window, "make", 0);
    assert_int_equal(logged(&window, "pack-made pack=1 marked=yes"), 1);
    window_press(&window, "piece", 2);
    assert_int_equal(logged(&window, "piece-read piece=SS-25-07 right=yes"), 1);
    assert_string_equal(player_piece_in_hand(player_of(&window)), "SS-25-07");
    assert_true(window_shows(&window, "SS-25-07"));
    window_press(&window, "spot", SITE_LEADING);
    window_press(&window, "next", 0);
    assert_int_equal(logged(&window, "piece-placed piece=SS-25-07 pack=1 spot=leading"), 1);
    window_press(&window, "next", 0);
    assert_int_equal(logged(&window, "piece-sent pack=1 piece=SS-25-07 centre=yes"), 1);
    window_press(&window, "next", 0);
    assert_int_equal(logged(&window, "watching"), 1);
    for (int i = 0; i < 40; i++) {
        session_tick(window.session, 250000);
    }
    window_draw(&window);
    assert_int_equal(logged(&window, "removed pack=1 seen=yes"), 1);
    assert_true(window.session->sounds[SOUND_FOUND]);
    window_press(&window, "stop", 0);
    assert_int_equal(logged(&window, "line-stopped"), 1);
    window_press(&window, "tab", TAB_COUNT);
    window_press(&window, "count", 6);
    window_press(&window, "count", 2);
    assert_int_equal(logged(&window, "bin-opened by=line-leader packs=1"), 1);
    assert_int_equal(logged(&window, "reached-in"), 0);
    window_press(&window, "plus", 0);
    window_press(&window, "count", 0);
    assert_int_equal(logged(&window, "counted what=bin said=1 is=1"), 1);
    window_press(&window, "tab", TAB_SHEET);
    window_press(&window, "cell", 6);
    window_press(&window, "value", 0);
    assert_int_equal(
        logged(&window, "row-written row=stainless-316/leading value=removed truth=true"), 1);
    window_press(&window, "tab", TAB_REST);
    window_press(&window, "rest", 7);
    assert_int_equal(logged(&window, "signed as=self"), 1);
    window_press(&window, "tab", TAB_PEOPLE);
    window_press(&window, "tell", 0);
    assert_int_equal(logged(&window, "told who=line-leader about=check-starts"), 1);
    window_press(&window, "tab", TAB_HOLD);
    window_press(&window, "hold", 0);
    assert_int_equal(logged(&window, "held place=everything"), 1);
    window_press(&window, "hold", 4);
    window_press(&window, "hold", 1);
    assert_int_equal(logged(&window, "released place=pallet"), 1);
    window_close(&window);
}

/* Practice that is left stands still and can be gone on with; an assessment asks once, then ends.
 * */
static void test_run_leaving(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    session_tick(window.session, 200000);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(window.session->place, PLACE_HOME);
    session_tick(window.session, 200000);
    assert_int_equal(player_now_us(player_of(&window)), 200000);
    begin(&window, "nine-passes", true);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(window.session->place, PLACE_RUN);
    assert_false(player_has_ended(player_of(&window)));
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(logged(&window, "run-ended why=left"), 1);
    assert_true(window.session->is_recorded);
    window_close(&window);
}

/* What was left is gone on with from home; who comes after does not get it, and it is kept. */
static void test_run_is_kept(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    Session *session = window.session;
    begin(&window, "nine-passes", false);
    session_tick(session, 200000);
    window_key(&window, UI_KEY_ESCAPE);
    window_press(&window, "next", 0);
    assert_int_equal(session->place, PLACE_RUN);
    assert_int_equal(player_now_us(player_of(&window)), 200000);
    window_key(&window, UI_KEY_ESCAPE);
    session_enter(session, 1);
    assert_false(session_can_go_on(session));
    RecRunView view = {0};
    Err err = {0};
    assert_true(rec_run_load(session->records, session->entry, &view, &err));
    assert_string_equal(text_string(&view.person), session->people[0].id);
    assert_non_null(strstr(text_string(rec_run_content(&view, "log")), "run-ended why=left"));
    rec_run_view_clear(&view);
    window_close(&window);
}

/* A step longer than a quarter of a second is a pause, not a leap. */
static void test_session_tick_is_bounded(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    session_tick(window.session, 60000000);
    assert_int_equal(player_now_us(player_of(&window)), 250000);
    session_tick(window.session, -5);
    assert_int_equal(player_now_us(player_of(&window)), 250000);
    window_close(&window);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_run_by_pointer),
        cmocka_unit_test(test_run_leaving),
        cmocka_unit_test(test_run_is_kept),
        cmocka_unit_test(test_session_tick_is_bounded),
        cmocka_unit_test(test_run_turn_keeps_its_room),
        cmocka_unit_test(test_run_keeps_its_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
