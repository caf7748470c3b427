/* Scenes that speak: what is told, a wire to turn, a question; the check sheet beside them. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { SHEET_WIDTH = 480, SHEET_GAP = 24, ROW_MOST = 59, NUMBER_SIDE = 33 };

/* --- The sheet as it stands ------------------------------------------------------------------ */

static void add_row(const SitePlan *plan, int metal, int spot, Text *out)
{
    text_addf(out, "%s/%s", plan->metals[metal]->name, site_spot_words[spot]);
}

/* When the row was written last; -1: never. */
static int64_t written_us(const Run *run, const char *row)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_ROW_WRITTEN) &&
            strcmp(log_word(&log[i - 1], "row"), row) == 0) {
            return log[i - 1].time_us;
        }
    }
    return -1;
}

static DrawMark mark_of(const char *value)
{
    if (value == NULL || strcmp(value, "not-finished") == 0) return DRAW_TODO;
    if (strcmp(value, "missed") == 0) return DRAW_MISSED;
    return strcmp(value, "removed") == 0 ? DRAW_DONE : DRAW_ACCEPTED;
}

/* A cell: its mark and time over its word, or a long word on both lines; in a low row only the mark
 * and the word. */
static void draw_cell(const Run *run, DrawRect box, const char *row, bool *is_signed)
{
    Ui *ui = run->ui;
    double line = draw_line_height(ui_px(ui, 16));
    bool is_high = box.h >= 2.0 * line + 4.0;
    bool is_this_signed = false;
    const char *value = player_row(run->player, row, &is_this_signed);
    const char *word =
        value == NULL ? run_say(run, "sheet.to-do") : texts_get(ui->texts, "words", value);
    int64_t time_us = written_us(run, row);
    double y = box.y + (box.h - (is_high ? 2.0 : 1.0) * line) / 2.0;
    PaperInk ink = {16, false, DRAW_INK, DRAW_PAPER, DRAW_START};
    if (value != NULL && !is_this_signed) *is_signed = false;
    draw_mark(ui->list, mark_of(value), box.x + 10, y + line / 2.0, 8, DRAW_INK);
    const char *comma = strstr(word, ", ");
    Text upper = {0};
    if (is_high && comma != NULL && ui_width(ui, 16, false, word) > box.w) {
        text_add_bytes(&upper, word, (size_t)(comma - word) + 1);
        word = comma + 2;
    } else if (is_high && time_us >= 0) {
        texts_add_clock(run->scenario, time_us, &upper);
        upper.bytes[5] = '\0'; /* without its seconds */
    }
    if (upper.len > 0)
        paper_line(ui, (DrawRect){box.x + 26, y, box.w - 26, line}, &ink, upper.bytes);
    text_clear(&upper);
    DrawRect under = is_high ? (DrawRect){box.x, y + line, box.w, line}
                             : (DrawRect){box.x + 26, y, box.w - 26, line};
    paper_line(ui, under, &ink, word);
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

/* The whole sheet: metals down, places across, whether it is signed. */
static void draw_sheet(const Run *run, DrawRect box)
{
    Ui *ui = run->ui;
    const SitePlan *plan = run->scenario->plan;
    double line = draw_line_height(ui_px(ui, 16));
    double name = box.w * 0.23;
    double cell = (box.w - name) / SITE_SPOT_COUNT;
    bool is_signed = true;
    bool is_begun = false;
    double y = box.y + paper_heading(ui, box.x, box.y, box.w, "sheet.title");
    PaperInk bold = {16, true, DRAW_INK, DRAW_PAPER, DRAW_START};
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        paper_line(ui, (DrawRect){box.x + name + s * cell + 8, y, cell - 8, line}, &bold,
                   texts_get(ui->texts, "words", site_spot_words[s]));
    }
    y += line + 4.0;
    double height = fmin(ROW_MOST, (box.y + box.h - line - 8.0 - y) / plan->metal_count);
    for (int m = 0; m <= plan->metal_count; m++) {
        DrawPoint rule[] = {{box.x, y + m * height}, {box.x + box.w, y + m * height}};
        draw_line(ui->list, rule, 2, m == 0 ? DRAW_INK : DRAW_LINE, m == 0 ? 2 : 1);
        if (m == plan->metal_count) break;
        draw_metal(run, (DrawRect){box.x, y + m * height, name - 8, height}, plan->metals[m]);
        for (int s = 0; s < SITE_SPOT_COUNT; s++) {
            Text row = {0};
            double x = box.x + name + s * cell;
            add_row(plan, m, s, &row);
            bool unused = false;
            is_begun = is_begun || player_row(run->player, row.bytes, &unused) != NULL;
            draw_cell(run, (DrawRect){x + 8, y + m * height, cell - 8, height}, row.bytes,
                      &is_signed);
            text_clear(&row);
        }
    }
    y += plan->metal_count * height + 6.0;
    is_signed = is_signed && is_begun;
    draw_mark(ui->list, is_signed ? DRAW_DONE : DRAW_WEDGE, box.x + 10, y + line / 2.0, 8,
              DRAW_INK);
    paper_line(ui, (DrawRect){box.x + 28, y, box.w - 28, line},
               &(PaperInk){16, false, DRAW_INK, DRAW_PAPER, DRAW_START},
               run_say(run, is_signed ? "sheet.signed" : "sheet.unsigned"));
}

