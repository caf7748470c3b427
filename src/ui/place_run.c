/* The run: the line, the work table, the tray, the sheet, the question at hand. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ui/session.h"

enum {
    LINE_BOTTOM = 384, /* the line's part of the canvas ends here, on a canvas 800 high */
    TABLE_RIGHT = 636,
    PANEL_LEFT = 664,
    BUTTON = 59,
    TABS_PER_ROW = 6,
    EDGE_UM = 5000,
    COUNT_MAX = 999,
    STRIP_MAX = 10,
};

static const char *const about_words[] = {"check-starts", "gap",           "run", "check-failed",
                                          "check-good",   "piece-missing", "bin", "other"};
enum { ABOUT_COUNT = sizeof about_words / sizeof about_words[0] };

/* What every part of the place needs. */
typedef struct {
    Ui *ui;
    Session *session;
    RunView *view;
    const Player *player;
    const Scenario *scenario;
    const Scene *scene; /* NULL when the run is over */
    double foot;
    bool is_big; /* enlarged text: pages instead of parts */
    double row;  /* the height of a button whose label may take two lines */
} Run;

static const char *say(const Run *run, const char *key)
{
    return ui_say(run->ui, key);
}

static void write(const Run *run, DrawRect box, int px, bool is_bold, DrawRole role,
                  const char *words)
{
    (void)ui_text(run->ui, box, px, is_bold, role, DRAW_PAPER, DRAW_START, words);
}

static bool button(const Run *run, const char *name, int index, DrawRect box, const char *label,
                   bool is_chosen)
{
    UiButton face = {.box = box,
                     .label = label,
                     .look = is_chosen ? UI_CHOSEN : UI_PLAIN,
                     .px = run->is_big ? 16 : 0};
    return ui_button(run->ui, ui_id(name, index), &face);
}

static void act(const Run *run, ActionKind kind)
{
    session_do(run->session, log_action(kind, 0));
}

static void act_word(const Run *run, ActionKind kind, const char *field, const char *word)
{
    LogLine action = log_action(kind, 0);
    log_set_word(&action, field, word);
    session_do(run->session, action);
}

static void act_pack(const Run *run, ActionKind kind, int pack)
{
    LogLine action = log_action(kind, 0);
    log_set_number(&action, "pack", pack);
    session_do(run->session, action);
}

/* A piece as people know it: "Ferrous 1.5 mm". */
static void piece_name(const Run *run, const SitePiece *piece, char *out, size_t bytes)
{
    (void)snprintf(out, bytes, "%s %g mm", texts_get(run->ui->texts, "words", piece->metal->name),
                   (double)piece->diameter_um / 1000.0);
}

/* The piece in the hand; NULL: none. */
static const SitePiece *in_hand(const Run *run)
{
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where == PLAYER_PIECE_IN_HAND) return piece.piece;
    }
    return NULL;
}

static bool pack_is_open(const Run *run)
{
    return run->view->pack > 0 && player_pack(run->player, run->view->pack).is_on_table;
}

/* --- Header: what is checked, the time, the last passes, the stop
 * --------------------------------- */

static void draw_strip(const Run *run, double x, double y)
{
    size_t count;
    DrawMark marks[STRIP_MAX];
    int found = 0;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0 && found < STRIP_MAX; i--) {
        const LogLine *line = &log[i - 1];
        bool removed = log_is(line, HAPPENING_REMOVED);
        if (!removed && !log_is(line, HAPPENING_ACCEPTED)) continue;
        if (log_number(line, "pieces") == 0) continue;
        marks[found++] = removed ? DRAW_DONE : DRAW_ACCEPTED;
    }
    int removed = 0;
    for (int i = 0; i < found; i++) {
        removed += marks[i] == DRAW_DONE;
        draw_mark(run->ui->list, marks[i], x + 12 + 34.0 * (found - 1 - i), y + 12, 11, DRAW_INK);
    }
    char words[96];
    (void)snprintf(words, sizeof words, "%d %s, %d %s", removed, say(run, "run.removed"),
                   found - removed, say(run, "run.accepted"));
    if (found > 0) write(run, (DrawRect){x, y + 32, 380, 0}, 16, false, DRAW_SOFT, words);
}

static void draw_header(const Run *run)
{
    Ui *ui = run->ui;
    char words[160];
    Text clock = {0};
    const char *language = ui->language;
    int px = run->is_big ? 19 : 24;
    write(run, (DrawRect){UI_MARGIN, run->is_big ? 20 : 14, 400, 0}, px, true, DRAW_INK,
          site_text(run->scenario->title, language));
    (void)snprintf(words, sizeof words, "%s, %s",
                   site_text(run->scenario->site->products[run->scenario->product].name, language),
                   say(run, run->session->is_assessment ? "run.assessment" : "run.practice"));
    texts_add_clock(run->scenario, player_now_us(run->player), &clock);
    write(run, (DrawRect){440, run->is_big ? 20 : 14, 300, 0}, px, true, DRAW_INK, clock.bytes);
    if (!run->is_big) {
        write(run, (DrawRect){UI_MARGIN, 54, 400, 0}, 19, false, DRAW_SOFT, words);
        write(run, (DrawRect){440, 56, 150, 0}, 16, false, DRAW_SOFT, say(run, "run.line-time"));
        draw_strip(run, 600, 24);
    }
    text_clear(&clock);
    bool runs = line_is_running(player_line(run->player));
    double width = run->is_big ? 430.0 : 260.0;
    UiButton stop = {.box = {ui->width - UI_MARGIN - width, 10, width, 79},
                     .label = say(run, runs ? "run.stop" : "run.start"),
                     .look = UI_STOP,
                     .icon = runs ? UI_ICON_STOP : UI_ICON_NONE,
                     .is_disabled = run->scene == NULL,
                     .px = px};
    if (ui_button(ui, ui_id("stop", 0), &stop)) act(run, runs ? ACTION_STOP : ACTION_START);
    DrawPoint rule[] = {{0, 98}, {ui->width, 98}};
    DrawPoint foot[] = {{0, run->foot}, {ui->width, run->foot}};
    draw_line(ui->list, rule, 2, DRAW_INK, 2);
    draw_line(ui->list, foot, 2, DRAW_INK, 2);
}

