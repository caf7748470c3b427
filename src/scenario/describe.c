/* The description of one pass. */
#include "scenario/describe.h"

#include <math.h>
#include <stdlib.h>

#define PLACE_MM_MAX 1e6
#define LENGTH_MM_MAX 5000.0
#define VARIATION_MAX 1000.0
#define COLUMNS_MAX 50

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

static bool read_head(const JsonValue *value, DetectHead *head, Err *err)
{
    static const char *const keys[] = {
        "aperture_width_mm", "aperture_height_mm", "coil_clearance_mm", "receiver_offset_mm",
        "frequency_khz",     "noise_nv",           "false_reject_rate", NULL};
    const Figure lengths[] = {
        {"aperture_width_mm", 20, 3000, 1e3, &head->coils.aperture_width_m},
        {"aperture_height_mm", 20, 3000, 1e3, &head->coils.aperture_height_m},
        {"coil_clearance_mm", 1, 500, 1e3, &head->coils.clearance_m},
        {"receiver_offset_mm", 0, LENGTH_MM_MAX, 1e3, &head->coils.receiver_offset_m},
    };
    const Figure figures[] = {
        {"frequency_khz", 0.1, 2000, 1, &head->frequency_hz},
        {"noise_nv", 0, 1e6, 1e9, &head->noise_v},
        {"false_reject_rate", 1e-15, 0.5, 1, &head->false_reject_rate},
    };
    if (!json_want_object(value, "head", keys, err)) return false;
    if (!read_lengths(value, lengths, sizeof lengths / sizeof lengths[0], err)) return false;
    if (!read_figures(value, figures, sizeof figures / sizeof figures[0], err)) return false;
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
    if (json_kind(value) != JSON_OBJECT) {
        return err_at(err, json_place(value), "metal: must be a name or an object");
    }
    return json_want_object(value, "metal", keys, err) &&
           json_read_number(value, "resistivity_ohm_m", true, 1e-15, 1e15,
                            &figures->resistivity_ohm_m, err) &&
           json_read_number(value, "relative_permeability", true, 1, 1e5,
                            &figures->relative_permeability, err);
}

/* Scaled by the largest part, so that 1e-300 is not lost when it is squared. */
static bool read_direction(const JsonValue *target, Vec3 *out, Err *err)
{
    const JsonValue *value = NULL;
    double parts[3] = {0};
    if (!json_need(target, "direction", &value, err)) return false;
    if (!read_array(value, "direction", 3, PLACE_MM_MAX, parts, err)) return false;
    double largest = fmax(fabs(parts[0]), fmax(fabs(parts[1]), fabs(parts[2])));
    if (largest == 0) {
        return err_at(err, json_place(value), "direction is [0, 0, 0], one part must not be 0");
    }
    *out = (Vec3){parts[0] / largest, parts[1] / largest, parts[2] / largest};
    return true;
}

static bool read_wire(const JsonValue *value, double diameter_mm, TargetPiece *piece, Err *err)
{
    double length_mm = 0;
    if (!json_read_number(value, "length_mm", true, 2 * diameter_mm, 1000, &length_mm, err)) {
        return false;
    }
    piece->length_m = length_mm / 1e3;
    return read_direction(value, &piece->direction, err);
}

static bool read_target(const JsonValue *value, const MetalTable *metals, TargetPiece *piece,
                        Err *err)
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
    if (shape == TARGET_WIRE && !read_wire(value, diameter_mm, piece, err)) return false;
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

static bool read_description(const JsonValue *value, const MetalTable *metals, PassDescription *out,
                             Err *err)
{
    static const char *const keys[] = {"head",        "product", "learned",  "target",
                                       "position_mm", "travel",  "probe_mm", NULL};
    const JsonValue *head = NULL;
    const JsonValue *target = NULL;
    const JsonValue *position = NULL;
    const JsonValue *travel = NULL;
    if (!json_want_object(value, "the description", keys, err)) return false;
    const JsonValue *product = json_get(value, "product");
    const JsonValue *learned = json_get(value, "learned");
    const JsonValue *probes = json_get(value, "probe_mm");
    out->has_product = product != NULL;
    out->has_learned = learned != NULL;
    return json_need(value, "head", &head, err) && read_head(head, &out->head, err) &&
           (product == NULL || read_product(product, "product", &out->product, err)) &&
           (learned == NULL || read_product(learned, "learned", &out->learned, err)) &&
           check_noise(head, out, err) && json_need(value, "target", &target, err) &&
           read_target(target, metals, &out->target, err) &&
           json_need(value, "position_mm", &position, err) && read_position(position, out, err) &&
           json_need(value, "travel", &travel, err) && read_travel(travel, &out->travel, err) &&
           (probes == NULL || read_probes(probes, out, err));
}

bool describe_pass(const JsonValue *value, const MetalTable *metals, PassDescription *out, Err *err)
{
    CHECK(value != NULL && metals != NULL && out != NULL && err != NULL);
    PassDescription read = {0};
    if (!read_description(value, metals, &read, err)) {
        free(read.probes);
        return false;
    }
    *out = read;
    return true;
}
