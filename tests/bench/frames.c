/* How long a frame of each place takes, in a real window:
 *
 *   bench_frames STORE [WIDTH HEIGHT]
 *
 * A frame is what the window does for one: session_frame, drawing, showing. "whole" turns light to
 * dark and back each time, so that every item changes; "one moved" is the usual frame: the line, or
 * the bench's packs, went on by 16 ms; elsewhere Tab went to the next widget. Beside each stands,
 * taken in turn with it, a frame of bare copies by SDL's software renderer in a window of the same
 * size: SDL_RenderClear, as many SDL_RenderCopy of one blended texture of 32 x 32 pixels as the
 * place's draw list has items, and SDL_RenderPresent. Times are milliseconds: medians of the
 * clock's, and of the processor's own, to which the load of a busy machine adds little. The ratio
 * is of the clock's. The story is played with one seed. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <SDL2/SDL.h>

#include "app/script.h"
#include "base/os.h"
#include "ui/sdl_draw.h"
#include "ui/session.h"

enum { ROUNDS = 6, ROUND = 40, FRAMES = ROUNDS * ROUND, SEED = 1, TICK_US = 16000, SIDE = 32 };

#define SITE "scenarios/ostrel-mill"

typedef struct {
    SDL_Window *window, *bare; /* for the frames, and for the bare copies */
    SDL_Renderer *renderer;
    SDL_Texture *small;
    SdlDraw *draw;
    Session *session;
    DrawList list, shown; /* in the making, and as it was drawn last */
    AppRun *script;       /* the whole run, whose actions are played again */
    size_t at;            /* the next of its log lines */
    double width, height; /* of the canvas */
} Meter;

static void fail(const char *what, const char *why)
{
    (void)fprintf(stderr, "bench_frames: %s: %s\n", what, why);
    exit(2);
}

/* --- Time ------------------------------------------------------------------------------------ */

typedef struct {
    double wall_ms[FRAMES], cpu_ms[FRAMES];
} Times;

static double now_ms(void)
{
    return (double)SDL_GetPerformanceCounter() * 1e3 / (double)SDL_GetPerformanceFrequency();
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_of(double *times)
{
    qsort(times, FRAMES, sizeof *times, by_size);
    return times[FRAMES / 2];
}

/* --- Frames ---------------------------------------------------------------------------------- */

static void frame(Meter *meter, const UiEvent *event, bool is_whole)
{
    DrawMeasure measure = sdl_draw_measure(meter->draw);
    DrawList last = meter->shown;
    meter->shown = meter->list;
    meter->list = last;
    session_frame(meter->session, event, meter->width, meter->height, &measure, &meter->list);
    if (is_whole)
        sdl_draw_list(meter->draw, &meter->list);
    else
        (void)sdl_draw_next(meter->draw, &meter->list, &meter->shown);
}

/* Press the widget of that name. */
static void press(Meter *meter, const char *name, int index)
{
    for (size_t i = 0; i < meter->list.target_count; i++) {
        const DrawTarget *target = &meter->list.targets[i];
        if (target->id != ui_id(name, index)) continue;
        UiEvent event = {.kind = UI_DOWN, .x = target->box.x + 2.0, .y = target->box.y + 2.0};
        frame(meter, &event, true);
        event.kind = UI_UP;
        frame(meter, &event, true);
        return;
    }
    fail("no widget of the name", name);
}

/* Send the bench's pack again when it has come through. */
static void set_going(Meter *meter)
{
    if (meter->session->place == PLACE_BENCH && !session_moves(meter->session)) {
        press(meter, "next", 0);
    }
}

static void whole_frame(Meter *meter)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    meter->session->theme = meter->session->theme == DRAW_LIGHT ? DRAW_DARK : DRAW_LIGHT;
    frame(meter, &nothing, true);
}

static void next_frame(Meter *meter)
{
    UiEvent event = {.kind = session_moves(meter->session) ? UI_NOTHING : UI_KEY,
                     .key = UI_KEY_TAB};
    session_tick(meter->session, TICK_US);
    frame(meter, &event, false);
}

