/* Laws of bundles over random histories of three stations: whatever was carried where, in whatever
 * order, pieces and repetition, who has heard all of it holds the same. A failure prints the seed.
 *
 *     test_bundle_laws [HISTORIES [SEED]] */
#define _GNU_SOURCE
#include <stdlib.h>

#include "base/random.h"
#include "unit/records/bundles.h"

enum {
    HISTORIES = 100, /* in each build; the long form is 1000 */
    STATIONS = 3,
    STEPS = 12,
    BUNDLES_MAX = STEPS + 2 * STATIONS,
    ERASABLE = 8
};

static int history_count = HISTORIES;
static uint64_t first_seed = 1;

typedef struct {
    Random random;
    Site stations[STATIONS];
    Text bundles[BUNDLES_MAX]; /* all that were carried, and one of each station at the end */
    size_t bundle_count;
    char commitments[ERASABLE][REC_HEX_BYTES];
    size_t commitment_count;
} History;

static size_t below(History *history, size_t count)
{
    return (size_t)random_below(&history->random, count);
}

/* --- What happens ---------------------------------------------------------------------------- */

static bool take_text(void *context, const RecFact *fact, Err *err)
{
    History *history = context;
    const char *at = strstr(fact->value, "\"text\":\"");
    (void)err;
    if (at != NULL && history->commitment_count < ERASABLE) {
        memcpy(history->commitments[history->commitment_count], at + 8, REC_HEX_BYTES - 1);
        history->commitments[history->commitment_count++][REC_HEX_BYTES - 1] = '\0';
    }
    return true;
}

static void act(History *history, Site *site)
{
    Err err = {0};
    RecNumber number = 0;
    RecNew observation = observation_of(site);
    switch (below(history, 6)) {
    case 0:
    case 1:
        (void)site_run(site, ROSA, "a log, long enough to be passed", below(history, 3));
        break;
    case 2:
        observation.is_yes = below(history, 2) == 0;
        (void)put(site, &observation);
        break;
    case 3:
        assert_ok(add_remark(site->records, site->ids[SUE], 2, "said of it", &number, &err));
        RecHash hash = hash_of(site->records, number);
        const RecFactQuery query = {.hash = hash.hex};
        assert_ok(rec_store_facts(site->records->store, &query, take_text, history, &err));
        break;
    case 4:
        (void)put(site, &(RecNew){.kind = REC_KIND_ROLE,
                                  .author = site->ids[SUE],
                                  .person = site->ids[TOM],
                                  .word = "assessor",
                                  .is_yes = below(history, 2) == 0});
        break;
    default:
        if (history->commitment_count == 0) break;
        /* Where the text is not, or not any more, that is refused. */
        if (!rec_erase(site->records, site->ids[QUIN],
                       history->commitments[below(history, history->commitment_count)], "asked",
                       NULL, &err)) {
            assert_int_equal(err.code, ERR_INPUT);
        }
        break;
    }
}

/* Carry all, or what the other lacks; the bundle is kept. */
static void carry_some(History *history, Site *from, Site *to)
{
    Err err = {0};
    RecImported done;
    RecHead *known = NULL;
    size_t count = 0;
    if (below(history, 2) == 0) assert_ok(rec_heads(to->records, &known, &count, &err));
    Text bytes = export_bytes(from, known, count);
    free(known);
    assert_ok(import_bytes(to, &bytes, true, &done, &err));
    assert_int_equal(done.fork_count, 0);
    history->bundles[history->bundle_count++] = bytes;
}

static void play(History *history)
{
    Site *stations = history->stations;
    new_site(&stations[0]);
    for (int i = 1; i < STATIONS; i++) {
        new_away(&stations[i], &stations[0]);
        (void)carry(&stations[0], &stations[i]);
    }
    for (int i = 0; i < STEPS; i++) {
        size_t at = below(history, STATIONS);
        size_t to = (at + 1 + below(history, STATIONS - 1)) % STATIONS;
        if (below(history, 3) == 0)
            carry_some(history, &stations[at], &stations[to]);
        else
            act(history, &stations[at]);
    }
    for (int i = 0; i < STATIONS; i++) {
        history->bundles[history->bundle_count++] = export_bytes(&stations[i], NULL, 0);
    }
}

