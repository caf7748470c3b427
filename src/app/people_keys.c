/* PINs, passphrases and recovery codes of people, and the wait after failed tries. */
#include "app/people.h"

#include <string.h>

#include "base/os.h"

static const char PIN[] = "pin";
static const char KEY[] = "key";           /* the seed under the passphrase */
static const char RECOVERY[] = "recovery"; /* the same under the recovery code */

enum { US_PER_SECOND = 1000000 };

/* --- Tries ----------------------------------------------------------------------------------- */

/* The last entry about tries of one thing: its number, tries in a row, and when. */
typedef struct {
    const char *station, *what;
    RecNumber number;
    int64_t failed, ticks_us;
} LastTry;

static bool take_try(void *context, const RecFact *fact, Err *err)
{
    LastTry *last = context;
    (void)err;
    bool is_it = strcmp(fact->station, last->station) == 0 &&
                 strcmp(fact->subject, last->what) == 0 && fact->number > last->number;
    if (is_it) last->number = fact->number; /* by number: times follow a clock that may be moved */
    return true;
}

/* Read the first entry and stop. */
static bool take_ticks(void *context, const RecEntry *entry, Err *err)
{
    LastTry *last = context;
    CHECK(json_is_integer(json_get(entry->body, "failed"), &last->failed));
    last->ticks_us = entry->ticks_us;
    return err_set(err, ERR_STOPPED, "found");
}

static bool find_last_try(Records *records, const char *person, const char *what, LastTry *out,
                          Err *err)
{
    LastTry last = {.station = rec_station(records), .what = what};
    Err ended = {0};
    if (!rec_facts(records, person, "attempt", take_try, &last, err)) return false;
    RecFilter filter = {.from = last.number};
    if (last.number > 0 && !rec_each(records, &filter, take_ticks, &last, &ended) &&
        ended.code != ERR_STOPPED) {
        *err = ended;
        return false;
    }
    *out = last;
    return true;
}

/* Whether a try may be made now. */
static bool may_try(Records *records, const char *person, const char *what, bool has_secret,
                    LastTry *last, PeopleTry *tried, Err *err)
{
    int64_t wall_us = 0;
    int64_t ticks_us = 0;
    *tried = (PeopleTry){.answer = PEOPLE_HAS_NONE};
    if (!find_last_try(records, person, what, last, err)) return false;
    if (!has_secret) return true;
    rec_now(records, &wall_us, &ticks_us);
    tried->failed = last->failed;
    tried->wait_us = rec_wait_us(last->failed, last->ticks_us, ticks_us);
    tried->answer = tried->wait_us > 0 ? PEOPLE_MUST_WAIT : PEOPLE_WRONG;
    return true;
}

/* Record a try. A right one is an entry only after failed ones, which it ends. */
static bool note_try(Records *records, const char *person, const LastTry *last, bool right,
                     PeopleTry *tried, Err *err)
{
    int64_t wall_us = 0;
    int64_t ticks_us = 0;
    RecNew what = {.kind = REC_KIND_ATTEMPT,
                   .author = "station",
                   .person = person,
                   .word = last->what,
                   .failed = right ? 0 : last->failed + 1};
    *tried = (PeopleTry){.answer = right ? PEOPLE_RIGHT : PEOPLE_WRONG, .failed = what.failed};
    if (right && last->failed == 0) return true;
    if (!rec_add(records, &what, NULL, err)) return false;
    rec_now(records, &wall_us, &ticks_us);
    tried->wait_us = rec_wait_us(what.failed, ticks_us, ticks_us);
    return true;
}

bool people_want_right(const PeopleTry *tried, const char *what, Err *err)
{
    long long wait_s = (long long)((tried->wait_us + US_PER_SECOND - 1) / US_PER_SECOND);
    switch (tried->answer) {
    case PEOPLE_RIGHT:
        return true;
    case PEOPLE_WRONG:
        if (wait_s == 0) return err_set(err, ERR_INPUT, "that is not the %s", what);
        return err_set(err, ERR_INPUT, "that is not the %s; the next try may be in %lld s", what,
                       wait_s);
    case PEOPLE_MUST_WAIT:
        return err_set(err, ERR_INPUT, "%lld tries of the %s failed; the next may be in %lld s",
                       (long long)tried->failed, what, wait_s);
    case PEOPLE_HAS_NONE:
        return err_set(err, ERR_INPUT, "the person has no %s here yet", what);
    }
    CHECK(false);
    return false;
}

