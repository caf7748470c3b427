/* Any bytes are the text of a run that prints the same again, or one error; so is any line an
 * action or a pattern. */
#include <string.h>

#include "fuzz/fuzz.h"
#include "player/player.h"

static void check_error(const Err *err)
{
    CHECK(err->code == ERR_INPUT && strncmp(err->text, "any:", strlen("any:")) == 0);
}

static void check_run(const PlayerRun *run)
{
    for (size_t i = 0; i < run->count; i++) {
        Text text = {0};
        LogLine again;
        Err err = {0};
        log_print(&run->lines[i], &text);
        CHECK(text.len <= LOG_LINE_BYTES_MAX);
        CHECK(log_parse(text.bytes, (ErrPlace){"any", 1, 1}, &again, &err));
        CHECK(log_equal(&run->lines[i], &again));
        text_clear(&text);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    Err err = {0};
    PlayerRun run = {0};
    LogLine action;
    LogPattern pattern;
    Text line = {0};
    if (player_parse_run("any", (const char *)bytes, count, &run, &err)) {
        check_run(&run);
    } else {
        check_error(&err);
    }
    text_add_bytes(&line, (const char *)bytes, count);
    ErrPlace place = {"any", 1, 1};
    if (!log_parse_action(text_string(&line), place, &action, &err)) check_error(&err);
    if (log_parse_pattern(text_string(&line), place, &pattern, &err)) {
        CHECK(log_matches(&pattern.want, &pattern));
    } else {
        check_error(&err);
    }
    text_clear(&line);
    player_run_clear(&run);
    return 0;
}
