/* The bench: one or two set-ups, a piece that is moved and turned, and what comes of it at once. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/paper.h"
#include "ui/plot.h"
#include "ui/session.h"

#define PI 3.14159265358979323846

enum {
    BIG_FROM_PERCENT = 115, /* from this size of text on the set-up is shown in pages */
    STEP_MM = 5,            /* of a piece that keys move */
    NUMBER_BYTES = 32,
    CHOOSERS = 3,
};

enum { OPEN_NONE, OPEN_HEAD, OPEN_PRODUCT, OPEN_PIECE };

/* One set-up and where it is drawn. */
typedef struct {
    Ui *ui;
    Session *session;
    Bench *bench;
    int index;
    BenchSide *side;
    const BenchView *view;
    double x, w;
    double top, half_mm; /* the axes of the trace, which two set-ups share */
} Column;

void bench_clear(Bench *bench)
{
    bench_model_free(bench->model);
    text_clear(&bench->copied);
    *bench = (Bench){0};
}

bool bench_moves(const Bench *bench)
{
    return bench->is_begun && bench->under_way_us < BENCH_PASS_US;
}

void bench_tick(Bench *bench, int64_t elapsed_us)
{
    if (bench_moves(bench)) bench->under_way_us += elapsed_us;
}

BenchModel *bench_model_of(Session *session)
{
    Bench *bench = &session->bench;
    if (bench->is_modelled) return bench->model;
    bench->is_modelled = true;
    bench->model = bench_model_new(session->site);
    return bench->model;
}

static void begin(Session *session)
{
    Bench *bench = &session->bench;
    if (bench->is_begun) return;
    bench->is_begun = true;
    bench->under_way_us = BENCH_PASS_US;
    bench->says = "bench.under";
    random_init(&bench->random, 1);
    if (bench_model_of(session) != NULL) bench_first(bench->model, bench->sides);
}

static void say(Bench *bench, const char *key)
{
    bench->says = key;
    bench->says_chance = 0.0;
}

static void forget_sent(Bench *bench)
{
    memset(bench->sent, 0, sizeof bench->sent);
    memset(bench->found, 0, sizeof bench->found);
}

void bench_set_up(Session *session, int head, int product, const SitePiece *piece,
                  const BenchSide *lying)
{
    Bench *bench = &session->bench;
    begin(session);
    bench->set_up_from = session->place;
    session_go(session, PLACE_BENCH);
    if (bench->model == NULL || !bench_has_head(bench->model, head)) return;
    BenchSide side = bench_side(bench->model, head, product, piece, lying);
    bench_settle(bench->model, &side);
    bench->sides[0] = side;
    bench->is_single = true;
    bench->shown = 0;
    bench->puzzle = PUZZLE_NONE;
    bench->open = OPEN_NONE;
    say(bench, "bench.under");
    forget_sent(bench);
}

/* In the puzzle the metal is given; on the first side so are head and product, and once it is
 * hidden everything; on the second the product and the place of the wire. */
static bool may_choose(const Bench *bench, int index, int what)
{
    if (bench->puzzle == PUZZLE_NONE) return true;
    return bench->puzzle == PUZZLE_FIND && index == 1 && what == OPEN_HEAD;
}

static bool may_move(const Bench *bench, int index)
{
    return bench->puzzle == PUZZLE_NONE || (bench->puzzle == PUZZLE_HIDE && index == 0);
}

static bool may_turn(const Bench *bench, int index)
{
    return may_move(bench, index) || (bench->puzzle == PUZZLE_FIND && index == 1);
}

/* Whether this side's answer is shown: a puzzle's only once it was tried. */
static bool is_shown(const Bench *bench, int index)
{
    if (bench->puzzle == PUZZLE_HIDE) return bench->is_tried;
    if (bench->puzzle == PUZZLE_FIND && index == 1) return bench->is_tried;
    return true;
}

/* Whether both set-ups stand side by side now. */
static bool shows_both(const Ui *ui, const Bench *bench)
{
    if (ui->text_percent >= BIG_FROM_PERCENT || bench->puzzle == PUZZLE_HIDE) return false;
    return bench->puzzle != PUZZLE_NONE || !bench->is_single;
}

/* --- Words ----------------------------------------------------------------------------------- */

static void add_metal(const Column *c, int metal, Text *out)
{
    char key[NUMBER_BYTES + 64];
    const char *name = metals_at(bench_metals(c->bench->model), (size_t)metal)->name;
    (void)snprintf(key, sizeof key, "metal.%s", name);
    const char *words = ui_say(c->ui, key);
    text_add(out, strcmp(words, key) == 0 ? name : words);
}

static void add_size(const Column *c, Text *out)
{
    char thick[NUMBER_BYTES];
    char length[NUMBER_BYTES];
    const char *const values[] = {thick, length};
    (void)snprintf(thick, sizeof thick, "%g", c->side->diameter_mm);
    (void)snprintf(length, sizeof length, "%g", c->side->length_mm);
    texts_localise(c->ui->texts, thick);
    texts_localise(c->ui->texts, length);
    plot_fill(out, ui_say(c->ui, c->side->is_wire ? "bench.wire-size" : "bench.sphere-size"),
              values, 2);
}

/* A head by the lines that use it, as people call it: "D1", of a line "D1, butter". */
static void add_head(const Column *c, int head, Text *out)
{
    const Site *site = session_site(c->session);
    const char *comma = "";
    for (int i = 0; i < site->line_count; i++) {
        if (site->lines[i].head != head) continue;
        const char *name = site_text(site->lines[i].name, c->ui->language);
        text_add(out, comma);
        text_add_bytes(out, name, strcspn(name, ","));
        comma = ", ";
    }
}

static void add_aperture(const Column *c, int head, Text *out)
{
    const CoilHead *coils = &session_site(c->session)->heads[head].head.coils;
    text_addf(out, "%g \xC3\x97 %g mm", coils->aperture_width_m * 1e3,
              coils->aperture_height_m * 1e3);
}

