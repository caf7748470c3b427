/* Fitted values as text: printed and read back, and what is said of bad ones. */
#include "bad.h"
#include "scenario/site.h"

/* The reader looks at a site's heads alone. */
static SiteHead heads[] = {{.id = "a"}, {.id = "b"}};
static const Site site = {.heads = heads, .head_count = 2};

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    SiteFitted *fitted = NULL;
    bool ok = site_fitted_parse(&site, file, bytes, len, &fitted, err);
    assert_true(ok == (fitted != NULL));
    free(fitted);
    return ok;
}

static const BadKey a_keys[] = {
    {"id", "\"a\"", KEY_ID, false, NULL, NULL, NULL, NULL},
    {"noise_nv", "5", KEY_NUMBER, false, "0", "1000000", "-0.001", "1000000.5"},
    {"variation_factor", "1.5", KEY_NUMBER, false, "0", "1000000", "-0.001", "1000000.5"},
};

static const BadKey root_keys[] = {
    {"format", "\"threepass-fitted-1\"", KEY_OTHER, false, NULL, NULL, NULL, NULL},
    {"model", "1", KEY_INTEGER, false, "1", "1000000", "0", "1000001"},
    {"heads",
     "[{\"id\": \"a\", \"noise_nv\": 5, \"variation_factor\": 1},\n"
     " {\"id\": \"b\", \"noise_nv\": 0, \"variation_factor\": 1}]",
     KEY_OTHER, false, NULL, NULL, NULL, NULL},
};

#define A "{\"id\": \"a\", \"noise_nv\": 5.25, \"variation_factor\": 1.5}"
#define B "{\"id\": \"b\", \"noise_nv\": 0, \"variation_factor\": 1}"
#define FORMAT "{\"format\": \"threepass-fitted-1\", \"model\": 1,\n"
#define GOOD FORMAT "\"heads\": [" A ",\n" B "]}"

static const BadRow rows[] = {
    {"good", "5.25", "0.001", NULL, NULL},
    {"an array", "{\"format\"", "[]^,{\"format\"", NULL,
     "not JSON: expected the end of the text, found ,"},
    {"another format", "\"threepass-fitted-1\"", "^\"threepass-fitted-2\"", NULL,
     "format is \"threepass-fitted-2\", must be one of \"threepass-fitted-1\"; did you mean "
     "\"threepass-fitted-1\"?"},
    {"format a number", "\"threepass-fitted-1\"", "^1", NULL,
     "format: is a number, must be a string"},
    {"root misspelt", "\"model\"", "^\"modle\"", NULL,
     "unknown key \"modle\"; did you mean \"model\"?"},
    {"key twice", "\"model\": 1", "\"model\": 1, ^\"model\": 1", NULL,
     "not JSON: the key \"model\" was there already, at line 1 column 34"},
    {"heads an object", "[" A ",\n" B "]", "^{}", NULL, "heads: is an object, must be an array"},
    {"no head", "[" A ",\n" B "]", "^[]", NULL, "heads has 0 elements, limit 2..2"},
    {"one head", "[" A ",\n" B "]", "^[" A "]", NULL, "heads has 1 elements, limit 2..2"},
    {"three heads", "[" A ",\n" B "]", "^[" A "," B "," B "]", NULL,
     "heads has 3 elements, limit 2..2"},
    {"head a word", A, "^\"a\"", NULL, "head: is a string, must be an object"},
    {"head null", B, "^null", NULL, "head: is null, must be an object"},
    {"another head", "\"id\": \"b\"", "\"id\": ^\"c\"", NULL,
     "head \"c\" stands where the site has \"b\""},
    {"heads the other way", A ",\n" B, "{\"id\": ^\"b\"}, {\"id\": \"a\"}", NULL,
     "head \"b\" stands where the site has \"a\""},
    {"head misspelt", "\"noise_nv\": 5.25", "^\"noise_mv\": 5.25", NULL,
     "unknown key \"noise_mv\"; did you mean \"noise_nv\"?"},
    {"no number", "5.25", "^NaN", NULL, "not JSON: expected a value, found NaN"},
    {"no end", "5.25", "^Infinity", NULL, "not JSON: expected a value, found Infinity"},
    {"beyond a double", "5.25", "^1e999", NULL, "noise_nv is beyond 1.8e308, limit 0..1000000"},
};

static void test_site_fitted_parse_bad(void **state)
{
    (void)state;
    static const size_t count = sizeof a_keys / sizeof a_keys[0];
    static const BadObject a = {a_keys, count, FORMAT "\"heads\": [", ",\n" B "]}"};
    static const BadObject root = {root_keys, sizeof root_keys / sizeof root_keys[0], "", "\n"};
    size_t bad = sizeof rows / sizeof rows[0] - 1;
    bad_check_rows(GOOD, rows, bad + 1, parse, NULL);
    bad += bad_check_object(&a, parse, NULL);
    bad += bad_check_object(&root, parse, NULL);
    for (size_t len = 0; len < strlen(GOOD); len++, bad++) { /* cut off anywhere */
        Err err = {0};
        assert_false(parse(NULL, "file", GOOD, len, &err));
        assert_memory_equal(err.text, "file:", 5);
        assert_non_null(strstr(err.text, ": error: not JSON: "));
    }
    print_message("%zu bad texts\n", bad);
    assert_true(bad >= BAD_ROWS_MIN);
}

/* Printed with seventeen digits: what is read back differs by the change of unit alone, at most by
 * the last bit of each of its two products. */
static void test_site_fitted_print_parses_back(void **state)
{
    (void)state;
    const SiteFitted values[] = {{"a", 1.0 / 3e7, 2.0 / 3.0}, {"b", 0, 1e6}};
    SiteFitted *back = NULL;
    Text text = {0};
    Err err = {0};
    site_fitted_print(&site, values, &text);
    if (!site_fitted_parse(&site, "file", text.bytes, text.len, &back, &err)) {
        fail_msg("%s", err.text);
    }
    for (int i = 0; i < 2; i++) {
        double far = back[i].noise_v - values[i].noise_v;
        assert_string_equal(back[i].head, values[i].head);
        assert_true(far <= 3e-16 * values[i].noise_v && -far <= 3e-16 * values[i].noise_v);
        assert_true(back[i].variation_factor == values[i].variation_factor);
    }
    free(back);
    text_clear(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_site_fitted_parse_bad),
        cmocka_unit_test(test_site_fitted_print_parses_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
