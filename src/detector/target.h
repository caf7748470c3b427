/* What a small piece of metal answers to an alternating field: its magnetic polarizability.
 *
 * A piece in the field H gets the dipole moment m = A H with the symmetric tensor A in m^3. Along
 * each principal axis
 *
 *     alpha = V (mu - 1) / (1 + N (mu - 1))
 *
 * with V the volume, N the demagnetising factor of the magnetostatic shape and mu the effective
 * complex permeability that carries the skin effect. Sources: J. R. Wait, Geophysics 16 (1951) 666
 * (conducting permeable sphere); J. A. Osborn, Phys. Rev. 67 (1945) 351 (demagnetising factors); L.
 * D. Landau & E. M. Lifshitz, Electrodynamics of Continuous Media, sections 58 and 59.
 *
 * Holds for pieces small against the aperture. A wire is a long ellipsoid for its shape and a round
 * cylinder for its skin effect. The permeability is one constant per metal: a carbon steel falls
 * from about 280 to about 90 by 100 kHz, which its entry has to allow for.
 */
#ifndef DETECTOR_TARGET_H
#define DETECTOR_TARGET_H

#include <complex.h>

#include "detector/coil.h"

/* Vacuum permeability in H/m: 4 pi 1e-7, the value before the SI of 2019 (the difference, 1e-10, is
 * far below anything a detector shows). */
#define TARGET_MU0_H_PER_M 1.25663706143591729539e-6

typedef struct {
    double resistivity_ohm_m;     /* positive */
    double relative_permeability; /* at least 1, at most 1e5 */
} TargetMetal;

typedef enum { TARGET_SPHERE, TARGET_WIRE } TargetShape;

typedef struct {
    TargetShape shape;
    double diameter_m; /* positive */
    double length_m;   /* of a wire: at least its diameter; not read for a sphere */
    Vec3 direction;    /* of a wire: not all zero, need not be of unit length */
    TargetMetal metal;
} TargetPiece;

/* A symmetric tensor in m^3. */
typedef struct {
    double complex xx, xy, xz, yy, yz, zz;
} TargetTensor;

/* The principal axes along which the skin effect differs. */
typedef enum { TARGET_IN_SPHERE, TARGET_ALONG_WIRE, TARGET_ACROSS_WIRE } TargetAxis;

/* real + j imaginary, part by part (C11's CMPLX is not everywhere): the two are laid out as an
 * array of two, C11 6.2.5 paragraph 13. */
static inline double complex target_complex(double real, double imaginary)
{
    union {
        double parts[2];
        double complex whole;
    } number = {{real, imaginary}};
    return number.whole;
}

/* (a |k|)^2 = a^2 w mu0 mu_r / rho: the square of |u| for a sphere and of |ka| for a wire; it is
 * 2 (a / skin depth)^2. Radius and frequency positive. */
double target_skin_number(double radius_m, TargetMetal metal, double frequency_hz);

/* The effective permeability mu over mu_r, for a skin number from 0 to 1e12 (and beyond):
 *     sphere         2 (u coth u - 1) / (1 + u^2 - u coth u),  u^2 = j skin_number
 *     along a wire   2 J1(z) / (z J0(z)),                      z^2 = -j skin_number
 *     across a wire  J1(z) / (z J1'(z))
 */
double complex target_relative_permeability(TargetAxis axis, double skin_number);

/* alpha / V of one axis; demagnetising factor from 0 to 1/2 (1/3 for a sphere). Full precision
 * where mu - 1 would cancel. */
double complex target_axis_response(TargetAxis axis, double skin_number,
                                    double relative_permeability, double demagnetising);

/* Demagnetising factor along the axis of a prolate spheroid `aspect` times as long as thick; aspect
 * at least 1, tested to 1e8. Across the axis it is (1 - this) / 2. */
double target_demagnetising(double aspect);

/* A direction at unit length, whatever its length is; not all zero. */
Vec3 target_unit(Vec3 direction);

/* The whole tensor of a piece, in m^3; frequency positive. */
TargetTensor target_polarizability(const TargetPiece *piece, double frequency_hz);

/* receive . (A transmit): m^3 times the units of the two vectors. */
double complex target_couple(const TargetTensor *tensor, Vec3 receive, Vec3 transmit);

#endif
