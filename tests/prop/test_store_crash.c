/* Power cuts and disks that refuse, at each point of a store's life.
 *
 * A story with every kind of writing is told once, while each change of the files is recorded. From
 * that list the disk is made as a power cut at each point may leave it, in several ways
 * (crash_vfs.h), and opened. Then the story is told again and again, and at one point, each in
 * turn, the disk is full, refuses one call, or refuses all from there on.
 *
 * The tests run a sample; `test_store_crash long` takes every point. */
#define _GNU_SOURCE
#include "crash_vfs.h"

#include <stdlib.h>

#include "records/bundle.h"

enum {
    SHORT_CUTS = 60,   /* at how many points the sample cuts the power */
    COINS = 3,         /* how often a mixed outcome is drawn at a point */
    LOG_BYTES = 30000, /* a run's, over some pages of the database */
};

/* --- The story ------------------------------------------------------------------------------- */

typedef struct {
    Site site;
    Text heads;      /* a folder below the store's */
    Text bundles[2]; /* made once by another station; the second erases a text of the first */
    RecHash run, observation, sign_off, remark;
    bool is_long_log;
    char log[LOG_BYTES];
} Story;

static bool open_store(Story *story, RecMode mode, Err *err)
{
    RecOutside outside = fake_clock(&story->site.fake);
    outside.heads = story->heads.bytes;
    rec_close(story->site.records);
    story->site.records = NULL;
    return rec_open(story->site.folder.bytes, mode, "0.1.0", &outside, &story->site.records, err);
}

static bool step_create(Story *story, Err *err)
{
    return open_store(story, REC_CREATE, err);
}

static bool step_reopen(Story *story, Err *err)
{
    return open_store(story, REC_WRITE, err);
}

static bool add(Story *story, const RecNew *what, RecHash *hash, Err *err)
{
    RecAdded added;
    if (!rec_add(story->site.records, what, &added, err)) return false;
    if (hash != NULL) *hash = added.hash;
    return true;
}

static bool add_person(Story *story, int who, Err *err)
{
    return rec_person_add(story->site.records, people_names[who], story->site.ids[who], err);
}

static bool step_sue(Story *story, Err *err)
{
    return add_person(story, SUE, err);
}

static bool step_ann(Story *story, Err *err)
{
    return add_person(story, ANN, err);
}

static bool step_rosa(Story *story, Err *err)
{
    return add_person(story, ROSA, err);
}

static bool add_role(Story *story, int who, Err *err)
{
    const RecNew role = {.kind = REC_KIND_ROLE,
                         .author = who == SUE ? "station" : story->site.ids[SUE],
                         .person = story->site.ids[who],
                         .word = people_roles[who],
                         .is_yes = true};
    return add(story, &role, NULL, err);
}

static bool step_sue_role(Story *story, Err *err)
{
    return add_role(story, SUE, err);
}

static bool step_ann_role(Story *story, Err *err)
{
    return add_role(story, ANN, err);
}

static bool step_rosa_role(Story *story, Err *err)
{
    return add_role(story, ROSA, err);
}

static bool add_key(Story *story, int who, Err *err)
{
    RecHash public_key = key_of(who);
    const RecNew key = {.kind = REC_KIND_KEY,
                        .author = story->site.ids[who],
                        .person = story->site.ids[who],
                        .word = "first",
                        .public_key = public_key.hex};
    return add(story, &key, NULL, err);
}

static bool step_sue_key(Story *story, Err *err)
{
    return add_key(story, SUE, err);
}

static bool step_ann_key(Story *story, Err *err)
{
    return add_key(story, ANN, err);
}

/* What a PIN's verifier is to the store: some bytes. */
static bool write_pin(Story *story, char byte, Err *err)
{
    char blob[REC_HEX_BYTES];
    Text bytes = {0};
    memset(blob, byte, sizeof blob);
    text_add_bytes(&bytes, blob, sizeof blob);
    bool ok = rec_secret_write(story->site.records, story->site.ids[ROSA], "pin", &bytes, err);
    text_clear(&bytes);
    return ok;
}

