/* A page: what a report says, before anything is known of paper, terminal or file. Builders
 * (report.h) make it by the calls below, in the order in which it is read; renderers (render.h,
 * pdf.h) only read it.
 *
 * All strings are copied. What would disturb a terminal or turn the direction of the text around
 * it, control characters and the marks of direction U+202A..U+202E and U+2066..U+2069, becomes a
 * blank: names in a store are anybody's.
 */
#ifndef REPORTS_PAGE_H
#define REPORTS_PAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

/* A mark of state; the word always stands beside it. */
typedef enum {
    PAGE_PLAIN, /* no mark */
    PAGE_IN_TRAINING,
    PAGE_ASSESSED,
    PAGE_OBSERVED,
    PAGE_SIGNED, /* also: done, met, here */
    PAGE_DUE,
    PAGE_LAPSED, /* also: needs somebody */
    PAGE_WITHDRAWN,
    PAGE_FROM_PAPER,
    PAGE_MISSED,
    PAGE_BOX, /* to be ticked by hand */
    PAGE_MARK_COUNT
} PageMark;
extern const char *const page_mark_words[PAGE_MARK_COUNT]; /* "" for PAGE_PLAIN */

typedef struct {
    PageMark mark;
    const char *text, *note; /* note: a second, smaller line; "" for none */
} PageCell;

typedef struct {
    const char *id, *name;
} PageColumn;

/* A pack on its line: from above with the places along it, and from the front in the aperture with
 * the heights at which a piece may lie. The words are copied with it. */
enum { PAGE_PLACES = 3 };
typedef struct {
    int64_t pack_length_um, pack_width_um, pack_height_um;
    int64_t aperture_width_um, aperture_height_um, belt_up_um; /* belt above the aperture's floor */
    const char *above, *front, *travel;                        /* captions */
    const char *spots[PAGE_PLACES];   /* leading, middle, trailing; NULL: not tested there */
    const char *heights[PAGE_PLACES]; /* on top, inside, underneath; NULL: not allowed */
} PageDrawing;

typedef enum {
    PAGE_HEADING,
    PAGE_PARAGRAPH,
    PAGE_STEP, /* a numbered paragraph */
    PAGE_CAUTION,
    PAGE_FIELD, /* text NULL: to be filled in by hand */
    PAGE_TABLE,
    PAGE_DRAWING,
} PageBlockKind;

typedef struct {
    PageBlockKind kind;
    const char *id;   /* of a field or table, the same in every language */
    const char *name; /* of a field or table; "" for a table without a caption */
    const char *text;
    int number; /* of a step, from 1 in each run of steps */
    PageColumn *columns;
    size_t column_count;
    PageCell *cells; /* row by row; the last row may be shorter while it is built */
    size_t cell_count;
    PageDrawing drawing;
} PageBlock;

typedef struct {
    const char *report;   /* "board": what kind of report it is */
    const char *language; /* BCP 47 */
    const char *title, *subtitle, *foot;
    int64_t as_of_us; /* the moment that the page speaks of */
    bool is_wide;     /* better on its side */
    bool is_one_page; /* made smaller on paper, within reason, to fit one */
    PageBlock *blocks;
    size_t block_count;
    char **kept;
    size_t kept_count;
} Page;

/* An empty page; the caller ends it with page_free, which takes NULL. */
MUST_USE Page *page_new(const char *report, const char *language, int64_t as_of_us);
void page_free(Page *page);

/* A copy of the text that lives as long as the page, cleaned as said above. */
const char *page_keep(Page *page, const char *text);

/* Add to the end of the page. */
void page_heading(Page *page, const char *text);
void page_paragraph(Page *page, const char *text);
void page_step(Page *page, const char *text);
void page_caution(Page *page, const char *text);
void page_field(Page *page, const char *id, const char *name, const char *value);
void page_drawing(Page *page, const PageDrawing *drawing);

/* Begin a table; then its columns; then its cells, row by row, as many as columns. */
void page_table(Page *page, const char *id, const char *name);
void page_column(Page *page, const char *id, const char *name);
void page_cell(Page *page, PageMark mark, const char *text, const char *note);

/* Rows of a table. */
size_t page_rows(const PageBlock *table);

#endif
