/* Laws of standings over random histories of one person; a failure prints the seed.
 *
 *     test_competence_laws [HISTORIES [SEED]] */
#include "base/random.h"
#include "unit/records/events.h"

enum { HISTORIES = 2000, EVENTS_MAX = 40, DAYS = 500 };

static int history_count = HISTORIES;
static uint64_t first_seed = 1;

/* A history of events, of which those from `first` on are the person's. */
typedef Story History;

static int below(Random *random, int count)
{
    return (int)random_below(random, (uint64_t)count);
}

static const char *one_of(Random *random, const char *const words[], int count)
{
    return words[below(random, count)];
}

/* --- Random histories ------------------------------------------------------------------------ */

static const char *const judges[] = {"renske", "renske", "marit", "pilar", "kwame", "ife", "tom"};
static const char *const forms[] = {"A", "B", "C", "X", "Y"};

static RecEvent *add(History *history, Random *random, RecEventKind kind, double day)
{
    RecEvent *event = story_event(history, kind, one_of(random, judges, 7), day);
    (void)snprintf(event->station, sizeof event->station, "s%d", below(random, 2));
    (void)snprintf(event->subject, sizeof event->subject, "%s",
                   below(random, 4) == 0 ? "other" : "check");
    return event;
}

static RecEvent *add_run(History *history, Random *random, double day)
{
    RecEvent *event = add(history, random, REC_EVENT_RUN, day);
    const char *what = below(random, 3) == 0 ? "fail" : "pass";
    story_run(event, below(random, 4) == 0 ? "practice" : what, one_of(random, forms, 5),
              one_of(random, judges, 7));
    (void)snprintf(event->author, sizeof event->author, "ife");
    if (below(random, 8) == 0) event->is_scripted = true;
    if (below(random, 8) == 0) event->other[0] = '\0';
    if (below(random, 12) == 0) event->verdict = REC_RUN_BROKEN_OFF;
    return event;
}

static void add_observation(History *history, Random *random, double day)
{
    static const char *const lines[] = {"d1", "b1", "d2"};
    RecEvent *event = add(history, random, REC_EVENT_OBSERVATION, day);
    event->is_good = below(random, 5) > 0;
    event->lines = one_of(random, lines, 3);
    event->day = rec_day_of(event->time_us) - (below(random, 4) == 0 ? below(random, 40) : 0);
}

static bool is_evidence(const RecEvent *event)
{
    return event->kind == REC_EVENT_RUN || event->kind == REC_EVENT_OBSERVATION;
}

static void add_signature(History *history, Random *random, double day)
{
    static const char *const lines[] = {"", "d1", "b1", "d1 b1", "d2"};
    char list[1000] = "";
    size_t len = 0;
    RecEvent *event = add(history, random, REC_EVENT_SIGNATURE, day);
    for (int i = history->count - 2; i >= history->first && len < 600; i--) {
        if (!is_evidence(&history->events[i]) || below(random, 3) == 0) continue;
        int more = snprintf(list + len, sizeof list - len, "%s%s", len == 0 ? "" : " ",
                            history->events[i].hash);
        len += (size_t)more;
    }
    if (below(random, 2) == 0) (void)snprintf(event->author, sizeof event->author, "renske");
    event->evidence = story_list(history, list);
    event->lines = one_of(random, lines, 5);
    event->until_day = rec_day_of(event->time_us) + below(random, 500);
    event->decision = (RecDecision)(below(random, 8) < 6 ? 0 : 1 + below(random, 2));
    if (event->decision == REC_WITH_BUDDY)
        (void)snprintf(event->other, sizeof event->other, "marit");
    (void)snprintf(event->key, sizeof event->key, "%s", "k-renske");
}

/* A void, a withdrawal or an acknowledgement of something that was before. */
static void add_about(History *history, Random *random, double day)
{
    int about = history->first + below(random, history->count - history->first);
    RecEventKind of = history->events[about].kind;
    RecEventKind kind = is_evidence(&history->events[about]) ? REC_EVENT_VOID
                        : below(random, 2) == 0              ? REC_EVENT_ACKNOWLEDGEMENT
                                                             : REC_EVENT_WITHDRAWAL;
    if (!is_evidence(&history->events[about]) && of != REC_EVENT_SIGNATURE && of != REC_EVENT_PAPER)
        return;
    RecEvent *event = add(history, random, kind, day);
    memcpy(event->about, history->events[about].hash, sizeof event->about);
    event->person[0] = event->subject[0] = '\0';
}

