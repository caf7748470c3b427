/* What the window remembers: which place it shows, who is here, which run is played. It holds no
 * state of a run; that is the player's, changed through app/ alone.
 */
#ifndef UI_SESSION_H
#define UI_SESSION_H

#include "app/app.h"
#include "ui/bench.h"
#include "ui/ui.h"

typedef enum { PLACE_DOOR, PLACE_HOME, PLACE_RUN, PLACE_LOOK_BACK, PLACE_BENCH, PLACE_COUNT } Place;

enum {
    SESSION_SCENARIOS_MAX = 64,
    SESSION_PEOPLE_MAX = SITE_PEOPLE_MAX,
    SESSION_LANGUAGES_MAX = 4
};

typedef struct {
    const char *assets;      /* folder of metals.json, kinds.json and texts/ */
    const char *site_folder; /* site.json and its scenarios */
    const char *store;       /* folder of the records; made when it is not there */
    const char *program;     /* version, for the records */
    DrawTheme theme;
    int text_percent; /* 100 to 200; 0: 100 */
} SessionSetup;

/* A scenario of the site, as home lists it. */
typedef struct {
    char file[128];
    char id[SITE_ID_BYTES];
    Work *work; /* owned: read once, when the window opens */
} SessionScenario;

typedef struct {
    char id[REC_ID_BYTES]; /* "" until the person is in the store */
    char name[REC_NAME_BYTES_MAX + 1];
    int site; /* index of the site's people; -1: the records alone know the person */
} SessionPerson;

/* What a puzzle of the bench waits for. */
typedef enum { PUZZLE_NONE, PUZZLE_HIDE, PUZZLE_FIND, PUZZLE_SOLVED } PuzzleStep;

/* The bench: two set-ups side by side. */
typedef struct {
    bool is_begun;     /* the first set-ups are chosen */
    bool is_modelled;  /* the model is made, or there is nothing to set up */
    BenchModel *model; /* owned; NULL: not modelled, or there is nothing to set up */
    Place set_up_from; /* the place its way back leads to, if it was set up for a pass; else the
                          door */
    BenchSide sides[BENCH_SIDES];
    bool is_single; /* one set-up is shown: sides[shown] */
    int shown;
    PuzzleStep puzzle;
    bool is_tried;          /* the puzzle's side was sent as it is now */
    int open, page;         /* the chooser that is open, and its page; 0: none */
    int tab;                /* of enlarged text */
    int sent[BENCH_SIDES];  /* packs sent since the side was changed, */
    int found[BENCH_SIDES]; /* and those that were found */
    int64_t under_way_us;   /* since the packs were sent; beyond BENCH_PASS_US they are through */
    Random random;          /* of the packs that are sent */
    const char *says;       /* key of the sentence under the title */
    double says_chance;     /* for its {0} */
    Text copied;            /* for the clipboard: the window takes it and empties it */
} Bench;

/* What the run's picture remembers of what the hands chose: no part of the run. */
typedef enum {
    TAB_TRAY,
    TAB_SHEET,
    TAB_REST,
    TAB_COUNT,
    TAB_PEOPLE,
    TAB_HOLD,
    TAB_TASK,
    TAB_COUNT_OF
} RunTab;

enum { RUN_NUMBERS = 3 };

/* What else is done at the line, as far as it is chosen. */
typedef struct {
    bool is_open;
    int deed, word; /* those chosen, from 1; 0: not yet */
    int page;
    size_t answer; /* the log line of the deed that was done; 0: none */
} RunMore;

