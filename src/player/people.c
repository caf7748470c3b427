/* People who are called: they come after a while, and do what is theirs when they are asked. */
#include "player/world.h"

#include <string.h>

/* How long somebody takes to come; common practice, no source. */
enum { COMES_AFTER_US = 60000000 };

typedef void DoJob(Player *player, SiteRole by);

/* --- What is theirs -------------------------------------------------------------------------- */

static void tell_repaired(Player *player, const char *fault, SiteRole by)
{
    LogLine *told = world_tell(player, HAPPENING_REPAIRED);
    log_set_word(told, "fault", fault);
    log_set_word(told, "by", site_role_words[by]);
}

/* Mend each of these faults that is set; how many were. */
static int mend_all(Player *player, const FaultKind kinds[], size_t count, SiteRole by)
{
    int mended = 0;
    for (size_t i = 0; i < count; i++) {
        if (world_fault(player, kinds[i]) == NULL) continue;
        if (kinds[i] == FAULT_JAM) {
            world_clear_jam(player);
        } else {
            world_mend(player, kinds[i]);
        }
        tell_repaired(player, scenario_fault_word(kinds[i]), by);
        mended++;
    }
    return mended;
}

/* What tools and parts put right. */
static void repair(Player *player, SiteRole by)
{
    static const FaultKind kinds[] = {
        FAULT_REJECT_SHIFT,      FAULT_BELT_SPEED,  FAULT_ENCODER_LOST,
        FAULT_EYE_DIRTY,         FAULT_EYE_BLOCKED, FAULT_STROKE_LONG,
        FAULT_REJECT_OFF,        FAULT_TEST_MODE,   FAULT_LOW_AIR,
        FAULT_CONFIRMATION_LOST, FAULT_BIN_MISSING, FAULT_HEAD_BYPASSED,
        FAULT_HEAD_COLD,         FAULT_JAM,         FAULT_PACKS_TURNED,
        FAULT_BELT_METAL,        FAULT_LANE_DEAD,
    };
    int mended = mend_all(player, kinds, sizeof kinds / sizeof kinds[0], by);
    if (mended == 0) tell_repaired(player, "nothing", by);
    world_want_recheck(player);
}

/* What stands on the approved sheet of settings. */
static void restore_settings(Player *player, SiteRole by)
{
    static const FaultKind kinds[] = {FAULT_REJECT_SHIFT, FAULT_STROKE_LONG, FAULT_REJECT_OFF,
                                      FAULT_TEST_MODE, FAULT_HEAD_BYPASSED};
    (void)mend_all(player, kinds, sizeof kinds / sizeof kinds[0], by);
    world_mend(player, FAULT_SENSITIVITY);
    world_mend(player, FAULT_WRONG_PROGRAM);
    world_want_recheck(player);
    log_set_word(world_tell(player, HAPPENING_SETTINGS_RESTORED), "by", site_role_words[by]);
}

/* The head learns the product as it is today. */
static void re_learn(Player *player, SiteRole by)
{
    Err err = {0};
    player->relearned = true;
    CHECK(world_set_program(player, player->scenario->product, &err)); /* noise was enough before */
    world_show_head(player);
    world_want_recheck(player);
    LogLine *told = world_tell(player, HAPPENING_RE_LEARNED);
    log_set_word(told, "product", player->site->products[player->scenario->product].id);
    log_set_word(told, "by", site_role_words[by]);
}

/* The good packs in the bin are taken out and scrapped. */
static void empty_bin(Player *player, SiteRole by)
{
    LogLine *told = world_tell(player, HAPPENING_BIN_EMPTIED);
    log_set_number(told, "packs", line_scrap_bin(player->line));
    log_set_word(told, "by", site_role_words[by]);
}

/* Only what went through a verified line again is released. */
static void release(Player *player, SiteRole by)
{
    bool any = false;
    bool all = true;
    for (int i = 0; i < STOCK_PLACE_COUNT; i++) {
        any = any || player->held[i];
        all = all && (!player->held[i] || player->re_passed[i]);
    }
    if (any && all) {
        world_release(player, "everything", true);
        return;
    }
    LogLine *told = world_tell(player, HAPPENING_DECLINED);
    log_set_word(told, "who", site_role_words[by]);
    log_set_word(told, "for", "release");
}

