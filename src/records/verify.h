/* Is every record still what was written? */
#ifndef RECORDS_VERIFY_H
#define RECORDS_VERIFY_H

#include "records/ledger.h"

/* Play a stored run again and score it; given by app/, which has the line and the rubric.
 *
 *   result  true: the result as JSON, which is compared with the stored one. Left empty, it is not.
 *   why     true: empty, or what a reader must know ("not computed again: model 3"), a note.
 *           false: what is wrong ("happening 12 at 4300000 us differs"), a finding.
 */
typedef bool (*RecRejudge)(void *context, const RecRunView *run, Text *result, Text *why);

typedef struct {
    RecNumber number; /* the entry it is about; 0: the store as a whole */
    Text text;        /* one line: "entry 7 (run of 2026-..., person ...): ..." */
} RecFinding;

/* All zeros is empty; rec_report_clear ends it. */
typedef struct {
    RecFinding *findings; /* what is wrong, in the order found; none: nothing was altered */
    size_t finding_count;
    RecFinding *notes; /* what was not checked, and what no check can know */
    size_t note_count;
    int64_t entries, people, runs, runs_rejudged, contents, texts, erasures; /* how many checked */
} RecReport;

/* Check the store in `folder` and collect all that is wrong into `report`, which is all zeros.
 *
 * Checked: the file by SQLite's own integrity check, its format numbers and schema; each entry's
 * form, number, link and hash; the head; each content's hash, that each is named by a run and each
 * named one is there; each veiled text's commitment, or its erasure; that authors exist; that time
 * went back or leapt only with a clock entry; and with `rejudge` not NULL each run's result.
 *
 * Reads only. True when the check could be made, whatever was found. False with ERR_IO when the
 * store cannot be read or a writing was cut short and is still to be put back, ERR_DAMAGE when
 * store.db is no database at all.
 */
MUST_USE bool rec_verify(const char *folder, RecRejudge rejudge, void *context, RecReport *report,
                         Err *err);

/* Free the lines and leave the report empty. */
void rec_report_clear(RecReport *report);

#endif
