/* threepass records standing: where a person stands with the site's competences, and why. */
#include <string.h>

#include "cli/desk.h"
#include "records/calendar.h"

static void add_day(const char *key, int32_t day, Text *out)
{
    char text[REC_DAY_BYTES];
    if (day == 0) return;
    rec_day_print(day, text);
    text_addf(out, ", \"%s\": \"%s\"", key, text);
}

static void add_json(const Competence *competence, const RecStanding *standing, Text *out)
{
    text_addf(out,
              "{\"id\": \"%s\", \"state\": \"%s\", \"from_paper\": %s, \"with_buddy\": %s, "
              "\"provisional\": %s",
              competence->id, rec_state_words[standing->state],
              standing->from_paper ? "true" : "false", standing->with_buddy ? "true" : "false",
              standing->provisional ? "true" : "false");
    add_day("since", standing->since_day, out);
    add_day("good_until", standing->good_until_day, out);
    add_day("next", standing->next_day, out);
    text_addf(out, ", \"signature\": \"%s\", \"lines\": [", standing->signature);
    const char *comma = "";
    for (int i = 0; i < competence->line_count; i++) {
        if ((standing->lines >> i & 1) == 0) continue;
        text_addf(out, "%s\"%s\"", comma, competence->lines[i]);
        comma = ", ";
    }
    text_add(out, "], \"reasons\": [");
    for (int i = 0; i < standing->reason_count; i++) {
        const RecReason *reason = &standing->reasons[i];
        text_addf(out, "%s{\"why\": \"%s\", \"number\": %lld", i == 0 ? "" : ", ",
                  rec_why_words[reason->why], (long long)reason->number);
        add_day("date", reason->day, out);
        text_add(out, "}");
    }
    text_add(out, "]}");
}

static void add_people(const Desk *desk, const Competence *competence, const RecStanding *standing,
                       Text *out)
{
    text_addf(out, "%s (%s): %s\n", site_text(competence->title, "en"), competence->id,
              rec_state_words[standing->state]);
    for (int i = 0; i < standing->reason_count; i++) {
        text_add(out, "  ");
        texts_tell_standing(desk->texts, &standing->reasons[i], out);
        text_add(out, "\n");
    }
}

/* Whether the person may do the task alone. */
static bool tell(const Desk *desk, const Competence *competence, const PeopleView *view,
                 const char *person, bool json, Text *out)
{
    RecStanding standing;
    rec_standing(view->set, competence, person, &view->moment, &standing);
    if (json)
        add_json(competence, &standing, out);
    else
        add_people(desk, competence, &standing, out);
    return (standing.state == REC_STANDS || standing.state == REC_DUE) && !standing.with_buddy;
}

/* One competence, or all; *all_signed is the answer. */
static void tell_all(const Desk *desk, const Competence *only, const PeopleView *view,
                     const char *person, bool json, bool *all_signed, Text *out)
{
    const char *comma = "";
    *all_signed = true;
    for (int i = 0; i < desk->site->competence_count; i++) {
        const Competence *competence = &desk->site->competences[i];
        if (only != NULL && competence != only) continue;
        if (json) text_add(out, comma);
        if (!tell(desk, competence, view, person, json, out)) *all_signed = false;
        comma = ",\n  ";
    }
}

int records_standing(int argc, char **argv)
{
    enum { COMPETENCE = DESK_OPTION_COUNT, JSON, END };
    CliOption options[] = {DESK_OPTIONS, [COMPETENCE] = {.name = "--competence", .takes = "ID"},
                           [JSON] = {.name = "--json"}, [END] = {0}};
    CliWords words = {.min = 1, .max = 1};
    const Competence *only = NULL;
    PeopleView view = {0};
    Desk desk = {0};
    Text out = {0};
    char person[REC_ID_BYTES];
    bool all_signed = false;
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_open(options, DESK_READS | DESK_AT_SITE, &desk, &err) &&
              people_find(desk.records, words.words[0], person, &err) &&
              (!options[COMPETENCE].given ||
               desk_competence(&desk, options[COMPETENCE].value, &only, &err)) &&
              people_view(desk.records, person, &view, &err);
    if (ok) {
        bool json = options[JSON].given;
        if (json) text_addf(&out, "{\"person\": \"%s\", \"competences\": [\n  ", person);
        tell_all(&desk, only, &view, person, json, &all_signed, &out);
        if (json) text_add(&out, "]}\n");
    }
    int code = ok ? cli_print(&out, all_signed ? CLI_DONE : CLI_NO) : cli_fail(&err);
    text_clear(&out);
    people_view_clear(&view);
    desk_close(&desk);
    return code;
}
