/* The door: who is here, in which language, how large and in which colours. It shows nothing of
 * anybody's results. */
#include <math.h>
#include <string.h>

#include "ui/paper.h"
#include "ui/session.h"

enum { SIDE_WIDTH = 456, FIELD_BYTES_MAX = 64, GROUP_OFFICE = SITE_SHIFT_COUNT, GROUP_OTHERS };

static const char *const group_keys[] = {"shift.early", "shift.late",  "shift.night",
                                         "shift.day",   "door.office", "door.others"};

/* The people who are listed now, by group, and where the list stands. */
typedef struct {
    Ui *ui;
    Session *session;
    DrawRect box;
    int people[SESSION_PEOPLE_MAX], groups[SESSION_PEOPLE_MAX];
    int count;
    double row; /* the height of one name */
} Names;

/* --- Typing ---------------------------------------------------------------------------------- */

/* Letters of ASCII without their case; others as they are. */
static char plain(char letter)
{
    if (letter < 'A' || letter > 'Z') return letter;
    return (char)(letter - 'A' + 'a');
}

static bool holds(const char *name, const char *typed)
{
    for (; *name != '\0'; name++) {
        size_t i = 0;
        while (typed[i] != '\0' && plain(name[i]) == plain(typed[i])) {
            i++;
        }
        if (typed[i] == '\0') return true;
    }
    return typed[0] == '\0';
}

static bool is_whole(const char *name, const char *typed)
{
    return strlen(name) == strlen(typed) && holds(name, typed);
}

static void choose(Session *session, int person)
{
    session->chosen_person = person;
    session->pages.page = 0;
    text_clear(&session->typed);
    text_clear(&session->notice);
}

/* Enter takes the one whose name was typed, or the only one it can be: so does a badge reader. */
static void take_typed(Names *names)
{
    Session *session = names->session;
    const char *typed = text_string(&session->typed);
    int taken = -1;
    int fits = 0;
    for (int i = 0; i < session->people_count; i++) {
        const char *name = session->people[i].name;
        if (!holds(name, typed)) continue;
        if (is_whole(name, typed)) {
            taken = i;
            fits = 1;
            break;
        }
        taken = i;
        fits++;
    }
    if (fits != 1) return;
    choose(session, taken);
    session->memory.focus = ui_id("next", 0);
}

static void take_back(Text *typed)
{
    while (typed->len > 0) {
        typed->len--;
        bool inside = ((unsigned char)typed->bytes[typed->len] & 0xC0) == 0x80;
        typed->bytes[typed->len] = '\0';
        if (!inside) return;
    }
}

/* Letters go to the field from wherever the keys are; a space only when it has them, for elsewhere
 * it presses. */
static void type(Names *names)
{
    Ui *ui = names->ui;
    Session *session = names->session;
    Text *typed = &session->typed;
    uint32_t field = ui_id("search", 0);
    const UiEvent *event = ui->event;
    bool has_focus = session->memory.focus == field;
    if (event->kind == UI_TYPED && (has_focus || event->text[0] != ' ')) {
        ui->is_used = true;
        if (typed->len + strlen(event->text) > FIELD_BYTES_MAX) return;
        if (typed->len > 0 || event->text[0] != ' ') text_add(typed, event->text);
        session->memory.focus = field;
        session->pages = (Pages){0};
    } else if (ui_key(ui, field, UI_KEY_BACKSPACE)) {
        take_back(typed);
    } else if (typed->len > 0 && ui_key(ui, field, UI_KEY_ENTER)) {
        take_typed(names);
    } else if (event->kind == UI_KEY && event->key == UI_KEY_ESCAPE) {
        text_clear(typed);
    }
}

