/* What is decided about a person's competence: watched, signed, acknowledged, withdrawn, voided.
 *
 * A signature is tried out before it is made: the ladder (records/competence.h) judges the person
 * as if it stood, and one that would not count is not made. So the rules stand in one place.
 * People are ids. All fails as the ledger does, with nothing added; that a signature would not
 * count is no failure but an answer. */
#ifndef APP_SIGN_OFF_H
#define APP_SIGN_OFF_H

#include "app/people.h"
#include "app/texts.h"
#include "records/calendar.h"

/* What an assessor saw on the real line. */
typedef struct {
    const char *author, *person;
    const Competence *competence;
    const char *line;
    const char *seen_on; /* "YYYY-MM-DD", claimed; not after today */
    RecList answers;     /* to the checklist, in its order: "yes", "no", "not-seen" */
    bool is_good;        /* not with a "no" */
    const char *sheet;   /* number of the check sheet of that day; it stays, and names nobody */
    const char *remark;  /* may be erased; NULL: none */
    RecContent photo;    /* `bytes` NULL: none; it stays, and shows no face */
    const char *language;
} Observation;

/* ERR_INPUT for a line that is none of the competence, a day to come, answers that are too few, or
 * a good observation with a "no". The checklist is kept as it was read, with its ids. */
MUST_USE bool sign_observe(Records *records, const Observation *seen, RecAdded *added, Err *err);

typedef struct {
    const Site *site;
    const Texts *texts; /* of the statement */
    const char *language;
    const char *signer, *person;
    const Competence *competence;
    RecDecision decision;
    RecList lines, products, checks; /* none: all of them */
    const char *buddy;               /* with a buddy: who; else "" */
    const char *good_until;          /* "YYYY-MM-DD"; NULL: as long as the evidence speaks */
    const char *meaning;             /* names nobody; NULL: that of the texts */
    const unsigned char *seed;       /* the signer's; NULL: only try it out */
} SignOff;

/* All zeros is empty; sign_off_clear ends it. */
typedef struct {
    bool counts;    /* it would count, and with a seed it was made */
    Text statement; /* what the signer signs, to be shown before; names nobody, for it stays */
    RecReason reasons[2 * REC_WHY_COUNT]; /* not counting: why; `hash` is "" in each */
    int reason_count;
    char good_until[REC_DAY_BYTES];
    RecAdded added;
} SignOffAnswer;

/* Sign, or try it out. The evidence is all that counts now (rec_evidence). A refusal needs none.
 * ERR_INPUT for a line or product that is not there, or a signer who is no supervisor; ERR_RANGE
 * for a date beyond what the evidence carries. */
MUST_USE bool sign_off(Records *records, const SignOff *what, SignOffAnswer *answer, Err *err);
void sign_off_clear(SignOffAnswer *answer);

/* Who somebody's signature is about has read it. */
MUST_USE bool sign_acknowledge(Records *records, const char *person, const char *about, Err *err);

/* Withdraw a signature or paper; void a run; correct what an entry says. Reasons name nobody. */
MUST_USE bool sign_withdraw(Records *records, const char *author, const unsigned char *seed,
                            const char *about, const char *reason, Err *err);
MUST_USE bool sign_void(Records *records, const char *author, const char *about, const char *reason,
                        Err *err);
MUST_USE bool sign_correct(Records *records, const char *author, const char *about,
                           const char *text, const char *reason, Err *err);

/* The hash of an entry as people name it: its number at this station, or at least eight of the
 * first digits of its hash. ERR_INPUT when none or several fit. */
MUST_USE bool sign_find_entry(Records *records, const char *word, char hash[REC_HEX_BYTES],
                              Err *err);

#endif
