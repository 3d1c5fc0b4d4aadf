/* SPDX-License-Identifier: GPL-3.0-or-later
 * The error of a profile (wind_error.h) is a Gaussian process of covariance S for both
 * components, times one drawn scale: a multivariate Student law of nu degrees of freedom.
 * Measured winds y = H w + e, e ~ N(0, R) of the same scale, condition it:
 *   mean* = mean + S H' A^-1 (y - H mean),  A = H S H' + R,
 * the Gaussian part of a draw by Matheron's rule, x* = x + S H' A^-1 (e - H x), and its
 * scale from nu + n degrees of freedom with the covariance times
 * (nu - 2 + d^2)/(nu - 2 + n), d^2 the distance of the n components of y from what was
 * expected (Roth, Kalman filters and the t distribution, 2013, eq. 2.27). The inverse of
 * A (readings are few) is by Cholesky. Of several profiles the weights become
 * w_k t(y; H mean_k, A_k).
 * Gusts below 1000 ft: sd 0.1 W20/(0.177 + 0.000823 h)^0.4, length
 * h/(0.177 + 0.000823 h)^1.2, h in feet (MIL-F-8785C), scaled so that the gust
 * read is three standard deviations over the mean; none above 1200 ft. */
#include "wind_field.h"

#include "error.h"
#include "si.h"

#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GUST_LOWEST_FT 10.0
#define GUST_TAPER_FT 1000.0
#define GUST_TOP_FT 1200.0
#define GUST_PARTS 16
/* A gust is taken as this many standard deviations over the mean. */
#define GUST_DEVIATIONS 3.0
/* Error of reaching a reading that lies below the profile, per unit of speed and
 * of ln(z_low/z) (assumption). */
#define REACH_ERROR 0.1
/* Keeps A invertible when two readings without error share a height. */
#define LEAST_READING_SD_MPS 1e-3

/* ---------------------------------------------------------------- readings */

static int add_reading(pappus_reading *out, size_t *count, const pappus_observation *o,
                       uint32_t sub, const char *key, pappus_wind_change change, pappus_error *err)
{
    if (*count == PAPPUS_READINGS)
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind.observations", NULL,
                           "more measured winds than the %d that are accepted", PAPPUS_READINGS);
    if (!(o->height_m >= 0.0 && isfinite(o->height_m)) || !isfinite(o->speed_mps) ||
        !isfinite(o->direction_deg) || !(o->error_mps >= 0.0 && isfinite(o->error_mps)))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, key, NULL,
                           "a measured wind needs a height of 0 or more, speed, direction and "
                           "error");
    pappus_wind_vector wind = pappus_wind_from(o->speed_mps, o->direction_deg);
    out[(*count)++] = (pappus_reading){o->height_m, pappus_wind_changed(wind, change),
                                       fmax(o->error_mps, LEAST_READING_SD_MPS), sub};
    return PAPPUS_OK;
}

int pappus_readings_collect(pappus_reading *out, size_t *count, const pappus_wind_plan *plan,
                            pappus_wind_change change, pappus_error *err)
{
    int status = PAPPUS_OK;
    *count = 0;
    if (plan->has_surface)
        status = add_reading(out, count, &plan->surface, 0, "wind.surface", change, err);
    for (size_t i = 0; !status && i < plan->observation_count; i++)
        status = add_reading(out, count, &plan->observations[i], (uint32_t)i + 1,
                             "wind.observations", change, err);
    return status;
}

/* ------------------------------------------------------------------- gusts */

static double gust_shape_ft(double height_m)
{
    return 0.177 + 0.000823 * fmin(fmax(height_m / PAPPUS_FOOT_M, GUST_LOWEST_FT), GUST_TAPER_FT);
}

static double gust_length_m(double height_m)
{
    double feet = fmin(fmax(height_m / PAPPUS_FOOT_M, GUST_LOWEST_FT), GUST_TAPER_FT);
    return feet * PAPPUS_FOOT_M / pow(gust_shape_ft(height_m), 1.2);
}

double pappus_wind_field_gust_sd_mps(const pappus_wind_field *field, double height_m)
{
    double feet = height_m / PAPPUS_FOOT_M;
    double taper = (GUST_TOP_FT - feet) / (GUST_TOP_FT - GUST_TAPER_FT);
    double shape = gust_shape_ft(field->gust_height_m) / gust_shape_ft(height_m);
    return field->gust_sd_mps * pow(shape, 0.4) * fmax(0.0, fmin(1.0, taper));
}

