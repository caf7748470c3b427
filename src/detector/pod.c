/* Trials by the hundred thousand: only points are looked at which can decide.
 *
 * The look is at x*, where |v| is largest, and finds when |v(x*) + n| > 1. So a single point with
 * |v| above 1 + |n| decides that it does, and where no point has |v| above 1 - |n| it does not: x*
 * itself is needed between the two alone. A few places along the belt, where |v| is largest for a
 * wire along the axes and between them, are asked first. Then the rest: of a fixed place's travel
 * only what can hold a larger |v|, of any other the whole.
 *
 * With a wire's A = across I + (along - across) n n^T the pack's vector is, in limits,
 *
 *     v(x) = excess(x) + across_part h_r . h_t + more_part (n . h_r)(n . h_t)
 *
 * with one direction n a trial; a sphere has no third term.
 */
#include "detector/pod.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* Points are skipped only where a bound is this much below the largest |v|: far more than rounding
 * and DETECT_TIE. */
#define BOUND_SLACK 1e-9

/* A fixed place's line is cut into arcs of ARC steps, each halved down to single steps. */
enum { ARC = 64, ARC_NODES = ARC - 1 };

/* Directions whose largest |v| is asked first. */
static const Vec3 HINTS[] = {{1, 0, 0},      {0, 0, 1},     {0, 1, 0},     {0.6, 0, 0.8},
                             {0.6, 0, -0.8}, {0.6, 0.8, 0}, {0.6, -0.8, 0}};
enum { HINT_COUNT = sizeof HINTS / sizeof HINTS[0] };

typedef struct {
    double along, across;
} Plane;

/* The travel at one place; the last point stands again behind the end, to fill the last arc. */
typedef struct {
    size_t count;
    CoilFields *fields;
    double *whole; /* h_r . h_t, 1/m^2 */
} Line;

/* How far what belongs to a point between two others can be from the straight line between theirs:
 * of h_r . h_t, of (n . h_r)(n . h_t) for any n, and of the excess. So |v| between the two is at
 * most the larger of theirs and what follows from this. */
typedef struct {
    double whole, turned, excess;
} Bulge;

/* One piece in one head. */
typedef struct {
    const PodDescription *description;
    DetectProgram program;
    double *excess_along, *excess_across; /* limits, at each point */
    Plane across_part, more_part;         /* limits per (1/m^2) */
    Line line;
    double hint_x[HINT_COUNT]; /* of the piece, m */
    size_t arc_count;          /* 0 while every trial has a place of its own */
    Bulge *bulges;             /* ARC_NODES an arc: the whole, its halves, their halves, ... */
    double *ends;              /* |v|^2 at the ends of the arcs, for the trial under way */
} Pod;

static double size_of(Plane v)
{
    return sqrt(v.along * v.along + v.across * v.across);
}

static Plane in_limits(const Pod *pod, double complex polarizability)
{
    double wmu0 = 2.0 * PI * pod->description->pass.head.frequency_hz * TARGET_MU0_H_PER_M;
    double complex signal =
        target_complex(-wmu0 * cimag(polarizability), wmu0 * creal(polarizability));
    Plane plane = {0.0, 0.0};
    detect_add_in_limits(&pod->program, &signal, 1, &plane.along, &plane.across);
    return plane;
}

static void prepare_piece(Pod *pod)
{
    TargetPiece piece = pod->description->pass.target;
    piece.direction = (Vec3){1.0, 0.0, 0.0};
    TargetTensor tensor = target_polarizability(&piece, pod->description->pass.head.frequency_hz);
    pod->across_part = in_limits(pod, tensor.yy);
    pod->more_part = in_limits(pod, tensor.xx - tensor.yy);
}

static void prepare_excess(Pod *pod)
{
    const PassDescription *pass = &pod->description->pass;
    size_t count = pass->travel.count;
    pod->excess_along = check_calloc(pod->line.count, sizeof *pod->excess_along);
    pod->excess_across = check_calloc(pod->line.count, sizeof *pod->excess_across);
    if (!pass->has_product || !pass->has_learned) return; /* as learned, or nothing there */
    double complex *today = check_calloc(count, sizeof *today);
    detect_product_signal(&pass->head, &pass->product, &pass->travel, today);
    detect_excess(&pod->program, today, count, pod->excess_along, pod->excess_across);
    free(today);
    for (size_t i = count; i < pod->line.count; i++) {
        pod->excess_along[i] = pod->excess_along[count - 1];
        pod->excess_across[i] = pod->excess_across[count - 1];
    }
}

