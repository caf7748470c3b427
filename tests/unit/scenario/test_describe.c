/* The description of a pass: every limit at it and past it, keys missing, misspelt and of a wrong
 * type, each refused at its place. The ranges are the program's contract (scenario/describe.h). */
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scenario/describe.h"

static const char BASE[] =
    "{\"head\":{\"aperture_width_mm\":700,\"aperture_height_mm\":300,\"coil_clearance_mm\":20,\n"
    "\"receiver_offset_mm\":150,\"frequency_khz\":150,\"noise_nv\":3.0,\"false_reject_rate\":1e-6},"
    "\n"
    "\"product\":{\"length_mm\":150,\"width_mm\":100,\"height_mm\":60,\"columns\":[2,3],\n"
    "\"conductivity_s_per_m\":0.15,\"relative_permeability\":1.05,\"centre_up_mm\":-100,\n"
    "\"amplitude_variation\":0.08,\"phase_variation_rad\":0.02},\n"
    "\"target\":{\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,\"direction\":[1,0,0],\n"
    "\"metal\":\"carbon-steel\"},\n"
    "\"position_mm\":{\"across\":10,\"up\":-100},\n"
    "\"travel\":{\"from_mm\":-1200,\"to_mm\":1200,\"step_mm\":2},\n"
    "\"probe_mm\":[[0,0,0],[50,20,-80]]}\n";

static MetalTable *load_metals(void)
{
    Err err = {0};
    MetalTable *metals = NULL;
    if (!metals_load("assets/metals.json", &metals, &err)) fail_msg("%s", err.text);
    return metals;
}

static bool read_text(const char *text, const MetalTable *metals, PassDescription *out, Err *err)
{
    JsonDoc *doc = NULL;
    if (!json_parse("t.json", text, strlen(text), &doc, err)) fail_msg("%s", err->text);
    bool ok = describe_pass(json_root(doc), metals, out, err);
    json_free(doc);
    return ok;
}

/* BASE with `old`, which is in it once, replaced. */
static void replace(Text *text, const char *old, const char *new)
{
    const char *at = strstr(BASE, old);
    assert_non_null(at);
    assert_null(strstr(at + 1, old));
    text_add_bytes(text, BASE, (size_t)(at - BASE));
    text_add(text, new);
    text_add(text, at + strlen(old));
}

typedef struct {
    const char *name;
    const char *old;
    const char *new;
    const char *want; /* the message behind "t.json:" */
} BadRow;

