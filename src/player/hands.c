/* What hands do: pieces, packs, the infeed, and looking. */
#include "player/world.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* How far from the pack's faces a piece on top or underneath may lie and still touch them. */
enum { FACE_UM = 3000, PACK_REACH_UM = 5000 };

static const double PI_ = 3.14159265358979323846;

/* --- Where things are ------------------------------------------------------------------------ */

Piece *world_piece(Player *player, const char *id)
{
    for (int i = 0; i < player->kit_count; i++) {
        if (strcmp(player->site->pieces[player->kit[i].site_piece].id, id) == 0) {
            return &player->kit[i];
        }
    }
    return NULL;
}

static const SitePiece *site_piece(const Player *player, const Piece *piece)
{
    return &player->site->pieces[piece->site_piece];
}

int world_pieces_in(const Player *player, int pack)
{
    int count = 0;
    for (int i = 0; i < player->kit_count; i++) {
        if (player->kit[i].where == PIECE_IN_PACK && player->kit[i].pack == pack) count++;
    }
    return count;
}

bool world_is_right_piece(const Player *player, const SitePiece *piece)
{
    const SiteProgram *program = site_program(player->scenario->line, player->scenario->product);
    if (piece->state != SITE_SOUND || piece->is_wire) return false;
    if (strcmp(piece->good_until, player->scenario->date) < 0) return false;
    for (int i = 0; i < program->validated_count; i++) {
        if (program->validated[i].metal == piece->metal) {
            return program->validated[i].diameter_um == piece->diameter_um;
        }
    }
    return false;
}

static int64_t um(double metres)
{
    return llround(metres * 1e6);
}

SiteSpot world_spot(const Player *player, int64_t along_um)
{
    int64_t quarter = um(player->today.length_m) / 4;
    return along_um > quarter ? SITE_LEADING : along_um < -quarter ? SITE_TRAILING : SITE_MIDDLE;
}

/* The middle is the middle third, an end the outer third of the half: what lies between tests
 * neither (common practice, no source). */
static bool is_at_spot(const Player *player, int64_t along_um)
{
    int64_t length = um(player->today.length_m);
    return llabs(along_um) <= length / 6 || llabs(along_um) >= length / 3;
}

bool world_is_well_placed(const Player *player, const Piece *piece, int64_t pack_across_um)
{
    int64_t off_um = player->scenario->plan->off_centre_um;
    SiteHeight height = world_height(player, piece->up_um);
    int64_t bottom_um = um(player->today.centre_up_m - player->today.height_m / 2.0);
    bool on_axis = height != SITE_INSIDE || llabs(bottom_um + piece->up_um) <= off_um;
    return is_at_spot(player, piece->along_um) && on_axis &&
           llabs(pack_across_um + piece->across_um) <= off_um &&
           player->site->products[player->scenario->product].heights[height];
}

SiteHeight world_height(const Player *player, int64_t up_um)
{
    if (up_um >= um(player->today.height_m) - FACE_UM) return SITE_ON_TOP;
    return up_um <= FACE_UM ? SITE_UNDERNEATH : SITE_INSIDE;
}

static Vec3 direction_of(const Piece *piece)
{
    double azimuth = (double)piece->azimuth_mdeg * PI_ / 180000.0;
    double elevation = (double)piece->elevation_mdeg * PI_ / 180000.0;
    return (Vec3){cos(elevation) * cos(azimuth), cos(elevation) * sin(azimuth), sin(elevation)};
}

DetectPiece world_detect_piece(const Player *player, const Piece *piece)
{
    const SitePiece *made = site_piece(player, piece);
    double bottom = player->today.centre_up_m - player->today.height_m / 2.0;
    return (DetectPiece){
        .piece = {.shape = made->is_wire ? TARGET_WIRE : TARGET_SPHERE,
                  .diameter_m = (double)made->diameter_um * 1e-6,
                  .length_m = (double)made->length_um * 1e-6,
                  .direction = direction_of(piece),
                  .metal = made->metal->figures},
        .along_m = (double)piece->along_um * 1e-6,
        .across_m = (double)piece->across_um * 1e-6,
        .up_m = bottom + (double)piece->up_um * 1e-6,
    };
}

