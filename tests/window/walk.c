/* A newcomer's way through the real window, outside of it: what to press is looked up in a mirror,
 * a session of this program's own that gets the same events, and sent to the window as a person
 * would send it.
 *
 *   walk pointer WINDOW WANTED   prints the way as lines for "xdotool -", by the pointer alone
 *   walk keys WINDOW WANTED      the same, by the keyboard alone
 *   walk fingers 0 WANTED        the same, as lines for the next:
 *   walk window STORE            opens the window; each line of standard input is a touch
 *   walk runs STORE              prints what the store says: each run, its verdict, its actions
 *
 * The way: the door, home, the first lesson to its end, the look-back, the bench, the whole check
 * in practice with one place left out, and in an assessment as it should be. At its end what the
 * mirror's store says goes to the file WANTED, for the window's store must say the same. Mirror and
 * window draw their own luck; nothing on the way hangs on it. */
#include <SDL2/SDL.h>

#include "../ui_place.h"
#include "records/ledger.h"
#include "ui/sdl_draw.h"
#include "ui/sdl_window.h"

enum {
    WIDTH = 1280,
    HEIGHT = 800,
    FRAME_MS = 10,
    PACE_MS = 100,    /* for one press; what has to be sent for it goes to the window by then */
    KEY_MS = 9,       /* more for each key that goes before it */
    MARGIN_MS = 2000, /* how far the window may be behind the mirror when something has happened */
    WAIT_MS = 60000,
    DRAG_PX = 40,
    SMALL_COUNT = 3, /* packs of a round */
};

typedef enum { BY_POINTER, BY_KEYS, BY_FINGERS } Way;

typedef struct {
    Way way;
    const char *target; /* the window, as xdotool knows it */
    Window mirror;
    int64_t ticked_us; /* when the mirror's line was moved on last */
} Walk;

/* --- Time ------------------------------------------------------------------------------------ */

/* Time passes here as it does in the window. */
static void pass_time(Walk *walk, int ms)
{
    int64_t end = os_uptime_us() + (int64_t)ms * 1000;
    for (;;) {
        int64_t now = os_uptime_us();
        session_tick(walk->mirror.session, now - walk->ticked_us);
        walk->ticked_us = now;
        if (now >= end) break;
        SDL_Delay(FRAME_MS);
    }
    window_draw(&walk->mirror);
}

/* How many lines of the run's log match. */
static int logged(const Walk *walk, const char *pattern_text)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    int found = 0;
    const LogLine *log = player_log(app_run_player(walk->mirror.session->run), &count);
    if (!log_parse_pattern(pattern_text, (ErrPlace){"pattern", 1, 1}, &pattern, &err)) {
        fail_msg("%s", err.text);
    }
    for (size_t i = 0; i < count; i++) {
        found += log_matches(&log[i], &pattern);
    }
    return found;
}

/* Wait until that has happened so often, here and surely in the window. */
static void wait_for(Walk *walk, const char *pattern, int times)
{
    int64_t end = os_uptime_us() + (int64_t)WAIT_MS * 1000;
    while (logged(walk, pattern) < times) {
        if (os_uptime_us() > end) fail_msg("waited in vain for: %s", pattern);
        pass_time(walk, FRAME_MS);
    }
    pass_time(walk, MARGIN_MS);
}

/* --- Events: each to the window and to the mirror -------------------------------------------- */

static void send_line(const Text *line)
{
    if (puts(line->bytes) < 0 || fflush(stdout) != 0) fail_msg("nobody reads the walk");
}

static void touch(Walk *walk, UiEventKind kind, double x, double y)
{
    window_send(&walk->mirror, (UiEvent){.kind = kind, .x = x, .y = y});
}

/* Down at one point, up at another. */
static void stroke(Walk *walk, DrawPoint from, DrawPoint to)
{
    Text line = {0};
    DrawPoint a = {round(from.x), round(from.y)};
    DrawPoint b = {round(to.x), round(to.y)};
    if (walk->way == BY_FINGERS) {
        text_addf(&line, "%.0f %.0f %.0f %.0f", a.x, a.y, b.x, b.y);
    } else {
        text_addf(&line,
                  "mousemove --window %s %.0f %.0f mousedown 1 mousemove --window %s %.0f %.0f "
                  "mouseup 1",
                  walk->target, a.x, a.y, walk->target, b.x, b.y);
    }
    send_line(&line);
    text_clear(&line);
    touch(walk, UI_DOWN, a.x, a.y);
    touch(walk, UI_MOVE, b.x, b.y);
    touch(walk, UI_UP, b.x, b.y);
    pass_time(walk, PACE_MS);
}

