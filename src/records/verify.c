/* Walk everything that is stored and say what is not as it was written. */
#include "records/verify.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/canonical.h"
#include "records/chain.h"
#include "records/head.h"
#include "records/rules.h"
#include "records/scan.h"

/* What is remembered of an entry, in order of station and number. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    RecHash hash;   /* of the bytes that are there */
    RecHash stored; /* as its row has it; all zeros when that is no hash */
    RecHash fact;   /* of the fact it should have; all zeros when the bytes are no entry */
    char kind[24];  /* "" when the bytes are no entry */
    char author[REC_ID_BYTES];
    char time[REC_STAMP_BYTES];
} Seen;

/* A hash that an entry names: of a content, a veiled text, or an erased one. */
typedef struct {
    RecHash hash;
    char station[REC_ID_BYTES];
    RecNumber number;
    char what[66]; /* the content's name (an id), or the field's */
} Mention;

typedef struct {
    Mention *items;
    size_t count;
} Mentions;

/* A head that an import stated, as its station signed it. */
typedef struct {
    RecSignedHead head;
    char station[REC_ID_BYTES]; /* who imported it, in which entry */
    RecNumber number;
} Import;

/* The station whose rows are being walked. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber expected;
    size_t first;  /* of its entries in `seen` */
    RecEntry last; /* the last well-formed entry; times and links are judged by it */
    int64_t starts;
} Chain;

typedef struct {
    RecStore *store;
    const char *folder;
    const RecWitness *witness;
    RecReport *report;
    char own[REC_ID_BYTES]; /* "" when it is not to be told */
    Chain chain;
    Seen *seen;
    size_t seen_count;
    size_t fact_at; /* of `seen`: the next whose fact is expected */
    Import *imports;
    size_t import_count;
    RecHead *forks; /* station and number of each that an entry states */
    size_t fork_count;
    Mentions contents;
    Mentions texts;
    Mentions erasures;
} Audit;

/* --- Findings -------------------------------------------------------------------------------- */

static void add_line(RecFinding **lines, size_t *count, const char *station, RecNumber number,
                     const Text *text)
{
    *lines = check_realloc(*lines, *count + 1, sizeof **lines);
    RecFinding *line = &(*lines)[(*count)++];
    *line = (RecFinding){.number = number};
    (void)snprintf(line->station, sizeof line->station, "%s", station);
    /* Bytes of a torn row may get into a sentence; one line stays one line. */
    for (size_t i = 0; i < text->len; i++) {
        char byte = text->bytes[i];
        bool is_control = (unsigned char)byte < 0x20 || byte == 0x7f;
        text_add_bytes(&line->text, is_control ? "?" : &byte, 1);
    }
}

static int compare_place(const char *station, RecNumber number, const char *other_station,
                         RecNumber other)
{
    int order = strcmp(station, other_station);
    return order != 0 ? order : (number > other) - (number < other);
}

