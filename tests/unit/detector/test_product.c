/* The product's own signal against hand-book tables and a plain sum over slices. */
#include "support.h"

#include "base/random.h"
#include "detector/product.h"
#include "detector/target.h"

#define PI 3.14159265358979323846

/* Source: torsion.csv; the series at 20 digits, and the tables of a structural-analysis manual
 * (three digits, some cut) and of Timoshenko & Goodier, from memory. */
static void test_torsion_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/torsion.csv");
    assert_int_equal(csv.rows, 18);
    for (size_t i = 0; i < csv.rows; i++) {
        double r = csv_number(&csv, i, "w_over_h");
        const char *name = csv_text(&csv, i, "w_over_h");
        if (isinf(r)) r = 1e15;
        double h = 0.06;
        double beta = product_torsion_constant(r * h, h) / (r * h * h * h * h);
        double published = csv_number(&csv, i, "published");
        double timoshenko = csv_number(&csv, i, "timoshenko_memory");
        assert_near_named(name, beta, csv_number(&csv, i, "beta"), 1e-12);
        if (!isnan(published)) assert_within(beta, published, 1.5e-3);
        if (!isnan(timoshenko)) assert_within(beta, timoshenko, 5e-4);
    }
    csv_free(&csv);
}

/* The bar turned by a right angle is the same bar. The series with w and h exchanged is another
 * series for the same constant (S. Timoshenko & J. N. Goodier), summed here term by term. */
static void test_torsion_turned(void **state)
{
    (void)state;
    Random random;
    random_init(&random, 3);
    for (int i = 0; i < 200; i++) {
        double w = 0.01 + random_unit(&random);
        double h = 0.01 + random_unit(&random);
        double sum = 0.0;
        for (int n = 4001; n >= 1; n -= 2) {
            sum += tanh(n * PI * h / (2.0 * w)) / pow(n, 5.0);
        }
        double turned = h * w * w * w * (1.0 / 3.0 - 64.0 / pow(PI, 5.0) * w / h * sum);
        assert_true(product_torsion_constant(w, h) == product_torsion_constant(h, w));
        assert_within(product_torsion_constant(w, h), turned,
                      1e-12 * fmax(h * w * w * w, w * h * h * h));
    }
}

static const CoilHead COILS = {0.7, 0.3, 0.02, 0.13};
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

static double complex signal_at(const ProductBlock *product, const CoilHead *coils, double x)
{
    double complex signal = 0.0;
    product_signal(product, coils, 150e3, x, 1.0, 1, &signal);
    return signal;
}

/* The definition, slice by slice: 20 000 midpoints. */
static double complex sum_of_slices(const ProductBlock *product, const CoilHead *coils, double x)
{
    enum { SLICES = 20000 };
    double w = 2.0 * PI * 150e3;
    double columns = product->columns_across * product->columns_up;
    double torsion = columns * product_torsion_constant(product->width_m / product->columns_across,
                                                        product->height_m / product->columns_up);
    double complex sum = 0.0;
    for (int i = 0; i < SLICES; i++) {
        Vec3 at = {x + product->length_m * ((i + 0.5) / SLICES - 0.5), 0.0, product->centre_up_m};
        Vec3 t = coil_transmit_field(coils, at);
        Vec3 r = coil_receive_field(coils, at);
        double magnetic =
            (product->relative_permeability - 1.0) * product->width_m * product->height_m;
        double complex moment =
            target_complex(0.0, -w * TARGET_MU0_H_PER_M * product->conductivity_s_per_m * torsion /
                                    4.0 * t.x * r.x);
        moment += magnetic * coil_dot(t, r);
        sum += moment * product->length_m / SLICES;
    }
    return target_complex(0.0, w * TARGET_MU0_H_PER_M) * sum;
}

static void test_signal_is_the_sum_of_slices(void **state)
{
    (void)state;
    ProductBlock rows[] = {WET, WET, WET, WET, WET};
    rows[1].columns_across = 3;
    rows[1].columns_up = 2;
    rows[2].relative_permeability = 1.003;
    rows[3].length_m = 1.5;
    rows[4].height_m = 0.3;
    rows[4].centre_up_m = 0.149; /* the axis close under the upper wires */
    double largest = 0.0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (double x = -0.9; x < 0.91; x += 0.09) {
            largest = fmax(largest, cabs(sum_of_slices(&rows[i], &COILS, x)));
        }
        for (double x = -0.9; x < 0.91; x += 0.09) {
            assert_within(signal_at(&rows[i], &COILS, x), sum_of_slices(&rows[i], &COILS, x),
                          1e-7 * largest);
        }
    }
}

/* A travel gives at each place what the place alone gives, for steps below, at and above the pack's
 * length. */
