/* A disk of the tests: the VFS under SQLite is wrapped, so that each change of a store's files can
 * be counted, refused, and kept in a list from which the disk after a power cut is made.
 *
 * A point is one open that makes a file, write, sync, truncate or delete by SQLite. The files that
 * the ledger itself writes (head, keys, heads outside) are looked at around each point: one that
 * became another file was written whole, synced and renamed (os_file_write); one that was changed
 * in place was not synced, but where head.h says so.
 *
 * What a power cut may do: whatever was not synced is lost or kept, each 512-byte sector for
 * itself; a file's name is there or gone as its folder was last synced. A sector itself is whole.
 */
#ifndef TESTS_CRASH_VFS_H
#define TESTS_CRASH_VFS_H

#include "unit/records/kinds.h"

#include <sys/stat.h>

#include "base/random.h"

enum { CRASH_FILES_MAX = 8, CRASH_SECTOR_BYTES = 512 };

typedef enum {
    CRASH_CREATE,
    CRASH_DELETE,
    CRASH_WRITE,
    CRASH_TRUNCATE,
    CRASH_SYNC,
    CRASH_FOLDER_SYNC,
    CRASH_REPLACE, /* written whole, synced and renamed */
    CRASH_ACKNOWLEDGE,
} CrashKind;

typedef struct {
    CrashKind kind;
    int file;
    int64_t offset; /* of a truncate: the new size */
    Text bytes;
} CrashOp;

/* How a point fails. */
typedef enum {
    CRASH_NEVER,
    CRASH_FULL,    /* this one call, for want of room: half a write is done */
    CRASH_BROKEN,  /* this one call, not done at all */
    CRASH_STOPPED, /* this one and all after it */
} CrashFault;

/* One file as it is on the disk. */
typedef struct {
    bool exists;
    Text bytes;
} CrashImage;

typedef struct {
    sqlite3_vfs vfs;
    sqlite3_vfs *real;
    /* What is counted and refused. */
    int64_t points;
    int64_t fault_at; /* which point, from 0 */
    CrashFault fault;
    bool has_failed;
    /* What is recorded, while `folder` is not NULL. */
    const Text *folder;
    const char *names[CRASH_FILES_MAX]; /* below the folder; the first two are SQLite's */
    size_t name_count;
    CrashOp *ops;
    size_t op_count;
    ino_t inodes[CRASH_FILES_MAX];
    Text seen[CRASH_FILES_MAX];
} CrashDisk;

typedef struct {
    sqlite3_file base;
    CrashDisk *disk;
    int file; /* -1: not one of the store's */
    bool is_new_journal;
    sqlite3_file *real;
} CrashFile;

enum { CRASH_STORE, CRASH_JOURNAL, CRASH_OWN_FILES };

/* --- Recording ------------------------------------------------------------------------------- */

static inline void crash_note(CrashDisk *disk, CrashKind kind, int file, int64_t offset,
                              const void *bytes, size_t len)
{
    if (disk->folder == NULL || file < 0) return;
    disk->ops = check_realloc(disk->ops, disk->op_count + 1, sizeof *disk->ops);
    CrashOp *op = &disk->ops[disk->op_count++];
    *op = (CrashOp){.kind = kind, .file = file, .offset = offset};
    if (len > 0) text_add_bytes(&op->bytes, bytes, len);
}

/* The count in a head's second line. */
static inline long long crash_head_count(const Text *head)
{
    const char *line = strchr(text_string(head), '\n');
    return line == NULL ? 0 : strtoll(line + 1, NULL, 10);
}

