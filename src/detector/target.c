/* Spheres and wires as magnetostatic shapes with an effective complex permeability.
 *
 * Every effective permeability here comes from one quotient of modified Bessel functions,
 *
 *     q = v I_{nu+1}(v) / I_nu(v),   v^2 = j skin_number,   nu = 3/2 (sphere) or 1 (wire):
 *
 *     sphere         mu / mu_r = 2 / (2 + q)     (from 2 (u coth u - 1) / (1 + u^2 - u coth u))
 *     along a wire   mu / mu_r = 2 / (2 + q)     (from 2 J1(z) / (z J0(z)))
 *     across a wire  mu / mu_r = 1 / (1 + q)     (from J1(z) / (z J1'(z)))
 *
 * by the recurrences I_{nu-1} - I_{nu+1} = (2 nu / v) I_nu (NIST DLMF 10.29.1). With c = 2 or 1
 * then mu - 1 = (c (mu_r - 1) - q) / (c + q), in which nothing cancels: q goes to 0 with v.
 */
#include "detector/target.h"

#include <math.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* The same bits from every compiler's run-time library; |b|^2 neither over- nor underflows here. */
static double complex divide(double complex a, double complex b)
{
    double size = creal(b) * creal(b) + cimag(b) * cimag(b);
    return target_complex((creal(a) * creal(b) + cimag(a) * cimag(b)) / size,
                          (cimag(a) * creal(b) - creal(a) * cimag(b)) / size);
}

/* The sum of Hankel's asymptotic series of I_order without its common factor (DLMF 10.40.1); for
 * |v| >= 100 twelve terms are far more than double precision needs. */
static double complex hankel_sum(double order, double complex v)
{
    double complex term = 1.0;
    double complex sum = 1.0;
    for (int k = 1; k <= 12; k++) {
        double odd = 2.0 * k - 1.0;
        term *= divide(-(4.0 * order * order - odd * odd) / (8.0 * k), v);
        sum += term;
    }
    return sum;
}

/* q above. Below |v| = 100 the continued fraction v^2 / (2nu+2 + v^2 / (2nu+4 + ...)) (DLMF
 * 10.33.1), from a depth at which its error, about exp(-depth^2 / |v|), is nothing. */
static double complex bessel_quotient(double order, double skin_number)
{
    if (skin_number >= 1e4) {
        double part = sqrt(0.5 * skin_number);
        double complex v = target_complex(part, part);
        return v * divide(hankel_sum(order + 1.0, v), hankel_sum(order, v));
    }
    double complex square = target_complex(0.0, skin_number);
    double complex q = 0.0;
    for (int k = 20 + (int)(10.0 * sqrt(sqrt(skin_number))); k >= 1; k--) {
        q = divide(square, 2.0 * (order + k) + q);
    }
    return q;
}

static double complex quotient_of(TargetAxis axis, double skin_number)
{
    return bessel_quotient(axis == TARGET_IN_SPHERE ? 1.5 : 1.0, skin_number);
}

static double constant_of(TargetAxis axis)
{
    return axis == TARGET_ACROSS_WIRE ? 1.0 : 2.0;
}

double target_skin_number(double radius_m, TargetMetal metal, double frequency_hz)
{
    return radius_m * radius_m * 2.0 * PI * frequency_hz * TARGET_MU0_H_PER_M *
           metal.relative_permeability / metal.resistivity_ohm_m;
}

double complex target_relative_permeability(TargetAxis axis, double skin_number)
{
    CHECK(skin_number >= 0.0);
    double c = constant_of(axis);
    return divide(c, c + quotient_of(axis, skin_number));
}

double complex target_axis_response(TargetAxis axis, double skin_number,
                                    double relative_permeability, double demagnetising)
{
    CHECK(skin_number >= 0.0 && relative_permeability >= 1.0);
    double c = constant_of(axis);
    double complex q = quotient_of(axis, skin_number);
    double complex top = c * (relative_permeability - 1.0) - q;
    return divide(top, c + q + demagnetising * top);
}

