/* Reading a scenario's scenes. */
#include "scenario/reading.h"

#include <string.h>

const char *const scenario_scene_words[] = {"tell", "pass", "turn", "decide", "write", NULL};

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
    return reading_unknown(json_get(value, "next"), "there is no scene", ids, err);
}

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
    return reading_no_piece(json_get(value, "piece"), scenario->site, "the site has no wire", true,
                            err);
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
