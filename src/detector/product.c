/* The pack as a bar of weak conductor that the field twists currents in. */
#include "detector/product.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#include "base/check.h"
#include "detector/target.h"

#define PI 3.14159265358979323846

/* The axis is cut into pieces, each at most PIECE_PART of the way from its start to the nearest
 * wire. On a piece each coupling is taken as the polynomial through NODES of its values, at
 * Chebyshev's points: the nearest wire is three half-lengths or more from the middle, so that the
 * polynomial is off by about (3 + sqrt 8)^-NODES = 7e-10 of the values (L. N. Trefethen,
 * Approximation Theory and Approximation Practice, theorem 8.2), and its integral by less. */
#define NODES 12
#define PIECE_PART 0.5
#define PIECE_MIN_M 1e-4 /* on an axis that touches a wire no rule converges: go on all the same */

/* 1000 m in pieces that grow by half their distance, and what lies between three coils at 5 m. */
#define PIECES_MAX 160

/* Below this the pack's ends lie so close that what is between them is its length times the
 * coupling at its centre: off by (length / distance of the wire)^2 / 24. */
#define SHORT_M 1e-6

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

double product_conductivity_warmer(double conductivity_s_per_m, double per_k, double kelvin)
{
    return conductivity_s_per_m * fmax(0.0, 1.0 + per_k * kelvin);
}

double product_conductivity_thawing(double frozen_s_per_m, double thawed_s_per_m,
                                    double thawed_part)
{
    CHECK(thawed_part >= 0.0 && thawed_part <= 1.0);
    double core = (1.0 - thawed_part) * (1.0 - thawed_part);
    return frozen_s_per_m * core + thawed_s_per_m * (1.0 - core);
}

