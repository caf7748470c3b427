/* The JSON adapter against RFC 8259, a public suite of cases, and its own stated limits. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/os.h"
#include "base/random.h"
#include "scenario/json.h"

#define SUITE "tests/data/json_suite"

/* The message without "t.json:", or "" when the bytes are taken. */
static void parse_into(char message[ERR_TEXT_BYTES], const char *bytes, size_t len)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    message[0] = '\0';
    if (json_parse("t.json", bytes, len, &doc, &err)) {
        json_free(doc);
        return;
    }
    assert_null(doc);
    assert_true(strncmp(err.text, "t.json:", 7) == 0);
    (void)snprintf(message, ERR_TEXT_BYTES, "%s", err.text + 7);
}

static JsonDoc *parse_good(const char *text)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    if (!json_parse("t.json", text, strlen(text), &doc, &err)) fail_msg("%s", err.text);
    return doc;
}

typedef struct {
    const char *name;
    const char *text;
    const char *want; /* the message behind "t.json:", NULL when the text is JSON */
} Row;

static void check_rows(const Row rows[], size_t count)
{
    char got[ERR_TEXT_BYTES];
    char want[ERR_TEXT_BYTES];
    for (size_t i = 0; i < count; i++) {
        parse_into(got, rows[i].text, strlen(rows[i].text));
        want[0] = '\0';
        if (rows[i].want != NULL) {
            const char *words = strchr(rows[i].want, ' ');
            (void)snprintf(want, sizeof want, "%.*s: error: not JSON:%s",
                           (int)(words - rows[i].want), rows[i].want, words);
        }
        if (strcmp(got, want) == 0) continue;
        fail_msg("%s\n  got  %s\n  want %s", rows[i].name, got, want);
    }
}

/* RFC 8259 sections 2 and 3: structure, white space, the three names. */
static void test_json_parse_structure(void **state)
{
    (void)state;
    static const Row rows[] = {
        {"empty array", "[]", NULL},
        {"empty object", "{}", NULL},
        {"a string alone", "\"\"", NULL},
        {"a number alone", "0", NULL},
        {"a name alone", "null", NULL},
        {"every white space", " \t\r\n[ \t\r\n1 \t\r\n, \t\r\n2 \t\r\n] \t\r\n", NULL},
        {"space in an object", "{ \"a\" : 1 , \"b\" : 2 }", NULL},
        {"names", "[true,false,null]", NULL},
        {"nothing", "", "1:1 expected a value, found the end of the text"},
        {"white space only", " \n ", "2:2 expected a value, found the end of the text"},
        {"two values", "1 2", "1:3 expected the end of the text, found 2"},
        {"a bracket too many", "[]]", "1:3 expected the end of the text, found ]"},
        {"a bracket too few", "[1", "1:3 expected ',' or ']', found the end of the text"},
        {"a brace too few", "{\"a\":1", "1:7 expected ',' or '}', found the end of the text"},
        {"wrong closing", "[1}", "1:3 expected ',' or ']', found }"},
        {"wrong closing of an object", "{\"a\":1]", "1:7 expected ',' or '}', found ]"},
        {"comma at the end", "[1,]",
         "1:4 expected a value, found ] (is there a comma too many before it?)"},
        {"comma at the start", "[,1]", "1:2 expected a value, found ,"},
        {"two commas", "[1,,2]", "1:4 expected a value, found ,"},
        {"no comma", "[1\n 2]", "2:2 expected ',' or ']', found 2"},
        {"comma at an object's end", "{\"a\":1,}",
         "1:8 expected a key in double quotes, found } (is there a comma too many before it?)"},
        {"no colon", "{\"a\" 1}", "1:6 expected ':' after a key, found 1"},
        {"no value", "{\"a\":}", "1:6 expected a value, found }"},
        {"key without quotes", "{\n  aperture_mm: 1}",
         "2:3 expected a key in double quotes, found aperture_mm"},
        {"number for a key", "{1:1}", "1:2 expected a key in double quotes, found 1"},
        {"single quotes", "['a']",
         "1:2 expected a value, found ' (strings stand in double quotes)"},
        {"a comment", "[1, // one\n2]", "1:5 expected a value, found / (JSON has no comments)"},
        {"curly quotes", "{\"a\": \xe2\x80\x9cx\xe2\x80\x9d}",
         "1:7 expected a value, found \xe2\x80\x9c (quotes must be straight ones)"},
        {"curly quotes for a key",
         "{\xe2\x80\x9e"
         "a\xe2\x80\x9d: 1}",
         "1:2 expected a key in double quotes, found \xe2\x80\x9e (quotes must be straight ones)"},
        {"a dash", "[\xe2\x80\x93]", "1:2 expected a value, found \xe2\x80\x93"},
        {"a comma in a number", "{\"a\": 2,5}",
         "1:9 expected a key in double quotes, found 5 (a number has a decimal point, such as "
         "2.5)"},
        {"a number for the next key", "{\"a\": 2, 5}",
         "1:10 expected a key in double quotes, found 5"},
        {"comma at the end of a line", "{\"a\": 1,\n}",
         "2:1 expected a key in double quotes, found } (is there a comma too many before it?)"},
        {"capital name", "[True]", "1:2 expected a value, found True"},
        {"short name", "[nul]", "1:2 expected a value, found nul"},
        {"long name", "[nulls]", "1:2 expected a value, found nulls"},
        {"not a number", "[NaN]", "1:2 expected a value, found NaN"},
        {"infinity", "[Infinity]", "1:2 expected a value, found Infinity"},
        {"form feed", "[\f1]", "1:2 expected a value, found the control character 0x0c"},
        {"byte order mark", "\xef\xbb\xbf{}",
         "1:1 the text begins with a byte order mark; save it as UTF-8 without one"},
        {"byte order mark within", "[\xef\xbb\xbf]", "1:2 expected a value, found \xef\xbb\xbf"},
    };
    check_rows(rows, sizeof rows / sizeof rows[0]);
}

