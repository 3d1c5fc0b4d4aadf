/* SPDX-License-Identifier: GPL-3.0-or-later
 * A profile: components linear in height between levels, the top value held
 * above, and below the lowest level z_low the power law (z/z_low)^exponent
 * (EPA-454/R-99-005, 6.2.5; meant for open ground and the lowest 200 m). Its
 * error is that of wind_error.h with the level's own deviation where that is the
 * larger; below z_low it is that of z_low and shrinks with the wind. Components are
 * interpolated and not directions, so that 350 to 10 degrees goes through north. */
#include "wind_profile.h"

#include "error.h"

#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>

#define SECONDS_PER_HOUR 3600.0
/* Levels closer than this are one. */
#define SAME_LEVEL_M 0.01

pappus_wind_vector pappus_wind_changed(pappus_wind_vector wind, pappus_wind_change change)
{
    double turn = change.turn_deg * M_PI / 180.0;
    double c = change.factor * cos(turn), s = change.factor * sin(turn);
    return (pappus_wind_vector){wind.u_mps * c + wind.v_mps * s, wind.v_mps * c - wind.u_mps * s};
}

pappus_wind_vector pappus_wind_from(double speed_mps, double direction_deg)
{
    double from = direction_deg * M_PI / 180.0;
    return (pappus_wind_vector){-speed_mps * sin(from), -speed_mps * cos(from)};
}

double pappus_wind_level_height_m(const pappus_wind_level *level,
                                  const pappus_atmosphere *atmosphere)
{
    switch (level->height_kind) {
    case PAPPUS_HEIGHT_MSL:
        return level->height_m - atmosphere->elevation_msl_m;
    case PAPPUS_HEIGHT_MSL_GEOPOTENTIAL:
        return pappus_geometric_m(level->height_m) - atmosphere->elevation_msl_m;
    case PAPPUS_HEIGHT_PRESSURE:
        return pappus_atmosphere_height_m(atmosphere, pappus_standard_pressure_pa(level->height_m));
    case PAPPUS_HEIGHT_AGL:
    default:
        return level->height_m;
    }
}

static int profile_room(pappus_profile *p, size_t count, pappus_error *err)
{
    double *values = calloc(4 * count, sizeof *values);
    if (!values) return pappus_fail_memory(err);
    *p = (pappus_profile){.height_m = values,
                          .u_mps = values + count,
                          .v_mps = values + 2 * count,
                          .error_mps = values + 3 * count,
                          .weight = 1.0};
    return PAPPUS_OK;
}

/* Keeps the levels in ascending order; one at the height of another replaces it. */
static void insert_level(pappus_profile *p, double height_m, pappus_wind_vector wind,
                         double error_mps)
{
    size_t i = p->count;
    while (i > 0 && p->height_m[i - 1] > height_m - SAME_LEVEL_M)
        i--;
    if (i == p->count || p->height_m[i] > height_m + SAME_LEVEL_M) {
        for (size_t j = p->count; j > i; j--) {
            p->height_m[j] = p->height_m[j - 1];
            p->u_mps[j] = p->u_mps[j - 1];
            p->v_mps[j] = p->v_mps[j - 1];
            p->error_mps[j] = p->error_mps[j - 1];
        }
        p->count++;
    }
    p->height_m[i] = height_m;
    p->u_mps[i] = wind.u_mps;
    p->v_mps[i] = wind.v_mps;
    p->error_mps[i] = error_mps;
}

/* The wind that has grown old errs by its strength as well. */
static void scale_growth(pappus_profile *p)
{
    pappus_wind_vector mean = {0.0, 0.0};
    for (int i = 0; i < PAPPUS_ALOFT_HEIGHTS; i++) {
        pappus_wind_vector wind = pappus_profile_mean(p, pappus_aloft_heights_m[i]);
        mean.u_mps += wind.u_mps / PAPPUS_ALOFT_HEIGHTS;
        mean.v_mps += wind.v_mps / PAPPUS_ALOFT_HEIGHTS;
    }
    p->law.growth_mps *=
        sqrt(pappus_wind_error_speed_factor(&p->law, hypot(mean.u_mps, mean.v_mps)));
}

static void finish_profile(pappus_profile *p, const pappus_wind_plan *plan)
{
    p->low_m = fmax(p->height_m[0], 0.0);
    p->power_top_m = p->low_m;
    p->shear_exponent = plan->shear_exponent;
}

