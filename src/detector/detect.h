/* The decision: what a head has learned, what it sees of one pack, and whether it calls metal.
 *
 * A program holds the product's own signal at learning time, P0(x). Its phase at the largest |P0|
 * is the product axis (the real axis with nothing learned). Every signal is split along and across
 * that axis. Along it the head lets through what was learned and a spread, across it a spread
 * alone:
 *
 *     limit_along  = kappa sqrt(noise^2 + (amplitude_variation |P0|)^2)
 *     limit_across = kappa sqrt(noise^2 + (phase_variation |P0|)^2)      kappa = sqrt(-2 ln p)
 *
 * with |P0| the largest over the grid and p the chance that one look at a good pack exceeds the
 * limit (a normal deviation in two dimensions, so that kappa^2 is a quantile of chi-square with 2
 * degrees of freedom). The plane vector v(x) is the metal's signal plus what today's product adds
 * to the learned one, each part divided by its limit. One pack is one look: one normal deviation of
 * standard deviation 1/kappa in each part, added once, where |v| is largest; metal is called when
 * the sum is longer than 1.
 */
#ifndef DETECTOR_DETECT_H
#define DETECTOR_DETECT_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/err.h"
#include "base/random.h"
#include "detector/product.h"
#include "detector/target.h"

/* Goes up with every change that alters a computed number; a stored run names the one it was made
 * with. */
#define DETECTOR_MODEL_VERSION 3 /* 2 rounded otherwise: fields by sides, slices by steps */

/* Moduli this close to the largest, relatively, tie with it: the two lobes of a symmetric trace
 * differ by rounding alone. */
#define DETECT_TIE 1e-12

#define DETECT_GRID_POINTS_MIN 2
#define DETECT_GRID_POINTS_MAX 100001

typedef struct {
    CoilHead coils;
    double frequency_hz;      /* 100 to 2e6 */
    double noise_v;           /* electronic and vibration noise, standard deviation; at least 0 */
    double false_reject_rate; /* p: 1e-15 to 0.5 */
} DetectHead;

/* Places of the pack's centre along x: from_m + i step_m for i = 0 .. count - 1. */
typedef struct {
    double from_m;
    double step_m; /* positive */
    size_t count;  /* DETECT_GRID_POINTS_MIN to _MAX */
} DetectGrid;

/* What a head holds for one product. All zeros: empty. The owner ends it with
 * detect_program_clear. */
typedef struct {
    double complex axis;     /* of modulus 1 */
    double learned_peak_v;   /* largest |P0| over the grid; 0 with nothing learned */
    double kappa;            /* dimensionless */
    double limit_along_v;    /* positive */
    double limit_across_v;   /* positive */
    size_t count;            /* points of the grid it was learned on */
    double complex *learned; /* P0 at each of them, V; owned, NULL with nothing learned */
} DetectProgram;

/* One piece of metal in a pack. */
typedef struct {
    TargetPiece piece;
    double
        along_m; /* x of the piece less x of the pack's centre: positive towards the leading end */
    double across_m; /* y in the aperture */
    double up_m;     /* z in the aperture (not in the pack) */
} DetectPiece;

/* What came of one look. */
typedef struct {
    bool found;
    double ratio;  /* largest |v| without deviation; above 1 is metal */
    size_t at;     /* grid index of the look: the largest |v|, the lowest x on a tie */
    double trip_m; /* if found: x of the pack's centre where the head trips; else 0 */
} DetectLook;

/* x of point `index` of the grid, in m. */
double detect_place(const DetectGrid *grid, size_t index);

/* The index of the largest modulus, the lowest on a tie; count at least 1. */
size_t detect_peak(const double complex *signal, size_t count);

/* product_signal on a grid; NULL for `product` gives zeros. */
void detect_product_signal(const DetectHead *head, const ProductBlock *product,
                           const DetectGrid *grid, double complex *signal);