/* The fields along the travel for a piece `along_m` ahead of the pack's centre. */
static void take_line(Pod *pod, Vec3 place)
{
    const PassDescription *pass = &pod->description->pass;
    Line *line = &pod->line;
    size_t count = pass->travel.count;
    coil_fields_along(&pass->head.coils, place.y, place.z, pass->travel.from_m + place.x,
                      pass->travel.step_m, count, line->fields);
    for (size_t i = count; i < line->count; i++) {
        line->fields[i] = line->fields[count - 1];
    }
    for (size_t i = 0; i < line->count; i++) {
        line->whole[i] = coil_dot(line->fields[i].receive, line->fields[i].transmit);
    }
}

/* The six different parts of the symmetric h_r h_t^T at a point. */
static void turned_parts(const CoilFields *f, double parts[6])
{
    const double r[3] = {f->receive.x, f->receive.y, f->receive.z};
    const double t[3] = {f->transmit.x, f->transmit.y, f->transmit.z};
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3;
        parts[i] = r[i] * t[i];
        parts[3 + i] = 0.5 * (r[i] * t[j] + r[j] * t[i]);
    }
}

/* What (n . h_r)(n . h_t) can be off by is bounded, for any n, by Frobenius' norm. */
static Bulge bulge_between(const Pod *pod, size_t first, size_t last)
{
    const Line *line = &pod->line;
    double ends[2][6];
    Bulge bulge = {0.0, 0.0, 0.0};
    turned_parts(&line->fields[first], ends[0]);
    turned_parts(&line->fields[last], ends[1]);
    for (size_t i = first + 1; i < last; i++) {
        double b = (double)(i - first) / (double)(last - first);
        double a = 1.0 - b;
        double parts[6];
        double sum = 0.0;
        turned_parts(&line->fields[i], parts);
        for (int k = 0; k < 6; k++) {
            double off = parts[k] - a * ends[0][k] - b * ends[1][k];
            sum += (k < 3 ? 1.0 : 2.0) * off * off;
        }
        double whole = line->whole[i] - a * line->whole[first] - b * line->whole[last];
        Plane excess = {
            pod->excess_along[i] - a * pod->excess_along[first] - b * pod->excess_along[last],
            pod->excess_across[i] - a * pod->excess_across[first] - b * pod->excess_across[last]};
        bulge.turned = fmax(bulge.turned, sqrt(sum));
        bulge.whole = fmax(bulge.whole, fabs(whole));
        bulge.excess = fmax(bulge.excess, size_of(excess));
    }
    return bulge;
}

/* Node 0 of an arc is all of it; the halves of node k are 2k + 1 and 2k + 2. */
static void make_arcs(Pod *pod)
{
    pod->arc_count = (pod->line.count - 1) / ARC;
    pod->ends = check_calloc(pod->arc_count + 1, sizeof *pod->ends);
    pod->bulges = check_calloc(pod->arc_count * ARC_NODES, sizeof *pod->bulges);
    for (size_t arc = 0; arc < pod->arc_count; arc++) {
        size_t node = 0;
        for (size_t length = ARC; length > 1; length /= 2) {
            for (size_t from = 0; from < ARC; from += length) {
                size_t first = arc * ARC + from;
                pod->bulges[arc * ARC_NODES + node++] = bulge_between(pod, first, first + length);
            }
        }
    }
}

/* v at a point of the travel, from the fields that the piece is in there. */
static inline Plane vector_in(const Pod *pod, Vec3 n, size_t i, const CoilFields *f, double whole)
{
    double turned = coil_dot(n, f->receive) * coil_dot(n, f->transmit);
    return (Plane){
        pod->excess_along[i] + pod->across_part.along * whole + pod->more_part.along * turned,
        pod->excess_across[i] + pod->across_part.across * whole + pod->more_part.across * turned};
}

static inline Plane vector_at(const Pod *pod, Vec3 n, size_t i)
{
    return vector_in(pod, n, i, &pod->line.fields[i], pod->line.whole[i]);
}

/* One trial's search for the largest |v|: the largest so far, and where, the lowest place on a
 * tie. */
typedef struct {
    const Pod *pod;
    Vec3 n;
    double across, more; /* sizes of the two parts */
    double largest;      /* |v|^2 */
    double least;        /* |v| that a point has to be able to reach to matter */
    size_t at;
} Search;

