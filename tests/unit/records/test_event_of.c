/* Events read from facts, held against the general JSON reader. */
#include "records/calendar.h"
#include "records/competence.h"
#include "records/event_of.h"

#define Site SmallSite /* scenario/site.h has a Site of its own */
#include "kinds.h"

/* A list of the body as words with a blank between two. */
static Text words_of(const JsonValue *body, const char *key)
{
    Text out = {0};
    const JsonValue *list = json_get(body, key);
    for (size_t i = 0; list != NULL && i < json_count(list); i++) {
        text_addf(&out, "%s%s", i == 0 ? "" : " ", json_string(json_at(list, i)));
    }
    return out;
}

static const char *text_of(const JsonValue *body, const char *key)
{
    const JsonValue *value = json_get(body, key);
    return value == NULL ? "" : json_string(value);
}

static bool bool_of(const JsonValue *body, const char *key)
{
    const JsonValue *value = json_get(body, key);
    return value != NULL && json_bool(value);
}

static void assert_list(const char *got, const JsonValue *body, const char *key)
{
    Text want = words_of(body, key);
    assert_string_equal(got == NULL ? "" : got, text_string(&want));
    text_clear(&want);
}

static void assert_day(int32_t got, const JsonValue *body, const char *key)
{
    char text[REC_DAY_BYTES];
    const char *want = text_of(body, key);
    rec_day_print(got, text);
    if (want[0] == '\0')
        assert_int_equal(got, 0);
    else
        assert_string_equal(text, want);
}

static void assert_lists(const RecFact *fact, const JsonValue *body, const RecEvent *event)
{
    if (strcmp(fact->kind, "observation") == 0)
        assert_string_equal(event->lines, text_of(body, "line"));
    else
        assert_list(event->lines, body, "lines");
    assert_list(event->products, body, "products");
    assert_list(event->checks, body, "checks");
    assert_list(event->evidence, body, "evidence");
}

/* What event.h says of each kind, read with json_parse. */
static void assert_event(const RecFact *fact, const JsonValue *body, const RecEvent *event)
{
    bool is_run = strcmp(fact->kind, "run") == 0;
    bool is_key = strcmp(fact->kind, "key") == 0;
    bool is_about = json_get(body, "about") != NULL;
    const char *decision = text_of(body, "decision");
    assert_string_equal(event->station, fact->station);
    assert_string_equal(event->hash, fact->hash);
    assert_string_equal(event->person, fact->person);
    assert_string_equal(event->author, fact->author);
    assert_true(event->number == fact->number && event->time_us == fact->time_us);
    assert_string_equal(event->other, text_of(body, is_run ? "supervised_by" : "buddy"));
    assert_string_equal(event->about, text_of(body, "about"));
    assert_string_equal(event->subject, is_key     ? text_of(body, "why")
                                        : is_about ? ""
                                                   : fact->subject);
    assert_string_equal(event->key, is_key                                 ? fact->subject
                                    : strcmp(fact->kind, "signature") == 0 ? text_of(body, "key")
                                                                           : "");
    assert_int_equal(event->is_assessment, strcmp(text_of(body, "mode"), "assessment") == 0);
    assert_int_equal(event->is_scripted, bool_of(body, "scripted"));
    assert_int_equal(event->is_good, bool_of(body, "good") || bool_of(body, "given"));
    assert_int_equal(event->decision, strcmp(decision, "refused") == 0      ? REC_REFUSED
                                      : strcmp(decision, "with-buddy") == 0 ? REC_WITH_BUDDY
                                                                            : REC_SIGNED);
    assert_day(event->until_day, body, "good_until");
    if (json_get(body, "seen_on") != NULL)
        assert_day(event->day, body, "seen_on");
    else
        assert_day(event->day, body, "signed_on");
    assert_lists(fact, body, event);
}

typedef struct {
    int counts[REC_EVENT_KIND_COUNT];
    int others;
    Text lists;
} Counts;

static bool compare_fact(void *context, const RecFact *fact, Err *err)
{
    Counts *counts = context;
    RecEvent event;
    bool is_event = false;
    if (!rec_event_of(fact, &counts->lists, &event, &is_event, err)) fail_msg("%s", err->text);
    if (!is_event) {
        counts->others++;
        return true;
    }
    JsonDoc *doc = NULL;
    assert_true(json_parse("fact", fact->value, strlen(fact->value), &doc, err));
    assert_event(fact, json_root(doc), &event);
    json_free(doc);
    counts->counts[event.kind]++;
    return true;
}

static void test_rec_event_of_every_kind(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    Counts counts = {0};
    full_site(&site);
    assert_ok(rec_facts(site.records, NULL, NULL, compare_fact, &counts, &err));
    for (int i = 0; i < REC_EVENT_KIND_COUNT; i++) {
        if (counts.counts[i] == 0) fail_msg("no event of kind %d", i);
    }
    assert_true(counts.others > 0);
    text_clear(&counts.lists);
    end_site(&site);
}

/* --- Bodies made by hand --------------------------------------------------------------------- */

#define HASH "00000000000000000000000000000000000000000000000000000000000000aa"