static inline void crash_look_at(CrashDisk *disk, size_t i)
{
    struct stat info = {0};
    Text path = path_in(disk->folder, disk->names[i]);
    bool is_there = stat(path.bytes, &info) == 0;
    Text now = read_file(disk->folder, disk->names[i]);
    Text *seen = &disk->seen[i];
    int file = (int)i;
    if (!is_there && disk->inodes[i] != 0) {
        crash_note(disk, CRASH_DELETE, file, 0, NULL, 0); /* moved on, its folder synced */
        crash_note(disk, CRASH_FOLDER_SYNC, file, 0, NULL, 0);
    } else if (is_there && info.st_ino != disk->inodes[i]) {
        crash_note(disk, CRASH_REPLACE, file, 0, now.bytes, now.len);
    } else if (is_there && (now.len != seen->len || memcmp(now.bytes, seen->bytes, now.len) != 0)) {
        crash_note(disk, CRASH_WRITE, file, 0, now.bytes, now.len);
        if (crash_head_count(&now) / REC_HEAD_SYNC_ENTRIES !=
            crash_head_count(seen) / REC_HEAD_SYNC_ENTRIES) {
            crash_note(disk, CRASH_SYNC, file, 0, NULL, 0);
        }
    }
    disk->inodes[i] = is_there ? info.st_ino : 0;
    text_clear(seen);
    *seen = now;
    text_clear(&path);
}

/* Take note of what happened to the ledger's own files. */
static inline void crash_look(CrashDisk *disk)
{
    for (size_t i = CRASH_OWN_FILES; disk->folder != NULL && i < disk->name_count; i++) {
        crash_look_at(disk, i);
    }
}

/* Count a point; true when it fails. */
static inline bool crash_point(CrashDisk *disk)
{
    crash_look(disk);
    int64_t at = disk->points++;
    bool fails = disk->fault != CRASH_NEVER &&
                 (at == disk->fault_at || (disk->fault == CRASH_STOPPED && at > disk->fault_at));
    disk->has_failed = disk->has_failed || fails;
    return fails;
}

/* --- The VFS --------------------------------------------------------------------------------- */

static inline CrashFile *crash_file(sqlite3_file *file)
{
    return (CrashFile *)(void *)file;
}

static inline int crash_close(sqlite3_file *file)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods == NULL ? SQLITE_OK : real->pMethods->xClose(real);
}

static inline int crash_read(sqlite3_file *file, void *bytes, int count, sqlite3_int64 offset)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xRead(real, bytes, count, offset);
}

static inline int crash_write(sqlite3_file *file, const void *bytes, int count,
                              sqlite3_int64 offset)
{
    CrashFile *own = crash_file(file);
    sqlite3_file *real = own->real;
    if (crash_point(own->disk)) {
        if (own->disk->fault != CRASH_FULL) return SQLITE_IOERR_WRITE;
        (void)real->pMethods->xWrite(real, bytes, count / 2, offset);
        return SQLITE_FULL;
    }
    crash_note(own->disk, CRASH_WRITE, own->file, offset, bytes, (size_t)count);
    return real->pMethods->xWrite(real, bytes, count, offset);
}

static inline int crash_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    CrashFile *own = crash_file(file);
    if (crash_point(own->disk)) return SQLITE_IOERR_TRUNCATE;
    crash_note(own->disk, CRASH_TRUNCATE, own->file, size, NULL, 0);
    return own->real->pMethods->xTruncate(own->real, size);
}

/* The first sync of a new journal syncs its folder as well, says SQLite's os_unix.c; noted first,
 * so that the name may be there without the bytes. */
static inline int crash_sync(sqlite3_file *file, int flags)
{
    CrashFile *own = crash_file(file);
    if (crash_point(own->disk)) return SQLITE_IOERR_FSYNC;
    if (own->is_new_journal) crash_note(own->disk, CRASH_FOLDER_SYNC, own->file, 0, NULL, 0);
    crash_note(own->disk, CRASH_SYNC, own->file, 0, NULL, 0);
    own->is_new_journal = false;
    return own->real->pMethods->xSync(own->real, flags);
}

static inline int crash_size(sqlite3_file *file, sqlite3_int64 *size)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xFileSize(real, size);
}

static inline int crash_lock(sqlite3_file *file, int level)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xLock(real, level);
}

