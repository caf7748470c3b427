/* The forms of a scenario that seeds draw. */
#include <stdlib.h>
#include <string.h>

#include "base/random.h"
#include "scenario/scenario.h"

/* Keeps what is drawn here apart from the luck of the line, which begins with the bare seed. */
#define FORM_LUCK UINT64_C(0x666f726d20697321)

enum { ORDERS_TRIED = 16 };

static int below(Random *random, int count)
{
    return (int)random_below(random, (uint64_t)count);
}

/* A permutation of 0..count-1, each alike (Fisher and Yates). */
static void shuffle(Random *random, int order[], int count)
{
    for (int i = 0; i < count; i++) {
        order[i] = i;
    }
    for (int i = count - 1; i > 0; i--) {
        int other = below(random, i + 1);
        int kept = order[i];
        order[i] = order[other];
        order[other] = kept;
    }
}

bool scenario_order_is_right(const Scene *scene, const int order[])
{
    unsigned done = 0;
    for (int i = 0; i < scene->step_count; i++) {
        unsigned after = scene->steps[order[i]].after;
        if ((after & ~done) != 0) return false;
        done |= 1U << order[i];
    }
    return true;
}

/* The steps in an order that is not right, if there is one to be found. */
static void shuffle_steps(Random *random, Scene *scene)
{
    int order[SCENARIO_STEPS_MAX];
    Step steps[SCENARIO_STEPS_MAX];
    for (int i = 0; i < ORDERS_TRIED; i++) {
        shuffle(random, order, scene->step_count);
        if (!scenario_order_is_right(scene, order)) break;
    }
    memcpy(steps, scene->steps, sizeof steps);
    for (int i = 0; i < scene->step_count; i++) {
        Step *step = &scene->steps[i];
        *step = steps[order[i]];
        unsigned after = step->after;
        step->after = 0;
        for (int j = 0; j < scene->step_count; j++) {
            if ((after >> order[j] & 1U) != 0) step->after |= 1U << j;
        }
    }
}

static void shuffle_answers(Random *random, Scene *scene)
{
    int order[SCENARIO_ANSWERS_MAX];
    Answer answers[SCENARIO_ANSWERS_MAX];
    memcpy(answers, scene->answers, sizeof answers);
    shuffle(random, order, scene->answer_count);
    for (int i = 0; i < scene->answer_count; i++) {
        scene->answers[i] = answers[order[i]];
    }
}

static void draw_faults(Random *random, const FaultDraw *draw, Scenario *form)
{
    int chosen = below(random, draw->count);
    for (int i = 0; i < draw->alternatives[chosen].count; i++) {
        form->faults[form->fault_count++] = draw->alternatives[chosen].faults[i];
    }
}

Scenario *scenario_form(const Scenario *scenario, uint64_t seed)
{
    Random random;
    Scenario *form = check_calloc(1, sizeof *form);
    random_init(&random, seed ^ FORM_LUCK);
    *form = *scenario;
    form->scenes = check_calloc((size_t)scenario->scene_count, sizeof *form->scenes);
    memcpy(form->scenes, scenario->scenes, (size_t)scenario->scene_count * sizeof *form->scenes);
    if (scenario->kits_count > 0) {
        int chosen = below(&random, scenario->kits_count);
        memcpy(form->kit, scenario->kits[chosen].pieces, sizeof form->kit);
        form->kit_count = scenario->kits[chosen].count;
    }
    form->fault_count = scenario->fixed_fault_count;
    for (int i = 0; i < scenario->draw_count; i++) {
        draw_faults(&random, &scenario->draws[i], form);
    }
    for (int i = 0; i < form->scene_count; i++) {
        if (form->scenes[i].is_shuffled) shuffle_answers(&random, &form->scenes[i]);
        if (form->scenes[i].kind == SCENE_ARRANGE) shuffle_steps(&random, &form->scenes[i]);
    }
    return form;
}

void scenario_form_free(Scenario *form)
{
    if (form == NULL) return;
    free(form->scenes);
    free(form);
}
