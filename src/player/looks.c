/* What a person sees of the line itself, and tries on it: looks, settings, counters, the list of
 * alarms, fail-safes, power. */
#include "player/world.h"

#include <string.h>

enum { EVENTS_TOLD_MAX = 16 };

static const char *yes_no(bool yes)
{
    return yes ? "yes" : "no";
}

static bool has_fault(const Player *player, FaultKind kind)
{
    return world_fault(player, kind) != NULL;
}

/* --- Looks ----------------------------------------------------------------------------------- */

static const char *look_at_bin(const Player *player)
{
    LineCounts counts = line_counts(player->line);
    if (has_fault(player, FAULT_BIN_MISSING)) return "missing";
    if (player->bin_open) return "open";
    if (player->bin_unlocked) return "not-locked";
    int64_t packs = counts.good_in_bin + counts.tests_in_bin;
    return packs >= player->scenario->line->setup.bin_packs ? "full" : "locked";
}

static const char *look_at_eye(const Player *player)
{
    if (player->blocked[BLOCK_EYE] || has_fault(player, FAULT_EYE_BLOCKED)) return "covered";
    return has_fault(player, FAULT_EYE_DIRTY) ? "dirty" : "clean";
}

static const char *look_at_air(const Player *player)
{
    if (player->blocked[BLOCK_AIR]) return "shut";
    return has_fault(player, FAULT_LOW_AIR) ? "low" : "in-order";
}

static const char *look_at_aperture(const Player *player)
{
    LineCounts counts = line_counts(player->line);
    return counts.good_in_jam + counts.tests_in_jam > 0 ? "jammed" : "free";
}

static const char *look_at_reject(const Player *player)
{
    if (has_fault(player, FAULT_REJECT_OFF)) return "off";
    return has_fault(player, FAULT_TEST_MODE) ? "in-test-mode" : "in-order";
}

static const char *look_at_head(const Player *player)
{
    if (has_fault(player, FAULT_HEAD_BYPASSED)) return "bypassed";
    return has_fault(player, FAULT_HEAD_COLD) ? "not-warmed-up" : "in-order";
}

static const char *look_at_product(const Player *player)
{
    const Fault *fault = world_fault(player, FAULT_TEMPERATURE);
    double usual = player->site->products[player->scenario->product].temperature_c;
    if (fault == NULL || (double)fault->temperature_mc * 1e-3 == usual) return "as-learned";
    return (double)fault->temperature_mc * 1e-3 > usual ? "warmer" : "colder";
}

static const char *look_at_packs(const Player *player)
{
    return has_fault(player, FAULT_PACKS_TURNED) ? "some-across" : "straight";
}

static const char *look_at_belt(const Player *player)
{
    const Fault *fault = world_fault(player, FAULT_BELT_SPEED);
    if (fault == NULL || fault->percent == 100) return "as-set";
    return fault->percent < 100 ? "slow" : "fast";
}

typedef const char *Look(const Player *player);
static const struct {
    const char *what;
    Look *look;
} looks[] = {
    {"bin", look_at_bin},           {"photo-eye", look_at_eye}, {"air", look_at_air},
    {"aperture", look_at_aperture}, {"reject", look_at_reject}, {"head", look_at_head},
    {"product", look_at_product},   {"packs", look_at_packs},   {"belt", look_at_belt},
};

static void look(Player *player, const char *what)
{
    for (size_t i = 0; i < sizeof looks / sizeof looks[0]; i++) {
        if (strcmp(looks[i].what, what) != 0) continue;
        LogLine *told = world_tell(player, HAPPENING_LOOKED);
        log_set_word(told, "what", what);
        log_set_word(told, "is", looks[i].look(player));
        return;
    }
    world_refuse(player, "nothing-to-look-at");
}

/* --- Settings, counters, events -------------------------------------------------------------- */

/* Each setting of the approved sheet, and whether it is as it stands there. */
static void compare_settings(Player *player)
{
    const struct {
        const char *what;
        bool agrees;
    } settings[] = {
        {"program", player->program_product == player->scenario->product},
        {"sensitivity", player->limit_percent == 100},
        {"reject-delay", !has_fault(player, FAULT_REJECT_SHIFT)},
        {"reject-stroke", !has_fault(player, FAULT_STROKE_LONG)},
        {"reject-device", !has_fault(player, FAULT_REJECT_OFF)},
        {"test-mode", !has_fault(player, FAULT_TEST_MODE)},
        {"head", !has_fault(player, FAULT_HEAD_BYPASSED)},
        {"belt-speed", !has_fault(player, FAULT_BELT_SPEED)},
    };
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
        LogLine *told = world_tell(player, HAPPENING_SETTING_READ);
        log_set_word(told, "what", settings[i].what);
        log_set_word(told, "agrees", yes_no(settings[i].agrees));
    }
}

static void read_counters(Player *player)
{
    LineCounts counts = line_counts(player->line);
    LogLine *told = world_tell(player, HAPPENING_COUNTERS_READ);
    log_set_number(told, "passed", counts.good_on_pallet + counts.tests_on_pallet);
    log_set_number(told, "blown", counts.blown);
}

static void tell_event(Player *player, const char *what, int64_t seconds_ago, const char *reset_by)
{
    LogLine *told = world_tell(player, HAPPENING_EVENT_READ);
    log_set_word(told, "what", what);
    log_set_number(told, "seconds_ago", seconds_ago);
    log_set_word(told, "reset_by", reset_by);
}

