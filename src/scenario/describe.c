/* The descriptions of a pass and of what is made of many. */
#include "scenario/describe.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PLACE_MM_MAX 1e6
#define LENGTH_MM_MAX 5000.0
#define VARIATION_MAX 1000.0
#define COLUMNS_MAX 50
#define SEED_MAX 9007199254740991 /* 2^53 - 1: every number that JSON readers agree on */

/* One number of an object and where its SI value goes. */
typedef struct {
    const char *key;
    double min, max;
    double per_unit; /* the file's number is divided by this: 0.7 mm is the double next to 7e-4 m */
    double *out;
} Figure;

static bool read_figures(const JsonValue *object, const Figure figures[], size_t count, Err *err)
{
    for (size_t i = 0; i < count; i++) {
        const Figure *figure = &figures[i];
        double value = 0;
        if (!json_read_number(object, figure->key, true, figure->min, figure->max, &value, err)) {
            return false;
        }
        *figure->out = value / figure->per_unit;
    }
    return true;
}

/* The same, and 0 itself is refused. */
static bool read_lengths(const JsonValue *object, const Figure figures[], size_t count, Err *err)
{
    if (!read_figures(object, figures, count, err)) return false;
    for (size_t i = 0; i < count; i++) {
        if (*figures[i].out > 0) continue;
        return err_at(err, json_place(json_get(object, figures[i].key)),
                      "%s is 0, limit above 0 to %g", figures[i].key, figures[i].max);
    }
    return true;
}

/* An array of `count` numbers from -max to max. */
static bool read_array(const JsonValue *value, const char *name, size_t count, double max,
                       double out[], Err *err)
{
    if (!json_want_array(value, name, count, count, err)) return false;
    for (size_t i = 0; i < count; i++) {
        const JsonValue *element = json_at(value, i);
        if (json_kind(element) != JSON_NUMBER) {
            return err_at(err, json_place(element), "%s[%zu]: must be a number", name, i);
        }
        out[i] = json_number(element);
        if (!(fabs(out[i]) <= max)) {
            return err_at(err, json_place(element), "%s[%zu] is %.15g, limit %g..%g", name, i,
                          out[i], -max, max);
        }
    }
    return true;
}

/* noise_nv comes last in the two tables, and a head to be fitted has none. */
static bool read_head(const JsonValue *value, bool has_noise, DetectHead *head, Err *err)
{
    const char *const keys[] = {"aperture_width_mm",
                                "aperture_height_mm",
                                "coil_clearance_mm",
                                "receiver_offset_mm",
                                "frequency_khz",
                                "false_reject_rate",
                                has_noise ? "noise_nv" : NULL,
                                NULL};
    const Figure lengths[] = {
        {"aperture_width_mm", 20, 3000, 1e3, &head->coils.aperture_width_m},
        {"aperture_height_mm", 20, 3000, 1e3, &head->coils.aperture_height_m},
        {"coil_clearance_mm", 1, 500, 1e3, &head->coils.clearance_m},
        {"receiver_offset_mm", 0, LENGTH_MM_MAX, 1e3, &head->coils.receiver_offset_m},
    };
    const Figure figures[] = {
        {"frequency_khz", 0.1, 2000, 1, &head->frequency_hz},
        {"false_reject_rate", 1e-15, 0.5, 1, &head->false_reject_rate},
        {"noise_nv", 0, 1e6, 1e9, &head->noise_v},
    };
    size_t figure_count = sizeof figures / sizeof figures[0] - (has_noise ? 0 : 1);
    if (!json_want_object(value, "head", keys, err)) return false;
    if (!read_lengths(value, lengths, sizeof lengths / sizeof lengths[0], err)) return false;
    if (!read_figures(value, figures, figure_count, err)) return false;
    head->frequency_hz *= 1e3;
    return true;
}

