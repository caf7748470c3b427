/* threepass records observe, sign, acknowledge, withdraw, void, correct: what is decided. */
#include <stdio.h>
#include <string.h>

#include "base/os.h"
#include "cli/desk.h"

enum { REMARK_BYTES_MAX = 8192, ANSWERS_BYTES = 1024 };

/* --- observe --------------------------------------------------------------------------------- */

enum { LINE = DESK_OPTION_COUNT, ON, ANSWERS, GOOD, BAD, SHEET, REMARK, PHOTO, END_OF_OBSERVE };

/* "yes,no,not-seen" as a list, whose words are cut in `room`. */
static bool cut_answers(const char *given, char room[ANSWERS_BYTES], const char *out[REC_LIST_MAX],
                        size_t *count, Err *err)
{
    size_t len = strlen(given);
    *count = 0;
    if (len >= ANSWERS_BYTES) {
        return err_set(err, ERR_RANGE, "--answers has %zu bytes, limit %d", len, ANSWERS_BYTES - 1);
    }
    memcpy(room, given, len + 1);
    for (char *at = room; at != NULL;) {
        char *comma = strchr(at, ',');
        if (comma != NULL) *comma = '\0';
        if (*count == REC_LIST_MAX) {
            return err_set(err, ERR_RANGE, "--answers has over %d words", REC_LIST_MAX);
        }
        out[(*count)++] = at;
        at = comma == NULL ? NULL : comma + 1;
    }
    return true;
}

/* What the options say; `texts` holds the remark and the photo. */
static bool fill_observation(const CliOption options[], Text texts[2], Observation *seen, Err *err)
{
    for (int i = LINE; i <= SHEET; i++) {
        bool is_needed = i != GOOD && i != BAD;
        if (is_needed && !desk_want("observe", &options[i], err)) return false;
    }
    if (options[GOOD].given == options[BAD].given) {
        return err_set(err, ERR_INPUT, "threepass records observe needs one of --good and --bad");
    }
    if (options[REMARK].given) {
        if (!os_file_read(options[REMARK].value, REMARK_BYTES_MAX, &texts[0], err)) return false;
        seen->remark = text_string(&texts[0]);
    }
    if (options[PHOTO].given) {
        if (!os_file_read(options[PHOTO].value, REC_CONTENT_BYTES_MAX, &texts[1], err))
            return false;
        seen->photo = (RecContent){NULL, text_string(&texts[1]), texts[1].len};
    }
    seen->line = options[LINE].value;
    seen->seen_on = options[ON].value;
    seen->sheet = options[SHEET].value;
    seen->is_good = options[GOOD].given;
    seen->language = "en";
    return true;
}

static void tell_added(const RecAdded *added, Text *out)
{
    text_addf(out, "Recorded as entry %lld (%.8s).\n", (long long)added->number, added->hash.hex);
}

int records_observe(int argc, char **argv)
{
    CliOption options[] = {DESK_OPTIONS,
                           [LINE] = {.name = "--line", .takes = "LINE"},
                           [ON] = {.name = "--on", .takes = "DATE"},
                           [ANSWERS] = {.name = "--answers", .takes = "yes,no,not-seen,..."},
                           [GOOD] = {.name = "--good"},
                           [BAD] = {.name = "--bad"},
                           [SHEET] = {.name = "--sheet", .takes = "NUMBER"},
                           [REMARK] = {.name = "--remark", .takes = "FILE"},
                           [PHOTO] = {.name = "--photo", .takes = "FILE"},
                           [END_OF_OBSERVE] = {0}};
    CliWords words = {.min = 2, .max = 2};
    Desk desk = {0};
    Text texts[2] = {{0}};
    Text out = {0};
    char room[ANSWERS_BYTES];
    const char *answers[REC_LIST_MAX];
    char person[REC_ID_BYTES];
    Observation seen = {.author = desk.author, .person = person, .answers = {answers, 0}};
    RecAdded added;
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              fill_observation(options, texts, &seen, &err) &&
              cut_answers(options[ANSWERS].value, room, answers, &seen.answers.count, &err) &&
              desk_open(options, DESK_AUTHOR | DESK_AT_SITE, &desk, &err) &&
              people_find(desk.records, words.words[0], person, &err) &&
              desk_competence(&desk, words.words[1], &seen.competence, &err) &&
              sign_observe(desk.records, &seen, &added, &err);
    if (ok) tell_added(&added, &out);
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    text_clear(&texts[0]);
    text_clear(&texts[1]);
    return code;
}

