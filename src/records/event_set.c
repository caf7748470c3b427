/* Packing events: words once, events sorted by person and time. */
#include "records/event_set.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { SLOTS_FIRST = 1024, CAPACITY_FIRST = 256 };

/* A place in the hash table. The spread beside the word saves most looks at texts, which lie far
 * apart in memory. */
typedef struct {
    RecWord word; /* 0: free */
    uint32_t spread;
} Slot;

/* Texts, each once. The size of `slots` is a power of two and over twice the count. */
typedef struct {
    Text bytes; /* NUL-ended texts behind each other */
    size_t *offsets;
    size_t count, capacity;
    Slot *slots;
    size_t slot_count;
} Words;

struct RecEventSet {
    Words words;
    RecPacked *events; /* sealed: own events by person and order, then the grants likewise */
    size_t count, capacity, own_count;
    uint32_t *fact_of; /* by word of a hash: index of its event plus 1; 0 for none */
    size_t fact_of_count;
    RecWord *people; /* in the order of their texts */
    size_t person_count;
    bool is_sealed;
};

/* --- Words ----------------------------------------------------------------------------------- */

/* Eight bytes at a time, each mixed in by a multiplication: any spread will do. */
static uint32_t spread_of(const char *text, size_t len)
{
    const uint64_t odd = UINT64_C(0x9e3779b97f4a7c15); /* 2^64 by the golden ratio */
    uint64_t spread = len;
    for (size_t at = 0; at < len; at += sizeof(uint64_t)) {
        uint64_t piece = 0;
        memcpy(&piece, text + at, len - at < sizeof piece ? len - at : sizeof piece);
        spread = (spread ^ piece) * odd;
        spread ^= spread >> 32;
    }
    return (uint32_t)spread;
}

static const char *word_text(const Words *words, RecWord word)
{
    return words->bytes.bytes + words->offsets[word];
}

/* The slot that holds `text`, or the free one where it would stand. */
static Slot *slot_of(const Words *words, const char *text, uint32_t spread)
{
    size_t at = spread & (words->slot_count - 1);
    for (;; at = (at + 1) & (words->slot_count - 1)) {
        Slot *slot = &words->slots[at];
        if (slot->word == 0) return slot;
        if (slot->spread == spread && strcmp(word_text(words, slot->word), text) == 0) return slot;
    }
}

static void grow_slots(Words *words)
{
    Slot *old = words->slots;
    size_t old_count = words->slot_count;
    words->slot_count = old_count == 0 ? SLOTS_FIRST : 2 * old_count;
    words->slots = check_calloc(words->slot_count, sizeof *words->slots);
    for (size_t i = 0; i < old_count; i++) {
        if (old[i].word == 0) continue;
        size_t at = old[i].spread & (words->slot_count - 1);
        while (words->slots[at].word != 0) {
            at = (at + 1) & (words->slot_count - 1);
        }
        words->slots[at] = old[i];
    }
    free(old);
}

static void append_word(Words *words, const char *text, size_t len)
{
    if (words->count == words->capacity) {
        words->capacity = words->capacity == 0 ? CAPACITY_FIRST : 2 * words->capacity;
        words->offsets = check_realloc(words->offsets, words->capacity, sizeof *words->offsets);
    }
    words->offsets[words->count++] = words->bytes.len;
    text_add_bytes(&words->bytes, text, len + 1);
}

static RecWord add_word(Words *words, const char *text)
{
    if (text == NULL || text[0] == '\0') return 0;
    size_t len = strlen(text);
    uint32_t spread = spread_of(text, len);
    Slot *slot = slot_of(words, text, spread);
    if (slot->word != 0) return slot->word;
    if (2 * (words->count + 1) > words->slot_count) {
        grow_slots(words);
        slot = slot_of(words, text, spread);
    }
    append_word(words, text, len);
    *slot = (Slot){(RecWord)(words->count - 1), spread};
    return slot->word;
}

RecWord rec_event_set_word(const RecEventSet *set, const char *text)
{
    if (text[0] == '\0') return 0;
    return slot_of(&set->words, text, spread_of(text, strlen(text)))->word;
}

const char *rec_event_set_text(const RecEventSet *set, RecWord word)
{
    return word_text(&set->words, word);
}

/* --- Adding ---------------------------------------------------------------------------------- */

