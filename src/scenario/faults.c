/* Each kind of fault, what its object holds, and what the line allows. */
#include "scenario/faults.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "scenario/reading.h"
#include "scenario/suggest.h"

enum { NUMBERS_MAX = 3, KEYS_MAX = 8 };

/* A number of a fault: in the file as `key`, in the fault as a whole number of `unit` each; a unit
 * of 1 is a whole number in the file too. */
typedef struct {
    const char *key;
    size_t at; /* in Fault */
    double min, max, unit;
    bool is_optional;
} FaultNumber;

typedef struct {
    const char *word;
    FaultKind kind;
    const char *other; /* a key that is no number: "product", "piece", "metal" or "what" */
    FaultNumber numbers[NUMBERS_MAX];
} FaultForm;

#define AT(field) offsetof(Fault, field)

static const FaultForm forms[] = {
    {"reject-late", FAULT_REJECT_SHIFT, NULL, {{"by_ms", AT(shift_us), 1, 10000, 1000, false}}},
    {"reject-early", FAULT_REJECT_SHIFT, NULL, {{"by_ms", AT(shift_us), 1, 10000, -1000, false}}},
    {"sensitivity-changed",
     FAULT_SENSITIVITY,
     NULL,
     {{"signal_needed_percent", AT(limit_percent), 10, 1000, 1, false}}},
    {"wrong-program", FAULT_WRONG_PROGRAM, "product", {{0}}},
    {"belt-speed", FAULT_BELT_SPEED, NULL, {{"percent", AT(percent), 10, 300, 1, false}}},
    {"encoder-lost", FAULT_ENCODER_LOST, NULL, {{0}}},
    {"eye-dirty", FAULT_EYE_DIRTY, NULL, {{"late_mm", AT(late_um), 1, 500, 1000, false}}},
    {"eye-blocked", FAULT_EYE_BLOCKED, NULL, {{0}}},
    {"stroke-long", FAULT_STROKE_LONG, NULL, {{"stroke_ms", AT(stroke_us), 1, 60000, 1000, false}}},
    {"reject-off", FAULT_REJECT_OFF, NULL, {{0}}},
    {"test-mode", FAULT_TEST_MODE, NULL, {{0}}},
    {"low-air",
     FAULT_LOW_AIR,
     NULL,
     {{"blows", AT(blows), 1, 100, 1, false},
      {"fills_one_in_ms", AT(blow_us), 1, 600000, 1000, false}}},
    {"confirmation-lost", FAULT_CONFIRMATION_LOST, NULL, {{0}}},
    {"bin-filled", FAULT_BIN_FILLED, NULL, {{"packs", AT(packs), 1, 10000, 1, false}}},
    {"bin-unlocked", FAULT_BIN_UNLOCKED, NULL, {{0}}},
    {"bin-missing", FAULT_BIN_MISSING, NULL, {{0}}},
    {"head-bypassed", FAULT_HEAD_BYPASSED, NULL, {{0}}},
    {"head-cold",
     FAULT_HEAD_COLD,
     NULL,
     {{"signal_percent", AT(percent), 10, 200, 1, false},
      {"noise_percent", AT(noise_percent), 10, 1000, 1, false}}},
    {"jam", FAULT_JAM, NULL, {{0}}},
    {"packs-turned", FAULT_PACKS_TURNED, NULL, {{"every", AT(every), 1, 1000, 1, false}}},
    {"product-temperature",
     FAULT_TEMPERATURE,
     NULL,
     {{"temperature_c", AT(temperature_mc), -60, 150, 1000, false},
      {"conductivity_s_per_m", AT(conductivity_us_per_m), 1e-6, 100, 1e6, true},
      {"thawed_percent", AT(thawed_percent), 1, 100, 1, true}}},
    {"metal-in-belt",
     FAULT_BELT_METAL,
     "metal",
     {{"diameter_mm", AT(diameter_um), 0.1, 50, 1000, false},
      {"belt_mm", AT(belt_um), 500, 200000, 1000, false}}},
    {"contaminant",
     FAULT_CONTAMINANT,
     "metal",
     {{"diameter_mm", AT(diameter_um), 0.1, 50, 1000, false},
      {"length_mm", AT(length_um), 0.2, 500, 1000, true},
      {"at_pack", AT(at_pack), 1, 100000, 1, false}}},
    {"piece-falls", FAULT_PIECE_FALLS, "piece", {{0}}},
    {"alarm-cleared",
     FAULT_ALARM_CLEARED,
     "what",
     {{"minutes_before", AT(minutes_before), 1, 1440, 1, false}}},
};
enum { FORM_COUNT = sizeof forms / sizeof forms[0] };

