/* The critical steps, judged on whole plays: the shipped right script of a scenario with one thing
 * done another way. What must be missed or recovered, and why, is the trade's own list of mistakes
 * (common practice, no source). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/script.h"
#include "base/os.h"

#define SITE_FOLDER "scenarios/ostrel-mill"

/* Replace the `nth` (from 1; 0: every) occurrence of `from` by `to`. */
typedef struct {
    const char *from, *to;
    int nth;
} Edit;

enum { EDITS_MAX = 8 };

typedef struct {
    const char *name, *scenario;
    Edit edits[EDITS_MAX];
    const char *missed;    /* critical lines missed, in the rubric's order: "K3 K5" */
    const char *recovered; /* the same */
    const char *reason;    /* of the first line that is not met */
    const char *shown_by;  /* a pattern that one of its log lines matches */
} Play;

static char *edit(char *text, const Edit *change)
{
    Text out = {0};
    int seen = 0;
    size_t len = strlen(change->from);
    const char *at = text;
    for (const char *hit = strstr(at, change->from); hit != NULL; hit = strstr(at, change->from)) {
        seen++;
        text_add_bytes(&out, at, (size_t)(hit - at));
        bool take = change->nth == 0 || change->nth == seen;
        text_add(&out, take ? change->to : change->from);
        at = hit + len;
    }
    assert_true(seen >= 1 && seen >= change->nth);
    text_add(&out, at);
    free(text);
    return out.bytes;
}

static AppRun *play(const Work *work, const Play *row)
{
    Text path = {0};
    Text right = {0};
    Err err = {0};
    text_addf(&path, "%s/%s.right.txt", SITE_FOLDER, row->scenario);
    assert_true(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &right, &err));
    char *script = right.bytes;
    for (int i = 0; i < EDITS_MAX && row->edits[i].from != NULL; i++) {
        script = edit(script, &row->edits[i]);
    }
    char *cut = strstr(script, "!cut"); /* an edit may end the script here */
    if (cut != NULL) *cut = '\0';
    AppRun *run = NULL;
    AppRunSetup setup = {.seed = 1, .is_assessment = true, .is_scripted = true};
    assert_true(app_run_begin(work, &setup, &run, &err));
    if (!script_play(run, row->name, script, strlen(script), &err)) fail_msg("%s", err.text);
    free(script);
    text_clear(&path);
    return run;
}

/* The critical lines in a state: "K3 K5". */
static void add_critical(const Score *score, ScoreState state, Text *out)
{
    for (int i = 0; i < score->line_count; i++) {
        const ScoreLine *line = &score->lines[i];
        if (line->line->critical == 0 || line->finding.state != state) continue;
        text_addf(out, "%sK%d", out->len == 0 ? "" : " ", line->line->critical);
    }
}

/* The finding that gives the verdict: the first missed critical line, else the first recovered. */
static const ScoreFinding *main_finding(const Score *score)
{
    const ScoreFinding *recovered = NULL;
    for (int i = 0; i < score->line_count; i++) {
        const ScoreLine *line = &score->lines[i];
        if (line->line->critical == 0) continue;
        if (line->finding.state == SCORE_MISSED) return &line->finding;
        if (line->finding.state == SCORE_RECOVERED && recovered == NULL) recovered = &line->finding;
    }
    return recovered;
}

static void assert_shown(const Play *row, const AppRun *run, const ScoreFinding *finding)
{
    LogPattern pattern;
    Err err = {0};
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    assert_true(log_parse_pattern(row->shown_by, (ErrPlace){row->name, 1, 1}, &pattern, &err));
    for (int i = 0; i < finding->evidence_count; i++) {
        assert_true(finding->evidence[i] < count);
        if (log_matches(&log[finding->evidence[i]], &pattern)) return;
    }
    fail_msg("%s: no log line named matches \"%s\"", row->name, row->shown_by);
}