static const Seen *find_seen(const Audit *audit, const char *station, RecNumber number)
{
    size_t low = 0;
    size_t high = audit->seen_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        const Seen *seen = &audit->seen[middle];
        if (compare_place(seen->station, seen->number, station, number) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    bool is_it = low < audit->seen_count && audit->seen[low].number == number &&
                 strcmp(audit->seen[low].station, station) == 0;
    return is_it ? &audit->seen[low] : NULL;
}

typedef struct {
    RecStore *store;
    Text name;
} NameSearch;

static bool take_name(void *context, const RecFact *fact, Err *err)
{
    NameSearch *search = context;
    bool there = false;
    text_clear(&search->name);
    return rec_text_read(search->store, fact->subject, &search->name, &there, err);
}

/* "entry 7 (run of 2026-03-02T09:14:31Z, person Rosa)"; a name that was changed is not repeated. */
static void add_label(const Audit *audit, const char *station, RecNumber number, Text *out)
{
    const Seen *seen = find_seen(audit, station, number);
    text_addf(out, "entry %lld", (long long)number);
    if (strcmp(station, audit->own) != 0) text_addf(out, " of station %.8s...", station);
    if (seen == NULL || seen->kind[0] == '\0') return;
    text_addf(out, " (%s of %.19sZ", seen->kind, seen->time);
    if (strcmp(seen->author, "station") != 0) {
        const RecFactQuery query = {.person = seen->author,
                                    .kind = rec_kind_names[REC_KIND_PERSON]};
        NameSearch search = {.store = audit->store};
        Err unread = {0};
        bool ok = rec_store_facts(audit->store, &query, take_name, &search, &unread);
        text_addf(out, ", person %s",
                  ok && search.name.len > 0 ? text_string(&search.name) : seen->author);
        text_clear(&search.name);
    }
    text_add(out, ")");
}

/* One finding about an entry, about a station as a whole when the number is 0, or about the store
 * when there is no station. */
static void find_fault(Audit *audit, const char *station, RecNumber number, const char *format, ...)
    PRINTF_LIKE(4, 5);
static void find_fault(Audit *audit, const char *station, RecNumber number, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    Text line = {0};
    if (number != 0)
        add_label(audit, station, number, &line);
    else if (station[0] == '\0' || strcmp(station, audit->own) == 0)
        text_add(&line, "store");
    else
        text_addf(&line, "station %.8s...", station);
    text_addf(&line, ": %s", said);
    add_line(&audit->report->findings, &audit->report->finding_count, station, number, &line);
    text_clear(&line);
}

static void note(Audit *audit, const char *station, RecNumber number, const char *said)
{
    Text line = {0};
    if (number != 0) {
        add_label(audit, station, number, &line);
        text_add(&line, ": ");
    }
    text_add(&line, said);
    add_line(&audit->report->notes, &audit->report->note_count, station, number, &line);
    text_clear(&line);
}

static void complain(void *context, const char *sentence)
{
    find_fault(context, "", 0, "store.db: %s", sentence);
}

static void mention(Mentions *mentions, const char *hash, const RecEntry *entry, const char *what)
{
    mentions->items = check_realloc(mentions->items, mentions->count + 1, sizeof *mentions->items);
    Mention *item = &mentions->items[mentions->count++];
    *item = (Mention){.number = entry->number};
    (void)snprintf(item->hash.hex, sizeof item->hash.hex, "%s", hash);
    (void)snprintf(item->station, sizeof item->station, "%s", entry->station);
    (void)snprintf(item->what, sizeof item->what, "%s", what);
}

static int compare_mentions(const void *a, const void *b)
{
    const Mention *x = a;
    const Mention *y = b;
    int order = strcmp(x->hash.hex, y->hash.hex);
    return order != 0 ? order : compare_place(x->station, x->number, y->station, y->number);
}

static void sort_mentions(Mentions *mentions)
{
    if (mentions->count > 0) {
        qsort(mentions->items, mentions->count, sizeof *mentions->items, compare_mentions);
    }
}

/* --- Entries --------------------------------------------------------------------------------- */

static void fault(Audit *audit, const RecEntry *entry, const char *format, ...) PRINTF_LIKE(3, 4);
static void fault(Audit *audit, const RecEntry *entry, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    find_fault(audit, entry->station, entry->number, "%s", said);
}

/* PC time and uptime against the entry before, and the counter of starts. */
static void check_times(Audit *audit, const RecEntry *entry)
{
    Chain *chain = &audit->chain;
    Err wrong = {0};
    const RecEntry *before = chain->last.station == NULL ? NULL : &chain->last;
    if (!rec_chain_check_times(before, chain->starts, entry, &wrong)) {
        fault(audit, entry, "%s", wrong.text);
    }
    if (entry->kind_code == REC_KIND_START) chain->starts = entry->start;
}

static void take_import(Audit *audit, const RecEntry *entry)
{
    const JsonValue *stations = json_get(entry->body, "stations");
    for (size_t i = 0; i < json_count(stations); i++) {
        const JsonValue *head = json_at(stations, i);
        audit->imports =
            check_realloc(audit->imports, audit->import_count + 1, sizeof *audit->imports);
        Import *import = &audit->imports[audit->import_count++];
        *import = (Import){.number = entry->number};
        memcpy(import->station, entry->station, REC_ID_BYTES);
        RecHead *states = &import->head.states;
        const char *signature = json_string(json_get(head, "signature"));
        memcpy(states->station, json_string(json_get(head, "station")), REC_ID_BYTES);
        memcpy(states->hash.hex, json_string(json_get(head, "hash")), REC_HEX_BYTES);
        CHECK(json_is_integer(json_get(head, "number"), &states->number) &&
              rec_hex_read(signature, strlen(signature), import->head.signature,
                           REC_SIGNATURE_BYTES));
    }
}

/* Keep the contents and texts that the body names, field by field. */
static void take_fields(Audit *audit, const RecEntry *entry)
{
    size_t count = 0;
    const RecField *fields = rec_fields(entry->kind_code, &count);
    for (size_t i = 0; i < count; i++) {
        const char *key = fields[i].key;
        const char *text = rec_body_text(entry, key);
        bool is_veil = fields[i].want == WANT_VEIL || fields[i].want == WANT_VEIL_OR_NONE;
        bool is_content = fields[i].want == WANT_CONTENT || fields[i].want == WANT_CONTENT_OR_NONE;
        const char *name = NULL;
        const char *hash = NULL;
        if (is_veil && text[0] != '\0') mention(&audit->texts, text, entry, key);
        if (is_content && text[0] != '\0') mention(&audit->contents, text, entry, key);
        for (size_t j = 0;
             fields[i].want == WANT_CONTENTS && rec_body_content(entry, j, &name, &hash); j++) {
            mention(&audit->contents, hash, entry, name);
        }
        if (fields[i].want == WANT_SIGNATURE) audit->report->signatures++;
    }
}

static void note_restore(Audit *audit, const RecEntry *entry)
{
    Text text = {0};
    int64_t number = rec_body_whole(entry, "outside_number");
    text_addf(&text,
              "the folder was put back from an older copy: a head kept outside it had stated %lld "
              "entries, and what came after entry %lld then is not here",
              (long long)number, (long long)entry->number - 1);
    note(audit, entry->station, entry->number, text.bytes);
    text_clear(&text);
}

/* Keep what the body names, and check what can be checked at once. */
static void take_body(Audit *audit, const RecEntry *entry)
{
    bool is_first = entry->number == 1;
    RecKind kind = entry->kind_code;
    if (is_first != (kind == REC_KIND_STORE)) {
        fault(audit, entry, "the first entry, and only it, is of kind store");
    }
    take_fields(audit, entry);
    if (kind == REC_KIND_STORE) {
        if (rec_body_whole(entry, "format") != REC_FORMAT) {
            fault(audit, entry, "format is not %d", REC_FORMAT);
        }
    } else if (kind == REC_KIND_PERSON) {
        audit->report->people++;
    } else if (kind == REC_KIND_RUN) {
        audit->report->runs++;
    } else if (kind == REC_KIND_ERASURE) {
        mention(&audit->erasures, rec_body_text(entry, "commitment"), entry, "erasure");
        audit->report->erasures++;
    } else if (kind == REC_KIND_IMPORT) {
        take_import(audit, entry);
    } else if (kind == REC_KIND_RESTORE) {
        note_restore(audit, entry);
    } else if (kind == REC_KIND_FORK) {
        audit->forks = check_realloc(audit->forks, audit->fork_count + 1, sizeof *audit->forks);
        RecHead *fork = &audit->forks[audit->fork_count++];
        *fork = (RecHead){.number = rec_body_whole(entry, "number")};
        memcpy(fork->station, rec_body_text(entry, "of"), REC_ID_BYTES);
        note(audit, entry->station, entry->number,
             "a station has shown two entries of one number; its copies part there");
    }
}

/* The link to the entry before. When that one's row is at fault alone, it was reported already. */
static void check_link(Audit *audit, const RecEntry *entry, const Seen *before)
{
    static const char zeros[] = "0000000000000000000000000000000000000000000000000000000000000000";
    if (before == NULL) {
        if (entry->number == 1 && strcmp(entry->previous, zeros) != 0) {
            fault(audit, entry, "the first entry follows another one");
        }
        return;
    }
    if (before->number + 1 != entry->number) return; /* the gap was reported */
    if (strcmp(entry->previous, before->hash.hex) == 0) return;
    if (strcmp(entry->previous, before->stored.hex) == 0) return;
    fault(audit, entry, "does not follow from entry %lld: one of the two was changed",
          (long long)before->number);
}

static void check_entry(Audit *audit, const RecRow *row, const RecEntry *entry)
{
    const char *station = text_string(&row->station);
    Err wrong = {0};
    if (entry->number != row->number) {
        find_fault(audit, station, row->number, "its row has this number, its bytes say %lld",
                   (long long)entry->number);
        return; /* what else it says belongs to another place */
    }
    if (strcmp(entry->station, station) != 0) {
        find_fault(audit, station, row->number, "its bytes are of station %s, its row of %s",
                   entry->station, station);
        return;
    }
    bool is_first = audit->seen_count < audit->chain.first + 2;
    check_link(audit, entry, is_first ? NULL : &audit->seen[audit->seen_count - 2]);
    check_times(audit, entry);
    take_body(audit, entry);
    if (!rec_rules_check(audit->store, entry, &wrong)) fault(audit, entry, "%s", wrong.text);
}

static void miss_entries(Audit *audit, const char *station, RecNumber from, RecNumber to,
                         const char *why)
{
    if (from == to)
        find_fault(audit, station, 0, "entry %lld is missing%s", (long long)from, why);
    else
        find_fault(audit, station, 0, "entries %lld to %lld are missing%s", (long long)from,
                   (long long)to, why);
}

/* One hash for all that a fact says; a NUL tells each text from the next. */
static RecHash hash_fact(const RecFact *fact)
{
    Text text = {0};
    const char *const texts[] = {fact->station, fact->hash,    fact->kind, fact->author,
                                 fact->person,  fact->subject, fact->value};
    text_addf(&text, "%lld %lld", (long long)fact->number, (long long)fact->time_us);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        text_add_bytes(&text, "", 1);
        text_add_bytes(&text, texts[i], strlen(texts[i]));
    }
    RecHash hash = rec_sha256(NULL, 0, text.bytes, text.len);
    text_clear(&text);
    return hash;
}

