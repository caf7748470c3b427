/* A scenario: what is read, what a bad one says, and what the scoring says of its rubric. */
#include "bad.h"
#include "player/player.h"
#include "scenario/scenario.h"
#include "scoring/score.h"

typedef struct {
    MetalTable *metals;
    Kinds *kinds;
    Site *site; /* the shipped one, for which the text below is written */
} Shipped;

static int load(void **state)
{
    Err err = {0};
    Text kinds = {0};
    Text site = {0};
    Shipped *shipped = check_calloc(1, sizeof *shipped);
    *state = shipped;
    bad_read_file("assets/kinds.json", &kinds);
    bad_read_file("scenarios/ostrel-mill/site.json", &site);
    bool ok = metals_load("assets/metals.json", &shipped->metals, &err) &&
              kinds_parse("kinds", kinds.bytes, kinds.len, &shipped->kinds, &err) &&
              site_parse("site", site.bytes, site.len, shipped->metals, shipped->kinds,
                         &shipped->site, &err);
    text_clear(&kinds);
    text_clear(&site);
    if (!ok) print_error("%s\n", err.text);
    return ok ? 0 : -1;
}

static int unload(void **state)
{
    Shipped *shipped = *state;
    site_free(shipped->site);
    kinds_free(shipped->kinds);
    metals_free(shipped->metals);
    free(shipped);
    return 0;
}

/* Read it and look at its rubric, as every reader of a scenario does. */
static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    const Shipped *shipped = context;
    Scenario *scenario = NULL;
    bool ok = scenario_parse(file, bytes, len, shipped->site, &scenario, err);
    assert_true(ok == (scenario != NULL));
    ok = ok && player_check(scenario, err) && score_check(scenario, err);
    scenario_free(scenario);
    return ok;
}

static const char GOOD[] =
    "{\"format\": \"threepass-scenario-1\", \"id\": \"t\", \"title\": {\"en\": \"T\"},\n"
    " \"site\": \"ostrel-mill\", \"line\": \"d1\", \"product\": \"butter-plain-200\",\n"
    " \"role\": \"line-checker\", \"plan\": \"start\", \"minutes\": 10, \"date\": \"2026-03-02\",\n"
    " \"clock\": \"06:00\", \"last_good_check\": \"05:30:15\", \"fed\": false,\n"
    " \"kit\": [\"FE-15-03\", \"NF-20-05\"],\n"
    " \"stock\": [{\"place\": \"pallet\", \"from\": \"05:00\", \"to\": \"05:59\", \"packs\": 7}],\n"
    " \"faults\": [\n"
    "  {\"kind\": \"reject-early\", \"by_ms\": 60, \"after_passes\": 1},\n"
    "  {\"kind\": \"sensitivity-changed\", \"signal_needed_percent\": 200},\n"
    "  {\"kind\": \"wrong-program\", \"product\": \"butter-200\"}],\n"
    " \"scenes\": [\n"
    "  {\"id\": \"a\", \"kind\": \"tell\", \"text\": {\"en\": \"A\"}},\n"
    "  {\"id\": \"b\", \"kind\": \"decide\", \"text\": {\"en\": \"B\"}, \"answers\": [\n"
    "   {\"id\": \"yes\", \"right\": true, \"text\": {\"en\": \"Yes\"}, \"next\": \"d\"},\n"
    "   {\"id\": \"no\", \"mistake\": \"M1\", \"text\": {\"en\": \"No\"}}]},\n"
    "  {\"id\": \"c\", \"kind\": \"turn\", \"text\": {\"en\": \"C\"}, \"piece\": \"WIRE-12\",\n"
    "   \"ask\": \"hardest\", \"next\": \"b\"},\n"
    "  {\"id\": \"d\", \"kind\": \"pass\", \"text\": {\"en\": \"D\"}, \"next\": \"end\"}],\n"
    " \"rubric\": [\n"
    "  {\"id\": \"r\", \"critical\": \"K4\", \"points\": 10, \"text\": {\"en\": \"R\"},\n"
    "   \"need\": {\"rule\": \"removal-seen\"}},\n"
    "  {\"id\": \"s\", \"points\": 0, \"text\": {\"en\": \"S\"}, \"why\": {\"en\": \"W\"},\n"
    "   \"need\": {\"seen\": \"blow\", \"at_least\": 2, \"before\": \"alarm\"}}],\n"
    " \"pass_percent\": 80,\n"
    " \"scripts\": {\"right\": \"t.right.txt\", \"misses\": {\"K4\": \"t.k4.txt\"}}}\n";

#define CLOCK_WORDS "must be a time of day such as 10:30, limit 00:00..23:59:59"
#define ID_WORDS "must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"

