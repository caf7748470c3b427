/* Reading a site and the kinds it builds on. */
#include "scenario/site.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scenario/competence.h"
#include "scenario/suggest.h"

enum {
    KINDS_MAX = 64,
    BIN_PACKS_MAX = 10000,
    PASSES_MAX = 1,
    COLUMNS_MAX = 50,
    FLAGS_MAX = 7,      /* words in each list that read_flags takes */
    TAG_BYTES_MAX = 35, /* what RFC 5646 section 4.4.1 asks every reader to take */
};

const char *const site_plan_words[] = {"start", "interval",      "changeover",
                                       "end",   "after-failure", NULL};
const char *const site_role_words[] = {"line-checker", "line-leader", "supervisor", "quality",
                                       "maintenance",  "warehouse",   NULL};
const char *const site_shift_words[] = {"early", "late", "night", "day", NULL};
const char *const site_job_words[] = {"line-checker", "line-leader", "supervisor", "quality",
                                      "maintenance",  "warehouse",   "trainer",    NULL};
const char *const site_list_words[] = {"lines", "products", "pieces", "people", NULL};
const char *const site_spot_words[] = {"leading", "middle", "trailing", NULL};
const char *const site_height_words[] = {"on-top", "inside", "underneath", NULL};
const char *const site_fail_safe_words[] = {
    "reject-confirmation", "bin-full", "bin-open", "low-air",
    "photo-eye",           "encoder",  "power",    NULL};
const char *const site_state_words[] = {"sound", "cracked", "unreadable", NULL};

/* --- Kinds ----------------------------------------------------------------------------------- */

typedef struct {
    const char *id;
    double clearance_m, receiver_offset_of_coil_height;
} HeadKind;

typedef struct {
    const char *id;
    double conductivity_s_per_m, amplitude_variation, phase_variation_rad, at_c, per_k;
} ProductKind;

struct Kinds {
    JsonDoc *document;
    HeadKind heads[KINDS_MAX];
    ProductKind products[KINDS_MAX];
    int head_count, product_count;
};

static bool read_head_kind(const JsonValue *value, HeadKind *out, Err *err)
{
    static const char *const keys[] = {"id", "coil_clearance_mm", "receiver_offset_of_coil_height",
                                       "source", NULL};
    const char *source;
    double clearance_mm;
    if (!json_want_object(value, "kind of head", keys, err)) return false;
    if (!json_read_id(value, "id", true, &out->id, err)) return false;
    if (!json_read_number(value, "coil_clearance_mm", true, 1, 500, &clearance_mm, err))
        return false;
    out->clearance_m = clearance_mm / 1000.0;
    if (!json_read_number(value, "receiver_offset_of_coil_height", true, 0.05, 1.0,
                          &out->receiver_offset_of_coil_height, err))
        return false;
    return json_read_string(value, "source", true, 1, SITE_TEXT_BYTES_MAX, &source, err);
}

static bool read_product_kind(const JsonValue *value, ProductKind *out, Err *err)
{
    static const char *const keys[] = {"id",
                                       "conductivity_s_per_m",
                                       "amplitude_variation",
                                       "phase_variation_rad",
                                       "at_c",
                                       "per_k",
                                       "source",
                                       NULL};
    const char *source;
    return json_want_object(value, "kind of product", keys, err) &&
           json_read_id(value, "id", true, &out->id, err) &&
           json_read_number(value, "conductivity_s_per_m", true, 0, 100, &out->conductivity_s_per_m,
                            err) &&
           json_read_number(value, "amplitude_variation", true, 0, 1, &out->amplitude_variation,
                            err) &&
           json_read_number(value, "phase_variation_rad", true, 0, 1, &out->phase_variation_rad,
                            err) &&
           json_read_number(value, "at_c", true, -60, 150, &out->at_c, err) &&
           json_read_number(value, "per_k", true, 0, 0.1, &out->per_k, err) &&
           json_read_string(value, "source", true, 1, SITE_TEXT_BYTES_MAX, &source, err);
}

/* Each id of a list that was read, only once. */
static bool want_own_ids(const JsonValue *list, Err *err)
{
    for (size_t i = 1; i < json_count(list); i++) {
        const JsonValue *id = json_get(json_at(list, i), "id");
        for (size_t j = 0; j < i; j++) {
            if (strcmp(json_string(json_get(json_at(list, j), "id")), json_string(id)) == 0) {
                return err_at(err, json_place(id), "id \"%s\" is there twice", json_string(id));
            }
        }
    }
    return true;
}

static bool read_kinds(Kinds *kinds, Err *err)
{
    static const char *const keys[] = {"$schema", "format", "note", "heads", "products", NULL};
    static const char *const formats[] = {"threepass-kinds-1", NULL};
    const JsonValue *root = json_root(kinds->document);
    const JsonValue *list;
    const char *note;
    int format;
    if (!json_want_object(root, "kinds", keys, err)) return false;
    if (!json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_read_string(root, "note", false, 1, SITE_TEXT_BYTES_MAX, &note, err)) return false;
    if (!json_need(root, "heads", &list, err)) return false;
    if (!json_want_array(list, "heads", 1, KINDS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_head_kind(json_at(list, i), &kinds->heads[kinds->head_count++], err))
            return false;
    }
    if (!want_own_ids(list, err)) return false;
    if (!json_need(root, "products", &list, err)) return false;
    if (!json_want_array(list, "products", 1, KINDS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_product_kind(json_at(list, i), &kinds->products[kinds->product_count++], err))
            return false;
    }
    return want_own_ids(list, err);
}

bool kinds_parse(const char *file, const char *bytes, size_t len, Kinds **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    Kinds *kinds = check_calloc(1, sizeof *kinds);
    kinds->document = document;
    if (!read_kinds(kinds, err)) {
        kinds_free(kinds);
        return false;
    }
    *out = kinds;
    return true;
}

