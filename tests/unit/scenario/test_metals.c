/* The table of metals: what ships, and what a broken table says. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "bad.h"
#include "base/os.h"
#include "scenario/metals.h"

/* The figures again, from the sources that each entry of assets/metals.json names: data sheets of
 * 304, 316, C26000 and 1010; 1018 steel by N. Bowler; copper's standard of 1913 (from memory,
 * 0.017241 ohm mm2/m); the others from memory of handbooks. In microohm centimetres. */
static const struct {
    const char *name;
    MetalGroup group;
    double microohm_cm;
    double permeability;
} WANT[] = {
    {"stainless-304", METAL_STAINLESS, 72, 1.008}, {"stainless-316", METAL_STAINLESS, 74, 1.005},
    {"chrome-steel", METAL_FERROUS, 22, 70},       {"carbon-steel", METAL_FERROUS, 15, 90},
    {"brass", METAL_NON_FERROUS, 6.16, 1},         {"aluminium", METAL_NON_FERROUS, 2.82, 1},
    {"copper", METAL_NON_FERROUS, 1.7241, 1},      {"lead", METAL_NON_FERROUS, 20.8, 1},
};

static void test_metals_load_shipped(void **state)
{
    (void)state;
    Err err = {0};
    MetalTable *table = NULL;
    if (!metals_load("assets/metals.json", &table, &err)) fail_msg("%s", err.text);
    assert_int_equal(metals_count(table), sizeof WANT / sizeof WANT[0]);
    for (size_t i = 0; i < metals_count(table); i++) {
        const Metal *metal = metals_find(table, WANT[i].name);
        assert_ptr_equal(metal, metals_at(table, i));
        assert_int_equal(metal->group, WANT[i].group);
        assert_true(metal->at_c == 20);
        double got = metal->figures.resistivity_ohm_m * 1e8;
        assert_true(fabs(got - WANT[i].microohm_cm) < 1e-9 * WANT[i].microohm_cm);
        assert_true(metal->figures.relative_permeability == WANT[i].permeability);
        assert_true(metal->relative_permeability_low <= WANT[i].permeability);
        assert_true(metal->relative_permeability_high >= WANT[i].permeability);
        assert_true(strstr(metal->resistivity_source, "published") != NULL ||
                    strstr(metal->resistivity_source, "from memory") != NULL);
        assert_true(strstr(metal->relative_permeability_source, "published") != NULL ||
                    strstr(metal->relative_permeability_source, "from memory") != NULL);
    }
    assert_null(metals_find(table, "gold"));
    metals_free(table);
}

/* 304: 72 microohm cm at 20 C and 78 at 100 C on one data sheet. */
static void test_metals_temperature_of_304(void **state)
{
    (void)state;
    Err err = {0};
    MetalTable *table = NULL;
    assert_true(metals_load("assets/metals.json", &table, &err));
    const Metal *metal = metals_find(table, "stainless-304");
    double at_100_c = 72 * (1 + metal->resistivity_per_k * (100 - metal->at_c));
    assert_true(fabs(at_100_c - 78) < 0.5);
    metals_free(table);
}

static void test_metals_group_word_each(void **state)
{
    (void)state;
    assert_string_equal(metals_group_word(METAL_FERROUS), "ferrous");
    assert_string_equal(metals_group_word(METAL_NON_FERROUS), "non-ferrous");
    assert_string_equal(metals_group_word(METAL_STAINLESS), "stainless");
}

