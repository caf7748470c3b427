/* A course: scenarios in the order in which a newcomer plays them, from the first lesson to the
 * assessment of one competence. */
#ifndef SCENARIO_COURSE_H
#define SCENARIO_COURSE_H

#include "scenario/site.h"

enum {
    COURSE_STEPS_MAX = 100,
    COURSE_PRACTICE_MINUTES_MAX = 8, /* of one piece of practice; more is told of */
};

typedef struct {
    const char *scenario; /* its id */
    bool is_assessment;   /* else practice */
    ErrPlace place;       /* of the id */
} CourseStep;

typedef struct {
    JsonDoc *document;
    const char *id, *site, *competence; /* ids; competence is "" when none is named */
    SiteText title;
    ErrPlace site_place;
    CourseStep
        steps[COURSE_STEPS_MAX]; /* 1 to step_count; one is an assessment, none comes twice */
    int step_count;
} Course;

/* Read a course. What it names is not looked up. The caller ends *out with course_free. ERR_INPUT
 * at the place to blame. */
MUST_USE bool course_parse(const char *file, const char *bytes, size_t len, Course **out, Err *err);
void course_free(Course *course);

/* A scenario that a course can have. */
typedef struct {
    const char *id;
    int64_t minutes;
} CourseScenario;

/* Hears of each thing found. */
typedef void CourseTell(void *context, bool is_error, ErrPlace place, const char *text);

/* Hold a course against its site and the scenarios of that: another site and a scenario that is not
 * there are errors; practice of over COURSE_PRACTICE_MINUTES_MAX and a title without a language of
 * the site are warnings. `unread` names a file beside them that cannot be read, and so may hold
 * what is missed; NULL: none. */
void course_check(const Course *course, const Site *site, const CourseScenario known[], int count,
                  const char *unread, CourseTell *tell, void *context);

/* Whether the document says that it is a course, whatever else is wrong with it. */
bool course_is_one(const JsonDoc *document);

#endif
