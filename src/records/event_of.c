/* Scanning the canonical body of a fact. */
#include "records/event_of.h"

#include <string.h>

#include "records/calendar.h"

/* What becomes of a field. */
typedef enum {
    TAKE_OTHER,
    TAKE_SUBJECT,
    TAKE_KEY,
    TAKE_MODE,
    TAKE_SCRIPTED,
    TAKE_GOOD,
    TAKE_VERDICT,
    TAKE_DECISION,
    TAKE_DAY,
    TAKE_UNTIL_DAY,
    TAKE_LINE, /* a list of one */
    TAKE_LINES,
    TAKE_PRODUCTS,
    TAKE_CHECKS,
    TAKE_EVIDENCE,
} Take;

enum { LISTS = TAKE_EVIDENCE - TAKE_LINES + 1 };

static const struct {
    RecEventKind kind;
    const char *key;
    Take take;
} takes[] = {
    {REC_EVENT_ASSIGNMENT, "buddy", TAKE_OTHER},
    {REC_EVENT_RUN, "mode", TAKE_MODE},
    {REC_EVENT_RUN, "scripted", TAKE_SCRIPTED},
    {REC_EVENT_RUN, "supervised_by", TAKE_OTHER},
    {REC_EVENT_RUN, "verdict", TAKE_VERDICT},
    {REC_EVENT_OBSERVATION, "good", TAKE_GOOD},
    {REC_EVENT_OBSERVATION, "line", TAKE_LINE},
    {REC_EVENT_OBSERVATION, "seen_on", TAKE_DAY},
    {REC_EVENT_SIGNATURE, "buddy", TAKE_OTHER},
    {REC_EVENT_SIGNATURE, "checks", TAKE_CHECKS},
    {REC_EVENT_SIGNATURE, "decision", TAKE_DECISION},
    {REC_EVENT_SIGNATURE, "evidence", TAKE_EVIDENCE},
    {REC_EVENT_SIGNATURE, "good_until", TAKE_UNTIL_DAY},
    {REC_EVENT_SIGNATURE, "key", TAKE_KEY},
    {REC_EVENT_SIGNATURE, "lines", TAKE_LINES},
    {REC_EVENT_SIGNATURE, "products", TAKE_PRODUCTS},
    {REC_EVENT_PAPER, "good_until", TAKE_UNTIL_DAY},
    {REC_EVENT_PAPER, "lines", TAKE_LINES},
    {REC_EVENT_PAPER, "signed_on", TAKE_DAY},
    {REC_EVENT_ROLE, "given", TAKE_GOOD},
    {REC_EVENT_KEY, "why", TAKE_SUBJECT},
};

enum { TAKE_COUNT = sizeof takes / sizeof takes[0] }; /* at most 32 */

/* The kinds of entries that are events, and where the fact's subject belongs. */
typedef enum { SUBJECT_IS_SUBJECT, SUBJECT_IS_ABOUT, SUBJECT_IS_KEY } SubjectIs;

static const struct {
    const char *name;
    SubjectIs subject;
} kinds[REC_EVENT_KIND_COUNT] = {
    [REC_EVENT_ASSIGNMENT] = {"assignment", SUBJECT_IS_SUBJECT},
    [REC_EVENT_RUN] = {"run", SUBJECT_IS_SUBJECT},
    [REC_EVENT_VOID] = {"void", SUBJECT_IS_ABOUT},
    [REC_EVENT_OBSERVATION] = {"observation", SUBJECT_IS_SUBJECT},
    [REC_EVENT_SIGNATURE] = {"signature", SUBJECT_IS_SUBJECT},
    [REC_EVENT_ACKNOWLEDGEMENT] = {"acknowledgement", SUBJECT_IS_ABOUT},
    [REC_EVENT_WITHDRAWAL] = {"withdrawal", SUBJECT_IS_ABOUT},
    [REC_EVENT_PAPER] = {"paper", SUBJECT_IS_SUBJECT},
    [REC_EVENT_ROLE] = {"role", SUBJECT_IS_SUBJECT},
    [REC_EVENT_KEY] = {"key", SUBJECT_IS_KEY},
};

/* A piece of a text. */
typedef struct {
    const char *from;
    size_t len;
} Span;

typedef struct {
    RecEvent *out;
    Text *lists;
    size_t starts[LISTS]; /* in `lists`, plus 1; 0: no such list */
} Reading;

/* --- Spans of canonical JSON ------------------------------------------------------------------ */

