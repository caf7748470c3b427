/* Checking files and playing their scripts. */
#include "app/inspect.h"

#include <stdlib.h>
#include <string.h>

#include "app/lint.h"
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

static void tell_found(void *context, bool is_error, ErrPlace place, const char *text)
{
    const Inspection *self = context;
    Text line = {0};
    text_addf(&line, "%s:%d:%d: %s: %s", place.file, place.line, place.column,
              is_error ? "error" : "warning", text);
    self->count->errors += is_error;
    self->count->warnings += !is_error;
    self->tell(self->context, is_error, line.bytes);
    text_clear(&line);
}

static void tell_warning(void *context, ErrPlace place, const char *text)
{
    tell_found(context, false, place, text);
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

/* A script of the scenario, read. */
typedef struct {
    const OwnScript *own;
    Text file, text;
} Loaded;

static bool load(const Scenario *scenario, const char *folder, const OwnScript *own, Loaded *out,
                 Err *err)
{
    Err why = {0};
    out->own = own;
    text_addf(&out->file, "%s/%s", folder, own->file);
    if (os_file_read(out->file.bytes, SCRIPT_BYTES_MAX, &out->text, &why)) {
        return script_check(scenario, out->file.bytes, text_string(&out->text), out->text.len, err);
    }
    return err_at(err, own->place, "%s", why.text);
}

/* True when the script does with this seed what it is there for. */
static bool does(Inspection *self, const Work *work, const Loaded *script, uint64_t seed, Err *err)
{
    AppRun *run = NULL;
    AppRunSetup setup = {.seed = seed, .is_assessment = true, .is_scripted = true};
    bool ok =
        app_run_begin(work, &setup, &run, err) &&
        script_play(run, script->file.bytes, text_string(&script->text), script->text.len, err);
    if (ok) {
        Score score;
        int critical = script->own->misses;
        app_run_score(run, &score);
        self->count->scripts_played++;
        if (critical == 0 && !score.competent) {
            ok = err_at(err, script->own->place,
                        "%s ends \"%s\" with seed %llu: it misses \"%s\", %lld of %lld points",
                        script->own->file, score_verdict(&score), (unsigned long long)seed,
                        first_missed(&score), (long long)score.points,
                        (long long)score.points_needed);
        } else if (critical != 0 && !misses(&score, critical)) {
            ok = err_at(err, script->own->place, "%s does not miss K%d with seed %llu",
                        script->own->file, critical, (unsigned long long)seed);
        }
    }
    app_run_free(run);
    return ok;
}

/* Of the scripts for one purpose (right, or missing a line) one does it with each seed that
 * counts. */
static bool prove_purpose(Inspection *self, const Work *work, const Loaded scripts[], int count,
                          int critical, const bool counts[])
{
    for (uint64_t seed = 1; seed <= INSPECT_SEEDS; seed++) {
        Err first = {0};
        bool any = false;
        bool done = !counts[seed - 1];
        for (int i = 0; i < count && !done; i++) {
            Err err = {0};
            if (scripts[i].own->misses != critical) continue;
            done = does(self, work, &scripts[i], seed, &err);
            if (!done && !any) first = err;
            any = true;
        }
        if (!any && !done) return true; /* there is no script for it */
        if (done) continue;
        tell_error(self, first.text);
        return false;
    }
    return true;
}

/* Which seeds count; an error when so few do that the luck, not the scenario, is at fault. */
static bool choose_seeds(Inspection *self, const Work *work, bool counts[INSPECT_SEEDS])
{
    const Scenario *scenario = work_scenario(work);
    int counted = 0;
    Err err = {0};
    for (uint64_t seed = 1; seed <= INSPECT_SEEDS; seed++) {
        if (!app_seed_counts(work, seed, &counts[seed - 1], &err)) {
            tell_error(self, err.text);
            return false;
        }
        counted += counts[seed - 1];
    }
    if (counted >= INSPECT_SEEDS / 2) return true;
    (void)err_at(
        &err, scenario->needs[0].place,
        "only %d of %d seeds show in a right run what the scenario needs, at least %d must",
        counted, INSPECT_SEEDS, INSPECT_SEEDS / 2);
    tell_error(self, err.text);
    return false;
}

/* Read the scripts, and play them when it is to be proved. */
static void inspect_scripts(Inspection *self, const Work *work, const char *folder)
{
    const Scenario *scenario = work_scenario(work);
    Loaded *scripts = check_calloc((size_t)scenario->script_count, sizeof *scripts);
    bool counts[INSPECT_SEEDS];
    bool ok = true;
    for (int i = 0; i < scenario->script_count; i++) {
        Err err = {0};
        if (load(scenario, folder, &scenario->scripts[i], &scripts[i], &err)) continue;
        tell_error(self, err.text);
        ok = false;
    }
    ok = ok && self->prove && choose_seeds(self, work, counts);
    for (int critical = 0; ok && critical <= SCENARIO_CRITICAL_MAX; critical++) {
        (void)prove_purpose(self, work, scripts, scenario->script_count, critical, counts);
    }
    for (int i = 0; i < scenario->script_count; i++) {
        text_clear(&scripts[i].file);
        text_clear(&scripts[i].text);
    }
    free(scripts);
}

/* --- Files and folders ----------------------------------------------------------------------- */

/* The ids of the scenarios in a folder, borrowed from their documents. */
typedef struct {
    JsonDoc **documents;
    const char **ids; /* NULL-ended */
    size_t count;
} Beside;

/* What is no JSON, or says no id, is none: it is told of where it is looked at itself. */
static bool read_beside(const char *folder, Beside *out, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    Text path = {0};
    if (!os_folder_list(folder, ".json", &names, &count, err)) return false;
    out->documents = check_calloc(count + 1, sizeof(JsonDoc *));
    out->ids = check_calloc(count + 1, sizeof(const char *));
    for (size_t i = 0; i < count; i++) {
        JsonDoc *document = NULL;
        Err why = {0};
        text_clear(&path);
        text_addf(&path, "%s/%s", folder, names[i]);
        if (strcmp(names[i], "site.json") == 0 || !json_load(path.bytes, &document, &why)) continue;
        const JsonValue *id = json_get(json_root(document), "id");
        if (id != NULL && json_kind(id) == JSON_STRING) {
            out->documents[out->count] = document;
            out->ids[out->count++] = json_string(id);
        } else {
            json_free(document);
        }
    }
    text_clear(&path);
    os_names_free(names, count);
    return true;
}

static void clear_beside(Beside *beside)
{
    for (size_t i = 0; i < beside->count; i++) {
        json_free(beside->documents[i]);
    }
    free(beside->documents);
    free(beside->ids);
}

/* False when it cannot be read, and no scenario of it either. */
static bool inspect_site(Inspection *self, const char *folder)
{
    Work *work = NULL;
    Beside beside = {0};
    Err err = {0};
    self->count->sites++;
    bool ok = work_read(self->assets, folder, NULL, tell_warning, self, &work, &err) &&
              read_beside(folder, &beside, &err);
    if (ok)
        lint_competences(work_site(work), beside.ids, tell_found, self);
    else
        tell_error(self, err.text);
    clear_beside(&beside);
    work_free(work);
    return ok;
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
    if (!lint_scenario(work, tell_found, self, &err)) tell_error(self, err.text);
    if (scenario->script_count > 0) inspect_scripts(self, work, folder);
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
    bool is_read = has_site && inspect_site(self, folder);
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
        } else if (is_json && is_read && strcmp(names[i], "site.json") != 0) {
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
        (void)inspect_site(&self, folder.bytes);
    else
        inspect_scenario(&self, folder.bytes, name);
    text_clear(&folder);
    return true;
}
