/* Reading a scenario's scenes. */
#include "scenario/reading.h"

#include <string.h>

const char *const scenario_scene_words[] = {"tell",   "pass",    "place", "turn",
                                            "decide", "arrange", "write", NULL};

enum { WITHIN_PERCENT_MAX = 1000, ROW_BYTES_MAX = 64 };

/* --- What follows ---------------------------------------------------------------------------- */

/* The scene that "next" names; without it the one behind. */
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
    return reading_unknown(json_get(value, "next"), "there is no scene", ids, err);
}

static bool read_branch(const Scenario *scenario, const JsonValue *value, int own, Branch *out,
                        Err *err)
{
    static const char *const keys[] = {"seen", "right_at_least", "next", NULL};
    const JsonValue *next;
    if (!json_want_object(value, "when", keys, err)) return false;
    if (!reading_pattern(value, "seen", &out->seen, err)) return false;
    if (!json_read_integer(value, "right_at_least", false, 1, 1000, &out->right_at_least, err))
        return false;
    if ((out->seen.text != NULL) == (out->right_at_least > 0)) {
        return err_at(err, json_place(value), "when holds one of seen and right_at_least");
    }
    return json_need(value, "next", &next, err) && read_next(scenario, value, own, &out->next, err);
}

static bool read_branches(const Scenario *scenario, const JsonValue *value, int own, Err *err)
{
    Scene *scene = &scenario->scenes[own];
    const JsonValue *list = json_get(value, "when");
    if (list == NULL) return true;
    if (!json_want_array(list, "when", 1, SCENARIO_BRANCHES_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++, scene->branch_count++) {
        if (!read_branch(scenario, json_at(list, i), own, &scene->branches[i], err)) return false;
    }
    return true;
}

/* --- Questions ------------------------------------------------------------------------------- */

static bool read_answer(const Scenario *scenario, const JsonValue *value, Scene *scene, int own,
                        Err *err)
{
    static const char *const keys[] = {"id", "text", "right", "mistake", "next", NULL};
    Answer *out = &scene->answers[scene->answer_count];
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
    if (!reading_mistake(value, &out->mistake, err)) return false;
    if (out->right && out->mistake[0] != '\0') {
        return err_at(err, out->place, "answer \"%s\" is right and a mistake at once", out->id);
    }
    return site_read_text(value, "text", true, &out->text, err) &&
           read_next(scenario, value, own, &out->next, err);
}

static bool read_decide(const Scenario *scenario, const JsonValue *value, int own, Err *err)
{
    Scene *scene = &scenario->scenes[own];
    const JsonValue *list;
    int right = 0;
    if (!json_read_bool(value, "shuffle", false, &scene->is_shuffled, err)) return false;
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
    return reading_no_piece(json_get(value, "piece"), scenario->site, "the site has no wire", true,
                            err);
}

static bool read_place(const Scenario *scenario, const JsonValue *value, Scene *scene, Err *err)
{
    const char *id;
    if (!json_read_integer(value, "within_percent", true, 1, WITHIN_PERCENT_MAX,
                           &scene->within_percent, err))
        return false;
    if (!json_read_id(value, "piece", true, &id, err)) return false;
    scene->piece = site_find_piece(scenario->site, id);
    if (scene->piece >= 0) return true;
    return reading_no_piece(json_get(value, "piece"), scenario->site, "the site has no piece",
                            false, err);
}

/* --- Steps to arrange ------------------------------------------------------------------------ */

static int find_step(const Scene *scene, const char *id)
{
    for (int i = 0; i < scene->step_count; i++) {
        if (strcmp(scene->steps[i].id, id) == 0) return i;
    }
    return -1;
}

/* The step's id and text; its "after" may name later ones, and is read when all are known. */
static bool read_step(const JsonValue *value, Scene *scene, Err *err)
{
    static const char *const keys[] = {"id", "text", "after", NULL};
    Step *out = &scene->steps[scene->step_count];
    if (!json_want_object(value, "step", keys, err)) return false;
    if (!json_read_id(value, "id", true, &out->id, err)) return false;
    if (find_step(scene, out->id) >= 0) {
        return err_at(err, json_place(json_get(value, "id")), "step \"%s\" is there twice",
                      out->id);
    }
    scene->step_count++;
    return site_read_text(value, "text", true, &out->text, err);
}

/* What a step comes after: as it says, else after the one before it in the file. */
static bool read_after(const JsonValue *value, Scene *scene, int own, Err *err)
{
    const JsonValue *list = json_get(value, "after");
    Step *out = &scene->steps[own];
    if (list == NULL) {
        if (own > 0) out->after = 1U << (own - 1);
        return true;
    }
    if (!json_want_array(list, "after", 0, SCENARIO_STEPS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING) {
            return err_at(err, json_place(item), "after must hold ids of steps");
        }
        int step = find_step(scene, json_string(item));
        if (step < 0) {
            const char *ids[SCENARIO_STEPS_MAX + 1] = {NULL};
            for (int s = 0; s < scene->step_count; s++) {
                ids[s] = scene->steps[s].id;
            }
            return reading_unknown(item, "there is no step", ids, err);
        }
        out->after |= 1U << step;
    }
    return true;
}

/* Some order is right: step by step, one that has all it must come after. */
static bool has_order(const Scene *scene)
{
    unsigned done = 0;
    for (int round = 0; round < scene->step_count; round++) {
        for (int i = 0; i < scene->step_count; i++) {
            if ((scene->steps[i].after & ~done) == 0) done |= 1U << i;
        }
    }
    return done == (1U << scene->step_count) - 1U;
}

static bool is_free(const Scene *scene)
{
    for (int i = 0; i < scene->step_count; i++) {
        if (scene->steps[i].after != 0) return false;
    }
    return true;
}

static bool read_arrange(const JsonValue *value, Scene *scene, Err *err)
{
    const JsonValue *list;
    if (!json_need(value, "steps", &list, err)) return false;
    if (!json_want_array(list, "steps", 2, SCENARIO_STEPS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_step(json_at(list, i), scene, err)) return false;
    }
    for (int i = 0; i < scene->step_count; i++) {
        if (!read_after(json_at(list, (size_t)i), scene, i, err)) return false;
    }
    if (is_free(scene)) return err_at(err, json_place(list), "every order of the steps is right");
    if (has_order(scene)) return true;
    return err_at(err, json_place(list),
                  "no order of the steps is right: some wait for each other");
}

/* --- A given record -------------------------------------------------------------------------- */

/* What the log can hold as a word. */
static bool read_log_word(const JsonValue *object, const char *key, const char **out, Err *err)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                  "-_.:/";
    if (!json_read_string(object, key, true, 1, ROW_BYTES_MAX, out, err)) return false;
    if ((*out)[strspn(*out, letters)] == '\0') return true;
    return err_at(err, json_place(json_get(object, key)),
                  "%s is \"%s\", must be 1 to %d letters, digits or - _ . : /", key, *out,
                  ROW_BYTES_MAX);
}

