/* Points of time as text. */
#include "records/stamp.h"

#include <stdio.h>
#include <string.h>

enum { US_PER_S = 1000000, S_PER_DAY = 86400, DAYS_PER_ERA = 146097 };

static const int64_t STAMP_LAST_US = 253402300799999999; /* 9999-12-31T23:59:59.999999Z */

/* Years are counted from 1 March, so that a leap day is the last day of its year; 400 of them, an
 * era, have 146,097 days. 719,468 days lie between 0000-03-01 and 1970-01-01. */
enum { DAYS_TO_1970 = 719468 };

void rec_stamp_print(int64_t time_us, char out[REC_STAMP_BYTES])
{
    if (time_us < 0) time_us = 0;
    if (time_us > STAMP_LAST_US) time_us = STAMP_LAST_US;
    int64_t seconds = time_us / US_PER_S;
    int64_t days = seconds / S_PER_DAY + DAYS_TO_1970;
    int second = (int)(seconds % S_PER_DAY);
    int day_of_era = (int)(days % DAYS_PER_ERA);
    int year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int march_month = (5 * day_of_year + 2) / 153; /* March is 0; five months have 153 days */
    int day = day_of_year - (153 * march_month + 2) / 5 + 1;
    int month = march_month < 10 ? march_month + 3 : march_month - 9;
    int year = (int)(days / DAYS_PER_ERA) * 400 + year_of_era + (month <= 2 ? 1 : 0);
    char text[96]; /* room for any int, so that the compiler sees nothing is cut */
    (void)snprintf(text, sizeof text, "%04d-%02d-%02dT%02d:%02d:%02d.%06dZ", year, month, day,
                   second / 3600, second / 60 % 60, second % 60, (int)(time_us % US_PER_S));
    memcpy(out, text, REC_STAMP_BYTES - 1);
    out[REC_STAMP_BYTES - 1] = '\0';
}

static int read_digits(const char *text, int count)
{
    int value = 0;
    for (int i = 0; i < count; i++) {
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

bool rec_stamp_read(const char *text, int64_t *time_us)
{
    static const char form[] = "dddd-dd-ddTdd:dd:dd.ddddddZ";
    if (strlen(text) != sizeof form - 1) return false;
    for (size_t i = 0; i < sizeof form - 1; i++) {
        bool fits = form[i] == 'd' ? text[i] >= '0' && text[i] <= '9' : text[i] == form[i];
        if (!fits) return false;
    }
    int month = read_digits(text + 5, 2);
    int year = read_digits(text, 4) - (month <= 2 ? 1 : 0);
    if (month < 1 || month > 12 || year < 0) return false;
    int march_month = month > 2 ? month - 3 : month + 9;
    int64_t days = (int64_t)year * 365 + year / 4 - year / 100 + year / 400 +
                   (153 * march_month + 2) / 5 + read_digits(text + 8, 2) - 1 - DAYS_TO_1970;
    int second = (read_digits(text + 11, 2) * 60 + read_digits(text + 14, 2)) * 60 +
                 read_digits(text + 17, 2);
    int64_t seconds = days * S_PER_DAY + second;
    int64_t time = seconds * US_PER_S + read_digits(text + 20, 6);
    char again[REC_STAMP_BYTES];
    rec_stamp_print(time, again); /* 30 February or minute 60 comes back as another time */
    if (strcmp(again, text) != 0) return false;
    *time_us = time;
    return true;
}

bool rec_is_date(const char *text)
{
    char stamp[REC_STAMP_BYTES];
    int64_t time_us = 0;
    if (strlen(text) != 10) return false;
    (void)snprintf(stamp, sizeof stamp, "%sT00:00:00.000000Z", text);
    return rec_stamp_read(stamp, &time_us) && time_us >= 0;
}
