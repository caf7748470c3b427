/* Practice: a pass opened up, with its trace, the map of the aperture and its chances. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ui/pass.h"
#include "ui/plot.h"
#include "ui/run.h"

#define PI 3.14159265358979323846

enum { NUMBER_BYTES = 32, WORDS_WIDTH = 388, COLUMN_GAP = 28, PAGES = 3 };

/* What is shown of the pass: what the log tells, and what the bench computes of its piece at the
 * limit as validated. */
typedef struct {
    const Run *run;
    Pass pass;
    BenchSide side;
    const BenchView *bench;
} Opened;

bool run_can_open(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    return !run->session->is_assessment && run->scene != NULL &&
           pass_find(log, count, (int)count, -1) >= 0 && bench_model_of(run->session) != NULL;
}

void run_open(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    run->view->opened_pass = pass_find(log, count, (int)count, -1);
    run->view->pass_page = 0;
}

static Opened open_up(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    BenchModel *model = bench_model_of(run->session);
    Opened opened = {.run = run};
    pass_read(run->scenario, log, (size_t)run->view->opened_pass, &opened.pass);
    const Pass *pass = &opened.pass;
    opened.side = bench_side(model, pass->head, pass->product, pass->piece, &pass->lying);
    opened.side.across_mm += pass->across_mm;
    opened.bench = bench_view(model, &opened.side);
    return opened;
}

/* The chance at the limit of that moment. The metal is called when its signal and one deviation
 * together are longer than that limit: both are in validated ones. */
static double chance_then(const Opened *opened)
{
    double kappa = opened->bench->kappa;
    return detect_marcum_q1(kappa * opened->bench->ratio, kappa * opened->pass.limit);
}

/* --- Words ----------------------------------------------------------------------------------- */

/* A ratio that does not read as 1 where it is not. */
static void add_ratio(const Run *run, double ratio, Text *out)
{
    double shown = ratio <= 1.0 ? fmin(ratio, 0.99) : fmax(ratio, ratio < 1.995 ? 1.01 : ratio);
    size_t before = out->len;
    text_addf(out, "%.*f", ratio < 1.995 ? 2 : ratio < 9.95 ? 1 : 0, shown);
    texts_localise(run->ui->texts, out->bytes + before);
}

void run_tell_last_pass(const Run *run, DrawRect box)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    int at = pass_find(log, count, (int)count, -1);
    char number[NUMBER_BYTES];
    Pass pass;
    Text ratio = {0};
    Text words = {0};
    if (at < 0) return;
    pass_read(run->scenario, log, (size_t)at, &pass);
    (void)snprintf(number, sizeof number, "%d", pass.pack);
    add_ratio(run, pass.ratio, &ratio);
    const char *const values[] = {number, ratio.bytes};
    plot_fill(&words, run_say(run, pass.is_found ? "run.last-found" : "run.last-missed"), values,
              2);
    run_write(run, box, 16, false, DRAW_SOFT, run_say(run, "run.last-pass"));
    box.y += draw_line_height(ui_px(run->ui, 16));
    run_write(run, box, 19, true, DRAW_INK, words.bytes);
    text_clear(&ratio);
    text_clear(&words);
}

static double say_filled(const Opened *opened, DrawRect box, int px, bool is_bold, const char *key,
                         const char *value)
{
    Text words = {0};
    const char *const values[] = {value};
    plot_fill(&words, ui_say(opened->run->ui, key), values, 1);
    double height =
        paper_words(opened->run->ui, box.x, box.y, box.w, px, is_bold, text_string(&words));
    text_clear(&words);
    return height;
}

static double draw_title(const Opened *opened, DrawRect box)
{
    char number[NUMBER_BYTES];
    char name[96];
    Text words = {0};
    const char *const values[] = {number, name, opened->pass.piece->id};
    (void)snprintf(number, sizeof number, "%d", opened->pass.pack);
    run_piece_name(opened->run, opened->pass.piece, name, sizeof name);
    plot_fill(&words, ui_say(opened->run->ui, "pass.title"), values, 3);
    double height = paper_words(opened->run->ui, box.x, box.y, box.w, 19, true, words.bytes);
    text_clear(&words);
    return height;
}