static const BadRow BAD_ROWS[] = {
    {"aperture_width_mm 19.999", "\"aperture_width_mm\":700", "\"aperture_width_mm\":19.999",
     "1:30: error: aperture_width_mm is 19.999, limit 20..3000"},
    {"aperture_width_mm 3000.001", "\"aperture_width_mm\":700", "\"aperture_width_mm\":3000.001",
     "1:30: error: aperture_width_mm is 3000.001, limit 20..3000"},
    {"aperture_height_mm 19.999", "\"aperture_height_mm\":300", "\"aperture_height_mm\":19.999",
     "1:55: error: aperture_height_mm is 19.999, limit 20..3000"},
    {"aperture_height_mm 3000.001", "\"aperture_height_mm\":300", "\"aperture_height_mm\":3000.001",
     "1:55: error: aperture_height_mm is 3000.001, limit 20..3000"},
    {"coil_clearance_mm 0.999", "\"coil_clearance_mm\":20", "\"coil_clearance_mm\":0.999",
     "1:79: error: coil_clearance_mm is 0.999, limit 1..500"},
    {"coil_clearance_mm 500.001", "\"coil_clearance_mm\":20", "\"coil_clearance_mm\":500.001",
     "1:79: error: coil_clearance_mm is 500.001, limit 1..500"},
    {"receiver_offset_mm -1", "\"receiver_offset_mm\":150", "\"receiver_offset_mm\":-1",
     "2:22: error: receiver_offset_mm is -1, limit 0..5000"},
    {"receiver_offset_mm 5000.001", "\"receiver_offset_mm\":150", "\"receiver_offset_mm\":5000.001",
     "2:22: error: receiver_offset_mm is 5000.001, limit 0..5000"},
    {"frequency_khz 0.0999", "\"frequency_khz\":150", "\"frequency_khz\":0.0999",
     "2:42: error: frequency_khz is 0.0999, limit 0.1..2000"},
    {"frequency_khz 2000.001", "\"frequency_khz\":150", "\"frequency_khz\":2000.001",
     "2:42: error: frequency_khz is 2000.001, limit 0.1..2000"},
    {"noise_nv -0.001", "\"noise_nv\":3.0", "\"noise_nv\":-0.001",
     "2:57: error: noise_nv is -0.001, limit 0..1000000"},
    {"noise_nv 1000000.001", "\"noise_nv\":3.0", "\"noise_nv\":1000000.001",
     "2:57: error: noise_nv is 1000000.001, limit 0..1000000"},
    {"false_reject_rate 9e-16", "\"false_reject_rate\":1e-6", "\"false_reject_rate\":9e-16",
     "2:81: error: false_reject_rate is 9e-16, limit 1e-15..0.5"},
    {"false_reject_rate 0.5000001", "\"false_reject_rate\":1e-6", "\"false_reject_rate\":0.5000001",
     "2:81: error: false_reject_rate is 0.5000001, limit 1e-15..0.5"},
    {"length_mm -1", "\"length_mm\":150", "\"length_mm\":-1",
     "3:24: error: length_mm is -1, limit 0..5000"},
    {"length_mm 5000.001", "\"length_mm\":150", "\"length_mm\":5000.001",
     "3:24: error: length_mm is 5000.001, limit 0..5000"},
    {"width_mm -1", "\"width_mm\":100", "\"width_mm\":-1",
     "3:39: error: width_mm is -1, limit 0..5000"},
    {"width_mm 5000.001", "\"width_mm\":100", "\"width_mm\":5000.001",
     "3:39: error: width_mm is 5000.001, limit 0..5000"},
    {"height_mm -1", "\"height_mm\":60", "\"height_mm\":-1",
     "3:55: error: height_mm is -1, limit 0..5000"},
    {"height_mm 5000.001", "\"height_mm\":60", "\"height_mm\":5000.001",
     "3:55: error: height_mm is 5000.001, limit 0..5000"},
    {"conductivity_s_per_m -0.001", "\"conductivity_s_per_m\":0.15",
     "\"conductivity_s_per_m\":-0.001",
     "4:24: error: conductivity_s_per_m is -0.001, limit 0..100"},
    {"conductivity_s_per_m 100.001", "\"conductivity_s_per_m\":0.15",
     "\"conductivity_s_per_m\":100.001",
     "4:24: error: conductivity_s_per_m is 100.001, limit 0..100"},
    {"relative_permeability 0.999", "\"relative_permeability\":1.05",
     "\"relative_permeability\":0.999",
     "4:53: error: relative_permeability is 0.999, limit 1..1.1"},
    {"relative_permeability 1.101", "\"relative_permeability\":1.05",
     "\"relative_permeability\":1.101",
     "4:53: error: relative_permeability is 1.101, limit 1..1.1"},
    {"centre_up_mm -1000000.001", "\"centre_up_mm\":-100", "\"centre_up_mm\":-1000000.001",
     "4:73: error: centre_up_mm is -1000000.001, limit -1000000..1000000"},
    {"centre_up_mm 1000000.001", "\"centre_up_mm\":-100", "\"centre_up_mm\":1000000.001",
     "4:73: error: centre_up_mm is 1000000.001, limit -1000000..1000000"},
    {"amplitude_variation -0.001", "\"amplitude_variation\":0.08", "\"amplitude_variation\":-0.001",
     "5:23: error: amplitude_variation is -0.001, limit 0..1000"},
    {"amplitude_variation 1000.001", "\"amplitude_variation\":0.08",
     "\"amplitude_variation\":1000.001",
     "5:23: error: amplitude_variation is 1000.001, limit 0..1000"},
    {"phase_variation_rad -0.001", "\"phase_variation_rad\":0.02", "\"phase_variation_rad\":-0.001",
     "5:50: error: phase_variation_rad is -0.001, limit 0..1000"},
    {"phase_variation_rad 1000.001", "\"phase_variation_rad\":0.02",
     "\"phase_variation_rad\":1000.001",
     "5:50: error: phase_variation_rad is 1000.001, limit 0..1000"},
    {"diameter_mm 0.00999", "\"diameter_mm\":0.7", "\"diameter_mm\":0.00999",
     "6:40: error: diameter_mm is 0.00999, limit 0.01..100"},
    {"diameter_mm 100.001", "\"diameter_mm\":0.7", "\"diameter_mm\":100.001",
     "6:40: error: diameter_mm is 100.001, limit 0.01..100"},
    {"length_mm 1.39", "\"length_mm\":36", "\"length_mm\":1.39",
     "6:56: error: length_mm is 1.39, limit 1.4..1000"},
    {"length_mm 1000.001", "\"length_mm\":36", "\"length_mm\":1000.001",
     "6:56: error: length_mm is 1000.001, limit 1.4..1000"},
    {"across -1000000.001", "\"across\":10", "\"across\":-1000000.001",
     "8:25: error: across is -1000000.001, limit -1000000..1000000"},
    {"across 1000000.001", "\"across\":10", "\"across\":1000000.001",
     "8:25: error: across is 1000000.001, limit -1000000..1000000"},
    {"from_mm -1000000.001", "\"from_mm\":-1200", "\"from_mm\":-1000000.001",
     "9:21: error: from_mm is -1000000.001, limit -1000000..1000000"},
    {"to_mm 1000000.001", "\"to_mm\":1200", "\"to_mm\":1000000.001",
     "9:35: error: to_mm is 1000000.001, limit -1000000..1000000"},
    {"step_mm -2", "\"step_mm\":2", "\"step_mm\":-2", "9:50: error: step_mm is -2, limit 0..5000"},
    {"step_mm 5000.001", "\"step_mm\":2", "\"step_mm\":5000.001",
     "9:50: error: step_mm is 5000.001, limit 0..5000"},
    {"receiver_offset_mm 0", "\"receiver_offset_mm\":150", "\"receiver_offset_mm\":0",
     "2:22: error: receiver_offset_mm is 0, limit above 0 to 5000"},
    {"width_mm 0", "\"width_mm\":100", "\"width_mm\":0",
     "3:39: error: width_mm is 0, limit above 0 to 5000"},
    {"step_mm 0", "\"step_mm\":2", "\"step_mm\":0",
     "9:50: error: step_mm is 0, limit above 0 to 5000"},
    {"noise_nv 1e400", "\"noise_nv\":3.0", "\"noise_nv\":1e400",
     "2:57: error: noise_nv is beyond 1.8e308, limit 0..1000000"},
    {"frequency_khz \"150\"", "\"frequency_khz\":150", "\"frequency_khz\":\"150\"",
     "2:42: error: frequency_khz: is a string, must be a number"},
    {"frequency_khz null", "\"frequency_khz\":150", "\"frequency_khz\":null",
     "2:42: error: frequency_khz: is null, must be a number"},
    {"columns [2]", "\"columns\":[2,3]", "\"columns\":[2]",
     "3:68: error: columns has 1 elements, limit 2..2"},
    {"columns [2,3,4]", "\"columns\":[2,3]", "\"columns\":[2,3,4]",
     "3:68: error: columns has 3 elements, limit 2..2"},
    {"columns 2", "\"columns\":[2,3]", "\"columns\":2",
     "3:68: error: columns: is a number, must be an array"},
    {"columns [0,3]", "\"columns\":[2,3]", "\"columns\":[0,3]",
     "3:69: error: columns[0] is 0, limit 1..50"},
    {"columns [2,51]", "\"columns\":[2,3]", "\"columns\":[2,51]",
     "3:71: error: columns[1] is 51, limit 1..50"},
    {"columns [2.5,3]", "\"columns\":[2,3]", "\"columns\":[2.5,3]",
     "3:69: error: columns[0]: must be a whole number"},
    {"columns [2,true]", "\"columns\":[2,3]", "\"columns\":[2,true]",
     "3:71: error: columns[1]: must be a whole number"},
    {"shape \"ball\"", "\"shape\":\"wire\"", "\"shape\":\"ball\"",
     "6:19: error: shape is \"ball\", must be one of \"sphere\", \"wire\""},
    {"shape \"wires\"", "\"shape\":\"wire\"", "\"shape\":\"wires\"",
     "6:19: error: shape is \"wires\", must be one of \"sphere\", \"wire\"; did you mean "
     "\"wire\"?"},
    {"a sphere with a length", "\"shape\":\"wire\"", "\"shape\":\"sphere\"",
     "6:58: error: length_mm: is for a wire, shape is \"sphere\""},
    {"a sphere with a direction", "\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36",
     "\"shape\":\"sphere\",\"diameter_mm\":0.7",
     "6:58: error: direction: is for a wire, shape is \"sphere\""},
    {"direction [0,0,0]", "\"direction\":[1,0,0]", "\"direction\":[0,0,0]",
     "6:71: error: direction is [0, 0, 0], one part must not be 0"},
    {"direction [0,-0.0,0e5]", "\"direction\":[1,0,0]", "\"direction\":[0,-0.0,0e5]",
     "6:71: error: direction is [0, 0, 0], one part must not be 0"},
    {"direction [1,0]", "\"direction\":[1,0,0]", "\"direction\":[1,0]",
     "6:71: error: direction has 2 elements, limit 3..3"},
    {"direction [1,\"0\",0]", "\"direction\":[1,0,0]", "\"direction\":[1,\"0\",0]",
     "6:74: error: direction[1]: must be a number"},
    {"direction [1,0,1e400]", "\"direction\":[1,0,0]", "\"direction\":[1,0,1e400]",
     "6:76: error: direction[2] is inf, limit -1e+06..1e+06"},
    {"metal \"carbon-stel\"", "\"metal\":\"carbon-steel\"", "\"metal\":\"carbon-stel\"",
     "7:9: error: metal is \"carbon-stel\", must be one of \"stainless-304\", \"stainless-316\", "
     "\"chrome-steel\", \"carbon-steel\", \"brass\", \"aluminium\", \"copper\", \"lead\"; did you "
     "mean \"carbon-steel\"?"},
    {"metal 7", "\"metal\":\"carbon-steel\"", "\"metal\":7",
     "7:9: error: metal: must be a name or an object"},
    {"metal {\"resistivity_ohm_m\":0,\"relative_permeability\":1}", "\"metal\":\"carbon-steel\"",
     "\"metal\":{\"resistivity_ohm_m\":0,\"relative_permeability\":1}",
     "7:30: error: resistivity_ohm_m is 0, limit 1e-15..1e+15"},
    {"metal {\"resistivity_ohm_m\":1e-7,\"relative_permeability\":0.99}",
     "\"metal\":\"carbon-steel\"",
     "\"metal\":{\"resistivity_ohm_m\":1e-7,\"relative_permeability\":0.99}",
     "7:59: error: relative_permeability is 0.99, limit 1..100000"},
    {"metal {\"resistivity_ohm_m\":1e-7,\"relative_permeability\":100001}",
     "\"metal\":\"carbon-steel\"",
     "\"metal\":{\"resistivity_ohm_m\":1e-7,\"relative_permeability\":100001}",
     "7:59: error: relative_permeability is 100001, limit 1..100000"},
    {"metal {\"resistivity_ohm_m\":1e-7}", "\"metal\":\"carbon-steel\"",
     "\"metal\":{\"resistivity_ohm_m\":1e-7}", "7:9: error: relative_permeability is missing"},
    {"metal {\"resistivity_ohm_m\":1e-7,\"mu\":1}", "\"metal\":\"carbon-steel\"",
     "\"metal\":{\"resistivity_ohm_m\":1e-7,\"mu\":1}", "7:35: error: unknown key \"mu\""},
    {"to_mm -1200", "\"to_mm\":1200", "\"to_mm\":-1200",
     "9:35: error: to_mm is -1200, limit above from_mm, which is -1200"},
    {"to_mm -1300", "\"to_mm\":1200", "\"to_mm\":-1300",
     "9:35: error: to_mm is -1300, limit above from_mm, which is -1200"},
    {"one point", "\"step_mm\":2", "\"step_mm\":2401",
     "9:10: error: travel has 1 points, limit 2..100001"},
    {"a point too many", "\"to_mm\":1200,\"step_mm\":2", "\"to_mm\":98801,\"step_mm\":1",
     "9:10: error: travel has 100002 points, limit 2..100001"},
    {"probe_mm [[0,0,0],[50,20]]", "\"probe_mm\":[[0,0,0],[50,20,-80]]",
     "\"probe_mm\":[[0,0,0],[50,20]]", "10:21: error: probe_mm has 2 elements, limit 3..3"},
    {"probe_mm [0,0,0]", "\"probe_mm\":[[0,0,0],[50,20,-80]]", "\"probe_mm\":[0,0,0]",
     "10:13: error: probe_mm: is a number, must be an array"},
    {"probe_mm {}", "\"probe_mm\":[[0,0,0],[50,20,-80]]", "\"probe_mm\":{}",
     "10:12: error: probe_mm: is an object, must be an array"},
    {"probe_mm [[0,0,1000001]]", "\"probe_mm\":[[0,0,0],[50,20,-80]]",
     "\"probe_mm\":[[0,0,1000001]]", "10:18: error: probe_mm[2] is 1000001, limit -1e+06..1e+06"},
    {"up []", "\"up\":-100", "\"up\":[]", "8:33: error: up: is an array, must be a number"},
    {"no noise and no variation along",
     "\"noise_nv\":3.0,\"false_reject_rate\":1e-6},\n\"product\":{\"length_mm\":150,\"width_mm\":"
     "100,"
     "\"height_mm\":60,\"columns\":[2,3],\n\"conductivity_s_per_m\":0.15,\"relative_permeability\":"
     "1.05,\"centre_up_mm\":-100,\n\"amplitude_variation\":0.08",
     "\"noise_nv\":0,\"false_reject_rate\":1e-6},\n\"product\":{\"length_mm\":150,\"width_mm\":100,"
     "\"height_mm\":60,\"columns\":[2,3],\n\"conductivity_s_per_m\":0.15,\"relative_permeability\":"
     "1.05,\"centre_up_mm\":-100,\n\"amplitude_variation\":0",
     "2:57: error: noise_nv is 0, limit above 0 unless both variations of the learned product are "
     "above 0"},
    {"no noise and no variation across",
     "\"noise_nv\":3.0,\"false_reject_rate\":1e-6},\n\"product\":{\"length_mm\":150,\"width_mm\":"
     "100,"
     "\"height_mm\":60,\"columns\":[2,3],\n\"conductivity_s_per_m\":0.15,\"relative_permeability\":"
     "1.05,\"centre_up_mm\":-100,\n\"amplitude_variation\":0.08,\"phase_variation_rad\":0.02",
     "\"noise_nv\":0,\"false_reject_rate\":1e-6},\n\"product\":{\"length_mm\":150,\"width_mm\":100,"
     "\"height_mm\":60,\"columns\":[2,3],\n\"conductivity_s_per_m\":0.15,\"relative_permeability\":"
     "1.05,\"centre_up_mm\":-100,\n\"amplitude_variation\":0.08,\"phase_variation_rad\":0.0",
     "2:57: error: noise_nv is 0, limit above 0 unless both variations of the learned product are "
     "above 0"},
    {"no aperture width", "\"aperture_width_mm\":700,", "",
     "1:9: error: aperture_width_mm is missing"},
    {"no noise", "\"noise_nv\":3.0,", "", "1:9: error: noise_nv is missing"},
    {"no columns", "\"columns\":[2,3],", "", "3:11: error: columns is missing"},
    {"no variation", "\"amplitude_variation\":0.08,", "",
     "3:11: error: amplitude_variation is missing"},
    {"no shape", "\"shape\":\"wire\",", "", "6:10: error: shape is missing"},
    {"no length", "\"length_mm\":36,", "", "6:10: error: length_mm is missing"},
    {"no direction", "\"direction\":[1,0,0],", "", "6:10: error: direction is missing"},
    {"no metal", ",\n\"metal\":\"carbon-steel\"", "", "6:10: error: metal is missing"},
    {"no up", ",\"up\":-100", "", "8:15: error: up is missing"},
    {"no step", ",\"step_mm\":2", "", "9:10: error: step_mm is missing"},
    {"no target",
     "\"target\":{\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,\"direction\":[1,0,0],"
     "\n\"metal\":\"carbon-steel\"},\n",
     "", "1:1: error: target is missing"},
    {"no position", "\"position_mm\":{\"across\":10,\"up\":-100},\n", "",
     "1:1: error: position_mm is missing"},
    {"no travel", "\"travel\":{\"from_mm\":-1200,\"to_mm\":1200,\"step_mm\":2},\n", "",
     "1:1: error: travel is missing"},
    {"misspelt part", "\"head\":{", "\"hed\":{",
     "1:2: error: unknown key \"hed\"; did you mean \"head\"?"},
    {"misspelt key", "\"frequency_khz\"", "\"frequency_hz\"",
     "2:26: error: unknown key \"frequency_hz\"; did you mean \"frequency_khz\"?"},
    {"unknown in product",
     "\"columns\":", "\"sauce\":1,\"columns\":", "3:58: error: unknown key \"sauce\""},
    {"unknown in target", "\"shape\"", "\"colour\":1,\"shape\"",
     "6:11: error: unknown key \"colour\""},
    {"unknown in position", "\"across\"", "\"along\":1,\"across\"",
     "8:16: error: unknown key \"along\""},
    {"unknown in travel", "\"from_mm\"", "\"speed\":1,\"from_mm\"",
     "9:11: error: unknown key \"speed\""},
    {"unknown at the top", "\"probe_mm\"", "\"random\":{},\"probe_mm\"",
     "10:1: error: unknown key \"random\""},
    {"head a list",
     "\"head\":{\"aperture_width_mm\":700,\"aperture_height_mm\":300,\"coil_clearance_mm\":20,"
     "\n\"receiver_offset_mm\":150,\"frequency_khz\":150,\"noise_nv\":3.0,\"false_reject_rate\":1e-"
     "6}",
     "\"head\":[]", "1:9: error: head: is an array, must be an object"},
    {"product null",
     "\"product\":{\"length_mm\":150,\"width_mm\":100,\"height_mm\":60,\"columns\":[2,3],"
     "\n\"conductivity_s_per_m\":0.15,\"relative_permeability\":1.05,\"centre_up_mm\":-100,"
     "\n\"amplitude_variation\":0.08,\"phase_variation_rad\":0.02}",
     "\"product\":null", "3:11: error: product: is null, must be an object"},
    {"learned empty",
     "\"target\":", "\"learned\":{},\"target\":", "6:11: error: length_mm is missing"},
    {"learned a number", "\"target\":", "\"learned\":1,\"target\":",
     "6:11: error: learned: is a number, must be an object"},
};

