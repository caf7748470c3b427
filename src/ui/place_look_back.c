/* The look back: the run as a time line, the line as it was at a chosen moment, and what was
 * looked for with what shows it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ui/paper.h"
#include "ui/pass.h"
#include "ui/session.h"

enum { LEFT_WIDTH = 544, LINE_HEIGHT = 190, AXIS_LEFT = 132, US_PER_S = 1000000, LABELS_MAX = 11 };
enum { GROUPS_MAX = 64, MARK_GAP = 4, TICK_GAP = 5 };
enum { TAB_TIME, TAB_LINE, TAB_STEPS, TAB_WHY };

/* What every part of the place needs. */
typedef struct {
    Ui *ui;
    Session *session;
    LookBack *look;
    const Scenario *scenario;
    const LogLine *log;
    size_t count;
    Score score;
    int order[SCENARIO_RUBRIC_MAX]; /* of the rubric: what was missed comes first */
    double top, bottom;             /* of the content */
    bool is_paged;                  /* the text is enlarged: one part at a time */
} LookView;

/* --- Moments --------------------------------------------------------------------------------- */

/* A log line that people have a sentence for. */
static bool is_moment(const LookView *view, size_t at)
{
    Text words = {0};
    bool told = texts_tell(view->ui->texts, view->scenario, &view->log[at], &words);
    text_clear(&words);
    return told;
}

/* A later moment is reached from the one that is shown; an earlier one from the run's beginning. */
static void choose(const LookView *view, size_t at)
{
    LookBack *look = view->look;
    if (at < look->chosen) {
        player_free(look->then);
        look->then = NULL;
    }
    look->chosen = at;
}

/* The next moment in one direction, if there is one. */
static void step(const LookView *view, int way)
{
    size_t at = view->look->chosen;
    while (way > 0 ? at + 1 < view->count : at > 0) {
        at = way > 0 ? at + 1 : at - 1;
        if (!is_moment(view, at)) continue;
        choose(view, at);
        return;
    }
}

static void choose_time(const LookView *view, int64_t time_us)
{
    size_t best = view->look->chosen;
    int64_t far = INT64_MAX;
    for (size_t i = 0; i < view->count; i++) {
        int64_t away = llabs(view->log[i].time_us - time_us);
        if (away >= far || !is_moment(view, i)) continue;
        best = i;
        far = away;
    }
    choose(view, best);
}

static void choose_rubric(const LookView *view, int line)
{
    const ScoreFinding *finding = &view->score.lines[line].finding;
    view->look->rubric = line;
    if (finding->evidence_count > 0) choose(view, finding->evidence[0]);
}

/* Missed critical lines, then other missed ones, then what was put right, then what was met. */
static int rank(const ScoreLine *line)
{
    if (line->finding.state == SCORE_MISSED) return line->line->critical != 0 ? 0 : 1;
    return line->finding.state == SCORE_RECOVERED ? 2 : 3;
}

static void put_in_order(LookView *view)
{
    int used = 0;
    for (int wanted = 0; wanted <= 3; wanted++) {
        for (int i = 0; i < view->score.line_count; i++) {
            if (rank(&view->score.lines[i]) == wanted) view->order[used++] = i;
        }
    }
}

/* The run played again from its actions, up to the chosen line. What was played again so far has
 * the run's own log, so its length tells which actions are still to be done. */
static void play_again(const LookView *view)
{
    LookBack *look = view->look;
    Err err = {0};
    const PlayerSetup *setup = player_setup(app_run_player(view->session->run));
    if (look->then == NULL) {
        CHECK(player_new(setup, &look->then, &err)); /* the run itself began with it */
    }
    size_t done;
    (void)player_log(look->then, &done);
    for (size_t i = done; i <= look->chosen && i < view->count; i++) {
        if (view->log[i].is_action) (void)player_do(look->then, &view->log[i]);
    }
    int64_t time_us = view->log[look->chosen].time_us;
    if (!player_has_ended(look->then) && time_us > player_now_us(look->then))
        player_advance(look->then, time_us);
}

/* --- The time line --------------------------------------------------------------------------- */

typedef struct {
    double x0, x1, y; /* the axis */
    int64_t end_us;
} Axis;

static double x_of(const Axis *axis, int64_t time_us)
{
    return axis->x0 + (axis->x1 - axis->x0) * (double)time_us / (double)axis->end_us;
}

/* The minutes, as many as have room; the chosen moment's own label stands instead of those it
 * meets. */
