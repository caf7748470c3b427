/* The run: its frame, its foot with the next action, and which parts are shown. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum {
    LINE_BOTTOM = 384,   /* the line's part of the canvas ends here, on a canvas 800 high */
    SPEAKS_BOTTOM = 366, /* and here beside a scene that speaks, which needs more room */
    TABLE_RIGHT = 628,
    PANEL_LEFT = 648,
    STRIP_MAX = 9,
    MARK_PITCH = 34,
    SLIM = 76,            /* the height of the line as a strip, */
    SLIM_STEP = SLIM + 8, /* and with the space under it */
    STRIP_LEFT = 676,
    PACE_LEFT = 560,
    PACE_MAX = 4,
    WORDS_LEFT = 340,
};

/* Of what a canvas is higher than 800 the line gets this part. */
#define LINE_SHARE 0.4

/* --- Header: what is checked, the time, the last passes, the stop ---------------------------- */

/* How the last passes went, as far as the person knows. */
typedef struct {
    int removed, accepted, sent;
} Passes;

/* The last passes as marks, the newest at the right; what became of them goes to *passes. In an
 * assessment nobody is told what was not watched: only that it was sent. */
static int draw_marks(const Run *run, double x, double y, Passes *passes)
{
    size_t count;
    DrawMark marks[STRIP_MAX];
    int found = 0;
    const LogLine *log = player_log(run->player, &count);
    *passes = (Passes){0};
    for (size_t i = count; i > 0 && found < STRIP_MAX; i--) {
        const LogLine *line = &log[i - 1];
        bool is_removed = log_is(line, HAPPENING_REMOVED);
        if (!is_removed && !log_is(line, HAPPENING_ACCEPTED)) continue;
        if (log_number(line, "pieces") == 0) continue;
        if (run->session->is_assessment && strcmp(log_word(line, "seen"), "yes") != 0) {
            marks[found++] = DRAW_TODO;
            passes->sent++;
            continue;
        }
        marks[found++] = is_removed ? DRAW_DONE : DRAW_ACCEPTED;
        *(is_removed ? &passes->removed : &passes->accepted) += 1;
    }
    for (int i = 0; i < found; i++) {
        draw_mark(run->ui->list, marks[i], x + 12 + MARK_PITCH * (found - 1.0 - i), y + 12, 11,
                  DRAW_INK);
    }
    return found;
}

static void print_marks(const Run *run, Passes passes, char *out, size_t bytes)
{
    int used = snprintf(out, bytes, "%d %s, %d %s", passes.removed, run_say(run, "run.removed"),
                        passes.accepted, run_say(run, "run.accepted"));
    if (passes.sent > 0 && used > 0 && (size_t)used < bytes)
        (void)snprintf(out + used, bytes - (size_t)used, ", %d %s", passes.sent,
                       run_say(run, "run.sent"));
}

static void draw_strip(const Run *run, double x, double y)
{
    char words[96];
    Passes passes;
    int found = draw_marks(run, x, y, &passes);
    print_marks(run, passes, words, sizeof words);
    if (found > 0) run_write(run, (DrawRect){x, y + 32, 310, 0}, 16, false, DRAW_SOFT, words);
}

/* Enlarged: the line as a strip, beside it the last passes and, in one line, its
 * alarms, what the head says, what the hand holds, or how the passes went. */
static void draw_slim(const Run *run, DrawRect box)
{
    Ui *ui = run->ui;
    double width = fmax(STRIP_MAX * MARK_PITCH, 2.6 * ui->text_percent);
    double line = draw_line_height(ui_px(ui, 16));
    const SitePiece *held = run_in_hand(run);
    char words[96];
    Passes passes;
    DrawRect under = {box.x + box.w - width, box.y + box.h - line - 2.0, width, line};
    line_strip(ui, run->player, (DrawRect){box.x, box.y, box.w - width - 2 * UI_GAP, box.h - 4.0},
               run->view, run->session->is_calm);
    int found = draw_marks(run, under.x, box.y, &passes);
    print_marks(run, passes, words, sizeof words);
    Text alarms = {0};
    if (line_add_alarms(ui, run->player, &alarms)) {
        words[0] = '\0';
    } else if (line_has_found(run->player, run->view)) {
        (void)snprintf(words, sizeof words, "%s", run_say(run, "line.found"));
    } else if (held != NULL) {
        run_piece_name(run, held, words, sizeof words);
        run_draw_hand(run, under.x + 4.0, under.y + line / 2.0 - 18.0, 0.6);
        under.x += 36.0;
        under.w -= 36.0;
    } else if (found == 0) {
        words[0] = '\0';
    }
    paper_line(ui, under, &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START},
               alarms.len > 0 ? alarms.bytes : words);
    text_clear(&alarms);
    DrawPoint rule[] = {{0, box.y + box.h + 4.0}, {ui->width, box.y + box.h + 4.0}};
    draw_line(ui->list, rule, 2, DRAW_INK, 2);
}

