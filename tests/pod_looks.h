/* Trials of a probability of detection one by one, each by the run's own look at its whole trace:
 * what every quicker way has to give exactly. */
#ifndef TESTS_POD_LOOKS_H
#define TESTS_POD_LOOKS_H

#include "support.h"

#include "detector/pod.h"

/* The same trials one by one: luck drawn in the order that pod.h states, the pack's whole trace by
 * detect_trace, and the run's look at it. */
static inline uint64_t found_by_looks(const PodDescription *d)
{
    const PassDescription *pass = &d->pass;
    const DetectGrid *grid = &pass->travel;
    Err err = {0};
    Random random;
    DetectProgram program = {0};
    const ProductBlock *today = pass->has_product ? &pass->product : NULL;
    const ProductBlock *learned = pass->has_learned ? &pass->learned : today;
    double *along = check_calloc(grid->count, sizeof *along);
    double *across = check_calloc(grid->count, sizeof *across);
    assert_true(detect_program_init(&program, &pass->head, learned, grid, &err));
    random_init(&random, d->seed);
    uint64_t found = 0;
    for (uint64_t i = 0; i < d->trials; i++) {
        DetectPiece piece = {.piece = pass->target, .across_m = pass->across_m, .up_m = pass->up_m};
        if (d->random_direction && pass->target.shape == TARGET_WIRE) {
            double x = 2.0 * random_unit(&random) - 1.0;
            double angle = 6.283185307179586 * random_unit(&random);
            piece.piece.direction =
                (Vec3){x, sqrt(1.0 - x * x) * cos(angle), sqrt(1.0 - x * x) * sin(angle)};
        }
        if (d->place == POD_PACK) {
            piece.along_m = pass->product.length_m * (random_unit(&random) - 0.5);
            piece.across_m = pass->product.width_m * (random_unit(&random) - 0.5);
            piece.up_m =
                pass->product.centre_up_m + pass->product.height_m * (random_unit(&random) - 0.5);
        }
        if (d->place == POD_APERTURE) {
            piece.across_m = pass->head.coils.aperture_width_m * (random_unit(&random) - 0.5);
            piece.up_m = pass->head.coils.aperture_height_m * (random_unit(&random) - 0.5);
        }
        double deviation[2];
        DetectLook look;
        detect_trace(&pass->head, &program, today, &piece, 1, grid, along, across);
        detect_draw_deviation(&random, program.kappa, deviation);
        detect_look(along, across, grid, deviation, &look);
        found += look.found;
    }
    free(along);
    free(across);
    detect_program_clear(&program);
    return found;
}

#endif
