/* Events from the facts of a store that has every kind of entry, and from values that are none. */
#include "kinds.h"

#include "records/calendar.h"
#include "records/event_set.h"

/* The events that a store's facts give, by kind; the last of each is kept. */
typedef struct {
    int counts[REC_EVENT_KIND_COUNT];
    RecEvent last[REC_EVENT_KIND_COUNT];
    Text rooms[REC_EVENT_KIND_COUNT];
    RecEventSet *set;
    int others;
} Gathered;

static bool take(void *context, const RecFact *fact, Err *err)
{
    Gathered *gathered = context;
    RecEvent event;
    Text room = {0};
    bool is_one;
    if (!rec_event_read(fact, &event, &room, &is_one, err)) return false;
    gathered->others += !is_one;
    if (!is_one) return true;
    if (!rec_event_set_add(gathered->set, &event, err)) return false;
    gathered->counts[event.kind]++;
    gathered->last[event.kind] = event;
    text_clear(&gathered->rooms[event.kind]);
    gathered->rooms[event.kind] = room;
    return true;
}

static void test_rec_event_read_store(void **state)
{
    (void)state;
    static Site site;
    static Gathered gathered;
    Err err = {0};
    full_site(&site);
    gathered.set = rec_event_set_new();
    assert_ok(rec_facts(site.records, NULL, NULL, take, &gathered, &err));
    for (int kind = 0; kind < REC_EVENT_KIND_COUNT; kind++) {
        if (gathered.counts[kind] == 0) fail_msg("no event of kind %d", kind);
    }
    assert_true(gathered.others > 0);
    const RecEvent *seen = &gathered.last[REC_EVENT_OBSERVATION];
    assert_string_equal(seen->person, site.ids[ROSA]);
    assert_string_equal(seen->author, site.ids[ANN]);
    assert_string_equal(seen->subject, "routine-check");
    assert_string_equal(seen->lines, "line-3");
    assert_true(seen->is_good);
    const RecEvent *signature = &gathered.last[REC_EVENT_SIGNATURE];
    char day[REC_DAY_BYTES];
    rec_day_print(seen->day, day);
    assert_string_equal(day, "2026-02-27");
    rec_day_print(signature->until_day, day);
    assert_string_equal(day, "2027-03-02");
    assert_string_equal(signature->lines, "line-3");
    assert_string_equal(signature->products, "bread rolls");
    assert_string_equal(signature->checks, "start interval");
    assert_int_equal(strlen(signature->evidence), 64 + 1 + 64);
    assert_non_null(strstr(signature->evidence, seen->hash));
    assert_string_equal(signature->key, key_of(ANN).hex);
    assert_int_equal(signature->decision, REC_SIGNED);
    assert_string_equal(gathered.last[REC_EVENT_WITHDRAWAL].about, signature->hash);
    assert_string_equal(gathered.last[REC_EVENT_ACKNOWLEDGEMENT].author, site.ids[ROSA]);
    assert_string_equal(gathered.last[REC_EVENT_ASSIGNMENT].other, site.ids[ANN]);
    const RecEvent *paper = &gathered.last[REC_EVENT_PAPER];
    assert_string_equal(paper->person, site.ids[TOM]);
    assert_string_equal(paper->lines, "line-1 line-3");
    rec_day_print(paper->day, day);
    assert_string_equal(day, "2025-01-15");
    assert_string_equal(gathered.last[REC_EVENT_KEY].subject, "lost");
    assert_true(gathered.last[REC_EVENT_ROLE].is_good);
    rec_event_set_seal(gathered.set);
    assert_true(rec_event_set_people(gathered.set) >= 2);
    rec_event_set_free(gathered.set);
    for (int kind = 0; kind < REC_EVENT_KIND_COUNT; kind++) {
        text_clear(&gathered.rooms[kind]);
    }
    end_site(&site);
}

static void test_rec_event_read_bad(void **state)
{
    (void)state;
    static const struct {
        const char *kind, *subject, *value;
    } bad[] = {
        {"run", "the-beep", "{"},
        {"signature", "check", "{\"decision\":\"perhaps\"}"},
        {"observation", "check", "{\"seen_on\":\"2026-02-30\"}"},
        {"observation", "check", "{\"seen_on\":\"2026-2-3\"}"},
        {"assignment", "an-id-of-more-than-sixty-four-characters-which-no-entry-of-a-ledger-has",
         "{}"},
        {"run", "the-beep", "{\"supervised_by\":\"somebody with a name in place of an id, no\"}"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        RecFact fact = {"s1",      1,     "0123456789",   5,           bad[i].kind,
                        "station", "ife", bad[i].subject, bad[i].value};
        RecEvent event;
        Text room = {0};
        bool is_one;
        Err err = {0};
        if (rec_event_read(&fact, &event, &room, &is_one, &err))
            fail_msg("%s %s is taken", bad[i].kind, bad[i].value);
        assert_string_equal(err.text, "the fact of entry 01234567... is none that an entry gives");
        text_clear(&room);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rec_event_read_store),
        cmocka_unit_test(test_rec_event_read_bad),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
