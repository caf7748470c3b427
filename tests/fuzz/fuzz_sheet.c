/* Any bytes are a table within its limits, or one error at a row and column; and a table that is
 * written again, every cell in quotes, reads back the same. */
#include <string.h>

#include "base/text.h"
#include "fuzz/fuzz.h"
#include "scenario/sheet.h"

static void write_cell(const char *cell, Text *out)
{
    text_add(out, "\"");
    for (; *cell != '\0'; cell++) {
        bool is_quote = *cell == '"';
        text_add_bytes(out, is_quote ? "\"\"" : cell, is_quote ? 2 : 1);
    }
    text_add(out, "\"");
}

/* A first row of one cell has no separator that could be seen again. */
static char separator_of(const Sheet *sheet)
{
    if (sheet_columns(sheet, 0) == 1) return ',';
    return sheet_separator(sheet);
}

static void write_again(const Sheet *sheet, Text *out)
{
    char separator[] = {separator_of(sheet), '\0'};
    for (size_t row = 0; row < sheet_rows(sheet); row++) {
        for (size_t column = 0; column < sheet_columns(sheet, row); column++) {
            text_add(out, column == 0 ? "" : separator);
            write_cell(sheet_cell(sheet, row, column), out);
        }
        text_add(out, "\r\n");
    }
}

static void check_same(const Sheet *a, const Sheet *b)
{
    CHECK(sheet_rows(a) == sheet_rows(b) && sheet_rows(a) <= SHEET_ROWS_MAX);
    for (size_t row = 0; row < sheet_rows(a); row++) {
        CHECK(sheet_columns(a, row) == sheet_columns(b, row));
        CHECK(sheet_columns(a, row) >= 1 && sheet_columns(a, row) <= SHEET_COLUMNS_MAX);
        for (size_t column = 0; column < sheet_columns(a, row); column++) {
            const char *cell = sheet_cell(a, row, column);
            CHECK(strlen(cell) <= SHEET_CELL_BYTES_MAX);
            CHECK(strcmp(cell, sheet_cell(b, row, column)) == 0);
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Sheet *sheet = NULL;
    Sheet *again = NULL;
    Text text = {0};
    Err err = {0};
    if (!sheet_parse("any", (const char *)bytes, count, &sheet, &err)) {
        CHECK(err.code == ERR_RANGE || strncmp(err.text, "any:", strlen("any:")) == 0);
        return 0;
    }
    write_again(sheet, &text);
    if (text.len <= SHEET_BYTES_MAX) {
        CHECK(sheet_parse("again", text.bytes, text.len, &again, &err));
        check_same(sheet, again);
    }
    sheet_free(again);
    sheet_free(sheet);
    text_clear(&text);
    return 0;
}
