/* The draw list: what a picture of the window consists of, as data. Places fill it; a renderer
 * draws it; tests read it without any display.
 *
 * Lengths are canvas pixels: the canvas is 800 high (or more) and 1280 wide (or more), whatever the
 * window. Colours are roles; a theme says what they are. A text is a paragraph in a box, broken
 * into lines by draw_wrap with the measures of whoever draws.
 */
#ifndef UI_DRAW_H
#define UI_DRAW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

typedef enum {
    DRAW_PAPER,    /* ground */
    DRAW_SHEET,    /* belt, packs, buttons, forms */
    DRAW_TINT,     /* head, band of the limit */
    DRAW_INK,      /* text, outlines, marks, focus */
    DRAW_SOFT,     /* second text */
    DRAW_LINE,     /* dashes, contours, rules */
    DRAW_ACCENT,   /* next action, metal, trace, what is chosen */
    DRAW_ONACCENT, /* text on accent */
    DRAW_WASH,     /* ground of what is chosen; test packs */
    DRAW_ROLE_COUNT,
    DRAW_NONE = DRAW_ROLE_COUNT /* no fill, no stroke */
} DrawRole;

typedef enum { DRAW_LIGHT, DRAW_DARK, DRAW_CONTRAST, DRAW_THEME_COUNT } DrawTheme;
extern const char *const draw_theme_words[]; /* NULL-ended */

typedef struct {
    uint8_t red, green, blue;
} DrawColour;

/* The colour of a role (not DRAW_NONE) in a theme. */
DrawColour draw_colour(DrawTheme theme, DrawRole role);

/* Contrast of two colours, 1 to 21, by WCAG 2.2 "contrast ratio" and "relative luminance". */
double draw_contrast(DrawColour a, DrawColour b);

/* True when a text (or a shape) of this role may stand on that ground; no other pair may be
 * used. */
bool draw_pair_allowed(DrawRole role, DrawRole ground, bool is_text);

typedef struct {
    double x, y;
} DrawPoint;

typedef struct {
    double x, y, w, h;
} DrawRect;

typedef enum { DRAW_START, DRAW_MIDDLE, DRAW_END } DrawAlign;

typedef enum { DRAW_ITEM_RECT, DRAW_ITEM_SHAPE, DRAW_ITEM_CIRCLE, DRAW_ITEM_TEXT } DrawKind;

/* One item. Rectangles and circles use `box` (a circle: its square); shapes use points. */
typedef struct {
    DrawKind kind;
    DrawRect box;
    DrawRole fill, stroke; /* of a text: fill is the ground, stroke the letters */
    double stroke_px, radius_px;
    bool is_closed;      /* of a shape */
    size_t first, count; /* of a shape: its points; of a text: its bytes */
    int size_px;         /* of a text: 16, 19, 24 or 30 times the text size in use */
    bool is_bold;
    DrawAlign align;
} DrawItem;

/* Something that can be pressed: where, and how small it may be. For tests. */
typedef struct {
    uint32_t id;
    DrawRect box;
    double least_px;
} DrawTarget;

/* All zeros: empty. The owner ends it with draw_free. */
typedef struct {
    DrawItem *items;
    size_t item_count, item_capacity;
    DrawPoint *points;
    size_t point_count, point_capacity;
    Text text;
    DrawTarget *targets;
    size_t target_count, target_capacity;
    double width, height; /* of the canvas */
    DrawTheme theme;
} DrawList;

/* Empty a list for a new picture, keeping its room; and free it. */
void draw_begin(DrawList *list, double width, double height, DrawTheme theme);
void draw_free(DrawList *list);

/* Shapes. `px` is the stroke; strokes lie on the outline's middle, in the contrast theme 1 px
 * heavier. */
void draw_rect(DrawList *list, DrawRect box, DrawRole fill, DrawRole stroke, double px,
               double radius_px);
void draw_line(DrawList *list, const DrawPoint *points, size_t count, DrawRole stroke, double px);
void draw_polygon(DrawList *list, const DrawPoint *points, size_t count, DrawRole fill,
                  DrawRole stroke, double px);
void draw_circle(DrawList *list, double x, double y, double radius, DrawRole fill, DrawRole stroke,
                 double px);
/* Degrees clockwise from the right. */
void draw_arc(DrawList *list, double x, double y, double radius, double from_deg, double to_deg,
              DrawRole stroke, double px);
void draw_dashes(DrawList *list, DrawPoint from, DrawPoint to, DrawRole stroke, double px,
                 double on_px, double off_px);
void draw_dashed_rect(DrawList *list, DrawRect box, DrawRole stroke, double px, double on_px,
                      double off_px);

/* A paragraph in a box, from its top; `ground` is what it stands on. */
typedef struct {
    DrawRect box;
    int size_px;
    bool is_bold;
    DrawRole role, ground;
    DrawAlign align;
} DrawStyle;
void draw_text(DrawList *list, const DrawStyle *style, const char *words);

/* The words of a text item; borrowed until the list changes. */
const char *draw_words(const DrawList *list, const DrawItem *item);

/* Widths of text: of `len` bytes of UTF-8 in one line, in canvas pixels. */
typedef struct {
    double (*width)(void *context, const char *text, size_t len, int size_px, bool is_bold);
    void *context;
} DrawMeasure;

/* The height of a line of this size: 1.5 times. */
double draw_line_height(int size_px);

/* Break `words` into lines no wider than `width`, at spaces and at ends of line; a word that is too
 * wide stands alone. Calls `line` for each with its bytes; returns how many. `line` may be NULL. */
typedef void DrawEachLine(void *context, const char *text, size_t len, int index);
int draw_wrap(const DrawMeasure *measure, const char *words, double width, int size_px,
              bool is_bold, DrawEachLine *line, void *context);

/* A box that holds all that an item draws, with what sticks out of it: strokes, the overhang of
 * letters. */
DrawRect draw_bounds(const DrawList *list, const DrawItem *item, const DrawMeasure *measure);

/* What has to be drawn anew where `now` follows `before` on the same canvas: boxes, which do not
 * meet, that hold every place where the two differ. Returns how many, 0 when they are alike. */
enum { DRAW_CHANGES_MAX = 12 };
int draw_changes(const DrawList *before, const DrawList *now, const DrawMeasure *measure,
                 DrawRect boxes[DRAW_CHANGES_MAX]);

/* The list as text, one item a line, numbers to a tenth: for golden files. */
void draw_print(const DrawList *list, Text *out);

/* Marks of state, about (x, y) with radius r. */
typedef enum {
    DRAW_DONE,      /* closed ring: met, found, removed, done */
    DRAW_TODO,      /* open ring */
    DRAW_RECOVERED, /* ring with patch */
    DRAW_MISSED,    /* cross */
    DRAW_ACCEPTED,  /* arrow: it went on */
    DRAW_WEDGE,     /* needs somebody */
    DRAW_BAR,       /* stopped */
} DrawMark;
void draw_mark(DrawList *list, DrawMark mark, double x, double y, double r, DrawRole role);

#endif
