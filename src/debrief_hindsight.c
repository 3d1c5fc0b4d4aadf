/* SPDX-License-Identifier: GPL-3.0-or-later
 * A flight computed again: with another wind error, for the power of the calibration, and with
 * what its log shows, for what it teaches of the wind. All on the draws of the plan's seed. */
#include "debrief.h"

#include "canopy.h"
#include "statistics.h"
#include "uncertain.h"
#include "variant.h"
#include "wind_error.h"
#include "wind_field.h"

#include <math.h>

#define LANDINGS 2000

static pappus_wind_kind kind_of(const pappus_givens *given)
{
    return given->winds->profile_count > 0 ? given->winds->profiles[0].kind : PAPPUS_WIND_SOUNDING;
}

void pappus_debrief_wind_before(double *error_mps, double *growth_mps, const pappus_givens *given)
{
    pappus_wind_error law = pappus_wind_error_of(&given->plan->wind, kind_of(given));
    *error_mps = law.error_mps;
    *growth_mps = law.growth_mps;
}

/* Nominal landings of a plan whose wind error has a factor. */
static int fly(pappus_cloud **out, const pappus_givens *given, const pappus_plan *plan,
               double factor, const pappus_run *run, pappus_error *err)
{
    static const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_wind_error law = pappus_wind_error_of(&plan->wind, kind_of(given));
    pappus_variant v;
    pappus_variant_begin(&v, given);
    v.plan = *plan;
    v.plan.wind.error_mps = factor * law.error_mps;
    v.plan.wind.growth_mps = factor * law.growth_mps;
    v.plan.wind.error_given = true;
    int status = pappus_variant_air(&v, &as_read, err);
    options.run = *run;
    options.run.landings = LANDINGS;
    options.run.progress = NULL;
    options.nominal_only = true;
    *out = NULL;
    if (status == PAPPUS_OK)
        status = pappus_scatter(out, v.changed.plan, v.changed.air, &options, err);
    pappus_variant_end(&v);
    return status;
}

static int moments(double mean_m[2], double covariance_m2[2][2], const pappus_cloud *cloud,
                   pappus_error *err)
{
    pappus_strata strata = {0};
    int status = pappus_strata_build(&strata, cloud, err);
    if (status != PAPPUS_OK) return status;
    pappus_sample nominal = pappus_strata_outcome(&strata, PAPPUS_NOMINAL);
    pappus_sample_moments(mean_m, covariance_m2, cloud, &nominal);
    pappus_strata_clear(&strata);
    return PAPPUS_OK;
}

/* Moments of the landings with a factor on the wind's error. */
static int moments_with(double mean_m[2], double covariance_m2[2][2], const pappus_givens *given,
                        const pappus_plan *plan, double factor, const pappus_run *run,
                        pappus_error *err)
{
    pappus_cloud *cloud = NULL;
    int status = fly(&cloud, given, plan, factor, run, err);
    if (status == PAPPUS_OK) status = moments(mean_m, covariance_m2, cloud, err);
    pappus_cloud_free(cloud);
    return status;
}

/* ----------------------------------------------------------------------- power */

static int count_surprises(double bins[PAPPUS_SURPRISE_BINS], const pappus_givens *given,
                           const pappus_expected *expected, double factor, const pappus_run *run,
                           pappus_error *err)
{
    pappus_cloud *cloud = NULL;
    int status = fly(&cloud, given, given->plan, factor, run, err);
    for (size_t i = 0; status == PAPPUS_OK && i < cloud->count; i++) {
        double rank = pappus_expected_rank(expected, cloud->east_m[i], cloud->north_m[i]);
        pappus_surprise_count(bins, pappus_surprise(rank, expected->count), 1.0);
    }
    pappus_cloud_free(cloud);
    return status;
}

int pappus_debrief_power(pappus_ranked *out, const pappus_givens *given,
                         const pappus_expected *expected, const pappus_run *run, pappus_error *err)
{
    double mean_m[2], with[2][2], without[2][2];
    int status = count_surprises(out->narrow, given, expected, 2.0, run, err);
    if (status == PAPPUS_OK) status = count_surprises(out->wide, given, expected, 0.5, run, err);
    if (status == PAPPUS_OK) status = moments_with(mean_m, with, given, given->plan, 1.0, run, err);
    if (status == PAPPUS_OK)
        status = moments_with(mean_m, without, given, given->plan, 0.0, run, err);
    if (status == PAPPUS_OK)
        out->wind_share =
            fmax(0.0, 1.0 - (without[0][0] + without[1][1]) / (with[0][0] + with[1][1]));
    return status;
}

