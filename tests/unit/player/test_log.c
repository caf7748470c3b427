/* The one vocabulary as text: what is said of bad lines, and that parse(print(x)) = x. */
#include <stdio.h>

#include "bad.h"
#include "base/random.h"
#include "player/player.h"

/* Each of the three readers, with its place at the beginning of the file. */
static bool parse_line(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    (void)len;
    LogLine line;
    return log_parse(bytes, (ErrPlace){file, 1, 1}, &line, err);
}

static bool parse_action(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    (void)len;
    LogLine line;
    return log_parse_action(bytes, (ErrPlace){file, 1, 1}, &line, err);
}

static bool parse_pattern(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    (void)len;
    LogPattern pattern;
    return log_parse_pattern(bytes, (ErrPlace){file, 1, 1}, &pattern, err);
}

/* One text; NULL wanted: it is read. */
typedef struct {
    const char *text, *want;
} TextRow;

static size_t check_texts(const TextRow rows[], size_t count, BadParse *parse)
{
    bool ok = true;
    size_t bad = 0;
    for (size_t i = 0; i < count; i++) {
        ok = bad_is_told(rows[i].text, rows[i].text, parse, NULL, rows[i].want) && ok;
        bad += rows[i].want != NULL;
    }
    assert_true(ok);
    return bad;
}

#define WORD64 "abcdefghijklmnopqrstuvwxyzabcdefghijklmnopqrstuvwxyz-_.:/0123456"

static const TextRow action_rows[] = {
    {"next", NULL},
    {"  next\t ", NULL},
    {"take piece=" WORD64, NULL},
    {"make-pack marked=yes pack=64", NULL},
    {"lock-off", NULL},
    {"unlock", NULL},
    {"^lockoff", "\"lockoff\" is no action; the nearest is \"lock-off\""},
    {"^locked-off", "\"locked-off\" is no action; the nearest is \"lock-off\""},
    {"lock-off ^pack=1", "\"lock-off\" has no field \"pack\", but none"},
    {"unlock ^by=self", "\"unlock\" has no field \"by\", but none"},
    {"^", "there is no action here"},
    {"   ^", "there is no action here"},
    {"^tke piece=A", "\"tke\" is no action; the nearest is \"take\""},
    {"^Take piece=A", "\"Take\" is no action; the nearest is \"take\""},
    {"^removed pack=1", "\"removed\" is no action"},
    {"^take=A", "\"take=A\" is no action; the nearest is \"take\""},
    {"take^", "\"take\" needs piece="},
    {"take  ^", "\"take\" needs piece="},
    {"make-pack pack=1^", "\"make-pack\" needs marked="},
    {"take ^piece", "piece has no value; there must be piece=... here"},
    {"take ^piece=", "piece is \"\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take ^piece=a+b", "piece is \"a+b\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take ^piece=a=b", "piece is \"a=b\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take ^piece=\"a\"", "piece is \"\"a\"\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take ^piece=\xc3\xa9", "piece is \"\xc3\xa9\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take ^piece=" WORD64 "7",
     "piece is \"" WORD64 "\", must be 1 to 64 letters, digits or - _ . : /"},
    {"take piece=A ^piece=A", "piece is given twice"},
    {"take piece=A ^pack=1", "\"take\" has no field \"pack\", but piece="},
    {"take piece=A ^now", "\"take\" has no field \"now\", but piece="},
    {"take ^=A", "\"take\" has no field \"\", but piece="},
    {"take ^Piece=A", "\"take\" has no field \"Piece\", but piece="},
    {"next ^scene=2", "\"next\" has no field \"scene\", but none"},
    {"fetch ^pack=0", "pack is 0, limit 1..64"},
    {"fetch ^pack=65", "pack is 65, limit 1..64"},
    {"fetch ^pack=-1", "pack is -1, limit 1..64"},
    {"fetch ^pack=1.5", "pack is \"1.5\", must be a whole number, limit 1..64"},
    {"fetch ^pack=one", "pack is \"one\", must be a whole number, limit 1..64"},
    {"fetch ^pack=+1", "pack is \"+1\", must be a whole number, limit 1..64"},
    {"fetch ^pack=0x1", "pack is \"0x1\", must be a whole number, limit 1..64"},
    {"fetch ^pack=9223372036854775808",
     "pack is \"9223372036854775808\", must be a whole number, limit 1..64"},
    {"set-sensitivity ^percent=9", "percent is 9, limit 10..1000"},
    {"set-sensitivity ^percent=1001", "percent is 1001, limit 10..1000"},
    {"send pack=1 ^across_um=5000001", "across_um is 5000001, limit -5000000..5000000"},
    {"send pack=1 ^across_um=-5000001", "across_um is -5000001, limit -5000000..5000000"},
    {"turn piece=A ^azimuth_mdeg=360001 elevation_mdeg=0",
     "azimuth_mdeg is 360001, limit -360000..360000"},
    {"turn piece=A azimuth_mdeg=0 ^elevation_mdeg=-90001",
     "elevation_mdeg is -90001, limit -90000..90000"},
    {"count what=bin ^said=-1", "said is -1, limit 0..100000"},
    {"count what=bin ^said=100001", "said is 100001, limit 0..100000"},
    {"place piece=A pack=1 along_um=0 across_um=0 ^up_um=1e3",
     "up_um is \"1e3\", must be a whole number, limit -5000000..5000000"},
};

