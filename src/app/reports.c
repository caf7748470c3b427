/* Gathering what reports say. */
#include "app/reports.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/calendar.h"
#include "records/event_of.h"
#include "scenario/competence.h"

const char *const reports_words[] = {"board", "tonight",     "person", "certificate",
                                     "line",  "observation", NULL};

enum { WEEK_DAYS = 7, HEAD_BYTES_MAX = 4096 };

/* What every report over a store needs. */
typedef struct {
    const ReportsAsk *ask;
    ReportWords words;
    ReportHead head;
    RecHead *heads;
    size_t head_count;
    RecStationEnd *ends;
    RecMoment moment;
    RecPerson *people; /* by id */
    size_t person_count;
    Page *kept; /* only a place for texts, until the report is built */
} Gathered;

static const char *get_text(const void *context, const char *section, const char *key)
{
    return texts_get(context, section, key);
}

static int by_id(const void *a, const void *b)
{
    return strcmp(((const RecPerson *)a)->id, ((const RecPerson *)b)->id);
}

/* Elements of a list that may be absent. */
static size_t count_of(const JsonValue *list)
{
    return list == NULL ? 0 : json_count(list);
}

/* A person's name, "" once erased; of the station and of an unknown id the id itself. */
static const char *name_of(const Gathered *all, const char *id)
{
    RecPerson wanted = {0};
    size_t len = strlen(id);
    if (len >= sizeof wanted.id) return id;
    memcpy(wanted.id, id, len + 1);
    const RecPerson *person =
        bsearch(&wanted, all->people, all->person_count, sizeof wanted, by_id);
    return person == NULL ? id : text_string(&person->name);
}

/* The same as it is written in a sentence. */
static const char *said_name(const Gathered *all, const char *id)
{
    return id[0] == '\0' ? "" : report_name(&all->words, name_of(all, id));
}

static bool read_heads(Gathered *all, Err *err)
{
    const ReportsAsk *ask = all->ask;
    int64_t last_us = 0;
    if (!rec_heads(ask->records, &all->heads, &all->head_count, err)) return false;
    all->ends = check_calloc(all->head_count + 1, sizeof *all->ends);
    for (size_t i = 0; i < all->head_count; i++) {
        const RecHead *head = &all->heads[i];
        int64_t time_us = 0;
        if (!rec_stamp_read(head->time, &time_us)) continue;
        if (time_us > last_us) last_us = time_us;
        if (strcmp(head->station, rec_station(ask->records)) == 0) {
            all->head.station = head->station;
            all->head.entries = head->number;
            all->head.hash = head->hash.hex;
        } else {
            all->ends[all->moment.end_count++] = (RecStationEnd){head->station, time_us};
        }
    }
    all->moment.ends = all->ends;
    all->moment.as_of_us = rec_moment_us(ask->clock_us, last_us);
    return true;
}

static bool gather(const ReportsAsk *ask, Gathered *all, Err *err)
{
    *all = (Gathered){.ask = ask,
                      .words = {get_text, ask->texts, ask->language},
                      .head = {.station = "", .hash = ""},
                      .moment = {.as_of_us = ask->clock_us},
                      .kept = page_new("", "", 0)};
    all->head.site = site_text(ask->site->name, ask->language);
    bool ok =
        ask->records == NULL ||
        (read_heads(all, err) && rec_people(ask->records, &all->people, &all->person_count, err));
    if (ok && all->person_count > 0) {
        qsort(all->people, all->person_count, sizeof *all->people, by_id);
    }
    if (ask->has_day) all->moment.as_of_us = rec_day_begins_us(ask->day + 1) - 1;
    all->head.as_of_us = all->moment.as_of_us;
    return ok;
}

static void gathered_clear(Gathered *all)
{
    rec_people_free(all->people, all->person_count);
    free(all->heads);
    free(all->ends);
    page_free(all->kept);
}

/* The id of the person who is asked for. */
static bool find_person(const Gathered *all, const char *name, char person[REC_ID_BYTES], Err *err)
{
    bool found = false;
    if (name == NULL) return err_set(err, ERR_INPUT, "threepass: --person NAME is missing");
    if (!rec_person_find(all->ask->records, name, person, &found, err)) return false;
    return found ||
           err_set(err, ERR_INPUT, "threepass: nobody in this store is called \"%s\"", name);
}

static bool find_competence(const Gathered *all, const Competence **out, Err *err)
{
    const char *id = all->ask->competence;
    if (id == NULL) return err_set(err, ERR_INPUT, "threepass: --competence ID is missing");
    *out = competence_find(all->ask->site, id);
    return *out != NULL ||
           err_set(err, ERR_INPUT, "threepass: the site has no competence \"%s\"", id);
}

