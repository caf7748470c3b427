/* Home: what this person should do now, the scenarios with what is done, and the own record. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ui/paper.h"
#include "ui/session.h"

enum { SIDE_WIDTH = 420, RECENT_RUNS = 3 };
enum { TAB_NOW, TAB_SCENARIOS, TAB_RUNS, TAB_MORE };

/* What every part of the place needs. */
typedef struct {
    Ui *ui;
    Session *session;
    Home *home;
    double top, bottom; /* of the content */
} HomeView;

/* --- The record, read once ------------------------------------------------------------------- */

typedef struct {
    RecNumber numbers[HOME_RUNS_MAX]; /* the last ones, round and round */
    int count;
} Last;

static bool note_run(void *context, const RecEntry *entry, Err *err)
{
    Last *last = context;
    (void)err;
    last->numbers[last->count++ % HOME_RUNS_MAX] = entry->number;
    return true;
}

/* The string under `key` of an object in JSON text, "" for none. */
static void string_of(const Text *json, const char *key, char *out, size_t bytes)
{
    JsonDoc *doc = NULL;
    Err err = {0};
    (void)snprintf(out, bytes, "%s", "");
    if (!json_parse("record", text_string(json), json->len, &doc, &err)) return;
    const JsonValue *value = json_get(json_root(doc), key);
    if (value != NULL && json_kind(value) == JSON_STRING) {
        (void)snprintf(out, bytes, "%s", json_string(value));
    }
    json_free(doc);
}

static bool read_run(Session *session, RecNumber number, HomeRun *out, Err *err)
{
    RecRunView view = {0};
    char word[SITE_ID_BYTES];
    if (!rec_run_load(session->records, number, &view, err)) return false;
    *out = (HomeRun){
        .scenario = -1, .is_assessment = view.is_assessment, .is_scripted = view.is_scripted};
    if (!rec_stamp_read(text_string(&view.time), &out->time_us)) out->time_us = 0;
    string_of(&view.result, "verdict", word, sizeof word);
    out->is_competent = strcmp(word, "competent") == 0;
    string_of(&view.result, "reason", out->reason, sizeof out->reason);
    const Text *scenario = rec_run_content(&view, work_part_names[WORK_SCENARIO]);
    if (scenario != NULL) string_of(scenario, "id", word, sizeof word);
    for (int i = 0; scenario != NULL && i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].id, word) == 0) out->scenario = i;
    }
    rec_run_view_clear(&view);
    return true;
}

static bool read_runs(Session *session, Err *err)
{
    Home *home = &session->home;
    Last last = {.count = 0};
    RecFilter filter = {.kind = "run", .author = session->people[session->chosen_person].id};
    if (!rec_each(session->records, &filter, note_run, &last, err)) return false;
    int count = last.count < HOME_RUNS_MAX ? last.count : HOME_RUNS_MAX;
    for (int i = 0; i < count; i++, home->run_count++) {
        RecNumber number = last.numbers[(last.count - 1 - i) % HOME_RUNS_MAX];
        if (!read_run(session, number, &home->runs[i], err)) return false;
    }
    return true;
}

/* The last run that counts of a scenario; NULL: none. */
static const HomeRun *last_of(const Home *home, int scenario)
{
    for (int i = 0; i < home->run_count; i++) {
        const HomeRun *run = &home->runs[i];
        if (run->scenario == scenario && !run->is_scripted) return run;
    }
    return NULL;
}

static bool is_done(const Home *home, int scenario)
{
    const HomeRun *run = last_of(home, scenario);
    return run != NULL && run->is_competent;
}

static bool is_before(const Session *session, int a, int b)
{
    const Scenario *first = work_scenario(session->scenarios[a].work);
    const Scenario *second = work_scenario(session->scenarios[b].work);
    int order = strcmp(first->date, second->date);
    return order != 0 ? order < 0 : strcmp(first->id, second->id) < 0;
}

/* The scenarios' own dates tell in which order a trainer thought of them. */
static void put_in_order(Session *session)
{
    int *order = session->home.order;
    for (int i = 0; i < session->scenario_count; i++) {
        int at = i;
        for (; at > 0 && is_before(session, i, order[at - 1]); at--) {
            order[at] = order[at - 1];
        }
        order[at] = i;
    }
}

