/* The judgement of a run: a pure function of its log and the scenario's rubric. Every line of the
 * rubric is met, recovered (put right before it could do harm) or missed, and names the lines of
 * the log that show it. One critical line missed fails the run at any number of points.
 */
#ifndef SCORING_SCORE_H
#define SCORING_SCORE_H

#include "player/log.h"
#include "scenario/scenario.h"

enum { SCORE_EVIDENCE_MAX = 16 };

typedef enum { SCORE_MET, SCORE_RECOVERED, SCORE_MISSED } ScoreState;

/* Why a run is competent or not: a word, spelt out in the texts. */
typedef enum {
    SCORE_ALL_MET,
    SCORE_CRITICAL_MISSED,
    SCORE_TOO_FEW_POINTS,
    SCORE_BROKEN_OFF,
    SCORE_OUT_OF_TIME,
    SCORE_UNFINISHED
} ScoreReason;

/* What was found about one line of the rubric. */
typedef struct {
    ScoreState state;
    const char *reason;                  /* a word: "piece-not-back"; "" when met */
    char about[LOG_WORD_BYTES];          /* the piece, row or place in question; "" for none */
    size_t evidence[SCORE_EVIDENCE_MAX]; /* indexes into the log, from 0 */
    int evidence_count;
} ScoreFinding;

typedef struct {
    const RubricLine *line; /* borrowed from the scenario */
    ScoreFinding finding;
    int64_t points; /* of line->points: all when met or recovered */
} ScoreLine;

typedef struct {
    ScoreLine lines[SCENARIO_RUBRIC_MAX];
    int line_count;
    int64_t points, points_max, points_needed;
    int critical_missed;
    bool competent;
    ScoreReason reason;
} Score;

/* True when the rubric's rules and patterns are ones that we know. ERR_INPUT at the rubric line. */
MUST_USE bool score_check(const Scenario *scenario, Err *err);

/* Judge the log of `count` lines. The rubric has been checked. */
void score_run(const Scenario *scenario, const LogLine *log, size_t count, Score *out);

/* The score as JSON of strings, whole numbers and booleans; log lines count from 1. */
void score_print(const Score *score, Text *out);

/* The mistake of the trade, "M1" to "M32", that a line not met shows: what the rubric says, else
 * what its reason is; "" for none. */
const char *score_mistake(const ScoreLine *line);

/* "met", "recovered", "missed"; and the word of a reason. */
const char *score_state_word(ScoreState state);
const char *score_reason_word(ScoreReason reason);

/* "competent" or "not yet competent". */
const char *score_verdict(const Score *score);

#endif
