/* Trials by the hundred thousand: only points are looked at which can decide.
 *
 * The look is at x*, where |v| is largest, and finds when |v(x*) + n| > 1. So a single point with
 * |v| above 1 + |n| decides that it does, and where no point has |v| above 1 - |n| it does not: x*
 * itself is needed between the two alone. A wire turned anyhow at one place has a table of that
 * (turns.h). Of a piece with a place of its own one point is asked first, where |v| is largest
 * for a wire turned much the same; then its travel.
 */
#include "detector/pod.h"

#include <math.h>

#include "base/check.h"
#include "detector/turns.h"

/* Directions of unit length, of the nearest of which the largest |v|'s place is asked first. */
static const Vec3 HINTS[] = {{1, 0, 0},      {0, 0, 1},     {0, 1, 0},     {0.6, 0, 0.8},
                             {0.6, 0, -0.8}, {0.6, 0.8, 0}, {0.6, -0.8, 0}};
enum { HINT_COUNT = sizeof HINTS / sizeof HINTS[0] };

/* One piece in one head. */
typedef struct {
    const PodDescription *description;
    Sight sight; /* held at the fixed place, or in the middle of those that are drawn */
    bool turns_anyhow;
    Vec3 direction;            /* of a wire that does not */
    double hint_x[HINT_COUNT]; /* of the piece, m */
} Pod;

/* Where the piece is when its |v| is largest, in the middle of the places that are drawn. */
static void find_hints(Pod *pod)
{
    for (int k = 0; k < HINT_COUNT; k++) {
        size_t i = sight_largest(&pod->sight, HINTS[k], 0.0);
        pod->hint_x[k] = detect_place(&pod->description->pass.travel, i);
    }
}

/* |v|^2 at the point of the travel where the piece is next to a hint's x; 0 outside the travel. */
static double square_at_hint(const Pod *pod, Vec3 n, Vec3 place, int hint)
{
    const PassDescription *pass = &pod->description->pass;
    const DetectGrid *grid = &pass->travel;
    double index = (pod->hint_x[hint] - place.x - grid->from_m) / grid->step_m + 0.5;
    if (!(index >= 0.0) || index >= (double)grid->count) return 0.0;
    size_t i = (size_t)index;
    Vec3 point = {detect_place(grid, i) + place.x, place.y, place.z};
    CoilFields f = {coil_receive_field(&pass->head.coils, point),
                    coil_transmit_field(&pass->head.coils, point)};
    SightVector v = sight_vector_in(&pod->sight, n, i, &f, coil_dot(f.receive, f.transmit));
    return v.along * v.along + v.across * v.across;
}

/* Whether the hint nearest to the wire's direction alone decides that the piece is found: |v| above
 * `enough`. */
static bool is_sure(const Pod *pod, Vec3 n, Vec3 place, double enough)
{
    int nearest = 0;
    double likest = 0.0;
    for (int k = 0; k < HINT_COUNT; k++) {
        double likeness = fabs(coil_dot(n, HINTS[k]));
        if (likeness > likest) nearest = k;
        likest = likeness > likest ? likeness : likest;
    }
    double square = square_at_hint(pod, n, place, nearest);
    return square > enough * enough && isfinite(square);
}

static Vec3 draw_place(const PassDescription *pass, PodPlace place, Random *random)
{
    if (place == POD_APERTURE) {
        double y = pass->head.coils.aperture_width_m * (random_unit(random) - 0.5);
        double z = pass->head.coils.aperture_height_m * (random_unit(random) - 0.5);
        return (Vec3){0.0, y, z};
    }
    double x = pass->product.length_m * (random_unit(random) - 0.5);
    double y = pass->product.width_m * (random_unit(random) - 0.5);
    double z = pass->product.height_m * (random_unit(random) - 0.5);
    return (Vec3){x, y, pass->product.centre_up_m + z};
}

/* One trial of a piece with a place of its own; false when its ratio is beyond the largest number.
 */