/* RFC 8259 section 6. */
static void test_json_parse_number_grammar(void **state)
{
    (void)state;
    static const Row rows[] = {
        {"zero", "0", NULL},
        {"minus zero", "-0", NULL},
        {"all parts", "-12.034e+05", NULL},
        {"capital exponent", "1E-2", NULL},
        {"zero with exponent", "0e0", NULL},
        {"leading zero", "[01]", "1:2 a number begins with a needless 0"},
        {"leading zeros", "[-00.5]", "1:2 a number begins with a needless 0"},
        {"plus", "[+1]", "1:2 expected a value, found +"},
        {"point first", "[.5]", "1:2 expected a value, found ."},
        {"minus point", "[-.5]", "1:3 expected a digit, found ."},
        {"minus only", "[-]", "1:3 expected a digit, found ]"},
        {"minus at the end", "-", "1:2 expected a digit, found the end of the text"},
        {"point last", "[1.]", "1:4 expected a digit, found ]"},
        {"point before exponent", "[1.e1]", "1:4 expected a digit, found e"},
        {"exponent empty", "[1e]", "1:4 expected a digit, found ]"},
        {"exponent sign only", "[1e+]", "1:5 expected a digit, found ]"},
        {"two signs", "[1e+-1]", "1:5 expected a digit, found -"},
        {"hexadecimal", "[0x10]", "1:3 expected ',' or ']', found x"},
        {"two points", "[1.2.3]", "1:5 expected ',' or ']', found ."},
        {"thousands", "[1 000]", "1:4 expected ',' or ']', found 0"},
        {"decimal comma", "{\"a\":1,5}",
         "1:8 expected a key in double quotes, found 5 (a number has a decimal point, such as "
         "2.5)"},
    };
    check_rows(rows, sizeof rows / sizeof rows[0]);
}