/* Integral of dh/L between two heights, by the midpoint rule; a step may span a
 * factor of two in h, where one midpoint would miss 4 %. */
static double gust_lengths(double from_m, double to_m)
{
    double part = (to_m - from_m) / GUST_PARTS, sum = 0.0;
    for (int i = 0; i < GUST_PARTS; i++)
        sum += part / gust_length_m(from_m + (i + 0.5) * part);
    return sum;
}

static void set_gust(pappus_wind_field *f, const pappus_wind_plan *plan, double factor)
{
    f->surface_speed_mps = plan->has_surface ? factor * plan->surface.speed_mps : NAN;
    f->gust_mps = plan->has_surface ? factor * plan->gust_mps : NAN;
    f->gust_height_m = plan->surface.height_m;
    f->gust_sd_mps = 0.0;
    if (!isnan(f->gust_mps))
        f->gust_sd_mps = fmax(0.0, f->gust_mps - f->surface_speed_mps) / GUST_DEVIATIONS;
}

/* ------------------------------------------------------------ conditioning */

static double reading_sd(const pappus_reading *r, const pappus_profile *p)
{
    if (r->height_m <= 0.0 || r->height_m >= p->low_m) return r->sd_mps;
    pappus_wind_vector w = pappus_profile_mean(p, r->height_m);
    double reach = REACH_ERROR * hypot(w.u_mps, w.v_mps) * log(p->low_m / r->height_m);
    return hypot(r->sd_mps, reach);
}

/* S H' of one height: covariances of the wind there with the wind at each reading. */
static void covariances(double *out, const pappus_wind_field *f, size_t k, double height_m)
{
    const pappus_profile *p = &f->profiles[k];
    double sd = pappus_profile_sd_mps(p, height_m);
    for (size_t j = 0; j < f->reading_count; j++) {
        double z = f->readings[j].height_m;
        out[j] = sd * pappus_profile_sd_mps(p, z) *
                 pappus_wind_error_correlation(&p->law, height_m, z, p->age_h);
    }
}

static double dot(const double *a, const double *b, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += a[i] * b[i];
    return sum;
}

/* A^-1 of profile k, and ln det A. */
static int invert(pappus_wind_field *f, size_t k, double *log_determinant, pappus_error *err)
{
    size_t n = f->reading_count;
    double *a = f->inverse + k * n * n;
    for (size_t j = 0; j < n; j++) {
        double sd = reading_sd(&f->readings[j], &f->profiles[k]);
        f->reading_sd_mps[k * n + j] = sd;
        covariances(a + j * n, f, k, f->readings[j].height_m);
        a[j * n + j] += sd * sd;
    }
    gsl_matrix_view view = gsl_matrix_view_array(a, n, n);
    if (gsl_linalg_cholesky_decomp1(&view.matrix))
        return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, "wind.observations", NULL,
                           "the measured winds cannot be combined with the profile");
    for (size_t j = 0; j < n; j++)
        *log_determinant += 2.0 * log(a[j * n + j]);
    if (gsl_linalg_cholesky_invert(&view.matrix))
        return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, "wind.observations", NULL,
                           "the measured winds cannot be combined with the profile");
    return PAPPUS_OK;
}

/* Fills the profile's pulls and gives d^2. */
static double pull(pappus_wind_field *f, size_t k)
{
    size_t n = f->reading_count;
    double du[PAPPUS_READINGS], dv[PAPPUS_READINGS];
    for (size_t j = 0; j < n; j++) {
        const pappus_reading *r = &f->readings[j];
        pappus_wind_vector mean = pappus_profile_mean(&f->profiles[k], r->height_m);
        du[j] = r->wind.u_mps - mean.u_mps;
        dv[j] = r->wind.v_mps - mean.v_mps;
    }
    for (size_t j = 0; j < n; j++) {
        const double *row = f->inverse + (k * n + j) * n;
        f->pull_u[k * n + j] = dot(row, du, n);
        f->pull_v[k * n + j] = dot(row, dv, n);
    }
    return dot(f->pull_u + k * n, du, n) + dot(f->pull_v + k * n, dv, n);
}