static bool try_anywhere(const Pod *pod, Random *random, bool *found)
{
    const PodDescription *d = pod->description;
    Vec3 n = pod->direction;
    if (pod->turns_anyhow) {
        double units[2];
        units[0] = random_unit(random);
        units[1] = random_unit(random);
        n = turns_direction(units);
    }
    Vec3 place = draw_place(&d->pass, d->place, random);
    double deviation[2];
    detect_draw_deviation(random, pod->sight.program.kappa, deviation);
    double apart = sight_length((SightVector){deviation[0], deviation[1]});
    *found = true;
    if (is_sure(pod, n, place, (1.0 + apart) * (1.0 + SIGHT_SLACK))) return true;
    SightVector v = sight_through(&pod->sight, place, n, 1.0 - apart, 1.0 + apart);
    *found = detect_is_seen(v.along, v.across, deviation);
    return isfinite(v.along) && isfinite(v.across);
}

static Vec3 middle_of(const PodDescription *description)
{
    const PassDescription *pass = &description->pass;
    if (description->place == POD_FIXED) return (Vec3){0.0, pass->across_m, pass->up_m};
    return (Vec3){0.0, 0.0, description->place == POD_PACK ? pass->product.centre_up_m : 0.0};
}

/* The three kinds of trials from number `from` to `to`: how many find into *found, added; false
 * when a ratio is beyond the largest number. */
static bool try_places(const Pod *pod, Random *random, uint64_t count, uint64_t *found)
{
    for (uint64_t i = 0; i < count; i++) {
        bool is_found;
        if (!try_anywhere(pod, random, &is_found)) return false;
        *found += is_found;
    }
    return true;
}

/* Nothing but the deviation differs. */
static bool try_deviations(const Pod *pod, SightVector v, Random *random, uint64_t count,
                           uint64_t *found)
{
    for (uint64_t i = 0; i < count; i++) {
        double deviation[2];
        detect_draw_deviation(random, pod->sight.program.kappa, deviation);
        *found += detect_is_seen(v.along, v.across, deviation);
    }
    return isfinite(v.along) && isfinite(v.across);
}

static bool try_all(const Pod *pod, const Progress *progress, uint64_t *found, Err *err)
{
    const PodDescription *d = pod->description;
    bool is_fixed = d->place == POD_FIXED;
    Turns *turns = NULL;
    SightVector v = {0.0, 0.0};
    bool ok = true;
    Random random;
    random_init(&random, d->seed);
    if (is_fixed && pod->turns_anyhow) turns = turns_new(&pod->sight, d->trials);
    if (is_fixed) {
        v = sight_vector(&pod->sight, pod->direction,
                         sight_largest(&pod->sight, pod->direction, 0.0));
    }
    uint64_t between = is_fixed ? TURNS_MAX : 64;
    for (uint64_t i = 0; ok && i < d->trials; i += between) {
        uint64_t count = d->trials - i < between ? d->trials - i : between;
        if (!progress_step(progress, (double)i / (double)d->trials)) {
            ok = err_set(err, ERR_STOPPED, "stopped");
            break;
        }
        if (turns != NULL) {
            ok = turns_try(turns, &random, (size_t)count, found);
        } else {
            ok = is_fixed ? try_deviations(pod, v, &random, count, found)
                          : try_places(pod, &random, count, found);
        }
        if (!ok) {
            err_set(err, ERR_RANGE, "ratio is beyond the largest number: noise_nv is too small");
        }
    }
    turns_free(turns);
    return ok;
}

bool pod_compute(const PodDescription *description, const Progress *progress, PodResult *result,
                 Err *err)
{
    const PassDescription *pass = &description->pass;
    CHECK(description->trials >= 1 && description->trials <= POD_TRIALS_MAX);
    CHECK((double)description->trials * (double)pass->travel.count <= POD_WORK_MAX);
    CHECK(description->place != POD_PACK || pass->has_product);
    bool ok = false;
    uint64_t found = 0;
    bool is_wire = pass->target.shape == TARGET_WIRE;
    Pod pod = {.description = description,
               .turns_anyhow = is_wire && description->random_direction,
               .direction = is_wire ? target_unit(pass->target.direction) : (Vec3){1.0, 0.0, 0.0}};

    if (!sight_init(&pod.sight, pass, middle_of(description), err)) goto done;
    if (description->place != POD_FIXED) find_hints(&pod);
    if (!try_all(&pod, progress, &found, err)) goto done;

    *result = (PodResult){.trials = description->trials,
                          .found = found,
                          .probability = (double)found / (double)description->trials,
                          .interval = chance_interval(found, description->trials, POD_LEVEL)};
    ok = true;
done:
    sight_clear(&pod.sight);
    return ok;
}
