/* Places and maps against the smallest sphere found place by place. */
#include "support.h"

#include "base/random.h"
#include "detector/fit.h"
#include "detector/sensitivity.h"
#include "detector/smallest.h"

enum { POINTS_MAX = 2000 };

static double between(Random *random, double low, double high)
{
    return low + (high - low) * random_unit(random);
}

static double spread(Random *random, double low, double high)
{
    return low * pow(high / low, random_unit(random));
}

static CoilHead draw_coils(Random *random)
{
    double width = spread(random, 0.02, 3.0);
    double height = spread(random, 0.02, 3.0);
    return (CoilHead){width, height, between(random, 0.001, 0.5), spread(random, 0.001, 5.0)};
}

/* What is taken in strides is what the whole travel gives, in any head, at any place in or beside
 * the aperture, on any travel. The seed is printed on failure. */
static void test_largest_coupling_in_strides(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < 2000; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random);
        double span = coils.receiver_offset_m + coils.aperture_height_m;
        size_t count = 2 + (size_t)random_below(&random, POINTS_MAX - 1);
        DetectGrid grid = {-span, 2.0 * span / (double)(count - 1), count};
        if (seed % 3 == 0) grid.from_m *= between(&random, -1.0, 1.0);
        double y = coils.aperture_width_m * between(&random, -0.6, 0.6);
        double z = coils.aperture_height_m * between(&random, -0.6, 0.6);
        static double coupling[POINTS_MAX];
        double want = 0.0;
        smallest_coupling(&coils, y, z, &grid, coupling);
        for (size_t i = 0; i < count; i++) {
            want = fmax(want, fabs(coupling[i]));
        }
        double got = smallest_largest_coupling(&coils, y, z, &grid);
        if (fabs(got - want) > 1e-9 * want) {
            fail_msg("seed %u: got %.17g, want %.17g", seed, got, want);
        }
    }
}

static ProductBlock draw_product(Random *random, const CoilHead *coils)
{
    return (ProductBlock){.length_m = spread(random, 0.01, 1.0),
                          .width_m = spread(random, 0.01, 1.0),
                          .height_m = spread(random, 0.01, 1.0),
                          .columns_across = 1,
                          .columns_up = 1,
                          .conductivity_s_per_m = spread(random, 1e-4, 100.0),
                          .relative_permeability = between(random, 1.0, 1.005),
                          .centre_up_m = coils->aperture_height_m * between(random, -0.3, 0.3),
                          .amplitude_variation = spread(random, 0.001, 0.3),
                          .phase_variation_rad = spread(random, 0.001, 0.3)};
}

/* Eight couplings by both; returns how many spheres there were. */
static int compare_with_walk(unsigned seed, Random *random, SmallestCurve *curve,
                             const DetectProgram *program, double frequency_hz, TargetMetal metal,
                             double largest_m)
{
    int found = 0;
    for (int k = 0; k < 8; k++) {
        double coupling = spread(random, 1e-6, 1e6);
        SmallestPlace place = {
            .program = program, .frequency_hz = frequency_hz, .coupling = &coupling, .count = 1};
        double want = 0.0;
        double got = 0.0;
        bool is_there = smallest_sphere(&place, metal, 1.8, largest_m, &want);
        if (smallest_curve_sphere(curve, coupling, 1.8, &got) != is_there ||
            fabs(got - want) > 1e-7 * want) {
            fail_msg("seed %u, %d: got %.12g, want %.12g", seed, k, got, want);
        }
        found += is_there && want > 0.0;
    }
    return found;
}

/* The curve's answers are those of the walk with halving: any head, product and metal, from ratios
 * that the largest sphere just has to such as a speck has. */
static void test_curve_is_the_walk(void **state)
{
    (void)state;
    int found = 0;
    for (unsigned seed = 0; seed < 300; seed++) {
        Random random;
        random_init(&random, seed);
        Err err = {0};
        DetectHead head = {.coils = draw_coils(&random),
                           .frequency_hz = spread(&random, 100.0, 2e6),
                           .noise_v = spread(&random, 1e-12, 1e-6),
                           .false_reject_rate = 1e-6};
        DetectGrid grid = {-0.5, 0.01, 101};
        ProductBlock product = draw_product(&random, &head.coils);
        TargetMetal metal = {spread(&random, 1e-8, 1e-6),
                             seed % 2 == 0 ? 1.0 : spread(&random, 1.0, 1000.0)};
        DetectProgram program = {0};
        assert_true(
            detect_program_init(&program, &head, seed % 3 == 0 ? NULL : &product, &grid, &err));
        double largest_m = head.coils.aperture_height_m;
        SmallestCurve *curve = smallest_curve_new(&program, head.frequency_hz, metal, largest_m);
        found +=
            compare_with_walk(seed, &random, curve, &program, head.frequency_hz, metal, largest_m);
        smallest_curve_free(curve);
        detect_program_clear(&program);
    }
    assert_true(found > 1000);
}

