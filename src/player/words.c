/* What a person says and writes: counts, holds, messages, the sheet. */
#include "player/world.h"

#include <stdio.h>
#include <string.h>

int world_word(const char *const words[], const char *word)
{
    for (int i = 0; words[i] != NULL; i++) {
        if (strcmp(words[i], word) == 0) return i;
    }
    return -1;
}

/* --- Counts, holds, messages ----------------------------------------------------------------- */

static int64_t pieces_in_kit(const Player *player)
{
    int64_t count = 0;
    for (int i = 0; i < player->kit_count; i++) {
        if (player->kit[i].where == PIECE_IN_KIT) count++;
    }
    return count;
}

static void count(Player *player, const LogLine *action)
{
    const char *const *whats = log_field_words(action, "what");
    int what = world_word(whats, log_word(action, "what"));
    if (what < 0) {
        world_refuse(player, "nothing-to-count");
        return;
    }
    if (what == 0 && !player->bin_open) {
        world_refuse(player, "bin-is-locked");
        return;
    }
    LineCounts counts = line_counts(player->line);
    int64_t is = what == 0 ? counts.good_in_bin + counts.tests_in_bin : pieces_in_kit(player);
    if (what == 0) player->bin_counted = is;
    LogLine *told = world_tell(player, HAPPENING_COUNTED);
    log_set_word(told, "what", whats[what]);
    log_set_number(told, "said", log_number(action, "said"));
    log_set_number(told, "is", is);
}

/* Stock that was made after the last good check must all be held, in one hold or several. What
 * stands where before the run is the scenario's; what the run makes goes to the pallet. */
static bool holds_all(const Player *player)
{
    for (int i = 0; i < player->scenario->stock_count; i++) {
        const Stock *stock = &player->scenario->stocks[i];
        bool suspect = stock->packs > 0 && stock->to_us > player->scenario->last_good_check_us;
        if (suspect && !player->held[stock->place]) return false;
    }
    return player->held[STOCK_PALLET];
}

/* Whether a place of stock is named, by itself or with all others. */
static bool names_place(const char *word, int place)
{
    return strcmp(word, "everything") == 0 || strcmp(word, scenario_stock_words[place]) == 0;
}

/* Whether a word names the lorry alone, and that has left. */
static bool has_left(const Player *player, const char *place)
{
    return player->lorry_left && strcmp(place, scenario_stock_words[STOCK_LORRY]) == 0;
}

/* From when what stands at a place is in doubt: not before the last good check, and not before it
 * was made; a place without stock from before the run holds only what the run makes. */
static int64_t suspect_from(const Player *player, int place)
{
    const Scenario *scenario = player->scenario;
    int64_t from_us = scenario->clock_us;
    for (int i = 0; i < scenario->stock_count; i++) {
        const Stock *stock = &scenario->stocks[i];
        bool suspect = stock->packs > 0 && stock->to_us > scenario->last_good_check_us;
        if (suspect && (int)stock->place == place && stock->from_us < from_us) {
            from_us = stock->from_us;
        }
    }
    return from_us > scenario->last_good_check_us ? from_us : scenario->last_good_check_us;
}

static void hold(Player *player, const LogLine *action)
{
    int64_t from_us;
    const char *place = log_word(action, "place");
    if (!scenario_clock_parse(log_word(action, "from"), &from_us)) {
        world_refuse(player, "no-time-of-day");
        return;
    }
    if (world_word(log_field_words(action, "place"), place) < 0) {
        world_refuse(player, "no-such-place");
        return;
    }
    if (has_left(player, place)) {
        world_refuse(player, "stock-has-left");
        return;
    }
    bool early = true;
    for (int i = 0; i < STOCK_PLACE_COUNT; i++) {
        bool gone = i == STOCK_LORRY && player->lorry_left;
        if (gone || !names_place(place, i)) continue;
        if (from_us <= suspect_from(player, i))
            player->held[i] = true;
        else
            early = false;
    }
    if (player->held_from_us < 0 || from_us < player->held_from_us) player->held_from_us = from_us;
    LogLine *told = world_tell(player, HAPPENING_HELD);
    log_set_word(told, "from", log_word(action, "from"));
    log_set_word(told, "place", place);
    log_set_word(told, "early_enough", early ? "yes" : "no");
    log_set_word(told, "complete", holds_all(player) ? "yes" : "no");
}

