/* The ledger: what happened at one station, written once, and any later alteration shows.
 *
 * A store is one folder of one station (PC):
 *
 *     DIR/store.db     a SQLite file: entries, contents by hash, veiled texts, facts, secrets
 *     DIR/head         five lines: station, count of its entries, the last one's hash in base64,
 *                      its time, and the station's signature of these four lines in base64
 *     DIR/station.key  the station's secret seed in hex; only the owner of the file may read it
 *
 * Outside it, in a folder of heads, the last head seen of each station is kept.
 *
 * An entry is one line of canonical JSON (canonical.h):
 *
 *     {"author":..,"body":{..},"kind":..,"number":..,"previous":..,"start":..,"station":..,
 *      "ticks":..,"time":..}
 *
 *     station   UUID, made with the store       author   a person's UUID, or "station"
 *     number    from 1, without gaps            time     PC time, RFC 3339, UTC, microseconds
 *     previous  hash of the entry before,       ticks    microseconds since the machine started
 *               64 zeros in the first           start    which opening for writing, from 1
 *
 * and its hash is SHA-256(0x00 || those bytes). A store holds the entries of its own station and,
 * after an import, those of others, each station a chain of its own. Entries name each other by
 * hash. Kinds and their bodies; who may add one is said in rules.h:
 *
 *     store           {format, program, key}          the first entry; the station's public key
 *     start           {program}                       a program opened the store for writing
 *     station-key     {public, old_signature, key, signature}   signed by the old key and a person
 *     person          {person, name: veiled}
 *     role            {person, role, given}           operator, assessor, supervisor, quality,
 *                                                     trainer
 *     key             {person, public, why}           first, changed, reissued, lost (64 zeros)
 *     attempt         {person, what, failed}          failed tries of a pin or passphrase
 *     assignment      {person, competence, buddy}     who learns what, with whom ("": nobody)
 *     run             {mode, scripted, seed, model, scenario, supervised_by, language,
 *                      contents: {name: hash}, result}          author: who played
 *     void            {about, person, reason}         a run counts for nothing
 *     observation     {person, competence, line, seen_on, checklist: content, answers, sheet,
 *                      photo: content or "", good, remark: veiled or ""}
 *     signature       {person, competence, decision, lines, products, checks, buddy, good_until,
 *                      meaning, evidence: [hash], head: {hash, number}, statement: content, key,
 *                      signature}
 *     acknowledgement {about, person}                 the person has read it
 *     withdrawal      {about, person, reason, key, signature}
 *     correction      {about, person, text: veiled, reason}
 *     remark          {about, person, text: veiled}
 *     paper           {person, competence, signed_on, good_until, signed_by: veiled, lines}
 *     import          {bundle: hash, stations: [{hash, number, signature, station}]}   heads of
 *                     others as they signed them (head.h)
 *     fork            {of, number, ours, theirs}      two entries of one number of a station
 *     clock           {moved_us}                      the PC clock was moved, see RecClock
 *     restore         {outside_number, outside_hash}  the folder is older than the head outside it
 *     erasure         {commitment, reason}            a veiled text was deleted for good
 *
 * "person" beside "about" is whom the entry named there is about, "" for nobody. A "signature" is
 * Ed25519 by the author's own key over canonical {author, body, kind, station}, the body without
 * its signatures: moved into another entry it is worth nothing.
 *
 * Names and remarks must be erasable, entries are not: an entry holds only a commitment,
 * SHA-256(0x01 || 32 bytes of salt || text), and salt and text stand in a row of their own.
 *
 * What this shows and what it cannot: any change, removal or insertion in the entries, and any cut
 * of their end, disagrees with the chain or the head; rec_verify (verify.h) names it. Whoever owns
 * the folder has the station's key and can make all of it anew; only a head that is kept elsewhere,
 * on paper or at another station, and the signatures of people, whose keys their passphrases seal,
 * show that.
 */
#ifndef RECORDS_LEDGER_H
#define RECORDS_LEDGER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"
#include "records/fact.h"
#include "records/sodium.h"
#include "records/stamp.h"
#include "scenario/json.h"

