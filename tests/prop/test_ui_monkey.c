/* A monkey at the window: random presses, slides, keys, letters, sizes and waits, everywhere.
 *
 *   test_ui_monkey [EVENTS [SEED]]
 *
 * Nothing stops the program; a picture is sound; a run changes only by actions and by time; what
 * was played is what a replay gives; and the store verifies. The luck of the runs that it begins is
 * the system's own, so a failure names the run's seed too. */
#include "ui_place.h"

#include "base/random.h"
#include "records/verify.h"

enum { EVENTS = 3000, REPLAY_EVERY = 500, SECOND_US = 1000000 };

typedef struct {
    long events;
    uint64_t seed;
    Random random;
    Window window;
    long at;
} Monkey;

static bool wants(const char *text, int64_t *out)
{
    return text_to_int(text, out) && *out > 0;
}

static int below(Monkey *monkey, int count)
{
    return (int)random_below(&monkey->random, (uint64_t)count);
}

static const Player *player_of(const Monkey *monkey)
{
    const Session *session = monkey->window.session;
    return session->run == NULL ? NULL : app_run_player(session->run);
}

static void fail_at(const Monkey *monkey, const char *what)
{
    const Player *player = player_of(monkey);
    uint64_t seed = player == NULL ? 0 : player_setup(player)->seed;
    fail_msg("seed %llu, event %ld, place %d, %g x %g, run's seed %llu: %s",
             (unsigned long long)monkey->seed, monkey->at, (int)monkey->window.session->place,
             monkey->window.width, monkey->window.height, (unsigned long long)seed, what);
}

#define want(x) ((x) ? (void)0 : fail_at(monkey, #x))

static void look_at_picture(Monkey *monkey)
{
    const DrawList *list = &monkey->window.list;
    want(list->item_count > 2 && list->item_count < 100000);
    for (size_t i = 0; i < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        DrawRect box = item_box(list, item);
        want(isfinite(box.x) && isfinite(box.y) && isfinite(box.w) && isfinite(box.h));
        want(item->kind != DRAW_ITEM_TEXT ||
             (item->size_px >= 16 &&
              text_is_utf8(draw_words(list, item), strlen(draw_words(list, item)), NULL)));
    }
}

/* Send the event; the run, if it is still the same one, has changed by actions alone, and no time
 * has gone by in it. */
static void send(Monkey *monkey, UiEvent event)
{
    const AppRun *run = monkey->window.session->run;
    const Player *player = player_of(monkey);
    size_t before = 0;
    size_t after = 0;
    int64_t now_us = player == NULL ? 0 : player_now_us(player);
    if (player != NULL) (void)player_log(player, &before);
    window_send(&monkey->window, event);
    look_at_picture(monkey);
    if (player == NULL || monkey->window.session->run != run) return;
    const LogLine *log = player_log(player, &after);
    want(player_now_us(player) == now_us);
    want(after >= before && (after == before || log[before].is_action));
    want(after == before || (event.kind != UI_NOTHING && event.kind != UI_MOVE));
}

/* --- What it does ---------------------------------------------------------------------------- */

static void press_target(Monkey *monkey)
{
    const DrawList *list = &monkey->window.list;
    if (list->target_count == 0) return;
    /* Often the next action, so that it gets somewhere. */
    const DrawTarget *next = window_find(&monkey->window, "next", 0);
    DrawRect box = list->targets[below(monkey, (int)list->target_count)].box;
    if (next != NULL && below(monkey, 3) == 0) box = next->box;
    UiEvent event = {.kind = UI_DOWN, .x = box.x + box.w / 2, .y = box.y + box.h / 2};
    send(monkey, event);
    if (below(monkey, 8) == 0) { /* slide off */
        event.kind = UI_MOVE;
        event.x += random_unit(&monkey->random) * 200.0 - 100.0;
        send(monkey, event);
    }
    event.kind = UI_UP;
    send(monkey, event);
}

static void poke(Monkey *monkey)
{
    static const UiEventKind kinds[] = {UI_DOWN, UI_MOVE, UI_UP, UI_NOTHING};
    UiEvent event = {.kind = kinds[below(monkey, 4)],
                     .x = (1.2 * random_unit(&monkey->random) - 0.1) * monkey->window.width,
                     .y = (1.2 * random_unit(&monkey->random) - 0.1) * monkey->window.height};
    send(monkey, event);
}

