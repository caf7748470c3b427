/* threepass records show, records verify: the ledger read. */
#include <string.h>

#include "app/script.h"
#include "base/os.h"
#include "cli/cli.h"
#include "records/canonical.h"
#include "records/verify.h"

bool cli_store_folder(const CliOption *option, Text *out, Err *err)
{
    if (!option->given) return os_data_folder(out, err);
    text_add(out, option->value);
    return true;
}

/* --- show ------------------------------------------------------------------------------------ */

typedef struct {
    Records *records;
    bool json;
    Text out;
} Show;

static bool add_name(Records *records, const char *author, Text *out, Err *err)
{
    Text name = {0};
    bool found = false;
    bool ok = rec_person_name(records, author, &name, &found, err);
    if (ok) text_add(out, !found ? author : name.len == 0 ? "(name erased)" : name.bytes);
    text_clear(&name);
    return ok;
}

/* What a result says in one line: verdict, points, and each line not met. */
static void add_result(const JsonValue *result, Text *out)
{
    const JsonValue *lines = json_get(result, "lines");
    int64_t points = 0;
    int64_t needed = 0;
    if (lines == NULL || json_get(result, "verdict") == NULL) return;
    (void)(json_is_integer(json_get(result, "points"), &points) &&
           json_is_integer(json_get(result, "points_needed"), &needed));
    text_addf(out, ": %s, %lld points (%lld needed)", json_string(json_get(result, "verdict")),
              (long long)points, (long long)needed);
    for (size_t i = 0; i < json_count(lines); i++) {
        const JsonValue *line = json_at(lines, i);
        const char *state = json_string(json_get(line, "state"));
        if (strcmp(state, "met") == 0) continue;
        const char *critical = json_string(json_get(line, "critical"));
        text_addf(out, "; %s %s%s%s", state, critical, critical[0] == '\0' ? "" : " ",
                  json_string(json_get(line, "id")));
    }
}

/* Which scenario was played: its id from the log's head, and the first digits of its file's
 * hash. */
static bool add_scenario(Show *show, const RecEntry *entry, Err *err)
{
    RecRunView run = {0};
    if (!rec_run_load(show->records, entry->number, &run, err)) return false;
    const Text *log = rec_run_content(&run, "log");
    const JsonValue *hash = json_get(json_get(entry->body, "contents"), "scenario");
    const char *id = log == NULL ? NULL : strstr(text_string(log), "\nscenario ");
    if (id != NULL && hash != NULL) {
        id += strlen("\nscenario ");
        text_addf(&show->out, ", %.*s (%.8s)", (int)strcspn(id, "\n"), id, json_string(hash));
    }
    rec_run_view_clear(&run);
    return true;
}

static bool add_people_line(Show *show, const RecEntry *entry, Err *err)
{
    Text *out = &show->out;
    text_addf(out, "%6lld  %.19sZ  %-8s ", (long long)entry->number, entry->time, entry->kind);
    if (strcmp(entry->kind, "run") == 0) {
        if (!add_name(show->records, entry->author, out, err)) return false;
        bool scripted = json_bool(json_get(entry->body, "scripted"));
        text_addf(out, ", %s%s", json_string(json_get(entry->body, "mode")),
                  scripted ? ", scripted" : "");
        if (!add_scenario(show, entry, err)) return false;
        add_result(json_get(entry->body, "result"), out);
    } else if (strcmp(entry->kind, "person") == 0) {
        const char *person = json_string(json_get(entry->body, "person"));
        if (!add_name(show->records, person, out, err)) return false;
    }
    text_add(out, "\n");
    return true;
}

static bool show_entry(void *context, const RecEntry *entry, Err *err)
{
    Show *show = context;
    if (!show->json) return add_people_line(show, entry, err);
    text_addf(&show->out, "%s{\"hash\": \"%s\", \"entry\": ", entry->number == 1 ? "" : ",\n ",
              entry->hash.hex);
    if (!rec_canonical(json_root(entry->doc), &show->out, err)) return false;
    text_add(&show->out, "}");
    return true;
}

static bool read_all(const char *folder, bool json, Text *out, Err *err)
{
    Show self = {.json = json};
    bool ok = rec_open(folder, REC_READ, THREEPASS_VERSION, NULL, &self.records, err);
    if (ok && json) text_add(&self.out, "[");
    ok = ok && rec_each(self.records, NULL, show_entry, &self, err);
    if (ok && json) text_add(&self.out, "]\n");
    if (ok) text_add(out, text_string(&self.out));
    rec_close(self.records);
    text_clear(&self.out);
    return ok;
}

