/* Short scripts on a small scenario of the example site, and the happenings they must bring. */
#ifndef TESTS_PLAYER_ROWS_H
#define TESTS_PLAYER_ROWS_H

#include "support.h"

#include <stdio.h>

#include "app/script.h"

#define KIT "\"FE-15-03\", \"NF-20-05\", \"SS-25-07\", \"SS-45-02\", \"NF-20-01\", \"FE-15-01\""
#define ALL KIT ", \"FE-20-04\", \"NF-25-02\", \"SS-30-06\", \"WIRE-12\", \"WIRE-SS\""
#define PASS_SCENE "{\"id\": \"check\", \"kind\": \"pass\", \"text\": {\"en\": \"Go\"}}"
#define STOCK                                                                                      \
    "{\"place\": \"pallet\", \"from\": \"05:00\", \"to\": \"06:00\", \"packs\": 10},"              \
    "{\"place\": \"store\", \"from\": \"04:00\", \"to\": \"05:00\", \"packs\": 20},"               \
    "{\"place\": \"lorry\", \"from\": \"03:00\", \"to\": \"04:30\", \"packs\": 30}"

/* A piece in a pack on the table, at the middle of its top. */
#define IN_PACK(piece, pack)                                                                       \
    "take piece=" piece "\nplace piece=" piece " pack=" pack " along_um=0 across_um=0 "            \
    "up_um=40000\n"
#define MADE(pack) "make-pack pack=" pack " marked=yes\n"
#define SENT(pack) "send pack=" pack " across_um=0\n"
/* Pack 1 and its steel ball in the locked bin; then the bin open, with the line locked off or just
 * standing still. */
#define BINNED MADE("1") IN_PACK("FE-15-03", "1") SENT("1") "watch\nuntil removed pack=1\n"
#define IN_BIN BINNED "stop\nlock-off\nopen-bin by=line-leader\n"
#define IN_BIN_UNLOCKED BINNED "stop\nopen-bin by=line-leader\n"
/* Laid on the infeed of the standing line from the hand, and back into the hand. */
#define LAID(piece, along, across, up, belt)                                                       \
    "place piece=" piece " pack=1 along_um=" along " across_um=" across " up_um=" up               \
    "\nsend pack=1 across_um=" belt "\nfetch pack=1\nfind piece=" piece "\n"
#define CENTRE(spot, yes) "piece-sent spot=" spot " centre=" yes "\n"

/* A fault of a scenario; a ball in a pack that is sent; a sliver of steel in the sixth good pack; a
 * person who was called and has come. */
#define FAULT(text) "{\"kind\": " text "}"
#define BALL(pack) MADE(pack) IN_PACK("FE-15-03", pack) SENT(pack)
#define SLIVER                                                                                     \
    FAULT("\"contaminant\", \"metal\": \"carbon-steel\", \"diameter_mm\": 1, \"length_mm\": 9, "   \
          "\"at_pack\": 6")
#define CALLED(who) "call who=" who "\nuntil came who=" who "\n"
/* Three metals at three places: the plan's full check, in pack 11. */
#define ONE_PASS(piece, along)                                                                     \
    "take piece=" piece "\nplace piece=" piece " pack=11 along_um=" along                          \
    " across_um=0 up_um=40000\nsend pack=11 across_um=0\nuntil removed pack=11\nstop\nlock-off\n"  \
    "open-bin by=line-leader\nfind piece=" piece "\nput-back piece=" piece                         \
    "\nfetch pack=11\nclose-bin\nunlock\nstart\n"
#define ONE_METAL(piece) ONE_PASS(piece, "45000") ONE_PASS(piece, "0") ONE_PASS(piece, "-45000")
#define FULL_CHECK MADE("11") ONE_METAL("FE-15-03") ONE_METAL("NF-20-05") ONE_METAL("SS-25-07")

/* A scenario of the example site, made of the few things that matter here; NULL: as usual. */
typedef struct {
    const char *line, *product, *role, *kit, *stock, *faults, *scenes;
    const char *fail_safes; /* of line D1; NULL: none */
    const char *need;       /* of the one line of the rubric */
    bool is_sealed;         /* the butter */
    bool fed;
    int minutes; /* 0: five */
} Small;

