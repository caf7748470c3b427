/* Figures of items: against published answers of a thousand people, and on small logs by hand. */
#include "scoring/items.h"

#include "support.h"

#include "app/work.h"
#include "base/random.h"
#include "fuzz/small.h"

enum { LSAT_ITEMS = 5, LSAT_PEOPLE = 1000 };

/* LSAT section 6: each pattern of answers as often as it was given. */
static ItemMark *read_lsat(void)
{
    Csv csv = csv_load("tests/data/lsat6.csv");
    ItemMark *marks = calloc((size_t)LSAT_PEOPLE * LSAT_ITEMS, sizeof *marks);
    static const char *const names[] = {"i1", "i2", "i3", "i4", "i5"};
    size_t person = 0;
    assert_non_null(marks);
    for (size_t row = 0; row < csv.rows; row++) {
        size_t often = (size_t)csv_number(&csv, row, "frequency");
        for (size_t i = 0; i < often; i++, person++) {
            assert_true(person < LSAT_PEOPLE);
            for (size_t item = 0; item < LSAT_ITEMS; item++) {
                bool right = csv_number(&csv, row, names[item]) > 0.5;
                marks[person * LSAT_ITEMS + item] = right ? ITEM_RIGHT : ITEM_WRONG;
            }
        }
    }
    assert_int_equal(person, LSAT_PEOPLE);
    csv_free(&csv);
    return marks;
}

/* R. D. Bock & M. Lieberman, Psychometrika 35 (1970) 179: shares right, and the correlations with
 * the rest as computed from their table (tests/data/lsat6_expected.csv names by what). */
static void test_items_figures_lsat_6(void **state)
{
    (void)state;
    ItemMark *marks = read_lsat();
    Csv want = csv_load("tests/data/lsat6_expected.csv");
    bool all[LSAT_ITEMS] = {true, true, true, true, true};
    size_t items = 0;
    for (size_t row = 0; row < want.rows; row++) {
        if (strcmp(csv_text(&want, row, "what"), "item") != 0) continue;
        size_t item = (size_t)csv_number(&want, row, "index") - 1;
        ItemFigures got;
        items_figures(marks, LSAT_PEOPLE, LSAT_ITEMS, item, all, &got);
        assert_int_equal(got.reached, LSAT_PEOPLE);
        assert_near((double)got.right / LSAT_PEOPLE, csv_number(&want, row, "proportion_or_value"),
                    1e-15);
        assert_true(got.has_correlation);
        assert_within(got.correlation, csv_number(&want, row, "r_rest"), 1e-11);
        assert_int_equal(got.verdict, ITEM_TELLS_APART);
        assert_true(got.share.low < 0.93 && got.apart.low > 0.0);
        items++;
    }
    assert_int_equal(items, LSAT_ITEMS);
    csv_free(&want);
    free(marks);
}

/* tanh(atanh r -+ z / sqrt(n - 3)) as computed by Python's math and statistics; R. A. Fisher,
 * Metron 1 (1921) 3, for the formula (from memory). */
static void test_items_correlation_interval(void **state)
{
    static const struct {
        double r;
        size_t n;
        double low, high;
    } rows[] = {
        {0.3, 10, -0.4063880891085118, 0.7819293207681975},
        {0.3, 30, -0.06757251144578513, 0.5958674154367378},
        {0.3, 100, 0.11006766754074294, 0.468794214523005},
        {-0.5, 30, -0.7289585563883555, -0.17043136511180015},
        {0.0, 103, -0.19352466479167987, 0.19352466479167987},
        {0.9, 4, -0.4524244338345248, 0.9979134922969899},
        {1.0, 30, 1.0, 1.0},
        {-1.0, 30, -1.0, -1.0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ChanceInterval got = items_correlation_interval(rows[i].r, rows[i].n);
        assert_within(got.low, rows[i].low, 1e-14);
        assert_within(got.high, rows[i].high, 1e-14);
    }
}

/* Pearson's figure is the point-biserial one, (M1 - M0) / s * sqrt(p (1 - p)), on marks by luck. */
static void test_items_correlation_is_point_biserial(void **state)
{
    enum { RUNS = 60, ITEMS = 7 };
    (void)state;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        Random luck;
        random_init(&luck, seed);
        ItemMark marks[RUNS * ITEMS];
        bool rest[ITEMS];
        double sum[2] = {0, 0};
        double squares = 0;
        double count[2] = {0, 0};
        for (size_t i = 0; i < ITEMS; i++) {
            rest[i] = i < 5;
        }
        for (size_t run = 0; run < RUNS; run++) {
            double right = 0;
            for (size_t i = 0; i < ITEMS; i++) {
                bool is_right = random_below(&luck, 3) > 0;
                marks[run * ITEMS + i] = is_right ? ITEM_RIGHT : ITEM_WRONG;
                if (i != 2 && rest[i] && is_right) right += 1;
            }
            int group = marks[run * ITEMS + 2] == ITEM_RIGHT;
            sum[group] += right;
            count[group] += 1;
            squares += right * right;
        }
        double mean = (sum[0] + sum[1]) / RUNS;
        double s = sqrt(squares / RUNS - mean * mean);
        double p = count[1] / RUNS;
        double want = (sum[1] / count[1] - sum[0] / count[0]) / s * sqrt(p * (1 - p));
        double got;
        assert_true(items_correlation(marks, RUNS, ITEMS, 2, rest, &got));
        if (fabs(got - want) > 1e-12) fail_msg("seed %d: %.17g, %.17g", (int)seed, got, want);
    }
}

