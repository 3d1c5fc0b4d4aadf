/* SPDX-License-Identifier: GPL-3.0-or-later
 * Who may ask. The session's key is in every request; a page of another site can neither know it
 * nor, by Host and Origin (RFC 9110, 7.2; Fetch Standard, 3.2), come in by another name of this
 * machine. */
#include "http.h"

#include <arpa/inet.h>
#include <string.h>
#include <strings.h>

typedef struct {
    const char *name, *value;
    int count;
} header;

static enum MHD_Result take_header(void *context, enum MHD_ValueKind kind, const char *name,
                                   const char *value)
{
    header *h = context;
    (void)kind;
    if (strcasecmp(name, h->name) != 0) return MHD_YES;
    h->value = value ? value : "";
    h->count++;
    return MHD_YES;
}

static header find_header(struct MHD_Connection *connection, const char *name)
{
    header h = {name, NULL, 0};
    MHD_get_connection_values(connection, MHD_HEADER_KIND, take_header, &h);
    return h;
}

bool desk_host_is_own(const desk_door *door, const char *host)
{
    char own[96], address[64];
    unsigned char bytes[16];
    snprintf(own, sizeof own, "%s:%d", door->address, door->port);
    if (door->address[0] && strcasecmp(host, own) == 0) return true;
    snprintf(own, sizeof own, "localhost:%d", door->port);
    if (!door->read_only) return strcasecmp(host, own) == 0;
    if (door->address[0]) return false;
    const char *colon = strrchr(host, ':');
    snprintf(own, sizeof own, ":%d", door->port);
    if (!colon || strcmp(colon, own) != 0 || colon - host >= (ptrdiff_t)sizeof address)
        return false;
    bool six = host[0] == '[' && colon[-1] == ']';
    snprintf(address, sizeof address, "%.*s", (int)(colon - host) - 2 * six, host + six);
    return inet_pton(six ? AF_INET6 : AF_INET, address, bytes) == 1;
}

bool desk_origin_is_own(const desk_door *door, const char *origin)
{
    static const char scheme[] = "http://";
    return strncasecmp(origin, scheme, sizeof scheme - 1) == 0 &&
           desk_host_is_own(door, origin + sizeof scheme - 1);
}

static bool is_form(struct MHD_Connection *connection)
{
    static const char form[] = "application/x-www-form-urlencoded";
    header type = find_header(connection, "Content-Type");
    return type.count == 1 && strncasecmp(type.value, form, sizeof form - 1) == 0;
}

unsigned desk_guard(const char **why, const desk_door *door, struct MHD_Connection *connection,
                    const char *method)
{
    bool posts = strcmp(method, MHD_HTTP_METHOD_POST) == 0 && !door->read_only;
    header host = find_header(connection, "Host"), origin = find_header(connection, "Origin");
    header site = find_header(connection, "Sec-Fetch-Site");
    *why = "accepted is GET, and POST from the desk's own page";
    if (!posts && strcmp(method, MHD_HTTP_METHOD_GET) != 0) return MHD_HTTP_METHOD_NOT_ALLOWED;
    *why = "another host is asked for";
    if (host.count != 1 || !desk_host_is_own(door, host.value)) return MHD_HTTP_FORBIDDEN;
    *why = "another page asks";
    if (origin.count > 1 || (posts && origin.count == 0)) return MHD_HTTP_FORBIDDEN;
    if (origin.count == 1 && !desk_origin_is_own(door, origin.value)) return MHD_HTTP_FORBIDDEN;
    if (site.count > 0 && strcmp(site.value, "same-origin") != 0 && strcmp(site.value, "none") != 0)
        return MHD_HTTP_FORBIDDEN;
    *why = "accepted is a form";
    if (posts && !is_form(connection)) return MHD_HTTP_UNSUPPORTED_MEDIA_TYPE;
    *why = NULL;
    return 0;
}

/* In a time that does not tell how much of it is right. */
bool desk_guard_key(const desk_door *door, const char *key)
{
    const desk_session *s = door->server->session;
    const char *own = door->read_only ? s->reader_key : s->key;
    unsigned different = 0;
    if (!key || strlen(key) != DESK_KEY - 1) return false;
    for (size_t i = 0; i < DESK_KEY - 1; i++)
        different |= (unsigned)(key[i] ^ own[i]);
    return different == 0;
}
