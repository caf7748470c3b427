/* "Did you mean": near words only, and the nearest. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "scenario/suggest.h"

static void test_suggest_word_rows(void **state)
{
    (void)state;
    static const char *const words[] = {"head", "heat", "aperture_width_mm", "aperture_height_mm",
                                        "up",   NULL};
    static const struct {
        const char *word;
        const char *want;
    } rows[] = {
        {"hed", "head"},
        {"heaf", "head"},  /* one edit from both: the first */
        {"heapt", "heat"}, /* two edits from head, one from heat */
        {"xeat", "heat"},
        {"hxxd", "head"},
        {"xxxd", NULL}, /* three edits */
        {"aperture_heigth_mm", "aperture_height_mm"},
        {"aperture_wid_mm", "aperture_width_mm"},
        {"aperture_mm", NULL}, /* six edits are over a third of eleven */
        {"ap", "up"},
        {"xy", NULL}, /* every letter replaced is no likeness */
        {"", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *got = suggest_word(rows[i].word, words);
        if (got == NULL && rows[i].want == NULL) continue;
        if (got == NULL || rows[i].want == NULL || strcmp(got, rows[i].want) != 0) {
            fail_msg("%s: got %s", rows[i].word, got == NULL ? "nothing" : got);
        }
    }
}

static void test_suggest_word_long(void **state)
{
    (void)state;
    static const char *const words[] = {"head", NULL};
    char word[1001];
    memset(word, 'x', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    assert_null(suggest_word(word, words));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_suggest_word_rows),
        cmocka_unit_test(test_suggest_word_long),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
