/* Who may add what. */
#include "records/rules.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char NO_KEY[REC_HEX_BYTES] =
    "0000000000000000000000000000000000000000000000000000000000000000";

/* --- What a station knew --------------------------------------------------------------------- */

/* A place in a chain: what was known there is what stands before it, and what was imported. */
typedef struct {
    RecStore *store;
    const char *station;
    RecNumber number;
} Place;

typedef struct {
    const Place *place;
    const char *station;
    RecNumber number;
    bool knows;
} Imports;

static bool look_at_import(void *context, const RecFact *fact, Err *err)
{
    Imports *imports = context;
    JsonDoc *doc = NULL;
    if (strcmp(fact->station, imports->place->station) != 0) return true;
    if (fact->number >= imports->place->number) return true;
    if (!json_parse("import", fact->value, strlen(fact->value), &doc, err)) return false;
    const JsonValue *stations = json_get(json_root(doc), "stations");
    for (size_t i = 0; stations != NULL && i < json_count(stations); i++) {
        const JsonValue *head = json_at(stations, i);
        int64_t number = 0;
        if (strcmp(json_string(json_get(head, "station")), imports->station) != 0) continue;
        if (!json_is_integer(json_get(head, "number"), &number)) continue;
        if (number >= imports->number) imports->knows = true;
    }
    json_free(doc);
    return true;
}

/* Does the place know the entry `number` of `station`? */
static bool knows(const Place *place, const char *station, RecNumber number, bool *out, Err *err)
{
    const RecFactQuery query = {.kind = rec_kind_names[REC_KIND_IMPORT]};
    Imports imports = {.place = place, .station = station, .number = number};
    *out = number < place->number;
    if (strcmp(station, place->station) == 0) return true;
    if (!rec_store_facts(place->store, &query, look_at_import, &imports, err)) return false;
    *out = imports.knows;
    return true;
}

/* A fact kept beyond its walk. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    char hash[REC_HEX_BYTES];
    char kind[24];
    char author[REC_ID_BYTES];
    char person[REC_ID_BYTES];
    char subject[REC_HEX_BYTES];
    bool is_given; /* of a role */
} Kept;

typedef struct {
    const Place *place;
    const char *subject; /* NULL: any */
    Kept *items;
    size_t count;
} KeptList;

static bool keep_fact(void *context, const RecFact *fact, Err *err)
{
    KeptList *list = context;
    bool is_known = false;
    if (list->subject != NULL && strcmp(fact->subject, list->subject) != 0) return true;
    if (!knows(list->place, fact->station, fact->number, &is_known, err)) return false;
    if (!is_known) return true;
    list->items = check_realloc(list->items, list->count + 1, sizeof *list->items);
    Kept *kept = &list->items[list->count++];
    *kept = (Kept){.number = fact->number};
    (void)snprintf(kept->station, sizeof kept->station, "%s", fact->station);
    (void)snprintf(kept->hash, sizeof kept->hash, "%s", fact->hash);
    (void)snprintf(kept->kind, sizeof kept->kind, "%s", fact->kind);
    (void)snprintf(kept->author, sizeof kept->author, "%s", fact->author);
    (void)snprintf(kept->person, sizeof kept->person, "%s", fact->person);
    (void)snprintf(kept->subject, sizeof kept->subject, "%s", fact->subject);
    kept->is_given = strstr(fact->value, "\"given\":true") != NULL;
    return true;
}

/* All that the place knows of a person (NULL: of anybody), kind and subject; the caller frees the
 * items, also on false. */
static bool keep_facts(const Place *place, const char *person, RecKind kind, const char *subject,
                       KeptList *list, Err *err)
{
    const RecFactQuery query = {.person = person, .kind = rec_kind_names[kind]};
    *list = (KeptList){.place = place, .subject = subject};
    return rec_store_facts(place->store, &query, keep_fact, list, err);
}

/* Is there such a fact? */
static bool is_known(const Place *place, const char *person, RecKind kind, const char *subject,
                     bool *out, Err *err)
{
    KeptList list;
    bool ok = keep_facts(place, person, kind, subject, &list, err);
    *out = list.count > 0;
    free(list.items);
    return ok;
}

