/* The line in plan view: belt, packs, head, eye, reject device, bin and pallet. */
#include <math.h>
#include <stdio.h>

#include "ui/session.h"

enum { LEFT_MM = -700, SEEN_US = 2000000, SMALL_WIDTH = 800 };

/* Where the belt lies on the canvas. */
typedef struct {
    double x0, px_per_mm; /* the coils' x, and the scale */
    double left, right;   /* of the belt */
    double top, bottom;
    double head_half; /* half the head's width */
    double line_px;   /* the height of a caption's line */
    double column;    /* the width of what stands behind the belt */
    bool is_small;    /* no room beside the belt: no pallet, and only the captions of what acts */
} Belt;

static double x_of(const Belt *belt, int64_t place_um)
{
    return belt->x0 + (double)place_um / 1000.0 * belt->px_per_mm;
}

/* Captions of enlarged text need room: the belt lies higher then, and is shorter. */
static Belt belt_in(const Ui *ui, const LineSetup *setup, DrawRect box)
{
    double left_mm = fmax((double)setup->infeed_um / 1000.0, LEFT_MM);
    double right_mm = (double)setup->end_um / 1000.0;
    bool small = box.w < SMALL_WIDTH;
    double line = draw_line_height(ui_px(ui, 16));
    double column = 2.26 * ui->text_percent;
    double width = box.w - (small ? 0.0 : column + 24.0);
    double scale = fmin(0.4, width / (right_mm - left_mm));
    double height = fmin(100.0, box.h * 0.36);
    double middle = box.y + (ui->text_percent > 100 ? 38.0 + line + height / 2.0 : box.h * 0.46);
    return (Belt){.x0 = box.x - left_mm * scale,
                  .px_per_mm = scale,
                  .left = box.x,
                  .right = box.x + (right_mm - left_mm) * scale,
                  .top = middle - height / 2.0,
                  .bottom = middle + height / 2.0,
                  .head_half = small ? 42.0 : 56.0,
                  .line_px = line,
                  .column = column,
                  .is_small = small};
}

static void caption(Ui *ui, double x, double y, double w, DrawAlign align, bool is_bold,
                    const char *words)
{
    (void)ui_text(ui, (DrawRect){x, y, w, 0}, 16, is_bold, DRAW_INK, DRAW_PAPER, align, words);
}

static void draw_belt(Ui *ui, const Belt *belt)
{
    DrawRect sheet = {belt->left, belt->top, belt->right - belt->left, belt->bottom - belt->top};
    DrawPoint top[] = {{belt->left, belt->top}, {belt->right, belt->top}};
    DrawPoint bottom[] = {{belt->left, belt->bottom}, {belt->right, belt->bottom}};
    draw_rect(ui->list, sheet, DRAW_SHEET, DRAW_NONE, 0, 0);
    draw_line(ui->list, top, 2, DRAW_INK, 2);
    draw_line(ui->list, bottom, 2, DRAW_INK, 2);
    DrawRect end = {belt->right - 12, belt->top, 12, belt->bottom - belt->top};
    draw_rect(ui->list, end, DRAW_TINT, DRAW_INK, 2, 6);
}

/* A pack on the belt; a test pack has cut corners and a band; under the head it is dashed. */
static void draw_pack(Ui *ui, const Belt *belt, const ProductBlock *block, LinePicture pack)
{
    double w = block->length_m * 1000.0 * belt->px_per_mm;
    double h = fmin(block->width_m * 1000.0 * belt->px_per_mm, belt->bottom - belt->top - 8.0);
    double x = x_of(belt, pack.place_um) - w / 2.0;
    double y = (belt->top + belt->bottom - h) / 2.0;
    DrawRect box = {x, y, w, h};
    if (x < belt->left || x + w > belt->right - 12.0) return;
    bool hidden = fabs(x_of(belt, pack.place_um) - belt->x0) < belt->head_half;
    if (hidden) {
        draw_dashed_rect(ui->list, box, DRAW_INK, 2, 5, 4);
    } else if (pack.test == 0) {
        DrawPoint front[] = {{x + w - 6, y}, {x + w - 6, y + h}};
        DrawPoint rear[] = {{x + 6, y}, {x + 6, y + h}};
        draw_rect(ui->list, box, DRAW_SHEET, DRAW_INK, 2, 0);
        draw_line(ui->list, front, 2, DRAW_INK, 1);
        draw_line(ui->list, rear, 2, DRAW_INK, 1);
    } else {
        double c = fmin(7.0, h / 3.0);
        DrawPoint cut[] = {{x + c, y},         {x + w - c, y}, {x + w, y + c}, {x + w, y + h - c},
                           {x + w - c, y + h}, {x + c, y + h}, {x, y + h - c}, {x, y + c}};
        DrawPoint a[] = {{x + w / 2 - 7, y}, {x + w / 2 - 7, y + h}};
        DrawPoint b[] = {{x + w / 2 + 7, y}, {x + w / 2 + 7, y + h}};
        draw_polygon(ui->list, cut, 8, DRAW_WASH, DRAW_INK, 2);
        draw_line(ui->list, a, 2, DRAW_INK, 2);
        draw_line(ui->list, b, 2, DRAW_INK, 2);
    }
}

