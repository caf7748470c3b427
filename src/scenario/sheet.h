/* A table as spreadsheets write it: CSV, RFC 4180.
 *
 * Rows end in CRLF or LF, the last one may end without; cells stand between commas or semicolons,
 * whichever of the two the first row has more of. A cell in double quotes may hold separators, ends
 * of lines and "" for one quote; blanks around a cell belong to it. A byte order mark in front is
 * skipped. Rows may differ in how many cells they have: the caller knows what that means.
 *
 * A message reads "FILE:ROW:COLUMN: error: ...", row and column counted from 1 as a spreadsheet
 * does, the headings being row 1. That is not a line of the file when cells hold ends of lines.
 */
#ifndef SCENARIO_SHEET_H
#define SCENARIO_SHEET_H

#include <stdbool.h>

#include "base/err.h"

enum {
    SHEET_BYTES_MAX = 16 * 1024 * 1024,
    SHEET_ROWS_MAX = 20000, /* the headings among them */
    SHEET_COLUMNS_MAX = 100,
    SHEET_CELL_BYTES_MAX = 4000, /* its quotes resolved */
};

typedef struct Sheet Sheet;

/* Read `len` bytes; `file` names them in messages. On true the caller ends *out with sheet_free.
 * ERR_INPUT at the place of what is no CSV, is no UTF-8 or goes over a limit; ERR_RANGE over
 * SHEET_BYTES_MAX. */
MUST_USE bool sheet_parse(const char *file, const char *bytes, size_t len, Sheet **out, Err *err);

/* End it; takes NULL. */
void sheet_free(Sheet *sheet);

/* How many rows there are, at least 1, and cells in one of them, at least 1; from 0. */
size_t sheet_rows(const Sheet *sheet);
size_t sheet_columns(const Sheet *sheet, size_t row);

/* What a cell holds, NUL-ended; borrowed from the sheet. Both are below their counts. */
const char *sheet_cell(const Sheet *sheet, size_t row, size_t column);

/* ',' or ';'. */
char sheet_separator(const Sheet *sheet);

#endif