/* Play one row; false, and the difference printed, when it is judged otherwise. */
static bool is_judged_so(const Play *row)
{
    Work *work = NULL;
    Err err = {0};
    Text file = {0};
    text_addf(&file, "%s.json", row->scenario);
    if (!work_read("assets", SITE_FOLDER, file.bytes, NULL, NULL, &work, &err)) {
        fail_msg("%s", err.text);
    }
    AppRun *run = play(work, row);
    Score score;
    app_run_score(run, &score);
    Text missed = {0};
    Text recovered = {0};
    add_critical(&score, SCORE_MISSED, &missed);
    add_critical(&score, SCORE_RECOVERED, &recovered);
    const ScoreFinding *finding = main_finding(&score);
    const char *reason = finding == NULL ? "" : finding->reason;
    bool right = strcmp(text_string(&missed), row->missed) == 0 &&
                 strcmp(text_string(&recovered), row->recovered) == 0 &&
                 score.competent == (row->missed[0] == '\0') &&
                 (row->reason == NULL || strcmp(reason, row->reason) == 0);
    if (!right) {
        print_error("%s: missed \"%s\", recovered \"%s\", reason \"%s\"\n", row->name,
                    text_string(&missed), text_string(&recovered), reason);
    } else if (row->reason != NULL) {
        assert_shown(row, run, finding);
    }
    text_clear(&missed);
    text_clear(&recovered);
    text_clear(&file);
    app_run_free(run);
    work_free(work);
    return right;
}

