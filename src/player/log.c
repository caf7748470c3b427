/* The forms of the vocabulary and their text. */
#include "player/log.h"

#include <stdio.h>
#include <string.h>

#include "scenario/scenario.h"
#include "scenario/suggest.h"

enum { SHOWN_BYTES_MAX = 64 };

typedef enum { FIELD_WORD, FIELD_NUMBER } FieldKind;

typedef struct {
    const char *name; /* NULL: no more fields */
    FieldKind kind;
    int64_t min, max;         /* of a number */
    const char *const *words; /* that a word can be, NULL-ended; NULL: any */
    bool is_optional;         /* a number that is 0, and not written, where it says nothing */
} Field;

typedef struct {
    const char *word;
    Field fields[LOG_FIELDS_MAX];
} Form;

#define WORD(name)                                                                                 \
    {                                                                                              \
        name, FIELD_WORD, 0, 0, NULL, false                                                        \
    }
#define ONE_OF(name, words)                                                                        \
    {                                                                                              \
        name, FIELD_WORD, 0, 0, words, false                                                       \
    }
#define NUMBER(name, min, max)                                                                     \
    {                                                                                              \
        name, FIELD_NUMBER, min, max, NULL, false                                                  \
    }
#define LANE(name)                                                                                 \
    {                                                                                              \
        name, FIELD_NUMBER, 1, LINE_LANES_MAX, NULL, true                                          \
    }
#define YES_NO(name) ONE_OF(name, yes_no)
#define ROLE(name) ONE_OF(name, site_role_words)
#define PACK NUMBER("pack", 1, 64)
#define ANY_PACK NUMBER("pack", 0, 64)
#define PLACE_UM(name) NUMBER(name, -5000000, 5000000)
#define ANY_NUMBER(name) NUMBER(name, -1000000000, 1000000000)

static const char *const yes_no[] = {"yes", "no", NULL};
static const char *const truths[] = {"true", "false", "ahead", NULL};
static const char *const counted[] = {"bin", "kit", NULL};
static const char *const stocks[] = {"pallet", "store", "lorry", "everything", NULL};
static const char *const abouts[] = {"check-starts", "gap",           "run", "check-good",
                                     "check-failed", "piece-missing", "bin", "program",
                                     "find",         "other",         NULL};
static const char *const signers[] = {"self", "colleague", NULL};
static const char *const searched[] = {"floor", "waste", "belt", "clothes", NULL};
static const char *const found_in[] = {"table", "bin", "floor", "waste", "belt", "clothes", NULL};
static const char *const cleaned[] = {"photo-eye", NULL};
static const char *const blocked[] = {"photo-eye", "bin-sensor", "level-sensor",
                                      "air",       "encoder",    NULL};
static const char *const looked_at[] = {"bin",  "photo-eye", "air",   "aperture", "reject",
                                        "head", "product",   "packs", "belt",     NULL};
static const char *const settings[] = {"program",       "sensitivity",   "reject-delay",
                                       "reject-stroke", "reject-device", "test-mode",
                                       "head",          "belt-speed",    NULL};
static const char *const takers[] = {"colleague", "line-leader", "supervisor", NULL};
static const char *const jobs[] = {"repair",    "restore-settings", "re-learn",
                                   "empty-bin", "release",          NULL};
static const char *const ends[] = {"done", "time", "left", NULL};

