/* A line for tests: 0.5 m/s, a pack of 110 mm every 375 mm (80 a minute), an aperture of 300 x
 * 100 mm, and a head that has learned a bare belt, so that packs without metal are silent. The
 * shape is that of a small pack line in common practice, no source. */
#ifndef TESTS_LINE_FIXTURE_H
#define TESTS_LINE_FIXTURE_H

#include "support.h"

#include "line/line.h"

static const LineSetup SETUP = {.infeed_um = -1200000,
                                .eye_um = -250000,
                                .reject_um = 900000,
                                .end_um = 2200000,
                                .belt_um_s = 500000,
                                .pitch_um = 375000,
                                .pack_length_um = 110000,
                                .stroke_us = 120000,
                                .started_by = LINE_BY_EYE,
                                .timed_by = LINE_ENCODER,
                                .bin_packs = 40,
                                .lanes = 1};

static const DetectHead HEAD = {.coils = {0.3, 0.1, 0.02, 0.049},
                                .frequency_hz = 350e3,
                                .noise_v = 1e-9,
                                .false_reject_rate = 1e-15};

/* A steel ball of 1.5 mm (hardened: figures from memory), 10 mm above the middle of the
 * aperture. */
static const DetectPiece BALL = {
    .piece = {.shape = TARGET_SPHERE,
              .diameter_m = 1.5e-3,
              .metal = {.resistivity_ohm_m = 2.2e-7, .relative_permeability = 70.0}},
    .up_m = 0.01};

/* A line with its head; the caller ends it with bench_clear. */
typedef struct {
    Line *line;
    DetectHead head;
    DetectProgram program;
    LineHead shown;
} Bench;

/* The grid reaches half a pack and three heights of the aperture, 355 mm. */
static inline DetectGrid bench_grid(void)
{
    return (DetectGrid){-0.355, 0.001, 711};
}

static inline double peak_of(const DetectHead *head, const DetectPiece *piece)
{
    DetectGrid grid = bench_grid();
    double complex *signal = check_calloc(grid.count, sizeof *signal);
    detect_add_signal(head, piece, &grid, signal);
    double peak = cabs(signal[detect_peak(signal, grid.count)]);
    free(signal);
    return peak;
}

/* BALL has the ratio `ratio`: with nothing learned both limits are kappa times the noise. */
static inline void bench_init(Bench *bench, const LineSetup *setup, double false_rate, double ratio,
                              uint64_t seed)
{
    Err err = {0};
    DetectGrid grid = bench_grid();
    *bench = (Bench){.head = HEAD};
    bench->head.false_reject_rate = false_rate;
    bench->head.noise_v = peak_of(&HEAD, &BALL) / (detect_kappa(false_rate) * ratio);
    assert_true(detect_program_init(&bench->program, &bench->head, NULL, &grid, &err));
    bench->line = line_new(setup, seed);
    bench->shown = (LineHead){&bench->head, &bench->program, NULL, grid, 100, 100, 100};
    line_set_head(bench->line, &bench->shown);
    line_run(bench->line, true);
}

static inline void bench_clear(Bench *bench)
{
    line_free(bench->line);
    detect_program_clear(&bench->program);
}

/* A test pack with one BALL so far towards its leading end. */
static inline LineTestPack pack_with_ball(int number, double along_m)
{
    LineTestPack pack = {.number = number, .piece_count = 1, .pieces = {BALL}};
    pack.pieces[0].along_m = along_m;
    return pack;
}

static inline void lay(Line *line, LineTestPack pack)
{
    assert_true(line_lay_on(line, &pack));
}

/* All that happens up to a moment. */
enum { EVENTS_MAX = 16384 };
typedef struct {
    LineEvent events[EVENTS_MAX];
    int count;
} Story;

static inline void go(Line *line, int64_t until_us, Story *story)
{
    LineEvent event;
    while (line_step(line, until_us, &event)) {
        assert_true(story->count < EVENTS_MAX);
        assert_true(story->count == 0 || event.time_us >= story->events[story->count - 1].time_us);
        story->events[story->count++] = event;
    }
    assert_true(line_now_us(line) == until_us);
}

/* The n-th event of that kind, n from 0; of any pack when test is -1. NULL: there is none. */
static inline const LineEvent *nth(const Story *story, LineEventKind kind, int test, int n)
{
    for (int i = 0; i < story->count; i++) {
        const LineEvent *event = &story->events[i];
        if (event->kind == kind && (test < 0 || event->test == test) && n-- == 0) return event;
    }
    return NULL;
}

static inline int count_of(const Story *story, LineEventKind kind, int test)
{
    int n = 0;
    while (nth(story, kind, test, n) != NULL) {
        n++;
    }
    return n;
}

/* The first event of that kind; the test fails when there is none. */
static inline LineEvent first(const Story *story, LineEventKind kind, int test)
{
    const LineEvent *event = nth(story, kind, test, 0);
    if (event != NULL) return *event;
    fail_msg("pack %d: no event of kind %d", test, (int)kind);
    return (LineEvent){0};
}

static inline int64_t time_of(const Story *story, LineEventKind kind, int test)
{
    return first(story, kind, test).time_us;
}

#endif
