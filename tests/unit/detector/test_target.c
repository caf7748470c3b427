/* The polarizability of spheres and wires against tables computed at 70 digits, published values
 * and closed limits. */
#include "support.h"

#include "base/random.h"
#include "detector/target.h"

#define PI 3.14159265358979323846

static double complex csv_complex(const Csv *csv, size_t row, const char *re, const char *im)
{
    return target_complex(csv_number(csv, row, re), csv_number(csv, row, im));
}

/* Source: sphere_polarizability.csv, Wait's formula at 70 digits, |u| from 1e-6 to 1e3. */
static void test_sphere_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/sphere_polarizability.csv");
    assert_int_equal(csv.rows, 70);
    for (size_t i = 0; i < csv.rows; i++) {
        double mu_r = csv_number(&csv, i, "mu_r");
        double number = pow(csv_number(&csv, i, "u_abs"), 2.0);
        double complex mu = mu_r * target_relative_permeability(TARGET_IN_SPHERE, number);
        double complex alpha = target_axis_response(TARGET_IN_SPHERE, number, mu_r, 1.0 / 3.0);
        assert_near_named(csv_text(&csv, i, "u_abs"), mu,
                          csv_complex(&csv, i, "mu_i_re", "mu_i_im"), 1e-12);
        assert_near_named(csv_text(&csv, i, "u_abs"), alpha,
                          csv_complex(&csv, i, "alpha_over_V_re", "alpha_over_V_im"), 1e-12);
    }
    csv_free(&csv);
}

/* Source: wire_polarizability.csv, Bessel functions at 70 digits, |ka| from 1e-6 to 1e3. */
static void test_wire_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/wire_polarizability.csv");
    assert_int_equal(csv.rows, 64);
    for (size_t i = 0; i < csv.rows; i++) {
        const char *name = csv_text(&csv, i, "ka_abs");
        double mu_r = csv_number(&csv, i, "mu_r");
        double number = pow(csv_number(&csv, i, "ka_abs"), 2.0);
        double n = target_demagnetising(csv_number(&csv, i, "p"));
        assert_near_named(name, n, csv_number(&csv, i, "N_par"), 1e-12);
        assert_near_named(name, mu_r * target_relative_permeability(TARGET_ALONG_WIRE, number),
                          csv_complex(&csv, i, "mu_par_re", "mu_par_im"), 1e-12);
        assert_near_named(name, mu_r * target_relative_permeability(TARGET_ACROSS_WIRE, number),
                          csv_complex(&csv, i, "mu_perp_re", "mu_perp_im"), 1e-12);
        assert_near_named(name, target_axis_response(TARGET_ALONG_WIRE, number, mu_r, n),
                          csv_complex(&csv, i, "alpha_par_over_V_re", "alpha_par_over_V_im"),
                          1e-12);
        assert_near_named(
            name, target_axis_response(TARGET_ACROSS_WIRE, number, mu_r, 0.5 * (1.0 - n)),
            csv_complex(&csv, i, "alpha_perp_over_V_re", "alpha_perp_over_V_im"), 1e-12);
    }
    csv_free(&csv);
}

/* Source: osborn.csv; J. A. Osborn, Phys. Rev. 67 (1945) 351, Table I, and the integral of the
 * ellipsoid. */
static void test_demagnetising_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/osborn.csv");
    for (size_t i = 0; i < csv.rows; i++) {
        const char *name = csv_text(&csv, i, "p");
        double n = target_demagnetising(csv_number(&csv, i, "p"));
        double rounded = csv_number(&csv, i, "osborn_rounded");
        assert_near_named(name, n, csv_number(&csv, i, "N_par"), 1e-12);
        if (!isnan(rounded)) assert_within(n, rounded, 1e-4);
    }
    csv_free(&csv);
}

/* Over the seam between series and closed form, and out to 1e8, where N goes as (ln 2p - 1) / p^2
 * (Osborn's limit for the long rod). */
