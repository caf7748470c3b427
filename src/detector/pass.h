/* One pass of one piece through a head, from its description to every number that comes of it. The
 * piece passes x = 0 together with the pack's centre. */
#ifndef DETECTOR_PASS_H
#define DETECTOR_PASS_H

#include "detector/detect.h"

#define PASS_PROBES_MAX 100001

/* All zeros: empty. The owner ends it with pass_description_clear. */
typedef struct {
    DetectHead head;
    bool has_product;     /* false: nothing but the piece on the belt */
    ProductBlock product; /* today's */
    bool has_learned;     /* false: the program has learned today's product itself */
    ProductBlock learned; /* the two variations are read from the learned one */
    TargetPiece target;
    double across_m, up_m; /* where the piece passes: y, z */
    DetectGrid travel;
    Vec3 *probes;       /* heap, owned; NULL when there are none */
    size_t probe_count; /* at most PASS_PROBES_MAX */
} PassDescription;

typedef struct {
    Vec3 at_m;
    Vec3 transmit_per_m, receive_per_m; /* fields per ampere-turn */
} PassProbe;

/* All zeros: empty. The owner ends it with pass_result_clear. */
typedef struct {
    TargetTensor polarizability_m3;
    PassProbe *probes; /* owned, in the description's order */
    size_t probe_count;
    DetectGrid travel;
    double complex *trace_v; /* owned: the metal's signal S at each point of the travel */
    double peak_v;           /* largest |S| */
    double peak_x_m;         /* where, the lowest on a tie */
    double product_peak_v;   /* largest |P| of today's product; 0 with none */
    double limit_along_v, limit_across_v;
    double ratio;             /* noise-free peak of the decision ratio */
    bool detected;            /* ratio above 1 */
    double found_probability; /* of one look */
} PassResult;

/* Compute a pass. The description keeps to the ranges of its fields. On true the caller ends
 * `result` (all zeros or cleared before). Fails with ERR_RANGE when a limit comes out as 0 or the
 * ratio is not finite; `result` stays empty. */
MUST_USE bool pass_compute(const PassDescription *description, PassResult *result, Err *err);

/* Free what they hold and leave them all zeros; take all-zero ones. */
void pass_result_clear(PassResult *result);
void pass_description_clear(PassDescription *description);

/* False when the receivers stand so far off, beyond 0.4 min(width + 2 clearance, height + 2
 * clearance), that the centre of the aperture is no longer surely its weakest place. Computed all
 * the same. */
bool pass_head_is_plausible(const CoilHead *coils);

#endif