/* What is released on a lorry drives off: it cannot be held again from here. */
static void release(Player *player, const LogLine *action)
{
    const char *place = log_word(action, "place");
    if (world_word(log_field_words(action, "place"), place) < 0) {
        world_refuse(player, "no-such-place");
    } else if (has_left(player, place)) {
        world_refuse(player, "stock-has-left");
    } else {
        world_release(player, place, player->scenario->role == player->site->release_by);
    }
}

void world_release(Player *player, const char *place, bool authority)
{
    LogLine *told = world_tell(player, HAPPENING_RELEASED);
    log_set_word(told, "place", place);
    log_set_word(told, "authority", authority ? "yes" : "no");
    for (int i = 0; i < STOCK_PLACE_COUNT; i++) {
        if (names_place(place, i)) player->held[i] = false;
    }
    bool any = false;
    for (int i = 0; i < STOCK_PLACE_COUNT; i++) {
        any = any || player->held[i];
    }
    if (!any) player->held_from_us = -1;
    if (player->lorry_left || !names_place(place, STOCK_LORRY)) return;
    for (int i = 0; i < player->scenario->stock_count; i++) {
        const Stock *stock = &player->scenario->stocks[i];
        if (stock->place != STOCK_LORRY || stock->packs == 0) continue;
        player->lorry_left = true;
        LogLine *left = world_tell(player, HAPPENING_STOCK_LEFT);
        log_set_word(left, "place", scenario_stock_words[STOCK_LORRY]);
        log_set_number(left, "packs", stock->packs);
    }
}

/* A place of stock at which something is held; -1, and the action answered, for none. */
static int held_place(Player *player, const LogLine *action)
{
    int place = world_word(scenario_stock_words, log_word(action, "place"));
    if (place >= 0 && player->held[place] && !has_left(player, scenario_stock_words[place])) {
        return place;
    }
    world_refuse(player, place < 0 ? "no-such-place" : "stock-not-held");
    return -1;
}

static void label(Player *player, const LogLine *action)
{
    int place = held_place(player, action);
    if (place < 0) return;
    log_set_word(world_tell(player, HAPPENING_LABELLED), "place", scenario_stock_words[place]);
}

/* Only a line that has passed a full new check since it was put right speaks for what goes through
 * it again. */
static void re_pass(Player *player, const LogLine *action)
{
    int place = held_place(player, action);
    if (place < 0) return;
    player->re_passed[place] = world_recheck_is_good(player);
    LogLine *told = world_tell(player, HAPPENING_RE_PASSED);
    log_set_word(told, "place", scenario_stock_words[place]);
    log_set_word(told, "verified", player->re_passed[place] ? "yes" : "no");
}

static void hand_over(Player *player, const LogLine *action)
{
    const char *to = log_word(action, "to");
    int64_t out = 0;
    if (world_word(log_field_words(action, "to"), to) < 0) {
        world_refuse(player, "nobody-to-take-over");
        return;
    }
    for (int i = 0; i < player->kit_count; i++) {
        PieceWhere where = player->kit[i].where;
        if (where != PIECE_IN_KIT && where != PIECE_REFUSED) out++;
    }
    LogLine *told = world_tell(player, HAPPENING_HANDED_OVER);
    log_set_word(told, "to", to);
    log_set_number(told, "pieces_out", out);
}

static void tell(Player *player, const LogLine *action)
{
    const char *who = log_word(action, "who");
    const char *about = log_word(action, "about");
    if (world_word(site_role_words, who) < 0 ||
        world_word(log_field_words(action, "about"), about) < 0) {
        world_refuse(player, "nobody-to-tell");
        return;
    }
    LogLine *told = world_tell(player, HAPPENING_TOLD);
    log_set_word(told, "who", who);
    log_set_word(told, "about", about);
    if (strcmp(who, site_role_words[SITE_LINE_LEADER]) != 0) return;
    bool gap = strcmp(about, "gap") == 0;
    if ((gap || strcmp(about, "run") == 0) && line_is_fed(player->line) == gap) {
        line_feed(player->line, !gap);
        (void)world_tell(player, gap ? HAPPENING_FEED_STOPPED : HAPPENING_FEED_STARTED);
    }
}

/* --- The check sheet ------------------------------------------------------------------------- */

static const char *truth_of(bool right)
{
    return right ? "true" : "false";
}

