/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the files of the server share: who may ask, and what is answered. */
#ifndef PAPPUS_DESK_HTTP_H
#define PAPPUS_DESK_HTTP_H

#include "desk.h"

#include <microhttpd.h>

enum { DESK_MOST_BODY = 16384, DESK_MOST_WAITING = 64, DESK_PER_SECOND = 60 };

/** One door of the server: the local one, or that of those who look only. */
typedef struct {
    desk_server *server;
    struct MHD_Daemon *daemon;
    bool read_only;
    char address[64]; /**< as it stands in a Host, without the port; "" for any */
    int port;
} desk_door;

/** A connection: since when a request is awaited on it. */
typedef struct desk_line {
    int socket;
    double since_s;
    bool busy; /* a whole request is here */
    struct desk_line *next;
} desk_line;

typedef struct desk_request {
    struct MHD_Connection *connection;
    char *body;
    size_t size;
    bool too_large;
    desk_errand *errand;
    enum { WAITS_NOT, WAITS_FOR_NEWS, WAITS_FOR_ANSWER, WAITS_FOR_ERRAND } waits;
    double until_s;
    bool expired;
    struct desk_request *next; /* of those who wait */
} desk_request;

struct desk_server {
    desk_session *session;
    desk_door local, readers;
    pthread_mutex_t lock; /* of what follows */
    desk_request *waiting;
    size_t waiting_count;
    desk_line *lines;
    double budget, budget_s; /* requests that may come now, and when that was reckoned */
    bool ending;
};

double desk_clock_s(void);
/** HTTP status of a request that may not be, with why; 0: it may. */
unsigned desk_guard(const char **why, const desk_door *door, struct MHD_Connection *connection,
                    const char *method);
/** Whether a Host is "ADDRESS:PORT" of the door; where any address leads to it, one in figures. */
bool desk_host_is_own(const desk_door *door, const char *host);
/** Whether an Origin is that of the door's own pages: its scheme and host. */
bool desk_origin_is_own(const desk_door *door, const char *origin);
/** Whether a request has the key of its door. */
bool desk_guard_key(const desk_door *door, const char *key);
/** Answers with a text that it takes over; NULL: nothing. */
enum MHD_Result desk_reply(struct MHD_Connection *connection, const desk_session *s,
                           unsigned status, const char *type, char *body);
enum MHD_Result desk_reply_words(struct MHD_Connection *connection, const desk_session *s,
                                 unsigned status, const char *words);
/** Answers a whole request, or makes it wait. */
enum MHD_Result desk_route(const desk_door *door, desk_request *request, const char *path,
                           const char *method);
/** Puts a request to wait unless what it waits for is there: false then. */
bool desk_wait(desk_server *server, desk_request *request, int kind, double seconds,
               bool (*is_there)(desk_session *s, const desk_request *request));

#endif
