/* A4 pages drawn with cairo, their texts laid out by pango. */
#include "reports/pdf.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cairo-pdf.h>
#include <pango/pangocairo.h>

#include "records/stamp.h"

#define FONT "Noto Sans"

/* Lengths in points. A4 is 210 x 297 mm (ISO 216). */
static const double SHORT_SIDE = 210 / 25.4 * 72;
static const double LONG_SIDE = 297 / 25.4 * 72;
static const double MARGIN = 42;
static const double TITLE = 19, HEADING = 12.5, NORMAL = 10, SMALL = 8;
static const double PAD = 6; /* between columns, and above and below a row's text twice 3 */
static const double MARK_ROOM = 18;

/* What is to be one page is made smaller down to here, so that most letters have 7.5 points. */
static const double SCALE_MIN = 0.76, SCALE_STEP = 0.04;

enum { COLUMNS_MAX = 9, MEASURED_ROWS = 200 };

static const double INK[] = {0x1F / 255.0, 0x1D / 255.0, 0x1A / 255.0};
static const double SOFT[] = {0x4B / 255.0, 0x46 / 255.0, 0x3D / 255.0};
static const double LINE[] = {0x75 / 255.0, 0x6D / 255.0, 0x5E / 255.0};
static const double ACCENT[] = {0x6B / 255.0, 0x2A / 255.0, 0x5A / 255.0};
static const double TINT[] = {0xE8 / 255.0, 0xE0 / 255.0, 0xD0 / 255.0};
static const double WASH[] = {0xF0 / 255.0, 0xDF / 255.0, 0xEA / 255.0};
static const double WHITE[] = {1, 1, 1};

/* The document as it is being drawn. */
typedef struct {
    const Page *page;
    cairo_t *cairo;
    PangoContext *context;
    PangoLayout *foot;
    double width, height; /* of the paper */
    double y, bottom;     /* where the next block begins, and where none may go */
    int number, total;    /* pages; total 0 while they are counted */
} Sheet;

static void ink(const Sheet *sheet, const double colour[3])
{
    cairo_set_source_rgb(sheet->cairo, colour[0], colour[1], colour[2]);
}

/* --- Texts ----------------------------------------------------------------------------------- */

static const double LONGEST_WORD = 0.1;

typedef struct {
    const char *text, *note;
    double size, width; /* width 0: not wrapped; LONGEST_WORD: after each word */
    bool is_bold;
} Words;

static void add_attribute(PangoAttrList *list, PangoAttribute *attribute, size_t from)
{
    attribute->start_index = (guint)from;
    pango_attr_list_insert(list, attribute);
}

/* The caller ends it with g_object_unref. */
static PangoLayout *lay_out(const Sheet *sheet, const Words *words)
{
    PangoLayout *layout = pango_layout_new(sheet->context);
    PangoFontDescription *font = pango_font_description_from_string(FONT);
    pango_font_description_set_absolute_size(font, words->size * PANGO_SCALE);
    if (words->is_bold) pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    /* A name in another direction stands where the page's own texts would. */
    pango_layout_set_auto_dir(layout, FALSE);
    bool is_measured = words->width == LONGEST_WORD;
    pango_layout_set_wrap(layout, is_measured ? PANGO_WRAP_WORD : PANGO_WRAP_WORD_CHAR);
    if (words->width > 0) pango_layout_set_width(layout, (int)(words->width * PANGO_SCALE));
    /* A hash that is too long for its line goes on without a hyphen, which would read as part. */
    PangoAttrList *list = pango_attr_list_new();
    add_attribute(list, pango_attr_insert_hyphens_new(FALSE), 0);
    Text text = {0};
    text_add(&text, words->text);
    if (words->note != NULL && words->note[0] != '\0') {
        size_t from = text.len;
        text_addf(&text, "%s%s", text.len > 0 ? "\n" : "", words->note);
        add_attribute(list, pango_attr_size_new_absolute((int)(SMALL * PANGO_SCALE)), from);
        add_attribute(list, pango_attr_weight_new(PANGO_WEIGHT_NORMAL), from);
    }
    pango_layout_set_attributes(layout, list);
    pango_attr_list_unref(list);
    pango_layout_set_text(layout, text_string(&text), (int)text.len);
    text_clear(&text);
    return layout;
}

