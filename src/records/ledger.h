/* The ledger: what happened at one station, written once, and any later alteration shows.
 *
 * A store is one folder of one station (PC):
 *
 *     DIR/store.db   a SQLite file of three tables: entries, contents by hash, veiled texts
 *     DIR/head       four lines: station, count of entries, the last one's hash in base64, its time
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
 * and its hash is SHA-256(0x00 || those bytes). Kinds and their bodies:
 *
 *     store    {format, program}                             the first entry
 *     start    {program}                                     a program opened the store for writing
 *     person   {person: UUID, name: commitment}
 *     run      {mode, scripted, seed, model, contents: {name: hash}, result}; author: who played
 *     remark   {about: number, text: commitment}
 *     erasure  {commitment, reason}                          a veiled text was deleted for good
 *     clock    {moved_us}                                    the PC clock was moved, see RecClock
 *
 * Names and remarks must be erasable, entries are not: an entry holds only a commitment,
 * SHA-256(0x01 || 32 bytes of salt || text), and salt and text stand in a row of their own.
 *
 * What this shows and what it cannot: any change, removal or insertion in the entries, and any cut
 * of their end, disagrees with the chain or the head; rec_verify (verify.h) names it. Whoever owns
 * both files can rebuild both. Only a head that is kept elsewhere, on paper or at another station,
 * shows that.
 */
#ifndef RECORDS_LEDGER_H
#define RECORDS_LEDGER_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"
#include "records/sodium.h"
#include "records/stamp.h"
#include "scenario/json.h"

enum {
    REC_ID_BYTES = 37, /* a UUID in lower case, with its NUL */
    REC_NAME_BYTES_MAX = 200,
    REC_REMARK_BYTES_MAX = 4000,
    REC_REASON_BYTES_MAX = 500,
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

typedef enum {
    REC_READ,   /* look only; adds nothing, not even a start */
    REC_WRITE,  /* a store that is there; adds a "start" entry */
    REC_CREATE, /* the same, or a new store: the folder is made, "store" and "start" are added */
} RecMode;

/* One entry as read; borrowed for the call that hands it out. */
typedef struct {
    RecNumber number;
    RecHash hash;
    const char *previous; /* hex */
    const char *station;
    const char *author;
    const char *kind;
    const char *time;
    int64_t time_us;
    int64_t ticks_us;
    int64_t start;
    const JsonValue *body; /* an object, in `doc` */
    JsonDoc *doc;          /* the whole entry */
} RecEntry;

/* Open the store in `folder`.
 *
 *   program  this program's version, an id (text_is_id); stands in the entries "store" and "start".
 *   clock    NULL for the machine's own; copied, its context is borrowed until rec_close.
 *   out      on true the caller's, to be ended by rec_close.
 *
 * Several programs may have a store open; each entry is written whole. Fails with ERR_IO (no store
 * there, no rights, disk full, another program busy), ERR_INPUT (a database of another program or
 * of another format), ERR_DAMAGE (torn, or the head disagrees: nothing may then be added). Nothing
 * that was there is harmed; a new store that could not be finished is an empty file at most, which
 * the next REC_CREATE takes as none.
 */
MUST_USE bool rec_open(const char *folder, RecMode mode, const char *program, const RecClock *clock,
                       Records **out, Err *err);

/* End the use; every entry is on disk already. Takes NULL. */
void rec_close(Records *records);

/* The station's UUID; borrowed as long as the records are open. */
const char *rec_station(const Records *records);

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

/* Bytes that a run came from, under a name such as "scenario", "site", "log". */
typedef struct {
    const char *name; /* an id, once in a run */
    const char *bytes;
    size_t len; /* up to REC_CONTENT_BYTES_MAX */
} RecContent;

typedef struct {
    const char *person; /* who played; the entry's author */
    bool is_assessment;
    bool is_scripted; /* never counts as evidence */
    uint64_t seed;
    const char *model; /* an id: the version that computed the happenings */
    const RecContent *contents;
    size_t content_count;    /* 1 to REC_CONTENTS_MAX */
    const char *result_json; /* the score; JSON without null and fractions, see canonical.h */
} RecRun;

/* Add a finished run, its contents and its result, all or nothing. ERR_INPUT: an unknown person, a
 * result that is no such JSON; ERR_RANGE: a content or result too large. */
MUST_USE bool rec_run_add(Records *records, const RecRun *run, RecNumber *number, Err *err);

/* Add a remark about entry `about`, which must be there (ERR_RANGE). `text`: UTF-8, 1 to
 * REC_REMARK_BYTES_MAX bytes. */
MUST_USE bool rec_remark_add(Records *records, const char *author, RecNumber about,
                             const char *text, RecNumber *number, Err *err);

/* Delete the veiled text of a commitment (64 hex digits) for good and record that this was done.
 * `reason`: UTF-8, 1 to REC_REASON_BYTES_MAX bytes; it stays for ever, so it names nobody.
 * ERR_INPUT when there is no such text. The disk may keep old copies outside this file. */
MUST_USE bool rec_erase(Records *records, const char *author, const char *commitment,
                        const char *reason, RecNumber *number, Err *err);

/* --- Reading ------------------------------------------------------------------------------------
 * What is read was checked against its hash; a mismatch is ERR_DAMAGE and names the entry.
 */

/* Which entries: from a number on, and only of one kind or author where these are not NULL. */
typedef struct {
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
    RecNumber number;
    Text time;
    Text person;
    Text model;
    Text result; /* canonical JSON */
    uint64_t seed;
    bool is_assessment;
    bool is_scripted;
    size_t content_count;
    Text content_names[REC_CONTENTS_MAX]; /* sorted by their bytes */
    Text contents[REC_CONTENTS_MAX];
} RecRunView;

/* Load the run of entry `number` into `out`, which is all zeros. ERR_INPUT when it is no run. */
MUST_USE bool rec_run_load(Records *records, RecNumber number, RecRunView *out, Err *err);
void rec_run_view_clear(RecRunView *view);

/* The content called `name`, NULL when the run has none; borrowed. */
const Text *rec_run_content(const RecRunView *view, const char *name);

#endif
