/* Judging one person and one competence: first each run and observation in order, then each
 * signature by these, then the state. */
#include "records/competence.h"

#include <stdlib.h>
#include <string.h>

#include "records/calendar.h"

const char *const rec_state_words[] = {"in-training", "assessed", "observed",  "signed",
                                       "due",         "lapsed",   "withdrawn", NULL};
const char *const rec_why_words[] = {"in-training",
                                     "assessed",
                                     "observed",
                                     "signed",
                                     "due",
                                     "lapsed",
                                     "withdrawn",
                                     "from-paper",
                                     "with-buddy",
                                     "provisional",
                                     "scripted",
                                     "not-supervised",
                                     "supervised-self",
                                     "supervisor-no-assessor",
                                     "voided",
                                     "failed",
                                     "retrain",
                                     "too-soon",
                                     "same-form",
                                     "run-old",
                                     "seen-bad",
                                     "seen-self",
                                     "seen-no-assessor",
                                     "seen-elsewhere",
                                     "seen-old",
                                     "seen-alone",
                                     "sole-trainer",
                                     "refused",
                                     "signed-self",
                                     "signer-no-supervisor",
                                     "key-unknown",
                                     "key-lost",
                                     "no-run",
                                     "no-observation",
                                     "failed-before",
                                     "no-buddy",
                                     "no-line",
                                     "until",
                                     "review",
                                     "absence",
                                     "failed-since",
                                     "seen-bad-since",
                                     "key-lost-since",
                                     "not-acknowledged",
                                     NULL};

#define US_PER_HOUR INT64_C(3600000000)

enum { NONE = -1, NEVER = INT32_MAX };

/* One event that bears on the competence, and what was found of it. */
typedef struct {
    const RecPacked *event;
    bool is_void;
    bool counts;
    bool is_doing;   /* shows that the task was done */
    bool by_trainer; /* supervised or observed by who alone taught the person until then */
    int withdrawn;   /* of a signature: index from which it is withdrawn, NONE */
    int run, seen;   /* of a signature that counts: its evidence, NONE for none */
    int after_run, after_seen; /* of a signature: the first index that its evidence may have */
    int32_t valid_day; /* of a signature that counts: last day as signed and by its evidence */
    int32_t end_day;   /* the last day of it; `end_why` says by what */
    RecWhy end_why;
    uint64_t lines;
} Item;

/* What is known, at one point of the walk, of attempts and teachers. */
typedef struct {
    int64_t fails_in_row;
    bool needs_training;
    RecWord failed[COMPETENCE_SCENARIOS_MAX]; /* the forms, the last at the end */
    int failed_count;
    int64_t last_fail_us;
    RecWord trainer;
    bool has_trainers; /* more than one */
} Walk;

typedef struct {
    const RecEventSet *set;
    const Competence *competence;
    const CompetenceRules *rules;
    const RecMoment *moment;
    RecWord id, person;
    RecWord scenarios[COMPETENCE_SCENARIOS_MAX];
    int32_t today;
    Item *items;
    int count;
    int last_fail, last_bad, last_run, last_good; /* indexes, NONE */
    RecReason reasons[REC_WHY_COUNT];             /* by RecWhy; number 0: not said */
    int64_t said_us[REC_WHY_COUNT];               /* time of the last event it was said of */
    RecStanding *out;
} Judge;

int64_t rec_moment_us(int64_t clock_us, int64_t last_entry_us)
{
    return clock_us > last_entry_us ? clock_us : last_entry_us;
}

/* --- Events and reasons ----------------------------------------------------------------------- */

static const char *text_of(const Judge *judge, RecWord word)
{
    return rec_event_set_text(judge->set, word);
}

static int32_t entry_day(const RecPacked *event)
{
    return rec_day_of(event->time_us);
}

/* The day from which a run or an observation speaks: who enters it late, or names a day to come,
 * gains nothing. */
static int32_t speaks_from(const RecPacked *event)
{
    int32_t day = entry_day(event);
    return event->kind == REC_EVENT_OBSERVATION && event->day < day ? event->day : day;
}

static void say_day(Judge *judge, RecWhy why, const RecPacked *event, int32_t day)
{
    RecReason *reason = &judge->reasons[why];
    reason->why = why;
    reason->number++;
    reason->day = day;
    reason->hash = event == NULL ? "" : text_of(judge, event->hash);
    judge->said_us[why] = event == NULL ? INT64_MAX : event->time_us;
}

static void say(Judge *judge, RecWhy why, const RecPacked *event)
{
    say_day(judge, why, event, entry_day(event));
}

/* Say it with a number of the rules in place of how many. */
static void say_rule(Judge *judge, RecWhy why, const RecPacked *event, int64_t number)
{
    say(judge, why, event);
    judge->reasons[why].number = number;
}

