/* Reading CSV: one pass that takes quotes away and notes where each cell begins. */
#include "scenario/sheet.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { FIRST_CAPACITY = 256 };

struct Sheet {
    Text text;     /* the cells' contents, a NUL behind each */
    size_t *cells; /* where each begins in the text */
    size_t cell_count, cell_capacity;
    size_t firsts[SHEET_ROWS_MAX + 1]; /* the first cell of each row, and of the one past them */
    size_t rows;
    char separator;
};

typedef struct {
    Sheet *sheet;
    const char *file;
    const char *bytes;
    size_t len, at;
    Err *err;
} Scan;

/* Where the cell that is read now stands. */
static ErrPlace place_of(const Scan *scan)
{
    const Sheet *sheet = scan->sheet;
    size_t before = sheet->cell_count - sheet->firsts[sheet->rows];
    return (ErrPlace){scan->file, (int)sheet->rows + 1, (int)before + 1};
}

static bool is_at(const Scan *scan, char c)
{
    return scan->at < scan->len && scan->bytes[scan->at] == c;
}

static bool is_row_end(const Scan *scan)
{
    bool is_crlf =
        is_at(scan, '\r') && scan->at + 1 < scan->len && scan->bytes[scan->at + 1] == '\n';
    return scan->at == scan->len || is_crlf || is_at(scan, '\n');
}

static bool add_byte(Scan *scan)
{
    if (scan->bytes[scan->at] == '\0') {
        return err_at(scan->err, place_of(scan), "a cell holds the control character 0x00");
    }
    text_add_bytes(&scan->sheet->text, scan->bytes + scan->at++, 1);
    return true;
}

static bool read_quoted(Scan *scan)
{
    for (scan->at++;;) {
        if (scan->at == scan->len) {
            return err_at(scan->err, place_of(scan), "a cell in quotes is not closed");
        }
        if (is_at(scan, '"')) {
            scan->at++;
            if (!is_at(scan, '"')) break;
        }
        if (!add_byte(scan)) return false;
    }
    if (is_row_end(scan) || is_at(scan, scan->sheet->separator)) return true;
    return err_at(scan->err, place_of(scan),
                  "something stands behind a cell's closing quote; a quote inside is written \"\"");
}

static bool read_plain(Scan *scan)
{
    while (!is_row_end(scan) && !is_at(scan, scan->sheet->separator)) {
        if (is_at(scan, '"')) {
            return err_at(scan->err, place_of(scan),
                          "a quote in a cell that does not begin with one");
        }
        if (is_at(scan, '\r')) {
            return err_at(scan->err, place_of(scan), "a carriage return without a line feed");
        }
        if (!add_byte(scan)) return false;
    }
    return true;
}

static bool read_cell(Scan *scan)
{
    Sheet *sheet = scan->sheet;
    size_t start = sheet->text.len;
    size_t bad_at = 0;
    ErrPlace place = place_of(scan);
    if (place.column > SHEET_COLUMNS_MAX) {
        return err_at(scan->err, place, "the row has over %d cells, limit 1..%d", SHEET_COLUMNS_MAX,
                      SHEET_COLUMNS_MAX);
    }
    if (!(is_at(scan, '"') ? read_quoted(scan) : read_plain(scan))) return false;
    size_t len = sheet->text.len - start;
    if (len > SHEET_CELL_BYTES_MAX) {
        return err_at(scan->err, place, "the cell is %zu bytes long, limit 0..%d", len,
                      SHEET_CELL_BYTES_MAX);
    }
    if (len > 0 && !text_is_utf8(sheet->text.bytes + start, len, &bad_at)) {
        return err_at(scan->err, place,
                      "the byte 0x%02x is not UTF-8; save the spreadsheet as CSV in UTF-8",
                      (unsigned)(unsigned char)sheet->text.bytes[start + bad_at]);
    }
    text_add_bytes(&sheet->text, "", 1);
    if (sheet->cell_count == sheet->cell_capacity) {
        sheet->cell_capacity =
            sheet->cell_capacity == 0 ? FIRST_CAPACITY : sheet->cell_capacity * 2;
        sheet->cells = check_realloc(sheet->cells, sheet->cell_capacity, sizeof *sheet->cells);
    }
    sheet->cells[sheet->cell_count++] = start;
    return true;
}

