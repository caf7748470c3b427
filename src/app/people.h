/* Who is here, what they may do, and how they prove that they are who they say.
 *
 * What the window, the command line and the tests need of people, one function each; the rules of
 * who may write what are the ledger's (records/rules.h), and what is added to them here is said at
 * each. People are ids; all records are open for writing where something is added.
 *
 * Every function fails as the ledger does: ERR_IO, ERR_DAMAGE, and ERR_INPUT or ERR_RANGE for what
 * is not allowed, with nothing added. A wrong PIN is no failure but an answer. */
#ifndef APP_PEOPLE_H
#define APP_PEOPLE_H

#include "records/competence.h"
#include "records/ledger.h"
#include "records/secrets.h"

/* --- First start ------------------------------------------------------------------------------ */

/* Make the store, or take one in which nobody is a supervisor yet, and put its first supervisor
 * there: a person of that name with a signing key under the passphrase. `code` gets the recovery
 * code, which is to be shown once and wiped. Nothing is made when name or passphrase will not do.
 *
 *   out   on true the open records, the caller's to close.
 */
typedef struct {
    const char *folder;
    const char *program; /* its version */
    const RecOutside *outside;
    const char *name;
    const char *passphrase;
} PeopleStart;
MUST_USE bool people_start(const PeopleStart *start, Records **out, char person[REC_ID_BYTES],
                           char code[REC_RECOVERY_TEXT_BYTES], Err *err);

/* --- People and roles ------------------------------------------------------------------------- */

/* The person of that name; ERR_INPUT, with the nearest name, when there is none. */
MUST_USE bool people_find(Records *records, const char *name, char person[REC_ID_BYTES], Err *err);

/* Add a person. The author is a supervisor or trainer. */
MUST_USE bool people_add(Records *records, const char *author, const char *name,
                         char person[REC_ID_BYTES], Err *err);

/* Give or take a role: "operator", "assessor", "supervisor", "quality", "trainer". Taking what was
 * not given is refused, and giving what is there already. */
MUST_USE bool people_set_role(Records *records, const char *author, const char *person,
                              const char *role, bool given, Err *err);
MUST_USE bool people_has_role(Records *records, const char *person, const char *role, bool *has,
                              Err *err);

/* Assign a competence to learn, with a colleague or "". */
MUST_USE bool people_assign(Records *records, const char *author, const char *person,
                            const Competence *competence, const char *buddy, Err *err);

/* A leaver: delete the name, and every remark and correction about the person, for good, with the
 * PIN and the sealed keys. What stays speaks of a number. Pictures of observations stay: they are
 * to show no face. *count is how many texts went. The author is a supervisor or quality, and
 * another person. */
MUST_USE bool people_erase(Records *records, const char *author, const char *person,
                           const char *reason, size_t *count, Err *err);

/* --- Proof ------------------------------------------------------------------------------------ */

typedef enum {
    PEOPLE_RIGHT,
    PEOPLE_WRONG,
    PEOPLE_MUST_WAIT, /* nothing was tried */
    PEOPLE_HAS_NONE,  /* there is no PIN or key to try */
} PeopleAnswer;

typedef struct {
    PeopleAnswer answer;
    int64_t failed;  /* tries in a row by now */
    int64_t wait_us; /* until the next may be, 0: none */
} PeopleTry;

/* What is wrong, as an error: for whoever has one try to make and cannot ask again. True when it
 * was right. */
MUST_USE bool people_want_right(const PeopleTry *tried, const char *what, Err *err);

/* Set a person's PIN. The author is the person or a supervisor. */
MUST_USE bool people_set_pin(Records *records, const char *author, const char *person,
                             const char *pin, Err *err);

/* Try a PIN. Failed tries, and the right one after them, become entries, and the wait after them
 * (rec_wait_us) is counted from there: neither closing the program nor the clock shortens it. */
MUST_USE bool people_try_pin(Records *records, const char *person, const char *pin,
                             PeopleTry *tried, Err *err);

/* Give a person a new signing key under a passphrase, with a new recovery code. The first is the
 * person's own doing; after that by the person who knows the old one ("changed"), or by another
 * supervisor when all is lost ("reissued"): `author` says which. */
MUST_USE bool people_make_key(Records *records, const char *author, const char *person,
                              const char *passphrase, char code[REC_RECOVERY_TEXT_BYTES], Err *err);

/* Open the key: on PEOPLE_RIGHT `seed` is filled, which the caller wipes after signing. */
MUST_USE bool people_open_key(Records *records, const char *person, const char *passphrase,
                              unsigned char seed[REC_SEED_BYTES], PeopleTry *tried, Err *err);

/* Put another passphrase in the place of the old one; or, by the recovery code, of a forgotten
 * one. The key stays the same, and so does the code. */
MUST_USE bool people_change_passphrase(Records *records, const char *person, const char *old,
                                       const char *passphrase, PeopleTry *tried, Err *err);
MUST_USE bool people_recover(Records *records, const char *person, const char *code,
                             const char *passphrase, PeopleTry *tried, Err *err);

/* Report a key as known to others: it signs nothing from now on. By its owner or a supervisor. */
MUST_USE bool people_lose_key(Records *records, const char *author, const char *person, Err *err);

/* --- Where they stand ------------------------------------------------------------------------- */

/* All that is needed to judge a person (or NULL: everybody) now, by the later of clock and last
 * entry: rec_standing(view.set, competence, person, &view.moment, ...). All zeros is empty. */
typedef struct {
    RecEventSet *set;
    RecHead *heads;
    RecStationEnd *ends;
    RecMoment moment;
} PeopleView;
MUST_USE bool people_view(Records *records, const char *person, PeopleView *out, Err *err);
void people_view_clear(PeopleView *view);

#endif
