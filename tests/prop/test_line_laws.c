/* Laws of the line over random setups, seeds, stops, hands and shifts; a failure prints the seed.
 *
 * The model at the end of this file is slow and plain: it knows the settings, what was done
 * when - to belt, speed and photo-eyes, too - and the moments of the alarms, and says from these
 * alone which packs a blow meets, in which lane. A second one says what sticks in a jam. */
#include "unit/line/fixture.h"

enum { SETUPS = 300, DEEDS_MAX = 200, PACKS_MAX = 6000, LEGS_MAX = 256, EYES_MAX = 256 };

#define assert_law(seed, holds) law_or_fail((holds), (seed), #holds)

static void law_or_fail(bool holds, uint64_t seed, const char *law)
{
    if (!holds) fail_msg("seed %llu: %s", (unsigned long long)seed, law);
}

static int64_t spread(Random *random, int64_t low, int64_t high)
{
    return low + (int64_t)random_below(random, (uint64_t)(high - low) + 1);
}

/* --- A random run ---------------------------------------------------------------------------- */

typedef enum {
    DO_LAY,
    DO_RUN,
    DO_FEED,
    DO_SHIFT,
    DO_TAKE,
    DO_SCRAP,
    DO_SPEED,   /* of the belt, from now on */
    DO_EYE,     /* the eyes see so many micrometres late; -1: nothing */
    DO_TROUBLE, /* what the model below knows nothing of */
    DO_CLEAR,
    DO_GOOD,
    DO_CONTAMINATE
} DeedKind;
typedef struct {
    DeedKind kind;
    int64_t time_us, number; /* number: of the test, on or off, the shift, the speed, the eye */
    int lane;                /* of what is laid */
    double along_m;          /* of the piece that is laid; NAN: none */
    bool done;               /* as it came out: laid, taken */
    int64_t scrapped;
    LineTrouble trouble;
} Deed;

typedef struct {
    LineSetup setup;
    double false_rate;
    int64_t joint_um; /* belt with metal in it; 0: none */
    LineTrouble from_start;
    Deed deeds[DEEDS_MAX];
    int deed_count;
    int64_t end_us;
} Plan;

static void random_setup(Random *random, LineSetup *out)
{
    out->belt_um_s = spread(random, 50000, 2000000);
    out->pack_length_um = 2 * spread(random, 20000, 150000);
    out->pitch_um = out->pack_length_um + spread(random, 20000, 400000);
    out->infeed_um = -spread(random, 800000, 2000000);
    out->eye_um = -spread(random, 10000, 600000);
    out->reject_um = spread(random, 300000, 2000000);
    out->end_um = out->reject_um + spread(random, 1, 1500000);
    out->stroke_us = spread(random, 1000, 300000);
    out->started_by = (LineStart)random_below(random, 2);
    out->timed_by = (LineTiming)random_below(random, 2);
    out->bin_packs = (int)spread(random, 1, 40);
    int64_t slots = (out->end_um - out->infeed_um) / out->pitch_um + 2;
    out->lanes = (int)spread(random, 1, 4);
    if (out->lanes == 4 || slots * out->lanes >= LINE_PACKS_MAX) out->lanes = 1;
    if (out->lanes > 1) out->started_by = LINE_BY_EYE;
    out->lane_um = 60000;
}

/* Anything may be wrong, several things at once. */
static LineTrouble random_trouble(Random *random, const LineSetup *setup)
{
    LineTrouble trouble = {0};
    if (random_below(random, 3) == 0) trouble.reject_shift_us = spread(random, -200000, 200000);
    if (random_below(random, 3) == 0) {
        trouble.belt_um_s = spread(random, setup->belt_um_s / 2, 2 * setup->belt_um_s);
    }
    if (random_below(random, 4) == 0) trouble.eye_late_um = spread(random, 1, 300000);
    if (random_below(random, 4) == 0) trouble.stroke_us = spread(random, 1, 3000000);
    if (random_below(random, 4) == 0) {
        trouble.air_blows = spread(random, 1, 3);
        trouble.air_blow_us = spread(random, 1, 5000000);
    }
    if (random_below(random, 4) == 0) trouble.turned_every = spread(random, 1, 3);
    bool *const flags[] = {&trouble.eye_covered,       &trouble.encoder_lost,
                           &trouble.reject_off,        &trouble.air_shut,
                           &trouble.confirmation_lost, &trouble.bin_open,
                           &trouble.bin_seems_full,    &trouble.bin_missing,
                           &trouble.head_bypassed,     &trouble.is_jammed};
    for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++) {
        *flags[i] = random_below(random, 8) == 0;
    }
    for (int lane = 0; lane < setup->lanes; lane++) {
        trouble.lane_dead[lane] = random_below(random, 6) == 0;
    }
    return trouble;
}