static bool read_row(Scan *scan)
{
    Sheet *sheet = scan->sheet;
    if (sheet->rows == SHEET_ROWS_MAX) {
        return err_at(scan->err, place_of(scan), "there are over %d rows, limit 1..%d",
                      SHEET_ROWS_MAX, SHEET_ROWS_MAX);
    }
    for (;;) {
        if (!read_cell(scan)) return false;
        if (!is_at(scan, sheet->separator)) break;
        scan->at++;
    }
    if (is_at(scan, '\r')) scan->at++;
    if (is_at(scan, '\n')) scan->at++;
    sheet->firsts[++sheet->rows] = sheet->cell_count;
    return true;
}

/* Where a comma is the decimal sign, spreadsheets write semicolons. */
static char find_separator(const Scan *scan)
{
    size_t commas = 0;
    size_t semicolons = 0;
    bool quoted = false;
    for (size_t i = scan->at; i < scan->len && (quoted || scan->bytes[i] != '\n'); i++) {
        char c = scan->bytes[i];
        if (c == '"') quoted = !quoted;
        if (!quoted && c == ',') commas++;
        if (!quoted && c == ';') semicolons++;
    }
    return semicolons > commas ? ';' : ',';
}

/* What spreadsheets write besides CSV in UTF-8: a workbook, which is a ZIP file, and UTF-16. */
static bool refuse_other(const Scan *scan)
{
    bool is_workbook = scan->len >= 4 && memcmp(scan->bytes, "PK\x03\x04", 4) == 0;
    bool is_utf16 = scan->len >= 2 && (memcmp(scan->bytes, "\xff\xfe", 2) == 0 ||
                                       memcmp(scan->bytes, "\xfe\xff", 2) == 0);
    if (!is_workbook && !is_utf16) return true;
    return err_at(scan->err, place_of(scan), "this is %s; save the spreadsheet as CSV in UTF-8",
                  is_workbook ? "a workbook" : "UTF-16");
}

bool sheet_parse(const char *file, const char *bytes, size_t len, Sheet **out, Err *err)
{
    CHECK(file != NULL && (bytes != NULL || len == 0) && out != NULL && err != NULL);
    if (len > SHEET_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "%s: is %zu bytes long, limit 1..%d", file, len,
                       SHEET_BYTES_MAX);
    }
    Sheet *sheet = check_calloc(1, sizeof *sheet);
    Scan scan = {.sheet = sheet, .file = file, .bytes = bytes, .len = len, .err = err};
    if (len >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0) scan.at = 3;
    sheet->separator = find_separator(&scan);
    bool ok = scan.at < len;
    if (!ok) (void)err_at(err, place_of(&scan), "the table is empty");
    ok = ok && refuse_other(&scan);
    while (ok && scan.at < len) {
        ok = read_row(&scan);
    }
    if (!ok) {
        sheet_free(sheet);
        return false;
    }
    *out = sheet;
    return true;
}

void sheet_free(Sheet *sheet)
{
    if (sheet == NULL) return;
    text_clear(&sheet->text);
    free(sheet->cells);
    free(sheet);
}

size_t sheet_rows(const Sheet *sheet)
{
    return sheet->rows;
}

size_t sheet_columns(const Sheet *sheet, size_t row)
{
    CHECK(row < sheet->rows);
    return sheet->firsts[row + 1] - sheet->firsts[row];
}

const char *sheet_cell(const Sheet *sheet, size_t row, size_t column)
{
    CHECK(column < sheet_columns(sheet, row));
    return sheet->text.bytes + sheet->cells[sheet->firsts[row] + column];
}

char sheet_separator(const Sheet *sheet)
{
    return sheet->separator;
}