/* --- Board ----------------------------------------------------------------------------------- */

/* Everybody's cells, in the order of names. */
typedef struct {
    RecEventSet *set;
    RecCell *cells; /* in the order of the set, as `begun` */
    bool *begun;
    size_t *order; /* people of the set by name, erased ones last */
    size_t people, competences;
} Grid;

static void grid_clear(Grid *grid)
{
    rec_event_set_free(grid->set);
    free(grid->cells);
    free(grid->begun);
    free(grid->order);
}

typedef struct {
    const Gathered *all;
    Grid *grid;
} Marking;

/* The set's index of a person, its count for none. */
static size_t index_of(const RecEventSet *set, const char *person)
{
    size_t low = 0;
    size_t high = rec_event_set_people(set);
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(rec_event_set_person(set, middle), person);
        if (order == 0) return middle;
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return rec_event_set_people(set);
}

static bool has_scenario(const Competence *competence, const char *id)
{
    for (int i = 0; i < competence->scenario_count; i++) {
        if (strcmp(competence->scenarios[i], id) == 0) return true;
    }
    return false;
}

/* An assignment to a competence, or a run of one of its scenarios, begins a cell. */
static bool mark_begun(void *context, const RecFact *fact, Err *err)
{
    const Marking *marking = context;
    Grid *grid = marking->grid;
    const Site *site = marking->all->ask->site;
    size_t person = index_of(grid->set, fact->person);
    (void)err;
    if (person == grid->people || fact->time_us > marking->all->moment.as_of_us) return true;
    for (size_t i = 0; i < grid->competences; i++) {
        const Competence *competence = &site->competences[i];
        bool is_about = strcmp(fact->kind, "run") == 0 ? has_scenario(competence, fact->subject)
                                                       : strcmp(competence->id, fact->subject) == 0;
        if (is_about) grid->begun[person * grid->competences + i] = true;
    }
    return true;
}

typedef struct {
    const char *name;
    size_t index;
} Named;

static int by_name(const void *a, const void *b)
{
    const Named *one = a;
    const Named *two = b;
    bool erased = one->name[0] == '\0';
    if (erased != (two->name[0] == '\0')) return erased ? 1 : -1;
    int order = strcmp(one->name, two->name);
    return order != 0 ? order : one->index < two->index ? -1 : 1;
}

static void sort_people(const Gathered *all, Grid *grid)
{
    Named *names = check_calloc(grid->people + 1, sizeof *names);
    for (size_t i = 0; i < grid->people; i++) {
        names[i] = (Named){name_of(all, rec_event_set_person(grid->set, i)), i};
    }
    if (grid->people > 0) qsort(names, grid->people, sizeof *names, by_name);
    for (size_t i = 0; i < grid->people; i++) {
        grid->order[i] = names[i].index;
    }
    free(names);
}

static bool grid_make(const Gathered *all, Grid *grid, Err *err)
{
    Records *records = all->ask->records;
    const Site *site = all->ask->site;
    Marking marking = {all, grid};
    *grid = (Grid){.competences = (size_t)site->competence_count};
    if (!rec_events_read(records, NULL, &grid->set, err)) return false;
    grid->people = rec_event_set_people(grid->set);
    grid->cells = rec_cells(grid->set, site->competences, grid->competences, &all->moment);
    grid->begun = check_calloc(grid->people * grid->competences + 1, sizeof *grid->begun);
    grid->order = check_calloc(grid->people + 1, sizeof *grid->order);
    for (size_t i = 0; i < grid->people * grid->competences; i++) {
        grid->begun[i] =
            grid->cells[i].state != REC_IN_TRAINING || grid->cells[i].why != REC_WHY_IN_TRAINING;
    }
    sort_people(all, grid);
    return rec_facts(records, NULL, "assignment", mark_begun, &marking, err) &&
           rec_facts(records, NULL, "run", mark_begun, &marking, err);
}

static ReportCompetence competence_of(const Gathered *all, const Competence *competence)
{
    return (ReportCompetence){competence->id, site_text(competence->title, all->ask->language)};
}

