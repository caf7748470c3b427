/* What goes to the line on paper: the line's card, and the form for watching a person. */
#include "reports/report.h"

#include <stdio.h>
#include <string.h>

#include "scenario/competence.h"

static const char *word(const ReportWords *words, const char *key)
{
    return words->get(words->context, "words", key);
}

/* The plan that the card tells: at the start if there is one, else the first there is. */
static const SitePlan *main_plan(const SiteLine *line)
{
    for (int i = 0; i < SITE_PLAN_COUNT; i++) {
        if (line->plans[i].is_there) return &line->plans[i];
    }
    return NULL;
}

static int spot_count(const SitePlan *plan)
{
    int count = 0;
    for (int i = 0; i < SITE_SPOT_COUNT; i++) {
        count += plan->spots[i];
    }
    return count;
}

/* --- Pieces ---------------------------------------------------------------------------------- */

static void add_mm(const ReportWords *words, int64_t um, Text *out)
{
    text_addf(out, "%lld%s%lld", (long long)(um / 1000), word(words, "decimal"),
              (long long)(um % 1000 / 100));
    if (um % 100 != 0) text_addf(out, "%02lld", (long long)(um % 100));
    text_add(out, " mm");
}

/* The sphere of that metal for a program, and the site's sound pieces of it below. */
static void add_piece(const Site *site, const SiteProgram *program, const Metal *metal, Page *page,
                      const ReportWords *words)
{
    Text size = {0};
    Text serials = {0};
    for (int i = 0; i < program->validated_count; i++) {
        const SiteValidated *validated = &program->validated[i];
        if (validated->metal != metal) continue;
        add_mm(words, validated->diameter_um, &size);
        for (int j = 0; j < site->piece_count; j++) {
            const SitePiece *piece = &site->pieces[j];
            if (piece->metal != metal || piece->is_wire || piece->state != SITE_SOUND ||
                piece->diameter_um != validated->diameter_um) {
                continue;
            }
            text_addf(&serials, "%s%s", serials.len == 0 ? "" : ", ", piece->id);
        }
    }
    page_cell(page, PAGE_PLAIN, text_string(&size), text_string(&serials));
    text_clear(&size);
    text_clear(&serials);
}

/* A row for each product, a column for each metal of the plan. */
static void tell_pieces(const Site *site, const SiteLine *line, const SitePlan *plan, Page *page,
                        const ReportWords *words)
{
    report_table(page, words, "pieces");
    report_column(page, words, "product");
    for (int i = 0; i < plan->metal_count; i++) {
        page_column(page, plan->metals[i]->name, word(words, plan->metals[i]->name));
    }
    report_column(page, words, "goes");
    for (int i = 0; i < line->program_count; i++) {
        const SiteProgram *program = &line->programs[i];
        const SiteProduct *product = &site->products[program->product];
        Text goes = {0};
        report_plain(page, site_text(product->name, words->language));
        for (int j = 0; j < plan->metal_count; j++) {
            add_piece(site, program, plan->metals[j], page, words);
        }
        for (int h = 0; h < SITE_HEIGHT_COUNT; h++) {
            if (!product->heights[h]) continue;
            text_addf(&goes, "%s%s", goes.len == 0 ? "" : ", ", word(words, site_height_words[h]));
        }
        report_plain(page, text_string(&goes));
        text_clear(&goes);
    }
}

static void draw(const Site *site, const SiteLine *line, const SitePlan *plan, Page *page,
                 const ReportWords *words)
{
    const SiteProduct *product = &site->products[line->programs[0].product];
    const SiteHead *head = &site->heads[line->head];
    PageDrawing drawing = {
        .pack_length_um = (int64_t)(product->block.length_m * 1e6 + 0.5),
        .pack_width_um = (int64_t)(product->block.width_m * 1e6 + 0.5),
        .pack_height_um = (int64_t)(product->block.height_m * 1e6 + 0.5),
        .aperture_width_um = (int64_t)(head->head.coils.aperture_width_m * 1e6 + 0.5),
        .aperture_height_um = (int64_t)(head->head.coils.aperture_height_m * 1e6 + 0.5),
        .belt_up_um = line->belt_above_floor_um,
        .travel = report_say(words, "travel"),
    };
    const ReportFill fills[] = {{"product", site_text(product->name, words->language)},
                                {NULL, NULL}};
    drawing.above = report_fill(page, words, "seen-above", fills);
    drawing.front = report_fill(page, words, "seen-front", fills);
    for (int i = 0; i < SITE_SPOT_COUNT; i++) {
        if (plan->spots[i]) drawing.spots[i] = word(words, site_spot_words[i]);
    }
    for (int i = 0; i < SITE_HEIGHT_COUNT; i++) {
        if (product->heights[i]) drawing.heights[i] = word(words, site_height_words[i]);
    }
    page_drawing(page, &drawing);
}

/* --- Order of work --------------------------------------------------------------------------- */

