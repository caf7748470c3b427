/* The smallest sphere of each metal that a head finds, at places of its aperture. */
#ifndef DETECTOR_SENSITIVITY_H
#define DETECTOR_SENSITIVITY_H

#include "base/progress.h"
#include "detector/pass.h"

#define SENSITIVITY_METALS_MAX 32
#define SENSITIVITY_PLACES_MAX 100000
#define SENSITIVITY_WORK_MAX 1000000000.0 /* places times points of the travel */

/* Places times points times metals where today's product is not the learned one: every sphere that
 * is tried has then a trace of its own. */
#define SENSITIVITY_WORK_CHANGED_MAX 100000000.0

typedef struct {
    double across_m, up_m;
} SensitivityPlace;

/* All zeros: empty. The owner ends it with sensitivity_description_clear. */
typedef struct {
    PassDescription pass; /* its target and place are not read, nor are its probes */
    TargetMetal metals[SENSITIVITY_METALS_MAX];
    size_t metal_count;       /* at least 1 */
    SensitivityPlace *places; /* owned */
    size_t place_count;       /* 1 to SENSITIVITY_PLACES_MAX */
    double found_probability; /* of one pass, above the false-reject rate and below 1; 0: what has
                                 the decision ratio 1 is found */
} SensitivityDescription;

/* Of one metal at one place. */
typedef struct {
    bool found;        /* false: none up to the aperture's height */
    double diameter_m; /* it and every larger sphere up to the aperture's height are found; 0 where
                          the product alone is called metal. To 1e-7 of itself */
} SensitivityAnswer;

/* All zeros: empty. The owner ends it with sensitivity_result_clear. */
typedef struct {
    double wanted_ratio;
    SensitivityAnswer *answers; /* owned: of the first place every metal, then of the next, ... */
    size_t count;
} SensitivityResult;

/* Compute it; the work is within the limits above. On true the caller
 * ends `result` (all zeros or cleared before). Fails with ERR_RANGE when a limit comes out as 0,
 * with ERR_STOPPED when `progress` (may be NULL) wants an end; `result` stays empty. */
MUST_USE bool sensitivity_compute(const SensitivityDescription *description,
                                  const Progress *progress, SensitivityResult *result, Err *err);

/* Free what they hold and leave them all zeros; take all-zero ones. */
void sensitivity_description_clear(SensitivityDescription *description);
void sensitivity_result_clear(SensitivityResult *result);

#endif