static const char *product_name(const Column *c, int product)
{
    return site_text(session_site(c->session)->products[product].name, c->ui->language);
}

static double line_px(const Ui *ui, int px)
{
    return draw_line_height(ui_px(ui, px));
}

static void words(const Column *c, DrawRect box, int px, bool is_bold, DrawAlign align,
                  const char *text)
{
    PaperInk ink = {px, is_bold, DRAW_INK, DRAW_PAPER, align};
    paper_line(c->ui, box, &ink, text);
}

/* --- Choosers -------------------------------------------------------------------------------- */

static uint32_t side_id(const Column *c, const char *name, int index)
{
    return ui_id(name, c->index * 1000 + index);
}

static bool chooser(const Column *c, DrawRect box, int what, const char *label, const char *value)
{
    Bench *bench = c->bench;
    uint32_t id = side_id(c, "choose", what);
    bool is_open = bench->open == what && bench->shown == c->index;
    UiButton button = {.box = box,
                       .look = is_open ? UI_CHOSEN : UI_PLAIN,
                       .is_disabled = !may_choose(bench, c->index, what)};
    bool is_pressed = ui_button(c->ui, id, &button);
    DrawRole letters = DRAW_INK;
    DrawRole ground = DRAW_PAPER;
    double room = box.w - 24.0;
    if (!button.is_disabled) {
        double x = box.x + box.w - 26.0;
        double y = box.y + box.h / 2.0;
        DrawPoint down[] = {{x, y - 4}, {x + 7, y + 4}, {x + 14, y - 4}};
        ground = paper_face(c->ui, id, box, is_open, &letters);
        draw_line(c->ui->list, down, 3, letters, 2);
        room -= 22.0;
    }
    double line = line_px(c->ui, 16);
    double y = box.y + (box.h - 2.0 * line) / 2.0;
    PaperInk soft = {16, false, letters, ground, DRAW_START};
    PaperInk bold = {16, true, letters, ground, DRAW_START};
    paper_line(c->ui, (DrawRect){box.x + 12, y, room, line}, &soft, label);
    paper_line(c->ui, (DrawRect){box.x + 12, y + line, room, line}, &bold, value);
    return is_pressed;
}

static void toggle(Bench *bench, int index, int what)
{
    bool is_open = bench->open == what && bench->shown == index;
    bench->open = is_open ? OPEN_NONE : what;
    bench->shown = index;
    bench->page = 0;
}

static double draw_choosers(const Column *c, double y)
{
    static const double shares[CHOOSERS] = {0.28, 0.385, 0.335};
    double height = fmax(59.0, 2.0 * line_px(c->ui, 16) + 11.0);
    double room = c->w - 2.0 * UI_GAP;
    Text labels[CHOOSERS] = {{0}};
    Text values[CHOOSERS] = {{0}};
    text_addf(&labels[0], "%s ", ui_say(c->ui, "bench.head"));
    add_head(c, c->side->head, &labels[0]);
    add_aperture(c, c->side->head, &values[0]);
    text_add(&labels[1], ui_say(c->ui, "bench.product"));
    text_add(&values[1], product_name(c, c->side->product));
    add_metal(c, c->side->metal, &labels[2]);
    add_size(c, &values[2]);
    double x = c->x;
    for (int i = 0; i < CHOOSERS; i++) {
        DrawRect box = {x, y, floor(room * shares[i]), height};
        int what = OPEN_HEAD + i;
        if (chooser(c, box, what, text_string(&labels[i]), text_string(&values[i]))) {
            toggle(c->bench, c->index, what);
        }
        x += box.w + UI_GAP;
        text_clear(&labels[i]);
        text_clear(&values[i]);
    }
    return height;
}

/* --- What an open chooser shows -------------------------------------------------------------- */

/* The n-th head or product that can be chosen, or how many there are when n is -1. */
static int nth_choice(const Column *c, int what, int n)
{
    const Site *site = session_site(c->session);
    const BenchModel *model = c->bench->model;
    int count = what == OPEN_HEAD ? site->head_count : site->product_count;
    int seen = 0;
    for (int i = 0; i < count; i++) {
        bool is_there = what == OPEN_HEAD ? bench_has_head(model, i)
                                          : bench_has_product(model, c->side->head, i);
        /* The puzzle's product stays the same under another head. */
        if (is_there && what == OPEN_HEAD && c->bench->puzzle != PUZZLE_NONE) {
            is_there = bench_has_product(model, i, c->side->product);
        }
        if (is_there && seen++ == n) return i;
    }
    return seen;
}

static void draw_choices(const Column *c, int what, DrawRect box)
{
    double row = paper_row(c->ui, 19, 59) + UI_GAP;
    int count = nth_choice(c, what, -1);
    int fit = (int)fmax(1.0, floor((box.h + UI_GAP) / row) - 1.0);
    int pages = (count + fit - 1) / fit;
    if (count <= fit + 1) { /* all fit when no room is kept to turn pages */
        fit = count;
        pages = 1;
    }
    DrawRect turner = {box.x, box.y + box.h - row + UI_GAP, box.w, row - UI_GAP};
    paper_pages(c->ui, "bench-page", turner, pages, &c->bench->page);
    int first = c->bench->page * fit;
    for (int i = first; i < count && i < first + fit; i++) {
        int choice = nth_choice(c, what, i);
        Text label = {0};
        if (what == OPEN_HEAD) {
            add_head(c, choice, &label);
            text_add(&label, ", ");
            add_aperture(c, choice, &label);
        } else {
            text_add(&label, product_name(c, choice));
        }
        int *chosen = what == OPEN_HEAD ? &c->side->head : &c->side->product;
        DrawRect at = {box.x, box.y + (i - first) * row, box.w, row - UI_GAP};
        if (paper_choice(c->ui, side_id(c, "choice", i), at, label.bytes, *chosen == choice)) {
            *chosen = choice;
            c->bench->open = OPEN_NONE;
        }
        text_clear(&label);
    }
}

