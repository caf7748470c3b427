/* Reading the competences of a site. */
#include "scenario/competence.h"

#include <string.h>

#include "scenario/suggest.h"

enum { RULE_MONTHS_MAX = 60, RULE_HOURS_MAX = 720, RULE_FAILS_MAX = 10, RULE_DAYS_MAX = 365 };

CompetenceRules competence_rules_default(void)
{
    return (CompetenceRules){
        .valid_months = 12,
        .first_review_months = 3,
        .absence_months = 3,
        .retake_wait_hours = 24,
        .fails_before_retrain = 2,
        .due_days = 30,
        .other_form_after_failure = true,
        .trainer_not_sole_assessor = true,
        .named_buddy = true,
    };
}

static bool read_rules(const JsonValue *value, CompetenceRules *out, Err *err)
{
    static const char *const keys[] = {"valid_months",
                                       "first_review_months",
                                       "absence_months",
                                       "retake_wait_hours",
                                       "fails_before_retrain",
                                       "due_days",
                                       "other_form_after_failure",
                                       "trainer_not_sole_assessor",
                                       "named_buddy",
                                       NULL};
    const JsonValue *rules = json_get(value, "rules");
    *out = competence_rules_default();
    if (rules == NULL) return true;
    const struct {
        const char *key;
        int64_t min, max, *out;
    } numbers[] = {
        {"valid_months", 1, RULE_MONTHS_MAX, &out->valid_months},
        {"first_review_months", 0, RULE_MONTHS_MAX, &out->first_review_months},
        {"absence_months", 0, RULE_MONTHS_MAX, &out->absence_months},
        {"retake_wait_hours", 0, RULE_HOURS_MAX, &out->retake_wait_hours},
        {"fails_before_retrain", 0, RULE_FAILS_MAX, &out->fails_before_retrain},
        {"due_days", 0, RULE_DAYS_MAX, &out->due_days},
    };
    if (!json_want_object(rules, "rules", keys, err)) return false;
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        if (!json_read_integer(rules, numbers[i].key, false, numbers[i].min, numbers[i].max,
                               numbers[i].out, err))
            return false;
    }
    return json_read_bool(rules, "other_form_after_failure", false, &out->other_form_after_failure,
                          err) &&
           json_read_bool(rules, "trainer_not_sole_assessor", false,
                          &out->trainer_not_sole_assessor, err) &&
           json_read_bool(rules, "named_buddy", false, &out->named_buddy, err);
}

/* A list of 1 to max ids under `key`, each once. */
static bool read_ids(const JsonValue *value, const char *key, int max, const char *out[],
                     const JsonValue **list, Err *err)
{
    if (!json_need(value, key, list, err)) return false;
    if (!json_want_array(*list, key, 1, (size_t)max, err)) return false;
    for (size_t i = 0; i < json_count(*list); i++) {
        const JsonValue *item = json_at(*list, i);
        if (json_kind(item) != JSON_STRING || !text_is_id(json_string(item))) {
            return err_at(err, json_place(item), "%s must hold ids, such as \"d1\"", key);
        }
        out[i] = json_string(item);
        for (size_t j = 0; j < i; j++) {
            if (strcmp(out[j], out[i]) == 0) {
                return err_at(err, json_place(item), "\"%s\" is there twice", out[i]);
            }
        }
    }
    return true;
}

static bool read_lines(const Site *site, const JsonValue *value, Competence *out, Err *err)
{
    const char *known[SITE_LINES_MAX + 1] = {NULL};
    const JsonValue *list;
    if (!read_ids(value, "lines", SITE_LINES_MAX, out->lines, &list, err)) return false;
    out->line_count = (int)json_count(list);
    for (int i = 0; i < site->line_count; i++) {
        known[i] = site->lines[i].id;
    }
    for (int i = 0; i < out->line_count; i++) {
        if (site_find_line(site, out->lines[i]) >= 0) continue;
        Text text = {0};
        text_addf(&text, "there is no line \"%s\" in this site", out->lines[i]);
        (void)suggest_fail(json_place(json_at(list, (size_t)i)), text.bytes, out->lines[i], known,
                           err);
        text_clear(&text);
        return false;
    }
    return true;
}

static bool read_scenarios(const JsonValue *value, Competence *out, Err *err)
{
    const JsonValue *list;
    if (!read_ids(value, "scenarios", COMPETENCE_SCENARIOS_MAX, out->scenarios, &list, err))
        return false;
    out->scenario_count = (int)json_count(list);
    for (int i = 0; i < out->scenario_count; i++) {
        out->scenario_places[i] = json_place(json_at(list, (size_t)i));
    }
    return true;
}

static bool read_checklist(const JsonValue *value, Competence *out, Err *err)
{
    static const char *const keys[] = {"id", "text", NULL};
    const JsonValue *list;
    if (!json_need(value, "checklist", &list, err)) return false;
    if (!json_want_array(list, "checklist", 1, COMPETENCE_ITEMS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++, out->item_count++) {
        const JsonValue *item = json_at(list, i);
        CompetenceItem *into = &out->checklist[i];
        if (!json_want_object(item, "checklist", keys, err)) return false;
        if (!json_read_id(item, "id", true, &into->id, err)) return false;
        if (!site_read_text(item, "text", true, &into->text, err)) return false;
        for (size_t j = 0; j < i; j++) {
            if (strcmp(out->checklist[j].id, into->id) == 0) {
                return err_at(err, json_place(json_get(item, "id")), "id \"%s\" is there twice",
                              into->id);
            }
        }
    }
    return true;
}

static bool read_competence(const Site *site, const JsonValue *value, Competence *out, Err *err)
{
    static const char *const keys[] = {"id",        "title",     "role",  "lines",
                                       "scenarios", "checklist", "rules", NULL};
    int role = 0;
    out->place = json_place(value);
    if (!json_want_object(value, "competence", keys, err)) return false;
    if (!json_read_id(value, "id", true, &out->id, err)) return false;
    if (competence_find(site, out->id) != NULL) {
        return err_at(err, json_place(json_get(value, "id")), "id \"%s\" is there twice", out->id);
    }
    if (!site_read_text(value, "title", true, &out->title, err)) return false;
    if (!json_read_word(value, "role", true, site_job_words, &role, err)) return false;
    out->role = (SiteJob)role;
    return read_lines(site, value, out, err) && read_scenarios(value, out, err) &&
           read_checklist(value, out, err) && read_rules(value, &out->rules, err);
}

bool competence_read_all(Site *site, const JsonValue *root, Err *err)
{
    const JsonValue *list = json_get(root, "competences");
    if (list == NULL) return true;
    if (!json_want_array(list, "competences", 1, COMPETENCES_MAX, err)) return false;
    site->competences = check_calloc(json_count(list), sizeof *site->competences);
    for (size_t i = 0; i < json_count(list); i++, site->competence_count++) {
        if (!read_competence(site, json_at(list, i), &site->competences[i], err)) return false;
    }
    return true;
}

const Competence *competence_find(const Site *site, const char *id)
{
    for (int i = 0; i < site->competence_count; i++) {
        if (strcmp(site->competences[i].id, id) == 0) return &site->competences[i];
    }
    return NULL;
}
