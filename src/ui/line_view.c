/* The line in plan view: belt, packs, head, eye, reject device, bin, and where the packs stand that
 * were made since the last good check. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/pass.h"
#include "ui/plot.h"

enum {
    LEFT_MM = -700,
    SEEN_US = 2000000,
    SMALL_WIDTH = 800,
    BIN_SHOWN = 32,
    STOCK_WIDTH = 156,
    EYE_BELOW = 30, /* the eye's caption, below the belt and what stands over it */
};

/* What stands at a place since the last good check, as far as people know it: what stood there
 * before the run; at the pallet also what the run has made. */
typedef struct {
    int64_t packs, from_us, to_us; /* times of day */
    bool is_held, has_left;
} Standing;

/* Where the belt lies on the canvas. */
typedef struct {
    double x0, px_per_mm; /* the coils' x, and the scale */
    double left, right;   /* of the belt */
    double top, bottom;
    double head_half; /* half the head's width */
    double over;      /* what the head stands over the belt on each side */
    double line_px;   /* the height of a caption's line */
    double column;    /* the width of what stands behind the belt */
    int places;       /* of stock: more than the pallet stand side by side */
    bool is_small;    /* no room beside the belt: no pallet, and only the captions of what acts */
    bool is_slim;     /* a strip: no captions at all */
    int lanes;
} Belt;

/* The part of the belt that is one lane, from 0 at its upper edge. */
static Belt lane_of(const Belt *belt, int lane)
{
    Belt part = *belt;
    double height = (belt->bottom - belt->top) / belt->lanes;
    part.top = belt->top + lane * height;
    part.bottom = part.top + height;
    if (belt->lanes > 1) part.over = belt->over / 2.0;
    return part;
}

static double x_of(const Belt *belt, int64_t place_um)
{
    return belt->x0 + (double)place_um / 1000.0 * belt->px_per_mm;
}

static void find_stock(const Player *player, Standing stock[STOCK_PLACE_COUNT])
{
    const Scenario *scenario = player_setup(player)->scenario;
    size_t count;
    const LogLine *log = player_log(player, &count);
    memset(stock, 0, STOCK_PLACE_COUNT * sizeof *stock);
    for (int i = 0; i < scenario->stock_count; i++) {
        const Stock *there = &scenario->stocks[i];
        Standing *standing = &stock[there->place];
        if (there->packs == 0 || there->to_us <= scenario->last_good_check_us) continue;
        if (standing->packs == 0 || there->from_us < standing->from_us)
            standing->from_us = there->from_us;
        if (there->to_us > standing->to_us) standing->to_us = there->to_us;
        standing->packs += there->packs;
    }
    int64_t made = line_counts(player_line(player)).good_on_pallet;
    if (stock[STOCK_PALLET].packs == 0) stock[STOCK_PALLET].from_us = scenario->clock_us;
    if (made > 0) stock[STOCK_PALLET].to_us = scenario->clock_us + player_now_us(player);
    stock[STOCK_PALLET].packs += made;
    for (size_t i = 0; i < count; i++) {
        bool is_held = log_is(&log[i], HAPPENING_HELD);
        bool has_left = log_is(&log[i], HAPPENING_STOCK_LEFT);
        if (!is_held && !has_left && !log_is(&log[i], HAPPENING_RELEASED)) continue;
        const char *place = log_word(&log[i], "place");
        for (int p = 0; p < STOCK_PLACE_COUNT; p++) {
            if (strcmp(place, "everything") != 0 && strcmp(place, scenario_stock_words[p]) != 0)
                continue;
            if (has_left)
                stock[p].has_left = true;
            else
                stock[p].is_held = is_held;
        }
    }
}

bool line_has_stock(const Player *player, int place)
{
    Standing stock[STOCK_PLACE_COUNT];
    find_stock(player, stock);
    return place == STOCK_PALLET || stock[place].packs > 0;
}

bool line_is_held(const Player *player, int place)
{
    Standing stock[STOCK_PLACE_COUNT];
    find_stock(player, stock);
    return stock[place].is_held;
}

bool line_is_locked_off(const Player *player)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_LOCKED_OFF)) return true;
        if (log_is(&log[i - 1], HAPPENING_UNLOCKED)) return false;
    }
    return false;
}

/* How many places have a drawing: the pallet always has. */
static int count_places(const Standing stock[STOCK_PLACE_COUNT])
{
    int places = 1;
    for (int p = 0; p < STOCK_PLACE_COUNT; p++) {
        places += p != STOCK_PALLET && stock[p].packs > 0;
    }
    return places;
}

