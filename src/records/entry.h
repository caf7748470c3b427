/* One entry: its bytes, its rules, and the head that states the last one. Not for use outside
 * records/. */
#ifndef RECORDS_ENTRY_H
#define RECORDS_ENTRY_H

#include "records/ledger.h"
#include "records/storage.h"

enum {
    REC_FORMAT = REC_STORE_FORMAT,
    REC_HEAD_BYTES_MAX = 1024,
    REC_STEP_ENTRIES_MAX = 2, /* what one writing adds at most: a clock entry and another */
};

/* The hash of an entry's bytes. */
RecHash rec_entry_hash(const Text *bytes);

/* The commitment to a text under a salt of REC_HASH_BYTES bytes. */
RecHash rec_commitment(const unsigned char *salt, const char *text, size_t len);

/* A new random UUID (RFC 9562, version 4). */
void rec_id_new(char out[REC_ID_BYTES]);

/* True for a UUID in lower case. */
MUST_USE bool rec_is_id(const char *text);

/* Write the canonical bytes of an entry whose plain fields are set (not doc, body, hash, time: the
 * last comes from time_us) and whose body is `body_json`. ERR_INPUT as rec_canonical. */
MUST_USE bool rec_entry_print(const RecEntry *entry, const char *body_json, Text *bytes, Err *err);

/* Read an entry's bytes: canonical, with exactly the fields and the body its kind wants. ERR_INPUT
 * says what is wrong. `out` is all zeros before; after true the caller ends it by
 * rec_entry_clear. */
MUST_USE bool rec_entry_read(const Text *bytes, RecEntry *out, Err *err);
void rec_entry_clear(RecEntry *entry);

/* By how much PC time moved against the uptime between an entry and the next; 0 when it is within
 * tolerance. After `is_new_start` the machine may have been off, so only a step back shows. */
int64_t rec_clock_moved(const RecEntry *before, int64_t time_us, int64_t ticks_us,
                        bool is_new_start);

/* The four lines of the head that states `last`. */
void rec_head_print(const RecEntry *last, Text *out);

/* Does the head file agree with the rows, of which the last is numbered `last` (0: none)?
 *
 * *behind is how many entries it is behind, up to REC_STEP_ENTRIES_MAX: a program that died between
 * writing rows and head leaves it so. No head file agrees with no entries.
 */
MUST_USE bool rec_head_compare(RecStore *store, const char *folder, RecNumber last, bool *agrees,
                               int *behind, Err *err);

/* The path of the folder's database into `database`. ERR_IO when there is none; ERR_DAMAGE when the
 * head says that there was one. */
MUST_USE bool rec_folder_check(const char *folder, Text *database, Err *err);

/* Load the run in `entry` as rec_run_load does. */
MUST_USE bool rec_run_view_read(RecStore *store, const RecEntry *entry, RecRunView *out, Err *err);

/* Read a veiled text as rec_text does. */
MUST_USE bool rec_text_read(RecStore *store, const char *commitment, Text *out, bool *there,
                            Err *err);

#endif