static bool step_pin(Story *story, Err *err)
{
    return write_pin(story, '1', err);
}

static bool step_other_pin(Story *story, Err *err)
{
    return write_pin(story, '2', err);
}

static bool play(Story *story, char byte, size_t len, Err *err)
{
    Text log = {0};
    Text result = {0};
    RecNumber number = 0;
    memset(story->log, byte, len);
    text_add_bytes(&log, story->log, len);
    score(&log, 8, &result);
    const RecContent contents[] = {{"scenario", "{\"id\":\"the-beep\"}", 17},
                                   {"log", log.bytes, log.len}};
    const RecRun run = {.person = story->site.ids[ROSA],
                        .is_assessment = true,
                        .seed = 8,
                        .model = "1",
                        .scenario = "the-beep",
                        .supervised_by = story->site.ids[ANN],
                        .language = "en",
                        .contents = contents,
                        .content_count = 2,
                        .result_json = result.bytes};
    bool ok = rec_run_add(story->site.records, &run, &number, err);
    if (ok) story->run = hash_of(story->site.records, number);
    text_clear(&result);
    text_clear(&log);
    return ok;
}

static bool step_run(Story *story, Err *err)
{
    return play(story, 'a', LOG_BYTES, err);
}

static bool step_other_run(Story *story, Err *err)
{
    return play(story, 'b', 100, err);
}

static bool step_observation(Story *story, Err *err)
{
    RecNew what = observation_of(&story->site);
    what.text = "calm and careful";
    what.photo = (RecContent){NULL, "\xff\xd8 no picture", 13};
    return add(story, &what, &story->observation, err);
}

static bool step_sign_off(Story *story, Err *err)
{
    Seed ann = seed_of(ANN);
    const char *const proofs[] = {story->run.hex, story->observation.hex};
    RecNew what = signature_of(&story->site, &(RecList){proofs, 2}, &ann);
    return add(story, &what, &story->sign_off, err);
}

static bool step_acknowledge(Story *story, Err *err)
{
    const RecNew what = {.kind = REC_KIND_ACKNOWLEDGEMENT,
                         .author = story->site.ids[ROSA],
                         .about = story->sign_off.hex};
    return add(story, &what, NULL, err);
}

static bool step_remark(Story *story, Err *err)
{
    const RecNew what = {.kind = REC_KIND_REMARK,
                         .author = story->site.ids[ANN],
                         .about = story->run.hex,
                         .text = "came late"};
    return add(story, &what, &story->remark, err);
}

static bool step_withdraw(Story *story, Err *err)
{
    Seed sue = seed_of(SUE);
    const RecNew what = {.kind = REC_KIND_WITHDRAWAL,
                         .author = story->site.ids[SUE],
                         .about = story->sign_off.hex,
                         .reason = "absent for long",
                         .seed = sue.bytes};
    return add(story, &what, NULL, err);
}

/* For rec_store_entries: the commitment in the remark's own bytes. */
typedef struct {
    const char *of;
    RecHash commitment;
} Commitment;

static bool take_commitment(void *context, const RecEntry *entry, Err *err)
{
    Commitment *search = context;
    (void)err;
    if (strcmp(entry->hash.hex, search->of) == 0) {
        (void)snprintf(search->commitment.hex, REC_HEX_BYTES, "%s",
                       json_string(json_get(entry->body, "text")));
    }
    return true;
}

static bool erase_remark(Records *records, const char *remark, Err *err)
{
    Commitment search = {.of = remark};
    return rec_each(records, NULL, take_commitment, &search, err) &&
           rec_erase(records, "station", search.commitment.hex, "asked for", NULL, err);
}

static bool step_erase(Story *story, Err *err)
{
    return erase_remark(story->site.records, story->remark.hex, err);
}

