/* The run place: every tab and scene keeps its room, and its widgets do in the run what they say.
 * */
#include "asked.h"
#include "ui_place.h"

#include "app/script.h"
#include "ui/pass.h"
#include "ui/run.h"

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

static void look_at_all(Window *window)
{
    check_picture(window);
    check_whole(window);
}

static void test_run_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    check_everywhere(&window, "run, tell", look_at_all);
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
    check_everywhere(&window, "run, question", look_at_all);
    window_close(&window);
}

/* The rows of the result once they are written, and the tab that releases. */
static void test_run_written_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    window.session->view.count = 12;
    window_draw(&window);
    window_press(&window, "tab", TAB_REST);
    for (int row = 0; row < 6; row++) {
        window_press(&window, "rest", row);
    }
    assert_int_equal(window_logged(&window, "row-written"), 6);
    check_everywhere(&window, "run, written rows", look_at_pages);
    window_press(&window, "tab", TAB_HOLD);
    window_press(&window, "hold-mode", 1);
    check_everywhere(&window, "run, release", look_at_pages);
    window_close(&window);
}

/* A line with two lanes: the table chooses the lane of the next pack, the sheet has one of each. */
static void test_run_has_lanes(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "two-lanes", false);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    LogLine both = log_action(ACTION_ANSWER, 0);
    log_set_word(&both, "choice", "both");
    session_do(window.session, both);
    window_draw(&window);
    window_press(&window, "make", 0);
    assert_true(window_shows(&window, "Lane 1"));
    window_press(&window, "lane", 0);
    assert_true(window_shows(&window, "Lane 2"));
    check_everywhere(&window, "run, two lanes", look_at_pages);
    window_draw(&window);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "send lane=2"), 1);
    assert_int_equal(window_logged(&window, "pack-sent pack=1 lane=2"), 1);
    assert_int_equal(window_logged(&window, "not-possible"), 0);
    window_press(&window, "tab", TAB_SHEET);
    window_press(&window, "cell", 0);
    window_press(&window, "value", 0);
    assert_int_equal(window_logged(&window, "row-written row=chrome-steel/leading/2"), 1);
    window_press(&window, "cell", 4);
    window_press(&window, "sheet-lane", 0);
    window_press(&window, "value", 2);
    assert_int_equal(window_logged(&window, "row-written row=brass/middle/1"), 1);
    window_close(&window);
}

/* A line is drawn through the words, from left to right, between their ascenders and descenders. */
static bool is_struck(const Window *window, const char *words)
{
    const DrawList *list = &window->list;
    for (size_t i = 0; i + 1 < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind != DRAW_ITEM_TEXT || strstr(draw_words(list, item), words) == NULL) continue;
        DrawRect line = item_box(list, &list->items[i + 1]);
        if (list->items[i + 1].kind != DRAW_ITEM_SHAPE || line.h > 0.0) continue;
        if (line.x <= item->box.x && line.x + line.w >= item->box.x + item->box.w &&
            line.y > item->box.y && line.y < item->box.y + item->box.h)
            return true;
    }
    return false;
}

/* What was written wrong stays to be read, with one line through it, beside what is right: as on
 * paper (common practice, no source). */
static void test_run_corrects_the_sheet(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    window_draw(&window);
    window_press(&window, "tab", TAB_SHEET);
    window_press(&window, "cell", 4);
    window_press(&window, "value", 2);
    assert_true(window_shows(&window, "missed"));
    assert_false(is_struck(&window, "missed"));
    window_press(&window, "cell", 4);
    window_press(&window, "value", 0);
    assert_int_equal(window_logged(&window, "row-written again=yes value=removed"), 1);
    window_press(&window, "cell", 4);
    assert_true(is_struck(&window, "06:00 missed"));
    assert_false(is_struck(&window, "06:00 removed"));
    check_everywhere(&window, "run, corrected", look_at_pages);
    window.session->text_percent = 150;
    window.session->view.page = 1;
    window.session->view.cell = -1;
    window_draw(&window);
    assert_true(is_struck(&window, "missed")); /* in its cell */
    window_close(&window);
}

