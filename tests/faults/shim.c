/* Stands between the program and the C library in tests, by LD_PRELOAD. Moves the clock on the wall by the seconds that
   the file named by BAYWRIGHT_TEST_CLOCK holds, and writes which folders are made and synced into the file named by
   BAYWRIGHT_TEST_SYNCS. The clock that tells how much time passed is left alone. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t clock, struct timespec *now) {
    static int (*real)(clockid_t, struct timespec *);
    static volatile long *ahead;
    static int looked;
    if (!real) real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
    if (!looked) {
        looked = 1;
        const char *name = getenv("BAYWRIGHT_TEST_CLOCK");
        int file = name ? open(name, O_RDONLY) : -1;
        if (file >= 0) {
            void *seen = mmap(NULL, sizeof(long), PROT_READ, MAP_SHARED, file, 0);
            if (seen != MAP_FAILED) ahead = seen;
            close(file);
        }
    }
    int result = real(clock, now);
    if (result == 0 && clock == CLOCK_REALTIME && ahead) now->tv_sec += *ahead;
    return result;
}

static void tell(const char *what, const char *path) {
    const char *name = getenv("BAYWRIGHT_TEST_SYNCS");
    if (!name) return;
    int file = open(name, O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (file < 0) return;
    char line[4200];
    int length = snprintf(line, sizeof line, "%s %s\n", what, path);
    if (length > 0) { ssize_t written = write(file, line, (size_t)length); (void)written; }
    close(file);
}

int mkdir(const char *path, mode_t mode) {
    static int (*real)(const char *, mode_t);
    if (!real) real = (int (*)(const char *, mode_t))dlsym(RTLD_NEXT, "mkdir");
    int result = real(path, mode);
    if (result == 0) {
        char whole[4097] = "";
        tell("made", realpath(path, whole) ? whole : path);
    }
    return result;
}

int fsync(int file) {
    static int (*real)(int);
    if (!real) real = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
    int result = real(file);
    struct stat about;
    if (result == 0 && fstat(file, &about) == 0 && S_ISDIR(about.st_mode)) {
        char link[64], whole[4097];
        snprintf(link, sizeof link, "/proc/self/fd/%d", file);
        ssize_t length = readlink(link, whole, sizeof whole - 1);
        if (length > 0) {
            whole[length] = 0;
            tell("synced", whole);
        }
    }
    return result;
}
