/* Dragging in the run: a second way to do what the buttons do. */
#include <math.h>
#include <string.h>

#include "ui/run.h"

enum { SLIDE_PX = 24 }; /* a press that moved less is no drag */

static bool is_inside(DrawRect box, double x, double y)
{
    return x >= box.x && x < box.x + box.w && y >= box.y && y < box.y + box.h;
}

/* The third of the pack in which a piece lies. */
static SiteSpot third_of(const Run *run, const PlayerPiece *piece)
{
    const ProductBlock block =
        site_block(run->scenario->site, run->scenario->line, run->scenario->product);
    double along = (double)piece->along_um / (block.length_m * 1e6);
    return along > 1.0 / 6.0 ? SITE_LEADING : along < -1.0 / 6.0 ? SITE_TRAILING : SITE_MIDDLE;
}

int run_dragged(const Run *run)
{
    const UiMemory *memory = &run->session->memory;
    int dragged = -1;
    if (memory->pressed == 0 || run->scene == NULL) return -1;
    if (hypot(memory->pointer_x - memory->down_x, memory->pointer_y - memory->down_y) < SLIDE_PX)
        return -1;
    bool is_free = run_in_hand(run) == NULL;
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        bool at_hand =
            piece.where == PLAYER_PIECE_IN_HAND || (piece.where == PLAYER_PIECE_IN_KIT && is_free);
        bool is_open = piece.where == PLAYER_PIECE_IN_PACK && piece.pack == run->view->pack &&
                       run_pack_is_open(run) && is_free;
        if (at_hand && memory->pressed == ui_id("piece", i)) dragged = i;
        if (is_open && memory->pressed == ui_id("spot", (int)third_of(run, &piece))) dragged = i;
    }
    return dragged;
}

static bool holds(const Run *run, const SitePiece *piece)
{
    const char *held = player_piece_in_hand(run->player);
    return held != NULL && strcmp(held, piece->id) == 0;
}

/* From the tray a piece goes to the spot it was let go over; within the pack to that very place. */
static void let_go_over_plan(const Run *run, const PlayerPiece *dragged, double x, double y)
{
    const SitePiece *piece = dragged->piece;
    if (dragged->where == PLAYER_PIECE_IN_PACK) {
        run_act_word(run, ACTION_FIND, "piece", piece->id);
        if (holds(run, piece)) run_place_at(run, piece, x, y);
        return;
    }
    if (dragged->where == PLAYER_PIECE_IN_KIT) {
        run_act_word(run, ACTION_INSPECT, "piece", piece->id);
        run_act_word(run, ACTION_TAKE, "piece", piece->id);
    }
    double part = (x - run->room->plan.x) / run->room->plan.w;
    run->view->spot = part < 1.0 / 3.0   ? SITE_TRAILING
                      : part < 2.0 / 3.0 ? SITE_MIDDLE
                                         : SITE_LEADING;
    if (holds(run, piece)) run_place_at_spot(run, piece);
}

static void let_go(const Run *run, const PlayerPiece *dragged, double x, double y)
{
    const SitePiece *piece = dragged->piece;
    if (is_inside(run->room->plan, x, y)) {
        let_go_over_plan(run, dragged, x, y);
    } else if (is_inside(run->room->tray, x, y) && dragged->where == PLAYER_PIECE_IN_PACK) {
        run_act_word(run, ACTION_FIND, "piece", piece->id);
        if (holds(run, piece)) run_act_word(run, ACTION_PUT_BACK, "piece", piece->id);
    }
}

void run_drag(const Run *run)
{
    if (run->dragged < 0) return;
    const UiMemory *memory = &run->session->memory;
    PlayerPiece piece = player_piece(run->player, run->dragged);
    if (run->ui->event->kind == UI_UP) {
        let_go(run, &piece, memory->pointer_x, memory->pointer_y);
    } else {
        run_draw_piece(run, memory->pointer_x, memory->pointer_y, &piece, true);
        run_draw_hand(run, memory->pointer_x + 6, memory->pointer_y + 6, RUN_HAND_AT_PIECE);
    }
}
