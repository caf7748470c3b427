/* Where a person stands: a table of short stories. What each row wants is common practice in
 * assessing people at the line (no source) under the rules that competence.h states; numbers of
 * days were counted on a calendar by hand from 2026-01-01, which is day 0. */
#include "events.h"

typedef struct {
    const char *name, *rules, *story;
    double as_of;
    RecState state;
    const char *reasons; /* all behind the state's own, in order */
} Row;

#define SIGNED "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2 until=300 lines=d1"
#define LONG "absence=0,review=0"

static const Row rows[] = {
    /* Climbing. */
    {"nobody knows the person", "", "", 1, REC_IN_TRAINING, ""},
    {"assigned", "", "1 assign pilar", 2, REC_IN_TRAINING, ""},
    {"assessed", "", "10 pass A renske", 11, REC_ASSESSED, ""},
    {"not yet", "", "10 pass A renske", 9, REC_IN_TRAINING, ""},
    {"observed", "", "10 pass A renske; 11 good d1 marit", 11.5, REC_OBSERVED, ""},
    {"observed first", "", "10 good d1 marit; 11 pass A renske", 12, REC_OBSERVED, ""},
    {"observed only", "", "10 good d1 marit", 11, REC_IN_TRAINING, "seen-alone"},
    {"signed", "", SIGNED, 13, REC_STANDS, "absence,not-acknowledged"},
    {"acknowledged", "", SIGNED "; 12 ack 3", 13, REC_STANDS, "absence"},
    /* Only what somebody saw counts, and only unscripted. */
    {"scripted", "", "10 scripted A renske", 11, REC_IN_TRAINING, "scripted"},
    {"nobody beside", "", "10 alone A", 11, REC_IN_TRAINING, "not-supervised"},
    {"practice", "", "10 practice A renske", 11, REC_IN_TRAINING, ""},
    {"own assessor", "", "1 role ife assessor on; 10 pass A ife", 11, REC_IN_TRAINING,
     "supervised-self"},
    {"beside a colleague", "", "10 pass A tomasz", 11, REC_IN_TRAINING, "supervisor-no-assessor"},
    {"no assessor any more", "", "5 role marit assessor off; 10 pass A marit", 11, REC_IN_TRAINING,
     "supervisor-no-assessor"},
    {"assessor from later on", "", "10 pass A tomasz; 11 role tomasz assessor on", 12,
     REC_IN_TRAINING, "supervisor-no-assessor"},
    {"another competence's form", "", "10 pass X renske", 11, REC_IN_TRAINING, ""},
    /* After a failure: wait, another form, train again. */
    {"failed", "", "10 fail A renske", 11, REC_IN_TRAINING, "failed"},
    {"broken off", "", "10 broke A renske", 11, REC_IN_TRAINING, "failed"},
    {"the same form", "", "10 fail A renske; 12 pass A renske", 13, REC_IN_TRAINING,
     "failed,same-form"},
    {"the same form is allowed", "other=0", "10 fail A renske; 12 pass A renske", 13, REC_ASSESSED,
     ""},
    {"after five minutes", "", "10 fail A renske; 10.0035 pass B renske", 13, REC_IN_TRAINING,
     "failed,too-soon"},
    {"just under a day", "", "10 fail A renske; 10.999 pass B renske", 13, REC_IN_TRAINING,
     "failed,too-soon"},
    {"after a day", "", "10 fail A renske; 11 pass B renske", 13, REC_ASSESSED, ""},
    {"no wait", "wait=0", "10 fail A renske; 10.01 pass B renske", 13, REC_ASSESSED, ""},
    {"twice failed", "", "10 fail A renske; 12 fail B renske; 14 pass C renske", 15,
     REC_IN_TRAINING, "failed,retrain"},
    {"no retraining asked", "fails=0", "10 fail A renske; 12 fail B renske; 14 pass C renske", 15,
     REC_ASSESSED, ""},
    {"trained beside somebody", "",
     "10 fail A renske; 12 fail B renske; 13 practice C pilar; 14 pass C renske", 15, REC_ASSESSED,
     ""},
    {"trained, the first failed form", "",
     "10 fail A renske; 12 fail B renske; 13 practice C pilar; 14 pass A renske", 15, REC_ASSESSED,
     ""},
    {"trained, the last failed form", "",
     "10 fail A renske; 12 fail B renske; 13 practice C pilar; 14 pass B renske", 15,
     REC_IN_TRAINING, "failed,same-form"},
    {"practised alone", "", "10 fail A renske; 12 fail B renske; 13 practice C -; 14 pass C renske",
     15, REC_IN_TRAINING, "failed,retrain"},
    {"assigned again", "", "10 fail A renske; 12 fail B renske; 13 assign pilar; 14 pass C renske",
     15, REC_ASSESSED, ""},
    {"assigned by the person", "",
     "10 fail A renske; 12 fail B renske; 13 assign ife; 14 pass C renske", 15, REC_IN_TRAINING,
     "failed,retrain"},
    {"two failures with a success between", "",
     "10 fail A renske; 12 pass B renske; 14 fail A renske; 16 pass C renske", 17, REC_ASSESSED,
     ""},
    {"failed after it was passed", "", "10 pass A renske; 12 fail B renske", 13, REC_IN_TRAINING,
     "failed"},
    /* Voids. */
    {"a failure voided", "", "10 broke A renske; 10.1 void 1 marit; 10.2 pass A renske", 11,
     REC_ASSESSED, "voided"},
    {"voided by the person", "", "1 role ife assessor on; 10 fail A renske; 10.1 void 2 ife", 11,
     REC_IN_TRAINING, "failed"},
    {"voided by nobody of note", "", "10 pass A renske; 10.1 void 1 tomasz", 11, REC_ASSESSED, ""},
    {"a success voided", "", "10 pass A renske; 10.1 void 1 marit", 11, REC_IN_TRAINING, "voided"},
    {"voided under a signature", "", SIGNED "; 20 void 1 marit", 21, REC_IN_TRAINING,
     "voided,seen-alone,no-run"},
    /* Observations. */
    {"seen by oneself", "", "10 pass A renske; 11 good d1 ife", 12, REC_ASSESSED, "seen-self"},
    {"seen by a colleague", "", "10 pass A renske; 11 good d1 tomasz", 12, REC_ASSESSED,
     "seen-no-assessor"},
    {"seen on another line", "", "10 pass A renske; 11 good d2 marit", 12, REC_ASSESSED,
     "seen-elsewhere"},
    {"not good", "", "10 pass A renske; 11 bad d1 marit", 12, REC_ASSESSED, "seen-bad"},
    {"good, then not", "", "10 pass A renske; 11 good d1 marit; 12 bad b1 marit", 13, REC_ASSESSED,
     "seen-bad"},
    {"not good, then good", "", "10 pass A renske; 11 bad d1 marit; 12 good b1 marit", 13,
     REC_OBSERVED, ""},
    /* Who trained alone does not judge alone. */
    {"sole trainer", "", "5 practice A pilar; 10 pass A pilar; 11 good d1 pilar", 12, REC_ASSESSED,
     "sole-trainer"},
    {"sole trainer, allowed", "trainer=0", "5 practice A pilar; 10 pass A pilar; 11 good d1 pilar",
     12, REC_OBSERVED, ""},
    {"somebody else watched", "", "5 practice A pilar; 10 pass A pilar; 11 good d1 marit", 12,
     REC_OBSERVED, ""},
    {"somebody else assessed", "", "5 practice A pilar; 10 pass A marit; 11 good d1 pilar", 12,
     REC_OBSERVED, ""},
    {"two trained", "", "5 practice A pilar; 6 practice A marit; 10 pass A pilar; 11 good d1 pilar",
     12, REC_OBSERVED, ""},
    {"the buddy judged", "", "1 assign renske marit; 10 pass A marit; 11 good d1 marit", 12,
     REC_ASSESSED, "sole-trainer"},
    {"an older run by somebody else", "",
     "5 practice A pilar; 9 pass B marit; 10 pass A pilar; 11 good d1 pilar", 12, REC_OBSERVED, ""},
    /* Signatures that do not count. */
    {"signed for oneself", "",
     "1 role ife supervisor on; 1 key ife k-ife first; 10 pass A renske; 11 good d1 marit; "
     "12 sign ife with=3,4 until=300",
     13, REC_OBSERVED, "signed-self"},
    {"signed by an assessor", "",
     "10 pass A renske; 11 good d1 marit; 12 sign marit with=1,2 until=300", 13, REC_OBSERVED,
     "signer-no-supervisor"},
    {"signed from the office", "", "10 pass A renske; 12 sign renske with=1 until=300", 13,
     REC_ASSESSED, "no-observation"},
    {"signed without a run", "", "11 good d1 marit; 12 sign renske with=1 until=300", 13,
     REC_IN_TRAINING, "seen-alone,no-run"},
    {"signed over an unsupervised run", "",
     "10 alone A; 11 good d1 marit; 12 sign renske with=1,2 until=300", 13, REC_IN_TRAINING,
     "not-supervised,seen-alone,no-run"},
    {"another's key", "",
     "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2 until=300 key=k-marit", 13,
     REC_OBSERVED, "key-unknown"},
    {"a key changed before", "",
     "10 pass A renske; 11 good d1 marit; 11 key renske k-new changed; "
     "12 sign renske with=1,2 until=300",
     13, REC_OBSERVED, "key-unknown"},
    {"with the new key", "",
     "10 pass A renske; 11 good d1 marit; 11 key renske k-new changed; "
     "12 sign renske with=1,2 until=300 key=k-new",
     13, REC_STANDS, "absence,not-acknowledged"},
    {"a key lost before", "",
     "10 pass A renske; 11 good d1 marit; 11.5 key renske 0 lost; "
     "12 sign renske with=1,2 until=300",
     13, REC_OBSERVED, "key-lost"},
    {"a key lost later", "", SIGNED "; 12.5 key renske 0 lost", 13, REC_STANDS,
     "absence,key-lost-since,not-acknowledged"},
    {"failed before the signature", "",
     "10 pass A renske; 11 good d1 marit; 11.5 fail B renske; 12 sign renske with=1,2 until=300",
     13, REC_IN_TRAINING, "failed,seen-alone,failed-before"},
    {"bad before the signature", "",
     "10 pass A renske; 11 good d1 marit; 11.5 bad d1 marit; 12 sign renske with=1,2 until=300", 13,
     REC_ASSESSED, "seen-bad,no-observation"},
    {"no line of it", "",
     "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2 until=300 lines=d2", 13,
     REC_OBSERVED, "no-line"},
    {"by the sole trainer's word alone", "",
     "5 practice A pilar; 10 pass A pilar; 11 good d1 pilar; 12 sign renske with=2,3 until=300", 13,
     REC_ASSESSED, "sole-trainer,no-observation"},
    {"refused", "", "10 pass A renske; 11 good d1 marit; 12 refuse renske", 13, REC_IN_TRAINING,
     "refused"},
    {"refused, then signed by another", "",
     "1 role kwame supervisor on; 10 pass A renske; 11 good d1 marit; 12 refuse renske; "
     "13 sign kwame with=2,3 until=300",
     14, REC_IN_TRAINING, "refused,no-run"},
    {"refused, then new evidence", "",
     "10 pass A renske; 11 good d1 marit; 12 refuse renske; 20 pass B renske; 21 good d1 marit; "
     "22 sign renske with=4,5 until=300",
     23, REC_STANDS, "absence,not-acknowledged"},
    {"refused by an assessor", "", "10 pass A renske; 11 good d1 marit; 12 refuse marit", 13,
     REC_OBSERVED, ""},
    {"refused elsewhere later", "", SIGNED "; 20 refuse renske", 21, REC_STANDS,
     "refused,absence,not-acknowledged"},
    /* With a named buddy only. */
    {"with a buddy", "", "10 pass A renske; 12 sign renske with=1 until=90 buddy=marit", 13,
     REC_STANDS, "with-buddy,until,not-acknowledged"},
    {"buddies are not allowed", "buddy=0",
     "10 pass A renske; 12 sign renske with=1 until=90 buddy=marit", 13, REC_ASSESSED, "no-buddy"},
    {"one's own buddy", "", "10 pass A renske; 12 sign renske with=1 until=90 buddy=ife", 13,
     REC_ASSESSED, "no-buddy"},
    {"a buddy needs a run too", "", "12 sign renske with= until=90 buddy=marit", 13,
     REC_IN_TRAINING, "no-run"},
    /* How long. Jan 12, the last time the task was done, and three months: Apr 12, day 101. */
    {"31 days before the end", "", SIGNED, 70.9, REC_STANDS, "absence,not-acknowledged"},
    {"30 days before the end", "", SIGNED, 71, REC_DUE, "absence,not-acknowledged"},
    {"the last day", "", SIGNED, 101.9, REC_DUE, "absence,not-acknowledged"},
    {"one day more", "", SIGNED, 102, REC_LAPSED, "absence"},
    {"no due days", "due=0", SIGNED, 100.9, REC_STANDS, "absence,not-acknowledged"},
    /* Mar 2 and three months: Jun 2, day 152. */
    {"the task was done", "", SIGNED "; 60 practice A renske", 121, REC_STANDS,
     "absence,not-acknowledged"},
    {"done, and due", "", SIGNED "; 60 practice A renske", 122, REC_DUE,
     "absence,not-acknowledged"},
    {"done alone", "", SIGNED "; 60 practice A -", 102, REC_LAPSED, "absence"},
    {"done too late", "", SIGNED "; 102 practice A renske", 103, REC_LAPSED, "absence"},
    {"done on the last day", "", SIGNED "; 101 good d1 marit", 103, REC_STANDS,
     "absence,not-acknowledged"},
    /* Jan 13 and three months: Apr 13, day 102. */
    {"no first review", "absence=0", SIGNED, 102, REC_DUE, "review,not-acknowledged"},
    {"no first review, over", "absence=0", SIGNED, 103, REC_LAPSED, "review"},
    {"reviewed", "absence=0", SIGNED "; 100 good d1 marit", 103, REC_STANDS,
     "until,not-acknowledged"},
    {"a review does not wait", "absence=0", SIGNED "; 103 good d1 marit", 104, REC_LAPSED,
     "seen-alone,review"},
    {"the day that was signed", LONG, SIGNED, 300, REC_DUE, "until,not-acknowledged"},
    {"after the day that was signed", LONG, SIGNED, 301, REC_LAPSED, "until"},
    /* Jan 11, 2026 and twelve months: day 375. */
    {"as long as the run speaks", LONG,
     "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2 until=2000", 375, REC_DUE,
     "until,not-acknowledged"},
    {"longer than the run speaks", LONG,
     "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2 until=2000", 376, REC_LAPSED,
     "until"},
    {"evidence grows old unsigned", "absence=0", "10 pass A renske", 375, REC_ASSESSED, ""},
    {"evidence is too old unsigned", "absence=0", "10 pass A renske", 376, REC_IN_TRAINING,
     "run-old"},
    {"away before the signature", "",
     "10 pass A renske; 11 good d1 marit; 110 sign renske with=1,2 until=300", 111, REC_IN_TRAINING,
     "run-old,seen-old,no-run"},
    {"entered late", "absence=0,review=0",
     "10 pass A renske; 40 good d1 marit seen=5; 41 sign renske with=1,2 until=2000", 371,
     REC_LAPSED, "until"},
    {"a day to come is not believed", LONG,
     "10 pass A renske; 11 good d1 marit seen=200; 12 sign renske with=1,2 until=2000", 376,
     REC_LAPSED, "until"},
    /* Renewal. Jul 20, 2026 (day 200) and twelve months: day 565. */
    {"renewed", "absence=0",
     SIGNED "; 100 good d1 marit; 200 pass B renske; 201 good d1 marit; "
            "202 sign renske with=5,6 until=900",
     530, REC_STANDS, "until,not-acknowledged"},
    {"signed again without doing the task", "absence=0",
     SIGNED "; 50 sign renske with=1,2 until=300", 150, REC_LAPSED, "review"},
    {"new after it lapsed", "",
     SIGNED "; 200 pass B renske; 201 good d1 marit; 202 sign renske with=4,5 until=500", 203,
     REC_STANDS, "absence,not-acknowledged"},
    {"lapsed, and climbing", "", SIGNED "; 200 pass B renske", 201, REC_ASSESSED, ""},
    /* Triggers. */
    {"failed since", "", SIGNED "; 20 fail B renske", 21, REC_DUE,
     "failed,absence,failed-since,not-acknowledged"},
    {"failed since, and passed", "", SIGNED "; 20 fail B renske; 22 pass C renske", 23, REC_STANDS,
     "absence,not-acknowledged"},
    {"failed since, and voided", "", SIGNED "; 20 fail B renske; 21 void 4 marit", 22, REC_STANDS,
     "voided,absence,not-acknowledged"},
    {"seen bad since", "", SIGNED "; 20 bad d1 marit", 21, REC_DUE,
     "seen-bad,absence,seen-bad-since,not-acknowledged"},
    {"seen bad and good since", "", SIGNED "; 20 bad d1 marit; 22 good d1 renske", 23, REC_STANDS,
     "absence,not-acknowledged"},
    /* Withdrawal. */
    {"withdrawn", "", SIGNED "; 20 withdraw 3 kwame", 21, REC_WITHDRAWN, ""},
    {"withdrawn by the person", "", SIGNED "; 20 withdraw 3 ife", 21, REC_WITHDRAWN, ""},
    {"withdrawn at a station whose clock is behind", "", SIGNED "; 5@s0 withdraw 3 kwame", 21,
     REC_WITHDRAWN, ""},
    {"not yet withdrawn", "", SIGNED "; 20 withdraw 3 kwame", 19, REC_STANDS,
     "absence,not-acknowledged"},
    {"signed again on the old evidence", "",
     SIGNED "; 20 withdraw 3 kwame; 21 sign renske with=1,2 until=300", 22, REC_WITHDRAWN,
     "no-run"},
    {"withdrawn, and climbing", "", SIGNED "; 20 withdraw 3 kwame; 25 pass B renske", 26,
     REC_ASSESSED, ""},
    {"withdrawn, and signed anew", "",
     SIGNED "; 20 withdraw 3 kwame; 25 pass B renske; 26 good d1 marit; "
            "27 sign renske with=5,6 until=300",
     28, REC_STANDS, "absence,not-acknowledged"},
    /* From paper. */
    {"from paper", "", "10 paper kwame day=0 until=200", 11, REC_STANDS, "from-paper,absence"},
    {"paper by the person", "", "1 role ife quality on; 10 paper ife day=0 until=200", 11,
     REC_IN_TRAINING, "signed-self"},
    {"paper by an assessor", "", "10 paper marit day=0 until=200", 11, REC_IN_TRAINING,
     "signer-no-supervisor"},
    {"paper over", LONG, "10 paper kwame day=0 until=200", 201, REC_LAPSED, "from-paper,until"},
    {"paper of last year", LONG, "10 paper kwame day=-400 until=200", 11, REC_LAPSED,
     "from-paper,until"},
    {"paper withdrawn", "", "10 paper kwame day=0 until=200; 20 withdraw 1 renske", 21,
     REC_WITHDRAWN, "from-paper"},
};