static void test_describe_pass_bad(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    for (size_t i = 0; i < sizeof BAD_ROWS / sizeof BAD_ROWS[0]; i++) {
        const BadRow *row = &BAD_ROWS[i];
        Text text = {0};
        Err err = {0};
        PassDescription pass = {0};
        const PassDescription empty = {0};
        replace(&text, row->old, row->new);
        if (read_text(text.bytes, metals, &pass, &err)) fail_msg("%s: is taken", row->name);
        assert_memory_equal(&pass, &empty, sizeof pass);
        if (strncmp(err.text, "t.json:", 7) != 0 || strcmp(err.text + 7, row->want) != 0) {
            fail_msg("%s\n  got  %s\n  want t.json:%s", row->name, err.text, row->want);
        }
        text_clear(&text);
    }
    metals_free(metals);
}

static void test_describe_pass_no_object(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    PassDescription pass = {0};
    Err err = {0};
    assert_false(read_text(" []", metals, &pass, &err));
    assert_string_equal(err.text,
                        "t.json:1:2: error: the description: is an array, must be an object");
    assert_false(read_text("{}", metals, &pass, &err));
    assert_string_equal(err.text, "t.json:1:1: error: head is missing");
    metals_free(metals);
}

/* Each is at a limit, or the other way to write a thing. */
static void test_describe_pass_good(void **state)
{
    (void)state;
    static const struct {
        const char *old, *new;
    } rows[] = {
        {"\"aperture_width_mm\":700", "\"aperture_width_mm\":20"},
        {"\"aperture_width_mm\":700", "\"aperture_width_mm\":3000"},
        {"\"aperture_height_mm\":300", "\"aperture_height_mm\":20"},
        {"\"aperture_height_mm\":300", "\"aperture_height_mm\":3000"},
        {"\"coil_clearance_mm\":20", "\"coil_clearance_mm\":1"},
        {"\"coil_clearance_mm\":20", "\"coil_clearance_mm\":500"},
        {"\"receiver_offset_mm\":150", "\"receiver_offset_mm\":0.001"},
        {"\"receiver_offset_mm\":150", "\"receiver_offset_mm\":5000"},
        {"\"frequency_khz\":150", "\"frequency_khz\":0.1"},
        {"\"frequency_khz\":150", "\"frequency_khz\":2000"},
        {"\"noise_nv\":3.0", "\"noise_nv\":0"},
        {"\"noise_nv\":3.0", "\"noise_nv\":1e6"},
        {"\"false_reject_rate\":1e-6", "\"false_reject_rate\":1e-15"},
        {"\"false_reject_rate\":1e-6", "\"false_reject_rate\":0.5"},
        {"\"length_mm\":150", "\"length_mm\":5000"},
        {"\"columns\":[2,3]", "\"columns\":[1,50]"},
        {"\"conductivity_s_per_m\":0.15", "\"conductivity_s_per_m\":0"},
        {"\"conductivity_s_per_m\":0.15", "\"conductivity_s_per_m\":100"},
        {"\"relative_permeability\":1.05", "\"relative_permeability\":1"},
        {"\"relative_permeability\":1.05", "\"relative_permeability\":1.1"},
        {"\"amplitude_variation\":0.08", "\"amplitude_variation\":0"},
        {"\"diameter_mm\":0.7", "\"diameter_mm\":0.01"},
        {"\"diameter_mm\":0.7,\"length_mm\":36", "\"diameter_mm\":100,\"length_mm\":200"},
        {"\"length_mm\":36", "\"length_mm\":1.4"},
        {"\"length_mm\":36", "\"length_mm\":1000"},
        {"\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,\"direction\":[1,0,0]",
         "\"shape\":\"sphere\",\"diameter_mm\":100"},
        {"\"direction\":[1,0,0]", "\"direction\":[0,0,-1e-300]"},
        {"\"carbon-steel\"", "{\"resistivity_ohm_m\":1e-15,\"relative_permeability\":1e5}"},
        {"\"carbon-steel\"", "{\"relative_permeability\":1,\"resistivity_ohm_m\":1e15}"},
        {"\"step_mm\":2", "\"step_mm\":2400"},
        {"\"to_mm\":1200,\"step_mm\":2", "\"to_mm\":98800,\"step_mm\":1"},
        {",\n\"probe_mm\":[[0,0,0],[50,20,-80]]", ""},
        {"[[0,0,0],[50,20,-80]]", "[]"},
    };
    MetalTable *metals = load_metals();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        Err err = {0};
        PassDescription pass = {0};
        replace(&text, rows[i].old, rows[i].new);
        if (!read_text(text.bytes, metals, &pass, &err)) fail_msg("%s: %s", rows[i].new, err.text);
        pass_description_clear(&pass);
        text_clear(&text);
    }
    metals_free(metals);
}

