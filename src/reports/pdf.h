/* A page as a PDF: A4, pages numbered, in whatever script its texts are, with the fonts of the
 * system (Debian's Noto). The same page and the same fonts give the same bytes: the document's
 * dates are the page's moment, never the clock's.
 *
 * The only user of cairo and pango; linked into the program that has them (CMakeLists.txt), so that
 * the quick verbs do not wait for these libraries to load.
 */
#ifndef REPORTS_PDF_H
#define REPORTS_PDF_H

#include "base/err.h"
#include "reports/page.h"

/* Append the PDF's bytes to `out`. ERR_IO, and nothing appended, when cairo cannot (memory,
 * fonts). */
MUST_USE bool pdf_print(const Page *page, Text *out, Err *err);

#endif