static const BadRow head_rows[] = {
    {"good", "06:00", "06:00:00", NULL, NULL},
    {"no JSON", "\"format\": ", "\"format\"^=", NULL,
     "not JSON: expected ':' after a key, found ="},
    {"format missing", "\"format\": \"threepass-scenario-1\", ", "", "{", "format is missing"},
    {"another format", "\"threepass-scenario-1\"", "^\"threepass-scenario-2\"", NULL,
     "format is \"threepass-scenario-2\", must be one of \"threepass-scenario-1\"; did you mean "
     "\"threepass-scenario-1\"?"},
    {"unknown key", "\"minutes\"", "^\"minute\"", NULL,
     "unknown key \"minute\"; did you mean \"minutes\"?"},
    {"id missing", "\"id\": \"t\", ", "", "{", "id is missing"},
    {"id a number", "\"id\": \"t\"", "\"id\": ^4", NULL, "id: is a number, must be a string"},
    {"title missing", "\"title\": {\"en\": \"T\"},", "", "{", "title is missing"},
    {"title empty", "{\"en\": \"T\"}", "^{}", NULL,
     "title must be an object of texts by language, such as {\"en\": \"...\"}"},
    {"another site", "\"ostrel-mill\"", "^\"other-mill\"", NULL,
     "site is \"other-mill\", but the site read with it is \"ostrel-mill\""},
    {"no line", "\"d1\"", "^\"d9\"", NULL, "the site has no line \"d9\"; did you mean \"d1\"?"},
    {"no line near", "\"d1\"", "^\"warehouse\"", NULL, "the site has no line \"warehouse\""},
    {"product of another line", "\"butter-plain-200\"", "^\"loaf-800\"", NULL,
     "line \"d1\" has no program for \"loaf-800\", only for butter-200, butter-plain-200"},
    {"no product", "\"butter-plain-200\"", "^\"butter\"", NULL,
     "line \"d1\" has no program for \"butter\", only for butter-200, butter-plain-200"},
    {"product misspelt", "\"butter-plain-200\"", "^\"butter-plain-20\"", NULL,
     "line \"d1\" has no program for \"butter-plain-20\", only for butter-200, butter-plain-200; "
     "did you mean \"butter-plain-200\"?"},
    {"product left out", "\"product\": \"butter-plain-200\",", "", NULL, NULL},
    {"role of nobody", "\"role\": \"line-checker\"", "\"role\": ^\"checker\"", NULL,
     "role is \"checker\", must be one of \"line-checker\", \"line-leader\", \"supervisor\", "
     "\"quality\", \"maintenance\", \"warehouse\", \"food-safety-team-leader\""},
    {"no plan of the name", "\"plan\": \"start\"", "\"plan\": ^\"begin\"", NULL,
     "plan is \"begin\", must be one of \"start\", \"interval\", \"changeover\", \"end\", "
     "\"after-failure\""},
    {"plan not of the line", "\"plan\": \"start\"", "\"plan\": ^\"end\"", NULL,
     "line \"d1\" has no check plan \"end\", only start, interval"},
    {"no minutes", "\"minutes\": 10", "\"minutes\": ^0", NULL, "minutes is 0, limit 1..60"},
    {"many minutes", "\"minutes\": 10", "\"minutes\": ^61", NULL, "minutes is 61, limit 1..60"},
    {"half a minute", "\"minutes\": 10", "\"minutes\": ^0.5", NULL,
     "minutes: has a point or an exponent, must be a whole number"},
    {"an hour", "\"minutes\": 10", "\"minutes\": 60", NULL, NULL},
    {"no date", "\"2026-03-02\"", "^\"2026-02-30\"", NULL,
     "date is \"2026-02-30\", must be a day of the calendar such as 2026-03-02"},
    {"clock missing", " \"clock\": \"06:00\",", "", "{", "clock is missing"},
    {"clock of 24", "\"06:00\"", "^\"24:00\"", NULL, "clock is \"24:00\", " CLOCK_WORDS},
    {"clock a number", "\"06:00\"", "^600", NULL, "clock: is a number, must be a string"},
    {"check after now", "\"05:30:15\"", "^\"06:00:01\"", NULL,
     "last_good_check is \"06:00:01\", must not be after clock, \"06:00\""},
    {"fed a word", "\"fed\": false", "\"fed\": ^\"no\"", NULL,
     "fed: is a string, must be true or false"},
    {"kit none", "[\"FE-15-03\", \"NF-20-05\"]", "^[]", NULL, "kit has 0 elements, limit 1..16"},
    {"kit a number", "\"NF-20-05\"", "^20", NULL, "kit must hold ids of the site's pieces"},
    {"kit unknown", "\"NF-20-05\"", "^\"NF-20-50\"", NULL,
     "the site has no piece \"NF-20-50\"; did you mean \"NF-20-05\"?"},
    {"kit twice", "\"NF-20-05\"", "^\"FE-15-03\"", NULL, "\"FE-15-03\" is in the kit twice"},
    {"stock nowhere", "\"pallet\"", "^\"yard\"", NULL,
     "place is \"yard\", must be one of \"pallet\", \"store\", \"lorry\""},
    {"stock backwards", "\"05:00\"", "^\"06:00\"", NULL,
     "from is \"06:00\", must not be after to, \"05:59\""},
    {"stock without packs", ", \"packs\": 7", "", "{\"place\"", "packs is missing"},
    {"stock of less than none", "\"packs\": 7", "\"packs\": ^-1", NULL,
     "packs is -1, limit 0..10000000"},
    {"stock of too much", "\"packs\": 7", "\"packs\": ^10000001", NULL,
     "packs is 10000001, limit 0..10000000"},
    {"stock at no time", "\"05:59\"", "^\"5:59\"", NULL, "to is \"5:59\", " CLOCK_WORDS},
    {"fault a word", "{\"kind\": \"reject-early\"", "^\"late\", {\"kind\": \"reject-early\"", NULL,
     "fault: is a string, must be an object"},
    {"fault unknown", "\"reject-early\"", "^\"reject-soon\"", NULL,
     "there is no fault \"reject-soon\"; did you mean \"reject-off\"?"},
    {"fault of another kind", "\"by_ms\": 60", "^\"product\": \"butter-200\"", NULL,
     "unknown key \"product\""},
    {"shift missing", "\"by_ms\": 60, ", "", "{\"kind\": \"reject-early\"", "by_ms is missing"},
    {"shift of nothing", "\"by_ms\": 60", "\"by_ms\": ^0", NULL, "by_ms is 0, limit 1..10000"},
    {"shift of much", "\"by_ms\": 60", "\"by_ms\": ^10001", NULL, "by_ms is 10001, limit 1..10000"},
    {"fault of a metal that is none", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"contaminant\", \"diameter_mm\": 1, \"at_pack\": 1, \"metal\": ^\"tin\"}, "
     "{\"kind\": \"reject-early\"",
     NULL,
     "metal is \"tin\", must be one of \"stainless-304\", \"stainless-316\", \"chrome-steel\", "
     "\"carbon-steel\", \"brass\", \"aluminium\", \"copper\", \"lead\""},
    {"fault of a piece outside the kit", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"piece-falls\", \"piece\": ^\"SS-25-07\"}, {\"kind\": \"reject-early\"", NULL,
     "there is no piece \"SS-25-07\" in the kit"},
    {"fault of an unknown alarm", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"alarm-cleared\", \"minutes_before\": 9, \"what\": ^\"smoke\"}, {\"kind\": "
     "\"reject-early\"",
     NULL,
     "what is \"smoke\", must be one of \"reject-confirmation\", \"bin-full\", \"bin-open\", "
     "\"low-air\", \"photo-eye\", \"encoder\", \"power\""},
    /* the belt is 2200 + 1200 mm from infeed to end, the bin holds 40, the stroke is 120 ms */
    {"belt shorter than the line", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"metal-in-belt\", \"metal\": \"brass\", \"diameter_mm\": 2, \"belt_mm\": "
     "^3400}, {\"kind\": \"reject-early\"",
     NULL, "belt_mm is 3400, must be above 3400 from infeed to end"},
    {"more in the bin than it holds", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"bin-filled\", \"packs\": ^41}, {\"kind\": \"reject-early\"", NULL,
     "packs: the bin would hold 41, limit 40"},
    {"stroke no longer than usual", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"stroke-long\", \"stroke_ms\": ^120}, {\"kind\": \"reject-early\"", NULL,
     "stroke_ms is 120, must be above the line's own, 120"},
    {"wire as thick as long", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"contaminant\", \"metal\": \"brass\", \"diameter_mm\": 2, \"at_pack\": 1, "
     "\"length_mm\": ^3.9}, {\"kind\": \"reject-early\"",
     NULL, "length_mm is 3.9, must be at least twice diameter_mm, 2"},
    {"thawed to nothing that is known", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"product-temperature\", \"temperature_c\": 5, \"thawed_percent\": ^20}, "
     "{\"kind\": \"reject-early\"",
     NULL, "thawed_percent is 20, but conductivity_s_per_m, that of what is thawed, is missing"},
    {"belt speed of nothing", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"belt-speed\", \"percent\": ^9}, {\"kind\": \"reject-early\"", NULL,
     "percent is 9, limit 10..300"},
    {"air for no blow", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"low-air\", \"fills_one_in_ms\": 1, \"blows\": ^0}, {\"kind\": "
     "\"reject-early\"",
     NULL, "blows is 0, limit 1..100"},
    {"a pack before the first", "{\"kind\": \"reject-early\"",
     "{\"kind\": \"contaminant\", \"metal\": \"brass\", \"diameter_mm\": 2, \"at_pack\": ^0}, "
     "{\"kind\": \"reject-early\"",
     NULL, "at_pack is 0, limit 1..100000"},
    {"fault before the first", "\"after_passes\": 1", "\"after_passes\": ^-1", NULL,
     "after_passes is -1, limit 0..1000"},
    {"fault never", "\"after_passes\": 1", "\"after_passes\": ^1001", NULL,
     "after_passes is 1001, limit 0..1000"},
    {"percent low", "\"signal_needed_percent\": 200", "\"signal_needed_percent\": ^9", NULL,
     "signal_needed_percent is 9, limit 10..1000"},
    {"percent high", "\"signal_needed_percent\": 200", "\"signal_needed_percent\": ^1001", NULL,
     "signal_needed_percent is 1001, limit 10..1000"},
    {"program of no product", "\"butter-200\"", "^\"rusk-400\"", NULL,
     "line \"d1\" has no program for \"rusk-400\", only for butter-200, butter-plain-200"},
};

