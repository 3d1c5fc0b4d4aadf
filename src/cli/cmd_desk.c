/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus desk: a page on this machine that answers while the wind changes. Serves until it is
 * interrupted. */
#include "commands.h"

#include "desk.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static void print_addresses(const cli_request *request, const desk_session *s,
                            const desk_server *server)
{
    bool six = request->listen && strchr(request->listen, ':');
    printf("http://127.0.0.1:%d/?key=%s\n", desk_server_port(server, false), s->key);
    if (request->listen)
        printf("http://%s%s%s:%d/?key=%s\n", six ? "[" : "", request->listen, six ? "]" : "",
               desk_server_port(server, true), s->reader_key);
    fflush(stdout);
    if (request->listen && !request->quiet)
        fprintf(stderr, "pappus: warning: --listen: the second address is for those who look only; "
                        "it is not encrypted: whoever can listen on this network can read it\n");
}

/* The browser of the desktop, which goes its own way. */
static void open_browser(const desk_session *s, const desk_server *server)
{
    char address[80];
    snprintf(address, sizeof address, "http://127.0.0.1:%d/?key=%s",
             desk_server_port(server, false), s->key);
    pid_t child = fork();
    if (child == 0) {
        sigset_t none;
        sigemptyset(&none);
        sigprocmask(SIG_SETMASK, &none, NULL);
        if (fork() == 0) execlp("xdg-open", "xdg-open", address, (char *)NULL);
        _exit(0);
    }
    if (child > 0) waitpid(child, NULL, 0);
}

/* Until a signal says that it ends. */
static void serve(desk_server *server, const sigset_t *ends)
{
    const struct timespec second = {1, 0};
    while (sigtimedwait(ends, NULL, &second) < 0)
        desk_server_tick(server);
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
    print_addresses(request, s, server);
    if (request->open) open_browser(s, server);
    serve(server, ends);
    desk_session_stop(s);
    desk_server_stop(server);
    return EXIT_GO;
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
