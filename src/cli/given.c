/* What the verbs that compute share: their file, their numbers in words, and waiting. */
#include <stdio.h>

#include "base/os.h"
#include "cli/cli.h"

enum { FIRST_SHOWN_US = 1000000, BETWEEN_SHOWN_US = 200000 };

static bool step(void *context, double part)
{
    CliWaiting *waiting = context;
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

void cli_waiting_begin(CliWaiting *waiting, const char *verb)
{
    *waiting = (CliWaiting){.verb = verb, .began_us = os_uptime_us()};
    waiting->progress = (Progress){step, waiting};
    os_hold_interrupt(true);
}

void cli_waiting_end(CliWaiting *waiting)
{
    if (waiting->is_shown) (void)fprintf(stderr, "\r%40s\r", "");
    waiting->is_shown = false;
    os_hold_interrupt(false);
}

bool cli_given_read(int argc, char **argv, CliGiven *given, Err *err)
{
    enum { JSON };
    CliOption options[] = {[JSON] = {.name = "--json"}, {.name = NULL}};
    CliWords words = {.min = 1, .max = 1};
    Text path = {0};
    bool ok =
        cli_parse(argc, argv, options, &words, err) && cli_asset_path("metals.json", &path, err) &&
        metals_load(path.bytes, &given->metals, err) && json_load(words.words[0], &given->doc, err);
    given->json = options[JSON].given;
    text_clear(&path);
    return ok;
}

void cli_given_clear(CliGiven *given)
{
    json_free(given->doc);
    metals_free(given->metals);
    *given = (CliGiven){0};
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
