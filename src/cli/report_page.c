/* threepass report board, tonight, person, certificate, line and observation: pages to take
 * away. */
#include <stdlib.h>
#include <string.h>

#include "app/reports.h"
#include "base/os.h"
#include "cli/cli.h"
#include "records/calendar.h"
#include "reports/render.h"

#define EXAMPLE_SITE "../scenarios/ostrel-mill"
#define NO_PDF "threepass: this build prints no PDF; --csv and --json are there"

enum {
    STORE,
    SITE,
    PERSON,
    COMPETENCE,
    LINE,
    HERE,
    BACKUP,
    LANGUAGE,
    AS_OF,
    JSON,
    CSV,
    PDF,
    OPTION_COUNT
};
enum { HERE_MAX = 1000 };

/* What was opened for one call. */
typedef struct {
    Text assets, site, store;
    Work *work;
    Texts *texts;
    Records *records;
} Opened;

static void opened_clear(Opened *opened)
{
    rec_close(opened->records);
    texts_free(opened->texts);
    work_free(opened->work);
    text_clear(&opened->assets);
    text_clear(&opened->site);
    text_clear(&opened->store);
}

static ReportsKind kind_of(const char *word)
{
    int kind = 0;
    while (strcmp(reports_words[kind], word) != 0) {
        kind++;
    }
    return (ReportsKind)kind;
}

/* At most one of the forms, and the options that the report has a use for. */
static bool check_options(const CliOption options[], const char *word, Err *err)
{
    static const char *const useless[REPORTS_COUNT] = {
        [REPORTS_BOARD] = "--person --competence --line --here --backup",
        [REPORTS_TONIGHT] = "--person --competence --line",
        [REPORTS_PERSON] = "--competence --line --here --backup",
        [REPORTS_CERTIFICATE] = "--line --here --backup",
        [REPORTS_LINE] = "--person --competence --here --backup",
        [REPORTS_OBSERVATION] = "--here --backup",
    };
    for (int i = 0; i < OPTION_COUNT; i++) {
        if (options[i].given && strstr(useless[kind_of(word)], options[i].name) != NULL) {
            return err_set(err, ERR_INPUT, "threepass: report %s has no use for %s", word,
                           options[i].name);
        }
    }
    if (options[JSON].given + options[CSV].given + options[PDF].given > 1) {
        return err_set(err, ERR_INPUT, "threepass: only one of --json, --csv and --pdf");
    }
    return true;
}

/* The site, texts and records; for what goes to the line records only where they are named. */
static bool open_all(const CliOption options[], ReportsKind kind, Opened *out, Err *err)
{
    bool needs_store = kind != REPORTS_LINE && kind != REPORTS_OBSERVATION;
    const char *language = options[LANGUAGE].given ? options[LANGUAGE].value : "en";
    if (!cli_asset_path("", &out->assets, err)) return false;
    if (options[SITE].given)
        text_add(&out->site, options[SITE].value);
    else if (!cli_asset_path(EXAMPLE_SITE, &out->site, err))
        return false;
    if (!work_read_site(out->assets.bytes, out->site.bytes, &out->work, err)) return false;
    if (!cli_texts_in(language, &out->texts, err)) return false;
    if (!needs_store && !options[STORE].given) return true;
    return cli_store_folder(&options[STORE], &out->store, err) &&
           rec_open(out->store.bytes, REC_READ, THREEPASS_VERSION, NULL, &out->records, err);
}

static bool read_ask(const CliOption options[], const Opened *opened, ReportsAsk *ask, Err *err)
{
    const char *day = options[AS_OF].value;
    *ask = (ReportsAsk){.records = opened->records,
                        .site = work_site(opened->work),
                        .texts = opened->texts,
                        .language = options[LANGUAGE].given ? options[LANGUAGE].value : "en",
                        .person = options[PERSON].value,
                        .competence = options[COMPETENCE].value,
                        .line = options[LINE].value,
                        .has_day = options[AS_OF].given,
                        .clock_us = os_wall_time_us(),
                        .here = options[HERE].each,
                        .here_count = options[HERE].given ? options[HERE].count : 0,
                        .backup = options[BACKUP].value};
    return day == NULL || rec_day_read(day, strlen(day), &ask->day) ||
           err_set(err, ERR_INPUT, "threepass: --as-of is \"%s\", must be a day, YYYY-MM-DD", day);
}

static bool print(const CliOption options[], const Page *page, const CliFront *front, Text *out,
                  Err *err)
{
    if (options[PDF].given) {
        Text pdf = {0};
        if (front->print_pdf == NULL) return err_set(err, ERR_INPUT, NO_PDF);
        bool ok = front->print_pdf(page, &pdf, err) &&
                  os_file_write(options[PDF].value, pdf.bytes, pdf.len, err);
        text_clear(&pdf);
        return ok;
    }
    if (options[JSON].given)
        render_json(page, out);
    else if (options[CSV].given)
        render_csv(page, out);
    else
        render_text(page, out);
    return true;
}

int cli_report_page(int argc, char **argv, const CliFront *front)
{
    const char *here[HERE_MAX];
    CliOption options[OPTION_COUNT + 1] = {
        [STORE] = {.name = "--store", .takes = "DIR"},
        [SITE] = {.name = "--site", .takes = "DIR"},
        [PERSON] = {.name = "--person", .takes = "NAME"},
        [COMPETENCE] = {.name = "--competence", .takes = "ID"},
        [LINE] = {.name = "--line", .takes = "ID"},
        [HERE] = {.name = "--here", .takes = "NAME", .each = here, .each_max = HERE_MAX},
        [BACKUP] = {.name = "--backup", .takes = "DIR"},
        [LANGUAGE] = {.name = "--language", .takes = "TAG"},
        [AS_OF] = {.name = "--as-of", .takes = "DATE"},
        [JSON] = {.name = "--json"},
        [CSV] = {.name = "--csv"},
        [PDF] = {.name = "--pdf", .takes = "FILE"},
    };
    CliWords words = {.min = 1, .max = 1};
    Opened opened = {0};
    ReportsAsk ask;
    Page *page = NULL;
    Text out = {0};
    Err err = {0};
    bool is_yes = true;
    const char *word = argv[1];
    ReportsKind kind = kind_of(word);
    bool ok = cli_parse(argc, argv, options, &words, &err) && check_options(options, word, &err) &&
              open_all(options, kind, &opened, &err) && read_ask(options, &opened, &ask, &err) &&
              reports_make(kind, &ask, &page, &is_yes, &err) &&
              print(options, page, front, &out, &err);
    int code = ok ? cli_print(&out, is_yes ? CLI_DONE : CLI_NO) : cli_fail(&err);
    page_free(page);
    opened_clear(&opened);
    text_clear(&out);
    return code;
}