static const char RUN_BODY[] =
    "{\"language\":\"en\",\"mode\":\"assessment\",\"model\":\"3\",\"scenario\":\"the-beep\","
    "\"scripted\":true,\"seed\":\"7\",\"supervised_by\":\"ann\"";

static const char SIGNATURE_BODY[] =
    "{\"buddy\":\"\",\"checks\":[],\"competence\":\"check\",\"decision\":\"with-buddy\","
    "\"evidence\":[\"ab\",\"cd\"],\"good_until\":\"2028-02-29\","
    "\"head\":{\"hash\":\"ef\",\"number\":3},\"key\":\"99\",\"lines\":[\"d1\"],"
    "\"meaning\":\"I saw: \\\"lines\\\":[\\\"d2\\\"], {all} \\\\\",\"person\":\"rosa\","
    "\"products\":[],\"statement\":\"77\"}";

static RecFact fact_of(const char *kind, const char *value)
{
    return (RecFact){.station = "s1",
                     .number = 5,
                     .hash = HASH,
                     .time_us = 9,
                     .kind = kind,
                     .author = "ann",
                     .person = "rosa",
                     .subject = "check",
                     .value = value};
}

static void test_rec_event_of_verdicts(void **state)
{
    (void)state;
    static const struct {
        const char *end;
        RecRunVerdict want;
    } cases[] = {{",\"verdict\":\"competent\"}", REC_RUN_COMPETENT},
                 {",\"verdict\":\"not yet competent\"}", REC_RUN_NOT_YET},
                 {",\"verdict\":\"broken-off\"}", REC_RUN_BROKEN_OFF},
                 {",\"verdict\":\"compet\\u0065nt\"}", REC_RUN_NOT_YET}, /* not canonical */
                 {",\"verdict\":\"\\\"competent\\\"\"}", REC_RUN_NOT_YET},
                 {"}", REC_RUN_NOT_YET}};
    Text lists = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        Err err = {0};
        Text body = {0};
        RecEvent event;
        bool is_event = false;
        text_addf(&body, "%s%s", RUN_BODY, cases[i].end);
        RecFact fact = fact_of("run", body.bytes);
        assert_ok(rec_event_of(&fact, &lists, &event, &is_event, &err));
        assert_true(is_event && event.is_assessment && event.is_scripted);
        assert_int_equal(event.verdict, cases[i].want);
        assert_string_equal(event.other, "ann");
        text_clear(&body);
    }
    text_clear(&lists);
}

/* Text of a person's own that looks like fields is stepped over. */
static void test_rec_event_of_signature(void **state)
{
    (void)state;
    Err err = {0};
    Text lists = {0};
    RecEvent event;
    bool is_event = false;
    RecFact fact = fact_of("signature", SIGNATURE_BODY);
    assert_ok(rec_event_of(&fact, &lists, &event, &is_event, &err));
    assert_string_equal(event.lines, "d1");
    assert_string_equal(event.evidence, "ab cd");
    assert_string_equal(event.checks, "");
    assert_string_equal(event.key, "99");
    assert_int_equal(event.decision, REC_WITH_BUDDY);
    assert_int_equal(event.until_day, 21243); /* date -u -d 2028-02-29 +%s, over 86400 */
    text_clear(&lists);
}

/* As many of the longest words as an entry may have are taken by a set of events too. */
static void test_rec_event_of_longest_list(void **state)
{
    (void)state;
    Err err = {0};
    Text lists = {0};
    Text body = {0};
    RecEvent event;
    bool is_event = false;
    text_add(&body, "{\"good_until\":\"2026-01-01\",\"lines\":[");
    for (int i = 0; i < REC_LIST_MAX; i++) {
        text_addf(&body, "%s\"%064d\"", i == 0 ? "" : ",", i);
    }
    text_add(&body, "],\"signed_on\":\"2025-01-01\"}");
    RecFact fact = fact_of("paper", body.bytes);
    assert_ok(rec_event_of(&fact, &lists, &event, &is_event, &err));
    assert_int_equal(strlen(event.lines), REC_LIST_MAX * REC_EVENT_WORD_BYTES - 1);
    RecEventSet *set = rec_event_set_new();
    assert_ok(rec_event_set_add(set, &event, &err));
    rec_event_set_free(set);
    text_clear(&body);
    text_clear(&lists);
}

static void assert_damaged(const char *kind, const char *value)
{
    Err err = {0};
    Text lists = {0};
    RecEvent event;
    bool is_event = false;
    RecFact fact = fact_of(kind, value);
    if (rec_event_of(&fact, &lists, &event, &is_event, &err)) fail_msg("taken: %s", value);
    assert_int_equal(err.code, ERR_DAMAGE);
    assert_string_equal(err.text, "the fact of entry 5 (00000000...) is not well-formed");
    text_clear(&lists);
}

