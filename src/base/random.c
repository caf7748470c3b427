/* The generator of all luck in a run. */
#include "base/random.h"

#include <math.h>

#include "base/check.h"

static uint64_t rotate_left(uint64_t x, int by)
{
    return (x << by) | (x >> (64 - by));
}

void random_init(Random *random, uint64_t seed)
{
    for (int i = 0; i < 4; i++) {
        seed += 0x9e3779b97f4a7c15u;
        uint64_t z = seed;
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        random->state[i] = z ^ (z >> 31);
    }
}

uint64_t random_next(Random *random)
{
    uint64_t *s = random->state;
    uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

double random_unit(Random *random)
{
    return (double)(random_next(random) >> 11) * 0x1p-53;
}

void random_normals(Random *random, double *first, double *second)
{
    double radius = sqrt(-2.0 * log(1.0 - random_unit(random)));
    double angle = 6.283185307179586 * random_unit(random);
    *first = radius * cos(angle);
    *second = radius * sin(angle);
}

uint64_t random_below(Random *random, uint64_t count)
{
    CHECK(count >= 1);
    uint64_t limit = UINT64_MAX - UINT64_MAX % count;
    uint64_t draw;
    do {
        draw = random_next(random);
    } while (draw >= limit);
    return draw % count;
}
