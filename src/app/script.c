/* Reading and playing scripts. */
#include "app/script.h"

#include <string.h>

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

/* What could not be done last, which is often why a wait is in vain; NULL: nothing. */
static const char *last_refusal(const AppRun *run)
{
    size_t count;
    const LogLine *log = player_log(app_run_player(run), &count);
    for (size_t i = count; i > 0; i--) {
        if (log_is(&log[i - 1], HAPPENING_NOT_POSSIBLE)) return log_word(&log[i - 1], "why");
    }
    return NULL;
}

/* Wait for a happening among the lines from `since` on. */
static bool wait_until(AppRun *run, const char *text, ErrPlace place, size_t since, Err *err)
{
    LogPattern pattern;
    if (!log_parse_pattern(text, place, &pattern, err)) return false;
    while (!any_matches(run, &since, &pattern)) {
        if (!app_run_advance_one(run, LOG_TIME_US_MAX)) {
            const char *why = last_refusal(run);
            return err_at(
                err, place, "the run ended before \"%s\" happened%s%s", text,
                why == NULL ? "" : "; what could not be done last: ", why == NULL ? "" : why);
        }
    }
    return true;
}

static bool do_action(AppRun *run, const char *text, ErrPlace place, int64_t wait_us, Err *err)
{
    LogLine action;
    if (!log_parse_action(text, place, &action, err)) return false;
    action.time_us = player_now_us(app_run_player(run)) + wait_us;
    if (action.time_us <= LOG_TIME_US_MAX && app_run_do(run, &action)) return true;
    return err_at(err, place, "the run has ended; nothing can be done any more");
}

/* One line; *since is the count of log lines when the last action was about to be done. */
static bool play_line(AppRun *run, char *line, ErrPlace place, size_t *since, Err *err)
{
    size_t indent = strspn(line, " \t");
    char *at = line + indent;
    for (size_t end = strlen(at); end > 0 && strchr(" \t\r", at[end - 1]) != NULL; end--) {
        at[end - 1] = '\0';
    }
    if (at[0] == '\0' || at[0] == '#') return true;
    place.column = (int)indent + 1;
    int64_t wait_us = 0;
    bool waits = at[0] == '+';
    if (waits) {
        size_t len = strcspn(at, " \t");
        if (!read_wait(at, len, place, &wait_us, err)) return false;
        place.column += (int)(len + strspn(at + len, " \t"));
        at += len + strspn(at + len, " \t");
    }
    if (strncmp(at, "until", 5) == 0 && strchr(" \t", at[5]) != NULL) {
        if (waits) return err_at(err, place, "a wait goes with an action, not with until");
        size_t word = 5 + strspn(at + 5, " \t");
        place.column += (int)word;
        return wait_until(run, at + word, place, *since, err);
    }
    (void)player_log(app_run_player(run), since);
    return do_action(run, at, place, wait_us, err);
}

bool script_play(AppRun *run, const char *file, const char *bytes, size_t len, Err *err)
{
    ErrPlace place = {file, 0, 1};
    size_t since = 0;
    size_t bad_at;
    if (len > SCRIPT_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "%s: is %zu bytes long, limit 0..%d", file, len,
                       SCRIPT_BYTES_MAX);
    }
    for (const char *at = bytes; at < bytes + len;) {
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
        if (!play_line(run, line, place, &since, err)) return false;
        at += line_len + (stop != NULL);
    }
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
