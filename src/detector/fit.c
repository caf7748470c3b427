/* Least squares in two numbers that are never negative, by narrowing a net over the box that holds
 * them.
 *
 * A sphere's ratio is sqrt(A / (noise^2 + f^2 a) + B / (noise^2 + f^2 b)), f the factor: it falls
 * with both numbers. So beyond the noise that brings the strongest sphere down to the wanted ratio,
 * and beyond the largest such factor, every ratio is too low and nothing can be best. That is the
 * box. */
#include "detector/fit.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"
#include "detector/smallest.h"

#define TRAVEL_STEP_M 2e-3

/* A product whose spread is below this part of the limit that a sphere calls for has no effect on
 * it. */
#define NO_EFFECT 0.1

#define ROUNDS 60

/* What the fit needs of a program: its limits are set anew for every try. */
typedef struct {
    DetectProgram program;
    double coupling; /* largest |h_r . h_t| at the centre, 1/m^2 */
    double amplitude_variation, phase_variation_rad;
} Learned;

/* One validated sphere. */
typedef struct {
    double along_v, across_v; /* its largest signal on the axes of its program */
    double amplitude_spread_v, phase_spread_v;
} Sighting;

typedef struct {
    double kappa, wanted_ratio;
    Sighting *sightings;
    size_t count;
} Task;

DetectGrid fit_travel(const CoilHead *coils, double pack_length_m)
{
    double half = 0.5 * pack_length_m + 3.0 * coils->aperture_height_m;
    double steps = floor(2.0 * half / TRAVEL_STEP_M * (1.0 + 1e-12));
    return (DetectGrid){.from_m = -half, .step_m = TRAVEL_STEP_M, .count = (size_t)steps + 1};
}

static Learned learn(const DetectHead *head, const FitProgram *source)
{
    Learned learned = {0};
    Err never = {0};
    DetectHead noisy = *head;
    noisy.noise_v = 1.0; /* any: the limits are not read */
    DetectGrid travel =
        fit_travel(&head->coils, source->bare_belt ? 0.0 : source->product.length_m);
    CHECK(detect_program_init(&learned.program, &noisy, source->bare_belt ? NULL : &source->product,
                              &travel, &never));
    double *coupling = check_calloc(travel.count, sizeof *coupling);
    smallest_coupling(&head->coils, 0.0, 0.0, &travel, coupling);
    for (size_t i = 0; i < travel.count; i++) {
        learned.coupling = fmax(learned.coupling, fabs(coupling[i]));
    }
    free(coupling);
    if (source->bare_belt) return learned;
    learned.amplitude_variation = source->product.amplitude_variation;
    learned.phase_variation_rad = source->product.phase_variation_rad;
    return learned;
}

static SmallestPlace place_of(const Learned *learned, const DetectHead *head)
{
    return (SmallestPlace){.program = &learned->program,
                           .frequency_hz = head->frequency_hz,
                           .coupling = &learned->coupling,
                           .count = 1};
}

/* A sphere's signal in volts: what its ratio would be, were both limits 1 V. */
static Sighting sight(const Learned *learned, const DetectHead *head, const FitSphere *sphere)
{
    Sighting made = {
        .amplitude_spread_v = learned->amplitude_variation * learned->program.learned_peak_v,
        .phase_spread_v = learned->phase_variation_rad * learned->program.learned_peak_v};
    Learned unit = *learned;
    SmallestPlace place = place_of(&unit, head);
    unit.program.limit_along_v = 1.0;
    unit.program.limit_across_v = HUGE_VAL;
    made.along_v = smallest_ratio(&place, sphere->metal, sphere->diameter_m);
    unit.program.limit_along_v = HUGE_VAL;
    unit.program.limit_across_v = 1.0;
    made.across_v = smallest_ratio(&place, sphere->metal, sphere->diameter_m);
    return made;
}

/* 0 / 0 is a sphere without a part on an axis without a limit: no part at all. */
static double in_limit(double value, double limit)
{
    return value > 0.0 ? value / limit : 0.0;
}

/* hypot without its care for numbers that nothing here comes near, and many times as fast: a fit
 * takes some thousand. */
