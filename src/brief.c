/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of contents: a plan goes in, and stage after stage the answer for a
 * launch decision comes together.
 *
 * Looks: the landings are sampled at n, 2n, 4n ... up to 16n until the 99 %
 * interval of every sampled limit clears its bound. (Testing again and again at
 * 95 % would call a true tie 9 % of the time.) */
#include <pappus/pappus.h>

#include "error.h"
#include "run.h"
#include "situation.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOOKS 5 /* n * 2^k, k = 0 ... 4 */
#define DECIDE_CONFIDENCE 0.99
#define QUICK_SHARE 0.1     /* least share of the landings for an outcome in a first look */
#define REDRAWN_SHARE 0.001 /* of the draws that could be redrawn: told above it */

typedef struct {
    pappus_answer *answer;
    pappus_givens given;
    pappus_run run;
    unsigned parts;
    const pappus_brief_options *options;
    pappus_error error;
} brief_work;

/* The central flight; a plan that cannot fly is told of by its file. */
static int fly(pappus_path **path, const pappus_plan *plan, const pappus_air *air, pappus_log *log)
{
    pappus_error error = {0};
    int status = pappus_reference_path(path, plan, air, PAPPUS_NOMINAL, &error);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    return pappus_log_add(log, PAPPUS_FAULT, status, plan->path, error.key, error.value, "%s",
                          error.message);
}

static int fly_reference(brief_work *work)
{
    return fly(&work->answer->path, work->given.plan, work->given.air, &work->answer->log);
}

/* What an answer says under its decision. */
static void warn_of_wind(const pappus_plan *plan, const pappus_air *air, pappus_log *log)
{
    double widening = pappus_air_wind_widening(air);
    if (plan->wind.profile_count == 0)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "wind.profiles", NULL,
                       "none given: the wind aloft is only guessed from the surface wind, with a "
                       "large error; give a forecast or a sounding");
    else if (widening > PAPPUS_CONTRADICTED)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "wind.surface", NULL,
                       "contradicts the profiles: the wind's error is taken %.1f times as large "
                       "for it",
                       sqrt(widening));
}

int pappus_flight_check(const pappus_plan *plan, const pappus_air *air, pappus_log *log)
{
    pappus_path *path = NULL;
    int status = fly(&path, plan, air, log);
    if (status == PAPPUS_OK && plan->main.present && isnan(path->main_full_open_s))
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "main", NULL,
                       "not fully open before the ground, with every value at its mean");
    pappus_path_free(path);
    warn_of_wind(plan, air, log);
    return status;
}

static void forget_landings(pappus_answer *answer)
{
    pappus_judgement_free(answer->judgement);
    pappus_hazard_free(answer->hazard);
    pappus_hits_free(answer->hits);
    pappus_cloud_free(answer->cloud);
    answer->judgement = NULL;
    answer->hazard = NULL;
    answer->hits = NULL;
    answer->cloud = NULL;
}

/* Is there a keep-out on which to decide; in a first look, one whose limit is too small for
 * counted landings? */
static bool keep_outs_decide(const brief_work *work)
{
    const pappus_answer *answer = work->answer;
    double most = work->parts & PAPPUS_PART_QUICK ? PAPPUS_COUNTED_LIMIT : INFINITY;
    for (size_t k = 0; k < answer->hits->keep_out_count; k++)
        if (pappus_keep_out_limit(answer->field, answer->plan, k) < most)
            return work->parts & PAPPUS_PART_DECISION;
    return false;
}

/* What is too seldom to be counted: for the keep-outs' limits, and where not to stand. */
static int lead_landings(brief_work *work, size_t effort)
{
    pappus_answer *answer = work->answer;
    pappus_hazard_options hazard = PAPPUS_HAZARD_OPTIONS_INIT;
    hazard.run = work->run;
    hazard.field = work->parts & (PAPPUS_PART_HAZARD | PAPPUS_PART_CREWS);
    hazard.effort = (unsigned)effort;
    if (!hazard.field && !keep_outs_decide(work)) return PAPPUS_OK;
    return pappus_hazard_find(&answer->hazard, answer->hits, &work->given, answer->cloud, &hazard,
                              &work->error);
}