/* The first that is not yet done well; when all are, the one done longest ago. */
static int next_scenario(const Session *session)
{
    const Home *home = &session->home;
    int oldest = home->order[0];
    for (int i = 0; i < session->scenario_count; i++) {
        int at = home->order[i];
        if (!is_done(home, at)) return at;
        const HomeRun *last = last_of(home, at);
        const HomeRun *before = last_of(home, oldest);
        if (last != NULL && before != NULL && last->time_us < before->time_us) oldest = at;
    }
    return oldest;
}

static void refresh(Session *session)
{
    Home *home = &session->home;
    Err err = {0};
    if (home->is_read && home->person == session->chosen_person && home->entry == session->entry)
        return;
    *home = (Home){.is_read = true, .person = session->chosen_person, .entry = session->entry};
    put_in_order(session);
    if (!read_runs(session, &err)) {
        text_clear(&session->notice);
        text_add(&session->notice, err.text);
    }
    session->chosen_scenario = next_scenario(session);
}

/* --- What to do now -------------------------------------------------------------------------- */

static const Scenario *chosen(const HomeView *place)
{
    return work_scenario(place->session->scenarios[place->session->chosen_scenario].work);
}

/* Why this one: what the last run of it showed. */
static void why(const HomeView *place, Text *out)
{
    const Session *session = place->session;
    const HomeRun *run = last_of(place->home, session->chosen_scenario);
    if (session_can_go_on(session) &&
        strcmp(player_setup(app_run_player(session->run))->scenario->id, chosen(place)->id) == 0) {
        text_add(out, ui_say(place->ui, "home.why-left"));
    } else if (run == NULL) {
        text_add(out, ui_say(place->ui, "home.why-new"));
    } else if (run->is_competent) {
        text_add(out, ui_say(place->ui, "home.why-again"));
    } else {
        char key[SITE_ID_BYTES + 16];
        (void)snprintf(key, sizeof key, "home.last.%s", run->reason);
        text_add(out, ui_say(place->ui, key));
    }
}

/* On which line, with which product. */
static void add_what(const HomeView *place, Text *out)
{
    const Scenario *scenario = chosen(place);
    const char *language = place->ui->language;
    text_addf(out, "%s: %s", site_text(scenario->line->name, language),
              site_text(scenario->site->products[scenario->product].name, language));
}

/* The aperture from the front, with the product as it lies and the piece where the drawing lets it
 * go. */
static void draw_aperture(const HomeView *place, DrawRect box)
{
    DrawList *list = place->ui->list;
    const Scenario *scenario = chosen(place);
    const Site *site = scenario->site;
    const CoilHead *coils = &site->heads[scenario->line->head].head.coils;
    ProductBlock block = site_block(site, scenario->line, scenario->product);
    const bool *heights = site->products[scenario->product].heights;
    double scale =
        fmin((box.w - 20) / coils->aperture_width_m, (box.h - 20) / coils->aperture_height_m);
    double w = coils->aperture_width_m * scale;
    double h = coils->aperture_height_m * scale;
    double x = box.x + (box.w - w) / 2;
    double y = box.y + (box.h - h) / 2;
    double middle = x + w / 2;
    double up = y + h / 2 - block.centre_up_m * scale;
    double half = block.height_m * scale / 2;
    draw_rect(list, (DrawRect){x - 10, y - 10, w + 20, h + 20}, DRAW_TINT, DRAW_INK, 2, 4);
    draw_rect(list, (DrawRect){x, y, w, h}, DRAW_PAPER, DRAW_INK, 2, 0);
    DrawPoint belt[] = {{x + 12, up + half}, {x + w - 12, up + half}};
    draw_line(list, belt, 2, DRAW_INK, 2);
    DrawRect pack = {middle - block.width_m * scale / 2, up - half, block.width_m * scale,
                     2 * half};
    draw_rect(list, pack, DRAW_SHEET, DRAW_INK, 2, 0);
    draw_dashes(list, (DrawPoint){x, y + h / 2}, (DrawPoint){x + w, y + h / 2}, DRAW_LINE, 2, 8, 6);
    double at[SITE_HEIGHT_COUNT] = {up - half, up, up + half};
    for (int i = 0; i < SITE_HEIGHT_COUNT; i++) {
        if (heights[i]) draw_circle(list, middle, at[i], 5, DRAW_ACCENT, DRAW_INK, 2);
    }
}

