/* The description of one pass, from its JSON: mm, kHz and nV go in, SI comes out.
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
 */
#ifndef SCENARIO_DESCRIBE_H
#define SCENARIO_DESCRIBE_H

#include "detector/pass.h"
#include "scenario/json.h"
#include "scenario/metals.h"

/* Read `value` into *out, which is all zeros; on true the caller ends it with
 * pass_description_clear. Fails with ERR_INPUT at the place to blame; *out is untouched. */
MUST_USE bool describe_pass(const JsonValue *value, const MetalTable *metals, PassDescription *out,
                            Err *err);

#endif
