/* Looking for what a scenario cannot mean. */
#include "app/lint.h"

#include <stdio.h>
#include <string.h>

#include "player/player.h"
#include "scenario/competence.h"
#include "scenario/suggest.h"
#include "scoring/rules.h"

typedef struct {
    const Work *work;
    const Scenario *scenario;
    const Site *site;
    LintTell *tell;
    void *context;
} Lint;

/* Tell, and clear the text. */
static void report(const Lint *lint, bool is_error, ErrPlace place, Text *text)
{
    lint->tell(lint->context, is_error, place, text_string(text));
    text_clear(text);
}

/* --- Languages ------------------------------------------------------------------------------- */

static void check_text(const Lint *lint, SiteText text)
{
    if (text.by_language == NULL) return;
    for (int i = 0; i < lint->site->language_count; i++) {
        const char *language = lint->site->languages[i];
        if (json_get(text.by_language, language) != NULL) continue;
        Text words = {0};
        text_addf(&words, "there is no \"%s\", which the site speaks: add it", language);
        report(lint, false, json_place(text.by_language), &words);
    }
    for (size_t i = 0; i < json_count(text.by_language); i++) {
        const char *key = json_key_at(text.by_language, i);
        bool is_known = false;
        for (int k = 0; k < lint->site->language_count; k++) {
            is_known = is_known || strcmp(lint->site->languages[k], key) == 0;
        }
        if (is_known) continue;
        Text words = {0};
        text_addf(&words, "the site does not speak \"%s\": add it to the site's languages", key);
        report(lint, false, json_place(json_at(text.by_language, i)), &words);
    }
}

static void check_languages(const Lint *lint)
{
    const Scenario *scenario = lint->scenario;
    check_text(lint, scenario->title);
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        check_text(lint, scene->text);
        check_text(lint, scene->hint);
        for (int a = 0; a < scene->answer_count; a++) {
            check_text(lint, scene->answers[a].text);
        }
        for (int s = 0; s < scene->step_count; s++) {
            check_text(lint, scene->steps[s].text);
        }
    }
    for (int i = 0; i < scenario->rubric_count; i++) {
        check_text(lint, scenario->rubric[i].text);
        check_text(lint, scenario->rubric[i].why);
    }
}

/* --- Patterns that no run can show ----------------------------------------------------------- */

enum { WORDS_MAX = SITE_PIECES_MAX + 1 };

/* The words that a field can have, NULL-ended; none: anything. */
typedef struct {
    const char *words[WORDS_MAX];
    int count;
} Known;

static void add_word(Known *known, const char *word)
{
    for (int i = 0; i < known->count; i++) {
        if (strcmp(known->words[i], word) == 0) return;
    }
    CHECK(known->count < WORDS_MAX - 1);
    known->words[known->count++] = word;
}

static void add_words(Known *known, const char *const words[])
{
    for (int i = 0; words[i] != NULL; i++) {
        add_word(known, words[i]);
    }
}

/* The tray's pieces in every form. */
static void add_pieces(const Lint *lint, Known *known)
{
    const Scenario *scenario = lint->scenario;
    for (int i = 0; i < scenario->kit_count; i++) {
        add_word(known, lint->site->pieces[scenario->kit[i]].id);
    }
    for (int k = 0; k < scenario->kits_count; k++) {
        for (int i = 0; i < scenario->kits[k].count; i++) {
            add_word(known, lint->site->pieces[scenario->kits[k].pieces[i]].id);
        }
    }
}

/* What can be chosen in a scene; nothing where nothing is asked. */
static void add_choices(const Scene *scene, bool is_action, Known *known)
{
    static const char *const told[] = {[SCENE_PLACE] = "there",
                                       [SCENE_TURN] = "so",
                                       [SCENE_ARRANGE] = "in-this-order",
                                       [SCENE_WRITE] = "record"};
    for (int i = 0; i < scene->answer_count; i++) {
        add_word(known, scene->answers[i].id);
    }
    bool is_asked = scene->kind == SCENE_PLACE || scene->kind == SCENE_TURN ||
                    scene->kind == SCENE_ARRANGE || scene->given_count > 0;
    if (is_asked) add_word(known, is_action ? "so" : told[scene->kind]);
}

