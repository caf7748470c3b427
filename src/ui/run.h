/* The parts of the run's place, each in its own file, and what they share. */
#ifndef UI_RUN_H
#define UI_RUN_H

#include "ui/paper.h"
#include "ui/session.h"

enum { RUN_BUTTON = 59 };

/* What is drawn where a hand may let go; a width of 0: not on this picture. */
typedef struct {
    DrawRect tray, plan;
} RunRoom;

/* What every part of the place needs. */
typedef struct {
    Ui *ui;
    Session *session;
    RunView *view;
    const Player *player;
    const Scenario *scenario;
    const Scene *scene; /* NULL when the run is over */
    RunRoom *room;      /* filled while the parts draw */
    int dragged;        /* the piece that the pointer carries, an index of the tray; -1: none */
    double foot;
    bool is_big; /* enlarged text: pages instead of parts */
    double row;  /* the height of a button whose label may take two lines */
} Run;

/* --- Words, buttons and actions -------------------------------------------------------------- */

/* A text of the program. */
const char *run_say(const Run *run, const char *key);

/* A paragraph on paper. */
void run_write(const Run *run, DrawRect box, int px, bool is_bold, DrawRole role,
               const char *words);
/* A button, which may be the chosen one; true when it was pressed. */
bool run_button(const Run *run, const char *name, int index, DrawRect box, const char *label,
                bool is_chosen);

/* Do an action now: without a field, with a word, with a pack's number. */
void run_act(const Run *run, ActionKind kind);
void run_act_word(const Run *run, ActionKind kind, const char *field, const char *word);
void run_act_pack(const Run *run, ActionKind kind, int pack);

/* --- The work table -------------------------------------------------------------------------- */

/* A piece as people know it: "ferrous 1.5 mm". */
void run_piece_name(const Run *run, const SitePiece *piece, char *out, size_t bytes);

/* The piece in the hand; NULL: none. */
const SitePiece *run_in_hand(const Run *run);

/* The number of the test pack that would be made next, from 1; beyond LINE_TESTS_MAX none is. */
int run_next_pack(const Run *run);
/* Make it, marked, and choose it. */
void run_make_pack(const Run *run);

/* True when the chosen pack lies open on the table. */
bool run_pack_is_open(const Run *run);

/* A hand is 60 px high at a scale of 1, and smaller where it holds a piece. */
#define RUN_HAND_AT_PIECE 0.7

/* A piece as a card with its hole and its sphere, or as a wire; and the hand. */
void run_draw_piece(const Run *run, double x, double y, const PlayerPiece *piece, bool is_held);
void run_draw_hand(const Run *run, double x, double y, double scale);

/* Lay the piece in the hand at the chosen spot of the chosen pack, or at a place of its plan. */
void run_place_at_spot(const Run *run, const SitePiece *piece);
void run_place_at(const Run *run, const SitePiece *piece, double x, double y);

/* "Lane 2", of the lane that is chosen. */
void run_lane_name(const Run *run, int lane, char *out, size_t bytes);

/* How far from the belt's middle the chosen pack will be laid: there, or along the guide. */
int64_t run_pack_across_um(const Run *run);

/* The aperture from the front, to scale in the middle of `room`: its edge and its belt are drawn, a
 * pack whose middle is so far across lies in `pack`. */
typedef struct {
    DrawRect hole, pack;
    double scale; /* px per um */
} RunFront;
RunFront run_draw_front(const Run *run, DrawRect room, int64_t across_um, DrawRole letters);

/* The work table: packs, the open one from above, from the side and from the front, what can be
 * done with it. */
void run_table(const Run *run, DrawRect box);

/* --- Dragging -------------------------------------------------------------------------------- */

/* The piece that the pointer carries now: one of the tray or of the open pack, pressed and moved
 * off its place; -1: none. */
int run_dragged(const Run *run);

/* Draw it at the pointer; and where the pointer let it go in this pass, do what hands would do. */
void run_drag(const Run *run);

/* --- The other parts ------------------------------------------------------------------------- */

/* The right side: tray, sheet, counts, people, holds. */
void run_side(const Run *run, DrawRect box);

/* What else is done at the line, and what came of it. */
void run_more(const Run *run, DrawRect box);

/* The check sheet: its cells as buttons, or what is to be written in the one that is chosen; and as
 * it stands, only to be read. To write a row of it, which is also how it is corrected. */
void run_sheet(const Run *run, DrawRect box);
void run_sheet_as_is(const Run *run, DrawRect box);
bool run_is_signed(const Run *run); /* and nothing was written since */
void run_write_row(const Run *run, const char *row, const char *value);

/* What the scene asks for, in its own words, step by step; in pages where it is long. */
void run_task(const Run *run, DrawRect box);

/* A scene that speaks: told, a wire to turn, or a question, with the sheet as it stands beside
 * it. */
void run_scene(const Run *run, DrawRect box);
/* The height that it takes in an enlarged frame. */
double run_scene_height(const Run *run, double width);

/* Cell 0 to 8 of the pack's cross-section: from its middle, from its bottom; false where the site's
 * drawing lets no piece lie. */
bool run_point_at(const Run *run, int cell, int64_t *across_um, int64_t *up_um);

/* Practice: whether a pass can be opened up now; open the last one, tell it in two lines; and the
 * one that is open, in `box`. */
bool run_can_open(const Run *run);
void run_open(const Run *run);
void run_tell_last_pass(const Run *run, DrawRect box);
void run_pass(const Run *run, DrawRect box);

#endif
