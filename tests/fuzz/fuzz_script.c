/* Any bytes are a script whose words are known, or one error at a place; and one that plays a small
 * scenario to its end, or one error at a place; what was played can be scored, and replays. */
#include <string.h>

#include "app/script.h"
#include "fuzz/fuzz.h"
#include "fuzz/small.h"

static void begin(Work **work, AppRun **run)
{
    static const char *const texts[WORK_PART_COUNT] = {
        [WORK_METALS] = SMALL_METALS, [WORK_KINDS] = SMALL_KINDS,       [WORK_SITE] = SMALL_SITE,
        [WORK_FITTED] = SMALL_FITTED, [WORK_SCENARIO] = SMALL_SCENARIO,
    };
    Text parts[WORK_PART_COUNT] = {{0}};
    AppRunSetup setup = {.seed = 1, .is_scripted = true};
    Err err = {0};
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_add(&parts[i], texts[i]);
    }
    CHECK(work_from_texts(parts, work, &err));
    CHECK(app_run_begin(*work, &setup, run, &err));
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_clear(&parts[i]);
    }
}

static void check_replay(const AppRun *run)
{
    Text text = {0};
    Text why = {0};
    PlayerRun stored = {0};
    Err err = {0};
    bool same;
    player_print_run(app_run_player(run), &text);
    CHECK(player_parse_run("run", text.bytes, text.len, &stored, &err));
    CHECK(player_replay(player_setup(app_run_player(run)), &stored, &same, &why, &err) && same);
    player_run_clear(&stored);
    text_clear(&why);
    text_clear(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Work *work = NULL;
    AppRun *run = NULL;
    Err err = {0};
    Score score;
    begin(&work, &run);
    if (!script_check(work_scenario(work), "any", (const char *)bytes, count, &err)) {
        CHECK(strncmp(err.text, "any:", strlen("any:")) == 0);
        err = (Err){0};
    }
    if (script_play(run, "any", (const char *)bytes, count, &err)) {
        CHECK(player_has_ended(app_run_player(run)));
    } else {
        CHECK(strncmp(err.text, "any:", strlen("any:")) == 0);
    }
    app_run_score(run, &score);
    check_replay(run);
    app_run_free(run);
    work_free(work);
    return 0;
}
