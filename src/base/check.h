/* Our own mistakes: a broken precondition, an impossible branch, memory that is out. */
#ifndef BASE_CHECK_H
#define BASE_CHECK_H

#include <stddef.h>

#define MUST_USE __attribute__((warn_unused_result))
#define PRINTF_LIKE(at, first) __attribute__((format(printf, at, first)))

/* Stop the program with the place and the condition when `x` does not hold; in release builds
 * too. */
#define CHECK(x) ((x) ? (void)0 : check_failed(__FILE__, __LINE__, #x))

/* Print the failed condition to standard error and abort; never returns. */
_Noreturn void check_failed(const char *file, int line, const char *condition);

/* Zeroed memory of count × bytes, both at least 1; stops the program when there is none. */
MUST_USE void *check_calloc(size_t count, size_t bytes);

/* `old` (NULL or from here) grown or shrunk to count × bytes; stops the program when out of
 * memory. */
MUST_USE void *check_realloc(void *old, size_t count, size_t bytes);

#endif