/* |v|^2 at a point, which may be the largest. */
static double look_at(Search *search, size_t i)
{
    Plane v = vector_at(search->pod, search->n, i);
    double square = v.along * v.along + v.across * v.across;
    if (square < search->largest * (1.0 - 2.0 * DETECT_TIE)) return square;
    bool ties = search->largest >= square * (1.0 - 2.0 * DETECT_TIE);
    if (!ties || i < search->at) search->at = i;
    if (square <= search->largest) return square;
    search->largest = square;
    double reach = sqrt(square) * (1.0 - BOUND_SLACK);
    if (reach > search->least) search->least = reach;
    return square;
}

/* Look between two points of which |v|^2 is known, unless nothing there can matter. */
static void look_between(Search *search, const Bulge *bulges, size_t node, size_t first,
                         size_t length, double square_first, double square_last)
{
    const Bulge *bulge = &bulges[node];
    double higher = square_first > square_last ? square_first : square_last;
    double missing = search->least -
                     (search->across * bulge->whole + search->more * bulge->turned + bulge->excess);
    if (missing > 0.0 && higher < missing * missing) return;
    size_t half = length / 2;
    double square = look_at(search, first + half);
    if (half == 1) return;
    look_between(search, bulges, 2 * node + 1, first, half, square_first, square);
    look_between(search, bulges, 2 * node + 2, first + half, half, square, square_last);
}

/* The point of the largest |v|, or any where that is below `least`. */
static size_t find_largest(const Pod *pod, Vec3 n, double least)
{
    Search search = {.pod = pod,
                     .n = n,
                     .across = size_of(pod->across_part),
                     .more = size_of(pod->more_part),
                     .least = least * (1.0 - BOUND_SLACK)};
    if (pod->arc_count == 0) {
        for (size_t i = 0; i < pod->line.count; i++) {
            (void)look_at(&search, i);
        }
        return search.at;
    }
    for (size_t arc = 0; arc <= pod->arc_count; arc++) {
        pod->ends[arc] = look_at(&search, arc * ARC);
    }
    for (size_t arc = 0; arc < pod->arc_count; arc++) {
        look_between(&search, &pod->bulges[arc * ARC_NODES], 0, arc * ARC, ARC, pod->ends[arc],
                     pod->ends[arc + 1]);
    }
    return search.at;
}

/* Where the piece is when its |v| is largest, at the description's place or at the middle of those
 * that are drawn. */
static void find_hints(Pod *pod)
{
    for (int k = 0; k < HINT_COUNT; k++) {
        pod->hint_x[k] =
            detect_place(&pod->description->pass.travel, find_largest(pod, HINTS[k], 0.0));
    }
}

/* Whether one of the hints alone decides that the piece is found: |v| above `enough`. */
static bool is_sure(const Pod *pod, Vec3 n, Vec3 place, double enough)
{
    const PassDescription *pass = &pod->description->pass;
    const DetectGrid *grid = &pass->travel;
    const CoilHead *coils = &pass->head.coils;
    for (int k = 0; k < HINT_COUNT; k++) {
        double index = (pod->hint_x[k] - place.x - grid->from_m) / grid->step_m + 0.5;
        if (!(index >= 0.0) || index >= (double)grid->count) continue;
        size_t i = (size_t)index;
        Plane v;
        if (pod->arc_count > 0) {
            v = vector_at(pod, n, i);
        } else {
            Vec3 point = {detect_place(grid, i) + place.x, place.y, place.z};
            CoilFields f = {coil_receive_field(coils, point), coil_transmit_field(coils, point)};
            v = vector_in(pod, n, i, &f, coil_dot(f.receive, f.transmit));
        }
        double square = v.along * v.along + v.across * v.across;
        if (square > enough * enough && isfinite(square)) return true;
    }
    return false;
}

static Vec3 draw_direction(Random *random)
{
    double x = 2.0 * random_unit(random) - 1.0;
    double angle = 2.0 * PI * random_unit(random);
    double side = sqrt(1.0 - x * x);
    return (Vec3){x, side * cos(angle), side * sin(angle)};
}

static Vec3 draw_place(const PassDescription *pass, PodPlace place, Random *random)
{
    if (place == POD_APERTURE) {
        double y = pass->head.coils.aperture_width_m * (random_unit(random) - 0.5);
        double z = pass->head.coils.aperture_height_m * (random_unit(random) - 0.5);
        return (Vec3){0.0, y, z};
    }
    double x = pass->product.length_m * (random_unit(random) - 0.5);
    double y = pass->product.width_m * (random_unit(random) - 0.5);
    double z = pass->product.height_m * (random_unit(random) - 0.5);
    return (Vec3){x, y, pass->product.centre_up_m + z};
}

