/* What a head sees of one wire at one place, however it is turned: bounds by cells of directions,
 * so that most trials are decided by a look into a table, and exactly as by their whole trace.
 *
 * A direction n and -n are the same wire, so that the half sphere x >= 0 is cut, in x and in the
 * angle around x, into cells of equal solid angle. Of each is kept
 *
 *     the range of the largest |v|: with it the length of the pack's deviation alone decides, when
 *     it is less than |v| - 1 or 1 - |v|;
 *     then, for each of the two lobes (v to one side, and to the other), a point of the travel, how
 *     much larger |v| can be anywhere else in the lobe, and how far from v at this point what is
 *     largest there can be.
 *
 * Only what these leave open is looked at along the travel. A cell is made when it is first asked
 * for.
 */
#ifndef DETECTOR_TURNS_H
#define DETECTOR_TURNS_H

#include "detector/sight.h"

typedef struct Turns Turns;

/* The luck of one trial, uniform in [0, 1): direction[] gives x = 2 direction[0] - 1 and the angle
 * 2 pi direction[1] around it; deviation[] the pack's deviation, as random_normals_of takes it. */
typedef struct {
    double direction[2], deviation[2];
} TurnsLuck;

/* For a sight held at its place, borrowed until the end; `trials` says how many are to come, more
 * of which pay for smaller cells. The owner ends it with turns_free. */
Turns *turns_new(const Sight *sight, uint64_t trials);
void turns_free(Turns *turns);

/* The direction of a trial. */
Vec3 turns_direction(const double direction[2]);

#define TURNS_MAX 512 /* trials at a time */

/* In how many of `count` trials, at most TURNS_MAX, the wire is found, added to *found; false when
 * a |v| is beyond the largest number. */
MUST_USE bool turns_try(Turns *turns, const TurnsLuck *luck, size_t count, uint64_t *found);

#endif
