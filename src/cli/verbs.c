/* The program's first word chooses a verb; each is one line here and one file beside this one. */
#include <stdio.h>
#include <string.h>

#include "base/os.h"
#include "cli/cli.h"
#include "scenario/suggest.h"

static const struct {
    const char *name;
    const char *usage; /* the words behind the name */
    const char *does;
    CliVerb *run;
    bool has_front; /* may open a window, or draw one */
} verbs[] = {
    {"window",
     "[--site DIR] [--store DIR] [--size WxH] [--text PERCENT] [--theme WORD] [--language TAG]",
     "what opens without a verb too: practise, be assessed, look back", verb_window, true},
    {"demo", "[--store DIR] [--pictures DIR]",
     "one story without a window: a check that fails, is tried again, watched and decided upon",
     verb_demo, true},
    {"check", "PATH... [--prove] [--json]", "are these sites and scenarios right?", verb_check,
     false},
    {"import",
     "lines|products|pieces|people FILE.csv --site DIR [--map 'OUR=THEIR HEADING']... [--write]",
     "from a spreadsheet into a site; without --write only shows what would change", verb_import,
     false},
    {"play",
     "SCENARIO --script FILE [--store DIR --person NAME [--supervised-by NAME]] [--assessment] "
     "[--language TAG] [--seed N] [--json]",
     "a run from a script, without a window", verb_play, false},
    {"records", "VERB ... [--store DIR]",
     "people, sign-offs, what is recorded, was any of it altered: see threepass records --help",
     verb_records, false},
    {"report",
     "board|tonight|person|certificate|line|observation [--store DIR] [--site DIR]\n"
     "      [--person NAME] [--competence ID] [--line ID] [--here NAME]... [--backup DIR]\n"
     "      [--language TAG] [--as-of DATE] [--json | --csv | --pdf FILE]\n"
     "  report items [--store DIR] [--first] [--scripted] [--json]",
     "what people take away; items: which questions and rubric lines work, and do they tell people "
     "apart?",
     verb_report, false},
    {"pass", "FILE [--json]", "one pass of one piece through a head, computed", verb_pass, false},
    {"sensitivity", "FILE [--json]", "the smallest sphere found, metal by metal and place by place",
     verb_sensitivity, false},
    {"pod", "FILE [--json]", "how often a piece is found that lies anyhow, with its exact interval",
     verb_pod, false},
    {"fit", "FILE [--json]", "a head fitted to what a site has validated, and where they disagree",
     verb_fit, false},
};

enum { VERB_COUNT = sizeof verbs / sizeof verbs[0] };

static int print_help(void)
{
    Text out = {0};
    text_add(&out, "usage: threepass VERB ...\n\n");
    for (int i = 0; i < VERB_COUNT; i++) {
        text_addf(&out, "  %s %s\n      %s\n", verbs[i].name, verbs[i].usage, verbs[i].does);
    }
    text_add(&out,
             "\n  VERB --help, --help, --version\n\n"
             "A file - is standard input. Ends with 0: done, 1: the answer is no, 2: cannot.\n");
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

static int print_version(void)
{
    Text out = {0};
    text_add(&out, "threepass " THREEPASS_VERSION "\n");
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

static int print_usage(int verb)
{
    Text out = {0};
    text_addf(&out, "usage: threepass %s %s\n%s\n", verbs[verb].name, verbs[verb].usage,
              verbs[verb].does);
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

static int refuse_verb(const char *word)
{
    static const char *const options[] = {"--help", "--version", NULL};
    const char *names[VERB_COUNT + 1] = {0};
    for (int i = 0; i < VERB_COUNT; i++) {
        names[i] = verbs[i].name;
    }
    bool is_option = word[0] == '-';
    const char *near = suggest_word(word, is_option ? options : names);
    Err err = {0};
    (void)err_set(&err, ERR_INPUT, "threepass: unknown %s \"%s\"%s%s%s",
                  is_option ? "option" : "verb", word,
                  near == NULL ? "; see threepass --help" : "; did you mean \"",
                  near == NULL ? "" : near, near == NULL ? "" : "\"?");
    return cli_fail(&err);
}

static bool asks_for_help(int argc, char **argv)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++) {
        if (strcmp(argv[i], "--help") == 0) return true;
    }
    return false;
}

/* The window's options may stand without its verb. */
static bool is_window_option(const char *word)
{
    for (const CliOption *option = cli_window_options; option->name != NULL; option++) {
        size_t len = strlen(option->name);
        if (strncmp(word, option->name, len) == 0 && (word[len] == '\0' || word[len] == '=')) {
            return true;
        }
    }
    return false;
}

static bool wants_pdf(int argc, char **argv)
{
    for (int i = 2; i < argc; i++) {
        if (strncmp(argv[i], "--pdf", 5) == 0) return true;
    }
    return false;
}

static bool wants_front(int argc, char **argv)
{
    if (argc < 2 || is_window_option(argv[1])) return true;
    for (int i = 0; i < VERB_COUNT; i++) {
        if (strcmp(argv[1], verbs[i].name) != 0) continue;
        return verbs[i].has_front || (verbs[i].run == verb_report && wants_pdf(argc, argv));
    }
    return false;
}

int cli_main(int argc, char **argv, const CliFront *front)
{
    if (front->open_window == NULL && wants_front(argc, argv)) os_become(CLI_FRONT_PROGRAM, argv);
    if (argc < 2 || is_window_option(argv[1])) {
        char verb[] = "window";
        if (argc > 0) argv[0] = verb; /* what messages name */
        return verb_window(argc, argv, front);
    }
    if (strcmp(argv[1], "--help") == 0) return print_help();
    if (strcmp(argv[1], "--version") == 0) return print_version();
    for (int i = 0; i < VERB_COUNT; i++) {
        if (strcmp(argv[1], verbs[i].name) != 0) continue;
        bool has_own_help = verbs[i].run == verb_records;
        if (!has_own_help && asks_for_help(argc - 1, argv + 1)) return print_usage(i);
        return verbs[i].run(argc - 1, argv + 1, front);
    }
    return refuse_verb(argv[1]);
}