static const TextRow line_rows[] = {
    {"0 > next", NULL},
    {"86400000000 < blow", NULL},
    {"^", "time is \"\", limit 0..86400000000 microseconds"},
    {"^next", "time is \"next\", limit 0..86400000000 microseconds"},
    {"^-1 > next", "time is \"-1\", limit 0..86400000000 microseconds"},
    {"^86400000001 > next", "time is \"86400000001\", limit 0..86400000000 microseconds"},
    {"^1.5 > next", "time is \"1.5\", limit 0..86400000000 microseconds"},
    {"^99999999999999999999 > next",
     "time is \"99999999999999999999\", limit 0..86400000000 microseconds"},
    {"0^", "\"\" stands where there must be > (action) or < (happening)"},
    {"0 ^next", "\"next\" stands where there must be > (action) or < (happening)"},
    {"0 ^>> next", "\">>\" stands where there must be > (action) or < (happening)"},
    {"0 >^", "there is no action here"},
    {"0 <^", "there is no happening here"},
    {"0 > ^blow", "\"blow\" is no action; the nearest is \"block\""},
    {"0 < ^take piece=A", "\"take\" is no happening; the nearest is \"came\""},
    {"0 < ^alarms pack=0", "\"alarms\" is no happening; the nearest is \"alarm\""},
    {"0 < alarm ^pack=65", "pack is 65, limit 0..64"},
    {"0 < on-pallet ^pack=0", "pack is 0, limit 1..64"},
    {"0 < judged pack=0 found=no ^ratio_milli=1000000001",
     "ratio_milli is 1000000001, limit -1000000000..1000000000"},
    {"0 < removed pack=1 pieces=0^", "\"removed\" needs seen="},
    {"0 < blow ^pack=1", "\"blow\" has no field \"pack\", but lane="},
    {"0 < locked-off", NULL},
    {"0 < unlocked", NULL},
    {"0 < row-stale row=brass/middle value=missed truth=ahead", NULL},
    {"0 < row-stale row=brass/middle value=missed^", "\"row-stale\" needs truth="},
    {"0 < removed pack=0 pieces=0 seen=yes lane=2 beside=1", NULL},
    {"0 < removed pack=0 pieces=0 seen=yes ^lane=9", "lane is 9, limit 1..8"},
    {"0 < removed pack=0 pieces=0 seen=yes ^lane=0", "lane is 0, limit 1..8"},
    {"0 < blow lane=8", NULL},
    {"0 < blow ^beside=1", "\"blow\" has no field \"beside\", but lane="},
    {"0 < row-stale row=a value=b truth=false ^again=no",
     "\"row-stale\" has no field \"again\", but row= value= truth="},
    {"0 < ^lock-off", "\"lock-off\" is no happening; the nearest is \"locked-off\""},
};

static const TextRow pattern_rows[] = {
    {"removed", NULL},
    {"removed pack=1", NULL},
    {"take piece=A", NULL},
    {"^", "there is no action or happening here"},
    {"^tke piece=A", "\"tke\" is no action or happening; the nearest is \"take\""},
    {"^remove pack=1", "\"remove\" is no action or happening; the nearest is \"removed\""},
    {"removed ^pack", "pack has no value; there must be pack=... here"},
    {"removed ^packs=1",
     "\"removed\" has no field \"packs\", but pack= pieces= seen= lane= beside="},
    {"removed pack=1 ^pack=1", "pack is given twice"},
    {"removed ^pack=65", "pack is 65, limit 0..64"},
    {"removed pack=1 ^seen=maybe?",
     "seen is \"maybe?\", must be 1 to 64 letters, digits or - _ . : /"},
    {"removed ^*", "\"removed\" has no field \"*\", but pack= pieces= seen= lane= beside="},
    {"^0 < removed", "\"0\" is no action or happening"},
};