bool cli_tell_records(const char *folder, Text *out, Err *err)
{
    return read_all(folder, false, out, err);
}

static int show(const char *folder, bool json, Err *err)
{
    Text out = {0};
    int code = read_all(folder, json, &out, err) ? cli_print(&out, CLI_DONE) : cli_fail(err);
    text_clear(&out);
    return code;
}

/* What was done in the run of one entry, as a script. */
static int show_script(const char *folder, const char *entry, Err *err)
{
    Records *records = NULL;
    RecRunView view = {0};
    PlayerRun run = {0};
    Text out = {0};
    int64_t number = 0;
    bool ok =
        text_to_int(entry, &number) ||
        err_set(err, ERR_INPUT, "threepass: --script is \"%s\", must be an entry's number", entry);
    ok = ok && rec_open(folder, REC_READ, THREEPASS_VERSION, NULL, &records, err) &&
         rec_run_load(records, number, &view, err);
    const Text *log = ok ? rec_run_content(&view, "log") : NULL;
    if (ok && log == NULL) ok = err_set(err, ERR_DAMAGE, "the run has no content \"log\"");
    if (log != NULL) ok = player_parse_run("stored log", text_string(log), log->len, &run, err);
    if (ok) {
        text_addf(&out, "# entry %lld: scenario %s, seed %llu\n", (long long)number, run.scenario,
                  (unsigned long long)run.seed);
        script_print(run.lines, run.count, &out);
    }
    int code = ok ? cli_print(&out, CLI_DONE) : cli_fail(err);
    player_run_clear(&run);
    rec_run_view_clear(&view);
    rec_close(records);
    text_clear(&out);
    return code;
}

/* --- verify ---------------------------------------------------------------------------------- */

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
              "{\"entries\": %lld, \"people\": %lld, \"runs\": %lld, \"runs_judged_again\": %lld, "
              "\"contents\": %lld, \"texts\": %lld, \"erasures\": %lld, ",
              (long long)report->entries, (long long)report->people, (long long)report->runs,
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
              "%lld contents.\n",
              (long long)report->entries, (long long)report->people, (long long)report->runs,
              (long long)report->runs_rejudged, (long long)report->contents);
    for (size_t i = 0; i < report->finding_count; i++) {
        text_addf(out, "DAMAGE  %s\n", text_string(&report->findings[i].text));
    }
    if (report->finding_count == 0) text_add(out, "Nothing was altered.\n");
    for (size_t i = 0; i < report->note_count; i++) {
        text_addf(out, "note    %s\n", text_string(&report->notes[i].text));
    }
}

static int verify(const char *folder, bool json, Err *err)
{
    RecReport report = {0};
    Text out = {0};
    if (!rec_verify(folder, NULL, app_rejudge, NULL, &report, err)) {
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

int verb_records(int argc, char **argv, const CliFront *front)
{
    (void)front;
    enum { STORE, SCRIPT, JSON };
    CliOption options[] = {[STORE] = {.name = "--store", .takes = "DIR"},
                           [SCRIPT] = {.name = "--script", .takes = "ENTRY"},
                           [JSON] = {.name = "--json"},
                           {0}};
    CliWords words = {.min = 1, .max = 1};
    Text folder = {0};
    Err err = {0};
    int code = CLI_CANNOT;
    if (!cli_parse(argc, argv, options, &words, &err) ||
        !cli_store_folder(&options[STORE], &folder, &err)) {
        code = cli_fail(&err);
    } else if (strcmp(words.words[0], "show") == 0 && options[SCRIPT].given) {
        code = show_script(folder.bytes, options[SCRIPT].value, &err);
    } else if (strcmp(words.words[0], "show") == 0) {
        code = show(folder.bytes, options[JSON].given, &err);
    } else if (strcmp(words.words[0], "verify") == 0) {
        code = verify(folder.bytes, options[JSON].given, &err);
    } else {
        (void)err_set(&err, ERR_INPUT, "threepass: records knows show and verify, not \"%s\"",
                      words.words[0]);
        code = cli_fail(&err);
    }
    text_clear(&folder);
    return code;
}
