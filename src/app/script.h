/* Playing a run from a text: what a person would do, line by line.
 *
 *   # a remark                     nothing
 *   +800ms take piece=SS-25-07     that much later (us, ms, s or min), do this
 *   take piece=SS-25-07            do it at once
 *   until removed pack=3           wait until this happens, counted from the last action on
 *
 * A mark of UTF-8 (BOM) may stand before the first line. Places and turns are as in the log:
 * micrometres, thousandths of a degree.
 */
#ifndef APP_SCRIPT_H
#define APP_SCRIPT_H

#include "app/app.h"

enum { SCRIPT_BYTES_MAX = 1024 * 1024, SCRIPT_LINE_BYTES_MAX = 900 };

/* Read the whole text without playing it, and see that each word of a field that has a fixed set
 * of them, or names a piece, a program or a row, is one of those. ERR_INPUT at the line to blame,
 * where the words that can stand there are listed; with err->hear at each such line. What a field
 * may hold and cannot do is the run's to say. */
MUST_USE bool script_check(const Scenario *scenario, const char *file, const char *bytes,
                           size_t len, Err *err);

/* Play the text through the door, then let the run go to its end. `file` names it in messages.
 * False with ERR_INPUT at the line to blame: no such action, or a wait for what never happened; the
 * run then stands where it was. */
MUST_USE bool script_play(AppRun *run, const char *file, const char *bytes, size_t len, Err *err);

/* Append what a person did in a run as a script: every action with its wait, the others left out.
 * Played with the run's seed it gives the same log. */
void script_print(const LogLine *log, size_t count, Text *out);

#endif