static void test_log_parse_bad(void **state)
{
    (void)state;
    size_t bad = check_texts(line_rows, sizeof line_rows / sizeof line_rows[0], parse_line);
    bad += check_texts(action_rows, sizeof action_rows / sizeof action_rows[0], parse_action);
    bad += check_texts(pattern_rows, sizeof pattern_rows / sizeof pattern_rows[0], parse_pattern);
    print_message("%zu bad texts\n", bad);
    assert_true(bad >= BAD_ROWS_MIN);
}

/* A word over the longest line, and a message that is cut between characters. */
static void test_log_parse_long_words(void **state)
{
    (void)state;
    Text text = {0};
    Err err = {0};
    LogLine line;
    text_add(&text, "take piece=");
    for (int i = 0; i < 1000; i++) {
        text_add(&text, "x");
    }
    assert_false(parse_action(NULL, "file", text.bytes, text.len, &err));
    assert_string_equal(err.text, "file:1:6: error: a word of 1006 bytes, limit 999");
    text_clear(&text);
    text_add(&text, "take piece=x");
    for (int i = 0; i < 40; i++) {
        text_add(&text, "\xc3\xa9");
    }
    assert_false(log_parse_action(text.bytes, (ErrPlace){"f", 3, 5}, &line, &err));
    assert_true(text_is_utf8(err.text, strlen(err.text), NULL));
    assert_memory_equal(err.text, "f:3:10: ", 8);
    text_clear(&text);
}

/* --- parse(print(x)) = x --------------------------------------------------------------------- */

/* The fields of a kind are asked of the parser itself: each message names the one that is still
 * missing, and a number's names its limits. */
static bool fill_fields(LogLine *line, Text *text, Random *random, int which)
{
    for (int fields = 0; fields <= LOG_FIELDS_MAX; fields++) {
        Err err = {0};
        if (log_parse(text->bytes, (ErrPlace){"f", 1, 1}, line, &err)) return true;
        const char *needs = strstr(err.text, "needs ");
        if (needs == NULL) fail_msg("%s: %s", text->bytes, err.text);
        char field[LOG_WORD_BYTES]; /* "piece=" */
        (void)snprintf(field, sizeof field, "%s", needs + strlen("needs "));
        size_t before = text->len;
        text_addf(text, " %s?", field);
        assert_false(log_parse(text->bytes, (ErrPlace){"f", 1, 1}, line, &err));
        text->len = before;
        text_addf(text, " %s", field);
        const char *limit = strstr(err.text, "limit ");
        if (limit == NULL) {
            static const char letters[] = WORD64 "ABCDEFGHIJKLMNOPQRSTUVWXYZ789";
            size_t len = which == 0 ? 1 : which == 1 ? 64 : 1 + random_below(random, 64);
            for (size_t i = 0; i < len; i++) {
                text_add_bytes(text, &letters[random_below(random, sizeof letters - 1)], 1);
            }
        } else {
            char *end;
            long long min = strtoll(limit + strlen("limit "), &end, 10);
            long long max = strtoll(end + strlen(".."), NULL, 10);
            long long any = min + (long long)random_below(random, (uint64_t)(max - min + 1));
            text_addf(text, "%lld", which == 0 ? min : which == 1 ? max : any);
        }
    }
    return false;
}

static void check_round_trip(bool is_action, const char *word, Random *random, int which)
{
    Text text = {0};
    Text again = {0};
    LogLine line;
    LogLine back;
    Err err = {0};
    long long time = (long long)random_below(random, (uint64_t)LOG_TIME_US_MAX + 1);
    text_addf(&text, "%lld %c %s", time, is_action ? '>' : '<', word);
    assert_true(fill_fields(&line, &text, random, which));
    assert_int_equal(line.is_action, is_action);
    assert_true(line.time_us == time);
    log_print(&line, &again);
    assert_string_equal(text.bytes, again.bytes);
    assert_true(log_parse(again.bytes, (ErrPlace){"f", 1, 1}, &back, &err));
    assert_true(log_equal(&line, &back));
    const char *body = strchr(strchr(again.bytes, ' ') + 1, ' ') + 1;
    LogPattern pattern;
    assert_true(log_parse_pattern(body, (ErrPlace){"f", 1, 1}, &pattern, &err));
    assert_true(log_matches(&line, &pattern));
    back.time_us = back.time_us == 0 ? 1 : 0;
    assert_false(log_equal(&line, &back));
    if (is_action) {
        LogLine action;
        assert_true(log_parse_action(body, (ErrPlace){"f", 1, 1}, &action, &err));
        action.time_us = line.time_us;
        assert_true(log_equal(&line, &action));
    }
    text_clear(&text);
    text_clear(&again);
}