static bool import(Story *story, int which, bool take_new, Err *err)
{
    RecImported done;
    return rec_bundle_import(story->site.records, story->bundles[which].bytes, take_new, &done,
                             err);
}

static bool step_import(Story *story, Err *err)
{
    return import(story, 0, true, err);
}

static bool step_import_erasure(Story *story, Err *err)
{
    return import(story, 1, false, err);
}

static bool step_station_key(Story *story, Err *err)
{
    return rec_station_key_change(story->site.records, story->site.ids[SUE], seed_of(SUE).bytes,
                                  err);
}

/* With a clock entry in front. */
static bool step_clock_back(Story *story, Err *err)
{
    story->site.fake.wall_us -= 3600LL * SECOND_US;
    return step_remark(story, err);
}

static bool step_rebuild(Story *story, Err *err)
{
    return rec_views_rebuild(story->site.records, err);
}

static const struct {
    const char *name;
    bool (*tell)(Story *story, Err *err);
} steps[] = {
    {"create", step_create},
    {"add Sue", step_sue},
    {"add Ann", step_ann},
    {"add Rosa", step_rosa},
    {"role of Sue", step_sue_role},
    {"role of Ann", step_ann_role},
    {"role of Rosa", step_rosa_role},
    {"key of Sue", step_sue_key},
    {"key of Ann", step_ann_key},
    {"PIN", step_pin},
    {"run", step_run},
    {"observation", step_observation},
    {"sign-off", step_sign_off},
    {"acknowledgement", step_acknowledge},
    {"remark", step_remark},
    {"other PIN", step_other_pin},
    {"withdrawal", step_withdraw},
    {"erasure", step_erase},
    {"import", step_import},
    {"station's key", step_station_key},
    {"reopen", step_reopen},
    {"run after it", step_other_run},
    {"import of an erasure", step_import_erasure},
    {"clock back", step_clock_back},
    {"facts anew", step_rebuild},
    {"reopen again", step_reopen},
    {"last remark", step_remark},
};

#define STEPS (sizeof steps / sizeof steps[0])
/* --- Before and after ------------------------------------------------------------------------ */

/* A story that is not begun, in an empty folder. */
static void new_story(Story *story, const Text bundles[2])
{
    *story = (Story){.site.fake = FAKE_START};
    new_folder(&story->site.folder);
    text_addf(&story->heads, "%s/heads", story->site.folder.bytes);
    for (int i = 0; i < 2; i++) {
        text_add(&story->bundles[i], bundles[i].bytes);
    }
}

/* Remove the files in a folder that may be there. */
static void remove_files(const Text *folder)
{
    Err err = {0};
    char **names = NULL;
    size_t count = 0;
    if (os_is_folder(folder->bytes)) {
        assert_ok(os_folder_list(folder->bytes, "", &names, &count, &err));
    }
    for (size_t i = 0; i < count; i++) {
        remove_file(folder, names[i]);
    }
    os_names_free(names, count);
}

static void remove_all(Text *folder)
{
    Text heads = path_in(folder, "heads");
    remove_files(&heads);
    remove_files(folder); /* the folder of heads too, now that it is empty */
    (void)remove(folder->bytes);
    text_clear(&heads);
    text_clear(folder);
}

static void end_story(Story *story)
{
    rec_close(story->site.records);
    remove_all(&story->site.folder);
    text_clear(&story->heads);
    text_clear(&story->bundles[0]);
    text_clear(&story->bundles[1]);
}

/* Another station's bundles: one with a person, a run and a remark, and one more in which that
 * remark is erased. */
