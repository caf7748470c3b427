/* threepass pass: one pass of one piece, computed from its description. */
#include <math.h>
#include <stdlib.h>

#include "cli/cli.h"
#include "detector/pass.h"
#include "scenario/describe.h"

typedef struct {
    PassDescription description;
    PassResult result;
} PassWork;

static void add_sent(Text *out, const JsonValue *root, const PassDescription *pass)
{
    const TargetPiece *piece = &pass->target;
    const JsonValue *metal = json_get(json_get(root, "target"), "metal");
    text_add(out, "sent     ");
    cli_tell_metal(metal, out);
    if (piece->shape == TARGET_SPHERE) {
        text_addf(out, " sphere, %.4g mm", piece->diameter_m * 1e3);
    } else {
        text_addf(out, " wire, %.4g mm thick, %.4g mm long, pointing [%.3g, %.3g, %.3g]",
                  piece->diameter_m * 1e3, piece->length_m * 1e3, piece->direction.x,
                  piece->direction.y, piece->direction.z);
    }
    text_addf(out, ", %.4g mm across, %.4g mm up\n", pass->across_m * 1e3, pass->up_m * 1e3);
    text_addf(out, "through  an aperture of %.4g x %.4g mm at %.4g kHz",
              pass->head.coils.aperture_width_m * 1e3, pass->head.coils.aperture_height_m * 1e3,
              pass->head.frequency_hz / 1e3);
    if (pass->has_product) {
        text_addf(out, ", in a pack of %.4g x %.4g x %.4g mm\n", pass->product.length_m * 1e3,
                  pass->product.width_m * 1e3, pass->product.height_m * 1e3);
    } else {
        text_add(out, ", on a bare belt\n");
    }
}

static void add_words(Text *out, const JsonValue *root, const void *work)
{
    const PassDescription *pass = &((const PassWork *)work)->description;
    const PassResult *result = &((const PassWork *)work)->result;
    add_sent(out, root, pass);
    text_addf(out, "answer   %s: %.3g times the limit\n", result->detected ? "found" : "missed",
              result->ratio);
    text_add(out, "chance   ");
    cli_tell_chance(out, result->found_probability);
    text_add(out, " such passes are found\n");
    text_addf(out, "signal   %.4g nV at most, at x = %.4g mm\n", result->peak_v * 1e9,
              result->peak_x_m * 1e3);
    if (pass->has_product) {
        text_addf(out, "product  %.4g nV at most by itself\n", result->product_peak_v * 1e9);
    }
    text_addf(out, "limits   %.4g nV along the product, %.4g nV across it\n",
              result->limit_along_v * 1e9, result->limit_across_v * 1e9);
    for (size_t i = 0; i < result->probe_count; i++) {
        const PassProbe *probe = &result->probes[i];
        text_addf(out,
                  "field    at [%.4g, %.4g, %.4g] mm: transmitter [%.4g, %.4g, %.4g], receivers "
                  "[%.4g, %.4g, %.4g] 1/m\n",
                  probe->at_m.x * 1e3, probe->at_m.y * 1e3, probe->at_m.z * 1e3,
                  probe->transmit_per_m.x, probe->transmit_per_m.y, probe->transmit_per_m.z,
                  probe->receive_per_m.x, probe->receive_per_m.y, probe->receive_per_m.z);
    }
    if (!pass_head_is_plausible(&pass->head.coils)) {
        text_add(out, "note     receivers so far apart: the centre may not be the weakest place\n");
    }
    text_add(out, "note     a model's answer; only test pieces tell what the real detector does\n");
}

static void add_tensor(Text *out, const TargetTensor *tensor)
{
    const double complex rows[3][3] = {{tensor->xx, tensor->xy, tensor->xz},
                                       {tensor->xy, tensor->yy, tensor->yz},
                                       {tensor->xz, tensor->yz, tensor->zz}};
    text_add(out, "  \"polarizability_mm3\": [");
    for (int i = 0; i < 3; i++) {
        text_add(out, i == 0 ? "[" : ",\n                         [");
        for (int j = 0; j < 3; j++) {
            const double parts[2] = {creal(rows[i][j]) * 1e9, cimag(rows[i][j]) * 1e9};
            if (j > 0) text_add(out, ", ");
            cli_add_numbers(out, parts, 2);
        }
        text_add(out, "]");
    }
    text_add(out, "],\n");
}

