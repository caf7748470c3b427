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
    {"another-door", "door", "no"},
    {"another-door", "after-bad", "destroy"},
    {"another-door", "who", "quality"},
    {"auditor-on-tuesday", "found", "tell"},
    {"auditor-on-tuesday", "gap", "unknown"},
    {"auditor-on-tuesday", "seed", "memory"},
    {"auditor-on-tuesday", "sign-off", "withdraw"},
    {"auditor-on-tuesday", "her-checks", "void"},
    {"back-to-back", "what-now", "failed"},
    {"back-to-back", "why-third", "weak"},
    {"bad-good-bad", "too-many", "destroy"},
    {"bad-good-bad", "why-off", "pieces"},
    {"changeover", "the-360", "destroy"},
    {"changeover", "why-program", "signal"},
    {"dirty-eye", "where", "head"},
    {"dirty-eye", "made", "held"},
    {"eleven-oclock", "what-hold", "whole-week"},
    {"eleven-oclock", "lorry", "destroy"},
    {"every-eight-seconds", "beat", "oats"},
    {"every-eight-seconds", "plea", "no"},
    {"first-morning", "kit", "ball"},
    {"first-morning", "program", "program"},
    {"first-morning", "counter", "stop-all"},
    {"first-morning", "look", "bin"},
    {"first-morning", "stop-button", "not"},
    {"first-pass", "what-proves", "blow"},
    {"hand-over", "whose", "tomorrow"},
    {"hand-over", "tray", "count"},
    {"hand-over", "packs", "searched"},
    {"it-is-real", "loaf", "opened"},
    {"it-is-real", "source", "detector"},
    {"it-is-real", "hold-from", "since-whole"},
    {"key-in-the-lock", "differs", "destroy"},
    {"key-in-the-lock", "whose", "named"},
    {"night-shift", "who", "none"},
    {"night-shift", "leader", "not-yet"},
    {"night-shift", "tomasz", "he-checks"},
    {"night-shift", "reading", "none"},
    {"nine-passes", "why-centre", "handy"},
    {"no-beep", "means", "scrap"},
    {"no-beep", "again", "fresh"},
    {"power-up", "whose", "maker"},
    {"power-up", "reach", "air-out"},
    {"power-up", "by-itself", "cut"},
    {"power-up", "still", "validate"},
    {"stuck-case", "may-run", "maker"},
    {"stuck-case", "torn", "burn"},
    {"stuck-case", "made", "recall"},
    {"thaw", "what-now", "failed"},
    {"thaw", "why-soft", "steam"},
    {"thaw", "warm-ones", "destroy"},
    {"the-beep", "what-now", "yearly"},
    {"the-lorry", "repair", "nothing"},
    {"the-lorry", "planner", "no"},
    {"the-lorry", "second", "scrap"},
    {"turn-the-wire", "refeed", "no"},
    {"turn-the-wire", "whose", "waste"},
    {"turn-the-wire", "sphere", "same"},
    {"twenty-to-two", "first", "stop"},
    {"twenty-to-two", "time", "true"},
    {"twenty-to-two", "if-bad", "eleven"},
    {"twenty-to-two", "run-end", "after-last"},
    {"two-came-back", "since-when", "since-count"},
    {"two-came-back", "not-found", "destroy"},
    {"two-came-back", "sheet", "he-fixes"},
    {"two-lanes", "beside", "service"},
    {"two-lanes", "what-now", "week"},
    {"warm-monday", "cause", "lids"},
    {"warm-monday", "wish", "no"},
    {"where-does-it-go", "shelf", "little"},
    {"where-does-it-go", "rail", "failed"},
    {"where-on-butter", "under", "nobody"},
    {"where-on-butter", "taller", "bottom"},
    {"which-piece", "no-third", "fetch"},
    {"which-piece", "bad-ones", "thrown"},
    {"who-reset-it", "means", "escaped"},
    {"who-reset-it", "entry", "late"},
    {"who-reset-it", "who-resets", "maker"},
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