/* A number with a button on each side of it. */
static int stepper(const Column *c, DrawRect box, const char *name, const char *pattern,
                   double value)
{
    char number[NUMBER_BYTES];
    const char *const values[] = {number};
    Text text = {0};
    (void)snprintf(number, sizeof number, "%g", value);
    texts_localise(c->ui->texts, number);
    plot_fill(&text, ui_say(c->ui, pattern), values, 1);
    UiButton less = {.box = {box.x, box.y, 59, box.h}, .label = "\xE2\x88\x92", .px = 19};
    UiButton more = {.box = {box.x + box.w - 59, box.y, 59, box.h}, .label = "+", .px = 19};
    int step = 0;
    if (ui_button(c->ui, side_id(c, name, 0), &less)) step = -1;
    words(c, (DrawRect){box.x + 65, box.y, box.w - 130, box.h}, 19, true, DRAW_MIDDLE, text.bytes);
    if (ui_button(c->ui, side_id(c, name, 1), &more)) step = 1;
    text_clear(&text);
    return step;
}

/* The next size: by a twentieth of a millimetre when thin, by more when thick; whole steps, so that
 * nothing adds up. */
static double stepped(double value, int step, bool is_length)
{
    if (step == 0) return value;
    double by = is_length ? (value + step * 0.5 > 20.0 ? 5.0 : 1.0)
                          : (value + step * 0.01 > 1.0 ? 0.1 : 0.05);
    double whole = round(value / by) + step;
    return is_length ? whole * by : whole / round(1.0 / by);
}

static void draw_sizes(const Column *c, DrawRect box)
{
    BenchSide *side = c->side;
    double half = (box.w - UI_GAP) / 2.0;
    DrawRect left = {box.x, box.y, half, box.h};
    DrawRect right = {box.x + half + UI_GAP, box.y, half, box.h};
    side->diameter_mm = stepped(
        side->diameter_mm,
        stepper(c, left, "thick", side->is_wire ? "bench.thick" : "bench.round", side->diameter_mm),
        false);
    if (!side->is_wire) return;
    side->length_mm =
        stepped(side->length_mm, stepper(c, right, "long", "bench.long", side->length_mm), true);
}

static void draw_shapes(const Column *c, DrawRect box)
{
    bool can_copy = !c->bench->is_single;
    double third = (box.w - 2.0 * UI_GAP) / 3.0;
    DrawRect at[] = {{box.x, box.y, third, box.h},
                     {box.x + third + UI_GAP, box.y, third, box.h},
                     {box.x + 2.0 * (third + UI_GAP), box.y, third, box.h}};
    if (paper_choice(c->ui, side_id(c, "shape", 0), at[0], ui_say(c->ui, "bench.sphere"),
                     !c->side->is_wire)) {
        c->side->is_wire = false;
    }
    if (paper_choice(c->ui, side_id(c, "shape", 1), at[1], ui_say(c->ui, "bench.wire"),
                     c->side->is_wire)) {
        c->side->is_wire = true;
    }
    if (can_copy &&
        paper_choice(c->ui, side_id(c, "shape", 2), at[2], ui_say(c->ui, "bench.on-both"), false)) {
        BenchSide *other = &c->bench->sides[1 - c->index];
        other->metal = c->side->metal;
        other->is_wire = c->side->is_wire;
        other->diameter_mm = c->side->diameter_mm;
        other->length_mm = c->side->length_mm;
        other->azimuth_deg = c->side->azimuth_deg;
        other->elevation_deg = c->side->elevation_deg;
    }
}

static void draw_piece(const Column *c, DrawRect box)
{
    enum { COLUMNS = 2 };
    double row = paper_row(c->ui, 19, 59) + UI_GAP;
    double width = (box.w - UI_GAP * (COLUMNS - 1)) / COLUMNS;
    int count = (int)metals_count(bench_metals(c->bench->model));
    int rows = (int)fmax(1.0, floor((box.h + UI_GAP) / row) - 3.0);
    int fit = rows * COLUMNS;
    DrawRect turner = {box.x, box.y + rows * row, box.w, row - UI_GAP};
    paper_pages(c->ui, "bench-page", turner, (count + fit - 1) / fit, &c->bench->page);
    int first = c->bench->page * fit;
    for (int i = first; i < count && i < first + fit; i++) {
        int cell = i - first;
        Text label = {0};
        add_metal(c, i, &label);
        int line = cell / COLUMNS;
        DrawRect at = {box.x + (cell % COLUMNS) * (width + UI_GAP), box.y + line * row, width,
                       row - UI_GAP};
        if (paper_choice(c->ui, side_id(c, "metal", i), at, label.bytes, c->side->metal == i)) {
            c->side->metal = i;
        }
        text_clear(&label);
    }
    int used = count <= fit ? (count + COLUMNS - 1) / COLUMNS : rows + 1;
    draw_shapes(c, (DrawRect){box.x, box.y + used * row, box.w, row - UI_GAP});
    draw_sizes(c, (DrawRect){box.x, box.y + (used + 1) * row, box.w, row - UI_GAP});
}

/* --- The pack and the piece in it ------------------------------------------------------------ */

/* A view of the pack: along the travel to the right; across or up, upwards. */
typedef struct {
    DrawRect box; /* of the view */
    DrawRect pack;
    double scale; /* px per mm */
    double *along_mm, *other_mm, other_zero_mm;
} View;