/* --- Pieces ---------------------------------------------------------------------------------- */

static void inspect(Player *player, const Piece *piece)
{
    const SitePiece *made = site_piece(player, piece);
    LogLine *told = world_tell(player, HAPPENING_PIECE_READ);
    log_set_word(told, "piece", made->id);
    log_set_word(told, "metal", made->metal->name);
    log_set_number(told, "diameter_um", made->diameter_um);
    log_set_word(told, "state", site_state_words[made->state]);
    log_set_word(told, "good_until", made->good_until[0] == '\0' ? "none" : made->good_until);
    log_set_word(told, "right", world_is_right_piece(player, made) ? "yes" : "no");
}

static void take(Player *player, Piece *piece)
{
    if (player_piece_in_hand(player) != NULL) {
        world_refuse(player, "hand-is-full");
    } else if (piece->where != PIECE_IN_KIT) {
        world_refuse(player, "piece-not-in-kit");
    } else {
        piece->where = PIECE_IN_HAND;
        log_set_word(world_tell(player, HAPPENING_PIECE_TAKEN), "piece",
                     site_piece(player, piece)->id);
    }
}

static void put_back(Player *player, Piece *piece)
{
    if (piece->where != PIECE_IN_HAND) {
        world_refuse(player, "piece-not-in-hand");
        return;
    }
    piece->where = PIECE_IN_KIT;
    log_set_word(world_tell(player, HAPPENING_PIECE_PUT_BACK), "piece",
                 site_piece(player, piece)->id);
}

static bool is_within_pack(const Player *player, const LogLine *action)
{
    const ProductBlock *pack = &player->today;
    int64_t up = log_number(action, "up_um");
    return llabs(log_number(action, "along_um")) <= um(pack->length_m) / 2 &&
           llabs(log_number(action, "across_um")) <= um(pack->width_m) / 2 &&
           up >= -PACK_REACH_UM && up <= um(pack->height_m) + PACK_REACH_UM;
}

static void place(Player *player, Piece *piece, const LogLine *action)
{
    int pack = (int)log_number(action, "pack");
    if (piece->where != PIECE_IN_HAND) {
        world_refuse(player, "piece-not-in-hand");
    } else if (!player->packs[pack].on_table) {
        world_refuse(player, "pack-not-on-table");
    } else if (!is_within_pack(player, action)) {
        world_refuse(player, "place-outside-pack");
    } else if (player->site->products[player->scenario->product].is_sealed &&
               world_height(player, log_number(action, "up_um")) == SITE_INSIDE) {
        world_refuse(player, "pack-is-sealed");
    } else if (world_pieces_in(player, pack) == LINE_PIECES_IN_PACK_MAX) {
        world_refuse(player, "pack-is-full");
    } else {
        piece->where = PIECE_IN_PACK;
        piece->pack = pack;
        piece->along_um = log_number(action, "along_um");
        piece->across_um = log_number(action, "across_um");
        piece->up_um = log_number(action, "up_um");
        LogLine *told = world_tell(player, HAPPENING_PIECE_PLACED);
        log_set_word(told, "piece", site_piece(player, piece)->id);
        log_set_number(told, "pack", pack);
        log_set_word(told, "spot", site_spot_words[world_spot(player, piece->along_um)]);
        log_set_word(told, "height", site_height_words[world_height(player, piece->up_um)]);
    }
}

static void turn(Player *player, Piece *piece, const LogLine *action)
{
    bool at_hand = piece->where == PIECE_IN_HAND || piece->where == PIECE_IN_KIT ||
                   (piece->where == PIECE_IN_PACK && player->packs[piece->pack].on_table);
    if (!at_hand) {
        world_refuse(player, "piece-not-at-hand");
        return;
    }
    piece->azimuth_mdeg = log_number(action, "azimuth_mdeg");
    piece->elevation_mdeg = log_number(action, "elevation_mdeg");
    log_set_word(world_tell(player, HAPPENING_PIECE_TURNED), "piece",
                 site_piece(player, piece)->id);
}