static bool read_columns(const JsonValue *product, ProductBlock *block, Err *err)
{
    const JsonValue *value = NULL;
    int *const out[] = {&block->columns_across, &block->columns_up};
    if (!json_need(product, "columns", &value, err)) return false;
    if (!json_want_array(value, "columns", 2, 2, err)) return false;
    for (size_t i = 0; i < 2; i++) {
        const JsonValue *element = json_at(value, i);
        int64_t count = 0;
        if (!json_is_integer(element, &count)) {
            return err_at(err, json_place(element), "columns[%zu]: must be a whole number", i);
        }
        if (count < 1 || count > COLUMNS_MAX) {
            return err_at(err, json_place(element), "columns[%zu] is %lld, limit 1..%d", i,
                          (long long)count, COLUMNS_MAX);
        }
        *out[i] = (int)count;
    }
    return true;
}

static bool read_product(const JsonValue *value, const char *name, ProductBlock *block, Err *err)
{
    static const char *const keys[] = {"length_mm",
                                       "width_mm",
                                       "height_mm",
                                       "columns",
                                       "conductivity_s_per_m",
                                       "relative_permeability",
                                       "centre_up_mm",
                                       "amplitude_variation",
                                       "phase_variation_rad",
                                       NULL};
    const Figure lengths[] = {
        {"length_mm", 0, LENGTH_MM_MAX, 1e3, &block->length_m},
        {"width_mm", 0, LENGTH_MM_MAX, 1e3, &block->width_m},
        {"height_mm", 0, LENGTH_MM_MAX, 1e3, &block->height_m},
    };
    const Figure figures[] = {
        {"conductivity_s_per_m", 0, 100, 1, &block->conductivity_s_per_m},
        {"relative_permeability", 1, 1.1, 1, &block->relative_permeability},
        {"centre_up_mm", -PLACE_MM_MAX, PLACE_MM_MAX, 1e3, &block->centre_up_m},
        {"amplitude_variation", 0, VARIATION_MAX, 1, &block->amplitude_variation},
        {"phase_variation_rad", 0, VARIATION_MAX, 1, &block->phase_variation_rad},
    };
    return json_want_object(value, name, keys, err) &&
           read_lengths(value, lengths, sizeof lengths / sizeof lengths[0], err) &&
           read_columns(value, block, err) &&
           read_figures(value, figures, sizeof figures / sizeof figures[0], err);
}

/* The figures of a metal that is no name; `keys` are those that it may have. */
static bool read_metal_object(const JsonValue *value, const char *const keys[],
                              TargetMetal *figures, Err *err)
{
    if (json_kind(value) != JSON_OBJECT) {
        return err_at(err, json_place(value), "metal: must be a name or an object");
    }
    return json_want_object(value, "metal", keys, err) &&
           json_read_number(value, "resistivity_ohm_m", true, 1e-15, 1e15,
                            &figures->resistivity_ohm_m, err) &&
           json_read_number(value, "relative_permeability", true, 1, 1e5,
                            &figures->relative_permeability, err);
}

static bool read_metal(const JsonValue *target, const MetalTable *metals, TargetMetal *figures,
                       Err *err)
{
    static const char *const keys[] = {"resistivity_ohm_m", "relative_permeability", NULL};
    const JsonValue *value = NULL;
    if (!json_need(target, "metal", &value, err)) return false;
    if (json_kind(value) == JSON_STRING) {
        const Metal *metal = NULL;
        if (!metals_read(metals, target, "metal", &metal, err)) return false;
        *figures = metal->figures;
        return true;
    }
    return read_metal_object(value, keys, figures, err);
}

/* Scaled by the largest part, so that 1e-300 is not lost when it is squared. A wire that is turned
 * by luck may have none. */
static bool read_direction(const JsonValue *target, bool required, Vec3 *out, Err *err)
{
    const JsonValue *value = json_get(target, "direction");
    double parts[3] = {0};
    *out = (Vec3){1, 0, 0};
    if (value == NULL && !required) return true;
    if (!json_need(target, "direction", &value, err)) return false;
    if (!read_array(value, "direction", 3, PLACE_MM_MAX, parts, err)) return false;
    double largest = fmax(fabs(parts[0]), fmax(fabs(parts[1]), fabs(parts[2])));
    if (largest == 0) {
        return err_at(err, json_place(value), "direction is [0, 0, 0], one part must not be 0");
    }
    *out = (Vec3){parts[0] / largest, parts[1] / largest, parts[2] / largest};
    return true;
}

