/* First start, people, roles, leavers, and the moment at which somebody is judged. */
#include "app/people.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "records/event_of.h"
#include "records/stamp.h"
#include "scenario/suggest.h"

/* --- Roles ----------------------------------------------------------------------------------- */

typedef struct {
    const char *role;
    bool has;
} RoleSearch;

static bool take_role(void *context, const RecFact *fact, Err *err)
{
    RoleSearch *search = context;
    Text lists = {0};
    RecEvent event;
    bool is_event = false;
    bool ok = rec_event_of(fact, &lists, &event, &is_event, err);
    if (ok && strcmp(event.subject, search->role) == 0) search->has = event.is_good;
    text_clear(&lists);
    return ok;
}

bool people_has_role(Records *records, const char *person, const char *role, bool *has, Err *err)
{
    RoleSearch search = {.role = role};
    if (!rec_facts(records, person, "role", take_role, &search, err)) return false;
    *has = search.has;
    return true;
}

/* ERR_INPUT unless the person has one of two roles. */
static bool want_role(Records *records, const char *person, const char *one, const char *two,
                      Err *err)
{
    bool has_one = false;
    bool has_two = false;
    if (!people_has_role(records, person, one, &has_one, err) ||
        !people_has_role(records, person, two, &has_two, err))
        return false;
    return has_one || has_two || err_set(err, ERR_INPUT, "the author is no %s or %s", one, two);
}

bool people_set_role(Records *records, const char *author, const char *person, const char *role,
                     bool given, Err *err)
{
    bool has = false;
    RecNew what = {
        .kind = REC_KIND_ROLE, .author = author, .person = person, .word = role, .is_yes = given};
    if (!people_has_role(records, person, role, &has, err)) return false;
    if (has == given) {
        return err_set(err, ERR_INPUT, "the person %s \"%s\" %s",
                       given ? "has the role" : "has no role", role,
                       given ? "already" : "that could be taken");
    }
    return rec_add(records, &what, NULL, err);
}

bool people_assign(Records *records, const char *author, const char *person,
                   const Competence *competence, const char *buddy, Err *err)
{
    RecNew what = {.kind = REC_KIND_ASSIGNMENT,
                   .author = author,
                   .person = person,
                   .competence = competence->id,
                   .buddy = buddy};
    return rec_add(records, &what, NULL, err);
}

/* --- People ---------------------------------------------------------------------------------- */

bool people_find(Records *records, const char *name, char person[REC_ID_BYTES], Err *err)
{
    RecPerson *people = NULL;
    size_t count = 0;
    bool found = false;
    if (!rec_people(records, &people, &count, err)) return false;
    const char **names = check_calloc(count + 1, sizeof *names);
    for (size_t i = 0; i < count; i++) {
        names[i] = text_string(&people[i].name);
        if (people[i].name.len == 0 || strcmp(names[i], name) != 0) continue;
        memcpy(person, people[i].id, REC_ID_BYTES);
        found = true;
    }
    const char *near = found ? NULL : suggest_word(name, names);
    if (!found) {
        (void)err_set(err, ERR_INPUT, "nobody here is called \"%s\"%s%s%s", name,
                      near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                      near == NULL ? "" : "\"?");
    }
    free(names);
    rec_people_free(people, count);
    return found;
}

bool people_add(Records *records, const char *author, const char *name, char person[REC_ID_BYTES],
                Err *err)
{
    return want_role(records, author, "supervisor", "trainer", err) &&
           rec_person_add(records, name, person, err);
}

/* --- First start ----------------------------------------------------------------------------- */

static bool note_supervisor(void *context, const RecFact *fact, Err *err)
{
    bool *has = context;
    (void)err;
    if (strcmp(fact->subject, "supervisor") == 0) *has = true;
    return true;
}

bool people_start(const PeopleStart *start, Records **out, char person[REC_ID_BYTES],
                  char code[REC_RECOVERY_TEXT_BYTES], Err *err)
{
    Records *records = NULL;
    bool has = false;
    bool found = false;
    size_t len = strlen(start->name);
    if (len < 1 || len > REC_NAME_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "the name has %zu bytes, limit 1..%d", len,
                       REC_NAME_BYTES_MAX);
    }
    if (!text_is_utf8(start->name, len, NULL)) {
        return err_set(err, ERR_INPUT, "the name is not UTF-8");
    }
    if (!rec_passphrase_fits(start->passphrase, start->name, err) ||
        !rec_open(start->folder, REC_CREATE, start->program, start->outside, &records, err))
        return false;
    bool ok = rec_facts(records, NULL, "role", note_supervisor, &has, err);
    if (ok && has) {
        ok = err_set(err, ERR_INPUT, "%s: has a supervisor already, who adds people from now on",
                     start->folder);
    }
    ok = ok && rec_person_find(records, start->name, person, &found, err) &&
         (found || rec_person_add(records, start->name, person, err)) &&
         people_make_key(records, person, person, start->passphrase, code, err) &&
         people_set_role(records, "station", person, "supervisor", true, err);
    if (ok)
        *out = records;
    else
        rec_close(records);
    return ok;
}

