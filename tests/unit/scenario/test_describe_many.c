/* The descriptions of a sensitivity, a pod and a fit: what each may have, limits at them and past
 * them, and the place that a message points to. What they share with a pass is in
 * test_describe.c. The ranges are the program's contract (scenario/describe.h). */
#include "bad.h"

#include "scenario/describe.h"

#define HEAD_BUT_NOISE                                                                             \
    "\"head\":{\"aperture_width_mm\":700,\"aperture_height_mm\":300,\"coil_clearance_mm\":20,\n"   \
    "\"receiver_offset_mm\":130,\"frequency_khz\":150,\"false_reject_rate\":1e-6"
#define PRODUCT                                                                                    \
    "\"product\":{\"length_mm\":150,\"width_mm\":100,\"height_mm\":60,\"columns\":[1,1],\n"        \
    "\"conductivity_s_per_m\":0.15,\"relative_permeability\":1.0,\"centre_up_mm\":-100,\n"         \
    "\"amplitude_variation\":0.08,\"phase_variation_rad\":0.02}"
#define TRAVEL "\"travel\":{\"from_mm\":-600,\"to_mm\":600,\"step_mm\":2}"

static const char SURVEY[] = "{" HEAD_BUT_NOISE ",\"noise_nv\":3},\n" PRODUCT ",\n" TRAVEL ",\n"
                             "\"metals\":[\"brass\",{\"name\":\"own\",\"resistivity_ohm_m\":1e-7,\n"
                             "\"relative_permeability\":2}],\n"
                             "\"at_mm\":[[0,0],[10,-20]],\n\"found_probability\":0.999}\n";
static const char POD[] =
    "{" HEAD_BUT_NOISE ",\"noise_nv\":3},\n" PRODUCT ",\n" TRAVEL ",\n"
    "\"target\":{\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,\"metal\":\"brass\"},\n"
    "\"random\":{\"direction\":true,\"place\":\"pack\"},\n\"trials\":1000,\n\"seed\":7}\n";
static const char FIT[] = "{" HEAD_BUT_NOISE "},\n\"found_probability\":0.9999,\n"
                          "\"programs\":[{\"name\":\"bare\",\"validated\":[]},\n"
                          "{\"name\":\"case\"," PRODUCT ",\n"
                          "\"validated\":[{\"metal\":\"brass\",\"diameter_mm\":2.5},\n"
                          "{\"metal\":{\"resistivity_ohm_m\":1e-7,\"relative_permeability\":2},"
                          "\"diameter_mm\":3}]}]}\n";

static MetalTable *load_metals(void)
{
    Err err = {0};
    MetalTable *metals = NULL;
    if (!metals_load("assets/metals.json", &metals, &err)) fail_msg("%s", err.text);
    return metals;
}

static bool parse_survey(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    JsonDoc *doc = NULL;
    SensitivityDescription read = {0};
    if (!json_parse(file, bytes, len, &doc, err)) return false;
    bool ok = describe_sensitivity(json_root(doc), context, &read, err);
    sensitivity_description_clear(&read);
    json_free(doc);
    return ok;
}

static bool parse_pod(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    JsonDoc *doc = NULL;
    PodDescription read = {0};
    if (!json_parse(file, bytes, len, &doc, err)) return false;
    bool ok = describe_pod(json_root(doc), context, &read, err);
    pass_description_clear(&read.pass);
    json_free(doc);
    return ok;
}

static bool parse_fit(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    JsonDoc *doc = NULL;
    DescribeFit read = {0};
    if (!json_parse(file, bytes, len, &doc, err)) return false;
    bool ok = describe_fit(json_root(doc), context, &read, err);
    describe_fit_clear(&read);
    json_free(doc);
    return ok;
}

#define AT "\"at_mm\":[[0,0],[10,-20]]"
#define CHANCE "\"found_probability\":0.999"