/* The strip at the top of `box`; returns what is left of it. */
static DrawRect put_slim(const Run *run, DrawRect box)
{
    draw_slim(run, (DrawRect){box.x, box.y - 4.0, box.w, SLIM});
    return (DrawRect){box.x, box.y + SLIM_STEP, box.w, box.h - SLIM_STEP};
}

static void draw_pace(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    char pace[16];
    Text label = {0};
    (void)snprintf(pace, sizeof pace, "%d\xC3\x97", view->pace);
    ui_fill(run->ui, "run.pace", pace, &label);
    UiButton face = {
        .box = box, .label = label.bytes, .look = view->pace > 1 ? UI_CHOSEN : UI_PLAIN, .px = 16};
    if (ui_button(run->ui, ui_id("pace", 0), &face))
        view->pace = view->pace < PACE_MAX ? view->pace * 2 : 1;
    text_clear(&label);
}

/* Whether the line's time may run faster: never in an assessment. */
static bool has_pace(const Run *run)
{
    return !run->session->is_assessment && run->scene != NULL && run->view->opened_pass < 0;
}

/* Whether the line stands and can be started. The button is never where the stop or the pace was: a
 * second press in haste must not start what was just stopped. */
static bool has_start(const Run *run)
{
    return run->scene != NULL && run->view->opened_pass < 0 &&
           !line_is_running(player_line(run->player));
}

/* The start stands at the line: a press in haste on what was in the header must not reach it. */
static void draw_start(const Run *run, DrawRect line)
{
    enum { START_WIDTH = 170 };
    DrawRect room = line_room_above(run->ui, run->player, line);
    double width = fmin(START_WIDTH, room.w);
    DrawRect box = {room.x + room.w - width, room.y + room.h - RUN_BUTTON, width, RUN_BUTTON};
    if (run_button(run, "start", 0, box, run_say(run, "run.start"), false))
        run_act(run, ACTION_START);
}

/* Under the clock: what time it is, and that it waits or runs faster. */
static const char *time_key(const Run *run)
{
    if (run->view->opened_pass >= 0) return "run.waits";
    return "run.line-time";
}

/* What is checked on what, and the time; enlarged, the title takes two lines where it must, and the
 * product stands under the time. */
