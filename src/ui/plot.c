/* Drawing of plots. */
#include "ui/plot.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PI 3.14159265358979323846

enum {
    TRACE_POINTS_MAX = 600, /* of the drawn line: more would not be seen */
    LEVELS_MAX = 6,
    CELLS_MAX = 1024, /* of a map */
    LABELS_MAX = LEVELS_MAX + 1,
    NUMBER_BYTES = 32,
};

void plot_fill(Text *out, const char *pattern, const char *const values[], int count)
{
    for (const char *at = pattern; *at != '\0'; at++) {
        int index = at[0] == '{' && at[1] != '\0' && at[2] == '}' ? at[1] - '0' : -1;
        if (index >= 0 && index < count) {
            text_add(out, values[index]);
            at += 2;
        } else {
            text_add_bytes(out, at, 1);
        }
    }
}

void plot_add_chance(const Ui *ui, double chance, Text *out)
{
    char number[NUMBER_BYTES];
    const char *const values[] = {number};
    const char *key = "chance.hundred";
    (void)snprintf(number, sizeof number, "%.0f", chance * 100.0);
    if (chance > 0.999) {
        key = "chance.over";
    } else if (chance < 0.001) {
        key = "chance.under";
    } else if (chance < 0.0095 || chance >= 0.9905) {
        key = "chance.thousand";
        (void)snprintf(number, sizeof number, "%.0f", chance * 1000.0);
    }
    plot_fill(out, ui_say(ui, key), values, 1);
}

static double word(Ui *ui, double x, double y, double width, DrawAlign align, const char *words)
{
    return ui_text(ui, (DrawRect){x, y, width, 0}, 16, false, DRAW_INK, DRAW_PAPER, align, words);
}

/* --- The trace ------------------------------------------------------------------------------- */

double plot_top(double largest)
{
    static const double steps[] = {1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0};
    for (double ten = 1.0;; ten *= 10.0) {
        for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
            if (largest <= 0.95 * ten * steps[i] || ten > 1e12) return ten * steps[i];
        }
    }
}

/* Where the curves of a trace lie. */
typedef struct {
    DrawRect box;
    double per_limit, per_mm, middle_x, zero_y;
} Frame;

static void draw_curve(Ui *ui, const Frame *frame, const PlotTrace *trace)
{
    DrawPoint points[TRACE_POINTS_MAX + 2];
    size_t used = 0;
    size_t stride = trace->count / TRACE_POINTS_MAX + 1;
    for (size_t i = 0; i < trace->count; i += stride) {
        double x_mm = trace->from_mm + (double)i * trace->step_mm;
        if (fabs(x_mm) > trace->half_mm) continue;
        points[used++] = (DrawPoint){frame->middle_x + x_mm * frame->per_mm,
                                     frame->zero_y - trace->signal[i] * frame->per_limit};
    }
    draw_line(ui->list, points, used, DRAW_ACCENT, 3);
}

static void draw_ticks_up(Ui *ui, const Frame *frame, double top)
{
    double line = draw_line_height(ui_px(ui, 16));
    double values[] = {top, 1.0, -1.0, -top};
    bool is_thin = 2.0 * frame->per_limit < line;
    for (int i = 0; i < 4; i++) {
        char number[NUMBER_BYTES];
        double y = frame->zero_y - values[i] * frame->per_limit;
        bool is_one = i == 1 || i == 2;
        (void)snprintf(number, sizeof number, "%s%g", values[i] > 0 ? "+" : "\xE2\x88\x92",
                       fabs(values[i]));
        texts_localise(ui->texts, number);
        if (is_one && is_thin) { /* no room for two numbers */
            if (i == 2) continue;
            (void)snprintf(number, sizeof number, "\xC2\xB1%g", 1.0);
            y = frame->zero_y;
        } else if (!is_one && !is_thin && (top - 1.0) * frame->per_limit < line) {
            continue; /* the limit counts for more than the end */
        }
        DrawPoint tick[] = {{frame->box.x - 6, y}, {frame->box.x, y}};
        draw_line(ui->list, tick, 2, DRAW_LINE, 1);
        double room = 3.4 * ui_px(ui, 16);
        (void)word(ui, frame->box.x - 10 - room, y - line / 2.0, room, DRAW_END, number);
    }
}

