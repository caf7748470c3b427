/* Laws of a run over the shipped scenarios, as they are and on lines that go wrong: absurd but
 * well-formed actions in random order. A failure prints the scenario and the seed.
 *
 *   test_player_laws            700 runs
 *   test_player_laws 10000      so many */
#include "support.h"

#include "app/app.h"
#include "asked.h"
#include "base/random.h"

/* The faults in place of the file's own, and whether the line has every fail-safe, which stops it
 * often; NULL: the file as it is. */
static const struct {
    const char *file, *faults;
    bool with_fail_safes;
} SCENARIOS[] = {
    {"nine-passes.json", NULL, false},
    {"the-beep.json", NULL, false},
    {"eleven-oclock.json", NULL, false},
    {"eleven-oclock.json",
     "{\"kind\": \"bin-filled\", \"packs\": 38}, {\"kind\": \"low-air\", \"blows\": 2, "
     "\"fills_one_in_ms\": 4000}, {\"kind\": \"packs-turned\", \"every\": 7}, {\"kind\": "
     "\"contaminant\", \"metal\": \"carbon-steel\", \"diameter_mm\": 2, \"at_pack\": 5}",
     true},
    {"eleven-oclock.json",
     "{\"kind\": \"jam\"}, {\"kind\": \"belt-speed\", \"percent\": 80}, {\"kind\": "
     "\"bin-unlocked\"}, {\"kind\": \"metal-in-belt\", \"metal\": \"brass\", \"diameter_mm\": 5, "
     "\"belt_mm\": 4000}, {\"kind\": \"confirmation-lost\", \"after_passes\": 2}",
     false},
    {"eleven-oclock.json",
     "{\"kind\": \"piece-falls\", \"piece\": \"FE-15-03\"}, {\"kind\": \"piece-falls\", \"piece\": "
     "\"NF-20-05\"}, {\"kind\": \"bin-missing\"}, {\"kind\": \"stroke-long\", \"stroke_ms\": "
     "1600}, {\"kind\": \"eye-dirty\", \"late_mm\": 40}, {\"kind\": \"alarm-cleared\", \"what\": "
     "\"low-air\", \"minutes_before\": 9}, {\"kind\": \"product-temperature\", \"temperature_c\": "
     "60}, {\"kind\": \"encoder-lost\", \"after_passes\": 3}",
     false},
    {"eleven-oclock.json",
     "{\"kind\": \"head-cold\", \"signal_percent\": 80, \"noise_percent\": 400}, {\"kind\": "
     "\"contaminant\", \"metal\": \"carbon-steel\", \"diameter_mm\": 0.5, \"at_pack\": 3}, "
     "{\"kind\": \"eye-blocked\", \"after_passes\": 1}, {\"kind\": \"reject-off\", "
     "\"after_passes\": 2}, {\"kind\": \"head-bypassed\", \"after_passes\": 3}",
     true},
    {"two-lanes.json", NULL, false},
    {"asked (of the tests)", NULL, false},
};
enum { SCENARIO_COUNT = 9, SHIPPED_COUNT = 8, ACTIONS_MAX = 120, US_PER_MIN = 60000000 };

/* What each test gets: the scenarios, and how many runs are wanted. */
typedef struct {
    Work *works[SCENARIO_COUNT];
    uint64_t runs;
} Ground;

/* A law of the run with that seed. */
#define assert_law(seed, holds) law_or_fail((holds), (seed), #holds)

static void law_or_fail(bool holds, uint64_t seed, const char *law)
{
    if (holds) return;
    fail_msg("%s, seed %llu: %s", SCENARIOS[seed % SCENARIO_COUNT].file, (unsigned long long)seed,
             law);
}

/* --- Random actions -------------------------------------------------------------------------- */

static int64_t spread(Random *random, int64_t low, int64_t high)
{
    return low + (int64_t)random_below(random, (uint64_t)(high - low) + 1);
}

/* One word of a list of words with a blank between two. */
static const char *pick(Random *random, const char *list, char out[LOG_WORD_BYTES])
{
    uint64_t count = 1;
    for (const char *at = list; *at != '\0'; at++) {
        count += *at == ' ';
    }
    for (uint64_t n = random_below(random, count); n > 0; n--) {
        list = strchr(list, ' ') + 1;
    }
    size_t len = strcspn(list, " ");
    memcpy(out, list, len);
    out[len] = '\0';
    return out;
}

