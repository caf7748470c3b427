/* The field of the coils against quadrature, elliptic integrals and text-book formulas. */
#include "support.h"

#include "base/random.h"
#include "detector/coil.h"

#define PI 3.14159265358979323846

static double length_of(Vec3 v)
{
    return sqrt(coil_dot(v, v));
}

static void assert_vector_near(Vec3 got, Vec3 want, double relative)
{
    Vec3 apart = {got.x - want.x, got.y - want.y, got.z - want.z};
    assert_within(length_of(apart), 0.0, relative * length_of(want));
}

/* Source: rect_loop_field.csv, Biot and Savart by quadrature at 50 digits. */
static void test_loop_field_table(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/rect_loop_field.csv");
    assert_int_equal(csv.rows, 24);
    for (size_t i = 0; i < csv.rows; i++) {
        Vec3 point = {csv_number(&csv, i, "x_m"), csv_number(&csv, i, "y_m"),
                      csv_number(&csv, i, "z_m")};
        Vec3 want = {csv_number(&csv, i, "hx_per_m"), csv_number(&csv, i, "hy_per_m"),
                     csv_number(&csv, i, "hz_per_m")};
        double width = csv_number(&csv, i, "W_m");
        double height = csv_number(&csv, i, "H_m");
        assert_vector_near(coil_loop_field(width, height, 0.0, point), want, 1e-12);
        point.x += 0.25;
        assert_vector_near(coil_loop_field(width, height, 0.25, point), want, 1e-12);
    }
    csv_free(&csv);
}

/* A regular polygon of the circle's area in the plane x = at_x. */
static Vec3 polygon_field(double radius, double at_x, int sides, Vec3 point)
{
    double angle = 2.0 * PI / sides;
    double corner = radius * sqrt(angle / sin(angle));
    Vec3 sum = {0.0, 0.0, 0.0};
    for (int i = 0; i < sides; i++) {
        Vec3 from = {at_x, corner * cos(i * angle), corner * sin(i * angle)};
        Vec3 to = {at_x, corner * cos((i + 1) * angle), corner * sin((i + 1) * angle)};
        Vec3 side = coil_segment_field(from, to, point);
        sum = (Vec3){sum.x + side.x, sum.y + side.y, sum.z + side.z};
    }
    return sum;
}

/* Source: circular_loop_field.csv, complete elliptic integrals (Jackson, Classical Electrodynamics,
 * 5.37). The polygon's own error falls as sides^-4: from 5.7e-5 at 90 sides to 6e-11 at 2880. */
static void test_segment_field_circle(void **state)
{
    (void)state;
    Csv csv = csv_load("tests/data/circular_loop_field.csv");
    assert_int_equal(csv.rows, 8);
    for (size_t i = 0; i < csv.rows; i++) {
        double rho = csv_number(&csv, i, "rho_m");
        Vec3 point = {csv_number(&csv, i, "x_m"), 0.6 * rho, 0.8 * rho};
        double out = csv_number(&csv, i, "hrho_per_m");
        Vec3 want = {csv_number(&csv, i, "hx_per_m"), 0.6 * out, 0.8 * out};
        assert_vector_near(polygon_field(csv_number(&csv, i, "a_m"), 0.0, 2880, point), want,
                           1e-10);
    }
    csv_free(&csv);
}

/* The centre of a Helmholtz pair: (4/5)^(3/2) per ampere-turn and radius, text-book formula. */
static void test_segment_field_helmholtz(void **state)
{
    (void)state;
    Vec3 centre = {0.0, 0.0, 0.0};
    double sum = polygon_field(1.0, -0.5, 2880, centre).x + polygon_field(1.0, 0.5, 2880, centre).x;
    assert_near(sum, 0.7155417527999327, 1e-12);
}

/* Text-book form for the axis of a rectangular loop; the centre of a square of side 1 is 2 sqrt(2)
 * / pi. */
static void test_loop_field_axis(void **state)
{
    (void)state;
    Vec3 centre = {0.0, 0.0, 0.0};
    assert_near(coil_loop_field(1.0, 1.0, 0.0, centre).x, 0.9003163161571061, 1e-13);
    Random random;
    random_init(&random, 5);
    for (int i = 0; i < 1000; i++) {
        double w = 0.02 + 3.0 * random_unit(&random);
        double h = 0.02 + 3.0 * random_unit(&random);
        Vec3 point = {6.0 * random_unit(&random) - 3.0, 0.0, 0.0};
        double square = point.x * point.x;
        double want = w * h / (4.0 * PI) *
                      (1.0 / (square + w * w / 4.0) + 1.0 / (square + h * h / 4.0)) /
                      sqrt(square + w * w / 4.0 + h * h / 4.0);
        Vec3 got = coil_loop_field(w, h, 0.0, point);
        assert_near(got.x, want, 1e-12);
        assert_within(hypot(got.y, got.z), 0.0, 1e-12 * want);
    }
}

/* Close to a long straight wire the field is that of an endless one, 1 / (2 pi d) (Ampere); on the
 * wire itself it has no value, and the mean over all sides is zero. */
static void test_segment_field_beside_and_on_the_wire(void **state)
{
    (void)state;
    Vec3 from = {0.0, -1.0, 0.0};
    Vec3 to = {0.0, 1.0, 0.0};
    for (double d = 1e-3; d > 1e-12; d /= 10.0) {
        Vec3 got = coil_segment_field(from, to, (Vec3){d, 0.0, 0.0});
        assert_near(got.z, -1.0 / (2.0 * PI * d) / sqrt(1.0 + d * d), 1e-13);
        assert_true(got.x == 0.0 && got.y == 0.0);
    }
    Vec3 places[] = {{0, 0, 0}, {0, 0.3, 0}, {0, 1, 0}, {0, -1, 0}, {0, 5, 0}};
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        Vec3 got = coil_segment_field(from, to, places[i]);
        assert_true(got.x == 0.0 && got.y == 0.0 && got.z == 0.0);
    }
}

/* The head is made of the loop: the transmitter at 0, the receivers at -+ the offset, opposed. */
static void test_head_fields(void **state)
{
    (void)state;
    CoilHead head = {0.7, 0.3, 0.02, 0.15};
    Vec3 point = {0.05, 0.02, -0.08};
    Vec3 behind = coil_loop_field(0.74, 0.34, -0.15, point);
    Vec3 ahead = coil_loop_field(0.74, 0.34, 0.15, point);
    assert_vector_near(coil_transmit_field(&head, point), coil_loop_field(0.74, 0.34, 0.0, point),
                       1e-15);
    Vec3 want = {behind.x - ahead.x, behind.y - ahead.y, behind.z - ahead.z};
    assert_vector_near(coil_receive_field(&head, point), want, 1e-15);
    Vec3 middle = coil_receive_field(&head, (Vec3){0.0, 0.0, 0.0});
    assert_within(length_of(middle), 0.0, 1e-15);
    assert_near(coil_dot((Vec3){1, 2, 3}, (Vec3){4, -5, 6}), 12.0, 1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_loop_field_table),
        cmocka_unit_test(test_segment_field_circle),
        cmocka_unit_test(test_segment_field_helmholtz),
        cmocka_unit_test(test_loop_field_axis),
        cmocka_unit_test(test_segment_field_beside_and_on_the_wire),
        cmocka_unit_test(test_head_fields),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
