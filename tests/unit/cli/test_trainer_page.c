/* docs/trainer.md, followed to the letter, and its tables and links. */
#include "page.h"

#define PAGE "docs/trainer.md"

/* How much of it there is at least; so that a page that is cut short does not pass. */
enum { FILES_MIN = 12, CHANGES_MIN = 4, COMMANDS_MIN = 20 };

static void test_fits(void **state)
{
    (void)state;
    assert_true(fits("", ""));
    assert_true(fits("a\nb\n", "a\nb\n"));
    assert_true(fits("a\n...\nd\n", "a\nb\nc\nd\n"));
    assert_true(fits("a\n...\n", "a\n"));
    assert_false(fits("a\n", "a\nb\n"));
    assert_false(fits("a\nb\n", "a\n"));
    assert_false(fits("a\n", "b\n"));
    assert_false(fits("...\nd\n", "d\ne\n"));
    Text text = {0};
    text_add(&text, "1  2026-11-25T18:29:41Z  start   \n2026-11-25\n");
    level(&text);
    assert_string_equal(text.bytes, "1  0000-00-00T00:00:00Z  start\n2026-11-25\n");
    text_clear(&text);
}

static void test_trainer_page(void **state)
{
    Page page;
    page_follow(PAGE, folder_of(state), &page);
    assert_true(page.files >= FILES_MIN && page.changes >= CHANGES_MIN);
    assert_true(page.commands >= COMMANDS_MIN);
}

/* --- Its links ------------------------------------------------------------------------------- */

/* What an anchor is made of: a heading's letters and digits, small, with - for each blank. */
static void add_anchor(const char *heading, size_t len, Text *out)
{
    for (size_t i = 0; i < len; i++) {
        char c = heading[i];
        if (c == ' ') c = '-';
        if (c >= 'A' && c <= 'Z') c = (char)(c - 'A' + 'a');
        bool stays = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-';
        if (stays) text_add_bytes(out, &c, 1);
    }
}

static bool has_anchor(const char *page, const char *anchor)
{
    bool found = false;
    for (const char *at = page; *at != '\0' && !found; at = next_line(at)) {
        size_t marks = strspn(at, "#");
        if (marks == 0 || at[marks] != ' ') continue;
        Text own = {0};
        const char *heading = at + marks + 1;
        add_anchor(heading, strcspn(heading, "\n"), &own);
        found = strcmp(text_string(&own), anchor) == 0;
        text_clear(&own);
    }
    return found;
}

/* Each link of a page of docs leads to a file of docs, which is installed as a whole, and to a
 * heading that is there. How many there are. */
static int follow_links(const char *name)
{
    Text page = {0};
    int count = 0;
    read_file("docs", name, &page);
    for (const char *at = strstr(page.bytes, "]("); at != NULL; at = strstr(at + 1, "](")) {
        Text file = {0};
        Text anchor = {0};
        Text target = {0};
        size_t len = strcspn(at + 2, "#)");
        size_t rest = strcspn(at + 2 + len, ")");
        text_add_bytes(&file, at + 2, len);
        if (rest > 0) text_add_bytes(&anchor, at + 2 + len + 1, rest - 1);
        count++;
        if (strncmp(text_string(&file), "../", 3) == 0) fail_msg("%s: %s", name, file.bytes);
        read_file("docs", len == 0 ? name : file.bytes, &target);
        if (anchor.len > 0 && !has_anchor(target.bytes, anchor.bytes)) {
            fail_msg("%s: there is no heading for %s", name, anchor.bytes);
        }
        text_clear(&file);
        text_clear(&anchor);
        text_clear(&target);
    }
    text_clear(&page);
    return count;
}

static void test_links(void **state)
{
    (void)state;
    assert_true(follow_links("trainer.md") > 8);
    assert_true(follow_links("files.md") > 4);
    assert_true(follow_links("supervisor.md") > 1);
    assert_true(follow_links("auditor.md") > 0);
    assert_true(follow_links("model.md") > 4);
}

/* --- Doing nothing --------------------------------------------------------------------------- */

/* What stands in cell `cell` of the row at `row`, from 0 on, without the blanks around it. */
static void cell_of(const char *row, int cell, Text *out)
{
    const char *at = row + 1;
    for (int i = 0; i < cell; i++) {
        at = strchr(at, '|') + 1;
    }
    const char *end = strchr(at, '|');
    assert_true(end != NULL && end < next_line(row));
    while (at < end && *at == ' ') {
        at++;
    }
    while (end > at && end[-1] == ' ') {
        end--;
    }
    text_add_bytes(out, at, (size_t)(end - at));
}