/* Whether `who` had the role at the time. */
static bool has_role(const Judge *judge, RecWord who, const char *role, int64_t time_us)
{
    RecEventRange grants = rec_event_set_grants(judge->set, who);
    RecWord word = rec_event_set_word(judge->set, role);
    bool has = false;
    for (size_t i = 0; i < grants.count && grants.events[i].time_us <= time_us; i++) {
        const RecPacked *event = &grants.events[i];
        if (event->kind == REC_EVENT_ROLE && event->subject == word) has = event->is_good;
    }
    return has && word != 0;
}

static bool may_assess(const Judge *judge, RecWord who, int64_t time_us)
{
    return has_role(judge, who, "assessor", time_us) || has_role(judge, who, "supervisor", time_us);
}

static bool is_scenario(const Judge *judge, RecWord subject)
{
    for (int i = 0; i < judge->competence->scenario_count; i++) {
        if (judge->scenarios[i] == subject && subject != 0) return true;
    }
    return false;
}

/* Whether the event, or the one that it is about, bears on the competence. */
static bool bears(const Judge *judge, const RecPacked *event)
{
    if (event->about != 0) {
        event = rec_event_set_find(judge->set, event->about);
        if (event == NULL || event->about != 0) return false;
    }
    if (event->kind == REC_EVENT_RUN) return is_scenario(judge, event->subject);
    return event->subject == judge->id && judge->id != 0;
}

static void gather(Judge *judge)
{
    RecEventRange range = rec_event_set_of(judge->set, judge->person);
    judge->items = check_calloc(range.count + 1, sizeof *judge->items);
    for (size_t i = 0; i < range.count; i++) {
        const RecPacked *event = &range.events[i];
        if (event->time_us > judge->moment->as_of_us) break;
        if (!bears(judge, event)) continue;
        judge->items[judge->count++] =
            (Item){.event = event, .withdrawn = NONE, .run = NONE, .seen = NONE};
    }
}

static int index_of(const Judge *judge, RecWord hash)
{
    for (int i = 0; i < judge->count; i++) {
        if (judge->items[i].event->hash == hash) return i;
    }
    return NONE;
}

/* The lines of the competence that a list of words names; none named is all. */
static uint64_t lines_of(const Judge *judge, RecWord list)
{
    uint64_t lines = 0;
    const Competence *competence = judge->competence;
    for (const char *at = text_of(judge, list); *at != '\0';) {
        size_t len = strcspn(at, " ");
        for (int i = 0; i < competence->line_count; i++) {
            bool is_it =
                strncmp(competence->lines[i], at, len) == 0 && competence->lines[i][len] == '\0';
            if (is_it) lines |= UINT64_C(1) << i;
        }
        at += len + (at[len] == ' ' ? 1 : 0);
    }
    if (list != 0) return lines;
    int count = competence->line_count;
    return count == SITE_LINES_MAX ? UINT64_MAX : (UINT64_C(1) << count) - 1;
}

/* --- Runs and observations ------------------------------------------------------------------- */

static void apply_voids(Judge *judge)
{
    for (int i = 0; i < judge->count; i++) {
        const RecPacked *event = judge->items[i].event;
        if (event->kind != REC_EVENT_VOID || event->author == judge->person) continue;
        int about = index_of(judge, event->about);
        if (about == NONE || !may_assess(judge, event->author, event->time_us)) continue;
        judge->items[about].is_void = true;
        say(judge, REC_WHY_VOIDED, event);
    }
}

static void note_trainer(Walk *walk, RecWord who)
{
    if (who == 0) return;
    if (walk->trainer != 0 && walk->trainer != who) walk->has_trainers = true;
    walk->trainer = who;
}

static bool is_sole_trainer(const Walk *walk, RecWord who)
{
    return walk->trainer == who && !walk->has_trainers;
}

/* Trained again: what was failed counts no more, but the last form is still the last. */
static void retrain(Judge *judge, Walk *walk)
{
    if (!walk->needs_training) return;
    judge->reasons[REC_WHY_RETRAIN].number = 0; /* put right */
    walk->needs_training = false;
    walk->fails_in_row = 0;
    walk->failed[0] = walk->failed[walk->failed_count - 1];
    walk->failed_count = 1;
}

static void note_failure(Judge *judge, Walk *walk, int index)
{
    const RecPacked *event = judge->items[index].event;
    int64_t most = judge->rules->fails_before_retrain;
    int kept = 0;
    for (int i = 0; i < walk->failed_count; i++) {
        if (walk->failed[i] != event->subject) walk->failed[kept++] = walk->failed[i];
    }
    walk->failed[kept] = event->subject;
    walk->failed_count = kept + 1;
    walk->last_fail_us = event->time_us;
    walk->fails_in_row++;
    judge->last_fail = index;
    say(judge, REC_WHY_FAILED, event);
    if (most == 0 || walk->fails_in_row < most) return;
    walk->needs_training = true;
    say_rule(judge, REC_WHY_RETRAIN, event, most);
}

