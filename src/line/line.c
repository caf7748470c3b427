/* The belt, its packs, the tracker and the reject device. */
#include "line/line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { US_PER_S = 1000000, RATIO_MILLI_MAX = 1000000000 };

/* One pack on the belt. Its centre passes the coils when the belt has moved `centre_b`. */
typedef struct {
    int64_t centre_b;
    int64_t length_um; /* along the belt */
    int test;          /* 0: a good pack */
    int find;          /* the metal in a good pack; 0: none */
    bool is_turned;    /* lies across the belt */
    bool at_eye, eye_saw, looked, tripped, passed;
    bool will_trip;
    int64_t seen_b, seen_run_us; /* belt, as the tracker has it, and running time at the eye */
    int64_t trip_b, shift_us;    /* where it trips, and the reject device's shift, as of its look */
    int64_t ratio_milli;
    double *along, *across; /* the test pack's own trace over the head's grid, made when needed */
} Pack;

/* A blow waits for belt travel or running time, then for the middle of its stroke; a device that
 * stays out too long waits for what runs into it. */
typedef enum { BLOW_WAITS, BLOW_BEGUN, BLOW_OUT } BlowPhase;
typedef struct {
    BlowPhase phase;
    bool by_belt, is_weak;
    int64_t due;    /* belt, running time, or (begun or out) time */
    int64_t out_us; /* when it goes back */
} Blow;

/* A piece of metal in one of the good packs. */
typedef struct {
    int64_t nth_made; /* of the pack, among all that came */
    DetectPiece piece;
    LineWhere where;
} Find;

struct Line {
    LineSetup setup;
    LineHead head;
    double *good_along, *good_across; /* a good pack's trace: product against program */
    Random luck;
    LineTrouble trouble;
    int64_t air_us, air_at_us; /* what the tank held, in time to fill it, and when */
    int64_t missed_b;          /* belt travel that the encoder did not count */
    int64_t lost_b;            /* belt travel at which it was lost */
    bool unconfirmed;          /* a blow brought no pack into the bin's mouth */

    int64_t now_us;
    bool running, fed;
    int64_t speed_um_s;              /* of the belt, truly */
    int64_t leg_start_us;            /* when the belt was last started or stopped */
    int64_t leg_belt_um, leg_run_us; /* belt travel and running time at that moment */
    int64_t next_slot_b;             /* belt travel at which the next pack is put on */

    Pack packs[LINE_PACKS_MAX]; /* from the front of travel */
    int pack_count;
    Blow blows[LINE_BLOWS_MAX];
    int blow_count;
    LineTestPack queue[LINE_QUEUE_MAX];
    int queue_count;
    int64_t came; /* good packs that ever did */
    Find finds[LINE_FINDS_MAX];
    int find_count;
    Pack joint; /* the metal in the belt, as a pack of no length */
    DetectPiece joint_piece;
    int64_t joint_um; /* the belt's length; 0: there is no metal in it */
    LineTestPack tests[LINE_TESTS_MAX + 1];
    LineWhere where[LINE_TESTS_MAX + 1];
    LineCounts counts;
};

Line *line_new(const LineSetup *setup, uint64_t seed)
{
    CHECK(setup->belt_um_s >= 1 && setup->belt_um_s <= LINE_BELT_UM_S_MAX);
    CHECK(setup->pack_length_um >= 1 && setup->pitch_um > setup->pack_length_um);
    CHECK(setup->infeed_um < setup->eye_um && setup->eye_um < 0 && 0 < setup->reject_um);
    CHECK(setup->reject_um < setup->end_um && setup->end_um <= LINE_PLACE_UM_MAX);
    CHECK(setup->infeed_um >= -LINE_PLACE_UM_MAX && setup->bin_packs >= 1);
    CHECK((setup->end_um - setup->infeed_um) / setup->pitch_um < LINE_PACKS_MAX - 2);
    Line *line = check_calloc(1, sizeof *line);
    line->setup = *setup;
    line->speed_um_s = setup->belt_um_s;
    line->next_slot_b = setup->pitch_um;
    random_init(&line->luck, seed);
    return line;
}

static void forget_trace(Pack *pack)
{
    free(pack->along);
    free(pack->across);
    pack->along = NULL;
    pack->across = NULL;
}

void line_free(Line *line)
{
    if (line == NULL) return;
    for (int i = 0; i < line->pack_count; i++) {
        forget_trace(&line->packs[i]);
    }
    forget_trace(&line->joint);
    free(line->good_along);
    free(line->good_across);
    free(line);
}

/* --- Time and travel ------------------------------------------------------------------------- */

static int64_t belt_at(const Line *line, int64_t time_us)
{
    if (!line->running) return line->leg_belt_um;
    return line->leg_belt_um + line->speed_um_s * (time_us - line->leg_start_us) / US_PER_S;
}

static int64_t run_at(const Line *line, int64_t time_us)
{
    return line->leg_run_us + (line->running ? time_us - line->leg_start_us : 0);
}

