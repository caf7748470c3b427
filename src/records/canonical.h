/* One spelling for each value: JSON by the canonicalisation scheme of RFC 8785 (JCS), so that the
 * same content always has the same bytes and the same hash. */
#ifndef RECORDS_CANONICAL_H
#define RECORDS_CANONICAL_H

#include "base/err.h"
#include "base/text.h"
#include "scenario/json.h"

/* Append `value` to `out` in canonical form: no spaces, keys sorted by their UTF-16 code units,
 * text as it is with the fewest escapes.
 *
 * Of the numbers only those whose value is whole and within ±(2^53 - 1) are taken, and null is not:
 * what is recorded must read alike in every program. Fails with ERR_INPUT at the value's place;
 * `out` is then as it was.
 */
MUST_USE bool rec_canonical(const JsonValue *value, Text *out, Err *err);

#endif
