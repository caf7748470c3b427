/* Reading a scenario's rubric and the scripts that prove it. */
#include "scenario/reading.h"

#include <string.h>

/* "K4" after 'K' as 4; 0 for anything else, so that no number has two forms. */
static int number_after(char letter, const char *text, int max)
{
    int64_t number;
    if (text[0] != letter || text[1] == '0' || !text_to_int(text + 1, &number)) return 0;
    return number >= 1 && number <= max ? (int)number : 0;
}

static int critical_number(const char *text)
{
    return number_after('K', text, SCENARIO_CRITICAL_MAX);
}

bool reading_mistake(const JsonValue *object, const char **out, Err *err)
{
    *out = "";
    if (!json_read_string(object, "mistake", false, 1, 8, out, err)) return false;
    if ((*out)[0] == '\0' || number_after('M', *out, SCENARIO_MISTAKES_MAX) != 0) return true;
    return err_at(err, json_place(json_get(object, "mistake")), "mistake is \"%s\", limit M1..M%d",
                  *out, SCENARIO_MISTAKES_MAX);
}

bool reading_pattern(const JsonValue *need, const char *key, RubricPattern *out, Err *err)
{
    if (!json_read_string(need, key, false, 1, SCENARIO_NEED_BYTES - 1, &out->text, err))
        return false;
    if (out->text == NULL) return true;
    out->place = json_place(json_get(need, key));
    out->place.column++; /* behind the quotation mark */
    return true;
}

/* A list of patterns, or of names of fields. */
bool reading_patterns(const JsonValue *need, const char *key, int min, int max, RubricPattern *out,
                      int *count, Err *err)
{
    const JsonValue *list = json_get(need, key);
    if (list == NULL) return true;
    if (!json_want_array(list, key, (size_t)min, (size_t)max, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING) {
            return err_at(err, json_place(item), "%s must hold strings", key);
        }
        size_t len = strlen(json_string(item));
        if (len < 1 || len > SCENARIO_NEED_BYTES - 1) {
            return err_at(err, json_place(item), "%s holds one of %zu bytes, limit 1..%d", key, len,
                          SCENARIO_NEED_BYTES - 1);
        }
        out[i] = (RubricPattern){json_string(item), json_place(item)};
        out[i].place.column++; /* behind the quotation mark */
    }
    *count = (int)json_count(list);
    return true;
}