static void draw_minutes(const LookView *view, const Axis *axis, double chosen_x)
{
    Ui *ui = view->ui;
    DrawList *list = ui->list;
    double height = draw_line_height(ui_px(ui, 16));
    double width = ui_width(ui, 16, true, "00:00:00") + 4.0;
    DrawPoint line[] = {{axis->x0, axis->y}, {axis->x1, axis->y}};
    draw_line(list, line, 2, DRAW_INK, 2);
    int64_t minutes = axis->end_us / (INT64_C(60) * US_PER_S);
    int64_t most = (int64_t)((axis->x1 - axis->x0) / (width + 16.0));
    int64_t every = 1;
    while (most > 0 && minutes / every > (most < LABELS_MAX ? most : LABELS_MAX)) {
        every++;
    }
    for (int64_t m = 0; m <= minutes; m += every) {
        double x = x_of(axis, m * 60 * US_PER_S);
        DrawPoint tick[] = {{x, axis->y}, {x, axis->y + 7}};
        draw_line(list, tick, 2, DRAW_INK, 2);
        if (fabs(x - chosen_x) < width + 6.0) continue;
        Text clock = {0};
        texts_add_clock(view->scenario, m * 60 * US_PER_S, &clock);
        clock.bytes[5] = '\0'; /* without its seconds */
        double left = fmin(x - width / 2, ui->width - UI_MARGIN - width);
        (void)ui_text(ui, (DrawRect){left, axis->y + 8, width, height}, 16, false, DRAW_SOFT,
                      DRAW_PAPER, DRAW_MIDDLE, clock.bytes);
        text_clear(&clock);
    }
}

/* What the line did with a pack that had a piece in it, or that it stopped; false: something else.
 * */
static bool line_mark(const LogLine *line, DrawMark *mark)
{
    bool removed = log_is(line, HAPPENING_REMOVED) && log_number(line, "pack") != 0;
    if ((removed || log_is(line, HAPPENING_ACCEPTED)) && log_number(line, "pieces") > 0) {
        *mark = removed ? DRAW_DONE : DRAW_ACCEPTED;
        return true;
    }
    *mark = DRAW_BAR;
    return log_is(line, HAPPENING_LINE_STOPPED);
}

/* How often, beside each mark, in the heading's row from the right. */
static void draw_counts(const LookView *view, double y)
{
    static const struct {
        DrawMark mark;
        const char *key;
    } rows[] = {
        {DRAW_BAR, "back.stopped"}, {DRAW_ACCEPTED, "run.accepted"}, {DRAW_DONE, "run.removed"}};
    Ui *ui = view->ui;
    double r = 0.07 * ui->text_percent;
    double x = ui->width - UI_MARGIN;
    double height = draw_line_height(ui_px(ui, 24));
    for (int i = 0; i < 3; i++) {
        int count = 0;
        DrawMark mark;
        char words[96];
        for (size_t at = 0; at < view->count; at++) {
            count += line_mark(&view->log[at], &mark) && mark == rows[i].mark;
        }
        (void)snprintf(words, sizeof words, "%s: %d", ui_say(ui, rows[i].key), count);
        double width = ui_width(ui, 16, false, words) + 2.0;
        x -= width;
        paper_line(ui, (DrawRect){x, y, width, height},
                   &(PaperInk){16, false, DRAW_INK, DRAW_PAPER, DRAW_START}, words);
        x -= r + 8;
        draw_mark(ui->list, rows[i].mark, x, y + height / 2, r, DRAW_INK);
        x -= r + 24;
    }
}

/* Marks of one kind that stand for one another where there is no room for each. */
typedef struct {
    DrawMark mark;
    int count;
    double x;           /* when, on the axis */
    double left, width; /* where it is drawn, its count with it */
} Group;

static double group_width(const LookView *view, const Group *group)
{
    char count[16];
    double mark = 0.14 * view->ui->text_percent;
    if (group->count == 1) return mark;
    (void)snprintf(count, sizeof count, "%d", group->count);
    return mark + 4.0 + ui_width(view->ui, 16, false, count) + 2.0;
}

/* Leave one group out: of two neighbours of a kind, those nearest to one another become one; where
 * no two are of a kind the first goes. */
static int merge_groups(const LookView *view, Group *groups, int count)
{
    int at = -1;
    for (int i = 1; i < count; i++) {
        if (groups[i].mark != groups[i - 1].mark) continue;
        if (at < 0 || groups[i].x - groups[i - 1].x < groups[at].x - groups[at - 1].x) at = i;
    }
    if (at > 0) {
        groups[at - 1].count += groups[at].count;
        groups[at - 1].width = group_width(view, &groups[at - 1]);
    } else {
        at = 0;
    }
    memmove(&groups[at], &groups[at + 1], (size_t)(count - at - 1) * sizeof *groups);
    return count - 1;
}

