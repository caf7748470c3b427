/* Bundles: the union of what two stores hold, and every way in which one is refused. */
#include "bundles.h"

#include <signal.h>
#include <sys/resource.h>

#include "base/text.h"

static void assert_says(const Err *err, const char *said)
{
    if (strstr(err->text, said) == NULL) fail_msg("\"%s\" does not say \"%s\"", err->text, said);
}

/* --- What goes over -------------------------------------------------------------------------- */

static void test_bundle_union(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site away;
    Site third;
    new_site(&home);
    new_away(&away, &home);
    new_away(&third, &home);
    RecImported done = carry(&home, &away);
    assert_int_equal(done.added, count_of(&home));
    RecHash run = site_run(&away, ROSA, "a log from away, long enough", 2);
    Seed ann = seed_of(ANN);
    const char *const proofs[] = {run.hex};
    const RecNew signature = signature_of(&home, &(RecList){proofs, 1}, &ann);
    (void)put(&away, &signature);
    done = carry(&away, &home);
    assert_int_equal(done.added, 5); /* store, start, import, run, signature */
    (void)put(&home, &signature);
    (void)carry(&home, &third);
    done = carry(&home, &away);
    assert_int_equal(done.added, 2); /* import, signature */
    assert_int_equal(done.fork_count, 0);

    /* What came last over a third one is here already. */
    (void)carry(&away, &third);
    Text before = facts_of(&third);
    done = carry(&home, &third);
    assert_int_equal(done.added, 0);
    Text after = facts_of(&third);
    assert_string_equal(before.bytes, after.bytes);
    text_clear(&before);
    text_clear(&after);

    RecRunView view = {0};
    assert_ok(rec_run_load_hash(third.records, run.hex, &view, &err));
    assert_string_equal(rec_run_content(&view, "log")->bytes, "a log from away, long enough");
    rec_run_view_clear(&view);
    bool found = false;
    Text name = {0};
    assert_ok(rec_person_name(third.records, home.ids[ROSA], &name, &found, &err));
    assert_string_equal(name.bytes, people_names[ROSA]);
    text_clear(&name);
    end_site(&third);
    end_site(&away);
    end_site(&home);
}

static void test_bundle_same_bytes_and_no_secrets(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site away;
    Text secret = {0};
    new_site(&home);
    new_away(&away, &home);
    text_add(&secret, "a-sealed-key-of-Sue");
    assert_ok(rec_secret_write(home.records, home.ids[SUE], "pin", &secret, &err));
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    Text first = export_bytes(&home, NULL, 0);
    Text again = export_bytes(&home, NULL, 0);
    assert_string_equal(first.bytes, again.bytes);
    assert_null(strstr(first.bytes, secret.bytes));
    assert_null(strstr(first.bytes, "YS1zZWFsZWQta2V5")); /* the same in base64 */
    Text key = read_file(&home.folder, "station.key");
    key.bytes[key.len - 1] = '\0'; /* without its end of line */
    assert_null(strstr(first.bytes, key.bytes));
    text_clear(&key);
    text_clear(&again);
    text_clear(&first);
    text_clear(&secret);
    end_site(&away);
    end_site(&home);
}

static void test_bundle_twice(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site away;
    RecImported done = {0};
    new_site(&home);
    new_away(&away, &home);
    Text bytes = export_bytes(&home, NULL, 0);
    assert_false(import_bytes(&away, &bytes, false, &done, &err));
    assert_says(&err, ".bundle:2:1: error: entry 1 of station ");
    assert_says(&err, "nothing of this station is here yet");
    assert_ok(import_bytes(&away, &bytes, true, &done, &err));
    RecNumber count = count_of(&away);
    away.fake.wall_us += 3600LL * SECOND_US; /* even a clock entry would be too much */
    assert_ok(import_bytes(&away, &bytes, false, &done, &err));
    assert_int_equal(done.added, 0);
    assert_int_equal(done.known, count_of(&home));
    assert_int_equal(count_of(&away), count);
    away.fake.wall_us -= 3600LL * SECOND_US;
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    (void)carry(&home, &away);
    count = count_of(&away);
    assert_ok(import_bytes(&away, &bytes, false, &done, &err)); /* an old one again */
    assert_int_equal(done.added, 0);
    assert_int_equal(count_of(&away), count);
    text_clear(&bytes);
    end_site(&away);
    end_site(&home);
}

