/* Which contents and veiled texts entries name: what a bundle must hold. Not for use outside
 * records/. */
#ifndef RECORDS_NAMED_H
#define RECORDS_NAMED_H

#include "records/entry.h"

/* One hash that is named, 48 bytes at most. */
typedef struct {
    unsigned char hash[REC_HASH_BYTES];
    int line; /* of the bundle: where it is named first */
    bool is_text;
    bool is_new; /* by an entry that is new here */
    bool came;
} RecNamed;

/* A set; all zeros is empty, rec_named_clear ends it. */
typedef struct {
    RecNamed *items;
    size_t count;
    size_t capacity;
} RecNamedSet;

/* Free what the set holds and leave it empty. */
void rec_named_clear(RecNamedSet *set);

/* Add one hash, given in hex. */
void rec_named_add(RecNamedSet *set, const char *hex, RecNamed like);

/* Add all that the entry names. */
void rec_named_add_entry(RecNamedSet *set, const RecEntry *entry, bool is_new, int line);

/* Sort by text or not and hash, each once: what was added twice is new if one of them was. */
void rec_named_sort(RecNamedSet *set);

/* The one with that hash, NULL when there is none. The set is sorted. */
RecNamed *rec_named_find(const RecNamedSet *set, const char *hex, bool is_text);

#endif
