/* Bounds over a cell: its directions are within `radius` of one, n = n0 + d, so that with the
 * symmetric S = (h_r h_t^T + h_t h_r^T) / 2 of a point
 *
 *     n . S n = n0 . S n0 + 2 d . S n0 + d . S d,    off by at most 2 radius |S n0| + radius^2 |S|
 *
 * They are taken at nodes, some points apart, and hold between nodes with what SightBulge adds. A
 * cell hands on to its halves only the nodes that may be next to the largest |v|, and when they are
 * few, the points between them.
 */
#include "detector/turns.h"

#include <stdlib.h>

#include "base/check.h"

#define PI 3.14159265358979323846

/* The library's fmax and fmin are calls. */
static inline double larger(double a, double b)
{
    return a > b ? a : b;
}

static inline double smaller(double a, double b)
{
    return a < b ? a : b;
}

/* Nodes are in blocks that every compiler takes two by two. */
enum { BLOCK = 8, FEW_NODES = 16, FIRST_ARC_BITS = 3, LAST_ARC_BITS = 1, FIRST_COUNT = 1024 };

/* The grid of the smallest cells, of equal solid angle: rings in x, and sectors around it, so many
 * that a cell is square where x is small. Halving starts with larger ones. */
enum {
    RING_BITS = 6,
    SECTOR_BITS = 8,
    RINGS = 1 << RING_BITS,
    SECTORS = 1 << SECTOR_BITS,
    CELLS = RINGS * SECTORS,
    FIRST_RINGS = RINGS / 4,
    FIRST_SECTORS = SECTORS / 8,
    LEVELS = RING_BITS - 2 + SECTOR_BITS - 3 + 1 /* of halves, the first too */
};

/* What is worth its time: to halve a cell, as many trials that it then does not leave open; to
 * find its peaks, as many that it does. */
#define WORTH_HALVES 10.0
#define WORTH_PEAKS 0.5

typedef struct {
    double rx[BLOCK], ry[BLOCK], rz[BLOCK]; /* h_r, 1/m */
    double tx[BLOCK], ty[BLOCK], tz[BLOCK]; /* h_t, 1/m */
    double along[BLOCK], across[BLOCK];     /* all of v but what turns with n, limits */
    double norm[BLOCK];                     /* |S| at most, 1/m^2 */
    double bulge[BLOCK];                    /* of the arcs on both sides, limits */
    uint32_t point[BLOCK];
} NodeBlock;

/* A block for n0: v, its size, how much that can differ in the cell, how large it can be next to
 * the node, and 2 S n0. */
typedef struct {
    double along[BLOCK], across[BLOCK];
    double size[BLOCK], spread[BLOCK], most[BLOCK];
    double sx[BLOCK], sy[BLOCK], sz[BLOCK];
} NodeSizes;

/* Nodes, in the order of x. All zeros: no room yet. */
typedef struct {
    int arc_bits; /* 1 << arc_bits points from one to the next, where none is left out */
    size_t count;
    size_t block_count;
    NodeBlock *blocks;
    NodeSizes *sizes; /* in the cell that is made */
} Nodes;

/* Points next to each other of which one can have the largest |v|: one of them that is looked at,
 * how much larger |v| can be at the others, how far v can be from there in all, and, times |v|, to
 * the side of it. */
typedef struct {
    uint32_t at, from, to;
    double larger, apart, aside; /* limits */
} Peak;

enum { PEAKS_MAX = 8 };

/* The peaks of a cell, in the order of x; none: nothing is known. */
typedef struct {
    uint32_t first_peak, peak_count;
} Cell;

struct Turns {
    const Sight *sight;
    double trials;
    double across, more;                /* |across_part|, |more_part| */
    SightVector way;                    /* of more_part, of length 1 */
    double slack;                       /* limits */
    SightVector *still;                 /* at each point, what of v does not turn, limits */
    double *norms;                      /* at each point, |S| at most, 1/m^2 */
    double *beside[SIGHT_ARC_BITS + 1]; /* by bits: the bulge of the arcs at both sides of a node */
    Nodes levels[LEVELS];               /* of the cells that are made, one halving a level */
    double around[SECTORS][2];          /* cos and sin of the middle of each sector */
    size_t peak_count, peak_room;
    Peak *peaks;
    Cell cells[CELLS];            /* of the grid */
    uint16_t verdicts[2 * CELLS]; /* of the grid, and of -n before it */
};