/* RFC 8259 sections 7 and 8; lone surrogates and U+0000 are refused by this program's own rule. */
static void test_json_parse_string_grammar(void **state)
{
    (void)state;
    static const Row rows[] = {
        {"every escape", "\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u0041\\u00e9\\u20AC\"", NULL},
        {"surrogate pair", "\"\\uD83D\\uDE00\"", NULL},
        {"delete is allowed", "\"\x7f\"", NULL},
        {"the last character", "\"\xf4\x8f\xbf\xbf\"", NULL},
        {"not closed", "[\"abc]", "1:2 a string is not closed"},
        {"closing quote escaped", "[\"abc\\\"]", "1:2 a string is not closed"},
        {"line end within", "[\"abc\n\"]", "1:2 a string is not closed before the end of its line"},
        {"tab within", "[\"a\tb\"]", "1:4 a control character in a string"},
        {"unknown escape", "[\"a\\x\"]", "1:4 unknown escape in a string"},
        {"capital escape", "[\"\\N\"]", "1:3 unknown escape in a string"},
        {"backslash last", "\"\\", "1:2 unknown escape in a string"},
        {"three digits", "\"\\u123\"", "1:2 \\u without four hexadecimal digits"},
        {"no hexadecimal", "\"\\u12g4\"", "1:2 \\u without four hexadecimal digits"},
        {"sign is no digit", "\"\\u+123\"", "1:2 \\u without four hexadecimal digits"},
        {"high half alone", "\"a\\ud800\"", "1:3 half of a surrogate pair in a string"},
        {"high half, character", "\"\\ud800x\"", "1:2 half of a surrogate pair in a string"},
        {"high half twice", "\"\\ud800\\ud800\"", "1:2 half of a surrogate pair in a string"},
        {"high half, letter", "\"\\ud800\\u0041\"", "1:2 half of a surrogate pair in a string"},
        {"low half alone", "\"\\udc00\"", "1:2 half of a surrogate pair in a string"},
        {"null character", "\"ab\\u0000\"", "1:4 U+0000 in a string"},
        {"null character in a key", "{\"\\u0000\":1}", "1:3 U+0000 in a string"},
        {"no UTF-8", "\n[\"a\xff\"]", "2:4 the byte 0xff is not UTF-8"},
        {"Latin-1", "[\"\xe9\"]", "1:3 the byte 0xe9 is not UTF-8"},
        {"surrogate in UTF-8", "[\"\xed\xa0\x80\"]", "1:3 the byte 0xed is not UTF-8"},
        {"overlong", "[\"\xc0\xaf\"]", "1:3 the byte 0xc0 is not UTF-8"},
        {"beyond Unicode", "[\"\xf4\x90\x80\x80\"]", "1:3 the byte 0xf4 is not UTF-8"},
        {"UTF-16", "\xff\xfe[", "1:1 the byte 0xff is not UTF-8"},
    };
    check_rows(rows, sizeof rows / sizeof rows[0]);
}

static void test_json_parse_nul_bytes(void **state)
{
    (void)state;
    char got[ERR_TEXT_BYTES];
    parse_into(got, "[1]\0", 4);
    assert_string_equal(
        got,
        "1:4: error: not JSON: expected the end of the text, found the control character 0x00");
    parse_into(got, "[\"a\0\"]", 6);
    assert_string_equal(got, "1:4: error: not JSON: a control character in a string");
    parse_into(got, "\"\\\0\"", 4);
    assert_string_equal(got, "1:2: error: not JSON: unknown escape in a string");
    parse_into(got, "1\0", 2);
    assert_string_equal(
        got,
        "1:2: error: not JSON: expected the end of the text, found the control character 0x00");
}

static void test_json_parse_duplicate_keys(void **state)
{
    (void)state;
    static const Row rows[] = {
        {"same in two objects", "[{\"a\":1},{\"a\":1}]", NULL},
        {"same one level down", "{\"a\":{\"a\":1}}", NULL},
        {"letter case", "{\"a\":1,\"A\":1}", NULL},
        {"no normalisation", "{\"\xc3\xa9\":1,\"e\xcc\x81\":1}", NULL},
        {"twice", "{\"a\":1,\n \"a\":1}",
         "2:2 the key \"a\" was there already, at line 1 column 2"},
        {"empty key", "{\"\":1,\"\":2}", "1:7 the key \"\" was there already, at line 1 column 2"},
        {"by escape", "{\"a\":1,\"\\u0061\":2}",
         "1:8 the key \"a\" was there already, at line 1 column 2"},
        {"the first twin counts", "{\"b\":1,\"a\":2,\"c\":3,\"b\":4,\"a\":5,\"b\":6}",
         "1:20 the key \"b\" was there already, at line 1 column 2"},
        {"deep", "[0,{\"x\":[{\"k\":1,\"k\":2}]}]",
         "1:17 the key \"k\" was there already, at line 1 column 11"},
        {"syntax comes first", "{\"a\":1,\"a\":2",
         "1:13 expected ',' or '}', found the end of the text"},
    };
    check_rows(rows, sizeof rows / sizeof rows[0]);
}

/* A quadratic search would take half an hour on these; the test's own time limit ends it. */
static void test_json_parse_many_keys(void **state)
{
    (void)state;
    enum { KEYS = 300000 };
    char got[ERR_TEXT_BYTES];
    Text text = {0};
    for (int i = 0; i < KEYS; i++) {
        text_addf(&text, "%s\"key%06d\":%d", i == 0 ? "{" : ",\n", i, i);
    }
    text_add(&text, "}");
    parse_into(got, text.bytes, text.len);
    assert_string_equal(got, "");
    text.bytes[text.len - 1] = ',';
    text_add(&text, "\n\"key000000\":0}");
    parse_into(got, text.bytes, text.len);
    assert_string_equal(got,
                        "300001:1: error: not JSON: the key \"key000000\" was there already, at "
                        "line 1 column 2");
    text_clear(&text);
}

