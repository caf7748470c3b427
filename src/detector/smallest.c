/* The smallest sphere found: a walk down from the largest, as the ratio need not grow with size. */
#include "detector/smallest.h"

#include <math.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* Steps of the walk in ln(diameter): the response changes over factors of two and more in size. */
#define WALK_STEP 0.02
#define WALK_END_M 1e-9

void smallest_coupling(const CoilHead *coils, double across_m, double up_m, const DetectGrid *grid,
                       double *coupling)
{
    for (size_t i = 0; i < grid->count; i++) {
        Vec3 point = {detect_place(grid, i), across_m, up_m};
        coupling[i] = coil_dot(coil_receive_field(coils, point), coil_transmit_field(coils, point));
    }
}

double smallest_ratio(const SmallestPlace *place, TargetMetal metal, double diameter_m)
{
    TargetPiece sphere = {
        .shape = TARGET_SPHERE, .diameter_m = diameter_m, .direction = {1, 0, 0}, .metal = metal};
    double complex alpha = target_polarizability(&sphere, place->frequency_hz).xx;
    double wmu0 = 2.0 * PI * place->frequency_hz * TARGET_MU0_H_PER_M;
    double complex unit = target_complex(-wmu0 * cimag(alpha), wmu0 * creal(alpha));
    double along = 0.0;
    double across = 0.0;
    detect_add_in_limits(place->program, &unit, 1, &along, &across);
    double largest = 0.0;
    if (place->along == NULL) {
        for (size_t i = 0; i < place->count; i++) {
            largest = fmax(largest, fabs(place->coupling[i]));
        }
        return largest * hypot(along, across);
    }
    for (size_t i = 0; i < place->count; i++) {
        double v_along = along * place->coupling[i] + place->along[i];
        double v_across = across * place->coupling[i] + place->across[i];
        largest = fmax(largest, v_along * v_along + v_across * v_across);
    }
    return sqrt(largest);
}

/* The diameter of the least ratio between two diameters, by golden section in the logarithm. */
static double weakest_between(const SmallestPlace *place, TargetMetal metal, double low_m,
                              double high_m)
{
    const double golden = 0.61803398874989484820;
    double low = log(low_m);
    double high = log(high_m);
    for (int i = 0; i < 40; i++) {
        double left = high - golden * (high - low);
        double right = low + golden * (high - low);
        if (smallest_ratio(place, metal, exp(left)) < smallest_ratio(place, metal, exp(right))) {
            high = right;
        } else {
            low = left;
        }
    }
    return exp(0.5 * (low + high));
}

/* The crossing between a sphere that is missed and a larger one that is found, by halving. */
static double crossing_between(const SmallestPlace *place, TargetMetal metal, double wanted_ratio,
                               double missed_m, double found_m)
{
    while (found_m - missed_m > 1e-10 * found_m) {
        double middle = 0.5 * (missed_m + found_m);
        if (smallest_ratio(place, metal, middle) >= wanted_ratio) {
            found_m = middle;
        } else {
            missed_m = middle;
        }
    }
    return found_m;
}

bool smallest_sphere(const SmallestPlace *place, TargetMetal metal, double wanted_ratio,
                     double largest_m, double *diameter_m)
{
    CHECK(wanted_ratio > 0.0 && largest_m > 0.0 && place->count >= 1);
    double before = largest_m; /* the sphere two steps up, one step up, and this one */
    double above = largest_m;
    double ratio_above = smallest_ratio(place, metal, largest_m);
    double ratio_before = ratio_above;
    if (!(ratio_above >= wanted_ratio)) return false;
    for (int step = 1; above > WALK_END_M; step++) {
        double here = largest_m * exp(-WALK_STEP * step);
        double ratio = smallest_ratio(place, metal, here);
        if (ratio_above <= ratio_before && ratio_above <= ratio) {
            double weakest = weakest_between(place, metal, here, before);
            if (smallest_ratio(place, metal, weakest) < wanted_ratio) {
                *diameter_m = crossing_between(place, metal, wanted_ratio, weakest, before);
                return true;
            }
        }
        if (ratio < wanted_ratio) {
            *diameter_m = crossing_between(place, metal, wanted_ratio, here, above);
            return true;
        }
        before = above;
        above = here;
        ratio_before = ratio_above;
        ratio_above = ratio;
    }
    *diameter_m = 0.0;
    return true;
}
