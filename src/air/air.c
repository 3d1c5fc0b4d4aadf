/* SPDX-License-Identifier: GPL-3.0-or-later
 * Builds the air of a flight from a plan and its winds: the height grid, the
 * atmosphere with the sounding's temperatures, the wind field, and what is said
 * of them.
 *
 * The grid: close to the ground short steps for the power law, which is steep there
 * (straight from 0 to 2 m would take a sixth off the wind at touchdown under a main),
 * and for the short gusts; then 25 m to above every main height that may be asked
 * for, then growing by a twentieth per step to 100 m; the heights of measured winds
 * are nodes. Halving it must move no quantile of the landings by more than 0.5 %.
 * The grid ends above every apogee that can be drawn but for one in 1e9; the
 * wind of the top node holds above it. */
#include "air.h"

#include "altimeter.h"
#include "error.h"
#include "uncertain.h"
#include "units.h"
#include "wind_field.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>

#define FINE_STEP_M 25.0
#define FINE_TOP_M 300.0
#define COARSE_STEP_M 100.0
#define STEP_GROWTH 1.05
/* A main set to a height opens above it in warm air, and the altimeter errs. */
#define MAIN_HEIGHT_MARGIN 1.2
#define LEAST_TOP_M 50.0
#define TOP_PROBABILITY (1.0 - 1e-9)
/* Chance of an apogee above the last level at which it is worth a warning. */
#define ABOVE_PROFILE_PROBABILITY 0.95
#define SURFACE_HEIGHT_M 10.0
#define ATMOSPHERE_ROUNDS 8
/* Heights closer than this are one. */
#define SETTLED_M 0.01

/* -------------------------------------------------------------------- grid */

static double top_of(const pappus_plan *plan)
{
    pappus_uncertain height = plan->apogee.height_m;
    if (height.distribution == PAPPUS_UNIFORM || height.distribution == PAPPUS_TRIANGULAR)
        return height.high;
    return pappus_uncertain_quantile(height, TOP_PROBABILITY);
}

static double fine_top(const pappus_plan *plan)
{
    double top = FINE_TOP_M;
    for (size_t i = 0; i < plan->altimeter_count; i++)
        top = fmax(top, MAIN_HEIGHT_MARGIN * plan->altimeters[i].main_height_m);
    return fmax(top, MAIN_HEIGHT_MARGIN * plan->heights_to_m);
}

/* Writes the plain grid when out is given; counts it otherwise. */
static size_t plain_grid(double *out, double top_m, double fine_top_m, double factor)
{
    static const double ground[] = {0.0, 0.05, 0.3, 1.0, 2.5, 5.0, 10.0, 17.0};
    size_t count = 0;
    for (size_t i = 0; i < sizeof ground / sizeof ground[0]; i++, count++)
        if (out) out[count] = factor * ground[i];
    double step = factor * FINE_STEP_M, z = step;
    for (; z < top_m - 0.25 * step; z += step, count++) {
        if (out) out[count] = z;
        if (z >= fine_top_m) step = fmin(step * STEP_GROWTH, factor * COARSE_STEP_M);
    }
    if (out) out[count] = top_m;
    return count + 1;
}

/* Puts a reading's height among the nodes, unless one is there. */
static size_t insert_height(double *grid, size_t count, double height)
{
    size_t i = 0;
    while (i < count && grid[i] < height - SETTLED_M)
        i++;
    if (i < count && grid[i] <= height + SETTLED_M) return count;
    for (size_t j = count; j > i; j--)
        grid[j] = grid[j - 1];
    grid[i] = height;
    return count + 1;
}

static int build_grid(pappus_air *air, const pappus_plan *plan, bool has_wind, double top_m,
                      double factor, pappus_error *err)
{
    pappus_reading readings[PAPPUS_READINGS];
    size_t reading_count = 0;
    int status = PAPPUS_OK;
    if (has_wind)
        status = pappus_readings_collect(readings, &reading_count, &plan->wind,
                                         (pappus_wind_change){1.0, 0.0}, err);
    if (status != PAPPUS_OK) return status;
    double fine = fine_top(plan);
    size_t room = plain_grid(NULL, top_m, fine, factor) + reading_count;
    double *values = calloc(4 * room, sizeof *values);
    if (!values) return pappus_fail_memory(err);
    air->height_m = values;
    air->density_kgpm3 = values + room;
    air->temperature_k = values + 2 * room;
    air->pressure_pa = values + 3 * room;
    air->node_count = plain_grid(values, top_m, fine, factor);
    for (size_t j = 0; j < reading_count; j++)
        air->node_count = insert_height(values, air->node_count, readings[j].height_m);
    return PAPPUS_OK;
}