static inline int crash_unlock(sqlite3_file *file, int level)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xUnlock(real, level);
}

static inline int crash_is_reserved(sqlite3_file *file, int *is_reserved)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xCheckReservedLock(real, is_reserved);
}

static inline int crash_control(sqlite3_file *file, int what, void *value)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xFileControl(real, what, value);
}

static inline int crash_sector(sqlite3_file *file)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xSectorSize(real);
}

static inline int crash_traits(sqlite3_file *file)
{
    sqlite3_file *real = crash_file(file)->real;
    return real->pMethods->xDeviceCharacteristics(real);
}

static const sqlite3_io_methods crash_methods = {
    .iVersion = 1,
    .xClose = crash_close,
    .xRead = crash_read,
    .xWrite = crash_write,
    .xTruncate = crash_truncate,
    .xSync = crash_sync,
    .xFileSize = crash_size,
    .xLock = crash_lock,
    .xUnlock = crash_unlock,
    .xCheckReservedLock = crash_is_reserved,
    .xFileControl = crash_control,
    .xSectorSize = crash_sector,
    .xDeviceCharacteristics = crash_traits,
};

/* Which of the store's files this is; -1 for another. */
static inline int crash_find(const CrashDisk *disk, const char *path)
{
    const char *slash = path == NULL ? NULL : strrchr(path, '/');
    for (int i = 0; slash != NULL && i < CRASH_OWN_FILES; i++) {
        if (strcmp(slash + 1, i == CRASH_STORE ? "store.db" : "store.db-journal") != 0) continue;
        size_t len = disk->folder == NULL ? 0 : disk->folder->len;
        return len == (size_t)(slash - path) && strncmp(path, disk->folder->bytes, len) == 0 ? i
                                                                                             : -1;
    }
    return -1;
}

static inline int crash_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags,
                             int *out_flags)
{
    CrashDisk *disk = vfs->pAppData;
    CrashFile *own = crash_file(file);
    int is_there = 1;
    *own = (CrashFile){.disk = disk, .file = crash_find(disk, path)};
    own->real = (sqlite3_file *)(void *)(own + 1);
    if (path != NULL && (flags & SQLITE_OPEN_CREATE) != 0) {
        (void)disk->real->xAccess(disk->real, path, SQLITE_ACCESS_EXISTS, &is_there);
    }
    if (!is_there && crash_point(disk)) return SQLITE_CANTOPEN;
    int code = disk->real->xOpen(disk->real, path, own->real, flags, out_flags);
    if (code == SQLITE_OK && !is_there) crash_note(disk, CRASH_CREATE, own->file, 0, NULL, 0);
    own->is_new_journal = !is_there && (flags & SQLITE_OPEN_MAIN_JOURNAL) != 0;
    own->base.pMethods = code == SQLITE_OK ? &crash_methods : NULL;
    return code;
}

static inline int crash_delete(sqlite3_vfs *vfs, const char *path, int syncs_folder)
{
    CrashDisk *disk = vfs->pAppData;
    int file = crash_find(disk, path);
    if (crash_point(disk)) return SQLITE_IOERR_DELETE;
    crash_note(disk, CRASH_DELETE, file, 0, NULL, 0);
    if (syncs_folder) crash_note(disk, CRASH_FOLDER_SYNC, file, 0, NULL, 0);
    return disk->real->xDelete(disk->real, path, syncs_folder);
}

static inline int crash_access(sqlite3_vfs *vfs, const char *path, int flags, int *out)
{
    CrashDisk *disk = vfs->pAppData;
    return disk->real->xAccess(disk->real, path, flags, out);
}

static inline int crash_full_path(sqlite3_vfs *vfs, const char *path, int size, char *out)
{
    CrashDisk *disk = vfs->pAppData;
    return disk->real->xFullPathname(disk->real, path, size, out);
}