static bool make_board(const Gathered *all, Page **out, Err *err)
{
    Grid grid = {0};
    if (!grid_make(all, &grid, err)) {
        grid_clear(&grid);
        return false;
    }
    size_t count = grid.people * grid.competences;
    const char **people = check_calloc(grid.people + 1, sizeof *people);
    ReportCompetence *competences = check_calloc(grid.competences + 1, sizeof *competences);
    RecCell *cells = check_calloc(count + 1, sizeof *cells);
    bool *begun = check_calloc(count + 1, sizeof *begun);
    for (size_t i = 0; i < grid.competences; i++) {
        competences[i] = competence_of(all, &all->ask->site->competences[i]);
    }
    for (size_t i = 0; i < grid.people; i++) {
        size_t from = grid.order[i] * grid.competences;
        people[i] = name_of(all, rec_event_set_person(grid.set, grid.order[i]));
        for (size_t j = 0; j < grid.competences; j++) {
            cells[i * grid.competences + j] = grid.cells[from + j];
            begun[i * grid.competences + j] = grid.begun[from + j];
        }
    }
    const ReportBoard board = {.head = &all->head,
                               .competences = competences,
                               .competence_count = grid.competences,
                               .people = people,
                               .person_count = grid.people,
                               .cells = cells,
                               .begun = begun};
    *out = report_board(&board, &all->words);
    free(people);
    free(competences);
    free(cells);
    free(begun);
    grid_clear(&grid);
    return true;
}

/* --- Tonight --------------------------------------------------------------------------------- */

typedef struct {
    const Gathered *all;
    Grid grid;
    bool *is_here; /* of each person of the set */
    ReportTonight report;
    const char **here;
    ReportCover *covers;
    ReportTurn *ends, *waits;
    ReportStation *stations;
} Tonight;

static void tonight_clear(Tonight *tonight)
{
    grid_clear(&tonight->grid);
    free(tonight->is_here);
    free(tonight->here);
    free(tonight->covers);
    free(tonight->ends);
    free(tonight->waits);
    free(tonight->stations);
}

static bool is_named(const Gathered *all, const char *name)
{
    const ReportsAsk *ask = all->ask;
    bool is_found = ask->here_count == 0 && ask->site->person_count == 0;
    for (size_t i = 0; i < ask->here_count && !is_found; i++) {
        is_found = strcmp(ask->here[i], name) == 0;
    }
    for (int i = 0; ask->here_count == 0 && i < ask->site->person_count && !is_found; i++) {
        is_found = strcmp(ask->site->people[i].name, name) == 0;
    }
    return is_found;
}

/* Who is here, by name: of those in the store whom the asker, or else the site, names. */
static bool find_here(Tonight *tonight, Err *err)
{
    const Gathered *all = tonight->all;
    char ignored[REC_ID_BYTES];
    for (size_t i = 0; i < all->ask->here_count; i++) {
        if (!find_person(all, all->ask->here[i], ignored, err)) return false;
    }
    tonight->here = check_calloc(all->person_count + 1, sizeof *tonight->here);
    tonight->is_here = check_calloc(tonight->grid.people + 1, sizeof *tonight->is_here);
    size_t count = 0;
    for (size_t i = 0; i < all->person_count; i++) {
        const char *name = text_string(&all->people[i].name);
        size_t index = index_of(tonight->grid.set, all->people[i].id);
        if (name[0] == '\0' || !is_named(all, name)) continue;
        if (index < tonight->grid.people) tonight->is_here[index] = true;
        size_t at = count++;
        for (; at > 0 && strcmp(tonight->here[at - 1], name) > 0; at--) {
            tonight->here[at] = tonight->here[at - 1];
        }
        tonight->here[at] = name;
    }
    tonight->report.here = tonight->here;
    tonight->report.here_count = count;
    tonight->report.is_here_given = all->ask->here_count > 0;
    return true;
}

/* The bit of a line in a competence, 0 for none. */
static uint64_t line_bit(const Competence *competence, const char *line)
{
    for (int i = 0; i < competence->line_count; i++) {
        if (strcmp(competence->lines[i], line) == 0) return (uint64_t)1 << i;
    }
    return 0;
}

/* May the person, who is here, check the line alone? */
static bool covers_alone(const Tonight *tonight, size_t person, const char *line)
{
    const Grid *grid = &tonight->grid;
    for (size_t i = 0; i < grid->competences && person < grid->people; i++) {
        uint64_t bit = line_bit(&tonight->all->ask->site->competences[i], line);
        const RecCell *cell = &grid->cells[person * grid->competences + i];
        if (tonight->is_here[person] && (cell->lines & bit) != 0) return true;
    }
    return false;
}

/* Add the person's cover of a line by one competence, if there is any; beside a buddy only when
 * that one is here and may do it alone. */