RecEventSet *rec_event_set_new(void)
{
    RecEventSet *set = check_calloc(1, sizeof *set);
    set->capacity = CAPACITY_FIRST;
    set->events = check_calloc(set->capacity, sizeof *set->events);
    append_word(&set->words, "", 0);
    grow_slots(&set->words);
    return set;
}

void rec_event_set_free(RecEventSet *set)
{
    if (set == NULL) return;
    text_clear(&set->words.bytes);
    free(set->words.offsets);
    free(set->words.slots);
    free(set->events);
    free(set->fact_of);
    free(set->people);
    free(set);
}

/* Room to note the event of any word there is. */
static void grow_fact_of(RecEventSet *set)
{
    if (set->fact_of_count >= set->words.capacity) return;
    set->fact_of = check_realloc(set->fact_of, set->words.capacity, sizeof *set->fact_of);
    memset(set->fact_of + set->fact_of_count, 0,
           (set->words.capacity - set->fact_of_count) * sizeof *set->fact_of);
    set->fact_of_count = set->words.capacity;
}

static bool is_long(const char *list)
{
    return list != NULL && strlen(list) > REC_EVENT_LIST_BYTES_MAX;
}

bool rec_event_set_add(RecEventSet *set, const RecEvent *event, Err *err)
{
    CHECK(!set->is_sealed);
    if (event->hash[0] == '\0') return err_set(err, ERR_INPUT, "an event has no hash");
    if (is_long(event->lines) || is_long(event->products) || is_long(event->checks) ||
        is_long(event->evidence)) {
        return err_set(err, ERR_INPUT, "a list of entry %s is over %d bytes", event->hash,
                       REC_EVENT_LIST_BYTES_MAX);
    }
    Words *words = &set->words;
    RecWord hash = add_word(words, event->hash);
    grow_fact_of(set);
    if (set->fact_of[hash] != 0) return true; /* it is here already */
    if (set->count == REC_FACTS_MAX) {
        return err_set(err, ERR_RANGE, "there are more events than the limit of %d", REC_FACTS_MAX);
    }
    if (set->count == set->capacity) {
        set->capacity *= 2;
        set->events = check_realloc(set->events, set->capacity, sizeof *set->events);
    }
    set->events[set->count++] = (RecPacked){
        .time_us = event->time_us,
        .number = event->number,
        .station = add_word(words, event->station),
        .hash = hash,
        .person = add_word(words, event->person),
        .author = add_word(words, event->author),
        .other = add_word(words, event->other),
        .subject = add_word(words, event->subject),
        .about = add_word(words, event->about),
        .key = add_word(words, event->key),
        .lines = add_word(words, event->lines),
        .products = add_word(words, event->products),
        .checks = add_word(words, event->checks),
        .evidence = add_word(words, event->evidence),
        .day = event->day,
        .until_day = event->until_day,
        .kind = (unsigned char)event->kind,
        .verdict = (unsigned char)event->verdict,
        .decision = (unsigned char)event->decision,
        .is_assessment = event->is_assessment,
        .is_scripted = event->is_scripted,
        .is_good = event->is_good,
    };
    set->fact_of[hash] = (uint32_t)set->count;
    return true;
}

/* --- Putting in order ------------------------------------------------------------------------ */

/* What decides nearly always, and for qsort, which knows no set, the way to the rest. */
typedef struct {
    int64_t time_us;
    const RecEventSet *set;
    RecWord person;
    uint32_t index : 31, is_grant : 1;
} Sortable;

_Static_assert(REC_FACTS_MAX < INT32_MAX, "an index has 31 bits");

static bool is_grant(const RecPacked *event)
{
    return event->kind == REC_EVENT_ROLE || event->kind == REC_EVENT_KEY;
}

/* Own events before grants, by person; then by time, station, number; a fork has two entries of one
 * number, whose hashes then decide. */
static int in_order(const void *a, const void *b)
{
    const Sortable *one = a;
    const Sortable *two = b;
    if (one->is_grant != two->is_grant) return one->is_grant ? 1 : -1;
    if (one->person != two->person) return one->person < two->person ? -1 : 1;
    if (one->time_us != two->time_us) return one->time_us < two->time_us ? -1 : 1;
    const RecPacked *x = &one->set->events[one->index];
    const RecPacked *y = &two->set->events[two->index];
    if (x->station != y->station) {
        return strcmp(rec_event_set_text(one->set, x->station),
                      rec_event_set_text(one->set, y->station));
    }
    if (x->number != y->number) return x->number < y->number ? -1 : 1;
    return strcmp(rec_event_set_text(one->set, x->hash), rec_event_set_text(one->set, y->hash));
}

