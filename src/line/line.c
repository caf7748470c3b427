/* The belt, its packs, the tracker and the reject device. */
#include "line/line.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { US_PER_S = 1000000, RATIO_MILLI_MAX = 1000000000 };

/* One pack on the belt. Its centre passes the coils when the belt has moved `centre_b`. */
typedef struct {
    int64_t centre_b;
    int test; /* 0: a good pack */
    bool eye_saw, looked, tripped, passed;
    bool will_trip;
    int64_t seen_b, seen_run_us; /* belt and running time when the eye saw its front */
    int64_t trip_b, shift_us;    /* where it trips, and the reject device's shift, as of its look */
    int64_t ratio_milli;
    double *along, *across; /* the test pack's own trace over the head's grid, made when needed */
} Pack;

/* A blow that waits: first for belt travel or running time, then for the middle of its stroke. */
typedef struct {
    bool by_belt;
    bool struck;
    int64_t due; /* belt, running time, or (struck) time */
} Blow;

struct Line {
    LineSetup setup;
    LineHead head;
    double *good_along, *good_across; /* a good pack's trace: product against program */
    Random luck;
    int64_t reject_shift_us;

    int64_t now_us;
    bool running, fed;
    int64_t leg_start_us;            /* when the belt was last started or stopped */
    int64_t leg_belt_um, leg_run_us; /* belt travel and running time at that moment */
    int64_t next_slot_b;             /* belt travel at which the next pack is put on */

    Pack packs[LINE_PACKS_MAX]; /* from the front of travel */
    int pack_count;
    Blow blows[LINE_BLOWS_MAX];
    int blow_count;
    LineTestPack queue[LINE_QUEUE_MAX];
    int queue_count;
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
    free(line->good_along);
    free(line->good_across);
    free(line);
}

/* --- Time and travel ------------------------------------------------------------------------- */

static int64_t belt_at(const Line *line, int64_t time_us)
{
    if (!line->running) return line->leg_belt_um;
    return line->leg_belt_um + line->setup.belt_um_s * (time_us - line->leg_start_us) / US_PER_S;
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
    int64_t speed = line->setup.belt_um_s;
    return line->leg_start_us + (more * US_PER_S + speed - 1) / speed;
}

static int64_t time_of_run(const Line *line, int64_t run_us)
{
    return line->running ? line->leg_start_us + (run_us - line->leg_run_us) : INT64_MAX;
}

int64_t line_now_us(const Line *line)
{
    return line->now_us;
}

void line_run(Line *line, bool run)
{
    if (run == line->running) return;
    int64_t belt = belt_at(line, line->now_us);
    int64_t ran = run_at(line, line->now_us);
    line->running = run;
    line->leg_start_us = line->now_us;
    line->leg_belt_um = belt;
    line->leg_run_us = ran;
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

void line_set_reject_shift(Line *line, int64_t shift_us)
{
    line->reject_shift_us = shift_us;
}

/* --- The head -------------------------------------------------------------------------------- */

static bool is_silent(const double *along, const double *across, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (along[i] != 0.0 || across[i] != 0.0) return false;
    }
    return true;
}

void line_set_head(Line *line, const LineHead *head)
{
    line->head = *head;
    for (int i = 0; i < line->pack_count; i++) {
        forget_trace(&line->packs[i]);
    }
    size_t count = head->grid.count;
    line->good_along = check_realloc(line->good_along, count, sizeof(double));
    line->good_across = check_realloc(line->good_across, count, sizeof(double));
    detect_trace(head->head, head->program, head->today, NULL, 0, &head->grid, line->good_along,
                 line->good_across);
    if (is_silent(line->good_along, line->good_across, count)) {
        free(line->good_along);
        free(line->good_across);
        line->good_along = NULL;
        line->good_across = NULL;
    }
}

