/* threepass records: a table of verbs of its own, one function each. */
#include <stdio.h>
#include <string.h>

#include "base/os.h"
#include "cli/desk.h"
#include "scenario/suggest.h"

#define WHO "--as NAME --passphrase FILE|--pin FILE"
#define SIGNER "--as NAME --passphrase FILE"

static const struct {
    const char *name, *usage, *does;
    RecordsVerb *run;
} verbs[] = {
    {"init", "--name NAME --passphrase FILE", "make the store, with its first supervisor",
     records_init},
    {"person", "NAME... [--role ROLE] " WHO, "add people", records_person},
    {"role", "NAME ROLE [--take] " WHO,
     "give or take a role: operator, assessor, supervisor, quality, trainer", records_role},
    {"assign", "NAME COMPETENCE --site DIR [--buddy NAME] " WHO, "who learns what, and with whom",
     records_assign},
    {"pin", "NAME --new FILE [--as SUPERVISOR --passphrase FILE] [--pin FILE]",
     "set a PIN: one's own, or a supervisor for somebody", records_pin},
    {"passphrase",
     "NAME --new FILE --pin FILE|--old FILE|--recovery FILE|--as SUPERVISOR --passphrase FILE",
     "set the passphrase that signs: the first, another, a forgotten one, or a new key",
     records_passphrase},
    {"observe",
     "NAME COMPETENCE --site DIR --line LINE --on DATE --answers yes,no,not-seen,... --good|--bad "
     "--sheet NUMBER [--remark FILE] [--photo FILE] " WHO,
     "what was seen on the real line", records_observe},
    {"sign",
     "NAME COMPETENCE --site DIR [--decision signed|with-buddy|refused] [--line LINE]... "
     "[--product PRODUCT]... [--check CHECK]... [--buddy NAME] [--good-until DATE] "
     "[--meaning TEXT] [--write] " SIGNER,
     "show what would be signed; with --write sign it", records_sign},
    {"acknowledge", "ENTRY " WHO, "the person has read it", records_acknowledge},
    {"withdraw", "ENTRY --reason TEXT " SIGNER, "take back a signature or paper", records_withdraw},
    {"void", "ENTRY --reason TEXT " WHO, "a run counts for nothing", records_void},
    {"correct", "ENTRY --text TEXT --reason TEXT " WHO, "say beside an entry what is right",
     records_correct},
    {"paper", "FILE.csv --site DIR [--write] " WHO,
     "sign-offs from before; without --write only shows what is wrong", records_paper},
    {"erase", "NAME --reason TEXT " WHO, "a leaver: the name and all remarks, for good",
     records_erase},
    {"standing", "NAME --site DIR [--competence ID] [--json]",
     "where a person stands, and why; the answer is no unless all is signed", records_standing},
    {"export", "--out FILE", "a bundle of all entries, for another station", records_export},
    {"import", "FILE... [--new-station]",
     "take in bundles; a station not seen before only with --new-station", records_import},
    {"backup", "DIR", "a copy of the store, also while it is in use", records_backup},
    {"show", "[--script ENTRY] [--json]", "what is recorded", records_show},
    {"verify", "[--head FILE] [--json]", "was any of it altered?", records_verify},
};

enum { VERB_COUNT = sizeof verbs / sizeof verbs[0], NAME_BYTES = 40 };

bool cli_store_folder(const CliOption *option, Text *out, Err *err)
{
    if (!option->given) return os_data_folder(out, err);
    text_add(out, option->value);
    return true;
}

static int print_usage(int verb)
{
    Text out = {0};
    text_addf(&out, "usage: threepass records %s %s [--store DIR]\n%s\n", verbs[verb].name,
              verbs[verb].usage, verbs[verb].does);
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

static int print_help(void)
{
    Text out = {0};
    text_add(&out, "usage: threepass records VERB ... [--store DIR]\n\n");
    for (int i = 0; i < VERB_COUNT; i++) {
        text_addf(&out, "  %s %s\n      %s\n", verbs[i].name, verbs[i].usage, verbs[i].does);
    }
    text_add(&out, "\nPassphrases, PINs and recovery codes are the first line of a FILE; - is "
                   "standard input.\n");
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

static int refuse(const char *word)
{
    const char *names[VERB_COUNT + 1] = {0};
    Err err = {0};
    for (int i = 0; i < VERB_COUNT; i++) {
        names[i] = verbs[i].name;
    }
    const char *near = suggest_word(word, names);
    (void)err_set(&err, ERR_INPUT, "threepass: records has no \"%s\"%s%s%s", word,
                  near == NULL ? "; see threepass records --help" : "; did you mean \"",
                  near == NULL ? "" : near, near == NULL ? "" : "\"?");
    return cli_fail(&err);
}

static bool asks_for_help(int argc, char **argv)
{
    for (int i = 0; i < argc && strcmp(argv[i], "--") != 0; i++) {
        if (strcmp(argv[i], "--help") == 0) return true;
    }
    return false;
}

/* The verb may stand behind options of its own: `records --store DIR show`. */
int verb_records(int argc, char **argv, const CliFront *front)
{
    (void)front;
    Err err = {0};
    bool helps = asks_for_help(argc, argv);
    int at = 1;
    while (at < argc && argv[at][0] == '-') {
        at += strchr(argv[at], '=') == NULL && strcmp(argv[at], "--help") != 0 ? 2 : 1;
    }
    if (at >= argc && helps) return print_help();
    if (at >= argc) {
        (void)err_set(&err, ERR_INPUT,
                      "threepass: records needs a verb; see threepass records "
                      "--help");
        return cli_fail(&err);
    }
    for (int i = 0; i < VERB_COUNT; i++) {
        if (strcmp(argv[at], verbs[i].name) != 0) continue;
        if (helps) return print_usage(i);
        char name[NAME_BYTES]; /* what messages say */
        (void)snprintf(name, sizeof name, "records %s", verbs[i].name);
        memmove(argv + 2, argv + 1, (size_t)(at - 1) * sizeof *argv);
        argv[1] = name;
        return verbs[i].run(argc - 1, argv + 1);
    }
    return refuse(argv[at]);
}
