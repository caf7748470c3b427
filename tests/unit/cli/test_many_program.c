/* The real program: what sensitivity, pod and fit print, how they end, and that Ctrl-C ends them
 * with nothing half written. */
#include "program.h"

#include <math.h>

#include "scenario/json.h"

#define HEAD_BUT_NOISE                                                                             \
    "{\"head\":{\"aperture_width_mm\":700,\"aperture_height_mm\":300,\"coil_clearance_mm\":20,\n"  \
    "\"receiver_offset_mm\":130,\"frequency_khz\":150,\"false_reject_rate\":1e-6"
#define PRODUCT                                                                                    \
    "\"product\":{\"length_mm\":150,\"width_mm\":100,\"height_mm\":60,\"columns\":[1,1],\n"        \
    "\"conductivity_s_per_m\":0.15,\"relative_permeability\":1.0,\"centre_up_mm\":-100,\n"         \
    "\"amplitude_variation\":0.08,\"phase_variation_rad\":0.02}"
#define TRAVEL "\"travel\":{\"from_mm\":-600,\"to_mm\":600,\"step_mm\":2}"

static const char SURVEY[] =
    HEAD_BUT_NOISE ",\"noise_nv\":3},\n" PRODUCT ",\n" TRAVEL ",\n"
                   "\"metals\":[\"brass\",{\"name\":\"glass\",\"resistivity_ohm_m\":1e12,"
                   "\"relative_permeability\":1}],\n\"at_mm\":[[0,0],[340.1,-20]]}\n";
static const char MAP[] = HEAD_BUT_NOISE ",\"noise_nv\":3},\n" TRAVEL ",\"metals\":[\"brass\"],\n"
                                         "\"map\":{\"across\":7,\"up\":5}}\n";
static const char POD[] = HEAD_BUT_NOISE
    ",\"noise_nv\":30},\n" PRODUCT ",\n" TRAVEL ",\n"
    "\"target\":{\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,"
    "\"metal\":\"carbon-steel\"},\n"
    "\"random\":{\"direction\":true,\"place\":\"pack\"},\"trials\":200,\"seed\":7}\n";
static const char LONG_POD[] =
    HEAD_BUT_NOISE ",\"noise_nv\":30},\n" PRODUCT ",\n" TRAVEL ",\n"
                   "\"target\":{\"shape\":\"wire\",\"diameter_mm\":0.7,\"length_mm\":36,"
                   "\"metal\":\"carbon-steel\"},\n\"random\":{\"direction\":true,"
                   "\"place\":\"pack\"},\"trials\":3000000,\"seed\":7}\n";
static const char FIT[] =
    HEAD_BUT_NOISE "},\n\"programs\":[{\"name\":\"bare \\\"belt\\\"\",\"validated\":[\n"
                   "{\"metal\":\"brass\",\"diameter_mm\":2.5},{\"metal\":{\"resistivity_ohm_m\":"
                   "1e-7,\"relative_permeability\":2},\"diameter_mm\":2}]},\n"
                   "{\"name\":\"pack\"," PRODUCT ",\"validated\":[{\"metal\":\"brass\","
                   "\"diameter_mm\":3.2}]}]}\n";

static int prepare(void **state)
{
    if (make_folder(state) != 0) return -1;
    write_file(folder_of(state), "survey.json", SURVEY);
    write_file(folder_of(state), "map.json", MAP);
    write_file(folder_of(state), "pod.json", POD);
    write_file(folder_of(state), "long.json", LONG_POD);
    write_file(folder_of(state), "fit.json", FIT);
    return 0;
}

static JsonDoc *run_json(const char *folder, const char *arguments)
{
    Call call;
    Err err = {0};
    JsonDoc *doc = NULL;
    run(folder, arguments, &call);
    if (call.code != 0) fail_msg("%s: exit %d: %s", arguments, call.code, text_string(&call.err));
    assert_int_equal(call.err.len, 0);
    if (!json_parse("out", call.out.bytes, call.out.len, &doc, &err)) fail_msg("%s", err.text);
    call_clear(&call);
    return doc;
}

