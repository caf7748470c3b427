/* Facts from the log, patterns, points and verdict. */
#include "scoring/rules.h"

#include <stdlib.h>
#include <string.h>

#include "scenario/suggest.h"

/* --- Findings -------------------------------------------------------------------------------- */

void score_show(ScoreFinding *finding, size_t at)
{
    for (int i = 0; i < finding->evidence_count; i++) {
        if (finding->evidence[i] == at) return;
    }
    if (finding->evidence_count == SCORE_EVIDENCE_MAX) return;
    finding->evidence[finding->evidence_count++] = at;
}

void score_blame(ScoreFinding *finding, ScoreState state, const char *reason, const char *about,
                 size_t at)
{
    if (state < finding->state) return;
    if (state > finding->state) {
        *finding = (ScoreFinding){.state = state, .reason = reason};
        CHECK(strlen(about) < sizeof finding->about);
        memcpy(finding->about, about, strlen(about) + 1);
    }
    if (strcmp(finding->reason, reason) == 0) score_show(finding, at);
}

void score_support(ScoreFinding *finding, size_t at)
{
    if (finding->state == SCORE_MET) score_show(finding, at);
}

/* --- Facts ----------------------------------------------------------------------------------- */

static void end_passes(ScoreFacts *facts, size_t at, PassEnd end, bool seen)
{
    int pack = (int)log_number(&facts->log[at], "pack");
    for (size_t i = 0; i < facts->pass_count; i++) {
        ScorePass *pass = &facts->passes[i];
        if (pass->pack != pack || pass->end != PASS_OPEN) continue;
        pass->end = end;
        pass->ended = at;
        pass->seen = seen;
        if (end == PASS_ACCEPTED && at < facts->failure) facts->failure = at;
    }
}

static bool is_yes(const LogLine *line, const char *field)
{
    return strcmp(log_word(line, field), "yes") == 0;
}

static void add_pass(ScoreFacts *facts, size_t at, const LogLine *pack)
{
    const LogLine *line = &facts->log[at];
    facts->passes = check_realloc(facts->passes, facts->pass_count + 1, sizeof *facts->passes);
    facts->passes[facts->pass_count++] = (ScorePass){.sent = at,
                                                     .ended = facts->count,
                                                     .pack = (int)log_number(line, "pack"),
                                                     .piece = log_word(line, "piece"),
                                                     .metal = log_word(line, "metal"),
                                                     .spot = log_word(line, "spot"),
                                                     .lane = (int)log_number(line, "lane"),
                                                     .centre = is_yes(line, "centre"),
                                                     .right = is_yes(line, "right"),
                                                     .program_right = is_yes(line, "program_right"),
                                                     .proven = is_yes(pack, "proven"),
                                                     .alone = log_number(pack, "pieces") == 1};
}

static void gather(ScoreFacts *facts)
{
    const LogLine *pack = NULL; /* the pack that was sent last */
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_PACK_SENT)) {
            pack = line;
        } else if (log_is(line, HAPPENING_PIECE_SENT)) {
            if (pack != NULL) add_pass(facts, i, pack);
        } else if (log_is(line, HAPPENING_JUDGED)) {
            for (size_t p = 0; p < facts->pass_count; p++) {
                ScorePass *pass = &facts->passes[p];
                bool own = pass->pack == (int)log_number(line, "pack") && pass->end == PASS_OPEN;
                if (own) pass->found = is_yes(line, "found");
            }
        } else if (log_is(line, HAPPENING_REMOVED)) {
            end_passes(facts, i, PASS_REMOVED, is_yes(line, "seen"));
            bool good_pack = log_number(line, "pack") == 0 && log_number(line, "pieces") == 0 &&
                             log_number(line, "beside") == 0;
            if (good_pack && i < facts->failure) facts->failure = i;
        } else if (log_is(line, HAPPENING_FELL)) { /* beside the bin it is in nobody's custody */
            end_passes(facts, i, PASS_ACCEPTED, is_yes(line, "seen"));
            if (i < facts->failure) facts->failure = i;
        } else if (log_is(line, HAPPENING_ACCEPTED)) {
            end_passes(facts, i, PASS_ACCEPTED, is_yes(line, "seen"));
        } else if (log_is(line, HAPPENING_PACK_FETCHED)) {
            end_passes(facts, i, PASS_CAUGHT, true);
        }
    }
}

/* A check that failed proves the line at fault and ends there, unless the person made it fail: with
 * a setting, another program, or a piece that was not what or where the plan wants it. */
static bool is_excused(const ScoreFacts *facts)
{
    if (facts->failure == facts->count) return false;
    for (size_t i = 0; i < facts->failure; i++) {
        if (log_is(&facts->log[i], HAPPENING_SENSITIVITY_SET)) return false;
    }
    for (size_t i = 0; i < facts->pass_count; i++) {
        const ScorePass *pass = &facts->passes[i];
        if (pass->ended != facts->failure) continue;
        if (!pass->right || !pass->centre || !pass->program_right || !pass->alone) return false;
    }
    return true;
}