static const BadRow SURVEY_ROWS[] = {
    {"as it is", "{", "{", NULL, NULL},
    {"a target", "{", "{^\"target\":1,", NULL, "unknown key \"target\""},
    {"a place of a pass", "{", "{^\"position_mm\":1,", NULL, "unknown key \"position_mm\""},
    {"no head", "\"head\"", "^\"hed\"", NULL, "unknown key \"hed\"; did you mean \"head\"?"},
    {"no metals",
     "\"metals\":[\"brass\",{\"name\":\"own\",\"resistivity_ohm_m\":1e-7,\n"
     "\"relative_permeability\":2}],\n",
     "", "{\"head", "metals is missing"},
    {"metals empty",
     "[\"brass\",{\"name\":\"own\",\"resistivity_ohm_m\":1e-7,\n\"relative_permeability\":2}]",
     "^[]", NULL, "metals has 0 elements, limit 1..32"},
    {"metals no array",
     "[\"brass\",{\"name\":\"own\",\"resistivity_ohm_m\":1e-7,\n\"relative_permeability\":2}]",
     "^\"brass\"", NULL, "metals: is a string, must be an array"},
    {"unknown metal", "\"brass\"", "^\"bras\"", NULL,
     "metal is \"bras\", must be one of \"stainless-304\", \"stainless-316\", \"chrome-steel\", "
     "\"carbon-steel\", \"brass\", \"aluminium\", \"copper\", \"lead\"; did you mean \"brass\"?"},
    {"metal a number", "\"brass\"", "^5", NULL, "metal: must be a name or an object"},
    {"metal without name", "\"name\":\"own\",", "", "{\"name\"", "name is missing"},
    {"metal's name no id", "\"own\"", "^\"o n\"", NULL,
     "name is \"o n\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"metal twice", "\"own\"", "\"brass\"", "{\"name\"",
     "metals[1] is \"brass\", which is there already"},
    {"resistivity 0", "\"resistivity_ohm_m\":1e-7", "\"resistivity_ohm_m\":^0", NULL,
     "resistivity_ohm_m is 0, limit 1e-15..1e+15"},
    {"neither at_mm nor map", AT ",\n", "", "{\"head", "at_mm is missing, or map"},
    {"at_mm and map", AT, AT ",\"map\":^{\"across\":3,\"up\":3}", NULL,
     "map: there is at_mm already"},
    {"at_mm empty", AT, "\"at_mm\":^[]", NULL, "at_mm has 0 elements, limit 1..100000"},
    {"a place of three", AT, "\"at_mm\":[^[0,0,0]]", NULL, "at_mm has 3 elements, limit 2..2"},
    {"a place far off", AT, "\"at_mm\":[[0,^1000001]]", NULL,
     "at_mm[1] is 1000001, limit -1e+06..1e+06"},
    {"map", AT, "\"map\":{\"across\":2,\"up\":1000}", NULL, NULL},
    {"map of one", AT, "\"map\":{\"across\":^1,\"up\":3}", NULL, "across is 1, limit 2..1000"},
    {"map too fine", AT, "\"map\":{\"across\":3,\"up\":^1001}", NULL, "up is 1001, limit 2..1000"},
    {"map of halves", AT, "\"map\":{\"across\":^2.5,\"up\":3}", NULL,
     "across: has a point or an exponent, must be a whole number"},
    {"map too large", AT, "\"map\":^{\"across\":1000,\"up\":101}", NULL,
     "map has 101000 places, limit 100000"},
    {"map with depth", AT, "\"map\":{\"across\":3,\"up\":3,^\"along\":3}", NULL,
     "unknown key \"along\""},
    {"too much work",
     TRAVEL ",\n\"metals\":[\"brass\",{\"name\":\"own\",\"resistivity_ohm_m\":1e-7,\n"
            "\"relative_permeability\":2}],\n" AT,
     "\"travel\":{\"from_mm\":-50000,\"to_mm\":50000,\"step_mm\":1},\n\"metals\":[\"brass\"],"
     "\"map\":^{\"across\":100,\"up\":101}",
     NULL, "places times the 100001 points of the travel are 1010010100, limit 1000000000"},
    {"chance 1", CHANCE, "\"found_probability\":^1", NULL,
     "found_probability is 1, limit above false_reject_rate, which is 1e-06, and below 1"},
    {"chance of a false reject", CHANCE, "\"found_probability\":^1e-6", NULL,
     "found_probability is 1e-06, limit above false_reject_rate, which is 1e-06, and below 1"},
    {"chance above 1", CHANCE, "\"found_probability\":^1.5", NULL,
     "found_probability is 1.5, limit 0..1"},
    {"no chance", ",\n" CHANCE, "", NULL, NULL},
    {"no noise on a bare belt", ",\"noise_nv\":3},\n" PRODUCT, ",\"noise_nv\":^0}", NULL,
     "noise_nv is 0, limit above 0 unless both variations of the learned product are above 0"},
};

