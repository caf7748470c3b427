/* Draws the figures of docs/model.md from the model itself: figures FOLDER
 *
 * Run from the top of the tree. Each picture is computed anew; the settings stand beside each. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/texts.h"
#include "base/os.h"
#include "base/text.h"
#include "detector/fit.h"
#include "detector/smallest.h"
#include "ui/plot.h"
#include "ui/sdl_draw.h"

enum { WIDTH = 960, HEIGHT = 600, CURVES_MAX = 3, POINTS_MAX = 601, MAP_ACROSS = 31, MAP_UP = 17 };

#define DEGREE (3.14159265358979323846 / 180.0)

typedef struct {
    const char *folder;
    SdlDraw *draw;
    DrawList list;
    Texts *texts;
    UiMemory memory;
    Ui ui;
} Studio;

/* Metals as in assets/metals.json. */
static const TargetMetal stainless_316 = {7.4e-7, 1.005};
static const TargetMetal chrome_steel = {2.2e-7, 70.0};
static const TargetMetal brass = {6.16e-8, 1.0};
static const TargetMetal carbon_steel = {1.5e-7, 90.0};

/* The head of most figures: 400 x 200 mm at 300 kHz. */
static const DetectHead usual = {.coils = {0.4, 0.2, 0.02, 0.08},
                                 .frequency_hz = 300e3,
                                 .noise_v = 10e-9,
                                 .false_reject_rate = 1e-6};

static bool begin(Studio *studio, Err *err)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    double width;
    double height;
    if (!sdl_draw_new(NULL, &studio->draw, err)) return false;
    sdl_draw_fit(studio->draw, WIDTH, HEIGHT, &width, &height);
    studio->ui = (Ui){.list = &studio->list,
                      .measure = sdl_draw_measure(studio->draw),
                      .texts = studio->texts,
                      .language = "en",
                      .memory = &studio->memory,
                      .event = &nothing,
                      .text_percent = 150,
                      .width = width,
                      .height = height};
    ui_begin(&studio->ui, DRAW_LIGHT);
    return true;
}

static bool end(Studio *studio, const char *name, Err *err)
{
    Text path = {0};
    ui_end(&studio->ui);
    sdl_draw_list(studio->draw, &studio->list);
    text_addf(&path, "%s/model-%s.png", studio->folder, name);
    bool ok = sdl_draw_save(studio->draw, path.bytes, err);
    if (ok) (void)printf("%s\n", path.bytes);
    text_clear(&path);
    sdl_draw_free(studio->draw);
    studio->draw = NULL;
    return ok;
}

/* --- A chart of curves ----------------------------------------------------------------------- */

typedef struct {
    const char *name;
    double x[POINTS_MAX], y[POINTS_MAX];
    int count;
    double name_x, name_y; /* where the name stands, in the chart's units */
} Curve;

typedef struct {
    const char *x_words, *y_words;
    double x_from, x_to, x_step, y_from, y_to, y_step;
} Axes;

static DrawRect chart_box(const Ui *ui)
{
    return (DrawRect){110, 70, ui->width - 150, ui->height - 160};
}

static DrawPoint chart_point(const Ui *ui, const Axes *axes, double x, double y)
{
    DrawRect box = chart_box(ui);
    return (DrawPoint){box.x + box.w * (x - axes->x_from) / (axes->x_to - axes->x_from),
                       box.y + box.h * (1.0 - (y - axes->y_from) / (axes->y_to - axes->y_from))};
}

static void chart_word(Ui *ui, double x, double y, DrawAlign align, int px, const char *words)
{
    double left = align == DRAW_START ? x : align == DRAW_MIDDLE ? x - 400.0 : x - 800.0;
    (void)ui_text(ui, (DrawRect){left, y, 800, 0}, px, false, DRAW_INK, DRAW_PAPER, align, words);
}

static void draw_axes(Ui *ui, const Axes *axes)
{
    char words[32];
    DrawRect box = chart_box(ui);
    for (int i = 0; axes->x_from + i * axes->x_step <= axes->x_to * 1.0001; i++) {
        double x = axes->x_from + i * axes->x_step;
        DrawPoint foot = chart_point(ui, axes, x, axes->y_from);
        DrawPoint tick[] = {foot, {foot.x, foot.y + 8}};
        draw_line(ui->list, tick, 2, DRAW_LINE, 1.5);
        (void)snprintf(words, sizeof words, "%g", x);
        chart_word(ui, foot.x, foot.y + 12, DRAW_MIDDLE, 16, words);
    }
    for (int i = 0; axes->y_from + i * axes->y_step <= axes->y_to * 1.0001; i++) {
        double y = axes->y_from + i * axes->y_step;
        DrawPoint left = chart_point(ui, axes, axes->x_from, y);
        DrawPoint rule[] = {left, {left.x + box.w, left.y}};
        draw_line(ui->list, rule, 2, DRAW_LINE, 1);
        (void)snprintf(words, sizeof words, "%g", y);
        chart_word(ui, left.x - 14, left.y - 18, DRAW_END, 16, words);
    }
    chart_word(ui, box.x - 80, 20, DRAW_START, 16, axes->y_words);
    chart_word(ui, box.x + box.w, box.y + box.h + 48, DRAW_END, 16, axes->x_words);
}