const char *scenario_fault_word(FaultKind kind)
{
    if (kind == FAULT_REJECT_SHIFT) return "reject-shifted";
    for (int i = 0; i < FORM_COUNT; i++) {
        if (forms[i].kind == kind) return forms[i].word;
    }
    CHECK(false);
    return "";
}

static bool read_number(const JsonValue *value, const FaultNumber *number, Fault *out, Err *err)
{
    bool is_whole = number->unit == 1.0;
    bool required = !number->is_optional;
    int64_t whole = 0;
    double plain = 0.0;
    if (is_whole && !json_read_integer(value, number->key, required, (int64_t)number->min,
                                       (int64_t)number->max, &whole, err)) {
        return false;
    }
    if (!is_whole &&
        !json_read_number(value, number->key, required, number->min, number->max, &plain, err)) {
        return false;
    }
    if (!is_whole) whole = llround(plain * number->unit);
    memcpy((char *)out + number->at, &whole, sizeof whole);
    return true;
}

/* What is named: another program of the line, a piece of the kit, a metal, a fail-safe. */
static bool read_other(const Scenario *scenario, const JsonValue *value, const char *key,
                       Fault *out, Err *err)
{
    const char *id;
    if (strcmp(key, "metal") == 0) {
        return metals_read(scenario->site->metals, value, key, &out->metal, err);
    }
    if (strcmp(key, "what") == 0) {
        return json_read_word(value, key, true, site_fail_safe_words, &out->fail_safe, err);
    }
    if (!json_read_id(value, key, true, &id, err)) return false;
    if (strcmp(key, "product") == 0) {
        out->product = site_find_product(scenario->site, id);
        if (out->product >= 0 && site_program(scenario->line, out->product) != NULL) return true;
        return reading_no_program(json_get(value, key), scenario->site, scenario->line, err);
    }
    for (int i = 0; i < scenario->kit_count; i++) {
        out->piece = scenario->kit[i];
        if (strcmp(scenario->site->pieces[out->piece].id, id) == 0) return true;
    }
    return err_at(err, json_place(json_get(value, key)), "there is no piece \"%s\" in the kit", id);
}

/* "percent is 300, but the belt would do 6000 mm/s, limit 5000" and the like. */
static bool not_on_line(const JsonValue *value, const char *key, const char *what, double is,
                        double limit, Err *err)
{
    return err_at(err, json_place(json_get(value, key)), "%s: %s %g, limit %g", key, what, is,
                  limit);
}

/* What the line is built as sets limits of its own. */
static bool fits_line(const Scenario *scenario, const JsonValue *value, const Fault *fault,
                      Err *err)
{
    const LineSetup *setup = &scenario->line->setup;
    const ProductBlock *block = &scenario->site->products[scenario->product].block;
    const CoilHead *coils = &scenario->site->heads[scenario->line->head].head.coils;
    int64_t speed = setup->belt_um_s * fault->percent / 100;
    int64_t belt_um = setup->end_um - setup->infeed_um;
    if (fault->kind == FAULT_BELT_SPEED && (speed < 1 || speed > LINE_BELT_UM_S_MAX)) {
        return not_on_line(value, "percent", "the belt would do, in mm/s,", (double)speed / 1e3,
                           (double)LINE_BELT_UM_S_MAX / 1e3, err);
    }
    if (fault->kind == FAULT_BIN_FILLED && fault->packs > setup->bin_packs) {
        return not_on_line(value, "packs", "the bin would hold", (double)fault->packs,
                           (double)setup->bin_packs, err);
    }
    if (fault->kind == FAULT_STROKE_LONG && fault->stroke_us <= setup->stroke_us) {
        return err_at(err, json_place(json_get(value, "stroke_ms")),
                      "stroke_ms is %g, must be above the line's own, %g",
                      (double)fault->stroke_us / 1e3, (double)setup->stroke_us / 1e3);
    }
    if (fault->thawed_percent != 0 && fault->conductivity_us_per_m == 0) {
        return err_at(
            err, json_place(json_get(value, "thawed_percent")),
            "thawed_percent is %lld, but conductivity_s_per_m, that of what is thawed, is "
            "missing",
            (long long)fault->thawed_percent);
    }
    if (fault->kind == FAULT_BELT_METAL && fault->belt_um <= belt_um) {
        return err_at(err, json_place(json_get(value, "belt_mm")),
                      "belt_mm is %g, must be above %g from infeed to end",
                      (double)fault->belt_um / 1e3, (double)belt_um / 1e3);
    }
    if (fault->kind == FAULT_CONTAMINANT && fault->length_um != 0 &&
        fault->length_um < 2 * fault->diameter_um) {
        return err_at(err, json_place(json_get(value, "length_mm")),
                      "length_mm is %g, must be at least twice diameter_mm, %g",
                      (double)fault->length_um / 1e3, (double)fault->diameter_um / 1e3);
    }
    if (fault->kind != FAULT_PACKS_TURNED) return true;
    if (block->length_m > coils->aperture_width_m) {
        return not_on_line(value, "every", "across the belt the pack is, in mm,",
                           block->length_m * 1e3, coils->aperture_width_m * 1e3, err);
    }
    if (block->width_m * 1e6 < (double)setup->pitch_um) return true;
    return not_on_line(value, "every", "along the belt the pack is, in mm,", block->width_m * 1e3,
                       (double)setup->pitch_um / 1e3, err);
}

