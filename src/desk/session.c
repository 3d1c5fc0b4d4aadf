/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is asked for. Each request is tried on a situation of its own; only when that could be made
 * does it take the place of the one before, and the computing thread is told. Where the settings
 * only grow or change, the situation is made of the one before, so that what did not change is not
 * read again. */
#include "desk.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MOST_HEIGHTS 100

double desk_now_utc_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (double)t.tv_sec;
}

/* ----------------------------------------------------------------- messages */

int desk_fail(pappus_error *err, int code, const char *value, const char *message)
{
    *err = (pappus_error){.code = code};
    snprintf(err->value, sizeof err->value, "%s", value ? value : "");
    snprintf(err->message, sizeof err->message, "%s", message);
    return code;
}

int desk_fail_memory(pappus_error *err)
{
    return desk_fail(err, PAPPUS_E_MEMORY, NULL, "out of memory");
}

int desk_fail_log(pappus_error *err, const pappus_log *log, int status)
{
    for (size_t i = 0; i < log->count; i++)
        if (log->entries[i].severity == PAPPUS_FAULT) {
            *err = log->entries[i].error;
            return status;
        }
    return desk_fail(err, status, NULL, pappus_status_text(status));
}

void desk_log_line(char out[DESK_LINE], const pappus_log *log, int status)
{
    pappus_error error;
    desk_fail_log(&error, log, status);
    pappus_error_line(out, DESK_LINE, &error);
}

void desk_say(desk_session *s, const char *format, ...)
{
    char line[DESK_LINE];
    va_list values;
    va_start(values, format);
    vsnprintf(line, sizeof line, format, values);
    va_end(values);
    if (s->messages.count < DESK_MOST_MESSAGES) desk_texts_add(&s->messages, line);
}

/* ---------------------------------------------------------------- situation */

static bool nests(const char *a, const char *b)
{
    size_t n = strcspn(a, "="), m = strcspn(b, "=");
    return n < m && strncmp(a, b, n) == 0 && strchr(".[", b[n]);
}

static bool has_key_of(const desk_texts *list, const char *setting)
{
    size_t n = strcspn(setting, "=") + 1;
    for (size_t i = 0; i < list->count; i++)
        if (strncmp(list->items[i], setting, n) == 0) return true;
    return false;
}

static bool has(const desk_texts *list, const char *setting)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(list->items[i], setting) == 0) return true;
    return false;
}

/* Whether what is to be laid can be laid over what was: no key is gone, and none is within
 * another, so that the order does not matter. */
static bool grows(const desk_texts *laid, const desk_texts *next)
{
    for (size_t i = 0; i < laid->count; i++)
        if (!has_key_of(next, laid->items[i])) return false;
    for (size_t i = 0; i < next->count; i++)
        for (size_t k = 0; k < next->count; k++)
            if (nests(next->items[i], next->items[k])) return false;
    return true;
}