static void draw_curves(Ui *ui, const Axes *axes, const Curve *curves, int count)
{
    draw_axes(ui, axes);
    for (int c = 0; c < count; c++) {
        DrawPoint points[POINTS_MAX];
        for (int i = 0; i < curves[c].count; i++) {
            points[i] = chart_point(ui, axes, curves[c].x[i], curves[c].y[i]);
        }
        draw_line(ui->list, points, (size_t)curves[c].count, DRAW_ACCENT, 3);
        DrawPoint name = chart_point(ui, axes, curves[c].name_x, curves[c].name_y);
        chart_word(ui, name.x, name.y, DRAW_START, 16, curves[c].name);
    }
}

/* --- The figures ----------------------------------------------------------------------------- */

/* The peak ratio of a piece on a bare belt, on the axis of the head. */
static double ratio_of(const DetectHead *head, const TargetPiece *piece, double *along,
                       double *across, const DetectGrid *grid)
{
    Err err = {0};
    DetectProgram program = {0};
    DetectPiece at = {.piece = *piece};
    double largest = 0.0;
    if (!detect_program_init(&program, head, NULL, grid, &err)) return 0.0;
    detect_trace(head, &program, NULL, &at, 1, grid, along, across);
    for (size_t i = 0; i < grid->count; i++) {
        largest = fmax(largest, hypot(along[i], across[i]));
    }
    detect_program_clear(&program);
    return largest;
}

/* A stainless 316 sphere of 3 mm: the part of the signal in the direction of its peak. */
static bool figure_trace(Studio *studio, Err *err)
{
    static double along[POINTS_MAX];
    static double across[POINTS_MAX];
    static double signal[POINTS_MAX];
    DetectGrid grid = {-0.3, 0.001, POINTS_MAX};
    TargetPiece sphere = {
        .shape = TARGET_SPHERE, .diameter_m = 3e-3, .direction = {1, 0, 0}, .metal = stainless_316};
    double ratio = ratio_of(&usual, &sphere, along, across, &grid);
    size_t at = 0;
    for (size_t i = 0; i < grid.count; i++) {
        if (hypot(along[i], across[i]) > hypot(along[at], across[at])) at = i;
    }
    for (size_t i = 0; i < grid.count; i++) {
        signal[i] = (along[i] * along[at] + across[i] * across[at]) / ratio;
    }
    PlotTrace trace = {.signal = signal,
                       .count = grid.count,
                       .from_mm = -300,
                       .step_mm = 1,
                       .half_mm = 300,
                       .top = plot_top(ratio)};
    if (!begin(studio, err)) return false;
    plot_trace(&studio->ui, (DrawRect){90, 60, studio->ui.width - 150, studio->ui.height - 160},
               &trace);
    return end(studio, "trace", err);
}

static bool figure_chance(Studio *studio, Err *err)
{
    static Curve curves[2] = {{.name = "1 in 100", .name_x = 0.3, .name_y = 0.22},
                              {.name = "1 in 1 000 000", .name_x = 1.02, .name_y = 0.36}};
    static const double rates[2] = {1e-2, 1e-6};
    Axes axes = {"ratio", "chance of being found", 0, 2.5, 0.5, 0, 1, 0.25};
    for (int c = 0; c < 2; c++) {
        for (curves[c].count = 0; curves[c].count <= 250; curves[c].count++) {
            double ratio = 0.01 * curves[c].count;
            curves[c].x[curves[c].count] = ratio;
            curves[c].y[curves[c].count] = detect_found_probability(ratio, detect_kappa(rates[c]));
        }
    }
    if (!begin(studio, err)) return false;
    draw_curves(&studio->ui, &axes, curves, 2);
    return end(studio, "chance", err);
}

/* The smallest sphere of a ratio that is always found, at one place on a bare belt, mm; infinite
 * where none is. */
static double smallest_mm(const DetectHead *head, TargetMetal metal, double across_m, double up_m)
{
    static double coupling[DETECT_GRID_POINTS_MAX];
    Err err = {0};
    DetectProgram program = {0};
    DetectGrid grid = fit_travel(&head->coils, 0.0);
    double found_m = INFINITY;
    if (!detect_program_init(&program, head, NULL, &grid, &err)) return INFINITY;
    smallest_coupling(&head->coils, across_m, up_m, &grid, coupling);
    SmallestPlace place = {.program = &program,
                           .frequency_hz = head->frequency_hz,
                           .coupling = coupling,
                           .count = grid.count};
    if (!smallest_sphere(&place, metal, detect_ratio_for(0.99999, program.kappa),
                         head->coils.aperture_height_m, &found_m)) {
        found_m = INFINITY;
    }
    detect_program_clear(&program);
    return found_m * 1e3;
}

