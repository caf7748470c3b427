/* A run as text, and playing it again. */
#include "player/player.h"

#include <stdlib.h>
#include <string.h>

#define RUN_FORM "threepass-run-1"

void player_print_run(const Player *player, Text *out)
{
    size_t count;
    const LogLine *lines = player_log(player, &count);
    const PlayerSetup *setup = player_setup(player);
    text_addf(out, "form %s\nmodel %d\nscenario %s\nseed %llu\n", RUN_FORM, DETECTOR_MODEL_VERSION,
              setup->scenario->id, (unsigned long long)setup->seed);
    for (size_t i = 0; i < count; i++) {
        log_print(&lines[i], out);
        text_add(out, "\n");
    }
}

/* --- Reading --------------------------------------------------------------------------------- */

/* The text line by line. */
typedef struct {
    const char *at, *end;
    ErrPlace place;
    char line[LOG_LINE_BYTES_MAX + 1];
} Lines;

static bool next_line(Lines *lines, bool *more, Err *err)
{
    *more = lines->at < lines->end;
    if (!*more) return true;
    lines->place.line++;
    lines->place.column = 1;
    const char *stop = memchr(lines->at, '\n', (size_t)(lines->end - lines->at));
    if (stop == NULL) return err_at(err, lines->place, "the last line has no end");
    size_t len = (size_t)(stop - lines->at);
    if (len > LOG_LINE_BYTES_MAX) {
        return err_at(err, lines->place, "a line of %zu bytes, limit %d", len, LOG_LINE_BYTES_MAX);
    }
    const char *nul = memchr(lines->at, '\0', len);
    if (nul != NULL) {
        lines->place.column += (int)(nul - lines->at);
        return err_at(err, lines->place, "there is a NUL in the line");
    }
    size_t bad_at;
    if (!text_is_utf8(lines->at, len, &bad_at)) {
        lines->place.column += (int)bad_at;
        return err_at(err, lines->place, "the byte 0x%02x is not UTF-8",
                      (unsigned)(unsigned char)lines->at[bad_at]);
    }
    memcpy(lines->line, lines->at, len);
    lines->line[len] = '\0';
    lines->at = stop + 1;
    return true;
}

/* One line of the head: its word and what follows, to which the place then points. */
static bool head_line(Lines *lines, const char *word, const char **value, Err *err)
{
    bool more;
    if (!next_line(lines, &more, err)) return false;
    size_t len = strlen(word);
    if (!more) lines->place = (ErrPlace){lines->place.file, lines->place.line + 1, 1};
    if (!more || strncmp(lines->line, word, len) != 0 || lines->line[len] != ' ') {
        return err_at(err, lines->place, "there must be \"%s ...\" here", word);
    }
    *value = lines->line + len + 1;
    lines->place.column += (int)len + 1;
    return true;
}

static bool read_seed(const char *text, uint64_t *seed)
{
    size_t len = strspn(text, "0123456789");
    if (len == 0 || len > 20 || text[len] != '\0') return false;
    uint64_t value = 0;
    for (size_t i = 0; i < len; i++) {
        uint64_t digit = (uint64_t)(text[i] - '0');
        if (value > (UINT64_MAX - digit) / 10) return false;
        value = value * 10 + digit;
    }
    *seed = value;
    return true;
}

static bool read_head(Lines *lines, PlayerRun *run, Err *err)
{
    const char *value = "";
    if (!head_line(lines, "form", &value, err)) return false;
    if (strcmp(value, RUN_FORM) != 0) {
        return err_at(err, lines->place, "form is \"%.64s\", must be %s", value, RUN_FORM);
    }
    if (!head_line(lines, "model", &value, err)) return false;
    if (!text_to_int(value, &run->model) || run->model < 1 || run->model > 1000000) {
        return err_at(err, lines->place, "model is \"%.64s\", limit 1..1000000", value);
    }
    if (!head_line(lines, "scenario", &value, err)) return false;
    if (!text_is_id(value)) {
        return err_at(err, lines->place,
                      "scenario is \"%.64s\", must be 1 to 64 of a-z, A-Z, 0-9, '-', '_' and '.'",
                      value);
    }
    memcpy(run->scenario, value, strlen(value) + 1);
    if (!head_line(lines, "seed", &value, err)) return false;
    if (read_seed(value, &run->seed)) return true;
    return err_at(err, lines->place, "seed is \"%.64s\", limit 0..%llu", value,
                  (unsigned long long)UINT64_MAX);
}

