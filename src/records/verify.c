/* Walk everything that is stored and say what is not as it was written. */
#include "records/verify.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/entry.h"

/* What is remembered of an entry, in order of number. */
typedef struct {
    RecNumber number;
    RecHash hash;   /* of the bytes that are there */
    RecHash stored; /* as its row has it; all zeros when that is no hash */
    char kind[16];  /* "" when the bytes are no entry */
    char author[REC_ID_BYTES];
    char time[REC_STAMP_BYTES];
} Seen;

/* A hash that an entry names: of a content, a veiled text, or an erased one. */
typedef struct {
    RecHash hash;
    RecNumber number;
    char what[66]; /* the content's name (an id), or "name", "text" */
} Mention;

typedef struct {
    Mention *items;
    size_t count;
} Mentions;

typedef struct {
    char id[REC_ID_BYTES];
    RecHash name;
} KnownPerson;

typedef struct {
    RecStore *store;
    const char *folder;
    RecReport *report;
    Seen *seen;
    size_t seen_count;
    KnownPerson *people;
    size_t people_count;
    Mentions contents;
    Mentions texts;
    Mentions erasures;
    RecEntry last; /* the last well-formed entry; times, station and links are judged by it */
    int64_t starts;
    char station[REC_ID_BYTES];
} Audit;

/* --- Findings -------------------------------------------------------------------------------- */

static void add_line(RecFinding **lines, size_t *count, RecNumber number, const Text *text)
{
    *lines = check_realloc(*lines, *count + 1, sizeof **lines);
    RecFinding *line = &(*lines)[(*count)++];
    *line = (RecFinding){.number = number};
    /* Bytes of a torn row may get into a sentence; one line stays one line. */
    for (size_t i = 0; i < text->len; i++) {
        char byte = text->bytes[i];
        bool is_control = (unsigned char)byte < 0x20 || byte == 0x7f;
        text_add_bytes(&line->text, is_control ? "?" : &byte, 1);
    }
}

static const Seen *find_seen(const Audit *audit, RecNumber number)
{
    size_t low = 0;
    size_t high = audit->seen_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (audit->seen[middle].number < number)
            low = middle + 1;
        else
            high = middle;
    }
    bool is_it = low < audit->seen_count && audit->seen[low].number == number;
    return is_it ? &audit->seen[low] : NULL;
}

static const KnownPerson *find_person(const Audit *audit, const char *id)
{
    for (size_t i = 0; i < audit->people_count; i++) {
        if (strcmp(audit->people[i].id, id) == 0) return &audit->people[i];
    }
    return NULL;
}

/* "entry 7 (run of 2026-03-02T09:14:31Z, person Rosa)"; a name that was changed is not repeated. */
static void add_label(const Audit *audit, RecNumber number, Text *out)
{
    const Seen *seen = find_seen(audit, number);
    text_addf(out, "entry %lld", (long long)number);
    if (seen == NULL || seen->kind[0] == '\0') return;
    text_addf(out, " (%s of %.19sZ", seen->kind, seen->time);
    const KnownPerson *person = find_person(audit, seen->author);
    if (strcmp(seen->author, "station") != 0) {
        Text name = {0};
        Err unread = {0};
        bool there = false;
        bool is_known = person != NULL &&
                        rec_text_read(audit->store, person->name.hex, &name, &there, &unread) &&
                        there;
        text_addf(out, ", person %s", is_known ? text_string(&name) : seen->author);
        text_clear(&name);
    }
    text_add(out, ")");
}

/* One finding about entry `number`, or about the store as a whole when it is 0. */
static void find_fault(Audit *audit, RecNumber number, const char *format, ...) PRINTF_LIKE(3, 4);
static void find_fault(Audit *audit, RecNumber number, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    Text line = {0};
    if (number == 0)
        text_add(&line, "store");
    else
        add_label(audit, number, &line);
    text_addf(&line, ": %s", said);
    add_line(&audit->report->findings, &audit->report->finding_count, number, &line);
    text_clear(&line);
}