static bool read_wire(const JsonValue *value, double diameter_mm, bool needs_direction,
                      TargetPiece *piece, Err *err)
{
    double length_mm = 0;
    if (!json_read_number(value, "length_mm", true, 2 * diameter_mm, 1000, &length_mm, err)) {
        return false;
    }
    piece->length_m = length_mm / 1e3;
    return read_direction(value, needs_direction, &piece->direction, err);
}

static bool read_target(const JsonValue *value, const MetalTable *metals, bool needs_direction,
                        TargetPiece *piece, Err *err)
{
    static const char *const keys[] = {"shape",     "diameter_mm", "length_mm",
                                       "direction", "metal",       NULL};
    static const char *const wire_keys[] = {"length_mm", "direction"};
    static const char *const shapes[] = {[TARGET_SPHERE] = "sphere", [TARGET_WIRE] = "wire", NULL};
    int shape = 0;
    double diameter_mm = 0;
    if (!json_want_object(value, "target", keys, err)) return false;
    if (!json_read_word(value, "shape", true, shapes, &shape, err)) return false;
    for (size_t i = 0; i < 2 && shape == TARGET_SPHERE; i++) {
        const JsonValue *member = json_get(value, wire_keys[i]);
        if (member == NULL) continue;
        return err_at(err, json_place(member), "%s: is for a wire, shape is \"sphere\"",
                      wire_keys[i]);
    }
    if (!json_read_number(value, "diameter_mm", true, 0.01, 100, &diameter_mm, err)) return false;
    piece->shape = (TargetShape)shape;
    piece->diameter_m = diameter_mm / 1e3;
    if (shape == TARGET_WIRE && !read_wire(value, diameter_mm, needs_direction, piece, err)) {
        return false;
    }
    return read_metal(value, metals, &piece->metal, err);
}

static bool read_position(const JsonValue *value, PassDescription *out, Err *err)
{
    static const char *const keys[] = {"across", "up", NULL};
    const Figure figures[] = {
        {"across", -PLACE_MM_MAX, PLACE_MM_MAX, 1e3, &out->across_m},
        {"up", -PLACE_MM_MAX, PLACE_MM_MAX, 1e3, &out->up_m},
    };
    return json_want_object(value, "position_mm", keys, err) &&
           read_figures(value, figures, sizeof figures / sizeof figures[0], err);
}

static bool read_travel(const JsonValue *value, DetectGrid *travel, Err *err)
{
    static const char *const keys[] = {"from_mm", "to_mm", "step_mm", NULL};
    double from_mm = 0;
    double to_mm = 0;
    double step_mm = 0;
    const Figure ends[] = {
        {"from_mm", -PLACE_MM_MAX, PLACE_MM_MAX, 1, &from_mm},
        {"to_mm", -PLACE_MM_MAX, PLACE_MM_MAX, 1, &to_mm},
    };
    const Figure step[] = {{"step_mm", 0, LENGTH_MM_MAX, 1, &step_mm}};
    if (!json_want_object(value, "travel", keys, err)) return false;
    if (!read_figures(value, ends, sizeof ends / sizeof ends[0], err)) return false;
    if (!read_lengths(value, step, 1, err)) return false;
    if (to_mm <= from_mm) {
        return err_at(err, json_place(json_get(value, "to_mm")),
                      "to_mm is %.15g, limit above from_mm, which is %.15g", to_mm, from_mm);
    }
    /* The last point may be a rounding short of the end: 0.3 / 0.1 is 2.9999999999999996. */
    double count = floor((to_mm - from_mm) / step_mm + 1e-9) + 1;
    if (count < DETECT_GRID_POINTS_MIN || count > DETECT_GRID_POINTS_MAX) {
        return err_at(err, json_place(value), "travel has %.15g points, limit %d..%d", count,
                      DETECT_GRID_POINTS_MIN, DETECT_GRID_POINTS_MAX);
    }
    *travel = (DetectGrid){from_mm / 1e3, step_mm / 1e3, (size_t)count};
    return true;
}

