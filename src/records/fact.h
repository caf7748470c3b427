/* What one entry says about a person, in one row: what boards and competences read. */
#ifndef RECORDS_FACT_H
#define RECORDS_FACT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"

/* Every entry has one fact, computed from its bytes alone (rec_fact_of in entry.h), so that all of
 * them can be thrown away and made anew. Strings are never NULL and borrowed for the call that
 * hands the fact out; "" where an entry has no such thing. */
typedef struct {
    const char *station;
    int64_t number;
    const char *hash; /* the entry's, hex */
    int64_t time_us;
    const char *kind;
    const char *author;
    const char *person; /* whom it is about; of a run: who played */
    const char
        *subject;      /* of what: the competence, scenario, role, key, name or entry (ledger.h) */
    const char *value; /* the body as canonical JSON, but for contents, signatures and all of a
                          * result except "verdict" */
} RecFact;

/* Called for each fact; false with `err` filled ends the walk. */
typedef bool (*RecEachFact)(void *context, const RecFact *fact, Err *err);

#endif
