/* The fit gives back the numbers that the model was made with, and says what cannot be. */
#include "support.h"

#include "base/random.h"
#include "detector/fit.h"
#include "detector/smallest.h"

static const DetectHead HEAD = {.coils = {0.3, 0.15, 0.015, 0.06},
                                .frequency_hz = 300e3,
                                .noise_v = 0.0,
                                .false_reject_rate = 1e-6};
static const ProductBlock WET = {.length_m = 0.11,
                                 .width_m = 0.07,
                                 .height_m = 0.045,
                                 .columns_across = 1,
                                 .columns_up = 1,
                                 .conductivity_s_per_m = 0.8,
                                 .relative_permeability = 1.0,
                                 .centre_up_m = -0.045,
                                 .amplitude_variation = 0.05,
                                 .phase_variation_rad = 0.01};
static const TargetMetal METALS[] = {{7.4e-7, 1.005}, {2.2e-7, 70.0}, {6.16e-8, 1.0}};

/* The smallest sphere of a metal at the centre in a world of given noise and factor. */
static double smallest_in(double noise_v, double factor, const ProductBlock *product,
                          TargetMetal metal, double wanted)
{
    Err err = {0};
    DetectHead head = HEAD;
    head.noise_v = noise_v;
    DetectGrid grid = fit_travel(&head.coils, product != NULL ? product->length_m : 0.0);
    ProductBlock scaled = WET;
    if (product != NULL) {
        scaled = *product;
        scaled.amplitude_variation *= factor;
        scaled.phase_variation_rad *= factor;
    }
    DetectProgram program = {0};
    assert_true(
        detect_program_init(&program, &head, product != NULL ? &scaled : NULL, &grid, &err));
    double *coupling = check_calloc(grid.count, sizeof *coupling);
    smallest_coupling(&head.coils, 0.0, 0.0, &grid, coupling);
    SmallestPlace place = {.program = &program,
                           .frequency_hz = head.frequency_hz,
                           .coupling = coupling,
                           .count = grid.count};
    double diameter = 0.0;
    assert_true(smallest_sphere(&place, metal, wanted, head.coils.aperture_height_m, &diameter));
    free(coupling);
    detect_program_clear(&program);
    return diameter;
}

/* Spheres validated in a made-up world: the fit finds its noise and its factor. */
static void test_fit_recovers_the_world(void **state)
{
    (void)state;
    double wanted = detect_ratio_for(0.99999, detect_kappa(HEAD.false_reject_rate));
    Random random;
    random_init(&random, 8);
    for (int round = 0; round < 40; round++) {
        double noise_v = 1e-10 * pow(100.0, random_unit(&random));
        double factor = 0.3 + 2.0 * random_unit(&random);
        FitSphere spheres[2][3];
        for (int k = 0; k < 3; k++) {
            spheres[0][k] = (FitSphere){
                METALS[k], smallest_in(noise_v, factor, NULL, METALS[k], wanted), "metal"};
            spheres[1][k] = (FitSphere){
                METALS[k], smallest_in(noise_v, factor, &WET, METALS[k], wanted), "metal"};
        }
        FitProgram programs[] = {{.bare_belt = true, .spheres = spheres[0], .count = 3},
                                 {.product = WET, .spheres = spheres[1], .count = 3}};
        FitResult result = {0};
        Err err = {0};
        if (!fit_head(&HEAD, 0.99999, programs, 2, NULL, &result, &err)) fail_msg("%s", err.text);
        assert_near(result.noise_v, noise_v, 1e-7);
        assert_near(result.variation_factor, factor, 1e-6);
        assert_near(result.wanted_ratio, wanted, 1e-12);
        assert_int_equal(result.count, 6);
        for (size_t i = 0; i < 6; i++) {
            assert_near(result.spheres[i].ratio, wanted, 1e-6);
            assert_true(result.spheres[i].model_found);
            assert_near(result.spheres[i].model_diameter_m, spheres[i / 3][i % 3].diameter_m, 1e-6);
        }
        fit_result_clear(&result);
    }
}

/* One sphere gives the noise alone, exactly; the factor stays 1. So does it when every program has
 * product effect, or none has. */
static void test_fit_factor_stays_1(void **state)
{
    (void)state;
    double wanted = detect_ratio_for(0.999, detect_kappa(HEAD.false_reject_rate));
    FitSphere in_wet[] = {{METALS[1], smallest_in(2e-9, 1.0, &WET, METALS[1], wanted), NULL},
                          {METALS[0], smallest_in(2e-9, 1.0, &WET, METALS[0], wanted), NULL}};
    FitSphere on_bare[] = {{METALS[1], smallest_in(2e-9, 1.0, NULL, METALS[1], wanted), NULL}};
    ProductBlock dry = WET;
    dry.conductivity_s_per_m = 1e-8;
    dry.length_m = 0.108; /* its travel has the places of the bare belt's */
    const FitProgram rows[][2] = {
        {{.product = WET, .spheres = in_wet, .count = 1}, {.bare_belt = true}},
        {{.product = WET, .spheres = in_wet, .count = 2}, {.bare_belt = true}},
        {{.bare_belt = true, .spheres = on_bare, .count = 1},
         {.product = dry, .spheres = on_bare, .count = 1}},
    };
    for (int i = 0; i < 3; i++) {
        FitResult result = {0};
        Err err = {0};
        if (!fit_head(&HEAD, 0.999, rows[i], 2, NULL, &result, &err)) fail_msg("%s", err.text);
        assert_true(result.variation_factor == 1.0);
        assert_near(result.noise_v, 2e-9, 1e-6);
        fit_result_clear(&result);
    }
}