static bool read_probes(const JsonValue *value, PassDescription *out, Err *err)
{
    if (!json_want_array(value, "probe_mm", 0, PASS_PROBES_MAX, err)) return false;
    size_t count = json_count(value);
    if (count == 0) return true;
    out->probes = check_calloc(count, sizeof *out->probes);
    out->probe_count = count;
    for (size_t i = 0; i < count; i++) {
        double at[3] = {0};
        if (!read_array(json_at(value, i), "probe_mm", 3, PLACE_MM_MAX, at, err)) return false;
        out->probes[i] = (Vec3){at[0] / 1e3, at[1] / 1e3, at[2] / 1e3};
    }
    return true;
}

/* Without noise only what the product varies by sets the two limits. */
static bool check_noise(const JsonValue *head, const PassDescription *out, Err *err)
{
    const ProductBlock *learned = out->has_learned   ? &out->learned
                                  : out->has_product ? &out->product
                                                     : NULL;
    if (out->head.noise_v > 0) return true;
    if (learned != NULL && learned->amplitude_variation > 0 && learned->phase_variation_rad > 0) {
        return true;
    }
    return err_at(err, json_place(json_get(head, "noise_nv")),
                  "noise_nv is 0, limit above 0 unless both variations of the learned product are "
                  "above 0");
}

/* What every description has: the head, the product of today and the learned one, the travel. */
static bool read_arrangement(const JsonValue *value, PassDescription *out, Err *err)
{
    const JsonValue *head = NULL;
    const JsonValue *product = json_get(value, "product");
    const JsonValue *learned = json_get(value, "learned");
    out->has_product = product != NULL;
    out->has_learned = learned != NULL;
    return json_need(value, "head", &head, err) && read_head(head, true, &out->head, err) &&
           (product == NULL || read_product(product, "product", &out->product, err)) &&
           (learned == NULL || read_product(learned, "learned", &out->learned, err)) &&
           check_noise(head, out, err);
}

static bool read_rest(const JsonValue *value, PassDescription *out, Err *err)
{
    const JsonValue *travel = NULL;
    const JsonValue *probes = json_get(value, "probe_mm");
    return json_need(value, "travel", &travel, err) && read_travel(travel, &out->travel, err) &&
           (probes == NULL || read_probes(probes, out, err));
}

static bool read_pass(const JsonValue *value, const MetalTable *metals, bool needs_direction,
                      bool needs_position, PassDescription *out, Err *err)
{
    const JsonValue *target = NULL;
    const JsonValue *position = json_get(value, "position_mm");
    return read_arrangement(value, out, err) && json_need(value, "target", &target, err) &&
           read_target(target, metals, needs_direction, &out->target, err) &&
           (!needs_position || json_need(value, "position_mm", &position, err)) &&
           (position == NULL || read_position(position, out, err)) && read_rest(value, out, err);
}

bool describe_pass(const JsonValue *value, const MetalTable *metals, PassDescription *out, Err *err)
{
    static const char *const keys[] = {"head",        "product", "learned",  "target",
                                       "position_mm", "travel",  "probe_mm", NULL};
    CHECK(value != NULL && metals != NULL && out != NULL && err != NULL);
    PassDescription read = {0};
    if (!json_want_object(value, "the description", keys, err) ||
        !read_pass(value, metals, true, true, &read, err)) {
        pass_description_clear(&read);
        return false;
    }
    *out = read;
    return true;
}

static bool read_random(const JsonValue *value, PodDescription *out, Err *err)
{
    static const char *const keys[] = {"direction", "place", NULL};
    static const char *const places[] = {
        [POD_FIXED] = "fixed", [POD_PACK] = "pack", [POD_APERTURE] = "aperture", NULL};
    const JsonValue *random = NULL;
    int place = 0;
    if (!json_need(value, "random", &random, err)) return false;
    if (!json_want_object(random, "random", keys, err)) return false;
    if (!json_read_bool(random, "direction", true, &out->random_direction, err)) return false;
    if (!json_read_word(random, "place", true, places, &place, err)) return false;
    out->place = (PodPlace)place;
    if (out->place != POD_PACK || json_get(value, "product") != NULL) return true;
    return err_at(err, json_place(json_get(random, "place")),
                  "place is \"pack\", and there is no product");
}

