/* What the verbs of the command line share. A verb is one file with one function
 *
 *     int verb_name(int argc, char **argv, const CliFront *front)
 *
 * declared below and named in the table of verbs.c. argv[0] is the verb itself. It returns a
 * CliCode, prints its answer in one piece with cli_print and its line of trouble with cli_fail:
 *
 *     int verb_check(int argc, char **argv, const CliFront *front)
 *     {
 *         enum { PROVE, JSON };
 *         CliOption options[] = {[PROVE] = {.name = "--prove"}, [JSON] = {.name = "--json"}, {0}};
 *         CliWords words = {.min = 1, .max = 1000};
 *         Err err = {0};
 *         (void)front;
 *         if (!cli_parse(argc, argv, options, &words, &err)) return cli_fail(&err);
 *         ...options[PROVE].given, words.count, words.words[0]...
 *     }
 *
 * A verb with `--help` behind it never runs: its usage is printed.
 */
#ifndef CLI_CLI_H
#define CLI_CLI_H

#include "app/texts.h"
#include "base/err.h"
#include "base/progress.h"
#include "base/text.h"
#include "records/verify.h"
#include "reports/page.h"
#include "scenario/metals.h"

typedef enum {
    CLI_DONE = 0,
    CLI_NO = 1,     /* it ran, and the answer is no */
    CLI_CANNOT = 2, /* wrong usage, an unreadable file, a full disk */
} CliCode;

/* One option of a verb. A table of them ends in one without a name. */
typedef struct {
    const char *name;  /* with its dashes: "--store" */
    const char *takes; /* what its value is: "DIR"; NULL for an option without one */
    bool given;        /* filled in by cli_parse, as is the value */
    const char *value; /* borrowed from argv; NULL when not given */
    const char **each; /* not NULL: it may be given again, and its values go here */
    size_t each_max;   /* as often as this */
    size_t count;      /* filled in by cli_parse */
} CliOption;

/* The words of a call that are no options: files and the like. "-" is one. */
typedef struct {
    size_t min, max;
    size_t count; /* filled in by cli_parse */
    char **words; /* borrowed from argv */
} CliWords;

/* Read the words behind the verb in any order: `--x`, `--x VALUE`, `--x=VALUE`; behind `--` nothing
 * is an option. Reorders argv. Fails with ERR_INPUT, in one line for people, on an unknown option
 * (with the nearest known), one given twice, a value missing or not wanted, and too few or too many
 * words. */
MUST_USE bool cli_parse(int argc, char **argv, CliOption options[], CliWords *words, Err *err);

/* Print the error's one line to standard error; always CLI_CANNOT. */
int cli_fail(const Err *err);

/* What a verb does that computes an answer from one description. `work` points to `bytes` bytes,
 * all zeros at first, which hold what is described and what comes of it. */
typedef struct {
    size_t bytes;
    bool (*describe)(const JsonValue *root, const MetalTable *metals, void *work, Err *err);
    bool (*compute)(void *work, const Progress *progress, Err *err);
    void (*add_json)(Text *out, const JsonValue *root, const void *work);
    void (*add_words)(Text *out, const JsonValue *root, const void *work); /* for people */
    void (*clear)(void *work);
} CliComputing;

/* The whole of such a verb, `FILE [--json]`: read the file, compute, print. From the first second
 * on it prints on standard error, where that is a terminal, how much is done; and a Ctrl-C ends the
 * computation with nothing written. Returns the CliCode. */
int cli_compute(int argc, char **argv, const CliComputing *computing);

/* Append how a file calls a metal: its name, or what it is made of. */
void cli_tell_metal(const JsonValue *metal, Text *out);

/* Append [a, b, ...], each with seventeen significant digits. */
void cli_add_numbers(Text *out, const double numbers[], size_t count);

/* Append a chance in words that nobody takes for certainty. */
void cli_tell_chance(Text *out, double chance);

/* The folder that --store names, else the person's own data folder, into `out`. ERR_IO. */
MUST_USE bool cli_store_folder(const CliOption *option, Text *out, Err *err);

/* Print `out` to standard output and see that it got there; gives the CliCode `code`, or CLI_CANNOT
 * and a line on standard error when it did not (a full disk). */
int cli_print(const Text *out, int code);

