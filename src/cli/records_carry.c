/* threepass records export, import, backup: what is carried elsewhere. */
#include "cli/desk.h"
#include "records/backup.h"
#include "records/bundle.h"

/* Open the store that --store names, for writing: the station signs what leaves it. */
static bool open_plain(int argc, char **argv, CliOption options[], CliWords *words, Desk *desk,
                       Err *err)
{
    return cli_parse(argc, argv, options, words, err) && desk_open(options, 0, desk, err);
}

int records_export(int argc, char **argv)
{
    enum { OUT = DESK_OPTION_COUNT, END };
    CliOption options[] = {DESK_OPTIONS, [OUT] = {.name = "--out", .takes = "FILE"}, [END] = {0}};
    CliWords words = {0};
    Desk desk = {0};
    Text out = {0};
    RecExported made;
    Err err = {0};
    bool ok = open_plain(argc, argv, options, &words, &desk, &err) &&
              desk_want("export", &options[OUT], &err) &&
              rec_bundle_export(desk.records, NULL, 0, options[OUT].value, &made, &err);
    if (ok) {
        text_addf(&out,
                  "%s holds %lld entries, %lld contents and %lld texts.\n"
                  "It holds names: keep it as safe as the store.\n",
                  options[OUT].value, (long long)made.entries, (long long)made.contents,
                  (long long)made.texts);
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

static void tell_import(const char *file, const RecImported *came, Text *out)
{
    text_addf(out, "%s: %lld entries came, %lld were here already, %lld texts were erased.\n", file,
              (long long)came->added, (long long)came->known, (long long)came->erased);
    for (size_t i = 0; i < came->fork_count; i++) {
        text_addf(out,
                  "%s: station %s has two entries %lld: the one that is here stays. Its disk may "
                  "have been put back; it needs a new store.\n",
                  file, came->forks[i].station, (long long)came->forks[i].number);
    }
}

int records_import(int argc, char **argv)
{
    enum { TAKE_NEW = DESK_OPTION_COUNT, END, FILES_MAX = 100 };
    CliOption options[] = {DESK_OPTIONS, [TAKE_NEW] = {.name = "--new-station"}, [END] = {0}};
    CliWords words = {.min = 1, .max = FILES_MAX};
    Desk desk = {0};
    Text out = {0};
    Err err = {0};
    bool ok = open_plain(argc, argv, options, &words, &desk, &err);
    for (size_t i = 0; ok && i < words.count; i++) {
        RecImported came = {0};
        ok = rec_bundle_import(desk.records, words.words[i], options[TAKE_NEW].given, &came, &err);
        if (ok) tell_import(words.words[i], &came, &out);
    }
    if (!ok && out.len > 0) (void)cli_print(&out, CLI_CANNOT); /* those before are taken */
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}

int records_backup(int argc, char **argv)
{
    CliOption options[] = {DESK_OPTIONS, [DESK_OPTION_COUNT] = {0}};
    CliWords words = {.min = 1, .max = 1};
    Desk desk = {0};
    Text out = {0};
    Err err = {0};
    bool ok = open_plain(argc, argv, options, &words, &desk, &err) &&
              rec_backup(desk.records, words.words[0], &err);
    if (ok) {
        text_addf(&out,
                  "Copied to %s. It holds names, sealed keys and the station's key: keep it as "
                  "safe as the store.\nCheck it: threepass records verify --store %s\n",
                  words.words[0], words.words[0]);
    }
    int code = desk_answer(ok, &out, &err);
    desk_close(&desk);
    return code;
}
