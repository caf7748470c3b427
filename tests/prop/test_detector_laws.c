/* What any plausible arrangement of coils must show, over a thousand random ones a law. Every law
 * says in which domain it holds without exception, and is drawn from the whole of it.
 *
 * Common to all: aperture heights of 20 to 3000 mm, and a receiver offset of at most 0.4 of the
 * smaller side of the coils (pass_head_is_plausible). A failure prints its seed.
 */
#include "support.h"

#include "base/random.h"
#include "detector/pass.h"
#include "detector/smallest.h"

enum { ARRANGEMENTS = 1000 };

static double between(Random *random, double low, double high)
{
    return low + (high - low) * random_unit(random);
}

/* Uniform in the logarithm. */
static double spread(Random *random, double low, double high)
{
    return low * pow(high / low, random_unit(random));
}

/* Clearance as a part of the smaller side of the aperture, offset of the smaller side of the
 * coils. */
typedef struct {
    double width_min, width_max; /* of the height */
    double clearance_min, clearance_max;
    double offset_min, offset_max;
} Domain;

static const Domain ANY = {0.25, 4.0, 0.02, 0.3, 0.1, 0.4};

static CoilHead draw_coils(Random *random, const Domain *domain)
{
    double height = spread(random, 0.02, 3.0);
    double width = height * spread(random, domain->width_min, domain->width_max);
    double smaller = fmin(width, height);
    double clearance = smaller * between(random, domain->clearance_min, domain->clearance_max);
    CoilHead coils = {width, height, clearance, 0.0};
    coils.receiver_offset_m =
        (smaller + 2.0 * clearance) * between(random, domain->offset_min, domain->offset_max);
    assert_true(pass_head_is_plausible(&coils));
    return coils;
}

#define assert_law(seed, holds) law_or_fail((holds), (seed), #holds)

static void law_or_fail(bool holds, unsigned seed, const char *law)
{
    if (!holds) fail_msg("seed %u: %s", seed, law);
}

static double signal_size(const CoilHead *coils, const TargetTensor *tensor, Vec3 at)
{
    return cabs(
        target_couple(tensor, coil_receive_field(coils, at), coil_transmit_field(coils, at)));
}

/* The largest |h_r . A h_t| of a pass at (y, z), found on a grid and then by golden section. */
static double pass_peak(const CoilHead *coils, const TargetTensor *tensor, double y, double z)
{
    enum { POINTS = 90 };
    double span =
        coils->receiver_offset_m + 1.5 * fmin(coils->aperture_width_m, coils->aperture_height_m);
    double step = 2.0 * span / POINTS;
    double best = 0.0;
    double best_x = 0.0;
    for (int i = 0; i <= POINTS; i++) {
        double x = -span + i * step;
        double size = signal_size(coils, tensor, (Vec3){x, y, z});
        if (size <= best) continue;
        best = size;
        best_x = x;
    }
    double low = best_x - step;
    double high = best_x + step;
    for (int i = 0; i < 26; i++) {
        double left = high - 0.618034 * (high - low);
        double right = low + 0.618034 * (high - low);
        bool rises = signal_size(coils, tensor, (Vec3){left, y, z}) <
                     signal_size(coils, tensor, (Vec3){right, y, z});
        *(rises ? &low : &high) = rises ? left : right;
    }
    return fmax(best, signal_size(coils, tensor, (Vec3){0.5 * (low + high), y, z}));
}

static const TargetTensor UNIT_SPHERE = {.xx = 1.0, .yy = 1.0, .zz = 1.0};

/* The centre of the cross-section is the weakest place for a sphere, and its signal rises all the
 * way to every wall. Widths from a quarter of the height to four times it. */