/* Captions of enlarged text need room: the belt lies higher then, and is shorter. */
static Belt belt_in(const Ui *ui, const LineSetup *setup, DrawRect box, int places)
{
    double left_mm = fmax((double)setup->infeed_um / 1000.0, LEFT_MM);
    double right_mm = (double)setup->end_um / 1000.0;
    bool small = box.w < SMALL_WIDTH;
    double line = draw_line_height(ui_px(ui, 16));
    double column = (ui->text_percent > 100 ? 2.26 : 2.38) * ui->text_percent;
    if (places > 1) /* enlarged, their words alone: a name, a count and times in one line */
        column = ui->text_percent == 100 ? STOCK_WIDTH * places : 2.62 * ui->text_percent;
    double width = box.w - (small ? 0.0 : column + 24.0);
    double scale = fmin(0.4, width / (right_mm - left_mm));
    double height = fmin(100.0, box.h * 0.36);
    if (ui->text_percent > 100) /* one row of captions over it, three below */
        height = fmin(height, fmax(box.h - 38.0 - EYE_BELOW - 4.0 * line, 60.0));
    double middle = box.y + (ui->text_percent > 100 ? 38.0 + line + height / 2.0 : box.h * 0.46);
    return (Belt){.x0 = box.x - left_mm * scale,
                  .px_per_mm = scale,
                  .left = box.x,
                  .right = box.x + (right_mm - left_mm) * scale,
                  .top = middle - height / 2.0,
                  .bottom = middle + height / 2.0,
                  .head_half = small ? 42.0 : 56.0,
                  .over = 28.0,
                  .line_px = line,
                  .column = column,
                  .places = places,
                  .is_small = small,
                  .lanes = setup->lanes};
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

static void draw_good_pack(Ui *ui, DrawRect box)
{
    double fold = fmin(6.0, box.w / 4.0);
    DrawPoint front[] = {{box.x + box.w - fold, box.y}, {box.x + box.w - fold, box.y + box.h}};
    DrawPoint rear[] = {{box.x + fold, box.y}, {box.x + fold, box.y + box.h}};
    draw_rect(ui->list, box, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_line(ui->list, front, 2, DRAW_INK, 1);
    draw_line(ui->list, rear, 2, DRAW_INK, 1);
}

/* A test pack has cut corners and a band. */
static void draw_test_pack(Ui *ui, DrawRect box)
{
    double x = box.x;
    double y = box.y;
    double w = box.w;
    double h = box.h;
    double c = fmin(7.0, h / 3.0);
    double band = fmin(7.0, w / 4.0);
    DrawPoint cut[] = {{x + c, y},         {x + w - c, y}, {x + w, y + c}, {x + w, y + h - c},
                       {x + w - c, y + h}, {x + c, y + h}, {x, y + h - c}, {x, y + c}};
    DrawPoint a[] = {{x + w / 2 - band, y}, {x + w / 2 - band, y + h}};
    DrawPoint b[] = {{x + w / 2 + band, y}, {x + w / 2 + band, y + h}};
    draw_polygon(ui->list, cut, 8, DRAW_WASH, DRAW_INK, 2);
    draw_line(ui->list, a, 2, DRAW_INK, 2);
    draw_line(ui->list, b, 2, DRAW_INK, 2);
}

/* Where a pack lies: along the belt as the line says it, across it as it was laid, so that one at
 * the guide is drawn at its lane's edge. */
static DrawRect pack_box(const Belt *whole, const Player *player, LinePicture pack)
{
    const Belt lane = lane_of(whole, pack.lane);
    const Belt *belt = &lane;
    const Scenario *scenario = player_setup(player)->scenario;
    const ProductBlock block = site_block(scenario->site, scenario->line, scenario->product);
    double lane_um = (double)scenario->line->setup.lane_um;
    size_t count;
    const LogLine *log = player_log(player, &count);
    double belt_px = belt->bottom - belt->top;
    double w = block.length_m * 1000.0 * belt->px_per_mm;
    double h = fmin(block.width_m * 1000.0 * belt->px_per_mm, belt_px - 8.0);
    double free_um = (lane_um - block.width_m * 1e6) / 2.0;
    double part = 0.0;
    if (pack.test != 0 && free_um > 0.0)
        part = (double)pass_sent_across_um(log, count, pack.test) / free_um;
    return (DrawRect){x_of(belt, pack.place_um) - w / 2.0,
                      belt->top + (belt_px - h) / 2.0 * (1.0 - part), w, h};
}

/* A pack on the belt. */
static void draw_pack(Ui *ui, const Belt *belt, DrawRect box, bool is_test)
{
    if (box.x < belt->left || box.x + box.w > belt->right - 12.0) return;
    if (is_test)
        draw_test_pack(ui, box);
    else
        draw_good_pack(ui, box);
}

/* What the head hides of a pack, in dashes. */
static void draw_hidden(Ui *ui, const Belt *belt, DrawRect box)
{
    double left = belt->x0 - belt->head_half;
    double right = belt->x0 + belt->head_half;
    double from = fmax(box.x, left);
    double to = fmin(box.x + box.w, right);
    double low = box.y + box.h;
    if (to - from < 2.0) return;
    draw_dashes(ui->list, (DrawPoint){from, box.y}, (DrawPoint){to, box.y}, DRAW_INK, 2, 5, 4);
    draw_dashes(ui->list, (DrawPoint){from, low}, (DrawPoint){to, low}, DRAW_INK, 2, 5, 4);
    if (box.x > left)
        draw_dashes(ui->list, (DrawPoint){from, box.y}, (DrawPoint){from, low}, DRAW_INK, 2, 5, 4);
    if (box.x + box.w < right)
        draw_dashes(ui->list, (DrawPoint){to, box.y}, (DrawPoint){to, low}, DRAW_INK, 2, 5, 4);
}

/* Where the i-th of so many packs lies in the bin: two or eight in large, or else in small. */
static DrawRect bin_place(double x, double y, int64_t count, int i)
{
    static const struct {
        int columns;
        double top, w, h, step_y;
    } sizes[] = {{2, 12.0, 44.0, 26.0, 0.0}, {4, 6.0, 22.0, 19.0, 23.0}, {8, 4.0, 11.0, 9.5, 11.5}};
    int size = count <= 2 ? 0 : count <= 8 ? 1 : 2;
    int columns = sizes[size].columns;
    int row = i / columns;
    return (DrawRect){x + 10 + i % columns * 104.0 / columns,
                      y + sizes[size].top + row * sizes[size].step_y, sizes[size].w, sizes[size].h};
}

/* The packs that lie in the bin, as far as they have room, test packs before good ones. */
static void draw_bin_packs(Ui *ui, double x, double y, LineCounts counts)
{
    int64_t in_bin = counts.tests_in_bin + counts.good_in_bin;
    for (int i = 0; i < in_bin && i < BIN_SHOWN; i++) {
        if (i < counts.tests_in_bin)
            draw_test_pack(ui, bin_place(x, y, in_bin, i));
        else
            draw_good_pack(ui, bin_place(x, y, in_bin, i));
    }
}

static void draw_head(Ui *ui, const Belt *belt)
{
    double h = belt->bottom - belt->top + 2.0 * belt->over;
    DrawRect box = {belt->x0 - belt->head_half, belt->top - belt->over, 2 * belt->head_half, h};
    draw_rect(ui->list, box, DRAW_TINT, DRAW_INK, 2, 4);
    for (int i = -1; i <= 1; i++) {
        double x = belt->x0 + i * 0.56 * belt->head_half;
        draw_dashes(ui->list, (DrawPoint){x, box.y + 10}, (DrawPoint){x, box.y + h - 10}, DRAW_INK,
                    2, 7, 6);
    }
    if (belt->is_slim) return;
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
    double width = ui_width(ui, 16, false, ui_say(ui, "line.eye")) + 2.0;
    if (ui->text_percent > 100) {
        caption(ui, fmax(x - width / 2.0, belt->left + UI_MARGIN), belt->bottom + EYE_BELOW, width,
                DRAW_START, false, ui_say(ui, "line.eye"));
        return;
    }
    double left = fmin(x - 70, belt->x0 - belt->head_half - 12.0 - width);
    caption(ui, fmax(left, belt->left + 8), belt->top - 42, fmax(width, 130), DRAW_START, false,
            ui_say(ui, "line.eye"));
}

/* The air jet over the belt, and its strokes while it has just acted. */
static void draw_jet(Ui *ui, const Belt *belt, double x, double k, bool acts)
{
    DrawPoint jet[] = {{x - 14 * k, belt->top - 2 - 28 * k},
                       {x + 14 * k, belt->top - 2 - 28 * k},
                       {x + 6 * k, belt->top - 2 - 6 * k},
                       {x - 6 * k, belt->top - 2 - 6 * k}};
    draw_polygon(ui->list, jet, 4, DRAW_TINT, DRAW_INK, 2);
    for (int i = -1; acts && i <= 1; i++) {
        DrawPoint stroke[] = {{x + i * 8.0, belt->top + 4}, {x + i * 12.0, belt->top + 23}};
        draw_line(ui->list, stroke, 2, DRAW_INK, 2);
    }
}

/* The pusher: a block, and a plate on a rod, which is over the belt while it acts. */
static void draw_pusher(Ui *ui, const Belt *belt, double x, double k, bool acts)
{
    double block = belt->top - 2 - 28 * k;
    double plate = acts ? (belt->top + belt->bottom) / 2.0 : belt->top - 2 - 8 * k;
    DrawPoint rod[] = {{x, block + 14 * k}, {x, plate}};
    draw_rect(ui->list, (DrawRect){x - 22 * k, block, 44 * k, 14 * k}, DRAW_TINT, DRAW_INK, 2, 0);
    draw_line(ui->list, rod, 2, DRAW_INK, fmax(6 * k, 2.0));
    draw_rect(ui->list, (DrawRect){x - 20 * k, plate, 40 * k, 8 * k}, DRAW_TINT, DRAW_INK, 2, 0);
}

/* The flap: along the belt's edge on its pivot, and 30 degrees over the belt while it acts. */
static void draw_flap(Ui *ui, const Belt *belt, double x, double k, bool acts)
{
    double y = belt->top - 2 - 8 * k;
    double length = 64 * k;
    DrawPoint arm[] = {
        {x - length / 2.0, y},
        {x - length / 2.0 + length * (acts ? 0.866 : 1.0), y + length * (acts ? 0.5 : 0.0)}};
    draw_line(ui->list, arm, 2, DRAW_INK, fmax(6 * k, 3.0));
    draw_circle(ui->list, arm[0].x, arm[0].y, 6 * k, DRAW_TINT, DRAW_INK, 2);
}

static const char *const device_keys[] = {"line.air-jet", "line.pusher", "line.flap"};

/* Between two lanes there is a guide. */
static void draw_guides(Ui *ui, const Belt *belt)
{
    for (int lane = 1; lane < belt->lanes; lane++) {
        double y = lane_of(belt, lane).top;
        DrawPoint guide[] = {{belt->left, y}, {belt->right, y}};
        draw_line(ui->list, guide, 2, DRAW_INK, 1);
    }
}

/* Whether the reject device of a lane, from 0, has begun to act since then. */
static bool has_lane_blown(const Player *player, int lane, int64_t since_us)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    for (size_t i = count; i > 0 && log[i - 1].time_us > since_us; i--) {
        if (log_is(&log[i - 1], HAPPENING_BLOW) && log_number(&log[i - 1], "lane") == lane + 1)
            return true;
    }
    return false;
}

/* The line's own kind of reject device, in one lane. */
static void draw_one_device(Ui *ui, const Belt *belt, const Player *player, double x, bool acts)
{
    double k = belt->over / 28.0;
    switch (player_setup(player)->scenario->line->reject) {
    case SITE_AIR_JET:
        draw_jet(ui, belt, x, k, acts);
        break;
    case SITE_PUSHER:
        draw_pusher(ui, belt, x, k, acts);
        break;
    case SITE_FLAP:
        draw_flap(ui, belt, x, k, acts);
        break;
    }
}

/* One in each lane. */
static void draw_device(Ui *ui, const Belt *belt, const Player *player, double x, bool acts)
{
    int64_t stroke_us = player_setup(player)->scenario->line->setup.stroke_us;
    for (int lane = 0; lane < belt->lanes; lane++) {
        const Belt part = lane_of(belt, lane);
        bool own =
            belt->lanes == 1 || has_lane_blown(player, lane, player_now_us(player) - 2 * stroke_us);
        draw_one_device(ui, &part, player, x, acts && own);
    }
}

/* The bin's lock, its shackle aside while it is open. */
static void draw_lock(Ui *ui, double x, double y, double k, bool open)
{
    draw_rect(ui->list, (DrawRect){x - 9 * k, y, 18 * k, 15 * k}, DRAW_INK, DRAW_NONE, 0, 2);
    draw_arc(ui->list, open ? x + 8 * k : x, y, 7 * k, open ? -160 : -180, open ? 20 : 0, DRAW_INK,
             3 * k);
}

/* The own lock on the drive, at the belt's end, with its words below the belt: packs may stand on
 * it. Enlarged, they are beside what the head found. */
static void draw_own_lock(Ui *ui, const Belt *belt, const Player *player)
{
    double k = belt->is_slim ? 0.8 : 1.6;
    double x = belt->right - 14.0 * k;
    double y = (belt->top + belt->bottom) / 2.0 - 4.0 * k;
    if (!line_is_locked_off(player)) return;
    draw_rect(ui->list, (DrawRect){x - 14 * k, y - 12 * k, 28 * k, 32 * k}, DRAW_SHEET, DRAW_INK, 2,
              4);
    draw_lock(ui, x, y, k, false);
    if (belt->is_slim || belt->is_small || ui->text_percent > 100) return;
    double wide = 1.6 * ui->text_percent;
    caption(ui, belt->right - wide, belt->bottom + 4.0, wide, DRAW_END, true,
            ui_say(ui, "line.locked-off"));
}

/* The bin beside its lock: in an assessment what can be counted in it is not told. */
static void name_bin(Ui *ui, DrawRect box, const Player *player, const RunView *view)
{
    LineCounts counts = line_counts(player_line(player));
    int64_t in_bin = counts.good_in_bin + counts.tests_in_bin;
    const char *name = ui_say(ui, player_bin_is_open(player) ? "line.bin-open" : "line.bin");
    Text words = {0};
    text_add(&words, name);
    if (view == NULL || !view->counts_itself || in_bin > BIN_SHOWN)
        text_addf(&words, ": %lld", (long long)in_bin);
    caption(ui, box.x, box.y, box.w, DRAW_START, true, words.bytes);
    text_clear(&words);
}

/* The reject device, and the bin opposite. */
static void draw_reject(Ui *ui, const Belt *belt, const Player *player, DrawRect box,
                        const RunView *view)
{
    const LineSetup *setup = &player_setup(player)->scenario->line->setup;
    double x = x_of(belt, setup->reject_um);
    draw_device(ui, belt, player, x, line_has_blown(player, view));
    const char *device = ui_say(ui, device_keys[player_setup(player)->scenario->line->reject]);
    double wide = ui_width(ui, 16, false, device) + 2.0;
    double head = belt->x0 + ui_width(ui, 16, false, ui_say(ui, "line.head")) / 2.0;
    caption(ui, fmax(x - wide / 2.0, head + UI_GAP), belt->top - 34 - belt->line_px, wide,
            DRAW_START, false, device);
    DrawPoint bin[] = {{x - 66, belt->bottom + 8},  {x - 58, belt->bottom + 8},
                       {x - 58, belt->bottom + 68}, {x + 58, belt->bottom + 68},
                       {x + 58, belt->bottom + 8},  {x + 66, belt->bottom + 8}};
    draw_rect(ui->list, (DrawRect){x - 58, belt->bottom + 8, 116, 60}, DRAW_TINT, DRAW_NONE, 0, 0);
    draw_line(ui->list, bin, 6, DRAW_INK, 2);
    draw_bin_packs(ui, x - 58, belt->bottom + 8, line_counts(player_line(player)));
    draw_lock(ui, x, belt->bottom + 61, 1.0, player_bin_is_open(player));
    double room = box.x + box.w - (belt->is_small ? 0.0 : belt->column) - UI_GAP - (x + 76);
    double y = belt->bottom + (ui->text_percent > 100 ? 6.0 : 30.0);
    name_bin(ui, (DrawRect){x + 76, y, room, 0}, player, view);
}

/* --- What was made since the last good check ------------------------------------------------- */

/* Five boards, and cases on them from the far corner, one for each two dozen packs. */
static void draw_pallet(Ui *ui, DrawRect box, int64_t packs)
{
    double step = (box.h - 12.0) / 4.0;
    for (int i = 0; i < 5; i++) {
        draw_rect(ui->list, (DrawRect){box.x, box.y + step * i, box.w, 12}, DRAW_TINT, DRAW_INK, 2,
                  0);
    }
    int64_t cases = (packs + 23) / 24;
    double w = (box.w - 24.0) / 3.0;
    double h = (box.h - 20.0) / 4.0;
    for (int64_t i = 0; i < 12 && i < cases; i++) {
        int64_t row = i / 3;
        DrawRect at = {box.x + 12 + w * (double)(i % 3), box.y + 10 + h * (double)row, w, h};
        draw_rect(ui->list, at, DRAW_SHEET, DRAW_INK, 2, 0);
    }
}

/* A front with a low roof and a door of four slats. */
static void draw_store(Ui *ui, DrawRect box)
{
    double low = box.y + box.h;
    DrawPoint front[] = {{box.x, box.y + 34},
                         {box.x + box.w / 2, box.y},
                         {box.x + box.w, box.y + 34},
                         {box.x + box.w, low},
                         {box.x, low}};
    DrawRect door = {box.x + 22, box.y + 48, box.w - 44, box.h - 48};
    draw_polygon(ui->list, front, 5, DRAW_SHEET, DRAW_INK, 2);
    draw_rect(ui->list, door, DRAW_TINT, DRAW_INK, 2, 0);
    for (int i = 1; i < 4; i++) {
        double y = door.y + door.h * i / 4.0;
        DrawPoint slat[] = {{door.x, y}, {door.x + door.w, y}};
        draw_line(ui->list, slat, 2, DRAW_INK, 2);
    }
}

/* From the side: a box, a cab with a slanted front, three wheels. */
static void draw_lorry(Ui *ui, DrawRect box)
{
    static const double wheels[] = {0.18, 0.36, 0.85};
    double low = box.y + box.h - 18.0;
    double h = low - box.y;
    DrawPoint cab[] = {{box.x + box.w * 0.73, low},
                       {box.x + box.w * 0.73, box.y + h * 0.3},
                       {box.x + box.w * 0.9, box.y + h * 0.3},
                       {box.x + box.w, box.y + h * 0.62},
                       {box.x + box.w, low}};
    DrawPoint floor[] = {{box.x, low}, {box.x + box.w, low}};
    draw_rect(ui->list, (DrawRect){box.x, box.y, box.w * 0.7, h}, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_polygon(ui->list, cab, 5, DRAW_TINT, DRAW_INK, 2);
    draw_line(ui->list, floor, 2, DRAW_INK, 2);
    for (int i = 0; i < 3; i++) {
        draw_circle(ui->list, box.x + box.w * wheels[i], low + 4, 13, DRAW_PAPER, DRAW_INK, 2);
        draw_circle(ui->list, box.x + box.w * wheels[i], low + 4, 3, DRAW_INK, DRAW_NONE, 0);
    }
}

/* A count with a no-break space between its thousands. */
static void add_count(int64_t count, Text *out)
{
    if (count >= 1000) {
        add_count(count / 1000, out);
        text_addf(out, "\xC2\xA0%03lld", (long long)(count % 1000));
    } else {
        text_addf(out, "%lld", (long long)count);
    }
}

static void add_packs(const Ui *ui, int64_t packs, Text *out)
{
    Text count = {0};
    add_count(packs, &count);
    ui_fill(ui, "line.packs", count.bytes, out);
    text_clear(&count);
}

static void add_time(int64_t of_day_us, Text *out)
{
    int64_t minutes = of_day_us / 60000000;
    text_addf(out, "%02lld:%02lld", (long long)(minutes / 60 % 24), (long long)(minutes % 60));
}

/* From when to when it was made. */
static void add_times(const Standing *standing, Text *out)
{
    add_time(standing->from_us, out);
    text_add(out, "\xE2\x80\x93");
    add_time(standing->to_us, out);
}

static const char *place_word(const Ui *ui, int place)
{
    return texts_get(ui->texts, "words", scenario_stock_words[place]);
}

/* What became of what stands there; NULL: nothing. */
static const char *state_word(const Ui *ui, const Standing *standing)
{
    if (standing->has_left) return ui_say(ui, "line.has-left");
    return standing->is_held ? ui_say(ui, "line.held") : NULL;
}

/* "store", "store, held". */
static void add_place(const Ui *ui, int place, const Standing *standing, Text *out)
{
    const char *state = state_word(ui, standing);
    text_add(out, place_word(ui, place));
    if (state != NULL) text_addf(out, ", %s", state);
}

/* The sentence of all places together. */
static void add_since(const Ui *ui, const Player *player, Text *out)
{
    Text time = {0};
    Text packs = {0};
    add_time(player_setup(player)->scenario->last_good_check_us, &time);
    add_count(player_made_since_check(player), &packs);
    const char *const values[] = {time.bytes, packs.bytes};
    plot_fill(out, ui_say(ui, "line.since-check"), values, 2);
    text_clear(&time);
    text_clear(&packs);
}

/* Each place with its drawing, its name over it, count, times and state below. */
static void draw_places(Ui *ui, const Belt *belt, const Standing stock[STOCK_PLACE_COUNT],
                        DrawRect box)
{
    double x = box.x + box.w - belt->column;
    double low = box.y + 150.0;
    for (int p = 0; p < STOCK_PLACE_COUNT; p++) {
        const Standing *standing = &stock[p];
        if (p != STOCK_PALLET && standing->packs == 0) continue;
        Text words = {0};
        const char *state = state_word(ui, standing);
        caption(ui, x, box.y + 4, STOCK_WIDTH - 8, DRAW_START, false, place_word(ui, p));
        if (p == STOCK_PALLET)
            draw_pallet(ui, (DrawRect){x, low - 112, 104, 112}, standing->packs);
        else if (p == STOCK_STORE)
            draw_store(ui, (DrawRect){x, low - 116, 116, 116});
        else
            draw_lorry(ui, (DrawRect){x, low - 84, 132, 84});
        add_packs(ui, standing->packs, &words);
        (void)ui_text(ui, (DrawRect){x, low + 6, STOCK_WIDTH - 8, 0}, 19, true, DRAW_INK,
                      DRAW_PAPER, DRAW_START, words.bytes);
        text_clear(&words);
        if (standing->packs > 0) {
            add_times(standing, &words);
            caption(ui, x, low + 34, STOCK_WIDTH - 8, DRAW_START, false, words.bytes);
        }
        if (state != NULL) caption(ui, x, low + 58, STOCK_WIDTH - 8, DRAW_START, true, state);
        text_clear(&words);
        x += STOCK_WIDTH;
    }
}

/* Enlarged, words alone. */
static void tell_places(Ui *ui, const Belt *belt, const Player *player,
                        const Standing stock[STOCK_PLACE_COUNT], DrawRect box)
{
    double x = box.x + box.w - belt->column;
    double y = box.y + 4.0;
    for (int p = 0; p <= STOCK_PLACE_COUNT; p++) {
        Text words = {0};
        if (p == STOCK_PLACE_COUNT) {
            add_since(ui, player, &words);
        } else if (p == STOCK_PALLET || stock[p].packs > 0) {
            add_place(ui, p, &stock[p], &words);
            text_add(&words, ": ");
            add_count(stock[p].packs, &words);
            if (stock[p].packs > 0) {
                text_add(&words, ", ");
                add_times(&stock[p], &words);
            }
        }
        if (words.len > 0) {
            y += ui_text(ui, (DrawRect){x, y, belt->column - UI_MARGIN, 0}, 16,
                         p == STOCK_PLACE_COUNT, DRAW_INK, DRAW_PAPER, DRAW_START, words.bytes);
        }
        text_clear(&words);
    }
}

static void draw_stock(Ui *ui, const Belt *belt, const Player *player,
                       const Standing stock[STOCK_PLACE_COUNT], DrawRect box)
{
    double x = box.x + box.w - belt->column;
    double middle = (belt->top + belt->bottom) / 2;
    double tip = fmin(belt->right + 34, x - 6);
    if (belt->places > 1 && ui->text_percent > 100) {
        tell_places(ui, belt, player, stock, box);
        return;
    }
    DrawPoint shaft[] = {{belt->right + 4, middle}, {tip, middle}};
    DrawPoint head[] = {{tip - 8, middle - 6}, {tip, middle}, {tip - 8, middle + 6}};
    draw_line(ui->list, shaft, 2, DRAW_INK, 2);
    draw_line(ui->list, head, 3, DRAW_INK, 2);
    Text words = {0};
    if (belt->places > 1) {
        draw_places(ui, belt, stock, box);
        add_since(ui, player, &words);
        double wide = ui_width(ui, 16, true, words.bytes) + 2.0; /* one line: a rule is below */
        x = fmin(x, box.x + box.w - UI_MARGIN - wide);
        caption(ui, x, box.y + 236, wide, DRAW_START, true, words.bytes);
    } else {
        draw_pallet(ui, (DrawRect){x, belt->top - 24, 116, belt->bottom - belt->top + 24},
                    stock[STOCK_PALLET].packs);
        add_place(ui, STOCK_PALLET, &stock[STOCK_PALLET], &words);
        caption(ui, x + 126, belt->top - 20, belt->column - 126.0, DRAW_START, false, words.bytes);
        text_clear(&words);
        add_since(ui, player, &words);
        caption(ui, x, belt->bottom + 8, belt->column - UI_MARGIN, DRAW_START, true, words.bytes);
    }
    text_clear(&words);
}

/* What sticks in the aperture, and what ran up behind it; the line does not tell their order: good
 * packs are drawn before test packs. Returns how many. */
static int find_stuck(const Player *player, LinePicture out[LINE_PACKS_MAX])
{
    const Scenario *scenario = player_setup(player)->scenario;
    const ProductBlock block = site_block(scenario->site, scenario->line, scenario->product);
    LineCounts counts = line_counts(player_line(player));
    int stuck = 0;
    for (; stuck < counts.good_in_jam && stuck < LINE_PACKS_MAX; stuck++) {
        out[stuck] = (LinePicture){.test = 0};
    }
    for (int number = 1; number <= LINE_TESTS_MAX && stuck < LINE_PACKS_MAX; number++) {
        PlayerPack pack = player_pack(player, number);
        if (!pack.is_made || pack.on_line != LINE_IN_JAM) continue;
        out[stuck++] = (LinePicture){.test = number};
    }
    for (int i = 0; i < stuck; i++) {
        out[i].place_um = -llround(i * block.length_m * 1.04e6);
    }
    return stuck;
}

/* The packs on the belt, now or with less motion those that the view remembers, and the head over
 * them. */
static void draw_packs(Ui *ui, const Belt *belt, const Player *player, const RunView *view,
                       bool is_still)
{
    LinePicture packs[LINE_PACKS_MAX];
    bool as_it_was = is_still && view != NULL;
    int count = as_it_was ? view->still_count : line_picture(player_line(player), packs);
    const LinePicture *drawn = as_it_was ? view->still : packs;
    for (int i = 0; i < count; i++) {
        draw_pack(ui, belt, pack_box(belt, player, drawn[i]), drawn[i].test != 0);
    }
    int stuck = find_stuck(player, packs);
    for (int i = 0; i < stuck; i++) {
        draw_pack(ui, belt, pack_box(belt, player, packs[i]), packs[i].test != 0);
    }
    draw_head(ui, belt);
    for (int i = 0; i < stuck; i++) {
        draw_hidden(ui, belt, pack_box(belt, player, packs[i]));
    }
    drawn = as_it_was ? view->still : packs;
    count = as_it_was ? view->still_count : line_picture(player_line(player), packs);
    for (int i = 0; i < count; i++) {
        draw_hidden(ui, belt, pack_box(belt, player, drawn[i]));
    }
}

/* The fail-safe whose alarm the line raised or, else, reset; -1: something else. */
static int alarm_of(const LogLine *line, bool *is_raised)
{
    *is_raised = log_is(line, HAPPENING_ALARM_RAISED);
    if (!*is_raised && !log_is(line, HAPPENING_ALARM_RESET)) return -1;
    for (int f = 0; f < SITE_FAIL_SAFE_COUNT; f++) {
        if (strcmp(log_word(line, "what"), site_fail_safe_words[f]) == 0) return f;
    }
    return -1;
}

int line_alarms(const Player *player, const char *out[SITE_FAIL_SAFE_COUNT])
{
    bool is_told[SITE_FAIL_SAFE_COUNT] = {false};
    bool is_raised;
    int found = 0;
    size_t count;
    const LogLine *log = player_log(player, &count);
    for (size_t i = count; i > 0; i--) {
        int f = alarm_of(&log[i - 1], &is_raised);
        if (f < 0 || is_told[f]) continue;
        is_told[f] = true;
        if (is_raised) out[found++] = site_fail_safe_words[f];
    }
    return found;
}

bool line_add_alarms(const Ui *ui, const Player *player, Text *out)
{
    const char *alarms[SITE_FAIL_SAFE_COUNT];
    char key[64];
    Text names = {0};
    int count = line_alarms(player, alarms);
    for (int i = 0; i < count; i++) {
        (void)snprintf(key, sizeof key, "alarm.%s", alarms[i]);
        text_addf(&names, "%s%s", i > 0 ? ", " : "", ui_say(ui, key));
    }
    if (count > 0) ui_fill(ui, "line.alarm", names.bytes, out);
    text_clear(&names);
    return count > 0;
}

bool line_has_blown(const Player *player, const RunView *view)
{
    int64_t stroke_us = player_setup(player)->scenario->line->setup.stroke_us;
    return view != NULL && view->last_blow_us >= 0 &&
           player_now_us(player) - view->last_blow_us < stroke_us * 2;
}

bool line_has_found(const Player *player, const RunView *view)
{
    return view != NULL && view->last_alarm_us >= 0 &&
           player_now_us(player) - view->last_alarm_us < SEEN_US;
}

DrawRect line_room_above(const Ui *ui, const Player *player, DrawRect box)
{
    const SiteLine *line = player_setup(player)->scenario->line;
    Standing stock[STOCK_PLACE_COUNT];
    find_stock(player, stock);
    Belt belt = belt_in(ui, &line->setup, box, count_places(stock));
    double word = ui_width(ui, 16, false, ui_say(ui, device_keys[line->reject]));
    double head = belt.x0 + ui_width(ui, 16, false, ui_say(ui, "line.head")) / 2.0 + UI_GAP;
    double left = x_of(&belt, line->setup.reject_um) - word / 2.0;
    left = fmax(left, head) + word + UI_GAP;
    return (DrawRect){left, box.y, belt.right - UI_GAP - left, belt.top - UI_GAP / 2.0 - box.y};
}

void line_strip(Ui *ui, const Player *player, DrawRect box, const RunView *view, bool is_still)
{
    enum { OVER = 16, BIN = 14, BIN_HALF = 40 };
    const LineSetup *setup = &player_setup(player)->scenario->line->setup;
    double left_mm = fmax((double)setup->infeed_um / 1000.0, LEFT_MM);
    double length_mm = (double)setup->end_um / 1000.0 - left_mm;
    double scale = box.w / length_mm;
    Belt belt = {.x0 = box.x - left_mm * scale,
                 .px_per_mm = scale,
                 .left = box.x,
                 .right = box.x + box.w,
                 .top = box.y + OVER + 2.0,
                 .bottom = box.y + box.h - OVER - 2.0,
                 .head_half = 30.0,
                 .over = OVER,
                 .is_slim = true,
                 .lanes = setup->lanes};
    double x = x_of(&belt, setup->reject_um);
    double low = belt.bottom + BIN;
    DrawPoint bin[] = {{x - BIN_HALF - 6, belt.bottom + 4},
                       {x - BIN_HALF, belt.bottom + 4},
                       {x - BIN_HALF, low},
                       {x + BIN_HALF, low},
                       {x + BIN_HALF, belt.bottom + 4},
                       {x + BIN_HALF + 6, belt.bottom + 4}};
    draw_belt(ui, &belt);
    draw_guides(ui, &belt);
    draw_packs(ui, &belt, player, view, is_still);
    draw_device(ui, &belt, player, x, line_has_blown(player, view));
    draw_rect(ui->list,
              (DrawRect){x - BIN_HALF, belt.bottom + 4, 2.0 * BIN_HALF, low - belt.bottom - 4},
              DRAW_TINT, DRAW_NONE, 0, 0);
    draw_line(ui->list, bin, 6, DRAW_INK, 2);
    LineCounts counts = line_counts(player_line(player));
    if (counts.tests_in_bin > 0)
        draw_test_pack(ui, (DrawRect){x - BIN_HALF + 4, belt.bottom + 5, 22, 8});
    else if (counts.good_in_bin > 0)
        draw_good_pack(ui, (DrawRect){x - BIN_HALF + 4, belt.bottom + 5, 22, 8});
    draw_lock(ui, x, low - 6.0, 0.6, player_bin_is_open(player));
    draw_own_lock(ui, &belt, player);
}

/* What the line has to say: its alarms as long as they stand, what the head found, or enlarged the
 * own lock. */
static void tell_last(Ui *ui, const Player *player, const RunView *view, DrawRect box)
{
    Text words = {0};
    if (line_add_alarms(ui, player, &words)) {
        double radius = 0.08 * ui->text_percent;
        draw_mark(ui->list, DRAW_WEDGE, box.x + radius, box.y + box.h / 2.0, radius, DRAW_INK);
        box.x += 2.0 * radius + 6.0;
    } else if (line_has_found(player, view)) {
        text_add(&words, ui_say(ui, "line.found"));
    } else if (ui->text_percent > 100 && line_is_locked_off(player)) {
        text_add(&words, ui_say(ui, "line.locked-off"));
    }
    if (words.len > 0) caption(ui, box.x, box.y, box.w, DRAW_START, true, words.bytes);
    text_clear(&words);
}

void line_view(Ui *ui, const Player *player, DrawRect box, const RunView *view, bool is_still)
{
    const LineSetup *setup = &player_setup(player)->scenario->line->setup;
    Standing stock[STOCK_PLACE_COUNT];
    find_stock(player, stock);
    Belt belt = belt_in(ui, setup, box, count_places(stock));
    draw_belt(ui, &belt);
    draw_guides(ui, &belt);
    draw_packs(ui, &belt, player, view, is_still);
    draw_eye(ui, &belt, setup);
    draw_reject(ui, &belt, player, box, view);
    draw_own_lock(ui, &belt, player);
    if (!belt.is_small) draw_stock(ui, &belt, player, stock, box);
    /* In enlarged text the eye's caption has the row below the belt: these go under it. */
    double under =
        belt.bottom + (ui->text_percent > 100 ? EYE_BELOW + belt.line_px : belt.over + 4.0);
    double y = belt.is_small ? belt.bottom + 40.0 : under + belt.line_px / 2.0;
    DrawPoint arrow[] = {{box.x, y}, {box.x + 44, y}};
    DrawPoint tip[] = {{box.x + 36, y - 6}, {box.x + 44, y}, {box.x + 36, y + 6}};
    draw_line(ui->list, arrow, 2, DRAW_INK, 2);
    draw_line(ui->list, tip, 3, DRAW_INK, 2);
    if (belt.is_small) return;
    const char *travel = ui_say(ui, belt.lanes > 1 ? "line.travel-lanes" : "line.travel");
    caption(ui, box.x + 52, under, ui_width(ui, 16, false, travel) + 2.0, DRAW_START, false,
            travel);
    tell_last(ui, player, view,
              (DrawRect){fmax(belt.x0 - 60, box.x + UI_MARGIN), under + belt.line_px - 4.0,
                         3.0 * ui->text_percent, belt.line_px});
}
