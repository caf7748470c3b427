/* A site's competences: what ships, what a bad one says, each rule's default and limits, and
 * whether the scenarios are there. The limits are the format's own. */
#include "app/lint.h"
#include "bad.h"
#include "scenario/competence.h"

typedef struct {
    MetalTable *metals;
    Kinds *kinds;
    Text text; /* the shipped site */
} Shipped;

static int load(void **state)
{
    Err err = {0};
    Text kinds = {0};
    Shipped *shipped = check_calloc(1, sizeof *shipped);
    *state = shipped;
    bad_read_file("assets/kinds.json", &kinds);
    bad_read_file("scenarios/ostrel-mill/site.json", &shipped->text);
    bool ok = metals_load("assets/metals.json", &shipped->metals, &err) &&
              kinds_parse("kinds", kinds.bytes, kinds.len, &shipped->kinds, &err);
    text_clear(&kinds);
    if (!ok) print_error("%s\n", err.text);
    return ok ? 0 : -1;
}

static int unload(void **state)
{
    Shipped *shipped = *state;
    kinds_free(shipped->kinds);
    metals_free(shipped->metals);
    text_clear(&shipped->text);
    free(shipped);
    return 0;
}

static bool read(const Shipped *shipped, const char *bytes, size_t len, Site **out, Err *err)
{
    return site_parse("file", bytes, len, shipped->metals, shipped->kinds, out, err);
}

static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    Site *site = NULL;
    (void)file;
    bool ok = read(context, bytes, len, &site, err);
    site_free(site);
    return ok;
}

#define PACKS "{ \"id\": \"check-packs\""
#define LINES "\"lines\": [\"d1\", \"b1\", \"b2\", \"d2\"]"
#define FORMS "\"scenarios\": [\"thaw\", \"twenty-to-two\", \"turn-the-wire\"]"
#define ROLE "\"role\": \"line-checker\""
#define WITH(rules) PACKS, "{ \"rules\": {" rules "}, \"id\": \"check-packs\"", NULL

static const BadRow rows[] = {
    {"as shipped", PACKS, PACKS, NULL, NULL},
    {"misspelt", "\"competences\"", "^\"competencies\"", NULL,
     "unknown key \"competencies\"; did you mean \"competences\"?"},
    {"unknown key", PACKS, "{ ^\"level\": 1, \"id\": \"check-packs\"", NULL,
     "unknown key \"level\""},
    {"id twice", "{ \"id\": \"rejects\"", "{ \"id\": ^\"take-over\"", NULL,
     "id \"take-over\" is there twice"},
    {"id missing", PACKS ", ", "^{ ", NULL, "id is missing"},
    {"another role", ROLE, "\"role\": ^\"line-checkers\"", NULL,
     "role is \"line-checkers\", must be one of \"line-checker\", \"line-leader\", \"supervisor\", "
     "\"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\", \"trainer\"; did "
     "you mean \"line-checker\"?"},
    {"role missing", ROLE ",", "", PACKS, "role is missing"},
    {"unknown line", LINES, "\"lines\": [\"d1\", ^\"d11\"]", NULL,
     "there is no line \"d11\" in this site; did you mean \"d1\"?"},
    {"a line twice", LINES, "\"lines\": [\"d1\", ^\"d1\"]", NULL, "\"d1\" is there twice"},
    {"a line is a number", LINES, "\"lines\": [^1]", NULL, "lines must hold ids, such as \"d1\""},
    {"no lines", LINES, "\"lines\": ^[]", NULL, "lines has 0 elements, limit 1..64"},
    {"no scenarios", FORMS, "\"scenarios\": ^[]", NULL, "scenarios has 0 elements, limit 1..32"},
    {"a scenario twice", FORMS, "\"scenarios\": [\"thaw\", ^\"thaw\"]", NULL,
     "\"thaw\" is there twice"},
    {"scenarios missing", FORMS ",", "", "{ \"id\": \"check-cases\"", "scenarios is missing"},
    {"an item twice", "{ \"id\": \"open\"", "{ \"id\": ^\"together\"", NULL,
     "id \"together\" is there twice"},
    {"an item of more", "{ \"id\": \"one-owner\"", "{ ^\"words\": 1, \"id\": \"one-owner\"", NULL,
     "unknown key \"words\""},
    {"an item without a text", "{ \"id\": \"one-owner\"",
     "^{ \"id\": \"a\" }, { \"id\": \"one-owner\"", NULL, "text is missing"},
    {"an unknown rule", WITH("^\"valid_years\": 1"), "unknown key \"valid_years\""},
    {"no whole number", WITH("\"valid_months\": ^1.5"),
     "valid_months: has a point or an exponent, must be a whole number"},
    {"no yes or no", WITH("\"named_buddy\": ^1"),
     "named_buddy: is a number, must be true or false"},
};

static void test_competences_bad(void **state)
{
    const Shipped *shipped = *state;
    bad_check_rows(shipped->text.bytes, rows, sizeof rows / sizeof rows[0], parse, *state);
}

static void test_competences_limits(void **state)
{
    static const struct {
        const char *rule;
        int min, max;
    } limits[] = {{"valid_months", 1, 60},         {"first_review_months", 0, 60},
                  {"absence_months", 0, 60},       {"retake_wait_hours", 0, 720},
                  {"fails_before_retrain", 0, 10}, {"due_days", 0, 365}};
    const Shipped *shipped = *state;
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        for (int past = 0; past < 4; past++) {
            Text text = {0};
            Text want = {0};
            Text rule = {0};
            int value = past < 2 ? limits[i].min - past : limits[i].max + past - 2;
            bool is_bad = past % 2 == 1;
            text_addf(&rule, "{ \"rules\": {\"%s\": ^%d}, \"id\": \"check-packs\"", limits[i].rule,
                      value);
            text_addf(&want, "%s is %d, limit %d..%d", limits[i].rule, value, limits[i].min,
                      limits[i].max);
            BadRow row = {limits[i].rule, PACKS, rule.bytes, NULL, is_bad ? want.bytes : NULL};
            bad_edit(shipped->text.bytes, &row, &text);
            assert_true(bad_is_told(row.name, text.bytes, parse, *state, row.want));
            text_clear(&text);
            text_clear(&want);
            text_clear(&rule);
        }
    }
}

