/* threepass import: from a spreadsheet into a site's file. */
#include "app/import.h"

#include <stdio.h>
#include <string.h>

#include "cli/cli.h"

static bool find_list(const char *word, SiteList *list, Err *err)
{
    for (int i = 0; i < SITE_LIST_COUNT; i++) {
        if (strcmp(word, site_list_words[i]) != 0) continue;
        *list = (SiteList)i;
        return true;
    }
    return err_set(err, ERR_INPUT,
                   "threepass: import knows lines, products, pieces and people, not \"%s\"", word);
}

static int tell_errors(const Import *import)
{
    for (size_t i = 0; i < import_error_count(import); i++) {
        (void)fprintf(stderr, "%s\n", import_error(import, i));
    }
    Text out = {0};
    text_addf(&out, "%zu errors. Nothing was written.\n", import_error_count(import));
    int code = cli_print(&out, CLI_NO);
    text_clear(&out);
    return code;
}

static int tell(const Import *import, bool write, Err *err)
{
    Text out = {0};
    ImportCount count = import_count(import);
    bool has_work = count.added + count.changed > 0;
    if (write && has_work && !import_write(import, err)) return cli_fail(err);
    import_tell(import, &out);
    text_addf(&out, "%zu added, %zu changed, %zu as they were. %s\n", count.added, count.changed,
              count.same,
              !has_work ? "There is nothing to write."
              : write   ? "Written."
                        : "Nothing was written; --write does it.");
    int code = cli_print(&out, CLI_DONE);
    text_clear(&out);
    return code;
}

int verb_import(int argc, char **argv, const CliFront *front)
{
    (void)front;
    enum { SITE, MAP, WRITE };
    const char *maps[IMPORT_MAPS_MAX];
    CliOption options[] = {[SITE] = {.name = "--site", .takes = "DIR"},
                           [MAP] = {.name = "--map",
                                    .takes = "'OUR=THEIR HEADING'",
                                    .each = maps,
                                    .each_max = IMPORT_MAPS_MAX},
                           [WRITE] = {.name = "--write"},
                           {0}};
    CliWords words = {.min = 2, .max = 2};
    Import *import = NULL;
    Text assets = {0};
    Err err = {0};
    ImportJob job = {.maps = maps};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              find_list(words.words[0], &job.list, &err) && cli_asset_path("", &assets, &err);
    if (ok && !options[SITE].given) {
        ok = err_set(&err, ERR_INPUT, "threepass: import needs --site DIR");
    }
    if (ok) {
        job.file = words.words[1];
        job.folder = options[SITE].value;
        job.assets = text_string(&assets);
        job.map_count = options[MAP].count;
        ok = import_read(&job, &import, &err);
    }
    int code = !ok                              ? cli_fail(&err)
               : import_error_count(import) > 0 ? tell_errors(import)
                                                : tell(import, options[WRITE].given, &err);
    import_free(import);
    text_clear(&assets);
    return code;
}
