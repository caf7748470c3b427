/* What the scenarios that come with the program are about: which mistakes of the trade (M1 to M32)
 * can be made in them and are noticed, and which critical steps (K1 to K13) they assess. The table
 * docs/coverage.md is made by this program, and the test wants it to be as it would make it:
 *
 *   test_coverage --write
 *
 * A mistake counts for a scenario when one of its own scripts makes it and the result names it, or
 * when an answer names it in a question that its rubric judges. */
#include "support.h"

#include "app/app.h"
#include "app/script.h"
#include "app/texts.h"
#include "base/os.h"
#include "scoring/score.h"

#define SITE "scenarios/ostrel-mill"
#define TABLE "docs/coverage.md"

enum {
    SCENARIOS_MAX = 64,
    MISTAKES = 32,
    CRITICALS = 13,
    PER_MISTAKE = 1,
    PER_CRITICAL = 2,
    SEEDS = 20,
    PAGE_BYTES_MAX = 1048576
};

typedef struct {
    char id[SCENARIOS_MAX][SITE_ID_BYTES];
    bool mistakes[SCENARIOS_MAX][MISTAKES + 1];
    bool criticals[SCENARIOS_MAX][CRITICALS + 1];
    int count;
} Coverage;

static void note_mistake(Coverage *coverage, const char *mistake)
{
    int64_t number = 0;
    if (mistake[0] != 'M' || !text_to_int(mistake + 1, &number)) return;
    assert_true(number >= 1 && number <= MISTAKES);
    coverage->mistakes[coverage->count][number] = true;
}

/* A script may be for some forms of its scenario alone: it is played with the first seed that it
 * can be played with. */
static void play(Coverage *coverage, const Work *work, const char *file)
{
    Text path = {0};
    Text script = {0};
    Err err = {0};
    bool is_played = false;
    text_addf(&path, SITE "/%s", file);
    if (!os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, &err)) fail_msg("%s", err.text);
    for (uint64_t seed = 1; seed <= SEEDS && !is_played; seed++) {
        AppRunSetup setup = {.seed = seed, .is_assessment = true, .is_scripted = true};
        AppRun *run = NULL;
        Score score;
        if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
        is_played = script_play(run, path.bytes, text_string(&script), script.len, &err);
        if (is_played) app_run_score(run, &score);
        for (int i = 0; is_played && i < score.line_count; i++) {
            note_mistake(coverage, score_mistake(&score.lines[i]));
        }
        app_run_free(run);
    }
    if (!is_played) fail_msg("%s", err.text);
    text_clear(&path);
    text_clear(&script);
}

/* True when the rubric looks at what was answered there. */
static bool is_judged(const Scenario *scenario, const char *scene)
{
    Text want = {0};
    bool judged = false;
    text_addf(&want, "answered scene=%s ", scene);
    for (int i = 0; i < scenario->rubric_count; i++) {
        const char *seen = scenario->rubric[i].need.seen.text;
        judged = judged || (seen != NULL && strncmp(seen, want.bytes, want.len) == 0);
    }
    text_clear(&want);
    return judged;
}

static void cover(Coverage *coverage, const char *file)
{
    Work *work = NULL;
    Err err = {0};
    if (!work_read("assets", SITE, file, NULL, NULL, &work, &err)) fail_msg("%s", err.text);
    const Scenario *scenario = work_scenario(work);
    memcpy(coverage->id[coverage->count], scenario->id, strlen(scenario->id) + 1);
    for (int i = 0; i < scenario->rubric_count; i++) {
        coverage->criticals[coverage->count][scenario->rubric[i].critical] = true;
    }
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        for (int a = 0; is_judged(scenario, scene->id) && a < scene->answer_count; a++) {
            note_mistake(coverage, scene->answers[a].mistake);
        }
    }
    for (int i = 0; i < scenario->script_count; i++) {
        play(coverage, work, scenario->scripts[i].file);
    }
    work_free(work);
    coverage->count++;
}