static double height_of(PangoLayout *layout)
{
    int width;
    int height;
    pango_layout_get_size(layout, &width, &height);
    return height / (double)PANGO_SCALE;
}

static double width_of(const Sheet *sheet, const Words *words)
{
    PangoLayout *layout = lay_out(sheet, words);
    PangoRectangle box;
    pango_layout_get_extents(layout, NULL, &box);
    g_object_unref(layout);
    return box.width / (double)PANGO_SCALE;
}

/* Draw the lines from *next on that fit above `until`; *next is then the first that did not.
 * Returns the height they took. */
static double draw_lines(const Sheet *sheet, PangoLayout *layout, double x, double y, double until,
                         int *next)
{
    PangoLayoutIter *iter = pango_layout_get_iter(layout);
    double top = 0; /* of the first line that is drawn, in pango's units */
    double used = 0;
    int index = 0;
    const int from = *next;
    do {
        PangoRectangle box;
        int line_top;
        int line_bottom;
        pango_layout_iter_get_line_extents(iter, NULL, &box);
        pango_layout_iter_get_line_yrange(iter, &line_top, &line_bottom);
        if (index < from) continue;
        if (index == from) top = line_top;
        if (y + (line_bottom - top) / PANGO_SCALE > until) break;
        double baseline = pango_layout_iter_get_baseline(iter);
        cairo_move_to(sheet->cairo, x + box.x / (double)PANGO_SCALE,
                      y + (baseline - top) / PANGO_SCALE);
        pango_cairo_show_layout_line(sheet->cairo, pango_layout_iter_get_line_readonly(iter));
        used = (line_bottom - top) / PANGO_SCALE;
        *next = index + 1;
    } while (index++, pango_layout_iter_next_line(iter));
    pango_layout_iter_free(iter);
    return used;
}

static void draw_text(const Sheet *sheet, const Words *words, double x, double y)
{
    PangoLayout *layout = lay_out(sheet, words);
    cairo_move_to(sheet->cairo, x, y);
    pango_cairo_show_layout(sheet->cairo, layout);
    g_object_unref(layout);
}

/* --- Marks ----------------------------------------------------------------------------------- */

static void draw_ring(cairo_t *cairo, double x, double y, double r)
{
    cairo_set_line_width(cairo, 0.36 * r);
    cairo_new_sub_path(cairo);
    cairo_arc(cairo, x, y, r, 0, 2 * G_PI);
    cairo_stroke(cairo);
}

static void draw_wedge(cairo_t *cairo, double x, double y, double r)
{
    cairo_move_to(cairo, x - r, y - 0.9 * r);
    cairo_line_to(cairo, x + r, y - 0.9 * r);
    cairo_line_to(cairo, x, y + r);
    cairo_fill(cairo);
}

static void draw_segment(cairo_t *cairo, double x, double y, double to_x, double to_y)
{
    cairo_move_to(cairo, x, y);
    cairo_line_to(cairo, to_x, to_y);
    cairo_stroke(cairo);
}

/* As many of the three rungs as were reached are thick, from below. */
static void draw_ladder(cairo_t *cairo, double x, double y, double r, int rungs)
{
    cairo_set_line_width(cairo, 0.25 * r);
    draw_segment(cairo, x - 0.9 * r, y - r, x - 0.9 * r, y + r);
    draw_segment(cairo, x + 0.9 * r, y - r, x + 0.9 * r, y + r);
    for (int i = 0; i < 3; i++) {
        double at = y + (0.6 - 0.6 * i) * r;
        cairo_set_line_width(cairo, (i < rungs ? 0.36 : 0.1) * r);
        draw_segment(cairo, x - 0.9 * r, at, x + 0.9 * r, at);
    }
}