/* What the line did, in as many groups as have room on the axis. */
static int find_groups(const LookView *view, const Axis *axis, Group groups[GROUPS_MAX])
{
    int count = 0;
    double room = axis->x1 - axis->x0;
    for (size_t i = 0; i < view->count; i++) {
        DrawMark mark;
        if (!line_mark(&view->log[i], &mark)) continue;
        if (count == GROUPS_MAX) count = merge_groups(view, groups, count);
        Group *group = &groups[count++];
        *group = (Group){.mark = mark, .count = 1, .x = x_of(axis, view->log[i].time_us)};
        group->width = group_width(view, group);
    }
    for (double used = room + 1.0; used > room;) {
        used = 0.0;
        for (int i = 0; i < count; i++) {
            used += groups[i].width + MARK_GAP;
        }
        if (used > room) count = merge_groups(view, groups, count);
    }
    return count;
}

/* What the line did with packs that had a piece in them, and when it stood: each mark where it
 * belongs or as near to it as those before and after it let it be. */
static void draw_line_row(const LookView *view, const Axis *axis, double y)
{
    Ui *ui = view->ui;
    Group groups[GROUPS_MAX];
    double r = 0.07 * ui->text_percent;
    double line = draw_line_height(ui_px(ui, 16));
    int count = find_groups(view, axis, groups);
    double free = axis->x0 - r;
    for (int i = 0; i < count; i++) {
        groups[i].left = fmax(groups[i].x - r, free);
        free = groups[i].left + groups[i].width + MARK_GAP;
    }
    free = axis->x1 + r;
    for (int i = count - 1; i >= 0; i--) {
        groups[i].left = fmin(groups[i].left, free - groups[i].width);
        free = groups[i].left - MARK_GAP;
    }
    for (int i = 0; i < count; i++) {
        char words[16];
        const Group *group = &groups[i];
        draw_mark(ui->list, group->mark, group->left + r, y, r, DRAW_INK);
        if (group->count == 1) continue;
        (void)snprintf(words, sizeof words, "%d", group->count);
        double x = group->left + 2.0 * r + 4.0;
        paper_line(ui, (DrawRect){x, y - line / 2.0, group->left + group->width - x, line},
                   &(PaperInk){16, false, DRAW_INK, DRAW_PAPER, DRAW_START}, words);
    }
}

static void draw_tick(const Axis *axis, double x, DrawList *list, DrawRole role, double px)
{
    DrawPoint tick[] = {{x, axis->y - 22}, {x, axis->y}};
    draw_line(list, tick, 2, role, px);
}

/* What the person did, the moments that show the chosen rubric line, and the chosen moment; ticks
 * that would meet are one, and so are crosses. */
static void draw_your_row(const LookView *view, const Axis *axis, double marks_y)
{
    DrawList *list = view->ui->list;
    const ScoreLine *line = &view->score.lines[view->look->rubric];
    double chosen_x = x_of(axis, view->log[view->look->chosen].time_us);
    double r = 0.07 * view->ui->text_percent;
    double last = -HUGE_VAL;
    for (size_t i = 0; i < view->count; i++) {
        double x = x_of(axis, view->log[i].time_us);
        if (!view->log[i].is_action || x < last + TICK_GAP) continue;
        draw_tick(axis, x, list, DRAW_INK, 2);
        last = x;
    }
    last = -HUGE_VAL;
    for (int i = 0; i < line->finding.evidence_count; i++) {
        double x = x_of(axis, view->log[line->finding.evidence[i]].time_us);
        draw_tick(axis, x, list, DRAW_ACCENT, 4);
        if (line->finding.state != SCORE_MISSED || fabs(x - last) < 2.0 * r + MARK_GAP) continue;
        draw_mark(list, DRAW_MISSED, x, marks_y, r, DRAW_ACCENT);
        last = x;
    }
    DrawPoint now[] = {{chosen_x, axis->y - 22}, {chosen_x, axis->y + 8}};
    draw_line(list, now, 2, DRAW_ACCENT, 4);
}

