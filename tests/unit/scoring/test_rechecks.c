/* The full new check after an adjustment (K10), the find that is told of (K13) and the test pack
 * that is off the line in time (K6), on short logs written by hand: a plan of one metal at two
 * places. What must be said is common practice, no source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scoring/score.h"

enum { LINES_MAX = 64 };

/* A pass of the plan's metal at one place, removed. */
#define PASS(spot)                                                                                 \
    "pack-sent pack=1 pieces=1 proven=yes",                                                        \
        ("piece-sent pack=1 piece=A metal=brass spot=" spot                                        \
         " height=on-top centre=yes right=yes program_right=yes"),                                 \
        "removed pack=1 pieces=1 seen=yes"
#define CHECK_GOOD "told who=supervisor about=check-good"
#define ADJUSTED "sensitivity-set percent=90"
#define FALSE_ONE "removed pack=0 pieces=0 seen=yes"
#define MADE_AND_SENT "pack-made pack=1 marked=yes", "pack-sent pack=1 pieces=0 proven=no"
#define SIGNED "signed as=self rows=1"
#define FETCHED "pack-fetched pack=1 pieces=0 from=pallet"
#define END "run-ended why=done"

typedef struct {
    const char *name, *rule;
    const char *log[LINES_MAX];
    const char *state, *reason, *about;
} Row;

static const Row rows[] = {
    {"nothing adjusted", "full-recheck", {CHECK_GOOD, END}, "met", "", ""},
    {"adjusted and checked",
     "full-recheck",
     {ADJUSTED, PASS("leading"), PASS("trailing"), CHECK_GOOD, "line-stopped", END},
     "met",
     "",
     ""},
    {"adjusted, and only one place checked",
     "full-recheck",
     {ADJUSTED, PASS("leading"), CHECK_GOOD, "line-stopped", END},
     "missed",
     "not-rechecked",
     "brass"},
    {"checked before, not after",
     "full-recheck",
     {PASS("leading"), PASS("trailing"), ADJUSTED, CHECK_GOOD, "line-stopped", END},
     "missed",
     "not-rechecked",
     "brass"},
    {"another program is an adjustment",
     "full-recheck",
     {PASS("leading"), PASS("trailing"), "program-set product=p right=yes", "feed-started", END},
     "missed",
     "not-rechecked",
     "brass"},
    {"adjusted, and the line stopped for good",
     "full-recheck",
     {ADJUSTED, "line-stopped", END},
     "met",
     "",
     ""},
    {"adjusted, and left running",
     "full-recheck",
     {ADJUSTED, "line-stopped", "line-started", END},
     "missed",
     "not-rechecked",
     "brass"},
    {"adjusted, and the sheet says good",
     "full-recheck",
     {"line-stopped", ADJUSTED, "row-written row=result value=good truth=false again=no", END},
     "missed",
     "not-rechecked",
     "brass"},
    {"rows signed while a test pack is on the pallet, which is fetched before the end",
     "none-among-good",
     {MADE_AND_SENT, "on-pallet pack=1", SIGNED, FETCHED, SIGNED, END},
     "met",
     "",
     ""},
    {"fetched after the last signature",
     "none-among-good",
     {MADE_AND_SENT, "on-pallet pack=1", SIGNED, FETCHED, END},
     "missed",
     "test-pack-fetched-late",
     "1"},
    {"fetched after the line was handed over",
     "none-among-good",
     {MADE_AND_SENT, "on-pallet pack=1", "handed-over to=line-leader pieces_out=0", FETCHED, END},
     "missed",
     "test-pack-fetched-late",
     "1"},
    {"the check handed to a colleague is not the line",
     "none-among-good",
     {MADE_AND_SENT, "on-pallet pack=1", "handed-over to=colleague pieces_out=0", FETCHED, END},
     "met",
     "",
     ""},
    {"sent in a second check, after the first was good",
     "none-among-good",
     {CHECK_GOOD, MADE_AND_SENT, "on-pallet pack=1", FETCHED, CHECK_GOOD, END},
     "met",
     "",
     ""},
    {"no find", "find-kept", {CHECK_GOOD, END}, "met", "", ""},
    {"a find told of", "find-kept", {FALSE_ONE, "told who=quality about=bin", END}, "met", "", ""},
    {"a find told to the supervisor",
     "find-kept",
     {FALSE_ONE, "told who=supervisor about=other", CHECK_GOOD, END},
     "met",
     "",
     ""},
    {"a find told to nobody", "find-kept", {FALSE_ONE, END}, "missed", "find-not-told", ""},
    {"a find told to who need not know",
     "find-kept",
     {FALSE_ONE, "told who=warehouse about=bin", END},
     "missed",
     "find-not-told",
     ""},
    {"a find told of after the line was relied on",
     "find-kept",
     {FALSE_ONE, "feed-started", "told who=quality about=bin", END},
     "missed",
     "find-not-told",
     ""},
    {"two finds, the second not told of",
     "find-kept",
     {FALSE_ONE, "told who=quality about=bin", FALSE_ONE, END},
     "missed",
     "find-not-told",
     ""},
    {"a test pack is no find", "find-kept", {PASS("leading"), END}, "met", "", ""},
};

static void score_row(const Row *row, Score *score)
{
    static Metal brass = {.name = "brass"};
    SitePlan plan = {.metals = {&brass}, .metal_count = 1, .spots = {true, false, true}};
    RubricLine line = {.id = "r", .points = 1, .mistake = "", .need = {.rule = row->rule}};
    SiteLine on = {.setup = {.lanes = 1}};
    Scenario scenario = {
        .line = &on, .rubric = &line, .rubric_count = 1, .plan = &plan, .pass_percent = 100};
    LogLine log[LINES_MAX];
    size_t count = 0;
    Err err = {0};
    for (; count < LINES_MAX && row->log[count] != NULL; count++) {
        Text text = {0};
        text_addf(&text, "%zu < %s", count, row->log[count]);
        if (!log_parse(text.bytes, (ErrPlace){row->name, (int)count + 1, 1}, &log[count], &err))
            fail_msg("%s", err.text);
        text_clear(&text);
    }
    if (!score_check(&scenario, &err)) fail_msg("%s", err.text);
    score_run(&scenario, log, count, score);
}

static void test_rules_rechecks_and_finds(void **state)
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
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_rules_rechecks_and_finds)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
