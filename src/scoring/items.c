/* Figures of items, from marks of runs. */
#include "scoring/items.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ITEMS_MAX = SCENARIO_SCENES_MAX + SCENARIO_RUBRIC_MAX };

/* --- Figures --------------------------------------------------------------------------------- */

/* The share that is right of what a run reached of the rest; false when it reached nothing. */
static bool rest_of(const ItemMark *run, size_t items, size_t item, const bool *rest, double *share)
{
    size_t reached = 0;
    size_t right = 0;
    for (size_t i = 0; i < items; i++) {
        if (i == item || !rest[i] || run[i] == ITEM_NOT_REACHED) continue;
        reached++;
        if (run[i] == ITEM_RIGHT) right++;
    }
    if (reached == 0) return false;
    *share = (double)right / (double)reached;
    return true;
}

/* Means first, then moments about them: two passes, so that nothing cancels. */
static bool correlate(const ItemMark *marks, size_t runs, size_t items, size_t item,
                      const bool *rest, double *out, size_t *n)
{
    double mean[2] = {0.0, 0.0};
    double moment[3] = {0.0, 0.0, 0.0}; /* of the item, of the rest, of both */
    *n = 0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < runs; i++) {
            const ItemMark *run = &marks[i * items];
            double share;
            if (run[item] == ITEM_NOT_REACHED || !rest_of(run, items, item, rest, &share)) continue;
            double right = run[item] == ITEM_RIGHT ? 1.0 : 0.0;
            if (pass == 0) {
                mean[0] += right;
                mean[1] += share;
                *n += 1;
            } else {
                moment[0] += (right - mean[0]) * (right - mean[0]);
                moment[1] += (share - mean[1]) * (share - mean[1]);
                moment[2] += (right - mean[0]) * (share - mean[1]);
            }
        }
        if (*n < 2) return false;
        if (pass == 0) {
            mean[0] /= (double)*n;
            mean[1] /= (double)*n;
        }
    }
    /* Shares that are equal in all runs leave rounding alone behind. */
    if (moment[0] <= 1e-12 || moment[1] <= 1e-12) return false;
    double r = moment[2] / sqrt(moment[0] * moment[1]);
    *out = fmin(1.0, fmax(-1.0, r));
    return true;
}

bool items_correlation(const ItemMark *marks, size_t runs, size_t items, size_t item,
                       const bool *rest, double *out)
{
    size_t n;
    return correlate(marks, runs, items, item, rest, out, &n);
}

ChanceInterval items_correlation_interval(double r, size_t n)
{
    CHECK(n > 3 && r >= -1.0 && r <= 1.0);
    if (fabs(r) == 1.0) return (ChanceInterval){r, r};
    double far = 1.959963984540054 / sqrt((double)(n - 3)); /* 0.975 of the normal distribution */
    return (ChanceInterval){tanh(atanh(r) - far), tanh(atanh(r) + far)};
}

static ItemVerdict judge(const ItemFigures *figures)
{
    if (figures->right == figures->reached || figures->share.low >= ITEM_EASY) {
        return ITEM_ALL_RIGHT;
    }
    if (figures->right == 0) return ITEM_NONE_RIGHT;
    if (!figures->has_correlation) return ITEM_NO_REST;
    if (figures->apart.high < 0.0) return ITEM_BACKWARDS;
    return figures->apart.low > 0.0 ? ITEM_TELLS_APART : ITEM_OPEN;
}

void items_figures(const ItemMark *marks, size_t runs, size_t items, size_t item, const bool *rest,
                   ItemFigures *out)
{
    CHECK(item < items);
    *out = (ItemFigures){.verdict = ITEM_TOO_FEW};
    for (size_t i = 0; i < runs; i++) {
        ItemMark mark = marks[i * items + item];
        if (mark != ITEM_NOT_REACHED) out->reached++;
        if (mark == ITEM_RIGHT) out->right++;
    }
    if (out->reached < ITEMS_RUNS_MIN) return;
    size_t n;
    out->share = chance_interval(out->right, out->reached, ITEMS_LEVEL);
    out->has_correlation =
        correlate(marks, runs, items, item, rest, &out->correlation, &n) && n >= ITEMS_RUNS_MIN;
    if (out->has_correlation) {
        out->apart = items_correlation_interval(out->correlation, n);
    } else {
        out->correlation = 0.0;
    }
    out->verdict = judge(out);
}

const char *items_verdict_word(ItemVerdict verdict)
{
    static const char *const words[ITEM_VERDICT_COUNT] = {
        [ITEM_TOO_FEW] = "too-few",         [ITEM_ALL_RIGHT] = "all-right",
        [ITEM_NONE_RIGHT] = "none-right",   [ITEM_BACKWARDS] = "backwards",
        [ITEM_TELLS_APART] = "tells-apart", [ITEM_OPEN] = "open",
        [ITEM_NO_REST] = "no-rest",
    };
    return words[verdict];
}

