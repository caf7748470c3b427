/* The look back: the moments of a run, the line as it was then, and what was looked for. */
#include "app/script.h"
#include "ui_place.h"

/* Play a scenario's script to its end in the window, and go to the look back. */
static void play(Window *window, const char *id, const char *script)
{
    Session *session = window->session;
    Text path = {0};
    Text text = {0};
    Err err = {0};
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, id) == 0) session->chosen_scenario = i;
    }
    text_addf(&path, "scenarios/ostrel-mill/%s.%s.txt", id, script);
    assert_true(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &text, &err));
    session_begin_run(session, true);
    if (!script_play(session->run, path.bytes, text.bytes, text.len, &err))
        fail_msg("%s", err.text);
    app_run_finish(session->run);
    session_record(session);
    session_go(session, PLACE_LOOK_BACK);
    window_draw(window);
    text_clear(&path);
    text_clear(&text);
}

static void look(Window *window)
{
    bool paged = window->session->text_percent > 100;
    for (int tab = 0; tab < (paged ? 4 : 1); tab++) {
        if (paged) window_press(window, "tab", tab);
        check_picture(window);
        check_whole(window);
        while (window_find(window, "rubric-page", 1) != NULL) {
            window_press(window, "rubric-page", 1);
            check_picture(window);
            check_whole(window);
        }
    }
    window->session->pages = (Pages){0};
    window_draw(window);
}

static void test_place_look_back_everywhere(void **state)
{
    Window *window = *state;
    play(window, "the-beep", "k7");
    check_everywhere(window, "look back, missed", look);
    play(window, "nine-passes", "right");
    check_everywhere(window, "look back, all met", look);
}

static void test_place_look_back_at_once(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    session_begin_run(session, false);
    session_do(session, log_action(ACTION_LEAVE, 0));
    session_go(session, PLACE_LOOK_BACK);
    window_draw(window);
    assert_true(window_shows(window, "broken off"));
    check_everywhere(window, "look back, left at once", look);
}

/* What is missed comes first, its first moment is shown, and why in the trade's terms. */
static void test_place_look_back_missed_first(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    Score score;
    play(window, "nine-passes", "k5");
    app_run_score(session->run, &score);
    int at = session->look_back.rubric;
    assert_int_equal(score.lines[at].line->critical, 5);
    assert_int_equal(score.lines[at].finding.state, SCORE_MISSED);
    assert_int_equal(session->look_back.chosen, score.lines[at].finding.evidence[0]);
    assert_true(window_shows(window, "Not yet competent"));
    assert_true(window_shows(window, "critical steps missed: 1"));
    assert_true(window_shows(window, "It is metal in food."));
    assert_true(window_shows(window, "removed: 9"));
    const DrawTarget *first = window_find(window, "rubric", at);
    for (int i = 0; i < score.line_count; i++) {
        const DrawTarget *other = window_find(window, "rubric", i);
        if (other != NULL) assert_true(other->box.y >= first->box.y);
    }
}

/* The line then: the run played again has the run's own log up to the moment. */
static void want_then(const Window *window)
{
    const LookBack *look_back = &window->session->look_back;
    size_t count, then_count;
    const LogLine *log = player_log(app_run_player(window->session->run), &count);
    const LogLine *then = player_log(look_back->then, &then_count);
    assert_true(then_count > look_back->chosen && then_count <= count);
    for (size_t i = 0; i <= look_back->chosen; i++) {
        assert_true(log_equal(&then[i], &log[i]));
    }
    assert_int_equal(player_now_us(look_back->then), log[look_back->chosen].time_us);
}

/* Each rubric line is on some page; choosing it shows its moment. */
static void test_place_look_back_rubric(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    Score score;
    bool seen[SCENARIO_RUBRIC_MAX] = {false};
    play(window, "the-beep", "k7");
    app_run_score(session->run, &score);
    for (;;) {
        for (int i = 0; i < score.line_count; i++) {
            if (window_find(window, "rubric", i) == NULL) continue;
            seen[i] = true;
            window_press(window, "rubric", i);
            assert_int_equal(session->look_back.rubric, i);
            if (score.lines[i].finding.evidence_count > 0)
                assert_int_equal(session->look_back.chosen, score.lines[i].finding.evidence[0]);
            want_then(window);
        }
        if (window_find(window, "rubric-page", 1) == NULL) break;
        window_press(window, "rubric-page", 1);
    }
    for (int i = 0; i < score.line_count; i++) {
        assert_true(seen[i]);
    }
}