static void set_rules(CompetenceRules *rules, const char *text)
{
    char copy[100];
    assert_true(strlen(text) < sizeof copy);
    memcpy(copy, text, strlen(text) + 1);
    for (char *at = copy; *at != '\0';) {
        char *value = strchr(at, '=');
        *value++ = '\0';
        long number = strtol(value, &value, 10);
        if (strcmp(at, "absence") == 0) rules->absence_months = number;
        if (strcmp(at, "review") == 0) rules->first_review_months = number;
        if (strcmp(at, "wait") == 0) rules->retake_wait_hours = number;
        if (strcmp(at, "fails") == 0) rules->fails_before_retrain = number;
        if (strcmp(at, "due") == 0) rules->due_days = number;
        if (strcmp(at, "other") == 0) rules->other_form_after_failure = number != 0;
        if (strcmp(at, "trainer") == 0) rules->trainer_not_sole_assessor = number != 0;
        if (strcmp(at, "buddy") == 0) rules->named_buddy = number != 0;
        at = *value == ',' ? value + 1 : value;
    }
}

static void name_reasons(const RecStanding *standing, char *out, size_t size)
{
    size_t len = 0;
    out[0] = '\0';
    for (int i = 1; i < standing->reason_count; i++) {
        int more = snprintf(out + len, size - len, "%s%s", len == 0 ? "" : ",",
                            rec_why_words[standing->reasons[i].why]);
        len += (size_t)more;
    }
}

