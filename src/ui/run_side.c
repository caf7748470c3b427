/* The right side of the run: tray, sheet, counts, people, holds. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { COUNT_MAX = 999, TIME_BYTES = 16 };

static const char *const about_words[] = {"check-starts", "gap",           "run", "check-failed",
                                          "check-good",   "piece-missing", "bin", "program",
                                          "find",         "other"};
enum { ABOUT_COUNT = sizeof about_words / sizeof about_words[0] };

/* --- The tray -------------------------------------------------------------------------------- */

/* The piece as the person knows it: one that fell out unseen is still thought to be in its pack,
 * until that lies open on the table. */
static PlayerPiece piece_known(const Run *run, int index)
{
    PlayerPiece piece = player_piece(run->player, index);
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0 && piece.where == PLAYER_PIECE_GONE; i--) {
        const LogLine *line = &log[i - 1];
        if (!log_is(line, HAPPENING_PIECE_FELL)) continue;
        if (strcmp(log_word(line, "piece"), piece.piece->id) != 0) continue;
        int pack = (int)log_number(line, "pack");
        if (player_pack(run->player, pack).is_on_table) break;
        for (size_t later = i; later < count; later++) {
            if (log_is(&log[later], HAPPENING_PACK_FETCHED) &&
                log_number(&log[later], "pack") == pack)
                return piece;
        }
        piece.where = PLAYER_PIECE_IN_PACK;
        piece.pack = pack;
    }
    return piece;
}

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
    PlayerPiece piece = piece_known(run, index);
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
        run_draw_piece(run, x + 28.0, box.y + box.h / 2.0, &piece, is_held);
    if (fits) {
        x += 60.0;
        room -= 60.0;
    }
    paper_line(ui, (DrawRect){x, y, room, line},
               &(PaperInk){16, is_here, letters, ground, DRAW_START}, name);
    paper_line(ui, (DrawRect){x, y + line, room, line},
               &(PaperInk){16, false, letters, ground, DRAW_START}, under);
}

/* What the scene asks for, below the pieces where they leave room for it; while no pack is chosen
 * the table says it. */
static void draw_task_below(const Run *run, DrawRect box, double used)
{
    enum { LINES = 3 };
    const char *words = site_text(run->scene->text, run->ui->language);
    DrawRect rest = {box.x, box.y + used, box.w, box.h - used};
    double least = RUN_BUTTON + UI_GAP + LINES * draw_line_height(ui_px(run->ui, 16));
    if (run->view->pack == 0) return;
    if (paper_height(run->ui, rest.w, 16, false, words) <= rest.h || rest.h >= least)
        run_task(run, rest);
}

