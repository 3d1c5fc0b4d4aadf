/* SPDX-License-Identifier: GPL-3.0-or-later
 * The error model fitted to pairs; method in fit.h. */
#include "fit.h"

#include "blocks.h"
#include "error.h"

#include <gsl/gsl_linalg.h>
#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CHUNK 512 /* pairs summed by one thread at a time, in order */
#define STEP 1e-4 /* of the differences */
#define ITERATIONS 60
#define SETTLED 1e-7 /* of the likelihood to be gained */
#define HALVINGS 30
#define BISECTIONS 36
/* The length needs the decoupling and the other way round, both but a little. */
#define ROUNDS 3
#define MOST_DECOUPLING 3.0
#define MOST_SHARE 0.95
#define LONGEST_STEP 1.0
/* Degrees of freedom: under the least the covariance has no meaning to speak of, over
 * the most the law is normal to the eye. */
#define LEAST_DOF 2.2
#define MOST_DOF 500.0
#define LEAST_LENGTH_M 50.0
#define MOST_LENGTH_M 20000.0 /* as the plan has it */

/* A flight is planned on a wind of the same day. Older pairs are shown and not fitted: they
 * are nearer to the normal law (at Perth and Vienna 2014-15 the means over layers have 7 to
 * 17 degrees of freedom at 12 and 24 h, over 50 at 36 and 48 h). */
#define OLDEST_H 25.0
/* Pairs older than this tell how the wind changes, by the weather and by the time of day,
 * and nothing of the error at age 0. */
#define YOUNG_H 3.5

/* Standard deviations of the priors in the transformed scale. Error: 0.5 to 2 m/s holds
 * 95 %. Degrees of freedom: 5.4 to 15 (SOURCES 11: a kurtosis of 3.9 to 4.7 at five sites
 * is 7.5 to 10.7). The rest (A): a factor of 2.7, of 1.6 for the factors of height, and 0.5
 * for the decoupling. */
static const double prior_sd[PARAMETERS] = {
    [AT_ERROR] = 0.354, [AT_GROWTH] = 1.0,     [AT_GROUND] = 0.5, [AT_TOP] = 0.5,
    [AT_LENGTH] = 1.0,  [AT_DECOUPLING] = 0.5, [AT_SHARE] = 0.2,  [AT_TAIL] = 0.06};
#define LENGTH_PRIOR_SD 1.0

typedef struct {
    const pappus_pairs *pairs;
    size_t first, count;       /* of them, that are fitted: they are in order of age */
    double centre[PARAMETERS]; /* of the priors */
    bool tells_error;          /* some pairs are young enough */
    size_t chunk_count;
    double *sums; /* [chunk][1 + PARAMETERS] */
} fit_work;

/* ----------------------------------------------------------- sums of slopes */

/* Slopes of one pair; *terms are kept while the age is the same. */
static double pair_slopes(double slope[PARAMETERS], pappus_age_terms *terms, const fit_work *work,
                          const pappus_pair *pair, const pappus_wind_error *law)
{
    if (terms->age_h != pair->age_h)
        pappus_age_terms_fill(terms, law, work->pairs->forecasts, pair->age_h);
    double value = pappus_pair_slopes(slope, work->pairs, pair, terms, law->dof);
    if (!work->tells_error) slope[AT_ERROR] = 0.0;
    return value;
}

static void sum_chunk(double *out, const fit_work *work, size_t chunk, const pappus_wind_error *law)
{
    size_t first = work->first, end = first + (chunk + 1) * CHUNK;
    pappus_age_terms terms = {.age_h = NAN};
    memset(out, 0, (1 + PARAMETERS) * sizeof *out);
    if (end > first + work->count) end = first + work->count;
    for (size_t i = first + chunk * CHUNK; i < end; i++) {
        double slope[PARAMETERS];
        out[0] += pair_slopes(slope, &terms, work, &work->pairs->pairs[i], law);
        for (int p = 0; p < PARAMETERS; p++)
            out[1 + p] += slope[p];
    }
}

