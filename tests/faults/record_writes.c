/* Preloaded before a program: notes every change it makes to files below one folder, in order.
 *
 * RECORD_ROOT names the folder, RECORD_LOG the file of notes. One note is
 *   kind (1 byte), length of path, offset, length of data (8 bytes each, this machine's order),
 *   the path and the data.
 * Kinds: o made or emptied, w written, t cut to a length, s synced, r renamed, l linked,
 * u unlinked, m folder made. A call and its note are one under a lock, so the order of the notes
 * is the order in which it happened. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

#define MOST 4096
static char *paths[MOST];
static char root[PATH_MAX];
static size_t root_length;
static int notes = -1;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

#define REAL(name) ((__typeof__(&name))real(#name))

static void *real(const char *name) { return dlsym(RTLD_NEXT, name); }

__attribute__((constructor)) static void begin(void) {
    const char *folder = getenv("RECORD_ROOT"), *file = getenv("RECORD_LOG");
    if (!folder || !file || strlen(folder) >= sizeof root) return;
    strcpy(root, folder);
    root_length = strlen(root);
    int made = REAL(open)(file, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    if (made >= 0) notes = fcntl(made, F_DUPFD_CLOEXEC, 900);
}

static int inside(const char *path) {
    return notes >= 0 && path && !strncmp(path, root, root_length) &&
           (path[root_length] == '/' || !path[root_length]);
}

static void note(char kind, const char *path, uint64_t offset, const void *data, size_t length) {
    uint64_t numbers[3] = {strlen(path), offset, length};
    struct iovec parts[4] = {{&kind, 1}, {numbers, sizeof numbers}, {(void *)path, strlen(path)},
                             {(void *)data, length}};
    if (REAL(writev)(notes, parts, 4) < 0) abort();
}

static const char *path_of(int fd) { return fd >= 0 && fd < MOST ? paths[fd] : NULL; }

static int opened(int fd, const char *path, int flags, int was_there) {
    if (fd < 0 || fd >= MOST) return fd;
    free(paths[fd]);
    paths[fd] = inside(path) ? strdup(path) : NULL;
    if (paths[fd] && ((!was_there && (flags & O_CREAT)) || (flags & O_TRUNC)))
        note('o', path, 0, "", 0);
    return fd;
}

#define OPEN(name)                                                                       \
    int name(const char *path, int flags, ...) {                                         \
        mode_t mode = 0;                                                                 \
        if (flags & (O_CREAT | O_TMPFILE)) {                                             \
            va_list more;                                                                \
            va_start(more, flags);                                                       \
            mode = va_arg(more, mode_t);                                                 \
            va_end(more);                                                                \
        }                                                                                \
        if (!inside(path)) return opened(REAL(name)(path, flags, mode), path, flags, 1); \
        pthread_mutex_lock(&lock);                                                       \
        int was_there = !access(path, F_OK);                                             \
        int fd = opened(REAL(name)(path, flags, mode), path, flags, was_there);          \
        pthread_mutex_unlock(&lock);                                                     \
        return fd;                                                                       \
    }
OPEN(open)
OPEN(open64)

int close(int fd) {
    if (fd >= 0 && fd < MOST && paths[fd]) {
        pthread_mutex_lock(&lock);
        free(paths[fd]);
        paths[fd] = NULL;
        pthread_mutex_unlock(&lock);
    }
    return REAL(close)(fd);
}

ssize_t write(int fd, const void *data, size_t length) {
    const char *path = path_of(fd);
    if (!path) return REAL(write)(fd, data, length);
    pthread_mutex_lock(&lock);
    struct stat known;
    off_t place = fcntl(fd, F_GETFL) & O_APPEND ? (fstat(fd, &known), known.st_size)
                                                : lseek(fd, 0, SEEK_CUR);
    ssize_t done = REAL(write)(fd, data, length);
    if (done > 0) note('w', path, place, data, done);
    pthread_mutex_unlock(&lock);
    return done;
}

#define PWRITE(name, type)                                               \
    ssize_t name(int fd, const void *data, size_t length, type place) {  \
        const char *path = path_of(fd);                                  \
        if (!path) return REAL(name)(fd, data, length, place);           \
        pthread_mutex_lock(&lock);                                       \
        ssize_t done = REAL(name)(fd, data, length, place);              \
        if (done > 0) note('w', path, place, data, done);                \
        pthread_mutex_unlock(&lock);                                     \
        return done;                                                     \
    }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

#define CUT(name, type)                                       \
    int name(int fd, type length) {                           \
        const char *path = path_of(fd);                       \
        if (!path) return REAL(name)(fd, length);             \
        pthread_mutex_lock(&lock);                            \
        int done = REAL(name)(fd, length);                    \
        if (!done) note('t', path, length, "", 0);            \
        pthread_mutex_unlock(&lock);                          \
        return done;                                          \
    }
CUT(ftruncate, off_t)
CUT(ftruncate64, off64_t)

#define SYNC(name)                                 \
    int name(int fd) {                             \
        const char *path = path_of(fd);            \
        if (!path) return REAL(name)(fd);          \
        pthread_mutex_lock(&lock);                 \
        int done = REAL(name)(fd);                 \
        if (!done) note('s', path, 0, "", 0);      \
        pthread_mutex_unlock(&lock);               \
        return done;                               \
    }
SYNC(fsync)
SYNC(fdatasync)

#define TWO(name, kind)                                                \
    int name(const char *from, const char *to) {                       \
        if (!inside(from) || !inside(to)) return REAL(name)(from, to); \
        pthread_mutex_lock(&lock);                                     \
        int done = REAL(name)(from, to);                               \
        if (!done) note(kind, from, 0, to, strlen(to));                \
        pthread_mutex_unlock(&lock);                                   \
        return done;                                                   \
    }
TWO(rename, 'r')
TWO(link, 'l')

int linkat(int a, const char *from, int b, const char *to, int flags) {
    if (!inside(from) || !inside(to)) return REAL(linkat)(a, from, b, to, flags);
    pthread_mutex_lock(&lock);
    int done = REAL(linkat)(a, from, b, to, flags);
    if (!done) note('l', from, 0, to, strlen(to));
    pthread_mutex_unlock(&lock);
    return done;
}

int unlink(const char *path) {
    if (!inside(path)) return REAL(unlink)(path);
    pthread_mutex_lock(&lock);
    int done = REAL(unlink)(path);
    if (!done) note('u', path, 0, "", 0);
    pthread_mutex_unlock(&lock);
    return done;
}

int mkdir(const char *path, mode_t mode) {
    if (!inside(path)) return REAL(mkdir)(path, mode);
    pthread_mutex_lock(&lock);
    int done = REAL(mkdir)(path, mode);
    if (!done) note('m', path, 0, "", 0);
    pthread_mutex_unlock(&lock);
    return done;
}