static void draw_paper(cairo_t *cairo, double x, double y, double r)
{
    cairo_set_line_width(cairo, 0.2 * r);
    cairo_move_to(cairo, x - 0.9 * r, y - 1.1 * r);
    cairo_line_to(cairo, x + 0.4 * r, y - 1.1 * r);
    cairo_line_to(cairo, x + 0.9 * r, y - 0.6 * r);
    cairo_line_to(cairo, x + 0.9 * r, y + 1.1 * r);
    cairo_line_to(cairo, x - 0.9 * r, y + 1.1 * r);
    cairo_close_path(cairo);
    cairo_stroke(cairo);
    draw_ring(cairo, x, y + 0.1 * r, 0.5 * r);
}

static void draw_mark(cairo_t *cairo, PageMark mark, double x, double y, double r)
{
    switch (mark) {
    case PAGE_PLAIN:
    case PAGE_MARK_COUNT:
        break;
    case PAGE_IN_TRAINING:
    case PAGE_ASSESSED:
    case PAGE_OBSERVED:
        draw_ladder(cairo, x, y, r, 1 + (int)mark - (int)PAGE_IN_TRAINING);
        break;
    case PAGE_SIGNED:
        draw_ring(cairo, x, y, 0.9 * r);
        break;
    case PAGE_DUE:
        draw_ring(cairo, x - 0.2 * r, y - 0.1 * r, 0.7 * r);
        draw_wedge(cairo, x + 0.8 * r, y + 0.7 * r, 0.45 * r);
        break;
    case PAGE_LAPSED:
        draw_wedge(cairo, x, y, r);
        break;
    case PAGE_WITHDRAWN:
        cairo_rectangle(cairo, x - r, y - 0.34 * r, 2 * r, 0.68 * r);
        cairo_fill(cairo);
        break;
    case PAGE_FROM_PAPER:
        draw_paper(cairo, x, y, r);
        break;
    case PAGE_MISSED:
        cairo_set_line_width(cairo, 0.36 * r);
        draw_segment(cairo, x - 0.82 * r, y - 0.82 * r, x + 0.82 * r, y + 0.82 * r);
        draw_segment(cairo, x - 0.82 * r, y + 0.82 * r, x + 0.82 * r, y - 0.82 * r);
        break;
    case PAGE_BOX:
        cairo_set_line_width(cairo, 0.9);
        cairo_rectangle(cairo, x - r, y - r, 2 * r, 2 * r);
        cairo_stroke(cairo);
        break;
    }
}

/* --- Pages ----------------------------------------------------------------------------------- */

static void end_page(Sheet *sheet)
{
    double top = sheet->height - MARGIN - height_of(sheet->foot);
    Text number = {0};
    ink(sheet, LINE);
    cairo_set_line_width(sheet->cairo, 0.6);
    draw_segment(sheet->cairo, MARGIN, top - 5, sheet->width - MARGIN, top - 5);
    ink(sheet, SOFT);
    cairo_move_to(sheet->cairo, MARGIN, top);
    pango_cairo_show_layout(sheet->cairo, sheet->foot);
    text_addf(&number, "%d/%d", sheet->number, sheet->total);
    Words words = {.text = number.bytes, .size = SMALL};
    draw_text(sheet, &words, sheet->width - MARGIN - width_of(sheet, &words), top);
    text_clear(&number);
    cairo_show_page(sheet->cairo);
    sheet->number++;
    sheet->y = MARGIN;
}

/* Room for so much; begins a page where there is none, unless this one is empty. */
static void need(Sheet *sheet, double height)
{
    if (sheet->y + height > sheet->bottom && sheet->y > MARGIN) end_page(sheet);
}