static void note(Audit *audit, RecNumber number, const char *said)
{
    Text line = {0};
    if (number != 0) {
        add_label(audit, number, &line);
        text_add(&line, ": ");
    }
    text_add(&line, said);
    add_line(&audit->report->notes, &audit->report->note_count, number, &line);
    text_clear(&line);
}

static void complain(void *context, const char *sentence)
{
    find_fault(context, 0, "store.db: %s", sentence);
}

static void mention(Mentions *mentions, const char *hash, RecNumber number, const char *what)
{
    mentions->items = check_realloc(mentions->items, mentions->count + 1, sizeof *mentions->items);
    Mention *item = &mentions->items[mentions->count++];
    *item = (Mention){.number = number};
    (void)snprintf(item->hash.hex, sizeof item->hash.hex, "%s", hash);
    (void)snprintf(item->what, sizeof item->what, "%s", what);
}

static int compare_mentions(const void *a, const void *b)
{
    const Mention *x = a;
    const Mention *y = b;
    int order = strcmp(x->hash.hex, y->hash.hex);
    return order != 0 ? order : (x->number > y->number) - (x->number < y->number);
}

static void sort_mentions(Mentions *mentions)
{
    if (mentions->count > 0) {
        qsort(mentions->items, mentions->count, sizeof *mentions->items, compare_mentions);
    }
}

/* --- Entries --------------------------------------------------------------------------------- */

static const char *body_text(const RecEntry *entry, const char *key)
{
    return json_string(json_get(entry->body, key));
}

/* Who wrote it is known at that point, and a run was played by somebody. */
static void check_author(Audit *audit, const RecEntry *entry)
{
    bool is_station = strcmp(entry->author, "station") == 0;
    if (is_station && strcmp(entry->kind, "run") == 0) {
        find_fault(audit, entry->number, "a run names no person");
    }
    if (!is_station && find_person(audit, entry->author) == NULL) {
        find_fault(audit, entry->number, "person %s is not in the entries before", entry->author);
    }
}

/* PC time and uptime against the entry before, and the counter of starts. */
static void check_times(Audit *audit, const RecEntry *entry)
{
    bool is_start = strcmp(entry->kind, "start") == 0;
    bool is_clock = strcmp(entry->kind, "clock") == 0;
    bool is_new_start = entry->start == audit->starts + 1;
    bool may_be_new = is_start || is_clock || strcmp(entry->kind, "store") == 0;
    if ((is_start && !is_new_start) || entry->start < 1 ||
        entry->start > audit->starts + (may_be_new ? 1 : 0)) {
        find_fault(audit, entry->number, "start is %lld after %lld starts", (long long)entry->start,
                   (long long)audit->starts);
    }
    if (is_start) audit->starts = entry->start;
    if (audit->last.doc == NULL) return;
    int64_t moved = rec_clock_moved(&audit->last, entry->time_us, entry->ticks_us, is_new_start);
    int64_t said = 0;
    bool is_said = is_clock && json_is_integer(json_get(entry->body, "moved_us"), &said);
    if (moved != said && !is_said) {
        find_fault(audit, entry->number, "PC time moved by %lld us without a clock entry",
                   (long long)moved);
    } else if (moved != said) {
        find_fault(audit, entry->number, "says that PC time moved by %lld us, it moved by %lld us",
                   (long long)said, (long long)moved);
    }
}

static void take_person(Audit *audit, const RecEntry *entry)
{
    const char *id = body_text(entry, "person");
    if (find_person(audit, id) != NULL) {
        find_fault(audit, entry->number, "person %s was added before", id);
    }
    audit->people = check_realloc(audit->people, audit->people_count + 1, sizeof *audit->people);
    KnownPerson *person = &audit->people[audit->people_count++];
    *person = (KnownPerson){0};
    memcpy(person->id, id, REC_ID_BYTES);
    memcpy(person->name.hex, body_text(entry, "name"), REC_HEX_BYTES);
    mention(&audit->texts, person->name.hex, entry->number, "name");
    audit->report->people++;
}

