/* A small site with everybody in it, and a store in which every kind of entry is. */
#ifndef TESTS_UNIT_RECORDS_KINDS_H
#define TESTS_UNIT_RECORDS_KINDS_H

#include "fixture.h"

#include "records/writing.h"

/* Who is there. */
enum { SUE, ANN, ROSA, TOM, QUIN, PEOPLE };

static const char *const people_names[PEOPLE] = {
    [SUE] = "Sue", [ANN] = "Ann", [ROSA] = "Rosa Gr\xc3\xbcn", [TOM] = "Tom", [QUIN] = "Quin"};
static const char *const people_roles[PEOPLE] = {[SUE] = "supervisor",
                                                 [ANN] = "assessor",
                                                 [ROSA] = "operator",
                                                 [TOM] = "trainer",
                                                 [QUIN] = "quality"};

/* A person's signing seed: the same byte again and again, so that tests can repeat it. */
typedef struct {
    unsigned char bytes[REC_SEED_BYTES];
} Seed;

static inline Seed seed_of(int who)
{
    Seed seed;
    memset(seed.bytes, 0x40 + who, sizeof seed.bytes);
    return seed;
}

static inline RecHash key_of(int who)
{
    RecHash hex;
    unsigned char key[REC_KEY_BYTES];
    rec_key_from_seed(seed_of(who).bytes, key);
    rec_hex_print(key, sizeof key, hex.hex);
    return hex;
}

typedef struct {
    Text folder;
    FakeClock fake;
    Records *records;
    char ids[PEOPLE][REC_ID_BYTES];
} Site;

static inline void site_open(Site *site, RecMode mode, const char *heads)
{
    Err err = {0};
    RecOutside outside = fake_clock(&site->fake);
    outside.heads = heads;
    rec_close(site->records);
    site->records = NULL;
    assert_ok(rec_open(site->folder.bytes, mode, "0.1.0", &outside, &site->records, &err));
}

/* Add an entry that must be taken. */
static inline RecAdded put(Site *site, const RecNew *what)
{
    Err err = {0};
    RecAdded added = {0};
    if (!rec_add(site->records, what, &added, &err)) {
        fail_msg("%s: %s", rec_kind_names[what->kind], err.text);
    }
    return added;
}

/* Everybody, with their roles; the keys of Sue and Ann. It stays where it is: the store keeps the
 * address of its clock. */
static inline void new_site(Site *site)
{
    Err err = {0};
    *site = (Site){.fake = FAKE_START};
    new_folder(&site->folder);
    site_open(site, REC_CREATE, NULL);
    for (int i = 0; i < PEOPLE; i++) {
        assert_ok(rec_person_add(site->records, people_names[i], site->ids[i], &err));
    }
    for (int i = 0; i < PEOPLE; i++) {
        (void)put(site, &(RecNew){.kind = REC_KIND_ROLE,
                                  .author = i == SUE ? "station" : site->ids[SUE],
                                  .person = site->ids[i],
                                  .word = people_roles[i],
                                  .is_yes = true});
    }
    for (int i = SUE; i <= ANN; i++) {
        RecHash key = key_of(i);
        (void)put(site, &(RecNew){.kind = REC_KIND_KEY,
                                  .author = site->ids[i],
                                  .person = site->ids[i],
                                  .word = "first",
                                  .public_key = key.hex});
    }
}

static inline void end_site(Site *site)
{
    rec_close(site->records);
    assert_clean(&site->folder);
    remove_folder(&site->folder);
}

static inline RecHash site_run(Site *site, int who, const char *log, uint64_t seed)
{
    RecNumber number = add_run(site->records, site->ids[who], log, "1", seed);
    return hash_of(site->records, number);
}

/* An observation of Rosa by Ann, good, as a base to be changed. */
static inline RecNew observation_of(const Site *site)
{
    static const char *const answers[] = {"yes", "no", "not-seen"};
    return (RecNew){.kind = REC_KIND_OBSERVATION,
                    .author = site->ids[ANN],
                    .person = site->ids[ROSA],
                    .competence = "routine-check",
                    .line = "line-3",
                    .date = "2026-02-27",
                    .answers = {answers, 3},
                    .sheet = "C-2026-114",
                    .is_yes = true,
                    .checklist = {NULL, "[\"waits for the pack to leave\"]", 31}};
}

/* Ann signs Rosa; `evidence` and `seed` are borrowed. */
static inline RecNew signature_of(const Site *site, const RecList *evidence, const Seed *seed)
{
    static const char *const lines[] = {"line-3"};
    static const char *const products[] = {"bread", "rolls"};
    static const char *const checks[] = {"start", "interval"};
    return (RecNew){.kind = REC_KIND_SIGNATURE,
                    .author = site->ids[ANN],
                    .person = site->ids[ROSA],
                    .competence = "routine-check",
                    .word = "signed",
                    .lines = {lines, 1},
                    .products = {products, 2},
                    .checks = {checks, 2},
                    .good_until = "2027-03-02",
                    .meaning = "may do the check alone",
                    .evidence = *evidence,
                    .statement = {NULL, "I have seen it.", 15},
                    .seed = seed->bytes};
}

