/* The ready-made rules, shared by the files of this layer alone. */
#ifndef SCORING_RULES_H
#define SCORING_RULES_H

#include "scoring/score.h"

/* How a pass ended. */
typedef enum { PASS_OPEN, PASS_REMOVED, PASS_ACCEPTED, PASS_CAUGHT } PassEnd;

/* One piece sent through once. */
typedef struct {
    size_t sent, ended; /* lines of the log */
    int pack;
    const char *piece, *metal, *spot; /* borrowed from the log */
    int lane;                         /* from 1; 0: the line has one */
    bool centre, right, program_right, proven, alone, found, seen;
    PassEnd end;
} ScorePass;

/* What the rules look at. */
typedef struct {
    const Scenario *scenario;
    const LogLine *log;
    size_t count;
    ScorePass *passes;
    size_t pass_count;
    size_t failure; /* the first line that shows that the check has failed; count: none does */
    bool excused;   /* it failed, and not by what the person did: nothing more need be sent */
} ScoreFacts;

typedef void ScoreRule(const ScoreFacts *facts, ScoreFinding *out);

/* The rule of this name, NULL for none; with NULL for `name`, the names go to words[]
 * (NULL-ended). */
enum { RULES_MAX = 16 };
ScoreRule *score_rule(const char *name);
void score_rule_names(const char *words[RULES_MAX + 1]);

/* Which critical line a rule speaks of, 1..13; 0 for one of no critical line, or no rule. */
int score_rule_critical(const char *name);

/* The other needs: whether their patterns can be read, and what the log says of them. The need has
 * been checked. ERR_INPUT at the word to blame. */
MUST_USE bool score_check_patterns(const RubricNeed *need, Err *err);
void score_patterns(const ScoreFacts *facts, const RubricNeed *need, ScoreFinding *out);

/* The finding gets worse: state, reason and what it is about, shown by log line `at`. A finding
 * that is as bad already, for the same reason, gets one more line of evidence; one that is worse
 * stays. */
void score_blame(ScoreFinding *finding, ScoreState state, const char *reason, const char *about,
                 size_t at);

/* One more log line that shows what is found, good or bad. */
void score_show(ScoreFinding *finding, size_t at);

/* One more log line that shows what was done well; kept only while nothing is blamed. */
void score_support(ScoreFinding *finding, size_t at);

#endif