/* Landings, and where they hit. */
static int sample_landings(brief_work *work, size_t times)
{
    pappus_answer *answer = work->answer;
    pappus_scatter_options scatter = PAPPUS_SCATTER_OPTIONS_INIT;
    scatter.run = work->run;
    scatter.run.landings = work->run.landings * times;
    if (work->parts & PAPPUS_PART_QUICK)
        scatter.stratum_minimum =
            fmin(scatter.stratum_minimum, QUICK_SHARE * (double)scatter.run.landings);
    int status = pappus_scatter(&answer->cloud, answer->plan, answer->air, &scatter, &work->error);
    if (status != PAPPUS_OK) return status;
    status = pappus_hits_count(&answer->hits, answer->cloud, answer->field, work->run.threads,
                               &work->error);
    return status == PAPPUS_OK ? lead_landings(work, times) : status;
}

/* More landings help only where the verdict rests on an interval. */
static bool another_look_helps(const pappus_judgement *judgement)
{
    for (size_t i = 0; i < judgement->reason_count; i++) {
        const pappus_reason *reason = &judgement->reasons[i];
        if (reason->verdict == PAPPUS_UNDECIDED && !isnan(reason->value.low)) return true;
    }
    return false;
}

static int look(brief_work *work, size_t times)
{
    pappus_answer *answer = work->answer;
    forget_landings(answer);
    int status = sample_landings(work, times);
    if (status == PAPPUS_OK)
        status = pappus_judge(&answer->judgement, answer->plan, answer->field, answer->air,
                              answer->cloud, answer->hits, DECIDE_CONFIDENCE, &work->error);
    return status;
}

static int look_until_decided(brief_work *work)
{
    pappus_answer *answer = work->answer;
    size_t looks = work->parts & PAPPUS_PART_QUICK ? 1 : LOOKS;
    for (size_t k = 0; k < looks; k++) {
        int status = look(work, (size_t)1 << k);
        if (status != PAPPUS_OK) return status;
        answer->looks = k + 1;
        if (!another_look_helps(answer->judgement)) return PAPPUS_OK;
    }
    answer->judgement->capped = true;
    return PAPPUS_OK;
}

static void note_redraws(pappus_answer *answer)
{
    const pappus_cloud *cloud = answer->cloud;
    if ((double)cloud->redrawn > REDRAWN_SHARE * (double)cloud->drawn)
        pappus_log_add(&answer->log, PAPPUS_NOTE, PAPPUS_OK, answer->plan->path, NULL, NULL,
                       "%.1f %% of the draws were not physical (a negative mass, drag or time) and "
                       "were drawn again: is an uncertainty too large?",
                       100.0 * (double)cloud->redrawn / (double)cloud->drawn);
}

/* Whatever the limits are: nobody takes these for landings under an open main. */
static void warn_unopened(pappus_answer *answer)
{
    const pappus_cloud *cloud = answer->cloud;
    size_t unopened = cloud->unopened_count[PAPPUS_NOMINAL];
    if (unopened > 0)
        pappus_log_add(&answer->log, PAPPUS_WARNING, PAPPUS_OK, answer->plan->path, "main", NULL,
                       "%zu of %zu landings with nothing failed come before it is fully open",
                       unopened, cloud->stratum_count[PAPPUS_NOMINAL]);
}

static int sample_and_decide(brief_work *work)
{
    int status =
        work->parts & PAPPUS_PART_DECISION ? look_until_decided(work) : sample_landings(work, 1);
    if (status != PAPPUS_OK) return status;
    note_redraws(work->answer);
    warn_unopened(work->answer);
    return PAPPUS_OK;
}

static int draw_zones(brief_work *work)
{
    pappus_answer *answer = work->answer;
    pappus_zones_options zones = PAPPUS_ZONES_OPTIONS_INIT;
    zones.contours = work->parts & PAPPUS_PART_CONTOURS;
    zones.coarse = work->parts & PAPPUS_PART_QUICK;
    zones.threads = work->run.threads;
    return pappus_zones_build(&answer->zones, answer->cloud, answer->plan, answer->hits, &zones,
                              &work->error);
}

static bool has_main_height(const pappus_plan *plan)
{
    for (size_t i = 0; i < plan->altimeter_count; i++)
        if (!isnan(plan->altimeters[i].main_height_m)) return true;
    return false;
}

static int post_crews(brief_work *work)
{
    pappus_answer *answer = work->answer;
    if (!(work->parts & PAPPUS_PART_CREWS) || work->given.plan->crew_posts == 0) return PAPPUS_OK;
    int status = pappus_crews_post(&answer->crews, &work->given, &work->run, answer->cloud,
                                   answer->zones, answer->hazard, &work->error);
    if (status == PAPPUS_OK) pappus_crews_look(answer->crews, answer->path);
    return status;
}

static int trade_heights(brief_work *work)
{
    if (!(work->parts & PAPPUS_PART_HEIGHTS) || !has_main_height(work->given.plan))
        return PAPPUS_OK;
    return pappus_heights_trade(&work->answer->heights, &work->given, &work->run,
                                work->answer->crews, &work->error);
}