static Seen *remember(Audit *audit, const RecRow *row, RecHash hash)
{
    audit->seen = check_realloc(audit->seen, audit->seen_count + 1, sizeof *audit->seen);
    Seen *seen = &audit->seen[audit->seen_count++];
    *seen = (Seen){.number = row->number, .hash = hash};
    (void)snprintf(seen->station, sizeof seen->station, "%s", text_string(&row->station));
    if (row->hash.len == REC_HEX_BYTES - 1) {
        memcpy(seen->stored.hex, row->hash.bytes, row->hash.len);
    }
    return seen;
}

static void begin_chain(Audit *audit, const char *station)
{
    rec_entry_clear(&audit->chain.last);
    audit->chain = (Chain){.expected = 1, .first = audit->seen_count};
    (void)snprintf(audit->chain.station, sizeof audit->chain.station, "%s", station);
    audit->report->stations++;
}

static bool take_row(void *context, const RecRow *row, Err *err)
{
    Audit *audit = context;
    Chain *chain = &audit->chain;
    const char *station = text_string(&row->station);
    (void)err;
    if (audit->report->entries++ == 0 || strncmp(chain->station, station, REC_ID_BYTES - 1) != 0) {
        begin_chain(audit, station);
    }
    if (row->number < chain->expected) { /* rows come in order, so this is below 1 */
        find_fault(audit, station, 0, "entry %lld: no entry has such a number; it was added",
                   (long long)row->number);
        return true;
    }
    if (row->number > chain->expected) {
        miss_entries(audit, station, chain->expected, row->number - 1, "");
    }
    chain->expected = row->number < INT64_MAX ? row->number + 1 : row->number;

    RecEntry entry = {0};
    RecFact fact;
    Text value = {0};
    Err wrong = {0};
    bool is_entry =
        rec_entry_scan(&row->bytes, &entry) || rec_entry_read(&row->bytes, &entry, &wrong);
    Seen *seen = remember(audit, row, is_entry ? entry.hash : rec_entry_hash(&row->bytes));
    if (is_entry) {
        (void)snprintf(seen->kind, sizeof seen->kind, "%s", entry.kind);
        (void)snprintf(seen->author, sizeof seen->author, "%s", entry.author);
        (void)snprintf(seen->time, sizeof seen->time, "%s", entry.time);
        rec_fact_of(&entry, &value, &fact);
        seen->fact = hash_fact(&fact);
        text_clear(&value);
    }
    if (strcmp(seen->hash.hex, seen->stored.hex) != 0) {
        find_fault(audit, station, row->number,
                   "its bytes and its hash do not agree: it was changed");
    }
    if (!is_entry) {
        find_fault(audit, station, row->number, "was changed: %s", wrong.text);
        return true;
    }
    check_entry(audit, row, &entry);
    rec_entry_clear(&chain->last);
    chain->last = entry; /* handed over */
    return true;
}

