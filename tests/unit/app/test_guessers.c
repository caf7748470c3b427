/* Right hands do not make up for guessed answers: in every shipped scenario that asks, nobody
 * passes an assessment who does all of the right script but answers by luck, always the first,
 * always the longest, or always the most cautious. Which answer is the most cautious is our own
 * reading. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "app/script.h"
#include "base/os.h"
#include "base/random.h"

#define FOLDER "scenarios/ostrel-mill"

enum { SEEDS = 20 };

typedef enum { BY_LUCK, FIRST, LONGEST, MOST_CAUTIOUS, GUESSERS } Guesser;
static const char *const guesser_names[] = {"by luck", "the first", "the longest",
                                            "the most cautious"};

/* The answer that holds or proves the most, whether right or not. */
static const struct {
    const char *scenario, *scene, *answer;
} cautious[] = {
    {"eleven-oclock", "what-hold", "whole-week"}, {"eleven-oclock", "lorry", "destroy"},
    {"first-pass", "what-proves", "blow"},        {"nine-passes", "why-centre", "handy"},
    {"the-beep", "what-now", "yearly"},
};

static int find_cautious(const Scenario *scenario, const Scene *scene)
{
    for (size_t i = 0; i < sizeof cautious / sizeof cautious[0]; i++) {
        if (strcmp(cautious[i].scenario, scenario->id) != 0) continue;
        if (strcmp(cautious[i].scene, scene->id) != 0) continue;
        for (int a = 0; a < scene->answer_count; a++) {
            if (strcmp(scene->answers[a].id, cautious[i].answer) == 0) return a;
        }
    }
    fail_msg("%s: name the most cautious answer of scene \"%s\" in this test", scenario->id,
             scene->id);
    return 0;
}

static int find_longest(const Scene *scene, const char *language)
{
    int longest = 0;
    for (int a = 1; a < scene->answer_count; a++) {
        if (strlen(site_text(scene->answers[a].text, language)) >
            strlen(site_text(scene->answers[longest].text, language))) {
            longest = a;
        }
    }
    return longest;
}

static int guess(Guesser guesser, const Scenario *scenario, const Scene *scene,
                 const char *language, Random *random)
{
    switch (guesser) {
    case BY_LUCK:
        return (int)random_below(random, (uint64_t)scene->answer_count);
    case LONGEST:
        return find_longest(scene, language);
    case MOST_CAUTIOUS:
        return find_cautious(scenario, scene);
    case FIRST:
    case GUESSERS:
        break;
    }
    return 0;
}

/* The next scene from `from` on that asks and has that answer. */
static int scene_asking(const Scenario *scenario, int from, const char *answer, size_t len)
{
    for (int i = from; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        for (int a = 0; a < scene->answer_count; a++) {
            const char *id = scene->answers[a].id;
            if (strlen(id) == len && memcmp(id, answer, len) == 0) return i;
        }
    }
    return -1;
}

typedef struct {
    Guesser guesser;
    uint64_t seed;
    const char *language;
} Person;

/* The right script with that person's answers; *right tells whether all are right after all. */
static void answer_all(const Scenario *form, const char *script, const Person *person, bool *right,
                       Text *out)
{
    static const char word[] = "answer choice=";
    Random random;
    int scene = 0;
    random_init(&random, person->seed);
    *right = true;
    for (const char *at = script; *at != '\0';) {
        const char *hit = strstr(at, word);
        if (hit == NULL) {
            text_add(out, at);
            break;
        }
        const char *id = hit + strlen(word);
        size_t len = strcspn(id, "\n");
        int asked = scene_asking(form, scene, id, len);
        text_add_bytes(out, at, (size_t)(id - at));
        if (asked < 0) { /* a wire left so is the hands' work */
            text_add_bytes(out, id, len);
        } else {
            const Scene *asks = &form->scenes[asked];
            int chosen = guess(person->guesser, form, asks, person->language, &random);
            text_add(out, asks->answers[chosen].id);
            *right = *right && asks->answers[chosen].right;
            scene = asked + 1;
        }
        at = id + len;
    }
}

/* Whether the person passes, and whether every answer was right. */
static bool passes(const Work *work, const char *script, const Person *person, bool *right)
{
    Text text = {0};
    AppRun *run = NULL;
    Score score;
    Err err = {0};
    AppRunSetup setup = {.seed = person->seed, .is_assessment = true, .is_scripted = true};
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    answer_all(app_run_scenario(run), script, person, right, &text);
    if (!script_play(run, "guessed", text.bytes, text.len, &err)) fail_msg("%s", err.text);
    app_run_score(run, &score);
    app_run_free(run);
    text_clear(&text);
    return score.competent;
}

static bool asks(const Scenario *scenario)
{
    for (int i = 0; i < scenario->scene_count; i++) {
        if (scenario->scenes[i].answer_count > 0) return true;
    }
    return false;
}

/* Seeds in which a guesser passes; a wrong answer and a pass in one run fail the test. */
static int passed(const Work *work, const char *script, Guesser guesser, const char *language)
{
    int count = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        bool right;
        Person person = {guesser, seed, language};
        bool pass = passes(work, script, &person, &right);
        if (pass && !right) {
            fail_msg("%s: %s passes with a wrong answer, seed %llu", work_scenario(work)->id,
                     guesser_names[guesser], (unsigned long long)seed);
        }
        count += pass;
    }
    return count;
}

/* True when the scenario asks at all, and then no guesser passes it. */
static bool try_guessers(const char *name)
{
    Work *work = NULL;
    Text path = {0};
    Text script = {0};
    Err err = {0};
    if (!work_read("assets", FOLDER, name, NULL, NULL, &work, &err)) fail_msg("%s", err.text);
    text_addf(&path, "%s/%s", FOLDER, work_scenario(work)->scripts[0].file);
    assert_true(os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, &err));
    bool is_asking = asks(work_scenario(work));
    for (int g = FIRST; is_asking && g < GUESSERS; g++) {
        if (passed(work, script.bytes, (Guesser)g, "en") != 0)
            fail_msg("%s is passed by %s", name, guesser_names[g]);
    }
    if (is_asking) {
        assert_int_equal(passed(work, script.bytes, LONGEST, "pl"), 0);
        /* who answers by luck passes when every answer was, and that is seldom */
        assert_true(passed(work, script.bytes, BY_LUCK, "en") <= SEEDS / 2);
    }
    work_free(work);
    text_clear(&path);
    text_clear(&script);
    return is_asking;
}

static void test_guessers_never_pass(void **state)
{
    (void)state;
    char **names = NULL;
    size_t count = 0;
    int asking = 0;
    Err err = {0};
    assert_true(os_folder_list(FOLDER, ".json", &names, &count, &err));
    for (size_t i = 0; i < count; i++) {
        if (strcmp(names[i], "site.json") != 0) asking += try_guessers(names[i]);
    }
    assert_true(asking >= 4);
    os_names_free(names, count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_guessers_never_pass)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
