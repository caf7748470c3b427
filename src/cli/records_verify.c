/* threepass records verify: was any of it altered? */
#include "base/os.h"
#include "cli/desk.h"

enum { HEAD_BYTES_MAX = 4096 };

static void add_list(const char *name, const RecFinding *findings, size_t count, Text *out)
{
    text_addf(out, "\"%s\": [", name);
    for (size_t i = 0; i < count; i++) {
        text_addf(out, "%s{\"entry\": %lld, \"text\": ", i == 0 ? "" : ", ",
                  (long long)findings[i].number);
        text_add_quoted(out, text_string(&findings[i].text));
        text_add(out, "}");
    }
    text_add(out, "]");
}

static void report_json(const RecReport *report, Text *out)
{
    text_addf(out,
              "{\"entries\": %lld, \"stations\": %lld, \"signatures\": %lld, \"people\": %lld, "
              "\"runs\": %lld, \"runs_judged_again\": %lld, "
              "\"contents\": %lld, \"texts\": %lld, \"erasures\": %lld, ",
              (long long)report->entries, (long long)report->stations,
              (long long)report->signatures, (long long)report->people, (long long)report->runs,
              (long long)report->runs_rejudged, (long long)report->contents,
              (long long)report->texts, (long long)report->erasures);
    add_list("findings", report->findings, report->finding_count, out);
    text_add(out, ", ");
    add_list("notes", report->notes, report->note_count, out);
    text_add(out, "}\n");
}

void cli_tell_report(const RecReport *report, Text *out)
{
    text_addf(out,
              "Checked %lld entries, %lld people, %lld runs (%lld played and scored again), "
              "%lld contents, %lld signatures.\n",
              (long long)report->entries, (long long)report->people, (long long)report->runs,
              (long long)report->runs_rejudged, (long long)report->contents,
              (long long)report->signatures);
    for (size_t i = 0; i < report->finding_count; i++) {
        text_addf(out, "DAMAGE  %s\n", text_string(&report->findings[i].text));
    }
    if (report->finding_count == 0) text_add(out, "Nothing was altered.\n");
    for (size_t i = 0; i < report->note_count; i++) {
        text_addf(out, "note    %s\n", text_string(&report->notes[i].text));
    }
}

static bool read_paper(const CliOption *option, RecHead *paper, Err *err)
{
    Text text = {0};
    bool ok = os_file_read(option->value, HEAD_BYTES_MAX, &text, err) &&
              rec_paper_head_read(&text, paper, err);
    text_clear(&text);
    return ok;
}

static int verify(const char *folder, const RecWitness *witness, bool json, Err *err)
{
    RecReport report = {0};
    Text out = {0};
    if (!rec_verify(folder, witness, app_rejudge, NULL, &report, err)) {
        (void)cli_fail(err); /* what is no store any more is damage, and the answer is no */
        return err->code == ERR_DAMAGE ? CLI_NO : CLI_CANNOT;
    }
    if (json)
        report_json(&report, &out);
    else
        cli_tell_report(&report, &out);
    int code = cli_print(&out, report.finding_count > 0 ? CLI_NO : CLI_DONE);
    rec_report_clear(&report);
    text_clear(&out);
    return code;
}

int records_verify(int argc, char **argv)
{
    enum { STORE, HEAD, JSON };
    CliOption options[] = {[STORE] = {.name = "--store", .takes = "DIR"},
                           [HEAD] = {.name = "--head", .takes = "FILE"},
                           [JSON] = {.name = "--json"},
                           {0}};
    CliWords words = {0};
    Text folder = {0};
    Text heads = {0};
    RecHead paper;
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              cli_store_folder(&options[STORE], &folder, &err) &&
              (!options[HEAD].given || read_paper(&options[HEAD], &paper, &err));
    RecWitness witness = {desk_heads_folder(&heads), options[HEAD].given ? &paper : NULL};
    int code = ok ? verify(folder.bytes, &witness, options[JSON].given, &err) : cli_fail(&err);
    text_clear(&heads);
    text_clear(&folder);
    return code;
}
