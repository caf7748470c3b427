/* The state machine of a run. */
#include "player/world.h"

#include <stdlib.h>
#include <string.h>

/* LOG_ROOM: more lines than one action or one event of the line can add; a signature tells most,
 * one for each row of the sheet. */
enum { US_PER_MIN = 60000000, LOG_ROOM = PLAYER_ROWS_MAX + 16 };

/* --- The log --------------------------------------------------------------------------------- */

static LogLine *append(Player *player, LogLine line)
{
    CHECK(player->log_count < LOG_LINES_MAX);
    if (player->log_count == player->log_capacity) {
        player->log_capacity = player->log_capacity == 0 ? 64 : player->log_capacity * 2;
        player->log = check_realloc(player->log, player->log_capacity, sizeof *player->log);
    }
    player->log[player->log_count] = line;
    return &player->log[player->log_count++];
}

LogLine *world_tell(Player *player, HappeningKind kind)
{
    return append(player, log_happening(kind, player->now_us));
}

void world_refuse(Player *player, const char *why)
{
    log_set_word(world_tell(player, HAPPENING_NOT_POSSIBLE), "why", why);
}

const LogLine *player_log(const Player *player, size_t *count)
{
    *count = player->log_count;
    return player->log;
}

/* --- The head -------------------------------------------------------------------------------- */

/* A centimetre of trace has ten points, enough for trips to the millimetre. */
static DetectGrid grid_of(const Player *player)
{
    const CoilHead *coils = &player->head.coils;
    double reach_mm = player->today.length_m * 500.0 + coils->aperture_height_m * 3000.0;
    int64_t half = (int64_t)reach_mm + 1;
    return (DetectGrid){-(double)half / 1000.0, 0.001, (size_t)(2 * half + 1)};
}

void world_show_head(Player *player)
{
    const Fault *cold = world_fault(player, FAULT_HEAD_COLD);
    LineHead head = {.head = &player->head,
                     .program = &player->program,
                     .today = &player->today,
                     .grid = grid_of(player),
                     .limit_percent = player->limit_percent,
                     .gain_percent = cold != NULL ? cold->percent : 100,
                     .noise_percent = cold != NULL ? cold->noise_percent : 100};
    line_set_head(player->line, &head);
}

bool world_set_program(Player *player, int product, Err *err)
{
    const SiteLine *line = player->scenario->line;
    double factor = player->setup.fitted[line->head].variation_factor;
    ProductBlock learned = site_block(player->site, line, product);
    learned.amplitude_variation *= factor;
    learned.phase_variation_rad *= factor;
    if (player->relearned && product == player->scenario->product) {
        learned.conductivity_s_per_m = player->today.conductivity_s_per_m;
    }
    DetectGrid grid = grid_of(player);
    DetectProgram program = {0};
    if (!detect_program_init(&program, &player->head, &learned, &grid, err)) return false;
    detect_program_clear(&player->program);
    player->program = program;
    player->program_product = product;
    return true;
}

/* --- Beginning and end ----------------------------------------------------------------------- */

void world_begin_scene(Player *player, int scene)
{
    player->scene = scene;
    world_begin_questions(player);
    if (scene == player->scenario->scene_count) {
        world_end(player, "done");
        return;
    }
    const Scene *next = &player->scenario->scenes[scene];
    LogLine *told = world_tell(player, HAPPENING_SCENE_BEGUN);
    log_set_word(told, "scene", next->id);
    log_set_word(told, "kind", scenario_scene_words[next->kind]);
}

void world_end(Player *player, const char *why)
{
    player->ended = true;
    log_set_word(world_tell(player, HAPPENING_RUN_ENDED), "why", why);
}

bool player_new(const PlayerSetup *setup, Player **out, Err *err)
{
    const Scenario *scenario = setup->scenario;
    Player *player = check_calloc(1, sizeof *player);
    player->setup = *setup;
    player->scenario = scenario;
    player->site = scenario->site;
    player->limit_percent = 100;
    player->bin_counted = -1;
    player->held_from_us = -1;
    player->head = player->site->heads[scenario->line->head].head;
    player->head.noise_v = setup->fitted[scenario->line->head].noise_v;
    player->today = site_block(player->site, scenario->line, scenario->product);
    player->kit_count = scenario->kit_count;
    for (int i = 0; i < scenario->kit_count; i++) {
        player->kit[i].site_piece = scenario->kit[i];
    }
    player->recheck_from = -1;
    player->recheck_us = -1;
    if (!world_set_program(player, scenario->product, err)) {
        free(player);
        return false;
    }
    LineSetup line = scenario->line->setup;
    line.pack_length_um = (int64_t)(player->today.length_m * 1e6 + 0.5);
    player->line = line_new(&line, setup->seed);
    world_show_head(player);
    line_feed(player->line, scenario->fed);
    line_run(player->line, true);
    world_set_faults(player);
    world_begin_scene(player, 0);
    *out = player;
    return true;
}

void player_free(Player *player)
{
    if (player == NULL) return;
    line_free(player->line);
    detect_program_clear(&player->program);
    free(player->passes);
    free(player->log);
    free(player);
}

/* --- Time and actions ------------------------------------------------------------------------ */

int64_t player_now_us(const Player *player)
{
    return player->now_us;
}

bool player_has_ended(const Player *player)
{
    return player->ended;
}

