/* The smallest sphere that a head finds at one place of the aperture. */
#ifndef DETECTOR_SMALLEST_H
#define DETECTOR_SMALLEST_H

#include "detector/detect.h"

/* h_r . h_t in 1/m^2 at each point of the grid for a sphere that passes at (across, up), into
 * coupling[grid->count]: with it the signal of a sphere is j w mu0 alpha coupling. */
void smallest_coupling(const CoilHead *coils, double across_m, double up_m, const DetectGrid *grid,
                       double *coupling);

/* One place, one product. */
typedef struct {
    const DetectProgram *program;
    double frequency_hz;
    const double *coupling; /* 1/m^2, of smallest_coupling */
    const double
        *along; /* limits, of detect_excess; both NULL when today's product is as learned */
    const double *across;
    size_t count; /* of each array */
} SmallestPlace;

/* The noise-free peak ratio of a sphere at the place. */
double smallest_ratio(const SmallestPlace *place, TargetMetal metal, double diameter_m);

/* The smallest diameter whose ratio is at least `wanted_ratio` (positive) together with that of
 * every larger sphere up to `largest_m`, to 1e-9 of itself, into *diameter_m; the ratio need not
 * grow everywhere with size. 0 when any sphere is found, because the product alone reaches the
 * ratio. False, and nothing touched, when not even the largest is found. */
MUST_USE bool smallest_sphere(const SmallestPlace *place, TargetMetal metal, double wanted_ratio,
                              double largest_m, double *diameter_m);

/* The largest |h_r . h_t| of a travel, 1/m^2, as smallest_coupling would find it. The travel is
 * looked at in strides of a quarter of the distance to the nearest wire, on whose scale the
 * coupling changes, and point by point where it is within a tenth of the largest. */
double smallest_largest_coupling(const CoilHead *coils, double across_m, double up_m,
                                 const DetectGrid *grid);

/* Where today's product is as learned a sphere's ratio is the largest coupling times a function of
 * its size: one metal's, for many places. The owner ends it with smallest_curve_free. */
typedef struct SmallestCurve SmallestCurve;

/* Begin a curve for spheres up to largest_m; `program` is borrowed until the end. */
SmallestCurve *smallest_curve_new(const DetectProgram *program, double frequency_hz,
                                  TargetMetal metal, double largest_m);
void smallest_curve_free(SmallestCurve *curve);

/* As smallest_sphere for a place with this largest coupling (above 0 and finite), to 1e-7 of the
 * diameter; quick when asked again for ratios nearby. */
MUST_USE bool smallest_curve_sphere(SmallestCurve *curve, double largest_coupling,
                                    double wanted_ratio, double *diameter_m);

#endif
