/* The work table: the packs, the open one in plan and side view, what can be done with it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/run.h"

enum { EDGE_UM = 5000, PACKS_SHOWN = 4, WRAPPER = 14 };

/* The plan's part of the table's width; the pack from the side and the front has the rest. */
#define PLAN_PART 0.63

/* Whether the person can know what became of a pack that ran through: in an assessment when it was
 * watched, or the bin is open or was open then or since. */
static bool knows_end(const Run *run, int number)
{
    bool is_open = false;
    bool is_known = false;
    size_t count;
    const LogLine *log = player_log(run->player, &count);
    if (!run->session->is_assessment || player_bin_is_open(run->player)) return true;
    for (size_t i = 0; i < count; i++) {
        bool has_ended = log_is(&log[i], HAPPENING_REMOVED) || log_is(&log[i], HAPPENING_ACCEPTED);
        if (log_is(&log[i], HAPPENING_BIN_OPENED))
            is_open = is_known = true;
        else if (log_is(&log[i], HAPPENING_BIN_CLOSED))
            is_open = false;
        else if (has_ended && log_number(&log[i], "pack") == number)
            is_known = is_open || strcmp(log_word(&log[i], "seen"), "yes") == 0;
    }
    return is_known;
}

static const char *where_key(const Run *run, int number)
{
    static const char *const keys[] = {
        [LINE_NOWHERE] = "pack.gone",     [LINE_ON_INFEED] = "pack.infeed",
        [LINE_ON_BELT] = "pack.belt",     [LINE_IN_BIN] = "pack.bin",
        [LINE_ON_PALLET] = "pack.pallet", [LINE_IN_JAM] = "pack.jam",
        [LINE_ON_FLOOR] = "pack.floor"};
    PlayerPack pack = player_pack(run->player, number);
    bool has_run = pack.on_line == LINE_IN_BIN || pack.on_line == LINE_ON_PALLET;
    if (pack.is_on_table) return "pack.table";
    return has_run && !knows_end(run, number) ? "pack.sent" : keys[pack.on_line];
}

int run_next_pack(const Run *run)
{
    int next = 1;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        if (player_pack(run->player, number).is_made) next = number + 1;
    }
    return next;
}

void run_make_pack(const Run *run)
{
    int number = run_next_pack(run);
    LogLine action = log_action(ACTION_MAKE_PACK, 0);
    log_set_number(&action, "pack", number);
    log_set_word(&action, "marked", "yes");
    session_do(run->session, action);
    run->view->pack = number;
}

/* The packs as a row: choose one, or make a new one. */
static void draw_packs(const Run *run, DrawRect box)
{
    int shown = 0;
    double width = (box.w - 4 * UI_GAP) / 5.0;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        PlayerPack pack = player_pack(run->player, number);
        if (!pack.is_made || pack.is_destroyed || shown == PACKS_SHOWN) continue;
        DrawRect at = {box.x + shown * (width + UI_GAP), box.y, width, box.h};
        char label[64];
        (void)snprintf(label, sizeof label, "%d %s", number, run_say(run, where_key(run, number)));
        UiButton face = {.box = at,
                         .label = label,
                         .look = run->view->pack == number ? UI_CHOSEN : UI_PLAIN,
                         .px = 16};
        if (ui_button(run->ui, ui_id("pack", number), &face)) run->view->pack = number;
        shown++;
    }
    UiButton make = {.box = {box.x + shown * (width + UI_GAP), box.y, width, box.h},
                     .label = run_say(run, "pack.make"),
                     .look = UI_PLAIN,
                     .px = 16};
    if (run_next_pack(run) > LINE_TESTS_MAX) return;
    if (ui_button(run->ui, ui_id("make", 0), &make)) run_make_pack(run);
}

static ProductBlock block_of(const Run *run)
{
    return site_block(run->scenario->site, run->scenario->line, run->scenario->product);
}

