/* Short stories of one person, told in lines, for the tests of standings.
 *
 *     DAY[@STATION] WHAT ...       day 0 is 2026-01-01; 10.5 is noon of day 10
 *
 *     assign WHO [BUDDY]           pass|fail|broke FORM WHO      a supervised assessment
 *     practice FORM WHO|-          alone FORM                    competent, nobody beside
 *     scripted FORM WHO            good|bad LINE WHO [seen=DAY]
 *     sign WHO with=N,N [until=DAY] [lines=L,L] [buddy=WHO] [key=KEY]
 *     refuse WHO                   paper WHO [day=DAY] [until=DAY]
 *     withdraw N WHO               void N WHO                    ack N
 *     role WHO ROLE on|off         key WHO KEY WHY
 *
 * N is the line's number in its story, from 1. The person is ife; renske is a supervisor, marit and
 * pilar are assessors, kwame is quality, all from the start and with a key called k-NAME. */
#ifndef TESTS_UNIT_RECORDS_FACTS_H
#define TESTS_UNIT_RECORDS_FACTS_H

#include "records/calendar.h"
#include "records/competence.h"
#include "support.h"

enum { STORY_FACTS_MAX = 80, STORY_DAY_0 = 20454, STORY_LISTS_BYTES = 20000 };

typedef struct {
    RecFact facts[STORY_FACTS_MAX];
    int count;
    int first; /* index of line 1 */
    char lists[STORY_LISTS_BYTES];
    size_t lists_len;
} Story;

static inline int64_t story_us(double day)
{
    return rec_day_begins_us(STORY_DAY_0) + (int64_t)llround(day * 86400e6);
}

static inline RecFact *story_fact(Story *story, RecFactKind kind, const char *author, double day)
{
    assert_true(story->count < STORY_FACTS_MAX);
    RecFact *fact = &story->facts[story->count++];
    *fact = (RecFact){.kind = kind, .number = story->count, .time_us = story_us(day)};
    (void)snprintf(fact->station, sizeof fact->station, "s1");
    (void)snprintf(fact->hash, sizeof fact->hash, "%064x", (unsigned)story->count);
    (void)snprintf(fact->author, sizeof fact->author, "%s", author);
    (void)snprintf(fact->person, sizeof fact->person, "ife");
    (void)snprintf(fact->subject, sizeof fact->subject, "check");
    return fact;
}

/* A list kept as long as the story; commas become blanks. */
static inline const char *story_list(Story *story, const char *list)
{
    char *kept = story->lists + story->lists_len;
    size_t len = strlen(list) + 1;
    assert_true(story->lists_len + len <= sizeof story->lists);
    for (size_t i = 0; i < len; i++) {
        kept[i] = (char)(list[i] == ',' ? ' ' : list[i]);
    }
    story->lists_len += len;
    return kept;
}

static inline void story_role(Story *story, const char *who, const char *role, bool given,
                              double day)
{
    RecFact *fact = story_fact(story, REC_FACT_ROLE, "station", day);
    (void)snprintf(fact->person, sizeof fact->person, "%s", who);
    (void)snprintf(fact->subject, sizeof fact->subject, "%s", role);
    fact->is_good = given;
}

static inline void story_key(Story *story, const char *who, const char *key, const char *why,
                             double day)
{
    RecFact *fact = story_fact(story, REC_FACT_KEY, who, day);
    (void)snprintf(fact->person, sizeof fact->person, "%s", who);
    (void)snprintf(fact->subject, sizeof fact->subject, "%s", why);
    (void)snprintf(fact->key, sizeof fact->key, "%s", key);
}

static inline void story_begin(Story *story)
{
    static const struct {
        const char *who, *role, *key;
    } people[] = {{"renske", "supervisor", "k-renske"},
                  {"marit", "assessor", "k-marit"},
                  {"pilar", "assessor", "k-pilar"},
                  {"kwame", "quality", "k-kwame"}};
    memset(story, 0, sizeof *story);
    for (size_t i = 0; i < sizeof people / sizeof people[0]; i++) {
        story_role(story, people[i].who, people[i].role, true, 0);
        story_key(story, people[i].who, people[i].key, "first", 0);
    }
    story->first = story->count;
}

