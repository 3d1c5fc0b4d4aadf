/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan on a day; rules in day.h. */
#include "day.h"

#include "atmosphere.h"
#include "error.h"
#include "statistics.h"
#include "variant.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAST_M 10.0           /* of a wind measured at the station's own height */
#define SAME_HEIGHT_M 1.0     /* as the station */
#define READING_TOP_M 60.0    /* higher is no reading near the ground (A) */
#define LOWEST_WIND_M 300.0   /* the lowest level must be under it (A) */
#define READING_ERROR_MPS 1.0 /* where the plan has no reading of its own: its default */
#define SEED_BITS 53
#define WHY_SIZE 200

/* ------------------------------------------------------------------ sounding */

static const pappus_wind_level *lowest_wind(const pappus_wind_profile *profile)
{
    for (size_t i = 0; i < profile->level_count; i++)
        if (!isnan(profile->levels[i].u_mps) && !isnan(profile->levels[i].v_mps))
            return &profile->levels[i];
    return NULL;
}

/* NaN for a pressure altitude. */
static double above_m(const pappus_wind_level *level, double ground_msl_m)
{
    switch (level->height_kind) {
    case PAPPUS_HEIGHT_AGL:
        return level->height_m;
    case PAPPUS_HEIGHT_MSL:
        return level->height_m - ground_msl_m;
    case PAPPUS_HEIGHT_MSL_GEOPOTENTIAL:
        return pappus_geometric_m(level->height_m) - ground_msl_m;
    default:
        return NAN;
    }
}

bool season_reading(pappus_observation *out, const season_sounding *sounding,
                    const pappus_plan *plan)
{
    const pappus_wind_level *lowest = lowest_wind(sounding->profile);
    double ground =
        isnan(sounding->station_msl_m) ? plan->site.elevation_msl_m : sounding->station_msl_m;
    if (!lowest || !sounding->reading) return false;
    double height = above_m(lowest, ground);
    if (fabs(height) <= SAME_HEIGHT_M) height = MAST_M;
    if (!(height > 0.0 && height <= READING_TOP_M)) return false;
    double from = atan2(-lowest->u_mps, -lowest->v_mps) * 180.0 / M_PI;
    *out = plan->wind.surface;
    if (!plan->wind.has_surface) out->error_mps = READING_ERROR_MPS;
    out->height_m = height;
    out->speed_mps = hypot(lowest->u_mps, lowest->v_mps);
    out->direction_deg = from < 0.0 ? from + 360.0 : from;
    return true;
}

/* Mixed by the finish of SplitMix64 (Steele, Lea, Flood, OOPSLA 2014): seeds that are near each
 * other, and days, lead far apart. */