/* One text down the page, over as many pages as it needs. */
static void flow(Sheet *sheet, const Words *words, double x)
{
    PangoLayout *layout = lay_out(sheet, words);
    int count = pango_layout_get_line_count(layout);
    int next = 0;
    while (next < count) {
        int before = next;
        ink(sheet, INK);
        sheet->y += draw_lines(sheet, layout, x, sheet->y, sheet->bottom, &next);
        if (next < count) end_page(sheet);
        CHECK(next > before || sheet->y <= MARGIN);
    }
    g_object_unref(layout);
}

/* --- Tables ---------------------------------------------------------------------------------- */

/* The columns of a table that stand side by side: the first one, and some of the others. */
typedef struct {
    size_t columns[COLUMNS_MAX];
    double widths[COLUMNS_MAX]; /* of the text and mark, without PAD */
    size_t count;
    bool is_first_bold;
} Slice;

static double cell_width(const Sheet *sheet, const PageCell *cell, double width)
{
    Words words = {.text = cell->text, .note = cell->note, .size = NORMAL, .width = width};
    return width_of(sheet, &words) + (cell->mark == PAGE_PLAIN ? 0 : MARK_ROOM) + 1;
}

/* What a column wants, and what it needs so that no word is broken. */
static void measure(const Sheet *sheet, const PageBlock *table, size_t column, double *want,
                    double *least)
{
    double limit = 0.45 * sheet->width;
    Words words = {.text = table->columns[column].name, .size = SMALL, .is_bold = true};
    *want = width_of(sheet, &words) + 1;
    words.width = LONGEST_WORD;
    *least = width_of(sheet, &words) + 1;
    size_t end = table->column_count * MEASURED_ROWS;
    for (size_t i = column; i < table->cell_count && i < end; i += table->column_count) {
        *want = fmax(*want, cell_width(sheet, &table->cells[i], 0));
        *least = fmax(*least, cell_width(sheet, &table->cells[i], LONGEST_WORD));
    }
    *want = fmin(*want, limit);
    *least = fmin(*least, 0.2 * sheet->width);
    *want = fmax(*want, *least);
}

/* Take columns from *next on, behind the first, while there is room; widen them to fill the
 * page. */
static void slice(const Sheet *sheet, const PageBlock *table, size_t *next, Slice *out)
{
    double room = sheet->width - 2 * MARGIN;
    double wants = 0;
    double leasts = 0;
    double want[COLUMNS_MAX] = {0};
    double least[COLUMNS_MAX] = {0};
    *out = (Slice){.count = 0};
    while (out->count < COLUMNS_MAX) {
        size_t column = out->count == 0 ? 0 : *next;
        if (column >= table->column_count) break;
        size_t at = out->count;
        measure(sheet, table, column, &want[at], &least[at]);
        if (at > 1 && leasts + least[at] + PAD * (double)at > room) break;
        wants += want[at];
        leasts += least[at];
        out->columns[out->count++] = column;
        if (at > 0 || *next == 0) (*next)++;
    }
    room -= PAD * (double)(out->count - 1);
    for (size_t i = 0; i < out->count; i++) {
        double more = wants > leasts ? (want[i] - least[i]) / (wants - leasts) : 0;
        if (wants <= room)
            out->widths[i] = want[i] + (room - wants) / (double)out->count;
        else
            out->widths[i] = least[i] + fmax(room - leasts, 0) * more;
    }
}

