/* Who may add what: authority is checked for each act, when it is added and again by rec_verify,
 * from what the station knew at that place of its chain. Not for use outside records/.
 *
 *     any kind         the author is "station" or a person who was added before
 *     person           not added before
 *     role             the author is a supervisor, or the station for the very first supervisor; no
 *                      supervisor takes that role from themselves
 *     key              first: the person's own, none before · changed: the person's own · reissued:
 *                      by a supervisor who is another person · lost: by either; public is zeros
 *     station-key      by a supervisor
 *     attempt          by the station
 *     assignment       by a supervisor or trainer; the buddy is another person
 *     run              by a person; who supervises is an assessor or supervisor, and another person
 *     void             by an assessor or supervisor, of another person's run that is not void yet
 *     observation      by an assessor or supervisor, of another person; with answers
 *     signature        by an assessor or supervisor, for another person, signed with the key that
 *                      is theirs then. Its evidence, without which only a refusal can be, are runs
 *                      and observations of that person, not void, these of that competence
 *     acknowledgement  by the person, of a signature, withdrawal, observation or paper about them
 *     withdrawal       by an assessor or supervisor, not of what is their own, signed; of a
 *                      signature or paper that was not withdrawn yet
 *     correction       by a person
 *     paper            by a supervisor, for another person
 *     erasure          by the station, a supervisor or quality
 *     import, fork, clock, restore, store, start   by the station
 *
 * A role or key is the latest that the station knew: one entry takes the place of another when it
 * was written where the other was known. What a site demands beyond this is no matter of the
 * ledger.
 */
#ifndef RECORDS_RULES_H
#define RECORDS_RULES_H

#include "records/entry.h"

/* Check an entry against the facts of `store` that its station knew before it. ERR_INPUT says which
 * rule it breaks; it fails otherwise only as reading does. */
MUST_USE bool rec_rules_check(RecStore *store, const RecEntry *entry, Err *err);

/* Does the person have the role at that place of the station's chain? */
MUST_USE bool rec_rules_has_role(RecStore *store, const char *station, RecNumber number,
                                 const char *person, const char *role, bool *has, Err *err);

/* Whom the entry of that hash is about, "" for nobody. *found false when the station does not know
 * it at that place. */
MUST_USE bool rec_rules_whom(RecStore *store, const char *station, RecNumber number,
                             const char *about, char person[REC_ID_BYTES], bool *found, Err *err);

#endif
