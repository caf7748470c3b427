/* From a table of a spreadsheet into a site: what would be added, changed and left; then the
 * writing.
 *
 * Each row is one line, product, test piece or person; the first column of docs/files.md's table
 * tells them apart. What the site has under that id or name is changed where a cell differs, and
 * keeps what no cell says; what it has not is added; nothing is taken away. Every cell is judged by
 * the site's own reader, and all that is wrong is told, row by row.
 */
#ifndef APP_IMPORT_H
#define APP_IMPORT_H

#include "scenario/site.h"

enum { IMPORT_MAPS_MAX = 100 };

/* What to read; all strings are borrowed for the call. */
typedef struct {
    SiteList list;
    const char *file;        /* the table; "-" is standard input */
    const char *folder;      /* of the site.json */
    const char *assets;      /* folder of metals.json and kinds.json */
    const char *const *maps; /* "OUR=THEIR HEADING"; without OUR their column is left out */
    size_t map_count;        /* 0 to IMPORT_MAPS_MAX */
} ImportJob;

typedef struct Import Import;

/* Read table and site and work out what would become of it; writes nothing. The caller ends *out
 * with import_free. What is wrong with the table's headings and rows is no failure but told below.
 * ERR_INPUT for a site that is not right, a table that is no CSV, or a bad map; ERR_IO. */
MUST_USE bool import_read(const ImportJob *job, Import **out, Err *err);
void import_free(Import *import);

/* What is wrong, in order of row and column: "FILE:ROW:COLUMN: error: ..." Row and column count
 * from 1, the headings being row 1. With any of it there is nothing to write. */
size_t import_error_count(const Import *import);
const char *import_error(const Import *import, size_t index);

/* How many rows add an entry, change one, or say what is there already. */
typedef struct {
    size_t added, changed, same;
} ImportCount;
ImportCount import_count(const Import *import);

/* Append for people what is added and changed, a line each. */
void import_tell(const Import *import, Text *out);

/* Write the site; there are no errors. It goes to disk beside the old one, is read back and checked
 * there, and only then takes its place. ERR_IO; ERR_INPUT when the site was changed by somebody
 * meanwhile. The old one is then as it was. */
MUST_USE bool import_write(const Import *import, Err *err);

#endif
