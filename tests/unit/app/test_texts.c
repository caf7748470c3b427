/* The program's words: what a bad file of them says, and that none is missing from the shipped one.
 * */
#include <stdio.h>

#include "app/texts.h"
#include "bad.h"

/* texts_load reads a file: the text is put into one, whose name is "file" in the message. */
static bool parse(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    const Text *path = context;
    Texts *texts = NULL;
    assert_true(os_file_write(path->bytes, bytes, len, err));
    bool ok = texts_load(path->bytes, &texts, err);
    assert_true(ok == (texts != NULL));
    texts_free(texts);
    if (!ok) {
        char rest[ERR_TEXT_BYTES];
        assert_memory_equal(err->text, path->bytes, path->len);
        (void)snprintf(rest, sizeof rest, "%s", err->text + path->len);
        (void)snprintf(err->text, sizeof err->text, "%s%.900s", file, rest);
    }
    return ok;
}

static int load(void **state)
{
    Err err = {0};
    Text *path = check_calloc(1, sizeof *path);
    *state = path;
    if (!os_folder_make_temporary(path, &err)) return -1;
    text_add(path, "/texts.json");
    return 0;
}

static int unload(void **state)
{
    Text *path = *state;
    int bad = remove(path->bytes);
    *strrchr(path->bytes, '/') = '\0';
    bad |= remove(path->bytes);
    text_clear(path);
    free(path);
    return bad;
}

static const char GOOD[] = "{\"format\": \"threepass-texts-1\",\n"
                           " \"verdicts\": {\"competent\": \"Competent\"},\n"
                           " \"states\": {\"met\": \"Met\"},\n"
                           " \"reasons\": {\"not-done\": \"Not done\"},\n"
                           " \"mistakes\": {\"M1\": \"One metal\"},\n"
                           " \"words\": {\"bin\": \"the bin\"},\n"
                           " \"ui\": {\"ok\": \"Done\"},\n"
                           " \"standing\": {\"due\": \"Due since {date}\"},\n"
                           " \"report\": {\"board\": \"Board\"},\n"
                           " \"signing\": {\"all\": \"All\"},\n"
                           " \"story\": [\n"
                           "  {\"on\": \"removed pack=0\", \"say\": \"Good pack, {seen}\"},\n"
                           "  {\"on\": \"take\", \"say\": \"Takes {piece}.\"}]}\n";

#define SECTION(key, value)                                                                        \
    {key " missing", "\"" key "\": " value ",\n", "", "{\"format\"", key " is missing"},           \
        {key " a list", value, "^[\"a\"]", NULL, key " must be an object of texts, at most 500"},  \
        {key " a word", value, "^\"a\"", NULL, key " must be an object of texts, at most 500"},    \
        {key " a number", value, "^1", NULL, key " must be an object of texts, at most 500"},      \
        {key " null", value, "^null", NULL, key " must be an object of texts, at most 500"},       \
        {key " of a number", value, "{\"a\": ^1}", NULL, "a: is a number, must be a string"},      \
        {key " of an object", value, "{\"a\": ^{}}", NULL, "a: is an object, must be a string"},   \
        {key " of nothing", value, "{\"a\": ^\"\"}", NULL, "a is 0 bytes long, limit 1..500"},     \
    {                                                                                              \
        key " misspelt", "\"" key "\"", "^\"x" key "\"", NULL,                                     \
            "unknown key \"x" key "\"; did you mean \"" key "\"?"                                  \
    }

