/* docs/trainer.md, followed to the letter: each file is saved, each change made and each command
 * run in the page's order, and what is printed must be what the page shows.
 *
 * Nothing of the page is repeated here, so that it cannot go stale unseen. */
#include "program.h"

#include <stdio.h>

#define PAGE "docs/trainer.md"
#define COMMAND ".command"
#define PRINTED ".printed"

/* How much of it there is at least; so that a page that is cut short does not pass. */
enum { FILES_MIN = 12, CHANGES_MIN = 4, COMMANDS_MIN = 20 };

/* What has been read of the page so far. */
typedef struct {
    const char *folder;
    int line;     /* of the page, for messages */
    Text said;    /* the last line that was no block */
    Text file;    /* that a change is for */
    Text old;     /* what it takes away */
    Text command; /* the last one, in the block that is read */
    Text want;    /* and what the page shows that it prints */
    int files, changes, commands;
} Page;

/* --- Comparing ------------------------------------------------------------------------------- */

/* Every time of a record as one and the same, and no blanks at the ends of lines. */
static void level(Text *text)
{
    static const char shape[] = "0000-00-00T00:00:00Z";
    size_t to = 0;
    for (size_t i = 0; i + sizeof shape - 1 <= text->len; i++) {
        char *at = text->bytes + i;
        size_t same = 0;
        while (shape[same] == '0' ? at[same] >= '0' && at[same] <= '9' : at[same] == shape[same]) {
            if (shape[++same] == '\0') break;
        }
        if (same == sizeof shape - 1) memcpy(at, shape, same);
    }
    for (size_t i = 0; i < text->len; i++) {
        if (text->bytes[i] == '\n') {
            while (to > 0 && text->bytes[to - 1] == ' ') {
                to--;
            }
        }
        text->bytes[to++] = text->bytes[i];
    }
    if (text->bytes != NULL) text->bytes[to] = '\0';
    text->len = to;
}

static const char *next_line(const char *at)
{
    const char *end = strchr(at, '\n');
    return end == NULL ? at + strlen(at) : end + 1;
}

/* A line "..." of what is wanted stands for any number of lines. */
static bool fits(const char *want, const char *got)
{
    for (; *want != '\0'; want = next_line(want), got = next_line(got)) {
        if (strncmp(want, "...\n", 4) == 0) {
            while (!fits(next_line(want), got)) {
                if (*got == '\0') return false;
                got = next_line(got);
            }
            return true;
        }
        size_t len = (size_t)(next_line(want) - want);
        if ((size_t)(next_line(got) - got) != len || strncmp(want, got, len) != 0) return false;
    }
    return *got == '\0';
}

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

/* --- Blocks ---------------------------------------------------------------------------------- */

/* The name between "BEGIN`" and "`:", if the last line said so. */
static bool names_file(const Page *page, const char *begin, Text *out)
{
    const char *said = text_string(&page->said);
    size_t len = strlen(begin);
    if (strncmp(said, begin, len) != 0) return false;
    const char *end = strstr(said + len, "`:");
    if (end == NULL || end[2] != '\0') return false;
    text_add_bytes(out, said + len, (size_t)(end - said) - len);
    return true;
}

/* Put `by` where the old text stands, once in the file. Where that is the inside of a line, the
 * block's own end of line is cut off. */
static void change(Page *page, const Text *by)
{
    Text file = {0};
    Text changed = {0};
    read_file(page->folder, page->file.bytes, &file);
    size_t cut = strstr(text_string(&file), page->old.bytes) == NULL;
    page->old.bytes[page->old.len - cut] = '\0';
    char *at = strstr(text_string(&file), page->old.bytes);
    if (at == NULL) fail_msg("%s:%d: %s holds no such text", PAGE, page->line, page->file.bytes);
    if (strstr(at + 1, page->old.bytes) != NULL) {
        fail_msg("%s:%d: %s holds it twice", PAGE, page->line, page->file.bytes);
    }
    text_add_bytes(&changed, file.bytes, (size_t)(at - file.bytes));
    text_add_bytes(&changed, by->bytes, by->len - cut);
    text_add(&changed, at + page->old.len - cut);
    write_file(page->folder, page->file.bytes, changed.bytes);
    page->changes++;
    text_clear(&page->old);
    text_clear(&page->file);
    text_clear(&file);
    text_clear(&changed);
}