/* Other words for the number, or its unit after it, where there is room for them. */
static void add_where_it_fits(const Ui *ui, const char *words, bool has_unit, double room,
                              Text *number)
{
    Text longer = {0};
    if (words != NULL)
        text_add(&longer, words);
    else
        text_addf(&longer, "%s%s", number->bytes, has_unit ? " mm" : "");
    if (ui_width(ui, 16, false, longer.bytes) <= room) {
        text_clear(number);
        text_add(number, longer.bytes);
    }
    text_clear(&longer);
}

static void draw_ticks_along(Ui *ui, const Frame *frame, double half_mm)
{
    double bottom = frame->box.y + frame->box.h;
    double width = frame->box.w / 4.0;
    for (int i = 0; i <= 4; i++) {
        double mm = half_mm * (i - 2) / 2.0;
        double x = frame->middle_x + mm * frame->per_mm;
        DrawPoint tick[] = {{x, bottom - 5}, {x, bottom}};
        Text number = {0};
        draw_line(ui->list, tick, 2, DRAW_LINE, 1);
        double room = i == 0 || i == 4 ? width / 2.0 - 2.0 : width - 4.0;
        text_addf(&number, "%s%g", mm < 0 ? "\xE2\x88\x92" : "", fabs(mm));
        add_where_it_fits(ui, i == 2 ? ui_say(ui, "bench.at-coils") : NULL, i == 4, room, &number);
        DrawAlign align = i == 0 ? DRAW_START : i == 4 ? DRAW_END : DRAW_MIDDLE;
        double left = i == 0 ? x : i == 4 ? x - room : x - room / 2.0;
        if (ui_width(ui, 16, false, number.bytes) <= room) {
            (void)word(ui, left, bottom, room, align, number.bytes);
        }
        text_clear(&number);
    }
}

/* The limit's word: above its line, or where there is no room within its band, whose beginning the
 * curve leaves free. */
static void draw_limit_word(Ui *ui, const Frame *frame)
{
    double line = draw_line_height(ui_px(ui, 16));
    double upper = frame->zero_y - frame->per_limit;
    DrawRect box = {frame->box.x + 10, upper - line, frame->box.w / 4.0, 0};
    DrawRole ground = DRAW_PAPER;
    if (box.y < frame->box.y) {
        if (frame->per_limit < line) return;
        box.y = upper;
        ground = DRAW_TINT;
    }
    (void)ui_text(ui, box, 16, false, DRAW_INK, ground, DRAW_START, ui_say(ui, "bench.limit"));
}

void plot_trace(Ui *ui, DrawRect box, const PlotTrace *trace)
{
    DrawList *list = ui->list;
    double line = draw_line_height(ui_px(ui, 16));
    double left = 3.4 * ui_px(ui, 16) + 12.0;
    Frame frame = {.box = {box.x + left, box.y + line / 2.0, box.w - left, box.h - 1.5 * line}};
    frame.per_limit = frame.box.h / 2.0 / trace->top;
    frame.per_mm = frame.box.w / 2.0 / trace->half_mm;
    frame.middle_x = frame.box.x + frame.box.w / 2.0;
    frame.zero_y = frame.box.y + frame.box.h / 2.0;
    double x[] = {frame.box.x, frame.box.x + frame.box.w};
    double upper = frame.zero_y - frame.per_limit;
    double lower = frame.zero_y + frame.per_limit;
    draw_rect(list, (DrawRect){x[0], upper, frame.box.w, lower - upper}, DRAW_TINT, DRAW_NONE, 0,
              0);
    DrawPoint zero[] = {{x[0], frame.zero_y}, {x[1], frame.zero_y}};
    DrawPoint above[] = {{x[0], upper}, {x[1], upper}};
    DrawPoint below[] = {{x[0], lower}, {x[1], lower}};
    DrawPoint axis[] = {{x[0], frame.box.y}, {x[0], frame.box.y + frame.box.h}};
    draw_line(list, zero, 2, DRAW_LINE, 1);
    draw_line(list, above, 2, DRAW_INK, 2);
    draw_line(list, below, 2, DRAW_INK, 2);
    draw_line(list, axis, 2, DRAW_LINE, 1);
    draw_limit_word(ui, &frame);
    draw_ticks_up(ui, &frame, trace->top);
    draw_ticks_along(ui, &frame, trace->half_mm);
    draw_curve(ui, &frame, trace);
}

/* --- The map: contours ----------------------------------------------------------------------- */

typedef struct {
    DrawPoint from, to;
    bool is_used;
} Piece;

