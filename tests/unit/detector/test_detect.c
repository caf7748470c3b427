/* The decision: Marcum's Q against tables, programs, looks and trips by hand. */
#include "support.h"

#include "detector/detect.h"

/* Source: noncentral_chi2.csv. With two degrees of freedom the tail beyond x of centre lambda is
 * Q1(sqrt lambda, sqrt x); published values from Patnaik, Biometrika 36 (1949) 202, Table 6. */
static void test_marcum_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/noncentral_chi2.csv");
    size_t checked = 0;
    for (size_t i = 0; i < csv.rows; i++) {
        if (csv_number(&csv, i, "df") != 2.0) continue;
        checked++;
        const char *name = csv_text(&csv, i, "kind");
        double a = sqrt(csv_number(&csv, i, "lambda"));
        double b = sqrt(csv_number(&csv, i, "x"));
        assert_near_named(name, detect_marcum_q1(a, b), csv_number(&csv, i, "sf"), 1e-12);
        assert_near_named(name, detect_marcum_p1(a, b), csv_number(&csv, i, "cdf"), 2e-12);
        if (strcmp(name, "decision") != 0) continue;
        double kappa = detect_kappa(csv_number(&csv, i, "false_reject"));
        double ratio = csv_number(&csv, i, "ratio");
        assert_near(kappa * kappa, csv_number(&csv, i, "x"), 1e-14);
        assert_near(detect_found_probability(ratio, kappa), csv_number(&csv, i, "sf"), 1e-12);
    }
    assert_true(checked >= 30);
    csv_free(&csv);
}

/* Source: marcum_q1.csv, the density integrated with 30 digits (tools/marcum.py), for kappa from 0
 * to 40 and ratios from 0 to 100, the ends too: within 1e-12 by far, and the tail on the far side
 * to as many digits. */
static void test_marcum_over_its_range(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/marcum_q1.csv");
    double worst = 0.0;
    double worst_digits = 0.0;
    double last_kappa = -1.0;
    double last_ratio = -1.0;
    for (size_t i = 0; i < csv.rows; i++) {
        double kappa = csv_number(&csv, i, "kappa");
        double ratio = csv_number(&csv, i, "ratio");
        double q1 = csv_number(&csv, i, "q1");
        double p1 = csv_number(&csv, i, "p1");
        double got = detect_found_probability(ratio, kappa);
        double rest = detect_marcum_p1(kappa * ratio, kappa);
        assert_true(got >= 0.0 && got <= 1.0 && rest >= 0.0 && rest <= 1.0);
        worst = fmax(worst, fmax(fabs(got - q1), fabs(rest - p1)));
        double far = ratio < 1.0 ? q1 : p1;
        double computed = ratio < 1.0 ? got : rest;
        if (far > 1e-290) worst_digits = fmax(worst_digits, fabs(computed - far) / far);
        last_kappa = fmax(last_kappa, kappa);
        last_ratio = fmax(last_ratio, ratio);
    }
    print_message("%zu values of Q1 and P1 are off by at most %.2g, of the far one by %.2g\n",
                  csv.rows, worst, worst_digits);
    assert_true(csv.rows >= 800 && last_kappa == 40.0 && last_ratio == 100.0);
    assert_true(worst < 1e-14 && worst_digits < 1e-12);
    csv_free(&csv);
}

/* Upper quantiles of chi-square with two degrees of freedom, any table of statistics: kappa
 * squared. */
static void test_kappa(void **state)
{
    (void)state;
    const double rows[][2] = {
        {0.10, 4.60517}, {0.05, 5.99146}, {0.025, 7.37776}, {0.01, 9.21034}, {1e-4, 18.42068}};
    for (int i = 0; i < 5; i++) {
        double kappa = detect_kappa(rows[i][0]);
        assert_within(kappa * kappa, rows[i][1], 5e-6);
        assert_near(detect_found_probability(0.0, kappa), rows[i][0], 1e-14);
    }
}

/* Q1 by its definition: x exp(-(x^2 + a^2) / 2) I0(ax) from b on, here as the mean over the angle
 * of a plain normal pair, integrated by the midpoint rule (which converges faster than any power on
 * a full turn) over exp(-(b^2 - 2ab cos t + a^2)/2) from the identity of Helstrom / Nuttall for a <
 * b. */