static void test_demagnetising_limits(void **state)
{
    (void)state;
    assert_near(target_demagnetising(1.0), 1.0 / 3.0, 1e-15);
    double seam = sqrt(2.0);
    assert_near(target_demagnetising(seam * (1.0 - 1e-12)),
                target_demagnetising(seam * (1.0 + 1e-12)), 1e-11);
    for (double p = 1e5; p < 2e8; p *= 10.0) {
        assert_near(target_demagnetising(p), (log(2.0 * p) - 1.0) / (p * p), 1e-9);
    }
    double last = 1.0;
    for (double p = 1.0; p < 1e8; p *= 1.003) {
        assert_true(target_demagnetising(p) < last);
        last = target_demagnetising(p);
    }
}

/* Source: kelvin.csv, g = 2 J1(z) / (z J0(z)) from Kelvin functions; those for x up to 5 agree with
 * Abramowitz & Stegun, Table 9.12. The functions themselves give g again by hand. */
static void test_wire_kelvin(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/kelvin.csv");
    for (size_t i = 0; i < csv.rows; i++) {
        double x = csv_number(&csv, i, "x");
        double complex g = target_relative_permeability(TARGET_ALONG_WIRE, x * x);
        assert_near_named(csv_text(&csv, i, "x"), g, csv_complex(&csv, i, "g_re", "g_im"), 1e-12);
        if (x > 300.0) continue; /* products of the functions overflow */
        double complex j0 = csv_complex(&csv, i, "ber", "bei");
        double complex j1 = -csv_complex(&csv, i, "ber1", "bei1");
        double complex z = x * target_complex(sqrt(0.5), -sqrt(0.5));
        assert_near_named(csv_text(&csv, i, "x"), g, 2.0 * j1 / (z * j0), 1e-12);
        assert_near_named(csv_text(&csv, i, "x"),
                          target_relative_permeability(TARGET_ACROSS_WIRE, x * x),
                          j1 / (z * (j0 - j1 / z)), 1e-12);
    }
    csv_free(&csv);
}

/* Where the continued fraction hands over to the asymptotic series nothing shows. */
static void test_bessel_seam(void **state)
{
    (void)state;
    const TargetAxis axes[] = {TARGET_IN_SPHERE, TARGET_ALONG_WIRE, TARGET_ACROSS_WIRE};
    for (int i = 0; i < 3; i++) {
        assert_near(target_relative_permeability(axes[i], 1e4 * (1.0 - 1e-15)),
                    target_relative_permeability(axes[i], 1e4), 1e-14);
        /* From memory: mu / mu_r goes to c sqrt(-j) / |u| for a thick skin-deep piece. */
        double c = axes[i] == TARGET_ACROSS_WIRE ? 1.0 : 2.0;
        double complex want = c * target_complex(sqrt(0.5), -sqrt(0.5)) / 1e9;
        assert_near(target_relative_permeability(axes[i], 1e18), want, 1e-8);
    }
}

/* Wait's limits: u -> 0 gives 4 pi a^3 (mu_r - 1) / (mu_r + 2), u -> infinity -2 pi a^3. */
static void test_sphere_limits(void **state)
{
    (void)state;
    for (double mu_r = 1.0; mu_r <= 1e5; mu_r = mu_r < 2.0 ? mu_r + 0.25 : mu_r * 10.0) {
        double complex still = target_axis_response(TARGET_IN_SPHERE, 1e-30, mu_r, 1.0 / 3.0);
        if (mu_r > 1.0) assert_near(still, 3.0 * (mu_r - 1.0) / (mu_r + 2.0), 1e-13);
        double complex fast = target_axis_response(TARGET_IN_SPHERE, 1e30, mu_r, 1.0 / 3.0);
        assert_near(fast, -1.5, 1e-9);
    }
    for (double u = 1e-6; u < 2e-3; u *= 10.0) {
        double complex small = target_axis_response(TARGET_IN_SPHERE, u * u, 1.0, 1.0 / 3.0);
        assert_near(creal(small), -pow(u, 4.0) / 105.0, 1e-6);
        assert_near(cimag(small), -u * u / 10.0, 1e-9);
    }
}

