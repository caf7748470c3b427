/* The inside of a player, shared by the files of this layer alone. */
#ifndef PLAYER_WORLD_H
#define PLAYER_WORLD_H

#include "player/player.h"

/* Where a piece is. */
typedef enum {
    PIECE_IN_KIT,
    PIECE_IN_HAND,
    PIECE_IN_PACK,
    PIECE_DESTROYED,
    PIECE_ON_FLOOR,
    PIECE_REFUSED
} PieceWhere;

typedef struct {
    int site_piece; /* index in the site */
    PieceWhere where;
    int pack; /* if in one */
    int64_t along_um, across_um, up_um;
    int64_t azimuth_mdeg, elevation_mdeg;
} Piece;

/* What one test pack has been through. */
typedef struct {
    bool made, marked, on_table, destroyed;
    bool proven;            /* sent without a piece, and accepted */
    int64_t sent_across_um; /* from the middle of its lane */
    int sent_lane;          /* from 1; 0: the line has one */
} TestPack;

/* One piece sent through once: what the check sheet must say about it. */
typedef enum { FATE_UNKNOWN, FATE_REMOVED, FATE_ACCEPTED, FATE_CAUGHT } Fate;
typedef struct {
    int pack, piece; /* piece: index in the kit */
    SiteSpot spot;
    int lane; /* from 1; 0: the line has one */
    bool found;
    Fate fate;
} Pass;

typedef struct {
    char row[LOG_WORD_BYTES];
    char value[LOG_WORD_BYTES];
    bool is_signed;
} Row;

/* What a hand can block to try a fail-safe. */
typedef enum {
    BLOCK_EYE,
    BLOCK_BIN_SENSOR,
    BLOCK_LEVEL_SENSOR,
    BLOCK_AIR,
    BLOCK_ENCODER,
    BLOCK_COUNT
} Block;

/* Somebody who was called: comes, is here, or does what was asked, until a moment. */
typedef enum { CALL_NONE, CALL_COMES, CALL_IS_HERE, CALL_WORKS } CallState;
typedef struct {
    CallState state;
    int64_t due_us;
    int job; /* index of what was asked */
} Call;

typedef enum { FAULT_WAITS, FAULT_IS_SET, FAULT_MENDED } FaultState;

struct Player {
    PlayerSetup setup;
    const Scenario *scenario;
    const Site *site;
    Line *line;
    int64_t now_us;

    DetectHead head;       /* with the fitted noise */
    DetectProgram program; /* what the head has learned: of program_product */
    int program_product;
    ProductBlock today;
    int64_t limit_percent;
    FaultState faults[SCENARIO_FAULTS_MAX];
    bool bin_unlocked; /* found so: nobody knows who was at it */
    bool blocked[BLOCK_COUNT];
    bool alarms[SITE_FAIL_SAFE_COUNT]; /* raised and not reset: the line does not start */
    bool power_is_off, ran_on_power;   /* whether the line ran when the power went */
    bool relearned;                    /* today's product is what was learned last */
    Call calls[SITE_ROLE_COUNT];
    int64_t finds_in_hand;
    int64_t passes_judged; /* test packs with a piece that went under the head */

    Piece kit[SCENARIO_KIT_MAX]; /* the scenario's, and what was fetched since */
    int kit_count;
    TestPack packs[LINE_TESTS_MAX + 1];
    Pass *passes;
    int pass_count;
    bool failed;        /* a piece was not removed, or a good pack was */
    int recheck_from;   /* passes from here on are a new check after a repair; -1: none was made */
    int64_t recheck_us; /* when it was repaired; -1: never */
    bool failed_again;  /* since then */
    bool watching;
    bool bin_open, locked_off;
    int64_t bin_counted;   /* what was last truly in the bin when it was counted; -1: never */
    int64_t good_in_a_row; /* good packs at the end since the last test pack or removal */
    int64_t held_from_us;  /* the earliest time of day that is held from; -1: none */
    bool held[STOCK_PLACE_COUNT];      /* from early enough on */
    bool re_passed[STOCK_PLACE_COUNT]; /* on a line that was verified */
    bool lorry_left;                   /* with its stock: there is nothing to hold any more */
    Row rows[PLAYER_ROWS_MAX];
    int row_count;

