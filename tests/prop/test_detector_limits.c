/* Every stated limit of a description at once: all corners of what a head, a piece and a product
 * may be, and the longest travels, maps and trials. Each runs to its end, answers no NaN, or says
 * in one line why not, and the whole stays below 1 GB.
 *
 *   test_detector_limits         all corners with short travels, and one of each long kind in small
 *   test_detector_limits long    the long kinds at their limits, with the seconds of each: a
 *                                quarter of an hour, most of it a pack far larger than the coils,
 *                                where no bound spares a point of the travel
 */
#include "support.h"

#include <sys/resource.h>
#include <time.h>

#include "detector/fit.h"
#include "detector/pod.h"
#include "detector/sensitivity.h"

#define MEMORY_MAX_KB 1048576L

/* Bit `at` of `corner` chooses one of two ends. */
static double end_of(unsigned corner, int at, double low, double high)
{
    return (corner >> at & 1u) != 0 ? high : low;
}

static ProductBlock product_at(unsigned corner)
{
    int columns = (corner >> 9 & 1u) != 0 ? 50 : 1;
    return (ProductBlock){.length_m = end_of(corner, 9, 1e-6, 5.0),
                          .width_m = end_of(corner, 10, 1e-6, 5.0),
                          .height_m = end_of(corner, 11, 1e-6, 5.0),
                          .columns_across = columns,
                          .columns_up = columns,
                          .conductivity_s_per_m = end_of(corner, 10, 100.0, 0.0),
                          .relative_permeability = end_of(corner, 11, 1.0, 1.1),
                          .centre_up_m = end_of(corner, 9, 0.0, -1.0),
                          .amplitude_variation = 1e-3,
                          .phase_variation_rad = 1e-3};
}

/* Spheres and wires of the least and the largest size; the last is 1000 mm by 0.02 mm. */
static TargetPiece piece_at(unsigned corner)
{
    static const TargetPiece pieces[4] = {
        {.shape = TARGET_SPHERE, .diameter_m = 1e-5, .direction = {1, 0, 0}},
        {.shape = TARGET_SPHERE, .diameter_m = 0.1, .direction = {1, 0, 0}},
        {.shape = TARGET_WIRE,
         .diameter_m = 0.1,
         .length_m = 0.2,
         .direction = {1e-300, 0, 1e-300}},
        {.shape = TARGET_WIRE, .diameter_m = 2e-5, .length_m = 1.0, .direction = {1, -1e6, 3}}};
    TargetPiece piece = pieces[corner >> 7 & 3u];
    piece.metal = (TargetMetal){end_of(corner, 5, 1e-15, 1e15), end_of(corner, 6, 1.0, 1e5)};
    return piece;
}

static PassDescription pass_at(unsigned corner, size_t points)
{
    PassDescription pass = {
        .head = {.coils = {end_of(corner, 0, 0.02, 3.0), end_of(corner, 1, 0.02, 3.0),
                           end_of(corner, 2, 1e-3, 0.5), end_of(corner, 3, 1e-5, 5.0)},
                 .frequency_hz = end_of(corner, 4, 100.0, 2e6),
                 .noise_v = end_of(corner, 12, 1e-12, 1e-3),
                 .false_reject_rate = end_of(corner, 13, 1e-15, 0.5)},
        .has_product = true,
        .product = product_at(corner),
        .has_learned = (corner >> 14 & 1u) != 0,
        .learned = product_at(corner ^ 0xE00u),
        .target = piece_at(corner),
        .travel = {-2.5, 5.0 / (double)(points - 1), points}};
    pass.across_m = end_of(corner, 12, 0.0, 0.499 * pass.head.coils.aperture_width_m);
    pass.up_m = end_of(corner, 13, 0.0, -0.499 * pass.head.coils.aperture_height_m);
    return pass;
}

enum { CORNERS = 1 << 15 };

static void try_pass(unsigned corner, size_t points, int *refused)
{
    Err err = {0};
    PassResult result = {0};
    PassDescription pass = pass_at(corner, points);
    if (!pass_compute(&pass, &result, &err)) {
        assert_int_equal(err.code, ERR_RANGE);
        (*refused)++;
        return;
    }
    bool is_good = isfinite(result.ratio) && result.ratio >= 0.0 && isfinite(result.peak_v) &&
                   isfinite(result.product_peak_v) && isfinite(result.limit_along_v) &&
                   result.found_probability >= 0.0 && result.found_probability <= 1.0;
    for (size_t i = 0; i < points; i++) {
        is_good =
            is_good && isfinite(creal(result.trace_v[i])) && isfinite(cimag(result.trace_v[i]));
    }
    if (!is_good) fail_msg("corner %u, %zu points: not a number", corner, points);
    pass_result_clear(&result);
}

static bool is_long;

static double seconds(void)
{
    return (double)clock() / CLOCKS_PER_SEC;
}

/* The most memory that was used up to now. */
static long peak_kb(void)
{
    struct rusage usage;
    assert_int_equal(getrusage(RUSAGE_SELF, &usage), 0);
    return usage.ru_maxrss;
}

static void tell(const char *what, double began)
{
    if (!is_long) return;
    print_message("%-52s %8.2f s, %ld kB at most\n", what, seconds() - began, peak_kb());
}