/* One row, whose texts may go on over several pages. */
static void draw_cells(Sheet *sheet, const Slice *columns, const PageCell *cells[], double size,
                       bool is_bold)
{
    PangoLayout *layouts[COLUMNS_MAX];
    int next[COLUMNS_MAX] = {0};
    double tallest = 0;
    bool goes_on = true;
    for (size_t i = 0; i < columns->count; i++) {
        double room = cells[i]->mark == PAGE_PLAIN ? 0 : MARK_ROOM;
        Words words = {.text = cells[i]->text,
                       .note = cells[i]->note,
                       .size = size,
                       .width = fmax(columns->widths[i] - room, 1),
                       .is_bold = is_bold || (i == 0 && columns->is_first_bold)};
        layouts[i] = lay_out(sheet, &words);
        tallest = fmax(tallest, height_of(layouts[i]));
    }
    if (tallest < sheet->bottom - MARGIN - 3 * PAD) need(sheet, tallest + PAD);
    while (goes_on) {
        double x = MARGIN;
        double used = 0;
        goes_on = false;
        ink(sheet, INK);
        for (size_t i = 0; i < columns->count; i++) {
            double room = cells[i]->mark == PAGE_PLAIN ? 0 : MARK_ROOM;
            if (next[i] == 0) draw_mark(sheet->cairo, cells[i]->mark, x + 7, sheet->y + 10, 5);
            used = fmax(used, draw_lines(sheet, layouts[i], x + room, sheet->y + PAD / 2,
                                         sheet->bottom - PAD / 2, &next[i]));
            goes_on = goes_on || next[i] < pango_layout_get_line_count(layouts[i]);
            x += columns->widths[i] + PAD;
        }
        sheet->y += used + PAD;
        if (goes_on) end_page(sheet);
    }
    ink(sheet, LINE);
    cairo_set_line_width(sheet->cairo, is_bold ? 1.2 : 0.5);
    draw_segment(sheet->cairo, MARGIN, sheet->y, sheet->width - MARGIN, sheet->y);
    for (size_t i = 0; i < columns->count; i++) {
        g_object_unref(layouts[i]);
    }
}

static void draw_head(Sheet *sheet, const PageBlock *table, const Slice *columns)
{
    PageCell names[COLUMNS_MAX];
    const PageCell *cells[COLUMNS_MAX];
    for (size_t i = 0; i < columns->count; i++) {
        names[i] = (PageCell){PAGE_PLAIN, table->columns[columns->columns[i]].name, ""};
        cells[i] = &names[i];
    }
    draw_cells(sheet, columns, cells, SMALL, true);
}

static void draw_slice(Sheet *sheet, const PageBlock *table, const Slice *columns)
{
    need(sheet, 60);
    draw_head(sheet, table, columns);
    for (size_t row = 0; row < page_rows(table); row++) {
        const PageCell *cells[COLUMNS_MAX];
        int number = sheet->number;
        double room = 3 * NORMAL + PAD; /* the usual row: a line and its note */
        if (sheet->y + room > sheet->bottom) end_page(sheet);
        if (sheet->number != number) draw_head(sheet, table, columns);
        for (size_t i = 0; i < columns->count; i++) {
            cells[i] = &table->cells[row * table->column_count + columns->columns[i]];
        }
        draw_cells(sheet, columns, cells, NORMAL, false);
    }
    sheet->y += PAD;
}

static void draw_table(Sheet *sheet, const PageBlock *table)
{
    size_t next = 0;
    if (table->name[0] != '\0') {
        need(sheet, 80);
        Words words = {.text = table->name,
                       .size = HEADING,
                       .width = sheet->width - 2 * MARGIN,
                       .is_bold = true};
        sheet->y += PAD;
        flow(sheet, &words, MARGIN);
    }
    while (next < table->column_count) {
        Slice columns;
        slice(sheet, table, &next, &columns);
        draw_slice(sheet, table, &columns);
    }
}

/* --- The drawing of a pack ------------------------------------------------------------------- */

static const double DRAWING = 150; /* its height, of which its captions take this */
static const double CAPTION = 12;

static void draw_caption(const Sheet *sheet, const char *text, double x, double y, double width)
{
    Words words = {.text = text, .size = SMALL, .width = width};
    ink(sheet, INK);
    draw_text(sheet, &words, x, y);
}

static void box(const Sheet *sheet, double x, double y, double width, double height,
                const double fill[3])
{
    cairo_rectangle(sheet->cairo, x, y, width, height);
    ink(sheet, fill);
    cairo_fill_preserve(sheet->cairo);
    ink(sheet, INK);
    cairo_set_line_width(sheet->cairo, 1.2);
    cairo_stroke(sheet->cairo);
}