static double number_of(const JsonValue *object, const char *key)
{
    const JsonValue *value = json_get(object, key);
    assert_non_null(value);
    assert_int_equal(json_kind(value), JSON_NUMBER);
    return json_number(value);
}

/* The keys and kinds of the contract, in its order. */
static void check_keys(const JsonValue *object, const char *const keys[])
{
    size_t count = 0;
    while (keys[count] != NULL) {
        assert_string_equal(json_key_at(object, count), keys[count]);
        count++;
    }
    assert_int_equal(json_count(object), count);
}

static void test_sensitivity_json(void **state)
{
    JsonDoc *doc = run_json(folder_of(state), "sensitivity --json survey.json");
    const JsonValue *points = json_get(json_root(doc), "points");
    check_keys(json_root(doc), (const char *const[]){"points", NULL});
    assert_int_equal(json_count(points), 2);
    const JsonValue *side = json_at(points, 1);
    check_keys(side, (const char *const[]){"at_mm", "smallest_mm", NULL});
    assert_true(json_number(json_at(json_get(side, "at_mm"), 0)) == 340.1);
    assert_true(json_number(json_at(json_get(side, "at_mm"), 1)) == -20.0);
    check_keys(json_get(side, "smallest_mm"), (const char *const[]){"brass", "glass", NULL});
    double centre = number_of(json_get(json_at(points, 0), "smallest_mm"), "brass");
    double wall = number_of(json_get(side, "smallest_mm"), "brass");
    assert_true(wall < centre && wall > 0.1 && centre < 10.0);
    assert_int_equal(json_kind(json_get(json_get(side, "smallest_mm"), "glass")), JSON_NULL);
    json_free(doc);

    doc = run_json(folder_of(state), "sensitivity map.json --json");
    points = json_get(json_root(doc), "points");
    assert_int_equal(json_count(points), 35);
    assert_true(json_number(json_at(json_get(json_at(points, 0), "at_mm"), 0)) == -340.0);
    assert_true(json_number(json_at(json_get(json_at(points, 0), "at_mm"), 1)) == -140.0);
    assert_true(json_number(json_at(json_get(json_at(points, 17), "at_mm"), 0)) == 0.0);
    assert_true(json_number(json_at(json_get(json_at(points, 6), "at_mm"), 0)) == 340.0);
    json_free(doc);
}

static void test_pod_json(void **state)
{
    JsonDoc *doc = run_json(folder_of(state), "pod --json pod.json");
    const JsonValue *root = json_root(doc);
    const JsonValue *interval = json_get(root, "interval");
    check_keys(root, (const char *const[]){"trials", "found", "probability", "interval", NULL});
    check_keys(interval, (const char *const[]){"level", "low", "high", NULL});
    assert_true(number_of(root, "trials") == 200.0);
    assert_true(number_of(root, "found") == 200.0 * number_of(root, "probability"));
    assert_true(number_of(interval, "level") == 0.95);
    assert_true(number_of(interval, "low") < number_of(root, "probability"));
    assert_true(number_of(interval, "high") > number_of(root, "probability"));
    json_free(doc);
}

static void test_fit_json(void **state)
{
    JsonDoc *doc = run_json(folder_of(state), "fit --json fit.json");
    const JsonValue *root = json_root(doc);
    const JsonValue *programs = json_get(root, "programs");
    check_keys(root, (const char *const[]){"noise_nv", "variation_factor", "programs", NULL});
    assert_true(number_of(root, "noise_nv") > 0.0);
    assert_int_equal(json_count(programs), 2);
    const JsonValue *first = json_at(programs, 0);
    check_keys(first, (const char *const[]){"name", "validated", NULL});
    assert_string_equal(json_string(json_get(first, "name")), "bare \"belt\"");
    const JsonValue *own = json_at(json_get(first, "validated"), 1);
    check_keys(own, (const char *const[]){"metal", "diameter_mm", "ratio", "wanted_ratio",
                                          "model_mm", NULL});
    assert_true(number_of(json_get(own, "metal"), "resistivity_ohm_m") == 1e-7);
    assert_true(number_of(own, "diameter_mm") == 2.0);
    assert_true(fabs(number_of(own, "wanted_ratio") - 1.798) < 1e-3);
    json_free(doc);
}

