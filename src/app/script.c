/* Reading and playing scripts. */
#include "app/script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/texts.h"
#include "base/check.h"
#include "scenario/suggest.h"

enum { LISTED_BYTES_MAX = 400 };

static const struct {
    const char *name;
    int64_t us;
} units[] = {{"us", 1}, {"ms", 1000}, {"s", 1000000}, {"min", 60000000}};

/* "+800ms" in microseconds. */
static bool read_wait(const char *text, size_t len, ErrPlace place, int64_t *us, Err *err)
{
    int shown = (int)(len < 40 ? len : 40);
    size_t count = strspn(text + 1, "0123456789");
    int64_t unit_us = 0;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strlen(units[i].name) == len - 1 - count &&
            memcmp(text + 1 + count, units[i].name, len - 1 - count) == 0) {
            unit_us = units[i].us;
        }
    }
    if (count == 0 || unit_us == 0) {
        return err_at(err, place, "\"%.*s\" is no wait such as +800ms, +2s or +1min", shown, text);
    }
    int64_t number = 0;
    for (size_t i = 1; i <= count && number <= LOG_TIME_US_MAX; i++) {
        number = number * 10 + text[i] - '0';
    }
    if (number > LOG_TIME_US_MAX / unit_us) {
        return err_at(err, place, "the wait is %.*s, limit +0us..+1440min", shown, text);
    }
    *us = number * unit_us;
    return true;
}

/* --- Lines ----------------------------------------------------------------------------------- */

/* One line that says something. */
typedef struct {
    bool is_wait; /* for the pattern; else the action, after wait_us */
    const char *text;
    ErrPlace place; /* of the text, behind the wait or "until" */
    int64_t wait_us;
    LogLine action;
    LogPattern pattern;
} ScriptLine;

typedef bool LineDo(void *context, ScriptLine *line, Err *err);

/* "2s take ..." with the plus forgotten. */
static bool is_bare_wait(const char *at)
{
    size_t digits = strspn(at, "0123456789");
    size_t len = strcspn(at, " \t");
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        bool fits = digits > 0 && strlen(units[i].name) == len - digits;
        if (fits && memcmp(at + digits, units[i].name, len - digits) == 0) return true;
    }
    return false;
}

static bool read_line(char *text, ErrPlace place, LineDo *each, void *context, Err *err)
{
    size_t indent = strspn(text, " \t");
    char *at = text + indent;
    ScriptLine line = {0};
    for (size_t end = strlen(at); end > 0 && strchr(" \t\r", at[end - 1]) != NULL; end--) {
        at[end - 1] = '\0';
    }
    if (at[0] == '\0' || at[0] == '#') return true;
    place.column += (int)indent;
    bool waits = at[0] == '+';
    if (waits) {
        size_t len = strcspn(at, " \t");
        if (!read_wait(at, len, place, &line.wait_us, err)) return false;
        place.column += (int)(len + strspn(at + len, " \t"));
        at += len + strspn(at + len, " \t");
    } else if (is_bare_wait(at)) {
        int len = (int)strcspn(at, " \t");
        return err_at(err, place, "\"%.*s\" is no action; a wait begins with +: +%.*s",
                      len < 40 ? len : 40, at, len < 40 ? len : 40, at);
    }
    line.is_wait = strncmp(at, "until", 5) == 0 && strchr(" \t", at[5]) != NULL;
    if (line.is_wait) {
        if (waits) return err_at(err, place, "a wait goes with an action, not with until");
        size_t word = 5 + strspn(at + 5, " \t");
        place.column += (int)word;
        at += word;
    }
    line.text = at;
    line.place = place;
    bool ok = line.is_wait ? log_parse_pattern(at, place, &line.pattern, err)
                           : log_parse_action(at, place, &line.action, err);
    return ok && each(context, &line, err);
}

