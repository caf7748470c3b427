/* Where the ledger's rows lie: append, read on from, content by hash. Not for use outside records/.
 *
 * sqlite.c keeps them in one SQLite file; a site that outgrows files would put another database
 * behind these calls. There is no call that changes an entry or a content, and triggers refuse the
 * SQL that would. Facts are a view that can be made anew; secrets alone may change.
 * That guards against our own mistakes only; whoever owns the file can drop the triggers, and then
 * rec_verify finds what was changed.
 *
 * Every call fails with ERR_IO (disk full, busy, no rights) or ERR_DAMAGE (not what was written)
 * and leaves the rows as they were.
 */
#ifndef RECORDS_STORAGE_H
#define RECORDS_STORAGE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"
#include "records/fact.h"

enum {
    REC_STORE_FORMAT = 2,
    REC_STORE_BUSY_MS = 5000, /* how long a call waits for another program's writing */
};

typedef struct RecStore RecStore;

typedef enum {
    REC_STORE_READ,   /* rows are only read; a writing that was cut short is put back first */
    REC_STORE_WRITE,  /* a store that is there */
    REC_STORE_CREATE, /* the same, or a new one: an empty file counts as none */
    REC_STORE_AUDIT,  /* the disk is not touched, and nothing but the file's kind is believed */
} RecStoreMode;

/* One row of `entry`. All zeros is empty; rec_row_clear ends it. */
typedef struct {
    Text station;
    int64_t number;
    Text bytes;
    Text hash;
} RecRow;

/* One row of `veiled`. All zeros is empty; rec_veil_clear ends it. */
typedef struct {
    Text commitment;
    Text salt;
    Text text;
} RecVeil;

/* Free what a row holds and leave it empty. */
void rec_row_clear(RecRow *row);
void rec_veil_clear(RecVeil *veil);

/* Open the file `path`. Except for an audit: a file of another program, of another format, with
 * another schema than ours, or torn, is refused with one message and not touched. On true the
 * caller ends *out with rec_store_close, which takes NULL. */
MUST_USE bool rec_store_open(const char *path, RecStoreMode mode, RecStore **out, Err *err);
void rec_store_close(RecStore *store);

/* Start writing, with no other writer until the end; in a new file the tables are made now. */
MUST_USE bool rec_store_begin(RecStore *store, Err *err);

/* End writing: on true the rows survive a power cut. On false nothing was stored, and writing is
 * ended all the same. */
MUST_USE bool rec_store_commit(RecStore *store, Err *err);

/* End reading, or end writing with nothing stored. */
void rec_store_rollback(RecStore *store);

/* From here to rec_store_rollback every read sees the same rows. */
MUST_USE bool rec_store_freeze(RecStore *store, Err *err);

/* Add an entry under its station and number, and its fact. Between begin and commit, as is all
 * adding. */
MUST_USE bool rec_store_entry_add(RecStore *store, const RecFact *fact, const Text *bytes,
                                  Err *err);

/* The first entry of the station numbered `number` or more, or the last numbered `number` or less,
 * into `row`; *found false and `row` empty when there is none. */
MUST_USE bool rec_store_entry_from(RecStore *store, const char *station, int64_t number,
                                   RecRow *row, bool *found, Err *err);
MUST_USE bool rec_store_entry_until(RecStore *store, const char *station, int64_t number,
                                    RecRow *row, bool *found, Err *err);

/* Called for each row, whose texts are borrowed; false with `err` filled ends the walk. */
typedef bool (*RecEachRow)(void *context, const RecRow *row, Err *err);

/* Each entry of the station (NULL: of every one) numbered `number` or more, in order of station and
 * number. */
MUST_USE bool rec_store_entries(RecStore *store, const char *station, int64_t number,
                                RecEachRow each, void *context, Err *err);

/* The first station in order after `after` ("": the first of all) that has entries. */
MUST_USE bool rec_store_station_after(RecStore *store, const char *after, Text *station,
                                      bool *found, Err *err);

/* Which facts: those that agree with all that is not NULL. `hash` alone, or `person` and `kind`, or
 * one of them, or none of the three. */
typedef struct {
    const char *hash;
    const char *person;
    const char *kind;
} RecFactQuery;

/* Each such fact in order of time, station and number; without person, kind and hash in order of
 * station and number. */
MUST_USE bool rec_store_facts(RecStore *store, const RecFactQuery *query, RecEachFact each,
                              void *context, Err *err);

/* Throw all facts away, and add one: only to make them anew. */
MUST_USE bool rec_store_facts_clear(RecStore *store, Err *err);
MUST_USE bool rec_store_fact_add(RecStore *store, const RecFact *fact, Err *err);

/* Add bytes under their hash; the same again is no change. */
MUST_USE bool rec_store_content_add(RecStore *store, const char *hash, const char *bytes,
                                    size_t len, Err *err);

/* The bytes under `hash`; *found false and `bytes` empty when there are none. */
MUST_USE bool rec_store_content_read(RecStore *store, const char *hash, Text *bytes, bool *found,
                                     Err *err);

/* Each content in order of hash; its texts are borrowed for the call. */
typedef bool (*RecEachContent)(void *context, const Text *hash, const Text *bytes, Err *err);
MUST_USE bool rec_store_contents(RecStore *store, RecEachContent each, void *context, Err *err);

/* The first content whose hash sorts after `after` (all zeros: the first of all). */
MUST_USE bool rec_store_content_after(RecStore *store, const Text *after, Text *hash, Text *bytes,
                                      bool *found, Err *err);

/* Add, read and list veiled texts, as contents above. */
MUST_USE bool rec_store_veil_add(RecStore *store, const char *commitment, const char *salt,
                                 const char *text, Err *err);
MUST_USE bool rec_store_veil_read(RecStore *store, const char *commitment, RecVeil *veil,
                                  bool *found, Err *err);
MUST_USE bool rec_store_veil_after(RecStore *store, const Text *after, RecVeil *veil, bool *found,
                                   Err *err);

/* Delete a veiled text for good; refused unless an erasure entry that names it was added before. */
MUST_USE bool rec_store_veil_erase(RecStore *store, const char *commitment, Err *err);

/* A person's secret of a kind: what may be replaced, is in no entry and leaves the store never.
 * Writing one, or removing it with NULL, between begin and commit. */
MUST_USE bool rec_store_secret_read(RecStore *store, const char *person, const char *kind,
                                    Text *bytes, bool *found, Err *err);
MUST_USE bool rec_store_secret_write(RecStore *store, const char *person, const char *kind,
                                     const Text *bytes, Err *err);

/* Copy all rows into a new file that is then whole on disk; its folder is the caller's to sync. The
 * copy takes what the rows are at this moment, also within freeze and rollback. */
MUST_USE bool rec_store_copy(RecStore *store, const char *path, Err *err);

/* Called with one sentence, without a full stop, for each thing that is wrong with the file. */
typedef void (*RecStoreComplaint)(void *context, const char *sentence);

/* Check what SQLite and our schema promise: integrity, format numbers, the text of every table and
 * trigger. *readable: the tables are ours, so that reading rows makes sense. Reads only. */
MUST_USE bool rec_store_audit(RecStore *store, RecStoreComplaint complain, void *context,
                              bool *readable, Err *err);

#endif