/* The first moment at which the belt has moved `belt_um`; never when it stands still. */
static int64_t time_of_belt(const Line *line, int64_t belt_um)
{
    if (!line->running) return INT64_MAX;
    int64_t more = belt_um - line->leg_belt_um;
    if (more <= 0) return line->leg_start_us;
    int64_t speed = line->speed_um_s;
    return line->leg_start_us + (more * US_PER_S + speed - 1) / speed;
}

static int64_t time_of_run(const Line *line, int64_t run_us)
{
    return line->running ? line->leg_start_us + (run_us - line->leg_run_us) : INT64_MAX;
}

/* Belt travel as the tracker has it now: by the encoder, where there is one. */
static int64_t counted_now(const Line *line)
{
    if (line->setup.timed_by == LINE_ENCODER && line->trouble.encoder_lost) {
        return line->lost_b - line->missed_b;
    }
    return belt_at(line, line->now_us) - line->missed_b;
}

static int64_t time_of_count(const Line *line, int64_t counted_um)
{
    return line->trouble.encoder_lost ? INT64_MAX : time_of_belt(line, counted_um + line->missed_b);
}

int64_t line_now_us(const Line *line)
{
    return line->now_us;
}

/* From now on the belt moves otherwise than before. */
static void new_leg(Line *line, bool run, int64_t speed_um_s)
{
    int64_t belt = belt_at(line, line->now_us);
    int64_t ran = run_at(line, line->now_us);
    line->running = run;
    line->speed_um_s = speed_um_s;
    line->leg_start_us = line->now_us;
    line->leg_belt_um = belt;
    line->leg_run_us = ran;
}

void line_run(Line *line, bool run)
{
    if (run != line->running) new_leg(line, run, line->speed_um_s);
}

bool line_is_running(const Line *line)
{
    return line->running;
}

void line_feed(Line *line, bool on)
{
    line->fed = on;
}

bool line_is_fed(const Line *line)
{
    return line->fed;
}

/* --- What is wrong --------------------------------------------------------------------------- */

void line_set_trouble(Line *line, const LineTrouble *trouble)
{
    CHECK(trouble->belt_um_s >= 0 && trouble->belt_um_s <= LINE_BELT_UM_S_MAX);
    const LineTrouble before = line->trouble;
    int64_t speed = trouble->belt_um_s != 0 ? trouble->belt_um_s : line->setup.belt_um_s;
    if (speed != line->speed_um_s) new_leg(line, line->running, speed);
    int64_t belt = belt_at(line, line->now_us);
    if (line->setup.timed_by == LINE_ENCODER && trouble->encoder_lost != before.encoder_lost) {
        if (trouble->encoder_lost) line->lost_b = belt;
        if (!trouble->encoder_lost) line->missed_b += belt - line->lost_b;
    }
    if (trouble->air_blows != before.air_blows || trouble->air_blow_us != before.air_blow_us) {
        line->air_us = trouble->air_blows * trouble->air_blow_us; /* the tank is full */
        line->air_at_us = line->now_us;
    }
    line->trouble = *trouble;
}

LineTrouble line_trouble(const Line *line)
{
    return line->trouble;
}

/* What the tank holds now, in time to fill it. */
static int64_t air_now(const Line *line)
{
    int64_t full = line->trouble.air_blows * line->trouble.air_blow_us;
    int64_t air = line->air_us + line->now_us - line->air_at_us;
    return air < full ? air : full;
}

static bool has_air(const Line *line)
{
    if (line->trouble.air_shut) return false;
    return line->trouble.air_blows == 0 || air_now(line) >= line->trouble.air_blow_us;
}

/* One blow lets the air for it out of the tank, or all that is left. */
static void let_air_out(Line *line)
{
    if (line->trouble.air_blows == 0) return;
    line->air_us = has_air(line) ? air_now(line) - line->trouble.air_blow_us : 0;
    line->air_at_us = line->now_us;
}

int line_contaminate(Line *line, int64_t nth, const DetectPiece *piece)
{
    CHECK(nth >= 1 && line->find_count < LINE_FINDS_MAX);
    line->finds[line->find_count] = (Find){line->came + nth, *piece, LINE_ON_INFEED};
    return ++line->find_count;
}

int line_find_count(const Line *line)
{
    return line->find_count;
}

LineWhere line_find_where(const Line *line, int find)
{
    CHECK(find >= 1 && find <= line->find_count);
    return line->finds[find - 1].where;
}

static void move_find(Line *line, int find, LineWhere where)
{
    if (find != 0) line->finds[find - 1].where = where;
}

void line_set_joint(Line *line, int64_t belt_um, const DetectPiece *piece)
{
    forget_trace(&line->joint);
    line->joint_um = 0;
    if (piece == NULL) return;
    CHECK(belt_um > line->setup.end_um - line->setup.infeed_um);
    line->joint_um = belt_um;
    line->joint_piece = *piece;
    line->joint = (Pack){.centre_b = belt_at(line, line->now_us) + belt_um / 2};
}

