/* What the tests of the places share: a window without a display, its events, and what every
 * picture must keep: contrast, sizes, room. */
#ifndef TESTS_UI_PLACE_H
#define TESTS_UI_PLACE_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/os.h"
#include "ui/session.h"

/* Letters of one width, so that a picture needs no font. */
static inline double place_width(void *context, const char *text, size_t len, int px, bool is_bold)
{
    (void)context;
    (void)is_bold;
    size_t letters = 0;
    for (size_t i = 0; i < len; i++) {
        letters += ((unsigned char)text[i] & 0xC0) != 0x80;
    }
    return 0.55 * px * (double)letters;
}

/* A window: its session over a store of its own, and its last picture. */
typedef struct {
    Session *session;
    DrawList list;
    DrawMeasure measure;
    Text folder; /* temporary; the store is in it */
    double width, height;
    char name[160]; /* of the picture, for messages */
} Window;

static inline void window_open(Window *window)
{
    Err err = {0};
    Text store = {0};
    *window = (Window){.width = 1280, .height = 800, .measure = {place_width, NULL}};
    assert_true(os_folder_make_temporary(&window->folder, &err));
    text_addf(&store, "%s/store", window->folder.bytes);
    SessionSetup setup = {.assets = "assets",
                          .site_folder = "scenarios/ostrel-mill",
                          .store = store.bytes,
                          .program = "test",
                          .text_percent = 100};
    if (!session_new(&setup, &window->session, &err) || !session_open(window->session, &err)) {
        fail_msg("%s", err.text);
    }
    text_clear(&store);
}

static inline void window_close(Window *window)
{
    static const char *const files[] = {
        "store/store.db", "store/store.db-wal", "store/store.db-shm", "store/head", "store", ""};
    session_free(window->session);
    draw_free(&window->list);
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        Text path = {0};
        text_addf(&path, "%s/%s", window->folder.bytes, files[i]);
        (void)remove(path.bytes);
        text_clear(&path);
    }
    text_clear(&window->folder);
}

/* --- Events ---------------------------------------------------------------------------------- */

static inline void window_send(Window *window, UiEvent event)
{
    session_frame(window->session, &event, window->width, window->height, &window->measure,
                  &window->list);
}

static inline void window_draw(Window *window)
{
    window_send(window, (UiEvent){.kind = UI_NOTHING});
}

/* A test's own window, where the first person has come in; and its end. */
static inline int window_enter(void **state)
{
    Window *window = check_calloc(1, sizeof *window);
    window_open(window);
    session_enter(window->session, 0);
    window_draw(window);
    *state = window;
    return 0;
}

static inline int window_leave(void **state)
{
    window_close(*state);
    free(*state);
    return 0;
}

static inline void window_key(Window *window, UiKey key)
{
    window_send(window, (UiEvent){.kind = UI_KEY, .key = key});
}

static inline void window_type(Window *window, const char *text)
{
    UiEvent event = {.kind = UI_TYPED};
    (void)snprintf(event.text, sizeof event.text, "%s", text);
    window_send(window, event);
}

/* The target of that name and index; NULL: none is drawn. */
static inline const DrawTarget *window_find(const Window *window, const char *name, int index)
{
    for (size_t i = 0; i < window->list.target_count; i++) {
        if (window->list.targets[i].id == ui_id(name, index)) return &window->list.targets[i];
    }
    return NULL;
}

static inline void window_press_at(Window *window, double x, double y)
{
    window_send(window, (UiEvent){.kind = UI_DOWN, .x = x, .y = y});
    window_send(window, (UiEvent){.kind = UI_UP, .x = x, .y = y});
}

/* The same, which must be there. */
static inline DrawTarget window_target(const Window *window, const char *name, int index)
{
    const DrawTarget *target = window_find(window, name, index);
    if (target == NULL) {
        fail_msg("%s: no target %s %d", window->name, name, index);
        return (DrawTarget){0};
    }
    return *target;
}

static inline void window_press(Window *window, const char *name, int index)
{
    DrawRect box = window_target(window, name, index).box;
    window_press_at(window, box.x + box.w / 2, box.y + box.h / 2);
}

/* True when some text of the picture holds the words. */
static inline bool window_shows(const Window *window, const char *words)
{
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind != DRAW_ITEM_TEXT) continue;
        if (strstr(draw_words(&window->list, item), words) != NULL) return true;
    }
    return false;
}

/* --- What every picture must keep ------------------------------------------------------------- */

