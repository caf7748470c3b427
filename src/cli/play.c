/* threepass play: a run from a script, without a window. */
#include <stdio.h>
#include <string.h>

#include "app/inspect.h"
#include "app/script.h"
#include "app/texts.h"
#include "base/os.h"
#include "cli/desk.h"

bool cli_texts(Texts **out, Err *err)
{
    return cli_texts_in("en", out, err);
}

bool cli_texts_in(const char *language, Texts **out, Err *err)
{
    Text name = {0};
    Text path = {0};
    text_addf(&name, "texts/%s.json", language);
    bool ok = cli_asset_path(name.bytes, &path, err);
    if (ok && (!text_is_id(language) || !os_is_file(path.bytes))) {
        ok = err_set(err, ERR_INPUT, "threepass: there are no texts in the language \"%s\"",
                     language);
    }
    ok = ok && texts_load(path.bytes, out, err);
    text_clear(&name);
    text_clear(&path);
    return ok;
}

bool cli_work(const char *scenario_path, Work **out, Err *err)
{
    Text assets = {0};
    Text folder = {0};
    const char *name;
    inspect_split(scenario_path, &folder, &name);
    bool ok = cli_asset_path("", &assets, err) &&
              work_read(assets.bytes, folder.bytes, name, NULL, NULL, out, err);
    text_clear(&assets);
    text_clear(&folder);
    return ok;
}

void cli_tell_story(const Texts *texts, const AppRun *run, size_t from, Text *out)
{
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    const Scenario *scenario = app_run_scenario(run);
    for (size_t i = from; i < count; i++) {
        Text line = {0};
        if (texts_tell(texts, scenario, &log[i], &line)) {
            text_add(out, "  ");
            texts_add_clock(scenario, log[i].time_us, out);
            text_addf(out, "  %s\n", line.bytes);
        }
        text_clear(&line);
    }
}

void cli_tell_score(const Texts *texts, const AppRun *run, Text *out)
{
    size_t count;
    Score score;
    const LogLine *log = player_log(app_run_player(run), &count);
    app_run_score(run, &score);
    texts_tell_score(texts, "en", app_run_scenario(run), &score, log, out);
}

/* "--seed N": a whole number of 64 bits without sign. */
static bool read_seed(const CliOption *option, uint64_t *seed, Err *err)
{
    *seed = 1;
    if (!option->given) return true;
    uint64_t value = 0;
    size_t len = strspn(option->value, "0123456789");
    bool fits = len > 0 && option->value[len] == '\0';
    for (size_t i = 0; fits && i < len; i++) {
        uint64_t digit = (uint64_t)(option->value[i] - '0');
        if (value > (UINT64_MAX - digit) / 10)
            fits = false;
        else
            value = value * 10 + digit;
    }
    if (!fits) {
        return err_set(err, ERR_INPUT, "threepass: --seed is \"%s\", limit 0..%llu", option->value,
                       (unsigned long long)UINT64_MAX);
    }
    *seed = value;
    return true;
}

/* A person whom the site knows is called as the site does. */
static bool check_name(const Site *site, const char *name, Err *err)
{
    if (!text_is_utf8(name, strlen(name), NULL)) return true; /* the records say so */
    for (int i = 0; i < site->person_count; i++) {
        const char *other = site->people[i].name;
        if (strcmp(other, name) == 0) return true;
        if (!text_is_same_name(other, name)) continue;
        return err_set(err, ERR_INPUT, "the site has no \"%s\"; did you mean \"%s\"?", name, other);
    }
    return true;
}

/* In a store that may be open already, and is new when nothing else needed it. */
static bool record(const AppRun *run, const char *store, const char *name, Records **records,
                   RecNumber *number, Err *err)
{
    char person[REC_ID_BYTES];
    return (*records != NULL || desk_open_store(store, REC_CREATE, records, err)) &&
           app_person(*records, name, person, err) &&
           app_run_record(run, *records, person, number, err);
}

/* What a record says besides the run itself; who is beside is known to the store. */
static bool read_setup(const CliOption *language, const CliOption *beside, Records *records,
                       AppRunSetup *setup, Err *err)
{
    size_t len = language->given ? strlen(language->value) : 0;
    if (language->given && (!text_is_id(language->value) || len >= sizeof setup->language)) {
        return err_set(err, ERR_INPUT, "threepass: --language is \"%s\", must be such as \"pl\"",
                       language->value);
    }
    if (language->given) memcpy(setup->language, language->value, len + 1);
    if (!beside->given) return true;
    if (records == NULL) {
        return err_set(err, ERR_INPUT, "threepass: --supervised-by NAME goes with --store DIR");
    }
    return people_find(records, beside->value, setup->supervised_by, err);
}