static void random_plan(uint64_t seed, bool goes_wrong, Plan *plan)
{
    Random random;
    random_init(&random, seed);
    random_setup(&random, &plan->setup);
    plan->from_start = (LineTrouble){0};
    for (int m = 0; m < LINE_MONITOR_COUNT; m++) {
        plan->setup.monitors[m] = goes_wrong && random_below(&random, 6) == 0;
    }
    plan->joint_um =
        goes_wrong && random_below(&random, 2) == 0 ? spread(&random, 6000000, 9000000) : 0;
    plan->false_rate = random_below(&random, 2) == 0 ? 1e-15 : 0.1;
    int64_t pitch_us = plan->setup.pitch_um * 1000000 / plan->setup.belt_um_s + 1;
    int laid = 0;
    int contaminated = 0;
    uint64_t kinds = goes_wrong ? DO_CONTAMINATE + 1 : DO_EYE + 1;
    int64_t now = 0;
    plan->deed_count = (int)spread(&random, 5, 60);
    for (int i = 0; i < plan->deed_count; i++) {
        now += spread(&random, 0, 2 * pitch_us);
        Deed deed = {
            .kind = (DeedKind)random_below(&random, kinds), .time_us = now, .along_m = (double)NAN};
        if (deed.kind == DO_LAY && laid == LINE_TESTS_MAX) deed.kind = DO_RUN;
        if (deed.kind == DO_LAY) deed.number = ++laid;
        deed.lane = (int)spread(&random, 0, plan->setup.lanes - 1);
        if (deed.kind == DO_SPEED) {
            int64_t set = plan->setup.belt_um_s;
            deed.number = random_below(&random, 2) == 0 ? set : spread(&random, set / 2, 2 * set);
        }
        if (deed.kind == DO_EYE) deed.number = spread(&random, -1, 2) * spread(&random, 1, 200000);
        if (deed.kind == DO_EYE && deed.number < 0) deed.number = -1;
        if (deed.kind == DO_LAY && random_below(&random, 3) > 0) {
            int64_t half = plan->setup.pack_length_um / 2;
            deed.along_m = (double)spread(&random, -half, half) * 1e-6;
        }
        if (deed.kind == DO_RUN || deed.kind == DO_FEED) deed.number = random_below(&random, 3) > 0;
        if (deed.kind == DO_CONTAMINATE && contaminated++ == LINE_FINDS_MAX) deed.kind = DO_GOOD;
        if (contaminated > LINE_FINDS_MAX) contaminated = LINE_FINDS_MAX;
        if (deed.kind == DO_CONTAMINATE) deed.number = spread(&random, 1, 9);
        if (deed.kind == DO_TROUBLE) deed.trouble = random_trouble(&random, &plan->setup);
        if (deed.kind == DO_SHIFT) deed.number = spread(&random, -300000, 300000);
        if (deed.kind == DO_TAKE) deed.number = spread(&random, 1, LINE_TESTS_MAX);
        if (deed.kind == DO_TAKE && laid > 0) deed.number = spread(&random, 1, laid);
        plan->deeds[i] = deed;
    }
    plan->end_us = now + 10 * pitch_us;
}

static void do_deed(Line *line, Deed *deed)
{
    LineTestPack pack = {.number = (int)deed->number};
    LineTestPack good = {.lane = deed->lane};
    LineTrouble trouble;
    switch (deed->kind) {
    case DO_LAY:
        if (!isnan(deed->along_m)) pack = pack_with_ball(pack.number, deed->along_m);
        pack.lane = deed->lane;
        deed->done = line_lay_on(line, &pack);
        break;
    case DO_RUN:
        line_run(line, deed->number != 0);
        break;
    case DO_FEED:
        line_feed(line, deed->number != 0);
        break;
    case DO_SHIFT:
        trouble = line_trouble(line);
        trouble.reject_shift_us = deed->number;
        line_set_trouble(line, &trouble);
        break;
    case DO_SPEED:
        trouble = line_trouble(line);
        trouble.belt_um_s = deed->number;
        line_set_trouble(line, &trouble);
        break;
    case DO_EYE:
        trouble = line_trouble(line);
        trouble.eye_covered = deed->number < 0;
        trouble.eye_late_um = deed->number < 0 ? 0 : deed->number;
        line_set_trouble(line, &trouble);
        break;
    case DO_TAKE:
        deed->done = line_take(line, (int)deed->number);
        break;
    case DO_SCRAP:
        deed->scrapped = line_scrap_bin(line);
        break;
    case DO_TROUBLE:
        line_set_trouble(line, &deed->trouble);
        break;
    case DO_CLEAR:
        (void)line_clear_jam(line);
        break;
    case DO_GOOD:
        deed->done = line_lay_on(line, &good);
        break;
    case DO_CONTAMINATE:
        (void)line_contaminate(line, deed->number, &BALL);
        break;
    }
}

/* How time is let pass: at once, in random steps, or by microseconds around what happens. */
typedef enum { AT_ONCE, BY_STEPS, BY_MICROSECONDS } Gait;

static void advance(Line *line, int64_t until_us, Gait gait, Random *random, Story *story)
{
    while (gait == BY_STEPS && line_now_us(line) < until_us) {
        int64_t step = spread(random, 0, 1000) == 0 ? 0 : spread(random, 1, 200000);
        int64_t to = line_now_us(line) + step;
        go(line, to < until_us ? to : until_us, story);
    }
    while (gait == BY_MICROSECONDS && line_now_us(line) < until_us) {
        /* one event on, then a few microseconds one by one */
        LineEvent event;
        if (!line_step(line, until_us, &event)) break;
        story->events[story->count++] = event;
        for (int i = 0; i < 5 && line_now_us(line) < until_us; i++) {
            go(line, line_now_us(line) + 1, story);
        }
    }
    go(line, until_us, story);
}

