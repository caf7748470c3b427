/* Which points of a travel can hold the largest |v|: only those are looked at. */
#include "detector/sight.h"

#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

static SightVector in_limits(const Sight *sight, double complex polarizability)
{
    double wmu0 = 2.0 * PI * sight->pass->head.frequency_hz * TARGET_MU0_H_PER_M;
    double complex signal =
        target_complex(-wmu0 * cimag(polarizability), wmu0 * creal(polarizability));
    SightVector v = {0.0, 0.0};
    detect_add_in_limits(&sight->program, &signal, 1, &v.along, &v.across);
    return v;
}

static void prepare_piece(Sight *sight)
{
    TargetPiece piece = sight->pass->target;
    piece.direction = (Vec3){1.0, 0.0, 0.0};
    TargetTensor tensor = target_polarizability(&piece, sight->pass->head.frequency_hz);
    sight->across_part = in_limits(sight, tensor.yy);
    sight->more_part = in_limits(sight, tensor.xx - tensor.yy);
}

static void prepare_excess(Sight *sight)
{
    const PassDescription *pass = sight->pass;
    size_t count = pass->travel.count;
    sight->excess_along = check_calloc(sight->count, sizeof *sight->excess_along);
    sight->excess_across = check_calloc(sight->count, sizeof *sight->excess_across);
    sight->has_excess = pass->has_product && pass->has_learned;
    if (!sight->has_excess) return; /* as learned, or nothing there */
    double complex *today = check_calloc(count, sizeof *today);
    detect_product_signal(&pass->head, &pass->product, &pass->travel, today);
    detect_excess(&sight->program, today, count, sight->excess_along, sight->excess_across);
    free(today);
    for (size_t i = count; i < sight->count; i++) {
        sight->excess_along[i] = sight->excess_along[count - 1];
        sight->excess_across[i] = sight->excess_across[count - 1];
    }
}

