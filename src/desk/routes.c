/* SPDX-License-Identifier: GPL-3.0-or-later
 * What can be asked for, in one table, and how it is answered. */
#include "http.h"

#include <stdlib.h>
#include <string.h>

#define NEWS_S 25.0   /* a browser that hears nothing asks again */
#define ANSWER_S 60.0 /* a form is answered with what there is by then */

static const struct {
    const char *path;
    int (*take)(desk_session *s, const desk_form *form, pappus_error *err);
} forms[] = {{"/change", desk_change}, {"/note", desk_take_note}, {"/strike", desk_strike},
             {"/show", desk_show},     {"/undo", desk_undo},      {"/reset", desk_reset},
             {"/reread", desk_reread}};

/* ------------------------------------------------------------------- replies */

enum MHD_Result desk_reply(struct MHD_Connection *connection, const desk_session *s,
                           unsigned status, const char *type, char *body)
{
    char policy[400];
    struct MHD_Response *response = MHD_create_response_from_buffer(
        body ? strlen(body) : 0, body ? body : (void *)(uintptr_t) "",
        body ? MHD_RESPMEM_MUST_FREE : MHD_RESPMEM_PERSISTENT);
    if (!response) {
        free(body);
        return MHD_NO;
    }
    snprintf(policy, sizeof policy,
             "default-src 'none'; style-src 'unsafe-inline'; img-src data:; script-src 'nonce-%s'; "
             "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
             s->nonce);
    const char *const headers[][2] = {{"Content-Type", type},
                                      {"Content-Security-Policy", policy},
                                      {"Cache-Control", "no-store"},
                                      {"X-Content-Type-Options", "nosniff"},
                                      {"Referrer-Policy", "same-origin"},
                                      {"Cross-Origin-Resource-Policy", "same-origin"},
                                      {"Cross-Origin-Opener-Policy", "same-origin"}};
    for (size_t i = 0; i < sizeof headers / sizeof headers[0]; i++)
        MHD_add_response_header(response, headers[i][0], headers[i][1]);
    enum MHD_Result queued = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return queued;
}

enum MHD_Result desk_reply_words(struct MHD_Connection *connection, const desk_session *s,
                                 unsigned status, const char *words)
{
    char *body = NULL;
    if (asprintf(&body, "%s\n", words) < 0) return MHD_NO;
    return desk_reply(connection, s, status, "text/plain; charset=utf-8", body);
}

static enum MHD_Result reply_error(const desk_door *door, desk_request *request,
                                   const pappus_error *error)
{
    char line[DESK_LINE];
    unsigned status = error->code == PAPPUS_E_STOPPED        ? MHD_HTTP_SERVICE_UNAVAILABLE
                      : pappus_status_exit(error->code) == 5 ? MHD_HTTP_INTERNAL_SERVER_ERROR
                                                             : MHD_HTTP_BAD_REQUEST;
    pappus_error_line(line, sizeof line, error);
    return desk_reply_words(request->connection, door->server->session, status, line);
}

/* A form without scripts goes on to the page, which waits for the answer. */
static enum MHD_Result reply_page_next(const desk_door *door, desk_request *request)
{
    char place[80];
    struct MHD_Response *response =
        MHD_create_response_from_buffer(0, (void *)(uintptr_t) "", MHD_RESPMEM_PERSISTENT);
    if (!response) return MHD_NO;
    snprintf(place, sizeof place, "/?key=%s&wait=1", door->server->session->key);
    MHD_add_response_header(response, "Location", place);
    MHD_add_response_header(response, "Referrer-Policy", "same-origin");
    enum MHD_Result queued = MHD_queue_response(request->connection, MHD_HTTP_SEE_OTHER, response);
    MHD_destroy_response(response);
    return queued;
}

static enum MHD_Result reply_number(const desk_door *door, desk_request *request, bool plain)
{
    char number[24];
    if (plain) return reply_page_next(door, request);
    snprintf(number, sizeof number, "%lu", atomic_load(&door->server->session->number));
    return desk_reply_words(request->connection, door->server->session, MHD_HTTP_OK, number);
}

/* ---------------------------------------------------------------------- GET */

static const char *argument(const desk_request *request, const char *name)
{
    return MHD_lookup_connection_value(request->connection, MHD_GET_ARGUMENT_KIND, name);
}

static bool is_settled(desk_session *s, const desk_request *request)
{
    (void)request;
    return desk_is_settled(s);
}