static inline bool box_has(DrawRect outer, DrawRect inner)
{
    return inner.x >= outer.x - 0.6 && inner.y >= outer.y - 0.6 &&
           inner.x + inner.w <= outer.x + outer.w + 0.6 &&
           inner.y + inner.h <= outer.y + outer.h + 0.6;
}

static inline double box_gap(DrawRect a, DrawRect b)
{
    double x = fmax(fmax(a.x - b.x - b.w, b.x - a.x - a.w), 0.0);
    double y = fmax(fmax(a.y - b.y - b.h, b.y - a.y - a.h), 0.0);
    return hypot(x, y);
}

static inline DrawRect item_box(const DrawList *list, const DrawItem *item)
{
    if (item->kind != DRAW_ITEM_SHAPE) return item->box;
    DrawPoint low = list->points[item->first];
    DrawPoint high = low;
    for (size_t i = 1; i < item->count; i++) {
        DrawPoint p = list->points[item->first + i];
        low = (DrawPoint){fmin(low.x, p.x), fmin(low.y, p.y)};
        high = (DrawPoint){fmax(high.x, p.x), fmax(high.y, p.y)};
    }
    return (DrawRect){low.x, low.y, high.x - low.x, high.y - low.y};
}

/* What the item stands on: the last rectangle before it that is filled and holds it. */
static inline DrawRole ground_of(const DrawList *list, size_t at, DrawRect box)
{
    for (size_t i = at; i-- > 0;) {
        const DrawItem *item = &list->items[i];
        if (item->kind == DRAW_ITEM_RECT && item->fill != DRAW_NONE && box_has(item->box, box))
            return item->fill;
    }
    return DRAW_PAPER;
}

/* Contrast by WCAG 2.2: 7:1 for text (1.4.6), 3:1 for shapes (1.4.11). */
static inline void check_colours(const Window *window)
{
    const DrawList *list = &window->list;
    for (size_t i = 1; i < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        bool is_text = item->kind == DRAW_ITEM_TEXT;
        if (item->stroke == DRAW_NONE) continue;
        DrawRect box = item_box(list, item);
        DrawRole under = ground_of(list, i, box);
        DrawRole ground = is_text ? item->fill : under;
        double contrast =
            draw_contrast(draw_colour(list->theme, item->stroke), draw_colour(list->theme, ground));
        /* a next action's edge is one with its ground */
        if (!is_text && (item->stroke == item->fill || under == item->stroke)) continue;
        if (draw_pair_allowed(item->stroke, ground, is_text) && contrast >= (is_text ? 7.0 : 3.0) &&
            (!is_text || ground == under)) {
            continue;
        }
        fail_msg("%s: item %zu%s%s: role %d on %d (it says %d), contrast %.1f", window->name, i,
                 is_text ? " " : "", is_text ? draw_words(list, item) : "", item->stroke, under,
                 ground, contrast);
    }
}

/* Lines of text as they are drawn. */
enum { PLACE_LINES_MAX = 2000 };
typedef struct {
    const DrawList *list;
    const DrawItem *item;
    DrawRect boxes[PLACE_LINES_MAX];
    const char *words[PLACE_LINES_MAX];
    size_t items[PLACE_LINES_MAX]; /* the list's item that each is a line of */
    int lens[PLACE_LINES_MAX];
    int count;
} Lines;

static inline void add_line(void *context, const char *text, size_t len, int index)
{
    Lines *lines = context;
    const DrawItem *item = lines->item;
    double width = place_width(NULL, text, len, item->size_px, item->is_bold);
    double left = item->align == DRAW_START    ? 0.0
                  : item->align == DRAW_MIDDLE ? (item->box.w - width) / 2
                                               : item->box.w - width;
    assert_true(lines->count < PLACE_LINES_MAX);
    lines->boxes[lines->count] =
        (DrawRect){item->box.x + left, item->box.y + index * draw_line_height(item->size_px), width,
                   draw_line_height(item->size_px)};
    lines->words[lines->count] = text;
    lines->items[lines->count] = (size_t)(item - lines->list->items);
    lines->lens[lines->count++] = (int)len;
}

/* The letters themselves, from the ascenders to the descenders: 0.16 of a line of 1.5 px is leading
 * above and below. */
static inline DrawRect letters_of(DrawRect line)
{
    return (DrawRect){line.x, line.y + 0.16 * line.h, line.w, 0.68 * line.h};
}

/* Whether the way from a to b goes through the box: what is left of it between each pair of
 * sides. */