static void take_contents(Audit *audit, const RecEntry *entry)
{
    const JsonValue *contents = json_get(entry->body, "contents");
    for (size_t i = 0; i < json_count(contents); i++) {
        mention(&audit->contents, json_string(json_at(contents, i)), entry->number,
                json_key_at(contents, i));
    }
    audit->report->runs++;
}

/* Keep what the body names, and check what can be checked at once. */
static void take_body(Audit *audit, const RecEntry *entry)
{
    int64_t value = 0;
    bool is_first = entry->number == 1;
    if (is_first != (strcmp(entry->kind, "store") == 0)) {
        find_fault(audit, entry->number, "the first entry, and only it, is of kind store");
    } else if (strcmp(entry->kind, "store") == 0) {
        bool is_ours =
            json_is_integer(json_get(entry->body, "format"), &value) && value == REC_FORMAT;
        if (!is_ours) find_fault(audit, entry->number, "format is not %d", REC_FORMAT);
    } else if (strcmp(entry->kind, "person") == 0) {
        take_person(audit, entry);
    } else if (strcmp(entry->kind, "run") == 0) {
        take_contents(audit, entry);
    } else if (strcmp(entry->kind, "remark") == 0) {
        mention(&audit->texts, body_text(entry, "text"), entry->number, "text");
        bool is_before = json_is_integer(json_get(entry->body, "about"), &value) && value >= 1 &&
                         value < entry->number;
        if (!is_before) find_fault(audit, entry->number, "is about no entry before it");
    } else if (strcmp(entry->kind, "erasure") == 0) {
        mention(&audit->erasures, body_text(entry, "commitment"), entry->number, "erasure");
        audit->report->erasures++;
    }
}

/* The link to the entry before. When that one's row is at fault alone, it was reported already. */
static void check_link(Audit *audit, const RecEntry *entry, const Seen *before)
{
    static const char zeros[] = "0000000000000000000000000000000000000000000000000000000000000000";
    if (before == NULL) {
        if (entry->number == 1 && strcmp(entry->previous, zeros) != 0) {
            find_fault(audit, 1, "the first entry follows another one");
        }
        return;
    }
    if (before->number + 1 != entry->number) return; /* the gap was reported */
    if (strcmp(entry->previous, before->hash.hex) == 0) return;
    if (strcmp(entry->previous, before->stored.hex) == 0) return;
    find_fault(audit, entry->number, "does not follow from entry %lld: one of the two was changed",
               (long long)before->number);
}

static void check_entry(Audit *audit, const RecRow *row, const RecEntry *entry)
{
    if (entry->number != row->number) {
        find_fault(audit, row->number, "its row has this number, its bytes say %lld",
                   (long long)entry->number);
        return; /* what else it says belongs to another place */
    }
    check_link(audit, entry, audit->seen_count < 2 ? NULL : &audit->seen[audit->seen_count - 2]);
    if (audit->station[0] == '\0') memcpy(audit->station, entry->station, REC_ID_BYTES);
    if (strcmp(entry->station, audit->station) != 0) {
        find_fault(audit, row->number, "is of station %s, the store of %s", entry->station,
                   audit->station);
    }
    check_author(audit, entry);
    check_times(audit, entry);
    take_body(audit, entry);
}

static void miss_entries(Audit *audit, RecNumber from, RecNumber to, const char *why)
{
    if (from == to)
        find_fault(audit, 0, "entry %lld is missing%s", (long long)from, why);
    else
        find_fault(audit, 0, "entries %lld to %lld are missing%s", (long long)from, (long long)to,
                   why);
}