/* Whether a minute of standing by meets this rule, `rule` being its name in backquotes. */
static bool idleness_meets(const char *folder, const char *rule)
{
    Text scenario = {0};
    Call call = {0};
    text_add(
        &scenario,
        "{\"format\": \"threepass-scenario-1\", \"id\": \"idle\", \"title\": {\"en\": \"Idle\"},"
        "\"site\": \"varnley\", \"line\": \"p2\", \"product\": \"lasagne-400\","
        "\"role\": \"line-checker\", \"plan\": \"interval\", \"minutes\": 2,"
        "\"date\": \"2026-05-04\", \"clock\": \"10:00\", \"last_good_check\": \"09:00\","
        "\"fed\": true, \"kit\": [\"FE-20-11\"],"
        "\"scenes\": [{\"id\": \"line\", \"kind\": \"pass\", \"text\": {\"en\": \"It runs.\"}}],"
        "\"rubric\": [{\"id\": \"rule\", \"points\": 1, \"text\": {\"en\": \"Rule\"},"
        "\"need\": {\"rule\": \"");
    text_add_bytes(&scenario, rule + 1, strlen(rule) - 2);
    text_add(&scenario, "\"}}], \"pass_percent\": 100, \"scripts\": {\"right\": \"idle.txt\"}}");
    write_file(folder, "varnley/idle.json", scenario.bytes);
    write_file(folder, "varnley/idle.txt", "+1min next\n");
    run(folder, "play varnley/idle.json --script varnley/idle.txt", &call);
    if (call.code > 1) fail_msg("%s: %s", rule, text_string(&call.err));
    bool met = call.code == 0;
    call_clear(&call);
    text_clear(&scenario);
    return met;
}

/* Each rule's row: the critical step that the reference names, and what doing nothing comes to. */
static void test_rules_met_by_doing_nothing(void **state)
{
    Text page = {0};
    Text reference = {0};
    int count = 0;
    read_file(".", PAGE, &page);
    read_file("docs", "files.md", &reference);
    const char *at = strstr(page.bytes, "| ready-made rule ");
    assert_non_null(at);
    for (at = next_line(next_line(at)); *at == '|'; at = next_line(at)) {
        Text rule = {0};
        Text step = {0};
        Text says = {0};
        Text row = {0};
        cell_of(at, 0, &rule);
        cell_of(at, 1, &step);
        cell_of(at, 3, &says);
        text_addf(&row, step.len > 0 ? "\n| %s | %s | " : "\n| %s | %s| ", rule.bytes,
                  text_string(&step));
        if (strstr(reference.bytes, row.bytes) == NULL) fail_msg("files.md lacks%s", row.bytes);
        const char *met = idleness_meets(folder_of(state), rule.bytes) ? "yes" : "no";
        if (strncmp(says.bytes, met, strlen(met)) != 0) {
            fail_msg("%s: %s: the page says \"%s\", an idle run says %s", PAGE, rule.bytes,
                     says.bytes, met);
        }
        count++;
        text_clear(&rule);
        text_clear(&step);
        text_clear(&says);
        text_clear(&row);
    }
    assert_true(count >= 14);
    text_clear(&page);
    text_clear(&reference);
}

/* --- Its tables ------------------------------------------------------------------------------ */

/* Each word in the first cell of the reference's rows from `heading` on is in the page, too. */
static int look_for_words(const char *reference, const char *page, const char *heading)
{
    int count = 0;
    const char *at = strstr(reference, heading);
    if (at == NULL) fail_msg("no table \"%s\"", heading);
    for (at = next_line(next_line(at)); *at == '|'; at = next_line(at)) {
        const char *end = strchr(at + 1, '|');
        for (const char *word = strchr(at, '`'); word < end; word = strchr(word + 1, '`')) {
            const char *close = strchr(word + 1, '`');
            Text row = {0};
            text_add_bytes(&row, word, (size_t)(close - word) + 1);
            if (strstr(page, row.bytes) == NULL) fail_msg("%s lacks %s", PAGE, row.bytes);
            text_clear(&row);
            word = close;
            count++;
        }
    }
    return count;
}

static void test_tables_are_whole(void **state)
{
    (void)state;
    Text reference = {0};
    Text page = {0};
    read_file("docs", "files.md", &reference);
    read_file(".", PAGE, &page);
    const char *table = strstr(page.bytes, "\n## What can be said\n");
    assert_non_null(table);
    assert_true(look_for_words(reference.bytes, table, "| fault | with |") > 20);
    assert_true(look_for_words(reference.bytes, table, "| rule | for |") > 10);
    text_clear(&reference);
    text_clear(&page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fits),
        cmocka_unit_test(test_trainer_page),
        cmocka_unit_test(test_rules_met_by_doing_nothing),
        cmocka_unit_test(test_links),
        cmocka_unit_test(test_tables_are_whole),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
