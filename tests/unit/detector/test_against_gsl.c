/* The library's special functions and loops against the GNU Scientific Library, which no part of
 * the program links. */
#include "support.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sf_bessel.h>
#include <gsl/gsl_sf_ellint.h>

#include "base/random.h"
#include "detector/chance.h"
#include "detector/coil.h"
#include "detector/detect.h"

#define PI 3.14159265358979323846

/* A loop of radius a in the plane x = 0 (J. D. Jackson, Classical Electrodynamics, 5.37, in the
 * complete elliptic integrals; W. R. Smythe, Static and Dynamic Electricity, 7.10). */
static void circle_field(double a, double x, double rho, double *hx, double *hrho)
{
    double far = (a + rho) * (a + rho) + x * x;
    double near = (a - rho) * (a - rho) + x * x;
    double k = sqrt(4.0 * a * rho / far);
    double first = gsl_sf_ellint_Kcomp(k, GSL_PREC_DOUBLE);
    double second = gsl_sf_ellint_Ecomp(k, GSL_PREC_DOUBLE);
    *hx = (first + (a * a - rho * rho - x * x) / near * second) / (2.0 * PI * sqrt(far));
    *hrho =
        x / (2.0 * PI * rho * sqrt(far)) * (-first + (a * a + rho * rho + x * x) / near * second);
}

/* A polygon of 4096 sides of the circle's area, made of the library's own segments. Its own error
 * falls as sides^-4, and grows close to the wire. */
static void test_circle_by_a_polygon(void **state)
{
    (void)state;
    enum { SIDES = 4096 };
    Random random;
    random_init(&random, 11);
    for (int row = 0; row < 60; row++) {
        double a = 0.05 + random_unit(&random);
        double x = a * (3.0 * random_unit(&random) - 1.5);
        double rho = a * (0.01 + 2.0 * random_unit(&random));
        if (hypot(x, rho - a) < 0.1 * a) continue;
        double angle = 2.0 * PI / SIDES;
        double corner = a * sqrt(angle / sin(angle));
        Vec3 sum = {0.0, 0.0, 0.0};
        for (int i = 0; i < SIDES; i++) {
            Vec3 from = {0.0, corner * cos(i * angle), corner * sin(i * angle)};
            Vec3 to = {0.0, corner * cos((i + 1) * angle), corner * sin((i + 1) * angle)};
            Vec3 side = coil_segment_field(from, to, (Vec3){x, rho, 0.0});
            sum = (Vec3){sum.x + side.x, sum.y + side.y, sum.z + side.z};
        }
        double hx;
        double hrho;
        circle_field(a, x, rho, &hx, &hrho);
        assert_within(hypot(sum.x - hx, sum.y - hrho), 0.0, 1e-9 * hypot(hx, hrho));
        assert_within(sum.z, 0.0, 1e-9 * hypot(hx, hrho));
    }
}

/* Biot and Savart's integrand along one side of a rectangle. */
typedef struct {
    Vec3 from, step, point;
    int part;
} Side;

static double side_integrand(double t, void *context)
{
    const Side *s = context;
    Vec3 r = {s->point.x - s->from.x - t * s->step.x, s->point.y - s->from.y - t * s->step.y,
              s->point.z - s->from.z - t * s->step.z};
    double cross[3] = {s->step.y * r.z - s->step.z * r.y, s->step.z * r.x - s->step.x * r.z,
                       s->step.x * r.y - s->step.y * r.x};
    return cross[s->part] / (4.0 * PI * pow(coil_dot(r, r), 1.5));
}