/* --- The work table -------------------------------------------------------------------------- */

static const char *where_key(PlayerPack pack)
{
    static const char *const keys[] = {[LINE_NOWHERE] = "pack.gone",
                                       [LINE_ON_INFEED] = "pack.infeed",
                                       [LINE_ON_BELT] = "pack.belt",
                                       [LINE_IN_BIN] = "pack.bin",
                                       [LINE_ON_PALLET] = "pack.pallet"};
    return pack.is_on_table ? "pack.table" : keys[pack.on_line];
}

/* The packs as a row: choose one, or make a new one. */
static void draw_packs(const Run *run, DrawRect box)
{
    int shown = 0;
    int next = 1;
    double width = (box.w - 4 * UI_GAP) / 5.0;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        PlayerPack pack = player_pack(run->player, number);
        if (pack.is_made) next = number + 1;
        if (!pack.is_made || pack.is_destroyed || shown == 4) continue;
        DrawRect at = {box.x + shown * (width + UI_GAP), box.y, width, box.h};
        char label[64];
        (void)snprintf(label, sizeof label, "%d %s", number, say(run, where_key(pack)));
        UiButton face = {.box = at,
                         .label = label,
                         .look = run->view->pack == number ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("pack", number), &face)) run->view->pack = number;
        shown++;
    }
    UiButton make = {.box = {box.x + shown * (width + UI_GAP), box.y, width, box.h},
                     .label = say(run, "pack.make"),
                     .look = UI_PLAIN,
                     .px = 16};
    if (next > LINE_TESTS_MAX || !ui_button(run->ui, ui_id("make", 0), &make)) return;
    LogLine action = log_action(ACTION_MAKE_PACK, 0);
    log_set_number(&action, "pack", next);
    log_set_word(&action, "marked", "yes");
    session_do(run->session, action);
    run->view->pack = next;
}

static double spot_x(DrawRect plan, SiteSpot spot)
{
    return plan.x + plan.w * (spot == SITE_LEADING  ? 5.0 / 6.0
                              : spot == SITE_MIDDLE ? 0.5
                                                    : 1.0 / 6.0);
}

/* A piece as a card with its hole and its sphere, or as a wire. */
static void draw_piece(const Run *run, double x, double y, const PlayerPiece *piece, bool is_held)
{
    DrawList *list = run->ui->list;
    if (piece->piece->is_wire) {
        double angle = (double)piece->azimuth_mdeg * 3.14159265358979 / 180000.0;
        double r = piece->elevation_mdeg == 0 ? 20.0 : 4.0;
        DrawPoint wire[] = {{x - r * cos(angle), y + r * sin(angle)},
                            {x + r * cos(angle), y - r * sin(angle)}};
        draw_line(list, wire, 2, DRAW_ACCENT, 4);
        return;
    }
    draw_rect(list, (DrawRect){x - 24, y - 16, 48, 32}, DRAW_SHEET,
              is_held ? DRAW_ACCENT : DRAW_INK, is_held ? 4 : 2, 6);
    draw_circle(list, x - 15, y, 3, DRAW_PAPER, DRAW_INK, 2);
    draw_circle(list, x + 4, y, 5, DRAW_ACCENT, DRAW_INK, 2);
}

/* A spot's circle lies under its word; a piece on it hides neither. */
static double spot_y(const Run *run, DrawRect plan)
{
    double word = draw_line_height(ui_px(run->ui, 16));
    return plan.y + word + (plan.h - word) * (run->view->at_wall ? 0.7 : 0.5);
}

static void draw_spots(const Run *run, DrawRect plan)
{
    double word = draw_line_height(ui_px(run->ui, 16));
    double radius = fmin(26.0, (plan.h - word) / 2.0 - 4.0);
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        SiteSpot spot = (SiteSpot)s;
        double x = spot_x(plan, spot);
        double wide = plan.w / 3.0;
        bool chosen = run->view->spot == spot;
        DrawRect target = {x - wide / 2.0 + 6.0, plan.y, wide - 12.0, plan.h};
        draw_arc(run->ui->list, x, spot_y(run, plan), radius, 0, 360,
                 chosen ? DRAW_ACCENT : DRAW_LINE, chosen ? 4 : 2);
        (void)ui_text(run->ui, (DrawRect){x - wide / 2.0, plan.y, wide, 0}, 16, chosen, DRAW_INK,
                      DRAW_SHEET, DRAW_MIDDLE,
                      texts_get(run->ui->texts, "words", site_spot_words[s]));
        if (ui_area(run->ui, ui_id("spot", s), target, BUTTON)) run->view->spot = spot;
    }
}

/* The open pack from above, with the pieces that lie in it. */
static void draw_plan(const Run *run, DrawRect plan)
{
    const ProductBlock block =
        site_block(run->scenario->site, run->scenario->line, run->scenario->product);
    double length_um = block.length_m * 1e6;
    double width_um = block.width_m * 1e6;
    draw_rect(run->ui->list, (DrawRect){plan.x - 14, plan.y - 8, plan.w + 28, plan.h + 16},
              DRAW_PAPER, DRAW_INK, 2, 0);
    draw_rect(run->ui->list, plan, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_spots(run, plan);
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != run->view->pack) continue;
        double x = plan.x + plan.w * (0.5 + (double)piece.along_um / length_um * 0.8);
        bool at_edge = fabs((double)piece.across_um) > width_um * 0.25;
        double word = draw_line_height(ui_px(run->ui, 16));
        double y = plan.y + word + (plan.h - word) * (at_edge ? 0.7 : 0.5);
        draw_piece(run, x, y, &piece, false);
    }
}