static void test_rec_standing_rows(void **state)
{
    (void)state;
    static Story story;
    int wrong = 0;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const Row *row = &rows[i];
        RecStanding standing;
        Competence competence = story_competence();
        RecMoment moment = {.as_of_us = story_us(row->as_of)};
        char reasons[1000];
        set_rules(&competence.rules, row->rules);
        story_read(&story, row->story);
        RecEventSet *set = story_set(story.events, story.count);
        rec_standing(set, &competence, "ife", &moment, &standing);
        name_reasons(&standing, reasons, sizeof reasons);
        assert_int_equal((int)standing.reasons[0].why, (int)standing.state);
        if (standing.state != row->state || strcmp(reasons, row->reasons) != 0) {
            print_error("%s:\n    got  %s: %s\n    want %s: %s\n", row->name,
                        rec_state_words[standing.state], reasons, rec_state_words[row->state],
                        row->reasons);
            wrong++;
        }
        rec_event_set_free(set);
    }
    assert_int_equal(wrong, 0);
}

/* Read a story and judge it; *set is the caller's. */
static RecStanding judged(Story *story, const char *text, double as_of, RecEventSet **set)
{
    RecStanding standing;
    Competence competence = story_competence();
    RecMoment moment = {.as_of_us = story_us(as_of)};
    story_read(story, text);
    *set = story_set(story->events, story->count);
    rec_standing(*set, &competence, "ife", &moment, &standing);
    return standing;
}