/* Words that mean something here, and some that do not, for each field of that name. */
static const struct {
    const char *field, *words;
} WORDS[] = {
    {"piece", "FE-15-03 NF-20-05 SS-25-07 SS-45-02 FE-20-04 NF-25-02 SS-30-06 WIRE-12 FE-15-03 "
              "NF-25-02 nothing"},
    {"product", "butter-200 butter-plain-200 loaf-800 rusk-400 cheese"},
    {"marked", "yes no"},
    {"by", "line-leader quality somebody"},
    {"what", "bin kit bin kit stars photo-eye bin-sensor level-sensor air encoder power low-air "
             "bin-full bin-open reject-confirmation aperture product"},
    {"for", "repair repair repair restore-settings re-learn empty-bin release coffee"},
    {"to", "colleague supervisor ghost"},
    {"from", "04:00 10:00 06:00 23:59:59 99:99 never"},
    {"place", "pallet store lorry everything moon floor waste belt"},
    {"who", "line-leader line-leader quality maintenance maintenance maintenance warehouse "
            "food-safety-team-leader nobody"},
    {"about", "check-starts gap run run check-good check-failed piece-missing bin weather"},
    {"row", "program bin-count kit-count good-run held-from result chrome-steel/leading "
            "brass/middle result brass/middle stainless-316/trailing carbon-steel/middle "
            "gold/middle chrome-steel/top"},
    {"value", "removed missed found-not-removed not-finished good failed 0 1 3 4 6 10 butter-200 "
              "04:00 x"},
    {"as", "self colleague ghost"},
    {"step", "stop hold tell release nowhere"},
    {"choice", "so so a b weakest since-ten not-mine nothing-yet fine handy once-more perhaps"},
};

static void fill_words(Random *random, LogLine *action)
{
    char word[LOG_WORD_BYTES];
    LogValue value;
    bool is_number;
    for (size_t i = 0; i < sizeof WORDS / sizeof WORDS[0]; i++) {
        if (!log_field(action, WORDS[i].field, &value, &is_number) || is_number) continue;
        log_set_word(action, WORDS[i].field, pick(random, WORDS[i].words, word));
    }
}

static void fill_numbers(Random *random, LogLine *action)
{
    static const struct {
        const char *field;
        int64_t low, high;         /* mostly */
        int64_t far_low, far_high; /* one time in ten */
    } ranges[] = {
        {"pack", 1, 4, 1, LINE_TESTS_MAX},
        {"percent", 90, 110, 10, 1000},
        {"along_um", -50000, 50000, -5000000, 5000000},
        {"across_um", -30000, 30000, -5000000, 5000000},
        {"up_um", 0, 45000, -5000000, 5000000},
        {"azimuth_mdeg", 0, 180000, -360000, 360000},
        {"elevation_mdeg", 0, 90000, -90000, 90000},
        {"said", 0, 6, 0, 100000},
        {"at", 1, 4, 1, 8},
        {"lane", 0, 2, 1, LINE_LANES_MAX},
    };
    LogValue value;
    bool is_number;
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        if (!log_field(action, ranges[i].field, &value, &is_number) || !is_number) continue;
        bool far = random_below(random, 10) == 0;
        log_set_number(action, ranges[i].field,
                       far ? spread(random, ranges[i].far_low, ranges[i].far_high)
                           : spread(random, ranges[i].low, ranges[i].high));
    }
}

/* Hands are busy more often than the run is broken off; settings, which are computed anew, are
 * changed now and then. */
static ActionKind random_kind(Random *random)
{
    static const ActionKind often[] = {
        ACTION_TAKE,
        ACTION_TAKE,
        ACTION_TAKE,
        ACTION_PLACE,
        ACTION_PLACE,
        ACTION_PLACE,
        ACTION_SEND,
        ACTION_SEND,
        ACTION_SEND,
        ACTION_SEND,
        ACTION_FIND,
        ACTION_FETCH,
        ACTION_FETCH,
        ACTION_START,
        ACTION_START,
        ACTION_UNLOCK,
        ACTION_WRITE,
        ACTION_MAKE_PACK,
        ACTION_MAKE_PACK,
        ACTION_PUT_BACK,
        ACTION_ANSWER,
        ACTION_ANSWER,
        ACTION_NEXT,
        ACTION_RESET,
        ACTION_CALL,
        ACTION_ASK,
        ACTION_ASK,
        ACTION_OPEN_BIN,
        ACTION_EXAMINE_REJECTS,
        ACTION_KEEP_FIND,
        ACTION_UNBLOCK,
        ACTION_CLEAR_JAM,
        ACTION_HOLD,
        ACTION_TELL,
        ACTION_RE_PASS,
    };
    if (random_below(random, 3) > 0) {
        return often[random_below(random, sizeof often / sizeof often[0])];
    }
    ActionKind kind = (ActionKind)random_below(random, ACTION_COUNT_OF);
    bool seldom = kind == ACTION_LEAVE || kind == ACTION_NEXT || kind == ACTION_SET_PROGRAM ||
                  kind == ACTION_SET_SENSITIVITY || kind == ACTION_POWER_OFF;
    return seldom && random_below(random, 4) > 0 ? ACTION_WATCH : kind;
}

static int64_t random_wait_us(Random *random)
{
    switch (random_below(random, 8)) {
    case 0:
        return 0;
    case 1:
        return spread(random, 0, 20000000);
    default:
        return spread(random, 0, 2000000);
    }
}

/* A test pack that the head has just rung for, 0 for none: a hand that is quick leaves its blow
 * nothing but a gap. */