void kinds_free(Kinds *kinds)
{
    if (kinds == NULL) return;
    json_free(kinds->document);
    free(kinds);
}

/* --- Words and ids --------------------------------------------------------------------------- */

const char *site_text(SiteText text, const char *language)
{
    if (text.by_language == NULL) return "";
    const JsonValue *found = json_get(text.by_language, language);
    if (found == NULL) found = json_get(text.by_language, "en");
    if (found == NULL) found = json_at(text.by_language, 0);
    return json_string(found);
}

/* The shape of a BCP 47 tag: letters and digits in parts of 1 to 8, the first of 2 to 8 letters. */
static bool is_language(const char *tag)
{
    size_t part = 0;
    for (size_t i = 0;; i++) {
        char c = tag[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if (letter || (i > part && c >= '0' && c <= '9')) {
            part++;
            if (part > 8 || i >= TAG_BYTES_MAX) return false;
        } else if (c == '-' || c == '\0') {
            if (part == 0 || (i == part && part < 2)) return false;
            if (c == '\0') return true;
            part = 0;
        } else {
            return false;
        }
    }
}

bool site_read_text(const JsonValue *object, const char *key, bool required, SiteText *out,
                    Err *err)
{
    const JsonValue *value = json_get(object, key);
    if (value == NULL && !required) return true;
    if (!json_need(object, key, &value, err)) return false;
    if (json_kind(value) != JSON_OBJECT || json_count(value) == 0) {
        return err_at(err, json_place(value),
                      "%s must be an object of texts by language, such as "
                      "{\"en\": \"...\"}",
                      key);
    }
    if (json_count(value) > SITE_LANGUAGES_MAX) {
        return err_at(err, json_place(value), "%s has %zu languages, limit 1..%d", key,
                      json_count(value), SITE_LANGUAGES_MAX);
    }
    for (size_t i = 0; i < json_count(value); i++) {
        const char *text;
        const char *tag = json_key_at(value, i);
        if (!is_language(tag)) {
            return err_at(err, json_place(json_at(value, i)),
                          "%s: \"%s\" is not a language tag (BCP 47), such as \"en\"", key, tag);
        }
        if (!json_read_string(value, tag, true, 1, SITE_TEXT_BYTES_MAX, &text, err)) return false;
    }
    out->by_language = value;
    return true;
}

/* Read an id under `key` into a fixed place, not one of those already there. */
static bool read_new_id(const JsonValue *value, char out[SITE_ID_BYTES], int taken, Err *err)
{
    const char *id;
    if (!json_read_id(value, "id", true, &id, err)) return false;
    if (taken >= 0) {
        return err_at(err, json_place(json_get(value, "id")), "id \"%s\" is there twice", id);
    }
    memcpy(out, id, strlen(id) + 1);
    return true;
}

/* An id that does not point anywhere, with the nearest that would. */
static bool unknown_id(const JsonValue *value, const char *what, const char *const ids[], Err *err)
{
    const char *near = suggest_word(json_string(value), ids);
    if (near == NULL) {
        return err_at(err, json_place(value), "there is no %s \"%s\" in this site", what,
                      json_string(value));
    }
    return err_at(err, json_place(value),
                  "there is no %s \"%s\" in this site; did you mean \"%s\"?", what,
                  json_string(value), near);
}

#define DEFINE_FIND(kind, list, count)                                                             \
    int site_find_##kind(const Site *site, const char *id)                                         \
    {                                                                                              \
        for (int i = 0; i < site->count; i++) {                                                    \
            if (strcmp(site->list[i].id, id) == 0) return i;                                       \
        }                                                                                          \
        return -1;                                                                                 \
    }
DEFINE_FIND(head, heads, head_count)
DEFINE_FIND(product, products, product_count)
DEFINE_FIND(piece, pieces, piece_count)
DEFINE_FIND(line, lines, line_count)

/* Where to point for what a member says: at the member, or at the object when it is left out. */
static ErrPlace place_of(const JsonValue *object, const char *key)
{
    const JsonValue *member = json_get(object, key);
    return json_place(member == NULL ? object : member);
}

static bool read_mm(const JsonValue *object, const char *key, bool required, double min, double max,
                    int64_t *um, Err *err)
{
    double mm = (double)*um / 1000.0;
    if (!json_read_number(object, key, required, min, max, &mm, err)) return false;
    *um = llround(mm * 1000.0);
    return true;
}

static bool read_head_ref(const Site *site, const JsonValue *value, int *out, Err *err)
{
    const char *id;
    if (!json_read_id(value, "head", true, &id, err)) return false;
    *out = site_find_head(site, id);
    if (*out >= 0) return true;
    const char *ids[SITE_HEADS_MAX + 1] = {NULL};
    for (int i = 0; i < site->head_count; i++) {
        ids[i] = site->heads[i].id;
    }
    return unknown_id(json_get(value, "head"), "head", ids, err);
}

static bool read_product_ref(const Site *site, const JsonValue *value, int *out, Err *err)
{
    const char *id;
    if (!json_read_id(value, "product", true, &id, err)) return false;
    *out = site_find_product(site, id);
    if (*out >= 0) return true;
    const char *ids[SITE_PRODUCTS_MAX + 1] = {NULL};
    for (int i = 0; i < site->product_count; i++) {
        ids[i] = site->products[i].id;
    }
    return unknown_id(json_get(value, "product"), "product", ids, err);
}

/* --- Heads, products, pieces ----------------------------------------------------------------- */

static bool find_head_kind(const Kinds *kinds, const JsonValue *value, const HeadKind **out,
                           Err *err)
{
    const char *words[KINDS_MAX + 1] = {NULL};
    int index = 0;
    for (int i = 0; i < kinds->head_count; i++) {
        words[i] = kinds->heads[i].id;
    }
    if (!json_read_word(value, "kind", true, words, &index, err)) return false;
    *out = &kinds->heads[index];
    return true;
}

static bool read_head(const Site *site, const Kinds *kinds, const JsonValue *value, SiteHead *out,
                      Err *err)
{
    static const char *const keys[] = {"id",
                                       "kind",
                                       "aperture_width_mm",
                                       "aperture_height_mm",
                                       "coil_clearance_mm",
                                       "receiver_offset_mm",
                                       "frequency_khz",
                                       "false_reject_rate",
                                       "found_probability",
                                       NULL};
    const HeadKind *kind;
    if (!json_want_object(value, "head", keys, err)) return false;
    const JsonValue *id = json_get(value, "id");
    int taken =
        id != NULL && json_kind(id) == JSON_STRING ? site_find_head(site, json_string(id)) : -1;
    if (!read_new_id(value, out->id, taken, err)) return false;
    if (!find_head_kind(kinds, value, &kind, err)) return false;
    double width, height, frequency;
    double clearance = kind->clearance_m * 1000.0;
    if (!json_read_number(value, "aperture_width_mm", true, 20, 3000, &width, err)) return false;
    if (!json_read_number(value, "aperture_height_mm", true, 20, 3000, &height, err)) return false;
    if (!json_read_number(value, "coil_clearance_mm", false, 1, 500, &clearance, err)) return false;
    double offset = kind->receiver_offset_of_coil_height * (height + 2.0 * clearance);
    if (!json_read_number(value, "receiver_offset_mm", false, 1, 5000, &offset, err)) return false;
    if (!json_read_number(value, "frequency_khz", true, 0.1, 2000, &frequency, err)) return false;
    out->head.coils = (CoilHead){width / 1e3, height / 1e3, clearance / 1e3, offset / 1e3};
    out->head.frequency_hz = frequency * 1e3;
    if (!json_read_number(value, "false_reject_rate", true, 1e-15, 0.5,
                          &out->head.false_reject_rate, err))
        return false;
    out->found_probability = 0.99999;
    out->place = json_place(value);
    if (!json_read_number(value, "found_probability", false, 0.5, 0.9999999,
                          &out->found_probability, err))
        return false;
    if (out->found_probability > out->head.false_reject_rate) return true;
    return err_at(err, place_of(value, "found_probability"),
                  "found_probability is %g, must be above false_reject_rate, %g",
                  out->found_probability, out->head.false_reject_rate);
}

static bool find_product_kind(const Kinds *kinds, const JsonValue *value, const ProductKind **out,
                              Err *err)
{
    const char *words[KINDS_MAX + 1] = {NULL};
    int index = 0;
    for (int i = 0; i < kinds->product_count; i++) {
        words[i] = kinds->products[i].id;
    }
    if (!json_read_word(value, "kind", true, words, &index, err)) return false;
    *out = &kinds->products[index];
    return true;
}

_Static_assert((int)FLAGS_MAX >= (int)SITE_SPOT_COUNT && (int)FLAGS_MAX >= (int)SITE_HEIGHT_COUNT &&
                   (int)FLAGS_MAX >= (int)SITE_FAIL_SAFE_COUNT,
               "no list of flags has more words");

/* "on-top, inside or underneath" */
static void add_words(const char *const words[], Text *out)
{
    for (int i = 0; words[i] != NULL; i++) {
        text_addf(out, "%s%s", i == 0 ? "" : words[i + 1] == NULL ? " or " : ", ", words[i]);
    }
}

/* "piece_goes": ["on-top", ...] as flags. */
static bool read_flags(const JsonValue *object, const char *key, const char *const words[],
                       bool *flags, Err *err)
{
    const JsonValue *list;
    if (!json_need(object, key, &list, err)) return false;
    size_t max = 0;
    while (words[max] != NULL) {
        max++;
    }
    CHECK(max <= FLAGS_MAX);
    if (!json_want_array(list, key, 1, max, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        const char *word = json_kind(item) == JSON_STRING ? json_string(item) : "";
        size_t index = 0;
        while (index < max && strcmp(words[index], word) != 0) {
            index++;
        }
        if (index == max) {
            const char *quote = word[0] == '\0' ? "" : "\"";
            Text allowed = {0};
            add_words(words, &allowed);
            (void)err_at(err, json_place(item), "%s holds %s%.64s%s, must be %s", key,
                         word[0] == '\0' ? "no word" : quote, word, quote, allowed.bytes);
            text_clear(&allowed);
            return false;
        }
        if (flags[index]) {
            return err_at(err, json_place(item), "%s holds \"%s\" twice", key, words[index]);
        }
        flags[index] = true;
    }
    return true;
}

static bool read_columns(const JsonValue *value, ProductBlock *block, Err *err)
{
    const JsonValue *columns = json_get(value, "columns");
    block->columns_across = 1;
    block->columns_up = 1;
    if (columns == NULL) return true;
    if (!json_want_array(columns, "columns", 2, 2, err)) return false;
    for (size_t i = 0; i < 2; i++) {
        const JsonValue *item = json_at(columns, i);
        int64_t n = 0;
        if (json_kind(item) != JSON_NUMBER) {
            return err_at(err, json_place(item), "columns must hold whole numbers, limit 1..%d",
                          COLUMNS_MAX);
        }
        if (!json_is_integer(item, &n) || n < 1 || n > COLUMNS_MAX) {
            return err_at(err, json_place(item),
                          "columns holds %.15g, must be a whole number, limit 1..%d",
                          json_number(item), COLUMNS_MAX);
        }
        if (i == 0)
            block->columns_across = (int)n;
        else
            block->columns_up = (int)n;
    }
    return true;
}

/* How much better a product conducts than at its kind's own temperature. */
static double warmth(const SiteProduct *product, double temperature_c)
{
    return product_conductivity_warmer(1.0, product->per_k, temperature_c - product->at_c);
}

double site_conductivity_at(const SiteProduct *product, double temperature_c)
{
    double before = warmth(product, product->temperature_c);
    if (before == 0.0) return product->block.conductivity_s_per_m;
    return product->block.conductivity_s_per_m * warmth(product, temperature_c) / before;
}

static bool read_block(const ProductKind *kind, const JsonValue *value, SiteProduct *product,
                       Err *err)
{
    ProductBlock *block = &product->block;
    double length, width, height;
    double temperature = kind->at_c;
    if (!json_read_number(value, "length_mm", true, 1, 5000, &length, err)) return false;
    if (!json_read_number(value, "width_mm", true, 1, 5000, &width, err)) return false;
    if (!json_read_number(value, "height_mm", true, 1, 5000, &height, err)) return false;
    if (!json_read_number(value, "temperature_c", false, -60, 150, &temperature, err)) return false;
    if (!read_columns(value, block, err)) return false;
    block->length_m = length / 1e3;
    block->width_m = width / 1e3;
    block->height_m = height / 1e3;
    product->temperature_c = temperature;
    product->at_c = kind->at_c;
    product->per_k = kind->per_k;
    block->conductivity_s_per_m = kind->conductivity_s_per_m * warmth(product, temperature);
    block->relative_permeability = 1.0;
    block->amplitude_variation = kind->amplitude_variation;
    block->phase_variation_rad = kind->phase_variation_rad;
    return json_read_number(value, "conductivity_s_per_m", false, 0, 100,
                            &block->conductivity_s_per_m, err) &&
           json_read_number(value, "relative_permeability", false, 1, 1.1,
                            &block->relative_permeability, err);
}

/* A sealed pack has no inside that a piece could go to. */
static bool want_reachable(const JsonValue *value, const SiteProduct *product, Err *err)
{
    if (!product->is_sealed || !product->heights[SITE_INSIDE]) return true;
    return err_at(err, place_of(value, "sealed"),
                  "sealed is true, but piece_goes holds \"inside\"");
}

static bool read_product(const Site *site, const Kinds *kinds, const JsonValue *value,
                         SiteProduct *out, Err *err)
{
    static const char *const keys[] = {"id",
                                       "kind",
                                       "name",
                                       "length_mm",
                                       "width_mm",
                                       "height_mm",
                                       "columns",
                                       "temperature_c",
                                       "conductivity_s_per_m",
                                       "relative_permeability",
                                       "piece_goes",
                                       "sealed",
                                       NULL};
    const ProductKind *kind;
    if (!json_want_object(value, "product", keys, err)) return false;
    const JsonValue *id = json_get(value, "id");
    int taken =
        id != NULL && json_kind(id) == JSON_STRING ? site_find_product(site, json_string(id)) : -1;
    out->place = json_place(value);
    return read_new_id(value, out->id, taken, err) && find_product_kind(kinds, value, &kind, err) &&
           site_read_text(value, "name", true, &out->name, err) &&
           read_block(kind, value, out, err) &&
           read_flags(value, "piece_goes", site_height_words, out->heights, err) &&
           json_read_bool(value, "sealed", false, &out->is_sealed, err) &&
           want_reachable(value, out, err);
}

static bool is_date(const char *text)
{
    static const char shape[] = "dddd-dd-dd";
    if (strlen(text) != sizeof shape - 1) return false;
    for (size_t i = 0; shape[i] != '\0'; i++) {
        if (shape[i] == '-' ? text[i] != '-' : text[i] < '0' || text[i] > '9') return false;
    }
    int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int century = (text[0] - '0') * 10 + text[1] - '0';
    int year = (text[2] - '0') * 10 + text[3] - '0';
    int month = (text[5] - '0') * 10 + text[6] - '0';
    int day = (text[8] - '0') * 10 + text[9] - '0';
    if (year == 0 ? century % 4 == 0 : year % 4 == 0) days[1] = 29;
    return month >= 1 && month <= 12 && day >= 1 && day <= days[month - 1];
}

bool site_read_date(const JsonValue *object, const char *key, bool required, const char **out,
                    Err *err)
{
    const JsonValue *value = json_get(object, key);
    if (value == NULL && !required) return true;
    if (!json_read_string(object, key, true, 1, 32, out, err)) return false;
    if (is_date(*out)) return true;
    return err_at(err, json_place(value),
                  "%s is \"%s\", must be a day of the calendar such as 2026-03-02", key, *out);
}

static bool read_piece(const Site *site, const MetalTable *metals, const JsonValue *value,
                       SitePiece *out, Err *err)
{
    static const char *const keys[] = {"id",    "metal",       "diameter_mm", "length_mm", "form",
                                       "state", "certificate", "good_until",  NULL};
    static const char *const forms[] = {"card", "stick", "puck", "wire", NULL};
    if (!json_want_object(value, "piece", keys, err)) return false;
    const JsonValue *id = json_get(value, "id");
    int taken =
        id != NULL && json_kind(id) == JSON_STRING ? site_find_piece(site, json_string(id)) : -1;
    int form = 0;
    int state = SITE_SOUND;
    out->certificate = "";
    out->good_until = "";
    out->place = json_place(value);
    if (!read_new_id(value, out->id, taken, err)) return false;
    if (!metals_read(metals, value, "metal", &out->metal, err)) return false;
    if (!read_mm(value, "diameter_mm", true, 0.01, 100, &out->diameter_um, err)) return false;
    if (!json_read_word(value, "form", true, forms, &form, err)) return false;
    out->form = forms[form];
    out->is_wire = form == 3;
    if (out->is_wire) {
        double shortest = (double)out->diameter_um * 2.0 / 1000.0;
        if (!read_mm(value, "length_mm", true, shortest, 1000, &out->length_um, err)) return false;
    } else if (json_get(value, "length_mm") != NULL) {
        return err_at(err, json_place(json_get(value, "length_mm")),
                      "length_mm belongs to a wire, and this is a %s", forms[form]);
    }
    if (!json_read_word(value, "state", false, site_state_words, &state, err)) return false;
    out->state = (SiteState)state;
    bool is_test_piece = !out->is_wire;
    return json_read_string(value, "certificate", is_test_piece, 1, 64, &out->certificate, err) &&
           site_read_date(value, "good_until", is_test_piece, &out->good_until, err);
}

/* --- Lines ----------------------------------------------------------------------------------- */

static bool read_validated(const MetalTable *metals, const JsonValue *value, SiteValidated *out,
                           Err *err)
{
    static const char *const keys[] = {"metal", "diameter_mm", NULL};
    out->place = json_place(value);
    return json_want_object(value, "validated", keys, err) &&
           metals_read(metals, value, "metal", &out->metal, err) &&
           read_mm(value, "diameter_mm", true, 0.01, 100, &out->diameter_um, err);
}

static bool read_program(const Site *site, const MetalTable *metals, const JsonValue *value,
                         SiteProgram *out, Err *err)
{
    static const char *const keys[] = {"product", "validated", NULL};
    const JsonValue *list;
    if (!json_want_object(value, "program", keys, err)) return false;
    if (!read_product_ref(site, value, &out->product, err)) return false;
    if (!json_need(value, "validated", &list, err)) return false;
    if (!json_want_array(list, "validated", 1, SITE_VALIDATED_MAX, err)) return false;
    out->validated_count = (int)json_count(list);
    out->place = json_place(value);
    for (int i = 0; i < out->validated_count; i++) {
        SiteValidated *each = &out->validated[i];
        if (!read_validated(metals, json_at(list, (size_t)i), each, err)) return false;
        for (int j = 0; j < i; j++) {
            if (out->validated[j].metal == each->metal) {
                return err_at(err, each->place, "%s is validated twice", each->metal->name);
            }
        }
    }
    return true;
}

static bool read_plan_metal(const MetalTable *metals, const JsonValue *item, SitePlan *out,
                            Err *err)
{
    if (json_kind(item) != JSON_STRING) {
        return err_at(err, json_place(item), "pieces must hold names of metals");
    }
    const Metal *metal = metals_find(metals, json_string(item));
    if (metal == NULL) {
        return err_at(err, json_place(item), "there is no metal \"%s\"", json_string(item));
    }
    for (int i = 0; i < out->metal_count; i++) {
        if (out->metals[i] == metal) {
            return err_at(err, json_place(item), "pieces holds \"%s\" twice", metal->name);
        }
    }
    out->metals[out->metal_count++] = metal;
    return true;
}

static bool read_passes(const MetalTable *metals, const JsonValue *value, SitePlan *out, Err *err)
{
    static const char *const keys[] = {"pieces", "places", "order", NULL};
    static const char *const orders[] = {"by-place", "by-metal", NULL};
    const JsonValue *list;
    int order = 0;
    if (!json_need(value, "passes", &list, err)) return false;
    if (!json_want_array(list, "passes", 1, PASSES_MAX, err)) return false;
    const JsonValue *passes = json_at(list, 0);
    if (!json_want_object(passes, "passes", keys, err)) return false;
    if (!json_read_word(passes, "order", true, orders, &order, err)) return false;
    out->by_metal = order == 1;
    if (!read_flags(passes, "places", site_spot_words, out->spots, err)) return false;
    if (!json_need(passes, "pieces", &list, err)) return false;
    if (!json_want_array(list, "pieces", 1, SITE_PLAN_METALS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_plan_metal(metals, json_at(list, i), out, err)) return false;
    }
    return true;
}

/* How often: what the interval plan must say, and no other can. */
static bool read_minutes(const JsonValue *plan, SitePlanReason reason, int64_t *out, Err *err)
{
    bool is_interval = reason == SITE_PLAN_INTERVAL;
    if (!is_interval && json_get(plan, "minutes") != NULL) {
        return err_at(err, json_place(json_get(plan, "minutes")),
                      "minutes belongs to the plan \"%s\", and this is \"%s\"",
                      site_plan_words[SITE_PLAN_INTERVAL], site_plan_words[reason]);
    }
    return json_read_integer(plan, "minutes", is_interval, 1, 1440, out, err);
}

static bool read_plan(const MetalTable *metals, const JsonValue *value, SitePlanReason reason,
                      SitePlan *out, Err *err)
{
    static const char *const keys[] = {"minutes",     "passes",        "good_run", "bin_opened_by",
                                       "empty_first", "off_centre_mm", NULL};
    int role = SITE_LINE_LEADER;
    out->is_there = true;
    out->empty_first = true;
    out->off_centre_um = 15000;
    if (!json_want_object(value, site_plan_words[reason], keys, err)) return false;
    if (!read_minutes(value, reason, &out->minutes, err)) return false;
    if (!json_read_integer(value, "good_run", true, 0, 1000, &out->good_run, err)) return false;
    if (!json_read_bool(value, "empty_first", false, &out->empty_first, err)) return false;
    if (!read_mm(value, "off_centre_mm", false, 1, 500, &out->off_centre_um, err)) return false;
    if (!json_read_word(value, "bin_opened_by", true, site_role_words, &role, err)) return false;
    out->bin_opened_by = (SiteRole)role;
    return read_passes(metals, value, out, err);
}

static bool read_reject(const JsonValue *line, SiteLine *out, Err *err)
{
    LineSetup *setup = &out->setup;
    static const char *const keys[] = {"kind",      "at_mm",     "started_by", "timed_by",
                                       "stroke_ms", "bin_packs", NULL};
    static const char *const kinds[] = {"air-jet", "pusher", "flap", NULL};
    static const char *const starts[] = {"photo-eye", "signal", NULL};
    static const char *const timings[] = {"timer", "encoder", NULL};
    const JsonValue *reject;
    int kind, start, timing;
    int64_t bin_packs;
    double stroke_ms;
    if (!json_need(line, "reject", &reject, err)) return false;
    if (!json_want_object(reject, "reject", keys, err)) return false;
    if (!json_read_word(reject, "kind", true, kinds, &kind, err)) return false;
    if (!read_mm(reject, "at_mm", true, 100, 15000, &setup->reject_um, err)) return false;
    if (!json_read_word(reject, "started_by", true, starts, &start, err)) return false;
    if (!json_read_word(reject, "timed_by", true, timings, &timing, err)) return false;
    if (!json_read_number(reject, "stroke_ms", true, 1, 5000, &stroke_ms, err)) return false;
    if (!json_read_integer(reject, "bin_packs", true, 1, BIN_PACKS_MAX, &bin_packs, err))
        return false;
    out->reject = (SiteReject)kind;
    setup->started_by = start == 0 ? LINE_BY_EYE : LINE_BY_SIGNAL;
    setup->timed_by = timing == 0 ? LINE_TIMER : LINE_ENCODER;
    setup->stroke_us = llround(stroke_ms * 1000.0);
    setup->bin_packs = (int)bin_packs;
    return true;
}

static bool read_belt(const JsonValue *value, SiteLine *out, Err *err)
{
    LineSetup *setup = &out->setup;
    double packs_per_minute;
    setup->infeed_um = -1500000;
    setup->eye_um = -300000;
    setup->end_um = 2500000;
    out->belt_above_floor_um = 15000;
    if (!read_mm(value, "belt_mm_s", true, 1, LINE_BELT_UM_S_MAX / 1000.0, &setup->belt_um_s, err))
        return false;
    if (!json_read_number(value, "packs_per_minute", true, 0.1, 2000, &packs_per_minute, err))
        return false;
    setup->pitch_um = llround((double)setup->belt_um_s * 60.0 / packs_per_minute);
    if (!read_mm(value, "infeed_mm", false, -15000, -200, &setup->infeed_um, err)) return false;
    if (!read_mm(value, "eye_mm", false, -10000, -1, &setup->eye_um, err)) return false;
    if (!read_mm(value, "end_mm", false, 200, 18000, &setup->end_um, err)) return false;
    if (!read_mm(value, "belt_above_floor_mm", false, 0, 3000, &out->belt_above_floor_um, err))
        return false;
    if (!read_reject(value, out, err)) return false;
    if (setup->infeed_um >= setup->eye_um) {
        return err_at(err, place_of(value, "infeed_mm"),
                      "infeed_mm is %g, must lie before eye_mm, %g", (double)setup->infeed_um / 1e3,
                      (double)setup->eye_um / 1e3);
    }
    if (setup->end_um <= setup->reject_um) {
        return err_at(err, place_of(value, "end_mm"),
                      "end_mm is %g, must lie behind reject.at_mm, %g", (double)setup->end_um / 1e3,
                      (double)setup->reject_um / 1e3);
    }
    int64_t on_belt = (setup->end_um - setup->infeed_um) / setup->pitch_um;
    if (on_belt > LINE_PACKS_MAX - 3) {
        return err_at(err, place_of(value, "packs_per_minute"),
                      "%lld packs would be on the belt, limit %d", (long long)on_belt,
                      LINE_PACKS_MAX - 3);
    }
    return true;
}

/* A pack must fit through the aperture, and between its neighbours. */
static bool fits(const Site *site, const JsonValue *value, const SiteLine *line,
                 const SiteProgram *program, Err *err)
{
    const ProductBlock *block = &site->products[program->product].block;
    const CoilHead *coils = &site->heads[line->head].head.coils;
    double above = block->height_m + (double)line->belt_above_floor_um * 1e-6;
    if (above > coils->aperture_height_m || block->width_m > coils->aperture_width_m) {
        const JsonValue *belt = json_get(value, "belt_above_floor_mm");
        bool is_belt = belt != NULL && block->width_m <= coils->aperture_width_m &&
                       block->height_m <= coils->aperture_height_m;
        return err_at(
            err, is_belt ? json_place(belt) : program->place,
            "%s is %g mm wide and reaches %g mm above the floor of an aperture of %g x %g "
            "mm; belt_above_floor_mm is %g, measured from the bottom of the aperture",
            site->products[program->product].id, block->width_m * 1e3, above * 1e3,
            coils->aperture_width_m * 1e3, coils->aperture_height_m * 1e3,
            (double)line->belt_above_floor_um / 1e3);
    }
    if (llround(block->length_m * 1e6) >= line->setup.pitch_um) {
        return err_at(err, program->place, "%s is %g mm long, but the packs come %g mm apart",
                      site->products[program->product].id, block->length_m * 1e3,
                      (double)line->setup.pitch_um / 1e3);
    }
    return true;
}

static bool read_programs(const Site *site, const MetalTable *metals, const JsonValue *value,
                          SiteLine *out, Err *err)
{
    const JsonValue *list;
    if (!json_need(value, "programs", &list, err)) return false;
    if (!json_want_array(list, "programs", 1, SITE_PROGRAMS_MAX, err)) return false;
    out->program_count = (int)json_count(list);
    for (int i = 0; i < out->program_count; i++) {
        SiteProgram *program = &out->programs[i];
        if (!read_program(site, metals, json_at(list, (size_t)i), program, err)) return false;
        for (int j = 0; j < i; j++) {
            if (out->programs[j].product == program->product) {
                return err_at(err, program->place, "\"%s\" has two programs on this line",
                              site->products[program->product].id);
            }
        }
        if (!fits(site, value, out, program, err)) return false;
    }
    return true;
}

/* A plan's metals are those that every program of the line has a validated sphere of. */
static bool plan_is_validated(const Site *site, const SiteLine *line, const SitePlan *plan,
                              const JsonValue *value, Err *err)
{
    for (int m = 0; m < plan->metal_count; m++) {
        for (int p = 0; p < line->program_count; p++) {
            const SiteProgram *program = &line->programs[p];
            bool found = false;
            for (int v = 0; v < program->validated_count; v++) {
                if (program->validated[v].metal == plan->metals[m]) found = true;
            }
            if (!found) {
                return err_at(err, json_place(value),
                              "the plan asks for %s, but no %s is validated for %s",
                              plan->metals[m]->name, plan->metals[m]->name,
                              site->products[program->product].id);
            }
        }
    }
    return true;
}

static bool read_plans(const Site *site, const MetalTable *metals, const JsonValue *value,
                       SiteLine *out, Err *err)
{
    const JsonValue *plans;
    if (!json_need(value, "check_plans", &plans, err)) return false;
    if (!json_want_object(plans, "check_plans", site_plan_words, err)) return false;
    for (int i = 0; i < SITE_PLAN_COUNT; i++) {
        const JsonValue *plan = json_get(plans, site_plan_words[i]);
        if (plan == NULL) continue;
        if (!read_plan(metals, plan, (SitePlanReason)i, &out->plans[i], err)) return false;
        if (!plan_is_validated(site, out, &out->plans[i], plan, err)) return false;
    }
    return true;
}

/* The fail-safes that a line has, and who resets their alarms. */
static bool read_fail_safes(const JsonValue *value, SiteLine *out, Err *err)
{
    int role = SITE_LINE_LEADER;
    if (!json_read_word(value, "alarms_reset_by", false, site_role_words, &role, err)) return false;
    out->reset_by = (SiteRole)role;
    if (json_get(value, "fail_safes") == NULL) return true;
    if (!read_flags(value, "fail_safes", site_fail_safe_words, out->fail_safes, err)) return false;
    memcpy(out->setup.monitors, out->fail_safes, sizeof out->setup.monitors);
    return true;
}

static bool read_line(const Site *site, const MetalTable *metals, const JsonValue *value,
                      SiteLine *out, Err *err)
{
    static const char *const keys[] = {
        "id",     "name",      "head",        "belt_mm_s",  "packs_per_minute",
        "lanes",  "infeed_mm", "eye_mm",      "end_mm",     "belt_above_floor_mm",
        "reject", "programs",  "check_plans", "fail_safes", "alarms_reset_by",
        NULL};
    int64_t lanes = 1;
    if (!json_want_object(value, "line", keys, err)) return false;
    const JsonValue *id = json_get(value, "id");
    int taken =
        id != NULL && json_kind(id) == JSON_STRING ? site_find_line(site, json_string(id)) : -1;
    out->place = json_place(value);
    return read_new_id(value, out->id, taken, err) &&
           site_read_text(value, "name", true, &out->name, err) &&
           json_read_integer(value, "lanes", false, 1, 1, &lanes, err) &&
           read_head_ref(site, value, &out->head, err) && read_belt(value, out, err) &&
           read_fail_safes(value, out, err) && read_programs(site, metals, value, out, err) &&
           read_plans(site, metals, value, out, err);
}

/* --- The whole ------------------------------------------------------------------------------- */

static bool read_languages(Site *site, const JsonValue *root, Err *err)
{
    const JsonValue *list;
    if (!json_need(root, "languages", &list, err)) return false;
    if (!json_want_array(list, "languages", 1, SITE_LANGUAGES_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING || !is_language(json_string(item))) {
            return err_at(err, json_place(item),
                          "languages must hold language tags (BCP 47), such "
                          "as \"en\"");
        }
        for (int j = 0; j < site->language_count; j++) {
            if (strcmp(site->languages[j], json_string(item)) == 0) {
                return err_at(err, json_place(item), "language \"%s\" is there twice",
                              json_string(item));
            }
        }
        site->languages[site->language_count++] = json_string(item);
    }
    return true;
}

/* A list of the site: how many, in place of `out`, which is allocated here. */
static bool want_list(const JsonValue *root, const char *key, size_t max, size_t bytes,
                      const JsonValue **list, void **out, Err *err)
{
    if (!json_need(root, key, list, err)) return false;
    if (!json_want_array(*list, key, 1, max, err)) return false;
    *out = check_calloc(json_count(*list), bytes);
    return true;
}

static bool read_lists(Site *site, const JsonValue *root, const MetalTable *metals,
                       const Kinds *kinds, Err *err)
{
    const JsonValue *list;
    void *room;
    if (!want_list(root, "heads", SITE_HEADS_MAX, sizeof *site->heads, &list, &room, err))
        return false;
    site->heads = room;
    for (size_t i = 0; i < json_count(list); i++, site->head_count++) {
        if (!read_head(site, kinds, json_at(list, i), &site->heads[i], err)) return false;
    }
    if (!want_list(root, "products", SITE_PRODUCTS_MAX, sizeof *site->products, &list, &room, err))
        return false;
    site->products = room;
    for (size_t i = 0; i < json_count(list); i++, site->product_count++) {
        if (!read_product(site, kinds, json_at(list, i), &site->products[i], err)) return false;
    }
    if (!want_list(root, "pieces", SITE_PIECES_MAX, sizeof *site->pieces, &list, &room, err))
        return false;
    site->pieces = room;
    for (size_t i = 0; i < json_count(list); i++, site->piece_count++) {
        if (!read_piece(site, metals, json_at(list, i), &site->pieces[i], err)) return false;
    }
    if (!want_list(root, "lines", SITE_LINES_MAX, sizeof *site->lines, &list, &room, err))
        return false;
    site->lines = room;
    for (size_t i = 0; i < json_count(list); i++, site->line_count++) {
        if (!read_line(site, metals, json_at(list, i), &site->lines[i], err)) return false;
    }
    return true;
}

static bool read_person(const Site *site, const JsonValue *value, SitePerson *out, Err *err)
{
    static const char *const keys[] = {"name", "shift", "role", NULL};
    int shift = SITE_DAY;
    int job = SITE_JOB_LINE_CHECKER;
    if (!json_want_object(value, "person", keys, err)) return false;
    if (!json_read_string(value, "name", true, 1, SITE_NAME_BYTES_MAX, &out->name, err))
        return false;
    for (int i = 0; i < site->person_count; i++) {
        if (strcmp(site->people[i].name, out->name) == 0) {
            return err_at(err, place_of(value, "name"), "person \"%s\" is there twice", out->name);
        }
    }
    if (!json_read_word(value, "shift", false, site_shift_words, &shift, err)) return false;
    if (!json_read_word(value, "role", false, site_job_words, &job, err)) return false;
    out->shift = (SiteShift)shift;
    out->job = (SiteJob)job;
    return true;
}

static bool read_people(Site *site, const JsonValue *root, Err *err)
{
    const JsonValue *list = json_get(root, "people");
    if (list == NULL) return true;
    if (!json_want_array(list, "people", 1, SITE_PEOPLE_MAX, err)) return false;
    site->people = check_calloc(json_count(list), sizeof *site->people);
    for (size_t i = 0; i < json_count(list); i++, site->person_count++) {
        if (!read_person(site, json_at(list, i), &site->people[i], err)) return false;
    }
    return true;
}

static bool read_site(Site *site, const MetalTable *metals, const Kinds *kinds, Err *err)
{
    static const char *const keys[] = {
        "$schema",  "format", "id",    "name",   "languages",   "release_by", "heads",
        "products", "pieces", "lines", "people", "competences", NULL};
    static const char *const formats[] = {"threepass-site-1", NULL};
    const JsonValue *root = json_root(site->document);
    int format;
    int release_by = SITE_QUALITY;
    if (!json_want_object(root, "site", keys, err)) return false;
    if (!json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!read_new_id(root, site->id, -1, err)) return false;
    if (!site_read_text(root, "name", true, &site->name, err)) return false;
    if (!read_languages(site, root, err)) return false;
    if (!json_read_word(root, "release_by", false, site_role_words, &release_by, err)) return false;
    site->release_by = (SiteRole)release_by;
    return read_people(site, root, err) && read_lists(site, root, metals, kinds, err) &&
           competence_read_all(site, root, err);
}

bool site_parse(const char *file, const char *bytes, size_t len, const MetalTable *metals,
                const Kinds *kinds, Site **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    Site *site = check_calloc(1, sizeof *site);
    site->document = document;
    site->metals = metals;
    if (!read_site(site, metals, kinds, err)) {
        site_free(site);
        return false;
    }
    *out = site;
    return true;
}

int site_list_max(SiteList list)
{
    static const int most[SITE_LIST_COUNT] = {[SITE_LINES] = SITE_LINES_MAX,
                                              [SITE_PRODUCTS] = SITE_PRODUCTS_MAX,
                                              [SITE_PIECES] = SITE_PIECES_MAX,
                                              [SITE_PEOPLE] = SITE_PEOPLE_MAX};
    return most[list];
}

bool site_check_element(const Site *site, const MetalTable *metals, const Kinds *kinds,
                        SiteList list, const JsonValue *value, Err *err)
{
    Site alone = *site; /* the other lists are there to point to; of its own it is the first */
    bool ok = false;
    if (list == SITE_LINES) {
        SiteLine *line = check_calloc(1, sizeof *line);
        alone.line_count = 0;
        ok = read_line(&alone, metals, value, line, err);
        free(line);
    } else if (list == SITE_PRODUCTS) {
        SiteProduct product = {0};
        alone.product_count = 0;
        ok = read_product(&alone, kinds, value, &product, err);
    } else if (list == SITE_PIECES) {
        SitePiece piece = {0};
        alone.piece_count = 0;
        ok = read_piece(&alone, metals, value, &piece, err);
    } else {
        SitePerson person = {0};
        alone.person_count = 0;
        ok = read_person(&alone, value, &person, err);
    }
    return ok;
}

void site_free(Site *site)
{
    if (site == NULL) return;
    free(site->heads);
    free(site->products);
    free(site->pieces);
    free(site->lines);
    free(site->people);
    free(site->competences);
    json_free(site->document);
    free(site);
}

const SiteProgram *site_program(const SiteLine *line, int product)
{
    for (int i = 0; i < line->program_count; i++) {
        if (line->programs[i].product == product) return &line->programs[i];
    }
    return NULL;
}

ProductBlock site_block(const Site *site, const SiteLine *line, int product)
{
    ProductBlock block = site->products[product].block;
    double floor = -site->heads[line->head].head.coils.aperture_height_m / 2.0;
    block.centre_up_m = floor + (double)line->belt_above_floor_um * 1e-6 + block.height_m / 2.0;
    return block;
}