const PlayerSetup *player_setup(const Player *player)
{
    return &player->setup;
}

const Line *player_line(const Player *player)
{
    return player->line;
}

int player_scene(const Player *player)
{
    return player->scene;
}

const char *player_piece_in_hand(const Player *player)
{
    for (int i = 0; i < player->kit_count; i++) {
        if (player->kit[i].where == PIECE_IN_HAND) {
            return player->site->pieces[player->kit[i].site_piece].id;
        }
    }
    return NULL;
}

/* A run whose log is full has had all the time it gets. */
static void end_if_full(Player *player)
{
    if (!player->ended && player->log_count + LOG_ROOM > LOG_LINES_MAX) world_end(player, "time");
}

bool player_advance_one(Player *player, int64_t until_us)
{
    CHECK(until_us >= player->now_us);
    if (player->ended) return false;
    int64_t end_us = player->scenario->minutes * US_PER_MIN;
    int64_t to_us = until_us < end_us ? until_us : end_us;
    size_t before = player->log_count;
    LineEvent event;
    for (;;) {
        int64_t people_us = world_people_due(player);
        int64_t stop_us = people_us < to_us ? people_us : to_us;
        while (line_step(player->line, stop_us, &event)) {
            player->now_us = event.time_us;
            world_take_event(player, &event);
            end_if_full(player);
            if (player->log_count > before) return true;
        }
        player->now_us = stop_us;
        if (people_us > to_us) break;
        if (world_people_come(player)) {
            end_if_full(player);
            return true;
        }
    }
    if (to_us < end_us) return false;
    world_end(player, "time");
    return true;
}

void player_advance(Player *player, int64_t until_us)
{
    while (player_advance_one(player, until_us)) {
    }
}

/* Who does each action. */
typedef void Do(Player *player, const LogLine *action);
static Do *const doers[ACTION_COUNT_OF] = {
    [ACTION_INSPECT] = world_do_hands,       [ACTION_TAKE] = world_do_hands,
    [ACTION_PUT_BACK] = world_do_hands,      [ACTION_MAKE_PACK] = world_do_hands,
    [ACTION_PLACE] = world_do_hands,         [ACTION_TURN] = world_do_hands,
    [ACTION_FIND] = world_do_hands,          [ACTION_SEND] = world_do_hands,
    [ACTION_WATCH] = world_do_hands,         [ACTION_FETCH] = world_do_hands,
    [ACTION_DESTROY] = world_do_hands,       [ACTION_REFUSE] = world_do_hands,
    [ACTION_FETCH_PIECE] = world_do_hands,   [ACTION_SEND_GOOD] = world_do_hands,
    [ACTION_SEARCH] = world_do_hands,        [ACTION_EXAMINE_REJECTS] = world_do_hands,
    [ACTION_KEEP_FIND] = world_do_hands,     [ACTION_THROW_FIND] = world_do_hands,
    [ACTION_CLEAR_JAM] = world_do_hands,     [ACTION_READ_PROGRAM] = world_do_line,
    [ACTION_SET_PROGRAM] = world_do_line,    [ACTION_SET_SENSITIVITY] = world_do_line,
    [ACTION_STOP] = world_do_line,           [ACTION_START] = world_do_line,
    [ACTION_LOCK_OFF] = world_do_line,       [ACTION_UNLOCK] = world_do_line,
    [ACTION_OPEN_BIN] = world_do_line,       [ACTION_CLOSE_BIN] = world_do_line,
    [ACTION_CLEAN] = world_do_looks,         [ACTION_BLOCK] = world_do_looks,
    [ACTION_UNBLOCK] = world_do_looks,       [ACTION_POWER_OFF] = world_do_looks,
    [ACTION_POWER_ON] = world_do_looks,      [ACTION_RESET] = world_do_looks,
    [ACTION_LOOK] = world_do_looks,          [ACTION_COMPARE_SETTINGS] = world_do_looks,
    [ACTION_READ_COUNTERS] = world_do_looks, [ACTION_READ_EVENTS] = world_do_looks,
    [ACTION_COUNT] = world_do_words,         [ACTION_HOLD] = world_do_words,
    [ACTION_RELEASE] = world_do_words,       [ACTION_TELL] = world_do_words,
    [ACTION_WRITE] = world_do_words,         [ACTION_SIGN] = world_do_words,
    [ACTION_ANSWER] = world_do_answers,      [ACTION_NEXT] = world_do_answers,
    [ACTION_ARRANGE] = world_do_answers,     [ACTION_POINT] = world_do_answers,
    [ACTION_LEAVE] = world_do_words,         [ACTION_LABEL] = world_do_words,
    [ACTION_RE_PASS] = world_do_words,       [ACTION_HAND_OVER] = world_do_words,
    [ACTION_CALL] = world_do_people,         [ACTION_ASK] = world_do_people,
};

bool player_do(Player *player, const LogLine *action)
{
    CHECK(action->is_action && action->time_us >= player->now_us);
    player_advance(player, action->time_us);
    if (player->ended) return false;
    (void)append(player, *action);
    if (!log_is_action(action, ACTION_STOP)) player->watching = false;
    CHECK(action->kind >= 0 && action->kind < (int)ACTION_COUNT_OF);
    doers[action->kind](player, action);
    end_if_full(player);
    return true;
}
