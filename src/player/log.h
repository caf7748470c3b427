/* The one vocabulary: what a person does (actions) and what the world answers (happenings), each
 * one enum with one text form. The window, scripts, the log, the rubric and the tests speak only
 * this.
 *
 * A log line reads "TIME > WORD field=value ..." for an action and "TIME < WORD field=value ..."
 * for a happening; TIME is microseconds of the run. Every field of the form is there, in the form's
 * order, but for those that a line with several lanes alone has: "lane" and "beside" are 0 and not
 * written where a line has one.
 */
#ifndef PLAYER_LOG_H
#define PLAYER_LOG_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"

enum {
    LOG_FIELDS_MAX = 9,
    LOG_WORD_BYTES = 65,       /* a word's value: letters, digits, - _ . : / */
    LOG_LINE_BYTES_MAX = 1000, /* one line of text */
    LOG_LINES_MAX = 200000,    /* one run */
    LOG_BYTES_MAX = 32 * 1024 * 1024,
};
#define LOG_TIME_US_MAX INT64_C(86400000000) /* a day */

typedef enum {
    ACTION_READ_PROGRAM,    /* read which product program runs */
    ACTION_SET_PROGRAM,     /* choose another */
    ACTION_SET_SENSITIVITY, /* the signal needed, 100 as validated */
    ACTION_INSPECT,         /* look at a piece and read its certificate */
    ACTION_TAKE,            /* a piece from the tray into the hand */
    ACTION_PUT_BACK,        /* the piece in the hand into the tray */
    ACTION_MAKE_PACK,       /* a fresh test pack on the table, marked or not */
    ACTION_PLACE,           /* the piece in the hand into a pack; micrometres from the pack's centre
                               line, its middle, and its bottom */
    ACTION_TURN,            /* a piece in the hand or on the table; thousandths of a degree: 0 0 is
                               lengthways, 90000 0 crossways, 0 90000 vertical */
    ACTION_FIND,            /* take a piece out of a pack on the table or in the open bin */
    ACTION_SEND,            /* lay a pack on the infeed, so far from the middle of its lane */
    ACTION_WATCH,           /* look at the reject device, until the hands do something else */
    ACTION_FETCH,           /* take a test pack by hand to the table, from wherever it is */
    ACTION_DESTROY,         /* a test pack that is no longer needed */
    ACTION_STOP,
    ACTION_START,
    ACTION_LOCK_OFF, /* isolate the stopped line under the own lock */
    ACTION_UNLOCK,   /* take the own lock away again */
    ACTION_OPEN_BIN, /* who turns the key */
    ACTION_CLOSE_BIN,
    ACTION_COUNT,   /* say a number: of the packs in the bin, of the pieces in the kit */
    ACTION_HOLD,    /* block what was made from a time of day on, at a place or everywhere */
    ACTION_RELEASE, /* free held stock */
    ACTION_TELL,
    ACTION_WRITE, /* a row of the check sheet, again to correct it */
    ACTION_SIGN,  /* the rows not yet signed */
    ACTION_ANSWER,
    ACTION_POINT,           /* to a place in the pack: micrometres from its middle and its bottom */
    ACTION_ARRANGE,         /* move a step to a place, from 1 */
    ACTION_NEXT,            /* this scene is done */
    ACTION_LEAVE,           /* break the run off */
    ACTION_REFUSE,          /* put a piece aside that is not to be used */
    ACTION_FETCH_PIECE,     /* another piece of the site from the store-room into the tray */
    ACTION_SEND_GOOD,       /* lay a good pack on the infeed by hand */
    ACTION_SEARCH,          /* for a piece that is missing: floor, waste, belt, clothes */
    ACTION_EXAMINE_REJECTS, /* open up the good packs in the open bin and on the floor */
    ACTION_KEEP_FIND,       /* bag and label the metal that was in them */
    ACTION_THROW_FIND,      /* throw it away */
    ACTION_CLEAR_JAM,       /* take out by hand what sticks in the aperture */
    ACTION_CLEAN,           /* wipe the photo-eye */
    ACTION_BLOCK,           /* try a fail-safe: photo-eye, bin-sensor, level-sensor, air, encoder */
    ACTION_UNBLOCK,
    ACTION_POWER_OFF,
    ACTION_POWER_ON,
    ACTION_RESET, /* an alarm of the line; by whom */
    ACTION_LOOK,  /* at the bin, photo-eye, air, aperture, reject, head, product, packs */
    ACTION_COMPARE_SETTINGS, /* with the approved sheet, one by one */
    ACTION_READ_COUNTERS,
    ACTION_READ_EVENTS, /* the line's own list of alarms and who reset them */
    ACTION_LABEL,       /* mark held stock where it stands */
    ACTION_RE_PASS,     /* have held stock sent through the line again */
    ACTION_HAND_OVER,   /* the check to somebody else */
    ACTION_CALL,        /* a person, who then comes */
    ACTION_ASK,         /* a person who has come for what is theirs to do */
    ACTION_COUNT_OF
} ActionKind;