/* The index of a widget in the order of Tab, -1 for none. */
static int order_of(const UiMemory *memory, uint32_t id)
{
    for (int i = 0; i < memory->order_count; i++) {
        if (memory->order[i] == id) return i;
    }
    return -1;
}

/* Go by Tab to the widget, the shorter way round, and press a key there so often. */
static void key_at(Walk *walk, uint32_t id, const char *key, UiKey ui_key, int times)
{
    const UiMemory *memory = &walk->mirror.session->memory;
    int count = memory->order_count;
    int at = order_of(memory, memory->focus);
    int to = order_of(memory, id);
    int on = at < 0 ? to + 1 : (to - at + count) % count;
    int back = at < 0 ? count - to : (count - on) % count;
    bool goes_back = back < on;
    int steps = goes_back ? back : on;
    Text line = {0};
    text_add(&line, "key --delay 4");
    for (int i = 0; i < steps; i++) {
        text_add(&line, goes_back ? " shift+Tab" : " Tab");
        window_key(&walk->mirror, goes_back ? UI_KEY_BACK_TAB : UI_KEY_TAB);
    }
    if (memory->focus != id) fail_msg("Tab does not lead there");
    for (int i = 0; i < times; i++) {
        text_addf(&line, " %s", key);
        window_key(&walk->mirror, ui_key);
    }
    send_line(&line);
    text_clear(&line);
    pass_time(walk, PACE_MS + KEY_MS * (steps + times));
}

static void press(Walk *walk, const char *name, int index)
{
    Window *mirror = &walk->mirror;
    (void)snprintf(mirror->name, sizeof mirror->name, "place %d", (int)mirror->session->place);
    DrawRect box = window_target(mirror, name, index).box;
    DrawPoint middle = {box.x + box.w / 2.0, box.y + box.h / 2.0};
    if (walk->way == BY_KEYS) {
        key_at(walk, ui_id(name, index), "Return", UI_KEY_ENTER, 1);
    } else {
        stroke(walk, middle, middle);
    }
}

static void press_often(Walk *walk, const char *name, int index, int times)
{
    for (int i = 0; i < times; i++) {
        press(walk, name, index);
    }
}

static void next(Walk *walk)
{
    press(walk, "next", 0);
}

/* The mirror must be where the walk takes it to be. */
static void want(const Walk *walk, Place place, const char *words)
{
    if (walk->mirror.session->place != place || !window_shows(&walk->mirror, words)) {
        fail_msg("place %d, wanted %d with \"%s\"", (int)walk->mirror.session->place, (int)place,
                 words);
    }
}

/* --- The way --------------------------------------------------------------------------------- */

/* Watch the reject: in practice the next action; in an assessment one among others. */
static void watch(Walk *walk)
{
    bool is_silent = walk->mirror.session->is_assessment;
    press(walk, is_silent ? "watch" : "next", 0);
}

/* The language there and back, but whoever comes by touch stays in Polish. */
static void come_in(Walk *walk)
{
    press(walk, "language", 1);
    want(walk, PLACE_DOOR, "Kim jesteś?");
    if (walk->way != BY_FINGERS) press(walk, "language", 0);
    if (walk->way == BY_KEYS) {
        Text line = {0};
        text_add(&line, "type Ife");
        send_line(&line);
        text_clear(&line);
        window_type(&walk->mirror, "I");
        window_type(&walk->mirror, "f");
        window_type(&walk->mirror, "e");
        pass_time(walk, 3 * PACE_MS);
        key_at(walk, ui_id("search", 0), "Return", UI_KEY_ENTER, 1);
    } else {
        press(walk, "name", 0);
    }
    next(walk);
    want(walk, PLACE_HOME, "Ife");
}

static void look_back(Walk *walk)
{
    next(walk);
    if (walk->mirror.session->place != PLACE_LOOK_BACK) fail_msg("the run has not ended");
    press(walk, "step", 1);
    press(walk, "rubric", 1);
    press(walk, "step", 0);
    press(walk, "back", 0);
    if (walk->mirror.session->place != PLACE_HOME) fail_msg("look-back does not lead home");
}

