/* What people on packing lines know of their detectors, as check values: common practice, no
 * source. One set of plausible settings, never adjusted for a case; only the noise of each head is
 * fitted, so that the large aperture just validates a stainless sphere of 5.0 mm in a full case,
 * and the small one 3.5 mm in a single pack of that case. The test prints what is found and what is
 * missed. */
#include "support.h"

#include "detector/fit.h"
#include "detector/pass.h"

/* The shipped kind "moist" (assets/kinds.json), packed six to a case. */
#define LENGTH_M 0.30
#define CONDUCTIVITY 0.05

typedef struct {
    const char *name;
    DetectHead head;
} Machine;

static const TargetMetal STAINLESS = {7.4e-7, 1.005};
static const TargetMetal STEEL = {1.5e-7, 90.0};

typedef enum { CASE, SINGLE } Packing;

/* On a belt 20 mm above the aperture's floor. */
static ProductBlock block_of(const Machine *machine, Packing packing)
{
    ProductBlock block = {.length_m = packing == CASE ? LENGTH_M : LENGTH_M / 2.0,
                          .width_m = packing == CASE ? 0.21 : 0.07,
                          .height_m = 0.10,
                          .columns_across = packing == CASE ? 3 : 1,
                          .columns_up = 1,
                          .conductivity_s_per_m = CONDUCTIVITY,
                          .relative_permeability = 1.0,
                          .amplitude_variation = 0.06,
                          .phase_variation_rad = 0.02};
    block.centre_up_m = -0.5 * machine->head.coils.aperture_height_m + 0.02 + 0.5 * block.height_m;
    return block;
}

static void fit_machine(Machine *machine, Packing packing, double diameter_m)
{
    Err err = {0};
    FitResult result = {0};
    FitSphere sphere = {STAINLESS, diameter_m, "stainless"};
    FitProgram program = {.product = block_of(machine, packing), .spheres = &sphere, .count = 1};
    if (!fit_head(&machine->head, 0.99999, &program, 1, NULL, &result, &err)) {
        fail_msg("%s", err.text);
    }
    machine->head.noise_v = result.noise_v;
    assert_true(result.variation_factor == 1.0 && result.noise_v > 0.0);
    assert_near(result.spheres[0].ratio, result.wanted_ratio, 1e-6);
    print_message("%s: noise %.3g nV, %.3g times the limit is always found\n", machine->name,
                  result.noise_v * 1e9, result.wanted_ratio);
    fit_result_clear(&result);
}

static double ratio_of(const Machine *machine, Packing packing, TargetPiece piece, double y,
                       double z)
{
    Err err = {0};
    PassResult result = {0};
    PassDescription pass = {.head = machine->head,
                            .has_product = true,
                            .product = block_of(machine, packing),
                            .target = piece,
                            .across_m = y,
                            .up_m = z};
    pass.travel = fit_travel(&machine->head.coils, pass.product.length_m);
    if (!pass_compute(&pass, &result, &err)) fail_msg("%s", err.text);
    double ratio = result.ratio;
    pass_result_clear(&result);
    return ratio;
}

enum { SIDES = 5, UPS = 5, PLACES = SIDES * UPS };

/* Ratios at a net of places of the pack, from face to face. */
static void ratios_of(const Machine *machine, Packing packing, TargetPiece piece,
                      double ratios[PLACES])
{
    ProductBlock block = block_of(machine, packing);
    for (int i = 0; i < PLACES; i++) {
        double y = 0.5 * block.width_m * (i % SIDES / 2.0 - 1.0);
        double z = block.centre_up_m + 0.5 * block.height_m * ((int)(i / SIDES) / 2.0 - 1.0);
        ratios[i] = ratio_of(machine, packing, piece, y, z);
    }
}

static double least(const double ratios[PLACES])
{
    double low = ratios[0];
    for (int i = 1; i < PLACES; i++) {
        low = fmin(low, ratios[i]);
    }
    return low;
}

/* Found always, as a site means it: with a chance of 0.99999. */
static int found_in(const double ratios[PLACES])
{
    double always = detect_ratio_for(0.99999, detect_kappa(1e-6));
    int found = 0;
    for (int i = 0; i < PLACES; i++) {
        found += ratios[i] >= always;
    }
    return found;
}

static TargetPiece wire(double length_m, Vec3 direction)
{
    return (TargetPiece){TARGET_WIRE, 0.0004, length_m, direction, STEEL};
}

