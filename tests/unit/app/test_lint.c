/* What the check says of scenarios that can be read and cannot mean what they say: a good text with
 * one edit, and the line, the column and the words that are wanted. */
#include "asked.h"
#include "bad.h"

#include <stdio.h>

#include "app/lint.h"

static const char GOOD[] = ASKED_HEAD
    " \"kit\": [\"FE-15-03\", \"NF-20-05\", \"SS-25-07\", \"SS-45-02\", \"WIRE-12\"],\n"
    " \"faults\": [],\n"
    " \"scenes\": [\n"
    "  {\"id\": \"brief\", \"kind\": \"tell\", \"text\": {\"en\": \"A\", \"pl\": \"A\"}},\n"
    "  {\"id\": \"where\", \"kind\": \"place\", \"text\": {\"en\": \"W\", \"pl\": \"W\"},\n"
    "   \"piece\": \"SS-25-07\", \"within_percent\": 1},\n"
    "  {\"id\": \"what-now\", \"kind\": \"decide\", \"text\": {\"en\": \"Q\", \"pl\": \"Q\"},\n"
    "   \"when\": [{\"seen\": \"answered scene=where\", \"next\": \"work\"}],\n"
    "   \"answers\": [\n"
    "    {\"id\": \"stop\", \"right\": true, \"text\": {\"en\": \"S\", \"pl\": \"S\"}},\n"
    "    {\"id\": \"again\", \"mistake\": \"M15\", \"text\": {\"en\": \"O\", \"pl\": \"O\"}}]},\n"
    "  {\"id\": \"work\", \"kind\": \"pass\", \"text\": {\"en\": \"P\", \"pl\": \"P\"}}],\n"
    " \"rubric\": [\n"
    "  {\"id\": \"r\", \"critical\": \"K2\", \"points\": 10, \"text\": {\"en\": \"R\", \"pl\": "
    "\"R\"},\n   \"need\": {\"rule\": \"right-pieces\"}},\n"
    "  {\"id\": \"s\", \"points\": 10, \"text\": {\"en\": \"S\", \"pl\": \"S\"},\n"
    "   \"need\": {\"seen\": \"answered scene=what-now choice=stop\"}},\n"
    "  {\"id\": \"t\", \"points\": 2, \"text\": {\"en\": \"T\", \"pl\": \"T\"},\n"
    "   \"need\": {\"never\": \"put-back piece=SS-45-02\"}}],\n"
    " \"pass_percent\": 80}\n";

/* The first thing that is told. */
typedef struct {
    int count;
    Err first;
    bool is_error;
} Heard;

static void hear(void *context, bool is_error, ErrPlace place, const char *text)
{
    Heard *heard = context;
    if (heard->count++ > 0) return;
    heard->is_error = is_error;
    (void)err_at(&heard->first, place, "%s", text);
}

static Work *site_work; /* the shipped site, read once */

static int load(void **state)
{
    (void)state;
    Err err = {0};
    return work_read("assets", "scenarios/ostrel-mill", NULL, NULL, NULL, &site_work, &err) ? 0
                                                                                            : -1;
}

static int unload(void **state)
{
    (void)state;
    work_free(site_work);
    return 0;
}

/* The first finding as if it were the parser's error, so that the tables of bad texts serve. */
static bool lint(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    Text parts[WORK_PART_COUNT];
    Text text = {0};
    Work *work = NULL;
    Heard heard = {0};
    text_add_bytes(&text, bytes, len);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        parts[i] = i == WORK_SCENARIO ? text : *work_part(site_work, (WorkPart)i);
    }
    bool ok = work_from_texts(parts, &work, err);
    if (ok) ok = lint_scenario(work, hear, &heard, err);
    if (ok && heard.count > 0) {
        const char *at = strchr(heard.first.text, ':'); /* behind "stored scenario" */
        text_clear(&text);
        text_addf(&text, "%s%s", file, at);
        *err = (Err){.code = ERR_INPUT};
        (void)snprintf(err->text, sizeof err->text, "%.1000s", text.bytes);
        ok = false;
    }
    work_free(work);
    text_clear(&text);
    return ok;
}

