/* The critical steps of a check, as rules over the log; common practice, no source. */
#include "scoring/rules.h"

#include <stdio.h>
#include <string.h>

static bool is_word(const LogLine *line, const char *field, const char *word)
{
    return strcmp(log_word(line, field), word) == 0;
}

static bool has_failed(const ScoreFacts *facts)
{
    return facts->failure < facts->count;
}

/* The last line of the log, to point at when something never came. */
static size_t last_line(const ScoreFacts *facts)
{
    return facts->count - 1;
}

static bool same_cell(const ScorePass *a, const ScorePass *b)
{
    return strcmp(a->metal, b->metal) == 0 && strcmp(a->spot, b->spot) == 0 && a->lane == b->lane;
}

/* How the log numbers the line's lanes: 0 for the only one, else 1 to what is returned. */
static int first_lane(const ScoreFacts *facts)
{
    return facts->scenario->line->setup.lanes == 1 ? 0 : 1;
}

static int last_lane(const ScoreFacts *facts)
{
    return facts->scenario->line->setup.lanes == 1 ? 0 : facts->scenario->line->setup.lanes;
}

/* What a pass can be right in. */
typedef bool IsGood(const ScorePass *pass);

static bool is_right_piece(const ScorePass *pass)
{
    return pass->right;
}
static bool is_proven(const ScorePass *pass)
{
    return pass->proven;
}
static bool is_alone(const ScorePass *pass)
{
    return pass->alone;
}
static bool is_at_centre(const ScorePass *pass)
{
    return pass->centre;
}
static bool is_in_right_program(const ScorePass *pass)
{
    return pass->program_right;
}
static bool is_seen_to_its_end(const ScorePass *pass)
{
    return pass->seen && (pass->end == PASS_REMOVED || pass->end == PASS_ACCEPTED);
}

/* Blame each pass that is not good; one that was made again, for the same cell, and well that time,
 * is recovered. */
static void want_each(const ScoreFacts *facts, IsGood *good, const char *reason, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->pass_count; i++) {
        const ScorePass *pass = &facts->passes[i];
        if (good(pass)) {
            score_support(out, pass->sent);
            continue;
        }
        bool again = false;
        for (size_t j = i + 1; j < facts->pass_count; j++) {
            if (same_cell(&facts->passes[j], pass) && good(&facts->passes[j])) again = true;
        }
        score_blame(out, again ? SCORE_RECOVERED : SCORE_MISSED, reason, pass->piece, pass->sent);
    }
}

/* K1: the right product program, read before the first piece goes through. */
static void right_program(const ScoreFacts *facts, ScoreFinding *out)
{
    size_t first = facts->pass_count > 0 ? facts->passes[0].sent : facts->count;
    size_t read = facts->count;
    for (size_t i = 0; i < first && read == facts->count; i++) {
        if (log_is(&facts->log[i], HAPPENING_PROGRAM_READ)) read = i;
    }
    if (read == facts->count) {
        score_blame(out, SCORE_MISSED, "program-not-read", "",
                    first < facts->count ? first : last_line(facts));
    } else {
        score_support(out, read);
    }
    want_each(facts, is_in_right_program, "wrong-program", out);
}

/* K2: every metal of the plan, with the right, sound, in-date piece, in packs proven clean. */
static void right_pieces(const ScoreFacts *facts, ScoreFinding *out)
{
    const SitePlan *plan = facts->scenario->plan;
    want_each(facts, is_right_piece, "wrong-piece", out);
    want_each(facts, is_alone, "pieces-together", out);
    if (plan->empty_first) want_each(facts, is_proven, "pack-not-proven-clean", out);
    for (int m = 0; m < plan->metal_count; m++) {
        bool sent = false;
        for (size_t i = 0; i < facts->pass_count; i++) {
            if (strcmp(facts->passes[i].metal, plan->metals[m]->name) == 0) sent = true;
        }
        if (!sent && !facts->excused) {
            score_blame(out, SCORE_MISSED, "metal-not-tested", plan->metals[m]->name,
                        last_line(facts));
        }
    }
}

/* True when a piece of this metal was sent in this lane, at this place; NULL: anywhere. */
static bool was_sent_at(const ScoreFacts *facts, const char *metal, int lane, const char *spot)
{
    for (size_t i = 0; i < facts->pass_count; i++) {
        const ScorePass *pass = &facts->passes[i];
        if (strcmp(pass->metal, metal) != 0 || pass->lane != lane) continue;
        if (spot == NULL || strcmp(pass->spot, spot) == 0) return true;
    }
    return false;
}