/* The scenes that begin, or those that ask. */
static void add_scenes(const Lint *lint, bool is_answered, Known *known)
{
    for (int i = 0; i < lint->scenario->scene_count; i++) {
        Known choices = {0};
        add_choices(&lint->scenario->scenes[i], false, &choices);
        if (choices.count > 0 || !is_answered) add_word(known, lint->scenario->scenes[i].id);
    }
}

/* The faults that the scenario can have, as happenings call them. */
static void add_faults(const Lint *lint, Known *known)
{
    const Scenario *scenario = lint->scenario;
    for (int i = 0; i < scenario->fault_count; i++) {
        add_word(known, scenario_fault_word(scenario->faults[i].kind));
    }
    for (int d = 0; d < scenario->draw_count; d++) {
        const FaultDraw *draw = &scenario->draws[d];
        for (int a = 0; a < draw->count; a++) {
            for (int i = 0; i < draw->alternatives[a].count; i++) {
                add_word(known, scenario_fault_word(draw->alternatives[a].faults[i].kind));
            }
        }
    }
}

static bool gives(const LogPattern *pattern, const char *field, const char **word)
{
    LogValue value;
    bool is_number;
    if (!log_field(&pattern->want, field, &value, &is_number) || is_number) return false;
    *word = log_word(&pattern->want, field);
    return (*word)[0] != '\0'; /* a field that is not given is empty */
}

/* False when the field can hold any word. */
static bool add_known(const Lint *lint, const LogPattern *pattern, const char *field, Known *known)
{
    const char *scene = "";
    bool is_answered = log_is(&pattern->want, HAPPENING_ANSWERED);
    const char *const *words = log_field_words(&pattern->want, field);
    if (words != NULL) {
        add_words(known, words);
    } else if (strcmp(field, "scene") == 0) {
        add_scenes(lint, is_answered, known);
    } else if (strcmp(field, "choice") == 0) {
        bool has_scene = gives(pattern, "scene", &scene);
        for (int i = 0; i < lint->scenario->scene_count; i++) {
            const Scene *each = &lint->scenario->scenes[i];
            if (!has_scene || strcmp(each->id, scene) == 0) {
                add_choices(each, pattern->want.is_action, known);
            }
        }
    } else if (strcmp(field, "piece") == 0) { /* any of the site can be fetched */
        for (int i = 0; i < lint->site->piece_count; i++) {
            add_word(known, lint->site->pieces[i].id);
        }
    } else if (strcmp(field, "fault") == 0) {
        add_faults(lint, known);
        add_word(known, "nothing"); /* when there was none to mend */
    } else if (log_is(&pattern->want, HAPPENING_FAULT_SET)) {
        add_faults(lint, known);
    } else if (strcmp(field, "product") == 0) {
        for (int i = 0; i < lint->scenario->line->program_count; i++) {
            add_word(known, lint->site->products[lint->scenario->line->programs[i].product].id);
        }
    } else {
        return false;
    }
    return true;
}

static bool is_among(const Known *known, const char *word)
{
    for (int i = 0; i < known->count; i++) {
        if (strcmp(known->words[i], word) == 0) return true;
    }
    return false;
}

/* A lane that the line has not. */
static bool has_no_lane(const Lint *lint, const LogPattern *pattern, const char *field, Text *why)
{
    LogValue value;
    bool is_number;
    int lanes = lint->scenario->line->setup.lanes;
    if (strcmp(field, "lane") != 0 && strcmp(field, "beside") != 0) return false;
    CHECK(log_field(&pattern->want, field, &value, &is_number));
    if (value.number == 0 || (lanes > 1 && value.number <= lanes)) return false;
    if (lanes == 1)
        text_addf(why, "no run has %s=, as the line has one lane", field);
    else
        text_addf(why, "no run has %s=%lld, as the line has %d lanes", field,
                  (long long)value.number, lanes);
    return true;
}

/* "; here it is one of jam, nothing" */
static void add_choice_of(const Known *known, Text *why)
{
    for (int i = 0; i < known->count; i++) {
        text_addf(why, "%s%s", i == 0 ? "; here it is one of " : ", ", known->words[i]);
    }
}

