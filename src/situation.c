/* SPDX-License-Identifier: GPL-3.0-or-later
 * The situation: parts, each made of those before it, immutable once made and
 * counted, so that situations and answers share them. A change makes a situation that
 * shares what the key leaves alone and makes the rest anew; only when all of it has been
 * made does it take the place of the old one. */
#include "situation.h"

#include "error.h"
#include "plan_reader.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef enum { TEXTS, PLAN, FILES, WINDS, FIELD, AIR, PARTS } part_kind;

/* What the plan is made of: its trees, files merged and settings laid over, and what the
 * caller asked. The trees make the plan again without a file. */
typedef struct {
    pappus_plan_sources sources;
    bool needs_wind, any_time;
    char *pad; /* NULL: the first or the site */
} texts;

typedef struct {
    atomic_size_t holders;
    part_kind kind;
    void *object; /* NULL: could not be made; the log says why */
    pappus_log log;
} part;

struct pappus_situation {
    part *parts[PARTS];
};

/* ------------------------------------------------------------------- parts */

static const texts *texts_of(const pappus_situation *s)
{
    return s->parts[TEXTS]->object;
}

const pappus_winds *pappus_situation_files(const pappus_situation *situation)
{
    return situation->parts[FILES]->object;
}

pappus_givens pappus_situation_givens(const pappus_situation *situation)
{
    return (pappus_givens){.plan = situation->parts[PLAN]->object,
                           .winds = situation->parts[WINDS]->object,
                           .field = situation->parts[FIELD]->object,
                           .air = situation->parts[AIR]->object};
}

static void free_object(part_kind kind, void *object)
{
    texts *made_of = object;
    switch (kind) {
    case TEXTS:
        if (made_of) pappus_plan_sources_clear(&made_of->sources);
        if (made_of) free(made_of->pad);
        free(made_of);
        break;
    case PLAN:
        pappus_plan_free(object);
        break;
    case FILES:
    case WINDS:
        pappus_winds_free(object);
        break;
    case FIELD:
        pappus_field_free(object);
        break;
    case AIR:
        pappus_air_free(object);
        break;
    case PARTS:
        break;
    }
}

static void release(part *held)
{
    if (!held || atomic_fetch_sub(&held->holders, 1) > 1) return;
    free_object(held->kind, held->object);
    pappus_log_clear(&held->log);
    free(held);
}

/* A new part, its object still to be made, in the place of the one that was there. */
static part *renew(pappus_situation *s, part_kind kind)
{
    part *fresh = calloc(1, sizeof *fresh);
    if (!fresh) return NULL;
    atomic_init(&fresh->holders, 1);
    fresh->kind = kind;
    release(s->parts[kind]);
    s->parts[kind] = fresh;
    return fresh;
}

/* ------------------------------------------------------------------ making */

static int make_plan(pappus_situation *s, part *made)
{
    const texts *from = texts_of(s);
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_plan *plan = NULL;
    options.pad = from->pad;
    options.needs_wind = from->needs_wind;
    int status = pappus_plan_make(&plan, &from->sources, &options, &made->log);
    made->object = plan;
    return status;
}

static int read_files(pappus_situation *s, part *made)
{
    pappus_winds *winds = NULL;
    int status = pappus_winds_load(&winds, s->parts[PLAN]->object, &made->log);
    made->object = winds;
    return status;
}

/* Nothing to do without the files: their faults are told. */
static int settle_winds(pappus_situation *s, part *made)
{
    pappus_winds *winds = NULL;
    const pappus_plan *plan = s->parts[PLAN]->object;
    const pappus_winds *loaded = s->parts[FILES] ? s->parts[FILES]->object : NULL;
    double time_utc_s = plan->wind.time_utc_s, last_utc_s;
    if (!loaded) return PAPPUS_OK; /* the files' own step has failed and ends the making */
    if (isnan(time_utc_s) && texts_of(s)->any_time)
        pappus_winds_span(&time_utc_s, &last_utc_s, loaded);
    int status = pappus_winds_settle(&winds, loaded, plan, time_utc_s, &made->log);
    made->object = winds;
    return status;
}

static int read_field(pappus_situation *s, part *made)
{
    pappus_field *field = NULL;
    int status = pappus_field_read(&field, s->parts[PLAN]->object, &made->log);
    made->object = field;
    return status;
}

static int build_air(pappus_situation *s, part *made)
{
    static const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_air *air = NULL;
    int status = pappus_air_build(&air, s->parts[PLAN]->object, s->parts[WINDS]->object, &as_read,
                                  &made->log);
    made->object = air;
    return status;
}

/* Each is made of what stands above it. Winds and field are all read before a fault of one
 * ends the making: all that is wrong is told at once. */