static void draw_titles(const Run *run)
{
    enum { LEFT = 440, LEFT_BIG = 430, STOP_BIG = 430 };
    Ui *ui = run->ui;
    char words[160];
    Text clock = {0};
    const char *title = site_text(run->scenario->title, ui->language);
    const char *product =
        site_text(run->scenario->site->products[run->scenario->product].name, ui->language);
    const char *kind =
        run_say(run, run->session->is_assessment ? "run.assessment" : "run.practice");
    texts_add_clock(run->scenario, player_now_us(run->player), &clock);
    if (run->is_big) {
        bool fits = ui_width(ui, 19, true, title) <= LEFT_BIG - UI_MARGIN - UI_GAP;
        double room = LEFT_BIG - UI_MARGIN - UI_GAP;
        double height = paper_height(ui, room, fits ? 19 : 16, true, title);
        (void)paper_words(ui, UI_MARGIN, (98.0 - height) / 2.0, room, fits ? 19 : 16, true, title);
        double small = draw_line_height(ui_px(ui, 16));
        int px = draw_line_height(ui_px(ui, 19)) + small <= 92.0 ? 19 : 16;
        double large = px == 19 ? draw_line_height(ui_px(ui, 19)) : 42.0 / 48.0 * small;
        double y = (98.0 - large - small) / 2.0;
        room = ui->width - UI_MARGIN - STOP_BIG - UI_GAP - LEFT_BIG;
        (void)paper_words(ui, LEFT_BIG, y, room, px, true, clock.bytes);
        double used = ui_width(ui, px, true, clock.bytes) + UI_GAP;
        paper_line(ui, (DrawRect){LEFT_BIG + used, y, room - used, large},
                   &(PaperInk){16, false, DRAW_SOFT, DRAW_PAPER, DRAW_START}, kind);
        paper_line(ui, (DrawRect){LEFT_BIG, y + large, room, small},
                   &(PaperInk){16, false, DRAW_SOFT, DRAW_PAPER, DRAW_START}, product);
    } else {
        (void)snprintf(words, sizeof words, "%s, %s", product, kind);
        paper_line(ui, (DrawRect){UI_MARGIN, 14, 404, 36},
                   &(PaperInk){24, true, DRAW_INK, DRAW_PAPER, DRAW_START}, title);
        run_write(run, (DrawRect){LEFT, 14, 300, 0}, 24, true, DRAW_INK, clock.bytes);
        int px = ui_width(ui, 19, false, words) <= 400.0 ? 19 : 16;
        paper_line(ui, (DrawRect){UI_MARGIN, 54, 400, draw_line_height(ui_px(ui, 19))},
                   &(PaperInk){px, false, DRAW_SOFT, DRAW_PAPER, DRAW_START}, words);
        double room = run->view->opened_pass >= 0 ? STRIP_LEFT - LEFT - UI_GAP : 116.0;
        run_write(run, (DrawRect){LEFT, 56, room, 0}, 16, false, DRAW_SOFT,
                  run_say(run, time_key(run)));
        draw_strip(run, STRIP_LEFT, 24);
    }
    text_clear(&clock);
}

static void draw_header(const Run *run)
{
    Ui *ui = run->ui;
    int px = run->is_big ? 19 : 24;
    draw_titles(run);
    bool runs = line_is_running(player_line(run->player));
    double width = run->is_big ? 430.0 : 260.0;
    UiButton stop = {.box = {ui->width - UI_MARGIN - width, 10, width, 79},
                     .label = run_say(run, runs ? "run.stop" : "run.stands"),
                     .look = UI_STOP,
                     .icon = UI_ICON_STOP,
                     .is_disabled = run->scene == NULL || !runs,
                     .px = px};
    if (ui_button(ui, ui_id("stop", 0), &stop)) run_act(run, ACTION_STOP);
    /* after the stop, which is the first that keys reach */
    if (!run->is_big && has_pace(run)) draw_pace(run, (DrawRect){PACE_LEFT, 20, 104, RUN_BUTTON});
    DrawPoint rule[] = {{0, 98}, {ui->width, 98}};
    DrawPoint foot[] = {{0, run->foot}, {ui->width, run->foot}};
    draw_line(ui->list, rule, 2, DRAW_INK, 2);
    draw_line(ui->list, foot, 2, DRAW_INK, 2);
}

/* --- The foot: back, what the hand holds, the next action ------------------------------------ */

static void leave(const Run *run)
{
    if (run->view->opened_pass >= 0) {
        run->view->opened_pass = -1;
    } else if (run->view->is_ending) {
        run->view->is_ending = false;
    } else if (run->scene == NULL) {
        session_go(run->session, PLACE_LOOK_BACK);
    } else if (!run->session->is_assessment) {
        session_go(run->session, PLACE_HOME);
    } else if (!run->view->is_leaving) {
        run->view->is_leaving = true;
    } else {
        run_act(run, ACTION_LEAVE);
        session_go(run->session, PLACE_LOOK_BACK);
    }
}

static void send_pack(const Run *run)
{
    LogLine action = log_action(ACTION_SEND, 0);
    log_set_number(&action, "pack", run->view->pack);
    log_set_number(&action, "across_um", run_pack_across_um(run));
    if (run->scenario->line->setup.lanes > 1) log_set_number(&action, "lane", run->view->lane + 1);
    session_do(run->session, action);
}

