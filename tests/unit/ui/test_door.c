/* The door: names, typing, badge, language, sizes, colours; and its picture everywhere. */
#include "ui_place.h"

static int open(void **state)
{
    Window *window = check_calloc(1, sizeof *window);
    window_open(window);
    window_draw(window);
    *state = window;
    return 0;
}

static void look(Window *window)
{
    bool big = window->session->text_percent >= 150;
    for (int tab = 0; tab < (big ? 2 : 1); tab++) {
        if (big) window_press(window, "tab", tab);
        check_picture(window);
        check_whole(window);
        while (window_find(window, "names", 1) != NULL) {
            window_press(window, "names", 1);
            check_picture(window);
            check_whole(window);
        }
    }
}

static void test_place_door_everywhere(void **state)
{
    Window *window = *state;
    check_everywhere(window, "door", look);
    window_press(window, "name", 0);
    assert_true(window_shows(window, "chosen"));
    check_everywhere(window, "door, chosen", look);
    window_type(window, "zzz");
    check_everywhere(window, "door, nobody", look);
}

/* A full list: every name is on some page, and none is drawn beyond its button. */
static void test_place_door_many(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    bool seen[SESSION_PEOPLE_MAX] = {false};
    for (; session->people_count < SESSION_PEOPLE_MAX; session->people_count++) {
        SessionPerson *person = &session->people[session->people_count];
        (void)snprintf(
            person->name, sizeof person->name,
            "Wolfeschlegelsteinhausenbergerdorff the %dth of that name, of the night shift",
            session->people_count);
    }
    check_everywhere(window, "door, many", check_picture);
    for (;;) {
        for (int i = 0; i < SESSION_PEOPLE_MAX; i++) {
            if (window_find(window, "name", i) != NULL) seen[i] = true;
        }
        if (window_find(window, "names", 1) == NULL) break;
        window_press(window, "names", 1);
    }
    for (int i = 0; i < SESSION_PEOPLE_MAX; i++) {
        assert_true(seen[i]);
    }
}

static void test_place_door_come_in(void **state)
{
    Window *window = *state;
    assert_null(window_find(window, "next", 0));
    assert_true(window_shows(window, "Choose your name"));
    window_press(window, "name", 1);
    assert_int_equal(window->session->chosen_person, 1);
    window_press(window, "next", 0);
    assert_int_equal(window->session->place, PLACE_HOME);
    assert_true(window->session->people[1].id[0] != '\0');
}

static void test_place_door_typing(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    window_type(window, "H");
    window_type(window, "A");
    assert_non_null(window_find(window, "name", 3)); /* Halina */
    assert_null(window_find(window, "name", 0));
    window_key(window, UI_KEY_BACKSPACE);
    window_key(window, UI_KEY_BACKSPACE);
    assert_non_null(window_find(window, "name", 0));
    window_type(window, "\xC3\xA3"); /* João, by its third letter */
    assert_non_null(window_find(window, "name", 4));
    assert_null(window_find(window, "name", 3));
    window_key(window, UI_KEY_BACKSPACE);
    assert_string_equal(text_string(&session->typed), "");
    window_type(window, "a");
    window_key(window, UI_KEY_ENTER); /* several have an a */
    assert_int_equal(session->chosen_person, -1);
    window_key(window, UI_KEY_ESCAPE);
    assert_string_equal(text_string(&session->typed), "");
}

/* A badge reader types the name and Enter; Enter once more comes in. Wherever the keys were. */
static void test_place_door_badge(void **state)
{
    Window *window = *state;
    window_key(window, UI_KEY_TAB);
    window_key(window, UI_KEY_TAB);
    for (const char *at = "Renske"; *at != '\0'; at++) {
        char letter[2] = {*at, '\0'};
        window_type(window, letter);
    }
    window_key(window, UI_KEY_ENTER);
    assert_string_equal(window->session->people[window->session->chosen_person].name, "Renske");
    window_key(window, UI_KEY_ENTER);
    assert_int_equal(window->session->place, PLACE_HOME);
}

static void test_place_door_settings(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    window_press(window, "theme", DRAW_DARK);
    assert_int_equal(session->theme, DRAW_DARK);
    assert_int_equal(window->list.theme, DRAW_DARK);
    window_press(window, "size", 3);
    assert_int_equal(session->text_percent, 200);
    window_press(window, "tab", 1);
    window_press(window, "size", 0);
    assert_int_equal(session->text_percent, 100);
    assert_true(window_shows(window, "125\xC2\xA0%"));
    assert_true(window_shows(window, "Make the text larger here."));
    for (int i = 0; i < session->language_count; i++) {
        window_press(window, "language", i);
        assert_int_equal(session->language, i);
        assert_true(window_shows(window, texts_get(session->texts[i], "ui", "door.who")));
    }
}

/* It shows nothing of anybody's results: no mark, and no word of a verdict, after a run that is
 * recorded. */
static void test_place_door_tells_nothing(void **state)
{
    Window *window = *state;
    Session *session = window->session;
    window_press(window, "name", 0);
    window_press(window, "next", 0);
    session_begin_run(session, true);
    session_do(session, log_action(ACTION_LEAVE, 0));
    assert_true(session->is_recorded && session->entry > 0);
    session_go(session, PLACE_DOOR);
    window_draw(window);
    assert_false(window_shows(window, "ompetent"));
    assert_false(window_shows(window, "run"));
    for (size_t i = 0; i < window->list.item_count; i++) {
        assert_true(window->list.items[i].kind != DRAW_ITEM_CIRCLE);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_place_door_everywhere, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_many, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_come_in, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_typing, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_badge, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_settings, open, window_leave),
        cmocka_unit_test_setup_teardown(test_place_door_tells_nothing, open, window_leave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
