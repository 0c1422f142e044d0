/* A disk that fails on demand and tells what it was asked to do, put between a program and libc.

   Every write, cut and sync of a file whose name begins with "log.db" goes into the journal that
   CARTCLOCK_JOURNAL names; of standard output the moments at which something was said. fail() lets
   one of the next calls fail. It is for one thread. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static int journal = -1, countdown = -1, error_number, times;

/* 0 nothing of ours, 1 the log, 2 its write-ahead file. */
static int file_of(int fd) {
    char link[64], path[4096];
    ssize_t got;
    const char *name;
    strcpy(link, "/proc/self/fd/");
    {
        char digits[16];
        int at = 15, left = fd;
        digits[at] = 0;
        do { digits[--at] = '0' + left % 10; left /= 10; } while (left);
        strcat(link, digits + at);
    }
    got = readlink(link, path, sizeof path - 1);
    if (got < 0) return 0;
    path[got] = 0;
    name = strrchr(path, '/');
    name = name ? name + 1 : path;
    if (!strcmp(name, "log.db")) return 1;
    if (!strcmp(name, "log.db-wal")) return 2;
    return 0;
}

static ssize_t real_write(int fd, const void *data, size_t count) {
    static ssize_t (*real)(int, const void *, size_t);
    if (!real) real = dlsym(RTLD_NEXT, "write");
    return real(fd, data, count);
}

static void note(int32_t what, int32_t file, int64_t offset, const void *data, int64_t count) {
    if (journal == -1) {
        const char *path = getenv("CARTCLOCK_JOURNAL");
        journal = path ? open(path, O_CREAT | O_WRONLY | O_APPEND, 0600) : -2;
    }
    if (journal < 0) return;
    real_write(journal, &what, 4);
    real_write(journal, &file, 4);
    real_write(journal, &offset, 8);
    real_write(journal, &count, 8);
    if (data) real_write(journal, data, count);
}

/* Lets the call behind `after` others fail with an error, and so many behind it. */
void fail(int after, int number, int many) {
    countdown = after;
    error_number = number;
    times = many;
}

static int fails(void) {
    if (countdown < 0) return 0;
    if (countdown > 0) { countdown--; return 0; }
    if (times <= 0) { countdown = -1; return 0; }
    times--;
    errno = error_number;
    return 1;
}

ssize_t pwrite64(int fd, const void *data, size_t count, off64_t offset) {
    static ssize_t (*real)(int, const void *, size_t, off64_t);
    int file = file_of(fd);
    ssize_t done;
    if (!real) real = dlsym(RTLD_NEXT, "pwrite64");
    if (!file) return real(fd, data, count, offset);
    if (fails()) {
        /* What a full disk takes before it is full. */
        if (error_number == ENOSPC && count > 512) real(fd, data, 512, offset);
        errno = error_number;
        return -1;
    }
    done = real(fd, data, count, offset);
    if (done > 0) note(1, file, offset, data, done);
    return done;
}

ssize_t pwrite(int fd, const void *data, size_t count, off_t offset) {
    return pwrite64(fd, data, count, offset);
}

static int synced(const char *name, int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, name);
    int file = file_of(fd), done;
    if (file && fails()) return -1;
    done = real(fd);
    if (file && !done) note(2, file, 0, 0, 0);
    return done;
}

int fsync(int fd) { return synced("fsync", fd); }
int fdatasync(int fd) { return synced("fdatasync", fd); }

int ftruncate64(int fd, off64_t length) {
    static int (*real)(int, off64_t);
    int file = file_of(fd), done;
    if (!real) real = dlsym(RTLD_NEXT, "ftruncate64");
    if (file && fails()) return -1;
    done = real(fd, length);
    if (file && !done) note(3, file, length, 0, 0);
    return done;
}

int ftruncate(int fd, off_t length) { return ftruncate64(fd, length); }

ssize_t write(int fd, const void *data, size_t count) {
    if (fd == 1) note(4, 0, 0, data, count);
    return real_write(fd, data, count);
}
