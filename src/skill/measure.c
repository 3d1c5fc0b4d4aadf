/* SPDX-License-Identifier: GPL-3.0-or-later
 * The fit beside what it was fitted to: mean squares by age and height, correlation
 * lengths of each age by itself, correlation against distance, the factor of height, and
 * how much of the pairs the Student and the normal law hold. Model values are of a change
 * between two soundings, in which the error of both is. */
#include "fit.h"

#include "error.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>

/* Bands of the table, as heights of the grid from and up to. */
static const int bands[] = {0, 4, 7, 11, PAPPUS_GRID_HEIGHTS};
static const double band_m[] = {0, 400, 1250, 3250, 6000};
#define BANDS 4
#define DISTANCES 8
static const double distances_m[DISTANCES] = {150, 300, 500, 750, 1000, 1500, 2000, 3000};
#define NEAR_DISTANCE 0.15
#define FIRST_CORRELATED 1 /* heights between which correlations are taken */
#define LAST_CORRELATED 12
/* What lies in it is the middle that the factor of height is over. */
#define MIDDLE_FIRST 4
#define MIDDLE_LAST 8
#define TAIL_LAYER 1
#define TAIL_OLDEST_H 25.0

static double square_at(const pappus_pairs *pairs, const pappus_pair *pair, int j)
{
    const pappus_grid_wind *a = &pairs->winds[pair->earlier], *b = &pairs->winds[pair->later];
    return gsl_pow_2((double)b->u_mps[j] - (double)a->u_mps[j]) +
           gsl_pow_2((double)b->v_mps[j] - (double)a->v_mps[j]);
}

/* ----------------------------------------------------------- by age and height */

static pappus_skill_row row_of(const pappus_pairs *pairs, const pappus_wind_error *law, int age,
                               int band)
{
    pappus_skill_row row = {
        .age_h = pappus_ages_h[age], .from_m = band_m[band], .to_m = band_m[band + 1]};
    pappus_age_terms terms = {.age_h = NAN};
    double measured = 0.0, model = 0.0, values = 0.0, aloft;
    for (size_t i = 0; i < pairs->count; i++) {
        const pappus_pair *pair = &pairs->pairs[i];
        bool any = false;
        if (pair->age != age) continue;
        if (terms.age_h != pair->age_h)
            pappus_age_terms_fill(&terms, law, pairs->forecasts, pair->age_h);
        for (int j = bands[band]; j < bands[band + 1]; j++) {
            double square = square_at(pairs, pair, j);
            if (isnan(square)) continue;
            measured += square;
            model += 2.0 * pappus_pair_variance(&aloft, pair, &terms) * gsl_pow_2(terms.factor[j]);
            values += 2.0;
            any = true;
        }
        row.pairs += any;
    }
    row.rms_mps = sqrt(measured / values);
    row.model_mps = sqrt(model / values);
    return row;
}

static void fill_rows(pappus_skill *out, const pappus_pairs *pairs, const pappus_wind_error *law)
{
    for (int age = 0; age < PAPPUS_AGES; age++)
        for (int band = 0; band < BANDS; band++) {
            pappus_skill_row row = row_of(pairs, law, age, band);
            if (row.pairs > 0) out->rows[out->row_count++] = row;
        }
}

/* Mean square at a height over what the law has with a factor of 1, by all fitted ages. */
static void fill_heights(pappus_skill *out, const pappus_pairs *pairs, const pappus_wind_error *law)
{
    double middle = 0.0, middle_n = 0.0;
    for (int j = 0; j < PAPPUS_GRID_HEIGHTS; j++) {
        pappus_skill_height *h = &out->heights[out->height_count];
        pappus_age_terms terms = {.age_h = NAN};
        double sum = 0.0, aloft;
        *h = (pappus_skill_height){.height_m = pappus_grid_heights_m[j]};
        for (size_t i = 0; i < pairs->count && pairs->pairs[i].age_h <= TAIL_OLDEST_H; i++) {
            const pappus_pair *pair = &pairs->pairs[i];
            double square = square_at(pairs, pair, j);
            if (isnan(square)) continue;
            if (terms.age_h != pair->age_h)
                pappus_age_terms_fill(&terms, law, pairs->forecasts, pair->age_h);
            sum += square / (2.0 * pappus_pair_variance(&aloft, pair, &terms));
            h->pairs++;
        }
        if (h->pairs == 0) continue;
        h->measured = sqrt(sum / (double)h->pairs);
        h->model = pappus_wind_error_height_factor(law, h->height_m);
        out->height_count++;
        if (j < MIDDLE_FIRST || j > MIDDLE_LAST) continue;
        middle += sum;
        middle_n += (double)h->pairs;
    }
    for (size_t k = 0; k < out->height_count && middle > 0.0; k++)
        out->heights[k].measured /= sqrt(middle / middle_n);
}

