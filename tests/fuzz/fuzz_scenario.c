/* Any bytes are a scenario of a small site, or one error at a place. */
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/small.h"
#include "player/player.h"
#include "scenario/scenario.h"
#include "scoring/score.h"

static void check_scenario(const Scenario *scenario)
{
    CHECK(scenario->scene_count >= 1 && scenario->scene_count <= SCENARIO_SCENES_MAX);
    CHECK(scenario->script_count <= SCENARIO_SCRIPTS_MAX);
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        CHECK(scene->next >= 0 && scene->next <= scenario->scene_count);
        for (int a = 0; a < scene->answer_count; a++) {
            CHECK(scene->answers[a].next >= 0 && scene->answers[a].next <= scenario->scene_count);
        }
    }
    for (int i = 0; i < scenario->rubric_count; i++) {
        CHECK(scenario->rubric[i].critical >= 0 &&
              scenario->rubric[i].critical <= SCENARIO_CRITICAL_MAX);
    }
    Err err = {0};
    if (!score_check(scenario, &err)) CHECK(err.code == ERR_INPUT);
    if (!player_check(scenario, &err)) CHECK(err.code == ERR_INPUT);
    Scenario *form = scenario_form(scenario, 1);
    CHECK(form->kit_count >= 1 && form->fault_count <= SCENARIO_FAULTS_MAX);
    scenario_form_free(form);
}

/* Read once, and never ended: it is the same for every input. */
static const Site *small_site(void)
{
    static MetalTable *metals;
    static Kinds *kinds;
    static Site *site;
    Err err = {0};
    if (site != NULL) return site;
    CHECK(metals_parse("metals", SMALL_METALS, strlen(SMALL_METALS), &metals, &err));
    CHECK(kinds_parse("kinds", SMALL_KINDS, strlen(SMALL_KINDS), &kinds, &err));
    CHECK(site_parse("site", SMALL_SITE, strlen(SMALL_SITE), metals, kinds, &site, &err));
    return site;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Err err = {0};
    Scenario *scenario = NULL;
    if (scenario_parse("any", (const char *)bytes, count, small_site(), &scenario, &err)) {
        check_scenario(scenario);
    } else {
        CHECK(err.code == ERR_INPUT && strncmp(err.text, "any:", strlen("any:")) == 0);
    }
    scenario_free(scenario);
    return 0;
}