int pappus_profile_from_levels(pappus_profile *out, const pappus_wind_profile *read,
                               const pappus_atmosphere *atmosphere, const pappus_wind_plan *plan,
                               double age_s, pappus_wind_change change, pappus_error *err)
{
    int status = profile_room(out, read->level_count + 1, err);
    if (status != PAPPUS_OK) return status;
    out->law = pappus_wind_error_of(plan, read->kind);
    if (read->of_spread && isnan(plan->growth_mps)) out->law.growth_mps = 0.0;
    out->age_h = fmax(age_s, 0.0) / SECONDS_PER_HOUR;
    for (size_t i = 0; i < read->level_count; i++) {
        const pappus_wind_level *level = &read->levels[i];
        double height = pappus_wind_level_height_m(level, atmosphere);
        if (!isfinite(level->u_mps) || !isfinite(level->v_mps) || !isfinite(height)) continue;
        pappus_wind_vector wind = {level->u_mps, level->v_mps};
        double own = level->speed_sd_mps / pappus_wind_error_height_factor(&out->law, height);
        insert_level(out, height, pappus_wind_changed(wind, change), fmax(out->law.error_mps, own));
    }
    if (out->count == 0 || out->height_m[out->count - 1] <= 0.0) {
        pappus_profile_clear(out);
        return pappus_fail(err, PAPPUS_E_WIND, read->path, "wind.profiles", NULL,
                           "no level above the pad has a wind; at least one is needed");
    }
    finish_profile(out, plan);
    scale_growth(out);
    out->weight = read->weight;
    return PAPPUS_OK;
}

int pappus_profile_from_surface(pappus_profile *out, const pappus_wind_plan *plan, double age_s,
                                pappus_wind_change change, pappus_error *err)
{
    int status = profile_room(out, 1, err);
    if (status != PAPPUS_OK) return status;
    const pappus_observation *s = &plan->surface;
    pappus_wind_vector wind = pappus_wind_from(s->speed_mps, s->direction_deg);
    out->law = pappus_wind_error_of(plan, PAPPUS_WIND_SOUNDING);
    if (!plan->error_given) out->law.error_mps = PAPPUS_SURFACE_ONLY_ERROR_MPS;
    if (isnan(out->law.correlation_height_m))
        out->law.correlation_height_m = PAPPUS_SURFACE_ONLY_LENGTH_M;
    out->age_h = fmax(age_s, 0.0) / SECONDS_PER_HOUR;
    insert_level(out, s->height_m, pappus_wind_changed(wind, change), out->law.error_mps);
    finish_profile(out, plan);
    out->power_top_m = fmax(PAPPUS_POWER_LAW_TOP_M, out->low_m);
    scale_growth(out);
    return PAPPUS_OK;
}

int pappus_profile_calm(pappus_profile *out, pappus_error *err)
{
    int status = profile_room(out, 1, err);
    if (status != PAPPUS_OK) return status;
    insert_level(out, 0.0, (pappus_wind_vector){0.0, 0.0}, 0.0);
    out->law = (pappus_wind_error){.correlation_height_m = 1.0, .dof = PAPPUS_NORMAL_DOF};
    return PAPPUS_OK;
}

void pappus_profile_clear(pappus_profile *profile)
{
    free(profile->height_m);
    *profile = (pappus_profile){0};
}

static double interpolate(const pappus_profile *p, const double *values, double height_m)
{
    if (height_m <= p->height_m[0]) return values[0];
    if (height_m >= p->height_m[p->count - 1]) return values[p->count - 1];
    size_t i = 1;
    while (p->height_m[i] < height_m)
        i++;
    double part = (height_m - p->height_m[i - 1]) / (p->height_m[i] - p->height_m[i - 1]);
    return values[i - 1] + part * (values[i] - values[i - 1]);
}

/* (z/z_low)^exponent up to a height, 1 where there is no power law. */
static double shear(const pappus_profile *p, double height_m, double top_m)
{
    if (p->low_m <= 0.0) return 1.0;
    return pow(fmax(fmin(height_m, top_m), 0.0) / p->low_m, p->shear_exponent);
}

pappus_wind_vector pappus_profile_mean(const pappus_profile *p, double height_m)
{
    double factor = shear(p, height_m, p->power_top_m);
    return (pappus_wind_vector){factor * interpolate(p, p->u_mps, height_m),
                                factor * interpolate(p, p->v_mps, height_m)};
}

double pappus_profile_sd_mps(const pappus_profile *p, double height_m)
{
    pappus_wind_error law = p->law;
    law.error_mps = interpolate(p, p->error_mps, height_m);
    return pappus_wind_error_sd_mps(&law, fmax(height_m, p->low_m), p->age_h) *
           shear(p, height_m, p->low_m);
}