static void find(Player *player, Piece *piece)
{
    if (player_piece_in_hand(player) != NULL) {
        world_refuse(player, "hand-is-full");
        return;
    }
    if (piece->where != PIECE_IN_PACK) {
        world_refuse(player, "piece-not-in-a-pack");
        return;
    }
    bool on_table = player->packs[piece->pack].on_table;
    bool in_open_bin =
        !on_table && player->bin_open && line_where(player->line, piece->pack) == LINE_IN_BIN;
    if (!on_table && !in_open_bin) {
        world_refuse(player, "piece-out-of-reach");
        return;
    }
    if (in_open_bin) world_reach(player, "bin");
    piece->where = PIECE_IN_HAND;
    LogLine *told = world_tell(player, HAPPENING_PIECE_FOUND);
    log_set_word(told, "piece", site_piece(player, piece)->id);
    log_set_number(told, "pack", piece->pack);
    log_set_word(told, "from", on_table ? "table" : "bin");
}

static void refuse_piece(Player *player, Piece *piece)
{
    if (piece->where != PIECE_IN_KIT && piece->where != PIECE_IN_HAND) {
        world_refuse(player, "piece-not-at-hand");
        return;
    }
    piece->where = PIECE_REFUSED;
    LogLine *told = world_tell(player, HAPPENING_PIECE_REFUSED);
    log_set_word(told, "piece", site_piece(player, piece)->id);
    log_set_word(told, "right",
                 world_is_right_piece(player, site_piece(player, piece)) ? "yes" : "no");
}

/* Any piece of the site that is not in the tray may be in the store-room. */
static void fetch_piece(Player *player, const char *id)
{
    int index = site_find_piece(player->site, id);
    if (index < 0) {
        world_refuse(player, "piece-not-there");
    } else if (world_piece(player, id) != NULL) {
        world_refuse(player, "piece-was-in-kit");
    } else if (player->kit_count == SCENARIO_KIT_MAX) {
        world_refuse(player, "kit-is-full");
    } else {
        player->kit[player->kit_count++] = (Piece){.site_piece = index};
        const SitePiece *made = &player->site->pieces[index];
        LogLine *told = world_tell(player, HAPPENING_PIECE_FETCHED);
        log_set_word(told, "piece", made->id);
        log_set_word(told, "right", world_is_right_piece(player, made) ? "yes" : "no");
    }
}

/* What was lost comes into the hand, one piece at a time; how many lie there is told. */
static void search(Player *player, const LogLine *action)
{
    const char *place = log_word(action, "place");
    int at = world_word(log_field_words(action, "place"), place); /* floor, waste, belt, clothes */
    if (at < 0) {
        world_refuse(player, "no-such-place");
        return;
    }
    if (at == 2) world_reach(player, "belt");
    Piece *first = NULL;
    int64_t count = 0;
    for (int i = 0; i < player->kit_count; i++) {
        Piece *piece = &player->kit[i];
        bool is_there = (at == 0 && piece->where == PIECE_ON_FLOOR) ||
                        (at == 1 && piece->where == PIECE_DESTROYED);
        if (!is_there) continue;
        if (first == NULL) first = piece;
        count++;
    }
    LogLine *told = world_tell(player, HAPPENING_SEARCHED);
    log_set_word(told, "place", place);
    log_set_number(told, "pieces", count);
    if (first == NULL || player_piece_in_hand(player) != NULL) return;
    first->where = PIECE_IN_HAND;
    told = world_tell(player, HAPPENING_PIECE_FOUND);
    log_set_word(told, "piece", site_piece(player, first)->id);
    log_set_number(told, "pack", first->pack);
    log_set_word(told, "from", place);
}

/* --- Packs ----------------------------------------------------------------------------------- */