/* A verdict decides a trial when the first 16 bits of its deviation's first number are below it:
 * found when it is odd, missed when it is even. The deviation is then short enough. */

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
    const double both[2] = {c, s}; /* no branch, as none could be foretold */
    static const double SIGNS[2] = {1.0, -1.0};
    *cosine = both[quarter & 1] * SIGNS[(quarter + 1) >> 1 & 1];
    *sine = both[~quarter & 1] * SIGNS[quarter >> 1 & 1];
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

/* The grid's cell of a direction, -n instead of n where x is negative. On the edge of two either
 * will do. */
static inline size_t index_of(uint64_t first, uint64_t second)
{
    uint64_t negative = (first >> 63) - 1; /* all bits, or none */
    uint64_t ring = (first ^ negative) << 1 >> (64 - RING_BITS);
    uint64_t sector = (second ^ (negative << 63)) >> (64 - SECTOR_BITS);
    return (size_t)(ring << SECTOR_BITS | sector);
}

/* A cell while it is made: its part of the grid, and the directions there. */
typedef struct {
    int ring, ring_count, sector, sector_count;
    Vec3 n;        /* in the middle */
    double radius; /* no direction is further from it */
    bool is_tall;  /* more along x than around it */
} Patch;

static void measure(Patch *patch)
{
    double from = (double)patch->ring / RINGS;
    double to = (double)(patch->ring + patch->ring_count) / RINGS;
    double x = 0.5 * (from + to);
    double side = sqrt(1.0 - x * x);
    double half = 0.5 * patch->sector_count;
    double cosine;
    double sine;
    cos_sin(half / SECTORS, &cosine, &sine);
    double first = sqrt(1.0 - from * from);
    double last = sqrt(1.0 - to * to);
    double nearness = smaller(x * from + side * first * cosine, x * to + side * last * cosine);
    double height = to - from; /* the chord is the hypotenuse */
    patch->is_tall =
        height * height + (first - last) * (first - last) > 4.0 * side * side * sine * sine;
    patch->radius = sqrt(2.0 - 2.0 * nearness) * (1.0 + SIGHT_SLACK) + SIGHT_SLACK;
    cos_sin((patch->sector + half) / SECTORS, &cosine, &sine);
    patch->n = (Vec3){x, side * cosine, side * sine};
}

/* Empty, with room for so many. */
static void empty_nodes(Nodes *nodes, size_t count_max, int arc_bits)
{
    size_t block_count = count_max / BLOCK + 1;
    if (block_count > nodes->block_count) {
        free(nodes->blocks);
        free(nodes->sizes);
        nodes->blocks = check_calloc(block_count, sizeof *nodes->blocks);
        nodes->sizes = check_calloc(block_count, sizeof *nodes->sizes);
        nodes->block_count = block_count;
    }
    nodes->arc_bits = arc_bits;
    nodes->count = 0;
}

static void add_node(const Turns *turns, size_t point, Nodes *nodes)
{
    const CoilFields *f = &turns->sight->fields[point];
    size_t k = nodes->count % BLOCK;
    NodeBlock *block = &nodes->blocks[nodes->count++ / BLOCK];
    block->rx[k] = f->receive.x;
    block->ry[k] = f->receive.y;
    block->rz[k] = f->receive.z;
    block->tx[k] = f->transmit.x;
    block->ty[k] = f->transmit.y;
    block->tz[k] = f->transmit.z;
    block->along[k] = turns->still[point].along;
    block->across[k] = turns->still[point].across;
    block->norm[k] = turns->norms[point];
    block->bulge[k] = turns->beside[nodes->arc_bits][point >> nodes->arc_bits];
    block->point[k] = (uint32_t)point;
}

