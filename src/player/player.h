/* One run of a scenario: a state machine that takes actions, moves the line on, and writes the log.
 *
 * The same scenario, site, fitted values, seed and actions give the same happenings, bit for bit.
 * It reads no clock: time comes with the actions.
 */
#ifndef PLAYER_PLAYER_H
#define PLAYER_PLAYER_H

#include "player/log.h"
#include "scenario/scenario.h"

enum { PLAYER_ROWS_MAX = 64 };

typedef struct {
    const Scenario *scenario; /* borrowed, with its site, for the player's life */
    const SiteFitted *fitted; /* borrowed; one for each head of the site */
    uint64_t seed;
} PlayerSetup;

typedef struct Player Player;

/* True when the patterns of a scenario's branches and needs are ones that we know, as those of its
 * rubric are to the scoring. ERR_INPUT at the word to blame. */
MUST_USE bool player_check(const Scenario *scenario, Err *err);

/* A run at time 0, in its first scene, the line running. The caller ends it with player_free.
 * ERR_INPUT when the line's program cannot be computed (no noise and no spread). */
MUST_USE bool player_new(const PlayerSetup *setup, Player **out, Err *err);
void player_free(Player *player);

/* The run's time; it ends at the scenario's minutes, when its log is full, or by an action. */
int64_t player_now_us(const Player *player);
bool player_has_ended(const Player *player);

/* Let the line go on to `until_us` (not before now); what happens goes to the log. */
void player_advance(Player *player, int64_t until_us);

/* Let it go on to the next happening at or before `until_us`; false when there is none. */
MUST_USE bool player_advance_one(Player *player, int64_t until_us);

/* Go on to the action's time (not before now) and do it. The log gets the action and what the world
 * answers at once; an action that cannot be done is answered with "not-possible". False, and
 * nothing done or logged, when the run has ended by then. */
bool player_do(Player *player, const LogLine *action);

/* The log so far, in order; borrowed until the next call that changes the player. */
const LogLine *player_log(const Player *player, size_t *count);

/* --- What a person sees, for pictures and for people's text --------------------------------- */

/* What it was made from, and its line; borrowed. */
const PlayerSetup *player_setup(const Player *player);
const Line *player_line(const Player *player);

/* The scene's index, the count of scenes when the run is over; and the id of the piece in the hand,
 * NULL for none. */
int player_scene(const Player *player);
const char *player_piece_in_hand(const Player *player);

typedef enum {
    PLAYER_PIECE_IN_KIT,
    PLAYER_PIECE_IN_HAND,
    PLAYER_PIECE_IN_PACK,
    PLAYER_PIECE_GONE
} PlayerPieceWhere;

/* A piece of the tray: what it is, where it is, how it lies in its pack. */
typedef struct {
    const SitePiece *piece;
    PlayerPieceWhere where;
    int pack; /* 0 when it is in none */
    int64_t along_um, across_um, up_um;
    int64_t azimuth_mdeg, elevation_mdeg;
} PlayerPiece;

/* How many pieces the tray has, and one of them by its index. */
int player_piece_count(const Player *player);
PlayerPiece player_piece(const Player *player, int index);

/* A test pack, number 1 to LINE_TESTS_MAX. */
typedef struct {
    bool is_made, is_marked, is_on_table, is_destroyed;
    LineWhere on_line;
} PlayerPack;

/* A test pack by its number. */
PlayerPack player_pack(const Player *player, int number);

/* What a row of the check sheet says; NULL: not written. */
const char *player_row(const Player *player, const char *row, bool *is_signed);

/* In a scene that has them: which step stands at a place from 0, and what a row of the given record
 * says now. */
int player_step(const Player *player, int place);
const char *player_given(const Player *player, int row);

/* Whether the bin is open, and whether the reject device is being watched. */
bool player_bin_is_open(const Player *player);
bool player_is_watching(const Player *player);

/* Good packs made since the last good check: what stood there before the run, and what it made. */
int64_t player_made_since_check(const Player *player);

/* The product whose program runs: an index of the site. */
int player_program(const Player *player);

/* --- The log as a whole ----------------------------------------------------------------------- */

/* The run as text: a head of four lines (form, model, scenario, seed) and the log. */
void player_print_run(const Player *player, Text *out);

/* What a run's text says, without playing it. */
typedef struct {
    int64_t model;
    char scenario[SITE_ID_BYTES];
    uint64_t seed;
    LogLine *lines; /* owned */
    size_t count;
} PlayerRun;

/* Read such a text. `file` names it in messages. The caller ends *out with player_run_clear. */
MUST_USE bool player_parse_run(const char *file, const char *bytes, size_t len, PlayerRun *out,
                               Err *err);
void player_run_clear(PlayerRun *run);

/* Play a run's actions again and compare every happening. On true *same tells whether all agree; if
 * not, *why (added to) names the first line that differs. ERR_INPUT as player_new. */
MUST_USE bool player_replay(const PlayerSetup *setup, const PlayerRun *run, bool *same, Text *why,
                            Err *err);

#endif