/* The scene's words, and in practice its hint; returns where they end. */
static double write_words(const Run *run, DrawRect box, int px)
{
    Text words = {0};
    const char *hint = site_text(run->scene->hint, run->ui->language);
    text_add(&words, site_text(run->scene->text, run->ui->language));
    if (hint[0] != '\0' && !run->session->is_assessment)
        text_addf(&words, " %s %s", run_say(run, "scene.hint"), hint);
    double height =
        ui_text(run->ui, box, px, true, DRAW_INK, DRAW_PAPER, DRAW_START, text_string(&words));
    text_clear(&words);
    return box.y + height + 8.0;
}

/* --- A question ------------------------------------------------------------------------------ */

/* An answer: its number in a square, which is its key too, its words, and whether it is chosen. */
static void draw_answer(const Run *run, int index, DrawRect box)
{
    Ui *ui = run->ui;
    bool is_chosen = run->view->answer == index;
    uint32_t id = ui_id("answer", index);
    const char *words = site_text(run->scene->answers[index].text, ui->language);
    DrawRole letters;
    char number[16];
    UiButton face = {
        .box = box, .look = is_chosen ? UI_CHOSEN : UI_PLAIN, .typed = (char)('1' + index)};
    if (ui_button(ui, id, &face)) run->view->answer = index;
    DrawRole ground = paper_face(ui, id, box, is_chosen, &letters);
    double side = NUMBER_SIDE * ui->text_percent / 100.0;
    DrawRect square = {box.x + 13, box.y + (box.h - side) / 2.0, side, side};
    bool is_full = is_chosen && letters == DRAW_INK;
    draw_rect(ui->list, square, is_full ? DRAW_ACCENT : ground, is_full ? DRAW_ACCENT : letters, 2,
              4);
    (void)snprintf(number, sizeof number, "%d", index + 1);
    paper_line(ui, square,
               &(PaperInk){16, true, is_full ? DRAW_ONACCENT : letters,
                           is_full ? DRAW_ACCENT : ground, DRAW_MIDDLE},
               number);
    double x = square.x + side + 16.0;
    double end = box.x + box.w - 14.0;
    double room = end - x;
    const char *yours = run_say(run, "answer.yours");
    double mine = ui_width(ui, 16, false, yours) + 4.0;
    bool one_line = ui_width(ui, 19, true, words) <= room - mine - 12.0;
    if (is_chosen && one_line) {
        paper_line(ui, (DrawRect){end - mine, box.y, mine, box.h},
                   &(PaperInk){16, false, letters, ground, DRAW_END}, yours);
    }
    int px = ui_width(ui, 19, is_chosen, words) <= room ? 19 : 16;
    double height = paper_height(ui, room, px, is_chosen, words);
    DrawRect at = {x, box.y + (box.h - height) / 2.0, room, 0};
    (void)ui_text(ui, at, px, is_chosen, letters, ground, DRAW_START, words);
}

