/* Options, output and data files for every verb. */
#include "cli/cli.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "base/os.h"
#include "scenario/suggest.h"

enum { OPTIONS_MAX = 32 };

static bool refuse_option(const char *verb, const char *word, const CliOption options[], Err *err)
{
    const char *names[OPTIONS_MAX + 1] = {0};
    for (size_t i = 0; options[i].name != NULL; i++) {
        CHECK(i < OPTIONS_MAX);
        names[i] = options[i].name;
    }
    const char *near = suggest_word(word, names);
    return err_set(err, ERR_INPUT, "threepass %s: unknown option %s%s%s%s", verb, word,
                   near == NULL ? "" : "; did you mean ", near == NULL ? "" : near,
                   near == NULL ? "" : "?");
}

/* The option in argv[*at]; *at moves to the last word taken. */
static bool take_option(int argc, char **argv, int *at, CliOption options[], Err *err)
{
    const char *word = argv[*at];
    const char *equals = strchr(word, '=');
    size_t len = equals == NULL ? strlen(word) : (size_t)(equals - word);
    CliOption *option = options;
    while (option->name != NULL &&
           (strlen(option->name) != len || strncmp(option->name, word, len) != 0)) {
        option++;
    }
    if (option->name == NULL) return refuse_option(argv[0], word, options, err);
    if (option->given && option->each == NULL) {
        return err_set(err, ERR_INPUT, "threepass %s: %s is given twice", argv[0], option->name);
    }
    option->given = true;
    if (option->takes == NULL && equals != NULL) {
        return err_set(err, ERR_INPUT, "threepass %s: %s takes no value", argv[0], option->name);
    }
    if (option->takes == NULL) return true;
    if (equals == NULL && *at + 1 == argc) {
        return err_set(err, ERR_INPUT, "threepass %s: %s wants %s behind it", argv[0], option->name,
                       option->takes);
    }
    option->value = equals == NULL ? argv[++*at] : equals + 1;
    if (option->each == NULL) return true;
    if (option->count == option->each_max) {
        return err_set(err, ERR_INPUT, "threepass %s: %s is given over %zu times", argv[0],
                       option->name, option->each_max);
    }
    option->each[option->count++] = option->value;
    return true;
}

bool cli_parse(int argc, char **argv, CliOption options[], CliWords *words, Err *err)
{
    CHECK(argc >= 1 && options != NULL && words != NULL && err != NULL);
    bool only_words = false;
    words->count = 0;
    words->words = argv + 1;
    for (int at = 1; at < argc; at++) {
        if (!only_words && strcmp(argv[at], "--") == 0) {
            only_words = true;
        } else if (!only_words && argv[at][0] == '-' && argv[at][1] != '\0') {
            if (!take_option(argc, argv, &at, options, err)) return false;
        } else {
            words->words[words->count++] = argv[at];
        }
    }
    if (words->count >= words->min && words->count <= words->max) return true;
    return err_set(err, ERR_INPUT,
                   "threepass %s: %zu words behind it, limit %zu..%zu; see threepass %s --help",
                   argv[0], words->count, words->min, words->max, argv[0]);
}

int cli_fail(const Err *err)
{
    const char *said =
        err->code == ERR_STOPPED ? "threepass: stopped; nothing was written" : err->text;
    (void)fprintf(stderr, "%s\n", said);
    return CLI_CANNOT;
}

int cli_print(const Text *out, int code)
{
    const char *bytes = text_string(out);
    if (fwrite(bytes, 1, out->len, stdout) == out->len && fflush(stdout) == 0) return code;
    (void)fprintf(stderr, "threepass: cannot write to standard output: %s\n", strerror(errno));
    return CLI_CANNOT;
}

bool cli_asset_path(const char *name, Text *out, Err *err)
{
    Text path = {0};
    if (!os_program_folder(&path, err)) return false;
    text_add(&path, "/../share/threepass/assets/");
    size_t len = path.len;
    text_add(&path, "metals.json");
    bool is_installed = os_is_file(path.bytes);
    path.len = len;
    if (!is_installed) {
        text_clear(&path);
        text_addf(&path, "%s/assets/", THREEPASS_SOURCE_DIR);
    }
    text_add(&path, name);
    text_clear(out);
    *out = path;
    return true;
}