/* M1 to M24: what people really do wrong. */
static const Play mistakes[] = {
    {"right", "nine-passes", {{0}}, "", "", NULL, NULL},
    {"each place held from its own time",
     "eleven-oclock",
     {{"+3s hold from=10:00 place=everything\n",
       "+1s hold from=10:00 place=lorry\n+1s hold from=10:24 place=store\n+1s hold from=10:48 "
       "place=pallet\n",
       1}},
     "",
     "",
     NULL,
     NULL},
    {"held from earlier than need be",
     "eleven-oclock",
     {{"hold from=10:00", "hold from=09:30", 1}},
     "",
     "",
     NULL,
     NULL},
    {"the loaves cut off by the stop written as found",
     "the-beep",
     {{"brass/trailing value=not-finished", "brass/trailing value=found-not-removed", 1}},
     "",
     "",
     NULL,
     NULL},
    {"the loaves cut off by the stop not written",
     "the-beep",
     {{"+2s write row=brass/trailing value=not-finished\n", "", 1}},
     "",
     "",
     NULL,
     NULL},
    {"every piece at the wall",
     "nine-passes",
     {{"across_um=0 up_um", "across_um=33000 up_um", 0},
      {"across_um=0\n", "across_um=110000\n", 0}},
     "K3",
     "",
     "not-at-centre",
     "piece-sent centre=no spot=middle"},
    {"every pack along the guide",
     "nine-passes",
     {{"across_um=0\n", "across_um=60000\n", 0}},
     "K3",
     "",
     "not-at-centre",
     "piece-sent centre=no"},
    {"pieces underneath instead of on top",
     "nine-passes",
     {{"up_um=40000", "up_um=0", 0}},
     "K3",
     "",
     "not-at-centre",
     "piece-sent height=underneath"},
    {"one place left out",
     "nine-passes",
     {{"along_um=-45000", "along_um=0", 0}, {"/trailing value", "/middle value", 0}},
     "K3 K11",
     "",
     "place-not-tested",
     "piece-sent spot=leading"},
    {"one piece left in a pack that is destroyed",
     "nine-passes",
     {{"+1s find piece=SS-25-07\n+1s put-back piece=SS-25-07\n", "", 3},
      {"count what=kit said=6", "count what=kit said=5", 1},
      {"kit-count value=6", "kit-count value=5", 1}},
     "K5",
     "",
     "piece-not-back",
     "piece-placed piece=SS-25-07"},
    {"one piece left in a pack in the bin",
     "nine-passes",
     {{"+1s fetch pack=3\n+1s find piece=SS-25-07\n+1s put-back piece=SS-25-07\n", "", 3},
      {"+1s destroy pack=3\n", "", 1},
      {"count what=kit said=6", "count what=kit said=5", 1},
      {"kit-count value=6", "kit-count value=5", 1}},
     "K5",
     "",
     "piece-not-back",
     "piece-placed piece=SS-25-07 spot=trailing"},
    {"the middle pack caught by hand before the reject",
     "nine-passes",
     {{"until removed pack=3\n",
       "until alarm pack=2\n+200ms fetch pack=2\n+100ms watch\nuntil removed pack=3\n", 2},
      {"count what=bin said=3", "count what=bin said=2", 2},
      {"+1s fetch pack=2\n+1s find piece=NF-20-05", "+1s find piece=NF-20-05", 2},
      {"brass/middle value=removed", "brass/middle value=not-finished", 1}},
     "K4 K11 K12",
     "",
     "caught-by-hand",
     "pack-fetched pack=2 from=belt"},
    {"nobody watches",
     "nine-passes",
     {{"watch\nuntil removed", "until removed", 0}},
     "K4",
     "",
     "not-watched",
     "removed seen=no"},
    {"the bin is never counted",
     "nine-passes",
     {{"+2s count what=bin said=3\n", "", 0}},
     "K4",
     "",
     "bin-not-counted",
     "removed"},
    {"the checker opens the bin",
     "nine-passes",
     {{"open-bin by=line-leader", "open-bin by=line-checker", 1}},
     "K4",
     "",
     "bin-opened-by-another",
     "bin-opened by=line-checker"},
    {"stock released early",
     "nine-passes",
     {{"# middle\n", "+1s release place=pallet\n", 1}},
     "K8",
     "",
     "released",
     "released place=pallet authority=no"},
    {"the rows written before the sends",
     "nine-passes",
     {{"+2s write row=chrome-steel/leading value=removed\n", "", 1},
      {"# leading end\n", "+2s write row=chrome-steel/leading value=removed\n", 1}},
     "K11",
     "",
     "row-written-ahead",
     "row-written row=chrome-steel/leading truth=ahead"},
    {"a wrong piece",
     "nine-passes",
     {{"SS-25-07", "SS-45-02", 0}},
     "K2",
     "",
     "wrong-piece",
     "piece-sent piece=SS-45-02 right=no"},
    {"a cracked piece",
     "nine-passes",
     {{"NF-20-05", "NF-20-01", 0}},
     "K2",
     "",
     "wrong-piece",
     "piece-sent piece=NF-20-01 right=no"},
    {"a piece out of date",
     "nine-passes",
     {{"FE-15-03", "FE-15-01", 0}},
     "K2",
     "",
     "wrong-piece",
     "piece-sent piece=FE-15-01 right=no"},
    {"packs not proven clean",
     "nine-passes",
     {{"+500ms send pack=1 across_um=0\n+500ms send pack=2 across_um=0\n"
       "+500ms send pack=3 across_um=0\nwatch\nuntil on-pallet pack=3\n+1s fetch pack=1\n"
       "+1s fetch pack=2\n+1s fetch pack=3\n",
       "", 1}},
     "K2",
     "",
     "pack-not-proven-clean",
     "piece-sent"},
    {"packs not marked, and forgotten on the pallet",
     "nine-passes",
     {{"+2s make-pack pack=3 marked=yes\n",
       "+2s make-pack pack=3 marked=yes\n+2s make-pack pack=4 marked=no\n", 1},
      {"+500ms send pack=1", "+500ms send pack=4 across_um=0\n+500ms send pack=1", 1}},
     "K6",
     "",
     "test-pack-among-good",
     "pack-sent pack=4"},
    {"the sheet never signed",
     "nine-passes",
     {{"+2s sign as=self\n", "", 1}},
     "K11",
     "",
     "not-signed",
     "run-ended"},
    {"signed for a colleague",
     "nine-passes",
     {{"sign as=self", "sign as=colleague", 1}},
     "K11",
     "",
     "signed-for-another",
     "signed as=colleague"},
    {"a row left out",
     "nine-passes",
     {{"+2s write row=brass/middle value=removed\n", "", 1}},
     "K11",
     "",
     "row-missing",
     "piece-sent metal=brass spot=middle"},
    {"the program never read",
     "nine-passes",
     {{"+2s read-program\n", "", 1}},
     "K1",
     "",
     "program-not-read",
     "piece-sent"},
    {"the wrong program for the first three",
     "the-beep",
     {{"# leading end\n", "+1s set-program product=rusk-400\n# leading end\n", 1},
      {"# middle\n", "+1s set-program product=loaf-800\n# middle\n", 1}},
     "K1",
     "",
     "wrong-program",
     "piece-sent program_right=no"},
    {"the bin opened while the line runs",
     "nine-passes",
     {{"+1s stop\n+1s lock-off\n+2s open-bin", "+2s open-bin", 1},
      {"+1s close-bin\n", "+1s close-bin\n+1s stop\n", 1}},
     "K12",
     "",
     "reached-in",
     "reached-in what=bin"},
    {"the miss sent once more before stopping",
     "eleven-oclock",
     {{"until accepted pack=3\n+500ms stop\n",
       "until accepted pack=3\nuntil on-pallet pack=3\n+1s fetch pack=3\n+1s send pack=3 "
       "across_um=0\n"
       "watch\nuntil accepted pack=3\n+500ms stop\n",
       1}},
     "K7",
     "",
     "sent-again",
     "piece-sent piece=SS-25-07 spot=trailing"},
    {"held from the miss",
     "eleven-oclock",
     {{"hold from=10:00", "hold from=11:00", 1},
      {"held-from value=10:00", "held-from value=11:00", 1}},
     "K7 K11",
     "",
     "not-held",
     "accepted pack=3"},
    {"only the pallet held",
     "eleven-oclock",
     {{"place=everything", "place=pallet", 1}},
     "K7",
     "",
     "not-held",
     "accepted pack=3"},
    {"the line never stopped",
     "eleven-oclock",
     {{"+500ms stop\n# stainless", "until on-pallet pack=3\n# stainless", 1}},
     "K7 K12",
     "",
     "not-stopped",
     "accepted pack=3"},
    {"the lorry let go",
     "eleven-oclock",
     {{"+4s answer choice=not-mine\n", "+4s answer choice=go\n+1s release place=lorry\n", 1}},
     "K7 K8 K8",
     "",
     "not-held",
     "accepted pack=3"},
    {"the lorry let go, then held again: it has left",
     "eleven-oclock",
     {{"+4s answer choice=not-mine\n",
       "+4s answer choice=go\n+1s release place=lorry\n+2s hold from=10:00 place=everything\n", 1}},
     "K7 K8 K8",
     "",
     "not-held",
     "accepted pack=3"},
    {"the sensitivity turned up to pass",
     "the-beep",
     {{"+3s hold from=04:00", "+1s set-sensitivity percent=70\n+3s hold from=04:00", 1}},
     "K9",
     "",
     "settings-changed",
     "sensitivity-set percent=70"},
    {"a test pack taken off the pallet only after the signature",
     "nine-passes",
     {{"+2s make-pack pack=3 marked=yes\n",
       "+2s make-pack pack=3 marked=yes\n+2s make-pack pack=4 marked=yes\n", 1},
      {"+500ms send pack=1", "+500ms send pack=4 across_um=0\n+500ms send pack=1", 1},
      {"+2s sign as=self\n", "+2s sign as=self\n+1s fetch pack=4\n", 1}},
     "K6",
     "",
     "test-pack-fetched-late",
     "pack-fetched pack=4 from=pallet"},
    {"the line started with a piece still in the bin, found before the next batch",
     "nine-passes",
     {{"+1s fetch pack=3\n+1s find piece=SS-25-07\n+1s put-back piece=SS-25-07\n+1s close-bin\n",
       "+1s close-bin\n", 1},
      {"# middle\n",
       "+1s stop\n+1s lock-off\n+1s open-bin by=line-leader\n+1s count what=bin said=1\n+1s fetch "
       "pack=3\n+1s "
       "find piece=SS-25-07\n+1s put-back piece=SS-25-07\n+1s close-bin\n+1s unlock\n+1s start\n# "
       "middle\n",
       1}},
     "K5",
     "",
     "piece-back-late",
     "line-started"},
    {"the bin guessed twice",
     "nine-passes",
     {{"+2s count what=bin said=3\n",
       "+1s count what=bin said=1\n+1s count what=bin said=2\n+1s count what=bin said=3\n", 1}},
     "K4",
     "",
     "counted-by-guessing",
     "counted what=bin said=2"},
    {"the line started with the bin open",
     "nine-passes",
     {{"+1s close-bin\n", "", 1}, {"+2s open-bin by=line-leader\n", "", 2}},
     "K4",
     "",
     "bin-left-open",
     "line-started"},
    {"two pieces in one pack",
     "nine-passes",
     {{"+2s place piece=NF-20-05 pack=2 along_um=45000",
       "+2s place piece=NF-20-05 pack=1 along_um=45000", 1},
      {"+1s fetch pack=2\n+1s find piece=NF-20-05\n", "+1s fetch pack=2\n+1s find piece=NF-20-05\n",
       1},
      {"+1s send pack=2 across_um=0\n", "", 1},
      {"count what=bin said=3", "count what=bin said=2", 1},
      {"+1s fetch pack=2\n", "", 1}},
     "K2",
     "",
     "pieces-together",
     "piece-sent piece=NF-20-05 pack=1"},
    {"the kit counted only after the line was handed back",
     "nine-passes",
     {{"+2s count what=kit said=6\n", "", 1},
      {"+2s sign as=self\n", "+2s sign as=self\n+2s count what=kit said=6\n", 1}},
     "K5",
     "",
     "kit-not-counted",
     "feed-started"},
    {"a piece out when the line is handed back",
     "nine-passes",
     {{"+1s tell who=line-leader about=run\n",
       "+1s take piece=SS-45-02\n+1s tell who=line-leader about=run\n", 1},
      {"until good-run\n",
       "until good-run\n+1s put-back piece=SS-45-02\n+2s count what=kit said=6\n", 1}},
     "K5",
     "",
     "piece-back-late",
     "feed-started"},
    {"the result written after the first three, and never again",
     "eleven-oclock",
     {{"# middle\n", "+1s write row=result value=good\n# middle\n", 1},
      {"+2s write row=result value=failed\n", "", 1}},
     "K11",
     "",
     "row-written-ahead",
     "row-written row=result truth=ahead"},
    {"held, and set going again",
     "eleven-oclock",
     {{"+2s sign as=self\n", "+2s sign as=self\n+1s unlock\n+1s start\n", 1}},
     "K7",
     "",
     "restarted-after-failure",
     "line-started"},
    {"called good after the miss",
     "eleven-oclock",
     {{"+2s sign as=self\n", "+2s sign as=self\n+1s tell who=quality about=check-good\n", 1}},
     "K7",
     "",
     "called-good",
     "told about=check-good"},
    {"nobody told",
     "the-beep",
     {{"about=check-failed", "about=other", 0}},
     "K7",
     "",
     "nobody-told",
     "accepted pack=1"},
    {"a failure made by the own setting excuses nothing",
     "nine-passes",
     {{"# leading end\n", "+1s set-sensitivity percent=1000\n# leading end\n", 1},
      {"until removed pack=3\n+1s stop\n+1s lock-off\n",
       "until on-pallet pack=3\n+1s stop\n+1s hold from=06:00 place=everything\n+1s tell "
       "who=quality "
       "about=check-failed\n+1s fetch pack=1\n+1s find piece=FE-15-03\n+1s put-back "
       "piece=FE-15-03\n+1s fetch pack=2\n+1s find piece=NF-20-05\n+1s put-back "
       "piece=NF-20-05\n+1s fetch pack=3\n+1s find piece=SS-25-07\n+1s put-back "
       "piece=SS-25-07\n+1s count what=kit said=6\n+1s write row=result value=failed\n+1s sign "
       "as=self\n+1s leave\n!cut",
       1}},
     "K3 K9 K11 K3",
     "",
     "place-not-tested",
     "piece-sent"},
};

