/* What several places lay out alike: headings, paragraphs, rows of choices, pages of a list. */
#ifndef UI_PAPER_H
#define UI_PAPER_H

#include "ui/ui.h"

/* From this size of text on a place is turned into pages. */
enum { PAPER_BIG_PERCENT = 150 };
bool paper_is_big(const Ui *ui);

/* The height of a button, or of a row that is pressed, with one line of letters of `px`: at least
 * `least_px`. */
double paper_row(const Ui *ui, int px, double least_px);

/* A paragraph of a text of the program, or of any words, on paper; returns the height it takes. */
double paper_heading(Ui *ui, double x, double y, double width, const char *key);
double paper_say(Ui *ui, double x, double y, double width, int px, DrawRole role, const char *key);
double paper_words(Ui *ui, double x, double y, double width, int px, bool is_bold,
                   const char *words);

/* One line of words in `box`, in its middle by height; what is too long ends in "...". */
typedef struct {
    int px;
    bool is_bold;
    DrawRole role, ground;
    DrawAlign align;
} PaperInk;
void paper_line(Ui *ui, DrawRect box, const PaperInk *ink, const char *words);

/* The height that words take in a width. */
double paper_height(const Ui *ui, double width, int px, bool is_bold, const char *words);

/* A button that can be the chosen one; true when it was pressed. */
bool paper_choice(Ui *ui, uint32_t id, DrawRect box, const char *label, bool is_chosen);

/* What a button without a label is filled with now, and in *letters what to write on it with. */
DrawRole paper_face(const Ui *ui, uint32_t id, DrawRect box, bool is_chosen, DrawRole *letters);

/* Tabs over the content, `keys` NULL-ended; returns where the content begins. */
double paper_tabs(Ui *ui, double y, const char *const keys[], int *tab);

/* Two buttons and "2 / 5" in `box`, which turn the pages of a list; draws nothing when there is but
 * one page. `name` makes their ids. *page is brought into 0..pages-1 first. */
void paper_pages(Ui *ui, const char *name, DrawRect box, int pages, int *page);

/* A date of the records, "25 November 2026". */
void paper_date(const Ui *ui, int64_t time_us, Text *out);

#endif