static void test_metals_read_names(void **state)
{
    (void)state;
    static const char text[] = "{\"good\":\"brass\",\n\"bad\":\"bras\", \"type\":1}";
    Err err = {0};
    MetalTable *table = NULL;
    JsonDoc *doc = NULL;
    const Metal *metal = NULL;
    assert_true(metals_load("assets/metals.json", &table, &err));
    assert_true(json_parse("t.json", text, strlen(text), &doc, &err));
    assert_true(metals_read(table, json_root(doc), "good", &metal, &err));
    assert_string_equal(metal->name, "brass");
    assert_false(metals_read(table, json_root(doc), "bad", &metal, &err));
    assert_string_equal(err.text,
                        "t.json:2:7: error: bad is \"bras\", must be one of \"stainless-304\", "
                        "\"stainless-316\", \"chrome-steel\", \"carbon-steel\", \"brass\", "
                        "\"aluminium\", \"copper\", \"lead\"; did you mean \"brass\"?");
    assert_false(metals_read(table, json_root(doc), "type", &metal, &err));
    assert_string_equal(err.text, "t.json:2:22: error: type: is a number, must be a string");
    assert_false(metals_read(table, json_root(doc), "none", &metal, &err));
    assert_string_equal(err.text, "t.json:1:1: error: none is missing");
    json_free(doc);
    metals_free(table);
}

static const char HEAD[] = "{\"format\":\"threepass-metals-1\",\"metals\":[\n";
static const char METAL[] =
    "{\"name\":\"x\",\"group\":\"ferrous\",\"condition\":\"soft\",\"at_c\":20,\n"
    "\"resistivity_ohm_m\":1e-7,\"resistivity_uncertainty\":0.1,\"resistivity_per_k\":0.004,\n"
    "\"resistivity_source\":\"from memory\",\"relative_permeability\":90,\n"
    "\"relative_permeability_low\":50,\"relative_permeability_high\":280,\n"
    "\"relative_permeability_source\":\"from memory\",\"note\":\"n\"}";

/* Load HEAD, METAL with `old` replaced, and `tail`; the message behind the file's name. */
static void load_changed(const char *old, const char *new, const char *tail,
                         char message[ERR_TEXT_BYTES])
{
    Err err = {0};
    Text folder = {0};
    Text path = {0};
    Text text = {0};
    MetalTable *table = NULL;
    const char *at = strstr(METAL, old);
    assert_non_null(at);
    text_add(&text, HEAD);
    text_add_bytes(&text, METAL, (size_t)(at - METAL));
    text_addf(&text, "%s%s%s", new, at + strlen(old), tail);
    assert_true(os_folder_make_temporary(&folder, &err));
    text_addf(&path, "%s/metals.json", folder.bytes);
    assert_true(os_file_write(path.bytes, text.bytes, text.len, &err));
    message[0] = '\0';
    if (!metals_load(path.bytes, &table, &err)) {
        assert_memory_equal(err.text, path.bytes, path.len);
        (void)snprintf(message, ERR_TEXT_BYTES, "%s", err.text + path.len);
    }
    metals_free(table);
    assert_int_equal(remove(path.bytes), 0);
    assert_int_equal(remove(folder.bytes), 0);
    text_clear(&text);
    text_clear(&path);
    text_clear(&folder);
}