/* The line stopped and made safe, and the bin opened by the line leader. */
static void open_bin(Walk *walk)
{
    press(walk, "stop", 0);
    press(walk, "tab", TAB_COUNT);
    press(walk, "count", 6); /* lock off */
    press(walk, "count", 2); /* the line leader's key */
}

static void close_bin(Walk *walk)
{
    press(walk, "tab", TAB_COUNT);
    press(walk, "count", 4); /* lock the bin */
    press(walk, "count", 6); /* take the own lock off */
}

static void do_lesson(Walk *walk)
{
    const Session *session = walk->mirror.session;
    next(walk);
    if (session->place != PLACE_RUN || session->is_assessment ||
        strcmp(session->scenarios[session->chosen_scenario].id, "first-pass") != 0) {
        fail_msg("home does not begin with practice of the first lesson");
    }
    next(walk);
    press(walk, "make", 0);
    press(walk, "piece", 0);
    next(walk); /* lay it in the middle */
    next(walk); /* send */
    next(walk); /* watch */
    wait_for(walk, "removed pack=1", 1);
    open_bin(walk);
    press(walk, "fetch", 0);
    press(walk, "find", 0);
    press(walk, "tab", TAB_TRAY);
    press(walk, "piece", 0); /* back into the kit */
    close_bin(walk);
    press(walk, "done", 0);
    press(walk, "way", 1); /* crossways */
    next(walk);
    press(walk, "answer", 1);
    next(walk);
}

/* A wire, turned and moved, sent under both heads, and its description copied. */
static void try_bench(Walk *walk)
{
    Window *mirror = &walk->mirror;
    press(walk, "bench", 0);
    press(walk, "choose", 3); /* the piece */
    press(walk, "shape", 1);
    press(walk, "choose", 3);
    press(walk, "turn", 1);
    BenchSide before = mirror->session->bench.sides[0];
    if (walk->way == BY_KEYS) {
        key_at(walk, ui_id("view", 1), "Right", UI_KEY_RIGHT, 5);
    } else {
        DrawRect box = window_target(mirror, "view", 1).box;
        DrawPoint middle = {box.x + box.w / 2.0, box.y + box.h / 2.0};
        stroke(walk, middle, (DrawPoint){middle.x + DRAG_PX, middle.y + DRAG_PX / 4.0});
    }
    const BenchSide *after = &mirror->session->bench.sides[0];
    if (!after->is_wire || after->azimuth_deg != 90.0 || after->along_mm == before.along_mm) {
        fail_msg("the bench's wire did not move");
    }
    next(walk);
    pass_time(walk, BENCH_PASS_US / 1000 + PACE_MS);
    press(walk, "extra", 4); /* copy the left one */
    press(walk, "back", 0);
    if (mirror->session->bench.copied.len == 0) fail_msg("nothing was copied");
}

/* Three pieces at one place of three packs, sent, watched, and found again; round 1, 2, ... */
static void do_round(Walk *walk, SiteSpot spot, int round)
{
    press(walk, "tab", TAB_TRAY);
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "pack", i + 1);
        if (i == 0) press(walk, "spot", (int)spot);
        press(walk, "piece", i);
        next(walk);
    }
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "pack", i + 1);
        next(walk);
    }
    watch(walk);
    wait_for(walk, "removed pack=3", round);
    open_bin(walk);
    if (round == 1) press_often(walk, "plus", 0, SMALL_COUNT);
    press(walk, "count", 0);
    press(walk, "tab", TAB_TRAY);
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "pack", i + 1);
        press(walk, "fetch", 0);
        press_often(walk, "piece", i, 2); /* out of the pack, and into the kit */
    }
    close_bin(walk);
    press(walk, "tab", TAB_SHEET);
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "cell", i * SITE_SPOT_COUNT + (int)spot);
        press(walk, "value", 0); /* removed */
    }
    press(walk, "start", 0);
}

/* The program read, the line leader told, and three packs proven clean. */
static void begin_check(Walk *walk)
{
    next(walk);
    press(walk, "tab", TAB_COUNT);
    press(walk, "program", 0);
    press(walk, "tab", TAB_PEOPLE);
    press(walk, "tell", 0);
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "make", 0);
        next(walk);
    }
    watch(walk);
    wait_for(walk, "on-pallet pack=3", 1);
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "pack", i + 1);
        press(walk, "fetch", 0);
    }
}

