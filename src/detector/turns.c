/* Bounds over a cell: its directions are within `radius` of one, n = n0 + d, so that with the
 * symmetric S = (h_r h_t^T + h_t h_r^T) / 2 of a point
 *
 *     n . S n = n0 . S n0 + 2 d . S n0 + d . S d,    off by at most 2 radius |S n0| + radius^2 |S|
 */
#include "detector/turns.h"

#include <float.h>
#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* The points of the first bounds: the ends of arcs of a few steps, in blocks that every compiler
 * takes two by two. */
enum { BLOCK = 16, FINE_ARC = 8, FINE_COUNT_MAX = 4096, FEW_TRIALS = 50000 };

typedef struct {
    double rx[BLOCK], ry[BLOCK], rz[BLOCK]; /* h_r, 1/m */
    double tx[BLOCK], ty[BLOCK], tz[BLOCK]; /* h_t, 1/m */
    double along[BLOCK], across[BLOCK];     /* all of v but what turns with n, limits */
    double norm[BLOCK];                     /* |S| at most, 1/m^2 */
    double bulge[BLOCK];                    /* of the arcs on both sides, limits */
} NodeBlock;

/* |v| of one block for n0: its size, and how much more there can be nearby in n and in x. */
typedef struct {
    double size[BLOCK], spread[BLOCK];
} NodeSizes;

typedef enum { CELL_NEW, CELL_USELESS, CELL_GOOD } CellState;

/* Of each lobe the point that is looked at, the points from which to which one can be larger, and
 * how much larger and how far away it can be, limits; no such lobe: `larger` is -HUGE_VAL. */
typedef struct {
    CellState state;
    uint32_t at[2], from[2], to[2];
    double larger[2], apart[2];
} Cell;

struct Turns {
    const Sight *sight;
    double more;  /* |more_part| */
    double slack; /* limits */
    double least; /* no left-out point has a larger |v|, limits */
    size_t arc;   /* steps from a node to the next */
    size_t node_count;
    size_t *points; /* of the nodes */
    NodeBlock *blocks;
    NodeSizes *sizes;   /* of the cell that is made */
    int rings, sectors; /* of the half sphere */
    double *verdicts;   /* of each cell: a trial is decided when 1 - deviation[0] is above its size:
                         found with a positive one, missed with a negative one */
    Cell *cells;
};

#define VERDICT_NONE 2.0 /* nothing is above */
#define VERDICT_NEW 3.0

/* cos and sin of `part` turns, 0 <= part < 1, off by less than 1e-15: the nearest quarter is taken
 * off, and Taylor's series does for what is left. Several times as fast as the library's, whose
 * angles may be of any size, and the same bits everywhere. */
static inline void cos_sin(double part, double *cosine, double *sine)
{
    int quarter = (int)(4.0 * part + 0.5);
    double x = 2.0 * PI * (part - 0.25 * quarter);
    double y = x * x;
    double s =
        x + x * y *
                (-1.0 / 6.0 +
                 y * (1.0 / 120.0 +
                      y * (-1.0 / 5040.0 +
                           y * (1.0 / 362880.0 +
                                y * (-1.0 / 39916800.0 +
                                     y * (1.0 / 6227020800.0 + y * (-1.0 / 1307674368000.0)))))));
    double c =
        1.0 +
        y * (-0.5 +
             y * (1.0 / 24.0 +
                  y * (-1.0 / 720.0 +
                       y * (1.0 / 40320.0 +
                            y * (-1.0 / 3628800.0 +
                                 y * (1.0 / 479001600.0 + y * (-1.0 / 87178291200.0 +
                                                               y * (1.0 / 20922789888000.0))))))));
    double first = (quarter & 1) != 0 ? s : c;
    double second = (quarter & 1) != 0 ? c : s;
    *cosine = ((quarter + 1) & 2) != 0 ? -first : first;
    *sine = (quarter & 2) != 0 ? -second : second;
}