static double q1_by_angle(double a, double b)
{
    enum { NODES = 4000 };
    double ratio = a / b;
    double sum = 0.0;
    for (int i = 0; i < NODES; i++) {
        double s = sin(2.0 * 3.14159265358979323846 * (i + 0.5) / NODES);
        double square = 1.0 + 2.0 * ratio * s + ratio * ratio;
        sum += (1.0 + ratio * s) / square * exp(-0.5 * b * b * square);
    }
    return sum / NODES;
}

static void test_marcum_over_its_domain(void **state)
{
    (void)state;
    for (double b = 0.25; b <= 40.0; b += 1.75) {
        for (double a = 0.0; a < 0.97 * b; a += 0.031 * b) {
            assert_within(detect_marcum_q1(a, b), q1_by_angle(a, b), 1e-13);
        }
        double last = 0.0;
        for (double ratio = 0.0; ratio <= 100.0; ratio = ratio < 3.0 ? ratio + 0.01 : ratio * 1.3) {
            double q = detect_found_probability(ratio, b);
            assert_true(q >= last - 1e-15 && q <= 1.0);
            assert_within(q + detect_marcum_p1(b * ratio, b), 1.0, 1e-15);
            last = q;
        }
        assert_true(last == 1.0);
    }
    /* The two halves meet: Q1(a, a) = (1 + exp(-a^2) I0(a^2)) / 2; exp(-1) I0(1) from Abramowitz &
     * Stegun, Table 9.8. */
    assert_near(detect_marcum_q1(1.0, 1.0), 0.5 * (1.0 + 0.4657596077), 1e-10);
    assert_near(detect_marcum_q1(3.0, 3.0 * (1.0 - 1e-13)), detect_marcum_q1(3.0, 3.0), 1e-12);
    assert_true(detect_marcum_q1(2.0, 0.0) == 1.0 && detect_marcum_p1(2.0, 0.0) == 0.0);
    assert_true(detect_found_probability(1.0, 0.0) == 1.0);
}

/* Computed outside the program: the ratio found with 0.999 is 1.699, 1.980, 1.574. */
static void test_ratio_for(void **state)
{
    (void)state;
    assert_within(detect_ratio_for(0.999, detect_kappa(1e-4)), 1.699, 5e-4);
    assert_within(detect_ratio_for(0.999, detect_kappa(1e-2)), 1.980, 5e-4);
    assert_within(detect_ratio_for(0.999, detect_kappa(1e-6)), 1.574, 5e-4);
    const double chances[] = {1e-3, 0.1, 0.5, 0.9, 0.99999, 1.0 - 1e-9};
    for (int i = 0; i < 6; i++) {
        for (double rate = 1e-15; rate < 5e-4; rate *= 100.0) {
            double kappa = detect_kappa(rate);
            double ratio = detect_ratio_for(chances[i], kappa);
            assert_near(detect_found_probability(ratio, kappa), chances[i], 1e-12);
        }
    }
    assert_true(detect_ratio_for(0.4, detect_kappa(0.5)) < 1e-300);
}

static const DetectHead HEAD = {.coils = {0.7, 0.3, 0.02, 0.13},
                                .frequency_hz = 150e3,
                                .noise_v = 3e-9,
                                .false_reject_rate = 1e-6};
static const ProductBlock WET = {.length_m = 0.15,
                                 .width_m = 0.1,
                                 .height_m = 0.06,
                                 .columns_across = 1,
                                 .columns_up = 1,
                                 .conductivity_s_per_m = 0.5,
                                 .relative_permeability = 1.0,
                                 .centre_up_m = -0.1,
                                 .amplitude_variation = 0.08,
                                 .phase_variation_rad = 0.02};
static const DetectGrid GRID = {.from_m = -0.5, .step_m = 0.005, .count = 201};

