/* Trials against the run's own look, and a sphere's share against its closed chance. */
#include "pod_looks.h"

static const ProductBlock WET = {.length_m = 0.15,
                                 .width_m = 0.1,
                                 .height_m = 0.06,
                                 .columns_across = 1,
                                 .columns_up = 1,
                                 .conductivity_s_per_m = 0.15,
                                 .relative_permeability = 1.0,
                                 .centre_up_m = -0.1,
                                 .amplitude_variation = 0.08,
                                 .phase_variation_rad = 0.02};

static PodDescription wire_in_pack(PodPlace place, size_t points)
{
    return (PodDescription){
        .pass = {.head = {.coils = {0.7, 0.3, 0.02, 0.13},
                          .frequency_hz = 150e3,
                          .noise_v = 60e-9,
                          .false_reject_rate = 1e-6},
                 .has_product = true,
                 .product = WET,
                 .target = {TARGET_WIRE, 0.0007, 0.036, {1, 1, 0}, {1.5e-7, 90.0}},
                 .across_m = 0.02,
                 .up_m = -0.1,
                 .travel = {-0.6, 1.2 / (double)(points - 1), points}},
        .random_direction = true,
        .place = place,
        .trials = 300,
        .seed = 1};
}

static void check_trials(const char *name, const PodDescription *d)
{
    Err err = {0};
    PodResult result;
    if (!pod_compute(d, NULL, &result, &err)) fail_msg("%s: %s", name, err.text);
    uint64_t want = found_by_looks(d);
    if (result.found != want) {
        fail_msg("%s, seed %llu: %llu found, by looks %llu", name, (unsigned long long)d->seed,
                 (unsigned long long)result.found, (unsigned long long)want);
    }
    assert_int_equal(result.trials, d->trials);
    assert_true(result.probability == (double)result.found / (double)result.trials);
    assert_true(result.interval.low <= result.probability);
    assert_true(result.interval.high >= result.probability);
}

/* What is skipped could not have been the largest: in every kind of arrangement the count is that
 * of the whole traces. Travels of few and of many points, in full arcs and not. */
static void test_trials_are_looks(void **state)
{
    (void)state;
    const size_t points[] = {2, 3, 64, 65, 66, 129, 300, 601, 1201};
    for (size_t k = 0; k < sizeof points / sizeof points[0]; k++) {
        for (PodPlace place = POD_FIXED; place <= POD_APERTURE; place++) {
            PodDescription d = wire_in_pack(place, points[k]);
            d.seed = k;
            if (place != POD_FIXED) d.trials = 60;
            check_trials("as learned", &d);
            d.pass.has_learned = true;
            d.pass.learned = WET;
            d.pass.product.conductivity_s_per_m *= 1.1;
            check_trials("warmer than learned", &d);
            d.pass.product.relative_permeability = 1.002;
            d.pass.across_m = 0.3;
            check_trials("another product, at the wall", &d);
            d.pass.target.shape = TARGET_SPHERE;
            d.pass.target.diameter_m = 0.004;
            check_trials("sphere", &d);
        }
    }
    PodDescription bare = wire_in_pack(POD_APERTURE, 301);
    bare.pass.has_product = false;
    check_trials("bare belt", &bare);
    bare.place = POD_FIXED;
    bare.random_direction = false;
    check_trials("one direction", &bare);
    bare.pass.has_learned = true;
    bare.pass.learned = WET;
    check_trials("bare belt under a program", &bare);
    bare.pass.travel.from_m = 0.1; /* one lobe alone */
    check_trials("one lobe", &bare);
}

/* The share found of a sphere at a fixed place has a closed form, Q1(kappa r, kappa). Its 95 %
 * interval holds it in at least 90 of 100 seeds. */
static void test_sphere_within_its_interval(void **state)
{
    (void)state;
    Err err = {0};
    PodDescription d = wire_in_pack(POD_FIXED, 301);
    d.pass.target =
        (TargetPiece){.shape = TARGET_SPHERE, .diameter_m = 0.0048, .metal = {2.2e-7, 70.0}};
    d.trials = 2000;
    PassResult pass = {0};
    assert_true(pass_compute(&d.pass, &pass, &err));
    print_message("ratio %.3f, chance %.4f\n", pass.ratio, pass.found_probability);
    assert_true(pass.found_probability > 0.05 && pass.found_probability < 0.95);
    int inside = 0;
    for (d.seed = 0; d.seed < 100; d.seed++) {
        PodResult result;
        assert_true(pod_compute(&d, NULL, &result, &err));
        inside += result.interval.low <= pass.found_probability &&
                  result.interval.high >= pass.found_probability;
    }
    print_message("the closed chance lies in %d of 100 intervals\n", inside);
    assert_true(inside >= 90);
    pass_result_clear(&pass);
}

/* A wire turned anyhow, by the mean of the closed chance over the sphere of directions, by
 * midpoints. */
static void test_wire_turned_anyhow(void **state)
{
    (void)state;
    enum { RINGS = 40, TURNS = 60 };
    Err err = {0};
    PodDescription d = wire_in_pack(POD_FIXED, 121);
    double mean = 0.0;
    for (int i = 0; i < RINGS; i++) {
        for (int k = 0; k < TURNS; k++) {
            double x = 2.0 * (i + 0.5) / RINGS - 1.0;
            double angle = 6.283185307179586 * (k + 0.5) / TURNS;
            double side = sqrt(1.0 - x * x);
            PassResult pass = {0};
            d.pass.target.direction = (Vec3){x, side * cos(angle), side * sin(angle)};
            assert_true(pass_compute(&d.pass, &pass, &err));
            mean += pass.found_probability / (RINGS * TURNS);
            pass_result_clear(&pass);
        }
    }
    PodResult result;
    d.trials = 200000;
    assert_true(pod_compute(&d, NULL, &result, &err));
    assert_within(result.probability, mean, 5.0 * sqrt(mean * (1.0 - mean) / 200000.0) + 2e-3);
}

/* A progress that ends after some steps. */
static bool step_down(void *context, double part)
{
    int *left = context;
    assert_true(part >= 0.0 && part <= 1.0);
    return --*left > 0;
}

static void test_pod_stops(void **state)
{
    (void)state;
    Err err = {0};
    PodDescription d = wire_in_pack(POD_PACK, 301);
    PodResult result = {.trials = 77};
    int left = 2;
    d.trials = 100000;
    assert_false(pod_compute(&d, &(Progress){step_down, &left}, &result, &err));
    assert_int_equal(err.code, ERR_STOPPED);
    assert_int_equal(result.trials, 77);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_trials_are_looks),
        cmocka_unit_test(test_sphere_within_its_interval),
        cmocka_unit_test(test_wire_turned_anyhow),
        cmocka_unit_test(test_pod_stops),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