typedef struct {
    int pack;          /* the test pack that is chosen; 0: none */
    SiteSpot spot;     /* the spot that is chosen in it */
    int height_turn;   /* lay it so many heights further than the site's drawing wants it */
    bool at_wall;      /* lay it at the pack's edge instead of its middle */
    bool pack_at_wall; /* send the pack along the guide */
    int answer;        /* the answer that is chosen, -1 for none */
    RunTab tab;        /* what lies at the right */
    int tray_page, task_page;
    int cell;                  /* the row of the sheet that is chosen, -1 for none */
    int64_t count;             /* the number on the counter */
    int64_t rest[RUN_NUMBERS]; /* those of the result's rows: bin, kit, good packs in a row */
    int about;                 /* the message that is chosen */
    RunMore more;              /* of the tab of bin and lock */
    bool is_release;           /* the hold tab releases instead */
    int64_t hold_minutes; /* the time of day it would hold from, minutes; -1: the present one */
    int page;             /* of an enlarged text: 0 table, 1 the right side, 2 the line */
    int opened_pass;      /* practice: the log line of the pass that is opened up; -1: none */
    int pass_page;        /* of an enlarged text: 0 its words, 1 the trace, 2 the map */
    int pace;             /* practice: the line's time runs so many times as fast: 1, 2 or 4 */
    int ask_page;         /* of an enlarged text: 0 the question, 1 the sheet, 2 the line */
    int ask_scene;        /* the scene that this was chosen in */
    int lane;             /* the one chosen, from 0: of the next pack and of the sheet */
    bool is_ending;       /* an assessment: asked whether to end this part */
    bool counts_itself;   /* an assessment: nobody tells what can be counted */
    bool is_leaving;      /* an assessment: asked once whether to break it off */
    int64_t last_alarm_us, last_blow_us; /* run times, for what stays visible for 2 s; -1: none */
    size_t heard;                        /* log lines whose sounds were given */
    /* With less motion: the packs on the belt as they were half a second ago at most. */
    LinePicture still[LINE_PACKS_MAX];
    int still_count;
    int64_t still_us; /* real time since then */
} RunView;

typedef struct {
    size_t chosen; /* log line shown */
    int rubric;    /* rubric line chosen */
    Player *then;  /* owned: the run played again up to that moment; NULL: not yet */
} LookBack;

/* Where something does not fit on one canvas: which part of a place is shown, and which page of its
 * list. */
typedef struct {
    int tab, page;
} Pages;

/* A run of the person who is here, as home lists it. */
typedef struct {
    int64_t time_us; /* of its record, since 1970, UTC */
    int scenario;    /* index; -1: none of this site's */
    bool is_assessment, is_scripted, is_competent;
    char reason[SITE_ID_BYTES]; /* of the verdict */
} HomeRun;

enum { HOME_RUNS_MAX = 100 };

/* Home: the person's newest runs, read again when another person or another record is there. */
typedef struct {
    bool is_read;
    int person;
    RecNumber entry;
    HomeRun runs[HOME_RUNS_MAX]; /* the newest first */
    int run_count;
    int order[SESSION_SCENARIOS_MAX]; /* the site's scenarios by their dates */
} Home;

/* What should be heard, once; taken by the window. */
typedef enum {
    SOUND_FOUND,
    SOUND_BLOW,
    SOUND_STOP,
    SOUND_START,
    SOUND_WRITTEN,
    SOUND_REFUSED,
    SOUND_COUNT
} Sound;

typedef struct {
    SessionSetup setup;
    Text assets, site_folder, store; /* owned copies of the setup's */
    Place place;
    DrawTheme theme;
    int text_percent;
    int language, language_count;
    char languages[SESSION_LANGUAGES_MAX][16]; /* BCP 47: the files of assets/texts */
    Texts *texts[SESSION_LANGUAGES_MAX];
    UiMemory memory;

    Work *site; /* owned: without a scenario */
    SessionScenario scenarios[SESSION_SCENARIOS_MAX];
    int scenario_count;
    int chosen_scenario;
    SessionPerson people[SESSION_PEOPLE_MAX];
    int people_count;
    int chosen_person; /* -1: nobody */
    Text typed;        /* the door's search */
    Records *records;

    AppRun *run; /* owned; the last one played, kept for the look back; NULL: none */
    bool is_assessment;
    bool is_recorded;
    RecNumber entry; /* of the recorded run */
    RunView view;
    LookBack look_back;
    Pages pages;
    Home home;
    Bench bench;
    bool is_calm;             /* less motion: what moves does so in steps of half a second */
    bool is_silent;           /* nothing is to be heard */
    bool sounds[SOUND_COUNT]; /* to be heard now */
    Text notice;              /* one sentence about what the disk refused; empty: none */
    bool wants_to_close;
} Session;

/* Read the texts and the site with its people: enough for a first picture of the door. The caller
 * ends *out with session_free. ERR_INPUT and ERR_IO with the file to blame. */
