/* Reading a scenario. */
#include "scenario/scenario.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scenario/faults.h"
#include "scenario/suggest.h"

const char *const scenario_scene_words[] = {"tell", "pass", "turn", "decide", "write", NULL};
const char *const scenario_stock_words[] = {"pallet", "store", "lorry", NULL};

static int number_at(const char *digits)
{
    return (digits[0] - '0') * 10 + digits[1] - '0';
}

bool scenario_clock_parse(const char *text, int64_t *us)
{
    size_t len = strlen(text);
    if (len != 5 && len != 8) return false;
    for (size_t i = 0; i < len; i++) {
        bool colon = i % 3 == 2;
        if (colon ? text[i] != ':' : text[i] < '0' || text[i] > '9') return false;
    }
    int hours = number_at(text);
    int minutes = number_at(text + 3);
    int seconds = len == 8 ? number_at(text + 6) : 0;
    if (hours > 23 || minutes > 59 || seconds > 59) return false;
    *us = ((int64_t)hours * 3600 + (int64_t)minutes * 60 + seconds) * 1000000;
    return true;
}

const char *scenario_site_id(const JsonDoc *document)
{
    const JsonValue *site = json_get(json_root(document), "site");
    return site != NULL && json_kind(site) == JSON_STRING ? json_string(site) : "";
}

static bool read_clock(const JsonValue *object, const char *key, int64_t *out, Err *err)
{
    const char *text;
    if (!json_read_string(object, key, true, 1, 16, &text, err)) return false;
    if (scenario_clock_parse(text, out)) return true;
    return err_at(err, json_place(json_get(object, key)),
                  "%s is \"%s\", must be a time of day such as 10:30, limit 00:00..23:59:59", key,
                  text);
}

/* All times of a run are of one day, so the earlier one is the smaller. */
static bool want_order(const JsonValue *object, const char *earlier, int64_t earlier_us,
                       const char *later, int64_t later_us, Err *err)
{
    if (earlier_us <= later_us) return true;
    return err_at(err, json_place(json_get(object, earlier)),
                  "%s is \"%s\", must not be after %s, \"%s\"", earlier,
                  json_string(json_get(object, earlier)), later,
                  json_string(json_get(object, later)));
}

/* --- What the run starts from ---------------------------------------------------------------- */

static bool read_line_and_product(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    const char *id;
    if (!json_read_id(root, "line", true, &id, err)) return false;
    int line = site_find_line(site, id);
    if (line < 0) {
        return err_at(err, json_place(json_get(root, "line")),
                      "site \"%s\" has no line \"%s\"; its first is \"%s\"", site->id, id,
                      site->lines[0].id);
    }
    out->line = &site->lines[line];
    out->product = out->line->programs[0].product;
    const JsonValue *product = json_get(root, "product");
    if (product == NULL) return true;
    if (!json_read_id(root, "product", true, &id, err)) return false;
    out->product = site_find_product(site, id);
    if (out->product < 0 || site_program(out->line, out->product) == NULL) {
        return err_at(err, json_place(product), "line \"%s\" has no program for \"%s\"",
                      out->line->id, id);
    }
    return true;
}

static bool read_kit(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list;
    if (!json_need(root, "kit", &list, err)) return false;
    if (!json_want_array(list, "kit", 1, SCENARIO_KIT_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING) {
            return err_at(err, json_place(item), "kit must hold ids of the site's pieces");
        }
        int piece = site_find_piece(site, json_string(item));
        if (piece < 0) {
            return err_at(err, json_place(item), "site \"%s\" has no piece \"%s\"", site->id,
                          json_string(item));
        }
        for (int j = 0; j < out->kit_count; j++) {
            if (out->kit[j] == piece) {
                return err_at(err, json_place(item), "\"%s\" is in the kit twice",
                              json_string(item));
            }
        }
        out->kit[out->kit_count++] = piece;
    }
    return true;
}

static bool read_stock(const JsonValue *value, Stock *out, Err *err)
{
    static const char *const keys[] = {"place", "from", "to", "packs", NULL};
    int place;
    if (!json_want_object(value, "stock", keys, err)) return false;
    if (!json_read_word(value, "place", true, scenario_stock_words, &place, err)) return false;
    out->place = (StockPlace)place;
    return read_clock(value, "from", &out->from_us, err) &&
           read_clock(value, "to", &out->to_us, err) &&
           want_order(value, "from", out->from_us, "to", out->to_us, err) &&
           json_read_integer(value, "packs", true, 0, 10000000, &out->packs, err);
}

static bool read_stocks(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list = json_get(root, "stock");
    if (list == NULL) return true;
    if (!json_want_array(list, "stock", 0, SCENARIO_STOCKS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_stock(json_at(list, i), &out->stocks[out->stock_count++], err)) return false;
    }
    return true;
}