/* Found or missed, and by how much. */
static double draw_verdict(const Opened *opened, DrawRect box)
{
    Ui *ui = opened->run->ui;
    const Pass *pass = &opened->pass;
    const char *word = ui_say(ui, pass->is_found ? "pass.found" : "pass.missed");
    double line = draw_line_height(ui_px(ui, 24));
    double radius = 0.46 * ui_px(ui, 24);
    double x = box.x + 2.0 * radius + 14.0;
    double width = ui_width(ui, 24, true, word) + 4.0;
    Text ratio = {0};
    Text words = {0};
    add_ratio(opened->run, pass->ratio, &ratio);
    const char *const values[] = {ratio.bytes};
    plot_fill(&words, ui_say(ui, "pass.ratio"), values, 1);
    draw_mark(ui->list, pass->is_found ? DRAW_DONE : DRAW_MISSED, box.x + radius + 2,
              box.y + line / 2.0, radius, DRAW_INK);
    (void)paper_words(ui, x, box.y, width, 24, true, word);
    double right = x + width + UI_GAP;
    if (right + ui_width(ui, 24, false, words.bytes) <= box.x + box.w) {
        (void)paper_words(ui, right, box.y, box.x + box.w - right, 24, false, words.bytes);
    } else {
        line += paper_words(ui, box.x, box.y + line, box.w, 19, false, words.bytes);
    }
    text_clear(&ratio);
    text_clear(&words);
    return line;
}

/* What made it other than the plain piece at the plain limit would be. */
static double draw_remarks(const Opened *opened, DrawRect box)
{
    const Pass *pass = &opened->pass;
    double y = box.y;
    Text value = {0};
    if (pass->has_fallen) {
        y += paper_say(opened->run->ui, box.x, y, box.w, 16, DRAW_INK, "pass.fallen");
    } else if (pass->piece_count > 1) {
        text_addf(&value, "%d", pass->piece_count);
        y += say_filled(opened, (DrawRect){box.x, y, box.w, 0}, 16, false, "pass.several",
                        value.bytes);
    } else if (!pass->is_program_right) {
        y += paper_say(opened->run->ui, box.x, y, box.w, 16, DRAW_INK, "pass.program");
    } else if (pass->limit != 1.0) {
        add_ratio(opened->run, opened->bench->ratio, &value);
        y += say_filled(opened, (DrawRect){box.x, y, box.w, 0}, 16, false, "pass.valid",
                        value.bytes);
    }
    text_clear(&value);
    return y - box.y;
}

static double draw_chance(const Opened *opened, DrawRect box, const char *key, double chance)
{
    Ui *ui = opened->run->ui;
    Text words = {0};
    plot_add_chance(ui, chance, &words);
    double height = paper_say(ui, box.x, box.y, box.w, 16, DRAW_INK, key);
    height += paper_words(ui, box.x, box.y + height, box.w, 19, true, words.bytes);
    text_clear(&words);
    return height + 4.0;
}

/* The passes before and after it, and the bench. */
static void draw_ways(const Opened *opened, DrawRect box)
{
    const Run *run = opened->run;
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    double width = (box.w - UI_GAP) / 2.0;
    double row = (box.h - UI_GAP) / 2.0;
    for (int i = 0; i < 2; i++) {
        int other = pass_find(log, count, run->view->opened_pass, i == 0 ? -1 : 1);
        UiButton step = {.box = {box.x + i * (width + UI_GAP), box.y, width, row},
                         .label = run_say(run, i == 0 ? "pass.earlier" : "pass.later"),
                         .is_disabled = other < 0,
                         .px = 16};
        if (ui_button(run->ui, ui_id("pass-step", i), &step)) run->view->opened_pass = other;
    }
    UiButton bench = {.box = {box.x, box.y + row + UI_GAP, box.w, row},
                      .label = run_say(run, "pass.bench"),
                      .px = 16};
    if (ui_button(run->ui, ui_id("pass-bench", 0), &bench))
        pass_on_bench(run->session, &opened->pass);
}

static void tell_pass(const Opened *opened, DrawRect box)
{
    double y = box.y + draw_title(opened, box);
    y += draw_verdict(opened, (DrawRect){box.x, y, box.w, 0});
    y += draw_remarks(opened, (DrawRect){box.x, y, box.w, 0});
    if (opened->pass.has_fallen) return;
    if (opened->pass.is_program_right && opened->pass.piece_count == 1) {
        y += draw_chance(opened, (DrawRect){box.x, y, box.w, 0}, "pass.this-way",
                         chance_then(opened));
    }
    if (opened->side.is_wire && opened->pass.limit == 1.0) {
        (void)draw_chance(opened, (DrawRect){box.x, y, box.w, 0}, "pass.all-turns",
                          opened->bench->chance_all_turns);
    }
}

/* --- Plots ----------------------------------------------------------------------------------- */

