/* SDL's window and events, around a session. */
#include "ui/sdl_window.h"

#include <stdlib.h>
#include <string.h>

#include <SDL2/SDL.h>

#include "ui/sdl_draw.h"
#include "ui/sdl_sound.h"

enum {
    FRAME_MS = 16,
    TEXT_STEP = 25,
    TEXT_MIN = 100,
    TEXT_MAX = 200,
    SIDE_MIN = 400,
    NARROW = 1100, /* pixels; in a window below that, usual text is small: it begins larger */
};

typedef struct {
    SDL_Window *window;
    SdlDraw *draw;
    SdlSound *sound;
    Session *session;
    DrawList lists[2]; /* the one that is shown, and the one in the making */
    int shown;
    double canvas_width, canvas_height;
    bool is_hidden, is_stale; /* nobody sees it; what is seen is no longer there */
    bool has_finger;
    SDL_FingerID finger;
    Uint64 ticked; /* when time was last given to the session */
} Window;

/* --- Events ---------------------------------------------------------------------------------- */

/* Put a frame in the making; draw it later, and only if it is another. What was copied goes to the
 * desktop. */
static void frame(Window *window, const UiEvent *event)
{
    DrawMeasure measure = sdl_draw_measure(window->draw);
    Text *copied = &window->session->bench.copied;
    session_frame(window->session, event, window->canvas_width, window->canvas_height, &measure,
                  &window->lists[1 - window->shown]);
    if (copied->len == 0) return;
    (void)SDL_SetClipboardText(copied->bytes);
    text_clear(copied);
}

static void fit(Window *window)
{
    int width = 0;
    int height = 0;
    SDL_GetWindowSizeInPixels(window->window, &width, &height);
    if (width < 1 || height < 1) return;
    if (width > SDL_DRAW_SIDE_MAX) width = SDL_DRAW_SIDE_MAX;
    if (height > SDL_DRAW_SIDE_MAX) height = SDL_DRAW_SIDE_MAX;
    sdl_draw_fit(window->draw, width, height, &window->canvas_width, &window->canvas_height);
    window->is_stale = true;
}

/* `x` and `y` are parts of the window's width and height. */
static void point(Window *window, UiEventKind kind, double x, double y)
{
    UiEvent event = {.kind = kind, .x = x * window->canvas_width, .y = y * window->canvas_height};
    frame(window, &event);
}

static void mouse(Window *window, UiEventKind kind, Uint32 which, int x, int y)
{
    int width = 1;
    int height = 1;
    if (which == SDL_TOUCH_MOUSEID) return; /* the finger has told it already */
    SDL_GetWindowSize(window->window, &width, &height);
    point(window, kind, (double)x / width, (double)y / height);
}

/* One finger at a time: a second one is no pointer. */
static void touch(Window *window, UiEventKind kind, const SDL_TouchFingerEvent *event)
{
    if (kind == UI_DOWN && window->has_finger) return;
    if (kind != UI_DOWN && (!window->has_finger || event->fingerId != window->finger)) return;
    window->has_finger = kind != UI_UP;
    window->finger = event->fingerId;
    point(window, kind, (double)event->x, (double)event->y);
}

static UiKey key_of(SDL_Keysym key)
{
    static const struct {
        SDL_Keycode code;
        UiKey key;
    } keys[] = {
        {SDLK_TAB, UI_KEY_TAB},
        {SDLK_RETURN, UI_KEY_ENTER},
        {SDLK_KP_ENTER, UI_KEY_ENTER},
        {SDLK_SPACE, UI_KEY_SPACE},
        {SDLK_ESCAPE, UI_KEY_ESCAPE},
        {SDLK_AC_BACK, UI_KEY_ESCAPE},
        {SDLK_LEFT, UI_KEY_LEFT},
        {SDLK_RIGHT, UI_KEY_RIGHT},
        {SDLK_UP, UI_KEY_UP},
        {SDLK_DOWN, UI_KEY_DOWN},
        {SDLK_HOME, UI_KEY_HOME},
        {SDLK_END, UI_KEY_END},
        {SDLK_PAGEUP, UI_KEY_PAGE_UP},
        {SDLK_PAGEDOWN, UI_KEY_PAGE_DOWN},
        {SDLK_BACKSPACE, UI_KEY_BACKSPACE},
    };
    if (key.sym == SDLK_TAB && (key.mod & KMOD_SHIFT) != 0) return UI_KEY_BACK_TAB;
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        if (keys[i].code == key.sym) return keys[i].key;
    }
    return UI_KEY_OTHER;
}