/* In SI each value is the double next to the decimal that was written. */
static void test_describe_pass_values(void **state)
{
    (void)state;
    MetalTable *metals = load_metals();
    PassDescription pass = {0};
    Err err = {0};
    if (!read_text(BASE, metals, &pass, &err)) fail_msg("%s", err.text);
    assert_true(pass.head.coils.aperture_width_m == 0.7);
    assert_true(pass.head.coils.aperture_height_m == 0.3);
    assert_true(pass.head.coils.clearance_m == 0.02);
    assert_true(pass.head.coils.receiver_offset_m == 0.15);
    assert_true(pass.head.frequency_hz == 150000);
    assert_true(pass.head.noise_v == 3e-9);
    assert_true(pass.head.false_reject_rate == 1e-6);
    assert_true(pass.has_product && !pass.has_learned);
    assert_true(pass.product.length_m == 0.15 && pass.product.width_m == 0.1);
    assert_true(pass.product.height_m == 0.06 && pass.product.centre_up_m == -0.1);
    assert_int_equal(pass.product.columns_across, 2);
    assert_int_equal(pass.product.columns_up, 3);
    assert_true(pass.product.conductivity_s_per_m == 0.15);
    assert_true(pass.product.relative_permeability == 1.05);
    assert_true(pass.product.amplitude_variation == 0.08);
    assert_true(pass.product.phase_variation_rad == 0.02);
    assert_int_equal(pass.target.shape, TARGET_WIRE);
    assert_true(pass.target.diameter_m == 0.0007 && pass.target.length_m == 0.036);
    assert_true(pass.target.direction.x == 1 && pass.target.direction.y == 0);
    assert_true(pass.target.metal.resistivity_ohm_m == 1.5e-7);
    assert_true(pass.target.metal.relative_permeability == 90);
    assert_true(pass.across_m == 0.01 && pass.up_m == -0.1);
    assert_true(pass.travel.from_m == -1.2 && pass.travel.step_m == 0.002);
    assert_int_equal(pass.travel.count, 1201);
    assert_int_equal(pass.probe_count, 2);
    assert_true(pass.probes[1].x == 0.05 && pass.probes[1].y == 0.02 && pass.probes[1].z == -0.08);
    pass_description_clear(&pass);
    metals_free(metals);
}

