/* Needs made of patterns, on short logs written by hand: what each must say was worked out on
 * paper from the meaning of the words. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scoring/score.h"

enum { LINES_MAX = 32 };

/* One shift: two packs sent, the second removed late and the first never; then told and held. */
static const char *const LOG[] = {
    "0 < scene-begun scene=a kind=pass",                                    /* 1 */
    "1000000 > stop",                                                       /* 2 */
    "1000000 < line-stopped",                                               /* 3 */
    "5000000 < pack-sent pack=1 pieces=1 proven=yes",                       /* 4 */
    "6000000 < pack-sent pack=2 pieces=1 proven=yes",                       /* 5 */
    "30000000 < removed pack=2 pieces=1 seen=yes",                          /* 6 */
    "40000000 < told who=quality about=check-failed",                       /* 7 */
    "50000000 < held from=10:00 place=pallet early_enough=yes complete=no", /* 8 */
    "60000000 < told who=maintenance about=other",                          /* 9 */
    "70000000 < run-ended why=done",                                        /* 10 */
};

#define P(text)                                                                                    \
    {                                                                                              \
        text,                                                                                      \
        {                                                                                          \
            "need", 1, 1                                                                           \
        }                                                                                          \
    }

typedef struct {
    const char *name;
    RubricNeed need;
    const char *state, *reason, *about;
    int shown_by; /* a log line from 1 among the evidence; 0: not looked at */
} Row;

static const Row rows[] = {
    {"seen", {.seen = P("stop"), .at_least = 1}, "met", "", "", 2},
    {"seen twice", {.seen = P("pack-sent"), .at_least = 2}, "met", "", "", 5},
    {"not seen thrice", {.seen = P("pack-sent"), .at_least = 3}, "missed", "not-done", "", 10},
    {"never", {.never = P("released")}, "met", "", "", 0},
    {"never, but was", {.never = P("told")}, "missed", "done-but-must-not-be", "", 9},
    {"never before it was",
     {.never = P("told"), .before = P("pack-sent pack=2")},
     "met",
     "",
     "",
     0},
    {"seen within",
     {.seen = P("told"), .at_least = 1, .after = P("stop"), .within_us = 39000000},
     "met",
     "",
     "",
     7},
    {"seen a second too late",
     {.seen = P("told"), .at_least = 1, .after = P("stop"), .within_us = 38000000},
     "missed",
     "done-late",
     "",
     7},
    {"never seen, late or not",
     {.seen = P("released"), .at_least = 1, .after = P("stop"), .within_us = 1000000},
     "missed",
     "not-done",
     "",
     4},
    {"within, after what never was",
     {.seen = P("told"), .at_least = 1, .after = P("released"), .within_us = 1000000},
     "missed",
     "not-done",
     "",
     10},
    {"never within",
     {.never = P("told"), .after = P("stop"), .within_us = 38000000},
     "met",
     "",
     "",
     0},
    {"in order",
     {.in_order = {P("stop"), P("told who=quality"), P("held")}, .in_order_count = 3},
     "met",
     "",
     "",
     8},
    {"in another order",
     {.in_order = {P("stop"), P("held"), P("told who=quality")}, .in_order_count = 3},
     "missed",
     "out-of-order",
     "",
     7},
    {"in order, one missing",
     {.in_order = {P("stop"), P("released"), P("held")}, .in_order_count = 3},
     "missed",
     "not-done",
     "",
     10},
    {"the same line is not two",
     {.in_order = {P("stop"), P("stop")}, .in_order_count = 2},
     "missed",
     "out-of-order",
     "",
     2},
    {"in order, the last too late",
     {.in_order = {P("stop"), P("held")},
      .in_order_count = 2,
      .after = P("stop"),
      .within_us = 40000000},
     "missed",
     "done-late",
     "",
     8},
    {"in order before",
     {.in_order = {P("stop"), P("told")}, .in_order_count = 2, .before = P("held")},
     "met",
     "",
     "",
     7},
    {"for every removal a send before",
     {.for_every = P("removed"),
      .preceded_by = P("pack-sent"),
      .same = {P("pack")},
      .same_count = 1},
     "met",
     "",
     "",
     5},
    {"for every send a removal",
     {.for_every = P("pack-sent"),
      .followed_by = P("removed"),
      .same = {P("pack")},
      .same_count = 1},
     "missed",
     "not-done-for-each",
     "1",
     4},
    {"for every send any removal",
     {.for_every = P("pack-sent"), .followed_by = P("removed")},
     "met",
     "",
     "",
     6},
    {"for every send of the second a removal within",
     {.for_every = P("pack-sent pack=2"),
      .followed_by = P("removed"),
      .same = {P("pack")},
      .same_count = 1,
      .within_us = 24000000},
     "met",
     "",
     "",
     6},
    {"for every send of the second a removal too late",
     {.for_every = P("pack-sent pack=2"),
      .followed_by = P("removed"),
      .same = {P("pack")},
      .same_count = 1,
      .within_us = 23000000},
     "missed",
     "done-late",
     "2",
     6},
    {"for every of what never was",
     {.for_every = P("released"), .followed_by = P("held")},
     "met",
     "",
     "",
     0},
    {"for every, up to a line",
     {.for_every = P("pack-sent pack=2"), .followed_by = P("removed"), .before = P("removed")},
     "missed",
     "not-done-for-each",
     "",
     5},
    {"put right",
     {.never = P("pack-sent pack=1"), .put_right = P("told who=quality")},
     "recovered",
     "done-but-must-not-be",
     "",
     7},
};