static void test_centre_is_the_weakest(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random, &ANY);
        double half_w = 0.5 * coils.aperture_width_m;
        double half_h = 0.5 * coils.aperture_height_m;
        double centre = pass_peak(&coils, &UNIT_SPHERE, 0.0, 0.0);
        double last_side = centre;
        double last_up = centre;
        for (int i = 1; i <= 6; i++) {
            double side = pass_peak(&coils, &UNIT_SPHERE, half_w * i / 6.0, 0.0);
            double up = pass_peak(&coils, &UNIT_SPHERE, 0.0, -half_h * i / 6.0);
            assert_law(seed, side > last_side);
            assert_law(seed, up > last_up);
            last_side = side;
            last_up = up;
        }
        double y = half_w * between(&random, -1.0, 1.0);
        double z = half_h * between(&random, -1.0, 1.0);
        assert_law(seed, pass_peak(&coils, &UNIT_SPHERE, y, z) > centre);
    }
}

/* Aperture and coils larger by q, the same piece: the signal falls as q^-2, at places larger by q.
 * Holds for every arrangement, without a bound on the offset. */
static void test_signal_falls_with_the_square_of_scale(void **state)
{
    (void)state;
    TargetPiece wire = {TARGET_WIRE, 0.0005, 0.02, {1, 2, -1}, {1.5e-7, 90.0}};
    TargetTensor tensor = target_polarizability(&wire, 150e3);
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random, &ANY);
        double q = spread(&random, 0.1, 10.0);
        CoilHead scaled = {q * coils.aperture_width_m, q * coils.aperture_height_m,
                           q * coils.clearance_m, q * coils.receiver_offset_m};
        Vec3 at = {coils.aperture_height_m * between(&random, -2.0, 2.0),
                   coils.aperture_width_m * between(&random, -0.5, 0.5),
                   coils.aperture_height_m * between(&random, -0.5, 0.5)};
        double one = signal_size(&coils, &tensor, at);
        double other = signal_size(&scaled, &tensor, (Vec3){q * at.x, q * at.y, q * at.z});
        assert_within(other * q * q, one, 1e-9 * pass_peak(&coils, &tensor, at.y, at.z));
    }
}

/* Peaks of a wire lengthways, crossways and vertical on the mid-plane y = 0. */
static void wire_peaks(const CoilHead *coils, TargetPiece wire, double frequency_hz, double z,
                       double peaks[3])
{
    for (int i = 0; i < 3; i++) {
        wire.direction = (Vec3){i == 0, i == 1, i == 2};
        TargetTensor tensor = target_polarizability(&wire, frequency_hz);
        peaks[i] = pass_peak(coils, &tensor, 0.0, z);
    }
}

/* A magnetic wire lengthways gives the largest signal, everywhere up to 0.40 of the height from the
 * middle; at the middle vertical and crossways are the same; 0.35 to 0.40 below it, where a pack on
 * a belt is, vertical beats crossways. Domain: widths of one to four heights, clearance 0.05 to
 * 0.10 of the height (closer wires make vertical the largest near them, farther ones crossways
 * second), offset 0.2 to 0.4; ten to a hundred times as long as thick, permeability 40 to 300, |ka|
 * 0.3 to 10 (beyond, the wire is all skin, and turns crossways into the second). */
static void test_magnetic_wire(void **state)
{
    (void)state;
    const Domain domain = {1.0, 4.0, 0.05, 0.10, 0.2, 0.4};
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random, &domain);
        TargetMetal metal = {spread(&random, 1e-7, 3e-7), between(&random, 40.0, 300.0)};
        double thick = spread(&random, 0.05e-3, 1e-3);
        TargetPiece wire = {
            TARGET_WIRE, thick, thick * spread(&random, 10.0, 100.0), {1, 0, 0}, metal};
        double per_hz = target_skin_number(0.5 * thick, metal, 1.0);
        double frequency_hz = pow(spread(&random, 0.3, 10.0), 2.0) / per_hz;
        double peaks[3];
        double height = coils.aperture_height_m;
        wire_peaks(&coils, wire, frequency_hz, 0.0, peaks);
        assert_law(seed, peaks[0] > peaks[1]);
        assert_near(peaks[2], peaks[1], 1e-9);
        wire_peaks(&coils, wire, frequency_hz, between(&random, -0.4, 0.4) * height, peaks);
        assert_law(seed, peaks[0] > peaks[1] && peaks[0] > peaks[2]);
        wire_peaks(&coils, wire, frequency_hz, between(&random, -0.4, -0.35) * height, peaks);
        assert_law(seed, peaks[0] > peaks[2] && peaks[2] > peaks[1]);
    }
}