/* With nothing learned the axis is real and both limits are kappa times the noise. */
static void test_program_of_bare_belt(void **state)
{
    (void)state;
    Err err = {0};
    DetectProgram program = {0};
    assert_true(detect_program_init(&program, &HEAD, NULL, &GRID, &err));
    double kappa = sqrt(-2.0 * log(1e-6));
    assert_true(program.axis == 1.0 && program.learned == NULL);
    assert_near(program.limit_along_v, kappa * 3e-9, 1e-14);
    assert_near(program.limit_across_v, kappa * 3e-9, 1e-14);
    detect_program_clear(&program);
    detect_program_clear(&program);
    detect_program_clear(NULL);
}

static void test_program_of_product(void **state)
{
    (void)state;
    Err err = {0};
    DetectProgram program = {0};
    ProductBlock mixed = WET;
    mixed.relative_permeability = 1.002;
    assert_true(detect_program_init(&program, &HEAD, &mixed, &GRID, &err));
    size_t at = detect_peak(program.learned, GRID.count);
    double kappa = sqrt(-2.0 * log(1e-6));
    assert_near(cabs(program.axis), 1.0, 1e-15);
    assert_near(program.axis * program.learned_peak_v, program.learned[at], 1e-14);
    assert_near(program.limit_along_v, kappa * hypot(3e-9, 0.08 * program.learned_peak_v), 1e-14);
    assert_near(program.limit_across_v, kappa * hypot(3e-9, 0.02 * program.learned_peak_v), 1e-14);
    detect_program_set_limits(&program, 0.0, 0.5, 0.25);
    assert_near(program.limit_along_v, 2.0 * program.limit_across_v, 1e-15);
    detect_program_clear(&program);
}

/* No noise and no spread on an axis is no limit, and refused by name. */
static void test_program_without_limit(void **state)
{
    (void)state;
    DetectHead silent = HEAD;
    silent.noise_v = 0.0;
    ProductBlock steady = WET;
    steady.phase_variation_rad = 0.0;
    const struct {
        const ProductBlock *learned;
        const char *says;
    } rows[] = {{NULL, "limit_along_nv is 0"}, {&steady, "limit_across_nv is 0"}};
    for (int i = 0; i < 2; i++) {
        Err err = {0};
        DetectProgram program = {0};
        assert_false(detect_program_init(&program, &silent, rows[i].learned, &GRID, &err));
        assert_int_equal(err.code, ERR_RANGE);
        assert_non_null(strstr(err.text, rows[i].says));
        assert_null(program.learned);
    }
    Err err = {0};
    DetectProgram program = {0};
    assert_true(detect_program_init(&program, &silent, &WET, &GRID, &err));
    detect_program_clear(&program);
}

/* The lowest place of a tie, where rounding alone breaks it. */
static void test_peak(void **state)
{
    (void)state;
    double complex tie[] = {0.0, target_complex(3.0, -4.0), target_complex(0.0, 5.0),
                            -5.0 * (1.0 + 1e-15), 1.0};
    assert_int_equal(detect_peak(tie, 5), 1);
    double complex clear[] = {1.0, 2.0, 2.0 + 1e-11};
    assert_int_equal(detect_peak(clear, 3), 2);
    double complex none[] = {0.0, 0.0};
    assert_int_equal(detect_peak(none, 2), 0);
}

static double largest_excess(const ProductBlock *learned, const ProductBlock *today, double *along,
                             double *across)
{
    Err err = {0};
    DetectProgram program = {0};
    double complex signal[201];
    assert_true(detect_program_init(&program, &HEAD, learned, &GRID, &err));
    detect_product_signal(&HEAD, today, &GRID, signal);
    detect_excess(&program, today != NULL ? signal : NULL, GRID.count, along, across);
    double largest = 0.0;
    for (size_t i = 0; i < GRID.count; i++) {
        largest = fmax(largest, hypot(along[i], across[i]));
    }
    detect_program_clear(&program);
    return largest;
}

/* What today's product adds: nothing when it is what was learned, weaker, or not there; what it has
 * more along the axis when it is stronger; everything when nothing was learned. */
