/* Reading what a run needs. */
#include "app/work.h"

#include <stdlib.h>

#include "base/os.h"
#include "player/player.h"
#include "scoring/score.h"

const char *const work_part_names[] = {"metals", "kinds", "site", "fitted", "scenario", NULL};

struct Work {
    Text parts[WORK_PART_COUNT];
    Text files[WORK_PART_COUNT]; /* their names, for messages */
    MetalTable *metals;
    Kinds *kinds;
    Site *site;
    SiteFitted *fitted;
    Scenario *scenario;
    Text right[SCENARIO_ALTERNATIVES_MAX]; /* right scripts, by which a seed is chosen */
    int right_count;
};

void work_free(Work *work)
{
    if (work == NULL) return;
    scenario_free(work->scenario);
    free(work->fitted);
    site_free(work->site);
    kinds_free(work->kinds);
    metals_free(work->metals);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_clear(&work->parts[i]);
        text_clear(&work->files[i]);
    }
    for (int i = 0; i < work->right_count; i++) {
        text_clear(&work->right[i]);
    }
    free(work);
}

static bool read_part(Work *work, WorkPart part, const char *folder, const char *file, Err *err)
{
    text_addf(&work->files[part], "%s/%s", folder, file);
    return os_file_read(work->files[part].bytes, WORK_BYTES_MAX, &work->parts[part], err);
}

static bool parse_site(Work *work, Err *err)
{
    const Text *parts = work->parts;
    const Text *files = work->files;
    return metals_parse(text_string(&files[WORK_METALS]), text_string(&parts[WORK_METALS]),
                        parts[WORK_METALS].len, &work->metals, err) &&
           kinds_parse(text_string(&files[WORK_KINDS]), text_string(&parts[WORK_KINDS]),
                       parts[WORK_KINDS].len, &work->kinds, err) &&
           site_parse(text_string(&files[WORK_SITE]), text_string(&parts[WORK_SITE]),
                      parts[WORK_SITE].len, work->metals, work->kinds, &work->site, err);
}

/* The run uses what the text of the fit says, so that a stored run is computed from the same
 * bits. */
static bool parse_fitted(Work *work, Err *err)
{
    const Text *text = &work->parts[WORK_FITTED];
    return site_fitted_parse(work->site, text_string(&work->files[WORK_FITTED]), text_string(text),
                             text->len, &work->fitted, err);
}

static bool parse_scenario(Work *work, Err *err)
{
    const Text *text = &work->parts[WORK_SCENARIO];
    if (!scenario_parse(text_string(&work->files[WORK_SCENARIO]), text_string(text), text->len,
                        work->site, &work->scenario, err)) {
        return false;
    }
    bool ok = player_check(work->scenario, err);
    if (!ok && !err_goes_on(err)) return false;
    return score_check(work->scenario, err) && ok;
}

/* Only a scenario with needs plays its right scripts before a run. */
static bool read_right_scripts(Work *work, const char *folder, Err *err)
{
    const Scenario *scenario = work->scenario;
    for (int i = 0; i < scenario->script_count && scenario->need_count > 0; i++) {
        const OwnScript *script = &scenario->scripts[i];
        Err why = {0};
        Text path = {0};
        if (script->misses != 0) continue;
        text_addf(&path, "%s/%s", folder, script->file);
        bool ok = os_file_read(path.bytes, WORK_BYTES_MAX, &work->right[work->right_count++], &why);
        text_clear(&path);
        if (!ok) return err_at(err, script->place, "%s", why.text);
    }
    return true;
}

static bool read_scenario(Work *work, const char *folder, const char *file, Err *err)
{
    return read_part(work, WORK_SCENARIO, folder, file, err) && parse_scenario(work, err) &&
           read_right_scripts(work, folder, err);
}

bool work_fit(Work *work, SiteFitWarning *warn, void *context, Err *err)
{
    SiteFitted *fitted = NULL;
    CHECK(work->fitted == NULL);
    if (!site_fit(work->site, WORK_FIT_MARGIN, warn, context, &fitted, err)) return false;
    site_fitted_print(work->site, fitted, &work->parts[WORK_FITTED]);
    text_add(&work->files[WORK_FITTED], "fitted values");
    free(fitted);
    return parse_fitted(work, err);
}

bool work_read_site(const char *assets, const char *folder, Work **out, Err *err)
{
    Work *work = check_calloc(1, sizeof *work);
    if (!read_part(work, WORK_METALS, assets, "metals.json", err) ||
        !read_part(work, WORK_KINDS, assets, "kinds.json", err) ||
        !read_part(work, WORK_SITE, folder, "site.json", err) || !parse_site(work, err)) {
        work_free(work);
        return false;
    }
    *out = work;
    return true;
}

bool work_read(const char *assets, const char *folder, const char *scenario_file,
               SiteFitWarning *warn, void *context, Work **out, Err *err)
{
    Work *work = NULL;
    if (!work_read_site(assets, folder, &work, err)) return false;
    bool ok = work_fit(work, warn, context, err);
    if (ok && scenario_file != NULL) {
        ok = read_scenario(work, folder, scenario_file, err);
    }
    if (!ok) {
        work_free(work);
        return false;
    }
    *out = work;
    return true;
}

bool work_read_beside(const Work *site, const char *folder, const char *scenario_file, Work **out,
                      Err *err)
{
    Work *work = check_calloc(1, sizeof *work);
    for (int i = 0; i < WORK_SCENARIO; i++) {
        text_add_bytes(&work->parts[i], text_string(&site->parts[i]), site->parts[i].len);
        text_add(&work->files[i], text_string(&site->files[i]));
    }
    if (!parse_site(work, err) || !parse_fitted(work, err) ||
        !read_scenario(work, folder, scenario_file, err)) {
        work_free(work);
        return false;
    }
    *out = work;
    return true;
}

bool work_from_texts(const Text parts[WORK_PART_COUNT], Work **out, Err *err)
{
    Work *work = check_calloc(1, sizeof *work);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_add_bytes(&work->parts[i], text_string(&parts[i]), parts[i].len);
        text_addf(&work->files[i], "stored %s", work_part_names[i]);
    }
    if (!parse_site(work, err) || !parse_fitted(work, err) || !parse_scenario(work, err)) {
        work_free(work);
        return false;
    }
    *out = work;
    return true;
}

const Site *work_site(const Work *work)
{
    return work->site;
}

const Scenario *work_scenario(const Work *work)
{
    return work->scenario;
}

const Text *work_right_scripts(const Work *work, int *count)
{
    *count = work->right_count;
    return work->right;
}

const SiteFitted *work_fitted(const Work *work)
{
    return work->fitted;
}

const Text *work_part(const Work *work, WorkPart part)
{
    return &work->parts[part];
}
