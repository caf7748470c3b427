/* How long the detector computes, in this process and of its own processor time:
 *
 *   bench_detector [NUMPY]    NUMPY: what `tools/numpy_detector.py --time` printed
 *
 * The descriptions are the ones that numpy is timed with: the member "timed" of
 * tests/data/numpy_cases.json. Each is computed again and again; medians count, as the machine may
 * do other things as well. With NUMPY the ratio stands beside each. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "scenario/describe.h"

enum { TIMES_MAX = 201 };

#define CASES "tests/data/numpy_cases.json"

static void fail(const Err *err)
{
    (void)fprintf(stderr, "bench_detector: %s\n", err->text);
    exit(2);
}

static double now_s(void)
{
    return (double)clock() / CLOCKS_PER_SEC;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double time_pass(const JsonValue *value, const MetalTable *metals)
{
    Err err = {0};
    PassDescription pass = {0};
    PassResult result = {0};
    if (!describe_pass(value, metals, &pass, &err)) fail(&err);
    double began = now_s();
    for (int i = 0; i < 20; i++) {
        pass_result_clear(&result);
        if (!pass_compute(&pass, &result, &err)) fail(&err);
    }
    double took = (now_s() - began) / 20.0;
    pass_result_clear(&result);
    pass_description_clear(&pass);
    return took;
}

static double time_map(const JsonValue *value, const MetalTable *metals)
{
    Err err = {0};
    SensitivityDescription map = {0};
    SensitivityResult result = {0};
    if (!describe_sensitivity(value, metals, &map, &err)) fail(&err);
    double began = now_s();
    if (!sensitivity_compute(&map, NULL, &result, &err)) fail(&err);
    double took = now_s() - began;
    sensitivity_result_clear(&result);
    sensitivity_description_clear(&map);
    return took;
}

/* Seconds of a million trials, by as many as `trials`. */
static double time_pod(const JsonValue *value, const MetalTable *metals, uint64_t trials,
                       PodPlace place)
{
    Err err = {0};
    PodDescription pod = {0};
    PodResult result;
    if (!describe_pod(value, metals, &pod, &err)) fail(&err);
    pod.trials = trials;
    pod.place = place;
    double began = now_s();
    if (!pod_compute(&pod, NULL, &result, &err)) fail(&err);
    double took = (now_s() - began) * 1e6 / (double)trials;
    pass_description_clear(&pod.pass);
    return took;
}

static double time_pod_fixed(const JsonValue *value, const MetalTable *metals)
{
    return time_pod(value, metals, 1000000, POD_FIXED);
}

static double time_pod_tenth(const JsonValue *value, const MetalTable *metals)
{
    return time_pod(value, metals, 100000, POD_FIXED);
}

static double time_pod_pack(const JsonValue *value, const MetalTable *metals)
{
    return time_pod(value, metals, 10000, POD_PACK);
}

static const struct {
    const char *name, *description, *numpy; /* members of the two files */
    double (*run)(const JsonValue *value, const MetalTable *metals);
    int times;
    double goal; /* times as fast as numpy */
} ROWS[] = {
    {"a pass of 1201 points in product", "pass", "pass_s", time_pass, 101, 10000},
    {"a map of 101 x 51, eight metals", "map", "map_s", time_map, 21, 3000},
    {"a million trials at one place", "pod", "pod_fixed_s", time_pod_fixed, 5, 10000},
    {"the same from a tenth as many", "pod", "pod_fixed_s", time_pod_tenth, 5, 10000},
    {"a million trials anywhere in a pack", "pod", "pod_pack_s", time_pod_pack, 5, 10000},
};

int main(int argc, char **argv)
{
    Err err = {0};
    JsonDoc *cases = NULL;
    JsonDoc *numpy = NULL;
    MetalTable *metals = NULL;
    if (!json_load(CASES, &cases, &err)) fail(&err);
    if (!metals_load("assets/metals.json", &metals, &err)) fail(&err);
    if (argc > 1 && !json_load(argv[1], &numpy, &err)) fail(&err);
    (void)printf("%-38s %14s %14s %10s %10s\n", "", "median s", "numpy s", "ratio", "goal");
    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        double times[TIMES_MAX];
        const JsonValue *value = json_get(json_get(json_root(cases), "timed"), ROWS[i].description);
        for (int k = 0; k < ROWS[i].times; k++) {
            times[k] = ROWS[i].run(value, metals);
        }
        qsort(times, (size_t)ROWS[i].times, sizeof times[0], by_size);
        double median = times[ROWS[i].times / 2];
        (void)printf("%-38s %14.6g", ROWS[i].name, median);
        const JsonValue *slow = numpy == NULL ? NULL : json_get(json_root(numpy), ROWS[i].numpy);
        if (slow != NULL) {
            double seconds = json_number(slow);
            (void)printf(" %14.6g %10.0f %10.0f", seconds, seconds / median, ROWS[i].goal);
        }
        (void)printf("\n");
    }
    json_free(cases);
    json_free(numpy);
    metals_free(metals);
    return 0;
}
