/* Every call that is not plain C11: files that survive a power cut, clocks, luck from the system.
 * A build for another desktop system replaces os.c alone. Only app/, records/ and cli/ may ask for
 * a clock or for luck. */
#ifndef BASE_OS_H
#define BASE_OS_H

#include <stdbool.h>
#include <stdint.h>

#include "base/err.h"
#include "base/text.h"

enum { OS_OVERWRITE_BYTES_MAX = 512 };

/* Read a whole file, "-" for standard input, into `out` (all-zero or cleared; the caller ends it).
 * Fails with ERR_IO (cannot read, is a folder) or ERR_RANGE (over max_bytes); `out` stays empty. */
MUST_USE bool os_file_read(const char *path, size_t max_bytes, Text *out, Err *err);

/* Put `bytes` under `path` so that after a crash either the old or the new file is there, whole:
 * written beside it, synced, renamed, folder synced. Fails with ERR_IO; the old file is
 * untouched. */
MUST_USE bool os_file_write(const char *path, const char *bytes, size_t len, Err *err);

/* Put `bytes` over those of a file of the same length, up to OS_OVERWRITE_BYTES_MAX, without
 * waiting for the disk: after a power cut it holds the one or the other, for a disk writes a sector
 * whole. With `sync` it waits. ERR_IO, also when the file is not there or of another length. */
MUST_USE bool os_file_overwrite(const char *path, const char *bytes, size_t len, bool sync,
                                Err *err);

/* As os_file_write, a file that nobody but its owner may read. */
MUST_USE bool os_file_write_private(const char *path, const char *bytes, size_t len, Err *err);

/* Give a file that is whole on disk another name in its folder, in place of the file that has it.
 * ERR_IO; both are then as they were. */
MUST_USE bool os_file_move(const char *from, const char *to, Err *err);

/* Make a folder and those above it; one that is there already is fine. ERR_IO. */
MUST_USE bool os_folder_make(const char *path, Err *err);

/* A new, empty, private folder under the system's place for temporary files; its path goes to
 * `out`. ERR_IO. */
MUST_USE bool os_folder_make_temporary(Text *out, Err *err);

/* True when `path` is a folder, or is any file. */
bool os_is_folder(const char *path);
bool os_is_file(const char *path);

/* The names in a folder that end in `suffix`, sorted by their bytes. The caller frees each and the
 * array by os_names_free. ERR_IO. */
MUST_USE bool os_folder_list(const char *path, const char *suffix, char ***names, size_t *count,
                             Err *err);

/* Free what os_folder_list gave; takes NULL. */
void os_names_free(char **names, size_t count);

/* Wall time, microseconds since 1970-01-01 00:00 UTC. */
int64_t os_wall_time_us(void);

/* Microseconds since the machine started, time asleep counted; never goes back. */
int64_t os_uptime_us(void);

/* True when standard error is a terminal, where somebody reads along. */
bool os_error_is_terminal(void);

/* While it is held a Ctrl-C does not end the program but waits to be taken. */
void os_hold_interrupt(bool hold);

/* True when a Ctrl-C waits; it is then forgotten. */
bool os_take_interrupt(void);

/* Bytes from the system's source of unguessable luck. */
void os_random(void *bytes, size_t count);

/* The folder of this person's data by the XDG Base Directory rules (absolute XDG_DATA_HOME, else
 * ~/.local/share), with "/threepass" behind it, into `out`. ERR_IO when neither is set. */
MUST_USE bool os_data_folder(Text *out, Err *err);

/* The same for what a program remembers of its use: XDG_STATE_HOME, else ~/.local/state. */
MUST_USE bool os_state_folder(Text *out, Err *err);

/* The folder that holds the running program, into `out`. ERR_IO. */
MUST_USE bool os_program_folder(Text *out, Err *err);

/* Go on as the program of that name in that folder, with the words argv (NULL-ended, the first one
 * is this program's own). Comes back only when there is none. */
void os_become(const char *name, char **argv);

#endif