static const BadRow scene_rows[] = {
    {"scene a word", "{\"id\": \"a\"", "^\"a\", {\"id\": \"a\"", NULL, "a scene must be an object"},
    {"scene without id", "\"id\": \"a\", ", "", "{\"id\": \"a\"", "id is missing"},
    {"scene id twice", "\"id\": \"b\"", "\"id\": ^\"a\"", NULL, "scene \"a\" is there twice"},
    {"scene called end", "\"id\": \"b\"", "\"id\": ^\"end\"", NULL,
     "\"end\" is the end of the scenario, not a scene"},
    {"scene kind unknown", "\"tell\"", "^\"show\"", NULL,
     "kind is \"show\", must be one of \"tell\", \"pass\", \"place\", \"turn\", \"decide\", "
     "\"arrange\", \"write\""},
    {"scene text missing", ", \"text\": {\"en\": \"A\"}", "", "{\"id\": \"a\"", "text is missing"},
    {"tell with answers", "\"text\": {\"en\": \"A\"}",
     "\"text\": {\"en\": \"A\"}, ^\"answers\": []", NULL, "unknown key \"answers\""},
    {"decide with next", "\"text\": {\"en\": \"B\"}", "\"text\": {\"en\": \"B\"}, ^\"next\": \"c\"",
     NULL, "unknown key \"next\"; did you mean \"text\"?"},
    {"next of no scene", "\"next\": \"end\"", "\"next\": ^\"ends\"", NULL,
     "there is no scene \"ends\"; did you mean \"end\"?"},
    {"next far from any", "\"next\": \"end\"", "\"next\": ^\"somewhere\"", NULL,
     "there is no scene \"somewhere\""},
    {"no way to a scene", "\"text\": {\"en\": \"No\"}",
     "\"text\": {\"en\": \"No\"}, \"next\": \"a\"", "{\"id\": \"c\"",
     "no way leads to scene \"c\": name it in a next, or take it out"},
    {"no way to the end", "\"next\": \"end\"", "\"next\": \"a\"", "{\"id\": \"a\"",
     "scene \"a\" is a dead end: no way leads from it to the end"},
    {"one answer", ",\n   {\"id\": \"no\", \"mistake\": \"M1\", \"text\": {\"en\": \"No\"}}", "",
     "[\n   {\"id\": \"yes\"", "answers has 1 elements, limit 2..8"},
    {"answer twice", "\"id\": \"no\"", "\"id\": ^\"yes\"", NULL, "answer \"yes\" is there twice"},
    {"answer misspelt", "\"mistake\"", "^\"mistakes\"", NULL,
     "unknown key \"mistakes\"; did you mean \"mistake\"?"},
    {"none right", "\"right\": true, ", "", "[\n   {\"id\": \"yes\"",
     "no answer of \"b\" is right"},
    {"right a word", "\"right\": true", "\"right\": ^\"true\"", NULL,
     "right: is a string, must be true or false"},
    {"right and a mistake", "\"mistake\": \"M1\"", "\"right\": true, \"mistake\": \"M1\"",
     "{\"id\": \"no\"", "answer \"no\" is right and a mistake at once"},
    {"mistake misspelt", "\"M1\"", "^\"M 1\"", NULL, "mistake is \"M 1\", limit M1..M32"},
    {"mistake beyond", "\"M1\"", "^\"M33\"", NULL, "mistake is \"M33\", limit M1..M32"},
    {"mistake of none", "\"M1\"", "^\"M0\"", NULL, "mistake is \"M0\", limit M1..M32"},
    {"mistake in another form", "\"M1\"", "^\"M01\"", NULL, "mistake is \"M01\", limit M1..M32"},
    {"mistake a number", "\"M1\"", "^1", NULL, "mistake: is a number, must be a string"},
    {"answer to nowhere", "\"next\": \"d\"", "\"next\": ^\"e\"", NULL, "there is no scene \"e\""},
    {"turn of a ball", "\"WIRE-12\"", "^\"FE-15-03\"", NULL, "the site has no wire \"FE-15-03\""},
    {"turn of nothing", "\"piece\": \"WIRE-12\",", "", "{\"id\": \"c\"", "piece is missing"},
    {"turn for nothing", "\"hardest\"", "^\"hard\"", NULL,
     "ask is \"hard\", must be one of \"hardest\", \"easiest\""},
};

/* The good text with another scene in place of "a". */
#define SCENE_A "{\"id\": \"a\", \"kind\": \"tell\", \"text\": {\"en\": \"A\"}}"
#define PLACE(rest) "{\"id\": \"a\", \"kind\": \"place\", \"text\": {\"en\": \"A\"}" rest "}"
#define ARRANGE(rest) "{\"id\": \"a\", \"kind\": \"arrange\", \"text\": {\"en\": \"A\"}" rest "}"
#define WRITE(rest) "{\"id\": \"a\", \"kind\": \"write\", \"text\": {\"en\": \"A\"}" rest "}"
#define TELL(rest) "{\"id\": \"a\", \"kind\": \"tell\", \"text\": {\"en\": \"A\"}" rest "}"
#define STEP(id, rest) "{\"id\": \"" id "\", \"text\": {\"en\": \"S\"}" rest "}"
#define GIVEN(rest) "{\"row\": \"brass/middle\", \"value\": \"removed\"" rest "}"

