/* Times along a chain. */
#include "records/chain.h"

static bool check_start(int64_t starts, const RecEntry *entry, Err *err)
{
    RecKind kind = entry->kind_code;
    bool is_start = kind == REC_KIND_START;
    bool may_be_new =
        is_start || kind == REC_KIND_CLOCK || kind == REC_KIND_STORE || kind == REC_KIND_RESTORE;
    bool fits = entry->start >= 1 && entry->start <= starts + (may_be_new ? 1 : 0) &&
                (!is_start || entry->start == starts + 1);
    return fits || err_set(err, ERR_INPUT, "start is %lld after %lld starts",
                           (long long)entry->start, (long long)starts);
}

bool rec_chain_check_times(const RecEntry *before, int64_t starts, const RecEntry *entry, Err *err)
{
    int64_t said = 0;
    if (!check_start(starts, entry, err)) return false;
    if (before == NULL) return true;
    bool is_said = entry->kind_code == REC_KIND_CLOCK;
    if (is_said) said = rec_body_whole(entry, "moved_us");
    int64_t moved =
        rec_clock_moved(before, entry->time_us, entry->ticks_us, entry->start == starts + 1);
    if (moved == said) return true;
    if (!is_said) {
        return err_set(err, ERR_INPUT, "PC time moved by %lld us without a clock entry",
                       (long long)moved);
    }
    return err_set(err, ERR_INPUT, "says that PC time moved by %lld us, it moved by %lld us",
                   (long long)said, (long long)moved);
}