static bool add_cover(Tonight *tonight, const SiteLine *line, size_t person, size_t competence)
{
    const Gathered *all = tonight->all;
    const Grid *grid = &tonight->grid;
    const Competence *rules = &all->ask->site->competences[competence];
    const RecCell *cell = &grid->cells[person * grid->competences + competence];
    uint64_t bit = line_bit(rules, line->id);
    const char *id = rec_event_set_person(grid->set, person);
    ReportCover cover = {.line = site_text(line->name, all->ask->language),
                         .person = name_of(all, id),
                         .until_day = cell->next_day};
    if (!tonight->is_here[person] || ((cell->lines | cell->buddy_lines) & bit) == 0) return false;
    if ((cell->lines & bit) == 0) {
        RecStanding standing;
        rec_standing(grid->set, rules, id, &all->moment, &standing);
        if (!covers_alone(tonight, index_of(grid->set, standing.buddy), line->id)) return false;
        cover.buddy = name_of(all, standing.buddy);
    }
    tonight->covers[tonight->report.cover_count++] = cover;
    return true;
}

static void find_covers(Tonight *tonight)
{
    const Site *site = tonight->all->ask->site;
    const Grid *grid = &tonight->grid;
    size_t most = (size_t)site->line_count * (grid->people * grid->competences + 1);
    tonight->covers = check_calloc(most + 1, sizeof *tonight->covers);
    for (int l = 0; l < site->line_count; l++) {
        bool is_covered = false;
        for (size_t i = 0; i < grid->people; i++) {
            for (size_t c = 0; c < grid->competences; c++) {
                bool adds = add_cover(tonight, &site->lines[l], grid->order[i], c);
                is_covered = is_covered || adds;
            }
        }
        if (is_covered) continue;
        tonight->covers[tonight->report.cover_count++] =
            (ReportCover){.line = site_text(site->lines[l].name, tonight->all->ask->language)};
    }
    tonight->report.covers = tonight->covers;
}

static void find_turns(Tonight *tonight)
{
    const Gathered *all = tonight->all;
    const Grid *grid = &tonight->grid;
    size_t count = grid->people * grid->competences;
    int32_t today = rec_day_of(all->moment.as_of_us);
    tonight->ends = check_calloc(count + 1, sizeof *tonight->ends);
    tonight->waits = check_calloc(count + 1, sizeof *tonight->waits);
    for (size_t i = 0; i < count; i++) {
        size_t person = grid->order[i / grid->competences];
        size_t competence = i % grid->competences;
        const RecCell *cell = &grid->cells[person * grid->competences + competence];
        bool stands = cell->state == REC_STANDS || cell->state == REC_DUE;
        ReportTurn turn = {.person = name_of(all, rec_event_set_person(grid->set, person)),
                           .competence =
                               competence_of(all, &all->ask->site->competences[competence]).title,
                           .state = cell->state,
                           .day = stands ? cell->next_day : cell->since_day};
        if ((stands && cell->next_day != 0 && cell->next_day <= today + WEEK_DAYS) ||
            (cell->state == REC_LAPSED && cell->since_day > today - WEEK_DAYS)) {
            tonight->ends[tonight->report.end_count++] = turn;
        }
        if (cell->state == REC_OBSERVED) tonight->waits[tonight->report.wait_count++] = turn;
    }
    tonight->report.ends = tonight->ends;
    tonight->report.waits = tonight->waits;
}

/* An import says up to where each station is known. */
static bool mark_merged(void *context, const RecFact *fact, Err *err)
{
    Tonight *tonight = context;
    JsonDoc *doc = NULL;
    if (!json_parse("import", fact->value, strlen(fact->value), &doc, err)) return false;
    const JsonValue *list = json_get(json_root(doc), "stations");
    for (size_t i = 0; i < count_of(list); i++) {
        const JsonValue *name = json_get(json_at(list, i), "station");
        for (size_t s = 0; name != NULL && s < tonight->report.station_count; s++) {
            ReportStation *station = &tonight->stations[s];
            if (strcmp(station->station, json_string(name)) != 0) continue;
            if (fact->time_us > station->merged_us) station->merged_us = fact->time_us;
        }
    }
    json_free(doc);
    return true;
}

static bool find_stations(Tonight *tonight, Err *err)
{
    const Gathered *all = tonight->all;
    tonight->stations = check_calloc(all->head_count + 1, sizeof *tonight->stations);
    for (size_t i = 0; i < all->head_count; i++) {
        if (strcmp(all->heads[i].station, all->head.station) == 0) continue;
        tonight->stations[tonight->report.station_count++] =
            (ReportStation){.station = all->heads[i].station, .entries = all->heads[i].number};
    }
    tonight->report.stations = tonight->stations;
    return rec_facts(all->ask->records, NULL, "import", mark_merged, tonight, err);
}