/* Keys of the window itself: larger, smaller and usual text; the whole screen. */
static bool own_key(Window *window, SDL_Keysym key)
{
    int *percent = &window->session->text_percent;
    bool is_ctrl = (key.mod & KMOD_CTRL) != 0;
    if (key.sym == SDLK_F11) {
        bool is_full = (SDL_GetWindowFlags(window->window) & SDL_WINDOW_FULLSCREEN_DESKTOP) != 0;
        (void)SDL_SetWindowFullscreen(window->window, is_full ? 0 : SDL_WINDOW_FULLSCREEN_DESKTOP);
        return true;
    }
    if (is_ctrl && (key.sym == SDLK_PLUS || key.sym == SDLK_EQUALS || key.sym == SDLK_KP_PLUS)) {
        *percent = *percent + TEXT_STEP < TEXT_MAX ? *percent + TEXT_STEP : TEXT_MAX;
    } else if (is_ctrl && (key.sym == SDLK_MINUS || key.sym == SDLK_KP_MINUS)) {
        *percent = *percent - TEXT_STEP > TEXT_MIN ? *percent - TEXT_STEP : TEXT_MIN;
    } else if (is_ctrl && (key.sym == SDLK_0 || key.sym == SDLK_KP_0)) {
        *percent = TEXT_MIN;
    } else {
        return is_ctrl || (key.mod & KMOD_ALT) != 0;
    }
    window->is_stale = true;
    return true;
}

static void press_key(Window *window, const SDL_KeyboardEvent *event)
{
    UiEvent out = {.kind = UI_KEY, .key = key_of(event->keysym)};
    if (own_key(window, event->keysym)) return;
    /* A held key walks on, but does nothing twice. */
    bool repeats = out.key != UI_KEY_ENTER && out.key != UI_KEY_SPACE && out.key != UI_KEY_ESCAPE;
    if (event->repeat == 0 || repeats) frame(window, &out);
}

static void type(Window *window, const char *text)
{
    UiEvent out = {.kind = UI_TYPED};
    if (strlen(text) >= sizeof out.text) return;
    memcpy(out.text, text, strlen(text) + 1);
    frame(window, &out);
}

static void window_event(Window *window, Uint8 what)
{
    switch (what) {
    case SDL_WINDOWEVENT_HIDDEN:
    case SDL_WINDOWEVENT_MINIMIZED:
        window->is_hidden = true;
        break;
    case SDL_WINDOWEVENT_SHOWN:
    case SDL_WINDOWEVENT_RESTORED:
    case SDL_WINDOWEVENT_MAXIMIZED:
        window->is_hidden = false;
        window->is_stale = true;
        break;
    case SDL_WINDOWEVENT_EXPOSED:
        window->is_stale = true;
        break;
    case SDL_WINDOWEVENT_SIZE_CHANGED:
        fit(window);
        break;
    default:
        break;
    }
}

static void handle(Window *window, const SDL_Event *event)
{
    switch (event->type) {
    case SDL_QUIT:
        window->session->wants_to_close = true;
        break;
    case SDL_WINDOWEVENT:
        window_event(window, event->window.event);
        break;
    case SDL_MOUSEBUTTONDOWN:
    case SDL_MOUSEBUTTONUP:
        if (event->button.button != SDL_BUTTON_LEFT) break;
        mouse(window, event->type == SDL_MOUSEBUTTONDOWN ? UI_DOWN : UI_UP, event->button.which,
              event->button.x, event->button.y);
        break;
    case SDL_MOUSEMOTION:
        mouse(window, UI_MOVE, event->motion.which, event->motion.x, event->motion.y);
        break;
    case SDL_FINGERDOWN:
        touch(window, UI_DOWN, &event->tfinger);
        break;
    case SDL_FINGERMOTION:
        touch(window, UI_MOVE, &event->tfinger);
        break;
    case SDL_FINGERUP:
        touch(window, UI_UP, &event->tfinger);
        break;
    case SDL_KEYDOWN:
        press_key(window, &event->key);
        break;
    case SDL_TEXTINPUT:
        type(window, event->text.text);
        break;
    default:
        break;
    }
}

/* --- Time and pictures ----------------------------------------------------------------------- */

/* Give the time since last to the session; while nobody sees the window it stands still. */
static void tick(Window *window)
{
    Uint64 now = SDL_GetPerformanceCounter();
    double seconds = (double)(now - window->ticked) / (double)SDL_GetPerformanceFrequency();
    window->ticked = now;
    if (!window->is_hidden) session_tick(window->session, (int64_t)(seconds * 1e6));
    for (int i = 0; i < SOUND_COUNT; i++) {
        if (window->session->sounds[i]) sdl_sound_play(window->sound, (Sound)i);
        window->session->sounds[i] = false;
    }
}