static const Form action_forms[ACTION_COUNT_OF] = {
    [ACTION_READ_PROGRAM] = {"read-program", {{0}}},
    [ACTION_SET_PROGRAM] = {"set-program", {WORD("product")}},
    [ACTION_SET_SENSITIVITY] = {"set-sensitivity", {NUMBER("percent", 10, 1000)}},
    [ACTION_INSPECT] = {"inspect", {WORD("piece")}},
    [ACTION_TAKE] = {"take", {WORD("piece")}},
    [ACTION_PUT_BACK] = {"put-back", {WORD("piece")}},
    [ACTION_MAKE_PACK] = {"make-pack", {PACK, YES_NO("marked")}},
    [ACTION_PLACE] = {"place",
                      {WORD("piece"), PACK, PLACE_UM("along_um"), PLACE_UM("across_um"),
                       PLACE_UM("up_um")}},
    [ACTION_TURN] = {"turn",
                     {WORD("piece"), NUMBER("azimuth_mdeg", -360000, 360000),
                      NUMBER("elevation_mdeg", -90000, 90000)}},
    [ACTION_FIND] = {"find", {WORD("piece")}},
    [ACTION_SEND] = {"send", {PACK, PLACE_UM("across_um"), LANE("lane")}},
    [ACTION_WATCH] = {"watch", {{0}}},
    [ACTION_FETCH] = {"fetch", {PACK}},
    [ACTION_DESTROY] = {"destroy", {PACK}},
    [ACTION_STOP] = {"stop", {{0}}},
    [ACTION_START] = {"start", {{0}}},
    [ACTION_LOCK_OFF] = {"lock-off", {{0}}},
    [ACTION_UNLOCK] = {"unlock", {{0}}},
    [ACTION_OPEN_BIN] = {"open-bin", {ROLE("by")}},
    [ACTION_CLOSE_BIN] = {"close-bin", {{0}}},
    [ACTION_COUNT] = {"count", {ONE_OF("what", counted), NUMBER("said", 0, 100000)}},
    [ACTION_HOLD] = {"hold", {WORD("from"), ONE_OF("place", stocks)}},
    [ACTION_RELEASE] = {"release", {ONE_OF("place", stocks)}},
    [ACTION_TELL] = {"tell", {ROLE("who"), ONE_OF("about", abouts)}},
    [ACTION_WRITE] = {"write", {WORD("row"), WORD("value")}},
    [ACTION_SIGN] = {"sign", {ONE_OF("as", signers)}},
    [ACTION_ANSWER] = {"answer", {WORD("choice")}},
    [ACTION_POINT] = {"point", {PLACE_UM("across_um"), PLACE_UM("up_um")}},
    [ACTION_ARRANGE] = {"arrange", {WORD("step"), NUMBER("at", 1, 8)}},
    [ACTION_NEXT] = {"next", {{0}}},
    [ACTION_LEAVE] = {"leave", {{0}}},
    [ACTION_REFUSE] = {"refuse", {WORD("piece")}},
    [ACTION_FETCH_PIECE] = {"fetch-piece", {WORD("piece")}},
    [ACTION_SEND_GOOD] = {"send-good", {LANE("lane")}},
    [ACTION_SEARCH] = {"search", {ONE_OF("place", searched)}},
    [ACTION_EXAMINE_REJECTS] = {"examine-rejects", {{0}}},
    [ACTION_KEEP_FIND] = {"keep-find", {{0}}},
    [ACTION_THROW_FIND] = {"throw-find-away", {{0}}},
    [ACTION_CLEAR_JAM] = {"clear-jam", {{0}}},
    [ACTION_CLEAN] = {"clean", {ONE_OF("what", cleaned)}},
    [ACTION_BLOCK] = {"block", {ONE_OF("what", blocked)}},
    [ACTION_UNBLOCK] = {"unblock", {ONE_OF("what", blocked)}},
    [ACTION_POWER_OFF] = {"power-off", {{0}}},
    [ACTION_POWER_ON] = {"power-on", {{0}}},
    [ACTION_RESET] = {"reset-alarm", {ONE_OF("what", site_fail_safe_words), ROLE("by")}},
    [ACTION_LOOK] = {"look", {ONE_OF("what", looked_at)}},
    [ACTION_COMPARE_SETTINGS] = {"compare-settings", {{0}}},
    [ACTION_READ_COUNTERS] = {"read-counters", {{0}}},
    [ACTION_READ_EVENTS] = {"read-events", {{0}}},
    [ACTION_LABEL] = {"label", {ONE_OF("place", scenario_stock_words)}},
    [ACTION_RE_PASS] = {"re-pass", {ONE_OF("place", scenario_stock_words)}},
    [ACTION_HAND_OVER] = {"hand-over", {ONE_OF("to", takers)}},
    [ACTION_CALL] = {"call", {ROLE("who")}},
    [ACTION_ASK] = {"ask", {ROLE("who"), ONE_OF("for", jobs)}},
};