static void test_exit_codes_and_words(void **state)
{
    static const struct {
        const char *arguments;
        int code;
        const char *out; /* how it begins */
        const char *err; /* the whole line, without its end */
    } rows[] = {
        {"sensitivity survey.json", 0, "smallest sphere with 1 times the limit", ""},
        {"sensitivity map.json", 0, "smallest sphere with 1 times the limit", ""},
        {"pod - <pod.json", 0, "sent     carbon-steel wire, 0.7 mm thick, 36 mm long, anywhere in ",
         ""},
        {"fit fit.json", 0, "noise    ", ""},
        {"pod --help", 0, "usage: threepass pod FILE [--json]\n", ""},
        {"sensitivity pod.json", 2, "", "pod.json:7:1: error: unknown key \"target\""},
        {"pod survey.json", 2, "", "survey.json:7:1: error: unknown key \"metals\""},
        {"fit pod.json", 2, "", "pod.json:3:1: error: unknown key \"product\""},
        {"fit", 2, "", "threepass fit: 0 words behind it, limit 1..1; see threepass fit --help"},
        {"pod no-such.json", 2, "", "no-such.json: cannot open: No such file or directory"},
        {"pod pod.json >/dev/full", 2, "",
         "threepass: cannot write to standard output: No space left on device"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Call call;
        Text want = {0};
        run(folder_of(state), rows[i].arguments, &call);
        text_addf(&want, "%s%s", rows[i].err, rows[i].err[0] == '\0' ? "" : "\n");
        bool begins = strncmp(text_string(&call.out), rows[i].out, strlen(rows[i].out)) == 0;
        if (call.code != rows[i].code || !begins ||
            strcmp(text_string(&call.err), want.bytes) != 0) {
            fail_msg("%s: exit %d\n  out %s\n  err %s", rows[i].arguments, call.code,
                     text_string(&call.out), text_string(&call.err));
        }
        text_clear(&want);
        call_clear(&call);
    }
}

/* A Ctrl-C half a second into some seconds' work: one line, exit 2, nothing on standard output
 * (timeout --preserve-status gives the program's own code). */
static void test_interrupt(void **state)
{
    Text command = {0};
    text_addf(&command,
              "cd '%s' && timeout --preserve-status -s INT 0.5 '%s' pod long.json >out 2>err; test "
              "$? = 2",
              folder_of(state), THREEPASS_PROGRAM);
    assert_int_equal(system(command.bytes), 0);
    Text out = {0};
    Text err = {0};
    read_file(folder_of(state), "out", &out);
    read_file(folder_of(state), "err", &err);
    assert_string_equal(text_string(&err), "threepass: stopped; nothing was written\n");
    assert_int_equal(out.len, 0);
    text_clear(&command);
    text_clear(&out);
    text_clear(&err);
}

/* The chance that a check notices a worse detector stands below each program, and rises as it
 * becomes worse. */
static void test_fit_tells_what_a_check_finds(void **state)
{
    Call call;
    run(folder_of(state), "fit fit.json", &call);
    const char *line = strstr(text_string(&call.out), " misses one with a chance of ");
    assert_non_null(line);
    line += strlen(" misses one with a chance of ");
    double before = 0.0;
    for (int i = 0; i < 5; i++) {
        double chance = strtod(line, NULL);
        assert_true(chance > before && chance <= 1.0);
        before = chance;
        line = strpbrk(line, ",\n") + 1;
        line += strspn(line, " ");
    }
    assert_true(before > 0.9);
    assert_non_null(strstr(text_string(&call.out), "it validates nothing\n"));
    call_clear(&call);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sensitivity_json),
        cmocka_unit_test(test_pod_json),
        cmocka_unit_test(test_fit_json),
        cmocka_unit_test(test_exit_codes_and_words),
        cmocka_unit_test(test_interrupt),
        cmocka_unit_test(test_fit_tells_what_a_check_finds),
    };
    return cmocka_run_group_tests(tests, prepare, remove_folder);
}