/* --- PINs ------------------------------------------------------------------------------------ */

static bool want_self_or_supervisor(Records *records, const char *author, const char *person,
                                    Err *err)
{
    bool is_supervisor = false;
    if (strcmp(author, person) == 0) return true;
    if (!people_has_role(records, author, "supervisor", &is_supervisor, err)) return false;
    return is_supervisor || err_set(err, ERR_INPUT, "the author is no supervisor");
}

bool people_set_pin(Records *records, const char *author, const char *person, const char *pin,
                    Err *err)
{
    Text blob = {0};
    bool ok = want_self_or_supervisor(records, author, person, err) &&
              rec_pin_set(person, pin, &blob, err) &&
              rec_secret_write(records, person, PIN, &blob, err);
    text_clear(&blob);
    return ok;
}

bool people_try_pin(Records *records, const char *person, const char *pin, PeopleTry *tried,
                    Err *err)
{
    Text blob = {0};
    LastTry last;
    bool found = false;
    bool right = false;
    bool ok = rec_secret_read(records, person, PIN, &blob, &found, err) &&
              may_try(records, person, "pin", found, &last, tried, err);
    if (ok && tried->answer == PEOPLE_WRONG) {
        ok = rec_pin_check(person, &blob, pin, &right, err) &&
             note_try(records, person, &last, right, tried, err);
    }
    text_clear(&blob);
    return ok;
}

/* --- Keys ------------------------------------------------------------------------------------ */

/* Put both sealed copies in the store, with NULL none. */
static bool write_sealed(Records *records, const char *person, const Text *key,
                         const Text *recovery, Err *err)
{
    return rec_secret_write(records, person, KEY, key, err) &&
           rec_secret_write(records, person, RECOVERY, recovery, err);
}

static bool note_key(void *context, const RecFact *fact, Err *err)
{
    bool *has = context;
    (void)fact;
    (void)err;
    *has = true;
    return true;
}

/* Which word of a key entry it is: the first, one that its owner changes, or another's gift. */
static bool find_why(Records *records, const char *author, const char *person, const char **why,
                     Err *err)
{
    bool has = false;
    if (!rec_facts(records, person, "key", note_key, &has, err)) return false;
    *why = !has ? "first" : strcmp(author, person) == 0 ? "changed" : "reissued";
    return true;
}

/* The entry of a new key; the copies that were there go back when it is refused. */
static bool put_key(Records *records, const RecNew *what, const Text *key, const Text *recovery,
                    Err *err)
{
    Text old_key = {0};
    Text old_recovery = {0};
    bool had_key = false;
    bool had_recovery = false;
    bool ok = rec_secret_read(records, what->person, KEY, &old_key, &had_key, err) &&
              rec_secret_read(records, what->person, RECOVERY, &old_recovery, &had_recovery, err) &&
              write_sealed(records, what->person, key, recovery, err);
    if (ok && !rec_add(records, what, NULL, err)) {
        Err ignored = {0};
        ok = false;
        (void)!write_sealed(records, what->person, had_key ? &old_key : NULL,
                            had_recovery ? &old_recovery : NULL, &ignored);
    }
    text_clear(&old_key);
    text_clear(&old_recovery);
    return ok;
}

bool people_make_key(Records *records, const char *author, const char *person,
                     const char *passphrase, char code[REC_RECOVERY_TEXT_BYTES], Err *err)
{
    unsigned char seed[REC_SEED_BYTES];
    unsigned char key[REC_KEY_BYTES];
    char hex[REC_HEX_BYTES];
    char made[REC_RECOVERY_TEXT_BYTES];
    RecNew what = {.kind = REC_KIND_KEY, .author = author, .person = person, .public_key = hex};
    Text name = {0};
    Text sealed = {0};
    Text recovery = {0};
    bool found = false;
    bool ok = rec_person_name(records, person, &name, &found, err) &&
              rec_passphrase_fits(passphrase, text_string(&name), err) &&
              find_why(records, author, person, &what.word, err);
    if (ok) {
        os_random(seed, sizeof seed);
        rec_key_from_seed(seed, key);
        rec_hex_print(key, sizeof key, hex);
        rec_passphrase_set(person, passphrase, seed, &sealed);
        rec_recovery_set(person, seed, made, &recovery);
        rec_wipe(seed, sizeof seed);
        ok = put_key(records, &what, &sealed, &recovery, err);
    }
    if (ok) memcpy(code, made, sizeof made);
    rec_wipe(made, sizeof made);
    text_clear(&name);
    text_clear(&sealed);
    text_clear(&recovery);
    return ok;
}

