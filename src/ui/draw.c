/* Filling the draw list, and the themes. */
#include "ui/draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

const char *const draw_theme_words[] = {"light", "dark", "contrast", NULL};

static const DrawColour colours[DRAW_THEME_COUNT][DRAW_ROLE_COUNT] = {
    [DRAW_LIGHT] = {[DRAW_PAPER] = {0xF6, 0xF2, 0xE8},
                    [DRAW_SHEET] = {0xFF, 0xFD, 0xF8},
                    [DRAW_TINT] = {0xE8, 0xE0, 0xD0},
                    [DRAW_INK] = {0x1F, 0x1D, 0x1A},
                    [DRAW_SOFT] = {0x4B, 0x46, 0x3D},
                    [DRAW_LINE] = {0x75, 0x6D, 0x5E},
                    [DRAW_ACCENT] = {0x6B, 0x2A, 0x5A},
                    [DRAW_ONACCENT] = {0xFF, 0xFF, 0xFF},
                    [DRAW_WASH] = {0xF0, 0xDF, 0xEA}},
    [DRAW_DARK] = {[DRAW_PAPER] = {0x1A, 0x19, 0x17},
                   [DRAW_SHEET] = {0x25, 0x23, 0x20},
                   [DRAW_TINT] = {0x36, 0x33, 0x2D},
                   [DRAW_INK] = {0xF2, 0xED, 0xE2},
                   [DRAW_SOFT] = {0xCF, 0xC8, 0xB9},
                   [DRAW_LINE] = {0x9C, 0x94, 0x83},
                   [DRAW_ACCENT] = {0xEB, 0xAB, 0xD8},
                   [DRAW_ONACCENT] = {0x1A, 0x19, 0x17},
                   [DRAW_WASH] = {0x4A, 0x31, 0x43}},
    [DRAW_CONTRAST] = {[DRAW_PAPER] = {0x00, 0x00, 0x00},
                       [DRAW_SHEET] = {0x00, 0x00, 0x00},
                       [DRAW_TINT] = {0x20, 0x20, 0x20},
                       [DRAW_INK] = {0xFF, 0xFF, 0xFF},
                       [DRAW_SOFT] = {0xFF, 0xFF, 0xFF},
                       [DRAW_LINE] = {0xFF, 0xFF, 0xFF},
                       [DRAW_ACCENT] = {0xFF, 0xB8, 0xEA},
                       [DRAW_ONACCENT] = {0x00, 0x00, 0x00},
                       [DRAW_WASH] = {0x3D, 0x0F, 0x31}},
};

DrawColour draw_colour(DrawTheme theme, DrawRole role)
{
    CHECK(theme < DRAW_THEME_COUNT && role < DRAW_ROLE_COUNT);
    return colours[theme][role];
}