static double length_of(double x, double y)
{
    return sqrt(x * x + y * y);
}

static double ratio_of(const Task *task, const Sighting *s, double noise_v, double factor)
{
    double along = task->kappa * length_of(noise_v, factor * s->amplitude_spread_v);
    double across = task->kappa * length_of(noise_v, factor * s->phase_spread_v);
    return length_of(in_limit(s->along_v, along), in_limit(s->across_v, across));
}

/* The noise at which the sphere would have the wanted ratio were there no product. */
static double noise_called_for(const Task *task, const Sighting *s)
{
    return hypot(s->along_v, s->across_v) / (task->kappa * task->wanted_ratio);
}

static bool has_effect(const Task *task, const Sighting *s)
{
    return fmax(s->amplitude_spread_v, s->phase_spread_v) >= NO_EFFECT * noise_called_for(task, s);
}

static double misfit(const Task *task, double noise_v, double factor)
{
    double sum = 0.0;
    for (size_t i = 0; i < task->count; i++) {
        double far = log(ratio_of(task, &task->sightings[i], noise_v, factor) / task->wanted_ratio);
        sum += far * far;
    }
    return isfinite(sum) ? sum : HUGE_VAL;
}

typedef struct {
    double low, high; /* of the box */
    double best;
    double width; /* of the net, both ways from the best */
} Side;

static Side side_make(double low, double high)
{
    return (Side){low, high, 0.5 * (low + high), 0.5 * (high - low)};
}

static double side_at(const Side *side, int node, int nodes)
{
    if (nodes == 1) return side->best;
    double at = side->best + side->width * (2.0 * node / (nodes - 1) - 1.0);
    return fmin(fmax(at, side->low), side->high);
}

/* A net of 65 by 65 over the whole box, then of 9 by 9 around the best node, narrower every time;
 * of one row where the factor is given. */
static bool minimise(const Task *task, const Progress *progress, Side *noise, Side *factor)
{
    double least = HUGE_VAL;
    for (int round = 0; round < ROUNDS; round++) {
        if (!progress_step(progress, 0.5 * round / ROUNDS)) return false;
        int nodes = round == 0 ? 65 : 9;
        int across = factor->width > 0.0 ? nodes : 1;
        double best_noise = noise->best;
        double best_factor = factor->best;
        for (int i = 0; i < nodes * across; i++) {
            double noise_v = side_at(noise, i / across, nodes);
            double by = side_at(factor, i % across, across);
            double value = misfit(task, noise_v, by);
            if (!(value < least)) continue;
            least = value;
            best_noise = noise_v;
            best_factor = by;
        }
        noise->best = best_noise;
        factor->best = best_factor;
        noise->width *= round == 0 ? 0.1 : 0.55;
        factor->width *= round == 0 ? 0.1 : 0.55;
    }
    return true;
}

/* Beyond this factor the sphere is below the wanted ratio whatever the noise is. */
static double factor_limit(const Task *task, const Sighting *s)
{
    double along = in_limit(s->along_v, task->kappa * s->amplitude_spread_v);
    double across = in_limit(s->across_v, task->kappa * s->phase_spread_v);
    double largest = isfinite(along) ? along : 0.0;
    if (isfinite(across)) largest = fmax(largest, across);
    return 1.5 * largest / task->wanted_ratio; /* more than sqrt(2): the two parts together */
}

static bool factor_can_be_told(const Task *task)
{
    size_t with = 0;
    for (size_t i = 0; i < task->count; i++) {
        if (has_effect(task, &task->sightings[i])) with++;
    }
    return with > 0 && with < task->count;
}

static bool solve(const Task *task, const Progress *progress, FitResult *result)
{
    double noise_high = 0.0;
    double factor_high = 1.0;
    for (size_t i = 0; i < task->count; i++) {
        const Sighting *s = &task->sightings[i];
        noise_high = fmax(noise_high, noise_called_for(task, s));
        if (has_effect(task, s)) factor_high = fmax(factor_high, factor_limit(task, s));
    }
    Side noise = side_make(0.0, noise_high);
    Side factor = factor_can_be_told(task) ? side_make(0.0, factor_high) : side_make(1.0, 1.0);
    if (!minimise(task, progress, &noise, &factor)) return false;
    result->noise_v = noise.best;
    result->variation_factor = factor.best;
    return true;
}

