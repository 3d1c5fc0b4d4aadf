/* SPDX-License-Identifier: GPL-3.0-or-later
 * One wind file: its format is told by its content, never by its name.
 *
 * A file is read whole, but not more than 64 MiB, and only when its first 64 KiB are of
 * a known format, so that a disk image is refused at once. Text is UTF-8 (ASCII is)
 * without control characters but tab, line ends and the frame of a bulletin (SOH, ETX);
 * formats that are not text look at their bytes themselves. */
#include "wind_format.h"
#include "wind_levels.h"
#include "c_locale.h"
#include "error.h"
#include "file.h"
#include "timestamp.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const pappus_wind_format *const formats[] = {
#define ROW(name) &pappus_wind_##name,
    PAPPUS_WIND_FORMATS(ROW)
#undef ROW
};
#define FORMAT_COUNT (sizeof formats / sizeof *formats)

static const char byte_order_mark[] = "\xEF\xBB\xBF";
#define MARK_LENGTH (sizeof byte_order_mark - 1)

static size_t mark_length(const char *bytes, size_t length)
{
    return length >= MARK_LENGTH && memcmp(bytes, byte_order_mark, MARK_LENGTH) == 0 ? MARK_LENGTH
                                                                                     : 0;
}

/* Offset of the first byte that is not text, length when all is. */
static size_t first_bad_byte(const char *text, size_t length)
{
    static const char controls[] = "\t\r\n\001\003";
    size_t bad = length;
    if (pappus_utf8_is_valid(text, length, &bad)) bad = length;
    for (size_t i = 0; i < bad; i++) {
        unsigned char c = (unsigned char)text[i];
        if (c == 0x7F || (c < 0x20 && (c == 0 || !strchr(controls, c)))) return i;
    }
    return bad;
}

/* "a, b and c" */
static void list_formats(char *out, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < FORMAT_COUNT && used < size; i++)
        used += (size_t)snprintf(out + used, size - used, "%s%s",
                                 i == 0                  ? ""
                                 : i + 1 == FORMAT_COUNT ? " and "
                                                         : ", ",
                                 formats[i]->help);
}

const pappus_wind_format *pappus_wind_format_of(const char *path, const char *bytes, size_t length,
                                                pappus_error *err)
{
    size_t head = pappus_utf8_cut(bytes, length, PAPPUS_FILE_HEAD_BYTES);
    size_t mark = mark_length(bytes, length);
    bool is_text = first_bad_byte(bytes, head) == head;
    for (size_t i = 0; i < FORMAT_COUNT; i++) {
        size_t skipped = formats[i]->text ? mark : 0;
        if (formats[i]->text && !is_text) continue;
        if (formats[i]->probe(bytes + skipped, head - skipped)) return formats[i];
    }
    char accepted[512];
    list_formats(accepted, sizeof accepted);
    pappus_fail(err, PAPPUS_E_WIND, path, NULL, NULL, "not a wind file; accepted are %s", accepted);
    return NULL;
}

/* PAPPUS_OK for text; takes the byte order mark off. */
static int check_text(pappus_wind_reading *reading)
{
    size_t mark = mark_length(reading->bytes, reading->length);
    reading->bytes += mark;
    reading->length -= mark;
    size_t bad = first_bad_byte(reading->bytes, reading->length), row = 1 + reading->rows_before;
    if (bad == reading->length) return PAPPUS_OK;
    for (size_t i = 0; i < bad; i++)
        row += reading->bytes[i] == '\n';
    return pappus_wind_fault(reading, row, NULL, NULL,
                             "a byte that is not text; accepted is UTF-8");
}

static bool chooses(const pappus_wind_format *format, const char *key)
{
    return format->chooses && strcmp(format->chooses, key) == 0;
}

/* Warns of a choice of the plan that this format does not offer. */
static void tell_unused(const pappus_wind_reading *reading, const pappus_wind_format *format,
                        const char *key, const char *value)
{
    if (chooses(format, key)) return;
    for (size_t i = 0; i < FORMAT_COUNT; i++)
        if (chooses(formats[i], key))
            pappus_log_add(reading->log, PAPPUS_WARNING, PAPPUS_OK, reading->path, key, value,
                           "chooses in %s, which this file is not", formats[i]->help);
}

/* Keeps what is for a time, of formats that hold several times and do not choose themselves;
 * NaN: all. */