static void draw_tray(const Run *run, DrawRect box)
{
    enum { COLUMNS = 2 };
    double step = run->row + UI_GAP;
    int rows = (int)((box.h + UI_GAP) / step);
    int per_page = rows * COLUMNS;
    int count = player_piece_count(run->player);
    int lines = (count + COLUMNS - 1) / COLUMNS;
    double width = (box.w - UI_GAP) / COLUMNS;
    bool pages = count > per_page;
    run->room->tray = box;
    if (!pages) draw_task_below(run, box, lines * step);
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

/* --- Numbers and rows of buttons ------------------------------------------------------------- */

/* A number with a minus and a plus, which go to the next whole step. */
static void draw_stepper(const Run *run, int index, DrawRect box, const char *words, int64_t *value,
                         int64_t step, int64_t most)
{
    DrawRect less = {box.x, box.y, RUN_BUTTON, RUN_BUTTON};
    DrawRect more = {box.x + box.w - RUN_BUTTON, box.y, RUN_BUTTON, RUN_BUTTON};
    if (run_button(run, "less", index, less, "\xE2\x80\x93", false) && *value > 0)
        *value = (*value - 1) / step * step;
    if (run_button(run, "plus", index, more, "+", false) && *value / step * step + step <= most)
        *value = *value / step * step + step;
    DrawRect middle = {less.x + RUN_BUTTON + 4, box.y, box.w - 2 * RUN_BUTTON - 8, RUN_BUTTON};
    int px = ui_width(run->ui, 19, true, words) <= middle.w ? 19 : 16;
    paper_line(run->ui, middle, &(PaperInk){px, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE}, words);
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

/* The counter, in the left half. */
static void draw_counter(const Run *run, DrawRect box)
{
    char count[16];
    (void)snprintf(count, sizeof count, "%lld", (long long)run->view->count);
    draw_stepper(run, 0, (DrawRect){box.x, box.y, (box.w - UI_GAP) / 2.0, RUN_BUTTON}, count,
                 &run->view->count, 1, COUNT_MAX);
}

/* The time of day from which packs would be held: the present one until another was chosen. */
static int64_t hold_minutes(const Run *run)
{
    enum { DAY = 24 * 60 };
    if (run->view->hold_minutes >= 0) return run->view->hold_minutes;
    return (run->scenario->clock_us + player_now_us(run->player)) / 60000000 % DAY;
}

static void print_hold_time(const Run *run, char out[TIME_BYTES])
{
    int minutes = (int)hold_minutes(run);
    (void)snprintf(out, TIME_BYTES, "%02d:%02d", minutes / 60 % 24, minutes % 60);
}

/* From when on: chosen by the person, from the present time back. */
static void draw_hold_time(const Run *run, int index, DrawRect box)
{
    enum { STEP = 15, LAST = 24 * 60 - 1 };
    char from[TIME_BYTES];
    int64_t minutes = hold_minutes(run);
    print_hold_time(run, from);
    draw_stepper(run, index, box, from, &minutes, STEP, LAST);
    if (minutes != hold_minutes(run)) run->view->hold_minutes = minutes;
}

/* --- The result ------------------------------------------------------------------------------ */

enum { REST_PROGRAM, REST_BIN, REST_KIT, REST_GOOD_RUN, REST_FROM, REST_GOOD, REST_FAILED };
enum { REST_NUMBERS = REST_FROM, REST_SIGN = REST_FAILED + 1 };

/* Where the parts of a row with a number are: enlarged, its name stands before it, else over it. */
typedef struct {
    DrawRect name, number, write;
} RestRow;

static RestRow lay_rest_row(const Run *run, DrawRect box)
{
    double line = draw_line_height(ui_px(run->ui, 16));
    double write = 26.0 + fmax(ui_width(run->ui, 16, false, run_say(run, "sheet.write")),
                               ui_width(run->ui, 16, true, "00:00") + 0.2 * run->ui->text_percent);
    RestRow row = {.write = {box.x + box.w - write, box.y + box.h - RUN_BUTTON, write, RUN_BUTTON}};
    row.number = (DrawRect){box.x, row.write.y, box.w - write - UI_GAP, RUN_BUTTON};
    row.name = (DrawRect){box.x, box.y, box.w, line};
    if (!run->is_big) return row;
    double number = 2 * RUN_BUTTON + 12.0 + ui_width(run->ui, 16, true, "00:00");
    row.name = (DrawRect){box.x, row.write.y, row.number.w - number - 4.0, RUN_BUTTON};
    row.number.x += row.number.w - number;
    row.number.w = number;
    return row;
}

/* The button that writes a value into a row of the sheet: once it is written, what is. */
static void draw_write(const Run *run, int index, const char *row, const char *value, DrawRect box)
{
    Ui *ui = run->ui;
    bool is_signed = false;
    DrawRole letters;
    const char *is = player_row(run->player, row, &is_signed);
    uint32_t id = ui_id("rest", index);
    UiButton face = {.box = box,
                     .label = is == NULL ? run_say(run, "sheet.write") : NULL,
                     .look = is == NULL ? UI_PLAIN : UI_CHOSEN,
                     .px = 16};
    if (ui_button(ui, id, &face)) run_write_row(run, row, value);
    if (is == NULL) return;
    DrawRole ground = paper_face(ui, id, box, true, &letters);
    double radius = 0.08 * ui->text_percent;
    double width = ui_width(ui, 16, true, is) + 2.0;
    double line = draw_line_height(ui_px(ui, 16));
    double x = box.x + (box.w - 2.0 * radius - 6.0 - width) / 2.0;
    draw_mark(ui->list, DRAW_DONE, x + radius, box.y + box.h / 2.0, radius, letters);
    x += 2.0 * radius + 6.0;
    paper_line(ui, (DrawRect){x, box.y + (box.h - line) / 2.0, width, line},
               &(PaperInk){16, true, letters, ground, DRAW_START}, is);
}

/* A row of the sheet that holds a number or a time: its name, its own number, and what writes
 * it. */
static void draw_rest_row(const Run *run, int index, const char *name, DrawRect box)
{
    RestRow row = lay_rest_row(run, box);
    char number[TIME_BYTES];
    paper_line(run->ui, row.name, &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START},
               run_say(run, name));
    if (index == REST_FROM) {
        draw_hold_time(run, index, row.number);
        print_hold_time(run, number);
    } else {
        int64_t *value = &run->view->rest[index - REST_BIN];
        (void)snprintf(number, sizeof number, "%lld", (long long)*value);
        draw_stepper(run, index, row.number, number, value, 1, COUNT_MAX);
        (void)snprintf(number, sizeof number, "%lld", (long long)*value);
    }
    draw_write(run, index, name, number, row.write);
}

/* A row that holds a word: it is written, or it is not. */
static void draw_rest_word(const Run *run, int index, const char *row, const char *value,
                           const char *key, DrawRect box)
{
    bool is_signed = false;
    const char *is = player_row(run->player, row, &is_signed);
    bool is_so = is != NULL && strcmp(is, value) == 0;
    if (run_button(run, "rest", index, box, run_say(run, key), is_so))
        run_write_row(run, row, value);
}

/* The rest of the sheet: counts, result, signature. */
static void draw_rest(const Run *run, DrawRect box)
{
    enum { COLUMNS = 2, ROWS = REST_NUMBERS / COLUMNS, WORDS = 4 };
    static const char *const names[] = {[REST_BIN] = "bin-count",
                                        [REST_KIT] = "kit-count",
                                        [REST_GOOD_RUN] = "good-run",
                                        [REST_FROM] = "held-from"};
    const char *product = run->scenario->site->products[player_program(run->player)].id;
    double width = (box.w - UI_GAP) / COLUMNS;
    double line = draw_line_height(ui_px(run->ui, 16));
    double height = run->is_big ? RUN_BUTTON : RUN_BUTTON + line - 2.0;
    double pitch = run->is_big ? RUN_BUTTON + UI_GAP : height;
    double y = run->is_big ? box.y : box.y - 8.0; /* a name needs no more space over it */
    for (int i = 0; i < REST_NUMBERS; i++) {
        int down = i / COLUMNS;
        DrawRect at = {box.x + i % COLUMNS * (width + UI_GAP), y + down * pitch, width, height};
        draw_rest_row(run, i + REST_BIN, names[i + REST_BIN], at);
    }
    y += ROWS * pitch + (run->is_big ? 0.0 : UI_GAP);
    double quarter = (box.w - (WORDS - 1) * UI_GAP) / WORDS;
    DrawRect at = {box.x, y, quarter, run->is_big ? run->row : RUN_BUTTON};
    draw_rest_word(run, REST_PROGRAM, "program", product, "sheet.program", at);
    at.x += quarter + UI_GAP;
    draw_rest_word(run, REST_GOOD, "result", "good", "good", at);
    at.x += quarter + UI_GAP;
    draw_rest_word(run, REST_FAILED, "result", "failed", "failed", at);
    at.x += quarter + UI_GAP;
    bool is_signed = run_is_signed(run);
    if (run_button(run, "rest", REST_SIGN, at,
                   run_say(run, is_signed ? "sheet.signed" : "sheet.sign"), is_signed)) {
        run_act_word(run, ACTION_SIGN, "as", "self");
    }
}

/* --- Bin and lock ---------------------------------------------------------------------------- */

static void count_now(const Run *run, const char *what)
{
    LogLine action = log_action(ACTION_COUNT, 0);
    log_set_word(&action, "what", what);
    log_set_number(&action, "said", run->view->count);
    session_do(run->session, action);
}

static void open_bin(const Run *run, SiteRole by)
{
    run_act_word(run, ACTION_OPEN_BIN, "by", site_role_words[by]);
}

/* The program that was read last: an index of the site's products; -1: none was. */
static int program_read(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_PROGRAM_READ))
            return site_find_product(run->scenario->site, log_word(&log[i - 1], "product"));
    }
    return -1;
}