static void test_excess(void **state)
{
    (void)state;
    double along[201];
    double across[201];
    ProductBlock weaker = WET;
    weaker.conductivity_s_per_m *= 0.5;
    ProductBlock stronger = WET;
    stronger.conductivity_s_per_m *= 1.5;
    assert_true(largest_excess(&WET, &WET, along, across) == 0.0);
    assert_true(largest_excess(&WET, &weaker, along, across) == 0.0);
    assert_true(largest_excess(&WET, NULL, along, across) == 0.0);
    assert_true(largest_excess(NULL, NULL, along, across) == 0.0);

    Err err = {0};
    DetectProgram program = {0};
    assert_true(detect_program_init(&program, &HEAD, &WET, &GRID, &err));
    (void)largest_excess(&WET, &stronger, along, across);
    for (size_t i = 0; i < GRID.count; i++) {
        double learned = creal(program.learned[i] * conj(program.axis));
        assert_within(along[i], 0.5 * learned / program.limit_along_v, 1e-12);
        assert_within(across[i], 0.0, 1e-15);
    }
    (void)largest_excess(NULL, &WET, along, across);
    for (size_t i = 0; i < GRID.count; i++) {
        double kappa_noise = detect_kappa(1e-6) * 3e-9;
        assert_near(along[i], creal(program.learned[i]) / kappa_noise, 1e-12);
    }
    detect_program_clear(&program);
}

/* Moving a piece ahead in its pack makes it pass earlier: its trace at x is the other's at x +
 * ahead. */
static void test_trace_places_pieces(void **state)
{
    (void)state;
    Err err = {0};
    DetectProgram program = {0};
    assert_true(detect_program_init(&program, &HEAD, NULL, &GRID, &err));
    DetectPiece piece = {.piece = {TARGET_SPHERE, 0.003, 0.0, {1, 0, 0}, {7.4e-7, 1.005}},
                         .across_m = 0.05,
                         .up_m = -0.08};
    DetectPiece ahead = piece;
    ahead.along_m = 10.0 * GRID.step_m;
    double along[201], across[201], along_ahead[201], across_ahead[201];
    detect_trace(&HEAD, &program, NULL, &piece, 1, &GRID, along, across);
    detect_trace(&HEAD, &program, NULL, &ahead, 1, &GRID, along_ahead, across_ahead);
    for (size_t i = 0; i + 10 < GRID.count; i++) {
        assert_within(along_ahead[i], along[i + 10], 1e-12);
        assert_within(across_ahead[i], across[i + 10], 1e-12);
    }
    /* Two pieces: the sum. Today's product under a bare program: its excess besides. */
    DetectPiece both[] = {piece, ahead};
    double along_both[201], across_both[201], along_wet[201], across_wet[201];
    detect_trace(&HEAD, &program, &WET, both, 2, &GRID, along_both, across_both);
    detect_trace(&HEAD, &program, &WET, NULL, 0, &GRID, along_wet, across_wet);
    for (size_t i = 0; i < GRID.count; i++) {
        assert_within(along_both[i], along[i] + along_ahead[i] + along_wet[i],
                      1e-13 * fabs(along_both[i]) + 1e-13);
        assert_within(across_both[i], across[i] + across_ahead[i] + across_wet[i], 1e-13);
    }
    detect_program_clear(&program);
}

static DetectLook look_at(const double *along, const DetectGrid *grid, double n_along)
{
    double across[16] = {0};
    DetectLook look;
    detect_look(along, across, grid, (const double[2]){n_along, 0.0}, &look);
    return look;
}

