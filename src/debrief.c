/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of contents of a debrief: each flight is read in the air of its day and held
 * against what the plan says for that day; then what all of them say of the model. */
#include "debrief.h"

#include "bearing.h"
#include "contour.h"
#include "error.h"
#include "expected_fall.h"
#include "explain.h"
#include "run.h"
#include "situation.h"
#include "si.h"
#include "statistics.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const pappus_situation *situation;
    pappus_run run;
    pappus_debrief *debrief;
    pappus_log *log;
    bool one_day; /* all flights are of one */
    size_t ranked_count, lesson_count;
    pappus_ranked *ranked;       /* room for every flight; so with those below */
    pappus_wind_lesson *lessons; /* of flights with nothing failed */
    pappus_estimate *areas;
} debrief_work;

/** One flight on its way. */
typedef struct {
    debrief_work *work;
    pappus_debriefed *out;
    pappus_situation *day; /* the plan with that day's wind */
    pappus_givens given;
    pappus_cloud *cloud;
    pappus_error error;
} flight_work;

/* -------------------------------------------------------------------- one flight */

static int open_day(flight_work *f)
{
    int status = pappus_debrief_day(&f->day, f->work->situation, f->out->record, f->work->log);
    if (status != PAPPUS_OK) return status;
    f->given = pappus_situation_givens(f->day);
    f->out->other_wind =
        pappus_debrief_other_wind(f->out->record, pappus_situation_givens(f->work->situation).plan,
                                  f->given.winds, f->work->one_day);
    f->out->main_set_m = NAN;
    for (size_t a = 0; a < f->given.plan->altimeter_count; a++)
        f->out->main_set_m = fmax(f->out->main_set_m, f->given.plan->altimeters[a].main_height_m);
    return PAPPUS_OK;
}

/* Feet taken for metres, or the other way round, are so many times off. */
static void doubt_unit(flight_work *f)
{
    double times = f->out->flown.apogee_shown_m / f->given.plan->apogee.height_m.mean;
    bool large = fabs(times * PAPPUS_FOOT_M - 1.0) < 0.15,
         small = fabs(times / PAPPUS_FOOT_M - 1.0) < 0.15;
    if (large || small)
        pappus_log_add(&f->work->debrief->log, PAPPUS_WARNING, PAPPUS_OK, f->out->record->log->path,
                       "height", NULL,
                       "the apogee is %.1f times that of the plan, as a foot is to a metre: is the "
                       "unit of the height right?",
                       times);
}

static int read_log(flight_work *f)
{
    const pappus_flight_log *flight_log = f->out->record->log;
    f->out->has_log = flight_log != NULL;
    if (!flight_log) return PAPPUS_OK;
    int status =
        pappus_flown_find(&f->out->flown, flight_log, f->given.plan, f->given.air, &f->error);
    if (status == PAPPUS_OK) doubt_unit(f);
    return status;
}

static int place_landing(flight_work *f)
{
    pappus_debriefed *out = f->out;
    const pappus_site *site = &f->given.plan->site;
    double place_deg[2] = {out->record->landing_latitude_deg, out->record->landing_longitude_deg};
    double place_m[2];
    pappus_frame *frame = NULL;
    out->east_m = out->north_m = NAN;
    if (isnan(place_deg[0])) return PAPPUS_OK;
    int status = pappus_frame_new(&frame, site->latitude_deg, site->longitude_deg, &f->error);
    if (status == PAPPUS_OK)
        status = pappus_frame_to_local(frame, 1, place_deg, place_m, &f->error);
    pappus_frame_free(frame);
    if (status != PAPPUS_OK) return status;
    out->east_m = place_m[0];
    out->north_m = place_m[1];
    return PAPPUS_OK;
}

static int sample_landings(flight_work *f)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    options.run = pappus_run_of_plan(&f->work->run, f->given.plan);
    options.run.progress = NULL;
    return pappus_scatter(&f->cloud, f->given.plan, f->given.air, &options, &f->error);
}

static void find_offset(pappus_debriefed *out)
{
    double east = out->east_m - out->expected_east_m, north = out->north_m - out->expected_north_m;
    double drift = hypot(out->expected_east_m, out->expected_north_m);
    out->offset_m = hypot(east, north);
    out->offset_bearing_deg = isnan(east) ? NAN : pappus_bearing_of(east, north);
    out->along_m = (east * out->expected_east_m + north * out->expected_north_m) / drift;
    out->across_m = (east * out->expected_north_m - north * out->expected_east_m) / drift;
}