bool people_lose_key(Records *records, const char *author, const char *person, Err *err)
{
    char zeros[REC_HEX_BYTES];
    RecNew what = {.kind = REC_KIND_KEY,
                   .author = author,
                   .person = person,
                   .word = "lost",
                   .public_key = zeros};
    memset(zeros, '0', sizeof zeros - 1);
    zeros[sizeof zeros - 1] = '\0';
    return rec_add(records, &what, NULL, err) && write_sealed(records, person, NULL, NULL, err);
}

/* Opens one of the sealed copies, or changes it. */
typedef bool Opener(const char *person, Text *blob, const char *typed, void *more, bool *right,
                    Err *err);

/* Try what was typed on a sealed copy, with the wait and the entries of tries. */
static bool try_sealed(Records *records, const char *person, const char *kind, Opener *open,
                       const char *typed, void *more, PeopleTry *tried, Err *err)
{
    Text blob = {0};
    LastTry last;
    bool found = false;
    bool right = false;
    bool ok = rec_secret_read(records, person, kind, &blob, &found, err) &&
              may_try(records, person, "passphrase", found, &last, tried, err);
    if (ok && tried->answer == PEOPLE_WRONG) {
        ok = open(person, &blob, typed, more, &right, err) &&
             note_try(records, person, &last, right, tried, err);
    }
    text_clear(&blob);
    return ok;
}

static bool open_seed(const char *person, Text *blob, const char *typed, void *more, bool *right,
                      Err *err)
{
    return rec_passphrase_open(person, blob, typed, more, right, err);
}

static bool open_recovery(const char *person, Text *blob, const char *typed, void *more,
                          bool *right, Err *err)
{
    return rec_recovery_open(person, blob, typed, more, right, err);
}

bool people_open_key(Records *records, const char *person, const char *passphrase,
                     unsigned char seed[REC_SEED_BYTES], PeopleTry *tried, Err *err)
{
    return try_sealed(records, person, KEY, open_seed, passphrase, seed, tried, err);
}

/* Seal the seed under another passphrase. */
static bool set_passphrase(Records *records, const char *person, const char *passphrase,
                           const unsigned char seed[REC_SEED_BYTES], Err *err)
{
    Text sealed = {0};
    rec_passphrase_set(person, passphrase, seed, &sealed);
    bool ok = rec_secret_write(records, person, KEY, &sealed, err);
    text_clear(&sealed);
    return ok;
}

/* The one that opens a copy, then the new passphrase. */
static bool change_by(Records *records, const char *person, const char *kind, Opener *open,
                      const char *typed, const char *passphrase, PeopleTry *tried, Err *err)
{
    unsigned char seed[REC_SEED_BYTES] = {0};
    Text name = {0};
    bool found = false;
    bool ok = rec_person_name(records, person, &name, &found, err) &&
              rec_passphrase_fits(passphrase, text_string(&name), err) &&
              try_sealed(records, person, kind, open, typed, seed, tried, err);
    if (ok && tried->answer == PEOPLE_RIGHT) {
        ok = set_passphrase(records, person, passphrase, seed, err);
    }
    rec_wipe(seed, sizeof seed);
    text_clear(&name);
    return ok;
}

bool people_change_passphrase(Records *records, const char *person, const char *old,
                              const char *passphrase, PeopleTry *tried, Err *err)
{
    return change_by(records, person, KEY, open_seed, old, passphrase, tried, err);
}

bool people_recover(Records *records, const char *person, const char *code, const char *passphrase,
                    PeopleTry *tried, Err *err)
{
    return change_by(records, person, RECOVERY, open_recovery, code, passphrase, tried, err);
}
