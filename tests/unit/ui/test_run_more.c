/* What else is done at the line: every deed has its way, keeps its room, and tells no more than the
 * line does; and the line shows its alarm, its jam, and hides what nobody saw. */
#include "ui_place.h"

#include "app/script.h"

enum { SEED = 1, DEEDS = 25, PER_PAGE = 10, MORE = 11 };

/* A run of that scenario, its luck that of the seed. */
static void begin(Window *window, const char *id, bool is_assessment)
{
    Session *session = window->session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, id) == 0) session->chosen_scenario = i;
    }
    session_begin_run(session, is_assessment);
    const Work *work = session->scenarios[session->chosen_scenario].work;
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    app_run_free(session->run);
    session->run = run;
}

/* Play the actions of a script in the window, as far as the first of that kind. */
static void play_to(Window *window, const char *script, ActionKind kind)
{
    Session *session = window->session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    AppRun *whole = NULL;
    Text text = {0};
    Err err = {0};
    const Work *work = session->scenarios[session->chosen_scenario].work;
    if (!os_file_read(script, SCRIPT_BYTES_MAX, &text, &err) ||
        !app_run_begin(work, &setup, &whole, &err) ||
        !script_play(whole, script, text_string(&text), text.len, &err)) {
        fail_msg("%s", err.text);
    }
    size_t count;
    const LogLine *log = player_log(app_run_player(whole), &count);
    for (size_t i = 0; i < count && !log_is_action(&log[i], kind); i++) {
        if (!log[i].is_action) continue;
        app_run_advance(session->run, log[i].time_us);
        session_do(session, log[i]);
    }
    app_run_free(whole);
    text_clear(&text);
    window_draw(window);
}

/* Open the list and press the deed of that index. */
static void press_deed(Window *window, int deed)
{
    window->session->view.tab = TAB_COUNT;
    window->session->view.more = (RunMore){0};
    window_draw(window);
    window_press(window, "deeds", 0);
    for (int page = 0; page < deed / PER_PAGE; page++) {
        window_press(window, "more", MORE);
    }
    window_press(window, "more", deed % PER_PAGE + 1);
}

/* Nothing that a script can do is out of reach of the hands in the window. */
static void test_more_has_every_deed(void **state)
{
    static const ActionKind kinds[DEEDS] = {ACTION_LOOK,        ACTION_SEARCH,
                                            ACTION_CLEAR_JAM,   ACTION_RESET,
                                            ACTION_CALL,        ACTION_ASK,
                                            ACTION_HAND_OVER,   ACTION_COMPARE_SETTINGS,
                                            ACTION_READ_EVENTS, ACTION_READ_COUNTERS,
                                            ACTION_REFUSE,      ACTION_FETCH_PIECE,
                                            ACTION_SET_PROGRAM, ACTION_SET_SENSITIVITY,
                                            ACTION_SEND_GOOD,   ACTION_LABEL,
                                            ACTION_RE_PASS,     ACTION_EXAMINE_REJECTS,
                                            ACTION_KEEP_FIND,   ACTION_CLEAN,
                                            ACTION_BLOCK,       ACTION_THROW_FIND,
                                            ACTION_UNBLOCK,     ACTION_POWER_OFF,
                                            ACTION_POWER_ON};
    Window *window = *state;
    begin(window, "power-up", false);
    session_do(window->session, log_action(ACTION_NEXT, 0));
    for (int deed = 0; deed < DEEDS; deed++) {
        press_deed(window, deed);
        for (int field = 0; field < 2 && window->session->view.more.answer == 0; field++) {
            window_press(window, "more", 1);
        }
        assert_true(window->session->view.more.answer > 0);
    }
    for (int i = 0; i < DEEDS; i++) {
        int done = window_logged(window, log_action_word(kinds[i]));
        if (done != 1) fail_msg("%s: done %d times", log_action_word(kinds[i]), done);
    }
}