static const BadRow asked_rows[] = {
    {"place", SCENE_A, PLACE(", \"piece\": \"FE-15-03\", \"within_percent\": 10"), NULL, NULL},
    {"place without a piece", SCENE_A, "^" PLACE(", \"within_percent\": 10"), NULL,
     "piece is missing"},
    {"place of an unknown piece", SCENE_A,
     PLACE(", \"piece\": ^\"FE-15-04\", \"within_percent\": 10"), NULL,
     "the site has no piece \"FE-15-04\"; did you mean \"FE-15-03\"?"},
    {"place without a share", SCENE_A, "^" PLACE(", \"piece\": \"FE-15-03\""), NULL,
     "within_percent is missing"},
    {"place of no share", SCENE_A, PLACE(", \"piece\": \"FE-15-03\", \"within_percent\": ^0"), NULL,
     "within_percent is 0, limit 1..1000"},
    {"place of any share", SCENE_A, PLACE(", \"piece\": \"FE-15-03\", \"within_percent\": ^1001"),
     NULL, "within_percent is 1001, limit 1..1000"},
    {"place with an ask", SCENE_A, PLACE(", ^\"ask\": \"hardest\""), NULL, "unknown key \"ask\""},
    {"arrange", SCENE_A, ARRANGE(", \"steps\": [" STEP("x", "") ", " STEP("y", "") "]"), NULL,
     NULL},
    {"arrange, partly", SCENE_A,
     ARRANGE(", \"steps\": [" STEP("x", ", \"after\": [\"z\"]") ", " STEP(
         "y", ", \"after\": []") ", " STEP("z", ", \"after\": []") "]"),
     NULL, NULL},
    {"arrange nothing", SCENE_A, "^" ARRANGE(""), NULL, "steps is missing"},
    {"arrange one", SCENE_A, ARRANGE(", \"steps\": ^[" STEP("x", "") "]"), NULL,
     "steps has 1 elements, limit 2..8"},
    {"arrange a word", SCENE_A, ARRANGE(", \"steps\": [^\"x\", \"y\"]"), NULL,
     "step: is a string, must be an object"},
    {"step twice", SCENE_A,
     ARRANGE(", \"steps\": [" STEP("x", "") ", {\"id\": ^\"x\", \"text\": {\"en\": \"S\"}}]"), NULL,
     "step \"x\" is there twice"},
    {"step without words", SCENE_A, ARRANGE(", \"steps\": [^{\"id\": \"x\"}, " STEP("y", "") "]"),
     NULL, "text is missing"},
    {"step misspelt", SCENE_A,
     ARRANGE(", \"steps\": [" STEP("x", ", ^\"afters\": []") ", " STEP("y", "") "]"), NULL,
     "unknown key \"afters\"; did you mean \"after\"?"},
    {"step after nothing known", SCENE_A,
     ARRANGE(", \"steps\": [" STEP("stop", "") ", " STEP("hold", ", \"after\": [^\"step\"]") "]"),
     NULL, "there is no step \"step\"; did you mean \"stop\"?"},
    {"step after a number", SCENE_A,
     ARRANGE(", \"steps\": [" STEP("x", "") ", " STEP("y", ", \"after\": [^1]") "]"), NULL,
     "after must hold ids of steps"},
    {"steps that wait for each other", SCENE_A,
     ARRANGE(", \"steps\": ^[" STEP("x", ", \"after\": [\"y\"]") ", " STEP("y", "") "]"), NULL,
     "no order of the steps is right: some wait for each other"},
    {"step that waits for itself", SCENE_A,
     ARRANGE(", \"steps\": ^[" STEP("x", ", \"after\": [\"x\"]") ", " STEP("y", "") "]"), NULL,
     "no order of the steps is right: some wait for each other"},
    {"steps in any order", SCENE_A,
     ARRANGE(", \"steps\": ^[" STEP("x", "") ", " STEP("y", ", \"after\": []") "]"), NULL,
     "every order of the steps is right"},
    {"given", SCENE_A, WRITE(", \"given\": [" GIVEN(", \"should_be\": \"missed\"") "]"), NULL,
     NULL},
    {"given nothing", SCENE_A, WRITE(", \"given\": ^[]"), NULL,
     "given has 0 elements, limit 1..12"},
    {"given a word", SCENE_A, WRITE(", \"given\": [^\"brass\"]"), NULL,
     "given: is a string, must be an object"},
    {"given to a tell", SCENE_A, TELL(", ^\"given\": []"), NULL, "unknown key \"given\""},
    {"given without a row", SCENE_A, WRITE(", \"given\": [^{\"value\": \"removed\"}]"), NULL,
     "row is missing"},
    {"given without a value", SCENE_A, WRITE(", \"given\": [^{\"row\": \"brass/middle\"}]"), NULL,
     "value is missing"},
    {"given row no word", SCENE_A,
     WRITE(", \"given\": [{\"row\": ^\"brass middle\", \"value\": \"removed\"}]"), NULL,
     "row is \"brass middle\", must be 1 to 64 letters, digits or - _ . : /"},
    {"given twice", SCENE_A,
     WRITE(", \"given\": [" GIVEN(", \"should_be\": \"missed\"") ", {\"row\": ^\"brass/middle\", "
                                                                 "\"value\": \"removed\"}]"),
     NULL, "row \"brass/middle\" is there twice"},
    {"given all right", SCENE_A, WRITE(", \"given\": ^[" GIVEN("") "]"), NULL,
     "no row of the given record should be another"},
    {"given should be as it is", SCENE_A,
     WRITE(", \"given\": [" GIVEN(", \"should_be\": ^\"removed\"") "]"), NULL,
     "should_be is what the row says already"},
    {"given with no other", SCENE_A,
     WRITE(", \"given\": [^{\"row\": \"result\", \"value\": \"good\"}]"), NULL,
     "row \"result\" may say nothing else: it needs an or"},
    {"given or nothing", SCENE_A, WRITE(", \"given\": [" GIVEN(", \"or\": ^[]") "]"), NULL,
     "or has 0 elements, limit 1..4"},
    {"given or a number", SCENE_A, WRITE(", \"given\": [" GIVEN(", \"or\": [^4]") "]"), NULL,
     "or must hold words that the row may say"},
    {"given misspelt", SCENE_A, WRITE(", \"given\": [" GIVEN(", ^\"should\": \"x\"") "]"), NULL,
     "unknown key \"should\""},
    {"hint", SCENE_A, TELL(", \"hint\": {\"en\": \"H\"}"), NULL, NULL},
    {"hint a word", SCENE_A, TELL(", \"hint\": ^\"H\""), NULL,
     "hint must be an object of texts by language, such as {\"en\": \"...\"}"},
    {"when", SCENE_A, TELL(", \"when\": [{\"seen\": \"alarm\", \"next\": \"d\"}]"), NULL, NULL},
    {"when so many are right", SCENE_A,
     TELL(", \"when\": [{\"right_at_least\": 1, \"next\": \"end\"}]"), NULL, NULL},
    {"when nothing", SCENE_A, TELL(", \"when\": ^[]"), NULL, "when has 0 elements, limit 1..8"},
    {"when a word", SCENE_A, TELL(", \"when\": [^\"alarm\"]"), NULL,
     "when: is a string, must be an object"},
    {"when without a reason", SCENE_A, TELL(", \"when\": [^{\"next\": \"d\"}]"), NULL,
     "when holds one of seen and right_at_least"},
    {"when for two reasons", SCENE_A,
     TELL(", \"when\": [^{\"seen\": \"alarm\", \"right_at_least\": 1, \"next\": \"d\"}]"), NULL,
     "when holds one of seen and right_at_least"},
    {"when without a next", SCENE_A, TELL(", \"when\": [^{\"seen\": \"alarm\"}]"), NULL,
     "next is missing"},
    {"when to nowhere", SCENE_A, TELL(", \"when\": [{\"seen\": \"alarm\", \"next\": ^\"x\"}]"),
     NULL, "there is no scene \"x\""},
    {"when none is right", SCENE_A, TELL(", \"when\": [{\"right_at_least\": ^0, \"next\": \"d\"}]"),
     NULL, "right_at_least is 0, limit 1..1000"},
    {"when no pattern", SCENE_A, TELL(", \"when\": [{\"seen\": \"^alarms\", \"next\": \"d\"}]"),
     NULL, "\"alarms\" is no action or happening; the nearest is \"alarm\""},
    {"shuffle a word", "\"answers\": [", "\"shuffle\": ^\"yes\", \"answers\": [", NULL,
     "shuffle: is a string, must be true or false"},
    {"a dead end", "\"next\": \"b\"}", "\"next\": \"c\"}", "{\"id\": \"c\"",
     "scene \"c\" is a dead end: no way leads from it to the end"},
    {"a way out by a when", "\"next\": \"b\"}",
     "\"next\": \"c\", \"when\": [{\"seen\": \"alarm\", \"next\": \"d\"}]}", NULL, NULL},
};

