/* What else hands and eyes do at a line. It is chosen step by step: the deed, what it is done to,
 * who does it or what for; then stands what came of it, as far as a person at the line learns it.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ui/run.h"

enum { COLUMNS_MAX = 4, WORDS_MAX = 64, ANSWERS_MAX = 8, PAD = 12 };

typedef struct {
    const char *key;
    ActionKind kind;
    const char *fields[2]; /* NULL: it has no such field, or the lane, which the view knows */
} Deed;

static const Deed deeds[] = {
    {"deed.look", ACTION_LOOK, {"what"}},
    {"deed.search", ACTION_SEARCH, {"place"}},
    {"deed.clear-jam", ACTION_CLEAR_JAM, {NULL}},
    {"deed.reset", ACTION_RESET, {"what", "by"}},
    {"deed.call", ACTION_CALL, {"who"}},
    {"deed.ask", ACTION_ASK, {"who", "for"}},
    {"deed.compare", ACTION_COMPARE_SETTINGS, {NULL}},
    {"deed.counters", ACTION_READ_COUNTERS, {NULL}},
    {"deed.events", ACTION_READ_EVENTS, {NULL}},
    {"deed.hand-over", ACTION_HAND_OVER, {"to"}},
    {"deed.set-program", ACTION_SET_PROGRAM, {"product"}},
    {"deed.set-limit", ACTION_SET_SENSITIVITY, {"percent"}},
    {"deed.refuse", ACTION_REFUSE, {"piece"}},
    {"deed.fetch-piece", ACTION_FETCH_PIECE, {"piece"}},
    {"deed.send-good", ACTION_SEND_GOOD, {NULL}},
    {"deed.label", ACTION_LABEL, {"place"}},
    {"deed.re-pass", ACTION_RE_PASS, {"place"}},
    {"deed.examine", ACTION_EXAMINE_REJECTS, {NULL}},
    {"deed.keep-find", ACTION_KEEP_FIND, {NULL}},
    {"deed.throw-find", ACTION_THROW_FIND, {NULL}},
    {"deed.clean", ACTION_CLEAN, {"what"}},
    {"deed.block", ACTION_BLOCK, {"what"}},
    {"deed.unblock", ACTION_UNBLOCK, {"what"}},
    {"deed.power-off", ACTION_POWER_OFF, {NULL}},
    {"deed.power-on", ACTION_POWER_ON, {NULL}},
};
enum { DEEDS = sizeof deeds / sizeof deeds[0] };

/* --- What can be chosen ----------------------------------------------------------------------- */

static bool is_in_tray(const Run *run, const SitePiece *piece)
{
    for (int i = 0; i < player_piece_count(run->player); i++) {
        if (player_piece(run->player, i).piece == piece) return true;
    }
    return false;
}

/* To refuse is a piece of the tray; to fetch, one that the site has besides. */
static int list_pieces(const Run *run, bool is_of_tray, const char *out[WORDS_MAX])
{
    const Site *site = run->scenario->site;
    int count = 0;
    for (int i = 0; i < site->piece_count && count < WORDS_MAX; i++) {
        if (is_in_tray(run, &site->pieces[i]) == is_of_tray) out[count++] = site->pieces[i].id;
    }
    return count;
}

/* The words that may stand in a field of the deed. */
static int list_words(const Run *run, const Deed *deed, const char *field,
                      const char *out[WORDS_MAX])
{
    static const char *const percents[] = {"50", "80", "100", "125", "150", NULL};
    const LogLine action = log_action(deed->kind, 0);
    const Site *site = run->scenario->site;
    const char *const *words =
        strcmp(field, "percent") == 0 ? percents : log_field_words(&action, field);
    int count = 0;
    if (strcmp(field, "piece") == 0) return list_pieces(run, deed->kind == ACTION_REFUSE, out);
    for (int i = 0; words == NULL && i < site->product_count && count < WORDS_MAX; i++) {
        out[count++] = site->products[i].id;
    }
    for (int i = 0; words != NULL && words[i] != NULL && count < WORDS_MAX; i++) {
        out[count++] = words[i];
    }
    return count;
}

static void add_label(const Run *run, const char *field, const char *word, Text *out)
{
    const Site *site = run->scenario->site;
    char name[96];
    if (strcmp(field, "percent") == 0) {
        text_addf(out, "%s\xC2\xA0%%", word);
    } else if (strcmp(field, "piece") == 0) {
        run_piece_name(run, &site->pieces[site_find_piece(site, word)], name, sizeof name);
        text_addf(out, "%s\n%s", name, word);
    } else {
        texts_add_name(run->ui->texts, run->scenario, word, out);
    }
}