static const Form happening_forms[HAPPENING_COUNT_OF] = {
    [HAPPENING_SCENE_BEGUN] = {"scene-begun",
                               {WORD("scene"), ONE_OF("kind", scenario_scene_words)}},
    [HAPPENING_FAULT_SET] = {"fault-set", {WORD("kind")}},
    [HAPPENING_PROGRAM_READ] = {"program-read", {WORD("product"), YES_NO("right")}},
    [HAPPENING_PROGRAM_SET] = {"program-set", {WORD("product"), YES_NO("right")}},
    [HAPPENING_SENSITIVITY_SET] = {"sensitivity-set", {NUMBER("percent", 10, 1000)}},
    [HAPPENING_PIECE_READ] = {"piece-read",
                              {WORD("piece"), WORD("metal"), ANY_NUMBER("diameter_um"),
                               ONE_OF("state", site_state_words), WORD("good_until"),
                               YES_NO("right")}},
    [HAPPENING_PIECE_TAKEN] = {"piece-taken", {WORD("piece")}},
    [HAPPENING_PIECE_PUT_BACK] = {"piece-put-back", {WORD("piece")}},
    [HAPPENING_PACK_MADE] = {"pack-made", {PACK, YES_NO("marked")}},
    [HAPPENING_PIECE_PLACED] = {"piece-placed",
                                {WORD("piece"), PACK, ONE_OF("spot", site_spot_words),
                                 ONE_OF("height", site_height_words)}},
    [HAPPENING_PIECE_TURNED] = {"piece-turned", {WORD("piece")}},
    [HAPPENING_PIECE_FOUND] = {"piece-found", {WORD("piece"), PACK, ONE_OF("from", found_in)}},
    [HAPPENING_PACK_SENT] = {"pack-sent",
                             {PACK, ANY_NUMBER("pieces"), YES_NO("proven"), LANE("lane")}},
    [HAPPENING_PIECE_SENT] = {"piece-sent",
                              {PACK, WORD("piece"), WORD("metal"), ONE_OF("spot", site_spot_words),
                               ONE_OF("height", site_height_words), YES_NO("centre"),
                               YES_NO("right"), YES_NO("program_right"), LANE("lane")}},
    [HAPPENING_PACK_ON_BELT] = {"pack-on-belt", {PACK}},
    [HAPPENING_JUDGED] = {"judged", {ANY_PACK, YES_NO("found"), ANY_NUMBER("ratio_milli")}},
    [HAPPENING_ALARM] = {"alarm", {ANY_PACK}},
    [HAPPENING_BLOW] = {"blow", {LANE("lane")}},
    [HAPPENING_REMOVED] = {"removed",
                           {ANY_PACK, ANY_NUMBER("pieces"), YES_NO("seen"), LANE("lane"),
                            LANE("beside")}},
    [HAPPENING_BLOW_IN_GAP] = {"blow-in-gap", {LANE("lane")}},
    [HAPPENING_BIN_FULL] = {"bin-full", {ANY_PACK}},
    [HAPPENING_ACCEPTED] = {"accepted", {PACK, ANY_NUMBER("pieces"), YES_NO("seen"), LANE("lane")}},
    [HAPPENING_ON_PALLET] = {"on-pallet", {PACK}},
    [HAPPENING_GOOD_RUN] = {"good-run", {ANY_NUMBER("packs")}},
    [HAPPENING_WATCHING] = {"watching", {{0}}},
    [HAPPENING_PACK_FETCHED] = {"pack-fetched", {PACK, ANY_NUMBER("pieces"), WORD("from")}},
    [HAPPENING_PACK_DESTROYED] = {"pack-destroyed", {PACK, ANY_NUMBER("pieces")}},
    [HAPPENING_LINE_STOPPED] = {"line-stopped", {{0}}},
    [HAPPENING_LINE_STARTED] = {"line-started", {{0}}},
    [HAPPENING_LOCKED_OFF] = {"locked-off", {{0}}},
    [HAPPENING_UNLOCKED] = {"unlocked", {{0}}},
    [HAPPENING_FEED_STOPPED] = {"feed-stopped", {{0}}},
    [HAPPENING_FEED_STARTED] = {"feed-started", {{0}}},
    [HAPPENING_BIN_OPENED] = {"bin-opened", {ROLE("by"), ANY_NUMBER("packs"), YES_NO("agreed")}},
    [HAPPENING_BIN_CLOSED] = {"bin-closed", {{0}}},
    [HAPPENING_COUNTED] = {"counted",
                           {ONE_OF("what", counted), ANY_NUMBER("said"), ANY_NUMBER("is")}},
    [HAPPENING_HELD] = {"held",
                        {WORD("from"), ONE_OF("place", stocks), YES_NO("early_enough"),
                         YES_NO("complete")}},
    [HAPPENING_RELEASED] = {"released", {ONE_OF("place", stocks), YES_NO("authority")}},
    [HAPPENING_STOCK_LEFT] = {"stock-left",
                              {ONE_OF("place", scenario_stock_words), ANY_NUMBER("packs")}},
    [HAPPENING_TOLD] = {"told", {ROLE("who"), ONE_OF("about", abouts)}},
    [HAPPENING_ROW_WRITTEN] = {"row-written",
                               {WORD("row"), WORD("value"), ONE_OF("truth", truths),
                                YES_NO("again")}},
    [HAPPENING_ROW_STALE] = {"row-stale", {WORD("row"), WORD("value"), ONE_OF("truth", truths)}},
    [HAPPENING_SIGNED] = {"signed", {ONE_OF("as", signers), ANY_NUMBER("rows")}},
    [HAPPENING_ANSWERED] = {"answered",
                            {WORD("scene"), WORD("choice"), YES_NO("right"), WORD("mistake")}},
    [HAPPENING_ARRANGED] = {"arranged", {WORD("step"), ANY_NUMBER("at")}},
    [HAPPENING_ROW_CORRECTED] = {"row-corrected", {WORD("row"), WORD("value")}},
    [HAPPENING_REACHED_IN] = {"reached-in", {WORD("what")}},
    [HAPPENING_NOT_POSSIBLE] = {"not-possible", {WORD("why")}},
    [HAPPENING_RUN_ENDED] = {"run-ended", {ONE_OF("why", ends)}},
    [HAPPENING_BLOW_WEAK] = {"blow-weak", {ANY_PACK}},
    [HAPPENING_FELL] = {"fell-on-floor", {ANY_PACK, ANY_NUMBER("pieces"), YES_NO("seen")}},
    [HAPPENING_JAMMED] = {"jammed", {ANY_PACK}},
    [HAPPENING_ESCAPED] = {"metal-escaped", {ANY_NUMBER("find")}},
    [HAPPENING_ALARM_RAISED] = {"alarm-raised", {ONE_OF("what", site_fail_safe_words)}},
    [HAPPENING_ALARM_RESET] = {"alarm-reset",
                               {ONE_OF("what", site_fail_safe_words), ROLE("by"),
                                YES_NO("agreed")}},
    [HAPPENING_PIECE_REFUSED] = {"piece-refused", {WORD("piece"), YES_NO("right")}},
    [HAPPENING_PIECE_FETCHED] = {"piece-fetched", {WORD("piece"), YES_NO("right")}},
    [HAPPENING_PIECE_FELL] = {"piece-fell", {WORD("piece"), PACK}},
    [HAPPENING_GOOD_PACK_SENT] = {"good-pack-sent", {LANE("lane")}},
    [HAPPENING_SEARCHED] = {"searched", {ONE_OF("place", searched), ANY_NUMBER("pieces")}},
    [HAPPENING_REJECTS_EXAMINED] = {"rejects-examined", {ANY_NUMBER("packs"), ANY_NUMBER("finds")}},
    [HAPPENING_FIND_KEPT] = {"find-kept", {ANY_NUMBER("finds")}},
    [HAPPENING_FIND_THROWN_AWAY] = {"find-thrown-away", {ANY_NUMBER("finds")}},
    [HAPPENING_JAM_CLEARED] = {"jam-cleared", {ANY_NUMBER("packs")}},
    [HAPPENING_CLEANED] = {"cleaned", {ONE_OF("what", cleaned)}},
    [HAPPENING_BLOCKED] = {"blocked", {ONE_OF("what", blocked)}},
    [HAPPENING_UNBLOCKED] = {"unblocked", {ONE_OF("what", blocked)}},
    [HAPPENING_POWER_LOST] = {"power-lost", {{0}}},
    [HAPPENING_POWER_RETURNED] = {"power-returned", {{0}}},
    [HAPPENING_LOOKED] = {"looked", {ONE_OF("what", looked_at), WORD("is")}},
    [HAPPENING_SETTING_READ] = {"setting-read", {ONE_OF("what", settings), YES_NO("agrees")}},
    [HAPPENING_COUNTERS_READ] = {"counters-read", {ANY_NUMBER("passed"), ANY_NUMBER("blown")}},
    [HAPPENING_EVENT_READ] = {"event-read",
                              {WORD("what"), ANY_NUMBER("seconds_ago"), WORD("reset_by")}},
    [HAPPENING_LABELLED] = {"labelled", {ONE_OF("place", scenario_stock_words)}},
    [HAPPENING_RE_PASSED] = {"re-passed",
                             {ONE_OF("place", scenario_stock_words), YES_NO("verified")}},
    [HAPPENING_HANDED_OVER] = {"handed-over", {ONE_OF("to", takers), ANY_NUMBER("pieces_out")}},
    [HAPPENING_CALLED] = {"called", {ROLE("who")}},
    [HAPPENING_CAME] = {"came", {ROLE("who")}},
    [HAPPENING_ASKED] = {"asked", {ROLE("who"), ONE_OF("for", jobs)}},
    [HAPPENING_DECLINED] = {"declined", {ROLE("who"), ONE_OF("for", jobs)}},
    [HAPPENING_REPAIRED] = {"repaired", {WORD("fault"), ROLE("by")}},
    [HAPPENING_SETTINGS_RESTORED] = {"settings-restored", {ROLE("by")}},
    [HAPPENING_RE_LEARNED] = {"re-learned", {WORD("product"), ROLE("by")}},
    [HAPPENING_BIN_EMPTIED] = {"bin-emptied", {ANY_NUMBER("packs"), ROLE("by")}},
};