static double linear(uint8_t value)
{
    double c = (double)value / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static double luminance(DrawColour c)
{
    return 0.2126 * linear(c.red) + 0.7152 * linear(c.green) + 0.0722 * linear(c.blue);
}

double draw_contrast(DrawColour a, DrawColour b)
{
    double light = luminance(a);
    double dark = luminance(b);
    return (fmax(light, dark) + 0.05) / (fmin(light, dark) + 0.05);
}

bool draw_pair_allowed(DrawRole role, DrawRole ground, bool is_text)
{
    bool page = ground == DRAW_PAPER || ground == DRAW_SHEET;
    switch (role) {
    case DRAW_INK:
        return page || ground == DRAW_TINT || ground == DRAW_WASH;
    case DRAW_SOFT:
        return page;
    case DRAW_ACCENT:
        return page || (!is_text && (ground == DRAW_TINT || ground == DRAW_WASH));
    case DRAW_ONACCENT:
        return ground == DRAW_ACCENT;
    case DRAW_PAPER:
        return ground == DRAW_INK;
    case DRAW_LINE:
        return !is_text && (page || ground == DRAW_TINT);
    case DRAW_SHEET:
    case DRAW_TINT:
    case DRAW_WASH:
    case DRAW_NONE:
        return false;
    }
    return false;
}

/* --- The list -------------------------------------------------------------------------------- */

void draw_begin(DrawList *list, double width, double height, DrawTheme theme)
{
    list->item_count = 0;
    list->point_count = 0;
    list->target_count = 0;
    list->text.len = 0;
    list->width = width;
    list->height = height;
    list->theme = theme;
    draw_rect(list, (DrawRect){0, 0, width, height}, DRAW_PAPER, DRAW_NONE, 0, 0);
}

void draw_free(DrawList *list)
{
    free(list->items);
    free(list->points);
    free(list->targets);
    text_clear(&list->text);
    *list = (DrawList){0};
}

static DrawItem *add(DrawList *list, DrawKind kind)
{
    if (list->item_count == list->item_capacity) {
        list->item_capacity = list->item_capacity == 0 ? 256 : list->item_capacity * 2;
        list->items = check_realloc(list->items, list->item_capacity, sizeof *list->items);
    }
    DrawItem *item = &list->items[list->item_count++];
    *item = (DrawItem){.kind = kind, .fill = DRAW_NONE, .stroke = DRAW_NONE};
    return item;
}

static double stroke_of(const DrawList *list, double px)
{
    return list->theme == DRAW_CONTRAST ? px + 1.0 : px;
}

void draw_rect(DrawList *list, DrawRect box, DrawRole fill, DrawRole stroke, double px,
               double radius_px)
{
    DrawItem *item = add(list, DRAW_ITEM_RECT);
    item->box = box;
    item->fill = fill;
    item->stroke = stroke;
    item->stroke_px = stroke_of(list, px);
    item->radius_px = radius_px;
}

static void add_shape(DrawList *list, const DrawPoint *points, size_t count, DrawRole fill,
                      DrawRole stroke, double px, bool is_closed)
{
    if (count < 2) return;
    while (list->point_count + count > list->point_capacity) {
        list->point_capacity = list->point_capacity == 0 ? 1024 : list->point_capacity * 2;
        list->points = check_realloc(list->points, list->point_capacity, sizeof *list->points);
    }
    memcpy(list->points + list->point_count, points, count * sizeof *points);
    DrawItem *item = add(list, DRAW_ITEM_SHAPE);
    item->fill = fill;
    item->stroke = stroke;
    item->stroke_px = stroke_of(list, px);
    item->is_closed = is_closed;
    item->first = list->point_count;
    item->count = count;
    list->point_count += count;
}

void draw_line(DrawList *list, const DrawPoint *points, size_t count, DrawRole stroke, double px)
{
    add_shape(list, points, count, DRAW_NONE, stroke, px, false);
}

void draw_polygon(DrawList *list, const DrawPoint *points, size_t count, DrawRole fill,
                  DrawRole stroke, double px)
{
    add_shape(list, points, count, fill, stroke, px, true);
}

void draw_circle(DrawList *list, double x, double y, double radius, DrawRole fill, DrawRole stroke,
                 double px)
{
    DrawItem *item = add(list, DRAW_ITEM_CIRCLE);
    item->box = (DrawRect){x - radius, y - radius, 2.0 * radius, 2.0 * radius};
    item->fill = fill;
    item->stroke = stroke;
    item->stroke_px = stroke_of(list, px);
}

void draw_arc(DrawList *list, double x, double y, double radius, double from_deg, double to_deg,
              DrawRole stroke, double px)
{
    enum { STEPS = 24 };
    DrawPoint points[STEPS + 1];
    for (int i = 0; i <= STEPS; i++) {
        double angle = (from_deg + (to_deg - from_deg) * i / STEPS) * PI / 180.0;
        points[i] = (DrawPoint){x + radius * cos(angle), y + radius * sin(angle)};
    }
    draw_line(list, points, STEPS + 1, stroke, px);
}

void draw_dashes(DrawList *list, DrawPoint from, DrawPoint to, DrawRole stroke, double px,
                 double on_px, double off_px)
{
    double length = hypot(to.x - from.x, to.y - from.y);
    for (double at = 0.0; at < length; at += on_px + off_px) {
        double end = fmin(at + on_px, length);
        double x = (to.x - from.x) / length;
        double y = (to.y - from.y) / length;
        DrawPoint dash[] = {{from.x + x * at, from.y + y * at},
                            {from.x + x * end, from.y + y * end}};
        draw_line(list, dash, 2, stroke, px);
    }
}

void draw_dashed_rect(DrawList *list, DrawRect box, DrawRole stroke, double px, double on_px,
                      double off_px)
{
    DrawPoint corners[] = {{box.x, box.y},
                           {box.x + box.w, box.y},
                           {box.x + box.w, box.y + box.h},
                           {box.x, box.y + box.h}};
    for (int i = 0; i < 4; i++) {
        draw_dashes(list, corners[i], corners[(i + 1) % 4], stroke, px, on_px, off_px);
    }
}

void draw_text(DrawList *list, const DrawStyle *style, const char *words)
{
    DrawItem *item = add(list, DRAW_ITEM_TEXT);
    item->box = style->box;
    item->fill = style->ground;
    item->stroke = style->role;
    item->size_px = style->size_px;
    item->is_bold = style->is_bold;
    item->align = style->align;
    item->first = list->text.len;
    item->count = strlen(words);
    text_add_bytes(&list->text, words, item->count + 1);
}

const char *draw_words(const DrawList *list, const DrawItem *item)
{
    CHECK(item->kind == DRAW_ITEM_TEXT);
    return list->text.bytes + item->first;
}

/* --- Lines of text --------------------------------------------------------------------------- */

double draw_line_height(int size_px)
{
    return 1.5 * size_px;
}

/* How many bytes of `words` go on one line: up to the last space that fits, or one word. */
static size_t line_length(const DrawMeasure *measure, const char *words, double width, int size_px,
                          bool is_bold)
{
    size_t end = strcspn(words, "\n");
    size_t fits = 0;
    if (measure->width(measure->context, words, end, size_px, is_bold) <= width + 0.5) return end;
    for (size_t at = 0; at < end;) {
        at += strspn(words + at, " ");
        at += strcspn(words + at, " \n");
        if (at > end) at = end;
        if (fits > 0 &&
            measure->width(measure->context, words, at, size_px, is_bold) > width + 0.5) {
            return fits;
        }
        fits = at;
    }
    return end;
}

int draw_wrap(const DrawMeasure *measure, const char *words, double width, int size_px,
              bool is_bold, DrawEachLine *line, void *context)
{
    int count = 0;
    while (*words != '\0') {
        size_t len = line_length(measure, words, width, size_px, is_bold);
        if (line != NULL) line(context, words, len, count);
        count++;
        words += len;
        if (*words == '\n')
            words++;
        else
            words += strspn(words, " ");
    }
    return count;
}

/* --- What differs ---------------------------------------------------------------------------- */

typedef struct {
    const DrawMeasure *measure;
    const DrawItem *item;
    double widest;
} Widest;

static void widen(void *context, const char *text, size_t len, int index)
{
    Widest *widest = context;
    const DrawMeasure *measure = widest->measure;
    const DrawItem *item = widest->item;
    (void)index;
    double width = measure->width(measure->context, text, len, item->size_px, item->is_bold);
    widest->widest = fmax(widest->widest, width);
}

static DrawRect grown(DrawRect box, double by)
{
    return (DrawRect){box.x - by, box.y - by, box.w + 2.0 * by, box.h + 2.0 * by};
}

DrawRect draw_bounds(const DrawList *list, const DrawItem *item, const DrawMeasure *measure)
{
    DrawRect box = item->box;
    if (item->kind == DRAW_ITEM_TEXT) {
        Widest widest = {measure, item, 0.0};
        int lines = draw_wrap(measure, draw_words(list, item), box.w, item->size_px, item->is_bold,
                              widen, &widest);
        double room = box.w - widest.widest;
        if (item->align != DRAW_START) box.x += item->align == DRAW_MIDDLE ? room / 2.0 : room;
        box.w = widest.widest;
        box.h = lines * draw_line_height(item->size_px);
        return grown(box, 0.25 * item->size_px);
    }
    if (item->kind == DRAW_ITEM_SHAPE) {
        DrawPoint low = list->points[item->first];
        DrawPoint high = low;
        for (size_t i = item->first; i < item->first + item->count; i++) {
            const DrawPoint *point = &list->points[i];
            low = (DrawPoint){fmin(low.x, point->x), fmin(low.y, point->y)};
            high = (DrawPoint){fmax(high.x, point->x), fmax(high.y, point->y)};
        }
        box = (DrawRect){low.x, low.y, high.x - low.x, high.y - low.y};
    }
    return grown(box, item->stroke_px + 1.0); /* a mitre reaches as far as the stroke is wide */
}

static bool same_box(DrawRect a, DrawRect b)
{
    return a.x == b.x && a.y == b.y && a.w == b.w && a.h == b.h;
}

static bool same_item(const DrawList *a, const DrawItem *x, const DrawList *b, const DrawItem *y)
{
    if (x->kind != y->kind || x->fill != y->fill || x->stroke != y->stroke ||
        x->stroke_px != y->stroke_px || x->radius_px != y->radius_px ||
        x->is_closed != y->is_closed || x->count != y->count || x->size_px != y->size_px ||
        x->is_bold != y->is_bold || x->align != y->align || !same_box(x->box, y->box)) {
        return false;
    }
    if (x->kind == DRAW_ITEM_TEXT) return strcmp(draw_words(a, x), draw_words(b, y)) == 0;
    if (x->kind != DRAW_ITEM_SHAPE) return true;
    for (size_t i = 0; i < x->count; i++) {
        const DrawPoint *one = &a->points[x->first + i];
        const DrawPoint *two = &b->points[y->first + i];
        if (one->x != two->x || one->y != two->y) return false;
    }
    return true;
}

typedef struct {
    DrawRect *boxes;
    int count;
} Changes;

static DrawRect both(DrawRect a, DrawRect b)
{
    double x = fmin(a.x, b.x);
    double y = fmin(a.y, b.y);
    return (DrawRect){x, y, fmax(a.x + a.w, b.x + b.w) - x, fmax(a.y + a.h, b.y + b.h) - y};
}

static bool meet(DrawRect a, DrawRect b)
{
    return a.x <= b.x + b.w && b.x <= a.x + a.w && a.y <= b.y + b.h && b.y <= a.y + a.h;
}

/* Add a box, one with those that it meets; when there are too many, one with the last. */
static void add_change(Changes *changes, DrawRect box)
{
    for (int i = 0; i < changes->count;) {
        bool is_last = changes->count == DRAW_CHANGES_MAX && i == changes->count - 1;
        if (!meet(changes->boxes[i], box) && !is_last) {
            i++;
            continue;
        }
        box = both(box, changes->boxes[i]);
        changes->boxes[i] = changes->boxes[--changes->count];
        i = 0;
    }
    changes->boxes[changes->count++] = box;
}

int draw_changes(const DrawList *before, const DrawList *now, const DrawMeasure *measure,
                 DrawRect boxes[DRAW_CHANGES_MAX])
{
    enum { AHEAD = 24 }; /* an item that was moved by more in the list counts as another one */
    Changes changes = {boxes, 0};
    size_t old = 0;
    if (before->theme != now->theme || before->width != now->width ||
        before->height != now->height) {
        boxes[0] = (DrawRect){0, 0, now->width, now->height};
        return 1;
    }
    for (size_t i = 0; i < now->item_count; i++) {
        const DrawItem *item = &now->items[i];
        size_t same = old;
        while (same < before->item_count && same < old + AHEAD &&
               !same_item(before, &before->items[same], now, item)) {
            same++;
        }
        if (same == before->item_count || same == old + AHEAD) {
            add_change(&changes, draw_bounds(now, item, measure));
            continue;
        }
        for (; old < same; old++) {
            add_change(&changes, draw_bounds(before, &before->items[old], measure));
        }
        old++;
    }
    for (; old < before->item_count; old++) {
        add_change(&changes, draw_bounds(before, &before->items[old], measure));
    }
    return changes.count;
}

/* --- As text --------------------------------------------------------------------------------- */

static const char *role_word(DrawRole role)
{
    static const char *const words[] = {"paper", "sheet",  "tint",     "ink",  "soft",
                                        "line",  "accent", "onaccent", "wash", "none"};
    return words[role];
}

void draw_print(const DrawList *list, Text *out)
{
    static const char *const kinds[] = {"rect", "shape", "circle", "text"};
    for (size_t i = 0; i < list->item_count; i++) {
        const DrawItem *item = &list->items[i];
        text_addf(out, "%s %s %s %.1f", kinds[item->kind], role_word(item->fill),
                  role_word(item->stroke), item->stroke_px);
        if (item->kind != DRAW_ITEM_SHAPE) {
            text_addf(out, " %.1f %.1f %.1f %.1f", item->box.x, item->box.y, item->box.w,
                      item->box.h);
        }
        for (size_t p = 0; item->kind == DRAW_ITEM_SHAPE && p < item->count; p++) {
            const DrawPoint *point = &list->points[item->first + p];
            text_addf(out, " %.1f,%.1f", point->x, point->y);
        }
        if (item->kind == DRAW_ITEM_TEXT) {
            text_addf(out, " %d%s %d ", item->size_px, item->is_bold ? "b" : "", (int)item->align);
            text_add_quoted(out, draw_words(list, item));
        }
        text_add(out, "\n");
    }
}

/* --- Marks ----------------------------------------------------------------------------------- */

void draw_mark(DrawList *list, DrawMark mark, double x, double y, double r, DrawRole role)
{
    double px = fmax(3.0, round(r * 0.36));
    switch (mark) {
    case DRAW_DONE:
        draw_circle(list, x, y, r - px / 2.0, DRAW_NONE, role, px);
        break;
    case DRAW_TODO:
        draw_arc(list, x, y, r - px / 2.0, 5, 265, role, fmax(2.0, px - 1.0));
        break;
    case DRAW_RECOVERED: {
        double k = 0.55 * r;
        double cx = x + 0.62 * r;
        double cy = y - 0.62 * r;
        DrawPoint patch[] = {{cx, cy - k}, {cx + k, cy}, {cx, cy + k}, {cx - k, cy}};
        draw_circle(list, x, y, r - px / 2.0, DRAW_NONE, role, px);
        draw_polygon(list, patch, 4, role, DRAW_NONE, 0);
        break;
    }
    case DRAW_MISSED: {
        double q = 0.82 * r;
        DrawPoint down[] = {{x - q, y - q}, {x + q, y + q}};
        DrawPoint up[] = {{x - q, y + q}, {x + q, y - q}};
        draw_line(list, down, 2, role, px);
        draw_line(list, up, 2, role, px);
        break;
    }
    case DRAW_ACCEPTED: {
        DrawPoint shaft[] = {{x - r, y}, {x + r, y}};
        DrawPoint head[] = {{x + 0.2 * r, y - 0.7 * r}, {x + r, y}, {x + 0.2 * r, y + 0.7 * r}};
        draw_line(list, shaft, 2, role, px);
        draw_line(list, head, 3, role, px);
        break;
    }
    case DRAW_WEDGE: {
        DrawPoint wedge[] = {{x - r, y - 0.9 * r}, {x + r, y - 0.9 * r}, {x, y + r}};
        draw_polygon(list, wedge, 3, role, DRAW_NONE, 0);
        break;
    }
    case DRAW_BAR:
        draw_rect(list, (DrawRect){x - r, y - 0.34 * r, 2.0 * r, 0.68 * r}, role, DRAW_NONE, 0, 0);
        break;
    }
}
