/* The pack as a bar of weak conductor that the field twists currents in. */
#include "detector/product.h"

#include <math.h>

#include "base/check.h"
#include "detector/target.h"

#define PI 3.14159265358979323846

/* Gauss and Legendre's rule of three points on [-1, 1]. A piece of the axis is at most PIECE_PART
 * of the way to the nearest wire, from which follows an error near (4 / PIECE_PART)^-6 = 1e-9 of
 * the value. */
#define GAUSS_NODE 0.77459666924148337704 /* sqrt(3/5) */
#define PIECE_PART 0.125
#define PIECE_MIN_M 1e-4 /* on an axis that touches a wire no rule converges: go on all the same */

/* The sum over odd n of 1/n^5 is 31/32 zeta(5); what tanh falls short of 1 dies out within a few
 * terms, as w >= h. */
double product_torsion_constant(double width_m, double height_m)
{
    CHECK(width_m > 0.0 && height_m > 0.0);
    double w = fmax(width_m, height_m);
    double h = fmin(width_m, height_m);
    double sum = 1.0045237627951389; /* 31/32 zeta(5) */
    for (int n = 1; n <= 13; n += 2) {
        double fifth = (double)n * n * n * n * n;
        sum -= 2.0 / ((exp(n * PI * w / h) + 1.0) * fifth);
    }
    return w * h * h * h * (1.0 / 3.0 - 64.0 / (PI * PI * PI * PI * PI) * (h / w) * sum);
}

/* The axis of the pack in the coils. */
typedef struct {
    const CoilHead *coils;
    double up_m;
    double wire_m; /* from the axis to the nearest wire, seen along x */
} Axis;

/* The two couplings h_rx h_tx and h_r . h_t, at a place or integrated over a piece of the axis. */
typedef struct {
    double lengthways, whole;
} Coupling;

static Axis axis_of(const CoilHead *coils, double up_m)
{
    double y = 0.5 * coils->aperture_width_m + coils->clearance_m;
    double z = 0.5 * coils->aperture_height_m + coils->clearance_m;
    double wire_m = fabs(z - fabs(up_m));
    if (fabs(up_m) < z) wire_m = fmin(wire_m, y);
    return (Axis){coils, up_m, wire_m};
}

static Coupling coupling_at(const Axis *axis, double x)
{
    Vec3 point = {x, 0.0, axis->up_m};
    Vec3 receive = coil_receive_field(axis->coils, point);
    Vec3 transmit = coil_transmit_field(axis->coils, point);
    return (Coupling){receive.x * transmit.x, coil_dot(receive, transmit)};
}

/* How long a piece that starts at x may be: short beside a coil, long far from all. */
static double piece_length(const Axis *axis, double x)
{
    double offset = axis->coils->receiver_offset_m;
    double away = fmin(fabs(x), fabs(fabs(x) - offset));
    return fmax(PIECE_PART * fmax(axis->wire_m, away), PIECE_MIN_M);
}

/* The integral of both couplings from `from` to `to`, added to *sum with the factor `sign`. */
static void integrate(const Axis *axis, double from, double to, double sign, Coupling *sum)
{
    while (from < to) {
        double length = piece_length(axis, from);
        double next = from + length < to ? from + length : to;
        double half = 0.5 * (next - from);
        double middle = 0.5 * (from + next);
        Coupling low = coupling_at(axis, middle - GAUSS_NODE * half);
        Coupling centre = coupling_at(axis, middle);
        Coupling high = coupling_at(axis, middle + GAUSS_NODE * half);
        double scale = sign * half / 9.0;
        sum->lengthways +=
            scale * (5.0 * (low.lengthways + high.lengthways) + 8.0 * centre.lengthways);
        sum->whole += scale * (5.0 * (low.whole + high.whole) + 8.0 * centre.whole);
        from = next;
    }
}

/* From one place to the next the pack loses a piece behind and gains one ahead. A step longer than
 * the pack leaves nothing to keep, and what it jumps over may be far larger than what it finds. */
void product_signal(const ProductBlock *product, const CoilHead *coils, double frequency_hz,
                    double from_m, double step_m, size_t count, double complex *signal)
{
    CHECK(product->length_m > 0.0 && step_m > 0.0 && frequency_hz > 0.0 && count >= 1);
    CHECK(product->columns_across >= 1 && product->columns_up >= 1);
    double columns = (double)product->columns_across * product->columns_up;
    double torsion = columns * product_torsion_constant(product->width_m / product->columns_across,
                                                        product->height_m / product->columns_up);
    double wmu0 = 2.0 * PI * frequency_hz * TARGET_MU0_H_PER_M;
    double eddy = wmu0 * wmu0 * product->conductivity_s_per_m * torsion / 4.0;
    double magnetic =
        wmu0 * (product->relative_permeability - 1.0) * product->width_m * product->height_m;
    Axis axis = axis_of(coils, product->centre_up_m);
    double half = 0.5 * product->length_m;
    Coupling sum = {0.0, 0.0};
    for (size_t i = 0; i < count; i++) {
        double x = from_m + (double)i * step_m;
        double last = from_m + ((double)i - 1.0) * step_m;
        if (i == 0 || step_m >= product->length_m) {
            sum = (Coupling){0.0, 0.0};
            integrate(&axis, x - half, x + half, 1.0, &sum);
        } else {
            integrate(&axis, last - half, x - half, -1.0, &sum);
            integrate(&axis, last + half, x + half, 1.0, &sum);
        }
        signal[i] = target_complex(eddy * sum.lengthways, magnetic * sum.whole);
    }
}
