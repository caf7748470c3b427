/* threepass records show: every entry in a line. */
#include <stdlib.h>
#include <string.h>

#include "app/script.h"
#include "cli/desk.h"
#include "records/canonical.h"

enum { COMMITMENT_LEN = 64, SHORT_LEN = 8 };

typedef struct {
    Records *records;
    bool json;
    bool has_entries;
    Text out;
} Show;

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

/* Which scenario was played: its id, and the first digits of its file's hash. */
static void add_scenario(const RecEntry *entry, Text *out)
{
    const JsonValue *hash = json_get(json_get(entry->body, "contents"), "scenario");
    text_addf(out, ", %s", json_string(json_get(entry->body, "scenario")));
    if (hash != NULL) text_addf(out, " (%.*s)", SHORT_LEN, json_string(hash));
}

static bool add_run(Show *show, const RecEntry *entry, Err *err)
{
    Text *out = &show->out;
    const char *beside = json_string(json_get(entry->body, "supervised_by"));
    if (!desk_add_name(show->records, entry->author, out, err)) return false;
    text_addf(out, ", %s%s", json_string(json_get(entry->body, "mode")),
              json_bool(json_get(entry->body, "scripted")) ? ", scripted" : "");
    add_scenario(entry, out);
    if (beside[0] != '\0') {
        text_add(out, ", beside ");
        if (!desk_add_name(show->records, beside, out, err)) return false;
    }
    add_result(json_get(entry->body, "result"), out);
    return true;
}

/* --- All other kinds ------------------------------------------------------------------------- */

/* How a field of a body is told; one that is not here is left out: keys, seals and the like. */
typedef enum { TELL_PERSON, TELL_TEXT, TELL_VEILED, TELL_ENTRY, TELL_LIST, TELL_COUNT } Tell;

static const struct {
    const char *key;
    Tell tell;
    const char *word; /* in front; "": nothing */
} tells[] = {
    {"person", TELL_PERSON, "about "},
    {"name", TELL_VEILED, "name "},
    {"role", TELL_TEXT, ""},
    {"given", TELL_TEXT, "given "},
    {"why", TELL_TEXT, "key "},
    {"what", TELL_TEXT, ""},
    {"failed", TELL_TEXT, "failed tries "},
    {"competence", TELL_TEXT, ""},
    {"decision", TELL_TEXT, ""},
    {"line", TELL_TEXT, "line "},
    {"lines", TELL_LIST, "lines "},
    {"products", TELL_LIST, "products "},
    {"checks", TELL_LIST, "checks "},
    {"buddy", TELL_PERSON, "with "},
    {"seen_on", TELL_TEXT, "seen on "},
    {"good", TELL_TEXT, "good "},
    {"answers", TELL_LIST, ""},
    {"sheet", TELL_TEXT, "sheet "},
    {"signed_on", TELL_TEXT, "signed on "},
    {"good_until", TELL_TEXT, "good until "},
    {"signed_by", TELL_VEILED, "signed by "},
    {"evidence", TELL_COUNT, "evidence "},
    {"about", TELL_ENTRY, "of entry "},
    {"remark", TELL_VEILED, "remark: "},
    {"text", TELL_VEILED, "text: "},
    {"reason", TELL_TEXT, "reason: "},
    {"bundle", TELL_ENTRY, "bundle "},
    {"stations", TELL_COUNT, "stations "},
    {"of", TELL_TEXT, "station "},
    {"number", TELL_TEXT, "number "},
    {"moved_us", TELL_TEXT, "by us "},
    {"outside_number", TELL_TEXT, "the head outside stated "},
    {"commitment", TELL_ENTRY, "text "},
};

enum { TELL_KEYS = sizeof tells / sizeof tells[0] };

static bool add_veiled(Show *show, const char *commitment, Err *err)
{
    Text text = {0};
    bool there = false;
    if (!rec_text(show->records, commitment, &text, &there, err)) return false;
    for (size_t i = 0; i < text.len; i++) { /* a line stays a line */
        if ((unsigned char)text.bytes[i] < ' ') text.bytes[i] = ' ';
    }
    text_add(&show->out, there ? text_string(&text) : "(erased)");
    text_clear(&text);
    return true;
}