/* One lane, for a metal that is tested: a lane that was forgotten is one fault and not three. */
static void lane_complete(const ScoreFacts *facts, const ScorePass *pass, int lane,
                          ScoreFinding *out)
{
    char about[LOG_WORD_BYTES];
    if (!was_sent_at(facts, pass->metal, lane, NULL)) {
        (void)snprintf(about, sizeof about, "%d", lane);
        score_blame(out, SCORE_MISSED, "lane-not-tested", about, pass->sent);
        return;
    }
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        const char *spot = site_spot_words[s];
        if (facts->scenario->plan->spots[s] && !was_sent_at(facts, pass->metal, lane, spot)) {
            score_blame(out, SCORE_MISSED, "place-not-tested", spot, pass->sent);
        }
    }
}

/* K3: every place of the plan, at the centre line, in every lane, for each metal that is tested at
 * all. */
static void places_complete(const ScoreFacts *facts, ScoreFinding *out)
{
    want_each(facts, is_at_centre, "not-at-centre", out);
    if (facts->pass_count == 0) {
        score_blame(out, SCORE_MISSED, "nothing-sent", "", last_line(facts));
    }
    for (size_t i = 0; i < facts->pass_count && !facts->excused; i++) {
        for (int lane = first_lane(facts); lane <= last_lane(facts); lane++) {
            lane_complete(facts, &facts->passes[i], lane, out);
        }
    }
}

/* The bin is opened by whom the plan says, locked before the line starts, and counted right after
 * the last removal; one count may go wrong. */
static void bin_counted(const ScoreFacts *facts, ScoreFinding *out)
{
    size_t last_removed = facts->count;
    bool counted = false;
    bool open = false;
    int wrong = 0;
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_REMOVED)) {
            last_removed = i;
            counted = false;
        } else if (log_is(line, HAPPENING_BIN_CLOSED)) {
            open = false;
        } else if (log_is(line, HAPPENING_BIN_OPENED)) {
            open = true;
            if (is_word(line, "agreed", "yes")) continue;
            score_blame(out, SCORE_MISSED, "bin-opened-by-another", log_word(line, "by"), i);
        } else if (log_is(line, HAPPENING_LINE_STARTED) && open) {
            score_blame(out, SCORE_MISSED, "bin-left-open", "", i);
        } else if (log_is(line, HAPPENING_COUNTED) && is_word(line, "what", "bin")) {
            bool right = log_number(line, "said") == log_number(line, "is");
            counted = counted || right;
            if (right) {
                score_support(out, i);
                continue;
            }
            wrong++;
            score_blame(out, wrong > 1 ? SCORE_MISSED : SCORE_RECOVERED,
                        wrong > 1 ? "counted-by-guessing" : "bin-count-wrong", "", i);
        }
    }
    if (last_removed < facts->count && !counted && !facts->excused) {
        score_blame(out, SCORE_MISSED, "bin-not-counted", "", last_removed);
    }
}

/* K4: each test pack followed to its end, and found in the locked bin, counted. */
static void removal_seen(const ScoreFacts *facts, ScoreFinding *out)
{
    if (facts->pass_count == 0) {
        score_blame(out, SCORE_MISSED, "nothing-sent", "", last_line(facts));
        return;
    }
    for (size_t i = 0; i < facts->pass_count; i++) {
        const ScorePass *pass = &facts->passes[i];
        /* nothing is proven any more */
        if (facts->excused && pass->ended > facts->failure) continue;
        if (is_seen_to_its_end(pass)) {
            score_support(out, pass->ended);
            continue;
        }
        bool again = false;
        for (size_t j = i + 1; j < facts->pass_count; j++) {
            if (same_cell(&facts->passes[j], pass) && is_seen_to_its_end(&facts->passes[j])) {
                again = true;
            }
        }
        const char *reason = pass->end == PASS_CAUGHT ? "caught-by-hand"
                             : pass->end == PASS_OPEN ? "pass-not-finished"
                                                      : "not-watched";
        score_blame(out, again ? SCORE_RECOVERED : SCORE_MISSED, reason, pass->piece,
                    pass->end == PASS_OPEN ? pass->sent : pass->ended);
    }
    bin_counted(facts, out);
}

