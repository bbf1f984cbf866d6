/* Makes the N-th call that changes something below one folder fail, or kills the process there.

   Loaded ahead of the C library (LD_PRELOAD), so SQLite's calls pass through here as Python's do.
   Counted are write, pwrite, fsync, fdatasync, ftruncate, rename and unlink; not those on
   index.sqlite and its like, on which nothing rests. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static char folder[PATH_MAX];
static int nth, code, lasting, seen;

/* code > 0: the call fails with this errno; code < 0: the process dies by SIGKILL. */
void fault_arm(const char *below, int number, int error, int for_good) {
    strncpy(folder, below, sizeof folder - 1);
    nth = number, code = error, lasting = for_good, seen = 0;
}

int fault_seen(void) { return seen; }

static int hit(const char *path) {
    if (!nth || strncmp(path, folder, strlen(folder))) return 0;
    if (strstr(path, "/index.sqlite") || strstr(path, "/.index-")) return 0;
    seen++;
    if (seen != nth && !(lasting && seen > nth)) return 0;
    if (code < 0) kill(getpid(), SIGKILL);
    errno = code;
    return 1;
}

static int hit_fd(int fd) {
    char link[64], path[PATH_MAX];
    if (!nth) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return hit(path);
}

#define NEXT(type, name, parameters) \
    static type (*next) parameters; \
    if (!next) next = (type (*) parameters)dlsym(RTLD_NEXT, name)

ssize_t write(int fd, const void *data, size_t count) {
    NEXT(ssize_t, "write", (int, const void *, size_t));
    return hit_fd(fd) ? -1 : next(fd, data, count);
}

ssize_t pwrite(int fd, const void *data, size_t count, off_t at) {
    NEXT(ssize_t, "pwrite", (int, const void *, size_t, off_t));
    return hit_fd(fd) ? -1 : next(fd, data, count, at);
}

ssize_t pwrite64(int fd, const void *data, size_t count, off64_t at) {
    NEXT(ssize_t, "pwrite64", (int, const void *, size_t, off64_t));
    return hit_fd(fd) ? -1 : next(fd, data, count, at);
}

int fsync(int fd) {
    NEXT(int, "fsync", (int));
    return hit_fd(fd) ? -1 : next(fd);
}

int fdatasync(int fd) {
    NEXT(int, "fdatasync", (int));
    return hit_fd(fd) ? -1 : next(fd);
}

int ftruncate(int fd, off_t length) {
    NEXT(int, "ftruncate", (int, off_t));
    return hit_fd(fd) ? -1 : next(fd, length);
}

int ftruncate64(int fd, off64_t length) {
    NEXT(int, "ftruncate64", (int, off64_t));
    return hit_fd(fd) ? -1 : next(fd, length);
}

int rename(const char *from, const char *to) {
    NEXT(int, "rename", (const char *, const char *));
    return hit(to) ? -1 : next(from, to);
}

int unlink(const char *path) {
    NEXT(int, "unlink", (const char *));
    return hit(path) ? -1 : next(path);
}
