/* A course: what is read, what a bad one says at which place, and what is told of one beside its
 * site. Pieces of at most eight minutes are our own choice, no source. */
#include "bad.h"
#include "scenario/course.h"

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    Course *course = NULL;
    bool ok = course_parse(file, bytes, len, &course, err);
    assert_true(ok == (course != NULL));
    course_free(course);
    return ok;
}

static const char GOOD[] =
    "{\"$schema\": \"course.schema.json\", \"format\": \"threepass-course-1\", \"id\": \"c\",\n"
    " \"title\": {\"en\": \"C\"}, \"site\": \"mill\", \"competence\": \"routine\",\n"
    " \"steps\": [{\"scenario\": \"short\", \"as\": \"practice\"},\n"
    "  {\"scenario\": \"long\", \"as\": \"assessment\"}]}";

static const BadRow rows[] = {
    {"good", "mill", "mill", NULL, NULL},
    {"no competence", " \"competence\": \"routine\",", "", NULL, NULL},
    {"no object", GOOD, "^[]", NULL, "course: is an array, must be an object"},
    {"another format", "\"threepass-course-1\"", "^\"threepass-course-2\"", NULL,
     "format is \"threepass-course-2\", must be one of \"threepass-course-1\"; did you mean "
     "\"threepass-course-1\"?"},
    {"an unknown key", "\"competence\"", "^\"competense\"", NULL,
     "unknown key \"competense\"; did you mean \"competence\"?"},
    {"no id", " \"id\": \"c\",", "", "{", "id is missing"},
    {"no title", "\"title\": {\"en\": \"C\"}, ", "", "{", "title is missing"},
    {"no site", " \"site\": \"mill\",", "", "{", "site is missing"},
    {"an id with a blank", "\"mill\"", "^\"the mill\"", NULL,
     "site is \"the mill\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"no steps",
     "[{\"scenario\": \"short\", \"as\": \"practice\"},\n"
     "  {\"scenario\": \"long\", \"as\": \"assessment\"}]",
     "^[]", NULL, "steps has 0 elements, limit 1..100"},
    {"a step of another kind", "\"practice\"", "^\"practise\"", NULL,
     "as is \"practise\", must be one of \"practice\", \"assessment\"; did you mean \"practice\"?"},
    {"a step without its use", ", \"as\": \"practice\"", "", "{\"scenario\": \"short\"",
     "as is missing"},
    {"a step that is none", "{\"scenario\": \"short\", \"as\": \"practice\"}", "^\"short\"", NULL,
     "step: is a string, must be an object"},
    {"the same scenario twice", "\"long\"", "^\"short\"", NULL,
     "scenario \"short\" is there twice: what was seen before is no assessment"},
    {"no assessment", "\"assessment\"", "\"practice\"", "[{",
     "no step is an assessment: a course leads to one"},
    {"an assessment alone", "{\"scenario\": \"short\", \"as\": \"practice\"},\n  ", "", NULL, NULL},
};

static void test_course_parse_rows(void **state)
{
    (void)state;
    bad_check_rows(GOOD, rows, sizeof rows / sizeof rows[0], parse, NULL);
}

/* At the limit of steps, and one past it. */
static void test_course_parse_limit(void **state)
{
    (void)state;
    for (int count = COURSE_STEPS_MAX; count <= COURSE_STEPS_MAX + 1; count++) {
        Text text = {0};
        Err err = {0};
        text_add(&text, "{\"format\": \"threepass-course-1\", \"id\": \"c\", \"title\": "
                        "{\"en\": \"C\"}, \"site\": \"mill\", \"steps\": [");
        for (int i = 0; i < count; i++) {
            text_addf(&text, "%s{\"scenario\": \"s%d\", \"as\": \"%s\"}", i == 0 ? "" : ", ", i,
                      i == 0 ? "assessment" : "practice");
        }
        text_add(&text, "]}");
        assert_true(parse(NULL, "limit", text.bytes, text.len, &err) == (count == 100));
        if (count > 100) assert_non_null(strstr(err.text, "steps has 101 elements, limit 1..100"));
        text_clear(&text);
    }
}

/* --- Beside its site ------------------------------------------------------------------------- */

typedef struct {
    Text said;
} Heard;

static void hear(void *context, bool is_error, ErrPlace place, const char *text)
{
    Heard *heard = context;
    text_addf(&heard->said, "%d:%d: %s: %s\n", place.line, place.column,
              is_error ? "error" : "warning", text);
}

static void test_course_check_table(void **state)
{
    (void)state;
    static const struct {
        const char *name, *site, *first;
        int64_t minutes; /* of the practice */
        bool speaks_polish;
        const char *unread, *said;
    } table[] = {
        {"all is there", "mill", "short", 8, false, NULL, ""},
        {"practice that is too long", "mill", "short", 9, false, NULL,
         "3:25: warning: practice of 9 minutes: people learn in pieces of at most 8\n"},
        {"a scenario that is not there", "mill", "sort", 8, false, NULL,
         "3:25: error: the site has no scenario \"short\"; did you mean \"sort\"?\n"},
        {"a scenario like none", "mill", "entirely-other", 8, false, NULL,
         "3:25: error: the site has no scenario \"short\"\n"},
        {"another site", "dairy", "short", 8, false, NULL,
         "2:32: error: site is \"mill\", but the site read with it is \"dairy\"\n"},
        {"a language without a title", "mill", "short", 8, true, NULL,
         "2:11: warning: there is no \"pl\", which the site speaks: add it\n"},
        {"a file that cannot be read", "mill", "sort", 8, false, "short.json",
         "3:25: error: the site has no scenario \"short\" that can be read: mend short.json "
         "first\n"},
    };
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        Site site = {.languages = {"en", "pl"}, .language_count = table[i].speaks_polish ? 2 : 1};
        memcpy(site.id, table[i].site, strlen(table[i].site) + 1);
        /* the assessment may be longer */
        const CourseScenario known[] = {{table[i].first, table[i].minutes}, {"long", 30}};
        Course *course = NULL;
        Err err = {0};
        Heard heard = {{0}};
        if (!course_parse("file", GOOD, strlen(GOOD), &course, &err)) fail_msg("%s", err.text);
        course_check(course, &site, known, 2, table[i].unread, hear, &heard);
        if (strcmp(text_string(&heard.said), table[i].said) != 0) {
            fail_msg("%s: %s", table[i].name, text_string(&heard.said));
        }
        text_clear(&heard.said);
        course_free(course);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_course_parse_rows),
                                       cmocka_unit_test(test_course_parse_limit),
                                       cmocka_unit_test(test_course_check_table)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
