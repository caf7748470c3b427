/* The real program's reports: exit codes, forms, and what it refuses. */
#include "program.h"

#include "scenario/json.h"

static void want_call(const char *folder, const char *line, int code, const char *says)
{
    Call call;
    run(folder, line, &call);
    const Text *said = code == 2 ? &call.err : &call.out;
    if (call.code != code || strstr(text_string(said), says) == NULL) {
        fail_msg("%s: %d, not %d with \"%s\":\n%s%s", line, call.code, code, says,
                 text_string(&call.out), text_string(&call.err));
    }
    call_clear(&call);
}

/* Ife plays by a script, which is no evidence: the board has her, and there is no certificate. */
static void test_report_over_a_store(void **state)
{
    const char *folder = folder_of(state);
    want_call(folder,
              "play $TREE/scenarios/ostrel-mill/the-beep.json --store store --person Ife "
              "--script $TREE/scenarios/ostrel-mill/the-beep.right.txt",
              0, "");
    want_call(folder, "report board --store store", 0, "Ife");
    want_call(folder, "report board --store store --csv", 0, "Ife,");
    want_call(folder, "report tonight --store store --here Ife", 0, "nobody");
    want_call(folder, "report tonight --store store --here Ife --backup store", 0,
              "Last backup: 20");
    want_call(folder, "report person --store store --person Ife --language pl", 0,
              "odegrany przez skrypt");
    want_call(folder,
              "report certificate --store store --person Ife --competence check-packs --json", 1,
              "\"state\": \"in training\"");
    want_call(folder, "report board --store store --as-of 2020-01-01 --csv", 0, "Ife,");
}

static void test_report_for_the_line(void **state)
{
    const char *folder = folder_of(state);
    want_call(folder, "report line --line b1", 0, "sliced loaves");
    want_call(folder, "report observation --competence check-cases --line d3 --language pl", 0,
              "[ ]");
}

static void test_report_pdf(void **state)
{
    const char *folder = folder_of(state);
    Text one = {0};
    Text two = {0};
    want_call(folder, "report line --line d1 --as-of 2026-11-25 --pdf one.pdf", 0, "");
    want_call(folder, "report line --line d1 --as-of 2026-11-25 --pdf=two.pdf", 0, "");
    read_file(folder, "one.pdf", &one);
    read_file(folder, "two.pdf", &two);
    assert_true(one.len > 1000);
    assert_memory_equal(one.bytes, "%PDF-", 5);
    assert_int_equal(one.len, two.len);
    assert_memory_equal(one.bytes, two.bytes, one.len);
    want_call(folder, "report line --line d1 --pdf nowhere/one.pdf", 2, "nowhere/one.pdf");
    text_clear(&one);
    text_clear(&two);
}

static void test_report_refuses(void **state)
{
    const char *folder = folder_of(state);
    static const struct {
        const char *line, *says;
    } rows[] = {
        {"report board --store nowhere", "nowhere"},
        {"report board --first", "unknown option"},
        {"report board --line d1", "report board has no use for --line"},
        {"report line --line d1 --json --csv", "only one of --json, --csv and --pdf"},
        {"report line --line d1 --as-of 25.11.2026", "--as-of is \"25.11.2026\""},
        {"report line --line d1 --language tlh", "no texts in the language \"tlh\""},
        {"report line --line d1 --language ../x", "no texts in the language \"../x\""},
        {"report line", "--line ID is missing"},
        {"report line --line d1 extra", "2 words behind it"},
        {"report tonight --store store --here Nobody", "nobody in this store"},
        {"report tonight --store store --backup nowhere", "nowhere/head"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        want_call(folder, rows[i].line, 2, rows[i].says);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_report_over_a_store),
        cmocka_unit_test(test_report_for_the_line),
        cmocka_unit_test(test_report_pdf),
        cmocka_unit_test(test_report_refuses),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