/* An assessment asks whether to end a part. */
static void end_part(Walk *walk)
{
    press(walk, "done", 0);
    if (walk->mirror.session->is_assessment) next(walk);
}

/* Packs destroyed, pieces counted, a run of good packs, the sheet written and signed. */
static void end_check(Walk *walk)
{
    for (int i = 0; i < SMALL_COUNT; i++) {
        press(walk, "pack", i + 1);
        press(walk, "destroy", 0);
    }
    press(walk, "tab", TAB_COUNT);
    press_often(walk, "plus", 0, 3);
    press(walk, "count", 1); /* the kit: six */
    press(walk, "tab", TAB_PEOPLE);
    press_often(walk, "about-more", 0, 2);
    press(walk, "tell", 0); /* run */
    wait_for(walk, "good-run", 1);
    end_part(walk);
    press(walk, "tab", TAB_REST);
    press(walk, "rest", 0);
    press_often(walk, "plus", 2, 6);
    press(walk, "rest", 2);
    press_often(walk, "plus", 3, 10);
    press(walk, "rest", 3); /* ten good ones */
    press(walk, "rest", 5);
    press(walk, "rest", 7);
    press(walk, "tab", TAB_PEOPLE);
    press_often(walk, "about-more", 0, 2);
    press(walk, "tell", 0); /* the check was good */
    end_part(walk);
    press(walk, "answer", 1);
    next(walk);
}

/* --- What the store says --------------------------------------------------------------------- */

typedef struct {
    Records *records;
    Text *out;
} Runs;

/* One run: how, which, with what verdict, and what the hands did, without the times. */
static bool tell_run(void *context, const RecEntry *entry, Err *err)
{
    const Runs *runs = context;
    RecRunView view = {0};
    JsonDoc *doc = NULL;
    PlayerRun run = {0};
    bool ok = rec_run_load(runs->records, entry->number, &view, err) &&
              json_parse("result", text_string(&view.result), view.result.len, &doc, err);
    const Text *log = ok ? rec_run_content(&view, "log") : NULL;
    ok = log != NULL && player_parse_run("log", text_string(log), log->len, &run, err);
    if (ok) {
        text_addf(runs->out, "%s %s: %s\n", view.is_assessment ? "assessment" : "practice",
                  run.scenario, json_string(json_get(json_root(doc), "verdict")));
    }
    for (size_t i = 0; i < run.count; i++) {
        LogLine line = run.lines[i];
        line.time_us = 0;
        if (!line.is_action && !log_is(&line, HAPPENING_NOT_POSSIBLE)) continue;
        log_print(&line, runs->out);
        text_add(runs->out, "\n");
    }
    player_run_clear(&run);
    json_free(doc);
    rec_run_view_clear(&view);
    return ok;
}

static void tell_runs(Records *records, Text *out)
{
    Err err = {0};
    Runs runs = {records, out};
    if (!rec_each(records, &(RecFilter){.kind = "run"}, tell_run, &runs, &err)) {
        fail_msg("%s", err.text);
    }
}

/* The mirror itself must have gone the whole way. */
static void keep_wanted(const Walk *walk, const char *path)
{
    static const char *const wanted[] = {"practice first-pass: competent\n",
                                         "practice nine-passes: not yet competent\n",
                                         "assessment nine-passes: competent\n"};
    Text out = {0};
    Err err = {0};
    tell_runs(walk->mirror.session->records, &out);
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        if (strstr(text_string(&out), wanted[i]) == NULL) {
            fail_msg("no \"%s\" among:\n%s", wanted[i], text_string(&out));
        }
    }
    if (strstr(out.bytes, "not-possible") != NULL) fail_msg("not possible:\n%s", out.bytes);
    if (!os_file_write(path, out.bytes, out.len, &err)) fail_msg("%s", err.text);
    text_clear(&out);
}

/* What the window has copied is what the mirror has. */
static void check_clipboard(const Walk *walk)
{
    if (SDL_Init(SDL_INIT_VIDEO) != 0) fail_msg("%s", SDL_GetError());
    char *copied = SDL_GetClipboardText();
    const char *wanted = text_string(&walk->mirror.session->bench.copied);
    size_t same = 0;
    while (copied[same] != '\0' && copied[same] == wanted[same]) {
        same++;
    }
    if (copied[same] != wanted[same]) {
        fail_msg("the clipboard holds at byte %zu: %.200s\nwanted: %.200s", same, &copied[same],
                 &wanted[same]);
    }
    SDL_free(copied);
}