static void make_bundles(const Text *folder, Text bundles[2])
{
    Err err = {0};
    Site other = {.fake = FAKE_START};
    RecExported done;
    RecAdded added;
    new_folder(&other.folder);
    site_open(&other, REC_CREATE, NULL);
    assert_ok(rec_person_add(other.records, "Bo", other.ids[ROSA], &err));
    RecHash run = site_run(&other, ROSA, "0 send\n2000 stop\n3000 hold\n", 4);
    const RecNew remark = {
        .kind = REC_KIND_REMARK, .author = other.ids[ROSA], .about = run.hex, .text = "was tired"};
    assert_ok(rec_add(other.records, &remark, &added, &err));
    for (int i = 0; i < 2; i++) {
        text_addf(&bundles[i], "%s/bundle-%d", folder->bytes, i + 1);
        assert_ok(rec_bundle_export(other.records, NULL, 0, bundles[i].bytes, &done, &err));
        if (i == 0) assert_ok(erase_remark(other.records, added.hash.hex, &err));
    }
    rec_close(other.records);
    remove_folder(&other.folder);
}

/* What is in the store, as text: two stores of the same text hold the same entries and PIN. */
static void describe(Records *records, const char *person, Text *out)
{
    Err err = {0};
    RecHead *heads = NULL;
    size_t count = 0;
    bool found = false;
    Text pin = {0};
    assert_ok(rec_heads(records, &heads, &count, &err));
    for (size_t i = 0; i < count; i++) {
        text_addf(out, "%s %lld %s\n", heads[i].station, (long long)heads[i].number,
                  heads[i].hash.hex);
    }
    free(heads);
    assert_ok(rec_secret_read(records, person, "pin", &pin, &found, &err));
    text_addf(out, "PIN %zu %.1s\n", pin.len, text_string(&pin));
    text_clear(&pin);
}

/* Nothing is wrong, and nothing was put back from an older copy. */
static void check_sound(const Text *folder, const char *heads, const char *what)
{
    Err err = {0};
    RecReport report = {0};
    const RecWitness witness = {.heads = heads};
    if (!rec_verify(folder->bytes, &witness, fake_rejudge, NULL, &report, &err)) {
        fail_msg("%s: %s", what, err.text);
    }
    if (report.finding_count > 0) {
        print_report(&report);
        fail_msg("%s: %zu findings", what, report.finding_count);
    }
    rec_report_clear(&report);
}

static bool count_fact(void *context, const RecFact *fact, Err *err)
{
    int *count = context;
    (void)fact;
    (void)err;
    (*count)++;
    return true;
}

/* Open for writing and add something, as whoever comes next does. */
static void go_on(const Text *folder, const Text *heads, RecMode mode, const char *what)
{
    Err err = {0};
    Records *records = NULL;
    FakeClock fake = FAKE_START;
    int restores = 0;
    fake.wall_us += 86400LL * SECOND_US;
    fake.uptime_us += 86400LL * SECOND_US;
    RecOutside outside = fake_clock(&fake);
    outside.heads = heads->bytes;
    if (!rec_open(folder->bytes, mode, "0.1.0", &outside, &records, &err)) {
        fail_msg("%s: %s", what, err.text);
    }
    assert_ok(rec_facts(records, NULL, "restore", count_fact, &restores, &err));
    if (restores > 0) fail_msg("%s: entries that a head outside states are gone", what);
    if (!add_remark(records, "station", 1, "goes on", NULL, &err)) {
        fail_msg("%s: %s", what, err.text);
    }
    rec_close(records);
    check_sound(folder, heads->bytes, what);
}

/* --- Power cuts ------------------------------------------------------------------------------ */

typedef struct {
    CrashDisk *disk; /* stays where it is: SQLite keeps its address */
    Text bundles[2];
    bool is_long;
} World;

typedef struct {
    Text folder; /* where each disk is laid out */
    Text heads;
    Text own_head;        /* of the head kept outside, below the folder */
    Text left[STEPS + 1]; /* what the store holds after so many steps */
    char person[REC_ID_BYTES];
} Trial;