static bool read_pod(const JsonValue *value, const MetalTable *metals, PodDescription *out,
                     Err *err)
{
    static const char *const keys[] = {"head",        "product", "learned",  "target",
                                       "position_mm", "travel",  "probe_mm", "random",
                                       "trials",      "seed",    NULL};
    int64_t trials = 0;
    int64_t seed = 0;
    if (!json_want_object(value, "the description", keys, err)) return false;
    if (!read_random(value, out, err)) return false;
    if (!read_pass(value, metals, !out->random_direction, out->place == POD_FIXED, &out->pass,
                   err)) {
        return false;
    }
    if (!json_read_integer(value, "trials", true, 1, POD_TRIALS_MAX, &trials, err)) return false;
    if (!json_read_integer(value, "seed", true, 0, SEED_MAX, &seed, err)) return false;
    double work = (double)trials * (double)out->pass.travel.count;
    if (work > POD_WORK_MAX) {
        return err_at(err, json_place(json_get(value, "trials")),
                      "trials times the %zu points of the travel is %.15g, limit %.15g",
                      out->pass.travel.count, work, POD_WORK_MAX);
    }
    out->trials = (uint64_t)trials;
    out->seed = (uint64_t)seed;
    return true;
}

bool describe_pod(const JsonValue *value, const MetalTable *metals, PodDescription *out, Err *err)
{
    CHECK(value != NULL && metals != NULL && out != NULL && err != NULL);
    PodDescription read = {0};
    if (!read_pod(value, metals, &read, err)) {
        pass_description_clear(&read.pass);
        return false;
    }
    *out = read;
    return true;
}

/* The chance of being found, which a false reject alone must not reach. */
static bool read_chance(const JsonValue *value, double rate, double *chance, Err *err)
{
    const JsonValue *member = json_get(value, "found_probability");
    if (member == NULL) return true;
    if (!json_read_number(value, "found_probability", true, 0, 1, chance, err)) return false;
    if (*chance > rate && *chance < 1.0) return true;
    return err_at(err, json_place(member),
                  "found_probability is %.15g, limit above false_reject_rate, which is %.15g, and "
                  "below 1",
                  *chance, rate);
}

static bool is_named(const JsonValue *list, size_t index, const char **name)
{
    const JsonValue *item = json_at(list, index);
    if (json_kind(item) == JSON_OBJECT) item = json_get(item, "name");
    *name = item != NULL && json_kind(item) == JSON_STRING ? json_string(item) : NULL;
    return *name != NULL;
}

/* A name of the table, or an object with a name of its own; no name twice, as the answer tells the
 * metals apart by it. */
