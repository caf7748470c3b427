/* The right side of the run: tray, sheet, counts, people, holds. */
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { TABS_PER_ROW = 6, COUNT_MAX = 999 };

static const char *const about_words[] = {"check-starts", "gap",           "run", "check-failed",
                                          "check-good",   "piece-missing", "bin", "other"};
enum { ABOUT_COUNT = sizeof about_words / sizeof about_words[0] };

/* --- The tray -------------------------------------------------------------------------------- */

static void piece_state(const Run *run, const PlayerPiece *piece, char *out, size_t bytes)
{
    static const char *const keys[] = {[PLAYER_PIECE_IN_KIT] = "tray.kit",
                                       [PLAYER_PIECE_IN_HAND] = "tray.hand",
                                       [PLAYER_PIECE_IN_PACK] = "tray.pack",
                                       [PLAYER_PIECE_GONE] = "tray.gone"};
    if (piece->where == PLAYER_PIECE_IN_PACK) {
        (void)snprintf(out, bytes, "%s %d", run_say(run, keys[piece->where]), piece->pack);
    } else {
        (void)snprintf(out, bytes, "%s", run_say(run, keys[piece->where]));
    }
}

/* Taking a piece reads it first: its certificate stands on the card. */
static void press_piece(const Run *run, const PlayerPiece *piece)
{
    if (piece->where == PLAYER_PIECE_IN_KIT) {
        run_act_word(run, ACTION_INSPECT, "piece", piece->piece->id);
        run_act_word(run, ACTION_TAKE, "piece", piece->piece->id);
    } else if (piece->where == PLAYER_PIECE_IN_HAND) {
        run_act_word(run, ACTION_PUT_BACK, "piece", piece->piece->id);
    } else if (piece->where == PLAYER_PIECE_IN_PACK) {
        run_act_word(run, ACTION_FIND, "piece", piece->piece->id);
    }
}

/* A card: the piece as a drawing where it is there to be taken, its name, and where it is. */
static void draw_card(const Run *run, int index, DrawRect box)
{
    Ui *ui = run->ui;
    PlayerPiece piece = player_piece(run->player, index);
    bool is_held = piece.where == PLAYER_PIECE_IN_HAND;
    bool is_here = piece.where == PLAYER_PIECE_IN_KIT || is_held;
    char name[96];
    char state[64];
    char under[192];
    DrawRole letters;
    uint32_t id = ui_id("piece", index);
    UiButton face = {.box = box, .look = is_held ? UI_CHOSEN : UI_PLAIN};
    if (ui_button(ui, id, &face)) press_piece(run, &piece);
    DrawRole ground = paper_face(ui, id, box, is_held, &letters);
    run_piece_name(run, piece.piece, name, sizeof name);
    piece_state(run, &piece, state, sizeof state);
    (void)snprintf(under, sizeof under, "%s, %s", piece.piece->id, state);
    double line = draw_line_height(ui_px(ui, 16));
    double y = box.y + (box.h - 2.0 * line) / 2.0;
    double x = box.x + 12.0;
    double room = box.w - 24.0;
    bool fits = ui_width(ui, 16, false, under) <= room - 60.0;
    if (is_here && index != run->dragged && fits && letters == DRAW_INK)
        run_draw_piece(run, x + 24.0, box.y + box.h / 2.0, &piece, is_held);
    if (fits) {
        x += 60.0;
        room -= 60.0;
    }
    paper_line(ui, (DrawRect){x, y, room, line},
               &(PaperInk){16, is_here, letters, ground, DRAW_START}, name);
    paper_line(ui, (DrawRect){x, y + line, room, line},
               &(PaperInk){16, false, letters, ground, DRAW_START}, under);
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
    run->room->tray = box;
    if (pages) per_page -= 1;
    for (int i = 0; i < per_page && run->view->tray_page * per_page + i < count; i++) {
        int line = i / COLUMNS;
        DrawRect at = {box.x + (i % COLUMNS) * (width + UI_GAP), box.y + line * step, width,
                       run->row};
        draw_card(run, run->view->tray_page * per_page + i, at);
    }
    if (!pages) return;
    int last = per_page / COLUMNS;
    DrawRect more = {box.x + width + UI_GAP, box.y + last * step, width, run->row};
    if (run_button(run, "more", 0, more, run_say(run, "tray.more"), false)) {
        run->view->tray_page =
            (run->view->tray_page + 1) * per_page < count ? run->view->tray_page + 1 : 0;
    }
}

/* --- Numbers and rows of buttons --------------------------------------------------------------- */

/* A number with a minus and a plus. */
static void draw_stepper(const Run *run, DrawRect box, const char *words, int64_t *value,
                         int64_t step, int64_t min, int64_t max)
{
    DrawRect less = {box.x, box.y, RUN_BUTTON, RUN_BUTTON};
    DrawRect more = {box.x + box.w - RUN_BUTTON, box.y, RUN_BUTTON, RUN_BUTTON};
    if (run_button(run, "less", 0, less, "\xE2\x80\x93", false) && *value - step >= min)
        *value -= step;
    if (run_button(run, "plus", 0, more, "+", false) && *value + step <= max) *value += step;
    double line = draw_line_height(ui_px(run->ui, 19));
    DrawRect middle = {less.x + RUN_BUTTON + 4, box.y + (RUN_BUTTON - line) / 2.0,
                       box.w - 2 * RUN_BUTTON - 8, 0};
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
        (void)snprintf(words[i], sizeof words[i], "%s%s%s",
                       run_say(run, i < 5 ? rows[i] : values[i]), own ? ":\n" : "",
                       !own    ? ""
                       : i < 5 ? is
                               : run_say(run, "sheet.written"));
        labels[i] = words[i];
    }
    labels[7] = run_say(run, "sheet.sign");
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, RUN_BUTTON}, count, &view->count, 1, 0,
                 COUNT_MAX);
    int pressed = draw_grid(run, "rest", (DrawRect){box.x, box.y + RUN_BUTTON + UI_GAP, box.w, 0},
                            4, labels, 8);
    if (pressed == 7)
        run_act_word(run, ACTION_SIGN, "as", "self");
    else if (pressed >= 0)
        run_write_row(run, rows[pressed], values[pressed]);
}