/* The pack from the side, with the aperture's centre line and where the drawing wants the piece. */
static void draw_side(const Run *run, DrawRect box)
{
    const Site *site = run->scenario->site;
    const ProductBlock block = site_block(site, run->scenario->line, run->scenario->product);
    double scale = fmin(box.w / (block.length_m * 1.15), box.h * 0.55 / block.height_m);
    double w = block.length_m * scale;
    double h = block.height_m * scale;
    DrawRect pack = {box.x + (box.w - w) / 2, box.y + box.h - h - 4, w, h};
    double bottom = block.centre_up_m - block.height_m / 2.0;
    double centre = pack.y + h - (0.0 - bottom) * scale;
    draw_rect(run->ui->list, pack, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_dashes(run->ui->list, (DrawPoint){box.x, centre}, (DrawPoint){box.x + box.w, centre},
                DRAW_LINE, 2, 8, 6);
    if (!run->is_big) {
        write(run, (DrawRect){box.x, box.y, box.w, 0}, 16, false, DRAW_SOFT,
              say(run, "table.centre-line"));
    }
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != run->view->pack) continue;
        double x = pack.x + w / 2 + (double)piece.along_um * 1e-6 * scale;
        draw_circle(run->ui->list, x, pack.y + h - (double)piece.up_um * 1e-6 * scale, 6,
                    DRAW_ACCENT, DRAW_INK, 2);
    }
}

/* What can be done with the chosen pack, besides the next action. */
static void draw_table_buttons(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    double width = (box.w - 3 * UI_GAP) / 4.0;
    DrawRect at = {box.x, box.y, width, box.h};
    PlayerPack pack = player_pack(run->player, view->pack);
    if (!pack.is_on_table) {
        if (button(run, "fetch", 0, at, say(run, "table.fetch"), false)) {
            act_pack(run, ACTION_FETCH, view->pack);
        }
        return;
    }
    if (button(run, "wall", 0, at, say(run, "table.at-edge"), view->at_wall)) {
        view->at_wall = !view->at_wall;
    }
    at.x += width + UI_GAP;
    if (button(run, "guide", 0, at, say(run, "table.along-guide"), view->pack_at_wall)) {
        view->pack_at_wall = !view->pack_at_wall;
    }
    at.x += width + UI_GAP;
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != view->pack) continue;
        if (button(run, "find", 0, at, say(run, "table.take-out"), false)) {
            act_word(run, ACTION_FIND, "piece", piece.piece->id);
        }
        break;
    }
    at.x += width + UI_GAP;
    if (button(run, "destroy", 0, at, say(run, "table.destroy"), false)) {
        act_pack(run, ACTION_DESTROY, view->pack);
        view->pack = 0;
    }
}

/* No pack is at hand: what this scene asks for. */
static void draw_task(const Run *run, DrawRect box)
{
    if (!run->is_big) {
        write(run, box, 19, false, DRAW_SOFT, say(run, "table.empty"));
        box.y += draw_line_height(ui_px(run->ui, 19)) + 6.0;
    }
    write(run, box, 16, false, DRAW_INK, site_text(run->scene->text, run->ui->language));
}

static void draw_table(const Run *run, DrawRect box)
{
    const SitePiece *held = in_hand(run);
    double row = run->is_big ? run->row : BUTTON;
    double top = box.y + 40;
    if (!run->is_big) {
        write(run, (DrawRect){box.x, box.y, 300, 0}, 24, true, DRAW_INK, say(run, "table.title"));
    } else {
        char name[96] = "";
        if (held != NULL) piece_name(run, held, name, sizeof name);
        write(run, (DrawRect){box.x, box.y - 6, box.w, 0}, 16, true, DRAW_INK,
              held != NULL ? name : say(run, "table.title"));
        top = box.y + 50;
    }
    draw_packs(run, (DrawRect){box.x, top, box.w, row});
    top += row + UI_GAP;
    double height = box.y + box.h - row - UI_GAP - top;
    if (run->view->pack == 0) {
        draw_task(run, (DrawRect){box.x, top, box.w, 0});
        return;
    }
    if (pack_is_open(run)) {
        draw_plan(run, (DrawRect){box.x + 14, top + 8, box.w * 0.68 - 28, height - 16});
        draw_side(run, (DrawRect){box.x + box.w * 0.7, top, box.w * 0.3, height});
    } else {
        write(run, (DrawRect){box.x, top, box.w, 0}, 19, false, DRAW_SOFT,
              say(run, where_key(player_pack(run->player, run->view->pack))));
    }
    draw_table_buttons(run, (DrawRect){box.x, box.y + box.h - row, box.w, row});
}

/* --- The right side: tray, sheet, counts, people, holds
 * ---------------------------------------- */

static void piece_state(const Run *run, const PlayerPiece *piece, char *out, size_t bytes)
{
    static const char *const keys[] = {[PLAYER_PIECE_IN_KIT] = "tray.kit",
                                       [PLAYER_PIECE_IN_HAND] = "tray.hand",
                                       [PLAYER_PIECE_IN_PACK] = "tray.pack",
                                       [PLAYER_PIECE_GONE] = "tray.gone"};
    if (piece->where == PLAYER_PIECE_IN_PACK) {
        (void)snprintf(out, bytes, "%s %d", say(run, keys[piece->where]), piece->pack);
    } else {
        (void)snprintf(out, bytes, "%s", say(run, keys[piece->where]));
    }
}