/* Lay the disk out. What is not written under its own name yet lies about half done. */
static void lay_out(const CrashDisk *disk, const CrashImage *images, const Trial *trial)
{
    Text half = {0};
    text_add(&half, "half");
    remove_files(&trial->heads);
    write_file(&trial->folder, "head.new", &half);
    for (size_t i = 0; i < disk->name_count; i++) {
        if (images[i].exists)
            write_file(&trial->folder, disk->names[i], &images[i].bytes);
        else
            remove_file(&trial->folder, disk->names[i]);
    }
    text_clear(&half);
}

/* After `done` steps were acknowledged: the store is as after them, or with the next one whole. */
static void check_cut(const Trial *trial, size_t done, const char *what)
{
    Err err = {0};
    Records *records = NULL;
    Text holds = {0};
    bool opens = rec_open(trial->folder.bytes, REC_READ, "0.1.0", NULL, &records, &err);
    if (!opens && done > 0) fail_msg("%s: %s", what, err.text);
    if (opens) describe(records, trial->person, &holds);
    rec_close(records);
    if (opens && strcmp(holds.bytes, text_string(&trial->left[done])) != 0 &&
        (done == STEPS || strcmp(holds.bytes, trial->left[done + 1].bytes) != 0)) {
        fail_msg("%s: it holds\n%swant\n%s", what, holds.bytes, text_string(&trial->left[done]));
    }
    if (opens) check_sound(&trial->folder, trial->heads.bytes, what);
    go_on(&trial->folder, &trial->heads, opens ? REC_WRITE : REC_CREATE, what);
    text_clear(&holds);
}

/* Tell the story, recorded, and note what each step leaves. */
static void record(World *world, Story *story, Trial *trial)
{
    CrashDisk *disk = world->disk;
    disk->folder = &story->site.folder;
    disk->names[disk->name_count++] = "store.db";
    disk->names[disk->name_count++] = "store.db-journal";
    disk->names[disk->name_count++] = "head";
    disk->names[disk->name_count++] = "station.key";
    disk->names[disk->name_count++] = "station.key.next";
    for (size_t i = 0; i < STEPS; i++) {
        Err err = {0};
        if (!steps[i].tell(story, &err)) fail_msg("%s: %s", steps[i].name, err.text);
        if (i == 0) {
            text_addf(&trial->own_head, "heads/%s", rec_station(story->site.records));
            disk->names[disk->name_count++] = trial->own_head.bytes;
        }
        crash_look(disk);
        crash_note(disk, CRASH_ACKNOWLEDGE, 0, 0, NULL, 0);
        describe(story->site.records, story->site.ids[ROSA], &trial->left[i + 1]);
    }
    memcpy(trial->person, story->site.ids[ROSA], REC_ID_BYTES);
    disk->folder = NULL;
}

/* One disk after another at this point; how many. */
static int cut_here(const CrashDisk *disk, const CrashModel *model, const Trial *trial, size_t at,
                    size_t done, bool is_long)
{
    int count = 0;
    for (int outcome = 0; outcome < CRASH_OUTCOMES; outcome++) {
        if (!crash_matters(model, (CrashOutcome)outcome)) continue;
        int draws = outcome == CRASH_MIXED && is_long ? COINS : 1;
        for (int draw = 0; draw < draws; draw++) {
            Random coin;
            Text what = {0};
            CrashImage images[CRASH_FILES_MAX] = {0};
            random_init(&coin, at * COINS + (uint64_t)draw);
            text_addf(&what, "power cut at %zu (%s), %s, draw %d", at,
                      done < STEPS ? steps[done].name : "end", crash_outcome_names[outcome], draw);
            crash_cut_power(model, (CrashOutcome)outcome, &coin, images);
            lay_out(disk, images, trial);
            check_cut(trial, done, what.bytes);
            for (size_t i = 0; i < CRASH_FILES_MAX; i++) {
                text_clear(&images[i].bytes);
            }
            text_clear(&what);
            count++;
        }
    }
    return count;
}