static void test_rec_standing_scope(void **state)
{
    (void)state;
    static Story story;
    RecEventSet *set;
    RecStanding standing = judged(&story, SIGNED, 13, &set);
    assert_int_equal(standing.lines, 1);
    assert_int_equal(standing.buddy_lines, 0);
    assert_int_equal(standing.since_day, STORY_DAY_0 + 12);
    assert_int_equal(standing.good_until_day, STORY_DAY_0 + 300);
    assert_int_equal(standing.next_day, STORY_DAY_0 + 101);
    assert_string_equal(standing.signature, story.events[story.first + 2].hash);
    rec_event_set_free(set);
    /* None named is all; one signature a line; one withdrawn leaves the other. */
    standing =
        judged(&story, "10 pass A renske; 11 good d1 marit; 12 sign renske with=1,2", 13, &set);
    assert_int_equal(standing.lines, 3);
    rec_event_set_free(set);
    standing = judged(&story, SIGNED "; 13 sign renske with=1,2 lines=b1", 14, &set);
    assert_int_equal(standing.lines, 3);
    rec_event_set_free(set);
    standing =
        judged(&story, SIGNED "; 13 sign renske with=1,2 lines=b1; 14 withdraw 3 marit", 15, &set);
    assert_int_equal(standing.state, REC_STANDS);
    assert_int_equal(standing.lines, 2);
    rec_event_set_free(set);
    /* Alone on one line, beside somebody on both. */
    standing = judged(&story, SIGNED "; 13 sign renske with=1 lines=d1,b1 buddy=marit", 14, &set);
    assert_int_equal(standing.lines, 1);
    assert_int_equal(standing.buddy_lines, 2);
    assert_false(standing.with_buddy);
    rec_event_set_free(set);
    standing = judged(&story, "10 pass A renske; 13 sign renske with=1 buddy=marit", 14, &set);
    assert_true(standing.with_buddy);
    assert_string_equal(standing.buddy, "marit");
    assert_int_equal(standing.lines, 0);
    assert_int_equal(standing.buddy_lines, 3);
    rec_event_set_free(set);
    standing = judged(&story, "10 paper kwame day=0 until=50", 11, &set);
    assert_true(standing.from_paper);
    assert_int_equal(standing.good_until_day, STORY_DAY_0 + 50);
    rec_event_set_free(set);
}