/* Where in the pack: the cell that was chosen. */
static void point(const Run *run)
{
    int64_t across_um;
    int64_t up_um;
    LogLine action = log_action(ACTION_POINT, 0);
    (void)run_point_at(run, run->view->answer, &across_um, &up_um);
    run->view->answer = -1;
    log_set_number(&action, "across_um", across_um);
    log_set_number(&action, "up_um", up_um);
    session_do(run->session, action);
}

/* A test pack is on its way to the reject device. */
static bool is_under_way(const Run *run)
{
    bool is_so = false;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        PlayerPack pack = player_pack(run->player, number);
        is_so = is_so || (pack.is_made && !pack.is_on_table && !pack.is_destroyed &&
                          (pack.on_line == LINE_ON_INFEED || pack.on_line == LINE_ON_BELT));
    }
    return is_so && line_is_running(player_line(run->player));
}

/* The last pack sent was watched once. */
static bool has_watched(const Run *run)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_WATCHING)) return true;
        if (log_is(&log[i - 1], HAPPENING_PACK_SENT)) return false;
    }
    return false;
}

/* Whatever else the hands do, the eyes leave the reject device: that is said. */
static const char *watch_key(const Run *run)
{
    if (player_is_watching(run->player)) return "run.watching";
    return is_under_way(run) && has_watched(run) ? "run.unwatched" : "run.watch";
}

/* The line calls for something else than a pack: an alarm or a jam stands, or it is locked off. */
static bool has_trouble(const Run *run)
{
    const char *alarms[SITE_FAIL_SAFE_COUNT];
    LineCounts counts = line_counts(player_line(run->player));
    return line_alarms(run->player, alarms) > 0 || counts.good_in_jam + counts.tests_in_jam > 0 ||
           line_is_locked_off(run->player);
}

/* The next action follows what is in the hand or on the table, never the check plan. */
static void draw_next(const Run *run)
{
    Ui *ui = run->ui;
    const SitePiece *held = run_in_hand(run);
    char label[128];
    if (run->view->opened_pass >= 0) {
        if (ui_next(ui, run_say(run, "run.close"))) run->view->opened_pass = -1;
    } else if (run->view->is_ending) {
        if (ui_next(ui, run_say(run, "run.end-it"))) run_act(run, ACTION_NEXT);
    } else if (run->scene == NULL) {
        if (ui_next(ui, run_say(run, "run.look-back"))) session_go(run->session, PLACE_LOOK_BACK);
    } else if (run->scene->kind == SCENE_DECIDE) {
        if (run->view->answer >= 0 && ui_next(ui, run_say(run, "run.give-answer"))) {
            const char *choice = run->scene->answers[run->view->answer].id;
            run->view->answer = -1;
            run_act_word(run, ACTION_ANSWER, "choice", choice);
        }
    } else if (run->scene->kind == SCENE_PLACE) {
        if (run->view->answer >= 0 && ui_next(ui, run_say(run, "run.give-answer"))) point(run);
    } else if (run->scene->kind == SCENE_TURN) {
        if (run->view->answer >= 0 && ui_next(ui, run_say(run, "run.give-answer"))) {
            run->view->answer = -1;
            run_act_word(run, ACTION_ANSWER, "choice", "so");
        }
    } else if (run->scene->kind == SCENE_ARRANGE) {
        if (ui_next(ui, run_say(run, "run.leave-so")))
            run_act_word(run, ACTION_ANSWER, "choice", "so");
    } else if (run->scene->given_count > 0) {
        if (ui_next(ui, run_say(run, "run.leave-so"))) run_act(run, ACTION_NEXT);
    } else if (run->scene->kind == SCENE_TELL) {
        if (ui_next(ui, run_say(run, "run.go-on"))) run_act(run, ACTION_NEXT);
    } else if (held != NULL && run_pack_is_open(run)) {
        (void)snprintf(label, sizeof label, "%s: %s", run_say(run, "run.lay-it"),
                       texts_get(ui->texts, "words", site_spot_words[run->view->spot]));
        if (ui_next(ui, label)) run_place_at_spot(run, held);
    } else if (held != NULL) {
        if (ui_next(ui, run_say(run, "run.put-back")))
            run_act_word(run, ACTION_PUT_BACK, "piece", held->id);
    } else if (run_pack_is_open(run)) {
        if (ui_next(ui, run_say(run, "run.send"))) send_pack(run);
    } else if (run_next_pack(run) == 1 && run->scene->kind == SCENE_PASS) {
        const char *make = run_say(run, "pack.make");
        if (has_trouble(run) ? ui_next_plain(ui, make) : ui_next(ui, make)) run_make_pack(run);
    } else if (!run->session->is_assessment && is_under_way(run)) {
        if (ui_next(ui, run_say(run, watch_key(run)))) run_act(run, ACTION_WATCH);
    }
}