/* The copy's head names the time of its last entry, on its fourth line. */
static bool find_backup(Tonight *tonight, Err *err)
{
    const char *folder = tonight->all->ask->backup;
    Text path = {0};
    Text head = {0};
    char stamp[REC_STAMP_BYTES] = "";
    if (folder == NULL) return true;
    text_addf(&path, "%s/head", folder);
    bool ok = os_file_read(path.bytes, HEAD_BYTES_MAX, &head, err);
    const char *line = text_string(&head);
    for (int i = 0; i < 3 && line != NULL; i++) {
        line = strchr(line, '\n');
        if (line != NULL) line++;
    }
    if (line != NULL && strcspn(line, "\n") == REC_STAMP_BYTES - 1) {
        memcpy(stamp, line, REC_STAMP_BYTES - 1);
    }
    if (ok && !rec_stamp_read(stamp, &tonight->report.backup_us)) {
        ok = err_set(err, ERR_INPUT, "%s: is no head of a store", path.bytes);
    }
    text_clear(&path);
    text_clear(&head);
    return ok;
}

static bool make_tonight(const Gathered *all, Page **out, Err *err)
{
    Tonight tonight = {.all = all, .report = {.head = &all->head}};
    bool ok = grid_make(all, &tonight.grid, err) && find_here(&tonight, err) &&
              find_stations(&tonight, err) && find_backup(&tonight, err);
    if (ok) {
        find_covers(&tonight);
        find_turns(&tonight);
        *out = report_tonight(&tonight.report, &all->words);
    }
    tonight_clear(&tonight);
    return ok;
}

/* --- Line and observation -------------------------------------------------------------------- */

static bool make_line(const Gathered *all, Page **out, Err *err)
{
    const ReportsAsk *ask = all->ask;
    if (ask->line == NULL) return err_set(err, ERR_INPUT, "threepass: --line ID is missing");
    int line = site_find_line(ask->site, ask->line);
    if (line < 0) {
        return err_set(err, ERR_INPUT, "threepass: the site has no line \"%s\"", ask->line);
    }
    *out = report_line(ask->site, line, &all->head, &all->words);
    return true;
}

static bool make_observation(const Gathered *all, Page **out, Err *err)
{
    const ReportsAsk *ask = all->ask;
    const Competence *competence = NULL;
    const char *line_name = NULL;
    if (!find_competence(all, &competence, err)) return false;
    CHECK(competence != NULL);
    if (ask->line != NULL) {
        if (line_bit(competence, ask->line) == 0) {
            return err_set(err, ERR_INPUT, "threepass: the competence has no line \"%s\"",
                           ask->line);
        }
        int line = site_find_line(ask->site, ask->line);
        line_name = site_text(ask->site->lines[line].name, ask->language);
    }
    *out =
        report_observation(ask->site, competence, ask->person, line_name, &all->head, &all->words);
    return true;
}

/* --- Person and certificate ------------------------------------------------------------------ */

/* A person's entries, in order of time, and the bodies of those that are signed or from paper. */
typedef struct {
    const Gathered *all;
    ReportEntry *entries;
    const char **values;
    size_t count;
} History;

/* A text of the body, kept; "" for none. */
static const char *take(const Gathered *all, const JsonValue *body, const char *key)
{
    const JsonValue *value = json_get(body, key);
    if (value == NULL || json_kind(value) != JSON_STRING) return "";
    return page_keep(all->kept, json_string(value));
}

static bool take_bool(const JsonValue *body, const char *key)
{
    const JsonValue *value = json_get(body, key);
    return value != NULL && json_kind(value) == JSON_BOOL && json_bool(value);
}

/* The veiled text that one of these fields commits to. */
static bool take_veiled(const Gathered *all, const JsonValue *body, ReportEntry *entry, Err *err)
{
    static const char *const keys[] = {"text", "remark", "signed_by"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const char *commitment = take(all, body, keys[i]);
        Text text = {0};
        bool is_there = false;
        if (commitment[0] == '\0') continue;
        if (!rec_text(all->ask->records, commitment, &text, &is_there, err)) return false;
        if (is_there) entry->text = page_keep(all->kept, text_string(&text));
        entry->is_text_erased = !is_there;
        text_clear(&text);
    }
    return true;
}

static void take_answers(const JsonValue *body, ReportEntry *entry)
{
    const JsonValue *answers = json_get(body, "answers");
    entry->answers = (int)count_of(answers);
    for (size_t i = 0; i < count_of(answers); i++) {
        entry->answers_yes += strcmp(json_string(json_at(answers, i)), "yes") == 0;
    }
}

