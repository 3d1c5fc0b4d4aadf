/* SPDX-License-Identifier: GPL-3.0-or-later
 * What can be asked of a session: knobs, readings, back again. Each request is one form; what is
 * refused is said where the answer is shown, and leaves that as it was. */
#include "desk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FOOT_M 0.3048

/* ------------------------------------------------------------------ requests */

/* Every request ends here: what it came to is shown. */
static int finish(desk_session *s, int status, const pappus_error *err)
{
    char line[DESK_LINE];
    desk_texts_clear(&s->messages);
    if (status != PAPPUS_OK) {
        pappus_error_line(line, sizeof line, err);
        desk_say(s, "%s", line);
    }
    s->version++;
    pthread_mutex_unlock(&s->lock);
    if (s->tell) s->tell(s->tell_context, NULL);
    return status;
}

static int begin(desk_session *s, desk_wish *wish, pappus_error *err)
{
    pthread_mutex_lock(&s->lock);
    return desk_wish_copy(wish, &s->wish) ? PAPPUS_OK : desk_fail_memory(err);
}

int desk_setting_check(const char *setting, pappus_error *err)
{
    size_t length = strcspn(setting, "=");
    char *key = strndup(setting, length);
    if (!key) return desk_fail_memory(err);
    bool names = pappus_plan_key_names_file(key);
    int status = PAPPUS_OK;
    if (setting[length] != '=' || length == 0 || strlen(setting) > 1000)
        status = desk_fail(err, PAPPUS_E_REFUSED, key, "accepted is KEY=VALUE, up to 1000 letters");
    else if (names)
        status = desk_fail(err, PAPPUS_E_REFUSED, key,
                           "could name a file; accepted are the keys of values");
    free(key);
    return status;
}

static int add_change(desk_wish *wish, const char *key, const char *value, pappus_error *err)
{
    char *setting = NULL;
    if (asprintf(&setting, "%s=%s", key, value) < 0) return desk_fail_memory(err);
    int status = desk_setting_check(setting, err);
    free(setting);
    if (status != PAPPUS_OK) return status;
    if (wish->changes.count >= DESK_MOST_CHANGES)
        return desk_fail(err, PAPPUS_E_REFUSED, key, "100 keys are changed; accepted are no more");
    return desk_texts_set(&wish->changes, key, value) ? PAPPUS_OK : desk_fail_memory(err);
}

/* A height in the plan's unit, as exact as a plan needs it. */
static void write_height(char out[40], double height_m, pappus_unit_system units)
{
    bool us = units == PAPPUS_UNITS_US;
    snprintf(out, 40, "%.10g %s", us ? height_m / FOOT_M : height_m, us ? "ft" : "m");
}

/* All main heights move together: the others keep their distance to the highest. */
static int change_main(desk_wish *wish, const pappus_plan *plan, const char *value,
                       pappus_error *err)
{
    char key[60], other[60], text[40];
    double height_m = NAN, planned_m = NAN;
    pappus_desk_main_key(key, plan);
    if (!key[0]) return desk_fail(err, PAPPUS_E_REFUSED, "main", "the plan has no main height");
    int status = pappus_plan_value_parse(&height_m, key, value, err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        planned_m = fmax(planned_m, plan->altimeters[i].main_height_m);
    status = add_change(wish, key, value, err);
    for (size_t i = 0; status == PAPPUS_OK && i < plan->altimeter_count; i++) {
        double own_m = plan->altimeters[i].main_height_m;
        snprintf(other, sizeof other, "altimeters[%zu].main_height", i);
        if (isnan(own_m) || strcmp(other, key) == 0) continue;
        write_height(text, own_m + height_m - planned_m, plan->units);
        status = add_change(wish, other, text, err);
    }
    return status;
}

static bool is_own(const char *name)
{
    static const char *const names[] = {"key", "plain", "any", "value", "time", "main", "pad"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i]) == 0) return true;
    return false;
}

/* Whether a control stands where the page put it. */
static bool is_as_shown(const pappus_plan *plan, const desk_field *field)
{
    double time_utc_s;
    pappus_error unread = {0};
    if (strcmp(field->name, "wind.time") == 0 &&
        pappus_time_parse(&time_utc_s, field->value, &unread) == PAPPUS_OK)
        return time_utc_s == plan->wind.time_utc_s;
    return strcmp(field->value, pappus_desk_value(plan, field->name)) == 0;
}