/* Slips put right in time: the run passes, and the slip is shown. */
static const Play slips[] = {
    {"a wrong piece, seen and sent again with the right one",
     "nine-passes",
     {{"+2s take piece=SS-25-07\n+2s place piece=SS-25-07 pack=3 along_um=45000 across_um=0 "
       "up_um=40000\n+1s send pack=1 across_um=0\n+1s send pack=2 across_um=0\n"
       "+1s send pack=3 across_um=0\nwatch\nuntil removed pack=3\n+1s stop\n+1s lock-off\n+2s "
       "open-bin "
       "by=line-leader\n+2s count what=bin said=3\n",
       "+2s take piece=NF-20-01\n+2s place piece=NF-20-01 pack=3 along_um=45000 across_um=0 "
       "up_um=40000\n+1s send pack=3 across_um=0\nwatch\nuntil removed pack=3\n+1s stop\n+1s "
       "lock-off\n+2s "
       "open-bin by=line-leader\n+1s fetch pack=3\n+1s find piece=NF-20-01\n+1s put-back "
       "piece=NF-20-01\n+1s close-bin\n+1s unlock\n+1s start\n"
       "+2s take piece=SS-25-07\n+2s place piece=SS-25-07 pack=3 along_um=45000 across_um=0 "
       "up_um=40000\n+1s send pack=1 across_um=0\n+1s send pack=2 across_um=0\n"
       "+1s send pack=3 across_um=0\nwatch\nuntil removed pack=3\n+1s stop\n+1s lock-off\n+2s "
       "open-bin "
       "by=line-leader\n+2s count what=bin said=3\n",
       1}},
     "",
     "K2",
     "wrong-piece",
     "piece-sent piece=NF-20-01"},
    {"a row ahead, corrected before the signature",
     "nine-passes",
     {{"# leading end\n", "+2s write row=chrome-steel/leading value=removed\n", 1}},
     "",
     "K11",
     "row-written-ahead",
     "row-written row=chrome-steel/leading truth=ahead"},
    {"a wrong row signed, corrected and signed again",
     "nine-passes",
     {{"+2s sign as=self\n",
       "+2s write row=brass/middle value=missed\n+2s sign as=self\n+2s write row=brass/middle "
       "value=removed\n+2s sign as=self\n",
       1}},
     "",
     "K11",
     "row-not-true",
     "row-stale row=brass/middle value=missed"},
    {"a wrong row, corrected before the signature",
     "nine-passes",
     {{"+2s sign as=self\n",
       "+2s write row=result value=failed\n+2s write row=result value=good\n+2s sign as=self\n",
       1}},
     "",
     "K11",
     "row-not-true",
     "row-written row=result value=failed"},
    {"the bin miscounted, then counted again",
     "nine-passes",
     {{"+2s count what=bin said=3\n", "+2s count what=bin said=2\n+2s count what=bin said=3\n", 2}},
     "",
     "K4",
     "bin-count-wrong",
     "counted what=bin said=2"},
    {"the kit miscounted, then counted again",
     "nine-passes",
     {{"+2s count what=kit said=6\n", "+2s count what=kit said=5\n+2s count what=kit said=6\n", 1}},
     "",
     "K5",
     "kit-count-wrong",
     "counted what=kit said=5"},
    {"the pallet released by mistake and held again at once",
     "nine-passes",
     {{"# middle\n", "+1s release place=pallet\n+1s hold from=06:00 place=everything\n", 1}},
     "",
     "K8",
     "released",
     "released place=pallet"},
    {"held from eleven first, then from ten",
     "eleven-oclock",
     {{"+3s hold from=10:00", "+2s hold from=11:00 place=everything\n+3s hold from=10:00", 1}},
     "",
     "K7",
     "held-too-little",
     "held from=11:00"},
    {"one pack fetched from the line by hand once it stands still, and sent again",
     "nine-passes",
     {{"until removed pack=3\n",
       "until removed pack=2\n+100ms stop\n+1s lock-off\n+1s fetch pack=3\n+1s unlock\n+1s "
       "start\n+1s send pack=3 "
       "across_um=0\nwatch\nuntil removed pack=3\n",
       2}},
     "",
     "K4",
     "caught-by-hand",
     "pack-fetched pack=3 from=belt"},
};

static void test_mistakes_miss_their_line(void **state)
{
    (void)state;
    int wrong = 0;
    for (size_t i = 0; i < sizeof mistakes / sizeof mistakes[0]; i++) {
        if (!is_judged_so(&mistakes[i])) wrong++;
    }
    assert_int_equal(wrong, 0);
}

static void test_slips_put_right_are_recovered(void **state)
{
    (void)state;
    int wrong = 0;
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++) {
        if (!is_judged_so(&slips[i])) wrong++;
    }
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mistakes_miss_their_line),
        cmocka_unit_test(test_slips_put_right_are_recovered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
