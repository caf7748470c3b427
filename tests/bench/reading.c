/* How long a trainer's file of 100 scenes takes to be read and checked, against what cJSON alone
 * takes to parse it:
 *
 *   bench_reading
 *
 * The file is made here: tell, decide and arrange scenes in two languages, a rubric line for
 * each question, on the example site. "read" is scenario_parse and score_check; "checked" is what
 * `threepass check` does after that, lint_scenario. Times are the process's own, medians of
 * ROUNDS; the ratio counts. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cjson/cJSON.h>

#include "app/lint.h"
#include "scoring/score.h"

enum { SCENES = 100, ROUNDS = 101 };

#define SITE "scenarios/ostrel-mill"

static void fail(const char *why)
{
    (void)fprintf(stderr, "bench_reading: %s\n", why);
    exit(2);
}

/* --- The file -------------------------------------------------------------------------------- */

static void add_text(Text *out, const char *what, int number)
{
    text_addf(
        out,
        "\"text\": { \"en\": \"%s %d: the alarm rang, and the pack went on over the belt's "
        "end. Say what you do first, and why.\", \"pl\": \"%s %d: odezwał się alarm, a paczka "
        "poszła dalej za koniec taśmy. Powiedz, co robisz najpierw i dlaczego.\" }",
        what, number, what, number);
}

static void add_parts(Text *out, const char *key, int count, bool has_right)
{
    text_addf(out, ", \"%s\": [", key);
    for (int i = 0; i < count; i++) {
        text_addf(out, "%s\n        { \"id\": \"part-%d\", ", i == 0 ? "" : ",", i);
        if (has_right && i == 1) text_add(out, "\"right\": true, ");
        if (has_right && i != 1) text_addf(out, "\"mistake\": \"M%d\", ", i + 8);
        if (!has_right && i > 0) text_addf(out, "\"after\": [\"part-%d\"], ", i - 1);
        add_text(out, "Part", i);
        text_add(out, " }");
    }
    text_add(out, " ]");
}

static void add_scene(Text *out, int number)
{
    static const char *const kinds[] = {"decide", "tell", "arrange", "decide"};
    const char *kind = kinds[number % 4];
    text_addf(out, "%s\n    { \"id\": \"scene-%d\", \"kind\": \"%s\", ", number == 0 ? "" : ",",
              number, kind);
    add_text(out, "Scene", number);
    if (number % 4 == 2) add_parts(out, "steps", 5, false);
    if (number % 4 % 3 == 0) add_parts(out, "answers", 4, true);
    text_add(out, " }");
}

static void make_file(Text *out)
{
    text_add(out,
             "{ \"format\": \"threepass-scenario-1\", \"id\": \"long\",\n"
             "  \"title\": { \"en\": \"Long\", \"pl\": \"Długi\" }, \"site\": \"ostrel-mill\", "
             "\"line\": \"d1\", \"role\": \"line-checker\", \"plan\": \"interval\",\n"
             "  \"minutes\": 60, \"date\": \"2026-03-03\", \"clock\": \"11:00\", "
             "\"last_good_check\": \"10:00\", \"kit\": [\"FE-15-03\"],\n  \"scenes\": [");
    for (int i = 0; i < SCENES; i++) {
        add_scene(out, i);
    }
    text_add(out, " ],\n  \"rubric\": [");
    for (int i = 0; i < SCENES; i += 4) {
        text_addf(out, "%s\n    { \"id\": \"line-%d\", \"points\": 1, ", i == 0 ? "" : ",", i);
        add_text(out, "Line", i);
        text_addf(out, ", \"need\": { \"seen\": \"answered scene=scene-%d right=yes\" } }", i);
    }
    text_add(out, " ],\n  \"pass_percent\": 80 }\n");
}

/* --- Time ------------------------------------------------------------------------------------ */

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a;
    double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_ms(double times[ROUNDS])
{
    qsort(times, ROUNDS, sizeof *times, by_size);
    return times[ROUNDS / 2] * 1e3;
}

static double since_s(clock_t begin)
{
    return (double)(clock() - begin) / CLOCKS_PER_SEC;
}

/* An error would be a file that is wrong; a warning is work of the checker's as well. */
static void hear(void *context, bool is_error, ErrPlace place, const char *text)
{
    (void)context;
    (void)place;
    if (is_error) fail(text);
}

static Work *work_of(const Work *site, const Text *file)
{
    Text parts[WORK_PART_COUNT] = {{0}};
    Work *work = NULL;
    Err err = {0};
    for (int i = 0; i < WORK_SCENARIO; i++) {
        parts[i] = *work_part(site, (WorkPart)i); /* borrowed */
    }
    parts[WORK_SCENARIO] = *file;
    if (!work_from_texts(parts, &work, &err)) fail(err.text);
    return work;
}

int main(void)
{
    static double parsed[ROUNDS];
    static double read[ROUNDS];
    static double checked[ROUNDS];
    Work *site = NULL;
    Text file = {0};
    Err err = {0};
    if (!work_read("assets", SITE, NULL, NULL, NULL, &site, &err)) fail(err.text);
    make_file(&file);
    Work *work = work_of(site, &file);
    for (int i = 0; i < ROUNDS; i++) {
        Scenario *scenario = NULL;
        clock_t begin = clock();
        cJSON *tree = cJSON_ParseWithLength(text_string(&file), file.len);
        cJSON_Delete(tree);
        parsed[i] = since_s(begin);
        begin = clock();
        if (tree == NULL ||
            !scenario_parse("long.json", text_string(&file), file.len, work_site(work), &scenario,
                            &err) ||
            !score_check(scenario, &err)) {
            fail(err.text);
        }
        scenario_free(scenario);
        read[i] = since_s(begin);
        begin = clock();
        if (!lint_scenario(work, hear, NULL, &err)) fail(err.text);
        checked[i] = since_s(begin);
    }
    double cjson = median_ms(parsed);
    double reading = median_ms(read);
    double checking = median_ms(checked);
    (void)printf("%d scenes, %zu bytes: cJSON %.2f ms, read %.2f ms, checked %.2f ms, ratio %.1f\n",
                 SCENES, file.len, cjson, reading, checking, (reading + checking) / cjson);
    work_free(work);
    work_free(site);
    text_clear(&file);
    return 0;
}