static View view_of(const Column *c, DrawRect box, bool is_plan)
{
    const ProductBlock *pack = &c->view->pack;
    double length_mm = pack->length_m * 1e3;
    double other_mm = (is_plan ? pack->width_m : pack->height_m) * 1e3;
    View view = {.box = box, .along_mm = &c->side->along_mm};
    view.scale =
        fmin((box.w - 8.0) / length_mm, (box.h - 8.0) / fmax(pack->width_m, pack->height_m) / 1e3);
    view.pack = (DrawRect){box.x + (box.w - length_mm * view.scale) / 2.0,
                           box.y + (box.h - other_mm * view.scale) / 2.0, length_mm * view.scale,
                           other_mm * view.scale};
    view.other_mm = is_plan ? &c->side->across_mm : &c->side->up_mm;
    view.other_zero_mm = is_plan ? other_mm / 2.0 : 0.0;
    return view;
}

static void draw_metal(const Column *c, const View *view, bool is_plan)
{
    const BenchSide *side = c->side;
    double x = view->pack.x + view->pack.w / 2.0 + *view->along_mm * view->scale;
    double y = view->pack.y + view->pack.h - (*view->other_mm + view->other_zero_mm) * view->scale;
    double azimuth = side->azimuth_deg * PI / 180.0;
    double elevation = side->elevation_deg * PI / 180.0;
    double flat = cos(elevation) * side->length_mm / 2.0 * view->scale;
    double dx = flat * cos(azimuth);
    double dy =
        is_plan ? flat * sin(azimuth) : sin(elevation) * side->length_mm / 2.0 * view->scale;
    if (side->is_wire && hypot(dx, dy) >= 3.0) {
        DrawPoint line[] = {{x - dx, y + dy}, {x + dx, y - dy}};
        draw_line(c->ui->list, line, 2, DRAW_ACCENT, 4);
    } else {
        double radius = side->is_wire ? 4.0 : fmax(4.0, side->diameter_mm / 2.0 * view->scale);
        draw_circle(c->ui->list, x, y, radius, DRAW_ACCENT, DRAW_INK, 1);
    }
}

/* Where the pointer or the keys put the piece; whole millimetres. */
static void move_metal(const Column *c, uint32_t id, const View *view)
{
    Ui *ui = c->ui;
    double x = 0.0;
    double y = 0.0;
    if (ui_is_dragged(ui, id, &x, &y)) {
        *view->along_mm = round((x - view->pack.x - view->pack.w / 2.0) / view->scale);
        *view->other_mm =
            round((view->pack.y + view->pack.h - y) / view->scale - view->other_zero_mm);
    }
    if (ui_key(ui, id, UI_KEY_LEFT)) *view->along_mm -= STEP_MM;
    if (ui_key(ui, id, UI_KEY_RIGHT)) *view->along_mm += STEP_MM;
    if (ui_key(ui, id, UI_KEY_UP)) *view->other_mm += STEP_MM;
    if (ui_key(ui, id, UI_KEY_DOWN)) *view->other_mm -= STEP_MM;
}

static void draw_view(const Column *c, DrawRect box, bool is_plan)
{
    View view = view_of(c, box, is_plan);
    uint32_t id = side_id(c, "view", is_plan);
    draw_rect(c->ui->list, view.pack, DRAW_SHEET, DRAW_INK, 2, 0);
    if (may_move(c->bench, c->index)) {
        (void)ui_area(c->ui, id, box, 59);
        move_metal(c, id, &view);
    }
    draw_metal(c, &view, is_plan);
}

static void draw_dial(const Column *c, DrawRect box, bool is_plan)
{
    double *degrees = is_plan ? &c->side->azimuth_deg : &c->side->elevation_deg;
    double fixed = *degrees;
    if (may_turn(c->bench, c->index)) {
        (void)plot_dial(c->ui, side_id(c, "dial", is_plan), box, degrees);
    } else {
        plot_dial_face(c->ui, box, fixed);
    }
}

/* A view in `box` and the dial to its right, the words above them. */
static void draw_view_and_dial(const Column *c, DrawRect box, double dial, bool is_plan)
{
    double line = line_px(c->ui, 16);
    double height = box.h - line;
    double right = box.x + box.w - dial;
    DrawRect view = {box.x, box.y + line, box.w - dial - UI_GAP, height};
    Text angle = {0};
    char degrees[NUMBER_BYTES];
    const char *const values[] = {degrees};
    (void)snprintf(degrees, sizeof degrees, "%.0f",
                   is_plan ? c->side->azimuth_deg : c->side->elevation_deg);
    plot_fill(&angle, ui_say(c->ui, is_plan ? "bench.turned" : "bench.tilted"), values, 1);
    words(c, (DrawRect){box.x, box.y, view.w, line}, 16, false, DRAW_MIDDLE,
          ui_say(c->ui, is_plan ? "bench.from-above" : "bench.from-side"));
    draw_view(c, view, is_plan);
    if (c->side->is_wire) {
        words(c, (DrawRect){right - 6.0, box.y, dial + 12.0, line}, 16, false, DRAW_MIDDLE,
              angle.bytes);
        draw_dial(c, (DrawRect){right, box.y + line, dial, height}, is_plan);
    }
    text_clear(&angle);
}

/* Both views, side by side or, where there is height for it, one below the other; `height` is
 * without the words above the first. */
static void draw_views(const Column *c, double y, double height)
{
    double line = line_px(c->ui, 16);
    if (height > c->w * 0.4) {
        double half = (height + line - UI_GAP) / 2.0;
        DrawRect box = {c->x, y, c->w, half};
        draw_view_and_dial(c, box, c->w * 0.25, true);
        box.y += half + UI_GAP;
        draw_view_and_dial(c, box, c->w * 0.25, false);
        return;
    }
    double width = (c->w - UI_GAP) / 2.0;
    DrawRect box = {c->x, y, width, height + line};
    draw_view_and_dial(c, box, c->w * 0.15, true);
    box.x += width + UI_GAP;
    draw_view_and_dial(c, box, c->w * 0.15, false);
}