typedef enum {
    HAPPENING_SCENE_BEGUN,
    HAPPENING_FAULT_SET,
    HAPPENING_PROGRAM_READ,
    HAPPENING_PROGRAM_SET,
    HAPPENING_SENSITIVITY_SET,
    HAPPENING_PIECE_READ,
    HAPPENING_PIECE_TAKEN,
    HAPPENING_PIECE_PUT_BACK,
    HAPPENING_PACK_MADE,
    HAPPENING_PIECE_PLACED,
    HAPPENING_PIECE_TURNED,
    HAPPENING_PIECE_FOUND,
    HAPPENING_PACK_SENT,
    HAPPENING_PIECE_SENT, /* one for each piece in the pack that was sent */
    HAPPENING_PACK_ON_BELT,
    HAPPENING_JUDGED, /* the head looked at it; a person does not see this */
    HAPPENING_ALARM,
    HAPPENING_BLOW,
    HAPPENING_REMOVED, /* pack 0 is a good pack, with pieces=1 if it had metal in it; beside=2: for
                          metal in lane 2, which the head cannot tell from its own */
    HAPPENING_BLOW_IN_GAP,
    HAPPENING_BIN_FULL,
    HAPPENING_ACCEPTED,  /* a test pack went on past the reject device */
    HAPPENING_ON_PALLET, /* it went over the belt's end, among the good packs */
    HAPPENING_GOOD_RUN,
    HAPPENING_WATCHING,
    HAPPENING_PACK_FETCHED,
    HAPPENING_PACK_DESTROYED,
    HAPPENING_LINE_STOPPED,
    HAPPENING_LINE_STARTED,
    HAPPENING_LOCKED_OFF,
    HAPPENING_UNLOCKED,
    HAPPENING_FEED_STOPPED,
    HAPPENING_FEED_STARTED,
    HAPPENING_BIN_OPENED,
    HAPPENING_BIN_CLOSED,
    HAPPENING_COUNTED,
    HAPPENING_HELD,
    HAPPENING_RELEASED,
    HAPPENING_STOCK_LEFT,
    HAPPENING_TOLD,
    HAPPENING_ROW_WRITTEN,
    HAPPENING_ROW_STALE, /* a row that is signed and is not, or not yet, what happened */
    HAPPENING_SIGNED,
    HAPPENING_ANSWERED,
    HAPPENING_ARRANGED,
    HAPPENING_ROW_CORRECTED, /* of a record that was given */
    HAPPENING_REACHED_IN,    /* a hand where things move, with the line not locked off */
    HAPPENING_NOT_POSSIBLE,
    HAPPENING_RUN_ENDED,
    HAPPENING_BLOW_WEAK,    /* the blow met a pack and had no force: it went on */
    HAPPENING_FELL,         /* a pack was blown onto the floor, as the bin is not there */
    HAPPENING_JAMMED,       /* a pack sticks in the aperture, or runs up behind one that does */
    HAPPENING_ESCAPED,      /* a good pack with metal in it went onto the pallet; not seen */
    HAPPENING_ALARM_RAISED, /* a monitor of the line stopped it */
    HAPPENING_ALARM_RESET,
    HAPPENING_PIECE_REFUSED,
    HAPPENING_PIECE_FETCHED,
    HAPPENING_PIECE_FELL, /* out of its pack, unseen */
    HAPPENING_GOOD_PACK_SENT,
    HAPPENING_SEARCHED,
    HAPPENING_REJECTS_EXAMINED,
    HAPPENING_FIND_KEPT,
    HAPPENING_FIND_THROWN_AWAY,
    HAPPENING_JAM_CLEARED,
    HAPPENING_CLEANED,
    HAPPENING_BLOCKED,
    HAPPENING_UNBLOCKED,
    HAPPENING_POWER_LOST,
    HAPPENING_POWER_RETURNED,
    HAPPENING_LOOKED,
    HAPPENING_SETTING_READ, /* one for each setting that is compared */
    HAPPENING_COUNTERS_READ,
    HAPPENING_EVENT_READ, /* one for each alarm of the list */
    HAPPENING_LABELLED,
    HAPPENING_RE_PASSED,
    HAPPENING_HANDED_OVER,
    HAPPENING_CALLED,
    HAPPENING_CAME,
    HAPPENING_ASKED,
    HAPPENING_DECLINED, /* it is not theirs, or not yet */
    HAPPENING_REPAIRED, /* one for each fault that is mended; "nothing" when there was none */
    HAPPENING_SETTINGS_RESTORED,
    HAPPENING_RE_LEARNED,
    HAPPENING_BIN_EMPTIED,
    HAPPENING_COUNT_OF
} HappeningKind;

