/* Checking files and playing their scripts. */
#include "app/inspect.h"

#include <stdlib.h>
#include <string.h>

#include "app/script.h"
#include "base/os.h"

enum { DEPTH_MAX = 8 };

/* What every step of one inspection needs. */
typedef struct {
    const char *assets;
    bool prove;
    InspectTell *tell;
    void *context;
    InspectCount *count;
} Inspection;

void inspect_split(const char *path, Text *folder, const char **name)
{
    const char *slash = strrchr(path, '/');
    *name = slash == NULL ? path : slash + 1;
    if (slash == NULL)
        text_add(folder, ".");
    else if (slash == path)
        text_add(folder, "/");
    else
        text_add_bytes(folder, path, (size_t)(slash - path));
}

static void tell_error(const Inspection *self, const char *text)
{
    self->count->errors++;
    self->tell(self->context, true, text);
}

static void tell_warning(void *context, ErrPlace place, const char *text)
{
    const Inspection *self = context;
    Text line = {0};
    text_addf(&line, "%s:%d:%d: warning: %s", place.file, place.line, place.column, text);
    self->count->warnings++;
    self->tell(self->context, false, line.bytes);
    text_clear(&line);
}

/* --- Proof ----------------------------------------------------------------------------------- */

static bool misses(const Score *score, int critical)
{
    for (int i = 0; i < score->line_count; i++) {
        const ScoreLine *line = &score->lines[i];
        if (line->line->critical == critical && line->finding.state == SCORE_MISSED) return true;
    }
    return false;
}

/* The first line that is missed, for a message; "nothing" when none is. */
static const char *first_missed(const Score *score)
{
    for (int i = 0; i < score->line_count; i++) {
        if (score->lines[i].finding.state == SCORE_MISSED) return score->lines[i].line->id;
    }
    return "nothing";
}

static bool prove_with_seed(Inspection *self, const Work *work, const OwnScript *script,
                            const char *file, const Text *text, uint64_t seed)
{
    AppRun *run = NULL;
    Err err = {0};
    AppRunSetup setup = {.seed = seed, .is_assessment = true, .is_scripted = true};
    bool ok = app_run_begin(work, &setup, &run, &err) &&
              script_play(run, file, text_string(text), text->len, &err);
    if (ok) {
        Score score;
        app_run_score(run, &score);
        bool as_wanted = script->misses == 0 ? score.competent : misses(&score, script->misses);
        self->count->scripts_played++;
        if (!as_wanted && script->misses == 0) {
            ok = err_at(&err, script->place,
                        "%s ends \"%s\" with seed %llu: it misses \"%s\", %lld of %lld points",
                        script->file, score_verdict(&score), (unsigned long long)seed,
                        first_missed(&score), (long long)score.points,
                        (long long)score.points_needed);
        } else if (!as_wanted) {
            ok = err_at(&err, script->place, "%s does not miss K%d with seed %llu", script->file,
                        script->misses, (unsigned long long)seed);
        }
    }
    if (!ok) tell_error(self, err.text);
    app_run_free(run);
    return ok;
}

static void prove_script(Inspection *self, const Work *work, const char *folder,
                         const OwnScript *script)
{
    Text file = {0};
    Text text = {0};
    Err err = {0};
    text_addf(&file, "%s/%s", folder, script->file);
    if (!os_file_read(file.bytes, SCRIPT_BYTES_MAX, &text, &err)) {
        Err at = {0};
        (void)err_at(&at, script->place, "%s", err.text);
        tell_error(self, at.text);
    } else {
        for (uint64_t seed = 1; seed <= INSPECT_SEEDS; seed++) {
            if (!prove_with_seed(self, work, script, file.bytes, &text, seed)) break;
        }
    }
    text_clear(&file);
    text_clear(&text);
}

/* --- Files and folders ----------------------------------------------------------------------- */

static void inspect_site(Inspection *self, const char *folder)
{
    Work *work = NULL;
    Err err = {0};
    self->count->sites++;
    if (!work_read(self->assets, folder, NULL, tell_warning, self, &work, &err)) {
        tell_error(self, err.text);
    }
    work_free(work);
}

static void inspect_scenario(Inspection *self, const char *folder, const char *name)
{
    Work *work = NULL;
    Err err = {0};
    self->count->scenarios++;
    if (!work_read(self->assets, folder, name, NULL, NULL, &work, &err)) {
        tell_error(self, err.text);
        return;
    }
    const Scenario *scenario = work_scenario(work);
    for (int i = 0; self->prove && i < scenario->script_count; i++) {
        prove_script(self, work, folder, &scenario->scripts[i]);
    }
    if (self->prove && scenario->script_count == 0) {
        (void)err_at(&err, (ErrPlace){name, 1, 1}, "the scenario has no scripts to prove it by");
        tell_error(self, err.text);
    }
    work_free(work);
}

static bool inspect_folder(Inspection *self, const char *folder, int depth, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    bool ok = true;
    Text path = {0};
    if (!os_folder_list(folder, "", &names, &count, err)) return false;
    text_addf(&path, "%s/site.json", folder);
    bool has_site = os_is_file(path.bytes);
    if (has_site) inspect_site(self, folder);
    for (size_t i = 0; i < count && ok; i++) {
        text_clear(&path);
        text_addf(&path, "%s/%s", folder, names[i]);
        size_t len = strlen(names[i]);
        bool is_json = len > 5 && strcmp(names[i] + len - 5, ".json") == 0;
        if (os_is_folder(path.bytes) && depth < DEPTH_MAX) {
            ok = inspect_folder(self, path.bytes, depth + 1, err);
        } else if (is_json && !has_site) {
            Err missing = {0};
            (void)err_at(&missing, (ErrPlace){path.bytes, 1, 1},
                         "there is no site.json beside it that it could belong to");
            tell_error(self, missing.text);
        } else if (is_json && strcmp(names[i], "site.json") != 0) {
            inspect_scenario(self, folder, names[i]);
        }
    }
    text_clear(&path);
    os_names_free(names, count);
    return ok;
}

bool inspect_path(const char *assets, const char *path, bool prove, InspectTell *tell,
                  void *context, InspectCount *count, Err *err)
{
    Inspection self = {assets, prove, tell, context, count};
    if (os_is_folder(path)) {
        int before = count->sites + count->scenarios + count->errors;
        if (!inspect_folder(&self, path, 0, err)) return false;
        if (count->sites + count->scenarios + count->errors > before) return true;
        return err_set(err, ERR_IO, "%s: holds no site and no scenario", path);
    }
    if (!os_is_file(path)) return err_set(err, ERR_IO, "%s: there is no such file or folder", path);
    Text folder = {0};
    const char *name;
    inspect_split(path, &folder, &name);
    if (strcmp(name, "site.json") == 0)
        inspect_site(&self, folder.bytes);
    else
        inspect_scenario(&self, folder.bytes, name);
    text_clear(&folder);
    return true;
}