static void test_more_tells_what_came_of_it(void **state)
{
    Window *window = *state;
    begin(window, "power-up", true);
    session_do(window->session, log_action(ACTION_NEXT, 0));
    press_deed(window, 0);
    window_press(window, "more", 4); /* the aperture, fourth of what can be looked at */
    assert_int_equal(window_logged(window, "looked what=aperture is=free"), 1);
    assert_true(window_shows(window, "Looks: aperture, free."));
    press_deed(window, 3);
    window_press(window, "more", 1);
    window_press(window, "more", 1);
    assert_int_equal(window_logged(window, "not-possible why=no-such-alarm"), 1);
    assert_true(window_shows(window, "That cannot be done now."));
    assert_false(window_shows(window, "no-such-alarm"));
    window_press(window, "more", 0);
    window_press(window, "more", 0);
    assert_non_null(window_find(window, "deeds", 0));
}

/* A hand in what moves is logged, and told only in the look back. */
static void test_more_judges_nothing(void **state)
{
    Window *window = *state;
    begin(window, "stuck-case", true);
    play_to(window, "scenarios/ostrel-mill/stuck-case.right-wheel.txt", ACTION_STOP);
    press_deed(window, 2);
    assert_int_equal(window_logged(window, "reached-in"), 1);
    assert_false(window_shows(window, "Reaches"));
    assert_false(window_shows(window, "locked off"));
}

static void test_line_shows_its_alarm(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    begin(window, "power-up", true);
    session_do(session, log_action(ACTION_NEXT, 0));
    LogLine block = log_action(ACTION_BLOCK, 0);
    log_set_word(&block, "what", "air");
    session_do(session, block);
    app_run_advance(session->run, player_now_us(window_player(window)) + INT64_C(10000000));
    assert_int_equal(window_logged(window, "alarm-raised what=low-air"), 1);
    for (int big = 0; big < 2; big++) {
        session->text_percent = big ? 200 : 100;
        window_draw(window);
        assert_true(window_shows(window, "Alarm: too little air"));
    }
    /* A second alarm does not hide the first; the strip of enlarged text may have to cut it. */
    session_do(session, log_action(ACTION_POWER_OFF, 0));
    session_do(session, log_action(ACTION_POWER_ON, 0));
    session->text_percent = 100;
    window_draw(window);
    assert_true(window_shows(window, "Alarm: power was gone, too little air"));
    check_everywhere(window, "run, two alarms", check_picture);
    LogLine reset = log_action(ACTION_RESET, 0);
    log_set_word(&reset, "what", "power");
    log_set_word(&reset, "by", "line-leader");
    session_do(session, reset);
    window_draw(window);
    assert_true(window_shows(window, "Alarm: too little air"));
    log_set_word(&reset, "what", "low-air");
    log_set_word(&reset, "by", "line-leader");
    block.kind = ACTION_UNBLOCK;
    session_do(session, block);
    session_do(session, reset);
    window_draw(window);
    assert_false(window_shows(window, "Alarm:"));
}

static bool next_has_accent(const Window *window)
{
    DrawRect box = window_target(window, "next", 0).box;
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind == DRAW_ITEM_RECT && item->fill == DRAW_ACCENT &&
            fabs(item->box.x - box.x) < 4.0 && fabs(item->box.y - box.y) < 4.0)
            return true;
    }
    return false;
}

/* While the line is locked off a pack can be made, but nothing calls for it. */
static void test_no_accent_on_a_pack_in_trouble(void **state)
{
    Window *window = *state;
    begin(window, "nine-passes", false);
    session_do(window->session, log_action(ACTION_NEXT, 0));
    window_draw(window);
    assert_true(next_has_accent(window));
    session_do(window->session, log_action(ACTION_STOP, 0));
    session_do(window->session, log_action(ACTION_LOCK_OFF, 0));
    window_draw(window);
    assert_true(window_shows(window, "Make a pack"));
    assert_false(next_has_accent(window));
    session_do(window->session, log_action(ACTION_UNLOCK, 0));
    window_draw(window);
    assert_true(next_has_accent(window));
}

/* What sticks under the head is drawn as hidden by it: gone, the picture has that much less. */
static void test_line_shows_its_jam(void **state)
{
    Window *window = *state;
    begin(window, "stuck-case", true);
    play_to(window, "scenarios/ostrel-mill/stuck-case.right-wheel.txt", ACTION_CLEAR_JAM);
    window->session->view.tab = TAB_TASK;
    window_draw(window);
    size_t with = window->list.item_count;
    session_do(window->session, log_action(ACTION_CLEAR_JAM, 0));
    assert_int_equal(window_logged(window, "jam-cleared packs=1"), 1);
    window_draw(window);
    assert_true(window->list.item_count < with);
}

