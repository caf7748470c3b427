/* threepass window, or no verb: a site in a window, the example when none is named. */
#include <string.h>

#include "base/os.h"
#include "cli/cli.h"

enum {
    WIDTH_MIN = 1024,
    WIDTH_MAX = 3840,
    HEIGHT_MIN = 600,
    HEIGHT_MAX = 2160,
    TEXT_MIN = 100,
    TEXT_MAX = 200,
};

#define EXAMPLE_SITE "../scenarios/ostrel-mill"

const CliOption cli_window_options[CLI_WINDOW_OPTION_COUNT + 1] = {
    [CLI_WINDOW_SITE] = {.name = "--site", .takes = "DIR"},
    [CLI_WINDOW_STORE] = {.name = "--store", .takes = "DIR"},
    [CLI_WINDOW_SIZE] = {.name = "--size", .takes = "WxH"},
    [CLI_WINDOW_TEXT] = {.name = "--text", .takes = "PERCENT"},
    [CLI_WINDOW_THEME] = {.name = "--theme", .takes = "light|dark|contrast"},
    [CLI_WINDOW_LANGUAGE] = {.name = "--language", .takes = "TAG"},
};

static bool is_within(int64_t value, int min, int max)
{
    return value >= min && value <= max;
}

/* "1280x800". */
static bool read_size(const char *value, CliWindow *window, Err *err)
{
    const char *cross = strchr(value, 'x');
    Text width = {0};
    int64_t w = 0;
    int64_t h = 0;
    if (cross != NULL) text_add_bytes(&width, value, (size_t)(cross - value));
    bool ok = cross != NULL && text_to_int(text_string(&width), &w) && text_to_int(cross + 1, &h) &&
              is_within(w, WIDTH_MIN, WIDTH_MAX) && is_within(h, HEIGHT_MIN, HEIGHT_MAX);
    text_clear(&width);
    if (!ok) {
        return err_set(err, ERR_INPUT, "threepass: --size is \"%s\", limit %dx%d..%dx%d", value,
                       WIDTH_MIN, HEIGHT_MIN, WIDTH_MAX, HEIGHT_MAX);
    }
    window->width = (int)w;
    window->height = (int)h;
    return true;
}

static bool read_text(const char *value, CliWindow *window, Err *err)
{
    int64_t percent;
    if (!text_to_int(value, &percent) || !is_within(percent, TEXT_MIN, TEXT_MAX)) {
        return err_set(err, ERR_INPUT, "threepass: --text is \"%s\", limit %d..%d", value, TEXT_MIN,
                       TEXT_MAX);
    }
    window->text_percent = (int)percent;
    return true;
}

static bool read_options(const CliOption options[], CliWindow *window, Err *err)
{
    if (options[CLI_WINDOW_THEME].given) window->theme = options[CLI_WINDOW_THEME].value;
    window->language = options[CLI_WINDOW_LANGUAGE].value;
    return (!options[CLI_WINDOW_SIZE].given ||
            read_size(options[CLI_WINDOW_SIZE].value, window, err)) &&
           (!options[CLI_WINDOW_TEXT].given ||
            read_text(options[CLI_WINDOW_TEXT].value, window, err));
}

int verb_window(int argc, char **argv, const CliFront *front)
{
    CliOption options[CLI_WINDOW_OPTION_COUNT + 1];
    CliWords words = {0};
    CliWindow window = {.theme = "light", .width = 1280, .height = 800};
    Text assets = {0};
    Text site = {0};
    Text store = {0};
    Err err = {0};
    memcpy(options, cli_window_options, sizeof options);
    bool ok = cli_parse(argc, argv, options, &words, &err) && read_options(options, &window, &err);
    ok = ok && cli_asset_path("", &assets, &err);
    if (ok && options[CLI_WINDOW_SITE].given)
        text_add(&site, options[CLI_WINDOW_SITE].value);
    else
        ok = ok && cli_asset_path(EXAMPLE_SITE, &site, &err);
    if (ok && options[CLI_WINDOW_STORE].given)
        text_add(&store, options[CLI_WINDOW_STORE].value);
    else
        ok = ok && os_data_folder(&store, &err);
    window.assets = text_string(&assets);
    window.site = text_string(&site);
    window.store = text_string(&store);
    if (ok && front->open_window == NULL)
        ok = err_set(&err, ERR_INPUT, CLI_NO_WINDOW);
    else if (ok)
        ok = front->open_window(&window, &err);
    int code = ok ? CLI_DONE : cli_fail(&err);
    text_clear(&assets);
    text_clear(&site);
    text_clear(&store);
    return code;
}