static int too_high(pappus_unit_system units, double top_m, double ceiling_m, pappus_error *err)
{
    char top[48], ceiling[48];
    pappus_units_format_whole(top, sizeof top, PAPPUS_DIM_LENGTH, units, top_m);
    pappus_units_format_whole(ceiling, sizeof ceiling, PAPPUS_DIM_LENGTH, units, ceiling_m);
    return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "apogee.height", NULL,
                       "may reach %s above the pad; the atmosphere here goes from 0 to %s", top,
                       ceiling);
}

static int check_request(const pappus_plan *plan, const pappus_air_options *options, double top_m,
                         pappus_error *err)
{
    double ceiling = pappus_geometric_m(PAPPUS_ATMOSPHERE_TOP_M) - plan->site.elevation_msl_m;
    if (!isfinite(plan->site.elevation_msl_m))
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "site.elevation", NULL, "is needed");
    if (!(top_m > 0.0 && top_m <= ceiling)) return too_high(plan->units, top_m, ceiling, err);
    if (!(options->grid_factor > 0.0 && options->grid_factor <= 4.0) ||
        !(options->wind_factor >= 0.0 && isfinite(options->wind_factor)) ||
        !isfinite(options->wind_turn_deg))
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, NULL, NULL,
                           "options of the air are out of range: grid_factor 0 to 4, "
                           "wind_factor 0 or more");
    return PAPPUS_OK;
}

/* -------------------------------------------------------------- atmosphere */

/* The profile that tells the air's temperature or pressure: the heaviest that has
 * any. */
static const pappus_wind_profile *telling(const pappus_winds *winds, bool pressure)
{
    const pappus_wind_profile *best = NULL;
    for (size_t k = 0; winds && k < winds->profile_count; k++) {
        const pappus_wind_profile *p = &winds->profiles[k];
        for (size_t i = 0; i < p->level_count; i++) {
            double value = pressure ? p->levels[i].pressure_pa : p->levels[i].temperature_k;
            if (!isnan(value) && (!best || p->weight > best->weight)) best = p;
        }
    }
    return best;
}

/* Measured temperatures by height; the site's own where the sounding begins above
 * the pad, or has none. */
static size_t collect_temperatures(double *height_m, double *temperature_k,
                                   const pappus_wind_profile *p, const pappus_site *site,
                                   const pappus_atmosphere *now)
{
    size_t count = 0;
    for (size_t i = 0; p && i < p->level_count; i++) {
        double z = pappus_wind_level_height_m(&p->levels[i], now);
        if (isnan(p->levels[i].temperature_k) || !isfinite(z)) continue;
        if (count == 0 && z > SETTLED_M && !isnan(site->temperature_k)) {
            height_m[count] = 0.0;
            temperature_k[count++] = site->temperature_k;
        }
        if (count > 0 && z < height_m[count - 1] + SETTLED_M) continue;
        height_m[count] = z;
        temperature_k[count++] = p->levels[i].temperature_k;
    }
    if (count == 0 && !isnan(site->temperature_k)) {
        height_m[0] = 0.0;
        temperature_k[0] = site->temperature_k;
        count = 1;
    }
    return count;
}

/* The pressure to start from: the site's, else the sounding's level nearest to
 * the pad. */
static void find_anchor(double *height_m, double *pressure_pa, const pappus_site *site,
                        const pappus_wind_profile *p, const pappus_atmosphere *now)
{
    *height_m = 0.0;
    *pressure_pa = site->pressure_pa;
    if (!isnan(*pressure_pa)) return;
    for (size_t i = 0; p && i < p->level_count; i++) {
        double z = pappus_wind_level_height_m(&p->levels[i], now);
        if (p->levels[i].height_kind == PAPPUS_HEIGHT_PRESSURE) continue; /* tells nothing new */
        if (!(p->levels[i].pressure_pa > 0.0) || !isfinite(z)) continue;
        if (!isnan(*pressure_pa) && fabs(z) >= fabs(*height_m)) continue;
        *height_m = z;
        *pressure_pa = p->levels[i].pressure_pa;
    }
}