/* --- sign ------------------------------------------------------------------------------------ */

enum {
    DECISION = DESK_OPTION_COUNT,
    FOR_LINE,
    PRODUCT,
    CHECK_KIND,
    BUDDY,
    GOOD_UNTIL,
    MEANING,
    WRITE,
    END_OF_SIGN
};

static bool read_decision(const CliOption *option, RecDecision *out, Err *err)
{
    static const char *const words[] = {"signed", "with-buddy", "refused"};
    const char *given = option->given ? option->value : words[0];
    for (int i = 0; i < 3; i++) {
        if (strcmp(given, words[i]) != 0) continue;
        *out = (RecDecision)i;
        return true;
    }
    return err_set(err, ERR_INPUT,
                   "threepass: --decision is \"%s\", must be one of signed, "
                   "with-buddy, refused",
                   given);
}

/* The statement, and whether it was signed or why not. People stand in it by ids, so their names
 * come first. */
static void tell_answer(const CliOption options[], const char *name, const Desk *desk,
                        const SignOffAnswer *answer, Text *out)
{
    bool writes = options[WRITE].given;
    text_addf(out, "%s decides about %s:\n\n", options[DESK_AS].value, name);
    text_add(out, text_string(&answer->statement));
    text_add(out, "\n");
    if (!answer->counts) {
        text_add(out, "This signature would not count, so it is not made:\n");
        for (int i = 0; i < answer->reason_count; i++) {
            text_add(out, "  ");
            texts_tell_standing(desk->texts, &answer->reasons[i], out);
            text_add(out, "\n");
        }
    } else if (writes) {
        tell_added(&answer->added, out);
    } else {
        text_add(out, "Nothing was signed; --write does it.\n");
    }
}

static bool sign_for(const CliOption options[], CliWords *words, SignOff *what, Desk *desk,
                     SignOffAnswer *answer, Err *err)
{
    char person[REC_ID_BYTES];
    char buddy[REC_ID_BYTES] = "";
    what->person = person;
    what->buddy = buddy;
    what->lines.count = options[FOR_LINE].count;
    what->products.count = options[PRODUCT].count;
    what->checks.count = options[CHECK_KIND].count;
    what->good_until = options[GOOD_UNTIL].value;
    what->meaning = options[MEANING].value;
    bool ok =
        read_decision(&options[DECISION], &what->decision, err) &&
        desk_open(options, DESK_SIGNER | DESK_AT_SITE, desk, err) &&
        people_find(desk->records, words->words[0], person, err) &&
        desk_competence(desk, words->words[1], &what->competence, err) &&
        (!options[BUDDY].given || people_find(desk->records, options[BUDDY].value, buddy, err));
    if (!ok) {
        what->person = what->buddy = "";
        return false;
    }
    what->site = desk->site;
    what->texts = desk->texts;
    what->language = "en";
    what->signer = desk->author;
    what->seed = options[WRITE].given ? desk->seed : NULL;
    ok = sign_off(desk->records, what, answer, err);
    what->person = what->buddy = ""; /* they stand here */
    return ok;
}