/* One trial; false when its ratio is beyond the largest number. */
static bool try_once(Pod *pod, Vec3 direction, Random *random, bool *found)
{
    const PodDescription *d = pod->description;
    Vec3 n = direction;
    Vec3 place = {0.0, d->pass.across_m, d->pass.up_m};
    if (d->random_direction && d->pass.target.shape == TARGET_WIRE) n = draw_direction(random);
    if (d->place != POD_FIXED) place = draw_place(&d->pass, d->place, random);
    double deviation[2];
    detect_draw_deviation(random, pod->program.kappa, deviation);
    double apart = size_of((Plane){deviation[0], deviation[1]});
    *found = true;
    if (is_sure(pod, n, place, (1.0 + apart) * (1.0 + BOUND_SLACK))) return true;
    if (d->place != POD_FIXED) take_line(pod, place);
    Plane v = vector_at(pod, n, find_largest(pod, n, 1.0 - apart));
    *found = detect_is_seen(v.along, v.across, deviation);
    return isfinite(v.along) && isfinite(v.across);
}

static Vec3 middle_of(const PodDescription *description)
{
    const PassDescription *pass = &description->pass;
    if (description->place == POD_FIXED) return (Vec3){0.0, pass->across_m, pass->up_m};
    return (Vec3){0.0, 0.0, description->place == POD_PACK ? pass->product.centre_up_m : 0.0};
}

static bool try_all(Pod *pod, const Progress *progress, uint64_t *found, Err *err)
{
    const PodDescription *d = pod->description;
    uint64_t between = d->place == POD_FIXED ? 16384 : 64;
    Random random;
    random_init(&random, d->seed);
    Vec3 direction = {1.0, 0.0, 0.0};
    if (d->pass.target.shape == TARGET_WIRE) direction = target_unit(d->pass.target.direction);
    for (uint64_t i = 0; i < d->trials; i++) {
        if (i % between == 0 && !progress_step(progress, (double)i / (double)d->trials)) {
            return err_set(err, ERR_STOPPED, "stopped");
        }
        bool is_found;
        if (!try_once(pod, direction, &random, &is_found)) {
            return err_set(err, ERR_RANGE,
                           "ratio is beyond the largest number: noise_nv is too small");
        }
        *found += is_found;
    }
    return true;
}

static void pod_clear(Pod *pod)
{
    detect_program_clear(&pod->program);
    free(pod->excess_along);
    free(pod->excess_across);
    free(pod->line.fields);
    free(pod->line.whole);
    free(pod->bulges);
    free(pod->ends);
}

bool pod_compute(const PodDescription *description, const Progress *progress, PodResult *result,
                 Err *err)
{
    const PassDescription *pass = &description->pass;
    CHECK(description->trials >= 1 && description->trials <= POD_TRIALS_MAX);
    CHECK((double)description->trials * (double)pass->travel.count <= POD_WORK_MAX);
    CHECK(description->place != POD_PACK || pass->has_product);
    bool ok = false;
    uint64_t found = 0;
    const ProductBlock *learned = NULL;
    if (pass->has_product) learned = &pass->product;
    if (pass->has_learned) learned = &pass->learned;
    Pod pod = {.description = description, .line = {.count = pass->travel.count}};
    if (description->place == POD_FIXED) {
        pod.line.count = (pass->travel.count + ARC - 2) / ARC * ARC + 1;
    }
    pod.line.fields = check_calloc(pod.line.count, sizeof *pod.line.fields);
    pod.line.whole = check_calloc(pod.line.count, sizeof *pod.line.whole);

    if (!detect_program_init(&pod.program, &pass->head, learned, &pass->travel, err)) goto done;
    prepare_piece(&pod);
    prepare_excess(&pod);
    take_line(&pod, middle_of(description));
    if (description->place == POD_FIXED) make_arcs(&pod);
    find_hints(&pod);
    if (!try_all(&pod, progress, &found, err)) goto done;

    *result = (PodResult){.trials = description->trials,
                          .found = found,
                          .probability = (double)found / (double)description->trials,
                          .interval = chance_interval(found, description->trials, POD_LEVEL)};
    ok = true;
done:
    pod_clear(&pod);
    return ok;
}