/* Cut the string that begins at *at; its escapes stay as they are. */
static bool cut_string(const char **at, Span *inside)
{
    if (**at != '"') return false;
    const char *from = *at + 1;
    const char *to = from + strcspn(from, "\"\\");
    while (*to == '\\' && to[1] != '\0') {
        to += 2;
        to += strcspn(to, "\"\\");
    }
    if (*to != '"') return false;
    *inside = (Span){from, (size_t)(to - from)};
    *at = to + 1;
    return true;
}

/* Cut the value that begins at *at: a string without its quotes, all else whole. */
static bool cut_value(const char **at, Span *value)
{
    Span inside;
    const char *from = *at;
    int depth = 0;
    if (**at == '"') return cut_string(at, value);
    do {
        *at += strcspn(*at, "\"[]{},");
        char mark = **at;
        if (mark == '\0') return false;
        if (mark == '"') {
            if (!cut_string(at, &inside)) return false;
            continue;
        }
        if (depth == 0 && mark != '[' && mark != '{') break;
        depth += mark == '[' || mark == '{' ? 1 : mark == ',' ? 0 : -1;
        (*at)++;
    } while (depth > 0);
    *value = (Span){from, (size_t)(*at - from)};
    return value->len > 0;
}

static bool is_word(Span span, const char *word)
{
    return span.len == strlen(word) && memcmp(span.from, word, span.len) == 0;
}

/* Copy a text without escapes into `size` bytes. */
static bool copy_span(Span span, char *out, size_t size)
{
    if (span.len >= size || memchr(span.from, '\\', span.len) != NULL) return false;
    memcpy(out, span.from, span.len);
    out[span.len] = '\0';
    return true;
}

static bool copy_text(const char *text, char *out, size_t size)
{
    return copy_span((Span){text, strlen(text)}, out, size);
}

/* --- Fields ---------------------------------------------------------------------------------- */

static bool read_bool(Span value, bool *out)
{
    *out = is_word(value, "true");
    return *out || is_word(value, "false");
}

static bool read_decision(Span value, RecDecision *out)
{
    static const char *const words[] = {
        [REC_SIGNED] = "signed", [REC_WITH_BUDDY] = "with-buddy", [REC_REFUSED] = "refused"};
    for (int i = REC_SIGNED; i <= REC_REFUSED; i++) {
        if (!is_word(value, words[i])) continue;
        *out = (RecDecision)i;
        return true;
    }
    return false;
}

/* Append ["a","b"] as "a b". */
static bool read_list(Reading *reading, Take take, Span value)
{
    const char *at = value.from + 1;
    Text *lists = reading->lists;
    if (*value.from != '[') return false;
    reading->starts[take - TAKE_LINES] = lists->len + 1;
    for (const char *blank = ""; *at != ']'; blank = " ") {
        Span word;
        if (blank[0] != '\0' && *at++ != ',') return false;
        if (!cut_string(&at, &word) || word.len >= REC_EVENT_WORD_BYTES) return false;
        text_add(lists, blank);
        text_add_bytes(lists, word.from, word.len);
    }
    text_add_bytes(lists, "", 1);
    return true;
}

static bool take_field(Reading *reading, Take take, Span value)
{
    RecEvent *out = reading->out;
    switch (take) {
    case TAKE_OTHER:
        return copy_span(value, out->other, sizeof out->other);
    case TAKE_SUBJECT:
        return copy_span(value, out->subject, sizeof out->subject);
    case TAKE_KEY:
        return copy_span(value, out->key, sizeof out->key);
    case TAKE_MODE:
        out->is_assessment = is_word(value, "assessment");
        return true;
    case TAKE_SCRIPTED:
        return read_bool(value, &out->is_scripted);
    case TAKE_GOOD:
        return read_bool(value, &out->is_good);
    case TAKE_VERDICT:
        out->verdict = is_word(value, "competent")    ? REC_RUN_COMPETENT
                       : is_word(value, "broken-off") ? REC_RUN_BROKEN_OFF
                                                      : REC_RUN_NOT_YET;
        return true;
    case TAKE_DECISION:
        return read_decision(value, &out->decision);
    case TAKE_DAY:
        return rec_day_read(value.from, value.len, &out->day);
    case TAKE_UNTIL_DAY:
        return rec_day_read(value.from, value.len, &out->until_day);
    case TAKE_LINE:
        reading->starts[0] = reading->lists->len + 1;
        text_add_bytes(reading->lists, value.from, value.len);
        text_add_bytes(reading->lists, "", 1);
        return value.len < REC_EVENT_WORD_BYTES;
    case TAKE_LINES:
    case TAKE_PRODUCTS:
    case TAKE_CHECKS:
    case TAKE_EVIDENCE:
        return read_list(reading, take, value);
    }
    CHECK(false);
    return false;
}