static bool figure_map(Studio *studio, Err *err)
{
    static double mm[MAP_UP * MAP_ACROSS];
    for (int i = 0; i < MAP_UP * MAP_ACROSS; i++) {
        double across = -0.19 + 0.38 * (i % MAP_ACROSS) / (MAP_ACROSS - 1);
        int row = i / MAP_ACROSS;
        double up = -0.09 + 0.18 * row / (MAP_UP - 1);
        mm[i] = smallest_mm(&usual, stainless_316, across, up);
    }
    PlotMap map = {.mm = mm,
                   .columns = MAP_ACROSS,
                   .rows = MAP_UP,
                   .width_mm = 400,
                   .height_mm = 200,
                   .belt_mm = -90,
                   .pack = {-50, -90, 100, 60},
                   .from = {0, -30},
                   .to = {0, -30}};
    if (!begin(studio, err)) return false;
    (void)plot_map(&studio->ui, (DrawRect){60, 40, studio->ui.width - 120, studio->ui.height - 80},
                   &map);
    return end(studio, "map", err);
}

/* All lengths of the head but the clearance grow with its height; noise and frequency stay. */
static bool figure_aperture(Studio *studio, Err *err)
{
    static Curve curves[CURVES_MAX] = {{.name = "stainless 316", .name_x = 404, .name_y = 4.4},
                                       {.name = "brass", .name_x = 404, .name_y = 3.87},
                                       {.name = "chrome steel", .name_x = 404, .name_y = 3.55}};
    const TargetMetal metals[CURVES_MAX] = {stainless_316, brass, chrome_steel};
    Axes axes = {"height of the aperture, mm",
                 "smallest sphere always found at the centre, mm",
                 50,
                 500,
                 50,
                 0,
                 5,
                 1};
    for (int c = 0; c < CURVES_MAX; c++) {
        for (curves[c].count = 0; curves[c].count <= 35; curves[c].count++) {
            DetectHead head = usual;
            double height = 0.05 + 0.01 * curves[c].count;
            head.coils.aperture_height_m = height;
            head.coils.aperture_width_m = 2.0 * height;
            head.coils.receiver_offset_m = 0.35 * (height + 0.04);
            curves[c].x[curves[c].count] = height * 1e3;
            curves[c].y[curves[c].count] = smallest_mm(&head, metals[c], 0.0, 0.0);
        }
    }
    if (!begin(studio, err)) return false;
    draw_curves(&studio->ui, &axes, curves, CURVES_MAX);
    return end(studio, "aperture", err);
}

/* Wires of 0.5 x 20 mm, turned in the belt's plane; each against its own largest. */
static bool figure_turn(Studio *studio, Err *err)
{
    static double along[POINTS_MAX];
    static double across[POINTS_MAX];
    static Curve curves[2] = {{.name = "carbon steel", .name_x = 24, .name_y = 0.95},
                              {.name = "brass", .name_x = 76, .name_y = 0.9}};
    const TargetMetal metals[2] = {carbon_steel, brass};
    DetectGrid grid = {-0.3, 0.001, POINTS_MAX};
    Axes axes = {"turn from lengthways to crossways, degrees",
                 "ratio, as a part of its largest",
                 0,
                 90,
                 15,
                 0,
                 1,
                 0.25};
    for (int c = 0; c < 2; c++) {
        for (curves[c].count = 0; curves[c].count <= 90; curves[c].count++) {
            double turn = curves[c].count * DEGREE;
            TargetPiece wire = {.shape = TARGET_WIRE,
                                .diameter_m = 0.5e-3,
                                .length_m = 20e-3,
                                .direction = {cos(turn), sin(turn), 0},
                                .metal = metals[c]};
            curves[c].x[curves[c].count] = curves[c].count;
            curves[c].y[curves[c].count] = ratio_of(&usual, &wire, along, across, &grid);
        }
        double largest = fmax(curves[c].y[0], curves[c].y[90]);
        for (int i = 0; i < curves[c].count; i++) {
            curves[c].y[i] /= largest;
        }
    }
    if (!begin(studio, err)) return false;
    draw_curves(&studio->ui, &axes, curves, 2);
    return end(studio, "turn", err);
}

int main(int argc, char **argv)
{
    static Studio studio;
    Err err = {0};
    if (argc != 2) {
        (void)fputs("usage: figures FOLDER\n", stderr);
        return 2;
    }
    studio.folder = argv[1];
    bool ok = os_folder_make(studio.folder, &err) &&
              texts_load("assets/texts/en.json", &studio.texts, &err) &&
              figure_trace(&studio, &err) && figure_chance(&studio, &err) &&
              figure_map(&studio, &err) && figure_aperture(&studio, &err) &&
              figure_turn(&studio, &err);
    if (!ok) (void)fprintf(stderr, "figures: %s\n", err.text);
    sdl_draw_free(studio.draw);
    draw_free(&studio.list);
    texts_free(studio.texts);
    return ok ? 0 : 2;
}