static void test_run_turn_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "the-beep", true);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    check_everywhere(&window, "run, turn", look_at_all);
    assert_null(window_find(&window, "next", 0)); /* nothing was chosen yet */
    window_press(&window, "way", 1);
    check_everywhere(&window, "run, turned", look_at_all);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "answered scene=turn-it right=yes"), 1);
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
    assert_int_equal(window_logged(&window, "scene-begun scene=check"), 1);
    window_press(&window, "make", 0);
    assert_int_equal(window_logged(&window, "pack-made pack=1 marked=yes"), 1);
    window_press(&window, "piece", 2);
    assert_int_equal(window_logged(&window, "piece-read piece=SS-25-07 right=yes"), 1);
    assert_string_equal(player_piece_in_hand(window_player(&window)), "SS-25-07");
    assert_true(window_shows(&window, "SS-25-07"));
    window_press(&window, "spot", SITE_LEADING);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "piece-placed piece=SS-25-07 pack=1 spot=leading"), 1);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "piece-sent pack=1 piece=SS-25-07 centre=yes"), 1);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "watching"), 1);
    for (int i = 0; i < 40; i++) {
        session_tick(window.session, 250000);
    }
    window_draw(&window);
    assert_int_equal(window_logged(&window, "removed pack=1 seen=yes"), 1);
    assert_true(window.session->sounds[SOUND_FOUND]);
    window_press(&window, "stop", 0);
    assert_int_equal(window_logged(&window, "line-stopped"), 1);
    window_press(&window, "tab", TAB_COUNT);
    window_press(&window, "count", 6);
    window_press(&window, "count", 2);
    assert_int_equal(window_logged(&window, "bin-opened by=line-leader packs=1"), 1);
    assert_int_equal(window_logged(&window, "reached-in"), 0);
    window_press(&window, "plus", 0);
    window_press(&window, "count", 0);
    assert_int_equal(window_logged(&window, "counted what=bin said=1 is=1"), 1);
    window_press(&window, "tab", TAB_SHEET);
    window_press(&window, "cell", 6);
    window_press(&window, "value", 0);
    assert_int_equal(
        window_logged(&window, "row-written row=stainless-316/leading value=removed truth=true"),
        1);
    window_press(&window, "tab", TAB_REST);
    window_press(&window, "rest", 7);
    assert_int_equal(window_logged(&window, "signed as=self"), 1);
    window_press(&window, "tab", TAB_PEOPLE);
    window_press(&window, "tell", 0);
    assert_int_equal(window_logged(&window, "told who=line-leader about=check-starts"), 1);
    window_press(&window, "tab", TAB_HOLD);
    window_press(&window, "hold", 3);
    assert_int_equal(window_logged(&window, "held place=everything"), 1);
    window_press(&window, "hold-mode", 1);
    window_press(&window, "hold", 0);
    assert_int_equal(window_logged(&window, "released place=pallet"), 1);
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
    assert_int_equal(player_now_us(window_player(&window)), 200000);
    begin(&window, "nine-passes", true);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(window.session->place, PLACE_RUN);
    assert_false(player_has_ended(window_player(&window)));
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(window_logged(&window, "run-ended why=left"), 1);
    assert_true(window.session->is_recorded);
    window_close(&window);
}

/* To end a part is asked once in an assessment, and the second press at the same place takes it
 * back; in practice it ends at once. */
static void test_run_asks_before_a_part_ends(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", true);
    window_press(&window, "next", 0);
    window_press(&window, "done", 0);
    assert_true(window_shows(&window, "Yes, end this part"));
    check_everywhere(&window, "run, asked whether to end", look_at_all);
    window_press(&window, "done", 0);
    assert_false(window_shows(&window, "Yes, end this part"));
    window_press(&window, "done", 0);
    window_press(&window, "make", 0); /* work goes on */
    assert_false(window_shows(&window, "Yes, end this part"));
    assert_int_equal(window_logged(&window, "scene-begun"), 2);
    window_press(&window, "done", 0);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "scene-begun"), 3);
    begin(&window, "nine-passes", false);
    window_press(&window, "next", 0);
    window_press(&window, "done", 0);
    assert_int_equal(window_logged(&window, "scene-begun"), 3);
    window_close(&window);
}

/* The lock, the program, the signature and what is held are seen where they were done. */
static void test_run_shows_what_was_done(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "eleven-oclock", true);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    window_draw(&window);
    window_press(&window, "tab", TAB_COUNT);
    window_press(&window, "program", 0);
    assert_true(window_shows(&window, "Program: Salted butter 200 g"));
    window_press(&window, "stop", 0);
    window_press(&window, "count", 6);
    assert_true(window_shows(&window, "Your lock is on"));
    assert_true(window_shows(&window, "Take my lock off"));
    check_everywhere(&window, "run, locked off", look_at_pages);
    window_press(&window, "tab", TAB_COUNT);
    window_press(&window, "count", 6);
    assert_int_equal(window_logged(&window, "unlocked"), 1);
    assert_false(window_shows(&window, "Your lock is on"));
    window_press(&window, "tab", TAB_REST);
    window_press(&window, "rest", 0);
    window_press(&window, "rest", 7);
    assert_true(window_shows(&window, "The sheet is signed."));
    window_press(&window, "tab", TAB_SHEET);
    assert_true(window_shows(&window, "signed"));
    window_press(&window, "tab", TAB_REST);
    window_press(&window, "rest", 5);
    assert_false(window_shows(&window, "The sheet is signed."));
    window.session->text_percent = 200;
    window.session->view.page = 1;
    window.session->view.tab = TAB_HOLD;
    window_draw(&window);
    assert_false(window_shows(&window, "\nheld"));
    window_press(&window, "hold", 1);
    assert_true(window_shows(&window, "store\nheld"));
    assert_false(window_shows(&window, "everything\nheld"));
    window_press(&window, "hold", 3);
    assert_true(window_shows(&window, "everything\nheld"));
    window_close(&window);
}

/* In an assessment the strip tells of what was watched, and of the rest only that it was sent;
 * so do the packs of the work table, until the bin is open. */
static void test_run_strip_tells_what_was_seen(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    for (int is_seen = 0; is_seen <= 1; is_seen++) {
        begin(&window, "nine-passes", true);
        window_press(&window, "next", 0);
        window_press(&window, "make", 0);
        window_press(&window, "piece", 2);
        window_press(&window, "next", 0);
        window_press(&window, "next", 0);
        if (is_seen) window_press(&window, "watch", 0);
        for (int i = 0; i < 40; i++) {
            session_tick(window.session, 250000);
        }
        window_draw(&window);
        assert_int_equal(window_logged(&window, "removed pack=1"), 1);
        assert_int_equal(window_shows(&window, "1 removed, 0 accepted"), is_seen);
        assert_int_equal(window_shows(&window, "0 removed, 0 accepted, 1 sent"), !is_seen);
        assert_int_equal(window_shows(&window, "1 in bin"), is_seen);
        LogLine open = log_action(ACTION_OPEN_BIN, 0);
        log_set_word(&open, "by", "line-leader");
        session_do(window.session, open);
        window_draw(&window);
        assert_true(window_shows(&window, "1 in bin"));
        session_do(window.session, log_action(ACTION_CLOSE_BIN, 0));
        window_draw(&window);
        assert_true(window_shows(&window, "1 in bin"));
        assert_int_equal(window_logged(&window, "bin-closed"), 1);
    }
    window_close(&window);
}