static void draw_field(Ui *ui, Session *session, DrawRect box)
{
    const char *typed = text_string(&session->typed);
    bool empty = typed[0] == '\0';
    PaperInk ink = {19, !empty, empty ? DRAW_SOFT : DRAW_INK, DRAW_SHEET, DRAW_START};
    draw_rect(ui->list, (DrawRect){box.x + 1, box.y + 1, box.w - 2, box.h - 2}, DRAW_SHEET,
              DRAW_INK, 2, 6);
    paper_line(ui, (DrawRect){box.x + 20, box.y, box.w - 40, box.h}, &ink,
               empty ? ui_say(ui, "door.type") : typed);
    (void)ui_area(ui, ui_id("search", 0), box, 59);
}

/* --- The names ------------------------------------------------------------------------------- */

/* Who checks lines by shift, then the office, then whom only the records know. */
static int group_of(const Session *session, int person)
{
    int known = session->people[person].site;
    if (known < 0) return GROUP_OTHERS;
    const SitePerson *who = &session_site(session)->people[known];
    return who->job <= SITE_JOB_LINE_LEADER ? (int)who->shift : GROUP_OFFICE;
}

static void list_names(Names *names)
{
    const Session *session = names->session;
    for (int group = 0; group <= GROUP_OTHERS; group++) {
        for (int i = 0; i < session->people_count; i++) {
            if (group_of(session, i) != group) continue;
            if (!holds(session->people[i].name, text_string(&session->typed))) continue;
            names->people[names->count] = i;
            names->groups[names->count++] = group;
        }
    }
}

/* The first two letters, as on a coat hook. */
static void initials(const char *name, char out[9])
{
    size_t len = 0;
    for (int letters = 0; name[len] != '\0' && len < 8; len++) {
        bool begins = ((unsigned char)name[len] & 0xC0) != 0x80;
        if (begins && ++letters > 2) break;
        out[len] = name[len];
    }
    out[len] = '\0';
}

static void draw_name(const Names *names, int person, DrawRect box)
{
    Ui *ui = names->ui;
    Session *session = names->session;
    bool chosen = session->chosen_person == person;
    UiButton button = {.box = box, .look = chosen ? UI_CHOSEN : UI_PLAIN};
    uint32_t id = ui_id("name", person);
    if (ui_button(ui, id, &button)) choose(session, person);
    char letters[9];
    double side = box.h - 18.0;
    DrawRect badge = {box.x + 15, box.y + 9, side, side};
    initials(session->people[person].name, letters);
    draw_rect(ui->list, badge, DRAW_TINT, DRAW_INK, 2, 4);
    paper_line(ui, badge, &(PaperInk){16, true, DRAW_INK, DRAW_TINT, DRAW_MIDDLE}, letters);
    double x = badge.x + side + 16.0;
    double end = box.x + box.w - 18.0;
    DrawRole role;
    DrawRole ground = paper_face(ui, id, box, chosen, &role);
    if (chosen && !paper_is_big(ui)) {
        const char *word = ui_say(ui, "door.chosen");
        double width = ui_width(ui, 16, false, word) + 2.0;
        paper_line(ui, (DrawRect){end - width, box.y, width, box.h},
                   &(PaperInk){16, false, role, ground, DRAW_END}, word);
        end -= width + 12.0;
    }
    paper_line(ui, (DrawRect){x, box.y, end - x, box.h},
               &(PaperInk){24, chosen, role, ground, DRAW_START}, session->people[person].name);
}

/* Lay the names out in pages that end at `bottom`, and draw one of them; -1: none. Returns how many
 * pages there are. */
static int lay_names(const Names *names, double bottom, int drawn)
{
    Ui *ui = names->ui;
    int columns = paper_is_big(ui) ? 3 : 2;
    double width = (names->box.w - UI_GAP * (columns - 1)) / columns;
    double title = paper_is_big(ui) ? 0.0 : draw_line_height(ui_px(ui, 19)) + 6.0;
    double y = names->box.y;
    int page = 0;
    int column = 0;
    for (int i = 0; i < names->count; i++) {
        bool new_group = i == 0 || names->groups[i] != names->groups[i - 1];
        if (column == columns || (new_group && i > 0 && title > 0.0)) {
            y += names->row + UI_GAP;
            column = 0;
        }
        double head = new_group ? title : 0.0;
        if (column == 0 && y > names->box.y && y + head + names->row > bottom) {
            page++;
            y = names->box.y;
        }
        if (head > 0.0) {
            if (page == drawn) {
                (void)paper_words(ui, names->box.x, y, names->box.w, 19, true,
                                  ui_say(ui, group_keys[names->groups[i]]));
            }
            y += head;
        }
        DrawRect box = {names->box.x + column * (width + UI_GAP), y, width, names->row};
        if (page == drawn) draw_name(names, names->people[i], box);
        column++;
    }
    return page + 1;
}

