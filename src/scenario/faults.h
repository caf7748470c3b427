/* Reading the faults of a scenario, shared by the files of this layer alone. */
#ifndef SCENARIO_FAULTS_H
#define SCENARIO_FAULTS_H

#include "scenario/scenario.h"

/* Read "faults" of the scenario's object, if it has any, into *out, whose line, product and kit are
 * read. ERR_INPUT at the place to blame. */
MUST_USE bool faults_read(const JsonValue *root, Scenario *out, Err *err);

#endif