enum {
    REC_ID_BYTES = 37, /* a UUID in lower case, with its NUL */
    REC_NAME_BYTES_MAX = 200,
    REC_REMARK_BYTES_MAX = 4000,
    REC_REASON_BYTES_MAX = 500,
    REC_LIST_MAX = 100,    /* of lines, answers, evidence and the like in one entry */
    REC_CONTENTS_MAX = 16, /* of one run */
    REC_CONTENT_BYTES_MAX = 16 * 1024 * 1024,
    REC_RESULT_BYTES_MAX = 1024 * 1024,
    REC_CLOCK_TOLERANCE_US = 2000000, /* what a clock may gain or lose unrecorded */
};

typedef struct Records Records;
typedef int64_t RecNumber; /* of an entry, from 1 */

/* Where times come from; all zeros: the machine's own clocks. When PC time goes back, or moves on
 * by more than the uptime did, no entry is refused: one of kind "clock" is put in front of it. */
typedef struct {
    int64_t (*wall_us)(void *context);   /* microseconds since 1970, UTC */
    int64_t (*uptime_us)(void *context); /* microseconds since the machine started, at least 0 */
    void *context;
} RecClock;

/* What lies outside the store; NULL or all zeros: the machine's clocks, and no heads. */
typedef struct {
    RecClock clock;
    const char *heads; /* the folder of heads, made when needed; NULL: none are kept */
} RecOutside;

typedef enum {
    REC_KIND_STORE,
    REC_KIND_START,
    REC_KIND_STATION_KEY,
    REC_KIND_PERSON,
    REC_KIND_ROLE,
    REC_KIND_KEY,
    REC_KIND_ATTEMPT,
    REC_KIND_ASSIGNMENT,
    REC_KIND_RUN,
    REC_KIND_VOID,
    REC_KIND_OBSERVATION,
    REC_KIND_SIGNATURE,
    REC_KIND_ACKNOWLEDGEMENT,
    REC_KIND_WITHDRAWAL,
    REC_KIND_CORRECTION,
    REC_KIND_REMARK,
    REC_KIND_PAPER,
    REC_KIND_IMPORT,
    REC_KIND_FORK,
    REC_KIND_CLOCK,
    REC_KIND_RESTORE,
    REC_KIND_ERASURE,
    REC_KIND_COUNT
} RecKind;

extern const char *const rec_kind_names[REC_KIND_COUNT];

typedef enum {
    REC_READ,   /* look only; adds nothing, not even a start */
    REC_WRITE,  /* a store that is there; adds a "start" entry */
    REC_CREATE, /* the same, or a new store: the folder is made, "store" and "start" are added */
} RecMode;

typedef struct RecFlat RecFlat;

/* One entry as read; borrowed for the call that hands it out. */
typedef struct {
    RecNumber number;
    RecHash hash;
    const char *previous; /* hex */
    const char *station;
    const char *author;
    const char *kind;
    RecKind kind_code;
    const char *time;
    int64_t time_us;
    int64_t ticks_us;
    int64_t start;
    const JsonValue *body; /* an object, in `doc` */
    JsonDoc *doc;          /* the whole entry */
    RecFlat *flat;         /* in their stead inside records/ (scan.h); else NULL */
} RecEntry;

/* Open the store in `folder`.
 *
 *   program  this program's version, an id (text_is_id); stands in the entries "store" and "start".
 *   outside  copied; what it points to is borrowed until rec_close.
 *   out      on true the caller's, to be ended by rec_close.
 *
 * Several programs may have a store open; each entry is written whole. Fails with ERR_IO (no store
 * there, no rights, disk full, another program busy), ERR_INPUT (a database of another program or
 * of another format), ERR_DAMAGE (torn, or the head or the station's key disagrees: nothing may
 * then be added). A head outside the folder that is ahead of it, or another, is no error: the
 * folder was put back from an older copy, and an entry "restore" says what the head had stated.
 * Nothing that was there is harmed; a new store that could not be finished is an empty file at
 * most, which the next REC_CREATE takes as none.
 */
MUST_USE bool rec_open(const char *folder, RecMode mode, const char *program,
                       const RecOutside *outside, Records **out, Err *err);

/* End the use; every entry is on disk already. Takes NULL. */
void rec_close(Records *records);

/* The station's UUID; borrowed as long as the records are open. */
const char *rec_station(const Records *records);

/* The time by the records' clocks: of the PC, since 1970, and since the machine started. */
void rec_now(const Records *records, int64_t *wall_us, int64_t *uptime_us);