/* --- Facts ----------------------------------------------------------------------------------- */

/* Facts come in the order of the entries: those in between have none. */
static void miss_facts(Audit *audit, const RecFact *until)
{
    for (; audit->fact_at < audit->seen_count; audit->fact_at++) {
        const Seen *seen = &audit->seen[audit->fact_at];
        if (until != NULL &&
            compare_place(seen->station, seen->number, until->station, until->number) >= 0) {
            return;
        }
        if (seen->kind[0] == '\0') continue;
        find_fault(audit, seen->station, seen->number, "its fact is missing");
    }
}

static bool take_fact(void *context, const RecFact *fact, Err *err)
{
    Audit *audit = context;
    (void)err;
    miss_facts(audit, fact);
    const Seen *seen = audit->fact_at < audit->seen_count ? &audit->seen[audit->fact_at] : NULL;
    if (seen == NULL ||
        compare_place(seen->station, seen->number, fact->station, fact->number) != 0) {
        find_fault(audit, "", 0,
                   "a fact of entry %lld of station %.8s..., which is not here, was "
                   "added",
                   (long long)fact->number, fact->station);
        return true;
    }
    audit->fact_at++;
    if (strcmp(hash_fact(fact).hex, seen->fact.hex) != 0) {
        find_fault(audit, seen->station, seen->number, "its fact was changed");
    }
    return true;
}