/* How far across a piece at the edge lies, where there is one chosen; else in the middle. */
static double piece_across_um(const Run *run, const ProductBlock *block)
{
    return run->view->at_wall ? block->width_m * 0.5e6 - EDGE_UM : 0.0;
}

int64_t run_pack_across_um(const Run *run)
{
    const ProductBlock block = block_of(run);
    int64_t lane_um = run->scenario->line->setup.lane_um;
    int64_t free_um = (lane_um - llround(block.width_m * 1e6)) / 2 - EDGE_UM;
    return run->view->pack_at_wall && free_um > 0 ? free_um : 0;
}

/* How far from the pack's middle a spot is. */
static double along_um(SiteSpot spot, const ProductBlock *block)
{
    double reach = block->length_m * 0.5e6 * 0.83;
    return spot == SITE_LEADING ? reach : spot == SITE_TRAILING ? -reach : 0.0;
}

/* A place of the pack in its plan, whose edges are the pack's. */
static DrawPoint place_in(const Run *run, DrawRect plan, double along, double across)
{
    const ProductBlock block = block_of(run);
    return (DrawPoint){plan.x + plan.w * (0.5 + along / (block.length_m * 1e6)),
                       plan.y + plan.h * (0.5 - across / (block.width_m * 1e6))};
}

/* Where the next piece will lie in the plan. */
static DrawPoint next_in(const Run *run, DrawRect plan, SiteSpot spot)
{
    const ProductBlock block = block_of(run);
    return place_in(run, plan, along_um(spot, &block), piece_across_um(run, &block));
}

/* The height of the words over the spots. */
static double words_height(const Run *run, double width)
{
    double height = 0.0;
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        const char *words = texts_get(run->ui->texts, "words", site_spot_words[s]);
        height = fmax(height, paper_height(run->ui, width / 3.0 - UI_GAP, 16, true, words));
    }
    return height;
}

/* The spots, each a third of the room: its word over the pack, and a ring where the piece will lie
 * there, which stays on the wrapper. */
static void draw_spots(const Run *run, DrawRect room, DrawRect plan)
{
    enum { DASHES = 14, RADIUS = 26 };
    static const DrawAlign aligns[] = {
        [SITE_LEADING] = DRAW_END, [SITE_MIDDLE] = DRAW_MIDDLE, [SITE_TRAILING] = DRAW_START};
    double wide = room.w / 3.0;
    for (int s = 0; s < SITE_SPOT_COUNT; s++) {
        SiteSpot spot = (SiteSpot)s;
        int third = spot == SITE_LEADING ? 2 : spot == SITE_MIDDLE ? 1 : 0;
        DrawRect target = {room.x + third * wide + 6.0, room.y, wide - 12.0, room.h};
        bool chosen = run->view->spot == spot;
        DrawPoint at = next_in(run, plan, spot);
        double edge = fmin(at.y - plan.y, plan.y + plan.h - at.y);
        double radius = fmin(RADIUS, edge + WRAPPER - 4.0);
        for (int i = 0; i < DASHES; i++) {
            draw_arc(run->ui->list, at.x, at.y, radius, i * 360.0 / DASHES,
                     (i + 0.6) * 360.0 / DASHES, chosen ? DRAW_ACCENT : DRAW_LINE, chosen ? 4 : 2);
        }
        (void)ui_text(run->ui, (DrawRect){target.x, room.y, target.w, 0}, 16, chosen, DRAW_INK,
                      DRAW_PAPER, aligns[s],
                      texts_get(run->ui->texts, "words", site_spot_words[s]));
        if (ui_area(run->ui, ui_id("spot", s), target, RUN_BUTTON)) run->view->spot = spot;
    }
}