static int go(Way way, const char *target, const char *wanted_path)
{
    Walk walk = {.way = way, .target = target, .ticked_us = os_uptime_us()};
    SdlDraw *draw = NULL;
    Err err = {0};
    window_open(&walk.mirror);
    if (!sdl_draw_new(NULL, &draw, &err)) fail_msg("%s", err.text);
    sdl_draw_fit(draw, WIDTH, HEIGHT, &walk.mirror.width, &walk.mirror.height);
    walk.mirror.measure = sdl_draw_measure(draw);
    window_draw(&walk.mirror);
    come_in(&walk);
    do_lesson(&walk);
    look_back(&walk);
    try_bench(&walk);
    next(&walk); /* home goes on to the whole check */
    begin_check(&walk);
    do_round(&walk, SITE_LEADING, 1);
    do_round(&walk, SITE_MIDDLE, 2);
    end_check(&walk);
    look_back(&walk);
    press(&walk, "assess", 0);
    begin_check(&walk);
    do_round(&walk, SITE_LEADING, 1);
    do_round(&walk, SITE_MIDDLE, 2);
    do_round(&walk, SITE_TRAILING, 3);
    end_check(&walk);
    look_back(&walk);
    keep_wanted(&walk, wanted_path);
    check_clipboard(&walk);
    window_close(&walk.mirror);
    sdl_draw_free(draw);
    SDL_Quit();
    return 0;
}

/* --- The window that fingers touch ----------------------------------------------------------- */

static void push_finger(Uint32 type, double x, double y)
{
    SDL_Event event = {.type = type};
    event.tfinger.touchId = 1;
    event.tfinger.fingerId = 1;
    event.tfinger.x = (float)(x / WIDTH);
    event.tfinger.y = (float)(y / HEIGHT);
    if (SDL_PushEvent(&event) != 1) fail_msg("%s", SDL_GetError());
}

/* Read touches and push them; at their end close the window. */
static int push_fingers(void *context)
{
    char line[128];
    (void)context;
    while (fgets(line, sizeof line, stdin) != NULL) {
        double at[4];
        char *rest = line;
        for (int i = 0; i < 4; i++) {
            at[i] = strtod(rest, &rest);
        }
        push_finger(SDL_FINGERDOWN, at[0], at[1]);
        push_finger(SDL_FINGERMOTION, at[2], at[3]);
        push_finger(SDL_FINGERUP, at[2], at[3]);
    }
    SDL_Event quit = {.type = SDL_QUIT};
    return SDL_PushEvent(&quit) == 1 ? 0 : 1;
}

static int open_window(const char *store)
{
    SdlWindowSetup setup = {.session = {.assets = "assets",
                                        .site_folder = "scenarios/ostrel-mill",
                                        .store = store,
                                        .program = "walk",
                                        .text_percent = 100},
                            .width = WIDTH,
                            .height = HEIGHT};
    Err err = {0};
    int failed = 1;
    SDL_Thread *fingers = SDL_CreateThread(push_fingers, "fingers", NULL);
    if (fingers == NULL) fail_msg("%s", SDL_GetError());
    if (!sdl_window_run(&setup, &err)) fail_msg("%s", err.text);
    SDL_WaitThread(fingers, &failed);
    return failed;
}

static int show_runs(const char *store)
{
    Records *records = NULL;
    Text out = {0};
    Err err = {0};
    if (!rec_open(store, REC_READ, "walk", NULL, &records, &err)) fail_msg("%s", err.text);
    tell_runs(records, &out);
    int failed = fputs(text_string(&out), stdout) < 0;
    text_clear(&out);
    rec_close(records);
    return failed;
}

int main(int argc, char **argv)
{
    static const char *const ways[] = {"pointer", "keys", "fingers"};
    for (int i = 0; argc == 4 && i < 3; i++) {
        if (strcmp(argv[1], ways[i]) == 0) return go((Way)i, argv[2], argv[3]);
    }
    if (argc == 3 && strcmp(argv[1], "window") == 0) return open_window(argv[2]);
    if (argc == 3 && strcmp(argv[1], "runs") == 0) return show_runs(argv[2]);
    (void)fputs("walk pointer|keys|fingers WINDOW WANTED, walk window STORE, walk runs STORE\n",
                stderr);
    return 2;
}