static const Form *form_of(const LogLine *line)
{
    int count = line->is_action ? (int)ACTION_COUNT_OF : (int)HAPPENING_COUNT_OF;
    CHECK(line->kind >= 0 && line->kind < count);
    return line->is_action ? &action_forms[line->kind] : &happening_forms[line->kind];
}

/* The index of a field, -1 for none of that name. */
static int field_index(const Form *form, const char *name, size_t len)
{
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        if (strlen(form->fields[i].name) == len && memcmp(form->fields[i].name, name, len) == 0) {
            return i;
        }
    }
    return -1;
}

static bool is_word(const char *text)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                                  "-_.:/";
    size_t len = strspn(text, letters);
    return len >= 1 && len < LOG_WORD_BYTES && text[len] == '\0';
}

LogLine log_action(ActionKind kind, int64_t time_us)
{
    return (LogLine){.is_action = true, .kind = (int)kind, .time_us = time_us};
}

LogLine log_happening(HappeningKind kind, int64_t time_us)
{
    return (LogLine){.is_action = false, .kind = (int)kind, .time_us = time_us};
}

void log_set_number(LogLine *line, const char *field, int64_t number)
{
    const Form *form = form_of(line);
    int index = field_index(form, field, strlen(field));
    CHECK(index >= 0 && form->fields[index].kind == FIELD_NUMBER);
    const Field *set = &form->fields[index];
    CHECK((number >= set->min && number <= set->max) || (set->is_optional && number == 0));
    line->values[index].number = number;
}