static void show(Window *window)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    if (window->is_hidden) return;
    frame(window, &nothing);
    const DrawList *next = &window->lists[1 - window->shown];
    if (window->is_stale) {
        sdl_draw_list(window->draw, next);
    } else if (!sdl_draw_next(window->draw, next, &window->lists[window->shown])) {
        return;
    }
    window->shown = 1 - window->shown;
    window->is_stale = false;
}

static void stay(Window *window)
{
    SDL_Event event;
    window->ticked = SDL_GetPerformanceCounter();
    while (!window->session->wants_to_close) {
        show(window);
        bool moves = session_moves(window->session) && !window->is_hidden;
        int got = moves ? SDL_WaitEventTimeout(&event, FRAME_MS) : SDL_WaitEvent(&event);
        tick(window);
        for (; got != 0; got = SDL_PollEvent(&event)) {
            handle(window, &event);
        }
    }
    session_break_off(window->session);
}

/* --- Opening --------------------------------------------------------------------------------- */

static bool choose_language(Session *session, const char *language, Err *err)
{
    Text there = {0};
    if (language == NULL) return true;
    for (int i = 0; i < session->language_count; i++) {
        if (strcmp(session->languages[i], language) == 0) {
            session->language = i;
            text_clear(&there);
            return true;
        }
        text_addf(&there, "%s%s", i == 0 ? "" : ", ", session->languages[i]);
    }
    (void)err_set(err, ERR_INPUT, "threepass: --language is \"%s\", must be one of: %s", language,
                  text_string(&there));
    text_clear(&there);
    return false;
}

/* Without a screen SDL would draw where nobody sees it. A console without a desktop has one for
 * whoever asks for it: SDL_VIDEODRIVER=kmsdrm. */
static bool has_display(void)
{
    static const char *const unseen[] = {"dummy", "offscreen"};
    static const char *const names[] = {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"};
    bool is_named = false;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        const char *value = SDL_getenv(names[i]);
        is_named = is_named || (value != NULL && value[0] != '\0');
    }
    if (!is_named || SDL_Init(SDL_INIT_VIDEO) != 0) return false;
    const char *driver = SDL_GetCurrentVideoDriver();
    for (size_t i = 0; driver != NULL && i < sizeof unseen / sizeof unseen[0]; i++) {
        if (strcmp(driver, unseen[i]) == 0) driver = NULL;
    }
    return driver != NULL;
}

static bool open_window(Window *window, const SdlWindowSetup *setup, Err *err)
{
    (void)SDL_SetHint(SDL_HINT_TOUCH_MOUSE_EVENTS, "0");
    (void)SDL_SetHint(SDL_HINT_MOUSE_TOUCH_EVENTS, "0");
    (void)SDL_SetHint(SDL_HINT_VIDEO_ALLOW_SCREENSAVER, "1");
    /* A picture goes to the screen as it is, not through a graphics card, which may be computed
     * too. */
    (void)SDL_SetHint(SDL_HINT_FRAMEBUFFER_ACCELERATION, "0");
    /* The press that brings the window to the front also does what it is on: "Stop the line". */
    (void)SDL_SetHint(SDL_HINT_MOUSE_FOCUS_CLICKTHROUGH, "1");
    if (has_display()) {
        window->window = SDL_CreateWindow("Threepass", SDL_WINDOWPOS_CENTERED,
                                          SDL_WINDOWPOS_CENTERED, setup->width, setup->height,
                                          SDL_WINDOW_RESIZABLE | SDL_WINDOW_ALLOW_HIGHDPI);
    }
    if (window->window == NULL) {
        return err_set(err, ERR_IO, "no display here; threepass demo plays the story without one");
    }
    SDL_SetWindowMinimumSize(window->window, SIDE_MIN, SIDE_MIN);
    SDL_StartTextInput();
    return sdl_draw_new(window->window, &window->draw, err);
}

bool sdl_window_run(const SdlWindowSetup *setup, Err *err)
{
    Window window = {.is_stale = true};
    SessionSetup session = setup->session;
    if (session.text_percent == 0) session.text_percent = setup->width < NARROW ? 125 : 100;
    bool ok = open_window(&window, setup, err) && session_new(&session, &window.session, err) &&
              choose_language(window.session, setup->language, err);
    if (ok) {
        fit(&window);
        show(&window); /* a person sees the door while the rest is read */
        ok = session_open(window.session, err);
    }
    if (ok) {
        window.sound = sdl_sound_new();
        stay(&window);
    }
    session_free(window.session);
    sdl_sound_free(window.sound);
    sdl_draw_free(window.draw);
    draw_free(&window.lists[0]);
    draw_free(&window.lists[1]);
    if (window.window != NULL) SDL_DestroyWindow(window.window);
    SDL_Quit();
    return ok;
}
