/* The program: the command line, and the window that it may open, which know nothing of each
 * other. */
#include "cli/cli.h"

#ifdef THREEPASS_WINDOW
#include <string.h>

#include "reports/pdf.h"
#include "ui/pictures.h"
#include "ui/sdl_window.h"

static bool set_up(const CliWindow *window, SessionSetup *out, Err *err)
{
    *out = (SessionSetup){.assets = window->assets,
                          .site_folder = window->site,
                          .store = window->store,
                          .program = THREEPASS_VERSION,
                          .text_percent = window->text_percent};
    for (int i = 0; i < DRAW_THEME_COUNT; i++) {
        if (strcmp(draw_theme_words[i], window->theme) != 0) continue;
        out->theme = (DrawTheme)i;
        return true;
    }
    return err_set(err, ERR_INPUT,
                   "threepass: --theme is \"%s\", must be one of: light, dark, contrast",
                   window->theme);
}

static bool open_window(const CliWindow *window, Err *err)
{
    SdlWindowSetup setup = {
        .language = window->language, .width = window->width, .height = window->height};
    return set_up(window, &setup.session, err) && sdl_window_run(&setup, err);
}

static bool write_pictures(const CliWindow *window, const char *scenario, const char *folder,
                           Text *names, Err *err)
{
    SessionSetup setup;
    return set_up(window, &setup, err) && pictures_write(&setup, scenario, folder, names, err);
}

static const CliFront front = {open_window, write_pictures, pdf_print};
#else
static const CliFront front = {NULL, NULL, NULL};
#endif

int main(int argc, char **argv)
{
    return cli_main(argc, argv, &front);
}