/* Two spheres on a bare belt that no noise satisfies both: the least squares of the logarithms lie
 * at the geometric mean of the two noises. The disagreement is told. */
static void test_fit_disagreement(void **state)
{
    (void)state;
    double wanted = detect_ratio_for(0.999, detect_kappa(HEAD.false_reject_rate));
    FitSphere spheres[] = {{METALS[0], smallest_in(1e-9, 1.0, NULL, METALS[0], wanted), NULL},
                           {METALS[1], smallest_in(4e-9, 1.0, NULL, METALS[1], wanted), NULL}};
    FitProgram program = {.bare_belt = true, .spheres = spheres, .count = 2};
    FitResult result = {0};
    Err err = {0};
    assert_true(fit_head(&HEAD, 0.999, &program, 1, NULL, &result, &err));
    assert_near(result.noise_v, 2e-9, 1e-7);
    assert_near(result.spheres[0].ratio, 0.5 * wanted, 1e-6);
    assert_near(result.spheres[1].ratio, 2.0 * wanted, 1e-6);
    assert_true(result.spheres[0].model_diameter_m > spheres[0].diameter_m);
    assert_true(result.spheres[1].model_diameter_m < spheres[1].diameter_m);
    fit_result_clear(&result);
}

static double misfit_of(const FitProgram *programs, size_t count, double noise_v, double factor)
{
    double wanted = detect_ratio_for(0.999, detect_kappa(HEAD.false_reject_rate));
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < programs[i].count; j++) {
            Err err = {0};
            DetectHead head = HEAD;
            head.noise_v = noise_v;
            ProductBlock product = programs[i].product;
            product.amplitude_variation *= factor;
            product.phase_variation_rad *= factor;
            DetectGrid grid =
                fit_travel(&head.coils, programs[i].bare_belt ? 0.0 : product.length_m);
            DetectProgram program = {0};
            assert_true(detect_program_init(&program, &head,
                                            programs[i].bare_belt ? NULL : &product, &grid, &err));
            double *coupling = check_calloc(grid.count, sizeof *coupling);
            smallest_coupling(&head.coils, 0.0, 0.0, &grid, coupling);
            SmallestPlace place = {.program = &program,
                                   .frequency_hz = head.frequency_hz,
                                   .coupling = coupling,
                                   .count = grid.count};
            const FitSphere *sphere = &programs[i].spheres[j];
            double far = log(smallest_ratio(&place, sphere->metal, sphere->diameter_m) / wanted);
            sum += far * far;
            free(coupling);
            detect_program_clear(&program);
        }
    }
    return sum;
}

/* Tries near and far, of which none may fit better. */
static void check_least(const FitProgram *programs, size_t count, const FitResult *result,
                        Random *random)
{
    double least = misfit_of(programs, count, result->noise_v, result->variation_factor);
    for (int i = 0; i < 40; i++) {
        double reach = i % 2 == 0 ? 2.0 : 0.01;
        double noise_v = result->noise_v * exp(reach * (2.0 * random_unit(random) - 1.0));
        double factor = result->variation_factor * exp(reach * (2.0 * random_unit(random) - 1.0));
        assert_true(misfit_of(programs, count, noise_v, factor) >= least * (1.0 - 1e-9));
    }
}

/* Sites whose spheres follow no model: nothing near or far from the answer fits better. */
static void test_fit_is_the_least(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < 4; seed++) {
        print_message("seed %u\n", seed);
        Random random;
        random_init(&random, seed);
        FitSphere spheres[2][3];
        for (int k = 0; k < 6; k++) {
            double size = k / 3 == 0 ? 0.001 : 0.002;
            spheres[k / 3][k % 3] =
                (FitSphere){METALS[k % 3], size * (1.0 + random_unit(&random)), NULL};
        }
        FitProgram programs[] = {{.bare_belt = true, .spheres = spheres[0], .count = 3},
                                 {.product = WET, .spheres = spheres[1], .count = 3}};
        FitResult result = {0};
        Err err = {0};
        assert_true(fit_head(&HEAD, 0.999, programs, 2, NULL, &result, &err));
        check_least(programs, 2, &result, &random);
        fit_result_clear(&result);
    }
}

/* A sphere that product effect alone hides, even without noise: said with program, sphere and
 * ratio. */
static void test_fit_out_of_reach(void **state)
{
    (void)state;
    ProductBlock brine = WET;
    brine.conductivity_s_per_m = 20.0;
    FitSphere spheres[] = {{METALS[1], 0.02, "chrome-steel"}, {METALS[0], 0.0005, "stainless-316"}};
    FitProgram programs[] = {
        {.product = brine, .spheres = spheres, .count = 2, .name = "brined ham"}};
    FitResult result = {0};
    Err err = {0};
    assert_false(fit_head(&HEAD, 0.999, programs, 1, NULL, &result, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_non_null(
        strstr(err.text, "program 1 \"brined ham\", sphere 2 (0.5 mm \"stainless-316\")"));
    assert_null(result.spheres);
}

/* +-(L/2 + 3H) at 2 mm, both ends included. */
static void test_fit_travel(void **state)
{
    (void)state;
    DetectGrid grid = fit_travel(&HEAD.coils, 0.11);
    assert_near(grid.from_m, -0.505, 1e-15);
    assert_int_equal(grid.count, 506);
    assert_near(detect_place(&grid, 505), 0.505, 1e-12);
    assert_int_equal(fit_travel(&HEAD.coils, 0.0).count, 451);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fit_recovers_the_world), cmocka_unit_test(test_fit_factor_stays_1),
        cmocka_unit_test(test_fit_disagreement),       cmocka_unit_test(test_fit_is_the_least),
        cmocka_unit_test(test_fit_out_of_reach),       cmocka_unit_test(test_fit_travel),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