static void size_block(const Turns *turns, const Patch *patch, const NodeBlock *restrict block,
                       NodeSizes *restrict out)
{
    const double along = turns->sight->more_part.along;
    const double across = turns->sight->more_part.across;
    const double radius = patch->radius;
    const double by = turns->more * radius;
    const Vec3 n = patch->n;
    for (int k = 0; k < BLOCK; k++) {
        double r = n.x * block->rx[k] + n.y * block->ry[k] + n.z * block->rz[k];
        double t = n.x * block->tx[k] + n.y * block->ty[k] + n.z * block->tz[k];
        double sx = r * block->tx[k] + t * block->rx[k];
        double sy = r * block->ty[k] + t * block->ry[k];
        double sz = r * block->tz[k] + t * block->rz[k];
        double v_along = block->along[k] + along * (r * t);
        double v_across = block->across[k] + across * (r * t);
        out->along[k] = v_along;
        out->across[k] = v_across;
        double size = sqrt(v_along * v_along + v_across * v_across);
        double spread = by * (sqrt(sx * sx + sy * sy + sz * sz) + radius * block->norm[k]);
        out->size[k] = size;
        out->spread[k] = spread;
        out->most[k] = size + spread + block->bulge[k];
        out->sx[k] = sx;
        out->sy[k] = sy;
        out->sz[k] = sz;
    }
}

/* The least and the largest that the largest |v| is in the cell, and what it is for n0. */
typedef struct {
    double low, high, middle;
} Sizes;

static Sizes size_nodes(const Turns *turns, const Patch *patch, const Nodes *nodes)
{
    Sizes all = {0.0, 0.0, 0.0};
    for (size_t from = 0; from < nodes->count; from += BLOCK) {
        NodeSizes *sizes = &nodes->sizes[from / BLOCK];
        size_block(turns, patch, &nodes->blocks[from / BLOCK], sizes);
        for (size_t k = 0; k < BLOCK && from + k < nodes->count; k++) {
            double size = sizes->size[k];
            double most = sizes->most[k];
            double surely = size - sizes->spread[k];
            all.low = surely > all.low ? surely : all.low;
            all.high = most > all.high ? most : all.high;
            all.middle = size > all.middle ? size : all.middle;
        }
    }
    all.low -= turns->slack;
    all.high += turns->slack;
    return all;
}

/* The share of the trials whose deviation is as long as `gap`, which may be below 0: all. With the
 * margin that its rounding needs. */
static double share_beyond(const Turns *turns, double gap)
{
    double times = turns->sight->program.kappa * gap;
    return gap > 0.0 ? smaller(1.0, exp(-0.5 * times * times) * (1.0 + 1e-6)) : 1.0;
}

static uint16_t verdict_of(double share, bool found)
{
    unsigned below = (unsigned)((1.0 - share) * UINT16_MAX);
    return (uint16_t)(below < 2 ? 0 : ((below - 1) & ~1u) | found);
}

/* One node of the cell that is made. */
typedef struct {
    size_t point;
    SightVector v;
    Vec3 turning; /* 2 S n0 */
    double size, spread, bulge;
} Node;

static Node node_of(const Nodes *nodes, size_t index)
{
    const NodeBlock *block = &nodes->blocks[index / BLOCK];
    const NodeSizes *sizes = &nodes->sizes[index / BLOCK];
    size_t k = index % BLOCK;
    return (Node){.point = block->point[k],
                  .v = {sizes->along[k], sizes->across[k]},
                  .turning = {sizes->sx[k], sizes->sy[k], sizes->sz[k]},
                  .size = sizes->size[k],
                  .spread = sizes->spread[k],
                  .bulge = block->bulge[k]};
}

/* Whether the largest |v| may be next to a node. */
static inline bool may_be_largest(const Nodes *nodes, size_t index, double low)
{
    return nodes->sizes[index / BLOCK].most[index % BLOCK] >= low;
}

static inline double size_at(const Nodes *nodes, size_t index)
{
    return nodes->sizes[index / BLOCK].size[index % BLOCK];
}