/* The entry of that hash; count 0 when the place does not know it. */
static bool find_entry(const Place *place, const char *hash, Kept *out, bool *found, Err *err)
{
    const RecFactQuery query = {.hash = hash};
    KeptList list = {.place = place};
    bool ok = rec_store_facts(place->store, &query, keep_fact, &list, err);
    *found = ok && list.count > 0;
    if (*found) *out = list.items[0];
    free(list.items);
    return ok;
}

/* Leave only what no other fact in the list took the place of: none that was written where it was
 * known. */
static bool keep_latest(RecStore *store, KeptList *list, Err *err)
{
    size_t kept = 0;
    bool *is_past = check_calloc(list->count + 1, sizeof *is_past);
    bool ok = true;
    for (size_t i = 0; ok && i < list->count; i++) {
        for (size_t j = 0; ok && !is_past[i] && j < list->count; j++) {
            const Place later = {store, list->items[j].station, list->items[j].number};
            if (i == j) continue;
            ok = knows(&later, list->items[i].station, list->items[i].number, &is_past[i], err);
        }
    }
    for (size_t i = 0; ok && i < list->count; i++) {
        if (!is_past[i]) list->items[kept++] = list->items[i];
    }
    if (ok) list->count = kept;
    free(is_past);
    return ok;
}

static bool has_role(const Place *place, const char *person, const char *role, bool *has, Err *err)
{
    KeptList list;
    bool ok = keep_facts(place, person, REC_KIND_ROLE, role, &list, err) &&
              keep_latest(place->store, &list, err);
    *has = false;
    for (size_t i = 0; ok && i < list.count; i++) {
        if (list.items[i].is_given) *has = true;
    }
    free(list.items);
    return ok;
}

bool rec_rules_has_role(RecStore *store, const char *station, RecNumber number, const char *person,
                        const char *role, bool *has, Err *err)
{
    const Place place = {store, station, number};
    return has_role(&place, person, role, has, err);
}

bool rec_rules_whom(RecStore *store, const char *station, RecNumber number, const char *about,
                    char person[REC_ID_BYTES], bool *found, Err *err)
{
    const Place place = {store, station, number};
    Kept kept = {0};
    bool ok = find_entry(&place, about, &kept, found, err);
    memcpy(person, kept.person, REC_ID_BYTES);
    return ok;
}

/* --- Rules ----------------------------------------------------------------------------------- */

typedef struct {
    Place place;
    const RecEntry *entry;
    const char *author;
    const char *person; /* in the body */
    bool is_station;
    Kept about; /* what the body's "about" names */
} Act;