/* --- Adding -------------------------------------------------------------------------------------
 * On true the entry is on disk and survives a power cut, and *number, if not NULL, is its number.
 * On false nothing was stored, but for one case which the message names: the entry is stored, the
 * head could not be written; the next entry writes it. All fail with ERR_IO and ERR_DAMAGE as
 * rec_open does, and with ERR_INPUT or ERR_RANGE for what is said at each. The records are open for
 * writing. An author is "station" or the id of a person in this store, else ERR_INPUT.
 */

/* Add a person. `name`: UTF-8, 1 to REC_NAME_BYTES_MAX bytes, not yet borne by anyone here
 * (ERR_INPUT). `person` gets the new id. */
MUST_USE bool rec_person_add(Records *records, const char *name, char person[REC_ID_BYTES],
                             Err *err);

/* Bytes that an entry names by their hash; in a run under a name such as "scenario", "log". */
typedef struct {
    const char *name; /* an id, once in a run; elsewhere NULL */
    const char *bytes;
    size_t len; /* up to REC_CONTENT_BYTES_MAX */
} RecContent;

typedef struct {
    const char *person; /* who played; the entry's author */
    bool is_assessment;
    bool is_scripted; /* never counts as evidence */
    uint64_t seed;
    const char *model;         /* an id: the version that computed the happenings */
    const char *scenario;      /* its id */
    const char *supervised_by; /* an assessor or supervisor, not who played; "": nobody */
    const char *language;      /* an id such as "en" */
    const RecContent *contents;
    size_t content_count;    /* 1 to REC_CONTENTS_MAX */
    const char *result_json; /* the score; JSON without null and fractions, see canonical.h */
} RecRun;

/* Add a finished run, its contents and its result, all or nothing. ERR_INPUT: an unknown person, a
 * result that is no such JSON; ERR_RANGE: a content or result too large. */
MUST_USE bool rec_run_add(Records *records, const RecRun *run, RecNumber *number, Err *err);

typedef struct {
    const char *const *items;
    size_t count; /* up to REC_LIST_MAX */
} RecList;

/* What a new entry says. Its kind's fields, as listed at the top, are taken from here; the others
 * are left zero. */
typedef struct {
    RecKind kind; /* role, key, attempt, assignment, void, observation, signature, acknowledgement,
                   * withdrawal, correction, remark or paper */
    const char *author;
    const char *person; /* not beside `about`: there it is looked up */
    const char *about;  /* an entry's hash */
    const char
        *competence;   /* an id, as are `line` and the items of `lines`, `products`, `checks` */
    const char *buddy; /* a person; NULL: nobody */
    const char *word;  /* role: role; key: why; attempt: what; signature: decision */
    bool is_yes;       /* role: given; observation: good */
    const char *public_key; /* hex; of key */
    int64_t failed;
    const char *line;
    const char *date;       /* "YYYY-MM-DD": seen_on, signed_on */
    const char *good_until; /* "YYYY-MM-DD" */
    const char *text;       /* to be veiled: the remark, correction, or who signed on paper; of an
                             * observation NULL: none */
    const char *reason;     /* it stays for ever, as does `sheet`: both name nobody */
    const char *sheet;
    const char *meaning;
    RecList lines, products, checks;
    RecList answers;           /* each "yes", "no" or "not-seen" */
    RecList evidence;          /* hashes of runs and observations */
    RecContent checklist;      /* as the assessor saw it */
    RecContent photo;          /* `bytes` NULL: none */
    RecContent statement;      /* the text that was shown to who signs */
    const unsigned char *seed; /* of the author's key, REC_SEED_BYTES; the caller wipes it */
} RecNew;

/* What was added. */
typedef struct {
    RecNumber number;
    RecHash hash;
} RecAdded;

/* Add an entry. *added, if not NULL, says which. ERR_INPUT: what rules.h forbids, a field that is
 * not well-formed; ERR_RANGE: a text, list or content too long. */
MUST_USE bool rec_add(Records *records, const RecNew *what, RecAdded *added, Err *err);

/* Give the station a new key: an entry signed with the old one and by a supervisor, whose key's
 * seed is given. ERR_INPUT as rec_add. */
MUST_USE bool rec_station_key_change(Records *records, const char *supervisor,
                                     const unsigned char *seed, Err *err);

/* A person's secret, such as a PIN's verifier or a sealed key, under an id of a kind: kept in this
 * store alone, in no entry. It may be replaced, or with NULL removed. */
MUST_USE bool rec_secret_read(Records *records, const char *person, const char *kind, Text *bytes,
                              bool *found, Err *err);