#define KIT_A "[\"FE-15-03\", \"NF-20-05\"]"
#define FAULT_A "{\"kind\": \"reject-early\", \"by_ms\": 60, \"after_passes\": 1}"

static const BadRow drawn_rows[] = {
    {"kits", KIT_A, "{\"one_of\": [" KIT_A ", [\"FE-15-03\"]]}", NULL, NULL},
    {"kit misspelt", KIT_A, "{^\"oneof\": [" KIT_A ", [\"FE-15-03\"]]}", NULL,
     "unknown key \"oneof\"; did you mean \"one_of\"?"},
    {"kit of one", KIT_A, "{\"one_of\": ^[" KIT_A "]}", NULL, "one_of has 1 elements, limit 2..8"},
    {"kits of no pieces", KIT_A, "{\"one_of\": [" KIT_A ", ^[]]}", NULL,
     "kit has 0 elements, limit 1..16"},
    {"kits of an unknown piece", KIT_A, "{\"one_of\": [" KIT_A ", [^\"FE-15-30\"]]}", NULL,
     "the site has no piece \"FE-15-30\"; did you mean \"FE-15-03\"?"},
    {"kits of a piece twice", KIT_A, "{\"one_of\": [" KIT_A ", [\"FE-15-03\", ^\"FE-15-03\"]]}",
     NULL, "\"FE-15-03\" is in the kit twice"},
    {"kit a word", KIT_A, "^\"FE-15-03\"", NULL, "kit: is a string, must be an array"},
    {"faults drawn", FAULT_A, "{\"one_of\": [[" FAULT_A "], []]}", NULL, NULL},
    {"fault of one", FAULT_A, "{\"one_of\": ^[[" FAULT_A "]]}", NULL,
     "one_of has 1 elements, limit 2..8"},
    {"fault drawn, and more", FAULT_A, "{\"one_of\": [[], []], ^\"by_ms\": 60}", NULL,
     "unknown key \"by_ms\""},
    {"fault drawn is no list", FAULT_A, "{\"one_of\": [^" FAULT_A ", []]}", NULL,
     "one_of: is an object, must be an array"},
    {"fault drawn is unknown", FAULT_A,
     "{\"one_of\": [[{\"kind\": \"reject-early\", \"by_ms\": ^0}], []]}", NULL,
     "by_ms is 0, limit 1..10000"},
    {"many faults at once", FAULT_A,
     "{\"one_of\": [[" FAULT_A "," FAULT_A "," FAULT_A "," FAULT_A "," FAULT_A "," FAULT_A
     "," FAULT_A "], []]}",
     "[\n  {\"kind\": \"reject-early\"", "up to 9 faults at once, limit 0..8"},
    {"faults drawn too often", FAULT_A,
     "{\"one_of\": [[], []]}, {\"one_of\": [[], []]}, {\"one_of\": [[], []]}, {\"one_of\": [[], "
     "[]]}, ^{\"one_of\": [[], []]}",
     NULL, "one one_of more than the limit, 4"},
    {"needs", "\"pass_percent\": 80", "\"pass_percent\": 80, \"needs\": [\"alarm\"]", NULL, NULL},
    {"needs nothing", "\"pass_percent\": 80", "\"pass_percent\": 80, \"needs\": ^[]", NULL,
     "needs has 0 elements, limit 1..8"},
    {"needs a number", "\"pass_percent\": 80", "\"pass_percent\": 80, \"needs\": [^1]", NULL,
     "needs must hold strings"},
    {"needs no pattern", "\"pass_percent\": 80",
     "\"pass_percent\": 80, \"needs\": [\"alarm ^packs=1\"]", NULL,
     "\"alarm\" has no field \"packs\", but pack="},
    {"right scripts", "\"t.right.txt\"", "[\"t.right.txt\", \"u.right.txt\"]", NULL, NULL},
    {"right scripts of none", "\"t.right.txt\"", "^[]", NULL, "right has 0 elements, limit 1..8"},
    {"right scripts of a path", "\"t.right.txt\"", "[\"t.right.txt\", ^\"a/b\"]", NULL,
     "right must name a file beside the scenario: 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
};

static const BadRow rubric_rows[] = {
    {"line id twice", "\"id\": \"s\"", "\"id\": ^\"r\"", NULL, "rubric line \"r\" is there twice"},
    {"critical beyond", "\"K4\", ", "^\"K14\", ", NULL, "critical is \"K14\", limit K1..K13"},
    {"critical of none", "\"K4\", ", "^\"K0\", ", NULL, "critical is \"K0\", limit K1..K13"},
    {"critical in two forms", "\"K4\", ", "^\"K04\", ", NULL, "critical is \"K04\", limit K1..K13"},
    {"critical a letter", "\"K4\", ", "^\"C4\", ", NULL, "critical is \"C4\", limit K1..K13"},
    {"points below", "\"points\": 10", "\"points\": ^-1", NULL, "points is -1, limit 0..1000"},
    {"points beyond", "\"points\": 10", "\"points\": ^1001", NULL, "points is 1001, limit 0..1000"},
    {"no points", "\"points\": 10", "\"points\": 0", "[\n  {\"id\": \"r\"",
     "the rubric gives no points at all"},
    {"text missing", "\"text\": {\"en\": \"S\"}, ", "", "{\"id\": \"s\"", "text is missing"},
    {"why a word", "{\"en\": \"W\"}", "^\"W\"", NULL,
     "why must be an object of texts by language, such as {\"en\": \"...\"}"},
    {"need missing", ",\n   \"need\": {\"rule\": \"removal-seen\"}", "", "{\"id\": \"r\"",
     "need is missing"},
    {"need empty", "{\"rule\": \"removal-seen\"}", "^{}", NULL,
     "need holds 0 of rule, seen, never, in_order and for_every, must hold one"},
    {"need of two", "{\"seen\": \"blow\"", "^{\"seen\": \"blow\", \"never\": \"blow\"", NULL,
     "need holds 2 of rule, seen, never, in_order and for_every, must hold one"},
    {"rule and order", "{\"rule\": \"removal-seen\"}",
     "^{\"rule\": \"removal-seen\", \"in_order\": [\"stop\", \"blow\"]}", NULL,
     "need holds 2 of rule, seen, never, in_order and for_every, must hold one"},
    {"order of one", "{\"rule\": \"removal-seen\"}", "{\"in_order\": ^[\"stop\"]}", NULL,
     "in_order has 1 elements, limit 2..8"},
    {"order of nine", "{\"rule\": \"removal-seen\"}",
     "{\"in_order\": ^[\"stop\", \"stop\", \"stop\", \"stop\", \"stop\", \"stop\", \"stop\", "
     "\"stop\", \"stop\"]}",
     NULL, "in_order has 9 elements, limit 2..8"},
    {"order a word", "{\"rule\": \"removal-seen\"}", "{\"in_order\": ^\"stop\"}", NULL,
     "in_order: is a string, must be an array"},
    {"order with a number", "{\"rule\": \"removal-seen\"}", "{\"in_order\": [\"stop\", ^7]}", NULL,
     "in_order must hold strings"},
    {"order with nothing", "{\"rule\": \"removal-seen\"}", "{\"in_order\": [\"stop\", ^\"\"]}",
     NULL, "in_order holds one of 0 bytes, limit 1..255"},
    {"for every, and no more", "{\"rule\": \"removal-seen\"}", "^{\"for_every\": \"blow\"}", NULL,
     "for_every goes with one of followed_by and preceded_by"},
    {"for every, both ways", "{\"rule\": \"removal-seen\"}",
     "^{\"for_every\": \"blow\", \"followed_by\": \"stop\", \"preceded_by\": \"stop\"}", NULL,
     "for_every goes with one of followed_by and preceded_by"},
    {"followed by, for nothing", "\"before\": \"alarm\"",
     "\"before\": \"alarm\", \"followed_by\": ^\"stop\"", NULL,
     "followed_by belongs to for_every, and this need holds none"},
    {"preceded by, for nothing", "\"before\": \"alarm\"",
     "\"before\": \"alarm\", \"preceded_by\": ^\"stop\"", NULL,
     "preceded_by belongs to for_every, and this need holds none"},
    {"same, for nothing", "\"before\": \"alarm\"", "\"before\": \"alarm\", \"same\": ^[\"pack\"]",
     NULL, "same belongs to for_every, and this need holds none"},
    {"same as nothing", "{\"rule\": \"removal-seen\"}",
     "{\"for_every\": \"blow\", \"followed_by\": \"stop\", \"same\": ^[]}", NULL,
     "same has 0 elements, limit 1..8"},
    {"within, after nothing", "\"before\": \"alarm\"", "\"before\": \"alarm\", \"within_s\": ^30",
     NULL, "within_s belongs to after or for_every, and this need holds none"},
    {"within no time", "\"before\": \"alarm\"", "\"after\": \"alarm\", \"within_s\": ^0", NULL,
     "within_s is 0, limit 1..3600"},
    {"within too long", "\"before\": \"alarm\"", "\"after\": \"alarm\", \"within_s\": ^3601", NULL,
     "within_s is 3601, limit 1..3600"},
    {"within", "\"before\": \"alarm\"", "\"after\": \"alarm\", \"within_s\": 3600", NULL, NULL},
    {"for every", "{\"rule\": \"removal-seen\"}",
     "{\"for_every\": \"pack-sent\", \"followed_by\": \"removed\", \"same\": [\"pack\"], "
     "\"within_s\": 1}",
     NULL, NULL},
    {"in order", "{\"rule\": \"removal-seen\"}",
     "{\"in_order\": [\"stop\", \"held\"], \"put_right\": \"told\"}", NULL, NULL},
    {"line of a mistake", "\"points\": 10", "\"points\": 10, \"mistake\": \"M10\"", NULL, NULL},
    {"line of no mistake", "\"points\": 10", "\"points\": 10, \"mistake\": ^\"K10\"", NULL,
     "mistake is \"K10\", limit M1..M32"},
    {"rule and more", "{\"rule\": \"removal-seen\"}",
     "^{\"rule\": \"removal-seen\", \"at_least\": 2}", NULL,
     "a ready-made rule stands alone in need"},
    {"never so often", "\"seen\": \"blow\", \"at_least\": 2",
     "\"never\": \"blow\", \"at_least\": ^2", NULL,
     "at_least belongs to seen, and this need holds none"},
    {"need misspelt", "\"at_least\"", "^\"at_last\"", NULL,
     "unknown key \"at_last\"; did you mean \"at_least\"?"},
    {"at least none", "\"at_least\": 2", "\"at_least\": ^0", NULL, "at_least is 0, limit 1..10000"},
    {"at least many", "\"at_least\": 2", "\"at_least\": ^10001", NULL,
     "at_least is 10001, limit 1..10000"},
    {"pattern empty", "\"seen\": \"blow\"", "\"seen\": ^\"\"", NULL,
     "seen is 0 bytes long, limit 1..255"},
    {"percent none", "\"pass_percent\": 80", "\"pass_percent\": ^0", NULL,
     "pass_percent is 0, limit 1..100"},
    {"percent beyond", "\"pass_percent\": 80", "\"pass_percent\": ^101", NULL,
     "pass_percent is 101, limit 1..100"},
    {"percent missing", " \"pass_percent\": 80,", "", "{", "pass_percent is missing"},
    {"script missing", "\"right\": \"t.right.txt\", ", "", "{\"right\": \"t.right",
     "right is missing"},
    {"script elsewhere", "\"t.right.txt\"", "^\"../t.right.txt\"", NULL,
     "right must name a file beside the scenario: 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"script of nothing", "\"t.k4.txt\"", "^4", NULL,
     "K4 must name a file beside the scenario: 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"},
    {"misses a list", "{\"K4\": \"t.k4.txt\"}", "^[\"t.k4.txt\"]", NULL,
     "misses must be an object such as {\"K4\": \"file\"}"},
    {"misses another", "\"K4\": \"t.k4.txt\"", "\"K5\": ^\"t.k5.txt\"", NULL,
     "\"K5\" is not a critical line of this rubric"},
    {"misses in another form", "\"K4\": \"t.k4.txt\"", "\"K4\": \"t\", \"K04\": ^\"t\"", NULL,
     "\"K04\" is not a critical line of this rubric"},
    {"scripts misspelt", "\"misses\"", "^\"miss\"", NULL,
     "unknown key \"miss\"; did you mean \"misses\"?"},
};

static void test_scenario_parse_bad(void **state)
{
    bad_check_rows(GOOD, head_rows, sizeof head_rows / sizeof head_rows[0], parse, *state);
    bad_check_rows(GOOD, scene_rows, sizeof scene_rows / sizeof scene_rows[0], parse, *state);
    bad_check_rows(GOOD, asked_rows, sizeof asked_rows / sizeof asked_rows[0], parse, *state);
    bad_check_rows(GOOD, drawn_rows, sizeof drawn_rows / sizeof drawn_rows[0], parse, *state);
    bad_check_rows(GOOD, rubric_rows, sizeof rubric_rows / sizeof rubric_rows[0], parse, *state);
}

static void test_scenario_parse_good(void **state)
{
    const Shipped *shipped = *state;
    Scenario *scenario = NULL;
    Err err = {0};
    bool ok = scenario_parse("file", GOOD, strlen(GOOD), shipped->site, &scenario, &err);
    if (!ok) fail_msg("%s", err.text);
    assert_string_equal(scenario->id, "t");
    assert_string_equal(scenario->line->id, "d1");
    assert_int_equal(scenario->product, site_find_product(shipped->site, "butter-plain-200"));
    assert_int_equal(scenario->plan, &scenario->line->plans[SITE_PLAN_START]);
    assert_true(scenario->clock_us == INT64_C(21600000000)); /* six hours */
    assert_true(scenario->last_good_check_us == INT64_C(19815000000));
    assert_false(scenario->fed);
    assert_int_equal(scenario->kit_count, 2);
    assert_int_equal(scenario->fault_count, 3);
    assert_true(scenario->faults[0].shift_us == -60000 && scenario->faults[0].after_passes == 1);
    assert_true(scenario->faults[1].limit_percent == 200 && scenario->faults[1].after_passes == 0);
    assert_int_equal(scenario->scene_count, 4);
    assert_int_equal(scenario->scenes[0].next, 1);
    assert_int_equal(scenario->scenes[1].answers[0].next, 3);
    assert_int_equal(scenario->scenes[1].answers[1].next, 2);
    assert_string_equal(scenario->scenes[1].answers[1].mistake, "M1");
    assert_true(scenario->scenes[2].hardest && scenario->scenes[2].next == 1);
    assert_int_equal(scenario->scenes[3].next, 4); /* the end */
    assert_int_equal(scenario->rubric[0].critical, 4);
    const RubricNeed *need = &scenario->rubric[1].need;
    assert_true(need->at_least == 2 && need->after.text == NULL && need->within_us == 0);
    assert_int_equal(scenario->script_count, 2);
    assert_int_equal(scenario->scripts[1].misses, 4);
    assert_string_equal(scenario->scripts[1].file, "t.k4.txt");
    scenario_free(scenario);
}

static void test_scenario_clock_parse_each(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t seconds; /* -1: no time */
    } rows[] = {
        {"00:00", 0},   {"00:00:01", 1},     {"10:30", 37800}, {"23:59:59", 86399}, {"24:00", -1},
        {"23:60", -1},  {"23:59:60", -1},    {"", -1},         {"1:30", -1},        {"10:3", -1},
        {"10:300", -1}, {"10-30", -1},       {"10:30:", -1},   {"10:30:0", -1},     {"10.30", -1},
        {" 10:30", -1}, {"10:30:00:00", -1}, {"-1:30", -1},    {"1a:30", -1},       {"10:30 ", -1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t us = 7;
        bool ok = scenario_clock_parse(rows[i].text, &us);
        if (ok != (rows[i].seconds >= 0)) fail_msg("\"%s\"", rows[i].text);
        assert_true(us == (ok ? rows[i].seconds * 1000000 : 7));
    }
}

static void test_scenario_site_id_each(void **state)
{
    (void)state;
    static const char *const rows[][2] = {{"{\"site\": \"a\"}", "a"},
                                          {"{\"site\": 1}", ""},
                                          {"{}", ""},
                                          {"[\"site\"]", ""},
                                          {"4", ""}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        JsonDoc *doc = NULL;
        Err err = {0};
        assert_true(json_parse("f", rows[i][0], strlen(rows[i][0]), &doc, &err));
        assert_string_equal(scenario_site_id(doc), rows[i][1]);
        json_free(doc);
    }
}

/* --- Counts ---------------------------------------------------------------------------------- */

/* The good text with a list of so many parts in place of the one after `key`; it is marked. */
static void with_list(const char *key, int count, void (*add)(int number, int count, Text *out),
                      Text *out)
{
    const char *at = strstr(GOOD, key);
    assert_non_null(at);
    at += strlen(key);
    text_add_bytes(out, GOOD, (size_t)(at - GOOD));
    text_add(out, "^[");
    for (int i = 0; i < count; i++) {
        if (i > 0) text_add(out, ",\n");
        add(i, count, out);
    }
    int depth = 0;
    do {
        depth += *at == '[';
        depth -= *at == ']';
        at++;
    } while (depth > 0);
    text_addf(out, "]%s", at);
}

static void add_scene(int number, int count, Text *out)
{
    (void)count;
    text_addf(out, "{\"id\": \"s%d\", \"kind\": \"tell\", \"text\": {\"en\": \"x\"}}", number);
}

/* Each scene leads back to the first, and the first is the last one's only way. */
static void add_backward_scene(int number, int count, Text *out)
{
    text_addf(out, "{\"id\": \"s%d\", \"kind\": \"tell\", \"text\": {\"en\": \"x\"}, ", number);
    if (number == 0) {
        text_addf(out, "\"next\": \"s%d\"}", count - 1);
    } else if (number == 1) {
        text_add(out, "\"next\": \"end\"}");
    } else {
        text_addf(out, "\"next\": \"s%d\"}", number - 1);
    }
}

static void add_rubric(int number, int count, Text *out)
{
    (void)count;
    text_addf(
        out,
        "{\"id\": \"r%d\", \"critical\": \"K4\", \"points\": 1000, \"text\": {\"en\": \"x\"}, "
        "\"need\": {\"seen\": \"blow\"}}",
        number);
}

static void add_stock(int number, int count, Text *out)
{
    (void)number;
    (void)count;
    text_add(out, "{\"place\": \"store\", \"from\": \"05:00\", \"to\": \"05:00\", \"packs\": 0}");
}

static void add_fault(int number, int count, Text *out)
{
    (void)number;
    (void)count;
    text_add(out, "{\"kind\": \"reject-late\", \"by_ms\": 10000, \"after_passes\": 1000}");
}

static void test_scenario_parse_counts(void **state)
{
    static const struct {
        const char *key, *name;
        int min, max;
        void (*add)(int number, int count, Text *out);
    } lists[] = {
        {"\"scenes\": ", "scenes", 1, SCENARIO_SCENES_MAX, add_scene},
        {"\"scenes\": ", "scenes", 1, SCENARIO_SCENES_MAX, add_backward_scene},
        {"\"rubric\": ", "rubric", 1, SCENARIO_RUBRIC_MAX, add_rubric},
        {"\"stock\": ", "stock", 0, SCENARIO_STOCKS_MAX, add_stock},
        {"\"faults\": ", "faults", 0, SCENARIO_FAULTS_MAX, add_fault},
    };
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        for (int count = lists[i].max; count <= lists[i].max + 1; count++) {
            Text text = {0};
            Text want = {0};
            with_list(lists[i].key, count, lists[i].add, &text);
            text_addf(&want, "%s has %d elements, limit %d..%d", lists[i].name, count, lists[i].min,
                      lists[i].max);
            assert_true(bad_is_told(lists[i].name, text.bytes, parse, *state,
                                    count == lists[i].max ? NULL : want.bytes));
            text_clear(&text);
            text_clear(&want);
        }
    }
}

