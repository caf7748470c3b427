/* How a long computation says how far it is, and hears whether to go on. */
#ifndef BASE_PROGRESS_H
#define BASE_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

/* `step` is called now and then with the part that is done, 0 to 1; false ends the computation.
 * Borrowed for the call; a NULL pointer to it is a computation that nobody waits for. */
typedef struct {
    bool (*step)(void *context, double part);
    void *context;
} Progress;

/* Tell it; false when the computation is to end. */
static inline bool progress_step(const Progress *progress, double part)
{
    return progress == NULL || progress->step(progress->context, part);
}

#endif
