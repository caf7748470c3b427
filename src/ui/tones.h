/* The window's sounds, computed. Each repeats what is already seen; none lasts a second. */
#ifndef UI_TONES_H
#define UI_TONES_H

#include "ui/session.h"

enum {
    TONES_RATE_HZ = 48000,
    TONES_SAMPLES_MAX = TONES_RATE_HZ / 2, /* of one sound */
};

/* The sound as samples from -1 to 1 into `out`, room for TONES_SAMPLES_MAX; returns how many. */
size_t tones_make(Sound sound, float *out);

#endif