/* What is added last: entries that the program makes by itself, written here as it would. */
static inline void put_by_station(Site *site, RecKind kind, const char *body)
{
    Err err = {0};
    RecWriting writing;
    assert_ok(rec_writing_begin(site->records, false, &writing, &err));
    bool ok = rec_writing_add(site->records, &writing, "station", kind, body, &err);
    assert_ok(rec_writing_end(site->records, &writing, ok, &err));
}

static inline bool copy_foreign_row(void *context, const RecRow *row, Err *err)
{
    return rec_writing_add_foreign(context, &row->bytes, err);
}

/* The signature of a head by the station whose records these are, in hex. */
static inline void sign_head(const Records *records, const RecHead *head, char *out)
{
    const RecEntry last = {
        .number = head->number, .hash = head->hash, .station = head->station, .time = head->time};
    Text lines = {0};
    RecSignedHead again;
    rec_head_print(&last, records->seed, &lines);
    assert_true(rec_head_read(&lines, &again));
    rec_hex_print(again.signature, sizeof again.signature, out);
    text_clear(&lines);
}

/* Take over the veiled texts that are not here. */
static inline void copy_veils(Site *site, Records *from)
{
    Err err = {0};
    Text after = {0};
    RecVeil veil = {0};
    bool ignored = false;
    bool found = true;
    while (found) {
        RecVeil there = {0};
        assert_ok(rec_store_veil_after(from->store, &after, &veil, &found, &err));
        if (!found) break;
        assert_ok(rec_store_veil_read(site->records->store, veil.commitment.bytes, &there, &ignored,
                                      &err));
        if (!ignored && !rec_store_veil_add(site->records->store, veil.commitment.bytes,
                                            veil.salt.bytes, text_string(&veil.text), &err))
            fail_msg("%s", err.text);
        rec_veil_clear(&there);
        text_clear(&after);
        text_add(&after, text_string(&veil.commitment));
    }
    rec_veil_clear(&veil);
    text_clear(&after);
}

/* Take over the entries, contents and veiled texts of another store, as an import does, up to
 * `number`. */
static inline void import_store(Site *site, Records *from)
{
    Err err = {0};
    RecWriting writing;
    Text body = {0};
    Text after = {0};
    Text hash = {0};
    Text bytes = {0};
    RecHead *heads = NULL;
    char signature[2 * REC_SIGNATURE_BYTES + 1];
    size_t count = 0;
    bool found = true;
    assert_ok(rec_heads(from, &heads, &count, &err));
    text_addf(&body, "{\"bundle\":\"%064d\",\"stations\":[", 7);
    assert_ok(rec_writing_begin(site->records, false, &writing, &err));
    for (size_t i = 0; i < count; i++) {
        RecHead *ours = NULL;
        size_t our_count = 0;
        RecNumber have = 0;
        assert_ok(rec_heads(site->records, &ours, &our_count, &err));
        for (size_t j = 0; j < our_count; j++) {
            if (strcmp(ours[j].station, heads[i].station) == 0) have = ours[j].number;
        }
        free(ours);
        bool is_own = strcmp(heads[i].station, rec_station(site->records)) == 0;
        if (!is_own && !rec_store_entries(from->store, heads[i].station, have + 1, copy_foreign_row,
                                          site->records, &err))
            fail_msg("%s", err.text);
        sign_head(is_own ? site->records : from, &heads[i], signature);
        text_addf(&body,
                  "%s{\"station\":\"%s\",\"number\":%lld,\"hash\":\"%s\",\"signature\":\"%s\"}",
                  i == 0 ? "" : ",", heads[i].station, (long long)heads[i].number,
                  heads[i].hash.hex, signature);
    }
    free(heads);
    text_add(&body, "]}");
    while (found) {
        assert_ok(rec_store_content_after(from->store, &after, &hash, &bytes, &found, &err));
        if (found && !rec_store_content_add(site->records->store, hash.bytes, text_string(&bytes),
                                            bytes.len, &err))
            fail_msg("%s", err.text);
        text_clear(&after);
        text_add(&after, text_string(&hash));
    }
    text_clear(&after);
    copy_veils(site, from);
    bool ok =
        rec_writing_add(site->records, &writing, "station", REC_KIND_IMPORT, body.bytes, &err);
    assert_ok(rec_writing_end(site->records, &writing, ok, &err));
    text_clear(&bytes);
    text_clear(&hash);
    text_clear(&after);
    text_clear(&body);
}