/* Learn a product (NULL: a bare belt) on a grid; `program` is all zeros or cleared, and on true the
 * caller ends it. Fails with ERR_RANGE when a limit comes out as 0 (no noise and no spread), which
 * no ratio can be divided by; `program` is then empty. */
MUST_USE bool detect_program_init(DetectProgram *program, const DetectHead *head,
                                  const ProductBlock *learned, const DetectGrid *grid, Err *err);

/* Set both limits anew from the noise and the two variations, as detect_program_init does from the
 * head and the product; for what-ifs such as a fit. */
void detect_program_set_limits(DetectProgram *program, double noise_v, double amplitude_variation,
                               double phase_variation_rad);

/* Free what a program holds and leave it all zeros; takes an all-zero one. */
void detect_program_clear(DetectProgram *program);

/* The metal's signal S(x) = j w mu0 h_r . A h_t in V, added to signal[grid->count]. */
void detect_add_signal(const DetectHead *head, const DetectPiece *piece, const DetectGrid *grid,
                       double complex *signal);

/* What today's product adds to the learned one, in limits, put into along[] and across[], from its
 * own signal today[] (of detect_product_signal); NULL for `today` (no product in the aperture)
 * gives zeros. `count` is the program's. */
void detect_excess(const DetectProgram *program, const double complex *today, size_t count,
                   double *along, double *across);

/* Add a signal in V to a vector in limits. */
void detect_add_in_limits(const DetectProgram *program, const double complex *signal, size_t count,
                          double *along, double *across);

/* The plane vector v(x) in limits of one pack: today's product (NULL: none) and its pieces. The
 * grid is the one of the program; along[] and across[] hold grid->count values. Packs under the
 * head at the same time are summed by adding such arrays, shifted. For many packs with the same
 * product take detect_excess once, and detect_add_signal and detect_add_in_limits for each. */
void detect_trace(const DetectHead *head, const DetectProgram *program, const ProductBlock *today,
                  const DetectPiece *pieces, size_t piece_count, const DetectGrid *grid,
                  double *along, double *across);

/* One look at a trace, with one deviation (in limits, along and across) applied once, where |v| is
 * largest. The trip is the midpoint of the first and the last place where the trace, scaled by what
 * the deviation made of its largest value, exceeds 1 (straight lines between grid points), so that
 * a strong piece trips no earlier than a weak one. With v zero everywhere the look, and the trip,
 * is at x = 0 (at the grid's point next to it): a good pack that trips by deviation alone trips at
 * its centre. */
void detect_look(const double *along, const double *across, const DetectGrid *grid,
                 const double deviation[2], DetectLook *look);

/* Whether a head with this deviation calls metal where the largest vector is (along, across):
 * detect_look's own question. */
bool detect_is_seen(double along, double across, const double deviation[2]);

/* Draw the deviation of one pack: two normals of standard deviation 1/kappa. */
void detect_draw_deviation(Random *random, double kappa, double deviation[2]);

/* kappa for a false-reject rate, 0 < rate < 1. */
double detect_kappa(double false_reject_rate);

/* Marcum's Q1(a, b) = chance that a normal pair of unit deviation, centred a away, lies beyond b
 * (J. I. Marcum, IRE Trans. IT-6 (1960) 59); and its complement. a, b at least 0. Absolute
 * error below 1e-14 for both (b to 40, a to 100 b), relative below 1e-12 for the tail on the far
 * side: Q1 where a is below b, else P1. */
double detect_marcum_q1(double a, double b);
double detect_marcum_p1(double a, double b);

/* The chance that a piece of noise-free peak ratio `ratio` is found: Q1(kappa ratio, kappa). */
double detect_found_probability(double ratio, double kappa);

/* The ratio that is found with chance `probability`, below 1; kappa positive. 0 when a good pack is
 * rejected as often as that. */
double detect_ratio_for(double probability, double kappa);

#endif