/* The last signature, count when there is none. */
static size_t last_signature(const ScoreFacts *facts)
{
    size_t found = facts->count;
    for (size_t i = 0; i < facts->count; i++) {
        if (log_is(&facts->log[i], HAPPENING_SIGNED)) found = i;
    }
    return found;
}

/* A moment at which the line is handed back: pieces and test packs must be off it by then. Rows may
 * be signed as they are written; it is the last signature that ends the check. */
static bool is_hand_back(const ScoreFacts *facts, size_t at, size_t last_signed)
{
    const LogLine *line = &facts->log[at];
    return at == last_signed || log_is(line, HAPPENING_FEED_STARTED) ||
           (log_is(line, HAPPENING_TOLD) && is_word(line, "about", "check-good")) ||
           (log_is(line, HAPPENING_HANDED_OVER) && is_word(line, "to", "line-leader"));
}

/* Where one piece is, as the log tells it line by line. */
typedef struct {
    bool is_out;   /* of the kit */
    int64_t pack;  /* the pack it lies in; 0: none */
    bool in_bin;   /* with that pack */
    bool was_open; /* the bin has been opened since: whoever emptied it overlooked the piece */
    size_t since;  /* the line that moved it last */
} PieceTrack;

static void follow_piece(PieceTrack *track, const LogLine *line, const char *piece, size_t at)
{
    bool taken = log_is(line, HAPPENING_PIECE_TAKEN);
    bool placed = log_is(line, HAPPENING_PIECE_PLACED);
    bool found = log_is(line, HAPPENING_PIECE_FOUND);
    bool back = log_is(line, HAPPENING_PIECE_PUT_BACK) || log_is(line, HAPPENING_PIECE_REFUSED);
    if (taken || placed || found || back) {
        if (!is_word(line, "piece", piece)) return;
        int64_t pack = placed ? log_number(line, "pack") : 0;
        *track = (PieceTrack){.is_out = !back, .pack = pack, .since = at};
        return;
    }
    if (log_is(line, HAPPENING_BIN_OPENED)) track->was_open = track->in_bin;
    bool removed = log_is(line, HAPPENING_REMOVED);
    if (!removed && !log_is(line, HAPPENING_PACK_FETCHED)) return;
    if (track->pack != 0 && log_number(line, "pack") == track->pack) {
        track->in_bin = removed;
        track->was_open = false;
    }
}

/* One piece back before the line is started over an emptied bin, and before it is handed back. */
static void want_piece_back(const ScoreFacts *facts, const char *piece, ScoreFinding *out)
{
    PieceTrack track = {0};
    size_t late = facts->count;
    size_t last_signed = last_signature(facts);
    for (size_t at = 0; at < facts->count; at++) {
        const LogLine *line = &facts->log[at];
        follow_piece(&track, line, piece, at);
        bool over = (is_hand_back(facts, at, last_signed) && track.is_out) ||
                    (log_is(line, HAPPENING_LINE_STARTED) && track.was_open);
        if (over && late == facts->count) late = at;
    }
    if (track.is_out) {
        score_blame(out, SCORE_MISSED, "piece-not-back", piece, track.since);
    } else if (late < facts->count) {
        score_blame(out, SCORE_MISSED, "piece-back-late", piece, late);
    }
}

/* K5: every piece back in the kit, and counted, before the line is handed back. One count may go
 * wrong. */
static void pieces_back(const ScoreFacts *facts, ScoreFinding *out)
{
    bool counted = true; /* nothing was taken yet */
    int wrong = 0;
    size_t last_signed = last_signature(facts);
    for (int i = 0; i < facts->scenario->kit_count; i++) {
        want_piece_back(facts, facts->scenario->site->pieces[facts->scenario->kit[i]].id, out);
    }
    for (size_t i = 0; i < facts->count; i++) {
        if (!log_is(&facts->log[i], HAPPENING_PIECE_FETCHED)) continue;
        want_piece_back(facts, log_word(&facts->log[i], "piece"), out);
    }
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_PIECE_TAKEN)) counted = false;
        if ((is_hand_back(facts, i, last_signed) || i == last_line(facts)) && !counted) {
            score_blame(out, SCORE_MISSED, "kit-not-counted", "", i);
        }
        if (!log_is(line, HAPPENING_COUNTED) || !is_word(line, "what", "kit")) continue;
        bool right = log_number(line, "said") == log_number(line, "is");
        counted = counted || right;
        if (right) {
            score_support(out, i);
            continue;
        }
        wrong++;
        score_blame(out, wrong > 1 ? SCORE_MISSED : SCORE_RECOVERED,
                    wrong > 1 ? "counted-by-guessing" : "kit-count-wrong", "", i);
    }
}