/* Read the lines one after the other, each handed on before the next. */
static bool read_lines(const char *file, const char *bytes, size_t len, LineDo *each, void *context,
                       Err *err)
{
    ErrPlace place = {file, 0, 1};
    size_t bad_at;
    bool ok = true;
    if (len > SCRIPT_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "%s: is %zu bytes long, limit 0..%d", file, len,
                       SCRIPT_BYTES_MAX);
    }
    bool has_mark = len >= 3 && memcmp(bytes, "\xef\xbb\xbf", 3) == 0; /* of UTF-8 */
    for (const char *at = bytes + (has_mark ? 3 : 0); at < bytes + len;) {
        const char *stop = memchr(at, '\n', (size_t)(bytes + len - at));
        size_t line_len = stop == NULL ? (size_t)(bytes + len - at) : (size_t)(stop - at);
        char line[SCRIPT_LINE_BYTES_MAX + 1];
        place.line++;
        if (line_len > SCRIPT_LINE_BYTES_MAX) {
            return err_at(err, place, "a line of %zu bytes, limit %d", line_len,
                          SCRIPT_LINE_BYTES_MAX);
        }
        const char *nul = memchr(at, '\0', line_len);
        if (!text_is_utf8(at, line_len, &bad_at) || nul != NULL) {
            place.column += (int)(nul == NULL ? bad_at : (size_t)(nul - at));
            return err_at(err, place, "the line is no text in UTF-8 without NUL");
        }
        memcpy(line, at, line_len);
        line[line_len] = '\0';
        if (!read_line(line, place, each, context, err)) {
            if (!err_goes_on(err)) return false;
            ok = false;
        }
        at += line_len + (stop != NULL);
    }
    return ok;
}

/* --- Checking -------------------------------------------------------------------------------- */

enum { ROWS_MAX = (SCENARIO_KIT_MAX + SITE_PLAN_METALS_MAX) * SITE_SPOT_COUNT * LINE_LANES_MAX };

/* The words that a field can hold, NULL-ended; none: any. */
typedef struct {
    const char **words;
    int count;
    char cells[ROWS_MAX][LOG_WORD_BYTES]; /* METAL/SPOT or METAL/SPOT/LANE, of the sheet */
    int cell_count;
} Known;

static void add_known(Known *known, const char *word)
{
    size_t count = (size_t)known->count + 2;
    known->words = check_realloc(known->words, count, sizeof *known->words);
    known->words[known->count++] = word;
    known->words[known->count] = NULL;
}

static void add_list(Known *known, const char *const words[])
{
    for (int i = 0; words[i] != NULL; i++) {
        add_known(known, words[i]);
    }
}

static bool is_known(const Known *known, const char *word)
{
    for (int i = 0; i < known->count; i++) {
        if (strcmp(known->words[i], word) == 0) return true;
    }
    return known->count == 0;
}

static void add_cells(const Metal *metal, int lanes, Known *known)
{
    for (int i = 0; i < SITE_SPOT_COUNT * lanes; i++) {
        char *cell = known->cells[known->cell_count];
        const char *spot = site_spot_words[i % SITE_SPOT_COUNT];
        int lane = i / SITE_SPOT_COUNT + 1;
        if (lanes == 1)
            (void)snprintf(cell, LOG_WORD_BYTES, "%.40s/%s", metal->name, spot);
        else
            (void)snprintf(cell, LOG_WORD_BYTES, "%.40s/%s/%d", metal->name, spot, lane);
        if (known->count > 0 && is_known(known, cell)) continue;
        known->cell_count++;
        add_known(known, cell);
    }
}

/* The rows of the sheet, and of the records that scenes give. */
static void add_rows(const Scenario *scenario, Known *known)
{
    static const char *const rows[] = {"program",   "bin-count", "kit-count", "good-run",
                                       "held-from", "result",    "re-check",  NULL};
    int lanes = scenario->line->setup.lanes;
    add_list(known, rows);
    for (int m = 0; m < scenario->plan->metal_count; m++) {
        add_cells(scenario->plan->metals[m], lanes, known);
    }
    for (int i = 0; i < scenario->kit_count; i++) {
        add_cells(scenario->site->pieces[scenario->kit[i]].metal, lanes, known);
    }
    for (int i = 0; i < scenario->scene_count; i++) {
        for (int g = 0; g < scenario->scenes[i].given_count; g++) {
            const char *row = scenario->scenes[i].given[g].row;
            if (!is_known(known, row)) add_known(known, row);
        }
    }
}

static void add_programs(const Scenario *scenario, Known *known)
{
    for (int i = 0; i < scenario->line->program_count; i++) {
        add_known(known, scenario->site->products[scenario->line->programs[i].product].id);
    }
}

/* What a row can say; nothing for a number or a time. */
static void add_values(const Scenario *scenario, const char *row, Known *known)
{
    static const char *const fates[] = {"removed", "missed", "found-not-removed", "not-finished",
                                        NULL};
    static const char *const results[] = {"good", "failed", NULL};
    if (strchr(row, '/') != NULL) add_list(known, fates);
    if (strcmp(row, "result") == 0 || strcmp(row, "re-check") == 0) add_list(known, results);
    if (strcmp(row, "program") == 0) add_programs(scenario, known);
    for (int i = 0; i < scenario->scene_count; i++) {
        const Scene *scene = &scenario->scenes[i];
        for (int g = 0; g < scene->given_count; g++) {
            const GivenRow *given = &scene->given[g];
            for (int v = 0; strcmp(given->row, row) == 0 && v < given->value_count; v++) {
                add_known(known, given->values[v]);
            }
        }
    }
}

