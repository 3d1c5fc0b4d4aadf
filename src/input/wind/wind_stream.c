/* SPDX-License-Identifier: GPL-3.0-or-later
 * An archive is cut where a line begins a part (a sounding with its levels), and each
 * part is read by its format as if it were a file of its own, so memory is that of one
 * part. Formats without parts are read whole and handed out profile by profile. Without
 * an end of line for 4 MiB, or a part longer than that, it is no archive of ours. */
#include "wind_stream.h"
#include "wind_levels.h"
#include "c_locale.h"
#include "error.h"
#include "file.h"
#include "grow.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PART_MAX_BYTES ((size_t)4 << 20)

struct pappus_wind_stream {
    pappus_profile_source source;
    pappus_wind_wanted wanted;
    pappus_log *log;
    const pappus_wind_format *format;
    FILE *file;              /* NULL: read whole */
    char *bytes;             /* a window of the file */
    size_t length, capacity; /* of the window; room for a NUL */
    size_t taken;            /* bytes of the window that are of parts given out */
    size_t rows;             /* lines before `taken` */
    size_t part_count, skipped_count;
    pappus_error first_skipped;
    pappus_winds *winds; /* profiles of the current part, or of the whole file */
    size_t given_count;  /* of them */
};

static int fault(const pappus_wind_stream *s, int code, const char *message, const char *reason)
{
    return pappus_log_add(s->log, PAPPUS_FAULT, code, s->source.path, NULL, NULL, "%s%s", message,
                          reason);
}

static int memory_fault(const pappus_wind_stream *s)
{
    return fault(s, PAPPUS_E_MEMORY, "out of memory", "");
}

/* Drops what was given out and reads on; nothing is added at the end of the file. */
static int slide(pappus_wind_stream *s)
{
    s->length -= s->taken;
    if (s->length > 0) memmove(s->bytes, s->bytes + s->taken, s->length);
    s->taken = 0;
    if (s->length > PART_MAX_BYTES)
        return fault(s, PAPPUS_E_WIND, "a part longer than 4 MiB", "; no sounding is");
    if (!PAPPUS_GROW(s->bytes, &s->capacity, s->length + PAPPUS_FILE_HEAD_BYTES + 1))
        return memory_fault(s);
    s->length += fread(s->bytes + s->length, 1, s->capacity - 1 - s->length, s->file);
    if (ferror(s->file))
        return fault(s, pappus_file_code(errno, PAPPUS_E_WIND),
                     "cannot be read: ", strerror(errno));
    return PAPPUS_OK;
}

/* End of the part that begins at `taken`: where a line begins the next one. False when
 * that is not in the window. */
static bool find_end(const pappus_wind_stream *s, size_t *end)
{
    const char *at = s->bytes + s->taken, *stop = s->bytes + s->length;
    while ((at = memchr(at, '\n', (size_t)(stop - at))) && ++at < stop) {
        if (!s->format->begins_part(at, (size_t)(stop - at))) continue;
        *end = (size_t)(at - s->bytes);
        return true;
    }
    *end = s->length;
    return feof(s->file);
}

static void keep_reason(pappus_wind_stream *s, const pappus_log *log)
{
    if (s->skipped_count++ == 0) pappus_fail_logged(&s->first_skipped, PAPPUS_E_WIND, log);
}

/* Reads the part up to `end` into s->winds, which stays NULL when it is skipped. */
static int read_part(pappus_wind_stream *s, size_t end)
{
    pappus_log log = {0};
    char *part = s->bytes + s->taken, behind = s->bytes[end];
    s->bytes[end] = '\0';
    pappus_wind_reading reading = {.path = s->source.path,
                                   .bytes = part,
                                   .length = end - s->taken,
                                   .rows_before = s->rows,
                                   .source = &s->source,
                                   .wanted = s->wanted,
                                   .log = &log};
    for (const char *p = part; (p = memchr(p, '\n', (size_t)(s->bytes + end - p))); p++)
        s->rows++;
    int status = pappus_wind_bytes_read(&s->winds, &reading);
    s->bytes[end] = behind;
    s->taken = end;
    s->part_count++;
    s->given_count = 0;
    if (status != PAPPUS_OK && status != PAPPUS_E_MEMORY) {
        keep_reason(s, &log);
        status = PAPPUS_OK;
    }
    pappus_log_clear(&log);
    return status == PAPPUS_OK ? PAPPUS_OK : memory_fault(s);
}