/* --- Scenes ---------------------------------------------------------------------------------- */

/* The scene that `key` names, or the next one. */
static bool read_next(const Scenario *scenario, const JsonValue *value, int own, int *out, Err *err)
{
    const char *id;
    *out = own + 1;
    if (json_get(value, "next") == NULL) return true;
    if (!json_read_id(value, "next", true, &id, err)) return false;
    const char *ids[SCENARIO_SCENES_MAX + 2] = {NULL};
    for (int i = 0; i < scenario->scene_count; i++) {
        ids[i] = scenario->scenes[i].id;
        if (strcmp(ids[i], id) == 0) {
            *out = i;
            return true;
        }
    }
    *out = scenario->scene_count;
    if (strcmp(id, "end") == 0) return true;
    ids[scenario->scene_count] = "end";
    const char *near = suggest_word(id, ids);
    return err_at(err, json_place(json_get(value, "next")), "there is no scene \"%s\"%s%s%s", id,
                  near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                  near == NULL ? "" : "\"?");
}

static bool read_answer(const Scenario *scenario, const JsonValue *value, Scene *scene, int own,
                        Err *err)
{
    static const char *const keys[] = {"id", "text", "right", "mistake", "next", NULL};
    Answer *out = &scene->answers[scene->answer_count];
    out->mistake = "";
    out->place = json_place(value);
    if (!json_want_object(value, "answer", keys, err)) return false;
    if (!json_read_id(value, "id", true, &out->id, err)) return false;
    for (int i = 0; i < scene->answer_count; i++) {
        if (strcmp(scene->answers[i].id, out->id) == 0) {
            return err_at(err, json_place(json_get(value, "id")), "answer \"%s\" is there twice",
                          out->id);
        }
    }
    scene->answer_count++;
    if (!json_read_bool(value, "right", false, &out->right, err)) return false;
    if (!json_read_id(value, "mistake", false, &out->mistake, err)) return false;
    if (out->right && out->mistake[0] != '\0') {
        return err_at(err, out->place, "answer \"%s\" is right and a mistake at once", out->id);
    }
    return site_read_text(value, "text", true, &out->text, err) &&
           read_next(scenario, value, own, &out->next, err);
}

static bool read_answers(const Scenario *scenario, const JsonValue *value, Scene *scene, int own,
                         Err *err)
{
    const JsonValue *list;
    int right = 0;
    if (!json_need(value, "answers", &list, err)) return false;
    if (!json_want_array(list, "answers", 2, SCENARIO_ANSWERS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_answer(scenario, json_at(list, i), scene, own, err)) return false;
        right += scene->answers[i].right;
    }
    if (right == 0) return err_at(err, json_place(list), "no answer of \"%s\" is right", scene->id);
    return true;
}

static bool read_turn(const Scenario *scenario, const JsonValue *value, Scene *scene, Err *err)
{
    static const char *const asks[] = {"hardest", "easiest", NULL};
    const char *id;
    int ask;
    if (!json_read_word(value, "ask", true, asks, &ask, err)) return false;
    scene->hardest = ask == 0;
    if (!json_read_id(value, "piece", true, &id, err)) return false;
    scene->piece = site_find_piece(scenario->site, id);
    if (scene->piece >= 0 && scenario->site->pieces[scene->piece].is_wire) return true;
    return err_at(err, json_place(json_get(value, "piece")), "the site has no wire \"%s\"", id);
}

static bool read_scene(const Scenario *scenario, const JsonValue *value, int own, Err *err)
{
    static const char *const plain_keys[] = {"id", "kind", "text", "next", NULL};
    static const char *const decide_keys[] = {"id", "kind", "text", "answers", NULL};
    static const char *const turn_keys[] = {"id", "kind", "text", "piece", "ask", "next", NULL};
    Scene *scene = &scenario->scenes[own];
    const char *const *keys = scene->kind == SCENE_DECIDE ? decide_keys
                              : scene->kind == SCENE_TURN ? turn_keys
                                                          : plain_keys;
    if (!json_want_object(value, "scene", keys, err)) return false;
    if (!site_read_text(value, "text", true, &scene->text, err)) return false;
    if (!read_next(scenario, value, own, &scene->next, err)) return false;
    if (scene->kind == SCENE_DECIDE) return read_answers(scenario, value, scene, own, err);
    if (scene->kind == SCENE_TURN) return read_turn(scenario, value, scene, err);
    return true;
}

