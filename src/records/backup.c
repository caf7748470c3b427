/* Backups. */
#include "records/backup.h"

#include <string.h>

#include "base/os.h"
#include "records/verify.h"
#include "records/writing.h"

/* Remove what a copy holds, and its folder; of another folder nothing but these files. */
static bool remove_copy(const char *folder, Err *err)
{
    static const char *const names[] = {"store.db", "store.db-journal", "head",
                                        "head.new", "station.key",      "station.key.new"};
    bool ok = true;
    for (size_t i = 0; ok && i < sizeof names / sizeof names[0]; i++) {
        Text path = {0};
        text_addf(&path, "%s/%s", folder, names[i]);
        ok = os_remove(path.bytes, err);
        text_clear(&path);
    }
    return ok && os_remove(folder, err);
}

/* Rows and head of one moment, and the key. */
static bool copy_all(Records *records, const char *folder, Err *err)
{
    RecRow row = {0};
    RecEntry last = {0};
    Text database = {0};
    Text path = {0};
    Text head = {0};
    bool found = false;
    bool ok = false;
    text_addf(&database, "%s/store.db", folder);
    text_addf(&path, "%s/head", folder);
    if (!rec_store_freeze(records->store, err)) goto done;
    ok = rec_store_entry_until(records->store, records->station, INT64_MAX, &row, &found, err) &&
         rec_row_read(&row, &last, err) && rec_store_copy(records->store, database.bytes, err);
    rec_store_rollback(records->store);
    if (ok) {
        rec_head_print(&last, records->seed, &head);
        ok = rec_station_seed_write(folder, "station.key", records->seed, err) &&
             os_file_write(path.bytes, head.bytes, head.len, err);
    }
done:
    text_clear(&head);
    text_clear(&path);
    text_clear(&database);
    rec_entry_clear(&last);
    rec_row_clear(&row);
    return ok;
}

static bool check_copy(const char *folder, Err *err)
{
    RecReport report = {0};
    bool ok = rec_verify(folder, NULL, NULL, NULL, &report, err);
    if (ok && report.finding_count > 0) {
        ok = err_set(err, ERR_DAMAGE, "%zu findings, the first: %s", report.finding_count,
                     report.findings[0].text.bytes);
    }
    rec_report_clear(&report);
    return ok;
}

bool rec_backup(Records *records, const char *folder, Err *err)
{
    CHECK(records != NULL && records->start > 0 && folder != NULL && err != NULL);
    Text aside = {0};
    Err unremoved = {0};
    bool ok = false;
    text_addf(&aside, "%s.new", folder);
    if (os_is_folder(folder) || os_is_file(folder)) {
        (void)err_set(err, ERR_IO, "%s: is there already; a backup goes to a new folder", folder);
    } else if (remove_copy(aside.bytes, err) && os_folder_make_private(aside.bytes, err)) {
        ok = copy_all(records, aside.bytes, err) && check_copy(aside.bytes, err) &&
             os_file_move(aside.bytes, folder, err);
        if (!ok) err_context(err, "the backup was not made");
        if (!ok) (void)remove_copy(aside.bytes, &unremoved);
    }
    text_clear(&aside);
    return ok;
}
