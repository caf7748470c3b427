/* The real program: exit codes, what stands on which stream, and the answer of `pass`. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cmocka.h>

#include "base/os.h"
#include "detector/pass.h"
#include "scenario/describe.h"
#include "program.h"

static const char DESCRIPTION[] =
    "{\n"
    "  \"head\": { \"aperture_width_mm\": 700, \"aperture_height_mm\": 300,\n"
    "            \"coil_clearance_mm\": 20, \"receiver_offset_mm\": 100, \"frequency_khz\": 150,\n"
    "            \"noise_nv\": 3.0, \"false_reject_rate\": 1e-6 },\n"
    "  \"product\": { \"length_mm\": 150, \"width_mm\": 100, \"height_mm\": 60,\n"
    "            \"columns\": [1, 1], \"conductivity_s_per_m\": 0.15,\n"
    "            \"relative_permeability\": 1.0, \"centre_up_mm\": -100,\n"
    "            \"amplitude_variation\": 0.08, \"phase_variation_rad\": 0.02 },\n"
    "  \"target\": { \"shape\": \"wire\", \"diameter_mm\": 0.7, \"length_mm\": 36,\n"
    "            \"direction\": [1, 0, 0], \"metal\": \"carbon-steel\" },\n"
    "  \"position_mm\": { \"across\": 0, \"up\": -100 },\n"
    "  \"travel\": { \"from_mm\": -600.1, \"to_mm\": 600, \"step_mm\": 0.3 },\n"
    "  \"probe_mm\": [[0, 0, 0], [50, 20, -80.1]]\n"
    "}\n";

/* DESCRIPTION with `old` replaced, as the file `name`. */
static void write_changed(const char *folder, const char *name, const char *old, const char *new)
{
    Text text = {0};
    const char *at = strstr(DESCRIPTION, old);
    assert_non_null(at);
    text_add_bytes(&text, DESCRIPTION, (size_t)(at - DESCRIPTION));
    text_addf(&text, "%s%s", new, at + strlen(old));
    write_file(folder, name, text.bytes);
    text_clear(&text);
}

static void test_main_exit_codes(void **state)
{
    static const struct {
        const char *arguments;
        int code;
        const char *out; /* how it begins */
        const char *err; /* the whole line, without its end */
    } rows[] = {
        {"--help", 0, "usage: threepass VERB ...\n", ""},
        {"--version", 0,
         "threepass "
         "0.",
         ""},
        {"pass --help", 0, "usage: threepass pass FILE [--json]\n", ""},
        {"pass x --json --help", 0, "usage: threepass pass FILE [--json]\n", ""},
        {"pas", 2, "", "threepass: unknown verb \"pas\"; did you mean \"pass\"?"},
        {"xyzzy", 2, "", "threepass: unknown verb \"xyzzy\"; see threepass --help"},
        {"--verison", 2, "",
         "threepass: unknown option \"--verison\"; did you mean \"--version\"?"},
        {"''", 2, "", "threepass: unknown verb \"\"; see threepass --help"},
        {"pass", 2, "", "threepass pass: 0 words behind it, limit 1..1; see threepass pass --help"},
        {"pass a b", 2, "",
         "threepass pass: 2 words behind it, limit 1..1; see threepass pass --help"},
        {"pass good.json --jsn", 2, "",
         "threepass pass: unknown option --jsn; did you mean --json?"},
        {"pass good.json --store=x", 2, "", "threepass pass: unknown option --store=x"},
        {"pass good.json -j", 2, "", "threepass pass: unknown option -j"},
        {"pass good.json --json=1", 2, "", "threepass pass: --json takes no value"},
        {"pass --json good.json --json", 2, "", "threepass pass: --json is given twice"},
        {"pass -- --json", 2, "", "--json: cannot open: No such file or directory"},
        {"pass no-such.json", 2, "", "no-such.json: cannot open: No such file or directory"},
        {"pass .", 2, "", ".: cannot read: Is a directory"},
        {"pass -", 2, "", "-:1:1: error: not JSON: expected a value, found the end of the text"},
        {"pass bad.json", 2, "",
         "bad.json:10:46: error: metal is \"carbon-stell\", must be one of \"stainless-304\", "
         "\"stainless-316\", \"chrome-steel\", \"carbon-steel\", \"brass\", \"aluminium\", "
         "\"copper\", \"lead\"; did you mean \"carbon-steel\"?"},
        {"pass bad.json --json", 2, "",
         "bad.json:10:46: error: metal is \"carbon-stell\", must be one of \"stainless-304\", "
         "\"stainless-316\", \"chrome-steel\", \"carbon-steel\", \"brass\", \"aluminium\", "
         "\"copper\", \"lead\"; did you mean \"carbon-steel\"?"},
        {"pass cut.json", 2, "",
         "cut.json:1:10: error: not JSON: expected a value, found the end of the text"},
        {"pass good.json", 0, "sent     carbon-steel wire, 0.7 mm thick, 36 mm long", ""},
        {"pass --json -- good.json", 0, "{\n  \"polarizability_mm3\": [[[", ""},
        {"pass - <good.json", 0, "sent     carbon-steel wire", ""},
    };
    const char *folder = folder_of(state);
    write_file(folder, "good.json", DESCRIPTION);
    write_file(folder, "cut.json", "{\"head\": ");
    write_changed(folder, "bad.json", "carbon-steel", "carbon-stell");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Call call;
        run(folder, rows[i].arguments, &call);
        Text want = {0};
        text_addf(&want, "%s%s", rows[i].err, rows[i].err[0] == '\0' ? "" : "\n");
        const char *out = text_string(&call.out);
        bool out_is_good = rows[i].out[0] == '\0'
                               ? out[0] == '\0'
                               : strncmp(out, rows[i].out, strlen(rows[i].out)) == 0;
        if (call.code != rows[i].code || !out_is_good ||
            strcmp(text_string(&call.err), text_string(&want)) != 0) {
            fail_msg("%s: exit %d\n  out  %s\n  err  %s\n  want %s", rows[i].arguments, call.code,
                     out, text_string(&call.err), text_string(&want));
        }
        text_clear(&want);
        call_clear(&call);
    }
}