static void cover_all(Coverage *coverage)
{
    char **names = NULL;
    size_t count = 0;
    Err err = {0};
    *coverage = (Coverage){.count = 0};
    if (!os_folder_list(SITE, ".json", &names, &count, &err)) fail_msg("%s", err.text);
    for (size_t i = 0; i < count; i++) {
        assert_true(coverage->count < SCENARIOS_MAX);
        if (strcmp(names[i], "site.json") != 0) cover(coverage, names[i]);
    }
    os_names_free(names, count);
}

/* --- The table ------------------------------------------------------------------------------- */

/* The first sentence of a text. */
static void add_sentence(Text *out, const char *text)
{
    const char *end = strstr(text, ". ");
    text_add_bytes(out, text, end == NULL ? strlen(text) : (size_t)(end - text) + 1);
}

/* Appends a row's scenarios; returns how many there are. */
static int add_row(Text *out, const Coverage *coverage, const bool *first, size_t width)
{
    int count = 0;
    for (int i = 0; i < coverage->count; i++) {
        if (!first[(size_t)i * width]) continue;
        text_addf(out, "%s%s", count == 0 ? "" : ", ", coverage->id[i]);
        count++;
    }
    text_add(out, " |\n");
    return count;
}

/* The whole page; fails for a row that has too few scenarios. */
static void make_page(const Coverage *coverage, Text *out)
{
    Texts *texts = NULL;
    Err err = {0};
    if (!texts_load("assets/texts/en.json", &texts, &err)) fail_msg("%s", err.text);
    text_add(out,
             "# What the example scenarios cover\n\n"
             "Made by `build/dev/tests/test_coverage --write`, which plays each scenario's own "
             "scripts. A mistake stands beside a scenario\nin which it can be made and is "
             "noticed: a script makes it and the result names it, or a judged question offers "
             "it as an answer.\n\n| mistake | | scenarios |\n| --- | --- | --- |\n");
    for (int m = 1; m <= MISTAKES; m++) {
        char key[16];
        (void)snprintf(key, sizeof key, "M%d", m);
        text_addf(out, "| %s | ", key);
        add_sentence(out, texts_get(texts, "mistakes", key));
        text_add(out, " | ");
        if (add_row(out, coverage, &coverage->mistakes[0][m], MISTAKES + 1) < PER_MISTAKE) {
            fail_msg("%s is noticed in no scenario", key);
        }
    }
    text_add(out, "\nCritical steps, and the scenarios that assess them:\n\n"
                  "| step | scenarios |\n| --- | --- |\n");
    for (int k = 1; k <= CRITICALS; k++) {
        text_addf(out, "| K%d | ", k);
        if (add_row(out, coverage, &coverage->criticals[0][k], CRITICALS + 1) < PER_CRITICAL) {
            fail_msg("K%d is assessed in fewer than %d scenarios", k, PER_CRITICAL);
        }
    }
    texts_free(texts);
}

static void test_coverage_page(void **state)
{
    static Coverage coverage;
    const bool *is_written = *state;
    Text page = {0};
    Text kept = {0};
    Err err = {0};
    cover_all(&coverage);
    make_page(&coverage, &page);
    if (*is_written && !os_file_write(TABLE, page.bytes, page.len, &err)) fail_msg("%s", err.text);
    if (!os_file_read(TABLE, PAGE_BYTES_MAX, &kept, &err)) fail_msg("%s", err.text);
    if (strcmp(text_string(&kept), text_string(&page)) != 0) {
        fail_msg("%s is not what the scenarios are now: test_coverage --write", TABLE);
    }
    text_clear(&page);
    text_clear(&kept);
}

int main(int argc, char **argv)
{
    static bool is_written;
    is_written = argc == 2 && strcmp(argv[1], "--write") == 0;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_prestate(test_coverage_page, &is_written),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
