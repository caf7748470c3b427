/* threepass demo: the example site, one person, one check that goes wrong, learned and tried
 * again. */
#include "app/script.h"
#include "base/os.h"
#include "cli/cli.h"

/* The same luck each time, so that the story that is told is the one that happens. */
enum { DEMO_SEED = 1 };

#define PERSON "Ife"
#define SITE "../scenarios/ostrel-mill"
#define PICTURED "eleven-oclock.json"
#define SCENARIO "../scenarios/ostrel-mill/the-beep.json"
#define WRONG "../scenarios/ostrel-mill/the-beep.k7.txt"
#define RIGHT "../scenarios/ostrel-mill/the-beep.right.txt"

static const char opening[] =
    "Threepass trains and assesses people who check a metal detector with test pieces.\n"
    "It does not verify a detector: real checks are made with the site's own certified pieces,\n"
    "under the site's food-safety plan and the machine's instructions. Never reach into a running\n"
    "conveyor, an aperture or a reject device: stop, isolate and lock off first, as local rules\n"
    "require.\n\n"
    "The story: Ostrel Mill (invented), line B1, sliced loaves. " PERSON " makes the check at the\n"
    "start of the shift: three metals, at the leading end, the middle and the trailing end of a\n"
    "loaf. Every signal is computed. Something is wrong with the line.\n";

static bool play(const Work *work, const char *script_name, bool is_assessment, AppRun **out,
                 Err *err)
{
    Text path = {0};
    Text script = {0};
    AppRunSetup setup = {.seed = DEMO_SEED, .is_assessment = is_assessment, .is_scripted = true};
    bool ok = cli_asset_path(script_name, &path, err) &&
              os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, err) &&
              app_run_begin(work, &setup, out, err) &&
              script_play(*out, path.bytes, text_string(&script), script.len, err);
    text_clear(&path);
    text_clear(&script);
    return ok;
}

/* The first line of the log in which two runs differ. */
static size_t first_difference(const AppRun *a, const AppRun *b)
{
    size_t a_count;
    size_t b_count;
    const LogLine *a_log = player_log(app_run_player(a), &a_count);
    const LogLine *b_log = player_log(app_run_player(b), &b_count);
    for (size_t i = 0; i < a_count && i < b_count; i++) {
        if (!log_equal(&a_log[i], &b_log[i])) return i;
    }
    return a_count < b_count ? a_count : b_count;
}

static bool record_both(const char *store, const AppRun *first, const AppRun *second, Err *err)
{
    Records *records = NULL;
    char person[REC_ID_BYTES];
    RecNumber number;
    bool ok = rec_open(store, REC_CREATE, THREEPASS_VERSION, NULL, &records, err) &&
              app_person(records, PERSON, person, err) &&
              app_run_record(first, records, person, &number, err) &&
              app_run_record(second, records, person, &number, err);
    rec_close(records);
    return ok;
}

static void tell_runs(const Texts *texts, const AppRun *first, const AppRun *second, Text *out)
{
    text_add(out, opening);
    text_add(out, "\n== First try, practice\n\n");
    cli_tell_story(texts, first, 0, out);
    text_add(out, "\n");
    cli_tell_score(texts, first, out);
    text_add(out,
             "\n== Second try, assessment: the same check, from where it goes another way\n\n");
    cli_tell_story(texts, second, first_difference(first, second), out);
    text_add(out, "\n");
    cli_tell_score(texts, second, out);
}

static bool tell_store(const char *store, Text *out, Err *err)
{
    RecReport report = {0};
    text_addf(out, "\n== What now stands in the store %s\n\n", store);
    if (!cli_tell_records(store, out, err)) return false;
    text_add(out, "\nBoth runs were played by a script, and say so: they are no evidence of "
                  "competence.\n\n");
    if (!rec_verify(store, NULL, app_rejudge, NULL, &report, err)) return false;
    cli_tell_report(&report, out);
    text_addf(out,
              "\nLook again:   threepass records show --store %s\n"
              "Check again:  threepass records verify --store %s\n",
              store, store);
    bool clean = report.finding_count == 0;
    rec_report_clear(&report);
    return clean || err_set(err, ERR_DAMAGE, "the store just written does not verify");
}

/* Pictures of the window, in a store of their own: what is drawn there is no part of the story. */
static bool tell_pictures(const CliFront *front, const char *folder, Text *out, Err *err)
{
    Text assets = {0};
    Text site = {0};
    Text store = {0};
    CliWindow window = {.theme = "light", .width = 1280, .height = 800, .text_percent = 100};
    bool ok = front->write_pictures != NULL || err_set(err, ERR_INPUT, CLI_NO_WINDOW);
    ok = ok && cli_asset_path("", &assets, err) && cli_asset_path(SITE, &site, err) &&
         os_folder_make_temporary(&store, err);
    window.assets = text_string(&assets);
    window.site = text_string(&site);
    window.store = text_string(&store);
    text_add(out, "\n== Pictures of the window\n\n");
    CHECK(front->write_pictures != NULL);
    ok = ok && front->write_pictures(&window, PICTURED, folder, out, err);
    text_clear(&assets);
    text_clear(&site);
    text_clear(&store);
    return ok;
}

int verb_demo(int argc, char **argv, const CliFront *front)
{
    enum { STORE, PICTURES };
    CliOption options[] = {[STORE] = {.name = "--store", .takes = "DIR"},
                           [PICTURES] = {.name = "--pictures", .takes = "DIR"},
                           {0}};
    CliWords words = {0};
    Texts *texts = NULL;
    Work *work = NULL;
    AppRun *first = NULL;
    AppRun *second = NULL;
    Text path = {0};
    Text store = {0};
    Text out = {0};
    Err err = {0};

    bool ok = cli_parse(argc, argv, options, &words, &err) && cli_texts(&texts, &err) &&
              cli_asset_path(SCENARIO, &path, &err) && cli_work(path.bytes, &work, &err) &&
              play(work, WRONG, false, &first, &err) && play(work, RIGHT, true, &second, &err);
    if (ok && options[STORE].given)
        text_add(&store, options[STORE].value);
    else
        ok = ok && os_folder_make_temporary(&store, &err);
    if (ok) tell_runs(texts, first, second, &out);
    ok = ok && record_both(store.bytes, first, second, &err) && tell_store(store.bytes, &out, &err);
    if (options[PICTURES].given) {
        ok = ok && tell_pictures(front, options[PICTURES].value, &out, &err);
    }
    int code = ok ? cli_print(&out, CLI_DONE) : cli_fail(&err);
    app_run_free(first);
    app_run_free(second);
    work_free(work);
    texts_free(texts);
    text_clear(&path);
    text_clear(&store);
    text_clear(&out);
    return code;
}
