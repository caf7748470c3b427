/* The window's memory: what it reads when it opens, and what happens to a run. */
#include "ui/session.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/inspect.h"
#include "base/os.h"

enum { TICK_US_MAX = 250000, STILL_US = 500000, JSON_SUFFIX_BYTES = 5 };

/* --- Opening --------------------------------------------------------------------------------- */

/* English first, then the others by their tags. */
static bool read_languages(Session *session, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    Text path = {0};
    text_addf(&path, "%s/texts", text_string(&session->assets));
    bool ok = os_folder_list(path.bytes, ".json", &names, &count, err);
    for (int round = 0; ok && round < 2; round++) {
        for (size_t i = 0; ok && i < count; i++) {
            size_t len = strlen(names[i]) - JSON_SUFFIX_BYTES;
            bool english = strcmp(names[i], "en.json") == 0;
            if (english != (round == 0) || len >= sizeof session->languages[0] ||
                session->language_count == SESSION_LANGUAGES_MAX) {
                continue;
            }
            int at = session->language_count;
            text_clear(&path);
            text_addf(&path, "%s/texts/%s", text_string(&session->assets), names[i]);
            memcpy(session->languages[at], names[i], len);
            session->languages[at][len] = '\0';
            ok = texts_load(path.bytes, &session->texts[at], err);
            if (ok) session->language_count++;
        }
    }
    text_clear(&path);
    os_names_free(names, count);
    if (ok && session->language_count == 0) {
        return err_set(err, ERR_IO, "%s/texts: holds no language", text_string(&session->assets));
    }
    return ok;
}

static bool read_scenarios(Session *session, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    const char *folder = text_string(&session->site_folder);
    bool ok = os_folder_list(folder, ".json", &names, &count, err);
    for (size_t i = 0; ok && i < count; i++) {
        SessionScenario *scenario = &session->scenarios[session->scenario_count];
        bool is_site = strcmp(names[i], "site.json") == 0;
        if (is_site || session->scenario_count == SESSION_SCENARIOS_MAX) continue;
        if (strlen(names[i]) >= sizeof scenario->file) continue;
        memcpy(scenario->file, names[i], strlen(names[i]) + 1);
        ok = work_read_beside(session->site, folder, names[i], &scenario->work, err);
        if (!ok) break;
        const char *id = work_scenario(scenario->work)->id;
        memcpy(scenario->id, id, strlen(id) + 1);
        session->scenario_count++;
    }
    os_names_free(names, count);
    if (ok && session->scenario_count == 0) {
        return err_set(err, ERR_INPUT, "%s: holds no scenario", folder);
    }
    return ok;
}

static void add_person(Session *session, const char *name, const char *id, int site)
{
    for (int i = 0; i < session->people_count; i++) {
        SessionPerson *known = &session->people[i];
        if (strcmp(known->name, name) != 0) continue;
        memcpy(known->id, id, strlen(id) + 1);
        return;
    }
    if (session->people_count == SESSION_PEOPLE_MAX || strlen(name) > REC_NAME_BYTES_MAX) return;
    SessionPerson *person = &session->people[session->people_count++];
    memcpy(person->name, name, strlen(name) + 1);
    memcpy(person->id, id, strlen(id) + 1);
    person->site = site;
}

/* Whoever the store knows; whose name was erased is not shown. */
static bool read_people(Session *session, Err *err)
{
    RecPerson *people = NULL;
    size_t count = 0;
    if (!rec_people(session->records, &people, &count, err)) return false;
    for (size_t i = 0; i < count; i++) {
        if (people[i].name.len > 0) {
            add_person(session, people[i].name.bytes, people[i].id, -1);
        }
    }
    rec_people_free(people, count);
    return true;
}

