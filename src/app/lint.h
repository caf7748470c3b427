/* What a scenario that can be read still has wrong: what nobody can reach, what nobody can miss,
 * what this detector would never show, what is not said in a language of the site. */
#ifndef APP_LINT_H
#define APP_LINT_H

#include "app/work.h"

/* Hears of each thing found, and what to do. */
typedef void LintTell(void *context, bool is_error, ErrPlace place, const char *text);

/* The chance per pass below which a right piece is told of. Common practice, no source: a check of
 * nine passes would else fail on a good line more than once in eleven. */
#define LINT_FOUND_CHANCE 0.99

/* Look at the work's scenario. ERR_RANGE when its head cannot be computed. */
MUST_USE bool lint_scenario(const Work *work, LintTell *tell, void *context, Err *err);

/* Look at a site's competences. `scenarios`, NULL-ended, are the ids of those in its folder; with
 * none at all a competence's own are not looked for. */
void lint_competences(const Site *site, const char *const scenarios[], LintTell *tell,
                      void *context);

#endif
