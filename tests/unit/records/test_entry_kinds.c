/* Each kind of entry, who may write it and who may not; heads kept outside; two stations. */
#include "kinds.h"

#include "records/head.h"
#include "records/rules.h"

/* --- Every kind ------------------------------------------------------------------------------ */

static bool count_kind(void *context, const RecFact *fact, Err *err)
{
    int *counts = context;
    RecKind kind;
    (void)err;
    assert_true(rec_kind_find(fact->kind, &kind));
    counts[kind]++;
    return true;
}

static void test_rec_every_kind(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    full_site(&site);
    int counts[REC_KIND_COUNT] = {0};
    assert_ok(rec_facts(site.records, NULL, NULL, count_kind, counts, &err));
    for (int i = 0; i < REC_KIND_COUNT; i++) {
        if (counts[i] == 0) fail_msg("no entry of kind %s", rec_kind_names[i]);
    }
    RecReport report = {0};
    assert_ok(rec_verify(site.folder.bytes, NULL, fake_rejudge, NULL, &report, &err));
    print_report(&report);
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.stations, 2);
    assert_int_equal(report.people, 6);
    assert_int_equal(report.runs, 4);
    assert_int_equal(report.runs_rejudged, 4);
    rec_report_clear(&report);
    end_site(&site);
}

static bool take_value(void *context, const RecFact *fact, Err *err)
{
    (void)err;
    text_addf(context, "%s %s %s\n", fact->kind, fact->subject, fact->value);
    return true;
}

/* Facts are in order of time; a run's says verdict and not all of its result. */
static void test_rec_facts(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    Text got = {0};
    const RecContent log = {"log", "x", 1};
    RecRun run = {.person = site.ids[ROSA],
                  .model = "1",
                  .scenario = "the-beep",
                  .supervised_by = site.ids[ANN],
                  .language = "pl",
                  .contents = &log,
                  .content_count = 1,
                  .seed = 5,
                  .result_json = "{\"verdict\":\"passed\",\"points\":7}"};
    assert_ok(rec_run_add(site.records, &run, NULL, &err));
    run.result_json = "[]";
    site.fake.wall_us -= 3600LL * SECOND_US; /* an hour earlier, so it comes first */
    assert_ok(rec_run_add(site.records, &run, NULL, &err));
    assert_ok(rec_facts(site.records, site.ids[ROSA], "run", take_value, &got, &err));
    Text want = {0};
    text_addf(
        &want,
        "run the-beep {\"language\":\"pl\",\"mode\":\"practice\",\"model\":\"1\","
        "\"scenario\":\"the-beep\",\"scripted\":false,\"seed\":\"5\",\"supervised_by\":\"%s\"}\n"
        "run the-beep {\"language\":\"pl\",\"mode\":\"practice\",\"model\":\"1\","
        "\"scenario\":\"the-beep\",\"scripted\":false,\"seed\":\"5\",\"supervised_by\":\"%s\","
        "\"verdict\":\"passed\"}\n",
        site.ids[ANN], site.ids[ANN]);
    assert_string_equal(got.bytes, want.bytes);
    assert_ok(rec_views_rebuild(site.records, &err));
    text_clear(&got);
    assert_ok(rec_facts(site.records, site.ids[ROSA], "run", take_value, &got, &err));
    assert_string_equal(got.bytes, want.bytes);
    text_clear(&want);
    text_clear(&got);
    rec_close(site.records);
    remove_folder(&site.folder); /* these runs have no honest score */
}

/* --- Refusals -------------------------------------------------------------------------------- */

/* Nothing is stored, and the message says why. */
static void assert_refused(Site *site, const RecNew *what, const char *says)
{
    Err err = {0};
    RecHead *before = NULL;
    RecHead *after = NULL;
    size_t count = 0;
    assert_ok(rec_heads(site->records, &before, &count, &err));
    if (rec_add(site->records, what, NULL, &err)) fail_msg("taken, not: %s", says);
    if (strcmp(err.text, says) != 0) fail_msg("%s, not: %s", err.text, says);
    assert_int_equal(err.code, ERR_INPUT);
    assert_ok(rec_heads(site->records, &after, &count, &err));
    assert_string_equal(before[0].hash.hex, after[0].hash.hex);
    free(before);
    free(after);
}