static void bare_frame(Meter *meter)
{
    int columns = (int)meter->width / SIDE;
    (void)SDL_SetRenderDrawColor(meter->renderer, 246, 242, 232, 255);
    (void)SDL_RenderClear(meter->renderer);
    for (int i = 0; i < (int)meter->list.item_count; i++) {
        SDL_Rect to = {i % columns * SIDE, i / columns % (int)(meter->height / SIDE) * SIDE, SIDE,
                       SIDE};
        (void)SDL_RenderCopy(meter->renderer, meter->small, NULL, &to);
    }
    SDL_RenderPresent(meter->renderer);
}

static void time_one(Meter *meter, void (*one)(Meter *), Times *times, int at)
{
    clock_t cpu = clock();
    double begin = now_ms();
    one(meter);
    times->wall_ms[at] = now_ms() - begin;
    times->cpu_ms[at] = (double)(clock() - cpu) * 1e3 / CLOCKS_PER_SEC;
}

static void measure(Meter *meter, const char *place, const char *kind, void (*one)(Meter *))
{
    static Times times;
    static Times bare;
    for (int i = 0; i < FRAMES; i += ROUND) {
        whole_frame(meter);
        whole_frame(meter);
        meter->session->theme = DRAW_LIGHT;
        whole_frame(meter);
        for (int k = i; k < i + ROUND; k++) {
            if (one == next_frame) set_going(meter);
            time_one(meter, one, &times, k);
        }
        for (int k = i; k < i + ROUND; k++) {
            time_one(meter, bare_frame, &bare, k);
        }
    }
    double wall = median_of(times.wall_ms);
    double bare_wall = median_of(bare.wall_ms);
    (void)printf("%-14s %-10s %5zu %8.2f %8.2f %8.2f %8.2f %7.2f\n", place, kind,
                 meter->list.item_count, wall, median_of(times.cpu_ms), bare_wall,
                 median_of(bare.cpu_ms), wall / bare_wall);
}

static void measure_place(Meter *meter, const char *place)
{
    measure(meter, place, "whole", whole_frame);
    meter->session->theme = DRAW_LIGHT;
    measure(meter, place, "one moved", next_frame);
}

/* --- The story ------------------------------------------------------------------------------- */

/* Begin the first scenario as a person would; then it gets the script's luck. */
static void begin_run(Meter *meter)
{
    Session *session = meter->session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    AppRun *run = NULL;
    Text path = {0};
    Text script = {0};
    Err err = {0};
    session_begin_run(session, false);
    app_run_free(meter->script);
    meter->script = NULL;
    meter->at = 0;
    const Work *work = app_run_work(session->run);
    text_addf(&path, SITE "/%s.right.txt", session->scenarios[session->chosen_scenario].id);
    if (!os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, &err) ||
        !app_run_begin(work, &setup, &meter->script, &err) ||
        !script_play(meter->script, path.bytes, text_string(&script), script.len, &err) ||
        !app_run_begin(work, &setup, &run, &err)) {
        fail("the story", err.text);
    }
    app_run_free(session->run);
    session->run = run;
    text_clear(&path);
    text_clear(&script);
}

/* Play the script up to its next action of that kind. */
static void play_to(Meter *meter, ActionKind kind)
{
    Session *session = meter->session;
    size_t count;
    const LogLine *log = player_log(app_run_player(meter->script), &count);
    for (; meter->at < count && !log_is_action(&log[meter->at], kind); meter->at++) {
        if (!log[meter->at].is_action) continue;
        app_run_advance(session->run, log[meter->at].time_us);
        session_do(session, log[meter->at]);
    }
    if (meter->at == count) fail("the story", "the script has no such action");
}

static void play(Meter *meter)
{
    Session *session = meter->session;
    measure_place(meter, "door");
    session_enter(session, 0);
    measure_place(meter, "home");
    begin_run(meter);
    play_to(meter, ACTION_SEND);
    session_do(session, player_log(app_run_player(meter->script), &(size_t){0})[meter->at++]);
    session_tick(session, 250000);
    measure_place(meter, "run, moving");
    begin_run(meter);
    play_to(meter, ACTION_ANSWER);
    measure_place(meter, "run, question");
    app_run_finish(session->run);
    session_record(session);
    session_go(session, PLACE_LOOK_BACK);
    measure_place(meter, "look-back");
    session_go(session, PLACE_BENCH);
    measure_place(meter, "bench");
}