static bool forbid(Err *err, const char *format, ...) PRINTF_LIKE(2, 3);
static bool forbid(Err *err, const char *format, ...)
{
    char said[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(said, sizeof said, format, args);
    va_end(args);
    return err_set(err, ERR_INPUT, "%s", said);
}

static const char *text_of(const Act *act, const char *key)
{
    return rec_body_text(act->entry, key);
}

static bool bool_of(const Act *act, const char *key)
{
    return rec_body_bool(act->entry, key);
}

/* `person` has one of two roles; `what` says who they are in the message. */
static bool need_role(const Act *act, const char *person, const char *what, const char *role,
                      const char *other, Err *err)
{
    bool has = false;
    if (!has_role(&act->place, person, role, &has, err)) return false;
    if (!has && other != NULL && !has_role(&act->place, person, other, &has, err)) return false;
    if (has) return true;
    return forbid(err, "%s is no %s%s%s", what, role, other == NULL ? "" : " or ",
                  other == NULL ? "" : other);
}

static bool need_judge(const Act *act, Err *err)
{
    if (strcmp(act->author, act->person) == 0) {
        return forbid(err, "nobody judges or signs for themselves");
    }
    return need_role(act, act->author, "the author", "assessor", "supervisor", err);
}

static bool need_supervisor(const Act *act, Err *err)
{
    return need_role(act, act->author, "the author", "supervisor", NULL, err);
}

static bool need_person(const Act *act, const char *id, const char *what, Err *err)
{
    bool found = false;
    if (!is_known(&act->place, id, REC_KIND_PERSON, NULL, &found, err)) return false;
    return found || forbid(err, "%s is %s, who is not in the entries before", what, id);
}

/* A buddy or who supervises: "" or another person. */
static bool need_other(const Act *act, const char *key, const char *than, Err *err)
{
    const char *id = text_of(act, key);
    if (id[0] == '\0') return true;
    if (strcmp(id, than) == 0) return forbid(err, "%s is the person", key);
    return need_person(act, id, key, err);
}

/* The body's own signature is the author's, by the key that is theirs at this place. */
static bool need_signature(const Act *act, Err *err)
{
    KeptList keys;
    Text message = {0};
    unsigned char key[REC_KEY_BYTES];
    unsigned char signature[REC_SIGNATURE_BYTES];
    const char *hex = text_of(act, "key");
    const char *signed_hex = text_of(act, "signature");
    bool is_theirs = false;
    bool ok = keep_facts(&act->place, act->author, REC_KIND_KEY, NULL, &keys, err) &&
              keep_latest(act->place.store, &keys, err);
    for (size_t i = 0; ok && i < keys.count; i++) {
        if (strcmp(keys.items[i].subject, hex) == 0) is_theirs = true;
    }
    if (ok && (!is_theirs || strcmp(hex, NO_KEY) == 0)) {
        ok = forbid(err, "the key %.12s... is not the author's at this place", hex);
    }
    ok = ok && rec_message_print(act->author, act->entry->body, act->entry->kind_code,
                                 act->entry->station, &message, err);
    CHECK(!ok || (rec_hex_read(hex, strlen(hex), key, sizeof key) &&
                  rec_hex_read(signed_hex, strlen(signed_hex), signature, sizeof signature)));
    if (ok && !rec_ed25519_verify(key, message.bytes, message.len, signature)) {
        ok = forbid(err, "its signature is not the author's");
    }
    text_clear(&message);
    free(keys.items);
    return ok;
}

static bool check_role(const Act *act, Err *err)
{
    bool is_supervisor = strcmp(text_of(act, "role"), "supervisor") == 0;
    bool has_any = false;
    if (act->is_station) {
        if (!is_known(&act->place, NULL, REC_KIND_ROLE, "supervisor", &has_any, err)) return false;
        if (is_supervisor && bool_of(act, "given") && !has_any) return true;
        return forbid(err, "the station gives a role to nobody but the first supervisor");
    }
    if (!need_supervisor(act, err)) return false;
    if (is_supervisor && !bool_of(act, "given") && strcmp(act->author, act->person) == 0) {
        return forbid(err, "no supervisor takes that role from themselves");
    }
    return true;
}

static bool check_key(const Act *act, Err *err)
{
    const char *why = text_of(act, "why");
    bool is_own = strcmp(act->author, act->person) == 0;
    bool is_lost = strcmp(why, "lost") == 0;
    bool has_one = false;
    if (!is_known(&act->place, act->person, REC_KIND_KEY, NULL, &has_one, err)) return false;
    if (is_lost != (strcmp(text_of(act, "public"), NO_KEY) == 0)) {
        return forbid(err, "a lost key, and only that, is written as zeros");
    }
    if ((strcmp(why, "first") == 0) == has_one) {
        return forbid(err, has_one ? "the person has had a key already"
                                   : "the person has had no key yet");
    }
    if (strcmp(why, "reissued") == 0 && is_own) {
        return forbid(err, "nobody reissues a key to themselves");
    }
    if (strcmp(why, "reissued") == 0) return need_supervisor(act, err);
    if (is_own) return true;
    if (is_lost) return need_supervisor(act, err);
    return forbid(err, "the key is set by another person");
}

static bool check_run(const Act *act, Err *err)
{
    const char *by = text_of(act, "supervised_by");
    if (act->is_station) return forbid(err, "a run names no person");
    if (by[0] == '\0') return true;
    return need_other(act, "supervised_by", act->author, err) &&
           need_role(act, by, "supervised_by", "assessor", "supervisor", err);
}

/* Was the entry voided, or withdrawn, before? */
static bool is_undone(const Act *act, const Kept *entry, RecKind by, bool *out, Err *err)
{
    return is_known(&act->place, entry->person, by, entry->hash, out, err);
}

static bool check_void(const Act *act, Err *err)
{
    bool is_void = false;
    if (strcmp(act->about.kind, "run") != 0) {
        return forbid(err, "only a run can be void, not a %s", act->about.kind);
    }
    if (!is_undone(act, &act->about, REC_KIND_VOID, &is_void, err)) return false;
    if (is_void) return forbid(err, "the run is void already");
    return need_judge(act, err);
}

static bool check_observation(const Act *act, Err *err)
{
    if (!rec_body_has_items(act->entry, "answers")) {
        return forbid(err, "an observation without answers");
    }
    return need_judge(act, err);
}

static bool check_evidence(const Act *act, const char *hash, Err *err)
{
    Kept kept = {0};
    bool found = false;
    bool is_void = false;
    if (!find_entry(&act->place, hash, &kept, &found, err)) return false;
    if (!found) return forbid(err, "evidence %.12s... is no entry before it", hash);
    bool is_run = strcmp(kept.kind, "run") == 0;
    if (!is_run && strcmp(kept.kind, "observation") != 0) {
        return forbid(err, "evidence %.12s... is a %s", hash, kept.kind);
    }
    if (strcmp(kept.person, act->person) != 0) {
        return forbid(err, "evidence %.12s... is about another person", hash);
    }
    if (!is_run && strcmp(kept.subject, text_of(act, "competence")) != 0) {
        return forbid(err, "evidence %.12s... is about another competence", hash);
    }
    if (!is_undone(act, &kept, REC_KIND_VOID, &is_void, err)) return false;
    return !is_void || forbid(err, "evidence %.12s... is void", hash);
}

static bool check_signature(const Act *act, Err *err)
{
    const RecEntry *entry = act->entry;
    const JsonValue *evidence = json_get(entry->body, "evidence");
    const JsonValue *head = json_get(entry->body, "head");
    const char *decision = text_of(act, "decision");
    int64_t number = 0;
    if (!need_judge(act, err) || !need_other(act, "buddy", act->person, err)) return false;
    if ((strcmp(decision, "with-buddy") == 0) != (text_of(act, "buddy")[0] != '\0')) {
        return forbid(err, "a buddy is named with the decision with-buddy, and only then");
    }
    if (strcmp(decision, "refused") != 0 && json_count(evidence) == 0) {
        return forbid(err, "signed without evidence");
    }
    for (size_t i = 0; i < json_count(evidence); i++) {
        if (!check_evidence(act, json_string(json_at(evidence, i)), err)) return false;
    }
    if (!json_is_integer(json_get(head, "number"), &number) || number != entry->number - 1 ||
        strcmp(json_string(json_get(head, "hash")), entry->previous) != 0) {
        return forbid(err, "the head it was signed at is not the entry before it");
    }
    return need_signature(act, err);
}

static bool check_acknowledgement(const Act *act, Err *err)
{
    static const RecKind kinds[] = {REC_KIND_SIGNATURE, REC_KIND_WITHDRAWAL, REC_KIND_OBSERVATION,
                                    REC_KIND_PAPER};
    bool is_such = false;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(act->about.kind, rec_kind_names[kinds[i]]) == 0) is_such = true;
    }
    if (!is_such) return forbid(err, "a %s is not acknowledged", act->about.kind);
    return strcmp(act->author, act->person) == 0 ||
           forbid(err, "only the person acknowledges what is about them");
}