/* The signal in limits of that moment. */
static void draw_trace(const Opened *opened, DrawRect box)
{
    Ui *ui = opened->run->ui;
    const BenchView *view = opened->bench;
    double line = draw_line_height(ui_px(ui, 16));
    double limit = opened->pass.is_program_right ? opened->pass.limit : 1.0;
    double *signal = check_calloc(view->travel.count, sizeof *signal);
    for (size_t i = 0; i < view->travel.count; i++) {
        signal[i] = view->signal[i] / limit;
    }
    double half_mm = 1500.0 * view->head.head.coils.aperture_height_m + fabs(opened->side.along_mm);
    PlotTrace trace = {.signal = signal,
                       .count = view->travel.count,
                       .from_mm = view->travel.from_m * 1e3 - opened->side.along_mm,
                       .step_mm = view->travel.step_m * 1e3,
                       .half_mm = 100.0 * ceil(fmax(half_mm, 100.0) / 100.0),
                       .top = plot_top(fmax(1.0, view->ratio / limit))};
    paper_line(ui, (DrawRect){box.x, box.y, box.w, line},
               &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START}, ui_say(ui, "pass.travel"));
    plot_trace(ui, (DrawRect){box.x, box.y + line, box.w, box.h - line}, &trace);
    free(signal);
}

static void draw_map(const Opened *opened, DrawRect box)
{
    Ui *ui = opened->run->ui;
    const BenchSide *side = &opened->side;
    const BenchView *view = opened->bench;
    const CoilHead *coils = &view->head.head.coils;
    double line = draw_line_height(ui_px(ui, 16));
    double w_mm = view->pack.width_m * 1e3;
    double h_mm = view->pack.height_m * 1e3;
    double belt_mm = (view->pack.centre_up_m - view->pack.height_m / 2.0) * 1e3;
    double half = side->is_wire ? side->length_mm / 2.0 : 0.0;
    double dy = half * cos(side->elevation_deg * PI / 180.0) * sin(side->azimuth_deg * PI / 180.0);
    double dz = half * sin(side->elevation_deg * PI / 180.0);
    PlotMap map = {.mm = view->map,
                   .columns = BENCH_MAP_ACROSS,
                   .rows = BENCH_MAP_UP,
                   .width_mm = coils->aperture_width_m * 1e3,
                   .height_mm = coils->aperture_height_m * 1e3,
                   .belt_mm = belt_mm,
                   .pack = {opened->pass.across_mm - w_mm / 2.0, belt_mm, w_mm, h_mm},
                   .from = {side->across_mm - dy, view->up_in_aperture_mm - dz},
                   .to = {side->across_mm + dy, view->up_in_aperture_mm + dz}};
    const Metal *metal =
        metals_at(bench_metals(bench_model_of(opened->run->session)), (size_t)view->map_metal);
    double y = box.y + say_filled(opened, box, 16, true, "bench.map",
                                  texts_get(ui->texts, "words", metal->name));
    double room = box.y + box.h - y - line - 4.0;
    DrawRect drawn = plot_map(ui, (DrawRect){box.x + 1, y + 2, box.w - 2, room}, &map);
    plot_scale_bar(ui, (DrawRect){box.x, drawn.y + drawn.h + 2, box.w, line},
                   drawn.w / map.width_mm);
}

/* --- The whole ------------------------------------------------------------------------------- */

/* Enlarged, one part at a time. */
static void draw_page(const Opened *opened, DrawRect box)
{
    static const char *const keys[PAGES] = {"pass.words", "pass.trace", "pass.map"};
    const Run *run = opened->run;
    double width = (box.w - (PAGES - 1) * UI_GAP) / PAGES;
    for (int i = 0; i < PAGES; i++) {
        UiButton face = {.box = {box.x + i * (width + UI_GAP), box.y, width, RUN_BUTTON},
                         .label = run_say(run, keys[i]),
                         .look = run->view->pass_page == i ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("pass-page", i), &face)) run->view->pass_page = i;
    }
    box.y += RUN_BUTTON + UI_GAP;
    box.h -= RUN_BUTTON + UI_GAP;
    if (run->view->pass_page == 1) {
        draw_trace(opened, box);
    } else if (run->view->pass_page == 2) {
        draw_map(opened, box);
    } else {
        double ways = 2.0 * run->row + UI_GAP;
        double right = box.w * 0.4;
        tell_pass(opened, (DrawRect){box.x, box.y, box.w - right - 2 * UI_GAP, 0});
        draw_ways(opened, (DrawRect){box.x + box.w - right, box.y, right, ways});
    }
}

void run_pass(const Run *run, DrawRect box)
{
    Opened opened = open_up(run);
    if (run->is_big) {
        draw_page(&opened, box);
        return;
    }
    double ways = 2.0 * RUN_BUTTON + UI_GAP;
    double x = box.x + WORDS_WIDTH + COLUMN_GAP;
    double plot = (box.x + box.w - x - COLUMN_GAP) / 2.0;
    tell_pass(&opened, (DrawRect){box.x, box.y, WORDS_WIDTH, box.h - ways});
    draw_ways(&opened, (DrawRect){box.x, box.y + box.h - ways, WORDS_WIDTH, ways});
    draw_trace(&opened, (DrawRect){x, box.y, plot, box.h});
    draw_map(&opened, (DrawRect){x + plot + COLUMN_GAP, box.y, plot, box.h});
}
