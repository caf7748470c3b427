/* Sign-offs from before the program, from a table of a spreadsheet into the ledger.
 *
 * Headings, in any order: name, competence, signed_on, good_until, signed_by, lines (with blanks
 * between; none: all). A row that the ledger has already is left, so that a table may be read
 * again. All that is wrong is told, row by row, before anything is written. */
#ifndef APP_PAPERS_H
#define APP_PAPERS_H

#include "app/people.h"

typedef struct Papers Papers;

/* Read the table `file` ("-": standard input) and compare it with the records. On true the caller
 * ends *out with papers_free; what is wrong with rows is told below. ERR_INPUT for what is no CSV
 * or has other headings, ERR_IO. */
MUST_USE bool papers_read(const char *file, Records *records, const Site *site, Papers **out,
                          Err *err);
void papers_free(Papers *papers);

/* What is wrong: "FILE:ROW:COLUMN: error: ..." */
size_t papers_error_count(const Papers *papers);
const char *papers_error(const Papers *papers, size_t index);

/* How many rows are new, and how many the ledger has. */
size_t papers_new_count(const Papers *papers);
size_t papers_same_count(const Papers *papers);

/* Write the new ones, an entry each, by a supervisor; there are no errors. *written is how many are
 * there, also when it fails on the way: reading the table again goes on behind them. */
MUST_USE bool papers_write(const Papers *papers, Records *records, const char *author,
                           size_t *written, Err *err);

#endif
