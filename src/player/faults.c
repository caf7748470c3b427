/* The faults of the scenario: when they set in, and what the line and the head make of them. What
 * comes of it is the line's own affair. */
#include "player/world.h"

#include <math.h>

const Fault *world_fault(const Player *player, FaultKind kind)
{
    const Fault *found = NULL; /* the scenario's last one of several */
    for (int i = 0; i < player->scenario->fault_count; i++) {
        const Fault *fault = &player->scenario->faults[i];
        if (fault->kind == kind && player->faults[i] == FAULT_IS_SET) found = fault;
    }
    return found;
}

static bool has_fault(const Player *player, FaultKind kind)
{
    return world_fault(player, kind) != NULL;
}

void world_show_trouble(Player *player)
{
    static const Fault none = {0};
    const Fault *shift = world_fault(player, FAULT_REJECT_SHIFT);
    const Fault *speed = world_fault(player, FAULT_BELT_SPEED);
    const Fault *dirty = world_fault(player, FAULT_EYE_DIRTY);
    const Fault *stroke = world_fault(player, FAULT_STROKE_LONG);
    const Fault *air = world_fault(player, FAULT_LOW_AIR);
    const Fault *turned = world_fault(player, FAULT_PACKS_TURNED);
    int64_t belt_um_s = player->scenario->line->setup.belt_um_s;
    if (air == NULL) air = &none;
    LineTrouble trouble = {
        .reject_shift_us = shift == NULL ? 0 : shift->shift_us,
        .belt_um_s = speed == NULL ? 0 : belt_um_s * speed->percent / 100,
        .eye_late_um = dirty == NULL ? 0 : dirty->late_um,
        .eye_covered = player->blocked[BLOCK_EYE] || has_fault(player, FAULT_EYE_BLOCKED),
        .encoder_lost = player->blocked[BLOCK_ENCODER] || has_fault(player, FAULT_ENCODER_LOST),
        .stroke_us = stroke == NULL ? 0 : stroke->stroke_us,
        .reject_off = has_fault(player, FAULT_REJECT_OFF) || has_fault(player, FAULT_TEST_MODE),
        .air_shut = player->blocked[BLOCK_AIR],
        .air_blows = air->blows,
        .air_blow_us = air->blow_us,
        .confirmation_lost =
            player->blocked[BLOCK_BIN_SENSOR] || has_fault(player, FAULT_CONFIRMATION_LOST),
        .bin_seems_full = player->blocked[BLOCK_LEVEL_SENSOR],
        .bin_open = player->bin_open || player->bin_unlocked,
        .bin_missing = has_fault(player, FAULT_BIN_MISSING),
        .head_bypassed = has_fault(player, FAULT_HEAD_BYPASSED),
        .is_jammed = has_fault(player, FAULT_JAM),
        .turned_every = turned == NULL ? 0 : turned->every,
    };
    line_set_trouble(player->line, &trouble);
}

/* Metal of a fault, at the middle of what it lies in. */
static DetectPiece metal_of(const Fault *fault, double up_m)
{
    return (DetectPiece){.piece = {.shape = fault->length_um != 0 ? TARGET_WIRE : TARGET_SPHERE,
                                   .diameter_m = (double)fault->diameter_um * 1e-6,
                                   .length_m = (double)fault->length_um * 1e-6,
                                   .direction = {1.0, 0.0, 0.0},
                                   .metal = fault->metal->figures},
                         .up_m = up_m};
}

/* The product is as warm as that, and conducts as it then does: by itself, as is given, or as a
 * pack whose core is not thawed yet. */
static void warm_product(Player *player, const Fault *fault)
{
    const SiteProduct *product = &player->site->products[player->scenario->product];
    double warmer = site_conductivity_at(product, (double)fault->temperature_mc * 1e-3);
    double given = (double)fault->conductivity_us_per_m * 1e-6;
    double conducts = given == 0.0 ? warmer : given;
    if (fault->thawed_percent != 0) {
        conducts =
            product_conductivity_thawing(warmer, given, (double)fault->thawed_percent / 100.0);
    }
    player->today.conductivity_s_per_m = conducts;
}

