/* SPDX-License-Identifier: GPL-3.0-or-later
 * Days counted; what and how in tally.h. */
#include "tally.h"

#include "blocks.h"
#include "error.h"
#include "grow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MONTHS 12
#define HOURS 24
#define SAME_HEIGHT_M 0.0005
#define CONFIDENCE 0.95

/* Days of one month and hour of one plan. */
typedef struct {
    uint32_t days, go, any;
    uint32_t unmet[PAPPUS_LIMIT_KINDS];
} cell;

typedef struct {
    cell cells[MONTHS][HOURS];
    uint32_t *heights; /* [month][hour][height] */
    size_t height_count;
    size_t left_out, first_left; /* number of the first day left out */
    char *first_why;
    pappus_season_petal rose[PAPPUS_SEASON_SECTORS][PAPPUS_SEASON_SPEEDS];
} plan_tally;

/* What is kept of a day, for the intervals. */
typedef struct {
    double valid_utc_s;
    int32_t local_day;
    uint8_t month, hour;
} when;

enum { JUDGED = 1, GO = 2 };

struct season_tally {
    const pappus_season_head *head;
    plan_tally *plans;
    size_t count, capacity, flag_capacity;
    when *when;
    uint8_t *flags; /* [day][plan] */
    size_t *order;  /* of time */
    double *sums;   /* room for the days of a group */
};

int season_tally_new(season_tally **out, const pappus_season_head *head, pappus_error *err)
{
    season_tally *t = calloc(1, sizeof *t);
    *out = NULL;
    if (!t) return pappus_fail_memory(err);
    t->head = head;
    t->plans = calloc(head->plan_count, sizeof *t->plans);
    bool good = t->plans != NULL;
    for (size_t p = 0; good && p < head->plan_count; p++) {
        t->plans[p].height_count = head->plans[p].height_count;
        t->plans[p].first_left = SIZE_MAX;
        t->plans[p].heights =
            calloc((size_t)MONTHS * HOURS * (head->plans[p].height_count + 1), sizeof(uint32_t));
        good = t->plans[p].heights != NULL;
    }
    if (!good) {
        season_tally_free(t);
        return pappus_fail_memory(err);
    }
    *out = t;
    return PAPPUS_OK;
}

void season_tally_free(season_tally *t)
{
    if (!t) return;
    for (size_t p = 0; t->plans && p < t->head->plan_count; p++) {
        free(t->plans[p].heights);
        free(t->plans[p].first_why);
    }
    free(t->plans);
    free(t->when);
    free(t->flags);
    free(t->order);
    free(t->sums);
    free(t);
}

/* --------------------------------------------------------------------- a day */

static uint32_t *heights_at(const plan_tally *p, int month, int hour)
{
    return p->heights + ((size_t)month * HOURS + (size_t)hour) * p->height_count;
}

/* A calm is counted in the first sector: it has no direction, and the least speed. */
static void count_wind(plan_tally *p, const pappus_season_day *day, bool go)
{
    double width = 360.0 / PAPPUS_SEASON_SECTORS;
    double from = isnan(day->surface_from_deg) ? 0.0 : day->surface_from_deg;
    int sector = (int)floor(from / width + 0.5) % PAPPUS_SEASON_SECTORS, speed = 0;
    if (isnan(day->surface_wind_mps)) return;
    double class = day->surface_wind_mps / PAPPUS_SEASON_SPEED_MPS;
    speed = class < PAPPUS_SEASON_SPEEDS - 1 ? (int)class : PAPPUS_SEASON_SPEEDS - 1;
    p->rose[sector][speed].days++;
    p->rose[sector][speed].go += go;
}

static uint8_t count_row(plan_tally *p, const pappus_season_day *day, const pappus_season_row *row,
                         int month, int hour)
{
    cell *at = &p->cells[month][hour];
    bool go = row->verdict == PAPPUS_MET, any = go;
    at->days++;
    at->go += go;
    for (int k = 0; k < PAPPUS_LIMIT_KINDS; k++)
        at->unmet[k] += row->unmet >> k & 1U;
    uint32_t *heights = heights_at(p, month, hour);
    for (size_t i = 0; i < row->height_count && i < p->height_count; i++) {
        heights[i] += row->heights[i] == PAPPUS_MET;
        any = any || row->heights[i] == PAPPUS_MET;
    }
    at->any += any;
    count_wind(p, day, go);
    return (uint8_t)(JUDGED | (go ? GO : 0));
}

static int leave_out(plan_tally *p, const pappus_season_day *day, const char *why,
                     pappus_error *err)
{
    p->left_out++;
    if (day->number >= p->first_left) return PAPPUS_OK;
    char *copy = strdup(why);
    if (!copy) return pappus_fail_memory(err);
    free(p->first_why);
    p->first_why = copy;
    p->first_left = day->number;
    return PAPPUS_OK;
}

