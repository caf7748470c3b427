/* Everything that one scenario needs, read and checked: from files, or from what a stored run
 * kept. */
#ifndef APP_WORK_H
#define APP_WORK_H

#include "base/text.h"
#include "scenario/scenario.h"

/* What a run is computed from, in the order in which it is read. Their bytes are kept with a
 * run. */
typedef enum {
    WORK_METALS,
    WORK_KINDS,
    WORK_SITE,
    WORK_FITTED,
    WORK_SCENARIO,
    WORK_PART_COUNT
} WorkPart;
extern const char *const work_part_names[]; /* NULL-ended: "metals", ... */

enum { WORK_BYTES_MAX = 8 * 1024 * 1024 }; /* of one part */

/* The margin beyond which a fit is told about: in ln of the ratio; 0.25 is about 8 % in diameter of
 * a magnetic sphere, whose signal grows with its volume (our own choice). */
#define WORK_FIT_MARGIN 0.25

typedef struct Work Work;

/* Read the site, `site.json` in `folder`, and fit it; and the scenario `scenario_file` in the same
 * folder (NULL: the site alone). `assets` is the folder of metals.json and kinds.json. `warn`, if
 * not NULL, hears where the fit stays far from the site. The caller ends *out with work_free.
 * ERR_INPUT at the place to blame, ERR_IO. */
MUST_USE bool work_read(const char *assets, const char *folder, const char *scenario_file,
                        SiteFitWarning *warn, void *context, Work **out, Err *err);

/* The two parts of that without a scenario: the site alone, and its fit, which takes the time. */
MUST_USE bool work_read_site(const char *assets, const char *folder, Work **out, Err *err);
MUST_USE bool work_fit(Work *work, SiteFitWarning *warn, void *context, Err *err);

/* The same for another scenario of a site that was read and fitted: nothing is fitted anew. `site`
 * is only borrowed for the call. */
MUST_USE bool work_read_beside(const Work *site, const char *folder, const char *scenario_file,
                               Work **out, Err *err);

/* The same from texts: all five parts, borrowed for the call. */
MUST_USE bool work_from_texts(const Text parts[WORK_PART_COUNT], Work **out, Err *err);

/* End it; takes NULL. */
void work_free(Work *work);

/* What was read; borrowed. The scenario is NULL when only a site was. */
const Site *work_site(const Work *work);
const Scenario *work_scenario(const Work *work);
const SiteFitted *work_fitted(const Work *work);
const Text *work_part(const Work *work, WorkPart part);

/* The right scripts of a scenario that has needs; none for another, and none from texts. */
const Text *work_right_scripts(const Work *work, int *count);

#endif
