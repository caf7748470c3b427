/* Exact intervals and success runs against published tables. */
#include "support.h"

#include "base/random.h"
#include "detector/chance.h"
#include "detector/detect.h"

/* Source: clopper_pearson.csv, the incomplete beta function inverted at high precision; some rows
 * are also printed in R's documentation and in Newcombe, Statist. Med. 17 (1998) 857. */
static void test_interval_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/clopper_pearson.csv");
    assert_int_equal(csv.rows, 22);
    for (size_t i = 0; i < csv.rows; i++) {
        ChanceInterval got =
            chance_interval((uint64_t)csv_number(&csv, i, "x"), (uint64_t)csv_number(&csv, i, "n"),
                            csv_number(&csv, i, "confidence"));
        double printed_low = csv_number(&csv, i, "lower_printed");
        double printed_high = csv_number(&csv, i, "upper_printed");
        assert_within(got.low, csv_number(&csv, i, "lower"), 1e-12);
        assert_within(got.high, csv_number(&csv, i, "upper"), 1e-12);
        assert_near(got.low, csv_number(&csv, i, "lower"), 1e-11);
        if (!isnan(printed_low)) assert_within(got.low, printed_low, 5e-5);
        if (!isnan(printed_high)) assert_within(got.high, printed_high, 5e-5);
    }
    csv_free(&csv);
}

/* Source: success_run.csv. 29 passes without a miss show 90 % with 95 % confidence. */
static void test_success_run_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/success_run.csv");
    assert_int_equal(csv.rows, 12);
    for (size_t i = 0; i < csv.rows; i++) {
        double reliability = csv_number(&csv, i, "reliability");
        double confidence = csv_number(&csv, i, "confidence");
        uint64_t passes = chance_passes_for(reliability, confidence);
        assert_int_equal(passes, (uint64_t)csv_number(&csv, i, "n_binomial"));
        assert_near(chance_shown_by(passes, confidence),
                    csv_number(&csv, i, "lower_bound_at_n_binomial"), 1e-14);
    }
    assert_int_equal(chance_passes_for(0.9, 0.95), 29);
    assert_int_equal(chance_passes_for(0.5, 0.5), 1);
    assert_int_equal(chance_passes_for(0.5, 0.75), 2);
    assert_int_equal(chance_passes_for(0.5, 0.1), 1);
    csv_free(&csv);
}

/* The interval of all found is the success run's, two-sided: (tail)^(1/n). */
static void test_interval_of_all_found(void **state)
{
    (void)state;
    for (uint64_t n = 1; n <= 1000000; n = n * 3 + 1) {
        ChanceInterval all = chance_interval(n, n, 0.9);
        ChanceInterval none = chance_interval(0, n, 0.9);
        assert_near(all.low, chance_shown_by(n, 0.95), 1e-12);
        assert_true(all.high == 1.0 && none.low == 0.0);
        assert_within(none.high, 1.0 - all.low, 1e-15);
    }
}

/* What makes it exact: for any true chance the interval misses it no more often than it may, the
 * binomial sum taken term by term. */
static void test_interval_covers(void **state)
{
    (void)state;
    enum { N = 40 };
    ChanceInterval intervals[N + 1];
    for (uint64_t x = 0; x <= N; x++) {
        intervals[x] = chance_interval(x, N, 0.95);
        if (x > 0) assert_true(intervals[x].low > intervals[x - 1].low);
        if (x > 0) assert_true(intervals[x].high > intervals[x - 1].high);
    }
    for (double p = 0.0005; p < 1.0; p += 0.0007) {
        double covered = 0.0;
        for (int x = 0; x <= N; x++) {
            if (p < intervals[x].low || p > intervals[x].high) continue;
            covered += exp(lgamma(N + 1.0) - lgamma(x + 1.0) - lgamma(N - x + 1.0) + x * log(p) +
                           (N - x) * log1p(-p));
        }
        assert_true(covered >= 0.95 - 1e-9);
    }
}

/* The chance of `from` or more of n, term by term. */
static double binomial_tail(int n, int from, double x)
{
    double sum = 0.0;
    for (int j = from; j <= n; j++) {
        sum += exp(lgamma(n + 1.0) - lgamma(j + 1.0) - lgamma(n - j + 1.0) + j * log(x) +
                   (n - j) * log1p(-x));
    }
    return sum;
}

/* I_x(a, b) of whole a and b is a binomial sum (DLMF 8.17.5). */
static void test_beta_is_a_binomial_sum(void **state)
{
    (void)state;
    for (int a = 1; a < 30; a += 4) {
        for (int b = 1; b < 30; b += 3) {
            for (double x = 0.01; x < 1.0; x += 0.07) {
                assert_within(chance_beta((double)a, (double)b, x), binomial_tail(a + b - 1, a, x),
                              1e-12);
            }
        }
    }
    assert_true(chance_beta(2.0, 3.0, 0.0) == 0.0 && chance_beta(2.0, 3.0, 1.0) == 1.0);
}

/* A check of n passes finds a detector that has become worse when it misses one of them. By luck:
 * a hundred thousand checks played. And why nine passes show that it works and validate nothing: a
 * detector that finds only nine out of ten pieces passes such a check with a chance of 0.9^9. */
static void test_check_finds(void **state)
{
    (void)state;
    enum { CHECKS = 100000 };
    const double ratios[] = {1.8, 2.0, 2.5};
    double kappa = detect_kappa(1e-6);
    double want = chance_check_finds(ratios, 3, kappa, 1.7);
    Random random;
    random_init(&random, 4);
    int found = 0;
    for (int i = 0; i < CHECKS; i++) {
        bool misses = false;
        for (int k = 0; k < 3; k++) {
            double deviation[2];
            detect_draw_deviation(&random, kappa, deviation);
            misses = misses || !detect_is_seen(ratios[k] / 1.7, 0.0, deviation);
        }
        found += misses;
    }
    assert_within((double)found / CHECKS, want, 4.0 * sqrt(want * (1.0 - want) / CHECKS));

    double nine[9];
    for (int i = 0; i < 9; i++) {
        nine[i] = detect_ratio_for(0.9, kappa);
    }
    assert_near(chance_check_finds(nine, 9, kappa, 1.0), 1.0 - pow(0.9, 9.0), 1e-10);
    assert_true(chance_check_finds(nine, 0, kappa, 1.0) == 0.0);
    assert_near(chance_check_finds(nine, 9, kappa, 1e6), 1.0, 1e-12);
    assert_true(chance_check_finds(nine, 9, kappa, 1e-3) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_interval_table),         cmocka_unit_test(test_success_run_table),
        cmocka_unit_test(test_interval_of_all_found),  cmocka_unit_test(test_interval_covers),
        cmocka_unit_test(test_beta_is_a_binomial_sum), cmocka_unit_test(test_check_finds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