void line_fill_bin(Line *line, int64_t packs)
{
    LineCounts *counts = &line->counts;
    CHECK(packs >= 0 &&
          counts->good_in_bin + counts->tests_in_bin + packs <= line->setup.bin_packs);
    counts->good_in_bin += packs;
    counts->made += packs;
}

/* How far the packs that stick reach back from the coils: each begins where the one before ends. */
static int64_t pile_um(const Line *line)
{
    return (line->counts.good_in_jam + line->counts.tests_in_jam) * line->setup.pack_length_um;
}

static bool pile_covers(const Line *line, int64_t place_um)
{
    int64_t half = line->setup.pack_length_um / 2;
    return pile_um(line) > 0 && place_um <= half && place_um >= half - pile_um(line);
}

static bool is_eye_covered(const Line *line)
{
    return line->trouble.eye_covered || pile_covers(line, line->setup.eye_um);
}

static bool is_bin_full(const Line *line)
{
    return line->counts.good_in_bin + line->counts.tests_in_bin >= line->setup.bin_packs;
}

/* Whether what a monitor looks at is not as it must be. */
static bool is_wrong(const Line *line, LineMonitor monitor)
{
    switch (monitor) {
    case LINE_MONITOR_CONFIRMATION:
        return line->unconfirmed;
    case LINE_MONITOR_BIN_FULL:
        return line->trouble.bin_seems_full || is_bin_full(line);
    case LINE_MONITOR_BIN_OPEN:
        return line->trouble.bin_open || line->trouble.bin_missing;
    case LINE_MONITOR_AIR:
        return !has_air(line);
    case LINE_MONITOR_EYE:
        return is_eye_covered(line);
    case LINE_MONITOR_ENCODER:
        return line->trouble.encoder_lost;
    case LINE_MONITOR_COUNT:
        break;
    }
    return false;
}

/* --- The head -------------------------------------------------------------------------------- */

static bool is_silent(const double *along, const double *across, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (along[i] != 0.0 || across[i] != 0.0) return false;
    }
    return true;
}

/* The product as a head of this gain sees it, lengthways or lying across the belt; NULL for none.
 * What it answers goes with its conductivity and with how far it is magnetic. */
static const ProductBlock *product_seen(const Line *line, bool is_turned, ProductBlock *out)
{
    const ProductBlock *today = line->head.today;
    if (today == NULL) return NULL;
    *out = is_turned ? product_turned_across(today) : *today;
    if (line->head.gain_percent != 100) {
        double gain = (double)line->head.gain_percent / 100.0;
        out->conductivity_s_per_m *= gain;
        out->relative_permeability = 1.0 + (out->relative_permeability - 1.0) * gain;
    }
    return out;
}

void line_set_head(Line *line, const LineHead *head)
{
    line->head = *head;
    for (int i = 0; i < line->pack_count; i++) {
        forget_trace(&line->packs[i]);
    }
    forget_trace(&line->joint);
    size_t count = head->grid.count;
    line->good_along = check_realloc(line->good_along, count, sizeof(double));
    line->good_across = check_realloc(line->good_across, count, sizeof(double));
    ProductBlock seen;
    detect_trace(head->head, head->program, product_seen(line, false, &seen), NULL, 0, &head->grid,
                 line->good_along, line->good_across);
    if (is_silent(line->good_along, line->good_across, count)) {
        free(line->good_along);
        free(line->good_across);
        line->good_along = NULL;
        line->good_across = NULL;
    }
}

/* The metal in a pack, or in the belt, for a picture of its signal; how many pieces. */
static int pieces_of(const Line *line, const Pack *pack, DetectPiece out[LINE_PIECES_IN_PACK_MAX])
{
    if (pack == &line->joint) {
        out[0] = line->joint_piece;
        return 1;
    }
    if (pack->find != 0) {
        out[0] = line->finds[pack->find - 1].piece;
        return 1;
    }
    const LineTestPack *test = &line->tests[pack->test];
    if (pack->test == 0) return 0;
    for (int i = 0; i < test->piece_count; i++) {
        out[i] = test->pieces[i];
        out[i].across_m += (double)test->across_um * 1e-6;
    }
    return test->piece_count;
}

/* A pack's own trace is a good pack's with its pieces added; the belt's is that of its metal. */
static void make_trace(Line *line, Pack *pack)
{
    DetectPiece pieces[LINE_PIECES_IN_PACK_MAX];
    int piece_count = pieces_of(line, pack, pieces);
    if ((piece_count == 0 && !pack->is_turned) || pack->along != NULL) return;
    const LineHead *head = &line->head;
    size_t count = head->grid.count;
    double complex *signal = check_calloc(count, sizeof *signal);
    for (int i = 0; i < piece_count; i++) {
        detect_add_signal(head->head, &pieces[i], &head->grid, signal);
    }
    for (size_t i = 0; i < count && head->gain_percent != 100; i++) {
        signal[i] *= (double)head->gain_percent / 100.0;
    }
    pack->along = check_calloc(count, sizeof(double));
    pack->across = check_calloc(count, sizeof(double));
    ProductBlock seen;
    if (pack->is_turned) {
        detect_trace(head->head, head->program, product_seen(line, true, &seen), NULL, 0,
                     &head->grid, pack->along, pack->across);
    } else if (line->good_along != NULL && pack != &line->joint) {
        memcpy(pack->along, line->good_along, count * sizeof(double));
        memcpy(pack->across, line->good_across, count * sizeof(double));
    }
    detect_add_in_limits(head->program, signal, count, pack->along, pack->across);
    free(signal);
}