/* The whole time line from `y` on; returns where it ends. */
static double draw_time(const LookView *view, double y)
{
    Ui *ui = view->ui;
    double unit = 0.01 * ui->text_percent;
    double height = draw_line_height(ui_px(ui, 16));
    double left = fmax(ui_width(ui, 16, true, ui_say(ui, "back.the-line")),
                       ui_width(ui, 16, true, ui_say(ui, "back.you")));
    double label = ui_width(ui, 16, true, "00:00:00") + 4.0;
    Axis axis = {.x0 = fmax(AXIS_LEFT, UI_MARGIN + left + label / 2.0),
                 .x1 = ui->width - 64,
                 .y = y + 2 * height + 20,
                 .end_us = view->log[view->count - 1].time_us};
    if (axis.end_us < US_PER_S) axis.end_us = US_PER_S;
    double chosen_x = x_of(&axis, view->log[view->look->chosen].time_us);
    Text clock = {0};
    texts_add_clock(view->scenario, view->log[view->look->chosen].time_us, &clock);
    (void)paper_words(ui, UI_MARGIN, y, left + 4, 16, true, ui_say(ui, "back.the-line"));
    (void)paper_words(ui, UI_MARGIN, axis.y - height, left + 4, 16, true, ui_say(ui, "back.you"));
    draw_minutes(view, &axis, chosen_x);
    draw_line_row(view, &axis, y + height / 2);
    draw_your_row(view, &axis, y + height + 4 * unit);
    DrawRect at = {fmin(chosen_x - label / 2, ui->width - UI_MARGIN - label), axis.y + 8, label, 0};
    (void)ui_text(ui, at, 16, true, DRAW_INK, DRAW_PAPER, DRAW_MIDDLE, clock.bytes);
    text_clear(&clock);
    DrawRect area = {axis.x0 - 8, y, axis.x1 - axis.x0 + 16, axis.y + 8 - y};
    uint32_t id = ui_id("time", 0);
    if (ui_key(ui, id, UI_KEY_LEFT)) step(view, -1);
    if (ui_key(ui, id, UI_KEY_RIGHT)) step(view, 1);
    if (ui_area(ui, id, area, 59) && ui->event->kind == UI_UP) {
        double part = (ui->event->x - axis.x0) / (axis.x1 - axis.x0);
        choose_time(view, (int64_t)(fmin(fmax(part, 0.0), 1.0) * (double)axis.end_us));
    }
    return axis.y + 8 + height;
}

/* --- The line then --------------------------------------------------------------------------- */

/* When, and what happened at that moment, in words; smaller where they take more than one line, and
 * no higher than the box. Returns their height. */
static double tell_moment(const LookView *view, DrawRect box)
{
    Ui *ui = view->ui;
    const LogLine *line = &view->log[view->look->chosen];
    Text words = {0};
    texts_add_clock(view->scenario, line->time_us, &words);
    text_add(&words, " ");
    if (!texts_tell(ui->texts, view->scenario, line, &words)) log_print(line, &words);
    double one = draw_line_height(ui_px(ui, 19));
    int px = paper_height(ui, box.w, 19, true, words.bytes) <= one + 1.0 ? 19 : 16;
    double height = paper_height(ui, box.w, px, true, words.bytes);
    if (height <= box.h) {
        (void)paper_words(ui, box.x, box.y, box.w, px, true, words.bytes);
    } else {
        height = draw_line_height(ui_px(ui, px));
        paper_line(ui, (DrawRect){box.x, box.y, box.w, height},
                   &(PaperInk){px, true, DRAW_INK, DRAW_PAPER, DRAW_START}, words.bytes);
    }
    text_clear(&words);
    return height;
}

static void draw_then(const LookView *view, DrawRect box)
{
    play_again(view);
    line_view(view->ui, view->look->then, box, NULL, false);
}

/* The pass that the chosen moment belongs to: of its pack, the head's last judgement up to then,
 * else its next; of another moment the last pass before it. -1: there is none. */
static int pass_of_moment(const LookView *view)
{
    int at = (int)view->look->chosen + 1;
    LogValue pack;
    bool is_number;
    if (!log_field(&view->log[at - 1], "pack", &pack, &is_number) || pack.number == 0)
        return pass_find(view->log, view->count, at, -1);
    for (int way = -1; way <= 1; way += 2) {
        int pass = pass_find(view->log, view->count, way < 0 ? at : at - 1, way);
        while (pass >= 0 && log_number(&view->log[pass], "pack") != pack.number) {
            pass = pass_find(view->log, view->count, pass, way);
        }
        if (pass >= 0) return pass;
    }
    return -1;
}

