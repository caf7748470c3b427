/* The kinds of head and product: what ships, every limit, and what a bad table says. */
#include "bad.h"
#include "scenario/site.h"

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    Kinds *kinds = NULL;
    bool ok = kinds_parse(file, bytes, len, &kinds, err);
    assert_true(ok == (kinds != NULL));
    kinds_free(kinds);
    return ok;
}

/* The limits are the format's own; common practice, no source. */
static const BadKey head_keys[] = {
    {"id", "\"tunnel\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"coil_clearance_mm", "20", KEY_NUMBER, false, "1", "500", "0.999", "500.001"},
    {"receiver_offset_of_coil_height", "0.35", KEY_NUMBER, false, "0.05", "1", "0.0499", "1.001"},
    {"source", "\"none\"", KEY_STRING, false, "1", "4000", NULL, NULL},
};

static const BadKey product_keys[] = {
    {"id", "\"dry\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"conductivity_s_per_m", "0.1", KEY_NUMBER, false, "0", "100", "-0.001", "100.001"},
    {"amplitude_variation", "0.1", KEY_NUMBER, false, "0", "1", "-0.001", "1.001"},
    {"phase_variation_rad", "0.1", KEY_NUMBER, false, "0", "1", "-0.001", "1.001"},
    {"at_c", "20", KEY_NUMBER, false, "-60", "150", "-60.5", "150.5"},
    {"per_k", "0.02", KEY_NUMBER, false, "0", "0.1", "-0.001", "0.1001"},
    {"source", "\"none\"", KEY_STRING, false, "1", "4000", NULL, NULL},
};

#define HEAD                                                                                       \
    "{\"id\": \"tunnel\", \"coil_clearance_mm\": 20, \"receiver_offset_of_coil_height\": 0.35, "   \
    "\"source\": \"none\"}"
#define PRODUCT                                                                                    \
    "{\"id\": \"dry\", \"conductivity_s_per_m\": 0.1, \"amplitude_variation\": 0.05, "             \
    "\"phase_variation_rad\": 0.02, \"at_c\": 20, \"per_k\": 0.02, \"source\": \"none\"}"
#define FORMAT "{\"format\": \"threepass-kinds-1\", "
#define GOOD                                                                                       \
    FORMAT "\"note\": \"n\",\n \"heads\": [\n" HEAD "\n],\n \"products\": [\n" PRODUCT "\n]}"

static const BadObject head = {head_keys, sizeof head_keys / sizeof head_keys[0],
                               FORMAT "\"heads\": [", "],\n\"products\": [" PRODUCT "]}"};
static const BadObject product = {product_keys, sizeof product_keys / sizeof product_keys[0],
                                  FORMAT "\"heads\": [" HEAD "],\n\"products\": [", "]}"};

static const BadRow rows[] = {
    {"good", "\"n\"", "\"m\"", NULL, NULL},
    {"no JSON", "{\"format\"", "{^format", NULL,
     "not JSON: expected a key in double quotes, found format"},
    {"two texts", "{\"format\"", "[] ^{\"format\"", NULL,
     "not JSON: expected the end of the text, found {"},
    {"no format", "\"format\": \"threepass-kinds-1\", ", "", "{", "format is missing"},
    {"format a number", "\"threepass-kinds-1\"", "^1", NULL,
     "format: is a number, must be a string"},
    {"another format", "\"threepass-kinds-1\"", "^\"threepass-kinds-2\"", NULL,
     "format is \"threepass-kinds-2\", must be one of \"threepass-kinds-1\"; did you mean "
     "\"threepass-kinds-1\"?"},
    {"note a number", "\"n\"", "^1", NULL, "note: is a number, must be a string"},
    {"no heads", "\"heads\": [\n" HEAD "\n],", "", "{", "heads is missing"},
    {"heads an object", "[\n" HEAD "\n]", "^{}", NULL, "heads: is an object, must be an array"},
    {"heads empty", "[\n" HEAD "\n]", "^[]", NULL, "heads has 0 elements, limit 1..64"},
    {"heads null", "[\n" HEAD "\n]", "^null", NULL, "heads: is null, must be an array"},
    {"a head a string", HEAD, "^\"tunnel\"", NULL, "kind of head: is a string, must be an object"},
    {"a head twice", HEAD,
     HEAD ",{\"id\": ^\"tunnel\", \"coil_clearance_mm\": 30, "
          "\"receiver_offset_of_coil_height\": 0.35, \"source\": \"none\"}",
     NULL, "id \"tunnel\" is there twice"},
    {"head misspelt", "\"coil_clearance_mm\"", "^\"coil_clearance_m\"", NULL,
     "unknown key \"coil_clearance_m\"; did you mean \"coil_clearance_mm\"?"},
    {"no products", ",\n \"products\": [\n" PRODUCT "\n]", "", "{", "products is missing"},
    {"products empty", "[\n" PRODUCT "\n]", "^[]", NULL, "products has 0 elements, limit 1..64"},
    {"products a number", "[\n" PRODUCT "\n]", "^7", NULL,
     "products: is a number, must be an array"},
    {"a product null", PRODUCT, "^null", NULL, "kind of product: is null, must be an object"},
    {"product misspelt", "\"per_k\"", "^\"per_kelvin\"", NULL, "unknown key \"per_kelvin\""},
    {"root misspelt", "\"note\"", "^\"notes\"", NULL,
     "unknown key \"notes\"; did you mean \"note\"?"},
    {"key twice", "\"note\": \"n\"", "\"note\": \"n\", ^\"note\": \"n\"", NULL,
     "not JSON: the key \"note\" was there already, at line 1 column 33"},
    {"beyond a double", "0.35", "^1e999", NULL,
     "receiver_offset_of_coil_height is beyond 1.8e308, limit 0.05..1"},
};

static void test_kinds_parse_bad(void **state)
{
    (void)state;
    size_t count = sizeof rows / sizeof rows[0];
    bad_check_rows(GOOD, rows, count, parse, NULL);
    count += bad_check_object(&head, parse, NULL);
    count += bad_check_object(&product, parse, NULL);
    print_message("%zu bad tables\n", count);
    assert_true(count >= BAD_ROWS_MIN);
}

static void test_kinds_parse_shipped(void **state)
{
    (void)state;
    Text text = {0};
    Err err = {0};
    bad_read_file("assets/kinds.json", &text);
    if (!parse(NULL, "kinds.json", text.bytes, text.len, &err)) fail_msg("%s", err.text);
    text_clear(&text);
}

/* Sixty-four kinds are read, sixty-five are not. */
static void test_kinds_parse_count(void **state)
{
    (void)state;
    for (int count = 64; count <= 65; count++) {
        Text text = {0};
        text_add(&text, FORMAT "\"heads\": [" HEAD "], \"products\": ^[");
        for (int i = 0; i < count; i++) {
            text_addf(&text,
                      "%s{\"id\": \"p%d\", \"conductivity_s_per_m\": 0.1, "
                      "\"amplitude_variation\": 0.05, \"phase_variation_rad\": 0.02, "
                      "\"at_c\": 20, \"per_k\": 0.02, \"source\": \"none\"}",
                      i == 0 ? "" : ",", i);
        }
        text_add(&text, "]}");
        assert_true(bad_is_told("count", text.bytes, parse, NULL,
                                count == 64 ? NULL : "products has 65 elements, limit 1..64"));
        text_clear(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_kinds_parse_shipped),
        cmocka_unit_test(test_kinds_parse_bad),
        cmocka_unit_test(test_kinds_parse_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