/* The trace that a pack carries, NULL for none. */
static const double *along_of(const Line *line, const Pack *pack)
{
    return pack->along != NULL ? pack->along : line->good_along;
}

static const double *across_of(const Line *line, const Pack *pack)
{
    return pack->across != NULL ? pack->across : line->good_across;
}

/* What the head sees while a pack's centre runs over the grid: the sum of all traces there, and the
 * pack's own |v|, -1 where another pack's is larger. */
typedef struct {
    double *along, *across, *own;
} Sight;

/* Add the trace of another pack, whose centre is so far in front; where it is the larger, what is
 * seen there is the other's. */
static void add_trace(const Line *line, const Pack *other, int64_t ahead, Sight *sight)
{
    const double *along = along_of(line, other);
    const double *across = across_of(line, other);
    if (along == NULL) return;
    const DetectGrid *grid = &line->head.grid;
    int64_t count = (int64_t)grid->count;
    int64_t step_um = llround(grid->step_m * 1e6);
    int64_t shift = ahead / step_um;
    double part = (double)(ahead - shift * step_um) / (double)step_um;
    if (part < 0.0) {
        shift -= 1;
        part += 1.0;
    }
    for (int64_t i = 0; i < count; i++) {
        int64_t from = i + shift;
        if (from < 0 || from >= count || (from == count - 1 && part > 0.0)) continue;
        int64_t to = from + 1 < count ? from + 1 : from;
        double more_along = (1.0 - part) * along[from] + part * along[to];
        double more_across = (1.0 - part) * across[from] + part * across[to];
        sight->along[i] += more_along;
        sight->across[i] += more_across;
        if (hypot(more_along, more_across) > sight->own[i]) sight->own[i] = -1.0;
    }
}

/* The trip belongs to the pack whose metal makes it: what another pack gives more to is left to
 * that one's look, so that a strong piece does not trip for its good neighbours too. */
static void look_at_sum(Line *line, const Pack *pack, const double deviation[2], DetectLook *look)
{
    const DetectGrid *grid = &line->head.grid;
    double factor = (double)line->head.limit_percent / 100.0;
    Sight sight = {check_calloc(grid->count, sizeof(double)),
                   check_calloc(grid->count, sizeof(double)),
                   check_calloc(grid->count, sizeof(double))};
    memcpy(sight.along, along_of(line, pack), grid->count * sizeof(double));
    memcpy(sight.across, across_of(line, pack), grid->count * sizeof(double));
    for (size_t i = 0; i < grid->count; i++) {
        sight.own[i] = hypot(sight.along[i], sight.across[i]);
    }
    for (int i = 0; i < line->pack_count; i++) {
        Pack *other = &line->packs[i];
        if (other == pack) continue;
        make_trace(line, other);
        add_trace(line, other, pack->centre_b - other->centre_b, &sight);
    }
    if (line->joint_um != 0 && pack != &line->joint) { /* the turn of the belt that is nearest */
        int64_t ahead = (pack->centre_b - line->joint.centre_b) % line->joint_um;
        if (ahead > line->joint_um / 2) ahead -= line->joint_um;
        if (ahead < -line->joint_um / 2) ahead += line->joint_um;
        make_trace(line, &line->joint);
        add_trace(line, &line->joint, ahead, &sight);
    }
    for (size_t i = 0; i < grid->count; i++) {
        bool own = sight.own[i] >= 0.0;
        sight.along[i] = own ? sight.along[i] / factor : 0.0;
        sight.across[i] = own ? sight.across[i] / factor : 0.0;
    }
    detect_look(sight.along, sight.across, grid, deviation, look);
    free(sight.along);
    free(sight.across);
    free(sight.own);
}

/* The head looks at one pack: one deviation, one decision. A pack without a trace has nothing of
 * its own to be seen: three points of silence give the same as a whole grid of them. */