/* Where the words beside "Why" and "How long" begin. */
static double pair_left(const HomeView *place)
{
    Ui *ui = place->ui;
    return fmax(ui_width(ui, 19, true, ui_say(ui, "home.why")),
                ui_width(ui, 19, true, ui_say(ui, "home.how-long"))) +
           20.0;
}

/* "Why" in bold with its words beside it; returns the height. */
static double draw_pair(const HomeView *place, DrawRect box, const char *key, const char *words)
{
    Ui *ui = place->ui;
    DrawRole ground = paper_is_big(ui) ? DRAW_PAPER : DRAW_SHEET;
    double left = pair_left(place);
    (void)ui_text(ui, (DrawRect){box.x, box.y, left, 0}, 19, true, DRAW_INK, ground, DRAW_START,
                  ui_say(ui, key));
    return ui_text(ui, (DrawRect){box.x + left, box.y, box.w - left, 0}, 19, false, DRAW_INK,
                   ground, DRAW_START, words);
}

/* The drawing beside the words of a card so wide. */
static double drawing_width(double width)
{
    return fmin(240.0, width * 0.32);
}

/* The height of a card so wide: title, line and product, why, how long. */
static double now_height(const HomeView *place, double width)
{
    Text words = {0};
    double room = width - drawing_width(width) - 24 - 48;
    double height =
        draw_line_height(ui_px(place->ui, 30)) + draw_line_height(ui_px(place->ui, 19)) + 32.0;
    add_what(place, &words);
    height += paper_height(place->ui, room, 19, false, words.bytes);
    text_clear(&words);
    why(place, &words);
    height += paper_height(place->ui, room - pair_left(place), 19, false, words.bytes);
    text_clear(&words);
    return fmax(height, 180.0);
}

/* Returns where it ends. */
static double draw_now(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    const Scenario *scenario = chosen(place);
    bool big = paper_is_big(ui);
    DrawRole ground = big ? DRAW_PAPER : DRAW_SHEET;
    double pad = big ? 0.0 : 24.0;
    Text words = {0};
    char minutes[16];
    if (!big) {
        draw_rect(ui->list, (DrawRect){box.x + 1, box.y + 1, box.w - 2, box.h - 2}, DRAW_SHEET,
                  DRAW_INK, 2, 6);
        double side = drawing_width(box.w);
        draw_aperture(place, (DrawRect){box.x + box.w - side - 24, box.y + 24, side, box.h - 48});
        box.w -= side + 24;
    }
    DrawRect in = {box.x + pad, box.y + (big ? 0.0 : 12.0), box.w - 2 * pad, 0};
    int px = big ? 24 : 30;
    in.h = draw_line_height(ui_px(ui, px));
    paper_line(ui, in, &(PaperInk){px, true, DRAW_INK, ground, DRAW_START},
               site_text(scenario->title, ui->language));
    in.y += in.h;
    add_what(place, &words);
    in.y += ui_text(ui, in, 19, false, DRAW_INK, ground, DRAW_START, words.bytes);
    in.y += big ? 0.0 : 8.0;
    text_clear(&words);
    why(place, &words);
    in.y += draw_pair(place, in, "home.why", words.bytes);
    text_clear(&words);
    (void)snprintf(minutes, sizeof minutes, "%lld", (long long)scenario->minutes);
    ui_fill(ui, "home.about", minutes, &words);
    in.y += draw_pair(place, in, "home.how-long", words.bytes);
    text_clear(&words);
    return in.y;
}

/* --- The scenarios --------------------------------------------------------------------------- */