/* Give events about an entry its person; drop those that have none. */
static void find_persons(RecEventSet *set)
{
    size_t kept = 0;
    for (size_t i = 0; i < set->count; i++) {
        RecPacked event = set->events[i];
        const RecPacked *about = NULL;
        if (event.about != 0) {
            about =
                set->fact_of[event.about] == 0 ? NULL : &set->events[set->fact_of[event.about] - 1];
            event.person = about == NULL ? 0 : about->person;
        }
        set->events[i].person = event.person;
    }
    for (size_t i = 0; i < set->count; i++) {
        if (set->events[i].person != 0) set->events[kept++] = set->events[i];
    }
    set->count = kept;
}

static void sort_facts(RecEventSet *set)
{
    Sortable *sorted = check_calloc(set->count + 1, sizeof *sorted);
    RecPacked *events = check_calloc(set->count + 1, sizeof *events);
    for (size_t i = 0; i < set->count; i++) {
        const RecPacked *event = &set->events[i];
        sorted[i] = (Sortable){.time_us = event->time_us,
                               .set = set,
                               .person = event->person,
                               .index = (uint32_t)i & INT32_MAX,
                               .is_grant = is_grant(event)};
    }
    qsort(sorted, set->count, sizeof *sorted, in_order);
    set->own_count = 0;
    for (size_t i = 0; i < set->count; i++) {
        events[i] = set->events[sorted[i].index];
        set->own_count += !sorted[i].is_grant;
    }
    free(sorted);
    free(set->events);
    set->events = events;
}

typedef struct {
    const char *text;
    RecWord word;
} Person;

static int by_text(const void *a, const void *b)
{
    const Person *one = a;
    const Person *two = b;
    return strcmp(one->text, two->text);
}

static void list_people(RecEventSet *set)
{
    Person *people = check_calloc(set->own_count + 1, sizeof *people);
    for (size_t i = 0; i < set->own_count; i++) {
        RecWord word = set->events[i].person;
        if (i > 0 && set->events[i - 1].person == word) continue;
        people[set->person_count++] = (Person){rec_event_set_text(set, word), word};
    }
    qsort(people, set->person_count, sizeof *people, by_text);
    set->people = check_calloc(set->person_count + 1, sizeof *set->people);
    for (size_t i = 0; i < set->person_count; i++) {
        set->people[i] = people[i].word;
    }
    free(people);
}

void rec_event_set_seal(RecEventSet *set)
{
    CHECK(!set->is_sealed);
    set->is_sealed = true;
    grow_fact_of(set);
    find_persons(set);
    sort_facts(set);
    memset(set->fact_of, 0, set->fact_of_count * sizeof *set->fact_of);
    for (size_t i = 0; i < set->count; i++) {
        set->fact_of[set->events[i].hash] = (uint32_t)i + 1;
    }
    list_people(set);
}

/* --- Reading --------------------------------------------------------------------------------- */

size_t rec_event_set_people(const RecEventSet *set)
{
    CHECK(set->is_sealed);
    return set->person_count;
}

const char *rec_event_set_person(const RecEventSet *set, size_t index)
{
    CHECK(index < rec_event_set_people(set));
    return rec_event_set_text(set, set->people[index]);
}

/* The events of `person` among those from `from` to before `to`, sorted by person. */
static RecEventRange range_of(const RecEventSet *set, size_t from, size_t to, RecWord person)
{
    CHECK(set->is_sealed);
    size_t low = from;
    size_t high = to;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (set->events[middle].person < person)
            low = middle + 1;
        else
            high = middle;
    }
    for (high = low; high < to && set->events[high].person == person; high++) {
    }
    return (RecEventRange){set->events + low, high - low};
}

RecEventRange rec_event_set_of(const RecEventSet *set, RecWord person)
{
    return range_of(set, 0, set->own_count, person);
}

RecEventRange rec_event_set_grants(const RecEventSet *set, RecWord person)
{
    return range_of(set, set->own_count, set->count, person);
}

const RecPacked *rec_event_set_find(const RecEventSet *set, RecWord hash)
{
    uint32_t found = hash == 0 ? 0 : set->fact_of[hash];
    return found == 0 ? NULL : &set->events[found - 1];
}
