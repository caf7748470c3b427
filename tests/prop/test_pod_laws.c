/* However a head, a piece and its places are drawn, the quick count of what is found is that of the
 * whole traces: the table of directions, the strides and their peaks skip nothing that decides. The
 * noise is set so that many trials are near the limit. The seed is printed on failure. */
#include "pod_looks.h"

enum { ROUNDS = 240, TRIALS = 80, TURNS_ROUNDS = 50, TURNS_TRIALS = 20000 };

static double between(Random *random, double low, double high)
{
    return low * pow(high / low, random_unit(random));
}

static ProductBlock draw_product(Random *random, const CoilHead *coils)
{
    double height = coils->aperture_height_m;
    return (ProductBlock){.length_m = between(random, 0.02, 0.5),
                          .width_m = coils->aperture_width_m * (0.1 + 0.8 * random_unit(random)),
                          .height_m = height * (0.1 + 0.6 * random_unit(random)),
                          .columns_across = 1,
                          .columns_up = 1,
                          .conductivity_s_per_m = between(random, 1e-3, 2.0),
                          .relative_permeability = 1.0,
                          .centre_up_m = 0.15 * height * (2.0 * random_unit(random) - 1.0),
                          .amplitude_variation = 0.08,
                          .phase_variation_rad = 0.02};
}

static PodDescription draw_description(Random *random)
{
    double width = between(random, 0.05, 2.0);
    double height = width * (0.3 + 0.7 * random_unit(random));
    double clearance = between(random, 0.005, 0.1);
    double offset = (0.1 + 0.8 * random_unit(random)) * (height + 2.0 * clearance);
    if (random_below(random, 8) == 0) offset *= 0.01;
    double thick = between(random, 1e-4, 2e-3);
    PodDescription d = {
        .pass = {.head = {.coils = {width, height, clearance, offset},
                          .frequency_hz = between(random, 2e4, 1e6),
                          .noise_v = 1e-9,
                          .false_reject_rate = between(random, 1e-9, 1e-2)},
                 .has_product = true,
                 .target = {.shape = TARGET_WIRE,
                            .diameter_m = thick,
                            .length_m = thick * between(random, 2.0, 60.0),
                            .direction = {random_unit(random) - 0.5, 0.3, random_unit(random)},
                            .metal = {between(random, 2e-8, 1e-6),
                                      random_below(random, 2) == 0 ? 1.0 : 100.0}},
                 .across_m = width * (random_unit(random) - 0.5),
                 .up_m = height * (random_unit(random) - 0.5)},
        .random_direction = random_below(random, 5) > 0,
        .place = (PodPlace)random_below(random, 3),
        .trials = TRIALS,
        .seed = random_below(random, 1000000)};
    if (random_below(random, 8) == 0) d.pass.target.shape = TARGET_SPHERE;
    double reach = offset + between(random, 0.5, 4.0) * height;
    size_t points = 2 + (size_t)random_below(random, 500);
    d.pass.travel = (DetectGrid){-reach, 2.0 * reach / (double)(points - 1), points};
    if (random_below(random, 4) == 0) d.pass.travel.from_m += reach * random_unit(random);
    d.pass.product = draw_product(random, &d.pass.head.coils);
    if (random_below(random, 6) == 0) {
        d.pass.has_learned = true;
        d.pass.learned = d.pass.product;
        d.pass.product.conductivity_s_per_m *= 1.05;
    }
    return d;
}

/* Noise that brings the piece's ratio, as it passes turned as described, near 1. */
static void set_noise(PodDescription *d, Random *random)
{
    Err err = {0};
    PassResult pass = {0};
    if (!pass_compute(&d->pass, &pass, &err)) fail_msg("%s", err.text);
    double kappa = detect_kappa(d->pass.head.false_reject_rate);
    d->pass.head.noise_v = fmax(1e-15, pass.peak_v / kappa * between(random, 0.2, 1.5));
    pass_result_clear(&pass);
}

static void test_quick_count_is_that_of_traces(void **state)
{
    (void)state;
    uint64_t found = 0;
    for (uint64_t seed = 0; seed < ROUNDS; seed++) {
        Err err = {0};
        Random random;
        PodResult result;
        random_init(&random, seed);
        PodDescription d = draw_description(&random);
        set_noise(&d, &random);
        if (!pod_compute(&d, NULL, &result, &err)) {
            fail_msg("seed %llu: %s", (unsigned long long)seed, err.text);
        }
        uint64_t want = found_by_looks(&d);
        if (result.found != want) {
            fail_msg("seed %llu: %llu found, by looks %llu", (unsigned long long)seed,
                     (unsigned long long)result.found, (unsigned long long)want);
        }
        found += want;
    }
    print_message("%llu of %d found\n", (unsigned long long)found, ROUNDS * TRIALS);
    assert_true(found > ROUNDS * TRIALS / 5 && found < ROUNDS * TRIALS * 4 / 5);
}

/* The more trials, the smaller the cells of directions: a million, of wires at one place. */
static void test_many_turns_are_looks(void **state)
{
    (void)state;
    for (uint64_t seed = 1000; seed < 1000 + TURNS_ROUNDS; seed++) {
        Err err = {0};
        Random random;
        PodResult result;
        random_init(&random, seed);
        PodDescription d = draw_description(&random);
        DetectGrid *travel = &d.pass.travel;
        double reach = travel->step_m * (double)(travel->count - 1);
        d.place = POD_FIXED;
        d.random_direction = true;
        d.pass.target.shape = TARGET_WIRE;
        d.trials = TURNS_TRIALS;
        travel->count = 2 + (size_t)random_below(&random, 40);
        travel->step_m = reach / (double)(travel->count - 1);
        set_noise(&d, &random);
        if (!pod_compute(&d, NULL, &result, &err)) {
            fail_msg("seed %llu: %s", (unsigned long long)seed, err.text);
        }
        uint64_t want = found_by_looks(&d);
        if (result.found != want) {
            fail_msg("seed %llu: %llu found, by looks %llu", (unsigned long long)seed,
                     (unsigned long long)result.found, (unsigned long long)want);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_many_turns_are_looks),
        cmocka_unit_test(test_quick_count_is_that_of_traces),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