/* The summed slopes with those of the priors; returns what those of the scales are of. */
static double total(double slope[PARAMETERS], fit_work *work, const double at[PARAMETERS])
{
    pappus_wind_error law = pappus_law_of(at);
    double value = 0.0;
#pragma omp parallel for schedule(dynamic) if (work->chunk_count > 8)
    for (size_t c = 0; c < work->chunk_count; c++)
        sum_chunk(work->sums + c * (1 + PARAMETERS), work, c, &law);
    for (int p = 0; p < PARAMETERS; p++) {
        double off = (at[p] - work->centre[p]) / prior_sd[p];
        if (p < SCALES) value -= 0.5 * off * off;
        slope[p] = -off / prior_sd[p];
    }
    for (size_t c = 0; c < work->chunk_count; c++) {
        const double *sum = work->sums + c * (1 + PARAMETERS);
        value += sum[0];
        for (int p = 0; p < PARAMETERS; p++)
            slope[p] += sum[1 + p];
    }
    return value;
}

/* out[q][p]: minus the change of slope q with parameter p, by central differences; the
 * first `count` of them. */
static void curvature(double *out, fit_work *work, const double at[PARAMETERS], size_t count)
{
    double up[PARAMETERS], down[PARAMETERS], moved[PARAMETERS];
    for (size_t p = 0; p < count; p++) {
        double step = p == AT_TAIL ? fmin(STEP, 0.5 * at[p]) : STEP;
        memcpy(moved, at, sizeof moved);
        moved[p] = at[p] + step;
        total(up, work, moved);
        moved[p] = at[p] - step;
        total(down, work, moved);
        for (size_t q = 0; q < count; q++)
            out[q * count + p] = (down[q] - up[q]) / (2.0 * step);
    }
}

/* -------------------------------------------------------------------- roots */

/* Newton's step of the scales, made uphill by a growing ridge where the curvature is not
 * positive, and not longer than LONGEST_STEP in any of them. */
static bool newton_step(double step[SCALES], const fit_work *work, double a[SCALES * SCALES],
                        const double slope[PARAMETERS])
{
    double ridge = 0.0, copy[SCALES * SCALES], longest = 0.0;
    gsl_matrix_view matrix = gsl_matrix_view_array(copy, SCALES, SCALES);
    gsl_vector_const_view right = gsl_vector_const_view_array(slope, SCALES);
    gsl_vector_view out = gsl_vector_view_array(step, SCALES);
    for (int p = 0; p < SCALES && !work->tells_error; p++) /* held: slope and links are 0 */
        a[p * SCALES + AT_ERROR] = a[AT_ERROR * SCALES + p] = p == AT_ERROR;
    for (int round = 0;; round++) {
        memcpy(copy, a, sizeof copy);
        for (int p = 0; p < SCALES; p++)
            copy[p * SCALES + p] += ridge;
        if (gsl_linalg_cholesky_decomp1(&matrix.matrix) == 0) break;
        if (round == HALVINGS) return false;
        ridge = ridge > 0.0 ? 4.0 * ridge : 1.0;
    }
    if (gsl_linalg_cholesky_solve(&matrix.matrix, &right.vector, &out.vector)) return false;
    for (int p = 0; p < SCALES; p++)
        longest = fmax(longest, fabs(step[p]));
    for (int p = 0; p < SCALES && longest > LONGEST_STEP; p++)
        step[p] *= LONGEST_STEP / longest;
    return true;
}

/* Climbs in the scales to the maximum of what their slopes are of. */
static bool find_scales(double at[PARAMETERS], fit_work *work)
{
    double slope[PARAMETERS], value = total(slope, work, at);
    for (int i = 0; i < ITERATIONS; i++) {
        double a[SCALES * SCALES], step[SCALES], next[PARAMETERS], next_slope[PARAMETERS];
        double part = 1.0, reached = -INFINITY;
        curvature(a, work, at, SCALES);
        if (!newton_step(step, work, a, slope)) return false;
        memcpy(next, at, sizeof next);
        for (int h = 0; h < HALVINGS && !(reached >= value); h++, part *= 0.5) {
            for (int p = 0; p < SCALES; p++)
                next[p] = at[p] + part * step[p];
            reached = total(next_slope, work, next);
        }
        if (!(reached >= value)) return true; /* nothing to be gained but rounding */
        bool settled = reached - value < SETTLED;
        value = reached;
        memcpy(at, next, sizeof next);
        memcpy(slope, next_slope, sizeof next_slope);
        if (settled) return true;
    }
    return false;
}

