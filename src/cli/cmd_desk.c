/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus desk: a page on this machine that answers while the wind changes. Serves until it is
 * interrupted. Its threads sleep while they wait: a desk stands beside a browser, and threads
 * that turn in place keep the processors from it and from each other (a first look took five
 * times as long under load). */
#include "commands.h"

#include "desk.h"

#include <errno.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* EXIT_MACHINE where nobody could learn them. */
static int print_addresses(const cli_request *request, const desk_session *s,
                           const desk_server *server)
{
    bool six = request->listen && strchr(request->listen, ':');
    printf("http://127.0.0.1:%d/?key=%s\n", desk_server_port(server, false), s->key);
    if (request->listen)
        printf("http://%s%s%s:%d/?key=%s\n", six ? "[" : "", request->listen, six ? "]" : "",
               desk_server_port(server, true), s->reader_key);
    if (!request->open && cli_printed() != EXIT_GO) return EXIT_MACHINE;
    fflush(stdout);
    if (request->listen && !request->quiet)
        fprintf(stderr, "pappus: warning: --listen: the second address is for those who look only; "
                        "it is not encrypted: whoever can listen on this network can read it\n");
    return EXIT_GO;
}

static void tell_not_opened(const char *why)
{
    fprintf(stderr, "pappus: warning: --open: xdg-open: %s; open the address yourself\n", why);
}

/* The browser of the desktop, which goes its own way: a session of its own, signals as usual.
 * The process that opens it; 0: none. */
static pid_t open_browser(const desk_session *s, const desk_server *server)
{
    char address[80], program[] = "xdg-open";
    char *words[] = {program, address, NULL};
    posix_spawnattr_t how;
    sigset_t none, usual;
    pid_t opener = 0;
    snprintf(address, sizeof address, "http://127.0.0.1:%d/?key=%s",
             desk_server_port(server, false), s->key);
    sigemptyset(&none);
    sigemptyset(&usual);
    sigaddset(&usual, SIGPIPE);
    posix_spawnattr_init(&how);
    posix_spawnattr_setsigmask(&how, &none);
    posix_spawnattr_setsigdefault(&how, &usual);
    posix_spawnattr_setflags(&how,
                             POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSID);
    int why = posix_spawnp(&opener, program, NULL, &how, words, environ);
    posix_spawnattr_destroy(&how);
    if (why == 0) return opener;
    tell_not_opened(why == ENOENT ? "not found" : strerror(why));
    return 0;
}

/* What became of the process that opens the browser; 0 when it has ended. */
static pid_t look_after(pid_t opener)
{
    int status = 0;
    if (opener == 0 || waitpid(opener, &status, WNOHANG) == 0) return opener;
    if (status != 0) tell_not_opened("it failed");
    return 0;
}

/* Until a signal says that it ends. */
static void serve(desk_server *server, const sigset_t *ends, pid_t opener)
{
    const struct timespec second = {1, 0};
    while (sigtimedwait(ends, NULL, &second) < 0) {
        desk_server_tick(server);
        opener = look_after(opener);
    }
}

static int run_desk(const cli_request *request, desk_session *s, const sigset_t *ends)
{
    pappus_error error = {0};
    desk_server *server;
    int status = desk_server_start(&server, s, request->port, request->listen, &error);
    if (status != PAPPUS_OK) return cli_fault(&error);
    if (desk_session_start(s) != PAPPUS_OK) {
        desk_server_stop(server);
        fprintf(stderr, "pappus: error: no thread can be begun\n");
        return EXIT_MACHINE;
    }
    int told = print_addresses(request, s, server);
    if (told == EXIT_GO) serve(server, ends, request->open ? open_browser(s, server) : 0);
    desk_session_stop(s);
    desk_server_stop(server);
    return told;
}

int cmd_desk(const cli_request *request)
{
    desk_session session;
    desk_options options = {.plan_path = request->arguments[0],
                            .plan = request->plan,
                            .run = request->run,
                            .crs = request->crs};
    pappus_log log = {0};
    sigset_t ends;
    cli_wait_asleep(request->words);
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigaddset(&ends, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &ends, NULL); /* before there are threads, which inherit it */
    signal(SIGPIPE, SIG_IGN);
    int status = desk_session_open(&session, &options, &log);
    cli_print_log(&log, request->quiet);
    pappus_log_clear(&log);
    status = status == PAPPUS_OK ? run_desk(request, &session, &ends) : pappus_status_exit(status);
    desk_session_close(&session);
    return status;
}
