/* Pictures of every place, made by playing the example through the session that the window
 * shows. */
#ifndef UI_PICTURES_H
#define UI_PICTURES_H

#include "ui/session.h"

/* Write them as PNG files named by their places into `folder`, which is made; needs no display.
 * Runs are recorded in the setup's store as played by a script. Appends the files' names, one a
 * line, to `names`. `scenario` is a file of the site whose right script stands beside it.
 * ERR_IO, ERR_INPUT. */
MUST_USE bool pictures_write(const SessionSetup *setup, const char *scenario, const char *folder,
                             Text *names, Err *err);

#endif