/* Each scenario's line, products and pieces keep their room too. */
static void test_run_every_line_keeps_its_room(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    Session *session = window.session;
    for (int i = 0; i < session->scenario_count * session->language_count * 2; i++) {
        const char *id = session->scenarios[i / 2 / session->language_count].id;
        session->language = i / 2 % session->language_count;
        session->text_percent = i % 2 == 0 ? 100 : 200;
        begin(&window, id, false);
        session->view.page = 2;
        (void)snprintf(window.name, sizeof window.name, "run, %s, %s, text %d", id,
                       session_language(session), session->text_percent);
        window_draw(&window);
        check_picture(&window);
        session_do(session, log_action(ACTION_NEXT, 0));
        window_draw(&window);
        check_picture(&window);
    }
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
    assert_int_equal(player_now_us(window_player(&window)), 200000);
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
    assert_int_equal(player_now_us(window_player(&window)), 250000);
    session_tick(window.session, -5);
    assert_int_equal(player_now_us(window_player(&window)), 250000);
    window_close(&window);
}

/* --- A pass opened up ------------------------------------------------------------------------ */

/* A run of the chosen scenario with this luck. */
static AppRun *lucky_run(const Window *window, uint64_t seed)
{
    const Session *session = window->session;
    AppRunSetup setup = {.seed = seed, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    if (!app_run_begin(session->scenarios[session->chosen_scenario].work, &setup, &run, &err))
        fail_msg("%s", err.text);
    return run;
}

static void take_run(Window *window, AppRun *run)
{
    app_run_free(window->session->run);
    window->session->run = run;
}

/* All the actions of a scenario's right script, played with this luck. */
static AppRun *play_right(const Window *window, const char *path, uint64_t seed)
{
    Text text = {0};
    Err err = {0};
    AppRun *whole = lucky_run(window, seed);
    assert_true(os_file_read(path, SCRIPT_BYTES_MAX, &text, &err));
    if (!script_play(whole, path, text.bytes, text.len, &err)) fail_msg("%s", err.text);
    text_clear(&text);
    return whole;
}

/* The piece with that id, an index of the tray. */
static int piece_of(const Window *window, const char *id)
{
    for (int i = 0; i < player_piece_count(window_player(window)); i++) {
        if (strcmp(player_piece(window_player(window), i).piece->id, id) == 0) return i;
    }
    fail_msg("no piece %s", id);
    return -1;
}

/* What takes a piece, lays it and sends its pack is pressed; where the piece lies is then the
 * window's choice. The rest is done as the script has it. */
static void do_by_hand(Window *window, const LogLine *line)
{
    if (log_is_action(line, ACTION_TAKE)) {
        window_press(window, "tab", TAB_TRAY);
        window_press(window, "piece", piece_of(window, log_word(line, "piece")));
    } else if (log_is_action(line, ACTION_PLACE)) {
        int64_t along = log_number(line, "along_um");
        window_press(window, "pack", (int)log_number(line, "pack"));
        window_press(window, "spot",
                     along > 0   ? SITE_LEADING
                     : along < 0 ? SITE_TRAILING
                                 : SITE_MIDDLE);
        window_press(window, "next", 0);
    } else if (log_is_action(line, ACTION_SEND)) {
        window_press(window, "pack", (int)log_number(line, "pack"));
        window_press(window, "next", 0);
    } else {
        session_do(window->session, *line);
    }
}

/* A loaf's piece goes inside, where the aperture's centre line crosses it: 85 mm up in an aperture
 * 200 mm high whose belt is 15 mm over its floor. Whoever follows the right script with the
 * window's own buttons misses no critical step. */
static void test_run_lays_at_the_centre_line(void **state)
{
    (void)state;
    Window window;
    size_t count;
    Score score;
    window_open(&window);
    begin(&window, "the-beep", true);
    AppRun *whole = play_right(&window, "scenarios/ostrel-mill/the-beep.right.txt", 1);
    take_run(&window, lucky_run(&window, 1));
    const LogLine *log = player_log(app_run_player(whole), &count);
    for (size_t i = 0; i < count; i++) {
        if (!log[i].is_action) continue;
        app_run_advance(window.session->run, log[i].time_us);
        window_draw(&window);
        do_by_hand(&window, &log[i]);
    }
    assert_int_equal(window_logged(&window, "piece-sent"), 9);
    assert_int_equal(window_logged(&window, "piece-sent centre=yes height=inside"), 9);
    assert_int_equal(window_logged(&window, "place up_um=85000"), 9);
    assert_int_equal(window_logged(&window, "not-possible"), 0);
    app_run_finish(window.session->run);
    app_run_score(window.session->run, &score);
    assert_int_equal(score.critical_missed, 0);
    assert_true(score.competent);
    app_run_free(whole);
    window_close(&window);
}

/* The side view lays the next piece at another height: it is noticed, not prevented. */
static void test_run_lays_at_a_chosen_height(void **state)
{
    (void)state;
    static const char *const heights[] = {"on-top", "inside", "underneath"};
    Window window;
    window_open(&window);
    begin(&window, "the-beep", true);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    LogLine so = log_action(ACTION_ANSWER, 0);
    log_set_word(&so, "choice", "so");
    session_do(window.session, so);
    window_draw(&window);
    window_press(&window, "make", 0);
    for (int i = 0; i < 3; i++) {
        char sent[64];
        window_press(&window, "height", 0);
        if (i == 0) window_press(&window, "height", 0);
        window_press(&window, "tab", TAB_TRAY);
        window_press(&window, "piece", 0);
        window_press(&window, "next", 0);
        (void)snprintf(sent, sizeof sent, "piece-placed height=%s", heights[i]);
        assert_int_equal(window_logged(&window, sent), 1);
        window_press(&window, "piece", 0);
        window_press(&window, "piece", 0);
    }
    window_close(&window);
}

/* Play the right script of the hourly check that fails, up to its first answer: the limit is then
 * two and a half times what was validated. */
static void play_to_question(Window *window)
{
    size_t count;
    begin(window, "eleven-oclock", false);
    AppRun *whole = play_right(window, "scenarios/ostrel-mill/eleven-oclock.right.txt", 1);
    take_run(window, lucky_run(window, 1));
    const LogLine *log = player_log(app_run_player(whole), &count);
    for (size_t i = 0; i < count && !log_is_action(&log[i], ACTION_ANSWER); i++) {
        if (!log[i].is_action) continue;
        app_run_advance(window->session->run, log[i].time_us);
        session_do(window->session, log[i]);
    }
    app_run_free(whole);
    window_draw(window);
}

/* The last text of the picture that is just these words. */
static const DrawItem *text_of(const Window *window, const char *words)
{
    const DrawItem *found = NULL;
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind == DRAW_ITEM_TEXT && strcmp(draw_words(&window->list, item), words) == 0)
            found = item;
    }
    if (found == NULL) fail_msg("%s: no \"%s\"", window->name, words);
    return found;
}

