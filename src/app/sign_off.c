/* Observations, signatures and what follows them. */
#include "app/sign_off.h"

#include <string.h>

#include "records/event_of.h"

enum { HASH_DIGITS_MIN = 8 };

/* --- Lines and days -------------------------------------------------------------------------- */

static bool has_line(const Competence *competence, const char *line)
{
    for (int i = 0; i < competence->line_count; i++) {
        if (strcmp(competence->lines[i], line) == 0) return true;
    }
    return false;
}

static bool want_line(const Competence *competence, const char *line, Err *err)
{
    return has_line(competence, line) ||
           err_set(err, ERR_INPUT, "line \"%s\" is none of the competence \"%s\"", line,
                   competence->id);
}

static bool want_day(const char *what, const char *text, int32_t *day, Err *err)
{
    return rec_day_read(text, strlen(text), day) ||
           err_set(err, ERR_INPUT, "%s is \"%s\", must be a day such as 2026-03-02", what, text);
}

/* --- Observations ---------------------------------------------------------------------------- */

/* The checklist as it was read. */
static void print_checklist(const Competence *competence, const char *language, Text *out)
{
    text_add(out, "[");
    for (int i = 0; i < competence->item_count; i++) {
        text_add(out, i == 0 ? "{\"id\":" : ",{\"id\":");
        text_add_quoted(out, competence->checklist[i].id);
        text_add(out, ",\"text\":");
        text_add_quoted(out, site_text(competence->checklist[i].text, language));
        text_add(out, "}");
    }
    text_add(out, "]");
}

static bool check_answers(const Observation *seen, Err *err)
{
    if (seen->answers.count != (size_t)seen->competence->item_count) {
        return err_set(err, ERR_INPUT, "%zu answers to a checklist of %d", seen->answers.count,
                       seen->competence->item_count);
    }
    for (size_t i = 0; seen->is_good && i < seen->answers.count; i++) {
        if (strcmp(seen->answers.items[i], "no") == 0) {
            return err_set(err, ERR_INPUT, "not good with a \"no\" to \"%s\"",
                           seen->competence->checklist[i].id);
        }
    }
    return true;
}

static bool check_seen_on(Records *records, const Observation *seen, Err *err)
{
    int32_t day = 0;
    int64_t wall_us = 0;
    int64_t uptime_us = 0;
    char today[REC_DAY_BYTES];
    rec_now(records, &wall_us, &uptime_us);
    rec_day_print(rec_day_of(wall_us), today);
    if (!want_day("the day", seen->seen_on, &day, err)) return false;
    return day <= rec_day_of(wall_us) ||
           err_set(err, ERR_INPUT, "seen on %s, and today is %s (UTC)", seen->seen_on, today);
}

bool sign_observe(Records *records, const Observation *seen, RecAdded *added, Err *err)
{
    Text checklist = {0};
    if (!want_line(seen->competence, seen->line, err) || !check_answers(seen, err) ||
        !check_seen_on(records, seen, err))
        return false;
    print_checklist(seen->competence, seen->language, &checklist);
    RecNew what = {.kind = REC_KIND_OBSERVATION,
                   .author = seen->author,
                   .person = seen->person,
                   .competence = seen->competence->id,
                   .line = seen->line,
                   .date = seen->seen_on,
                   .answers = seen->answers,
                   .sheet = seen->sheet,
                   .text = seen->remark,
                   .is_yes = seen->is_good,
                   .checklist = {NULL, text_string(&checklist), checklist.len},
                   .photo = seen->photo};
    bool ok = rec_add(records, &what, added, err);
    text_clear(&checklist);
    return ok;
}

/* --- Signatures ------------------------------------------------------------------------------ */

static const char *const decisions[] = {
    [REC_SIGNED] = "signed", [REC_WITH_BUDDY] = "with-buddy", [REC_REFUSED] = "refused"};

/* A hash that no entry has: of the signature that is tried out. */
static const char TRIED[] = "ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff";

/* What is known when a signature is tried out. */
typedef struct {
    const SignOff *what;
    PeopleView view;
    RecEvidence evidence[REC_EVIDENCE_MAX];
    const char *hashes[REC_EVIDENCE_MAX];
    size_t count;
    int32_t limit_day; /* as long as the evidence speaks; 0: there is none */
    Text words[4];     /* lines, products, checks, evidence, with blanks between */
} Trial;