static void take_row(Audit *audit, const RecRow *row, RecNumber expected)
{
    if (row->number < expected) { /* rows come in order, so this is below 1 */
        find_fault(audit, 0, "entry %lld: no entry has such a number; it was added",
                   (long long)row->number);
        return;
    }
    if (row->number > expected) miss_entries(audit, expected, row->number - 1, "");
    audit->seen = check_realloc(audit->seen, audit->seen_count + 1, sizeof *audit->seen);
    Seen *seen = &audit->seen[audit->seen_count++];
    *seen = (Seen){.number = row->number, .hash = rec_entry_hash(&row->bytes)};
    if (row->hash.len == REC_HEX_BYTES - 1)
        memcpy(seen->stored.hex, row->hash.bytes, row->hash.len);

    RecEntry entry = {0};
    Err wrong = {0};
    bool is_entry = rec_entry_read(&row->bytes, &entry, &wrong);
    if (is_entry) {
        (void)snprintf(seen->kind, sizeof seen->kind, "%s", entry.kind);
        (void)snprintf(seen->author, sizeof seen->author, "%s", entry.author);
        (void)snprintf(seen->time, sizeof seen->time, "%s", entry.time);
    }
    if (strcmp(seen->hash.hex, seen->stored.hex) != 0) {
        find_fault(audit, row->number, "its bytes and its hash do not agree: it was changed");
    }
    if (!is_entry) {
        find_fault(audit, row->number, "was changed: %s", wrong.text);
        return;
    }
    check_entry(audit, row, &entry);
    rec_entry_clear(&audit->last);
    audit->last = entry; /* handed over */
}

static bool walk_entries(Audit *audit, Err *err)
{
    RecNumber from = INT64_MIN;
    RecNumber expected = 1;
    bool found = true;
    bool ok = true;
    while (ok && found) {
        RecRow row = {0};
        ok = rec_store_entry_from(audit->store, from, &row, &found, err);
        if (ok && found) {
            take_row(audit, &row, expected);
            found = row.number < INT64_MAX; /* else nothing lies beyond */
            if (found) from = row.number + 1;
            if (from > expected) expected = from;
            audit->report->entries++;
        }
        rec_row_clear(&row);
    }
    return ok;
}

/* --- Head ------------------------------------------------------------------------------------ */

typedef struct {
    char station[REC_ID_BYTES];
    char hash[REC_BASE64_BYTES];
    char time[REC_STAMP_BYTES];
    char count_text[24];
    int64_t count;
} Head;

/* Copy one line of less than `size` bytes, and move on behind its end. */
static bool take_line(const char **at, char *out, size_t size)
{
    size_t len = strcspn(*at, "\n");
    if ((*at)[len] != '\n' || len >= size) return false;
    memcpy(out, *at, len);
    out[len] = '\0';
    *at += len + 1;
    return true;
}

static bool read_head(const Text *text, Head *head)
{
    const char *at = text_string(text);
    return take_line(&at, head->station, sizeof head->station) &&
           take_line(&at, head->count_text, sizeof head->count_text) &&
           take_line(&at, head->hash, sizeof head->hash) &&
           take_line(&at, head->time, sizeof head->time) && at == text_string(text) + text->len &&
           text_to_int(head->count_text, &head->count) && head->count >= 1;
}

/* Say what in a head that disagrees is not as the entries want it. */
static void blame_head(Audit *audit, const Text *text, RecNumber last)
{
    Head head = {0};
    if (!read_head(text, &head)) {
        find_fault(audit, 0, "head: was changed, it is not station, count, hash and time");
        return;
    }
    if (head.count > last) {
        miss_entries(audit, last + 1, head.count, ": head states them, the end was cut off");
        return;
    }
    if (last - head.count > REC_STEP_ENTRIES_MAX) {
        find_fault(audit, 0, "head: states %lld entries, here are %lld", (long long)head.count,
                   (long long)last);
    }
    const Seen *stated = find_seen(audit, head.count);
    char hash[REC_BASE64_BYTES] = "";
    if (stated != NULL) rec_base64_print(&stated->hash, hash);
    if (stated == NULL || strcmp(hash, head.hash) != 0) {
        find_fault(audit, head.count,
                   "the head states another hash for it: it or head was changed");
    } else if (strcmp(head.time, stated->time) != 0) {
        find_fault(audit, head.count, "the head states another time for it: head was changed");
    }
    if (strcmp(head.station, audit->station) != 0) {
        find_fault(audit, 0, "head: is of station %s, the store of %s", head.station,
                   audit->station);
    }
}