static void test_rec_event_of_damaged(void **state)
{
    (void)state;
    static const char *const bodies[] = {"",
                                         "{",
                                         "{}",
                                         "[]",
                                         "{\"given\":true",
                                         "{\"given\":1}",
                                         "{\"given\":\"yes\"}",
                                         "{\"given\":true}x",
                                         "{\"given\":true,\"given\":true}",
                                         "{\"given\"true}",
                                         "{given:true}",
                                         "{\"given\":}"};
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        assert_damaged("role", bodies[i]);
    }
    assert_damaged("paper",
                   "{\"good_until\":\"2026-02-30\",\"lines\":[],\"signed_on\":\"2025-01-01\"}");
    assert_damaged("paper",
                   "{\"good_until\":\"2026-02-03\",\"lines\":[1],\"signed_on\":\"2025-01-01\"}");
    assert_damaged("assignment", "{\"buddy\":\"00000000-0000-4000-8000-0000000000000\"}");
    /* Without "scripted" or "supervised_by" a run could seem to count. */
    assert_damaged("run", "{\"mode\":\"assessment\",\"supervised_by\":\"ann\"}");
    assert_damaged("run", "{\"mode\":\"assessment\",\"scripted\":false}");
}

/* Cut short or with any byte changed, a body is read or refused and nothing else happens. */
static void test_rec_event_of_torn(void **state)
{
    (void)state;
    static const char bytes[] = "\"\\[]{},: a\x01\xff";
    Text lists = {0};
    for (size_t i = 0; i < sizeof SIGNATURE_BODY - 1; i++) {
        char *body = check_calloc(sizeof SIGNATURE_BODY, 1); /* so that reading past it shows */
        memcpy(body, SIGNATURE_BODY, i);
        assert_damaged("signature", body);
        memcpy(body, SIGNATURE_BODY, sizeof SIGNATURE_BODY);
        for (size_t j = 0; j < sizeof bytes - 1; j++) {
            Err err = {0};
            RecEvent event;
            bool is_event = false;
            body[i] = bytes[j];
            RecFact fact = fact_of("signature", body);
            (void)!rec_event_of(&fact, &lists, &event, &is_event, &err);
        }
        free(body);
    }
    text_clear(&lists);
}

/* --- From a ledger to a standing ------------------------------------------------------------- */

static void test_rec_events_read(void **state)
{
    (void)state;
    Err err = {0};
    Site site;
    RecEventSet *own = NULL;
    RecEventSet *all = NULL;
    RecStanding standing;
    new_site(&site);
    put_deeds(&site);
    put_sign_off(&site);
    assert_ok(rec_events_read(site.records, NULL, &all, &err));
    assert_ok(rec_events_read(site.records, site.ids[TOM], &own, &err));
    Competence competence = {.id = "routine-check",
                             .lines = {"line-1", "line-2"},
                             .line_count = 2,
                             .scenarios = {"the-beep"},
                             .scenario_count = 1,
                             .rules = competence_rules_default()};
    RecMoment moment = {.as_of_us = FAKE_START.wall_us - 60 * 86400LL * SECOND_US};
    rec_standing(own, &competence, site.ids[TOM], &moment, &standing);
    assert_int_equal(standing.state, REC_IN_TRAINING); /* nothing was entered by then */
    moment.as_of_us = site.fake.wall_us;
    rec_standing(own, &competence, site.ids[TOM], &moment, &standing);
    assert_int_equal(standing.state, REC_LAPSED); /* on paper until 2026-01-15 */
    assert_true(standing.from_paper);
    RecCell *cells = rec_cells(all, &competence, 1, &moment);
    assert_int_equal(rec_event_set_people(all), 2);
    for (size_t i = 0; i < 2; i++) {
        const char *person = rec_event_set_person(all, i);
        rec_standing(all, &competence, person, &moment, &standing);
        assert_int_equal(cells[i].state, standing.state);
        if (strcmp(person, site.ids[TOM]) == 0) assert_int_equal(cells[i].state, REC_LAPSED);
    }
    free(cells);
    rec_event_set_free(own);
    rec_event_set_free(all);
    end_site(&site);
}

/* Every day there is comes back, and no other text is one. */
static void test_rec_day_read(void **state)
{
    (void)state;
    static const char *const bad[] = {"2026-02-29", "2026-13-01", "2026-00-10",
                                      "2026-01-00", "2026-04-31", "1969-12-31",
                                      "2026/01/01", "2026-1-01",  "2026-01-011"};
    char text[REC_DAY_BYTES];
    int32_t got = 0;
    for (int32_t day = 0; day < 60000; day++) {
        rec_day_print(day, text);
        assert_true(rec_day_read(text, strlen(text), &got));
        assert_int_equal(got, day);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        if (rec_day_read(bad[i], strlen(bad[i]), &got)) fail_msg("taken: %s", bad[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_event_of_every_kind),
        cmocka_unit_test(test_rec_event_of_verdicts),
        cmocka_unit_test(test_rec_event_of_signature),
        cmocka_unit_test(test_rec_event_of_longest_list),
        cmocka_unit_test(test_rec_event_of_damaged),
        cmocka_unit_test(test_rec_event_of_torn),
        cmocka_unit_test(test_rec_events_read),
        cmocka_unit_test(test_rec_day_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
