/* Facts gathered for judging: packed, each person's together and in order. The order in which they
 * are added, and whether one is added twice, makes no difference. Below the line the inside, for
 * records/ alone.
 *
 * Memory: 88 bytes a fact and one copy of each different word (a hash has 64 characters), all in
 * all about 200 bytes a fact, and 300 for the moment in which they are put in order; REC_FACTS_MAX
 * bounds it. Running out stops the program.
 */
#ifndef RECORDS_FACT_SET_H
#define RECORDS_FACT_SET_H

#include <stddef.h>

#include "base/err.h"
#include "records/fact.h"

enum { REC_FACTS_MAX = 5000000 };

typedef struct RecFactSet RecFactSet;

/* An empty set; the caller ends it with rec_fact_set_free. */
MUST_USE RecFactSet *rec_fact_set_new(void);

/* End a set and what was borrowed from it; takes NULL. */
void rec_fact_set_free(RecFactSet *set);

/* Add a fact, which is copied. ERR_RANGE beyond REC_FACTS_MAX; ERR_INPUT for a fact without a
 * hash or with a list that is too long. The set is not sealed. */
MUST_USE bool rec_fact_set_add(RecFactSet *set, const RecFact *fact, Err *err);

/* All are added: put them in order. Facts about an entry that is not here are left out. */
void rec_fact_set_seal(RecFactSet *set);

/* The people of a sealed set who have facts other than roles and keys, in the order of their ids;
 * borrowed. */
size_t rec_fact_set_people(const RecFactSet *set);
const char *rec_fact_set_person(const RecFactSet *set, size_t index);

/* --------------------------------------------------------------------------------------------- */

typedef uint32_t RecWord; /* a text of the set: the same text, the same number; 0 is "" */

typedef struct {
    int64_t time_us, number;
    RecWord station, hash, person, author, other, subject, about, key;
    RecWord lines, products, checks, evidence;
    int32_t day, until_day;
    unsigned char kind, verdict, decision;
    bool is_assessment, is_scripted, is_good;
} RecPacked;

/* Some of a set's facts in order; borrowed. */
typedef struct {
    const RecPacked *facts;
    size_t count;
} RecFactRange;

/* The word of a text, 0 when the set has none such; and the text of a word, borrowed. */
RecWord rec_fact_set_word(const RecFactSet *set, const char *text);
const char *rec_fact_set_text(const RecFactSet *set, RecWord word);

/* A person's facts but roles and keys; or the roles and keys alone. */
RecFactRange rec_fact_set_of(const RecFactSet *set, RecWord person);
RecFactRange rec_fact_set_grants(const RecFactSet *set, RecWord person);

/* The fact of an entry's hash, NULL for none. */
const RecPacked *rec_fact_set_find(const RecFactSet *set, RecWord hash);

#endif