static void test_signal_slides(void **state)
{
    (void)state;
    const double steps[] = {1e-4, 0.002, 0.0137, 0.149, 0.15, 0.151, 0.4};
    double complex signal[1001];
    double largest = cabs(signal_at(&WET, &COILS, 0.1));
    for (size_t k = 0; k < sizeof steps / sizeof steps[0]; k++) {
        double from = -500.0 * steps[k];
        product_signal(&WET, &COILS, 150e3, from, steps[k], 1001, signal);
        for (size_t i = 0; i < 1001; i += 7) {
            double complex alone = signal_at(&WET, &COILS, from + (double)i * steps[k]);
            assert_within(signal[i], alone, 1e-8 * largest);
        }
    }
}

/* Two places on either side of the coils, far off: what lies between leaves no trace in either. */
static void test_signal_jumps_over_the_coils(void **state)
{
    (void)state;
    double complex signal[2];
    product_signal(&WET, &COILS, 150e3, -6.0, 12.0, 2, signal);
    assert_near(signal[0], sum_of_slices(&WET, &COILS, -6.0), 1e-6);
    assert_near(signal[1], sum_of_slices(&WET, &COILS, 6.0), 1e-6);
}

/* The signal is odd in x, real for a conductor and imaginary for a magnetic part, and proportional
 * to conductivity and frequency squared. */
static void test_signal_shape(void **state)
{
    (void)state;
    ProductBlock twice = WET;
    twice.conductivity_s_per_m *= 2.0;
    ProductBlock magnetic = WET;
    magnetic.conductivity_s_per_m = 0.0;
    magnetic.relative_permeability = 1.002;
    double complex one = signal_at(&WET, &COILS, 0.1);
    assert_near(signal_at(&WET, &COILS, -0.1), -one, 1e-8);
    assert_true(cimag(one) == 0.0);
    assert_near(signal_at(&twice, &COILS, 0.1), 2.0 * one, 1e-14);
    assert_true(creal(signal_at(&magnetic, &COILS, 0.1)) == 0.0);
    double complex fast = 0.0;
    product_signal(&WET, &COILS, 300e3, 0.1, 1.0, 1, &fast);
    assert_near(fast, 4.0 * one, 1e-14);
    ProductBlock dry = WET;
    dry.conductivity_s_per_m = 0.0;
    assert_true(signal_at(&dry, &COILS, 0.1) == 0.0);
}

/* The same mass in more packs answers less: columns of w / n by h / n have n^-2 of the effect. */
static void test_signal_of_columns(void **state)
{
    (void)state;
    ProductBlock split = WET;
    for (int n = 1; n <= 50; n++) {
        split.columns_across = n;
        split.columns_up = n;
        assert_near(signal_at(&split, &COILS, 0.1), signal_at(&WET, &COILS, 0.1) / (n * n), 1e-13);
    }
}

/* A pack far longer than the coils and one that is short against them both keep their precision; an
 * axis through a wire gives a finite number. */
static void test_signal_extremes(void **state)
{
    (void)state;
    ProductBlock block = WET;
    block.length_m = 1e-5;
    assert_near(signal_at(&block, &COILS, 0.1), sum_of_slices(&block, &COILS, 0.1), 1e-9);
    block.length_m = 5.0;
    assert_near(signal_at(&block, &COILS, 2.4), sum_of_slices(&block, &COILS, 2.4), 1e-6);
    block.centre_up_m = 0.17;
    double complex on_the_wire = signal_at(&block, &COILS, 0.1);
    assert_true(isfinite(creal(on_the_wire)));
}

/* Two percent a kelvin, and never less than nothing. ISO 7888 reports the conductivity of water at
 * 25 C; its factor for 20 C of natural water is near 1.116 (from memory), which is 0.9 the other
 * way round. */
static void test_warmer(void **state)
{
    (void)state;
    assert_near(product_conductivity_warmer(0.5, 0.02, 10.0), 0.6, 1e-14);
    assert_near(product_conductivity_warmer(0.5, 0.02, 0.0), 0.5, 1e-14);
    assert_near(product_conductivity_warmer(1.0, 0.02, -5.0), 1.0 / 1.116, 0.01);
    assert_true(product_conductivity_warmer(0.5, 0.02, -80.0) == 0.0);
    assert_near(product_conductivity_warmer(1e-4, 0.0, 40.0), 1e-4, 1e-14);
}

enum { ACROSS = 50, UP = 30 };

/* What the currents in a rectangle are taken from: one over the conductivity of each cell, and
 * their stream function, with a rim of zeros. */
typedef struct {
    double resistance[ACROSS][UP];
    double psi[ACROSS + 2][UP + 2];
} Currents;

/* One step of over-relaxation at a cell: div (resistance grad psi) = -1, between two cells the
 * resistance of both in a row. */
