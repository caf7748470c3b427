/* The nearest known word. */
#include "scenario/suggest.h"

#include <string.h>

#include "base/text.h"

enum { NEAR_BYTES_MAX = 100 }; /* text_distance tells nothing of longer ones */

const char *suggest_word(const char *word, const char *const words[])
{
    size_t len = strlen(word);
    int near = len < 9 ? 2 : len < NEAR_BYTES_MAX ? (int)len / 3 : 0;
    const char *best = NULL;
    for (size_t i = 0; words[i] != NULL; i++) {
        int distance = text_distance(word, words[i]);
        /* Replacing more than half of a short word is no likeness. */
        if (distance > near || 2 * distance > (int)strlen(words[i])) continue;
        near = distance - 1;
        best = words[i];
    }
    return best;
}

bool suggest_fail(ErrPlace place, const char *text, const char *word, const char *const words[],
                  Err *err)
{
    const char *near = suggest_word(word, words);
    if (near == NULL) return err_at(err, place, "%s", text);
    return err_at(err, place, "%s; did you mean \"%s\"?", text, near);
}
