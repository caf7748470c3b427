/* Reading a scenario. */
#include "scenario/scenario.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "scenario/faults.h"
#include "scenario/reading.h"
#include "scenario/suggest.h"

const char *const scenario_stock_words[] = {"pallet", "store", "lorry", NULL};

bool reading_unknown(const JsonValue *value, const char *what, const char *const words[], Err *err)
{
    Text text = {0};
    text_addf(&text, "%s \"%s\"", what, json_string(value));
    (void)suggest_fail(json_place(value), text.bytes, json_string(value), words, err);
    text_clear(&text);
    return false;
}

bool reading_no_piece(const JsonValue *value, const Site *site, const char *what, bool only_wires,
                      Err *err)
{
    const char *ids[SITE_PIECES_MAX + 1] = {NULL};
    size_t count = 0;
    for (int i = 0; i < site->piece_count; i++) {
        if (site->pieces[i].is_wire || !only_wires) ids[count++] = site->pieces[i].id;
    }
    return reading_unknown(value, what, ids, err);
}

bool reading_no_program(const JsonValue *value, const Site *site, const SiteLine *line, Err *err)
{
    const char *ids[SITE_PROGRAMS_MAX + 1] = {NULL};
    Text text = {0};
    text_addf(&text, "line \"%s\" has no program for \"%s\", only for ", line->id,
              json_string(value));
    for (int i = 0; i < line->program_count; i++) {
        ids[i] = site->products[line->programs[i].product].id;
        text_addf(&text, "%s%s", i == 0 ? "" : ", ", ids[i]);
    }
    (void)suggest_fail(json_place(value), text.bytes, json_string(value), ids, err);
    text_clear(&text);
    return false;
}

static int number_at(const char *digits)
{
    return (digits[0] - '0') * 10 + digits[1] - '0';
}

bool scenario_clock_parse(const char *text, int64_t *us)
{
    size_t len = strlen(text);
    if (len != 5 && len != 8) return false;
    for (size_t i = 0; i < len; i++) {
        bool colon = i % 3 == 2;
        if (colon ? text[i] != ':' : text[i] < '0' || text[i] > '9') return false;
    }
    int hours = number_at(text);
    int minutes = number_at(text + 3);
    int seconds = len == 8 ? number_at(text + 6) : 0;
    if (hours > 23 || minutes > 59 || seconds > 59) return false;
    *us = ((int64_t)hours * 3600 + (int64_t)minutes * 60 + seconds) * 1000000;
    return true;
}

const char *scenario_site_id(const JsonDoc *document)
{
    const JsonValue *site = json_get(json_root(document), "site");
    return site != NULL && json_kind(site) == JSON_STRING ? json_string(site) : "";
}

static bool read_clock(const JsonValue *object, const char *key, int64_t *out, Err *err)
{
    const char *text;
    if (!json_read_string(object, key, true, 1, 16, &text, err)) return false;
    if (scenario_clock_parse(text, out)) return true;
    return err_at(err, json_place(json_get(object, key)),
                  "%s is \"%s\", must be a time of day such as 10:30, limit 00:00..23:59:59", key,
                  text);
}

/* All times of a run are of one day, so the earlier one is the smaller. */
static bool want_order(const JsonValue *object, const char *earlier, int64_t earlier_us,
                       const char *later, int64_t later_us, Err *err)
{
    if (earlier_us <= later_us) return true;
    return err_at(err, json_place(json_get(object, earlier)),
                  "%s is \"%s\", must not be after %s, \"%s\"", earlier,
                  json_string(json_get(object, earlier)), later,
                  json_string(json_get(object, later)));
}

/* --- What the run starts from ---------------------------------------------------------------- */

static bool read_line_and_product(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    const char *id;
    if (!json_read_id(root, "line", true, &id, err)) return false;
    int line = site_find_line(site, id);
    if (line < 0) {
        const char *ids[SITE_LINES_MAX + 1] = {NULL};
        for (int i = 0; i < site->line_count; i++) {
            ids[i] = site->lines[i].id;
        }
        return reading_unknown(json_get(root, "line"), "the site has no line", ids, err);
    }
    out->line = &site->lines[line];
    out->product = out->line->programs[0].product;
    const JsonValue *product = json_get(root, "product");
    if (product == NULL) return true;
    if (!json_read_id(root, "product", true, &id, err)) return false;
    out->product = site_find_product(site, id);
    if (out->product < 0 || site_program(out->line, out->product) == NULL) {
        return reading_no_program(product, site, out->line, err);
    }
    return true;
}

