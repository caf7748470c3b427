/* Bundles: entries carried from one store to another, by stick or shared folder.
 *
 * A bundle is a file of JSON Lines, each in canonical form (canonical.h) and ended by "\n":
 *
 *     {"format":"threepass-bundle-1","from":station,"stations":[{"hash","number","signature",
 *      "station","time"}]}             who made it, and each station's head as that station signed
 *                                      it (head.h), sorted by station
 *     {"author":..}                    entries as they are (ledger.h), by station and number; of a
 *                                      station none, or all from some number up to its head
 *     {"base64":..,"content":hash}     each content that these name, by hash
 *     {"commitment","salt","text"}     each veiled text that these name and nobody erased
 *     {"hash","key","signature"}       SHA-256 of all lines before with their ends; Ed25519 by the
 *                                      key of "from" over "threepass-bundle-1 HASH\n"
 *
 * The same entries give the same bytes. Secrets (PIN verifiers, sealed keys) are never in it; names
 * and remarks are, in plain text.
 *
 * Import takes the union: what is here already is passed over, so that importing twice, in any
 * order, or an old bundle again changes nothing. Each new entry is checked as rec_verify does, and
 * all of them come in one writing, or none. An erasure deletes the text here as well. Of two
 * entries of one number of a station (its disk was put back, or its key is in two hands) the one
 * that is here stays: the other branch is not taken, then or later, and an entry "fork" says so;
 * such a station needs a new store. Entries of others that rest on that branch are refused.
 *
 * Memory: one line (REC_BUNDLE_LINE_BYTES_MAX) and the content in it, and 48 bytes for each
 * content and text that is named, twice that while it grows. While an import goes on, no other
 * program can write to the store.
 */
#ifndef RECORDS_BUNDLE_H
#define RECORDS_BUNDLE_H

#include "records/ledger.h"

enum {
    REC_BUNDLE_STATIONS_MAX = REC_LIST_MAX,       /* an import entry lists them */
    REC_BUNDLE_ENTRIES_MAX = 2000000,             /* in one bundle */
    REC_BUNDLE_ENTRY_BYTES_MAX = 4 * 1024 * 1024, /* of one entry, and of any line without bytes */
    REC_BUNDLE_LINE_BYTES_MAX = 24 * 1024 * 1024, /* of a content: base64 of the largest */
    REC_BUNDLE_FORKS_MAX = 16,                    /* recorded by one import */
};

/* What a bundle holds. */
typedef struct {
    int64_t entries, contents, texts;
    RecHash hash; /* of all lines but the last */
} RecExported;

/* Write a bundle of all entries to the file `path`, or only of those after `known`: heads that the
 * store it is for has already, `known_count` of them (NULL when 0). The file is there whole or not
 * at all. The records are open for writing, for the station signs it. ERR_IO; ERR_DAMAGE when an
 * entry, content or text is not as it was written; ERR_RANGE over the limits above. */
MUST_USE bool rec_bundle_export(Records *records, const RecHead *known, size_t known_count,
                                const char *path, RecExported *out, Err *err);

/* Two entries of one number. */
typedef struct {
    char station[REC_ID_BYTES];
    RecNumber number;
    RecHash ours;
    RecHash theirs;
    bool is_new; /* it was not recorded here before */
} RecFork;

/* What an import did. All zeros: nothing, the store is as it was. */
typedef struct {
    int64_t added;  /* entries that are new here */
    int64_t known;  /* entries that were here already */
    int64_t erased; /* texts deleted here, because an erasure came */
    RecFork forks[REC_BUNDLE_FORKS_MAX];
    size_t fork_count;
    char from[REC_ID_BYTES];
    RecHash bundle;
} RecImported;

/* Import the bundle in the file `path` ("-": standard input). With `take_new` false a station of
 * which the store has no entry yet is refused: nothing but a person's word says that it is one of
 * the site's.
 *
 * On true *out is filled; if entries came, an entry "import" states the bundle and the stations'
 * heads, and the heads kept outside are brought up. On false the store is as it was: ERR_INPUT with
 * "path:line:column: error: ..." for what does not verify, for entries that are missing between
 * those here and the bundle's, and over the limits above; ERR_IO; ERR_DAMAGE as rec_open. */
MUST_USE bool rec_bundle_import(Records *records, const char *path, bool take_new, RecImported *out,
                                Err *err);

#endif