static void dot(const Sheet *sheet, double x, double y)
{
    cairo_new_sub_path(sheet->cairo);
    cairo_arc(sheet->cairo, x, y, 4.5, 0, 2 * G_PI);
    ink(sheet, ACCENT);
    cairo_fill_preserve(sheet->cairo);
    ink(sheet, INK);
    cairo_set_line_width(sheet->cairo, 0.8);
    cairo_stroke(sheet->cairo);
}

static void dash(const Sheet *sheet, double x, double y, double to_x, double to_y)
{
    const double dashes[] = {5, 4};
    cairo_set_dash(sheet->cairo, dashes, 2, 0);
    cairo_set_line_width(sheet->cairo, 0.8);
    ink(sheet, LINE);
    draw_segment(sheet->cairo, x, y, to_x, to_y);
    cairo_set_dash(sheet->cairo, NULL, 0, 0);
}

/* Travel is to the right: the leading end is the right one. */
static void draw_above(const Sheet *sheet, const PageDrawing *pack, double x, double y, double room)
{
    double scale =
        fmin((room - 24) / (double)pack->pack_length_um, 62 / (double)pack->pack_width_um);
    double length = scale * (double)pack->pack_length_um;
    double width = scale * (double)pack->pack_width_um;
    double left = x + (room - length) / 2;
    double top = y + 18 + (70 - width) / 2;
    draw_caption(sheet, pack->above, x, y - CAPTION, room);
    ink(sheet, INK);
    cairo_set_line_width(sheet->cairo, 1.2);
    draw_segment(sheet->cairo, x, y + 16, x + room, y + 16);
    draw_segment(sheet->cairo, x, y + 90, x + room, y + 90);
    box(sheet, left, top, length, width, WASH);
    dash(sheet, x, y + 53, x + room, y + 53);
    for (int i = 0; i < PAGE_PLACES; i++) {
        double at = left + length * (i == 0 ? 0.92 : i == 1 ? 0.5 : 0.08);
        if (pack->spots[i] == NULL) continue;
        Words words = {.text = pack->spots[i], .size = SMALL};
        double wide = width_of(sheet, &words);
        double from = left + length / 2 + (1 - i) * room / 3 - wide / 2;
        dot(sheet, at, y + 53);
        cairo_set_line_width(sheet->cairo, 0.6);
        ink(sheet, INK);
        draw_segment(sheet->cairo, at, y + 58, from + wide / 2, y + 103);
        draw_text(sheet, &words, from, y + 104);
    }
    draw_segment(sheet->cairo, x, y + 126, x + 40, y + 126);
    draw_segment(sheet->cairo, x + 34, y + 122, x + 40, y + 126);
    draw_segment(sheet->cairo, x + 34, y + 130, x + 40, y + 126);
    draw_caption(sheet, pack->travel, x + 46, y + 120, room - 46);
}

static void draw_front(const Sheet *sheet, const PageDrawing *pack, double x, double y, double room)
{
    double tall = 96;
    double scale = fmin((room - 110) / (double)pack->aperture_width_um,
                        tall / (double)pack->aperture_height_um);
    double width = scale * (double)pack->aperture_width_um;
    double height = scale * (double)pack->aperture_height_um;
    double floor_y = y + 24 + height;
    double belt = floor_y - scale * (double)pack->belt_up_um;
    double pack_width = scale * (double)pack->pack_width_um;
    double pack_height = scale * (double)pack->pack_height_um;
    double middle = x + 8 + width / 2;
    draw_caption(sheet, pack->front, x, y - CAPTION, room);
    box(sheet, x, y + 16, width + 16, height + 16, TINT);
    box(sheet, x + 8, y + 24, width, height, WHITE);
    draw_segment(sheet->cairo, x + 8, belt, x + 8 + width, belt);
    box(sheet, middle - pack_width / 2, belt - pack_height, pack_width, pack_height, WASH);
    dash(sheet, x + 8, floor_y - height / 2, x + 8 + width, floor_y - height / 2);
    double label = fmax(y + 18, belt - pack_height - 20);
    for (int i = 0; i < PAGE_PLACES; i++) {
        double at = belt - pack_height * (i == 0 ? 1 : i == 1 ? 0.5 : 0);
        if (pack->heights[i] == NULL) continue;
        dot(sheet, middle, at);
        cairo_set_line_width(sheet->cairo, 0.6);
        draw_segment(sheet->cairo, middle + 5, at, x + width + 24, label + 5);
        draw_caption(sheet, pack->heights[i], x + width + 26, label, room - width - 26);
        label += 16;
    }
}