/* What is done of a scenario, as mark and words. */
static DrawMark state_of(const HomeView *place, int scenario, Text *words)
{
    Ui *ui = place->ui;
    const HomeRun *run = last_of(place->home, scenario);
    if (run == NULL) {
        char minutes[32];
        (void)snprintf(minutes, sizeof minutes, "%lld min",
                       (long long)work_scenario(place->session->scenarios[scenario].work)->minutes);
        ui_fill(ui, "home.to-do", minutes, words);
        return DRAW_TODO;
    }
    Text date = {0};
    paper_date(ui, run->time_us, &date);
    ui_fill(ui, run->is_competent ? "home.done" : "home.not-yet", date.bytes, words);
    text_clear(&date);
    return run->is_competent ? DRAW_DONE : DRAW_TODO;
}

static void draw_scenario(const HomeView *place, int scenario, DrawRect box)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    uint32_t id = ui_id("scenario", scenario);
    bool is_chosen = session->chosen_scenario == scenario;
    Text words = {0};
    DrawRole letters;
    UiButton button = {.box = box, .look = is_chosen ? UI_CHOSEN : UI_PLAIN};
    if (ui_button(ui, id, &button)) session->chosen_scenario = scenario;
    DrawRole ground = paper_face(ui, id, box, is_chosen, &letters);
    DrawMark mark = state_of(place, scenario, &words);
    double r = 0.11 * ui->text_percent;
    draw_mark(ui->list, mark, box.x + 16 + r, box.y + box.h / 2, r, letters);
    double width = ui_width(ui, 16, false, words.bytes) + 2.0;
    double x = box.x + 32 + 2 * r;
    double room = box.x + box.w - 16 - x;
    if (width > room * 0.6) width = room * 0.6;
    paper_line(ui, (DrawRect){x + room - width, box.y, width, box.h},
               &(PaperInk){16, false, letters, ground, DRAW_END}, words.bytes);
    paper_line(ui, (DrawRect){x, box.y, room - width - 12, box.h},
               &(PaperInk){19, is_chosen, letters, ground, DRAW_START},
               site_text(work_scenario(session->scenarios[scenario].work)->title, ui->language));
    text_clear(&words);
}

/* How many rows of a list fit, and the pages this makes; the pager's place is kept free. */
static int rows_in(double height, double pitch, double turn, int count, int *pages)
{
    int rows = (int)((height + UI_GAP) / pitch);
    if (rows < count) rows = (int)((height - turn) / pitch);
    if (rows < 1) rows = 1;
    *pages = (count + rows - 1) / rows;
    return rows;
}

static void draw_scenarios(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    double row = paper_row(ui, 19, 47);
    double turn = paper_row(ui, 19, 47);
    int pages;
    int rows = rows_in(box.h, row + UI_GAP, turn, session->scenario_count, &pages);
    int page = session->pages.page < pages ? session->pages.page : pages - 1;
    for (int i = 0; i < rows && page * rows + i < session->scenario_count; i++) {
        DrawRect at = {box.x, box.y + i * (row + UI_GAP), box.w, row};
        draw_scenario(place, place->home->order[page * rows + i], at);
    }
    DrawRect at = {box.x, box.y + box.h - turn, fmin(box.w, 360), turn};
    paper_pages(ui, "scenarios", at, pages, &session->pages.page);
}

/* --- The own record -------------------------------------------------------------------------- */

/* One run in words: when, which, how, with what verdict. */
static void tell_run(const HomeView *place, const HomeRun *run, Text *out)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    paper_date(ui, run->time_us, out);
    const char *title = ui_say(ui, "home.other");
    if (run->scenario >= 0) {
        title =
            site_text(work_scenario(session->scenarios[run->scenario].work)->title, ui->language);
    }
    text_addf(out, ", %s. ", title);
    if (run->is_assessment) {
        const char *verdict = run->is_competent ? "competent" : "not yet competent";
        text_addf(out, "%s. %s.", ui_say(ui, "home.assessment"),
                  texts_get(ui->texts, "verdicts", verdict));
    } else {
        text_addf(out, "%s.",
                  ui_say(ui, run->is_competent ? "back.practice-met" : "back.practice-missed"));
    }
    if (run->is_scripted) text_addf(out, " %s", ui_say(ui, "home.scripted"));
}

/* Runs from the newest on, in pages that end with the box, of which one is drawn; -1: none. Returns
 * how many pages there are. */
