/* The system: Linux and other POSIX desktops. */
#define _GNU_SOURCE
#include "base/os.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { READ_CHUNK_BYTES = 65536 };

static bool read_all(int fd, const char *path, size_t max_bytes, Text *out, Err *err)
{
    char chunk[READ_CHUNK_BYTES];
    for (;;) {
        ssize_t got = read(fd, chunk, sizeof chunk);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) return err_set(err, ERR_IO, "%s: cannot read: %s", path, strerror(errno));
        if (got == 0) return true;
        if ((size_t)got > max_bytes - out->len) {
            return err_set(err, ERR_RANGE, "%s: larger than the limit of %zu bytes", path,
                           max_bytes);
        }
        text_add_bytes(out, chunk, (size_t)got);
    }
}

bool os_file_read(const char *path, size_t max_bytes, Text *out, Err *err)
{
    CHECK(path != NULL && out != NULL && out->len == 0);
    bool is_stdin = strcmp(path, "-") == 0;
    int fd = is_stdin ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0) return err_set(err, ERR_IO, "%s: cannot open: %s", path, strerror(errno));
    Text text = {0};
    bool ok = read_all(fd, is_stdin ? "standard input" : path, max_bytes, &text, err);
    if (!is_stdin) (void)close(fd);
    if (!ok) {
        text_clear(&text);
        return false;
    }
    text_clear(out);
    *out = text;
    return true;
}

static bool write_all(int fd, const char *bytes, size_t len)
{
    while (len > 0) {
        ssize_t put = write(fd, bytes, len);
        if (put < 0 && errno == EINTR) continue;
        if (put < 0) return false;
        bytes += put;
        len -= (size_t)put;
    }
    return true;
}