/* The question and its answers, in one column while they fit, else in two. */
static void draw_question(const Run *run, DrawRect box)
{
    double top = write_words(run, box, run->is_big ? 16 : 24);
    int count = run->scene->answer_count;
    double line = draw_line_height(ui_px(run->ui, 16));
    double row = run->is_big ? 3.0 * line + 8.0 : RUN_BUTTON;
    bool is_long = top + count * (row + UI_GAP) > box.y + box.h + UI_GAP;
    int columns = run->is_big || is_long ? 2 : 1;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    if (!run->is_big && is_long) row = fmax(row, 3.0 * line + 8.0);
    for (int i = 0; i < count; i++) {
        int at = i / columns;
        draw_answer(run, i,
                    (DrawRect){box.x + (i % columns) * (width + UI_GAP), top + at * (row + UI_GAP),
                               width, row});
    }
}

/* --- A wire to turn -------------------------------------------------------------------------- */

/* Turning the wire: three directions on three buttons, and a fine turn. */
static void draw_turning(const Run *run, DrawRect box)
{
    static const struct {
        const char *key;
        int64_t azimuth, elevation;
    } ways[] = {{"turn.lengthways", 0, 0},
                {"turn.crossways", 90000, 0},
                {"turn.vertical", 0, 90000},
                {"turn.aslant", 45000, 0}};
    const char *id = run->scenario->site->pieces[run->scene->piece].id;
    PlayerPiece wire = {0};
    for (int i = 0; i < player_piece_count(run->player); i++) {
        if (strcmp(player_piece(run->player, i).piece->id, id) == 0)
            wire = player_piece(run->player, i);
    }
    double y = write_words(run, box, run->is_big ? 16 : 24) + UI_GAP - 8.0;
    for (int i = 0; i < 4; i++) {
        double width = (box.w - 3 * UI_GAP) / 4.0;
        DrawRect at = {box.x + i * (width + UI_GAP), y, width, RUN_BUTTON};
        bool chosen =
            wire.azimuth_mdeg == ways[i].azimuth && wire.elevation_mdeg == ways[i].elevation;
        if (!run_button(run, "way", i, at, run_say(run, ways[i].key), chosen)) continue;
        LogLine action = log_action(ACTION_TURN, 0);
        log_set_word(&action, "piece", id);
        log_set_number(&action, "azimuth_mdeg", ways[i].azimuth);
        log_set_number(&action, "elevation_mdeg", ways[i].elevation);
        session_do(run->session, action);
    }
    DrawRect plan = {box.x + box.w / 2 - 90, y + RUN_BUTTON + 2 * UI_GAP, 180, 60};
    draw_rect(run->ui->list, plan, DRAW_SHEET, DRAW_INK, 2, 0);
    if (wire.piece != NULL) run_draw_piece(run, plan.x + 90, plan.y + 30, &wire, false);
}

/* --- A place, an order, a given record ------------------------------------------------------- */

bool run_point_at(const Run *run, int cell, int64_t *across_um, int64_t *up_um)
{
    const SiteProduct *product = &run->scenario->site->products[run->scenario->product];
    int64_t width_um = llround(product->block.width_m * 1e6);
    int64_t height_um = llround(product->block.height_m * 1e6);
    *across_um = (cell % 3 - 1) * (width_um / 2);
    *up_um = height_um * (SITE_UNDERNEATH - cell / 3) / 2;
    return product->heights[cell / 3];
}

/* The cross-section of the pack as nine buttons: heights down, walls and middle across. */
static void draw_section(const Run *run, DrawRect box)
{
    static const char *const sides[] = {"point.left", "point.middle", "point.right"};
    double width = (box.w - 2.0 * UI_GAP) / 3.0;
    double y = box.y;
    for (int cell = 0; cell < 3 * SITE_HEIGHT_COUNT; cell++) {
        int64_t across_um;
        int64_t up_um;
        Text label = {0};
        DrawRect at = {box.x + (cell % 3) * (width + UI_GAP), y, width, run->row};
        bool may = run_point_at(run, cell, &across_um, &up_um);
        text_addf(&label, "%s, %s", texts_get(run->ui->texts, "words", site_height_words[cell / 3]),
                  run_say(run, sides[cell % 3]));
        if (may && run_button(run, "point", cell, at, label.bytes, run->view->answer == cell))
            run->view->answer = cell;
        if (may && cell % 3 == 2) y += run->row + UI_GAP;
        text_clear(&label);
    }
}