static bool has_answer(desk_session *s, const desk_request *request)
{
    (void)request;
    pthread_mutex_lock(&s->lock);
    bool shown = s->shown != NULL;
    pthread_mutex_unlock(&s->lock);
    return shown || desk_is_settled(s);
}

static enum MHD_Result get_page(const desk_door *door, desk_request *request)
{
    pappus_error error = {0};
    char *text;
    bool whole = argument(request, "wait") != NULL;
    if (!request->expired && desk_wait(door->server, request, WAITS_FOR_ANSWER, ANSWER_S,
                                       whole ? is_settled : has_answer))
        return MHD_YES;
    if (desk_page(&text, door->server->session, false, door->read_only, &error) != PAPPUS_OK)
        return reply_error(door, request, &error);
    return desk_reply(request->connection, door->server->session, MHD_HTTP_OK,
                      "text/html; charset=utf-8", text);
}

static bool is_newer(desk_session *s, const desk_request *request)
{
    const char *after = argument(request, "after");
    return desk_version(s) != (after ? strtoull(after, NULL, 10) : 0);
}

static enum MHD_Result get_part(const desk_door *door, desk_request *request)
{
    pappus_error error = {0};
    char *text;
    desk_session *s = door->server->session;
    if (!request->expired && desk_wait(door->server, request, WAITS_FOR_NEWS, NEWS_S, is_newer))
        return MHD_YES;
    if (!is_newer(s, request))
        return desk_reply(request->connection, s, MHD_HTTP_NO_CONTENT, "text/plain", NULL);
    if (desk_page(&text, s, true, false, &error) != PAPPUS_OK)
        return reply_error(door, request, &error);
    return desk_reply(request->connection, s, MHD_HTTP_OK, "text/html; charset=utf-8", text);
}

static enum MHD_Result get_plan(const desk_door *door, desk_request *request)
{
    pappus_error error = {0};
    char *text;
    if (desk_plan_text(&text, door->server->session, &error) != PAPPUS_OK)
        return reply_error(door, request, &error);
    return desk_reply(request->connection, door->server->session, MHD_HTTP_OK, "application/json",
                      text);
}

/* ------------------------------------------------------------------- errands */

typedef struct {
    size_t count;
    const char *settings[DESK_MOST_CHANGES];
    pappus_error error;
} asked;

static enum MHD_Result take_setting(void *context, enum MHD_ValueKind kind, const char *name,
                                    size_t name_size, const char *value, size_t size)
{
    asked *a = context;
    (void)kind, (void)name_size;
    if (strcmp(name, "set") != 0 || a->error.code != PAPPUS_OK) return MHD_YES;
    bool clean = value && strlen(value) == size && a->count < DESK_MOST_CHANGES;
    for (size_t i = 0; clean && i < size; i++)
        clean = (unsigned char)value[i] >= 0x20 && value[i] != 0x7f;
    if (!clean) {
        a->error = (pappus_error){.code = PAPPUS_E_REFUSED,
                                  .key = "set",
                                  .message = "accepted are up to 100 of KEY=VALUE in plain text"};
        return MHD_YES;
    }
    if (desk_setting_check(value, &a->error) == PAPPUS_OK) a->settings[a->count++] = value;
    return MHD_YES;
}

static bool is_done(desk_session *s, const desk_request *request)
{
    return atomic_load(&request->errand->done) || s->ending;
}

/* Waits until the errand is done: true while it does. */
static bool waits_for_errand(const desk_door *door, desk_request *request)
{
    return desk_wait(door->server, request, WAITS_FOR_ERRAND, 1e9, is_done);
}

static bool was_cut_short(const desk_request *request)
{
    return !atomic_load(&request->errand->done) || request->errand->status == PAPPUS_E_STOPPED;
}

static enum MHD_Result end_answer(const desk_door *door, desk_request *request)
{
    const desk_session *s = door->server->session;
    desk_errand *errand = request->errand;
    if (was_cut_short(request))
        return desk_reply_words(request->connection, s, MHD_HTTP_SERVICE_UNAVAILABLE,
                                "the desk ends");
    if (errand->status != PAPPUS_OK) {
        unsigned status = pappus_status_exit(errand->status) == 5 ? MHD_HTTP_INTERNAL_SERVER_ERROR
                                                                  : MHD_HTTP_BAD_REQUEST;
        return desk_reply_words(request->connection, s, status, errand->text);
    }
    size_t length = strlen(errand->text);
    bool ended = length > 0 && errand->text[length - 1] == '\n';
    char *text = NULL;
    if (asprintf(&text, "%s%s", errand->text, ended ? "" : "\n") < 0) return MHD_NO;
    return desk_reply(request->connection, s, MHD_HTTP_OK, "application/json", text);
}