static bool was_failed(const Walk *walk, RecWord scenario)
{
    for (int i = 0; i < walk->failed_count; i++) {
        if (walk->failed[i] == scenario) return true;
    }
    return false;
}

/* An attempt that ended competent. */
static void note_success(Judge *judge, Walk *walk, int index)
{
    const CompetenceRules *rules = judge->rules;
    Item *item = &judge->items[index];
    const RecPacked *event = item->event;
    if (walk->needs_training) {
        say_rule(judge, REC_WHY_RETRAIN, event, rules->fails_before_retrain);
    } else if (walk->failed_count > 0 &&
               event->time_us - walk->last_fail_us < rules->retake_wait_hours * US_PER_HOUR) {
        say_rule(judge, REC_WHY_TOO_SOON, event, rules->retake_wait_hours);
    } else if (rules->other_form_after_failure && was_failed(walk, event->subject)) {
        say(judge, REC_WHY_SAME_FORM, event);
    } else {
        item->counts = true;
        judge->last_run = index;
        walk->fails_in_row = 0;
        walk->failed_count = 0;
    }
}

static void walk_run(Judge *judge, Walk *walk, int index)
{
    Item *item = &judge->items[index];
    const RecPacked *event = item->event;
    if (event->is_scripted) {
        if (event->is_assessment) say(judge, REC_WHY_SCRIPTED, event);
    } else if (event->other == 0) {
        if (event->is_assessment) say(judge, REC_WHY_NOT_SUPERVISED, event);
    } else if (event->other == judge->person) {
        say(judge, REC_WHY_SUPERVISED_BY_SELF, event);
    } else if (!may_assess(judge, event->other, event->time_us)) {
        say(judge, REC_WHY_SUPERVISOR_NO_ASSESSOR, event);
    } else if (!event->is_assessment) {
        note_trainer(walk, event->other); /* taught, voided or not */
        item->is_doing = !item->is_void && event->verdict != REC_RUN_BROKEN_OFF;
        if (item->is_doing) retrain(judge, walk);
    } else if (!item->is_void) {
        item->is_doing = true;
        item->by_trainer = is_sole_trainer(walk, event->other);
        if (event->verdict == REC_RUN_COMPETENT)
            note_success(judge, walk, index);
        else
            note_failure(judge, walk, index);
    }
}

static void walk_observation(Judge *judge, const Walk *walk, int index)
{
    Item *item = &judge->items[index];
    const RecPacked *event = item->event;
    if (event->author == judge->person) {
        say(judge, REC_WHY_SEEN_BY_SELF, event);
    } else if (!may_assess(judge, event->author, event->time_us)) {
        say(judge, REC_WHY_SEEN_BY_NO_ASSESSOR, event);
    } else if (event->lines == 0 || lines_of(judge, event->lines) == 0) {
        say(judge, REC_WHY_SEEN_ELSEWHERE, event);
    } else if (!item->is_void) {
        item->is_doing = true;
        item->counts = event->is_good;
        item->by_trainer = is_sole_trainer(walk, event->author);
        *(event->is_good ? &judge->last_good : &judge->last_bad) = index;
        if (!event->is_good) say(judge, REC_WHY_SEEN_BAD, event);
    }
}

/* Which evidence a later withdrawal or refusal leaves is settled once all are known. */
static void walk_items(Judge *judge)
{
    Walk walk = {0};
    judge->last_fail = judge->last_bad = judge->last_run = judge->last_good = NONE;
    for (int i = 0; i < judge->count; i++) {
        Item *item = &judge->items[i];
        const RecPacked *event = item->event;
        if (event->kind == REC_EVENT_RUN) {
            walk_run(judge, &walk, i);
        } else if (event->kind == REC_EVENT_OBSERVATION) {
            walk_observation(judge, &walk, i);
        } else if (event->kind == REC_EVENT_ASSIGNMENT && event->author != judge->person) {
            note_trainer(&walk, event->other);
            retrain(judge, &walk);
        } else if (event->kind == REC_EVENT_SIGNATURE) {
            item->after_run = judge->last_fail + 1;
            item->after_seen = judge->last_bad + 1;
        }
    }
}

/* --- Evidence -------------------------------------------------------------------------------- */

/* The last day that evidence or a signature lives on by doing the task, from item `from`, which
 * speaks from `day`: the first stretch of absence_months in which nothing was done ends it. */