static void test_rec_standing_reason_of_retake(void **state)
{
    (void)state;
    static Story story;
    RecEventSet *set;
    RecStanding standing =
        judged(&story, "10 fail A renske; 12 fail B renske; 14 pass C renske", 15, &set);
    const RecReason *retrain = &standing.reasons[2];
    assert_int_equal(retrain->why, REC_WHY_RETRAIN);
    assert_int_equal(retrain->number, 2);
    assert_int_equal(retrain->day, STORY_DAY_0 + 14);
    assert_string_equal(retrain->hash, story.events[story.first + 2].hash);
    rec_event_set_free(set);
}

/* A run at s1 while s2, where the person played before, is known until an earlier moment. */
static void test_rec_standing_provisional(void **state)
{
    (void)state;
    static const struct {
        const char *name, *story;
        double s2_until;
        bool want;
    } provisional[] = {
        {"not merged since", "8@s2 fail A renske; 10 pass B renske", 9, true},
        {"merged up to it", "8@s2 fail A renske; 10 pass B renske", 10, false},
        {"never played there", "8 fail A renske; 10 pass B renske; 1@s2 assign pilar", 9, false},
        {"the retake was made there", "8 fail A renske; 10@s2 pass B renske", 9, false},
        {"signed meanwhile",
         "8@s2 fail A renske; 10 pass B renske; 11 good d1 marit; 12 sign renske with=2,3", 9,
         true},
    };
    static Story story;
    for (size_t i = 0; i < sizeof provisional / sizeof provisional[0]; i++) {
        RecStanding standing;
        Competence competence = story_competence();
        RecStationEnd end = {"s2", story_us(provisional[i].s2_until)};
        RecMoment moment = {story_us(13), &end, 1};
        story_read(&story, provisional[i].story);
        RecEventSet *set = story_set(story.events, story.count);
        rec_standing(set, &competence, "ife", &moment, &standing);
        if (standing.provisional != provisional[i].want) fail_msg("%s", provisional[i].name);
        bool told = false;
        for (int r = 0; r < standing.reason_count; r++) {
            told = told || standing.reasons[r].why == REC_WHY_PROVISIONAL;
        }
        assert_int_equal(told, standing.provisional);
        rec_event_set_free(set);
    }
}