int season_tally_add(season_tally *t, const pappus_season_day *day, int month, int hour,
                     long local_day, pappus_error *err)
{
    size_t plans = t->head->plan_count;
    int status = PAPPUS_OK;
    if (!PAPPUS_GROW(t->when, &t->capacity, t->count + 1) ||
        !PAPPUS_GROW(t->flags, &t->flag_capacity, (t->count + 1) * plans))
        return pappus_fail_memory(err);
    t->when[t->count] =
        (when){day->valid_utc_s, (int32_t)local_day, (uint8_t)(month - 1), (uint8_t)hour};
    for (size_t p = 0; p < plans && status == PAPPUS_OK; p++) {
        const pappus_season_row *row = &day->rows[p];
        uint8_t *flag = &t->flags[t->count * plans + p];
        *flag = 0;
        if (row->why)
            status = leave_out(&t->plans[p], day, row->why, err);
        else
            *flag = count_row(&t->plans[p], day, row, month - 1, hour);
    }
    t->count++;
    return status;
}

/* -------------------------------------------------------------------- groups */

static bool holds(const pappus_season_group *g, int month, int hour)
{
    return (g->month == 0 || g->month == month + 1) &&
           (g->hour == PAPPUS_SEASON_ALL_HOURS || g->hour == hour);
}

static void add_cell(pappus_season_group *g, const cell *from, const uint32_t *heights,
                     size_t height_count, size_t counts[2])
{
    g->days += from->days;
    counts[0] += from->go;
    counts[1] += from->any;
    for (int k = 0; k < PAPPUS_LIMIT_KINDS; k++)
        g->unmet[k] += from->unmet[k];
    for (size_t i = 0; i < height_count; i++)
        g->height_days[i] += heights[i];
}

/* Of as many go days the height nearest to the planned one, of two as near the higher. */
static void choose_height(pappus_season_group *g, const pappus_season_plan *plan)
{
    size_t most = 0, best = 0;
    double nearest_m = INFINITY;
    for (size_t i = 0; i < plan->height_count; i++) {
        double away_m = fabs(plan->heights_m[i] - plan->planned_m);
        bool better = g->height_days[i] > most;
        if (!better && (g->height_days[i] < most || away_m > nearest_m + SAME_HEIGHT_M)) continue;
        most = g->height_days[i];
        nearest_m = away_m;
        best = i;
    }
    g->best_main_m = most > 0 ? plan->heights_m[best] : NAN;
    g->go_best = plan->height_count > 0 ? (double)most / (double)g->days : NAN;
}

static int fill_group(pappus_season_group *g, const season_tally *t, pappus_error *err)
{
    const plan_tally *p = &t->plans[g->plan];
    size_t counts[2] = {0, 0};
    g->height_days = calloc(p->height_count + 1, sizeof *g->height_days);
    if (!g->height_days) return pappus_fail_memory(err);
    for (int m = 0; m < MONTHS; m++)
        for (int h = 0; h < HOURS; h++)
            if (holds(g, m, h))
                add_cell(g, &p->cells[m][h], heights_at(p, m, h), p->height_count, counts);
    g->go.value = (double)counts[0] / (double)g->days;
    g->go_any = (double)counts[1] / (double)g->days;
    for (int k = PAPPUS_LIMIT_NONE + 1; k < PAPPUS_LIMIT_KINDS; k++)
        if (g->unmet[k] > g->unmet[g->worst]) g->worst = (pappus_limit_kind)k;
    choose_height(g, &t->head->plans[g->plan]);
    return PAPPUS_OK;
}

static bool is_empty(const season_tally *t, const pappus_season_group *g)
{
    for (int m = 0; m < MONTHS; m++)
        for (int h = 0; h < HOURS; h++)
            if (holds(g, m, h) && t->plans[g->plan].cells[m][h].days > 0) return false;
    return true;
}

static int add_group(pappus_season_result *result, size_t *capacity, const season_tally *t,
                     size_t plan, int month, int hour, pappus_error *err)
{
    const pappus_season_group blank = {
        .plan = plan, .month = month, .hour = hour, .drift_m = {NAN, NAN, NAN}};
    if (is_empty(t, &blank)) return PAPPUS_OK;
    if (!PAPPUS_GROW(result->groups, capacity, result->group_count + 1))
        return pappus_fail_memory(err);
    result->groups[result->group_count] = blank;
    return fill_group(&result->groups[result->group_count++], t, err);
}

