/* Where a person stands with a competence, and why: a pure function of the competence's rules, the
 * events, and a moment. The same events give the same standing, in whatever order they came.
 *
 * What counts (common practice, no source, but where a rule of the site says it; the names of
 * rules are those of CompetenceRules):
 *
 * An ATTEMPT is a supervised, unscripted assessment run of one of the competence's scenarios, whose
 * supervisor was an assessor or supervisor then and not the person, and which is not voided. It
 * COUNTS when it ended competent and, since the last one that counted,
 *     - fewer than fails_before_retrain failed in a row, or the competence was assigned again or a
 *       run practised with somebody beside since;
 *     - the last failure is retake_wait_hours back;
 *     - its scenario is none that was failed since then, or (after retraining) failed last.
 * One that was broken off has failed.
 *
 * An OBSERVATION counts when it is good, was made by an assessor or supervisor other than the
 * person on a line of the competence, is not voided, and no later one is bad. With
 * trainer_not_sole_assessor, whoever alone taught the person before (beside them in practice, or
 * their buddy in the assignment) may supervise the run or observe, not both.
 *
 * DOING THE TASK is any supervised, unscripted run of its scenarios or any such observation, good
 * or bad: what nobody saw is not known here. Evidence speaks for valid_months from its day (of an
 * observation: the day it is claimed for, if earlier than its entry), and no longer than until the
 * task was not done for absence_months.
 *
 * A SIGNATURE counts when its author was a supervisor then and is not the person, its key was
 * theirs and not reported lost by then, it names a run that counts and (unless it is with a buddy)
 * an observation that counts, both newer than any withdrawal or refusal before it, no attempt had
 * failed since, and it covers a line of the competence; no lines named means all. It stands until
 *     - the day it names, or valid_months after the older of the two;
 *     - first_review_months after it, when it is no renewal and the task was not done since;
 *     - absence_months after the task was last done;
 *     - it is withdrawn, by anybody: a concern is enough.
 * An end is final; a new signature begins anew. Each signature stands for its own lines. It is due
 * in its last due_days, and when an attempt failed or an observation was bad since. A PAPER from
 * before the program counts, by who entered it (a supervisor or quality), until its day or
 * valid_months after it was signed; it needs no run.
 *
 * Days are UTC; a day named as the last is still good. What this cannot know: whether a buddy is
 * signed (ask for the buddy's own standing), and what was not entered or merged.
 */
#ifndef RECORDS_COMPETENCE_H
#define RECORDS_COMPETENCE_H

#include "records/event_set.h"
#include "scenario/competence.h"

/* The ladder. Signed and due may do the task. */
typedef enum {
    REC_IN_TRAINING,
    REC_ASSESSED,
    REC_OBSERVED,
    REC_STANDS, /* signed */
    REC_DUE,
    REC_LAPSED,
    REC_WITHDRAWN,
    REC_STATE_COUNT
} RecState;
extern const char *const rec_state_words[]; /* NULL-ended: "in-training", ... */

/* Why, and what to do next: keys of the section "standing" of the texts, where {number} and {date}
 * are filled in. */
typedef enum {
    /* The state, in the order of RecState. */
    REC_WHY_IN_TRAINING,
    REC_WHY_ASSESSED,
    REC_WHY_OBSERVED,
    REC_WHY_SIGNED,
    REC_WHY_DUE,
    REC_WHY_LAPSED,
    REC_WHY_WITHDRAWN,
    /* Flags. */
    REC_WHY_FROM_PAPER,
    REC_WHY_WITH_BUDDY,
    REC_WHY_PROVISIONAL,
    /* Runs. */
    REC_WHY_SCRIPTED,
    REC_WHY_NOT_SUPERVISED,
    REC_WHY_SUPERVISED_BY_SELF,
    REC_WHY_SUPERVISOR_NO_ASSESSOR,
    REC_WHY_VOIDED,
    REC_WHY_FAILED,
    REC_WHY_RETRAIN,
    REC_WHY_TOO_SOON,
    REC_WHY_SAME_FORM,
    REC_WHY_RUN_OLD,
    /* Observations. */
    REC_WHY_SEEN_BAD,
    REC_WHY_SEEN_BY_SELF,
    REC_WHY_SEEN_BY_NO_ASSESSOR,
    REC_WHY_SEEN_ELSEWHERE,
    REC_WHY_SEEN_OLD,
    REC_WHY_SEEN_ALONE,
    REC_WHY_SOLE_TRAINER,
    /* Signatures that do not count. */
    REC_WHY_REFUSED,
    REC_WHY_SIGNED_FOR_SELF,
    REC_WHY_SIGNER_NO_SUPERVISOR,
    REC_WHY_KEY_UNKNOWN,
    REC_WHY_KEY_LOST,
    REC_WHY_NO_RUN,
    REC_WHY_NO_OBSERVATION,
    REC_WHY_FAILED_BEFORE,
    REC_WHY_NO_BUDDY,
    REC_WHY_NO_LINE,
    /* Ends of signatures, and what comes first. */
    REC_WHY_UNTIL,
    REC_WHY_REVIEW,
    REC_WHY_ABSENCE,
    REC_WHY_FAILED_SINCE,
    REC_WHY_SEEN_BAD_SINCE,
    REC_WHY_KEY_LOST_SINCE,
    REC_WHY_NOT_ACKNOWLEDGED,
    REC_WHY_COUNT
} RecWhy;
extern const char *const rec_why_words[]; /* NULL-ended, in the order of the enum */