Vec3 turns_direction(const double direction[2])
{
    double x = 2.0 * direction[0] - 1.0;
    double side = sqrt(1.0 - x * x);
    double cosine;
    double sine;
    cos_sin(direction[1], &cosine, &sine);
    return (Vec3){x, side * cosine, side * sine};
}

/* The cell of a direction, -n instead of n where x is negative. */
static inline int cell_of(const Turns *turns, const double direction[2])
{
    double x = 2.0 * direction[0] - 1.0;
    double ring = fabs(x) * turns->rings;
    double last = turns->rings - 0.5;
    int sector = (int)(direction[1] * turns->sectors) + (x < 0.0) * (turns->sectors / 2);
    return (int)(ring < last ? ring : last) * turns->sectors + (sector & (turns->sectors - 1));
}

/* The middle of a cell and how far its directions are from it. */
static Vec3 middle_of(const Turns *turns, int cell, double *radius)
{
    int ring = cell / turns->sectors;
    double from = (double)ring / turns->rings;
    double to = (double)(ring + 1) / turns->rings;
    double turn = ((double)(cell % turns->sectors) + 0.5) / turns->sectors;
    double x = 0.5 * (from + to);
    double side = sqrt(1.0 - x * x);
    double c = cos(PI / turns->sectors);
    double first = x * from + side * sqrt(1.0 - from * from) * c;
    double last = x * to + side * sqrt(1.0 - to * to) * c;
    *radius = sqrt(2.0 - 2.0 * fmin(first, last)) * (1.0 + SIGHT_SLACK) + SIGHT_SLACK;
    return (Vec3){x, side * cos(2.0 * PI * turn), side * sin(2.0 * PI * turn)};
}

static double bulge_of(const Turns *turns, size_t point)
{
    const Sight *sight = turns->sight;
    size_t per_arc = SIGHT_ARC / turns->arc;
    size_t node = point / SIGHT_ARC * SIGHT_ARC_NODES + per_arc - 1 + point / turns->arc % per_arc;
    const SightBulge *bulge = &sight->bulges[node];
    return sight_length(sight->across_part) * bulge->whole + turns->more * bulge->turned +
           bulge->excess;
}

/* The sum over the parts of v that does not turn, at a point. */
static SightVector still_at(const Sight *sight, size_t point)
{
    return sight_vector_in(sight, (Vec3){0.0, 0.0, 0.0}, point, &sight->fields[point],
                           sight->whole[point]);
}

static double norm_at(const Sight *sight, size_t point)
{
    const CoilFields *f = &sight->fields[point];
    return sqrt(coil_dot(f->receive, f->receive) * coil_dot(f->transmit, f->transmit));
}

/* Nodes at which no direction gives as much as the least that can matter are left out. */
static void make_nodes(Turns *turns)
{
    const Sight *sight = turns->sight;
    size_t last = sight->count - 1;
    double before = 0.0;
    for (size_t point = 0; point <= last; point += turns->arc) {
        double after = point < last ? bulge_of(turns, point) : 0.0;
        double bulge = fmax(before, after);
        SightVector still = still_at(sight, point);
        double norm = norm_at(sight, point);
        const CoilFields *f = &sight->fields[point];
        before = after;
        if (sight_length(still) + turns->more * norm + bulge <= turns->least) continue;
        size_t k = turns->node_count % BLOCK;
        NodeBlock *block = &turns->blocks[turns->node_count / BLOCK];
        turns->points[turns->node_count++] = point;
        block->rx[k] = f->receive.x;
        block->ry[k] = f->receive.y;
        block->rz[k] = f->receive.z;
        block->tx[k] = f->transmit.x;
        block->ty[k] = f->transmit.y;
        block->tz[k] = f->transmit.z;
        block->along[k] = still.along;
        block->across[k] = still.across;
        block->norm[k] = norm;
        block->bulge[k] = bulge;
    }
}