static void tell_skipped(pappus_wind_stream *s)
{
    const pappus_error *first = &s->first_skipped;
    if (s->skipped_count == 0) return;
    pappus_log_add(s->log, PAPPUS_WARNING, PAPPUS_OK, s->source.path, first->key, first->value,
                   "%s; %zu of %zu soundings are left out, this the first", first->message,
                   s->skipped_count, s->part_count);
}

/* The next part that can be read; *more false when there is none. */
static int next_part(pappus_wind_stream *s, bool *more)
{
    int status = PAPPUS_OK;
    pappus_winds_free(s->winds);
    s->winds = NULL;
    while (status == PAPPUS_OK && !s->winds) {
        size_t end;
        bool found = find_end(s, &end);
        if (found && end > s->taken) {
            status = read_part(s, end);
        } else if (found) {
            break;
        } else {
            status = slide(s);
        }
    }
    *more = s->winds != NULL;
    if (status == PAPPUS_OK && !*more) tell_skipped(s);
    return status;
}

static int next(pappus_wind_stream *s, pappus_wind_profile *out, bool *more)
{
    int status = PAPPUS_OK;
    *more = true;
    while (status == PAPPUS_OK && *more &&
           (!s->winds || s->given_count == s->winds->profile_count)) {
        *more = s->file != NULL;
        if (*more) status = next_part(s, more);
    }
    if (status != PAPPUS_OK || !*more) {
        *more = false;
        return status;
    }
    pappus_wind_profile *profile = &s->winds->profiles[s->given_count++];
    *out = *profile;
    *profile = (pappus_wind_profile){0}; /* the caller's now */
    return PAPPUS_OK;
}

int pappus_wind_stream_next(pappus_wind_stream *stream, pappus_wind_profile *out, bool *more)
{
    pappus_locale locale;
    *out = (pappus_wind_profile){0};
    *more = false;
    if (!pappus_locale_enter(&locale)) return memory_fault(stream);
    int status = next(stream, out, more);
    pappus_locale_leave(&locale);
    return status;
}

/* Tells the format by the beginning; what has no parts is read whole at once. */
static int begin(pappus_wind_stream *s)
{
    pappus_error error = {0};
    int status = pappus_file_open(&s->file, s->source.path, PAPPUS_E_WIND, &error);
    if (status != PAPPUS_OK) return pappus_log_error(s->log, &error);
    status = slide(s);
    if (status != PAPPUS_OK) return status;
    if (s->length == 0) return fault(s, PAPPUS_E_WIND, "the file is empty", "");
    s->format = pappus_wind_format_of(s->source.path, s->bytes, s->length, &error);
    if (!s->format) return pappus_log_error(s->log, &error);
    if (s->format->begins_part) return PAPPUS_OK;
    fclose(s->file);
    s->file = NULL;
    return pappus_wind_source_read(&s->winds, &s->source, s->wanted, s->log);
}

int pappus_wind_stream_open(pappus_wind_stream **out, const pappus_profile_source *source,
                            pappus_wind_wanted wanted, pappus_log *log)
{
    pappus_locale locale;
    pappus_wind_stream *s = calloc(1, sizeof *s);
    *out = NULL;
    if (!s || !pappus_locale_enter(&locale)) {
        free(s);
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, source->path, NULL, NULL,
                              "out of memory");
    }
    s->source = *source;
    s->wanted = wanted;
    s->log = log;
    int status = begin(s);
    pappus_locale_leave(&locale);
    if (status != PAPPUS_OK) {
        pappus_wind_stream_close(s);
        return status;
    }
    *out = s;
    return PAPPUS_OK;
}

size_t pappus_wind_stream_skipped(const pappus_wind_stream *stream)
{
    return stream->skipped_count;
}

void pappus_wind_stream_close(pappus_wind_stream *stream)
{
    if (!stream) return;
    if (stream->file) fclose(stream->file);
    pappus_winds_free(stream->winds);
    free(stream->bytes);
    free(stream);
}