static void test_bundle_after_heads(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site away;
    RecImported done = {0};
    RecHead *known = NULL;
    size_t count = 0;
    new_site(&home);
    new_away(&away, &home);
    Site late;
    new_away(&late, &home);
    (void)carry(&home, &away);
    assert_ok(rec_heads(away.records, &known, &count, &err));
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    Text bytes = export_bytes(&home, known, count);
    free(known);
    Lines lines = split(&bytes);
    assert_int_equal(lines.count, 7); /* header, run, four contents, last */
    lines_clear(&lines);
    assert_false(import_bytes(&late, &bytes, true, &done, &err));
    assert_says(&err, ".bundle:2:1: error: entry 15 of station ");
    assert_says(&err, "entries 1 to 14 are missing: export from entry 1 on");
    assert_ok(import_bytes(&away, &bytes, false, &done, &err));
    assert_int_equal(done.added, 1);
    assert_ok(import_bytes(&away, &bytes, false, &done, &err));
    assert_int_equal(done.added, 0);
    text_clear(&bytes);

    /* With nothing new there is still a head to compare. */
    assert_ok(rec_heads(home.records, &known, &count, &err));
    bytes = export_bytes(&home, known, count);
    free(known);
    assert_ok(import_bytes(&away, &bytes, false, &done, &err));
    assert_int_equal(done.added + done.known, 0);
    assert_false(import_bytes(&late, &bytes, true, &done, &err));
    assert_says(&err, ".bundle:1:1: error: entries 1 to 15 of station ");
    text_clear(&bytes);
    end_site(&late);
    end_site(&away);
    end_site(&home);
}

static void test_bundle_erasure(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site away;
    Site third;
    RecImported done = {0};
    RecNumber number = 0;
    bool there = false;
    Text text = {0};
    Text before;
    new_site(&home);
    new_away(&away, &home);
    new_away(&third, &home);
    assert_ok(add_remark(home.records, home.ids[SUE], 3, "to be forgotten", &number, &err));
    before = export_bytes(&home, NULL, 0);
    assert_ok(import_bytes(&away, &before, true, &done, &err));
    RecHash hash = hash_of(home.records, number);
    const RecFactQuery query = {.hash = hash.hex};
    Text fact = {0};
    assert_ok(rec_store_facts(home.records->store, &query, list_fact, &fact, &err));
    char commitment[REC_HEX_BYTES] = "";
    memcpy(commitment, strstr(fact.bytes, "\"text\":\"") + 8, REC_HEX_BYTES - 1);
    text_clear(&fact);
    assert_ok(rec_text(away.records, commitment, &text, &there, &err));
    assert_string_equal(text.bytes, "to be forgotten");
    assert_ok(rec_erase(home.records, home.ids[QUIN], commitment, "asked for", NULL, &err));
    done = carry(&home, &away);
    assert_int_equal(done.erased, 1);
    assert_ok(rec_text(away.records, commitment, &text, &there, &err));
    assert_false(there);
    assert_ok(import_bytes(&away, &before, true, &done, &err));
    assert_ok(rec_text(away.records, commitment, &text, &there, &err));
    assert_false(there);

    /* From a store that never had the text; and an old bundle with it after that. */
    (void)carry(&away, &third);
    assert_ok(import_bytes(&third, &before, true, &done, &err));
    assert_ok(rec_text(third.records, commitment, &text, &there, &err));
    assert_false(there);
    text_clear(&before);
    text_clear(&text);
    end_site(&third);
    end_site(&away);
    end_site(&home);
}

/* --- Forks ----------------------------------------------------------------------------------- */

/* A copy of a store's folder, as from a disk that is put back later. */
static void copy_site(const Site *from, Site *to)
{
    static const char *const names[] = {"store.db", "head", "station.key"};
    *to = *from;
    to->folder = (Text){0};
    to->records = NULL;
    new_folder(&to->folder);
    for (size_t i = 0; i < 3; i++) {
        Text bytes = read_file(&from->folder, names[i]);
        write_file(&to->folder, names[i], &bytes);
        text_clear(&bytes);
    }
}

