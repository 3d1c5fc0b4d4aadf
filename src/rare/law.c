/* SPDX-License-Identifier: GPL-3.0-or-later
 * The law of where a fall is led to; what and why in law.h. The density of x over all
 * scales is the sum over the bins, tabled by distance and interpolated: it only shapes
 * proposals. The wide one is (1 + r^2/2V)^-2 / 2 pi V: its distances are
 * sqrt(2V (1/u - 1)). */
#include "law.h"

#include "error.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_SPREAD_M 1.0 /* less than this and there is nothing to lead by */
#define KNOTS_REACH 60.0   /* scales out to which density is tabled */
#define WIDE 1.5           /* scales of the wide density over the law's own */

static double square(double x)
{
    return x * x;
}

/* ------------------------------------------------------------------- build */

static double bin_middle(const rare_law *law, size_t bin)
{
    return law->bin_width * ((double)bin + 0.5) - PAPPUS_SCALE_WIDTH;
}

double rare_law_variance_m2(const rare_law *law, int profile, double scale)
{
    return square(scale) * law->lean.variance_m2[profile] + law->lean.gust_variance_m2 +
           square(law->spread_m);
}

/* Chance of the bin, and V at its middle. */
static void fill_bins(rare_law *law, size_t k)
{
    for (size_t b = 0; b < law->bin_count; b++) {
        double n = bin_middle(law, b), half = 0.5 * law->bin_width;
        double chance = law->bin_count == 1
                            ? 1.0
                            : gsl_cdf_ugaussian_P(n + half) - gsl_cdf_ugaussian_P(n - half);
        if (n > half) chance = gsl_cdf_ugaussian_Q(n - half) - gsl_cdf_ugaussian_Q(n + half);
        double scale = pappus_wind_scale_of(law->lean.air, k, n);
        double variance = rare_law_variance_m2(law, (int)k, scale);
        law->variance_m2[k * law->bin_count + b] = variance;
        law->log_front[k * law->bin_count + b] = log(chance / (2.0 * M_PI * variance));
    }
}

/* Chance of being farther than r from o_k. */
static double chance_beyond(const rare_law *law, size_t k, double r)
{
    double sum = 0.0;
    for (size_t b = 0; b < law->bin_count; b++) {
        double v = law->variance_m2[k * law->bin_count + b];
        sum += 2.0 * M_PI * v * exp(law->log_front[k * law->bin_count + b] - 0.5 * r * r / v);
    }
    return sum;
}

static double log_density_at(const rare_law *law, size_t k, double r)
{
    double most = -INFINITY, sum = 0.0;
    for (size_t pass = 0; pass < 2; pass++)
        for (size_t b = 0; b < law->bin_count; b++) {
            double at = law->log_front[k * law->bin_count + b] -
                        0.5 * r * r / law->variance_m2[k * law->bin_count + b];
            if (pass == 0)
                most = fmax(most, at);
            else
                sum += exp(at - most);
        }
    return most + log(sum);
}

/* Knots lie evenly in asinh(r / middle): close together in the middle, wide outside. */
static double knot_of(double r, double middle_m)
{
    return asinh(r / middle_m) / asinh(KNOTS_REACH) * (LAW_KNOTS - 1);
}

static void fill_table(rare_law *law, size_t k)
{
    law->middle_m[k] = sqrt(law->variance_m2[k * law->bin_count + law->bin_count / 2]);
    for (size_t i = 0; i < LAW_KNOTS; i++)
        law->log_density[k * LAW_KNOTS + i] = log_density_at(
            law, k, law->middle_m[k] * sinh((double)i / (LAW_KNOTS - 1) * asinh(KNOTS_REACH)));
    double low = 0.0, high = KNOTS_REACH * law->middle_m[k];
    for (int i = 0; i < 60; i++) {
        double r = 0.5 * (low + high);
        if (chance_beyond(law, k, r) > LAW_BEYOND)
            low = r;
        else
            high = r;
    }
    law->reach_m[k] = high;
}