static void test_rec_role_refused(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    RecNew role = {.kind = REC_KIND_ROLE,
                   .author = "station",
                   .person = ids[ROSA],
                   .word = "supervisor",
                   .is_yes = true};
    assert_refused(&site, &role, "the station gives a role to nobody but the first supervisor");
    role.author = ids[ANN];
    assert_refused(&site, &role, "the author is no supervisor");
    role.author = ids[SUE];
    role.word = "boss";
    assert_refused(&site, &role, "role is not well-formed");
    role.word = "supervisor";
    role.person = ids[SUE];
    role.is_yes = false;
    assert_refused(&site, &role, "no supervisor takes that role from themselves");
    role.person = "00000000-0000-4000-8000-000000000000";
    assert_refused(&site, &role,
                   "person is 00000000-0000-4000-8000-000000000000, who is not in the entries "
                   "before");
    role.person = ids[ANN];
    role.word = "assessor";
    (void)put(&site, &role); /* taken from Ann, who may judge no more */
    RecNew observation = observation_of(&site);
    assert_refused(&site, &observation, "the author is no assessor or supervisor");
    role.is_yes = true;
    (void)put(&site, &role);
    (void)put(&site, &observation);
    end_site(&site);
}

static void test_rec_key_refused(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    RecHash key = key_of(ROSA);
    RecHash other = key_of(TOM);
    RecNew what = {.kind = REC_KIND_KEY,
                   .author = ids[SUE],
                   .person = ids[ROSA],
                   .word = "first",
                   .public_key = key.hex};
    assert_refused(&site, &what, "the key is set by another person");
    what.author = ids[ROSA];
    what.word = "changed";
    assert_refused(&site, &what, "the person has had no key yet");
    what.word = "lost";
    assert_refused(&site, &what, "a lost key, and only that, is written as zeros");
    what.word = "first";
    (void)put(&site, &what);
    assert_refused(&site, &what, "the person has had a key already");
    what.public_key = other.hex;
    what.word = "changed";
    (void)put(&site, &what);
    what.word = "reissued";
    assert_refused(&site, &what, "nobody reissues a key to themselves");
    what.author = ids[ANN];
    assert_refused(&site, &what, "the author is no supervisor");
    what.author = ids[SUE];
    (void)put(&site, &what);
    end_site(&site);
}

static void test_rec_run_refused(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    const RecContent log = {"log", "x", 1};
    RecRun run = {.person = site.ids[ANN],
                  .model = "1",
                  .scenario = "the-beep",
                  .supervised_by = site.ids[ANN],
                  .language = "en",
                  .contents = &log,
                  .content_count = 1,
                  .result_json = "{}"};
    static const struct {
        int by;
        const char *says;
    } rows[] = {{ANN, "supervised_by is the person"},
                {TOM, "supervised_by is no assessor or supervisor"}};
    for (size_t i = 0; i < 2; i++) {
        run.supervised_by = site.ids[rows[i].by];
        assert_false(rec_run_add(site.records, &run, NULL, &err));
        assert_string_equal(err.text, rows[i].says);
    }
    run.person = "station";
    assert_false(rec_run_add(site.records, &run, NULL, &err));
    assert_string_equal(err.text, "a run names no person");
    end_site(&site);
}