static void test_bundle_fork(void **state)
{
    (void)state;
    Err err = {0};
    Site home;
    Site twin;
    Site away;
    RecReport report = {0};
    new_site(&home);
    new_away(&away, &home);
    rec_close(home.records);
    home.records = NULL;
    copy_site(&home, &twin);
    site_open(&home, REC_WRITE, NULL);
    twin.fake.wall_us += 60LL * SECOND_US;
    site_open(&twin, REC_WRITE, NULL);
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    (void)site_run(&twin, ROSA, "a log from its twin, long enough", 4);
    (void)carry(&home, &away);
    RecNumber count = count_of(&away);
    RecImported done = carry(&twin, &away);
    assert_int_equal(done.added, 0);
    assert_int_equal(done.fork_count, 1);
    assert_int_equal(done.forks[0].number, 15);
    assert_true(done.forks[0].is_new);
    assert_string_equal(done.forks[0].station, rec_station(home.records));
    assert_int_equal(count_of(&away), count + 1);
    done = carry(&twin, &away);
    assert_int_equal(done.fork_count, 1);
    assert_false(done.forks[0].is_new);
    assert_int_equal(count_of(&away), count + 1);

    /* The same seen by one of the two itself, and from a bundle that begins behind the fork. */
    done = carry(&home, &twin);
    assert_int_equal(done.fork_count, 1);
    assert_int_equal(done.added, 0);
    const RecHead known = {.number = 15};
    RecHead near = known;
    memcpy(near.station, rec_station(home.records), REC_ID_BYTES);
    Text bytes = export_bytes(&home, &near, 1);
    assert_ok(import_bytes(&twin, &bytes, false, &done, &err));
    assert_int_equal(done.fork_count, 1);
    assert_int_equal(done.forks[0].number, 16);
    text_clear(&bytes);

    /* Others who have the other branch are still heard. */
    Site third;
    new_away(&third, &home);
    (void)carry(&twin, &third);
    done = carry(&third, &away);
    assert_int_equal(done.fork_count, 1);
    assert_int_equal(done.added, 3); /* store, start, import of the third */
    assert_ok(rec_verify(away.folder.bytes, NULL, fake_rejudge, NULL, &report, &err));
    if (report.finding_count > 0) print_report(&report);
    assert_int_equal(report.finding_count, 0);
    assert_true(report.note_count > 1);
    rec_report_clear(&report);
    end_site(&third);
    end_site(&away);
    end_site(&twin);
    end_site(&home);
}

/* --- Refused --------------------------------------------------------------------------------- */

/* Nobody takes it, and nothing is left of it. */
static void assert_refused(Site *site, const Text *bytes, const char *said)
{
    Err err = {0};
    RecImported done = {.added = -7};
    Text before = facts_of(site);
    if (import_bytes(site, bytes, true, &done, &err)) fail_msg("taken, should say: %s", said);
    assert_int_equal(done.added, -7);
    if (err.code != ERR_INPUT && err.code != ERR_RANGE) fail_msg("%d: %s", err.code, err.text);
    assert_says(&err, said);
    assert_says(&err, ".bundle:");
    Text after = facts_of(site);
    assert_string_equal(before.bytes, after.bytes);
    text_clear(&after);
    text_clear(&before);
}

typedef struct {
    const char *name;
    const char *line_start; /* of the line to be changed */
    const char *from;
    const char *to;
    const char *said;
} Change;

/* What anybody can do with an editor: the last line still covers what was there. With the last line
 * made anew by another key it is not the station's. */