static double largest_move(const double *a, const double *b, size_t count)
{
    double move = 0.0;
    for (size_t i = 0; i < count; i++)
        move = fmax(move, fabs(a[i] - b[i]));
    return move;
}

/* Levels by pressure altitude lie where the air puts them, and the air follows
 * from their temperatures: repeated until they rest. work: 3 * room. */
static int settle_atmosphere(pappus_atmosphere **air, const pappus_site *site,
                             const pappus_winds *winds, double *work, size_t room,
                             pappus_error *err)
{
    const pappus_wind_profile *warm = telling(winds, false), *heavy = telling(winds, true);
    double *height = work, *temperature = work + room, *before = work + 2 * room;
    size_t count = 0;
    for (int round = 0; round < ATMOSPHERE_ROUNDS; round++) {
        size_t last = count;
        for (size_t i = 0; i < count; i++)
            before[i] = height[i];
        count = collect_temperatures(height, temperature, warm, site, *air);
        if (round > 0 && count == last && largest_move(height, before, count) < SETTLED_M) break;
        double anchor_m, anchor_pa;
        find_anchor(&anchor_m, &anchor_pa, site, heavy, *air);
        pappus_temperatures measured = {count, height, temperature};
        pappus_atmosphere *next;
        int status = pappus_atmosphere_build(&next, site->elevation_msl_m, &measured, anchor_m,
                                             anchor_pa, err);
        if (status != PAPPUS_OK) return status;
        pappus_atmosphere_free(*air);
        *air = next;
    }
    return PAPPUS_OK;
}

static int build_atmosphere(pappus_atmosphere **out, const pappus_site *site,
                            const pappus_winds *winds, pappus_error *err)
{
    size_t room = 2;
    for (size_t k = 0; winds && k < winds->profile_count; k++)
        room += winds->profiles[k].level_count;
    double *work = calloc(3 * room, sizeof *work);
    if (!work) return pappus_fail_memory(err);
    pappus_temperatures none = {0, NULL, NULL};
    int status =
        pappus_atmosphere_build(out, site->elevation_msl_m, &none, 0.0, site->pressure_pa, err);
    if (status == PAPPUS_OK) status = settle_atmosphere(out, site, winds, work, room, err);
    free(work);
    return status;
}

static void fill_nodes(pappus_air *air)
{
    for (size_t i = 0; i < air->node_count; i++) {
        air->temperature_k[i] = pappus_atmosphere_temperature_k(air->atmosphere, air->height_m[i]);
        air->pressure_pa[i] = pappus_atmosphere_pressure_pa(air->atmosphere, air->height_m[i]);
        air->density_kgpm3[i] = pappus_atmosphere_density_kgpm3(air->atmosphere, air->height_m[i]);
    }
}

/* -------------------------------------------------------------------- wind */

static double end_of(const pappus_profile *profile)
{
    return profile->height_m[profile->count - 1];
}

double pappus_air_wind_top_m(const pappus_air *air)
{
    double top = INFINITY;
    for (size_t k = 0; air->wind && !air->surface_only && k < air->wind->profile_count; k++)
        top = fmin(top, end_of(&air->wind->profiles[k]));
    return top;
}

static void warn(const pappus_air *air, const pappus_plan *plan, const pappus_winds *winds,
                 pappus_log *log)
{
    if (!winds) return;
    if (isnan(air->upwind_bearing_deg))
        pappus_log_add(log, PAPPUS_NOTE, PAPPUS_OK, NULL, "wind", NULL,
                       "calm expected below 300 m: upwind and downwind are those of each "
                       "landing's own wind, the apogee's speed is northward where that is calm "
                       "too; the expected path starts above the pad");
    if (air->surface_only) return;
    double apogee = pappus_uncertain_quantile(plan->apogee.height_m, ABOVE_PROFILE_PROBABILITY);
    for (size_t k = 0; k < air->wind->profile_count; k++) {
        const pappus_profile *p = &air->wind->profiles[k];
        double last = end_of(p);
        char end[48], top[48];
        if (!(apogee > last)) continue;
        pappus_units_format_whole(end, sizeof end, PAPPUS_DIM_LENGTH, plan->units, last);
        pappus_units_format_whole(top, sizeof top, PAPPUS_DIM_LENGTH, plan->units, apogee);
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, winds->profiles[k].path, "wind.profiles",
                       NULL,
                       "ends %s above the pad and the apogee may reach %s; its last wind is held "
                       "above",
                       end, top);
    }
}