static void test_rec_void_and_observation_refused(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    RecHash run = site_run(&site, ANN, "a log", 2);
    RecNew what = {.kind = REC_KIND_VOID, .author = ids[ANN], .about = run.hex, .reason = "why"};
    assert_refused(&site, &what, "nobody judges or signs for themselves");
    what.author = ids[ROSA];
    assert_refused(&site, &what, "the author is no assessor or supervisor");
    what.author = "station";
    assert_refused(&site, &what, "the author is no assessor or supervisor");
    what.author = ids[SUE];
    RecAdded added = put(&site, &what);
    assert_refused(&site, &what, "the run is void already");
    what.about = added.hash.hex;
    assert_refused(&site, &what, "only a run can be void, not a void");

    RecNew observation = observation_of(&site);
    observation.person = ids[ANN];
    assert_refused(&site, &observation, "nobody judges or signs for themselves");
    observation = observation_of(&site);
    observation.author = ids[TOM];
    assert_refused(&site, &observation, "the author is no assessor or supervisor");
    observation = observation_of(&site);
    observation.answers.count = 0;
    assert_refused(&site, &observation, "an observation without answers");
    static const char *const answers[] = {"perhaps"};
    observation.answers = (RecList){answers, 1};
    assert_refused(&site, &observation, "answers is not well-formed");
    observation = observation_of(&site);
    observation.date = "2026-02-30";
    assert_refused(&site, &observation, "seen_on is not well-formed");
    observation.date = NULL;
    assert_refused(&site, &observation, "seen_on is not well-formed");
    observation = observation_of(&site);
    observation.line = "line 3";
    assert_refused(&site, &observation, "line is not well-formed");
    end_site(&site);
}

