/* The packing line: a belt that carries packs through the detector's head to a reject device, a bin
 * and a pallet. Whole numbers only: microseconds, and micrometres along the belt. Which pack a blow
 * meets follows from timing alone.
 *
 * Places along the belt are measured from the coils (0), positive in the direction of travel; the
 * infeed and the photo-eye are negative, the reject device and the belt's end positive. Packs are
 * followed by their centres. Everything that happens is told as a LineEvent; between two events
 * nothing happens but steady travel, so stepping by microseconds or from event to event is the
 * same.
 *
 * A line may have several lanes: packs side by side on one belt, under one head. Each lane has its
 * own photo-eye and its own reject device; they share the air, the bin and the head, which cannot
 * tell from the signal in which lane the metal is. So in every lane the pack that is in the head
 * at the trip is blown off: the one nearest to the coils by its eye, within half a pitch.
 */
#ifndef LINE_LINE_H
#define LINE_LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/random.h"
#include "detector/detect.h"

enum {
    LINE_PACKS_MAX = 128, /* on the belt at once, in all lanes */
    LINE_LANES_MAX = 8,
    LINE_QUEUE_MAX = 32,          /* test packs laid out at the infeed */
    LINE_TESTS_MAX = 64,          /* test packs in one run; numbers 1..LINE_TESTS_MAX */
    LINE_PIECES_IN_PACK_MAX = 8,  /* test pieces in one pack */
    LINE_BLOWS_MAX = 1024,        /* blows waiting for their moment; one more is lost */
    LINE_FINDS_MAX = 8,           /* good packs with metal in them, in one run */
    LINE_BELT_UM_S_MAX = 5000000, /* 300 m/min */
    LINE_PLACE_UM_MAX = 20000000, /* the belt ends within 20 m of the coils */
};

/* What starts the wait for the reject device, and what measures that wait. A timer and the encoder
 * both stand still while the belt does. */
typedef enum { LINE_BY_EYE, LINE_BY_SIGNAL } LineStart;
typedef enum { LINE_TIMER, LINE_ENCODER } LineTiming;

/* What watches over the line itself, where it is built so: it stops the line when that is no longer
 * as it must be. The line looks at its monitors each time that a pitch has gone by. */
typedef enum {
    LINE_MONITOR_CONFIRMATION, /* each blow brings a pack past the sensor in the bin's mouth */
    LINE_MONITOR_BIN_FULL,
    LINE_MONITOR_BIN_OPEN, /* the bin is in its place, closed and locked */
    LINE_MONITOR_AIR,      /* the tank holds air for one full blow */
    LINE_MONITOR_EYE,      /* the photo-eye is not covered */
    LINE_MONITOR_ENCODER,  /* the encoder counts while the belt moves */
    LINE_MONITOR_COUNT
} LineMonitor;

/* What a line is built as and set to. The right settings make the middle of the blow meet the
 * pack's centre: for a pack's own trip at the coils when the signal starts it. */
typedef struct {
    int64_t infeed_um, eye_um, reject_um, end_um;
    int64_t belt_um_s;      /* belt speed, 1..LINE_BELT_UM_S_MAX */
    int64_t pitch_um;       /* centre to centre of the packs that come from upstream in a lane */
    int64_t pack_length_um; /* along the belt, less than the pitch */
    int64_t stroke_us;      /* how long the reject device acts */
    LineStart started_by;
    LineTiming timed_by;
    int bin_packs;   /* what the bin holds */
    int lanes;       /* 1..LINE_LANES_MAX; several only when started by photo-eyes */
    int64_t lane_um; /* from the middle of one lane to that of the next */
    bool monitors[LINE_MONITOR_COUNT];
} LineSetup;

