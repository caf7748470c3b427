/* What the parts of the run's place share: words, buttons, actions, the piece and the hand. */
#include "ui/run.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ui/plot.h"

const char *run_say(const Run *run, const char *key)
{
    return ui_say(run->ui, key);
}

void run_write(const Run *run, DrawRect box, int px, bool is_bold, DrawRole role, const char *words)
{
    (void)ui_text(run->ui, box, px, is_bold, role, DRAW_PAPER, DRAW_START, words);
}

bool run_button(const Run *run, const char *name, int index, DrawRect box, const char *label,
                bool is_chosen)
{
    UiButton face = {.box = box,
                     .label = label,
                     .look = is_chosen ? UI_CHOSEN : UI_PLAIN,
                     .px = run->is_big ? 16 : 0};
    return ui_button(run->ui, ui_id(name, index), &face);
}

void run_act(const Run *run, ActionKind kind)
{
    session_do(run->session, log_action(kind, 0));
}

void run_act_word(const Run *run, ActionKind kind, const char *field, const char *word)
{
    LogLine action = log_action(kind, 0);
    log_set_word(&action, field, word);
    session_do(run->session, action);
}

void run_act_pack(const Run *run, ActionKind kind, int pack)
{
    LogLine action = log_action(kind, 0);
    log_set_number(&action, "pack", pack);
    session_do(run->session, action);
}

void run_piece_name(const Run *run, const SitePiece *piece, char *out, size_t bytes)
{
    const Texts *texts = run->ui->texts;
    Text name = {0};
    if (piece->is_wire) {
        Text thick = {0};
        Text length = {0};
        texts_add_mm(texts, piece->diameter_um, &thick);
        texts_add_mm(texts, piece->length_um, &length);
        const char *const values[] = {thick.bytes, length.bytes};
        plot_fill(&name, run_say(run, "bench.wire-size"), values, 2);
        text_clear(&thick);
        text_clear(&length);
    } else {
        text_addf(&name, "%s ", texts_get(texts, "words", piece->metal->name));
        texts_add_mm(texts, piece->diameter_um, &name);
        text_add(&name, " mm");
    }
    (void)snprintf(out, bytes, "%s", name.bytes);
    text_clear(&name);
}

const SitePiece *run_in_hand(const Run *run)
{
    for (int i = 0; i < player_piece_count(run->player); i++) {
        PlayerPiece piece = player_piece(run->player, i);
        if (piece.where == PLAYER_PIECE_IN_HAND) return piece.piece;
    }
    return NULL;
}

bool run_pack_is_open(const Run *run)
{
    return run->view->pack > 0 && player_pack(run->player, run->view->pack).is_on_table;
}

void run_draw_piece(const Run *run, double x, double y, const PlayerPiece *piece, bool is_held)
{
    DrawList *list = run->ui->list;
    if (piece->piece->is_wire) {
        double angle = (double)piece->azimuth_mdeg * 3.14159265358979 / 180000.0;
        double r = piece->elevation_mdeg == 0 ? 20.0 : 4.0;
        DrawPoint wire[] = {{x - r * cos(angle), y + r * sin(angle)},
                            {x + r * cos(angle), y - r * sin(angle)}};
        draw_line(list, wire, 2, DRAW_ACCENT, 4);
        return;
    }
    draw_rect(list, (DrawRect){x - 28, y - 16, 48, 32}, DRAW_SHEET,
              is_held ? DRAW_ACCENT : DRAW_INK, is_held ? 4 : 2, 6);
    draw_circle(list, x - 19, y, 3, DRAW_PAPER, DRAW_INK, 2);
    draw_circle(list, x, y, 5, DRAW_ACCENT, DRAW_INK, 2);
}

/* A mitten from below, its thumb to the right, and its cuff. */
void run_draw_hand(const Run *run, double x, double y, double scale)
{
    static const DrawPoint outline[] = {{0, 0},   {6, -12}, {16, -14}, {24, -6}, {30, 8},
                                        {36, -2}, {44, 0},  {44, 10},  {36, 28}, {32, 46},
                                        {4, 46},  {2, 30},  {-4, 14}};
    enum { POINTS = sizeof outline / sizeof outline[0] };
    DrawPoint hand[POINTS];
    for (int i = 0; i < POINTS; i++) {
        hand[i] = (DrawPoint){x + scale * outline[i].x, y + scale * outline[i].y};
    }
    draw_polygon(run->ui->list, hand, POINTS, DRAW_SHEET, DRAW_INK, 2);
    draw_rect(run->ui->list, (DrawRect){x + scale * 2, y + scale * 46, scale * 32, scale * 12},
              DRAW_TINT, DRAW_INK, 2, 0);
}