typedef struct {
    int64_t number;            /* of a whole-number field */
    char word[LOG_WORD_BYTES]; /* of a word field */
} LogValue;

typedef struct {
    bool is_action;
    int kind; /* ActionKind or HappeningKind */
    int64_t time_us;
    LogValue values[LOG_FIELDS_MAX];
} LogLine;

/* A line of one kind with its fields still empty. */
LogLine log_action(ActionKind kind, int64_t time_us);
LogLine log_happening(HappeningKind kind, int64_t time_us);

/* Set or read a field by its name, which the form has. A word is 1 to 64 of the characters
 * above. */
void log_set_number(LogLine *line, const char *field, int64_t number);
void log_set_word(LogLine *line, const char *field, const char *word);
int64_t log_number(const LogLine *line, const char *field);
const char *log_word(const LogLine *line, const char *field);

/* A field by a name that the form may not have; false then. A number stands in value->number, a
 * word in value->word. */
bool log_field(const LogLine *line, const char *field, LogValue *value, bool *is_number);

/* The name of a field, from 0; NULL behind the last. */
const char *log_field_name(const LogLine *line, int index);

/* The words that a field of the form can hold, NULL-ended; NULL when any word may stand there, or a
 * number. A line is read with other words, too: what they do is the player's to say. */
const char *const *log_field_words(const LogLine *line, const char *field);

/* True for a line of that kind. */
bool log_is_action(const LogLine *line, ActionKind kind);
bool log_is(const LogLine *line, HappeningKind kind);

/* The word of a kind: "take", "piece-taken". */
const char *log_action_word(ActionKind kind);
const char *log_happening_word(HappeningKind kind);

/* True when both lines are the same in time, kind and every field. */
bool log_equal(const LogLine *a, const LogLine *b);

/* Append the text of a line, without an end of line. */
void log_print(const LogLine *line, Text *out);

/* Read one such text back; `place` is where it stands, for messages; column counts on from it. */
MUST_USE bool log_parse(const char *text, ErrPlace place, LogLine *out, Err *err);

/* Read an action without a time: "take piece=SS-25-07". Its time is 0. Every field must be
 * there. */
MUST_USE bool log_parse_action(const char *text, ErrPlace place, LogLine *out, Err *err);

/* A pattern over the log: a word of an action or happening and any of its fields. */
typedef struct {
    LogLine want;
    bool given[LOG_FIELDS_MAX];
} LogPattern;

/* Read "removed pack=1 seen=yes". */
MUST_USE bool log_parse_pattern(const char *text, ErrPlace place, LogPattern *out, Err *err);

/* True when the line is of the pattern's kind and equal in every field that the pattern gives. */
bool log_matches(const LogLine *line, const LogPattern *pattern);

#endif
