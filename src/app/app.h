/* The single door: one run of one scenario, by one person, kept in one store. The window, the
 * command line and the tests change a run only through here.
 */
#ifndef APP_APP_H
#define APP_APP_H

#include "app/work.h"
#include "player/player.h"
#include "records/ledger.h"
#include "scoring/score.h"

typedef struct {
    uint64_t seed;
    bool is_assessment;               /* else practice */
    bool is_scripted;                 /* played from a file: never counts as evidence */
    char language[16];                /* what the person read, BCP 47; "": en */
    char supervised_by[REC_ID_BYTES]; /* who watched, "" for nobody */
} AppRunSetup;

typedef struct AppRun AppRun;

/* A seed that nobody chose, for an assessment. */
uint64_t app_seed(void);

enum { APP_SEEDS_TRIED = 50 };

/* Whether a run of this seed is about what the scenario is about: a right script passes and shows
 * every one of its needs. True without needs, and for a work from texts. */
MUST_USE bool app_seed_counts(const Work *work, uint64_t seed, bool *counts, Err *err);

/* Begin a run of the form of the work's scenario that the seed draws. Unless it is scripted, a seed
 * that does not count gives way to the next one that does. `work` is borrowed until app_run_free.
 * ERR_RANGE when the head cannot be computed, or none of APP_SEEDS_TRIED seeds counts. */
MUST_USE bool app_run_begin(const Work *work, const AppRunSetup *setup, AppRun **out, Err *err);
void app_run_free(AppRun *run);

/* Do an action at its time, which is not before the run's. It goes through its text form first, so
 * that what is done live is what a replay reads. False when the run has ended. */
bool app_run_do(AppRun *run, const LogLine *action);

/* Let time pass to `until_us`, or to the next happening before that (false: there was none). */
void app_run_advance(AppRun *run, int64_t until_us);
MUST_USE bool app_run_advance_one(AppRun *run, int64_t until_us);

/* Let the run go on to its end: to its time limit unless it has ended. */
void app_run_finish(AppRun *run);

/* The run as it is now; borrowed. */
const Player *app_run_player(const AppRun *run);
const Work *app_run_work(const AppRun *run);

/* The form of the scenario that is played; and the seed that drew it. */
const Scenario *app_run_scenario(const AppRun *run);
uint64_t app_run_seed(const AppRun *run);

/* The judgement of the run as it is now. */
void app_run_score(const AppRun *run, Score *out);

/* Keep a finished run in a store open for writing, under a person's id: scenario, site, fitted
 * values, metals, kinds, log and result. *number is its entry's. Fails as rec_run_add. */
MUST_USE bool app_run_record(const AppRun *run, Records *records, const char *person,
                             RecNumber *number, Err *err);

/* The person of that name in the store, added if there is none. Fails as rec_person_add. */
MUST_USE bool app_person(Records *records, const char *name, char person[REC_ID_BYTES], Err *err);

/* What a stored run was computed from. The caller ends *out with work_free. ERR_DAMAGE when a part
 * is not there; ERR_INPUT when one cannot be read any more. */
MUST_USE bool app_work_of(const RecRunView *run, Work **out, Err *err);

/* Play a stored run again and score it: a RecRejudge for rec_verify; `context` is not used. A run
 * of another model is scored from its stored happenings, and `why` says so. */
bool app_rejudge(void *context, const RecRunView *run, Text *result, Text *why);

#endif
