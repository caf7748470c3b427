/* The real program's import, as a trainer at a terminal would use it. */
#include "program.h"

static void expect(const char *folder, const char *arguments, int code, const char *out,
                   const char *err)
{
    Call call;
    run(folder, arguments, &call);
    if (call.code != code || strcmp(text_string(&call.out), out) != 0 ||
        strcmp(text_string(&call.err), err) != 0) {
        fail_msg("threepass %s: code %d, out:\n%.500s\nerr:\n%.400s", arguments, call.code,
                 text_string(&call.out), text_string(&call.err));
    }
    call_clear(&call);
}

static void test_import_dry_then_written(void **state)
{
    const char *folder = folder_of(state);
    Text before = {0};
    Text behind = {0};
    read_file("scenarios/ostrel-mill", "site.json", &before);
    write_file(folder, "site.json", before.bytes);
    write_file(folder, "staff.csv", "Worker;Hours;Phone\r\nIfe;late;1\r\nOdd;night;2\r\n");
    const char *call = "import people staff.csv --site . --map 'name=Worker' --map=shift=Hours "
                       "--map '=Phone'";
    Text written = {0};
    text_addf(&written, "%s --write", call);
    expect(folder, call, 0,
           "changed  Ife: shift \"early\" -> \"late\"\nadded    Odd: shift \"night\"\n"
           "1 added, 1 changed, 0 as they were. Nothing was written; --write does it.\n",
           "");
    read_file(folder, "site.json", &behind);
    assert_string_equal(behind.bytes, before.bytes);
    expect(folder, written.bytes, 0,
           "changed  Ife: shift \"early\" -> \"late\"\nadded    Odd: shift \"night\"\n"
           "1 added, 1 changed, 0 as they were. Written.\n",
           "");
    expect(folder, written.bytes, 0,
           "0 added, 0 changed, 2 as they were. There is nothing to write.\n", "");
    expect(folder, "check site.json", 0, "1 sites, 0 scenarios: 0 errors, 0 warnings\n", "");
    text_clear(&written);
    text_clear(&behind);
    text_clear(&before);
}

static void test_import_errors(void **state)
{
    const char *folder = folder_of(state);
    Text site = {0};
    Text behind = {0};
    read_file("scenarios/ostrel-mill", "site.json", &site);
    write_file(folder, "site.json", site.bytes);
    write_file(folder, "bad.csv", "id,diameter_mm,good_until\nSS-25-07,101,2027-02-29\n");
    expect(folder, "import pieces bad.csv --site . --write", 1, "2 errors. Nothing was written.\n",
           "bad.csv:2:2: error: diameter_mm is 101, limit 0.01..100\n"
           "bad.csv:2:3: error: good_until is \"2027-02-29\", must be a day of the calendar such "
           "as 2026-03-02\n");
    read_file(folder, "site.json", &behind);
    assert_string_equal(behind.bytes, site.bytes);
    expect(folder, "import heads bad.csv --site .", 2, "",
           "threepass: import knows lines, products, pieces and people, not \"heads\"\n");
    expect(folder, "import pieces bad.csv", 2, "", "threepass: import needs --site DIR\n");
    expect(folder, "import pieces none.csv --site .", 2, "",
           "none.csv: cannot open: No such file or directory\n");
    expect(folder, "import pieces bad.csv --site nowhere", 2, "",
           "nowhere/site.json: cannot open: No such file or directory\n");
    Text many = {0};
    text_add(&many, "import pieces bad.csv --site .");
    for (int i = 0; i < 101; i++) {
        text_add(&many, " --map '=x'");
    }
    expect(folder, many.bytes, 2, "", "threepass import: --map is given over 100 times\n");
    text_clear(&many);
    text_clear(&behind);
    text_clear(&site);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_import_dry_then_written),
        cmocka_unit_test(test_import_errors),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