/* made = belt + bin + pallet, what was scrapped counted out; each test pack is in one place. */
static void check_counts(uint64_t seed, const Line *line)
{
    LineCounts counts = line_counts(line);
    LinePicture picture[LINE_PACKS_MAX];
    int shown = line_picture(line, picture);
    int64_t tests[LINE_ON_FLOOR + 1] = {0};
    for (int test = 1; test <= LINE_TESTS_MAX; test++) {
        tests[line_where(line, test)]++;
    }
    int64_t tests_shown = 0;
    for (int i = 0; i < shown; i++) {
        tests_shown += picture[i].test != 0;
        bool beside = i > 0 && picture[i].place_um == picture[i - 1].place_um &&
                      picture[i].lane > picture[i - 1].lane;
        assert_law(seed, i == 0 || beside || picture[i].place_um < picture[i - 1].place_um);
        if (picture[i].test == 0) continue;
        assert_law(seed, line_pack_place_um(line, picture[i].test) == picture[i].place_um);
    }
    assert_law(seed, counts.made == counts.good_on_belt + counts.good_in_bin +
                                        counts.good_on_pallet + counts.good_in_jam +
                                        counts.good_on_floor);
    assert_law(seed, tests[LINE_IN_JAM] == counts.tests_in_jam);
    assert_law(seed, tests[LINE_ON_FLOOR] == counts.tests_on_floor);
    assert_law(seed, shown == counts.good_on_belt + counts.tests_on_belt);
    assert_law(seed, tests_shown == counts.tests_on_belt);
    assert_law(seed, tests[LINE_ON_BELT] == counts.tests_on_belt);
    assert_law(seed, tests[LINE_IN_BIN] == counts.tests_in_bin);
    assert_law(seed, tests[LINE_ON_PALLET] == counts.tests_on_pallet);
}

static void play(uint64_t seed, Plan *plan, Gait gait, Story *story)
{
    Bench bench;
    Random random;
    random_init(&random, ~seed);
    bench_init(&bench, &plan->setup, plan->false_rate, 6.0, seed);
    line_set_trouble(bench.line, &plan->from_start);
    if (plan->joint_um != 0) line_set_joint(bench.line, plan->joint_um, &BALL);
    story->count = 0;
    for (int i = 0; i < plan->deed_count; i++) {
        advance(bench.line, plan->deeds[i].time_us, gait, &random, story);
        do_deed(bench.line, &plan->deeds[i]);
        check_counts(seed, bench.line);
    }
    advance(bench.line, plan->end_us, gait, &random, story);
    check_counts(seed, bench.line);
    bench_clear(&bench);
}

static bool same_event(const LineEvent *a, const LineEvent *b)
{
    return a->kind == b->kind && a->time_us == b->time_us && a->test == b->test &&
           a->found == b->found && a->ratio_milli == b->ratio_milli && a->find == b->find &&
           a->monitor == b->monitor && a->lane == b->lane && a->beside == b->beside;
}

/* --- The model ------------------------------------------------------------------------------- */

/* When the belt ran: [from, to), with the whole micrometres it had moved before. */
typedef struct {
    int64_t from_us, to_us, belt_before_um, ran_before_us, speed_um_s;
} Leg;

/* How the photo-eyes are from a moment on, in the same words as DO_EYE. */
typedef struct {
    int64_t from_us, number;
} Eye;

typedef struct {
    int64_t centre_um; /* belt travel at which its centre passes the coils */
    int test, lane;
    int64_t on_us, gone_us;
    int64_t eye_us;     /* when its eye saw it; -1: it did not */
    int64_t ordered_us; /* when the strike for it comes that is on its way; -1: none was */
} ModelPack;

/* A strike in one lane: the pack that it is for, and in which lane the metal is if that is another,
 * from 1. */
typedef struct {
    int64_t time_us;
    int lane, pack, beside;
    bool told;
} Strike;

typedef struct {
    const Plan *plan;
    Leg legs[LEGS_MAX];
    int leg_count;
    Eye eyes[EYES_MAX];
    int eye_count;
    ModelPack packs[PACKS_MAX];
    int pack_count;
} Model;

static void model_legs(Model *model)
{
    const Plan *plan = model->plan;
    bool runs = true;
    int64_t since = 0;
    int64_t belt = 0;
    int64_t ran = 0;
    int64_t speed = plan->setup.belt_um_s;
    for (int i = 0; i <= plan->deed_count; i++) {
        const Deed *deed = i == plan->deed_count ? NULL : &plan->deeds[i];
        bool will_run = deed != NULL && deed->kind == DO_RUN ? deed->number != 0 : runs;
        int64_t will_do = deed != NULL && deed->kind == DO_SPEED ? deed->number : speed;
        if (deed != NULL && will_run == runs && will_do == speed) continue;
        int64_t now = deed == NULL ? plan->end_us + 1 : deed->time_us;
        if (runs) {
            model->legs[model->leg_count++] = (Leg){since, now, belt, ran, speed};
            belt += speed * (now - since) / 1000000;
            ran += now - since;
        }
        since = now;
        runs = will_run;
        speed = will_do;
    }
}

