/* Messages about what the world did wrong. */
#include "base/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Control characters would break the promise of one line, and could fool a terminal. */
static void keep_on_one_line(char *text)
{
    for (; *text != '\0'; text++) {
        if ((unsigned char)*text < 0x20 || *text == 0x7f) *text = '?';
    }
}

bool err_set(Err *err, ErrCode code, const char *format, ...)
{
    CHECK(err != NULL && code != ERR_NONE);
    err->code = code;
    va_list args;
    va_start(args, format);
    (void)vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    keep_on_one_line(err->text);
    return false;
}

bool err_at(Err *err, ErrPlace place, const char *format, ...)
{
    char text[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(text, sizeof text, format, args);
    va_end(args);
    return err_set(err, ERR_INPUT, "%s:%d:%d: error: %s", place.file, place.line, place.column,
                   text);
}

void err_context(Err *err, const char *format, ...)
{
    CHECK(err != NULL && err->code != ERR_NONE);
    char before[ERR_TEXT_BYTES];
    char after[ERR_TEXT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(before, sizeof before, format, args);
    va_end(args);
    memcpy(after, err->text, sizeof after);
    (void)err_set(err, err->code, "%s: %s", before, after);
}

bool err_goes_on(Err *err)
{
    if (err->hear == NULL) return false;
    if (err->text[0] != '\0') err->hear(err->context, err->text);
    err->code = ERR_NONE;
    err->text[0] = '\0';
    return true;
}