void log_set_word(LogLine *line, const char *field, const char *word)
{
    const Form *form = form_of(line);
    int index = field_index(form, field, strlen(field));
    CHECK(index >= 0 && form->fields[index].kind == FIELD_WORD && is_word(word));
    memcpy(line->values[index].word, word, strlen(word) + 1);
}

int64_t log_number(const LogLine *line, const char *field)
{
    int index = field_index(form_of(line), field, strlen(field));
    CHECK(index >= 0 && form_of(line)->fields[index].kind == FIELD_NUMBER);
    return line->values[index].number;
}

const char *log_word(const LogLine *line, const char *field)
{
    int index = field_index(form_of(line), field, strlen(field));
    CHECK(index >= 0 && form_of(line)->fields[index].kind == FIELD_WORD);
    return line->values[index].word;
}

bool log_field(const LogLine *line, const char *field, LogValue *value, bool *is_number)
{
    int index = field_index(form_of(line), field, strlen(field));
    if (index < 0) return false;
    *value = line->values[index];
    *is_number = form_of(line)->fields[index].kind == FIELD_NUMBER;
    return true;
}

const char *log_field_name(const LogLine *line, int index)
{
    return index < LOG_FIELDS_MAX ? form_of(line)->fields[index].name : NULL;
}

const char *const *log_field_words(const LogLine *line, const char *field)
{
    int index = field_index(form_of(line), field, strlen(field));
    CHECK(index >= 0);
    return form_of(line)->fields[index].words;
}