static void test_log_print_parses_back(void **state)
{
    (void)state;
    const uint64_t seed = 20260302;
    print_message("seed %llu\n", (unsigned long long)seed);
    Random random;
    random_init(&random, seed);
    for (int which = 0; which < 50; which++) {
        for (int kind = 0; kind < ACTION_COUNT_OF; kind++) {
            check_round_trip(true, log_action_word((ActionKind)kind), &random, which);
        }
        for (int kind = 0; kind < HAPPENING_COUNT_OF; kind++) {
            check_round_trip(false, log_happening_word((HappeningKind)kind), &random, which);
        }
    }
}

/* No word stands for two kinds: a pattern could not tell them apart. */
static void test_log_words_differ(void **state)
{
    (void)state;
    const char *words[ACTION_COUNT_OF + HAPPENING_COUNT_OF];
    size_t count = 0;
    for (int kind = 0; kind < ACTION_COUNT_OF; kind++) {
        words[count++] = log_action_word((ActionKind)kind);
    }
    for (int kind = 0; kind < HAPPENING_COUNT_OF; kind++) {
        words[count++] = log_happening_word((HappeningKind)kind);
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j < i; j++) {
            if (strcmp(words[i], words[j]) == 0) fail_msg("%s is there twice", words[i]);
        }
    }
}

/* --- Whole runs ------------------------------------------------------------------------------ */

static bool parse_run(void *context, const char *file, const char *bytes, size_t len, Err *err)
{
    (void)context;
    PlayerRun run = {0};
    bool ok = player_parse_run(file, bytes, len, &run, err);
    assert_true(ok || run.lines == NULL);
    player_run_clear(&run);
    return ok;
}

#define HEAD "form threepass-run-1\nmodel 1\nscenario s\nseed 7\n"
#define LINES                                                                                      \
    "0 < scene-begun scene=a kind=tell\n0 > next\n5 < judged pack=0 found=no ratio_milli=12\n"     \
    "5 < run-ended why=done\n"
#define WANT_ID "must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'"

