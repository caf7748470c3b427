/* Which mistake of the trade a reason is. */
#include "scoring/score.h"

#include <string.h>

/* Reasons that are no mistake of the list, such as a first count put right, are left out. Common
 * practice, no source. */
static const struct {
    const char *reason, *mistake;
} rows[] = {
    {"program-not-read", "M27"},
    {"wrong-program", "M27"},
    {"wrong-piece", "M5"},
    {"pack-not-proven-clean", "M12"},
    {"metal-not-tested", "M1"},
    {"nothing-sent", "M25"},
    {"not-at-centre", "M3"},
    {"place-not-tested", "M9"},
    {"bin-opened-by-another", "M28"},
    {"bin-left-open", "M28"},
    {"bin-not-counted", "M31"},
    {"counted-by-guessing", "M31"},
    {"caught-by-hand", "M7"},
    {"not-watched", "M8"},
    {"piece-not-back", "M13"},
    {"piece-back-late", "M13"},
    {"kit-not-counted", "M13"},
    {"test-pack-among-good", "M14"},
    {"test-pack-lost", "M14"},
    {"test-pack-fetched-late", "M14"},
    {"pack-not-marked", "M14"},
    {"sent-again", "M15"},
    {"called-good", "M15"},
    {"restarted-after-failure", "M21"},
    {"not-rechecked", "M21"},
    {"held-too-little", "M17"},
    {"not-held", "M18"},
    {"released", "M19"},
    {"settings-changed", "M16"},
    {"find-not-told", "M23"},
    {"row-written-ahead", "M24"},
    {"row-not-true", "M24"},
    {"row-missing", "M24"},
    {"not-signed", "M24"},
    {"signed-for-another", "M24"},
    {"reached-in", "M30"},
};

const char *score_mistake(const ScoreLine *line)
{
    if (line->finding.state == SCORE_MET) return "";
    if (line->line->mistake[0] != '\0') return line->line->mistake;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].reason, line->finding.reason) == 0) return rows[i].mistake;
    }
    return "";
}