static const struct {
    part_kind kind;
    unsigned spoiled_by; /* bits of a key's `spoils`; 0: any key */
    bool ends;           /* a fault so far ends the making */
    int (*make)(pappus_situation *s, part *made);
} steps[] = {
    {PLAN, 0, true, make_plan},
    {FILES, PAPPUS_SPOILS_FILES, false, read_files},
    {WINDS, PAPPUS_SPOILS_WINDS, false, settle_winds},
    {FIELD, PAPPUS_SPOILS_FIELD, true, read_field},
    {AIR, PAPPUS_SPOILS_AIR, true, build_air},
};

static void tell_stage(const pappus_run *run, part_kind kind)
{
    static const char *const names[PARTS] = {
        [TEXTS] = "plan", [FILES] = "winds and field", [AIR] = "air"};
    if (run && run->stage && names[kind]) run->stage(run->stage_context, names[kind]);
}

/* What a key spoils, and a file too whose date is found near the time of the launch. */
static unsigned spoiled_with_files(const pappus_situation *s, unsigned spoiled)
{
    const pappus_winds *files = s->parts[FILES] ? s->parts[FILES]->object : NULL;
    for (size_t i = 0; files && i < files->profile_count; i++)
        if ((spoiled & PAPPUS_SPOILS_WINDS) && files->profiles[i].dated_by_launch)
            return spoiled | PAPPUS_SPOILS_FILES;
    return spoiled;
}

static int make_parts(pappus_situation *s, unsigned spoiled, const pappus_run *run)
{
    int status = PAPPUS_OK;
    spoiled = spoiled_with_files(s, spoiled);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        if (steps[i].spoiled_by == 0 || (steps[i].spoiled_by & spoiled)) {
            tell_stage(run, steps[i].kind);
            part *made = renew(s, steps[i].kind);
            int one = made ? steps[i].make(s, made) : PAPPUS_E_MEMORY;
            if (made && made->log.lost) one = PAPPUS_E_MEMORY;
            if (status == PAPPUS_OK || pappus_is_of_machine(one)) status = one;
        }
        if (status != PAPPUS_OK && steps[i].ends) return status;
    }
    /* the plan is new even where its winds are not */
    return pappus_winds_note_assumed(s->parts[PLAN]->object, s->parts[WINDS]->object,
                                     &s->parts[PLAN]->log);
}

/* -------------------------------------------------------------------- open */

static int read_texts(pappus_situation *s, const char *text, size_t length, const char *path,
                      const pappus_plan_options *options)
{
    part *made = renew(s, TEXTS);
    texts *read = made ? calloc(1, sizeof *read) : NULL;
    if (!read) return PAPPUS_E_MEMORY;
    made->object = read;
    read->needs_wind = options->needs_wind;
    read->any_time = options->any_time;
    read->pad = options->pad ? strdup(options->pad) : NULL;
    if (options->pad && !read->pad) return PAPPUS_E_MEMORY;
    return pappus_plan_sources_read(&read->sources, path, text, length, options, &made->log);
}

void pappus_situation_tell(pappus_log *log, const pappus_situation *situation)
{
    for (size_t i = 0; i < PARTS; i++)
        if (situation->parts[i]) pappus_log_append(log, &situation->parts[i]->log);
}

/* A failure that no part could write down, memory being short, is told all the same. */
static int tell_failure(pappus_log *log, int status)
{
    if (log && log->lost) status = PAPPUS_E_MEMORY;
    if (pappus_log_faults(log) > 0) return status;
    return pappus_log_add(log, PAPPUS_FAULT, status, NULL, NULL, NULL, "%s",
                          pappus_status_text(status));
}

int pappus_situation_open_text(pappus_situation **out, const char *text, size_t length,
                               const char *plan_path, const pappus_plan_options *options,
                               const pappus_run *run, pappus_log *log)
{
    static const pappus_plan_options defaults = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_situation *opened = calloc(1, sizeof *opened);
    *out = NULL;
    if (!opened) return tell_failure(log, PAPPUS_E_MEMORY);
    tell_stage(run, TEXTS);
    int status = read_texts(opened, text, length, plan_path, options ? options : &defaults);
    if (status == PAPPUS_OK) status = make_parts(opened, ~0U, run);
    if (status != PAPPUS_OK) {
        pappus_situation_tell(log, opened);
        pappus_situation_free(opened);
        return tell_failure(log, status);
    }
    *out = opened;
    return PAPPUS_OK;
}

int pappus_situation_open(pappus_situation **out, const char *plan_path,
                          const pappus_plan_options *options, const pappus_run *run,
                          pappus_log *log)
{
    return pappus_situation_open_text(out, NULL, 0, plan_path, options, run, log);
}

void pappus_situation_free(pappus_situation *situation)
{
    if (!situation) return;
    for (size_t i = 0; i < PARTS; i++)
        release(situation->parts[i]);
    free(situation);
}

