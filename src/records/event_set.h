/* Events gathered for judging: packed, each person's together and in order. The order in which they
 * are added, and whether one is added twice, makes no difference. Below the line the inside, for
 * records/ alone.
 *
 * Memory: 88 bytes an event and one copy of each different word (a hash has 64 characters), in all
 * about 200 bytes an event, and 300 for the moment in which they are put in order; REC_FACTS_MAX
 * bounds it. Running out stops the program.
 */
#ifndef RECORDS_EVENT_SET_H
#define RECORDS_EVENT_SET_H

#include <stddef.h>

#include "base/err.h"
#include "records/event.h"

enum { REC_FACTS_MAX = 5000000 };

typedef struct RecEventSet RecEventSet;

/* An empty set; the caller ends it with rec_event_set_free. */
MUST_USE RecEventSet *rec_event_set_new(void);

/* End a set and what was borrowed from it; takes NULL. */
void rec_event_set_free(RecEventSet *set);

/* Add an event, which is copied. ERR_RANGE beyond REC_FACTS_MAX; ERR_INPUT for an event without a
 * hash or with a list that is too long. The set is not sealed. */
MUST_USE bool rec_event_set_add(RecEventSet *set, const RecEvent *event, Err *err);

/* All are added: put them in order. Events about an entry that is not here are left out. */
void rec_event_set_seal(RecEventSet *set);

/* The people of a sealed set who have events other than roles and keys, in the order of their ids;
 * borrowed. */
size_t rec_event_set_people(const RecEventSet *set);
const char *rec_event_set_person(const RecEventSet *set, size_t index);

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

/* Some of a set's events in order; borrowed. */
typedef struct {
    const RecPacked *events;
    size_t count;
} RecEventRange;

/* The word of a text, 0 when the set has none such; and the text of a word, borrowed. */
RecWord rec_event_set_word(const RecEventSet *set, const char *text);
const char *rec_event_set_text(const RecEventSet *set, RecWord word);

/* A person's events but roles and keys; or the roles and keys alone. */
RecEventRange rec_event_set_of(const RecEventSet *set, RecWord person);
RecEventRange rec_event_set_grants(const RecEventSet *set, RecWord person);

/* The event of an entry's hash, NULL for none. */
const RecPacked *rec_event_set_find(const RecEventSet *set, RecWord hash);

#endif