static bool read_metals(const JsonValue *value, const MetalTable *metals,
                        SensitivityDescription *out, Err *err)
{
    static const char *const keys[] = {"name", "resistivity_ohm_m", "relative_permeability", NULL};
    const JsonValue *list = NULL;
    if (!json_need(value, "metals", &list, err)) return false;
    if (!json_want_array(list, "metals", 1, SENSITIVITY_METALS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        const char *name = NULL;
        if (json_kind(item) == JSON_STRING) {
            const Metal *metal = NULL;
            if (!metals_want(metals, item, "metal", &metal, err)) return false;
            out->metals[i] = metal->figures;
        } else if (!read_metal_object(item, keys, &out->metals[i], err) ||
                   !json_read_id(item, "name", true, &name, err)) {
            return false;
        }
        for (size_t j = 0; j < i; j++) {
            const char *other = NULL;
            if (!is_named(list, i, &name) || !is_named(list, j, &other)) continue;
            if (strcmp(name, other) != 0) continue;
            return err_at(err, json_place(item), "metals[%zu] is \"%s\", which is there already", i,
                          name);
        }
    }
    out->metal_count = json_count(list);
    return true;
}

static bool read_places(const JsonValue *list, SensitivityDescription *out, Err *err)
{
    if (!json_want_array(list, "at_mm", 1, SENSITIVITY_PLACES_MAX, err)) return false;
    out->place_count = json_count(list);
    out->places = check_calloc(out->place_count, sizeof *out->places);
    for (size_t i = 0; i < out->place_count; i++) {
        double at[2] = {0};
        if (!read_array(json_at(list, i), "at_mm", 2, PLACE_MM_MAX, at, err)) return false;
        out->places[i] = (SensitivityPlace){at[0] / 1e3, at[1] / 1e3};
    }
    return true;
}

double describe_map_place(double aperture_mm, int64_t index, int64_t count)
{
    double half = 0.5 * aperture_mm - DESCRIBE_MAP_WALL_MM;
    return half * ((double)(2 * index - (count - 1)) / (double)(count - 1)) + 0.0; /* no -0 */
}

static bool read_map(const JsonValue *map, SensitivityDescription *out, Err *err)
{
    static const char *const keys[] = {"across", "up", NULL};
    int64_t across = 0;
    int64_t up = 0;
    if (!json_want_object(map, "map", keys, err)) return false;
    if (!json_read_integer(map, "across", true, 2, DESCRIBE_MAP_SIDE_MAX, &across, err)) {
        return false;
    }
    if (!json_read_integer(map, "up", true, 2, DESCRIBE_MAP_SIDE_MAX, &up, err)) return false;
    if (across * up > SENSITIVITY_PLACES_MAX) {
        return err_at(err, json_place(map), "map has %.0f places, limit %d",
                      (double)across * (double)up, SENSITIVITY_PLACES_MAX);
    }
    out->place_count = (size_t)(across * up);
    out->places = check_calloc(out->place_count, sizeof *out->places);
    const CoilHead *coils = &out->pass.head.coils;
    for (int64_t row = 0; row < up; row++) {
        for (int64_t column = 0; column < across; column++) {
            out->places[row * across + column] = (SensitivityPlace){
                describe_map_place(coils->aperture_width_m * 1e3, column, across) / 1e3,
                describe_map_place(coils->aperture_height_m * 1e3, row, up) / 1e3};
        }
    }
    return true;
}

static bool check_work(const JsonValue *value, const SensitivityDescription *out, Err *err)
{
    bool changed = out->pass.has_product && out->pass.has_learned;
    double work = (double)out->place_count * (double)out->pass.travel.count;
    if (work > SENSITIVITY_WORK_MAX) {
        return err_at(err, json_place(value),
                      "places times the %zu points of the travel are %.15g, limit %.15g",
                      out->pass.travel.count, work, SENSITIVITY_WORK_MAX);
    }
    work *= (double)out->metal_count;
    if (!changed || work <= SENSITIVITY_WORK_CHANGED_MAX) return true;
    return err_at(err, json_place(value),
                  "places times points of the travel times metals are %.15g, limit %.15g where the "
                  "product is not the learned one",
                  work, SENSITIVITY_WORK_CHANGED_MAX);
}

static bool read_sensitivity(const JsonValue *value, const MetalTable *metals,
                             SensitivityDescription *out, Err *err)
{
    static const char *const keys[] = {
        "head",  "product", "learned",           "travel", "probe_mm", "metals",
        "at_mm", "map",     "found_probability", NULL};
    if (!json_want_object(value, "the description", keys, err)) return false;
    if (!read_arrangement(value, &out->pass, err)) return false;
    if (!read_rest(value, &out->pass, err)) return false;
    if (!read_metals(value, metals, out, err)) return false;
    if (!read_chance(value, out->pass.head.false_reject_rate, &out->found_probability, err)) {
        return false;
    }
    const JsonValue *places = json_get(value, "at_mm");
    const JsonValue *map = json_get(value, "map");
    if (places != NULL && map != NULL) {
        return err_at(err, json_place(map), "map: there is at_mm already");
    }
    if (places == NULL && map == NULL) {
        return err_at(err, json_place(value), "at_mm is missing, or map");
    }
    if (places != NULL && !read_places(places, out, err)) return false;
    if (map != NULL && !read_map(map, out, err)) return false;
    return check_work(places != NULL ? places : map, out, err);
}

bool describe_sensitivity(const JsonValue *value, const MetalTable *metals,
                          SensitivityDescription *out, Err *err)
{
    CHECK(value != NULL && metals != NULL && out != NULL && err != NULL);
    SensitivityDescription read = {0};
    if (!read_sensitivity(value, metals, &read, err)) {
        sensitivity_description_clear(&read);
        return false;
    }
    *out = read;
    return true;
}

static bool read_sphere(const JsonValue *value, const MetalTable *metals, FitSphere *sphere,
                        Err *err)
{
    static const char *const keys[] = {"metal", "diameter_mm", NULL};
    double diameter_mm = 0;
    if (!json_want_object(value, "validated", keys, err)) return false;
    if (!read_metal(value, metals, &sphere->metal, err)) return false;
    if (!json_read_number(value, "diameter_mm", true, 0.01, 100, &diameter_mm, err)) return false;
    const JsonValue *metal = json_get(value, "metal");
    sphere->diameter_m = diameter_mm / 1e3;
    sphere->name = json_kind(metal) == JSON_STRING ? json_string(metal) : "metal of its own";
    return true;
}

static bool read_program(const JsonValue *value, const MetalTable *metals, DescribeFit *out,
                         Err *err)
{
    static const char *const keys[] = {"name", "product", "validated", NULL};
    FitProgram *program = &out->programs[out->program_count];
    const JsonValue *list = NULL;
    if (!json_want_object(value, "program", keys, err)) return false;
    if (!json_read_string(value, "name", true, 1, DESCRIBE_NAME_BYTES_MAX, &program->name, err)) {
        return false;
    }
    const JsonValue *product = json_get(value, "product");
    program->bare_belt = product == NULL;
    if (product != NULL && !read_product(product, "product", &program->product, err)) return false;
    if (!json_need(value, "validated", &list, err)) return false;
    size_t left = FIT_SPHERES_MAX - out->sphere_count;
    if (!json_want_array(list, "validated", 0, left, err)) return false;
    program->spheres = &out->spheres[out->sphere_count];
    program->count = json_count(list);
    for (size_t i = 0; i < program->count; i++) {
        if (!read_sphere(json_at(list, i), metals, &out->spheres[out->sphere_count++], err)) {
            return false;
        }
    }
    out->program_count++;
    return true;
}

static bool read_fit(const JsonValue *value, const MetalTable *metals, DescribeFit *out, Err *err)
{
    static const char *const keys[] = {"head", "found_probability", "programs", NULL};
    const JsonValue *head = NULL;
    const JsonValue *list = NULL;
    if (!json_want_object(value, "the description", keys, err)) return false;
    if (!json_need(value, "head", &head, err)) return false;
    if (!read_head(head, false, &out->head, err)) return false;
    out->found_probability = DESCRIBE_FOUND_ALWAYS;
    if (!read_chance(value, out->head.false_reject_rate, &out->found_probability, err)) {
        return false;
    }
    if (!json_need(value, "programs", &list, err)) return false;
    if (!json_want_array(list, "programs", 1, FIT_PROGRAMS_MAX, err)) return false;
    out->programs = check_calloc(json_count(list), sizeof *out->programs);
    out->spheres = check_calloc(FIT_SPHERES_MAX, sizeof *out->spheres);
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_program(json_at(list, i), metals, out, err)) return false;
    }
    if (out->sphere_count > 0) return true;
    return err_at(err, json_place(list), "programs have no validated sphere, limit 1..%d",
                  FIT_SPHERES_MAX);
}

bool describe_fit(const JsonValue *value, const MetalTable *metals, DescribeFit *out, Err *err)
{
    CHECK(value != NULL && metals != NULL && out != NULL && err != NULL);
    DescribeFit read = {0};
    if (!read_fit(value, metals, &read, err)) {
        describe_fit_clear(&read);
        return false;
    }
    *out = read;
    return true;
}

void describe_fit_clear(DescribeFit *fit)
{
    if (fit == NULL) return;
    free(fit->programs);
    free(fit->spheres);
    *fit = (DescribeFit){0};
}
