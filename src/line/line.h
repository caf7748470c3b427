/* The packing line: a belt that carries packs through the detector's head to a reject device, a bin
 * and a pallet. Whole numbers only: microseconds, and micrometres along the belt. Which pack a blow
 * meets follows from timing alone.
 *
 * Places along the belt are measured from the coils (0), positive in the direction of travel; the
 * infeed and the photo-eye are negative, the reject device and the belt's end positive. Packs are
 * followed by their centres. Everything that happens is told as a LineEvent; between two events
 * nothing happens but steady travel, so stepping by microseconds or from event to event is the
 * same.
 */
#ifndef LINE_LINE_H
#define LINE_LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/random.h"
#include "detector/detect.h"

enum {
    LINE_PACKS_MAX = 128,         /* on the belt at once */
    LINE_QUEUE_MAX = 32,          /* test packs laid out at the infeed */
    LINE_TESTS_MAX = 64,          /* test packs in one run; numbers 1..LINE_TESTS_MAX */
    LINE_PIECES_IN_PACK_MAX = 8,  /* test pieces in one pack */
    LINE_BLOWS_MAX = 1024,        /* blows waiting for their moment; one more is lost */
    LINE_BELT_UM_S_MAX = 5000000, /* 300 m/min */
    LINE_PLACE_UM_MAX = 20000000, /* the belt ends within 20 m of the coils */
};

/* What starts the wait for the reject device, and what measures that wait. A timer and the encoder
 * both stand still while the belt does. */
typedef enum { LINE_BY_EYE, LINE_BY_SIGNAL } LineStart;
typedef enum { LINE_TIMER, LINE_ENCODER } LineTiming;

/* What a line is built as and set to. The right settings make the middle of the blow meet the
 * pack's centre: for a pack's own trip at the coils when the signal starts it. */
typedef struct {
    int64_t infeed_um, eye_um, reject_um, end_um;
    int64_t belt_um_s;      /* belt speed, 1..LINE_BELT_UM_S_MAX */
    int64_t pitch_um;       /* centre to centre of the packs that come from upstream */
    int64_t pack_length_um; /* along the belt, less than the pitch */
    int64_t stroke_us;      /* how long the reject device acts */
    LineStart started_by;
    LineTiming timed_by;
    int bin_packs; /* what the bin holds */
} LineSetup;

/* What the head does now: set by line_set_head, borrowed until the next call of it. */
typedef struct {
    const DetectHead *head;
    const DetectProgram *program;
    const ProductBlock *today; /* the product as it is now, the same in every pack */
    DetectGrid grid;           /* of a pack's centre, symmetric about 0, 1 mm steps */
    int64_t limit_percent;     /* 100 as validated; 200 needs twice the signal */
} LineHead;

/* A test pack as it is laid on the infeed. */
typedef struct {
    int number;        /* 1..LINE_TESTS_MAX */
    int64_t across_um; /* its centre from the middle of the belt */
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
} LineEvent;

typedef struct Line Line;

/* A line at time 0, standing still, with an empty belt. `seed` is all its luck. The setup is
 * copied; it is in range. The caller ends it with line_free. */
MUST_USE Line *line_new(const LineSetup *setup, uint64_t seed);
void line_free(Line *line);

/* What the head does from now on, for every pack it has not looked at yet. */
void line_set_head(Line *line, const LineHead *head);

/* For every pack that the head has not looked at yet, the reject device's wait is off by so much
 * from the right one: positive is late. */
void line_set_reject_shift(Line *line, int64_t shift_us);

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

/* Lay a test pack on the infeed: it takes the next place at normal pitch, after those laid before
 * it. False when LINE_QUEUE_MAX are waiting. */
MUST_USE bool line_lay_on(Line *line, const LineTestPack *pack);

/* Where a test pack is, as far as the line knows. */
typedef enum { LINE_NOWHERE, LINE_ON_INFEED, LINE_ON_BELT, LINE_IN_BIN, LINE_ON_PALLET } LineWhere;
LineWhere line_where(const Line *line, int test);

/* Where a test pack's centre is on the belt; only while it is there. */
int64_t line_pack_place_um(const Line *line, int test);

/* Take a test pack away by hand from wherever it is. False when the line does not have it. */
MUST_USE bool line_take(Line *line, int test);

/* Counts: good and test packs on the belt, good packs in the bin, good packs on the pallet, and all
 * good packs that ever came from upstream. made = belt + bin + pallet. */
typedef struct {
    int64_t made, good_on_belt, tests_on_belt, good_in_bin, tests_in_bin, good_on_pallet,
        tests_on_pallet;
} LineCounts;
LineCounts line_counts(const Line *line);

/* Empty the bin of its good packs (test packs are taken one by one). Returns how many there were;
 * they count as scrapped from then on. */
int64_t line_scrap_bin(Line *line);

/* The belt's places for a picture: each pack's centre in micrometres and its test number, in the
 * order of travel from the front. Returns how many, at most LINE_PACKS_MAX. */
typedef struct {
    int64_t place_um;
    int test;
} LinePicture;
int line_picture(const Line *line, LinePicture out[LINE_PACKS_MAX]);

#endif
