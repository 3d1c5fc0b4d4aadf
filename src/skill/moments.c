/* SPDX-License-Identifier: GPL-3.0-or-later
 * Estimating functions of one pair; method in moments.h. */
#include "moments.h"

#include <gsl/gsl_math.h>
#include <math.h>

/* Heights of the grid whose scale is fitted. */
static const int fitted[] = {0, 1, 2, 4, 6, 7, 8, 10, 12, 13};
#define FITTED (sizeof fitted / sizeof *fitted)

/* Layers, as heights of the grid from and to (every one between them counts, by the
 * rule of trapezia): what a rocket falls through from its apogee, and its lowest part,
 * where it hangs under the main. */
static const struct {
    int from, to;
} layers[PAPPUS_LAYERS] = {{0, 4}, {0, 6}, {1, 7}, {3, 8}, {4, 10}};

pappus_wind_error pappus_law_default(bool forecasts)
{
    return (pappus_wind_error){.error_mps = PAPPUS_WIND_ERROR_MPS,
                               .growth_mps = forecasts ? PAPPUS_FORECAST_GROWTH_MPS
                                                       : PAPPUS_SOUNDING_GROWTH_MPS,
                               .ground_factor = PAPPUS_GROUND_FACTOR,
                               .top_factor = PAPPUS_TOP_FACTOR,
                               .correlation_growth_m = PAPPUS_CORRELATION_GROWTH_M,
                               .correlation_height_m = NAN,
                               .decoupling = PAPPUS_DECOUPLING,
                               .speed_share = PAPPUS_SPEED_SHARE,
                               .dof = PAPPUS_WIND_ERROR_DOF};
}

void pappus_parameters_of(double out[PARAMETERS], const pappus_wind_error *law)
{
    out[AT_ERROR] = log(law->error_mps);
    out[AT_GROWTH] = log(law->growth_mps);
    out[AT_GROUND] = log(law->ground_factor);
    out[AT_TOP] = log(law->top_factor);
    out[AT_LENGTH] = log(law->correlation_growth_m);
    out[AT_DECOUPLING] = law->decoupling;
    out[AT_SHARE] = law->speed_share;
    out[AT_TAIL] = 1.0 / law->dof;
}

pappus_wind_error pappus_law_of(const double at[PARAMETERS])
{
    pappus_wind_error law = pappus_law_default(false);
    law.error_mps = exp(at[AT_ERROR]);
    law.growth_mps = exp(at[AT_GROWTH]);
    law.ground_factor = exp(at[AT_GROUND]);
    law.top_factor = exp(at[AT_TOP]);
    law.correlation_growth_m = exp(at[AT_LENGTH]);
    law.decoupling = at[AT_DECOUPLING];
    law.speed_share = at[AT_SHARE];
    law.dof = 1.0 / at[AT_TAIL];
    return law;
}

/* 200, 500, 1000, 1500 and 2000 m. */
static const int coupled[PAPPUS_COUPLED] = {2, 4, 6, 7, 8};

/* Heights whose products tell the correlation. */
static const int linked[] = {0, 2, 4, 6, 7, 8, 10};
#define LINKED ((int)(sizeof linked / sizeof *linked))
/* Makes the function's spread as large as its curvature, as a likelihood's slope has it,
 * so that the prior of the length weighs what it says. Found on invented pairs. */
#define LINK_SCALE 12.0

/* Part of height j in the mean over a layer. */
static double weight(int layer, int j)
{
    const double *z = pappus_grid_heights_m;
    int from = layers[layer].from, to = layers[layer].to;
    double above = j < to ? z[j + 1] - z[j] : 0.0, below = j > from ? z[j] - z[j - 1] : 0.0;
    return 0.5 * (above + below) / (z[to] - z[from]);
}

static void fill_layer(pappus_age_terms *out, int layer)
{
    out->layer[layer] = 0.0;
    for (int i = layers[layer].from; i <= layers[layer].to; i++)
        for (int j = layers[layer].from; j <= layers[layer].to; j++)
            out->layer[layer] += weight(layer, i) * weight(layer, j) * out->factor[i] *
                                 out->factor[j] * out->correlation[i][j];
}

/* Height that linked height i stands for, over that of the layer. */
static double width(int i)
{
    double z = pappus_grid_heights_m[linked[i]];
    double above = i + 1 < LINKED ? pappus_grid_heights_m[linked[i + 1]] : z;
    double below = i > 0 ? pappus_grid_heights_m[linked[i - 1]] : z;
    return 0.5 * (above - below) / pappus_grid_heights_m[linked[LINKED - 1]];
}

/* Slope of a correlation in ln L: -ln r, but for the part of the surface layer. */
static double correlation_slope(const pappus_wind_error *law, double age_h, double z1, double z2)
{
    double apart = fabs(z1 - z2) / pappus_wind_error_length_m(law, age_h);
    return apart * pappus_wind_error_correlation(law, z1, z2, age_h);
}