/* A signature that is right but for one thing, row by row. */
static void test_rec_signature_refused(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    Seed ann = seed_of(ANN);
    RecHash run = site_run(&site, ROSA, "a log", 2);
    RecHash of_tom = site_run(&site, TOM, "a log", 4);
    RecHash spoilt = site_run(&site, ROSA, "another", 6);
    RecAdded a_void = put(
        &site,
        &(RecNew){.kind = REC_KIND_VOID, .author = ids[SUE], .about = spoilt.hex, .reason = "why"});
    RecNew observation = observation_of(&site);
    observation.competence = "cleaning";
    RecAdded cleaning = put(&site, &observation);
    const char *const bad[][2] = {
        {of_tom.hex, "is about another person"},
        {spoilt.hex, "is void"},
        {cleaning.hash.hex, "is about another competence"},
        {a_void.hash.hex, "is a void"},
        {"ababababababababababababababababababababababababababababababababab",
         "evidence is not well-formed"},
        {"abababababababababababababababababababababababababababababababab",
         "is no entry before it"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const char *const proofs[] = {run.hex, bad[i][0]};
        RecNew signature = signature_of(&site, &(RecList){proofs, 2}, &ann);
        Text says = {0};
        if (i != 4) text_addf(&says, "evidence %.12s... ", bad[i][0]);
        text_add(&says, bad[i][1]);
        assert_refused(&site, &signature, says.bytes);
        text_clear(&says);
    }
    end_site(&site);
}

/* And with right evidence: whose, by whom, with which key, with whom. */
static void test_rec_signature_people_refused(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    Seed ann = seed_of(ANN);
    Seed tom = seed_of(TOM);
    RecHash run = site_run(&site, ROSA, "a log", 2);
    const char *const proofs[] = {run.hex};
    const RecList evidence = {proofs, 1};
    RecNew signature = signature_of(&site, &(RecList){proofs, 0}, &ann);
    assert_refused(&site, &signature, "signed without evidence");
    signature.word = "refused"; /* that needs none */
    (void)put(&site, &signature);
    signature = signature_of(&site, &evidence, &ann);
    signature.person = ids[ANN];
    assert_refused(&site, &signature, "nobody judges or signs for themselves");
    signature = signature_of(&site, &evidence, &ann);
    signature.author = ids[TOM];
    assert_refused(&site, &signature, "the author is no assessor or supervisor");
    signature.author = ids[SUE]; /* with Ann's key */
    RecHash ann_key = key_of(ANN);
    RecHash tom_key = key_of(TOM);
    Text says = {0};
    text_addf(&says, "the key %.12s... is not the author's at this place", ann_key.hex);
    assert_refused(&site, &signature, says.bytes);
    text_clear(&says);
    text_addf(&says, "the key %.12s... is not the author's at this place", tom_key.hex);
    signature = signature_of(&site, &evidence, &tom); /* with nobody's key */
    assert_refused(&site, &signature, says.bytes);
    text_clear(&says);
    signature = signature_of(&site, &evidence, &ann);
    signature.word = "with-buddy";
    assert_refused(&site, &signature,
                   "a buddy is named with the decision with-buddy, and only then");
    signature.buddy = ids[ROSA];
    assert_refused(&site, &signature, "buddy is the person");
    signature.buddy = ids[TOM];
    RecAdded signed_off = put(&site, &signature);
    signature.word = "signed";
    assert_refused(&site, &signature,
                   "a buddy is named with the decision with-buddy, and only then");

    RecNew what = {
        .kind = REC_KIND_ACKNOWLEDGEMENT, .author = ids[SUE], .about = signed_off.hash.hex};
    assert_refused(&site, &what, "only the person acknowledges what is about them");
    what.author = ids[ROSA];
    what.about = run.hex;
    assert_refused(&site, &what, "a run is not acknowledged");
    end_site(&site);
}

/* A key counts from its entry until another takes its place. */
static void test_rec_signature_key_in_time(void **state)
{
    (void)state;
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    Seed ann = seed_of(ANN);
    Seed next = seed_of(9);
    RecHash next_key = key_of(9);
    RecHash run = site_run(&site, ROSA, "a log", 2);
    const char *const proofs[] = {run.hex};
    RecNew old = signature_of(&site, &(RecList){proofs, 1}, &ann);
    RecNew fresh = signature_of(&site, &(RecList){proofs, 1}, &next);
    (void)put(&site, &old);
    site.fake.wall_us -= 365 * 86400LL * SECOND_US; /* order is of number, not of the clock */
    (void)put(&site, &(RecNew){.kind = REC_KIND_KEY,
                               .author = ids[ANN],
                               .person = ids[ANN],
                               .word = "changed",
                               .public_key = next_key.hex});
    Text says = {0};
    RecHash ann_key = key_of(ANN);
    text_addf(&says, "the key %.12s... is not the author's at this place", ann_key.hex);
    assert_refused(&site, &old, says.bytes);
    RecAdded signed_off = put(&site, &fresh);
    RecHash zeros;
    memset(zeros.hex, '0', sizeof zeros.hex - 1);
    zeros.hex[sizeof zeros.hex - 1] = '\0';
    (void)put(&site, &(RecNew){.kind = REC_KIND_KEY,
                               .author = ids[SUE],
                               .person = ids[ANN],
                               .word = "lost",
                               .public_key = zeros.hex});
    text_clear(&says);
    text_addf(&says, "the key %.12s... is not the author's at this place", next_key.hex);
    assert_refused(&site, &fresh, says.bytes);

    Seed sue = seed_of(SUE);
    RecNew what = {.kind = REC_KIND_WITHDRAWAL,
                   .author = ids[SUE],
                   .about = run.hex,
                   .reason = "why",
                   .seed = sue.bytes};
    assert_refused(&site, &what, "only a signature or paper is withdrawn, not a run");
    what.about = signed_off.hash.hex;
    what.seed = next.bytes;
    assert_refused(&site, &what, says.bytes);
    what.seed = sue.bytes;
    (void)put(&site, &what);
    assert_refused(&site, &what, "it is withdrawn already");
    text_clear(&says);
    end_site(&site);
}

static void test_rec_others_refused(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    char(*ids)[REC_ID_BYTES] = site.ids;
    RecHash run = site_run(&site, ROSA, "a log", 2);
    RecNew what = {.kind = REC_KIND_ATTEMPT,
                   .author = ids[ROSA],
                   .person = ids[ROSA],
                   .word = "pin",
                   .failed = 1};
    assert_refused(&site, &what, "a attempt is written by the station alone");
    what.author = "station";
    what.word = "guess";
    assert_refused(&site, &what, "what is not well-formed");
    what.word = "pin";
    what.failed = -1;
    assert_refused(&site, &what, "failed is not well-formed");
    what = (RecNew){.kind = REC_KIND_ASSIGNMENT,
                    .author = ids[ANN],
                    .person = ids[ROSA],
                    .competence = "routine-check"};
    assert_refused(&site, &what, "the author is no supervisor or trainer");
    what.author = ids[TOM];
    what.buddy = ids[ROSA];
    assert_refused(&site, &what, "buddy is the person");
    what = (RecNew){.kind = REC_KIND_PAPER,
                    .author = ids[SUE],
                    .person = ids[SUE],
                    .competence = "routine-check",
                    .date = "2025-01-15",
                    .good_until = "2026-01-15",
                    .text = "Bo"};
    assert_refused(&site, &what, "nobody judges or signs for themselves");
    what.person = ids[ROSA];
    what.author = ids[ANN];
    assert_refused(&site, &what, "the author is no supervisor");
    what = (RecNew){.kind = REC_KIND_CORRECTION,
                    .author = "station",
                    .about = run.hex,
                    .text = "text",
                    .reason = "why"};
    assert_refused(&site, &what, "a correction is written by a person");
    what.author = ids[ROSA];
    what.reason = NULL;
    assert_false(rec_add(site.records, &what, NULL, &err));
    assert_string_equal(err.text, "reason has 0 bytes, limit 1..500");
    assert_int_equal(err.code, ERR_RANGE);
    what.reason = "why";
    what.text = NULL;
    assert_false(rec_add(site.records, &what, NULL, &err));
    assert_string_equal(err.text, "text has 0 bytes, limit 1..4000");
    assert_false(rec_station_key_change(site.records, ids[ANN], seed_of(ANN).bytes, &err));
    assert_string_equal(err.text, "the author is no supervisor");
    end_site(&site);
}

/* --- Heads outside --------------------------------------------------------------------------- */

static void copy_files(const Text *from, const Text *to)
{
    static const char *const names[] = {"store.db", "head", "station.key"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        Text bytes = read_file(from, names[i]);
        write_file(to, names[i], &bytes);
        text_clear(&bytes);
    }
}

static bool report_says(const RecFinding *lines, size_t count, const char *words)
{
    for (size_t i = 0; i < count; i++) {
        if (strstr(lines[i].text.bytes, words) != NULL) return true;
    }
    return false;
}

/* The folder is put back from a copy: verify says so before, and after opening the entry does. */
static void test_rec_restored(void **state)
{
    (void)state;
    Err err = {0};
    Site site = {.fake = FAKE_START};
    Text heads = {0};
    Text copy = {0};
    char station[REC_ID_BYTES];
    RecReport report = {0};
    new_folder(&site.folder);
    new_folder(&heads);
    new_folder(&copy);
    const RecWitness witness = {.heads = heads.bytes};
    site_open(&site, REC_CREATE, heads.bytes);
    assert_ok(rec_person_add(site.records, "Rosa", site.ids[ROSA], &err));
    memcpy(station, rec_station(site.records), sizeof station);
    rec_close(site.records);
    site.records = NULL;
    copy_files(&site.folder, &copy);
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.entries_since_outside, 0);
    rec_report_clear(&report);

    site_open(&site, REC_WRITE, heads.bytes); /* 4 */
    (void)site_run(&site, ROSA, "a log", 2);  /* 5 */
    (void)site_run(&site, ROSA, "a log", 4);  /* 6 */
    /* As after a sudden end: the head outside is of the opening. */
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.entries_since_outside, 2);
    assert_true(
        report_says(report.notes, report.note_count, "2 entries since the last outside head"));
    rec_report_clear(&report);
    rec_close(site.records);
    site.records = NULL;

    copy_files(&copy, &site.folder);
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.finding_count, 1);
    assert_string_equal(
        report.findings[0].text.bytes,
        "store: entries 4 to 6 are missing: the head kept outside the folder states "
        "them");
    rec_report_clear(&report);
    site_open(&site, REC_READ, heads.bytes);
    site_open(&site, REC_WRITE, heads.bytes);
    (void)site_run(&site, ROSA, "a log", 6);
    rec_close(site.records);
    site.records = NULL;
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_int_equal(report.entries, 6); /* restore, start, run */
    assert_true(report_says(report.notes, report.note_count,
                            "the folder was put back from an older copy: a head kept outside it "
                            "had stated 6 entries, and "
                            "what came after entry 3 then is not here"));
    rec_report_clear(&report);
    site_open(&site, REC_WRITE, heads.bytes); /* said once */
    rec_close(site.records);
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.entries, 7);
    rec_report_clear(&report);
    remove_file(&heads, station);
    remove_folder(&heads);
    remove_folder(&copy);
    remove_folder(&site.folder);
}

