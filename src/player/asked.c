/* What a scene asks, and what a person answers: questions, a place, a turn, an order, a record. */
#include "player/world.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const Scene *scene_of(const Player *player)
{
    return &player->scenario->scenes[player->scene];
}

/* --- What follows ---------------------------------------------------------------------------- */

static bool was_seen(const Player *player, const RubricPattern *text)
{
    LogPattern pattern;
    Err err = {0};
    CHECK(log_parse_pattern(text->text, text->place, &pattern, &err)); /* by player_check */
    for (size_t i = 0; i < player->log_count; i++) {
        if (log_matches(&player->log[i], &pattern)) return true;
    }
    return false;
}

static int64_t right_answers(const Player *player)
{
    int64_t count = 0;
    for (size_t i = 0; i < player->log_count; i++) {
        const LogLine *line = &player->log[i];
        if (log_is(line, HAPPENING_ANSWERED) && strcmp(log_word(line, "right"), "yes") == 0)
            count++;
    }
    return count;
}

/* To the first branch that holds, else to the scene that would follow. */
static void go_on(Player *player, int next)
{
    const Scene *scene = scene_of(player);
    for (int i = 0; i < scene->branch_count; i++) {
        const Branch *branch = &scene->branches[i];
        bool holds = branch->seen.text != NULL ? was_seen(player, &branch->seen)
                                               : right_answers(player) >= branch->right_at_least;
        if (!holds) continue;
        next = branch->next;
        break;
    }
    world_begin_scene(player, next);
}

bool player_check(const Scenario *scenario, Err *err)
{
    LogPattern pattern;
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        for (int b = 0; b < scene->branch_count; b++) {
            const RubricPattern *seen = &scene->branches[b].seen;
            if (seen->text != NULL && !log_parse_pattern(seen->text, seen->place, &pattern, err))
                return false;
        }
    }
    for (int i = 0; i < scenario->need_count; i++) {
        const RubricPattern *need = &scenario->needs[i];
        if (!log_parse_pattern(need->text, need->place, &pattern, err)) return false;
    }
    return true;
}

/* --- Turning a wire -------------------------------------------------------------------------- */
/* --- Turning a wire -------------------------------------------------------------------------- */

/* A wire's signal is a quadratic form of its direction n, so that six ways to lie give all others:
 * along the three axes (ways 0 to 2) and half way between two of them (3 to 5). */
enum { WAYS = 6 };

/* What the head sees of the wire lying each of these ways, at the middle of the pack, in limits;
 * and, last, what the product adds. */
typedef struct {
    size_t count;
    double *along[WAYS + 1], *across[WAYS + 1];
} Ways;

static Vec3 direction_turned(Player *player, const Piece *wire, int64_t azimuth, int64_t elevation)
{
    Piece turned = *wire;
    turned.azimuth_mdeg = azimuth;
    turned.elevation_mdeg = elevation;
    return world_detect_piece(player, &turned).piece.direction;
}

static void ways_init(Ways *ways, Player *player, const Piece *wire)
{
    static const Vec3 directions[WAYS] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1},
                                          {1, 1, 0}, {1, 0, 1}, {0, 1, 1}};
    size_t count = player->program.count;
    size_t half = count / 2;
    DetectGrid grid = {-(double)half / 1000.0, 0.001, count};
    Piece placed = *wire;
    placed.along_um = 0;
    placed.across_um = 0;
    placed.up_um = llround(player->today.height_m * 1e6 / 2.0);
    DetectPiece piece = world_detect_piece(player, &placed);
    double complex *signal = check_calloc(count, sizeof *signal);
    ways->count = count;
    for (int way = 0; way <= WAYS; way++) {
        ways->along[way] = check_calloc(count, sizeof(double));
        ways->across[way] = check_calloc(count, sizeof(double));
        if (way == WAYS) break;
        memset(signal, 0, count * sizeof *signal);
        piece.piece.direction = directions[way];
        detect_add_signal(&player->head, &piece, &grid, signal);
        detect_add_in_limits(&player->program, signal, count, ways->along[way], ways->across[way]);
    }
    detect_product_signal(&player->head, &player->today, &grid, signal);
    detect_excess(&player->program, signal, count, ways->along[WAYS], ways->across[WAYS]);
    free(signal);
}

static void ways_clear(Ways *ways)
{
    for (int way = 0; way <= WAYS; way++) {
        free(ways->along[way]);
        free(ways->across[way]);
    }
}

/* The peak ratio of the wire in any direction. With S(i j) the signal half way between two axes,
 * the form's mixed part is S(i j) - (S(i) + S(j)) / 2. */
static double ratio_turned(const Ways *ways, Vec3 n)
{
    const double parts[WAYS + 1] = {n.x * (n.x - n.y - n.z),
                                    n.y * (n.y - n.x - n.z),
                                    n.z * (n.z - n.x - n.y),
                                    2.0 * n.x * n.y,
                                    2.0 * n.x * n.z,
                                    2.0 * n.y * n.z,
                                    1.0};
    double peak = 0.0;
    for (size_t i = 0; i < ways->count; i++) {
        double along = 0.0;
        double across = 0.0;
        for (int way = 0; way <= WAYS; way++) {
            along += parts[way] * ways->along[way][i];
            across += parts[way] * ways->across[way][i];
        }
        peak = fmax(peak, hypot(along, across));
    }
    return peak;
}