/* The map on the canvas. */
typedef struct {
    Ui *ui;
    const PlotMap *map;
    DrawRect box;
    double scale;         /* px per mm */
    DrawRect pack, piece; /* there: numbers keep clear of their edges */
    DrawRect labels[LABELS_MAX];
    char numbers[LABELS_MAX][NUMBER_BYTES];
    int label_count;
} Canvas;

static DrawPoint to_canvas(const Canvas *canvas, double across_mm, double up_mm)
{
    return (DrawPoint){canvas->box.x + (across_mm + canvas->map->width_mm / 2.0) * canvas->scale,
                       canvas->box.y + (canvas->map->height_mm / 2.0 - up_mm) * canvas->scale};
}

static double node(const PlotMap *map, int column, int row)
{
    return map->mm[row * map->columns + column];
}

double plot_map_at(const PlotMap *map, double across_mm, double up_mm)
{
    double x = (across_mm / map->width_mm + 0.5) * (map->columns - 1);
    double y = (up_mm / map->height_mm + 0.5) * (map->rows - 1);
    int column = (int)fmin(fmax(floor(x), 0.0), map->columns - 2);
    int row = (int)fmin(fmax(floor(y), 0.0), map->rows - 2);
    double u = x - column;
    double v = y - row;
    return (1.0 - v) * ((1.0 - u) * node(map, column, row) + u * node(map, column + 1, row)) +
           v * ((1.0 - u) * node(map, column, row + 1) + u * node(map, column + 1, row + 1));
}

/* Where the level crosses the edge between two points of the net; computed from its lower end,
 * so that both cells at the edge get the same bits. */
static bool crossing(const Canvas *canvas, const int a[2], const int b[2], double level,
                     DrawPoint *at)
{
    const PlotMap *map = canvas->map;
    double from = node(map, a[0], a[1]);
    double to = node(map, b[0], b[1]);
    if (!isfinite(from) || !isfinite(to) || (from < level) == (to < level)) return false;
    double part = (level - from) / (to - from);
    double column = a[0] + part * (b[0] - a[0]);
    double row = a[1] + part * (b[1] - a[1]);
    *at = to_canvas(canvas, (column / (map->columns - 1) - 0.5) * map->width_mm,
                    (row / (map->rows - 1) - 0.5) * map->height_mm);
    return true;
}

/* The pieces of one contour in one cell (marching squares), added after `count`; a saddle gives
 * two. */
static int find_in_cell(const Canvas *canvas, int column, int row, double level, Piece *pieces,
                        int count)
{
    const int corners[4][2] = {
        {column, row}, {column + 1, row}, {column + 1, row + 1}, {column, row + 1}};
    static const int edges[4][2] = {{0, 1}, {1, 2}, {3, 2}, {0, 3}};
    DrawPoint found[4] = {{0}};
    int used = 0;
    for (int i = 0; i < 4; i++) {
        if (crossing(canvas, corners[edges[i][0]], corners[edges[i][1]], level, &found[used]))
            used++;
    }
    for (int i = 0; i + 1 < used && count < CELLS_MAX; i += 2) {
        pieces[count++] = (Piece){found[i], found[i + 1], false};
    }
    return count;
}

static int find_pieces(const Canvas *canvas, double level, Piece *pieces)
{
    int count = 0;
    for (int row = 0; row + 1 < canvas->map->rows; row++) {
        for (int column = 0; column + 1 < canvas->map->columns; column++) {
            count = find_in_cell(canvas, column, row, level, pieces, count);
        }
    }
    return count;
}

static bool is_at(DrawPoint a, DrawPoint b)
{
    return fabs(a.x - b.x) < 1e-6 && fabs(a.y - b.y) < 1e-6;
}

/* Go on from the last point of a line through the unused pieces. */
static int follow(Piece *pieces, int count, DrawPoint *line, int used)
{
    for (bool is_longer = true; is_longer && used < CELLS_MAX;) {
        is_longer = false;
        for (int i = 0; i < count && !is_longer; i++) {
            if (pieces[i].is_used) continue;
            bool forth = is_at(pieces[i].from, line[used - 1]);
            if (!forth && !is_at(pieces[i].to, line[used - 1])) continue;
            line[used++] = forth ? pieces[i].to : pieces[i].from;
            pieces[i].is_used = true;
            is_longer = true;
        }
    }
    return used;
}

