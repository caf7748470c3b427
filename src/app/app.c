/* One run, from its beginning to its record. */
#include "app/app.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/script.h"
#include "base/os.h"

enum { US_PER_MIN = 60000000, MODEL_BYTES = 16 };

struct AppRun {
    const Work *work;
    AppRunSetup setup;
    Scenario *form;
    Player *player;
};

uint64_t app_seed(void)
{
    uint64_t seed;
    os_random(&seed, sizeof seed);
    return seed;
}

static bool begin(const Work *work, const AppRunSetup *setup, AppRun **out, Err *err)
{
    CHECK(work_scenario(work) != NULL);
    AppRun *run = check_calloc(1, sizeof *run);
    run->work = work;
    run->setup = *setup;
    run->form = scenario_form(work_scenario(work), setup->seed);
    PlayerSetup player = {run->form, work_fitted(work), setup->seed};
    if (!player_new(&player, &run->player, err)) {
        app_run_free(run);
        return false;
    }
    *out = run;
    return true;
}

/* A pattern that some line of the run matches; the work's patterns can be read. */
static bool shows(const AppRun *run, const RubricPattern *need)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    CHECK(log_parse_pattern(need->text, need->place, &pattern, &err));
    for (size_t i = 0; i < count; i++) {
        if (log_matches(&log[i], &pattern)) return true;
    }
    return false;
}

static bool shows_all(const AppRun *run)
{
    Score score;
    app_run_score(run, &score);
    for (int i = 0; i < run->form->need_count; i++) {
        if (!shows(run, &run->form->needs[i])) return false;
    }
    return score.competent;
}

bool app_seed_counts(const Work *work, uint64_t seed, bool *counts, Err *err)
{
    int count;
    const Text *scripts = work_right_scripts(work, &count);
    AppRunSetup setup = {.seed = seed, .is_scripted = true};
    *counts = count == 0;
    for (int i = 0; i < count && !*counts; i++) {
        AppRun *run = NULL;
        Err why = {0};
        if (!begin(work, &setup, &run, err)) return false;
        *counts =
            script_play(run, "right script", text_string(&scripts[i]), scripts[i].len, &why) &&
            shows_all(run);
        app_run_free(run);
    }
    return true;
}

bool app_run_begin(const Work *work, const AppRunSetup *setup, AppRun **out, Err *err)
{
    AppRunSetup chosen = *setup;
    bool counts = setup->is_scripted;
    for (int i = 0; i < APP_SEEDS_TRIED && !counts; i++) {
        chosen.seed = setup->seed + (uint64_t)i;
        if (!app_seed_counts(work, chosen.seed, &counts, err)) return false;
    }
    if (!counts) {
        return err_set(err, ERR_RANGE, "none of %d seeds shows what scenario \"%s\" needs",
                       APP_SEEDS_TRIED, work_scenario(work)->id);
    }
    return begin(work, &chosen, out, err);
}

void app_run_free(AppRun *run)
{
    if (run == NULL) return;
    player_free(run->player);
    scenario_form_free(run->form);
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
    player_advance(run->player, run->form->minutes * US_PER_MIN);
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
    score_run(run->form, log, count, out);
}

const Scenario *app_run_scenario(const AppRun *run)
{
    return run->form;
}

uint64_t app_run_seed(const AppRun *run)
{
    return run->setup.seed;
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
                    .scenario = run->form->id,
                    .supervised_by = run->setup.supervised_by,
                    .language = run->setup.language[0] == '\0' ? "en" : run->setup.language,
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

static bool play_again(const Work *work, const Scenario *form, const PlayerRun *run, Text *why,
                       Err *err)
{
    if (run->model != DETECTOR_MODEL_VERSION) {
        text_addf(why, "not computed again: model %lld", (long long)run->model);
        return true;
    }
    PlayerSetup setup = {form, work_fitted(work), run->seed};
    bool same;
    if (!player_replay(&setup, run, &same, why, err)) return false;
    return same || err_set(err, ERR_DAMAGE, "%s", text_string(why));
}

static bool judge_again(const RecRunView *view, Work **work, PlayerRun *run, Text *result,
                        Text *why, Err *err)
{
    const Text *log = rec_run_content(view, "log");
    if (log == NULL) return err_set(err, ERR_DAMAGE, "the run has no content \"log\"");
    if (!app_work_of(view, work, err)) return false;
    if (!player_parse_run("stored log", text_string(log), log->len, run, err)) return false;
    if (!agrees(run, view, work_scenario(*work), err)) return false;
    Scenario *form = scenario_form(work_scenario(*work), view->seed);
    bool ok = play_again(*work, form, run, why, err);
    if (ok) {
        Score score;
        score_run(form, run->lines, run->count, &score);
        score_print(&score, result);
    }
    scenario_form_free(form);
    return ok;
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