static bool add_value(Show *show, Tell tell, const JsonValue *value, Err *err)
{
    Text *out = &show->out;
    int64_t whole = 0;
    switch (tell) {
    case TELL_PERSON:
        return desk_add_name(show->records, json_string(value), out, err);
    case TELL_VEILED:
        return add_veiled(show, json_string(value), err);
    case TELL_ENTRY:
        text_addf(out, "%.*s", SHORT_LEN, json_string(value));
        return true;
    case TELL_COUNT:
        text_addf(out, "%zu", json_count(value));
        return true;
    case TELL_LIST:
        for (size_t i = 0; i < json_count(value); i++) {
            text_addf(out, "%s%s", i == 0 ? "" : " ", json_string(json_at(value, i)));
        }
        return true;
    case TELL_TEXT:
        if (json_kind(value) == JSON_BOOL)
            text_add(out, json_bool(value) ? "yes" : "no");
        else if (json_kind(value) == JSON_STRING)
            text_add(out, json_string(value));
        else if (json_is_integer(value, &whole))
            text_addf(out, "%lld", (long long)whole);
        return true;
    }
    CHECK(false);
    return false;
}

/* Nothing is told of what is empty. */
static bool is_empty(Tell tell, const JsonValue *value)
{
    if (tell == TELL_LIST || tell == TELL_COUNT) return json_count(value) == 0;
    return json_kind(value) == JSON_STRING && json_string(value)[0] == '\0';
}

static bool add_fields(Show *show, const RecEntry *entry, Err *err)
{
    const char *comma = "";
    if (strcmp(entry->author, "station") != 0) {
        if (!desk_add_name(show->records, entry->author, &show->out, err)) return false;
        comma = ": ";
    }
    for (int i = 0; i < TELL_KEYS; i++) {
        const JsonValue *value = json_get(entry->body, tells[i].key);
        if (value == NULL || is_empty(tells[i].tell, value)) continue;
        text_addf(&show->out, "%s%s", comma, tells[i].word);
        if (!add_value(show, tells[i].tell, value, err)) return false;
        comma = ", ";
    }
    return true;
}

/* --- Entries --------------------------------------------------------------------------------- */

static bool add_people_line(Show *show, const RecEntry *entry, Err *err)
{
    Text *out = &show->out;
    bool ok = true;
    text_addf(out, "%6lld  %.19sZ  %-8s ", (long long)entry->number, entry->time, entry->kind);
    if (entry->kind_code == REC_KIND_RUN)
        ok = add_run(show, entry, err);
    else if (entry->kind_code == REC_KIND_PERSON)
        ok = desk_add_name(show->records, json_string(json_get(entry->body, "person")), out, err);
    else if (entry->kind_code != REC_KIND_STORE && entry->kind_code != REC_KIND_START)
        ok = add_fields(show, entry, err);
    text_add(out, "\n");
    return ok;
}

static bool show_entry(void *context, const RecEntry *entry, Err *err)
{
    Show *show = context;
    if (!show->json) return add_people_line(show, entry, err);
    text_addf(&show->out, "%s{\"hash\": \"%s\", \"entry\": ", show->has_entries ? ",\n " : "",
              entry->hash.hex);
    show->has_entries = true;
    if (!rec_canonical(json_root(entry->doc), &show->out, err)) return false;
    text_add(&show->out, "}");
    return true;
}

/* The own station first, and then the others under their names. */
static bool show_stations(Show *show, Err *err)
{
    RecHead *heads = NULL;
    size_t count = 0;
    bool ok = rec_each(show->records, NULL, show_entry, show, err) &&
              rec_heads(show->records, &heads, &count, err);
    for (size_t i = 0; ok && i < count; i++) {
        RecFilter filter = {.station = heads[i].station};
        if (strcmp(heads[i].station, rec_station(show->records)) == 0) continue;
        if (!show->json) text_addf(&show->out, "station %s\n", heads[i].station);
        ok = rec_each(show->records, &filter, show_entry, show, err);
    }
    free(heads);
    return ok;
}

static bool read_all(const char *folder, bool json, Text *out, Err *err)
{
    Show self = {.json = json};
    bool ok = desk_open_store(folder, REC_READ, &self.records, err);
    if (ok && json) text_add(&self.out, "[");
    ok = ok && show_stations(&self, err);
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

static int show_all(const char *folder, bool json, Err *err)
{
    Text out = {0};
    return desk_answer(read_all(folder, json, &out, err), &out, err);
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
    ok = ok && desk_open_store(folder, REC_READ, &records, err) &&
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

int records_show(int argc, char **argv)
{
    enum { STORE, SCRIPT, JSON };
    CliOption options[] = {[STORE] = {.name = "--store", .takes = "DIR"},
                           [SCRIPT] = {.name = "--script", .takes = "ENTRY"},
                           [JSON] = {.name = "--json"},
                           {0}};
    CliWords words = {0};
    Text folder = {0};
    Err err = {0};
    bool ok = cli_parse(argc, argv, options, &words, &err) &&
              cli_store_folder(&options[STORE], &folder, &err);
    int code = !ok                     ? cli_fail(&err)
               : options[SCRIPT].given ? show_script(folder.bytes, options[SCRIPT].value, &err)
                                       : show_all(folder.bytes, options[JSON].given, &err);
    text_clear(&folder);
    return code;
}