static void turn_round(DrawPoint *line, int count)
{
    for (int i = 0; i < count / 2; i++) {
        DrawPoint swap = line[i];
        line[i] = line[count - 1 - i];
        line[count - 1 - i] = swap;
    }
}

static void draw_contour(const Canvas *canvas, Piece *pieces, int count)
{
    DrawPoint line[CELLS_MAX + 1];
    for (int i = 0; i < count; i++) {
        if (pieces[i].is_used) continue;
        pieces[i].is_used = true;
        line[0] = pieces[i].from;
        line[1] = pieces[i].to;
        int used = follow(pieces, count, line, 2);
        turn_round(line, used);
        used = follow(pieces, count, line, used);
        draw_line(canvas->ui->list, line, (size_t)used, DRAW_LINE, 1.5);
    }
}

/* --- The map: numbers ------------------------------------------------------------------------ */

static bool meets(DrawRect a, DrawRect b)
{
    return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}

static DrawRect label_box(const Canvas *canvas, DrawPoint at, const char *number)
{
    double width = ui_width(canvas->ui, 16, false, number) + 2.0;
    double height = draw_line_height(ui_px(canvas->ui, 16));
    return (DrawRect){at.x - width / 2.0, at.y - height / 2.0, width, height};
}

/* Whether the box lies over some of the other's edge, but not within it. */
static bool is_over_edge(DrawRect box, DrawRect other)
{
    return meets(box, other) &&
           (box.x < other.x + 2 || box.y < other.y || box.x + box.w > other.x + other.w - 2 ||
            box.y + box.h > other.y + other.h);
}

static bool has_room(const Canvas *canvas, DrawRect box)
{
    const DrawRect *map = &canvas->box;
    if (box.x < map->x + 3 || box.y < map->y + 3) return false;
    if (box.x + box.w > map->x + map->w - 3 || box.y + box.h > map->y + map->h - 3) return false;
    if (is_over_edge(box, canvas->pack)) return false;
    if (meets(box, canvas->piece)) return false;
    for (int i = 0; i < canvas->label_count; i++) {
        if (meets(box, canvas->labels[i])) return false;
    }
    return true;
}

static void add_number(Canvas *canvas, DrawRect box, const char *number)
{
    int n = canvas->label_count++;
    canvas->labels[n] = box;
    (void)snprintf(canvas->numbers[n], NUMBER_BYTES, "%s", number);
}

/* The numbers, over all the lines. */
static void draw_numbers(const Canvas *canvas)
{
    for (int i = 0; i < canvas->label_count; i++) {
        DrawRect box = canvas->labels[i];
        double inset = box.h * 0.12;
        draw_rect(canvas->ui->list, (DrawRect){box.x, box.y + inset, box.w, box.h - 2.0 * inset},
                  DRAW_SHEET, DRAW_NONE, 0, 0);
        (void)ui_text(canvas->ui, box, 16, false, DRAW_INK, DRAW_SHEET, DRAW_MIDDLE,
                      canvas->numbers[i]);
    }
}

/* How much of the line goes on beside the box, within its width. */
static double length_beside(const Piece *pieces, int count, DrawRect box)
{
    DrawRect near = {box.x - box.w, box.y - box.w, 3.0 * box.w, box.h + 2.0 * box.w};
    double length = 0.0;
    for (int i = 0; i < count; i++) {
        DrawRect middle = {(pieces[i].from.x + pieces[i].to.x) / 2.0,
                           (pieces[i].from.y + pieces[i].to.y) / 2.0, 0.0, 0.0};
        if (!meets(middle, near) || meets(middle, box)) continue;
        length += hypot(pieces[i].to.x - pieces[i].from.x, pieces[i].to.y - pieces[i].from.y);
    }
    return length;
}

/* The place on the line that is nearest to half height and leaves room, now on one side, now on the
 * other, clear of the pack's edge, and where the line is seen to go on. False when there is none:
 * then the line is not drawn, as it would say nothing. */
static bool find_label(const Canvas *canvas, const Piece *pieces, int count, bool is_left,
                       const char *number, DrawRect *out)
{
    *out = (DrawRect){0};
    double middle_x = canvas->box.x + canvas->box.w / 2.0;
    double middle_y = canvas->box.y + canvas->box.h / 2.0;
    double nearest = HUGE_VAL;
    for (int i = 0; i < count; i++) {
        DrawRect box = label_box(canvas, pieces[i].from, number);
        double far = fabs(pieces[i].from.y - middle_y);
        if ((pieces[i].from.x < middle_x) != is_left) far += canvas->box.h;
        if (far >= nearest || !has_room(canvas, box)) continue;
        if (length_beside(pieces, count, box) < box.w) continue;
        nearest = far;
        *out = box;
    }
    return isfinite(nearest);
}