/* All corners; then the longest travel in the least and the largest head. */
static void test_passes(void **state)
{
    (void)state;
    int refused = 0;
    double began = seconds();
    unsigned step = is_long ? 1 : 7;
    for (unsigned corner = 0; corner < CORNERS; corner += step) {
        try_pass(corner, 21, &refused);
    }
    tell("32768 corners of a pass", began);
    assert_true(refused < CORNERS / 4);
    const unsigned longest[] = {0, 0x7FFF, 0x1 | 0x180, 0x2 | 0xE00, 0x4F9F, 0x2180};
    for (size_t i = 0; i < sizeof longest / sizeof longest[0]; i++) {
        began = seconds();
        try_pass(longest[i], DETECT_GRID_POINTS_MAX, &refused);
        tell("a pass of 100001 points", began);
    }
}

static void try_pod(unsigned corner, PodPlace place, uint64_t trials, size_t points)
{
    Err err = {0};
    PodResult result;
    PodDescription pod = {.pass = pass_at(corner, points),
                          .random_direction = true,
                          .place = place,
                          .trials = trials,
                          .seed = corner};
    if (!pod_compute(&pod, NULL, &result, &err)) {
        assert_int_equal(err.code, ERR_RANGE);
        return;
    }
    bool is_good = result.found <= trials && result.interval.low >= 0.0 &&
                   result.interval.low <= result.probability &&
                   result.interval.high >= result.probability && result.interval.high <= 1.0;
    if (!is_good) fail_msg("corner %u, place %d: no chance", corner, (int)place);
}

static void test_pods(void **state)
{
    (void)state;
    unsigned step = is_long ? 5 : 131;
    double began = seconds();
    for (unsigned corner = 0; corner < CORNERS; corner += step) {
        try_pod(corner, (PodPlace)(corner % 3), 30, 41);
    }
    tell("corners of a pod", began);
    const struct {
        const char *name;
        unsigned corner;
        PodPlace place;
        uint64_t trials;
        size_t points;
    } rows[] = {
        {"pod, one place, most trials", 0x19F, POD_FIXED, POD_TRIALS_MAX, 200},
        {"pod, one place, longest travel", 0x19F, POD_FIXED, 19999, DETECT_GRID_POINTS_MAX},
        {"pod, pack, most trials", 0x1D3, POD_PACK, POD_TRIALS_MAX, 200},
        {"pod, pack, longest travel", 0x1D3, POD_PACK, 19999, DETECT_GRID_POINTS_MAX},
        {"pod, pack far larger than the coils", 0xF98, POD_PACK, POD_TRIALS_MAX, 200},
        {"pod, aperture, not as learned", 0x41D3, POD_APERTURE, POD_TRIALS_MAX, 200},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        began = seconds();
        try_pod(rows[i].corner, rows[i].place, rows[i].trials / (is_long ? 1 : 10000) + 1 - is_long,
                is_long ? rows[i].points : rows[i].points / 20 + 2);
        tell(rows[i].name, began);
    }
}

static void try_map(unsigned corner, size_t places, size_t points, size_t metals)
{
    Err err = {0};
    SensitivityResult result = {0};
    SensitivityDescription map = {.pass = pass_at(corner, points),
                                  .metal_count = metals,
                                  .place_count = places,
                                  .found_probability = 0.99999};
    map.places = check_calloc(places, sizeof *map.places);
    for (size_t i = 0; i < places; i++) {
        double part = (double)i / (double)places;
        map.places[i].across_m = map.pass.head.coils.aperture_width_m * (part - 0.5);
        map.places[i].up_m =
            map.pass.head.coils.aperture_height_m * (fmod(part * 317.0, 1.0) - 0.5);
    }
    for (size_t m = 0; m < metals; m++) {
        double part = (double)m / SENSITIVITY_METALS_MAX;
        map.metals[m] = (TargetMetal){1e-15 * pow(1e30, part), pow(1e5, fmod(part * 7.0, 1.0))};
    }
    if (!sensitivity_compute(&map, NULL, &result, &err)) assert_int_equal(err.code, ERR_RANGE);
    for (size_t i = 0; i < result.count; i++) {
        double d = result.answers[i].diameter_m;
        if (!(d >= 0.0) || d > map.pass.head.coils.aperture_height_m * (1.0 + 1e-9)) {
            fail_msg("corner %u: answer %zu is %g", corner, i, d);
        }
    }
    sensitivity_result_clear(&result);
    sensitivity_description_clear(&map);
}

static void test_maps(void **state)
{
    (void)state;
    double began = seconds();
    unsigned step = is_long ? 31 : 997;
    for (unsigned corner = 0; corner < CORNERS; corner += step) {
        try_map(corner, 5, 41, 3);
    }
    tell("corners of a map", began);
    const struct {
        const char *name;
        unsigned corner;
        size_t places, points, metals;
    } rows[] = {
        {"map of most places, 32 metals", 0x1, 100000, 10000, 32},
        {"map of most places in the largest head", 0x3, 100000, 10000, 32},
        {"map of the longest travel", 0x17, 9999, DETECT_GRID_POINTS_MAX, 32},
        {"map of a product not as learned", 0x4003, 3125, 1000, 32},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        began = seconds();
        try_map(rows[i].corner, rows[i].places / (is_long ? 1 : 1000) + 1 - is_long,
                rows[i].points / (is_long ? 1 : 100) + 1 - is_long, rows[i].metals);
        tell(rows[i].name, began);
    }
}

static void test_memory(void **state)
{
    (void)state;
    print_message("%ld kB at most\n", peak_kb());
    assert_true(peak_kb() < MEMORY_MAX_KB);
}

int main(int argc, char **argv)
{
    is_long = argc > 1 && strcmp(argv[1], "long") == 0;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_passes),
        cmocka_unit_test(test_pods),
        cmocka_unit_test(test_maps),
        cmocka_unit_test(test_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
