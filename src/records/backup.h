/* A copy of a store, made while it is in use. */
#ifndef RECORDS_BACKUP_H
#define RECORDS_BACKUP_H

#include "records/ledger.h"

/* Copy the store into the new folder `folder`: store.db with PINs' verifiers and sealed keys, a
 * head of its last entry, and station.key, so that the copy is a working store of the same station
 * when it is put in place of a lost one. Who can read it can write as this station: the folder is
 * its owner's alone, and belongs on a disk that is locked away.
 *
 * It is written beside as "folder.new", synced, read again with rec_verify, and only then gets its
 * name: a folder of that name is whole. Others may read the store meanwhile; who writes waits.
 *
 * The records are open for writing. ERR_IO: `folder` is there already, disk full, no rights;
 * ERR_DAMAGE: rec_verify finds something in the copy, and so in the store; no folder is then left.
 */
MUST_USE bool rec_backup(Records *records, const char *folder, Err *err);

#endif