/* Linux's /dev/full is a disk that is always full. */
static void test_main_full_disk(void **state)
{
    static const char *const arguments[] = {"--help", "--version", "pass --help", "pass good.json",
                                            "pass good.json --json"};
    const char *folder = folder_of(state);
    write_file(folder, "good.json", DESCRIPTION);
    for (size_t i = 0; i < sizeof arguments / sizeof arguments[0]; i++) {
        Text full = {0};
        Call call;
        text_addf(&full, "%s >/dev/full", arguments[i]);
        run(folder, full.bytes, &call);
        assert_int_equal(call.code, 2);
        assert_string_equal(
            text_string(&call.err),
            "threepass: cannot write to standard output: No space left on device\n");
        text_clear(&full);
        call_clear(&call);
    }
}

static double number_of(const JsonValue *object, const char *key)
{
    const JsonValue *value = json_get(object, key);
    assert_non_null(value);
    return json_number(value);
}

static void check_three(const JsonValue *array, double x, double y, double z)
{
    assert_int_equal(json_count(array), 3);
    assert_true(json_number(json_at(array, 0)) == x);
    assert_true(json_number(json_at(array, 1)) == y);
    assert_true(json_number(json_at(array, 2)) == z);
}

/* The answer's shape, and that its numbers are those of the library, bit for bit. */
static void check_answer(const JsonValue *answer, const PassResult *result)
{
    static const char *const keys[] = {"polarizability_mm3",
                                       "probe",
                                       "trace",
                                       "peak_nv",
                                       "peak_x_mm",
                                       "product_peak_nv",
                                       "limit_along_nv",
                                       "limit_across_nv",
                                       "ratio",
                                       "detected",
                                       "found_probability",
                                       NULL};
    Err err = {0};
    assert_true(json_want_object(answer, "answer", keys, &err));
    assert_int_equal(json_count(answer), sizeof keys / sizeof keys[0] - 1);
    const JsonValue *tensor = json_get(answer, "polarizability_mm3");
    assert_int_equal(json_count(tensor), 3);
    const JsonValue *xx = json_at(json_at(tensor, 0), 0);
    assert_true(json_number(json_at(xx, 0)) == creal(result->polarizability_m3.xx) * 1e9);
    assert_true(json_number(json_at(xx, 1)) == cimag(result->polarizability_m3.xx) * 1e9);
    assert_int_equal(json_count(json_at(json_at(tensor, 2), 2)), 2);
    const JsonValue *trace = json_get(answer, "trace");
    const JsonValue *x = json_get(trace, "x_mm");
    const JsonValue *re = json_get(trace, "re_nv");
    const JsonValue *im = json_get(trace, "im_nv");
    assert_int_equal(json_count(x), result->travel.count);
    assert_int_equal(json_count(re), result->travel.count);
    assert_int_equal(json_count(im), result->travel.count);
    for (size_t i = 0; i < result->travel.count; i++) {
        assert_true(json_number(json_at(x, i)) == -600.1 + (double)i * 0.3);
        assert_true(json_number(json_at(re, i)) == creal(result->trace_v[i]) * 1e9);
        assert_true(json_number(json_at(im, i)) == cimag(result->trace_v[i]) * 1e9);
    }
    const JsonValue *probe = json_at(json_get(answer, "probe"), 1);
    const PassProbe *want = &result->probes[1];
    check_three(json_get(probe, "at_mm"), 50, 20, -80.1);
    check_three(json_get(probe, "transmit_per_m"), want->transmit_per_m.x, want->transmit_per_m.y,
                want->transmit_per_m.z);
    check_three(json_get(probe, "receive_per_m"), want->receive_per_m.x, want->receive_per_m.y,
                want->receive_per_m.z);
    assert_true(number_of(answer, "peak_nv") == result->peak_v * 1e9);
    assert_true(fabs(number_of(answer, "peak_x_mm") - result->peak_x_m * 1e3) < 1e-9);
    assert_true(number_of(answer, "product_peak_nv") == result->product_peak_v * 1e9);
    assert_true(number_of(answer, "limit_along_nv") == result->limit_along_v * 1e9);
    assert_true(number_of(answer, "limit_across_nv") == result->limit_across_v * 1e9);
    assert_true(number_of(answer, "ratio") == result->ratio);
    assert_true(number_of(answer, "found_probability") == result->found_probability);
    assert_true(json_bool(json_get(answer, "detected")) == (result->ratio > 1));
}