/* Butter in the opening of D1, by the site's file: 300 x 100 mm, its belt 15 mm over the floor, the
 * block 70 x 40 mm, the piece on top of it. The numbers stand there to scale; the chosen one alone
 * is in accent. */
static void check_points(Window *window, int chosen)
{
    const DrawItem *hole = NULL;
    window_draw(window);
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind == DRAW_ITEM_RECT && item->fill == DRAW_NONE &&
            fabs(item->box.w - 3.0 * item->box.h) < 0.01)
            hole = item;
    }
    assert_non_null(hole);
    for (int n = 1; n <= 3; n++) {
        char digit[16];
        (void)snprintf(digit, sizeof digit, "%d", n);
        const DrawItem *text = text_of(window, digit);
        double x = text->box.x + text->box.w / 2.0 - hole->box.x;
        double y = hole->box.y + hole->box.h - text->box.y - text->box.h / 2.0;
        assert_true(fabs(x / hole->box.w - (150.0 + (n - 2) * 35.0) / 300.0) < 1e-6);
        assert_true(fabs(y / hole->box.h - (15.0 + 40.0) / 100.0) < 1e-6);
        assert_int_equal(text->fill == DRAW_ACCENT, n == chosen);
    }
}

/* Every way of asking is answered by pointer, and an order by keys; each keeps its room. */
static void test_run_asks(void **state)
{
    (void)state;
    Window window;
    Err err = {0};
    AppRun *run = NULL;
    AppRunSetup setup = {.seed = 1};
    Work *work = asked_work(ASKED);
    window_open(&window);
    begin(&window, "nine-passes", false);
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    take_run(&window, run);
    check_everywhere(&window, "run, given record", look_at_all);
    window_press(&window, "given", 0);
    while (window_logged(&window, "row-corrected row=brass/middle value=missed") == 0) {
        window_press(&window, "given", 0);
    }
    window_press(&window, "given", 1);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "answered scene=sheet right=yes"), 1);
    check_everywhere(&window, "run, place", look_at_all);
    assert_true(window_shows(&window, "Think of the centre line."));
    assert_true(window_shows(&window, "3  on top, right"));
    check_points(&window, 0);
    window_type(&window, "3");
    check_points(&window, 3);
    window_press(&window, "point", 1); /* on top, in the middle */
    check_points(&window, 2);
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "answered scene=where right=yes"), 1);
    check_everywhere(&window, "run, order", look_at_all);
    static const char *const order[] = {"stop", "hold", "tell", "release"};
    const Scene *scene = &app_run_scenario(run)->scenes[player_scene(window_player(&window))];
    for (int to = 0; to < 4; to++) {
        int at = to;
        while (strcmp(scene->steps[player_step(window_player(&window), at)].id, order[to]) != 0) {
            at++;
        }
        for (; at > to; at--) {
            char key[2] = {(char)('1' + at), '\0'};
            window_type(&window, key);
        }
    }
    window_press(&window, "next", 0);
    assert_int_equal(window_logged(&window, "answered scene=order right=yes"), 1);
    assert_int_equal(window_logged(&window, "scene-begun scene=why"), 1);
    window_close(&window);
    work_free(work);
}

static void look_at_opened(Window *window)
{
    bool is_big = window->session->text_percent > 100;
    for (int page = 0; page < (is_big ? 3 : 1); page++) {
        if (is_big) window_press(window, "pass-page", page);
        look_at_all(window);
    }
}