/* "METAL/SPOT", and on a line with several lanes "METAL/SPOT/LANE". */
static void print_cell(const char *metal, int spot, int lane, char out[LOG_WORD_BYTES * 2])
{
    char of_lane[16] = "";
    if (lane != 0) (void)snprintf(of_lane, sizeof of_lane, "/%d", lane);
    (void)snprintf(out, (size_t)LOG_WORD_BYTES * 2, "%s/%s%s", metal, site_spot_words[spot],
                   of_lane);
}

/* A cell's row: the last pass of that metal there, from one on, is what it must say. */
static const char *truth_of_pass(const Player *player, int from, const char *row, const char *value)
{
    const Pass *last = NULL;
    for (int i = from; i < player->pass_count; i++) {
        const Pass *pass = &player->passes[i];
        char own[LOG_WORD_BYTES * 2];
        int site_piece = player->kit[pass->piece].site_piece;
        print_cell(player->site->pieces[site_piece].metal->name, (int)pass->spot, pass->lane, own);
        if (strcmp(own, row) == 0) last = pass;
    }
    if (last == NULL || last->fate == FATE_UNKNOWN) return "ahead";
    switch (last->fate) {
    case FATE_REMOVED:
        return truth_of(strcmp(value, "removed") == 0);
    case FATE_ACCEPTED:
        return truth_of(strcmp(value, last->found ? "found-not-removed" : "missed") == 0);
    case FATE_CAUGHT: /* cut short by a hand: what the head said may be written, too */
        if (last->found && strcmp(value, "found-not-removed") == 0) return truth_of(true);
        break;
    case FATE_UNKNOWN:
        break;
    }
    return truth_of(strcmp(value, "not-finished") == 0);
}

/* A metal was removed at every place of the plan in one lane, the last time it was sent. */
static bool are_removed(const Player *player, int from, const char *metal, int lane)
{
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        char cell[LOG_WORD_BYTES * 2];
        print_cell(metal, s, world_lane(player, lane), cell);
        bool removed = strcmp(truth_of_pass(player, from, cell, "removed"), "true") == 0;
        if (player->scenario->plan->spots[s] && !removed) return false;
    }
    return true;
}

/* So was every metal of the plan, in every lane. */
static bool all_cells_removed(const Player *player, int from)
{
    const SitePlan *plan = player->scenario->plan;
    for (int m = 0; m < plan->metal_count; m++) {
        for (int lane = 0; lane < player->scenario->line->setup.lanes; lane++) {
            if (!are_removed(player, from, plan->metals[m]->name, lane)) return false;
        }
    }
    return true;
}

bool world_recheck_is_good(const Player *player)
{
    return player->recheck_from >= 0 && !player->failed_again &&
           all_cells_removed(player, player->recheck_from);
}

void world_want_recheck(Player *player)
{
    player->recheck_from = player->pass_count;
    player->recheck_us = player->now_us;
    player->failed_again = false;
}

/* A time from which things are held, not after the last good check. */
static const char *truth_of_hold(const Player *player, const char *value)
{
    int64_t from_us;
    if (player->held_from_us < 0) return "ahead";
    return truth_of(scenario_clock_parse(value, &from_us) && from_us >= player->held_from_us &&
                    from_us <= player->scenario->last_good_check_us);
}

const char *world_truth(const Player *player, const char *row, const char *value)
{
    int64_t number = 0;
    bool is_number = text_to_int(value, &number);
    if (strcmp(row, "program") == 0) {
        return truth_of(strcmp(value, player->site->products[player->program_product].id) == 0);
    }
    if (strcmp(row, "bin-count") == 0) {
        if (player->bin_counted < 0) return "ahead";
        return truth_of(is_number && number == player->bin_counted);
    }
    if (strcmp(row, "kit-count") == 0) {
        return truth_of(is_number && number == pieces_in_kit(player));
    }
    if (strcmp(row, "good-run") == 0) {
        return truth_of(is_number && number <= player->good_in_a_row &&
                        number >= player->scenario->plan->good_run);
    }
    if (strcmp(row, "held-from") == 0) return truth_of_hold(player, value);
    if (strcmp(row, "result") == 0) {
        if (!player->failed && !all_cells_removed(player, 0)) return "ahead";
        return truth_of(strcmp(value, player->failed ? "failed" : "good") == 0);
    }
    if (strcmp(row, "re-check") == 0) {
        if (player->recheck_from < 0) return "ahead";
        if (!player->failed_again && !world_recheck_is_good(player)) return "ahead";
        return truth_of(strcmp(value, player->failed_again ? "failed" : "good") == 0);
    }
    return truth_of_pass(player, 0, row, value);
}

