/* The description of one pass, and those of what is made of many, from their JSON: mm, kHz and nV
 * go in, SI comes out. A pass:
 *
 *     head         aperture_width_mm, aperture_height_mm 20..3000, coil_clearance_mm 1..500,
 *                  receiver_offset_mm over 0 to 5000, frequency_khz 0.1..2000, noise_nv 0..1e6,
 *                  false_reject_rate 1e-15..0.5
 *     product      may be absent: a bare belt. length_mm, width_mm, height_mm over 0 to 5000,
 *                  columns [across, up] 1..50, conductivity_s_per_m 0..100,
 *                  relative_permeability 1..1.1, centre_up_mm, amplitude_variation and
 *                  phase_variation_rad 0..1000
 *     learned      may be absent: the program has learned `product`. Of the same shape
 *     target       shape "sphere" (diameter_mm 0.01..100) or "wire" (diameter_mm; length_mm from
 *                  twice the diameter to 1000; direction [x, y, z] not all zero), and metal: a
 *                  known name or {resistivity_ohm_m 1e-15..1e15, relative_permeability 1..1e5}
 *     position_mm  across, up
 *     travel       from_mm, to_mm, step_mm over 0 to 5000: 2 to 100001 points
 *     probe_mm     may be absent: up to 100001 of [x, y, z]
 *
 * Every other key is needed, none is ignored. Places are within -1e6..1e6 mm. noise_nv may be 0
 * only when both variations of what was learned are above 0, as else no limit is left.
 *
 * A sensitivity has no target and no position_mm, but
 *
 *     metals             1 to 32: known names, or {name, resistivity_ohm_m, relative_permeability}
 *     at_mm              [across, up] for 1 to 100000 places, or
 *     map                across, up 2..1000, together at most 100000: places at equal distances,
 *                        from 10 mm off one wall to 10 mm off the other, both included; rows from
 *                        the bottom up, each from left to right
 *                        Places times points of the travel at most 1e9; times metals at most 1e8
 *                        when `product` and `learned` are both there
 *     found_probability  may be absent: the ratio 1. Above false_reject_rate and below 1
 *
 * A pod has
 *
 *     random             direction true or false; place "fixed", "pack" or "aperture" (pod.h). With
 *                        a random direction a wire's own may be absent, with a random place
 *                        position_mm; neither is then used
 *     trials             1..10000000, and times the travel's points at most 2e9
 *     seed               0..2^53 - 1
 *
 * A fit has a head without noise_nv, found_probability (0.99999 when absent) and
 *
 *     programs           1 to 100 of {name, product (absent: a bare belt), validated: [{metal,
 *                        diameter_mm 0.01..100}]}, with 1 to 1000 validated spheres in all
 */
#ifndef SCENARIO_DESCRIBE_H
#define SCENARIO_DESCRIBE_H

#include "detector/fit.h"
#include "detector/pod.h"
#include "detector/sensitivity.h"
#include "scenario/json.h"
#include "scenario/metals.h"

/* Read `value` into *out, which is all zeros; on true the caller ends it with
 * pass_description_clear. Fails with ERR_INPUT at the place to blame; *out is untouched. */
MUST_USE bool describe_pass(const JsonValue *value, const MetalTable *metals, PassDescription *out,
                            Err *err);

#define DESCRIBE_MAP_WALL_MM 10.0 /* from the wall to the first place of a map */
#define DESCRIBE_MAP_SIDE_MAX 1000

/* The same for the others; end them with sensitivity_description_clear and with
 * pass_description_clear on pod->pass. */
MUST_USE bool describe_sensitivity(const JsonValue *value, const MetalTable *metals,
                                   SensitivityDescription *out, Err *err);
MUST_USE bool describe_pod(const JsonValue *value, const MetalTable *metals, PodDescription *out,
                           Err *err);

/* The place of a map's column or row, 0 to count - 1, in mm; count at least 2. */
double describe_map_place(double aperture_mm, int64_t index, int64_t count);

#define DESCRIBE_FOUND_ALWAYS 0.99999 /* what a fit takes "always found" for */
#define DESCRIBE_NAME_BYTES_MAX 200

/* All zeros: empty. The owner ends it with describe_fit_clear. */
typedef struct {
    DetectHead head; /* its noise is not read */
    double found_probability;
    FitProgram *programs; /* owned; the names are borrowed from the document */
    size_t program_count;
    FitSphere *spheres; /* owned, of all programs in turn */
    size_t sphere_count;
} DescribeFit;

/* As describe_pass; and free what it holds. */
MUST_USE bool describe_fit(const JsonValue *value, const MetalTable *metals, DescribeFit *out,
                           Err *err);
void describe_fit_clear(DescribeFit *fit);

#endif