static double sphere_loss(double u)
{
    return -cimag(target_axis_response(TARGET_IN_SPHERE, u * u, 1.0, 1.0 / 3.0));
}

static double along_loss(double ka)
{
    return -cimag(target_axis_response(TARGET_ALONG_WIRE, ka * ka, 1.0, 0.0));
}

static double across_loss(double ka)
{
    return -cimag(target_axis_response(TARGET_ACROSS_WIRE, ka * ka, 1.0, 0.5));
}

/* The largest loss of a non-magnetic piece: for the sphere at a = 2.4 skin depths (Landau &
 * Lifshitz, section 59), computed to 12 digits outside the program. */
static void test_largest_loss(void **state)
{
    (void)state;
    const struct {
        double (*loss)(double);
        double at, value;
    } rows[] = {
        {sphere_loss, 3.40715569583, 0.532718414661884},
        {along_loss, 2.51499888177, 0.377451808557072},
        {across_loss, 2.51499888177, 0.754903617114144},
    };
    for (int i = 0; i < 3; i++) {
        assert_near(rows[i].loss(rows[i].at), rows[i].value, 1e-9);
        assert_true(rows[i].loss(rows[i].at * 1.0001) < rows[i].loss(rows[i].at));
        assert_true(rows[i].loss(rows[i].at / 1.0001) < rows[i].loss(rows[i].at));
    }
}

/* A long thin non-magnetic wire answers twice as strongly across as along: -j|ka|^2/4 and
 * -j|ka|^2/8. */
static void test_long_wire(void **state)
{
    (void)state;
    double complex along = target_axis_response(TARGET_ALONG_WIRE, 1e-4, 1.0, 0.0);
    double complex across = target_axis_response(TARGET_ACROSS_WIRE, 1e-4, 1.0, 0.5);
    assert_near(cimag(along), -1e-4 / 8.0, 1e-5);
    assert_near(cimag(across), -1e-4 / 4.0, 1e-5);
}

/* Source: skin_depth.csv: sqrt(rho / (pi f mu0 mu_r)); copper's 2.1 mm at 1 kHz is published. */
static void test_skin_number_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/skin_depth.csv");
    for (size_t i = 0; i < csv.rows; i++) {
        TargetMetal metal = {csv_number(&csv, i, "resistivity_ohm_m"), csv_number(&csv, i, "mu_r")};
        double depth_m = csv_number(&csv, i, "skin_depth_mm") / 1000.0;
        double number = target_skin_number(0.003, metal, csv_number(&csv, i, "frequency_hz"));
        assert_near(number, 2.0 * pow(0.003 / depth_m, 2.0), 1e-12);
    }
    csv_free(&csv);
}

/* Range: every response is finite and loses energy (Im <= 0) over the whole domain of the
 * inputs. */
static void test_response_is_passive(void **state)
{
    (void)state;
    for (double number = 1e-20; number < 1e20; number *= 7.0) {
        for (double mu_r = 1.0; mu_r <= 1e5; mu_r *= 10.0) {
            for (double p = 1.0; p < 1e8; p *= 10.0) {
                double n = target_demagnetising(p);
                double complex along = target_axis_response(TARGET_ALONG_WIRE, number, mu_r, n);
                double complex across =
                    target_axis_response(TARGET_ACROSS_WIRE, number, mu_r, 0.5 * (1.0 - n));
                assert_true(isfinite(creal(along)) && cimag(along) <= 0.0);
                assert_true(isfinite(creal(across)) && cimag(across) <= 0.0);
            }
        }
    }
}

static const TargetMetal STEEL = {1.5e-7, 90.0};

