/* Plays a script's actions into the session and draws it at the moments worth seeing. */
#include "ui/pictures.h"

#include <string.h>

#include "app/script.h"
#include "base/os.h"
#include "ui/sdl_draw.h"

/* The same luck each time gives the same pictures. */
enum { SEED = 1, PLACED = 5 };

typedef struct {
    Session *session;
    int scenario; /* its index */
    const char *folder;
    Text *names;
    AppRun *script; /* the whole run, whose actions are played again bit by bit */
    size_t at;      /* the next of its log lines */
} Studio;

/* Draw the session as it is now. */
static bool shoot(Studio *studio, const char *name, int width, int height, Err *err)
{
    static const UiEvent nothing = {.kind = UI_NOTHING};
    SdlDraw *draw = NULL;
    DrawList list = {0};
    Text path = {0};
    double canvas_width;
    double canvas_height;
    if (!sdl_draw_new(NULL, &draw, err)) return false;
    sdl_draw_fit(draw, width, height, &canvas_width, &canvas_height);
    DrawMeasure measure = sdl_draw_measure(draw);
    session_frame(studio->session, &nothing, canvas_width, canvas_height, &measure, &list);
    sdl_draw_list(draw, &list);
    text_addf(&path, "%s/%s.png", studio->folder, name);
    bool ok = sdl_draw_save(draw, path.bytes, err);
    if (ok) text_addf(studio->names, "%s\n", path.bytes);
    text_clear(&path);
    draw_free(&list);
    sdl_draw_free(draw);
    return ok;
}

/* The moments at which the play is held. */
typedef bool Moment(const Studio *studio, const LogLine *next);

/* A pack lies open on the table, the last of several pieces just placed in it. */
static bool is_mid_check(const Studio *studio, const LogLine *next)
{
    size_t count;
    int placed = 0;
    const LogLine *log = player_log(app_run_player(studio->session->run), &count);
    for (size_t i = 0; i < count; i++) {
        placed += log_is(&log[i], HAPPENING_PIECE_PLACED);
    }
    return placed == PLACED && next->is_action;
}

static bool is_question(const Studio *studio, const LogLine *next)
{
    (void)studio;
    return log_is_action(next, ACTION_ANSWER);
}

static bool is_never(const Studio *studio, const LogLine *next)
{
    (void)studio;
    (void)next;
    return false;
}

/* Do the script's actions, each at its time, up to the moment. The table shows the pack at hand. */
static void play_to(Studio *studio, Moment *moment)
{
    Session *session = studio->session;
    size_t count;
    const LogLine *log = player_log(app_run_player(studio->script), &count);
    for (; studio->at < count; studio->at++) {
        const LogLine *line = &log[studio->at];
        LogValue pack;
        bool is_number;
        if (!line->is_action) continue;
        if (moment(studio, line)) return;
        app_run_advance(session->run, line->time_us);
        session_do(session, *line);
        if (log_field(line, "pack", &pack, &is_number)) session->view.pack = (int)pack.number;
    }
    if (moment != is_never) return;
    app_run_finish(session->run);
    session_record(session);
}

static bool begin_script(Studio *studio, const char *scenario, Err *err)
{
    Session *session = studio->session;
    Text path = {0};
    Text script = {0};
    size_t stem = strlen(scenario) - strlen(".json");
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    const Work *work = session->scenarios[studio->scenario].work;
    text_addf(&path, "%s/%.*s.right.txt", text_string(&session->site_folder), (int)stem, scenario);
    bool ok = os_file_read(path.bytes, SCRIPT_BYTES_MAX, &script, err) &&
              app_run_begin(work, &setup, &studio->script, err) &&
              script_play(studio->script, path.bytes, text_string(&script), script.len, err);
    text_clear(&path);
    text_clear(&script);
    return ok;
}

/* The session's run is begun as a person would; then it gets the script's luck, and says so. */
static bool begin_run(Studio *studio, Err *err)
{
    Session *session = studio->session;
    AppRunSetup setup = {.seed = SEED, .is_scripted = true};
    AppRun *run = NULL;
    session->chosen_scenario = studio->scenario;
    session_begin_run(session, false);
    if (!app_run_begin(session->scenarios[studio->scenario].work, &setup, &run, err)) {
        return false;
    }
    app_run_free(session->run);
    session->run = run;
    return true;
}

static bool shoot_run(Studio *studio, Err *err)
{
    static const struct {
        const char *name;
        DrawTheme theme;
        int text_percent, width, height;
    } rows[] = {{"run", DRAW_LIGHT, 100, 1280, 800},
                {"run-dark", DRAW_DARK, 100, 1280, 800},
                {"run-contrast", DRAW_CONTRAST, 100, 1280, 800},
                {"run-1024x600", DRAW_LIGHT, 100, 1024, 600},
                {"run-200", DRAW_LIGHT, 200, 1280, 800}};
    Session *session = studio->session;
    bool ok = begin_run(studio, err);
    if (ok) play_to(studio, is_mid_check);
    for (size_t i = 0; ok && i < sizeof rows / sizeof rows[0]; i++) {
        session->theme = rows[i].theme;
        session->text_percent = rows[i].text_percent;
        ok = shoot(studio, rows[i].name, rows[i].width, rows[i].height, err);
    }
    session->theme = session->setup.theme;
    session->text_percent = session->setup.text_percent;
    return ok;
}

static bool shoot_all(Studio *studio, Err *err)
{
    enum { WIDTH = 1280, HEIGHT = 800 };
    if (!shoot(studio, "door", WIDTH, HEIGHT, err)) return false;
    session_enter(studio->session, 0);
    if (!shoot(studio, "home", WIDTH, HEIGHT, err)) return false;
    if (!shoot_run(studio, err)) return false;
    play_to(studio, is_question);
    if (!shoot(studio, "run-question", WIDTH, HEIGHT, err)) return false;
    play_to(studio, is_never);
    session_go(studio->session, PLACE_LOOK_BACK);
    if (!shoot(studio, "look-back", WIDTH, HEIGHT, err)) return false;
    session_go(studio->session, PLACE_BENCH);
    return shoot(studio, "bench", WIDTH, HEIGHT, err);
}

static bool find_scenario(Studio *studio, const char *file, Err *err)
{
    const Session *session = studio->session;
    for (int i = 0; i < session->scenario_count; i++) {
        if (strcmp(session->scenarios[i].file, file) != 0) continue;
        studio->scenario = i;
        return true;
    }
    return err_set(err, ERR_INPUT, "%s: no scenario of the site in %s", file,
                   text_string(&session->site_folder));
}

bool pictures_write(const SessionSetup *setup, const char *scenario, const char *folder,
                    Text *names, Err *err)
{
    Studio studio = {.folder = folder, .names = names};
    bool ok = os_folder_make(folder, err) && session_new(setup, &studio.session, err) &&
              session_open(studio.session, err) && find_scenario(&studio, scenario, err) &&
              begin_script(&studio, scenario, err) && shoot_all(&studio, err);
    app_run_free(studio.script);
    session_free(studio.session);
    return ok;
}