/* Keys, tries, assignments. */
static inline void put_deeds(Site *site)
{
    char(*ids)[REC_ID_BYTES] = site->ids;
    RecHash tom_key = key_of(TOM);
    RecHash zeros;
    memset(zeros.hex, '0', sizeof zeros.hex - 1);
    zeros.hex[sizeof zeros.hex - 1] = '\0';
    (void)put(site, &(RecNew){.kind = REC_KIND_KEY,
                              .author = ids[TOM],
                              .person = ids[TOM],
                              .word = "first",
                              .public_key = tom_key.hex});
    (void)put(site, &(RecNew){.kind = REC_KIND_KEY,
                              .author = ids[SUE],
                              .person = ids[TOM],
                              .word = "lost",
                              .public_key = zeros.hex});
    (void)put(site, &(RecNew){.kind = REC_KIND_ATTEMPT,
                              .author = "station",
                              .person = ids[ROSA],
                              .word = "pin",
                              .failed = 2});
    (void)put(site, &(RecNew){.kind = REC_KIND_ASSIGNMENT,
                              .author = ids[TOM],
                              .person = ids[ROSA],
                              .competence = "routine-check",
                              .buddy = ids[ANN]});
}

/* Rosa plays, is seen, signed, and what comes of it. */
static inline void put_sign_off(Site *site)
{
    char(*ids)[REC_ID_BYTES] = site->ids;
    Seed sue = seed_of(SUE);
    Seed ann = seed_of(ANN);
    RecHash run = site_run(site, ROSA, "0 send\n1000 stop\n900 leave\n", 8);
    RecHash spoilt = site_run(site, ROSA, "0 send\n", 10);
    (void)put(site, &(RecNew){.kind = REC_KIND_VOID,
                              .author = ids[ANN],
                              .about = spoilt.hex,
                              .reason = "the line was moved"});
    RecNew observation = observation_of(site);
    observation.text = "calm and careful";
    observation.photo = (RecContent){NULL, "\xff\xd8 no picture", 13};
    RecAdded seen = put(site, &observation);
    const char *const proofs[] = {run.hex, seen.hash.hex};
    RecNew signature = signature_of(site, &(RecList){proofs, 2}, &ann);
    RecAdded signed_off = put(site, &signature);
    (void)put(site, &(RecNew){.kind = REC_KIND_ACKNOWLEDGEMENT,
                              .author = ids[ROSA],
                              .about = signed_off.hash.hex});
    static const char *const lines[] = {"line-1", "line-3"};
    (void)put(site, &(RecNew){.kind = REC_KIND_PAPER,
                              .author = ids[SUE],
                              .person = ids[TOM],
                              .competence = "routine-check",
                              .date = "2025-01-15",
                              .good_until = "2026-01-15",
                              .text = "Bo",
                              .lines = {lines, 2}});
    (void)put(site, &(RecNew){.kind = REC_KIND_CORRECTION,
                              .author = ids[ROSA],
                              .about = run.hex,
                              .text = "it was line 3",
                              .reason = "wrong line named"});
    (void)put(site, &(RecNew){.kind = REC_KIND_REMARK,
                              .author = ids[ANN],
                              .about = run.hex,
                              .text = "came late"});
    (void)put(site, &(RecNew){.kind = REC_KIND_WITHDRAWAL,
                              .author = ids[SUE],
                              .about = signed_off.hash.hex,
                              .reason = "absent for long",
                              .seed = sue.bytes});
}

/* A site whose store has every kind of entry, a second station's too. */
static inline void full_site(Site *site)
{
    Err err = {0};
    Site other = {.fake = FAKE_START};
    Text body = {0};
    new_site(site);
    put_deeds(site);
    put_sign_off(site);
    assert_ok(rec_station_key_change(site->records, site->ids[SUE], seed_of(SUE).bytes, &err));
    new_folder(&other.folder);
    site_open(&other, REC_CREATE, NULL);
    assert_ok(rec_person_add(other.records, "Bo", other.ids[ROSA], &err));
    (void)site_run(&other, ROSA, "0 send\n2000 stop\n3000 hold\n", 4);
    import_store(site, other.records);
    text_addf(&body, "{\"of\":\"%s\",\"number\":9,\"ours\":\"%064d\",\"theirs\":\"%064d\"}",
              rec_station(other.records), 1, 2);
    put_by_station(site, REC_KIND_FORK, body.bytes);
    text_clear(&body);
    text_addf(&body, "{\"outside_number\":99,\"outside_hash\":\"%064d\"}", 3);
    put_by_station(site, REC_KIND_RESTORE, body.bytes);
    rec_close(other.records);
    remove_folder(&other.folder);

    RecVeil veil = {0};
    bool found = false;
    Text after = {0};
    for (found = true; found && strcmp(text_string(&veil.text), "came late") != 0;) {
        assert_ok(rec_store_veil_after(site->records->store, &after, &veil, &found, &err));
        text_clear(&after);
        text_add(&after, text_string(&veil.commitment));
    }
    assert_true(found);
    assert_ok(
        rec_erase(site->records, site->ids[QUIN], veil.commitment.bytes, "asked for", NULL, &err));
    site->fake.wall_us -= 365 * 86400LL * SECOND_US;
    (void)site_run(site, ROSA, "0 send\n1500 stop\n", 14); /* with a clock entry in front */
    rec_veil_clear(&veil);
    text_clear(&after);
    text_clear(&body);
}

#endif