bool world_turn_is_right(Player *player, const Scene *scene)
{
    enum { STEP_MDEG = 15000 };
    Ways ways;
    const Piece *wire = world_piece(player, player->site->pieces[scene->piece].id);
    if (wire == NULL) return false;
    ways_init(&ways, player, wire);
    double is = ratio_turned(&ways, world_detect_piece(player, wire).piece.direction);
    double least = is;
    double most = is;
    for (int64_t up = 0; up <= 90000; up += STEP_MDEG) {
        for (int64_t round = 0; round < 360000; round += STEP_MDEG) {
            double ratio = ratio_turned(&ways, direction_turned(player, wire, round, up));
            least = fmin(least, ratio);
            most = fmax(most, ratio);
            if (up == 90000) break; /* upright is upright whichever way round */
        }
    }
    ways_clear(&ways);
    double off = scene->hardest ? is - least : most - is;
    return off <= 0.1 * (most - least);
}

/* --- A place in the pack --------------------------------------------------------------------- */

enum { PLACES_ACROSS = 9, PLACES_UP = 9 };

/* The peak ratio of a piece in the middle pack of the belt, with room for its trace. */
typedef struct {
    size_t count;
    double complex *signal;
    double *along, *across;
} Trace;

static double ratio_at(Player *player, const Trace *trace, int piece, int64_t across_um,
                       int64_t up_um)
{
    Piece placed = {.site_piece = piece, .across_um = across_um, .up_um = up_um};
    DetectPiece at = world_detect_piece(player, &placed);
    DetectGrid grid = {-(double)(trace->count / 2) / 1000.0, 0.001, trace->count};
    double peak = 0.0;
    detect_product_signal(&player->head, &player->today, &grid, trace->signal);
    detect_add_signal(&player->head, &at, &grid, trace->signal);
    detect_excess(&player->program, trace->signal, trace->count, trace->along, trace->across);
    for (size_t i = 0; i < trace->count; i++) {
        peak = fmax(peak, hypot(trace->along[i], trace->across[i]));
    }
    return peak;
}

/* Whether the site's drawing lets a piece lie at this height, and the pack reaches so far. */
static bool may_lie(const Player *player, int64_t across_um, int64_t up_um)
{
    const SiteProduct *product = &player->site->products[player->scenario->product];
    return llabs(across_um) <= llround(player->today.width_m * 5e5) && up_um >= 0 &&
           up_um <= llround(player->today.height_m * 1e6) &&
           product->heights[world_height(player, up_um)];
}

/* The least signal among places from wall to wall of the pack and from its bottom to its top. */
static double weakest(Player *player, const Trace *trace, int piece)
{
    int64_t width_um = llround(player->today.width_m * 1e6);
    int64_t height_um = llround(player->today.height_m * 1e6);
    double least = INFINITY;
    for (int i = 0; i < PLACES_ACROSS; i++) {
        for (int j = 0; j < PLACES_UP; j++) {
            int64_t across_um = (2 * i - (PLACES_ACROSS - 1)) * width_um / (2 * PLACES_ACROSS - 2);
            int64_t up_um = j * height_um / (PLACES_UP - 1);
            if (!may_lie(player, across_um, up_um)) continue;
            least = fmin(least, ratio_at(player, trace, piece, across_um, up_um));
        }
    }
    return least;
}

bool world_place_is_right(Player *player, const Scene *scene, int64_t across_um, int64_t up_um)
{
    size_t count = player->program.count;
    Trace trace = {.count = count,
                   .signal = check_calloc(count, sizeof *trace.signal),
                   .along = check_calloc(count, sizeof *trace.along),
                   .across = check_calloc(count, sizeof *trace.across)};
    bool right = may_lie(player, across_um, up_um);
    if (right) {
        double limit = 1.0 + (double)scene->within_percent / 100.0;
        double is = ratio_at(player, &trace, scene->piece, across_um, up_um);
        right = is <= limit * weakest(player, &trace, scene->piece);
    }
    free(trace.signal);
    free(trace.along);
    free(trace.across);
    return right;
}

/* --- A given record -------------------------------------------------------------------------- */

bool world_correct_row(Player *player, const LogLine *action)
{
    const Scene *scene = scene_of(player);
    const char *value = log_word(action, "value");
    for (int i = 0; i < scene->given_count; i++) {
        const GivenRow *row = &scene->given[i];
        if (strcmp(row->row, log_word(action, "row")) != 0) continue;
        for (int v = 0; v < row->value_count; v++) {
            if (strcmp(row->values[v], value) == 0) {
                player->given[i] = v;
                LogLine *told = world_tell(player, HAPPENING_ROW_CORRECTED);
                log_set_word(told, "row", row->row);
                log_set_word(told, "value", value);
                return true;
            }
        }
        world_refuse(player, "no-such-value");
        return true;
    }
    return false;
}