/* A parameter whose slope falls through 0 between two bounds, by bisection. */
static void find_root(double at[PARAMETERS], fit_work *work, parameter p, double low, double high)
{
    double slope[PARAMETERS];
    for (int i = 0; i < BISECTIONS; i++) {
        at[p] = 0.5 * (low + high);
        total(slope, work, at);
        if (slope[p] > 0.0)
            low = at[p];
        else
            high = at[p];
    }
}

/* ---------------------------------------------------------------- intervals */

/* Slopes summed by day, in order of time; days without pairs have no row. */
typedef struct {
    size_t days;
    double *sums;
    size_t *row; /* of each pair */
} day_sums;

static int by_day(const void *a, const void *b)
{
    long p = *(const long *)a, q = *(const long *)b;
    return (p > q) - (p < q);
}

static size_t row_of(const long *days, size_t count, long day)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (days[middle] < day)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static void day_sums_clear(day_sums *d)
{
    free(d->sums);
    free(d->row);
}

/* The days of `count` pairs. */
static int day_sums_new(day_sums *out, const pappus_pairs *pairs, size_t first, size_t count,
                        size_t width)
{
    long *days = malloc((count + 1) * sizeof *days);
    *out = (day_sums){.row = malloc((pairs->count + 1) * sizeof *out->row)};
    for (size_t i = 0; days && i < count; i++)
        days[i] = pairs->pairs[first + i].day;
    if (days && count) qsort(days, count, sizeof *days, by_day);
    for (size_t i = 0; days && i < count; i++)
        if (out->days == 0 || days[out->days - 1] != days[i]) days[out->days++] = days[i];
    out->sums = calloc((out->days + 1) * width, sizeof *out->sums);
    bool good = days && out->row && out->sums;
    for (size_t i = first; good && i < first + count; i++)
        out->row[i] = row_of(days, out->days, pairs->pairs[i].day);
    free(days);
    if (good) return PAPPUS_OK;
    day_sums_clear(out);
    return PAPPUS_E_MEMORY;
}

static int summed_slopes(day_sums *out, const fit_work *work, const pappus_wind_error *law)
{
    const pappus_pairs *pairs = work->pairs;
    pappus_age_terms terms = {.age_h = NAN};
    if (day_sums_new(out, pairs, work->first, work->count, PARAMETERS) != PAPPUS_OK)
        return PAPPUS_E_MEMORY;
    for (size_t i = work->first; i < work->first + work->count; i++) {
        double slope[PARAMETERS];
        pair_slopes(slope, &terms, work, &pairs->pairs[i], law);
        for (int p = 0; p < PARAMETERS; p++)
            out->sums[out->row[i] * PARAMETERS + (size_t)p] += slope[p];
    }
    return PAPPUS_OK;
}

/* inverse = a^-1; a is changed. */
static bool invert(double inverse[PARAMETERS * PARAMETERS], double a[PARAMETERS * PARAMETERS])
{
    size_t order[PARAMETERS];
    int sign;
    gsl_permutation permutation = {PARAMETERS, order};
    gsl_matrix_view from = gsl_matrix_view_array(a, PARAMETERS, PARAMETERS);
    gsl_matrix_view to = gsl_matrix_view_array(inverse, PARAMETERS, PARAMETERS);
    gsl_permutation_init(&permutation);
    return gsl_linalg_LU_decomp(&from.matrix, &permutation, &sign) == 0 &&
           gsl_linalg_LU_invert(&from.matrix, &permutation, &to.matrix) == 0;
}

/* Standard deviations sqrt diag A^-1 (J + P) A^-T; a and the spread J are changed. */
static bool sandwich(double sd[PARAMETERS], double a[PARAMETERS * PARAMETERS],
                     double spread[PARAMETERS * PARAMETERS])
{
    double inverse[PARAMETERS * PARAMETERS];
    if (!invert(inverse, a)) return false;
    for (int p = 0; p < PARAMETERS; p++)
        spread[p * PARAMETERS + p] += 1.0 / gsl_pow_2(prior_sd[p]);
    for (int p = 0; p < PARAMETERS; p++) {
        const double *row = inverse + p * PARAMETERS;
        double variance = 0.0;
        for (int q = 0; q < PARAMETERS; q++)
            for (int r = 0; r < PARAMETERS; r++)
                variance += row[q] * spread[q * PARAMETERS + r] * row[r];
        sd[p] = sqrt(fmax(variance, 0.0));
    }
    return true;
}

