/*
 * Stands between a program and the disk, for tests: makes writes fail on order, and keeps a diary of
 * what was written and what was synchronised, from which a cut of power can be played.
 *
 *   STRANDWISE_FAULT       path of a file whose first letter is the order:
 *                          n none, f disk full, w write error, s synchronisation error, r read-only
 *   STRANDWISE_FAULT_ON    part of the names of the files it is about
 *   STRANDWISE_DIARY       file that the diary is written to, when there is to be one
 *
 * The diary is a row of records: one letter (w write, t truncate, s synchronised, a answer on standard
 * output), the file's last letter ('l' for the log, 'y' for the study itself), offset and length as
 * 64-bit numbers of the machine, then the bytes.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

static ssize_t (*real_pwrite)(int, const void *, size_t, off_t);
static ssize_t (*real_write)(int, const void *, size_t);
static int (*real_fsync)(int);
static int (*real_ftruncate)(int, off_t);
static int diary = -1;
static __thread int inside;

static void ready(void) {
  if (real_pwrite) return;
  real_pwrite = dlsym(RTLD_NEXT, "pwrite64");
  real_write = dlsym(RTLD_NEXT, "write");
  real_fsync = dlsym(RTLD_NEXT, "fsync");
  real_ftruncate = dlsym(RTLD_NEXT, "ftruncate64");
  const char *path = getenv("STRANDWISE_DIARY");
  if (path && *path) diary = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
}

/* The last letter of the file's name when it is one of ours, else 0. */
static char ours(int fd) {
  char link[64], name[4096];
  const char *part = getenv("STRANDWISE_FAULT_ON");
  if (!part || !*part) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t n = readlink(link, name, sizeof name - 1);
  if (n <= 0) return 0;
  name[n] = 0;
  if (!strstr(name, part)) return 0;
  char last = name[n - 1];
  return last == 'm' ? 0 : last; /* the shared memory of the log is no part of what is kept */
}

static char order(void) {
  const char *path = getenv("STRANDWISE_FAULT");
  char letter = 'n';
  if (!path || !*path) return letter;
  int fd = open(path, O_RDONLY | O_CLOEXEC);
  if (fd < 0) return letter;
  if (read(fd, &letter, 1) != 1) letter = 'n';
  close(fd);
  return letter;
}

static void note(char what, char file, uint64_t offset, uint64_t length, const void *bytes) {
  if (diary < 0) return;
  char head[18];
  head[0] = what;
  head[1] = file;
  memcpy(head + 2, &offset, 8);
  memcpy(head + 10, &length, 8);
  real_write(diary, head, sizeof head);
  if (bytes && length) real_write(diary, bytes, length);
}

ssize_t pwrite64(int fd, const void *bytes, size_t length, off64_t offset) {
  ready();
  char file = inside ? 0 : ours(fd);
  if (!file) return real_pwrite(fd, bytes, length, offset);
  inside = 1;
  char now = order();
  ssize_t done = -1;
  if (now == 'f') errno = ENOSPC;
  else if (now == 'w') errno = EIO;
  else if (now == 'r') errno = EROFS;
  else {
    done = real_pwrite(fd, bytes, length, offset);
    if (done > 0) note('w', file, offset, done, bytes);
  }
  inside = 0;
  return done;
}

static int (*real_open)(const char *, int, ...);

/* On a read-only disk nothing of ours is opened to be written, nor made. */
static int opened(const char *path, int flags, mode_t mode) {
  const char *part = getenv("STRANDWISE_FAULT_ON");
  ready();
  if (!real_open) real_open = dlsym(RTLD_NEXT, "open64");
  if (!inside && part && *part && strstr(path, part) &&
      (flags & (O_WRONLY | O_RDWR | O_CREAT))) {
    inside = 1;
    char now = order();
    inside = 0;
    if (now == 'r') {
      errno = EROFS;
      return -1;
    }
  }
  return real_open(path, flags, mode);
}

int open64(const char *path, int flags, ...) {
  va_list more;
  va_start(more, flags);
  mode_t mode = (flags & (O_CREAT | O_TMPFILE)) ? va_arg(more, mode_t) : 0;
  va_end(more);
  return opened(path, flags, mode);
}

static int synced(int fd) {
  char file = inside ? 0 : ours(fd);
  if (!file) return real_fsync(fd);
  inside = 1;
  int done = -1;
  if (order() == 's') errno = EIO;
  else {
    done = real_fsync(fd);
    if (done == 0) note('s', file, 0, 0, NULL);
  }
  inside = 0;
  return done;
}

int fsync(int fd) {
  ready();
  return synced(fd);
}

int fdatasync(int fd) {
  ready();
  return synced(fd);
}

int ftruncate64(int fd, off64_t length) {
  ready();
  char file = inside ? 0 : ours(fd);
  if (file) note('t', file, length, 0, NULL);
  return real_ftruncate(fd, length);
}

ssize_t write(int fd, const void *bytes, size_t length) {
  ready();
  if (fd == 1 && !inside) note('a', '-', 0, length, bytes);
  return real_write(fd, bytes, length);
}