bool log_is_action(const LogLine *line, ActionKind kind)
{
    return line->is_action && line->kind == (int)kind;
}

bool log_is(const LogLine *line, HappeningKind kind)
{
    return !line->is_action && line->kind == (int)kind;
}

const char *log_action_word(ActionKind kind)
{
    return action_forms[kind].word;
}

const char *log_happening_word(HappeningKind kind)
{
    return happening_forms[kind].word;
}

void log_print(const LogLine *line, Text *out)
{
    const Form *form = form_of(line);
    text_addf(out, "%lld %s %s", (long long)line->time_us, line->is_action ? ">" : "<", form->word);
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        if (form->fields[i].is_optional && line->values[i].number == 0) continue;
        if (form->fields[i].kind == FIELD_NUMBER) {
            text_addf(out, " %s=%lld", form->fields[i].name, (long long)line->values[i].number);
        } else {
            text_addf(out, " %s=%s", form->fields[i].name, line->values[i].word);
        }
    }
}

/* --- Reading --------------------------------------------------------------------------------- */

/* Words of one text, one after the other, with the column of each. */
typedef struct {
    const char *at;
    const char *start; /* of the whole text */
    ErrPlace place;    /* of the whole text */
    char word[LOG_LINE_BYTES_MAX];
    ErrPlace word_place;
} Words;

/* The next word; an empty one at the end. */
static bool next_word(Words *words, Err *err)
{
    words->at += strspn(words->at, " \t");
    size_t len = strcspn(words->at, " \t");
    words->word_place = words->place;
    words->word_place.column += (int)(words->at - words->start);
    if (len >= sizeof words->word) {
        return err_at(err, words->word_place, "a word of %zu bytes, limit %d", len,
                      LOG_LINE_BYTES_MAX - 1);
    }
    memcpy(words->word, words->at, len);
    words->word[len] = '\0';
    words->at += len;
    return true;
}

/* At most 64 bytes of a text, cut between characters, for a message. */
static int shown(const char *text)
{
    size_t len = strlen(text);
    if (len <= SHOWN_BYTES_MAX) return (int)len;
    len = SHOWN_BYTES_MAX;
    while (len > 0 && ((unsigned char)text[len] & 0xc0) == 0x80) {
        len--;
    }
    return (int)len;
}