/* What stands behind "key=" among the words, NULL for nothing. */
static inline const char *story_given(char *words[], int count, const char *key)
{
    size_t len = strlen(key);
    for (int i = 0; i < count; i++) {
        if (strncmp(words[i], key, len) == 0 && words[i][len] == '=') return words[i] + len + 1;
    }
    return NULL;
}

static inline int32_t story_day(char *words[], int count, const char *key, int32_t otherwise)
{
    const char *given = story_given(words, count, key);
    return given == NULL ? otherwise : STORY_DAY_0 + (int32_t)strtol(given, NULL, 10);
}

/* The hashes of lines "N,N". */
static inline const char *story_evidence(Story *story, const char *numbers)
{
    char list[1000] = "";
    size_t len = 0;
    for (const char *at = numbers; at != NULL && *at != '\0';) {
        char *end;
        long number = strtol(at, &end, 10);
        const char *hash = story->facts[story->first + number - 1].hash;
        int more = snprintf(list + len, sizeof list - len, "%s%s", len == 0 ? "" : " ", hash);
        len += (size_t)more;
        at = *end == ',' ? end + 1 : end;
    }
    return story_list(story, list);
}

static inline void story_run(RecFact *fact, const char *what, const char *form, const char *who)
{
    (void)snprintf(fact->subject, sizeof fact->subject, "%s", form);
    (void)snprintf(fact->other, sizeof fact->other, "%s", strcmp(who, "-") == 0 ? "" : who);
    fact->is_assessment = strcmp(what, "practice") != 0;
    fact->is_scripted = strcmp(what, "scripted") == 0;
    fact->verdict = strcmp(what, "fail") == 0    ? REC_RUN_NOT_YET
                    : strcmp(what, "broke") == 0 ? REC_RUN_BROKEN_OFF
                                                 : REC_RUN_COMPETENT;
}

static inline void story_sign(Story *story, RecFact *fact, char *words[], int count)
{
    const char *lines = story_given(words, count, "lines");
    const char *buddy = story_given(words, count, "buddy");
    const char *key = story_given(words, count, "key");
    fact->until_day = story_day(words, count, "until", 0);
    fact->lines = lines == NULL ? NULL : story_list(story, lines);
    fact->evidence = story_evidence(story, story_given(words, count, "with"));
    fact->decision = buddy == NULL ? REC_SIGNED : REC_WITH_BUDDY;
    (void)snprintf(fact->other, sizeof fact->other, "%s", buddy == NULL ? "" : buddy);
    (void)snprintf(fact->key, sizeof fact->key, "%s%s", key == NULL ? "k-" : "",
                   key == NULL ? words[1] : key);
}

static inline void story_about(Story *story, RecFact *fact, const char *number)
{
    const RecFact *about = &story->facts[story->first + strtol(number, NULL, 10) - 1];
    memcpy(fact->about, about->hash, sizeof fact->about);
    fact->person[0] = fact->subject[0] = '\0';
}