static bool check_scope(const SignOff *what, Err *err)
{
    for (size_t i = 0; i < what->lines.count; i++) {
        if (!want_line(what->competence, what->lines.items[i], err)) return false;
    }
    for (size_t i = 0; i < what->products.count; i++) {
        if (site_find_product(what->site, what->products.items[i]) >= 0) continue;
        return err_set(err, ERR_INPUT, "the site has no product \"%s\"", what->products.items[i]);
    }
    return true;
}

static bool want_supervisor(Records *records, const char *person, Err *err)
{
    bool has = false;
    if (!people_has_role(records, person, "supervisor", &has, err)) return false;
    return has || err_set(err, ERR_INPUT, "who signs is no supervisor");
}

static void join(const RecList *list, Text *out)
{
    for (size_t i = 0; i < list->count; i++) {
        text_addf(out, "%s%s", i == 0 ? "" : " ", list->items[i]);
    }
}

/* The evidence, and until when it speaks: a year, or what the rules say, from the older of the
 * newest run and the newest observation. */
static void find_evidence(Trial *trial)
{
    int32_t days[REC_EVENT_KIND_COUNT] = {0};
    const SignOff *what = trial->what;
    trial->count = rec_evidence(trial->view.set, what->competence, what->person,
                                &trial->view.moment, trial->evidence);
    for (size_t i = 0; i < trial->count; i++) {
        const RecEvidence *evidence = &trial->evidence[i];
        trial->hashes[i] = evidence->hash;
        if (evidence->day > days[evidence->kind]) days[evidence->kind] = evidence->day;
    }
    int32_t run = days[REC_EVENT_RUN];
    int32_t seen = days[REC_EVENT_OBSERVATION];
    int32_t day = run == 0 || (seen != 0 && seen < run) ? seen : run;
    if (day != 0) trial->limit_day = rec_day_add_months(day, what->competence->rules.valid_months);
}

/* The day until which it is signed; today where nothing is. */
static bool find_until(const Trial *trial, char out[REC_DAY_BYTES], Err *err)
{
    int32_t limit = trial->limit_day;
    int32_t day = 0;
    char text[REC_DAY_BYTES];
    if (limit == 0) limit = rec_day_of(trial->view.moment.as_of_us);
    rec_day_print(limit, text);
    if (trial->what->good_until == NULL) {
        memcpy(out, text, sizeof text);
        return true;
    }
    if (!want_day("the date", trial->what->good_until, &day, err)) return false;
    if (trial->limit_day != 0 && day > limit) {
        return err_set(err, ERR_RANGE, "good until %s, limit %s: so long the evidence speaks",
                       trial->what->good_until, text);
    }
    rec_day_print(day, out);
    return true;
}

/* --- The statement --------------------------------------------------------------------------- */

static const char *word_of(const SignOff *what, const char *key)
{
    return texts_get(what->texts, "signing", key);
}

static void add_line(const SignOff *what, const char *key, const char *value, Text *out)
{
    text_addf(out, "%s: %s\n", word_of(what, key), value);
}

static void add_scope(const SignOff *what, const char *key, const Text *words, Text *out)
{
    add_line(what, key, words->len == 0 ? word_of(what, "all") : words->bytes, out);
}

static void add_evidence(const SignOff *what, const RecEvidence *evidence, Text *out)
{
    char day[REC_DAY_BYTES];
    rec_day_print(evidence->day, day);
    text_addf(out, "  %s  %s %s, %s %s (%.8s)\n", day,
              word_of(what, evidence->kind == REC_EVENT_RUN ? "run" : "observation"),
              evidence->subject, word_of(what, "by"), evidence->by, evidence->hash);
}

static const char *meaning_of(const SignOff *what)
{
    static const char *const keys[] = {[REC_SIGNED] = "meaning",
                                       [REC_WITH_BUDDY] = "meaning-buddy",
                                       [REC_REFUSED] = "meaning-refused"};
    return what->meaning == NULL ? word_of(what, keys[what->decision]) : what->meaning;
}

/* It stays for ever, so people stand in it by their ids. */
static void print_statement(const Trial *trial, const char *until, Text *out)
{
    const SignOff *what = trial->what;
    Text title = {0};
    text_addf(&title, "%s (%s)", site_text(what->competence->title, what->language),
              what->competence->id);
    add_line(what, "decision", word_of(what, decisions[what->decision]), out);
    add_line(what, "competence", title.bytes, out);
    add_line(what, "person", what->person, out);
    add_line(what, "signer", what->signer, out);
    add_scope(what, "lines", &trial->words[0], out);
    add_scope(what, "products", &trial->words[1], out);
    add_scope(what, "checks", &trial->words[2], out);
    if (what->decision == REC_WITH_BUDDY) add_line(what, "buddy", what->buddy, out);
    if (what->decision != REC_REFUSED) add_line(what, "good-until", until, out);
    text_addf(out, "%s:\n", word_of(what, "evidence"));
    for (size_t i = 0; i < trial->count; i++) {
        add_evidence(what, &trial->evidence[i], out);
    }
    if (trial->count == 0) text_addf(out, "  %s\n", word_of(what, "none"));
    add_line(what, "means", meaning_of(what), out);
    text_addf(out, "%s\n", word_of(what, "caution"));
    text_clear(&title);
}