enum { GRID_ROWS = 4 };

/* The box of one of `count` buttons, down and then across. */
static DrawRect grid_box(const Run *run, DrawRect box, int count, int index)
{
    int rows = count < GRID_ROWS ? count : GRID_ROWS;
    int columns = (count + rows - 1) / rows;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    double height = fmin(run->row, (box.h - (rows - 1) * UI_GAP) / rows);
    int column = index / rows;
    return (DrawRect){box.x + column * (width + UI_GAP), box.y + (index % rows) * (height + UI_GAP),
                      width, height};
}

/* The steps from above as they stand; a press, or its number, moves one up, the first to the
 * end. */
static void draw_steps(const Run *run, DrawRect box)
{
    int count = run->scene->step_count;
    for (int i = 0; i < count; i++) {
        const Step *step = &run->scene->steps[player_step(run->player, i)];
        Text label = {0};
        text_addf(&label, "%d  %s", i + 1, site_text(step->text, run->ui->language));
        UiButton face = {.box = grid_box(run, box, count, i),
                         .label = label.bytes,
                         .look = UI_PLAIN,
                         .typed = (char)('1' + i),
                         .px = 16};
        if (ui_button(run->ui, ui_id("step", i), &face)) {
            LogLine action = log_action(ACTION_ARRANGE, 0);
            log_set_word(&action, "step", step->id);
            log_set_number(&action, "at", i == 0 ? count : i);
            session_do(run->session, action);
        }
        text_clear(&label);
    }
}

/* What a row says after what it says now. */
static const char *value_after(const GivenRow *row, const char *value)
{
    for (int i = 0; i < row->value_count; i++) {
        if (strcmp(row->values[i], value) == 0) return row->values[(i + 1) % row->value_count];
    }
    return row->value;
}

/* The given record, a button a row; a press makes the row say the next it may say. */
static void draw_record(const Run *run, DrawRect box)
{
    for (int i = 0; i < run->scene->given_count; i++) {
        const GivenRow *row = &run->scene->given[i];
        const char *value = player_given(run->player, i);
        Text label = {0};
        DrawRect at = grid_box(run, box, run->scene->given_count, i);
        texts_add_word(run->ui->texts, row->row, &label);
        text_add(&label, ": ");
        texts_add_word(run->ui->texts, value, &label);
        bool is_changed = strcmp(value, row->value) != 0;
        if (run_button(run, "given", i, at, label.bytes, is_changed)) {
            LogLine action = log_action(ACTION_WRITE, 0);
            log_set_word(&action, "row", row->row);
            log_set_word(&action, "value", value_after(row, value));
            session_do(run->session, action);
        }
        text_clear(&label);
    }
}

static void draw_asked(const Run *run, DrawRect box)
{
    double top = write_words(run, box, run->is_big ? 16 : 19);
    DrawRect rest = {box.x, top, box.w, box.y + box.h - top};
    if (run->scene->kind == SCENE_PLACE)
        draw_section(run, rest);
    else if (run->scene->kind == SCENE_ARRANGE)
        draw_steps(run, rest);
    else
        draw_record(run, rest);
}

/* --- The whole ------------------------------------------------------------------------------- */

void run_scene(const Run *run, DrawRect box)
{
    if (run->scene->kind == SCENE_TELL) {
        (void)ui_text(run->ui, box, run->is_big ? 19 : 24, false, DRAW_INK, DRAW_PAPER, DRAW_START,
                      site_text(run->scene->text, run->ui->language));
        return;
    }
    if (run->scene->kind != SCENE_DECIDE && run->scene->kind != SCENE_TURN) {
        draw_asked(run, box);
        return;
    }
    if (!run->is_big) {
        draw_sheet(run, (DrawRect){box.x, box.y, SHEET_WIDTH, box.h});
        box.x += SHEET_WIDTH + SHEET_GAP;
        box.w -= SHEET_WIDTH + SHEET_GAP;
    }
    if (run->scene->kind == SCENE_TURN)
        draw_turning(run, box);
    else
        draw_question(run, box);
}
