/* Checking files and playing their scripts. */
#include "app/inspect.h"

#include <stdlib.h>
#include <string.h>

#include "app/lint.h"
#include "app/script.h"
#include "base/os.h"
#include "scenario/course.h"

enum { DEPTH_MAX = 8, SCENARIOS_MAX = 5000 };

static const char courses_folder[] = "courses";

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

/* What a reader could go on after. */
static void hear_error(void *context, const char *text)
{
    const Inspection *self = context;
    tell_error(self, text);
}

static Err hearing(Inspection *self)
{
    return (Err){.hear = hear_error, .context = self};
}

/* What a reading ended with; nothing when all was heard. */
static void tell_last(const Inspection *self, const Err *err)
{
    if (err->text[0] != '\0') tell_error(self, err->text);
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

/* Why a run is not competent: "it misses critical line "back", 78 points, 72 needed". */
static void add_why(const Score *score, Text *out)
{
    const RubricLine *missed = NULL; /* the first critical one, else the first */
    for (int i = 0; i < score->line_count; i++) {
        const RubricLine *line = score->lines[i].line;
        if (score->lines[i].finding.state != SCORE_MISSED) continue;
        if (missed == NULL || (missed->critical == 0 && line->critical != 0)) missed = line;
    }
    if (score->reason == SCORE_BROKEN_OFF) {
        text_add(out, "it breaks the run off");
    } else if (score->reason == SCORE_OUT_OF_TIME || score->reason == SCORE_UNFINISHED) {
        text_add(out, "the time is over before the last scene is done");
    } else {
        CHECK(missed != NULL);
        text_addf(out, "it misses %s\"%s\", %lld points, %lld needed",
                  missed->critical != 0 ? "critical line " : "", missed->id,
                  (long long)score->points, (long long)score->points_needed);
    }
}

/* What the plays of the right scripts show, seed by seed. */
typedef struct {
    bool counts[INSPECT_SEEDS];    /* the seeds that are played */
    bool met[SCENARIO_RUBRIC_MAX]; /* lines of the rubric that some right play met or recovered */
} Proof;

static void note_met(const Score *score, Proof *proof)
{
    for (int i = 0; i < score->line_count; i++) {
        if (score->lines[i].finding.state != SCORE_MISSED) proof->met[i] = true;
    }
}

/* A line that no right run meets is often one that no run can meet, or a script with a slip. */
static void warn_unmet(Inspection *self, const Scenario *scenario, const Proof *proof)
{
    for (int i = 0; i < scenario->rubric_count; i++) {
        const RubricLine *line = &scenario->rubric[i];
        Text text = {0};
        if (proof->met[i]) continue;
        text_addf(&text, "no right run meets \"%s\", which has %lld points", line->id,
                  (long long)line->points);
        tell_found(self, false, line->place, text.bytes);
        text_clear(&text);
    }
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
static bool does(Inspection *self, const Work *work, const Loaded *script, uint64_t seed,
                 Proof *proof, Err *err)
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
            Text why = {0};
            add_why(&score, &why);
            ok = err_at(err, script->own->place,
                        "%s ends \"%s\" with seed %llu: %s; threepass play --seed %llu shows where",
                        script->own->file, score_verdict(&score), (unsigned long long)seed,
                        why.bytes, (unsigned long long)seed);
            text_clear(&why);
        } else if (critical != 0 && !misses(&score, critical)) {
            ok = err_at(err, script->own->place, "%s does not miss K%d with seed %llu",
                        script->own->file, critical, (unsigned long long)seed);
        } else if (critical == 0) {
            note_met(&score, proof);
        }
    }
    app_run_free(run);
    return ok;
}

/* Of the scripts for one purpose (right, or missing a line) one does it with each seed that
 * counts. */
