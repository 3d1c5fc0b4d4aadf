/* SPDX-License-Identifier: GPL-3.0-or-later
 * The computing thread: one computation at a time. A change is answered first with few landings
 * and without what takes long, then with all; a newer change stops the second, not the first, so
 * that something moves while a knob is turned. Where the winds have hours, those are looked
 * through last of all. Errands come after the answer to the last change and are begun again when a
 * change stopped them. */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
    desk_session *s;
    uint64_t number;
} computation;

/* ------------------------------------------------------------------- answers */

static int stop_when_newer(void *context, double fraction)
{
    const computation *c = context;
    (void)fraction;
    return c->s->ending || atomic_load(&c->s->number) != c->number;
}

static int stop_at_end(void *context, double fraction)
{
    const computation *c = context;
    (void)fraction;
    return c->s->ending;
}

void desk_shown_release(desk_shown *shown)
{
    if (!shown || atomic_fetch_sub(&shown->holders, 1) > 1) return;
    pappus_answer_free(shown->answer);
    free(shown);
}

static void tell(desk_session *s, desk_errand *errand)
{
    if (s->tell) s->tell(s->tell_context, errand);
}

/* Shows an answer, which it takes over. */
static void show(const computation *c, pappus_answer *answer, bool refined)
{
    desk_session *s = c->s;
    desk_shown *fresh = calloc(1, sizeof *fresh);
    if (!fresh) {
        pappus_answer_free(answer);
        return;
    }
    atomic_init(&fresh->holders, 1);
    fresh->answer = answer;
    pthread_mutex_lock(&s->lock);
    desk_shown *before = s->shown;
    s->shown = fresh;
    s->answered = c->number;
    s->refined = refined;
    s->version++;
    pthread_mutex_unlock(&s->lock);
    desk_shown_release(before);
    tell(s, NULL);
}

static void show_fault(const computation *c, const pappus_log *log, int status)
{
    char line[DESK_LINE];
    desk_log_line(line, log, status);
    pthread_mutex_lock(&c->s->lock);
    desk_say(c->s, "%s", line);
    c->s->version++;
    pthread_mutex_unlock(&c->s->lock);
    tell(c->s, NULL);
}

typedef enum { FIRST_LOOK, ALL_BUT_HOURS, ALL } depth;

static pappus_brief_options options_of(computation *c, depth how)
{
    static const unsigned parts[] = {
        PAPPUS_PART_DECISION | PAPPUS_PART_CONTOURS | PAPPUS_PART_QUICK,
        PAPPUS_PART_ALL & ~(unsigned)PAPPUS_PART_HOURS, PAPPUS_PART_ALL};
    pappus_brief_options options = {.run = c->s->options.run, .parts = parts[how]};
    options.run.progress = how == FIRST_LOOK ? stop_at_end : stop_when_newer;
    options.run.progress_context = c;
    if (how == FIRST_LOOK) options.run.landings = PAPPUS_QUICK_LANDINGS;
    return options;
}

/* PAPPUS_OK when it is shown; what went wrong otherwise is told, unless it was stopped. */
static int answer(computation *c, const pappus_situation *situation, depth how)
{
    pappus_brief_options options = options_of(c, how);
    pappus_answer *made = NULL;
    pappus_log log = {0};
    int status = pappus_brief(&made, situation, &options, &log);
    if (status == PAPPUS_OK)
        show(c, made, how != FIRST_LOOK);
    else if (status != PAPPUS_E_STOPPED)
        show_fault(c, &log, status);
    pappus_log_clear(&log);
    return status;
}

static bool has_hours(const pappus_situation *situation)
{
    double first_utc_s, last_utc_s;
    return pappus_situation_span(&first_utc_s, &last_utc_s, situation) && last_utc_s > first_utc_s;
}

static void settle(const computation *c)
{
    pthread_mutex_lock(&c->s->lock);
    c->s->settled = c->number;
    pthread_mutex_unlock(&c->s->lock);
    tell(c->s, NULL);
}

static void answer_change(desk_session *s, pappus_situation *situation, uint64_t number)
{
    computation c = {s, number};
    int status = answer(&c, situation, FIRST_LOOK);
    if (status == PAPPUS_OK) status = answer(&c, situation, ALL_BUT_HOURS);
    if (status == PAPPUS_OK && has_hours(situation)) status = answer(&c, situation, ALL);
    if (status != PAPPUS_E_STOPPED && atomic_load(&s->number) == number) settle(&c);
}

/* ------------------------------------------------------------------- errands */

static int fail(desk_errand *errand, const char *text, int status)
{
    free(errand->text);
    errand->text = strdup(text);
    errand->status = status;
    return status;
}

static int fail_log(desk_errand *errand, const pappus_log *log, int status)
{
    char line[DESK_LINE];
    desk_log_line(line, log, status);
    return fail(errand, line, status);
}

/* What `pappus brief --json` prints, its last line ended as there. */
static int answer_json(computation *c, desk_errand *errand)
{
    pappus_brief_options options = options_of(c, ALL);
    pappus_answer *made = NULL;
    pappus_error error = {0};
    pappus_log log = {0};
    int status = pappus_brief(&made, errand->situation, &options, &log);
    if (status != PAPPUS_OK && status != PAPPUS_E_STOPPED) fail_log(errand, &log, status);
    if (status == PAPPUS_OK) {
        const pappus_answer *const answers[] = {made};
        status = pappus_answers_summary(&errand->text, answers, 1, &error);
        if (status != PAPPUS_OK) fail(errand, error.message, status);
    }
    errand->status = status;
    pappus_answer_free(made);
    pappus_log_clear(&log);
    return status;
}