static const BadRow rows[] = {
    {"good", "\"T\"", "\"U\"", NULL, NULL},
    {"no Polish", "{\"en\": \"A\", \"pl\": \"A\"}", "^{\"en\": \"A\"}", NULL,
     "there is no \"pl\", which the site speaks: add it"},
    {"no Polish answer", "{\"en\": \"S\", \"pl\": \"S\"}", "^{\"en\": \"S\"}", NULL,
     "there is no \"pl\", which the site speaks: add it"},
    {"no English in the rubric", "{\"en\": \"T\", \"pl\": \"T\"}", "^{\"pl\": \"T\"}", NULL,
     "there is no \"en\", which the site speaks: add it"},
    {"another language", "{\"en\": \"A\", \"pl\": \"A\"}",
     "{\"en\": \"A\", \"pl\": \"A\", \"pt\": ^\"A\"}", NULL,
     "the site does not speak \"pt\": add it to the site's languages"},
    {"no such scene", "answered scene=what-now choice=stop", "^answered scene=what-no choice=stop",
     NULL,
     "nobody can reach the 10 points of \"s\": no run has scene=what-no; did you mean "
     "\"what-now\"?"},
    {"a scene that asks nothing", "answered scene=what-now choice=stop", "^answered scene=brief",
     NULL, "nobody can reach the 10 points of \"s\": no run has scene=brief"},
    {"a scene that begins", "answered scene=what-now choice=stop", "scene-begun scene=brief", NULL,
     NULL},
    {"no such answer", "answered scene=what-now choice=stop",
     "^answered scene=what-now choice=stops", NULL,
     "nobody can reach the 10 points of \"s\": no run has choice=stops; did you mean \"stop\"?"},
    {"an answer to another scene", "answered scene=what-now choice=stop",
     "^answered scene=where choice=stop", NULL,
     "nobody can reach the 10 points of \"s\": no run has choice=stop"},
    {"a place is answered", "answered scene=what-now choice=stop",
     "answered scene=where choice=there", NULL, NULL},
    {"an answer given", "answered scene=what-now choice=stop", "answer choice=again", NULL, NULL},
    {"an answer that nobody can give", "answered scene=what-now choice=stop", "^answer choice=agan",
     NULL,
     "nobody can reach the 10 points of \"s\": no run has choice=agan; did you mean \"again\"?"},
    {"a piece that is fetched from the store-room", "answered scene=what-now choice=stop",
     "^piece-fetched piece=SS-30-06", NULL, NULL},
    {"a piece that the site has not", "answered scene=what-now choice=stop",
     "^piece-read piece=SS-31-06", NULL,
     "nobody can reach the 10 points of \"s\": no run has piece=SS-31-06; did you mean "
     "\"SS-30-06\"?"},
    {"a repair of nothing", "answered scene=what-now choice=stop", "repaired fault=nothing", NULL,
     NULL},
    {"a repair of what is no fault here", "answered scene=what-now choice=stop",
     "^repaired fault=eye-dirty", NULL,
     "nobody can reach the 10 points of \"s\": no run has fault=eye-dirty; here it is "
     "one of nothing"},
    {"a fault that does not set in", "put-back piece=SS-45-02", "^fault-set kind=jam", NULL,
     "nobody can miss \"t\": no run has kind=jam"},
    {"told to nobody", "answered scene=what-now choice=stop", "^told who=qualty", NULL,
     "nobody can reach the 10 points of \"s\": no run has who=qualty; did you mean \"quality\"?"},
    {"told of nothing", "answered scene=what-now choice=stop", "^told who=quality about=banana",
     NULL, "nobody can reach the 10 points of \"s\": no run has about=banana"},
    {"told of nearly nothing", "answered scene=what-now choice=stop", "^told about=check-god", NULL,
     "nobody can reach the 10 points of \"s\": no run has about=check-god; did you mean "
     "\"check-good\"?"},
    {"neither right nor wrong", "answered scene=what-now choice=stop", "^answered right=true", NULL,
     "nobody can reach the 10 points of \"s\": no run has right=true"},
    {"neither seen nor unseen", "answered scene=what-now choice=stop", "^removed seen=maybe", NULL,
     "nobody can reach the 10 points of \"s\": no run has seen=maybe"},
    {"a bin opened by nobody", "answered scene=what-now choice=stop", "^bin-opened by=anybody",
     NULL, "nobody can reach the 10 points of \"s\": no run has by=anybody"},
    {"a place of no pack", "answered scene=what-now choice=stop", "^piece-placed spot=centre", NULL,
     "nobody can reach the 10 points of \"s\": no run has spot=centre"},
    {"a height of no pack", "answered scene=what-now choice=stop", "^piece-placed height=over",
     NULL, "nobody can reach the 10 points of \"s\": no run has height=over"},
    {"a program of another line", "answered scene=what-now choice=stop",
     "^program-read product=loaf-800", NULL,
     "nobody can reach the 10 points of \"s\": no run has product=loaf-800"},
    {"a release that is asked of whom the site names", "answered scene=what-now choice=stop",
     "^released authority=yes", NULL, NULL},
    {"a release by the wrong role", "answered scene=what-now choice=stop", "^released authority=no",
     NULL, NULL},
    {"a release by the right role", "\"role\": \"line-checker\"", "\"role\": \"quality\"", NULL,
     NULL},
    {"in order, one impossible", "\"seen\": \"answered scene=what-now choice=stop\"",
     "\"in_order\": [\"stop\", \"^told who=boss\"]", NULL,
     "nobody can reach the 10 points of \"s\": no run has who=boss"},
    {"after what never is", "\"seen\": \"answered scene=what-now choice=stop\"",
     "\"seen\": \"stop\", \"after\": \"^told who=boss\"", NULL,
     "nobody can reach the 10 points of \"s\": no run has who=boss"},
    {"a rule of another critical line", "\"critical\": \"K2\"", "\"critical\": \"K13\"",
     "{\"rule\": \"right-pieces\"}", "rule right-pieces is K2, here K13"},
    {"a rule of no critical line", "{\"rule\": \"right-pieces\"}",
     "{\"rule\": \"fail-safes-stop\"}", NULL, NULL},
    {"a rule that is not critical", "\"critical\": \"K2\", ", "", NULL, NULL},
    {"critical, and impossible", "{\"rule\": \"right-pieces\"}", "{\"seen\": \"^told who=boss\"}",
     NULL, "nobody can meet critical line \"r\": no run has who=boss"},
    {"critical, and not to be missed", "{\"rule\": \"right-pieces\"}",
     "{\"never\": \"^told who=boss\"}", NULL,
     "nobody can miss critical line \"r\": no run has who=boss"},
    {"not to be missed", "put-back piece=SS-45-02", "^put-back piece=SS-45-20", NULL,
     "nobody can miss \"t\": no run has piece=SS-45-20; did you mean \"SS-45-02\"?"},
    {"for every of nothing", "{\"never\": \"put-back piece=SS-45-02\"}",
     "{\"for_every\": \"^told who=boss\", \"followed_by\": \"stop\"}", NULL,
     "nobody can miss \"t\": no run has who=boss"},
    {"no right piece of a metal in the tray", "\"SS-25-07\", \"SS-45-02\"", "\"SS-45-02\"", NULL,
     NULL},
    {"no right piece of a metal", "\"date\": \"2026", "\"date\": \"2028", "{\"rule\"",
     "nobody can meet \"r\": the site has no right piece of chrome-steel; add one, or a fault"},
    {"no right piece, and a fault",
     "\"NF-20-05\", \"SS-25-07\", \"SS-45-02\", \"WIRE-12\"],\n \"faults\": []",
     "\"SS-25-07\", \"SS-45-02\", \"WIRE-12\"],\n \"faults\": [{\"kind\": \"reject-late\", "
     "\"by_ms\": 90}]",
     NULL, NULL},
    {"a way that no run goes", "answered scene=where", "^answered scene=were", NULL,
     "no run goes this way from \"what-now\": no run has scene=were; did you mean \"where\"?"},
    {"every place is right", "\"within_percent\": 1", "\"within_percent\": 50",
     "{\"id\": \"where\"",
     "every place in the pack is right: the strongest has 2.2 % more signal than the weakest, and "
     "within_percent is 50"},
    {"a fault that hides nothing", "\"faults\": []",
     "\"faults\": [^{\"kind\": \"sensitivity-changed\", \"signal_needed_percent\": 101}]", NULL,
     "with this fault every right piece would still be found anywhere: \"FE-15-03\" with the "
     "chance 0.99970 a pass; ask for more signal"},
    {"a fault that hides something", "\"faults\": []",
     "\"faults\": [{\"kind\": \"sensitivity-changed\", \"signal_needed_percent\": 300}]", NULL,
     NULL},
};

