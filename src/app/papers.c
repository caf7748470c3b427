/* Reading papers row by row. */
#include "app/papers.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/calendar.h"
#include "scenario/sheet.h"

typedef enum { NAME, COMPETENCE, SIGNED_ON, GOOD_UNTIL, SIGNED_BY, LINES, COLUMN_COUNT } Column;

static const char *const headings[COLUMN_COUNT + 1] = {
    "name", "competence", "signed_on", "good_until", "signed_by", "lines", NULL};

enum { LINES_MAX = SITE_LINES_MAX };

/* A row that is new; its cells are borrowed from the sheet. */
typedef struct {
    char person[REC_ID_BYTES];
    const char *cells[COLUMN_COUNT];
} Row;

struct Papers {
    Sheet *sheet;
    const Site *site;
    Text file;
    size_t columns[COLUMN_COUNT]; /* where each stands */
    Row *rows;
    size_t count, same;
    Text *errors;
    size_t error_count;
};

void papers_free(Papers *papers)
{
    if (papers == NULL) return;
    for (size_t i = 0; i < papers->error_count; i++) {
        text_clear(&papers->errors[i]);
    }
    sheet_free(papers->sheet);
    text_clear(&papers->file);
    free(papers->rows);
    free(papers->errors);
    free(papers);
}

static bool find_columns(Papers *papers, Err *err)
{
    for (int c = 0; c < COLUMN_COUNT; c++) {
        size_t at = 0;
        size_t count = sheet_columns(papers->sheet, 0);
        while (at < count && strcmp(sheet_cell(papers->sheet, 0, at), headings[c]) != 0) {
            at++;
        }
        if (at == count) {
            return err_set(err, ERR_INPUT, "%s:1:1: error: there is no heading \"%s\"",
                           papers->file.bytes, headings[c]);
        }
        papers->columns[c] = at;
    }
    return true;
}

static const char *cell_at(const Papers *papers, size_t row, Column column)
{
    size_t at = papers->columns[column];
    return at < sheet_columns(papers->sheet, row) ? sheet_cell(papers->sheet, row, at) : "";
}

static void complain(Papers *papers, size_t row, Column column, const char *text)
{
    Text *line = &papers->errors[papers->error_count++];
    text_addf(line, "%s:%zu:%zu: error: %s", papers->file.bytes, row + 1,
              papers->columns[column] + 1, text);
}

/* --- One row --------------------------------------------------------------------------------- */

/* The lines of a cell as a list; `room` holds their bytes. False when one is none of the
 * competence's. */
static bool split_lines(const Competence *competence, const char *cell, Text *room,
                        const char *out[LINES_MAX], size_t *count, Err *err)
{
    text_clear(room);
    text_add(room, cell);
    *count = 0;
    for (char *at = room->bytes; at != NULL && *at != '\0';) {
        size_t len = strcspn(at, " ");
        char *next = at[len] == '\0' ? at + len : at + len + 1;
        at[len] = '\0';
        bool is_line = len == 0;
        for (int i = 0; i < competence->line_count; i++) {
            if (strcmp(competence->lines[i], at) == 0) is_line = true;
        }
        if (!is_line || *count == LINES_MAX) {
            return err_set(err, ERR_INPUT, "line \"%s\" is none of the competence \"%s\"", at,
                           competence->id);
        }
        if (len > 0) out[(*count)++] = at;
        at = next;
    }
    return true;
}

static bool is_day(const char *cell, int32_t *day)
{
    return rec_day_read(cell, strlen(cell), day);
}

/* The competence's lines; the days, in their order and not to come. */
static void check_days(Papers *papers, size_t row, int32_t today)
{
    int32_t from = 0;
    int32_t until = 0;
    Err err = {0};
    const char *const cells[] = {cell_at(papers, row, SIGNED_ON), cell_at(papers, row, GOOD_UNTIL)};
    for (int i = 0; i < 2; i++) {
        if (is_day(cells[i], i == 0 ? &from : &until)) continue;
        (void)err_set(&err, ERR_INPUT, "%s is \"%.40s\", must be a day such as 2026-03-02",
                      headings[SIGNED_ON + i], cells[i]);
        complain(papers, row, (Column)(SIGNED_ON + i), err.text);
        return;
    }
    if (from > today) complain(papers, row, SIGNED_ON, "signed_on is a day to come");
    if (until < from) complain(papers, row, GOOD_UNTIL, "good_until is before signed_on");
}