/* The end of the travel is a point when it is whole steps off, whatever the rounding. */
static void test_describe_pass_travel_points(void **state)
{
    (void)state;
    static const struct {
        const char *travel;
        size_t count;
    } rows[] = {
        {"\"from_mm\":0,\"to_mm\":0.3,\"step_mm\":0.1", 4},
        {"\"from_mm\":0,\"to_mm\":0.7,\"step_mm\":0.1", 8},
        {"\"from_mm\":-0.3,\"to_mm\":0.6,\"step_mm\":0.3", 4},
        {"\"from_mm\":-1,\"to_mm\":1,\"step_mm\":0.3", 7},
        {"\"from_mm\":0,\"to_mm\":5,\"step_mm\":5", 2},
        {"\"from_mm\":0,\"to_mm\":9.9,\"step_mm\":5", 2},
        {"\"from_mm\":0,\"to_mm\":10000,\"step_mm\":0.1", 100001},
    };
    MetalTable *metals = load_metals();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        Err err = {0};
        PassDescription pass = {0};
        replace(&text, "\"from_mm\":-1200,\"to_mm\":1200,\"step_mm\":2", rows[i].travel);
        if (!read_text(text.bytes, metals, &pass, &err)) fail_msg("%s", err.text);
        assert_int_equal(pass.travel.count, rows[i].count);
        pass_description_clear(&pass);
        text_clear(&text);
    }
    metals_free(metals);
}