static bool check_facts(Audit *audit, Err *err)
{
    const RecFactQuery all = {0};
    if (!rec_store_facts(audit->store, &all, take_fact, audit, err)) return false;
    miss_facts(audit, NULL);
    return true;
}

/* --- Heads ----------------------------------------------------------------------------------- */

/* The number of the last entry of a station; 0 when it has none. */
static RecNumber last_of(const Audit *audit, const char *station)
{
    for (size_t i = audit->seen_count; i > 0; i--) {
        if (strcmp(audit->seen[i - 1].station, station) == 0) return audit->seen[i - 1].number;
    }
    return 0;
}

/* Say what in a head that states another entry is not as that one wants it. */
static void blame_head(Audit *audit, const RecHead *head)
{
    const Seen *stated = find_seen(audit, audit->own, head->number);
    if (strcmp(head->station, audit->own) != 0) {
        find_fault(audit, "", 0, "head: is of station %s, the store of %s", head->station,
                   audit->own);
    } else if (stated == NULL || strcmp(stated->hash.hex, head->hash.hex) != 0) {
        find_fault(audit, audit->own, head->number,
                   "the head states another hash for it: it or head was changed");
    } else {
        find_fault(audit, audit->own, head->number,
                   "the head states another time for it: head was changed");
    }
}

static bool check_head(Audit *audit, Err *err)
{
    RecNumber last = last_of(audit, audit->own);
    RecSignedHead head;
    RecHeadState state;
    Text path = {0};
    text_addf(&path, "%s/head", audit->folder);
    bool ok = rec_head_compare(audit->store, path.bytes, audit->own, last, &head, &state, err);
    text_clear(&path);
    if (!ok) return false;
    switch (state) {
    case REC_HEAD_AGREES:
        if (head.states.number < last) {
            note(audit, audit->own, last,
                 "head is behind it: the program was stopped between writing the two");
        }
        break;
    case REC_HEAD_MISSING:
        find_fault(audit, "", 0, "head: is missing");
        break;
    case REC_HEAD_UNREADABLE:
        find_fault(audit, "", 0,
                   "head: was changed, it is not station, count, hash, time and signature");
        break;
    case REC_HEAD_AHEAD:
        miss_entries(audit, audit->own, last + 1, head.states.number,
                     ": head states them, the end was cut off");
        break;
    case REC_HEAD_FAR_BEHIND:
        find_fault(audit, "", 0, "head: states %lld entries, here are %lld",
                   (long long)head.states.number, (long long)last);
        break;
    case REC_HEAD_OTHER:
        blame_head(audit, &head.states);
        break;
    case REC_HEAD_UNSIGNED:
        find_fault(audit, "", 0, "head: its signature is not the station's");
        break;
    }
    return true;
}

