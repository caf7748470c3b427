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
    char station[REC_ID_BYTES]; /* whose entry it is about; "": the store as a whole */
    RecNumber number;           /* the entry it is about; 0: the store or station as a whole */
    Text text;                  /* one line: "entry 7 (run of 2026-..., person ...): ..." */
} RecFinding;

/* All zeros is empty; rec_report_clear ends it. */
typedef struct {
    RecFinding *findings; /* what is wrong, in the order found; none: nothing was altered */
    size_t finding_count;
    RecFinding *notes; /* what was not checked, and what no check can know */
    size_t note_count;
    /* How many were checked; `signatures` are those of people. */
    int64_t entries, stations, people, runs, runs_rejudged, signatures, contents, texts, erasures;
    /* The own station's entries since the last head that was found outside; -1: there is none. */
    int64_t entries_since_outside;
} RecReport;

/* Heads that were kept elsewhere; NULL or all zeros: none are known. */
typedef struct {
    const char *heads;    /* the folder of heads, as in RecOutside */
    const RecHead *paper; /* one that was read from paper; its time is not looked at */
} RecWitness;

/* Read a head as it was noted on paper: the first three lines of the file `head`, station, count
 * and hash in base64; blanks around them and what follows do not matter. ERR_INPUT says which line
 * is wrong. */
MUST_USE bool rec_paper_head_read(const Text *text, RecHead *out, Err *err);

/* Check the store in `folder` and collect all that is wrong into `report`, which is all zeros.
 *
 * Checked: the file by SQLite's own integrity check, its format numbers and schema; each entry's
 * form, place, link and hash, for each station from its first; that the entries it names are there
 * and its author might write it (rules.h), with the signatures of people and the keys that were
 * theirs then; the own head and its signature; heads that imports state, and those kept elsewhere;
 * each fact; each content's hash, that each is named by an entry and each named one is there; each
 * veiled text's commitment, or its erasure; that time went back or leapt only with a clock entry;
 * and with `rejudge` not NULL each run's result.
 *
 * Reads only. True when the check could be made, whatever was found. False with ERR_IO when the
 * store cannot be read or a writing was cut short and is still to be put back, ERR_DAMAGE when
 * store.db is no database at all.
 */
MUST_USE bool rec_verify(const char *folder, const RecWitness *witness, RecRejudge rejudge,
                         void *context, RecReport *report, Err *err);

/* Free the lines and leave the report empty. */
void rec_report_clear(RecReport *report);

#endif