static bool same_pad(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

int desk_vary(pappus_situation **out, const pappus_situation *from, const desk_texts *settings,
              pappus_log *log)
{
    if (settings->count > 0)
        return pappus_situation_vary(out, from, settings->count,
                                     (const char *const *)settings->items, log);
    *out = pappus_situation_share(from);
    return *out ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static int lay_over_base(pappus_situation **out, desk_session *s, const desk_wish *wish,
                         const desk_texts *settings, pappus_log *log)
{
    pappus_situation *flown = NULL;
    int status = PAPPUS_OK;
    if (wish->pad) status = pappus_situation_from_pad(&flown, s->base, wish->pad, log);
    if (status == PAPPUS_OK) status = desk_vary(out, flown ? flown : s->base, settings, log);
    pappus_situation_free(flown);
    return status;
}

static int lay_over_current(pappus_situation **out, desk_session *s, const desk_texts *settings,
                            pappus_log *log)
{
    desk_texts changed = {0};
    int status = PAPPUS_OK;
    for (size_t i = 0; i < settings->count; i++)
        if (!has(&s->laid, settings->items[i]) && !desk_texts_add(&changed, settings->items[i]))
            status = PAPPUS_E_MEMORY;
    if (status == PAPPUS_OK) status = desk_vary(out, s->current, &changed, log);
    desk_texts_clear(&changed);
    return status;
}

static size_t height_rows(const pappus_plan *plan)
{
    double rows = (plan->heights_to_m - plan->heights_from_m) / plan->heights_step_m;
    return rows > 0.0 && rows < 1e6 ? (size_t)rows : 0;
}

/* What a page may ask to compute; a plan of its own that asks for more is let. */
static int check_size(const desk_session *s, const pappus_situation *next, pappus_error *err)
{
    const pappus_plan *plan = pappus_situation_givens(next).plan;
    const pappus_plan *base = pappus_situation_givens(s->base).plan;
    if (plan->landings > DESK_MOST_LANDINGS && plan->landings > base->landings)
        return desk_fail(err, PAPPUS_E_REFUSED, "run.landings",
                         "more than the desk computes; accepted are up to 200000 landings");
    if (height_rows(plan) > MOST_HEIGHTS && height_rows(plan) > height_rows(base))
        return desk_fail(err, PAPPUS_E_REFUSED, "heights.step",
                         "more than the desk computes; accepted are up to 100 heights");
    return PAPPUS_OK;
}

static void put_current(desk_session *s, pappus_situation *next, desk_texts *settings, char *pad)
{
    pappus_situation_free(s->current);
    desk_texts_clear(&s->laid);
    free(s->laid_pad);
    s->current = next;
    s->laid = *settings;
    s->laid_pad = pad;
    *settings = (desk_texts){0};
    atomic_fetch_add(&s->number, 1);
    s->version++;
    pthread_cond_broadcast(&s->work);
}

/* Makes what a wish asks for; the lock is held. */
int desk_make(desk_session *s, const desk_wish *wish, pappus_error *err)
{
    const pappus_plan *plan = pappus_situation_givens(s->base).plan;
    pappus_situation *next = NULL;
    desk_texts settings;
    pappus_log log = {0};
    if (desk_layers_settings(&settings, wish, &s->notes, plan, desk_now_utc_s()) != PAPPUS_OK)
        return desk_fail_memory(err);
    bool over_current =
        s->current && same_pad(wish->pad, s->laid_pad) && grows(&s->laid, &settings);
    int status = over_current ? lay_over_current(&next, s, &settings, &log)
                              : lay_over_base(&next, s, wish, &settings, &log);
    if (status != PAPPUS_OK) desk_fail_log(err, &log, status);
    if (status == PAPPUS_OK) status = check_size(s, next, err);
    char *pad = wish->pad ? strdup(wish->pad) : NULL;
    if (status == PAPPUS_OK)
        put_current(s, next, &settings, pad);
    else {
        pappus_situation_free(next);
        free(pad);
    }
    desk_texts_clear(&settings);
    pappus_log_clear(&log);
    return status;
}

/* Takes a wish in place of the one before, or leaves that; takes it over either way. */
int desk_take(desk_session *s, desk_wish *wish, pappus_error *err)
{
    int status = desk_make(s, wish, err);
    if (status == PAPPUS_OK) {
        desk_wish_clear(&s->wish);
        s->wish = *wish;
    } else {
        desk_wish_clear(wish);
    }
    return status;
}

int desk_read_plan(pappus_situation **out, const desk_session *s, pappus_log *log)
{
    return pappus_situation_open(out, s->options.plan_path, &s->options.plan, NULL, log);
}

/* ------------------------------------------------------------------ begin, end */

int desk_session_open(desk_session *s, const desk_options *options, pappus_log *log)
{
    pappus_error error = {0};
    *s = (desk_session){.options = *options};
    pthread_mutex_init(&s->lock, NULL);
    pthread_cond_init(&s->work, NULL);
    int status = desk_read_plan(&s->base, s, log);
    if (status == PAPPUS_OK) status = desk_notes_open(&s->notes, options->plan_path, log);
    if (status != PAPPUS_OK) return status;
    status = desk_make(s, &s->wish, &error);
    if (status != PAPPUS_OK)
        pappus_log_add(log, PAPPUS_FAULT, status, error.file, error.key, error.value, "%s",
                       error.message);
    return status;
}

void desk_session_close(desk_session *s)
{
    desk_shown_release(s->shown);
    pappus_situation_free(s->current);
    pappus_situation_free(s->base);
    desk_notes_close(&s->notes);
    desk_wish_clear(&s->wish);
    desk_texts_clear(&s->laid);
    desk_texts_clear(&s->messages);
    free(s->laid_pad);
    pthread_cond_destroy(&s->work);
    pthread_mutex_destroy(&s->lock);
}
