/* No description that is read makes the computations crash, hang, answer a NaN or use much memory:
 * random ones at and between the ends of every range, and nothing but the ends. The seed is printed
 * on failure, and by the sanitizers' builds what went wrong. */
#include "support.h"

#include <time.h>

#include "base/random.h"
#include "scenario/describe.h"

enum { ROUNDS = 1500 };

/* At an end, next to one, or anywhere between, even in the logarithm. */
static double draw(Random *random, double low, double high)
{
    double part = random_unit(random);
    switch (random_below(random, 6)) {
    case 0:
        return low;
    case 1:
        return high;
    case 2:
        return low > 0.0 ? low * pow(high / low, part) : high * pow(1e-12, part);
    case 3:
        return nextafter(high, low);
    default:
        return low + (high - low) * part;
    }
}

static void add(Text *text, const char *key, double value)
{
    text_addf(text, "\"%s\": %.17g, ", key, value);
}

static void add_product(Text *text, const char *key, Random *random)
{
    text_addf(text, "\"%s\": {", key);
    add(text, "length_mm", draw(random, 1e-300, 5000));
    add(text, "width_mm", draw(random, 1e-9, 5000));
    add(text, "height_mm", draw(random, 1e-9, 5000));
    add(text, "conductivity_s_per_m", draw(random, 0, 100));
    add(text, "relative_permeability", draw(random, 1, 1.1));
    add(text, "centre_up_mm",
        random_below(random, 2) == 0 ? draw(random, -1e6, 1e6) : draw(random, -200, 200));
    add(text, "amplitude_variation", draw(random, 1e-9, 1000));
    add(text, "phase_variation_rad", draw(random, 1e-9, 1000));
    text_addf(text, "\"columns\": [%d, %d]}, ", 1 + (int)random_below(random, 50),
              1 + (int)random_below(random, 50));
}

static void add_head(Text *text, Random *random, bool has_noise)
{
    text_add(text, "\"head\": {");
    add(text, "aperture_width_mm", draw(random, 20, 3000));
    add(text, "aperture_height_mm", draw(random, 20, 3000));
    add(text, "coil_clearance_mm", draw(random, 1, 500));
    add(text, "receiver_offset_mm", draw(random, 1e-6, 5000));
    add(text, "frequency_khz", draw(random, 0.1, 2000));
    if (has_noise) add(text, "noise_nv", draw(random, 1e-9, 1e6));
    text_addf(text, "\"false_reject_rate\": %.17g}, ", draw(random, 1e-15, 0.5));
}

static void add_travel(Text *text, Random *random)
{
    double from = random_below(random, 3) == 0 ? draw(random, -1e6, 1e6) : draw(random, -3000, 0);
    double step = draw(random, 0.01, 5000);
    double points = floor(draw(random, 1, random_below(random, 40) == 0 ? 5000 : 150));
    text_addf(text, "\"travel\": {\"from_mm\": %.17g, \"to_mm\": %.17g, \"step_mm\": %.17g}, ",
              from, fmin(from + points * step, 1e6), step);
}

static void add_metal(Text *text, Random *random, const char *name)
{
    text_addf(text, "{%s\"resistivity_ohm_m\": %.17g, \"relative_permeability\": %.17g}", name,
              draw(random, 1e-15, 1e15), draw(random, 1, 1e5));
}

static double place(Random *random)
{
    return random_below(random, 4) == 0 ? draw(random, -1e6, 1e6) : draw(random, -400, 400);
}

static void add_arrangement(Text *text, Random *random)
{
    add_head(text, random, true);
    if (random_below(random, 3) > 0) add_product(text, "product", random);
    if (random_below(random, 3) == 0) add_product(text, "learned", random);
    add_travel(text, random);
}

static void print_pod(Text *text, Random *random)
{
    static const char *const places[] = {"fixed", "pack", "aperture"};
    text_add(text, "{");
    add_arrangement(text, random);
    double thick = draw(random, 0.01, 100);
    text_addf(text, "\"target\": {\"shape\": \"%s\", \"diameter_mm\": %.17g, ",
              random_below(random, 3) == 0 ? "sphere" : "wire", thick);
    if (strstr(text_string(text), "\"wire\"") != NULL) {
        add(text, "length_mm", draw(random, 2 * thick, 1000));
        text_addf(text, "\"direction\": [%.17g, %.17g, %.17g], ", draw(random, 1e-300, 1e6),
                  draw(random, -1e6, 1e6), draw(random, -1e6, 1e6));
    }
    text_add(text, "\"metal\": ");
    add_metal(text, random, "");
    text_addf(text, "}, \"position_mm\": {\"across\": %.17g, \"up\": %.17g}, ", place(random),
              place(random));
    text_addf(text, "\"random\": {\"direction\": %s, \"place\": \"%s\"}, ",
              random_below(random, 2) == 0 ? "true" : "false", places[random_below(random, 3)]);
    text_addf(text, "\"trials\": %d, \"seed\": %d}", 1 + (int)random_below(random, 20),
              (int)random_below(random, 1000));
}

