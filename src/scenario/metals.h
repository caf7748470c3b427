/* The metals that the program knows: data from assets/metals.json, each figure with its source.
 *
 * The relative permeability is one number for every frequency, a simplification for steels; each
 * metal's note says how far it goes.
 */
#ifndef SCENARIO_METALS_H
#define SCENARIO_METALS_H

#include "detector/target.h"
#include "scenario/json.h"

enum { METALS_COUNT_MAX = 100 };

/* The three groups that the shop floor speaks of. */
typedef enum { METAL_FERROUS, METAL_NON_FERROUS, METAL_STAINLESS } MetalGroup;

typedef struct {
    const char *name; /* an id: "carbon-steel" */
    MetalGroup group;
    const char *condition; /* "annealed" */
    TargetMetal figures;   /* at at_c */
    double at_c;
    double resistivity_uncertainty; /* relative: 0.03 is 3 parts in 100 either way */
    double resistivity_per_k;       /* relative change for each kelvin */
    double relative_permeability_low, relative_permeability_high; /* the range to expect */
    const char *resistivity_source;
    const char *relative_permeability_source;
    const char *note;
} Metal;

typedef struct MetalTable MetalTable;

/* Read and check a table from its text; `file` names it in messages. On true the caller ends *out
 * with metals_free. Fails with ERR_INPUT. */
MUST_USE bool metals_parse(const char *file, const char *bytes, size_t len, MetalTable **out,
                           Err *err);

/* Read and check the table in the file `path`. On true the caller ends *out with metals_free. Fails
 * with ERR_IO or ERR_INPUT. */
MUST_USE bool metals_load(const char *path, MetalTable **out, Err *err);

/* End a table and every metal in it; takes NULL. */
void metals_free(MetalTable *table);

/* The metals in the file's order; the index is below the count. Borrowed from the table. */
size_t metals_count(const MetalTable *table);
const Metal *metals_at(const MetalTable *table, size_t index);

/* The metal called `name`, or NULL. */
const Metal *metals_find(const MetalTable *table, const char *name);

/* The metal that the string under `key` of `object` names goes to *out. Fails with ERR_INPUT at the
 * string, with every known name and the nearest. */
MUST_USE bool metals_read(const MetalTable *table, const JsonValue *object, const char *key,
                          const Metal **out, Err *err);

/* The same of a string that is no member, called `name` in the message. */
MUST_USE bool metals_want(const MetalTable *table, const JsonValue *value, const char *name,
                          const Metal **out, Err *err);

/* "ferrous", "non-ferrous" or "stainless". */
const char *metals_group_word(MetalGroup group);

#endif