static void add_times(Text *text, const char *part, int times)
{
    for (int i = 0; i < times; i++) {
        text_add(text, part);
    }
}

static void test_json_parse_depth_limit(void **state)
{
    (void)state;
    static const struct {
        const char *open, *close, *want;
        int levels;
    } rows[] = {
        {"[", "]", "", 64},
        {"[", "]", "1:65: error: not JSON: nested deeper than 64", 65},
        {"{\"a\":", "}", "1:321: error: not JSON: nested deeper than 64", 65},
        {"[", "", "1:65: error: not JSON: nested deeper than 64", 1000000},
    };
    char got[ERR_TEXT_BYTES];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        add_times(&text, rows[i].open, rows[i].levels);
        if (rows[i].open[0] == '{') text_add(&text, "1");
        add_times(&text, rows[i].close, rows[i].levels);
        parse_into(got, text.bytes, text.len);
        assert_string_equal(got, rows[i].want);
        text_clear(&text);
    }
}

static void test_json_parse_string_limit(void **state)
{
    (void)state;
    char got[ERR_TEXT_BYTES];
    /* The limit counts the bytes of the string, not of its escapes: an escape of six characters is
     * two bytes of UTF-8 here, and a pair of twelve is four. */
    static const struct {
        const char *part;
        int times;
        const char *want;
    } rows[] = {
        {"a", 65536, ""},
        {"a", 65537, "1:2: error: not JSON: a string is 65537 bytes long, limit 0..65536"},
        {"\\u00e9", 32768, ""},
        {"\\u00e9", 32769, "1:2: error: not JSON: a string is 65538 bytes long, limit 0..65536"},
        {"\\ud83d\\ude00", 16384, ""},
        {"\\ud83d\\ude00", 16385,
         "1:2: error: not JSON: a string is 65540 bytes long, limit 0..65536"},
        {"\\n", 65536, ""},
        {"\\n", 65537, "1:2: error: not JSON: a string is 65537 bytes long, limit 0..65536"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int as_key = 0; as_key <= 1; as_key++) {
            Text text = {0};
            text_add(&text, as_key ? "{\"" : "[\"");
            add_times(&text, rows[i].part, rows[i].times);
            text_add(&text, as_key ? "\":1}" : "\"]");
            parse_into(got, text.bytes, text.len);
            assert_string_equal(got, rows[i].want);
            text_clear(&text);
        }
    }
}

