/* The parts of a scenario's reader, shared by the files of this layer alone. Each reads one key of
 * `root`, the scenario's object, into *out; ERR_INPUT at the place to blame. */
#ifndef SCENARIO_READING_H
#define SCENARIO_READING_H

#include "scenario/scenario.h"

/* The scenes; that each can be reached, and that each leads to the end. */
MUST_USE bool reading_scenes(const JsonValue *root, Scenario *out, Err *err);

/* A pattern under `key`, which may be left out; what it means is the player's and the scoring's. */
MUST_USE bool reading_pattern(const JsonValue *object, const char *key, RubricPattern *out,
                              Err *err);

/* A list of min to max patterns (or names of fields) under `key`, which may be left out. */
MUST_USE bool reading_patterns(const JsonValue *object, const char *key, int min, int max,
                               RubricPattern *out, int *count, Err *err);

/* The rubric, and the scripts beside the scenario, whose critical lines it must have. */
MUST_USE bool reading_rubric(const JsonValue *root, Scenario *out, Err *err);
MUST_USE bool reading_scripts(const JsonValue *root, Scenario *out, Err *err);

/* Fail at the string `value`: WHAT "value", and the nearest of `words` (NULL-ended) or of the
 * site's pieces (its wires alone). */
bool reading_unknown(const JsonValue *value, const char *what, const char *const words[], Err *err);
bool reading_no_piece(const JsonValue *value, const Site *site, const char *what, bool only_wires,
                      Err *err);

/* Fail at the string `value`, which names a product that the line has no program for. */
bool reading_no_program(const JsonValue *value, const Site *site, const SiteLine *line, Err *err);

/* An object whose one key, "one_of", holds 2 to SCENARIO_ALTERNATIVES_MAX things, to draw from;
 * `name` is what it stands for. */
MUST_USE bool reading_one_of(const JsonValue *value, const char *name, const JsonValue **list,
                             Err *err);

/* The key "mistake", which may be left out: one of the trade's, "M1" to "M32"; "" when it is. */
MUST_USE bool reading_mistake(const JsonValue *object, const char **out, Err *err);

#endif
