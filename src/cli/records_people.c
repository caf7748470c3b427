/* threepass records init, person, role, assign, erase: who is here. */
#include <string.h>

#include "cli/desk.h"

/* Said whenever a recovery code is shown. */
static void tell_code(const char *name, const char *code, Text *out)
{
    text_addf(out,
              "Recovery code of %s, shown this once:\n\n    %s\n\n"
              "Write it down, and keep the paper where nobody else gets at it: it opens the "
              "signing key.\n",
              name, code);
}

int records_init(int argc, char **argv)
{
    enum { NAME = DESK_OPTION_COUNT, END };
    CliOption options[] = {DESK_OPTIONS, [NAME] = {.name = "--name", .takes = "NAME"}, [END] = {0}};
    CliWords words = {0};
    Records *records = NULL;
    Text folder = {0};
    Text heads = {0};
    Text secret = {0};
    Text out = {0};
    char person[REC_ID_BYTES];
    char code[REC_RECOVERY_TEXT_BYTES];
    Err err = {0};
    RecOutside outside = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_want("init", &options[NAME], &err) &&
              desk_want("init", &options[DESK_PASSPHRASE], &err) &&
              cli_store_folder(&options[DESK_STORE], &folder, &err) &&
              desk_secret(&options[DESK_PASSPHRASE], &secret, &err);
    if (ok) {
        outside.heads = desk_heads_folder(&heads);
        PeopleStart start = {folder.bytes, THREEPASS_VERSION, &outside, options[NAME].value,
                             text_string(&secret)};
        ok = people_start(&start, &records, person, code, &err);
    }
    if (ok) {
        text_addf(&out, "The store %s has its first supervisor, %s.\n", folder.bytes,
                  options[NAME].value);
        tell_code(options[NAME].value, code, &out);
        text_add(&out, "A second supervisor should follow soon: only another one gives a new key "
                       "when all is lost.\n");
    }
    rec_close(records);
    desk_secret_clear(&secret);
    int result = desk_answer(ok, &out, &err);
    rec_wipe(code, sizeof code);
    text_clear(&folder);
    text_clear(&heads);
    return result;
}

/* Add one person, with a role. */
static bool add_person(Desk *desk, const char *name, const char *role, Text *out, Err *err)
{
    char person[REC_ID_BYTES];
    if (!people_add(desk->records, desk->author, name, person, err)) return false;
    if (role != NULL && !people_set_role(desk->records, desk->author, person, role, true, err)) {
        err_context(err, "%s was added, without the role", name);
        return false;
    }
    text_addf(out, "%s is here%s%s.\n", name, role == NULL ? "" : ", ", role == NULL ? "" : role);
    return true;
}