/* Keys that only some of the forms take. */
static bool want_keys_of_form(const JsonValue *need, const RubricNeed *out, Err *err)
{
    const struct {
        const char *key, *of;
        bool fits;
    } rows[] = {
        {"at_least", "seen", out->seen.text != NULL},
        {"followed_by", "for_every", out->for_every.text != NULL},
        {"preceded_by", "for_every", out->for_every.text != NULL},
        {"same", "for_every", out->for_every.text != NULL},
        {"within_s", "after or for_every", out->after.text != NULL || out->for_every.text != NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const JsonValue *value = json_get(need, rows[i].key);
        if (value == NULL || rows[i].fits) continue;
        return err_at(err, json_place(value), "%s belongs to %s, and this need holds none",
                      rows[i].key, rows[i].of);
    }
    bool one = (out->followed_by.text != NULL) != (out->preceded_by.text != NULL);
    if (out->for_every.text == NULL || one) return true;
    return err_at(err, out->place, "for_every goes with one of followed_by and preceded_by");
}

static bool read_need(const JsonValue *value, RubricNeed *out, Err *err)
{
    static const char *const keys[] = {
        "rule",     "seen", "never",       "in_order",    "after",     "before",    "within_s",
        "at_least", "same", "followed_by", "preceded_by", "for_every", "put_right", NULL};
    const JsonValue *need;
    int64_t within_s = 0;
    if (!json_need(value, "need", &need, err)) return false;
    if (!json_want_object(need, "need", keys, err)) return false;
    out->place = json_place(need);
    out->at_least = 1;
    if (!json_read_id(need, "rule", false, &out->rule, err) ||
        !reading_pattern(need, "seen", &out->seen, err) ||
        !reading_pattern(need, "never", &out->never, err) ||
        !reading_patterns(need, "in_order", 2, SCENARIO_ORDER_MAX, out->in_order,
                          &out->in_order_count, err) ||
        !reading_pattern(need, "for_every", &out->for_every, err) ||
        !reading_pattern(need, "followed_by", &out->followed_by, err) ||
        !reading_pattern(need, "preceded_by", &out->preceded_by, err) ||
        !reading_patterns(need, "same", 1, SCENARIO_ORDER_MAX, out->same, &out->same_count, err) ||
        !reading_pattern(need, "after", &out->after, err) ||
        !reading_pattern(need, "before", &out->before, err) ||
        !reading_pattern(need, "put_right", &out->put_right, err) ||
        !json_read_integer(need, "within_s", false, 1, SCENARIO_WITHIN_S_MAX, &within_s, err) ||
        !json_read_integer(need, "at_least", false, 1, 10000, &out->at_least, err))
        return false;
    out->within_us = within_s * 1000000;
    int forms = (out->rule != NULL) + (out->seen.text != NULL) + (out->never.text != NULL) +
                (out->in_order_count > 0) + (out->for_every.text != NULL);
    if (forms != 1) {
        return err_at(err, out->place,
                      "need holds %d of rule, seen, never, in_order and for_every, must hold one",
                      forms);
    }
    if (out->rule != NULL && json_count(need) != 1) {
        return err_at(err, out->place, "a ready-made rule stands alone in need");
    }
    return want_keys_of_form(need, out, err);
}

static bool read_rubric_line(const Scenario *scenario, const JsonValue *value, RubricLine *out,
                             Err *err)
{
    static const char *const keys[] = {"id",  "critical", "points", "text",
                                       "why", "mistake",  "need",   NULL};
    const char *critical = "";
    if (!json_want_object(value, "rubric line", keys, err)) return false;
    if (!json_read_id(value, "id", true, &out->id, err)) return false;
    for (int i = 0; i < scenario->rubric_count; i++) {
        if (strcmp(scenario->rubric[i].id, out->id) == 0) {
            return err_at(err, json_place(json_get(value, "id")),
                          "rubric line \"%s\" is there twice", out->id);
        }
    }
    out->place = json_place(value);
    if (!json_read_id(value, "critical", false, &critical, err)) return false;
    out->critical = critical_number(critical);
    if (critical[0] != '\0' && out->critical == 0) {
        return err_at(err, json_place(json_get(value, "critical")),
                      "critical is \"%s\", limit K1..K13", critical);
    }
    return json_read_integer(value, "points", true, 0, 1000, &out->points, err) &&
           site_read_text(value, "text", true, &out->text, err) &&
           site_read_text(value, "why", false, &out->why, err) &&
           reading_mistake(value, &out->mistake, err) && read_need(value, &out->need, err);
}

bool reading_rubric(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list;
    int64_t points = 0;
    if (!json_need(root, "rubric", &list, err)) return false;
    if (!json_want_array(list, "rubric", 1, SCENARIO_RUBRIC_MAX, err)) return false;
    out->rubric = check_calloc(json_count(list), sizeof *out->rubric);
    bool ok = true;
    for (size_t i = 0; i < json_count(list); i++) {
        RubricLine *line = &out->rubric[out->rubric_count];
        if (read_rubric_line(out, json_at(list, i), line, err)) {
            points += line->points;
            out->rubric_count++;
            continue;
        }
        if (!err_goes_on(err)) return false;
        *line = (RubricLine){0};
        ok = false;
    }
    if (points > 0 || !ok) return ok;
    return err_at(err, json_place(list), "the rubric gives no points at all");
}

/* The name of a file beside the scenario's own, never a path. */
static bool add_script(const JsonValue *value, const char *key, int misses, Scenario *out, Err *err)
{
    OwnScript *script = &out->scripts[out->script_count];
    if (json_kind(value) != JSON_STRING || !text_is_id(json_string(value))) {
        return err_at(err, json_place(value),
                      "%s must name a file beside the scenario: 1 to 64 of a-z, A-Z, 0-9, '-', '_' "
                      "and '.'",
                      key);
    }
    *script = (OwnScript){json_string(value), misses, json_place(value)};
    out->script_count++;
    return true;
}

/* One file, or a list of which one does it in each form. */
static bool add_scripts(const JsonValue *value, const char *key, int misses, Scenario *out,
                        Err *err)
{
    if (json_kind(value) != JSON_ARRAY) return add_script(value, key, misses, out, err);
    if (!json_want_array(value, key, 1, SCENARIO_ALTERNATIVES_MAX, err)) return false;
    for (size_t i = 0; i < json_count(value); i++) {
        if (!add_script(json_at(value, i), key, misses, out, err)) return false;
    }
    return true;
}

bool reading_scripts(const JsonValue *root, Scenario *out, Err *err)
{
    static const char *const keys[] = {"right", "misses", NULL};
    const JsonValue *scripts = json_get(root, "scripts");
    const JsonValue *right;
    if (scripts == NULL) return true;
    if (!json_want_object(scripts, "scripts", keys, err)) return false;
    if (!json_need(scripts, "right", &right, err)) return false;
    if (!add_scripts(right, "right", 0, out, err)) return false;
    const JsonValue *misses = json_get(scripts, "misses");
    if (misses == NULL) return true;
    if (json_kind(misses) != JSON_OBJECT) {
        return err_at(err, json_place(misses),
                      "misses must be an object such as {\"K4\": \"file\"}");
    }
    for (size_t i = 0; i < json_count(misses); i++) {
        const char *key = json_key_at(misses, i);
        int critical = critical_number(key);
        bool known = false;
        for (int r = 0; r < out->rubric_count; r++) {
            if (critical != 0 && out->rubric[r].critical == critical) known = true;
        }
        if (!known) {
            return err_at(err, json_place(json_at(misses, i)),
                          "\"%s\" is not a critical line of this rubric", key);
        }
        if (!add_scripts(json_at(misses, i), key, critical, out, err)) return false;
    }
    return true;
}
