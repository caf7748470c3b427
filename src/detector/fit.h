/* Fit a head to what a site has validated: for each program the smallest spheres that are always
 * found at the centre of the aperture, in good product. "Always" is a number, the chance of being
 * found per pass; with the false-reject rate it says which ratio such a sphere must have.
 *
 * Found are the noise and one common factor on both variations of every product, neither negative,
 * that make the sum of (ln(ratio / wanted ratio))^2 over the head's spheres smallest. The factor
 * can be told from the noise only when some spheres were validated without product effect (bare
 * belt or dry: the spread of the product less than a tenth of the limit that the sphere calls for)
 * and some with; else, and always with a single sphere, it stays 1 and only the noise is found.
 */
#ifndef DETECTOR_FIT_H
#define DETECTOR_FIT_H

#include "base/progress.h"
#include "detector/detect.h"

#define FIT_PROGRAMS_MAX 100
#define FIT_SPHERES_MAX 1000 /* of all programs together */

typedef struct {
    TargetMetal metal;
    double diameter_m; /* positive */
    const char *name;  /* of the metal, for messages; borrowed; may be NULL */
} FitSphere;

typedef struct {
    ProductBlock product;
    bool bare_belt; /* nothing is learned: product is not read */
    const FitSphere *spheres;
    size_t count;     /* of spheres; may be 0 */
    const char *name; /* for messages; borrowed; may be NULL */
} FitProgram;

/* How far the model stays from one validated sphere. */
typedef struct {
    double ratio;            /* of the validated sphere, in the fitted model */
    bool model_found;        /* false: no sphere up to the aperture's height has the wanted ratio */
    double model_diameter_m; /* the smallest with the wanted ratio, it and every larger one */
} FitSphereResult;

/* All zeros: empty. The owner ends it with fit_result_clear. */
typedef struct {
    double noise_v;
    double variation_factor; /* on amplitude_variation and phase_variation_rad alike */
    double wanted_ratio;
    FitSphereResult *spheres; /* owned: of the first program, then of the next, ... */
    size_t count;
} FitResult;

/* Fit one head; noise_v of `head` is not read. found_probability is above the false-reject rate and
 * below 1. There is at least one sphere. On true the caller ends `result` (all zeros or cleared
 * before). Fails with ERR_RANGE when, with the variations as given, not even a noise of 0 lets a
 * sphere (which the message names) reach the wanted ratio, with ERR_STOPPED when `progress` (may be
 * NULL) wants an end; `result` stays empty. The same input
 * gives the same bits. */
MUST_USE bool fit_head(const DetectHead *head, double found_probability, const FitProgram *programs,
                       size_t count, const Progress *progress, FitResult *result, Err *err);

/* The travel that a fit, and a smallest sphere, is computed on: +-(pack's length / 2 + 3 aperture
 * heights) at 2 mm; length 0 for a bare belt. */
DetectGrid fit_travel(const CoilHead *coils, double pack_length_m);

/* Free what a result holds and leave it all zeros; takes an all-zero one. */
void fit_result_clear(FitResult *result);

#endif
