/* Every language is whole: the same keys and story as English, the same fields in each sentence,
 * and texts of its own for the shipped site and its scenarios. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/texts.h"
#include "base/os.h"

static const char *const sections[] = {"verdicts", "states", "reasons", "standing",
                                       "mistakes", "words",  "ui",      "report"};
enum { SECTION_COUNT = sizeof sections / sizeof sections[0], LANGUAGES_MIN = 2 };

static JsonDoc *load(const char *path)
{
    JsonDoc *doc = NULL;
    Err err = {0};
    if (!json_load(path, &doc, &err)) fail_msg("%s", err.text);
    return doc;
}

/* How often "{name}", also "{}", stands in a text: an order of their own is a language's right. */
static int count_of(const char *text, const char *field, size_t len)
{
    int count = 0;
    for (const char *at = strchr(text, '{'); at != NULL; at = strchr(at + 1, '{')) {
        count += strncmp(at, field, len) == 0;
    }
    return count;
}

static void want_same_fields(const char *file, const char *key, const char *english,
                             const char *other)
{
    const char *texts[] = {english, other};
    for (int t = 0; t < 2; t++) {
        for (const char *at = strchr(texts[t], '{'); at != NULL; at = strchr(at + 1, '{')) {
            size_t len = strcspn(at, "}") + 1;
            if (count_of(english, at, len) != count_of(other, at, len))
                fail_msg("%s: \"%s\": %.*s differs", file, key, (int)len, at);
        }
    }
}

static void want_same_keys(const char *file, const JsonValue *english, const JsonValue *other)
{
    for (int s = 0; s < SECTION_COUNT; s++) {
        const JsonValue *want = json_get(english, sections[s]);
        const JsonValue *got = json_get(other, sections[s]);
        for (size_t i = 0; i < json_count(got); i++) {
            if (json_get(want, json_key_at(got, i)) == NULL)
                fail_msg("%s: %s: \"%s\" is not in English", file, sections[s],
                         json_key_at(got, i));
        }
        for (size_t i = 0; i < json_count(want); i++) {
            const char *key = json_key_at(want, i);
            const JsonValue *text = json_get(got, key);
            if (text == NULL) fail_msg("%s: %s: \"%s\" is missing", file, sections[s], key);
            want_same_fields(file, key, json_string(json_at(want, i)), json_string(text));
        }
    }
}

static void want_same_story(const char *file, const JsonValue *english, const JsonValue *other)
{
    const JsonValue *want = json_get(english, "story");
    const JsonValue *got = json_get(other, "story");
    assert_int_equal(json_count(got), json_count(want));
    for (size_t i = 0; i < json_count(want); i++) {
        const char *on = json_string(json_get(json_at(want, i), "on"));
        const char *other_on = json_string(json_get(json_at(got, i), "on"));
        if (strcmp(on, other_on) != 0) fail_msg("%s: \"%s\" stands for \"%s\"", file, other_on, on);
        want_same_fields(file, on, json_string(json_get(json_at(want, i), "say")),
                         json_string(json_get(json_at(got, i), "say")));
    }
}

static void test_texts_same_in_all_languages(void **state)
{
    (void)state;
    char **names = NULL;
    size_t count = 0;
    Err err = {0};
    JsonDoc *english = load("assets/texts/en.json");
    assert_true(os_folder_list("assets/texts", ".json", &names, &count, &err));
    assert_true(count >= LANGUAGES_MIN);
    for (size_t i = 0; i < count; i++) {
        Text path = {0};
        Texts *texts = NULL;
        text_addf(&path, "assets/texts/%s", names[i]);
        if (!texts_load(path.bytes, &texts, &err)) fail_msg("%s", err.text);
        JsonDoc *doc = load(path.bytes);
        want_same_keys(names[i], json_root(english), json_root(doc));
        want_same_story(names[i], json_root(english), json_root(doc));
        json_free(doc);
        texts_free(texts);
        text_clear(&path);
    }
    os_names_free(names, count);
    json_free(english);
}

static void want_each(const char *file, const JsonValue *text, const JsonValue *languages)
{
    for (size_t i = 0; i < json_count(languages); i++) {
        const char *language = json_string(json_at(languages, i));
        if (json_get(text, language) != NULL) continue;
        fail_msg("%s:%d: no \"%s\" beside \"%s\"", file, json_place(text).line, language,
                 json_string(json_get(text, "en")));
    }
}

/* Every text object of a file has each language of the site; returns how many there are. */
static size_t want_all(const char *file, const JsonValue *value, const JsonValue *languages)
{
    size_t texts = 0;
    if (json_get(value, "en") != NULL) {
        want_each(file, value, languages);
        return 1;
    }
    for (size_t i = 0; i < json_count(value); i++) {
        texts += want_all(file, json_at(value, i), languages);
    }
    return texts;
}

static void test_site_has_its_languages(void **state)
{
    (void)state;
    char **names = NULL;
    size_t count = 0;
    Err err = {0};
    JsonDoc *site = load("scenarios/ostrel-mill/site.json");
    const JsonValue *languages = json_get(json_root(site), "languages");
    assert_int_equal(json_count(languages), LANGUAGES_MIN);
    assert_true(os_folder_list("scenarios/ostrel-mill", ".json", &names, &count, &err));
    for (size_t i = 0; i < count; i++) {
        Text path = {0};
        text_addf(&path, "scenarios/ostrel-mill/%s", names[i]);
        JsonDoc *doc = load(path.bytes);
        assert_true(want_all(names[i], json_root(doc), languages) > 5);
        json_free(doc);
        text_clear(&path);
    }
    os_names_free(names, count);
    json_free(site);
}

/* What a person did is told in the person's language, scenes and answers too. */
static void test_texts_tell_in_polish(void **state)
{
    (void)state;
    Work *work = NULL;
    Texts *texts = NULL;
    Err err = {0};
    Text words = {0};
    assert_true(
        work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL, &work, &err));
    assert_true(texts_load("assets/texts/pl.json", &texts, &err));
    LogLine line = log_happening(HAPPENING_SCENE_BEGUN, 0);
    log_set_word(&line, "scene", "sheet");
    assert_true(texts_tell(texts, work_scenario(work), &line, &words));
    assert_string_equal(words.bytes,
                        "-- Doko\xC5\x84"
                        "cz kart\xC4\x99 kontroli i podpisz j\xC4\x85. Potem oddaj lini\xC4\x99.");
    text_clear(&words);
    line = log_happening(HAPPENING_PIECE_PUT_BACK, 0);
    log_set_word(&line, "piece", "SS-25-07");
    assert_true(texts_tell(texts, work_scenario(work), &line, &words));
    assert_string_equal(words.bytes, "Odk\xC5\x82"
                                     "ada wzorzec do zestawu: stal nierdzewna 2,5 mm, SS-25-07.");
    text_clear(&words);
    texts_free(texts);
    work_free(work);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_texts_same_in_all_languages),
        cmocka_unit_test(test_site_has_its_languages),
        cmocka_unit_test(test_texts_tell_in_polish),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