static int32_t absence_end(const Judge *judge, int from, int32_t day)
{
    if (judge->rules->absence_months == 0) return NEVER;
    int32_t end = rec_day_add_months(day, judge->rules->absence_months);
    for (int i = from + 1; i < judge->count; i++) {
        const Item *item = &judge->items[i];
        if (!item->is_doing) continue;
        if (entry_day(item->event) > end) break;
        int32_t next = rec_day_add_months(speaks_from(item->event), judge->rules->absence_months);
        if (next > end) end = next;
    }
    return end;
}

static int32_t age_end(const Judge *judge, int32_t day)
{
    return rec_day_add_months(day, judge->rules->valid_months);
}

/* Whether item `index` speaks on a day. */
static bool is_current(const Judge *judge, int index, int32_t on_day)
{
    int32_t day = speaks_from(judge->items[index].event);
    return age_end(judge, day) >= on_day && absence_end(judge, index, day) >= on_day;
}

/* Where evidence is looked for: among `named` hashes (NULL: all), from these indexes on, and such
 * as speaks on a day. */
typedef struct {
    const char *named;
    int after_run, after_seen;
    int32_t on_day;
} Search;

/* Whether item `index` counts and is of a kind, newer than what spoils it, and named. */
static bool is_evidence(const Judge *judge, const Search *search, int index, RecEventKind kind)
{
    const Item *item = &judge->items[index];
    int after = kind == REC_EVENT_RUN ? search->after_run : search->after_seen;
    if (item->event->kind != kind || !item->counts || index < after) return false;
    return search->named == NULL ||
           strstr(search->named, text_of(judge, item->event->hash)) != NULL;
}

/* The evidence of a kind that speaks longest; NONE, and why when all there is is too old. */
static int find_evidence(Judge *judge, const Search *search, RecEventKind kind)
{
    int best = NONE;
    int old = NONE;
    for (int i = 0; i < judge->count; i++) {
        if (!is_evidence(judge, search, i, kind)) continue;
        if (!is_current(judge, i, search->on_day))
            old = i;
        else if (best == NONE ||
                 speaks_from(judge->items[i].event) >= speaks_from(judge->items[best].event))
            best = i;
    }
    if (best == NONE && old != NONE)
        say(judge, kind == REC_EVENT_RUN ? REC_WHY_RUN_OLD : REC_WHY_SEEN_OLD,
            judge->items[old].event);
    return best;
}

static bool is_sole_assessor(const Judge *judge, int run, int seen)
{
    return judge->rules->trainer_not_sole_assessor && judge->items[run].by_trainer &&
           judge->items[seen].by_trainer &&
           judge->items[run].event->other == judge->items[seen].event->author;
}

/* The day from which both speak. */
static int32_t both_speak_from(const Judge *judge, int run, int seen)
{
    int32_t one = speaks_from(judge->items[run].event);
    int32_t two = speaks_from(judge->items[seen].event);
    return one < two ? one : two;
}

/* The run and the observation that two people stand behind and that speak longest, in place of
 * *run and *seen. False when there are none such. */
static bool find_pair(const Judge *judge, const Search *search, int *run, int *seen)
{
    int32_t most = NONE;
    for (int s = 0; s < judge->count; s++) {
        if (!is_evidence(judge, search, s, REC_EVENT_OBSERVATION)) continue;
        if (!is_current(judge, s, search->on_day)) continue;
        for (int r = 0; r < judge->count; r++) {
            bool is_run = is_evidence(judge, search, r, REC_EVENT_RUN) &&
                          is_current(judge, r, search->on_day);
            if (!is_run || is_sole_assessor(judge, r, s)) continue;
            if (both_speak_from(judge, r, s) < most) continue;
            most = both_speak_from(judge, r, s);
            *run = r;
            *seen = s;
        }
    }
    return most != NONE;
}

/* The observation to go with *run, and perhaps another run for it; NONE when there is none. */
static int find_seen(Judge *judge, const Search *search, int *run)
{
    int seen = find_evidence(judge, search, REC_EVENT_OBSERVATION);
    if (seen == NONE || !is_sole_assessor(judge, *run, seen)) return seen;
    if (find_pair(judge, search, run, &seen)) return seen;
    say(judge, REC_WHY_SOLE_TRAINER, judge->items[seen].event);
    return NONE;
}

/* --- Signatures ------------------------------------------------------------------------------ */

static bool is_signature(const RecPacked *event)
{
    return event->kind == REC_EVENT_PAPER ||
           (event->kind == REC_EVENT_SIGNATURE && event->decision != REC_REFUSED);
}

static bool is_refusal(const Judge *judge, const RecPacked *event)
{
    return event->kind == REC_EVENT_SIGNATURE && event->decision == REC_REFUSED &&
           event->author != judge->person &&
           has_role(judge, event->author, "supervisor", event->time_us);
}