static bool has_value(const GivenRow *row, const char *value)
{
    for (int i = 0; i < row->value_count; i++) {
        if (strcmp(row->values[i], value) == 0) return true;
    }
    return false;
}

static void add_value(GivenRow *row, const char *value)
{
    if (!has_value(row, value)) row->values[row->value_count++] = value;
}

/* "or": what else the row may be made to say; what became of a pass unless it says so itself. */
static bool read_values(const JsonValue *value, GivenRow *out, Err *err)
{
    static const char *const fates[] = {"removed", "found-not-removed", "missed", "not-finished"};
    const JsonValue *list = json_get(value, "or");
    add_value(out, out->value);
    add_value(out, out->should_be);
    if (list == NULL) {
        bool is_cell = strchr(out->row, '/') != NULL;
        for (size_t i = 0; is_cell && i < sizeof fates / sizeof fates[0]; i++) {
            add_value(out, fates[i]);
        }
    } else if (!json_want_array(list, "or", 1, SCENARIO_VALUES_MAX - 2, err)) {
        return false;
    }
    for (size_t i = 0; list != NULL && i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING || !text_is_id(json_string(item))) {
            return err_at(err, json_place(item), "or must hold words that the row may say");
        }
        add_value(out, json_string(item));
    }
    if (out->value_count > 1) return true;
    return err_at(err, json_place(value), "row \"%s\" may say nothing else: it needs an or",
                  out->row);
}

static bool read_given_row(const JsonValue *value, Scene *scene, Err *err)
{
    static const char *const keys[] = {"row", "value", "should_be", "or", NULL};
    GivenRow *out = &scene->given[scene->given_count];
    if (!json_want_object(value, "given", keys, err)) return false;
    if (!read_log_word(value, "row", &out->row, err)) return false;
    for (int i = 0; i < scene->given_count; i++) {
        if (strcmp(scene->given[i].row, out->row) == 0) {
            return err_at(err, json_place(json_get(value, "row")), "row \"%s\" is there twice",
                          out->row);
        }
    }
    if (!read_log_word(value, "value", &out->value, err)) return false;
    out->should_be = out->value;
    if (json_get(value, "should_be") != NULL) {
        if (!read_log_word(value, "should_be", &out->should_be, err)) return false;
        if (strcmp(out->should_be, out->value) == 0) {
            return err_at(err, json_place(json_get(value, "should_be")),
                          "should_be is what the row says already");
        }
    }
    scene->given_count++;
    return read_values(value, out, err);
}

static bool read_write(const JsonValue *value, Scene *scene, Err *err)
{
    const JsonValue *list = json_get(value, "given");
    bool any_wrong = false;
    if (list == NULL) return true;
    if (!json_want_array(list, "given", 1, SCENARIO_GIVEN_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_given_row(json_at(list, i), scene, err)) return false;
        any_wrong = any_wrong || scene->given[i].should_be != scene->given[i].value;
    }
    if (any_wrong) return true;
    return err_at(err, json_place(list), "no row of the given record should be another");
}