static const char *or_usual(const char *text, const char *usual)
{
    return text != NULL ? text : usual;
}

static inline void small_print(const Small *small, Text *out)
{
    text_addf(out,
              "{\"format\": \"threepass-scenario-1\", \"id\": \"small\", \"title\": {\"en\": "
              "\"Small\"}, \"site\": \"ostrel-mill\", \"line\": \"%s\", \"product\": \"%s\", "
              "\"role\": \"%s\", \"plan\": \"start\", \"minutes\": %d, \"date\": \"2026-03-02\", "
              "\"clock\": \"06:00\", \"last_good_check\": \"04:00\", \"fed\": %s, ",
              or_usual(small->line, "d1"), or_usual(small->product, "butter-200"),
              or_usual(small->role, "line-checker"), small->minutes == 0 ? 5 : small->minutes,
              small->fed ? "true" : "false");
    text_addf(out,
              "\"kit\": [%s], \"stock\": [%s], \"faults\": [%s], \"scenes\": [%s], \"rubric\": "
              "[{\"id\": \"one\", \"points\": 1, \"text\": {\"en\": \"One\"}, \"need\": {%s}}], "
              "\"pass_percent\": 80}",
              or_usual(small->kit, KIT), or_usual(small->stock, STOCK), or_usual(small->faults, ""),
              or_usual(small->scenes, PASS_SCENE), or_usual(small->need, "\"seen\": \"signed\""));
}

/* A text with something put in before the first `before`. */
static inline void with(const Text *text, const char *before, const char *put_in, Text *out)
{
    const char *at = strstr(text->bytes, before);
    assert_non_null(at);
    text_add_bytes(out, text->bytes, (size_t)(at - text->bytes));
    text_addf(out, "%s%s", put_in, at);
}

/* The example site with one wire more, of stainless steel, a ball of each metal M1 to M16, and the
 * fail-safes of the first line and the seal of the first product. */
static inline void site_with_pieces(const Text *site, const Small *small, Text *out)
{
    Text pieces = {0};
    Text line = {0};
    for (int i = 1; i <= SCENARIO_KIT_MAX; i++) {
        text_addf(&pieces,
                  "{\"id\": \"BALL-%d\", \"metal\": \"M%d\", \"diameter_mm\": 2.0, \"form\": "
                  "\"card\", \"certificate\": \"C-1\", \"good_until\": \"2027-03-31\"}, ",
                  i, i);
    }
    text_add(&pieces, "{\"id\": \"WIRE-SS\", \"metal\": \"stainless-316\", \"diameter_mm\": 1.0, "
                      "\"length_mm\": 12, \"form\": \"wire\"}, ");
    Text more = {0};
    Text lined = {0};
    if (small->fail_safes != NULL) text_addf(&line, "\"fail_safes\": [%s], ", small->fail_safes);
    with(site, "{ \"id\": \"WIRE-12\"", pieces.bytes, &more);
    with(&more, "\"lanes\": 1", text_string(&line), &lined);
    with(&lined, "\"piece_goes\"", small->is_sealed ? "\"sealed\": true, " : "", out);
    text_clear(&lined);
    text_clear(&more);
    text_clear(&line);
    text_clear(&pieces);
}

/* The metals with M1 to M16 more, one for each piece that a tray can have. */
static inline void metals_with_more(const Text *metals, Text *out)
{
    Text more = {0};
    for (int i = 1; i <= SCENARIO_KIT_MAX; i++) {
        text_addf(&more,
                  "{\"name\": \"M%d\", \"group\": \"stainless\", \"condition\": \"any\", "
                  "\"at_c\": 20, \"resistivity_ohm_m\": 7.2e-7, \"resistivity_uncertainty\": "
                  "0.03, \"resistivity_per_k\": 0.001, \"resistivity_source\": \"made up\", "
                  "\"relative_permeability\": 1.008, \"relative_permeability_low\": 1.003, "
                  "\"relative_permeability_high\": 1.1, \"relative_permeability_source\": "
                  "\"made up\", \"note\": \"None.\"},\n    ",
                  i);
    }
    with(metals, "{\n      \"name\"", more.bytes, out);
    text_clear(&more);
}

