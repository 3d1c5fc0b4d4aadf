/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds on common heights, and pairs of them by age; rules in pairs.h. */
#include "pairs.h"

#include "error.h"
#include "timestamp.h"
#include "wind_error.h"

#include <math.h>
#include <stdlib.h>

const double pappus_grid_heights_m[PAPPUS_GRID_HEIGHTS] = {
    50, 100, 200, 300, 500, 750, 1000, 1500, 2000, 2500, 3000, 3500, 4000, 5000, 6000};
const double pappus_ages_h[PAPPUS_AGES] = {1, 2, 3, 6, 9, 12, 18, 24, 36, 48};

/* Levels further apart than this know nothing of the wind between them (A: soundings at
 * standard pressures alone are left with what is near those). */
#define GAP_M 300.0
#define GAP_PER_HEIGHT 0.3
/* An age counts for the one it is within this part of, or this many hours. */
#define AGE_PART 0.1
#define AGE_HOURS 1.0
#define SECONDS_PER_HOUR 3600.0
#define SECONDS_PER_DAY 86400.0

bool pappus_sounding_at(double *u_mps, double *v_mps, const pappus_sounding *s, double height_m,
                        double wider)
{
    size_t low = 0, high = s->level_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (s->height_m[middle] < height_m)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == s->level_count) return false;
    if (s->height_m[low] == height_m) {
        *u_mps = s->u_mps[low];
        *v_mps = s->v_mps[low];
        return true;
    }
    if (low == 0) return false;
    double gap = s->height_m[low] - s->height_m[low - 1];
    if (gap > wider * (GAP_M + GAP_PER_HEIGHT * height_m)) return false;
    double part = (height_m - s->height_m[low - 1]) / gap;
    *u_mps = s->u_mps[low - 1] + part * (s->u_mps[low] - s->u_mps[low - 1]);
    *v_mps = s->v_mps[low - 1] + part * (s->v_mps[low] - s->v_mps[low - 1]);
    return true;
}

/* True when some height has a value. */
static bool fill_grid_wind(pappus_grid_wind *out, const pappus_sounding *sounding)
{
    bool any = false;
    double ground_u = NAN, ground_v = NAN;
    pappus_sounding_at(&ground_u, &ground_v, sounding, PAPPUS_GROUND_M, 1.0);
    out->ground_u_mps = (float)ground_u;
    out->ground_v_mps = (float)ground_v;
    for (int j = 0; j < PAPPUS_GRID_HEIGHTS; j++) {
        double z = pappus_grid_heights_m[j], u = NAN, v = NAN, wide_u = NAN, wide_v = NAN;
        any |= pappus_sounding_at(&u, &v, sounding, z, 1.0);
        pappus_sounding_at(&wide_u, &wide_v, sounding, z, PAPPUS_WIDE_GAPS);
        out->u_mps[j] = (float)u;
        out->v_mps[j] = (float)v;
        out->wide_u_mps[j] = (float)wide_u;
        out->wide_v_mps[j] = (float)wide_v;
    }
    return any;
}

static double tolerance_s(double age_h)
{
    double part = AGE_PART * age_h;
    return SECONDS_PER_HOUR * (part < AGE_HOURS ? part : AGE_HOURS);
}

static bool is_forecast(const pappus_sounding *s)
{
    return s->issued_utc_s < s->valid_utc_s;
}

static bool is_chosen(const pappus_sounding *s, const pappus_skill_options *options)
{
    int month, hour;
    pappus_time_month_hour(&month, &hour, s->valid_utc_s);
    return (!options->months || options->months >> (month - 1) & 1U) &&
           (!options->hours || options->hours >> hour & 1U);
}

static bool is_between(double utc_s, const pappus_skill_options *options)
{
    return utc_s >= options->from_utc_s && utc_s < options->to_utc_s;
}

