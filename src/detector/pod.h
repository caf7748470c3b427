/* Probability of detection: many passes of one piece, each turned and placed anew, and found or not
 * with a deviation of its own.
 *
 * One trial is one pass of one pack with one piece through the head. In this order luck gives
 *
 *     a direction    if asked for: uniform on the sphere (a wire; a sphere has none)
 *     a place        of the piece's centre. POD_FIXED: the description's, and no luck is drawn.
 *                    POD_PACK: uniform in the volume of today's pack. POD_APERTURE: uniform over
 *                    the aperture's cross-section, in the pack's middle along the belt
 *     a deviation    of the pack: detect_draw_deviation
 *
 * and the head has one look, as in a run: the trial's `found` is that of detect_look on its trace.
 * The same description gives the same bits.
 */
#ifndef DETECTOR_POD_H
#define DETECTOR_POD_H

#include "base/progress.h"
#include "detector/chance.h"
#include "detector/pass.h"

#define POD_TRIALS_MAX 10000000
#define POD_WORK_MAX 2000000000.0 /* trials times points of the travel */
#define POD_LEVEL 0.95            /* of the interval */

typedef enum { POD_FIXED, POD_PACK, POD_APERTURE } PodPlace;

/* All zeros: empty. The owner ends it with pass_description_clear on `pass`. */
typedef struct {
    PassDescription pass; /* its place is read for POD_FIXED alone, its probes are not */
    bool random_direction;
    PodPlace place;  /* POD_PACK only with a product */
    uint64_t trials; /* 1 to POD_TRIALS_MAX */
    uint64_t seed;
} PodDescription;

typedef struct {
    uint64_t trials, found;
    double probability;
    ChanceInterval interval; /* of POD_LEVEL */
} PodResult;

/* Compute it. trials times the travel's points is at most POD_WORK_MAX. Fails with ERR_RANGE when a
 * limit comes out as 0 or a ratio is not finite, with ERR_STOPPED when `progress` (may be NULL)
 * wants an end; *result is then untouched. */
MUST_USE bool pod_compute(const PodDescription *description, const Progress *progress,
                          PodResult *result, Err *err);

#endif