/* ----------------------------------------------------------------- correlation */

/* Sums of the products of the changes at two heights. */
static bool correlate(double *r, size_t *count, const pappus_pairs *pairs, int age, int i, int j)
{
    double xy = 0.0, xx = 0.0, yy = 0.0;
    *count = 0;
    for (size_t k = 0; k < pairs->count; k++) {
        const pappus_pair *pair = &pairs->pairs[k];
        const pappus_grid_wind *a = &pairs->winds[pair->earlier], *b = &pairs->winds[pair->later];
        if (pair->age != age) continue;
        double ui = (double)(b->wide_u_mps[i] - a->wide_u_mps[i]),
               uj = (double)(b->wide_u_mps[j] - a->wide_u_mps[j]);
        double vi = (double)(b->wide_v_mps[i] - a->wide_v_mps[i]),
               vj = (double)(b->wide_v_mps[j] - a->wide_v_mps[j]);
        if (isnan(ui) || isnan(uj)) continue;
        xy += ui * uj + vi * vj;
        xx += ui * ui + vi * vi;
        yy += uj * uj + vj * vj;
        (*count)++;
    }
    *r = xy / sqrt(xx * yy);
    return *count > 0 && isfinite(*r);
}

/* Mean over the pairs of heights that are so far apart. */
static pappus_skill_correlation
correlation_of(const pappus_pairs *pairs, const pappus_wind_error *law, int age, double distance_m)
{
    pappus_skill_correlation out = {.age_h = pappus_ages_h[age], .distance_m = distance_m};
    double measured = 0.0, model = 0.0, n = 0.0;
    for (int i = FIRST_CORRELATED; i <= LAST_CORRELATED; i++)
        for (int j = i + 1; j <= LAST_CORRELATED; j++) {
            double apart = pappus_grid_heights_m[j] - pappus_grid_heights_m[i], r;
            size_t count;
            if (fabs(apart - distance_m) > NEAR_DISTANCE * distance_m) continue;
            if (!correlate(&r, &count, pairs, age, i, j)) continue;
            measured += r * (double)count;
            model +=
                (double)count * pappus_wind_error_correlation(law, pappus_grid_heights_m[i],
                                                              pappus_grid_heights_m[j], out.age_h);
            n += (double)count;
            if (count > out.pairs) out.pairs = count;
        }
    out.measured = measured / n;
    out.model = model / n;
    return out;
}

/* ----------------------------------------------------------------------- tails */

/* Within what distance a law holds p of the pairs (u, v): d2/2 is F(2, nu) scaled to
 * unit variance, or exponential. */
static double student_bound(double p, double nu)
{
    return 2.0 * gsl_cdf_fdist_Pinv(p, 2.0, nu) * (nu - 2.0) / nu;
}