/* Just that pass on the bench. */
static void draw_to_bench(const LookView *view, DrawRect box)
{
    int at = pass_of_moment(view);
    if (at < 0 || bench_model_of(view->session) == NULL) return;
    if (!paper_choice(view->ui, ui_id("pass-bench", 0), box, ui_say(view->ui, "pass.bench"), false))
        return;
    Pass pass;
    pass_read(view->scenario, view->log, (size_t)at, &pass);
    pass_on_bench(view->session, &pass);
}

/* --- The rubric ------------------------------------------------------------------------------ */

static DrawMark mark_of(ScoreState state)
{
    static const DrawMark marks[] = {DRAW_DONE, DRAW_RECOVERED, DRAW_MISSED};
    return marks[state];
}

/* Where the parts of a rubric line stand in its row. */
typedef struct {
    double mark_x, critical_x, text_x, text_w, word_x, word_w;
} Row;

static Row row_of(const LookView *view, double x, double width, const char *word)
{
    const Ui *ui = view->ui;
    double r = 0.11 * ui->text_percent;
    Row row = {.mark_x = x + 12 + r, .critical_x = x + 24 + 2 * r};
    row.text_x = row.critical_x + ui_width(ui, 16, true, "K13 ") + 6.0;
    row.word_w = ui_width(ui, 16, true, word) + 2.0;
    row.word_x = x + width - 14 - row.word_w;
    row.text_w = row.word_x - 10 - row.text_x;
    return row;
}

static const char *state_of(const LookView *view, int at)
{
    static const char *const keys[] = {"back.met", "back.recovered", "back.missed"};
    return ui_say(view->ui, keys[view->score.lines[at].finding.state]);
}

static const char *text_of(const LookView *view, int at)
{
    return site_text(view->score.lines[at].line->text, view->ui->language);
}

/* The letters of all rubric lines: large where each takes one line; and the height of each, which
 * is that of the one with the most words. */
static int rubric_px(const LookView *view, double width)
{
    double one = draw_line_height(ui_px(view->ui, 19));
    for (int i = 0; i < view->score.line_count; i++) {
        double room = row_of(view, 0, width, state_of(view, i)).text_w;
        if (paper_height(view->ui, room, 19, true, text_of(view, i)) > one + 1.0) return 16;
    }
    return 19;
}

static double row_height(const LookView *view, double width)
{
    int px = rubric_px(view, width);
    double height = paper_row(view->ui, px, 47);
    for (int i = 0; i < view->score.line_count; i++) {
        double room = row_of(view, 0, width, state_of(view, i)).text_w;
        height = fmax(height, paper_height(view->ui, room, px, true, text_of(view, i)) + 8.0);
    }
    return height;
}

static void draw_line_of(const LookView *view, int at, DrawRect box)
{
    Ui *ui = view->ui;
    const ScoreLine *line = &view->score.lines[at];
    bool is_chosen = view->look->rubric == at;
    uint32_t id = ui_id("rubric", at);
    DrawRole letters;
    UiButton button = {.box = box, .look = is_chosen ? UI_CHOSEN : UI_PLAIN};
    if (ui_button(ui, id, &button)) choose_rubric(view, at);
    DrawRole ground = paper_face(ui, id, box, is_chosen, &letters);
    Row row = row_of(view, box.x, box.w, state_of(view, at));
    draw_mark(ui->list, mark_of(line->finding.state), row.mark_x, box.y + box.h / 2,
              0.11 * ui->text_percent, letters);
    char critical[8] = "";
    if (line->line->critical != 0)
        (void)snprintf(critical, sizeof critical, "K%d", line->line->critical);
    if (critical[0] != '\0') {
        paper_line(ui, (DrawRect){row.critical_x, box.y, row.text_x - row.critical_x, box.h},
                   &(PaperInk){16, true, letters, ground, DRAW_START}, critical);
    }
    paper_line(ui, (DrawRect){row.word_x, box.y, row.word_w, box.h},
               &(PaperInk){16, is_chosen, letters, ground, DRAW_END}, state_of(view, at));
    int px = rubric_px(view, box.w);
    double height = paper_height(ui, row.text_w, px, is_chosen, text_of(view, at));
    DrawRect words = {row.text_x, box.y + (box.h - height) / 2, row.text_w, height};
    (void)ui_text(ui, words, px, is_chosen, letters, ground, DRAW_START, text_of(view, at));
}

/* Lay the rubric out in pages that end with the box, and draw one of them; -1: none. Returns how
 * many pages there are. */