/* A rename is on disk only when its folder is. */
static bool sync_folder_of(const char *path)
{
    Text folder = {0};
    const char *slash = strrchr(path, '/');
    if (slash == NULL)
        text_add(&folder, ".");
    else
        text_add_bytes(&folder, path, (size_t)(slash - path) + 1);
    int fd = open(folder.bytes, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    text_clear(&folder);
    if (fd < 0) return false;
    bool ok = fsync(fd) == 0;
    return close(fd) == 0 && ok;
}

static bool write_file(const char *path, const char *bytes, size_t len, mode_t mode, Err *err)
{
    CHECK(path != NULL && (bytes != NULL || len == 0));
    Text aside = {0};
    text_addf(&aside, "%s.new", path);
    (void)unlink(aside.bytes); /* one left by a program that died might have another mode */
    int fd = open(aside.bytes, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
    bool ok = fd >= 0 && write_all(fd, bytes, len) && fsync(fd) == 0;
    int why = errno;
    if (fd >= 0 && close(fd) != 0 && ok) {
        ok = false;
        why = errno;
    }
    if (ok) {
        ok = rename(aside.bytes, path) == 0 && sync_folder_of(path);
        why = errno;
    }
    if (!ok) {
        if (fd >= 0) (void)unlink(aside.bytes);
        (void)err_set(err, ERR_IO, "%s: cannot write: %s", path, strerror(why));
    }
    text_clear(&aside);
    return ok;
}

bool os_file_write(const char *path, const char *bytes, size_t len, Err *err)
{
    return write_file(path, bytes, len, 0644, err);
}

bool os_file_write_private(const char *path, const char *bytes, size_t len, Err *err)
{
    return write_file(path, bytes, len, 0600, err);
}

bool os_file_overwrite(const char *path, const char *bytes, size_t len, bool sync, Err *err)
{
    CHECK(path != NULL && bytes != NULL && len <= OS_OVERWRITE_BYTES_MAX);
    struct stat info;
    int fd = open(path, O_WRONLY | O_CLOEXEC);
    bool ok = fd >= 0 && fstat(fd, &info) == 0 && info.st_size == (off_t)len &&
              pwrite(fd, bytes, len, 0) == (ssize_t)len && (!sync || fsync(fd) == 0);
    int why = errno;
    if (fd >= 0 && close(fd) != 0) ok = false;
    return ok || err_set(err, ERR_IO, "%s: cannot write: %s", path, strerror(why));
}

bool os_file_move(const char *from, const char *to, Err *err)
{
    if (rename(from, to) == 0 && sync_folder_of(to)) return true;
    return err_set(err, ERR_IO, "%s: cannot replace: %s", to, strerror(errno));
}

bool os_folder_make(const char *path, Err *err)
{
    Text part = {0};
    bool ok = true;
    for (const char *at = path; ok && *at != '\0';) {
        const char *slash = strchr(at + 1, '/');
        size_t len = slash == NULL ? strlen(path) : (size_t)(slash - path);
        text_clear(&part);
        text_add_bytes(&part, path, len);
        if (mkdir(part.bytes, 0755) != 0 && errno != EEXIST) {
            ok = err_set(err, ERR_IO, "%s: cannot make the folder: %s", path, strerror(errno));
        }
        at = path + len;
    }
    text_clear(&part);
    if (ok && !os_is_folder(path)) return err_set(err, ERR_IO, "%s: is not a folder", path);
    return ok;
}

bool os_folder_make_temporary(Text *out, Err *err)
{
    const char *base = getenv("TMPDIR");
    Text path = {0};
    text_addf(&path, "%s/threepass-XXXXXX", base == NULL || base[0] == '\0' ? "/tmp" : base);
    if (mkdtemp(path.bytes) == NULL) {
        (void)err_set(err, ERR_IO, "%s: cannot make the folder: %s", path.bytes, strerror(errno));
        text_clear(&path);
        return false;
    }
    text_clear(out);
    *out = path;
    return true;
}

bool os_is_folder(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

bool os_is_file(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && !S_ISDIR(info.st_mode);
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool ends_in(const char *name, const char *suffix)
{
    size_t len = strlen(name);
    size_t end = strlen(suffix);
    return len >= end && strcmp(name + len - end, suffix) == 0;
}

bool os_folder_list(const char *path, const char *suffix, char ***names, size_t *count, Err *err)
{
    DIR *folder = opendir(path);
    if (folder == NULL) return err_set(err, ERR_IO, "%s: cannot open: %s", path, strerror(errno));
    char **found = NULL;
    size_t n = 0;
    for (struct dirent *each = readdir(folder); each != NULL; each = readdir(folder)) {
        if (each->d_name[0] == '.' || !ends_in(each->d_name, suffix)) continue;
        found = check_realloc(found, n + 1, sizeof *found);
        found[n] = strdup(each->d_name);
        CHECK(found[n] != NULL);
        n++;
    }
    (void)closedir(folder);
    if (n > 0) qsort(found, n, sizeof *found, compare_names);
    *names = found;
    *count = n;
    return true;
}

void os_names_free(char **names, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        free(names[i]);
    }
    free(names);
}

static int64_t clock_us(clockid_t which)
{
    struct timespec now;
    CHECK(clock_gettime(which, &now) == 0);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

int64_t os_wall_time_us(void)
{
    return clock_us(CLOCK_REALTIME);
}

int64_t os_uptime_us(void)
{
    return clock_us(CLOCK_BOOTTIME);
}

void os_random(void *bytes, size_t count)
{
    unsigned char *at = bytes;
    while (count > 0) {
        ssize_t got = getrandom(at, count, 0);
        if (got < 0 && errno == EINTR) continue;
        CHECK(got > 0);
        at += got;
        count -= (size_t)got;
    }
}

bool os_data_folder(Text *out, Err *err)
{
    const char *data = getenv("XDG_DATA_HOME");
    const char *home = getenv("HOME");
    text_clear(out);
    if (data != NULL && data[0] == '/') {
        text_addf(out, "%s/threepass", data);
    } else if (home != NULL && home[0] == '/') {
        text_addf(out, "%s/.local/share/threepass", home);
    } else {
        return err_set(err, ERR_IO, "no home folder is set; name a store with --store DIR");
    }
    return true;
}

bool os_state_folder(Text *out, Err *err)
{
    const char *state = getenv("XDG_STATE_HOME");
    const char *home = getenv("HOME");
    text_clear(out);
    if (state != NULL && state[0] == '/') {
        text_addf(out, "%s/threepass", state);
    } else if (home != NULL && home[0] == '/') {
        text_addf(out, "%s/.local/state/threepass", home);
    } else {
        return err_set(err, ERR_IO, "no home folder is set");
    }
    return true;
}

bool os_program_folder(Text *out, Err *err)
{
    char path[4096];
    ssize_t len = readlink("/proc/self/exe", path, sizeof path - 1);
    if (len <= 0) return err_set(err, ERR_IO, "cannot tell where this program is");
    path[len] = '\0';
    *strrchr(path, '/') = '\0';
    text_clear(out);
    text_add(out, path);
    return true;
}

void os_become(const char *name, char **argv)
{
    Text path = {0};
    Err err = {0};
    if (os_program_folder(&path, &err)) {
        text_addf(&path, "/%s", name);
        (void)execv(path.bytes, argv);
    }
    text_clear(&path);
}

bool os_error_is_terminal(void)
{
    return isatty(STDERR_FILENO) == 1;
}

static void only_interrupt(sigset_t *set)
{
    (void)sigemptyset(set);
    (void)sigaddset(set, SIGINT);
}

void os_hold_interrupt(bool hold)
{
    sigset_t set;
    only_interrupt(&set);
    (void)sigprocmask(hold ? SIG_BLOCK : SIG_UNBLOCK, &set, NULL);
}

bool os_take_interrupt(void)
{
    const struct timespec at_once = {0, 0};
    sigset_t set;
    only_interrupt(&set);
    return sigtimedwait(&set, NULL, &at_once) == SIGINT;
}
