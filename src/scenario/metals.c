/* The table of metals, read from its file. */
#include "scenario/metals.h"

#include <stdlib.h>
#include <string.h>

#include "base/os.h"
#include "scenario/suggest.h"

enum { TEXT_BYTES_MAX = 500 };

struct MetalTable {
    JsonDoc *doc; /* owns every string */
    Metal *metals;
    size_t count;
    const char **names; /* NULL-ended, for suggestions */
};

static const char *const group_words[] = {
    [METAL_FERROUS] = "ferrous",
    [METAL_NON_FERROUS] = "non-ferrous",
    [METAL_STAINLESS] = "stainless",
    NULL,
};

const char *metals_group_word(MetalGroup group)
{
    return group_words[group];
}

static bool read_texts(const JsonValue *value, Metal *metal, Err *err)
{
    const struct {
        const char *key;
        const char **text;
    } texts[] = {
        {"condition", &metal->condition},
        {"resistivity_source", &metal->resistivity_source},
        {"relative_permeability_source", &metal->relative_permeability_source},
        {"note", &metal->note},
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (!json_read_string(value, texts[i].key, true, 1, TEXT_BYTES_MAX, texts[i].text, err)) {
            return false;
        }
    }
    return true;
}

static bool read_figures(const JsonValue *value, Metal *metal, Err *err)
{
    /* Wide enough for every metal, narrow enough to catch a wrong unit: silver has 1.6e-8 ohm m,
     * the worst alloy for heating wires 1.5e-6 (from memory). */
    const struct {
        const char *key;
        double min, max;
        double *figure;
    } figures[] = {
        {"at_c", -50, 200, &metal->at_c},
        {"resistivity_ohm_m", 1e-8, 1e-5, &metal->figures.resistivity_ohm_m},
        {"resistivity_uncertainty", 0, 1, &metal->resistivity_uncertainty},
        {"resistivity_per_k", -0.01, 0.02, &metal->resistivity_per_k},
        {"relative_permeability", 1, 1e5, &metal->figures.relative_permeability},
    };
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        if (!json_read_number(value, figures[i].key, true, figures[i].min, figures[i].max,
                              figures[i].figure, err)) {
            return false;
        }
    }
    double mu = metal->figures.relative_permeability;
    return json_read_number(value, "relative_permeability_low", true, 1, mu,
                            &metal->relative_permeability_low, err) &&
           json_read_number(value, "relative_permeability_high", true, mu, 1e5,
                            &metal->relative_permeability_high, err);
}

static bool read_metal(const JsonValue *value, MetalTable *table, Err *err)
{
    static const char *const keys[] = {"name",
                                       "group",
                                       "condition",
                                       "at_c",
                                       "resistivity_ohm_m",
                                       "resistivity_uncertainty",
                                       "resistivity_per_k",
                                       "resistivity_source",
                                       "relative_permeability",
                                       "relative_permeability_low",
                                       "relative_permeability_high",
                                       "relative_permeability_source",
                                       "note",
                                       NULL};
    Metal metal = {0};
    int group = 0;
    if (!json_want_object(value, "metal", keys, err)) return false;
    if (!json_read_id(value, "name", true, &metal.name, err)) return false;
    if (!json_read_word(value, "group", true, group_words, &group, err)) return false;
    if (!read_texts(value, &metal, err)) return false;
    if (!read_figures(value, &metal, err)) return false;
    if (metals_find(table, metal.name) != NULL) {
        return err_at(err, json_place(json_get(value, "name")), "name is \"%s\", which is taken",
                      metal.name);
    }
    metal.group = (MetalGroup)group;
    table->names[table->count] = metal.name;
    table->metals[table->count++] = metal;
    return true;
}

static bool read_table(MetalTable *table, Err *err)
{
    static const char *const keys[] = {"format", "metals", NULL};
    static const char *const formats[] = {"threepass-metals-1", NULL};
    const JsonValue *root = json_root(table->doc);
    const JsonValue *metals = NULL;
    int format = 0;
    if (!json_want_object(root, "the table of metals", keys, err)) return false;
    if (!json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_need(root, "metals", &metals, err)) return false;
    if (!json_want_array(metals, "metals", 1, METALS_COUNT_MAX, err)) return false;
    table->metals = check_calloc(json_count(metals), sizeof *table->metals);
    table->names = check_calloc(json_count(metals) + 1, sizeof *table->names);
    for (size_t i = 0; i < json_count(metals); i++) {
        if (!read_metal(json_at(metals, i), table, err)) return false;
    }
    return true;
}

bool metals_parse(const char *file, const char *bytes, size_t len, MetalTable **out, Err *err)
{
    MetalTable *table = check_calloc(1, sizeof *table);
    if (!json_parse(file, bytes, len, &table->doc, err) || !read_table(table, err)) {
        metals_free(table);
        return false;
    }
    *out = table;
    return true;
}

bool metals_load(const char *path, MetalTable **out, Err *err)
{
    CHECK(path != NULL && out != NULL && err != NULL);
    Text text = {0};
    bool ok = os_file_read(path, JSON_BYTES_MAX, &text, err) &&
              metals_parse(path, text_string(&text), text.len, out, err);
    text_clear(&text);
    return ok;
}

void metals_free(MetalTable *table)
{
    if (table == NULL) return;
    json_free(table->doc);
    free(table->metals);
    free(table->names);
    free(table);
}

size_t metals_count(const MetalTable *table)
{
    return table->count;
}

const Metal *metals_at(const MetalTable *table, size_t index)
{
    CHECK(index < table->count);
    return &table->metals[index];
}

const Metal *metals_find(const MetalTable *table, const char *name)
{
    for (size_t i = 0; i < table->count; i++) {
        if (strcmp(table->metals[i].name, name) == 0) return &table->metals[i];
    }
    return NULL;
}

bool metals_want(const MetalTable *table, const JsonValue *value, const char *name,
                 const Metal **out, Err *err)
{
    int index = 0;
    if (!json_want_word(value, name, table->names, &index, err)) return false;
    *out = &table->metals[index];
    return true;
}

bool metals_read(const MetalTable *table, const JsonValue *object, const char *key,
                 const Metal **out, Err *err)
{
    int index = 0;
    if (!json_read_word(object, key, true, table->names, &index, err)) return false;
    *out = &table->metals[index];
    return true;
}