static const TextRow run_rows[] = {
    {HEAD LINES, NULL},
    {HEAD, NULL},
    {"form threepass-run-1\nmodel 1000000\nscenario s\nseed 18446744073709551615\n", NULL},
    {"^", "there must be \"form ...\" here"},
    {"^\n", "there must be \"form ...\" here"},
    {"^form\n", "there must be \"form ...\" here"},
    {"^ form threepass-run-1\n", "there must be \"form ...\" here"},
    {"^Form threepass-run-1\n", "there must be \"form ...\" here"},
    {"^format threepass-run-1\n", "there must be \"form ...\" here"},
    {"^0 > next\n", "there must be \"form ...\" here"},
    {"^\xef\xbb\xbf" HEAD, "there must be \"form ...\" here"},
    {"^form threepass-run-1", "the last line has no end"},
    {"form ^\n", "form is \"\", must be threepass-run-1"},
    {"form ^threepass-run-2\n", "form is \"threepass-run-2\", must be threepass-run-1"},
    {"form ^threepass-run-1 \n", "form is \"threepass-run-1 \", must be threepass-run-1"},
    {"form ^threepass-run-1\r\n", "form is \"threepass-run-1?\", must be threepass-run-1"},
    {"form threepass-run-1\n^", "there must be \"model ...\" here"},
    {"form threepass-run-1\n^scenario s\n", "there must be \"model ...\" here"},
    {"form threepass-run-1\n^model 1", "the last line has no end"},
    {"form threepass-run-1\nmodel ^\n", "model is \"\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^0\n", "model is \"0\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^-1\n", "model is \"-1\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^1000001\n", "model is \"1000001\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^1.0\n", "model is \"1.0\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^ 1\n", "model is \" 1\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^new\n", "model is \"new\", limit 1..1000000"},
    {"form threepass-run-1\nmodel ^99999999999999999999\n",
     "model is \"99999999999999999999\", limit 1..1000000"},
    {"form threepass-run-1\nmodel 1\n^", "there must be \"scenario ...\" here"},
    {"form threepass-run-1\nmodel 1\n^seed 7\n", "there must be \"scenario ...\" here"},
    {"form threepass-run-1\nmodel 1\nscenario ^\n", "scenario is \"\", " WANT_ID},
    {"form threepass-run-1\nmodel 1\nscenario ^a b\n", "scenario is \"a b\", " WANT_ID},
    {"form threepass-run-1\nmodel 1\nscenario ^../s\n", "scenario is \"../s\", " WANT_ID},
    {"form threepass-run-1\nmodel 1\nscenario ^" WORD64 "7\n",
     "scenario is \"" WORD64 "\", " WANT_ID},
    {"form threepass-run-1\nmodel 1\nscenario s\n^", "there must be \"seed ...\" here"},
    {"form threepass-run-1\nmodel 1\nscenario s\n^0 > next\n", "there must be \"seed ...\" here"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^\n",
     "seed is \"\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^-1\n",
     "seed is \"-1\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^18446744073709551616\n",
     "seed is \"18446744073709551616\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^99999999999999999999\n",
     "seed is \"99999999999999999999\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^0x7\n",
     "seed is \"0x7\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^000000000000000000001\n",
     "seed is \"000000000000000000001\", limit 0..18446744073709551615"},
    {"form threepass-run-1\nmodel 1\nscenario s\nseed ^7 7\n",
     "seed is \"7 7\", limit 0..18446744073709551615"},
    {HEAD "^\n", "time is \"\", limit 0..86400000000 microseconds"},
    {HEAD "0 > next\n^\n0 > next\n", "time is \"\", limit 0..86400000000 microseconds"},
    {HEAD "0 > next\n^0 > next", "the last line has no end"},
    {HEAD "0 > next\n^seed 7\n", "time is \"seed\", limit 0..86400000000 microseconds"},
    {HEAD "5 > next\n^4 > next\n", "time is 4, limit: not before 5"},
    {HEAD "5 > next\n5 < blow\n^0 < blow\n", "time is 0, limit: not before 5"},
    {HEAD "^86400000001 > next\n", "time is \"86400000001\", limit 0..86400000000 microseconds"},
    {HEAD "0 ^next\n", "\"next\" stands where there must be > (action) or < (happening)"},
    {HEAD "0 > ^nxt\n", "\"nxt\" is no action; the nearest is \"next\""},
    {HEAD "0 > next\n0 < ^blew\n", "\"blew\" is no happening; the nearest is \"blow\""},
    {HEAD "0 > take^\n", "\"take\" needs piece="},
    {HEAD "0 > take ^peace=A\n", "\"take\" has no field \"peace\", but piece="},
    {HEAD "0 > take ^piece=\n", "piece is \"\", must be 1 to 64 letters, digits or - _ . : /"},
    {HEAD "0 > take piece=A ^piece=B\n", "piece is given twice"},
    {HEAD "0 > fetch ^pack=65\n", "pack is 65, limit 1..64"},
    {HEAD "0 > fetch ^pack=x\n", "pack is \"x\", must be a whole number, limit 1..64"},
    {HEAD "0 > next\n0 > ^next\r\n", "\"next?\" is no action; the nearest is \"next\""},
    {HEAD "0 > take piece=A^\xff\n", "the byte 0xff is not UTF-8"},
    {"form threepass-run-1^\xc3\n", "the byte 0xc3 is not UTF-8"},
    {HEAD "0 > next\n^# a remark\n", "time is \"#\", limit 0..86400000000 microseconds"},
    {HEAD "0 > stop ^now\n", "\"stop\" has no field \"now\", but none"},
};

static void test_player_parse_run_bad(void **state)
{
    (void)state;
    size_t bad = check_texts(run_rows, sizeof run_rows / sizeof run_rows[0], parse_run);
    print_message("%zu bad runs\n", bad);
    assert_true(bad >= BAD_ROWS_MIN);
}

static void test_player_parse_run_nul(void **state)
{
    (void)state;
    static const char text[] = HEAD "0 > ne\0xt\n";
    Err err = {0};
    assert_false(parse_run(NULL, "file", text, sizeof text - 1, &err));
    assert_string_equal(err.text, "file:5:7: error: there is a NUL in the line");
}