Turns *turns_new(const Sight *sight, uint64_t trials)
{
    Turns *turns = check_calloc(1, sizeof *turns);
    turns->sight = sight;
    turns->more = sight_length(sight->more_part);
    int rings = trials < FEW_TRIALS ? 16 : 32;
    turns->rings = rings;
    turns->sectors = 4 * rings; /* where x is small a cell is then square */
    turns->arc = sight->count <= FINE_COUNT_MAX ? FINE_ARC : SIGHT_ARC;
    size_t nodes = (sight->count - 1) / turns->arc + 1;
    size_t cells = (size_t)turns->rings * (size_t)turns->sectors;
    turns->points = check_calloc(nodes, sizeof *turns->points);
    turns->blocks = check_calloc(nodes / BLOCK + 1, sizeof *turns->blocks);
    turns->sizes = check_calloc(nodes / BLOCK + 1, sizeof *turns->sizes);
    turns->verdicts = check_calloc(cells, sizeof *turns->verdicts);
    turns->cells = check_calloc(cells, sizeof *turns->cells);
    double largest = 1.0;
    for (size_t i = 0; i < sight->count; i++) {
        SightVector still = still_at(sight, i);
        largest = fmax(largest, sight_length(still) + turns->more * norm_at(sight, i));
    }
    turns->slack = SIGHT_SLACK * largest;
    turns->least = 0.25 - turns->slack;
    if (largest < 1e100) make_nodes(turns); /* else there is none, and every cell is useless */
    for (size_t i = 0; i < cells; i++) {
        turns->verdicts[i] = VERDICT_NEW;
    }
    return turns;
}

void turns_free(Turns *turns)
{
    if (turns == NULL) return;
    free(turns->points);
    free(turns->blocks);
    free(turns->sizes);
    free(turns->verdicts);
    free(turns->cells);
    free(turns);
}

static void size_block(const Turns *turns, Vec3 n, double radius, const NodeBlock *restrict block,
                       NodeSizes *restrict out)
{
    const double along = turns->sight->more_part.along;
    const double across = turns->sight->more_part.across;
    const double more = turns->more;
    for (int k = 0; k < BLOCK; k++) {
        double r = n.x * block->rx[k] + n.y * block->ry[k] + n.z * block->rz[k];
        double t = n.x * block->tx[k] + n.y * block->ty[k] + n.z * block->tz[k];
        double sx = r * block->tx[k] + t * block->rx[k]; /* 2 S n */
        double sy = r * block->ty[k] + t * block->ry[k];
        double sz = r * block->tz[k] + t * block->rz[k];
        double v_along = block->along[k] + along * (r * t);
        double v_across = block->across[k] + across * (r * t);
        out->size[k] = sqrt(v_along * v_along + v_across * v_across);
        out->spread[k] =
            more * radius * (sqrt(sx * sx + sy * sy + sz * sz) + radius * block->norm[k]);
    }
}

/* The least and the largest that the largest |v| is in the cell. */
static void size_nodes(const Turns *turns, Vec3 n, double radius, double *low, double *high)
{
    *low = 0.0;
    *high = turns->least;
    for (size_t from = 0; from < turns->node_count; from += BLOCK) {
        const NodeBlock *block = &turns->blocks[from / BLOCK];
        NodeSizes *sizes = &turns->sizes[from / BLOCK];
        size_block(turns, n, radius, block, sizes);
        for (size_t k = 0; k < BLOCK && from + k < turns->node_count; k++) {
            double spread = sizes->spread[k];
            double most = sizes->size[k] + spread + block->bulge[k];
            double surely = sizes->size[k] - spread;
            *low = surely > *low ? surely : *low;
            *high = most > *high ? most : *high;
        }
    }
}

/* 1 - deviation[0] at which the deviation is `length` long, with the margin that its rounding
 * needs: below 1 by enough to tell, or nothing. */
static double chance_beyond(const Turns *turns, double length)
{
    double times = turns->sight->program.kappa * length;
    double beyond = exp(-0.5 * times * times) * (1.0 + 1e-6);
    return beyond < 1.0 ? fmax(beyond, DBL_MIN) : VERDICT_NONE; /* not 0, which has no sign */
}

static double verdict_of(const Turns *turns, double low, double high)
{
    low -= turns->slack;
    high += turns->slack;
    if (low > 1.0) return chance_beyond(turns, low - 1.0);
    if (high < 1.0) return -chance_beyond(turns, 1.0 - high);
    return VERDICT_NONE;
}