static int lay_rubric(const LookView *view, DrawRect box, int drawn)
{
    double y = box.y;
    double height = row_height(view, box.w);
    int page = 0;
    for (int i = 0; i < view->score.line_count; i++) {
        if (y > box.y && y + height > box.y + box.h) {
            page++;
            y = box.y;
        }
        if (page == drawn) draw_line_of(view, view->order[i], (DrawRect){box.x, y, box.w, height});
        y += height + UI_GAP;
    }
    return page + 1;
}

/* Its pages are turned below it, or in `turner` where that has a width. */
static void draw_rubric(const LookView *view, DrawRect box, DrawRect turner)
{
    Session *session = view->session;
    double turn = paper_row(view->ui, 19, 47);
    int pages = lay_rubric(view, box, -1);
    if (pages > 1 && turner.w == 0.0) {
        turner = (DrawRect){box.x, box.y + box.h - turn, fmin(box.w, 360), turn};
        box.h -= turn + UI_GAP;
        pages = lay_rubric(view, box, -1);
    }
    int page = session->pages.page < pages ? session->pages.page : pages - 1;
    (void)lay_rubric(view, box, page);
    paper_pages(view->ui, "rubric-page", turner, pages, &session->pages.page);
}

/* One paragraph of the reason if it still fits; `y` moves on. */
static bool add_paragraph(const LookView *view, DrawRect box, double *y, int px, bool is_bold,
                          const char *words)
{
    Ui *ui = view->ui;
    double height = paper_height(ui, box.w, px, is_bold, words);
    if (*y + height > box.y + box.h) return false;
    DrawRole ground = view->is_paged ? DRAW_PAPER : DRAW_SHEET;
    (void)ui_text(ui, (DrawRect){box.x, *y, box.w, 0}, px, is_bold, DRAW_INK, ground, DRAW_START,
                  words);
    *y += height;
    return true;
}

/* The log lines that show it: the first ones in words, as many as fit; the time line marks them
 * all. */
static void add_evidence(const LookView *view, DrawRect box, double *y)
{
    Ui *ui = view->ui;
    const ScoreFinding *finding = &view->score.lines[view->look->rubric].finding;
    double more = draw_line_height(ui_px(ui, 16));
    for (int i = 0; i < finding->evidence_count; i++) {
        const LogLine *line = &view->log[finding->evidence[i]];
        Text words = {0};
        DrawRect room = box;
        if (i + 1 < finding->evidence_count) room.h -= more;
        texts_add_clock(view->scenario, line->time_us, &words);
        text_add(&words, " ");
        if (!texts_tell(ui->texts, view->scenario, line, &words)) log_print(line, &words);
        bool fits = add_paragraph(view, room, y, 16, false, words.bytes);
        text_clear(&words);
        if (fits) continue;
        char left[16];
        (void)snprintf(left, sizeof left, "%d", finding->evidence_count - i);
        ui_fill(ui, "back.more", left, &words);
        (void)add_paragraph(view, box, y, 16, false, words.bytes);
        text_clear(&words);
        return;
    }
}

/* Why the chosen rubric line is met or not, in the trade's terms. */
static void draw_why(const LookView *view, DrawRect box)
{
    Ui *ui = view->ui;
    const ScoreLine *line = &view->score.lines[view->look->rubric];
    const ScoreFinding *finding = &line->finding;
    Text words = {0};
    if (!view->is_paged) {
        draw_rect(ui->list, (DrawRect){box.x + 2, box.y + 2, box.w - 4, box.h - 4}, DRAW_SHEET,
                  DRAW_ACCENT, 4, 6);
        box = (DrawRect){box.x + 18, box.y + 10, box.w - 36, box.h - 20};
    }
    double y = box.y;
    if (line->line->critical != 0) text_addf(&words, "K%d: ", line->line->critical);
    text_add(&words, site_text(line->line->text, ui->language));
    (void)add_paragraph(view, box, &y, 19, true, words.bytes);
    text_clear(&words);
    if (finding->state == SCORE_MET) {
        text_add(&words, ui_say(ui, "back.you-did"));
    } else {
        text_add(&words, texts_get(ui->texts, "reasons", finding->reason));
    }
    (void)add_paragraph(view, box, &y, 16, false, words.bytes);
    text_clear(&words);
    if (finding->about[0] != '\0') {
        texts_add_about(ui->texts, view->scenario, finding, view->log, &words);
        (void)add_paragraph(view, box, &y, 16, true, words.bytes);
        text_clear(&words);
    }
    const char *why = site_text(line->line->why, ui->language);
    if (why[0] != '\0') (void)add_paragraph(view, box, &y, 16, false, why);
    add_evidence(view, box, &y);
}