static double loop_by_quadrature(double w, double h, Vec3 point, int part,
                                 gsl_integration_workspace *space)
{
    Vec3 corners[4] = {{0, -0.5 * w, -0.5 * h},
                       {0, 0.5 * w, -0.5 * h},
                       {0, 0.5 * w, 0.5 * h},
                       {0, -0.5 * w, 0.5 * h}};
    double sum = 0.0;
    for (int i = 0; i < 4; i++) {
        Vec3 a = corners[i];
        Vec3 b = corners[(i + 1) % 4];
        Side side = {a, {b.x - a.x, b.y - a.y, b.z - a.z}, point, part};
        gsl_function f = {side_integrand, &side};
        double value = 0.0;
        double error = 0.0;
        assert_int_equal(gsl_integration_qag(&f, 0.0, 1.0, 1e-12, 1e-11, 1000, GSL_INTEG_GAUSS61,
                                             space, &value, &error),
                         0);
        sum += value;
    }
    return sum;
}

/* Everywhere: within the outline, where the loop takes its corners together, beyond it, and on the
 * axis the text-book form as well (W. R. Smythe; the rectangle's four equal sides). */
static void test_rectangle_by_quadrature(void **state)
{
    (void)state;
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    Random random;
    random_init(&random, 12);
    for (int row = 0; row < 200; row++) {
        double w = 0.05 + 2.0 * random_unit(&random);
        double h = 0.05 + 2.0 * random_unit(&random);
        Vec3 at = {2.0 * random_unit(&random) - 1.0, w * (1.6 * random_unit(&random) - 0.8),
                   h * (1.6 * random_unit(&random) - 0.8)};
        if (fabs(at.x) < 0.03) continue;
        Vec3 got = coil_loop_field(w, h, 0.0, at);
        double parts[3] = {got.x, got.y, got.z};
        double size = sqrt(coil_dot(got, got));
        for (int k = 0; k < 3; k++) {
            assert_within(parts[k], loop_by_quadrature(w, h, at, k, space), 1e-10 * size + 1e-11);
        }
        double x = at.x;
        double axis = w * h / (2.0 * PI * sqrt(0.25 * (w * w + h * h) + x * x)) *
                      (1.0 / (0.25 * h * h + x * x) + 1.0 / (0.25 * w * w + x * x)) / 2.0;
        assert_near(coil_loop_field(w, h, 0.0, (Vec3){x, 0.0, 0.0}).x, axis, 1e-12);
    }
    gsl_integration_workspace_free(space);
}

/* kappa^2 is the quantile of chi-square with 2 degrees of freedom. */
static void test_kappa_is_a_chi_square(void **state)
{
    (void)state;
    for (double p = 1e-15; p < 0.5; p *= 3.0) {
        double kappa = detect_kappa(p);
        assert_near(kappa * kappa, gsl_cdf_chisq_Qinv(p, 2.0), 1e-10);
    }
}

/* GSL has no non-central chi-square. Two ways to one: the Poisson sum over its central ones, and
 * the Rice density with GSL's Bessel function, integrated. Q1(a, b) is the tail for 2 degrees of
 * freedom, centre a^2, beyond b^2. */
static double tail_by_poisson(double a, double b)
{
    double half = 0.5 * a * a;
    double sum = 0.0;
    int middle = (int)half;
    int reach = 60 + (int)(12.0 * sqrt(half));
    for (int j = middle > reach ? middle - reach : 0; j <= middle + reach; j++) {
        double weight = exp(-half + (half > 0.0 ? j * log(half) : (j == 0 ? 0.0 : -HUGE_VAL)) -
                            lgamma(j + 1.0));
        sum += weight * gsl_cdf_chisq_Q(b * b, 2.0 + 2.0 * j);
    }
    return sum;
}

static double rice(double x, void *context)
{
    double a = *(const double *)context;
    return x * exp(-0.5 * (x - a) * (x - a)) * gsl_sf_bessel_I0_scaled(a * x);
}

