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

/* The next 64 bits. */
uint64_t random_next(Random *random);

/* The next double, uniform in [0, 1), a multiple of 2^-53. */
double random_unit(Random *random);

/* Two independent normals of mean 0 and standard deviation 1 (Box & Muller, Ann. Math. Stat. 29
 * (1958) 610). */
void random_normals(Random *random, double *first, double *second);

/* A whole number from 0 to count - 1, without bias; count at least 1. */
uint64_t random_below(Random *random, uint64_t count);

#endif