/* What became of a test pack sent at line `sent`: the line that took it off the belt for good, or
 * count when none did. */
static size_t pack_off(const ScoreFacts *facts, int64_t pack, size_t sent, bool *was_on_pallet)
{
    *was_on_pallet = false;
    for (size_t i = sent + 1; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        bool about_packs = log_is(line, HAPPENING_REMOVED) || log_is(line, HAPPENING_ON_PALLET) ||
                           log_is(line, HAPPENING_PACK_FETCHED);
        if (!about_packs || log_number(line, "pack") != pack) continue;
        if (!log_is(line, HAPPENING_ON_PALLET)) return i;
        *was_on_pallet = true;
    }
    return facts->count;
}

/* The first line from `from` on that hands the line back, count for none. */
static size_t next_hand_back(const ScoreFacts *facts, size_t from)
{
    size_t last_signed = last_signature(facts);
    size_t at = from;
    while (at < facts->count && !is_hand_back(facts, at, last_signed)) {
        at++;
    }
    return at;
}

/* K6: no test pack stays among the good ones; each is marked. */
static void none_among_good(const ScoreFacts *facts, ScoreFinding *out)
{
    bool marked[LINE_TESTS_MAX + 1] = {false};
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_PACK_MADE)) {
            marked[log_number(line, "pack")] = is_word(line, "marked", "yes");
        }
        if (!log_is(line, HAPPENING_PACK_SENT)) continue;
        int64_t pack = log_number(line, "pack");
        char about[LOG_WORD_BYTES];
        (void)snprintf(about, sizeof about, "%lld", (long long)pack);
        bool was_on_pallet;
        size_t off = pack_off(facts, pack, i, &was_on_pallet);
        if (off == facts->count) {
            score_blame(out, SCORE_MISSED,
                        was_on_pallet ? "test-pack-among-good" : "test-pack-lost", about, i);
        } else if (was_on_pallet && off > next_hand_back(facts, i)) {
            score_blame(out, SCORE_MISSED, "test-pack-fetched-late", about, off);
        } else {
            score_support(out, off);
        }
        if (!marked[pack]) {
            score_blame(out, was_on_pallet ? SCORE_MISSED : SCORE_RECOVERED, "pack-not-marked",
                        about, i);
        }
    }
}

/* How long after the miss the line may still run; common practice, no source. */
enum { STOP_WITHIN_US = 30000000 };

/* What has been done about a failed check. Once somebody has put the line right, it is started and
 * checked anew. */
typedef struct {
    bool stopped, held, told, put_right;
} Response;

/* Somebody changed the line for good: only a full new check speaks for it. */
static bool is_put_right(const LogLine *line)
{
    return log_is(line, HAPPENING_REPAIRED) || log_is(line, HAPPENING_SETTINGS_RESTORED) ||
           log_is(line, HAPPENING_RE_LEARNED) || log_is(line, HAPPENING_CLEANED);
}

static void respond(const ScoreFacts *facts, size_t at, Response *response, ScoreFinding *out)
{
    const LogLine *line = &facts->log[at];
    if (log_is(line, HAPPENING_LINE_STOPPED)) {
        bool late = line->time_us - facts->log[facts->failure].time_us > STOP_WITHIN_US;
        if (late && !response->stopped) score_blame(out, SCORE_MISSED, "stopped-late", "", at);
        response->stopped = true;
        score_support(out, at);
    } else if (is_put_right(line)) {
        response->put_right = true;
    } else if (log_is(line, HAPPENING_PIECE_SENT)) {
        if (response->put_right) return;
        score_blame(out, SCORE_MISSED, "sent-again", log_word(line, "piece"), at);
    } else if (log_is(line, HAPPENING_LINE_STARTED) || log_is(line, HAPPENING_FEED_STARTED)) {
        if (response->put_right) return;
        score_blame(out, SCORE_MISSED, "restarted-after-failure", "", at);
    } else if (log_is(line, HAPPENING_TOLD)) {
        response->told = response->told || is_word(line, "about", "check-failed");
        if (!is_word(line, "about", "check-good") || response->put_right) return;
        score_blame(out, SCORE_MISSED, "called-good", log_word(line, "who"), at);
    } else if (log_is(line, HAPPENING_RELEASED)) {
        response->held = false;
    } else if (log_is(line, HAPPENING_HELD)) {
        response->held = is_word(line, "complete", "yes");
        if (response->held) {
            score_support(out, at);
        } else if (is_word(line, "early_enough", "no")) {
            score_blame(out, SCORE_RECOVERED, "held-too-little", log_word(line, "from"), at);
        }
    }
}

