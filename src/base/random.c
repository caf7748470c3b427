/* The generator of all luck in a run. */
#include "base/random.h"

#include <math.h>

#include "base/check.h"

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

void random_normals(Random *random, double *first, double *second)
{
    double units[2];
    units[0] = random_unit(random);
    units[1] = random_unit(random);
    random_normals_of(units, first, second);
}

void random_normals_of(const double units[2], double *first, double *second)
{
    double radius = sqrt(-2.0 * log(1.0 - units[0]));
    double angle = 6.283185307179586 * units[1];
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