static void draw_turns(const Column *c, double y)
{
    static const struct {
        const char *key;
        double azimuth_deg, elevation_deg;
    } turns[] = {{"turn.lengthways", 0, 0}, {"turn.crossways", 90, 0}, {"turn.vertical", 0, 90}};
    double width = (c->w - 2.0 * UI_GAP) / 3.0;
    double height = paper_row(c->ui, 19, 47);
    BenchSide *side = c->side;
    if (!side->is_wire) return;
    for (int i = 0; i < 3; i++) {
        bool is_so = side->elevation_deg == turns[i].elevation_deg &&
                     (side->azimuth_deg == turns[i].azimuth_deg || i == 2);
        UiButton button = {.box = {c->x + i * (width + UI_GAP), y, width, height},
                           .label = ui_say(c->ui, turns[i].key),
                           .look = is_so ? UI_CHOSEN : UI_PLAIN,
                           .is_disabled = !may_turn(c->bench, c->index),
                           .typed = (char)('1' + 3 * c->index + i),
                           .px = 19};
        if (!ui_button(c->ui, side_id(c, "turn", i), &button)) continue;
        side->azimuth_deg = turns[i].azimuth_deg;
        side->elevation_deg = turns[i].elevation_deg;
    }
}

/* --- What comes of it ------------------------------------------------------------------------ */

static void add_peak(const Column *c, Text *out)
{
    char ratio[NUMBER_BYTES];
    char peak[NUMBER_BYTES];
    const char *const values[] = {ratio, peak};
    double r = c->view->ratio;
    double nv = c->view->peak_v * 1e9;
    /* What is missed by little does not read as 1. */
    (void)snprintf(ratio, sizeof ratio, "%.*f",
                   r < 1.995  ? 2
                   : r < 9.95 ? 1
                              : 0,
                   r <= 1.0 ? fmin(r, 0.99) : fmax(r, r < 1.995 ? 1.01 : r));
    (void)snprintf(peak, sizeof peak, "%.*f", nv < 9.95 ? 1 : 0, nv);
    texts_localise(c->ui->texts, ratio);
    texts_localise(c->ui->texts, peak);
    plot_fill(out, ui_say(c->ui, "bench.peak"), values, 2);
}

static void draw_result(const Column *c, double y)
{
    Ui *ui = c->ui;
    double line = line_px(ui, 16);
    if (!is_shown(c->bench, c->index)) {
        words(c, (DrawRect){c->x, y, c->w, 2.0 * line}, 19, false, DRAW_START,
              ui_say(ui, "bench.send-to-see"));
        return;
    }
    bool is_found = c->view->ratio > 1.0;
    double radius = 0.46 * ui_px(ui, 24);
    const char *word = ui_say(ui, is_found ? "bench.found" : "bench.missed");
    draw_mark(ui->list, is_found ? DRAW_DONE : DRAW_MISSED, c->x + radius + 2, y + line, radius,
              DRAW_INK);
    double left = c->x + 2.0 * radius + 16.0;
    double width = ui_width(ui, 24, true, word) + 2.0;
    words(c, (DrawRect){left, y, width, 2.0 * line}, 24, true, DRAW_START, word);
    Text peak = {0};
    Text tally = {0};
    char sent[NUMBER_BYTES];
    char found[NUMBER_BYTES];
    const char *const values[] = {sent, found};
    (void)snprintf(sent, sizeof sent, "%d", c->bench->sent[c->index]);
    (void)snprintf(found, sizeof found, "%d", c->bench->found[c->index]);
    add_peak(c, &peak);
    plot_fill(&tally, ui_say(ui, "bench.tally"), values, 2);
    double right = left + width + UI_GAP;
    DrawRect box = {right, y, c->x + c->w - right, line};
    words(c, box, 16, false, DRAW_END, peak.bytes);
    if (c->bench->sent[c->index] > 0) {
        box.y += line;
        words(c, box, 16, false, DRAW_END, tally.bytes);
    }
    text_clear(&peak);
    text_clear(&tally);
}

static void draw_trace(const Column *c, DrawRect box)
{
    const BenchView *view = c->view;
    PlotTrace trace = {.signal = view->signal,
                       .count = view->travel.count,
                       .from_mm = view->travel.from_m * 1e3 - c->side->along_mm,
                       .step_mm = view->travel.step_m * 1e3,
                       .half_mm = c->half_mm,
                       .top = c->top};
    if (!is_shown(c->bench, c->index)) {
        trace.count = 0;
    } else if (bench_moves(c->bench)) {
        double seen = (double)c->bench->under_way_us / BENCH_PASS_US;
        double to_mm = -c->half_mm + 2.0 * c->half_mm * seen;
        double points = floor((to_mm - trace.from_mm) / trace.step_mm);
        trace.count = (size_t)fmin(fmax(points, 0.0), (double)trace.count);
    }
    plot_trace(c->ui, box, &trace);
}

static void map_piece(const Column *c, PlotMap *map)
{
    const BenchSide *side = c->side;
    double azimuth = side->azimuth_deg * PI / 180.0;
    double elevation = side->elevation_deg * PI / 180.0;
    double half = side->is_wire ? side->length_mm / 2.0 : 0.0;
    double dy = half * cos(elevation) * sin(azimuth);
    double dz = half * sin(elevation);
    map->from = (DrawPoint){side->across_mm - dy, c->view->up_in_aperture_mm - dz};
    map->to = (DrawPoint){side->across_mm + dy, c->view->up_in_aperture_mm + dz};
}

static double draw_chance(const Column *c, double x, double y, double width)
{
    static const char *const keys[] = {"bench.this-way", "bench.all-turns"};
    const double chances[] = {c->view->chance, c->view->chance_all_turns};
    double small = line_px(c->ui, 16);
    double large = line_px(c->ui, 19);
    for (int i = 0; i < (c->side->is_wire ? 2 : 1); i++) {
        Text chance = {0};
        if (is_shown(c->bench, c->index))
            plot_add_chance(c->ui, chances[i], &chance);
        else
            text_add(&chance, "?");
        words(c, (DrawRect){x, y, width, small}, 16, false, DRAW_START, ui_say(c->ui, keys[i]));
        words(c, (DrawRect){x, y + small, width, large}, 19, true, DRAW_START, chance.bytes);
        text_clear(&chance);
        y += small + large;
    }
    return y;
}