/* A clock set back brings no lapsed signature to life. */
static void test_rec_moment_us(void **state)
{
    (void)state;
    assert_int_equal(rec_moment_us(5, 9), 9);
    assert_int_equal(rec_moment_us(9, 5), 9);
}

static void test_rec_event_set_refuses(void **state)
{
    (void)state;
    static char list[REC_EVENT_LIST_BYTES_MAX + 2];
    RecEventSet *set = rec_event_set_new();
    RecEvent event = {.kind = REC_EVENT_OBSERVATION, .person = "ife", .author = "marit"};
    Err err = {0};
    assert_false(rec_event_set_add(set, &event, &err));
    assert_string_equal(err.text, "an event has no hash");
    event.hash[0] = 'a';
    memset(list, 'x', REC_EVENT_LIST_BYTES_MAX);
    event.lines = list;
    assert_true(rec_event_set_add(set, &event, &err));
    list[REC_EVENT_LIST_BYTES_MAX] = 'x';
    assert_false(rec_event_set_add(set, &event, &err));
    assert_string_equal(err.text, "a list of entry a is over 6500 bytes");
    rec_event_set_seal(set);
    assert_int_equal(rec_event_set_people(set), 1);
    assert_string_equal(rec_event_set_person(set, 0), "ife");
    rec_event_set_free(set);
}

