/* Each report over an invented store, against what it was; and what may never change about them.
 *
 *   test_reports [--bless]
 *
 * Ids and hashes, which are new in every store, are masked. `--bless` writes the files anew; the
 * commit then says why they changed. */
#include "unit/reports/story.h"

#include <ctype.h>

#include "app/reports.h"
#include "app/work.h"
#include "reports/pdf.h"
#include "reports/render.h"

#define FOLDER "tests/golden/reports"
#define MILL "scenarios/ostrel-mill"

typedef struct {
    Story story;
    Work *work;
    Texts *texts[2];
    bool is_bless;
} Fixture;

static const char *const languages[] = {"en", "pl"};

static ReportsAsk ask_of(const Fixture *fixture, int language)
{
    ReportsAsk ask = {.records = fixture->story.records,
                      .site = work_site(fixture->work),
                      .texts = fixture->texts[language],
                      .language = languages[language],
                      .has_day = true,
                      .clock_us = fixture->story.fake.wall_us};
    assert_true(rec_day_read("2026-11-25", 10, &ask.day));
    return ask;
}

static Page *make(ReportsKind kind, const ReportsAsk *ask, bool want_yes)
{
    Err err = {0};
    Page *page = NULL;
    bool is_yes = !want_yes;
    if (!reports_make(kind, ask, &page, &is_yes, &err)) fail_msg("%s", err.text);
    assert_int_equal(is_yes, want_yes);
    return page;
}

/* Every digit of a run of twelve or more in hexadecimal, and of a UUID, becomes a zero. */
static void mask(Text *text)
{
    for (size_t i = 0; i < text->len;) {
        size_t len = strspn(text->bytes + i, "0123456789abcdef-");
        bool is_date = len == strlen("2026-11-25");
        for (size_t j = i; len >= 12 && !is_date && j < i + len; j++) {
            if (text->bytes[j] != '-') text->bytes[j] = '0';
        }
        i += len > 0 ? len : 1;
    }
}

static int compare(const Fixture *fixture, const char *name, Text *got)
{
    Err err = {0};
    Text path = {0};
    Text want = {0};
    int differs = 0;
    mask(got);
    text_addf(&path, "%s/%s", FOLDER, name);
    if (fixture->is_bless) {
        if (!os_file_write(path.bytes, got->bytes, got->len, &err)) fail_msg("%s", err.text);
    } else if (!os_file_read(path.bytes, FILE_BYTES_MAX, &want, &err)) {
        print_error("%s\n", err.text);
        differs = 1;
    } else if (strcmp(text_string(&want), text_string(got)) != 0) {
        print_error("%s: differs; now it is:\n%s\n", path.bytes, got->bytes);
        differs = 1;
    }
    text_clear(&path);
    text_clear(&want);
    return differs;
}

static int compare_all(const Fixture *fixture, const char *name, Page *page)
{
    static const struct {
        const char *suffix;
        void (*render)(const Page *page, Text *out);
    } forms[] = {{"txt", render_text}, {"csv", render_csv}, {"json", render_json}};
    int differing = 0;
    for (int i = 0; i < 3; i++) {
        Text got = {0};
        Text file = {0};
        text_addf(&file, "%s.%s", name, forms[i].suffix);
        forms[i].render(page, &got);
        differing += compare(fixture, file.bytes, &got);
        text_clear(&got);
        text_clear(&file);
    }
    page_free(page);
    return differing;
}

static void test_reports_as_they_were(void **state)
{
    const Fixture *fixture = *state;
    static const char *const here[] = {"João", "Tomasz Łężyński", "Halina"};
    int differing = 0;
    for (int language = 0; language < 2; language++) {
        struct {
            const char *name;
            ReportsKind kind;
            const char *person, *competence, *line;
            bool is_yes;
        } reports[] = {
            {"board", REPORTS_BOARD, NULL, NULL, NULL, true},
            {"tonight", REPORTS_TONIGHT, NULL, NULL, NULL, true},
            {"person", REPORTS_PERSON, "Ife", NULL, NULL, true},
            {"certificate", REPORTS_CERTIFICATE, "João", "check-packs", NULL, true},
            {"certificate-paper", REPORTS_CERTIFICATE, "=Marit", "check-packs", NULL, true},
            {"certificate-buddy", REPORTS_CERTIFICATE, "Tomasz Łężyński", "check-packs", NULL,
             true},
            {"certificate-not", REPORTS_CERTIFICATE, "مريم", "check-packs", NULL, false},
            {"line", REPORTS_LINE, NULL, NULL, "d1", true},
            {"observation", REPORTS_OBSERVATION, NULL, "check-packs", NULL, true},
        };
        for (size_t i = 0; i < sizeof reports / sizeof reports[0]; i++) {
            Text name = {0};
            ReportsAsk ask = ask_of(fixture, language);
            ask.person = reports[i].person;
            ask.competence = reports[i].competence;
            ask.line = reports[i].line;
            if (reports[i].kind == REPORTS_TONIGHT) {
                ask.here = here;
                ask.here_count = 3;
                ask.backup = fixture->story.folder.bytes;
            }
            text_addf(&name, "%s-%s", reports[i].name, languages[language]);
            differing +=
                compare_all(fixture, name.bytes, make(reports[i].kind, &ask, reports[i].is_yes));
            text_clear(&name);
        }
    }
    assert_int_equal(differing, 0);
}

