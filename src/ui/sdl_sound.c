/* Queues the computed sounds to SDL's audio device. */
#include "ui/sdl_sound.h"

#include <stdlib.h>

#include <SDL2/SDL.h>

#include "ui/tones.h"

enum { LATE_SAMPLES = TONES_RATE_HZ / 2, BUFFER_SAMPLES = 1024 };

struct SdlSound {
    bool is_tried;
    SDL_AudioDeviceID device; /* 0: none */
    float samples[TONES_SAMPLES_MAX];
};

SdlSound *sdl_sound_new(void)
{
    return check_calloc(1, sizeof(SdlSound));
}

void sdl_sound_free(SdlSound *sound)
{
    if (sound == NULL) return;
    if (sound->device != 0) SDL_CloseAudioDevice(sound->device);
    if (sound->is_tried) SDL_QuitSubSystem(SDL_INIT_AUDIO);
    free(sound);
}

static void open_device(SdlSound *sound)
{
    SDL_AudioSpec want = {
        .freq = TONES_RATE_HZ, .format = AUDIO_F32SYS, .channels = 1, .samples = BUFFER_SAMPLES};
    if (SDL_InitSubSystem(SDL_INIT_AUDIO) != 0) return;
    sound->is_tried = true;
    sound->device = SDL_OpenAudioDevice(NULL, 0, &want, NULL, 0);
    if (sound->device != 0) SDL_PauseAudioDevice(sound->device, 0);
}

void sdl_sound_play(SdlSound *sound, Sound which)
{
    if (!sound->is_tried) open_device(sound);
    if (sound->device == 0) return;
    if (SDL_GetQueuedAudioSize(sound->device) > LATE_SAMPLES * sizeof(float)) return;
    size_t count = tones_make(which, sound->samples);
    (void)SDL_QueueAudio(sound->device, sound->samples, (Uint32)(count * sizeof(float)));
}