/* --- Who hears it ---------------------------------------------------------------------------- */

/* Hear every bundle, some more than once, in a random order. One that begins behind what is here is
 * refused; the last of each station, of which nothing is missing, are among those heard in the
 * end. */
static void hear(History *history, Site *site)
{
    Err err = {0};
    RecImported done;
    size_t finals = history->bundle_count - STATIONS;
    for (size_t i = 0; i < history->bundle_count; i++) {
        Text *bytes = &history->bundles[below(history, history->bundle_count)];
        if (import_bytes(site, bytes, true, &done, &err)) continue;
        if (strstr(err.text, "are missing") == NULL) fail_msg("%s", err.text);
    }
    size_t first = below(history, STATIONS);
    for (size_t i = 0; i < STATIONS; i++) {
        Text *bytes = &history->bundles[finals + (first + i) % STATIONS];
        assert_ok(import_bytes(site, bytes, true, &done, &err));
    }
}

typedef struct {
    const char *station;
    Text text;
} StationFacts;

static bool list_of_station(void *context, const RecFact *fact, Err *err)
{
    StationFacts *facts = context;
    return strcmp(fact->station, facts->station) != 0 || list_fact(&facts->text, fact, err);
}

static Text facts_of_station(Site *site, const char *station)
{
    Err err = {0};
    StationFacts facts = {.station = station};
    const RecFactQuery all = {.hash = NULL};
    assert_ok(rec_store_facts(site->records->store, &all, list_of_station, &facts, &err));
    return facts.text;
}

static Text texts_of(Site *site)
{
    Err err = {0};
    Text list = {0};
    Text after = {0};
    RecVeil veil = {0};
    bool found = true;
    while (found) {
        assert_ok(rec_store_veil_after(site->records->store, &after, &veil, &found, &err));
        if (!found) break;
        text_addf(&list, "%s %s\n", veil.commitment.bytes, text_string(&veil.text));
        text_clear(&after);
        text_add(&after, veil.commitment.bytes);
    }
    text_clear(&after);
    rec_veil_clear(&veil);
    return list;
}

static void test_any_order_gives_the_union(void **state)
{
    (void)state;
    for (int i = 0; i < history_count; i++) {
        uint64_t seed = first_seed + (uint64_t)i;
        History history = {.bundle_count = 0};
        Site hearers[2];
        print_message("history %d, seed %llu\r", i, (unsigned long long)seed);
        random_init(&history.random, seed);
        play(&history);
        for (int j = 0; j < 2; j++) {
            new_away(&hearers[j], &history.stations[0]);
            hear(&history, &hearers[j]);
        }
        for (int j = 0; j < STATIONS; j++) {
            const char *id = rec_station(history.stations[j].records);
            Text there = facts_of_station(&history.stations[j], id);
            for (int k = 0; k < 2; k++) {
                Text here = facts_of_station(&hearers[k], id);
                assert_string_equal(there.bytes, here.bytes); /* the seed was printed above */
                text_clear(&here);
            }
            text_clear(&there);
        }
        Text one = texts_of(&hearers[0]);
        Text other = texts_of(&hearers[1]);
        if (strcmp(one.bytes, other.bytes) != 0) fail_msg("seed %llu", (unsigned long long)seed);
        text_clear(&one);
        text_clear(&other);
        for (int j = 0; j < 2; j++) {
            end_site(&hearers[j]); /* which verifies it */
        }
        for (int j = 0; j < STATIONS; j++) {
            rec_close(history.stations[j].records);
            remove_folder(&history.stations[j].folder);
        }
        for (size_t j = 0; j < history.bundle_count; j++) {
            text_clear(&history.bundles[j]);
        }
    }
}

int main(int argc, char **argv)
{
    if (argc > 1) history_count = (int)strtol(argv[1], NULL, 10);
    if (argc > 2) first_seed = strtoull(argv[2], NULL, 10);
    /* A disk that must sync each entry would take hours; in memory the laws are the same. */
    if (os_is_folder("/dev/shm")) (void)setenv("TMPDIR", "/dev/shm", 0);
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_any_order_gives_the_union)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