/* The peak is at one of the trace's places, and is the largest |S| there. */
static void check_peak(const JsonValue *answer)
{
    const JsonValue *trace = json_get(answer, "trace");
    double largest = 0;
    bool is_there = false;
    for (size_t i = 0; i < json_count(json_get(trace, "x_mm")); i++) {
        double re = json_number(json_at(json_get(trace, "re_nv"), i));
        double im = json_number(json_at(json_get(trace, "im_nv"), i));
        largest = fmax(largest, hypot(re, im));
        if (json_number(json_at(json_get(trace, "x_mm"), i)) == number_of(answer, "peak_x_mm")) {
            is_there = true;
            assert_true(fabs(hypot(re, im) / number_of(answer, "peak_nv") - 1) < 1e-12);
        }
    }
    assert_true(is_there);
    assert_true(fabs(largest / number_of(answer, "peak_nv") - 1) < 1e-12);
}

static void test_pass_json_comes_back(void **state)
{
    const char *folder = folder_of(state);
    Err err = {0};
    Call call;
    JsonDoc *answer = NULL;
    JsonDoc *doc = NULL;
    MetalTable *metals = NULL;
    PassDescription pass = {0};
    PassResult result = {0};
    write_file(folder, "good.json", DESCRIPTION);
    run(folder, "pass good.json --json", &call);
    assert_int_equal(call.code, 0);
    assert_true(json_parse("answer", call.out.bytes, call.out.len, &answer, &err));
    assert_true(json_parse("t.json", DESCRIPTION, strlen(DESCRIPTION), &doc, &err));
    assert_true(metals_load("assets/metals.json", &metals, &err));
    assert_true(describe_pass(json_root(doc), metals, &pass, &err));
    assert_true(pass_compute(&pass, &result, &err));
    check_answer(json_root(answer), &result);
    check_peak(json_root(answer));
    pass_result_clear(&result);
    pass_description_clear(&pass);
    metals_free(metals);
    json_free(doc);
    json_free(answer);
    call_clear(&call);
}

/* Found or missed, the pass was computed: exit 0. A hair of lead is missed, a big ball is found. */
static void test_pass_people_text(void **state)
{
    static const struct {
        const char *old, *new, *want;
    } rows[] = {
        {"\"diameter_mm\": 0.7, \"length_mm\": 36", "\"diameter_mm\": 0.02, \"length_mm\": 1",
         "answer   missed: "},
        {"\"diameter_mm\": 0.7, \"length_mm\": 36", "\"diameter_mm\": 0.02, \"length_mm\": 1",
         "chance   under 1 in 1 000 such passes are found\n"},
        {"\"diameter_mm\": 0.7", "\"diameter_mm\": 3", "answer   found: "},
        {"\"diameter_mm\": 0.7", "\"diameter_mm\": 3",
         "chance   over 999 in 1 000 such passes are found\n"},
        {"\"carbon-steel\"", "{\"resistivity_ohm_m\": 7.4e-7, \"relative_permeability\": 1.01}",
         "sent     metal of 7.4e-07 ohm m and permeability 1.01 wire, 0.7 mm thick"},
        {"\"receiver_offset_mm\": 100", "\"receiver_offset_mm\": 300",
         "the centre may not be the weakest place"},
        {"-600.1", "-600.1", "only test pieces tell what the real detector does"},
    };
    const char *folder = folder_of(state);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Call call;
        write_changed(folder, "one.json", rows[i].old, rows[i].new);
        run(folder, "pass one.json", &call);
        const char *out = text_string(&call.out);
        if (call.code != 0 || strstr(out, rows[i].want) == NULL) {
            fail_msg("no \"%s\" in\n%s%s", rows[i].want, out, text_string(&call.err));
        }
        assert_null(strchr(out, '%'));
        call_clear(&call);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_main_exit_codes),
        cmocka_unit_test(test_main_full_disk),
        cmocka_unit_test(test_pass_json_comes_back),
        cmocka_unit_test(test_pass_people_text),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
