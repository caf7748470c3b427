/* Walking a store's runs. */
#include "app/gather.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_CAPACITY = 16 };

typedef struct {
    Records *records;
    GatherSetup setup;
    Gather *out;
} Walk;

void gather_clear(Gather *gather)
{
    for (size_t i = 0; i < gather->count; i++) {
        items_free(gather->groups[i].items);
        work_free(gather->groups[i].work);
        free(gather->groups[i].people);
    }
    free(gather->groups);
    *gather = (Gather){0};
}

/* The group of a scenario's hash; a new one reads the scenario as the run kept it. */
static bool find_group(Gather *gather, const char *hash, const RecRunView *view, GatherGroup **out,
                       Err *err)
{
    for (size_t i = 0; i < gather->count; i++) {
        *out = &gather->groups[i];
        if (strcmp((*out)->scenario.hex, hash) == 0) return true;
    }
    Work *work = NULL;
    if (!app_work_of(view, &work, err)) return false;
    gather->groups = check_realloc(gather->groups, gather->count + 1, sizeof *gather->groups);
    *out = &gather->groups[gather->count++];
    **out = (GatherGroup){.work = work, .items = items_new(work_scenario(work))};
    CHECK(strlen(hash) < sizeof(*out)->scenario.hex);
    memcpy((*out)->scenario.hex, hash, strlen(hash) + 1);
    return true;
}

/* True when the person had not played it before. */
static bool note_person(GatherGroup *group, const char *person)
{
    for (size_t i = 0; i < group->people_count; i++) {
        if (strcmp(group->people[i], person) == 0) return false;
    }
    if (group->people_count == group->people_capacity) {
        group->people_capacity =
            group->people_capacity == 0 ? FIRST_CAPACITY : group->people_capacity * 2;
        group->people = check_realloc(group->people, group->people_capacity, sizeof *group->people);
    }
    memcpy(group->people[group->people_count++], person, strlen(person) + 1);
    return true;
}

static bool add_run(Walk *self, const RecEntry *entry, const RecRunView *view, Err *err)
{
    const JsonValue *hash = json_get(json_get(entry->body, "contents"), "scenario");
    const Text *log = rec_run_content(view, "log");
    GatherGroup *group;
    PlayerRun run = {0};
    if (hash == NULL || log == NULL) return err_set(err, ERR_DAMAGE, "it has no scenario or log");
    if (!find_group(self->out, json_string(hash), view, &group, err)) return false;
    bool is_first = note_person(group, text_string(&view->person));
    if (self->setup.first_only && !is_first) return true;
    if (!player_parse_run("stored log", text_string(log), log->len, &run, err)) return false;
    if (run.count > 0) items_add(group->items, run.lines, run.count);
    player_run_clear(&run);
    return true;
}

static bool read_run(void *context, const RecEntry *entry, Err *err)
{
    Walk *self = context;
    RecRunView view = {0};
    if (!self->setup.with_scripted && json_bool(json_get(entry->body, "scripted"))) {
        self->out->scripted++;
        return true;
    }
    if (!rec_run_load(self->records, entry->number, &view, err)) return false;
    bool ok = add_run(self, entry, &view, err);
    if (!ok) err_context(err, "entry %lld", (long long)entry->number);
    rec_run_view_clear(&view);
    return ok;
}

bool gather_runs(Records *records, const GatherSetup *setup, Gather *out, Err *err)
{
    Walk walk = {.records = records, .setup = *setup, .out = out};
    RecFilter filter = {.kind = "run"};
    if (rec_each(records, &filter, read_run, &walk, err)) return true;
    gather_clear(out);
    return false;
}