static const BadRow rows[] = {
    {"good", "Takes", "Takes it:", NULL, NULL},
    {"empty", "\"states\": {\"met\": \"Met\"}", "\"states\": {}", NULL, NULL},
    SECTION("verdicts", "{\"competent\": \"Competent\"}"),
    SECTION("states", "{\"met\": \"Met\"}"),
    SECTION("reasons", "{\"not-done\": \"Not done\"}"),
    SECTION("mistakes", "{\"M1\": \"One metal\"}"),
    SECTION("words", "{\"bin\": \"the bin\"}"),
    SECTION("ui", "{\"ok\": \"Done\"}"),
    SECTION("standing", "{\"due\": \"Due since {date}\"}"),
    SECTION("report", "{\"board\": \"Board\"}"),
    SECTION("signing", "{\"all\": \"All\"}"),
    {"no JSON", "{\"format\"", "{^format", NULL,
     "not JSON: expected a key in double quotes, found format"},
    {"cut off", "\"the bin\"", "^\"the bin\n", NULL,
     "not JSON: a string is not closed before the end of its line"},
    {"not UTF-8", "the bin", "the bin^\xff", NULL, "not JSON: the byte 0xff is not UTF-8"},
    {"key twice", "\"bin\": \"the bin\"", "\"bin\": \"a\", ^\"bin\": \"b\"", NULL,
     "not JSON: the key \"bin\" was there already, at line 6 column 12"},
    {"format missing", "\"format\": \"threepass-texts-1\",", "", "{\"format\"",
     "format is missing"},
    {"another format", "\"threepass-texts-1\"", "^\"1\"", NULL,
     "format is \"1\", must be one of \"threepass-texts-1\""},
    {"format a number", "\"threepass-texts-1\"", "^1", NULL,
     "format: is a number, must be a string"},
    {"story misspelt", "\"story\"", "^\"storey\"", NULL,
     "unknown key \"storey\"; did you mean \"story\"?"},
    {"sentence a word", "{\"on\": \"take\"", "^\"take\", {\"on\": \"take\"", NULL,
     "story: is a string, must be an object"},
    {"sentence misspelt", "\"say\": \"Takes", "^\"says\": \"Takes", NULL,
     "unknown key \"says\"; did you mean \"say\"?"},
    {"on missing", "\"on\": \"take\", ", "", "{\"on\": \"take\"", "on is missing"},
    {"say missing", ", \"say\": \"Takes {piece}.\"", "", "{\"on\": \"take\"", "say is missing"},
    {"on a number", "\"take\"", "^1", NULL, "on: is a number, must be a string"},
    {"on empty", "\"take\"", "^\"\"", NULL, "on is 0 bytes long, limit 1..200"},
    {"say empty", "\"Takes {piece}.\"", "^\"\"", NULL, "say is 0 bytes long, limit 1..500"},
    {"on blank", "\"take\"", "\"  ^\"", NULL, "there is no action or happening here"},
    {"on no kind", "\"take\"", "\"^takes\"", NULL,
     "\"takes\" is no action or happening; the nearest is \"take\""},
    {"on no field", "\"removed pack=0\"", "\"removed ^packs=0\"", NULL,
     "\"removed\" has no field \"packs\", but pack= pieces= seen= lane= beside="},
    {"on no value", "\"removed pack=0\"", "\"removed ^pack\"", NULL,
     "pack has no value; there must be pack=... here"},
    {"on a bad value", "\"removed pack=0\"", "\"removed ^pack=65\"", NULL,
     "pack is 65, limit 0..64"},
    {"on a bad word", "\"removed pack=0\"", "\"removed ^seen=\"", NULL,
     "seen is \"\", must be 1 to 64 letters, digits or - _ . : /"},
    {"on a field twice", "\"removed pack=0\"", "\"removed pack=0 ^pack=1\"", NULL,
     "pack is given twice"},
    {"say another's field", "\"Takes {piece}.\"", "^\"Takes {pack}.\"", NULL,
     "say holds \"{pack\", which is no field of \"take\""},
    {"say an open field", "\"Takes {piece}.\"", "^\"Takes {piece.\"", NULL,
     "say holds \"{\", which is no field of \"take\""},
    {"say no field", "\"Takes {piece}.\"", "^\"Takes {}.\"", NULL,
     "say holds \"{\", which is no field of \"take\""},
    {"say a happening's", "\"Good pack, {seen}\"", "^\"Good pack, {sen}\"", NULL,
     "say holds \"{sen\", which is no field of \"removed\""},
};

static void test_texts_load_bad(void **state)
{
    size_t count = sizeof rows / sizeof rows[0];
    assert_true(count >= BAD_ROWS_MIN);
    bad_check_rows(GOOD, rows, count, parse, *state);
}

/* At the limit of a section and of the story, and one past it; a hundred thousand at once. */
static void test_texts_load_counts(void **state)
{
    static const int counts[] = {500, 501, 60000};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        Text section = {0};
        text_add(&section, "^{\"k\": \"x\"");
        for (int n = 1; n < counts[i]; n++) {
            text_addf(&section, ", \"k%d\": \"x\"", n);
        }
        text_add(&section, "}");
        BadRow row = {"words", "{\"bin\": \"the bin\"}", section.bytes, NULL,
                      counts[i] == 500 ? NULL : "words must be an object of texts, at most 500"};
        bad_check_rows(GOOD, &row, 1, parse, *state);
        text_clear(&section);
    }
    for (int count = 500; count <= 501; count++) {
        Text story = {0};
        text_add(&story, "\"story\": ^[");
        for (int n = 2; n < count; n++) {
            text_add(&story, "{\"on\": \"blow\", \"say\": \"x\"}, ");
        }
        BadRow row = {"story", "\"story\": [", story.bytes, NULL,
                      count == 500 ? NULL : "story has 501 elements, limit 1..500"};
        bad_check_rows(GOOD, &row, 1, parse, *state);
        text_clear(&story);
    }
}