static void forget(CrashDisk *disk)
{
    disk->folder = NULL;
    for (size_t i = 0; i < disk->op_count; i++) {
        text_clear(&disk->ops[i].bytes);
    }
    free(disk->ops);
    disk->ops = NULL;
    disk->op_count = 0;
    for (size_t i = 0; i < CRASH_FILES_MAX; i++) {
        text_clear(&disk->seen[i]);
        disk->inodes[i] = 0;
    }
}

static void test_power_cut(void **state)
{
    World *world = *state;
    CrashDisk *disk = world->disk;
    Err err = {0};
    Story *story = check_calloc(1, sizeof *story);
    CrashModel *model = check_calloc(1, sizeof *model);
    Trial trial = {0};
    Random sample;
    int points = 0;
    int disks = 0;
    size_t done = 0;
    new_story(story, world->bundles);
    new_folder(&trial.folder);
    text_addf(&trial.heads, "%s/heads", trial.folder.bytes);
    assert_ok(os_folder_make(trial.heads.bytes, &err));
    record(world, story, &trial);
    random_init(&sample, 1);
    for (size_t at = 0; at <= disk->op_count; at++) {
        bool is_taken = world->is_long || random_below(&sample, disk->op_count) < SHORT_CUTS;
        if (is_taken) {
            disks += cut_here(disk, model, &trial, at, done, world->is_long);
            points++;
        }
        if (at == disk->op_count) break;
        if (disk->ops[at].kind == CRASH_ACKNOWLEDGE) done++;
        crash_step(model, &disk->ops[at]);
    }
    print_message("power cut at %d points of %zu, %d disks\n", points, disk->op_count + 1, disks);
    assert_true(points > SHORT_CUTS / 2 && done == STEPS);
    for (size_t i = 0; i <= STEPS; i++) {
        text_clear(&trial.left[i]);
    }
    for (size_t i = 0; i < CRASH_FILES_MAX; i++) {
        text_clear(&model->durable[i].bytes);
    }
    forget(disk);
    text_clear(&trial.heads);
    text_clear(&trial.own_head);
    remove_all(&trial.folder);
    end_story(story);
    free(model);
    free(story);
}

/* --- A disk that refuses --------------------------------------------------------------------- */

static const char *const fault_names[] = {[CRASH_NEVER] = "sound",
                                          [CRASH_FULL] = "full",
                                          [CRASH_BROKEN] = "refusing one call",
                                          [CRASH_STOPPED] = "refusing all from there on"};

/* A step failed, so the store is as before it; open, so that the step can be told again. */
static void check_unchanged(Story *story, size_t step, const Text *before, const char *what)
{
    Err err = {0};
    Text after = {0};
    if (step == 0) return; /* none, then, and the next will make it */
    bool is_new = story->site.records == NULL;
    if (is_new && !open_store(story, REC_READ, &err)) fail_msg("%s: then %s", what, err.text);
    describe(story->site.records, story->site.ids[ROSA], &after);
    if (strcmp(after.bytes, before->bytes) != 0) {
        fail_msg("%s: it holds\n%swant\n%s", what, after.bytes, before->bytes);
    }
    if (is_new && !open_store(story, REC_WRITE, &err)) fail_msg("%s: then %s", what, err.text);
    text_clear(&after);
}

/* What is tried: in step `step` the point `at`, counted from its beginning, fails. */
typedef struct {
    CrashFault fault;
    size_t step;
    int64_t at;
} Trouble;

/* Tell the story up to two steps beyond the trouble. A step that fails is told once more, when the
 * disk is sound again. */