static void key(Monkey *monkey)
{
    UiEvent event = {.kind = UI_KEY, .key = (UiKey)below(monkey, UI_KEY_PAGE_DOWN + 1)};
    /* Escape leads out, and Enter in: it should not only walk to and fro. */
    if (event.key == UI_KEY_ESCAPE && below(monkey, 3) > 0) event.key = UI_KEY_ENTER;
    send(monkey, event);
}

static void type(Monkey *monkey)
{
    static const char *const texts[] = {"1",        "2", "4", "9",        "a", "Ife",         " ",
                                        "\xC5\x82", "-", "%", "\"\\{0}'", "x", "\xE2\x82\xAC"};
    UiEvent event = {.kind = UI_TYPED};
    const char *text = texts[below(monkey, (int)(sizeof texts / sizeof texts[0]))];
    memcpy(event.text, text, strlen(text) + 1);
    send(monkey, event);
}

static void change_window(Monkey *monkey)
{
    static const double sizes[][2] = {{1280, 800}, {1365, 800}, {1422, 800}, {1280, 2048}};
    static const int percents[] = {100, 100, 125, 150, 200};
    int size = below(monkey, 4);
    monkey->window.width = sizes[size][0];
    monkey->window.height = sizes[size][1];
    monkey->window.session->text_percent = percents[below(monkey, 5)];
    monkey->window.session->theme = (DrawTheme)below(monkey, DRAW_THEME_COUNT);
    send(monkey, (UiEvent){.kind = UI_NOTHING});
}

static void wait_a_while(Monkey *monkey)
{
    for (int i = below(monkey, 8); i >= 0; i--) {
        session_tick(monkey->window.session, below(monkey, SECOND_US));
    }
    send(monkey, (UiEvent){.kind = UI_NOTHING});
}

static void act(Monkey *monkey)
{
    int what = below(monkey, 100);
    if (what < 60)
        press_target(monkey);
    else if (what < 70)
        poke(monkey);
    else if (what < 82)
        key(monkey);
    else if (what < 86)
        type(monkey);
    else if (what < 98)
        wait_a_while(monkey);
    else
        change_window(monkey);
}

/* --- What must be so ------------------------------------------------------------------------- */

static void replay(Monkey *monkey)
{
    const Player *player = player_of(monkey);
    Text text = {0};
    Text why = {0};
    Err err = {0};
    PlayerRun run = {0};
    bool same = false;
    if (player == NULL) return;
    player_print_run(player, &text);
    want(player_parse_run("run", text_string(&text), text.len, &run, &err));
    want(player_replay(player_setup(player), &run, &same, &why, &err));
    if (!same) print_error("%s\n", text_string(&why));
    want(same);
    player_run_clear(&run);
    text_clear(&text);
    text_clear(&why);
}

static void test_ui_monkey(void **state)
{
    Monkey *monkey = *state;
    RecReport report = {0};
    Err err = {0};
    Text store = {0};
    int visited[PLACE_COUNT] = {0};
    random_init(&monkey->random, monkey->seed);
    window_open(&monkey->window);
    window_draw(&monkey->window);
    for (monkey->at = 0; monkey->at < monkey->events; monkey->at++) {
        act(monkey);
        visited[monkey->window.session->place]++;
        if (monkey->at % REPLAY_EVERY == REPLAY_EVERY - 1) replay(monkey);
    }
    replay(monkey);
    for (int i = 0; i < PLACE_COUNT; i++) {
        print_message("place %d: %d events\n", i, visited[i]);
        want(visited[i] > 0);
    }
    session_free(monkey->window.session);
    monkey->window.session = NULL;
    text_addf(&store, "%s/store", monkey->window.folder.bytes);
    if (!rec_verify(store.bytes, NULL, app_rejudge, NULL, &report, &err)) fail_msg("%s", err.text);
    print_message("seed %llu: %lld runs, %lld played again\n", (unsigned long long)monkey->seed,
                  (long long)report.runs, (long long)report.runs_rejudged);
    assert_int_equal(report.finding_count, 0);
    rec_report_clear(&report);
    text_clear(&store);
    window_close(&monkey->window);
}

int main(int argc, char **argv)
{
    Monkey monkey = {.events = EVENTS, .seed = 1};
    int64_t events = EVENTS;
    int64_t seed = 1;
    if ((argc > 1 && !wants(argv[1], &events)) || (argc > 2 && !wants(argv[2], &seed)) ||
        argc > 3) {
        (void)fputs("usage: test_ui_monkey [EVENTS [SEED]]\n", stderr);
        return 2;
    }
    monkey.events = events;
    monkey.seed = (uint64_t)seed;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(test_ui_monkey, &monkey),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
