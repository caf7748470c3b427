/* What a person at the line sees, for pictures. */
#include "player/world.h"

#include <string.h>

int player_piece_count(const Player *player)
{
    return player->kit_count;
}

PlayerPiece player_piece(const Player *player, int index)
{
    CHECK(index >= 0 && index < player->kit_count);
    const Piece *piece = &player->kit[index];
    static const PlayerPieceWhere places[] = {
        [PIECE_IN_KIT] = PLAYER_PIECE_IN_KIT,   [PIECE_IN_HAND] = PLAYER_PIECE_IN_HAND,
        [PIECE_IN_PACK] = PLAYER_PIECE_IN_PACK, [PIECE_DESTROYED] = PLAYER_PIECE_GONE,
        [PIECE_ON_FLOOR] = PLAYER_PIECE_GONE,   [PIECE_REFUSED] = PLAYER_PIECE_GONE};
    return (PlayerPiece){.piece = &player->site->pieces[piece->site_piece],
                         .where = places[piece->where],
                         .pack = piece->where == PIECE_IN_PACK ? piece->pack : 0,
                         .along_um = piece->along_um,
                         .across_um = piece->across_um,
                         .up_um = piece->up_um,
                         .azimuth_mdeg = piece->azimuth_mdeg,
                         .elevation_mdeg = piece->elevation_mdeg};
}

PlayerPack player_pack(const Player *player, int number)
{
    CHECK(number >= 1 && number <= LINE_TESTS_MAX);
    const TestPack *pack = &player->packs[number];
    return (PlayerPack){.is_made = pack->made,
                        .is_marked = pack->marked,
                        .is_on_table = pack->on_table,
                        .is_destroyed = pack->destroyed,
                        .on_line = line_where(player->line, number)};
}

const char *player_row(const Player *player, const char *row, bool *is_signed)
{
    for (int i = 0; i < player->row_count; i++) {
        if (strcmp(player->rows[i].row, row) != 0) continue;
        *is_signed = player->rows[i].is_signed;
        return player->rows[i].value;
    }
    return NULL;
}

bool player_bin_is_open(const Player *player)
{
    return player->bin_open;
}

bool player_is_watching(const Player *player)
{
    return player->watching;
}

int64_t player_made_since_check(const Player *player)
{
    int64_t packs = line_counts(player->line).good_on_pallet;
    for (int i = 0; i < player->scenario->stock_count; i++) {
        const Stock *stock = &player->scenario->stocks[i];
        if (stock->to_us > player->scenario->last_good_check_us) packs += stock->packs;
    }
    return packs;
}

int player_program(const Player *player)
{
    return player->program_product;
}
