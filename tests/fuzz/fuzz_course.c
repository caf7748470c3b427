/* Any bytes are a course, or one error at a place. */
#include <string.h>

#include "fuzz/fuzz.h"
#include "scenario/course.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Course *course = NULL;
    Err err = {0};
    bool has_assessment = false;
    if (!course_parse("any", (const char *)bytes, count, &course, &err)) {
        CHECK(strncmp(err.text, "any:", strlen("any:")) == 0);
        return 0;
    }
    CHECK(course->step_count >= 1 && course->step_count <= COURSE_STEPS_MAX);
    for (int i = 0; i < course->step_count; i++) {
        has_assessment = has_assessment || course->steps[i].is_assessment;
        CHECK(text_is_id(course->steps[i].scenario));
    }
    CHECK(has_assessment && course_is_one(course->document));
    course_free(course);
    return 0;
}