static enum MHD_Result get_answer(const desk_door *door, desk_request *request)
{
    asked a = {0};
    if (!request->errand) {
        MHD_get_connection_values_n(request->connection, MHD_GET_ARGUMENT_KIND, take_setting, &a);
        if (a.error.code == PAPPUS_OK)
            desk_errand_begin(&request->errand, door->server->session, DESK_ANSWER_JSON, a.count,
                              a.settings, request, &a.error);
        if (!request->errand) return reply_error(door, request, &a.error);
    }
    return waits_for_errand(door, request) ? MHD_YES : end_answer(door, request);
}

static enum MHD_Result post_write(const desk_door *door, desk_request *request, bool plain)
{
    pappus_error error = {0};
    if (!request->errand && desk_errand_begin(&request->errand, door->server->session, DESK_WRITE,
                                              0, NULL, request, &error) != PAPPUS_OK)
        return reply_error(door, request, &error);
    if (waits_for_errand(door, request)) return MHD_YES;
    if (plain) return reply_page_next(door, request);
    if (was_cut_short(request) || request->errand->status != PAPPUS_OK)
        return desk_reply_words(request->connection, door->server->session,
                                MHD_HTTP_UNPROCESSABLE_CONTENT,
                                request->errand->text ? request->errand->text : "the desk ends");
    return reply_number(door, request, false);
}

/* ---------------------------------------------------------------------- POST */

static enum MHD_Result post_form(const desk_door *door, desk_request *request, const char *path,
                                 const desk_form *form)
{
    const char *plain = desk_form_value(form, "plain");
    pappus_error error = {0};
    if (strcmp(path, "/write") == 0) return post_write(door, request, plain != NULL);
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        if (strcmp(path, forms[i].path) != 0) continue;
        int status = forms[i].take(door->server->session, form, &error);
        if (status != PAPPUS_OK && !plain) return reply_error(door, request, &error);
        return reply_number(door, request, plain != NULL);
    }
    return desk_reply_words(request->connection, door->server->session, MHD_HTTP_NOT_FOUND,
                            "there is nothing here");
}

static enum MHD_Result post(const desk_door *door, desk_request *request, const char *path)
{
    desk_form form;
    const desk_session *s = door->server->session;
    if (request->too_large)
        return desk_reply_words(request->connection, s, MHD_HTTP_CONTENT_TOO_LARGE,
                                "accepted are forms of up to 16 kB");
    if (!desk_form_read(&form, request->body ? request->body : "", request->size))
        return desk_reply_words(request->connection, s, MHD_HTTP_BAD_REQUEST,
                                "accepted is a form without control characters");
    enum MHD_Result result =
        desk_guard_key(door, desk_form_value(&form, "key"))
            ? post_form(door, request, path, &form)
            : desk_reply_words(request->connection, s, MHD_HTTP_FORBIDDEN,
                               "the key is that of the address that pappus desk printed");
    desk_form_clear(&form);
    return result;
}

enum MHD_Result desk_route(const desk_door *door, desk_request *request, const char *path,
                           const char *method)
{
    static const struct {
        const char *path;
        bool for_readers;
        enum MHD_Result (*get)(const desk_door *door, desk_request *request);
    } pages[] = {{"/", true, get_page},
                 {"/part", false, get_part},
                 {"/plan.json", false, get_plan},
                 {"/answer.json", false, get_answer}};
    const desk_session *s = door->server->session;
    if (strcmp(method, MHD_HTTP_METHOD_POST) == 0) return post(door, request, path);
    if (!desk_guard_key(door, argument(request, "key")))
        return desk_reply_words(request->connection, s, MHD_HTTP_FORBIDDEN,
                                "the key is that of the address that pappus desk printed");
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++)
        if (strcmp(path, pages[i].path) == 0 && (pages[i].for_readers || !door->read_only))
            return pages[i].get(door, request);
    return desk_reply_words(request->connection, s, MHD_HTTP_NOT_FOUND, "there is nothing here");
}