/* Taking a piece reads it first: its certificate stands on the card. */
static void press_piece(const Run *run, const PlayerPiece *piece)
{
    if (piece->where == PLAYER_PIECE_IN_KIT) {
        act_word(run, ACTION_INSPECT, "piece", piece->piece->id);
        act_word(run, ACTION_TAKE, "piece", piece->piece->id);
    } else if (piece->where == PLAYER_PIECE_IN_HAND) {
        act_word(run, ACTION_PUT_BACK, "piece", piece->piece->id);
    } else if (piece->where == PLAYER_PIECE_IN_PACK) {
        act_word(run, ACTION_FIND, "piece", piece->piece->id);
    }
}

static void draw_tray(const Run *run, DrawRect box)
{
    enum { COLUMNS = 2 };
    double step = run->row + UI_GAP;
    int rows = (int)((box.h + UI_GAP) / step);
    int per_page = rows * COLUMNS;
    int count = player_piece_count(run->player);
    double width = (box.w - UI_GAP) / COLUMNS;
    bool pages = count > per_page;
    if (pages) per_page -= 1;
    for (int i = 0; i < per_page && run->view->tray_page * per_page + i < count; i++) {
        int index = run->view->tray_page * per_page + i;
        PlayerPiece piece = player_piece(run->player, index);
        char name[96];
        char label[256];
        char state[64];
        piece_name(run, piece.piece, name, sizeof name);
        piece_state(run, &piece, state, sizeof state);
        int line = i / COLUMNS;
        DrawRect at = {box.x + (i % COLUMNS) * (width + UI_GAP), box.y + line * step, width,
                       run->row};
        (void)snprintf(label, sizeof label, "%s\n%s, %s", name, piece.piece->id, state);
        UiButton face = {.box = at,
                         .label = label,
                         .look = piece.where == PLAYER_PIECE_IN_HAND ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("piece", index), &face)) press_piece(run, &piece);
    }
    if (!pages) return;
    int last = per_page / COLUMNS;
    DrawRect more = {box.x + width + UI_GAP, box.y + last * step, width, run->row};
    if (button(run, "more", 0, more, say(run, "tray.more"), false)) {
        run->view->tray_page =
            (run->view->tray_page + 1) * per_page < count ? run->view->tray_page + 1 : 0;
    }
}

static void write_row(const Run *run, const char *row, const char *value)
{
    LogLine action = log_action(ACTION_WRITE, 0);
    log_set_word(&action, "row", row);
    log_set_word(&action, "value", value);
    session_do(run->session, action);
    run->view->cell = -1;
}

static void cell_row(const Run *run, int cell, char out[LOG_WORD_BYTES])
{
    const SitePlan *plan = run->scenario->plan;
    (void)snprintf(out, LOG_WORD_BYTES, "%.40s/%s", plan->metals[cell / SITE_SPOT_COUNT]->name,
                   site_spot_words[cell % SITE_SPOT_COUNT]);
}

/* A number with a minus and a plus. */
static void draw_stepper(const Run *run, DrawRect box, const char *words, int64_t *value,
                         int64_t step, int64_t min, int64_t max)
{
    DrawRect less = {box.x, box.y, BUTTON, BUTTON};
    DrawRect more = {box.x + box.w - BUTTON, box.y, BUTTON, BUTTON};
    if (button(run, "less", 0, less, "\xE2\x80\x93", false) && *value - step >= min) *value -= step;
    if (button(run, "plus", 0, more, "+", false) && *value + step <= max) *value += step;
    double line = draw_line_height(ui_px(run->ui, 19));
    DrawRect middle = {less.x + BUTTON + 4, box.y + (BUTTON - line) / 2.0, box.w - 2 * BUTTON - 8,
                       0};
    (void)ui_text(run->ui, middle, 19, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE, words);
}

/* Buttons in a grid of two or three columns; the index of the one that was pressed, -1: none. */
static int draw_grid(const Run *run, const char *name, DrawRect box, int columns,
                     const char *const labels[], int count)
{
    int pressed = -1;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    for (int i = 0; i < count; i++) {
        int line = i / columns;
        DrawRect at = {box.x + (i % columns) * (width + UI_GAP), box.y + line * (run->row + UI_GAP),
                       width, run->row};
        UiButton face = {.box = at, .label = labels[i], .look = UI_PLAIN, .px = 16};
        if (ui_button(run->ui, ui_id(name, i), &face)) pressed = i;
    }
    return pressed;
}

/* The chosen cell of the sheet: what happened there? */
static void draw_cell_choice(const Run *run, DrawRect box)
{
    static const char *const values[] = {"removed", "found-not-removed", "missed", "not-finished"};
    const SitePlan *plan = run->scenario->plan;
    const Texts *texts = run->ui->texts;
    int cell = run->view->cell;
    const char *labels[5];
    char title[160];
    char row[LOG_WORD_BYTES];
    cell_row(run, cell, row);
    (void)snprintf(title, sizeof title, "%s, %s",
                   texts_get(texts, "words", plan->metals[cell / SITE_SPOT_COUNT]->name),
                   texts_get(texts, "words", site_spot_words[cell % SITE_SPOT_COUNT]));
    write(run, box, 16, true, DRAW_INK, title);
    for (int i = 0; i < 4; i++) {
        labels[i] = texts_get(texts, "words", values[i]);
    }
    labels[4] = say(run, "sheet.close");
    box.y += draw_line_height(ui_px(run->ui, 16)) + 8.0;
    int pressed = draw_grid(run, "value", box, 3, labels, 5);
    if (pressed == 4)
        run->view->cell = -1;
    else if (pressed >= 0)
        write_row(run, row, values[pressed]);
}

