/* Twenty thousand damaged texts: each is refused at a place within itself, or read, and what was
 * read reads the same when it is printed and read again. A failure prints the seed and the text's
 * number, which bring it back. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/os.h"
#include "base/random.h"
#include "scenario/describe.h"

enum { SEED = 20259, ROUNDS = 20000, CASE_BYTES_MAX = 4000 };

/* The texts to damage. */
typedef struct {
    Text *texts;
    size_t count;
} Corpus;

/* One damaged text. */
typedef struct {
    int number;
    Text text;
} Case;

#define WANT(one, condition)                                                                       \
    do {                                                                                           \
        if (!(condition)) fail_msg("text %d of seed %d: %s", (one)->number, SEED, #condition);     \
    } while (0)

static void corpus_add(Corpus *corpus, const char *folder)
{
    Err err = {0};
    char **names = NULL;
    size_t count = 0;
    if (!os_folder_list(folder, ".json", &names, &count, &err)) fail_msg("%s", err.text);
    for (size_t i = 0; i < count; i++) {
        Text path = {0};
        Text text = {0};
        text_addf(&path, "%s/%s", folder, names[i]);
        if (!os_file_read(path.bytes, JSON_BYTES_MAX, &text, &err)) fail_msg("%s", err.text);
        if (text.len <= CASE_BYTES_MAX) {
            corpus->texts = check_realloc(corpus->texts, corpus->count + 1, sizeof(Text));
            corpus->texts[corpus->count++] = text;
        } else {
            text_clear(&text);
        }
        text_clear(&path);
    }
    os_names_free(names, count);
}

/* Pieces that a parser may stumble over. */
static const char *const PIECES[] = {
    "\"",    "\\",   "\\u0000", "\\ud800",      "\\udc00", "{",          "}",  "[",
    "]",     ",",    ":",       "null",         "true",    "-",          "0",  "1e",
    "1e999", "-0.0", "1e-400",  "\xef\xbb\xbf", "\xff",    "\xc3\xa9",   "\n", "\t",
    "\x01",  "//",   "\"a\":",  "[[[[[[[[",     "]]]]",    "\"head\":{}"};

/* `text` with one thing done to it: some bytes taken out, doubled, changed, or a piece put in. */
static void damage(const Text *text, Random *random, Text *out)
{
    size_t from = (size_t)random_below(random, text->len + 1);
    size_t len = (size_t)random_below(random, text->len - from + 1);
    if (len > 8 && random_below(random, 4) != 0) len = len % 8;
    text_add_bytes(out, text_string(text), from);
    switch (random_below(random, 4)) {
    case 0:
        break;
    case 1:
        text_add_bytes(out, text_string(text) + from, len);
        text_add_bytes(out, text_string(text) + from, len);
        break;
    case 2:
        for (size_t i = 0; i < len; i++) {
            char byte = (char)(random_below(random, 8) == 0 ? random_below(random, 256)
                                                            : 0x20 + random_below(random, 95));
            text_add_bytes(out, &byte, 1);
        }
        break;
    default:
        text_add(out, PIECES[random_below(random, sizeof PIECES / sizeof PIECES[0])]);
        text_add_bytes(out, text_string(text) + from, len);
        break;
    }
    text_add_bytes(out, text_string(text) + from + len, text->len - from - len);
}

static void print(const JsonValue *value, Text *out)
{
    JsonKind kind = json_kind(value);
    if (kind == JSON_NULL) text_add(out, "null");
    if (kind == JSON_BOOL) text_add(out, json_bool(value) ? "true" : "false");
    if (kind == JSON_STRING) text_add_quoted(out, json_string(value));
    if (kind == JSON_NUMBER && isinf(json_number(value))) {
        text_add(out, json_number(value) > 0 ? "1e999" : "-1e999");
    } else if (kind == JSON_NUMBER) {
        json_add_number(out, json_number(value));
    }
    if (kind != JSON_ARRAY && kind != JSON_OBJECT) return;
    text_add(out, kind == JSON_ARRAY ? "[" : "{");
    for (size_t i = 0; i < json_count(value); i++) {
        if (i > 0) text_add(out, ",");
        if (kind == JSON_OBJECT) {
            text_add_quoted(out, json_key_at(value, i));
            text_add(out, ":");
        }
        print(json_at(value, i), out);
    }
    text_add(out, kind == JSON_ARRAY ? "]" : "}");
}

/* The byte at a place of the text, or its length when the place is not in it. */
static size_t offset_of(const Text *text, long line, long column)
{
    size_t at = 0;
    for (; line > 1 && at < text->len; at++) {
        if (text->bytes[at] == '\n') line--;
    }
    size_t offset = at + (size_t)column - 1;
    return line == 1 && column >= 1 && offset <= text->len ? offset : text->len + 1;
}

/* What stands at a value's place is what the value begins with. */
static void check_places(const JsonValue *value, const Case *one)
{
    static const char *const firsts[] = {
        [JSON_NULL] = "n",    [JSON_BOOL] = "tf", [JSON_NUMBER] = "-0123456789",
        [JSON_STRING] = "\"", [JSON_ARRAY] = "[", [JSON_OBJECT] = "{",
    };
    ErrPlace place = json_place(value);
    size_t at = offset_of(&one->text, place.line, place.column);
    WANT(one, at < one->text.len && one->text.bytes[at] != '\0');
    WANT(one, strchr(firsts[json_kind(value)], one->text.bytes[at]) != NULL);
    for (size_t i = 0; i < json_count(value); i++) {
        check_places(json_at(value, i), one);
    }
}

static void check_refusal(const char *message, const Case *one)
{
    char *end = NULL;
    WANT(one, strncmp(message, "any:", 4) == 0);
    long line = strtol(message + 4, &end, 10);
    WANT(one, end[0] == ':');
    long column = strtol(end + 1, &end, 10);
    WANT(one, strncmp(end, ": error: ", 9) == 0);
    WANT(one, offset_of(&one->text, line, column) <= one->text.len);
}

/* Gives 0 when the text is refused, 1 when it is JSON, 2 when it describes a pass too. */
static int check_case(const Case *one, const MetalTable *metals)
{
    Err err = {0};
    JsonDoc *doc = NULL;
    JsonDoc *again = NULL;
    PassDescription pass = {0};
    Text first = {0};
    Text second = {0};
    if (!json_parse("any", text_string(&one->text), one->text.len, &doc, &err)) {
        check_refusal(err.text, one);
        return 0;
    }
    check_places(json_root(doc), one);
    print(json_root(doc), &first);
    WANT(one, json_parse("printed", first.bytes, first.len, &again, &err));
    print(json_root(again), &second);
    WANT(one, strcmp(text_string(&first), text_string(&second)) == 0);
    bool is_pass = describe_pass(json_root(doc), metals, &pass, &err);
    if (!is_pass) check_refusal(err.text, one);
    pass_description_clear(&pass);
    text_clear(&first);
    text_clear(&second);
    json_free(again);
    json_free(doc);
    return is_pass ? 2 : 1;
}

static void test_json_parse_damaged_texts(void **state)
{
    (void)state;
    Err err = {0};
    Corpus corpus = {0};
    Random random;
    MetalTable *metals = NULL;
    int outcomes[3] = {0};
    if (!metals_load("assets/metals.json", &metals, &err)) fail_msg("%s", err.text);
    corpus_add(&corpus, "tests/data/json_suite");
    for (int i = 0; i < 60; i++) {
        corpus_add(&corpus, "tests/fuzz/fuzz_describe"); /* as many of these as of the others */
    }
    random_init(&random, SEED);
    for (int round = 0; round < ROUNDS; round++) {
        const Text *origin = &corpus.texts[random_below(&random, corpus.count)];
        Case one = {.number = round};
        text_add_bytes(&one.text, text_string(origin), origin->len);
        for (uint64_t left = random_below(&random, 3) + 1; left > 0; left--) {
            Text worse = {0};
            damage(&one.text, &random, &worse);
            text_clear(&one.text);
            one.text = worse;
        }
        outcomes[check_case(&one, metals)]++;
        text_clear(&one.text);
    }
    print_message("refused %d, JSON %d, a pass %d\n", outcomes[0], outcomes[1], outcomes[2]);
    /* Each kind of outcome is reached, so that each check above has run. */
    assert_true(outcomes[0] > 1000 && outcomes[1] > 1000 && outcomes[2] > 200);
    for (size_t i = 0; i < corpus.count; i++) {
        text_clear(&corpus.texts[i]);
    }
    free(corpus.texts);
    metals_free(metals);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_json_parse_damaged_texts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