static void test_place_look_back_steps(void **state)
{
    Window *window = *state;
    LookBack *look_back = &window->session->look_back;
    play(window, "eleven-oclock", "k6");
    want_then(window);
    for (size_t before = look_back->chosen + 1; before != look_back->chosen;) {
        before = look_back->chosen;
        window_press(window, "step", 0);
        assert_true(look_back->chosen <= before);
    }
    assert_int_equal(look_back->chosen, 0);
    want_then(window);
    for (int i = 0; i < 40; i++) {
        size_t before = look_back->chosen;
        window_press(window, "step", 1);
        assert_true(look_back->chosen > before);
        want_then(window);
    }
    window_press(window, "step", 0);
    want_then(window);
}

/* Every moment is told in full, in every language, and so is why each rubric line is met or
 * missed. */
static void want_told(Window *window)
{
    Session *session = window->session;
    const Texts *texts = session->texts[session->language];
    Score score;
    size_t count;
    app_run_score(session->run, &score);
    (void)player_log(app_run_player(session->run), &count);
    for (size_t before = count; before != session->look_back.chosen;) {
        before = session->look_back.chosen;
        window_press(window, "step", 1);
        check_texts(window, 100);
        check_whole(window);
    }
    for (int i = 0; i < score.line_count; i++) {
        const ScoreLine *line = &score.lines[i];
        session->look_back.rubric = i;
        window_draw(window);
        const char *language = session_language(session);
        assert_true(window_shows(window, site_text(line->line->text, language)));
        assert_true(window_shows(window, site_text(line->line->why, language)));
        if (line->finding.state == SCORE_MET) continue;
        const char *reason = texts_get(texts, "reasons", line->finding.reason);
        if (!window_shows(window, reason)) fail_msg("%s: not shown", reason);
    }
}

static void test_place_look_back_tells_all(void **state)
{
    static const char *const runs[][2] = {{"nine-passes", "k4"},   {"nine-passes", "k11"},
                                          {"the-beep", "k1"},      {"the-beep", "k7"},
                                          {"eleven-oclock", "k5"}, {"eleven-oclock", "k8"}};
    Window *window = *state;
    for (size_t i = 0; i < sizeof runs / sizeof runs[0]; i++) {
        window->session->language = (int)(i % 2);
        play(window, runs[i][0], runs[i][1]);
        (void)snprintf(window->name, sizeof window->name, "%s, %s", runs[i][0], runs[i][1]);
        want_told(window);
    }
}

/* From a moment after a pass there is a way to the bench, with just that pass, and back. */
static void test_place_look_back_bench(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    play(window, "eleven-oclock", "k7"); /* its missed line is after the passes */
    window_press(window, "pass-bench", 0);
    assert_int_equal(session->place, PLACE_BENCH);
    assert_true(session->bench.is_single);
    assert_int_equal(session->bench.sides[0].product,
                     player_setup(app_run_player(session->run))->scenario->product);
    size_t chosen = session->look_back.chosen;
    window_key(window, UI_KEY_ESCAPE);
    assert_int_equal(session->place, PLACE_LOOK_BACK);
    assert_int_equal(session->look_back.chosen, chosen);
}

/* A tap on the time line chooses the moment nearest to it; keys step from there. */
static void test_place_look_back_time_line(void **state)
{
    Window *window = *state;
    LookBack *look_back = &window->session->look_back;
    size_t count;
    play(window, "the-beep", "right");
    const LogLine *log = player_log(app_run_player(window->session->run), &count);
    DrawRect box = window_target(window, "time", 0).box;
    window_press_at(window, box.x + 1, box.y + 30);
    assert_int_equal(log[look_back->chosen].time_us, 0);
    window_press_at(window, box.x + box.w - 2, box.y + 30);
    assert_int_equal(log[look_back->chosen].time_us, log[count - 1].time_us);
    want_then(window);
    window_press_at(window, box.x + box.w / 2, box.y + 30);
    size_t middle = look_back->chosen;
    int64_t half_us = log[count - 1].time_us / 2;
    assert_true(llabs(log[middle].time_us - half_us) < log[count - 1].time_us / 10);
    window_key(window, UI_KEY_RIGHT);
    assert_true(look_back->chosen > middle);
    window_key(window, UI_KEY_LEFT);
    assert_int_equal(look_back->chosen, middle);
}