bool session_new(const SessionSetup *setup, Session **out, Err *err)
{
    Session *session = check_calloc(1, sizeof *session);
    session->setup = *setup;
    session->theme = setup->theme;
    session->text_percent = setup->text_percent == 0 ? 100 : setup->text_percent;
    session->chosen_person = -1;
    text_add(&session->assets, setup->assets);
    text_add(&session->site_folder, setup->site_folder);
    text_add(&session->store, setup->store);
    if (!read_languages(session, err) ||
        !work_read_site(setup->assets, setup->site_folder, &session->site, err)) {
        session_free(session);
        return false;
    }
    const Site *site = session_site(session);
    for (int i = 0; i < site->person_count; i++) {
        add_person(session, site->people[i].name, "", i);
    }
    *out = session;
    return true;
}

bool session_open(Session *session, Err *err)
{
    return work_fit(session->site, NULL, NULL, err) && read_scenarios(session, err) &&
           rec_open(text_string(&session->store), REC_CREATE, session->setup.program, NULL,
                    &session->records, err) &&
           read_people(session, err);
}

void session_free(Session *session)
{
    if (session == NULL) return;
    player_free(session->look_back.then);
    app_run_free(session->run);
    bench_clear(&session->bench);
    rec_close(session->records);
    for (int i = 0; i < session->scenario_count; i++) {
        work_free(session->scenarios[i].work);
    }
    work_free(session->site);
    for (int i = 0; i < SESSION_LANGUAGES_MAX; i++) {
        texts_free(session->texts[i]);
    }
    text_clear(&session->assets);
    text_clear(&session->site_folder);
    text_clear(&session->store);
    text_clear(&session->typed);
    text_clear(&session->notice);
    free(session);
}

const Site *session_site(const Session *session)
{
    return work_site(session->site);
}

const char *session_language(const Session *session)
{
    return session->languages[session->language];
}

/* --- One frame ------------------------------------------------------------------------------- */

typedef void PlaceFunction(Ui *ui, Session *session);

static void pass(Session *session, const UiEvent *event, double width, double height,
                 const DrawMeasure *measure, DrawList *out)
{
    static PlaceFunction *const places[PLACE_COUNT] = {[PLACE_DOOR] = place_door,
                                                       [PLACE_HOME] = place_home,
                                                       [PLACE_RUN] = place_run,
                                                       [PLACE_LOOK_BACK] = place_look_back,
                                                       [PLACE_BENCH] = place_bench};
    Ui ui = {.list = out,
             .measure = *measure,
             .texts = session->texts[session->language],
             .language = session_language(session),
             .memory = &session->memory,
             .event = event,
             .text_percent = session->text_percent,
             .width = width,
             .height = height};
    ui_begin(&ui, session->theme);
    places[session->place](&ui, session);
    ui_end(&ui);
}

void session_frame(Session *session, const UiEvent *event, double width, double height,
                   const DrawMeasure *measure, DrawList *out)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    if (event->kind != UI_NOTHING) pass(session, event, width, height, measure, out);
    pass(session, &nothing, width, height, measure, out);
}

void session_go(Session *session, Place place)
{
    session->place = place;
    session->pages = (Pages){0};
    session->memory = (UiMemory){.focus_is_shown = session->memory.focus_is_shown};
}

void session_enter(Session *session, int person)
{
    SessionPerson *who = &session->people[person];
    Err err = {0};
    if (person != session->chosen_person) session_break_off(session); /* it was somebody else's */
    session->chosen_person = person;
    if (who->id[0] == '\0' && !app_person(session->records, who->name, who->id, &err)) {
        who->id[0] = '\0';
        text_clear(&session->notice);
        text_add(&session->notice, err.text);
        return;
    }
    session_go(session, PLACE_HOME);
}

/* --- The run --------------------------------------------------------------------------------- */

/* The packs as they are now: after each action, and else every half second. */
static void take_still(Session *session)
{
    RunView *view = &session->view;
    view->still_count = line_picture(player_line(app_run_player(session->run)), view->still);
    view->still_us = 0;
}