/* Put the disk under all that SQLite opens from here on. */
static inline void crash_install(CrashDisk *disk)
{
    sqlite3_vfs *real = sqlite3_vfs_find(NULL);
    assert_non_null(real);
    *disk = (CrashDisk){.real = real, .vfs = *real};
    disk->vfs.pNext = NULL;
    disk->vfs.zName = "crash";
    disk->vfs.pAppData = disk;
    disk->vfs.szOsFile = (int)sizeof(CrashFile) + real->szOsFile;
    disk->vfs.xOpen = crash_open;
    disk->vfs.xDelete = crash_delete;
    disk->vfs.xAccess = crash_access;
    disk->vfs.xFullPathname = crash_full_path;
    assert_int_equal(sqlite3_vfs_register(&disk->vfs, 1), SQLITE_OK);
}

/* --- After a power cut ----------------------------------------------------------------------- */

/* What becomes of that which was not synced. */
typedef enum {
    CRASH_ALL_KEPT, /* a program that was killed, too */
    CRASH_ALL_LOST,
    CRASH_LAST_TORN, /* kept, but of the last write only some sectors */
    CRASH_UNDONE,    /* writes and new files kept, deletes and truncates not */
    CRASH_MIXED,     /* each operation, and each sector of a write, by a coin */
    CRASH_OUTCOMES
} CrashOutcome;

static const char *const crash_outcome_names[CRASH_OUTCOMES] = {"all kept", "all lost", "last torn",
                                                                "undone", "mixed"};

/* A disk as the operations so far leave it. */
typedef struct {
    CrashImage durable[CRASH_FILES_MAX];
    const CrashOp *pending[4096];
    size_t pending_count;
} CrashModel;

static inline void crash_put(Text *bytes, int64_t offset, const char *from, size_t len)
{
    Text out = {0};
    size_t at = (size_t)offset;
    text_add_bytes(&out, text_string(bytes), bytes->len);
    while (out.len < at + len) {
        text_add_bytes(&out, "", 1);
    }
    memcpy(out.bytes + at, from, len);
    text_clear(bytes);
    *bytes = out;
}

static inline void crash_cut(Text *bytes, int64_t size)
{
    Text out = {0};
    if ((size_t)size > bytes->len) return;
    text_add_bytes(&out, text_string(bytes), (size_t)size);
    text_clear(bytes);
    *bytes = out;
}

/* Do a whole operation to the image of its file. */
static inline void crash_do(CrashImage *image, const CrashOp *op)
{
    switch (op->kind) {
    case CRASH_CREATE:
        image->exists = true;
        break;
    case CRASH_DELETE:
        image->exists = false;
        text_clear(&image->bytes);
        break;
    case CRASH_WRITE:
        if (op->bytes.len > 0) crash_put(&image->bytes, op->offset, op->bytes.bytes, op->bytes.len);
        break;
    case CRASH_TRUNCATE:
        crash_cut(&image->bytes, op->offset);
        break;
    case CRASH_REPLACE:
        image->exists = true;
        text_clear(&image->bytes);
        text_add_bytes(&image->bytes, text_string(&op->bytes), op->bytes.len);
        break;
    case CRASH_SYNC:
    case CRASH_FOLDER_SYNC:
    case CRASH_ACKNOWLEDGE:
        break;
    }
}

/* Drop what is pending for a file among the first `count`; how many are left. */
static inline size_t crash_drop(CrashModel *model, size_t count, int file)
{
    size_t left = 0;
    for (size_t i = 0; i < count; i++) {
        if (model->pending[i]->file != file) model->pending[left++] = model->pending[i];
    }
    return left;
}

/* Make durable what is pending and is of names (`of_names`) or of the file's data. */
static inline void crash_settle(CrashModel *model, bool of_names, int file)
{
    size_t left = 0;
    for (size_t i = 0; i < model->pending_count; i++) {
        const CrashOp *op = model->pending[i];
        bool is_name = op->kind == CRASH_CREATE || op->kind == CRASH_DELETE;
        if (is_name == of_names && (of_names || op->file == file)) {
            crash_do(&model->durable[op->file], op);
            if (op->kind == CRASH_DELETE) left = crash_drop(model, left, op->file);
        } else {
            model->pending[left++] = op;
        }
    }
    model->pending_count = left;
}