static void test_polarizability_of_sphere(void **state)
{
    (void)state;
    TargetPiece ball = {.shape = TARGET_SPHERE, .diameter_m = 0.002, .metal = STEEL};
    double number = target_skin_number(0.001, STEEL, 150e3);
    double complex want =
        4.0 / 3.0 * PI * 1e-9 * target_axis_response(TARGET_IN_SPHERE, number, 90.0, 1.0 / 3.0);
    TargetTensor got = target_polarizability(&ball, 150e3);
    assert_near(got.xx, want, 1e-14);
    assert_true(got.yy == got.xx && got.zz == got.xx);
    assert_true(got.xy == 0.0 && got.xz == 0.0 && got.yz == 0.0);
}

/* A wire along an axis has a diagonal tensor; tilted, n is an eigenvector, and the trace stays. */
static void test_polarizability_of_wire(void **state)
{
    (void)state;
    TargetPiece wire = {TARGET_WIRE, 0.0007, 0.036, {1, 0, 0}, STEEL};
    TargetTensor straight = target_polarizability(&wire, 150e3);
    double volume = PI / 4.0 * 0.0007 * 0.0007 * 0.036;
    double number = target_skin_number(0.00035, STEEL, 150e3);
    double n = target_demagnetising(0.036 / 0.0007);
    assert_near(straight.xx, volume * target_axis_response(TARGET_ALONG_WIRE, number, 90.0, n),
                1e-13);
    assert_near(straight.yy,
                volume * target_axis_response(TARGET_ACROSS_WIRE, number, 90.0, 0.5 * (1.0 - n)),
                1e-13);
    assert_true(straight.yy == straight.zz && straight.yz == 0.0);

    Random random;
    random_init(&random, 11);
    for (int i = 0; i < 1000; i++) {
        wire.direction = (Vec3){random_unit(&random) - 0.5, random_unit(&random) - 0.5,
                                random_unit(&random) - 0.5};
        TargetTensor a = target_polarizability(&wire, 150e3);
        Vec3 d = wire.direction;
        double length = sqrt(coil_dot(d, d));
        assert_near(a.xx + a.yy + a.zz, straight.xx + straight.yy + straight.zz, 1e-14);
        assert_within(a.xx * d.x + a.xy * d.y + a.xz * d.z, straight.xx * d.x,
                      1e-14 * length * cabs(straight.xx));
        assert_within(a.xz * d.x + a.yz * d.y + a.zz * d.z, straight.xx * d.z,
                      1e-14 * length * cabs(straight.xx));
        assert_near(target_couple(&a, d, d), straight.xx * length * length, 1e-13);
    }
}

/* A direction of any length, 1e-300 to 1e300, is a direction; the sign does not matter. */
static void test_polarizability_direction_scale(void **state)
{
    (void)state;
    TargetPiece wire = {TARGET_WIRE, 0.0007, 0.036, {1, -2, 3}, STEEL};
    TargetTensor want = target_polarizability(&wire, 150e3);
    const double scales[] = {1e-300, 1e-10, -1.0, 1e300};
    for (int i = 0; i < 4; i++) {
        wire.direction = (Vec3){scales[i], -2.0 * scales[i], 3.0 * scales[i]};
        TargetTensor got = target_polarizability(&wire, 150e3);
        assert_near(got.xx, want.xx, 1e-14);
        assert_near(got.xz, want.xz, 1e-14);
        assert_near(got.yz, want.yz, 1e-14);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sphere_table),
        cmocka_unit_test(test_wire_table),
        cmocka_unit_test(test_demagnetising_table),
        cmocka_unit_test(test_demagnetising_limits),
        cmocka_unit_test(test_wire_kelvin),
        cmocka_unit_test(test_bessel_seam),
        cmocka_unit_test(test_sphere_limits),
        cmocka_unit_test(test_largest_loss),
        cmocka_unit_test(test_long_wire),
        cmocka_unit_test(test_skin_number_table),
        cmocka_unit_test(test_response_is_passive),
        cmocka_unit_test(test_polarizability_of_sphere),
        cmocka_unit_test(test_polarizability_of_wire),
        cmocka_unit_test(test_polarizability_direction_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