/* The alternatives of a one_of, an object with that key alone: a list of lists. */
bool reading_one_of(const JsonValue *value, const char *name, const JsonValue **list, Err *err)
{
    static const char *const keys[] = {"one_of", NULL};
    return json_want_object(value, name, keys, err) && json_need(value, "one_of", list, err) &&
           json_want_array(*list, "one_of", 2, SCENARIO_ALTERNATIVES_MAX, err);
}

static bool read_pieces(const Site *site, const JsonValue *list, int pieces[SCENARIO_KIT_MAX],
                        int *count, Err *err)
{
    if (!json_want_array(list, "kit", 1, SCENARIO_KIT_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        const JsonValue *item = json_at(list, i);
        if (json_kind(item) != JSON_STRING) {
            return err_at(err, json_place(item), "kit must hold ids of the site's pieces");
        }
        int piece = site_find_piece(site, json_string(item));
        if (piece < 0) {
            return reading_no_piece(item, site, "the site has no piece", false, err);
        }
        for (int j = 0; j < *count; j++) {
            if (pieces[j] == piece) {
                return err_at(err, json_place(item), "\"%s\" is in the kit twice",
                              json_string(item));
            }
        }
        pieces[(*count)++] = piece;
    }
    return true;
}

static bool read_kit(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *kit;
    const JsonValue *list;
    if (!json_need(root, "kit", &kit, err)) return false;
    if (json_kind(kit) != JSON_OBJECT) {
        return read_pieces(site, kit, out->kit, &out->kit_count, err);
    }
    if (!reading_one_of(kit, "kit", &list, err)) return false;
    for (size_t i = 0; i < json_count(list); i++, out->kits_count++) {
        if (!read_pieces(site, json_at(list, i), out->kits[i].pieces, &out->kits[i].count, err))
            return false;
    }
    memcpy(out->kit, out->kits[0].pieces, sizeof out->kit);
    out->kit_count = out->kits[0].count;
    return true;
}

static bool read_stock(const JsonValue *value, Stock *out, Err *err)
{
    static const char *const keys[] = {"place", "from", "to", "packs", NULL};
    int place;
    if (!json_want_object(value, "stock", keys, err)) return false;
    if (!json_read_word(value, "place", true, scenario_stock_words, &place, err)) return false;
    out->place = (StockPlace)place;
    return read_clock(value, "from", &out->from_us, err) &&
           read_clock(value, "to", &out->to_us, err) &&
           want_order(value, "from", out->from_us, "to", out->to_us, err) &&
           json_read_integer(value, "packs", true, 0, 10000000, &out->packs, err);
}

static bool read_stocks(const JsonValue *root, Scenario *out, Err *err)
{
    const JsonValue *list = json_get(root, "stock");
    if (list == NULL) return true;
    if (!json_want_array(list, "stock", 0, SCENARIO_STOCKS_MAX, err)) return false;
    for (size_t i = 0; i < json_count(list); i++) {
        if (!read_stock(json_at(list, i), &out->stocks[out->stock_count++], err)) return false;
    }
    return true;
}

/* --- The whole ------------------------------------------------------------------------------- */

static bool read_head_of_file(const Site *site, const JsonValue *root, Scenario *out, Err *err)
{
    static const char *const keys[] = {
        "$schema",         "format",       "id",      "title",   "site",   "line",
        "product",         "role",         "plan",    "minutes", "date",   "clock",
        "last_good_check", "fed",          "kit",     "stock",   "faults", "scenes",
        "rubric",          "pass_percent", "scripts", "needs",   NULL};
    static const char *const formats[] = {"threepass-scenario-1", NULL};
    int format, role, plan;
    const char *site_id;
    bool is_object = json_kind(root) == JSON_OBJECT; /* a file of another kind says so first */
    if (is_object && !json_read_word(root, "format", true, formats, &format, err)) return false;
    if (!json_want_object(root, "scenario", keys, err)) return false;
    if (!json_read_id(root, "id", true, &out->id, err)) return false;
    if (!site_read_text(root, "title", true, &out->title, err)) return false;
    if (!json_read_id(root, "site", true, &site_id, err)) return false;
    if (strcmp(site_id, site->id) != 0) {
        return err_at(err, json_place(json_get(root, "site")),
                      "site is \"%s\", but the site read with it is \"%s\"", site_id, site->id);
    }
    if (!read_line_and_product(site, root, out, err)) return false;
    if (!json_read_word(root, "role", true, site_role_words, &role, err)) return false;
    out->role = (SiteRole)role;
    if (!json_read_word(root, "plan", true, site_plan_words, &plan, err)) return false;
    out->reason = (SitePlanReason)plan;
    out->plan = &out->line->plans[plan];
    if (out->plan->is_there) return true;
    Text text = {0};
    text_addf(&text, "line \"%s\" has no check plan \"%s\", only ", out->line->id,
              site_plan_words[plan]);
    const char *between = "";
    for (int i = 0; i < SITE_PLAN_COUNT; i++) {
        if (!out->line->plans[i].is_there) continue;
        text_addf(&text, "%s%s", between, site_plan_words[i]);
        between = ", ";
    }
    (void)err_at(err, json_place(json_get(root, "plan")), "%s", text.bytes);
    text_clear(&text);
    return false;
}

/* Whether a seed shows what the scenario needs is seen by playing its right script. */
static bool read_needs(const JsonValue *root, Scenario *out, Err *err)
{
    if (!reading_patterns(root, "needs", 1, SCENARIO_NEEDS_MAX, out->needs, &out->need_count, err))
        return false;
    if (out->need_count == 0 || out->script_count > 0) return true;
    return err_at(err, json_place(json_get(root, "needs")),
                  "needs are looked for in a run of the right script: there must be scripts");
}

static bool read_times(const JsonValue *root, Scenario *out, Err *err)
{
    return json_read_integer(root, "minutes", true, 1, SCENARIO_MINUTES_MAX, &out->minutes, err) &&
           site_read_date(root, "date", true, &out->date, err) &&
           read_clock(root, "clock", &out->clock_us, err) &&
           read_clock(root, "last_good_check", &out->last_good_check_us, err) &&
           want_order(root, "last_good_check", out->last_good_check_us, "clock", out->clock_us,
                      err) &&
           read_stocks(root, out, err);
}

static bool read_things(const JsonValue *root, Scenario *out, Err *err)
{
    return json_read_bool(root, "fed", false, &out->fed, err) &&
           read_kit(out->site, root, out, err) && faults_read(root, out, err);
}

static bool read_judging(const JsonValue *root, Scenario *out, Err *err)
{
    return reading_rubric(root, out, err) && reading_scripts(root, out, err) &&
           read_needs(root, out, err);
}

static bool read_mark(const JsonValue *root, Scenario *out, Err *err)
{
    return json_read_integer(root, "pass_percent", true, 1, 100, &out->pass_percent, err);
}

/* Parts that do not depend on each other, so that each can tell of its own first error. */
static bool read_scenario(const Site *site, Scenario *out, Err *err)
{
    typedef bool ReadPart(const JsonValue *root, Scenario *out, Err *err);
    static ReadPart *const parts[] = {read_times, read_things, reading_scenes, read_judging,
                                      read_mark};
    const JsonValue *root = json_root(out->document);
    bool ok = true;
    out->fed = true;
    if (!read_head_of_file(site, root, out, err)) return false; /* all else depends on it */
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (parts[i](root, out, err)) continue;
        if (!err_goes_on(err)) return false;
        ok = false;
    }
    return ok;
}

bool scenario_parse(const char *file, const char *bytes, size_t len, const Site *site,
                    Scenario **out, Err *err)
{
    JsonDoc *document = NULL;
    if (!json_parse(file, bytes, len, &document, err)) return false;
    Scenario *scenario = check_calloc(1, sizeof *scenario);
    scenario->document = document;
    scenario->site = site;
    if (!read_scenario(site, scenario, err)) {
        scenario_free(scenario);
        return false;
    }
    *out = scenario;
    return true;
}

void scenario_free(Scenario *scenario)
{
    if (scenario == NULL) return;
    free(scenario->scenes);
    free(scenario->rubric);
    json_free(scenario->document);
    free(scenario);
}