/* --- The whole ------------------------------------------------------------------------------- */

/* What every scene has, and what its own kind adds. */
static bool read_scene(const Scenario *scenario, const JsonValue *value, int own, Err *err)
{
    static const char *const tell_keys[] = {"id", "kind", "text", "hint", "when", "next", NULL};
    static const char *const write_keys[] = {"id",   "kind", "text",  "hint",
                                             "when", "next", "given", NULL};
    static const char *const place_keys[] = {"id",   "kind",  "text",           "hint", "when",
                                             "next", "piece", "within_percent", NULL};
    static const char *const turn_keys[] = {"id",   "kind",  "text", "hint", "when",
                                            "next", "piece", "ask",  NULL};
    static const char *const arrange_keys[] = {"id",   "kind", "text",  "hint",
                                               "when", "next", "steps", NULL};
    static const char *const decide_keys[] = {"id",   "kind",    "text",    "hint",
                                              "when", "answers", "shuffle", NULL};
    static const char *const *const keys[] = {
        [SCENE_TELL] = tell_keys,       [SCENE_PASS] = tell_keys,     [SCENE_PLACE] = place_keys,
        [SCENE_TURN] = turn_keys,       [SCENE_DECIDE] = decide_keys, [SCENE_WRITE] = write_keys,
        [SCENE_ARRANGE] = arrange_keys,
    };
    Scene *scene = &scenario->scenes[own];
    if (!json_want_object(value, "scene", keys[scene->kind], err)) return false;
    if (!site_read_text(value, "text", true, &scene->text, err)) return false;
    if (!site_read_text(value, "hint", false, &scene->hint, err)) return false;
    if (!read_next(scenario, value, own, &scene->next, err)) return false;
    if (!read_branches(scenario, value, own, err)) return false;
    switch (scene->kind) {
    case SCENE_TELL:
    case SCENE_PASS:
        return true;
    case SCENE_PLACE:
        return read_place(scenario, value, scene, err);
    case SCENE_TURN:
        return read_turn(scenario, value, scene, err);
    case SCENE_DECIDE:
        return read_decide(scenario, value, own, err);
    case SCENE_ARRANGE:
        return read_arrange(value, scene, err);
    case SCENE_WRITE:
        return read_write(value, scene, err);
    }
    CHECK(false);
    return false;
}

/* How many ways lead on from a scene, and where one of them leads. */
static int way_count(const Scene *scene)
{
    return scene->branch_count + (scene->kind == SCENE_DECIDE ? scene->answer_count : 1);
}

static int way_to(const Scene *scene, int way)
{
    if (way < scene->branch_count) return scene->branches[way].next;
    if (scene->kind != SCENE_DECIDE) return scene->next;
    return scene->answers[way - scene->branch_count].next;
}

/* Which scenes (and the end) a way leads to from the first. */
static void reach(const Scenario *scenario, bool reached[SCENARIO_SCENES_MAX + 1])
{
    reached[0] = true;
    for (bool more = true; more;) {
        more = false;
        for (int i = 0; i < scenario->scene_count; i++) {
            const Scene *scene = &scenario->scenes[i];
            for (int w = 0; reached[i] && w < way_count(scene); w++) {
                if (!reached[way_to(scene, w)]) more = true;
                reached[way_to(scene, w)] = true;
            }
        }
    }
}

/* Which scenes some way leads on to the end from. */
static void lead_on(const Scenario *scenario, bool leads[SCENARIO_SCENES_MAX + 1])
{
    leads[scenario->scene_count] = true;
    for (bool more = true; more;) {
        more = false;
        for (int i = 0; i < scenario->scene_count; i++) {
            const Scene *scene = &scenario->scenes[i];
            for (int w = 0; !leads[i] && w < way_count(scene); w++) {
                leads[i] = leads[way_to(scene, w)];
                more = more || leads[i];
            }
        }
    }
}

/* A scene that no way leads to is a trainer's slip, and so is one that none leads on from. */
static bool all_reached(const Scenario *scenario, Err *err)
{
    bool reached[SCENARIO_SCENES_MAX + 1] = {false};
    bool leads[SCENARIO_SCENES_MAX + 1] = {false};
    reach(scenario, reached);
    lead_on(scenario, leads);
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        if (!reached[i]) {
            return err_at(err, scene->place,
                          "no way leads to scene \"%s\": name it in a next, or take it out",
                          scene->id);
        }
    }
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        if (!leads[i]) {
            return err_at(err, scene->place,
                          "scene \"%s\" is a dead end: no way leads from it to the end", scene->id);
        }
    }
    return true;
}

bool reading_scenes(const JsonValue *root, Scenario *out, Err *err)
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