/* --- The board ------------------------------------------------------------------------------- */

typedef struct {
    const RecEvent *events;
    int count, at, broken_at;
} Given;

static bool next_fact(void *context, RecEvent *out, bool *there, Err *err)
{
    Given *given = context;
    if (given->at == given->broken_at) return err_set(err, ERR_IO, "the disk is gone");
    *there = given->at < given->count;
    if (*there) *out = given->events[given->at++];
    return true;
}

static void test_rec_board(void **state)
{
    (void)state;
    static Story story;
    Competence competences[2] = {story_competence(), story_competence()};
    competences[1].id = "other";
    competences[1].scenarios[0] = "X";
    competences[1].scenario_count = 1;
    story_read(&story, SIGNED "; 13 pass X renske; 14 pass A renske");
    RecEvent *last = &story.events[story.count - 1];
    (void)snprintf(last->person, sizeof last->person, "bram");
    (void)snprintf(last->author, sizeof last->author, "bram");
    Given given = {story.events, story.count, 0, -1};
    RecMoment moment = {.as_of_us = story_us(15)};
    RecEventSet *people;
    RecCell *cells;
    Err err = {0};
    assert_true(rec_board(competences, 2, next_fact, &given, &moment, &people, &cells, &err));
    assert_int_equal(rec_event_set_people(people), 2);
    assert_string_equal(rec_event_set_person(people, 0), "bram");
    assert_string_equal(rec_event_set_person(people, 1), "ife");
    assert_int_equal(cells[0].state, REC_ASSESSED);
    assert_int_equal(cells[1].state, REC_IN_TRAINING);
    assert_int_equal(cells[2].state, REC_STANDS);
    assert_int_equal(cells[2].lines, 1);
    assert_int_equal(cells[2].why, REC_WHY_ABSENCE);
    assert_int_equal(cells[3].state, REC_ASSESSED);
    rec_event_set_free(people);
    free(cells);
    given = (Given){story.events, story.count, 0, 3};
    assert_false(rec_board(competences, 2, next_fact, &given, &moment, &people, &cells, &err));
    assert_string_equal(err.text, "the disk is gone");
}