/* `right` runs of `runs` right in an item whose rest is right with it, `against` it, or is always
 * the same. */
static ItemFigures figures_of(size_t runs, size_t right, int with)
{
    ItemMark *marks = calloc(runs * 2, sizeof *marks);
    const bool rest[] = {true, true};
    ItemFigures figures;
    assert_non_null(marks);
    for (size_t i = 0; i < runs; i++) {
        bool is_right = i < right;
        bool other = with == 0 || is_right == (with > 0);
        marks[i * 2] = is_right ? ITEM_RIGHT : ITEM_WRONG;
        marks[i * 2 + 1] = other ? ITEM_RIGHT : ITEM_WRONG;
    }
    items_figures(marks, runs, 2, 0, rest, &figures);
    free(marks);
    return figures;
}

static void test_items_figures_verdicts(void **state)
{
    static const struct {
        const char *name;
        size_t runs, right;
        int with;
        ItemVerdict want;
    } rows[] = {
        {"one too few", ITEMS_RUNS_MIN - 1, 20, 1, ITEM_TOO_FEW},
        {"just enough", ITEMS_RUNS_MIN, 20, 1, ITEM_TELLS_APART},
        {"all", ITEMS_RUNS_MIN, ITEMS_RUNS_MIN, 0, ITEM_ALL_RIGHT},
        /* Clopper and Pearson's low end of 999 in 1000 is 0.9944, of 98 in 100 0.9296 */
        {"nearly all", 1000, 999, 1, ITEM_ALL_RIGHT},
        {"perhaps nearly all", 100, 98, 1, ITEM_TELLS_APART},
        {"none", ITEMS_RUNS_MIN, 0, 0, ITEM_NONE_RIGHT},
        {"backwards", 40, 20, -1, ITEM_BACKWARDS},
        {"no rest", 40, 20, 0, ITEM_NO_REST},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        ItemFigures got = figures_of(rows[i].runs, rows[i].right, rows[i].with);
        if (got.verdict != rows[i].want) {
            fail_msg("%s: %s", rows[i].name, items_verdict_word(got.verdict));
        }
    }
    /* It goes with the rest as often as against it. */
    ItemMark marks[80];
    const bool rest[] = {true, true};
    ItemFigures open;
    for (size_t i = 0; i < 40; i++) {
        marks[i * 2] = i % 2 == 0 ? ITEM_RIGHT : ITEM_WRONG;
        marks[i * 2 + 1] = i % 4 < 2 ? ITEM_RIGHT : ITEM_WRONG;
    }
    items_figures(marks, 40, 2, 0, rest, &open);
    assert_int_equal(open.verdict, ITEM_OPEN);
    assert_within(open.correlation, 0.0, 1e-15);
}

/* What a run did not reach counts neither way, in the item and in the rest. */
static void test_items_figures_not_reached(void **state)
{
    (void)state;
    ItemMark marks[31 * 3];
    const bool rest[] = {true, true, true};
    ItemFigures got;
    for (size_t i = 0; i < 31; i++) {
        marks[i * 3] = i == 30 ? ITEM_NOT_REACHED : i % 2 == 0 ? ITEM_RIGHT : ITEM_WRONG;
        marks[i * 3 + 1] = i % 2 == 0 ? ITEM_RIGHT : ITEM_WRONG;
        marks[i * 3 + 2] = ITEM_NOT_REACHED;
    }
    items_figures(marks, 31, 3, 0, rest, &got);
    assert_int_equal(got.reached, 30);
    assert_int_equal(got.right, 15);
    assert_within(got.correlation, 1.0, 1e-15);
    items_figures(marks, 31, 3, 2, rest, &got);
    assert_int_equal(got.reached, 0);
    assert_int_equal(got.verdict, ITEM_TOO_FEW);
}

/* --- Over runs ------------------------------------------------------------------------------- */

#define QUESTION                                                                                   \
    "{\"id\":\"q\",\"kind\":\"decide\",\"text\":{\"en\":\"Q\"},\"answers\":["                      \
    "{\"id\":\"yes\",\"right\":true,\"text\":{\"en\":\"Y\"}},"                                     \
    "{\"id\":\"no\",\"mistake\":\"M8\",\"text\":{\"en\":\"N\"}},"                                  \
    "{\"id\":\"maybe\",\"mistake\":\"M9\",\"text\":{\"en\":\"M\"}}]}"