static void test_bundle_changed(void **state)
{
    (void)state;
    static const Change changes[] = {
        {"entry", "{\"author\":\"s", "\"given\":true", "\"given\":false",
         "does not follow from the entry before it"},
        {"last entry", "{\"author\"", "\"points\":28", "\"points\":99", "which is not the head"},
        {"content", "{\"base64\":\"YSBs", "YSBs", "YSBt", "was changed"},
        {"content spelling", "{\"base64\":\"YSBs", "YSBs", "YSB*", "is no content"},
        {"text", "{\"commitment\"", "\"text\":\"", "\"text\":\"X", "was changed"},
        {"salt", "{\"commitment\"", "\"salt\":\"", "\"salt\":\"g", "not well-formed"},
        {"spelling", "{\"commitment\"", ",\"text\"", ", \"text\"", "is not canonical JSON"},
        {"format", "{\"format\"", "bundle-1", "bundle-2", "this program knows threepass-bundle-1"},
        {"no bundle", "{\"format\"", "threepass", "fourpass", "this is no bundle"},
        {"from", "{\"format\"", "\"from\":\"", "\"from\":\"0", "from is none of the stations"},
        {"head number", "{\"format\"", "\"number\":", "\"number\":1", "which is not the head"},
        {"head signature", "{\"format\"", "\"signature\":\"", "\"signature\":\"0",
         "head of station 1 is not well-formed"},
        {"unknown line", "{\"commitment\"", "{\"commitment\"", "{\"promise\"",
         "is no line of a bundle"},
        {"last line", "{\"hash\"", "\"signature\":\"", "\"signature\":\"0",
         "key or signature is not well-formed"},
    };
    Site home;
    Site away;
    new_site(&home);
    new_away(&away, &home);
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    Text bytes = export_bytes(&home, NULL, 0);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        const Change *change = &changes[i];
        Lines lines = split(&bytes);
        bool is_done = false;
        for (size_t j = 0; j < lines.count && !is_done; j++) {
            size_t len = strlen(change->line_start);
            if (strncmp(lines.items[j], change->line_start, len) != 0) continue;
            is_done = replace_in(&lines.items[j], change->from, change->to);
        }
        if (!is_done) fail_msg("%s: nothing to change", change->name);
        Text changed = {0};
        for (size_t j = 0; j < lines.count; j++) {
            text_addf(&changed, "%s\n", lines.items[j]);
        }
        assert_refused(&away, &changed, change->said);
        text_clear(&changed);
        lines_clear(&lines);
    }
    text_clear(&bytes);
    end_site(&away);
    end_site(&home);
}

static void test_bundle_lines_moved(void **state)
{
    (void)state;
    Site home;
    Site away;
    new_site(&home);
    new_away(&away, &home);
    (void)site_run(&home, ROSA, "a log from home, long enough", 2);
    Text bytes = export_bytes(&home, NULL, 0);
    Lines lines = split(&bytes);
    /* Cut off at every line, and in the middle of each. */
    for (size_t i = 0; i < lines.count; i++) {
        Text cut = {0};
        for (size_t j = 0; j < i; j++) {
            text_addf(&cut, "%s\n", lines.items[j]);
        }
        assert_refused(&away, &cut, i == 0 ? "this is no bundle" : "");
        text_add_bytes(&cut, lines.items[i], strlen(lines.items[i]) / 2);
        assert_refused(&away, &cut, i == 0 ? "" : "is cut off in this line");
        text_clear(&cut);
    }
    /* Each line left out, twice, or changed with the next; the last line as it was made. */
    for (size_t i = 0; i + 1 < lines.count; i++) {
        for (int how = 0; how < 3; how++) {
            Text moved = {0};
            for (size_t j = 0; j < lines.count; j++) {
                size_t from = how != 2 ? j : j == i ? i + 1 : j == i + 1 ? i : j;
                if (how == 0 && j == i) continue;
                text_addf(&moved, "%s\n", lines.items[from]);
                if (how == 1 && j == i) text_addf(&moved, "%s\n", lines.items[from]);
            }
            assert_refused(&away, &moved, "");
            text_clear(&moved);
        }
    }
    Text more = {0};
    text_addf(&more, "%s{}\n", bytes.bytes);
    assert_refused(&away, &more, "goes on after its last line");
    text_clear(&more);
    /* A content that is left out, and the last line made anew with the station's own key. */
    for (size_t i = 1; i + 1 < lines.count; i++) {
        bool is_content = strncmp(lines.items[i], "{\"base64\"", 9) == 0;
        bool is_text = strncmp(lines.items[i], "{\"commitment\"", 13) == 0;
        if (!is_content && !is_text) continue;
        Lines fewer = {.items = check_calloc(lines.count, sizeof(char *))};
        for (size_t j = 0; j < lines.count; j++) {
            if (j != i)
                fewer.items[fewer.count++] = copy_of(lines.items[j], strlen(lines.items[j]));
        }
        Text left = join_signed(&fewer, home.records->seed);
        assert_refused(&away, &left, is_content ? "which is missing" : "and no entry erased it");
        text_clear(&left);
        lines_clear(&fewer);
    }
    lines_clear(&lines);
    text_clear(&bytes);
    end_site(&away);
    end_site(&home);
}