/* A withdrawal ends its signature whoever wrote it, and whatever its station's clock said. */
static void apply_withdrawals(Judge *judge)
{
    for (int i = 0; i < judge->count; i++) {
        if (judge->items[i].event->kind != REC_EVENT_WITHDRAWAL) continue;
        int about = index_of(judge, judge->items[i].event->about);
        if (about == NONE || !is_signature(judge->items[about].event)) continue;
        Item *item = &judge->items[about];
        int from = i > about ? i : about;
        if (item->withdrawn == NONE || from < item->withdrawn) item->withdrawn = from;
    }
}

/* The first index that evidence may have which is judged at `index`: behind each withdrawal and
 * refusal before. */
static int first_after_ends(const Judge *judge, int index)
{
    int first = 0;
    for (int i = 0; i < judge->count; i++) {
        const Item *item = &judge->items[i];
        int end = item->withdrawn != NONE ? item->withdrawn : i;
        if (item->withdrawn == NONE && !is_refusal(judge, item->event)) continue;
        if (end < index && end + 1 > first) first = end + 1;
    }
    return first;
}

/* Whether the key was the signer's when it signed; says so when it was lost later. */
static bool is_key_good(Judge *judge, const RecPacked *event)
{
    RecEventRange grants = rec_event_set_grants(judge->set, event->author);
    const RecPacked *last = NULL;
    const RecPacked *lost = NULL;
    RecWord lost_word = rec_event_set_word(judge->set, "lost");
    for (size_t i = 0; i < grants.count; i++) {
        const RecPacked *grant = &grants.events[i];
        if (grant->kind != REC_EVENT_KEY || grant->time_us > judge->moment->as_of_us) continue;
        bool is_loss = grant->subject == lost_word && lost_word != 0;
        if (grant->time_us <= event->time_us)
            last = grant;
        else if (is_loss && lost == NULL)
            lost = grant;
    }
    if (last == NULL || (last->subject != lost_word && last->key != event->key)) {
        say(judge, REC_WHY_KEY_UNKNOWN, event);
        return false;
    }
    if (last->subject == lost_word && lost_word != 0) {
        say(judge, REC_WHY_KEY_LOST, event);
        return false;
    }
    if (lost != NULL) say(judge, REC_WHY_KEY_LOST_SINCE, lost);
    return true;
}

/* Whether who signed could, and for what. */
static bool is_signer_good(Judge *judge, Item *item)
{
    const RecPacked *event = item->event;
    bool is_paper = event->kind == REC_EVENT_PAPER;
    bool is_with_buddy = !is_paper && event->decision == REC_WITH_BUDDY;
    bool may = has_role(judge, event->author, "supervisor", event->time_us) ||
               (is_paper && has_role(judge, event->author, "quality", event->time_us));
    item->lines = lines_of(judge, event->lines);
    if (event->author == judge->person) {
        say(judge, REC_WHY_SIGNED_FOR_SELF, event);
    } else if (!may) {
        say(judge, REC_WHY_SIGNER_NO_SUPERVISOR, event);
    } else if (item->lines == 0) {
        say(judge, REC_WHY_NO_LINE, event);
    } else if (is_with_buddy &&
               (!judge->rules->named_buddy || event->other == 0 || event->other == judge->person)) {
        say(judge, REC_WHY_NO_BUDDY, event);
    } else {
        return is_paper || is_key_good(judge, event);
    }
    return false;
}

/* Whether the evidence that the signature names bears it. */
static bool is_borne(Judge *judge, int index)
{
    Item *item = &judge->items[index];
    int after = first_after_ends(judge, index);
    Search search = {
        .named = text_of(judge, item->event->evidence),
        .after_run = after,
        .after_seen = after > item->after_seen ? after : item->after_seen,
        .on_day = entry_day(item->event),
    };
    item->run = find_evidence(judge, &search, REC_EVENT_RUN);
    if (item->run != NONE && item->run < item->after_run) {
        say(judge, REC_WHY_FAILED_BEFORE, item->event);
        return false;
    }
    search.after_run = after > item->after_run ? after : item->after_run;
    if (item->run == NONE) {
        say(judge, REC_WHY_NO_RUN, item->event);
        return false;
    }
    if (item->event->decision == REC_WITH_BUDDY) return true;
    item->seen = find_seen(judge, &search, &item->run);
    if (item->seen != NONE) return true;
    say(judge, REC_WHY_NO_OBSERVATION, item->event);
    return false;
}

/* Whether the task was done between two items, until a day at the latest. */
static bool is_done_between(const Judge *judge, int from, int to, int32_t until_day)
{
    for (int i = from + 1; i < to; i++) {
        const Item *item = &judge->items[i];
        if (item->is_doing && entry_day(item->event) <= until_day) return true;
    }
    return false;
}