/* Why no run can show the pattern goes to *why; false when one can. */
static bool is_impossible(const Lint *lint, const RubricPattern *text, Text *why)
{
    LogPattern pattern;
    Err err = {0};
    const char *word = "";
    CHECK(log_parse_pattern(text->text, text->place, &pattern, &err));
    const char *field;
    for (int i = 0; (field = log_field_name(&pattern.want, i)) != NULL; i++) {
        Known known = {0};
        if (has_no_lane(lint, &pattern, field, why)) return true;
        if (!gives(&pattern, field, &word)) continue;
        if (!add_known(lint, &pattern, field, &known) || is_among(&known, word)) continue;
        const char *near = suggest_word(word, known.words);
        text_addf(why, "no run has %s=%s", field, word);
        if (near != NULL)
            text_addf(why, "; did you mean \"%s\"?", near);
        else if (strcmp(field, "fault") == 0)
            add_choice_of(&known, why);
        return true;
    }
    /* another role's release has no authority; but whom the site names can be asked for one */
    bool may_release = lint->scenario->role == lint->site->release_by;
    if (log_is(&pattern.want, HAPPENING_RELEASED) && gives(&pattern, "authority", &word) &&
        strcmp(word, "no") == 0 && may_release) {
        text_addf(why, "the role is %s, and the site releases by %s",
                  site_role_words[lint->scenario->role], site_role_words[lint->site->release_by]);
        return true;
    }
    return false;
}

/* A pattern that must be seen, and cannot. True then. */
static bool check_wanted(const Lint *lint, const RubricLine *line, const RubricPattern *text)
{
    Text why = {0};
    Text words = {0};
    if (text->text == NULL || !is_impossible(lint, text, &why)) return false;
    if (line->critical != 0)
        text_addf(&words, "nobody can meet critical line \"%s\": %s", line->id, why.bytes);
    else
        text_addf(&words, "nobody can reach the %lld points of \"%s\": %s", (long long)line->points,
                  line->id, why.bytes);
    report(lint, true, text->place, &words);
    text_clear(&why);
    return true;
}

/* A pattern without which the line is met by whatever is done. */
static void check_feared(const Lint *lint, const RubricLine *line, const RubricPattern *text)
{
    Text why = {0};
    if (text->text == NULL || !is_impossible(lint, text, &why)) return;
    Text words = {0};
    text_addf(&words, "nobody can miss %s\"%s\": %s", line->critical != 0 ? "critical line " : "",
              line->id, why.bytes);
    report(lint, true, text->place, &words);
    text_clear(&why);
}

/* --- Rules ----------------------------------------------------------------------------------- */

/* Whether the tray holds a right piece of the metal, or one can be fetched. */
static bool has_right(const Lint *lint, const Player *player, const Metal *metal)
{
    for (int i = 0; i < lint->site->piece_count; i++) {
        if (lint->site->pieces[i].metal == metal && player_piece_is_right(player, i)) return true;
    }
    return false;
}

/* A line without faults must be checked with every metal. */
static bool check_rule(const Lint *lint, const Player *player, const RubricLine *line)
{
    const SitePlan *plan = lint->scenario->plan;
    bool has_faults = lint->scenario->fault_count + lint->scenario->draw_count > 0;
    if (has_faults || strcmp(line->need.rule, "right-pieces") != 0) return false;
    for (int m = 0; m < plan->metal_count; m++) {
        if (has_right(lint, player, plan->metals[m])) continue;
        Text words = {0};
        text_addf(&words,
                  "nobody can meet \"%s\": the site has no right piece of %s; add one, or a fault",
                  line->id, plan->metals[m]->name);
        report(lint, true, line->need.place, &words);
        return true;
    }
    return false;
}

/* A ready-made rule under the number of another critical line. */
static void check_number(const Lint *lint, const RubricLine *line)
{
    int own = line->need.rule == NULL ? 0 : score_rule_critical(line->need.rule);
    if (line->critical == 0 || own == 0 || own == line->critical) return;
    Text words = {0};
    text_addf(&words, "rule %s is K%d, here K%d", line->need.rule, own, line->critical);
    report(lint, false, line->need.place, &words);
}

static bool has_script(const Scenario *scenario, int critical)
{
    for (int i = 0; i < scenario->script_count; i++) {
        if (scenario->scripts[i].misses == critical) return true;
    }
    return false;
}