/* ------------------------------------------------------------------- hindsight */

void pappus_debrief_lay_drag(pappus_canopy_plan *canopy, pappus_estimate area_m2)
{
    double sd = (area_m2.high - area_m2.low) / (2.0 * 1.959964);
    if (!(area_m2.value > 0.0) || !isfinite(sd)) return;
    canopy->rate_speed_mps = (pappus_uncertain){0};
    canopy->drag_area_m2 = pappus_lognormal(area_m2.value, sd);
}

void pappus_debrief_planned_drag(double *area_m2, double *body_m2, double *part,
                                 const pappus_plan *plan, bool is_main)
{
    const pappus_canopy_plan *as_planned = is_main ? &plan->main : &plan->drogue;
    const pappus_rocket *rocket = &plan->rocket;
    pappus_canopy canopy;
    *area_m2 = *part = NAN;
    *body_m2 = 0.0;
    if (!as_planned->present ||
        pappus_canopy_resolve(&canopy, as_planned, is_main ? "main" : "drogue", NULL) != PAPPUS_OK)
        return;
    double mean = pappus_canopy_mean_drag_area_m2(&canopy), body = 0.0, body_sd = 0.0;
    double sd = mean * canopy.value.sd / canopy.value.mean * (canopy.power == 1 ? 1.0 : 2.0);
    if (canopy.value.distribution == PAPPUS_EXACT) sd = 0.0;
    /* what hangs beside the first canopy is in the sum that its fall shows */
    bool first = !is_main || !plan->drogue.present;
    if (first && !canopy.holds_body && pappus_is_present(rocket->hanging_share)) {
        body = rocket->hanging_share.mean * rocket->tumble_drag_area_m2.mean;
        body_sd = rocket->hanging_share.sd * rocket->tumble_drag_area_m2.mean;
    }
    *area_m2 = mean + body;
    *body_m2 = body;
    *part = hypot(sd, body_sd) / *area_m2;
}

static void lay_flown(pappus_plan *plan, const pappus_debriefed *flight)
{
    const pappus_flown *flown = &flight->flown;
    if (!flight->has_log) return;
    if (!isnan(flown->apogee_m)) plan->apogee.height_m = pappus_exact(flown->apogee_m);
    pappus_debrief_lay_drag(&plan->drogue, flown->drogue_drag_area_m2);
    pappus_debrief_lay_drag(&plan->main, flown->main_drag_area_m2);
}

int pappus_debrief_lesson(pappus_wind_lesson *out, const pappus_debriefed *flight,
                          const pappus_givens *given, const pappus_run *run, pappus_error *err)
{
    pappus_plan plan = *given->plan;
    pappus_wind_error law = pappus_wind_error_of(&plan.wind, kind_of(given));
    double mean_m[2], with[2][2], without[2][2], none_m[2];
    double age_h = given->winds->age_s / 3600.0;
    /* by the strength of that day's wind too */
    double grown = given->air->wind->profiles[0].law.growth_mps * cbrt(fmax(age_h, 0.0));
    lay_flown(&plan, flight);
    int status = moments_with(mean_m, with, given, &plan, 1.0, run, err);
    if (status == PAPPUS_OK) status = moments_with(none_m, without, given, &plan, 0.0, run, err);
    if (status != PAPPUS_OK) return status;
    *out = (pappus_wind_lesson){
        .east_m = flight->east_m - mean_m[0],
        .north_m = flight->north_m - mean_m[1],
        .wind_m2 = {fmax(with[0][0] - without[0][0], 0.0), with[0][1] - without[0][1],
                    fmax(with[1][1] - without[1][1], 0.0)},
        .rest_m2 = {without[0][0], without[0][1], without[1][1]},
        .error_part = law.error_mps * law.error_mps /
                      fmax(law.error_mps * law.error_mps + grown * grown, 1e-12),
        .age_h = age_h,
        .dof = law.dof};
    return PAPPUS_OK;
}