int records_sign(int argc, char **argv)
{
    const char *lists[3][REC_LIST_MAX];
    CliOption options[] = {DESK_OPTIONS,
                           [DECISION] = {.name = "--decision", .takes = "WORD"},
                           [FOR_LINE] = {.name = "--line",
                                         .takes = "LINE",
                                         .each = lists[0],
                                         .each_max = REC_LIST_MAX},
                           [PRODUCT] = {.name = "--product",
                                        .takes = "ID",
                                        .each = lists[1],
                                        .each_max = REC_LIST_MAX},
                           [CHECK_KIND] = {.name = "--check",
                                           .takes = "ID",
                                           .each = lists[2],
                                           .each_max = REC_LIST_MAX},
                           [BUDDY] = {.name = "--buddy", .takes = "NAME"},
                           [GOOD_UNTIL] = {.name = "--good-until", .takes = "DATE"},
                           [MEANING] = {.name = "--meaning", .takes = "TEXT"},
                           [WRITE] = {.name = "--write"},
                           [END_OF_SIGN] = {0}};
    CliWords words = {.min = 2, .max = 2};
    SignOff what = {.lines = {lists[0], 0}, .products = {lists[1], 0}, .checks = {lists[2], 0}};
    SignOffAnswer answer = {0};
    Desk desk = {0};
    Text out = {0};
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              sign_for(options, &words, &what, &desk, &answer, &err);
    int code = CLI_CANNOT;
    if (ok) {
        tell_answer(options, words.words[0], &desk, &answer, &out);
        code = cli_print(&out, answer.counts ? CLI_DONE : CLI_NO);
    } else {
        code = cli_fail(&err);
    }
    text_clear(&out);
    sign_off_clear(&answer);
    desk_close(&desk);
    return code;
}

/* --- What follows ---------------------------------------------------------------------------- */

/* What is done about one entry. */
typedef bool About(Desk *desk, const char *about, const char *reason, const char *text, Err *err);

/* The verb `name` about an entry, with what it needs. */
static int do_about(int argc, char **argv, unsigned needs, bool wants_reason, bool wants_text,
                    About *act, const char *done)
{
    enum { REASON = DESK_OPTION_COUNT, TEXT, END };
    CliOption options[] = {DESK_OPTIONS, [REASON] = {.name = "--reason", .takes = "TEXT"},
                           [TEXT] = {.name = "--text", .takes = "TEXT"}, [END] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Desk desk = {0};
    Text out = {0};
    char about[REC_HEX_BYTES];
    Err err = {0};
    const char *verb = strchr(argv[0], ' ');
    CHECK(verb != NULL);
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              (!wants_reason || desk_want(verb + 1, &options[REASON], &err)) &&
              (!wants_text || desk_want(verb + 1, &options[TEXT], &err)) &&
              desk_open(options, needs, &desk, &err) &&
              sign_find_entry(desk.records, words.words[0], about, &err) &&
              act(&desk, about, options[REASON].value, options[TEXT].value, &err);
    if (ok) text_addf(&out, "Entry %s is %s.\n", words.words[0], done);
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

static bool acknowledge(Desk *desk, const char *about, const char *reason, const char *text,
                        Err *err)
{
    (void)reason;
    (void)text;
    return sign_acknowledge(desk->records, desk->author, about, err);
}

int records_acknowledge(int argc, char **argv)
{
    return do_about(argc, argv, DESK_AUTHOR, false, false, acknowledge, "acknowledged");
}

static bool withdraw(Desk *desk, const char *about, const char *reason, const char *text, Err *err)
{
    (void)text;
    return sign_withdraw(desk->records, desk->author, desk->seed, about, reason, err);
}

int records_withdraw(int argc, char **argv)
{
    return do_about(argc, argv, DESK_SIGNER, true, false, withdraw, "withdrawn");
}

static bool void_run(Desk *desk, const char *about, const char *reason, const char *text, Err *err)
{
    (void)text;
    return sign_void(desk->records, desk->author, about, reason, err);
}

int records_void(int argc, char **argv)
{
    return do_about(argc, argv, DESK_AUTHOR, true, false, void_run, "void");
}

static bool correct(Desk *desk, const char *about, const char *reason, const char *text, Err *err)
{
    return sign_correct(desk->records, desk->author, about, text, reason, err);
}

int records_correct(int argc, char **argv)
{
    return do_about(argc, argv, DESK_AUTHOR, true, true, correct, "corrected beside it");
}
