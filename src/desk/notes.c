/* SPDX-License-Identifier: GPL-3.0-or-later
 * Readings of the wind, in a file beside the plan: PLAN.notes, one object of JSON a line (RFC
 * 8259), which is only ever appended to. A line is on the disk before its reading counts, so that
 * a crash loses none; one that a crash cut short is told and left. A reading is struck by a line
 * of its own. */
#include "desk.h"

#include <cjson/cJSON.h>

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MOST_BYTES (1 << 20)
#define MOST_LINE 2000

static int fail(pappus_error *err, int code, const char *file, const char *message)
{
    *err = (pappus_error){.code = code};
    snprintf(err->file, sizeof err->file, "%s", file ? file : "");
    snprintf(err->message, sizeof err->message, "%s", message);
    return code;
}

static int fail_memory(pappus_error *err)
{
    return fail(err, PAPPUS_E_MEMORY, NULL, "out of memory");
}

static void clear_note(desk_note *note)
{
    free(note->speed);
    free(note->direction);
    free(note->height);
    free(note->gust);
    *note = (desk_note){0};
}

static bool copy_note(desk_note *out, const desk_note *from)
{
    *out = *from;
    out->speed = strdup(from->speed);
    out->direction = strdup(from->direction);
    out->height = strdup(from->height);
    out->gust = from->gust ? strdup(from->gust) : NULL;
    if (out->speed && out->direction && out->height && (out->gust || !from->gust)) return true;
    clear_note(out);
    return false;
}

/* Takes the note over, in order of time; of two at one time the later line comes later. */
static bool insert(desk_notes *notes, desk_note note)
{
    desk_note *items = realloc(notes->items, (notes->count + 1) * sizeof *items);
    if (!items) return false;
    notes->items = items;
    size_t at = notes->count++;
    while (at > 0 && items[at - 1].time_utc_s > note.time_utc_s) {
        items[at] = items[at - 1];
        at--;
    }
    items[at] = note;
    return true;
}

static void drop(desk_notes *notes, size_t index)
{
    clear_note(&notes->items[index]);
    notes->count--;
    memmove(notes->items + index, notes->items + index + 1,
            (notes->count - index) * sizeof *notes->items);
}

/* ------------------------------------------------------------------ reading */

static const char *text_of(const cJSON *object, const char *key)
{
    return cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, key));
}

static bool strike_line(desk_notes *notes, const cJSON *object)
{
    const cJSON *line = cJSON_GetObjectItemCaseSensitive(object, "strike");
    if (!cJSON_IsNumber(line)) return false;
    for (size_t i = 0; i < notes->count; i++)
        if ((double)notes->items[i].line == line->valuedouble) {
            drop(notes, i);
            break;
        }
    return true;
}

/* Of one text it is read once: units are slow to come by, and the sensor stays where it is. */
static bool read_height(desk_note *note, const desk_notes *notes)
{
    pappus_error unread = {0};
    for (size_t i = 0; i < notes->count; i++) {
        if (strcmp(notes->items[i].height, note->height) != 0) continue;
        note->height_m = notes->items[i].height_m;
        return true;
    }
    return pappus_plan_value_parse(&note->height_m, "wind.surface.height", note->height, &unread) ==
           PAPPUS_OK;
}

static bool read_note(desk_notes *notes, const cJSON *object)
{
    const char *time = text_of(object, "time"), *height = text_of(object, "height");
    const desk_note read = {.speed = (char *)(uintptr_t)text_of(object, "speed"),
                            .direction = (char *)(uintptr_t)text_of(object, "direction"),
                            .height = (char *)(uintptr_t)height,
                            .gust = (char *)(uintptr_t)text_of(object, "gust"),
                            .line = notes->lines};
    desk_note note;
    pappus_error unread = {0};
    if (!time || !read.speed || !read.direction || !height) return false;
    if (!copy_note(&note, &read)) return false;
    bool good = pappus_time_parse(&note.time_utc_s, time, &unread) == PAPPUS_OK &&
                read_height(&note, notes);
    if (good && notes->count < DESK_MOST_NOTES && insert(notes, note)) return true;
    clear_note(&note);
    return false;
}

static void read_line(desk_notes *notes, const char *line, pappus_log *log)
{
    notes->lines++;
    if (line[0] == '\0') return;
    cJSON *object = cJSON_ParseWithOpts(line, NULL, true);
    bool good = cJSON_IsObject(object) && (strike_line(notes, object) || read_note(notes, object));
    cJSON_Delete(object);
    char row[40];
    snprintf(row, sizeof row, "line %zu", notes->lines);
    if (!good)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, notes->path, row, NULL,
                       "is no reading, or one too many; it is left as it is");
}

/* A last line without its end was cut short: what is appended must not grow onto it. */
static int read_lines(desk_notes *notes, char *bytes, size_t size, pappus_log *log)
{
    char *line = bytes;
    for (char *end; (end = memchr(line, '\n', (size_t)(bytes + size - line))); line = end + 1) {
        *end = '\0';
        read_line(notes, line, log);
    }
    if (line == bytes + size) return PAPPUS_OK;
    read_line(notes, line, log);
    int file = open(notes->path, O_WRONLY | O_APPEND | O_CLOEXEC | O_NOFOLLOW);
    bool ended = file >= 0 && write(file, "\n", 1) == 1;
    if (file >= 0) close(file);
    if (ended) return PAPPUS_OK;
    return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_OUTPUT, notes->path, NULL, NULL,
                          "its last line cannot be ended: %s", strerror(errno));
}

