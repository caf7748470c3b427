/* From the ledger's facts (fact.h) to the events that standings are read from (event.h). */
#ifndef RECORDS_EVENT_OF_H
#define RECORDS_EVENT_OF_H

#include "records/event_set.h"
#include "records/ledger.h"

/* Read the event that a fact states into *out. *is_event is false, and *out empty, for an entry
 * whose kind says nothing about a competence.
 *
 * The fact's value is scanned for the few fields that are wanted, not parsed as JSON, so that a
 * board over a million facts costs little more than reading them. `lists` holds the event's lists
 * until the next call with it; it is all zeros before the first, and the caller clears it.
 * ERR_DAMAGE when the fact is not such as rec_fact_of makes: its views are to be made anew. */
MUST_USE bool rec_event_of(const RecFact *fact, Text *lists, RecEvent *out, bool *is_event,
                           Err *err);

/* All events that the standing of `person` needs (NULL: that of anybody), as a sealed set that the
 * caller ends with rec_event_set_free. Fails as rec_facts, rec_event_of and rec_event_set_add. */
MUST_USE bool rec_events_read(Records *records, const char *person, RecEventSet **out, Err *err);

#endif