/* One profile by the readings: its weight's logarithm and its spread. */
static int condition_profile(pappus_wind_field *f, size_t k, int components, pappus_error *err)
{
    double log_determinant = 0.0, dof = f->profiles[k].law.dof;
    int status = invert(f, k, &log_determinant, err);
    if (status != PAPPUS_OK) return status;
    double distance2 = pull(f, k);
    f->weight[k] +=
        pappus_wind_error_log_density(dof, components, distance2, 2.0 * log_determinant);
    f->widening[k] = pappus_wind_error_widening(dof, components, distance2);
    return PAPPUS_OK;
}

/* Components of the readings that were not expected to be what they are: a reading
 * which is all that a profile is made from tells nothing of the size of its error. */
static int reading_components(const pappus_wind_field *f)
{
    return 2 * ((int)f->reading_count - (f->surface_only ? 1 : 0));
}

static int condition(pappus_wind_field *f, pappus_error *err)
{
    double largest = -INFINITY, sum = 0.0;
    int components = reading_components(f);
    pappus_wind_scale_fill(&f->scale, f->profiles[0].law.dof + components);
    for (size_t k = 0; k < f->profile_count; k++) {
        f->weight[k] = log(f->profiles[k].weight);
        f->widening[k] = 1.0;
        if (f->reading_count > 0) {
            int status = condition_profile(f, k, components, err);
            if (status != PAPPUS_OK) return status;
        }
        largest = fmax(largest, f->weight[k]);
    }
    if (!isfinite(largest))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind.profiles", NULL,
                           "the weights of the profiles must be numbers above 0");
    for (size_t k = 0; k < f->profile_count; k++)
        sum += f->weight[k] = exp(f->weight[k] - largest);
    for (size_t k = 0; k < f->profile_count; k++)
        f->weight[k] /= sum;
    return PAPPUS_OK;
}

void pappus_wind_field_moments(pappus_wind_vector *mean, double *sd_mps, const pappus_wind_field *f,
                               size_t k, bool prior, double height_m)
{
    size_t n = f->reading_count;
    double c[PAPPUS_READINGS], drop = 0.0;
    *mean = pappus_profile_mean(&f->profiles[k], height_m);
    *sd_mps = pappus_profile_sd_mps(&f->profiles[k], height_m);
    if (prior || n == 0) return;
    covariances(c, f, k, height_m);
    for (size_t j = 0; j < n; j++)
        drop += c[j] * dot(f->inverse + (k * n + j) * n, c, n);
    mean->u_mps += dot(c, f->pull_u + k * n, n);
    mean->v_mps += dot(c, f->pull_v + k * n, n);
    *sd_mps = sqrt(fmax(*sd_mps * *sd_mps - drop, 0.0));
}

double pappus_wind_field_spread(const pappus_wind_field *f, size_t k, bool prior)
{
    double dof = prior ? f->profiles[k].law.dof : f->scale.dof;
    if (dof >= PAPPUS_NORMAL_DOF) return 1.0;
    return sqrt((dof - 2.0) * (prior ? 1.0 : f->widening[k]));
}

double pappus_wind_field_widening(const pappus_wind_field *f)
{
    return dot(f->weight, f->widening, f->profile_count);
}

/* ------------------------------------------------------------------ tables */

static void fill_rows(const pappus_wind_field *f, float *rows, size_t nodes, const double *height_m)
{
    size_t n = f->reading_count;
    double c[PAPPUS_READINGS];
    for (size_t k = 0; k < f->profile_count; k++)
        for (size_t i = 0; i < nodes; i++) {
            pappus_wind_vector mean = pappus_profile_mean(&f->profiles[k], height_m[i]);
            *rows++ = (float)mean.u_mps;
            *rows++ = (float)mean.v_mps;
            *rows++ = (float)pappus_profile_sd_mps(&f->profiles[k], height_m[i]);
            covariances(c, f, k, height_m[i]);
            for (size_t j = 0; j < n; j++)
                *rows++ = (float)dot(f->inverse + (k * n + j) * n, c, n);
        }
}

/* keep = exp(-step), fresh = sqrt(1 - keep^2) without losing digits at small steps. */
static void fill_step(float *keep, float *fresh, size_t i, double step)
{
    keep[i] = i == 0 ? 0.0F : (float)exp(-step);
    fresh[i] = i == 0 ? 1.0F : (float)sqrt(-expm1(-2.0 * step));
}

static double depth(const pappus_profile *p, double height_m)
{
    return pappus_wind_error_depth(&p->law, height_m, p->age_h);
}