/* In an assessment nothing calls for the eyes: to watch is one action among others. */
static void draw_watch(const Run *run, DrawRect box)
{
    UiButton watch = {.box = box,
                      .label = run_say(run, watch_key(run)),
                      .look = player_is_watching(run->player) ? UI_CHOSEN : UI_PLAIN,
                      .px = 16};
    if (ui_button(run->ui, ui_id("watch", 0), &watch)) run_act(run, ACTION_WATCH);
}

/* What the hand holds, or the pointer carries, in words beside the hand. */
static void draw_held(const Run *run, const SitePiece *held, DrawRect box)
{
    char piece[96];
    char name[192];
    run_piece_name(run, held, piece, sizeof piece);
    (void)snprintf(name, sizeof name, "%s, %s", piece, held->id);
    run_draw_hand(run, box.x + 4, box.y + 16, 1.0);
    run_write(run, (DrawRect){box.x + 62, box.y, box.w - 62, 0}, 16, false, DRAW_SOFT,
              run_say(run, "run.in-hand"));
    int px = ui_width(run->ui, 24, true, name) <= box.w - 62 ? 24 : 19;
    paper_line(run->ui, (DrawRect){box.x + 62, box.y + 26, box.w - 62, 36},
               &(PaperInk){px, true, DRAW_INK, DRAW_PAPER, DRAW_START}, name);
}

/* Between the ways back and the next action: the hand, a notice, or the last pass and the button
 * that opens it up. */
static void draw_foot_words(const Run *run, DrawRect box)
{
    const SitePiece *held = run_in_hand(run);
    if (run->dragged >= 0) held = player_piece(run->player, run->dragged).piece;
    if (held != NULL) {
        draw_held(run, held, box);
    } else if (run->session->notice.len > 0) {
        run_write(run, box, 16, true, DRAW_INK, run->session->notice.bytes);
    } else if (run->view->opened_pass < 0) {
        if (run_can_open(run)) {
            DrawRect open = ui_foot_box(run->ui, box.x, 132);
            if (run_button(run, "open", 0, open, run_say(run, "run.open"), false)) run_open(run);
            box.x += 132 + UI_GAP;
            box.w -= 132 + UI_GAP;
            run_tell_last_pass(run, box);
        }
    }
}

/* Hands are at work; a record that was given is a question. */
static bool works(const Run *run)
{
    return run->scene->kind == SCENE_PASS ||
           (run->scene->kind == SCENE_WRITE && run->scene->given_count == 0);
}

/* Where the next action begins, or the margin where there is none. */
static double next_left(const Run *run)
{
    const DrawList *list = run->ui->list;
    for (size_t i = list->target_count; i > 0; i--) {
        if (list->targets[i - 1].id == ui_id("next", 0)) return list->targets[i - 1].box.x;
    }
    return run->ui->width - UI_MARGIN;
}

/* End this part of the run. An assessment asks once, and what then ends it is not where the first
 * press was: a second one in haste takes it back. */
static void draw_done(const Run *run, DrawRect box)
{
    bool *is_ending = &run->view->is_ending;
    UiButton done = {.box = box,
                     .label = run_say(run, *is_ending ? "run.stay" : "run.done"),
                     .look = *is_ending ? UI_CHOSEN : UI_PLAIN,
                     .px = 16};
    if (!ui_button(run->ui, ui_id("done", 0), &done)) return;
    if (run->session->is_assessment)
        *is_ending = !*is_ending;
    else
        run_act(run, ACTION_NEXT);
}