/* What can be heard of the log's newest lines; and since when its twin is seen. */
static void hear(Session *session)
{
    static const struct {
        HappeningKind kind;
        Sound sound;
    } heard[] = {{HAPPENING_ALARM, SOUND_FOUND},         {HAPPENING_BLOW, SOUND_BLOW},
                 {HAPPENING_LINE_STOPPED, SOUND_STOP},   {HAPPENING_LINE_STARTED, SOUND_START},
                 {HAPPENING_ROW_WRITTEN, SOUND_WRITTEN}, {HAPPENING_SIGNED, SOUND_WRITTEN},
                 {HAPPENING_NOT_POSSIBLE, SOUND_REFUSED}};
    size_t count;
    const LogLine *log = player_log(app_run_player(session->run), &count);
    for (; session->view.heard < count; session->view.heard++) {
        const LogLine *line = &log[session->view.heard];
        if (log_is(line, HAPPENING_ALARM)) session->view.last_alarm_us = line->time_us;
        if (log_is(line, HAPPENING_BLOW)) session->view.last_blow_us = line->time_us;
        for (size_t i = 0; i < sizeof heard / sizeof heard[0]; i++) {
            if (!session->is_silent && log_is(line, heard[i].kind))
                session->sounds[heard[i].sound] = true;
        }
    }
}

bool session_can_go_on(const Session *session)
{
    return session->run != NULL && !player_has_ended(app_run_player(session->run));
}

void session_break_off(Session *session)
{
    if (session_can_go_on(session)) session_do(session, log_action(ACTION_LEAVE, 0));
}

void session_begin_run(Session *session, bool is_assessment)
{
    AppRun *run = NULL;
    Err err = {0};
    AppRunSetup setup = {.seed = app_seed(), .is_assessment = is_assessment};
    (void)snprintf(setup.language, sizeof setup.language, "%s", session_language(session));
    const Work *work = session->scenarios[session->chosen_scenario].work;
    text_clear(&session->notice);
    if (!app_run_begin(work, &setup, &run, &err)) {
        text_add(&session->notice, err.text);
        return;
    }
    session_break_off(session);
    player_free(session->look_back.then);
    app_run_free(session->run);
    session->look_back = (LookBack){0};
    session->run = run;
    session->is_assessment = is_assessment;
    session->is_recorded = false;
    session->view = (RunView){.counts_itself = is_assessment,
                              .answer = -1,
                              .opened_pass = -1,
                              .pace = 1,
                              .spot = SITE_MIDDLE,
                              .cell = -1,
                              .hold_minutes = -1,
                              .last_alarm_us = -1,
                              .last_blow_us = -1};
    take_still(session);
    session_go(session, PLACE_RUN);
}

void session_record(Session *session)
{
    Err err = {0};
    if (session->is_recorded || !player_has_ended(app_run_player(session->run))) return;
    session->is_recorded = true;
    const char *person = session->people[session->chosen_person].id;
    if (!app_run_record(session->run, session->records, person, &session->entry, &err)) {
        text_clear(&session->notice);
        text_add(&session->notice, err.text);
    }
}

void session_do(Session *session, LogLine action)
{
    action.time_us = player_now_us(app_run_player(session->run));
    session->view.is_ending = false;
    (void)app_run_do(session->run, &action);
    take_still(session);
    hear(session);
    if (player_has_ended(app_run_player(session->run))) session_record(session);
}

bool session_moves(const Session *session)
{
    if (session->place == PLACE_BENCH) return bench_moves(&session->bench);
    return session->place == PLACE_RUN && session->run != NULL && session->view.opened_pass < 0 &&
           !player_has_ended(app_run_player(session->run));
}

void session_tick(Session *session, int64_t elapsed_us)
{
    if (!session_moves(session) || elapsed_us <= 0) return;
    int64_t step_us = elapsed_us < TICK_US_MAX ? elapsed_us : TICK_US_MAX;
    if (session->place == PLACE_BENCH) {
        bench_tick(&session->bench, session->is_calm ? BENCH_PASS_US : step_us);
        return;
    }
    int64_t line_us = session->is_assessment ? step_us : step_us * session->view.pace;
    app_run_advance(session->run, player_now_us(app_run_player(session->run)) + line_us);
    session->view.still_us += step_us;
    if (session->view.still_us >= STILL_US) take_still(session);
    hear(session);
    if (player_has_ended(app_run_player(session->run))) session_record(session);
}