static void test_texts_load_no_file(void **state)
{
    (void)state;
    Err err = {0};
    Texts *texts = NULL;
    assert_false(texts_load("assets/texts/no-such.json", &texts, &err));
    assert_int_equal(err.code, ERR_IO);
    assert_null(texts);
}

/* --- The shipped words ----------------------------------------------------------------------- */

static Texts *shipped(void)
{
    Err err = {0};
    Texts *texts = NULL;
    if (!texts_load("assets/texts/en.json", &texts, &err)) fail_msg("%s", err.text);
    return texts;
}

static void want_text(const Texts *texts, const char *section, const char *key)
{
    if (texts_get(texts, section, key) == key) fail_msg("%s has no text \"%s\"", section, key);
}

static bool is_reason(const char *word)
{
    return word[0] != '\0' && word[strspn(word, "abcdefghijklmnopqrstuvwxyz-")] == '\0' &&
           strchr(word, '-') != NULL;
}

/* Give every string literal that can be a reason: in the sources of the scoring, what stands
 * between a call of score_blame and its semicolon, or is put into `reason`. Returns how many. */
static int want_reasons_of(const Texts *texts, const char *path, const char *call)
{
    Text source = {0};
    int count = 0;
    bad_read_file(path, &source);
    for (char *at = strstr(source.bytes, call); at != NULL; at = strstr(at, call)) {
        char *end = strchr(at, ';');
        assert_non_null(end);
        for (char *open = strchr(at, '"'); open != NULL && open < end;) {
            char word[64];
            size_t len = strcspn(open + 1, "\"");
            assert_true(len < sizeof word);
            memcpy(word, open + 1, len);
            word[len] = '\0';
            if (is_reason(word) || strcmp(word, "released") == 0) {
                want_text(texts, "reasons", word);
                count++;
            }
            open = strchr(open + len + 2, '"');
        }
        at = end;
    }
    text_clear(&source);
    return count;
}

static void test_texts_tell_standing(void **state)
{
    (void)state;
    Texts *texts = shipped();
    Text out = {0};
    RecReason reason = {.why = REC_WHY_RETRAIN, .number = 2, .day = 20454, .hash = ""};
    texts_tell_standing(texts, &reason, &out);
    assert_string_equal(out.bytes, "Not passed 2 times in a row, last on 2026-01-01. Assign the "
                                   "training again, or practise with an assessor beside.");
    for (int why = 0; why < REC_WHY_COUNT; why++) {
        text_clear(&out);
        reason.why = (RecWhy)why;
        texts_tell_standing(texts, &reason, &out);
        assert_null(strpbrk(text_string(&out), "{}")); /* every field there is was filled in */
    }
    text_clear(&out);
    texts_free(texts);
}

static void test_texts_shipped_reasons(void **state)
{
    (void)state;
    Texts *texts = shipped();
    int count = want_reasons_of(texts, "src/scoring/rules.c", "score_blame(") +
                want_reasons_of(texts, "src/scoring/rules.c", "*reason =") +
                want_reasons_of(texts, "src/scoring/rules.c", "want_each(facts") +
                want_reasons_of(texts, "src/scoring/patterns.c", "score_blame(");
    print_message("%d reasons\n", count);
    assert_true(count >= 35);
    for (int mistake = 1; mistake <= SCENARIO_MISTAKES_MAX; mistake++) {
        char word[16];
        (void)snprintf(word, sizeof word, "M%d", mistake);
        want_text(texts, "mistakes", word);
    }
    for (int reason = SCORE_ALL_MET; reason <= SCORE_UNFINISHED; reason++) {
        want_text(texts, "reasons", score_reason_word((ScoreReason)reason));
    }
    for (int result = SCORE_MET; result <= SCORE_MISSED; result++) {
        want_text(texts, "states", score_state_word((ScoreState)result));
    }
    for (int why = 0; why < REC_WHY_COUNT; why++) {
        want_text(texts, "standing", rec_why_words[why]);
    }
    assert_null(rec_why_words[REC_WHY_COUNT]);
    static Score score;
    want_text(texts, "verdicts", score_verdict(&score));
    score.competent = true;
    want_text(texts, "verdicts", score_verdict(&score));
    texts_free(texts);
}

/* Every happening, in each variety that a person can tell apart; '-' in front: nothing is said of
 * it, as nobody is told of a fault, and the line before or behind says it in the other cases. */