static int64_t pack_rung_for(const Player *player)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    for (size_t i = count; i > 0 && i + 4 > count; i--) {
        if (log_is(&log[i - 1], HAPPENING_ALARM)) return log_number(&log[i - 1], "pack");
    }
    return 0;
}

/* A pack on the table, one with a piece in it before all; 0: there is none. */
static int64_t pack_at_hand(const Player *player)
{
    int64_t found = 0;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        if (player_pack(player, number).is_on_table) found = number;
    }
    for (int i = 0; i < player_piece_count(player); i++) {
        PlayerPiece piece = player_piece(player, i);
        bool is_in = piece.where == PLAYER_PIECE_IN_PACK;
        if (is_in && player_pack(player, piece.pack).is_on_table) found = piece.pack;
    }
    return found;
}

/* Half of the taking, placing, finding and putting back is of a piece that is where it can be done,
 * and half of the placing and sending of a pack that is at hand. */
static void aim(const Player *player, Random *random, LogLine *action)
{
    static const struct {
        ActionKind kind;
        PlayerPieceWhere where;
    } wants[] = {{ACTION_TAKE, PLAYER_PIECE_IN_KIT},
                 {ACTION_PLACE, PLAYER_PIECE_IN_HAND},
                 {ACTION_PUT_BACK, PLAYER_PIECE_IN_HAND},
                 {ACTION_FIND, PLAYER_PIECE_IN_PACK}};
    if (random_below(random, 2) == 0) return;
    for (size_t w = 0; w < sizeof wants / sizeof wants[0]; w++) {
        if (!log_is_action(action, wants[w].kind)) continue;
        for (int i = 0; i < player_piece_count(player); i++) {
            PlayerPiece piece = player_piece(player, i);
            if (piece.where == wants[w].where) log_set_word(action, "piece", piece.piece->id);
        }
    }
    if (log_is_action(action, ACTION_ASK)) {
        static const char *const theirs[][2] = {{"maintenance", "repair"},
                                                {"quality", "restore-settings"},
                                                {"quality", "re-learn"},
                                                {"line-leader", "empty-bin"}};
        uint64_t which = random_below(random, 4);
        log_set_word(action, "who", theirs[which][0]);
        log_set_word(action, "for", theirs[which][1]);
    }
    bool of_pack = log_is_action(action, ACTION_PLACE) || log_is_action(action, ACTION_SEND);
    int64_t pack = of_pack ? pack_at_hand(player) : 0;
    if (pack != 0) log_set_number(action, "pack", pack);
}

/* How time passes between two actions: left to the action, or looked at in between. */
static void let_pass(AppRun *run, int64_t until_us, Random *pauses)
{
    while (pauses != NULL && !player_has_ended(app_run_player(run)) &&
           player_now_us(app_run_player(run)) < until_us) {
        int64_t now = player_now_us(app_run_player(run));
        int64_t to = now + spread(pauses, 1, 700000);
        if (to > until_us) to = until_us;
        if (random_below(pauses, 2) == 0 || !app_run_advance_one(run, to)) {
            app_run_advance(run, to);
        }
    }
}

/* Play random actions to the end; the same seed does the same at the same times whatever the
 * pauses. Laws that hold at every moment are checked on the way. */
static AppRun *play(const Ground *ground, uint64_t seed, Random *pauses)
{
    const Work *work = ground->works[seed % SCENARIO_COUNT];
    AppRunSetup setup = {.seed = seed, .is_scripted = true};
    AppRun *run = NULL;
    Random random;
    Err err = {0};
    random_init(&random, seed);
    if (!app_run_begin(work, &setup, &run, &err)) fail_msg("%s", err.text);
    const Player *player = app_run_player(run);
    int64_t now = 0;
    for (int64_t left = spread(&random, 1, ACTIONS_MAX); left > 0; left--) {
        int64_t rung = random_below(&random, 4) == 0 ? pack_rung_for(player) : 0;
        if (rung == 0) now += random_wait_us(&random);
        LogLine action = log_action(rung == 0 ? random_kind(&random) : ACTION_FETCH, now);
        fill_words(&random, &action);
        fill_numbers(&random, &action);
        aim(player, &random, &action);
        if (rung != 0) log_set_number(&action, "pack", rung);
        let_pass(run, now, pauses);
        if (!app_run_do(run, &action)) break;
        LineCounts counts = line_counts(player_line(player));
        assert_law(seed, counts.made == counts.good_on_belt + counts.good_in_bin +
                                            counts.good_on_pallet + counts.good_in_jam +
                                            counts.good_on_floor);
        assert_law(seed, player_now_us(player) == now);
    }
    assert_law(seed, player_now_us(player) <= work_scenario(work)->minutes * US_PER_MIN);
    let_pass(run, work_scenario(work)->minutes * US_PER_MIN, pauses);
    app_run_finish(run);
    return run;
}

/* --- What the log must say -------------------------------------------------------------------- */

/* Times never go back, and the log ends with the run's end, which is there once; it comes by an
 * action or at the time limit. */