/* A piece that fell out unseen is thought to be in its pack, until that lies open on the table. */
static void test_tray_tells_what_is_known(void **state)
{
    Window *window = *state;
    begin(window, "no-beep", true);
    play_to(window, "scenarios/ostrel-mill/no-beep.right-ss.txt", ACTION_STOP);
    assert_int_equal(window_logged(window, "piece-fell pack=3"), 1);
    assert_true(window_shows(window, "in pack 3"));
    assert_false(window_shows(window, "gone"));
    begin(window, "no-beep", true);
    play_to(window, "scenarios/ostrel-mill/no-beep.right-ss.txt", ACTION_CLOSE_BIN);
    assert_int_equal(window_logged(window, "pack-fetched pack=3"), 2);
    assert_false(window_shows(window, "in pack 3"));
    assert_true(window_shows(window, "gone"));
}

/* In an assessment the bin is to be counted: its packs are drawn, their number is not told. */
static void test_bin_is_counted_by_the_person(void **state)
{
    Window *window = *state;
    for (int practice = 0; practice < 2; practice++) {
        int packs = 0;
        begin(window, "two-lanes", practice == 0);
        play_to(window, "scenarios/ostrel-mill/two-lanes.right.txt", ACTION_COUNT);
        for (size_t i = 0; i < window->list.item_count; i++) {
            const DrawItem *item = &window->list.items[i];
            packs += item->kind == DRAW_ITEM_SHAPE && item->fill == DRAW_WASH;
        }
        assert_int_equal(packs, line_counts(player_line(window_player(window))).tests_in_bin);
        assert_int_equal(packs, 3);
        assert_true(window_shows(window, "Bin, open"));
        assert_true(window_shows(window, "Bin, open: 3") == (practice == 1));
    }
}

/* The deeds, and the words of each that has some, have room on every page. */
static void test_more_keeps_its_room(void **state)
{
    enum { PAGES = 5 };
    static const RunMore lists[] = {
        {.is_open = true},
        {.is_open = true, .deed = 1},            /* to look at */
        {.is_open = true, .deed = 2},            /* to search */
        {.is_open = true, .deed = 4},            /* alarms */
        {.is_open = true, .deed = 4, .word = 1}, /* who resets */
        {.is_open = true, .deed = 5},            /* who comes */
        {.is_open = true, .deed = 6, .word = 4}, /* what for */
        {.is_open = true, .deed = 10},           /* who takes over */
        {.is_open = true, .deed = 11},           /* programs */
        {.is_open = true, .deed = 12},           /* sensitivities */
        {.is_open = true, .deed = 13},           /* pieces of the tray */
        {.is_open = true, .deed = 14},           /* and the others */
        {.is_open = true, .deed = 16},           /* stock */
        {.is_open = true, .deed = 22},           /* to block */
    };
    static const double widths[] = {1280, 1365};
    static const int percents[] = {100, 125, 150, 200};
    Window *window = *state;
    Session *session = window->session;
    begin(window, "stuck-case", false);
    play_to(window, "scenarios/ostrel-mill/stuck-case.right-wheel.txt", ACTION_CLEAR_JAM);
    session->view.tab = TAB_COUNT;
    session->view.page = 1;
    for (int i = 0; i < session->language_count * 8; i++) {
        session->language = i / 8;
        session->text_percent = percents[i / 2 % 4];
        window->width = widths[i % 2];
        for (size_t list = 0; list < sizeof lists / sizeof lists[0] * PAGES; list++) {
            session->view.more = lists[list / PAGES];
            session->view.more.page = (int)(list % PAGES);
            (void)snprintf(window->name, sizeof window->name,
                           "deed %d, word %d, page %d, %s, %g wide, text %d",
                           session->view.more.deed, session->view.more.word,
                           session->view.more.page, session_language(session), window->width,
                           session->text_percent);
            window_draw(window);
            check_texts(window, session->text_percent);
            check_targets(window);
            check_whole(window);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_more_has_every_deed, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_more_tells_what_came_of_it, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_more_judges_nothing, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_line_shows_its_alarm, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_no_accent_on_a_pack_in_trouble, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_line_shows_its_jam, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_tray_tells_what_is_known, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_bin_is_counted_by_the_person, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_more_keeps_its_room, window_enter, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
