/* What the line answers, and what is done to it: belt, bin, program, settings. */
#include "player/world.h"

#include <string.h>

/* --- Happenings of the line ------------------------------------------------------------------ */

/* What the head had judged before a repair still comes to its end after the line is started again.
 * That speaks of the check that has failed already, and not of the new one. */
static void fail(Player *player, bool of_recheck)
{
    player->failed = true;
    if (of_recheck) player->failed_again = true;
}

static void settle(Player *player, int pack, Fate fate)
{
    for (int i = 0; i < player->pass_count; i++) {
        Pass *pass = &player->passes[i];
        if (pass->pack != pack || pass->fate != FATE_UNKNOWN) continue;
        pass->fate = fate;
        if (fate == FATE_ACCEPTED || !pass->found) fail(player, i >= player->recheck_from);
    }
}

static void judged(Player *player, const LineEvent *event)
{
    LogLine *told = world_tell(player, HAPPENING_JUDGED);
    log_set_number(told, "pack", event->test);
    log_set_word(told, "found", event->found ? "yes" : "no");
    log_set_number(told, "ratio_milli", event->ratio_milli);
    if (event->test == 0) return;
    bool with_piece = false;
    for (int i = 0; i < player->pass_count; i++) {
        Pass *pass = &player->passes[i];
        if (pass->pack != event->test || pass->fate != FATE_UNKNOWN) continue;
        pass->found = event->found;
        with_piece = true;
    }
    if (with_piece) player->passes_judged++;
    world_set_faults(player);
}

/* A pack's end on the line: blown into the bin, or gone on. */
static LogLine *ended(Player *player, HappeningKind kind, const LineEvent *event)
{
    int pack = event->test;
    int pieces = pack == 0 ? event->find != 0 : world_pieces_in(player, pack);
    LogLine *told = world_tell(player, kind);
    log_set_number(told, "pack", pack);
    log_set_number(told, "pieces", pieces);
    log_set_word(told, "seen", player->watching ? "yes" : "no");
    if (!log_is(told, HAPPENING_FELL))
        log_set_number(told, "lane", world_lane(player, event->lane));
    return told;
}

/* A pack that went off the belt where it must; what falls onto the floor is in nobody's custody. */
static void removed(Player *player, const LineEvent *event)
{
    bool fell = event->kind == LINE_FELL;
    LogLine *told = ended(player, fell ? HAPPENING_FELL : HAPPENING_REMOVED, event);
    if (!fell) log_set_number(told, "beside", event->beside);
    player->good_in_a_row = 0;
    if (event->test == 0) {
        /* a good pack stolen is a fault of the check too, unless it lay beside what was found */
        bool of_recheck = event->ordered_us > player->recheck_us;
        if (fell || (event->find == 0 && event->beside == 0)) fail(player, of_recheck);
    } else {
        settle(player, event->test, fell ? FATE_ACCEPTED : FATE_REMOVED);
    }
}

static void accepted(Player *player, const LineEvent *event)
{
    int pack = event->test;
    (void)ended(player, HAPPENING_ACCEPTED, event);
    if (world_pieces_in(player, pack) == 0) player->packs[pack].proven = true;
    settle(player, pack, FATE_ACCEPTED);
}

static void good_at_end(Player *player, int find)
{
    if (find != 0) log_set_number(world_tell(player, HAPPENING_ESCAPED), "find", find);
    player->good_in_a_row++;
    if (player->good_in_a_row == player->scenario->plan->good_run) {
        log_set_number(world_tell(player, HAPPENING_GOOD_RUN), "packs", player->good_in_a_row);
    }
}

void world_take_event(Player *player, const LineEvent *event)
{
    switch (event->kind) {
    case LINE_PACK_ON_BELT:
        log_set_number(world_tell(player, HAPPENING_PACK_ON_BELT), "pack", event->test);
        break;
    case LINE_JUDGED:
        judged(player, event);
        break;
    case LINE_ALARM:
        log_set_number(world_tell(player, HAPPENING_ALARM), "pack", event->test);
        break;
    case LINE_BLOW:
        log_set_number(world_tell(player, HAPPENING_BLOW), "lane", world_lane(player, event->lane));
        break;
    case LINE_REMOVED:
    case LINE_FELL:
        removed(player, event);
        break;
    case LINE_BLOW_IN_GAP:
        log_set_number(world_tell(player, HAPPENING_BLOW_IN_GAP), "lane",
                       world_lane(player, event->lane));
        break;
    case LINE_BIN_FULL:
        log_set_number(world_tell(player, HAPPENING_BIN_FULL), "pack", event->test);
        break;
    case LINE_BLOW_WEAK:
        log_set_number(world_tell(player, HAPPENING_BLOW_WEAK), "pack", event->test);
        break;
    case LINE_JAMMED:
        log_set_number(world_tell(player, HAPPENING_JAMMED), "pack", event->test);
        break;
    case LINE_STOPPED_SELF:
        player->alarms[event->monitor] = true;
        log_set_word(world_tell(player, HAPPENING_ALARM_RAISED), "what",
                     site_fail_safe_words[event->monitor]);
        (void)world_tell(player, HAPPENING_LINE_STOPPED);
        break;
    case LINE_PASSED:
        accepted(player, event);
        break;
    case LINE_AT_END:
        log_set_number(world_tell(player, HAPPENING_ON_PALLET), "pack", event->test);
        break;
    case LINE_GOOD_AT_END:
        good_at_end(player, event->find);
        break;
    }
}

