/* An event: what one entry of the ledger says about one person, in plain fields, so that a person's
 * standing (competence.h) can be read without opening entries.
 *
 * An event is a pure function of its entry, and its row in the store can be made again at any time.
 * Which fields a kind fills is in the table below; all others are empty, 0 or false.
 *
 *     kind             person      subject     other          author          about
 *     assignment       learner     competence  buddy or ""    who
 *     run              who played  scenario    supervised_by  the same
 *     void                                                    who             run or observation
 *     observation      who was     competence                 who saw
 *                      seen
 *     signature        for whom    competence  buddy or ""    signer
 *     acknowledgement                                         who             signature
 *     withdrawal                                              who             signature or paper
 *     paper            for whom    competence                 who entered it
 *     role             who has it  the role                   who gave it
 *     key              whose       why                        who
 *
 * and besides: run: is_assessment, is_scripted, verdict; observation: lines (one), day (seen_on),
 * is_good; signature: decision, lines, products, checks, until_day, evidence, key; paper: day
 * (signed_on), until_day, lines; role: is_good (given, not taken); key: key.
 *
 * Where no person stands the entry names none: it is the person of the entry that `about` names,
 * and whoever makes events may leave it empty.
 */
#ifndef RECORDS_EVENT_H
#define RECORDS_EVENT_H

#include <stdbool.h>
#include <stdint.h>

#include "records/sodium.h"

enum {
    REC_EVENT_UUID_BYTES = 37,       /* with its NUL */
    REC_EVENT_WORD_BYTES = 65,       /* an id (text_is_id), with its NUL */
    REC_EVENT_LIST_BYTES_MAX = 6500, /* of one list: REC_LIST_MAX words and the blanks between */
};

typedef enum {
    REC_EVENT_ASSIGNMENT,
    REC_EVENT_RUN,
    REC_EVENT_VOID,
    REC_EVENT_OBSERVATION,
    REC_EVENT_SIGNATURE,
    REC_EVENT_ACKNOWLEDGEMENT,
    REC_EVENT_WITHDRAWAL,
    REC_EVENT_PAPER,
    REC_EVENT_ROLE,
    REC_EVENT_KEY,
    REC_EVENT_KIND_COUNT
} RecEventKind;

/* How a run ended. One that was broken off counts as an attempt, as one that was not passed. */
typedef enum { REC_RUN_COMPETENT, REC_RUN_NOT_YET, REC_RUN_BROKEN_OFF } RecRunVerdict;

typedef enum { REC_SIGNED, REC_WITH_BUDDY, REC_REFUSED } RecDecision;

typedef struct {
    char station[REC_EVENT_UUID_BYTES]; /* of the entry */
    int64_t number;
    char hash[REC_HEX_BYTES];
    int64_t time_us; /* PC time of the entry, since 1970, UTC */
    RecEventKind kind;
    char person[REC_EVENT_UUID_BYTES];
    char author[REC_EVENT_UUID_BYTES]; /* or "station" */
    char other[REC_EVENT_UUID_BYTES];
    char subject[REC_EVENT_WORD_BYTES];
    char about[REC_HEX_BYTES]; /* hash of another entry */
    char key[REC_HEX_BYTES];   /* a public key; 64 zeros: lost */
    bool is_assessment, is_scripted, is_good;
    RecRunVerdict verdict;
    RecDecision decision;
    int32_t day, until_day; /* days since 1970-01-01 */
    /* Words with one blank between two, at most REC_EVENT_LIST_BYTES_MAX bytes; NULL or "": none.
     * Borrowed as long as the event is. `evidence` holds hashes. */
    const char *lines, *products, *checks, *evidence;
} RecEvent;

#endif