static int lay_runs(const HomeView *place, DrawRect box, int most, int drawn)
{
    Ui *ui = place->ui;
    double r = 0.09 * ui->text_percent;
    double x = box.x + 2 * r + 14;
    double width = box.x + box.w - x;
    double y = box.y;
    int page = 0;
    for (int i = 0; i < place->home->run_count && i < most; i++) {
        const HomeRun *run = &place->home->runs[i];
        Text words = {0};
        tell_run(place, run, &words);
        double height = paper_height(ui, width, 16, false, words.bytes);
        /* Beside other things not even one may fit; the list of all has room for one. */
        bool fits = y + height <= box.y + box.h || most == HOME_RUNS_MAX;
        if (y > box.y && y + height > box.y + box.h) {
            page++;
            y = box.y;
        }
        if (page == drawn && fits) {
            DrawMark mark = run->is_scripted ? DRAW_BAR : run->is_competent ? DRAW_DONE : DRAW_TODO;
            draw_mark(ui->list, mark, box.x + r + 1, y + draw_line_height(ui_px(ui, 16)) / 2, r,
                      DRAW_INK);
            (void)paper_words(ui, x, y, width, 16, false, words.bytes);
        }
        y += height + 6.0;
        text_clear(&words);
    }
    return page + 1;
}

static double draw_standing(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    const Home *home = place->home;
    Text words = {0};
    Text date = {0};
    int first = home->run_count - 1;
    while (first >= 0 && home->runs[first].is_scripted) {
        first--;
    }
    if (first < 0) {
        text_add(&words, ui_say(ui, "home.no-runs"));
    } else {
        paper_date(ui, home->runs[first].time_us, &date);
        ui_fill(ui, "home.since", date.bytes, &words);
    }
    double height = paper_words(ui, box.x, box.y, box.w, 19, true, words.bytes);
    text_clear(&words);
    text_clear(&date);
    return box.y + height + 6.0;
}

/* All runs, in pages. */
static void draw_all_runs(const HomeView *place, DrawRect box)
{
    Session *session = place->session;
    double turn = paper_row(place->ui, 19, 47);
    double top = draw_standing(place, box);
    DrawRect list = {box.x, top, box.w, box.y + box.h - top};
    int pages = lay_runs(place, list, HOME_RUNS_MAX, -1);
    if (pages > 1) {
        list.h -= turn + UI_GAP;
        pages = lay_runs(place, list, HOME_RUNS_MAX, -1);
    }
    int page = session->pages.page < pages ? session->pages.page : pages - 1;
    (void)lay_runs(place, list, HOME_RUNS_MAX, page);
    DrawRect at = {box.x, box.y + box.h - turn, fmin(box.w, 360), turn};
    paper_pages(place->ui, "runs", at, pages, &session->pages.page);
}

/* --- For yourself, and the cautions ---------------------------------------------------------- */

static void go_to_bench(Session *session, bool is_puzzle)
{
    bench_open(session, is_puzzle);
    session_go(session, PLACE_BENCH);
}

static double draw_buttons(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    bool has_tab = paper_is_big(ui); /* the runs are one press away already */
    double width = has_tab ? (box.w - UI_GAP) / 2.0 : (box.w - 2 * UI_GAP) / 3.0;
    double height = paper_height(ui, width - 24, 19, false, ui_say(ui, "home.hide")) + 12.0;
    height = fmax(height, paper_row(ui, 19, 59));
    DrawRect at = {box.x, box.y, width, height};
    if (paper_choice(ui, ui_id("bench", 0), at, ui_say(ui, "home.bench"), false))
        go_to_bench(session, false);
    at.x += width + UI_GAP;
    if (paper_choice(ui, ui_id("hide", 0), at, ui_say(ui, "home.hide"), false))
        go_to_bench(session, true);
    at.x += width + UI_GAP;
    bool is_listing = session->pages.tab == TAB_RUNS;
    if (!has_tab && paper_choice(ui, ui_id("runs", 9), at, ui_say(ui, "home.runs"), is_listing)) {
        session->pages = (Pages){.tab = is_listing ? TAB_NOW : TAB_RUNS};
    }
    return box.y + height + UI_GAP;
}

/* Two switches for whom motion or sound disturbs, which say how it is now: kept while the window is
 * open. */
