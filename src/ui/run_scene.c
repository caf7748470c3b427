/* Scenes that speak: what is told, a wire to turn, a question with the check sheet beside it. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { SHEET_WIDTH = 480, SHEET_GAP = 24, NUMBER_SIDE = 33, WIRE_WIDTH = 180, WIRE_HEIGHT = 60 };
enum { TURN_HEIGHT = UI_GAP + RUN_BUTTON + 2 * UI_GAP + WIRE_HEIGHT };

/* The scene's words, and in practice its hint. */
static void add_words(const Run *run, Text *out)
{
    const char *hint = site_text(run->scene->hint, run->ui->language);
    text_add(out, site_text(run->scene->text, run->ui->language));
    if (hint[0] != '\0' && !run->session->is_assessment)
        text_addf(out, " %s %s", run_say(run, "scene.hint"), hint);
}

/* Write them; returns where they end. */
static double write_words(const Run *run, DrawRect box, int px)
{
    Text words = {0};
    add_words(run, &words);
    double height =
        ui_text(run->ui, box, px, true, DRAW_INK, DRAW_PAPER, DRAW_START, text_string(&words));
    text_clear(&words);
    return box.y + height + 8.0;
}

/* --- A question ------------------------------------------------------------------------------ */

/* The letters of all the answers to one question: large where each takes one line. */
static int answer_px(const Run *run, double room)
{
    for (int i = 0; i < run->scene->answer_count; i++) {
        const char *words = site_text(run->scene->answers[i].text, run->ui->language);
        if (ui_width(run->ui, 19, true, words) > room) return 16;
    }
    return 19;
}

/* What the words of an answer have of a box so wide, beside its number. */
static double answer_room(const Run *run, double width)
{
    return width - 13.0 - NUMBER_SIDE * run->ui->text_percent / 100.0 - 16.0 - 14.0;
}

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
    double room = answer_room(run, box.w);
    double end = x + room;
    const char *yours = run_say(run, "answer.yours");
    double mine = ui_width(ui, 16, false, yours) + 4.0;
    bool one_line = ui_width(ui, 19, true, words) <= room - mine - 12.0;
    if (is_chosen && one_line) {
        paper_line(ui, (DrawRect){end - mine, box.y, mine, box.h},
                   &(PaperInk){16, false, letters, ground, DRAW_END}, yours);
    }
    int px = answer_px(run, room);
    double height = paper_height(ui, room, px, is_chosen, words);
    DrawRect at = {x, box.y + (box.h - height) / 2.0, room, 0};
    (void)ui_text(ui, at, px, is_chosen, letters, ground, DRAW_START, words);
}

/* The height of the answers from `first` on that stand beside one another. */
static double row_height(const Run *run, int first, int columns, double width)
{
    double room = answer_room(run, width);
    double height = RUN_BUTTON;
    for (int i = first; i < first + columns && i < run->scene->answer_count; i++) {
        const char *words = site_text(run->scene->answers[i].text, run->ui->language);
        double least = NUMBER_SIDE * run->ui->text_percent / 100.0;
        double lines = paper_height(run->ui, room, answer_px(run, room), true, words);
        height = fmax(height, fmax(least, lines) + 8.0);
    }
    return height;
}

static double column_width(double width, int columns)
{
    return (width - (columns - 1) * UI_GAP) / columns;
}

static double answers_height(const Run *run, double width, int columns)
{
    double height = -UI_GAP;
    for (int i = 0; i < run->scene->answer_count; i += columns) {
        height += row_height(run, i, columns, column_width(width, columns)) + UI_GAP;
    }
    return height;
}

/* Lay the answers out in pages that end with the box, and draw one of them; -1: none. Returns how
 * many pages there are. */