static int add_groups(pappus_season_result *result, const season_tally *t, size_t plan,
                      size_t *capacity, pappus_error *err)
{
    int status = add_group(result, capacity, t, plan, 0, PAPPUS_SEASON_ALL_HOURS, err);
    for (int m = 1; m <= MONTHS && status == PAPPUS_OK; m++)
        status = add_group(result, capacity, t, plan, m, PAPPUS_SEASON_ALL_HOURS, err);
    for (int h = 0; h < HOURS && status == PAPPUS_OK; h++)
        status = add_group(result, capacity, t, plan, 0, h, err);
    for (int m = 1; m <= MONTHS && status == PAPPUS_OK; m++)
        for (int h = 0; h < HOURS && status == PAPPUS_OK; h++)
            status = add_group(result, capacity, t, plan, m, h, err);
    return status;
}

/* ----------------------------------------------------------------- intervals */

static int by_time(const void *a, const void *b, void *context)
{
    const season_tally *t = context;
    size_t p = *(const size_t *)a, q = *(const size_t *)b;
    double s = t->when[p].valid_utc_s, u = t->when[q].valid_utc_s;
    return s != u ? (s > u) - (s < u) : (p > q) - (p < q);
}

static int sort_days(season_tally *t, pappus_error *err)
{
    t->order = malloc((t->count + 1) * sizeof *t->order);
    t->sums = malloc((t->count + 1) * sizeof *t->sums);
    if (!t->order || !t->sums) return pappus_fail_memory(err);
    for (size_t i = 0; i < t->count; i++)
        t->order[i] = i;
    qsort_r(t->order, t->count, sizeof *t->order, by_time, t);
    return PAPPUS_OK;
}

/* Variance of the number of go days of a group, days in a row being alike. */
static double block_variance(season_tally *t, const pappus_season_group *g)
{
    size_t days = 0;
    int32_t last = 0;
    double variance = 0.0;
    for (size_t k = 0; k < t->count; k++) {
        size_t i = t->order[k];
        uint8_t flag = t->flags[i * t->head->plan_count + g->plan];
        if (!(flag & JUDGED) || !holds(g, t->when[i].month, t->when[i].hour)) continue;
        if (days == 0 || t->when[i].local_day != last) t->sums[days++] = 0.0;
        last = t->when[i].local_day;
        t->sums[days - 1] += (flag & GO ? 1.0 : 0.0) - g->go.value;
    }
    pappus_block_covariance(&variance, t->sums, days, 1);
    return variance;
}

static int kind_of(const pappus_season_group *g)
{
    return (g->month != 0) + 2 * (g->hour != PAPPUS_SEASON_ALL_HOURS);
}

static void set_intervals(pappus_season_result *result, season_tally *t, size_t plan)
{
    double blocks[4] = {0}, alone[4] = {0};
    for (size_t i = 0; i < result->group_count; i++) {
        const pappus_season_group *g = &result->groups[i];
        if (g->plan != plan) continue;
        blocks[kind_of(g)] += block_variance(t, g);
        alone[kind_of(g)] += (double)g->days * g->go.value * (1.0 - g->go.value);
    }
    for (size_t i = 0; i < result->group_count; i++) {
        pappus_season_group *g = &result->groups[i];
        if (g->plan != plan) continue;
        int kind = kind_of(g);
        double effect = alone[kind] > 0.0 ? fmax(1.0, blocks[kind] / alone[kind]) : 1.0;
        double share = g->go.value, n = (double)g->days / effect;
        g->go = pappus_wilson(share * n, n, CONFIDENCE);
        g->go.value = share;
    }
}

/* ----------------------------------------------------------------------- all */

static void fill_sum(pappus_season_sum *sum, plan_tally *p)
{
    sum->left_out = p->left_out;
    sum->first_why = p->first_why;
    p->first_why = NULL;
    for (int m = 0; m < MONTHS; m++)
        for (int h = 0; h < HOURS; h++)
            sum->judged += p->cells[m][h].days;
    memcpy(sum->rose, p->rose, sizeof sum->rose);
}

int season_tally_finish(pappus_season_result *result, season_tally *t, pappus_error *err)
{
    size_t capacity = 0;
    int status = sort_days(t, err);
    if (status != PAPPUS_OK) return status;
    for (size_t p = 0; p < t->head->plan_count; p++) {
        status = add_groups(result, t, p, &capacity, err);
        if (status != PAPPUS_OK) return status;
        set_intervals(result, t, p);
        fill_sum(&result->sums[p], &t->plans[p]);
    }
    result->first_utc_s = t->count > 0 ? t->when[t->order[0]].valid_utc_s : NAN;
    result->last_utc_s = t->count > 0 ? t->when[t->order[t->count - 1]].valid_utc_s : NAN;
    return PAPPUS_OK;
}