static double draw_switches(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    double width = (box.w - UI_GAP) / 2.0;
    double height = paper_row(ui, 19, 59);
    DrawRect at = {box.x, box.y, width, height};
    const char *motion = ui_say(ui, session->is_calm ? "home.motion-less" : "home.motion-on");
    const char *sound = ui_say(ui, session->is_silent ? "home.sound-off" : "home.sound-on");
    if (paper_choice(ui, ui_id("calm", 0), at, motion, session->is_calm))
        session->is_calm = !session->is_calm;
    at.x += width + UI_GAP;
    if (paper_choice(ui, ui_id("silent", 0), at, sound, session->is_silent))
        session->is_silent = !session->is_silent;
    return box.y + height + UI_GAP;
}

/* The first is about hands, and is written larger. */
static const struct {
    const char *key;
    int px;
} cautions[] = {{"caution.moving", 19}, {"caution.implants", 16}, {"caution.detector", 16}};
enum { CAUTIONS = sizeof cautions / sizeof cautions[0] };

static double cautions_height(const Ui *ui, double width)
{
    double height = 0.0;
    for (int i = 0; i < CAUTIONS; i++) {
        height += paper_height(ui, width, cautions[i].px, false, ui_say(ui, cautions[i].key));
    }
    return height;
}

static void draw_cautions(const HomeView *place, DrawRect box)
{
    for (int i = 0; i < CAUTIONS; i++) {
        box.y += paper_say(place->ui, box.x, box.y, box.w, cautions[i].px,
                           i == 0 ? DRAW_INK : DRAW_SOFT, cautions[i].key);
    }
}

/* --- The whole ------------------------------------------------------------------------------- */

/* The second way to begin: one sitting, and its result is kept. */
static void draw_assessment(const HomeView *place, DrawRect box, DrawRect words)
{
    Ui *ui = place->ui;
    if (words.w > 0.0) {
        (void)ui_text(ui, words, 16, false, DRAW_SOFT, DRAW_PAPER,
                      paper_is_big(ui) ? DRAW_START : DRAW_END, ui_say(ui, "home.one-sitting"));
    }
    if (paper_choice(ui, ui_id("assess", 0), box, ui_say(ui, "home.assess"), false))
        session_begin_run(place->session, true);
}

static void draw_page(const HomeView *place)
{
    Ui *ui = place->ui;
    double width = ui->width - 2 * UI_MARGIN;
    DrawRect box = {UI_MARGIN, place->top, width, place->bottom - place->top};
    int tab = place->session->pages.tab;
    if (tab == TAB_SCENARIOS) {
        draw_scenarios(place, box);
    } else if (tab == TAB_RUNS) {
        draw_all_runs(place, box);
    } else if (tab == TAB_MORE) {
        box.y = draw_buttons(place, box);
        box.y = draw_switches(place, box);
        draw_cautions(place, box);
    } else {
        double row = paper_row(ui, 19, 59);
        double y = place->bottom - row;
        DrawRect words = {box.x + width * 0.45 + UI_GAP, y, width * 0.55 - UI_GAP, 0};
        double low = draw_now(place, box);
        double caution = paper_height(ui, width, 16, true, ui_say(ui, "caution.reach"));
        if (low <= y - caution)
            (void)paper_words(ui, box.x, y - caution, width, 16, true, ui_say(ui, "caution.reach"));
        draw_assessment(place, (DrawRect){box.x, y, width * 0.45, row}, words);
    }
}

/* The record and what is for oneself, in a column at the right. */
static void draw_side(const HomeView *place, DrawRect box)
{
    Ui *ui = place->ui;
    double buttons = fmax(
        paper_row(ui, 19, 59),
        paper_height(ui, (box.w - 2 * UI_GAP) / 3 - 24, 19, false, ui_say(ui, "home.hide")) + 12.0);
    double switches = paper_row(ui, 19, 59);
    double low =
        box.y + box.h - UI_GAP - cautions_height(ui, box.w) - buttons - switches - 2.0 * UI_GAP;
    double y = box.y + paper_heading(ui, box.x, box.y, box.w, "home.record") + 4.0;
    y = draw_standing(place, (DrawRect){box.x, y, box.w, 0});
    if (place->session->pages.tab != TAB_RUNS)
        (void)lay_runs(place, (DrawRect){box.x, y, box.w, low - UI_GAP - y}, RECENT_RUNS, 0);
    box.y = low;
    box.y = draw_buttons(place, box);
    box.y = draw_switches(place, box);
    draw_cautions(place, box);
}