/* Take a field if the event's kind wants it. `taken` has a bit for each row of the table. */
static bool take_if_wanted(Reading *reading, Span key, Span value, uint32_t *taken)
{
    for (unsigned i = 0; i < TAKE_COUNT; i++) {
        if (takes[i].kind != reading->out->kind || !is_word(key, takes[i].key)) continue;
        if ((*taken >> i & 1) != 0) return false;
        *taken |= UINT32_C(1) << i;
        return take_field(reading, takes[i].take, value);
    }
    return true;
}

/* Take what the event's kind wants of the body; false when anything is missing or ill-formed. */
static bool take_fields(Reading *reading, const char *body)
{
    uint32_t taken = 0;
    const char *at = body;
    for (char mark = '{'; *at == mark; mark = ',') {
        Span key;
        Span value;
        at++;
        if (!cut_string(&at, &key) || *at++ != ':' || !cut_value(&at, &value)) return false;
        if (!take_if_wanted(reading, key, value, &taken)) return false;
    }
    for (unsigned i = 0; i < TAKE_COUNT; i++) {
        bool is_needed = takes[i].kind == reading->out->kind && takes[i].take != TAKE_VERDICT;
        if (is_needed && (taken >> i & 1) == 0) return false;
    }
    return at[0] == '}' && at[1] == '\0';
}

/* --- Events ---------------------------------------------------------------------------------- */

static bool copy_plain(const RecFact *fact, RecEvent *out)
{
    out->number = fact->number;
    out->time_us = fact->time_us;
    bool ok = copy_text(fact->station, out->station, sizeof out->station) &&
              copy_text(fact->hash, out->hash, sizeof out->hash) && out->hash[0] != '\0' &&
              copy_text(fact->person, out->person, sizeof out->person) &&
              copy_text(fact->author, out->author, sizeof out->author);
    switch (kinds[out->kind].subject) {
    case SUBJECT_IS_SUBJECT:
        return ok && copy_text(fact->subject, out->subject, sizeof out->subject);
    case SUBJECT_IS_ABOUT:
        return ok && copy_text(fact->subject, out->about, sizeof out->about);
    case SUBJECT_IS_KEY:
        return ok && copy_text(fact->subject, out->key, sizeof out->key);
    }
    CHECK(false);
    return false;
}

static const char *list_at(const Reading *reading, Take take)
{
    size_t start = reading->starts[take - TAKE_LINES];
    return start == 0 ? NULL : reading->lists->bytes + start - 1;
}

bool rec_event_of(const RecFact *fact, Text *lists, RecEvent *out, bool *is_event, Err *err)
{
    int kind = 0;
    while (kind < REC_EVENT_KIND_COUNT && strcmp(kinds[kind].name, fact->kind) != 0) {
        kind++;
    }
    *out = (RecEvent){0};
    *is_event = kind < REC_EVENT_KIND_COUNT;
    if (!*is_event) return true;
    Reading reading = {.out = out, .lists = lists};
    out->kind = (RecEventKind)kind;
    if (out->kind == REC_EVENT_RUN) out->verdict = REC_RUN_NOT_YET; /* when it says none */
    lists->len = 0;
    if (!copy_plain(fact, out) || !take_fields(&reading, fact->value)) {
        return err_set(err, ERR_DAMAGE, "the fact of entry %lld (%.8s...) is not well-formed",
                       (long long)fact->number, fact->hash);
    }
    /* Only now, for the bytes may have moved. */
    out->lines = list_at(&reading, TAKE_LINES);
    out->products = list_at(&reading, TAKE_PRODUCTS);
    out->checks = list_at(&reading, TAKE_CHECKS);
    out->evidence = list_at(&reading, TAKE_EVIDENCE);
    return true;
}

typedef struct {
    RecEventSet *set;
    Text lists;
} Gathering;

static bool add_fact(void *context, const RecFact *fact, Err *err)
{
    Gathering *gathering = context;
    RecEvent event;
    bool is_event = false;
    if (!rec_event_of(fact, &gathering->lists, &event, &is_event, err)) return false;
    return !is_event || rec_event_set_add(gathering->set, &event, err);
}

bool rec_events_read(Records *records, const char *person, RecEventSet **out, Err *err)
{
    Gathering gathering = {.set = rec_event_set_new()};
    bool ok = rec_facts(records, person, NULL, add_fact, &gathering, err);
    if (person != NULL) { /* who judged the person, with what roles and keys */
        ok = ok && rec_facts(records, NULL, "role", add_fact, &gathering, err) &&
             rec_facts(records, NULL, "key", add_fact, &gathering, err);
    }
    text_clear(&gathering.lists);
    if (!ok) {
        rec_event_set_free(gathering.set);
        return false;
    }
    rec_event_set_seal(gathering.set);
    *out = gathering.set;
    return true;
}