/* A head that was kept elsewhere states what must be here. */
static void check_known_head(Audit *audit, const RecHead *head, const char *where)
{
    const Seen *seen = find_seen(audit, head->station, head->number);
    RecNumber last = last_of(audit, head->station);
    Text why = {0};
    text_addf(&why, ": the head %s states them", where);
    if (head->number > last) {
        miss_entries(audit, head->station, last + 1, head->number, why.bytes);
    } else if (seen == NULL || strcmp(seen->hash.hex, head->hash.hex) != 0) {
        find_fault(audit, head->station, head->number, "the head %s states another entry", where);
    }
    text_clear(&why);
}

/* Does the station's chain part from what others have, at that number or before? Then what others
 * state of it may be of the other branch. */
static bool is_forked(const Audit *audit, const RecHead *head)
{
    for (size_t i = 0; i < audit->fork_count; i++) {
        const RecHead *fork = &audit->forks[i];
        if (strcmp(fork->station, head->station) == 0 && fork->number <= head->number) return true;
    }
    return false;
}

/* One head that an import stated: the entries are here, and the station signed it. */
static bool check_import(Audit *audit, Import *import, Err *err)
{
    RecHead *head = &import->head.states;
    const Seen *seen = find_seen(audit, head->station, head->number);
    char key[REC_HEX_BYTES];
    Text where = {0};
    text_addf(&where, "in entry %lld (import)", (long long)import->number);
    bool may_differ = strcmp(import->station, audit->own) != 0 && is_forked(audit, head);
    if (head->number > 0 && !may_differ) check_known_head(audit, head, where.bytes);
    text_clear(&where);
    if (seen == NULL || strcmp(seen->hash.hex, head->hash.hex) != 0) return true;
    memcpy(head->time, seen->time, REC_STAMP_BYTES);
    if (!rec_station_key_at(audit->store, head->station, head->number, key, err)) return false;
    if (!rec_head_is_signed(&import->head, key)) {
        find_fault(audit, import->station, import->number,
                   "the head of station %s that it states is not signed by it", head->station);
    }
    return true;
}

static bool check_imports(Audit *audit, Err *err)
{
    RecNumber most = 0;
    for (size_t i = 0; i < audit->import_count; i++) {
        if (!check_import(audit, &audit->imports[i], err)) return false;
    }
    for (size_t i = 0; i < audit->seen_count; i++) {
        const Seen *seen = &audit->seen[i];
        bool is_last =
            i + 1 == audit->seen_count || strcmp(audit->seen[i + 1].station, seen->station) != 0;
        if (!is_last || strcmp(seen->station, audit->own) == 0) continue;
        most = 0;
        for (size_t j = 0; j < audit->import_count; j++) {
            const RecHead *head = &audit->imports[j].head.states;
            bool counts = strcmp(audit->imports[j].station, audit->own) == 0 &&
                          strcmp(head->station, seen->station) == 0 && head->number > most;
            if (counts) most = head->number;
        }
        if (seen->number > most) {
            find_fault(audit, seen->station, seen->number,
                       "no import states the entries after %lld", (long long)most);
        }
    }
    return true;
}

/* The heads kept outside, of each station that has entries here. */
static bool check_outside(Audit *audit, Err *err)
{
    const RecWitness *witness = audit->witness;
    audit->report->entries_since_outside = -1;
    if (witness->paper != NULL) check_known_head(audit, witness->paper, "on paper");
    for (size_t i = 0; witness->heads != NULL && i < audit->seen_count; i++) {
        const Seen *seen = &audit->seen[i];
        RecSignedHead head;
        bool found = false;
        if (i > 0 && strcmp(audit->seen[i - 1].station, seen->station) == 0) continue;
        if (!rec_outside_read(audit->store, witness->heads, seen->station, &head, &found, err)) {
            return false;
        }
        if (!found) continue;
        check_known_head(audit, &head.states, "kept outside the folder");
        if (strcmp(seen->station, audit->own) == 0) {
            RecNumber last = last_of(audit, audit->own);
            audit->report->entries_since_outside =
                last > head.states.number ? last - head.states.number : 0;
        }
    }
    return true;
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
    find_fault(audit, item->station, item->number, "content %s (%.12s...) is missing", item->what,
               item->hash.hex);
}