/* True when nobody can meet the line. */
static bool check_line(const Lint *lint, const Player *player, const RubricLine *line)
{
    const RubricNeed *need = &line->need;
    if (need->rule != NULL) return check_rule(lint, player, line);
    bool is_lost = check_wanted(lint, line, &need->seen);
    for (int i = 0; i < need->in_order_count && !is_lost; i++) {
        is_lost = check_wanted(lint, line, &need->in_order[i]);
    }
    if (need->seen.text != NULL || need->in_order_count > 0) {
        is_lost = is_lost || check_wanted(lint, line, &need->after);
    }
    check_feared(lint, line, &need->never);
    check_feared(lint, line, &need->for_every);
    if (need->never.text != NULL) check_feared(lint, line, &need->after);
    return is_lost;
}

static void check_rubric(const Lint *lint, const Player *player)
{
    const Scenario *scenario = lint->scenario;
    int64_t most = 0;
    int64_t all = 0;
    for (int i = 0; i < scenario->rubric_count; i++) {
        const RubricLine *line = &scenario->rubric[i];
        all += line->points;
        if (!check_line(lint, player, line)) most += line->points;
        check_number(lint, line);
        if (line->critical == 0 || scenario->script_count == 0) continue;
        if (has_script(scenario, line->critical)) continue;
        Text words = {0};
        text_addf(&words, "no script shows that K%d can be missed: add one to misses",
                  line->critical);
        report(lint, false, line->place, &words);
    }
    int64_t needed = (all * scenario->pass_percent + 99) / 100;
    if (most >= needed) return;
    Text words = {0};
    text_addf(&words, "%lld of %lld points are needed, and %lld is the most that can be reached",
              (long long)needed, (long long)all, (long long)most);
    const JsonValue *percent = json_get(json_root(scenario->document), "pass_percent");
    report(lint, true, json_place(percent), &words);
}

static void check_branches(const Lint *lint)
{
    for (int i = 0; i < lint->scenario->scene_count; i++) {
        const Scene *scene = &lint->scenario->scenes[i];
        for (int b = 0; b < scene->branch_count; b++) {
            const RubricPattern *seen = &scene->branches[b].seen;
            Text why = {0};
            Text words = {0};
            if (seen->text == NULL || !is_impossible(lint, seen, &why)) continue;
            text_addf(&words, "no run goes this way from \"%s\": %s", scene->id, why.bytes);
            report(lint, true, seen->place, &words);
            text_clear(&why);
        }
    }
}

/* --- What this detector shows ---------------------------------------------------------------- */

static double kappa_of(const Lint *lint)
{
    return detect_kappa(lint->site->heads[lint->scenario->line->head].head.false_reject_rate);
}

/* A right piece that even a good line would miss. */
static void check_pieces(const Lint *lint, const Player *player)
{
    Known pieces = {0};
    add_pieces(lint, &pieces);
    for (int i = 0; i < pieces.count; i++) {
        int piece = site_find_piece(lint->site, pieces.words[i]);
        if (!player_piece_is_right(player, piece)) continue;
        double chance = detect_found_probability(player_range(player, piece).least, kappa_of(lint));
        if (chance >= LINT_FOUND_CHANCE) continue;
        Text words = {0};
        text_addf(&words,
                  "piece \"%s\" is found in \"%s\" with the chance %.3f a pass only, where it is "
                  "hardest to find: see whether the site's validated sizes are right",
                  pieces.words[i], lint->site->products[lint->scenario->product].id, chance);
        const JsonValue *kit = json_get(json_root(lint->scenario->document), "kit");
        report(lint, false, json_place(kit), &words);
    }
}