/* Tell one line, cut into words. */
static inline void story_tell(Story *story, double day, char *words[], int count)
{
    static const struct {
        const char *word;
        RecFactKind kind;
        int author; /* index of the word that names it; 0: the person */
    } whats[] = {{"assign", REC_FACT_ASSIGNMENT, 1},
                 {"good", REC_FACT_OBSERVATION, 2},
                 {"bad", REC_FACT_OBSERVATION, 2},
                 {"sign", REC_FACT_SIGNATURE, 1},
                 {"refuse", REC_FACT_SIGNATURE, 1},
                 {"paper", REC_FACT_PAPER, 1},
                 {"withdraw", REC_FACT_WITHDRAWAL, 2},
                 {"void", REC_FACT_VOID, 2},
                 {"ack", REC_FACT_ACKNOWLEDGEMENT, 0},
                 {"pass", REC_FACT_RUN, 0},
                 {"fail", REC_FACT_RUN, 0},
                 {"broke", REC_FACT_RUN, 0},
                 {"practice", REC_FACT_RUN, 0},
                 {"alone", REC_FACT_RUN, 0},
                 {"scripted", REC_FACT_RUN, 0}};
    const char *what = words[0];
    if (strcmp(what, "role") == 0) {
        story_role(story, words[1], words[2], strcmp(words[3], "on") == 0, day);
        return;
    }
    if (strcmp(what, "key") == 0) {
        story_key(story, words[1], words[2], words[3], day);
        return;
    }
    size_t w = 0;
    while (w < sizeof whats / sizeof whats[0] && strcmp(whats[w].word, what) != 0) {
        w++;
    }
    if (w == sizeof whats / sizeof whats[0]) fail_msg("a story cannot \"%s\"", what);
    const char *author = whats[w].author == 0 ? "ife" : words[whats[w].author];
    RecFact *fact = story_fact(story, whats[w].kind, author, day);
    if (fact->kind == REC_FACT_RUN) {
        story_run(fact, what, words[1], count > 2 ? words[2] : "-");
    } else if (fact->kind == REC_FACT_OBSERVATION) {
        fact->is_good = strcmp(what, "good") == 0;
        fact->lines = story_list(story, words[1]);
        fact->day = story_day(words, count, "seen", rec_day_of(fact->time_us));
    } else if (strcmp(what, "sign") == 0) {
        story_sign(story, fact, words, count);
    } else if (strcmp(what, "refuse") == 0) {
        fact->decision = REC_REFUSED;
    } else if (fact->kind == REC_FACT_PAPER) {
        fact->day = story_day(words, count, "day", rec_day_of(fact->time_us));
        fact->until_day = story_day(words, count, "until", 0);
    } else if (fact->kind == REC_FACT_ASSIGNMENT) {
        (void)snprintf(fact->other, sizeof fact->other, "%s", count > 2 ? words[2] : "");
    } else {
        story_about(story, fact, words[1]);
    }
}

/* Tell a story of lines that end in ';' or at the end. */
static inline void story_read(Story *story, const char *text)
{
    char copy[2000];
    size_t len = strlen(text);
    assert_true(len < sizeof copy);
    memcpy(copy, text, len + 1);
    story_begin(story);
    for (char *line = copy; line != NULL && *line != '\0';) {
        char *end = strchr(line, ';');
        char *words[12];
        int count = 0;
        if (end != NULL) *end = '\0';
        for (char *at = line; *at != '\0' && count < 12;) {
            at += strspn(at, " ");
            if (*at == '\0') break;
            words[count++] = at;
            at += strcspn(at, " ");
            if (*at != '\0') *at++ = '\0';
        }
        if (count > 1) {
            char *station;
            double day = strtod(words[0], &station);
            story_tell(story, day, words + 1, count - 1);
            RecFact *fact = &story->facts[story->count - 1];
            if (*station == '@')
                (void)snprintf(fact->station, sizeof fact->station, "%s", station + 1);
        }
        line = end == NULL ? NULL : end + 1;
    }
}

/* The competence "check": lines d1 and b1, forms A, B and C. */
static inline Competence story_competence(void)
{
    Competence competence = {.id = "check",
                             .lines = {"d1", "b1"},
                             .line_count = 2,
                             .scenarios = {"A", "B", "C"},
                             .scenario_count = 3};
    competence.rules = competence_rules_default();
    return competence;
}

static inline RecFactSet *story_set(const RecFact facts[], int count)
{
    RecFactSet *set = rec_fact_set_new();
    Err err = {0};
    for (int i = 0; i < count; i++) {
        if (!rec_fact_set_add(set, &facts[i], &err)) fail_msg("%s", err.text);
    }
    rec_fact_set_seal(set);
    return set;
}

#endif