/* First sounding (not forecast) of a time at or after utc_s. */
static size_t first_from(const pappus_archive *archive, double utc_s)
{
    size_t low = 0, high = archive->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (archive->soundings[middle].valid_utc_s < utc_s)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The sounding nearest to a time, within the tolerance; archive->count: none. */
static size_t nearest(const pappus_archive *archive, double utc_s, double within_s)
{
    size_t best = archive->count;
    double least = within_s;
    for (size_t i = first_from(archive, utc_s - within_s);
         i < archive->count && archive->soundings[i].valid_utc_s <= utc_s + within_s; i++) {
        double off = fabs(archive->soundings[i].valid_utc_s - utc_s);
        if (is_forecast(&archive->soundings[i]) || off > least) continue;
        if (off == least && best < archive->count) continue;
        best = i;
        least = off;
    }
    return best;
}

int pappus_age_of(double age_h)
{
    for (int a = 0; a < PAPPUS_AGES; a++)
        if (fabs(age_h - pappus_ages_h[a]) * SECONDS_PER_HOUR <= tolerance_s(pappus_ages_h[a]))
            return a;
    return -1;
}

/* The later wind of the pair that begins with sounding i at an age; none: count. */
static size_t partner(const pappus_archive *archive, bool forecasts, size_t i, int age)
{
    const pappus_sounding *s = &archive->soundings[i];
    double lead_h = (s->valid_utc_s - s->issued_utc_s) / SECONDS_PER_HOUR;
    if (forecasts != is_forecast(s)) return archive->count;
    if (!forecasts)
        return nearest(archive, s->valid_utc_s + SECONDS_PER_HOUR * pappus_ages_h[age],
                       tolerance_s(pappus_ages_h[age]));
    if (pappus_age_of(lead_h) != age) return archive->count;
    return nearest(archive, s->valid_utc_s, tolerance_s(lead_h));
}

/* Mean vector over the heights aloft, of those that are known. */
static double aloft_mps(const pappus_grid_wind *wind)
{
    double u = 0.0, v = 0.0, n = 0.0;
    for (int i = 0, j = 0; i < PAPPUS_ALOFT_HEIGHTS; i++) {
        while (pappus_grid_heights_m[j] < pappus_aloft_heights_m[i])
            j++;
        if (isnan(wind->wide_u_mps[j])) continue;
        u += (double)wind->wide_u_mps[j];
        v += (double)wind->wide_v_mps[j];
        n += 1.0;
    }
    return n > 0.0 ? hypot(u, v) / n : NAN;
}

static int add_pair(pappus_pairs *pairs, size_t *capacity, pappus_pair pair)
{
    if (pairs->count == *capacity) {
        size_t more = *capacity ? 2 * *capacity : 1024;
        pappus_pair *larger = realloc(pairs->pairs, more * sizeof *larger);
        if (!larger) return PAPPUS_E_MEMORY;
        pairs->pairs = larger;
        *capacity = more;
    }
    pairs->pairs[pairs->count++] = pair;
    return PAPPUS_OK;
}

static int pair_age(pappus_pairs *pairs, size_t *capacity, const pappus_archive *archive,
                    const pappus_skill_options *options, int age)
{
    int status = PAPPUS_OK;
    for (size_t i = 0; i < archive->count && status == PAPPUS_OK; i++) {
        const pappus_sounding *s = &archive->soundings[i];
        size_t j = partner(archive, pairs->forecasts, i, age);
        if (j == archive->count) continue;
        const pappus_sounding *later = &archive->soundings[j];
        if (!is_chosen(later, options) || !is_between(s->issued_utc_s, options) ||
            !is_between(later->valid_utc_s, options))
            continue;
        double age_h = (later->valid_utc_s - s->issued_utc_s) / SECONDS_PER_HOUR;
        long day = (long)floor(later->valid_utc_s / SECONDS_PER_DAY);
        status = add_pair(pairs, capacity,
                          (pappus_pair){i, j, age_h, age, day, aloft_mps(&pairs->winds[i])});
    }
    return status;
}

/* What the pairs rest on; used: one flag per sounding. */
static void count_used(pappus_pairs *pairs, const pappus_archive *archive, uint8_t *used)
{
    pairs->first_utc_s = INFINITY;
    pairs->last_utc_s = -INFINITY;
    for (size_t i = 0; i < pairs->count; i++)
        used[pairs->pairs[i].earlier] = used[pairs->pairs[i].later] = 1;
    for (size_t i = 0; i < archive->count; i++) {
        if (!used[i]) continue;
        pairs->sounding_count++;
        pairs->first_utc_s = fmin(pairs->first_utc_s, archive->soundings[i].issued_utc_s);
        pairs->last_utc_s = fmax(pairs->last_utc_s, archive->soundings[i].valid_utc_s);
    }
}

int pappus_pairs_form(pappus_pairs *out, const pappus_archive *archive,
                      const pappus_skill_options *options, pappus_error *err)
{
    size_t capacity = 0;
    int status = PAPPUS_OK;
    *out = (pappus_pairs){.forecasts = archive->forecast_count > 0};
    out->winds = malloc((archive->count + 1) * sizeof *out->winds);
    uint8_t *used = calloc(archive->count + 1, 1);
    if (!out->winds || !used) status = PAPPUS_E_MEMORY;
    for (size_t i = 0; i < archive->count && status == PAPPUS_OK; i++)
        out->sparse_count += !fill_grid_wind(&out->winds[i], &archive->soundings[i]);
    for (int a = 0; a < PAPPUS_AGES && status == PAPPUS_OK; a++)
        status = pair_age(out, &capacity, archive, options, a);
    if (status == PAPPUS_OK) count_used(out, archive, used);
    free(used);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_pairs_clear(out);
    return pappus_fail_memory(err);
}

void pappus_pairs_clear(pappus_pairs *pairs)
{
    free(pairs->winds);
    free(pairs->pairs);
    *pairs = (pappus_pairs){0};
}
