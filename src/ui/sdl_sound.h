/* The window's sounds through SDL, where there is a device; silence where there is none. */
#ifndef UI_SDL_SOUND_H
#define UI_SDL_SOUND_H

#include "ui/session.h"

typedef struct SdlSound SdlSound;

/* Ready for sounds; the device is opened with the first. The caller ends it with sdl_sound_free. */
MUST_USE SdlSound *sdl_sound_new(void);
void sdl_sound_free(SdlSound *sound);

/* Play it behind those that still play; nothing when they would make it late. */
void sdl_sound_play(SdlSound *sound, Sound which);

#endif
