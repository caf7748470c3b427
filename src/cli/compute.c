/* What the verbs that compute share: their course, waiting, and their numbers in words. */
#include <stdio.h>
#include <stdlib.h>

#include "base/os.h"
#include "cli/cli.h"

enum { FIRST_SHOWN_US = 1000000, BETWEEN_SHOWN_US = 200000 };

typedef struct {
    const char *verb;
    int64_t began_us, shown_us;
    bool is_shown;
} Waiting;

static bool step(void *context, double part)
{
    Waiting *waiting = context;
    if (os_take_interrupt()) return false;
    int64_t now = os_uptime_us();
    if (now - waiting->began_us < FIRST_SHOWN_US || now - waiting->shown_us < BETWEEN_SHOWN_US) {
        return true;
    }
    waiting->shown_us = now;
    if (!os_error_is_terminal()) return true;
    waiting->is_shown = true;
    (void)fprintf(stderr, "\rthreepass %s: %3.0f %%", waiting->verb, 100.0 * part);
    (void)fflush(stderr);
    return true;
}

/* Leaves an empty line behind, and Ctrl-C as it was. */
static bool compute_waiting(const char *verb, const CliComputing *computing, void *work, Err *err)
{
    Waiting waiting = {.verb = verb, .began_us = os_uptime_us()};
    const Progress progress = {step, &waiting};
    os_hold_interrupt(true);
    bool ok = computing->compute(work, &progress, err);
    if (waiting.is_shown) (void)fprintf(stderr, "\r%40s\r", "");
    os_hold_interrupt(false);
    return ok;
}

int cli_compute(int argc, char **argv, const CliComputing *computing)
{
    enum { JSON };
    CliOption options[] = {[JSON] = {.name = "--json"}, {.name = NULL}};
    CliWords words = {.min = 1, .max = 1};
    int code = CLI_CANNOT;
    Err err = {0};
    Text path = {0};
    Text out = {0};
    MetalTable *metals = NULL;
    JsonDoc *doc = NULL;
    void *work = check_calloc(1, computing->bytes);

    if (!cli_parse(argc, argv, options, &words, &err)) goto done;
    if (!cli_asset_path("metals.json", &path, &err)) goto done;
    if (!metals_load(path.bytes, &metals, &err)) goto done;
    if (!json_load(words.words[0], &doc, &err)) goto done;
    if (!computing->describe(json_root(doc), metals, work, &err)) goto done;
    if (!compute_waiting(argv[0], computing, work, &err)) goto done;
    if (options[JSON].given)
        computing->add_json(&out, json_root(doc), work);
    else
        computing->add_words(&out, json_root(doc), work);
    code = cli_print(&out, CLI_DONE);
done:
    if (err.code != ERR_NONE) code = cli_fail(&err);
    computing->clear(work);
    free(work);
    json_free(doc);
    metals_free(metals);
    text_clear(&path);
    text_clear(&out);
    return code;
}

void cli_tell_metal(const JsonValue *metal, Text *out)
{
    if (json_kind(metal) == JSON_STRING) {
        text_addf(out, "%s", json_string(metal));
        return;
    }
    text_addf(out, "metal of %.4g ohm m and permeability %.4g",
              json_number(json_get(metal, "resistivity_ohm_m")),
              json_number(json_get(metal, "relative_permeability")));
}

void cli_add_numbers(Text *out, const double numbers[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_add_bytes(out, i == 0 ? "[" : ", ", i == 0 ? 1 : 2);
        json_add_number(out, numbers[i]);
    }
    text_add(out, "]");
}

void cli_tell_chance(Text *out, double chance)
{
    if (chance > 0.999) {
        text_add(out, "over 999 in 1 000");
    } else if (chance < 0.001) {
        text_add(out, "under 1 in 1 000");
    } else if (chance < 0.0095 || chance >= 0.9905) {
        text_addf(out, "%.0f in 1 000", chance * 1000);
    } else {
        text_addf(out, "%.0f in 100", chance * 100);
    }
}