static void check_times(uint64_t seed, const Player *player)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    int64_t limit = player_setup(player)->scenario->minutes * US_PER_MIN;
    assert_law(seed, player_has_ended(player));
    for (size_t i = 0; i < count; i++) {
        assert_law(seed, i == 0 || log[i].time_us >= log[i - 1].time_us);
        assert_law(seed, log_is(&log[i], HAPPENING_RUN_ENDED) == (i == count - 1));
    }
    const LogLine *last = &log[count - 1];
    bool by_time = strcmp(log_word(last, "why"), "time") == 0;
    assert_law(seed, last->time_us <= limit && (!by_time || last->time_us == limit));
}

/* Follow each piece by the log alone: it is in one place, and only moves from where it is. */
static void check_pieces(uint64_t seed, const Player *player)
{
    enum { KIT, HAND, GONE, ASIDE, PACK }; /* PACK + n: in pack n */
    const Scenario *scenario = player_setup(player)->scenario;
    size_t count;
    const LogLine *log = player_log(player, &count);
    int in_hand = 0;
    for (int p = 0; p < player_piece_count(player); p++) {
        const char *id = player_piece(player, p).piece->id;
        int64_t where = p < scenario->kit_count ? KIT : ASIDE; /* in the store-room */
        for (size_t i = 0; i < count; i++) {
            const LogLine *line = &log[i];
            if (log_is(line, HAPPENING_PACK_DESTROYED)) {
                if (where == PACK + log_number(line, "pack")) where = GONE;
                continue;
            }
            LogValue piece;
            bool is_number;
            if (line->is_action || !log_field(line, "piece", &piece, &is_number)) continue;
            if (strcmp(piece.word, id) != 0) continue;
            if (log_is(line, HAPPENING_PIECE_TAKEN)) {
                assert_law(seed, where == KIT);
                where = HAND;
            } else if (log_is(line, HAPPENING_PIECE_PUT_BACK)) {
                assert_law(seed, where == HAND);
                where = KIT;
            } else if (log_is(line, HAPPENING_PIECE_PLACED)) {
                assert_law(seed, where == HAND);
                where = PACK + log_number(line, "pack");
            } else if (log_is(line, HAPPENING_PIECE_FOUND)) {
                bool was_lost = where == GONE;
                assert_law(seed, was_lost || where == PACK + log_number(line, "pack"));
                where = HAND;
            } else if (log_is(line, HAPPENING_PIECE_FELL)) {
                assert_law(seed, where == PACK + log_number(line, "pack"));
                where = GONE;
            } else if (log_is(line, HAPPENING_PIECE_FETCHED)) {
                assert_law(seed, where == ASIDE);
                where = KIT;
            } else if (log_is(line, HAPPENING_PIECE_REFUSED)) {
                assert_law(seed, where == KIT || where == HAND);
                where = ASIDE;
            } else if (log_is(line, HAPPENING_PIECE_SENT)) {
                assert_law(seed, where == PACK + log_number(line, "pack"));
            }
        }
        in_hand += where == HAND;
        bool shown =
            player_piece_in_hand(player) != NULL && strcmp(player_piece_in_hand(player), id) == 0;
        assert_law(seed, shown == (where == HAND));
    }
    assert_law(seed, in_hand <= 1);
}

/* Follow each test pack: made once; sent from the table, then on the belt, judged, removed or
 * accepted; fetched from where it is; destroyed for good. */
static void check_packs(uint64_t seed, const Player *player)
{
    enum { UNMADE, TABLE, INFEED, BELT, BIN, PALLET, JAM, FLOOR, GONE };
    static const char *const places[] = {"",       "",         "infeed", "belt", "bin",
                                         "pallet", "aperture", "floor",  ""};
    size_t count;
    const LogLine *log = player_log(player, &count);
    int where[LINE_TESTS_MAX + 1] = {UNMADE};
    for (size_t i = 0; i < count; i++) {
        const LogLine *line = &log[i];
        LogValue value;
        bool is_number;
        if (line->is_action || !log_field(line, "pack", &value, &is_number)) continue;
        if (value.number == 0) continue;
        int *at = &where[value.number];
        if (log_is(line, HAPPENING_PACK_MADE)) {
            assert_law(seed, *at == UNMADE);
            *at = TABLE;
        } else if (log_is(line, HAPPENING_PACK_SENT)) {
            assert_law(seed, *at == TABLE);
            *at = INFEED;
        } else if (log_is(line, HAPPENING_PACK_ON_BELT)) {
            assert_law(seed, *at == INFEED);
            *at = BELT;
        } else if (log_is(line, HAPPENING_REMOVED)) {
            assert_law(seed, *at == BELT);
            *at = BIN;
        } else if (log_is(line, HAPPENING_ON_PALLET)) {
            assert_law(seed, *at == BELT);
            *at = PALLET;
        } else if (log_is(line, HAPPENING_JAMMED)) {
            assert_law(seed, *at == BELT);
            *at = JAM;
        } else if (log_is(line, HAPPENING_FELL)) {
            assert_law(seed, *at == BELT);
            *at = FLOOR;
        } else if (log_is(line, HAPPENING_PACK_FETCHED)) {
            assert_law(seed, strcmp(log_word(line, "from"), places[*at]) == 0);
            *at = TABLE;
        } else if (log_is(line, HAPPENING_PACK_DESTROYED)) {
            assert_law(seed, *at == TABLE || *at == BIN);
            *at = GONE;
        } else if (log_is(line, HAPPENING_JUDGED) || log_is(line, HAPPENING_ALARM) ||
                   log_is(line, HAPPENING_ACCEPTED) || log_is(line, HAPPENING_BIN_FULL) ||
                   log_is(line, HAPPENING_BLOW_WEAK)) {
            assert_law(seed, *at == BELT);
        }
    }
    LineCounts counts = line_counts(player_line(player));
    int64_t found[GONE + 1] = {0};
    for (int test = 1; test <= LINE_TESTS_MAX; test++) {
        found[where[test]]++;
    }
    assert_law(seed, found[BELT] == counts.tests_on_belt);
    assert_law(seed, found[BIN] == counts.tests_in_bin);
    assert_law(seed, found[PALLET] == counts.tests_on_pallet);
    assert_law(seed, found[JAM] == counts.tests_in_jam);
    assert_law(seed, found[FLOOR] == counts.tests_on_floor);
}