ProductBlock product_turned_across(const ProductBlock *product)
{
    ProductBlock turned = *product;
    turned.length_m = product->width_m;
    turned.width_m = product->length_m;
    turned.columns_across = 1;
    return turned;
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

/* How long a piece that starts at x may be: short beside a coil, long far from all. */
static double piece_length(const Axis *axis, double x)
{
    double offset = axis->coils->receiver_offset_m;
    double away = fmin(x, fabs(x - offset));
    return fmax(PIECE_PART * fmax(axis->wire_m, away), PIECE_MIN_M);
}

/* Both couplings are odd in x, as the coils are symmetric: their integral is even, and pieces on
 * one side are enough. It is taken from the far end inwards, so that it keeps its digits where it
 * is small. */
typedef struct {
    double from, half; /* m */
    Coupling beyond;   /* minus the integral from this piece's end to the last one's */
    double lengthways[NODES + 1], whole[NODES + 1]; /* minus that from a point to the piece's end,
                                                       as powers of (x - from) / half - 1 */
} Piece;

typedef struct {
    double cosines[4 * NODES]; /* cos(pi m / (2 NODES)) */
    bool magnetic;             /* false: of the whole coupling nothing is kept, all is 0 */
    size_t count;
    Piece pieces[PIECES_MAX];
} Integral;

/* A series of Chebyshev's as a polynomial in t, T_{n+1} = 2 t T_n - T_{n-1}. */
static void to_powers(double series[NODES + 1])
{
    double before[NODES + 1] = {1.0};
    double now[NODES + 1] = {0.0, 1.0};
    double sum[NODES + 1] = {series[0], series[1]};
    for (int n = 2; n <= NODES; n++) {
        double next[NODES + 1] = {-before[0]};
        for (int k = 1; k <= n; k++) {
            next[k] = 2.0 * now[k - 1] - before[k];
        }
        for (int k = 0; k <= NODES; k++) {
            sum[k] += series[n] * next[k];
            before[k] = now[k];
            now[k] = next[k];
        }
    }
    for (int k = 0; k <= NODES; k++) {
        series[k] = sum[k];
    }
}

/* Coefficients of Chebyshev's series from the values at cos((k + 1/2) pi / NODES), integrated
 * term by term (T_n to T_{n+1} / (2n + 2) - T_{n-1} / (2n - 2)) made zero at 1,
 * and turned into powers. */
static void integrate_values(const double cosines[4 * NODES], const double values[NODES],
                             double half, double series[NODES + 1])
{
    double c[NODES + 2] = {0.0};
    for (int n = 0; n < NODES; n++) {
        double sum = 0.0;
        for (int k = 0; k < NODES; k++) {
            sum += values[k] * cosines[n * (2 * k + 1) % (4 * NODES)];
        }
        c[n] = sum * (n == 0 ? 1.0 : 2.0) / NODES;
    }
    series[0] = 0.0;
    series[1] = half * (c[0] - 0.5 * c[2]);
    for (int n = 2; n <= NODES; n++) {
        series[n] = half * (c[n - 1] - c[n + 1]) / (2.0 * n);
    }
    for (int n = 1; n <= NODES; n++) {
        series[0] -= series[n];
    }
    to_powers(series);
}

static Coupling coupling_of(const CoilFields *fields)
{
    return (Coupling){fields->receive.x * fields->transmit.x,
                      coil_dot(fields->receive, fields->transmit)};
}

static void make_piece(const Axis *axis, const Integral *integral, double from, Piece *piece)
{
    *piece = (Piece){.from = from, .half = 0.5 * piece_length(axis, from)};
    double at[NODES];
    double lengthways[NODES];
    double whole[NODES];
    CoilFields fields[NODES];
    for (int k = 0; k < NODES; k++) {
        at[k] = from + piece->half * (1.0 + integral->cosines[2 * k + 1]);
    }
    coil_fields(axis->coils, 0.0, axis->up_m, at, NODES, fields);
    for (int k = 0; k < NODES; k++) {
        Coupling coupling = coupling_of(&fields[k]);
        lengthways[k] = coupling.lengthways;
        whole[k] = coupling.whole;
    }
    integrate_values(integral->cosines, lengthways, piece->half, piece->lengthways);
    if (integral->magnetic) integrate_values(integral->cosines, whole, piece->half, piece->whole);
}

/* The integral of both couplings over 0 up to at least `to`. */
static void integrate(const Axis *axis, double to, Integral *integral)
{
    double x = 0.0;
    for (int m = 0; m < 4 * NODES; m++) {
        integral->cosines[m] = cos(PI * m / (2.0 * NODES));
    }
    for (integral->count = 0; integral->count == 0 || x < to; integral->count++) {
        CHECK(integral->count < PIECES_MAX);
        Piece *piece = &integral->pieces[integral->count];
        make_piece(axis, integral, x, piece);
        x += 2.0 * piece->half;
    }
    Coupling sum = {0.0, 0.0};
    for (size_t i = integral->count; i-- > 0;) {
        Piece *piece = &integral->pieces[i];
        piece->beyond = sum;
        for (int n = 0; n <= NODES; n++) {
            sum.lengthways += n % 2 == 0 ? piece->lengthways[n] : -piece->lengthways[n];
            sum.whole += n % 2 == 0 ? piece->whole[n] : -piece->whole[n];
        }
    }
}

/* Points that lie on one piece are taken CHUNK at a time, which every compiler does two by two. */
enum { CHUNK = 16 };

static void powers_at(const double powers[NODES + 1], const double *restrict t,
                      double *restrict sums)
{
    for (int i = 0; i < CHUNK; i++) {
        sums[i] = powers[NODES];
    }
    for (int n = NODES - 1; n >= 0; n--) {
        for (int i = 0; i < CHUNK; i++) {
            sums[i] = sums[i] * t[i] + powers[n];
        }
    }
}

/* The piece that x, not negative, lies on; `near` is one not far off. */
static size_t piece_of(const Integral *integral, double x, size_t near)
{
    while (near > 0 && x < integral->pieces[near].from) {
        near--;
    }
    while (near + 1 < integral->count && x >= integral->pieces[near + 1].from) {
        near++;
    }
    return near;
}

/* The integral, a constant aside, at from_m + i step_m times `sign`, added to sums[count]. */
static void add_integral(const Integral *integral, double from_m, double step_m, double sign,
                         size_t count, Coupling *sums)
{
    size_t at = 0;
    for (size_t i = 0; i < count;) {
        double t[CHUNK] = {0.0};
        double lengthways[CHUNK];
        double wholes[CHUNK] = {0.0};
        at = piece_of(integral, fabs(from_m + (double)i * step_m), at);
        const Piece *piece = &integral->pieces[at];
        double by = 1.0 / piece->half;
        size_t some = 0;
        while (some < CHUNK && i + some < count) {
            double far = fabs(from_m + (double)(i + some) * step_m);
            if (piece_of(integral, far, at) != at) break;
            double along = (far - piece->from) * by - 1.0;
            t[some++] = along < 1.0 ? along : 1.0;
        }
        powers_at(piece->lengthways, t, lengthways);
        if (integral->magnetic) powers_at(piece->whole, t, wholes);
        for (size_t k = 0; k < some; k++, i++) {
            sums[i].lengthways += sign * (piece->beyond.lengthways + lengthways[k]);
            sums[i].whole += sign * (piece->beyond.whole + wholes[k]);
        }
    }
}

static void add_short_pack(const Axis *axis, double from_m, double step_m, double length_m,
                           size_t count, Coupling *sums)
{
    for (size_t i = 0; i < count; i++) {
        CoilFields fields;
        double x = from_m + (double)i * step_m;
        coil_fields(axis->coils, 0.0, axis->up_m, &x, 1, &fields);
        Coupling coupling = coupling_of(&fields);
        sums[i] = (Coupling){length_m * coupling.lengthways, length_m * coupling.whole};
    }
}

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
    Coupling *sums = check_calloc(count, sizeof *sums);
    if (product->length_m < SHORT_M) {
        add_short_pack(&axis, from_m, step_m, product->length_m, count, sums);
    } else {
        double half = 0.5 * product->length_m;
        double last = from_m + (double)(count - 1) * step_m;
        Integral integral;
        integral.magnetic = magnetic > 0.0;
        integrate(&axis, fmax(fabs(from_m), fabs(last)) + half, &integral);
        add_integral(&integral, from_m + half, step_m, 1.0, count, sums);
        add_integral(&integral, from_m - half, step_m, -1.0, count, sums);
    }
    for (size_t i = 0; i < count; i++) {
        signal[i] = target_complex(eddy * sums[i].lengthways, magnetic * sums[i].whole);
    }
    free(sums);
}
