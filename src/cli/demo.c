/* threepass demo: the example site, one check that goes wrong, learned, tried again, watched and
 * decided upon. What is played from a script is no evidence, and nobody was watched; so the one
 * signature that the story can make is a refusal, and it says why. */
#include "app/script.h"
#include "base/os.h"
#include "cli/desk.h"

#include <string.h>

/* The same luck each time, so that the story that is told is the one that happens. */
enum { DEMO_SEED = 1 };

#define PERSON "Ife"
#define ASSESSOR "Marit"
#define SUPERVISOR "Renske"
#define COMPETENCE "check-packs"
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

/* Who is in the story. */
typedef struct {
    Records *records;
    char renske[REC_ID_BYTES], marit[REC_ID_BYTES], ife[REC_ID_BYTES];
    unsigned char seed[REC_SEED_BYTES]; /* Renske's */
} Cast;

/* `beside`: an assessor's id, "" for nobody. */
static bool play(const Work *work, const char *script_name, const char *beside, AppRun **out,
                 Err *err)
{
    Text path = {0};
    Text script = {0};
    AppRunSetup setup = {
        .seed = DEMO_SEED, .is_assessment = beside[0] != '\0', .is_scripted = true};
    CHECK(strlen(beside) < sizeof setup.supervised_by);
    memcpy(setup.supervised_by, beside, strlen(beside) + 1);
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

/* --- The store and its people ---------------------------------------------------------------- */

/* A store with a supervisor, whose passphrase nobody knows or needs, an assessor and a learner. */
static bool begin_store(const char *store, Cast *cast, Err *err)
{
    unsigned char bytes[REC_SEED_BYTES];
    char passphrase[REC_HEX_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES];
    PeopleTry tried;
    os_random(bytes, sizeof bytes);
    rec_hex_print(bytes, sizeof bytes, passphrase);
    PeopleStart start = {store, THREEPASS_VERSION, NULL, SUPERVISOR, passphrase};
    bool ok = people_start(&start, &cast->records, cast->renske, code, err);
    rec_wipe(code, sizeof code);
    ok = ok && people_open_key(cast->records, cast->renske, passphrase, cast->seed, &tried, err) &&
         people_want_right(&tried, "passphrase", err) &&
         people_add(cast->records, cast->renske, ASSESSOR, cast->marit, err) &&
         people_set_role(cast->records, cast->renske, cast->marit, "assessor", true, err) &&
         people_add(cast->records, cast->renske, PERSON, cast->ife, err) &&
         people_set_role(cast->records, cast->renske, cast->ife, "operator", true, err);
    rec_wipe(passphrase, sizeof passphrase);
    rec_wipe(bytes, sizeof bytes);
    return ok;
}

/* --- Watched, and decided upon --------------------------------------------------------------- */

static bool observe(const Cast *cast, const Competence *competence, Err *err)
{
    static const char *const answers[COMPETENCE_ITEMS_MAX] = {
        "not-seen", "not-seen", "not-seen", "not-seen", "not-seen", "not-seen",
        "not-seen", "not-seen", "not-seen", "not-seen", "not-seen", "not-seen",
        "not-seen", "not-seen", "not-seen", "not-seen", "not-seen", "not-seen",
        "not-seen", "not-seen", "not-seen", "not-seen", "not-seen", "not-seen",
        "not-seen", "not-seen", "not-seen", "not-seen", "not-seen", "not-seen"};
    int64_t wall_us = 0;
    int64_t uptime_us = 0;
    char today[REC_DAY_BYTES];
    rec_now(cast->records, &wall_us, &uptime_us);
    rec_day_print(rec_day_of(wall_us), today);
    Observation seen = {.author = cast->marit,
                        .person = cast->ife,
                        .competence = competence,
                        .line = competence->lines[0],
                        .seen_on = today,
                        .answers = {answers, (size_t)competence->item_count},
                        .is_good = false,
                        .sheet = "demo: nobody was watched",
                        .language = "en"};
    return sign_observe(cast->records, &seen, NULL, err);
}

static void tell_refusal(const Texts *texts, const SignOffAnswer *answer, Text *out)
{
    text_addf(out,
              "\n== " SUPERVISOR " looks at the evidence: what a signature would say\n\n%s\n"
              "It would not count, so the program does not make it:\n",
              text_string(&answer->statement));
    for (int i = 0; i < answer->reason_count; i++) {
        text_add(out, "  ");
        texts_tell_standing(texts, &answer->reasons[i], out);
        text_add(out, "\n");
    }
}

/* The signature that would not count; then the one that says so, and that the learner read it. */
static bool decide(const Cast *cast, const Work *work, const Texts *texts, Text *out, Err *err)
{
    SignOffAnswer tried = {0};
    SignOffAnswer refused = {0};
    SignOff what = {.site = work_site(work),
                    .texts = texts,
                    .language = "en",
                    .signer = cast->renske,
                    .person = cast->ife,
                    .competence = competence_find(work_site(work), COMPETENCE),
                    .buddy = "",
                    .seed = cast->seed};
    if (what.competence == NULL) {
        return err_set(err, ERR_INPUT, "the example site has no competence " COMPETENCE);
    }
    bool ok = observe(cast, what.competence, err) && sign_off(cast->records, &what, &tried, err);
    CHECK(!ok || !tried.counts); /* runs from scripts bear no signature */
    if (ok) tell_refusal(texts, &tried, out);
    what.decision = REC_REFUSED;
    ok = ok && sign_off(cast->records, &what, &refused, err) &&
         sign_acknowledge(cast->records, cast->ife, refused.added.hash.hex, err);
    if (ok) {
        text_addf(out,
                  "\nWhat " SUPERVISOR " signs is the honest answer, as entry %lld:\n\n%s\n" PERSON
                  " acknowledges it.\n",
                  (long long)refused.added.number, text_string(&refused.statement));
    }
    sign_off_clear(&tried);
    sign_off_clear(&refused);
    return ok;
}

static void tell_runs(const Texts *texts, const AppRun *first, const AppRun *second, Text *out)
{
    text_add(out, opening);
    text_add(out, "\n== First try, practice\n\n");
    cli_tell_story(texts, first, 0, out);
    text_add(out, "\n");
    cli_tell_score(texts, first, out);
    text_add(out, "\n== Second try, assessment with " ASSESSOR
                  " beside: the same check, from where it goes "
                  "another way\n\n");
    cli_tell_story(texts, second, first_difference(first, second), out);
    text_add(out, "\n");
    cli_tell_score(texts, second, out);
}

static bool tell_store(const char *store, Text *out, Err *err)
{
    RecReport report = {0};
    text_addf(out, "\n== What now stands in the store %s\n\n", store);
    if (!cli_tell_records(store, out, err)) return false;
    text_add(out,
             "\nBoth runs were played by a script, and say so: they are no evidence of "
             "competence. Nobody was\nwatched, and the observation says so, too. With runs that "
             "a person plays and an assessor\nwatches, the same steps end in a signature that "
             "counts.\n\n");
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
    Cast cast = {0};
    RecNumber number;
    Err err = {0};

    bool ok = cli_parse(argc, argv, options, &words, &err) && cli_texts(&texts, &err) &&
              cli_asset_path(SCENARIO, &path, &err) && cli_work(path.bytes, &work, &err);
    if (ok && options[STORE].given)
        text_add(&store, options[STORE].value);
    else
        ok = ok && os_folder_make_temporary(&store, &err);
    ok = ok && begin_store(store.bytes, &cast, &err) && play(work, WRONG, "", &first, &err) &&
         play(work, RIGHT, cast.marit, &second, &err) &&
         app_run_record(first, cast.records, cast.ife, &number, &err) &&
         app_run_record(second, cast.records, cast.ife, &number, &err);
    if (ok) tell_runs(texts, first, second, &out);
    ok = ok && decide(&cast, work, texts, &out, &err);
    rec_wipe(cast.seed, sizeof cast.seed);
    rec_close(cast.records);
    ok = ok && tell_store(store.bytes, &out, &err);
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
