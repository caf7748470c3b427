/* The decision, and the chance behind it. */
#include "detector/detect.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

double detect_place(const DetectGrid *grid, size_t index)
{
    return grid->from_m + (double)index * grid->step_m;
}

static void check_grid(const DetectGrid *grid)
{
    CHECK(grid->count >= DETECT_GRID_POINTS_MIN && grid->count <= DETECT_GRID_POINTS_MAX);
    CHECK(grid->step_m > 0.0);
}

/* The index of the longest of the pairs re[i stride], im[i stride], the lowest on a tie. Squares
 * compare faster than lengths; scaled by the largest part they neither over- nor underflow. */
static size_t longest(const double *re, const double *im, size_t stride, size_t count)
{
    double scale = 0.0;
    for (size_t i = 0; i < count * stride; i += stride) {
        double a = fabs(re[i]);
        double b = fabs(im[i]);
        double part = a > b ? a : b;
        scale = part > scale ? part : scale;
    }
    if (!(scale > 0.0)) return 0;
    double by = 1.0 / scale;
    if (!isfinite(by) || !(by > 0.0)) by = 1.0; /* parts at the ends of the range */
    double largest = 0.0;
    for (size_t i = 0; i < count * stride; i += stride) {
        double square = (re[i] * by) * (re[i] * by) + (im[i] * by) * (im[i] * by);
        largest = square > largest ? square : largest;
    }
    for (size_t i = 0; i < count; i++) {
        double a = re[i * stride] * by;
        double b = im[i * stride] * by;
        if (a * a + b * b >= largest * (1.0 - 2.0 * DETECT_TIE)) return i;
    }
    return 0;
}

size_t detect_peak(const double complex *signal, size_t count)
{
    CHECK(count >= 1);
    const double *parts = (const double *)signal; /* C11 6.2.5 paragraph 13 */
    return longest(parts, parts + 1, 2, count);
}

void detect_product_signal(const DetectHead *head, const ProductBlock *product,
                           const DetectGrid *grid, double complex *signal)
{
    check_grid(grid);
    if (product != NULL) {
        product_signal(product, &head->coils, head->frequency_hz, grid->from_m, grid->step_m,
                       grid->count, signal);
        return;
    }
    for (size_t i = 0; i < grid->count; i++) {
        signal[i] = 0.0;
    }
}

double detect_kappa(double false_reject_rate)
{
    CHECK(false_reject_rate > 0.0 && false_reject_rate < 1.0);
    return sqrt(-2.0 * log(false_reject_rate));
}

void detect_program_set_limits(DetectProgram *program, double noise_v, double amplitude_variation,
                               double phase_variation_rad)
{
    double peak = program->learned_peak_v;
    program->limit_along_v = program->kappa * hypot(noise_v, amplitude_variation * peak);
    program->limit_across_v = program->kappa * hypot(noise_v, phase_variation_rad * peak);
}

bool detect_program_init(DetectProgram *program, const DetectHead *head,
                         const ProductBlock *learned, const DetectGrid *grid, Err *err)
{
    check_grid(grid);
    DetectProgram made = {
        .axis = 1.0, .kappa = detect_kappa(head->false_reject_rate), .count = grid->count};
    if (learned != NULL) {
        made.learned = check_calloc(grid->count, sizeof *made.learned);
        detect_product_signal(head, learned, grid, made.learned);
        double complex largest = made.learned[detect_peak(made.learned, grid->count)];
        made.learned_peak_v = cabs(largest);
        if (made.learned_peak_v > 0.0) made.axis = largest / made.learned_peak_v;
    }
    detect_program_set_limits(&made, head->noise_v,
                              learned != NULL ? learned->amplitude_variation : 0.0,
                              learned != NULL ? learned->phase_variation_rad : 0.0);
    if (!(made.limit_along_v > 0.0) || !(made.limit_across_v > 0.0)) {
        const char *name = made.limit_along_v > 0.0 ? "limit_across_nv" : "limit_along_nv";
        detect_program_clear(&made);
        return err_set(err, ERR_RANGE,
                       "%s is 0, must be above 0: noise_nv is 0 and the learned product has no "
                       "variation that would give a limit",
                       name);
    }
    *program = made;
    return true;
}