/* Lines by their names, one after the other. */
static const char *take_lines(const Gathered *all, const JsonValue *list)
{
    Text text = {0};
    for (size_t i = 0; i < count_of(list); i++) {
        const char *id = json_string(json_at(list, i));
        int line = site_find_line(all->ask->site, id);
        text_addf(&text, "%s%s", i == 0 ? "" : ", ",
                  line < 0 ? id : site_text(all->ask->site->lines[line].name, all->ask->language));
    }
    const char *kept = page_keep(all->kept, text_string(&text));
    text_clear(&text);
    return kept;
}

/* A word of the ledger as people say it: the text under "prefix-word", else the word. */
static const char *said_word(const Gathered *all, const char *prefix, const char *word)
{
    Text key = {0};
    text_addf(&key, "%s-%s", prefix, word);
    const char *text = report_say(&all->words, key.bytes);
    const char *kept = page_keep(all->kept, strcmp(text, key.bytes) == 0 ? word : text);
    text_clear(&key);
    return kept;
}

static const char *subject_of(const Gathered *all, const JsonValue *body)
{
    static const char *const keys[] = {"scenario", "role", "why", "what"};
    const char *id = take(all, body, "competence");
    const Competence *competence = competence_find(all->ask->site, id);
    if (competence != NULL) return competence_of(all, competence).title;
    for (size_t i = 0; i < sizeof keys / sizeof keys[0] && id[0] == '\0'; i++) {
        id = take(all, body, keys[i]);
        if (id[0] != '\0') id = said_word(all, keys[i], id);
    }
    return id;
}

static const char *line_of(const Gathered *all, const JsonValue *body)
{
    const char *id = take(all, body, "line");
    int line = site_find_line(all->ask->site, id);
    if (line >= 0) return site_text(all->ask->site->lines[line].name, all->ask->language);
    return id[0] != '\0' ? id : take_lines(all, json_get(body, "lines"));
}

static bool read_entry(const Gathered *all, const RecFact *fact, const JsonValue *body,
                       ReportEntry *entry, Err *err)
{
    const char *decision = take(all, body, "decision");
    const char *day = take(all, body, "seen_on");
    const char *supervised_by = take(all, body, "supervised_by");
    *entry = (ReportEntry){
        .time_us = fact->time_us,
        .kind = page_keep(all->kept, fact->kind),
        .subject = subject_of(all, body),
        .word = decision[0] != '\0' ? decision : take(all, body, "verdict"),
        .by = strcmp(fact->author, "station") == 0 ? report_say(&all->words, "by-station")
                                                   : said_name(all, fact->author),
        .other =
            said_name(all, supervised_by[0] != '\0' ? supervised_by : take(all, body, "buddy")),
        .line = line_of(all, body),
        .sheet = take(all, body, "sheet"),
        .text = take(all, body, "reason"),
        .day = day[0] != '\0' ? day : take(all, body, "signed_on"),
        .until = take(all, body, "good_until"),
        .hash = page_keep(all->kept, fact->hash),
        .about = take(all, body, "about"),
        .is_good = take_bool(body, "good") || take_bool(body, "given"),
        .is_scripted = take_bool(body, "scripted"),
        .is_assessment = strcmp(take(all, body, "mode"), "assessment") == 0,
    };
    take_answers(body, entry);
    return take_veiled(all, body, entry, err);
}

static bool add_entry(void *context, const RecFact *fact, Err *err)
{
    History *history = context;
    const Gathered *all = history->all;
    JsonDoc *doc = NULL;
    if (fact->time_us > all->moment.as_of_us) return true;
    if (!json_parse("entry", fact->value, strlen(fact->value), &doc, err)) return false;
    if ((history->count & (history->count + 1)) == 0) {
        size_t room = 2 * (history->count + 1);
        history->entries = check_realloc(history->entries, room, sizeof *history->entries);
        history->values = check_realloc(history->values, room, sizeof *history->values);
    }
    bool ok = read_entry(all, fact, json_root(doc), &history->entries[history->count], err);
    bool is_wanted = strcmp(fact->kind, "signature") == 0 || strcmp(fact->kind, "paper") == 0;
    history->values[history->count] = is_wanted ? page_keep(all->kept, fact->value) : NULL;
    if (ok) history->count++;
    json_free(doc);
    return ok;
}

static size_t history_find(const History *history, const char *hash)
{
    size_t at = 0;
    while (at < history->count && strcmp(history->entries[at].hash, hash) != 0) {
        at++;
    }
    return at;
}

static bool history_read(const Gathered *all, const char *person, History *out, Err *err)
{
    *out = (History){.all = all};
    if (!rec_facts(all->ask->records, person, NULL, add_entry, out, err)) return false;
    for (size_t i = 0; i < out->count; i++) {
        if (strcmp(out->entries[i].kind, "void") != 0) continue;
        size_t at = history_find(out, out->entries[i].about);
        if (at < out->count) out->entries[at].is_void = true;
    }
    return true;
}