/* --- The whole ------------------------------------------------------------------------------- */

static bool check_need(const RubricLine *line, Err *err)
{
    const char *names[RULES_MAX + 1];
    const char *rule = line->need.rule;
    Text text = {0};
    if (rule == NULL) return score_check_patterns(&line->need, err);
    if (score_rule(rule) != NULL) return true;
    score_rule_names(names);
    text_addf(&text, "rubric line \"%s\": there is no rule \"%s\"", line->id, rule);
    (void)suggest_fail(line->need.place, text.bytes, rule, names, err);
    text_clear(&text);
    return false;
}

bool score_check(const Scenario *scenario, Err *err)
{
    bool ok = true;
    for (int i = 0; i < scenario->rubric_count; i++) {
        if (check_need(&scenario->rubric[i], err)) continue;
        if (!err_goes_on(err)) return false;
        ok = false;
    }
    return ok;
}

static ScoreReason reason_of(const Score *score, const ScoreFacts *facts)
{
    const LogLine *last = facts->count == 0 ? NULL : &facts->log[facts->count - 1];
    if (last == NULL || !log_is(last, HAPPENING_RUN_ENDED)) return SCORE_UNFINISHED;
    /* What was not yet done when it was broken off is no mistake. */
    if (strcmp(log_word(last, "why"), "left") == 0) return SCORE_BROKEN_OFF;
    if (score->critical_missed > 0) return SCORE_CRITICAL_MISSED;
    if (strcmp(log_word(last, "why"), "time") == 0) return SCORE_OUT_OF_TIME;
    return score->points < score->points_needed ? SCORE_TOO_FEW_POINTS : SCORE_ALL_MET;
}

void score_run(const Scenario *scenario, const LogLine *log, size_t count, Score *out)
{
    CHECK(count > 0);
    ScoreFacts facts = {.scenario = scenario, .log = log, .count = count, .failure = count};
    gather(&facts);
    facts.excused = is_excused(&facts);
    *out = (Score){.line_count = scenario->rubric_count};
    for (int i = 0; i < scenario->rubric_count; i++) {
        ScoreLine *line = &out->lines[i];
        line->line = &scenario->rubric[i];
        line->finding.reason = "";
        const RubricNeed *need = &line->line->need;
        ScoreRule *rule = need->rule == NULL ? NULL : score_rule(need->rule);
        if (rule != NULL)
            rule(&facts, &line->finding);
        else
            score_patterns(&facts, need, &line->finding);
        bool missed = line->finding.state == SCORE_MISSED;
        line->points = missed ? 0 : line->line->points;
        out->points += line->points;
        out->points_max += line->line->points;
        if (missed && line->line->critical != 0) out->critical_missed++;
    }
    out->points_needed = (out->points_max * scenario->pass_percent + 99) / 100;
    out->reason = reason_of(out, &facts);
    out->competent = out->reason == SCORE_ALL_MET;
    free(facts.passes);
}

const char *score_state_word(ScoreState state)
{
    static const char *const words[] = {"met", "recovered", "missed"};
    return words[state];
}

const char *score_reason_word(ScoreReason reason)
{
    static const char *const words[] = {"all-met",    "critical-missed", "too-few-points",
                                        "broken-off", "out-of-time",     "unfinished"};
    return words[reason];
}

const char *score_verdict(const Score *score)
{
    return score->competent ? "competent" : "not yet competent";
}

static void print_line(const ScoreLine *line, Text *out)
{
    text_addf(out, "{\"about\":\"%s\",\"critical\":\"", line->finding.about);
    if (line->line->critical != 0) text_addf(out, "K%d", line->line->critical);
    text_addf(out, "\",\"id\":\"%s\",\"log\":[", line->line->id);
    for (int i = 0; i < line->finding.evidence_count; i++) {
        text_addf(out, "%s%zu", i == 0 ? "" : ",", line->finding.evidence[i] + 1);
    }
    text_addf(out, "],\"points\":%lld,\"points_max\":%lld,\"reason\":\"%s\",\"state\":\"%s\"}",
              (long long)line->points, (long long)line->line->points, line->finding.reason,
              score_state_word(line->finding.state));
}

void score_print(const Score *score, Text *out)
{
    text_addf(out, "{\"critical_missed\":%d,\"lines\":[", score->critical_missed);
    for (int i = 0; i < score->line_count; i++) {
        if (i > 0) text_add(out, ",");
        print_line(&score->lines[i], out);
    }
    text_addf(out,
              "],\"points\":%lld,\"points_max\":%lld,\"points_needed\":%lld,\"reason\":\"%s\","
              "\"verdict\":\"%s\"}",
              (long long)score->points, (long long)score->points_max,
              (long long)score->points_needed, score_reason_word(score->reason),
              score_verdict(score));
}