static int make_room(rare_law *law, pappus_error *err)
{
    size_t n = law->profile_count, bins = n * law->bin_count;
    law->numbers = calloc(5 * n + 2 * bins + n * LAW_KNOTS, sizeof *law->numbers);
    if (!law->numbers) return pappus_fail_memory(err);
    law->origin_m = (double(*)[2])(void *)law->numbers;
    law->weight = law->numbers + 2 * n;
    law->reach_m = law->weight + n;
    law->middle_m = law->reach_m + n;
    law->variance_m2 = law->middle_m + n;
    law->log_front = law->variance_m2 + bins;
    law->log_density = law->log_front + bins;
    return PAPPUS_OK;
}

int rare_law_of(rare_law *out, const pappus_air *air, const double *seconds, double spread_m,
                const double start_m[2], pappus_error *err)
{
    const pappus_wind_field *field = air->wind;
    bool student = field->tables.scale != NULL;
    *out = (rare_law){.spread_m = spread_m,
                      .start_m = {start_m[0], start_m[1]},
                      .profile_count = field->profile_count,
                      .bin_count = student ? PAPPUS_SCALE_PARTS : 1,
                      .bin_width = student ? 2.0 * PAPPUS_SCALE_WIDTH / PAPPUS_SCALE_PARTS : 0.0};
    int status = pappus_wind_lean_build(&out->lean, air, seconds, err);
    if (status == PAPPUS_OK) status = make_room(out, err);
    if (status != PAPPUS_OK) {
        rare_law_clear(out);
        return status;
    }
    double least_m = INFINITY;
    for (size_t k = 0; k < out->profile_count; k++) {
        out->weight[k] = field->weight[k];
        for (int a = 0; a < 2; a++)
            out->origin_m[k][a] = start_m[a] + out->lean.mean_m[k][a];
        fill_bins(out, k);
        least_m = fmin(least_m, sqrt(rare_law_variance_m2(out, (int)k, 1.0)));
        if (least_m >= LEAST_SPREAD_M) fill_table(out, k);
    }
    for (size_t i = 0; i < air->node_count; i++)
        out->seconds += seconds[i];
    if (!(least_m >= LEAST_SPREAD_M)) rare_law_clear(out);
    return PAPPUS_OK;
}

/* Time that a path spends about each node, shared out as the wind is interpolated. */
static void spend(double *seconds, const pappus_air *air, const pappus_path *path)
{
    for (size_t j = 1; j < path->count; j++) {
        double height_m = 0.5 * (path->points[j - 1].height_m + path->points[j].height_m);
        double time_s = path->points[j].time_s - path->points[j - 1].time_s;
        size_t i = 1;
        while (i + 1 < air->node_count && air->height_m[i] < height_m)
            i++;
        double part = (height_m - air->height_m[i - 1]) / (air->height_m[i] - air->height_m[i - 1]);
        part = fmin(fmax(part, 0.0), 1.0);
        seconds[i - 1] += (1.0 - part) * time_s;
        seconds[i] += part * time_s;
    }
}

static bool turns_with_wind(const pappus_apogee *apogee)
{
    return apogee->bearing.kind != PAPPUS_BEARING || apogee->heading.kind != PAPPUS_BEARING;
}

/* The path lands where the mean wind of all profiles takes it: o_k lies off it by the
 * difference of the means. */