    int scene;
    int order[SCENARIO_STEPS_MAX]; /* of an arrange: which step stands where */
    int given[SCENARIO_GIVEN_MAX]; /* of a given record: which of its values each row has */
    bool ended;
    LogLine *log;
    size_t log_count, log_capacity;
};

/* Append to the log a happening of this moment, and give it back to fill its fields in. */
LogLine *world_tell(Player *player, HappeningKind kind);

/* Answer an action with "not-possible"; `why` is a word. */
void world_refuse(Player *player, const char *why);

/* Learn the product's program anew and show it to the line. ERR_RANGE as detect_program_init. */
MUST_USE bool world_set_program(Player *player, int product, Err *err);

/* Tell the line what the head is now. */
void world_show_head(Player *player);

/* Set the faults that are due by now. */
void world_set_faults(Player *player);

/* The fault of that kind that is set and not mended; NULL: there is none. */
const Fault *world_fault(const Player *player, FaultKind kind);

/* A fault is no more; what it had changed for good is put right. */
void world_mend(Player *player, FaultKind kind);

/* Show the line what is wrong with it by now. */
void world_show_trouble(Player *player);

/* Whether the piece falls out of its pack when that is sent. */
bool world_piece_falls(const Player *player, const Piece *piece);

/* The piece of the kit with this id, NULL for none. */
Piece *world_piece(Player *player, const char *id);

/* How many pieces are in a pack. */
int world_pieces_in(const Player *player, int pack);

/* Whether a piece is one that the plan wants: metal and size validated here, sound and in date. */
bool world_is_right_piece(const Player *player, const SitePiece *piece);

/* A hand where things move: told when the line is not locked off. `what` is "belt" or "bin". */
void world_reach(Player *player, const char *what);

/* Where along and at which height of a pack this is; and whether that is as near to the end, the
 * middle and the aperture's axis as the plan wants it. */
bool world_is_well_placed(const Player *player, const Piece *piece, int64_t pack_across_um);
SiteSpot world_spot(const Player *player, int64_t along_um);
SiteHeight world_height(const Player *player, int64_t up_um);

/* Where the piece and its pack lie, for the detector. */
DetectPiece world_detect_piece(const Player *player, const Piece *piece);

/* What the log calls a lane that is counted from 0: from 1, and 0 where the line has one. */
int world_lane(const Player *player, int lane);

/* Turn one line event into happenings. */
void world_take_event(Player *player, const LineEvent *event);

/* The actions, by what they touch. Each logs what the world answers. */
void world_do_hands(Player *player, const LogLine *action);
void world_do_line(Player *player, const LogLine *action);
void world_do_words(Player *player, const LogLine *action);
void world_do_answers(Player *player, const LogLine *action);
void world_do_looks(Player *player, const LogLine *action);
void world_do_people(Player *player, const LogLine *action);

/* The moment at which the next of those who were called comes or is done; INT64_MAX: nobody. */
int64_t world_people_due(const Player *player);

/* Whoever is due now comes, or has done what was asked. True when something was told. */
bool world_people_come(Player *player);

/* The line is repaired or set anew: only a full new check speaks for it. */
void world_want_recheck(Player *player);

/* Every metal of the plan was removed at every place of the plan in every lane, the last time that
 * it was sent, since the line was repaired. */
bool world_recheck_is_good(const Player *player);

/* What sticks in the aperture is taken out: good packs are scrapped, test packs come to the table.
 */
void world_clear_jam(Player *player);

/* Free what is held at a place, with or without the authority. */
void world_release(Player *player, const char *place, bool authority);

/* The index of a word, -1 for none. */
int world_word(const char *const words[], const char *word);

/* Begin a scene, or end the run when there is no more. */
void world_begin_scene(Player *player, int scene);
void world_end(Player *player, const char *why);

/* Put order and record of a scene back to their beginning. */
void world_begin_questions(Player *player);

/* Write a row of the scene's given record, if it has that row; else false, and nothing done. */
bool world_correct_row(Player *player, const LogLine *action);

/* Whether a place in the pack (from its middle, from its bottom) has little enough signal. */
bool world_place_is_right(Player *player, const Scene *scene, int64_t across_um, int64_t up_um);

/* Whether a wire lies as the scene asks, within a tenth of what turning can change. */
bool world_turn_is_right(Player *player, const Scene *scene);

/* A row of the sheet against what happened: "true", "false" or "ahead" (not yet known). */
const char *world_truth(const Player *player, const char *row, const char *value);

#endif