static void model_eyes(Model *model)
{
    model->eyes[model->eye_count++] = (Eye){0, 0};
    for (int i = 0; i < model->plan->deed_count; i++) {
        const Deed *deed = &model->plan->deeds[i];
        if (deed->kind == DO_EYE)
            model->eyes[model->eye_count++] = (Eye){deed->time_us, deed->number};
    }
}

/* Belt travel and running time at a moment. */
static int64_t model_belt(const Model *model, int64_t time_us)
{
    int64_t belt = 0;
    for (int i = 0; i < model->leg_count; i++) {
        const Leg *leg = &model->legs[i];
        if (leg->from_us > time_us) break;
        int64_t to = time_us < leg->to_us ? time_us : leg->to_us;
        belt = leg->belt_before_um + leg->speed_um_s * (to - leg->from_us) / 1000000;
    }
    return belt;
}

static int64_t model_ran(const Model *model, int64_t time_us)
{
    int64_t ran = 0;
    for (int i = 0; i < model->leg_count; i++) {
        const Leg *leg = &model->legs[i];
        if (leg->from_us > time_us) break;
        ran = leg->ran_before_us + (time_us < leg->to_us ? time_us : leg->to_us) - leg->from_us;
    }
    return ran;
}

/* The first moment from `not_before` on at which travel or running time has reached a value; by
 * halving, as both only grow. Past the end: it does not come. */