static int expect(flight_work *f)
{
    pappus_debriefed *out = f->out;
    pappus_strata strata = {0};
    double mean_m[2], covariance_m2[2][2];
    int status = pappus_strata_build(&strata, f->cloud, &f->error);
    if (status != PAPPUS_OK) return status;
    pappus_sample nominal = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    pappus_sample_moments(mean_m, covariance_m2, f->cloud, &nominal);
    status = pappus_contours_build(out->contours, NULL, f->cloud, &strata, PAPPUS_GRID_FINE,
                                   f->work->run.threads, &f->error);
    pappus_strata_clear(&strata);
    out->expected_east_m = mean_m[0];
    out->expected_north_m = mean_m[1];
    find_offset(out);
    pappus_shares_find(out, f->given.plan, f->cloud);
    if (status == PAPPUS_OK) status = pappus_explain(out, &f->given, &f->error);
    if (status == PAPPUS_OK && out->has_log)
        status = pappus_expected_fall(&out->expected_fall, f->given.plan, f->given.air,
                                      f->given.plan->seed, &f->error);
    return status;
}

/* Its rank among the landings expected, and what ranks would be with another wind error. */
static int rank(flight_work *f)
{
    pappus_debriefed *out = f->out;
    pappus_expected expected;
    out->rank = out->level = NAN;
    if (isnan(out->east_m)) return PAPPUS_OK;
    int status = pappus_expected_build(&expected, f->cloud, &f->error);
    if (status != PAPPUS_OK) return status;
    out->rank = pappus_expected_rank(&expected, out->east_m, out->north_m);
    out->level = pappus_level_of_rank(out->rank);
    if (!out->other_wind) {
        pappus_ranked *ranked = &f->work->ranked[f->work->ranked_count++];
        pappus_run run = pappus_run_of_plan(&f->work->run, f->given.plan);
        *ranked = (pappus_ranked){.rank = out->rank,
                                  .landings = expected.count,
                                  .along_m = out->along_m,
                                  .across_m = out->across_m};
        status = pappus_debrief_power(ranked, &f->given, &expected, &run, &f->error);
    }
    pappus_expected_clear(&expected);
    return status;
}

/* A flight with nothing failed teaches of the wind. */
static int take_lesson(flight_work *f)
{
    pappus_run run = pappus_run_of_plan(&f->work->run, f->given.plan);
    bool failed = f->out->has_log && f->out->flown.outcome != PAPPUS_NOMINAL;
    f->out->age_s = f->given.winds->age_s;
    if (isnan(f->out->east_m) || failed || f->out->other_wind) return PAPPUS_OK;
    return pappus_debrief_lesson(&f->work->lessons[f->work->lesson_count++], f->out, &f->given,
                                 &run, &f->error);
}

static int (*const steps[])(flight_work *f) = {open_day, read_log, place_landing, sample_landings,
                                               expect,   rank,     take_lesson};

static int debrief_flight(debrief_work *work, pappus_debriefed *out)
{
    flight_work f = {.work = work, .out = out};
    int status = PAPPUS_OK;
    for (size_t i = 0; i < sizeof steps / sizeof *steps && status == PAPPUS_OK; i++)
        status = steps[i](&f);
    if (status != PAPPUS_OK && f.error.code != PAPPUS_OK) {
        if (!f.error.file[0]) snprintf(f.error.file, sizeof f.error.file, "%s", out->record->path);
        pappus_log_error(work->log, &f.error);
    }
    pappus_cloud_free(f.cloud);
    pappus_situation_free(f.day);
    return status;
}

/* ------------------------------------------------------------------- all flights */

static pappus_learned_drag learn_canopy(debrief_work *work, bool is_main)
{
    const pappus_debrief *debrief = work->debrief;
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    double before_m2, body_m2, part;
    size_t count = 0;
    pappus_debrief_planned_drag(&before_m2, &body_m2, &part, plan, is_main);
    for (size_t i = 0; i < debrief->count; i++) {
        const pappus_flown *flown = &debrief->flights[i].flown;
        pappus_estimate e = is_main ? flown->main_drag_area_m2 : flown->drogue_drag_area_m2;
        if (debrief->flights[i].has_log && e.value > 0.0) work->areas[count++] = e;
    }
    if (isnan(before_m2)) count = 0;
    pappus_learned_drag out = pappus_learn_drag(work->areas, count, before_m2, part);
    out.body_m2 = body_m2;
    return out;
}

/* What is known with the flights so far. */
static void note_known(debrief_work *work, pappus_known *known)
{
    static const pappus_estimate none = {NAN, NAN, NAN};
    pappus_learned_drag drogue = learn_canopy(work, false), main_drag = learn_canopy(work, true);
    known->drogue_drag_area_m2 = drogue.flights > 0 ? drogue.drag_area_m2 : none;
    known->main_drag_area_m2 = main_drag.flights > 0 ? main_drag.drag_area_m2 : none;
    known->wind_factor = pappus_learn_wind_factor(work->lessons, work->lesson_count);
}