static void add_words(const Scenario *scenario, const LogLine *line, const char *field,
                      Known *known)
{
    const char *const *words = log_field_words(line, field);
    if (words != NULL) {
        add_list(known, words);
    } else if (strcmp(field, "piece") == 0) {
        for (int i = 0; i < scenario->site->piece_count; i++) {
            add_known(known, scenario->site->pieces[i].id);
        }
    } else if (strcmp(field, "product") == 0) {
        add_programs(scenario, known);
    } else if (strcmp(field, "row") == 0) {
        add_rows(scenario, known);
    } else if (log_is_action(line, ACTION_WRITE) && strcmp(field, "value") == 0) {
        add_values(scenario, log_word(line, "row"), known);
    }
}

/* As many words as a message has room for. */
static void print_known(const Known *known, Text *out)
{
    for (int i = 0; i < known->count; i++) {
        if (out->len > LISTED_BYTES_MAX) {
            text_add(out, ", ...");
            return;
        }
        text_addf(out, "%s%s", i == 0 ? "" : ", ", known->words[i]);
    }
}

/* Where "FIELD=" stands in a line that was read. */
static int column_of(const char *text, const char *field)
{
    size_t len = strlen(field);
    for (const char *at = strpbrk(text, " \t"); at != NULL; at = strpbrk(at + 1, " \t")) {
        if (strncmp(at + 1, field, len) == 0 && at[1 + len] == '=') return (int)(at + 1 - text);
    }
    return 0;
}

/* False when the word of a field is none of those that can stand there. */
static bool check_word(const Scenario *scenario, const ScriptLine *line, const char *field,
                       const char *word, Err *err)
{
    Known known = {.count = 0};
    ErrPlace place = line->place;
    add_words(scenario, line->is_wait ? &line->pattern.want : &line->action, field, &known);
    bool ok = is_known(&known, word);
    if (!ok) {
        Text text = {0};
        text_addf(&text, "%s is \"%s\", must be one of ", field, word);
        print_known(&known, &text);
        place.column += column_of(line->text, field);
        (void)suggest_fail(place, text.bytes, word, known.words, err);
        text_clear(&text);
    }
    free(known.words);
    return ok;
}

/* False when a lane is one that the line has not, or an action must name one and does not. */
static bool check_lane(const Scenario *scenario, const ScriptLine *line, const char *field,
                       int64_t lane, Err *err)
{
    ErrPlace place = line->place;
    int lanes = scenario->line->setup.lanes;
    bool may_lack = line->is_wait || lanes == 1;
    if (lane <= lanes && (lane != 0 || may_lack)) return true;
    place.column += column_of(line->text, field);
    if (lane == 0)
        return err_at(err, place, "the line has %d lanes: %s=1 to %d is needed", lanes, field,
                      lanes);
    return err_at(err, place, "%s is %lld, limit 1..%d", field, (long long)lane, lanes);
}

static bool is_lane(const char *field)
{
    return strcmp(field, "lane") == 0 || strcmp(field, "beside") == 0;
}

static bool check_line(void *context, ScriptLine *line, Err *err)
{
    const LogLine *read = line->is_wait ? &line->pattern.want : &line->action;
    const char *field;
    for (int i = 0; (field = log_field_name(read, i)) != NULL; i++) {
        LogValue value;
        bool is_number;
        bool has = log_field(read, field, &value, &is_number) && !is_number;
        if (is_lane(field) && !check_lane(context, line, field, value.number, err)) return false;
        if (!has || value.word[0] == '\0') continue; /* a pattern need not give it */
        if (!check_word(context, line, field, value.word, err)) return false;
    }
    return true;
}

bool script_check(const Scenario *scenario, const char *file, const char *bytes, size_t len,
                  Err *err)
{
    Scenario borrowed = *scenario; /* the reader of lines takes what can be changed */
    return read_lines(file, bytes, len, check_line, &borrowed, err);
}

/* --- Playing --------------------------------------------------------------------------------- */

/* True when a line from *from on matches; *from goes on to the first line not looked at. */
static bool any_matches(const AppRun *run, size_t *from, const LogPattern *pattern)
{
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    for (; *from < count; ++*from) {
        if (log_matches(&log[*from], pattern)) return true;
    }
    return false;
}

