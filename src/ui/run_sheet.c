/* The check sheet of the run: as it stands, and at the right side, where its cells are pressed. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { ROW_MOST = 59, MARK_RADIUS = 8, PAD = 8, VALUES = 4 };

/* What a row can hold, and the same in few words, for a cell. */
static const char *const values[VALUES] = {"removed", "found-not-removed", "missed",
                                           "not-finished"};
static const char *const short_keys[VALUES] = {"sheet.removed", "sheet.found-only", "sheet.missed",
                                               "sheet.not-finished"};

/* One row of the sheet: its name in the log, and what was written of it. */
typedef struct {
    char name[LOG_WORD_BYTES];
    const char *value, *before; /* now, and the last other value before it; NULL: none */
    int64_t time_us, before_us; /* when they were written, run times */
    bool is_signed;
} Row;

static void name_row(const Run *run, int cell, char out[LOG_WORD_BYTES])
{
    const SitePlan *plan = run->scenario->plan;
    int len = snprintf(out, LOG_WORD_BYTES, "%.40s/%s", plan->metals[cell / SITE_SPOT_COUNT]->name,
                       site_spot_words[cell % SITE_SPOT_COUNT]);
    if (run->scenario->line->setup.lanes == 1) return;
    (void)snprintf(out + len, LOG_WORD_BYTES - (size_t)len, "/%d", run->view->lane + 1);
}

/* Several lanes have a sheet each: which this is, over the metals' names; true when it was told. */
static bool tell_lane(const Run *run, DrawRect box)
{
    char words[64];
    if (run->scenario->line->setup.lanes == 1) return false;
    run_lane_name(run, run->view->lane, words, sizeof words);
    paper_line(run->ui, box, &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START}, words);
    return true;
}

/* Beside what can be written, or below the sheet: the same of the next lane. */
static void draw_next_lane(const Run *run, DrawRect box)
{
    char words[64];
    int lanes = run->scenario->line->setup.lanes;
    int next = (run->view->lane + 1) % lanes;
    if (lanes == 1) return;
    run_lane_name(run, next, words, sizeof words);
    if (run_button(run, "sheet-lane", 0, box, words, false)) run->view->lane = next;
}

static Row row_of(const Run *run, int cell)
{
    Row row = {.time_us = -1, .before_us = -1};
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    name_row(run, cell, row.name);
    row.value = player_row(run->player, row.name, &row.is_signed);
    for (size_t i = row.value == NULL ? 0 : count; i > 0 && row.before == NULL; i--) {
        const LogLine *line = &log[i - 1];
        if (!log_is(line, HAPPENING_ROW_WRITTEN) || strcmp(log_word(line, "row"), row.name) != 0)
            continue;
        const char *value = log_word(line, "value");
        if (strcmp(value, row.value) == 0) {
            if (row.time_us < 0) row.time_us = line->time_us;
        } else {
            row.before = value;
            row.before_us = line->time_us;
        }
    }
    return row;
}

static DrawMark mark_of(const char *value)
{
    if (value == NULL || strcmp(value, "not-finished") == 0) return DRAW_TODO;
    if (strcmp(value, "missed") == 0) return DRAW_MISSED;
    return strcmp(value, "removed") == 0 ? DRAW_DONE : DRAW_ACCEPTED;
}

static const char *word_of(const Run *run, const char *value)
{
    for (int i = 0; value != NULL && i < VALUES; i++) {
        if (strcmp(value, values[i]) == 0) return run_say(run, short_keys[i]);
    }
    return value == NULL ? run_say(run, "sheet.to-do") : texts_get(run->ui->texts, "words", value);
}

/* Hours and minutes, as they are written on paper. */
static void add_minutes(const Run *run, int64_t time_us, Text *out)
{
    texts_add_clock(run->scenario, time_us, out);
    out->len -= 3;
    out->bytes[out->len] = '\0';
}

/* Words with one line through them: still to be read, as on paper. Returns their width. */
static double strike(const Run *run, double x, double y, const PaperInk *ink, const char *words)
{
    double line = draw_line_height(ui_px(run->ui, ink->px));
    double width = ui_width(run->ui, ink->px, ink->is_bold, words) + 2.0;
    double middle = y + 0.54 * line;
    paper_line(run->ui, (DrawRect){x, y, width, line}, ink, words);
    DrawPoint through[] = {{x - 2.0, middle}, {x + width, middle}};
    draw_line(run->ui->list, through, 2, ink->role, 2);
    return width;
}