static bool check_head(Audit *audit, Err *err)
{
    RecNumber last = audit->seen_count == 0 ? 0 : audit->seen[audit->seen_count - 1].number;
    Text path = {0};
    Text head = {0};
    Err unread = {0};
    bool agrees = false;
    int behind = 0;
    bool ok = rec_head_compare(audit->store, audit->folder, last, &agrees, &behind, err);
    text_addf(&path, "%s/head", audit->folder);
    if (ok && !agrees && !os_is_file(path.bytes)) {
        find_fault(audit, 0, "head: is missing");
    } else if (ok && !agrees) {
        size_t before = audit->report->finding_count;
        if (!os_file_read(path.bytes, REC_HEAD_BYTES_MAX, &head, &unread)) text_clear(&head);
        blame_head(audit, &head, last);
        if (before == audit->report->finding_count) {
            find_fault(audit, 0, "head: does not agree with the entries");
        }
    } else if (ok && behind > 0) {
        note(audit, last, "head is behind it: the program was stopped between writing the two");
    }
    text_clear(&head);
    text_clear(&path);
    return ok;
}

/* --- Contents and veiled texts --------------------------------------------------------------- */

/* As SQLite sorts texts: by their bytes, the shorter first. */
static int compare_key(const Mention *item, const Text *key)
{
    size_t len = REC_HEX_BYTES - 1;
    int order = memcmp(item->hash.hex, text_string(key), key->len < len ? key->len : len);
    return order != 0 ? order : (len > key->len) - (len < key->len);
}

typedef void (*Missing)(Audit *audit, const Mention *item);

/* Report the mentions from `at` on that sort before `key` (NULL: all): no row has them. */
static size_t pass_missing(Audit *audit, const Mentions *mentions, size_t at, const Text *key,
                           Missing missing)
{
    while (at < mentions->count && (key == NULL || compare_key(&mentions->items[at], key) < 0)) {
        missing(audit, &mentions->items[at++]);
    }
    return at;
}

static void miss_content(Audit *audit, const Mention *item)
{
    find_fault(audit, item->number, "content %s (%.12s...) is missing", item->what, item->hash.hex);
}

static bool check_contents(Audit *audit, Err *err)
{
    const Mentions *named = &audit->contents;
    Text after = {0};
    Text hash = {0};
    Text bytes = {0};
    size_t at = 0;
    bool found = true;
    bool ok = true;
    sort_mentions(&audit->contents);
    while (ok && found) {
        ok = rec_store_content_after(audit->store, &after, &hash, &bytes, &found, err);
        if (!ok || !found) break;
        audit->report->contents++;
        at = pass_missing(audit, named, at, &hash, miss_content);
        RecHash now = rec_sha256(NULL, 0, text_string(&bytes), bytes.len);
        if (at == named->count || compare_key(&named->items[at], &hash) != 0) {
            find_fault(audit, 0, "content %.12s... is named by no run", text_string(&hash));
        }
        for (; at < named->count && compare_key(&named->items[at], &hash) == 0; at++) {
            const Mention *item = &named->items[at];
            if (strcmp(now.hex, item->hash.hex) == 0) continue;
            find_fault(audit, item->number, "content %s (%.12s...) was changed", item->what,
                       item->hash.hex);
        }
        text_clear(&after);
        text_add_bytes(&after, text_string(&hash), hash.len);
    }
    if (ok) (void)pass_missing(audit, named, at, NULL, miss_content);
    text_clear(&bytes);
    text_clear(&hash);
    text_clear(&after);
    return ok;
}

