/* SPDX-License-Identifier: GPL-3.0-or-later
 * A child process by fork: it gets limits of memory, processor time and files, runs the
 * work, and answers through a pipe: a head (status, fault, length), then the reply. The
 * parent reads with a deadline and kills what is late.
 *
 * Limits of the method: fork keeps only the calling thread, so the work must not wait for
 * another one (OpenMP least of all); a lock that another thread of the host held inside
 * the loader at that moment would hang the child until its deadline. Under
 * AddressSanitizer, whose shadow is larger than any limit, memory is not limited. */
#include "isolate.h"

#include "error.h"
#include "grow.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define HEAD_MARK 0x70617070u

typedef struct {
    unsigned mark;
    int status;
    size_t length;
    pappus_error error;
} reply_head;

bool pappus_reply_add(pappus_reply *reply, const void *bytes, size_t length)
{
    if (!PAPPUS_GROW(reply->bytes, &reply->capacity, reply->length + length)) return false;
    if (length > 0) memcpy(reply->bytes + reply->length, bytes, length);
    reply->length += length;
    return true;
}

void pappus_reply_clear(pappus_reply *reply)
{
    free(reply->bytes);
    *reply = (pappus_reply){0};
}

/* ------------------------------------------------------------------ the child */

static void limit(int resource, size_t value)
{
    struct rlimit now;
    if (getrlimit(resource, &now) != 0) return;
    if (now.rlim_max != RLIM_INFINITY && (rlim_t)value > now.rlim_max) return;
    now.rlim_cur = now.rlim_max = (rlim_t)value;
    setrlimit(resource, &now);
}

#ifndef __SANITIZE_ADDRESS__
/* Data and stacks that the process has already, as the threads of its host leave them: of
 * /proc/self/statm the sixth number, in pages. */
static size_t data_now(void)
{
    char text[160] = "";
    unsigned long pages = 0;
    int from = open("/proc/self/statm", O_RDONLY | O_CLOEXEC);
    ssize_t length = from < 0 ? 0 : read(from, text, sizeof text - 1);
    if (from >= 0) close(from);
    if (length <= 0 || sscanf(text, "%*u %*u %*u %*u %*u %lu", &pages) != 1) return 0;
    return (size_t)pages * (size_t)sysconf(_SC_PAGESIZE);
}
#endif

static void confine(const pappus_isolate_limits *limits)
{
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    limit(RLIMIT_CORE, 0);
    limit(RLIMIT_FSIZE, 0);
    limit(RLIMIT_CPU, (size_t)ceil(limits->seconds));
#ifndef __SANITIZE_ADDRESS__
    limit(RLIMIT_DATA, data_now() + limits->memory_bytes);
#endif
    signal(SIGPIPE, SIG_DFL);
    signal(SIGABRT, SIG_DFL);
#ifndef __SANITIZE_ADDRESS__
    signal(SIGSEGV, SIG_DFL);
#endif
    signal(SIGXFSZ, SIG_IGN);
}

/* Only the pipe stays open: what a library prints goes nowhere. */
static void close_streams(int pipe_end)
{
    int nowhere = open("/dev/null", O_RDWR);
    for (int i = 0; i < 3; i++)
        if (nowhere >= 0 && pipe_end != i) dup2(nowhere, i);
    if (pipe_end > 3) close_range(3, (unsigned)pipe_end - 1, 0);
    close_range((unsigned)pipe_end + 1, ~0U, 0);
}

static bool write_all(int to, const void *bytes, size_t length)
{
    const char *at = bytes;
    while (length > 0) {
        ssize_t written = write(to, at, length);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        at += written;
        length -= (size_t)written;
    }
    return true;
}

static _Noreturn void run_child(int to, pappus_isolated work, void *context,
                                const pappus_isolate_limits *limits)
{
    pappus_reply reply = {0};
    reply_head head = {.mark = HEAD_MARK};
    close_streams(to);
    confine(limits);
    head.status = work(&reply, context, &head.error);
    head.length = head.status == PAPPUS_OK ? reply.length : 0;
    bool told = write_all(to, &head, sizeof head) && write_all(to, reply.bytes, head.length);
    _exit(told ? 0 : 1);
}

