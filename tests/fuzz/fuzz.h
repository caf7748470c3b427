/* What each fuzzer defines: libFuzzer calls it, or main.c does. */
#ifndef TESTS_FUZZ_FUZZ_H
#define TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

/* Take any bytes; always returns 0. What goes wrong ends the program. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count);

#endif