/* K4, K04, K004 and so on were once one number, and more scripts than there is room for. */
static void test_scenario_parse_many_scripts(void **state)
{
    Text misses = {0};
    text_add(&misses, "{\"K4\": \"t\"");
    for (int zeros = 1; zeros < 40; zeros++) {
        text_addf(&misses, ", \"K%0*d\": %s\"t\"", zeros + 1, 4, zeros == 1 ? "^" : "");
    }
    text_add(&misses, "}");
    BadRow row = {"scripts", "{\"K4\": \"t.k4.txt\"}", misses.bytes, NULL,
                  "\"K04\" is not a critical line of this rubric"};
    bad_check_rows(GOOD, &row, 1, parse, *state);
    text_clear(&misses);
}

/* --- The scoring's look at the rubric -------------------------------------------------------- */

/* What stands at "file:LINE:COLUMN:" of a text. */
static const char *text_at(const char *text, const char *message)
{
    char *end;
    long line = strtol(message + strlen("file:"), &end, 10);
    long column = strtol(end + 1, NULL, 10);
    for (; line > 1; line--) {
        text = strchr(text, '\n') + 1;
    }
    return text + column - 1;
}

/* The message must blame the word in the file; what the pattern's reader says is in test_log. */
static void test_score_check_bad(void **state)
{
    const Shipped *shipped = *state;
    static const struct {
        const char *old, *new, *want, *at;
    } rows[] = {
        {"\"removal-seen\"", "\"removal-sen\"",
         "there is no rule \"removal-sen\"; did you mean \"removal-seen\"?", "{"},
        {"\"removal-seen\"", "\"x\"", "there is no rule \"x\"", "{"},
        {"\"seen\": \"blow\"", "\"seen\": \"blew\"", "\"blew\" is no action or happening", "blew"},
        {"\"seen\": \"blow\"", "\"never\": \"blow pack=1\"",
         "\"blow\" has no field \"pack\", but lane=", "pack=1"},
        {"\"before\": \"alarm\"", "\"before\": \"alarm pack=65\"", "pack is 65, limit 0..64",
         "pack=65"},
        {"\"before\": \"alarm\"", "\"after\": \"alarm pack\"", "pack has no value", "pack"},
        {"\"before\": \"alarm\"", "\"put_right\": \"tell who=\"", "who is \"\", must be 1 to 64",
         "who="},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        Text text = {0};
        Scenario *scenario = NULL;
        Err err = {0};
        BadRow row = {rows[i].want, rows[i].old, rows[i].new, NULL, NULL};
        bad_edit(GOOD, &row, &text);
        if (strstr(text.bytes, "\"never\"") != NULL) { /* which no number of times goes with */
            BadRow often = {rows[i].want, ", \"at_least\": 2", "", NULL, NULL};
            Text less = {0};
            bad_edit(text.bytes, &often, &less);
            text_clear(&text);
            text = less;
        }
        if (!scenario_parse("file", text.bytes, text.len, shipped->site, &scenario, &err)) {
            fail_msg("%s", err.text);
        }
        assert_false(score_check(scenario, &err));
        assert_int_equal(err.code, ERR_INPUT);
        assert_int_equal(strncmp(err.text, "file:", 5), 0);
        const char *at = text_at(text.bytes, err.text);
        if (strncmp(at, rows[i].at, strlen(rows[i].at)) != 0 ||
            strstr(err.text, rows[i].want) == NULL) {
            fail_msg("got %s, want %s at %s, got it at %.20s", err.text, rows[i].want, rows[i].at,
                     at);
        }
        scenario_free(scenario);
        text_clear(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_scenario_clock_parse_each),
        cmocka_unit_test(test_scenario_site_id_each),
        cmocka_unit_test(test_scenario_parse_good),
        cmocka_unit_test(test_scenario_parse_bad),
        cmocka_unit_test(test_scenario_parse_counts),
        cmocka_unit_test(test_scenario_parse_many_scripts),
        cmocka_unit_test(test_score_check_bad),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