static void relax(Currents *c, int i, int k)
{
    static const int sides[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    double here = c->resistance[i - 1][k - 1];
    double sum = 1.0;
    double weight = 0.0;
    for (int s = 0; s < 4; s++) {
        int a = i + sides[s][0];
        int b = k + sides[s][1];
        bool is_rim = a < 1 || a > ACROSS || b < 1 || b > UP;
        double there = is_rim ? 0.0 : c->resistance[a - 1][b - 1];
        double between = is_rim ? 2.0 * here : 2.0 * here * there / (here + there);
        sum += between * c->psi[a][b];
        weight += between;
    }
    c->psi[i][k] += 1.95 * (sum / weight - c->psi[i][k]);
}

/* The moment of a rectangle whose middle, similar to it and core_part of each side, conducts `core`
 * and whose shell conducts 1: it goes with the sum of psi. */
static double moment_of(double core_part, double core)
{
    static Currents c;
    memset(&c, 0, sizeof c);
    for (int at = 0; at < ACROSS * UP; at++) {
        int i = at / UP;
        int k = at % UP;
        bool is_core = fabs(i + 0.5 - 0.5 * ACROSS) < 0.5 * core_part * ACROSS &&
                       fabs(k + 0.5 - 0.5 * UP) < 0.5 * core_part * UP;
        c.resistance[i][k] = is_core ? 1.0 / core : 1.0;
    }
    for (int round = 0; round < 1000; round++) {
        for (int at = 0; at < ACROSS * UP; at++) {
            relax(&c, 1 + at / UP, 1 + at % UP);
        }
    }
    double moment = 0.0;
    for (int at = 0; at < ACROSS * UP; at++) {
        moment += c.psi[1 + at / UP][1 + at % UP];
    }
    return moment;
}

/* Against the currents themselves in a rectangle of 5 to 3; the whole thawed one is 1. */
static void test_thawing(void **state)
{
    (void)state;
    double whole = moment_of(0.5, 1.0);
    const double cores[] = {0.2, 0.5, 0.8, 0.9};
    const double conductivities[] = {0.01, 0.3};
    double worst = 0.0;
    for (int i = 0; i < 4; i++) {
        for (int k = 0; k < 2; k++) {
            double want = moment_of(cores[i], conductivities[k]) / whole;
            double got =
                product_conductivity_thawing(conductivities[k], 1.0, 1.0 - cores[i] * cores[i]);
            assert_within(got, want, 0.05);
            worst = fmax(worst, fabs(got - want));
        }
    }
    print_message("a thawing rectangle is off by at most %.3f of the thawed one\n", worst);
    assert_true(product_conductivity_thawing(0.005, 0.5, 0.0) == 0.005);
    assert_true(product_conductivity_thawing(0.005, 0.5, 1.0) == 0.5);
    assert_near(product_conductivity_thawing(0.0, 1.0, 0.1), 0.19, 1e-14);
}

/* A long flat pack across the belt: wider and shorter, and with other currents. */
static void test_turned_across(void **state)
{
    (void)state;
    ProductBlock pack = {.length_m = 0.3,
                         .width_m = 0.1,
                         .height_m = 0.05,
                         .columns_across = 4,
                         .columns_up = 2,
                         .conductivity_s_per_m = 0.5,
                         .relative_permeability = 1.001,
                         .centre_up_m = -0.03,
                         .amplitude_variation = 0.07,
                         .phase_variation_rad = 0.02};
    ProductBlock turned = product_turned_across(&pack);
    assert_true(turned.length_m == 0.1 && turned.width_m == 0.3 && turned.height_m == 0.05);
    assert_true(turned.columns_across == 1 && turned.columns_up == 2);
    assert_true(turned.centre_up_m == -0.03 && turned.conductivity_s_per_m == 0.5);
    pack.columns_across = 1;
    ProductBlock back = product_turned_across(&turned);
    assert_memory_equal(&back, &pack, sizeof pack);
    /* J of 3 to 1, twice, against J of 1 to 1, twice: handbook 0.263 and 0.141 (test_torsion). */
    double wide = product_torsion_constant(0.3, 0.1);
    double narrow = product_torsion_constant(0.1, 0.1);
    assert_near(wide / narrow, 3.0 * 0.263 / 0.141, 5e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torsion_table),
        cmocka_unit_test(test_torsion_turned),
        cmocka_unit_test(test_signal_is_the_sum_of_slices),
        cmocka_unit_test(test_signal_slides),
        cmocka_unit_test(test_signal_jumps_over_the_coils),
        cmocka_unit_test(test_signal_shape),
        cmocka_unit_test(test_signal_of_columns),
        cmocka_unit_test(test_signal_extremes),
        cmocka_unit_test(test_warmer),
        cmocka_unit_test(test_thawing),
        cmocka_unit_test(test_turned_across),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