/* With the eccentricity e, e^2 = 1 - 1/p^2: N = (1 - e^2) (e^2/3 + e^4/5 + ...) / e^2 near the
 * sphere, and Osborn's closed form with acosh p where that does not cancel. */
double target_demagnetising(double aspect)
{
    CHECK(aspect >= 1.0);
    double below = (aspect - 1.0) * (aspect + 1.0); /* p^2 - 1 */
    double square = below / (aspect * aspect);
    if (square > 0.5) return (aspect / sqrt(below) * acosh(aspect) - 1.0) / below;
    double sum = 0.0;
    double power = 1.0;
    for (int k = 1; power > 1e-18; k++) {
        sum += power / (2.0 * k + 1.0);
        power *= square;
    }
    return sum / (aspect * aspect);
}

static TargetTensor sphere_tensor(const TargetPiece *piece, double skin_number)
{
    double d = piece->diameter_m;
    double complex alpha = PI / 6.0 * d * d * d *
                           target_axis_response(TARGET_IN_SPHERE, skin_number,
                                                piece->metal.relative_permeability, 1.0 / 3.0);
    return (TargetTensor){.xx = alpha, .yy = alpha, .zz = alpha};
}

/* Scaled by the largest part first, so that a direction of any length has a square. */
Vec3 target_unit(Vec3 direction)
{
    const Vec3 v = direction;
    double scale = fmax(fabs(v.x), fmax(fabs(v.y), fabs(v.z)));
    CHECK(scale > 0.0 && isfinite(scale));
    Vec3 n = {v.x / scale, v.y / scale, v.z / scale};
    double length = sqrt(coil_dot(n, n));
    return (Vec3){n.x / length, n.y / length, n.z / length};
}

/* A = across I + (along - across) n n^T. */
static TargetTensor wire_tensor(const TargetPiece *piece, double skin_number)
{
    double volume = PI / 4.0 * piece->diameter_m * piece->diameter_m * piece->length_m;
    double mu_r = piece->metal.relative_permeability;
    double demagnetising = target_demagnetising(piece->length_m / piece->diameter_m);
    double complex along =
        volume * target_axis_response(TARGET_ALONG_WIRE, skin_number, mu_r, demagnetising);
    double complex across = volume * target_axis_response(TARGET_ACROSS_WIRE, skin_number, mu_r,
                                                          0.5 * (1.0 - demagnetising));
    Vec3 n = target_unit(piece->direction);
    double complex more = along - across;
    return (TargetTensor){
        .xx = across + more * (n.x * n.x),
        .xy = more * (n.x * n.y),
        .xz = more * (n.x * n.z),
        .yy = across + more * (n.y * n.y),
        .yz = more * (n.y * n.z),
        .zz = across + more * (n.z * n.z),
    };
}

TargetTensor target_polarizability(const TargetPiece *piece, double frequency_hz)
{
    CHECK(piece->diameter_m > 0.0 && frequency_hz > 0.0 && piece->metal.resistivity_ohm_m > 0.0);
    double skin_number = target_skin_number(0.5 * piece->diameter_m, piece->metal, frequency_hz);
    if (piece->shape == TARGET_SPHERE) return sphere_tensor(piece, skin_number);
    return wire_tensor(piece, skin_number);
}

double complex target_couple(const TargetTensor *tensor, Vec3 receive, Vec3 transmit)
{
    const Vec3 r = receive;
    const Vec3 t = transmit;
    return tensor->xx * (r.x * t.x) + tensor->yy * (r.y * t.y) + tensor->zz * (r.z * t.z) +
           tensor->xy * (r.x * t.y + r.y * t.x) + tensor->xz * (r.x * t.z + r.z * t.x) +
           tensor->yz * (r.y * t.z + r.z * t.y);
}