static void add_any(History *history, Random *random, double day)
{
    int what = below(random, 20);
    if (what < 8) {
        (void)add_run(history, random, day);
    } else if (what < 12) {
        add_observation(history, random, day);
    } else if (what < 16) {
        add_signature(history, random, day);
    } else if (what == 16) {
        RecEvent *event = add(history, random, REC_EVENT_PAPER, day);
        event->day = rec_day_of(event->time_us) - below(random, 300);
        event->until_day = rec_day_of(event->time_us) + below(random, 300);
    } else if (what == 17) {
        RecEvent *event = add(history, random, REC_EVENT_ASSIGNMENT, day);
        if (below(random, 2) == 0)
            (void)snprintf(event->other, sizeof event->other, "%s", one_of(random, judges, 7));
    } else if (history->count > history->first) {
        add_about(history, random, day);
    }
    if (below(random, 60) == 0) story_key(history, "renske", "0", "lost", day);
    if (below(random, 60) == 0)
        story_role(history, one_of(random, judges, 7), "assessor", below(random, 2) == 0, day);
}

/* Half of them go up the ladder in good order first, or hardly any would come far. */
static void random_history(Random *random, History *history)
{
    double day = 1;
    story_begin(history);
    if (below(random, 2) == 0) {
        static const char UP[] = "2 practice B pilar; 10 pass A renske; 12 good d1 marit; "
                                 "13 sign renske with=2,3 until=400; 60 practice A marit; "
                                 "90 good b1 renske";
        story_read(history, UP);
        day = 13 + below(random, 100);
    }
    int events = below(random, EVENTS_MAX);
    for (int i = 0; i < events; i++) {
        day += below(random, 3) == 0 ? below(random, 40) : 0.1 * below(random, 30);
        /* One in ten comes from a station whose clock is off. */
        add_any(history, random, below(random, 10) == 0 && day > 5 ? day - 4 : day);
    }
}

static void random_rules(Random *random, CompetenceRules *rules)
{
    if (below(random, 3) == 0) rules->absence_months = 0;
    if (below(random, 3) == 0) rules->first_review_months = below(random, 5);
    if (below(random, 4) == 0) rules->valid_months = 1 + below(random, 24);
    if (below(random, 4) == 0) rules->retake_wait_hours = below(random, 100);
    if (below(random, 4) == 0) rules->fails_before_retrain = below(random, 4);
    if (below(random, 4) == 0) rules->due_days = below(random, 100);
    if (below(random, 4) == 0) rules->other_form_after_failure = false;
    if (below(random, 4) == 0) rules->trainer_not_sole_assessor = false;
    if (below(random, 4) == 0) rules->named_buddy = false;
}

/* --- Comparing ------------------------------------------------------------------------------- */

/* What is compared of a standing; the set it borrows from is gone. */
typedef struct {
    RecStanding standing;
    char texts[4][200];
    char hashes[REC_WHY_COUNT][REC_HEX_BYTES];
} Judged;

static Judged judge(const RecEvent events[], int count, const Competence *competence, double as_of)
{
    Judged judged = {0};
    RecMoment moment = {.as_of_us = story_us(as_of)};
    RecEventSet *set = story_set(events, count);
    RecStanding *standing = &judged.standing;
    rec_standing(set, competence, "ife", &moment, standing);
    (void)snprintf(judged.texts[0], sizeof judged.texts[0], "%s", standing->signature);
    (void)snprintf(judged.texts[1], sizeof judged.texts[1], "%s", standing->buddy);
    for (int i = 0; i < standing->reason_count; i++) {
        (void)snprintf(judged.hashes[i], REC_HEX_BYTES, "%s", standing->reasons[i].hash);
        standing->reasons[i].hash = NULL;
    }
    standing->signature = standing->buddy = standing->products = standing->checks = NULL;
    rec_event_set_free(set);
    return judged;
}