static int debrief_flights(debrief_work *work, const pappus_flights *flights)
{
    int status = PAPPUS_OK;
    pappus_error error = {0};
    for (size_t i = 0; i < flights->count; i++) {
        pappus_debriefed *out = &work->debrief->flights[work->debrief->count++];
        out->record = &flights->flights[i];
        int one = debrief_flight(work, out);
        if (status == PAPPUS_OK) status = one;
        if (status == PAPPUS_OK) note_known(work, &out->known);
        one = pappus_run_progress(&work->run, (double)(i + 1) / (double)flights->count, &error);
        if (one != PAPPUS_OK) return pappus_log_error(work->log, &error);
    }
    return status;
}

/* Winds that are not of a flight's day teach nothing: said once. */
static void doubt_winds(debrief_work *work)
{
    pappus_debrief *debrief = work->debrief;
    const pappus_flight *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < debrief->count; i++) {
        const pappus_debriefed *flight = &debrief->flights[i];
        if (!flight->other_wind || isnan(flight->east_m)) continue;
        if (count++ == 0) first = flight->record;
    }
    if (count > 0)
        pappus_log_add(&debrief->log, PAPPUS_WARNING, PAPPUS_OK, first->path, "profiles", NULL,
                       "the winds that stand for %zu landing%s are of another day: they tell "
                       "nothing of the zones and of the wind; accepted are that day's, in the "
                       "record as \"profiles\": [\"day.csv\"], or winds with times",
                       count, count == 1 ? "" : "s");
}

/* A plan that flights have taught already would be taught by them twice. */
static void doubt_plan(debrief_work *work)
{
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    const char *from = plan->wind.learned_from;
    if (from &&
        strncmp(from, PAPPUS_LEARNED_FROM_FLIGHTS, strlen(PAPPUS_LEARNED_FROM_FLIGHTS)) == 0)
        pappus_log_add(&work->debrief->log, PAPPUS_NOTE, PAPPUS_OK, plan->path, "wind.learned_from",
                       from,
                       "flights that this plan has learned from count twice here: hold them "
                       "against the plan under it");
}

/* What all flights say. */
static int draw_lessons(debrief_work *work)
{
    pappus_debrief *debrief = work->debrief;
    pappus_givens given = pappus_situation_givens(work->situation);
    pappus_learned *learned = &debrief->learned;
    pappus_error error = {0};
    doubt_winds(work);
    doubt_plan(work);
    learned->drogue = learn_canopy(work, false);
    learned->main = learn_canopy(work, true);
    pappus_debrief_wind_before(&learned->error_before_mps, &learned->growth_before_mps, &given);
    pappus_learn_wind(learned, work->lessons, work->lesson_count);
    int status =
        pappus_calibration_find(&debrief->calibration, work->ranked, work->ranked_count, &error);
    return status == PAPPUS_OK ? status : pappus_log_error(work->log, &error);
}

static bool make_room(debrief_work *work, size_t count)
{
    work->ranked = calloc(count + 1, sizeof *work->ranked);
    work->lessons = calloc(count + 1, sizeof *work->lessons);
    work->areas = calloc(count + 1, sizeof *work->areas);
    if (work->debrief) work->debrief->flights = calloc(count + 1, sizeof *work->debrief->flights);
    return work->ranked && work->lessons && work->areas && work->debrief && work->debrief->flights;
}

int pappus_debrief_make(pappus_debrief **out, const pappus_situation *situation,
                        const pappus_flights *flights, const pappus_run *run, pappus_log *log)
{
    static const pappus_run usual = PAPPUS_RUN_INIT;
    debrief_work work = {.situation = situation,
                         .run = run ? *run : usual,
                         .one_day = pappus_debrief_one_day(flights),
                         .debrief = calloc(1, sizeof *work.debrief),
                         .log = log};
    int status = make_room(&work, flights->count) ? PAPPUS_OK : PAPPUS_E_MEMORY;
    *out = NULL;
    if (status == PAPPUS_OK && work.run.stage) work.run.stage(work.run.stage_context, "flights");
    if (status == PAPPUS_OK) status = debrief_flights(&work, flights);
    if (status == PAPPUS_OK) status = draw_lessons(&work);
    free(work.ranked);
    free(work.lessons);
    free(work.areas);
    if (status == PAPPUS_OK) {
        pappus_situation_tell(&work.debrief->log, situation);
        *out = work.debrief;
        return PAPPUS_OK;
    }
    pappus_debrief_free(work.debrief);
    if (pappus_log_faults(log) > 0) return status;
    return pappus_log_add(log, PAPPUS_FAULT, status, NULL, NULL, NULL, "%s",
                          pappus_status_text(status));
}

void pappus_debrief_free(pappus_debrief *debrief)
{
    if (!debrief) return;
    for (size_t i = 0; i < debrief->count; i++)
        pappus_contours_clear(debrief->flights[i].contours);
    free(debrief->flights);
    pappus_log_clear(&debrief->log);
    free(debrief);
}
