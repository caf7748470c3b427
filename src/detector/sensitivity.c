/* A place at a time: the coupling of its line, then each metal's smallest sphere. */
#include "detector/sensitivity.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/check.h"
#include "detector/smallest.h"

/* What all places share. */
typedef struct {
    const SensitivityDescription *description;
    DetectProgram program;
    double wanted_ratio;
    double *along, *across; /* of today's product in limits; NULL when it is as learned */
    double *coupling;
    SmallestCurve *curves[SENSITIVITY_METALS_MAX]; /* where it is as learned */
} Survey;

static void take_product(Survey *survey)
{
    const SensitivityDescription *d = survey->description;
    const PassDescription *pass = &d->pass;
    size_t count = pass->travel.count;
    if (!pass->has_product || !pass->has_learned) {
        for (size_t m = 0; m < d->metal_count; m++) {
            survey->curves[m] =
                smallest_curve_new(&survey->program, pass->head.frequency_hz, d->metals[m],
                                   pass->head.coils.aperture_height_m);
        }
        return;
    }
    double complex *today = check_calloc(count, sizeof *today);
    survey->along = check_calloc(count, sizeof *survey->along);
    survey->across = check_calloc(count, sizeof *survey->across);
    survey->coupling = check_calloc(count, sizeof *survey->coupling);
    detect_product_signal(&pass->head, &pass->product, &pass->travel, today);
    detect_excess(&survey->program, today, count, survey->along, survey->across);
    free(today);
}

/* Where the product is as learned a sphere's ratio depends on the largest coupling alone. */
static void answer_as_learned(const Survey *survey, const SensitivityPlace *at,
                              SensitivityAnswer *answers)
{
    const SensitivityDescription *d = survey->description;
    double largest =
        smallest_largest_coupling(&d->pass.head.coils, at->across_m, at->up_m, &d->pass.travel);
    for (size_t m = 0; m < d->metal_count && largest > 0.0; m++) {
        answers[m].found = smallest_curve_sphere(survey->curves[m], largest, survey->wanted_ratio,
                                                 &answers[m].diameter_m);
    }
}

static void answer_place(const Survey *survey, const SensitivityPlace *at,
                         SensitivityAnswer *answers)
{
    const SensitivityDescription *d = survey->description;
    const CoilHead *coils = &d->pass.head.coils;
    if (survey->along == NULL) {
        answer_as_learned(survey, at, answers);
        return;
    }
    SmallestPlace place = {.program = &survey->program,
                           .frequency_hz = d->pass.head.frequency_hz,
                           .coupling = survey->coupling,
                           .along = survey->along,
                           .across = survey->across,
                           .count = d->pass.travel.count};
    smallest_coupling(coils, at->across_m, at->up_m, &d->pass.travel, survey->coupling);
    for (size_t m = 0; m < d->metal_count; m++) {
        answers[m].found = smallest_sphere(&place, d->metals[m], survey->wanted_ratio,
                                           coils->aperture_height_m, &answers[m].diameter_m);
    }
}

/* Places that mirror each other in the aperture see the same; sorted they stand together. */
typedef struct {
    double side, height; /* m, from the middle, not negative */
    size_t index;
} Mirrored;

static int compare_mirrored(const void *a, const void *b)
{
    const Mirrored *one = a;
    const Mirrored *other = b;
    if (one->side < other->side || one->side > other->side) {
        return one->side < other->side ? -1 : 1;
    }
    if (one->height < other->height || one->height > other->height) {
        return one->height < other->height ? -1 : 1;
    }
    return one->index < other->index ? -1 : 1;
}

static bool survey_places(const Survey *survey, const Progress *progress,
                          SensitivityAnswer *answers, Err *err)
{
    const SensitivityDescription *d = survey->description;
    bool goes_on = true;
    Mirrored *order = check_calloc(d->place_count, sizeof *order);
    for (size_t i = 0; i < d->place_count; i++) {
        order[i] = (Mirrored){fabs(d->places[i].across_m), fabs(d->places[i].up_m), i};
    }
    qsort(order, d->place_count, sizeof *order, compare_mirrored);
    for (size_t i = 0; goes_on && i < d->place_count; i++) {
        goes_on = progress_step(progress, (double)i / (double)d->place_count);
        SensitivityAnswer *mine = &answers[order[i].index * d->metal_count];
        bool is_known = i > 0 && !(order[i].side > order[i - 1].side) &&
                        !(order[i].height > order[i - 1].height) &&
                        !(order[i].height < order[i - 1].height);
        if (is_known) {
            memcpy(mine, &answers[order[i - 1].index * d->metal_count],
                   d->metal_count * sizeof *mine);
        } else {
            SensitivityPlace at = {order[i].side, order[i].height};
            answer_place(survey, &at, mine);
        }
    }
    free(order);
    return goes_on || err_set(err, ERR_STOPPED, "stopped");
}

bool sensitivity_compute(const SensitivityDescription *description, const Progress *progress,
                         SensitivityResult *result, Err *err)
{
    const PassDescription *pass = &description->pass;
    size_t points = pass->travel.count;
    CHECK(description->metal_count >= 1 && description->metal_count <= SENSITIVITY_METALS_MAX);
    CHECK(description->place_count >= 1 && description->place_count <= SENSITIVITY_PLACES_MAX);
    CHECK((double)description->place_count * (double)points <= SENSITIVITY_WORK_MAX);
    bool ok = false;
    const ProductBlock *learned = NULL;
    if (pass->has_product) learned = &pass->product;
    if (pass->has_learned) learned = &pass->learned;
    SensitivityResult made = {.count = description->place_count * description->metal_count};
    Survey survey = {.description = description, .wanted_ratio = 1.0};
    made.answers = check_calloc(made.count, sizeof *made.answers);

    if (!detect_program_init(&survey.program, &pass->head, learned, &pass->travel, err)) goto done;
    if (description->found_probability > 0.0) {
        survey.wanted_ratio =
            detect_ratio_for(description->found_probability, survey.program.kappa);
    }
    made.wanted_ratio = survey.wanted_ratio;
    take_product(&survey);
    if (!survey_places(&survey, progress, made.answers, err)) goto done;

    *result = made;
    made = (SensitivityResult){0}; /* handed over */
    ok = true;
done:
    detect_program_clear(&survey.program);
    sensitivity_result_clear(&made);
    for (size_t m = 0; m < description->metal_count; m++) {
        smallest_curve_free(survey.curves[m]);
    }
    free(survey.along);
    free(survey.across);
    free(survey.coupling);
    return ok;
}

void sensitivity_description_clear(SensitivityDescription *description)
{
    if (description == NULL) return;
    pass_description_clear(&description->pass);
    free(description->places);
    *description = (SensitivityDescription){0};
}

void sensitivity_result_clear(SensitivityResult *result)
{
    if (result == NULL) return;
    free(result->answers);
    *result = (SensitivityResult){0};
}