/* A wire that is not magnetic (permeability 1) gives more crossways than lengthways up to 0.40 of
 * the height from the middle. Domain: widths of one to four heights; any metal, |ka| 0.01 to 10,
 * five to a hundred times as long as thick. */
static void test_non_magnetic_wire(void **state)
{
    (void)state;
    const Domain domain = {1.0, 4.0, 0.02, 0.3, 0.1, 0.4};
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random, &domain);
        TargetMetal metal = {spread(&random, 1e-8, 1e-6), 1.0};
        double thick = spread(&random, 0.05e-3, 1e-3);
        TargetPiece wire = {
            TARGET_WIRE, thick, thick * spread(&random, 5.0, 100.0), {1, 0, 0}, metal};
        double per_hz = target_skin_number(0.5 * thick, metal, 1.0);
        double frequency_hz = pow(spread(&random, 0.01, 10.0), 2.0) / per_hz;
        double peaks[3];
        double z = between(&random, -0.4, 0.4) * coils.aperture_height_m;
        wire_peaks(&coils, wire, frequency_hz, z, peaks);
        assert_law(seed, peaks[1] > peaks[0]);
    }
}

/* Half the wire gives less than the whole, wherever and however it passes. Domain: the half is
 * still twice as long as thick; any direction and place; magnetic metals and others of |ka| 0.01 to
 * 10. */
static void test_half_the_wire(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead coils = draw_coils(&random, &ANY);
        double mu_r = seed % 2 == 0 ? 1.0 : spread(&random, 1.0, 300.0);
        TargetMetal metal = {spread(&random, 1e-8, 1e-6), mu_r};
        double thick = spread(&random, 0.05e-3, 1e-3);
        Vec3 way = {between(&random, -1, 1), between(&random, -1, 1), between(&random, -1, 1)};
        TargetPiece whole = {TARGET_WIRE, thick, thick * spread(&random, 4.0, 200.0), way, metal};
        TargetPiece half = whole;
        half.length_m *= 0.5;
        double per_hz = target_skin_number(0.5 * thick, metal, 1.0);
        double frequency_hz = pow(spread(&random, 0.01, 10.0), 2.0) / per_hz;
        TargetTensor a = target_polarizability(&whole, frequency_hz);
        TargetTensor b = target_polarizability(&half, frequency_hz);
        double y = coils.aperture_width_m * between(&random, -0.5, 0.5);
        double z = coils.aperture_height_m * between(&random, -0.5, 0.5);
        assert_law(seed, pass_peak(&coils, &b, y, z) < pass_peak(&coils, &a, y, z));
    }
}

/* A sphere's answer does not know of a direction: the same bits whatever the description says. */
static void test_sphere_has_no_direction(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        TargetPiece ball = {.shape = TARGET_SPHERE,
                            .diameter_m = spread(&random, 1e-5, 0.1),
                            .direction = {1, 0, 0},
                            .metal = {spread(&random, 1e-8, 1e-6), spread(&random, 1.0, 1000.0)}};
        TargetPiece turned = ball;
        turned.direction = (Vec3){random_unit(&random), -3.0, random_unit(&random)};
        TargetTensor a = target_polarizability(&ball, 150e3);
        TargetTensor b = target_polarizability(&turned, 150e3);
        assert_law(seed, a.xx == b.xx && a.yy == a.xx && a.zz == a.xx && b.xy == 0.0);
    }
}