/* --- Leavers --------------------------------------------------------------------------------- */

enum { TEXTS_MAX = 10000 }; /* of one person, erased in one go */

typedef struct {
    RecHash *commitments;
    size_t count;
} Leaving;

/* Note what is veiled in a fact; but who signed a paper was somebody else. */
static bool take_veiled(void *context, const RecFact *fact, Err *err)
{
    static const char *const keys[] = {"name", "remark", "text"};
    Leaving *leaving = context;
    JsonDoc *doc = NULL;
    bool ok = true;
    if (!json_parse("fact", fact->value, strlen(fact->value), &doc, err)) return false;
    for (size_t i = 0; i < sizeof keys / sizeof keys[0] && ok; i++) {
        const JsonValue *value = json_get(json_root(doc), keys[i]);
        const char *hex =
            value != NULL && json_kind(value) == JSON_STRING ? json_string(value) : "";
        if (strlen(hex) != REC_HEX_BYTES - 1) continue;
        if (leaving->count == TEXTS_MAX) {
            ok = err_set(err, ERR_RANGE, "more than %d texts speak of the person", TEXTS_MAX);
            break;
        }
        memcpy(leaving->commitments[leaving->count++].hex, hex, REC_HEX_BYTES);
    }
    json_free(doc);
    return ok;
}

/* Texts one by one, each with its own entry: what a power cut leaves is taken up by the next
 * call. */
static bool erase_texts(Records *records, const char *author, const char *reason,
                        const Leaving *leaving, size_t *count, Err *err)
{
    for (size_t i = 0; i < leaving->count; i++) {
        Text text = {0};
        bool there = false;
        bool ok = rec_text(records, leaving->commitments[i].hex, &text, &there, err);
        text_clear(&text);
        if (ok && there) {
            ok = rec_erase(records, author, leaving->commitments[i].hex, reason, NULL, err);
            if (ok) ++*count;
        }
        if (!ok) return false;
    }
    return true;
}

bool people_erase(Records *records, const char *author, const char *person, const char *reason,
                  size_t *count, Err *err)
{
    static const char *const secrets[] = {"pin", "key", "recovery"};
    Leaving leaving = {0};
    *count = 0;
    if (strcmp(author, person) == 0) {
        return err_set(err, ERR_INPUT, "nobody erases themselves: somebody else has to");
    }
    if (!want_role(records, author, "supervisor", "quality", err)) return false;
    leaving.commitments = check_calloc(TEXTS_MAX, sizeof *leaving.commitments);
    bool ok = rec_facts(records, person, NULL, take_veiled, &leaving, err) &&
              erase_texts(records, author, reason, &leaving, count, err);
    for (size_t i = 0; i < sizeof secrets / sizeof secrets[0]; i++) {
        ok = ok && rec_secret_write(records, person, secrets[i], NULL, err);
    }
    free(leaving.commitments);
    return ok;
}

/* --- Where they stand ------------------------------------------------------------------------ */

bool people_view(Records *records, const char *person, PeopleView *out, Err *err)
{
    PeopleView view = {0};
    size_t count = 0;
    int64_t last_us = 0;
    int64_t wall_us = 0;
    int64_t uptime_us = 0;
    if (!rec_heads(records, &view.heads, &count, err)) return false;
    view.ends = check_calloc(count + 1, sizeof *view.ends);
    for (size_t i = 0; i < count; i++) {
        int64_t time_us = 0;
        CHECK(rec_stamp_read(view.heads[i].time, &time_us));
        last_us = rec_moment_us(time_us, last_us);
        if (strcmp(view.heads[i].station, rec_station(records)) == 0) continue;
        view.ends[view.moment.end_count++] = (RecStationEnd){view.heads[i].station, time_us};
    }
    rec_now(records, &wall_us, &uptime_us);
    view.moment.ends = view.ends;
    view.moment.as_of_us = rec_moment_us(wall_us, last_us);
    if (!rec_events_read(records, person, &view.set, err)) {
        people_view_clear(&view);
        return false;
    }
    *out = view;
    return true;
}

void people_view_clear(PeopleView *view)
{
    rec_event_set_free(view->set);
    free(view->heads);
    free(view->ends);
    *view = (PeopleView){0};
}