static void fill_correlation(pappus_age_terms *out, const pappus_wind_error *law)
{
    const double *z = pappus_grid_heights_m;
    for (int i = 0; i < PAPPUS_GRID_HEIGHTS; i++)
        for (int j = 0; j < PAPPUS_GRID_HEIGHTS; j++)
            out->correlation[i][j] = pappus_wind_error_correlation(law, z[i], z[j], out->age_h);
    for (int i = 0; i < LINKED; i++)
        for (int j = 0; j < LINKED; j++)
            out->link[i][j] = LINK_SCALE * width(i) * width(j) *
                              correlation_slope(law, out->age_h, z[linked[i]], z[linked[j]]);
}

/* Weights by the rule of trapezia, 0 at the ground itself. */
static void fill_coupled(pappus_age_terms *out, const pappus_wind_error *law)
{
    const double *z = pappus_grid_heights_m;
    double below = PAPPUS_GROUND_M, top = z[coupled[PAPPUS_COUPLED - 1]];
    out->ground_factor = pappus_wind_error_height_factor(law, PAPPUS_GROUND_M);
    for (int i = 0; i < PAPPUS_COUPLED; i++) {
        double here = z[coupled[i]], above = i + 1 < PAPPUS_COUPLED ? z[coupled[i + 1]] : here;
        out->coupled[i] = pappus_wind_error_correlation(law, PAPPUS_GROUND_M, here, out->age_h);
        out->coupled_weight[i] = 0.5 * (above - below) / top * out->factor[coupled[i]];
        below = here;
    }
}

/* The factor is linear in the two that are fitted: how much of it is each. */
static void fill_factors(pappus_age_terms *out, const pappus_wind_error *law)
{
    pappus_wind_error none = *law;
    none.ground_factor = none.top_factor = 1.0;
    for (int j = 0; j < PAPPUS_GRID_HEIGHTS; j++) {
        double z = pappus_grid_heights_m[j], factor = pappus_wind_error_height_factor(law, z);
        pappus_wind_error ground = none, top = none;
        ground.ground_factor = top.top_factor = 2.0;
        out->factor[j] = factor;
        out->ground[j] =
            (pappus_wind_error_height_factor(&ground, z) - 1.0) * law->ground_factor / factor;
        out->top[j] = (pappus_wind_error_height_factor(&top, z) - 1.0) * law->top_factor / factor;
    }
}

void pappus_age_terms_fill(pappus_age_terms *out, const pappus_wind_error *law, bool forecasts,
                           double age_h)
{
    out->age_h = age_h;
    out->error_part = (forecasts ? 1.0 : 2.0) * gsl_pow_2(law->error_mps);
    out->growth_part = gsl_pow_2(law->growth_mps * cbrt(age_h));
    out->known_part = forecasts ? gsl_pow_2(PAPPUS_SOUNDING_ERROR_MPS) : 0.0;
    out->speed_share = law->speed_share;
    fill_factors(out, law);
    fill_correlation(out, law);
    fill_coupled(out, law);
    for (int l = 0; l < PAPPUS_LAYERS; l++)
        fill_layer(out, l);
}

double pappus_pair_variance(double *aloft, const pappus_pair *pair, const pappus_age_terms *terms)
{
    const pappus_wind_error all = {.speed_share = 1.0};
    *aloft =
        isnan(pair->aloft_mps) ? 0.0 : pappus_wind_error_speed_factor(&all, pair->aloft_mps) - 1.0;
    return terms->known_part + terms->error_part +
           terms->growth_part * (1.0 + terms->speed_share * *aloft);
}

/* The change of a component at a height by itself; NaN where one of the winds is not known. */
static double change_u(const pappus_pairs *pairs, const pappus_pair *pair, int j)
{
    return (double)pairs->winds[pair->later].u_mps[j] -
           (double)pairs->winds[pair->earlier].u_mps[j];
}

static double change_v(const pappus_pairs *pairs, const pappus_pair *pair, int j)
{
    return (double)pairs->winds[pair->later].v_mps[j] -
           (double)pairs->winds[pair->earlier].v_mps[j];
}

/* The same for a mean over heights. */
static double wide_change_u(const pappus_pairs *pairs, const pappus_pair *pair, int j)
{
    return (double)pairs->winds[pair->later].wide_u_mps[j] -
           (double)pairs->winds[pair->earlier].wide_u_mps[j];
}

static double wide_change_v(const pappus_pairs *pairs, const pappus_pair *pair, int j)
{
    return (double)pairs->winds[pair->later].wide_v_mps[j] -
           (double)pairs->winds[pair->earlier].wide_v_mps[j];
}