static bool read_lines(Lines *lines, PlayerRun *run, Err *err)
{
    size_t capacity = 0;
    for (;;) {
        bool more;
        if (!next_line(lines, &more, err)) return false;
        if (!more) return true;
        if (run->count == LOG_LINES_MAX) {
            return err_at(err, lines->place, "one more line of log than the limit, %d",
                          LOG_LINES_MAX);
        }
        if (run->count == capacity) {
            capacity = capacity == 0 ? 64 : capacity * 2;
            run->lines = check_realloc(run->lines, capacity, sizeof *run->lines);
        }
        LogLine *line = &run->lines[run->count];
        if (!log_parse(lines->line, lines->place, line, err)) return false;
        if (run->count > 0 && line->time_us < line[-1].time_us) {
            return err_at(err, lines->place, "time is %lld, limit: not before %lld",
                          (long long)line->time_us, (long long)line[-1].time_us);
        }
        run->count++;
    }
}

bool player_parse_run(const char *file, const char *bytes, size_t len, PlayerRun *out, Err *err)
{
    if (len > LOG_BYTES_MAX) {
        return err_set(err, ERR_RANGE, "%s: is %zu bytes long, limit 0..%d", file, len,
                       LOG_BYTES_MAX);
    }
    Lines lines = {.at = bytes, .end = bytes + len, .place = {file, 0, 1}};
    PlayerRun run = {0};
    if (!read_head(&lines, &run, err) || !read_lines(&lines, &run, err)) {
        player_run_clear(&run);
        return false;
    }
    *out = run;
    return true;
}

void player_run_clear(PlayerRun *run)
{
    free(run->lines);
    *run = (PlayerRun){0};
}

/* --- Playing again --------------------------------------------------------------------------- */

static void tell_difference(const LogLine *stored, const LogLine *again, size_t index, Text *why)
{
    text_addf(why, "line %zu of the log differs: stored \"", index + 1);
    if (stored != NULL) log_print(stored, why);
    text_add(why, "\", played again \"");
    if (again != NULL) log_print(again, why);
    text_add(why, "\"");
}

static bool compare(const Player *player, const PlayerRun *run, Text *why)
{
    size_t count;
    const LogLine *again = player_log(player, &count);
    for (size_t i = 0; i < count || i < run->count; i++) {
        const LogLine *left = i < run->count ? &run->lines[i] : NULL;
        const LogLine *right = i < count ? &again[i] : NULL;
        if (left == NULL || right == NULL || !log_equal(left, right)) {
            tell_difference(left, right, i, why);
            return false;
        }
    }
    return true;
}

bool player_replay(const PlayerSetup *setup, const PlayerRun *run, bool *same, Text *why, Err *err)
{
    Player *player = NULL;
    PlayerSetup again = *setup;
    again.seed = run->seed;
    if (!player_new(&again, &player, err)) return false;
    for (size_t i = 0; i < run->count; i++) {
        const LogLine *line = &run->lines[i];
        if (!line->is_action) continue;
        if (line->time_us < player_now_us(player) || !player_do(player, line)) break;
    }
    if (run->count > 0 && run->lines[run->count - 1].time_us >= player_now_us(player)) {
        player_advance(player, run->lines[run->count - 1].time_us);
    }
    *same = compare(player, run, why);
    player_free(player);
    return true;
}