/* 2 S n at a point. */
static Vec3 turning_at(const CoilFields *f, Vec3 n)
{
    double r = coil_dot(n, f->receive);
    double t = coil_dot(n, f->transmit);
    return (Vec3){r * f->transmit.x + t * f->receive.x, r * f->transmit.y + t * f->receive.y,
                  r * f->transmit.z + t * f->receive.z};
}

static Vec3 minus(Vec3 a, Vec3 b)
{
    return (Vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* How differently v turns at two points, at most: |S| of the difference is at most |r_a| |t_a -
 * t_b| + |r_a - r_b| |t_b|. */
static double turns_apart(const Turns *turns, Vec3 n, double radius, size_t a, size_t b)
{
    const CoilFields *at_a = &turns->sight->fields[a];
    const CoilFields *at_b = &turns->sight->fields[b];
    Vec3 turning = minus(turning_at(at_a, n), turning_at(at_b, n));
    Vec3 receive = minus(at_a->receive, at_b->receive);
    Vec3 transmit = minus(at_a->transmit, at_b->transmit);
    double norm = sqrt(coil_dot(at_a->receive, at_a->receive) * coil_dot(transmit, transmit)) +
                  sqrt(coil_dot(receive, receive) * coil_dot(at_b->transmit, at_b->transmit));
    return turns->more * radius * (sqrt(coil_dot(turning, turning)) + radius * norm);
}

/* The cell that is made. */
typedef struct {
    const Turns *turns;
    Vec3 n;
    double radius;
    Cell *cell;
    SightVector v[2]; /* at the cell's two points, for n */
    double spread[2]; /* of each */
} Making;

/* A point that may hold the largest |v|: is it the larger of its lobe, for n? */
static void offer_peak(Making *making, size_t point, int lobe)
{
    SightVector v = sight_vector(making->turns->sight, making->n, point);
    SightVector first = making->v[0];
    bool is_opposite = v.along * first.along + v.across * first.across < 0.0;
    if (lobe == 1 && !is_opposite) return;
    if (!(sight_length(v) > sight_length(making->v[lobe]))) return;
    making->v[lobe] = v;
    making->cell->at[lobe] = (uint32_t)point;
}

/* How much larger |v| can be at this point than at the point of its lobe: with the directions'
 * part of v called m t, |a + m t_a| - |b + m t_b| is at most |m| |t_a - t_b| more than |a + m t_b|
 * - |b + m t_b|, whose slope in t is at most the distance of two unit vectors, and that is at most
 * 2 |a - b| / (|a| + |b|). */
static void bound_point(Making *making, size_t point, int unused)
{
    (void)unused;
    const Turns *turns = making->turns;
    Cell *cell = making->cell;
    SightVector a = sight_vector(turns->sight, making->n, point);
    SightVector first = making->v[0];
    int lobe = a.along * first.along + a.across * first.across < 0.0;
    SightVector b = making->v[lobe];
    double spread = making->spread[lobe];
    double turned = turns_apart(turns, making->n, making->radius, point, cell->at[lobe]);
    double apart = sight_length((SightVector){a.along - b.along, a.across - b.across});
    double least = fmax(0.0, sight_length(a) - spread) + fmax(0.0, sight_length(b) - spread);
    double angle = apart < least ? 2.0 * apart / least : 2.0;
    double larger = sight_length(a) - sight_length(b) + turned + spread * angle + turns->slack;
    cell->larger[lobe] = fmax(cell->larger[lobe], larger);
    if (!(larger >= 0.0)) return;
    cell->apart[lobe] = fmax(cell->apart[lobe], apart + turned);
    if (point < cell->from[lobe]) cell->from[lobe] = (uint32_t)point;
    if (point > cell->to[lobe]) cell->to[lobe] = (uint32_t)point;
}

/* For every point that may hold the largest |v| of a direction of the cell. */
static void for_candidates(Making *making, double low, int lobe,
                           void (*look)(Making *making, size_t point, int lobe))
{
    const Turns *turns = making->turns;
    size_t next = 0;
    for (size_t i = 0; i < turns->node_count; i++) {
        size_t k = i % BLOCK;
        const NodeSizes *sizes = &turns->sizes[i / BLOCK];
        double most = sizes->size[k] + sizes->spread[k] + turns->blocks[i / BLOCK].bulge[k];
        if (most < low) continue;
        size_t point = turns->points[i];
        size_t from = point < turns->arc ? 0 : point - turns->arc + 1;
        size_t end =
            point + turns->arc < turns->sight->count ? point + turns->arc : turns->sight->count;
        for (size_t p = from > next ? from : next; p < end; p++) {
            look(making, p, lobe);
        }
        next = end;
    }
}

static void make_cell(const Turns *turns, int index, Cell *cell)
{
    double radius;
    double low;
    double high;
    Vec3 n = middle_of(turns, index, &radius);
    size_nodes(turns, n, radius, &low, &high);
    cell->state = CELL_USELESS;
    low -= turns->slack;
    if (!(low > turns->least + turns->slack)) return; /* what was left out may be the largest */
    Making making = {.turns = turns, .n = n, .radius = radius, .cell = cell};
    cell->state = CELL_GOOD;
    for (int lobe = 0; lobe < 2; lobe++) {
        cell->larger[lobe] = -HUGE_VAL;
        for_candidates(&making, low, lobe, offer_peak);
        size_t at = cell->at[lobe];
        cell->from[lobe] = cell->at[lobe];
        cell->to[lobe] = cell->at[lobe];
        Vec3 turning = turning_at(&turns->sight->fields[at], n);
        making.spread[lobe] =
            turns->more * radius *
            (sqrt(coil_dot(turning, turning)) + radius * norm_at(turns->sight, at));
    }
    for_candidates(&making, low, 0, bound_point);
}

static double make_verdict(const Turns *turns, int index)
{
    double radius;
    double low;
    double high;
    Vec3 n = middle_of(turns, index, &radius);
    size_nodes(turns, n, radius, &low, &high);
    return verdict_of(turns, low, high);
}

/* A trial that the table leaves open. */
typedef struct {
    const TurnsLuck *luck;
    int cell;
    Vec3 n;
    double length; /* of the deviation, limits */
} Open;

/* What the two points of the cell decide: found, missed, or nothing yet; then *lobe is the one that
 * has the largest |v|, or 2 when it may be either. */
typedef enum { LOOK_ON, LOOK_FOUND, LOOK_MISSED } Decision;

static Decision decide_by_lobes(const Turns *turns, const Cell *cell, const Open *open, int *lobe)
{
    double slack = turns->slack;
    SightVector v[2] = {sight_vector(turns->sight, open->n, cell->at[0]),
                        sight_vector(turns->sight, open->n, cell->at[1])};
    double size[2] = {sight_length(v[0]), sight_length(v[1])};
    double most[2] = {size[0] + cell->larger[0], size[1] + cell->larger[1]};
    int larger = size[1] > size[0];
    *lobe = 2;
    if (size[larger] > 1.0 + open->length + slack) return LOOK_FOUND;
    if (fmax(most[0], most[1]) < 1.0 - open->length - slack) return LOOK_MISSED;
    if (!(size[larger] > most[1 - larger] + slack)) return LOOK_ON;
    *lobe = larger;
    double cosine;
    double sine;
    cos_sin(open->luck->deviation[1], &cosine, &sine);
    double seen = sight_length((SightVector){v[larger].along + open->length * cosine,
                                             v[larger].across + open->length * sine});
    if (fabs(seen - 1.0) <= cell->apart[larger] + slack) return LOOK_ON;
    return seen > 1.0 ? LOOK_FOUND : LOOK_MISSED;
}

/* Where |v| is largest of what the cell leaves. */
static SightVector look_within(const Turns *turns, const Open *open, int lobe)
{
    const Sight *sight = turns->sight;
    const Cell *cell = &turns->cells[open->cell];
    if (cell->state != CELL_GOOD) {
        return sight_vector(sight, open->n, sight_largest(sight, open->n, 1.0 - open->length));
    }
    int first = cell->at[1] < cell->at[0]; /* the lobe of lower x, for a tie */
    SightVector best = {0.0, 0.0};
    for (int i = 0; i < 2; i++) {
        int this = i == 0 ? first : 1 - first;
        if (this == 1 - lobe) continue;
        size_t at = sight_largest_of(sight, open->n, cell->from[this], cell->to[this]);
        SightVector v = sight_vector(sight, open->n, at);
        if (sight_length(v) > sight_length(best) * (1.0 + DETECT_TIE)) best = v;
    }
    return best;
}

static bool try_closely(Turns *turns, const Open *open, bool *found)
{
    Cell *cell = &turns->cells[open->cell];
    int lobe = 2;
    if (cell->state == CELL_NEW) make_cell(turns, open->cell, cell);
    if (cell->state == CELL_GOOD) {
        Decision decision = decide_by_lobes(turns, cell, open, &lobe);
        *found = decision == LOOK_FOUND;
        if (decision != LOOK_ON) return true;
    }
    double kappa = turns->sight->program.kappa;
    double deviation[2];
    random_normals_of(open->luck->deviation, &deviation[0], &deviation[1]);
    deviation[0] /= kappa;
    deviation[1] /= kappa;
    SightVector v = look_within(turns, open, lobe);
    *found = detect_is_seen(v.along, v.across, deviation);
    return isfinite(v.along) && isfinite(v.across);
}

/* Decide what the table decides, and list the others; no branch waits for a verdict. */
static size_t try_quickly(const Turns *turns, const TurnsLuck *luck, size_t count,
                          uint16_t others[TURNS_MAX], uint64_t *found)
{
    uint64_t sum = 0;
    size_t other_count = 0;
    for (size_t i = 0; i < count; i++) {
        double verdict = turns->verdicts[cell_of(turns, luck[i].direction)];
        bool decided = 1.0 - luck[i].deviation[0] > fabs(verdict);
        others[other_count] = (uint16_t)i;
        other_count += !decided;
        sum += (unsigned)decided & (unsigned)(verdict > 0.0);
    }
    *found += sum;
    return other_count;
}

static bool is_decided(double verdict, const TurnsLuck *luck)
{
    return 1.0 - luck->deviation[0] > fabs(verdict);
}

/* Keep of the others what a verdict made now does not decide either, with all that is to be
 * computed of each: in a loop of its own, where one need not wait for the other. */
static size_t prepare_others(Turns *turns, const TurnsLuck *luck, const uint16_t *others,
                             size_t count, Open opens[TURNS_MAX], uint64_t *found)
{
    double by = 1.0 / turns->sight->program.kappa;
    size_t open_count = 0;
    for (size_t k = 0; k < count; k++) {
        const TurnsLuck *one = &luck[others[k]];
        int cell = cell_of(turns, one->direction);
        if (turns->verdicts[cell] >= VERDICT_NEW) {
            turns->verdicts[cell] = make_verdict(turns, cell);
            if (is_decided(turns->verdicts[cell], one)) {
                *found += turns->verdicts[cell] > 0.0;
                continue;
            }
        }
        double length = sqrt(-2.0 * log(1.0 - one->deviation[0])) * by;
        opens[open_count++] = (Open){one, cell, turns_direction(one->direction), length};
    }
    return open_count;
}

bool turns_try(Turns *turns, const TurnsLuck *luck, size_t count, uint64_t *found)
{
    CHECK(count <= TURNS_MAX);
    uint16_t others[TURNS_MAX];
    Open opens[TURNS_MAX];
    size_t other_count = try_quickly(turns, luck, count, others, found);
    size_t open_count = prepare_others(turns, luck, others, other_count, opens, found);
    for (size_t k = 0; k < open_count; k++) {
        bool is_found;
        if (!try_closely(turns, &opens[k], &is_found)) return false;
        *found += is_found;
    }
    return true;
}