static void make_pack(Player *player, const LogLine *action)
{
    TestPack *pack = &player->packs[log_number(action, "pack")];
    const char *marked = log_word(action, "marked");
    if (pack->made) {
        world_refuse(player, "pack-is-there");
        return;
    }
    *pack = (TestPack){.made = true, .marked = strcmp(marked, "yes") == 0, .on_table = true};
    LogLine *told = world_tell(player, HAPPENING_PACK_MADE);
    log_set_number(told, "pack", log_number(action, "pack"));
    log_set_word(told, "marked", pack->marked ? "yes" : "no");
}

/* The sheet asks for each piece that goes through, so each is told apart. */
static void tell_piece_sent(Player *player, int pack, int index)
{
    const Piece *piece = &player->kit[index];
    const SitePiece *made = site_piece(player, piece);
    SiteSpot spot = world_spot(player, piece->along_um);
    SiteHeight height = world_height(player, piece->up_um);
    bool centre = world_is_well_placed(player, piece, player->packs[pack].sent_across_um);
    LogLine *told = world_tell(player, HAPPENING_PIECE_SENT);
    log_set_number(told, "pack", pack);
    log_set_word(told, "piece", made->id);
    log_set_word(told, "metal", made->metal->name);
    log_set_word(told, "spot", site_spot_words[spot]);
    log_set_word(told, "height", site_height_words[height]);
    log_set_word(told, "centre", centre ? "yes" : "no");
    log_set_word(told, "right", world_is_right_piece(player, made) ? "yes" : "no");
    log_set_word(told, "program_right",
                 player->program_product == player->scenario->product ? "yes" : "no");
    int lane = player->packs[pack].sent_lane;
    log_set_number(told, "lane", lane);
    player->passes =
        check_realloc(player->passes, (size_t)player->pass_count + 1, sizeof *player->passes);
    player->passes[player->pass_count++] =
        (Pass){.pack = pack, .piece = index, .spot = spot, .lane = lane};
}

/* A piece that does not hold in its pack lies on the floor by the time the pack is on the belt. */
static void drop_pieces(Player *player, int pack)
{
    for (int i = 0; i < player->kit_count; i++) {
        Piece *piece = &player->kit[i];
        if (piece->where != PIECE_IN_PACK || piece->pack != pack) continue;
        if (!world_piece_falls(player, piece)) continue;
        piece->where = PIECE_ON_FLOOR;
        LogLine *told = world_tell(player, HAPPENING_PIECE_FELL);
        log_set_word(told, "piece", site_piece(player, piece)->id);
        log_set_number(told, "pack", pack);
    }
}

/* The lane that an action names, from 0; -1, and the action answered, when the line has it not. One
 * lane need not be named; of several one must be. */
static int lane_of(Player *player, const LogLine *action)
{
    int lanes = player->scenario->line->setup.lanes;
    int64_t lane = log_number(action, "lane");
    if (lane == 0 && lanes == 1) lane = 1;
    if (lane >= 1 && lane <= lanes) return (int)lane - 1;
    world_refuse(player, "no-such-lane");
    return -1;
}

int world_lane(const Player *player, int lane)
{
    return player->scenario->line->setup.lanes == 1 ? 0 : lane + 1;
}

static void send(Player *player, const LogLine *action)
{
    int number = (int)log_number(action, "pack");
    TestPack *pack = &player->packs[number];
    int64_t free_um = (player->scenario->line->setup.lane_um - um(player->today.width_m)) / 2;
    if (!pack->on_table) {
        world_refuse(player, "pack-not-on-table");
        return;
    }
    if (llabs(log_number(action, "across_um")) > free_um) {
        world_refuse(player, "pack-beside-belt");
        return;
    }
    int lane = lane_of(player, action);
    if (lane < 0) return;
    LineTestPack laid = {
        .number = number, .lane = lane, .across_um = log_number(action, "across_um")};
    for (int i = 0; i < player->kit_count; i++) {
        const Piece *piece = &player->kit[i];
        if (piece->where != PIECE_IN_PACK || piece->pack != number) continue;
        if (world_piece_falls(player, piece)) continue;
        laid.pieces[laid.piece_count++] = world_detect_piece(player, piece);
    }
    if (!line_lay_on(player->line, &laid)) {
        world_refuse(player, "infeed-is-full");
        return;
    }
    pack->on_table = false;
    pack->sent_across_um = laid.across_um;
    pack->sent_lane = world_lane(player, lane);
    player->good_in_a_row = 0;
    LogLine *told = world_tell(player, HAPPENING_PACK_SENT);
    log_set_number(told, "pack", number);
    log_set_number(told, "pieces", world_pieces_in(player, number));
    log_set_word(told, "proven", pack->proven ? "yes" : "no");
    log_set_number(told, "lane", pack->sent_lane);
    for (int i = 0; i < player->kit_count; i++) {
        const Piece *piece = &player->kit[i];
        if (piece->where == PIECE_IN_PACK && piece->pack == number) {
            tell_piece_sent(player, number, i);
        }
    }
    drop_pieces(player, number);
}