static void draw_names(Names *names)
{
    Ui *ui = names->ui;
    Session *session = names->session;
    DrawRect box = names->box;
    double turn = paper_row(ui, 19, 59);
    double bottom = box.y + box.h;
    if (names->count == 0) {
        (void)paper_say(ui, box.x, box.y, box.w, 19, DRAW_INK, "door.nobody");
        return;
    }
    int pages = lay_names(names, bottom, -1);
    if (pages > 1) {
        bottom -= turn + UI_GAP;
        pages = lay_names(names, bottom, -1);
    }
    int page = session->pages.page < pages ? session->pages.page : pages - 1;
    (void)lay_names(names, bottom, page);
    DrawRect at = {box.x, box.y + box.h - turn, fmin(box.w, 360), turn};
    paper_pages(ui, "names", at, pages, &session->pages.page);
}

/* --- How it looks ---------------------------------------------------------------------------- */

/* A row of choices under a heading; returns the chosen one's index. */
typedef struct {
    const char *name, *title;
    const char *labels[4];
    int count, chosen;
} Choices;

static int draw_choices(Ui *ui, const Choices *choices, DrawRect *at)
{
    int chosen = choices->chosen;
    bool beside = paper_is_big(ui); /* the heading stands left of its row */
    double height = paper_row(ui, 19, 59);
    double x = at->x + (beside ? 0.3 * at->w : 0.0);
    double width = (at->x + at->w - x - UI_GAP * (choices->count - 1)) / choices->count;
    const char *title = ui_say(ui, choices->title);
    if (beside) {
        paper_line(ui, (DrawRect){at->x, at->y, 0.3 * at->w - UI_GAP, height},
                   &(PaperInk){19, true, DRAW_INK, DRAW_PAPER, DRAW_START}, title);
    } else {
        at->y += paper_words(ui, at->x, at->y, at->w, 19, true, title) + 6.0;
    }
    for (int i = 0; i < choices->count; i++) {
        DrawRect box = {x + i * (width + UI_GAP), at->y, width, height};
        if (paper_choice(ui, ui_id(choices->name, i), box, choices->labels[i], i == chosen))
            chosen = i;
    }
    at->y += height + UI_GAP;
    return chosen;
}

static void draw_settings(Ui *ui, Session *session, DrawRect at)
{
    static const int percents[] = {100, 125, 150, 200};
    Choices language = {
        .name = "language", .title = "door.language", .count = session->language_count};
    for (int i = 0; i < session->language_count; i++) {
        language.labels[i] = texts_get(session->texts[i], "ui", "language.name");
    }
    language.chosen = session->language;
    session->language = draw_choices(ui, &language, &at);
    Choices size = {.name = "size",
                    .title = "door.size",
                    .labels = {"100\xC2\xA0%", "125\xC2\xA0%", "150\xC2\xA0%", "200\xC2\xA0%"},
                    .count = 4,
                    .chosen = -1};
    for (int i = 0; i < size.count; i++) {
        if (percents[i] == session->text_percent) size.chosen = i;
    }
    int chosen = draw_choices(ui, &size, &at);
    if (chosen >= 0) session->text_percent = percents[chosen];
    if (!paper_is_big(ui))
        at.y += paper_say(ui, at.x, at.y - 4.0, at.w, 16, DRAW_INK, "door.enlarge") + 4.0;
    Choices theme = {.name = "theme",
                     .title = "door.theme",
                     .labels = {ui_say(ui, "theme.light"), ui_say(ui, "theme.dark"),
                                ui_say(ui, "theme.contrast")},
                     .count = DRAW_THEME_COUNT,
                     .chosen = (int)session->theme};
    session->theme = (DrawTheme)draw_choices(ui, &theme, &at);
    at.y += paper_is_big(ui) ? 0.0 : UI_GAP;
    at.y += paper_say(ui, at.x, at.y, at.w, 16, DRAW_SOFT, "caution.detector");
    (void)paper_say(ui, at.x, at.y, at.w, 16, DRAW_SOFT, "caution.pieces");
}