/* The head's program: which it is once it was read. */
static void draw_program(const Run *run, DrawRect box)
{
    int product = program_read(run);
    Text label = {0};
    if (product >= 0) {
        text_addf(&label, "%s: %s", run_say(run, "program"),
                  site_text(run->scenario->site->products[product].name, run->ui->language));
    } else {
        text_add(&label, run_say(run, "count.program"));
    }
    if (run_button(run, "program", 0, box, label.bytes, product >= 0))
        run_act(run, ACTION_READ_PROGRAM);
    text_clear(&label);
}

/* In the order of the work: the own lock, which is a switch; the bin opened and locked; and what is
 * counted beside the counter. The head's program stands apart. */
static void draw_count(const Run *run, DrawRect box)
{
    enum { COLUMNS = 4, BUTTONS = 5, LOCK = 6 };
    static const struct {
        const char *key;
        int column;
        bool is_below;
    } places[BUTTONS] = {{"count.bin", 2, true},
                         {"count.kit", 3, true},
                         {"bin.leader", 1, false},
                         {"bin.self", 2, false},
                         {"bin.lock", 3, false}};
    double width = (box.w - (COLUMNS - 1) * UI_GAP) / COLUMNS;
    DrawRect below = {box.x, box.y + run->row + UI_GAP, box.w, box.h};
    bool is_locked = line_is_locked_off(run->player);
    int pressed = -1;
    if (run_button(run, "count", LOCK, (DrawRect){box.x, box.y, width, run->row},
                   run_say(run, is_locked ? "line.unlock" : "line.lock-off"), is_locked)) {
        run_act(run, is_locked ? ACTION_UNLOCK : ACTION_LOCK_OFF);
    }
    for (int i = 0; i < BUTTONS; i++) {
        UiButton face = {.box = {box.x + places[i].column * (width + UI_GAP),
                                 places[i].is_below ? below.y : box.y, width,
                                 places[i].is_below ? RUN_BUTTON : run->row},
                         .label = run_say(run, places[i].key),
                         .px = 16};
        if (ui_button(run->ui, ui_id("count", i), &face)) pressed = i;
    }
    draw_counter(run, below);
    below.y += RUN_BUTTON + UI_GAP;
    double half = (box.w - UI_GAP) / 2.0;
    draw_program(run, (DrawRect){box.x, below.y, half, RUN_BUTTON});
    if (run_button(run, "deeds", 0, (DrawRect){box.x + half + UI_GAP, below.y, half, RUN_BUTTON},
                   run_say(run, "more.open"), false)) {
        run->view->more = (RunMore){.is_open = true};
    }
    below.y += RUN_BUTTON + 2.0;
    double words = paper_height(run->ui, box.w, 16, true, run_say(run, "caution.reach"));
    if (below.y + words <= box.y + box.h + UI_GAP / 2.0)
        (void)paper_words(run->ui, box.x, below.y, box.w, 16, true, run_say(run, "caution.reach"));
    if (pressed == 0 || pressed == 1) count_now(run, pressed == 0 ? "bin" : "kit");
    if (pressed == 2) open_bin(run, SITE_LINE_LEADER);
    if (pressed == 3) open_bin(run, SITE_LINE_CHECKER);
    if (pressed == 4) run_act(run, ACTION_CLOSE_BIN);
}