static int find_ceiling(brief_work *work)
{
    if (!(work->parts & PAPPUS_PART_CEILING)) return PAPPUS_OK;
    return pappus_ceiling_find(&work->answer->ceiling, &work->given, &work->run, &work->error);
}

/* What follows is not on it. */
static int tell_mapped(brief_work *work)
{
    if (work->options->mapped) work->options->mapped(work->options->mapped_context, work->answer);
    return PAPPUS_OK;
}

static int find_drivers(brief_work *work)
{
    if (!(work->parts & PAPPUS_PART_DRIVERS)) return PAPPUS_OK;
    /* Its flights are nominal ones; a plan that has none has no drivers. */
    if (!(work->answer->zones->outcomes[PAPPUS_NOMINAL].probability > 0.0)) return PAPPUS_OK;
    return pappus_sensitivity_find(&work->answer->sensitivity, &work->given, &work->run,
                                   work->answer->zones, &work->error);
}

static int judge_hours(brief_work *work)
{
    pappus_answer *answer = work->answer;
    if (!(work->parts & PAPPUS_PART_HOURS)) return PAPPUS_OK;
    return pappus_window_about_flight(&answer->window, answer->situation, &work->run, &answer->log);
}

static const struct {
    const char *name;
    int (*run)(brief_work *work);
} stages[] = {
    {"reference flight", fly_reference},
    {"landings and decision", sample_and_decide},
    {"zones", draw_zones},
    {"crews", post_crews},
    {"heights", trade_heights},
    {"ceiling", find_ceiling},
    {"map", tell_mapped},
    {"drivers", find_drivers},
    {"hours", judge_hours},
};

/* The reason of a failed stage is in the log (flight) or in work->error. */
static int run_stages(brief_work *work)
{
    for (size_t i = 0; i < sizeof stages / sizeof stages[0]; i++) {
        if (work->run.stage) work->run.stage(work->run.stage_context, stages[i].name);
        int status = pappus_run_progress(&work->run, 0.0, &work->error);
        if (status == PAPPUS_OK) status = stages[i].run(work);
        if (status != PAPPUS_OK) {
            if (work->error.code != PAPPUS_OK) pappus_log_error(&work->answer->log, &work->error);
            return status;
        }
    }
    return PAPPUS_OK;
}

/* An answer that keeps the situation as it is now, with its warnings. */
static pappus_answer *begin_answer(const pappus_situation *situation)
{
    pappus_answer *answer = calloc(1, sizeof *answer);
    if (answer) answer->situation = pappus_situation_share(situation);
    if (!answer || !answer->situation) {
        free(answer);
        return NULL;
    }
    pappus_givens given = pappus_situation_givens(answer->situation);
    answer->plan = given.plan;
    answer->winds = given.winds;
    answer->field = given.field;
    answer->air = given.air;
    pappus_situation_tell(&answer->log, answer->situation);
    return answer;
}

int pappus_brief(pappus_answer **out, const pappus_situation *situation,
                 const pappus_brief_options *options, pappus_log *log)
{
    static const pappus_brief_options defaults = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_answer *answer = begin_answer(situation);
    *out = NULL;
    if (!answer)
        return pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                              "out of memory");
    if (!options) options = &defaults;
    brief_work work = {.answer = answer,
                       .given = pappus_situation_givens(answer->situation),
                       .run = pappus_run_of_plan(&options->run, answer->plan),
                       .parts = options->parts,
                       .options = options};
    int status = run_stages(&work);
    if (status == PAPPUS_OK && answer->log.lost)
        status = pappus_log_add(&answer->log, PAPPUS_FAULT, PAPPUS_E_MEMORY, NULL, NULL, NULL,
                                "out of memory");
    if (status != PAPPUS_OK) {
        pappus_log_append(log, &answer->log);
        pappus_answer_free(answer);
        return status;
    }
    *out = answer;
    return PAPPUS_OK;
}

void pappus_answer_free(pappus_answer *answer)
{
    if (!answer) return;
    forget_landings(answer);
    pappus_zones_free(answer->zones);
    pappus_sensitivity_free(answer->sensitivity);
    pappus_ceiling_free(answer->ceiling);
    pappus_heights_free(answer->heights);
    pappus_crews_free(answer->crews);
    pappus_window_free(answer->window);
    pappus_path_free(answer->path);
    pappus_situation_free(answer->situation);
    pappus_log_clear(&answer->log);
    free(answer);
}
