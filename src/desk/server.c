/* SPDX-License-Identifier: GPL-3.0-or-later
 * The server: one thread for each door (libmicrohttpd), which never computes and never waits:
 * who waits for an answer is put aside and taken up again when it is there. Bounds: connections,
 * sizes, requests a second, and how long a request may take to come whole, so that those who send
 * nothing, or a letter at a time, hold nothing up for long. */
#include "http.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netdb.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <time.h>

enum { MOST_CONNECTIONS = 600, MEMORY = 32768, IDLE_S = 30 };
#define WHOLE_REQUEST_S 10.0

double desk_clock_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* ------------------------------------------------------------------- waiting */

bool desk_wait(desk_server *server, desk_request *request, int kind, double seconds,
               bool (*is_there)(desk_session *s, const desk_request *request))
{
    bool waits = false;
    pthread_mutex_lock(&server->lock);
    if (!server->ending && server->waiting_count < DESK_MOST_WAITING &&
        !is_there(server->session, request)) {
        waits = true;
        request->until_s = desk_clock_s() + seconds;
        request->waits = kind;
        request->next = server->waiting;
        server->waiting = request;
        server->waiting_count++;
        MHD_suspend_connection(request->connection);
    }
    pthread_mutex_unlock(&server->lock);
    return waits;
}

typedef bool chooser(const desk_request *request, const void *context);

static void resume(desk_server *server, chooser *chosen, const void *context, bool expired)
{
    pthread_mutex_lock(&server->lock);
    for (desk_request **at = &server->waiting; *at;) {
        desk_request *request = *at;
        if (!chosen(request, context)) {
            at = &request->next;
            continue;
        }
        *at = request->next;
        server->waiting_count--;
        request->waits = WAITS_NOT;
        request->expired = expired;
        MHD_resume_connection(request->connection);
    }
    pthread_mutex_unlock(&server->lock);
}

static bool waits_for(const desk_request *request, const void *errand)
{
    return errand ? request->errand == errand : request->waits != WAITS_FOR_ERRAND;
}

static bool waits_too_long(const desk_request *request, const void *now_s)
{
    return request->until_s < *(const double *)now_s;
}

static bool any(const desk_request *request, const void *context)
{
    (void)request, (void)context;
    return true;
}

static void tell(void *server, desk_errand *errand)
{
    resume(server, waits_for, errand, false);
}

/* --------------------------------------------------------------- connections */

static void begin_line(desk_server *server, struct MHD_Connection *connection, void **context)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    desk_line *line = info ? malloc(sizeof *line) : NULL;
    *context = line;
    if (!line) return;
    *line = (desk_line){info->connect_fd, desk_clock_s(), false, server->lines};
    server->lines = line;
}

static void end_line(desk_server *server, desk_line *line)
{
    desk_line **at = &server->lines;
    while (*at && *at != line)
        at = &(*at)->next;
    if (*at) *at = line->next;
    free(line);
}

static void on_connection(void *door, struct MHD_Connection *connection, void **context,
                          enum MHD_ConnectionNotificationCode what)
{
    desk_server *server = ((desk_door *)door)->server;
    pthread_mutex_lock(&server->lock);
    if (what == MHD_CONNECTION_NOTIFY_STARTED)
        begin_line(server, connection, context);
    else if (*context)
        end_line(server, *context);
    pthread_mutex_unlock(&server->lock);
}

static void mark_line(desk_server *server, struct MHD_Connection *connection, bool busy)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    desk_line *line = info ? info->socket_context : NULL;
    if (!line) return;
    pthread_mutex_lock(&server->lock);
    line->busy = busy;
    line->since_s = desk_clock_s();
    pthread_mutex_unlock(&server->lock);
}

/* ------------------------------------------------------------------ requests */

static bool is_within_budget(desk_server *server)
{
    pthread_mutex_lock(&server->lock);
    double now_s = desk_clock_s();
    server->budget += (now_s - server->budget_s) * DESK_PER_SECOND;
    if (server->budget > 2 * DESK_PER_SECOND) server->budget = 2 * DESK_PER_SECOND;
    server->budget_s = now_s;
    bool within = server->budget >= 1.0;
    if (within) server->budget -= 1.0;
    pthread_mutex_unlock(&server->lock);
    return within;
}