/* Follow the line by the log alone: it is locked off only while it stands, nothing starts or comes
 * under the head then, and a hand in the bin or on the belt is told right before what it does there
 * exactly when the line is not locked off. */
static void check_locks(uint64_t seed, const Player *player)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    const char *in_reach = ""; /* where the hand that was told last went */
    bool running = true;
    bool locked = false;
    bool packs_in_bin[LINE_TESTS_MAX + 1] = {false};
    for (size_t i = 0; i < count; i++) {
        const LogLine *line = &log[i];
        const char *reaches = "";
        if (line->is_action) continue;
        if (log_is(line, HAPPENING_REACHED_IN)) {
            assert_law(seed, !locked && i > 0 && log[i - 1].is_action && in_reach[0] == '\0');
            in_reach = log_word(line, "what");
            continue;
        }
        if (log_is(line, HAPPENING_LOCKED_OFF) || log_is(line, HAPPENING_UNLOCKED)) {
            assert_law(seed, !running && locked == log_is(line, HAPPENING_UNLOCKED));
            locked = !locked;
        } else if (log_is(line, HAPPENING_LINE_STARTED) || log_is(line, HAPPENING_LINE_STOPPED)) {
            assert_law(seed, !locked && running == log_is(line, HAPPENING_LINE_STOPPED));
            running = !running;
        } else if (log_is(line, HAPPENING_JUDGED) || log_is(line, HAPPENING_ON_PALLET)) {
            assert_law(seed, running);
        } else if (log_is(line, HAPPENING_REMOVED)) {
            packs_in_bin[log_number(line, "pack")] = true;
        } else if (log_is(line, HAPPENING_BIN_OPENED)) {
            reaches = "bin";
        } else if (log_is(line, HAPPENING_PIECE_FOUND)) {
            if (strcmp(log_word(line, "from"), "bin") == 0) reaches = "bin";
        } else if (log_is(line, HAPPENING_PACK_FETCHED)) {
            packs_in_bin[log_number(line, "pack")] = false;
            reaches = log_word(line, "from");
            bool within = strcmp(reaches, "bin") == 0 || strcmp(reaches, "belt") == 0 ||
                          strcmp(reaches, "aperture") == 0;
            if (!within) reaches = "";
        } else if (log_is(line, HAPPENING_PACK_DESTROYED)) {
            if (packs_in_bin[log_number(line, "pack")]) reaches = "bin";
            packs_in_bin[log_number(line, "pack")] = false;
        } else if (log_is(line, HAPPENING_SEARCHED)) {
            if (strcmp(log_word(line, "place"), "belt") == 0) reaches = "belt";
        } else if (log_is(line, HAPPENING_REJECTS_EXAMINED)) {
            reaches = "bin";
        } else if (log_is(line, HAPPENING_CLEANED)) {
            reaches = log_word(line, "what");
        } else if (log_is(line, HAPPENING_JAM_CLEARED)) {
            reaches = "aperture";
        }
        /* one hand clears the whole jam; what maintenance takes out is in nobody's danger here */
        bool is_of_jam = strcmp(reaches, "aperture") == 0;
        bool is_told = strcmp(in_reach, locked ? "" : reaches) == 0;
        assert_law(seed, is_told || (is_of_jam && in_reach[0] == '\0'));
        in_reach = "";
    }
    assert_law(seed, in_reach[0] == '\0');
}

/* The line of the log where a row was last written before line `end`; `end` when it never was. */
static size_t written_before(const LogLine *log, size_t end, const char *row)
{
    for (size_t i = end; i > 0; i--) {
        const LogLine *line = &log[i - 1];
        if (!log_is(line, HAPPENING_ROW_WRITTEN)) continue;
        if (strcmp(log_word(line, "row"), row) == 0) return i - 1;
    }
    return end;
}