static void test_lint_scenario_rows(void **state)
{
    bad_check_rows(GOOD, rows, sizeof rows / sizeof rows[0], lint, *state);
}

/* Points that cannot be reached are told twice: the line, and the mark that no longer can be. */
static void test_lint_scenario_pass_mark(void **state)
{
    (void)state;
    Text text = {0};
    BadRow row = {"mark", "answered scene=what-now choice=stop", "told who=boss", NULL, NULL};
    bad_edit(GOOD, &row, &text);
    Work *work = asked_work(text.bytes);
    Heard heard = {0};
    Err err = {0};
    assert_true(lint_scenario(work, hear, &heard, &err));
    assert_int_equal(heard.count, 2);
    assert_true(heard.is_error);
    work_free(work);
    text_clear(&text);
}

/* Happenings have one word for a late and an early reject; it is told. */
static void test_lint_scenario_fault_words(void **state)
{
    static const BadRow edits[] = {
        {"fault", "\"faults\": []", "\"faults\": [{\"kind\": \"reject-late\", \"by_ms\": 90}]",
         NULL, NULL},
        {"pattern", "answered scene=what-now choice=stop", "repaired fault=reject-late", NULL,
         NULL},
        {"pattern", "fault=reject-late", "fault=reject-shifted", NULL, NULL},
    };
    Text texts[3] = {{0}, {0}, {0}};
    Err err = {0};
    (void)state;
    for (int i = 0; i < 3; i++) {
        bad_edit(i == 0 ? GOOD : texts[i - 1].bytes, &edits[i], &texts[i]);
    }
    for (int i = 1; i < 3; i++) {
        Work *work = asked_work(texts[i].bytes);
        Heard heard = {0};
        assert_true(lint_scenario(work, hear, &heard, &err));
        assert_int_equal(heard.count, i == 1 ? 2 : 0); /* the line, and the mark */
        if (i == 1)
            assert_non_null(strstr(heard.first.text, "here it is one of reject-shifted, nothing"));
        work_free(work);
    }
    for (int i = 0; i < 3; i++) {
        text_clear(&texts[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lint_scenario_rows),
        cmocka_unit_test(test_lint_scenario_pass_mark),
        cmocka_unit_test(test_lint_scenario_fault_words),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