#define RANDOM "\"random\":{\"direction\":true,\"place\":\"pack\"}"

static const BadRow POD_ROWS[] = {
    {"as it is", "{", "{", NULL, NULL},
    {"no random", RANDOM ",\n", "", "{\"head", "random is missing"},
    {"random a word", RANDOM, "\"random\":^\"pack\"", NULL,
     "random: is a string, must be an object"},
    {"direction a number", "\"direction\":true", "\"direction\":^1", NULL,
     "direction: is a number, must be true or false"},
    {"no place", ",\"place\":\"pack\"", "", "{\"direction\"", "place is missing"},
    {"another place", "\"pack\"", "^\"pck\"", NULL,
     "place is \"pck\", must be one of \"fixed\", \"pack\", \"aperture\"; did you mean \"pack\"?"},
    {"in a pack that is not there", PRODUCT ",\n", "", "\"pack\"",
     "place is \"pack\", and there is no product"},
    {"fixed without a place", "\"pack\"", "\"fixed\"", "{\"head", "position_mm is missing"},
    {"fixed", RANDOM,
     "\"position_mm\":{\"across\":0,\"up\":1},\"random\":{\"direction\":true,\"place\":\"fixed\"}",
     NULL, NULL},
    {"a place that is not used", RANDOM, RANDOM ",\"position_mm\":{\"across\":^\"0\",\"up\":1}",
     NULL, "across: is a string, must be a number"},
    {"one direction, none given", "\"direction\":true", "\"direction\":false", "{\"shape\"",
     "direction is missing"},
    {"a direction that is not used", "\"length_mm\":36", "\"length_mm\":36,\"direction\":^[0,0,0]",
     NULL, "direction is [0, 0, 0], one part must not be 0"},
    {"no trials", "\"trials\":1000,\n", "", "{\"head", "trials is missing"},
    {"trials 0", "\"trials\":1000", "\"trials\":^0", NULL, "trials is 0, limit 1..10000000"},
    {"trials beyond", "\"trials\":1000", "\"trials\":^10000001", NULL,
     "trials is 10000001, limit 1..10000000"},
    {"too much work", "\"trials\":1000", "\"trials\":^10000000", NULL,
     "trials times the 601 points of the travel is 6010000000, limit 2000000000"},
    {"trials by exponent", "\"trials\":1000", "\"trials\":^1e3", NULL,
     "trials: has a point or an exponent, must be a whole number"},
    {"no seed", ",\n\"seed\":7", "", "{\"head", "seed is missing"},
    {"seed below", "\"seed\":7", "\"seed\":^-1", NULL, "seed is -1, limit 0..9007199254740991"},
    {"seed at its limit", "\"seed\":7", "\"seed\":9007199254740991", NULL, NULL},
    {"metals", "\"seed\":7", "\"seed\":7,^\"metals\":[]", NULL, "unknown key \"metals\""},
};

static const BadRow FIT_ROWS[] = {
    {"as it is", "{", "{", NULL, NULL},
    {"a noise", "\"false_reject_rate\":1e-6", "\"false_reject_rate\":1e-6,^\"noise_nv\":3", NULL,
     "unknown key \"noise_nv\""},
    {"a travel", "{", "{^\"travel\":1,", NULL, "unknown key \"travel\""},
    {"no chance", "\"found_probability\":0.9999,\n", "", NULL, NULL},
    {"chance 0", "0.9999", "^0", NULL,
     "found_probability is 0, limit above false_reject_rate, which is 1e-06, and below 1"},
    {"no name", "\"name\":\"bare\",", "", "{\"name\":\"bare\"", "name is missing"},
    {"empty name", "\"bare\"", "^\"\"", NULL, "name is 0 bytes long, limit 1..200"},
    {"no validated", ",\"validated\":[]", "", "{\"name\":\"bare\"", "validated is missing"},
    {"no sphere",
     "{\"metal\":\"brass\",\"diameter_mm\":2.5},\n"
     "{\"metal\":{\"resistivity_ohm_m\":1e-7,\"relative_permeability\":2},"
     "\"diameter_mm\":3}",
     "", "[{\"name\"", "programs have no validated sphere, limit 1..1000"},
    {"sphere too small", "2.5", "^0.009", NULL, "diameter_mm is 0.009, limit 0.01..100"},
    {"sphere too large", "2.5", "^100.5", NULL, "diameter_mm is 100.5, limit 0.01..100"},
    {"sphere with a length", "\"diameter_mm\":2.5", "\"diameter_mm\":2.5,^\"length_mm\":1", NULL,
     "unknown key \"length_mm\""},
    {"metal with a name", "{\"resistivity_ohm_m\"", "{^\"name\":\"x\",\"resistivity_ohm_m\"", NULL,
     "unknown key \"name\""},
    {"product beyond", "\"conductivity_s_per_m\":0.15", "\"conductivity_s_per_m\":^101", NULL,
     "conductivity_s_per_m is 101, limit 0..100"},
};