/* --- Trying it out --------------------------------------------------------------------------- */

static bool take_key(void *context, const RecFact *fact, Err *err)
{
    char *key = context;
    (void)err;
    if (strlen(fact->subject) == REC_HEX_BYTES - 1) memcpy(key, fact->subject, REC_HEX_BYTES);
    return true;
}

/* The signer's key: of the seed, or the last that is known. */
static bool find_key(Records *records, const SignOff *what, char key[REC_HEX_BYTES], Err *err)
{
    unsigned char public_key[REC_KEY_BYTES];
    key[0] = '\0';
    if (what->seed == NULL) return rec_facts(records, what->signer, "key", take_key, key, err);
    rec_key_from_seed(what->seed, public_key);
    rec_hex_print(public_key, sizeof public_key, key);
    return true;
}

static void copy(const char *text, char *out, size_t size)
{
    size_t len = strlen(text);
    CHECK(len < size);
    memcpy(out, text, len + 1);
}

static void add_reasons(const RecStanding *standing, const char *hash, SignOffAnswer *answer)
{
    for (int i = 0; i < standing->reason_count; i++) {
        RecReason reason = standing->reasons[i];
        bool is_refusing = reason.why >= REC_WHY_SIGNED_FOR_SELF && reason.why <= REC_WHY_NO_LINE;
        if (hash != NULL && (!is_refusing || strcmp(reason.hash, hash) != 0)) continue;
        reason.hash = "";
        answer->reasons[answer->reason_count++] = reason;
    }
}

/* The event of the signature, as the ledger would give it. */
static bool tried_event(Records *records, const Trial *trial, const char *until, RecEvent *out,
                        Err *err)
{
    const SignOff *what = trial->what;
    *out = (RecEvent){.number = INT64_MAX,
                      .time_us = trial->view.moment.as_of_us,
                      .kind = REC_EVENT_SIGNATURE,
                      .decision = what->decision,
                      .lines = text_string(&trial->words[0]),
                      .products = text_string(&trial->words[1]),
                      .checks = text_string(&trial->words[2]),
                      .evidence = text_string(&trial->words[3])};
    copy(rec_station(records), out->station, sizeof out->station);
    copy(TRIED, out->hash, sizeof out->hash);
    copy(what->person, out->person, sizeof out->person);
    copy(what->signer, out->author, sizeof out->author);
    copy(what->buddy, out->other, sizeof out->other);
    copy(what->competence->id, out->subject, sizeof out->subject);
    CHECK(rec_day_read(until, strlen(until), &out->until_day));
    return find_key(records, what, out->key, err);
}

/* Would it count? */
static bool try_out(Records *records, const Trial *trial, SignOffAnswer *answer, Err *err)
{
    const SignOff *what = trial->what;
    RecEvent event;
    RecStanding standing;
    RecEventSet *set = rec_event_set_new();
    bool ok = tried_event(records, trial, answer->good_until, &event, err) &&
              rec_events_add(records, what->person, set, err) &&
              rec_event_set_add(set, &event, err);
    if (ok) {
        rec_event_set_seal(set);
        rec_standing(set, what->competence, what->person, &trial->view.moment, &standing);
        add_reasons(&standing, TRIED, answer);
        answer->counts = answer->reason_count == 0;
    }
    if (ok && !answer->counts) {
        rec_standing(trial->view.set, what->competence, what->person, &trial->view.moment,
                     &standing);
        add_reasons(&standing, NULL, answer);
    }
    rec_event_set_free(set);
    return ok;
}

static bool sign(Records *records, const Trial *trial, SignOffAnswer *answer, Err *err)
{
    const SignOff *what = trial->what;
    RecNew entry = {.kind = REC_KIND_SIGNATURE,
                    .author = what->signer,
                    .person = what->person,
                    .competence = what->competence->id,
                    .word = decisions[what->decision],
                    .lines = what->lines,
                    .products = what->products,
                    .checks = what->checks,
                    .buddy = what->buddy,
                    .good_until = answer->good_until,
                    .meaning = meaning_of(what),
                    .evidence = {trial->hashes, trial->count},
                    .statement = {NULL, text_string(&answer->statement), answer->statement.len},
                    .seed = what->seed};
    return rec_add(records, &entry, &answer->added, err);
}