static void draw_pack(Sheet *sheet, const PageDrawing *pack)
{
    double room = sheet->width - 2 * MARGIN;
    need(sheet, DRAWING);
    sheet->y += PAD;
    double top = sheet->y + CAPTION;
    draw_above(sheet, pack, MARGIN, top, 0.48 * room);
    draw_front(sheet, pack, MARGIN + 0.54 * room, top, 0.46 * room);
    sheet->y += DRAWING - PAD;
}

/* --- Blocks ---------------------------------------------------------------------------------- */

static void draw_field(Sheet *sheet, const PageBlock *field)
{
    double room = sheet->width - 2 * MARGIN - PAD;
    PageCell cells[] = {{PAGE_PLAIN, field->name, ""},
                        {PAGE_PLAIN, field->text == NULL ? " \n " : field->text, ""}};
    const PageCell *pointers[] = {&cells[0], &cells[1]};
    Slice columns = {.widths = {0.3 * room, 0.7 * room}, .count = 2, .is_first_bold = true};
    draw_cells(sheet, &columns, pointers, NORMAL, false);
}

static void draw_block(Sheet *sheet, const PageBlock *block)
{
    double room = sheet->width - 2 * MARGIN;
    Words words = {.text = block->text, .size = NORMAL, .width = room};
    switch (block->kind) {
    case PAGE_HEADING:
        words.size = HEADING;
        words.is_bold = true;
        sheet->y += PAD;
        need(sheet, 60);
        flow(sheet, &words, MARGIN);
        break;
    case PAGE_PARAGRAPH:
        flow(sheet, &words, MARGIN);
        sheet->y += PAD / 2;
        break;
    case PAGE_STEP:
    case PAGE_CAUTION: {
        Text number = {0};
        text_addf(&number, "%d", block->number);
        Words label = {.text = number.bytes, .size = NORMAL, .is_bold = true};
        need(sheet, 2 * NORMAL);
        ink(sheet, INK);
        if (block->kind == PAGE_STEP) draw_text(sheet, &label, MARGIN, sheet->y);
        if (block->kind == PAGE_CAUTION) {
            draw_wedge(sheet->cairo, MARGIN + 5, sheet->y + 7, 4);
        }
        words.width = room - MARK_ROOM;
        flow(sheet, &words, MARGIN + MARK_ROOM);
        sheet->y += PAD / 3;
        text_clear(&number);
        break;
    }
    case PAGE_FIELD:
        draw_field(sheet, block);
        break;
    case PAGE_TABLE:
        draw_table(sheet, block);
        break;
    case PAGE_DRAWING:
        draw_pack(sheet, &block->drawing);
        break;
    }
}

static void draw_page(Sheet *sheet)
{
    const Page *page = sheet->page;
    double room = sheet->width - 2 * MARGIN;
    Words title = {.text = page->title, .size = TITLE, .width = room, .is_bold = true};
    Words subtitle = {.text = page->subtitle, .size = NORMAL, .width = room};
    Words foot = {.text = page->foot, .size = SMALL, .width = room - 50};
    sheet->foot = lay_out(sheet, &foot);
    sheet->bottom = sheet->height - MARGIN - height_of(sheet->foot) - 12;
    sheet->y = MARGIN;
    sheet->number = 1;
    flow(sheet, &title, MARGIN);
    flow(sheet, &subtitle, MARGIN);
    sheet->y += PAD;
    for (size_t i = 0; i < page->block_count; i++) {
        bool new_kind = i > 0 && page->blocks[i].kind != page->blocks[i - 1].kind;
        if (new_kind) sheet->y += PAD;
        draw_block(sheet, &page->blocks[i]);
    }
    end_page(sheet);
    g_object_unref(sheet->foot);
}