static bool prove_purpose(Inspection *self, const Work *work, const Loaded scripts[], int count,
                          int critical, Proof *proof)
{
    for (uint64_t seed = 1; seed <= INSPECT_SEEDS; seed++) {
        Err first = {0};
        bool any = false;
        bool done = !proof->counts[seed - 1];
        for (int i = 0; i < count && !done; i++) {
            Err err = {0};
            if (scripts[i].own->misses != critical) continue;
            done = does(self, work, &scripts[i], seed, proof, &err);
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
    Proof proof = {0};
    bool ok = true;
    bool has_right = false;
    for (int i = 0; i < scenario->script_count; i++) {
        Err err = hearing(self);
        has_right = has_right || scenario->scripts[i].misses == 0;
        if (load(scenario, folder, &scenario->scripts[i], &scripts[i], &err)) continue;
        tell_last(self, &err);
        ok = false;
    }
    ok = ok && self->prove && choose_seeds(self, work, proof.counts);
    for (int critical = 0; ok && critical <= SCENARIO_CRITICAL_MAX; critical++) {
        bool done = prove_purpose(self, work, scripts, scenario->script_count, critical, &proof);
        if (done && critical == 0 && has_right) warn_unmet(self, scenario, &proof);
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
    Err err = hearing(self);
    self->count->sites++;
    bool ok = work_read(self->assets, folder, NULL, tell_warning, self, &work, &err) &&
              read_beside(folder, &beside, &err);
    if (ok)
        lint_competences(work_site(work), beside.ids, tell_found, self);
    else
        tell_last(self, &err);
    clear_beside(&beside);
    work_free(work);
    return ok;
}

static void inspect_scenario(Inspection *self, const char *folder, const char *name)
{
    Work *work = NULL;
    Err err = hearing(self);
    self->count->scenarios++;
    if (!work_read(self->assets, folder, name, NULL, NULL, &work, &err)) {
        tell_last(self, &err);
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

/* --- Courses --------------------------------------------------------------------------------- */

/* The scenarios beside a site, as far as they can be read; what is wrong with them is told of where
 * they are checked. The documents own the ids. */
typedef struct {
    CourseScenario *list;
    JsonDoc **documents;
    int count;
    Text unread; /* the first file that is no JSON or has no id; empty: none */
} Shelf;

static bool fill_shelf(const char *folder, Shelf *out, Err *err)
{
    char **names = NULL;
    size_t count = 0;
    if (!os_folder_list(folder, ".json", &names, &count, err)) return false;
    for (size_t i = 0; i < count && out->count < SCENARIOS_MAX; i++) {
        Text path = {0};
        Err unread = {0};
        JsonDoc *document = NULL;
        const char *id = NULL;
        CourseScenario found = {0};
        text_addf(&path, "%s/%s", folder, names[i]);
        bool is_site = strcmp(names[i], "site.json") == 0;
        bool ok = !is_site && json_load(path.bytes, &document, &unread) &&
                  json_read_id(json_root(document), "id", true, &id, &unread);
        if (!ok && !is_site && out->unread.len == 0) text_add(&out->unread, names[i]);
        if (ok && !json_read_integer(json_root(document), "minutes", true, 1, SCENARIO_MINUTES_MAX,
                                     &found.minutes, &unread)) {
            found.minutes = 0; /* its own check says so */
        }
        text_clear(&path);
        if (!ok) {
            json_free(document);
            continue;
        }
        size_t room = (size_t)out->count + 1;
        out->list = check_realloc(out->list, room, sizeof *out->list);
        out->documents = check_realloc(out->documents, room, sizeof *out->documents);
        found.id = id;
        out->list[out->count] = found;
        out->documents[out->count++] = document;
    }
    os_names_free(names, count);
    return true;
}

static void clear_shelf(Shelf *shelf)
{
    for (int i = 0; i < shelf->count; i++) {
        json_free(shelf->documents[i]);
    }
    free(shelf->documents);
    free(shelf->list);
    text_clear(&shelf->unread);
}

/* Whether a folder is the one of a site's courses, by its name. */
static bool holds_courses(const char *folder)
{
    const char *slash = strrchr(folder, '/');
    return strcmp(slash == NULL ? folder : slash + 1, courses_folder) == 0;
}

/* Whether a file says that it is a course, wherever it lies. */
static bool is_course(const char *path)
{
    JsonDoc *document = NULL;
    Err err = {0};
    if (!json_load(path, &document, &err)) return false;
    bool is_one = course_is_one(document);
    json_free(document);
    return is_one;
}

/* A course of the folder `courses`, held against the site and the scenarios beside that. */
static bool check_course(Inspection *self, const char *folder, const char *path, Err *err)
{
    Course *course = NULL;
    Work *work = NULL;
    Shelf shelf = {0};
    Text bytes = {0};
    Text beside = {0};
    text_addf(&beside, "%s/..", folder);
    bool ok = os_file_read(path, JSON_BYTES_MAX, &bytes, err) &&
              course_parse(path, text_string(&bytes), bytes.len, &course, err) &&
              work_read_site(self->assets, beside.bytes, &work, err) &&
              fill_shelf(beside.bytes, &shelf, err);
    if (ok) {
        course_check(course, work_site(work), shelf.list, shelf.count,
                     shelf.unread.len > 0 ? shelf.unread.bytes : NULL, tell_found, self);
    }
    clear_shelf(&shelf);
    work_free(work);
    course_free(course);
    text_clear(&beside);
    text_clear(&bytes);
    return ok;
}

/* Beside the scenarios the window would take it for one. */
static bool is_below_site(const char *folder)
{
    Text beside = {0};
    Text above = {0};
    text_addf(&beside, "%s/site.json", folder);
    text_addf(&above, "%s/../site.json", folder);
    bool is_below = !os_is_file(beside.bytes) && os_is_file(above.bytes);
    text_clear(&above);
    text_clear(&beside);
    return is_below;
}

static void inspect_course(Inspection *self, const char *folder, const char *path)
{
    Err err = {0};
    self->count->courses++;
    bool ok = is_below_site(folder)
                  ? check_course(self, folder, path, &err)
                  : err_at(&err, (ErrPlace){path, 1, 1},
                           "a course belongs into the folder \"%s\" beside a site's scenarios",
                           courses_folder);
    if (!ok) tell_error(self, err.text);
}

/* One JSON file of a folder, which has a site that was read, or not. */
static void inspect_file(Inspection *self, const char *folder, const char *name, const char *path,
                         bool has_site, bool is_read)
{
    if (strcmp(name, "site.json") == 0) return;
    if ((holds_courses(folder) && !has_site) || is_course(path)) {
        inspect_course(self, folder, path);
    } else if (!has_site) {
        Err missing = {0};
        (void)err_at(&missing, (ErrPlace){path, 1, 1},
                     "there is no site.json beside it that it could belong to");
        tell_error(self, missing.text);
    } else if (is_read) {
        inspect_scenario(self, folder, name);
    }
}

/* --- Folders --------------------------------------------------------------------------------- */

/* The courses of a site that cannot be read are left out, as its scenarios are. */
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
            if (has_site && !is_read && holds_courses(path.bytes)) continue;
            ok = inspect_folder(self, path.bytes, depth + 1, err);
        } else if (is_json) {
            inspect_file(self, folder, names[i], path.bytes, has_site, is_read);
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
        int before = count->sites + count->scenarios + count->courses + count->errors;
        if (!inspect_folder(&self, path, 0, err)) return false;
        int after = count->sites + count->scenarios + count->courses + count->errors;
        if (after > before) return true;
        return err_set(err, ERR_IO, "%s: holds no site and no scenario", path);
    }
    if (!os_is_file(path)) return err_set(err, ERR_IO, "%s: there is no such file or folder", path);
    Text folder = {0};
    const char *name;
    inspect_split(path, &folder, &name);
    if (strcmp(name, "site.json") == 0)
        (void)inspect_site(&self, folder.bytes);
    else if (holds_courses(folder.bytes) || is_course(path))
        inspect_course(&self, folder.bytes, path);
    else
        inspect_scenario(&self, folder.bytes, name);
    text_clear(&folder);
    return true;
}
