/* Needs made of patterns: seen, never, in order, for every; between a line and another, within a
 * time. */
#include "scoring/rules.h"

#include <stdio.h>
#include <string.h>

/* The patterns of one need. */
typedef struct {
    LogPattern seen, never, for_every, in_order[SCENARIO_ORDER_MAX];
    LogPattern followed_by, preceded_by, after, before, put_right;
} Parsed;

/* The lines of the log that count: from `from` up to and without `to`. */
typedef struct {
    size_t from, to;
    bool is_timed; /* the time, not a line or the log's end, ended it */
} Span;

static bool parse(const RubricPattern *pattern, LogPattern *out, Err *err)
{
    return pattern->text == NULL || log_parse_pattern(pattern->text, pattern->place, out, err);
}

static bool parse_need(const RubricNeed *need, Parsed *out, Err *err)
{
    for (int i = 0; i < need->in_order_count; i++) {
        if (!parse(&need->in_order[i], &out->in_order[i], err)) return false;
    }
    return parse(&need->seen, &out->seen, err) && parse(&need->never, &out->never, err) &&
           parse(&need->for_every, &out->for_every, err) &&
           parse(&need->followed_by, &out->followed_by, err) &&
           parse(&need->preceded_by, &out->preceded_by, err) &&
           parse(&need->after, &out->after, err) && parse(&need->before, &out->before, err) &&
           parse(&need->put_right, &out->put_right, err);
}

static const char *word_of(const LogPattern *pattern)
{
    return pattern->want.is_action ? log_action_word((ActionKind)pattern->want.kind)
                                   : log_happening_word((HappeningKind)pattern->want.kind);
}

/* A field that two lines must agree in is one that both have, and of one kind. */
static bool check_same(const RubricPattern *field, const LogPattern *every, const LogPattern *other,
                       Err *err)
{
    LogValue value;
    bool is_number[2];
    const LogPattern *patterns[] = {every, other};
    for (int i = 0; i < 2; i++) {
        if (log_field(&patterns[i]->want, field->text, &value, &is_number[i])) continue;
        return err_at(err, field->place, "\"%s\" has no field \"%s\"", word_of(patterns[i]),
                      field->text);
    }
    if (is_number[0] == is_number[1]) return true;
    return err_at(err, field->place, "\"%s\" is a number in one of \"%s\" and \"%s\" only",
                  field->text, word_of(every), word_of(other));
}

bool score_check_patterns(const RubricNeed *need, Err *err)
{
    Parsed parsed = {0};
    if (!parse_need(need, &parsed, err)) return false;
    for (int i = 0; i < need->same_count; i++) {
        const LogPattern *other =
            need->followed_by.text != NULL ? &parsed.followed_by : &parsed.preceded_by;
        if (!check_same(&need->same[i], &parsed.for_every, other, err)) return false;
    }
    return true;
}

/* --- Where it counts ------------------------------------------------------------------------- */

/* The first line from `from` up to `to` that matches; `to` when none does. */
static size_t first_match(const ScoreFacts *facts, size_t from, size_t to,
                          const LogPattern *pattern)
{
    while (from < to && !log_matches(&facts->log[from], pattern)) {
        from++;
    }
    return from;
}

/* From the first "after" to the first "before" that follows it, or to the end of the time. */
static Span span_of(const ScoreFacts *facts, const RubricNeed *need, const Parsed *parsed)
{
    Span span = {0, facts->count, false};
    if (need->after.text != NULL) span.from = first_match(facts, 0, facts->count, &parsed->after);
    if (need->before.text != NULL) {
        span.to = first_match(facts, span.from, facts->count, &parsed->before);
    }
    bool is_timed = need->within_us > 0 && need->for_every.text == NULL;
    if (!is_timed || span.from == facts->count) return span;
    int64_t end_us = facts->log[span.from].time_us + need->within_us;
    for (size_t i = span.from; i < span.to; i++) {
        if (facts->log[i].time_us > end_us) return (Span){span.from, i, true};
    }
    return span;
}

/* The line to point at when something is missing at the end of the span. */
static size_t end_of(const ScoreFacts *facts, Span span)
{
    return span.to < facts->count ? span.to : facts->count - 1;
}

/* --- The forms ------------------------------------------------------------------------------- */

/* Without its "after" there is nothing to see. */
static void judge_seen(const ScoreFacts *facts, const RubricNeed *need, const Parsed *parsed,
                       Span span, ScoreFinding *out)
{
    int64_t seen = 0;
    for (size_t i = span.from; i < span.to; i++) {
        if (!log_matches(&facts->log[i], &parsed->seen)) continue;
        seen++;
        score_support(out, i);
    }
    if (seen >= need->at_least) return;
    size_t late =
        span.is_timed ? first_match(facts, span.to, facts->count, &parsed->seen) : facts->count;
    if (late < facts->count)
        score_blame(out, SCORE_MISSED, "done-late", "", late);
    else
        score_blame(out, SCORE_MISSED, "not-done", "", end_of(facts, span));
}