static void history_clear(History *history)
{
    free(history->entries);
    free(history->values);
}

/* Is anything known of the person's competence? */
static bool is_begun(const History *history, const Competence *competence,
                     const RecStanding *standing)
{
    const char *title = competence_of(history->all, competence).title;
    bool begun = standing->state != REC_IN_TRAINING || standing->reason_count > 1;
    for (size_t i = 0; i < history->count && !begun; i++) {
        const ReportEntry *entry = &history->entries[i];
        begun = strcmp(entry->kind, "run") == 0 ? has_scenario(competence, entry->subject)
                                                : strcmp(entry->subject, title) == 0;
    }
    return begun;
}

/* One standing with its sentences; `reasons` has room for REC_WHY_COUNT. */
static void tell_standing(const Gathered *all, const Competence *competence,
                          const RecStanding *standing, const char **reasons, ReportStanding *out)
{
    *out = (ReportStanding){.competence = competence_of(all, competence),
                            .standing = standing,
                            .reasons = reasons,
                            .reason_count = (size_t)standing->reason_count};
    for (int i = 0; i < standing->reason_count; i++) {
        Text text = {0};
        texts_tell_standing(all->ask->texts, &standing->reasons[i], &text);
        reasons[i] = page_keep(all->kept, text_string(&text));
        text_clear(&text);
    }
}

/* The roles that a person has: the latest word on each counts. */
static const char *roles_of(const Gathered *all, const History *history)
{
    Text text = {0};
    for (size_t i = 0; i < history->count; i++) {
        const ReportEntry *entry = &history->entries[i];
        bool is_last = strcmp(entry->kind, "role") == 0 && entry->is_good;
        for (size_t j = i + 1; j < history->count && is_last; j++) {
            is_last = strcmp(history->entries[j].kind, "role") != 0 ||
                      strcmp(history->entries[j].subject, entry->subject) != 0;
        }
        if (is_last) text_addf(&text, "%s%s", text.len == 0 ? "" : ", ", entry->subject);
    }
    const char *kept = page_keep(all->kept, text_string(&text));
    text_clear(&text);
    return kept;
}

static bool make_person(const Gathered *all, Page **out, Err *err)
{
    const Site *site = all->ask->site;
    size_t count = (size_t)site->competence_count;
    char person[REC_ID_BYTES];
    RecEventSet *set = NULL;
    History history = {0};
    RecStanding *standings = check_calloc(count + 1, sizeof *standings);
    ReportStanding *told = check_calloc(count + 1, sizeof *told);
    const char **reasons = check_calloc(count * REC_WHY_COUNT + 1, sizeof *reasons);
    bool ok = find_person(all, all->ask->person, person, err) &&
              rec_events_read(all->ask->records, person, &set, err) &&
              history_read(all, person, &history, err);
    size_t begun = 0;
    for (size_t i = 0; ok && i < count; i++) {
        rec_standing(set, &site->competences[i], person, &all->moment, &standings[begun]);
        if (!is_begun(&history, &site->competences[i], &standings[begun])) continue;
        tell_standing(all, &site->competences[i], &standings[begun],
                      reasons + begun * REC_WHY_COUNT, &told[begun]);
        begun++;
    }
    if (ok) {
        const ReportPerson report = {.head = &all->head,
                                     .name = name_of(all, person),
                                     .id = person,
                                     .roles = roles_of(all, &history),
                                     .standings = told,
                                     .standing_count = begun,
                                     .entries = history.entries,
                                     .entry_count = history.count};
        *out = report_person(&report, &all->words);
    }
    rec_event_set_free(set);
    history_clear(&history);
    free(standings);
    free(told);
    free(reasons);
    return ok;
}

static const char *said_product(const Gathered *all, const char *id)
{
    int product = site_find_product(all->ask->site, id);
    if (product < 0) return id;
    return site_text(all->ask->site->products[product].name, all->ask->language);
}

/* The words of a standing's list, a blank between two there, by their names and with commas: of
 * checks or of products. */
static const char *said_list(const Gathered *all, const char *list, bool is_checks)
{
    Text text = {0};
    while (*list != '\0') {
        Text word = {0};
        size_t len = strcspn(list, " ");
        text_add_bytes(&word, list, len);
        text_addf(&text, "%s%s", text.len == 0 ? "" : ", ",
                  is_checks ? said_word(all, "check", word.bytes) : said_product(all, word.bytes));
        list += len + strspn(list + len, " ");
        text_clear(&word);
    }
    const char *kept = page_keep(all->kept, text_string(&text));
    text_clear(&text);
    return kept;
}