/* Whether the person passes by that script. Where an answer leads elsewhere it may not go on to its
 * end: that is no pass. */
static bool passes_by(const Work *work, const char *script, size_t len, uint64_t seed)
{
    AppRun *run = NULL;
    Score score = {.competent = false};
    Err err = {0};
    AppRunSetup setup = {.seed = seed, .is_assessment = true, .is_scripted = true};
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    if (script_play(run, "guessed", script, len, &err)) app_run_score(run, &score);
    app_run_free(run);
    return score.competent;
}

/* The right script of the form that the seed draws; false for a seed that is not played. */
static bool read_right(const Work *work, uint64_t seed, Text *script)
{
    const Scenario *scenario = work_scenario(work);
    for (int i = 0; i < scenario->script_count; i++) {
        Text path = {0};
        Err err = {0};
        if (scenario->scripts[i].misses != 0) continue;
        text_clear(script);
        text_addf(&path, "%s/%s", FOLDER, scenario->scripts[i].file);
        if (!os_file_read(path.bytes, SCRIPT_BYTES_MAX, script, &err)) fail_msg("%s", err.text);
        text_clear(&path);
        if (passes_by(work, script->bytes, script->len, seed)) return true;
    }
    return false;
}

/* Whether the person passes with that script, and whether every answer was right. */
static bool passes(const Work *work, const char *script, const Person *person, bool *right)
{
    Text text = {0};
    AppRun *run = NULL;
    Err err = {0};
    AppRunSetup setup = {.seed = person->seed, .is_assessment = true, .is_scripted = true};
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    answer_all(app_run_scenario(run), script, person, right, &text);
    app_run_free(run);
    bool pass = passes_by(work, text.bytes, text.len, person->seed);
    text_clear(&text);
    return pass;
}

static bool asks(const Scenario *scenario)
{
    for (int i = 0; i < scenario->scene_count; i++) {
        if (scenario->scenes[i].answer_count > 0) return true;
    }
    return false;
}

/* What a guesser answers by, and what in. */
static const struct {
    Guesser guesser;
    const char *language;
    int may_pass; /* of all seeds: who answers by luck passes when every answer was right */
} tries[] = {{BY_LUCK, "en", SEEDS / 2},
             {FIRST, "en", 0},
             {LONGEST, "en", 0},
             {LONGEST, "pl", 0},
             {MOST_CAUTIOUS, "en", 0}};
enum { TRIES = sizeof tries / sizeof tries[0] };

/* Each guesser's runs with one seed; a wrong answer and a pass in one run fail the test. False for
 * a seed that is not played. */
static bool try_seed(const Work *work, uint64_t seed, int passed[TRIES])
{
    Text script = {0};
    bool is_played = read_right(work, seed, &script);
    for (int t = 0; is_played && t < TRIES; t++) {
        bool right;
        Person person = {tries[t].guesser, seed, tries[t].language};
        bool pass = passes(work, script.bytes, &person, &right);
        if (pass && !right) {
            fail_msg("%s: %s passes with a wrong answer, seed %llu", work_scenario(work)->id,
                     guesser_names[tries[t].guesser], (unsigned long long)seed);
        }
        passed[t] += pass;
    }
    text_clear(&script);
    return is_played;
}

/* True when the scenario asks at all, and then no guesser passes it. */
static bool try_guessers(const char *name)
{
    Work *work = NULL;
    Err err = {0};
    int passed[TRIES] = {0};
    int played = 0;
    if (!work_read("assets", FOLDER, name, NULL, NULL, &work, &err)) fail_msg("%s", err.text);
    bool is_asking = asks(work_scenario(work));
    for (uint64_t seed = 1; is_asking && seed <= SEEDS; seed++) {
        played += try_seed(work, seed, passed);
    }
    for (int t = 0; t < TRIES; t++) {
        if (passed[t] > tries[t].may_pass)
            fail_msg("%s is passed by %s", name, guesser_names[tries[t].guesser]);
    }
    assert_true(!is_asking || played >= SEEDS / 2);
    work_free(work);
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
