/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as what a browser sends to the desk and as what stands in its file of notes. The first
 * byte chooses: a form (its fields and, of a setting that may be, whether it could name a file),
 * the Host and Origin of a request, or a file of notes that is then added to, struck in and read
 * again. */
#include "http.h"

#include "fuzz_file.h"

#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static bool has_control(const char *text)
{
    for (; *text; text++)
        if ((unsigned char)*text < 0x20 || *text == 0x7f) return true;
    return false;
}

/* What is let through is text without control characters, and no key that could name a file. */
static void see_field(const desk_field *field)
{
    char *setting = NULL;
    pappus_error error = {0};
    if (has_control(field->name) || has_control(field->value)) abort();
    if (asprintf(&setting, "%s=%s", field->name, field->value) < 0) abort();
    int status = desk_setting_check(setting, &error);
    if (status != PAPPUS_OK && error.message[0] == '\0') abort();
    setting[strcspn(setting, "=")] = '\0';
    if (status == PAPPUS_OK && pappus_plan_key_names_file(setting)) abort();
    free(setting);
}

static void try_form(const char *bytes, size_t size)
{
    desk_form form;
    desk_texts texts = {0}, copy;
    if (!desk_form_read(&form, bytes, size)) {
        if (form.fields || form.text) abort();
        return;
    }
    for (size_t i = 0; i < form.count; i++) {
        see_field(&form.fields[i]);
        if (!desk_form_value(&form, form.fields[i].name)) abort();
        if (!desk_texts_set(&texts, form.fields[i].name, form.fields[i].value)) abort();
    }
    if (!desk_texts_copy(&copy, &texts) || copy.count != texts.count) abort();
    for (size_t i = 0; i < copy.count; i++)
        if (strcmp(copy.items[i], texts.items[i]) != 0) abort();
    while (copy.count > 0)
        desk_texts_remove(&copy, copy.count / 2);
    desk_texts_clear(&copy);
    desk_texts_clear(&texts);
    desk_form_clear(&form);
}

/* A Host is the door's own only when it ends with its port; an Origin only when its host is. */
static void try_host(const char *text)
{
    static const desk_door doors[] = {{.address = "127.0.0.1", .port = 8123},
                                      {.address = "[2001:db8::7]", .port = 8124, .read_only = true},
                                      {.port = 8124, .read_only = true}};
    for (size_t i = 0; i < sizeof doors / sizeof doors[0]; i++) {
        char end[8];
        const char *colon = strrchr(text, ':');
        snprintf(end, sizeof end, ":%d", doors[i].port);
        if (desk_host_is_own(&doors[i], text) && (!colon || strcmp(colon, end) != 0)) abort();
        if (desk_origin_is_own(&doors[i], text) &&
            (strlen(text) < 7 || !desk_host_is_own(&doors[i], text + 7)))
            abort();
    }
}

static size_t open_notes(desk_notes *notes, const char *plan)
{
    pappus_log log = {0};
    int status = desk_notes_open(notes, plan, &log);
    if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
    for (size_t i = 0; i < notes->count; i++) {
        const desk_note *note = &notes->items[i];
        if (!(note->height_m > 0.0) || !note->speed || !note->direction) abort();
        if (i > 0 && note->time_utc_s < notes->items[i - 1].time_utc_s) abort();
    }
    pappus_log_clear(&log);
    return status == PAPPUS_OK ? notes->count : 0;
}

static bool same(const desk_note *a, const desk_note *b)
{
    return a->time_utc_s == b->time_utc_s && a->line == b->line &&
           strcmp(a->speed, b->speed) == 0 && strcmp(a->direction, b->direction) == 0 &&
           strcmp(a->height, b->height) == 0;
}

/* Whatever was there: a reading that is added, and one that is struck, are so when read again. */
static void try_notes(const char *bytes, size_t size)
{
    const char *path = fuzz_file("plan.json.notes", bytes, size);
    char plan[96], speed[] = "5 mph", from[] = "W", height[] = "2 m";
    desk_notes notes, again;
    pappus_error error = {0};
    desk_note note = {.time_utc_s = 1807963200.0,
                      .speed = speed,
                      .direction = from,
                      .height = height,
                      .height_m = 2.0};
    snprintf(plan, sizeof plan, "%.*s", (int)(strlen(path) - strlen(".notes")), path);
    size_t count = open_notes(&notes, plan);
    if (count > 0 && desk_notes_strike(&notes, count / 2, &error) != PAPPUS_OK) abort();
    if (desk_notes_add(&notes, &note, &error) != PAPPUS_OK && error.message[0] == '\0') abort();
    if (open_notes(&again, plan) != notes.count) abort();
    for (size_t i = 0; i < notes.count; i++)
        if (!same(&notes.items[i], &again.items[i])) abort();
    desk_notes_close(&again);
    desk_notes_close(&notes);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 1) return 0;
    pappus_quiet_dependencies();
    const char *bytes = (const char *)data + 1;
    char *text = strndup(bytes, size - 1);
    if (!text) abort();
    if (data[0] % 3 == 0) try_form(bytes, size - 1);
    if (data[0] % 3 == 1) try_notes(bytes, size - 1);
    if (data[0] % 3 == 2) try_host(text);
    free(text);
    return 0;
}