static void look_at(Line *line, Pack *pack)
{
    static const double silence[3] = {0.0, 0.0, 0.0};
    const double step_m = line->head.grid.step_m;
    const DetectGrid around = {-step_m, step_m, 3};
    double factor = (double)line->head.limit_percent / 100.0;
    double deviation[2];
    DetectLook look;
    detect_draw_deviation(&line->luck, line->head.program->kappa, deviation);
    double noise = (double)line->head.noise_percent / 100.0;
    deviation[0] = deviation[0] / factor * noise;
    deviation[1] = deviation[1] / factor * noise;
    make_trace(line, pack);
    if (along_of(line, pack) == NULL) {
        detect_look(silence, silence, &around, deviation, &look);
    } else {
        look_at_sum(line, pack, deviation, &look);
    }
    pack->ratio_milli = llround(fmin(look.ratio * 1000.0, (double)RATIO_MILLI_MAX));
    pack->looked = true;
    pack->will_trip = look.found;
    pack->shift_us = line->trouble.reject_shift_us;
    if (line->trouble.head_bypassed) {
        pack->will_trip = false;
        pack->ratio_milli = 0;
    }
    pack->trip_b = pack->centre_b + llround(look.trip_m * 1e6);
}

/* --- Events ---------------------------------------------------------------------------------- */

typedef enum {
    DUE_NOTHING,
    DUE_SLOT,
    DUE_EYE,
    DUE_LOOK,
    DUE_TRIP,
    DUE_BLOW,
    DUE_PASSED,
    DUE_END,
    DUE_JAM
} DueKind;

enum { JOINT_INDEX = -1 }; /* in place of a pack's */

typedef struct {
    DueKind kind;
    int index; /* of the pack or the blow */
    int64_t time_us;
} Due;

/* Ties go to what was offered first. */
static void offer(Due *best, DueKind kind, int index, int64_t time_us)
{
    if (time_us < best->time_us) *best = (Due){kind, index, time_us};
}

static Pack *pack_of(Line *line, int index)
{
    return index == JOINT_INDEX ? &line->joint : &line->packs[index];
}

/* A device that is out waits for the next pack to run into it, until it goes back. */
static int64_t blow_due(const Line *line, const Blow *blow)
{
    if (blow->phase == BLOW_BEGUN) return blow->due;
    if (blow->phase == BLOW_WAITS) {
        return blow->by_belt ? time_of_count(line, blow->due) : time_of_run(line, blow->due);
    }
    int64_t due = blow->out_us;
    int64_t belt = belt_at(line, line->now_us);
    for (int i = 0; i < line->pack_count; i++) {
        const Pack *pack = &line->packs[i];
        int64_t meets = pack->centre_b + line->setup.reject_um - pack->length_um / 2;
        int64_t at = meets > belt ? time_of_belt(line, meets) : INT64_MAX;
        if (at < due) due = at;
    }
    return due;
}

static void offer_look(const Line *line, const Pack *pack, int index, Due *best)
{
    if (!pack->looked) {
        int64_t begins = pack->centre_b + llround(line->head.grid.from_m * 1e6);
        offer(best, DUE_LOOK, index, time_of_belt(line, begins));
    } else if (pack->will_trip && !pack->tripped) {
        offer(best, DUE_TRIP, index, time_of_belt(line, pack->trip_b));
    }
}

static void offer_pack(const Line *line, int index, Due *best)
{
    const LineSetup *setup = &line->setup;
    const Pack *pack = &line->packs[index];
    int64_t front = pack->centre_b - pack->length_um / 2;
    if (!pack->at_eye) {
        int64_t seen = front + setup->eye_um + line->trouble.eye_late_um;
        offer(best, DUE_EYE, index, time_of_belt(line, seen));
    }
    offer_look(line, pack, index, best);
    int64_t passed = pack->centre_b + setup->reject_um + pack->length_um / 2 + 1;
    if (pack->test != 0 && !pack->passed) {
        offer(best, DUE_PASSED, index, time_of_belt(line, passed));
    }
    offer(best, DUE_END, index, time_of_belt(line, pack->centre_b + setup->end_um));
    if (line->trouble.is_jammed && belt_at(line, line->now_us) <= pack->centre_b) {
        offer(best, DUE_JAM, index, time_of_belt(line, pack->centre_b - pile_um(line)));
    }
}

static Due next_due(const Line *line)
{
    Due best = {DUE_NOTHING, 0, INT64_MAX};
    for (int i = 0; i < line->blow_count; i++) {
        offer(&best, DUE_BLOW, i, blow_due(line, &line->blows[i]));
    }
    for (int i = 0; i < line->pack_count; i++) {
        offer_pack(line, i, &best);
    }
    if (line->joint_um != 0) offer_look(line, &line->joint, JOINT_INDEX, &best);
    offer(&best, DUE_SLOT, 0, time_of_belt(line, line->next_slot_b));
    return best;
}

static void drop_pack(Line *line, int index)
{
    forget_trace(&line->packs[index]);
    for (int i = index; i + 1 < line->pack_count; i++) {
        line->packs[i] = line->packs[i + 1];
    }
    line->pack_count--;
}

static void drop_blow(Line *line, int index)
{
    for (int i = index; i + 1 < line->blow_count; i++) {
        line->blows[i] = line->blows[i + 1];
    }
    line->blow_count--;
}