/* Words where there is room for all of them; returns what they take. */
static double add_if_fits(const Run *run, DrawRect room, const PaperInk *ink, const char *words)
{
    double width = ui_width(run->ui, ink->px, ink->is_bold, words) + 2.0;
    if (width > room.w) return 0.0;
    paper_line(run->ui, (DrawRect){room.x, room.y, width, room.h}, ink, words);
    return width;
}

/* Beside a written cell's mark: the time where it fits, and the value that was corrected, as a word
 * where it fits, else as a mark, with a line through it. */
static void draw_written(const Run *run, DrawRect box, const PaperInk *ink, const Row *row)
{
    Text clock = {0};
    PaperInk light = *ink;
    double radius = 0.01 * run->ui->text_percent * MARK_RADIUS;
    double right = box.x + box.w;
    light.is_bold = false;
    add_minutes(run, row->time_us, &clock);
    DrawRect room = box; /* what was corrected counts for more than when */
    if (row->before != NULL) room.w -= 2.0 * radius + 18.0;
    double taken = add_if_fits(run, room, ink, clock.bytes);
    text_clear(&clock);
    if (taken > 0.0) box.x += taken + 8.0;
    if (row->before == NULL) return;
    const char *old = word_of(run, row->before);
    if (box.x + ui_width(run->ui, 16, false, old) + 4.0 <= right) {
        (void)strike(run, box.x, box.y, &light, old);
        return;
    }
    if (box.x + 2.0 * radius + 8.0 > right) return; /* the row's own page tells it */
    double x = box.x + radius + 3.0;
    double y = box.y + box.h / 2.0;
    /* slanted as no mark is, so that it is seen on each */
    DrawPoint through[] = {{x - radius - 5.0, y + 0.55 * radius},
                           {x + radius + 5.0, y - 0.55 * radius}};
    draw_mark(run->ui->list, mark_of(row->before), x, y, radius, ink->role);
    draw_line(run->ui->list, through, 2, ink->role, 2);
}

/* A cell: its mark and time over its word; in a low row one beside the other. */
static void draw_cell(const Run *run, DrawRect box, const Row *row, const PaperInk *ink)
{
    Ui *ui = run->ui;
    double line = draw_line_height(ui_px(ui, 16));
    double radius = 0.01 * ui->text_percent * MARK_RADIUS;
    double x = box.x + 2.0 * radius + 10.0;
    const char *word = word_of(run, row->value);
    bool is_one = row->value == NULL && ui_width(ui, 16, false, word) <= box.x + box.w - x;
    bool is_high = box.h >= 2.0 * line + 4.0 && !is_one;
    double y = box.y + (box.h - (is_high ? 2.0 : 1.0) * line) / 2.0;
    draw_mark(ui->list, mark_of(row->value), box.x + radius + 2.0, y + line / 2.0, radius,
              ink->role);
    DrawRect right = {x, y, box.x + box.w - x, line};
    if (is_high && row->value != NULL) {
        draw_written(run, right, ink, row);
        paper_line(ui, (DrawRect){box.x, y + line, box.w, line}, ink, word);
    } else if (is_high) {
        paper_line(ui, (DrawRect){box.x, y + line, box.w, line}, ink, word);
    } else {
        paper_line(ui, right, ink, word);
        right.x += ui_width(ui, 16, ink->is_bold, word) + 12.0;
        right.w = box.x + box.w - right.x;
        if (row->value != NULL) draw_written(run, right, ink, row);
    }
}

/* A metal's name before its row, on two lines where the row is high enough for it. */
static void draw_metal(const Run *run, DrawRect box, const Metal *metal)
{
    const char *name = texts_get(run->ui->texts, "words", metal->name);
    double height = paper_height(run->ui, box.w, 16, true, name);
    if (height > box.h) {
        paper_line(run->ui, box, &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START}, name);
    } else {
        (void)paper_words(run->ui, box.x, box.y + (box.h - height) / 2.0, box.w, 16, true, name);
    }
}

/* The places' names over their columns. */
static void draw_spots(const Run *run, DrawRect box, double cell, double gap)
{
    PaperInk bold = {16, true, DRAW_INK, DRAW_PAPER, DRAW_START};
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        DrawRect at = {box.x + s * (cell + gap), box.y, cell, box.h};
        paper_line(run->ui, at, &bold, texts_get(run->ui->texts, "words", site_spot_words[s]));
    }
}

