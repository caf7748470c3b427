/* Tables as spreadsheets write them. */
#include "scenario/sheet.h"

#include "support.h"

#include "base/text.h"

/* What was read, as "a|b/c|d". */
static void print_sheet(const Sheet *sheet, Text *out)
{
    for (size_t row = 0; row < sheet_rows(sheet); row++) {
        text_add(out, row == 0 ? "" : "/");
        for (size_t column = 0; column < sheet_columns(sheet, row); column++) {
            text_addf(out, "%s%s", column == 0 ? "" : "|", sheet_cell(sheet, row, column));
        }
    }
}

/* The text reads as `want`, or is refused with the words `want`. */
static void check_text(const char *name, const char *bytes, size_t len, bool ok, const char *want)
{
    Sheet *sheet = NULL;
    Err err = {0};
    Text got = {0};
    bool was_read = sheet_parse("t.csv", bytes, len, &sheet, &err);
    if (was_read)
        print_sheet(sheet, &got);
    else
        text_add(&got, err.text);
    if (was_read != ok || strcmp(text_string(&got), want) != 0) {
        fail_msg("%s: got \"%.300s\", want \"%s\"", name, text_string(&got), want);
    }
    sheet_free(sheet);
    text_clear(&got);
}

/* The examples of RFC 4180 section 2, by the number of its rule (from memory). */
static void test_sheet_parse_rfc_4180(void **state)
{
    static const struct {
        const char *name, *text, *want;
    } rows[] = {
        {"1: a line each", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "aaa|bbb|ccc/zzz|yyy|xxx"},
        {"2: no break at the end", "aaa,bbb,ccc\r\nzzz,yyy,xxx", "aaa|bbb|ccc/zzz|yyy|xxx"},
        {"3: a header", "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
         "field_name|field_name|field_name/aaa|bbb|ccc/zzz|yyy|xxx"},
        {"4: spaces are part of a field", " aaa , bbb\r\n", " aaa | bbb"},
        {"5: quotes or none", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", "aaa|bbb|ccc/zzz|yyy|xxx"},
        {"6: breaks and commas in quotes", "\"aaa\",\"b\r\nb,b\",\"ccc\"\r\nzzz,yyy,xxx",
         "aaa|b\r\nb,b|ccc/zzz|yyy|xxx"},
        {"7: a quote is two", "\"aaa\",\"b\"\"bb\",\"ccc\"", "aaa|b\"bb|ccc"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_text(rows[i].name, rows[i].text, strlen(rows[i].text), true, rows[i].want);
    }
}

/* What spreadsheets do besides: common practice, no source. */
static void test_sheet_parse_spreadsheets(void **state)
{
    static const struct {
        const char *name, *text, *want;
    } rows[] = {
        {"byte order mark",
         "\xef\xbb\xbf"
         "a,b\r\n1,2\r\n",
         "a|b/1|2"},
        {"semicolons", "a;b\n1,5;2\n", "a|b/1,5|2"},
        {"more commas than semicolons", "a,b;c,d\n", "a|b;c|d"},
        {"as many", "a,b;c\n", "a|b;c"},
        {"semicolons in quotes are none", "\"a;b;c\",d\n", "a;b;c|d"},
        {"line feeds alone", "a,b\n\nc,d\n", "a|b//c|d"},
        {"empty cells", ",\r\n\"\",\r\n", "|/|"},
        {"one cell", "a", "a"},
        {"letters of every kind", "Jo\xc3\xa3o,\xe9\xba\xa5\n", "Jo\xc3\xa3o|\xe9\xba\xa5"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_text(rows[i].name, rows[i].text, strlen(rows[i].text), true, rows[i].want);
    }
}

static void test_sheet_parse_refuses(void **state)
{
    static const struct {
        const char *name, *text, *want;
    } rows[] = {
        {"nothing", "", "t.csv:1:1: error: the table is empty"},
        {"nothing but the mark", "\xef\xbb\xbf", "t.csv:1:1: error: the table is empty"},
        {"a workbook", "PK\x03\x04 and more",
         "t.csv:1:1: error: this is a workbook; save the spreadsheet as CSV in UTF-8"},
        {"UTF-16",
         "\xff\xfe"
         "a",
         "t.csv:1:1: error: this is UTF-16; save the spreadsheet as CSV in UTF-8"},
        {"UTF-16, the other way",
         "\xfe\xff"
         "a",
         "t.csv:1:1: error: this is UTF-16; save the spreadsheet as CSV in UTF-8"},
        {"open quote", "a,b\nc,\"d\n", "t.csv:2:2: error: a cell in quotes is not closed"},
        {"quote inside", "a,b\"c\n",
         "t.csv:1:2: error: a quote in a cell that does not begin with one"},
        {"behind a quote", "\"a\"b,c\n",
         "t.csv:1:1: error: something stands behind a cell's closing quote; a quote inside is "
         "written \"\""},
        {"carriage return", "a\rb\n", "t.csv:1:1: error: a carriage return without a line feed"},
        {"Latin-1", "a,b\nx,Jo\xe3o\n",
         "t.csv:2:2: error: the byte 0xe3 is not UTF-8; save the spreadsheet as CSV in UTF-8"},
        {"rows of a cell with a break count as one", "\"a\nb\",c\nd,e\"\n",
         "t.csv:2:2: error: a quote in a cell that does not begin with one"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        check_text(rows[i].name, rows[i].text, strlen(rows[i].text), false, rows[i].want);
    }
    check_text("NUL", "a,b\0c\n", 6, false,
               "t.csv:1:2: error: a cell holds the control character 0x00");
}

/* Read `unit` `count` times, with `end` behind; "" when it is taken, else what is said. */
static void check_many(const char *unit, size_t count, const char *end, const char *want)
{
    Sheet *sheet = NULL;
    Err err = {0};
    Text text = {0};
    for (size_t i = 0; i < count; i++) {
        text_add(&text, unit);
    }
    text_add(&text, end);
    if (sheet_parse("t.csv", text.bytes, text.len, &sheet, &err) != (want[0] == '\0') ||
        strcmp(err.text, want) != 0) {
        fail_msg("%zu of \"%s\": \"%s\", want \"%s\"", count, unit, err.text, want);
    }
    sheet_free(sheet);
    text_clear(&text);
}

static void test_sheet_parse_limits(void **state)
{
    (void)state;
    check_many("a\n", SHEET_ROWS_MAX, "", "");
    check_many("a\n", SHEET_ROWS_MAX + 1, "",
               "t.csv:20001:1: error: there are over 20000 rows, limit 1..20000");
    check_many(",", SHEET_COLUMNS_MAX - 1, "\n", "");
    check_many(",", SHEET_COLUMNS_MAX, "\n",
               "t.csv:1:101: error: the row has over 100 cells, limit 1..100");
    check_many("x", SHEET_CELL_BYTES_MAX, "\n", "");
    check_many("x", SHEET_CELL_BYTES_MAX + 1, "\n",
               "t.csv:1:1: error: the cell is 4001 bytes long, limit 0..4000");
    Text line = {0};
    for (int i = 0; i < 1023; i++) {
        text_add(&line, "y");
    }
    text_add(&line, "\n"); /* 1024 bytes: 16384 of them are SHEET_BYTES_MAX */
    check_many(line.bytes, 16384, "", "");
    check_many(line.bytes, 16384, "z", "t.csv: is 16777217 bytes long, limit 1..16777216");
    text_clear(&line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sheet_parse_rfc_4180),
        cmocka_unit_test(test_sheet_parse_spreadsheets),
        cmocka_unit_test(test_sheet_parse_refuses),
        cmocka_unit_test(test_sheet_parse_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