/* Metals down, places across; each cell is pressed to write it. */
static void draw_sheet(const Run *run, DrawRect box)
{
    const SitePlan *plan = run->scenario->plan;
    const Texts *texts = run->ui->texts;
    if (run->view->cell >= 0 && run->view->cell < plan->metal_count * SITE_SPOT_COUNT) {
        draw_cell_choice(run, box);
        return;
    }
    double head = draw_line_height(ui_px(run->ui, 16));
    double name_w = box.w * 0.22;
    double cell_w = (box.w - name_w - 3 * UI_GAP) / 3.0;
    double cell_h = (box.h - head - (plan->metal_count - 1) * UI_GAP) / plan->metal_count;
    for (int i = 0; i < plan->metal_count * SITE_SPOT_COUNT; i++) {
        char row[LOG_WORD_BYTES];
        bool is_signed = false;
        int m = i / SITE_SPOT_COUNT;
        int s = i % SITE_SPOT_COUNT;
        double x = box.x + name_w + UI_GAP + s * (cell_w + UI_GAP);
        double y = box.y + head + m * (cell_h + UI_GAP);
        if (m == 0) {
            write(run, (DrawRect){x, box.y, cell_w, 0}, 16, true, DRAW_INK,
                  texts_get(texts, "words", site_spot_words[s]));
        }
        if (s == 0) {
            write(run, (DrawRect){box.x, y + (cell_h - head) / 2.0, name_w, 0}, 16, true, DRAW_INK,
                  texts_get(texts, "words", plan->metals[m]->name));
        }
        cell_row(run, i, row);
        const char *value = player_row(run->player, row, &is_signed);
        UiButton face = {.box = {x, y, cell_w, cell_h},
                         .label = value == NULL ? say(run, "sheet.to-do")
                                                : texts_get(texts, "words", value),
                         .look = UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("cell", i), &face)) run->view->cell = i;
    }
}

/* The rest of the sheet: counts, result, signature. The counter's number is what is written. */
static void draw_rest(const Run *run, DrawRect box)
{
    static const char *const rows[] = {"program",   "bin-count", "kit-count", "good-run",
                                       "held-from", "result",    "result"};
    RunView *view = run->view;
    const char *labels[8];
    char words[7][96];
    char count[16];
    char from[48];
    (void)snprintf(count, sizeof count, "%lld", (long long)view->count);
    (void)snprintf(from, sizeof from, "%02lld:%02lld", (long long)view->hold_minutes / 60,
                   (long long)view->hold_minutes % 60);
    const char *product = run->scenario->site->products[player_program(run->player)].id;
    const char *values[] = {product, count, count, count, from, "good", "failed"};
    for (int i = 0; i < 7; i++) {
        bool is_signed = false;
        const char *is = player_row(run->player, rows[i], &is_signed);
        bool own = is != NULL && (i < 5 || strcmp(is, values[i]) == 0);
        (void)snprintf(words[i], sizeof words[i], "%s%s%s", say(run, i < 5 ? rows[i] : values[i]),
                       own ? ":\n" : "",
                       !own    ? ""
                       : i < 5 ? is
                               : say(run, "sheet.written"));
        labels[i] = words[i];
    }
    labels[7] = say(run, "sheet.sign");
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, BUTTON}, count, &view->count, 1, 0,
                 COUNT_MAX);
    int pressed =
        draw_grid(run, "rest", (DrawRect){box.x, box.y + BUTTON + UI_GAP, box.w, 0}, 4, labels, 8);
    if (pressed == 7)
        act_word(run, ACTION_SIGN, "as", "self");
    else if (pressed >= 0)
        write_row(run, rows[pressed], values[pressed]);
}

static void draw_count(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    char count[16];
    const char *labels[] = {say(run, "count.bin"),     say(run, "count.kit"),
                            say(run, "bin.leader"),    say(run, "bin.self"),
                            say(run, "bin.lock"),      say(run, "count.program"),
                            say(run, "line.lock-off"), say(run, "line.unlock")};
    (void)snprintf(count, sizeof count, "%lld", (long long)view->count);
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, BUTTON}, count, &view->count, 1, 0,
                 COUNT_MAX);
    int pressed =
        draw_grid(run, "count", (DrawRect){box.x, box.y + BUTTON + UI_GAP, box.w, 0}, 4, labels, 8);
    if (pressed == 0 || pressed == 1) {
        LogLine action = log_action(ACTION_COUNT, 0);
        log_set_word(&action, "what", pressed == 0 ? "bin" : "kit");
        log_set_number(&action, "said", view->count);
        session_do(run->session, action);
    } else if (pressed == 2 || pressed == 3) {
        act_word(run, ACTION_OPEN_BIN, "by",
                 site_role_words[pressed == 2 ? SITE_LINE_LEADER : SITE_LINE_CHECKER]);
    } else if (pressed == 4) {
        act(run, ACTION_CLOSE_BIN);
    } else if (pressed == 5) {
        act(run, ACTION_READ_PROGRAM);
    } else if (pressed == 6 || pressed == 7) {
        act(run, pressed == 6 ? ACTION_LOCK_OFF : ACTION_UNLOCK);
    }
}