/* The least chance that a right piece is missed somewhere by the limit that a fault sets. */
static void check_fault(const Lint *lint, const Player *player, const Fault *fault)
{
    Known pieces = {0};
    double found = 1.0;
    const char *hardest = "";
    if (fault->kind != FAULT_SENSITIVITY || fault->limit_percent <= 100) return;
    add_pieces(lint, &pieces);
    for (int i = 0; i < pieces.count; i++) {
        int piece = site_find_piece(lint->site, pieces.words[i]);
        if (!player_piece_is_right(player, piece)) continue;
        double ratio = player_range(player, piece).least * 100.0 / (double)fault->limit_percent;
        double chance = detect_found_probability(ratio, kappa_of(lint));
        if (hardest[0] != '\0' && chance >= found) continue;
        found = chance;
        hardest = pieces.words[i];
    }
    if (found < LINT_FOUND_CHANCE || hardest[0] == '\0') return;
    Text words = {0};
    text_addf(&words,
              "with this fault every right piece would still be found anywhere: \"%s\" with the "
              "chance %.5f a pass; ask for more signal",
              hardest, found);
    report(lint, false, fault->place, &words);
}

static void check_faults(const Lint *lint, const Player *player)
{
    const Scenario *scenario = lint->scenario;
    for (int i = 0; i < scenario->fixed_fault_count; i++) {
        check_fault(lint, player, &scenario->faults[i]);
    }
    for (int d = 0; d < scenario->draw_count; d++) {
        for (int a = 0; a < scenario->draws[d].count; a++) {
            for (int f = 0; f < scenario->draws[d].alternatives[a].count; f++) {
                check_fault(lint, player, &scenario->draws[d].alternatives[a].faults[f]);
            }
        }
    }
}

/* A place that is right wherever it is. */
static void check_places(const Lint *lint, const Player *player)
{
    for (int i = 0; i < lint->scenario->scene_count; i++) {
        const Scene *scene = &lint->scenario->scenes[i];
        if (scene->kind != SCENE_PLACE) continue;
        PlayerRange range = player_range(player, scene->piece);
        double percent = (range.most / range.least - 1.0) * 100.0;
        if (percent > (double)scene->within_percent) continue;
        Text words = {0};
        text_addf(
            &words,
            "every place in the pack is right: the strongest has %.1f %% more signal than the "
            "weakest, and within_percent is %lld",
            percent, (long long)scene->within_percent);
        report(lint, true, scene->place, &words);
    }
}

bool lint_scenario(const Work *work, LintTell *tell, void *context, Err *err)
{
    Lint lint = {work, work_scenario(work), work_site(work), tell, context};
    Player *player = NULL;
    Scenario sound = *work_scenario(work); /* borrows: a line as it was validated */
    sound.fault_count = 0;
    PlayerSetup setup = {&sound, work_fitted(work), 1};
    if (!player_new(&setup, &player, err)) return false;
    check_languages(&lint);
    check_rubric(&lint, player);
    check_branches(&lint);
    check_places(&lint, player);
    check_pieces(&lint, player);
    check_faults(&lint, player);
    player_free(player);
    return true;
}

/* --- Competences ----------------------------------------------------------------------------- */

static void check_forms(const Lint *lint, const Competence *competence,
                        const char *const scenarios[])
{
    for (int i = 0; i < competence->scenario_count && scenarios[0] != NULL; i++) {
        const char *id = competence->scenarios[i];
        bool is_there = false;
        for (int k = 0; scenarios[k] != NULL; k++) {
            is_there = is_there || strcmp(scenarios[k], id) == 0;
        }
        if (is_there) continue;
        Text words = {0};
        const char *near = suggest_word(id, scenarios);
        text_addf(&words, "there is no scenario \"%s\" in this folder", id);
        if (near != NULL) text_addf(&words, "; did you mean \"%s\"?", near);
        report(lint, true, competence->scenario_places[i], &words);
    }
    if (!competence->rules.other_form_after_failure || competence->scenario_count > 1) return;
    Text words = {0};
    text_addf(&words,
              "\"%s\" has one scenario only, and after a failure another one is asked for: add a "
              "second, or set other_form_after_failure to false",
              competence->id);
    report(lint, false, competence->scenario_places[0], &words);
}

void lint_competences(const Site *site, const char *const scenarios[], LintTell *tell,
                      void *context)
{
    Lint lint = {.site = site, .tell = tell, .context = context};
    for (int c = 0; c < site->competence_count; c++) {
        const Competence *competence = &site->competences[c];
        check_text(&lint, competence->title);
        for (int i = 0; i < competence->item_count; i++) {
            check_text(&lint, competence->checklist[i].text);
        }
        check_forms(&lint, competence, scenarios);
    }
}