/* The erasure that names this hash, NULL when there is none. */
static const Mention *find_mention(const Mentions *mentions, const RecHash *hash)
{
    for (size_t i = 0; i < mentions->count; i++) {
        if (strcmp(mentions->items[i].hash.hex, hash->hex) == 0) return &mentions->items[i];
    }
    return NULL;
}

static void miss_text(Audit *audit, const Mention *item)
{
    const Mention *erasure = find_mention(&audit->erasures, &item->hash);
    if (erasure != NULL && erasure->number > item->number) return;
    find_fault(audit, item->number, "its %s (%.12s...) is missing and no erasure entry says why",
               item->what, item->hash.hex);
}

static void check_text(Audit *audit, const Mention *item, const RecVeil *veil)
{
    unsigned char salt[REC_HASH_BYTES];
    const Mention *erasure = find_mention(&audit->erasures, &item->hash);
    if (erasure != NULL) {
        find_fault(audit, erasure->number, "the text %.12s... was erased, yet it is there",
                   item->hash.hex);
    }
    if (!rec_hex_read(text_string(&veil->salt), veil->salt.len, salt, sizeof salt)) {
        find_fault(audit, item->number, "the salt of its %s (%.12s...) was changed", item->what,
                   item->hash.hex);
        return;
    }
    RecHash now = rec_commitment(salt, text_string(&veil->text), veil->text.len);
    if (strcmp(now.hex, item->hash.hex) != 0) {
        find_fault(audit, item->number, "its %s (%.12s...) or the salt was changed", item->what,
                   item->hash.hex);
    }
}

static bool check_texts(Audit *audit, Err *err)
{
    const Mentions *named = &audit->texts;
    RecVeil veil = {0};
    Text after = {0};
    size_t at = 0;
    bool found = true;
    bool ok = true;
    sort_mentions(&audit->texts);
    while (ok && found) {
        ok = rec_store_veil_after(audit->store, &after, &veil, &found, err);
        if (!ok || !found) break;
        audit->report->texts++;
        at = pass_missing(audit, named, at, &veil.commitment, miss_text);
        if (at == named->count || compare_key(&named->items[at], &veil.commitment) != 0) {
            find_fault(audit, 0, "veiled text %.12s... is named by no entry",
                       text_string(&veil.commitment));
        }
        for (; at < named->count && compare_key(&named->items[at], &veil.commitment) == 0; at++) {
            check_text(audit, &named->items[at], &veil);
        }
        text_clear(&after);
        text_add_bytes(&after, text_string(&veil.commitment), veil.commitment.len);
    }
    if (ok) (void)pass_missing(audit, named, at, NULL, miss_text);
    for (size_t i = 0; ok && i < audit->erasures.count; i++) {
        const Mention *erasure = &audit->erasures.items[i];
        const Mention *text = find_mention(named, &erasure->hash);
        if (text != NULL && text->number < erasure->number) continue;
        find_fault(audit, erasure->number, "erases %.12s..., which no entry before it names",
                   erasure->hash.hex);
    }
    text_clear(&after);
    rec_veil_clear(&veil);
    return ok;
}

/* --- Runs again ------------------------------------------------------------------------------ */

static void compare_result(Audit *audit, const RecRunView *run, const Text *result)
{
    JsonDoc *doc = NULL;
    Text canonical = {0};
    Err wrong = {0};
    if (!json_parse("result", text_string(result), result->len, &doc, &wrong) ||
        !rec_canonical(json_root(doc), &canonical, &wrong)) {
        find_fault(audit, run->number, "scored again, it gives no result: %s", wrong.text);
    } else if (strcmp(text_string(&canonical), text_string(&run->result)) != 0) {
        find_fault(audit, run->number, "scored again, it gives another result than the stored one");
    }
    text_clear(&canonical);
    json_free(doc);
}