/* --- The whole ------------------------------------------------------------------------------- */

/* Our sign: three strokes through a frame. */
static void draw_sign(Ui *ui, double x, double y)
{
    draw_rect(ui->list, (DrawRect){x + 10, y, 14, 30}, DRAW_NONE, DRAW_INK, 3, 0);
    for (int i = 0; i < 3; i++) {
        DrawPoint stroke[] = {{x, y + 7 + 8 * i}, {x + 34, y + 7 + 8 * i}};
        draw_line(ui->list, stroke, 2, DRAW_INK, 3);
    }
}

static void draw_foot(Ui *ui, Session *session)
{
    double room = ui->width - 2.0 * UI_MARGIN;
    bool chosen = session->chosen_person >= 0;
    if (chosen && ui_next(ui, ui_say(ui, "door.come-in"))) {
        session_enter(session, session->chosen_person);
        return;
    }
    if (chosen) room = ui->list->targets[ui->list->target_count - 1].box.x - 2.0 * UI_MARGIN;
    DrawRect box = {UI_MARGIN, ui_foot_y(ui) + 14.0, room, 0};
    const char *words = ui_say(ui, chosen ? "door.ask" : "door.choose");
    if (session->notice.len > 0) words = session->notice.bytes;
    (void)ui_text(ui, box, 19, session->notice.len > 0, DRAW_INK, DRAW_PAPER, DRAW_START, words);
}

void place_door(Ui *ui, Session *session)
{
    static const char *const tabs[] = {"door.names", "door.settings", NULL};
    bool big = paper_is_big(ui);
    Names names = {.ui = ui, .session = session, .row = paper_row(ui, 24, 59)};
    type(&names);
    list_names(&names);
    ui_header(ui, "Threepass", site_text(session_site(session)->name, ui->language));
    draw_sign(ui, ui->width - UI_MARGIN - 34, 22);
    double y = ui_head_y(ui) + UI_GAP;
    double bottom = ui_foot_y(ui) - UI_GAP;
    double field = paper_row(ui, 19, 59);
    double width = ui->width - 2.0 * UI_MARGIN;
    if (big) {
        y = paper_tabs(ui, y, tabs, &session->pages.tab);
    } else {
        DrawRect side = {ui->width - UI_MARGIN - SIDE_WIDTH, y, SIDE_WIDTH, bottom - y};
        y += paper_heading(ui, UI_MARGIN, y, width - SIDE_WIDTH, "door.who") + 6.0;
        width -= SIDE_WIDTH + 56.0;
        session->pages.tab = 0;
        draw_field(ui, session, (DrawRect){UI_MARGIN, y, width, field});
        y += field + UI_GAP;
        names.box = (DrawRect){UI_MARGIN, y, width, bottom - y};
        draw_names(&names);
        draw_settings(ui, session, side);
    }
    if (big && session->pages.tab == 0) {
        draw_field(ui, session, (DrawRect){UI_MARGIN, y, width, field});
        y += field + UI_GAP;
        names.box = (DrawRect){UI_MARGIN, y, width, bottom - y};
        draw_names(&names);
    } else if (big) {
        draw_settings(ui, session, (DrawRect){UI_MARGIN, y, width, bottom - y});
    }
    draw_foot(ui, session);
}