MUST_USE bool session_new(const SessionSetup *setup, Session **out, Err *err);

/* The rest, once, before the first event: fit the heads, read the scenarios, open the store. The
 * same errors. */
MUST_USE bool session_open(Session *session, Err *err);
void session_free(Session *session);

/* One event of the person (or UI_NOTHING), then the picture of what came of it, on a canvas of
 * width x height. */
void session_frame(Session *session, const UiEvent *event, double width, double height,
                   const DrawMeasure *measure, DrawList *out);

/* So much real time has passed: the line moves on, in practice as often as the view's pace. A step
 * over 250 ms counts as 250 ms. The log does not tell at which pace it was made. While a pass is
 * opened up the line waits. */
void session_tick(Session *session, int64_t elapsed_us);

/* True while something moves by itself. */
bool session_moves(const Session *session);

/* --- For the places -------------------------------------------------------------------------- */

/* The site, and the language in use (BCP 47); borrowed. */
const Site *session_site(const Session *session);
const char *session_language(const Session *session);

/* Go to a place; its choices begin anew, those of a run do not. */
void session_go(Session *session, Place place);

/* Begin a run of the chosen scenario, by the person who is here. */
void session_begin_run(Session *session, bool is_assessment);

/* Whether a run was left and can be taken up again; and the end of it: it is recorded as broken
 * off. */
bool session_can_go_on(const Session *session);
void session_break_off(Session *session);

/* Do an action in the run now; what can be heard of it is. */
void session_do(Session *session, LogLine action);

/* Record the run that has ended, once; a refusal of the disk goes to `notice`. */
void session_record(Session *session);

/* The person enters: added to the store at the first time. */
void session_enter(Session *session, int person);

/* The places: each draws itself and does what its widgets say. */
void place_door(Ui *ui, Session *session);
void place_home(Ui *ui, Session *session);
void place_run(Ui *ui, Session *session);
void place_look_back(Ui *ui, Session *session);
void place_bench(Ui *ui, Session *session);

/* Begin the bench if it is not, as it was left, or with a puzzle. */
void bench_open(Session *session, bool is_puzzle);

/* The bench's model, made when it is first asked for; NULL: there is nothing to set up. */
BenchModel *bench_model_of(Session *session);

/* Free what the bench keeps. */
void bench_clear(Bench *bench);

/* Set the bench up for one piece of the site in this product under this head, and go there; of
 * `lying` only where the piece lies and how it is turned is read. */
void bench_set_up(Session *session, int head, int product, const SitePiece *piece,
                  const BenchSide *lying);

/* Real time has passed; and true while a pack of the bench is on its way. */
enum { BENCH_PASS_US = 1200000 };
void bench_tick(Bench *bench, int64_t elapsed_us);
bool bench_moves(const Bench *bench);

/* The line in plan view, shared by run and look back: in `box`, at the player's moment. With less
 * motion, `is_still`, its packs are those that the view remembers. */
void line_view(Ui *ui, const Player *player, DrawRect box, const RunView *view, bool is_still);

/* What is free over the end of its belt, beside the reject device, for a button. */
DrawRect line_room_above(const Ui *ui, const Player *player, DrawRect box);

/* The same as a strip without captions, where there is no room for more. */
void line_strip(Ui *ui, const Player *player, DrawRect box, const RunView *view, bool is_still);

/* Of a place of stock (STOCK_...): whether it is drawn, and whether what stands there is held. */
bool line_has_stock(const Player *player, int place);
bool line_is_held(const Player *player, int place);

/* The line's alarms that were raised and are not reset, the newest first: words of fail-safes;
 * returns how many. Append them all as people say them; false: none. */
int line_alarms(const Player *player, const char *out[SITE_FAIL_SAFE_COUNT]);
bool line_add_alarms(const Ui *ui, const Player *player, Text *out);

/* Whether the line is isolated, with the person's own lock on it. */
bool line_is_locked_off(const Player *player);

/* Whether the reject device acted just now, and whether the head found something in the last two
 * seconds. */
bool line_has_blown(const Player *player, const RunView *view);
bool line_has_found(const Player *player, const RunView *view);

#endif