/* The wrapper, laid open round the pack, its corners joined. */
static void draw_wrapper(const Run *run, DrawRect plan)
{
    DrawRect outer = {plan.x - WRAPPER, plan.y - WRAPPER, plan.w + 2 * WRAPPER,
                      plan.h + 2 * WRAPPER};
    draw_rect(run->ui->list, outer, DRAW_PAPER, DRAW_INK, 2, 0);
    for (int i = 0; i < 4; i++) {
        bool right = i % 2 == 1;
        bool low = i / 2 == 1;
        DrawPoint fold[] = {
            {right ? outer.x + outer.w : outer.x, low ? outer.y + outer.h : outer.y},
            {right ? plan.x + plan.w : plan.x, low ? plan.y + plan.h : plan.y}};
        draw_line(run->ui->list, fold, 2, DRAW_INK, 2);
    }
    draw_rect(run->ui->list, plan, DRAW_SHEET, DRAW_INK, 2, 0);
}

/* The open pack from above, with the pieces that lie in it; what the hand holds is over the spot
 * where it would be laid. */
static void draw_plan(const Run *run, DrawRect room)
{
    double word = words_height(run, room.w);
    DrawRect plan = {room.x + WRAPPER, room.y + word + WRAPPER, room.w - 2 * WRAPPER,
                     room.h - word - 2 * WRAPPER};
    run->room->plan = plan;
    draw_wrapper(run, plan);
    draw_spots(run, room, plan);
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where == PLAYER_PIECE_IN_HAND && i != run->dragged) {
            DrawPoint at = next_in(run, plan, run->view->spot);
            run_draw_piece(run, at.x, at.y, &piece, true);
            run_draw_hand(run, at.x + 6, at.y + 6, RUN_HAND_AT_PIECE);
        }
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != run->view->pack) continue;
        DrawPoint at = place_in(run, plan, (double)piece.along_um, (double)piece.across_um);
        if (i != run->dragged) run_draw_piece(run, at.x, at.y, &piece, false);
    }
}

/* How high the next piece will lie: as the site's drawing wants it, until the hands chose. */
static SiteHeight height_of(const Run *run)
{
    const bool *heights = run->scenario->site->products[run->scenario->product].heights;
    SiteHeight drawn = heights[SITE_ON_TOP]   ? SITE_ON_TOP
                       : heights[SITE_INSIDE] ? SITE_INSIDE
                                              : SITE_UNDERNEATH;
    return (SiteHeight)(((int)drawn + run->view->height_turn) % (int)SITE_HEIGHT_COUNT);
}

/* The next height; a pack that is sealed has none inside. */
static void turn_height(const Run *run)
{
    bool is_sealed = run->scenario->site->products[run->scenario->product].is_sealed;
    do {
        run->view->height_turn = (run->view->height_turn + 1) % (int)SITE_HEIGHT_COUNT;
    } while (is_sealed && height_of(run) == SITE_INSIDE);
}

/* That height over the pack's bottom. Inside is the aperture's centre line, or the nearest place in
 * the pack that the line does not cross. */
static int64_t up_um(const Run *run, const ProductBlock *block)
{
    int64_t height = llround(block->height_m * 1e6);
    double line = (block->height_m / 2.0 - block->centre_up_m) * 1e6;
    switch (height_of(run)) {
    case SITE_ON_TOP:
        return height;
    case SITE_INSIDE:
        return llround(fmin(fmax(line, EDGE_UM), (double)height - EDGE_UM));
    case SITE_UNDERNEATH:
    case SITE_HEIGHT_COUNT:
        break;
    }
    return 0;
}

/* The pack from one side, to scale. */
typedef struct {
    DrawRect pack;
    double scale; /* px per um */
    double line;  /* where the aperture's centre line is */
    DrawRole letters, metal;
    bool is_front; /* across the belt to the right, instead of along it */
} Aspect;

static DrawPoint in_aspect(const Aspect *aspect, double along, double across, double up)
{
    return (DrawPoint){aspect->pack.x + aspect->pack.w / 2.0 +
                           (aspect->is_front ? across : along) * aspect->scale,
                       aspect->pack.y + aspect->pack.h - up * aspect->scale};
}

/* The pack's edge, the centre line over `room`, the pieces in it, and a ring where the next will
 * be. */