/* What is wrong with the line at this moment; all zeros: nothing. */
typedef struct {
    int64_t reject_shift_us; /* the wait is off by so much from the right one for every pack that
                                the head has not looked at yet: positive is late */
    int64_t belt_um_s;       /* the belt's true speed, 1..LINE_BELT_UM_S_MAX; 0: as set up. Timers
                                and waits stay as they were set for the speed of the setup, and what
                                comes from upstream is slowed or hurried with the belt. */
    int64_t eye_late_um;     /* the eye sees a pack's front so far too late */
    bool eye_covered;        /* it sees none of the packs that come by */
    bool encoder_lost;       /* the encoder stands still while the belt moves */
    int64_t stroke_us;       /* longer than set up: the device stays out, and whatever runs into it
                                goes as well; 0: as set up */
    bool reject_off;         /* no device acts */
    bool lane_dead[LINE_LANES_MAX]; /* this lane's device does not act */
    bool air_shut;                  /* no air comes to it */
    int64_t air_blows;      /* the full tank holds air for so many blows, and fills by one in */
    int64_t air_blow_us;    /* this time, belt or no belt; 0 blows: there is always enough */
    bool confirmation_lost; /* the sensor in the bin's mouth tells nothing */
    bool bin_open;          /* as the monitor sees it: open, or not locked */
    bool bin_seems_full;    /* the level sensor is covered */
    bool bin_missing;       /* what is blown off the belt lies on the floor */
    bool head_bypassed;     /* the head calls nothing metal */
    bool is_jammed;         /* the next pack at the coils sticks there, and the others behind it */
    int64_t turned_every;   /* every n-th pack from upstream lies across the belt; 0: none */
} LineTrouble;

/* What the head does now: set by line_set_head, borrowed until the next call of it. */
typedef struct {
    const DetectHead *head;
    const DetectProgram *program;
    const ProductBlock *today; /* the product as it is now, the same in every pack */
    DetectGrid grid;           /* of a pack's centre, symmetric about 0, 1 mm steps */
    int64_t limit_percent;     /* 100 as validated; 200 needs twice the signal */
    int64_t gain_percent;      /* of every signal, 100 when it is warmed up */
    int64_t noise_percent;     /* of what good packs and the head itself vary by, 100 as learned */
} LineHead;

/* A test pack as it is laid on the infeed. */
typedef struct {
    int number;        /* 1..LINE_TESTS_MAX; 0: a good pack, without a piece */
    int lane;          /* from 0 */
    int64_t across_um; /* its centre from the middle of its lane */
    int piece_count;
    DetectPiece pieces[LINE_PIECES_IN_PACK_MAX]; /* across_m counts from the pack's centre line */
} LineTestPack;

typedef enum {
    LINE_PACK_ON_BELT, /* a test pack left the infeed */
    LINE_JUDGED,       /* the head has looked at a pack: a test pack, or any that was found */
    LINE_ALARM,        /* the signal trips, at this moment */
    LINE_BLOW,         /* the reject device begins to act */
    LINE_REMOVED,      /* a pack was blown into the bin */
    LINE_BLOW_IN_GAP,  /* the blow met no pack */
    LINE_BIN_FULL,     /* the blow met a pack, but the bin had no room: the pack went on */
    LINE_BLOW_WEAK,    /* the blow met a pack, but had no force: the pack went on */
    LINE_FELL,         /* a pack was blown to where the bin should be: onto the floor */
    LINE_JAMMED,       /* a pack sticks in the aperture or, a test pack, behind it */
    LINE_STOPPED_SELF, /* a monitor has stopped the belt */
    LINE_PASSED,       /* a test pack's rear has passed the reject device: it was accepted */
    LINE_AT_END,       /* a test pack went over the belt's end onto the pallet */
    LINE_GOOD_AT_END,  /* a good pack did */
} LineEventKind;

typedef struct {
    LineEventKind kind;
    int64_t time_us;
    int test;            /* the test pack's number; 0 for a good pack or none */
    bool found;          /* of LINE_JUDGED */
    int64_t ratio_milli; /* of LINE_JUDGED: noise-free peak ratio in thousandths, at most 1e9 */
    int find;            /* the number of the metal in a good pack, 0 for none */
    LineMonitor monitor; /* of LINE_STOPPED_SELF */
    int64_t ordered_us;  /* of LINE_REMOVED and LINE_FELL: when the head ordered the blow */
    int lane;            /* of the pack or of the device that acts, from 0 */
    int beside; /* of LINE_REMOVED: taken as its lane's pack for metal in this lane, from 1;
                            0: for its own, or by mischance */
} LineEvent;

/* Where the middle of a lane is, from the middle of the belt. */
int64_t line_lane_um(const LineSetup *setup, int lane);

typedef struct Line Line;