/* A good pack comes: it may be one that has metal in it, or one that lies across the belt. */
static void come(Line *line, Pack *pack)
{
    line->came++;
    line->counts.made++;
    line->counts.good_on_belt++;
    for (int i = 0; i < line->find_count; i++) {
        if (line->finds[i].nth_made != line->came) continue;
        pack->find = i + 1;
        line->finds[i].where = LINE_ON_BELT;
    }
    int64_t every = line->trouble.turned_every;
    if (every == 0 || line->came % every != 0 || line->head.today == NULL) return;
    pack->is_turned = true;
    pack->length_um = llround(line->head.today->width_m * 1e6);
}

/* The first monitor for which something is wrong stops the belt; what it saw is then told. */
static bool stops_itself(Line *line, LineEvent *event)
{
    for (int i = 0; i < LINE_MONITOR_COUNT; i++) {
        if (!line->setup.monitors[i] || !is_wrong(line, (LineMonitor)i)) continue;
        if (i == LINE_MONITOR_CONFIRMATION) line->unconfirmed = false;
        line_run(line, false);
        *event = (LineEvent){.kind = LINE_STOPPED_SELF, .monitor = (LineMonitor)i};
        return true;
    }
    return false;
}

/* One place of the infeed comes by: a pack that waits there, else a good one if any come. */
static bool do_slot(Line *line, LineEvent *event)
{
    if (stops_itself(line, event)) return true;
    int64_t centre_b = line->next_slot_b - line->setup.infeed_um;
    line->next_slot_b += line->setup.pitch_um;
    if (line->queue_count == 0 && !line->fed) return false;
    if (pile_covers(line, line->setup.infeed_um)) return false; /* there is no room */
    CHECK(line->pack_count < LINE_PACKS_MAX);
    Pack *pack = &line->packs[line->pack_count++];
    *pack = (Pack){.centre_b = centre_b, .length_um = line->setup.pack_length_um};
    LineTestPack laid = {0};
    if (line->queue_count > 0) {
        laid = line->queue[0];
        line->queue_count--;
        memmove(line->queue, line->queue + 1, (size_t)line->queue_count * sizeof laid);
    }
    if (laid.number == 0) {
        come(line, pack);
        return false;
    }
    pack->test = laid.number;
    line->tests[pack->test] = laid;
    line->where[pack->test] = LINE_ON_BELT;
    line->counts.tests_on_belt++;
    *event = (LineEvent){.kind = LINE_PACK_ON_BELT, .test = pack->test};
    return true;
}

/* The metal in the belt comes round again. */
static void turn_joint(Line *line)
{
    line->joint.centre_b += line->joint_um;
    line->joint.looked = false;
    line->joint.tripped = false;
}

static bool do_look(Line *line, int index, LineEvent *event)
{
    Pack *pack = pack_of(line, index);
    look_at(line, pack);
    *event = (LineEvent){.kind = LINE_JUDGED,
                         .test = pack->test,
                         .find = pack->find,
                         .found = pack->will_trip,
                         .ratio_milli = pack->ratio_milli};
    if (index == JOINT_INDEX && !pack->will_trip) turn_joint(line);
    return event->test != 0 || event->find != 0 || event->found;
}

/* The wait from the pack's front at the eye, or from the trip, until the blow, in belt travel. The
 * stroke's middle is to meet the pack's centre. */
static int64_t wait_um(const LineSetup *setup)
{
    int64_t to_reject = setup->started_by == LINE_BY_SIGNAL
                            ? setup->reject_um
                            : setup->reject_um - setup->eye_um + setup->pack_length_um / 2;
    return to_reject - setup->belt_um_s * setup->stroke_us / 2 / US_PER_S;
}

/* The tracker knows packs only by when the eye saw them: the trip belongs to the one that should be
 * nearest to the coils now. */
static const Pack *tracked_at(const Line *line, int64_t belt_um)
{
    const Pack *best = NULL;
    int64_t nearest = line->setup.pitch_um;
    for (int i = 0; i < line->pack_count; i++) {
        const Pack *pack = &line->packs[i];
        if (!pack->eye_saw) continue;
        int64_t expected = pack->seen_b - line->setup.eye_um + line->setup.pack_length_um / 2;
        int64_t off = llabs(expected - belt_um);
        if (off < nearest) {
            nearest = off;
            best = pack;
        }
    }
    return best;
}

static bool do_trip(Line *line, int index, LineEvent *event)
{
    Pack *pack = pack_of(line, index);
    pack->tripped = true;
    if (index == JOINT_INDEX) turn_joint(line);
    *event = (LineEvent){.kind = LINE_ALARM, .test = pack->test, .find = pack->find};
    const LineSetup *setup = &line->setup;
    int64_t belt = counted_now(line);
    int64_t ran = run_at(line, line->now_us);
    if (setup->started_by == LINE_BY_EYE) {
        const Pack *tracked = tracked_at(line, belt);
        if (tracked == NULL) return true;
        belt = tracked->seen_b;
        ran = tracked->seen_run_us;
    }
    int64_t wait = wait_um(setup);
    int64_t shift = pack->shift_us;
    if (line->blow_count == LINE_BLOWS_MAX) return true;
    bool by_belt = setup->timed_by == LINE_ENCODER;
    int64_t due = by_belt ? belt + wait + setup->belt_um_s * shift / US_PER_S
                          : ran + wait * US_PER_S / setup->belt_um_s + shift;
    line->blows[line->blow_count++] = (Blow){.by_belt = by_belt, .due = due};
    return true;
}