/* --- The whole ------------------------------------------------------------------------------- */

/* Why it is competent or not, in a few words. */
static void add_reason(const LookView *view, Text *out)
{
    const Score *score = &view->score;
    char number[48];
    char key[64];
    if (score->reason == SCORE_CRITICAL_MISSED)
        (void)snprintf(number, sizeof number, "%d", score->critical_missed);
    else
        (void)snprintf(number, sizeof number, "%lld / %lld", (long long)score->points,
                       (long long)score->points_max);
    (void)snprintf(key, sizeof key, "back.%s", score_reason_word(score->reason));
    ui_fill(view->ui, key, number, out);
}

/* The verdict at the header's right; where the text is enlarged its mark alone, its word is under
 * the title. */
static void draw_verdict(const LookView *view, const char *verdict)
{
    Ui *ui = view->ui;
    double unit = 0.01 * ui->text_percent;
    double height = draw_line_height(ui_px(ui, 24));
    double x = view->is_paged ? ui->width - UI_MARGIN - 13 * unit : 0.7 * ui->width + 13 * unit;
    draw_mark(ui->list, view->score.competent ? DRAW_DONE : DRAW_TODO, x, 10 + height / 2,
              12 * unit, DRAW_INK);
    if (view->is_paged) return;
    Text words = {0};
    double width = ui->width - UI_MARGIN - x - 26;
    add_reason(view, &words);
    paper_line(ui, (DrawRect){x + 26, 10, width, height},
               &(PaperInk){24, true, DRAW_INK, DRAW_PAPER, DRAW_START}, verdict);
    paper_line(ui, (DrawRect){x + 26, 10 + height, width, draw_line_height(16)},
               &(PaperInk){16, false, DRAW_INK, DRAW_PAPER, DRAW_START}, words.bytes);
    text_clear(&words);
}

static void draw_header(const LookView *view)
{
    Ui *ui = view->ui;
    const Session *session = view->session;
    /* Practice has no verdict: nobody shall take it for a sign-off. */
    const char *verdict =
        session->is_assessment
            ? texts_get(ui->texts, "verdicts", score_verdict(&view->score))
            : ui_say(ui, view->score.competent ? "back.practice-met" : "back.practice-missed");
    Text title = {0};
    Text under = {0};
    ui_fill(ui, "back.title", site_text(view->scenario->title, ui->language), &title);
    if (view->is_paged) {
        text_add(&under, verdict);
    } else {
        text_addf(&under, "%s. %s, ", session->people[session->chosen_person].name,
                  ui_say(ui, session->is_assessment ? "home.assessment" : "home.practice"));
        texts_add_clock(view->scenario, 0, &under);
        text_add(&under, "\xE2\x80\x93");
        texts_add_clock(view->scenario, view->log[view->count - 1].time_us, &under);
    }
    ui_header(ui, title.bytes, under.bytes);
    draw_verdict(view, verdict);
    text_clear(&title);
    text_clear(&under);
}

/* Two buttons to step through the moments. */
static void draw_steps(const LookView *view, DrawRect first)
{
    Ui *ui = view->ui;
    DrawRect second = first;
    second.x += first.w + UI_GAP;
    if (paper_choice(ui, ui_id("step", 0), first, ui_say(ui, "back.earlier"), false))
        step(view, -1);
    if (paper_choice(ui, ui_id("step", 1), second, ui_say(ui, "back.later"), false)) step(view, 1);
}

static void draw_columns(const LookView *view)
{
    Ui *ui = view->ui;
    double y = view->top;
    double left = LEFT_WIDTH + 0.5 * (ui->width - 1280.0);
    double x = UI_MARGIN + left + 40;
    double width = ui->width - UI_MARGIN - x;
    draw_counts(view, y);
    y += paper_heading(ui, UI_MARGIN, y, 400, "back.happened");
    y = draw_time(view, y) + UI_GAP;
    y += tell_moment(view, (DrawRect){UI_MARGIN, y, ui->width - 2 * UI_MARGIN, 72});
    y += UI_GAP / 2.0;
    double line_height = LINE_HEIGHT + 0.3 * (ui->height - 800.0);
    double low = y + line_height + UI_GAP;
    draw_then(view, (DrawRect){UI_MARGIN, y, left, line_height});
    draw_why(view, (DrawRect){UI_MARGIN, low, left, view->bottom - low});
    y += paper_heading(ui, x, y, width, "back.looked-for") + 4;
    draw_rubric(view, (DrawRect){x, y, width, view->bottom - y}, (DrawRect){0});
    double back = UI_MARGIN + 1.32 * ui->text_percent + UI_GAP;
    draw_steps(view, ui_foot_box(ui, back, 160));
    draw_to_bench(view, ui_foot_box(ui, back + 2 * (160 + UI_GAP), 212));
}

