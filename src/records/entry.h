/* One entry: its bytes and what it says. Not for use outside records/. */
#ifndef RECORDS_ENTRY_H
#define RECORDS_ENTRY_H

#include "records/kinds.h"
#include "records/ledger.h"
#include "records/storage.h"

enum { REC_FORMAT = REC_STORE_FORMAT };

/* The hash of an entry's bytes. */
RecHash rec_entry_hash(const Text *bytes);

/* The commitment to a text under a salt of REC_HASH_BYTES bytes. */
RecHash rec_commitment(const unsigned char *salt, const char *text, size_t len);

/* A new random UUID (RFC 9562, version 4). */
void rec_id_new(char out[REC_ID_BYTES]);

/* Write the canonical bytes of an entry whose plain fields are set (not doc, body, hash, time: the
 * last comes from time_us) and whose body is `body_json`. ERR_INPUT as rec_canonical. */
MUST_USE bool rec_entry_print(const RecEntry *entry, const char *body_json, Text *bytes, Err *err);

/* Print it so, and read what was printed into `out`. */
MUST_USE bool rec_entry_make(const RecEntry *entry, const char *body_json, Text *bytes,
                             RecEntry *out, Err *err);

/* Read an entry's bytes: canonical, with exactly the fields and the body its kind wants. ERR_INPUT
 * says what is wrong. `out` is all zeros before; after true the caller ends it by
 * rec_entry_clear. */
MUST_USE bool rec_entry_read(const Text *bytes, RecEntry *out, Err *err);
void rec_entry_clear(RecEntry *entry);

/* Read the row's entry; ERR_DAMAGE when its place, bytes and hash do not agree. */
MUST_USE bool rec_row_read(const RecRow *row, RecEntry *entry, Err *err);

/* What the entry says; borrowed from it and from `value`, which is empty before and the caller's to
 * clear. */
void rec_fact_of(const RecEntry *entry, Text *value, RecFact *fact);

/* A text of the body, "" when it has none of that name. */
const char *rec_body_text(const RecEntry *entry, const char *key);

/* A whole number, a boolean, and whether a list has items, of a field that the kind has. */
int64_t rec_body_whole(const RecEntry *entry, const char *key);
bool rec_body_bool(const RecEntry *entry, const char *key);
bool rec_body_has_items(const RecEntry *entry, const char *key);

/* The contents of a run: name and hash of that index; false behind the last. */
MUST_USE bool rec_body_content(const RecEntry *entry, size_t index, const char **name,
                               const char **hash);

/* The bytes that a person or station signs for an entry of this author, kind and station. The body
 * is in canonical order; its own signatures are left out. */
MUST_USE bool rec_message_print(const char *author, const JsonValue *body, RecKind kind,
                                const char *station, Text *out, Err *err);

/* By how much PC time moved against the uptime between an entry and the next; 0 when it is within
 * tolerance. After `is_new_start` the machine may have been off, so only a step back shows. */
int64_t rec_clock_moved(const RecEntry *before, int64_t time_us, int64_t ticks_us,
                        bool is_new_start);

/* The path of the folder's database into `database`. ERR_IO when there is none; ERR_DAMAGE when the
 * head says that there was one. */
MUST_USE bool rec_folder_check(const char *folder, Text *database, Err *err);

/* Load the run in `entry` as rec_run_load does. */
MUST_USE bool rec_run_view_read(RecStore *store, const RecEntry *entry, RecRunView *out, Err *err);

/* Read a veiled text as rec_text does. */
MUST_USE bool rec_text_read(RecStore *store, const char *commitment, Text *out, bool *there,
                            Err *err);

#endif