static const char *covered_lines(const Gathered *all, const Competence *competence,
                                 const RecStanding *standing)
{
    uint64_t bits = standing->lines | standing->buddy_lines;
    Text text = {0};
    for (int i = 0; i < competence->line_count; i++) {
        int line = site_find_line(all->ask->site, competence->lines[i]);
        if ((bits & (uint64_t)1 << i) == 0 || line < 0) continue;
        text_addf(&text, "%s%s", text.len == 0 ? "" : "; ",
                  site_text(all->ask->site->lines[line].name, all->ask->language));
    }
    const char *kept = page_keep(all->kept, text_string(&text));
    text_clear(&text);
    return kept;
}

/* What the signature names, and who has acknowledged it. `evidence` has room for all entries. */
static bool fill_signature(const History *history, size_t at, ReportEntry *evidence,
                           ReportCertificate *out, Err *err)
{
    const Gathered *all = history->all;
    JsonDoc *doc = NULL;
    const char *value = history->values[at];
    if (!json_parse("entry", value, strlen(value), &doc, err)) return false;
    const JsonValue *list = json_get(json_root(doc), "evidence");
    out->signature = &history->entries[at];
    out->meaning = take(all, json_root(doc), "meaning");
    out->key = take(all, json_root(doc), "key");
    for (size_t i = 0; i < count_of(list); i++) {
        size_t found = history_find(history, json_string(json_at(list, i)));
        if (found < history->count) evidence[out->evidence_count++] = history->entries[found];
    }
    out->evidence = evidence;
    for (size_t i = 0; i < history->count; i++) {
        const ReportEntry *entry = &history->entries[i];
        bool is_it = strcmp(entry->kind, "acknowledgement") == 0 &&
                     strcmp(entry->about, out->signature->hash) == 0;
        if (is_it) out->acknowledged_us = entry->time_us;
    }
    json_free(doc);
    return true;
}

static bool make_certificate(const Gathered *all, Page **out, bool *is_yes, Err *err)
{
    const Competence *competence = NULL;
    const char *reasons[REC_WHY_COUNT];
    char person[REC_ID_BYTES];
    RecEventSet *set = NULL;
    History history = {0};
    RecStanding standing;
    ReportEntry *evidence = NULL;
    bool ok = find_person(all, all->ask->person, person, err) &&
              find_competence(all, &competence, err) &&
              rec_events_read(all->ask->records, person, &set, err) &&
              history_read(all, person, &history, err);
    if (ok) {
        CHECK(competence != NULL);
        rec_standing(set, competence, person, &all->moment, &standing);
        ReportCertificate report = {.head = &all->head,
                                    .person = name_of(all, person),
                                    .id = person,
                                    .lines = covered_lines(all, competence, &standing),
                                    .products = said_list(all, standing.products, false),
                                    .checks = said_list(all, standing.checks, true),
                                    .buddy = name_of(all, standing.buddy),
                                    .meaning = "",
                                    .key = ""};
        size_t at = history_find(&history, standing.signature);
        evidence = check_calloc(REC_LIST_MAX + 1, sizeof *evidence);
        tell_standing(all, competence, &standing, reasons, &report.standing);
        *is_yes = report_is_signed(&standing) && at < history.count;
        if (at < history.count) ok = fill_signature(&history, at, evidence, &report, err);
        if (ok) *out = report_certificate(&report, &all->words);
    }
    rec_event_set_free(set);
    history_clear(&history);
    free(evidence);
    return ok;
}

/* --------------------------------------------------------------------------------------------- */

bool reports_make(ReportsKind kind, const ReportsAsk *ask, Page **out, bool *is_yes, Err *err)
{
    CHECK(ask->site != NULL && ask->texts != NULL);
    CHECK(ask->records != NULL || kind == REPORTS_LINE || kind == REPORTS_OBSERVATION);
    Gathered all;
    bool ok = gather(ask, &all, err);
    *is_yes = true;
    if (ok) {
        switch (kind) {
        case REPORTS_BOARD:
            ok = make_board(&all, out, err);
            break;
        case REPORTS_TONIGHT:
            ok = make_tonight(&all, out, err);
            break;
        case REPORTS_PERSON:
            ok = make_person(&all, out, err);
            break;
        case REPORTS_CERTIFICATE:
            ok = make_certificate(&all, out, is_yes, err);
            break;
        case REPORTS_LINE:
            ok = make_line(&all, out, err);
            break;
        case REPORTS_OBSERVATION:
            ok = make_observation(&all, out, err);
            break;
        case REPORTS_COUNT:
            CHECK(false);
        }
    }
    gathered_clear(&all);
    return ok;
}