/* What sets the limits when there is no noise: the variations of what was learned, not of today's
 * product. */
static void test_describe_pass_noise(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        bool has_product, has_learned;
        const char *product_variation, *learned_variation;
        bool ok;
    } rows[] = {
        {"bare belt", false, false, "0", "0", false},
        {"product varies", true, false, "0.01", "0", true},
        {"product does not", true, false, "0", "0", false},
        {"learned varies", true, true, "0", "0.01", true},
        {"only today's product varies", true, true, "0.01", "0", false},
        {"bare belt under a program", false, true, "0", "0.01", true},
    };
    MetalTable *metals = load_metals();
    const char *target = strstr(BASE, "\"target\"");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        Err err = {0};
        PassDescription pass = {0};
        const char *const names[] = {rows[i].has_product ? "product" : NULL,
                                     rows[i].has_learned ? "learned" : NULL};
        const char *const variations[] = {rows[i].product_variation, rows[i].learned_variation};
        text_add(&text, "{\"head\":{\"aperture_width_mm\":700,\"aperture_height_mm\":300,"
                        "\"coil_clearance_mm\":20,\"receiver_offset_mm\":150,\"frequency_khz\":150,"
                        "\"noise_nv\":0,\"false_reject_rate\":1e-6},");
        for (size_t j = 0; j < 2; j++) {
            if (names[j] == NULL) continue;
            text_addf(&text,
                      "\"%s\":{\"length_mm\":1,\"width_mm\":1,\"height_mm\":1,\"columns\":[1,1],"
                      "\"conductivity_s_per_m\":1,\"relative_permeability\":1,\"centre_up_mm\":0,"
                      "\"amplitude_variation\":%s,\"phase_variation_rad\":%s},",
                      names[j], variations[j], variations[j]);
        }
        text_add(&text, target);
        bool ok = read_text(text.bytes, metals, &pass, &err);
        if (ok != rows[i].ok) fail_msg("%s: %s", rows[i].name, err.text);
        if (!ok) assert_non_null(strstr(err.text, "noise_nv is 0, limit above 0 unless"));
        if (ok) assert_true(pass.has_learned == rows[i].has_learned);
        pass_description_clear(&pass);
        text_clear(&text);
    }
    metals_free(metals);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_describe_pass_bad),
        cmocka_unit_test(test_describe_pass_no_object),
        cmocka_unit_test(test_describe_pass_good),
        cmocka_unit_test(test_describe_pass_values),
        cmocka_unit_test(test_describe_pass_travel_points),
        cmocka_unit_test(test_describe_pass_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