#define SCENARIO                                                                                   \
    "{\"format\":\"threepass-scenario-1\",\"id\":\"s\",\"title\":{\"en\":\"S\"},\"site\":\""       \
    "ostrel-mill\",\"line\":\"d1\",\"role\":\"line-checker\",\"plan\":\"start\",\"minutes\":2,"    \
    "\"date\":\"2026-03-02\",\"clock\":\"06:00\",\"last_good_check\":\"06:00\",\"kit\":["          \
    "\"FE-15-03\"],\"scenes\":[" QUESTION "],\"rubric\":["                                         \
    "{\"id\":\"knows\",\"points\":1,\"text\":{\"en\":\"R\"},\"need\":{\"seen\":"                   \
    "\"answered scene=q right=yes\"}},"                                                            \
    "{\"id\":\"asked\",\"points\":1,\"text\":{\"en\":\"R\"},\"need\":{\"seen\":"                   \
    "\"told who=quality\"}},"                                                                      \
    "{\"id\":\"quiet\",\"points\":1,\"text\":{\"en\":\"R\"},\"need\":{\"never\":"                  \
    "\"told who=maintenance\",\"put_right\":\"told who=supervisor\"}}],\"pass_percent\":80}"

static LogLine answered(const char *choice, bool right)
{
    LogLine line = log_happening(HAPPENING_ANSWERED, 1);
    log_set_word(&line, "scene", "q");
    log_set_word(&line, "choice", choice);
    log_set_word(&line, "right", right ? "yes" : "no");
    log_set_word(&line, "mistake", "none");
    return line;
}

static LogLine told(const char *who)
{
    LogLine line = log_happening(HAPPENING_TOLD, 2);
    log_set_word(&line, "who", who);
    log_set_word(&line, "about", "check-failed");
    return line;
}

static LogLine ended(void)
{
    LogLine line = log_happening(HAPPENING_RUN_ENDED, 3);
    log_set_word(&line, "why", "done");
    return line;
}

static Work *small_work(void)
{
    static const char *const texts[WORK_PART_COUNT] = {
        [WORK_METALS] = SMALL_METALS, [WORK_KINDS] = SMALL_KINDS, [WORK_SITE] = SMALL_SITE,
        [WORK_FITTED] = SMALL_FITTED, [WORK_SCENARIO] = SCENARIO,
    };
    Text parts[WORK_PART_COUNT] = {{0}};
    Work *work = NULL;
    Err err = {0};
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_add(&parts[i], texts[i]);
    }
    if (!work_from_texts(parts, &work, &err)) fail_msg("%s", err.text);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_clear(&parts[i]);
    }
    return work;
}

/* Forty runs: in half the first answer is wrong ("no", and then "yes" when the question comes
 * again), and only those tell quality; in one nothing was answered. */
static void test_items_read_forty_runs(void **state)
{
    (void)state;
    Work *work = small_work();
    Items *items = items_new(work_scenario(work));
    for (int i = 0; i < 40; i++) {
        LogLine right[] = {answered("yes", true), ended()};
        LogLine wrong[] = {answered("no", false), answered("yes", true), told("quality"),
                           told("maintenance"),   told("supervisor"),    ended()};
        if (i % 2 == 0)
            items_add(items, right, 2);
        else
            items_add(items, wrong, 6);
    }
    LogLine nothing[] = {ended()};
    items_add(items, nothing, 1);
    assert_int_equal(items_runs(items), 41);
    assert_int_equal(items_count(items), 4);

    Item item;
    items_read(items, 0, &item);
    assert_string_equal(item.scene->id, "q");
    assert_null(item.line);
    assert_int_equal(item.figures.reached, 40);
    assert_int_equal(item.figures.right, 20);
    assert_int_equal(item.chosen[0], 20);
    assert_int_equal(item.chosen[1], 20);
    assert_int_equal(item.chosen[2], 0);
    /* "knows" asks for this answer and is left out; "asked" goes against it; "quiet" is always
     * right. */
    assert_within(item.figures.correlation, -1.0, 1e-12);
    assert_int_equal(item.figures.verdict, ITEM_BACKWARDS);

    items_read(items, 1, &item);
    assert_string_equal(item.line->id, "knows");
    assert_null(item.scene);
    assert_int_equal(item.figures.reached, 41);
    assert_int_equal(item.figures.right, 40);
    items_read(items, 3, &item);
    assert_string_equal(item.line->id, "quiet");
    assert_int_equal(item.figures.right, 41);
    assert_int_equal(item.recovered, 20);
    assert_int_equal(item.figures.verdict, ITEM_ALL_RIGHT);
    items_free(items);
    work_free(work);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_items_figures_lsat_6),
        cmocka_unit_test(test_items_correlation_interval),
        cmocka_unit_test(test_items_correlation_is_point_biserial),
        cmocka_unit_test(test_items_figures_verdicts),
        cmocka_unit_test(test_items_figures_not_reached),
        cmocka_unit_test(test_items_read_forty_runs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