static const char *const happenings[] = {
    "scene-begun scene=brief kind=tell",
    "-fault-set kind=wrong-program",
    "program-read product=butter-200 right=yes",
    "program-read product=butter-200 right=no",
    "program-set product=butter-200 right=yes",
    "program-set product=butter-200 right=no",
    "sensitivity-set percent=200",
    "piece-read piece=FE-15-03 metal=brass diameter_um=1500 state=sound good_until=- right=yes",
    "piece-read piece=NF-20-01 metal=brass diameter_um=2000 state=cracked good_until=- right=no",
    "-piece-taken piece=FE-15-03",
    "piece-put-back piece=FE-15-03",
    "pack-made pack=1 marked=yes",
    "pack-made pack=1 marked=no",
    "piece-placed piece=FE-15-03 pack=1 spot=leading height=on-top",
    "-piece-turned piece=WIRE-12",
    "piece-found piece=FE-15-03 pack=1 from=bin",
    "piece-found piece=FE-15-03 pack=1 from=table",
    "pack-sent pack=1 pieces=0 proven=no",
    "-pack-sent pack=1 pieces=1 proven=yes",
    "piece-sent pack=1 piece=A metal=tin spot=top height=in centre=yes right=yes program_right=yes",
    "piece-sent pack=1 piece=A metal=tin spot=top height=in centre=no right=yes program_right=yes",
    "-pack-on-belt pack=1",
    "judged pack=1 found=yes ratio_milli=2345",
    "judged pack=1 found=no ratio_milli=5",
    "alarm pack=1",
    "-blow",
    "removed pack=0 pieces=0 seen=no",
    "removed pack=1 pieces=1 seen=yes",
    "removed pack=1 pieces=1 seen=no",
    "blow-in-gap",
    "bin-full pack=1",
    "accepted pack=1 pieces=0 seen=no",
    "accepted pack=1 pieces=1 seen=yes",
    "accepted pack=1 pieces=1 seen=no",
    "on-pallet pack=1",
    "good-run packs=10",
    "-watching",
    "pack-fetched pack=1 pieces=0 from=belt",
    "pack-fetched pack=1 pieces=1 from=bin",
    "pack-destroyed pack=1 pieces=0",
    "line-stopped",
    "line-started",
    "locked-off",
    "unlocked",
    "feed-stopped",
    "feed-started",
    "bin-opened by=line-leader packs=3 agreed=yes",
    "bin-opened by=line-checker packs=3 agreed=no",
    "bin-closed",
    "counted what=bin said=3 is=3",
    "counted what=kit said=5 is=6",
    "held from=06:00 place=everything early_enough=yes complete=yes",
    "held from=06:00 place=pallet early_enough=no complete=no",
    "released place=pallet authority=yes",
    "released place=pallet authority=no",
    "stock-left place=lorry packs=100",
    "told who=line-leader about=check-starts",
    "row-written row=brass/leading value=removed truth=true again=no",
    "row-written row=brass/leading value=removed truth=false again=no",
    "row-written row=brass/leading value=removed truth=ahead again=yes",
    "row-stale row=brass/leading value=removed truth=false",
    "row-stale row=brass/leading value=removed truth=ahead",
    "signed as=self rows=10",
    "answered scene=why-centre choice=weakest right=yes mistake=none",
    "answered scene=why-centre choice=handy right=no mistake=M15",
    "answered scene=where choice=there right=yes mistake=none",
    "answered scene=where choice=there right=no mistake=M3",
    "answered scene=order choice=in-this-order right=yes mistake=none",
    "answered scene=order choice=in-this-order right=no mistake=none",
    "answered scene=sheet choice=record right=yes mistake=none",
    "answered scene=sheet choice=record right=no mistake=M24",
    "-arranged step=stop at=1",
    "row-corrected row=brass/leading value=missed",
    "reached-in what=belt",
    "reached-in what=bin",
    "not-possible why=line-runs",
    "removed pack=0 pieces=1 seen=no",
    "blow-weak pack=1",
    "fell-on-floor pack=0 pieces=0 seen=no",
    "fell-on-floor pack=1 pieces=1 seen=no",
    "jammed pack=0",
    "jammed pack=1",
    "metal-escaped find=1",
    "alarm-raised what=low-air",
    "alarm-raised what=photo-eye",
    "alarm-raised what=encoder",
    "alarm-reset what=low-air by=line-leader agreed=yes",
    "alarm-reset what=low-air by=maintenance agreed=no",
    "piece-refused piece=FE-15-03 right=yes",
    "piece-refused piece=NF-20-01 right=no",
    "piece-fetched piece=FE-15-03 right=yes",
    "piece-fell piece=FE-15-03 pack=1",
    "good-pack-sent",
    "searched place=floor pieces=0",
    "searched place=floor pieces=1",
    "rejects-examined packs=1 finds=0",
    "rejects-examined packs=1 finds=1",
    "find-kept finds=1",
    "find-thrown-away finds=1",
    "jam-cleared packs=3",
    "cleaned what=photo-eye",
    "blocked what=air",
    "unblocked what=air",
    "power-lost",
    "power-returned",
    "looked what=bin is=locked",
    "setting-read what=program agrees=yes",
    "setting-read what=program agrees=no",
    "counters-read passed=100 blown=9",
    "event-read what=none seconds_ago=0 reset_by=nobody",
    "event-read what=low-air seconds_ago=5 reset_by=unknown",
    "labelled place=pallet",
    "re-passed place=pallet verified=yes",
    "re-passed place=pallet verified=no",
    "handed-over to=colleague pieces_out=0",
    "handed-over to=colleague pieces_out=2",
    "called who=quality",
    "came who=quality",
    "asked who=maintenance for=repair",
    "declined who=maintenance for=release",
    "repaired fault=nothing by=maintenance",
    "repaired fault=low-air by=maintenance",
    "settings-restored by=quality",
    "re-learned product=butter-200 by=quality",
    "bin-emptied packs=40 by=line-leader",
    "run-ended why=done",
    "run-ended why=left",
    "run-ended why=time",
};