/* True when the item draws a mark, or a part of one, between two heights. */
static bool is_row_mark(const DrawItem *item, DrawRect box, double top, double bottom)
{
    bool is_shape = item->kind == DRAW_ITEM_SHAPE || item->kind == DRAW_ITEM_CIRCLE ||
                    (item->kind == DRAW_ITEM_RECT && item->fill == DRAW_INK);
    return is_shape && box.y >= top && box.y + box.h <= bottom;
}

/* No two marks of the line's row meet: shafts and heads of one arrow apart, which share a middle.
 * Returns how many stand there. */
static int want_marks_apart(const Window *window)
{
    DrawRect boxes[256];
    int count = 0;
    const DrawList *list = &window->list;
    DrawRect axis = window_target(window, "time", 0).box;
    double line = draw_line_height(16 * window->session->text_percent / 100);
    for (size_t i = 0; i < list->item_count; i++) {
        DrawRect box = item_box(list, &list->items[i]);
        double r = 0.08 * window->session->text_percent;
        double middle = axis.y + line / 2.0;
        if (box.x < axis.x - 2.0 || box.x + box.w > axis.x + axis.w + 2.0) continue;
        if (!is_row_mark(&list->items[i], box, middle - r - 1.0, middle + r + 1.0)) continue;
        bool is_new = true;
        for (int b = 0; b < count; b++) {
            bool meets = box.x < boxes[b].x + boxes[b].w && boxes[b].x < box.x + box.w;
            double own = fabs(box.x + box.w - boxes[b].x - boxes[b].w);
            if (meets && own > 1.0 && box_has(boxes[b], box)) is_new = false; /* an arrow's head */
            if (meets && own <= 1.0) is_new = false;
            if (meets && is_new)
                fail_msg("%s: marks at %g and %g meet", window->name, boxes[b].x, box.x);
        }
        assert_true(count < 256);
        if (is_new) boxes[count++] = box;
    }
    return count;
}

/* On a crowded time line no mark hides another, and those that became one say how many. */
static void test_place_look_back_marks(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    play(window, "nine-passes", "right");
    for (int percent = 100; percent <= 200; percent += 50) {
        session->text_percent = percent;
        window_draw(window);
        assert_int_equal(want_marks_apart(window), 9 + 3); /* removed, and the line stopped */
    }
    session->text_percent = 100;
    session_begin_run(session, false);
    session_do(session, log_action(ACTION_NEXT, 0));
    for (int i = 0; i < 120; i++) {
        session_do(session, log_action(i % 2 == 0 ? ACTION_STOP : ACTION_START, 0));
        session_tick(session, 100000);
    }
    session_do(session, log_action(ACTION_LEAVE, 0));
    session_go(session, PLACE_LOOK_BACK);
    for (int percent = 100; percent <= 200; percent += 50) {
        session->text_percent = percent;
        window_draw(window);
        assert_true(want_marks_apart(window) >= 10);
        check_picture(window);
        assert_true(window_shows(window, "stops: 60") || percent == 200);
    }
}

/* A product is named as people know it, in their language. */
static void test_place_look_back_names_products(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    for (int language = 0; language < 2; language++) {
        session->language = language;
        play(window, "nine-passes", "right");
        size_t count;
        const LogLine *log = player_log(app_run_player(session->run), &count);
        for (size_t i = 0; i < count; i++) {
            if (!log_is(&log[i], HAPPENING_PROGRAM_READ)) continue;
            session->look_back.chosen = i;
            break;
        }
        window_draw(window);
        assert_false(window_shows(window, "butter-200"));
        assert_true(window_shows(window, language == 0 ? "Salted butter" : "Masło solone"));
    }
}

static void test_place_look_back_again(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    play(window, "the-beep", "k4");
    int beep = session->chosen_scenario;
    session->chosen_scenario = (beep + 1) % session->scenario_count;
    window_press(window, "next", 0);
    assert_int_equal(session->place, PLACE_RUN);
    assert_int_equal(session->chosen_scenario, beep);
    assert_false(session->is_assessment);
    play(window, "the-beep", "k4");
    window_key(window, UI_KEY_ESCAPE);
    assert_int_equal(session->place, PLACE_HOME);
    window_draw(window);
    assert_true(window_shows(window, "Hello, Ife"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_place_look_back_everywhere, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_at_once, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_missed_first, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_rubric, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_steps, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_bench, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_time_line, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_tells_all, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_marks, window_enter, window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_names_products, window_enter,
                                        window_leave),
        cmocka_unit_test_setup_teardown(test_place_look_back_again, window_enter, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