/* --- The calendar ---------------------------------------------------------------------------- */

/* Worked by hand from the Gregorian calendar; that a shorter month gives its last day is common
 * practice (no source). */
static void test_rec_day_add_months(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to;
        int64_t months;
    } days[] = {{"1970-01-01", "1970-01-01", 0},  {"2026-01-31", "2026-02-28", 1},
                {"2024-01-31", "2024-02-29", 1},  {"2026-11-30", "2027-02-28", 3},
                {"2024-02-29", "2025-02-28", 12}, {"2024-02-29", "2028-02-29", 48},
                {"2026-03-02", "2026-06-02", 3},  {"2099-12-31", "2100-02-28", 2},
                {"1999-12-31", "2000-02-29", 2},  {"2026-12-15", "2031-12-15", 60}};
    for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
        char text[REC_DAY_BYTES];
        int32_t from = 0;
        for (rec_day_print(from, text); strcmp(text, days[i].from) != 0; from++) {
            rec_day_print(from + 1, text);
        }
        rec_day_print(rec_day_add_months(from, days[i].months), text);
        if (strcmp(text, days[i].to) != 0)
            fail_msg("%s + %d is %s", days[i].from, (int)days[i].months, text);
        assert_int_equal(rec_day_add_months(from, 0), from);
    }
    assert_int_equal(rec_day_of(-1), 0);
    assert_int_equal(rec_day_of(INT64_C(86400000000) - 1), 0);
    assert_int_equal(rec_day_of(INT64_C(86400000000)), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_standing_rows),
        cmocka_unit_test(test_rec_standing_scope),
        cmocka_unit_test(test_rec_standing_reason_of_retake),
        cmocka_unit_test(test_rec_standing_provisional),
        cmocka_unit_test(test_rec_moment_us),
        cmocka_unit_test(test_rec_event_set_refuses),
        cmocka_unit_test(test_rec_board),
        cmocka_unit_test(test_rec_day_add_months),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