/* The bundle with that change, linked and signed anew. */
static Text forge(const Text *bytes, const Change *change, const unsigned char *seed)
{
    Lines lines = split(bytes);
    bool is_done = false;
    for (size_t j = 1; j < lines.count && !is_done; j++) {
        if (strstr(lines.items[j], change->line_start) == NULL) continue;
        is_done = replace_in(&lines.items[j], change->from, change->to);
    }
    if (!is_done) fail_msg("%s: nothing to change", change->name);
    Text forged = join_linked(&lines, seed);
    lines_clear(&lines);
    return forged;
}

/* What somebody can do who has the station's key: all is linked and signed anew, yet refused. */
static void test_bundle_forged(void **state)
{
    (void)state;
    Site home;
    Site away;
    Site other;
    new_site(&home);
    new_away(&away, &home);
    new_site(&other);
    RecHash first = site_run(&home, ROSA, "a log from home, long enough", 2);
    Seed ann = seed_of(ANN);
    const char *const proofs[] = {first.hex};
    const RecNew signature = signature_of(&home, &(RecList){proofs, 1}, &ann);
    (void)put(&home, &signature);
    Text bytes = export_bytes(&home, NULL, 0);
    Text toms = {0};
    text_addf(&toms, "\"author\":\"%s\"", home.ids[TOM]);
    Text roses = {0};
    text_addf(&roses, "\"author\":\"%s\"", home.ids[ROSA]);
    Text anns = {0};
    text_addf(&anns, "\"author\":\"%s\"", home.ids[ANN]);
    const Change changes[] = {
        {"decision", "routine-check", "may do the check alone", "may do all checks alone",
         "is not the author's"},
        {"author", "\"kind\":\"signature\"", anns.bytes, toms.bytes, "is no assessor"},
        {"role", "\"role\":\"assessor\"", "\"role\":\"assessor\"", "\"role\":\"operator\"",
         "is no assessor"},
        {"supervisor", "\"role\":\"supervisor\"", "\"role\":\"supervisor\"", "\"role\":\"trainer\"",
         "the station gives a role to nobody but the first supervisor"},
        {"clock", "\"kind\":\"run\"", "\"time\":\"2026", "\"time\":\"2027", "PC time moved by"},
        {"start", "\"kind\":\"run\"", "\"start\":1", "\"start\":2", "start is 2 after 1 starts"},
        {"runner", "\"kind\":\"run\"", roses.bytes, toms.bytes, ""},
    };
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        Text forged = forge(&bytes, &changes[i], home.records->seed);
        assert_refused(&away, &forged, changes[i].said);
        text_clear(&forged);
    }
    /* By another key: the last line alone, then the head as well. */
    Lines lines = split(&bytes);
    Text forged = join_signed(&lines, other.records->seed);
    assert_refused(&away, &forged, "the bundle is not signed by station");
    text_clear(&forged);
    forged = join_linked(&lines, other.records->seed);
    assert_refused(&away, &forged, "is not signed by it");
    text_clear(&forged);
    lines_clear(&lines);
    /* Untouched it is taken. */
    Err err = {0};
    RecImported done = {0};
    assert_ok(import_bytes(&away, &bytes, true, &done, &err));
    text_clear(&anns);
    text_clear(&roses);
    text_clear(&toms);
    text_clear(&bytes);
    end_site(&other);
    end_site(&away);
    end_site(&home);
}