static void draw_people(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    const char *labels[SITE_ROLE_COUNT - 1];
    for (int i = 1; i < SITE_ROLE_COUNT; i++) {
        labels[i - 1] = texts_get(run->ui->texts, "words", site_role_words[i]);
    }
    DrawRect less = {box.x, box.y, BUTTON, BUTTON};
    DrawRect more = {box.x + box.w - BUTTON, box.y, BUTTON, BUTTON};
    if (button(run, "about-less", 0, less, "<", false)) {
        view->about = (view->about + ABOUT_COUNT - 1) % ABOUT_COUNT;
    }
    if (button(run, "about-more", 0, more, ">", false))
        view->about = (view->about + 1) % ABOUT_COUNT;
    double line = draw_line_height(ui_px(run->ui, 16));
    DrawRect middle = {less.x + BUTTON + 4, box.y + (BUTTON - line) / 2.0, box.w - 2 * BUTTON - 8,
                       0};
    (void)ui_text(run->ui, middle, 16, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE,
                  texts_get(run->ui->texts, "words", about_words[view->about]));
    int pressed = draw_grid(run, "tell", (DrawRect){box.x, box.y + BUTTON + UI_GAP, box.w, 0}, 3,
                            labels, SITE_ROLE_COUNT - 1);
    if (pressed < 0) return;
    LogLine action = log_action(ACTION_TELL, 0);
    log_set_word(&action, "who", site_role_words[pressed + 1]);
    log_set_word(&action, "about", about_words[view->about]);
    session_do(run->session, action);
}

static void draw_hold(const Run *run, DrawRect box)
{
    static const char *const places[] = {"everything", "pallet", "store", "lorry"};
    RunView *view = run->view;
    const char *labels[5];
    char from[48];
    (void)snprintf(from, sizeof from, "%02lld:%02lld", (long long)view->hold_minutes / 60,
                   (long long)view->hold_minutes % 60);
    for (int i = 0; i < 4; i++) {
        labels[i] = texts_get(run->ui->texts, "words", places[i]);
    }
    labels[4] = say(run, view->is_release ? "hold.to-hold" : "hold.to-release");
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, BUTTON}, from, &view->hold_minutes, 30,
                 0, 1439);
    (void)ui_text(run->ui, (DrawRect){box.x + box.w * 0.53, box.y + 8, box.w * 0.47, 0}, 16, true,
                  DRAW_INK, DRAW_PAPER, DRAW_START,
                  say(run, view->is_release ? "hold.release-what" : "hold.hold-what"));
    int pressed =
        draw_grid(run, "hold", (DrawRect){box.x, box.y + BUTTON + UI_GAP, box.w, 0}, 3, labels, 5);
    if (pressed == 4) {
        view->is_release = !view->is_release;
    } else if (pressed >= 0 && view->is_release) {
        act_word(run, ACTION_RELEASE, "place", places[pressed]);
    } else if (pressed >= 0) {
        LogLine action = log_action(ACTION_HOLD, 0);
        log_set_word(&action, "from", from);
        log_set_word(&action, "place", places[pressed]);
        session_do(run->session, action);
    }
}

static void draw_tabs(const Run *run, DrawRect box)
{
    static const char *const keys[] = {"tab.tray",  "tab.sheet",  "tab.rest",
                                       "tab.count", "tab.people", "tab.hold"};
    double width = (box.w - (TABS_PER_ROW - 1) * UI_GAP) / TABS_PER_ROW;
    for (int i = 0; i < TAB_COUNT_OF; i++) {
        DrawRect at = {box.x + i * (width + UI_GAP), box.y, width, BUTTON};
        UiButton face = {.box = at,
                         .label = say(run, keys[i]),
                         .look = run->view->tab == (RunTab)i ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("tab", i), &face)) run->view->tab = (RunTab)i;
    }
    DrawRect inside = {box.x, box.y + BUTTON + UI_GAP, box.w, box.h - BUTTON - UI_GAP};
    switch (run->view->tab) {
    case TAB_TRAY:
        draw_tray(run, inside);
        break;
    case TAB_SHEET:
        draw_sheet(run, inside);
        break;
    case TAB_REST:
        draw_rest(run, inside);
        break;
    case TAB_COUNT:
        draw_count(run, inside);
        break;
    case TAB_PEOPLE:
        draw_people(run, inside);
        break;
    case TAB_HOLD:
    case TAB_COUNT_OF:
        draw_hold(run, inside);
        break;
    }
}

/* --- Scenes that speak ------------------------------------------------------------------------ */

/* The question and its answers, in one column while they fit, else in two; each has its number. */
static void draw_question(const Run *run, DrawRect box)
{
    double height = ui_text(run->ui, box, run->is_big ? 16 : 24, true, DRAW_INK, DRAW_PAPER,
                            DRAW_START, site_text(run->scene->text, run->ui->language));
    double top = box.y + height + 8.0;
    int count = run->scene->answer_count;
    double line = draw_line_height(ui_px(run->ui, 16));
    double row = run->is_big ? 3.0 * line + 8.0 : BUTTON;
    bool is_long = top + count * (row + UI_GAP) > box.y + box.h + 12.0;
    int columns = run->is_big || is_long ? 2 : 1;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    for (int i = 0; i < count; i++) {
        const char *words = site_text(run->scene->answers[i].text, run->ui->language);
        char label[SITE_TEXT_BYTES_MAX + 8];
        int at = i / columns;
        (void)snprintf(label, sizeof label, "%d   %s", i + 1, words);
        UiButton face = {.box = {box.x + (i % columns) * (width + UI_GAP),
                                 top + at * (row + UI_GAP), width, row},
                         .look = run->view->answer == i ? UI_CHOSEN : UI_PLAIN,
                         .label = label,
                         .typed = (char)('1' + i)};
        if (ui_button(run->ui, ui_id("answer", i), &face)) run->view->answer = i;
    }
}

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
    double height = ui_text(run->ui, box, run->is_big ? 16 : 24, true, DRAW_INK, DRAW_PAPER,
                            DRAW_START, site_text(run->scene->text, run->ui->language));
    PlayerPiece wire = {0};
    for (int i = 0; i < player_piece_count(run->player); i++) {
        if (strcmp(player_piece(run->player, i).piece->id, id) == 0)
            wire = player_piece(run->player, i);
    }
    double y = box.y + height + UI_GAP;
    for (int i = 0; i < 4; i++) {
        double width = (box.w - 3 * UI_GAP) / 4.0;
        DrawRect at = {box.x + i * (width + UI_GAP), y, width, BUTTON};
        bool chosen =
            wire.azimuth_mdeg == ways[i].azimuth && wire.elevation_mdeg == ways[i].elevation;
        if (!button(run, "way", i, at, say(run, ways[i].key), chosen)) continue;
        LogLine action = log_action(ACTION_TURN, 0);
        log_set_word(&action, "piece", id);
        log_set_number(&action, "azimuth_mdeg", ways[i].azimuth);
        log_set_number(&action, "elevation_mdeg", ways[i].elevation);
        session_do(run->session, action);
    }
    DrawRect plan = {box.x + box.w / 2 - 90, y + BUTTON + 2 * UI_GAP, 180, 60};
    draw_rect(run->ui->list, plan, DRAW_SHEET, DRAW_INK, 2, 0);
    if (wire.piece != NULL) draw_piece(run, plan.x + 90, plan.y + 30, &wire, false);
}