static void draw_count(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    char count[16];
    const char *labels[] = {run_say(run, "count.bin"),     run_say(run, "count.kit"),
                            run_say(run, "bin.leader"),    run_say(run, "bin.self"),
                            run_say(run, "bin.lock"),      run_say(run, "count.program"),
                            run_say(run, "line.lock-off"), run_say(run, "line.unlock")};
    (void)snprintf(count, sizeof count, "%lld", (long long)view->count);
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, RUN_BUTTON}, count, &view->count, 1, 0,
                 COUNT_MAX);
    int pressed = draw_grid(run, "count", (DrawRect){box.x, box.y + RUN_BUTTON + UI_GAP, box.w, 0},
                            4, labels, 8);
    if (pressed == 0 || pressed == 1) {
        LogLine action = log_action(ACTION_COUNT, 0);
        log_set_word(&action, "what", pressed == 0 ? "bin" : "kit");
        log_set_number(&action, "said", view->count);
        session_do(run->session, action);
    } else if (pressed == 2 || pressed == 3) {
        run_act_word(run, ACTION_OPEN_BIN, "by",
                     site_role_words[pressed == 2 ? SITE_LINE_LEADER : SITE_LINE_CHECKER]);
    } else if (pressed == 4) {
        run_act(run, ACTION_CLOSE_BIN);
    } else if (pressed == 5) {
        run_act(run, ACTION_READ_PROGRAM);
    } else if (pressed == 6 || pressed == 7) {
        run_act(run, pressed == 6 ? ACTION_LOCK_OFF : ACTION_UNLOCK);
    }
}

static void draw_people(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    const char *labels[SITE_ROLE_COUNT - 1];
    for (int i = 1; i < SITE_ROLE_COUNT; i++) {
        labels[i - 1] = texts_get(run->ui->texts, "words", site_role_words[i]);
    }
    DrawRect less = {box.x, box.y, RUN_BUTTON, RUN_BUTTON};
    DrawRect more = {box.x + box.w - RUN_BUTTON, box.y, RUN_BUTTON, RUN_BUTTON};
    if (run_button(run, "about-less", 0, less, "<", false)) {
        view->about = (view->about + ABOUT_COUNT - 1) % ABOUT_COUNT;
    }
    if (run_button(run, "about-more", 0, more, ">", false))
        view->about = (view->about + 1) % ABOUT_COUNT;
    double line = draw_line_height(ui_px(run->ui, 16));
    DrawRect middle = {less.x + RUN_BUTTON + 4, box.y + (RUN_BUTTON - line) / 2.0,
                       box.w - 2 * RUN_BUTTON - 8, 0};
    (void)ui_text(run->ui, middle, 16, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE,
                  texts_get(run->ui->texts, "words", about_words[view->about]));
    int pressed = draw_grid(run, "tell", (DrawRect){box.x, box.y + RUN_BUTTON + UI_GAP, box.w, 0},
                            3, labels, SITE_ROLE_COUNT - 1);
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
    labels[4] = run_say(run, view->is_release ? "hold.to-hold" : "hold.to-release");
    draw_stepper(run, (DrawRect){box.x, box.y, box.w * 0.5, RUN_BUTTON}, from, &view->hold_minutes,
                 30, 0, 1439);
    (void)ui_text(run->ui, (DrawRect){box.x + box.w * 0.53, box.y + 8, box.w * 0.47, 0}, 16, true,
                  DRAW_INK, DRAW_PAPER, DRAW_START,
                  run_say(run, view->is_release ? "hold.release-what" : "hold.hold-what"));
    int pressed = draw_grid(run, "hold", (DrawRect){box.x, box.y + RUN_BUTTON + UI_GAP, box.w, 0},
                            3, labels, 5);
    if (pressed == 4) {
        view->is_release = !view->is_release;
    } else if (pressed >= 0 && view->is_release) {
        run_act_word(run, ACTION_RELEASE, "place", places[pressed]);
    } else if (pressed >= 0) {
        LogLine action = log_action(ACTION_HOLD, 0);
        log_set_word(&action, "from", from);
        log_set_word(&action, "place", places[pressed]);
        session_do(run->session, action);
    }
}

void run_side(const Run *run, DrawRect box)
{
    static const char *const keys[] = {"tab.tray",  "tab.sheet",  "tab.rest",
                                       "tab.count", "tab.people", "tab.hold"};
    double width = (box.w - (TABS_PER_ROW - 1) * UI_GAP) / TABS_PER_ROW;
    for (int i = 0; i < TAB_COUNT_OF; i++) {
        DrawRect at = {box.x + i * (width + UI_GAP), box.y, width, RUN_BUTTON};
        UiButton face = {.box = at,
                         .label = run_say(run, keys[i]),
                         .look = run->view->tab == (RunTab)i ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("tab", i), &face)) run->view->tab = (RunTab)i;
    }
    DrawRect inside = {box.x, box.y + RUN_BUTTON + UI_GAP, box.w, box.h - RUN_BUTTON - UI_GAP};
    switch (run->view->tab) {
    case TAB_TRAY:
        draw_tray(run, inside);
        break;
    case TAB_SHEET:
        run_sheet(run, inside);
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
