/* Reports over a store and a site: what is known is gathered here and handed to the builders of
 * reports/report.h. */
#ifndef APP_REPORTS_H
#define APP_REPORTS_H

#include "app/texts.h"
#include "reports/report.h"

typedef enum {
    REPORTS_BOARD,
    REPORTS_TONIGHT,
    REPORTS_PERSON,
    REPORTS_CERTIFICATE,
    REPORTS_LINE,
    REPORTS_OBSERVATION,
    REPORTS_COUNT
} ReportsKind;
extern const char *const reports_words[]; /* NULL-ended: "board", ... */

/* What is asked; all is borrowed. */
typedef struct {
    Records *records; /* open; of "line" and "observation" NULL: from no store */
    const Site *site;
    const Texts *texts;
    const char *language;   /* of texts and site */
    const char *person;     /* a name; NULL: none given */
    const char *competence; /* an id */
    const char *line;       /* an id */
    bool has_day;           /* as of the end of this day, else now */
    int32_t day;
    int64_t clock_us;        /* PC time */
    const char *const *here; /* names of who is here; none: the site's list */
    size_t here_count;
    const char *backup; /* folder of the last copy of the store; NULL: not named */
} ReportsAsk;

/* Make a report; the caller ends *out with page_free. *is_yes is false when the answer is no: a
 * certificate of somebody who is not signed. ERR_INPUT for a person, line or competence that is not
 * there or not named; else as reading the store fails. */
MUST_USE bool reports_make(ReportsKind kind, const ReportsAsk *ask, Page **out, bool *is_yes,
                           Err *err);

#endif