/* The time line, the buttons, and as much in words as there is room for. */
static void draw_time_page(const LookView *view, DrawRect box)
{
    Ui *ui = view->ui;
    double bottom = box.y + box.h;
    double row = paper_row(ui, 19, 59);
    double counts = draw_line_height(ui_px(ui, 24));
    double rest = box.h - 3 * draw_line_height(ui_px(ui, 16)) - 28 - row - 2 * UI_GAP;
    if (rest >= counts + 2 * draw_line_height(ui_px(ui, 19))) {
        draw_counts(view, box.y);
        box.y += counts;
    }
    box.y = draw_time(view, box.y) + UI_GAP;
    double width = (box.w - 2 * UI_GAP) / 3;
    draw_steps(view, (DrawRect){box.x, box.y, width, row});
    draw_to_bench(view, (DrawRect){box.x + 2 * (width + UI_GAP), box.y, width, row});
    box.y += row + UI_GAP;
    (void)tell_moment(view, (DrawRect){box.x, box.y, box.w, bottom - box.y});
}

static void draw_steps_page(const LookView *view, DrawRect box)
{
    enum { TURNER = 360 };
    double turn = paper_row(view->ui, 19, 47);
    DrawRect turner = {box.x + box.w - TURNER, box.y, TURNER, turn};
    Text words = {0};
    add_reason(view, &words);
    double height =
        paper_words(view->ui, box.x, box.y, turner.x - UI_GAP - box.x, 19, false, words.bytes);
    text_clear(&words);
    height = fmax(height, turn) + UI_GAP;
    draw_rubric(view, (DrawRect){box.x, box.y + height, box.w, box.h - height}, turner);
}

static void draw_page(const LookView *view)
{
    Ui *ui = view->ui;
    DrawRect box = {UI_MARGIN, view->top, ui->width - 2 * UI_MARGIN, view->bottom - view->top};
    int tab = view->session->pages.tab;
    if (tab == TAB_LINE) {
        draw_then(view, box);
    } else if (tab == TAB_STEPS) {
        draw_steps_page(view, box);
    } else if (tab == TAB_WHY) {
        double row = paper_row(ui, 19, 59);
        draw_why(view, (DrawRect){box.x, box.y, box.w, box.h - row - UI_GAP});
        draw_to_bench(view, (DrawRect){box.x, box.y + box.h - row, box.w * 0.6, row});
    } else {
        draw_time_page(view, box);
    }
}

/* First what was missed: its first moment is the one that is shown. */
static void begin(LookView *view)
{
    if (view->look->then != NULL || view->score.line_count == 0) return;
    if (view->look->chosen == 0 && view->look->rubric == 0) choose_rubric(view, view->order[0]);
}

static void draw_foot(const LookView *view)
{
    Ui *ui = view->ui;
    Session *session = view->session;
    bool again = ui_next(ui, ui_say(ui, "back.again"));
    bool leave = ui_back(ui, ui_say(ui, "back.back"));
    if (leave) session_go(session, PLACE_HOME);
    if (!again) return;
    for (int i = 0; i < session->scenario_count; i++) {
        if (session->scenarios[i].work == app_run_work(session->run)) session->chosen_scenario = i;
    }
    session_begin_run(session, false);
}

void place_look_back(Ui *ui, Session *session)
{
    static const char *const tabs[] = {"back.tab-time", "back.tab-line", "back.tab-steps",
                                       "back.tab-why", NULL};
    LookView view = {.ui = ui,
                     .session = session,
                     .look = &session->look_back,
                     .scenario = app_run_scenario(session->run),
                     .top = ui_head_y(ui) + UI_GAP,
                     .bottom = ui_foot_y(ui) - UI_GAP,
                     .is_paged = ui->text_percent > 100};
    view.log = player_log(app_run_player(session->run), &view.count);
    app_run_score(session->run, &view.score);
    put_in_order(&view);
    begin(&view);
    draw_header(&view);
    if (view.is_paged) {
        int tab = session->pages.tab;
        view.top = paper_tabs(ui, view.top, tabs, &session->pages.tab);
        if (tab != session->pages.tab) session->pages.page = 0;
        draw_page(&view);
    } else {
        draw_columns(&view);
    }
    draw_foot(&view);
}
