/* People of a site, from the first start to a leaver, through the app as the window would: the
 * clock is set by hand, the run is supervised and played live. Who may do what, and what counts, is
 * common practice of food sites, no source. */
#include "support.h"

#include "app/papers.h"
#include "app/script.h"
#include "app/sign_off.h"
#include "base/os.h"
#include "records/verify.h"

enum { US = 1000000 };
#define DAY_US (INT64_C(86400) * US)

#define RENSKE_WORDS "correct horse battery staple"
#define KWAME_WORDS "seven lorries in the rain"

#define assert_ok(call)                                                                            \
    do {                                                                                           \
        if (!(call)) fail_msg("%s: %s", #call, err.text);                                          \
    } while (0)

#define assert_refused(call, says)                                                                 \
    do {                                                                                           \
        err = (Err){0};                                                                            \
        if (call) fail_msg("taken: %s", #call);                                                    \
        assert_string_equal(err.text, says);                                                       \
    } while (0)

/* A site with two supervisors, an assessor and a learner. It stays where it is: the records keep
 * the address of its clock. */
typedef struct {
    Text folder;
    int64_t wall_us, uptime_us;
    Records *records;
    Work *work; /* with the scenario nine-passes */
    Texts *texts;
    const Competence *competence;
    char renske[REC_ID_BYTES], kwame[REC_ID_BYTES], marit[REC_ID_BYTES], ife[REC_ID_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES]; /* Renske's */
} Mill;

static int64_t wall_of(void *context)
{
    return ((Mill *)context)->wall_us += 1000;
}

static int64_t uptime_of(void *context)
{
    return ((Mill *)context)->uptime_us += 1000;
}

static RecOutside outside_of(Mill *mill)
{
    return (RecOutside){.clock = {wall_of, uptime_of, mill}};
}

static void let_pass(Mill *mill, int64_t us)
{
    mill->wall_us += us;
    mill->uptime_us += us;
}

static void reopen(Mill *mill)
{
    Err err = {0};
    RecOutside outside = outside_of(mill);
    rec_close(mill->records);
    mill->records = NULL;
    assert_ok(rec_open(mill->folder.bytes, REC_WRITE, "0.1.0", &outside, &mill->records, &err));
}

static void new_mill(Mill *mill)
{
    Err err = {0};
    *mill = (Mill){.wall_us = INT64_C(1772442871) * US, .uptime_us = INT64_C(3600) * US};
    RecOutside outside = outside_of(mill);
    assert_ok(os_folder_make_temporary(&mill->folder, &err));
    PeopleStart start = {mill->folder.bytes, "0.1.0", &outside, "Renske", RENSKE_WORDS};
    assert_ok(people_start(&start, &mill->records, mill->renske, mill->code, &err));
    assert_ok(people_add(mill->records, mill->renske, "Kwame", mill->kwame, &err));
    assert_ok(people_add(mill->records, mill->renske, "Marit", mill->marit, &err));
    assert_ok(people_add(mill->records, mill->renske, "Ife", mill->ife, &err));
    assert_ok(people_set_role(mill->records, mill->renske, mill->kwame, "supervisor", true, &err));
    assert_ok(people_set_role(mill->records, mill->renske, mill->marit, "assessor", true, &err));
    assert_ok(texts_load("assets/texts/en.json", &mill->texts, &err));
    assert_ok(work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL,
                        &mill->work, &err));
    mill->competence = competence_find(work_site(mill->work), "check-packs");
    assert_non_null(mill->competence);
}

static void end_mill(Mill *mill)
{
    Err err = {0};
    RecReport report = {0};
    Text command = {0};
    rec_close(mill->records);
    assert_ok(rec_verify(mill->folder.bytes, NULL, app_rejudge, NULL, &report, &err));
    for (size_t i = 0; i < report.finding_count; i++) {
        print_message("%s\n", report.findings[i].text.bytes);
    }
    assert_int_equal(report.finding_count, 0);
    rec_report_clear(&report);
    text_addf(&command, "rm -r '%s'", mill->folder.bytes);
    assert_int_equal(system(command.bytes), 0);
    text_clear(&command);
    text_clear(&mill->folder);
    work_free(mill->work);
    texts_free(mill->texts);
}

/* Ife's run of nine-passes by one of its scripts, live. */
static RecNumber play(Mill *mill, const char *script_file, bool is_scripted, const char *beside)
{
    Err err = {0};
    AppRun *run = NULL;
    Text path = {0};
    Text script = {0};
    RecNumber number = 0;
    AppRunSetup setup = {.seed = 1, .is_assessment = true, .is_scripted = is_scripted};
    memcpy(setup.supervised_by, beside, strlen(beside) + 1);
    text_addf(&path, "scenarios/ostrel-mill/%s", script_file);
    assert_ok(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, &err));
    assert_ok(app_run_begin(mill->work, &setup, &run, &err));
    assert_ok(script_play(run, path.bytes, script.bytes, script.len, &err));
    assert_ok(app_run_record(run, mill->records, mill->ife, &number, &err));
    app_run_free(run);
    text_clear(&path);
    text_clear(&script);
    return number;
}

