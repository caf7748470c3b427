/* Random numbers that a seed gives back bit for bit, on every machine. */
#ifndef BASE_RANDOM_H
#define BASE_RANDOM_H

#include <stdint.h>

/* xoshiro256** 1.0 (Blackman & Vigna, ACM TOMS 47 (2021) 36), seeded by splitmix64. */
typedef struct {
    uint64_t state[4];
} Random;

/* Start a stream; every seed, 0 too, gives a good one. */
void random_init(Random *random, uint64_t seed);

/* x turned left by 1 to 63 bits. */
static inline uint64_t random_rotated(uint64_t x, int by)
{
    return (x << by) | (x >> (64 - by));
}

/* The next 64 bits; here, as millions of trials draw them. */
static inline uint64_t random_next(Random *random)
{
    uint64_t *s = random->state;
    uint64_t result = random_rotated(s[1] * 5, 7) * 9;
    uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = random_rotated(s[3], 45);
    return result;
}

/* The next double, uniform in [0, 1), a multiple of 2^-53. */
static inline double random_unit(Random *random)
{
    return (double)(random_next(random) >> 11) * 0x1p-53;
}

/* Two independent normals of mean 0 and standard deviation 1 (Box & Muller, Ann. Math. Stat. 29
 * (1958) 610). */
void random_normals(Random *random, double *first, double *second);

/* The same from two units already drawn, in this order. */
void random_normals_of(const double units[2], double *first, double *second);

/* A whole number from 0 to count - 1, without bias; count at least 1. */
uint64_t random_below(Random *random, uint64_t count);

#endif