static void judge_never(const ScoreFacts *facts, const Parsed *parsed, Span span, ScoreFinding *out)
{
    for (size_t i = span.from; i < span.to; i++) {
        if (!log_matches(&facts->log[i], &parsed->never)) continue;
        score_blame(out, SCORE_MISSED, "done-but-must-not-be", "", i);
    }
}

/* Each pattern on a line of its own, behind that of the one before. */
static void judge_order(const ScoreFacts *facts, const RubricNeed *need, const Parsed *parsed,
                        Span span, ScoreFinding *out)
{
    size_t from = span.from;
    for (int i = 0; i < need->in_order_count; i++) {
        size_t at = first_match(facts, from, span.to, &parsed->in_order[i]);
        if (at < span.to) {
            score_support(out, at);
            from = at + 1;
            continue;
        }
        size_t early = first_match(facts, span.from, span.to, &parsed->in_order[i]);
        size_t late = first_match(facts, span.to, facts->count, &parsed->in_order[i]);
        if (early < span.to)
            score_blame(out, SCORE_MISSED, "out-of-order", "", early);
        else if (span.is_timed && late < facts->count)
            score_blame(out, SCORE_MISSED, "done-late", "", late);
        else
            score_blame(out, SCORE_MISSED, "not-done", "", end_of(facts, span));
        return;
    }
}

static bool is_same(const LogLine *a, const LogLine *b, const RubricNeed *need)
{
    for (int i = 0; i < need->same_count; i++) {
        LogValue left, right;
        bool is_number;
        CHECK(log_field(a, need->same[i].text, &left, &is_number));
        CHECK(log_field(b, need->same[i].text, &right, &is_number));
        if (is_number ? left.number != right.number : strcmp(left.word, right.word) != 0)
            return false;
    }
    return true;
}

/* What a line is about: its first field of those that must agree. */
static void name_same(const LogLine *line, const RubricNeed *need, char about[LOG_WORD_BYTES])
{
    LogValue value;
    bool is_number;
    about[0] = '\0';
    if (need->same_count == 0) return;
    CHECK(log_field(line, need->same[0].text, &value, &is_number));
    if (is_number)
        (void)snprintf(about, LOG_WORD_BYTES, "%lld", (long long)value.number);
    else
        memcpy(about, value.word, LOG_WORD_BYTES);
}

/* The other line of line `at`, the nearest first; span.to when there is none. */
static size_t other_of(const ScoreFacts *facts, const RubricNeed *need, const Parsed *parsed,
                       Span span, size_t at)
{
    bool forward = need->followed_by.text != NULL;
    const LogPattern *pattern = forward ? &parsed->followed_by : &parsed->preceded_by;
    size_t room = forward ? span.to - at - 1 : at - span.from;
    for (size_t step = 1; step <= room; step++) {
        size_t other = forward ? at + step : at - step;
        const LogLine *line = &facts->log[other];
        if (log_matches(line, pattern) && is_same(&facts->log[at], line, need)) return other;
    }
    return span.to;
}

static void judge_every(const ScoreFacts *facts, const RubricNeed *need, const Parsed *parsed,
                        Span span, ScoreFinding *out)
{
    for (size_t i = span.from; i < span.to; i++) {
        if (!log_matches(&facts->log[i], &parsed->for_every)) continue;
        char about[LOG_WORD_BYTES];
        name_same(&facts->log[i], need, about);
        size_t other = other_of(facts, need, parsed, span, i);
        if (other == span.to) {
            score_blame(out, SCORE_MISSED, "not-done-for-each", about, i);
            continue;
        }
        int64_t apart_us = facts->log[other].time_us - facts->log[i].time_us;
        if (apart_us < 0) apart_us = -apart_us;
        if (need->within_us > 0 && apart_us > need->within_us)
            score_blame(out, SCORE_MISSED, "done-late", about, other);
        else
            score_support(out, other);
    }
}

void score_patterns(const ScoreFacts *facts, const RubricNeed *need, ScoreFinding *out)
{
    Parsed parsed = {0};
    Err err = {0};
    CHECK(parse_need(need, &parsed, &err));
    Span span = span_of(facts, need, &parsed);
    if (need->seen.text != NULL)
        judge_seen(facts, need, &parsed, span, out);
    else if (need->never.text != NULL)
        judge_never(facts, &parsed, span, out);
    else if (need->for_every.text != NULL)
        judge_every(facts, need, &parsed, span, out);
    else
        judge_order(facts, need, &parsed, span, out);
    if (out->state != SCORE_MISSED || need->put_right.text == NULL) return;
    size_t at = first_match(facts, out->evidence[0], facts->count, &parsed.put_right);
    if (at == facts->count) return;
    out->state = SCORE_RECOVERED;
    score_show(out, at);
}
