/* The trainer's check of site and scenario files, and the proof of a scenario by its own
 * scripts. */
#ifndef APP_INSPECT_H
#define APP_INSPECT_H

#include "app/app.h"

enum { INSPECT_SEEDS = 20 }; /* each script is proven with the seeds 1..20 */

typedef struct {
    int sites, scenarios, courses, scripts_played;
    int errors, warnings;
} InspectCount;

/* Hears of each thing found: a whole line, "file:line:column: error: text" or "... warning:
 * text". */
typedef void InspectTell(void *context, bool is_error, const char *text);

/* Check a scenario file and its scripts, a course, a site.json, or a folder with everything in and
 * below it, but for the scenarios and courses of a site that cannot be read. A course is a file of
 * the folder `courses` beside the site's. With `prove` each scenario's own scripts are
 * played: the right one must end competent, each other must miss its critical line; a line of the
 * rubric that no right run meets is warned of. Adds to *count. False with ERR_IO when the path
 * cannot be read at all; what is wrong with a file is told, not failed. */
MUST_USE bool inspect_path(const char *assets, const char *path, bool prove, InspectTell *tell,
                           void *context, InspectCount *count, Err *err);

/* "a/b.json" as its folder "a" ("." for none) and its name. */
void inspect_split(const char *path, Text *folder, const char **name);

#endif
