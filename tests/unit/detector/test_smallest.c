/* The smallest sphere found, against ratios computed pass by pass. */
#include "support.h"

#include "base/random.h"
#include "detector/fit.h"
#include "detector/smallest.h"

static const DetectHead HEAD = {.coils = {0.3, 0.15, 0.015, 0.06},
                                .frequency_hz = 300e3,
                                .noise_v = 1e-9,
                                .false_reject_rate = 1e-6};
static const ProductBlock WET = {.length_m = 0.11,
                                 .width_m = 0.07,
                                 .height_m = 0.045,
                                 .columns_across = 1,
                                 .columns_up = 1,
                                 .conductivity_s_per_m = 0.5,
                                 .relative_permeability = 1.0005,
                                 .centre_up_m = -0.04,
                                 .amplitude_variation = 0.05,
                                 .phase_variation_rad = 0.01};
static const TargetMetal STAINLESS = {7.4e-7, 1.005};
static const TargetMetal CHROME = {2.2e-7, 70.0};

enum { POINTS_MAX = 1000 };

typedef struct {
    DetectGrid grid;
    DetectProgram program;
    double coupling[POINTS_MAX], along[POINTS_MAX], across[POINTS_MAX];
    SmallestPlace place;
} Bench;

/* `today` NULL: as learned. */
static void bench_init(Bench *bench, const ProductBlock *learned, const ProductBlock *today,
                       double y, double z)
{
    Err err = {0};
    bench->grid = fit_travel(&HEAD.coils, learned != NULL ? learned->length_m : 0.0);
    assert_true(bench->grid.count <= POINTS_MAX);
    bench->program = (DetectProgram){0};
    assert_true(detect_program_init(&bench->program, &HEAD, learned, &bench->grid, &err));
    smallest_coupling(&HEAD.coils, y, z, &bench->grid, bench->coupling);
    bench->place = (SmallestPlace){.program = &bench->program,
                                   .frequency_hz = HEAD.frequency_hz,
                                   .coupling = bench->coupling,
                                   .count = bench->grid.count};
    if (today == NULL) return;
    double complex signal[POINTS_MAX];
    detect_product_signal(&HEAD, today, &bench->grid, signal);
    detect_excess(&bench->program, signal, bench->grid.count, bench->along, bench->across);
    bench->place.along = bench->along;
    bench->place.across = bench->across;
}

/* The ratio that the whole machinery gives for the same sphere. */
static double ratio_of_trace(const Bench *bench, const ProductBlock *today, TargetMetal metal,
                             double diameter_m, double y, double z)
{
    DetectPiece piece = {
        .piece = {.shape = TARGET_SPHERE, .diameter_m = diameter_m, .metal = metal},
        .across_m = y,
        .up_m = z};
    double along[POINTS_MAX];
    double across[POINTS_MAX];
    DetectLook look;
    detect_trace(&HEAD, &bench->program, today, &piece, 1, &bench->grid, along, across);
    detect_look(along, across, &bench->grid, (const double[2]){0.0, 0.0}, &look);
    return look.ratio;
}

static void test_ratio_is_that_of_a_pass(void **state)
{
    (void)state;
    ProductBlock warm = WET;
    warm.conductivity_s_per_m *= 1.1;
    const struct {
        const ProductBlock *learned, *today;
    } rows[] = {{NULL, NULL}, {&WET, NULL}, {&WET, &warm}, {NULL, &WET}};
    for (int i = 0; i < 4; i++) {
        Bench bench;
        bench_init(&bench, rows[i].learned, rows[i].today, 0.04, -0.03);
        for (double d = 1e-4; d < 0.15; d *= 1.7) {
            assert_near(smallest_ratio(&bench.place, STAINLESS, d),
                        ratio_of_trace(&bench, rows[i].today, STAINLESS, d, 0.04, -0.03), 1e-10);
        }
        detect_program_clear(&bench.program);
    }
}

