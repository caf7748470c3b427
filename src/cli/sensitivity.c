/* threepass sensitivity: the smallest sphere found, metal by metal and place by place. */
#include <stdlib.h>

#include "cli/cli.h"
#include "scenario/describe.h"

typedef struct {
    SensitivityDescription description;
    SensitivityResult result;
} MapWork;

static const char *metal_name(const JsonValue *root, size_t metal)
{
    const JsonValue *item = json_at(json_get(root, "metals"), metal);
    return json_string(json_kind(item) == JSON_STRING ? item : json_get(item, "name"));
}

/* The places are the description's own numbers, or computed as the map's are. */
static void place_mm(const JsonValue *root, size_t place, double at[2])
{
    const JsonValue *map = json_get(root, "map");
    const JsonValue *head = json_get(root, "head");
    if (map == NULL) {
        const JsonValue *item = json_at(json_get(root, "at_mm"), place);
        at[0] = json_number(json_at(item, 0));
        at[1] = json_number(json_at(item, 1));
        return;
    }
    int64_t across = (int64_t)json_number(json_get(map, "across"));
    int64_t up = (int64_t)json_number(json_get(map, "up"));
    at[0] = describe_map_place(json_number(json_get(head, "aperture_width_mm")),
                               (int64_t)place % across, across);
    at[1] = describe_map_place(json_number(json_get(head, "aperture_height_mm")),
                               (int64_t)place / across, up);
}

static void add_json(Text *out, const JsonValue *root, const void *work)
{
    const SensitivityDescription *description = &((const MapWork *)work)->description;
    const SensitivityResult *result = &((const MapWork *)work)->result;
    text_add(out, "{ \"points\": [");
    for (size_t i = 0; i < description->place_count; i++) {
        double at[2];
        place_mm(root, i, at);
        text_add(out, i == 0 ? "\n  { \"at_mm\": " : ",\n  { \"at_mm\": ");
        cli_add_numbers(out, at, 2);
        text_add(out, ", \"smallest_mm\": {");
        for (size_t m = 0; m < description->metal_count; m++) {
            const SensitivityAnswer *answer = &result->answers[i * description->metal_count + m];
            text_addf(out, "%s\"%s\": ", m == 0 ? "" : ", ", metal_name(root, m));
            if (answer->found)
                json_add_number(out, answer->diameter_m * 1e3);
            else
                text_add(out, "null");
        }
        text_add(out, "} }");
    }
    text_add(out, "\n] }\n");
}

enum { WORDS_PLACES_MAX = 20 };

/* Of a map people get each metal's best and worst place; of a few places every one. */
static void add_every_place(Text *out, const JsonValue *root,
                            const SensitivityDescription *description,
                            const SensitivityResult *result)
{
    for (size_t i = 0; i < description->place_count; i++) {
        double at[2];
        place_mm(root, i, at);
        text_addf(out, "%8.4g mm across, %8.4g mm up\n", at[0], at[1]);
        for (size_t m = 0; m < description->metal_count; m++) {
            const SensitivityAnswer *answer = &result->answers[i * description->metal_count + m];
            text_addf(out, "    %-20s ", metal_name(root, m));
            if (answer->found)
                text_addf(out, "%.3g mm\n", answer->diameter_m * 1e3);
            else
                text_add(out, "none up to the aperture's height\n");
        }
    }
}

static void add_extremes(Text *out, const JsonValue *root,
                         const SensitivityDescription *description, const SensitivityResult *result)
{
    size_t metals = description->metal_count;
    for (size_t m = 0; m < metals; m++) {
        size_t best = 0;
        size_t worst = 0;
        size_t none = 0;
        for (size_t i = 0; i < description->place_count; i++) {
            const SensitivityAnswer *answer = &result->answers[i * metals + m];
            none += !answer->found;
            if (!answer->found) continue;
            if (answer->diameter_m < result->answers[best * metals + m].diameter_m ||
                !result->answers[best * metals + m].found) {
                best = i;
            }
            if (answer->diameter_m > result->answers[worst * metals + m].diameter_m) worst = i;
        }
        double near[2];
        double far[2];
        place_mm(root, best, near);
        place_mm(root, worst, far);
        text_addf(out, "%-20s", metal_name(root, m));
        if (none < description->place_count) {
            text_addf(out, " from %.3g mm at [%.4g, %.4g] to %.3g mm at [%.4g, %.4g]",
                      result->answers[best * metals + m].diameter_m * 1e3, near[0], near[1],
                      result->answers[worst * metals + m].diameter_m * 1e3, far[0], far[1]);
        }
        if (none > 0) text_addf(out, " none up to the aperture's height at %zu places", none);
        text_add(out, "\n");
    }
}

static void add_words(Text *out, const JsonValue *root, const void *work)
{
    const SensitivityDescription *description = &((const MapWork *)work)->description;
    const SensitivityResult *result = &((const MapWork *)work)->result;
    text_addf(out, "smallest sphere with %.4g times the limit or more, it and every larger one\n",
              result->wanted_ratio);
    if (description->place_count <= WORDS_PLACES_MAX)
        add_every_place(out, root, description, result);
    else
        add_extremes(out, root, description, result);
    if (!pass_head_is_plausible(&description->pass.head.coils)) {
        text_add(out, "note     receivers so far apart: the centre may not be the weakest place\n");
    }
    text_add(out, "note     a model's answer; only test pieces tell what the real detector does\n");
}

static bool describe(const JsonValue *root, const MetalTable *metals, void *work, Err *err)
{
    MapWork *map = work;
    return describe_sensitivity(root, metals, &map->description, err);
}

static bool compute(void *work, const Progress *progress, Err *err)
{
    MapWork *map = work;
    return sensitivity_compute(&map->description, progress, &map->result, err);
}

static void clear(void *work)
{
    MapWork *map = work;
    sensitivity_result_clear(&map->result);
    sensitivity_description_clear(&map->description);
}

int verb_sensitivity(int argc, char **argv, const CliFront *front)
{
    static const CliComputing computing = {sizeof(MapWork), describe,  compute,
                                           add_json,        add_words, clear};
    (void)front;
    return cli_compute(argc, argv, &computing);
}
