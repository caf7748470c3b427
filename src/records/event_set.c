/* Packing events: words once, events sorted by person and time. */
#include "records/event_set.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { SLOTS_FIRST = 1024, CAPACITY_FIRST = 256 };

/* Texts, each once. `slots` is a hash table of words with free places 0; its size is a power of
 * two and over twice the count. */
typedef struct {
    Text bytes; /* NUL-ended texts behind each other */
    size_t *offsets;
    size_t count, capacity;
    RecWord *slots;
    size_t slot_count;
} Words;

struct RecEventSet {
    Words words;
    RecPacked *events; /* sealed: own events by person and order, then the grants likewise */
    size_t count, capacity, own_count;
    uint32_t *event_of; /* by word of a hash: index of its event plus 1; 0 for none */
    size_t event_of_count;
    RecWord *people; /* in the order of their texts */
    size_t person_count;
    bool is_sealed;
};

/* --- Words ----------------------------------------------------------------------------------- */

/* FNV-1a, 64 bits (from memory): any spread will do. */
static uint64_t spread_of(const char *text)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *text != '\0'; text++) {
        hash = (hash ^ (unsigned char)*text) * UINT64_C(1099511628211);
    }
    return hash ^ hash >> 32;
}

static const char *word_text(const Words *words, RecWord word)
{
    return words->bytes.bytes + words->offsets[word];
}

/* The slot that holds `text`, or the free one where it would stand. */
static size_t slot_of(const Words *words, const char *text)
{
    size_t slot = (size_t)spread_of(text) & (words->slot_count - 1);
    while (words->slots[slot] != 0 && strcmp(word_text(words, words->slots[slot]), text) != 0) {
        slot = (slot + 1) & (words->slot_count - 1);
    }
    return slot;
}

static void grow_slots(Words *words)
{
    free(words->slots);
    words->slot_count = words->slot_count == 0 ? SLOTS_FIRST : 2 * words->slot_count;
    words->slots = check_calloc(words->slot_count, sizeof *words->slots);
    for (size_t i = 1; i < words->count; i++) {
        words->slots[slot_of(words, word_text(words, (RecWord)i))] = (RecWord)i;
    }
}

static void append_word(Words *words, const char *text)
{
    if (words->count == words->capacity) {
        words->capacity = words->capacity == 0 ? CAPACITY_FIRST : 2 * words->capacity;
        words->offsets = check_realloc(words->offsets, words->capacity, sizeof *words->offsets);
    }
    words->offsets[words->count++] = words->bytes.len;
    text_add_bytes(&words->bytes, text, strlen(text) + 1);
}

static RecWord add_word(Words *words, const char *text)
{
    if (text == NULL || text[0] == '\0') return 0;
    size_t slot = slot_of(words, text);
    if (words->slots[slot] != 0) return words->slots[slot];
    if (2 * (words->count + 1) > words->slot_count) {
        grow_slots(words);
        slot = slot_of(words, text);
    }
    append_word(words, text);
    words->slots[slot] = (RecWord)(words->count - 1);
    return words->slots[slot];
}

RecWord rec_event_set_word(const RecEventSet *set, const char *text)
{
    if (text[0] == '\0') return 0;
    return set->words.slots[slot_of(&set->words, text)];
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
    append_word(&set->words, "");
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
    free(set->event_of);
    free(set->people);
    free(set);
}

/* Room to note the event of any word there is. */
static void grow_event_of(RecEventSet *set)
{
    if (set->event_of_count >= set->words.capacity) return;
    set->event_of = check_realloc(set->event_of, set->words.capacity, sizeof *set->event_of);
    memset(set->event_of + set->event_of_count, 0,
           (set->words.capacity - set->event_of_count) * sizeof *set->event_of);
    set->event_of_count = set->words.capacity;
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
    grow_event_of(set);
    if (set->event_of[hash] != 0) return true; /* it is here already */
    if (set->count == REC_EVENTS_MAX) {
        return err_set(err, ERR_RANGE, "there are more events than the limit of %d",
                       REC_EVENTS_MAX);
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
    set->event_of[hash] = (uint32_t)set->count;
    return true;
}

/* --- Putting in order ------------------------------------------------------------------------ */

/* An event with its texts at hand, for qsort, which knows no set. */
typedef struct {
    RecPacked event;
    const char *station, *hash;
    bool is_grant;
} Sortable;

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
    const RecPacked *x = &one->event;
    const RecPacked *y = &two->event;
    if (one->is_grant != two->is_grant) return one->is_grant ? 1 : -1;
    if (x->person != y->person) return x->person < y->person ? -1 : 1;
    if (x->time_us != y->time_us) return x->time_us < y->time_us ? -1 : 1;
    if (x->station != y->station) return strcmp(one->station, two->station);
    if (x->number != y->number) return x->number < y->number ? -1 : 1;
    return strcmp(one->hash, two->hash);
}

/* Give events about an entry its person; drop those that have none. */
static void find_persons(RecEventSet *set)
{
    size_t kept = 0;
    for (size_t i = 0; i < set->count; i++) {
        RecPacked event = set->events[i];
        const RecPacked *about = NULL;
        if (event.about != 0) {
            about = set->event_of[event.about] == 0 ? NULL
                                                    : &set->events[set->event_of[event.about] - 1];
            event.person = about == NULL ? 0 : about->person;
        }
        set->events[i].person = event.person;
    }
    for (size_t i = 0; i < set->count; i++) {
        if (set->events[i].person != 0) set->events[kept++] = set->events[i];
    }
    set->count = kept;
}

static void sort_events(RecEventSet *set)
{
    Sortable *sorted = check_calloc(set->count + 1, sizeof *sorted);
    for (size_t i = 0; i < set->count; i++) {
        const RecPacked *event = &set->events[i];
        sorted[i] = (Sortable){*event, rec_event_set_text(set, event->station),
                               rec_event_set_text(set, event->hash), is_grant(event)};
    }
    qsort(sorted, set->count, sizeof *sorted, in_order);
    set->own_count = 0;
    for (size_t i = 0; i < set->count; i++) {
        set->events[i] = sorted[i].event;
        set->own_count += !sorted[i].is_grant;
    }
    free(sorted);
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
    grow_event_of(set);
    find_persons(set);
    sort_events(set);
    memset(set->event_of, 0, set->event_of_count * sizeof *set->event_of);
    for (size_t i = 0; i < set->count; i++) {
        set->event_of[set->events[i].hash] = (uint32_t)i + 1;
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
    uint32_t found = hash == 0 ? 0 : set->event_of[hash];
    return found == 0 ? NULL : &set->events[found - 1];
}
