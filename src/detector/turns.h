/* What a head sees of one wire at one place, however it is turned: bounds by cells of directions,
 * so that most trials are decided by a look into a table, and exactly as by their whole trace.
 *
 * A direction n and -n are the same wire, so that the half sphere x >= 0 is cut into cells of x and
 * of the angle around x. Of each is kept
 *
 *     the range of the largest |v|: with it the length of the pack's deviation alone decides, when
 *     it is less than |v| - 1 or 1 - |v|;
 *     then, where that leaves trials open, each piece of the travel that can have the largest |v|:
 *     a point of it, how much larger |v| can be elsewhere in the piece, and how far from v at this
 *     point what is largest there can be.
 *
 * Only what these leave open is looked at along the travel. A cell is halved as long as that
 * spares trials enough, so that few trials have large cells, and cost no more each than many.
 */
#ifndef DETECTOR_TURNS_H
#define DETECTOR_TURNS_H

#include "detector/sight.h"

typedef struct Turns Turns;

/* For a sight held at its place, borrowed until the end; `trials` says how many are to come, more
 * of which pay for smaller cells. The owner ends it with turns_free. */
Turns *turns_new(const Sight *sight, uint64_t trials);
void turns_free(Turns *turns);

/* The direction of a trial from two numbers, uniform in [0, 1): x = 2 direction[0] - 1, and the
 * angle 2 pi direction[1] around it. */
Vec3 turns_direction(const double direction[2]);

#define TURNS_MAX 512 /* trials at a time */

/* In how many of the next `count` trials, at most TURNS_MAX, the wire is found, added to *found;
 * false when a |v| is beyond the largest number. Each draws two numbers for its direction, and two
 * for its deviation, as detect_draw_deviation does. */
MUST_USE bool turns_try(const Turns *turns, Random *random, size_t count, uint64_t *found);

#endif