/* A good pack in its place among test packs: bad, good, bad, good. */
static void send_good(Player *player, const LogLine *action)
{
    LineTestPack good = {.lane = lane_of(player, action)};
    if (good.lane < 0) return;
    if (!line_lay_on(player->line, &good)) {
        world_refuse(player, "infeed-is-full");
        return;
    }
    LogLine *told = world_tell(player, HAPPENING_GOOD_PACK_SENT);
    log_set_number(told, "lane", world_lane(player, good.lane));
}

/* Good packs that the line removed, opened up; the metal in them comes into the hand. */
static void examine_rejects(Player *player)
{
    int64_t finds = 0;
    if (!player->bin_open) {
        world_refuse(player, "bin-is-locked");
        return;
    }
    world_reach(player, "bin");
    for (int find = 1; find <= line_find_count(player->line); find++) {
        LineWhere where = line_find_where(player->line, find);
        if (where == LINE_IN_BIN || where == LINE_ON_FLOOR) finds++;
    }
    int64_t packs = line_scrap_bin(player->line);
    player->finds_in_hand += finds;
    LogLine *told = world_tell(player, HAPPENING_REJECTS_EXAMINED);
    log_set_number(told, "packs", packs);
    log_set_number(told, "finds", finds);
}

static void end_find(Player *player, HappeningKind kind)
{
    if (player->finds_in_hand == 0) {
        world_refuse(player, "no-find-in-hand");
        return;
    }
    log_set_number(world_tell(player, kind), "finds", player->finds_in_hand);
    player->finds_in_hand = 0;
}

/* A pack lies on the table now; what was going through the line with it was cut short. */
static void to_table(Player *player, int number, const char *from)
{
    player->packs[number].on_table = true;
    for (int i = 0; i < player->pass_count; i++) {
        Pass *pass = &player->passes[i];
        if (pass->pack == number && pass->fate == FATE_UNKNOWN) pass->fate = FATE_CAUGHT;
    }
    LogLine *told = world_tell(player, HAPPENING_PACK_FETCHED);
    log_set_number(told, "pack", number);
    log_set_number(told, "pieces", world_pieces_in(player, number));
    log_set_word(told, "from", from);
}

/* A hand takes the pack from wherever it is; from a running belt that is reaching in. */
static void fetch(Player *player, const LogLine *action)
{
    static const char *const places[] = {
        [LINE_NOWHERE] = "nowhere", [LINE_ON_INFEED] = "infeed", [LINE_ON_BELT] = "belt",
        [LINE_IN_BIN] = "bin",      [LINE_ON_PALLET] = "pallet", [LINE_IN_JAM] = "aperture",
        [LINE_ON_FLOOR] = "floor"};
    int number = (int)log_number(action, "pack");
    LineWhere where = line_where(player->line, number);
    if (where == LINE_NOWHERE) {
        world_refuse(player, "pack-not-there");
        return;
    }
    if (where == LINE_IN_BIN && !player->bin_open) {
        world_refuse(player, "bin-is-locked");
        return;
    }
    if (where == LINE_ON_BELT) world_reach(player, "belt");
    if (where == LINE_IN_JAM) world_reach(player, "aperture");
    if (where == LINE_IN_BIN) world_reach(player, "bin");
    CHECK(line_take(player->line, number));
    to_table(player, number, places[where]);
}

