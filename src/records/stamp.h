/* Points of time as the ledger writes them: RFC 3339, UTC, microseconds, in one spelling. */
#ifndef RECORDS_STAMP_H
#define RECORDS_STAMP_H

#include <stdbool.h>
#include <stdint.h>

#include "base/check.h"

enum { REC_STAMP_BYTES = 28 }; /* "2026-03-02T09:14:31.120000Z" and its NUL */

/* Microseconds since 1970-01-01 00:00 UTC as text. A time outside 1970 to 9999, which only a broken
 * PC clock shows, is written as the nearer end. */
void rec_stamp_print(int64_t time_us, char out[REC_STAMP_BYTES]);

/* Read what rec_stamp_print writes; false for any other spelling and for days that do not exist. */
MUST_USE bool rec_stamp_read(const char *text, int64_t *time_us);

/* True for a day as "YYYY-MM-DD" that exists, from 1970 on. */
MUST_USE bool rec_is_date(const char *text);

#endif
