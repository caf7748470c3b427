/* A pass of a run, as its log tells it: which piece was sent, how it lay, what the head made of it.
 * So a pass can be opened up, and set up on the bench.
 */
#ifndef UI_PASS_H
#define UI_PASS_H

#include "ui/session.h"

typedef struct {
    int pack;               /* number of the test pack */
    int piece_count;        /* in it, at least 1 */
    const SitePiece *piece; /* the first of them; borrowed from the scenario's site */
    int head, product;      /* indexes of the site */
    BenchSide lying;        /* where that piece lay and how it was turned, nothing else */
    double across_mm;       /* of the pack, from the belt's middle */
    bool is_found;
    double ratio; /* the largest signal, in the limit of that moment */
    double limit; /* that limit, in validated ones */
    bool is_program_right;
    bool has_fallen; /* that piece was no longer in the pack */
} Pass;

/* The next log line before (way -1) or after (way 1) `at`, which need not be a line, at which the
 * head judged a test pack with a piece in it; -1: there is none. */
int pass_find(const LogLine *log, size_t count, int at, int way);

/* How far from the belt's middle a test pack was laid when it was sent last; 0: it never was. */
int64_t pass_sent_across_um(const LogLine *log, size_t count, int pack);

/* What is told of the pass that was judged at line `at`, one that pass_find gives. */
void pass_read(const Scenario *scenario, const LogLine *log, size_t at, Pass *out);

/* Set the bench up for it and go there; the bench's way back leads to the place that is shown
 * now. */
void pass_on_bench(Session *session, const Pass *pass);

#endif