/* --- Over runs ------------------------------------------------------------------------------- */

struct Items {
    const Scenario *scenario;
    int questions[SCENARIO_SCENES_MAX]; /* indexes of scenes */
    size_t question_count, count;
    ItemMark *marks;
    size_t runs, capacity;
    size_t recovered[SCENARIO_RUBRIC_MAX];
    size_t chosen[SCENARIO_SCENES_MAX][SCENARIO_ANSWERS_MAX];
};

Items *items_new(const Scenario *scenario)
{
    Items *items = check_calloc(1, sizeof *items);
    items->scenario = scenario;
    for (int i = 0; i < scenario->scene_count; i++) {
        SceneKind kind = scenario->scenes[i].kind;
        if (kind != SCENE_DECIDE && kind != SCENE_TURN) continue;
        items->questions[items->question_count++] = i;
    }
    items->count = items->question_count + (size_t)scenario->rubric_count;
    return items;
}

void items_free(Items *items)
{
    if (items == NULL) return;
    free(items->marks);
    free(items);
}

/* The first answer that the run gave to each question. */
static void mark_questions(Items *items, ItemMark *marks, const LogLine *log, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!log_is(&log[i], HAPPENING_ANSWERED)) continue;
        for (size_t q = 0; q < items->question_count; q++) {
            const Scene *scene = &items->scenario->scenes[items->questions[q]];
            if (strcmp(scene->id, log_word(&log[i], "scene")) != 0) continue;
            if (marks[q] != ITEM_NOT_REACHED) continue;
            marks[q] = strcmp(log_word(&log[i], "right"), "yes") == 0 ? ITEM_RIGHT : ITEM_WRONG;
            for (int a = 0; a < scene->answer_count; a++) {
                bool chosen = strcmp(scene->answers[a].id, log_word(&log[i], "choice")) == 0;
                if (chosen) items->chosen[q][a]++;
            }
        }
    }
}

void items_add(Items *items, const LogLine *log, size_t count)
{
    Score score;
    if (items->count == 0) return;
    if (items->runs == items->capacity) {
        items->capacity = items->capacity == 0 ? ITEMS_RUNS_MIN : items->capacity * 2;
        items->marks =
            check_realloc(items->marks, items->capacity * items->count, sizeof *items->marks);
    }
    ItemMark *marks = &items->marks[items->runs++ * items->count];
    for (size_t i = 0; i < items->count; i++) {
        marks[i] = ITEM_NOT_REACHED;
    }
    mark_questions(items, marks, log, count);
    score_run(items->scenario, log, count, &score);
    for (int i = 0; i < score.line_count; i++) {
        ScoreState state = score.lines[i].finding.state;
        marks[items->question_count + (size_t)i] = state == SCORE_MISSED ? ITEM_WRONG : ITEM_RIGHT;
        if (state == SCORE_RECOVERED) items->recovered[i]++;
    }
}

size_t items_runs(const Items *items)
{
    return items->runs;
}

size_t items_count(const Items *items)
{
    return items->count;
}

/* True when a rubric line's pattern is about the answer to this question. */
static bool asks_for(const RubricPattern *pattern, const char *scene)
{
    LogPattern parsed;
    LogValue value;
    bool is_number;
    Err err = {0};
    if (pattern->text == NULL || !log_parse_pattern(pattern->text, pattern->place, &parsed, &err)) {
        return false;
    }
    if (!log_is(&parsed.want, HAPPENING_ANSWERED)) return false;
    return log_field(&parsed.want, "scene", &value, &is_number) && strcmp(value.word, scene) == 0;
}

void items_read(const Items *items, size_t index, Item *out)
{
    CHECK(index < items->count);
    bool rest[ITEMS_MAX] = {false};
    const Scenario *scenario = items->scenario;
    bool is_question = index < items->question_count;
    *out = (Item){0};
    for (int i = 0; i < scenario->rubric_count; i++) {
        rest[items->question_count + (size_t)i] = true;
    }
    if (is_question) {
        out->scene = &scenario->scenes[items->questions[index]];
        memcpy(out->chosen, items->chosen[index], sizeof out->chosen);
        for (int i = 0; i < scenario->rubric_count; i++) {
            const RubricNeed *need = &scenario->rubric[i].need;
            bool same = asks_for(&need->seen, out->scene->id) ||
                        asks_for(&need->never, out->scene->id) ||
                        asks_for(&need->put_right, out->scene->id);
            if (same) rest[items->question_count + (size_t)i] = false;
        }
    } else {
        out->line = &scenario->rubric[index - items->question_count];
        out->recovered = items->recovered[index - items->question_count];
    }
    items_figures(items->marks, items->runs, items->count, index, rest, &out->figures);
}