/* K7: once the check has failed: stop, hold everything since the last good check, tell somebody,
 * and leave the line as it is. */
static void stopped_and_held(const ScoreFacts *facts, ScoreFinding *out)
{
    if (!has_failed(facts)) return;
    Response response = {0};
    for (size_t i = 0; i < facts->failure; i++) { /* it may stand still, or be held, already */
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_LINE_STOPPED)) response.stopped = true;
        if (log_is(line, HAPPENING_LINE_STARTED)) response.stopped = false;
        if (log_is(line, HAPPENING_HELD)) response.held = is_word(line, "complete", "yes");
        if (log_is(line, HAPPENING_RELEASED)) response.held = false;
    }
    for (size_t i = facts->failure; i < facts->count; i++) {
        respond(facts, i, &response, out);
    }
    if (!response.stopped) score_blame(out, SCORE_MISSED, "not-stopped", "", facts->failure);
    if (!response.held) score_blame(out, SCORE_MISSED, "not-held", "", facts->failure);
    if (!response.told) score_blame(out, SCORE_MISSED, "nobody-told", "", facts->failure);
}

/* Each fail-safe of the line was seen to stop it, and each alarm reset by whom the site names. */
static void fail_safes_stop(const ScoreFacts *facts, ScoreFinding *out)
{
    bool raised[SITE_FAIL_SAFE_COUNT] = {false};
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_ALARM_RESET) && is_word(line, "agreed", "no")) {
            score_blame(out, SCORE_MISSED, "alarm-reset-by-another", log_word(line, "by"), i);
        }
        if (!log_is(line, HAPPENING_ALARM_RAISED)) continue;
        score_support(out, i);
        for (int f = 0; f < SITE_FAIL_SAFE_COUNT; f++) {
            if (is_word(line, "what", site_fail_safe_words[f])) raised[f] = true;
        }
    }
    for (int f = 0; f < SITE_FAIL_SAFE_COUNT; f++) {
        if (!facts->scenario->line->fail_safes[f] || raised[f]) continue;
        score_blame(out, SCORE_MISSED, "fail-safe-not-tried", site_fail_safe_words[f],
                    last_line(facts));
    }
}

/* K8: nothing is released without authority. Held again before it left, it is recovered. */
static void no_release(const ScoreFacts *facts, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (!log_is(line, HAPPENING_RELEASED) || is_word(line, "authority", "yes")) continue;
        bool again = false;
        bool left = false;
        for (size_t j = i + 1; j < facts->count; j++) {
            const LogLine *later = &facts->log[j];
            if (log_is(later, HAPPENING_STOCK_LEFT)) left = true;
            if (log_is(later, HAPPENING_HELD) && is_word(later, "complete", "yes")) again = true;
        }
        score_blame(out, again && !left ? SCORE_RECOVERED : SCORE_MISSED, "released",
                    log_word(line, "place"), i);
    }
}

/* K9: no setting of the detector is changed to pass a check. */
static void no_settings_changed(const ScoreFacts *facts, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->count; i++) {
        if (log_is(&facts->log[i], HAPPENING_SENSITIVITY_SET)) {
            score_blame(out, SCORE_MISSED, "settings-changed", "", i);
        }
    }
}

/* Whether the line is relied on from here: packs come again, or the check is said to be good. */
static bool is_called_good(const LogLine *line)
{
    return log_is(line, HAPPENING_FEED_STARTED) ||
           (log_is(line, HAPPENING_TOLD) && is_word(line, "about", "check-good")) ||
           (log_is(line, HAPPENING_ROW_WRITTEN) && is_word(line, "row", "result") &&
            is_word(line, "value", "good"));
}