/* Two ways compute one ratio: the line's, from the pack as it went through, and the bench's, from
 * what the log tells of it. The line adds the little that metal in other packs gives. */
static void test_run_pass_is_the_logs(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    play_to_question(&window);
    size_t count;
    int seen = 0;
    int faulty = 0;
    const LogLine *log = player_log(window_player(&window), &count);
    const Scenario *scenario = player_setup(window_player(&window))->scenario;
    BenchModel *model = bench_model_of(window.session);
    for (int at = pass_find(log, count, -1, 1); at >= 0; at = pass_find(log, count, at, 1)) {
        Pass pass;
        pass_read(scenario, log, (size_t)at, &pass);
        BenchSide side = bench_side(model, pass.head, pass.product, pass.piece, &pass.lying);
        double ratio = bench_view(model, &side)->ratio / pass.limit;
        if (fabs(ratio - pass.ratio) > 0.005 * ratio)
            fail_msg("line %d: %g by the log, %g by the bench", at, pass.ratio, ratio);
        assert_int_equal(pass.piece_count, 1);
        assert_true(pass.is_program_right);
        faulty += pass.limit == 2.5;
        seen++;
    }
    assert_int_equal(seen, 9);   /* the plan's passes: three metals at three places */
    assert_int_equal(faulty, 1); /* the scenario's fault sets in after eight */
    window_close(&window);
}

static void test_run_opens_a_pass(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    Session *session = window.session;
    play_to_question(&window);
    check_everywhere(&window, "run, question, stock", look_at_all);
    assert_true(window_shows(&window, "Check sheet"));
    size_t before;
    size_t after;
    int64_t now_us = player_now_us(window_player(&window));
    (void)player_log(window_player(&window), &before);
    window_press(&window, "open", 0);
    check_everywhere(&window, "run, opened pass", look_at_opened);
    assert_true(window_shows(&window, "Missed"));
    assert_true(window_shows(&window, "0.72"));
    assert_true(window_shows(&window, "1.80"));
    session_tick(session, 200000); /* the line waits */
    assert_int_equal(player_now_us(window_player(&window)), now_us);
    window_press(&window, "pass-step", 0);
    assert_true(window_shows(&window, "Found"));
    int opened = session->view.opened_pass;
    window_press(&window, "pass-bench", 0);
    assert_int_equal(session->place, PLACE_BENCH);
    assert_true(session->bench.is_single);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(session->place, PLACE_RUN);
    assert_int_equal(session->view.opened_pass, opened);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(session->place, PLACE_RUN);
    assert_int_equal(session->view.opened_pass, -1);
    (void)player_log(window_player(&window), &after);
    assert_int_equal(before, after);
    assert_int_equal(player_now_us(window_player(&window)), now_us);
    session_tick(session, 200000);
    assert_int_equal(player_now_us(window_player(&window)), now_us + 200000);
    window_close(&window);
}

/* The bench's own way back is not changed by a pass that was set up on it before. */
static void test_run_bench_from_home(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    play_to_question(&window);
    window_press(&window, "open", 0);
    window_press(&window, "pass-bench", 0);
    window_key(&window, UI_KEY_ESCAPE);
    session_go(window.session, PLACE_HOME);
    window_draw(&window);
    window_press(&window, "bench", 0);
    window_key(&window, UI_KEY_ESCAPE);
    assert_int_equal(window.session->place, PLACE_HOME);
    window_close(&window);
}

/* --- What an assessment must not offer ------------------------------------------------------- */

static void look_for_help(Window *window)
{
    for (int page = 0; page < 3; page++) {
        window->session->view.page = page;
        window_draw(window);
        check_picture(window);
        assert_null(window_find(window, "open", 0));
        assert_null(window_find(window, "pace", 0));
        assert_false(window_shows(window, "Not seen at the line"));
    }
}

/* Lay a piece in a pack, send it, and wait until it went through. */
static void send_one(Window *window)
{
    window_press(window, "next", 0);
    window_press(window, "make", 0);
    window_press(window, "piece", 2);
    window_press(window, "next", 0);
    window_press(window, "next", 0);
    for (int i = 0; i < 40; i++) {
        session_tick(window->session, 250000);
    }
    window_draw(window);
}

/* True when a text of the picture is just these words. */
static bool shows_just(const Window *window, const char *words)
{
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        bool is_text = item->kind == DRAW_ITEM_TEXT;
        if (is_text && strcmp(draw_words(&window->list, item), words) == 0) return true;
    }
    return false;
}

/* The hold offers no answer: not the time of the last good check, but the present one, which goes
 * back to whole quarters of an hour; and not everything first. */
static void test_run_hold_offers_nothing(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "eleven-oclock", true); /* at 11:00; the last good check was at 10:00 */
    session_do(window.session, log_action(ACTION_NEXT, 0));
    for (int i = 0; i < 4 * 95; i++) {
        session_tick(window.session, 250000);
    }
    window_draw(&window);
    window_press(&window, "tab", TAB_HOLD);
    assert_true(shows_just(&window, "11:01"));
    double pallet = window_target(&window, "hold", 0).box.x;
    double everything = window_target(&window, "hold", 3).box.x;
    assert_true(pallet < everything);
    for (int i = 0; i < 2; i++) {
        double below = window_target(&window, "hold", 0).box.y;
        DrawRect mode = window_target(&window, "hold-mode", i).box;
        assert_true(mode.y + mode.h < below); /* never in one row with what is done */
    }
    window_press(&window, "less", 0);
    assert_true(shows_just(&window, "11:00"));
    window_press(&window, "less", 0);
    assert_true(shows_just(&window, "10:45"));
    window_press(&window, "hold", 0);
    assert_int_equal(window_logged(&window, "hold from=10:45 place=pallet"), 1);
    window_close(&window);
}

