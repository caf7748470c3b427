/* The nearest known word to a misspelt one, for "did you mean". */
#ifndef SCENARIO_SUGGEST_H
#define SCENARIO_SUGGEST_H

#include "base/err.h"

/* The word of `words` (NULL-ended) nearest to `word`, the first on a tie; NULL when none is near:
 * at most two edits away, or a third of the length, and not over half of it. Borrowed from
 * `words`. */
const char *suggest_word(const char *word, const char *const words[]);

/* Fail at `place` with `text` and, where one of `words` is near to `word`, "; did you mean". */
bool suggest_fail(ErrPlace place, const char *text, const char *word, const char *const words[],
                  Err *err);

#endif