/* --- Limits and disks ------------------------------------------------------------------------ */

static void test_bundle_limits(void **state)
{
    (void)state;
    Site home;
    Site away;
    new_site(&home);
    new_away(&away, &home);
    Text bytes = export_bytes(&home, NULL, 0);
    const char *second = strchr(bytes.bytes, '\n') + 1;
    size_t header = (size_t)(second - bytes.bytes);
    static const struct {
        const char *start;
        size_t len;
        const char *said;
    } rows[] = {
        {"x", REC_BUNDLE_LINE_BYTES_MAX, "is no line of a bundle"},
        {"x", REC_BUNDLE_LINE_BYTES_MAX + 1, "the line is longer than 25165824 bytes"},
        {"{\"author\":", REC_BUNDLE_ENTRY_BYTES_MAX, "is no entry"},
        {"{\"author\":", REC_BUNDLE_ENTRY_BYTES_MAX + 1, "the line is longer than 4194304 bytes"},
        {"{\"commitment\":", REC_BUNDLE_ENTRY_BYTES_MAX + 1, "longer than 4194304 bytes"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        char *long_line = check_calloc(rows[i].len + 1, 1);
        memset(long_line, 'x', rows[i].len);
        memcpy(long_line, rows[i].start, strlen(rows[i].start));
        text_add_bytes(&text, bytes.bytes, header);
        text_addf(&text, "%s\n", long_line);
        assert_refused(&away, &text, rows[i].said);
        text_clear(&text);
        free(long_line);
    }
    text_clear(&bytes);
    end_site(&away);
    end_site(&home);
}

/* The disk fills up while a bundle is imported: at whatever place, all is as it was. A limit on the
 * size of files stands in for the full disk. */
static void test_bundle_full_disk(void **state)
{
    (void)state;
    Site home;
    Site away;
    RecImported done = {0};
    Text log = {0};
    new_site(&home);
    new_away(&away, &home);
    for (int i = 0; i < 4000; i++) {
        text_addf(&log, "line %d of a long log\n", i * i);
    }
    for (uint64_t i = 0; i < 4; i++) {
        text_addf(&log, "%llu", (unsigned long long)i);
        (void)site_run(&home, ROSA, log.bytes, i);
    }
    Text bytes = export_bytes(&home, NULL, 0);
    Text before = facts_of(&away);
    Text path = bundle_path(&away, "in");
    Err err = {0};
    assert_ok(os_file_write(path.bytes, bytes.bytes, bytes.len, &err));
    struct rlimit old;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    (void)signal(SIGXFSZ, SIG_IGN);
    int refused = 0;
    for (rlim_t limit = 102400; limit < 512000; limit += 40960) {
        const struct rlimit low = {limit, old.rlim_max};
        err = (Err){0};
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &low), 0);
        bool ok = rec_bundle_import(away.records, path.bytes, true, &done, &err);
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
        if (ok) break;
        assert_int_equal(err.code, ERR_IO);
        refused++;
        Text after = facts_of(&away);
        assert_string_equal(before.bytes, after.bytes);
        text_clear(&after);
        assert_clean(&away.folder);
    }
    assert_true(refused > 2);
    assert_ok(rec_bundle_import(away.records, path.bytes, true, &done, &err));
    (void)remove(path.bytes);
    text_clear(&path);
    text_clear(&before);
    text_clear(&bytes);
    text_clear(&log);
    end_site(&away);
    end_site(&home);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bundle_union),
        cmocka_unit_test(test_bundle_same_bytes_and_no_secrets),
        cmocka_unit_test(test_bundle_twice),
        cmocka_unit_test(test_bundle_after_heads),
        cmocka_unit_test(test_bundle_erasure),
        cmocka_unit_test(test_bundle_fork),
        cmocka_unit_test(test_bundle_changed),
        cmocka_unit_test(test_bundle_lines_moved),
        cmocka_unit_test(test_bundle_forged),
        cmocka_unit_test(test_bundle_limits),
        cmocka_unit_test(test_bundle_full_disk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