/* JSON is JSON (RFC 8259, by our own strict reader), and its tables hold each cell. */
static void test_reports_json(void **state)
{
    const Fixture *fixture = *state;
    ReportsAsk ask = ask_of(fixture, 0);
    Page *page = make(REPORTS_BOARD, &ask, true);
    Text text = {0};
    JsonDoc *doc = NULL;
    Err err = {0};
    render_json(page, &text);
    if (!json_parse("board", text.bytes, text.len, &doc, &err)) fail_msg("%s", err.text);
    const JsonValue *rows = json_get(json_get(json_root(doc), "tables"), "board");
    assert_int_equal(json_count(rows), 9);
    bool is_found = false;
    for (size_t i = 0; i < json_count(rows); i++) {
        const JsonValue *row = json_at(rows, i);
        if (strcmp(json_string(json_get(row, "person")), "João") != 0) continue;
        is_found = true;
        assert_string_equal(json_string(json_get(json_get(row, "check-packs"), "state")), "signed");
    }
    assert_true(is_found);
    json_free(doc);
    text_clear(&text);
    page_free(page);
}

/* A name that begins like a formula is no formula in a spreadsheet; a quote is doubled (RFC 4180
 * section 2, rule 7), every record has the same number of fields and ends in CR LF (rules 1, 4). */