/* --- The window ------------------------------------------------------------------------------ */

/* White with an alpha that rises, so that each pixel is blended. */
static SDL_Texture *make_small(SDL_Renderer *renderer)
{
    SDL_Surface *surface =
        SDL_CreateRGBSurfaceWithFormat(0, SIDE, SIDE, 32, SDL_PIXELFORMAT_ARGB8888);
    if (surface == NULL) fail("a texture", SDL_GetError());
    for (int y = 0; y < SIDE; y++) {
        SDL_Rect row = {0, y, SIDE, 1};
        (void)SDL_FillRect(surface, &row, (Uint32)(y * 8) << 24U | 0x00FFFFFFU);
    }
    SDL_Texture *texture = SDL_CreateTextureFromSurface(renderer, surface);
    if (texture == NULL) fail("a texture", SDL_GetError());
    (void)SDL_SetTextureBlendMode(texture, SDL_BLENDMODE_BLEND);
    (void)SDL_SetTextureColorMod(texture, 31, 29, 26);
    SDL_FreeSurface(surface);
    return texture;
}

static void open_meter(Meter *meter, int width, int height, const char *store)
{
    SessionSetup setup = {.assets = "assets",
                          .site_folder = SITE,
                          .store = store,
                          .program = "bench",
                          .text_percent = 100};
    Err err = {0};
    (void)SDL_SetHint(SDL_HINT_RENDER_DRIVER, "software");
    (void)SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0"); /* as the window does */
    if (SDL_Init(SDL_INIT_VIDEO) != 0) fail("no display", SDL_GetError());
    meter->window = SDL_CreateWindow("bench", 0, 0, width, height, 0);
    if (meter->window == NULL) fail("no window", SDL_GetError());
    /* Never over the other: a window that is covered is copied to no screen. */
    meter->bare = SDL_CreateWindow("bare", width, 0, width, height, 0);
    if (meter->bare == NULL) fail("no window", SDL_GetError());
    meter->renderer = SDL_CreateRenderer(meter->bare, -1, SDL_RENDERER_SOFTWARE);
    if (meter->renderer == NULL) fail("no renderer", SDL_GetError());
    meter->small = make_small(meter->renderer);
    if (!sdl_draw_new(meter->window, &meter->draw, &err)) fail("drawing", err.text);
    sdl_draw_fit(meter->draw, width, height, &meter->width, &meter->height);
    if (!session_new(&setup, &meter->session, &err) || !session_open(meter->session, &err)) {
        fail("the session", err.text);
    }
}

static void close_meter(Meter *meter)
{
    app_run_free(meter->script);
    session_free(meter->session);
    sdl_draw_free(meter->draw);
    draw_free(&meter->list);
    draw_free(&meter->shown);
    SDL_DestroyTexture(meter->small);
    SDL_DestroyRenderer(meter->renderer);
    SDL_DestroyWindow(meter->bare);
    SDL_DestroyWindow(meter->window);
    SDL_Quit();
}

int main(int argc, char **argv)
{
    Meter meter = {0};
    int width = 1280;
    int height = 800;
    int64_t wide = 0;
    int64_t high = 0;
    if (argc == 4 && text_to_int(argv[2], &wide) && text_to_int(argv[3], &high)) {
        width = (int)wide;
        height = (int)high;
    } else if (argc != 2) {
        fail("usage", "bench_frames STORE [WIDTH HEIGHT]");
    }
    open_meter(&meter, width, height, argv[1]);
    (void)printf("%d x %d, medians of %d frames, milliseconds\n", width, height, FRAMES);
    (void)printf("%-14s %-10s %5s %8s %8s %8s %8s %7s\n", "place", "frame", "items", "clock", "cpu",
                 "bare", "its cpu", "ratio");
    play(&meter);
    close_meter(&meter);
    return 0;
}