/* A stale row is told between the deed of signing and the signature, once, as it was last written,
 * and never as true. What was written as untrue at the same moment is told. */
static void check_signatures(uint64_t seed, const Player *player)
{
    size_t count;
    const LogLine *log = player_log(player, &count);
    size_t deed = 0; /* the last action */
    for (size_t i = 0; i < count; i++) {
        const LogLine *line = &log[i];
        if (line->is_action) deed = i;
        if (log_is(line, HAPPENING_ROW_STALE)) {
            const char *row = log_word(line, "row");
            size_t written = written_before(log, i, row);
            assert_law(seed, log_is_action(&log[deed], ACTION_SIGN) && written < i);
            assert_law(seed,
                       strcmp(log_word(&log[written], "value"), log_word(line, "value")) == 0);
            assert_law(seed, strcmp(log_word(line, "truth"), "true") != 0);
            assert_law(seed, log_is(&log[i + 1], HAPPENING_ROW_STALE) ||
                                 log_is(&log[i + 1], HAPPENING_SIGNED));
            for (size_t other = deed + 1; other < i; other++) {
                assert_law(seed, strcmp(log_word(&log[other], "row"), row) != 0);
            }
        } else if (log_is(line, HAPPENING_SIGNED) && deed > 0 &&
                   log_is(&log[deed - 1], HAPPENING_ROW_WRITTEN)) {
            /* nothing came between the writing and the deed of signing */
            bool told = false;
            for (size_t other = deed + 1; other < i; other++) {
                told = told ||
                       strcmp(log_word(&log[other], "row"), log_word(&log[deed - 1], "row")) == 0;
            }
            bool was_true = strcmp(log_word(&log[deed - 1], "truth"), "true") == 0;
            assert_law(seed, told == !was_true);
        }
    }
}

/* --- The tests ------------------------------------------------------------------------------- */

static void parse_back(uint64_t seed, const Player *player, PlayerRun *out)
{
    Text text = {0};
    Err err = {0};
    player_print_run(player, &text);
    if (!player_parse_run("printed", text.bytes, text.len, out, &err)) fail_msg("%s", err.text);
    assert_law(seed, out->seed == seed);
    text_clear(&text);
}

/* The text parses back to the same lines, plays again the same, and scores the same. */
static void check_replay(uint64_t seed, const AppRun *run)
{
    const Player *player = app_run_player(run);
    PlayerRun stored;
    Text live = {0};
    Text again = {0};
    Text why = {0};
    Err err = {0};
    size_t count;
    bool same;
    parse_back(seed, player, &stored);
    const LogLine *log = player_log(player, &count);
    assert_law(seed, stored.count == count);
    for (size_t i = 0; i < count; i++) {
        assert_law(seed, log_equal(&stored.lines[i], &log[i]));
    }
    assert_law(seed, player_replay(player_setup(player), &stored, &same, &why, &err));
    if (!same) fail_msg("seed %llu: %s", (unsigned long long)seed, text_string(&why));
    Score score;
    app_run_score(run, &score);
    score_print(&score, &live);
    score_run(player_setup(player)->scenario, stored.lines, stored.count, &score);
    score_print(&score, &again);
    assert_law(seed, strcmp(text_string(&live), text_string(&again)) == 0);
    text_clear(&live);
    text_clear(&again);
    text_clear(&why);
    player_run_clear(&stored);
}

static void test_replay_is_live(void **state)
{
    const Ground *ground = *state;
    bool told[HAPPENING_COUNT_OF] = {false};
    for (uint64_t seed = 0; seed < ground->runs; seed++) {
        AppRun *run = play(ground, seed, NULL);
        size_t count;
        const LogLine *log = player_log(app_run_player(run), &count);
        check_times(seed, app_run_player(run));
        check_pieces(seed, app_run_player(run));
        check_packs(seed, app_run_player(run));
        check_locks(seed, app_run_player(run));
        check_signatures(seed, app_run_player(run));
        check_replay(seed, run);
        for (size_t i = 0; i < count; i++) {
            if (!log[i].is_action) told[log[i].kind] = true;
        }
        app_run_free(run);
    }
    /* The laws are worth what the runs reach: everything must have happened somewhere, but what
     * somebody does who first has to be called, to come and to be asked. */
    for (int kind = 0; ground->runs >= 700 && kind < (int)HAPPENING_REPAIRED; kind++) {
        if (!told[kind]) fail_msg("%s never happened", log_happening_word((HappeningKind)kind));
    }
}

static void test_pauses_change_nothing(void **state)
{
    const Ground *ground = *state;
    for (uint64_t seed = 0; seed < ground->runs / 10; seed++) {
        Random pauses;
        Text at_once = {0};
        Text paused = {0};
        random_init(&pauses, ~seed);
        AppRun *one = play(ground, seed, NULL);
        AppRun *two = play(ground, seed, &pauses);
        player_print_run(app_run_player(one), &at_once);
        player_print_run(app_run_player(two), &paused);
        assert_law(seed, strcmp(text_string(&at_once), text_string(&paused)) == 0);
        app_run_free(one);
        app_run_free(two);
        text_clear(&at_once);
        text_clear(&paused);
    }
}