MUST_USE bool rec_secret_write(Records *records, const char *person, const char *kind,
                               const Text *bytes, Err *err);

/* Delete the veiled text of a commitment (64 hex digits) for good and record that this was done.
 * The author is "station", a supervisor or of quality.
 * `reason`: UTF-8, 1 to REC_REASON_BYTES_MAX bytes; it stays for ever, so it names nobody.
 * ERR_INPUT when there is no such text. The disk may keep old copies outside this file. */
MUST_USE bool rec_erase(Records *records, const char *author, const char *commitment,
                        const char *reason, RecNumber *number, Err *err);

/* --- Reading ------------------------------------------------------------------------------------
 * What is read was checked against its hash; a mismatch is ERR_DAMAGE and names the entry.
 */

/* Which entries: of a station (NULL: the own one) from a number on, and only of one kind or author
 * where these are not NULL. */
typedef struct {
    const char *station;
    RecNumber from;
    const char *kind;
    const char *author;
} RecFilter;

/* Called for each entry; false ends the walk, with `err` filled. It may call what is below. */
typedef bool (*RecEach)(void *context, const RecEntry *entry, Err *err);

/* Walk the entries in order of number; `filter` NULL is all. The runs of a person are those of kind
 * "run" with this author. */
MUST_USE bool rec_each(Records *records, const RecFilter *filter, RecEach each, void *context,
                       Err *err);

/* The facts about a person (NULL: everybody) of one kind (NULL: every one), of all stations in
 * order of time, station and number. `each` may call what is here. */
MUST_USE bool rec_facts(Records *records, const char *person, const char *kind, RecEachFact each,
                        void *context, Err *err);

/* Where the entry of this hash is: its station and number. *found false when there is none. */
MUST_USE bool rec_find(Records *records, const char *hash, char station[REC_ID_BYTES],
                       RecNumber *number, bool *found, Err *err);

/* What a station had: its count of entries, and the last one's hash and time. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    RecHash hash;
    char time[REC_STAMP_BYTES];
} RecHead;

/* The head of each station in the store, sorted by station, into a new array that the caller
 * frees. */
MUST_USE bool rec_heads(Records *records, RecHead **out, size_t *count, Err *err);

/* Throw the facts away and make them anew from the entries, all or nothing. */
MUST_USE bool rec_views_rebuild(Records *records, Err *err);

/* The veiled text of a commitment into `out`; once it was erased *there is false, `out` empty. */
MUST_USE bool rec_text(Records *records, const char *commitment, Text *out, bool *there, Err *err);

typedef struct {
    char id[REC_ID_BYTES];
    RecNumber number; /* of the entry that added the person */
    Text name;        /* empty once it was erased */
} RecPerson;

/* Everybody in the store, in the order they were added, into a new array that the caller ends with
 * rec_people_free. */
MUST_USE bool rec_people(Records *records, RecPerson **out, size_t *count, Err *err);
void rec_people_free(RecPerson *people, size_t count);

/* The id of the person called exactly `name`; *found false when nobody is. */
MUST_USE bool rec_person_find(Records *records, const char *name, char person[REC_ID_BYTES],
                              bool *found, Err *err);

/* The name of a person into `out`, empty when it was erased; *found false for an unknown id. */
MUST_USE bool rec_person_name(Records *records, const char *person, Text *out, bool *found,
                              Err *err);

/* A run with all it came from. All zeros is empty; rec_run_view_clear ends it and its texts. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    Text time;
    Text person;
    Text model;
    Text scenario;
    Text language;
    Text result; /* canonical JSON */
    uint64_t seed;
    bool is_assessment;
    bool is_scripted;
    size_t content_count;
    Text content_names[REC_CONTENTS_MAX]; /* sorted by their bytes */
    Text contents[REC_CONTENTS_MAX];
} RecRunView;

/* Load the run of entry `number` of the own station into `out`, which is all zeros; or the one of
 * any station whose entry has that hash. ERR_INPUT when it is no run. */
MUST_USE bool rec_run_load(Records *records, RecNumber number, RecRunView *out, Err *err);
MUST_USE bool rec_run_load_hash(Records *records, const char *hash, RecRunView *out, Err *err);
void rec_run_view_clear(RecRunView *view);

/* The content called `name`, NULL when the run has none; borrowed. */
const Text *rec_run_content(const RecRunView *view, const char *name);

#endif
