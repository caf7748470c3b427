/* One run, from its beginning to its record. */
#include "app/app.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"

enum { US_PER_MIN = 60000000, MODEL_BYTES = 16 };

struct AppRun {
    const Work *work;
    AppRunSetup setup;
    Player *player;
};

uint64_t app_seed(void)
{
    uint64_t seed;
    os_random(&seed, sizeof seed);
    return seed;
}

bool app_run_begin(const Work *work, const AppRunSetup *setup, AppRun **out, Err *err)
{
    PlayerSetup player = {work_scenario(work), work_fitted(work), setup->seed};
    CHECK(player.scenario != NULL);
    AppRun *run = check_calloc(1, sizeof *run);
    run->work = work;
    run->setup = *setup;
    if (!player_new(&player, &run->player, err)) {
        free(run);
        return false;
    }
    *out = run;
    return true;
}

void app_run_free(AppRun *run)
{
    if (run == NULL) return;
    player_free(run->player);
    free(run);
}

bool app_run_do(AppRun *run, const LogLine *action)
{
    Text text = {0};
    LogLine again;
    Err err = {0};
    log_print(action, &text);
    CHECK(log_parse(text.bytes, (ErrPlace){"live action", 1, 1}, &again, &err));
    text_clear(&text);
    return player_do(run->player, &again);
}

void app_run_advance(AppRun *run, int64_t until_us)
{
    player_advance(run->player, until_us);
}

bool app_run_advance_one(AppRun *run, int64_t until_us)
{
    return player_advance_one(run->player, until_us);
}

void app_run_finish(AppRun *run)
{
    if (player_has_ended(run->player)) return;
    player_advance(run->player, work_scenario(run->work)->minutes * US_PER_MIN);
}

const Player *app_run_player(const AppRun *run)
{
    return run->player;
}

const Work *app_run_work(const AppRun *run)
{
    return run->work;
}

void app_run_score(const AppRun *run, Score *out)
{
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    score_run(work_scenario(run->work), log, count, out);
}

bool app_run_record(const AppRun *run, Records *records, const char *person, RecNumber *number,
                    Err *err)
{
    CHECK(player_has_ended(run->player));
    Text log = {0};
    Text result = {0};
    Score score;
    char model[MODEL_BYTES];
    RecContent contents[WORK_PART_COUNT + 1];
    app_run_score(run, &score);
    score_print(&score, &result);
    player_print_run(run->player, &log);
    (void)snprintf(model, sizeof model, "%d", DETECTOR_MODEL_VERSION);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        const Text *part = work_part(run->work, (WorkPart)i);
        contents[i] = (RecContent){work_part_names[i], text_string(part), part->len};
    }
    contents[WORK_PART_COUNT] = (RecContent){"log", text_string(&log), log.len};
    RecRun entry = {.person = person,
                    .is_assessment = run->setup.is_assessment,
                    .is_scripted = run->setup.is_scripted,
                    .seed = run->setup.seed,
                    .model = model,
                    .contents = contents,
                    .content_count = WORK_PART_COUNT + 1,
                    .result_json = text_string(&result)};
    bool ok = rec_run_add(records, &entry, number, err);
    text_clear(&log);
    text_clear(&result);
    return ok;
}

bool app_person(Records *records, const char *name, char person[REC_ID_BYTES], Err *err)
{
    bool found;
    if (!rec_person_find(records, name, person, &found, err)) return false;
    return found || rec_person_add(records, name, person, err);
}

/* --- Judging again --------------------------------------------------------------------------- */

bool app_work_of(const RecRunView *view, Work **out, Err *err)
{
    Text parts[WORK_PART_COUNT] = {{0}}; /* borrowed from the view: not to be cleared */
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        const Text *content = rec_run_content(view, work_part_names[i]);
        if (content == NULL) {
            return err_set(err, ERR_DAMAGE, "the run has no content \"%s\"", work_part_names[i]);
        }
        parts[i] = *content;
    }
    return work_from_texts(parts, out, err);
}

/* The head of the log and the entry must speak of the same run. */
static bool agrees(const PlayerRun *run, const RecRunView *view, const Scenario *scenario, Err *err)
{
    int64_t model = 0;
    if (!text_to_int(text_string(&view->model), &model) || model != run->model) {
        return err_set(err, ERR_DAMAGE, "the log says model %lld, the entry \"%s\"",
                       (long long)run->model, text_string(&view->model));
    }
    if (model > DETECTOR_MODEL_VERSION) {
        return err_set(err, ERR_DAMAGE, "model %lld, and this program knows up to %d",
                       (long long)model, DETECTOR_MODEL_VERSION);
    }
    if (run->seed != view->seed || strcmp(run->scenario, scenario->id) != 0 || run->count == 0) {
        return err_set(err, ERR_DAMAGE, "the log is of another run than the entry says");
    }
    return true;
}

static bool judge_again(const RecRunView *view, Work **work, PlayerRun *run, Text *result,
                        Text *why, Err *err)
{
    const Text *log = rec_run_content(view, "log");
    if (log == NULL) return err_set(err, ERR_DAMAGE, "the run has no content \"log\"");
    if (!app_work_of(view, work, err)) return false;
    if (!player_parse_run("stored log", text_string(log), log->len, run, err)) return false;
    if (!agrees(run, view, work_scenario(*work), err)) return false;
    if (run->model != DETECTOR_MODEL_VERSION) {
        text_addf(why, "not computed again: model %lld", (long long)run->model);
    } else {
        PlayerSetup setup = {work_scenario(*work), work_fitted(*work), view->seed};
        bool same;
        if (!player_replay(&setup, run, &same, why, err)) return false;
        if (!same) return err_set(err, ERR_DAMAGE, "%s", text_string(why));
    }
    Score score;
    score_run(work_scenario(*work), run->lines, run->count, &score);
    score_print(&score, result);
    return true;
}

bool app_rejudge(void *context, const RecRunView *view, Text *result, Text *why)
{
    (void)context;
    Work *work = NULL;
    PlayerRun run = {0};
    Err err = {0};
    bool ok = judge_again(view, &work, &run, result, why, &err);
    if (!ok) {
        text_clear(why);
        text_add(why, err.text);
    }
    player_run_clear(&run);
    work_free(work);
    return ok;
}