/* Whether the metal went through well between two lines at every place of the plan in a lane. */
static bool was_checked_in(const ScoreFacts *facts, const char *metal, int lane, size_t from,
                           size_t to)
{
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        bool done = !facts->scenario->plan->spots[s];
        for (size_t i = 0; i < facts->pass_count && !done; i++) {
            const ScorePass *pass = &facts->passes[i];
            done = pass->sent > from && pass->ended < to && pass->end == PASS_REMOVED &&
                   pass->right && pass->centre && pass->program_right && pass->lane == lane &&
                   strcmp(pass->metal, metal) == 0 && strcmp(pass->spot, site_spot_words[s]) == 0;
        }
        if (!done) return false;
    }
    return true;
}

static bool was_checked(const ScoreFacts *facts, const char *metal, size_t from, size_t to)
{
    for (int lane = first_lane(facts); lane <= last_lane(facts); lane++) {
        if (!was_checked_in(facts, metal, lane, from, to)) return false;
    }
    return true;
}

/* K10: once the detector was adjusted no earlier pass speaks for it. Every metal goes through again
 * at every place, in every lane, before the line is relied on, or is left running at the end. */
static void full_recheck(const ScoreFacts *facts, ScoreFinding *out)
{
    const SitePlan *plan = facts->scenario->plan;
    size_t adjusted = facts->count;
    bool runs = true;
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_LINE_STARTED)) runs = true;
        if (log_is(line, HAPPENING_LINE_STOPPED)) runs = false;
        bool is_set =
            log_is(line, HAPPENING_SENSITIVITY_SET) || log_is(line, HAPPENING_PROGRAM_SET);
        bool is_freed = log_is(line, HAPPENING_JAM_CLEARED); /* it may have moved the head */
        if (is_set || is_freed || is_put_right(line)) adjusted = i;
        bool is_relied_on = is_called_good(line) || (log_is(line, HAPPENING_RUN_ENDED) && runs);
        if (!is_relied_on || adjusted == facts->count) continue;
        for (int m = 0; m < plan->metal_count; m++) {
            const char *metal = plan->metals[m]->name;
            if (was_checked(facts, metal, adjusted, i))
                score_support(out, adjusted);
            else
                score_blame(out, SCORE_MISSED, "not-rechecked", metal, i);
        }
    }
}

/* Metal that was found in a pack is bagged, and not thrown away. */
static void want_kept(const ScoreFacts *facts, ScoreFinding *out)
{
    size_t found = facts->count; /* the find that is still to be kept */
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_REJECTS_EXAMINED) && log_number(line, "finds") > 0) found = i;
        if (log_is(line, HAPPENING_FIND_THROWN_AWAY)) {
            score_blame(out, SCORE_MISSED, "find-thrown-away", "", i);
            found = facts->count;
        } else if (log_is(line, HAPPENING_FIND_KEPT)) {
            score_support(out, i);
            found = facts->count;
        }
    }
    if (found < facts->count) score_blame(out, SCORE_MISSED, "find-not-kept", "", found);
}

/* K13: what the detector took out of good packs may be real, and is told to who must know before
 * the line is relied on again. What only lay beside it is not. */
static void find_kept(const ScoreFacts *facts, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (!log_is(line, HAPPENING_REMOVED) || log_number(line, "pack") != 0) continue;
        if (log_number(line, "beside") != 0) continue;
        size_t told = facts->count;
        for (size_t j = i + 1; j < facts->count && told == facts->count; j++) {
            const LogLine *later = &facts->log[j];
            if (is_called_good(later)) break;
            if (!log_is(later, HAPPENING_TOLD)) continue;
            bool to_know = is_word(later, "who", "quality") || is_word(later, "who", "supervisor");
            bool is_idle = is_word(later, "about", "gap") || is_word(later, "about", "run") ||
                           is_word(later, "about", "check-starts");
            if (to_know && !is_idle) told = j;
        }
        if (told == facts->count)
            score_blame(out, SCORE_MISSED, "find-not-told", "", i);
        else
            score_support(out, told);
    }
    want_kept(facts, out);
}

/* The last time row `row` was written before line `end`; count when never. */
static size_t last_written(const ScoreFacts *facts, const char *row, size_t end)
{
    size_t found = facts->count;
    for (size_t i = 0; i < end; i++) {
        if (log_is(&facts->log[i], HAPPENING_ROW_WRITTEN) && is_word(&facts->log[i], "row", row)) {
            found = i;
        }
    }
    return found;
}

/* Each row that was not true when written or signed: put right before the last signature, it is
 * recovered. */