int records_person(int argc, char **argv)
{
    enum { ROLE = DESK_OPTION_COUNT, END, PEOPLE_MAX = 500 };
    CliOption options[] = {DESK_OPTIONS, [ROLE] = {.name = "--role", .takes = "ROLE"}, [END] = {0}};
    CliWords words = {.min = 1, .max = PEOPLE_MAX};
    Desk desk = {0};
    Text out = {0};
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_open(options, DESK_AUTHOR, &desk, &err);
    for (size_t i = 0; i < words.count && ok; i++) {
        ok = add_person(&desk, words.words[i], options[ROLE].value, &out, &err);
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

int records_role(int argc, char **argv)
{
    enum { TAKE = DESK_OPTION_COUNT, END };
    CliOption options[] = {DESK_OPTIONS, [TAKE] = {.name = "--take"}, [END] = {0}};
    CliWords words = {.min = 2, .max = 2};
    Desk desk = {0};
    Text out = {0};
    char person[REC_ID_BYTES];
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_open(options, DESK_AUTHOR, &desk, &err) &&
              people_find(desk.records, words.words[0], person, &err) &&
              people_set_role(desk.records, desk.author, person, words.words[1],
                              !options[TAKE].given, &err);
    if (ok) {
        text_addf(&out, "%s %s %s.\n", words.words[0],
                  options[TAKE].given ? "has no more the role" : "has the role", words.words[1]);
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

int records_assign(int argc, char **argv)
{
    enum { BUDDY = DESK_OPTION_COUNT, END };
    CliOption options[] = {
        DESK_OPTIONS, [BUDDY] = {.name = "--buddy", .takes = "NAME"}, [END] = {0}};
    CliWords words = {.min = 2, .max = 2};
    const Competence *competence;
    Desk desk = {0};
    Text out = {0};
    char person[REC_ID_BYTES];
    char buddy[REC_ID_BYTES] = "";
    Err err = {0};
    bool ok =
        cli_parse(argc, argv, options, &words, &err) &&
        desk_open(options, DESK_AUTHOR | DESK_AT_SITE, &desk, &err) &&
        people_find(desk.records, words.words[0], person, &err) &&
        desk_competence(&desk, words.words[1], &competence, &err) &&
        (!options[BUDDY].given || people_find(desk.records, options[BUDDY].value, buddy, &err)) &&
        people_assign(desk.records, desk.author, person, competence, buddy, &err);
    if (ok) {
        text_addf(&out, "%s learns \"%s\"%s%s.\n", words.words[0], words.words[1],
                  options[BUDDY].given ? " with " : "",
                  options[BUDDY].given ? options[BUDDY].value : "");
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

int records_erase(int argc, char **argv)
{
    enum { REASON = DESK_OPTION_COUNT, END };
    CliOption options[] = {
        DESK_OPTIONS, [REASON] = {.name = "--reason", .takes = "TEXT"}, [END] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Desk desk = {0};
    Text out = {0};
    char person[REC_ID_BYTES];
    size_t count = 0;
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_want("erase", &options[REASON], &err) &&
              desk_open(options, DESK_AUTHOR, &desk, &err) &&
              people_find(desk.records, words.words[0], person, &err) &&
              people_erase(desk.records, desk.author, person, options[REASON].value, &count, &err);
    if (ok) {
        text_addf(&out,
                  "%zu texts were deleted here for good. What remains speaks of %s.\n"
                  "Copies in backups, bundles, prints and at other stations are yours to delete.\n",
                  count, person);
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

/* --- Keys ------------------------------------------------------------------------------------ */

int records_pin(int argc, char **argv)
{
    enum { NEW = DESK_OPTION_COUNT, END };
    CliOption options[] = {DESK_OPTIONS, [NEW] = {.name = "--new", .takes = "FILE"}, [END] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Desk desk = {0};
    Text out = {0};
    Text secret = {0};
    char person[REC_ID_BYTES];
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) && desk_want("pin", &options[NEW], &err);
    if (ok && !options[DESK_AS].given) { /* one's own */
        options[DESK_AS].given = true;
        options[DESK_AS].value = words.words[0];
    }
    ok = ok && desk_open(options, DESK_AUTHOR, &desk, &err) &&
         people_find(desk.records, words.words[0], person, &err) &&
         desk_secret(&options[NEW], &secret, &err) &&
         people_set_pin(desk.records, desk.author, person, text_string(&secret), &err);
    if (ok) text_addf(&out, "%s has a new PIN.\n", words.words[0]);
    desk_secret_clear(&secret);
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

/* How a new passphrase may be set. */
enum { NEW = DESK_OPTION_COUNT, OLD, RECOVERY, END_OF_PASSPHRASE };

/* By the old passphrase or the recovery code. */
static bool change_passphrase(const CliOption options[], Desk *desk, const char *person,
                              const char *passphrase, Err *err)
{
    bool by_old = options[OLD].given;
    Text secret = {0};
    PeopleTry tried;
    bool ok = desk_secret(&options[by_old ? OLD : RECOVERY], &secret, err) &&
              (by_old ? people_change_passphrase(desk->records, person, text_string(&secret),
                                                 passphrase, &tried, err)
                      : people_recover(desk->records, person, text_string(&secret), passphrase,
                                       &tried, err)) &&
              people_want_right(&tried, by_old ? "passphrase" : "recovery code", err);
    desk_secret_clear(&secret);
    return ok;
}

static bool has_key(void *context, const RecFact *fact, Err *err)
{
    bool *has = context;
    (void)fact;
    (void)err;
    *has = true;
    return true;
}

/* A new key: the person's first, by PIN, or another's gift. */
static bool make_key(Desk *desk, const char *person, const char *name, const char *passphrase,
                     Text *out, Err *err)
{
    char code[REC_RECOVERY_TEXT_BYTES];
    bool has = false;
    bool is_own = strcmp(desk->author, person) == 0;
    if (!rec_facts(desk->records, person, "key", has_key, &has, err)) return false;
    if (is_own && has) {
        return err_set(err, ERR_INPUT,
                       "a PIN opens no signing key: give --old or --recovery, or "
                       "let another supervisor give a new one");
    }
    if (!is_own && !has) {
        return err_set(err, ERR_INPUT,
                       "the first passphrase is set by the person, with --pin FILE");
    }
    if (!people_make_key(desk->records, desk->author, person, passphrase, code, err)) return false;
    tell_code(name, code, out);
    rec_wipe(code, sizeof code);
    return true;
}

int records_passphrase(int argc, char **argv)
{
    CliOption options[] = {
        DESK_OPTIONS, [NEW] = {.name = "--new", .takes = "FILE"},
        [OLD] = {.name = "--old", .takes = "FILE"},
        [RECOVERY] = {.name = "--recovery", .takes = "FILE"}, [END_OF_PASSPHRASE] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Desk desk = {0};
    Text out = {0};
    Text secret = {0};
    char person[REC_ID_BYTES];
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              desk_want("passphrase", &options[NEW], &err);
    bool changes = options[OLD].given || options[RECOVERY].given;
    if (ok && !options[DESK_AS].given) { /* one's own */
        options[DESK_AS].given = true;
        options[DESK_AS].value = words.words[0];
    }
    ok = ok && desk_open(options, changes ? 0 : DESK_AUTHOR, &desk, &err) &&
         people_find(desk.records, words.words[0], person, &err) &&
         desk_secret(&options[NEW], &secret, &err);
    if (changes) {
        ok = ok && change_passphrase(options, &desk, person, text_string(&secret), &err);
    } else {
        ok = ok && make_key(&desk, person, words.words[0], text_string(&secret), &out, &err);
    }
    if (ok) text_addf(&out, "%s has a new passphrase.\n", words.words[0]);
    desk_secret_clear(&secret);
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}