/* A signature that follows one which still stood, with the task done in between. */
static bool is_renewal(const Judge *judge, int index)
{
    int32_t day = entry_day(judge->items[index].event);
    for (int i = 0; i < index; i++) {
        const Item *item = &judge->items[i];
        bool stood = is_signature(item->event) && item->counts && item->end_day >= day &&
                     (item->withdrawn == NONE || item->withdrawn > index);
        if (stood && is_done_between(judge, i, index, NEVER)) return true;
    }
    return false;
}

static void end_by(Item *item, int32_t day, RecWhy why)
{
    if (day >= item->end_day) return;
    item->end_day = day;
    item->end_why = why;
}

/* The last day of a signature that counts. */
static void find_end(const Judge *judge, int index)
{
    const CompetenceRules *rules = judge->rules;
    Item *item = &judge->items[index];
    bool is_paper = item->event->kind == REC_EVENT_PAPER;
    int first = is_paper ? index : item->run;
    int32_t speaks = is_paper ? item->event->day : speaks_from(judge->items[first].event);
    if (item->seen != NONE) {
        speaks = both_speak_from(judge, item->run, item->seen);
        if (item->seen < first) first = item->seen;
    }
    item->end_day = age_end(judge, speaks);
    item->end_why = REC_WHY_UNTIL;
    if (item->event->until_day > 0) end_by(item, item->event->until_day, REC_WHY_UNTIL);
    item->valid_day = item->end_day;
    end_by(item, absence_end(judge, first, speaks_from(judge->items[first].event)),
           REC_WHY_ABSENCE);
    if (is_paper || rules->first_review_months == 0 || is_renewal(judge, index)) return;
    int32_t review = rec_day_add_months(entry_day(item->event), rules->first_review_months);
    if (!is_done_between(judge, index, judge->count, review)) end_by(item, review, REC_WHY_REVIEW);
}

static void judge_signatures(Judge *judge)
{
    apply_withdrawals(judge);
    for (int i = 0; i < judge->count; i++) {
        Item *item = &judge->items[i];
        if (is_refusal(judge, item->event)) say(judge, REC_WHY_REFUSED, item->event);
        if (!is_signature(item->event) || !is_signer_good(judge, item)) continue;
        item->counts = item->event->kind == REC_EVENT_PAPER || is_borne(judge, i);
        if (item->counts) find_end(judge, i);
    }
}

/* --- The state ------------------------------------------------------------------------------- */

static bool stands(const Judge *judge, const Item *item)
{
    return is_signature(item->event) && item->counts && item->withdrawn == NONE &&
           item->end_day >= judge->today;
}

static bool is_failed_since(const Judge *judge, int index)
{
    return judge->last_fail > index && judge->last_fail > judge->last_run;
}

static bool is_seen_bad_since(const Judge *judge, int index)
{
    return judge->last_bad > index && judge->last_bad > judge->last_good;
}

static bool is_due(const Judge *judge, int index)
{
    return judge->items[index].end_day - judge->today <= judge->rules->due_days ||
           is_failed_since(judge, index) || is_seen_bad_since(judge, index);
}

static bool is_with_buddy(const Item *item)
{
    return item->event->kind == REC_EVENT_SIGNATURE && item->event->decision == REC_WITH_BUDDY;
}

/* Whether signature `a` says more than `b`: signed before due, alone before with a buddy, the
 * longer, the newer. */
static bool says_more(const Judge *judge, int a, int b)
{
    const Item *one = &judge->items[a];
    const Item *two = &judge->items[b];
    if (is_due(judge, a) != is_due(judge, b)) return is_due(judge, b);
    if (is_with_buddy(one) != is_with_buddy(two)) return is_with_buddy(two);
    return one->end_day != two->end_day ? one->end_day > two->end_day : a > b;
}

/* The signature that speaks for the person now, NONE; each standing one gives its lines. */
static int find_best(Judge *judge)
{
    int best = NONE;
    RecStanding *out = judge->out;
    for (int i = 0; i < judge->count; i++) {
        const Item *item = &judge->items[i];
        if (!stands(judge, item)) continue;
        *(is_with_buddy(item) ? &out->buddy_lines : &out->lines) |= item->lines;
        if (best == NONE || says_more(judge, i, best)) best = i;
    }
    out->buddy_lines &= ~out->lines;
    return best;
}

/* A run is only as good as what is known of the other stations where the person played. */
static bool is_provisional(const Judge *judge, int run)
{
    if (run == NONE) return false;
    const RecPacked *event = judge->items[run].event;
    for (size_t e = 0; e < judge->moment->end_count; e++) {
        const RecStationEnd *end = &judge->moment->ends[e];
        RecWord station = rec_event_set_word(judge->set, end->station);
        if (station == 0 || station == event->station || end->until_us >= event->time_us) continue;
        for (int i = 0; i < judge->count; i++) {
            const RecPacked *other = judge->items[i].event;
            if (other->kind == REC_EVENT_RUN && other->station == station) return true;
        }
    }
    return false;
}

