/* Read an entry in one pass over its bytes, without building a tree: what verifying and adding do
 * with every entry. Not for use outside records/. */
#ifndef RECORDS_SCAN_H
#define RECORDS_SCAN_H

#include "records/entry.h"

enum { REC_SCAN_FIELDS_MAX = 14 }; /* the most that a body has */

/* A piece of the entry's bytes. */
typedef struct {
    const char *from;
    size_t len;
} RecSpan;

/* A body that was scanned. */
struct RecFlat {
    const RecField *fields; /* of its kind */
    size_t count;
    RecSpan values[REC_SCAN_FIELDS_MAX]; /* as they stand in the bytes */
    const char
        *texts[REC_SCAN_FIELDS_MAX]; /* those that are texts; "" of a result and all others */
    RecSpan verdict;                 /* of a result that is an object; empty when it has none */
    struct {
        const char *name, *hash;
    } contents[REC_CONTENTS_MAX];
    size_t content_count;
    char *strings; /* where the next text goes */
    char bytes[];  /* a copy of the entry's, and behind it each text with a NUL */
};

/* Read the bytes as rec_entry_read does. True: it would take them, and `out` is what it would give,
 * but that `flat` stands for `body` and `doc`. False says nothing: they are no entry, or one of
 * those rarely written that are left to rec_entry_read (signatures, imports, escapes in a key or by
 * number, null, deep nesting). `out` is all zeros before; after true the caller ends it by
 * rec_entry_clear. */
MUST_USE bool rec_entry_scan(const Text *bytes, RecEntry *out);

#endif
