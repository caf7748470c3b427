/* Which questions and rubric lines of a scenario work: how often they are right over many runs,
 * which wrong answers are chosen, and whether they tell people apart.
 *
 * The items are the rubric's lines (right when met or recovered) and the scenes with a question,
 * decide and turn (right by the first answer given to them). What a run did not reach is neither
 * right nor wrong. Whether an item tells people apart is its correlation with the rest: the share
 * of the other rubric lines that were right, the lines that ask for this very answer left out.
 */
#ifndef SCORING_ITEMS_H
#define SCORING_ITEMS_H

#include "detector/chance.h"
#include "scoring/score.h"

/* Below this many runs nothing is concluded: only counts are given (our own choice; the interval of
 * 9 right in 10 is 0.55 to 1.00). */
enum { ITEMS_RUNS_MIN = 30 };

#define ITEMS_LEVEL 0.95 /* of every interval */

typedef enum { ITEM_NOT_REACHED, ITEM_WRONG, ITEM_RIGHT } ItemMark;

/* What the figures say, in the order in which it is asked. */
typedef enum {
    ITEM_TOO_FEW,     /* under ITEMS_RUNS_MIN runs reached it */
    ITEM_ALL_RIGHT,   /* everybody, or surely ITEM_EASY of all */
    ITEM_NONE_RIGHT,  /* nobody */
    ITEM_BACKWARDS,   /* surely below 0: who does well elsewhere does badly here */
    ITEM_TELLS_APART, /* surely above 0 */
    ITEM_OPEN,        /* may be either */
    ITEM_NO_REST,     /* there is nothing else that differs between the runs */
    ITEM_VERDICT_COUNT
} ItemVerdict;

#define ITEM_EASY 0.95 /* a share right from which on an item teaches nothing (common practice) */

typedef struct {
    size_t reached, right;
    ItemVerdict verdict;
    /* All of what follows only when the verdict is not ITEM_TOO_FEW. */
    ChanceInterval share; /* of right among reached: exact */
    bool has_correlation; /* neither the item nor the rest is the same in all runs */
    double correlation;   /* of the item with the rest: point-biserial */
    ChanceInterval apart; /* of the correlation: by Fisher's z, about right from 30 runs on */
} ItemFigures;

/* Work out one item. `marks` are runs x items, run by run; `rest` says for each item whether it
 * belongs to the rest (the item itself does not, whatever it says). */
void items_figures(const ItemMark *marks, size_t runs, size_t items, size_t item, const bool *rest,
                   ItemFigures *out);

/* The correlation alone, from 2 runs on; false when there is none. Pearson's, with the item as 0
 * and 1, over the runs that reached both it and something of the rest. */
MUST_USE bool items_correlation(const ItemMark *marks, size_t runs, size_t items, size_t item,
                                const bool *rest, double *out);

/* The interval of a correlation r over n > 3 runs: tanh(atanh r -+ 1.96 / sqrt(n - 3)), R. A.
 * Fisher, Metron 1 (1921) 3. */
ChanceInterval items_correlation_interval(double r, size_t n);

/* --- Over runs ------------------------------------------------------------------------------- */

typedef struct Items Items;

/* No runs yet of a scenario, which is borrowed. The caller ends it with items_free. */
Items *items_new(const Scenario *scenario);
void items_free(Items *items);

/* One more run: its whole log, at least one line. */
void items_add(Items *items, const LogLine *log, size_t count);

/* How many runs were added. */
size_t items_runs(const Items *items);

/* One item; what is borrowed is the scenario's. */
typedef struct {
    const RubricLine *line; /* of the rubric, or NULL and then */
    const Scene *scene;     /* a question */
    ItemFigures figures;
    size_t recovered;                    /* of the right ones, of a line */
    size_t chosen[SCENARIO_ANSWERS_MAX]; /* of decide: how often each answer was */
} Item;

/* How many there are: the questions in the order of scenes, then the lines in that of the rubric;
 * and one of them. */
size_t items_count(const Items *items);
void items_read(const Items *items, size_t index, Item *out);

/* "too-few", "all-right", ... */
const char *items_verdict_word(ItemVerdict verdict);

#endif
