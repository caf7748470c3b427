/* docs/supervisor.md and docs/auditor.md, followed to the letter on a copy of the example site. */
#include "page.h"

/* How much of them there is at least. */
enum { SUPERVISOR_COMMANDS_MIN = 15, AUDITOR_COMMANDS_MIN = 3 };

static void copy_site(const char *folder)
{
    Text command = {0};
    text_addf(&command, "cp -r scenarios/ostrel-mill '%s'/ostrel-mill", folder);
    assert_int_equal(system(command.bytes), 0);
    text_clear(&command);
}

static void test_supervisor_page(void **state)
{
    Page page;
    copy_site(folder_of(state));
    page_follow("docs/supervisor.md", folder_of(state), &page);
    assert_true(page.commands >= SUPERVISOR_COMMANDS_MIN);
}

static void test_auditor_page(void **state)
{
    Page page;
    page_follow("docs/auditor.md", folder_of(state), &page);
    assert_true(page.commands >= AUDITOR_COMMANDS_MIN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_supervisor_page),
        cmocka_unit_test(test_auditor_page),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