/* A test pack's trace is a good pack's with its pieces added. */
static void make_trace(Line *line, Pack *pack)
{
    const LineTestPack *test = &line->tests[pack->test];
    if (pack->test == 0 || test->piece_count == 0 || pack->along != NULL) return;
    const LineHead *head = &line->head;
    size_t count = head->grid.count;
    double complex *signal = check_calloc(count, sizeof *signal);
    for (int i = 0; i < test->piece_count; i++) {
        DetectPiece piece = test->pieces[i];
        piece.across_m += (double)test->across_um * 1e-6;
        detect_add_signal(head->head, &piece, &head->grid, signal);
    }
    pack->along = check_calloc(count, sizeof(double));
    pack->across = check_calloc(count, sizeof(double));
    if (line->good_along != NULL) {
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

/* Add the trace of another pack; where it is the larger, what is seen there is the other's. */
static void add_trace(const Line *line, int index, int other, Sight *sight)
{
    const Pack *pack = &line->packs[index];
    const double *along = along_of(line, &line->packs[other]);
    const double *across = across_of(line, &line->packs[other]);
    if (along == NULL) return;
    const DetectGrid *grid = &line->head.grid;
    int64_t count = (int64_t)grid->count;
    int64_t step_um = llround(grid->step_m * 1e6);
    int64_t ahead = pack->centre_b - line->packs[other].centre_b; /* the other is so far in front */
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
static void look_at_sum(Line *line, int index, const double deviation[2], DetectLook *look)
{
    const Pack *pack = &line->packs[index];
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
        if (i == index) continue;
        make_trace(line, &line->packs[i]);
        add_trace(line, index, i, &sight);
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
static void look_at(Line *line, int index)
{
    static const double silence[3] = {0.0, 0.0, 0.0};
    Pack *pack = &line->packs[index];
    const double step_m = line->head.grid.step_m;
    const DetectGrid around = {-step_m, step_m, 3};
    double factor = (double)line->head.limit_percent / 100.0;
    double deviation[2];
    DetectLook look;
    detect_draw_deviation(&line->luck, line->head.program->kappa, deviation);
    deviation[0] /= factor;
    deviation[1] /= factor;
    make_trace(line, pack);
    if (along_of(line, pack) == NULL) {
        detect_look(silence, silence, &around, deviation, &look);
    } else {
        look_at_sum(line, index, deviation, &look);
    }
    pack->ratio_milli = llround(fmin(look.ratio * 1000.0, (double)RATIO_MILLI_MAX));
    pack->looked = true;
    pack->will_trip = look.found;
    pack->shift_us = line->reject_shift_us;
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
    DUE_END
} DueKind;

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

static int64_t look_begins_b(const Line *line, const Pack *pack)
{
    return pack->centre_b + llround(line->head.grid.from_m * 1e6);
}

static Due next_due(const Line *line)
{
    Due best = {DUE_NOTHING, 0, INT64_MAX};
    const LineSetup *setup = &line->setup;
    for (int i = 0; i < line->blow_count; i++) {
        const Blow *blow = &line->blows[i];
        int64_t at = blow->struck    ? blow->due
                     : blow->by_belt ? time_of_belt(line, blow->due)
                                     : time_of_run(line, blow->due);
        offer(&best, DUE_BLOW, i, at);
    }
    for (int i = 0; i < line->pack_count; i++) {
        const Pack *pack = &line->packs[i];
        int64_t front = pack->centre_b - setup->pack_length_um / 2;
        if (!pack->eye_saw) offer(&best, DUE_EYE, i, time_of_belt(line, front + setup->eye_um));
        if (!pack->looked) {
            offer(&best, DUE_LOOK, i, time_of_belt(line, look_begins_b(line, pack)));
        } else if (pack->will_trip && !pack->tripped) {
            offer(&best, DUE_TRIP, i, time_of_belt(line, pack->trip_b));
        }
        int64_t passed = pack->centre_b + setup->reject_um + setup->pack_length_um / 2 + 1;
        if (pack->test != 0 && !pack->passed) {
            offer(&best, DUE_PASSED, i, time_of_belt(line, passed));
        }
        offer(&best, DUE_END, i, time_of_belt(line, pack->centre_b + setup->end_um));
    }
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

/* One place of the infeed comes by: a test pack that waits, else a good pack if any come. */
static bool do_slot(Line *line, LineEvent *event)
{
    int64_t centre_b = line->next_slot_b - line->setup.infeed_um;
    line->next_slot_b += line->setup.pitch_um;
    if (line->queue_count == 0 && !line->fed) return false;
    CHECK(line->pack_count < LINE_PACKS_MAX);
    Pack *pack = &line->packs[line->pack_count++];
    *pack = (Pack){.centre_b = centre_b};
    if (line->queue_count == 0) {
        line->counts.made++;
        line->counts.good_on_belt++;
        return false;
    }
    pack->test = line->queue[0].number;
    line->tests[pack->test] = line->queue[0];
    for (int i = 0; i + 1 < line->queue_count; i++) {
        line->queue[i] = line->queue[i + 1];
    }
    line->queue_count--;
    line->where[pack->test] = LINE_ON_BELT;
    line->counts.tests_on_belt++;
    *event = (LineEvent){.kind = LINE_PACK_ON_BELT, .test = pack->test};
    return true;
}

static bool do_look(Line *line, int index, LineEvent *event)
{
    look_at(line, index);
    const Pack *pack = &line->packs[index];
    *event = (LineEvent){.kind = LINE_JUDGED,
                         .test = pack->test,
                         .found = pack->will_trip,
                         .ratio_milli = pack->ratio_milli};
    return pack->test != 0 || pack->will_trip;
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
    Pack *pack = &line->packs[index];
    pack->tripped = true;
    *event = (LineEvent){.kind = LINE_ALARM, .test = pack->test};
    const LineSetup *setup = &line->setup;
    int64_t belt = belt_at(line, line->now_us);
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
        if (llabs(place - line->setup.reject_um) <= line->setup.pack_length_um / 2) return i;
    }
    return -1;
}

/* First the device begins to act; at the middle of its stroke whatever is in front of it goes. */
static bool do_blow(Line *line, int index, LineEvent *event)
{
    Blow *blow = &line->blows[index];
    if (!blow->struck) {
        blow->struck = true;
        blow->due = line->now_us + line->setup.stroke_us / 2;
        *event = (LineEvent){.kind = LINE_BLOW};
        return true;
    }
    drop_blow(line, index);
    int hit = pack_at_reject(line);
    if (hit < 0) {
        *event = (LineEvent){.kind = LINE_BLOW_IN_GAP};
        return true;
    }
    int test = line->packs[hit].test;
    LineCounts *counts = &line->counts;
    if (counts->good_in_bin + counts->tests_in_bin >= line->setup.bin_packs) {
        *event = (LineEvent){.kind = LINE_BIN_FULL, .test = test};
        return true;
    }
    if (test == 0) {
        counts->good_on_belt--;
        counts->good_in_bin++;
    } else {
        counts->tests_on_belt--;
        counts->tests_in_bin++;
        line->where[test] = LINE_IN_BIN;
    }
    drop_pack(line, hit);
    *event = (LineEvent){.kind = LINE_REMOVED, .test = test};
    return true;
}

static bool do_end(Line *line, int index, LineEvent *event)
{
    int test = line->packs[index].test;
    drop_pack(line, index);
    if (test == 0) {
        line->counts.good_on_belt--;
        line->counts.good_on_pallet++;
        *event = (LineEvent){.kind = LINE_GOOD_AT_END};
    } else {
        line->counts.tests_on_belt--;
        line->counts.tests_on_pallet++;
        line->where[test] = LINE_ON_PALLET;
        *event = (LineEvent){.kind = LINE_AT_END, .test = test};
    }
    return true;
}

static bool do_due(Line *line, Due due, LineEvent *event)
{
    switch (due.kind) {
    case DUE_SLOT:
        return do_slot(line, event);
    case DUE_EYE:
        line->packs[due.index].eye_saw = true;
        line->packs[due.index].seen_b = belt_at(line, line->now_us);
        line->packs[due.index].seen_run_us = run_at(line, line->now_us);
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
    CHECK(pack->number >= 1 && pack->number <= LINE_TESTS_MAX);
    CHECK(line->where[pack->number] == LINE_NOWHERE);
    CHECK(pack->piece_count >= 0 && pack->piece_count <= LINE_PIECES_IN_PACK_MAX);
    if (line->queue_count == LINE_QUEUE_MAX) return false;
    line->queue[line->queue_count++] = *pack;
    line->where[pack->number] = LINE_ON_INFEED;
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
    }
    line->where[test] = LINE_NOWHERE;
    return true;
}

LineCounts line_counts(const Line *line)
{
    return line->counts;
}

int64_t line_scrap_bin(Line *line)
{
    int64_t scrapped = line->counts.good_in_bin;
    line->counts.made -= scrapped;
    line->counts.good_in_bin = 0;
    return scrapped;
}

int line_picture(const Line *line, LinePicture out[LINE_PACKS_MAX])
{
    int64_t belt = belt_at(line, line->now_us);
    for (int i = 0; i < line->pack_count; i++) {
        out[i] = (LinePicture){belt - line->packs[i].centre_b, line->packs[i].test};
    }
    return line->pack_count;
}
