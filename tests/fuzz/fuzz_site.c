/* Any bytes are a site, kinds, metals or fitted values within their limits, or one error. */
#include <stdlib.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/small.h"
#include "scenario/site.h"

static void check_error(const Err *err)
{
    CHECK(err->code == ERR_INPUT && strncmp(err->text, "any:", strlen("any:")) == 0);
}

static void check_line(const Site *site, const SiteLine *line)
{
    const LineSetup *setup = &line->setup;
    CHECK(line->head >= 0 && line->head < site->head_count);
    CHECK(setup->infeed_um < setup->eye_um && setup->eye_um < 0);
    CHECK(setup->reject_um > 0 && setup->end_um > setup->reject_um);
    CHECK((setup->end_um - setup->infeed_um) / setup->pitch_um < LINE_PACKS_MAX - 2);
    CHECK(line->program_count >= 1 && line->program_count <= SITE_PROGRAMS_MAX);
    for (int i = 0; i < line->program_count; i++) {
        ProductBlock block = site_block(site, line, line->programs[i].product);
        CHECK(block.length_m > 0 && block.length_m * 1e6 < (double)setup->pitch_um);
        CHECK(site_program(line, line->programs[i].product) == &line->programs[i]);
    }
}

static void check_site(const Site *site)
{
    CHECK(site_text(site->name, "en")[0] != '\0');
    for (int i = 0; i < site->line_count; i++) {
        check_line(site, &site->lines[i]);
        CHECK(site_find_line(site, site->lines[i].id) == i);
    }
    for (int i = 0; i < site->head_count; i++) {
        CHECK(site->heads[i].found_probability > site->heads[i].head.false_reject_rate);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    const char *text = (const char *)bytes;
    MetalTable *metals = NULL;
    MetalTable *other_metals = NULL;
    Kinds *kinds = NULL;
    Kinds *other_kinds = NULL;
    Site *site = NULL;
    SiteFitted *fitted = NULL;
    SiteHead head = {.id = "d-small"};
    const Site one_head = {.heads = &head, .head_count = 1};
    Err err = {0};
    CHECK(metals_parse("metals", SMALL_METALS, strlen(SMALL_METALS), &metals, &err));
    CHECK(kinds_parse("kinds", SMALL_KINDS, strlen(SMALL_KINDS), &kinds, &err));
    if (site_parse("any", text, count, metals, kinds, &site, &err)) {
        check_site(site);
    } else {
        check_error(&err);
    }
    if (!kinds_parse("any", text, count, &other_kinds, &err)) check_error(&err);
    if (!metals_parse("any", text, count, &other_metals, &err)) check_error(&err);
    if (!site_fitted_parse(&one_head, "any", text, count, &fitted, &err)) check_error(&err);
    free(fitted);
    site_free(site);
    kinds_free(other_kinds);
    kinds_free(kinds);
    metals_free(other_metals);
    metals_free(metals);
    return 0;
}