/* The site as it was read and fitted once: the state of all tests. */
static inline Work *small_work(const Work *base, const Small *small)
{
    Text parts[WORK_PART_COUNT] = {{0}};
    Work *work = NULL;
    Err err = {0};
    for (int i = 0; i < WORK_SCENARIO; i++) {
        const Text *part = work_part(base, (WorkPart)i);
        if (i == WORK_SITE) {
            site_with_pieces(part, small, &parts[i]);
        } else if (i == WORK_METALS) {
            metals_with_more(part, &parts[i]);
        } else {
            text_add_bytes(&parts[i], part->bytes, part->len);
        }
    }
    small_print(small, &parts[WORK_SCENARIO]);
    if (!work_from_texts(parts, &work, &err)) fail_msg("%s", err.text);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_clear(&parts[i]);
    }
    return work;
}

/* --- Rows: a script, and what must come of it
 * -------------------------------------------------- */

typedef struct {
    const char *name;
    Small small;
    const char *script;
    const char *want;  /* patterns, one a line, in this order */
    const char *never; /* patterns, one a line; NULL: none */
} Row;

static const char *next_pattern(const char *at, LogPattern *pattern)
{
    char line[256];
    Err err = {0};
    size_t len = strcspn(at, "\n");
    assert_true(len < sizeof line);
    memcpy(line, at, len);
    line[len] = '\0';
    if (!log_parse_pattern(line, (ErrPlace){"want", 1, 1}, pattern, &err)) {
        fail_msg("%s", err.text);
    }
    return at + len + (at[len] == '\n');
}

static inline void fail_with_log(const Row *row, const AppRun *run, const char *why,
                                 const char *line)
{
    Text text = {0};
    player_print_run(app_run_player(run), &text);
    print_error("%s", text.bytes);
    text_clear(&text);
    fail_msg("%s: %s %.*s", row->name, why, (int)strcspn(line, "\n"), line);
}

static inline void check_row(const Work *base, const Row *row)
{
    Work *work = small_work(base, &row->small);
    AppRunSetup setup = {.seed = 3, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    LogPattern pattern;
    size_t count;
    if (!app_run_begin(work, &setup, &run, &err) ||
        !script_play(run, row->name, row->script, strlen(row->script), &err)) {
        fail_msg("%s: %s", row->name, err.text);
    }
    const LogLine *log = player_log(app_run_player(run), &count);
    size_t from = 0;
    for (const char *at = row->want; *at != '\0';) {
        const char *next = next_pattern(at, &pattern);
        while (from < count && !log_matches(&log[from], &pattern)) {
            from++;
        }
        if (from++ >= count) fail_with_log(row, run, "there is no", at);
        at = next;
    }
    for (const char *at = or_usual(row->never, ""); *at != '\0';) {
        const char *next = next_pattern(at, &pattern);
        for (size_t i = 0; i < count; i++) {
            if (log_matches(&log[i], &pattern)) fail_with_log(row, run, "there is", at);
        }
        at = next;
    }
    app_run_free(run);
    work_free(work);
}

#define CHECK_ROWS(state, rows)                                                                    \
    do {                                                                                           \
        for (size_t i = 0; i < sizeof(rows) / sizeof(rows)[0]; i++) {                              \
            check_row(*(state), &(rows)[i]);                                                       \
        }                                                                                          \
    } while (false)

#define USUAL                                                                                      \
    {                                                                                              \
        .fed = false                                                                               \
    }

/* The state of all tests: the site, read and fitted once. */
static inline int read_base(void **state)
{
    Work *work = NULL;
    Err err = {0};
    if (!work_read("assets", "scenarios/ostrel-mill", NULL, NULL, NULL, &work, &err)) {
        print_error("%s\n", err.text);
        return -1;
    }
    *state = work;
    return 0;
}

static inline int end_base(void **state)
{
    work_free(*state);
    return 0;
}

#endif