static bool check_withdrawal(const Act *act, Err *err)
{
    bool is_withdrawn = false;
    if (strcmp(act->about.kind, "signature") != 0 && strcmp(act->about.kind, "paper") != 0) {
        return forbid(err, "only a signature or paper is withdrawn, not a %s", act->about.kind);
    }
    if (!is_undone(act, &act->about, REC_KIND_WITHDRAWAL, &is_withdrawn, err)) return false;
    if (is_withdrawn) return forbid(err, "it is withdrawn already");
    return need_judge(act, err) && need_signature(act, err);
}

static bool check_erasure(const Act *act, Err *err)
{
    return act->is_station ||
           need_role(act, act->author, "the author", "supervisor", "quality", err);
}

static bool check_station_key(const Act *act, Err *err)
{
    Text message = {0};
    char hex[REC_HEX_BYTES] = "";
    unsigned char key[REC_KEY_BYTES];
    unsigned char signature[REC_SIGNATURE_BYTES];
    const char *signed_hex = text_of(act, "old_signature");
    KeptList keys;
    if (!need_supervisor(act, err) || !need_signature(act, err)) return false;
    RecNumber latest = 0;
    bool ok = true;
    for (int i = 0; ok && i < 2; i++) {
        ok = keep_facts(&act->place, NULL, i == 0 ? REC_KIND_STORE : REC_KIND_STATION_KEY, NULL,
                        &keys, err);
        for (size_t j = 0; ok && j < keys.count; j++) {
            const Kept *kept = &keys.items[j];
            if (strcmp(kept->station, act->place.station) != 0 || kept->number <= latest) continue;
            latest = kept->number;
            memcpy(hex, kept->subject, sizeof hex);
        }
        free(keys.items);
    }
    ok = ok && rec_message_print(act->author, act->entry->body, REC_KIND_STATION_KEY,
                                 act->entry->station, &message, err);
    if (ok && !(rec_hex_read(hex, strlen(hex), key, sizeof key) &&
                rec_hex_read(signed_hex, strlen(signed_hex), signature, sizeof signature) &&
                rec_ed25519_verify(key, message.bytes, message.len, signature))) {
        ok = forbid(err, "it is not signed with the station's old key");
    }
    text_clear(&message);
    return ok;
}