/* The pack over the reject device at this moment, -1 for none. */
static int pack_at_reject(const Line *line)
{
    int64_t belt = belt_at(line, line->now_us);
    for (int i = 0; i < line->pack_count; i++) {
        int64_t place = belt - line->packs[i].centre_b;
        if (llabs(place - line->setup.reject_um) <= line->packs[i].length_um / 2) return i;
    }
    return -1;
}

/* Count a pack off the belt and onto where it is now. */
static void move_pack(Line *line, int index, LineWhere where, int64_t *goods, int64_t *tests)
{
    const Pack *pack = &line->packs[index];
    if (pack->test == 0) {
        line->counts.good_on_belt--;
        (*goods)++;
        move_find(line, pack->find, where);
    } else {
        line->counts.tests_on_belt--;
        (*tests)++;
        line->where[pack->test] = where;
    }
    drop_pack(line, index);
}

/* Whatever is in front of the device now goes, if the blow has force and there is room for it. */
static void hit(Line *line, const Blow *blow, LineEvent *event)
{
    LineCounts *counts = &line->counts;
    int index = pack_at_reject(line);
    line->unconfirmed = true;
    if (index < 0) {
        *event = (LineEvent){.kind = LINE_BLOW_IN_GAP};
        return;
    }
    *event = (LineEvent){.test = line->packs[index].test, .find = line->packs[index].find};
    if (blow->is_weak) {
        event->kind = LINE_BLOW_WEAK;
    } else if (line->trouble.bin_missing) {
        event->kind = LINE_FELL;
        counts->blown++;
        move_pack(line, index, LINE_ON_FLOOR, &counts->good_on_floor, &counts->tests_on_floor);
    } else if (is_bin_full(line)) {
        event->kind = LINE_BIN_FULL;
    } else {
        event->kind = LINE_REMOVED;
        counts->blown++;
        line->unconfirmed = line->trouble.confirmation_lost;
        move_pack(line, index, LINE_IN_BIN, &counts->good_in_bin, &counts->tests_in_bin);
    }
}

/* First the device begins to act; at the middle of its stroke whatever is in front of it goes; and
 * one that stays out after its stroke takes what runs into it. */
static bool do_blow(Line *line, int index, LineEvent *event)
{
    Blow *blow = &line->blows[index];
    const LineSetup *setup = &line->setup;
    if (blow->phase == BLOW_WAITS) {
        if (line->trouble.reject_off) {
            drop_blow(line, index);
            return false;
        }
        int64_t stroke = line->trouble.stroke_us;
        blow->phase = BLOW_BEGUN;
        blow->due = line->now_us + setup->stroke_us / 2;
        blow->out_us = line->now_us + (stroke > setup->stroke_us ? stroke : 0);
        blow->is_weak = !has_air(line);
        let_air_out(line);
        *event = (LineEvent){.kind = LINE_BLOW};
        return true;
    }
    const Blow now = *blow;
    if (now.out_us <= line->now_us) {
        drop_blow(line, index);
        if (now.phase == BLOW_OUT) return false;
    } else {
        blow->phase = BLOW_OUT;
    }
    hit(line, &now, event);
    return true;
}

static bool do_end(Line *line, int index, LineEvent *event)
{
    LineCounts *counts = &line->counts;
    const Pack *pack = &line->packs[index];
    *event = (LineEvent){.kind = pack->test == 0 ? LINE_GOOD_AT_END : LINE_AT_END,
                         .test = pack->test,
                         .find = pack->find};
    move_pack(line, index, LINE_ON_PALLET, &counts->good_on_pallet, &counts->tests_on_pallet);
    return true;
}

/* The first pack to stick is told, and each test pack that runs up behind it. */
static bool do_jam(Line *line, int index, LineEvent *event)
{
    LineCounts *counts = &line->counts;
    bool is_first = pile_um(line) == 0;
    *event = (LineEvent){.kind = LINE_JAMMED, .test = line->packs[index].test};
    move_pack(line, index, LINE_IN_JAM, &counts->good_in_jam, &counts->tests_in_jam);
    return is_first || event->test != 0;
}

static void see_pack(Line *line, Pack *pack)
{
    pack->at_eye = true;
    pack->eye_saw = !is_eye_covered(line);
    pack->seen_b = counted_now(line);
    pack->seen_run_us = run_at(line, line->now_us);
}