/* As many columns as leave each label no more than two lines. */
static int columns_for(const Run *run, double width, const Text labels[], int count)
{
    double most = 2.0 * draw_line_height(ui_px(run->ui, 16)) + 1.0;
    int columns = COLUMNS_MAX;
    for (int i = 0; i < count && columns > 1;) {
        double room = (width - (columns - 1) * UI_GAP) / columns - 2.0 * PAD;
        if (paper_height(run->ui, room, 16, true, text_string(&labels[i])) <= most)
            i++;
        else
            columns--;
    }
    return columns;
}

/* A page of buttons, the way back before them and, where they are too many, a turn behind them: the
 * index of the one that was pressed, -1: none, -2: back. */
static int draw_page(const Run *run, DrawRect box, const Text labels[], int count)
{
    int *page = &run->view->more.page;
    double step = run->row + UI_GAP;
    int columns = columns_for(run, box.w, labels, count);
    int cells = columns * (int)((box.h + UI_GAP + 0.5) / step);
    int per_page = count <= cells - 1 ? cells - 1 : cells - 2;
    int pages = (count + per_page - 1) / per_page;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    int pressed = -1;
    if (*page >= pages) *page = 0;
    int first = *page * per_page;
    int last = first + per_page < count ? first + per_page : count;
    bool is_turned = false;
    for (int cell = 0; cell <= last - first + (pages > 1); cell++) {
        int index = first + cell - 1;
        bool turns = index == last;
        int at = turns ? cells - 1 : cell;
        int row = at / columns;
        UiButton face = {
            .box = {box.x + at % columns * (width + UI_GAP), box.y + row * step, width, run->row},
            .label = cell == 0 ? run_say(run, "more.back")
                     : turns   ? run_say(run, "more.turn")
                               : text_string(&labels[index]),
            .px = 16};
        if (!ui_button(run->ui, ui_id("more", at), &face)) continue;
        is_turned = turns;
        pressed = cell == 0 ? -2 : turns ? -1 : index;
    }
    if (is_turned) *page = (*page + 1) % pages;
    return pressed;
}

/* --- What came of it -------------------------------------------------------------------------- */

/* What a person at the line learns at once. What judges a deed is the look back's to tell. */
static bool is_learned(const LogLine *line)
{
    static const HappeningKind kinds[] = {HAPPENING_LOOKED,
                                          HAPPENING_COUNTERS_READ,
                                          HAPPENING_EVENT_READ,
                                          HAPPENING_SEARCHED,
                                          HAPPENING_REJECTS_EXAMINED,
                                          HAPPENING_CALLED,
                                          HAPPENING_ASKED,
                                          HAPPENING_DECLINED,
                                          HAPPENING_REPAIRED,
                                          HAPPENING_SETTINGS_RESTORED,
                                          HAPPENING_RE_LEARNED,
                                          HAPPENING_BIN_EMPTIED,
                                          HAPPENING_JAM_CLEARED,
                                          HAPPENING_CLEANED,
                                          HAPPENING_BLOCKED,
                                          HAPPENING_UNBLOCKED,
                                          HAPPENING_LABELLED,
                                          HAPPENING_POWER_LOST,
                                          HAPPENING_POWER_RETURNED,
                                          HAPPENING_PROGRAM_SET,
                                          HAPPENING_SENSITIVITY_SET,
                                          HAPPENING_PIECE_FETCHED,
                                          HAPPENING_FIND_KEPT,
                                          HAPPENING_FIND_THROWN_AWAY,
                                          HAPPENING_GOOD_PACK_SENT};
    if (log_is(line, HAPPENING_SETTING_READ)) return strcmp(log_word(line, "agrees"), "no") == 0;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (log_is(line, kinds[i])) return true;
    }
    return false;
}

/* The newest happenings that came with the deed, as sentences. */
static void add_answer(const Run *run, Text *out)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    size_t from = run->view->more.answer;
    const char *plain = "more.done";
    int told = 0;
    size_t last = from + 1;
    while (last < count && !log[last].is_action && log[last].time_us == log[from].time_us)
        last++;
    for (size_t i = last; i > from + 1; i--) {
        if (log_is(&log[i - 1], HAPPENING_NOT_POSSIBLE)) plain = "more.not-possible";
        if (log_is(&log[i - 1], HAPPENING_SETTING_READ)) plain = "more.all-agree";
        if (!is_learned(&log[i - 1]) || told == ANSWERS_MAX) continue;
        if (told++ > 0) text_add(out, "\n");
        (void)texts_tell(run->ui->texts, run->scenario, &log[i - 1], out);
    }
    if (told == 0) text_add(out, run_say(run, plain));
}