void detect_program_clear(DetectProgram *program)
{
    if (program == NULL) return;
    free(program->learned);
    *program = (DetectProgram){0};
}

void detect_add_signal(const DetectHead *head, const DetectPiece *piece, const DetectGrid *grid,
                       double complex *signal)
{
    check_grid(grid);
    TargetTensor tensor = target_polarizability(&piece->piece, head->frequency_hz);
    double wmu0 = 2.0 * PI * head->frequency_hz * TARGET_MU0_H_PER_M;
    CoilFields *fields = check_calloc(grid->count, sizeof *fields);
    coil_fields_along(&head->coils, piece->across_m, piece->up_m, grid->from_m + piece->along_m,
                      grid->step_m, grid->count, fields);
    for (size_t i = 0; i < grid->count; i++) {
        double complex coupled = target_couple(&tensor, fields[i].receive, fields[i].transmit);
        signal[i] +=
            target_complex(-wmu0 * cimag(coupled), wmu0 * creal(coupled)); /* j w mu0 coupled */
    }
    free(fields);
}

/* Re and Im of value conj(axis). */
static double part_along(const DetectProgram *program, double complex value)
{
    return creal(value) * creal(program->axis) + cimag(value) * cimag(program->axis);
}

static double part_across(const DetectProgram *program, double complex value)
{
    return cimag(value) * creal(program->axis) - creal(value) * cimag(program->axis);
}

void detect_excess(const DetectProgram *program, const double complex *today, size_t count,
                   double *along, double *across)
{
    CHECK(count == program->count);
    for (size_t i = 0; i < count; i++) {
        along[i] = 0.0;
        across[i] = 0.0;
        if (today == NULL) continue;
        double complex learned = program->learned != NULL ? program->learned[i] : 0.0;
        double now = part_along(program, today[i]);
        double more = fabs(now) - fabs(part_along(program, learned));
        if (more > 0.0) along[i] = copysign(more, now) / program->limit_along_v;
        across[i] = (part_across(program, today[i]) - part_across(program, learned)) /
                    program->limit_across_v;
    }
}

void detect_add_in_limits(const DetectProgram *program, const double complex *signal, size_t count,
                          double *along, double *across)
{
    for (size_t i = 0; i < count; i++) {
        along[i] += part_along(program, signal[i]) / program->limit_along_v;
        across[i] += part_across(program, signal[i]) / program->limit_across_v;
    }
}

void detect_trace(const DetectHead *head, const DetectProgram *program, const ProductBlock *today,
                  const DetectPiece *pieces, size_t piece_count, const DetectGrid *grid,
                  double *along, double *across)
{
    double complex *signal = check_calloc(grid->count, sizeof *signal);
    detect_product_signal(head, today, grid, signal);
    detect_excess(program, today != NULL ? signal : NULL, grid->count, along, across);
    detect_product_signal(head, NULL, grid, signal);
    for (size_t i = 0; i < piece_count; i++) {
        detect_add_signal(head, &pieces[i], grid, signal);
    }
    detect_add_in_limits(program, signal, grid->count, along, across);
    free(signal);
}

/* The grid's point next to x = 0. */
static size_t centre_of(const DetectGrid *grid)
{
    double index = round(-grid->from_m / grid->step_m);
    return (size_t)fmin(fmax(index, 0.0), (double)(grid->count - 1));
}

/* Where scale |v| rises above 1 between point `outside` and its neighbour `inside`. */
static double crossing(const double *along, const double *across, const DetectGrid *grid,
                       double scale, size_t outside, size_t inside)
{
    double low = scale * hypot(along[outside], across[outside]);
    double high = scale * hypot(along[inside], across[inside]);
    double part = (1.0 - low) / (high - low);
    double from = detect_place(grid, outside);
    return from + part * (detect_place(grid, inside) - from);
}

