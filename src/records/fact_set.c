/* Packing facts: words once, facts sorted by person and time. */
#include "records/fact_set.h"

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

struct RecFactSet {
    Words words;
    RecPacked *facts; /* sealed: own facts by person and order, then the grants likewise */
    size_t count, capacity, own_count;
    uint32_t *fact_of; /* by word of a hash: index of its fact plus 1; 0 for none */
    size_t fact_of_count;
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

RecWord rec_fact_set_word(const RecFactSet *set, const char *text)
{
    if (text[0] == '\0') return 0;
    return set->words.slots[slot_of(&set->words, text)];
}

const char *rec_fact_set_text(const RecFactSet *set, RecWord word)
{
    return word_text(&set->words, word);
}

/* --- Adding ---------------------------------------------------------------------------------- */

RecFactSet *rec_fact_set_new(void)
{
    RecFactSet *set = check_calloc(1, sizeof *set);
    set->capacity = CAPACITY_FIRST;
    set->facts = check_calloc(set->capacity, sizeof *set->facts);
    append_word(&set->words, "");
    grow_slots(&set->words);
    return set;
}

void rec_fact_set_free(RecFactSet *set)
{
    if (set == NULL) return;
    text_clear(&set->words.bytes);
    free(set->words.offsets);
    free(set->words.slots);
    free(set->facts);
    free(set->fact_of);
    free(set->people);
    free(set);
}

/* Room to note the fact of any word there is. */
static void grow_fact_of(RecFactSet *set)
{
    if (set->fact_of_count >= set->words.capacity) return;
    set->fact_of = check_realloc(set->fact_of, set->words.capacity, sizeof *set->fact_of);
    memset(set->fact_of + set->fact_of_count, 0,
           (set->words.capacity - set->fact_of_count) * sizeof *set->fact_of);
    set->fact_of_count = set->words.capacity;
}

static bool is_long(const char *list)
{
    return list != NULL && strlen(list) > REC_FACT_LIST_BYTES_MAX;
}

bool rec_fact_set_add(RecFactSet *set, const RecFact *fact, Err *err)
{
    CHECK(!set->is_sealed);
    if (fact->hash[0] == '\0') return err_set(err, ERR_INPUT, "a fact has no hash");
    if (is_long(fact->lines) || is_long(fact->products) || is_long(fact->checks) ||
        is_long(fact->evidence)) {
        return err_set(err, ERR_INPUT, "a list of entry %s is over %d bytes", fact->hash,
                       REC_FACT_LIST_BYTES_MAX);
    }
    Words *words = &set->words;
    RecWord hash = add_word(words, fact->hash);
    grow_fact_of(set);
    if (set->fact_of[hash] != 0) return true; /* it is here already */
    if (set->count == REC_FACTS_MAX) {
        return err_set(err, ERR_RANGE, "there are more facts than the limit of %d", REC_FACTS_MAX);
    }
    if (set->count == set->capacity) {
        set->capacity *= 2;
        set->facts = check_realloc(set->facts, set->capacity, sizeof *set->facts);
    }
    set->facts[set->count++] = (RecPacked){
        .time_us = fact->time_us,
        .number = fact->number,
        .station = add_word(words, fact->station),
        .hash = hash,
        .person = add_word(words, fact->person),
        .author = add_word(words, fact->author),
        .other = add_word(words, fact->other),
        .subject = add_word(words, fact->subject),
        .about = add_word(words, fact->about),
        .key = add_word(words, fact->key),
        .lines = add_word(words, fact->lines),
        .products = add_word(words, fact->products),
        .checks = add_word(words, fact->checks),
        .evidence = add_word(words, fact->evidence),
        .day = fact->day,
        .until_day = fact->until_day,
        .kind = (unsigned char)fact->kind,
        .verdict = (unsigned char)fact->verdict,
        .decision = (unsigned char)fact->decision,
        .is_assessment = fact->is_assessment,
        .is_scripted = fact->is_scripted,
        .is_good = fact->is_good,
    };
    set->fact_of[hash] = (uint32_t)set->count;
    return true;
}

/* --- Putting in order ------------------------------------------------------------------------ */

/* A fact with its texts at hand, for qsort, which knows no set. */
typedef struct {
    RecPacked fact;
    const char *station, *hash;
    bool is_grant;
} Sortable;

static bool is_grant(const RecPacked *fact)
{
    return fact->kind == REC_FACT_ROLE || fact->kind == REC_FACT_KEY;
}

/* Own facts before grants, by person; then by time, station, number; a fork has two entries of one
 * number, whose hashes then decide. */
static int in_order(const void *a, const void *b)
{
    const Sortable *one = a;
    const Sortable *two = b;
    const RecPacked *x = &one->fact;
    const RecPacked *y = &two->fact;
    if (one->is_grant != two->is_grant) return one->is_grant ? 1 : -1;
    if (x->person != y->person) return x->person < y->person ? -1 : 1;
    if (x->time_us != y->time_us) return x->time_us < y->time_us ? -1 : 1;
    if (x->station != y->station) return strcmp(one->station, two->station);
    if (x->number != y->number) return x->number < y->number ? -1 : 1;
    return strcmp(one->hash, two->hash);
}

/* Give facts about an entry its person; drop those that have none. */
static void find_persons(RecFactSet *set)
{
    size_t kept = 0;
    for (size_t i = 0; i < set->count; i++) {
        RecPacked fact = set->facts[i];
        const RecPacked *about = NULL;
        if (fact.about != 0) {
            about =
                set->fact_of[fact.about] == 0 ? NULL : &set->facts[set->fact_of[fact.about] - 1];
            fact.person = about == NULL ? 0 : about->person;
        }
        set->facts[i].person = fact.person;
    }
    for (size_t i = 0; i < set->count; i++) {
        if (set->facts[i].person != 0) set->facts[kept++] = set->facts[i];
    }
    set->count = kept;
}

static void sort_facts(RecFactSet *set)
{
    Sortable *sorted = check_calloc(set->count + 1, sizeof *sorted);
    for (size_t i = 0; i < set->count; i++) {
        const RecPacked *fact = &set->facts[i];
        sorted[i] = (Sortable){*fact, rec_fact_set_text(set, fact->station),
                               rec_fact_set_text(set, fact->hash), is_grant(fact)};
    }
    qsort(sorted, set->count, sizeof *sorted, in_order);
    set->own_count = 0;
    for (size_t i = 0; i < set->count; i++) {
        set->facts[i] = sorted[i].fact;
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

static void list_people(RecFactSet *set)
{
    Person *people = check_calloc(set->own_count + 1, sizeof *people);
    for (size_t i = 0; i < set->own_count; i++) {
        RecWord word = set->facts[i].person;
        if (i > 0 && set->facts[i - 1].person == word) continue;
        people[set->person_count++] = (Person){rec_fact_set_text(set, word), word};
    }
    qsort(people, set->person_count, sizeof *people, by_text);
    set->people = check_calloc(set->person_count + 1, sizeof *set->people);
    for (size_t i = 0; i < set->person_count; i++) {
        set->people[i] = people[i].word;
    }
    free(people);
}

void rec_fact_set_seal(RecFactSet *set)
{
    CHECK(!set->is_sealed);
    set->is_sealed = true;
    grow_fact_of(set);
    find_persons(set);
    sort_facts(set);
    memset(set->fact_of, 0, set->fact_of_count * sizeof *set->fact_of);
    for (size_t i = 0; i < set->count; i++) {
        set->fact_of[set->facts[i].hash] = (uint32_t)i + 1;
    }
    list_people(set);
}

/* --- Reading --------------------------------------------------------------------------------- */

size_t rec_fact_set_people(const RecFactSet *set)
{
    CHECK(set->is_sealed);
    return set->person_count;
}

const char *rec_fact_set_person(const RecFactSet *set, size_t index)
{
    CHECK(index < rec_fact_set_people(set));
    return rec_fact_set_text(set, set->people[index]);
}

/* The facts of `person` among those from `from` to before `to`, sorted by person. */
static RecFactRange range_of(const RecFactSet *set, size_t from, size_t to, RecWord person)
{
    CHECK(set->is_sealed);
    size_t low = from;
    size_t high = to;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (set->facts[middle].person < person)
            low = middle + 1;
        else
            high = middle;
    }
    for (high = low; high < to && set->facts[high].person == person; high++) {
    }
    return (RecFactRange){set->facts + low, high - low};
}

RecFactRange rec_fact_set_of(const RecFactSet *set, RecWord person)
{
    return range_of(set, 0, set->own_count, person);
}

RecFactRange rec_fact_set_grants(const RecFactSet *set, RecWord person)
{
    return range_of(set, set->own_count, set->count, person);
}

const RecPacked *rec_fact_set_find(const RecFactSet *set, RecWord hash)
{
    uint32_t found = hash == 0 ? 0 : set->fact_of[hash];
    return found == 0 ? NULL : &set->facts[found - 1];
}