static int change_values(desk_wish *wish, const pappus_plan *plan, const desk_form *form,
                         pappus_error *err)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; status == PAPPUS_OK && i < form->count; i++) {
        const desk_field *field = &form->fields[i];
        if (is_own(field->name) || is_as_shown(plan, field)) continue;
        status = add_change(wish, field->name, field->value[0] ? field->value : "null", err);
    }
    return status;
}

static int read_change(desk_wish *wish, const pappus_plan *plan, const desk_form *form,
                       pappus_error *err)
{
    char key[60];
    const char *main_height = desk_form_value(form, "main"), *pad = desk_form_value(form, "pad");
    const char *any = desk_form_value(form, "any"), *value = desk_form_value(form, "value");
    int status = change_values(wish, plan, form, err);
    if (status == PAPPUS_OK && main_height &&
        strcmp(main_height, pappus_desk_value(plan, pappus_desk_main_key(key, plan))) != 0)
        status = change_main(wish, plan, main_height, err);
    if (status == PAPPUS_OK && any && any[0])
        status = add_change(wish, any, value && value[0] ? value : "null", err);
    const char *flown = plan->site.pad_name ? plan->site.pad_name : "";
    if (status != PAPPUS_OK || !pad || strcmp(pad, flown) == 0) return status;
    free(wish->pad);
    wish->pad = strdup(pad);
    return wish->pad ? PAPPUS_OK : desk_fail_memory(err);
}

int desk_change(desk_session *s, const desk_form *form, pappus_error *err)
{
    desk_wish wish;
    int status = begin(s, &wish, err);
    if (status == PAPPUS_OK) {
        status = read_change(&wish, pappus_situation_givens(s->current).plan, form, err);
        if (status == PAPPUS_OK)
            status = desk_take(s, &wish, err);
        else
            desk_wish_clear(&wish);
    }
    return finish(s, status, err);
}

/* --------------------------------------------------------------------- notes */

static int read_note(desk_note *out, const desk_form *form, pappus_error *err)
{
    const char *time = desk_form_value(form, "time");
    const char *speed = desk_form_value(form, "wind.surface.speed");
    const char *direction = desk_form_value(form, "wind.surface.direction");
    const char *height = desk_form_value(form, "wind.surface.height");
    const char *gust = desk_form_value(form, "wind.surface.gust");
    if (!speed || !speed[0] || !direction || !direction[0])
        return desk_fail(err, PAPPUS_E_REFUSED, NULL,
                         "a reading has a speed and a direction where it comes from");
    *out = (desk_note){.time_utc_s = desk_now_utc_s(),
                       .speed = (char *)(uintptr_t)speed,
                       .direction = (char *)(uintptr_t)direction,
                       .height = (char *)(uintptr_t)(height && height[0] ? height : "2 m"),
                       .gust = (char *)(uintptr_t)(gust && gust[0] ? gust : NULL)};
    if (time && time[0]) {
        int status = pappus_time_parse(&out->time_utc_s, time, err);
        if (status != PAPPUS_OK) return status;
    }
    return pappus_plan_value_parse(&out->height_m, "wind.surface.height", out->height, err);
}

/* Whether the plan's own reader takes it as the wind at the ground. */
static int try_note(const desk_session *s, const desk_note *note, pappus_error *err)
{
    desk_texts settings = {0};
    pappus_situation *tried = NULL;
    pappus_log log = {0};
    bool good = desk_texts_set(&settings, "wind.surface.speed", note->speed) &&
                desk_texts_set(&settings, "wind.surface.direction", note->direction) &&
                desk_texts_set(&settings, "wind.surface.height", note->height) &&
                desk_texts_set(&settings, "wind.surface.gust", note->gust ? note->gust : "null");
    int status = good ? desk_vary(&tried, s->base, &settings, &log) : PAPPUS_E_MEMORY;
    if (status != PAPPUS_OK) desk_fail_log(err, &log, status);
    pappus_situation_free(tried);
    pappus_log_clear(&log);
    desk_texts_clear(&settings);
    return status;
}

/* What was tried of the wind at the ground makes way for what was measured. */
static void forget_wind(desk_wish *wish)
{
    static const char prefix[] = "wind.surface.";
    for (size_t i = wish->changes.count; i-- > 0;)
        if (strncmp(wish->changes.items[i], prefix, sizeof prefix - 1) == 0)
            desk_texts_remove(&wish->changes, i);
    wish->past = false;
}

int desk_take_note(desk_session *s, const desk_form *form, pappus_error *err)
{
    desk_wish wish;
    desk_note note;
    int status = begin(s, &wish, err);
    if (status != PAPPUS_OK) return finish(s, status, err);
    status = read_note(&note, form, err);
    if (status == PAPPUS_OK) status = try_note(s, &note, err);
    if (status == PAPPUS_OK) status = desk_notes_add(&s->notes, &note, err);
    if (status == PAPPUS_OK) {
        forget_wind(&wish);
        status = desk_take(s, &wish, err);
    } else {
        desk_wish_clear(&wish);
    }
    return finish(s, status, err);
}

