/* The runs of a store, gathered scenario by scenario for the figures of items. */
#ifndef APP_GATHER_H
#define APP_GATHER_H

#include "app/app.h"
#include "scoring/items.h"

typedef struct {
    bool first_only;    /* each person's first run of a scenario alone: before it taught them */
    bool with_scripted; /* runs from scripts too, which are no evidence of what people can do */
} GatherSetup;

/* Runs of the same scenario, to the byte: another wording may be another question. */
typedef struct {
    RecHash scenario;
    Work *work; /* of the first of them */
    Items *items;
    char (*people)[REC_ID_BYTES]; /* who played it */
    size_t people_count, people_capacity;
} GatherGroup;

/* All zeros is empty; gather_clear ends it. */
typedef struct {
    GatherGroup *groups; /* in the order in which they were first played */
    size_t count;
    size_t scripted; /* runs that were left out because they are scripted */
} Gather;

/* Read every run of an open store into `out`, which is all zeros. Runs are scored anew from their
 * stored happenings. ERR_IO, ERR_DAMAGE, ERR_INPUT; `out` is then empty. */
MUST_USE bool gather_runs(Records *records, const GatherSetup *setup, Gather *out, Err *err);
void gather_clear(Gather *gather);

#endif
