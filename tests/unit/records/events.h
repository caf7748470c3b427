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
#ifndef TESTS_UNIT_RECORDS_EVENTS_H
#define TESTS_UNIT_RECORDS_EVENTS_H

#include "records/calendar.h"
#include "records/competence.h"
#include "support.h"

enum { STORY_EVENTS_MAX = 80, STORY_DAY_0 = 20454, STORY_LISTS_BYTES = 20000 };

typedef struct {
    RecEvent events[STORY_EVENTS_MAX];
    int count;
    int first; /* index of line 1 */
    char lists[STORY_LISTS_BYTES];
    size_t lists_len;
} Story;

static inline int64_t story_us(double day)
{
    return rec_day_begins_us(STORY_DAY_0) + (int64_t)llround(day * 86400e6);
}

static inline RecEvent *story_event(Story *story, RecEventKind kind, const char *author, double day)
{
    assert_true(story->count < STORY_EVENTS_MAX);
    RecEvent *event = &story->events[story->count++];
    *event = (RecEvent){.kind = kind, .number = story->count, .time_us = story_us(day)};
    (void)snprintf(event->station, sizeof event->station, "s1");
    (void)snprintf(event->hash, sizeof event->hash, "%064x", (unsigned)story->count);
    (void)snprintf(event->author, sizeof event->author, "%s", author);
    (void)snprintf(event->person, sizeof event->person, "ife");
    (void)snprintf(event->subject, sizeof event->subject, "check");
    return event;
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
    RecEvent *event = story_event(story, REC_EVENT_ROLE, "station", day);
    (void)snprintf(event->person, sizeof event->person, "%s", who);
    (void)snprintf(event->subject, sizeof event->subject, "%s", role);
    event->is_good = given;
}

static inline void story_key(Story *story, const char *who, const char *key, const char *why,
                             double day)
{
    RecEvent *event = story_event(story, REC_EVENT_KEY, who, day);
    (void)snprintf(event->person, sizeof event->person, "%s", who);
    (void)snprintf(event->subject, sizeof event->subject, "%s", why);
    (void)snprintf(event->key, sizeof event->key, "%s", key);
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
        const char *hash = story->events[story->first + number - 1].hash;
        int more = snprintf(list + len, sizeof list - len, "%s%s", len == 0 ? "" : " ", hash);
        len += (size_t)more;
        at = *end == ',' ? end + 1 : end;
    }
    return story_list(story, list);
}

static inline void story_run(RecEvent *event, const char *what, const char *form, const char *who)
{
    (void)snprintf(event->subject, sizeof event->subject, "%s", form);
    (void)snprintf(event->other, sizeof event->other, "%s", strcmp(who, "-") == 0 ? "" : who);
    event->is_assessment = strcmp(what, "practice") != 0;
    event->is_scripted = strcmp(what, "scripted") == 0;
    event->verdict = strcmp(what, "fail") == 0    ? REC_RUN_NOT_YET
                     : strcmp(what, "broke") == 0 ? REC_RUN_BROKEN_OFF
                                                  : REC_RUN_COMPETENT;
}

static inline void story_sign(Story *story, RecEvent *event, char *words[], int count)
{
    const char *lines = story_given(words, count, "lines");
    const char *buddy = story_given(words, count, "buddy");
    const char *key = story_given(words, count, "key");
    event->until_day = story_day(words, count, "until", 0);
    event->lines = lines == NULL ? NULL : story_list(story, lines);
    event->evidence = story_evidence(story, story_given(words, count, "with"));
    event->decision = buddy == NULL ? REC_SIGNED : REC_WITH_BUDDY;
    (void)snprintf(event->other, sizeof event->other, "%s", buddy == NULL ? "" : buddy);
    (void)snprintf(event->key, sizeof event->key, "%s%s", key == NULL ? "k-" : "",
                   key == NULL ? words[1] : key);
}

static inline void story_about(Story *story, RecEvent *event, const char *number)
{
    const RecEvent *about = &story->events[story->first + strtol(number, NULL, 10) - 1];
    memcpy(event->about, about->hash, sizeof event->about);
    event->person[0] = event->subject[0] = '\0';
}

/* Tell one line, cut into words. */
static inline void story_tell(Story *story, double day, char *words[], int count)
{
    static const struct {
        const char *word;
        RecEventKind kind;
        int author; /* index of the word that names it; 0: the person */
    } whats[] = {{"assign", REC_EVENT_ASSIGNMENT, 1},
                 {"good", REC_EVENT_OBSERVATION, 2},
                 {"bad", REC_EVENT_OBSERVATION, 2},
                 {"sign", REC_EVENT_SIGNATURE, 1},
                 {"refuse", REC_EVENT_SIGNATURE, 1},
                 {"paper", REC_EVENT_PAPER, 1},
                 {"withdraw", REC_EVENT_WITHDRAWAL, 2},
                 {"void", REC_EVENT_VOID, 2},
                 {"ack", REC_EVENT_ACKNOWLEDGEMENT, 0},
                 {"pass", REC_EVENT_RUN, 0},
                 {"fail", REC_EVENT_RUN, 0},
                 {"broke", REC_EVENT_RUN, 0},
                 {"practice", REC_EVENT_RUN, 0},
                 {"alone", REC_EVENT_RUN, 0},
                 {"scripted", REC_EVENT_RUN, 0}};
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
    RecEvent *event = story_event(story, whats[w].kind, author, day);
    if (event->kind == REC_EVENT_RUN) {
        story_run(event, what, words[1], count > 2 ? words[2] : "-");
    } else if (event->kind == REC_EVENT_OBSERVATION) {
        event->is_good = strcmp(what, "good") == 0;
        event->lines = story_list(story, words[1]);
        event->day = story_day(words, count, "seen", rec_day_of(event->time_us));
    } else if (strcmp(what, "sign") == 0) {
        story_sign(story, event, words, count);
    } else if (strcmp(what, "refuse") == 0) {
        event->decision = REC_REFUSED;
    } else if (event->kind == REC_EVENT_PAPER) {
        event->day = story_day(words, count, "day", rec_day_of(event->time_us));
        event->until_day = story_day(words, count, "until", 0);
    } else if (event->kind == REC_EVENT_ASSIGNMENT) {
        (void)snprintf(event->other, sizeof event->other, "%s", count > 2 ? words[2] : "");
    } else {
        story_about(story, event, words[1]);
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
            RecEvent *event = &story->events[story->count - 1];
            if (*station == '@')
                (void)snprintf(event->station, sizeof event->station, "%s", station + 1);
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

static inline RecEventSet *story_set(const RecEvent events[], int count)
{
    RecEventSet *set = rec_event_set_new();
    Err err = {0};
    for (int i = 0; i < count; i++) {
        if (!rec_event_set_add(set, &events[i], &err)) fail_msg("%s", err.text);
    }
    rec_event_set_seal(set);
    return set;
}

#endif