static void test_survey_bad(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    bad_check_rows(SURVEY, SURVEY_ROWS, sizeof SURVEY_ROWS / sizeof SURVEY_ROWS[0], parse_survey,
                   metals);
    metals_free(metals);
}

static void test_pod_bad(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    bad_check_rows(POD, POD_ROWS, sizeof POD_ROWS / sizeof POD_ROWS[0], parse_pod, metals);
    metals_free(metals);
}

static void test_fit_bad(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    bad_check_rows(FIT, FIT_ROWS, sizeof FIT_ROWS / sizeof FIT_ROWS[0], parse_fit, metals);
    metals_free(metals);
}

/* Rows from the bottom up, each from left to right, 10 mm off every wall. */
static void test_map_places(void **state)
{
    (void)state;
    Err err = {0};
    MetalTable *metals = load_metals();
    JsonDoc *doc = NULL;
    SensitivityDescription read = {0};
    const char *at = strstr(SURVEY, AT);
    Text text = {0};
    text_add_bytes(&text, SURVEY, (size_t)(at - SURVEY));
    text_addf(&text, "\"map\":{\"across\":3,\"up\":2}%s", at + strlen(AT));
    assert_true(json_parse("x", text.bytes, text.len, &doc, &err));
    assert_true(describe_sensitivity(json_root(doc), metals, &read, &err));
    const double want[6][2] = {{-340, -140}, {0, -140}, {340, -140},
                               {-340, 140},  {0, 140},  {340, 140}};
    assert_int_equal(read.place_count, 6);
    for (int i = 0; i < 6; i++) {
        assert_true(read.places[i].across_m == want[i][0] / 1e3);
        assert_true(read.places[i].up_m == want[i][1] / 1e3);
    }
    assert_true(describe_map_place(300, 50, 101) == 0.0 && describe_map_place(300, 0, 7) == -140.0);
    sensitivity_description_clear(&read);
    json_free(doc);
    text_clear(&text);
    metals_free(metals);
}

/* Beside a learned product the metals count as well. */
static void test_work_in_changed_product(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    for (int learned = 0; learned < 2; learned++) {
        Text text = {0};
        Err err = {0};
        const char *product = strstr(SURVEY, "\"product\"");
        const char *travel = strstr(SURVEY, "\"travel\"");
        const char *at = strstr(SURVEY, AT);
        text_add_bytes(&text, SURVEY, (size_t)(travel - SURVEY));
        if (learned == 1) {
            text_add(&text, "\"learned\"");
            const char *body = product + strlen("\"product\"");
            text_add_bytes(&text, body, (size_t)(travel - body));
        }
        text_add_bytes(&text, travel, (size_t)(at - travel));
        text_addf(&text, "\"map\":{\"across\":300,\"up\":300}%s", at + strlen(AT));
        bool ok = parse_survey(metals, "x", text.bytes, text.len, &err);
        assert_true(ok == (learned == 0));
        if (!ok) {
            assert_non_null(strstr(err.text, "places times points of the travel times metals are "
                                             "108180000, limit 100000000 where the product"));
        }
        text_clear(&text);
    }
    metals_free(metals);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_survey_bad),
        cmocka_unit_test(test_pod_bad),
        cmocka_unit_test(test_fit_bad),
        cmocka_unit_test(test_map_places),
        cmocka_unit_test(test_work_in_changed_product),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
