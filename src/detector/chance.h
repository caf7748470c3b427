/* What a number of passes shows: exact intervals, and how sure a check of n passes is. */
#ifndef DETECTOR_CHANCE_H
#define DETECTOR_CHANCE_H

#include <stddef.h>
#include <stdint.h>

#define CHANCE_COUNT_MAX 1000000000u /* trials of one interval */

/* The regularised incomplete beta function I_x(a, b), 0 <= x <= 1, a and b from 0.5 to 1e9 + 1: the
 * chance that a beta variable is at most x. Absolute error below 1e-11 * (1 + sqrt(a + b) / 1e3)
 * and below 1e-12 for a + b up to 1e6. */
double chance_beta(double a, double b, double x);

/* The x at which I_x(a, b) is `chance`, 0 < chance < 1. */
double chance_beta_inverse(double a, double b, double chance);

/* A two-sided interval for the chance behind `found` of `trials`. */
typedef struct {
    double low, high; /* 0 to 1 */
} ChanceInterval;

/* The exact interval of C. J. Clopper & E. S. Pearson, Biometrika 26 (1934) 404: whatever the
 * chance is, it lies inside at least `level` of the time. 0 < level < 1; found <= trials, 1 <=
 * trials <= CHANCE_COUNT_MAX. */
ChanceInterval chance_interval(uint64_t found, uint64_t trials, double level);

/* How many passes without a miss show with `confidence` that at least the part `reliability` of
 * all such passes is found: the smallest n with reliability^n <= 1 - confidence. Both strictly
 * between 0 and 1, and the answer at most CHANCE_COUNT_MAX. */
uint64_t chance_passes_for(double reliability, double confidence);

/* What n passes without a miss show with `confidence`: (1 - confidence)^(1/n). n at least 1. */
double chance_shown_by(uint64_t passes, double confidence);

/* The chance that a check misses at least one of its passes, and so finds a detector that has
 * become worse: every signal is 1 / worse of what it was (worse 2: half). ratios[] are the
 * noise-free peak ratios of the passes as the detector was validated. With worse = 1 it is the
 * chance that the check of a good detector fails. worse above 0. */
double chance_check_finds(const double *ratios, size_t count, double kappa, double worse);

#endif