static void draw_columns(const HomeView *place)
{
    Ui *ui = place->ui;
    double height = place->bottom - place->top;
    double width = ui->width - 3 * UI_MARGIN - 20 - SIDE_WIDTH;
    DrawRect side = {ui->width - UI_MARGIN - SIDE_WIDTH, place->top, SIDE_WIDTH, height};
    DrawRect left = {UI_MARGIN, place->top, width, 0};
    if (place->session->pages.tab == TAB_RUNS) {
        left.y += paper_heading(ui, left.x, left.y, left.w, "home.runs") + 4.0;
        left.h = place->bottom - left.y;
        draw_all_runs(place, left);
    } else {
        left.y += paper_heading(ui, left.x, left.y, left.w, "home.now") + 4.0;
        left.h = now_height(place, left.w);
        (void)draw_now(place, left);
        left.y += left.h + UI_GAP;
        left.y += paper_heading(ui, left.x, left.y, left.w, "home.scenarios") + 4.0;
        left.h = place->bottom - left.y;
        draw_scenarios(place, left);
    }
    draw_side(place, side);
}

/* Notices of the disk stand in the foot until something else happens. */
static void draw_foot(const HomeView *place)
{
    Ui *ui = place->ui;
    Session *session = place->session;
    Text label = {0};
    bool goes_on = session_can_go_on(session);
    const Scenario *next_one =
        goes_on ? player_setup(app_run_player(session->run))->scenario : chosen(place);
    ui_fill(ui, goes_on ? "home.go-on" : "home.start", site_text(next_one->title, ui->language),
            &label);
    if (ui_next(ui, label.bytes)) {
        if (goes_on)
            session_go(session, PLACE_RUN);
        else
            session_begin_run(session, false);
    }
    DrawRect next = ui->list->targets[ui->list->target_count - 1].box;
    text_clear(&label);
    double x = UI_MARGIN + 1.32 * ui->text_percent + UI_GAP;
    if (!paper_is_big(ui) && session->place == PLACE_HOME) {
        double width = 2.4 * ui->text_percent;
        DrawRect box = ui_foot_box(ui, next.x - UI_GAP - width, width);
        DrawRect words = {x, box.y, box.x - UI_GAP - x, 0};
        if (session->notice.len > 0) words.w = 0.0; /* what the disk refused stands there */
        draw_assessment(place, box, words);
    }
    if (session->notice.len > 0) {
        DrawRect at = ui_foot_box(ui, x, next.x - UI_GAP - x);
        if (!paper_is_big(ui)) at.w -= 2.4 * ui->text_percent + UI_GAP;
        paper_line(ui, at, &(PaperInk){16, true, DRAW_INK, DRAW_PAPER, DRAW_START},
                   session->notice.bytes);
    }
    if (ui_back(ui, ui_say(ui, "home.leave"))) {
        session->chosen_person = -1;
        session_go(session, PLACE_DOOR);
    }
}

void place_home(Ui *ui, Session *session)
{
    static const char *const tabs[] = {"home.now", "home.scenarios", "home.runs", "home.more",
                                       NULL};
    HomeView place = {.ui = ui,
                      .session = session,
                      .home = &session->home,
                      .top = ui_head_y(ui) + UI_GAP,
                      .bottom = ui_foot_y(ui) - UI_GAP};
    Text title = {0};
    refresh(session);
    ui_fill(ui, "home.hello", session->people[session->chosen_person].name, &title);
    ui_header(ui, title.bytes, ui_say(ui, "home.training"));
    text_clear(&title);
    if (paper_is_big(ui)) {
        int tab = session->pages.tab;
        place.top = paper_tabs(ui, place.top, tabs, &session->pages.tab);
        if (tab != session->pages.tab) session->pages.page = 0;
        draw_page(&place);
    } else {
        draw_columns(&place);
    }
    draw_foot(&place);
}