static int fill_tails(pappus_skill *out, const pappus_pairs *pairs, const pappus_wind_error *law,
                      pappus_error *err)
{
    size_t n = 0;
    double *d2 = malloc((pairs->count + 1) * sizeof *d2), scale = 0.0;
    pappus_age_terms terms = {.age_h = NAN};
    if (!d2) return pappus_fail_memory(err);
    for (size_t i = 0; i < pairs->count && pairs->pairs[i].age_h <= TAIL_OLDEST_H; i++) {
        double layer[PAPPUS_LAYERS];
        if (terms.age_h != pairs->pairs[i].age_h)
            pappus_age_terms_fill(&terms, law, pairs->forecasts, pairs->pairs[i].age_h);
        pappus_pair_layers(layer, pairs, &pairs->pairs[i], &terms);
        if (isnan(layer[TAIL_LAYER])) continue;
        scale += 0.5 * layer[TAIL_LAYER];
        d2[n++] = layer[TAIL_LAYER];
    }
    for (int l = 0; l < PAPPUS_LEVELS && n > 0; l++) {
        pappus_skill_tail *tail = &out->tails[out->tail_count++];
        double p = pappus_levels[l], student = 0.0, normal = 0.0, mean = scale / (double)n;
        for (size_t i = 0; i < n; i++) {
            student += d2[i] / mean <= student_bound(p, law->dof);
            normal += d2[i] / mean <= -2.0 * log1p(-p);
        }
        *tail = (pappus_skill_tail){p, student / (double)n, normal / (double)n};
    }
    free(d2);
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------------- all */

static int fill_ages(pappus_skill *out, const pappus_pairs *pairs, const pappus_wind_error *law,
                     pappus_error *err)
{
    int status = PAPPUS_OK;
    for (int age = 0; age < PAPPUS_AGES && status == PAPPUS_OK; age++) {
        pappus_skill_length length;
        status = pappus_fit_length(&length, pairs, &out->fit, age, err);
        if (status != PAPPUS_OK || length.pairs == 0) continue;
        out->lengths[out->length_count++] = length;
        for (int d = 0; d < DISTANCES; d++) {
            pappus_skill_correlation one = correlation_of(pairs, law, age, distances_m[d]);
            if (one.pairs > 0) out->correlations[out->correlation_count++] = one;
        }
    }
    return status;
}

static int room(pappus_skill *out, pappus_error *err)
{
    out->rows = calloc(PAPPUS_AGES * BANDS, sizeof *out->rows);
    out->lengths = calloc(PAPPUS_AGES, sizeof *out->lengths);
    out->correlations = calloc(PAPPUS_AGES * DISTANCES, sizeof *out->correlations);
    out->tails = calloc(PAPPUS_LEVELS, sizeof *out->tails);
    out->heights = calloc(PAPPUS_GRID_HEIGHTS + 1, sizeof *out->heights);
    return out->rows && out->lengths && out->correlations && out->tails && out->heights
               ? PAPPUS_OK
               : pappus_fail_memory(err);
}

static int measure(pappus_skill *out, const pappus_pairs *pairs, double age_h, pappus_error *err)
{
    int age = isnan(age_h) ? -1 : pappus_age_of(age_h);
    int status = room(out, err);
    if (status == PAPPUS_OK) status = pappus_fit_model(&out->fit, pairs, age, err);
    if (status != PAPPUS_OK) return status;
    pappus_wind_error law = pappus_fit_law(&out->fit);
    out->forecasts = pairs->forecasts;
    out->first_utc_s = pairs->first_utc_s;
    out->last_utc_s = pairs->last_utc_s;
    out->pair_count = pairs->count;
    out->sounding_count = pairs->sounding_count;
    out->sparse_count = pairs->sparse_count;
    fill_rows(out, pairs, &law);
    fill_heights(out, pairs, &law);
    status = fill_ages(out, pairs, &law, err);
    return status == PAPPUS_OK ? fill_tails(out, pairs, &law, err) : status;
}

int pappus_skill_measure(pappus_skill **out, const pappus_archive *archive,
                         const pappus_skill_options *options, pappus_error *err)
{
    pappus_pairs pairs;
    *out = NULL;
    int status = pappus_pairs_form(&pairs, archive, options, err);
    if (status != PAPPUS_OK) return status;
    pappus_skill *skill = calloc(1, sizeof *skill);
    status = skill ? measure(skill, &pairs, options->age_h, err) : pappus_fail_memory(err);
    pappus_pairs_clear(&pairs);
    if (status == PAPPUS_OK)
        *out = skill;
    else
        pappus_skill_free(skill);
    return status;
}

void pappus_skill_free(pappus_skill *skill)
{
    if (!skill) return;
    free(skill->rows);
    free(skill->lengths);
    free(skill->correlations);
    free(skill->tails);
    free(skill->heights);
    free(skill);
}