static pappus_estimate of_log(double at, double reach)
{
    return (pappus_estimate){exp(at), exp(at - reach), exp(at + reach)};
}

/* 1/nu and its spread go together: symmetric in the square root. */
static pappus_estimate of_tail(double at, double reach)
{
    double root = sqrt(at), off = 0.5 * reach / root;
    double most = fmin(gsl_pow_2(root + off), 1.0 / LEAST_DOF);
    double least = fmax(gsl_pow_2(fmax(root - off, 0.0)), 1.0 / MOST_DOF);
    return (pappus_estimate){1.0 / at, 1.0 / fmax(most, at), 1.0 / fmin(least, at)};
}

static int fill_fit(pappus_skill_fit *out, fit_work *work, const double at[PARAMETERS],
                    pappus_error *err)
{
    double a[PARAMETERS * PARAMETERS], spread[PARAMETERS * PARAMETERS], sd[PARAMETERS];
    pappus_wind_error law = pappus_law_of(at);
    day_sums days;
    if (summed_slopes(&days, work, &law) != PAPPUS_OK) return pappus_fail_memory(err);
    curvature(a, work, at, PARAMETERS);
    pappus_block_covariance(spread, days.sums, days.days, PARAMETERS);
    double reach = pappus_block_quantile(days.days);
    *out = (pappus_skill_fit){.pairs = work->count, .days = days.days};
    day_sums_clear(&days);
    if (!sandwich(sd, a, spread))
        return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                           "the fit of the wind's error has no interval");
    out->error_mps = of_log(at[AT_ERROR], reach * sd[AT_ERROR]);
    out->growth_mps = of_log(at[AT_GROWTH], reach * sd[AT_GROWTH]);
    out->ground_factor = of_log(at[AT_GROUND], reach * sd[AT_GROUND]);
    out->top_factor = of_log(at[AT_TOP], reach * sd[AT_TOP]);
    out->correlation_growth_m = of_log(at[AT_LENGTH], reach * sd[AT_LENGTH]);
    double decoupling = at[AT_DECOUPLING], around = reach * sd[AT_DECOUPLING];
    out->decoupling =
        (pappus_estimate){decoupling, fmax(decoupling - around, 0.0), decoupling + around};
    double share = at[AT_SHARE], within = reach * sd[AT_SHARE];
    out->speed_share =
        (pappus_estimate){share, fmax(share - within, 0.0), fmin(share + within, 1.0)};
    out->error_dof = of_tail(at[AT_TAIL], reach * sd[AT_TAIL]);
    return PAPPUS_OK;
}

/* The pairs of one age, or of all that are young enough (-1). */
static void choose_pairs(fit_work *work, int age)
{
    const pappus_pairs *pairs = work->pairs;
    while (work->first < pairs->count && age >= 0 && pairs->pairs[work->first].age != age)
        work->first++;
    for (size_t i = work->first; i < pairs->count; i++) {
        const pappus_pair *pair = &pairs->pairs[i];
        if (age >= 0 ? pair->age != age : pair->age_h > OLDEST_H) break;
        work->count++;
        work->tells_error = work->tells_error || pair->age_h < YOUNG_H;
    }
    /* of one age alone error and growth cannot be told apart */
    if (age >= 0) work->tells_error = false;
    work->chunk_count = (work->count + CHUNK - 1) / CHUNK;
}

int pappus_fit_model(pappus_skill_fit *out, const pappus_pairs *pairs, int age, pappus_error *err)
{
    fit_work work = {.pairs = pairs};
    pappus_wind_error start = pappus_law_default(pairs->forecasts);
    double at[PARAMETERS];
    choose_pairs(&work, age);
    if (work.count < PAPPUS_FIT_LEAST_PAIRS)
        return pappus_fail(err, PAPPUS_E_WIND, NULL, NULL, NULL,
                           "%zu pairs of winds 1 to 24 h apart; %d are needed", work.count,
                           PAPPUS_FIT_LEAST_PAIRS);
    pappus_parameters_of(work.centre, &start);
    memcpy(at, work.centre, sizeof at);
    work.sums = malloc(work.chunk_count * (1 + PARAMETERS) * sizeof *work.sums);
    if (!work.sums) return pappus_fail_memory(err);
    bool found = true;
    for (int round = 0; found && round < ROUNDS; round++) {
        found = find_scales(at, &work);
        find_root(at, &work, AT_SHARE, 0.0, MOST_SHARE);
    }
    for (int round = 0; round < ROUNDS; round++) {
        find_root(at, &work, AT_LENGTH, log(LEAST_LENGTH_M), log(MOST_LENGTH_M));
        find_root(at, &work, AT_DECOUPLING, 0.0, MOST_DECOUPLING);
    }
    find_root(at, &work, AT_TAIL, 1.0 / MOST_DOF, 1.0 / LEAST_DOF);
    int status = found ? fill_fit(out, &work, at, err)
                       : pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                                     "the fit of the wind's error does not settle");
    free(work.sums);
    return status;
}