static void fill_steps(const pappus_wind_field *f, float *steps, size_t nodes,
                       const double *height_m)
{
    float *keep = steps, *fresh = steps + nodes, *gust_keep = steps + 2 * nodes;
    float *gust_fresh = steps + 3 * nodes, *gust_sd = steps + 4 * nodes;
    const pappus_profile *p = &f->profiles[0]; /* age and correlation are the same in all */
    for (size_t i = 0; i < nodes; i++) {
        double dz = i == 0 ? 0.0 : height_m[i] - height_m[i - 1];
        fill_step(keep, fresh, i, depth(p, height_m[i]) - depth(p, height_m[i] - dz));
        fill_step(gust_keep, gust_fresh, i, gust_lengths(height_m[i] - dz, height_m[i]));
        gust_sd[i] = (float)pappus_wind_field_gust_sd_mps(f, height_m[i]);
    }
}

static int nearest_node(double height, size_t nodes, const double *height_m)
{
    size_t best = 0;
    for (size_t i = 1; i < nodes; i++)
        if (fabs(height_m[i] - height) < fabs(height_m[best] - height)) best = i;
    return (int)best;
}

static void fill_readings(pappus_wind_field *f, float *u, float *v, float *sd, float *spread,
                          size_t nodes, const double *height_m)
{
    for (size_t j = 0; j < f->reading_count; j++) {
        const pappus_reading *r = &f->readings[j];
        f->reading_nodes[j] = nearest_node(r->height_m, nodes, height_m);
        f->reading_subs[j] = r->sub;
        u[j] = (float)r->wind.u_mps;
        v[j] = (float)r->wind.v_mps;
    }
    for (size_t j = 0; j < f->reading_count * f->profile_count; j++)
        sd[j] = (float)f->reading_sd_mps[j];
    for (size_t k = 0; k < f->profile_count; k++)
        spread[k] = (float)pappus_wind_field_spread(f, k, false);
}

static int gust_count(const pappus_wind_field *f, size_t nodes, const double *height_m)
{
    int count = 0;
    while ((size_t)count < nodes && pappus_wind_field_gust_sd_mps(f, height_m[count]) > 0.0)
        count++;
    return count;
}

