/* threepass fit: a head fitted to what a site has validated. */
#include <stdlib.h>

#include "cli/cli.h"
#include "detector/chance.h"
#include "scenario/describe.h"

typedef struct {
    DescribeFit description;
    FitResult result;
} FitWork;

static void add_metal_json(Text *out, const JsonValue *metal)
{
    if (json_kind(metal) == JSON_STRING) {
        text_add_quoted(out, json_string(metal));
        return;
    }
    text_add(out, "{ \"resistivity_ohm_m\": ");
    json_add_number(out, json_number(json_get(metal, "resistivity_ohm_m")));
    text_add(out, ", \"relative_permeability\": ");
    json_add_number(out, json_number(json_get(metal, "relative_permeability")));
    text_add(out, " }");
}

static void add_sphere_json(Text *out, const JsonValue *validated, const FitResult *result,
                            const FitSphereResult *sphere)
{
    text_add(out, "{ \"metal\": ");
    add_metal_json(out, json_get(validated, "metal"));
    text_add(out, ", \"diameter_mm\": ");
    json_add_number(out, json_number(json_get(validated, "diameter_mm")));
    text_add(out, ", \"ratio\": ");
    json_add_number(out, sphere->ratio);
    text_add(out, ", \"wanted_ratio\": ");
    json_add_number(out, result->wanted_ratio);
    text_add(out, ", \"model_mm\": ");
    if (sphere->model_found)
        json_add_number(out, sphere->model_diameter_m * 1e3);
    else
        text_add(out, "null");
    text_add(out, " }");
}

static void add_json(Text *out, const JsonValue *root, const void *work)
{
    const FitResult *result = &((const FitWork *)work)->result;
    const JsonValue *programs = json_get(root, "programs");
    size_t at = 0;
    text_add(out, "{\n  \"noise_nv\": ");
    json_add_number(out, result->noise_v * 1e9);
    text_add(out, ",\n  \"variation_factor\": ");
    json_add_number(out, result->variation_factor);
    text_add(out, ",\n  \"programs\": [");
    for (size_t i = 0; i < json_count(programs); i++) {
        const JsonValue *program = json_at(programs, i);
        const JsonValue *validated = json_get(program, "validated");
        text_add(out, i == 0 ? "\n    { \"name\": " : ",\n    { \"name\": ");
        text_add_quoted(out, json_string(json_get(program, "name")));
        text_add(out, ", \"validated\": [");
        for (size_t j = 0; j < json_count(validated); j++, at++) {
            text_add(out, j == 0 ? "\n      " : ",\n      ");
            add_sphere_json(out, json_at(validated, j), result, &result->spheres[at]);
        }
        text_add(out, "] }");
    }
    text_add(out, "\n  ]\n}\n");
}

/* How surely a check with each of a program's spheres notices that all signals have become smaller,
 * by the fitted model. */
static void add_check(Text *out, const FitSphereResult *spheres, size_t count, double kappa)
{
    static const int percents[] = {100, 90, 80, 70, 50};
    enum { PERCENTS = sizeof percents / sizeof percents[0], TIMES = 3 };
    if (count == 0) return;
    double *ratios = check_calloc(TIMES * count, sizeof *ratios);
    for (size_t i = 0; i < TIMES * count; i++) {
        ratios[i] = spheres[i % count].ratio;
    }
    text_addf(out, "    a check with each of these %d times misses one with a chance of", TIMES);
    for (int i = 0; i < PERCENTS; i++) {
        double chance = chance_check_finds(ratios, TIMES * count, kappa, 100.0 / percents[i]);
        text_addf(out, i == 0 ? " %.3g as it is" : ", %.3g", chance);
        if (i > 0) text_addf(out, " with all signals at %d %%", percents[i]);
    }
    text_add(out, "\n");
    free(ratios);
}

static void add_words(Text *out, const JsonValue *root, const void *work)
{
    const DescribeFit *fit = &((const FitWork *)work)->description;
    const FitResult *result = &((const FitWork *)work)->result;
    const JsonValue *programs = json_get(root, "programs");
    size_t at = 0;
    text_addf(out, "noise    %.4g nV\n", result->noise_v * 1e9);
    text_addf(out, "factor   %.4g on the variations of every product\n", result->variation_factor);
    text_addf(out, "wanted   %.4g times the limit, which is found in %.6g of passes\n",
              result->wanted_ratio, fit->found_probability);
    for (size_t i = 0; i < json_count(programs); i++) {
        const JsonValue *program = json_at(programs, i);
        const JsonValue *validated = json_get(program, "validated");
        text_addf(out, "program  %s\n", json_string(json_get(program, "name")));
        for (size_t j = 0; j < json_count(validated); j++, at++) {
            const FitSphereResult *sphere = &result->spheres[at];
            const JsonValue *item = json_at(validated, j);
            text_add(out, "    ");
            cli_tell_metal(json_get(item, "metal"), out);
            text_addf(out, " %.4g mm: %.4g times the limit; the model finds ",
                      json_number(json_get(item, "diameter_mm")), sphere->ratio);
            if (sphere->model_found)
                text_addf(out, "%.4g mm\n", sphere->model_diameter_m * 1e3);
            else
                text_add(out, "none up to the aperture's height\n");
        }
        add_check(out, &result->spheres[at - json_count(validated)], json_count(validated),
                  detect_kappa(fit->head.false_reject_rate));
    }
    text_add(out,
             "note     a check shows that the detector works as it did; it validates nothing\n");
    text_add(out, "note     a model's answer; only test pieces tell what the real detector does\n");
}

static bool describe(const JsonValue *root, const MetalTable *metals, void *work, Err *err)
{
    FitWork *fit = work;
    return describe_fit(root, metals, &fit->description, err);
}

static bool compute(void *work, const Progress *progress, Err *err)
{
    FitWork *fit = work;
    const DescribeFit *asked = &fit->description;
    return fit_head(&asked->head, asked->found_probability, asked->programs, asked->program_count,
                    progress, &fit->result, err);
}

static void clear(void *work)
{
    FitWork *fit = work;
    fit_result_clear(&fit->result);
    describe_fit_clear(&fit->description);
}

int verb_fit(int argc, char **argv, const CliFront *front)
{
    static const CliComputing computing = {sizeof(FitWork), describe,  compute,
                                           add_json,        add_words, clear};
    (void)front;
    return cli_compute(argc, argv, &computing);
}