static void draw_story(const Run *run, DrawRect box)
{
    (void)ui_text(run->ui, box, run->is_big ? 19 : 24, false, DRAW_INK, DRAW_PAPER, DRAW_START,
                  site_text(run->scene->text, run->ui->language));
}

/* Practice: the last pass, opened up, in words. */
static void draw_last_pass(const Run *run, DrawRect box)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    if (run->session->is_assessment) return;
    for (size_t i = count; i > 0; i--) {
        if (!log_is(&log[i - 1], HAPPENING_JUDGED) || log_number(&log[i - 1], "pack") == 0)
            continue;
        Text words = {0};
        if (texts_tell(run->ui->texts, run->scenario, &log[i - 1], &words)) {
            write(run, box, 16, false, DRAW_SOFT, words.bytes);
        }
        text_clear(&words);
        return;
    }
}

/* --- The foot: back, what the hand holds, the next action ------------------------------------ */

static void leave(const Run *run)
{
    if (run->scene == NULL) {
        session_go(run->session, PLACE_LOOK_BACK);
    } else if (!run->session->is_assessment) {
        session_go(run->session, PLACE_HOME);
    } else if (!run->view->is_leaving) {
        run->view->is_leaving = true;
    } else {
        act(run, ACTION_LEAVE);
        session_go(run->session, PLACE_LOOK_BACK);
    }
}

static void place_in_pack(const Run *run, const SitePiece *piece)
{
    const ProductBlock block =
        site_block(run->scenario->site, run->scenario->line, run->scenario->product);
    const SiteProduct *product = &run->scenario->site->products[run->scenario->product];
    int64_t reach = llround(block.length_m * 0.5e6 * 0.83);
    int64_t height = llround(block.height_m * 1e6);
    int64_t along = run->view->spot == SITE_LEADING    ? reach
                    : run->view->spot == SITE_TRAILING ? -reach
                                                       : 0;
    LogLine action = log_action(ACTION_PLACE, 0);
    log_set_word(&action, "piece", piece->id);
    log_set_number(&action, "pack", run->view->pack);
    log_set_number(&action, "along_um", along);
    log_set_number(&action, "across_um",
                   run->view->at_wall ? llround(block.width_m * 0.5e6) - EDGE_UM : 0);
    log_set_number(&action, "up_um",
                   product->heights[SITE_ON_TOP]   ? height
                   : product->heights[SITE_INSIDE] ? height / 2
                                                   : 0);
    session_do(run->session, action);
}

static void send_pack(const Run *run)
{
    const ProductBlock block =
        site_block(run->scenario->site, run->scenario->line, run->scenario->product);
    const CoilHead *coils = &run->scenario->site->heads[run->scenario->line->head].head.coils;
    int64_t free_um = llround((coils->aperture_width_m - block.width_m) * 0.5e6) - EDGE_UM;
    LogLine action = log_action(ACTION_SEND, 0);
    log_set_number(&action, "pack", run->view->pack);
    log_set_number(&action, "across_um", run->view->pack_at_wall && free_um > 0 ? free_um : 0);
    session_do(run->session, action);
}

/* The next action follows what is in the hand or on the table, never the check plan. */
static void draw_next(const Run *run)
{
    Ui *ui = run->ui;
    const SitePiece *held = in_hand(run);
    char label[128];
    if (run->scene == NULL) {
        if (ui_next(ui, say(run, "run.look-back"))) session_go(run->session, PLACE_LOOK_BACK);
    } else if (run->scene->kind == SCENE_DECIDE) {
        if (run->view->answer >= 0 && ui_next(ui, say(run, "run.give-answer"))) {
            const char *choice = run->scene->answers[run->view->answer].id;
            run->view->answer = -1;
            act_word(run, ACTION_ANSWER, "choice", choice);
        }
    } else if (run->scene->kind == SCENE_TURN) {
        if (ui_next(ui, say(run, "run.leave-so"))) act_word(run, ACTION_ANSWER, "choice", "so");
    } else if (run->scene->kind == SCENE_TELL) {
        if (ui_next(ui, say(run, "run.go-on"))) act(run, ACTION_NEXT);
    } else if (held != NULL && pack_is_open(run)) {
        (void)snprintf(label, sizeof label, "%s: %s", say(run, "run.lay-it"),
                       texts_get(ui->texts, "words", site_spot_words[run->view->spot]));
        if (ui_next(ui, label)) place_in_pack(run, held);
    } else if (held != NULL) {
        if (ui_next(ui, say(run, "run.put-back")))
            act_word(run, ACTION_PUT_BACK, "piece", held->id);
    } else if (pack_is_open(run)) {
        if (ui_next(ui, say(run, "run.send"))) send_pack(run);
    } else if (ui_next(ui,
                       say(run, player_is_watching(run->player) ? "run.watching" : "run.watch"))) {
        act(run, ACTION_WATCH);
    }
}