/* Play one run again. One that cannot be loaded has its finding already. */
static bool rejudge_run(Audit *audit, RecNumber number, RecRejudge rejudge, void *context, Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    RecRunView run = {0};
    Text result = {0};
    Text why = {0};
    Err unread = {0};
    bool found = false;
    bool ok = rec_store_entry_from(audit->store, number, &row, &found, err);
    if (ok && found && row.number == number && rec_entry_read(&row.bytes, &entry, &unread) &&
        rec_run_view_read(audit->store, &entry, &run, &unread)) {
        audit->report->runs_rejudged++;
        if (!rejudge(context, &run, &result, &why)) {
            find_fault(audit, number, "played again: %s", text_string(&why));
        } else {
            if (why.len > 0) note(audit, number, why.bytes);
            if (result.len > 0) compare_result(audit, &run, &result);
        }
    }
    text_clear(&why);
    text_clear(&result);
    rec_run_view_clear(&run);
    rec_entry_clear(&entry);
    rec_row_clear(&row);
    return ok;
}

static bool rejudge_runs(Audit *audit, RecRejudge rejudge, void *context, Err *err)
{
    if (rejudge == NULL) {
        if (audit->report->runs > 0) note(audit, 0, "no run was played and scored again");
        return true;
    }
    for (size_t i = 0; i < audit->seen_count; i++) {
        const Seen *seen = &audit->seen[i];
        if (strcmp(seen->kind, "run") != 0) continue;
        if (!rejudge_run(audit, seen->number, rejudge, context, err)) return false;
    }
    return true;
}

/* --- All ------------------------------------------------------------------------------------- */

/* What is read here holds still, however many other programs write. */
static bool check_rows(Audit *audit, bool *readable, Err *err)
{
    if (!rec_store_freeze(audit->store, err)) return false;
    bool ok = rec_store_audit(audit->store, complain, audit, readable, err);
    if (ok && *readable) {
        ok = walk_entries(audit, err) && check_head(audit, err) && check_contents(audit, err) &&
             check_texts(audit, err);
    }
    rec_store_rollback(audit->store);
    return ok;
}

static void note_limits(Audit *audit)
{
    Text text = {0};
    text_addf(&text,
              "no head of this store is known outside its folder: whoever owns store.db and head "
              "could have made all %lld entries anew, put back an older copy, or cut or replaced "
              "the end; compare head with one kept elsewhere",
              (long long)audit->report->entries);
    note(audit, 0, text.bytes);
    text_clear(&text);
}

static void audit_clear(Audit *audit)
{
    rec_store_close(audit->store);
    rec_entry_clear(&audit->last);
    free(audit->seen);
    free(audit->people);
    free(audit->contents.items);
    free(audit->texts.items);
    free(audit->erasures.items);
}

bool rec_verify(const char *folder, RecRejudge rejudge, void *context, RecReport *report, Err *err)
{
    CHECK(folder != NULL && report != NULL && err != NULL);
    RecReport found = {0};
    Audit audit = {.folder = folder, .report = &found};
    Text database = {0};
    bool readable = false;
    bool ok = false;

    if (!rec_folder_check(folder, &database, err)) goto done;
    if (!rec_store_open(database.bytes, REC_STORE_AUDIT, &audit.store, err)) goto done;
    if (!check_rows(&audit, &readable, err)) goto done;
    if (readable) {
        if (!rejudge_runs(&audit, rejudge, context, err)) goto done;
        note_limits(&audit);
    } else {
        note(&audit, 0, "nothing in the tables was checked, for they are not ours");
    }
    *report = found;
    found = (RecReport){0}; /* handed over */
    ok = true;
done:
    audit_clear(&audit);
    rec_report_clear(&found);
    text_clear(&database);
    return ok;
}

static void clear_lines(RecFinding *lines, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_clear(&lines[i].text);
    }
    free(lines);
}

void rec_report_clear(RecReport *report)
{
    clear_lines(report->findings, report->finding_count);
    clear_lines(report->notes, report->note_count);
    *report = (RecReport){0};
}
