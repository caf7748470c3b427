/* How hard the shipped texts are to read: words in a sentence, and LIX, for each scenario and each
 * part of the program's own texts, in each language.
 *
 *     build/dev/tests/test_reading --list
 *
 * prints them. LIX is words / sentences + 100 * long words / words, a word being long with over six
 * letters: C. H. Bjoernsson, Laesbarhet (1968), from memory. It counts letters, not syllables, and
 * so works for any language; but words are longer in some: 40 is a newspaper in English and plain
 * prose in Polish.
 * Only what is written in sentences counts. A label or a button ends without a full stop, and many
 * short ones would hide a long sentence.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/os.h"
#include "scenario/json.h"

enum { PARTS_MAX = 500, NAME_BYTES = 100, WORDS_MAX = 15, LONG_LETTERS = 7 };

typedef struct {
    char name[NAME_BYTES];
    size_t sentences, words, long_words, longest; /* longest: words of one sentence */
} Part;

typedef struct {
    Part parts[PARTS_MAX];
    size_t count;
} Reading;

/* --- Counting -------------------------------------------------------------------------------- */

/* The bytes of the character at `at`, and whether it is one of a word. Of what is not ASCII all are
 * letters but U+00A0 to U+00BF, U+00D7 and the marks of U+2000 to U+2BFF. */
static size_t read_character(const char *at, bool *is_letter)
{
    const unsigned char *c = (const unsigned char *)at;
    if (c[0] < 0x80) {
        *is_letter = (c[0] >= 'a' && c[0] <= 'z') || (c[0] >= 'A' && c[0] <= 'Z') ||
                     (c[0] >= '0' && c[0] <= '9') || c[0] == '{' || c[0] == '}';
        return 1;
    }
    size_t len = c[0] >= 0xf0 ? 4 : c[0] >= 0xe0 ? 3 : 2;
    bool is_mark = (c[0] == 0xc2) || (c[0] == 0xc3 && c[1] == 0x97) ||
                   (c[0] == 0xe2 && c[1] >= 0x80 && c[1] <= 0xaf);
    *is_letter = !is_mark;
    return len;
}

/* A word goes on over a hyphen, an apostrophe or a decimal sign with a letter on either side. */
static bool joins(const char *at)
{
    bool is_letter = false;
    if (*at == '\0' || strchr("-'.,:", *at) == NULL) return false;
    (void)read_character(at + 1, &is_letter);
    return at[1] != '\0' && is_letter;
}

static size_t skip_word(const char *text, size_t *letters)
{
    size_t at = 0;
    bool is_letter = true;
    *letters = 0;
    while (text[at] != '\0') {
        size_t len = read_character(text + at, &is_letter);
        if (!is_letter && !joins(text + at)) break;
        *letters += is_letter;
        at += len;
    }
    return at;
}

/* Add what the text says in sentences; what stands behind the last full stop is none. */
static void count_text(Part *part, const char *text)
{
    size_t words = 0;
    size_t long_words = 0;
    while (*text != '\0') {
        bool is_letter;
        size_t len = read_character(text, &is_letter);
        if (is_letter) {
            size_t letters;
            text += skip_word(text, &letters);
            words++;
            long_words += letters >= LONG_LETTERS;
            continue;
        }
        bool ends = (*text == '.' || *text == '!' || *text == '?') && words > 0;
        if (ends) {
            part->sentences++;
            part->words += words;
            part->long_words += long_words;
            if (words > part->longest) part->longest = words;
            words = 0;
            long_words = 0;
        }
        text += len;
    }
}

static double lix(const Part *part)
{
    return (double)part->words / (double)part->sentences +
           100.0 * (double)part->long_words / (double)part->words;
}

static Part *find_part(Reading *reading, const char *name, const char *language)
{
    char full[NAME_BYTES];
    assert_true(snprintf(full, sizeof full, "%s %s", name, language) < NAME_BYTES);
    for (size_t i = 0; i < reading->count; i++) {
        if (strcmp(reading->parts[i].name, full) == 0) return &reading->parts[i];
    }
    assert_true(reading->count < PARTS_MAX);
    Part *part = &reading->parts[reading->count++];
    memcpy(part->name, full, sizeof full);
    return part;
}

/* --- The shipped texts ----------------------------------------------------------------------- */

static JsonDoc *load(const char *path)
{
    JsonDoc *doc = NULL;
    Err err = {0};
    if (!json_load(path, &doc, &err)) fail_msg("%s", err.text);
    return doc;
}

/* Every string below `value`. */
static void count_strings(Reading *reading, const char *name, const char *language,
                          const JsonValue *value)
{
    if (json_kind(value) == JSON_STRING) {
        count_text(find_part(reading, name, language), json_string(value));
    }
    for (size_t i = 0; i < json_count(value); i++) {
        count_strings(reading, name, language, json_at(value, i));
    }
}

/* The program's texts: of the window one part for each place, which a key names before its first
 * point; of the others one for each section. */
static void read_texts(Reading *reading, const char *language)
{
    char path[NAME_BYTES];
    assert_true(snprintf(path, sizeof path, "assets/texts/%s.json", language) < NAME_BYTES);
    JsonDoc *doc = load(path);
    const JsonValue *root = json_root(doc);
    for (size_t i = 0; i < json_count(root); i++) {
        const JsonValue *section = json_at(root, i);
        bool is_window = strcmp(json_key_at(root, i), "ui") == 0;
        if (!is_window) count_strings(reading, json_key_at(root, i), language, section);
        for (size_t j = 0; is_window && j < json_count(section); j++) {
            char place[NAME_BYTES];
            const char *key = json_key_at(section, j);
            (void)snprintf(place, sizeof place, "%.*s", (int)strcspn(key, "."), key);
            count_strings(reading, place, language, json_at(section, j));
        }
    }
    json_free(doc);
}