/* A line at time 0, standing still, with an empty belt. `seed` is all its luck. The setup is
 * copied; it is in range. The caller ends it with line_free. */
MUST_USE Line *line_new(const LineSetup *setup, uint64_t seed);
void line_free(Line *line);

/* What the head does from now on, for every pack it has not looked at yet. */
void line_set_head(Line *line, const LineHead *head);

/* What is wrong from now on. */
void line_set_trouble(Line *line, const LineTrouble *trouble);
LineTrouble line_trouble(const Line *line);

/* The `nth` good pack that comes from now on, 1 for the next, has this piece of metal in it; packs
 * that come side by side count from lane 0 on.
 * Returns the metal's number, 1 for the first; LINE_FINDS_MAX at most are given. */
int line_contaminate(Line *line, int64_t nth, const DetectPiece *piece);

/* A piece of metal sits in the belt, which is `belt_um` long: it comes by the coils half a turn
 * from now, and then with every turn. NULL: there is none any more. `belt_um` is longer than the
 * belt from infeed to end. */
void line_set_joint(Line *line, int64_t belt_um, const DetectPiece *piece);

/* So many good packs of before lie in the bin, no more than it holds. */
void line_fill_bin(Line *line, int64_t packs);

/* Go on to the next event at or before `until_us` and tell it; false when there is none: the line
 * then stands at `until_us`. `until_us` is not before the line's time. */
MUST_USE bool line_step(Line *line, int64_t until_us, LineEvent *event);

/* The line's time. */
int64_t line_now_us(const Line *line);

/* Start and stop the belt; packs, timers and the encoder stand still while it does. */
void line_run(Line *line, bool run);
bool line_is_running(const Line *line);

/* Whether packs come from upstream. */
void line_feed(Line *line, bool on);
bool line_is_fed(const Line *line);

/* Lay a pack on the infeed: it takes the next place of its lane at normal pitch, after those laid
 * before it.
 * False when LINE_QUEUE_MAX are waiting. */
MUST_USE bool line_lay_on(Line *line, const LineTestPack *pack);

/* Where a test pack is, as far as the line knows. */
typedef enum {
    LINE_NOWHERE,
    LINE_ON_INFEED,
    LINE_ON_BELT,
    LINE_IN_BIN,
    LINE_ON_PALLET,
    LINE_IN_JAM,
    LINE_ON_FLOOR
} LineWhere;
LineWhere line_where(const Line *line, int test);

/* How many pieces of metal line_contaminate was given. */
int line_find_count(const Line *line);

/* Where a piece of metal among the good packs is; LINE_ON_INFEED while it is still to come, and
 * LINE_NOWHERE once its pack was taken away. */
LineWhere line_find_where(const Line *line, int find);

/* Where a test pack's centre is on the belt; only while it is there. */
int64_t line_pack_place_um(const Line *line, int test);

/* Take a test pack away by hand from wherever it is. False when the line does not have it. */
MUST_USE bool line_take(Line *line, int test);

/* Counts: good and test packs on the belt, in the aperture's jam, in the bin, on the floor and on
 * the pallet, and all good packs that ever came. made = belt + jam + bin + floor + pallet. Packs
 * that were scrapped count as never made. `blown` is what the device removed, as its own counter
 * has it. */
typedef struct {
    int64_t made, good_on_belt, tests_on_belt, good_in_bin, tests_in_bin, good_on_pallet,
        tests_on_pallet, good_in_jam, tests_in_jam, good_on_floor, tests_on_floor, blown;
} LineCounts;
LineCounts line_counts(const Line *line);

/* Take the good packs out of the bin and off the floor (test packs are taken one by one). Returns
 * how many there were; they count as scrapped from then on. */
int64_t line_scrap_bin(Line *line);

/* Take out what sticks in the aperture: good packs are scrapped, test packs are then nowhere on the
 * line. Returns how many packs there were. The trouble itself stays as it was set. */
int64_t line_clear_jam(Line *line);

/* The belt's places for a picture: each pack's centre in micrometres, its test number and its lane,
 * in the order of travel from the front, side by side by lane. Returns how many, at most
 * LINE_PACKS_MAX. */
typedef struct {
    int64_t place_um;
    int test;
    int lane;
} LinePicture;
int line_picture(const Line *line, LinePicture out[LINE_PACKS_MAX]);

#endif