/* A line of 1000 bytes, one of 1001, and a text over its limit. */
static void test_player_parse_run_long(void **state)
{
    (void)state;
    Err err = {0};
    Text text = {0};
    text_add(&text, HEAD "0 > next");
    size_t head = strlen(HEAD);
    while (text.len - head < LOG_LINE_BYTES_MAX) {
        text_add(&text, " ");
    }
    text_add(&text, "\n");
    assert_true(parse_run(NULL, "file", text.bytes, text.len, &err));
    text.bytes[text.len - 1] = ' ';
    text_add(&text, "\n");
    assert_false(parse_run(NULL, "file", text.bytes, text.len, &err));
    assert_string_equal(err.text, "file:5:1: error: a line of 1001 bytes, limit 1000");
    text_clear(&text);
    assert_false(parse_run(NULL, "file", HEAD, (size_t)LOG_BYTES_MAX + 1, &err));
    assert_int_equal(err.code, ERR_RANGE);
    assert_string_equal(err.text, "file: is 33554433 bytes long, limit 0..33554432");
}

static void test_player_parse_run_count(void **state)
{
    (void)state;
    Err err = {0};
    Text text = {0};
    text_add(&text, HEAD);
    for (int i = 0; i < LOG_LINES_MAX; i++) {
        text_add(&text, "0 > next\n");
    }
    assert_true(parse_run(NULL, "file", text.bytes, text.len, &err));
    text_add(&text, "0 > next\n");
    assert_false(parse_run(NULL, "file", text.bytes, text.len, &err));
    assert_string_equal(err.text,
                        "file:200005:1: error: one more line of log than the limit, 200000");
    text_clear(&text);
}

static void test_player_parse_run_good(void **state)
{
    (void)state;
    Err err = {0};
    PlayerRun run = {0};
    assert_true(player_parse_run("file", HEAD LINES, strlen(HEAD LINES), &run, &err));
    assert_true(run.model == 1 && run.seed == 7 && run.count == 4);
    assert_string_equal(run.scenario, "s");
    assert_true(log_is_action(&run.lines[1], ACTION_NEXT));
    assert_true(log_is(&run.lines[2], HAPPENING_JUDGED));
    assert_true(log_number(&run.lines[2], "ratio_milli") == 12);
    assert_string_equal(log_word(&run.lines[3], "why"), "done");
    player_run_clear(&run);
}

/* --- Its reference --------------------------------------------------------------------------- */

/* The form of a line without values: "tell who= about=". */
static void form_text(const LogLine *line, Text *out)
{
    Text printed = {0};
    log_print(line, &printed);
    const char *at = printed.bytes + strlen("0 > ");
    while (*at != '\0') {
        size_t name = strcspn(at, "=");
        size_t len = name + (at[name] == '=');
        text_add_bytes(out, at, len);
        at += len;
        at += strcspn(at, " ");
    }
    text_clear(&printed);
}

/* The rows of the table behind a heading; what stands under the next heading is not of it. */
static void read_table(const char *heading, Text *out)
{
    Text page = {0};
    bad_read_file("docs/files.md", &page);
    const char *from = strstr(page.bytes, heading);
    if (from == NULL) fail_msg("docs/files.md lacks %s", heading);
    const char *end = strstr(from + strlen(heading), "\n#");
    assert_non_null(end);
    text_add_bytes(out, from, (size_t)(end - from) + 1);
    text_clear(&page);
}

static int count_of(const char *text, const char *part)
{
    int count = 0;
    for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part)) {
        count++;
    }
    return count;
}

/* Each form has its row, in the vocabulary's order, and there is no other row. */
static void check_reference(const char *heading, bool are_actions, int count)
{
    Text table = {0};
    read_table(heading, &table);
    const char *at = table.bytes;
    for (int i = 0; i < count; i++) {
        LogLine line =
            are_actions ? log_action((ActionKind)i, 0) : log_happening((HappeningKind)i, 0);
        Text row = {0};
        text_add(&row, "\n| `");
        form_text(&line, &row);
        text_add(&row, "` | ");
        at = strstr(at, row.bytes);
        if (at == NULL) fail_msg("docs/files.md: %s lacks, or not in order:%s", heading, row.bytes);
        text_clear(&row);
    }
    assert_int_equal(count_of(table.bytes, "\n| `"), count);
    text_clear(&table);
}

