/* What a conductive or slightly magnetic pack of product answers, without any metal in it.
 *
 * A slice dx of the pack is a weak conductor in which the current loops close in the cross-section,
 * so that it behaves as a bar in torsion: moment per length -j w mu0 sigma (J / 4) H_x, with J the
 * Saint-Venant torsion constant of its cross-section. A magnetic part (iron-fortified dry product)
 * adds (mu - 1) width height H per length. The field is taken on the axis of the whole pack.
 */
#ifndef DETECTOR_PRODUCT_H
#define DETECTOR_PRODUCT_H

#include <complex.h>
#include <stddef.h>

#include "detector/coil.h"

/* A pack, or a case of columns_across x columns_up insulated columns in one outline. The two
 * variations say how much a good pack differs from the next, as parts of the product's own largest
 * signal: along the product's phase, and across it. */
typedef struct {
    double length_m, width_m, height_m; /* along x, y, z; positive */
    int columns_across, columns_up;     /* along y and z; 1 to 50 */
    double conductivity_s_per_m;        /* 0 to 100 */
    double relative_permeability;       /* 1 to 1.1 */
    double centre_up_m;                 /* z of the axis of the pack */
    double amplitude_variation;         /* at least 0 */
    double phase_variation_rad;         /* at least 0 */
} ProductBlock;

/* Torsion constant of a rectangle in m^4, the sides in any order: J = w h^3 (1/3 - (64/pi^5) (h/w)
 * sum over odd n of tanh(n pi w / 2h) / n^5), w >= h (S. Timoshenko & J. N. Goodier, Theory of
 * Elasticity, chapter on torsion). Relative error below 1e-14. */
double product_torsion_constant(double width_m, double height_m);

/* The conductivity `kelvin` degrees warmer (negative: colder) than where it is known, with the part
 * per_k more for each: about 0.02 for what is wet, as ISO 7888 corrects the conductivity of water
 * (from memory). Not below 0; holds while nothing freezes or thaws. */
double product_conductivity_warmer(double conductivity_s_per_m, double per_k, double kelvin);

/* What a pack conducts that is frozen in the middle and thawed around, as one conductivity of the
 * whole. thawed_part, 0 to 1, is the thawed part of its cross-section. The core is taken as the
 * outline made smaller; a torsion constant goes with the fourth power of the sides, so that
 *
 *     frozen (1 - thawed_part)^2 + thawed (1 - (1 - thawed_part)^2)
 *
 * which is exact for round and elliptic packs (bars of two materials in torsion, from memory) and
 * within 5 % of the whole for rectangles. That packs thaw from outside, evenly, is common practice,
 * no source. */
double product_conductivity_thawing(double frozen_s_per_m, double thawed_s_per_m,
                                    double thawed_part);

/* The same pack turned across the belt: its length lies along y. Columns that stood side by side
 * across the belt follow each other along it, where they do not part the currents, which run across
 * the belt; so it has one column across, and turning it back does not give the columns back. */
ProductBlock product_turned_across(const ProductBlock *product);

/* The pack's own signal with its centre at from_m + i step_m for i = 0 .. count - 1, in volts per
 * transmitter ampere-turn and receiver turn, into signal[count]. step_m positive, count at least 1.
 * The quadrature over the pack's length is good to 1e-7 of the largest value. */
void product_signal(const ProductBlock *product, const CoilHead *coils, double frequency_hz,
                    double from_m, double step_m, size_t count, double complex *signal);

#endif