static void print_json(const AppRun *run, const Score *score, RecNumber number, Text *out)
{
    Text log = {0};
    Text result = {0};
    player_print_run(app_run_player(run), &log);
    score_print(score, &result);
    text_addf(out, "{\"entry\": %lld, \"result\": %s, \"log\": ", (long long)number,
              text_string(&result));
    text_add_quoted(out, text_string(&log));
    text_add(out, "}\n");
    text_clear(&log);
    text_clear(&result);
}

static int print_run(const AppRun *run, const Texts *texts, bool json, RecNumber number)
{
    Text out = {0};
    Score score;
    app_run_score(run, &score);
    if (json) {
        print_json(run, &score, number, &out);
    } else {
        cli_tell_story(texts, run, 0, &out);
        text_add(&out, "\n");
        cli_tell_score(texts, run, &out);
        if (number > 0) {
            text_addf(&out, "Recorded as entry %lld (scripted: no evidence of competence).\n",
                      (long long)number);
        }
    }
    int code = cli_print(&out, score.competent ? CLI_DONE : CLI_NO);
    text_clear(&out);
    return code;
}

/* What had happened when a script could not go on; beside the error, as nothing else is said. */
static void tell_so_far(const AppRun *run, const Texts *texts)
{
    Text story = {0};
    cli_tell_story(texts, run, 0, &story);
    (void)fputs(text_string(&story), stderr);
    text_clear(&story);
}

int verb_play(int argc, char **argv, const CliFront *front)
{
    (void)front;
    enum { SCRIPT, STORE, PERSON, BESIDE, LANGUAGE, ASSESSMENT, SEED, JSON };
    CliOption options[] = {[SCRIPT] = {.name = "--script", .takes = "FILE"},
                           [STORE] = {.name = "--store", .takes = "DIR"},
                           [PERSON] = {.name = "--person", .takes = "NAME"},
                           [BESIDE] = {.name = "--supervised-by", .takes = "NAME"},
                           [LANGUAGE] = {.name = "--language", .takes = "TAG"},
                           [ASSESSMENT] = {.name = "--assessment"},
                           [SEED] = {.name = "--seed", .takes = "N"},
                           [JSON] = {.name = "--json"},
                           {0}};
    CliWords words = {.min = 1, .max = 1};
    int code = CLI_CANNOT;
    Texts *texts = NULL;
    Work *work = NULL;
    AppRun *run = NULL;
    Text script = {0};
    Err err = {0};
    RecNumber number = 0;
    Records *records = NULL;
    AppRunSetup setup = {.is_scripted = true};

    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              read_seed(&options[SEED], &setup.seed, &err);
    if (ok && !options[SCRIPT].given) {
        ok = err_set(&err, ERR_INPUT, "threepass: play needs --script FILE");
    }
    if (ok && options[STORE].given != options[PERSON].given) {
        ok = err_set(&err, ERR_INPUT, "threepass: --store DIR and --person NAME go together");
    }
    setup.is_assessment = options[ASSESSMENT].given;
    if (options[STORE].given && options[BESIDE].given) {
        ok = ok && desk_open_store(options[STORE].value, REC_WRITE, &records, &err);
    }
    ok = ok && read_setup(&options[LANGUAGE], &options[BESIDE], records, &setup, &err) &&
         cli_texts(&texts, &err) && cli_work(words.words[0], &work, &err);
    if (ok && options[PERSON].given) {
        ok = check_name(work_site(work), options[PERSON].value, &err);
    }
    ok = ok && os_file_read(options[SCRIPT].value, SCRIPT_BYTES_MAX, &script, &err) &&
         script_check(work_scenario(work), options[SCRIPT].value, text_string(&script), script.len,
                      &err) &&
         app_run_begin(work, &setup, &run, &err);
    if (ok) {
        ok = script_play(run, options[SCRIPT].value, text_string(&script), script.len, &err);
        if (!ok && !options[JSON].given) tell_so_far(run, texts);
    }
    if (ok && options[STORE].given) {
        ok = record(run, options[STORE].value, options[PERSON].value, &records, &number, &err);
    }
    code = ok ? print_run(run, texts, options[JSON].given, number) : cli_fail(&err);
    rec_close(records);
    app_run_free(run);
    work_free(work);
    texts_free(texts);
    text_clear(&script);
    return code;
}
