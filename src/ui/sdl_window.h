/* The window: what a person does comes in as events of ui.h, pictures of the session go out. */
#ifndef UI_SDL_WINDOW_H
#define UI_SDL_WINDOW_H

#include "ui/session.h"

typedef struct {
    SessionSetup session;
    const char *language; /* BCP 47, one of those there are; NULL: the first */
    int width, height;    /* of the window at first, in the desktop's pixels */
} SdlWindowSetup;

/* Open the window and stay until it is closed; a run that is under way is then recorded as
 * broken off. ERR_IO where there is no display or no font; ERR_INPUT for an unknown language;
 * fails as session_new. */
MUST_USE bool sdl_window_run(const SdlWindowSetup *setup, Err *err);

#endif