static void describe_signature(Judge *judge, int index)
{
    const Item *item = &judge->items[index];
    RecStanding *out = judge->out;
    out->from_paper = item->event->kind == REC_EVENT_PAPER;
    out->with_buddy = is_with_buddy(item);
    out->signature = text_of(judge, item->event->hash);
    out->buddy = out->with_buddy ? text_of(judge, item->event->other) : "";
    out->products = text_of(judge, item->event->products);
    out->checks = text_of(judge, item->event->checks);
    out->good_until_day = item->counts ? item->valid_day : 0;
    if (out->from_paper) say_day(judge, REC_WHY_FROM_PAPER, item->event, item->event->day);
    if (out->with_buddy) say(judge, REC_WHY_WITH_BUDDY, item->event);
    if (item->counts && item->withdrawn == NONE)
        say_day(judge, item->end_why, item->event, item->end_day);
}

static bool is_acknowledged(const Judge *judge, RecWord hash)
{
    for (int i = 0; i < judge->count; i++) {
        const RecPacked *event = judge->items[i].event;
        if (event->kind == REC_EVENT_ACKNOWLEDGEMENT && event->about == hash &&
            event->author == judge->person)
            return true;
    }
    return false;
}

static void set_state(Judge *judge, RecState state, const RecPacked *event, int32_t day)
{
    judge->out->state = state;
    judge->out->since_day = day;
    say_day(judge, (RecWhy)state, event, day);
}

static void tell_standing(Judge *judge, int best)
{
    const Item *item = &judge->items[best];
    RecStanding *out = judge->out;
    describe_signature(judge, best);
    set_state(judge, is_due(judge, best) ? REC_DUE : REC_STANDS, item->event,
              entry_day(item->event));
    out->next_day = item->end_day;
    out->provisional = is_provisional(judge, item->run);
    if (is_failed_since(judge, best))
        say(judge, REC_WHY_FAILED_SINCE, judge->items[judge->last_fail].event);
    if (is_seen_bad_since(judge, best))
        say(judge, REC_WHY_SEEN_BAD_SINCE, judge->items[judge->last_bad].event);
    if (!out->from_paper && !is_acknowledged(judge, item->event->hash))
        say(judge, REC_WHY_NOT_ACKNOWLEDGED, item->event);
}

/* The signature that ended last, by its day or a withdrawal; *day is the first without it, *first
 * the index from which on evidence is newer. */
static int find_ended(const Judge *judge, int32_t *day, int *first)
{
    int last = NONE;
    for (int i = 0; i < judge->count; i++) {
        const Item *item = &judge->items[i];
        if (!is_signature(item->event) || (!item->counts && item->withdrawn == NONE)) continue;
        int32_t ended = item->counts ? item->end_day + 1 : NEVER;
        if (item->withdrawn != NONE) {
            int32_t withdrawn = entry_day(judge->items[item->withdrawn].event);
            if (withdrawn < ended) ended = withdrawn;
            if (item->withdrawn + 1 > *first) *first = item->withdrawn + 1;
        }
        if (last != NONE && ended < *day) continue;
        last = i;
        *day = ended;
    }
    while (last != NONE && *first < judge->count && entry_day(judge->items[*first].event) < *day) {
        ++*first;
    }
    return last;
}

static void tell_ended(Judge *judge, int ended, int32_t day)
{
    const Item *item = &judge->items[ended];
    bool is_withdrawn = item->withdrawn != NONE &&
                        (!item->counts || entry_day(judge->items[item->withdrawn].event) <= day);
    describe_signature(judge, ended);
    if (is_withdrawn)
        set_state(judge, REC_WITHDRAWN, judge->items[item->withdrawn].event, day);
    else
        set_state(judge, REC_LAPSED, item->event, day);
}

/* Nothing stands: how far up the ladder the evidence goes that is newer than what ended. */
static int tell_climb(Judge *judge)
{
    int32_t day = 0;
    int first = first_after_ends(judge, judge->count);
    int ended = find_ended(judge, &day, &first);
    Search search = {.after_run = judge->last_fail + 1 > first ? judge->last_fail + 1 : first,
                     .after_seen = judge->last_bad + 1 > first ? judge->last_bad + 1 : first,
                     .on_day = judge->today};
    int run = find_evidence(judge, &search, REC_EVENT_RUN);
    int seen = run == NONE ? NONE : find_seen(judge, &search, &run);
    if (seen != NONE) {
        set_state(judge, REC_OBSERVED, judge->items[seen].event,
                  entry_day(judge->items[seen > run ? seen : run].event));
    } else if (run != NONE) {
        set_state(judge, REC_ASSESSED, judge->items[run].event, entry_day(judge->items[run].event));
    } else if (ended != NONE) {
        tell_ended(judge, ended, day);
    } else {
        set_state(judge, REC_IN_TRAINING, NULL, 0);
    }
    judge->out->provisional = is_provisional(judge, run);
    if (run != NONE) return first;
    int alone = find_evidence(judge, &search, REC_EVENT_OBSERVATION);
    if (alone != NONE) say(judge, REC_WHY_SEEN_ALONE, judge->items[alone].event);
    return first;
}