static int build_tables(pappus_wind_field *f, size_t nodes, const double *height_m,
                        pappus_error *err)
{
    size_t n = f->reading_count, row = PAPPUS_WIND_COLUMNS + n;
    size_t rows = f->profile_count * nodes * row;
    f->floats =
        calloc(rows + 5 * nodes + (2 + f->profile_count) * n + f->profile_count, sizeof *f->floats);
    f->reading_nodes = calloc(n + 1, sizeof *f->reading_nodes);
    f->reading_subs = calloc(n + 1, sizeof *f->reading_subs);
    if (!f->floats || !f->reading_nodes || !f->reading_subs) return pappus_fail_memory(err);
    float *steps = f->floats + rows, *readings = steps + 5 * nodes;
    float *spread = readings + (2 + f->profile_count) * n;
    fill_rows(f, f->floats, nodes, height_m);
    fill_steps(f, steps, nodes, height_m);
    fill_readings(f, readings, readings + n, readings + 2 * n, spread, nodes, height_m);
    f->tables =
        (pappus_wind_tables){.node_count = (int)nodes,
                             .reading_count = (int)n,
                             .profile_count = (int)f->profile_count,
                             .row = (int)row,
                             .rows = f->floats,
                             .keep = steps,
                             .fresh = steps + nodes,
                             .reading_node = f->reading_nodes,
                             .reading_sub = f->reading_subs,
                             .reading_u_mps = readings,
                             .reading_v_mps = readings + n,
                             .reading_sd_mps = readings + 2 * n,
                             .scale = f->scale.dof < PAPPUS_NORMAL_DOF ? f->scale.cubic : NULL,
                             .spread = spread,
                             .gust_count = gust_count(f, nodes, height_m),
                             .gust_keep = steps + 2 * nodes,
                             .gust_fresh = steps + 3 * nodes,
                             .gust_sd_mps = steps + 4 * nodes};
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- build */

static int fill_profiles(pappus_wind_field *f, const pappus_plan *plan, const pappus_winds *winds,
                         const pappus_atmosphere *atmosphere, pappus_wind_change change,
                         pappus_error *err)
{
    if (!winds) return pappus_profile_calm(&f->profiles[0], err);
    double age = isnan(plan->wind.age_s) ? winds->age_s : plan->wind.age_s;
    if (winds->profile_count == 0)
        return pappus_profile_from_surface(&f->profiles[0], &plan->wind, age, change, err);
    for (size_t k = 0; k < winds->profile_count; k++) {
        int status = pappus_profile_from_levels(&f->profiles[k], &winds->profiles[k], atmosphere,
                                                &plan->wind, age, change, err);
        if (status != PAPPUS_OK) return status;
    }
    return PAPPUS_OK;
}

static int field_room(pappus_wind_field *f, pappus_error *err)
{
    size_t k = f->profile_count, n = f->reading_count;
    f->profiles = calloc(k, sizeof *f->profiles);
    f->weight = calloc(k * (2 + 3 * n + n * n), sizeof *f->weight);
    if (!f->profiles || !f->weight) return pappus_fail_memory(err);
    f->widening = f->weight + k;
    f->reading_sd_mps = f->widening + k;
    f->pull_u = f->reading_sd_mps + k * n;
    f->pull_v = f->pull_u + k * n;
    f->inverse = f->pull_v + k * n;
    return PAPPUS_OK;
}

static int check_wind_plan(const pappus_wind_plan *plan, const pappus_winds *winds,
                           pappus_error *err)
{
    if (plan->correlation_height_m <= 0.0 || !(plan->correlation_growth_m > 0.0))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind.correlation_height", NULL,
                           "must be above 0, and so must correlation_growth");
    if (!(plan->error_mps >= 0.0) || plan->growth_mps < 0.0 || !(plan->shear_exponent >= 0.0) ||
        !(plan->decoupling >= 0.0) || !(plan->speed_share >= 0.0 && plan->speed_share < 1.0))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind", NULL,
                           "error, growth, decoupling and shear_exponent must be 0 or more, "
                           "speed_share below 1");
    if (!(plan->ground_factor > 0.0) || !(plan->top_factor > 0.0) || !(plan->error_dof > 2.0))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind", NULL,
                           "ground_factor and top_factor must be above 0, error_dof above 2");
    if (winds->profile_count > PAPPUS_PROFILES)
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind.profiles", NULL,
                           "%zu profiles; up to %d are accepted", winds->profile_count,
                           PAPPUS_PROFILES);
    if (winds->profile_count == 0 && !(plan->has_surface && plan->surface.height_m > 0.0))
        return pappus_fail(err, PAPPUS_E_WIND, NULL, "wind", NULL,
                           "needs a profile, or a surface wind measured above the ground");
    return PAPPUS_OK;
}

int pappus_wind_field_build(pappus_wind_field **out, const pappus_plan *plan,
                            const pappus_winds *winds, const pappus_atmosphere *atmosphere,
                            pappus_wind_change change, size_t node_count, const double *height_m,
                            pappus_error *err)
{
    int status = winds ? check_wind_plan(&plan->wind, winds, err) : PAPPUS_OK;
    if (status != PAPPUS_OK) return status;
    pappus_wind_field *f = calloc(1, sizeof *f);
    if (!f) return pappus_fail_memory(err);
    f->profile_count = winds && winds->profile_count ? winds->profile_count : 1;
    f->surface_only = winds && winds->profile_count == 0;
    f->surface_speed_mps = f->gust_mps = NAN;
    if (winds) {
        set_gust(f, &plan->wind, change.factor);
        status = pappus_readings_collect(f->readings, &f->reading_count, &plan->wind, change, err);
    }
    if (status == PAPPUS_OK) status = field_room(f, err);
    if (status == PAPPUS_OK) status = fill_profiles(f, plan, winds, atmosphere, change, err);
    if (status == PAPPUS_OK) status = condition(f, err);
    if (status == PAPPUS_OK) status = build_tables(f, node_count, height_m, err);
    if (status != PAPPUS_OK) {
        pappus_wind_field_free(f);
        return status;
    }
    *out = f;
    return PAPPUS_OK;
}

void pappus_wind_field_free(pappus_wind_field *field)
{
    if (!field) return;
    for (size_t k = 0; field->profiles && k < field->profile_count; k++)
        pappus_profile_clear(&field->profiles[k]);
    free(field->profiles);
    free(field->weight);
    free(field->floats);
    free(field->reading_nodes);
    free(field->reading_subs);
    free(field);
}
