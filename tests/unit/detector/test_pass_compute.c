/* Whole passes against tools/reference.py, which shares nothing with the program: coils by
 * quadrature, metal with coth and Bessel functions at 60 digits, product by Gauss-Legendre, chance
 * by quadrature. */
#include "support.h"

#include "detector/pass.h"
#include "scenario/describe.h"

static double complex pair_of(const JsonValue *value)
{
    return target_complex(json_number(json_at(value, 0)), json_number(json_at(value, 1)));
}

static double number_of(const JsonValue *object, const char *key)
{
    const JsonValue *value = json_get(object, key);
    if (value == NULL) fail_msg("no %s", key);
    return json_number(value);
}

static Vec3 vector_of(const JsonValue *value)
{
    return (Vec3){json_number(json_at(value, 0)), json_number(json_at(value, 1)),
                  json_number(json_at(value, 2))};
}

static void check_vector(const char *name, Vec3 got, Vec3 want, double size)
{
    Vec3 apart = {got.x - want.x, got.y - want.y, got.z - want.z};
    near_or_fail(sqrt(coil_dot(apart, apart)), 0.0, 1e-9 * size, name, __FILE__, __LINE__);
}

/* The whole tensor to 1e-9 of its largest part. */
static void check_tensor(const char *name, const TargetTensor *got, const JsonValue *want)
{
    const double complex parts[3][3] = {
        {got->xx, got->xy, got->xz}, {got->xy, got->yy, got->yz}, {got->xz, got->yz, got->zz}};
    double size = 0.0;
    for (size_t i = 0; i < 9; i++) {
        size = fmax(size, cabs(pair_of(json_at(json_at(want, i / 3), i % 3))));
    }
    for (size_t i = 0; i < 9; i++) {
        near_or_fail(parts[i / 3][i % 3] * 1e9, pair_of(json_at(json_at(want, i / 3), i % 3)),
                     1e-9 * size, name, __FILE__, __LINE__);
    }
}

/* Fields to 1e-9; where the two receivers cancel, of what one alone gives. */
static void check_probes(const char *name, const PassResult *got, const JsonValue *want)
{
    assert_int_equal(got->probe_count, json_count(want));
    for (size_t i = 0; i < got->probe_count; i++) {
        const JsonValue *row = json_at(want, i);
        Vec3 transmit = vector_of(json_get(row, "transmit_per_m"));
        Vec3 receive = vector_of(json_get(row, "receive_per_m"));
        double size = sqrt(coil_dot(transmit, transmit));
        check_vector(name, got->probes[i].transmit_per_m, transmit, size);
        double own = sqrt(coil_dot(receive, receive));
        check_vector(name, got->probes[i].receive_per_m, receive, own > 1e-6 * size ? own : size);
        Vec3 at = vector_of(json_get(row, "at_mm"));
        assert_within(got->probes[i].at_m.x * 1e3, at.x, 1e-9 * fabs(at.x));
    }
}

/* Every point to 1e-8 of itself, or, where the trace goes through zero, 1e-12 of its peak. */
static void check_trace(const char *name, const PassResult *got, const JsonValue *want)
{
    const JsonValue *re = json_get(want, "re_nv");
    const JsonValue *im = json_get(want, "im_nv");
    assert_int_equal(got->travel.count, json_count(re));
    for (size_t i = 0; i < got->travel.count; i++) {
        double complex point =
            target_complex(json_number(json_at(re, i)), json_number(json_at(im, i)));
        double tolerance = fmax(1e-8 * cabs(point), 1e-12 * got->peak_v * 1e9);
        near_or_fail(got->trace_v[i] * 1e9, point, tolerance, name, __FILE__, __LINE__);
        double x_mm = json_number(json_at(json_get(want, "x_mm"), i));
        near_or_fail(detect_place(&got->travel, i) * 1e3, x_mm, 1e-9, name, __FILE__, __LINE__);
    }
}