static Vec3 minus(Vec3 a, Vec3 b)
{
    return (Vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

/* How differently v turns at two nodes, at most: |S| of the difference is at most |r_a| |t_a -
 * t_b| + |r_a - r_b| |t_b|. */
static double turns_apart(const Turns *turns, const Patch *patch, const Node *a, const Node *b)
{
    const CoilFields *at_a = &turns->sight->fields[a->point];
    const CoilFields *at_b = &turns->sight->fields[b->point];
    Vec3 turning = minus(a->turning, b->turning);
    Vec3 receive = minus(at_a->receive, at_b->receive);
    Vec3 transmit = minus(at_a->transmit, at_b->transmit);
    double norm = sqrt(coil_dot(at_a->receive, at_a->receive) * coil_dot(transmit, transmit)) +
                  sqrt(coil_dot(receive, receive) * coil_dot(at_b->transmit, at_b->transmit));
    double radius = patch->radius;
    return turns->more * radius * (sqrt(coil_dot(turning, turning)) + radius * norm);
}

/* How far v at a node can be from v at another, in the cell: in all, and times |v| there, to its
 * side. */
typedef struct {
    double apart, aside;
} Distance;

static double cross(SightVector a, SightVector b)
{
    return fabs(a.along * b.across - a.across * b.along);
}

/* Of the part that turns, only what is not along v counts for the side. */
static Distance distance_of(const Turns *turns, const Patch *patch, const Node *a, const Node *b)
{
    SightVector between = {a->v.along - b->v.along, a->v.across - b->v.across};
    double turned = turns_apart(turns, patch, a, b);
    return (Distance){sight_length(between) + turned, cross(between, b->v) +
                                                          cross(between, turns->way) * b->spread +
                                                          cross(turns->way, b->v) * turned};
}

/* How much larger |v| can be next to node a than at b, its peak's: with the directions'
 * part of v called m t, |a + m t_a| - |b + m t_b| is at most |m| |t_a - t_b| more than |a + m t_b|
 * - |b + m t_b|, whose slope in t is at most the distance of two unit vectors, and that is at most
 * 2 |a - b| / (|a| + |b|). */
static double larger_of(const Turns *turns, const Patch *patch, const Node *a, const Node *b)
{
    double turned = turns_apart(turns, patch, a, b);
    double apart = sight_length((SightVector){a->v.along - b->v.along, a->v.across - b->v.across});
    double least = larger(0.0, a->size - b->spread) + larger(0.0, b->size - b->spread);
    double angle = apart < least ? 2.0 * apart / least : 2.0;
    return a->size - b->size + turned + b->spread * angle + a->bulge + turns->slack;
}

/* Rule out the nodes next to which |v| is less than at the largest of those beside them. */
static void rule_out(const Turns *turns, const Patch *patch, const Nodes *nodes, double low)
{
    size_t end = 0;
    for (size_t first = 0; first < nodes->count; first = end) {
        Node at = {.size = 0.0};
        for (end = first; end < nodes->count && may_be_largest(nodes, end, low); end++) {
            if (size_at(nodes, end) > at.size) at = node_of(nodes, end);
        }
        for (size_t i = first; i < end; i++) {
            NodeSizes *sizes = &nodes->sizes[i / BLOCK];
            double its = sizes->size[i % BLOCK] + nodes->blocks[i / BLOCK].bulge[i % BLOCK];
            if (its + turns->slack >= at.size) continue; /* surely */
            Node node = node_of(nodes, i);
            if (larger_of(turns, patch, &node, &at) < 0.0) sizes->most[i % BLOCK] = -HUGE_VAL;
        }
        if (end == first) end++;
    }
}

/* Widen a peak's distance by one of its nodes and those beside it, but for the ones before `next`,
 * which have done so; the new `next`. Between a node and its neighbour v is no further from the
 * peak's than at both and the bulge. Next to one that was not kept a larger cell has ruled the
 * largest |v| out. */
static size_t widen(const Turns *turns, const Patch *patch, const Nodes *nodes, size_t index,
                    const Node *at, size_t next, Distance *most)
{
    size_t i = index > next + 1 ? index - 1 : next;
    for (; i <= index + 1 && i < nodes->count; i++) {
        Node node = node_of(nodes, i);
        Distance its = distance_of(turns, patch, &node, at);
        *most = (Distance){larger(most->apart, its.apart), larger(most->aside, its.aside)};
    }
    return i;
}

/* A peak of the nodes from `first` to before `end`. */
static Peak peak_of(const Turns *turns, const Patch *patch, const Nodes *nodes, size_t first,
                    size_t end, double low)
{
    const size_t last = turns->sight->count - 1;
    const size_t beside = ((size_t)1 << nodes->arc_bits) - 1;
    size_t top = first;
    for (size_t i = first + 1; i < end; i++) {
        if (size_at(nodes, i) > size_at(nodes, top)) top = i;
    }
    const Node at = node_of(nodes, top);
    Peak peak = {.at = (uint32_t)at.point, .from = (uint32_t)at.point};
    Distance most = {0.0, 0.0};
    double bulge = 0.0;
    size_t next = first > 0 ? first - 1 : 0;
    for (size_t i = first; i < end; i++) {
        if (!may_be_largest(nodes, i, low)) continue;
        const Node node = node_of(nodes, i);
        double its = i == top ? at.bulge + turns->slack : larger_of(turns, patch, &node, &at);
        if (its < 0.0) continue;
        peak.larger = larger(peak.larger, its);
        bulge = larger(bulge, node.bulge);
        next = widen(turns, patch, nodes, i, &at, next, &most);
        size_t from = node.point > beside ? node.point - beside : 0;
        size_t to = last - node.point > beside ? node.point + beside : last;
        if (from < peak.from) peak.from = (uint32_t)from;
        peak.to = (uint32_t)to;
    }
    peak.apart = most.apart + bulge;
    peak.aside = most.aside + bulge * (at.size + at.spread);
    return peak;
}

static void add_peak(Turns *turns, Peak peak)
{
    if (turns->peak_count == turns->peak_room) {
        turns->peak_room = 2 * turns->peak_room + 256;
        turns->peaks = check_realloc(turns->peaks, turns->peak_room, sizeof *turns->peaks);
    }
    turns->peaks[turns->peak_count++] = peak;
}

static Cell find_peaks(Turns *turns, const Patch *patch, const Nodes *nodes, double low)
{
    Cell cell = {.first_peak = (uint32_t)turns->peak_count};
    size_t end;
    for (size_t first = 0; first < nodes->count; first = end + 1) {
        end = first;
        while (end < nodes->count && may_be_largest(nodes, end, low)) {
            end++;
        }
        if (end == first) continue;
        if (cell.peak_count == PEAKS_MAX - 1) end = nodes->count; /* all others in one */
        add_peak(turns, peak_of(turns, patch, nodes, first, end, low));
        cell.peak_count++;
    }
    return cell;
}

/* Keep the nodes that may be next to the largest |v|, and their neighbours. */
static void keep_nodes(const Turns *turns, const Nodes *nodes, double low, Nodes *kept)
{
    size_t last = turns->sight->count - 1;
    size_t likely_count = 0;
    for (size_t i = 0; i < nodes->count; i++) {
        likely_count += may_be_largest(nodes, i, low);
    }
    bool finer = nodes->arc_bits > LAST_ARC_BITS && likely_count <= FEW_NODES;
    empty_nodes(kept, likely_count * (finer ? 5 : 3), nodes->arc_bits - finer);
    const size_t arc = (size_t)1 << nodes->arc_bits;
    const size_t step = (size_t)1 << kept->arc_bits;
    size_t next = 0; /* point that is not kept yet */
    for (size_t i = 0; i < nodes->count; i++) {
        if (!may_be_largest(nodes, i, low)) continue;
        size_t point = nodes->blocks[i / BLOCK].point[i % BLOCK];
        size_t first = point > arc ? point - arc : 0;
        size_t end = point < last ? point + arc : last;
        for (next = first > next ? first : next; next <= end; next += step) {
            add_node(turns, next, kept);
        }
    }
}

static void close_cell(Turns *turns, const Patch *patch, uint16_t verdict, Cell cell)
{
    for (int i = 0; i < patch->ring_count; i++) {
        int ring = patch->ring + i;
        for (int sector = patch->sector; sector < patch->sector + patch->sector_count; sector++) {
            int opposite = sector ^ SECTORS / 2;
            turns->cells[ring * SECTORS + sector] = cell;
            turns->verdicts[(RINGS + ring) * SECTORS + sector] = verdict;
            turns->verdicts[(RINGS - 1 - ring) * SECTORS + opposite] = verdict;
        }
    }
}

/* Make the cells of a part of the grid: one, or those of its two halves. */
static void make_cells(Turns *turns, Patch patch, int level)
{
    const Nodes *nodes = &turns->levels[level];
    measure(&patch);
    Sizes sizes = size_nodes(turns, &patch, nodes);
    double share = share_beyond(turns, larger(sizes.low - 1.0, 1.0 - sizes.high));
    double typical = larger(fabs(sizes.middle - 1.0), 0.25 * (sizes.high - sizes.low));
    double trials = turns->trials * patch.ring_count * patch.sector_count / CELLS;
    double saved = trials * (share - share_beyond(turns, typical));
    if (patch.ring_count * patch.sector_count > 1 && saved > WORTH_HALVES) {
        rule_out(turns, &patch, nodes, sizes.low);
        keep_nodes(turns, nodes, sizes.low, &turns->levels[level + 1]);
        bool in_rings = patch.sector_count == 1 || (patch.ring_count > 1 && patch.is_tall);
        Patch half = patch;
        if (in_rings) half.ring_count /= 2;
        if (!in_rings) half.sector_count /= 2;
        make_cells(turns, half, level + 1);
        if (in_rings) half.ring += half.ring_count;
        if (!in_rings) half.sector += half.sector_count;
        make_cells(turns, half, level + 1);
        return;
    }
    Cell cell = {0};
    if (trials * share > WORTH_PEAKS) {
        rule_out(turns, &patch, nodes, sizes.low);
        cell = find_peaks(turns, &patch, nodes, sizes.low);
    }
    close_cell(turns, &patch, verdict_of(share, sizes.low > 1.0), cell);
}

/* Of arcs of 1 << bits_max points and their halves. */
static void make_bulges(Turns *turns, int bits_max)
{
    const Sight *sight = turns->sight;
    size_t last = sight->count - 1;
    for (int bits = LAST_ARC_BITS; bits <= bits_max; bits++) {
        const size_t per_arc = (size_t)1 << (SIGHT_ARC_BITS - bits);
        double *beside = check_calloc((last >> bits) + 1, sizeof *beside);
        for (size_t i = 0; i < last >> bits; i++) {
            const SightBulge *bulge =
                &sight->bulges[i / per_arc * SIGHT_ARC_NODES + per_arc - 1 + i % per_arc];
            double its = turns->across * bulge->whole + turns->more * bulge->turned + bulge->excess;
            beside[i] = larger(beside[i], its);
            beside[i + 1] = its;
        }
        turns->beside[bits] = beside;
    }
}

static void make_grid(Turns *turns)
{
    size_t last = turns->sight->count - 1;
    int bits = last >> FIRST_ARC_BITS > FIRST_COUNT ? SIGHT_ARC_BITS : FIRST_ARC_BITS;
    make_bulges(turns, bits);
    empty_nodes(&turns->levels[0], (last >> bits) + 1, bits);
    for (size_t point = 0; point <= last; point += (size_t)1 << bits) {
        add_node(turns, point, &turns->levels[0]);
    }
    for (int ring = 0; ring < RINGS; ring += FIRST_RINGS) {
        for (int sector = 0; sector < SECTORS; sector += FIRST_SECTORS) {
            Patch patch = {.ring = ring,
                           .ring_count = FIRST_RINGS,
                           .sector = sector,
                           .sector_count = FIRST_SECTORS};
            make_cells(turns, patch, 0);
        }
    }
}

Turns *turns_new(const Sight *sight, uint64_t trials)
{
    Turns *turns = check_calloc(1, sizeof *turns);
    turns->sight = sight;
    turns->trials = (double)trials;
    turns->across = sight_length(sight->across_part);
    turns->more = sight_length(sight->more_part);
    if (turns->more > 0.0) {
        turns->way = (SightVector){sight->more_part.along / turns->more,
                                   sight->more_part.across / turns->more};
    }
    turns->still = check_calloc(sight->count, sizeof *turns->still);
    turns->norms = check_calloc(sight->count, sizeof *turns->norms);
    double largest = 1.0;
    for (size_t i = 0; i < sight->count; i++) {
        const CoilFields *f = &sight->fields[i];
        turns->still[i] = sight_vector_in(sight, (Vec3){0.0, 0.0, 0.0}, i, f, sight->whole[i]);
        turns->norms[i] =
            sqrt(coil_dot(f->receive, f->receive) * coil_dot(f->transmit, f->transmit));
        largest = larger(largest, sight_length(turns->still[i]) + turns->more * turns->norms[i]);
    }
    turns->slack = SIGHT_SLACK * largest;
    for (int i = 0; i < SECTORS; i++) {
        cos_sin((i + 0.5) / SECTORS, &turns->around[i][0], &turns->around[i][1]);
    }
    if (largest < 1e100) make_grid(turns); /* else no verdict decides, and nothing is known */
    return turns;
}

void turns_free(Turns *turns)
{
    if (turns == NULL) return;
    for (int i = 0; i < LEVELS; i++) {
        free(turns->levels[i].blocks);
        free(turns->levels[i].sizes);
    }
    for (int i = 0; i <= SIGHT_ARC_BITS; i++) {
        free(turns->beside[i]);
    }
    free(turns->peaks);
    free(turns->still);
    free(turns->norms);
    free(turns);
}

/* The luck of a trial, in bits. */
typedef struct {
    uint64_t direction[2], deviation[2];
} Luck;

/* Draw trials and decide what the grid decides; list the others. No branch waits for a verdict. */
static size_t try_quickly(const Turns *turns, Random *random, size_t count, Luck others[TURNS_MAX],
                          uint64_t *found)
{
    Random own = *random;
    size_t other_count = 0;
    uint64_t sum = 0;
    for (size_t i = 0; i < count; i++) {
        Luck *other = &others[other_count];
        other->direction[0] = random_next(&own);
        other->direction[1] = random_next(&own);
        other->deviation[0] = random_next(&own);
        other->deviation[1] = random_next(&own);
        size_t ring = other->direction[0] >> (63 - RING_BITS);
        size_t sector = other->direction[1] >> (64 - SECTOR_BITS);
        unsigned verdict = turns->verdicts[ring << SECTOR_BITS | sector];
        bool decided = (unsigned)(other->deviation[0] >> 48) < verdict;
        other_count += !decided;
        sum += (unsigned)decided & verdict;
    }
    *random = own;
    *found += sum;
    return other_count;
}

/* As random_unit has it. */
static inline double unit_of(uint64_t bits)
{
    return (double)(bits >> 11) * 0x1p-53;
}

/* A trial that the grid leaves open. */
typedef struct {
    Vec3 n;               /* off by less than 1e-11, as bounds allow */
    double length;        /* of the deviation, limits */
    double along, across; /* its parts, off by less than 1e-11 of it */
    Cell cell;
    unsigned rivals; /* a bit for each of the cell's peaks that may have the largest |v| */
} Open;

/* cos and sin of so many of 2^64 parts of a turn, off by less than 1e-11: those of the middle of a
 * sector, turned by what is left. */
static inline void cos_sin_roughly(const Turns *turns, uint64_t parts, double *cosine, double *sine)
{
    const double *middle = turns->around[parts >> (64 - SECTOR_BITS)];
    double x = ((double)(parts << SECTOR_BITS >> 11) * 0x1p-53 - 0.5) * (2.0 * PI / SECTORS);
    double y = x * x;
    double s = x - x * y * (1.0 / 6.0);
    double c = 1.0 - y * (0.5 - y * (1.0 / 24.0));
    *cosine = middle[0] * c - middle[1] * s;
    *sine = middle[1] * c + middle[0] * s;
}

/* All that is to be computed of each of the others: in a loop of its own, where one need not wait
 * for the other. */
static void prepare_others(const Turns *turns, const Luck *others, size_t count,
                           Open opens[TURNS_MAX])
{
    double by = 1.0 / turns->sight->program.kappa;
    for (size_t k = 0; k < count; k++) {
        const Luck *luck = &others[k];
        Open *open = &opens[k];
        double cosine;
        double sine;
        open->cell = turns->cells[index_of(luck->direction[0], luck->direction[1])];
        open->n.x = 2.0 * unit_of(luck->direction[0]) - 1.0;
        double side = sqrt(1.0 - open->n.x * open->n.x);
        cos_sin_roughly(turns, luck->direction[1], &cosine, &sine);
        open->n.y = side * cosine;
        open->n.z = side * sine;
        open->length = sqrt(-2.0 * log(1.0 - unit_of(luck->deviation[0]))) * by;
        cos_sin_roughly(turns, luck->deviation[1], &cosine, &sine);
        open->along = open->length * cosine;
        open->across = open->length * sine;
    }
}

/* How far what is largest in a peak can be from v at its point, of this size there: forwards by no
 * more than it is larger, and backwards by no more than keeps it from being smaller. */
static double apart_at(const Peak *peak, double size)
{
    if (!(peak->apart < size)) return peak->apart; /* it may look the other way */
    double aside = peak->aside / size;
    return smaller(peak->apart, aside + larger(peak->larger, aside * aside / size));
}

/* What the points of its cell's peaks decide of a trial: found or missed, or neither. No branch
 * waits for what luck makes of it. */
typedef struct {
    bool found, missed;
} Decision;

static Decision decide_by_peaks(const Turns *turns, Open *open)
{
    const Peak *peaks = &turns->peaks[open->cell.first_peak];
    const uint32_t count = open->cell.peak_count;
    const double slack = turns->slack;
    const double along = turns->sight->more_part.along;
    const double across = turns->sight->more_part.across;
    SightVector v[PEAKS_MAX];
    double size[PEAKS_MAX];
    double largest = 0.0;
    double most = 0.0;
    for (uint32_t i = 0; i < count; i++) {
        const CoilFields *f = &turns->sight->fields[peaks[i].at];
        double turned = coil_dot(open->n, f->receive) * coil_dot(open->n, f->transmit);
        v[i] = turns->still[peaks[i].at];
        v[i].along += along * turned;
        v[i].across += across * turned;
        size[i] = sight_length(v[i]);
        largest = larger(largest, size[i]);
        most = larger(most, size[i] + peaks[i].larger);
    }
    unsigned rivals = 0;
    bool found = true;
    bool missed = true;
    for (uint32_t i = 0; i < count; i++) {
        bool is_rival = size[i] + peaks[i].larger + slack >= largest;
        double seen =
            sight_length((SightVector){v[i].along + open->along, v[i].across + open->across});
        double apart = apart_at(&peaks[i], size[i]) + slack;
        rivals |= (unsigned)is_rival << i;
        found &= !is_rival | (seen > 1.0 + apart);
        missed &= !is_rival | (seen < 1.0 - apart);
    }
    open->rivals = rivals;
    return (Decision){found | (largest > 1.0 + open->length + slack),
                      missed | (most < 1.0 - open->length - slack)};
}

/* Decide what the peaks decide; list the others. */
static size_t try_peaks(const Turns *turns, Open *opens, size_t count, uint16_t others[TURNS_MAX],
                        uint64_t *found)
{
    size_t other_count = 0;
    uint64_t sum = 0;
    for (size_t k = 0; k < count; k++) {
        Decision decision = {false, false};
        if (opens[k].cell.peak_count > 0) decision = decide_by_peaks(turns, &opens[k]);
        others[other_count] = (uint16_t)k;
        bool decided = decision.found | decision.missed;
        other_count += !decided;
        sum += decision.found;
    }
    *found += sum;
    return other_count;
}

/* v where |v| is largest, at the lowest x on a tie; or any, where that is shorter than the
 * deviation can lengthen to 1. */
static SightVector look_closely(const Turns *turns, const Luck *luck, const Open *open)
{
    const Sight *sight = turns->sight;
    const double direction[2] = {unit_of(luck->direction[0]), unit_of(luck->direction[1])};
    Vec3 n = turns_direction(direction);
    if (open->cell.peak_count == 0) {
        return sight_vector(sight, n, sight_largest(sight, n, 1.0 - open->length));
    }
    SightVector best = {0.0, 0.0};
    for (uint32_t i = 0; i < open->cell.peak_count; i++) {
        if ((open->rivals >> i & 1u) == 0) continue;
        const Peak *peak = &turns->peaks[open->cell.first_peak + i];
        size_t at = sight_largest_of(sight, n, peak->from, peak->to);
        SightVector v = sight_vector(sight, n, at);
        if (sight_length(v) > sight_length(best) * (1.0 + DETECT_TIE)) best = v;
    }
    return best;
}

/* False when |v| is beyond the largest number. */
static bool try_closely(const Turns *turns, const Luck *luck, const Open *open, uint64_t *found)
{
    const double kappa = turns->sight->program.kappa;
    const double units[2] = {unit_of(luck->deviation[0]), unit_of(luck->deviation[1])};
    double deviation[2];
    random_normals_of(units, &deviation[0], &deviation[1]);
    deviation[0] /= kappa;
    deviation[1] /= kappa;
    SightVector v = look_closely(turns, luck, open);
    *found += detect_is_seen(v.along, v.across, deviation);
    return isfinite(v.along) && isfinite(v.across);
}

bool turns_try(const Turns *turns, Random *random, size_t count, uint64_t *found)
{
    CHECK(count <= TURNS_MAX);
    Luck lucks[TURNS_MAX];
    Open opens[TURNS_MAX];
    uint16_t others[TURNS_MAX];
    size_t open_count = try_quickly(turns, random, count, lucks, found);
    prepare_others(turns, lucks, open_count, opens);
    size_t other_count = try_peaks(turns, opens, open_count, others, found);
    for (size_t i = 0; i < other_count; i++) {
        size_t k = others[i];
        if (!try_closely(turns, &lucks[k], &opens[k], found)) return false;
    }
    return true;
}
