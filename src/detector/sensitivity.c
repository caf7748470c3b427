/* A place at a time: the coupling of its line, then each metal's smallest sphere. */
#include "detector/sensitivity.h"

#include <math.h>
#include <stdlib.h>

#include "base/check.h"
#include "detector/smallest.h"

/* What all places share. */
typedef struct {
    const SensitivityDescription *description;
    DetectProgram program;
    double wanted_ratio;
    double *along, *across; /* of today's product in limits; NULL when it is as learned */
    double *coupling;
} Survey;

static void take_product(Survey *survey)
{
    const PassDescription *pass = &survey->description->pass;
    size_t count = pass->travel.count;
    if (!pass->has_product || !pass->has_learned) return;
    double complex *today = check_calloc(count, sizeof *today);
    survey->along = check_calloc(count, sizeof *survey->along);
    survey->across = check_calloc(count, sizeof *survey->across);
    detect_product_signal(&pass->head, &pass->product, &pass->travel, today);
    detect_excess(&survey->program, today, count, survey->along, survey->across);
    free(today);
}

/* Where the product is as learned a sphere's ratio depends on the largest coupling alone. */
static SmallestPlace take_place(const Survey *survey, const SensitivityPlace *at)
{
    const PassDescription *pass = &survey->description->pass;
    SmallestPlace place = {.program = &survey->program,
                           .frequency_hz = pass->head.frequency_hz,
                           .coupling = survey->coupling,
                           .along = survey->along,
                           .across = survey->across,
                           .count = pass->travel.count};
    smallest_coupling(&pass->head.coils, at->across_m, at->up_m, &pass->travel, survey->coupling);
    if (survey->along != NULL) return place;
    for (size_t i = 1; i < place.count; i++) {
        double size = fabs(survey->coupling[i]);
        survey->coupling[0] = size > fabs(survey->coupling[0]) ? size : survey->coupling[0];
    }
    place.count = 1;
    return place;
}

static bool survey_places(const Survey *survey, const Progress *progress,
                          SensitivityAnswer *answers, Err *err)
{
    const SensitivityDescription *d = survey->description;
    for (size_t i = 0; i < d->place_count; i++) {
        if (!progress_step(progress, (double)i / (double)d->place_count)) {
            return err_set(err, ERR_STOPPED, "stopped");
        }
        SmallestPlace place = take_place(survey, &d->places[i]);
        for (size_t m = 0; m < d->metal_count; m++) {
            SensitivityAnswer *answer = &answers[i * d->metal_count + m];
            answer->found =
                smallest_sphere(&place, d->metals[m], survey->wanted_ratio,
                                d->pass.head.coils.aperture_height_m, &answer->diameter_m);
        }
    }
    return true;
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
    survey.coupling = check_calloc(points, sizeof *survey.coupling);

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