static bool is_same(const Judged *a, const Judged *b)
{
    const RecStanding *x = &a->standing;
    const RecStanding *y = &b->standing;
    bool same = x->state == y->state && x->lines == y->lines && x->buddy_lines == y->buddy_lines &&
                x->since_day == y->since_day && x->good_until_day == y->good_until_day &&
                x->next_day == y->next_day && x->reason_count == y->reason_count &&
                x->from_paper == y->from_paper && x->with_buddy == y->with_buddy &&
                strcmp(a->texts[0], b->texts[0]) == 0 && strcmp(a->texts[1], b->texts[1]) == 0;
    for (int i = 0; same && i < x->reason_count; i++) {
        same = x->reasons[i].why == y->reasons[i].why && x->reasons[i].day == y->reasons[i].day &&
               x->reasons[i].number == y->reasons[i].number &&
               strcmp(a->hashes[i], b->hashes[i]) == 0;
    }
    return same;
}

/* How far up: who may do the task stands above who may not. */
static int height(const Judged *judged)
{
    static const int heights[REC_STATE_COUNT] = {
        [REC_ASSESSED] = 1, [REC_OBSERVED] = 2, [REC_DUE] = 3, [REC_STANDS] = 4};
    return heights[judged->standing.state];
}

static bool may_check(const Judged *judged)
{
    return height(judged) >= 3;
}

/* No line is gained. */
static bool covers_no_more(const Judged *before, const Judged *now)
{
    return (now->standing.lines & ~before->standing.lines) == 0 &&
           (now->standing.buddy_lines & ~(before->standing.lines | before->standing.buddy_lines)) ==
               0;
}

#define assert_law(seed, holds) law_or_fail((holds), (seed), #holds)

static void law_or_fail(bool holds, uint64_t seed, const char *law)
{
    if (!holds) fail_msg("seed %llu: %s", (unsigned long long)seed, law);
}

/* A history, its rules, a moment and what is so then. */
typedef struct {
    uint64_t seed;
    Random random;
    History history;
    Competence competence;
    double as_of;
    Judged was;
} Case;

static void begin(Case *self, uint64_t seed)
{
    self->seed = seed;
    random_init(&self->random, seed);
    self->competence = story_competence();
    random_rules(&self->random, &self->competence.rules);
    random_history(&self->random, &self->history);
    self->as_of = below(&self->random, DAYS);
    self->was = judge(self->history.events, self->history.count, &self->competence, self->as_of);
}

static Judged judge_now(const Case *self)
{
    return judge(self->history.events, self->history.count, &self->competence, self->as_of);
}

#define for_each_case(self)                                                                        \
    for (uint64_t at = 0; at < (uint64_t)history_count && (begin((self), first_seed + at), true);  \
         at++)

/* --- Laws ------------------------------------------------------------------------------------ */

/* In any order, and one twice: the same in every field. */
static void test_order_does_not_matter(void **state)
{
    (void)state;
    static Case self;
    static RecEvent shuffled[STORY_EVENTS_MAX + 1];
    int states[REC_STATE_COUNT] = {0};
    for_each_case(&self)
    {
        int count = self.history.count;
        memcpy(shuffled, self.history.events, sizeof self.history.events);
        for (int i = count - 1; i > 0; i--) {
            int other = below(&self.random, i + 1);
            RecEvent kept = shuffled[i];
            shuffled[i] = shuffled[other];
            shuffled[other] = kept;
        }
        shuffled[count] = shuffled[below(&self.random, count)];
        Judged now = judge(shuffled, count + 1, &self.competence, self.as_of);
        assert_law(self.seed, is_same(&self.was, &now));
        states[now.standing.state]++;
    }
    for (int i = 0; i < REC_STATE_COUNT; i++) {
        print_message("%s %d%s", rec_state_words[i], states[i],
                      i + 1 < REC_STATE_COUNT ? ", " : "\n");
        if (history_count >= HISTORIES) assert_true(states[i] > 10); /* each state was tried */
    }
}

static void test_unseen_runs_raise_nothing(void **state)
{
    (void)state;
    static Case self;
    for_each_case(&self)
    {
        RecEvent *run = add_run(&self.history, &self.random, below(&self.random, DAYS));
        if (below(&self.random, 2) == 0)
            run->is_scripted = true;
        else
            run->other[0] = '\0';
        Judged now = judge_now(&self);
        assert_law(self.seed, height(&now) <= height(&self.was));
        assert_law(self.seed, covers_no_more(&self.was, &now));
        assert_law(self.seed, now.standing.next_day == self.was.standing.next_day);
    }
}