static inline bool way_meets(DrawPoint a, DrawPoint b, DrawRect box)
{
    double from = 0.0;
    double to = 1.0;
    double at[] = {a.x, a.y};
    double step[] = {b.x - a.x, b.y - a.y};
    double low[] = {box.x, box.y};
    double high[] = {box.x + box.w, box.y + box.h};
    for (int i = 0; i < 2; i++) {
        if (step[i] == 0.0) {
            if (at[i] <= low[i] || at[i] >= high[i]) return false;
            continue;
        }
        double first = (low[i] - at[i]) / step[i];
        double last = (high[i] - at[i]) / step[i];
        from = fmax(from, fmin(first, last));
        to = fmin(to, fmax(first, last));
    }
    return from < to;
}

/* Whether some of the item's edge goes through the box. */
static inline bool edge_meets(const DrawList *list, const DrawItem *item, DrawRect box)
{
    if (item->stroke == DRAW_NONE) return false;
    if (item->kind == DRAW_ITEM_RECT) {
        DrawRect r = item->box;
        DrawPoint corners[] = {
            {r.x, r.y}, {r.x + r.w, r.y}, {r.x + r.w, r.y + r.h}, {r.x, r.y + r.h}, {r.x, r.y}};
        bool meets = false;
        for (int i = 0; i < 4; i++) {
            meets = meets || way_meets(corners[i], corners[i + 1], box);
        }
        return meets;
    }
    if (item->kind != DRAW_ITEM_SHAPE) return false;
    for (size_t i = 0; i + 1 < item->count; i++) {
        if (way_meets(list->points[item->first + i], list->points[item->first + i + 1], box))
            return true;
    }
    return false;
}

/* No line is drawn through the words: but what is struck out is so by the next item, and a ground
 * laid under them hides what was there before. */
static inline void check_edges(const Window *window, const Lines *lines, int a)
{
    const DrawList *list = &window->list;
    DrawRect box = letters_of(lines->boxes[a]);
    size_t at = lines->items[a];
    size_t first = 0;
    box = (DrawRect){box.x + 1.0, box.y + 1.0, box.w - 2.0, box.h - 2.0};
    for (size_t i = 0; i < at; i++) {
        const DrawItem *item = &list->items[i];
        bool is_ground = item->kind == DRAW_ITEM_RECT && item->fill != DRAW_NONE;
        if (is_ground && box_has(item->box, box)) first = i;
    }
    for (size_t i = first; i < list->item_count; i++) {
        if (i == at + 1 || !edge_meets(list, &list->items[i], box)) continue;
        fail_msg("%s: item %zu is drawn through \"%.*s\"", window->name, i, lines->lens[a],
                 lines->words[a]);
    }
}

/* One line of text against the canvas, the lines before it and the buttons. */
static inline void check_line(const Window *window, const Lines *lines, int a)
{
    const DrawList *list = &window->list;
    DrawRect canvas = {0, 0, window->width, window->height};
    DrawRect box = letters_of(lines->boxes[a]);
    int len = lines->lens[a];
    const char *words = lines->words[a];
    if (!box_has(canvas, box)) fail_msg("%s: \"%.*s\" leaves the canvas", window->name, len, words);
    for (int b = 0; b < a; b++) {
        DrawRect other = letters_of(lines->boxes[b]);
        bool apart = box.x >= other.x + other.w - 1 || other.x >= box.x + box.w - 1 ||
                     box.y >= other.y + other.h - 1 || other.y >= box.y + box.h - 1;
        if (apart) continue;
        fail_msg("%s: \"%.*s\" meets \"%.*s\"", window->name, len, words, lines->lens[b],
                 lines->words[b]);
    }
    for (size_t t = 0; t < list->target_count; t++) {
        DrawRect target = list->targets[t].box;
        if (box_gap(target, box) > 0.0 || box_has(target, box)) continue;
        fail_msg("%s: \"%.*s\" leaves its button", window->name, len, words);
    }
}

/* No text leaves the canvas, its button, or meets another; none is under 16 px. */
static inline void check_texts(const Window *window, int percent)
{
    static Lines lines; /* large, and only read here */
    const DrawList *list = &window->list;
    DrawMeasure measure = {place_width, NULL};
    lines.list = list;
    lines.count = 0;
    for (size_t i = 0; i < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        if (item->kind != DRAW_ITEM_TEXT) continue;
        lines.item = item;
        assert_true(item->size_px >= 16 * percent / 100);
        (void)draw_wrap(&measure, draw_words(list, item), item->box.w, item->size_px, item->is_bold,
                        add_line, &lines);
    }
    for (int a = 0; a < lines.count; a++) {
        check_line(window, &lines, a);
        check_edges(window, &lines, a);
    }
}