static void check_sentence(const Texts *texts, const Scenario *scenario, const char *happening,
                           bool is_known[HAPPENING_COUNT_OF])
{
    bool is_silent = happening[0] == '-';
    LogLine line;
    Err err = {0};
    Text said = {0};
    Text text = {0};
    text_addf(&text, "0 < %s", happening + is_silent);
    if (!log_parse(text.bytes, (ErrPlace){"row", 1, 1}, &line, &err)) fail_msg("%s", err.text);
    is_known[line.kind] = true;
    if (texts_tell(texts, scenario, &line, &said) == is_silent) {
        fail_msg("%s: \"%s\"", text.bytes, text_string(&said));
    }
    assert_true(is_silent == (said.len == 0));
    assert_null(strchr(text_string(&said), '{'));
    text_clear(&said);
    text_clear(&text);
}

static void test_texts_shipped_story(void **state)
{
    (void)state;
    Err err = {0};
    Work *work = NULL;
    Texts *texts = shipped();
    bool is_known[HAPPENING_COUNT_OF] = {false};
    if (!work_read("assets", "scenarios/ostrel-mill", "nine-passes.json", NULL, NULL, &work,
                   &err)) {
        fail_msg("%s", err.text);
    }
    for (size_t i = 0; i < sizeof happenings / sizeof happenings[0]; i++) {
        check_sentence(texts, work_scenario(work), happenings[i], is_known);
    }
    /* what is looked at is named without what its alarm would say of it */
    LogLine looked;
    Text said = {0};
    assert_true(
        log_parse("0 < looked what=photo-eye is=dirty", (ErrPlace){"row", 1, 1}, &looked, &err));
    assert_true(texts_tell(texts, work_scenario(work), &looked, &said));
    assert_string_equal(said.bytes, "Looks: photo-eye, dirty.");
    text_clear(&said);
    for (int kind = 0; kind < HAPPENING_COUNT_OF; kind++) {
        if (!is_known[kind]) fail_msg("%s has no row", log_happening_word((HappeningKind)kind));
    }
    work_free(work);
    texts_free(texts);
}

static void test_texts_add_clock_day(void **state)
{
    (void)state;
    static Scenario scenario;
    static const struct {
        int64_t clock_s, run_us;
        const char *want;
    } times[] = {
        {0, 0, "00:00:00"},
        {36000, 200999999, "10:03:20"},
        {86399, 1000000, "00:00:00"}, /* over midnight */
        {86399, 999999, "23:59:59"},
    };
    for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
        Text text = {0};
        scenario.clock_us = times[i].clock_s * 1000000;
        texts_add_clock(&scenario, times[i].run_us, &text);
        assert_string_equal(text.bytes, times[i].want);
        text_clear(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_texts_load_bad, load, unload),
        cmocka_unit_test_setup_teardown(test_texts_load_counts, load, unload),
        cmocka_unit_test(test_texts_load_no_file),
        cmocka_unit_test(test_texts_shipped_reasons),
        cmocka_unit_test(test_texts_tell_standing),
        cmocka_unit_test(test_texts_shipped_story),
        cmocka_unit_test(test_texts_add_clock_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