/* The map of this set-up, at no scale and with no step yet. */
static PlotMap map_of(const Column *c)
{
    const BenchView *view = c->view;
    const CoilHead *coils = &view->head.head.coils;
    double w_mm = view->pack.width_m * 1e3;
    double h_mm = view->pack.height_m * 1e3;
    double belt_mm = (view->pack.centre_up_m - view->pack.height_m / 2.0) * 1e3;
    PlotMap map = {.mm = view->map,
                   .columns = BENCH_MAP_ACROSS,
                   .rows = BENCH_MAP_UP,
                   .width_mm = coils->aperture_width_m * 1e3,
                   .height_mm = coils->aperture_height_m * 1e3,
                   .belt_mm = belt_mm,
                   .pack = {-w_mm / 2.0, belt_mm, w_mm, h_mm}};
    map_piece(c, &map);
    return map;
}

/* Side by side, both maps have one scale and one step between their contours, so that they
 * compare. */
static void share_axes(const Column *c, DrawRect box, PlotMap *map)
{
    if (!shows_both(c->ui, c->bench)) return;
    Column other = *c;
    other.index = 1 - c->index;
    other.side = &c->bench->sides[other.index];
    other.view = bench_view(c->bench->model, other.side);
    PlotMap beside = map_of(&other);
    map->px_per_mm = fmin(plot_map_scale(box, map), plot_map_scale(box, &beside));
    map->step_mm = fmax(plot_map_step(map), plot_map_step(&beside));
}

static void draw_map(const Column *c, double y, double height)
{
    double line = line_px(c->ui, 16);
    PlotMap map = map_of(c);
    Text title = {0};
    Text metal = {0};
    add_metal(c, c->view->map_metal, &metal);
    const char *const values[] = {metal.bytes};
    plot_fill(&title, ui_say(c->ui, "bench.map"), values, 1);
    words(c, (DrawRect){c->x, y, c->w, line}, 16, true, DRAW_START, title.bytes);
    text_clear(&title);
    text_clear(&metal);
    double top = y + line + 2.0;
    DrawRect box = {c->x + 1, top, c->w * 0.53, height - line - 3.0};
    share_axes(c, box, &map);
    DrawRect drawn = plot_map(c->ui, box, &map);
    double right = c->x + c->w * 0.53 + 2.0 * UI_GAP;
    double width = c->x + c->w - right;
    double below = draw_chance(c, right, top, width);
    plot_scale_bar(c->ui, (DrawRect){right, below, width, line}, drawn.w / map.width_mm);
}

/* --- Sending --------------------------------------------------------------------------------- */

/* One pack through one side: the noise-free peak and one deviation of the head. */
static void send_pack(Bench *bench, int index)
{
    const BenchView *view = bench_view(bench->model, &bench->sides[index]);
    double deviation[2];
    detect_draw_deviation(&bench->random, view->kappa, deviation);
    bool is_found = hypot(view->peak[0] + deviation[0], view->peak[1] + deviation[1]) > 1.0;
    bench->sent[index]++;
    if (is_found) bench->found[index]++;
}

/* What the puzzle's pack tells: judged by the chance, not by one lucky pack. */
static void judge(Bench *bench)
{
    int index = bench->puzzle == PUZZLE_FIND ? 1 : 0;
    double chance = bench_view(bench->model, &bench->sides[index])->chance;
    bench->is_tried = true;
    bench->says_chance = chance;
    if (bench->puzzle == PUZZLE_HIDE && chance <= BENCH_HIDDEN) {
        bench->puzzle = PUZZLE_FIND;
        bench->is_tried = false;
        bench->shown = 1;
        bench->sides[1] = bench->sides[0];
        bench->says = "bench.find";
    } else if (bench->puzzle == PUZZLE_HIDE) {
        bench->says = "bench.seen";
    } else if (chance >= BENCH_FOUND) {
        bench->puzzle = PUZZLE_SOLVED;
        bench->says = "bench.solved";
    } else {
        bench->says = "bench.not-yet";
    }
}

static void leave_puzzle(Bench *bench)
{
    bench->puzzle = PUZZLE_NONE;
    bench->is_tried = false;
    bench->shown = 0;
    say(bench, "bench.under");
}

static void begin_puzzle(Bench *bench)
{
    bench->open = OPEN_NONE;
    if (!bench_puzzle(bench->model, bench->sides)) {
        say(bench, "bench.no-puzzle");
        return;
    }
    bench->puzzle = PUZZLE_HIDE;
    bench->is_tried = false;
    bench->shown = 0;
    say(bench, "bench.hide");
}

void bench_open(Session *session, bool is_puzzle)
{
    Bench *bench = &session->bench;
    begin(session);
    bench->set_up_from = PLACE_DOOR;
    if (bench->model == NULL) return;
    if (is_puzzle) {
        begin_puzzle(bench);
    } else if (bench->puzzle != PUZZLE_NONE) {
        leave_puzzle(bench);
    }
}

static void act(Ui *ui, Bench *bench)
{
    static const char *const keys[] = {[PUZZLE_NONE] = "bench.send",
                                       [PUZZLE_HIDE] = "bench.try-it",
                                       [PUZZLE_FIND] = "bench.try-it",
                                       [PUZZLE_SOLVED] = "bench.leave-puzzle"};
    const char *key = keys[bench->puzzle];
    if (bench->puzzle == PUZZLE_NONE && shows_both(ui, bench)) key = "bench.send-both";
    if (!ui_next(ui, ui_say(ui, key))) return;
    bench->open = OPEN_NONE;
    if (bench->puzzle == PUZZLE_SOLVED) {
        leave_puzzle(bench);
        return;
    }
    bench->under_way_us = 0;
    for (int i = 0; i < BENCH_SIDES; i++) {
        if (i == bench->shown || (bench->puzzle == PUZZLE_NONE && shows_both(ui, bench))) {
            send_pack(bench, i);
        }
    }
    if (bench->puzzle != PUZZLE_NONE) judge(bench);
}