/* "; at 06:00:02 this could not be done: send pack=1 (pack-not-on-table)": the first of them, as
 * those after it often come of it. */
static void add_first_refusal(const AppRun *run, Text *out)
{
    size_t count;
    size_t action = 0;
    const LogLine *log = player_log(app_run_player(run), &count);
    for (size_t i = 0; i < count; i++) {
        if (log[i].is_action) action = i;
        if (!log_is(&log[i], HAPPENING_NOT_POSSIBLE)) continue;
        Text line = {0};
        log_print(&log[action], &line);
        text_add(out, "; at ");
        texts_add_clock(app_run_scenario(run), log[i].time_us, out);
        text_addf(out, " this could not be done: %s (%s)", strchr(line.bytes, '>') + 2,
                  log_word(&log[i], "why"));
        text_clear(&line);
        return;
    }
}

static bool is_of(const LogLine *line, const char *field, const LogValue *want)
{
    LogValue value;
    bool is_number;
    return !line->is_action && log_field(line, field, &value, &is_number) &&
           value.number == want->number && strcmp(value.word, want->word) == 0;
}

/* The last happening of the pack or the piece that was waited for. */
static void add_last_of(const AppRun *run, const LogPattern *pattern, Text *out)
{
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    const char *field;
    for (int f = 0; (field = log_field_name(&pattern->want, f)) != NULL; f++) {
        const LogValue *want = &pattern->want.values[f];
        bool names = strcmp(field, "pack") == 0 || strcmp(field, "piece") == 0;
        size_t i = names && pattern->given[f] ? count : 0;
        while (i > 0 && !is_of(&log[i - 1], field, want)) {
            i--;
        }
        if (i == 0) continue;
        Text line = {0};
        log_print(&log[i - 1], &line);
        text_addf(out, "; the last of %s ", field);
        if (want->word[0] != '\0')
            text_addf(out, "%s: ", want->word);
        else
            text_addf(out, "%lld: ", (long long)want->number);
        texts_add_clock(app_run_scenario(run), log[i - 1].time_us, out);
        text_add(out, strchr(line.bytes, '<') + 1); /* behind "TIME <" */
        text_clear(&line);
    }
}

/* Wait for a happening among the lines from `since` on. */
static bool wait_until(AppRun *run, const ScriptLine *line, size_t since, Err *err)
{
    while (!any_matches(run, &since, &line->pattern)) {
        if (app_run_advance_one(run, LOG_TIME_US_MAX)) continue;
        Text text = {0};
        text_addf(&text, "the run ended before \"%s\" happened", line->text);
        add_last_of(run, &line->pattern, &text);
        add_first_refusal(run, &text);
        (void)err_at(err, line->place, "%s", text.bytes);
        text_clear(&text);
        return false;
    }
    return true;
}

typedef struct {
    AppRun *run;
    size_t since; /* the count of log lines when the last action was about to be done */
} Play;

static bool play_line(void *context, ScriptLine *line, Err *err)
{
    Play *play = context;
    if (line->is_wait) return wait_until(play->run, line, play->since, err);
    (void)player_log(app_run_player(play->run), &play->since);
    line->action.time_us = player_now_us(app_run_player(play->run)) + line->wait_us;
    if (line->action.time_us <= LOG_TIME_US_MAX && app_run_do(play->run, &line->action))
        return true;
    return err_at(err, line->place, "the run has ended; nothing can be done any more");
}

bool script_play(AppRun *run, const char *file, const char *bytes, size_t len, Err *err)
{
    Play play = {.run = run};
    if (!read_lines(file, bytes, len, play_line, &play, err)) return false;
    app_run_finish(run);
    return true;
}

/* "+800ms " in the largest unit that divides it; nothing for no wait. */
static void print_wait(int64_t us, Text *out)
{
    size_t unit = sizeof units / sizeof units[0] - 2; /* not in minutes: seconds read better */
    while (us % units[unit].us != 0) {
        unit--;
    }
    if (us > 0) text_addf(out, "+%lld%s ", (long long)(us / units[unit].us), units[unit].name);
}

void script_print(const LogLine *log, size_t count, Text *out)
{
    int64_t before_us = 0;
    for (size_t i = 0; i < count; i++) {
        Text line = {0};
        if (!log[i].is_action) continue;
        log_print(&log[i], &line);
        print_wait(log[i].time_us - before_us, out);
        text_addf(out, "%s\n", strchr(line.bytes, '>') + 2); /* behind "TIME > " */
        text_clear(&line);
        before_us = log[i].time_us;
    }
}