/* The kind whose word this is, within one of the two tables. */
static int kind_named(const Form *forms, int count, const char *word)
{
    for (int i = 0; i < count; i++) {
        if (strcmp(forms[i].word, word) == 0) return i;
    }
    return -1;
}

static bool unknown_word(const Words *words, bool is_action, bool is_happening, Err *err)
{
    const char *what = !is_happening ? "action" : is_action ? "action or happening" : "happening";
    const char *known[ACTION_COUNT_OF + HAPPENING_COUNT_OF + 1] = {NULL};
    int count = 0;
    if (words->word[0] == '\0') return err_at(err, words->word_place, "there is no %s here", what);
    for (int i = 0; is_action && i < ACTION_COUNT_OF; i++) {
        known[count++] = action_forms[i].word;
    }
    for (int i = 0; is_happening && i < HAPPENING_COUNT_OF; i++) {
        known[count++] = happening_forms[i].word;
    }
    const char *near = suggest_word(words->word, known);
    return err_at(err, words->word_place, "\"%.*s\" is no %s%s%s%s", shown(words->word),
                  words->word, what, near == NULL ? "" : "; the nearest is \"",
                  near == NULL ? "" : near, near == NULL ? "" : "\"");
}

static bool read_value(const Words *words, const Field *field, const char *text, LogValue *out,
                       Err *err)
{
    if (field->kind == FIELD_WORD) {
        if (!is_word(text)) {
            return err_at(err, words->word_place,
                          "%s is \"%.*s\", must be 1 to %d letters, digits or - _ . : /",
                          field->name, shown(text), text, LOG_WORD_BYTES - 1);
        }
        memcpy(out->word, text, strlen(text) + 1);
        return true;
    }
    int64_t number;
    if (!text_to_int(text, &number)) {
        return err_at(err, words->word_place,
                      "%s is \"%.*s\", must be a whole number, limit %lld..%lld", field->name,
                      shown(text), text, (long long)field->min, (long long)field->max);
    }
    if (number < field->min || number > field->max) {
        return err_at(err, words->word_place, "%s is %lld, limit %lld..%lld", field->name,
                      (long long)number, (long long)field->min, (long long)field->max);
    }
    out->number = number;
    return true;
}

/* A field that the form has not; those that it has are told. */
static bool refuse_field(const Words *words, const Form *form, size_t len, Err *err)
{
    Text fields = {0};
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        text_addf(&fields, "%s%s=", i == 0 ? "" : " ", form->fields[i].name);
    }
    (void)err_at(err, words->word_place, "\"%s\" has no field \"%.*s\", but %s", form->word,
                 (int)len < shown(words->word) ? (int)len : shown(words->word), words->word,
                 fields.len == 0 ? "none" : fields.bytes);
    text_clear(&fields);
    return false;
}

/* The fields behind the word, each at most once; which ones came goes to given[]. */
static bool read_fields(Words *words, const Form *form, LogLine *out, bool given[LOG_FIELDS_MAX],
                        Err *err)
{
    for (;;) {
        if (!next_word(words, err)) return false;
        if (words->word[0] == '\0') return true;
        const char *equals = strchr(words->word, '=');
        size_t len = equals == NULL ? strlen(words->word) : (size_t)(equals - words->word);
        int index = field_index(form, words->word, len);
        if (index < 0) return refuse_field(words, form, len, err);
        if (equals == NULL) {
            return err_at(err, words->word_place, "%s has no value; there must be %s=... here",
                          words->word, words->word);
        }
        if (given[index]) {
            return err_at(err, words->word_place, "%s is given twice", form->fields[index].name);
        }
        given[index] = true;
        if (!read_value(words, &form->fields[index], equals + 1, &out->values[index], err))
            return false;
    }
}

