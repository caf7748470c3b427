/* Heads: what a station's entries are, in five lines that can be printed, kept elsewhere and
 * compared. Not for use outside records/.
 *
 *     station, a UUID
 *     how many entries it has
 *     the last one's hash in base64
 *     the last one's time
 *     the station's Ed25519 signature of these four lines with their ends, in base64
 */
#ifndef RECORDS_HEAD_H
#define RECORDS_HEAD_H

#include "records/entry.h"

enum {
    REC_HEAD_BYTES_MAX = 1024,
    REC_FIRST_ENTRIES = 2,      /* what the writing that makes a store adds */
    REC_HEAD_SYNC_ENTRIES = 16, /* at every so many entries the head is surely on disk */
    REC_BEHIND_ENTRIES_MAX =
        32, /* so far may it be behind after a power cut: one writing adds as many
                                  * to the own station at most */
};

/* A head as read: what it states, and its signature. */
typedef struct {
    RecHead states;
    unsigned char signature[REC_SIGNATURE_BYTES];
} RecSignedHead;

/* The five lines of the head that states `last`, signed with the station's seed. */
void rec_head_print(const RecEntry *last, const unsigned char *seed, Text *out);

/* Read the five lines; false for anything else. */
MUST_USE bool rec_head_read(const Text *text, RecSignedHead *out);

/* True when `key`, in hex, signed the head. */
MUST_USE bool rec_head_is_signed(const RecSignedHead *head, const char *key);

/* The station's public key at its entry `number` into `key`; "" when it has none. */
MUST_USE bool rec_station_key_at(RecStore *store, const char *station, RecNumber number,
                                 char key[REC_HEX_BYTES], Err *err);

typedef enum {
    REC_HEAD_AGREES,
    REC_HEAD_MISSING,
    REC_HEAD_UNREADABLE, /* not five such lines */
    REC_HEAD_AHEAD,      /* it states more entries than there are */
    REC_HEAD_FAR_BEHIND, /* more than a program that died between rows and head leaves it */
    REC_HEAD_OTHER,      /* another hash, time or station than the entry's */
    REC_HEAD_UNSIGNED,   /* its signature is not the station's */
} RecHeadState;

/* Compare the head file `path` with the rows of a station, whose last entry is `last` (0: it has
 * none). A missing one agrees with the first writing: the program died before it wrote the head.
 * What is read goes to `head`. Fails only with what reading the store or the file fails with. */
MUST_USE bool rec_head_compare(RecStore *store, const char *path, const char *station,
                               RecNumber last, RecSignedHead *head, RecHeadState *state, Err *err);

/* Is the entry that a head states there, with that hash? */
MUST_USE bool rec_head_holds(RecStore *store, const RecHead *head, bool *holds, Err *err);

/* Which station the store in `folder` is: the one its head names if that has entries here, else the
 * only one there is. ERR_DAMAGE when that is not to be told. */
MUST_USE bool rec_station_find(RecStore *store, const char *folder, char station[REC_ID_BYTES],
                               Err *err);

/* The path of the head that is kept outside of a station, in the folder of heads. */
void rec_outside_path(const char *heads, const char *station, Text *out);

/* Read it; *found false when there is none that is signed by a key this store knows for the station
 * at that number (beyond the last entry: its last key). */
MUST_USE bool rec_outside_read(RecStore *store, const char *heads, const char *station,
                               RecSignedHead *out, bool *found, Err *err);

#endif