static void test_json_parse_size_limit(void **state)
{
    (void)state;
    char got[ERR_TEXT_BYTES];
    char *bytes = check_calloc(JSON_BYTES_MAX + 2, 1);
    memset(bytes, ' ', JSON_BYTES_MAX + 1);
    bytes[0] = '1';
    parse_into(got, bytes, JSON_BYTES_MAX);
    assert_string_equal(got, "");
    Err err = {0};
    JsonDoc *doc = NULL;
    assert_false(json_parse("t.json", bytes, JSON_BYTES_MAX + 1, &doc, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_string_equal(err.text, "t.json: is 16777217 bytes long, limit 0..16777216");
    free(bytes);
}

/* Doubles are the nearest to the text (IEEE 754 decimal conversion). A ninth is 0.111..., so the
 * text of many ones gives the double nearest to a ninth, which IEEE division gives too; cJSON alone
 * cuts a text at 63 characters. */
static void test_json_number_long_texts(void **state)
{
    (void)state;
    static const int lengths[] = {62, 63, 64, 65, 400, 5000};
    for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++) {
        Text text = {0};
        text_add(&text, "[0.");
        add_times(&text, "1", lengths[i] - 2);
        text_add(&text, ",1");
        add_times(&text, "0", lengths[i] - 1);
        text_addf(&text, "e-%d,7]", lengths[i] - 1);
        JsonDoc *doc = parse_good(text.bytes);
        assert_true(json_number(json_at(json_root(doc), 0)) == 1.0 / 9.0);
        assert_true(json_number(json_at(json_root(doc), 1)) == 1.0);
        assert_true(json_number(json_at(json_root(doc), 2)) == 7.0);
        json_free(doc);
        text_clear(&text);
    }
}

static void test_json_number_values(void **state)
{
    (void)state;
    /* IEEE 754-2008 table 3.5: the largest and the smallest; 2^53 + 1 rounds to even. */
    static const struct {
        const char *text;
        double want;
    } rows[] = {
        {"0", 0.0},
        {"0.1", 0x1.999999999999ap-4},
        {"1e400", HUGE_VAL},
        {"-1e400", -HUGE_VAL},
        {"1e-400", 0.0},
        {"1.7976931348623157e308", 0x1.fffffffffffffp1023},
        {"5e-324", 0x1p-1074},
        {"2.2250738585072014E-308", 0x1p-1022},
        {"9007199254740993", 0x1p53},
        {"0e99999999999999999999", 0.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        JsonDoc *doc = parse_good(rows[i].text);
        if (json_number(json_root(doc)) != rows[i].want) fail_msg("%s", rows[i].text);
        json_free(doc);
    }
    JsonDoc *doc = parse_good("-0");
    assert_true(signbit(json_number(json_root(doc))) != 0);
    json_free(doc);
}

static void test_json_is_integer_cases(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool is_integer;
        int64_t want;
    } rows[] = {
        {"0", true, 0},
        {"-0", true, 0},
        {"-17", true, -17},
        {"9007199254740991", true, 9007199254740991},
        {"-9007199254740991", true, -9007199254740991},
        {"9007199254740992", false, 0},
        {"9007199254740993", false, 0},
        {"-9007199254740992", false, 0},
        {"1.0", false, 0},
        {"1e2", false, 0},
        {"1E400", false, 0},
        {"\"1\"", false, 0},
        {"true", false, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        JsonDoc *doc = parse_good(rows[i].text);
        int64_t got = 0;
        bool is_integer = json_is_integer(json_root(doc), &got);
        if (is_integer != rows[i].is_integer || got != rows[i].want) fail_msg("%s", rows[i].text);
        json_free(doc);
    }
}

static void test_json_string_escapes_resolved(void **state)
{
    (void)state;
    /* U+1D11E as a pair is RFC 8259's own example, section 7. */
    JsonDoc *doc =
        parse_good("[\"\\\"\\\\\\/\\b\\f\\n\\r\\t\", \"\\u0041\\u00E9\\u20ac\\uD834\\uDD1E\"]");
    assert_string_equal(json_string(json_at(json_root(doc), 0)), "\"\\/\b\f\n\r\t");
    assert_string_equal(json_string(json_at(json_root(doc), 1)),
                        "A\xc3\xa9\xe2\x82\xac\xf0\x9d\x84\x9e");
    json_free(doc);
}

static void check_place(const JsonValue *value, int line, int column)
{
    assert_string_equal(json_place(value).file, "t.json");
    assert_int_equal(json_place(value).line, line);
    assert_int_equal(json_place(value).column, column);
}

static void test_json_place_of_every_value(void **state)
{
    (void)state;
    JsonDoc *doc =
        parse_good("\n {\"a\": [1,\r\n\t-2.5 , {}],\n\"\xc3\xa9\" :\"x\",  \"b\"\n:\n\n null,"
                   "\"c\":{\"d\":true}}");
    const JsonValue *root = json_root(doc);
    const JsonValue *a = json_get(root, "a");
    check_place(root, 2, 2);
    check_place(a, 2, 8);
    check_place(json_at(a, 0), 2, 9);
    check_place(json_at(a, 1), 3, 2);
    check_place(json_at(a, 2), 3, 9);
    check_place(json_get(root, "\xc3\xa9"), 4, 7);
    check_place(json_get(root, "b"), 7, 2);
    check_place(json_get(json_get(root, "c"), "d"), 7, 16);
    assert_int_equal(json_count(root), 4);
    assert_int_equal(json_count(a), 3);
    assert_int_equal(json_count(json_at(a, 0)), 0);
    assert_string_equal(json_key_at(root, 3), "c");
    assert_ptr_equal(json_at(root, 0), a);
    assert_null(json_get(root, "d"));
    assert_null(json_get(a, "a"));
    assert_true(json_bool(json_get(json_get(root, "c"), "d")));
    assert_int_equal(json_kind(json_get(root, "b")), JSON_NULL);
    json_free(doc);
}

static void test_json_load_files(void **state)
{
    (void)state;
    Err err = {0};
    JsonDoc *doc = NULL;
    assert_false(json_load("tests/no-such-file.json", &doc, &err));
    assert_int_equal(err.code, ERR_IO);
    assert_true(json_load(SUITE "/y_array_empty.json", &doc, &err));
    assert_string_equal(json_place(json_root(doc)).file, SUITE "/y_array_empty.json");
    json_free(doc);
}

/* The cases of the public suite that are JSON by the RFC and that this program refuses by its own
 * stated limits: duplicate keys and U+0000. */
static bool is_own_limit(const char *name)
{
    static const char *const names[] = {
        "y_object_duplicated_key.json", "y_object_duplicated_key_and_value.json",
        "y_object_escaped_null_in_key.json", "y_string_null_escape.json"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(name, names[i]) == 0) return true;
    }
    return false;
}

/* "FILE:LINE:COLUMN: error: not JSON: ..." with a line and a column from 1. */
static void check_message(const char *file, const char *message)
{
    size_t len = strlen(file);
    char *at = NULL;
    assert_int_equal(strncmp(message, file, len), 0);
    assert_int_equal(message[len], ':');
    assert_true(strtol(message + len + 1, &at, 10) >= 1);
    assert_int_equal(at[0], ':');
    assert_true(strtol(at + 1, &at, 10) >= 1);
    assert_int_equal(strncmp(at, ": error: not JSON: ", 19), 0);
}

/* Source of the cases: tests/data/json_suite/SOURCE. */
static void test_json_load_public_suite(void **state)
{
    (void)state;
    char **names = NULL;
    size_t count = 0;
    size_t seen[128] = {0};
    Err err = {0};
    assert_true(os_folder_list(SUITE, ".json", &names, &count, &err));
    for (size_t i = 0; i < count; i++) {
        Text path = {0};
        JsonDoc *doc = NULL;
        text_addf(&path, "%s/%s", SUITE, names[i]);
        bool ok = json_load(path.bytes, &doc, &err);
        bool must_fail = names[i][0] == 'n' || is_own_limit(names[i]);
        if (ok && must_fail) fail_msg("%s is taken", names[i]);
        if (!ok && names[i][0] == 'y' && !must_fail) fail_msg("%s", err.text);
        if (!ok) check_message(path.bytes, err.text);
        seen[names[i][0] & 0x7f]++;
        json_free(doc);
        text_clear(&path);
    }
    os_names_free(names, count);
    assert_int_equal(seen['y'], 95);
    assert_int_equal(seen['n'], 188);
    assert_int_equal(seen['i'], 35);
}

static const char *const KEYS[] = {"belt_mm_s", "at_mm", "lanes", "reject", "on",
                                   "name",      "kind",  "id",    NULL};
static const char *const KINDS[] = {"air-jet", "pusher", "flap", NULL};

/* Read everything that `text` may have; false with a message like a real reader's. */
static bool read_all(const char *text, Err *err)
{
    JsonDoc *doc = parse_good(text);
    const JsonValue *root = json_root(doc);
    const JsonValue *reject = NULL;
    double belt = -7;
    int64_t lanes = -7;
    bool on = false;
    const char *name = NULL;
    int kind = -7;
    bool ok = json_want_object(root, "line", KEYS, err) &&
              json_read_number(root, "belt_mm_s", true, 1, 2000, &belt, err) &&
              json_read_integer(root, "lanes", false, 1, 50, &lanes, err) &&
              json_read_bool(root, "on", false, &on, err) &&
              json_read_string(root, "name", false, 1, 5, &name, err) &&
              json_read_id(root, "id", false, &name, err) &&
              json_read_word(root, "kind", false, KINDS, &kind, err) &&
              (json_get(root, "reject") == NULL ||
               json_want_array(json_get(root, "reject"), "reject", 1, 2, err)) &&
              (json_get(root, "at_mm") == NULL || json_need(root, "reject", &reject, err));
    json_free(doc);
    return ok;
}

/* What read_all says of each. */
static const Row READ_ROWS[] = {
    {"all",
     "{\"belt_mm_s\":500,\"lanes\":1,\"on\":true,\"name\":\"x\",\"id\":\"a.b\","
     "\"kind\":\"flap\",\"reject\":[1],\"at_mm\":1}",
     NULL},
    {"least", "{\"belt_mm_s\":1,\"lanes\":1,\"name\":\"a\"}", NULL},
    {"most", "{\"belt_mm_s\":2000,\"lanes\":50,\"name\":\"abcde\",\"reject\":[1,2]}", NULL},
    {"no object", "[]", "1:1: error: line: is an array, must be an object"},
    {"null is no object", " null", "1:2: error: line: is null, must be an object"},
    {"unknown, near", "{\n \"bet_mm_s\":1}",
     "2:2: error: unknown key \"bet_mm_s\"; did you mean \"belt_mm_s\"?"},
    {"unknown, far", "{\"speed\":1}", "1:2: error: unknown key \"speed\""},
    {"unknown, short", "{\"x\":1}", "1:2: error: unknown key \"x\""},
    {"unknown, long",
     "{\"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\xc3\xa9"
     "aaaaaaa\":1}",
     "1:2: error: unknown key "
     "\"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\""},
    {"missing", "{\"on\":true}", "1:1: error: belt_mm_s is missing"},
    {"needed", "{\"belt_mm_s\":1,\"at_mm\":1}", "1:1: error: reject is missing"},
    {"over", "{\"belt_mm_s\": 2400}", "1:15: error: belt_mm_s is 2400, limit 1..2000"},
    {"a little over", "{\"belt_mm_s\":2000.0000000000005}",
     "1:14: error: belt_mm_s is 2000.0000000000005, limit 1..2000"},
    {"under", "{\"belt_mm_s\":0.1}", "1:14: error: belt_mm_s is 0.1, limit 1..2000"},
    {"infinite", "{\"belt_mm_s\":-1e999}",
     "1:14: error: belt_mm_s is beyond -1.8e308, limit 1..2000"},
    {"text for a number", "{\"belt_mm_s\":\"5\"}",
     "1:14: error: belt_mm_s: is a string, must be a number"},
    {"null for a number", "{\"belt_mm_s\":null}",
     "1:14: error: belt_mm_s: is null, must be a number"},
    {"whole, point", "{\"belt_mm_s\":1,\"lanes\":1.0}",
     "1:24: error: lanes: has a point or an exponent, must be a whole number"},
    {"whole, over", "{\"belt_mm_s\":1,\"lanes\":51}", "1:24: error: lanes is 51, limit 1..50"},
    {"whole, under", "{\"belt_mm_s\":1,\"lanes\":0}", "1:24: error: lanes is 0, limit 1..50"},
    {"whole, huge", "{\"belt_mm_s\":1,\"lanes\":1000000000000000000000}",
     "1:24: error: lanes is 1e+21, limit 1..50"},
    {"boolean", "{\"belt_mm_s\":1,\"on\":1}",
     "1:21: error: on: is a number, must be true or false"},
    {"string, empty", "{\"belt_mm_s\":1,\"name\":\"\"}",
     "1:23: error: name is 0 bytes long, limit 1..5"},
    {"string, long", "{\"belt_mm_s\":1,\"name\":\"abcdef\"}",
     "1:23: error: name is 6 bytes long, limit 1..5"},
    {"id", "{\"belt_mm_s\":1,\"id\":\"a b\"}",
     "1:21: error: id is \"a b\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"word, near", "{\"belt_mm_s\":1,\"kind\":\"air jet\"}",
     "1:23: error: kind is \"air jet\", must be one of \"air-jet\", \"pusher\", \"flap\"; did "
     "you "
     "mean \"air-jet\"?"},
    {"word, far", "{\"belt_mm_s\":1,\"kind\":\"x\\ny\"}",
     "1:23: error: kind is \"x?y\", must be one of \"air-jet\", \"pusher\", \"flap\""},
    {"word, type", "{\"belt_mm_s\":1,\"kind\":{}}",
     "1:23: error: kind: is an object, must be a string"},
    {"array, type", "{\"belt_mm_s\":1,\"reject\":1}",
     "1:25: error: reject: is a number, must be an array"},
    {"array, few", "{\"belt_mm_s\":1,\"reject\":[]}",
     "1:25: error: reject has 0 elements, limit 1..2"},
    {"array, many", "{\"belt_mm_s\":1,\"reject\":[1,2,3]}",
     "1:25: error: reject has 3 elements, limit 1..2"},
};

static void test_json_read_messages(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof READ_ROWS / sizeof READ_ROWS[0]; i++) {
        Err err = {0};
        bool ok = read_all(READ_ROWS[i].text, &err);
        const char *got = ok ? "t.json:" : err.text;
        const char *want = READ_ROWS[i].want == NULL ? "" : READ_ROWS[i].want;
        if (strncmp(got, "t.json:", 7) == 0 && strcmp(got + 7, want) == 0) continue;
        fail_msg("%s\n  got  %s\n  want t.json:%s", READ_ROWS[i].name, got, want);
    }
}

static void test_json_read_absent_leaves_out(void **state)
{
    (void)state;
    Err err = {0};
    JsonDoc *doc = parse_good("{}");
    const JsonValue *root = json_root(doc);
    double number = 3;
    int64_t whole = 4;
    bool on = true;
    const char *name = "kept";
    int kind = 5;
    assert_true(json_read_number(root, "a", false, 0, 1, &number, &err));
    assert_true(json_read_integer(root, "a", false, 0, 1, &whole, &err));
    assert_true(json_read_bool(root, "a", false, &on, &err));
    assert_true(json_read_string(root, "a", false, 0, 1, &name, &err));
    assert_true(json_read_id(root, "a", false, &name, &err));
    assert_true(json_read_word(root, "a", false, KINDS, &kind, &err));
    assert_true(number == 3 && whole == 4 && on && kind == 5);
    assert_string_equal(name, "kept");
    assert_int_equal(err.code, ERR_NONE);
    json_free(doc);
}

/* IEEE 754-2008 section 5.12.2: seventeen significant digits give every double back. */
static void test_json_add_number_comes_back(void **state)
{
    (void)state;
    static const double values[] = {0.0,           -0.0,  0.1,       1.0 / 3.0,
                                    1e22,          -1e-7, 0x1p-1074, 0x1.fffffffffffffp1023,
                                    123456789.125, 0x1p53};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        Text text = {0};
        json_add_number(&text, values[i]);
        JsonDoc *doc = parse_good(text.bytes);
        double got = json_number(json_root(doc));
        assert_memory_equal(&got, &values[i], sizeof got);
        json_free(doc);
        text_clear(&text);
    }
}