/* --- The place ------------------------------------------------------------------------------- */

static void copy(Bench *bench, int index)
{
    text_clear(&bench->copied);
    bench_describe(bench->model, &bench->sides[index], &bench->copied);
    say(bench, "bench.copied");
}

typedef enum {
    EXTRA_NUMBER,
    EXTRA_OTHER,
    EXTRA_PUZZLE,
    EXTRA_COPY,
    EXTRA_COPY_LEFT,
    EXTRA_COPY_RIGHT
} Extra;

static void do_extra(Bench *bench, Extra what)
{
    switch (what) {
    case EXTRA_NUMBER:
        bench->is_single = !bench->is_single;
        bench->open = OPEN_NONE;
        break;
    case EXTRA_OTHER:
        bench->shown = 1 - bench->shown;
        break;
    case EXTRA_PUZZLE:
        if (bench->puzzle == PUZZLE_NONE)
            begin_puzzle(bench);
        else
            leave_puzzle(bench);
        forget_sent(bench);
        break;
    case EXTRA_COPY:
        copy(bench, bench->shown);
        break;
    case EXTRA_COPY_LEFT:
        copy(bench, 0);
        break;
    case EXTRA_COPY_RIGHT:
        copy(bench, 1);
        break;
    }
}

static void extra(Ui *ui, Bench *bench, Extra what, DrawRect box)
{
    static const char *const keys[] = {
        [EXTRA_NUMBER] = "bench.one",          [EXTRA_OTHER] = "bench.other",
        [EXTRA_PUZZLE] = "bench.puzzle",       [EXTRA_COPY] = "bench.copy",
        [EXTRA_COPY_LEFT] = "bench.copy-left", [EXTRA_COPY_RIGHT] = "bench.copy-right"};
    const char *key = keys[what];
    if (what == EXTRA_NUMBER && bench->is_single) key = "bench.two";
    if (what == EXTRA_PUZZLE && bench->puzzle != PUZZLE_NONE) key = "bench.leave-puzzle";
    UiButton button = {.box = box, .label = ui_say(ui, key), .px = 19};
    if (ui_button(ui, ui_id("extra", (int)what), &button)) do_extra(bench, what);
}

/* The buttons of the header and the foot. */
static void draw_extras(Ui *ui, Bench *bench)
{
    double right = ui->width - UI_MARGIN;
    double left = UI_MARGIN + 1.32 * ui->text_percent + UI_GAP;
    if (bench->puzzle == PUZZLE_NONE) {
        extra(ui, bench, EXTRA_NUMBER, (DrawRect){right - 400.0, 18, 188, 59});
    }
    extra(ui, bench, EXTRA_PUZZLE, (DrawRect){right - 200.0, 18, 200, 59});
    if (shows_both(ui, bench)) {
        extra(ui, bench, EXTRA_COPY_LEFT, ui_foot_box(ui, left, 232));
        extra(ui, bench, EXTRA_COPY_RIGHT, ui_foot_box(ui, left + 232.0 + UI_GAP, 232));
    } else {
        extra(ui, bench, EXTRA_COPY, ui_foot_box(ui, left, 300));
    }
}

static void add_sentence(const Ui *ui, const Bench *bench, Text *out)
{
    Text chance = {0};
    plot_add_chance(ui, bench->says_chance, &chance);
    const char *const values[] = {chance.bytes};
    plot_fill(out, ui_say(ui, bench->says), values, 1);
    text_clear(&chance);
}

static void draw_open(const Column *c, DrawRect box)
{
    int what = c->bench->open;
    if (what == OPEN_PIECE) {
        draw_piece(c, box);
    } else {
        draw_choices(c, what, box);
    }
}

/* What the hands choose, and its height: choosers, the pack with its piece, the three turns. */
static double draw_hands(const Column *c, double y, double bottom, double most)
{
    double line = line_px(c->ui, 16);
    double turns = paper_row(c->ui, 19, 47);
    double choosers = draw_choosers(c, y) + UI_GAP;
    if (c->bench->open != OPEN_NONE && c->bench->shown == c->index) {
        draw_open(c, (DrawRect){c->x, y + choosers, c->w, bottom - y - choosers});
        return bottom - y;
    }
    double views = fmin(bottom - y - choosers - line - UI_GAP - turns, most);
    draw_views(c, y + choosers, views);
    draw_turns(c, y + choosers + line + views + UI_GAP);
    return choosers + line + views + UI_GAP + turns;
}

/* What comes of it. */
static void draw_answers(const Column *c, double y, double bottom)
{
    double line = line_px(c->ui, 16);
    double trace = floor((bottom - y - 3.0 * line - 6.0) / 2.0);
    draw_result(c, y);
    y += 2.0 * line;
    draw_trace(c, (DrawRect){c->x, y, c->w, trace});
    y += trace + 4.0;
    draw_map(c, y, bottom - y);
}

/* A whole set-up, one below the other; or, alone on a wide canvas, side by side. */
static void draw_column(const Column *c, double y, double bottom)
{
    bool is_alone = !shows_both(c->ui, c->bench);
    if (is_alone && c->ui->width > c->ui->height) {
        Column half = *c;
        half.w = (c->w - 48.0) / 2.0;
        (void)draw_hands(&half, y, bottom, half.w * 0.8);
        half.x += half.w + 48.0;
        draw_answers(&half, y, bottom);
        return;
    }
    double views = floor((bottom - y - 238.0) * 0.24);
    double used = draw_hands(c, y, bottom, fmin(views, c->w * 0.3));
    if (used < bottom - y) draw_answers(c, y + used + 6.0, bottom);
}

