/* Any bytes that are JSON are a description of a sensitivity, a pod or a fit that holds its
 * promises and has an answer without a NaN, or one error at a place within the text. Work is cut to
 * what a fuzzer has time for; the limits of the work are the readers' own. */
#include <math.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/small.h"
#include "scenario/describe.h"

#define WORK_MAX 200000.0

static void check_refused(const Err *err)
{
    CHECK(err->code == ERR_INPUT && strncmp(err->text, "any:", strlen("any:")) == 0);
}

static void try_sensitivity(const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    SensitivityDescription d = {0};
    SensitivityResult result = {0};
    if (!describe_sensitivity(root, metals, &d, &err)) {
        check_refused(&err);
        return;
    }
    double work = (double)d.place_count * (double)d.pass.travel.count;
    CHECK(d.metal_count >= 1 && d.place_count >= 1 && work <= SENSITIVITY_WORK_MAX);
    if (work <= WORK_MAX && sensitivity_compute(&d, NULL, &result, &err)) {
        for (size_t i = 0; i < result.count; i++) {
            CHECK(!result.answers[i].found || result.answers[i].diameter_m >= 0.0);
        }
    }
    sensitivity_result_clear(&result);
    sensitivity_description_clear(&d);
}

static void try_pod(const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    PodDescription d = {0};
    PodResult result;
    if (!describe_pod(root, metals, &d, &err)) {
        check_refused(&err);
        return;
    }
    CHECK(d.trials >= 1 && d.trials <= POD_TRIALS_MAX);
    CHECK((double)d.trials * (double)d.pass.travel.count <= POD_WORK_MAX);
    if (d.trials > 10) d.trials = 10;
    if ((double)d.pass.travel.count <= WORK_MAX / 10 && pod_compute(&d, NULL, &result, &err)) {
        CHECK(result.found <= result.trials && result.interval.low <= result.probability);
        CHECK(result.interval.high >= result.probability && result.interval.high <= 1.0);
    }
    pass_description_clear(&d.pass);
}

static void try_fit(const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    DescribeFit d = {0};
    FitResult result = {0};
    if (!describe_fit(root, metals, &d, &err)) {
        check_refused(&err);
        return;
    }
    CHECK(d.program_count >= 1 && d.sphere_count >= 1);
    if (d.sphere_count <= 3 && d.program_count <= 3 &&
        fit_head(&d.head, d.found_probability, d.programs, d.program_count, NULL, &result, &err)) {
        CHECK(isfinite(result.noise_v) && result.noise_v >= 0.0);
        CHECK(isfinite(result.variation_factor) && result.variation_factor >= 0.0);
        CHECK(result.count == d.sphere_count);
        for (size_t i = 0; i < result.count; i++) {
            CHECK(!isnan(result.spheres[i].ratio) && !isnan(result.spheres[i].model_diameter_m));
        }
    }
    fit_result_clear(&result);
    describe_fit_clear(&d);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    MetalTable *metals = NULL;
    if (!json_parse("any", (const char *)bytes, count, &doc, &err)) return 0;
    CHECK(metals_parse("metals", SMALL_METALS, strlen(SMALL_METALS), &metals, &err));
    try_sensitivity(json_root(doc), metals);
    try_pod(json_root(doc), metals);
    try_fit(json_root(doc), metals);
    metals_free(metals);
    json_free(doc);
    return 0;
}