/* The path of the program's own data file `name` into `out` (the caller ends it): beside an
 * installed program in ../share/threepass/assets, else in the tree it was built from. ERR_IO. */
MUST_USE bool cli_asset_path(const char *name, Text *out, Err *err);

/* The program's texts; the caller ends *out with texts_free. ERR_INPUT, ERR_IO. The second in
 * `language`, a BCP 47 tag. */
MUST_USE bool cli_texts(Texts **out, Err *err);
MUST_USE bool cli_texts_in(const char *language, Texts **out, Err *err);

/* Read a scenario with its site; the caller ends *out with work_free. ERR_INPUT, ERR_IO. */
MUST_USE bool cli_work(const char *scenario_path, Work **out, Err *err);

/* Append for people what happened in a run, from log line `from` on; and how it was judged. */
void cli_tell_story(const Texts *texts, const AppRun *run, size_t from, Text *out);
void cli_tell_score(const Texts *texts, const AppRun *run, Text *out);

/* Append for people every entry of a store. ERR_IO, ERR_DAMAGE. */
MUST_USE bool cli_tell_records(const char *folder, Text *out, Err *err);

/* Append for people what a check of a store found. */
void cli_tell_report(const RecReport *report, Text *out);

/* What opens a window, or draws one into pictures; all strings are borrowed for the call. */
typedef struct {
    const char *assets;   /* folder of the program's data */
    const char *site;     /* folder of a site.json and its scenarios */
    const char *store;    /* folder of the records */
    const char *theme;    /* "light", "dark" or "contrast" */
    const char *language; /* BCP 47; NULL: the program's first */
    int width, height;    /* of the window, in pixels */
    int text_percent;     /* 100 to 200; 0: what suits the window */
} CliWindow;

/* What the program has that this layer has not; a function is NULL in a build without it. Each
 * fails with the line to print. */
typedef struct {
    bool (*open_window)(const CliWindow *window, Err *err); /* and stay until it is closed */
    /* Pictures of the places, in the course of that scenario of the site; their names go to
     * *names. */
    bool (*write_pictures)(const CliWindow *window, const char *scenario, const char *folder,
                           Text *names, Err *err);
    bool (*print_pdf)(const Page *page, Text *out, Err *err); /* as pdf_print */
} CliFront;

/* The same program with its window and PDF, in the same folder: their libraries take longer to load
 * than most verbs to answer. */
#define CLI_FRONT_PROGRAM "threepass-window"

/* What a build without a window says. */
#define CLI_NO_WINDOW                                                                              \
    "threepass: this build has no window; `threepass demo` plays the story without one"

/* The rest of `threepass report WORD` where the word is one of reports_words. */
int cli_report_page(int argc, char **argv, const CliFront *front);

/* The window's options; a copy is filled by cli_parse. */
typedef enum {
    CLI_WINDOW_SITE,
    CLI_WINDOW_STORE,
    CLI_WINDOW_SIZE,
    CLI_WINDOW_TEXT,
    CLI_WINDOW_THEME,
    CLI_WINDOW_LANGUAGE,
    CLI_WINDOW_OPTION_COUNT
} CliWindowOption;
extern const CliOption cli_window_options[CLI_WINDOW_OPTION_COUNT + 1];

/* The whole command line: run the verb it names, or open the window; where that needs what `front`
 * has not, go on as CLI_FRONT_PROGRAM, if it is there. Returns the program's exit code. */
int cli_main(int argc, char **argv, const CliFront *front);

/* The verbs. */
typedef int CliVerb(int argc, char **argv, const CliFront *front);
int verb_check(int argc, char **argv, const CliFront *front);
int verb_import(int argc, char **argv, const CliFront *front);
int verb_fit(int argc, char **argv, const CliFront *front);
int verb_demo(int argc, char **argv, const CliFront *front);
int verb_pass(int argc, char **argv, const CliFront *front);
int verb_play(int argc, char **argv, const CliFront *front);
int verb_pod(int argc, char **argv, const CliFront *front);
int verb_records(int argc, char **argv, const CliFront *front);
int verb_report(int argc, char **argv, const CliFront *front);
int verb_sensitivity(int argc, char **argv, const CliFront *front);
int verb_window(int argc, char **argv, const CliFront *front);

#endif
