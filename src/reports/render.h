/* A page as text for a terminal, as CSV and as JSON. The same page gives the same bytes. */
#ifndef REPORTS_RENDER_H
#define REPORTS_RENDER_H

#include "reports/page.h"

enum { RENDER_COLUMNS = 80 };

/* Append the page for a terminal of RENDER_COLUMNS columns. A table that is wider is told row by
 * row, each cell behind its column's name. */
void render_text(const Page *page, Text *out);

/* Append the page's tables by RFC 4180, as one table: where the page has several, a first column
 * holds each one's id, and short rows are filled up. A cell that a spreadsheet would take for a
 * formula, because it begins with = + - @, a tab or a return, gets an apostrophe in front. */
void render_csv(const Page *page, Text *out);

/* Append the page as one JSON object: report, language, as_of, title, subtitle, fields {id: text,
 * null where to be filled in by hand}, tables {id: [{column's id: cell}]}, steps, drawings, text,
 * cautions, foot. A cell is a string, or {state, text, note} where it has a mark or a note. */
void render_json(const Page *page, Text *out);

#endif