/* Whoever wrote it, whenever it says it was, at whichever station. */
static void test_withdrawal_ends(void **state)
{
    (void)state;
    static Case self;
    int ended = 0;
    for_each_case(&self)
    {
        if (!may_check(&self.was)) continue;
        RecEvent *event =
            add(&self.history, &self.random, REC_EVENT_WITHDRAWAL, below(&self.random, 400));
        if (event->time_us > story_us(self.as_of)) event->time_us = story_us(self.as_of);
        memcpy(event->about, self.was.texts[0], sizeof event->about);
        Judged now = judge_now(&self);
        assert_law(self.seed, strcmp(now.texts[0], self.was.texts[0]) != 0 || !may_check(&now));
        assert_law(self.seed, height(&now) <= height(&self.was));
        assert_law(self.seed, covers_no_more(&self.was, &now));
        ended++;
    }
    if (history_count >= HISTORIES) assert_true(ended > 200);
}

/* With nothing new, later is never higher. */
static void test_time_raises_nothing(void **state)
{
    (void)state;
    static Case self;
    for_each_case(&self)
    {
        int64_t last = story_us(self.as_of);
        for (int i = 0; i < self.history.count; i++) {
            if (self.history.events[i].time_us > last) last = self.history.events[i].time_us;
        }
        self.as_of = (double)(last - story_us(0)) / 86400e6 + 0.01;
        Judged before = judge_now(&self);
        for (int step = 0; step < 30; step++) {
            self.as_of += 1 + below(&self.random, 30);
            Judged now = judge_now(&self);
            assert_law(self.seed, height(&now) <= height(&before));
            assert_law(self.seed, covers_no_more(&before, &now));
            before = now;
        }
        self.as_of += 1000; /* no rule here lets anything speak so long */
        Judged now = judge_now(&self);
        assert_law(self.seed, !may_check(&now));
    }
}

/* A void of what spoke for the person. */
static void test_void_of_evidence_lowers(void **state)
{
    (void)state;
    static Case self;
    int lowered = 0;
    for_each_case(&self)
    {
        RecEvent *events = self.history.events;
        int about =
            self.history.first + below(&self.random, self.history.count - self.history.first + 1);
        for (; about < self.history.count; about++) {
            const RecEvent *event = &events[about];
            bool is_run = event->kind == REC_EVENT_RUN && event->verdict == REC_RUN_COMPETENT;
            if (is_run || (event->kind == REC_EVENT_OBSERVATION && event->is_good)) break;
        }
        if (about >= self.history.count) continue;
        RecEvent *event = story_event(&self.history, REC_EVENT_VOID, "renske", self.as_of);
        memcpy(event->about, events[about].hash, sizeof event->about);
        Judged now = judge_now(&self);
        assert_law(self.seed, !may_check(&now) || height(&now) <= height(&self.was));
        assert_law(self.seed, covers_no_more(&self.was, &now));
        lowered += height(&now) < height(&self.was);
    }
    if (history_count >= HISTORIES) assert_true(lowered > 50);
}

/* Events of other people and of another competence change nothing. */
static void test_others_change_nothing(void **state)
{
    (void)state;
    static Case self;
    for_each_case(&self)
    {
        int first = self.history.count;
        for (int i = 0; i < 10; i++) {
            add_any(&self.history, &self.random, below(&self.random, DAYS));
        }
        int kept = first;
        for (int i = first; i < self.history.count; i++) {
            RecEvent *event = &self.history.events[i];
            if (event->kind == REC_EVENT_ROLE || event->kind == REC_EVENT_KEY ||
                event->about[0] != '\0')
                continue;
            bool is_run = event->kind == REC_EVENT_RUN;
            if (below(&self.random, 2) == 0)
                (void)snprintf(event->person, sizeof event->person, "joao");
            else
                (void)snprintf(event->subject, sizeof event->subject, "%s", is_run ? "X" : "other");
            self.history.events[kept++] = *event;
        }
        self.history.count = kept;
        Judged now = judge_now(&self);
        assert_law(self.seed, is_same(&self.was, &now));
    }
}

int main(int argc, char **argv)
{
    if (argc > 1) history_count = (int)strtol(argv[1], NULL, 10);
    if (argc > 2) first_seed = strtoull(argv[2], NULL, 10);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order_does_not_matter),
        cmocka_unit_test(test_unseen_runs_raise_nothing),
        cmocka_unit_test(test_withdrawal_ends),
        cmocka_unit_test(test_time_raises_nothing),
        cmocka_unit_test(test_void_of_evidence_lowers),
        cmocka_unit_test(test_others_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