/* Read the shipped site with PACKS in other words. */
static Site *read_edited(const Shipped *shipped, const char *old, const char *now)
{
    Err err = {0};
    Text text = {0};
    Site *site = NULL;
    BadRow row = {"edited", old, now, NULL, NULL};
    bad_edit(shipped->text.bytes, &row, &text);
    if (!read(shipped, text.bytes, text.len, &site, &err)) fail_msg("%s", err.text);
    text_clear(&text);
    return site;
}

static void test_competences_shipped(void **state)
{
    Site *site = read_edited(*state, PACKS,
                             "{ \"rules\": {\"valid_months\": 24, \"named_buddy\": false}, "
                             "\"id\": \"check-packs\"");
    assert_int_equal(site->competence_count, 5);
    const Competence *packs = competence_find(site, "check-packs");
    assert_ptr_equal(packs, &site->competences[0]);
    assert_int_equal(packs->rules.valid_months, 24);
    assert_false(packs->rules.named_buddy);
    assert_string_equal(site_text(packs->title, "pl"), "Rutynowa kontrola linii z opakowaniami");
    assert_int_equal(packs->role, SITE_JOB_LINE_CHECKER);
    assert_int_equal(packs->line_count, 4);
    assert_string_equal(packs->lines[3], "d2");
    assert_string_equal(packs->scenarios[0], "nine-passes");
    assert_string_equal(packs->checklist[0].id, "told");
    assert_null(competence_find(site, "check-pack"));
    /* Those that say nothing: common practice, no source. */
    CompetenceRules rules = competence_find(site, "take-over")->rules;
    assert_int_equal(rules.valid_months, 12);
    assert_int_equal(rules.first_review_months, 3);
    assert_int_equal(rules.absence_months, 3);
    assert_int_equal(rules.retake_wait_hours, 24);
    assert_int_equal(rules.fails_before_retrain, 2);
    assert_int_equal(rules.due_days, 30);
    assert_true(rules.other_form_after_failure && rules.trainer_not_sole_assessor &&
                rules.named_buddy);
    site_free(site);
}

/* --- What check says ------------------------------------------------------------------------- */

typedef struct {
    int errors, warnings;
    Text last;
} Heard;

static void hear(void *context, bool is_error, ErrPlace place, const char *text)
{
    Heard *heard = context;
    assert_true(place.line > 1);
    heard->errors += is_error;
    heard->warnings += !is_error;
    text_clear(&heard->last);
    text_add(&heard->last, text);
}

static void test_lint_competences(void **state)
{
    static const char *const there[] = {
        "nine-passes",   "the-beep",        "back-to-back",        "bad-good-bad",  "changeover",
        "thaw",          "twenty-to-two",   "turn-the-wire",       "eleven-oclock", "dirty-eye",
        "two-came-back", "key-in-the-lock", "the-lorry",           "another-door",  "hand-over",
        "who-reset-it",  "it-is-real",      "every-eight-seconds", "warm-monday",   NULL};
    static const char *const none[] = {NULL};
    static const struct {
        const char *name, *old, *now, *want;
        int errors, warnings;
        bool alone;
    } lints[] = {
        {"as shipped", PACKS, PACKS, NULL, 0, 0, false},
        {"misspelt", "\"thaw\"", "\"thaws\"",
         "there is no scenario \"thaws\" in this folder; did you mean \"thaw\"?", 1, 0, false},
        {"nothing near", "\"thaw\"", "\"kettle\"", "there is no scenario \"kettle\" in this folder",
         1, 0, false},
        {"no scenario is there at all", "\"thaw\"", "\"kettle\"", NULL, 0, 0, true},
        {"one form", FORMS, "\"scenarios\": [\"thaw\"]",
         "\"check-cases\" has one scenario only, and after a failure another one is asked for: add "
         "a second, or set other_form_after_failure to false",
         0, 1, false},
        {"one form is enough", FORMS,
         "\"scenarios\": [\"thaw\"], \"rules\": {\"other_form_after_failure\": false}", NULL, 0, 0,
         false},
        {"a language is missing", "\"title\": { \"en\": \"Taking over a line\", ", "\"title\": { ",
         "there is no \"en\", which the site speaks: add it", 0, 1, false},
        {"an item in a language is missing",
         "\"text\": { \"en\": \"Said when the next check is due.\", ", "\"text\": { ",
         "there is no \"en\", which the site speaks: add it", 0, 1, false},
    };
    for (size_t i = 0; i < sizeof lints / sizeof lints[0]; i++) {
        Heard heard = {0};
        Site *site = read_edited(*state, lints[i].old, lints[i].now);
        lint_competences(site, lints[i].alone ? none : there, hear, &heard);
        if (heard.errors != lints[i].errors || heard.warnings != lints[i].warnings ||
            (lints[i].want != NULL && strcmp(text_string(&heard.last), lints[i].want) != 0))
            fail_msg("%s: %d errors, %d warnings, %s", lints[i].name, heard.errors, heard.warnings,
                     text_string(&heard.last));
        text_clear(&heard.last);
        site_free(site);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_competences_bad),
        cmocka_unit_test(test_competences_limits),
        cmocka_unit_test(test_competences_shipped),
        cmocka_unit_test(test_lint_competences),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