/* The form that "kind" names. */
static bool read_kind(const JsonValue *value, const FaultForm **out, Err *err)
{
    const char *words[FORM_COUNT + 1] = {NULL};
    const char *kind;
    for (int i = 0; i < FORM_COUNT; i++) {
        words[i] = forms[i].word;
    }
    if (json_kind(value) != JSON_OBJECT) return json_want_object(value, "fault", words, err);
    if (!json_read_id(value, "kind", true, &kind, err)) return false;
    for (int i = 0; i < FORM_COUNT; i++) {
        *out = &forms[i];
        if (strcmp(words[i], kind) == 0) return true;
    }
    const char *near = suggest_word(kind, words);
    return err_at(err, json_place(json_get(value, "kind")), "there is no fault \"%s\"%s%s%s", kind,
                  near == NULL ? "" : "; did you mean \"", near == NULL ? "" : near,
                  near == NULL ? "" : "\"?");
}

static bool read_fault(const Scenario *scenario, const JsonValue *value, Fault *out, Err *err)
{
    const char *keys[KEYS_MAX] = {"kind", "after_passes"};
    const FaultForm *form;
    int key_count = 2;
    if (!read_kind(value, &form, err)) return false;
    out->kind = form->kind;
    out->place = json_place(value);
    if (form->other != NULL) keys[key_count++] = form->other;
    for (int i = 0; i < NUMBERS_MAX && form->numbers[i].key != NULL; i++) {
        keys[key_count++] = form->numbers[i].key;
    }
    if (!json_want_object(value, "fault", keys, err)) return false;
    if (!json_read_integer(value, "after_passes", false, 0, 1000, &out->after_passes, err))
        return false;
    for (int i = 0; i < NUMBERS_MAX && form->numbers[i].key != NULL; i++) {
        if (!read_number(value, &form->numbers[i], out, err)) return false;
    }
    if (form->other != NULL && !read_other(scenario, value, form->other, out, err)) return false;
    return fits_line(scenario, value, out, err);
}

/* The lists that a seed draws from; *most gets the length of the longest. */
static bool read_draw(const Scenario *scenario, const JsonValue *value, FaultDraw *out,
                      size_t *most, Err *err)
{
    const JsonValue *list;
    if (!reading_one_of(value, "fault", &list, err)) return false;
    for (size_t i = 0; i < json_count(list); i++, out->count++) {
        const JsonValue *faults = json_at(list, i);
        if (!json_want_array(faults, "one_of", 0, SCENARIO_FAULTS_MAX, err)) return false;
        for (size_t f = 0; f < json_count(faults); f++, out->alternatives[i].count++) {
            Fault *fault = &out->alternatives[i].faults[f];
            if (!read_fault(scenario, json_at(faults, f), fault, err)) return false;
        }
        if (json_count(faults) > *most) *most = json_count(faults);
    }
    return true;
}

bool faults_read(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list = json_get(root, "faults");
    size_t most = 0;
    if (list == NULL) return true;
    if (!json_want_array(list, "faults", 0, SCENARIO_FAULTS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *value = json_at(list, i);
        size_t most_here = 0;
        if (json_get(value, "one_of") == NULL) {
            if (!read_fault(out, value, &out->faults[out->fault_count++], err)) return false;
            most++;
            continue;
        }
        if (out->draw_count == SCENARIO_DRAWS_MAX) {
            return err_at(err, json_place(value), "one one_of more than the limit, %d",
                          SCENARIO_DRAWS_MAX);
        }
        if (!read_draw(out, value, &out->draws[out->draw_count++], &most_here, err)) return false;
        most += most_here;
    }
    if (most > SCENARIO_FAULTS_MAX) {
        return err_at(err, json_place(list), "up to %zu faults at once, limit 0..%d", most,
                      SCENARIO_FAULTS_MAX);
    }
    out->fixed_fault_count = out->fault_count;
    for (int i = 0; i < out->draw_count; i++) {
        for (int f = 0; f < out->draws[i].alternatives[0].count; f++) {
            out->faults[out->fault_count++] = out->draws[i].alternatives[0].faults[f];
        }
    }
    return true;
}
