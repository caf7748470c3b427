/* Any bytes that are JSON are a description of a pass that holds its promises, or one error at a
 * place within the text. */
#include <math.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "scenario/describe.h"

static const char METALS[] =
    "{\"format\":\"threepass-metals-1\",\"metals\":[{\"name\":\"carbon-steel\",\"group\":"
    "\"ferrous\","
    "\"condition\":\"soft\",\"at_c\":20,\"resistivity_ohm_m\":1.5e-7,\"resistivity_uncertainty\":0,"
    "\"resistivity_per_k\":0,\"resistivity_source\":\"none\",\"relative_permeability\":90,"
    "\"relative_permeability_low\":50,\"relative_permeability_high\":280,"
    "\"relative_permeability_source\":\"none\",\"note\":\"for this program alone\"}]}";

static void check_pass(const PassDescription *pass)
{
    const DetectGrid *travel = &pass->travel;
    CHECK(travel->count >= DETECT_GRID_POINTS_MIN && travel->count <= DETECT_GRID_POINTS_MAX);
    CHECK(isfinite(travel->from_m) && travel->step_m > 0);
    CHECK(pass->head.coils.receiver_offset_m > 0 && pass->head.frequency_hz >= 100);
    CHECK(pass->target.diameter_m > 0 && pass->target.metal.resistivity_ohm_m > 0);
    CHECK(pass->target.metal.relative_permeability >= 1);
    Vec3 direction = pass->target.direction;
    if (pass->target.shape == TARGET_WIRE) {
        CHECK(coil_dot(direction, direction) >= 1 && pass->target.length_m > 0);
    }
    for (size_t i = 0; i < pass->probe_count; i++) {
        CHECK(isfinite(coil_dot(pass->probes[i], pass->probes[i])));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    MetalTable *metals = NULL;
    PassDescription pass = {0};
    if (!json_parse("any", (const char *)bytes, count, &doc, &err)) return 0;
    CHECK(metals_parse("metals", METALS, strlen(METALS), &metals, &err));
    if (describe_pass(json_root(doc), metals, &pass, &err)) {
        check_pass(&pass);
    } else {
        CHECK(err.code == ERR_INPUT && strncmp(err.text, "any:", strlen("any:")) == 0);
    }
    pass_description_clear(&pass);
    metals_free(metals);
    json_free(doc);
    return 0;
}