static double tail_by_density(double a, double b, gsl_integration_workspace *space)
{
    gsl_function f = {rice, &a};
    double sum = 0.0;
    for (double from = b; from < fmax(a, b) + 40.0; from += 2.0) {
        double value = 0.0;
        double error = 0.0;
        if (from + 2.0 < a - 40.0) continue; /* nothing there, and all of it counts below */
        (void)gsl_integration_qag(&f, from, from + 2.0, 1e-16, 1e-13, 1000, GSL_INTEG_GAUSS61,
                                  space, &value, &error);
        sum += value;
    }
    return sum;
}

static void test_marcum_over_kappa_and_ratio(void **state)
{
    (void)state;
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    double worst = 0.0;
    for (double kappa = 0.5; kappa <= 40.0; kappa += 1.975) {
        for (double ratio = 0.0; ratio <= 100.0; ratio = ratio < 3.0 ? ratio + 0.13 : 1.5 * ratio) {
            double got = detect_found_probability(ratio, kappa);
            double density = tail_by_density(kappa * ratio, kappa, space);
            assert_within(got, density, 1e-12);
            worst = fmax(worst, fabs(got - density));
            if (kappa * ratio < 30.0 && kappa < 30.0) {
                assert_within(got, tail_by_poisson(kappa * ratio, kappa), 1e-11);
            }
        }
    }
    print_message("Q1 is off the integrated density by at most %.2g\n", worst);
    gsl_integration_workspace_free(space);
}

static void test_marcum_inverse(void **state)
{
    (void)state;
    for (double kappa = 0.5; kappa <= 40.0; kappa += 0.79) {
        double least = detect_found_probability(0.0, kappa);
        for (double chance = 0.001; chance < 1.0; chance += 0.0371) {
            if (chance < least) continue;
            double ratio = detect_ratio_for(chance, kappa);
            assert_within(detect_found_probability(ratio, kappa), chance, 1e-12);
        }
    }
}

/* The incomplete beta function and Clopper and Pearson's interval by gsl_cdf_beta_Pinv. Its search
 * gives up on some large counts; there GSL's function itself is asked at the ends. */
static void test_interval(void **state)
{
    (void)state;
    (void)gsl_set_error_handler_off();
    Random random;
    random_init(&random, 13);
    double worst = 0.0;
    int inverted = 0;
    for (int row = 0; row < 400; row++) {
        uint64_t n = 1 + random_below(&random, row % 4 == 0 ? 1000000 : 2000);
        uint64_t x = random_below(&random, n + 1);
        double level = 0.5 + 0.499 * random_unit(&random);
        ChanceInterval got = chance_interval(x, n, level);
        double tail = 0.5 * (1.0 - level);
        double misses = (double)(n - x);
        double low = x == 0 ? 0.0 : gsl_cdf_beta_Pinv(tail, (double)x, misses + 1.0);
        double high = x == n ? 1.0 : gsl_cdf_beta_Qinv(tail, (double)x + 1.0, misses);
        if (isfinite(low) && isfinite(high)) {
            inverted++;
            assert_within(got.low, low, 1e-9);
            assert_within(got.high, high, 1e-9);
            worst = fmax(worst, fmax(fabs(got.low - low), fabs(got.high - high)));
        }
        if (x > 0) assert_within(gsl_cdf_beta_P(got.low, (double)x, misses + 1.0), tail, 1e-8);
        if (x < n) assert_within(gsl_cdf_beta_Q(got.high, (double)x + 1.0, misses), tail, 1e-8);
        double at = random_unit(&random);
        assert_within(chance_beta((double)x + 1.0, misses + 1.0, at),
                      gsl_cdf_beta_P(at, (double)x + 1.0, misses + 1.0), 1e-9);
    }
    assert_true(inverted > 300);
    print_message("%d intervals are off GSL's by at most %.2g\n", inverted, worst);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_circle_by_a_polygon),
        cmocka_unit_test(test_rectangle_by_quadrature),
        cmocka_unit_test(test_kappa_is_a_chi_square),
        cmocka_unit_test(test_marcum_over_kappa_and_ratio),
        cmocka_unit_test(test_marcum_inverse),
        cmocka_unit_test(test_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