/* --- What is done to the line ---------------------------------------------------------------- */

static void tell_program(Player *player, HappeningKind kind)
{
    LogLine *told = world_tell(player, kind);
    log_set_word(told, "product", player->site->products[player->program_product].id);
    log_set_word(told, "right",
                 player->program_product == player->scenario->product ? "yes" : "no");
}

static void set_program(Player *player, const char *id)
{
    Err err = {0};
    int product = site_find_product(player->site, id);
    if (product < 0 || site_program(player->scenario->line, product) == NULL) {
        world_refuse(player, "no-such-program");
        return;
    }
    if (!world_set_program(player, product, &err)) {
        world_refuse(player, "program-has-no-limit");
        return;
    }
    world_show_head(player);
    tell_program(player, HAPPENING_PROGRAM_SET);
}

static void set_sensitivity(Player *player, int64_t percent)
{
    player->limit_percent = percent;
    world_show_head(player);
    log_set_number(world_tell(player, HAPPENING_SENSITIVITY_SET), "percent", percent);
}

void world_reach(Player *player, const char *what)
{
    if (!player->locked_off) log_set_word(world_tell(player, HAPPENING_REACHED_IN), "what", what);
}

/* Isolated and locked off, nothing starts, and no stored air begins another blow. */
static void lock_off(Player *player, bool on)
{
    if (line_is_running(player->line)) {
        world_refuse(player, "line-is-running");
    } else if (player->locked_off == on) {
        world_refuse(player, on ? "line-is-locked-off" : "line-is-not-locked-off");
    } else {
        player->locked_off = on;
        (void)world_tell(player, on ? HAPPENING_LOCKED_OFF : HAPPENING_UNLOCKED);
    }
}

static void run(Player *player, bool on)
{
    if (on && player->locked_off) {
        world_refuse(player, "line-is-locked-off");
        return;
    }
    for (int i = 0; on && i < SITE_FAIL_SAFE_COUNT; i++) {
        if (!player->alarms[i]) continue;
        world_refuse(player, "alarm-not-reset");
        return;
    }
    if (on && player->power_is_off) {
        world_refuse(player, "no-power");
        return;
    }
    if (line_is_running(player->line) == on) {
        world_refuse(player, on ? "line-is-running" : "line-is-stopped");
        return;
    }
    line_run(player->line, on);
    (void)world_tell(player, on ? HAPPENING_LINE_STARTED : HAPPENING_LINE_STOPPED);
}

static void open_bin(Player *player, const char *by)
{
    if (player->bin_open) {
        world_refuse(player, "bin-is-open");
        return;
    }
    world_reach(player, "bin");
    player->bin_open = true;
    world_show_trouble(player);
    LineCounts counts = line_counts(player->line);
    const SitePlan *plan = player->scenario->plan;
    LogLine *told = world_tell(player, HAPPENING_BIN_OPENED);
    log_set_word(told, "by", by);
    log_set_number(told, "packs", counts.good_in_bin + counts.tests_in_bin);
    log_set_word(told, "agreed",
                 strcmp(by, site_role_words[plan->bin_opened_by]) == 0 ? "yes" : "no");
}

static void close_bin(Player *player)
{
    if (!player->bin_open && !player->bin_unlocked) {
        world_refuse(player, "bin-is-locked");
        return;
    }
    player->bin_open = false;
    player->bin_unlocked = false;
    world_show_trouble(player);
    (void)world_tell(player, HAPPENING_BIN_CLOSED);
}

void world_do_line(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_READ_PROGRAM)) {
        tell_program(player, HAPPENING_PROGRAM_READ);
    } else if (log_is_action(action, ACTION_SET_PROGRAM)) {
        set_program(player, log_word(action, "product"));
    } else if (log_is_action(action, ACTION_SET_SENSITIVITY)) {
        set_sensitivity(player, log_number(action, "percent"));
    } else if (log_is_action(action, ACTION_STOP)) {
        run(player, false);
    } else if (log_is_action(action, ACTION_START)) {
        run(player, true);
    } else if (log_is_action(action, ACTION_LOCK_OFF) || log_is_action(action, ACTION_UNLOCK)) {
        lock_off(player, log_is_action(action, ACTION_LOCK_OFF));
    } else if (log_is_action(action, ACTION_OPEN_BIN)) {
        open_bin(player, log_word(action, "by"));
    } else {
        close_bin(player);
    }
}