static void check_case(const char *name, const PassResult *got, const JsonValue *want)
{
    check_tensor(name, &got->polarizability_m3, json_get(want, "polarizability_mm3"));
    check_probes(name, got, json_get(want, "probe"));
    check_trace(name, got, json_get(want, "trace"));
    assert_near_named(name, got->peak_v * 1e9, number_of(want, "peak_nv"), 1e-8);
    near_or_fail(got->peak_x_m * 1e3, number_of(want, "peak_x_mm"), 1e-9, name, __FILE__, __LINE__);
    assert_near_named(name, got->product_peak_v * 1e9, number_of(want, "product_peak_nv"), 1e-6);
    assert_near_named(name, got->limit_along_v * 1e9, number_of(want, "limit_along_nv"), 1e-6);
    assert_near_named(name, got->limit_across_v * 1e9, number_of(want, "limit_across_nv"), 1e-6);
    assert_near_named(name, got->ratio, number_of(want, "ratio"), 1e-6);
    if (got->detected != json_bool(json_get(want, "detected"))) fail_msg("%s: detected", name);
    near_or_fail(got->found_probability, number_of(want, "found_probability"), 1e-6, name, __FILE__,
                 __LINE__);
}

static void test_pass_cases(void **state)
{
    (void)state;
    Err err = {0};
    JsonDoc *doc = NULL;
    MetalTable *metals = NULL;
    if (!metals_load("assets/metals.json", &metals, &err)) fail_msg("%s", err.text);
    if (!json_load("tests/data/pass_cases.json", &doc, &err)) fail_msg("%s", err.text);
    const JsonValue *cases = json_get(json_root(doc), "cases");
    assert_true(json_count(cases) >= 16);
    for (size_t i = 0; i < json_count(cases); i++) {
        const JsonValue *row = json_at(cases, i);
        const char *name = json_string(json_get(row, "name"));
        PassDescription description = {0};
        PassResult result = {0};
        if (!describe_pass(json_get(row, "description"), metals, &description, &err) ||
            !pass_compute(&description, &result, &err)) {
            fail_msg("%s: %s", name, err.text);
        }
        check_case(name, &result, json_get(row, "answer"));
        pass_result_clear(&result);
        pass_description_clear(&description);
    }
    json_free(doc);
    metals_free(metals);
}

static PassDescription plain_pass(void)
{
    return (PassDescription){
        .head = {.coils = {0.7, 0.3, 0.02, 0.13},
                 .frequency_hz = 150e3,
                 .noise_v = 3e-9,
                 .false_reject_rate = 1e-6},
        .target = {.shape = TARGET_SPHERE, .diameter_m = 0.0025, .metal = {7.4e-7, 1.005}},
        .travel = {.from_m = -0.6, .step_m = 0.002, .count = 601}};
}

/* On the axis both lobes are equal but for rounding: the peak is the one at the lower x. */
static void test_pass_peak_is_the_lowest_on_a_tie(void **state)
{
    (void)state;
    Err err = {0};
    PassDescription description = plain_pass();
    for (int i = 0; i < 50; i++) {
        PassResult result = {0};
        description.head.coils.receiver_offset_m = 0.05 + 0.001 * i;
        assert_true(pass_compute(&description, &result, &err));
        assert_true(result.peak_x_m < 0.0);
        pass_result_clear(&result);
    }
}

/* No noise on a bare belt, or so little that the ratio is no number, is refused in words. */
static void test_pass_without_limit(void **state)
{
    (void)state;
    const struct {
        double noise_v;
        const char *says;
    } rows[] = {{0.0, "limit_along_nv is 0"}, {1e-320, "noise_nv is too small"}};
    for (int i = 0; i < 2; i++) {
        Err err = {0};
        PassDescription description = plain_pass();
        PassResult result = {0};
        description.head.noise_v = rows[i].noise_v;
        assert_false(pass_compute(&description, &result, &err));
        assert_int_equal(err.code, ERR_RANGE);
        assert_non_null(strstr(err.text, rows[i].says));
        assert_null(result.trace_v);
    }
}

/* Beyond 0.4 of the smaller side of the coils a head is not plausible. */
static void test_head_is_plausible(void **state)
{
    (void)state;
    CoilHead coils = {0.7, 0.3, 0.02, 0.4 * 0.34};
    assert_true(pass_head_is_plausible(&coils));
    coils.receiver_offset_m = 0.4 * 0.34 * (1.0 + 1e-9);
    assert_false(pass_head_is_plausible(&coils));
    coils = (CoilHead){0.3, 0.7, 0.02, 0.136};
    assert_true(pass_head_is_plausible(&coils));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pass_cases),
        cmocka_unit_test(test_pass_peak_is_the_lowest_on_a_tie),
        cmocka_unit_test(test_pass_without_limit),
        cmocka_unit_test(test_head_is_plausible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
