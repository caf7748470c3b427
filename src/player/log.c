/* The forms of the vocabulary and their text. */
#include "player/log.h"

#include <stdio.h>
#include <string.h>

enum { SHOWN_BYTES_MAX = 64 };

typedef enum { FIELD_WORD, FIELD_NUMBER } FieldKind;

typedef struct {
    const char *name; /* NULL: no more fields */
    FieldKind kind;
    int64_t min, max; /* of a number */
} Field;

typedef struct {
    const char *word;
    Field fields[LOG_FIELDS_MAX];
} Form;

#define WORD(name)                                                                                 \
    {                                                                                              \
        name, FIELD_WORD, 0, 0                                                                     \
    }
#define NUMBER(name, min, max)                                                                     \
    {                                                                                              \
        name, FIELD_NUMBER, min, max                                                               \
    }
#define PACK NUMBER("pack", 1, 64)
#define ANY_PACK NUMBER("pack", 0, 64)
#define PLACE_UM(name) NUMBER(name, -5000000, 5000000)
#define ANY_NUMBER(name) NUMBER(name, -1000000000, 1000000000)

static const Form action_forms[ACTION_COUNT_OF] = {
    [ACTION_READ_PROGRAM] = {"read-program", {{0}}},
    [ACTION_SET_PROGRAM] = {"set-program", {WORD("product")}},
    [ACTION_SET_SENSITIVITY] = {"set-sensitivity", {NUMBER("percent", 10, 1000)}},
    [ACTION_INSPECT] = {"inspect", {WORD("piece")}},
    [ACTION_TAKE] = {"take", {WORD("piece")}},
    [ACTION_PUT_BACK] = {"put-back", {WORD("piece")}},
    [ACTION_MAKE_PACK] = {"make-pack", {PACK, WORD("marked")}},
    [ACTION_PLACE] = {"place",
                      {WORD("piece"), PACK, PLACE_UM("along_um"), PLACE_UM("across_um"),
                       PLACE_UM("up_um")}},
    [ACTION_TURN] = {"turn",
                     {WORD("piece"), NUMBER("azimuth_mdeg", -360000, 360000),
                      NUMBER("elevation_mdeg", -90000, 90000)}},
    [ACTION_FIND] = {"find", {WORD("piece")}},
    [ACTION_SEND] = {"send", {PACK, PLACE_UM("across_um")}},
    [ACTION_WATCH] = {"watch", {{0}}},
    [ACTION_FETCH] = {"fetch", {PACK}},
    [ACTION_DESTROY] = {"destroy", {PACK}},
    [ACTION_STOP] = {"stop", {{0}}},
    [ACTION_START] = {"start", {{0}}},
    [ACTION_LOCK_OFF] = {"lock-off", {{0}}},
    [ACTION_UNLOCK] = {"unlock", {{0}}},
    [ACTION_OPEN_BIN] = {"open-bin", {WORD("by")}},
    [ACTION_CLOSE_BIN] = {"close-bin", {{0}}},
    [ACTION_COUNT] = {"count", {WORD("what"), NUMBER("said", 0, 100000)}},
    [ACTION_HOLD] = {"hold", {WORD("from"), WORD("place")}},
    [ACTION_RELEASE] = {"release", {WORD("place")}},
    [ACTION_TELL] = {"tell", {WORD("who"), WORD("about")}},
    [ACTION_WRITE] = {"write", {WORD("row"), WORD("value")}},
    [ACTION_SIGN] = {"sign", {WORD("as")}},
    [ACTION_ANSWER] = {"answer", {WORD("choice")}},
    [ACTION_POINT] = {"point", {PLACE_UM("across_um"), PLACE_UM("up_um")}},
    [ACTION_ARRANGE] = {"arrange", {WORD("step"), NUMBER("at", 1, 8)}},
    [ACTION_NEXT] = {"next", {{0}}},
    [ACTION_LEAVE] = {"leave", {{0}}},
    [ACTION_REFUSE] = {"refuse", {WORD("piece")}},
    [ACTION_FETCH_PIECE] = {"fetch-piece", {WORD("piece")}},
    [ACTION_SEND_GOOD] = {"send-good", {{0}}},
    [ACTION_SEARCH] = {"search", {WORD("place")}},
    [ACTION_EXAMINE_REJECTS] = {"examine-rejects", {{0}}},
    [ACTION_KEEP_FIND] = {"keep-find", {{0}}},
    [ACTION_THROW_FIND] = {"throw-find-away", {{0}}},
    [ACTION_CLEAR_JAM] = {"clear-jam", {{0}}},
    [ACTION_CLEAN] = {"clean", {WORD("what")}},
    [ACTION_BLOCK] = {"block", {WORD("what")}},
    [ACTION_UNBLOCK] = {"unblock", {WORD("what")}},
    [ACTION_POWER_OFF] = {"power-off", {{0}}},
    [ACTION_POWER_ON] = {"power-on", {{0}}},
    [ACTION_RESET] = {"reset-alarm", {WORD("what"), WORD("by")}},
    [ACTION_LOOK] = {"look", {WORD("what")}},
    [ACTION_COMPARE_SETTINGS] = {"compare-settings", {{0}}},
    [ACTION_READ_COUNTERS] = {"read-counters", {{0}}},
    [ACTION_READ_EVENTS] = {"read-events", {{0}}},
    [ACTION_LABEL] = {"label", {WORD("place")}},
    [ACTION_RE_PASS] = {"re-pass", {WORD("place")}},
    [ACTION_HAND_OVER] = {"hand-over", {WORD("to")}},
    [ACTION_CALL] = {"call", {WORD("who")}},
    [ACTION_ASK] = {"ask", {WORD("who"), WORD("for")}},
};