static const struct {
    const char *name;
    Vec3 direction;
} WAYS[] = {{"lengthways", {1, 0, 0}}, {"crossways", {0, 1, 0}}, {"vertical", {0, 0, 1}}};

/* Directions of a net over the half sphere in which the wire is found at every place. */
static int directions_found(const Machine *machine, Packing packing, double length_m)
{
    enum { RINGS = 6, TURNS = 12 };
    int found = 0;
    for (int i = 0; i < RINGS * TURNS; i++) {
        double up = (i % RINGS + 0.5) / RINGS;
        double angle = 6.283185307179586 * ((int)(i / RINGS) + 0.5) / TURNS;
        double side = sqrt(1.0 - up * up);
        double ratios[PLACES];
        ratios_of(machine, packing,
                  wire(length_m, (Vec3){side * cos(angle), side * sin(angle), up}), ratios);
        found += found_in(ratios) == PLACES;
    }
    return found;
}

/* The chance that a wire is found that lies at any of the places alike. */
static double chance_of(const double ratios[PLACES])
{
    double sum = 0.0;
    for (int i = 0; i < PLACES; i++) {
        sum += detect_found_probability(ratios[i], detect_kappa(1e-6)) / PLACES;
    }
    return sum;
}

static void print_row(const char *machine, Packing packing, const char *what, const char *way,
                      const double ratios[PLACES])
{
    print_message(
        "%-6s %-7s %-12s %-11s always found at %2d of %d places, chance %.4f, least ratio %.2f\n",
        machine, packing == CASE ? "case" : "single", what, way, found_in(ratios), PLACES,
        chance_of(ratios), least(ratios));
}

static void check_machine(const Machine *machine)
{
    int directions[2][2];
    double chances[2] = {0.0, 0.0};
    for (Packing packing = CASE; packing <= SINGLE; packing++) {
        double chance[3];
        for (int way = 0; way < 3; way++) {
            for (int half = 0; half < 2; half++) {
                double ratios[PLACES];
                ratios_of(machine, packing, wire(half ? 0.018 : 0.036, WAYS[way].direction),
                          ratios);
                print_row(machine->name, packing, half ? "wire 18 mm" : "wire 36 mm",
                          WAYS[way].name, ratios);
                chances[packing] += chance_of(ratios);
                if (half) continue;
                chance[way] = chance_of(ratios);
                if (way == 0) assert_int_equal(found_in(ratios), PLACES);
            }
        }
        if (packing == CASE) assert_true(chance[1] < chance[0] && chance[1] < chance[2]);
        directions[packing][0] = directions_found(machine, packing, 0.036);
        directions[packing][1] = directions_found(machine, packing, 0.018);
        print_message(
            "%-6s %-7s always found at every place in %d of 72 directions, its half in %d\n",
            machine->name, packing == CASE ? "case" : "single", directions[packing][0],
            directions[packing][1]);
        assert_true(directions[packing][1] < directions[packing][0]);
    }
    assert_true(chances[SINGLE] > chances[CASE]);
    assert_true(directions[SINGLE][0] >= directions[CASE][0]);
}

/* A sphere smaller than what is validated is missed at the centre and found at the wall. */
static void check_wall(const Machine *machine, Packing packing, double validated_m)
{
    TargetPiece sphere = {.shape = TARGET_SPHERE, .metal = STAINLESS};
    sphere.diameter_m = 0.85 * validated_m;
    double centre = ratio_of(machine, packing, sphere, 0.0, 0.0);
    double wall = ratio_of(machine, packing, sphere, 0.0,
                           -0.5 * machine->head.coils.aperture_height_m + 0.02);
    print_message("%-6s %-7s sphere %.1f mm  at the centre %.2f, at the wall %.2f\n", machine->name,
                  packing == CASE ? "case" : "single", sphere.diameter_m * 1e3, centre, wall);
    assert_true(centre < 1.0 && wall > 1.0);
}

static void test_common_practice(void **state)
{
    (void)state;
    Machine large = {"large", {{0.5, 0.35, 0.02, 0.13}, 150e3, 0.0, 1e-6}};
    Machine small = {"small", {{0.3, 0.2, 0.02, 0.08}, 150e3, 0.0, 1e-6}};
    fit_machine(&large, CASE, 0.0050);
    fit_machine(&small, SINGLE, 0.0035);
    check_machine(&large);
    check_machine(&small);
    check_wall(&large, CASE, 0.0050);
    check_wall(&small, SINGLE, 0.0035);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_common_practice)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
