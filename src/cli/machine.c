/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the machine may do to a process: each ends in a line and the exit status of a
 * machine's failure, and not in a signal. */
#include "commands.h"

#include <errno.h>
#include <omp.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <unistd.h>

#define STACK_LEAST ((rlim_t)1 << 20)
#define THREADS_MOST 256

/* Libraries abort when memory is short (a C++ exception that nobody can catch here). Files in
 * the making are stages beside their place: the next run removes what is left. */
static void tell_abort(int number)
{
    static const char line[] =
        "pappus: error: a library gave up, as it does when memory is short: nothing was written\n";
    (void)number;
    if (write(STDERR_FILENO, line, sizeof line - 1) < 0) _exit(EXIT_MACHINE);
    _exit(EXIT_MACHINE);
}

#ifndef __SANITIZE_ADDRESS__
/* Or write where they did not get any. Without that it is a crash as any other. */
static void tell_crash(int number)
{
    if (errno == ENOMEM) tell_abort(number);
    signal(number, SIG_DFL);
}
#endif

int cli_machine_begin(void)
{
    struct rlimit stack;
    signal(SIGXFSZ, SIG_IGN); /* the write fails instead, and is told of */
    signal(SIGABRT, tell_abort);
#ifndef __SANITIZE_ADDRESS__
    signal(SIGSEGV, tell_crash);
#endif
    if (getrlimit(RLIMIT_STACK, &stack) == 0 && stack.rlim_cur < STACK_LEAST) {
        fprintf(stderr,
                "pappus: error: a stack of %zu kB is too small; accepted is 1024 or more "
                "(ulimit -s)\n",
                (size_t)stack.rlim_cur >> 10);
        return EXIT_MACHINE;
    }
    return -1;
}

void cli_wait_asleep(char *const *words)
{
    if (getenv("OMP_WAIT_POLICY") || getenv("GOMP_SPINCOUNT")) return;
    if (setenv("OMP_WAIT_POLICY", "passive", 1) == 0) execv("/proc/self/exe", words);
}

static void *wait_for_all(void *gate)
{
    pthread_mutex_lock(gate);
    pthread_mutex_unlock(gate);
    return NULL;
}

/* OpenMP ends the process when a thread cannot start; so it is tried before. */
int cli_threads(int wanted)
{
    pthread_mutex_t gate = PTHREAD_MUTEX_INITIALIZER;
    pthread_t others[THREADS_MOST];
    int most = wanted > 0 ? wanted : omp_get_max_threads(), started = 0;
    if (most > THREADS_MOST) most = THREADS_MOST;
    pthread_mutex_lock(&gate);
    while (started < most - 1 && pthread_create(&others[started], NULL, wait_for_all, &gate) == 0)
        started++;
    pthread_mutex_unlock(&gate);
    for (int i = 0; i < started; i++)
        pthread_join(others[i], NULL);
    return started + 1;
}
