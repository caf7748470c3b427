/* A store with an autumn at Ostrel Mill in it: people at every step of the ladder, names in four
 * scripts and one that was erased. All invented. */
#ifndef TESTS_UNIT_REPORTS_STORY_H
#define TESTS_UNIT_REPORTS_STORY_H

#include "unit/records/fixture.h"

#include "records/calendar.h"

enum {
    RENSKE,
    KWAME,
    PILAR,
    JOAO,
    SUNNIVA,
    HALINA,
    IFE,
    MARIT,
    TOMASZ,
    MARYAM,
    SOMCHAI,
    GONE,
    ALL
};

static const char *const story_names[ALL] = {
    [RENSKE] = "Renske", [KWAME] = "Kwame",       [PILAR] = "Pilar",
    [JOAO] = "João",     [SUNNIVA] = "Sunniva",   [HALINA] = "Halina",
    [IFE] = "Ife",       [MARIT] = "=Marit",      [TOMASZ] = "Tomasz Łężyński",
    [MARYAM] = "مريم",   [SOMCHAI] = "สมชาย ใจดี", [GONE] = "Somebody Who Left",
};

typedef struct {
    Text folder;
    FakeClock fake;
    Records *records;
    char ids[ALL][REC_ID_BYTES];
    unsigned char seeds[ALL][REC_SEED_BYTES];
} Story;

/* Noon of a day; both clocks go on to it. */
static inline void story_at(Story *story, const char *date)
{
    int32_t day;
    assert_true(rec_day_read(date, strlen(date), &day));
    int64_t wall_us = rec_day_begins_us(day) + 12 * 3600LL * SECOND_US;
    if (wall_us <= story->fake.wall_us) return;
    story->fake.uptime_us += wall_us - story->fake.wall_us;
    story->fake.wall_us = wall_us;
}

static inline RecHash story_add(Story *story, const RecNew *what)
{
    Err err = {0};
    RecAdded added;
    if (!rec_add(story->records, what, &added, &err)) {
        fail_msg("%s: %s", rec_kind_names[what->kind], err.text);
    }
    return added.hash;
}

static inline RecHash story_run(Story *story, const char *date, int who, const char *scenario,
                                const char *verdict, int beside)
{
    Err err = {0};
    RecNumber number;
    Text result = {0};
    const RecContent contents[] = {{"log", "0 begin\n", 8}};
    text_addf(&result, "{\"verdict\":\"%s\"}", verdict);
    story_at(story, date);
    const RecRun run = {.person = story->ids[who],
                        .is_assessment = beside != ALL,
                        .seed = 7,
                        .model = "1",
                        .scenario = scenario,
                        .supervised_by = beside == ALL ? "" : story->ids[beside],
                        .language = "en",
                        .contents = contents,
                        .content_count = 1,
                        .result_json = result.bytes};
    assert_ok(rec_run_add(story->records, &run, &number, &err));
    text_clear(&result);
    return hash_of(story->records, number);
}

static inline RecHash story_watch(Story *story, const char *date, int who, const char *line,
                                  bool is_good)
{
    static const char *const answers[] = {"yes", "yes", "no", "not-seen"};
    story_at(story, date);
    return story_add(story, &(RecNew){.kind = REC_KIND_OBSERVATION,
                                      .author = story->ids[KWAME],
                                      .person = story->ids[who],
                                      .competence = "check-packs",
                                      .line = line,
                                      .date = date,
                                      .answers = {answers, is_good ? 2 : 4},
                                      .sheet = "C-2026-114",
                                      .text = "Calm; counts \"aloud\", always",
                                      .is_yes = is_good,
                                      .checklist = {NULL, "[\"counts\"]", 10}});
}

/* Run, observation and signature in three days of a month. */
static inline RecHash story_sign(Story *story, const char *month, int who, const char *line,
                                 const char *until, int buddy)
{
    char date[REC_DAY_BYTES];
    (void)snprintf(date, sizeof date, "%s-10", month);
    RecHash run = story_run(story, date, who, "the-beep", "competent", KWAME);
    (void)snprintf(date, sizeof date, "%s-11", month);
    RecHash seen = story_watch(story, date, who, line, true);
    const char *evidence[] = {run.hex, seen.hex};
    const char *checks[] = {"start", "interval"};
    (void)snprintf(date, sizeof date, "%s-12", month);
    story_at(story, date);
    return story_add(story, &(RecNew){.kind = REC_KIND_SIGNATURE,
                                      .author = story->ids[RENSKE],
                                      .person = story->ids[who],
                                      .competence = "check-packs",
                                      .word = buddy == ALL ? "signed" : "with-buddy",
                                      .buddy = buddy == ALL ? NULL : story->ids[buddy],
                                      .lines = {&line, 1},
                                      .checks = {checks, 2},
                                      .good_until = until,
                                      .meaning = "I saw the evidence. This person may make the "
                                                 "check as stated.",
                                      .evidence = {evidence, 2},
                                      .statement = {NULL, "I saw the evidence.", 19},
                                      .seed = story->seeds[RENSKE]});
}