static int choose_time(pappus_winds *winds, const pappus_wind_reading *reading, double time_utc_s)
{
    char asked[40], from[40], to[40];
    double first = NAN, last = NAN;
    size_t kept = 0;
    if (isnan(time_utc_s)) return PAPPUS_OK;
    pappus_winds_span(&first, &last, winds);
    for (size_t i = 0; i < winds->profile_count; i++) {
        pappus_wind_profile one = winds->profiles[i];
        if (one.valid_utc_s != time_utc_s) continue;
        winds->profiles[i] = winds->profiles[kept];
        winds->profiles[kept++] = one;
    }
    pappus_time_format(asked, sizeof asked, time_utc_s);
    if (kept == 0 && isnan(first))
        return pappus_wind_file_fault(reading, "sounding", asked,
                                      "no time is in this file; accepted is none");
    pappus_time_format(from, sizeof from, first);
    pappus_time_format(to, sizeof to, last);
    if (kept == 0)
        return pappus_wind_file_fault(reading, "sounding", asked,
                                      "no wind of this time; accepted is a time of the file, from "
                                      "%s to %s",
                                      from, to);
    for (size_t i = kept; i < winds->profile_count; i++)
        pappus_wind_profile_clear(&winds->profiles[i]);
    winds->profile_count = kept;
    return PAPPUS_OK;
}

/* Reads with a format that is known. */
static int read_as(pappus_winds **out, const pappus_wind_format *format,
                   pappus_wind_reading *reading)
{
    int status = format->text ? check_text(reading) : PAPPUS_OK;
    if (status != PAPPUS_OK) return status;
    pappus_winds *winds = calloc(1, sizeof *winds);
    if (!winds) return pappus_wind_memory_fault(reading);
    if (reading->source->station) tell_unused(reading, format, "station", reading->source->station);
    status = format->read(winds, reading);
    if (status == PAPPUS_OK && !chooses(format, "sounding"))
        status = choose_time(winds, reading, reading->source->sounding_utc_s);
    for (size_t i = 0; i < winds->profile_count; i++) {
        if (format->says_kind) winds->profiles[i].kind = format->kind;
        if (format->says_kind) winds->profiles[i].kind_assumed = false;
    }
    if (status != PAPPUS_OK) {
        pappus_winds_free(winds);
        return status;
    }
    *out = winds;
    return PAPPUS_OK;
}

int pappus_wind_bytes_read(pappus_winds **out, pappus_wind_reading *reading)
{
    pappus_error error = {0};
    *out = NULL;
    if (reading->length == 0)
        return pappus_wind_file_fault(reading, NULL, NULL, "the file is empty");
    const pappus_wind_format *format =
        pappus_wind_format_of(reading->path, reading->bytes, reading->length, &error);
    return format ? read_as(out, format, reading) : pappus_log_error(reading->log, &error);
}

/* The beginning of a file, judged before the rest is read. */
typedef struct {
    const char *path;
    const pappus_wind_format *format;
} head_look;

static int look(void *context, const char *head, size_t length, pappus_error *err)
{
    head_look *looked = context;
    looked->format = pappus_wind_format_of(looked->path, head, length, err);
    if (!looked->format) return PAPPUS_E_WIND;
    return looked->format->by_path ? PAPPUS_E_STOPPED : PAPPUS_OK;
}

int pappus_wind_source_read(pappus_winds **out, const pappus_profile_source *source,
                            pappus_wind_wanted wanted, pappus_log *log)
{
    head_look looked = {.path = source->path};
    pappus_wind_reading reading = {
        .path = source->path, .source = source, .wanted = wanted, .log = log};
    pappus_error error = {0};
    *out = NULL;
    int status = pappus_file_read_looking(&reading.bytes, &reading.length, source->path,
                                          PAPPUS_FILE_LIMIT, PAPPUS_E_WIND, look, &looked, &error);
    if (status != PAPPUS_OK && !(looked.format && looked.format->by_path))
        return pappus_log_error(log, &error);
    char *bytes = reading.bytes;
    status = read_as(out, looked.format, &reading);
    free(bytes);
    return status;
}

int pappus_wind_file_read(pappus_winds **out, const pappus_profile_source *source, pappus_log *log)
{
    return pappus_wind_file_read_at(out, source, NAN, NAN, log);
}

int pappus_wind_file_read_at(pappus_winds **out, const pappus_profile_source *source,
                             double latitude_deg, double longitude_deg, pappus_log *log)
{
    pappus_locale locale;
    pappus_wind_wanted wanted = PAPPUS_WIND_WANTED_INIT;
    bool valid = !isnan(source->valid_utc_s);
    wanted.latitude_deg = latitude_deg;
    wanted.longitude_deg = longitude_deg;
    wanted.time_utc_s = valid ? source->valid_utc_s : source->sounding_utc_s;
    *out = NULL;
    if (!pappus_locale_enter(&locale))
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, source->path, NULL, NULL,
                              "out of memory");
    int status = pappus_wind_source_read(out, source, wanted, log);
    pappus_locale_leave(&locale);
    return status;
}

void pappus_winds_free(pappus_winds *winds)
{
    if (!winds) return;
    for (size_t i = 0; i < winds->profile_count; i++)
        pappus_wind_profile_clear(&winds->profiles[i]);
    free(winds->profiles);
    free(winds);
}