/* A travel may lie to one side of the coils, where the coupling has one sign: size alone counts. */
static void test_ratio_of_either_lobe(void **state)
{
    (void)state;
    Bench bench;
    bench_init(&bench, &WET, NULL, 0.0, 0.0);
    const double up = 2.0;
    const double down = -2.0;
    bench.place.count = 1;
    bench.place.coupling = &up;
    double ratio = smallest_ratio(&bench.place, CHROME, 0.002);
    bench.place.coupling = &down;
    assert_true(ratio > 0.0 && smallest_ratio(&bench.place, CHROME, 0.002) == ratio);
    detect_program_clear(&bench.program);
}

/* Just at the wanted ratio, and found from there to the top: looked at in 3000 steps of size. */
static void check_smallest(const Bench *bench, TargetMetal metal, double wanted, double largest_m)
{
    double smallest = -1.0;
    if (!smallest_sphere(&bench->place, metal, wanted, largest_m, &smallest)) {
        assert_true(smallest_ratio(&bench->place, metal, largest_m) < wanted);
        assert_true(smallest == -1.0);
        return;
    }
    for (int i = 0; i <= 3000; i++) {
        double d = smallest * pow(largest_m / smallest, i / 3000.0);
        assert_true(smallest_ratio(&bench->place, metal, d) >= wanted * (1.0 - 1e-12));
    }
    assert_true(smallest_ratio(&bench->place, metal, smallest * (1.0 - 1e-8)) < wanted);
}

static void test_smallest_sphere(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) {
        Bench bench;
        bench_init(&bench, i == 0 ? NULL : &WET, NULL, 0.0, 0.0);
        for (double wanted = 0.01; wanted < 1e7; wanted *= 3.0) {
            check_smallest(&bench, STAINLESS, wanted, 0.15);
            check_smallest(&bench, CHROME, wanted, 0.15);
        }
        detect_program_clear(&bench.program);
    }
}

/* Under a product that differs from the learned one the trace of a sphere and the excess can
 * cancel, so that a larger sphere is missed where a smaller one is found: the answer lies above the
 * gap. A spread far wider along the axis than across it does the same as the sphere's phase turns
 * through the axis. */
static void test_smallest_sphere_above_a_gap(void **state)
{
    (void)state;
    ProductBlock wide = WET;
    wide.amplitude_variation = 50.0;
    wide.phase_variation_rad = 1e-4;
    Bench bench;
    bench_init(&bench, &wide, NULL, 0.0, 0.0);
    int gaps = 0;
    double last = 0.0;
    for (double d = 1e-3; d < 0.15; d *= 1.01) {
        double ratio = smallest_ratio(&bench.place, CHROME, d);
        gaps += ratio < last;
        last = ratio;
    }
    assert_true(gaps > 0); /* the case is one */
    for (double wanted = 1e-3; wanted < 1e6; wanted *= 1.15) {
        check_smallest(&bench, CHROME, wanted, 0.15);
    }
    detect_program_clear(&bench.program);
}

/* Where the product alone exceeds the ratio any sphere is found, and none is too small. */
static void test_smallest_sphere_in_rejected_product(void **state)
{
    (void)state;
    Bench bench;
    bench_init(&bench, NULL, &WET, 0.0, 0.0);
    double alone = ratio_of_trace(&bench, &WET, STAINLESS, 1e-9, 0.0, 0.0);
    double smallest = -1.0;
    assert_true(
        smallest_sphere(&bench.place, (TargetMetal){1e15, 1.0}, 0.5 * alone, 0.15, &smallest));
    assert_true(smallest == 0.0);
    detect_program_clear(&bench.program);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ratio_is_that_of_a_pass),
        cmocka_unit_test(test_ratio_of_either_lobe),
        cmocka_unit_test(test_smallest_sphere),
        cmocka_unit_test(test_smallest_sphere_above_a_gap),
        cmocka_unit_test(test_smallest_sphere_in_rejected_product),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