/* --- People and holds ------------------------------------------------------------------------ */

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
    Text about = {0};
    ui_fill(run->ui, "people.tell", texts_get(run->ui->texts, "words", about_words[view->about]),
            &about);
    (void)ui_text(run->ui, middle, 16, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE, about.bytes);
    text_clear(&about);
    int pressed = draw_grid(run, "tell", (DrawRect){box.x, box.y + RUN_BUTTON + UI_GAP, box.w, 0},
                            3, labels, SITE_ROLE_COUNT - 1);
    if (pressed < 0) return;
    LogLine action = log_action(ACTION_TELL, 0);
    log_set_word(&action, "who", site_role_words[pressed + 1]);
    log_set_word(&action, "about", about_words[view->about]);
    session_do(run->session, action);
}

/* Hold or release: two switches that stand apart from what is done. */
static void draw_hold_switch(const Run *run, DrawRect box)
{
    static const char *const keys[] = {"hold.to-hold", "hold.to-release"};
    double width = (box.w - UI_GAP) / 2.0;
    for (int i = 0; i < 2; i++) {
        bool is_so = run->view->is_release == (i == 1);
        UiButton face = {.box = {box.x + i * (width + UI_GAP), box.y, width, RUN_BUTTON},
                         .label = run_say(run, keys[i]),
                         .look = is_so ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("hold-mode", i), &face)) run->view->is_release = i == 1;
    }
}

/* What is held says so. */
static void add_held(const Run *run, const char *words, bool is_held, Text *out)
{
    text_add(out, words);
    if (is_held) text_addf(out, "\n%s", run_say(run, "line.held"));
}