static void tell_when(const SiteLine *line, Page *page, const ReportWords *words)
{
    Text when = {0};
    for (int i = 0; i < SITE_PLAN_COUNT; i++) {
        const SitePlan *plan = &line->plans[i];
        char minutes[24];
        Text key = {0};
        if (!plan->is_there) continue;
        (void)snprintf(minutes, sizeof minutes, "%lld", (long long)plan->minutes);
        text_addf(&key, "when-%s", site_plan_words[i]);
        const ReportFill fills[] = {{"minutes", minutes}, {NULL, NULL}};
        text_addf(&when, "%s%s", when.len == 0 ? "" : "; ",
                  report_fill(page, words, key.bytes, fills));
        text_clear(&key);
    }
    report_field(page, words, "check-when", text_string(&when));
    text_clear(&when);
}

static void tell_order(const SitePlan *plan, Page *page, const ReportWords *words)
{
    char metals[16];
    char passes[16];
    char good[24];
    (void)snprintf(metals, sizeof metals, "%d", plan->metal_count);
    (void)snprintf(passes, sizeof passes, "%d", plan->metal_count * spot_count(plan));
    (void)snprintf(good, sizeof good, "%lld", (long long)plan->good_run);
    const ReportFill fills[] = {{"metals", metals},
                                {"passes", passes},
                                {"good", good},
                                {"who", word(words, site_role_words[plan->bin_opened_by])},
                                {NULL, NULL}};
    const struct {
        const char *key;
        bool is_asked;
    } steps[] = {{"step-tell", true},
                 {"step-kit", true},
                 {"step-empty", plan->empty_first},
                 {"step-by-place", !plan->by_metal},
                 {"step-by-metal", plan->by_metal},
                 {"step-watch", true},
                 {"step-bin", true},
                 {"step-back", true},
                 {"step-good", plan->good_run > 0},
                 {"step-write", true}};
    page_heading(page, report_say(words, "order"));
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (steps[i].is_asked) page_step(page, report_fill(page, words, steps[i].key, fills));
    }
}

static void tell_call(const Site *site, const SiteLine *line, const SitePlan *plan, Page *page,
                      const ReportWords *words)
{
    const struct {
        const char *key;
        SiteRole role;
    } calls[] = {{"call-fail", SITE_SUPERVISOR},
                 {"call-bin", plan->bin_opened_by},
                 {"call-alarm", line->reset_by},
                 {"call-repair", SITE_MAINTENANCE},
                 {"call-release", site->release_by}};
    report_table(page, words, "calls");
    report_column(page, words, "matter");
    report_column(page, words, "call");
    report_column(page, words, "telephone");
    for (size_t i = 0; i < sizeof calls / sizeof calls[0]; i++) {
        report_plain(page, report_say(words, calls[i].key));
        report_plain(page, word(words, site_role_words[calls[i].role]));
        report_plain(page, "");
    }
}

static void add_cautions(Page *page, const ReportWords *words)
{
    report_caution(page, words, "caution-reach");
    report_caution(page, words, "caution-training");
    report_caution(page, words, "caution-implant");
    report_caution(page, words, "caution-hold");
}

Page *report_line(const Site *site, int line_index, const ReportHead *head,
                  const ReportWords *words)
{
    const SiteLine *line = &site->lines[line_index];
    const SitePlan *plan = main_plan(line);
    const ReportFill title[] = {{"line", site_text(line->name, words->language)}, {NULL, NULL}};
    Page *page = report_page("line", "line-card", title, head, words);
    page->is_one_page = true;
    if (plan != NULL) tell_when(line, page, words);
    if (plan != NULL && line->program_count > 0) {
        tell_pieces(site, line, plan, page, words);
        draw(site, line, plan, page, words);
    }
    if (plan != NULL) {
        tell_order(plan, page, words);
        page_heading(page, report_say(words, "failed"));
        report_paragraph(page, words, "hold-rule");
        tell_call(site, line, plan, page, words);
    }
    add_cautions(page, words);
    return page;
}

/* --- Observation ----------------------------------------------------------------------------- */

Page *report_observation(const Site *site, const Competence *competence, const char *person,
                         const char *line, const ReportHead *head, const ReportWords *words)
{
    (void)site;
    const ReportFill title[] = {{"competence", site_text(competence->title, words->language)},
                                {NULL, NULL}};
    Page *page = report_page("observation", "observation-form", title, head, words);
    page->is_one_page = true;
    report_field(page, words, "person", person);
    report_field(page, words, "line", line);
    report_field(page, words, "sheet", NULL);
    report_field(page, words, "seen-on", NULL);
    report_paragraph(page, words, "observation-how");
    report_table(page, words, "checklist");
    report_column(page, words, "seen-what");
    report_column(page, words, "yes");
    report_column(page, words, "no");
    report_column(page, words, "not-seen");
    for (int i = 0; i < competence->item_count; i++) {
        report_plain(page, site_text(competence->checklist[i].text, words->language));
        for (int j = 0; j < 3; j++) {
            page_cell(page, PAGE_BOX, "", "");
        }
    }
    report_field(page, words, "asked", NULL);
    report_field(page, words, "remarks", NULL);
    report_field(page, words, "whole", NULL);
    report_field(page, words, "assessor-signs", NULL);
    report_field(page, words, "person-signs", NULL);
    add_cautions(page, words);
    return page;
}