/* Enlarged, a question has the whole page: the sheet and the line are one press away each. */
static void draw_ask_turn(const Run *run, DrawRect box)
{
    static const char *const keys[] = {"page.see-sheet", "page.see-line", "page.see-question"};
    UiButton turn = {.box = box, .label = run_say(run, keys[run->view->ask_page]), .px = 16};
    if (ui_button(run->ui, ui_id("ask-page", 0), &turn))
        run->view->ask_page = (run->view->ask_page + 1) % 3;
}

static const char *back_key(const Run *run)
{
    if (run->view->opened_pass >= 0 || run->scene == NULL || run->view->is_ending)
        return "run.back";
    return run->view->is_leaving ? "run.break-off" : "run.leave";
}

static void draw_foot(const Run *run)
{
    double width = 1.48 * run->ui->text_percent;
    double x = UI_MARGIN + 1.32 * run->ui->text_percent + UI_GAP;
    bool is_in_scene = run->scene != NULL && run->view->opened_pass < 0;
    if (ui_back(run->ui, run_say(run, back_key(run)))) leave(run);
    if (is_in_scene && works(run)) {
        draw_done(run, ui_foot_box(run->ui, x, width));
        x += width + UI_GAP;
        if (run->session->is_assessment && !run->is_big) {
            draw_watch(run, ui_foot_box(run->ui, x, width));
            x += width + UI_GAP;
        }
    } else if (is_in_scene && run->is_big && run->scene->kind != SCENE_TELL) {
        draw_ask_turn(run, ui_foot_box(run->ui, x, width));
    }
    draw_next(run);
    if (run->is_big) return;
    x = fmax(x + UI_GAP, WORDS_LEFT);
    draw_foot_words(run, (DrawRect){x, run->foot + 14.0, next_left(run) - UI_GAP - x, 0});
}

/* --- The place -------------------------------------------------------------------------------- */

/* The line, and under it the buttons that have no room in an enlarged frame. */
static void draw_line_page(const Run *run, DrawRect box)
{
    double width = (box.w - UI_GAP) / 2.0;
    if (has_pace(run)) {
        box.h -= run->row + UI_GAP;
        DrawRect at = {box.x, box.y + box.h + UI_GAP, width, run->row};
        draw_pace(run, at);
        at.x += width + UI_GAP;
        if (run_can_open(run) &&
            run_button(run, "open", 0, at, run_say(run, "run.open-last"), false)) {
            run_open(run);
        }
    }
    line_view(run->ui, run->player, box, run->view, run->session->is_calm);
}

/* What is to be done at the line from any page: start it while it stands, else watch, where that is
 * no next action. */
static const char *at_line_key(const Run *run)
{
    if (has_start(run)) return "run.start";
    return run->session->is_assessment ? watch_key(run) : NULL;
}

/* The pages share what their words leave of the row; what is done at the line stands apart. */
static void draw_page_row(const Run *run)
{
    enum { PAGES = 3, APART = 24 };
    static const char *const keys[PAGES] = {"page.table", "page.side", "page.line"};
    Ui *ui = run->ui;
    const char *act = at_line_key(run);
    double act_width = act == NULL ? 0.0 : ui_width(ui, 16, true, run_say(run, act)) + 40.0;
    double spare = ui->width - 2 * UI_MARGIN - (PAGES - 1) * UI_GAP;
    if (act != NULL) spare -= act_width + APART;
    for (int i = 0; i < PAGES; i++) {
        spare -= ui_width(ui, 16, true, run_say(run, keys[i]));
    }
    double x = UI_MARGIN;
    for (int i = 0; i < PAGES; i++) {
        double width = ui_width(ui, 16, true, run_say(run, keys[i])) + spare / PAGES;
        if (run_button(run, "page", i, (DrawRect){x, 104, width, RUN_BUTTON}, run_say(run, keys[i]),
                       run->view->page == i)) {
            run->view->page = i;
        }
        x += width + UI_GAP;
    }
    DrawRect at = {ui->width - UI_MARGIN - act_width, 104, act_width, RUN_BUTTON};
    if (has_start(run)) {
        if (run_button(run, "start", 0, at, run_say(run, act), false)) run_act(run, ACTION_START);
    } else if (act != NULL) {
        draw_watch(run, at);
    }
}