/* The places are the description's own numbers, so that they come back as they were written. */
static void add_probes(Text *out, const JsonValue *asked, const PassResult *result)
{
    text_add(out, "  \"probe\": [");
    for (size_t i = 0; i < result->probe_count; i++) {
        const PassProbe *probe = &result->probes[i];
        const JsonValue *at = json_at(asked, i);
        const double at_mm[3] = {json_number(json_at(at, 0)), json_number(json_at(at, 1)),
                                 json_number(json_at(at, 2))};
        const double transmit[3] = {probe->transmit_per_m.x, probe->transmit_per_m.y,
                                    probe->transmit_per_m.z};
        const double receive[3] = {probe->receive_per_m.x, probe->receive_per_m.y,
                                   probe->receive_per_m.z};
        text_add(out, i == 0 ? "\n    { \"at_mm\": " : ",\n    { \"at_mm\": ");
        cli_add_numbers(out, at_mm, 3);
        text_add(out, ", \"transmit_per_m\": ");
        cli_add_numbers(out, transmit, 3);
        text_add(out, ", \"receive_per_m\": ");
        cli_add_numbers(out, receive, 3);
        text_add(out, " }");
    }
    text_add(out, result->probe_count == 0 ? "],\n" : "\n  ],\n");
}

static void add_trace(Text *out, double from_mm, double step_mm, const PassResult *result)
{
    size_t count = result->travel.count;
    double *numbers = check_calloc(count, sizeof *numbers);
    for (size_t i = 0; i < count; i++) {
        numbers[i] = from_mm + (double)i * step_mm;
    }
    text_add(out, "  \"trace\": { \"x_mm\": ");
    cli_add_numbers(out, numbers, count);
    for (size_t i = 0; i < count; i++) {
        numbers[i] = creal(result->trace_v[i]) * 1e9;
    }
    text_add(out, ",\n    \"re_nv\": ");
    cli_add_numbers(out, numbers, count);
    for (size_t i = 0; i < count; i++) {
        numbers[i] = cimag(result->trace_v[i]) * 1e9;
    }
    text_add(out, ",\n    \"im_nv\": ");
    cli_add_numbers(out, numbers, count);
    text_add(out, " },\n");
    free(numbers);
}

static void add_json(Text *out, const JsonValue *root, const void *work)
{
    const PassResult *result = &((const PassWork *)work)->result;
    const JsonValue *travel = json_get(root, "travel");
    double from_mm = json_number(json_get(travel, "from_mm"));
    double step_mm = json_number(json_get(travel, "step_mm"));
    double peak_at = round((result->peak_x_m - result->travel.from_m) / result->travel.step_m);
    const struct {
        const char *key;
        double value;
    } figures[] = {
        {"peak_nv", result->peak_v * 1e9},
        {"peak_x_mm", from_mm + peak_at * step_mm},
        {"product_peak_nv", result->product_peak_v * 1e9},
        {"limit_along_nv", result->limit_along_v * 1e9},
        {"limit_across_nv", result->limit_across_v * 1e9},
        {"ratio", result->ratio},
        {"found_probability", result->found_probability},
    };
    text_add(out, "{\n");
    add_tensor(out, &result->polarizability_m3);
    add_probes(out, json_get(root, "probe_mm"), result);
    add_trace(out, from_mm, step_mm, result);
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        text_addf(out, "  \"%s\": ", figures[i].key);
        json_add_number(out, figures[i].value);
        text_add(out, ",\n");
    }
    text_addf(out, "  \"detected\": %s\n}\n", result->detected ? "true" : "false");
}

static bool describe(const JsonValue *root, const MetalTable *metals, void *work, Err *err)
{
    PassWork *pass = work;
    return describe_pass(root, metals, &pass->description, err);
}

/* One pass is over before anybody waits. */
static bool compute(void *work, const Progress *progress, Err *err)
{
    PassWork *pass = work;
    (void)progress;
    return pass_compute(&pass->description, &pass->result, err);
}

static void clear(void *work)
{
    PassWork *pass = work;
    pass_result_clear(&pass->result);
    pass_description_clear(&pass->description);
}

int verb_pass(int argc, char **argv, const CliFront *front)
{
    static const CliComputing computing = {sizeof(PassWork), describe,  compute,
                                           add_json,         add_words, clear};
    (void)front;
    return cli_compute(argc, argv, &computing);
}