static ProductBlock draw_product(Random *random, const CoilHead *coils)
{
    double smaller = fmin(coils->aperture_width_m, coils->aperture_height_m);
    return (ProductBlock){.length_m = smaller * spread(random, 0.2, 2.0),
                          .width_m = smaller * spread(random, 0.1, 0.8),
                          .height_m = smaller * spread(random, 0.1, 0.8),
                          .columns_across = 1 + (int)random_below(random, 4),
                          .columns_up = 1 + (int)random_below(random, 4),
                          .conductivity_s_per_m = spread(random, 1e-4, 100.0),
                          .relative_permeability = 1.0,
                          .centre_up_m = coils->aperture_height_m * between(random, -0.3, 0.3),
                          .amplitude_variation = spread(random, 0.01, 0.3),
                          .phase_variation_rad = spread(random, 0.005, 0.1)};
}

/* Ratio of a sphere at a place, with the program for `learned`, which is also today's. */
static double ratio_in(const DetectHead *head, const ProductBlock *learned, double diameter_m)
{
    DetectGrid grid = {.from_m = -3.0 * head->coils.aperture_height_m, .count = 301};
    grid.step_m = -grid.from_m / 150.0;
    Err err = {0};
    DetectProgram program = {0};
    double coupling[301];
    assert_true(detect_program_init(&program, head, learned, &grid, &err));
    smallest_coupling(&head->coils, 0.0, 0.0, &grid, coupling);
    SmallestPlace place = {.program = &program,
                           .frequency_hz = head->frequency_hz,
                           .coupling = coupling,
                           .count = grid.count};
    double ratio = smallest_ratio(&place, (TargetMetal){7.4e-7, 1.005}, diameter_m);
    detect_program_clear(&program);
    return ratio;
}

/* More product in the aperture never improves the sensitivity; dry product leaves it as it is on
 * the bare belt, to the bit. Domain: a product that conducts and is not magnetic (a magnetic part
 * turns the axis, and with it what hides); more of it in conductivity, width or height, or fewer
 * walls between its packs. */
static void test_more_product(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        DetectHead head = {.coils = draw_coils(&random, &ANY),
                           .frequency_hz = spread(&random, 1e3, 1e6),
                           .noise_v = spread(&random, 1e-10, 1e-7),
                           .false_reject_rate = 1e-6};
        double diameter = spread(&random, 1e-4, 1e-2);
        ProductBlock less = draw_product(&random, &head.coils);
        ProductBlock more = less;
        switch (seed % 4) {
        case 0:
            more.conductivity_s_per_m *= between(&random, 1.0, 2.0);
            break;
        case 1:
            more.width_m *= between(&random, 1.0, 1.2);
            break;
        case 2:
            more.height_m *= between(&random, 1.0, 1.2);
            break;
        default:
            more.columns_across = 1;
            break;
        }
        double bare = ratio_in(&head, NULL, diameter);
        double with_less = ratio_in(&head, &less, diameter);
        assert_law(seed, with_less <= bare * (1.0 + 1e-12));
        assert_law(seed, ratio_in(&head, &more, diameter) <= with_less * (1.0 + 1e-12));
        less.conductivity_s_per_m = 0.0;
        assert_law(seed, ratio_in(&head, &less, diameter) == bare);
    }
}

/* The signal is linear in the piece: two pieces in a pack add. And, far below resonance, where a
 * piece answers by its volume alone, two of half the volume answer as one. */
