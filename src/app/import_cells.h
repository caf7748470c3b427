/* What a table's cells mean: headings and values. Shared by the files of the import alone. */
#ifndef APP_IMPORT_CELLS_H
#define APP_IMPORT_CELLS_H

#include "app/import.h"
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

#endif