static void test_rec_verify_paper_head(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    RecHead *heads = NULL;
    size_t count = 0;
    RecReport report = {0};
    assert_ok(rec_heads(site.records, &heads, &count, &err));
    RecHead paper = heads[0];
    free(heads);
    const RecWitness witness = {.paper = &paper};
    (void)site_run(&site, ROSA, "a log", 2);
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_int_equal(report.finding_count, 0);
    assert_true(report_says(report.notes, report.note_count, "1 entries since the head on paper"));
    rec_report_clear(&report);
    paper.hash.hex[0] = paper.hash.hex[0] == '0' ? '1' : '0';
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_true(report_says(report.findings, report.finding_count,
                            "the head on paper states another entry"));
    rec_report_clear(&report);
    paper.number = 1000;
    assert_ok(rec_verify(site.folder.bytes, &witness, fake_rejudge, NULL, &report, &err));
    assert_true(report_says(report.findings, report.finding_count,
                            "entries 16 to 1000 are missing: the head on paper states them"));
    rec_report_clear(&report);
    end_site(&site);
}

/* --- The station's key ----------------------------------------------------------------------- */

static void test_rec_station_key(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    Text old = read_file(&site.folder, "station.key");
    Records *records = NULL;
    assert_ok(rec_station_key_change(site.records, site.ids[SUE], seed_of(SUE).bytes, &err));
    (void)site_run(&site, ROSA, "a log", 2);
    Text fresh = read_file(&site.folder, "station.key");
    assert_int_equal(old.len, fresh.len);
    assert_memory_not_equal(old.bytes, fresh.bytes, old.len);
    site_open(&site, REC_WRITE, NULL);
    rec_close(site.records);
    site.records = NULL;

    /* The old key, none, or no key at all: nothing is added. Reading needs none. */
    write_file(&site.folder, "station.key", &old);
    assert_false(rec_open(site.folder.bytes, REC_WRITE, "0.1.0", NULL, &records, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_non_null(strstr(err.text, "station.key is missing or is not this station's"));
    remove_file(&site.folder, "station.key");
    assert_false(rec_open(site.folder.bytes, REC_WRITE, "0.1.0", NULL, &records, &err));
    assert_int_equal(err.code, ERR_DAMAGE);
    site_open(&site, REC_READ, NULL);
    rec_close(site.records);
    site.records = NULL;
    /* A change that was cut short after the entry was stored. */
    write_file(&site.folder, "station.key", &old);
    write_file(&site.folder, "station.key.next", &fresh);
    site_open(&site, REC_WRITE, NULL);
    Text moved = read_file(&site.folder, "station.key");
    assert_memory_equal(moved.bytes, fresh.bytes, fresh.len);
    text_clear(&moved);
    text_clear(&old);
    text_clear(&fresh);
    end_site(&site);
}

/* --- Two stations ---------------------------------------------------------------------------- */

/* What another station wrote counts from its import on, and not before. */
static void test_rec_two_stations(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    new_site(&home);
    Site away = {.fake = FAKE_START};
    RecReport report = {0};
    new_folder(&away.folder);
    site_open(&away, REC_CREATE, NULL);
    import_store(&away, home.records);
    memcpy(away.ids, home.ids, sizeof away.ids);
    RecHash run = site_run(&away, ROSA, "a log from away", 2);
    Seed ann = seed_of(ANN);
    const char *const proofs[] = {run.hex};
    RecNew signature = signature_of(&home, &(RecList){proofs, 1}, &ann);
    assert_false(rec_add(home.records, &signature, NULL, &err)); /* not known here yet */
    RecAdded there = put(&away, &signature);                     /* with keys and roles from home */
    import_store(&home, away.records);
    RecAdded here = put(&home, &signature);
    assert_string_not_equal(there.hash.hex, here.hash.hex);
    import_store(&away, home.records);
    char station[REC_ID_BYTES];
    RecNumber number = 0;
    bool found = false;
    assert_ok(rec_find(away.records, here.hash.hex, station, &number, &found, &err));
    assert_true(found);
    assert_string_equal(station, rec_station(home.records));
    assert_int_equal(number, here.number);
    RecRunView view = {0};
    assert_ok(rec_run_load_hash(home.records, run.hex, &view, &err));
    assert_string_equal(view.station, rec_station(away.records));
    rec_run_view_clear(&view);

    /* A key that is lost at home is still good away until that is imported there. */
    RecHash zeros;
    memset(zeros.hex, '0', sizeof zeros.hex - 1);
    zeros.hex[sizeof zeros.hex - 1] = '\0';
    (void)put(&home, &(RecNew){.kind = REC_KIND_KEY,
                               .author = home.ids[SUE],
                               .person = home.ids[ANN],
                               .word = "lost",
                               .public_key = zeros.hex});
    assert_false(rec_add(home.records, &signature, NULL, &err));
    (void)put(&away, &signature);
    import_store(&away, home.records);
    assert_false(rec_add(away.records, &signature, NULL, &err));
    import_store(&home, away.records);
    for (int i = 0; i < 2; i++) {
        const Text *folder = i == 0 ? &home.folder : &away.folder;
        assert_ok(rec_verify(folder->bytes, NULL, fake_rejudge, NULL, &report, &err));
        if (report.finding_count > 0) print_report(&report);
        assert_int_equal(report.finding_count, 0);
        assert_int_equal(report.stations, 2);
        rec_report_clear(&report);
    }
    end_site(&away);
    end_site(&home);
}

/* --- Secrets --------------------------------------------------------------------------------- */

static void test_rec_secret(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    new_site(&site);
    Text bytes = {0};
    Text got = {0};
    bool found = true;
    const char *person = site.ids[ROSA];
    assert_ok(rec_secret_read(site.records, person, "pin", &got, &found, &err));
    assert_false(found);
    for (int i = 0; i < 2; i++) {
        text_clear(&bytes);
        text_addf(&bytes, "%d secret", i);
        text_add_bytes(&bytes, "\0x", 2);
        assert_ok(rec_secret_write(site.records, person, "pin", &bytes, &err));
        assert_ok(rec_secret_read(site.records, person, "pin", &got, &found, &err));
        assert_true(found && got.len == bytes.len);
        assert_memory_equal(got.bytes, bytes.bytes, bytes.len);
    }
    assert_ok(rec_secret_read(site.records, site.ids[ANN], "pin", &got, &found, &err));
    assert_false(found);
    assert_ok(rec_secret_write(site.records, person, "pin", NULL, &err));
    assert_ok(rec_secret_read(site.records, person, "pin", &got, &found, &err));
    assert_false(found);
    text_clear(&got);
    text_clear(&bytes);
    end_site(&site);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_every_kind),
        cmocka_unit_test(test_rec_facts),
        cmocka_unit_test(test_rec_role_refused),
        cmocka_unit_test(test_rec_key_refused),
        cmocka_unit_test(test_rec_run_refused),
        cmocka_unit_test(test_rec_void_and_observation_refused),
        cmocka_unit_test(test_rec_signature_refused),
        cmocka_unit_test(test_rec_signature_people_refused),
        cmocka_unit_test(test_rec_signature_key_in_time),
        cmocka_unit_test(test_rec_others_refused),
        cmocka_unit_test(test_rec_restored),
        cmocka_unit_test(test_rec_verify_paper_head),
        cmocka_unit_test(test_rec_station_key),
        cmocka_unit_test(test_rec_two_stations),
        cmocka_unit_test(test_rec_secret),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