static double trip_place(const double *along, const double *across, const DetectGrid *grid,
                         double scale)
{
    size_t first = 0;
    size_t last = grid->count - 1;
    while (first < last && scale * hypot(along[first], across[first]) <= 1.0) {
        first++;
    }
    while (last > first && scale * hypot(along[last], across[last]) <= 1.0) {
        last--;
    }
    double begin = detect_place(grid, first);
    double end = detect_place(grid, last);
    if (first > 0) begin = crossing(along, across, grid, scale, first - 1, first);
    if (last < grid->count - 1) end = crossing(along, across, grid, scale, last + 1, last);
    return 0.5 * (begin + end);
}

/* How long the vector is that the head sees. */
static double seen_with(double along, double across, const double deviation[2])
{
    return hypot(along + deviation[0], across + deviation[1]);
}

bool detect_is_seen(double along, double across, const double deviation[2])
{
    return seen_with(along, across, deviation) > 1.0;
}

void detect_look(const double *along, const double *across, const DetectGrid *grid,
                 const double deviation[2], DetectLook *look)
{
    check_grid(grid);
    size_t at = longest(along, across, 1, grid->count);
    double largest = hypot(along[at], across[at]);
    if (!(largest > 0.0)) at = centre_of(grid);
    double seen = seen_with(along[at], across[at], deviation);
    *look = (DetectLook){
        .found = detect_is_seen(along[at], across[at], deviation), .ratio = largest, .at = at};
    if (!look->found) return;
    look->trip_m = detect_place(grid, at);
    if (largest > 0.0) look->trip_m = trip_place(along, across, grid, seen / largest);
}

void detect_draw_deviation(Random *random, double kappa, double deviation[2])
{
    CHECK(kappa > 0.0);
    random_normals(random, &deviation[0], &deviation[1]);
    deviation[0] /= kappa;
    deviation[1] /= kappa;
}

/* Q1(a, b) = e^{-(a-b)^2/2} sum over k >= 0 of (a/b)^k e^{-ab} I_k(ab), and its complement the same
 * with (b/a)^k from k = 1: for the smaller of the two every term is positive and nothing cancels.
 * The quotients I_k / I_{k-1} come from the continued fraction, downwards; e^{ab} = I_0 + 2 (I_1 +
 * I_2 + ...) norms the sum. Terms fall as exp(-k^2 / 2ab), which sets the depth. */
static double smaller_tail(double a, double b)
{
    double apart = b - a;
    if (fabs(apart) > 39.0) return 0.0; /* below the least double */
    double x = a * b;
    double part = a < b ? a / b : b / a;
    double sum = 1.0;
    double norm = 1.0;
    double quotient = 0.0;
    double rest = 0.0;
    for (int k = 40 + (int)(10.0 * sqrt(x)); k >= 1; k--) {
        quotient = x / (2.0 * k + x * quotient);
        rest = part * quotient * sum;
        sum = 1.0 + rest;
        norm = 1.0 + (k > 1 ? 1.0 : 2.0) * quotient * norm;
    }
    return exp(-0.5 * apart * apart) * (a < b ? sum : rest) / norm;
}

double detect_marcum_q1(double a, double b)
{
    CHECK(a >= 0.0 && b >= 0.0);
    if (!(b > 0.0)) return 1.0;
    return a < b ? smaller_tail(a, b) : 1.0 - smaller_tail(a, b);
}

double detect_marcum_p1(double a, double b)
{
    CHECK(a >= 0.0 && b >= 0.0);
    if (!(b > 0.0)) return 0.0;
    return a < b ? 1.0 - smaller_tail(a, b) : smaller_tail(a, b);
}

double detect_found_probability(double ratio, double kappa)
{
    return detect_marcum_q1(kappa * ratio, kappa);
}

double detect_ratio_for(double probability, double kappa)
{
    CHECK(probability < 1.0 && kappa > 0.0);
    double low = 0.0;
    double high = 1.0 + 40.0 / kappa;
    while (true) {
        double middle = 0.5 * (low + high);
        if (middle <= low || middle >= high) return middle;
        bool enough = probability < 0.5
                          ? detect_marcum_q1(kappa * middle, kappa) >= probability
                          : detect_marcum_p1(kappa * middle, kappa) <= 1.0 - probability;
        if (enough) {
            high = middle;
        } else {
            low = middle;
        }
    }
}