/* A scenario's texts: whatever stands under the tag of one of its languages. */
static void read_scenario(Reading *reading, const char *name, const JsonValue *value)
{
    for (size_t i = 0; i < json_count(value); i++) {
        const JsonValue *item = json_at(value, i);
        bool is_member = json_kind(value) == JSON_OBJECT && json_kind(item) == JSON_STRING;
        const char *key = is_member ? json_key_at(value, i) : "";
        if (strcmp(key, "en") == 0 || strcmp(key, "pl") == 0) {
            count_text(find_part(reading, name, key), json_string(item));
        }
        read_scenario(reading, name, item);
    }
}

static void read_folder(Reading *reading, const char *folder)
{
    char **names = NULL;
    size_t count = 0;
    Err err = {0};
    if (!os_folder_list(folder, "", &names, &count, &err)) fail_msg("%s", err.text);
    for (size_t i = 0; i < count; i++) {
        Text path = {0};
        text_addf(&path, "%s/%s", folder, names[i]);
        size_t len = strlen(names[i]);
        if (os_is_folder(path.bytes)) {
            read_folder(reading, path.bytes);
        } else if (len > 5 && strcmp(names[i] + len - 5, ".json") == 0) {
            JsonDoc *doc = load(path.bytes);
            read_scenario(reading, names[i], json_root(doc));
            json_free(doc);
        }
        text_clear(&path);
    }
    os_names_free(names, count);
}

static Reading *read_all(void)
{
    Reading *reading = check_calloc(1, sizeof *reading);
    read_texts(reading, "en");
    read_texts(reading, "pl");
    read_folder(reading, "scenarios");
    return reading;
}

static void print_part(const Part *part, FILE *out)
{
    (void)fprintf(out, "%-28s %5zu sentences, %5.1f words each, longest %3zu, LIX %3.0f\n",
                  part->name, part->sentences, (double)part->words / (double)part->sentences,
                  part->longest, lix(part));
}

static bool is_too_long(const Part *part)
{
    return part->words > WORDS_MAX * part->sentences;
}

/* Our own limit: people who read the language badly, between two packs. */
static void test_texts_have_short_sentences(void **state)
{
    (void)state;
    Reading *reading = read_all();
    size_t read = 0;
    size_t bad = 0;
    for (size_t i = 0; i < reading->count; i++) {
        const Part *part = &reading->parts[i];
        if (part->sentences == 0) continue;
        read++;
        if (!is_too_long(part)) continue;
        print_part(part, stderr);
        bad++;
    }
    free(reading);
    assert_true(read > 20);
    assert_int_equal(bad, 0);
}

/* --- Is the counting right? ------------------------------------------------------------------ */

/* Words, sentences and LIX of the first three as GNU style 1.11 gives them; the others by hand. */
static void test_count_text(void **state)
{
    static const struct {
        const char *text;
        size_t sentences, words, longest;
        double lix;
    } rows[] = {
        {"Its red mark shows a certified test piece. Send it down the conveyor. What happens then? "
         "Everything made since the last good inspection is in doubt.",
         4, 26, 10, 25.7},
        {"Please return these pieces now. The magnetic wire hides lengthways, and crossways it is "
         "found. Hold everything made since the last good check, at the line, in the store and on "
         "the lorry.",
         3, 33, 18, 23.1},
        {"Please return these pieces.", 1, 4, 4, 4.0},
        {"A piece of 2.5 mm. It's a go-between: found {0} times.", 2, 11, 6, 14.6},
        {"Zażółć gęślą jaźń, proszę. Łączność!", 2, 5, 4, 22.5},
        {"\"Seen.\" × 3 – no.", 2, 3, 2, 1.5},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Part part = {0};
        count_text(&part, rows[i].text);
        double off = lix(&part) - rows[i].lix;
        if (part.sentences != rows[i].sentences || part.words != rows[i].words ||
            part.longest != rows[i].longest || off > 0.05 || off < -0.05) {
            fail_msg("%s: %zu sentences, %zu words, longest %zu, LIX %.2f", rows[i].text,
                     part.sentences, part.words, part.longest, lix(&part));
        }
    }
    Part label = {0};
    count_text(&label, "Send the pack");
    assert_int_equal(label.sentences, 0);
    Part part = {0};
    count_text(&part, "a b c d e f g h i j k l m n o p. a b c d e f g h i j k l m n.");
    assert_false(is_too_long(&part)); /* 16 and 14 */
    count_text(&part, "a b c d e f g h i j k l m n o p.");
    assert_true(is_too_long(&part));
}

int main(int argc, char **argv)
{
    if (argc > 1 && strcmp(argv[1], "--list") == 0) {
        Reading *reading = read_all();
        for (size_t i = 0; i < reading->count; i++) {
            if (reading->parts[i].sentences > 0) print_part(&reading->parts[i], stdout);
        }
        free(reading);
        return EXIT_SUCCESS;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_count_text),
        cmocka_unit_test(test_texts_have_short_sentences),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