/* Who reset the alarm of log line `at`, "nobody" so far. */
static const char *reset_by(const Player *player, size_t at, size_t end)
{
    for (size_t i = at + 1; i < end; i++) {
        const LogLine *line = &player->log[i];
        if (!log_is(line, HAPPENING_ALARM_RESET)) continue;
        if (strcmp(log_word(line, "what"), log_word(&player->log[at], "what")) == 0) {
            return log_word(line, "by");
        }
    }
    return "nobody";
}

/* The line's own list: what the scenario has from before the run, and the last of the run. */
static void read_events(Player *player)
{
    size_t end = player->log_count;
    int left = EVENTS_TOLD_MAX;
    for (int i = 0; i < player->scenario->fault_count; i++) {
        const Fault *fault = &player->scenario->faults[i];
        if (fault->kind != FAULT_ALARM_CLEARED) continue;
        tell_event(player, site_fail_safe_words[fault->fail_safe],
                   fault->minutes_before * 60 + player->now_us / 1000000, "unknown");
    }
    for (size_t i = end; i > 0 && left > 0; i--) {
        if (!log_is(&player->log[i - 1], HAPPENING_ALARM_RAISED)) continue;
        /* copied, as telling may move the log */
        char what[LOG_WORD_BYTES];
        char by[LOG_WORD_BYTES];
        const char *found = reset_by(player, i - 1, end);
        memcpy(what, log_word(&player->log[i - 1], "what"), sizeof what);
        memcpy(by, found, strlen(found) + 1);
        int64_t ago_us = player->now_us - player->log[i - 1].time_us;
        tell_event(player, what, ago_us / 1000000, by);
        left--;
    }
    if (player->log_count == end) tell_event(player, "none", 0, "nobody");
}

/* --- Fail-safes and power -------------------------------------------------------------------- */

static void block(Player *player, const LogLine *action, bool on)
{
    const char *what = log_word(action, "what");
    int index = world_word(log_field_words(action, "what"), what); /* in the order of the enum */
    if (index < 0 || player->blocked[index] == on) {
        world_refuse(player, index < 0 ? "nothing-to-block" : on ? "is-blocked" : "is-not-blocked");
        return;
    }
    player->blocked[index] = on;
    world_show_trouble(player);
    log_set_word(world_tell(player, on ? HAPPENING_BLOCKED : HAPPENING_UNBLOCKED), "what", what);
}

static void power_off(Player *player)
{
    if (player->power_is_off) {
        world_refuse(player, "no-power");
        return;
    }
    player->power_is_off = true;
    player->ran_on_power = line_is_running(player->line);
    (void)world_tell(player, HAPPENING_POWER_LOST);
    if (!player->ran_on_power) return;
    line_run(player->line, false);
    (void)world_tell(player, HAPPENING_LINE_STOPPED);
}

/* A line that has the fail-safe stands until somebody starts it; another starts by itself. */
static void power_on(Player *player)
{
    if (!player->power_is_off) {
        world_refuse(player, "power-is-on");
        return;
    }
    player->power_is_off = false;
    (void)world_tell(player, HAPPENING_POWER_RETURNED);
    if (player->scenario->line->fail_safes[SITE_POWER]) {
        player->alarms[SITE_POWER] = true;
        log_set_word(world_tell(player, HAPPENING_ALARM_RAISED), "what",
                     site_fail_safe_words[SITE_POWER]);
    } else if (player->ran_on_power && !player->locked_off) {
        line_run(player->line, true);
        (void)world_tell(player, HAPPENING_LINE_STARTED);
    }
}

static void reset(Player *player, const LogLine *action)
{
    const char *by = log_word(action, "by");
    int index = world_word(site_fail_safe_words, log_word(action, "what"));
    int role = world_word(site_role_words, by);
    if (index < 0 || !player->alarms[index]) {
        world_refuse(player, "no-such-alarm");
        return;
    }
    if (role < 0) {
        world_refuse(player, "nobody-to-reset");
        return;
    }
    player->alarms[index] = false;
    LogLine *told = world_tell(player, HAPPENING_ALARM_RESET);
    log_set_word(told, "what", site_fail_safe_words[index]);
    log_set_word(told, "by", by);
    log_set_word(told, "agreed", yes_no(role == (int)player->scenario->line->reset_by));
}

/* Wiping the eye puts right what flour did to it. */
static void clean(Player *player, const char *what)
{
    if (strcmp(what, "photo-eye") != 0) {
        world_refuse(player, "nothing-to-clean");
        return;
    }
    world_reach(player, what);
    if (has_fault(player, FAULT_EYE_DIRTY)) {
        world_mend(player, FAULT_EYE_DIRTY);
        world_want_recheck(player);
    }
    log_set_word(world_tell(player, HAPPENING_CLEANED), "what", what);
}

void world_do_looks(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_LOOK)) {
        look(player, log_word(action, "what"));
    } else if (log_is_action(action, ACTION_COMPARE_SETTINGS)) {
        compare_settings(player);
    } else if (log_is_action(action, ACTION_READ_COUNTERS)) {
        read_counters(player);
    } else if (log_is_action(action, ACTION_READ_EVENTS)) {
        read_events(player);
    } else if (log_is_action(action, ACTION_BLOCK) || log_is_action(action, ACTION_UNBLOCK)) {
        block(player, action, log_is_action(action, ACTION_BLOCK));
    } else if (log_is_action(action, ACTION_POWER_OFF)) {
        power_off(player);
    } else if (log_is_action(action, ACTION_POWER_ON)) {
        power_on(player);
    } else if (log_is_action(action, ACTION_RESET)) {
        reset(player, action);
    } else {
        clean(player, log_word(action, "what"));
    }
}