static void test_csv_harmless(void **state)
{
    (void)state;
    static const char *const rows[][2] = {{"=1+1", "'=1+1"},  {"+48 1", "'+48 1"},
                                          {"-2", "'-2"},      {"@SUM(A1)", "'@SUM(A1)"},
                                          {"a,b", "\"a,b\""}, {"=\"x\"", "\"'=\"\"x\"\"\""},
                                          {"plain", "plain"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Page *page = page_new("test", "en", 0);
        Text got = {0};
        Text want = {0};
        page_table(page, "t", "");
        page_column(page, "a", "A");
        page_column(page, "b", "B");
        page_cell(page, PAGE_PLAIN, rows[i][0], "");
        page_cell(page, PAGE_SIGNED, "signed", "until 2027-01-01");
        render_csv(page, &got);
        text_addf(&want, "A,B\r\n%s,\"signed, until 2027-01-01\"\r\n", rows[i][1]);
        assert_string_equal(got.bytes, want.bytes);
        text_clear(&got);
        text_clear(&want);
        page_free(page);
    }
}

/* A name cannot steer a terminal, nor turn the text around it. */
static void test_page_keeps_clean(void **state)
{
    (void)state;
    Page *page = page_new("test", "en", 0);
    assert_string_equal(page_keep(page, "a\x1b[31mb\nc\x7f"), "a [31mb c ");
    assert_string_equal(page_keep(page, "x\xe2\x80\xaey\xe2\x81\xa9z\xc2\x85"), "x y z ");
    assert_string_equal(page_keep(page, "Łężyński ใจดี مريم"), "Łężyński ใจดี مريم");
    page_free(page);
}

/* No line of a report for the terminal is wider than it, but for a word that has no blank. */
static void test_text_width(void **state)
{
    const Fixture *fixture = *state;
    for (int i = 0; i < REPORTS_COUNT; i++) {
        ReportsAsk ask = ask_of(fixture, 1);
        Text text = {0};
        ask.person = "João";
        ask.competence = "check-packs";
        if (i == REPORTS_LINE) ask.line = "d1";
        Page *page = make((ReportsKind)i, &ask, true);
        render_text(page, &text);
        for (const char *line = text.bytes; *line != '\0';) {
            size_t len = strcspn(line, "\n");
            size_t wide = 0;
            for (size_t c = 0; c < len; c++) {
                wide += ((unsigned char)line[c] & 0xC0) != 0x80;
            }
            if (wide > RENDER_COLUMNS && strcspn(line + 20, " ") + 21 < len)
                fail_msg("%s: %zu columns: %.*s", reports_words[i], wide, (int)len, line);
            line += len + 1;
        }
        page_free(page);
        text_clear(&text);
    }
}

/* --- PDF ------------------------------------------------------------------------------------- */

static void shell(const char *command, Text *out)
{
    Err err = {0};
    Text line = {0};
    Text folder = {0};
    new_folder(&folder);
    text_addf(&line, "(%s) >'%s/out' 2>&1", command, folder.bytes);
    int status = system(line.bytes);
    Text path = path_in(&folder, "out");
    assert_ok(os_file_read(path.bytes, FILE_BYTES_MAX, out, &err));
    if (status != 0) fail_msg("%s: %s", command, text_string(out));
    (void)remove(path.bytes);
    (void)remove(folder.bytes);
    text_clear(&path);
    text_clear(&line);
    text_clear(&folder);
}

/* Print, print again, see that both are the same; check the file; and read its text. */
static void print_pdf(const Page *page, Text *text)
{
    Err err = {0};
    Text folder = {0};
    Text one = {0};
    Text two = {0};
    Text command = {0};
    new_folder(&folder);
    Text path = path_in(&folder, "page.pdf");
    assert_ok(pdf_print(page, &one, &err));
    assert_ok(pdf_print(page, &two, &err));
    assert_int_equal(one.len, two.len);
    assert_memory_equal(one.bytes, two.bytes, one.len);
    assert_ok(os_file_write(path.bytes, one.bytes, one.len, &err));
    text_addf(&command, "qpdf --check '%s' && pdftotext -layout '%s' -", path.bytes, path.bytes);
    shell(command.bytes, text);
    (void)remove(path.bytes);
    (void)remove(folder.bytes);
    text_clear(&path);
    text_clear(&folder);
    text_clear(&one);
    text_clear(&two);
    text_clear(&command);
}

static void want_text(const Text *text, const char *want)
{
    if (strstr(text_string(text), want) == NULL) {
        fail_msg("\"%s\" is not in\n%s", want, text_string(text));
    }
}

/* The letters in the order in which they are written, whatever poppler puts between them: its marks
 * of direction, and blanks where it takes the gap of two that do not join for one. */
static void want_letters(const Text *text, const char *want)
{
    Text letters = {0};
    for (const char *at = text_string(text); *at != '\0';) {
        bool is_mark = strncmp(at, "\xe2\x80\xab", 3) == 0 || strncmp(at, "\xe2\x80\xac", 3) == 0;
        if (!is_mark && *at != ' ') text_add_bytes(&letters, at, 1);
        at += is_mark ? 3 : 1;
    }
    want_text(&letters, want);
    text_clear(&letters);
}

/* qpdf finds nothing wrong, the same page has the same bytes, and poppler reads names in three
 * scripts. */
static void test_pdf_of_each_report(void **state)
{
    const Fixture *fixture = *state;
    for (int i = 0; i < REPORTS_COUNT; i++) {
        ReportsAsk ask = ask_of(fixture, 1);
        Text text = {0};
        ask.person = "Tomasz Łężyński";
        ask.competence = "check-packs";
        if (i == REPORTS_LINE) ask.line = "d1";
        Page *page = make((ReportsKind)i, &ask, true);
        print_pdf(page, &text);
        want_text(&text, "No syntax or stream encoding errors found");
        want_text(&text, " 1/");
        if (i == REPORTS_BOARD) {
            want_text(&text, "Tomasz Łężyński");
            want_text(&text, "สมชาย");
            want_letters(&text, "مريم");
            want_text(&text, "(nazwisko");
            want_text(&text, "usunięte)");
            assert_null(strstr(text.bytes, story_names[GONE]));
        }
        if (i == REPORTS_LINE || i == REPORTS_OBSERVATION) want_text(&text, " 1/1\n");
        page_free(page);
        text_clear(&text);
    }
}

/* A table longer than a page goes on with its head; a cell longer than a page loses nothing. */
static void test_pdf_long(void **state)
{
    (void)state;
    Page *page = page_new("test", "en", 0);
    Text words = {0};
    Text text = {0};
    for (int i = 0; i < 1500; i++) {
        text_addf(&words, "%sw%d", i == 0 ? "" : " ", i);
    }
    page->title = "Long";
    page_table(page, "t", "Table");
    page_column(page, "a", "Left");
    page_column(page, "b", "Right");
    for (int i = 0; i < 120; i++) {
        char number[16];
        (void)snprintf(number, sizeof number, "r%d", i);
        page_cell(page, PAGE_DUE, number, "note");
        page_cell(page, PAGE_PLAIN, i == 60 ? words.bytes : "x", "");
    }
    page_paragraph(page, words.bytes);
    print_pdf(page, &text);
    want_text(&text, "r0 ");
    want_text(&text, "r119 ");
    int heads = 0;
    for (const char *at = text.bytes; (at = strstr(at, "Right")) != NULL; at++) {
        heads++;
    }
    assert_true(heads >= 4);
    for (int i = 0; i < 1500; i += 7) {
        char word[16];
        int found = 0;
        int len = snprintf(word, sizeof word, "w%d", i);
        for (const char *at = text.bytes; (at = strstr(at, word)) != NULL; at++) {
            found += isspace((unsigned char)at[len]) != 0 || at[len] == '\0';
        }
        if (found != 2) fail_msg("%s stands %d times", word, found);
    }
    text_clear(&words);
    text_clear(&text);
    page_free(page);
}

/* --- What is refused ------------------------------------------------------------------------- */

static void test_reports_refused(void **state)
{
    const Fixture *fixture = *state;
    static const struct {
        ReportsKind kind;
        const char *person, *competence, *line, *want;
    } rows[] = {
        {REPORTS_PERSON, NULL, NULL, NULL, "--person NAME is missing"},
        {REPORTS_PERSON, "Nobody", NULL, NULL, "nobody in this store is called \"Nobody\""},
        {REPORTS_PERSON, "Somebody Who Left", NULL, NULL, "nobody in this store is called"},
        {REPORTS_CERTIFICATE, "João", NULL, NULL, "--competence ID is missing"},
        {REPORTS_CERTIFICATE, "João", "x", NULL, "the site has no competence \"x\""},
        {REPORTS_LINE, NULL, NULL, NULL, "--line ID is missing"},
        {REPORTS_LINE, NULL, NULL, "z9", "the site has no line \"z9\""},
        {REPORTS_OBSERVATION, NULL, "check-packs", "b3", "the competence has no line \"b3\""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Err err = {0};
        Page *page = NULL;
        bool is_yes;
        ReportsAsk ask = ask_of(fixture, 0);
        ask.person = rows[i].person;
        ask.competence = rows[i].competence;
        ask.line = rows[i].line;
        assert_false(reports_make(rows[i].kind, &ask, &page, &is_yes, &err));
        if (strstr(err.text, rows[i].want) == NULL) fail_msg("%s: %s", rows[i].want, err.text);
    }
}

static int set_up(void **state)
{
    Fixture *fixture = *state;
    Err err = {0};
    story_make(&fixture->story);
    for (int i = 0; i < 2; i++) {
        Text path = {0};
        text_addf(&path, "assets/texts/%s.json", languages[i]);
        if (!texts_load(path.bytes, &fixture->texts[i], &err)) return -1;
        text_clear(&path);
    }
    return work_read_site("assets", MILL, &fixture->work, &err) ? 0 : -1;
}

static int tear_down(void **state)
{
    Fixture *fixture = *state;
    story_end(&fixture->story);
    work_free(fixture->work);
    texts_free(fixture->texts[0]);
    texts_free(fixture->texts[1]);
    return 0;
}

static Fixture shared_fixture;

static int begin(void **state)
{
    *state = &shared_fixture;
    return set_up(state);
}

int main(int argc, char **argv)
{
    shared_fixture.is_bless = argc == 2 && strcmp(argv[1], "--bless") == 0;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reports_as_they_were),
        cmocka_unit_test(test_reports_json),
        cmocka_unit_test(test_csv_harmless),
        cmocka_unit_test(test_page_keeps_clean),
        cmocka_unit_test(test_text_width),
        cmocka_unit_test(test_pdf_of_each_report),
        cmocka_unit_test(test_pdf_long),
        cmocka_unit_test(test_reports_refused),
    };
    return cmocka_run_group_tests(tests, begin, tear_down);
}
