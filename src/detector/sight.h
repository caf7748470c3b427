/* What a head sees of one piece on its way through, for many turns and places of it: the vector v
 * of detect.h at a point of the travel, and where it is largest.
 *
 * With a wire's A = across I + (along - across) n n^T the vector is, in limits,
 *
 *     v(x) = excess(x) + across_part h_r . h_t + more_part (n . h_r)(n . h_t)
 *
 * with the wire's direction n; a sphere has no third term. A sight is held at one place, or looked
 * through at a place of each piece's own.
 */
#ifndef DETECTOR_SIGHT_H
#define DETECTOR_SIGHT_H

#include <math.h>

#include "detector/pass.h"

/* Bounds are trusted to this part of the largest |v|: far more than rounding and DETECT_TIE. */
#define SIGHT_SLACK 1e-9

/* In limits. */
typedef struct {
    double along, across;
} SightVector;

/* How far what belongs to a point between two others can be from the straight line between theirs:
 * of h_r . h_t, of (n . h_r)(n . h_t) for any n, and of the excess. So |v| between the two is at
 * most the larger of theirs and what follows from this. */
typedef struct {
    double whole, turned, excess;
} SightBulge;

/* A held line is cut into arcs of SIGHT_ARC steps, each halved down to single steps: node 0 of an
 * arc is all of it, the halves of node k are 2k + 1 and 2k + 2. */
enum { SIGHT_ARC_BITS = 6, SIGHT_ARC = 1 << SIGHT_ARC_BITS, SIGHT_ARC_NODES = SIGHT_ARC - 1 };

/* All zeros: empty. The owner ends it with sight_clear. The last point of the travel stands again
 * behind the end, to fill the last arc. */
typedef struct {
    const PassDescription *pass; /* borrowed */
    DetectProgram program;
    bool has_excess;                      /* false: all zeros */
    double *excess_along, *excess_across; /* limits, at each point */
    SightVector across_part, more_part;   /* limits per (1/m^2) */
    size_t count;                         /* points, those behind the end too */
    CoilFields *fields;
    double *whole; /* h_r . h_t, 1/m^2 */
    size_t arc_count;
    SightBulge *bulges; /* SIGHT_ARC_NODES an arc */
    double *ends;       /* |v|^2 at the ends of the arcs, of the search under way */
} Sight;

/* Learn what the description's head learns, and hold the sight of its piece at `place` (x ahead of
 * the pack's centre). `sight` is all zeros or cleared. Fails with ERR_RANGE when a limit comes out
 * as 0; `sight` is then to be cleared all the same. */
MUST_USE bool sight_init(Sight *sight, const PassDescription *pass, Vec3 place, Err *err);
void sight_clear(Sight *sight);

/* |v|, in limits. */
static inline double sight_length(SightVector v)
{
    return sqrt(v.along * v.along + v.across * v.across);
}

/* v at a point of the travel, from the fields that the piece is in there. */
static inline SightVector sight_vector_in(const Sight *sight, Vec3 n, size_t i, const CoilFields *f,
                                          double whole)
{
    double turned = coil_dot(n, f->receive) * coil_dot(n, f->transmit);
    return (SightVector){sight->excess_along[i] + sight->across_part.along * whole +
                             sight->more_part.along * turned,
                         sight->excess_across[i] + sight->across_part.across * whole +
                             sight->more_part.across * turned};
}

/* v at a point of the travel, at the place that is held. */
static inline SightVector sight_vector(const Sight *sight, Vec3 n, size_t i)
{
    return sight_vector_in(sight, n, i, &sight->fields[i], sight->whole[i]);
}

/* The point of the largest |v| at the place that is held, the lowest on a tie; or any, where that
 * is below `least`. */
size_t sight_largest(const Sight *sight, Vec3 n, double least);

/* The same of the points from `first` to `last` alone. */
size_t sight_largest_of(const Sight *sight, Vec3 n, size_t first, size_t last);

/* v where |v| is largest for a piece at `place`; or any, where that is below `least`; or any above
 * `enough`, where that is above `enough`.
 *
 * Without excess the travel is first looked at in strides of a quarter of the distance to the
 * nearest wire, on whose scale the fields change, as far out as they matter; then point by point
 * at the peaks that are within a tenth of the largest. What is looked for has to lie inside what is
 * looked at, else every point is. tests/prop/test_pod_laws.c holds it against every point. */
SightVector sight_through(const Sight *sight, Vec3 place, Vec3 n, double least, double enough);

#endif
