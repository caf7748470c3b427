/* Passes, places and trials against a plain numpy program that shares nothing with the library:
 * tests/data/numpy_cases.json, made by `tools/numpy_detector.py --cases`. Its product is 400 slices
 * by the midpoint rule, which sets the tolerances; its trials are drawn by another generator, so
 * that the two shares found differ by luck alone. */
#include "support.h"

#include "scenario/describe.h"

typedef struct {
    JsonDoc *doc;
    MetalTable *metals;
} Cases;

static int load_cases(void **state)
{
    Err err = {0};
    Cases *cases = check_calloc(1, sizeof *cases);
    *state = cases;
    return json_load("tests/data/numpy_cases.json", &cases->doc, &err) &&
                   metals_load("assets/metals.json", &cases->metals, &err)
               ? 0
               : -1;
}

static int free_cases(void **state)
{
    Cases *cases = *state;
    json_free(cases->doc);
    metals_free(cases->metals);
    free(cases);
    return 0;
}

static double number_of(const JsonValue *object, const char *key)
{
    return json_number(json_get(object, key));
}

static void test_passes(void **state)
{
    const Cases *cases = *state;
    const JsonValue *list = json_get(json_root(cases->doc), "pass");
    assert_int_equal(json_count(list), 4);
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *want = json_get(json_at(list, i), "answer");
        PassDescription pass = {0};
        PassResult got = {0};
        Err err = {0};
        if (!describe_pass(json_get(json_at(list, i), "description"), cases->metals, &pass, &err) ||
            !pass_compute(&pass, &got, &err)) {
            fail_msg("pass %zu: %s", i, err.text);
        }
        assert_near(got.peak_v * 1e9, number_of(want, "peak_nv"), 1e-9);
        assert_near(got.ratio, number_of(want, "ratio"), 1e-5);
        assert_near(got.limit_along_v * 1e9, number_of(want, "limit_along_nv"), 1e-5);
        assert_near(got.limit_across_v * 1e9, number_of(want, "limit_across_nv"), 1e-5);
        for (size_t k = 0; k < got.travel.count; k++) {
            double complex point = target_complex(json_number(json_at(json_get(want, "re_nv"), k)),
                                                  json_number(json_at(json_get(want, "im_nv"), k)));
            assert_within(got.trace_v[k] * 1e9, point, 1e-10 * got.peak_v * 1e9);
        }
        pass_result_clear(&got);
        pass_description_clear(&pass);
    }
}

static void test_places(void **state)
{
    const Cases *cases = *state;
    const JsonValue *list = json_get(json_root(cases->doc), "sensitivity");
    int compared = 0;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *want = json_get(json_at(list, i), "answer");
        const JsonValue *asked = json_get(json_at(list, i), "description");
        SensitivityDescription description = {0};
        SensitivityResult got = {0};
        Err err = {0};
        if (!describe_sensitivity(asked, cases->metals, &description, &err) ||
            !sensitivity_compute(&description, NULL, &got, &err)) {
            fail_msg("sensitivity %zu: %s", i, err.text);
        }
        assert_int_equal(json_count(want), description.place_count);
        for (size_t k = 0; k < got.count; k++) {
            size_t metals = description.metal_count;
            const JsonValue *place = json_at(want, k / metals);
            const JsonValue *diameter = json_at(json_get(place, "smallest_mm"), k % metals);
            const SensitivityPlace *at = &description.places[k / metals];
            assert_within(at->across_m * 1e3, json_number(json_at(json_get(place, "at_mm"), 0)),
                          1e-9);
            assert_within(at->up_m * 1e3, json_number(json_at(json_get(place, "at_mm"), 1)), 1e-9);
            assert_true(got.answers[k].found == (json_kind(diameter) == JSON_NUMBER));
            if (!got.answers[k].found) continue;
            assert_near(got.answers[k].diameter_m * 1e3, json_number(diameter), 1e-5);
            compared++;
        }
        sensitivity_result_clear(&got);
        sensitivity_description_clear(&description);
    }
    assert_true(compared > 200);
}

static void test_trials(void **state)
{
    const Cases *cases = *state;
    const JsonValue *list = json_get(json_root(cases->doc), "pod");
    assert_int_equal(json_count(list), 4);
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *want = json_get(json_at(list, i), "answer");
        PodDescription pod = {0};
        PodResult got;
        Err err = {0};
        if (!describe_pod(json_get(json_at(list, i), "description"), cases->metals, &pod, &err) ||
            !pod_compute(&pod, NULL, &got, &err)) {
            fail_msg("pod %zu: %s", i, err.text);
        }
        double p = 0.5 * (got.probability + number_of(want, "probability"));
        double apart = sqrt(2.0 * p * (1.0 - p) / (double)got.trials);
        assert_true(p > 0.001 && p < 0.999);
        assert_within(got.probability, number_of(want, "probability"), 4.0 * apart);
        pass_description_clear(&pod.pass);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_passes),
        cmocka_unit_test(test_places),
        cmocka_unit_test(test_trials),
    };
    return cmocka_run_group_tests(tests, load_cases, free_cases);
}