/* The note that a form means, from 1; 0 is now. */
static int read_number(size_t *out, const desk_session *s, const desk_form *form, pappus_error *err)
{
    const char *text = desk_form_value(form, "number");
    char *end = NULL;
    unsigned long number = text && text[0] >= '0' && text[0] <= '9' ? strtoul(text, &end, 10) : 0;
    *out = number;
    if (end && *end == '\0' && number <= s->notes.count) return PAPPUS_OK;
    return desk_fail(err, PAPPUS_E_REFUSED, text, "accepted is the number of a reading");
}

int desk_strike(desk_session *s, const desk_form *form, pappus_error *err)
{
    size_t number = 0;
    desk_wish wish;
    int status = begin(s, &wish, err);
    if (status != PAPPUS_OK) return finish(s, status, err);
    status = read_number(&number, s, form, err);
    if (status == PAPPUS_OK && number == 0)
        status = desk_fail(err, PAPPUS_E_REFUSED, "0", "accepted is the number of a reading");
    if (status == PAPPUS_OK) status = desk_notes_strike(&s->notes, number - 1, err);
    wish.past = false;
    if (status == PAPPUS_OK)
        status = desk_take(s, &wish, err);
    else
        desk_wish_clear(&wish);
    return finish(s, status, err);
}

int desk_show(desk_session *s, const desk_form *form, pappus_error *err)
{
    size_t number = 0;
    desk_wish wish;
    int status = begin(s, &wish, err);
    if (status != PAPPUS_OK) return finish(s, status, err);
    status = read_number(&number, s, form, err);
    if (status == PAPPUS_OK) {
        forget_wind(&wish);
        wish.past = number > 0;
        wish.note = number > 0 ? number - 1 : 0;
        status = desk_take(s, &wish, err);
    } else {
        desk_wish_clear(&wish);
    }
    return finish(s, status, err);
}

/* ---------------------------------------------------------------- back again */

/* The main heights went together and come back together: with the highest the others. */
static bool goes_back(const char *change, const char *key, const char *main_key)
{
    size_t length = strlen(key), known = strcspn(change, "=");
    static const char end[] = ".main_height";
    bool is_main = strncmp(change, "altimeters[", strlen("altimeters[")) == 0 &&
                   known > sizeof end &&
                   strncmp(change + known - (sizeof end - 1), end, sizeof end - 1) == 0;
    return (known == length && strncmp(change, key, length) == 0) ||
           (is_main && strcmp(key, main_key) == 0);
}

int desk_undo(desk_session *s, const desk_form *form, pappus_error *err)
{
    const char *key = desk_form_value(form, "of");
    desk_wish wish;
    int status = begin(s, &wish, err);
    if (status != PAPPUS_OK) return finish(s, status, err);
    char main_key[60];
    pappus_desk_main_key(main_key, pappus_situation_givens(s->current).plan);
    for (size_t i = wish.changes.count; key && i-- > 0;)
        if (goes_back(wish.changes.items[i], key, main_key)) desk_texts_remove(&wish.changes, i);
    return finish(s, desk_take(s, &wish, err), err);
}

int desk_reset(desk_session *s, const desk_form *form, pappus_error *err)
{
    (void)form;
    desk_wish wish = {0};
    pthread_mutex_lock(&s->lock);
    return finish(s, desk_take(s, &wish, err), err);
}

/* Plan and files as they are now; what was changed stays laid over them. */
int desk_reread(desk_session *s, const desk_form *form, pappus_error *err)
{
    (void)form;
    pappus_log log = {0};
    pappus_situation *fresh = NULL, *before;
    pthread_mutex_lock(&s->lock);
    int status = desk_read_plan(&fresh, s, &log);
    if (status != PAPPUS_OK) desk_fail_log(err, &log, status);
    pappus_log_clear(&log);
    if (status != PAPPUS_OK) return finish(s, status, err);
    before = s->base;
    s->base = fresh;
    pappus_situation *current = s->current;
    s->current = NULL; /* so that all is laid anew over what was read */
    status = desk_make(s, &s->wish, err);
    if (status != PAPPUS_OK) {
        s->current = current;
        s->base = before;
        before = fresh;
    } else {
        pappus_situation_free(current);
    }
    pappus_situation_free(before);
    return finish(s, status, err);
}