static bool do_due(Line *line, Due due, LineEvent *event)
{
    switch (due.kind) {
    case DUE_SLOT:
        return do_slot(line, event);
    case DUE_EYE:
        see_pack(line, &line->packs[due.index]);
        return false;
    case DUE_LOOK:
        return do_look(line, due.index, event);
    case DUE_TRIP:
        return do_trip(line, due.index, event);
    case DUE_BLOW:
        return do_blow(line, due.index, event);
    case DUE_PASSED:
        line->packs[due.index].passed = true;
        *event = (LineEvent){.kind = LINE_PASSED, .test = line->packs[due.index].test};
        return true;
    case DUE_END:
        return do_end(line, due.index, event);
    case DUE_JAM:
        return do_jam(line, due.index, event);
    case DUE_NOTHING:
        return false;
    }
    return false;
}

bool line_step(Line *line, int64_t until_us, LineEvent *event)
{
    CHECK(until_us >= line->now_us && line->head.head != NULL);
    for (;;) {
        Due due = next_due(line);
        if (due.kind == DUE_NOTHING || due.time_us > until_us) {
            line->now_us = until_us;
            return false;
        }
        if (due.time_us > line->now_us) line->now_us = due.time_us;
        if (do_due(line, due, event)) {
            event->time_us = line->now_us;
            return true;
        }
    }
}

/* --- Hands ----------------------------------------------------------------------------------- */

bool line_lay_on(Line *line, const LineTestPack *pack)
{
    CHECK(pack->number >= 0 && pack->number <= LINE_TESTS_MAX);
    CHECK(pack->number == 0 ? pack->piece_count == 0 : line->where[pack->number] == LINE_NOWHERE);
    CHECK(pack->piece_count >= 0 && pack->piece_count <= LINE_PIECES_IN_PACK_MAX);
    if (line->queue_count == LINE_QUEUE_MAX) return false;
    line->queue[line->queue_count++] = *pack;
    if (pack->number != 0) line->where[pack->number] = LINE_ON_INFEED;
    return true;
}

LineWhere line_where(const Line *line, int test)
{
    CHECK(test >= 1 && test <= LINE_TESTS_MAX);
    return line->where[test];
}

static int index_of(const Line *line, int test)
{
    for (int i = 0; i < line->pack_count; i++) {
        if (line->packs[i].test == test) return i;
    }
    return -1;
}

int64_t line_pack_place_um(const Line *line, int test)
{
    int index = index_of(line, test);
    CHECK(test != 0 && index >= 0);
    return belt_at(line, line->now_us) - line->packs[index].centre_b;
}

static void take_from_queue(Line *line, int test)
{
    int kept = 0;
    for (int i = 0; i < line->queue_count; i++) {
        if (line->queue[i].number != test) line->queue[kept++] = line->queue[i];
    }
    line->queue_count = kept;
}

bool line_take(Line *line, int test)
{
    switch (line_where(line, test)) {
    case LINE_NOWHERE:
        return false;
    case LINE_ON_INFEED:
        take_from_queue(line, test);
        break;
    case LINE_ON_BELT:
        drop_pack(line, index_of(line, test));
        line->counts.tests_on_belt--;
        break;
    case LINE_IN_BIN:
        line->counts.tests_in_bin--;
        break;
    case LINE_ON_PALLET:
        line->counts.tests_on_pallet--;
        break;
    case LINE_IN_JAM:
        line->counts.tests_in_jam--;
        break;
    case LINE_ON_FLOOR:
        line->counts.tests_on_floor--;
        break;
    }
    line->where[test] = LINE_NOWHERE;
    return true;
}

LineCounts line_counts(const Line *line)
{
    return line->counts;
}

/* The metal that was there goes with its pack. */
static void scrap_finds(Line *line, LineWhere where)
{
    for (int i = 0; i < line->find_count; i++) {
        if (line->finds[i].where == where) line->finds[i].where = LINE_NOWHERE;
    }
}

int64_t line_scrap_bin(Line *line)
{
    int64_t scrapped = line->counts.good_in_bin + line->counts.good_on_floor;
    line->counts.made -= scrapped;
    line->counts.good_in_bin = 0;
    line->counts.good_on_floor = 0;
    scrap_finds(line, LINE_IN_BIN);
    scrap_finds(line, LINE_ON_FLOOR);
    return scrapped;
}

int64_t line_clear_jam(Line *line)
{
    int64_t cleared = line->counts.good_in_jam + line->counts.tests_in_jam;
    line->counts.made -= line->counts.good_in_jam;
    line->counts.good_in_jam = 0;
    line->counts.tests_in_jam = 0;
    scrap_finds(line, LINE_IN_JAM);
    for (int test = 1; test <= LINE_TESTS_MAX; test++) {
        if (line->where[test] == LINE_IN_JAM) line->where[test] = LINE_NOWHERE;
    }
    return cleared;
}

int line_picture(const Line *line, LinePicture out[LINE_PACKS_MAX])
{
    int64_t belt = belt_at(line, line->now_us);
    for (int i = 0; i < line->pack_count; i++) {
        out[i] = (LinePicture){belt - line->packs[i].centre_b, line->packs[i].test};
    }
    return line->pack_count;
}