static void draw_answer(const Run *run, DrawRect box)
{
    double width = (box.w - (COLUMNS_MAX - 1) * UI_GAP) / COLUMNS_MAX;
    Text words = {0};
    if (run_button(run, "more", 0, (DrawRect){box.x, box.y, width, run->row},
                   run_say(run, "more.back"), false)) {
        run->view->more = (RunMore){.is_open = true};
    }
    add_answer(run, &words);
    (void)paper_words(run->ui, box.x + width + 2.0 * UI_GAP, box.y, box.w - width - 2.0 * UI_GAP,
                      run->is_big ? 16 : 19, true, words.bytes);
    text_clear(&words);
}

/* --- The whole -------------------------------------------------------------------------------- */

static void set_word(LogLine *action, const char *field, const char *word)
{
    if (strcmp(field, "percent") == 0)
        log_set_number(action, field, strtol(word, NULL, 10));
    else
        log_set_word(action, field, word);
}

static void do_deed(const Run *run, const Deed *deed, const char *const words[2])
{
    LogLine action = log_action(deed->kind, 0);
    size_t before;
    size_t after;
    for (int i = 0; i < 2 && deed->fields[i] != NULL && words[i] != NULL; i++) {
        set_word(&action, deed->fields[i], words[i]);
    }
    if (deed->kind == ACTION_SEND_GOOD && run->scenario->line->setup.lanes > 1)
        log_set_number(&action, "lane", run->view->lane + 1);
    (void)player_log(run->player, &before);
    session_do(run->session, action);
    const LogLine *log = player_log(run->player, &after);
    while (before < after && !log[before].is_action)
        before++;
    if (before < after) run->view->more = (RunMore){.is_open = true, .answer = before};
}

/* Chosen is a deed, and its first field's word or not yet. */
static void draw_choice(const Run *run, DrawRect box)
{
    RunMore *more = &run->view->more;
    const Deed *deed = &deeds[more->deed - 1];
    int field = more->word > 0;
    const char *words[WORDS_MAX];
    const char *chosen[2] = {NULL, NULL};
    Text labels[WORDS_MAX] = {{0}};
    if (field > 0 && list_words(run, deed, deed->fields[0], words) >= more->word)
        chosen[0] = words[more->word - 1];
    int count = list_words(run, deed, deed->fields[field], words);
    for (int i = 0; i < count; i++) {
        add_label(run, deed->fields[field], words[i], &labels[i]);
    }
    int pressed = draw_page(run, box, labels, count);
    for (int i = 0; i < count; i++) {
        text_clear(&labels[i]);
    }
    if (pressed == -2) *more = (RunMore){.is_open = true};
    if (pressed < 0) return;
    chosen[field] = words[pressed];
    if (field == 0 && deed->fields[1] != NULL) {
        more->word = pressed + 1;
        more->page = 0;
    } else {
        do_deed(run, deed, chosen);
    }
}

/* Who was called and has come, in the row under the buttons. */
static void tell_who_came(const Run *run, DrawRect box)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    double line = draw_line_height(ui_px(run->ui, 16));
    Text names = {0};
    Text words = {0};
    for (size_t i = 0; i < count; i++) {
        if (!log_is(&log[i], HAPPENING_CAME)) continue;
        if (names.len > 0) text_add(&names, ", ");
        texts_add_word(run->ui->texts, log_word(&log[i], "who"), &names);
    }
    if (names.len > 0) {
        ui_fill(run->ui, "more.here", names.bytes, &words);
        paper_line(run->ui, (DrawRect){box.x, box.y + box.h - line, box.w, line},
                   &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START}, words.bytes);
    }
    text_clear(&names);
    text_clear(&words);
}

static void draw_deeds(const Run *run, DrawRect box)
{
    RunMore *more = &run->view->more;
    Text labels[DEEDS] = {{0}};
    double line = draw_line_height(ui_px(run->ui, 16));
    tell_who_came(run, box);
    box.h -= line;
    for (int i = 0; i < DEEDS; i++) {
        text_add(&labels[i], run_say(run, deeds[i].key));
    }
    int pressed = draw_page(run, box, labels, DEEDS);
    for (int i = 0; i < DEEDS; i++) {
        text_clear(&labels[i]);
    }
    if (pressed == -2) *more = (RunMore){0};
    if (pressed < 0) return;
    if (deeds[pressed].fields[0] == NULL)
        do_deed(run, &deeds[pressed], (const char *const[2]){NULL, NULL});
    else
        *more = (RunMore){.is_open = true, .deed = pressed + 1};
}

void run_more(const Run *run, DrawRect box)
{
    if (run->view->more.answer > 0)
        draw_answer(run, box);
    else if (run->view->more.deed > 0)
        draw_choice(run, box);
    else
        draw_deeds(run, box);
}