/* What only the station writes, and what only a person does. */
static bool check_station(const Act *act, bool by_station, Err *err)
{
    if (act->is_station == by_station) return true;
    return forbid(err, "a %s is written by %s", act->entry->kind,
                  by_station ? "the station alone" : "a person");
}

static bool check_kind(const Act *act, Err *err)
{
    bool found = false;
    switch (act->entry->kind_code) {
    case REC_KIND_STORE:
    case REC_KIND_START:
    case REC_KIND_ATTEMPT:
    case REC_KIND_IMPORT:
    case REC_KIND_FORK:
    case REC_KIND_CLOCK:
    case REC_KIND_RESTORE:
        return check_station(act, true, err);
    case REC_KIND_STATION_KEY:
        return check_station_key(act, err);
    case REC_KIND_PERSON:
        if (!is_known(&act->place, act->person, REC_KIND_PERSON, NULL, &found, err)) return false;
        return !found || forbid(err, "person %s was added before", act->person);
    case REC_KIND_ROLE:
        return check_role(act, err);
    case REC_KIND_KEY:
        return check_key(act, err);
    case REC_KIND_ASSIGNMENT:
        return need_role(act, act->author, "the author", "supervisor", "trainer", err) &&
               need_other(act, "buddy", act->person, err);
    case REC_KIND_RUN:
        return check_run(act, err);
    case REC_KIND_VOID:
        return check_void(act, err);
    case REC_KIND_OBSERVATION:
        return check_observation(act, err);
    case REC_KIND_SIGNATURE:
        return check_signature(act, err);
    case REC_KIND_ACKNOWLEDGEMENT:
        return check_acknowledgement(act, err);
    case REC_KIND_WITHDRAWAL:
        return check_withdrawal(act, err);
    case REC_KIND_CORRECTION:
        return check_station(act, false, err);
    case REC_KIND_REMARK:
        return true;
    case REC_KIND_PAPER:
        if (strcmp(act->author, act->person) == 0) {
            return forbid(err, "nobody judges or signs for themselves");
        }
        return need_supervisor(act, err);
    case REC_KIND_ERASURE:
        return check_erasure(act, err);
    case REC_KIND_COUNT:
        break;
    }
    CHECK(false);
    return false;
}

/* What the fields alone demand: that the people and the entries they name are there. */
static bool check_names(Act *act, Err *err)
{
    size_t count = 0;
    const RecField *fields = rec_fields(act->entry->kind_code, &count);
    for (size_t i = 0; i < count; i++) {
        const char *text = text_of(act, fields[i].key);
        if (fields[i].want == WANT_PERSON && act->entry->kind_code != REC_KIND_PERSON &&
            !need_person(act, text, fields[i].key, err)) {
            return false;
        }
        if (fields[i].want != WANT_ABOUT) continue;
        bool found = false;
        if (!find_entry(&act->place, text, &act->about, &found, err)) return false;
        if (!found) return forbid(err, "it is about %.12s..., which is no entry before it", text);
        if (strcmp(act->about.person, act->person) != 0) {
            return forbid(err, "what it is about is about another person");
        }
    }
    return true;
}

bool rec_rules_check(RecStore *store, const RecEntry *entry, Err *err)
{
    Act act = {.place = {store, entry->station, entry->number},
               .entry = entry,
               .author = entry->author,
               .person = rec_body_text(entry, "person"),
               .is_station = strcmp(entry->author, "station") == 0};
    if (!act.is_station && !need_person(&act, act.author, "the author", err)) return false;
    return check_names(&act, err) && check_kind(&act, err);
}