/* ------------------------------------------------------------------- build */

/* Over those profiles that have one. */
static double mean_gust_mps(const pappus_winds *winds)
{
    double sum = 0.0, weight = 0.0;
    for (size_t i = 0; winds && i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        if (!(profile->gust_mps > 0.0)) continue;
        sum += profile->weight * profile->gust_mps;
        weight += profile->weight;
    }
    return weight > 0.0 ? sum / weight : NAN;
}

static int build(pappus_air *air, const pappus_plan *plan, const pappus_winds *winds,
                 const pappus_air_options *options, pappus_error *err)
{
    double top = top_of(plan);
    int status = check_request(plan, options, top, err);
    if (status != PAPPUS_OK) return status;
    top = fmax(top, LEAST_TOP_M);
    air->elevation_msl_m = plan->site.elevation_msl_m;
    air->wind_factor = options->wind_factor;
    air->surface_only = winds && winds->profile_count == 0;
    air->forecast_gust_mps =
        plan->wind.has_surface ? NAN : options->wind_factor * mean_gust_mps(winds);
    status = build_grid(air, plan, winds != NULL, top, options->grid_factor, err);
    if (status == PAPPUS_OK) status = build_atmosphere(&air->atmosphere, &plan->site, winds, err);
    if (status != PAPPUS_OK) return status;
    fill_nodes(air);
    pappus_wind_change change = {options->wind_factor, options->wind_turn_deg};
    return pappus_wind_field_build(&air->wind, plan, winds, air->atmosphere, change,
                                   air->node_count, air->height_m, err);
}

int pappus_air_build(pappus_air **out, const pappus_plan *plan, const pappus_winds *winds,
                     const pappus_air_options *options, pappus_log *log)
{
    pappus_error error = {0};
    pappus_air *air = calloc(1, sizeof *air);
    int status = air ? PAPPUS_OK : pappus_fail_memory(&error);
    if (status == PAPPUS_OK) status = build(air, plan, winds, options, &error);
    if (status != PAPPUS_OK) {
        pappus_air_free(air);
        return pappus_log_error(log, &error);
    }
    air->upwind_bearing_deg = pappus_upwind_mean_deg(air);
    warn(air, plan, winds, log);
    *out = air;
    return PAPPUS_OK;
}

void pappus_air_free(pappus_air *air)
{
    if (!air) return;
    pappus_wind_field_free(air->wind);
    pappus_atmosphere_free(air->atmosphere);
    free(air->height_m);
    free(air);
}

/* ----------------------------------------------------------------- answers */

double pappus_air_density_kgpm3(const pappus_air *air, double height_m)
{
    return pappus_atmosphere_density_kgpm3(air->atmosphere, height_m);
}

double pappus_air_temperature_k(const pappus_air *air, double height_m)
{
    return pappus_atmosphere_temperature_k(air->atmosphere, height_m);
}

double pappus_air_pressure_pa(const pappus_air *air, double height_m)
{
    return pappus_atmosphere_pressure_pa(air->atmosphere, height_m);
}

double pappus_air_true_height_m(const pappus_air *air, double indicated_m)
{
    return pappus_altimeter_true_m(air->atmosphere, indicated_m);
}

void pappus_air_mean_wind(const pappus_air *air, double height_m, double *u_mps, double *v_mps)
{
    *u_mps = *v_mps = 0.0;
    for (size_t k = 0; k < air->wind->profile_count; k++) {
        pappus_wind_vector mean;
        double sd;
        pappus_wind_field_moments(&mean, &sd, air->wind, k, false, height_m);
        *u_mps += air->wind->weight[k] * mean.u_mps;
        *v_mps += air->wind->weight[k] * mean.v_mps;
    }
}

double pappus_air_surface_wind_mps(const pappus_air *air)
{
    if (!isnan(air->wind->surface_speed_mps)) return air->wind->surface_speed_mps;
    double u, v;
    pappus_air_mean_wind(air, SURFACE_HEIGHT_M, &u, &v);
    return hypot(u, v);
}

double pappus_air_gust_mps(const pappus_air *air)
{
    return isnan(air->wind->gust_mps) ? air->forecast_gust_mps : air->wind->gust_mps;
}

double pappus_air_wind_widening(const pappus_air *air)
{
    return pappus_wind_field_widening(air->wind);
}