static inline void crash_step(CrashModel *model, const CrashOp *op)
{
    if (op->kind == CRASH_SYNC) {
        crash_settle(model, false, op->file);
    } else if (op->kind == CRASH_FOLDER_SYNC) {
        crash_settle(model, true, 0);
    } else if (op->kind == CRASH_REPLACE) {
        crash_settle(model, false, op->file); /* what was in the file before matters no more */
        crash_settle(model, true, 0);
        crash_do(&model->durable[op->file], op);
    } else if (op->kind != CRASH_ACKNOWLEDGE) {
        assert_true(model->pending_count < sizeof model->pending / sizeof model->pending[0]);
        model->pending[model->pending_count++] = op;
    }
}

/* A write of which only some sectors come through: those before `until`, or by the coin. */
static inline void crash_tear(CrashImage *image, const CrashOp *op, size_t until, Random *coin)
{
    for (size_t at = 0; at < op->bytes.len;) {
        size_t in_sector = ((size_t)op->offset + at) % CRASH_SECTOR_BYTES;
        size_t len = CRASH_SECTOR_BYTES - in_sector;
        if (len > op->bytes.len - at) len = op->bytes.len - at;
        if (coin == NULL ? at < until : random_below(coin, 2) == 0) {
            crash_put(&image->bytes, op->offset + (int64_t)at, op->bytes.bytes + at, len);
        }
        at += len;
    }
}

/* The disk after a power cut, into `images`, which are all zeros. */
static inline void crash_cut_power(const CrashModel *model, CrashOutcome outcome, Random *coin,
                                   CrashImage images[CRASH_FILES_MAX])
{
    for (size_t i = 0; i < CRASH_FILES_MAX; i++) {
        const Text *bytes = &model->durable[i].bytes;
        images[i].exists = model->durable[i].exists;
        text_add_bytes(&images[i].bytes, text_string(bytes), bytes->len);
    }
    for (size_t i = 0; i < model->pending_count && outcome != CRASH_ALL_LOST; i++) {
        const CrashOp *op = model->pending[i];
        CrashImage *image = &images[op->file];
        bool is_last = i + 1 == model->pending_count;
        bool takes = op->kind == CRASH_DELETE || op->kind == CRASH_TRUNCATE;
        if (outcome == CRASH_UNDONE && takes) continue;
        if (op->kind == CRASH_WRITE && outcome == CRASH_MIXED) {
            crash_tear(image, op, 0, coin);
        } else if (op->kind == CRASH_WRITE && outcome == CRASH_LAST_TORN && is_last) {
            crash_tear(image, op, op->bytes.len / 2, NULL);
        } else if (outcome != CRASH_MIXED || random_below(coin, 2) == 0) {
            crash_do(image, op);
        }
    }
}

/* Does this outcome differ from the first ones? */
static inline bool crash_matters(const CrashModel *model, CrashOutcome outcome)
{
    bool takes = false;
    size_t count = model->pending_count;
    for (size_t i = 0; i < count; i++) {
        CrashKind kind = model->pending[i]->kind;
        takes = takes || kind == CRASH_DELETE || kind == CRASH_TRUNCATE;
    }
    switch (outcome) {
    case CRASH_ALL_KEPT:
        return true;
    case CRASH_ALL_LOST:
        return count > 0;
    case CRASH_LAST_TORN:
        return count > 0 && model->pending[count - 1]->kind == CRASH_WRITE;
    case CRASH_UNDONE:
        return takes;
    case CRASH_MIXED:
        return count > 1;
    case CRASH_OUTCOMES:
        break;
    }
    return false;
}

#endif