static void test_reference_has_every_form(void **state)
{
    (void)state;
    check_reference("\n### Actions\n", true, ACTION_COUNT_OF);
    check_reference("\n### Happenings\n", false, HAPPENING_COUNT_OF);
}

/* The lists that the reference writes in capitals hold what the site and the scenario know. */
static void test_reference_has_every_list(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        const char *const *words;
    } lists[] = {
        {"ROLE", site_role_words},           {"SPOT", site_spot_words},
        {"HEIGHT", site_height_words},       {"STOCK", scenario_stock_words},
        {"FAIL-SAFE", site_fail_safe_words},
    };
    Text table = {0};
    read_table("\n## Words of a script\n", &table);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        Text row = {0};
        text_addf(&row, "\n| %s | ", lists[i].name);
        for (int w = 0; lists[i].words[w] != NULL; w++) {
            text_addf(&row, w == 0 ? "`%s`" : ", `%s`", lists[i].words[w]);
        }
        if (strstr(table.bytes, row.bytes) == NULL) fail_msg("docs/files.md lacks%s", row.bytes);
        text_clear(&row);
    }
    text_clear(&table);
}

/* The row of a form, with those rows of the lists whose name it writes in capitals. */
static void row_with_lists(const LogLine *line, Text *out)
{
    static const char *const lists[] = {"ROLE",      "SPOT", "HEIGHT", "STOCK",
                                        "FAIL-SAFE", "JOB",  "ABOUT",  "YES"};
    Text section = {0};
    Text start = {0};
    text_add(&start, "\n| `");
    form_text(line, &start);
    text_add(&start, "` | ");
    read_table(line->is_action ? "\n### Actions\n" : "\n### Happenings\n", &section);
    const char *row = strstr(section.bytes, start.bytes) + start.len;
    text_add_bytes(out, row, strcspn(row, "\n"));
    text_clear(&section);
    read_table("\n## Words of a script\n", &section);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
        if (strstr(out->bytes, lists[i]) == NULL) continue;
        text_clear(&start);
        text_addf(&start, "\n| %s | ", lists[i]);
        row = strstr(section.bytes, start.bytes);
        if (row == NULL) fail_msg("docs/files.md lacks the list %s", lists[i]);
        text_add_bytes(out, row + 1, strcspn(row + 1, "\n"));
    }
    text_clear(&start);
    text_clear(&section);
}

static void check_reference_word(const char *row, const char *word)
{
    Text quoted = {0};
    text_addf(&quoted, "`%s`", word);
    if (strstr(row, quoted.bytes) == NULL) {
        fail_msg("docs/files.md lacks %s in the row \"%s\"", quoted.bytes, row);
    }
    text_clear(&quoted);
}

/* Each fixed word of each field stands in its row. How many there are. */
static int check_reference_words(const LogLine *line)
{
    int count = 0;
    Text row = {0};
    row_with_lists(line, &row);
    for (int i = 0; log_field_name(line, i) != NULL; i++) {
        const char *const *words = log_field_words(line, log_field_name(line, i));
        for (int w = 0; words != NULL && words[w] != NULL; w++, count++) {
            check_reference_word(row.bytes, words[w]);
        }
    }
    text_clear(&row);
    return count;
}

static void test_reference_has_every_word(void **state)
{
    (void)state;
    int count = 0;
    for (int i = 0; i < ACTION_COUNT_OF; i++) {
        LogLine line = log_action((ActionKind)i, 0);
        count += check_reference_words(&line);
    }
    for (int i = 0; i < HAPPENING_COUNT_OF; i++) {
        LogLine line = log_happening((HappeningKind)i, 0);
        count += check_reference_words(&line);
    }
    assert_true(count > 200);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_log_parse_bad),
        cmocka_unit_test(test_log_parse_long_words),
        cmocka_unit_test(test_log_print_parses_back),
        cmocka_unit_test(test_log_words_differ),
        cmocka_unit_test(test_player_parse_run_good),
        cmocka_unit_test(test_player_parse_run_bad),
        cmocka_unit_test(test_player_parse_run_nul),
        cmocka_unit_test(test_player_parse_run_long),
        cmocka_unit_test(test_player_parse_run_count),
        cmocka_unit_test(test_reference_has_every_form),
        cmocka_unit_test(test_reference_has_every_list),
        cmocka_unit_test(test_reference_has_every_word),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