static char *read_file(size_t *size, const desk_notes *notes, int *why)
{
    struct stat info;
    char *bytes = NULL;
    int file = open(notes->path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    *why = file < 0 ? errno : 0;
    *size = 0;
    if (file < 0) return NULL;
    if (fstat(file, &info) != 0 || !S_ISREG(info.st_mode) || info.st_size > MOST_BYTES)
        *why = EFBIG;
    else
        bytes = malloc((size_t)info.st_size + 1);
    for (ssize_t got; bytes && (off_t)*size < info.st_size; *size += (size_t)got) {
        got = read(file, bytes + *size, (size_t)info.st_size - *size);
        if (got <= 0) break;
    }
    if (bytes) bytes[*size] = '\0';
    if (!bytes && !*why) *why = ENOMEM;
    close(file);
    return bytes;
}

int desk_notes_open(desk_notes *notes, const char *plan_path, pappus_log *log)
{
    size_t size;
    int why;
    *notes = (desk_notes){0};
    if (asprintf(&notes->path, "%s.notes", plan_path) < 0) {
        notes->path = NULL;
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                              "out of memory");
    }
    char *bytes = read_file(&size, notes, &why);
    if (!bytes && why == ENOENT) return PAPPUS_OK;
    if (!bytes)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_PLAN, notes->path, NULL, NULL,
                              "the readings cannot be read: %s; accepted is a file of up to 1 MB",
                              strerror(why));
    int status = read_lines(notes, bytes, size, log);
    free(bytes);
    return status;
}

void desk_notes_close(desk_notes *notes)
{
    while (notes->count > 0)
        drop(notes, notes->count - 1);
    free(notes->items);
    free(notes->path);
    *notes = (desk_notes){0};
}

/* ------------------------------------------------------------------ writing */

/* One write of the whole line: others that append do not come between. What a full disk leaves of
 * it is a line too, and is ended before the next. */
static int append(desk_notes *notes, cJSON *object, pappus_error *err)
{
    char *text = object ? cJSON_PrintUnformatted(object) : NULL, *line = NULL;
    cJSON_Delete(object);
    int length = text ? asprintf(&line, "%s%s\n", notes->cut ? "\n" : "", text) : -1;
    free(text);
    if (length < 0) return fail_memory(err);
    int file =
        length > MOST_LINE
            ? -1
            : open(notes->path, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666);
    ssize_t put = file >= 0 ? write(file, line, (size_t)length) : -1;
    bool written = put == length && fsync(file) == 0;
    int why = put >= 0 && put < length ? ENOSPC : errno;
    if (file >= 0 && close(file) != 0) written = false;
    free(line);
    if (length > MOST_LINE) return fail(err, PAPPUS_E_REFUSED, NULL, "the reading is too long");
    if (put > 0) {
        bool begun = put > notes->cut;
        notes->lines += begun;
        notes->cut = begun && put < length;
    }
    return written ? PAPPUS_OK : fail(err, PAPPUS_E_OUTPUT, notes->path, strerror(why));
}

static cJSON *note_object(const desk_note *note)
{
    char time[40];
    time_t whole = (time_t)note->time_utc_s;
    struct tm utc;
    gmtime_r(&whole, &utc);
    strftime(time, sizeof time, "%Y-%m-%dT%H:%M:%SZ", &utc);
    cJSON *object = cJSON_CreateObject();
    bool good = cJSON_AddStringToObject(object, "time", time) &&
                cJSON_AddStringToObject(object, "speed", note->speed) &&
                cJSON_AddStringToObject(object, "direction", note->direction) &&
                cJSON_AddStringToObject(object, "height", note->height) &&
                (!note->gust || cJSON_AddStringToObject(object, "gust", note->gust));
    if (good) return object;
    cJSON_Delete(object);
    return NULL;
}

int desk_notes_add(desk_notes *notes, const desk_note *note, pappus_error *err)
{
    desk_note copy;
    if (notes->count >= DESK_MOST_NOTES)
        return fail(err, PAPPUS_E_REFUSED, NULL, "500 readings are noted; accepted are no more");
    if (!copy_note(&copy, note)) return fail_memory(err);
    int status = append(notes, note_object(note), err);
    copy.line = notes->lines;
    if (status == PAPPUS_OK && !insert(notes, copy)) status = fail_memory(err);
    if (status != PAPPUS_OK) clear_note(&copy);
    return status;
}

int desk_notes_strike(desk_notes *notes, size_t index, pappus_error *err)
{
    cJSON *object = cJSON_CreateObject();
    if (!cJSON_AddNumberToObject(object, "strike", (double)notes->items[index].line)) {
        cJSON_Delete(object);
        return fail_memory(err);
    }
    int status = append(notes, object, err);
    if (status == PAPPUS_OK) drop(notes, index);
    return status;
}
