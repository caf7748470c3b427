/* What people take away: each report is built from a plain struct that says what is known, into a
 * page (page.h) that the caller ends with page_free. Nothing here reads a store, a clock or a file;
 * names, titles and the site's texts come in the language that is wanted, and an empty name is one
 * that was erased.
 *
 * A report says what was seen of people. None says that a detector works.
 */
#ifndef REPORTS_REPORT_H
#define REPORTS_REPORT_H

#include "records/competence.h"
#include "records/ledger.h"
#include "reports/page.h"

/* The program's texts in one language: the text under a key of a section, or the key. */
typedef struct {
    const char *(*get)(const void *context, const char *section, const char *key);
    const void *context;
    const char *language; /* BCP 47 */
} ReportWords;

/* What stands on every report. */
typedef struct {
    const char *site; /* its name; "" when not known */
    int64_t as_of_us;
    const char *station; /* whose store it is made from; "": from no store */
    int64_t entries;     /* in its chain, and the hash of the last: the store's head */
    const char *hash;
} ReportHead;

/* --- Board: people and where they stand ------------------------------------------------------ */

typedef struct {
    const char *id, *title;
} ReportCompetence;

typedef struct {
    const ReportHead *head;
    const ReportCompetence *competences;
    size_t competence_count;
    const char *const *people;
    size_t person_count;
    const RecCell *cells; /* of each person in turn, one for each competence */
    const bool *begun;    /* of each cell: something is known; else it is left empty */
} ReportBoard;

/* People by competences, a cell with mark, word and date each. */
Page *report_board(const ReportBoard *board, const ReportWords *words);

/* --- Tonight: who covers which line ---------------------------------------------------------- */

/* Who may check a line; `person` NULL: nobody who is here. `buddy` NULL: alone. */
typedef struct {
    const char *line, *person, *buddy;
    int32_t until_day;
} ReportCover;

/* Somebody whose standing ends, or waits. */
typedef struct {
    const char *person, *competence;
    RecState state;
    int32_t day;
} ReportTurn;

typedef struct {
    const char *station;
    int64_t entries;   /* known here */
    int64_t merged_us; /* 0: never */
} ReportStation;

typedef struct {
    const ReportHead *head;
    const char *const *here; /* who is here */
    size_t here_count;
    bool is_here_given; /* else: everybody on the site's list is taken as here */
    const ReportCover *covers;
    size_t cover_count;
    const ReportTurn *ends, *waits;
    size_t end_count, wait_count;
    int64_t backup_us; /* of the last entry in the copy; 0: no copy was named */
    const ReportStation *stations;
    size_t station_count;
} ReportTonight;

/* Each line with who covers it or nobody, what ends and what waits, and how old the copies are. */
Page *report_tonight(const ReportTonight *tonight, const ReportWords *words);

/* --- Person: the whole record ---------------------------------------------------------------- */

typedef struct {
    ReportCompetence competence;
    const RecStanding *standing;
    const char *const *reasons; /* sentences */
    size_t reason_count;
} ReportStanding;

/* One entry about a person in plain fields; what a kind has not is "", 0 or false. */
typedef struct {
    int64_t time_us;
    const char *kind;    /* as the ledger names it */
    const char *subject; /* competence or scenario by its title, role, why of a key */
    const char *word;    /* verdict, decision */
    const char *by, *other, *line, *sheet, *text;
    const char *day, *until; /* as written */
    const char *hash, *about;
    int answers_yes, answers;
    bool is_text_erased, is_good, is_scripted, is_assessment;
    bool is_void; /* a run that was made void later */
} ReportEntry;

typedef struct {
    const ReportHead *head;
    const char *name, *id, *roles;
    const ReportStanding *standings;
    size_t standing_count;
    const ReportEntry *entries;
    size_t entry_count;
} ReportPerson;

/* Where the person stands and why, every entry, and how to verify it. */
Page *report_person(const ReportPerson *person, const ReportWords *words);

/* --- Certificate: one competence of one person ----------------------------------------------- */

typedef struct {
    const ReportHead *head;
    const char *person, *id;
    ReportStanding standing;
    const char *lines, *products, *checks; /* names; "": all that the competence has */
    const char *buddy;
    const ReportEntry *signature; /* or paper; NULL: none that counts */
    const char *meaning, *key;
    int64_t acknowledged_us;     /* 0: not yet */
    const ReportEntry *evidence; /* what the signature names */
    size_t evidence_count;
} ReportCertificate;

/* A copy of the sign-off when it stands; else a page that says what is missing. */
Page *report_certificate(const ReportCertificate *certificate, const ReportWords *words);

/* May the person do the task now? */
bool report_is_signed(const RecStanding *standing);

/* --- For the line ---------------------------------------------------------------------------- */

/* One page to hang at the line: pieces, where they go, the order of work, what to do when a check
 * fails. */
Page *report_line(const Site *site, int line, const ReportHead *head, const ReportWords *words);

/* The form to take along when a person is watched on the real line; `person` and `line` may be
 * NULL: to be filled in. */
Page *report_observation(const Site *site, const Competence *competence, const char *person,
                         const char *line, const ReportHead *head, const ReportWords *words);

/* --- Shared by the builders ------------------------------------------------------------------ */

/* What stands in a text for "{name}". */
typedef struct {
    const char *name, *value;
} ReportFill;

/* A text of the section "report". */
const char *report_say(const ReportWords *words, const char *key);

/* The same with its fields filled in, kept by the page; `fills` ends in one without a name. */
const char *report_fill(Page *page, const ReportWords *words, const char *key,
                        const ReportFill fills[]);

/* A page with its title filled in, the site and the moment below it, and the head at its foot. */
Page *report_page(const char *report, const char *title_key, const ReportFill fills[],
                  const ReportHead *head, const ReportWords *words);

/* A name, or the words for one that was erased. */
const char *report_name(const ReportWords *words, const char *name);

/* A moment as "2026-11-25 14:03 UTC"; a day as "2026-11-25", "" for 0. Kept by the page. */
const char *report_time(Page *page, int64_t time_us);
const char *report_day(Page *page, int32_t day);

/* The mark of a state; and a cell with mark, word and date. */
PageMark report_mark(RecState state, bool from_paper);
void report_cell(Page *page, const ReportWords *words, const RecCell *cell);

/* A caution, a paragraph, a step or a column by its key; a column's id is its key. */
void report_caution(Page *page, const ReportWords *words, const char *key);
void report_paragraph(Page *page, const ReportWords *words, const char *key);
void report_column(Page *page, const ReportWords *words, const char *key);

/* A field by its key, which is its id; a table by its key, likewise. */
void report_field(Page *page, const ReportWords *words, const char *key, const char *value);
void report_table(Page *page, const ReportWords *words, const char *key);

/* A plain cell. */
void report_plain(Page *page, const char *text);

#endif