static const struct {
    const char *word;
    SiteRole role; /* of SITE_ROLE_COUNT: whom the site names for a release */
    int64_t takes_us;
    DoJob *job;
} jobs[] = {
    {"repair", SITE_MAINTENANCE, 60000000, repair},
    {"restore-settings", SITE_QUALITY, 20000000, restore_settings},
    {"re-learn", SITE_QUALITY, 60000000, re_learn},
    {"empty-bin", SITE_LINE_LEADER, 20000000, empty_bin},
    {"release", SITE_ROLE_COUNT, 20000000, release},
};
enum { JOB_COUNT = sizeof jobs / sizeof jobs[0] };

/* --- Coming and going ------------------------------------------------------------------------ */

int64_t world_people_due(const Player *player)
{
    int64_t due = INT64_MAX;
    for (int i = 0; i < SITE_ROLE_COUNT; i++) {
        const Call *call = &player->calls[i];
        bool waits = call->state == CALL_COMES || call->state == CALL_WORKS;
        if (waits && call->due_us < due) due = call->due_us;
    }
    return due;
}

bool world_people_come(Player *player)
{
    for (int i = 0; i < SITE_ROLE_COUNT; i++) {
        Call *call = &player->calls[i];
        bool waits = call->state == CALL_COMES || call->state == CALL_WORKS;
        if (!waits || call->due_us > player->now_us) continue;
        bool comes = call->state == CALL_COMES;
        call->state = CALL_IS_HERE;
        if (comes) {
            log_set_word(world_tell(player, HAPPENING_CAME), "who", site_role_words[i]);
        } else {
            jobs[call->job].job(player, (SiteRole)i);
        }
        return true;
    }
    return false;
}

static void call_person(Player *player, const char *who)
{
    int role = world_word(site_role_words, who);
    if (role < 0 || role == (int)player->scenario->role) {
        world_refuse(player, "nobody-to-call");
        return;
    }
    if (player->calls[role].state != CALL_NONE) {
        world_refuse(player, "was-called");
        return;
    }
    player->calls[role] = (Call){CALL_COMES, player->now_us + COMES_AFTER_US, 0};
    log_set_word(world_tell(player, HAPPENING_CALLED), "who", who);
}

static void ask(Player *player, const LogLine *action)
{
    const char *who = log_word(action, "who");
    const char *what = log_word(action, "for");
    int role = world_word(site_role_words, who);
    int job = 0;
    while (job < JOB_COUNT && strcmp(jobs[job].word, what) != 0) {
        job++;
    }
    if (role < 0 || player->calls[role].state != CALL_IS_HERE) {
        world_refuse(player, "nobody-here");
        return;
    }
    if (job == JOB_COUNT) {
        world_refuse(player, "nothing-to-ask-for");
        return;
    }
    int theirs =
        jobs[job].role == SITE_ROLE_COUNT ? (int)player->site->release_by : (int)jobs[job].role;
    bool stands = !line_is_running(player->line);
    bool needs_bin = jobs[job].job == empty_bin;
    if (theirs == role && jobs[job].job == repair && !stands) {
        world_refuse(player, "line-is-running");
        return;
    }
    if (theirs == role && needs_bin && !player->bin_open) {
        world_refuse(player, "bin-is-locked");
        return;
    }
    LogLine *told = world_tell(player, theirs == role ? HAPPENING_ASKED : HAPPENING_DECLINED);
    log_set_word(told, "who", who);
    log_set_word(told, "for", what);
    if (theirs != role) return;
    player->calls[role] = (Call){CALL_WORKS, player->now_us + jobs[job].takes_us, job};
}

void world_do_people(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_CALL)) {
        call_person(player, log_word(action, "who"));
    } else {
        ask(player, action);
    }
}