void world_clear_jam(Player *player)
{
    int64_t packs = 0;
    for (int number = 1; number <= LINE_TESTS_MAX; number++) {
        if (line_where(player->line, number) != LINE_IN_JAM) continue;
        CHECK(line_take(player->line, number));
        to_table(player, number, "aperture");
        packs++;
    }
    packs += line_clear_jam(player->line);
    world_mend(player, FAULT_JAM);
    log_set_number(world_tell(player, HAPPENING_JAM_CLEARED), "packs", packs);
}

static void clear_jam(Player *player)
{
    LineCounts counts = line_counts(player->line);
    if (counts.good_in_jam + counts.tests_in_jam == 0) {
        world_refuse(player, "aperture-is-free");
        return;
    }
    world_reach(player, "aperture");
    world_clear_jam(player);
    world_want_recheck(player); /* what stuck may have moved head, guides or encoder */
}

static void destroy(Player *player, const LogLine *action)
{
    int number = (int)log_number(action, "pack");
    TestPack *pack = &player->packs[number];
    bool in_bin = player->bin_open && line_where(player->line, number) == LINE_IN_BIN;
    if (!pack->on_table && !in_bin) {
        world_refuse(player, "pack-not-on-table");
        return;
    }
    if (in_bin) world_reach(player, "bin");
    LogLine *told = world_tell(player, HAPPENING_PACK_DESTROYED);
    log_set_number(told, "pack", number);
    log_set_number(told, "pieces", world_pieces_in(player, number));
    for (int i = 0; i < player->kit_count; i++) {
        Piece *piece = &player->kit[i];
        if (piece->where == PIECE_IN_PACK && piece->pack == number) piece->where = PIECE_DESTROYED;
    }
    if (in_bin) CHECK(line_take(player->line, number));
    pack->on_table = false;
    pack->destroyed = true;
}

static void do_piece(Player *player, const LogLine *action)
{
    Piece *piece = world_piece(player, log_word(action, "piece"));
    if (piece == NULL) {
        world_refuse(player, "piece-not-there");
    } else if (log_is_action(action, ACTION_INSPECT)) {
        inspect(player, piece);
    } else if (log_is_action(action, ACTION_TAKE)) {
        take(player, piece);
    } else if (log_is_action(action, ACTION_PUT_BACK)) {
        put_back(player, piece);
    } else if (log_is_action(action, ACTION_PLACE)) {
        place(player, piece, action);
    } else if (log_is_action(action, ACTION_TURN)) {
        turn(player, piece, action);
    } else if (log_is_action(action, ACTION_REFUSE)) {
        refuse_piece(player, piece);
    } else {
        find(player, piece);
    }
}

void world_do_hands(Player *player, const LogLine *action)
{
    if (log_is_action(action, ACTION_MAKE_PACK)) {
        make_pack(player, action);
    } else if (log_is_action(action, ACTION_SEND)) {
        send(player, action);
    } else if (log_is_action(action, ACTION_FETCH)) {
        fetch(player, action);
    } else if (log_is_action(action, ACTION_DESTROY)) {
        destroy(player, action);
    } else if (log_is_action(action, ACTION_WATCH)) {
        player->watching = true;
        (void)world_tell(player, HAPPENING_WATCHING);
    } else if (log_is_action(action, ACTION_FETCH_PIECE)) {
        fetch_piece(player, log_word(action, "piece"));
    } else if (log_is_action(action, ACTION_SEND_GOOD)) {
        send_good(player, action);
    } else if (log_is_action(action, ACTION_SEARCH)) {
        search(player, action);
    } else if (log_is_action(action, ACTION_EXAMINE_REJECTS)) {
        examine_rejects(player);
    } else if (log_is_action(action, ACTION_KEEP_FIND)) {
        end_find(player, HAPPENING_FIND_KEPT);
    } else if (log_is_action(action, ACTION_THROW_FIND)) {
        end_find(player, HAPPENING_FIND_THROWN_AWAY);
    } else if (log_is_action(action, ACTION_CLEAR_JAM)) {
        clear_jam(player);
    } else {
        do_piece(player, action);
    }
}
