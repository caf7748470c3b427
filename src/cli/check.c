/* threepass check: are these site, scenario and course files right? */
#include <stdio.h>

#include "app/inspect.h"
#include "cli/cli.h"

/* What is told goes to one place: lines for people at once, or a JSON list. */
typedef struct {
    bool json;
    Text list;
} Findings;

static void tell(void *context, bool is_error, const char *text)
{
    Findings *findings = context;
    if (!findings->json) {
        (void)fprintf(stderr, "%s\n", text);
        return;
    }
    text_add(&findings->list, findings->list.len == 0 ? "" : ", ");
    text_addf(&findings->list, "{\"severity\": \"%s\", \"text\": ", is_error ? "error" : "warning");
    text_add_quoted(&findings->list, text);
    text_add(&findings->list, "}");
}

int verb_check(int argc, char **argv, const CliFront *front)
{
    (void)front;
    enum { PROVE, JSON };
    CliOption options[] = {[PROVE] = {.name = "--prove"}, [JSON] = {.name = "--json"}, {0}};
    CliWords words = {.min = 1, .max = 1000};
    Findings findings = {0};
    InspectCount count = {0};
    Text assets = {0};
    Text out = {0};
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) && cli_asset_path("", &assets, &err);
    findings.json = ok && options[JSON].given;
    for (size_t i = 0; ok && i < words.count; i++) {
        ok = inspect_path(text_string(&assets), words.words[i], options[PROVE].given, tell,
                          &findings, &count, &err);
    }
    int code = CLI_CANNOT;
    if (!ok) {
        code = cli_fail(&err);
    } else {
        if (findings.json) {
            text_addf(&out,
                      "{\"sites\": %d, \"scenarios\": %d, \"courses\": %d, \"scripts_played\": %d, "
                      "\"errors\": %d, \"warnings\": %d, \"findings\": [%s]}\n",
                      count.sites, count.scenarios, count.courses, count.scripts_played,
                      count.errors, count.warnings, text_string(&findings.list));
        } else {
            /* a line of its own: the last one is what other programs read */
            if (count.courses > 0) text_addf(&out, "%d courses\n", count.courses);
            text_addf(&out, "%d sites, %d scenarios", count.sites, count.scenarios);
            if (options[PROVE].given) {
                text_addf(&out, ", %d scripts played", count.scripts_played);
            }
            text_addf(&out, ": %d errors, %d warnings\n", count.errors, count.warnings);
        }
        code = cli_print(&out, count.errors > 0 ? CLI_NO : CLI_DONE);
    }
    text_clear(&out);
    text_clear(&assets);
    text_clear(&findings.list);
    return code;
}