/* A scene that no way leads to is a trainer's slip, and so is an end that none does. */
static bool all_reached(const Scenario *scenario, Err *err)
{
    bool reached[SCENARIO_SCENES_MAX + 1] = {true};
    for (bool more = true; more;) {
        more = false;
        for (int i = 0; i < scenario->scene_count; i++) {
            const Scene *scene = &scenario->scenes[i];
            if (!reached[i]) continue;
            int ways = scene->kind == SCENE_DECIDE ? scene->answer_count : 1;
            for (int w = 0; w < ways; w++) {
                int next = scene->kind == SCENE_DECIDE ? scene->answers[w].next : scene->next;
                if (!reached[next]) more = true;
                reached[next] = true;
            }
        }
    }
    for (int i = 0; i < scenario->scene_count; i++) {
        if (!reached[i]) {
            return err_at(err, scenario->scenes[i].place, "no way leads to scene \"%s\"",
                          scenario->scenes[i].id);
        }
    }
    if (reached[scenario->scene_count]) return true;
    return err_at(err, scenario->scenes[0].place, "no way leads to the end of the scenario");
}

static bool read_scenes(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list;
    if (!json_need(root, "scenes", &list, err)) return false;
    if (!json_want_array(list, "scenes", 1, SCENARIO_SCENES_MAX, err)) return false;
    out->scenes = check_calloc(json_count(list), sizeof *out->scenes);
    for (size_t i = 0; i < json_count(list); i++) { /* ids first: a scene may name a later one */
        const JsonValue *value = json_at(list, i);
        Scene *scene = &out->scenes[i];
        int kind;
        if (json_kind(value) != JSON_OBJECT) {
            return err_at(err, json_place(value), "a scene must be an object");
        }
        if (!json_read_id(value, "id", true, &scene->id, err)) return false;
        if (!json_read_word(value, "kind", true, scenario_scene_words, &kind, err)) return false;
        if (strcmp(scene->id, "end") == 0) {
            return err_at(err, json_place(json_get(value, "id")),
                          "\"end\" is the end of the scenario, not a scene");
        }
        scene->kind = (SceneKind)kind;
        scene->place = json_place(value);
        for (size_t j = 0; j < i; j++) {
            if (strcmp(out->scenes[j].id, scene->id) == 0) {
                return err_at(err, json_place(json_get(value, "id")), "scene \"%s\" is there twice",
                              scene->id);
            }
        }
    }
    out->scene_count = (int)json_count(list);
    for (int i = 0; i < out->scene_count; i++) {
        if (!read_scene(out, json_at(list, (size_t)i), i, err)) return false;
    }
    return all_reached(out, err);
}

/* --- Rubric and scripts ---------------------------------------------------------------------- */

/* "K4" as 4; 0 for anything else, so that no number has two forms. */
static int critical_number(const char *text)
{
    int64_t number;
    if (text[0] != 'K' || text[1] == '0' || !text_to_int(text + 1, &number)) return 0;
    return number >= 1 && number <= SCENARIO_CRITICAL_MAX ? (int)number : 0;
}

static bool read_pattern(const JsonValue *need, const char *key, RubricPattern *out, Err *err)
{
    if (!json_read_string(need, key, false, 1, SCENARIO_NEED_BYTES - 1, &out->text, err))
        return false;
    if (out->text == NULL) return true;
    out->place = json_place(json_get(need, key));
    out->place.column++; /* behind the quotation mark */
    return true;
}

static bool read_need(const JsonValue *value, RubricLine *out, Err *err)
{
    static const char *const keys[] = {"rule",   "seen",     "never",     "after",
                                       "before", "at_least", "put_right", NULL};
    const JsonValue *need;
    if (!json_need(value, "need", &need, err)) return false;
    if (!json_want_object(need, "need", keys, err)) return false;
    out->at_least = 1;
    if (!json_read_id(need, "rule", false, &out->rule, err) ||
        !read_pattern(need, "seen", &out->seen, err) ||
        !read_pattern(need, "never", &out->never, err) ||
        !read_pattern(need, "after", &out->after, err) ||
        !read_pattern(need, "before", &out->before, err) ||
        !read_pattern(need, "put_right", &out->put_right, err) ||
        !json_read_integer(need, "at_least", false, 1, 10000, &out->at_least, err))
        return false;
    int forms = (out->rule != NULL) + (out->seen.text != NULL) + (out->never.text != NULL);
    if (forms != 1) {
        return err_at(err, json_place(need), "need holds %d of rule, seen and never, must hold one",
                      forms);
    }
    if (out->rule != NULL && json_count(need) != 1) {
        return err_at(err, json_place(need), "a ready-made rule stands alone in need");
    }
    if (out->never.text != NULL && json_get(need, "at_least") != NULL) {
        return err_at(err, json_place(json_get(need, "at_least")),
                      "at_least belongs to seen, and this need holds never");
    }
    return true;
}

static bool read_rubric_line(const Scenario *scenario, const JsonValue *value, RubricLine *out,
                             Err *err)
{
    static const char *const keys[] = {"id", "critical", "points", "text", "why", "need", NULL};
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
           site_read_text(value, "why", false, &out->why, err) && read_need(value, out, err);
}