static double level_step(double range)
{
    static const double steps[] = {0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (range <= steps[i] * LEVELS_MAX) return steps[i];
    }
    return 100.0;
}

/* The least and the largest finite value; false: there is none. */
static bool find_range(const PlotMap *map, double *least, double *most)
{
    *least = HUGE_VAL;
    *most = 0.0;
    for (int i = 0; i < map->columns * map->rows; i++) {
        if (!isfinite(map->mm[i])) continue;
        *least = fmin(*least, map->mm[i]);
        *most = fmax(*most, map->mm[i]);
    }
    return isfinite(*least);
}

double plot_map_step(const PlotMap *map)
{
    double least, most;
    return find_range(map, &least, &most) ? level_step(most - least) : 0.0;
}

double plot_map_scale(DrawRect box, const PlotMap *map)
{
    return fmin(box.w / map->width_mm, box.h / map->height_mm);
}

static void draw_contours(Canvas *canvas)
{
    const PlotMap *map = canvas->map;
    Piece pieces[CELLS_MAX];
    char number[NUMBER_BYTES];
    double least, most;
    if (!find_range(map, &least, &most)) return;
    double step = map->step_mm > 0.0 ? map->step_mm : level_step(most - least);
    int decimals = step < 0.1 ? 2 : 1;
    double centre = plot_map_at(map, 0.0, 0.0);
    if (isfinite(centre)) {
        (void)snprintf(number, sizeof number, "%.*f", decimals, centre);
        texts_localise(canvas->ui->texts, number);
        DrawPoint point = to_canvas(canvas, 0.0, 0.0);
        DrawRect box = label_box(canvas, point, number);
        box.x = point.x + 5.0; /* the number stands beside its point */
        if (has_room(canvas, box)) {
            draw_circle(canvas->ui->list, point.x, point.y, 3, DRAW_INK, DRAW_NONE, 0);
            add_number(canvas, box, number);
        }
    }
    bool is_left = false;
    for (double n = floor(most / step); n * step > least && canvas->label_count < LABELS_MAX; n--) {
        DrawRect box;
        int count = find_pieces(canvas, n * step, pieces);
        (void)snprintf(number, sizeof number, "%.*f", decimals, n * step);
        texts_localise(canvas->ui->texts, number);
        if (!find_label(canvas, pieces, count, is_left, number, &box)) continue;
        draw_contour(canvas, pieces, count);
        add_number(canvas, box, number);
        is_left = !is_left;
    }
}

