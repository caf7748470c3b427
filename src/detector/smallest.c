/* The smallest sphere found: a walk down from the largest, as the ratio need not grow with size. */
#include "detector/smallest.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* Steps of the walk in ln(diameter): the response changes over factors of two and more in size. */
#define WALK_STEP 0.02
#define WALK_END_M 1e-9

enum { SOME = 256 };

/* h_r . h_t at every stride-th point of the grid from `first` on, `count` of them; the last point
 * stands for those behind it. */
static void couple_points(const CoilHead *coils, double across_m, double up_m,
                          const DetectGrid *grid, size_t first, size_t stride, size_t count,
                          double *coupling)
{
    double x[SOME];
    CoilFields fields[SOME];
    for (size_t from = 0; from < count; from += SOME) {
        size_t some = count - from < SOME ? count - from : SOME;
        for (size_t i = 0; i < some; i++) {
            size_t at = first + (from + i) * stride;
            x[i] = detect_place(grid, at < grid->count ? at : grid->count - 1);
        }
        coil_fields(coils, across_m, up_m, x, some, fields);
        for (size_t i = 0; i < some; i++) {
            coupling[from + i] = coil_dot(fields[i].receive, fields[i].transmit);
        }
    }
}

void smallest_coupling(const CoilHead *coils, double across_m, double up_m, const DetectGrid *grid,
                       double *coupling)
{
    couple_points(coils, across_m, up_m, grid, 0, 1, grid->count, coupling);
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

/* The distance from the line of a place to the nearest wire, seen along x. */
static double wire_distance(const CoilHead *coils, double across_m, double up_m)
{
    double y = fabs(across_m) - (0.5 * coils->aperture_width_m + coils->clearance_m);
    double z = fabs(up_m) - (0.5 * coils->aperture_height_m + coils->clearance_m);
    if (y <= 0.0 && z <= 0.0) return fmin(-y, -z);
    return hypot(fmax(y, 0.0), fmax(z, 0.0));
}

/* The largest of `largest` and the sizes of an array. */
static double largest_of(const double *coupling, size_t count, double largest)
{
    for (size_t i = 0; i < count; i++) {
        largest = fabs(coupling[i]) > largest ? fabs(coupling[i]) : largest;
    }
    return largest;
}

/* |h_r . h_t| is even in x: for a travel that lies as far to one side as to the other, half of it
 * is enough. */
static DetectGrid half_of(const DetectGrid *grid)
{
    DetectGrid half = *grid;
    double last = detect_place(grid, grid->count - 1);
    if (fabs(grid->from_m + last) < 1e-9 * grid->step_m) half.count = (grid->count + 1) / 2;
    return half;
}

/* By strides of the travel. */
static double largest_by_strides(const CoilHead *coils, double across_m, double up_m,
                                 const DetectGrid *half)
{
    double strides = 0.25 * wire_distance(coils, across_m, up_m) / half->step_m;
    size_t stride = strides < 1.0 ? 1 : (size_t)fmin(strides, (double)half->count);
    size_t count = (half->count - 2 + stride) / stride + 1;
    double *points = check_calloc(count, sizeof *points);
    double *between = check_calloc(2 * stride + 1, sizeof *between);
    couple_points(coils, across_m, up_m, half, 0, stride, count, points);
    double coarse = largest_of(points, count, 0.0);
    double largest = coarse;
    for (size_t i = 0; stride > 1 && i < count; i++) {
        double size = fabs(points[i]);
        bool is_peak = (i == 0 || size >= fabs(points[i - 1])) &&
                       (i + 1 == count || size >= fabs(points[i + 1]));
        if (!is_peak || size < 0.9 * coarse) continue;
        size_t from = i == 0 ? 0 : (i - 1) * stride;
        size_t to = (i + 1) * stride < half->count ? (i + 1) * stride : half->count - 1;
        couple_points(coils, across_m, up_m, half, from, 1, to - from + 1, between);
        largest = largest_of(between, to - from + 1, largest);
    }
    free(points);
    free(between);
    return largest;
}

/* Of the points of the travel within 0.4 strides of where a parabola through the peak stride and
 * its neighbours is largest, on one side of the transmitter; false when the travel begins or ends
 * there, or the largest is the first or the last of them. */
static bool largest_near(const CoilHead *coils, double across_m, double up_m,
                         const DetectGrid *grid, double middle_m, double reach_m, double *largest)
{
    double coupling[SOME];
    double from = ceil((middle_m - reach_m - grid->from_m) / grid->step_m) - 1.0;
    double to = floor((middle_m + reach_m - grid->from_m) / grid->step_m) + 1.0;
    if (!(from >= 0.0 && to < (double)grid->count && to - from < SOME)) return false;
    size_t count = (size_t)(to - from) + 1;
    couple_points(coils, across_m, up_m, grid, (size_t)from, 1, count, coupling);
    double inside = largest_of(coupling + 1, count - 2, 0.0);
    *largest = fmax(*largest, inside);
    return inside > fmax(fabs(coupling[0]), fabs(coupling[count - 1]));
}

/* By strides from the transmitter outwards, of which the loops share their fields. False when they
 * are no use: hardly longer than the travel's steps, too many, or the largest not well inside. */
static bool largest_by_loops(const CoilHead *coils, double across_m, double up_m,
                             const DetectGrid *half, bool both_sides, double *largest)
{
    double step;
    size_t count;
    CoilFields fields[COIL_STRIDES_MAX + 1];
    double sizes[COIL_STRIDES_MAX + 1];
    if (!coil_strides(coils, across_m, up_m, 3.0, &step, &count)) return false;
    if (!(step > 2.0 * half->step_m)) return false;
    coil_fields_along(coils, across_m, up_m, 0.0, step, count + 1, fields);
    double coarse = 0.0;
    for (size_t i = 0; i <= count; i++) {
        sizes[i] = fabs(coil_dot(fields[i].receive, fields[i].transmit));
        coarse = sizes[i] > coarse ? sizes[i] : coarse;
    }
    if (!(sizes[count] < 0.5 * coarse) || !isfinite(coarse)) return false;
    *largest = 0.0;
    for (size_t i = 1; i < count; i++) {
        bool is_peak = sizes[i] >= sizes[i - 1] && sizes[i] >= sizes[i + 1];
        if (!is_peak || sizes[i] < 0.9 * coarse) continue;
        double bend = sizes[i - 1] + sizes[i + 1] - 2.0 * sizes[i];
        double off = bend < 0.0 ? 0.5 * (sizes[i - 1] - sizes[i + 1]) / bend : 0.0;
        double middle = ((double)i + off) * step;
        if (!largest_near(coils, across_m, up_m, half, -middle, 0.4 * step, largest)) return false;
        if (!both_sides) continue;
        if (!largest_near(coils, across_m, up_m, half, middle, 0.4 * step, largest)) return false;
    }
    return true;
}

double smallest_largest_coupling(const CoilHead *coils, double across_m, double up_m,
                                 const DetectGrid *grid)
{
    double largest;
    DetectGrid half = half_of(grid);
    bool both_sides = half.count == grid->count;
    if (largest_by_loops(coils, across_m, up_m, &half, both_sides, &largest)) return largest;
    return largest_by_strides(coils, across_m, up_m, &half);
}

/* The curve: ln(ratio per coupling) over ln(diameter) at nodes CURVE_STEP apart, the largest first.
 * Between two nodes it is the polynomial through the eight around them, where that is as good as
 * CURVE_GOOD at the middle and steep enough; else halving takes over. */
#define CURVE_STEP 0.05
#define CURVE_GOOD 1e-8
#define CURVE_STEEP 0.2
enum { CURVE_NODES_MAX = 600, CURVE_POINTS = 8 };

typedef enum { SPAN_UNKNOWN, SPAN_GOOD, SPAN_BAD } SpanState;

/* Between node i and i + 1. */
typedef struct {
    SpanState state;
    double powers[CURVE_POINTS]; /* of (node i's ln(diameter) - ln(diameter)) / CURVE_STEP */
} Span;

struct SmallestCurve {
    SmallestPlace place; /* of coupling 1 */
    double one;
    TargetMetal metal;
    double log_largest;
    size_t count;                   /* of nodes known */
    double nodes[CURVE_NODES_MAX];  /* ln(ratio) */
    double lowest[CURVE_NODES_MAX]; /* of all up to this node, and of the dips between them */
    double dips[CURVE_NODES_MAX];   /* diameter of the dip around this node; 0: none */
    Span spans[CURVE_NODES_MAX];
};

static double curve_diameter(const SmallestCurve *curve, double node)
{
    return exp(curve->log_largest - CURVE_STEP * node);
}

SmallestCurve *smallest_curve_new(const DetectProgram *program, double frequency_hz,
                                  TargetMetal metal, double largest_m)
{
    CHECK(largest_m > WALK_END_M && largest_m < 1e3);
    SmallestCurve *curve = check_calloc(1, sizeof *curve);
    curve->one = 1.0;
    curve->place = (SmallestPlace){
        .program = program, .frequency_hz = frequency_hz, .coupling = &curve->one, .count = 1};
    curve->metal = metal;
    curve->log_largest = log(largest_m);
    return curve;
}

void smallest_curve_free(SmallestCurve *curve)
{
    free(curve);
}

static double curve_ratio(const SmallestCurve *curve, double diameter_m)
{
    return smallest_ratio(&curve->place, curve->metal, diameter_m);
}

/* The next node; and when it shows that the one before is lower than both its neighbours, the
 * lowest point around that one. */
static void add_node(SmallestCurve *curve)
{
    size_t i = curve->count++;
    curve->nodes[i] = log(curve_ratio(curve, curve_diameter(curve, (double)i)));
    curve->lowest[i] = i == 0 ? curve->nodes[i] : fmin(curve->lowest[i - 1], curve->nodes[i]);
    if (i < 1 || curve->nodes[i - 1] > curve->nodes[i]) return;
    if (i >= 2 && curve->nodes[i - 1] > curve->nodes[i - 2]) return;
    double above = curve_diameter(curve, i >= 2 ? (double)(i - 2) : 0.0);
    double dip =
        weakest_between(&curve->place, curve->metal, curve_diameter(curve, (double)i), above);
    curve->dips[i] = dip;
    curve->lowest[i] = fmin(curve->lowest[i], log(curve_ratio(curve, dip)));
}

/* The first node that is, or has above it, something below `level`; CURVE_NODES_MAX when no sphere
 * is so small. */
static size_t first_below(SmallestCurve *curve, double level)
{
    while (curve->count == 0 || !(curve->lowest[curve->count - 1] < level)) {
        if (curve->count == CURVE_NODES_MAX ||
            curve_diameter(curve, (double)curve->count) < WALK_END_M) {
            return CURVE_NODES_MAX;
        }
        add_node(curve);
    }
    size_t low = 0; /* the answer is from low to high */
    size_t high = curve->count - 1;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (curve->lowest[middle] < level)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

static double powers_at(const double powers[CURVE_POINTS], double t)
{
    double sum = powers[CURVE_POINTS - 1];
    for (int k = CURVE_POINTS - 2; k >= 0; k--) {
        sum = sum * t + powers[k];
    }
    return sum;
}

static double slope_at(const double powers[CURVE_POINTS], double t)
{
    double sum = (CURVE_POINTS - 1) * powers[CURVE_POINTS - 1];
    for (int k = CURVE_POINTS - 2; k >= 1; k--) {
        sum = sum * t + k * powers[k];
    }
    return sum;
}

/* Newton's divided differences of CURVE_POINTS nodes, the first at t = zero, as powers of t. */
static void interpolate(const double *nodes, double zero, double powers[CURVE_POINTS])
{
    double d[CURVE_POINTS];
    for (int k = 0; k < CURVE_POINTS; k++) {
        d[k] = nodes[k];
        powers[k] = 0.0;
    }
    for (int order = 1; order < CURVE_POINTS; order++) {
        for (int k = CURVE_POINTS - 1; k >= order; k--) {
            d[k] = (d[k] - d[k - 1]) / order;
        }
    }
    for (int k = CURVE_POINTS - 1; k >= 0; k--) {
        /* powers = powers (t - (k + zero)) + d[k] */
        for (int j = CURVE_POINTS - 1; j >= 1; j--) {
            powers[j] = powers[j - 1] - (k + zero) * powers[j];
        }
        powers[0] = d[k] - (k + zero) * powers[0];
    }
}

static const Span *span_of(SmallestCurve *curve, size_t i)
{
    Span *span = &curve->spans[i];
    if (span->state != SPAN_UNKNOWN) return span;
    size_t from = i < 3 ? 0 : i - 3;
    while (curve->count < from + CURVE_POINTS && curve->count < CURVE_NODES_MAX) {
        add_node(curve);
    }
    span->state = SPAN_BAD;
    if (curve->count < from + CURVE_POINTS) return span;
    interpolate(&curve->nodes[from], (double)from - (double)i, span->powers);
    double middle = log(curve_ratio(curve, curve_diameter(curve, (double)i + 0.5)));
    bool is_steep = true;
    for (int k = 0; k <= 4; k++) {
        is_steep = is_steep && slope_at(span->powers, 0.25 * k) < -CURVE_STEEP * CURVE_STEP;
    }
    bool is_good = fabs(powers_at(span->powers, 0.5) - middle) < CURVE_GOOD;
    if (is_good && is_steep) span->state = SPAN_GOOD;
    return span;
}

/* Where a falling span goes through `level`, by Newton's steps. */
static double cross_span(const Span *span, double level)
{
    double t = (level - span->powers[0]) /
               (powers_at(span->powers, 1.0) - span->powers[0]); /* a straight line's guess */
    for (int i = 0; i < 3; i++) {
        t -= (powers_at(span->powers, t) - level) / slope_at(span->powers, t);
        t = fmin(fmax(t, 0.0), 1.0);
    }
    return t;
}

bool smallest_curve_sphere(SmallestCurve *curve, double largest_coupling, double wanted_ratio,
                           double *diameter_m)
{
    CHECK(largest_coupling > 0.0 && isfinite(largest_coupling) && wanted_ratio > 0.0);
    double per_coupling = wanted_ratio / largest_coupling;
    double level = log(per_coupling);
    size_t below = first_below(curve, level);
    if (below == 0) return false;
    if (below == CURVE_NODES_MAX) {
        *diameter_m = 0.0;
        return true;
    }
    if (!(curve->nodes[below] < level)) { /* a dip between three nodes that are not below */
        double above = curve_diameter(curve, below >= 2 ? (double)(below - 2) : 0.0);
        *diameter_m =
            crossing_between(&curve->place, curve->metal, per_coupling, curve->dips[below], above);
        return true;
    }
    const Span *span = span_of(curve, below - 1);
    if (span->state == SPAN_GOOD) {
        *diameter_m = curve_diameter(curve, (double)(below - 1) + cross_span(span, level));
        return true;
    }
    *diameter_m = crossing_between(&curve->place, curve->metal, per_coupling,
                                   curve_diameter(curve, (double)below),
                                   curve_diameter(curve, (double)(below - 1)));
    return true;
}