/* --- Document -------------------------------------------------------------------------------- */

static cairo_status_t write_bytes(void *context, const unsigned char *bytes, unsigned int count)
{
    Text *out = context;
    if (out != NULL) text_add_bytes(out, (const char *)bytes, count);
    return CAIRO_STATUS_SUCCESS;
}

static void describe(cairo_surface_t *surface, const Page *page)
{
    char date[REC_STAMP_BYTES];
    rec_stamp_print(page->as_of_us, date);
    memcpy(date + strlen("2026-03-02T09:14:31"), "Z", 2); /* cairo takes whole seconds */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, page->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Threepass");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_MOD_DATE, date);
}

/* Which way a language is written. */
static PangoDirection direction_of(PangoLanguage *language)
{
    int count = 0;
    const PangoScript *scripts = pango_language_get_scripts(language, &count);
    bool is_to_left =
        count > 0 && (scripts[0] == PANGO_SCRIPT_ARABIC || scripts[0] == PANGO_SCRIPT_HEBREW ||
                      scripts[0] == PANGO_SCRIPT_THAANA);
    return is_to_left ? PANGO_DIRECTION_RTL : PANGO_DIRECTION_LTR;
}

/* Draw the whole document, everything `scale` times as large, into `out` (NULL: nowhere); *pages is
 * how many they were and, before, how many to say there are. */
static cairo_status_t print(const Page *page, PangoFontMap *fonts, double scale, int *pages,
                            Text *out)
{
    double width = page->is_wide ? LONG_SIDE : SHORT_SIDE;
    double height = page->is_wide ? SHORT_SIDE : LONG_SIDE;
    Sheet sheet = {.page = page, .width = width / scale, .height = height / scale, .total = *pages};
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(write_bytes, out, width, height);
    describe(surface, page);
    sheet.cairo = cairo_create(surface);
    cairo_scale(sheet.cairo, scale, scale);
    sheet.context = pango_font_map_create_context(fonts);
    PangoLanguage *language = pango_language_from_string(page->language);
    pango_context_set_language(sheet.context, language);
    pango_context_set_base_dir(sheet.context, direction_of(language));
    pango_context_set_round_glyph_positions(sheet.context, FALSE);
    pango_cairo_update_context(sheet.cairo, sheet.context);
    draw_page(&sheet);
    *pages = sheet.number - 1;
    g_object_unref(sheet.context);
    cairo_status_t status = cairo_status(sheet.cairo);
    cairo_destroy(sheet.cairo);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS) status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return status;
}

bool pdf_print(const Page *page, Text *out, Err *err)
{
    CHECK(page != NULL && out != NULL && err != NULL);
    Text bytes = {0};
    int pages = 0;
    PangoFontMap *fonts = pango_cairo_font_map_new();
    double scale = 1;
    cairo_status_t status = print(page, fonts, scale, &pages, NULL);
    while (page->is_one_page && pages > 1 && scale > SCALE_MIN) {
        scale -= SCALE_STEP;
        pages = 0;
        status = print(page, fonts, scale, &pages, NULL);
    }
    if (status == CAIRO_STATUS_SUCCESS) status = print(page, fonts, scale, &pages, &bytes);
    g_object_unref(fonts);
    if (status == CAIRO_STATUS_SUCCESS) text_add_bytes(out, text_string(&bytes), bytes.len);
    text_clear(&bytes);
    if (status == CAIRO_STATUS_SUCCESS) return true;
    return err_set(err, ERR_IO, "%s: no PDF: %s", page->report, cairo_status_to_string(status));
}