void pappus_pair_layers(double d2[PAPPUS_LAYERS], const pappus_pairs *pairs,
                        const pappus_pair *pair, const pappus_age_terms *terms)
{
    double aloft, variance = pappus_pair_variance(&aloft, pair, terms);
    for (int l = 0; l < PAPPUS_LAYERS; l++) {
        double u = 0.0, v = 0.0;
        for (int j = layers[l].from; j <= layers[l].to; j++) {
            u += weight(l, j) * wide_change_u(pairs, pair, j);
            v += weight(l, j) * wide_change_v(pairs, pair, j);
        }
        d2[l] = (u * u + v * v) / (variance * terms->layer[l]);
    }
}

/* Slope of the Student pair's likelihood in 1/nu. */
static double tail_slope(double nu, double d2)
{
    double rest = nu - 2.0;
    double by_nu = 1.0 / nu - 1.0 / rest - 0.5 * log1p(d2 / rest) +
                   0.5 * (nu + 2.0) * d2 / (rest * (rest + d2));
    return -nu * nu * by_nu;
}

static double length_slope(const pappus_pairs *pairs, const pappus_pair *pair,
                           const pappus_age_terms *terms, double sd)
{
    double u[LINKED], v[LINKED], sum = 0.0;
    for (int i = 0; i < LINKED; i++) {
        u[i] = wide_change_u(pairs, pair, linked[i]) / (sd * terms->factor[linked[i]]);
        v[i] = wide_change_v(pairs, pair, linked[i]) / (sd * terms->factor[linked[i]]);
    }
    for (int i = 0; i < LINKED; i++)
        for (int j = 0; j < i; j++) {
            double squares = u[i] * u[i] + u[j] * u[j] + v[i] * v[i] + v[j] * v[j];
            double r = terms->correlation[linked[i]][linked[j]];
            double off = u[i] * u[j] + v[i] * v[j] - 0.5 * r * squares;
            if (!isnan(off)) sum += terms->link[i][j] * off;
        }
    return sum;
}

static double decoupling_slope(const pappus_pairs *pairs, const pappus_pair *pair,
                               const pappus_age_terms *terms, double sd)
{
    const pappus_grid_wind *a = &pairs->winds[pair->earlier], *b = &pairs->winds[pair->later];
    double sum = 0.0;
    double u0 = (double)(b->ground_u_mps - a->ground_u_mps) / (sd * terms->ground_factor);
    double v0 = (double)(b->ground_v_mps - a->ground_v_mps) / (sd * terms->ground_factor);
    for (int i = 0; i < PAPPUS_COUPLED; i++) {
        double u = wide_change_u(pairs, pair, coupled[i]) / (sd * terms->factor[coupled[i]]);
        double v = wide_change_v(pairs, pair, coupled[i]) / (sd * terms->factor[coupled[i]]);
        double squares = u * u + u0 * u0 + v * v + v0 * v0;
        double off = u * u0 + v * v0 - 0.5 * terms->coupled[i] * squares;
        if (!isnan(off)) sum -= terms->coupled_weight[i] * off;
    }
    return sum;
}

double pappus_pair_slopes(double slope[PARAMETERS], const pappus_pairs *pairs,
                          const pappus_pair *pair, const pappus_age_terms *terms, double dof)
{
    double value = 0.0, scale = 0.0, d2[PAPPUS_LAYERS], aloft;
    double variance = pappus_pair_variance(&aloft, pair, terms), log_variance = log(variance);
    for (int p = 0; p < PARAMETERS; p++)
        slope[p] = 0.0;
    for (size_t i = 0; i < FITTED; i++) {
        int j = fitted[i];
        double square = gsl_pow_2(change_u(pairs, pair, j)) + gsl_pow_2(change_v(pairs, pair, j));
        if (isnan(square)) continue;
        double x2 = square / (variance * gsl_pow_2(terms->factor[j]));
        value -= log_variance + 2.0 * log(terms->factor[j]) + 0.5 * x2;
        scale += x2 - 2.0;
        slope[AT_GROUND] += (x2 - 2.0) * terms->ground[j];
        slope[AT_TOP] += (x2 - 2.0) * terms->top[j];
    }
    slope[AT_ERROR] = scale * terms->error_part / variance;
    slope[AT_GROWTH] = scale * terms->growth_part * (1.0 + terms->speed_share * aloft) / variance;
    slope[AT_SHARE] = 0.5 * scale * terms->growth_part * aloft / variance;
    slope[AT_LENGTH] = length_slope(pairs, pair, terms, sqrt(variance));
    slope[AT_DECOUPLING] = decoupling_slope(pairs, pair, terms, sqrt(variance));
    pappus_pair_layers(d2, pairs, pair, terms);
    for (int l = 0; l < PAPPUS_LAYERS; l++) {
        if (isnan(d2[l])) continue;
        slope[AT_TAIL] += tail_slope(dof, d2[l]);
    }
    return value;
}
