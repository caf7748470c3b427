/* The competences of a site: what a person can be signed for, by which assessments, what is looked
 * at on the real line, and the site's rules for how long that holds. */
#ifndef SCENARIO_COMPETENCE_H
#define SCENARIO_COMPETENCE_H

#include "scenario/site.h"

enum {
    COMPETENCES_MAX = 64, /* of a site */
    COMPETENCE_SCENARIOS_MAX = 32,
    COMPETENCE_ITEMS_MAX = 30, /* of a checklist */
};

/* Common practice, no source; each site sets its own. Under a competence's "rules" in the file,
 * by the same names. Limits are in competence.c. */
typedef struct {
    int64_t valid_months;         /* how long an assessment, and what rests on it, may speak */
    int64_t first_review_months;  /* after the first signature; 0: no first review */
    int64_t absence_months;       /* without doing the task; 0: absence ends nothing */
    int64_t retake_wait_hours;    /* after an assessment that was not passed */
    int64_t fails_before_retrain; /* in a row; 0: never */
    int64_t due_days;             /* before an end: due */
    bool other_form_after_failure;
    bool trainer_not_sole_assessor;
    bool named_buddy; /* a signature "with a named buddy only" is allowed */
} CompetenceRules;

/* One thing that is looked at on the real line. */
typedef struct {
    const char *id;
    SiteText text;
} CompetenceItem;

struct Competence {
    const char *id;
    SiteText title;
    SiteJob role;                      /* who it is for */
    const char *lines[SITE_LINES_MAX]; /* ids of lines of the site */
    int line_count;
    const char *scenarios[COMPETENCE_SCENARIOS_MAX]; /* ids: the forms that it is assessed with */
    ErrPlace scenario_places[COMPETENCE_SCENARIOS_MAX];
    int scenario_count;
    CompetenceItem checklist[COMPETENCE_ITEMS_MAX];
    int item_count;
    CompetenceRules rules;
    ErrPlace place;
};

/* The rules of a competence that says none. */
CompetenceRules competence_rules_default(void);

/* Read "competences" of `root`, the site's object, into `site`, whose lines are read: an array that
 * site_free ends; may be left out. ERR_INPUT at the place to blame. That the scenarios are there is
 * for whoever knows the folder to say (lint_competences). */
MUST_USE bool competence_read_all(Site *site, const JsonValue *root, Err *err);

/* The competence of that id, NULL for none; borrowed. */
const Competence *competence_find(const Site *site, const char *id);

#endif