static bool is_too_large(struct MHD_Connection *connection)
{
    const char *length =
        MHD_lookup_connection_value(connection, MHD_HEADER_KIND, MHD_HTTP_HEADER_CONTENT_LENGTH);
    return length && strtoull(length, NULL, 10) > DESK_MOST_BODY;
}

/* Looked at before anything of a body is read. */
static enum MHD_Result begin_request(const desk_door *door, struct MHD_Connection *connection,
                                     const char *method, void **context)
{
    const desk_session *s = door->server->session;
    const char *why;
    unsigned status = desk_guard(&why, door, connection, method);
    desk_request *request = calloc(1, sizeof *request);
    if (!request) return MHD_NO;
    *request = (desk_request){.connection = connection};
    *context = request;
    if (status != 0) return desk_reply_words(connection, s, status, why);
    if (is_too_large(connection))
        return desk_reply_words(connection, s, MHD_HTTP_CONTENT_TOO_LARGE,
                                "accepted are forms of up to 16 kB");
    if (!is_within_budget(door->server))
        return desk_reply_words(connection, s, MHD_HTTP_TOO_MANY_REQUESTS,
                                "too much is asked at once");
    return MHD_YES;
}

static enum MHD_Result take_body(desk_request *request, const char *bytes, size_t *size)
{
    if (request->size + *size > DESK_MOST_BODY) return MHD_NO; /* of no stated length */
    char *body = realloc(request->body, request->size + *size);
    if (!body) return MHD_NO;
    memcpy(body + request->size, bytes, *size);
    request->body = body;
    request->size += *size;
    *size = 0;
    return MHD_YES;
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *connection,
                                  const char *path, const char *method, const char *version,
                                  const char *bytes, size_t *size, void **state)
{
    const desk_door *door = context;
    (void)version;
    if (!*state) return begin_request(door, connection, method, state);
    if (*size > 0) return take_body(*state, bytes, size);
    mark_line(door->server, connection, true);
    return desk_route(door, *state, path, method);
}

static void on_end(void *context, struct MHD_Connection *connection, void **state,
                   enum MHD_RequestTerminationCode why)
{
    const desk_door *door = context;
    desk_request *request = *state;
    (void)why;
    mark_line(door->server, connection, false);
    if (!request) return;
    desk_errand_free(request->errand);
    free(request->body);
    free(request);
    *state = NULL;
}

/* ---------------------------------------------------------------------- doors */

/* A NUL would end a text early: it becomes a character that nothing accepts. */
static size_t unescape(void *context, struct MHD_Connection *connection, char *text)
{
    (void)context, (void)connection;
    size_t size = MHD_http_unescape(text);
    for (size_t i = 0; i < size; i++)
        if (text[i] == '\0') text[i] = '\1';
    return size;
}

static int fail(pappus_error *err, const char *key, const char *value, const char *message)
{
    *err = (pappus_error){.code = PAPPUS_E_OUTPUT};
    snprintf(err->key, sizeof err->key, "%s", key);
    snprintf(err->value, sizeof err->value, "%s", value);
    snprintf(err->message, sizeof err->message, "%s", message);
    return err->code;
}

static bool open_door(desk_door *door, const struct sockaddr *address)
{
    unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME;
    if (address->sa_family == AF_INET6) flags |= MHD_USE_IPv6;
    door->daemon = MHD_start_daemon(
        flags, (uint16_t)door->port, NULL, NULL, on_request, door, MHD_OPTION_SOCK_ADDR, address,
        MHD_OPTION_NOTIFY_COMPLETED, on_end, door, MHD_OPTION_NOTIFY_CONNECTION, on_connection,
        door, MHD_OPTION_CONNECTION_LIMIT, (unsigned)MOST_CONNECTIONS,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)IDLE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)MEMORY, MHD_OPTION_UNESCAPE_CALLBACK, unescape, NULL, MHD_OPTION_END);
    const union MHD_DaemonInfo *info =
        door->daemon ? MHD_get_daemon_info(door->daemon, MHD_DAEMON_INFO_BIND_PORT) : NULL;
    if (info) door->port = info->port;
    return info != NULL;
}