/* Every sphere reaches the wanted ratio without noise, or the factor may fall until it does. */
static bool check_reach(const Task *task, const FitProgram *programs, size_t count, Err *err)
{
    if (factor_can_be_told(task)) return true;
    size_t at = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < programs[i].count; j++, at++) {
            double ratio = ratio_of(task, &task->sightings[at], 0.0, 1.0);
            if (ratio >= task->wanted_ratio) continue;
            const FitSphere *sphere = &programs[i].spheres[j];
            const char *program = programs[i].name != NULL ? programs[i].name : "";
            const char *metal = sphere->name != NULL ? sphere->name : "";
            return err_set(
                err, ERR_RANGE,
                "program %zu \"%s\", sphere %zu (%g mm \"%s\"): its ratio is %.4g without "
                "any noise, must be at least %.4g: less conductivity or less variation of "
                "the product, or a larger sphere",
                i + 1, program, j + 1, sphere->diameter_m * 1e3, metal, ratio, task->wanted_ratio);
        }
    }
    return true;
}

static void report_program(const DetectHead *head, const FitProgram *program, Learned *learned,
                           const FitResult *fitted, FitSphereResult *out)
{
    detect_program_set_limits(&learned->program, fitted->noise_v,
                              fitted->variation_factor * learned->amplitude_variation,
                              fitted->variation_factor * learned->phase_variation_rad);
    SmallestPlace place = place_of(learned, head);
    for (size_t j = 0; j < program->count; j++) {
        const FitSphere *sphere = &program->spheres[j];
        out[j].ratio = smallest_ratio(&place, sphere->metal, sphere->diameter_m);
        out[j].model_found =
            smallest_sphere(&place, sphere->metal, fitted->wanted_ratio,
                            head->coils.aperture_height_m, &out[j].model_diameter_m);
    }
}

bool fit_head(const DetectHead *head, double found_probability, const FitProgram *programs,
              size_t count, const Progress *progress, FitResult *result, Err *err)
{
    CHECK(count >= 1 && count <= FIT_PROGRAMS_MAX);
    CHECK(found_probability > head->false_reject_rate && found_probability < 1.0);
    bool ok = false;
    double kappa = detect_kappa(head->false_reject_rate);
    FitResult made = {.wanted_ratio = detect_ratio_for(found_probability, kappa)};
    for (size_t i = 0; i < count; i++) {
        made.count += programs[i].count;
    }
    CHECK(made.count >= 1 && made.count <= FIT_SPHERES_MAX);
    Task task = {.kappa = kappa, .wanted_ratio = made.wanted_ratio, .count = made.count};
    task.sightings = check_calloc(made.count, sizeof *task.sightings);
    made.spheres = check_calloc(made.count, sizeof *made.spheres);
    Learned *learned = check_calloc(count, sizeof *learned);
    size_t at = 0;
    for (size_t i = 0; i < count; i++) {
        learned[i] = learn(head, &programs[i]);
        for (size_t j = 0; j < programs[i].count; j++) {
            task.sightings[at++] = sight(&learned[i], head, &programs[i].spheres[j]);
        }
    }

    if (!check_reach(&task, programs, count, err)) goto done;
    bool goes_on = solve(&task, progress, &made);
    at = 0;
    for (size_t i = 0; goes_on && i < count; i++) {
        goes_on = progress_step(progress, 0.5 + 0.5 * (double)i / (double)count);
        report_program(head, &programs[i], &learned[i], &made, &made.spheres[at]);
        at += programs[i].count;
    }
    if (!goes_on) {
        err_set(err, ERR_STOPPED, "stopped");
        goto done;
    }

    *result = made;
    made = (FitResult){0}; /* handed over */
    ok = true;
done:
    for (size_t i = 0; i < count; i++) {
        detect_program_clear(&learned[i].program);
    }
    free(learned);
    free(task.sightings);
    fit_result_clear(&made);
    return ok;
}

void fit_result_clear(FitResult *result)
{
    if (result == NULL) return;
    free(result->spheres);
    *result = (FitResult){0};
}