static void draw_aspect(const Run *run, const Aspect *aspect, DrawRect room)
{
    enum { DASHES = 10, RADIUS = 10 };
    DrawList *list = run->ui->list;
    const ProductBlock block = block_of(run);
    DrawPoint next = in_aspect(aspect, along_um(run->view->spot, &block),
                               piece_across_um(run, &block), (double)up_um(run, &block));
    draw_rect(list, aspect->pack, DRAW_NONE, aspect->letters, 2, 0);
    draw_dashes(list, (DrawPoint){room.x, aspect->line}, (DrawPoint){room.x + room.w, aspect->line},
                aspect->letters, 1, 8, 6);
    for (int i = 0; i < DASHES; i++) {
        draw_arc(list, next.x, next.y, aspect->is_front ? RADIUS - 3 : RADIUS, i * 360.0 / DASHES,
                 (i + 0.6) * 360.0 / DASHES, aspect->metal, aspect->is_front ? 2 : 3);
    }
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != run->view->pack) continue;
        DrawPoint at =
            in_aspect(aspect, (double)piece.along_um, (double)piece.across_um, (double)piece.up_um);
        draw_circle(list, at.x, at.y, aspect->is_front ? 4 : 6, aspect->metal, aspect->letters,
                    aspect->is_front ? 1 : 2);
    }
}

static void draw_from_side(const Run *run, DrawRect room, const Aspect *roles)
{
    const ProductBlock block = block_of(run);
    Aspect aspect = *roles;
    double most = 12.0; /* a piece on top, and its ring, stand over it */
    aspect.scale = fmin(room.w / (block.length_m * 1.15), (room.h - 2.0 * most) / block.height_m);
    double w = block.length_m * aspect.scale;
    double h = block.height_m * aspect.scale;
    aspect.pack = (DrawRect){room.x + (room.w - w) / 2.0, room.y + (room.h - h) / 2.0, w, h};
    aspect.line = aspect.pack.y + h - (block.height_m / 2.0 - block.centre_up_m) * aspect.scale;
    aspect.scale *= 1e-6;
    draw_aspect(run, &aspect, room);
}

RunFront run_draw_front(const Run *run, DrawRect room, int64_t across_um, DrawRole letters)
{
    enum { CLEAR = 4 };
    const ProductBlock block = block_of(run);
    const CoilHead *coils = &run->scenario->site->heads[run->scenario->line->head].head.coils;
    double scale = fmin((room.w - 2 * CLEAR) / coils->aperture_width_m,
                        (room.h - 2 * CLEAR) / coils->aperture_height_m);
    double w = coils->aperture_width_m * scale;
    double h = coils->aperture_height_m * scale;
    DrawRect hole = {room.x + (room.w - w) / 2.0, room.y + (room.h - h) / 2.0, w, h};
    double across = (double)across_um * 1e-6;
    DrawRect pack = {hole.x + w / 2.0 + (across - block.width_m / 2.0) * scale,
                     hole.y + h / 2.0 - (block.centre_up_m + block.height_m / 2.0) * scale,
                     block.width_m * scale, block.height_m * scale};
    DrawPoint belt[] = {{hole.x, pack.y + pack.h}, {hole.x + w, pack.y + pack.h}};
    draw_rect(run->ui->list, hole, DRAW_NONE, letters, 2, 2);
    draw_line(run->ui->list, belt, 2, letters, 2);
    return (RunFront){hole, pack, scale * 1e-6};
}

/* The aperture with its belt, and the pack as it would be laid on it. */
static void draw_from_front(const Run *run, DrawRect room, const Aspect *roles)
{
    int64_t middle_um = line_lane_um(&run->scenario->line->setup, run->view->lane);
    RunFront front = run_draw_front(run, room, middle_um + run_pack_across_um(run), roles->letters);
    Aspect aspect = *roles;
    aspect.is_front = true;
    aspect.line = front.hole.y + front.hole.h / 2.0;
    aspect.pack = front.pack;
    aspect.scale = front.scale;
    draw_aspect(run, &aspect, front.hole);
}