static const char *const yes[] = {"yes", "yes", "yes", "yes", "yes", "yes",
                                  "yes", "yes", "yes", "yes", "yes", "yes"};

static Observation observation_of(const Mill *mill)
{
    return (Observation){.author = mill->marit,
                         .person = mill->ife,
                         .competence = mill->competence,
                         .line = "b1",
                         .seen_on = "2026-03-01",
                         .answers = {yes, 12},
                         .is_good = true,
                         .sheet = "C-2026-114",
                         .language = "en"};
}

static SignOff sign_off_of(const Mill *mill, const unsigned char *seed)
{
    return (SignOff){.site = work_site(mill->work),
                     .texts = mill->texts,
                     .language = "en",
                     .signer = mill->renske,
                     .person = mill->ife,
                     .competence = mill->competence,
                     .buddy = "",
                     .seed = seed};
}

static void open_key(Mill *mill, unsigned char seed[REC_SEED_BYTES])
{
    Err err = {0};
    PeopleTry tried;
    assert_ok(people_open_key(mill->records, mill->renske, RENSKE_WORDS, seed, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_RIGHT);
}

static RecState state_of(Mill *mill)
{
    Err err = {0};
    PeopleView view = {0};
    RecStanding standing;
    assert_ok(people_view(mill->records, mill->ife, &view, &err));
    rec_standing(view.set, mill->competence, mill->ife, &view.moment, &standing);
    RecState state = standing.state;
    people_view_clear(&view);
    return state;
}

/* The first reason of a signature that would not count. */
static RecWhy why_not(Mill *mill, const SignOff *what)
{
    Err err = {0};
    SignOffAnswer answer = {0};
    assert_ok(sign_off(mill->records, what, &answer, &err));
    assert_false(answer.counts);
    assert_int_equal(answer.added.number, 0);
    assert_true(answer.reason_count > 0);
    RecWhy why = answer.reasons[0].why;
    sign_off_clear(&answer);
    return why;
}

static void sign_ife(Mill *mill, char hash[REC_HEX_BYTES])
{
    Err err = {0};
    unsigned char seed[REC_SEED_BYTES];
    SignOffAnswer answer = {0};
    SignOff what = sign_off_of(mill, seed);
    open_key(mill, seed);
    assert_ok(sign_off(mill->records, &what, &answer, &err));
    assert_true(answer.counts);
    memcpy(hash, answer.added.hash.hex, REC_HEX_BYTES);
    sign_off_clear(&answer);
}

/* --- The story ------------------------------------------------------------------------------- */

/* Learn, fail, try again, be watched, be signed, lose it: each rung, and no rung too early. */
static void test_people_story(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    SignOffAnswer answer = {0};
    unsigned char seed[REC_SEED_BYTES];
    char signature[REC_HEX_BYTES];
    new_mill(&mill);
    SignOff what = sign_off_of(&mill, NULL);
    assert_ok(people_assign(mill.records, mill.renske, mill.ife, mill.competence, "", &err));
    (void)play(&mill, "nine-passes.right.txt", true, mill.marit);
    assert_int_equal(state_of(&mill), REC_IN_TRAINING);
    assert_int_equal(why_not(&mill, &what), REC_WHY_NO_RUN);
    (void)play(&mill, "nine-passes.right.txt", false, "");
    assert_int_equal(state_of(&mill), REC_IN_TRAINING);
    (void)play(&mill, "nine-passes.right.txt", false, mill.marit);
    assert_int_equal(state_of(&mill), REC_ASSESSED);
    assert_int_equal(why_not(&mill, &what), REC_WHY_NO_OBSERVATION);
    Observation seen = observation_of(&mill);
    assert_ok(sign_observe(mill.records, &seen, NULL, &err));
    assert_int_equal(state_of(&mill), REC_OBSERVED);

    /* Tried out, nothing is made. */
    assert_ok(sign_off(mill.records, &what, &answer, &err));
    assert_true(answer.counts);
    assert_int_equal(answer.added.number, 0);
    assert_string_equal(answer.good_until, "2027-03-01"); /* a year from the observation */
    assert_non_null(strstr(answer.statement.bytes, "It does not verify a detector."));
    assert_non_null(strstr(answer.statement.bytes, mill.ife));
    assert_null(strstr(answer.statement.bytes, "Ife")); /* it stays, so it names nobody */
    sign_off_clear(&answer);
    assert_int_equal(state_of(&mill), REC_OBSERVED);

    sign_ife(&mill, signature);
    assert_int_equal(state_of(&mill), REC_STANDS);
    assert_refused(sign_acknowledge(mill.records, mill.marit, signature, &err),
                   "only the person acknowledges what is about them");
    assert_ok(sign_acknowledge(mill.records, mill.ife, signature, &err));
    let_pass(&mill, 2 * DAY_US);
    open_key(&mill, seed);
    assert_ok(sign_withdraw(mill.records, mill.renske, seed, signature, "a concern", &err));
    assert_int_equal(state_of(&mill), REC_WITHDRAWN);
    /* What was seen before is no evidence any more. */
    assert_int_equal(why_not(&mill, &what), REC_WHY_NO_RUN);
    end_mill(&mill);
}

/* Renewed while it stands, and void evidence. */
static void test_people_renew_and_void(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    char signature[REC_HEX_BYTES];
    char run[REC_HEX_BYTES];
    char number[24];
    new_mill(&mill);
    Observation seen = observation_of(&mill);
    (void)play(&mill, "nine-passes.right.txt", false, mill.marit);
    assert_ok(sign_observe(mill.records, &seen, NULL, &err));
    sign_ife(&mill, signature);
    let_pass(&mill, 60 * DAY_US);
    RecNumber again = play(&mill, "nine-passes.right.txt", false, mill.marit);
    seen.seen_on = "2026-05-01";
    assert_ok(sign_observe(mill.records, &seen, NULL, &err));
    sign_ife(&mill, signature);
    assert_int_equal(state_of(&mill), REC_STANDS);
    (void)snprintf(number, sizeof number, "%lld", (long long)again);
    assert_ok(sign_find_entry(mill.records, number, run, &err));
    assert_ok(sign_void(mill.records, mill.marit, run, "fire alarm", &err));
    assert_int_equal(state_of(&mill), REC_STANDS); /* the first still stands */
    assert_refused(sign_void(mill.records, mill.marit, run, "again", &err),
                   "the run is void already");
    end_mill(&mill);
}

static void test_sign_off_refuses(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    SignOffAnswer answer = {0};
    static const char *const elsewhere[] = {"b3"};
    static const char *const here[] = {"b1"};
    new_mill(&mill);
    Observation seen = observation_of(&mill);
    (void)play(&mill, "nine-passes.right.txt", false, mill.marit);
    assert_ok(sign_observe(mill.records, &seen, NULL, &err));
    SignOff what = sign_off_of(&mill, NULL);
    what.lines = (RecList){elsewhere, 1};
    assert_refused(sign_off(mill.records, &what, &answer, &err),
                   "line \"b3\" is none of the competence \"check-packs\"");
    what.lines = (RecList){here, 1};
    what.products = (RecList){elsewhere, 1};
    assert_refused(sign_off(mill.records, &what, &answer, &err), "the site has no product \"b3\"");
    what.products = (RecList){NULL, 0};
    what.good_until = "2027-03-02";
    assert_refused(sign_off(mill.records, &what, &answer, &err),
                   "good until 2027-03-02, limit 2027-03-01: so long the evidence speaks");
    what.good_until = "next year";
    assert_refused(sign_off(mill.records, &what, &answer, &err),
                   "the date is \"next year\", must be a day such as 2026-03-02");
    what.good_until = NULL;
    what.signer = mill.marit;
    assert_refused(sign_off(mill.records, &what, &answer, &err), "who signs is no supervisor");
    what.signer = mill.kwame; /* a supervisor who has no key yet */
    assert_int_equal(why_not(&mill, &what), REC_WHY_KEY_UNKNOWN);
    what.signer = mill.renske;
    what.decision = REC_WITH_BUDDY;
    assert_int_equal(why_not(&mill, &what), REC_WHY_NO_BUDDY);
    end_mill(&mill);
}

static void test_sign_observe_refuses(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    new_mill(&mill);
    static const char *const with_no[] = {"yes", "yes", "yes", "yes", "yes", "yes",
                                          "yes", "yes", "no",  "yes", "yes", "yes"};
    Observation seen = observation_of(&mill);
    seen.line = "b3";
    assert_refused(sign_observe(mill.records, &seen, NULL, &err),
                   "line \"b3\" is none of the competence \"check-packs\"");
    seen.line = "b1";
    seen.answers.count = 11;
    assert_refused(sign_observe(mill.records, &seen, NULL, &err),
                   "11 answers to a checklist of 12");
    seen.answers = (RecList){with_no, 12};
    assert_refused(sign_observe(mill.records, &seen, NULL, &err),
                   "not good with a \"no\" to \"packs-gone\"");
    seen.answers = (RecList){yes, 12};
    seen.seen_on = "2026-03-03";
    assert_refused(sign_observe(mill.records, &seen, NULL, &err),
                   "seen on 2026-03-03, and today is 2026-03-02 (UTC)");
    seen.seen_on = "2026-03-02";
    seen.author = mill.ife;
    assert_refused(sign_observe(mill.records, &seen, NULL, &err),
                   "nobody judges or signs for themselves");
    end_mill(&mill);
}

/* --- Proof ----------------------------------------------------------------------------------- */

static PeopleTry try_pin(Mill *mill, const char *pin)
{
    Err err = {0};
    PeopleTry tried;
    assert_ok(people_try_pin(mill->records, mill->ife, pin, &tried, &err));
    return tried;
}

/* The wait grows, survives closing and a clock that is moved, and ends with the right PIN. */
static void test_people_pin_waits(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    new_mill(&mill);
    assert_int_equal(try_pin(&mill, "1357").answer, PEOPLE_HAS_NONE);
    assert_refused(people_set_pin(mill.records, mill.marit, mill.ife, "1357", &err),
                   "the author is no supervisor");
    assert_refused(people_set_pin(mill.records, mill.renske, mill.ife, "135", &err),
                   "a PIN is 4 to 8 digits");
    assert_ok(people_set_pin(mill.records, mill.renske, mill.ife, "1357", &err));
    for (int i = 1; i <= 3; i++) {
        PeopleTry tried = try_pin(&mill, "1111");
        assert_int_equal(tried.answer, PEOPLE_WRONG);
        assert_int_equal(tried.failed, i);
        assert_int_equal(tried.wait_us, 0);
    }
    assert_int_equal(try_pin(&mill, "1111").wait_us, 5 * US);
    assert_int_equal(try_pin(&mill, "1357").answer, PEOPLE_MUST_WAIT);
    reopen(&mill);
    mill.wall_us += 30 * DAY_US; /* only the PC's clock */
    PeopleTry tried = try_pin(&mill, "1357");
    assert_int_equal(tried.answer, PEOPLE_MUST_WAIT);
    assert_true(tried.wait_us > 4 * (int64_t)US && tried.wait_us <= 5 * (int64_t)US);
    let_pass(&mill, (int64_t)5 * US);
    assert_int_equal(try_pin(&mill, "1111").wait_us, 10 * US);
    mill.uptime_us = 2 * (int64_t)US; /* the machine was started anew */
    reopen(&mill);
    assert_int_equal(try_pin(&mill, "1357").answer, PEOPLE_MUST_WAIT);
    let_pass(&mill, (int64_t)10 * US);
    assert_int_equal(try_pin(&mill, "1357").answer, PEOPLE_RIGHT);
    assert_int_equal(try_pin(&mill, "1111").failed, 1);
    end_mill(&mill);
}

static void test_people_keys(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    PeopleTry tried;
    char code[REC_RECOVERY_TEXT_BYTES];
    unsigned char one[REC_SEED_BYTES];
    unsigned char two[REC_SEED_BYTES];
    new_mill(&mill);
    open_key(&mill, one);
    assert_ok(people_open_key(mill.records, mill.renske, "not the right words", two, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_WRONG);
    assert_refused(people_want_right(&tried, "passphrase", &err), "that is not the passphrase");
    assert_refused(
        people_change_passphrase(mill.records, mill.renske, RENSKE_WORDS, "short", &tried, &err),
        "the passphrase has 5 characters, at least 12 are needed");
    assert_ok(people_change_passphrase(mill.records, mill.renske, RENSKE_WORDS,
                                       "other words than before", &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_RIGHT);
    assert_ok(people_recover(mill.records, mill.renske, mill.code, RENSKE_WORDS, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_RIGHT);
    open_key(&mill, two);
    assert_memory_equal(one, two, sizeof one); /* the key stayed the same */

    /* Kwame's first is his own; then only Renske can give him another. */
    assert_refused(people_make_key(mill.records, mill.renske, mill.kwame, KWAME_WORDS, code, &err),
                   "the key is set by another person");
    assert_ok(people_make_key(mill.records, mill.kwame, mill.kwame, KWAME_WORDS, code, &err));
    assert_refused(people_make_key(mill.records, mill.marit, mill.kwame, KWAME_WORDS, code, &err),
                   "the author is no supervisor");
    assert_ok(people_open_key(mill.records, mill.kwame, KWAME_WORDS, one, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_RIGHT); /* the refused one did no harm */
    assert_ok(
        people_make_key(mill.records, mill.renske, mill.kwame, "words of another day", code, &err));
    assert_ok(people_open_key(mill.records, mill.kwame, "words of another day", two, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_RIGHT);
    assert_memory_not_equal(one, two, sizeof one);
    assert_ok(people_lose_key(mill.records, mill.renske, mill.kwame, &err));
    assert_ok(people_open_key(mill.records, mill.kwame, "words of another day", two, &tried, &err));
    assert_int_equal(tried.answer, PEOPLE_HAS_NONE);
    end_mill(&mill);
}

/* --- People ---------------------------------------------------------------------------------- */

static void test_people_start_refuses(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    Records *records = NULL;
    char person[REC_ID_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES];
    Text says = {0};
    new_mill(&mill);
    text_addf(&says, "%s: has a supervisor already, who adds people from now on",
              mill.folder.bytes);
    PeopleStart start = {mill.folder.bytes, "0.1.0", NULL, "Bram", KWAME_WORDS};
    assert_refused(people_start(&start, &records, person, code, &err), says.bytes);
    start.folder = "/nowhere/at-all";
    start.name = "";
    assert_refused(people_start(&start, &records, person, code, &err),
                   "the name has 0 bytes, limit 1..200");
    start.name = "Bram Bram Bram";
    start.passphrase = "bram bram bram";
    assert_refused(people_start(&start, &records, person, code, &err),
                   "the passphrase is the person's name");
    text_clear(&says);
    end_mill(&mill);
}

static void test_people_roles(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    char person[REC_ID_BYTES];
    bool has = false;
    new_mill(&mill);
    assert_refused(people_add(mill.records, mill.ife, "Bram", person, &err),
                   "the author is no supervisor or trainer");
    assert_refused(people_add(mill.records, mill.renske, "Ife", person, &err),
                   "\"Ife\" is here already; names must differ");
    assert_refused(people_find(mill.records, "Marti", person, &err),
                   "nobody here is called \"Marti\"; did you mean \"Marit\"?");
    assert_refused(people_set_role(mill.records, mill.renske, mill.marit, "assessor", true, &err),
                   "the person has the role \"assessor\" already");
    assert_refused(people_set_role(mill.records, mill.renske, mill.ife, "assessor", false, &err),
                   "the person has no role \"assessor\" that could be taken");
    assert_ok(people_set_role(mill.records, mill.renske, mill.marit, "assessor", false, &err));
    assert_ok(people_has_role(mill.records, mill.marit, "assessor", &has, &err));
    assert_false(has);
    end_mill(&mill);
}

static void test_people_erase(void **state)
{
    (void)state;
    Err err = {0};
    Mill mill;
    Text name = {0};
    size_t count = 0;
    bool found = false;
    new_mill(&mill);
    Observation seen = observation_of(&mill);
    seen.remark = "calm";
    assert_ok(sign_observe(mill.records, &seen, NULL, &err));
    assert_refused(people_erase(mill.records, mill.ife, mill.marit, "left", &count, &err),
                   "the author is no supervisor or quality");
    assert_refused(people_erase(mill.records, mill.renske, mill.renske, "left", &count, &err),
                   "nobody erases themselves: somebody else has to");
    assert_ok(people_set_pin(mill.records, mill.renske, mill.ife, "1357", &err));
    assert_ok(people_erase(mill.records, mill.renske, mill.ife, "left", &count, &err));
    assert_int_equal(count, 2); /* name and remark */
    assert_ok(rec_person_name(mill.records, mill.ife, &name, &found, &err));
    assert_true(found);
    assert_int_equal(name.len, 0);
    assert_int_equal(try_pin(&mill, "1357").answer, PEOPLE_HAS_NONE);
    assert_ok(people_erase(mill.records, mill.renske, mill.ife, "left", &count, &err));
    assert_int_equal(count, 0);
    text_clear(&name);
    end_mill(&mill);
}

/* --- Papers ---------------------------------------------------------------------------------- */

static void write_table(const Mill *mill, const char *rows, Text *path)
{
    Err err = {0};
    Text bytes = {0};
    text_clear(path);
    text_addf(path, "%s/papers.csv", mill->folder.bytes);
    text_addf(&bytes, "name,competence,signed_on,good_until,signed_by,lines\n%s", rows);
    assert_ok(os_file_write(path->bytes, bytes.bytes, bytes.len, &err));
    text_clear(&bytes);
}

static void test_papers(void **state)
{
    (void)state;
    static const struct {
        const char *row, *says;
    } rows[] = {
        {"Iffe,check-packs,2025-09-01,2026-09-01,Bo,\n",
         ":2:1: error: nobody here is called \"Iffe\"; did you mean \"Ife\"?"},
        {"Ife,packs,2025-09-01,2026-09-01,Bo,\n",
         ":2:2: error: the site has no competence \"packs\""},
        {"Ife,check-packs,1.9.2025,2026-09-01,Bo,\n",
         ":2:3: error: signed_on is \"1.9.2025\", must be a day such as 2026-03-02"},
        {"Ife,check-packs,2026-09-01,2026-10-01,Bo,\n", ":2:3: error: signed_on is a day to come"},
        {"Ife,check-packs,2025-09-01,2025-08-01,Bo,\n",
         ":2:4: error: good_until is before signed_on"},
        {"Ife,check-packs,2025-09-01,2026-09-01,,\n",
         ":2:5: error: signed_by has 0 bytes, limit 1..200"},
        {"Ife,check-packs,2025-09-01,2026-09-01,Bo,b1 b3\n",
         ":2:6: error: line \"b3\" is none of the competence \"check-packs\""},
    };
    Err err = {0};
    Mill mill;
    Papers *papers = NULL;
    Text path = {0};
    size_t written = 0;
    new_mill(&mill);
    const Site *site = work_site(mill.work);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        write_table(&mill, rows[i].row, &path);
        assert_ok(papers_read(path.bytes, mill.records, site, &papers, &err));
        if (papers_error_count(papers) != 1) fail_msg("row %zu", i);
        assert_string_equal(papers_error(papers, 0) + path.len, rows[i].says);
        papers_free(papers);
    }
    write_table(&mill, "Ife,check-packs,2025-09-01,2026-09-01,Bo,b1 b2\n", &path);
    assert_ok(papers_read(path.bytes, mill.records, site, &papers, &err));
    assert_int_equal(papers_error_count(papers), 0);
    assert_refused(papers_write(papers, mill.records, mill.marit, &written, &err),
                   "the author is no supervisor");
    assert_ok(papers_write(papers, mill.records, mill.renske, &written, &err));
    assert_int_equal(written, 1);
    papers_free(papers);
    assert_int_equal(state_of(&mill), REC_STANDS);
    assert_ok(papers_read(path.bytes, mill.records, site, &papers, &err));
    assert_int_equal(papers_new_count(papers), 0);
    assert_int_equal(papers_same_count(papers), 1);
    papers_free(papers);
    text_clear(&path);
    end_mill(&mill);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_people_story),         cmocka_unit_test(test_people_renew_and_void),
        cmocka_unit_test(test_sign_off_refuses),     cmocka_unit_test(test_sign_observe_refuses),
        cmocka_unit_test(test_people_pin_waits),     cmocka_unit_test(test_people_keys),
        cmocka_unit_test(test_people_start_refuses), cmocka_unit_test(test_people_roles),
        cmocka_unit_test(test_people_erase),         cmocka_unit_test(test_papers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