/* --- Reasons --------------------------------------------------------------------------------- */

/* Which reasons stay: the state's, its flags and ends; of single events only those from `from_us`
 * on, and none that were put right. */
static bool is_worth_saying(const Judge *judge, RecWhy why, int64_t from_us)
{
    if (judge->reasons[why].number == 0 || why == (RecWhy)judge->out->state) return false;
    if (why < REC_WHY_SCRIPTED || why > REC_WHY_NO_LINE) return true;
    bool is_failing = judge->last_fail > judge->last_run;
    if ((why == REC_WHY_FAILED || why == REC_WHY_RETRAIN) && !is_failing) return false;
    if (why == REC_WHY_SEEN_BAD && judge->last_bad < judge->last_good) return false;
    return judge->said_us[why] >= from_us;
}

static void list_reasons(Judge *judge, int64_t from_us)
{
    RecStanding *out = judge->out;
    out->reasons[out->reason_count++] = judge->reasons[out->state];
    for (int why = REC_WHY_FROM_PAPER; why < REC_WHY_COUNT; why++) {
        if (is_worth_saying(judge, (RecWhy)why, from_us))
            out->reasons[out->reason_count++] = judge->reasons[why];
    }
}

static int64_t time_of(const Judge *judge, int index)
{
    return index < judge->count ? judge->items[index].event->time_us : INT64_MAX;
}

void rec_standing(const RecEventSet *set, const Competence *competence, const char *person,
                  const RecMoment *moment, RecStanding *out)
{
    Judge judge = {.set = set,
                   .competence = competence,
                   .rules = &competence->rules,
                   .moment = moment,
                   .out = out};
    int64_t from_us;
    *out = (RecStanding){.signature = "", .buddy = "", .products = "", .checks = ""};
    judge.id = rec_event_set_word(set, competence->id);
    judge.person = rec_event_set_word(set, person);
    judge.today = rec_day_of(moment->as_of_us);
    for (int i = 0; i < competence->scenario_count; i++) {
        judge.scenarios[i] = rec_event_set_word(set, competence->scenarios[i]);
    }
    gather(&judge);
    apply_voids(&judge);
    walk_items(&judge);
    judge_signatures(&judge);
    int best = find_best(&judge);
    if (best != NONE) {
        tell_standing(&judge, best);
        from_us = time_of(&judge, best);
    } else {
        int first = tell_climb(&judge);
        from_us = first == 0 ? INT64_MIN : time_of(&judge, first - 1);
    }
    if (out->provisional) say_day(&judge, REC_WHY_PROVISIONAL, NULL, judge.today);
    list_reasons(&judge, from_us);
    free(judge.items);
}

/* --- The board ------------------------------------------------------------------------------- */

static RecCell cell_of(const RecStanding *standing)
{
    return (RecCell){
        .state = standing->state,
        .from_paper = standing->from_paper,
        .with_buddy = standing->with_buddy,
        .provisional = standing->provisional,
        .lines = standing->lines,
        .buddy_lines = standing->buddy_lines,
        .since_day = standing->since_day,
        .good_until_day = standing->good_until_day,
        .next_day = standing->next_day,
        .why = standing->reasons[standing->reason_count > 1 ? 1 : 0].why,
    };
}

RecCell *rec_cells(const RecEventSet *set, const Competence competences[], size_t count,
                   const RecMoment *moment)
{
    size_t person_count = rec_event_set_people(set);
    RecCell *board = check_calloc(person_count * count + 1, sizeof *board);
    for (size_t p = 0; p < person_count; p++) {
        for (size_t c = 0; c < count; c++) {
            RecStanding standing;
            rec_standing(set, &competences[c], rec_event_set_person(set, p), moment, &standing);
            board[p * count + c] = cell_of(&standing);
        }
    }
    return board;
}

bool rec_board(const Competence competences[], size_t count, RecNextEvent *next, void *context,
               const RecMoment *moment, RecEventSet **people, RecCell **cells, Err *err)
{
    RecEventSet *set = rec_event_set_new();
    RecEvent event = {0};
    bool ok = true;
    for (bool there = true; ok && there;) {
        ok = next(context, &event, &there, err) && (!there || rec_event_set_add(set, &event, err));
    }
    if (!ok) {
        rec_event_set_free(set);
        return false;
    }
    rec_event_set_seal(set);
    *cells = rec_cells(set, competences, count, moment);
    *people = set;
    return true;
}
