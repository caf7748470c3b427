/* How an entry's times and start follow from the entry before. Not for use outside records/. */
#ifndef RECORDS_CHAIN_H
#define RECORDS_CHAIN_H

#include "records/entry.h"

/* Check the entry's count of starts, after `starts` of its chain, and that PC time moved against
 * `before` (NULL: it is the first) only as a clock entry says. ERR_INPUT says what is wrong. */
MUST_USE bool rec_chain_check_times(const RecEntry *before, int64_t starts, const RecEntry *entry,
                                    Err *err);

#endif