DrawRect plot_map(Ui *ui, DrawRect box, const PlotMap *map)
{
    DrawList *list = ui->list;
    double scale = map->px_per_mm > 0.0 ? map->px_per_mm : plot_map_scale(box, map);
    Canvas canvas = {.ui = ui,
                     .map = map,
                     .scale = scale,
                     .box = {box.x, box.y, map->width_mm * scale, map->height_mm * scale}};
    CHECK((map->columns - 1) * (map->rows - 1) * 2 <= CELLS_MAX);
    DrawPoint corner = to_canvas(&canvas, map->pack.x, map->pack.y + map->pack.h);
    DrawPoint ends[] = {to_canvas(&canvas, map->from.x, map->from.y),
                        to_canvas(&canvas, map->to.x, map->to.y)};
    canvas.pack = (DrawRect){corner.x, corner.y, map->pack.w * scale, map->pack.h * scale};
    canvas.piece = (DrawRect){fmin(ends[0].x, ends[1].x) - 4.0, fmin(ends[0].y, ends[1].y) - 4.0,
                              fabs(ends[1].x - ends[0].x) + 8.0, fabs(ends[1].y - ends[0].y) + 8.0};
    draw_rect(list, canvas.box, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_contours(&canvas);
    DrawPoint belt[] = {to_canvas(&canvas, -map->width_mm / 2.0, map->belt_mm),
                        to_canvas(&canvas, map->width_mm / 2.0, map->belt_mm)};
    draw_line(list, belt, 2, DRAW_LINE, 1);
    draw_dashed_rect(list, canvas.pack, DRAW_INK, 2, 5, 4);
    if (hypot(ends[1].x - ends[0].x, ends[1].y - ends[0].y) >= 4.0) {
        draw_line(list, ends, 2, DRAW_ACCENT, 4);
    } else {
        draw_circle(list, (ends[0].x + ends[1].x) / 2.0, (ends[0].y + ends[1].y) / 2.0, 4,
                    DRAW_ACCENT, DRAW_NONE, 0);
    }
    draw_numbers(&canvas);
    return canvas.box;
}

void plot_scale_bar(Ui *ui, DrawRect box, double px_per_mm)
{
    static const double lengths_mm[] = {500, 200, 100, 50, 20, 10, 5};
    size_t i = 0;
    while (i + 1 < sizeof lengths_mm / sizeof lengths_mm[0] &&
           lengths_mm[i] * px_per_mm > box.w * 0.4) {
        i++;
    }
    double px = lengths_mm[i] * px_per_mm;
    double y = box.y + draw_line_height(ui_px(ui, 16)) / 2.0;
    DrawPoint bar[] = {{box.x + 1, y}, {box.x + 1 + px, y}};
    DrawPoint ends[2][2] = {{{box.x + 1, y - 6}, {box.x + 1, y + 6}},
                            {{box.x + 1 + px, y - 6}, {box.x + 1 + px, y + 6}}};
    draw_line(ui->list, bar, 2, DRAW_INK, 2);
    draw_line(ui->list, ends[0], 2, DRAW_INK, 2);
    draw_line(ui->list, ends[1], 2, DRAW_INK, 2);
    Text words = {0};
    text_addf(&words, "%g mm", lengths_mm[i]);
    (void)word(ui, box.x + px + 12, box.y, box.w - px - 12, DRAW_START, words.bytes);
    text_clear(&words);
}

/* --- The dial -------------------------------------------------------------------------------- */

/* A press, a drag or a key; true when it turns the dial. */
static bool turn(Ui *ui, uint32_t id, DrawRect box, double *degrees)
{
    double before = *degrees;
    double x = 0.0;
    double y = 0.0;
    double centre[] = {box.x + box.w / 2.0, box.y + box.h / 2.0};
    bool is_held = ui_is_dragged(ui, id, &x, &y);
    if (is_held && hypot(x - centre[0], y - centre[1]) > 4.0) {
        double angle = atan2(centre[1] - y, x - centre[0]) * 180.0 / PI;
        *degrees = PLOT_DIAL_STEP * round(angle / PLOT_DIAL_STEP);
    }
    if (ui_key(ui, id, UI_KEY_UP) || ui_key(ui, id, UI_KEY_LEFT)) *degrees += PLOT_DIAL_STEP;
    if (ui_key(ui, id, UI_KEY_DOWN) || ui_key(ui, id, UI_KEY_RIGHT)) *degrees -= PLOT_DIAL_STEP;
    if (ui_key(ui, id, UI_KEY_HOME)) *degrees = 0.0;
    return *degrees != before;
}

void plot_dial_face(Ui *ui, DrawRect box, double degrees)
{
    DrawList *list = ui->list;
    double x = box.x + box.w / 2.0;
    double y = box.y + box.h / 2.0;
    double radius = fmin(fmin(box.w, box.h) / 2.0 - 10.0, 80.0);
    for (int i = 0; i < 18; i++) {
        draw_arc(list, x, y, radius, i * 20.0, i * 20.0 + 12.0, DRAW_LINE, 2);
    }
    double c = cos(degrees * PI / 180.0);
    double s = sin(degrees * PI / 180.0);
    DrawPoint line[] = {{x - radius * c, y + radius * s}, {x + radius * c, y - radius * s}};
    draw_line(list, line, 2, DRAW_ACCENT, 4);
    for (int i = 0; i < 2; i++) { /* half a turn is the same again */
        DrawRect knob = {line[i].x - 7, line[i].y - 7, 14, 14};
        draw_rect(list, knob, DRAW_ACCENT, DRAW_INK, 2, 2);
    }
}

bool plot_dial(Ui *ui, uint32_t id, DrawRect box, double *degrees)
{
    (void)ui_area(ui, id, box, 59);
    bool is_turned = turn(ui, id, box, degrees);
    plot_dial_face(ui, box, *degrees);
    return is_turned;
}