/* "plans/go_day.json" gives "plans/go_day_desk". */
static char *folder_beside(const char *plan_path)
{
    const char *slash = strrchr(plan_path, '/'), *name = slash ? slash + 1 : plan_path;
    const char *dot = strrchr(name, '.');
    int length = (int)(dot && dot > name ? (size_t)(dot - plan_path) : strlen(plan_path));
    char *folder = NULL;
    return asprintf(&folder, "%.*s_desk", length, plan_path) < 0 ? NULL : folder;
}

static desk_shown *hold_settled(desk_session *s)
{
    pthread_mutex_lock(&s->lock);
    desk_shown *held = s->refined && s->answered == atomic_load(&s->number) ? s->shown : NULL;
    if (held) atomic_fetch_add(&held->holders, 1);
    pthread_mutex_unlock(&s->lock);
    return held;
}

static int write_brief(computation *c, desk_errand *errand)
{
    pappus_error error = {0};
    char line[DESK_LINE];
    desk_shown *held = hold_settled(c->s);
    char *folder = folder_beside(c->s->options.plan_path);
    if (!held || !folder) {
        free(folder);
        desk_shown_release(held);
        return fail(errand, "there is no whole answer to write", PAPPUS_E_REFUSED);
    }
    pappus_write_options options = {.units = held->answer->plan->units, .crs = c->s->options.crs};
    int status = pappus_answer_write(held->answer, folder, &options, &error);
    if (status == PAPPUS_OK)
        snprintf(line, sizeof line, "The whole brief is in %s.", folder);
    else
        pappus_error_line(line, sizeof line, &error);
    pthread_mutex_lock(&c->s->lock);
    desk_texts_clear(&c->s->messages);
    desk_say(c->s, "%s", line);
    c->s->version++;
    pthread_mutex_unlock(&c->s->lock);
    desk_shown_release(held);
    free(folder);
    fail(errand, line, status);
    return status;
}

static void run_errand(desk_session *s, desk_errand *errand, uint64_t number)
{
    computation c = {s, number};
    int status = errand->kind == DESK_WRITE ? write_brief(&c, errand) : answer_json(&c, errand);
    if (status == PAPPUS_E_STOPPED && !s->ending) return; /* again after the change */
    pthread_mutex_lock(&s->lock);
    s->errands = errand->next;
    atomic_fetch_sub(&s->errand_count, 1);
    pthread_mutex_unlock(&s->lock);
    errand->done = true;
    tell(s, errand);
}

int desk_errand_begin(desk_errand **out, desk_session *s, int kind, size_t count,
                      const char *const *settings, void *waiter, pappus_error *err)
{
    desk_errand *errand = calloc(1, sizeof *errand);
    pappus_log log = {0};
    *out = NULL;
    *err = (pappus_error){.code = PAPPUS_E_MEMORY, .message = "out of memory"};
    if (!errand) return PAPPUS_E_MEMORY;
    errand->kind = kind;
    errand->waiter = waiter;
    pthread_mutex_lock(&s->lock);
    int status = PAPPUS_OK;
    if (atomic_load(&s->errand_count) >= DESK_MOST_ERRANDS) {
        status = err->code = PAPPUS_E_STOPPED;
        snprintf(err->message, sizeof err->message, "too much is asked at once");
    } else if (kind == DESK_ANSWER_JSON) {
        status = count > 0
                     ? pappus_situation_vary(&errand->situation, s->base, count, settings, &log)
                 : (errand->situation = pappus_situation_share(s->base)) ? PAPPUS_OK
                                                                         : PAPPUS_E_MEMORY;
        for (size_t i = 0; status != PAPPUS_OK && i < log.count; i++)
            if (log.entries[i].severity == PAPPUS_FAULT) {
                *err = log.entries[i].error;
                break;
            }
    }
    if (status == PAPPUS_OK) {
        desk_errand **last = &s->errands;
        while (*last)
            last = &(*last)->next;
        *last = errand;
        atomic_fetch_add(&s->errand_count, 1);
        *out = errand;
        pthread_cond_broadcast(&s->work);
    }
    pthread_mutex_unlock(&s->lock);
    pappus_log_clear(&log);
    if (status != PAPPUS_OK) desk_errand_free(errand);
    return status;
}

void desk_errand_free(desk_errand *errand)
{
    if (!errand) return;
    pappus_situation_free(errand->situation);
    free(errand->text);
    free(errand);
}

/* -------------------------------------------------------------------- thread */

/* Waits until there is something to do; false at the end. The lock is held. */
static bool wait_for_work(desk_session *s)
{
    while (!s->ending && s->settled == atomic_load(&s->number) && !s->errands)
        pthread_cond_wait(&s->work, &s->lock);
    return !s->ending;
}

void *desk_work(void *session)
{
    desk_session *s = session;
    pthread_mutex_lock(&s->lock);
    while (wait_for_work(s)) {
        uint64_t number = atomic_load(&s->number);
        bool changed = s->settled != number;
        desk_errand *errand = s->errands;
        pappus_situation *situation = changed ? pappus_situation_share(s->current) : NULL;
        pthread_mutex_unlock(&s->lock);
        if (situation)
            answer_change(s, situation, number);
        else if (!changed)
            run_errand(s, errand, number);
        pappus_situation_free(situation);
        pthread_mutex_lock(&s->lock);
    }
    pthread_mutex_unlock(&s->lock);
    return NULL;
}

int desk_session_start(desk_session *s)
{
    return pthread_create(&s->thread, NULL, desk_work, s) == 0 ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

void desk_session_stop(desk_session *s)
{
    pthread_mutex_lock(&s->lock);
    s->ending = true;
    pthread_cond_broadcast(&s->work);
    pthread_mutex_unlock(&s->lock);
    pthread_join(s->thread, NULL);
}