static void draw_foot(const Run *run)
{
    const SitePiece *held = in_hand(run);
    char name[192];
    double y = run->foot + 14.0;
    const char *back = run->view->is_leaving ? "run.break-off"
                       : run->scene == NULL  ? "run.back"
                                             : "run.leave";
    if (ui_back(run->ui, say(run, back))) leave(run);
    bool works =
        run->scene != NULL && (run->scene->kind == SCENE_PASS || run->scene->kind == SCENE_WRITE);
    if (works) {
        double percent = run->ui->text_percent;
        double x = UI_MARGIN + 1.32 * percent + UI_GAP;
        UiButton done = {.box = ui_foot_box(run->ui, x, 1.48 * percent),
                         .label = say(run, "run.done"),
                         .look = UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("done", 0), &done)) act(run, ACTION_NEXT);
    }
    draw_next(run);
    if (run->is_big) return;
    if (held != NULL) {
        char piece[96];
        piece_name(run, held, piece, sizeof piece);
        (void)snprintf(name, sizeof name, "%s, %s", piece, held->id);
        write(run, (DrawRect){340, y, 480, 0}, 16, false, DRAW_SOFT, say(run, "run.in-hand"));
        write(run, (DrawRect){340, y + 26, 540, 0}, 24, true, DRAW_INK, name);
    } else if (run->session->notice.len > 0) {
        write(run, (DrawRect){340, y, 540, 0}, 16, true, DRAW_INK, run->session->notice.bytes);
    } else {
        draw_last_pass(run, (DrawRect){340, y + 20, 520, 0});
    }
}

/* --- The place -------------------------------------------------------------------------------- */

static void draw_work(const Run *run, DrawRect left, DrawRect right)
{
    if (run->scene->kind == SCENE_PASS || run->scene->kind == SCENE_WRITE) {
        if (left.w > 0) draw_table(run, left);
        if (right.w > 0) draw_tabs(run, right);
        return;
    }
    DrawRect whole = left.w > 0 && right.w > 0
                         ? (DrawRect){left.x, left.y, right.x + right.w - left.x, left.h}
                     : left.w > 0 ? left
                                  : right;
    if (run->scene->kind == SCENE_TELL)
        draw_story(run, whole);
    else if (run->scene->kind == SCENE_TURN)
        draw_turning(run, whole);
    else
        draw_question(run, whole);
}

/* Enlarged text: one page at a time under the same header and foot; a scene that speaks has it all.
 */
static void draw_pages(const Run *run)
{
    static const char *const keys[] = {"page.table", "page.side", "page.line"};
    Ui *ui = run->ui;
    double width = (ui->width - 2 * UI_MARGIN - 2 * UI_GAP) / 3.0;
    DrawRect box = {UI_MARGIN, 104, ui->width - 2 * UI_MARGIN, run->foot - UI_GAP - 104};
    DrawRect none = {0};
    if (run->scene->kind != SCENE_PASS && run->scene->kind != SCENE_WRITE) {
        draw_work(run, box, none);
        return;
    }
    for (int i = 0; i < 3; i++) {
        UiButton face = {.box = {UI_MARGIN + i * (width + UI_GAP), 104, width, BUTTON},
                         .label = say(run, keys[i]),
                         .look = run->view->page == i ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(ui, ui_id("page", i), &face)) run->view->page = i;
    }
    box.y += BUTTON + UI_GAP;
    box.h -= BUTTON + UI_GAP;
    if (run->view->page == 2)
        line_view(ui, run->player, box, run->view);
    else if (run->view->page == 1)
        draw_work(run, none, box);
    else
        draw_work(run, box, none);
}

void place_run(Ui *ui, Session *session)
{
    Run run = {.ui = ui,
               .session = session,
               .view = &session->view,
               .player = app_run_player(session->run),
               .foot = ui_foot_y(ui),
               .is_big = ui->text_percent > 100,
               .row = fmax(BUTTON, 2.0 * draw_line_height(ui_px(ui, 16)) + 8.0)};
    run.scenario = player_setup(run.player)->scenario;
    int scene = player_scene(run.player);
    bool over = player_has_ended(run.player);
    run.scene = over ? NULL : &run.scenario->scenes[scene];
    draw_header(&run);
    if (run.is_big && run.scene != NULL) {
        draw_pages(&run);
    } else {
        double line_bottom = LINE_BOTTOM + (ui->height - 800.0);
        line_view(ui, run.player, (DrawRect){0, 100, ui->width, line_bottom - 100}, run.view);
        DrawPoint rule[] = {{0, line_bottom}, {ui->width, line_bottom}};
        draw_line(ui->list, rule, 2, DRAW_INK, 2);
        double top = line_bottom + 8;
        double height = run.foot - UI_GAP - top;
        double right = ui->width - UI_MARGIN - PANEL_LEFT;
        if (run.scene != NULL) {
            draw_work(&run, (DrawRect){UI_MARGIN, top, TABLE_RIGHT - UI_MARGIN, height},
                      (DrawRect){PANEL_LEFT, top, right, height});
        }
    }
    draw_foot(&run);
}