static const Form happening_forms[HAPPENING_COUNT_OF] = {
    [HAPPENING_SCENE_BEGUN] = {"scene-begun", {WORD("scene"), WORD("kind")}},
    [HAPPENING_FAULT_SET] = {"fault-set", {WORD("kind")}},
    [HAPPENING_PROGRAM_READ] = {"program-read", {WORD("product"), WORD("right")}},
    [HAPPENING_PROGRAM_SET] = {"program-set", {WORD("product"), WORD("right")}},
    [HAPPENING_SENSITIVITY_SET] = {"sensitivity-set", {NUMBER("percent", 10, 1000)}},
    [HAPPENING_PIECE_READ] = {"piece-read",
                              {WORD("piece"), WORD("metal"), ANY_NUMBER("diameter_um"),
                               WORD("state"), WORD("good_until"), WORD("right")}},
    [HAPPENING_PIECE_TAKEN] = {"piece-taken", {WORD("piece")}},
    [HAPPENING_PIECE_PUT_BACK] = {"piece-put-back", {WORD("piece")}},
    [HAPPENING_PACK_MADE] = {"pack-made", {PACK, WORD("marked")}},
    [HAPPENING_PIECE_PLACED] = {"piece-placed",
                                {WORD("piece"), PACK, WORD("spot"), WORD("height")}},
    [HAPPENING_PIECE_TURNED] = {"piece-turned", {WORD("piece")}},
    [HAPPENING_PIECE_FOUND] = {"piece-found", {WORD("piece"), PACK, WORD("from")}},
    [HAPPENING_PACK_SENT] = {"pack-sent", {PACK, ANY_NUMBER("pieces"), WORD("proven")}},
    [HAPPENING_PIECE_SENT] = {"piece-sent",
                              {PACK, WORD("piece"), WORD("metal"), WORD("spot"), WORD("height"),
                               WORD("centre"), WORD("right"), WORD("program_right")}},
    [HAPPENING_PACK_ON_BELT] = {"pack-on-belt", {PACK}},
    [HAPPENING_JUDGED] = {"judged", {ANY_PACK, WORD("found"), ANY_NUMBER("ratio_milli")}},
    [HAPPENING_ALARM] = {"alarm", {ANY_PACK}},
    [HAPPENING_BLOW] = {"blow", {{0}}},
    [HAPPENING_REMOVED] = {"removed", {ANY_PACK, ANY_NUMBER("pieces"), WORD("seen")}},
    [HAPPENING_BLOW_IN_GAP] = {"blow-in-gap", {{0}}},
    [HAPPENING_BIN_FULL] = {"bin-full", {ANY_PACK}},
    [HAPPENING_ACCEPTED] = {"accepted", {PACK, ANY_NUMBER("pieces"), WORD("seen")}},
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
    [HAPPENING_BIN_OPENED] = {"bin-opened", {WORD("by"), ANY_NUMBER("packs"), WORD("agreed")}},
    [HAPPENING_BIN_CLOSED] = {"bin-closed", {{0}}},
    [HAPPENING_COUNTED] = {"counted", {WORD("what"), ANY_NUMBER("said"), ANY_NUMBER("is")}},
    [HAPPENING_HELD] = {"held",
                        {WORD("from"), WORD("place"), WORD("early_enough"), WORD("complete")}},
    [HAPPENING_RELEASED] = {"released", {WORD("place"), WORD("authority")}},
    [HAPPENING_STOCK_LEFT] = {"stock-left", {WORD("place"), ANY_NUMBER("packs")}},
    [HAPPENING_TOLD] = {"told", {WORD("who"), WORD("about")}},
    [HAPPENING_ROW_WRITTEN] = {"row-written",
                               {WORD("row"), WORD("value"), WORD("truth"), WORD("again")}},
    [HAPPENING_ROW_STALE] = {"row-stale", {WORD("row"), WORD("value"), WORD("truth")}},
    [HAPPENING_SIGNED] = {"signed", {WORD("as"), ANY_NUMBER("rows")}},
    [HAPPENING_ANSWERED] = {"answered",
                            {WORD("scene"), WORD("choice"), WORD("right"), WORD("mistake")}},
    [HAPPENING_ARRANGED] = {"arranged", {WORD("step"), ANY_NUMBER("at")}},
    [HAPPENING_ROW_CORRECTED] = {"row-corrected", {WORD("row"), WORD("value")}},
    [HAPPENING_REACHED_IN] = {"reached-in", {WORD("what")}},
    [HAPPENING_NOT_POSSIBLE] = {"not-possible", {WORD("why")}},
    [HAPPENING_RUN_ENDED] = {"run-ended", {WORD("why")}},
    [HAPPENING_BLOW_WEAK] = {"blow-weak", {ANY_PACK}},
    [HAPPENING_FELL] = {"fell-on-floor", {ANY_PACK, ANY_NUMBER("pieces"), WORD("seen")}},
    [HAPPENING_JAMMED] = {"jammed", {ANY_PACK}},
    [HAPPENING_ESCAPED] = {"metal-escaped", {ANY_NUMBER("find")}},
    [HAPPENING_ALARM_RAISED] = {"alarm-raised", {WORD("what")}},
    [HAPPENING_ALARM_RESET] = {"alarm-reset", {WORD("what"), WORD("by"), WORD("agreed")}},
    [HAPPENING_PIECE_REFUSED] = {"piece-refused", {WORD("piece"), WORD("right")}},
    [HAPPENING_PIECE_FETCHED] = {"piece-fetched", {WORD("piece"), WORD("right")}},
    [HAPPENING_PIECE_FELL] = {"piece-fell", {WORD("piece"), PACK}},
    [HAPPENING_GOOD_PACK_SENT] = {"good-pack-sent", {{0}}},
    [HAPPENING_SEARCHED] = {"searched", {WORD("place"), ANY_NUMBER("pieces")}},
    [HAPPENING_REJECTS_EXAMINED] = {"rejects-examined", {ANY_NUMBER("packs"), ANY_NUMBER("finds")}},
    [HAPPENING_FIND_KEPT] = {"find-kept", {ANY_NUMBER("finds")}},
    [HAPPENING_FIND_THROWN_AWAY] = {"find-thrown-away", {ANY_NUMBER("finds")}},
    [HAPPENING_JAM_CLEARED] = {"jam-cleared", {ANY_NUMBER("packs")}},
    [HAPPENING_CLEANED] = {"cleaned", {WORD("what")}},
    [HAPPENING_BLOCKED] = {"blocked", {WORD("what")}},
    [HAPPENING_UNBLOCKED] = {"unblocked", {WORD("what")}},
    [HAPPENING_POWER_LOST] = {"power-lost", {{0}}},
    [HAPPENING_POWER_RETURNED] = {"power-returned", {{0}}},
    [HAPPENING_LOOKED] = {"looked", {WORD("what"), WORD("is")}},
    [HAPPENING_SETTING_READ] = {"setting-read", {WORD("what"), WORD("agrees")}},
    [HAPPENING_COUNTERS_READ] = {"counters-read", {ANY_NUMBER("passed"), ANY_NUMBER("blown")}},
    [HAPPENING_EVENT_READ] = {"event-read",
                              {WORD("what"), ANY_NUMBER("seconds_ago"), WORD("reset_by")}},
    [HAPPENING_LABELLED] = {"labelled", {WORD("place")}},
    [HAPPENING_RE_PASSED] = {"re-passed", {WORD("place"), WORD("verified")}},
    [HAPPENING_HANDED_OVER] = {"handed-over", {WORD("to"), ANY_NUMBER("pieces_out")}},
    [HAPPENING_CALLED] = {"called", {WORD("who")}},
    [HAPPENING_CAME] = {"came", {WORD("who")}},
    [HAPPENING_ASKED] = {"asked", {WORD("who"), WORD("for")}},
    [HAPPENING_DECLINED] = {"declined", {WORD("who"), WORD("for")}},
    [HAPPENING_REPAIRED] = {"repaired", {WORD("fault"), WORD("by")}},
    [HAPPENING_SETTINGS_RESTORED] = {"settings-restored", {WORD("by")}},
    [HAPPENING_RE_LEARNED] = {"re-learned", {WORD("product"), WORD("by")}},
    [HAPPENING_BIN_EMPTIED] = {"bin-emptied", {ANY_NUMBER("packs"), WORD("by")}},
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
    CHECK(number >= form->fields[index].min && number <= form->fields[index].max);
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

/* The nearest word of a table, or `best` when that is as near. */
static const char *nearest(const Form *forms, int count, const char *word, const char *best)
{
    for (int i = 0; i < count; i++) {
        if (text_distance(forms[i].word, word) < text_distance(best, word)) best = forms[i].word;
    }
    return best;
}

static bool unknown_word(const Words *words, bool is_action, bool is_happening, Err *err)
{
    const char *what = !is_happening ? "action" : is_action ? "action or happening" : "happening";
    const char *best = is_action ? action_forms[0].word : happening_forms[0].word;
    if (words->word[0] == '\0') return err_at(err, words->word_place, "there is no %s here", what);
    if (is_action) best = nearest(action_forms, ACTION_COUNT_OF, words->word, best);
    if (is_happening) best = nearest(happening_forms, HAPPENING_COUNT_OF, words->word, best);
    return err_at(err, words->word_place, "\"%.*s\" is no %s; the nearest is \"%s\"",
                  shown(words->word), words->word, what, best);
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
        if (index < 0) {
            return err_at(err, words->word_place, "\"%s\" has no field \"%.*s\"", form->word,
                          (int)len < shown(words->word) ? (int)len : shown(words->word),
                          words->word);
        }
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
        if (!given[i]) {
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