static int open_local(desk_server *server, int port, pappus_error *err)
{
    struct sockaddr_in address = {.sin_family = AF_INET,
                                  .sin_port = htons((uint16_t)port),
                                  .sin_addr = {htonl(INADDR_LOOPBACK)}};
    char text[16];
    server->local = (desk_door){.server = server, .port = port, .address = "127.0.0.1"};
    if (open_door(&server->local, (const struct sockaddr *)&address)) return PAPPUS_OK;
    snprintf(text, sizeof text, "%d", port);
    return fail(err, "--port", text, "cannot be listened at; accepted is one that is free");
}

/* The port after the local one where that was asked for, else one that is free. */
static int open_readers(desk_server *server, const char *where, int port, pappus_error *err)
{
    const struct addrinfo hints = {.ai_flags = AI_NUMERICHOST | AI_PASSIVE | AI_NUMERICSERV,
                                   .ai_socktype = SOCK_STREAM};
    struct addrinfo *found = NULL;
    char service[16];
    desk_door *door = &server->readers;
    *door = (desk_door){.server = server, .read_only = true, .port = port ? port + 1 : 0};
    bool any_address = strcmp(where, "0.0.0.0") == 0 || strcmp(where, "::") == 0;
    snprintf(service, sizeof service, "%d", door->port);
    if (strlen(where) > 45 || getaddrinfo(where, service, &hints, &found) != 0)
        return fail(err, "--listen", where, "accepted is an address of this machine in figures");
    if (!any_address)
        snprintf(door->address, sizeof door->address, found->ai_family == AF_INET6 ? "[%s]" : "%s",
                 where);
    bool open = open_door(door, found->ai_addr);
    freeaddrinfo(found);
    return open ? PAPPUS_OK
                : fail(err, "--listen", where,
                       "cannot be listened at; accepted is an address of this machine");
}

/* -------------------------------------------------------------- begin, end */

static bool make_key(char key[DESK_KEY])
{
    unsigned char bytes[(DESK_KEY - 1) / 2];
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) return false;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(key + 2 * i, 3, "%02x", bytes[i]);
    return true;
}

int desk_server_start(desk_server **out, desk_session *s, int port, const char *listen,
                      pappus_error *err)
{
    desk_server *server = calloc(1, sizeof *server);
    *out = NULL;
    if (!server || !make_key(s->key) || !make_key(s->reader_key) || !make_key(s->nonce)) {
        free(server);
        return fail(err, "", "", "out of memory or of random numbers");
    }
    server->session = s;
    server->budget = DESK_PER_SECOND;
    server->budget_s = desk_clock_s();
    pthread_mutex_init(&server->lock, NULL);
    s->tell = tell;
    s->tell_context = server;
    *out = server;
    int status = open_local(server, port, err);
    if (status == PAPPUS_OK && listen) status = open_readers(server, listen, port, err);
    if (status == PAPPUS_OK) return status;
    desk_server_stop(server);
    *out = NULL;
    return status;
}

int desk_server_port(const desk_server *server, bool readers)
{
    return readers ? server->readers.port : server->local.port;
}

void desk_server_tick(desk_server *server)
{
    double now_s = desk_clock_s();
    resume(server, waits_too_long, &now_s, true);
    pthread_mutex_lock(&server->lock);
    for (desk_line *line = server->lines; line; line = line->next)
        if (!line->busy && now_s - line->since_s > WHOLE_REQUEST_S)
            shutdown(line->socket, SHUT_RDWR); /* its thread closes it */
    pthread_mutex_unlock(&server->lock);
}

void desk_server_stop(desk_server *server)
{
    desk_session *s = server->session;
    pthread_mutex_lock(&server->lock);
    server->ending = true;
    pthread_mutex_unlock(&server->lock);
    resume(server, any, NULL, true);
    if (server->local.daemon) MHD_stop_daemon(server->local.daemon);
    if (server->readers.daemon) MHD_stop_daemon(server->readers.daemon);
    s->tell = NULL;
    pthread_mutex_destroy(&server->lock);
    free(server);
}
