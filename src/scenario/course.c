/* Reading a course, and holding it against its site. */
#include "scenario/course.h"

#include <stdlib.h>
#include <string.h>

#include "scenario/suggest.h"

static const char *const formats[] = {"threepass-course-1", NULL};

bool course_is_one(const JsonDoc *document)
{
    const JsonValue *format = json_get(json_root(document), "format");
    return format != NULL && json_kind(format) == JSON_STRING &&
           strcmp(json_string(format), formats[0]) == 0;
}

static bool read_step(const Course *course, const JsonValue *value, CourseStep *out, Err *err)
{
    static const char *const keys[] = {"scenario", "as", NULL};
    static const char *const uses[] = {"practice", "assessment", NULL};
    int use;
    if (!json_want_object(value, "step", keys, err) ||
        !json_read_id(value, "scenario", true, &out->scenario, err) ||
        !json_read_word(value, "as", true, uses, &use, err)) {
        return false;
    }
    out->is_assessment = use == 1;
    out->place = json_place(json_get(value, "scenario"));
    for (int i = 0; i < course->step_count; i++) {
        if (strcmp(course->steps[i].scenario, out->scenario) != 0) continue;
        return err_at(err, out->place,
                      "scenario \"%s\" is there twice: what was seen before is no assessment",
                      out->scenario);
    }
    return true;
}

static bool read_course(Course *course, Err *err)
{
    static const char *const keys[] = {"$schema", "format",     "id",    "title",
                                       "site",    "competence", "steps", NULL};
    const JsonValue *root = json_root(course->document);
    const JsonValue *steps;
    int format;
    bool has_assessment = false;
    bool is_object = json_kind(root) == JSON_OBJECT; /* a file of another kind says so first */
    course->competence = "";
    if (is_object && !json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_want_object(root, "course", keys, err) ||
        !json_read_id(root, "id", true, &course->id, err) ||
        !site_read_text(root, "title", true, &course->title, err) ||
        !json_read_id(root, "site", true, &course->site, err) ||
        !json_read_id(root, "competence", false, &course->competence, err) ||
        !json_need(root, "steps", &steps, err) ||
        !json_want_array(steps, "steps", 1, COURSE_STEPS_MAX, err)) {
        return false;
    }
    course->site_place = json_place(json_get(root, "site"));
    for (size_t i = 0; i < json_count(steps); i++, course->step_count++) {
        CourseStep *step = &course->steps[i];
        if (!read_step(course, json_at(steps, i), step, err)) return false;
        has_assessment = has_assessment || step->is_assessment;
    }
    if (has_assessment) return true;
    return err_at(err, json_place(steps), "no step is an assessment: a course leads to one");
}

bool course_parse(const char *file, const char *bytes, size_t len, Course **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    Course *course = check_calloc(1, sizeof *course);
    course->document = document;
    if (!read_course(course, err)) {
        course_free(course);
        return false;
    }
    *out = course;
    return true;
}

void course_free(Course *course)
{
    if (course == NULL) return;
    json_free(course->document);
    free(course);
}

/* --- Against its site ------------------------------------------------------------------------ */

typedef struct {
    const CourseScenario *known;
    int count;
    const char *unread;
    CourseTell *tell;
    void *context;
} Check;

static void check_step(const Check *check, const CourseStep *step)
{
    const CourseScenario *found = NULL;
    Text text = {0};
    for (int i = 0; i < check->count && found == NULL; i++) {
        if (strcmp(check->known[i].id, step->scenario) == 0) found = &check->known[i];
    }
    if (found == NULL) {
        const char **ids = check_calloc((size_t)check->count + 1, sizeof *ids);
        for (int i = 0; i < check->count; i++) {
            ids[i] = check->known[i].id;
        }
        const char *near = suggest_word(step->scenario, ids);
        text_addf(&text, "the site has no scenario \"%s\"", step->scenario);
        if (check->unread != NULL)
            text_addf(&text, " that can be read: mend %s first", check->unread);
        else if (near != NULL)
            text_addf(&text, "; did you mean \"%s\"?", near);
        check->tell(check->context, true, step->place, text.bytes);
        free(ids);
    } else if (!step->is_assessment && found->minutes > COURSE_PRACTICE_MINUTES_MAX) {
        text_addf(&text, "practice of %lld minutes: people learn in pieces of at most %d",
                  (long long)found->minutes, COURSE_PRACTICE_MINUTES_MAX);
        check->tell(check->context, false, step->place, text.bytes);
    }
    text_clear(&text);
}

void course_check(const Course *course, const Site *site, const CourseScenario known[], int count,
                  const char *unread, CourseTell *tell, void *context)
{
    const Check check = {known, count, unread, tell, context};
    Text text = {0};
    if (strcmp(course->site, site->id) != 0) {
        text_addf(&text, "site is \"%s\", but the site read with it is \"%s\"", course->site,
                  site->id);
        tell(context, true, course->site_place, text.bytes);
    }
    for (int i = 0; i < site->language_count; i++) {
        if (json_get(course->title.by_language, site->languages[i]) != NULL) continue;
        text_clear(&text);
        text_addf(&text, "there is no \"%s\", which the site speaks: add it", site->languages[i]);
        tell(context, false, json_place(course->title.by_language), text.bytes);
    }
    text_clear(&text);
    for (int i = 0; i < course->step_count; i++) {
        check_step(&check, &course->steps[i]);
    }
}