/* The pack from the side, and from the front in the aperture, as a button that changes how high the
 * next piece will lie. */
static void draw_side(const Run *run, DrawRect box)
{
    static const char *const keys[] = {"table.on-top", "table.on-line", "table.underneath"};
    enum { PAD = 8 };
    Ui *ui = run->ui;
    uint32_t id = ui_id("height", 0);
    Aspect roles = {0};
    UiButton face = {.box = box, .look = UI_PLAIN};
    if (ui_button(ui, id, &face)) turn_height(run);
    DrawRole ground = paper_face(ui, id, box, false, &roles.letters);
    roles.metal = roles.letters == DRAW_INK ? DRAW_ACCENT : roles.letters;
    DrawRect room = {box.x + PAD, box.y + PAD / 2.0, box.w - 2.0 * PAD, 0};
    double words = ui_text(ui, room, 16, false, roles.letters, ground, DRAW_START,
                           run_say(run, keys[height_of(run)]));
    room.y += words;
    room.h = box.y + box.h - PAD / 2.0 - room.y;
    DrawRect first = room;
    DrawRect second = room;
    if (room.w > 1.6 * room.h) {
        first.w = second.w = (room.w - PAD) / 2.0;
        second.x += second.w + PAD;
    } else {
        first.h = second.h = (room.h - PAD) / 2.0;
        second.y += second.h + PAD;
    }
    draw_from_side(run, first, &roles);
    draw_from_front(run, second, &roles);
}

static int lanes_of(const Run *run)
{
    return run->scenario->line->setup.lanes;
}

/* Where the n-th of the table's four buttons is: in a row, or enlarged in two. */
static DrawRect button_box(const Run *run, DrawRect box, int n)
{
    int columns = run->is_big ? 2 : 4;
    double row = run->is_big ? run->row : RUN_BUTTON;
    int line = n / columns;
    double width = (box.w - (columns - 1) * UI_GAP) / columns;
    return (DrawRect){box.x + n % columns * (width + UI_GAP), box.y + line * (row + UI_GAP), width,
                      row};
}

void run_lane_name(const Run *run, int lane, char *out, size_t bytes)
{
    (void)snprintf(out, bytes, "%s %d", texts_get(run->ui->texts, "words", "told-lane"), lane + 1);
}

/* The lane in which the pack will be sent; pressed, it is the next one. It stands in place of the
 * guide's button: there is no room for both. */
static void draw_lane(const Run *run, DrawRect box)
{
    char label[64];
    if (lanes_of(run) == 1) return;
    run_lane_name(run, run->view->lane, label, sizeof label);
    if (run_button(run, "lane", 0, button_box(run, box, 1), label, false))
        run->view->lane = (run->view->lane + 1) % lanes_of(run);
}

/* What can be done with the chosen pack, besides the next action. */
static void draw_table_buttons(const Run *run, DrawRect box)
{
    RunView *view = run->view;
    PlayerPack pack = player_pack(run->player, view->pack);
    if (!pack.is_on_table) {
        if (run_button(run, "fetch", 0, button_box(run, box, 0), run_say(run, "table.fetch"),
                       false)) {
            run_act_pack(run, ACTION_FETCH, view->pack);
        }
        return;
    }
    if (run_button(run, "wall", 0, button_box(run, box, 0), run_say(run, "table.at-edge"),
                   view->at_wall)) {
        view->at_wall = !view->at_wall;
    }
    if (lanes_of(run) == 1 && run_button(run, "guide", 0, button_box(run, box, 1),
                                         run_say(run, "table.along-guide"), view->pack_at_wall)) {
        view->pack_at_wall = !view->pack_at_wall;
    }
    const SitePiece *held = run_in_hand(run);
    if (held != NULL && run_button(run, "put-back", 0, button_box(run, box, 2),
                                   run_say(run, "run.put-back"), false)) {
        run_act_word(run, ACTION_PUT_BACK, "piece", held->id);
    }
    for (int i = 0; held == NULL && i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where != PLAYER_PIECE_IN_PACK || piece.pack != view->pack) continue;
        if (run_button(run, "find", 0, button_box(run, box, 2), run_say(run, "table.take-out"),
                       false)) {
            run_act_word(run, ACTION_FIND, "piece", piece.piece->id);
        }
        break;
    }
    if (run_button(run, "destroy", 0, button_box(run, box, 3), run_say(run, "table.destroy"),
                   false)) {
        run_act_pack(run, ACTION_DESTROY, view->pack);
        view->pack = 0;
    }
    draw_lane(run, box);
}

