/* The real program's window: what it says where there is none, what it refuses, and its
 * pictures. */
#define _GNU_SOURCE

#include "program.h"

#define HAS_NONE "no display here; threepass demo plays the story without one"

static void test_window_refusals(void **state)
{
    static const struct {
        const char *arguments;
        const char *err; /* the whole line, without its end */
    } rows[] = {
        {"", HAS_NONE},
        {"window", HAS_NONE},
        {"--text 200 --theme dark --size 3840x2160 --store s", HAS_NONE},
        {"--site nowhere --store s", HAS_NONE},
        {"--site", "threepass window: --site wants DIR behind it"},
        {"--size 1023x600", "threepass: --size is \"1023x600\", limit 1024x600..3840x2160"},
        {"--size=1024x599", "threepass: --size is \"1024x599\", limit 1024x600..3840x2160"},
        {"--size 3841x2160", "threepass: --size is \"3841x2160\", limit 1024x600..3840x2160"},
        {"--size 3840x2161", "threepass: --size is \"3840x2161\", limit 1024x600..3840x2160"},
        {"--size 1280", "threepass: --size is \"1280\", limit 1024x600..3840x2160"},
        {"--size 1280x800x2", "threepass: --size is \"1280x800x2\", limit 1024x600..3840x2160"},
        {"--text 99", "threepass: --text is \"99\", limit 100..200"},
        {"--text 201", "threepass: --text is \"201\", limit 100..200"},
        {"--text big", "threepass: --text is \"big\", limit 100..200"},
        {"--theme pink", "threepass: --theme is \"pink\", must be one of: light, dark, contrast"},
        {"window --them dark", "threepass window: unknown option --them; did you mean --theme?"},
        {"window now", "threepass window: 1 words behind it, limit 0..0; see threepass window "
                       "--help"},
    };
    const char *folder = folder_of(state);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Call call;
        Text want = {0};
        run(folder, rows[i].arguments, &call);
        text_addf(&want, "%s\n", rows[i].err);
        if (call.code != 2 || call.out.len > 0 || strcmp(text_string(&call.err), want.bytes) != 0) {
            fail_msg("\"%s\": exit %d\n  %s  want %s", rows[i].arguments, call.code,
                     text_string(&call.err), want.bytes);
        }
        text_clear(&want);
        call_clear(&call);
    }
}

static unsigned big_endian(const char *bytes)
{
    unsigned value = 0;
    for (int i = 0; i < 4; i++) {
        value = value << 8U | (unsigned char)bytes[i];
    }
    return value;
}

/* PNG, W3C Recommendation (third edition) 5.2 and 11.2.1: the signature, then width and height at
 * offset 16. */
static void test_demo_pictures(void **state)
{
    static const struct {
        const char *name;
        unsigned width, height;
    } rows[] = {{"door", 1280, 800},         {"home", 1280, 800},    {"run", 1280, 800},
                {"run-dark", 1280, 800},     {"run-200", 1280, 800}, {"run-contrast", 1280, 800},
                {"run-1024x600", 1024, 600}, {"bench", 1280, 800},   {"run-question", 1280, 800},
                {"look-back", 1280, 800}};
    const char *folder = folder_of(state);
    Call call;
    run(folder, "demo --store s --pictures p", &call);
    if (call.code != 0) fail_msg("exit %d: %s", call.code, text_string(&call.err));
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text name = {0};
        Text bytes = {0};
        text_addf(&name, "p/%s.png", rows[i].name);
        assert_non_null(strstr(text_string(&call.out), name.bytes));
        read_file(folder, name.bytes, &bytes);
        assert_true(bytes.len > 10000);
        assert_memory_equal(bytes.bytes, "\x89PNG\r\n\x1A\n", 8);
        assert_int_equal(big_endian(bytes.bytes + 16), rows[i].width);
        assert_int_equal(big_endian(bytes.bytes + 20), rows[i].height);
        text_clear(&name);
        text_clear(&bytes);
    }
    call_clear(&call);
    run(folder, "demo --pictures /proc/none", &call);
    assert_int_equal(call.code, 2);
    assert_non_null(strstr(text_string(&call.err), "/proc/none"));
    call_clear(&call);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_window_refusals),
        cmocka_unit_test(test_demo_pictures),
    };
    if (unsetenv("DISPLAY") != 0 || unsetenv("WAYLAND_DISPLAY") != 0) return 2;
    if (unsetenv("SDL_VIDEODRIVER") != 0) return 2;
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