/* --- As it stands ---------------------------------------------------------------------------- */

bool run_is_signed(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_SIGNED)) return true;
        if (log_is(&log[i - 1], HAPPENING_ROW_WRITTEN)) return false;
    }
    return false;
}

/* Whether the sheet is signed, as mark and words. */
static void draw_signed(const Run *run, double x, double y, double w, const char *key)
{
    double line = draw_line_height(ui_px(run->ui, 16));
    draw_mark(run->ui->list, run_is_signed(run) ? DRAW_DONE : DRAW_WEDGE, x + 10, y + line / 2.0,
              MARK_RADIUS, DRAW_INK);
    paper_line(run->ui, (DrawRect){x + 28, y, w - 28, line},
               &(PaperInk){16, false, DRAW_INK, DRAW_PAPER, DRAW_START}, run_say(run, key));
}

void run_sheet_as_is(const Run *run, DrawRect box)
{
    Ui *ui = run->ui;
    const SitePlan *plan = run->scenario->plan;
    double line = draw_line_height(ui_px(ui, 16));
    double name = box.w * 0.23;
    double cell = (box.w - name) / SITE_SPOT_COUNT;
    double y = box.y + paper_heading(ui, box.x, box.y, box.w, "sheet.title");
    draw_spots(run, (DrawRect){box.x + name + PAD, y, 0, line}, cell - PAD, PAD);
    (void)tell_lane(run, (DrawRect){box.x, y, name - PAD, line});
    y += line + 4.0;
    bool has_lanes = run->scenario->line->setup.lanes > 1;
    double below = has_lanes ? fmax(RUN_BUTTON, line) : line;
    double height = fmin(ROW_MOST, (box.y + box.h - below - 8.0 - y) / plan->metal_count);
    PaperInk ink = {16, false, DRAW_INK, DRAW_PAPER, DRAW_START};
    for (int i = 0; i < plan->metal_count * SITE_SPOT_COUNT; i++) {
        Row row = row_of(run, i);
        int metal = i / SITE_SPOT_COUNT;
        double top = y + metal * height;
        double x = box.x + name + i % SITE_SPOT_COUNT * cell;
        draw_cell(run, (DrawRect){x + PAD, top, cell - PAD, height}, &row, &ink);
    }
    for (int m = 0; m <= plan->metal_count; m++) {
        DrawPoint rule[] = {{box.x, y + m * height}, {box.x + box.w, y + m * height}};
        draw_line(ui->list, rule, 2, m == 0 ? DRAW_INK : DRAW_LINE, m == 0 ? 2 : 1);
        if (m == plan->metal_count) break;
        draw_metal(run, (DrawRect){box.x, y + m * height, name - PAD, height}, plan->metals[m]);
    }
    double button = has_lanes ? 1.2 * ui->text_percent : 0.0;
    draw_signed(run, box.x, y + plan->metal_count * height + 6.0, box.w - button,
                run_is_signed(run) ? "sheet.signed" : "sheet.unsigned");
    draw_next_lane(
        run, (DrawRect){box.x + box.w - button, box.y + box.h - RUN_BUTTON, button, RUN_BUTTON});
}

/* --- At the right side ----------------------------------------------------------------------- */

void run_write_row(const Run *run, const char *row, const char *value)
{
    LogLine action = log_action(ACTION_WRITE, 0);
    log_set_word(&action, "row", row);
    log_set_word(&action, "value", value);
    session_do(run->session, action);
    run->view->cell = -1;
}

/* "ferrous, middle:" and what was written of it, the old value with a line through it. Returns its
 * height. */
static double tell_cell(const Run *run, DrawRect box, const Row *row)
{
    const Texts *texts = run->ui->texts;
    double line = draw_line_height(ui_px(run->ui, 16));
    PaperInk bold = {16, true, DRAW_INK, DRAW_PAPER, DRAW_START};
    PaperInk ink = {16, false, DRAW_INK, DRAW_PAPER, DRAW_START};
    Text words = {0};
    texts_add_word(texts, row->name, &words);
    text_add(&words, ": ");
    double right = box.x + box.w;
    box.h = line;
    double used = fmin(ui_width(run->ui, 16, true, words.bytes) + 2.0, box.w);
    paper_line(run->ui, (DrawRect){box.x, box.y, used, line}, &bold, words.bytes);
    box.x += used;
    text_clear(&words);
    if (row->before != NULL) {
        add_minutes(run, row->before_us, &words);
        text_addf(&words, " %s", word_of(run, row->before));
        if (box.x + ui_width(run->ui, 16, false, words.bytes) + 16.0 <= right)
            box.x += strike(run, box.x + 2.0, box.y, &ink, words.bytes) + 14.0;
        text_clear(&words);
    }
    if (row->value != NULL) {
        add_minutes(run, row->time_us, &words);
        text_addf(&words, " %s", word_of(run, row->value));
        (void)add_if_fits(run, (DrawRect){box.x, box.y, right - box.x, line}, &bold, words.bytes);
        text_clear(&words);
    }
    return line + PAD;
}