/* No pack is at hand: what this scene asks for. */
static void draw_task(const Run *run, DrawRect box)
{
    double line = draw_line_height(ui_px(run->ui, 19)) + 6.0;
    const char *words = site_text(run->scene->text, run->ui->language);
    if (line + paper_height(run->ui, box.w, 16, false, words) <= box.h) {
        run_write(run, box, 19, false, DRAW_SOFT, run_say(run, "table.empty"));
        box.y += line;
        box.h -= line;
    }
    run_task(run, box);
}

/* The chosen pack from above and from the side, or where it is. */
static void draw_chosen(const Run *run, DrawRect box)
{
    if (run_pack_is_open(run)) {
        double plan = box.w * PLAN_PART;
        draw_plan(run, (DrawRect){box.x, box.y, plan, box.h});
        draw_side(run, (DrawRect){box.x + plan + UI_GAP, box.y, box.w - plan - UI_GAP, box.h});
    } else {
        run_write(run, box, 19, false, DRAW_SOFT, run_say(run, where_key(run, run->view->pack)));
    }
}

void run_table(const Run *run, DrawRect box)
{
    double row = run->is_big ? run->row : RUN_BUTTON;
    double bottom = box.y + box.h;
    if (!run->is_big) { /* enlarged, the page's own name says it */
        run_write(run, (DrawRect){box.x, box.y, 300, 0}, 24, true, DRAW_INK,
                  run_say(run, "table.title"));
        box.y += 40;
    }
    draw_packs(run, (DrawRect){box.x, box.y, box.w, row});
    box.y += row + UI_GAP;
    box.h = bottom - box.y;
    if (run->view->pack == 0) {
        draw_task(run, box);
    } else if (run->is_big) {
        double hands = box.w * 0.38;
        draw_chosen(run, (DrawRect){box.x, box.y, box.w - hands - 2 * UI_GAP, box.h});
        draw_table_buttons(run, (DrawRect){box.x + box.w - hands, box.y, hands, box.h});
    } else {
        box.h -= row + UI_GAP;
        draw_chosen(run, box);
        draw_table_buttons(run, (DrawRect){box.x, bottom - row, box.w, row});
    }
}

static void place_at_um(const Run *run, const SitePiece *piece, double along, double across)
{
    const ProductBlock block = block_of(run);
    LogLine action = log_action(ACTION_PLACE, 0);
    log_set_word(&action, "piece", piece->id);
    log_set_number(&action, "pack", run->view->pack);
    log_set_number(&action, "along_um", llround(along));
    log_set_number(&action, "across_um", llround(across));
    log_set_number(&action, "up_um", up_um(run, &block));
    session_do(run->session, action);
}

void run_place_at_spot(const Run *run, const SitePiece *piece)
{
    const ProductBlock block = block_of(run);
    place_at_um(run, piece, along_um(run->view->spot, &block), piece_across_um(run, &block));
}

void run_place_at(const Run *run, const SitePiece *piece, double x, double y)
{
    const ProductBlock block = block_of(run);
    DrawRect plan = run->room->plan;
    double half[] = {block.length_m * 0.5e6, block.width_m * 0.5e6};
    double along = ((x - plan.x) / plan.w - 0.5) * 2.0 * half[0];
    double across = (0.5 - (y - plan.y) / plan.h) * 2.0 * half[1];
    place_at_um(run, piece, fmin(fmax(along, -half[0]), half[0]),
                fmin(fmax(across, -half[1]), half[1]));
}
