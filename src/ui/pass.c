/* Reading a pass from a log. */
#include "ui/pass.h"

#include <string.h>

/* The line at which the pack judged at `at` was sent, if it had a piece in it; -1: none. */
static int sent_at(const LogLine *log, int at)
{
    int64_t pack = log_number(&log[at], "pack");
    for (int i = at; pack != 0 && i >= 0; i--) {
        if (!log_is(&log[i], HAPPENING_PACK_SENT) || log_number(&log[i], "pack") != pack) continue;
        return log_number(&log[i], "pieces") > 0 ? i : -1;
    }
    return -1;
}

int pass_find(const LogLine *log, size_t count, int at, int way)
{
    for (int i = at + way; i >= 0 && i < (int)count; i += way) {
        if (log_is(&log[i], HAPPENING_JUDGED) && sent_at(log, i) >= 0) return i;
    }
    return -1;
}

/* The action that was answered by the line at `at`. */
static const LogLine *action_of(const LogLine *log, int at)
{
    while (at > 0 && !log[at].is_action) {
        at--;
    }
    return &log[at];
}

int64_t pass_sent_across_um(const LogLine *log, size_t count, int pack)
{
    for (int i = (int)count - 1; i >= 0; i--) {
        if (log_is(&log[i], HAPPENING_PACK_SENT) && log_number(&log[i], "pack") == pack)
            return log_number(action_of(log, i), "across_um");
    }
    return 0;
}

/* The last line of a kind before `at` about the piece; -1: none. */
static int last_of(const LogLine *log, int at, HappeningKind kind, const char *piece)
{
    for (int i = at - 1; i >= 0; i--) {
        if (log_is(&log[i], kind) && strcmp(log_word(&log[i], "piece"), piece) == 0) return i;
    }
    return -1;
}

/* Where the piece lay and how it was turned when its pack was sent at `at`. */
static BenchSide lying_at(const LogLine *log, int at, const char *piece)
{
    BenchSide lying = {0};
    int placed = last_of(log, at, HAPPENING_PIECE_PLACED, piece);
    int turned = last_of(log, at, HAPPENING_PIECE_TURNED, piece);
    if (placed >= 0) {
        const LogLine *place = action_of(log, placed);
        lying.along_mm = (double)log_number(place, "along_um") / 1e3;
        lying.across_mm = (double)log_number(place, "across_um") / 1e3;
        lying.up_mm = (double)log_number(place, "up_um") / 1e3;
    }
    if (turned >= 0) {
        const LogLine *turn = action_of(log, turned);
        lying.azimuth_deg = (double)log_number(turn, "azimuth_mdeg") / 1e3;
        lying.elevation_deg = (double)log_number(turn, "elevation_mdeg") / 1e3;
    }
    return lying;
}

/* The limit in force at `at`: as somebody set it, or as a fault did. */
static double limit_at(const Scenario *scenario, const LogLine *log, int at)
{
    for (int i = at; i >= 0; i--) {
        if (log_is(&log[i], HAPPENING_SENSITIVITY_SET))
            return (double)log_number(&log[i], "percent") / 100.0;
        if (!log_is(&log[i], HAPPENING_FAULT_SET)) continue;
        if (strcmp(log_word(&log[i], "kind"), "sensitivity-changed") != 0) continue;
        for (int f = 0; f < scenario->fault_count; f++) {
            const Fault *fault = &scenario->faults[f];
            if (fault->kind == FAULT_SENSITIVITY) return (double)fault->limit_percent / 100.0;
        }
    }
    return 1.0;
}

static const SitePiece *piece_named(const Site *site, const char *id)
{
    const SitePiece *found = &site->pieces[0];
    for (int i = 0; i < site->piece_count; i++) {
        if (strcmp(site->pieces[i].id, id) == 0) found = &site->pieces[i];
    }
    return found;
}

void pass_read(const Scenario *scenario, const LogLine *log, size_t at, Pass *out)
{
    int sent = sent_at(log, (int)at);
    CHECK(sent >= 0);
    const LogLine *judged = &log[at];
    const LogLine *first = &log[sent + 1]; /* each piece that is sent is told after its pack */
    CHECK(log_is(first, HAPPENING_PIECE_SENT));
    int fell = last_of(log, (int)at, HAPPENING_PIECE_FELL, log_word(first, "piece"));
    *out = (Pass){.pack = (int)log_number(judged, "pack"),
                  .piece_count = (int)log_number(&log[sent], "pieces"),
                  .piece = piece_named(scenario->site, log_word(first, "piece")),
                  .head = scenario->line->head,
                  .product = scenario->product,
                  .lying = lying_at(log, sent, log_word(first, "piece")),
                  .across_mm = (double)log_number(action_of(log, sent), "across_um") / 1e3,
                  .is_found = strcmp(log_word(judged, "found"), "yes") == 0,
                  .ratio = (double)log_number(judged, "ratio_milli") / 1e3,
                  .limit = limit_at(scenario, log, (int)at),
                  .is_program_right = strcmp(log_word(first, "program_right"), "yes") == 0,
                  .has_fallen = fell > sent};
}

void pass_on_bench(Session *session, const Pass *pass)
{
    BenchSide lying = pass->lying;
    lying.across_mm += pass->across_mm;
    bench_set_up(session, pass->head, pass->product, pass->piece, &lying);
}