int rare_law_build(rare_law *out, const pappus_plan *plan, const pappus_air *air,
                   pappus_outcome outcome, pappus_error *err)
{
    pappus_path *path = NULL;
    double spread_m = isfinite(plan->apogee.spread_m) ? plan->apogee.spread_m : 0.0;
    *out = (rare_law){0};
    double *seconds = calloc(air->node_count, sizeof *seconds);
    int status =
        seconds ? pappus_reference_path(&path, plan, air, outcome, err) : pappus_fail_memory(err);
    if (status == PAPPUS_OK) {
        double start_m[2] = {0.0, 0.0};
        if (path->count > 0) {
            start_m[0] = path->points[path->count - 1].east_m;
            start_m[1] = path->points[path->count - 1].north_m;
        }
        spend(seconds, air, path);
        for (size_t i = 0; i < air->node_count; i++) {
            double u, v;
            pappus_air_mean_wind(air, air->height_m[i], &u, &v);
            start_m[0] -= seconds[i] * u;
            start_m[1] -= seconds[i] * v;
        }
        status = rare_law_of(out, air, seconds, spread_m, start_m, err);
    }
    if (status == PAPPUS_OK && out->profile_count > 0 && turns_with_wind(&plan->apogee)) {
        status = rare_low_build(&out->low, &out->lean, err);
        if (status != PAPPUS_OK) rare_law_clear(out);
    }
    pappus_path_free(path);
    free(seconds);
    return status;
}

void rare_law_clear(rare_law *law)
{
    pappus_wind_lean_clear(&law->lean);
    rare_low_clear(&law->low);
    free(law->numbers);
    *law = (rare_law){0};
}

/* ----------------------------------------------------------------- density */

static double distance_m(const rare_law *law, size_t k, const double x_m[2])
{
    return hypot(x_m[0] - law->origin_m[k][0], x_m[1] - law->origin_m[k][1]);
}

static double log_density_of(const rare_law *law, size_t k, const double x_m[2])
{
    double at = knot_of(distance_m(law, k, x_m), law->middle_m[k]);
    size_t i = at < LAW_KNOTS - 2 ? (size_t)at : LAW_KNOTS - 2;
    const double *table = law->log_density + k * LAW_KNOTS + i;
    return table[0] + (at - (double)i) * (table[1] - table[0]);
}

double rare_law_log_density(const rare_law *law, const double x_m[2])
{
    double most = -INFINITY, sum = 0.0;
    if (law->profile_count == 1) return log_density_of(law, 0, x_m);
    for (size_t k = 0; k < law->profile_count; k++) {
        if (!(law->weight[k] > 0.0)) continue;
        double at = log(law->weight[k]) + log_density_of(law, k, x_m);
        if (at > most) {
            sum = sum * exp(most - at) + 1.0;
            most = at;
        } else {
            sum += exp(at - most);
        }
    }
    return most + log(sum);
}

/* Each profile's density falls with the distance from its origin. */
double rare_law_most_per_m2(const rare_law *law, const double box_m[2][2])
{
    double sum = 0.0;
    for (size_t k = 0; k < law->profile_count; k++) {
        double near_m[2];
        for (int a = 0; a < 2; a++)
            near_m[a] = fmin(fmax(law->origin_m[k][a], box_m[a][0]), box_m[a][1]);
        if (!(distance_m(law, k, near_m) <= law->reach_m[k])) continue;
        sum += law->weight[k] * exp(log_density_of(law, k, near_m));
    }
    return sum;
}

double rare_law_wide_per_m2(const rare_law *law, const double x_m[2])
{
    double sum = 0.0;
    for (size_t k = 0; k < law->profile_count; k++) {
        double v = square(WIDE * law->middle_m[k]), r = distance_m(law, k, x_m);
        if (r > law->reach_m[k]) continue;
        double kept = 1.0 - 1.0 / (1.0 + 0.5 * square(law->reach_m[k]) / v);
        sum += law->weight[k] / (kept * 2.0 * M_PI * v * square(1.0 + 0.5 * r * r / v));
    }
    return sum;
}

/* ------------------------------------------------------------------- draws */

static size_t pick_profile(const rare_law *law, double uniform)
{
    size_t k = 0;
    while (k + 1 < law->profile_count && uniform >= law->weight[k])
        uniform -= law->weight[k++];
    return k;
}

void rare_law_draw_wide(double x_m[2], const rare_law *law, const double uniform[3])
{
    size_t k = pick_profile(law, uniform[0]);
    double v = square(WIDE * law->middle_m[k]);
    double outside = 1.0 / (1.0 + 0.5 * square(law->reach_m[k]) / v);
    double u = outside + uniform[1] * (1.0 - outside);
    double r = sqrt(2.0 * v * (1.0 / u - 1.0)), turn = 2.0 * M_PI * uniform[2];
    x_m[0] = law->origin_m[k][0] + r * cos(turn);
    x_m[1] = law->origin_m[k][1] + r * sin(turn);
}