typedef struct {
    Audit *audit;
    size_t at; /* of the contents named: the next that no row has had yet */
} ContentWalk;

static bool take_content(void *context, const Text *hash, const Text *bytes, Err *err)
{
    ContentWalk *walk = context;
    Audit *audit = walk->audit;
    const Mentions *named = &audit->contents;
    (void)err;
    audit->report->contents++;
    size_t at = pass_missing(audit, named, walk->at, hash, miss_content);
    RecHash now = rec_sha256(NULL, 0, text_string(bytes), bytes->len);
    if (at == named->count || compare_key(&named->items[at], hash) != 0) {
        find_fault(audit, "", 0, "content %.12s... is named by no entry", text_string(hash));
    }
    for (; at < named->count && compare_key(&named->items[at], hash) == 0; at++) {
        const Mention *item = &named->items[at];
        if (strcmp(now.hex, item->hash.hex) == 0) continue;
        find_fault(audit, item->station, item->number, "content %s (%.12s...) was changed",
                   item->what, item->hash.hex);
    }
    walk->at = at;
    return true;
}

static bool check_contents(Audit *audit, Err *err)
{
    ContentWalk walk = {.audit = audit};
    sort_mentions(&audit->contents);
    if (!rec_store_contents(audit->store, take_content, &walk, err)) return false;
    (void)pass_missing(audit, &audit->contents, walk.at, NULL, miss_content);
    return true;
}

/* The erasure that names this hash, NULL when there is none. */
static const Mention *find_mention(const Mentions *mentions, const RecHash *hash)
{
    for (size_t i = 0; i < mentions->count; i++) {
        if (strcmp(mentions->items[i].hash.hex, hash->hex) == 0) return &mentions->items[i];
    }
    return NULL;
}

/* Of two stations nobody knows which wrote first. */
static bool is_after(const Mention *later, const Mention *earlier)
{
    return strcmp(later->station, earlier->station) != 0 || later->number > earlier->number;
}

static void miss_text(Audit *audit, const Mention *item)
{
    const Mention *erasure = find_mention(&audit->erasures, &item->hash);
    if (erasure != NULL && is_after(erasure, item)) return;
    find_fault(audit, item->station, item->number,
               "its %s (%.12s...) is missing and no erasure entry says why", item->what,
               item->hash.hex);
}