/* The chosen cell of the sheet: what happened there? What stands there now is the chosen one; to
 * write the row again corrects it. */
static void draw_cell_choice(const Run *run, DrawRect box)
{
    enum { COLUMNS = 3 };
    Ui *ui = run->ui;
    Row row = row_of(run, run->view->cell);
    double top = box.y + tell_cell(run, box, &row);
    double width = (box.w - (COLUMNS - 1) * UI_GAP) / COLUMNS;
    for (int i = 0; i <= VALUES; i++) {
        bool is_value = i < VALUES;
        int line = i / COLUMNS;
        bool is_now = is_value && row.value != NULL && strcmp(row.value, values[i]) == 0;
        UiButton face = {.box = {box.x + i % COLUMNS * (width + UI_GAP),
                                 top + line * (run->row + UI_GAP), width, run->row},
                         .label = is_value ? texts_get(ui->texts, "words", values[i])
                                           : run_say(run, "sheet.close"),
                         .look = is_now ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (!ui_button(ui, ui_id("value", i), &face)) continue;
        if (is_value)
            run_write_row(run, row.name, values[i]);
        else
            run->view->cell = -1;
    }
    DrawRect last = {box.x + 2.0 * (width + UI_GAP), top + run->row + UI_GAP, width, run->row};
    draw_next_lane(run, last);
    top += 2.0 * (run->row + UI_GAP);
    if (row.value == NULL || top + draw_line_height(ui_px(ui, 16)) > box.y + box.h) return;
    (void)paper_say(ui, box.x, top, box.w, 16, DRAW_SOFT, "sheet.correct");
}

void run_sheet(const Run *run, DrawRect box)
{
    Ui *ui = run->ui;
    const SitePlan *plan = run->scenario->plan;
    if (run->view->cell >= 0 && run->view->cell < plan->metal_count * SITE_SPOT_COUNT) {
        draw_cell_choice(run, box);
        return;
    }
    double head = draw_line_height(ui_px(ui, 16));
    double name = box.w * 0.2;
    double left = box.x + name + UI_GAP;
    double width = (box.w - name - SITE_SPOT_COUNT * UI_GAP) / SITE_SPOT_COUNT;
    double height = (box.h - head - (plan->metal_count - 1) * UI_GAP) / plan->metal_count;
    draw_spots(run, (DrawRect){left + PAD, box.y, 0, head}, width - PAD, UI_GAP + PAD);
    bool is_told = tell_lane(run, (DrawRect){box.x, box.y, name, head});
    if (!is_told && run_is_signed(run)) draw_signed(run, box.x, box.y, name, "sheet.is-signed");
    for (int m = 0; m < plan->metal_count; m++) {
        double y = box.y + head + m * (height + UI_GAP);
        draw_metal(run, (DrawRect){box.x, y, name, height}, plan->metals[m]);
    }
    for (int i = 0; i < plan->metal_count * SITE_SPOT_COUNT; i++) {
        int metal = i / SITE_SPOT_COUNT;
        int spot = i % SITE_SPOT_COUNT;
        DrawRect at = {left + spot * (width + UI_GAP), box.y + head + metal * (height + UI_GAP),
                       width, height};
        uint32_t id = ui_id("cell", i);
        DrawRole letters;
        UiButton face = {.box = at, .look = UI_PLAIN};
        if (ui_button(ui, id, &face)) run->view->cell = i;
        DrawRole ground = paper_face(ui, id, at, false, &letters);
        Row row = row_of(run, i);
        draw_cell(run, (DrawRect){at.x + PAD, at.y, at.w - 2.0 * PAD, at.h}, &row,
                  &(PaperInk){16, row.value != NULL, letters, ground, DRAW_START});
    }
}