static void score_row(const Row *row, Score *score)
{
    LogLine log[LINES_MAX];
    Err err = {0};
    size_t count = sizeof LOG / sizeof LOG[0];
    RubricLine line = {.id = "r", .points = 1, .mistake = "", .need = row->need};
    Scenario scenario = {.rubric = &line, .rubric_count = 1, .pass_percent = 100};
    for (size_t i = 0; i < count; i++) {
        if (!log_parse(LOG[i], (ErrPlace){"log", (int)i + 1, 1}, &log[i], &err))
            fail_msg("%s", err.text);
    }
    if (!score_check(&scenario, &err)) fail_msg("%s: %s", row->name, err.text);
    score_run(&scenario, log, count, score);
}

static void test_score_patterns_each(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Score score;
        score_row(&rows[i], &score);
        const ScoreFinding *finding = &score.lines[0].finding;
        if (strcmp(score_state_word(finding->state), rows[i].state) != 0 ||
            strcmp(finding->reason, rows[i].reason) != 0 ||
            strcmp(finding->about, rows[i].about) != 0) {
            fail_msg("%s: %s, \"%s\" (%s)", rows[i].name, score_state_word(finding->state),
                     finding->reason, finding->about);
        }
        bool shown = rows[i].shown_by == 0;
        for (int e = 0; e < finding->evidence_count; e++) {
            if ((int)finding->evidence[e] + 1 == rows[i].shown_by) shown = true;
        }
        if (!shown) fail_msg("%s: not shown by line %d", rows[i].name, rows[i].shown_by);
    }
}

static void test_score_check_fields(void **state)
{
    (void)state;
    static const struct {
        RubricNeed need;
        const char *want;
    } bad[] = {
        {{.for_every = P("pack-sent"),
          .followed_by = P("removed"),
          .same = {P("piece")},
          .same_count = 1},
         "need:1:1: error: \"pack-sent\" has no field \"piece\""},
        {{.for_every = P("piece-sent"),
          .preceded_by = P("pack-sent"),
          .same = {P("piece")},
          .same_count = 1},
         "need:1:1: error: \"pack-sent\" has no field \"piece\""},
        {{.for_every = P("stock-left"),
          .followed_by = P("good-run"),
          .same = {P("packs"), P("place")},
          .same_count = 2},
         "need:1:1: error: \"good-run\" has no field \"place\""},
        {{.in_order = {P("stop"), P("halt")}, .in_order_count = 2},
         "need:1:1: error: \"halt\" is no action or happening; the nearest is \"hold\""},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        RubricLine line = {.id = "r", .points = 1, .mistake = "", .need = bad[i].need};
        Scenario scenario = {.rubric = &line, .rubric_count = 1};
        Err err = {0};
        assert_false(score_check(&scenario, &err));
        assert_string_equal(err.text, bad[i].want);
    }
}

/* What the rubric says goes before what the reason says; what is met is no mistake. */
static void test_score_mistake_each(void **state)
{
    (void)state;
    static const struct {
        ScoreState state;
        const char *reason, *own, *want;
    } cases[] = {
        {SCORE_MET, "", "M10", ""},
        {SCORE_MISSED, "not-done", "M10", "M10"},
        {SCORE_MISSED, "not-done", "", ""},
        {SCORE_MISSED, "caught-by-hand", "", "M7"},
        {SCORE_RECOVERED, "row-not-true", "", "M24"},
        {SCORE_MISSED, "settings-changed", "M4", "M4"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        RubricLine line = {.mistake = cases[i].own};
        ScoreLine score = {.line = &line,
                           .finding = {.state = cases[i].state, .reason = cases[i].reason}};
        assert_string_equal(score_mistake(&score), cases[i].want);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_score_patterns_each),
        cmocka_unit_test(test_score_check_fields),
        cmocka_unit_test(test_score_mistake_each),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