/* Looks by hand on a grid of 1 m steps from -3 m. */
static void test_look_by_hand(void **state)
{
    (void)state;
    const DetectGrid grid = {-3.0, 1.0, 7};
    const double lobes[] = {0, -1.5, -2, 0, 2, 1.5, 0};
    DetectLook look = look_at(lobes, &grid, 0.0);
    assert_true(look.found);
    assert_int_equal(look.at, 2); /* the lowest of the tie */
    assert_near(look.ratio, 2.0, 1e-15);
    assert_within(look.trip_m, 0.0, 1e-15); /* two excursions are one trip */

    const double one[] = {0, 0, 0.5, 2, 0, 0, 0};
    look = look_at(one, &grid, 0.0); /* above 1 from -1 + 1/3 to 0.5 */
    assert_int_equal(look.at, 3);
    assert_near(look.trip_m, 0.5 * (-2.0 / 3.0 + 0.5), 1e-14);
    look = look_at(one, &grid, 2.0); /* scaled by 2: from 0 of v = 0.5 to 0.75 */
    assert_near(look.trip_m, 0.5 * (-1.0 + 0.75), 1e-14);
    look = look_at(one, &grid, -1.0); /* what is left is 1, which is not above 1 */
    assert_false(look.found);
    assert_true(look.trip_m == 0.0 && look.ratio == 2.0);
    look = look_at(one, &grid, -3.5); /* turned over, 1.5 long */
    assert_true(look.found);

    const double edge[] = {3, 2, 1.5, 0, 0, 0, 0};
    look = look_at(edge, &grid, 0.0); /* cut off by the travel: from its first place */
    assert_near(look.trip_m, 0.5 * (-3.0 + (-1.0 + 1.0 / 3.0)), 1e-14);

    const double nothing[] = {0, 0, 0, 0, 0, 0, 0};
    look = look_at(nothing, &grid, 1.1);
    assert_true(look.found && look.at == 3 && look.ratio == 0.0 && look.trip_m == 0.0);
    look = look_at(nothing, &grid, 0.9);
    assert_false(look.found);
    const DetectGrid late = {1.0, 1.0, 7};
    look = look_at(nothing, &late, 1.1);
    assert_true(look.at == 0 && look.trip_m == 1.0);
}

/* A symmetric trace trips at the centre whatever its strength: a strong piece no earlier than a
 * weak one. */
static void test_look_trips_at_the_centre(void **state)
{
    (void)state;
    Err err = {0};
    DetectProgram program = {0};
    assert_true(detect_program_init(&program, &HEAD, NULL, &GRID, &err));
    DetectPiece piece = {.piece = {TARGET_SPHERE, 0.002, 0.0, {1, 0, 0}, {1.5e-7, 90.0}},
                         .up_m = -0.1};
    for (int i = 0; i < 8; i++) {
        double along[201], across[201];
        DetectLook look;
        detect_trace(&HEAD, &program, NULL, &piece, 1, &GRID, along, across);
        detect_look(along, across, &GRID, (const double[2]){0.0, 0.0}, &look);
        assert_true(look.found);
        assert_within(look.trip_m, 0.0, 1e-12);
        piece.piece.diameter_m *= 1.2;
    }
    detect_program_clear(&program);
}

/* The mean of many looks is the closed chance: within four standard errors of 200 000 draws. */
static void test_look_mean_is_the_chance(void **state)
{
    (void)state;
    enum { DRAWS = 200000 };
    const DetectGrid grid = {-1.0, 1.0, 3};
    const double rates[] = {0.5, 0.05, 1e-4};
    Random random;
    random_init(&random, 20);
    for (int i = 0; i < 3; i++) {
        double kappa = detect_kappa(rates[i]);
        for (double ratio = 0.0; ratio < 1.7; ratio += 0.4) {
            const double along[] = {-0.6 * ratio, 0.0, 0.6 * ratio};
            const double across[] = {-0.8 * ratio, 0.0, 0.8 * ratio};
            int found = 0;
            for (int k = 0; k < DRAWS; k++) {
                double deviation[2];
                DetectLook look;
                detect_draw_deviation(&random, kappa, deviation);
                detect_look(along, across, &grid, deviation, &look);
                found += look.found;
            }
            double chance = detect_found_probability(ratio, kappa);
            double error = sqrt(chance * (1.0 - chance) / DRAWS);
            assert_within((double)found / DRAWS, chance, 4.0 * error + 2.0 / DRAWS);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_marcum_table),
        cmocka_unit_test(test_marcum_over_its_range),
        cmocka_unit_test(test_kappa),
        cmocka_unit_test(test_marcum_over_its_domain),
        cmocka_unit_test(test_ratio_for),
        cmocka_unit_test(test_program_of_bare_belt),
        cmocka_unit_test(test_program_of_product),
        cmocka_unit_test(test_program_without_limit),
        cmocka_unit_test(test_peak),
        cmocka_unit_test(test_excess),
        cmocka_unit_test(test_trace_places_pieces),
        cmocka_unit_test(test_look_by_hand),
        cmocka_unit_test(test_look_trips_at_the_centre),
        cmocka_unit_test(test_look_mean_is_the_chance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