static void tell_failing(CrashDisk *disk, Story *story, const Trouble *trouble)
{
    Text before = {0};
    Text what = {0};
    bool is_told_again = false;
    for (size_t i = 0; i < STEPS && i <= trouble->step + 2;) {
        Err err = {0};
        if (i == trouble->step && !is_told_again) {
            disk->points = 0;
            disk->fault = trouble->fault;
        }
        text_clear(&what);
        text_addf(&what, "a disk %s at point %lld of %s (%s)", fault_names[trouble->fault],
                  (long long)trouble->at, steps[trouble->step].name, steps[i].name);
        bool ok = steps[i].tell(story, &err);
        if (!ok && trouble->fault == CRASH_STOPPED) {
            rec_close(story->site.records);
            story->site.records = NULL;
        }
        disk->fault = CRASH_NEVER;
        if (ok) {
            text_clear(&before);
            describe(story->site.records, story->site.ids[ROSA], &before);
            i++;
            continue;
        }
        text_addf(&what, ": %s", err.text);
        if (err.code != ERR_IO || !disk->has_failed || is_told_again) fail_msg("%s", what.bytes);
        is_told_again = true;
        check_unchanged(story, i, &before, what.bytes);
    }
    rec_close(story->site.records);
    story->site.records = NULL;
    check_sound(&story->site.folder, story->heads.bytes, what.bytes);
    text_clear(&what);
    text_clear(&before);
}

/* True when the step came as far as the point. */
static bool try_trouble(const World *world, const Trouble *trouble)
{
    CrashDisk *disk = world->disk;
    Story *story = check_calloc(1, sizeof *story);
    new_story(story, world->bundles);
    disk->fault = CRASH_NEVER;
    disk->fault_at = trouble->at;
    disk->has_failed = false;
    tell_failing(disk, story, trouble);
    end_story(story);
    free(story);
    return disk->has_failed;
}

/* How many points each step has, about: ids and salts are by chance, and so how pages fill. */
static void count_points(const World *world, int64_t points[STEPS])
{
    Story *story = check_calloc(1, sizeof *story);
    new_story(story, world->bundles);
    for (size_t i = 0; i < STEPS; i++) {
        Err err = {0};
        world->disk->points = 0;
        assert_ok(steps[i].tell(story, &err));
        points[i] = world->disk->points;
    }
    end_story(story);
    free(story);
}

static void test_disk_refuses(void **state)
{
    const World *world = *state;
    Random sample;
    int64_t points[STEPS];
    int64_t all = 0;
    int failed = 0;
    random_init(&sample, 2);
    count_points(world, points);
    for (size_t step = 0; step < STEPS; step++) {
        all += points[step];
        for (int fault = CRASH_FULL; fault <= CRASH_STOPPED; fault++) {
            /* A change of the station's key ties a file to rows: the sample has all of it. */
            bool is_whole =
                world->is_long || (steps[step].tell == step_station_key && fault == CRASH_BROKEN);
            Trouble trouble = {(CrashFault)fault, step, 0};
            if (!is_whole) trouble.at = (int64_t)random_below(&sample, (uint64_t)points[step]);
            for (; try_trouble(world, &trouble); trouble.at++) {
                failed++;
                if (!is_whole) break;
            }
        }
    }
    print_message("%lld points in %zu steps, %d failed\n", (long long)all, STEPS, failed);
    assert_true(failed > (int)STEPS);
}

int main(int argc, char **argv)
{
    CrashDisk disk;
    World world = {.disk = &disk, .is_long = argc > 1 && strcmp(argv[1], "long") == 0};
    Text folder = {0};
    /* In memory, where a sync costs nothing: what a disk does is ours to say here. */
    if (os_is_folder("/dev/shm")) CHECK(setenv("TMPDIR", "/dev/shm", 0) == 0);
    new_folder(&folder);
    make_bundles(&folder, world.bundles);
    crash_install(&disk);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(test_power_cut, &world),
        cmocka_unit_test_prestate(test_disk_refuses, &world),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    remove_all(&folder);
    text_clear(&world.bundles[0]);
    text_clear(&world.bundles[1]);
    return failed;
}
