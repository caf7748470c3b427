/* The critical steps about a line that went wrong, each on short plays of the example site: what
 * must be missed, and why (common practice, no source). */
#include "unit/player/rows.h"

typedef struct {
    const char *name;
    Small small;
    const char *script;
    const char *reason; /* "" when the line of the rubric is met */
} Judged;

static void check_judged(const Work *base, const Judged *row)
{
    Work *work = small_work(base, &row->small);
    AppRunSetup setup = {.seed = 3, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    static Score score;
    if (!app_run_begin(work, &setup, &run, &err) ||
        !script_play(run, row->name, row->script, strlen(row->script), &err)) {
        fail_msg("%s: %s", row->name, err.text);
    }
    app_run_score(run, &score);
    const ScoreFinding *finding = &score.lines[0].finding;
    const char *reason = finding->state == SCORE_MET ? "" : finding->reason;
    if (strcmp(reason, row->reason) != 0) fail_msg("%s: \"%s\"", row->name, reason);
    app_run_free(run);
    work_free(work);
}

#define RULE(name) "\"rule\": \"" name "\""
#define LATE FAULT("\"reject-late\", \"by_ms\": 200")
#define FAILED_AND_STOPPED                                                                         \
    BALL("1")                                                                                      \
    "until on-pallet\nstop\nfetch pack=1\nfind piece=FE-15-03\nput-back "                          \
    "piece=FE-15-03\nhold from=04:00 place=everything\ntell who=quality "                          \
    "about=check-failed\n"
#define REPAIRED CALLED("maintenance") "ask who=maintenance for=repair\nuntil repaired\nstart\n"
#define OPENED_UP "until removed\nstop\nlock-off\nopen-bin by=line-leader\nexamine-rejects\n"

static const Judged ROWS[] = {
    {"sent again without a repair",
     {.faults = LATE, .need = RULE("stopped-and-held")},
     FAILED_AND_STOPPED "start\n" MADE("2") IN_PACK("FE-15-03", "2") SENT("2"),
     "restarted-after-failure"},
    {"sent again after the repair",
     {.faults = LATE, .need = RULE("stopped-and-held")},
     FAILED_AND_STOPPED REPAIRED MADE("2") IN_PACK("FE-15-03", "2") SENT("2") "until removed",
     ""},
    {"the full new check",
     {.minutes = 60, .faults = LATE, .need = RULE("full-recheck")},
     FAILED_AND_STOPPED REPAIRED FULL_CHECK,
     ""},
    {"only the metal that failed",
     {.minutes = 60, .faults = LATE, .need = RULE("full-recheck")},
     FAILED_AND_STOPPED REPAIRED MADE("11") ONE_METAL("FE-15-03"),
     "not-rechecked"},
    {"nothing was repaired",
     {.faults = LATE, .need = RULE("full-recheck")},
     FAILED_AND_STOPPED,
     ""},
    {"learned anew and not checked",
     {.fed = true,
      .faults = FAULT("\"product-temperature\", \"temperature_c\": 80"),
      .need = RULE("full-recheck")},
     "until removed\nstop\n" CALLED(
         "quality") "ask who=quality for=re-learn\nuntil re-learned\nstart",
     "not-rechecked"},
    {"a jam cleared by hand and not checked",
     {.fed = true, .faults = FAULT("\"jam\""), .need = RULE("full-recheck")},
     "until jammed\nstop\nlock-off\nclear-jam\nunlock\nstart",
     "not-rechecked"},
    {"a jam cleared, and the line left standing",
     {.fed = true, .faults = FAULT("\"jam\""), .need = RULE("full-recheck")},
     "until jammed\nstop\nlock-off\nclear-jam",
     ""},
    {"held before it failed",
     {.faults = LATE, .need = RULE("stopped-and-held")},
     "hold from=04:00 place=everything\n" BALL("1") "until accepted\nstop\ntell who=quality "
                                                    "about=check-failed\n",
     ""},
    {"held before it failed, and let go again",
     {.faults = LATE, .need = RULE("stopped-and-held")},
     "hold from=04:00 place=everything\nrelease place=pallet\n" BALL(
         "1") "until accepted\nstop\ntell who=quality about=check-failed\n",
     "not-held"},
    {"a find kept and told",
     {.fed = true, .faults = SLIVER, .need = RULE("find-kept")},
     OPENED_UP "keep-find\ntell who=quality about=find",
     ""},
    {"a find thrown away",
     {.fed = true, .faults = SLIVER, .need = RULE("find-kept")},
     OPENED_UP "throw-find-away\ntell who=quality about=find",
     "find-thrown-away"},
    {"a find left lying",
     {.fed = true, .faults = SLIVER, .need = RULE("find-kept")},
     OPENED_UP "tell who=quality about=find",
     "find-not-kept"},
    {"a find kept to oneself",
     {.fed = true, .faults = SLIVER, .need = RULE("find-kept")},
     OPENED_UP "keep-find\ntell who=line-leader about=find",
     "find-not-told"},
    {"a removed pack with metal in it is no failed check",
     {.fed = true, .faults = SLIVER, .need = RULE("stopped-and-held")},
     OPENED_UP "keep-find",
     ""},
    {"a pack on the floor is one",
     {.faults = FAULT("\"bin-missing\""), .need = RULE("stopped-and-held")},
     BALL("1") "until fell-on-floor",
     "not-stopped"},
    {"a fail-safe tried and reset by the line leader",
     {.fail_safes = "\"low-air\"", .need = RULE("fail-safes-stop")},
     "block what=air\nuntil alarm-raised\nunblock what=air\nreset-alarm what=low-air "
     "by=line-leader",
     ""},
    {"reset by whoever is near",
     {.fail_safes = "\"low-air\"", .need = RULE("fail-safes-stop")},
     "block what=air\nuntil alarm-raised\nreset-alarm what=low-air by=line-checker",
     "alarm-reset-by-another"},
    {"one of two not tried",
     {.fail_safes = "\"low-air\", \"photo-eye\"", .need = RULE("fail-safes-stop")},
     "block what=air\nuntil alarm-raised\nreset-alarm what=low-air by=line-leader",
     "fail-safe-not-tried"},
    {"a wrong piece refused is not missing",
     {.need = RULE("pieces-back")},
     "take piece=NF-20-01\nrefuse piece=NF-20-01\ncount what=kit said=5",
     ""},
    {"a fetched piece that never comes back",
     {.need = RULE("pieces-back")},
     "fetch-piece piece=FE-20-04\ntake piece=FE-20-04\ncount what=kit said=6",
     "piece-not-back"},
};

static void test_rules(void **state)
{
    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        check_judged(*state, &ROWS[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_rules)};
    return cmocka_run_group_tests(tests, read_base, end_base);
}
