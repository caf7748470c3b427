/* Days as the standing of a person counts them: whole days since 1970-01-01, UTC, in the Gregorian
 * calendar. */
#ifndef RECORDS_CALENDAR_H
#define RECORDS_CALENDAR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/check.h"

enum { REC_DAY_BYTES = 11 }; /* "2026-03-02" and its NUL */

/* The day that holds a time in microseconds, and when a day begins. */
int32_t rec_day_of(int64_t time_us);
int64_t rec_day_begins_us(int32_t day);

/* The same day of the month so many months (0 to 1,200) later; where that month is shorter, its
 * last day. */
int32_t rec_day_add_months(int32_t day, int64_t months);

/* A day from 1970 to 9999 as text; one outside is written as the nearer end. */
void rec_day_print(int32_t day, char out[REC_DAY_BYTES]);

/* Read such a text of `len` bytes; false for any other spelling and for days that do not exist. */
MUST_USE bool rec_day_read(const char *text, size_t len, int32_t *day);

#endif