pappus_situation *pappus_situation_share(const pappus_situation *situation)
{
    pappus_situation *shared = malloc(sizeof *shared);
    if (!shared) return NULL;
    *shared = *situation;
    for (size_t i = 0; i < PARTS; i++)
        atomic_fetch_add(&shared->parts[i]->holders, 1);
    return shared;
}

/* --------------------------------------------------------------------- set */

/* A copy of the texts with more settings. */
static int set_texts(pappus_situation *s, const texts *from, size_t count,
                     const char *const *settings, unsigned *spoiled)
{
    part *made = renew(s, TEXTS);
    texts *copy = made ? calloc(1, sizeof *copy) : NULL;
    if (!copy) return PAPPUS_E_MEMORY;
    made->object = copy;
    copy->needs_wind = from->needs_wind;
    copy->any_time = from->any_time;
    copy->pad = from->pad ? strdup(from->pad) : NULL;
    if (from->pad && !copy->pad) return PAPPUS_E_MEMORY;
    int status = pappus_plan_sources_copy(&copy->sources, &from->sources, &made->log);
    for (size_t i = 0; i < count && status == PAPPUS_OK; i++) {
        unsigned one = 0;
        status = pappus_plan_sources_set(&copy->sources, settings[i], &one, &made->log);
        *spoiled |= one;
    }
    return status;
}

/* Only what the change has made anew speaks: the rest was told when it was made. */
static void tell_changed(pappus_log *log, const pappus_situation *next,
                         const pappus_situation *before)
{
    for (size_t i = 0; i < PARTS; i++)
        if (next->parts[i] != before->parts[i]) pappus_log_append(log, &next->parts[i]->log);
}

static int change(pappus_situation *next, const pappus_situation *from, size_t count,
                  const char *const *settings)
{
    unsigned spoiled = 0;
    int status = set_texts(next, texts_of(from), count, settings, &spoiled);
    return status == PAPPUS_OK ? make_parts(next, spoiled, NULL) : status;
}

int pappus_situation_vary(pappus_situation **out, const pappus_situation *situation, size_t count,
                          const char *const *settings, pappus_log *log)
{
    pappus_situation *next = pappus_situation_share(situation);
    int status = next ? change(next, situation, count, settings) : PAPPUS_E_MEMORY;
    *out = NULL;
    if (status == PAPPUS_OK) {
        *out = next;
        return PAPPUS_OK;
    }
    if (next) tell_changed(log, next, situation);
    pappus_situation_free(next);
    return tell_failure(log, status);
}

int pappus_situation_from_pad(pappus_situation **out, const pappus_situation *situation,
                              const char *pad, pappus_log *log)
{
    unsigned spoiled = 0;
    pappus_situation *next = pappus_situation_share(situation);
    char *name = pad ? strdup(pad) : NULL;
    int status = next && (name || !pad) ? set_texts(next, texts_of(situation), 0, NULL, &spoiled)
                                        : PAPPUS_E_MEMORY;
    *out = NULL;
    if (status == PAPPUS_OK) {
        texts *own = next->parts[TEXTS]->object;
        free(own->pad);
        own->pad = name;
        name = NULL;
        status = make_parts(next, ~0U, NULL);
    }
    free(name);
    if (status == PAPPUS_OK) {
        *out = next;
        return PAPPUS_OK;
    }
    if (next) tell_changed(log, next, situation);
    pappus_situation_free(next);
    return tell_failure(log, status);
}

bool pappus_situation_span(double *first_utc_s, double *last_utc_s,
                           const pappus_situation *situation)
{
    return pappus_winds_span(first_utc_s, last_utc_s, pappus_situation_files(situation));
}

size_t pappus_situation_members(int *out, size_t size, const pappus_situation *situation)
{
    return pappus_winds_members(out, size, pappus_situation_files(situation));
}

int pappus_situation_plan_text(char **out, const pappus_situation *situation, pappus_error *err)
{
    const pappus_plan *plan = situation->parts[PLAN]->object;
    double gust_mps = plan->has_wind && plan->wind.has_surface ? plan->wind.gust_mps : NAN;
    return pappus_plan_sources_text(out, &texts_of(situation)->sources, texts_of(situation)->pad,
                                    gust_mps, err);
}

int pappus_situation_set(pappus_situation *situation, const char *key, const char *value,
                         pappus_log *log)
{
    pappus_situation *next = NULL;
    char *setting = NULL;
    if (asprintf(&setting, "%s=%s", key, value) < 0) return tell_failure(log, PAPPUS_E_MEMORY);
    int status = pappus_situation_vary(&next, situation, 1, (const char *const *)&setting, log);
    free(setting);
    if (status != PAPPUS_OK) return status;
    pappus_situation before = *situation;
    *situation = *next;
    *next = before;
    pappus_situation_free(next);
    return PAPPUS_OK;
}