static int lay_answers(const Run *run, DrawRect box, int columns, int drawn)
{
    double width = column_width(box.w, columns);
    double y = box.y;
    int page = 0;
    for (int i = 0; i < run->scene->answer_count; i += columns) {
        double height = row_height(run, i, columns, width);
        if (y > box.y && y + height > box.y + box.h) {
            page++;
            y = box.y;
        }
        for (int c = 0; c < columns && i + c < run->scene->answer_count && page == drawn; c++) {
            draw_answer(run, i + c, (DrawRect){box.x + c * (width + UI_GAP), y, width, height});
        }
        y += height + UI_GAP;
    }
    return page + 1;
}

/* The letters of the question: as large as leave room for all answers. */
static int question_px(const Run *run, DrawRect box)
{
    static const int sizes[] = {24, 19};
    Text words = {0};
    int px = 16;
    add_words(run, &words);
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0] && px == 16 && !run->is_big; i++) {
        double height = paper_height(run->ui, box.w, sizes[i], true, text_string(&words));
        if (height + 8.0 + answers_height(run, box.w, 2) <= box.h) px = sizes[i];
    }
    text_clear(&words);
    return px;
}

/* The question and its answers, in one column while they fit, else in two, else in pages. */
static void draw_question(const Run *run, DrawRect box)
{
    double y = write_words(run, box, question_px(run, box));
    DrawRect rest = {box.x, y, box.w, box.y + box.h - y};
    int columns = run->is_big || answers_height(run, box.w, 1) > rest.h ? 2 : 1;
    if (answers_height(run, box.w, columns) > rest.h) {
        rest.h -= RUN_BUTTON + UI_GAP;
        DrawRect turn = {box.x, box.y + box.h - RUN_BUTTON, fmin(box.w, 360), RUN_BUTTON};
        int pages = lay_answers(run, rest, columns, -1);
        paper_pages(run->ui, "answer-page", turn, pages, &run->view->task_page);
        (void)lay_answers(run, rest, columns, run->view->task_page);
        return;
    }
    (void)lay_answers(run, rest, columns, 0);
}

/* --- A wire to turn -------------------------------------------------------------------------- */

/* The pack from above, and which way it goes; the wire in it once a way was chosen. */
static void draw_turned(const Run *run, DrawRect plan, const PlayerPiece *wire)
{
    enum { ARROW = 60 };
    Ui *ui = run->ui;
    double wide = 1.5 * ui->text_percent;
    double line = draw_line_height(ui_px(ui, 16));
    double y = plan.y + plan.h / 2.0;
    double x = plan.x + plan.w + 2.0 * UI_GAP;
    double tip = x + ARROW;
    DrawPoint shaft[] = {{x, y}, {tip, y}};
    DrawPoint head[] = {{tip - 8, y - 6}, {tip, y}, {tip - 8, y + 6}};
    draw_rect(ui->list, plan, DRAW_SHEET, DRAW_INK, 2, 0);
    if (run->view->answer >= 0 && wire->piece != NULL)
        run_draw_piece(run, plan.x + plan.w / 2, y, wire, false);
    draw_line(ui->list, shaft, 2, DRAW_INK, 2);
    draw_line(ui->list, head, 3, DRAW_INK, 2);
    PaperInk ink = {16, false, DRAW_INK, DRAW_PAPER, DRAW_END};
    paper_line(ui, (DrawRect){plan.x - wide - UI_GAP, y - line / 2.0, wide, line}, &ink,
               run_say(run, "turn.from-above"));
    ink.align = DRAW_START;
    paper_line(ui, (DrawRect){tip + UI_GAP, y - line / 2.0, wide, line}, &ink,
               run_say(run, "line.travel"));
}

/* Turning the wire: four directions on four buttons. None is chosen until the person has. */
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
        bool chosen = run->view->answer == i;
        if (!run_button(run, "way", i, at, run_say(run, ways[i].key), chosen)) continue;
        run->view->answer = i;
        LogLine action = log_action(ACTION_TURN, 0);
        log_set_word(&action, "piece", id);
        log_set_number(&action, "azimuth_mdeg", ways[i].azimuth);
        log_set_number(&action, "elevation_mdeg", ways[i].elevation);
        session_do(run->session, action);
    }
    DrawRect plan = {box.x + (box.w - WIRE_WIDTH) / 2, y + RUN_BUTTON + 2 * UI_GAP, WIRE_WIDTH,
                     WIRE_HEIGHT};
    draw_turned(run, plan, &wire);
}