/* An assessment calls for no eyes: to watch is one action among others, whatever goes on, and no
 * button is the highlighted one; in practice it is the next action. */
static void test_run_assessment_leaves_watching(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    for (int is_assessment = 1; is_assessment >= 0; is_assessment--) {
        begin(&window, "nine-passes", is_assessment == 1);
        window_press(&window, "next", 0);
        assert_int_equal(window_find(&window, "watch", 0) != NULL, is_assessment);
        window_press(&window, "make", 0);
        window_press(&window, "piece", 2);
        assert_int_equal(window_find(&window, "watch", 0) != NULL, is_assessment);
        window_press(&window, "next", 0);
        window_press(&window, "next", 0);
        assert_int_equal(window_logged(&window, "pack-sent pack=1"), 1);
        if (is_assessment == 1) {
            assert_null(window_find(&window, "next", 0));
            for (size_t i = 0; i < window.list.item_count; i++) {
                const DrawItem *item = &window.list.items[i];
                bool is_button = item->kind == DRAW_ITEM_RECT && item->box.w >= RUN_BUTTON;
                if (is_button) assert_int_not_equal(item->fill, DRAW_ACCENT);
            }
            check_picture(&window);
            window_press(&window, "watch", 0);
        } else {
            assert_true(window_shows(&window, "Watch the reject"));
            window_press(&window, "next", 0);
        }
        assert_int_equal(window_logged(&window, "watching"), 1);
        if (is_assessment == 1) check_everywhere(&window, "run, watching", look_at_pages);
    }
    window_close(&window);
}

/* What the first lesson asks for is there to be read again, whatever lies on the table. */
static void test_run_task_stays(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "first-pass", false);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    check_everywhere(&window, "run, lesson", look_at_pages);
    assert_true(window_shows(&window, "1. Make a test pack."));
    window_press(&window, "make", 0);
    assert_false(window_shows(&window, "5. Under Machine"));
    window_press(&window, "tab", TAB_TASK);
    assert_true(window_shows(&window, "1. Make a test pack."));
    assert_true(window_shows(&window, "7. Lock the bin."));
    window.session->text_percent = 200; /* in pages */
    window.session->view.page = 1;
    window_draw(&window);
    assert_true(window_shows(&window, "1. Make a test pack."));
    while (!window_shows(&window, "7. Lock the bin.")) {
        window_press(&window, "task-page", 1);
    }
    window_close(&window);
}

static void test_run_assessment_is_silent(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", true);
    window.session->view.pace = 4; /* as if it were left over */
    send_one(&window);
    assert_int_equal(window_logged(&window, "judged pack=1"), 1);
    assert_int_equal(player_now_us(window_player(&window)), 40 * 250000);
    check_everywhere(&window, "run, assessment", look_for_help);
    begin(&window, "nine-passes", false);
    send_one(&window);
    assert_non_null(window_find(&window, "open", 0));
    assert_non_null(window_find(&window, "pace", 0));
    window_close(&window);
}

/* --- Dragging -------------------------------------------------------------------------------- */

static DrawPoint middle_of(const Window *window, const char *name, int index)
{
    DrawRect box = window_target(window, name, index).box;
    return (DrawPoint){box.x + box.w / 2, box.y + box.h / 2};
}

static void drag(Window *window, DrawPoint from, DrawPoint to)
{
    DrawPoint half = {(from.x + to.x) / 2, (from.y + to.y) / 2};
    window_send(window, (UiEvent){.kind = UI_DOWN, .x = from.x, .y = from.y});
    window_send(window, (UiEvent){.kind = UI_MOVE, .x = half.x, .y = half.y});
    window_send(window, (UiEvent){.kind = UI_MOVE, .x = to.x, .y = to.y});
    window_send(window, (UiEvent){.kind = UI_UP, .x = to.x, .y = to.y});
}

static void test_run_drags(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    window_press(&window, "next", 0);
    window_press(&window, "make", 0);
    DrawPoint tray = middle_of(&window, "piece", 2);
    DrawPoint trailing = middle_of(&window, "spot", SITE_TRAILING);
    size_t before;
    size_t after;
    (void)player_log(window_player(&window), &before);
    drag(&window, tray, (DrawPoint){640, 250}); /* over the line: nowhere */
    (void)player_log(window_player(&window), &after);
    assert_int_equal(before, after);
    drag(&window, tray, trailing);
    assert_int_equal(window_logged(&window, "piece-read piece=SS-25-07"), 1);
    assert_int_equal(window_logged(&window, "piece-placed piece=SS-25-07 pack=1 spot=trailing"), 1);
    assert_null(player_piece_in_hand(window_player(&window)));
    /* Within the pack: to the very place, two thirds of the way to the leading spot. */
    DrawPoint leading = middle_of(&window, "spot", SITE_LEADING);
    drag(&window, trailing, (DrawPoint){leading.x - 10, leading.y});
    assert_int_equal(window_logged(&window, "piece-found piece=SS-25-07 from=table"), 1);
    assert_int_equal(window_logged(&window, "piece-placed piece=SS-25-07 pack=1 spot=leading"), 1);
    PlayerPiece piece = player_piece(window_player(&window), 2);
    assert_true(piece.along_um > 0);
    /* Another way than a spot's own: whoever presses spots never gets this place. */
    assert_int_equal(window_logged(&window, "place piece=SS-25-07 pack=1 across_um=0"), 1);
    drag(&window, leading, tray);
    assert_int_equal(window_logged(&window, "piece-put-back piece=SS-25-07"), 1);
    assert_int_equal(player_piece(window_player(&window), 2).where, PLAYER_PIECE_IN_KIT);
    assert_int_equal(window_logged(&window, "not-possible"), 0);
    window_close(&window);
}