static void print_sensitivity(Text *text, Random *random)
{
    text_add(text, "{");
    add_arrangement(text, random);
    text_add(text, "\"metals\": [");
    add_metal(text, random, "\"name\": \"a\", ");
    text_add(text, ", ");
    add_metal(text, random, "\"name\": \"b\", ");
    text_addf(text, "], \"at_mm\": [[%.17g, %.17g], [%.17g, %.17g]]}", place(random), place(random),
              place(random), place(random));
}

static void print_fit(Text *text, Random *random)
{
    text_add(text, "{");
    add_head(text, random, false);
    text_add(text, "\"programs\": [");
    for (int i = 0; i < 2; i++) {
        text_addf(text, "%s{\"name\": \"p\", ", i == 0 ? "" : ", ");
        if (random_below(random, 3) > 0) add_product(text, "product", random);
        text_add(text, "\"validated\": [{\"metal\": ");
        add_metal(text, random, "");
        text_addf(text, ", \"diameter_mm\": %.17g}]}", draw(random, 0.01, 100));
    }
    text_add(text, "]}");
}

static int compute_pod(const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    PodDescription pod = {0};
    PodResult result;
    bool ok = describe_pod(root, metals, &pod, &err) && pod_compute(&pod, NULL, &result, &err);
    if (ok) {
        assert_true(result.found <= result.trials);
        assert_true(result.interval.low >= 0.0 && result.interval.high <= 1.0);
    }
    pass_description_clear(&pod.pass);
    return ok;
}

static int compute_sensitivity(unsigned seed, const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    SensitivityDescription places = {0};
    SensitivityResult survey = {0};
    bool ok = describe_sensitivity(root, metals, &places, &err) &&
              sensitivity_compute(&places, NULL, &survey, &err);
    for (size_t i = 0; i < survey.count; i++) {
        if (survey.answers[i].found && !(survey.answers[i].diameter_m >= 0.0)) {
            fail_msg("seed %u: answer %zu is no number", seed, i);
        }
    }
    sensitivity_result_clear(&survey);
    sensitivity_description_clear(&places);
    return ok;
}

static int compute_fit(unsigned seed, const JsonValue *root, const MetalTable *metals)
{
    Err err = {0};
    DescribeFit fit = {0};
    FitResult fitted = {0};
    bool ok = describe_fit(root, metals, &fit, &err) &&
              fit_head(&fit.head, fit.found_probability, fit.programs, fit.program_count, NULL,
                       &fitted, &err);
    assert_true(isfinite(fitted.noise_v) && isfinite(fitted.variation_factor));
    for (size_t i = 0; i < fitted.count; i++) {
        if (isnan(fitted.spheres[i].ratio)) fail_msg("seed %u: sphere %zu", seed, i);
    }
    fit_result_clear(&fitted);
    describe_fit_clear(&fit);
    return ok;
}

/* By all three: each refuses what is another's. */
static int compute_all(unsigned seed, const Text *text, const MetalTable *metals)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    if (!json_parse("x", text->bytes, text->len, &doc, &err))
        fail_msg("seed %u: %s", seed, err.text);
    const JsonValue *root = json_root(doc);
    int computed = compute_pod(root, metals) + compute_sensitivity(seed, root, metals) +
                   compute_fit(seed, root, metals);
    json_free(doc);
    return computed;
}

static void test_extremes(void **state)
{
    (void)state;
    Err err = {0};
    MetalTable *metals = NULL;
    assert_true(metals_load("assets/metals.json", &metals, &err));
    void (*const prints[])(Text * text, Random * random) = {print_pod, print_sensitivity,
                                                            print_fit};
    int computed[3] = {0};
    double slowest = 0.0;
    for (unsigned seed = 0; seed < ROUNDS; seed++) {
        Random random;
        random_init(&random, seed);
        Text text = {0};
        prints[seed % 3](&text, &random);
        clock_t began = clock();
        computed[seed % 3] += compute_all(seed, &text, metals);
        slowest = fmax(slowest, (double)(clock() - began) / CLOCKS_PER_SEC);
        if (slowest > 60.0) fail_msg("seed %u: takes over a minute", seed);
        text_clear(&text);
    }
    print_message("computed %d pods, %d sensitivities, %d fits; the slowest took %.2f s\n",
                  computed[0], computed[1], computed[2], slowest);
    assert_true(computed[0] > 150 && computed[1] > 150 && computed[2] > 60);
    metals_free(metals);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_extremes)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