static void want_true_rows(const ScoreFacts *facts, ScoreFinding *out)
{
    size_t end = last_signature(facts);
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        bool written = log_is(line, HAPPENING_ROW_WRITTEN);
        if ((!written && !log_is(line, HAPPENING_ROW_STALE)) || is_word(line, "truth", "true"))
            continue;
        size_t last = last_written(facts, log_word(line, "row"), end);
        bool corrected =
            last < facts->count && last > i && is_word(&facts->log[last], "truth", "true");
        const char *reason = is_word(line, "truth", "ahead") ? "row-written-ahead" : "row-not-true";
        score_blame(out, corrected ? SCORE_RECOVERED : SCORE_MISSED, reason, log_word(line, "row"),
                    i);
    }
}

/* Every pass that ended has its row, and so has the result. */
static void want_rows(const ScoreFacts *facts, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->pass_count; i++) {
        const ScorePass *pass = &facts->passes[i];
        char row[LOG_WORD_BYTES * 2];
        int len = snprintf(row, sizeof row, "%s/%s", pass->metal, pass->spot);
        if (pass->lane != 0) (void)snprintf(row + len, sizeof row - (size_t)len, "/%d", pass->lane);
        bool cut_short = facts->excused && pass->ended > facts->failure;
        if (pass->end == PASS_OPEN || cut_short) continue;
        if (last_written(facts, row, facts->count) == facts->count) {
            score_blame(out, SCORE_MISSED, "row-missing", pass->piece, pass->sent);
        }
    }
    if (last_written(facts, "result", facts->count) == facts->count) {
        score_blame(out, SCORE_MISSED, "row-missing", "result", last_line(facts));
    }
}

/* K11: the record is true, made at the time, and signed in the own name. */
static void record_true(const ScoreFacts *facts, ScoreFinding *out)
{
    want_true_rows(facts, out);
    want_rows(facts, out);
    bool open = true;
    for (size_t i = 0; i < facts->count; i++) {
        const LogLine *line = &facts->log[i];
        if (log_is(line, HAPPENING_ROW_WRITTEN)) open = true;
        if (!log_is(line, HAPPENING_SIGNED)) continue;
        open = false;
        score_support(out, i);
        if (!is_word(line, "as", "self")) {
            score_blame(out, SCORE_MISSED, "signed-for-another", log_word(line, "as"), i);
        }
    }
    if (open) score_blame(out, SCORE_MISSED, "not-signed", "", last_line(facts));
}

/* K12: no hand into what moves: stop, isolate and lock off first. */
static void no_reaching_in(const ScoreFacts *facts, ScoreFinding *out)
{
    for (size_t i = 0; i < facts->count; i++) {
        if (log_is(&facts->log[i], HAPPENING_REACHED_IN)) {
            score_blame(out, SCORE_MISSED, "reached-in", log_word(&facts->log[i], "what"), i);
        }
    }
}

/* --- Their names ----------------------------------------------------------------------------- */

static const struct {
    const char *name;
    ScoreRule *rule;
    int critical; /* 1..13; 0: none of them */
} rules[] = {
    {"right-program", right_program, 1},
    {"right-pieces", right_pieces, 2},
    {"places-complete", places_complete, 3},
    {"removal-seen", removal_seen, 4},
    {"pieces-back", pieces_back, 5},
    {"none-among-good", none_among_good, 6},
    {"stopped-and-held", stopped_and_held, 7},
    {"no-release", no_release, 8},
    {"no-settings-changed", no_settings_changed, 9},
    {"full-recheck", full_recheck, 10},
    {"record-true", record_true, 11},
    {"no-reaching-in", no_reaching_in, 12},
    {"find-kept", find_kept, 13},
    {"fail-safes-stop", fail_safes_stop, 0},
};

ScoreRule *score_rule(const char *name)
{
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        if (strcmp(rules[i].name, name) == 0) return rules[i].rule;
    }
    return NULL;
}

int score_rule_critical(const char *name)
{
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        if (strcmp(rules[i].name, name) == 0) return rules[i].critical;
    }
    return 0;
}

void score_rule_names(const char *words[RULES_MAX + 1])
{
    size_t count = sizeof rules / sizeof rules[0];
    CHECK(count <= RULES_MAX);
    for (size_t i = 0; i < count; i++) {
        words[i] = rules[i].name;
    }
    words[count] = NULL;
}