static bool want_all_fields(const Words *words, const Form *form, const bool given[LOG_FIELDS_MAX],
                            Err *err)
{
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        if (!given[i] && !form->fields[i].is_optional) {
            return err_at(err, words->word_place, "\"%s\" needs %s=", form->word,
                          form->fields[i].name);
        }
    }
    return true;
}

/* "WORD field=value ..." with the word already read. */
static bool read_line(Words *words, LogLine *out, Err *err)
{
    bool given[LOG_FIELDS_MAX] = {false};
    const Form *forms = out->is_action ? action_forms : happening_forms;
    int count = out->is_action ? (int)ACTION_COUNT_OF : (int)HAPPENING_COUNT_OF;
    out->kind = kind_named(forms, count, words->word);
    if (out->kind < 0) return unknown_word(words, out->is_action, !out->is_action, err);
    return read_fields(words, &forms[out->kind], out, given, err) &&
           want_all_fields(words, &forms[out->kind], given, err);
}

bool log_parse(const char *text, ErrPlace place, LogLine *out, Err *err)
{
    Words words = {.at = text, .start = text, .place = place};
    LogLine line = {0};
    if (!next_word(&words, err)) return false;
    if (!text_to_int(words.word, &line.time_us) || line.time_us < 0 ||
        line.time_us > LOG_TIME_US_MAX) {
        return err_at(err, words.word_place, "time is \"%.*s\", limit 0..%lld microseconds",
                      shown(words.word), words.word, (long long)LOG_TIME_US_MAX);
    }
    if (!next_word(&words, err)) return false;
    line.is_action = strcmp(words.word, ">") == 0;
    if (!line.is_action && strcmp(words.word, "<") != 0) {
        return err_at(err, words.word_place,
                      "\"%.*s\" stands where there must be > (action) or < (happening)",
                      shown(words.word), words.word);
    }
    if (!next_word(&words, err) || !read_line(&words, &line, err)) return false;
    *out = line;
    return true;
}

bool log_parse_action(const char *text, ErrPlace place, LogLine *out, Err *err)
{
    Words words = {.at = text, .start = text, .place = place};
    LogLine line = {.is_action = true};
    if (!next_word(&words, err) || !read_line(&words, &line, err)) return false;
    *out = line;
    return true;
}

bool log_parse_pattern(const char *text, ErrPlace place, LogPattern *out, Err *err)
{
    Words words = {.at = text, .start = text, .place = place};
    LogPattern pattern = {0};
    if (!next_word(&words, err)) return false;
    pattern.want.kind = kind_named(action_forms, ACTION_COUNT_OF, words.word);
    pattern.want.is_action = pattern.want.kind >= 0;
    if (!pattern.want.is_action) {
        pattern.want.kind = kind_named(happening_forms, HAPPENING_COUNT_OF, words.word);
    }
    if (pattern.want.kind < 0) return unknown_word(&words, true, true, err);
    if (!read_fields(&words, form_of(&pattern.want), &pattern.want, pattern.given, err))
        return false;
    *out = pattern;
    return true;
}

static bool equal_values(const Field *field, const LogValue *a, const LogValue *b)
{
    return field->kind == FIELD_NUMBER ? a->number == b->number : strcmp(a->word, b->word) == 0;
}

bool log_equal(const LogLine *a, const LogLine *b)
{
    if (a->is_action != b->is_action || a->kind != b->kind || a->time_us != b->time_us)
        return false;
    const Form *form = form_of(a);
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        if (!equal_values(&form->fields[i], &a->values[i], &b->values[i])) return false;
    }
    return true;
}

bool log_matches(const LogLine *line, const LogPattern *pattern)
{
    if (line->is_action != pattern->want.is_action || line->kind != pattern->want.kind)
        return false;
    const Form *form = form_of(line);
    for (int i = 0; i < LOG_FIELDS_MAX && form->fields[i].name != NULL; i++) {
        if (pattern->given[i] &&
            !equal_values(&form->fields[i], &line->values[i], &pattern->want.values[i])) {
            return false;
        }
    }
    return true;
}
