/* The core alone: base, detector and line make a whole program with libm and nothing else. It runs
 * a line of good packs under a head and counts what comes out, which their speed and pitch tell. */
#include <stdio.h>
#include <stdlib.h>

#include "line/line.h"

/* 0.5 m/s over 3 m takes a pack 6 s; two come each second. */
static const LineSetup SETUP = {
    .infeed_um = -1000000,
    .eye_um = -200000,
    .reject_um = 900000,
    .end_um = 2000000,
    .belt_um_s = 500000,
    .pitch_um = 250000,
    .pack_length_um = 110000,
    .stroke_us = 120000,
    .started_by = LINE_BY_EYE,
    .timed_by = LINE_ENCODER,
    .bin_packs = 40,
    .lanes = 1,
};

enum { RUN_US = 60000000, AT_END_MIN = 107, AT_END_MAX = 109 };

int main(void)
{
    DetectHead head = {
        .coils = {.aperture_width_m = 0.3,
                  .aperture_height_m = 0.15,
                  .clearance_m = 0.02,
                  .receiver_offset_m = 0.075},
        .frequency_hz = 150e3,
        .noise_v = 3e-9,
        .false_reject_rate = 1e-12,
    };
    DetectGrid grid = {.from_m = -0.5, .step_m = 0.001, .count = 1001};
    DetectProgram program = {0};
    Err err = {0};
    if (!detect_program_init(&program, &head, NULL, &grid, &err)) {
        (void)fprintf(stderr, "%s\n", err.text);
        return EXIT_FAILURE;
    }
    LineHead seen = {.head = &head,
                     .program = &program,
                     .grid = grid,
                     .limit_percent = 100,
                     .gain_percent = 100,
                     .noise_percent = 100};
    Line *line = line_new(&SETUP, 1);
    line_set_head(line, &seen);
    line_feed(line, true);
    line_run(line, true);

    int at_end = 0;
    int others = 0;
    LineEvent event;
    while (line_step(line, RUN_US, &event)) {
        if (event.kind == LINE_GOOD_AT_END)
            at_end++;
        else
            others++;
    }
    line_free(line);
    detect_program_clear(&program);
    (void)printf("%d packs over the end, %d other events\n", at_end, others);
    bool ok = at_end >= AT_END_MIN && at_end <= AT_END_MAX && others == 0;
    return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