/* "SPOT" or, on a line with several lanes, "SPOT/LANE". */
static bool is_spot(const Player *player, const char *text)
{
    for (int lane = 0; lane < player->scenario->line->setup.lanes; lane++) {
        for (int s = 0; s < SITE_SPOT_COUNT; s++) {
            char cell[LOG_WORD_BYTES * 2];
            print_cell("", s, world_lane(player, lane), cell);
            if (strcmp(cell + 1, text) == 0) return true; /* behind the slash */
        }
    }
    return false;
}

static bool is_row(const Player *player, const char *row)
{
    static const char *const fixed[] = {"program",   "bin-count", "kit-count", "good-run",
                                        "held-from", "result",    "re-check",  NULL};
    if (world_word(fixed, row) >= 0) return true;
    const char *slash = strchr(row, '/');
    if (slash == NULL || !is_spot(player, slash + 1)) return false;
    size_t len = (size_t)(slash - row);
    for (int i = 0; i < player->kit_count; i++) {
        const char *metal = player->site->pieces[player->kit[i].site_piece].metal->name;
        if (strlen(metal) == len && memcmp(metal, row, len) == 0) return true;
    }
    const SitePlan *plan = player->scenario->plan;
    for (int i = 0; i < plan->metal_count; i++) {
        const char *metal = plan->metals[i]->name;
        if (strlen(metal) == len && memcmp(metal, row, len) == 0) return true;
    }
    return false;
}

static void write_row(Player *player, const LogLine *action)
{
    const char *name = log_word(action, "row");
    if (world_correct_row(player, action)) return;
    if (!is_row(player, name)) {
        world_refuse(player, "no-such-row");
        return;
    }
    Row *row = NULL;
    for (int i = 0; i < player->row_count; i++) {
        if (strcmp(player->rows[i].row, name) == 0) row = &player->rows[i];
    }
    bool again = row != NULL;
    if (!again && player->row_count == PLAYER_ROWS_MAX) {
        world_refuse(player, "sheet-is-full");
        return;
    }
    if (!again) row = &player->rows[player->row_count++];
    memcpy(row->row, name, strlen(name) + 1);
    memcpy(row->value, log_word(action, "value"), LOG_WORD_BYTES);
    row->is_signed = false;
    LogLine *told = world_tell(player, HAPPENING_ROW_WRITTEN);
    log_set_word(told, "row", row->row);
    log_set_word(told, "value", row->value);
    log_set_word(told, "truth", world_truth(player, row->row, row->value));
    log_set_word(told, "again", again ? "yes" : "no");
}

static void sign(Player *player, const LogLine *action)
{
    int64_t rows = 0;
    for (int i = 0; i < player->row_count; i++) {
        if (!player->rows[i].is_signed) rows++;
    }
    if (world_word(log_field_words(action, "as"), log_word(action, "as")) < 0 || rows == 0) {
        world_refuse(player, "nothing-to-sign");
        return;
    }
    for (int i = 0; i < player->row_count; i++) {
        Row *row = &player->rows[i];
        const char *truth = world_truth(player, row->row, row->value);
        row->is_signed = true;
        if (strcmp(truth, "true") == 0) continue;
        LogLine *stale = world_tell(player, HAPPENING_ROW_STALE);
        log_set_word(stale, "row", row->row);
        log_set_word(stale, "value", row->value);
        log_set_word(stale, "truth", truth);
    }
    LogLine *told = world_tell(player, HAPPENING_SIGNED);
    log_set_word(told, "as", log_word(action, "as"));
    log_set_number(told, "rows", rows);
}

/* --- Which is which -------------------------------------------------------------------------- */

void world_do_words(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_COUNT)) {
        count(player, action);
    } else if (log_is_action(action, ACTION_HOLD)) {
        hold(player, action);
    } else if (log_is_action(action, ACTION_RELEASE)) {
        release(player, action);
    } else if (log_is_action(action, ACTION_TELL)) {
        tell(player, action);
    } else if (log_is_action(action, ACTION_WRITE)) {
        write_row(player, action);
    } else if (log_is_action(action, ACTION_SIGN)) {
        sign(player, action);
    } else if (log_is_action(action, ACTION_LABEL)) {
        label(player, action);
    } else if (log_is_action(action, ACTION_RE_PASS)) {
        re_pass(player, action);
    } else if (log_is_action(action, ACTION_HAND_OVER)) {
        hand_over(player, action);
    } else {
        world_end(player, "left");
    }
}