bool sign_off(Records *records, const SignOff *what, SignOffAnswer *answer, Err *err)
{
    Trial trial = {.what = what};
    if (!check_scope(what, err) || !want_supervisor(records, what->signer, err) ||
        !people_view(records, what->person, &trial.view, err))
        return false;
    find_evidence(&trial);
    RecList evidence = {trial.hashes, trial.count};
    join(&what->lines, &trial.words[0]);
    join(&what->products, &trial.words[1]);
    join(&what->checks, &trial.words[2]);
    join(&evidence, &trial.words[3]);
    bool ok = find_until(&trial, answer->good_until, err);
    if (ok) print_statement(&trial, answer->good_until, &answer->statement);
    answer->counts = what->decision == REC_REFUSED; /* needs no evidence */
    if (ok && !answer->counts) ok = try_out(records, &trial, answer, err);
    if (ok && answer->counts && what->seed != NULL) ok = sign(records, &trial, answer, err);
    for (size_t i = 0; i < sizeof trial.words / sizeof trial.words[0]; i++) {
        text_clear(&trial.words[i]);
    }
    people_view_clear(&trial.view);
    if (!ok) sign_off_clear(answer);
    return ok;
}

void sign_off_clear(SignOffAnswer *answer)
{
    text_clear(&answer->statement);
    *answer = (SignOffAnswer){0};
}

/* --- What follows ---------------------------------------------------------------------------- */

bool sign_acknowledge(Records *records, const char *person, const char *about, Err *err)
{
    RecNew what = {.kind = REC_KIND_ACKNOWLEDGEMENT, .author = person, .about = about};
    return rec_add(records, &what, NULL, err);
}

bool sign_withdraw(Records *records, const char *author, const unsigned char *seed,
                   const char *about, const char *reason, Err *err)
{
    RecNew what = {.kind = REC_KIND_WITHDRAWAL,
                   .author = author,
                   .about = about,
                   .reason = reason,
                   .seed = seed};
    return rec_add(records, &what, NULL, err);
}

bool sign_void(Records *records, const char *author, const char *about, const char *reason,
               Err *err)
{
    RecNew what = {.kind = REC_KIND_VOID, .author = author, .about = about, .reason = reason};
    return rec_add(records, &what, NULL, err);
}

bool sign_correct(Records *records, const char *author, const char *about, const char *text,
                  const char *reason, Err *err)
{
    RecNew what = {.kind = REC_KIND_CORRECTION,
                   .author = author,
                   .about = about,
                   .text = text,
                   .reason = reason};
    return rec_add(records, &what, NULL, err);
}

/* --- Entries as people name them ------------------------------------------------------------- */

typedef struct {
    const char *word, *station;
    size_t len;
    int64_t number; /* 0: it is the beginning of a hash */
    char *hash;
    int found;
} EntrySearch;

static bool take_entry(void *context, const RecFact *fact, Err *err)
{
    EntrySearch *search = context;
    (void)err;
    bool is_it = search->number > 0
                     ? fact->number == search->number && strcmp(fact->station, search->station) == 0
                     : strncmp(fact->hash, search->word, search->len) == 0;
    if (!is_it || strlen(fact->hash) != REC_HEX_BYTES - 1) return true;
    memcpy(search->hash, fact->hash, REC_HEX_BYTES);
    search->found++;
    return true;
}

bool sign_find_entry(Records *records, const char *word, char hash[REC_HEX_BYTES], Err *err)
{
    EntrySearch search = {
        .word = word, .station = rec_station(records), .len = strlen(word), .hash = hash};
    bool is_number = search.len < HASH_DIGITS_MIN && text_to_int(word, &search.number);
    bool is_hash = search.len >= HASH_DIGITS_MIN && search.len < REC_HEX_BYTES;
    if (is_number ? search.number < 1 : !is_hash) {
        return err_set(err, ERR_INPUT,
                       "\"%s\" names no entry: give its number, or eight digits of its hash", word);
    }
    if (!rec_facts(records, NULL, NULL, take_entry, &search, err)) return false;
    if (search.found == 0) return err_set(err, ERR_INPUT, "there is no entry \"%s\"", word);
    return search.found == 1 ||
           err_set(err, ERR_INPUT, "%d entries begin with \"%s\"", search.found, word);
}
