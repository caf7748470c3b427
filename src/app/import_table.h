/* The table of an import: its columns, headings, cells and rows, and what is wrong with it. Shared
 * by the files of the import alone. */
#ifndef APP_IMPORT_TABLE_H
#define APP_IMPORT_TABLE_H

#include "app/import.h"
#include "base/text.h"
#include "scenario/edit.h"
#include "scenario/sheet.h"

typedef enum {
    CELL_TEXT,
    CELL_NUMBER,
    CELL_NUMBERS,   /* whole numbers with blanks between */
    CELL_WORDS,     /* words with blanks between */
    CELL_LANGUAGE,  /* a text in one of the site's languages */
    CELL_LIKE,      /* the line that a new one takes from */
    CELL_PRODUCT,   /* one program of a line, for which the row's other cells hold */
    CELL_VALIDATED, /* the sphere of one metal validated for it */
} CellKind;

/* One heading that we know. A '*' in its name stands for a language or metal. */
typedef struct {
    const char *name;
    const char *outer, *key; /* where its value stands in the site's JSON; outer may be NULL */
    CellKind kind;
    bool needed; /* by a new entry */
} ImportColumn;

enum { IMPORT_COLUMNS_MAX = 24 };

/* The columns of a list, ended by one without a name; the first tells entries apart. */
const ImportColumn *import_columns(SiteList list);

/* A heading of a table; the owner clears its name. */
typedef struct {
    Text name;                  /* as we call it; empty when the column is left out */
    const ImportColumn *column; /* NULL: it is left out */
    bool is_left_out;           /* and that was asked for */
    char word[SITE_ID_BYTES];   /* what the '*' stands for; of a plain name the first language */
} ImportHeading;

/* Which column a name is, with what its '*' stands for; NULL for none. */
const ImportColumn *import_find_column(SiteList list, const char *name, char word[SITE_ID_BYTES]);

/* Append a cell without the blanks around it. */
void import_trim(const char *cell, Text *out);

/* Append the JSON of a trimmed cell that is not empty. A number may have a decimal comma where
 * `separator` is a semicolon. False when it is not of its kind; `why` then says what it must be. */
MUST_USE bool import_json(CellKind kind, const char *cell, char separator, Text *out,
                          const char **why);

/* --- The import itself ---------------------------------------------------------------------- */

/* Not in the site, or not an entry. */
#define IMPORT_NONE SIZE_MAX

/* Something wrong at a cell. */
typedef struct {
    size_t row, column, number; /* in the order in which they were found */
    char *text;
} ImportComplaint;

/* One line, product, piece or person of the table. */
typedef struct {
    size_t row;        /* its first */
    Text key;          /* its id or name */
    size_t at;         /* in the site's list; IMPORT_NONE: new */
    bool mended;       /* something of it was wrong and is left out */
    bool lacks_column; /* what is missing has no column: all comes from the site's first */
    bool is_left_out;  /* it does not go with the rest of the site */
    Text json, told;
} ImportEntry;

struct Import {
    SiteList list;
    Text file, path; /* of the table, and of the site.json */
    MetalTable *metals;
    Kinds *kinds;
    Site *site;
    Edit old;   /* the site.json as it is */
    Text fresh; /* and as it would be */
    Sheet *sheet;
    ImportHeading headings[SHEET_COLUMNS_MAX];
    size_t heading_count;
    ImportEntry *entries;
    size_t entry_count;
    size_t *entry_of;  /* of each row */
    bool *bad;         /* cells that are left out, row by row */
    bool lacks_column; /* a new entry needs a column that is not there, and that was told */
    ImportComplaint *complaints;
    size_t complaint_count;
};

/* Note what is wrong at a cell; row and column from 0. */
void import_complain(Import *self, size_t row, size_t column, const char *text);

/* Whether a cell is left out. */
bool *import_bad_cell(const Import *self, size_t row, size_t column);

/* The table's column of one of ours; heading_count for none. */
size_t import_find_heading(const Import *self, const ImportColumn *column);

/* A cell without the blanks around it, which the caller clears; empty for one that is left out. */
Text import_cell(const Import *self, size_t row, size_t column);

/* True when the maps are maps to columns that there are. ERR_INPUT. */
MUST_USE bool import_check_maps(const ImportJob *job, Err *err);

/* Read the table and its headings. ERR_INPUT, ERR_IO, ERR_RANGE; what is wrong with a heading is
 * noted. */
MUST_USE bool import_read_table(Import *self, const ImportJob *job, Err *err);

/* Sort the rows by the entries they are about. */
void import_add_rows(Import *self);

#endif