static void draw_more(const Column *c, double y)
{
    static const Extra extras[] = {EXTRA_OTHER, EXTRA_PUZZLE, EXTRA_COPY};
    double row = paper_row(c->ui, 19, 59);
    for (size_t i = 0; i < sizeof extras / sizeof extras[0]; i++) {
        if (extras[i] == EXTRA_OTHER && c->bench->puzzle != PUZZLE_NONE) continue;
        extra(c->ui, c->bench, extras[i], (DrawRect){c->x, y, fmin(c->w, 900.0), row});
        y += row + UI_GAP;
    }
}

/* One page of a set-up, when text is enlarged. */
static void draw_page(const Column *c, double y, double bottom)
{
    static const char *const tabs[] = {"bench.tab-piece", "bench.tab-signal", "bench.tab-map",
                                       "bench.tab-more", NULL};
    double line = line_px(c->ui, 16);
    Bench *bench = c->bench;
    if (bench->open == OPEN_NONE) y = paper_tabs(c->ui, y, tabs, &bench->tab);
    if (bench->open != OPEN_NONE || bench->tab == 0) {
        (void)draw_hands(c, y, bottom, bottom - y);
    } else if (bench->tab == 1) {
        draw_result(c, y);
        draw_trace(c, (DrawRect){c->x, y + 2.0 * line, c->w, bottom - y - 2.0 * line});
    } else if (bench->tab == 2) {
        draw_map(c, y, bottom - y);
    } else {
        draw_more(c, y);
    }
}

/* What both set-ups share, so that they compare. */
static void set_axes(const Ui *ui, Bench *bench, Column *c)
{
    double largest = 1.0;
    double half_mm = 100.0;
    bool both = shows_both(ui, bench);
    for (int i = 0; i < BENCH_SIDES; i++) {
        if (!both && i != c->index) continue;
        const BenchSide *side = &bench->sides[i];
        const BenchView *view = bench_view(bench->model, side);
        if (is_shown(bench, i)) largest = fmax(largest, view->ratio);
        half_mm =
            fmax(half_mm, 1500.0 * view->head.head.coils.aperture_height_m + fabs(side->along_mm));
    }
    c->top = plot_top(largest);
    c->half_mm = 100.0 * ceil(half_mm / 100.0);
}

static void draw_columns(Ui *ui, Session *session)
{
    Bench *bench = &session->bench;
    bool is_big = ui->text_percent >= BIG_FROM_PERCENT;
    bool both = shows_both(ui, bench);
    double half = (ui->width - 2.0 * UI_MARGIN - 48.0) / 2.0;
    for (int i = 0; i < BENCH_SIDES; i++) {
        if (!both && i != bench->shown) continue;
        BenchSide before = bench->sides[i];
        Column c = {.ui = ui,
                    .session = session,
                    .bench = bench,
                    .index = i,
                    .side = &bench->sides[i],
                    .view = bench_view(bench->model, &bench->sides[i]),
                    .x = both && i == 1 ? UI_MARGIN + half + 48.0 : UI_MARGIN,
                    .w = both ? half : ui->width - 2.0 * UI_MARGIN};
        set_axes(ui, bench, &c);
        if (is_big)
            draw_page(&c, ui_head_y(ui) + 10.0, ui_foot_y(ui) - 12.0);
        else
            draw_column(&c, ui_head_y(ui) + 8.0, ui_foot_y(ui) - 10.0);
        bench_settle(bench->model, c.side);
        if (bench_same(&before, c.side)) continue;
        bench->is_tried = false;
        forget_sent(bench);
    }
    if (both) {
        DrawPoint rule[] = {{ui->width / 2.0, ui_head_y(ui) + 10.0},
                            {ui->width / 2.0, ui_foot_y(ui) - 12.0}};
        draw_line(ui->list, rule, 2, DRAW_LINE, 1);
    }
}

/* Title and sentence; of two set-ups that do not fit side by side, which one this is. Enlarged, the
 * sentence may have the whole width, as there is no button beside it. */
static void draw_header(Ui *ui, const Bench *bench)
{
    bool is_big = ui->text_percent >= BIG_FROM_PERCENT;
    Text title = {0};
    Text sentence = {0};
    text_add(&title, ui_say(ui, "bench.title"));
    if (is_big) text_addf(&title, ", %d / %d", bench->shown + 1, BENCH_SIDES);
    if (bench->model != NULL) add_sentence(ui, bench, &sentence);
    ui_header(ui, title.bytes, is_big ? "" : text_string(&sentence));
    if (is_big) {
        DrawRect under = {UI_MARGIN, 10.0 + line_px(ui, 30), ui->width - 2.0 * UI_MARGIN, 0};
        (void)ui_text(ui, under, 19, false, DRAW_SOFT, DRAW_PAPER, DRAW_START,
                      text_string(&sentence));
    }
    text_clear(&title);
    text_clear(&sentence);
}

void place_bench(Ui *ui, Session *session)
{
    Bench *bench = &session->bench;
    begin(session);
    draw_header(ui, bench);
    if (bench->model == NULL) {
        (void)paper_say(ui, UI_MARGIN, ui_head_y(ui) + 24.0, ui->width - 2.0 * UI_MARGIN, 19,
                        DRAW_INK, "bench.nothing");
    } else {
        if (ui->text_percent < BIG_FROM_PERCENT) draw_extras(ui, bench);
        draw_columns(ui, session);
    }
    if (ui_back(ui, ui_say(ui, "bench.back"))) {
        if (bench->open != OPEN_NONE)
            bench->open = OPEN_NONE;
        else if (bench->set_up_from != PLACE_DOOR && session->run != NULL)
            session_go(session, bench->set_up_from);
        else
            session_go(session, session->chosen_person >= 0 ? PLACE_HOME : PLACE_DOOR);
    }
    if (bench->model != NULL) act(ui, bench);
}