/* The C library's own "%.17g" is the reference: for numbers of all sizes by their bits, for those
 * of few digits, beside powers of ten, where digits carry over, and for those of eighteen digits
 * whose last is a 5, which are rounded to the even one. */
static void test_json_add_number_is_printf(void **state)
{
    enum { NUMBERS = 300000 };
    Random random;
    Text text = {0};
    (void)state;
    random_init(&random, 17);
    for (int i = 0; i < NUMBERS; i++) {
        double value;
        uint64_t bits = random_next(&random);
        memcpy(&value, &bits, sizeof value);
        if (i % 5 == 1)
            value = (random_unit(&random) - 0.5) * pow(10.0, (double)(bits % 40) - 15.0);
        if (i % 5 == 2) value = ((double)(bits % 2000000) - 1e6) / pow(10.0, (double)(bits % 9));
        if (i % 5 == 3) {
            value = pow(10.0, (double)(bits % 36) - 12.0);
            for (uint64_t step = bits >> 40 & 7U; step > 0; step--) {
                value = nextafter(value, (bits >> 50 & 1U) != 0 ? HUGE_VAL : 0.0);
            }
        }
        if (i % 5 == 4) {
            uint64_t odd = (bits >> 40 & 1023U) * 2 + 1;
            value = (double)(bits % 9000000 + 1000000) + (double)odd / 2048.0;
        }
        if (!isfinite(value)) continue;
        char want[40];
        (void)snprintf(want, sizeof want, "%.17g", value);
        text.len = 0;
        json_add_number(&text, value);
        assert_string_equal(text_string(&text), want);
    }
    text_clear(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json_parse_structure),
        cmocka_unit_test(test_json_parse_number_grammar),
        cmocka_unit_test(test_json_parse_string_grammar),
        cmocka_unit_test(test_json_parse_nul_bytes),
        cmocka_unit_test(test_json_parse_duplicate_keys),
        cmocka_unit_test(test_json_parse_many_keys),
        cmocka_unit_test(test_json_parse_depth_limit),
        cmocka_unit_test(test_json_parse_string_limit),
        cmocka_unit_test(test_json_parse_size_limit),
        cmocka_unit_test(test_json_number_long_texts),
        cmocka_unit_test(test_json_number_values),
        cmocka_unit_test(test_json_is_integer_cases),
        cmocka_unit_test(test_json_string_escapes_resolved),
        cmocka_unit_test(test_json_place_of_every_value),
        cmocka_unit_test(test_json_load_files),
        cmocka_unit_test(test_json_load_public_suite),
        cmocka_unit_test(test_json_read_messages),
        cmocka_unit_test(test_json_read_absent_leaves_out),
        cmocka_unit_test(test_json_add_number_comes_back),
        cmocka_unit_test(test_json_add_number_is_printf),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