static int64_t model_when(const Model *model, int64_t (*measure)(const Model *, int64_t),
                          int64_t value, int64_t not_before)
{
    int64_t low = not_before;
    int64_t high = model->plan->end_us + 1;
    while (low < high) {
        int64_t middle = low + (high - low) / 2;
        if (measure(model, middle) >= value) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return low;
}

/* The first moment from `not_before` on at which the belt runs, its last one before a stop
 * included. */
static int64_t model_running(const Model *model, int64_t not_before)
{
    for (int i = 0; i < model->leg_count; i++) {
        const Leg *leg = &model->legs[i];
        if (leg->to_us < not_before) continue;
        return leg->from_us > not_before ? leg->from_us : not_before;
    }
    return model->plan->end_us + 1;
}

/* When its eye sees a pack: its front must have come as far as the eye, as that is just then. */
static int64_t model_eye(const Model *model, const ModelPack *pack)
{
    const LineSetup *setup = &model->plan->setup;
    int64_t front = pack->centre_um - setup->pack_length_um / 2 + setup->eye_um;
    for (int i = 0; i < model->eye_count; i++) {
        const Eye *eye = &model->eyes[i];
        int64_t until = i + 1 < model->eye_count ? model->eyes[i + 1].from_us : model->plan->end_us;
        int64_t late = eye->number > 0 ? eye->number : 0;
        int64_t from = eye->from_us > pack->on_us ? eye->from_us : pack->on_us;
        int64_t sees = model_when(model, model_belt, front + late, from);
        sees = model_running(model, sees);
        if (sees <= until) return eye->number < 0 ? -1 : sees;
    }
    return -1;
}

/* When a pack is off the belt if no blow takes it: at its end, or by hand. */
static int64_t model_gone(const Model *model, const ModelPack *pack)
{
    const Plan *plan = model->plan;
    int64_t gone = model_when(model, model_belt, pack->centre_um + plan->setup.end_um, pack->on_us);
    for (int i = 0; pack->test != 0 && i < plan->deed_count; i++) {
        const Deed *deed = &plan->deeds[i];
        bool is_taken = deed->kind == DO_TAKE && deed->done && deed->number == pack->test;
        if (!is_taken || deed->time_us < pack->on_us || deed->time_us >= gone) continue;
        return deed->time_us + 1; /* what happens at that moment comes first */
    }
    return gone;
}

/* Which packs wait in which lane, and whether good ones come. */
typedef struct {
    bool waits[LINE_TESTS_MAX + 1];
    int lanes[LINE_TESTS_MAX + 1];
    bool fed;
    int next; /* deed */
} Infeed;

static void model_infeed(const Plan *plan, int64_t before_us, Infeed *infeed)
{
    for (; infeed->next < plan->deed_count && plan->deeds[infeed->next].time_us < before_us;
         infeed->next++) {
        const Deed *deed = &plan->deeds[infeed->next];
        if (deed->kind == DO_FEED) infeed->fed = deed->number != 0;
        if (deed->kind == DO_LAY && deed->done) infeed->waits[deed->number] = true;
        if (deed->kind == DO_LAY) infeed->lanes[deed->number] = deed->lane;
        if (deed->kind == DO_TAKE && deed->done) infeed->waits[deed->number] = false;
    }
}

/* Which pack stood in which place of which lane: test packs in their order, else a good one while
 * they come. What is done at the very moment comes after what the line does then. */
static void model_packs(Model *model)
{
    const Plan *plan = model->plan;
    Infeed infeed = {.fed = false};
    for (int64_t place = 1;; place++) {
        int64_t time = model_when(model, model_belt, place * plan->setup.pitch_um, 0);
        if (time > plan->end_us) break;
        model_infeed(plan, time, &infeed);
        for (int lane = 0; lane < plan->setup.lanes; lane++) {
            int test = 1;
            while (test <= LINE_TESTS_MAX && !(infeed.waits[test] && infeed.lanes[test] == lane)) {
                test++; /* they were laid in the order of their numbers */
            }
            if (test > LINE_TESTS_MAX) test = 0;
            if (test == 0 && !infeed.fed) continue;
            infeed.waits[test] = false;
            CHECK(model->pack_count < PACKS_MAX);
            ModelPack pack = {.centre_um = place * plan->setup.pitch_um - plan->setup.infeed_um,
                              .test = test,
                              .lane = lane,
                              .on_us = time,
                              .ordered_us = -1};
            pack.gone_us = model_gone(model, &pack);
            pack.eye_us = model_eye(model, &pack);
            model->packs[model->pack_count++] = pack;
        }
    }
}

static int64_t shift_at(const Plan *plan, int64_t time_us)
{
    int64_t shift = 0;
    for (int i = 0; i < plan->deed_count && plan->deeds[i].time_us < time_us; i++) {
        if (plan->deeds[i].kind == DO_SHIFT) shift = plan->deeds[i].number;
    }
    return shift;
}

/* The shift counts that holds when the head begins to look at the pack that trips: when its trace,
 * 355 mm long to each side, comes to the coils, or when it is put on if that is later. A good pack
 * trips at its centre. */
static int64_t model_shift(const Model *model, const LineEvent *alarm)
{
    const ModelPack *best = NULL;
    int64_t belt = model_belt(model, alarm->time_us);
    for (int i = 0; i < model->pack_count; i++) {
        const ModelPack *pack = &model->packs[i];
        if (pack->test != alarm->test) continue;
        if (best == NULL || llabs(pack->centre_um - belt) < llabs(best->centre_um - belt)) {
            best = pack;
        }
    }
    CHECK(best != NULL);
    int64_t look = model_when(model, model_belt, best->centre_um - 355000, best->on_us);
    return shift_at(model->plan, look);
}

/* The pack of a lane that should be nearest to the coils at a moment, by when its eye saw it:
 * within a pitch, and where there are several lanes half a pitch; -1: there is none. */
static int model_tracked(const Model *model, int lane, int64_t time_us)
{
    const LineSetup *setup = &model->plan->setup;
    int64_t nearest = setup->lanes == 1 ? setup->pitch_um : setup->pitch_um / 2;
    int best = -1;
    for (int i = 0; i < model->pack_count; i++) {
        const ModelPack *pack = &model->packs[i];
        if (pack->lane != lane || pack->eye_us < 0 || pack->eye_us > time_us) continue;
        if (pack->gone_us <= time_us) continue;
        int64_t expected =
            model_belt(model, pack->eye_us) - setup->eye_um + setup->pack_length_um / 2;
        int64_t off = llabs(expected - model_belt(model, time_us));
        if (off >= nearest) continue;
        nearest = off;
        best = i;
    }
    return best;
}

/* The moment at which a stroke reaches its middle that an alarm starts, for a pack that the eye saw
 * then (or -1: by the signal itself); past the end: never. */
static int64_t model_strike(const Model *model, const LineEvent *alarm, int64_t eye_us)
{
    const LineSetup *setup = &model->plan->setup;
    int64_t start = eye_us < 0 ? alarm->time_us : eye_us;
    int64_t way = setup->reject_um - setup->belt_um_s * setup->stroke_us / 2 / 1000000;
    if (eye_us >= 0) way += setup->pack_length_um / 2 - setup->eye_um;
    int64_t shift = model_shift(model, alarm);
    int64_t begin;
    if (setup->timed_by == LINE_ENCODER) {
        int64_t due = model_belt(model, start) + way + setup->belt_um_s * shift / 1000000;
        begin = model_when(model, model_belt, due, alarm->time_us);
    } else {
        int64_t due = model_ran(model, start) + way * 1000000 / setup->belt_um_s + shift;
        begin = model_when(model, model_ran, due, alarm->time_us);
    }
    begin = model_running(model, begin);
    return begin > model->plan->end_us ? begin : begin + setup->stroke_us / 2;
}

/* Which pack of a lane covers the reject device's place then, -1 for none. */
static int model_met(const Model *model, int lane, int64_t time_us)
{
    const LineSetup *setup = &model->plan->setup;
    for (int i = 0; i < model->pack_count; i++) {
        const ModelPack *pack = &model->packs[i];
        int64_t place = model_belt(model, time_us) - pack->centre_um;
        bool covers = llabs(place - setup->reject_um) <= setup->pack_length_um / 2;
        bool is_there = pack->on_us <= time_us && pack->gone_us > time_us;
        if (covers && is_there && pack->lane == lane) return i;
    }
    return -1;
}

/* Packs in the bin just before a moment, from what was done and what the strikes before it did. */
static int64_t model_in_bin(const Plan *plan, const Story *story, int before)
{
    int64_t count = 0;
    bool in_bin[LINE_TESTS_MAX + 1] = {false};
    int deed = 0;
    for (int i = 0; i <= before; i++) {
        for (; deed < plan->deed_count && plan->deeds[deed].time_us < story->events[i].time_us;
             deed++) {
            const Deed *each = &plan->deeds[deed];
            if (each->kind == DO_SCRAP) count -= each->scrapped;
            if (each->kind != DO_TAKE || !each->done || !in_bin[each->number]) continue;
            in_bin[each->number] = false;
            count--;
        }
        if (i == before || story->events[i].kind != LINE_REMOVED) continue;
        count++;
        in_bin[story->events[i].test] = true;
    }
    return count;
}

/* What one alarm brings: a strike in each lane that has a pack in the head and whose device acts,
 * but for a pack that one is on its way to; metal of its own then counts. */
static void model_alarm(Model *model, const LineEvent *alarm, Strike *strikes, int *count)
{
    const Plan *plan = model->plan;
    for (int lane = 0; lane < plan->setup.lanes; lane++) {
        bool by_eye = plan->setup.started_by == LINE_BY_EYE;
        int pack = by_eye ? model_tracked(model, lane, alarm->time_us) : -1;
        if (by_eye && pack < 0) continue;
        int beside = alarm->lane == lane ? 0 : alarm->lane + 1;
        if (plan->setup.lanes > 1 && model->packs[pack].ordered_us > alarm->time_us) {
            for (int i = 0; i < *count; i++) {
                if (strikes[i].pack == pack && beside == 0) strikes[i].beside = 0;
            }
            continue;
        }
        int64_t time = model_strike(model, alarm, by_eye ? model->packs[pack].eye_us : -1);
        if (by_eye) model->packs[pack].ordered_us = time;
        if (time > plan->end_us || plan->from_start.lane_dead[lane]) continue;
        strikes[(*count)++] =
            (Strike){.time_us = time, .lane = lane, .pack = pack, .beside = beside};
    }
}

static bool is_strike(const LineEvent *event)
{
    return event->kind == LINE_REMOVED || event->kind == LINE_BLOW_IN_GAP ||
           event->kind == LINE_BIN_FULL;
}

/* The model's strike of this moment and lane that was not told yet; NULL: there is none. */
static Strike *strike_of(Strike *strikes, int count, const LineEvent *event)
{
    for (int i = 0; i < count; i++) {
        Strike *strike = &strikes[i];
        bool is_it = strike->time_us == event->time_us && strike->lane == event->lane;
        if (is_it && !strike->told) return strike;
    }
    return NULL;
}

/* Every strike of the story is one of the model's, and meets what the model says. An alarm knows
 * which packs are gone: what comes before it is looked at first. */
static int check_strikes(uint64_t seed, const Plan *plan, const Story *story)
{
    static Model model;
    static Strike strikes[EVENTS_MAX];
    int count = 0;
    int told = 0;
    model = (Model){.plan = plan};
    model_legs(&model);
    model_eyes(&model);
    model_packs(&model);
    for (int i = 0; i < story->count; i++) {
        const LineEvent *event = &story->events[i];
        if (event->kind == LINE_ALARM) model_alarm(&model, event, strikes, &count);
        if (!is_strike(event)) continue;
        Strike *strike = strike_of(strikes, count, event);
        assert_law(seed, strike != NULL);
        if (strike == NULL) return count;
        strike->told = true;
        told++;
        int met = model_met(&model, event->lane, event->time_us);
        assert_law(seed, (met < 0) == (event->kind == LINE_BLOW_IN_GAP));
        if (met < 0) continue;
        bool full = model_in_bin(plan, story, i) >= plan->setup.bin_packs;
        assert_law(seed, full == (event->kind == LINE_BIN_FULL));
        assert_law(seed, event->test == model.packs[met].test);
        if (full) continue;
        assert_law(seed, event->beside == (met == strike->pack ? strike->beside : 0));
        model.packs[met].gone_us = event->time_us;
    }
    assert_law(seed, told == count);
    return count;
}

/* The tank as a plain sum: full at the start, one blow less with each blow that has force, all of
 * it gone with one that has none, and a part of a blow more with each moment, up to full. Which
 * blows have force follows from their moments alone, and that is what their strikes show, which
 * come in the order of the blows. */
static int check_air(uint64_t seed, const Plan *plan, const Story *story)
{
    static bool has_force[EVENTS_MAX];
    const LineTrouble *trouble = &plan->from_start;
    int64_t full_us = trouble->air_blows * trouble->air_blow_us;
    int64_t air_us = full_us;
    int64_t at_us = 0;
    int blows = 0;
    int strikes = 0;
    int weak = 0;
    for (int i = 0; i < story->count; i++) {
        const LineEvent *event = &story->events[i];
        if (event->kind == LINE_BLOW) {
            air_us += event->time_us - at_us;
            if (air_us > full_us) air_us = full_us;
            at_us = event->time_us;
            has_force[blows] = air_us >= trouble->air_blow_us;
            air_us = has_force[blows] ? air_us - trouble->air_blow_us : 0;
            blows++;
        } else if (event->kind == LINE_BLOW_WEAK) {
            assert_law(seed, strikes < blows && !has_force[strikes]);
            strikes++;
            weak++;
        } else if (event->kind == LINE_REMOVED || event->kind == LINE_BIN_FULL) {
            assert_law(seed, strikes < blows && has_force[strikes]);
            strikes++;
        } else if (event->kind == LINE_BLOW_IN_GAP) {
            strikes++;
        }
    }
    return weak;
}

/* Every strike lies within a stroke that has begun: at the middle of the set one, or later while
 * the device stays out; and a pack that runs into it does so with its front, while the belt moves.
 * Returns how many came after the set middle. */
static int check_out(uint64_t seed, const Plan *plan, const Story *story)
{
    static Model model;
    int after = 0;
    model = (Model){.plan = plan};
    model_legs(&model);
    model_eyes(&model);
    model_packs(&model);
    for (int i = 0; i < story->count; i++) {
        const LineEvent *event = &story->events[i];
        if (event->kind != LINE_REMOVED && event->kind != LINE_BIN_FULL) continue;
        bool at_middle = false;
        bool is_out = false;
        for (int b = 0; b < i; b++) {
            if (story->events[b].kind != LINE_BLOW || story->events[b].lane != event->lane)
                continue;
            int64_t since = event->time_us - story->events[b].time_us;
            at_middle = at_middle || since == plan->setup.stroke_us / 2;
            is_out =
                is_out || (since > plan->setup.stroke_us / 2 && since < plan->from_start.stroke_us);
        }
        int met = model_met(&model, event->lane, event->time_us);
        assert_law(seed, (at_middle || is_out) && met >= 0);
        assert_law(seed, event->test == model.packs[met].test);
        if (event->kind == LINE_REMOVED) model.packs[met].gone_us = event->time_us;
        if (at_middle) continue;
        int64_t place = model_belt(&model, event->time_us) - model.packs[met].centre_um;
        int64_t before = model_belt(&model, event->time_us - 1) - model.packs[met].centre_um;
        int64_t meets = plan->setup.reject_um - plan->setup.pack_length_um / 2;
        assert_law(seed, place >= meets && before < meets);
        after++;
    }
    return after;
}

/* A pack that was found and left the belt neither at its end nor by hand is in the bin; each
 * test pack that left the infeed is judged at most once, and told of in its order. */
static void check_order(uint64_t seed, const Story *story)
{
    for (int test = 1; test <= LINE_TESTS_MAX; test++) {
        assert_law(seed, count_of(story, LINE_PACK_ON_BELT, test) <= 1);
        assert_law(seed, count_of(story, LINE_JUDGED, test) <= 1);
        assert_law(seed, count_of(story, LINE_ALARM, test) <= 1);
        int ends = count_of(story, LINE_REMOVED, test) + count_of(story, LINE_AT_END, test);
        assert_law(seed, ends <= 1);
        int passed = count_of(story, LINE_PASSED, test);
        assert_law(seed, passed + count_of(story, LINE_REMOVED, test) <= 1);
    }
}

/* --- The tests ------------------------------------------------------------------------------- */

static void test_any_gait_tells_the_same(void **state)
{
    static Plan plan;
    static Story stories[BY_MICROSECONDS + 1];
    (void)state;
    for (uint64_t seed = 0; seed < SETUPS; seed++) {
        random_plan(seed, seed % 2 == 1, &plan);
        for (int gait = AT_ONCE; gait <= BY_MICROSECONDS; gait++) {
            play(seed, &plan, (Gait)gait, &stories[gait]);
            assert_law(seed, stories[gait].count == stories[0].count);
            for (int i = 0; i < stories[0].count; i++) {
                assert_law(seed, same_event(&stories[gait].events[i], &stories[0].events[i]));
            }
        }
    }
}

static void test_blows_meet_what_the_model_says(void **state)
{
    static Plan plan;
    static Story story;
    int strikes = 0;
    int lanes = 0;
    int beside = 0;
    int removed = 0;
    int gaps = 0;
    int full = 0;
    (void)state;
    for (uint64_t seed = 1000; seed < 1000 + SETUPS * 2; seed++) {
        random_plan(seed, false, &plan);
        plan.from_start.lane_dead[1] = plan.setup.lanes > 1 && seed % 3 == 0;
        play(seed, &plan, AT_ONCE, &story);
        lanes += plan.setup.lanes > 1;
        strikes += check_strikes(seed, &plan, &story);
        check_order(seed, &story);
        removed += count_of(&story, LINE_REMOVED, -1);
        gaps += count_of(&story, LINE_BLOW_IN_GAP, -1);
        full += count_of(&story, LINE_BIN_FULL, -1);
        for (int i = 0; i < story.count; i++) {
            beside += story.events[i].beside != 0;
        }
    }
    print_message("%d strikes: %d removed, %d of them beside metal, %d in a gap, %d with the bin "
                  "full; %d lines with lanes\n",
                  strikes, removed, beside, gaps, full, lanes);
    assert_true(removed > 300 && gaps > 300 && full > 10 && beside > 50 && lanes > 100);
}

static void test_weak_blows_follow_from_the_tank(void **state)
{
    static Plan plan;
    static Story story;
    int weak = 0;
    (void)state;
    for (uint64_t seed = 5000; seed < 5000 + SETUPS; seed++) {
        Random random;
        random_init(&random, seed + 1);
        random_plan(seed, false, &plan);
        plan.from_start.air_blows = spread(&random, 1, 4);
        plan.from_start.air_blow_us = spread(&random, 1, 8000000);
        play(seed, &plan, AT_ONCE, &story);
        weak += check_air(seed, &plan, &story);
    }
    print_message("%d blows without force met a pack\n", weak);
    assert_true(weak > 50);
}

static void test_long_strokes_take_what_runs_in(void **state)
{
    static Plan plan;
    static Story story;
    int more = 0;
    (void)state;
    for (uint64_t seed = 7000; seed < 7000 + SETUPS; seed++) {
        Random random;
        random_init(&random, seed + 1);
        random_plan(seed, false, &plan);
        plan.from_start.stroke_us = plan.setup.stroke_us + spread(&random, 1, 3000000);
        play(seed, &plan, AT_ONCE, &story);
        more += check_out(seed, &plan, &story);
    }
    print_message("%d packs ran into a device that was out\n", more);
    assert_true(more > 50);
}

/* --- A jam ----------------------------------------------------------------------------------- */

/* From `jam_us` on, for good, each pack that has not passed the coils sticks when its centre comes
 * there, or a pack's length further back for each that sticks before it in its lane. */
typedef struct {
    int64_t jam_us;
    int64_t stuck_us[LINE_LANES_MAX][LINE_PACKS_MAX]; /* in the order of travel */
    int stuck[LINE_LANES_MAX];
    int64_t come; /* packs that found room on the infeed */
} Jam;

/* Whether what sticks in a lane by then reaches over the infeed. */
static bool jam_covers(const Plan *plan, const Jam *jam, int lane, int64_t time_us)
{
    int64_t pile_um = 0;
    int64_t half_um = plan->setup.pack_length_um / 2;
    for (int i = 0; i < jam->stuck[lane]; i++) {
        if (jam->stuck_us[lane][i] <= time_us) pile_um += plan->setup.pack_length_um;
    }
    return pile_um > 0 && plan->setup.infeed_um >= half_um - pile_um;
}

/* The model walks from place to place of the infeed. */
static void model_jam(Model *model, Jam *jam)
{
    const LineSetup *setup = &model->plan->setup;
    for (int64_t place = 1;; place++) {
        int64_t time = model_when(model, model_belt, place * setup->pitch_um, 0);
        if (time > model->plan->end_us) break;
        int64_t centre = place * setup->pitch_um - setup->infeed_um;
        for (int lane = 0; lane < setup->lanes; lane++) {
            if (jam_covers(model->plan, jam, lane, time)) continue;
            jam->come++;
            if (model_when(model, model_belt, centre, 0) < jam->jam_us) continue;
            int *stuck = &jam->stuck[lane];
            int64_t at = model_when(model, model_belt, centre - *stuck * setup->pack_length_um, 0);
            if (at < jam->jam_us) at = jam->jam_us;
            if (at <= model->plan->end_us) jam->stuck_us[lane][(*stuck)++] = at;
        }
    }
}

/* A line fed from the start, that jams for good. */
static void jam_plan(uint64_t seed, Plan *plan, int64_t *jam_us)
{
    Random random;
    random_init(&random, seed + 1);
    random_plan(seed, false, plan);
    int64_t pitch_us = plan->setup.pitch_um * 1000000 / plan->setup.belt_um_s + 1;
    *jam_us = spread(&random, 1, 40 * pitch_us);
    plan->deeds[0] = (Deed){.kind = DO_FEED, .number = 1};
    plan->deeds[1] = (Deed){.kind = DO_TROUBLE, .time_us = *jam_us, .trouble = {.is_jammed = true}};
    plan->deed_count = 2;
    plan->end_us = *jam_us + 60 * pitch_us;
}

/* What sticks in each lane is told by its first pack, at the model's moment; no pack is lost. */
static void test_jams_hold_what_the_model_says(void **state)
{
    static Plan plan;
    static Story story;
    static Model model;
    static Jam jam;
    int64_t held = 0;
    (void)state;
    for (uint64_t seed = 9000; seed < 9000 + SETUPS * 2; seed++) {
        Bench bench;
        int64_t jam_us;
        jam_plan(seed, &plan, &jam_us);
        model = (Model){.plan = &plan};
        jam = (Jam){.jam_us = jam_us};
        model_legs(&model);
        model_jam(&model, &jam);
        bench_init(&bench, &plan.setup, plan.false_rate, 6.0, seed);
        story.count = 0;
        for (int i = 0; i < plan.deed_count; i++) {
            go(bench.line, plan.deeds[i].time_us, &story);
            do_deed(bench.line, &plan.deeds[i]);
        }
        go(bench.line, plan.end_us, &story);
        check_counts(seed, bench.line);
        LineCounts counts = line_counts(bench.line);
        int64_t stuck = 0;
        for (int lane = 0; lane < plan.setup.lanes; lane++) {
            stuck += jam.stuck[lane];
            int told = 0;
            for (int i = 0; i < story.count; i++) {
                const LineEvent *event = &story.events[i];
                if (event->kind != LINE_JAMMED || event->lane != lane) continue;
                assert_law(seed, told++ == 0 && event->time_us == jam.stuck_us[lane][0]);
            }
            assert_law(seed, told == (jam.stuck[lane] > 0));
        }
        assert_law(seed, counts.made == jam.come);
        assert_law(seed, counts.good_in_jam == stuck);
        assert_law(seed, line_clear_jam(bench.line) == stuck);
        check_counts(seed, bench.line);
        held += stuck;
        bench_clear(&bench);
    }
    print_message("%lld packs stuck\n", (long long)held);
    assert_true(held > 1000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_weak_blows_follow_from_the_tank),
        cmocka_unit_test(test_long_strokes_take_what_runs_in),
        cmocka_unit_test(test_jams_hold_what_the_model_says),
        cmocka_unit_test(test_any_gait_tells_the_same),
        cmocka_unit_test(test_blows_meet_what_the_model_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