/* A scene that speaks: what it asks, the sheet, or the line. */
static void draw_ask_page(const Run *run, DrawRect box)
{
    if (run->view->ask_page == 1) {
        run_sheet_as_is(run, box);
    } else if (run->view->ask_page == 2) {
        draw_line_page(run, box);
    } else {
        if (run_scene_height(run, box.w) + SLIM_STEP <= box.h) box = put_slim(run, box);
        run_scene(run, box);
    }
}

/* Enlarged text: one page at a time under the same header and foot; a scene that speaks and a pass
 * that is opened up have it all. */
static void draw_pages(const Run *run)
{
    DrawRect box = {UI_MARGIN, 104, run->ui->width - 2 * UI_MARGIN, run->foot - UI_GAP - 104};
    if (run->view->opened_pass >= 0) {
        run_pass(run, box);
        return;
    }
    if (!works(run)) {
        draw_ask_page(run, box);
        return;
    }
    draw_page_row(run);
    box.y += RUN_BUTTON + UI_GAP;
    box.h -= RUN_BUTTON + UI_GAP;
    if (run->view->page == 2) {
        draw_line_page(run, box);
        return;
    }
    box = put_slim(run, box);
    if (run->view->page == 1)
        run_side(run, box);
    else
        run_table(run, box);
}

/* The line above; below it the table and the right side, or what a scene says, or a pass. */
static void draw_halves(const Run *run)
{
    Ui *ui = run->ui;
    bool is_open = run->view->opened_pass >= 0;
    bool speaks = run->scene != NULL && !works(run) && run->scene->kind != SCENE_TELL;
    double bottom =
        (is_open || speaks ? SPEAKS_BOTTOM : LINE_BOTTOM) + LINE_SHARE * (ui->height - 800.0);
    DrawRect line = {0, 100, ui->width, bottom - 100};
    line_view(ui, run->player, line, run->view, run->session->is_calm);
    if (has_start(run)) draw_start(run, line);
    DrawPoint rule[] = {{0, bottom}, {ui->width, bottom}};
    draw_line(ui->list, rule, 2, DRAW_INK, 2);
    double top = bottom + 8;
    if (run->scene == NULL && !is_open) {
        run_write(run, (DrawRect){UI_MARGIN, top, ui->width - 2 * UI_MARGIN, 0}, 24, true, DRAW_INK,
                  run_say(run, "run.over"));
        return;
    }
    double right = ui->width - UI_MARGIN - PANEL_LEFT;
    DrawRect box = {UI_MARGIN, top, ui->width - 2 * UI_MARGIN, run->foot - UI_GAP - top};
    if (is_open) {
        run_pass(run, box);
    } else if (works(run)) {
        run_table(run, (DrawRect){box.x, top, TABLE_RIGHT - UI_MARGIN, box.h});
        run_side(run, (DrawRect){PANEL_LEFT, top, right, box.h});
    } else {
        run_scene(run, box);
    }
}

void place_run(Ui *ui, Session *session)
{
    RunRoom room = {0};
    Run run = {.ui = ui,
               .session = session,
               .view = &session->view,
               .player = app_run_player(session->run),
               .room = &room,
               .foot = ui_foot_y(ui),
               .is_big = ui->text_percent > 100,
               .row = fmax(RUN_BUTTON, 2.0 * draw_line_height(ui_px(ui, 16)) + 8.0)};
    run.scenario = player_setup(run.player)->scenario;
    int scene = player_scene(run.player);
    bool over = player_has_ended(run.player);
    run.scene = over ? NULL : &run.scenario->scenes[scene];
    run.dragged = run_dragged(&run);
    if (scene != session->view.ask_scene) {
        session->view.ask_scene = scene;
        session->view.ask_page = 0;
        session->view.task_page = 0;
        session->view.is_ending = false;
    }
    draw_header(&run);
    if (run.is_big && (run.scene != NULL || run.view->opened_pass >= 0))
        draw_pages(&run);
    else
        draw_halves(&run);
    draw_foot(&run);
    run_drag(&run);
}