static void draw_head(Ui *ui, const Belt *belt)
{
    double h = belt->bottom - belt->top + 56.0;
    DrawRect box = {belt->x0 - belt->head_half, belt->top - 28, 2 * belt->head_half, h};
    draw_rect(ui->list, box, DRAW_TINT, DRAW_INK, 2, 4);
    for (int i = -1; i <= 1; i++) {
        double x = belt->x0 + i * 0.56 * belt->head_half;
        draw_dashes(ui->list, (DrawPoint){x, box.y + 10}, (DrawPoint){x, box.y + h - 10}, DRAW_INK,
                    2, 7, 6);
    }
    caption(ui, belt->x0 - 76, box.y - 2 - belt->line_px, 152, DRAW_MIDDLE, false,
            ui_say(ui, "line.head"));
}

static void draw_eye(Ui *ui, const Belt *belt, const LineSetup *setup)
{
    double x = x_of(belt, setup->eye_um);
    if (x < belt->left + 20.0 || x > belt->x0 - belt->head_half - 8.0) return;
    draw_rect(ui->list, (DrawRect){x - 7, belt->top - 14, 14, 12}, DRAW_INK, DRAW_NONE, 0, 0);
    draw_rect(ui->list, (DrawRect){x - 6, belt->bottom + 4, 12, 10}, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_dashes(ui->list, (DrawPoint){x, belt->top}, (DrawPoint){x, belt->bottom}, DRAW_INK, 2, 4,
                5);
    if (belt->is_small) return;
    if (ui->text_percent > 100) {
        double width = ui_width(ui, 16, false, ui_say(ui, "line.eye")) + 2.0;
        caption(ui, fmax(x - width / 2.0, belt->left + UI_MARGIN), belt->bottom + 16, width,
                DRAW_START, false, ui_say(ui, "line.eye"));
        return;
    }
    caption(ui, x - 70, belt->top - 42, 130, DRAW_START, false, ui_say(ui, "line.eye"));
}

/* The reject device over the belt, its strokes while it has just acted, and the bin opposite. */
static void draw_reject(Ui *ui, const Belt *belt, const Player *player, DrawRect box, bool acts)
{
    const LineSetup *setup = &player_setup(player)->scenario->line->setup;
    double x = x_of(belt, setup->reject_um);
    DrawPoint jet[] = {{x - 14, belt->top - 30},
                       {x + 14, belt->top - 30},
                       {x + 6, belt->top - 8},
                       {x - 6, belt->top - 8}};
    draw_polygon(ui->list, jet, 4, DRAW_TINT, DRAW_INK, 2);
    for (int i = -1; acts && i <= 1; i++) {
        DrawPoint stroke[] = {{x + i * 8.0, belt->top + 4}, {x + i * 12.0, belt->top + 23}};
        draw_line(ui->list, stroke, 2, DRAW_INK, 2);
    }
    double wide = 1.4 * ui->text_percent;
    caption(ui, x - wide / 2.0, belt->top - 34 - belt->line_px, wide, DRAW_MIDDLE, false,
            ui_say(ui, "line.reject"));
    DrawPoint bin[] = {{x - 66, belt->bottom + 8},  {x - 58, belt->bottom + 8},
                       {x - 58, belt->bottom + 68}, {x + 58, belt->bottom + 68},
                       {x + 58, belt->bottom + 8},  {x + 66, belt->bottom + 8}};
    draw_rect(ui->list, (DrawRect){x - 58, belt->bottom + 8, 116, 60}, DRAW_TINT, DRAW_NONE, 0, 0);
    draw_line(ui->list, bin, 6, DRAW_INK, 2);
    bool open = player_bin_is_open(player);
    draw_rect(ui->list, (DrawRect){x - 9, belt->bottom + 61, 18, 15}, DRAW_INK, DRAW_NONE, 0, 2);
    draw_arc(ui->list, open ? x + 8 : x, belt->bottom + 61, 7, open ? -160 : -180, open ? 20 : 0,
             DRAW_INK, 3);
    LineCounts counts = line_counts(player_line(player));
    char words[64];
    int64_t in_bin = counts.good_in_bin + counts.tests_in_bin;
    (void)snprintf(words, sizeof words, "%s: %lld", ui_say(ui, open ? "line.bin-open" : "line.bin"),
                   (long long)in_bin);
    double room = box.x + box.w - (belt->is_small ? 0.0 : belt->column) - UI_GAP - (x + 76);
    caption(ui, x + 76, belt->bottom + 30, room, DRAW_START, true, words);
}

static void draw_pallet(Ui *ui, const Belt *belt, const Player *player, DrawRect box)
{
    double x = box.x + box.w - belt->column;
    char words[96];
    DrawPoint shaft[] = {{belt->right + 4, (belt->top + belt->bottom) / 2},
                         {fmin(belt->right + 34, x - 6), (belt->top + belt->bottom) / 2}};
    draw_line(ui->list, shaft, 2, DRAW_INK, 2);
    for (int i = 0; i < 3; i++) {
        draw_rect(ui->list, (DrawRect){x, belt->top - 12 + 30.0 * i, 116, 12}, DRAW_TINT, DRAW_INK,
                  2, 0);
    }
    LineCounts counts = line_counts(player_line(player));
    int64_t cases = (counts.good_on_pallet + 23) / 24;
    for (int64_t i = 0; i < 9 && i < cases; i++) {
        int64_t row = i / 3;
        DrawRect pack = {x + 12 + 30.0 * (double)(i % 3), belt->top - 22 + 26.0 * (double)row, 30,
                         26};
        draw_rect(ui->list, pack, DRAW_SHEET, DRAW_INK, 2, 0);
    }
    caption(ui, x + 126, belt->top - 20, belt->column - 126.0, DRAW_START, false,
            ui_say(ui, "line.pallet"));
    (void)snprintf(words, sizeof words, "%lld", (long long)player_made_since_check(player));
    (void)ui_text(ui, (DrawRect){x, belt->bottom + 10, belt->column, 0}, 24, true, DRAW_INK,
                  DRAW_PAPER, DRAW_START, words);
    caption(ui, x, belt->bottom + 12 + 1.5 * belt->line_px, belt->column, DRAW_START, false,
            ui_say(ui, "line.since-check"));
}

void line_view(Ui *ui, const Player *player, DrawRect box, const RunView *view)
{
    const Scenario *scenario = player_setup(player)->scenario;
    const LineSetup *setup = &scenario->line->setup;
    const ProductBlock block = site_block(scenario->site, scenario->line, scenario->product);
    LinePicture packs[LINE_PACKS_MAX];
    Belt belt = belt_in(ui, setup, box);
    int64_t now = player_now_us(player);
    bool acts =
        view != NULL && view->last_blow_us >= 0 && now - view->last_blow_us < setup->stroke_us * 2;
    bool rings = view != NULL && view->last_alarm_us >= 0 && now - view->last_alarm_us < SEEN_US;
    draw_belt(ui, &belt);
    draw_head(ui, &belt);
    draw_eye(ui, &belt, setup);
    int count = line_picture(player_line(player), packs);
    for (int i = 0; i < count; i++) {
        draw_pack(ui, &belt, &block, packs[i]);
    }
    draw_reject(ui, &belt, player, box, acts);
    if (!belt.is_small) draw_pallet(ui, &belt, player, box);
    /* In enlarged text the eye's caption has the row below the belt: these go under it. */
    double under = belt.bottom + (ui->text_percent > 100 ? 20.0 + belt.line_px : 12.0);
    double y = belt.is_small ? belt.bottom + 40.0 : under + belt.line_px / 2.0;
    DrawPoint arrow[] = {{box.x, y}, {box.x + 60, y}};
    DrawPoint tip[] = {{box.x + 52, y - 6}, {box.x + 60, y}, {box.x + 52, y + 6}};
    draw_line(ui->list, arrow, 2, DRAW_INK, 2);
    draw_line(ui->list, tip, 3, DRAW_INK, 2);
    if (belt.is_small) return;
    caption(ui, box.x + 70, under, 1.5 * ui->text_percent, DRAW_START, false,
            ui_say(ui, "line.travel"));
    if (rings) {
        caption(ui, fmax(belt.x0 - 60, box.x + UI_MARGIN), under + belt.line_px - 4.0,
                2.6 * ui->text_percent, DRAW_START, true, ui_say(ui, "line.found"));
    }
}