/* The places where there are packs, in the order in which packs go through them, and all of them;
 * the one that was pressed, -1: none. */
static int draw_hold_places(const Run *run, DrawRect box)
{
    double width = (box.w - STOCK_PLACE_COUNT * UI_GAP) / (STOCK_PLACE_COUNT + 1);
    bool is_all = true;
    int pressed = -1;
    for (int p = 0; p <= STOCK_PLACE_COUNT; p++) {
        bool is_place = p < STOCK_PLACE_COUNT;
        bool is_held = is_place ? line_is_held(run->player, p) : is_all;
        if (is_place && !line_has_stock(run->player, p)) continue;
        Text label = {0};
        is_all = is_all && is_held;
        add_held(run,
                 is_place ? texts_get(run->ui->texts, "words", scenario_stock_words[p])
                          : run_say(run, "hold.all"),
                 is_held, &label);
        DrawRect at = {box.x, box.y, width, run->row};
        UiButton face = {
            .box = at, .label = label.bytes, .look = is_held ? UI_CHOSEN : UI_PLAIN, .px = 16};
        if (ui_button(run->ui, ui_id("hold", p), &face)) pressed = p;
        text_clear(&label);
        box.x += width + UI_GAP;
    }
    return pressed;
}

static void draw_hold(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    double half = (box.w + UI_GAP) / 2.0;
    draw_hold_switch(run, box);
    box.y += RUN_BUTTON + UI_GAP;
    if (!view->is_release)
        draw_hold_time(run, 0, (DrawRect){box.x, box.y, half - UI_GAP, RUN_BUTTON});
    (void)paper_words(run->ui, box.x + (view->is_release ? 0.0 : half), box.y + 4.0,
                      view->is_release ? box.w : box.w - half, 16, true,
                      run_say(run, view->is_release ? "hold.release-what" : "hold.hold-what"));
    box.y += RUN_BUTTON + UI_GAP;
    int pressed = draw_hold_places(run, box);
    if (pressed < 0) return;
    LogLine action = log_action(view->is_release ? ACTION_RELEASE : ACTION_HOLD, 0);
    log_set_word(&action, "place",
                 pressed < STOCK_PLACE_COUNT ? scenario_stock_words[pressed] : "everything");
    if (!view->is_release) {
        char from[TIME_BYTES];
        print_hold_time(run, from);
        log_set_word(&action, "from", from);
    }
    session_do(run->session, action);
}

/* --- The whole ------------------------------------------------------------------------------- */

/* The tabs share what their words leave of the width; what the scene asks for comes first. */
static void draw_tabs(const Run *run, DrawRect box)
{
    static const struct {
        RunTab tab;
        const char *key;
    } tabs[TAB_COUNT_OF] = {{TAB_TASK, "tab.task"},   {TAB_TRAY, "tab.tray"},
                            {TAB_SHEET, "tab.sheet"}, {TAB_REST, "tab.rest"},
                            {TAB_COUNT, "tab.count"}, {TAB_PEOPLE, "tab.people"},
                            {TAB_HOLD, "tab.hold"}};
    double spare = box.w - (TAB_COUNT_OF - 1) * UI_GAP;
    for (int i = 0; i < TAB_COUNT_OF; i++) {
        spare -= ui_width(run->ui, 16, true, run_say(run, tabs[i].key));
    }
    for (int i = 0; i < TAB_COUNT_OF; i++) {
        const char *label = run_say(run, tabs[i].key);
        double width = ui_width(run->ui, 16, true, label) + spare / TAB_COUNT_OF;
        UiButton face = {.box = {box.x, box.y, width, RUN_BUTTON},
                         .label = label,
                         .look = run->view->tab == tabs[i].tab ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("tab", (int)tabs[i].tab), &face)) run->view->tab = tabs[i].tab;
        box.x += width + UI_GAP;
    }
}

void run_side(const Run *run, DrawRect box)
{
    draw_tabs(run, box);
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
        if (run->view->more.is_open)
            run_more(run, inside);
        else
            draw_count(run, inside);
        break;
    case TAB_PEOPLE:
        draw_people(run, inside);
        break;
    case TAB_HOLD:
        draw_hold(run, inside);
        break;
    case TAB_TASK:
    case TAB_COUNT_OF:
        run_task(run, inside);
        break;
    }
}