/* No words are cut off with an ellipsis. */
static inline void check_whole(const Window *window)
{
    for (size_t i = 0; i < window->list.item_count; i++) {
        const DrawItem *item = &window->list.items[i];
        if (item->kind != DRAW_ITEM_TEXT) continue;
        const char *words = draw_words(&window->list, item);
        if (strstr(words, "\xE2\x80\xA6") != NULL) fail_msg("%s: \"%s\"", window->name, words);
    }
}

static inline void check_targets(const Window *window)
{
    const DrawList *list = &window->list;
    DrawRect canvas = {0, 0, window->width, window->height};
    for (size_t a = 0; a < list->target_count; a++) {
        const DrawTarget *target = &list->targets[a];
        if (target->box.w < target->least_px || target->box.h < target->least_px ||
            !box_has(canvas, target->box)) {
            fail_msg("%s: target %zu is %g x %g at %g, %g; least %g", window->name, a,
                     target->box.w, target->box.h, target->box.x, target->box.y, target->least_px);
        }
        for (size_t b = 0; b < a; b++) {
            double gap = box_gap(target->box, list->targets[b].box);
            if (gap < UI_GAP - 0.01)
                fail_msg("%s: targets %zu and %zu are %g px apart", window->name, a, b, gap);
        }
    }
}

/* Tab reaches every target of the picture and comes round again. */
static inline void check_walk(Window *window)
{
    size_t count = window->list.target_count;
    size_t reached = 0;
    uint32_t *ids = check_calloc(count, sizeof *ids);
    for (size_t i = 0; i < count; i++) {
        ids[i] = window->list.targets[i].id;
    }
    for (size_t i = 0; i < count; i++) {
        window_key(window, UI_KEY_TAB);
        assert_int_equal(window->list.target_count, count);
        for (size_t t = 0; t < count; t++) {
            if (ids[t] != window->session->memory.focus) continue;
            ids[t] = 0;
            reached++;
        }
    }
    free(ids);
    if (reached != count) fail_msg("%s: Tab reaches %zu of %zu", window->name, reached, count);
}

/* Look at the place as it is now in every theme, language, size of window and size of text.
 * `each`, if not NULL, is called for each picture, to turn its pages. */
typedef void PlaceEach(Window *window);
static inline void check_everywhere(Window *window, const char *name, PlaceEach *each)
{
    static const double sizes[][2] = {{1280, 800}, {1365, 800}, {1422, 800}, {1280, 2048}};
    static const int percents[] = {100, 125, 150, 200};
    Session *session = window->session;
    for (int i = 0; i < (int)DRAW_THEME_COUNT * session->language_count * 16; i++) {
        int theme = i % (int)DRAW_THEME_COUNT;
        int size = i / (int)DRAW_THEME_COUNT % 4;
        int percent = i / (int)DRAW_THEME_COUNT / 4 % 4;
        session->theme = (DrawTheme)theme;
        session->language = i / (int)DRAW_THEME_COUNT / 16;
        session->text_percent = percents[percent];
        window->width = sizes[size][0];
        window->height = sizes[size][1];
        (void)snprintf(window->name, sizeof window->name, "%s, %s, %s, %g x %g, text %d", name,
                       draw_theme_words[theme], session_language(session), window->width,
                       window->height, percents[percent]);
        window_draw(window);
        if (each != NULL) each(window);
    }
    session->theme = DRAW_LIGHT;
    session->language = 0;
    session->text_percent = 100;
    window->width = 1280;
    window->height = 800;
    window_draw(window);
}

/* All that one picture must keep. Where things stand does not hang on the theme. */
static inline void check_picture(Window *window)
{
    check_colours(window);
    if (window->session->theme != DRAW_LIGHT) return;
    check_texts(window, window->session->text_percent);
    check_targets(window);
    check_walk(window);
}

static inline const Player *window_player(const Window *window)
{
    return app_run_player(window->session->run);
}

/* How often a line that matches stands in the run's log. */
static inline int window_logged(const Window *window, const char *pattern_text)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    int found = 0;
    const LogLine *log = player_log(window_player(window), &count);
    assert_true(log_parse_pattern(pattern_text, (ErrPlace){"pattern", 1, 1}, &pattern, &err));
    for (size_t i = 0; i < count; i++) {
        found += log_matches(&log[i], &pattern);
    }
    return found;
}

#endif
