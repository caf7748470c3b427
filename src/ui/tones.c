/* Sine tones with ramps, and low noise. */
#include "ui/tones.h"

#include <math.h>
#include <string.h>

#include "base/random.h"

#define PI 3.14159265358979323846

enum { RAMP_MS = 10, PARTS_MAX = 3, NOISE_HZ = 1000, NOISE_POLES = 3 };

#define LOUDNESS 0.4

typedef struct {
    int hz; /* 0: a pause */
    int ms;
} Part;

static const Part sounds[SOUND_COUNT][PARTS_MAX] = {
    [SOUND_FOUND] = {{660, 200}, {0, 60}, {660, 200}}, [SOUND_BLOW] = {{NOISE_HZ, 120}},
    [SOUND_STOP] = {{220, 180}, {165, 180}},           [SOUND_START] = {{165, 180}, {220, 180}},
    [SOUND_WRITTEN] = {{440, 70}, {587, 90}},          [SOUND_REFUSED] = {{196, 150}},
};

/* From 0 up to 1 and back again at the ends, so that nothing clicks. */
static double ramp(size_t at, size_t count)
{
    double length = TONES_RATE_HZ * RAMP_MS / 1000.0;
    double to_end = (double)(count - 1 - at);
    return fmin(1.0, fmin((double)at, to_end) / length);
}

static void add_sine(int hz, size_t count, float *out)
{
    for (size_t i = 0; i < count; i++) {
        double phase = 2.0 * PI * hz * (double)i / TONES_RATE_HZ;
        out[i] = (float)(LOUDNESS * sin(phase) * ramp(i, count));
    }
}

/* White noise through a few equal low-passes of one pole. */
static void add_noise(size_t count, float *out)
{
    Random random;
    double poles[NOISE_POLES] = {0.0};
    double keep = exp(-2.0 * PI * NOISE_HZ / TONES_RATE_HZ);
    random_init(&random, 1);
    for (size_t i = 0; i < count; i++) {
        double value = 2.0 * random_unit(&random) - 1.0;
        for (int p = 0; p < NOISE_POLES; p++) {
            poles[p] = keep * poles[p] + (1.0 - keep) * value;
            value = poles[p];
        }
        out[i] = (float)(fmin(fmax(4.0 * LOUDNESS * value, -1.0), 1.0) * ramp(i, count));
    }
}

size_t tones_make(Sound sound, float *out)
{
    size_t len = 0;
    for (int p = 0; p < PARTS_MAX; p++) {
        const Part *part = &sounds[sound][p];
        size_t count = (size_t)part->ms * (TONES_RATE_HZ / 1000);
        CHECK(len + count <= TONES_SAMPLES_MAX);
        if (part->hz == 0)
            memset(out + len, 0, count * sizeof *out);
        else if (sound == SOUND_BLOW)
            add_noise(count, out + len);
        else
            add_sine(part->hz, count, out + len);
        len += count;
    }
    return len;
}