static void hold_line(Sight *sight, Vec3 place)
{
    const PassDescription *pass = sight->pass;
    size_t count = pass->travel.count;
    sight->fields = check_calloc(sight->count, sizeof *sight->fields);
    sight->whole = check_calloc(sight->count, sizeof *sight->whole);
    coil_fields_along(&pass->head.coils, place.y, place.z, pass->travel.from_m + place.x,
                      pass->travel.step_m, count, sight->fields);
    for (size_t i = count; i < sight->count; i++) {
        sight->fields[i] = sight->fields[count - 1];
    }
    for (size_t i = 0; i < sight->count; i++) {
        sight->whole[i] = coil_dot(sight->fields[i].receive, sight->fields[i].transmit);
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
static SightBulge bulge_between(const Sight *sight, size_t first, size_t last)
{
    double ends[2][6];
    SightBulge bulge = {0.0, 0.0, 0.0};
    turned_parts(&sight->fields[first], ends[0]);
    turned_parts(&sight->fields[last], ends[1]);
    for (size_t i = first + 1; i < last; i++) {
        double b = (double)(i - first) / (double)(last - first);
        double a = 1.0 - b;
        double parts[6];
        double sum = 0.0;
        turned_parts(&sight->fields[i], parts);
        for (int k = 0; k < 6; k++) {
            double off = parts[k] - a * ends[0][k] - b * ends[1][k];
            sum += (k < 3 ? 1.0 : 2.0) * off * off;
        }
        double whole = sight->whole[i] - a * sight->whole[first] - b * sight->whole[last];
        bulge.turned = fmax(bulge.turned, sum);
        bulge.whole = fmax(bulge.whole, fabs(whole));
        if (!sight->has_excess) continue;
        SightVector excess = {sight->excess_along[i] - a * sight->excess_along[first] -
                                  b * sight->excess_along[last],
                              sight->excess_across[i] - a * sight->excess_across[first] -
                                  b * sight->excess_across[last]};
        bulge.excess = fmax(bulge.excess, sight_length(excess));
    }
    bulge.turned = sqrt(bulge.turned);
    return bulge;
}

static void make_arcs(Sight *sight)
{
    sight->arc_count = (sight->count - 1) / SIGHT_ARC;
    sight->ends = check_calloc(sight->arc_count + 1, sizeof *sight->ends);
    sight->bulges = check_calloc(sight->arc_count * SIGHT_ARC_NODES, sizeof *sight->bulges);
    for (size_t arc = 0; arc < sight->arc_count; arc++) {
        size_t node = arc * SIGHT_ARC_NODES;
        for (size_t length = SIGHT_ARC; length > 1; length /= 2) {
            for (size_t from = 0; from < SIGHT_ARC; from += length) {
                size_t first = arc * SIGHT_ARC + from;
                sight->bulges[node++] = bulge_between(sight, first, first + length);
            }
        }
    }
}

bool sight_init(Sight *sight, const PassDescription *pass, Vec3 place, Err *err)
{
    const ProductBlock *learned = NULL;
    if (pass->has_product) learned = &pass->product;
    if (pass->has_learned) learned = &pass->learned;
    sight->pass = pass;
    sight->count = (pass->travel.count + SIGHT_ARC - 2) / SIGHT_ARC * SIGHT_ARC + 1;
    if (!detect_program_init(&sight->program, &pass->head, learned, &pass->travel, err)) {
        return false;
    }
    prepare_piece(sight);
    prepare_excess(sight);
    hold_line(sight, place);
    make_arcs(sight);
    return true;
}

void sight_clear(Sight *sight)
{
    if (sight == NULL) return;
    detect_program_clear(&sight->program);
    free(sight->excess_along);
    free(sight->excess_across);
    free(sight->fields);
    free(sight->whole);
    free(sight->bulges);
    free(sight->ends);
    *sight = (Sight){0};
}

/* A search for the largest |v|: the largest so far, and where, the lowest place on a tie. */
typedef struct {
    const Sight *sight;
    Vec3 n;
    double across, more; /* sizes of the two parts */
    double largest;      /* |v|^2 */
    double least;        /* |v| that a point has to be able to reach to matter */
    size_t at;
    SightVector v; /* there */
} Search;

/* |v|^2 at a point, which may be the largest. */
static double consider(Search *search, size_t i, SightVector v)
{
    double square = v.along * v.along + v.across * v.across;
    if (square < search->largest * (1.0 - 2.0 * DETECT_TIE)) return square;
    bool ties = search->largest >= square * (1.0 - 2.0 * DETECT_TIE);
    if (!ties || i <= search->at) {
        search->at = i;
        search->v = v;
    }
    if (square <= search->largest) return square;
    search->largest = square;
    double reach = sqrt(square) * (1.0 - SIGHT_SLACK);
    if (reach > search->least) search->least = reach;
    return square;
}

static double look_at(Search *search, size_t i)
{
    return consider(search, i, sight_vector(search->sight, search->n, i));
}

/* Look between two points of which |v|^2 is known, unless nothing there can matter. */
static void look_between(Search *search, const SightBulge *bulges, size_t node, size_t first,
                         size_t length, double square_first, double square_last)
{
    const SightBulge *bulge = &bulges[node];
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

size_t sight_largest(const Sight *sight, Vec3 n, double least)
{
    Search search = {.sight = sight,
                     .n = n,
                     .across = sight_length(sight->across_part),
                     .more = sight_length(sight->more_part),
                     .least = least * (1.0 - SIGHT_SLACK)};
    for (size_t arc = 0; arc <= sight->arc_count; arc++) {
        sight->ends[arc] = look_at(&search, arc * SIGHT_ARC);
    }
    for (size_t arc = 0; arc < sight->arc_count; arc++) {
        look_between(&search, &sight->bulges[arc * SIGHT_ARC_NODES], 0, arc * SIGHT_ARC, SIGHT_ARC,
                     sight->ends[arc], sight->ends[arc + 1]);
    }
    return search.at;
}

/* Each point is looked at. */
static size_t largest_of_all(const Sight *sight, Vec3 n, size_t first, size_t last)
{
    size_t at = first;
    double largest = 0.0;
    for (size_t i = first; i <= last; i++) {
        SightVector v = sight_vector(sight, n, i);
        double square = v.along * v.along + v.across * v.across;
        if (largest < square * (1.0 - 2.0 * DETECT_TIE)) at = i;
        largest = square > largest ? square : largest;
    }
    return at;
}

/* Of many by the smallest arcs that the range fills or touches. */
size_t sight_largest_of(const Sight *sight, Vec3 n, size_t first, size_t last)
{
    const size_t arc = 8;
    if (last - first < 4 * arc) return largest_of_all(sight, n, first, last);
    Search search = {.sight = sight,
                     .n = n,
                     .across = sight_length(sight->across_part),
                     .more = sight_length(sight->more_part)};
    size_t from = first / arc * arc;
    size_t to = from;
    search.at = from;
    double before = look_at(&search, from);
    while (to < last) {
        to += arc;
        (void)look_at(&search, to);
    }
    for (size_t i = from; i < to; i += arc) {
        const SightBulge *bulges = &sight->bulges[i / SIGHT_ARC * SIGHT_ARC_NODES];
        double after = look_at(&search, i + arc);
        look_between(&search, bulges, SIGHT_ARC / arc - 1 + i % SIGHT_ARC / arc, i, arc, before,
                     after);
        before = after;
    }
    return search.at;
}

/* Points of the travel, for a piece at a place of its own. */
enum { POINTS_MAX = 64 };

typedef struct {
    size_t count;
    size_t at[POINTS_MAX];
} Points;

static void consider_points(Search *search, Vec3 place, const Points *points)
{
    const PassDescription *pass = search->sight->pass;
    CoilFields fields[POINTS_MAX];
    double x[POINTS_MAX];
    for (size_t i = 0; i < points->count; i++) {
        x[i] = detect_place(&pass->travel, points->at[i]) + place.x;
    }
    coil_fields(&pass->head.coils, place.y, place.z, x, points->count, fields);
    for (size_t i = 0; i < points->count; i++) {
        double whole = coil_dot(fields[i].receive, fields[i].transmit);
        SightVector v = sight_vector_in(search->sight, search->n, points->at[i], &fields[i], whole);
        (void)consider(search, points->at[i], v);
    }
}

static SightVector look_at_all(const Sight *sight, Vec3 place, Vec3 n)
{
    size_t count = sight->pass->travel.count;
    Search search = {.sight = sight, .n = n, .at = count};
    Points points = {0};
    for (size_t i = 0; i < count; i++) {
        points.at[points.count++] = i;
        if (points.count < POINTS_MAX && i + 1 < count) continue;
        consider_points(&search, place, &points);
        points.count = 0;
    }
    return search.v;
}

/* Strides to both sides of the transmitter. */
#define FAR_PART 3.0     /* of the distance to the nearest wire; and twice as far if need be */
#define PEAK_PART 0.81   /* of the largest |v|^2, that another peak has to reach to count */
#define POINT_PART 0.94  /* of a stride's |v|^2, that the travel's point next to it surely has */
#define PEAK_STRIDES 0.4 /* from where a parabola's peak is, that |v|'s own peak is looked for */

typedef struct {
    double step_m;
    int count;                                /* to one side */
    double squares[2 * COIL_STRIDES_MAX + 1]; /* |v|^2 at each */
    int at;                                   /* of the largest */
    SightVector v;                            /* there */
} Strides;

/* Of a length; 0 of a negative one, which nothing is below. */
static double square_of(double length)
{
    return length > 0.0 ? length * length : 0.0;
}

/* False when strides are no use: hardly longer than the travel's steps, too many, the largest at an
 * end, or what lies farther out not surely below it or below `least`. */
static bool stride(const Sight *sight, Vec3 place, Vec3 n, double least, double far_part,
                   Strides *strides)
{
    const CoilHead *coils = &sight->pass->head.coils;
    CoilFields fields[2 * COIL_STRIDES_MAX + 1];
    size_t one_side;
    if (!coil_strides(coils, place.y, place.z, far_part, &strides->step_m, &one_side)) return false;
    if (!(strides->step_m > 2.0 * sight->pass->travel.step_m)) return false;
    strides->count = (int)one_side;
    int count = 2 * strides->count + 1;
    coil_fields_along(coils, place.y, place.z, -strides->count * strides->step_m, strides->step_m,
                      (size_t)count, fields);
    double largest = -1.0;
    for (int i = 0; i < count; i++) {
        double whole = coil_dot(fields[i].receive, fields[i].transmit);
        SightVector v = sight_vector_in(sight, n, 0, &fields[i], whole);
        strides->squares[i] = v.along * v.along + v.across * v.across;
        if (!(strides->squares[i] > largest)) continue;
        largest = strides->squares[i];
        strides->at = i;
        strides->v = v;
    }
    double parts = sight_length(sight->across_part) + sight_length(sight->more_part);
    double beyond = 0.0;
    for (int i = 0; i < count; i += count - 1) {
        const CoilFields *f = &fields[i];
        double norm = coil_dot(f->receive, f->receive) * coil_dot(f->transmit, f->transmit);
        beyond = fmax(beyond, parts * parts * norm);
    }
    return strides->at > 0 && strides->at + 1 < count && isfinite(largest) &&
           beyond < PEAK_PART * fmax(largest, square_of(least));
}

/* The points of the travel around a peak among the strides; false when there are too many, or when
 * the travel begins or ends there. */
static bool add_peak(const Sight *sight, Vec3 place, const Strides *strides, int i, Points *points)
{
    const DetectGrid *grid = &sight->pass->travel;
    double before = strides->squares[i - 1];
    double after = strides->squares[i + 1];
    double bend = before + after - 2.0 * strides->squares[i];
    double off = bend < 0.0 ? 0.5 * (before - after) / bend : 0.0;
    double middle = ((i - strides->count + off) * strides->step_m - place.x - grid->from_m);
    double from = ceil((middle - PEAK_STRIDES * strides->step_m) / grid->step_m) - 1.0;
    double to = floor((middle + PEAK_STRIDES * strides->step_m) / grid->step_m) + 1.0;
    if (!(from >= 0.0 && to < (double)grid->count)) return false;
    if (!(to - from < (double)(POINTS_MAX - points->count))) return false;
    for (size_t at = (size_t)from; at <= (size_t)to; at++) {
        points->at[points->count++] = at;
    }
    return true;
}

/* Whether a point is the first or the last of a run of neighbours. */
static bool is_at_end(const Points *points, size_t at)
{
    for (size_t i = 0; i < points->count; i++) {
        if (points->at[i] != at) continue;
        bool is_first = i == 0 || points->at[i - 1] + 1 != at;
        return is_first || i + 1 == points->count || points->at[i + 1] != at + 1;
    }
    return true;
}

SightVector sight_through(const Sight *sight, Vec3 place, Vec3 n, double least, double enough)
{
    Strides strides;
    if (sight->has_excess || (!stride(sight, place, n, least, FAR_PART, &strides) &&
                              !stride(sight, place, n, least, 2.0 * FAR_PART, &strides))) {
        return look_at_all(sight, place, n);
    }
    double largest = strides.squares[strides.at];
    bool decides = largest < PEAK_PART * square_of(least) || POINT_PART * largest > enough * enough;
    Points points = {0};
    for (int i = 1; i < 2 * strides.count; i++) {
        double square = strides.squares[i];
        bool is_peak = square >= strides.squares[i - 1] && square >= strides.squares[i + 1];
        if (!is_peak || square < PEAK_PART * largest) continue;
        if (!add_peak(sight, place, &strides, i, &points)) return look_at_all(sight, place, n);
    }
    if (decides) return strides.v;
    Search search = {.sight = sight, .n = n, .at = sight->pass->travel.count};
    consider_points(&search, place, &points);
    return is_at_end(&points, search.at) ? look_at_all(sight, place, n) : search.v;
}