static void check_text(Audit *audit, const Mention *item, const RecVeil *veil)
{
    unsigned char salt[REC_HASH_BYTES];
    const Mention *erasure = find_mention(&audit->erasures, &item->hash);
    if (erasure != NULL) {
        find_fault(audit, erasure->station, erasure->number,
                   "the text %.12s... was erased, yet it is there", item->hash.hex);
    }
    if (!rec_hex_read(text_string(&veil->salt), veil->salt.len, salt, sizeof salt)) {
        find_fault(audit, item->station, item->number, "the salt of its %s (%.12s...) was changed",
                   item->what, item->hash.hex);
        return;
    }
    RecHash now = rec_commitment(salt, text_string(&veil->text), veil->text.len);
    if (strcmp(now.hex, item->hash.hex) != 0) {
        find_fault(audit, item->station, item->number, "its %s (%.12s...) or the salt was changed",
                   item->what, item->hash.hex);
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
            find_fault(audit, "", 0, "veiled text %.12s... is named by no entry",
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
        if (text != NULL && is_after(erasure, text)) continue;
        find_fault(audit, erasure->station, erasure->number,
                   "erases %.12s..., which no entry before it names", erasure->hash.hex);
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
        find_fault(audit, run->station, run->number, "scored again, it gives no result: %s",
                   wrong.text);
    } else if (strcmp(text_string(&canonical), text_string(&run->result)) != 0) {
        find_fault(audit, run->station, run->number,
                   "scored again, it gives another result than the stored one");
    }
    text_clear(&canonical);
    json_free(doc);
}

/* Play one run again. One that cannot be loaded has its finding already. */
static bool rejudge_run(Audit *audit, const Seen *seen, RecRejudge rejudge, void *context, Err *err)
{
    RecRow row = {0};
    RecEntry entry = {0};
    RecRunView run = {0};
    Text result = {0};
    Text why = {0};
    Err unread = {0};
    bool found = false;
    bool ok = rec_store_entry_from(audit->store, seen->station, seen->number, &row, &found, err);
    if (ok && found && row.number == seen->number && rec_entry_read(&row.bytes, &entry, &unread) &&
        rec_run_view_read(audit->store, &entry, &run, &unread)) {
        audit->report->runs_rejudged++;
        if (!rejudge(context, &run, &result, &why)) {
            find_fault(audit, seen->station, seen->number, "played again: %s", text_string(&why));
        } else {
            if (why.len > 0) note(audit, seen->station, seen->number, why.bytes);
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
        if (audit->report->runs > 0) note(audit, "", 0, "no run was played and scored again");
        return true;
    }
    for (size_t i = 0; i < audit->seen_count; i++) {
        const Seen *seen = &audit->seen[i];
        if (strcmp(seen->kind, rec_kind_names[REC_KIND_RUN]) != 0) continue;
        if (!rejudge_run(audit, seen, rejudge, context, err)) return false;
    }
    return true;
}

/* --- All ------------------------------------------------------------------------------------- */

/* What is read here holds still, however many other programs write. */
static bool check_rows(Audit *audit, bool *readable, Err *err)
{
    Err none = {0};
    if (!rec_store_freeze(audit->store, err)) return false;
    bool ok = rec_store_audit(audit->store, complain, audit, readable, err);
    if (ok && *readable) {
        if (!rec_station_find(audit->store, audit->folder, audit->own, &none)) {
            find_fault(audit, "", 0, "%s", none.text);
        }
        ok = rec_store_entries(audit->store, NULL, 0, take_row, audit, err) &&
             check_facts(audit, err) && check_head(audit, err) && check_outside(audit, err) &&
             check_contents(audit, err) && check_texts(audit, err) && check_imports(audit, err);
    }
    rec_store_rollback(audit->store);
    return ok;
}

static void note_limits(Audit *audit)
{
    Text text = {0};
    int64_t since = audit->report->entries_since_outside;
    const RecHead *paper = audit->witness->paper;
    RecNumber last = last_of(audit, audit->own);
    if (since < 0 && paper == NULL) {
        text_addf(&text,
                  "no head of this store is known outside its folder: whoever owns the folder "
                  "could have made all %lld entries anew, put back an older copy, or cut or "
                  "replaced the end; compare head with one kept elsewhere",
                  (long long)last);
    } else if (since >= 0) {
        text_addf(&text,
                  "%lld %s since the last outside head: they could have been cut or replaced "
                  "without a trace",
                  (long long)since, since == 1 ? "entry" : "entries");
    } else if (last_of(audit, paper->station) >= paper->number) { /* else a finding says it */
        text_addf(&text,
                  "%lld entries since the head on paper: they could have been cut or replaced "
                  "without a trace",
                  (long long)(last_of(audit, paper->station) - paper->number));
    }
    if (text.len > 0) note(audit, "", 0, text.bytes);
    text_clear(&text);
}

static void audit_clear(Audit *audit)
{
    rec_store_close(audit->store);
    rec_entry_clear(&audit->chain.last);
    free(audit->seen);
    free(audit->imports);
    free(audit->forks);
    free(audit->contents.items);
    free(audit->texts.items);
    free(audit->erasures.items);
}

bool rec_verify(const char *folder, const RecWitness *witness, RecRejudge rejudge, void *context,
                RecReport *report, Err *err)
{
    static const RecWitness nobody = {0};
    CHECK(folder != NULL && report != NULL && err != NULL);
    RecReport found = {0};
    Audit audit = {
        .folder = folder, .report = &found, .witness = witness == NULL ? &nobody : witness};
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
        note(&audit, "", 0, "nothing in the tables was checked, for they are not ours");
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