static void check_lines(Papers *papers, size_t row)
{
    Text room = {0};
    const char *lines[LINES_MAX];
    size_t count = 0;
    Err err = {0};
    const Competence *competence = competence_find(papers->site, cell_at(papers, row, COMPETENCE));
    if (competence == NULL) {
        (void)err_set(&err, ERR_INPUT, "the site has no competence \"%.64s\"",
                      cell_at(papers, row, COMPETENCE));
        complain(papers, row, COMPETENCE, err.text);
    } else if (!split_lines(competence, cell_at(papers, row, LINES), &room, lines, &count, &err)) {
        complain(papers, row, LINES, err.text);
    }
    text_clear(&room);
}

/* A paper as the ledger has it. */
typedef struct {
    const char *competence, *signed_on;
    bool found;
} Same;

static bool compare(void *context, const RecFact *fact, Err *err)
{
    Same *same = context;
    Text day = {0};
    (void)err;
    text_addf(&day, "\"signed_on\":\"%s\"", same->signed_on);
    if (strcmp(fact->subject, same->competence) == 0 && strstr(fact->value, day.bytes) != NULL) {
        same->found = true;
    }
    text_clear(&day);
    return true;
}

static bool read_row(Papers *papers, Records *records, size_t row, int32_t today, Err *err)
{
    Row *out = &papers->rows[papers->count];
    Err why = {0};
    size_t before = papers->error_count;
    if (!people_find(records, cell_at(papers, row, NAME), out->person, &why)) {
        if (why.code != ERR_INPUT) {
            *err = why;
            return false;
        }
        complain(papers, row, NAME, why.text);
    }
    check_lines(papers, row);
    check_days(papers, row, today);
    size_t len = strlen(cell_at(papers, row, SIGNED_BY));
    if (len == 0 || len > REC_NAME_BYTES_MAX) {
        (void)err_set(&why, ERR_RANGE, "signed_by has %zu bytes, limit 1..%d", len,
                      REC_NAME_BYTES_MAX);
        complain(papers, row, SIGNED_BY, why.text);
    }
    if (papers->error_count > before) return true;
    for (int c = 0; c < COLUMN_COUNT; c++) {
        out->cells[c] = cell_at(papers, row, (Column)c);
    }
    Same same = {out->cells[COMPETENCE], out->cells[SIGNED_ON], false};
    if (!rec_facts(records, out->person, "paper", compare, &same, err)) return false;
    if (same.found)
        papers->same++;
    else
        papers->count++;
    return true;
}

/* --- The table ------------------------------------------------------------------------------- */

bool papers_read(const char *file, Records *records, const Site *site, Papers **out, Err *err)
{
    Text bytes = {0};
    int64_t wall_us = 0;
    int64_t uptime_us = 0;
    Papers *papers = check_calloc(1, sizeof *papers);
    papers->site = site;
    text_add(&papers->file, strcmp(file, "-") == 0 ? "standard input" : file);
    rec_now(records, &wall_us, &uptime_us);
    bool ok =
        os_file_read(file, SHEET_BYTES_MAX, &bytes, err) &&
        sheet_parse(papers->file.bytes, text_string(&bytes), bytes.len, &papers->sheet, err) &&
        find_columns(papers, err);
    if (ok) {
        size_t rows = sheet_rows(papers->sheet);
        papers->rows = check_calloc(rows, sizeof *papers->rows);
        papers->errors = check_calloc(rows * 2 * COLUMN_COUNT, sizeof *papers->errors);
        for (size_t row = 1; row < rows && ok; row++) {
            ok = read_row(papers, records, row, rec_day_of(wall_us), err);
        }
    }
    text_clear(&bytes);
    if (!ok) {
        papers_free(papers);
        return false;
    }
    *out = papers;
    return true;
}

size_t papers_error_count(const Papers *papers)
{
    return papers->error_count;
}

const char *papers_error(const Papers *papers, size_t index)
{
    return papers->errors[index].bytes;
}

size_t papers_new_count(const Papers *papers)
{
    return papers->count;
}

size_t papers_same_count(const Papers *papers)
{
    return papers->same;
}

bool papers_write(const Papers *papers, Records *records, const char *author, size_t *written,
                  Err *err)
{
    *written = 0;
    for (size_t i = 0; i < papers->count; i++) {
        const Row *row = &papers->rows[i];
        const char *lines[LINES_MAX];
        Text room = {0};
        RecNew what = {.kind = REC_KIND_PAPER,
                       .author = author,
                       .person = row->person,
                       .competence = row->cells[COMPETENCE],
                       .date = row->cells[SIGNED_ON],
                       .good_until = row->cells[GOOD_UNTIL],
                       .text = row->cells[SIGNED_BY],
                       .lines = {lines, 0}};
        const Competence *competence = competence_find(papers->site, row->cells[COMPETENCE]);
        bool ok =
            split_lines(competence, row->cells[LINES], &room, lines, &what.lines.count, err) &&
            rec_add(records, &what, NULL, err);
        text_clear(&room);
        if (!ok) return false;
        ++*written;
    }
    return true;
}