static void test_metals_load_bad(void **state)
{
    (void)state;
    static const struct {
        const char *old, *new, *tail, *want;
    } rows[] = {
        {"90", "90", "]}", ""},
        {"1e-7", "1e-8", "]}", ""},
        {"1e-7", "9e-9", "]}", ":3:21: error: resistivity_ohm_m is 9e-09, limit 1e-08..1e-05"},
        {"1e-7", "1.5e-5", "]}", ":3:21: error: resistivity_ohm_m is 1.5e-05, limit 1e-08..1e-05"},
        {"90", "0.9", "]}", ":4:60: error: relative_permeability is 0.9, limit 1..100000"},
        {"50", "91", "]}", ":5:29: error: relative_permeability_low is 91, limit 1..90"},
        {"280", "89", "]}", ":5:61: error: relative_permeability_high is 89, limit 90..100000"},
        {"\"at_c\":20", "\"at_c\":293", "]}", ":2:57: error: at_c is 293, limit -50..200"},
        {"0.1", "1.1", "]}", ":3:52: error: resistivity_uncertainty is 1.1, limit 0..1"},
        {"0.004", "0.4", "]}", ":3:76: error: resistivity_per_k is 0.4, limit -0.01..0.02"},
        {"\"n\"", "\"\"", "]}", ":6:53: error: note is 0 bytes long, limit 1..500"},
        {"\"ferrous\"", "\"iron\"", "]}",
         ":2:21: error: group is \"iron\", must be one of \"ferrous\", \"non-ferrous\", "
         "\"stainless\""},
        {"\"x\"", "\"a b\"", "]}",
         ":2:9: error: name is \"a b\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
        {"\"note\"", "\"notes\"", "]}",
         ":6:46: error: unknown key \"notes\"; did you mean \"note\"?"},
        {",\"note\":\"n\"", "", "]}", ":2:1: error: note is missing"},
        {"90", "90", ",{}]}", ":6:58: error: name is missing"},
        {"90", "90", "],\"more\":1}", ":6:59: error: unknown key \"more\""},
    };
    char got[ERR_TEXT_BYTES];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        load_changed(rows[i].old, rows[i].new, rows[i].tail, got);
        assert_string_equal(got, rows[i].want);
    }
    Text twin = {0};
    text_addf(&twin, ",\n%s]}", METAL);
    load_changed("90", "90", twin.bytes, got);
    assert_string_equal(got, ":7:9: error: name is \"x\", which is taken");
    text_clear(&twin);
}

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    MetalTable *table = NULL;
    bool ok = metals_parse(file, bytes, len, &table, err);
    assert_true(ok == (table != NULL));
    metals_free(table);
    return ok;
}

/* The limits are the format's own; why they are so wide stands beside them in metals.c. */
static const BadKey metal_keys[] = {
    {"name", "\"x\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"group", "\"ferrous\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"condition", "\"soft\"", KEY_STRING, false, "1", "500", NULL, NULL},
    {"at_c", "20", KEY_NUMBER, false, "-50", "200", "-50.5", "200.5"},
    {"resistivity_ohm_m", "1e-7", KEY_NUMBER, false, "1e-08", "1e-05", "9.9e-09", "1.01e-05"},
    {"resistivity_uncertainty", "0.1", KEY_NUMBER, false, "0", "1", "-0.1", "1.1"},
    {"resistivity_per_k", "0", KEY_NUMBER, false, "-0.01", "0.02", "-0.011", "0.021"},
    {"resistivity_source", "\"none\"", KEY_STRING, false, "1", "500", NULL, NULL},
    {"relative_permeability_low", "50", KEY_NUMBER, false, "1", "90", "0.9", "90.5"},
    {"relative_permeability_high", "280", KEY_NUMBER, false, "90", "100000", "89.5", "100000.5"},
    {"relative_permeability", "90", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"relative_permeability_source", "\"none\"", KEY_STRING, false, "1", "500", NULL, NULL},
    {"note", "\"none\"", KEY_STRING, false, "1", "500", NULL, NULL},
};

static void test_metals_parse_each_key(void **state)
{
    (void)state;
    static const BadObject metal = {metal_keys, sizeof metal_keys / sizeof metal_keys[0],
                                    "{\"format\": \"threepass-metals-1\", \"metals\": [", "]}"};
    size_t bad = bad_check_object(&metal, parse, NULL);
    print_message("%zu bad tables\n", bad);
    assert_true(bad + 15 >= BAD_ROWS_MIN); /* fifteen more stand in the table above */
}

static void test_metals_load_no_file(void **state)
{
    (void)state;
    Err err = {0};
    MetalTable *table = NULL;
    assert_false(metals_load("assets/no-such.json", &table, &err));
    assert_int_equal(err.code, ERR_IO);
    assert_null(table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_metals_load_shipped),
        cmocka_unit_test(test_metals_temperature_of_304),
        cmocka_unit_test(test_metals_group_word_each),
        cmocka_unit_test(test_metals_read_names),
        cmocka_unit_test(test_metals_load_bad),
        cmocka_unit_test(test_metals_parse_each_key),
        cmocka_unit_test(test_metals_load_no_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