uint64_t season_seed(uint64_t seed, double valid_utc_s)
{
    uint64_t x = seed * UINT64_C(0xD1B54A32D192ED03) +
                 (uint64_t)(int64_t)llround(valid_utc_s) * UINT64_C(0x9E3779B97F4A7C15);
    x = (x ^ x >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    x = (x ^ x >> 27) * UINT64_C(0x94D049BB133111EB);
    return (x ^ x >> 31) >> (64 - SEED_BITS);
}

static pappus_wind_plan wind_of_day(const season_sounding *sounding, const pappus_plan *plan)
{
    pappus_wind_plan wind = plan->wind;
    wind.observation_count = 0;
    wind.gust_mps = NAN;
    wind.time_utc_s = NAN;
    wind.age_s = sounding->age_s;
    wind.has_surface = season_reading(&wind.surface, sounding, plan);
    return wind;
}

/* ------------------------------------------------------------------- verdicts */

static int not_judged(pappus_season_row *row, const char *why)
{
    row->why = strdup(why);
    return row->why ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

/* Memory ends all; what is wrong with one day does not. */
static int fault_of_day(pappus_season_row *row, int status, pappus_error *err)
{
    if (status == PAPPUS_E_MEMORY || status == PAPPUS_E_STOPPED) return status;
    int told = not_judged(row, err->message[0] ? err->message : pappus_status_text(status));
    *err = (pappus_error){0};
    return told;
}

/* Whether the winds reach from the ground to the planned apogee. */
static bool is_known(char why[WHY_SIZE], const season_sounding *sounding, const pappus_plan *plan,
                     const pappus_air *air)
{
    double low_m = above_m(lowest_wind(sounding->profile), plan->site.elevation_msl_m);
    double top_m = pappus_air_wind_top_m(air), apogee_m = plan->apogee.height_m.mean;
    if (low_m > LOWEST_WIND_M)
        snprintf(why, WHY_SIZE, "its winds begin more than 300 m above the pad");
    else if (top_m < apogee_m)
        snprintf(why, WHY_SIZE, "its winds end under the apogee");
    return why[0] == '\0';
}

static void take_judgement(pappus_season_row *row, const pappus_judgement *judgement)
{
    const pappus_reason *lead = NULL;
    row->verdict = judgement->decision == PAPPUS_GO      ? PAPPUS_MET
                   : judgement->decision == PAPPUS_NO_GO ? PAPPUS_BROKEN
                                                         : PAPPUS_UNDECIDED;
    row->use = NAN;
    for (size_t i = 0; i < judgement->reason_count; i++)
        if (judgement->reasons[i].verdict != PAPPUS_MET)
            row->unmet |= 1U << judgement->reasons[i].limit;
    if (pappus_judgement_lead(&lead, 1, judgement) == 0) return;
    row->limit = lead->limit;
    row->use = pappus_reason_use(lead);
}

static int take_drift(pappus_season_row *row, const pappus_cloud *cloud, pappus_error *err)
{
    pappus_weighted *pairs = malloc((cloud->count + 1) * sizeof *pairs);
    if (!pairs) return pappus_fail_memory(err);
    row->mean_east_m = row->mean_north_m = 0.0;
    for (size_t i = 0; i < cloud->count; i++) {
        double weight = pappus_cloud_weight(cloud, i);
        pairs[i] = (pappus_weighted){hypot(cloud->east_m[i], cloud->north_m[i]), weight};
        row->mean_east_m += weight * cloud->east_m[i];
        row->mean_north_m += weight * cloud->north_m[i];
    }
    row->drift_m = pappus_weighted_quantiles(pairs, cloud->count);
    free(pairs);
    return PAPPUS_OK;
}

static void take_hits(pappus_season_row *row, const pappus_hits *hits)
{
    row->inside_field = pappus_hits_inside(hits, 0.95).value;
    row->keep_out = NAN;
    for (size_t k = 0; k < hits->keep_out_count; k++)
        row->keep_out = fmax(row->keep_out, pappus_hits_keep_out(hits, k, 0.95).value);
}

/* With the main as planned. */
static int judge_planned(pappus_season_row *row, pappus_cloud **cloud, const pappus_givens *given,
                         const pappus_run *run, pappus_error *err)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_hits *hits = NULL;
    pappus_judgement *judgement = NULL;
    options.run = *run;
    options.stratum_minimum = run->stratum_minimum;
    int status = pappus_scatter(cloud, given->plan, given->air, &options, err);
    if (status == PAPPUS_OK) status = pappus_hits_count(&hits, *cloud, given->field, 1, err);
    if (status == PAPPUS_OK)
        status =
            pappus_judge(&judgement, given->plan, given->field, given->air, *cloud, hits, 0.0, err);
    if (status == PAPPUS_OK) {
        take_hits(row, hits);
        take_judgement(row, judgement);
        status = take_drift(row, *cloud, err);
    }
    pappus_judgement_free(judgement);
    pappus_hits_free(hits);
    return status;
}

/* At every main height. */
static int judge_heights(pappus_season_row *row, const pappus_givens *given,
                         const pappus_season_plan *plan, const pappus_run *run, pappus_error *err)
{
    pappus_heights *heights = NULL;
    row->recommended_m = NAN;
    if (isnan(plan->planned_m)) return PAPPUS_OK;
    int status = pappus_heights_count(&heights, given, run, false, err);
    if (status == PAPPUS_OK && heights->row_count != plan->height_count)
        status = pappus_fail(err, PAPPUS_E_NUMERIC, NULL, "heights", NULL, "differ between days");
    if (status == PAPPUS_OK) {
        row->heights = calloc(plan->height_count + 1, sizeof *row->heights);
        if (!row->heights) status = pappus_fail_memory(err);
    }
    if (status == PAPPUS_OK) {
        row->height_count = plan->height_count;
        row->recommended_m = heights->recommended_m;
        for (size_t i = 0; i < plan->height_count; i++)
            row->heights[i] =
                heights->rows[i].above_apogee ? PAPPUS_BROKEN : heights->rows[i].verdict;
    }
    pappus_heights_free(heights);
    return status;
}

static void note_surface(double *speed_mps, double *from_deg, const pappus_air *air)
{
    double u, v;
    pappus_air_mean_wind(air, MAST_M, &u, &v);
    *speed_mps = pappus_air_surface_wind_mps(air);
    *from_deg = u == 0.0 && v == 0.0 ? NAN : fmod(atan2(-u, -v) * 180.0 / M_PI + 360.0, 360.0);
}

int season_judge(pappus_season_row *row, pappus_cloud **cloud, double *surface_mps,
                 double *surface_from_deg, const pappus_givens *given,
                 const season_sounding *sounding, const pappus_season_plan *plan,
                 const pappus_run *run, pappus_error *err)
{
    const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_wind_profile profile = *sounding->profile;
    pappus_winds winds = {.profile_count = 1, .profiles = &profile, .age_s = sounding->age_s};
    pappus_run day_run = *run;
    pappus_variant variant;
    char why[WHY_SIZE] = "";
    *cloud = NULL;
    *surface_mps = *surface_from_deg = NAN;
    profile.weight = 1.0;
    day_run.seed = row->seed = season_seed(run->seed, sounding->valid_utc_s);
    pappus_variant_begin(&variant, given);
    variant.plan.wind = wind_of_day(sounding, given->plan);
    variant.changed.winds = &winds;
    int status = pappus_variant_air(&variant, &as_read, err);
    if (status == PAPPUS_OK) {
        note_surface(surface_mps, surface_from_deg, variant.air);
        if (!is_known(why, sounding, given->plan, variant.air)) {
            pappus_variant_end(&variant);
            return not_judged(row, why);
        }
        status = judge_planned(row, cloud, &variant.changed, &day_run, err);
    }
    if (status == PAPPUS_OK) status = judge_heights(row, &variant.changed, plan, &day_run, err);
    pappus_variant_end(&variant);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_cloud_free(*cloud);
    *cloud = NULL;
    return fault_of_day(row, status, err);
}

void pappus_season_day_clear(pappus_season_day *day)
{
    for (size_t p = 0; day->rows && p < day->row_count; p++) {
        free(day->rows[p].why);
        free(day->rows[p].heights);
    }
    free(day->rows);
    *day = (pappus_season_day){0};
}