/* --- What is asked for ----------------------------------------------------------------------- */

/* The bytes of the first step: up to the end of its line, or of its sentence. */
static size_t step_of(const char *words)
{
    size_t len = 0;
    while (words[len] != '\0' && words[len] != '\n') {
        len++;
        if (words[len] == ' ' && words[len - 1] == '.' && !isdigit((unsigned char)words[0])) break;
    }
    return len;
}

/* Lay the steps out in pages that end with the box, and draw one of them; -1: none. Returns how
 * many pages there are. */
static int lay_steps(const Run *run, DrawRect box, int drawn)
{
    const char *words = site_text(run->scene->text, run->ui->language);
    double y = box.y;
    int page = 0;
    while (*words != '\0') {
        Text step = {0};
        size_t len = step_of(words);
        text_add_bytes(&step, words, len);
        double height = paper_height(run->ui, box.w, 16, false, text_string(&step));
        if (y > box.y && y + height > box.y + box.h) {
            page++;
            y = box.y;
        }
        if (page == drawn)
            (void)paper_words(run->ui, box.x, y, box.w, 16, false, text_string(&step));
        y += height;
        words += len;
        words += *words != '\0';
        text_clear(&step);
    }
    return page + 1;
}

void run_task(const Run *run, DrawRect box)
{
    const char *words = site_text(run->scene->text, run->ui->language);
    for (int px = 19; px >= 16; px -= 3) {
        if (paper_height(run->ui, box.w, px, false, words) > box.h) continue;
        (void)paper_words(run->ui, box.x, box.y, box.w, px, false, words);
        return;
    }
    DrawRect list = box;
    list.h -= RUN_BUTTON + UI_GAP;
    int pages = lay_steps(run, list, -1);
    DrawRect turn = {box.x, box.y + box.h - RUN_BUTTON, fmin(box.w, 360), RUN_BUTTON};
    paper_pages(run->ui, "task-page", turn, pages, &run->view->task_page);
    (void)lay_steps(run, list, run->view->task_page);
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

/* A place that may be pointed to: its number where it lies in the pack. */
static void draw_point(const Run *run, DrawPoint at, double radius, int number, bool is_chosen)
{
    char digit[16];
    DrawRect spot = {at.x - radius, at.y - radius, 2.0 * radius, 2.0 * radius};
    PaperInk ink = {16, true, is_chosen ? DRAW_ONACCENT : DRAW_INK,
                    is_chosen ? DRAW_ACCENT : DRAW_SHEET, DRAW_MIDDLE};
    (void)snprintf(digit, sizeof digit, "%d", number);
    draw_rect(run->ui->list, spot, ink.ground, is_chosen ? DRAW_ACCENT : DRAW_INK, 2, radius);
    paper_line(run->ui, spot, &ink, digit);
}

/* The pack in the aperture from the front, in the middle of the belt, with the places that may be
 * pointed to, by the numbers of their buttons. It shows no centre line: which place is the right
 * one is for the person to say. Draws nothing and returns false where the numbers would meet. */
static bool draw_points(const Run *run, DrawRect room, int rows)
{
    enum { POINT_RADIUS = 14 };
    const SiteProduct *product = &run->scenario->site->products[run->scenario->product];
    const CoilHead *coils = &run->scenario->site->heads[run->scenario->line->head].head.coils;
    double radius = POINT_RADIUS * run->ui->text_percent / 100.0;
    room.y += radius / 2.0; /* a place at the pack's edge may stick out of the aperture */
    room.h -= radius;
    double scale = fmin(room.w / coils->aperture_width_m, room.h / coils->aperture_height_m);
    double least =
        rows > 1 ? fmin(product->block.width_m, product->block.height_m) : product->block.width_m;
    int number = 0;
    if (least * scale / 2.0 < 2.0 * radius + UI_GAP / 2.0) return false;
    RunFront front = run_draw_front(run, room, 0, DRAW_INK);
    draw_rect(run->ui->list, front.pack, DRAW_SHEET, DRAW_INK, 2, 0);
    for (int cell = 0; cell < 3 * SITE_HEIGHT_COUNT; cell++) {
        int64_t across_um;
        int64_t up_um;
        if (!run_point_at(run, cell, &across_um, &up_um)) continue;
        DrawPoint at = {front.pack.x + front.pack.w / 2.0 + (double)across_um * front.scale,
                        front.pack.y + front.pack.h - (double)up_um * front.scale};
        draw_point(run, at, radius, ++number, run->view->answer == cell);
    }
    return true;
}

/* The cross-section of the pack as up to nine buttons: heights down, walls and middle across; over
 * them, as far as there is room, where each place is. A place's number is its key too. */
static void draw_section(const Run *run, DrawRect box)
{
    static const char *const sides[] = {"point.left", "point.middle", "point.right"};
    double width = (box.w - 2.0 * UI_GAP) / 3.0;
    const bool *heights = run->scenario->site->products[run->scenario->product].heights;
    int rows = heights[SITE_ON_TOP] + heights[SITE_INSIDE] + heights[SITE_UNDERNEATH];
    DrawRect room = {box.x, box.y, box.w, box.h - rows * (run->row + UI_GAP)};
    double y = draw_points(run, room, rows) ? room.y + room.h + UI_GAP : box.y;
    int number = 0;
    for (int cell = 0; cell < 3 * SITE_HEIGHT_COUNT; cell++) {
        int64_t across_um;
        int64_t up_um;
        Text label = {0};
        DrawRect at = {box.x + (cell % 3) * (width + UI_GAP), y, width, run->row};
        if (!run_point_at(run, cell, &across_um, &up_um)) continue;
        text_addf(&label, "%d  %s, %s", ++number,
                  texts_get(run->ui->texts, "words", site_height_words[cell / 3]),
                  run_say(run, sides[cell % 3]));
        UiButton face = {.box = at,
                         .label = label.bytes,
                         .look = run->view->answer == cell ? UI_CHOSEN : UI_PLAIN,
                         .typed = (char)('0' + number),
                         .px = run->is_big ? 16 : 0};
        if (ui_button(run->ui, ui_id("point", cell), &face)) run->view->answer = cell;
        if (cell % 3 == 2) y += run->row + UI_GAP;
        text_clear(&label);
    }
}

enum { GRID_ROWS = 4 };

/* The box of one of `count` buttons, down and then across. */
static DrawRect grid_box(const Run *run, DrawRect box, int count, int index)
{
    int fit = (int)fmax(floor((box.h + UI_GAP) / (run->row + UI_GAP)), 1.0);
    int most = run->is_big && fit < GRID_ROWS ? fit : GRID_ROWS;
    int rows = count < most ? count : most;
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

double run_scene_height(const Run *run, double width)
{
    const char *words = site_text(run->scene->text, run->ui->language);
    if (run->scene->kind == SCENE_TELL) return paper_height(run->ui, width, 19, false, words);
    Text all = {0};
    add_words(run, &all);
    double height = paper_height(run->ui, width, 16, true, text_string(&all));
    text_clear(&all);
    if (run->scene->kind == SCENE_TURN) return height + TURN_HEIGHT;
    if (run->scene->kind == SCENE_PLACE || run->scene->kind == SCENE_ARRANGE ||
        run->scene->given_count > 0) {
        return height + 8.0 + GRID_ROWS * (run->row + UI_GAP);
    }
    return height + 8.0 + answers_height(run, width, 2);
}

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
        run_sheet_as_is(run, (DrawRect){box.x, box.y, SHEET_WIDTH, box.h});
        box.x += SHEET_WIDTH + SHEET_GAP;
        box.w -= SHEET_WIDTH + SHEET_GAP;
    }
    if (run->scene->kind == SCENE_TURN)
        draw_turning(run, box);
    else
        draw_question(run, box);
}