/* Change one line of a stored run so that it is still well-formed: its text must differ. */
static bool change(Random *random, LogLine *line)
{
    static const char *const numbers[] = {"ratio_milli", "pieces", "packs", "said", "rows"};
    static const char *const words[] = {"right", "seen", "found", "piece", "why", "kind", "truth"};
    LogValue value;
    bool is_number;
    uint64_t first = random_below(random, 7);
    for (uint64_t i = 0; i < 5; i++) {
        const char *field = numbers[(first + i) % 5];
        if (!log_field(line, field, &value, &is_number) || !is_number) continue;
        log_set_number(line, field, value.number + 1);
        return true;
    }
    for (uint64_t i = 0; i < 7; i++) {
        const char *field = words[(first + i) % 7];
        if (!log_field(line, field, &value, &is_number) || is_number) continue;
        log_set_word(line, field, strcmp(value.word, "yes") == 0 ? "no" : "yes");
        return true;
    }
    return false;
}

/* A changed happening is named by its line; a changed action shows in its own line, as the log
 * played again holds what was given, or, if nothing comes of it, not at all. */
static void test_changed_happening_is_named(void **state)
{
    const Ground *ground = *state;
    int changed = 0;
    for (uint64_t seed = 0; seed < 60; seed++) {
        Random random;
        PlayerRun stored;
        Text why = {0};
        Text want = {0};
        Err err = {0};
        bool same;
        random_init(&random, seed + 77);
        AppRun *run = play(ground, seed, NULL);
        parse_back(seed, app_run_player(run), &stored);
        size_t at = (size_t)random_below(&random, stored.count);
        while (stored.lines[at].is_action) {
            at = (at + 1) % stored.count;
        }
        if (change(&random, &stored.lines[at])) {
            changed++;
            const PlayerSetup *setup = player_setup(app_run_player(run));
            assert_law(seed, player_replay(setup, &stored, &same, &why, &err));
            text_addf(&want, "line %zu of the log differs", at + 1);
            assert_law(seed, !same);
            assert_law(seed, strncmp(why.bytes, want.bytes, want.len) == 0);
        }
        text_clear(&why);
        text_clear(&want);
        player_run_clear(&stored);
        app_run_free(run);
    }
    assert_true(changed > 30);
}

/* An action moved to another time, or turned into another one, gives other answers: the first line
 * named is the action's own or one behind it, never one before. */
static void test_changed_action_is_told(void **state)
{
    const Ground *ground = *state;
    int told = 0;
    for (uint64_t seed = 0; seed < 60; seed++) {
        Random random;
        PlayerRun stored;
        Text why = {0};
        Err err = {0};
        bool same;
        random_init(&random, seed + 78);
        AppRun *run = play(ground, seed, NULL);
        parse_back(seed, app_run_player(run), &stored);
        size_t at = (size_t)random_below(&random, stored.count);
        for (size_t i = 0; i < stored.count && !stored.lines[at].is_action; i++) {
            at = (at + 1) % stored.count;
        }
        if (stored.lines[at].is_action && !log_is_action(&stored.lines[at], ACTION_LEAVE)) {
            stored.lines[at] = log_action(ACTION_LEAVE, stored.lines[at].time_us);
            const PlayerSetup *setup = player_setup(app_run_player(run));
            assert_law(seed, player_replay(setup, &stored, &same, &why, &err));
            assert_law(seed, !same);
            Text want = {0};
            text_addf(&want, "line %zu of the log differs", at + 2); /* the first answer */
            assert_law(seed, strncmp(why.bytes, want.bytes, want.len) == 0);
            text_clear(&want);
            told++;
        }
        text_clear(&why);
        player_run_clear(&stored);
        app_run_free(run);
    }
    assert_true(told > 30);
}