static SensitivityDescription survey(Random *random, bool learned_differs)
{
    SensitivityDescription d = {.metals = {{7.4e-7, 1.005}, {2.2e-7, 70.0}}, .metal_count = 2};
    PassDescription *pass = &d.pass;
    pass->head = (DetectHead){.coils = {0.3, 0.15, 0.015, 0.06},
                              .frequency_hz = 300e3,
                              .noise_v = 1e-9,
                              .false_reject_rate = 1e-6};
    pass->travel = (DetectGrid){-0.5, 0.004, 251};
    pass->has_product = true;
    pass->product = draw_product(random, &pass->head.coils);
    pass->has_learned = learned_differs;
    pass->learned = pass->product;
    pass->product.conductivity_s_per_m *= learned_differs ? 1.05 : 1.0;
    d.place_count = 9;
    d.places = check_calloc(9, sizeof *d.places);
    for (int i = 0; i < 9; i++) {
        d.places[i] = (SensitivityPlace){0.14 * (i % 3 - 1), 0.065 * ((int)(i / 3) - 1)};
    }
    return d;
}

/* A sphere a little larger has the ratio, one a little smaller has not. */
static void check_by_passes(unsigned seed, const SensitivityDescription *d, size_t place,
                            size_t metal, double diameter_m, double wanted)
{
    for (int side = -1; side <= 1; side += 2) {
        Err err = {0};
        PassDescription pass = d->pass;
        PassResult there = {0};
        pass.target = (TargetPiece){.shape = TARGET_SPHERE,
                                    .diameter_m = diameter_m * (1.0 + side * 1e-6),
                                    .metal = d->metals[metal]};
        pass.across_m = d->places[place].across_m;
        pass.up_m = d->places[place].up_m;
        assert_true(pass_compute(&pass, &there, &err));
        if ((there.ratio >= wanted) != (side > 0)) {
            fail_msg("seed %u, place %zu: %.9g", seed, place, there.ratio / wanted);
        }
        pass_result_clear(&there);
    }
}

/* Every answer by pass_compute. Mirrored places answer alike. */
static void test_answers_are_passes(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < 12; seed++) {
        Random random;
        random_init(&random, seed);
        SensitivityDescription d = survey(&random, seed % 2 == 1);
        SensitivityResult result = {0};
        Err err = {0};
        d.found_probability = seed % 3 == 0 ? 0.0 : 0.99999;
        assert_true(sensitivity_compute(&d, NULL, &result, &err));
        double wanted =
            d.found_probability > 0.0 ? detect_ratio_for(0.99999, detect_kappa(1e-6)) : 1.0;
        assert_true(result.wanted_ratio == wanted && result.count == 18);
        for (size_t i = 0; i < result.count; i++) {
            const SensitivityAnswer *answer = &result.answers[i];
            const SensitivityAnswer *mirrored = &result.answers[16 - 2 * (i / 2) + i % 2];
            assert_true(answer->found == mirrored->found);
            assert_true(answer->diameter_m == mirrored->diameter_m);
            if (!answer->found || !(answer->diameter_m > 0.0)) continue;
            check_by_passes(seed, &d, i / 2, i % 2, answer->diameter_m, wanted);
        }
        sensitivity_result_clear(&result);
        sensitivity_description_clear(&d);
    }
}

static bool stop_at_once(void *context, double part)
{
    (void)context;
    (void)part;
    return false;
}

static void test_sensitivity_stops(void **state)
{
    (void)state;
    Random random;
    random_init(&random, 1);
    SensitivityDescription d = survey(&random, false);
    SensitivityResult result = {0};
    Err err = {0};
    assert_false(sensitivity_compute(&d, &(Progress){stop_at_once, NULL}, &result, &err));
    assert_int_equal(err.code, ERR_STOPPED);
    assert_null(result.answers);
    sensitivity_description_clear(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_largest_coupling_in_strides),
        cmocka_unit_test(test_curve_is_the_walk),
        cmocka_unit_test(test_answers_are_passes),
        cmocka_unit_test(test_sensitivity_stops),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