pappus_wind_error pappus_fit_law(const pappus_skill_fit *fit)
{
    pappus_wind_error law = pappus_law_default(false);
    law.error_mps = fit->error_mps.value;
    law.growth_mps = fit->growth_mps.value;
    law.ground_factor = fit->ground_factor.value;
    law.top_factor = fit->top_factor.value;
    law.correlation_growth_m = fit->correlation_growth_m.value;
    law.decoupling = fit->decoupling.value;
    law.speed_share = fit->speed_share.value;
    law.dof = fit->error_dof.value;
    return law;
}

/* --------------------------------------------------------- length of one age */

/* Slope of one age in ln L, with its prior; by day when asked. */
static double length_slope(const pappus_pairs *pairs, const pappus_wind_error *law, int age,
                           double log_length, double centre, day_sums *days)
{
    double sum = -(log_length - centre) / gsl_pow_2(LENGTH_PRIOR_SD);
    pappus_age_terms terms = {.age_h = NAN};
    pappus_wind_error one = *law;
    one.correlation_height_m = exp(log_length);
    for (size_t i = 0; i < pairs->count; i++) {
        const pappus_pair *pair = &pairs->pairs[i];
        double slope[PARAMETERS];
        if (pair->age != age) continue;
        if (terms.age_h != pair->age_h)
            pappus_age_terms_fill(&terms, &one, pairs->forecasts, pair->age_h);
        pappus_pair_slopes(slope, pairs, pair, &terms, one.dof);
        sum += slope[AT_LENGTH];
        if (days) days->sums[days->row[i]] += slope[AT_LENGTH];
    }
    return sum;
}

/* The slope falls through 0 at the maximum: bisection. */
static double best_length(const pappus_pairs *pairs, const pappus_wind_error *law, int age,
                          double centre)
{
    double low = log(LEAST_LENGTH_M), high = log(MOST_LENGTH_M);
    for (int i = 0; i < HALVINGS; i++) {
        double middle = 0.5 * (low + high);
        if (length_slope(pairs, law, age, middle, centre, NULL) > 0.0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

int pappus_fit_length(pappus_skill_length *out, const pappus_pairs *pairs,
                      const pappus_skill_fit *fit, int age, pappus_error *err)
{
    pappus_wind_error law = pappus_fit_law(fit);
    double spread, reach;
    day_sums days;
    *out = (pappus_skill_length){.age_h = pappus_ages_h[age], .length_m = {NAN, NAN, NAN}};
    out->model_m = pappus_wind_error_length_m(&law, out->age_h);
    fit_work work = {.pairs = pairs};
    choose_pairs(&work, age);
    out->pairs = work.count;
    if (work.count == 0) return PAPPUS_OK;
    if (day_sums_new(&days, pairs, work.first, work.count, 1) != PAPPUS_OK)
        return pappus_fail_memory(err);
    double centre = log(out->model_m), best = best_length(pairs, &law, age, centre);
    double curve = (length_slope(pairs, &law, age, best - STEP, centre, NULL) -
                    length_slope(pairs, &law, age, best + STEP, centre, NULL)) /
                   (2.0 * STEP);
    length_slope(pairs, &law, age, best, centre, &days);
    pappus_block_covariance(&spread, days.sums, days.days, 1);
    reach =
        pappus_block_quantile(days.days) * sqrt(spread + 1.0 / gsl_pow_2(LENGTH_PRIOR_SD)) / curve;
    out->length_m = of_log(best, curve > 0.0 ? reach : INFINITY);
    day_sums_clear(&days);
    return PAPPUS_OK;
}
