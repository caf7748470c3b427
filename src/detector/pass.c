/* One pass, put together from the parts of the detector. */
#include "detector/pass.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"

static void compute_probes(const PassDescription *description, PassResult *result)
{
    result->probe_count = description->probe_count;
    if (description->probe_count == 0) return;
    result->probes = check_calloc(description->probe_count, sizeof *result->probes);
    for (size_t i = 0; i < description->probe_count; i++) {
        Vec3 at = description->probes[i];
        const CoilHead *coils = &description->head.coils;
        result->probes[i] =
            (PassProbe){at, coil_transmit_field(coils, at), coil_receive_field(coils, at)};
    }
}

static void compute_trace(const PassDescription *description, PassResult *result)
{
    const DetectGrid *travel = &description->travel;
    DetectPiece piece = {
        .piece = description->target, .across_m = description->across_m, .up_m = description->up_m};
    result->polarizability_m3 =
        target_polarizability(&description->target, description->head.frequency_hz);
    result->travel = *travel;
    result->trace_v = check_calloc(travel->count, sizeof *result->trace_v);
    detect_add_signal(&description->head, &piece, travel, result->trace_v);
    size_t peak = detect_peak(result->trace_v, travel->count);
    result->peak_v = cabs(result->trace_v[peak]);
    result->peak_x_m = detect_place(travel, peak);
}

/* The ratio and what follows from it. */
static void decide(const PassDescription *description, const DetectProgram *program,
                   PassResult *result)
{
    const DetectGrid *travel = &description->travel;
    const double complex *today = NULL;
    double complex *own = NULL;
    double *along = check_calloc(travel->count, sizeof *along);
    double *across = check_calloc(travel->count, sizeof *across);
    if (description->has_product) today = program->learned;
    if (description->has_product && description->has_learned) {
        own = check_calloc(travel->count, sizeof *own);
        detect_product_signal(&description->head, &description->product, travel, own);
        today = own;
    }
    if (today != NULL) result->product_peak_v = cabs(today[detect_peak(today, travel->count)]);
    detect_excess(program, today, travel->count, along, across);
    detect_add_in_limits(program, result->trace_v, travel->count, along, across);
    DetectLook look;
    detect_look(along, across, travel, (const double[2]){0.0, 0.0}, &look);
    result->limit_along_v = program->limit_along_v;
    result->limit_across_v = program->limit_across_v;
    result->ratio = look.ratio;
    result->detected = look.found;
    if (isfinite(look.ratio)) {
        result->found_probability = detect_found_probability(look.ratio, program->kappa);
    }
    free(own);
    free(along);
    free(across);
}

bool pass_compute(const PassDescription *description, PassResult *result, Err *err)
{
    CHECK(description->probe_count <= PASS_PROBES_MAX);
    bool ok = false;
    PassResult made = {0};
    DetectProgram program = {0};
    const ProductBlock *learned = NULL;
    if (description->has_product) learned = &description->product;
    if (description->has_learned) learned = &description->learned;

    if (!detect_program_init(&program, &description->head, learned, &description->travel, err)) {
        goto done;
    }
    compute_probes(description, &made);
    compute_trace(description, &made);
    decide(description, &program, &made);
    if (!isfinite(made.ratio)) {
        err_set(err, ERR_RANGE, "ratio is beyond the largest number: noise_nv is too small");
        goto done;
    }

    *result = made;
    made = (PassResult){0}; /* handed over */
    ok = true;
done:
    detect_program_clear(&program);
    pass_result_clear(&made);
    return ok;
}

void pass_result_clear(PassResult *result)
{
    if (result == NULL) return;
    free(result->probes);
    free(result->trace_v);
    *result = (PassResult){0};
}

void pass_description_clear(PassDescription *description)
{
    if (description == NULL) return;
    free(description->probes);
    *description = (PassDescription){0};
}

bool pass_head_is_plausible(const CoilHead *coils)
{
    double smaller = fmin(coils->aperture_width_m, coils->aperture_height_m);
    double limit = 0.4 * (smaller + 2.0 * coils->clearance_m);
    return coils->receiver_offset_m <=
           limit * (1.0 + 1e-12); /* at the limit whatever rounding does */
}