static inline void story_people(Story *story)
{
    static const char *const roles[ALL] = {
        [RENSKE] = "supervisor", [KWAME] = "assessor", [PILAR] = "trainer"};
    Err err = {0};
    for (int i = 0; i < ALL; i++) {
        unsigned char key[REC_KEY_BYTES];
        RecHash hex;
        assert_ok(rec_person_add(story->records, story_names[i], story->ids[i], &err));
        (void)story_add(story, &(RecNew){.kind = REC_KIND_ROLE,
                                         .author = i == RENSKE ? "station" : story->ids[RENSKE],
                                         .person = story->ids[i],
                                         .word = roles[i] == NULL ? "operator" : roles[i],
                                         .is_yes = true});
        memset(story->seeds[i], 0x20 + i, REC_SEED_BYTES);
        if (i != RENSKE) continue;
        rec_key_from_seed(story->seeds[i], key);
        rec_hex_print(key, sizeof key, hex.hex);
        (void)story_add(story, &(RecNew){.kind = REC_KIND_KEY,
                                         .author = story->ids[i],
                                         .person = story->ids[i],
                                         .word = "first",
                                         .public_key = hex.hex});
    }
}

static inline bool take_name(void *context, const RecFact *fact, Err *err)
{
    RecHash *commitment = context;
    const char *at = strstr(fact->value, "\"name\":\"");
    (void)err;
    assert_non_null(at);
    memcpy(commitment->hex, at + strlen("\"name\":\""), REC_HEX_BYTES - 1);
    return true;
}

static inline void story_learners(Story *story)
{
    Err err = {0};
    RecHash name = {""};
    static const char *const paper_lines[] = {"d1", "b1"};
    (void)story_add(story, &(RecNew){.kind = REC_KIND_PAPER,
                                     .author = story->ids[RENSKE],
                                     .person = story->ids[MARIT],
                                     .competence = "check-packs",
                                     .date = "2026-02-08",
                                     .good_until = "2027-02-07",
                                     .text = "an assessor who has left",
                                     .lines = {paper_lines, 2}});
    (void)story_add(story, &(RecNew){.kind = REC_KIND_ASSIGNMENT,
                                     .author = story->ids[PILAR],
                                     .person = story->ids[IFE],
                                     .competence = "check-packs",
                                     .buddy = story->ids[JOAO]});
    (void)story_run(story, "2026-11-02", IFE, "nine-passes", "not yet competent", KWAME);
    RecHash broke = story_run(story, "2026-11-09", IFE, "the-beep", "broken-off", KWAME);
    (void)story_add(story, &(RecNew){.kind = REC_KIND_VOID,
                                     .author = story->ids[KWAME],
                                     .about = broke.hex,
                                     .reason = "fire alarm"});
    (void)story_run(story, "2026-11-10", SOMCHAI, "changeover", "competent", ALL);
    (void)story_run(story, "2026-11-11", GONE, "changeover", "competent", ALL);
    assert_ok(rec_facts(story->records, story->ids[GONE], "person", take_name, &name, &err));
    assert_ok(rec_erase(story->records, story->ids[RENSKE], name.hex, "asked for", NULL, &err));
    (void)story_run(story, "2026-11-20", SUNNIVA, "back-to-back", "competent", KWAME);
    (void)story_watch(story, "2026-11-24", SUNNIVA, "b2", true);
}

/* Make the store; it stays open until story_end. */
static inline void story_make(Story *story)
{
    Err err = {0};
    *story = (Story){.fake = FAKE_START};
    story->fake.step_us = 1000;
    new_folder(&story->folder);
    RecOutside outside = fake_clock(&story->fake);
    story_at(story, "2026-09-01");
    assert_ok(rec_open(story->folder.bytes, REC_CREATE, "0.1.0", &outside, &story->records, &err));
    story_people(story);
    (void)story_sign(story, "2026-09", HALINA, "d2", "2026-11-23", ALL);
    RecHash signature = story_sign(story, "2026-10", JOAO, "d1", "2027-09-30", ALL);
    (void)story_add(story, &(RecNew){.kind = REC_KIND_ACKNOWLEDGEMENT,
                                     .author = story->ids[JOAO],
                                     .about = signature.hex});
    story_at(story, "2026-10-13");
    signature = story_sign(story, "2026-10", MARYAM, "b1", "2027-09-30", ALL);
    story_at(story, "2026-10-20");
    (void)story_add(story, &(RecNew){.kind = REC_KIND_WITHDRAWAL,
                                     .author = story->ids[RENSKE],
                                     .about = signature.hex,
                                     .reason = "a check was missed",
                                     .seed = story->seeds[RENSKE]});
    (void)story_sign(story, "2026-10", TOMASZ, "d1", "2027-03-31", JOAO);
    story_learners(story);
    story_at(story, "2026-11-25");
}

static inline void story_end(Story *story)
{
    rec_close(story->records);
    remove_folder(&story->folder);
}

#endif
