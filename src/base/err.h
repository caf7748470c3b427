/* What the world did wrong: a bad file, a full disk. One code and one line of English. */
#ifndef BASE_ERR_H
#define BASE_ERR_H

#include <stdbool.h>
#include <stdint.h>

#include "base/check.h"

enum { ERR_TEXT_BYTES = 1024 };

typedef enum {
    ERR_NONE,
    ERR_INPUT,   /* a file or text says something that cannot be taken */
    ERR_IO,      /* the disk, a folder or a database refused */
    ERR_RANGE,   /* a value or a size is beyond its limit */
    ERR_DAMAGE,  /* stored records are not what was written */
    ERR_STOPPED, /* the person did not wait for the answer */
} ErrCode;

/* Hears of an error after which a reader can go on. */
typedef void ErrHear(void *context, const char *text);

/* All zeros: no error yet. `text` is one line of UTF-8 without an end of line. With `hear` a reader
 * that can go on after an error does, and hands each over; it still ends with false, and `text` is
 * then empty when all were handed over. */
typedef struct {
    ErrCode code;
    ErrHear *hear; /* NULL: the first error ends the reading */
    void *context;
    char text[ERR_TEXT_BYTES];
} Err;

/* A place in a text file; `file` is borrowed, lines and columns (in bytes) count from 1. */
typedef struct {
    const char *file;
    int line;
    int column;
} ErrPlace;

/* Fill `err`; a text too long is cut. Always returns false: `return err_set(...)`. */
bool err_set(Err *err, ErrCode code, const char *format, ...) PRINTF_LIKE(3, 4);

/* Fill `err` with ERR_INPUT and "file:line:column: error: text". Always returns false. */
bool err_at(Err *err, ErrPlace place, const char *format, ...) PRINTF_LIKE(3, 4);

/* Hand over what `err` says, which is then nothing; false when nobody hears. */
MUST_USE bool err_goes_on(Err *err);

/* Put "text: " in front of what `err` says already. */
void err_context(Err *err, const char *format, ...) PRINTF_LIKE(2, 3);

#endif