/* Run the command that is waiting, as a shell in the folder would, and compare. */
static void run_command(Page *page)
{
    if (page->command.len == 0) return;
    Text script = {0};
    Text call = {0};
    Text got = {0};
    const char *slash = strrchr(THREEPASS_PROGRAM, '/');
    text_add(&script, "exec </dev/null >" PRINTED " 2>&1\nPATH='");
    text_add_bytes(&script, THREEPASS_PROGRAM, (size_t)(slash - THREEPASS_PROGRAM));
    text_addf(&script, "':$PATH\nXDG_DATA_HOME=$PWD\nexport PATH XDG_DATA_HOME\n%s\n",
              page->command.bytes);
    write_file(page->folder, COMMAND, script.bytes);
    text_addf(&call, "cd '%s' && sh " COMMAND, page->folder);
    int status = system(call.bytes);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) <= 2);
    read_file(page->folder, PRINTED, &got);
    level(&got);
    level(&page->want);
    if (!fits(text_string(&page->want), text_string(&got))) {
        print_error("%s: before line %d: $ %s\n--- the page shows\n%s--- it prints\n%s", PAGE,
                    page->line, page->command.bytes, text_string(&page->want), text_string(&got));
        fail();
    }
    page->commands++;
    text_clear(&page->command);
    text_clear(&page->want);
    text_clear(&script);
    text_clear(&call);
    text_clear(&got);
}

static void run_block(Page *page, const Text *block)
{
    for (const char *at = text_string(block); *at != '\0'; at = next_line(at)) {
        size_t len = (size_t)(next_line(at) - at);
        if (strncmp(at, "$ ", 2) != 0) {
            text_add_bytes(&page->want, at, len);
            continue;
        }
        run_command(page);
        text_add_bytes(&page->command, at + 2, len - 3);
    }
    run_command(page);
}

static void follow(Page *page, const char *kind, const Text *block)
{
    Text name = {0};
    if (strcmp(kind, "console") == 0) {
        run_block(page, block);
    } else if (names_file(page, "Save this as `", &name)) {
        write_file(page->folder, name.bytes, text_string(block));
        page->files++;
    } else if (names_file(page, "Replace in `", &page->file)) {
        text_add(&page->old, text_string(block));
    } else if (strcmp(text_string(&page->said), "by:") == 0 && page->old.len > 0) {
        change(page, block);
    } else {
        fail_msg("%s:%d: a block that is no file, change or command", PAGE, page->line);
    }
    text_clear(&name);
}

static void test_trainer_page(void **state)
{
    Page page = {.folder = folder_of(state)};
    Text text = {0};
    Text block = {0};
    Text kind = {0};
    bool is_block = false;
    read_file(".", PAGE, &text);
    for (const char *at = text_string(&text); *at != '\0'; at = next_line(at)) {
        size_t len = (size_t)(next_line(at) - at) - 1;
        page.line++;
        if (strncmp(at, "```", 3) == 0) {
            if (is_block) follow(&page, text_string(&kind), &block);
            text_clear(&kind);
            text_clear(&block);
            text_add_bytes(&kind, at + 3, len - 3);
            is_block = !is_block;
        } else if (is_block) {
            text_add_bytes(&block, at, len + 1);
        } else if (len > 0) {
            text_clear(&page.said);
            text_add_bytes(&page.said, at, len);
        }
    }
    assert_false(is_block);
    assert_true(page.files >= FILES_MIN && page.changes >= CHANGES_MIN);
    assert_true(page.commands >= COMMANDS_MIN);
    text_clear(&page.said);
    text_clear(&text);
    text_clear(&block);
    text_clear(&kind);
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