static bool record_is_right(const Player *player, const Scene *scene)
{
    for (int i = 0; i < scene->given_count; i++) {
        const GivenRow *row = &scene->given[i];
        if (strcmp(row->values[player->given[i]], row->should_be) != 0) return false;
    }
    return true;
}

const char *player_given(const Player *player, int row)
{
    const Scene *scene = scene_of(player);
    CHECK(!player->ended && row >= 0 && row < scene->given_count);
    return scene->given[row].values[player->given[row]];
}

/* --- Answers --------------------------------------------------------------------------------- */

void world_begin_questions(Player *player)
{
    for (int i = 0; i < SCENARIO_STEPS_MAX; i++) {
        player->order[i] = i;
    }
    memset(player->given, 0, sizeof player->given);
}

int player_step(const Player *player, int place)
{
    CHECK(!player->ended && place >= 0 && place < scene_of(player)->step_count);
    return player->order[place];
}

/* Put a step at a place; those between move up. */
static void arrange(Player *player, const LogLine *action)
{
    const Scene *scene = scene_of(player);
    const char *id = log_word(action, "step");
    int to = (int)log_number(action, "at") - 1;
    int from = 0;
    while (from < scene->step_count && strcmp(scene->steps[player->order[from]].id, id) != 0) {
        from++;
    }
    if (from == scene->step_count || to >= scene->step_count) {
        world_refuse(player, "no-such-step");
        return;
    }
    int step = player->order[from];
    for (int i = from; i > to; i--) {
        player->order[i] = player->order[i - 1];
    }
    for (int i = from; i < to; i++) {
        player->order[i] = player->order[i + 1];
    }
    player->order[to] = step;
    LogLine *told = world_tell(player, HAPPENING_ARRANGED);
    log_set_word(told, "step", id);
    log_set_number(told, "at", to + 1);
}

static void tell_answer(Player *player, const char *choice, bool right, const char *mistake)
{
    LogLine *told = world_tell(player, HAPPENING_ANSWERED);
    log_set_word(told, "scene", scene_of(player)->id);
    log_set_word(told, "choice", choice);
    log_set_word(told, "right", right ? "yes" : "no");
    log_set_word(told, "mistake", mistake[0] == '\0' ? "none" : mistake);
}

/* Left as it is: the wire so turned, the steps in this order. */
static void leave_so(Player *player, const Scene *scene)
{
    bool right = scene->kind == SCENE_TURN ? world_turn_is_right(player, scene)
                                           : scenario_order_is_right(scene, player->order);
    tell_answer(player, scene->kind == SCENE_TURN ? "so" : "in-this-order", right, "");
    go_on(player, scene->next);
}

static void answer(Player *player, const LogLine *action)
{
    const Scene *scene = scene_of(player);
    const char *choice = log_word(action, "choice");
    bool leaves = scene->kind == SCENE_TURN || scene->kind == SCENE_ARRANGE;
    if (leaves && strcmp(choice, "so") == 0) {
        leave_so(player, scene);
        return;
    }
    if (scene->kind != SCENE_DECIDE) {
        world_refuse(player, "no-question");
        return;
    }
    for (int i = 0; i < scene->answer_count; i++) {
        const Answer *each = &scene->answers[i];
        if (strcmp(each->id, choice) != 0) continue;
        tell_answer(player, choice, each->right, each->mistake);
        go_on(player, each->next);
        return;
    }
    world_refuse(player, "no-such-answer");
}

/* Off the centre line is the mistake M3. */
static void point(Player *player, const LogLine *action)
{
    const Scene *scene = scene_of(player);
    if (scene->kind != SCENE_PLACE) {
        world_refuse(player, "no-question");
        return;
    }
    bool right = world_place_is_right(player, scene, log_number(action, "across_um"),
                                      log_number(action, "up_um"));
    tell_answer(player, "there", right, right ? "" : "M3");
    go_on(player, scene->next);
}

static void next(Player *player)
{
    const Scene *scene = scene_of(player);
    switch (scene->kind) {
    case SCENE_TELL:
    case SCENE_PASS:
        break;
    case SCENE_WRITE:
        if (scene->given_count > 0) {
            bool right = record_is_right(player, scene);
            tell_answer(player, "record", right, right ? "" : "M24");
        }
        break;
    case SCENE_DECIDE:
    case SCENE_TURN:
    case SCENE_PLACE:
    case SCENE_ARRANGE:
        world_refuse(player, "answer-first");
        return;
    }
    go_on(player, scene->next);
}

void world_do_answers(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_ANSWER)) {
        answer(player, action);
    } else if (log_is_action(action, ACTION_POINT)) {
        point(player, action);
    } else if (log_is_action(action, ACTION_ARRANGE)) {
        arrange(player, action);
    } else {
        next(player);
    }
}