static bool read_rubric(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list;
    int64_t points = 0;
    if (!json_need(root, "rubric", &list, err)) return false;
    if (!json_want_array(list, "rubric", 1, SCENARIO_RUBRIC_MAX, err)) return false;
    out->rubric = check_calloc(json_count(list), sizeof *out->rubric);
    for (size_t i = 0; i < json_count(list); i++, out->rubric_count++) {
        if (!read_rubric_line(out, json_at(list, i), &out->rubric[i], err)) return false;
        points += out->rubric[i].points;
    }
    if (points > 0) return true;
    return err_at(err, json_place(list), "the rubric gives no points at all");
}

static bool read_script_file(const JsonValue *object, const char *key, int misses, Scenario *out,
                             Err *err)
{
    OwnScript *script = &out->scripts[out->script_count];
    if (!json_read_id(object, key, true, &script->file, err)) return false; /* never a path */
    script->misses = misses;
    script->place = json_place(json_get(object, key));
    out->script_count++;
    return true;
}

static bool read_scripts(const JsonValue *root, Scenario *out, Err *err)
{
    static const char *const keys[] = {"right", "misses", NULL};
    const JsonValue *scripts = json_get(root, "scripts");
    if (scripts == NULL) return true;
    if (!json_want_object(scripts, "scripts", keys, err)) return false;
    if (!read_script_file(scripts, "right", 0, out, err)) return false;
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
        if (!read_script_file(misses, key, critical, out, err)) return false;
    }
    return true;
}

/* --- The whole ------------------------------------------------------------------------------- */

static bool read_head_of_file(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    static const char *const keys[] = {
        "$schema",         "format",       "id",      "title",   "site",   "line",
        "product",         "role",         "plan",    "minutes", "date",   "clock",
        "last_good_check", "fed",          "kit",     "stock",   "faults", "scenes",
        "rubric",          "pass_percent", "scripts", NULL};
    static const char *const formats[] = {"threepass-scenario-1", NULL};
    int format, role, plan;
    const char *site_id;
    bool is_object = json_kind(root) == JSON_OBJECT; /* a file of another kind says so first */
    if (is_object && !json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_want_object(root, "scenario", keys, err)) return false;
    if (!json_read_id(root, "id", true, &out->id, err)) return false;
    if (!site_read_text(root, "title", true, &out->title, err)) return false;
    if (!json_read_id(root, "site", true, &site_id, err)) return false;
    if (strcmp(site_id, site->id) != 0) {
        return err_at(err, json_place(json_get(root, "site")),
                      "site is \"%s\", but the site read with it is \"%s\"", site_id, site->id);
    }
    if (!read_line_and_product(site, root, out, err)) return false;
    if (!json_read_word(root, "role", true, site_role_words, &role, err)) return false;
    out->role = (SiteRole)role;
    if (!json_read_word(root, "plan", true, site_plan_words, &plan, err)) return false;
    out->reason = (SitePlanReason)plan;
    out->plan = &out->line->plans[plan];
    if (out->plan->is_there) return true;
    return err_at(err, json_place(json_get(root, "plan")), "line \"%s\" has no check plan \"%s\"",
                  out->line->id, site_plan_words[plan]);
}

static bool read_scenario(const Site *site, Scenario *out, Err *err)
{
    const JsonValue *root = json_root(out->document);
    out->fed = true;
    return read_head_of_file(site, root, out, err) &&
           json_read_integer(root, "minutes", true, 1, SCENARIO_MINUTES_MAX, &out->minutes, err) &&
           site_read_date(root, "date", true, &out->date, err) &&
           read_clock(root, "clock", &out->clock_us, err) &&
           read_clock(root, "last_good_check", &out->last_good_check_us, err) &&
           want_order(root, "last_good_check", out->last_good_check_us, "clock", out->clock_us,
                      err) &&
           json_read_bool(root, "fed", false, &out->fed, err) && read_kit(site, root, out, err) &&
           read_stocks(root, out, err) && faults_read(root, out, err) &&
           read_scenes(root, out, err) && read_rubric(root, out, err) &&
           json_read_integer(root, "pass_percent", true, 1, 100, &out->pass_percent, err) &&
           read_scripts(root, out, err);
}

bool scenario_parse(const char *file, const char *bytes, size_t len, const Site *site,
                    Scenario **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    Scenario *scenario = check_calloc(1, sizeof *scenario);
    scenario->document = document;
    scenario->site = site;
    if (!read_scenario(site, scenario, err)) {
        scenario_free(scenario);
        return false;
    }
    *out = scenario;
    return true;
}

void scenario_free(Scenario *scenario)
{
    if (scenario == NULL) return;
    free(scenario->scenes);
    free(scenario->rubric);
    json_free(scenario->document);
    free(scenario);
}