typedef struct {
    RecWhy why;
    int64_t number;   /* how many; of "retrain" and "too-soon" the rule's fails and hours */
    int32_t day;      /* of the last of them; of an end: the last day that is good */
    const char *hash; /* of the last of the entries, borrowed from the set; "" for none */
} RecReason;

typedef struct {
    RecState state;
    bool from_paper;                  /* the signature that stands, or stood last, is a paper */
    bool with_buddy;                  /* it is for work beside a named colleague only */
    bool provisional;                 /* see RecMoment */
    uint64_t lines;                   /* bit i: the competence's line i is covered now, alone */
    uint64_t buddy_lines;             /* the same beside the buddy of a signature only */
    const char *signature;            /* hash of it, borrowed from the set; "" for none */
    const char *buddy;                /* the person, or "" */
    const char *products, *checks;    /* its limits, words with one blank between two; "": all */
    int32_t since_day;                /* when the state began; 0 in training */
    int32_t good_until_day;           /* as signed and by the evidence's age; 0 for none */
    int32_t next_day;                 /* the last day before something has to be done; 0 for none */
    RecReason reasons[REC_WHY_COUNT]; /* the state's own first */
    int reason_count;
} RecStanding;

/* How much of another station is known here: all up to a moment, its last entry that was merged. */
typedef struct {
    const char *station;
    int64_t until_us;
} RecStationEnd;

/* When it is asked. Events later than that are not looked at. For today this is the later of the
 * clock and of the last entry's time, or a clock set back would bring lapsed signatures to life
 * (rec_moment_us). A standing is provisional when it rests on a run made after what is known of
 * another station where the person played too: a failed attempt there may still be on its way. */
typedef struct {
    int64_t as_of_us;
    const RecStationEnd *ends; /* of the other stations */
    size_t end_count;
} RecMoment;

/* The later of the clock and the last entry's time, of any station. */
int64_t rec_moment_us(int64_t clock_us, int64_t last_entry_us);

/* The standing of `person` as of a moment. `set` is sealed and is what *out borrows from. A person
 * unknown to it is in training. */
void rec_standing(const RecEventSet *set, const Competence *competence, const char *person,
                  const RecMoment *moment, RecStanding *out);

/* One cell of a board. */
typedef struct {
    RecState state;
    bool from_paper, with_buddy, provisional;
    uint64_t lines, buddy_lines;
    int32_t since_day, good_until_day, next_day;
    RecWhy why; /* the weightiest reason after the state's own, else that */
} RecCell;

/* Judge everybody in a sealed set: into a new array that the caller frees, a row for each person in
 * the set's order, of `count` cells in the order of `competences`. */
MUST_USE RecCell *rec_cells(const RecEventSet *set, const Competence competences[], size_t count,
                            const RecMoment *moment);

/* Read all events that `next` gives (false: no more) in one pass and judge everybody: *people is
 * a sealed set that names them (rec_event_set_person), *cells are theirs by rec_cells. The caller
 * ends them with rec_event_set_free and free. Events come in any order and are borrowed until the
 * next call. Memory: the set's (event_set.h) and 56 bytes a cell. Fails as rec_event_set_add, or as
 * `next` does by filling `err`. From a ledger: rec_events_read (event_of.h), then rec_cells. */
typedef bool RecNextEvent(void *context, RecEvent *out, bool *there, Err *err);
MUST_USE bool rec_board(const Competence competences[], size_t count, RecNextEvent *next,
                        void *context, const RecMoment *moment, RecEventSet **people,
                        RecCell **cells, Err *err);

#endif