/* Metal in the belt lies on the belt: at the bottom of the pack. */
static void set_joint(Player *player, const Fault *fault)
{
    double bottom = player->today.centre_up_m - player->today.height_m / 2.0;
    DetectPiece piece = metal_of(fault, bottom);
    line_set_joint(player->line, fault->belt_um, &piece);
}

static void contaminate(Player *player, const Fault *fault)
{
    DetectPiece piece = metal_of(fault, player->today.centre_up_m);
    (void)line_contaminate(player->line, fault->at_pack, &piece);
}

/* No more than there is room for: the fault may set in when packs are in the bin. */
static void fill_bin(Player *player, const Fault *fault)
{
    LineCounts counts = line_counts(player->line);
    int64_t room =
        player->scenario->line->setup.bin_packs - counts.good_in_bin - counts.tests_in_bin;
    line_fill_bin(player->line, fault->packs < room ? fault->packs : room);
}

/* What a fault changes for good when it sets in; all else is shown to the line as it is. */
static void set_fault(Player *player, const Fault *fault)
{
    Err err = {0};
    if (fault->kind == FAULT_SENSITIVITY) player->limit_percent = fault->limit_percent;
    if (fault->kind == FAULT_WRONG_PROGRAM && !world_set_program(player, fault->product, &err))
        return;
    if (fault->kind == FAULT_TEMPERATURE) warm_product(player, fault);
    if (fault->kind == FAULT_BELT_METAL) set_joint(player, fault);
    if (fault->kind == FAULT_CONTAMINANT) contaminate(player, fault);
    if (fault->kind == FAULT_BIN_FILLED) fill_bin(player, fault);
    if (fault->kind == FAULT_BIN_UNLOCKED) player->bin_unlocked = true;
    if (fault->kind == FAULT_SENSITIVITY || fault->kind == FAULT_WRONG_PROGRAM ||
        fault->kind == FAULT_TEMPERATURE || fault->kind == FAULT_HEAD_COLD) {
        world_show_head(player);
    }
    world_show_trouble(player);
    log_set_word(world_tell(player, HAPPENING_FAULT_SET), "kind", scenario_fault_word(fault->kind));
}

void world_set_faults(Player *player)
{
    for (int i = 0; i < player->scenario->fault_count; i++) {
        const Fault *fault = &player->scenario->faults[i];
        if (player->faults[i] != FAULT_WAITS || player->passes_judged < fault->after_passes)
            continue;
        player->faults[i] = FAULT_IS_SET;
        set_fault(player, fault);
    }
}

void world_mend(Player *player, FaultKind kind)
{
    Err err = {0};
    for (int i = 0; i < player->scenario->fault_count; i++) {
        bool is_it = player->scenario->faults[i].kind == kind;
        if (is_it && player->faults[i] == FAULT_IS_SET) player->faults[i] = FAULT_MENDED;
    }
    if (kind == FAULT_SENSITIVITY) player->limit_percent = 100;
    if (kind == FAULT_BELT_METAL) line_set_joint(player->line, 0, NULL);
    if (kind == FAULT_WRONG_PROGRAM) {
        CHECK(world_set_program(player, player->scenario->product, &err)); /* as at the start */
    }
    if (kind == FAULT_SENSITIVITY || kind == FAULT_WRONG_PROGRAM || kind == FAULT_HEAD_COLD) {
        world_show_head(player);
    }
    world_show_trouble(player);
}

bool world_piece_falls(const Player *player, const Piece *piece)
{
    for (int i = 0; i < player->scenario->fault_count; i++) {
        const Fault *fault = &player->scenario->faults[i];
        bool is_it = fault->kind == FAULT_PIECE_FALLS && fault->piece == piece->site_piece;
        if (is_it && player->faults[i] == FAULT_IS_SET) return true;
    }
    return false;
}