static void test_run_drag_keeps_its_room(void **state)
{
    (void)state;
    static const DrawTheme themes[] = {DRAW_LIGHT, DRAW_DARK, DRAW_CONTRAST};
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    window_press(&window, "next", 0);
    window_press(&window, "make", 0);
    DrawPoint from = middle_of(&window, "piece", 2);
    DrawPoint to = middle_of(&window, "spot", SITE_TRAILING);
    window_send(&window, (UiEvent){.kind = UI_DOWN, .x = from.x, .y = from.y});
    window_send(&window, (UiEvent){.kind = UI_MOVE, .x = to.x, .y = to.y});
    assert_true(window_shows(&window, "In your hand"));
    assert_true(window_shows(&window, "SS-25-07"));
    for (size_t i = 0; i < sizeof themes / sizeof themes[0]; i++) {
        window.session->theme = themes[i];
        window_draw(&window);
        check_colours(&window);
        check_texts(&window, 100);
        check_targets(&window);
    }
    window_send(&window, (UiEvent){.kind = UI_UP, .x = 640, .y = 250});
    assert_false(window_shows(&window, "In your hand"));
    window_close(&window);
}

/* --- Time, motion, sound --------------------------------------------------------------------- */

/* The run's text after the same actions at the same line times, at a pace. */
static void play_at(Window *window, int pace, Text *out)
{
    begin(window, "nine-passes", false);
    take_run(window, lucky_run(window, 7));
    window_draw(window);
    while (window->session->view.pace != pace) {
        window_press(window, "pace", 0);
    }
    window_press(window, "next", 0);
    window_press(window, "make", 0);
    window_press(window, "piece", 2);
    window_press(window, "next", 0);
    window_press(window, "next", 0);
    for (int i = 0; i < 64 / pace; i++) {
        session_tick(window->session, 200000);
    }
    window_draw(window);
    window_press(window, "stop", 0);
    player_print_run(window_player(window), out);
}

static void test_run_pace_leaves_the_log(void **state)
{
    (void)state;
    Window window;
    Text slow = {0};
    window_open(&window);
    play_at(&window, 1, &slow);
    assert_non_null(strstr(slow.bytes, "judged pack=1"));
    for (int pace = 2; pace <= 4; pace *= 2) {
        Text fast = {0};
        play_at(&window, pace, &fast);
        assert_int_equal(player_now_us(window_player(&window)), 64 * 200000);
        assert_string_equal(slow.bytes, fast.bytes);
        text_clear(&fast);
    }
    text_clear(&slow);
    /* The line was stopped: its start is not where the pace is, nor where the stop was. */
    DrawRect start = window_target(&window, "start", 0).box;
    assert_true(box_gap(start, window_target(&window, "pace", 0).box) > 0.0);
    window_press(&window, "start", 0);
    assert_true(box_gap(start, window_target(&window, "stop", 0).box) > 0.0);
    window_press(&window, "pace", 0);
    assert_int_equal(window.session->view.pace, 1);
    window_close(&window);
}

static bool is_same_picture(const DrawList *a, const Text *before)
{
    Text now = {0};
    draw_print(a, &now);
    bool is_same = strcmp(now.bytes, before->bytes) == 0;
    text_clear(&now);
    return is_same;
}

/* With less motion two pictures within half a second differ in nothing (the clock's seconds
 * apart: the steps below stay in one second), though the line went on. */
static void test_run_calm(void **state)
{
    (void)state;
    Window window;
    Text before = {0};
    window_open(&window);
    Session *session = window.session;
    session_enter(session, 0);
    window_draw(&window);
    window_press(&window, "calm", 0);
    assert_true(session->is_calm);
    begin(&window, "eleven-oclock", false); /* packs come from upstream */
    for (int i = 0; i < 25; i++) {
        session_tick(session, 200000); /* to 5.0 s; a step was taken at 4.8 s */
    }
    window_draw(&window);
    draw_print(&window.list, &before);
    session_tick(session, 100000);
    window_draw(&window);
    assert_true(is_same_picture(&window.list, &before));
    session_tick(session, 200000);
    window_draw(&window);
    assert_false(is_same_picture(&window.list, &before));
    session->is_calm = false;
    text_clear(&before);
    window_draw(&window);
    draw_print(&window.list, &before);
    session_tick(session, 100000);
    window_draw(&window);
    assert_false(is_same_picture(&window.list, &before));
    text_clear(&before);
    window_close(&window);
}