/* ----------------------------------------------------------------- the parent */

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Reads until `length` bytes are there, the child closes, or the deadline passes. */
static size_t read_until(int from, void *bytes, size_t length, double deadline_s)
{
    size_t got = 0;
    while (got < length) {
        double left_s = deadline_s - now_s();
        struct pollfd one = {.fd = from, .events = POLLIN};
        if (left_s <= 0.0) break;
        int ready = poll(&one, 1, (int)ceil(1000.0 * left_s));
        if (ready < 0 && errno == EINTR) continue;
        if (ready <= 0) break;
        ssize_t some = read(from, (char *)bytes + got, length - got);
        if (some < 0 && errno == EINTR) continue;
        if (some <= 0) break;
        got += (size_t)some;
    }
    return got;
}

static int read_reply(pappus_reply *reply, reply_head *head, int from, double deadline_s,
                      const pappus_isolate_limits *limits)
{
    if (read_until(from, head, sizeof *head, deadline_s) < sizeof *head) return PAPPUS_E_STOPPED;
    if (head->mark != HEAD_MARK || head->length > limits->memory_bytes) return PAPPUS_E_STOPPED;
    head->error.key[sizeof head->error.key - 1] = '\0';
    head->error.value[sizeof head->error.value - 1] = '\0';
    head->error.message[sizeof head->error.message - 1] = '\0';
    if (head->status != PAPPUS_OK) return head->status;
    *reply = (pappus_reply){
        .bytes = malloc(head->length + 1), .length = head->length, .capacity = head->length + 1};
    if (!reply->bytes) return PAPPUS_E_MEMORY;
    if (read_until(from, reply->bytes, head->length, deadline_s) < head->length)
        return PAPPUS_E_STOPPED;
    reply->bytes[head->length] = '\0';
    return PAPPUS_OK;
}

static int tell(const reply_head *head, int status, const char *file, int code, bool late,
                const pappus_isolate_limits *limits, pappus_error *err)
{
    const pappus_error *e = &head->error;
    if (status == PAPPUS_E_MEMORY && head->status == PAPPUS_OK) return pappus_fail_memory(err);
    if (status != PAPPUS_E_STOPPED)
        return pappus_fail(err, status, file, e->key, e->value, "%s", e->message);
    if (late)
        return pappus_fail(err, code, file, NULL, NULL,
                           "not read within %.0f s; accepted is a file that is whole and smaller",
                           limits->seconds);
    return pappus_fail(err, code, file, NULL, NULL,
                       "damaged, or too large to be read in %zu MB; accepted is a whole file",
                       limits->memory_bytes >> 20);
}

static int start(int *from, pid_t *child, pappus_isolated work, void *context,
                 const pappus_isolate_limits *limits)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0) return errno;
    *child = fork();
    if (*child == 0) run_child(ends[1], work, context, limits);
    int failed = *child < 0 ? errno : 0;
    close(ends[1]);
    *from = ends[0];
    if (failed) close(ends[0]);
    return failed;
}

int pappus_isolate_start(pappus_isolation *self, pappus_isolated work, void *context,
                         const char *file, int code, const pappus_isolate_limits *limits,
                         pappus_error *err)
{
    static const pappus_isolate_limits defaults = PAPPUS_ISOLATE_LIMITS_INIT;
    pid_t child = -1;
    *self = (pappus_isolation){
        .from = -1, .file = file, .code = code, .limits = limits ? *limits : defaults};
    int failed = start(&self->from, &child, work, context, &self->limits);
    self->child = (int)child;
    if (!failed) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_MEMORY, file, NULL, NULL, "no process to read it in: %s",
                       strerror(failed));
}

int pappus_isolate_finish(pappus_reply *reply, pappus_isolation *self, pappus_error *err)
{
    reply_head head = {0};
    *reply = (pappus_reply){0};
    double deadline_s = now_s() + self->limits.seconds;
    int status = read_reply(reply, &head, self->from, deadline_s, &self->limits);
    bool late = now_s() >= deadline_s;
    close(self->from);
    if (status == PAPPUS_E_STOPPED) kill(self->child, SIGKILL);
    while (waitpid(self->child, NULL, 0) < 0 && errno == EINTR)
        continue;
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_reply_clear(reply);
    return tell(&head, status, self->file, self->code, late, &self->limits, err);
}

int pappus_isolate(pappus_reply *reply, pappus_isolated work, void *context, const char *file,
                   int code, const pappus_isolate_limits *limits, pappus_error *err)
{
    pappus_isolation self;
    *reply = (pappus_reply){0};
    int status = pappus_isolate_start(&self, work, context, file, code, limits, err);
    return status == PAPPUS_OK ? pappus_isolate_finish(reply, &self, err) : status;
}