static void test_pieces_add(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        DetectHead head = {.coils = draw_coils(&random, &ANY),
                           .frequency_hz = 1e3,
                           .noise_v = 1e-9,
                           .false_reject_rate = 1e-6};
        DetectGrid grid = {-head.coils.aperture_height_m, head.coils.aperture_height_m / 10.0, 21};
        DetectPiece pieces[2];
        double complex alone[2][21] = {{0.0}};
        double complex both[21] = {0.0};
        double largest = 0.0;
        for (int k = 0; k < 2; k++) {
            pieces[k] =
                (DetectPiece){.piece = {.shape = TARGET_SPHERE,
                                        .diameter_m = 1e-4,
                                        .metal = {7.4e-7, between(&random, 1.0, 90.0)}},
                              .along_m = head.coils.aperture_height_m * between(&random, -0.5, 0.5),
                              .across_m = head.coils.aperture_width_m * between(&random, -0.4, 0.4),
                              .up_m = head.coils.aperture_height_m * between(&random, -0.4, 0.4)};
            detect_add_signal(&head, &pieces[k], &grid, alone[k]);
            detect_add_signal(&head, &pieces[k], &grid, both);
            largest = fmax(largest, cabs(alone[k][detect_peak(alone[k], grid.count)]));
        }
        for (size_t i = 0; i < grid.count; i++) {
            assert_within(both[i], alone[0][i] + alone[1][i], 1e-14 * largest);
        }
        TargetPiece one = pieces[0].piece;
        TargetPiece half = one;
        one.metal.relative_permeability = half.metal.relative_permeability =
            between(&random, 2.0, 90.0);
        half.diameter_m *= cbrt(0.5);
        assert_near(2.0 * target_polarizability(&half, 1e3).xx, target_polarizability(&one, 1e3).xx,
                    1e-4);
    }
}

/* Maxwell's equations between the wires: neither divergence nor curl, by central differences.
 * Places inside the aperture and outside along the belt, at least a clearance from every wire. */
static void test_field_obeys_maxwell(void **state)
{
    (void)state;
    for (unsigned seed = 0; seed < ARRANGEMENTS; seed++) {
        Random random;
        random_init(&random, seed);
        CoilHead c = draw_coils(&random, &ANY);
        Vec3 at = {c.aperture_height_m * between(&random, -2.0, 2.0),
                   c.aperture_width_m * between(&random, -0.5, 0.5),
                   c.aperture_height_m * between(&random, -0.5, 0.5)};
        double d = 1e-3 * c.clearance_m;
        Vec3 slopes[3];
        double size = 0.0;
        for (int k = 0; k < 3; k++) {
            Vec3 step = {k == 0 ? d : 0.0, k == 1 ? d : 0.0, k == 2 ? d : 0.0};
            Vec3 a = coil_receive_field(&c, (Vec3){at.x + step.x, at.y + step.y, at.z + step.z});
            Vec3 b = coil_receive_field(&c, (Vec3){at.x - step.x, at.y - step.y, at.z - step.z});
            slopes[k] = (Vec3){(a.x - b.x) / (2 * d), (a.y - b.y) / (2 * d), (a.z - b.z) / (2 * d)};
            size += fabs(slopes[k].x) + fabs(slopes[k].y) + fabs(slopes[k].z);
        }
        Vec3 field = coil_receive_field(&c, at);
        double tolerance = 1e-5 * size + 1e-12 * sqrt(coil_dot(field, field)) / d;
        assert_within(slopes[0].x + slopes[1].y + slopes[2].z, 0.0, tolerance);
        assert_within(slopes[1].z, slopes[2].y, tolerance);
        assert_within(slopes[2].x, slopes[0].z, tolerance);
        assert_within(slopes[0].y, slopes[1].x, tolerance);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_centre_is_the_weakest),
        cmocka_unit_test(test_signal_falls_with_the_square_of_scale),
        cmocka_unit_test(test_magnetic_wire),
        cmocka_unit_test(test_non_magnetic_wire),
        cmocka_unit_test(test_half_the_wire),
        cmocka_unit_test(test_sphere_has_no_direction),
        cmocka_unit_test(test_more_product),
        cmocka_unit_test(test_pieces_add),
        cmocka_unit_test(test_field_obeys_maxwell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