/* Enlarged, each page has the line moving, or its whole drawing, and says which product runs. */
static void test_run_enlarged_keeps_the_line(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "eleven-oclock", false); /* packs come from upstream */
    session_do(window.session, log_action(ACTION_NEXT, 0));
    for (int i = 0; i < 25; i++) {
        session_tick(window.session, 200000); /* to 5.0 s */
    }
    for (int percent = 150; percent <= 200; percent += 50) {
        window.session->text_percent = percent;
        for (int page = 0; page < 3; page++) {
            Text before = {0};
            window.session->view.page = page;
            window_draw(&window);
            assert_true(window_shows(&window, "Salted butter 200 g"));
            draw_print(&window.list, &before);
            session_tick(window.session, 50000); /* the clock's second stays */
            window_draw(&window);
            assert_false(is_same_picture(&window.list, &before));
            text_clear(&before);
        }
    }
    window.session->view.page = 0;
    window_draw(&window);
    window_press(&window, "make", 0);
    window_press(&window, "destroy", 0); /* no pack is chosen then */
    assert_int_equal(window.session->view.pack, 0);
    window_close(&window);
}

static void test_run_silent(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    session_enter(window.session, 0);
    window_draw(&window);
    window_press(&window, "silent", 0);
    begin(&window, "nine-passes", false);
    send_one(&window);
    assert_int_equal(window_logged(&window, "alarm pack=1"), 1);
    for (int i = 0; i < (int)SOUND_COUNT; i++) {
        assert_false(window.session->sounds[i]);
    }
    window_close(&window);
}

/* Each row of the result has a number of its own, which its own button writes. */
static void test_run_result_rows_have_their_numbers(void **state)
{
    (void)state;
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    session_do(window.session, log_action(ACTION_NEXT, 0));
    window_draw(&window);
    window_press(&window, "tab", TAB_REST);
    for (int i = 0; i < 6; i++) {
        window_press(&window, "plus", 1 + i % 3 / 2);
    }
    window_press(&window, "less", 1);
    window_press(&window, "rest", 1);
    window_press(&window, "rest", 2);
    window_press(&window, "rest", 3);
    assert_int_equal(window_logged(&window, "row-written row=bin-count value=3"), 1);
    assert_int_equal(window_logged(&window, "row-written row=kit-count value=2"), 1);
    assert_int_equal(window_logged(&window, "row-written row=good-run value=0"), 1);
    window_close(&window);
}

/* The middle of what is drawn of the test pack on the belt, from above; negative: none is. */
static double drawn_pack_y(const Window *window)
{
    const DrawList *list = &window->list;
    for (size_t i = 0; i < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        DrawRect box = item_box(list, item);
        if (item->kind == DRAW_ITEM_SHAPE && item->fill == DRAW_WASH) return box.y + box.h / 2.0;
    }
    return -1.0;
}

static double sent_pack_y(bool at_guide)
{
    Window window;
    window_open(&window);
    begin(&window, "nine-passes", false);
    window_press(&window, "next", 0);
    window_press(&window, "make", 0);
    if (at_guide) window_press(&window, "guide", 0);
    window_press(&window, "next", 0);
    double y = -1.0;
    for (int64_t ms = 100; ms < 10000 && y < 0.0; ms += 100) {
        app_run_advance(window.session->run, ms * 1000);
        window_draw(&window);
        y = drawn_pack_y(&window);
    }
    window_close(&window);
    return y;
}

/* A pack laid along the guide is drawn at the belt's edge. The aperture is 300 mm wide and the pack
 * 70 mm; laid 5 mm from the wall it is 110 mm of the 115 mm that it can be off the middle. The belt
 * is drawn 100 px wide, and the pack's part of it hangs on the line's scale: more than 30 px are
 * left. */
static void test_run_draws_the_pack_where_it_lies(void **state)
{
    (void)state;
    double middle = sent_pack_y(false);
    double guide = sent_pack_y(true);
    assert_true(middle > 0.0 && guide > 0.0);
    assert_true(fabs(middle - guide) > 30.0 && fabs(middle - guide) < 50.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_run_by_pointer),
        cmocka_unit_test(test_run_every_line_keeps_its_room),
        cmocka_unit_test(test_run_leaving),
        cmocka_unit_test(test_run_asks_before_a_part_ends),
        cmocka_unit_test(test_run_shows_what_was_done),
        cmocka_unit_test(test_run_strip_tells_what_was_seen),
        cmocka_unit_test(test_run_lays_at_the_centre_line),
        cmocka_unit_test(test_run_lays_at_a_chosen_height),
        cmocka_unit_test(test_run_is_kept),
        cmocka_unit_test(test_session_tick_is_bounded),
        cmocka_unit_test(test_run_pass_is_the_logs),
        cmocka_unit_test(test_run_opens_a_pass),
        cmocka_unit_test(test_run_bench_from_home),
        cmocka_unit_test(test_run_assessment_is_silent),
        cmocka_unit_test(test_run_assessment_leaves_watching),
        cmocka_unit_test(test_run_hold_offers_nothing),
        cmocka_unit_test(test_run_task_stays),
        cmocka_unit_test(test_run_result_rows_have_their_numbers),
        cmocka_unit_test(test_run_draws_the_pack_where_it_lies),
        cmocka_unit_test(test_run_drags),
        cmocka_unit_test(test_run_drag_keeps_its_room),
        cmocka_unit_test(test_run_pace_leaves_the_log),
        cmocka_unit_test(test_run_calm),
        cmocka_unit_test(test_run_enlarged_keeps_the_line),
        cmocka_unit_test(test_run_silent),
        cmocka_unit_test(test_run_asks),
        cmocka_unit_test(test_run_written_keeps_its_room),
        cmocka_unit_test(test_run_corrects_the_sheet),
        cmocka_unit_test(test_run_turn_keeps_its_room),
        cmocka_unit_test(test_run_has_lanes),
        cmocka_unit_test(test_run_keeps_its_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