void rare_law_draw(rare_point *out, const rare_law *law, const double uniform[2])
{
    size_t k = pick_profile(law, uniform[0]);
    out->profile = (int)k;
    out->normal = gsl_cdf_ugaussian_Pinv(uniform[1]);
    out->scale = pappus_wind_scale_of(law->lean.air, k, out->normal);
}

/* Chances of the bins given the distance, into chance[bin_count]; their sum. */
static double bin_chances(double *chance, const rare_law *law, size_t k, double r)
{
    double most = -INFINITY, sum = 0.0;
    const double *front = law->log_front + k * law->bin_count;
    const double *variance = law->variance_m2 + k * law->bin_count;
    for (size_t b = 0; b < law->bin_count; b++) {
        chance[b] = front[b] - 0.5 * r * r / variance[b];
        most = chance[b] > most ? chance[b] : most;
    }
    for (size_t b = 0; b < law->bin_count; b++)
        sum += chance[b] = exp(chance[b] - most);
    return sum;
}

static size_t pick(const double *chance, size_t count, double left)
{
    size_t i = 0;
    while (i + 1 < count && left >= chance[i])
        left -= chance[i++];
    return i;
}

/* Chances of the profiles given x: of their tabled densities. */
static double profile_chance(const rare_law *law, size_t k, const double x_m[2], double log_all)
{
    if (law->profile_count == 1) return 1.0;
    if (!(law->weight[k] > 0.0)) return 0.0;
    return exp(log(law->weight[k]) + log_density_of(law, k, x_m) - log_all);
}

/* kappa over f of a point in a bin; chance: of the bins, sum: of them. */
static void weigh(rare_point *point, const rare_law *law, double log_all, double chance, double sum)
{
    size_t k = (size_t)point->profile;
    double r = distance_m(law, k, point->x_m);
    double v = rare_law_variance_m2(law, point->profile, point->scale);
    double log_f = log(law->weight[k] / (2.0 * M_PI * v)) - 0.5 * r * r / v;
    double log_kappa = log(profile_chance(law, k, point->x_m, log_all));
    if (law->bin_count > 1) {
        log_kappa += log(chance / sum / law->bin_width);
        log_f -= 0.5 * square(point->normal) + 0.5 * log(2.0 * M_PI);
    }
    point->led = exp(log_kappa - log_f);
}

void rare_law_draw_led(rare_point *out, const rare_law *law, const double uniform[3])
{
    double chance[PAPPUS_SCALE_PARTS], left = uniform[0];
    double log_all = rare_law_log_density(law, out->x_m);
    size_t k = 0;
    for (; k + 1 < law->profile_count; k++) {
        double one = profile_chance(law, k, out->x_m, log_all);
        if (left < one) break;
        left -= one;
    }
    double sum = bin_chances(chance, law, k, distance_m(law, k, out->x_m));
    size_t b = pick(chance, law->bin_count, uniform[1] * sum);
    out->profile = (int)k;
    out->normal = bin_middle(law, b) + law->bin_width * (uniform[2] - 0.5);
    out->scale = pappus_wind_scale_of(law->lean.air, k, out->normal);
    weigh(out, law, log_all, chance[b], sum);
}

void rare_law_weigh(rare_point *point, const rare_law *law)
{
    double chance[PAPPUS_SCALE_PARTS];
    size_t k = (size_t)point->profile, b = 0;
    double sum = bin_chances(chance, law, k, distance_m(law, k, point->x_m));
    if (law->bin_count > 1) {
        double at = (point->normal + PAPPUS_SCALE_WIDTH) / law->bin_width;
        b = (size_t)fmin(fmax(at, 0.0), (double)(law->bin_count - 1));
    }
    weigh(point, law, rare_law_log_density(law, point->x_m), chance[b], sum);
}