/* A run that fills its log ends there, and plays again to the same end. */
static void test_full_log_ends_the_run(void **state)
{
    const Ground *ground = *state;
    AppRunSetup setup = {.seed = 1, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    size_t count;
    assert_true(app_run_begin(ground->works[0], &setup, &run, &err));
    LogLine action = log_action(ACTION_READ_PROGRAM, 1000000);
    int64_t done = 0;
    while (app_run_do(run, &action)) {
        done++;
    }
    (void)player_log(app_run_player(run), &count);
    assert_true(player_has_ended(app_run_player(run)));
    assert_true(count <= LOG_LINES_MAX && count + 100 > LOG_LINES_MAX);
    assert_true(done * 2 + 100 > LOG_LINES_MAX);
    check_replay(1, run);
    app_run_free(run);
}

/* The same when the line fills it: with a tenth of the signal needed, good packs trip by
 * deviation. */
static void test_full_log_ends_a_line(void **state)
{
    const Ground *ground = *state;
    AppRunSetup setup = {.seed = 1, .is_scripted = true};
    AppRun *run = NULL;
    Err err = {0};
    size_t count = 0;
    assert_true(app_run_begin(ground->works[2], &setup, &run, &err));
    LogLine action = log_action(ACTION_SET_SENSITIVITY, 1000000);
    log_set_number(&action, "percent", 10);
    assert_true(app_run_do(run, &action));
    action = log_action(ACTION_READ_PROGRAM, 1000000);
    while (count < LOG_LINES_MAX - 100) {
        assert_true(app_run_do(run, &action));
        (void)player_log(app_run_player(run), &count);
    }
    app_run_finish(run);
    const LogLine *log = player_log(app_run_player(run), &count);
    assert_true(count <= LOG_LINES_MAX && log_is(&log[count - 1], HAPPENING_RUN_ENDED));
    assert_true(log[count - 1].time_us < INT64_C(600) * 1000000);
    check_replay(1, run);
    app_run_free(run);
}

/* A stored run that lacks its end, or holds more than was played, is not the same. */
static void test_cut_run_is_told(void **state)
{
    const Ground *ground = *state;
    AppRunSetup setup = {.seed = 1, .is_scripted = true};
    AppRun *run = NULL;
    PlayerRun stored;
    Text why = {0};
    Err err = {0};
    bool same;
    assert_true(app_run_begin(ground->works[0], &setup, &run, &err));
    LogLine action = log_action(ACTION_LEAVE, 1000000);
    assert_true(app_run_do(run, &action));
    parse_back(1, app_run_player(run), &stored);
    assert_int_equal(stored.count, 3); /* scene-begun, leave, run-ended */
    stored.count = 2;
    assert_true(player_replay(player_setup(app_run_player(run)), &stored, &same, &why, &err));
    assert_false(same);
    assert_non_null(strstr(text_string(&why), "line 3 of the log differs: stored \"\""));
    text_clear(&why);
    player_run_clear(&stored);
    app_run_free(run);
}

/* A text with `new` in place of what stands between `before` and `behind`. */
static void put_between(const Text *text, const char *before, const char *behind, const char *new,
                        Text *out)
{
    const char *from = strstr(text->bytes, before) + strlen(before);
    text_add_bytes(out, text->bytes, (size_t)(from - text->bytes));
    text_addf(out, "%s%s", new, strstr(from, behind));
}

/* The scenario as it is, or its line gone wrong and built with every fail-safe. */
static bool read_work(int index, Work **out, Err *err)
{
    Text parts[WORK_PART_COUNT] = {{0}};
    Work *plain = NULL;
    if (!work_read("assets", "scenarios/ostrel-mill", SCENARIOS[index].file, NULL, NULL, &plain,
                   err)) {
        return false;
    }
    if (SCENARIOS[index].faults == NULL) {
        *out = plain;
        return true;
    }
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        const Text *part = work_part(plain, (WorkPart)i);
        if (i == WORK_SITE && SCENARIOS[index].with_fail_safes) {
            put_between(part, "\"lanes\": 1", ",",
                        ", \"fail_safes\": [\"reject-confirmation\", \"bin-full\", "
                        "\"bin-open\", \"low-air\", \"photo-eye\", \"encoder\", "
                        "\"power\"]",
                        &parts[i]);
        } else if (i == WORK_SCENARIO) {
            put_between(part, "\"faults\": [", "],", SCENARIOS[index].faults, &parts[i]);
        } else {
            text_add_bytes(&parts[i], part->bytes, part->len);
        }
    }
    bool ok = work_from_texts(parts, out, err);
    for (int i = 0; i < WORK_PART_COUNT; i++) {
        text_clear(&parts[i]);
    }
    work_free(plain);
    return ok;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_replay_is_live),
        cmocka_unit_test(test_pauses_change_nothing),
        cmocka_unit_test(test_changed_happening_is_named),
        cmocka_unit_test(test_changed_action_is_told),
        cmocka_unit_test(test_full_log_ends_the_run),
        cmocka_unit_test(test_full_log_ends_a_line),
        cmocka_unit_test(test_cut_run_is_told),
    };
    struct CMUnitTest with_ground[sizeof tests / sizeof tests[0]];
    Ground ground = {.runs = 700};
    int64_t runs;
    if (argc > 1 && text_to_int(argv[1], &runs) && runs > 0) ground.runs = (uint64_t)runs;
    ground.works[SHIPPED_COUNT] = asked_work(ASKED);
    for (int i = 0; i < SHIPPED_COUNT; i++) {
        Err err = {0};
        if (!read_work(i, &ground.works[i], &err)) {
            print_error("%s\n", err.text);
            return 1;
        }
    }
    for (size_t i = 0; i < sizeof tests / sizeof tests[0]; i++) {
        with_ground[i] = tests[i];
        with_ground[i].initial_state = &ground;
    }
    int failed = cmocka_run_group_tests(with_ground, NULL, NULL);
    for (int i = 0; i < SCENARIO_COUNT; i++) {
        work_free(ground.works[i]);
    }
    return failed;
}
