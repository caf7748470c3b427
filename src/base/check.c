/* What happens when one of our own promises is broken. */
#include "base/check.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

_Noreturn void check_failed(const char *file, int line, const char *condition)
{
    (void)fprintf(stderr, "threepass: %s:%d: this must hold but does not: %s\n", file, line,
                  condition);
    abort();
}

void *check_calloc(size_t count, size_t bytes)
{
    CHECK(count > 0 && bytes > 0);
    void *memory = calloc(count, bytes);
    CHECK(memory != NULL);
    return memory;
}

void *check_realloc(void *old, size_t count, size_t bytes)
{
    CHECK(count > 0 && bytes > 0 && count <= SIZE_MAX / bytes);
    void *memory = realloc(old, count * bytes);
    CHECK(memory != NULL);
    return memory;
}
