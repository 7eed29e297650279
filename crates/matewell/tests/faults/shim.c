/* A disk that fails when told to. Loaded before the C library (LD_PRELOAD) it
 * counts the writes, syncs and truncations of files whose path contains
 * FAULT_PATH, and lets the one with the number FAULT_AT fail with the error
 * FAULT_ERROR. With FAULT_FOREVER all that follow fail too. A write that fails
 * leaves its first half behind, as a torn sector does. FAULT_READ_ONLY refuses
 * to open such files for writing. The count is written to FAULT_REPORT at the
 * end. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static long calls;

static long number(const char *name) {
    const char *text = getenv(name);
    return text ? atol(text) : 0;
}

static int is_ours(int fd) {
    char link[64], path[4096];
    const char *ours = getenv("FAULT_PATH");
    if (!ours) return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = readlink(link, path, sizeof path - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return strstr(path, ours) != NULL;
}

static int fails(int fd) {
    if (!is_ours(fd)) return 0;
    long at = number("FAULT_AT"), now = __atomic_add_fetch(&calls, 1, __ATOMIC_SEQ_CST);
    if (at == 0 || now < at || (now > at && !getenv("FAULT_FOREVER"))) return 0;
    errno = (int)number("FAULT_ERROR");
    return 1;
}

__attribute__((destructor)) static void report(void) {
    const char *path = getenv("FAULT_REPORT");
    FILE *file = path ? fopen(path, "w") : NULL;
    if (file) {
        fprintf(file, "%ld\n", calls);
        fclose(file);
    }
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

ssize_t pwrite64(int fd, const void *bytes, size_t count, off64_t offset) {
    if (fails(fd)) {
        int error = errno;
        if (count > 1) REAL(pwrite64)(fd, bytes, count / 2, offset);
        errno = error;
        return -1;
    }
    return REAL(pwrite64)(fd, bytes, count, offset);
}

ssize_t pwrite(int fd, const void *bytes, size_t count, off_t offset) {
    return pwrite64(fd, bytes, count, offset);
}

ssize_t write(int fd, const void *bytes, size_t count) {
    if (fails(fd)) {
        int error = errno;
        if (count > 1) REAL(write)(fd, bytes, count / 2);
        errno = error;
        return -1;
    }
    return REAL(write)(fd, bytes, count);
}

int fsync(int fd) { return fails(fd) ? -1 : REAL(fsync)(fd); }
int fdatasync(int fd) { return fails(fd) ? -1 : REAL(fdatasync)(fd); }
int ftruncate64(int fd, off64_t length) { return fails(fd) ? -1 : REAL(ftruncate64)(fd, length); }
int ftruncate(int fd, off_t length) { return ftruncate64(fd, length); }

int open64(const char *path, int flags, ...) {
    va_list more;
    va_start(more, flags);
    mode_t mode = (flags & O_CREAT) ? va_arg(more, mode_t) : 0;
    va_end(more);
    const char *ours = getenv("FAULT_PATH");
    if (getenv("FAULT_READ_ONLY") && ours && strstr(path, ours) && (flags & (O_WRONLY | O_RDWR | O_CREAT))) {
        errno = EROFS;
        return -1;
    }
    return REAL(open64)(path, flags, mode);
}

int open(const char *path, int flags, ...) {
    va_list more;
    va_start(more, flags);
    mode_t mode = (flags & O_CREAT) ? va_arg(more, mode_t) : 0;
    va_end(more);
    return open64(path, flags, mode);
}
