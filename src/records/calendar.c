/* Days and months. */
#include "records/calendar.h"

#include <string.h>

#include "base/check.h"
#include "records/stamp.h"

#define US_PER_DAY INT64_C(86400000000)

/* Counted from 1 March of a year 0, so that a leap day is a year's last day; eras of 400 years have
 * 146,097 days, and 719,468 days lie between 0000-03-01 and 1970-01-01 (the arithmetic of the
 * Gregorian calendar; from memory). */
enum { DAYS_PER_ERA = 146097, DAYS_TO_1970 = 719468, DAY_MAX = 2932896, MONTHS_MAX = 1200 };

typedef struct {
    int year, month, day; /* month 1 to 12 */
} Civil;

int32_t rec_day_of(int64_t time_us)
{
    int64_t day = time_us / US_PER_DAY - (time_us % US_PER_DAY < 0 ? 1 : 0);
    return (int32_t)(day < 0 ? 0 : day > DAY_MAX ? DAY_MAX : day);
}

int64_t rec_day_begins_us(int32_t day)
{
    return (int64_t)day * US_PER_DAY;
}

static Civil civil_of(int32_t day)
{
    int days = day + DAYS_TO_1970;
    int era = days / DAYS_PER_ERA;
    int of_era = days % DAYS_PER_ERA;
    int year_of_era = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int march_month = (5 * of_year + 2) / 153; /* March is 0; five months have 153 days */
    int month = march_month < 10 ? march_month + 3 : march_month - 9;
    return (Civil){era * 400 + year_of_era + (month <= 2 ? 1 : 0), month,
                   of_year - (153 * march_month + 2) / 5 + 1};
}

static int32_t day_of(Civil civil)
{
    int year = civil.month <= 2 ? civil.year - 1 : civil.year;
    int march_month = civil.month > 2 ? civil.month - 3 : civil.month + 9;
    int year_of_era = year % 400;
    int of_year = (153 * march_month + 2) / 5 + civil.day - 1;
    int of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + of_year;
    return year / 400 * DAYS_PER_ERA + of_era - DAYS_TO_1970;
}

int32_t rec_day_add_months(int32_t day, int64_t months)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    CHECK(months >= 0 && months <= MONTHS_MAX);
    Civil civil = civil_of(day < 0 ? 0 : day > DAY_MAX ? DAY_MAX : day);
    int month = civil.month - 1 + (int)months;
    civil.year += month / 12;
    civil.month = month % 12 + 1;
    bool is_leap = civil.year % 4 == 0 && (civil.year % 100 != 0 || civil.year % 400 == 0);
    int last = days[civil.month - 1] + (civil.month == 2 && is_leap ? 1 : 0);
    if (civil.day > last) civil.day = last;
    return day_of(civil);
}

void rec_day_print(int32_t day, char out[REC_DAY_BYTES])
{
    char stamp[REC_STAMP_BYTES];
    rec_stamp_print(rec_day_begins_us(day), stamp);
    memcpy(out, stamp, REC_DAY_BYTES - 1);
    out[REC_DAY_BYTES - 1] = '\0';
}

bool rec_day_read(const char *text, size_t len, int32_t *day)
{
    static const char form[] = "dddd-dd-dd";
    int parts[3] = {0};
    int part = 0;
    if (len != sizeof form - 1) return false;
    for (size_t i = 0; i < len; i++) {
        bool is_digit = text[i] >= '0' && text[i] <= '9';
        if (form[i] == 'd' ? !is_digit : text[i] != '-') return false;
        if (is_digit)
            parts[part] = 10 * parts[part] + text[i] - '0';
        else
            part++;
    }
    Civil civil = {parts[0], parts[1], parts[2]};
    if (civil.year < 1970 || civil.month < 1 || civil.month > 12) return false;
    int32_t value = day_of(civil);
    Civil again = civil_of(value); /* 30 February comes back as another day */
    if (again.month != civil.month || again.day != civil.day) return false;
    *day = value;
    return true;
}
