/* One writing: what is done between taking the store for ourselves and the new head. Not for use
 * outside records/. */
#ifndef RECORDS_WRITING_H
#define RECORDS_WRITING_H

#include "records/head.h"

struct Records {
    RecStore *store;
    Text folder;
    Text heads; /* empty: none are kept outside */
    RecClock clock;
    char station[REC_ID_BYTES];
    unsigned char seed[REC_SEED_BYTES]; /* the station's; all zeros unless open for writing */
    int64_t start;                      /* which opening for writing this is; 0: for reading */
    Text head;                          /* as last written by us, so that it need not be checked */
    RecNumber head_number;              /* what it states */
    RecEntry last;                      /* of our last writing, so that it need not be read again */
    bool has_added;                     /* since the head outside was written */
};

/* The last entry while writing, and the times of what is added. All zeros at first. */
typedef struct {
    RecEntry last;
    int64_t time_us;
    int64_t ticks_us;
    const unsigned char *next_seed; /* the station's from this writing on; NULL: as before */
} RecWriting;

/* Start writing: nobody else writes until rec_writing_end, which follows in every case after true.
 * A head that disagrees refuses it, for adding would write a new head over the only sign that
 * something was cut off; one left behind by a program that died is brought up first. A clock entry
 * is added if the clock was moved since the last entry; after `is_new_start` the machine may have
 * been off. */
MUST_USE bool rec_writing_begin(Records *records, bool is_new_start, RecWriting *writing, Err *err);

/* Add one entry of the own station, under the rules, and make it the last. */
MUST_USE bool rec_writing_add(Records *records, RecWriting *writing, const char *author,
                              RecKind kind, const char *body, Err *err);

/* Add an entry of another station as its bytes are. Its chain, signatures and rules are the
 * caller's to check; here only that it is an entry, of no own number, and not there already
 * (ERR_INPUT). */
MUST_USE bool rec_writing_add_foreign(Records *records, const Text *bytes, Err *err);

/* End writing: with `ok` false nothing is stored, else rows first and then the head. */
MUST_USE bool rec_writing_end(Records *records, RecWriting *writing, bool ok, Err *err);

/* Store a text apart from the chain and give the commitment that the chain gets. */
MUST_USE bool rec_writing_veil(Records *records, const char *text, RecHash *commitment, Err *err);

/* The path of the station's key, and write it there. */
MUST_USE bool rec_station_seed_write(const char *folder, const char *name,
                                     const unsigned char *seed, Err *err);

/* Keep the own head outside, if heads are kept there and none further on is. Done at opening, after
 * what a person signed, and at closing. When it cannot be written the work goes on: what the head
 * outside does not state yet, rec_verify counts. */
void rec_outside_write(Records *records);

/* Keep the head of another station outside, unless one is there that goes as far; as above. */
void rec_outside_keep(Records *records, const RecSignedHead *head);

#endif
