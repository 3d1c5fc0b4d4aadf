/* SPDX-License-Identifier: GPL-3.0-or-later
 * The weighted k-median over candidate places, by a matrix of distances from every
 * place to every gathered landing. */
#include "posts.h"
#include "error.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SPREAD_STARTS 6
#define GOLDEN 0.6180339887498949

int pappus_points_reserve(pappus_points *points, size_t count, bool weighted, pappus_error *err)
{
    *points = (pappus_points){0};
    points->east_m = calloc(count + 1, sizeof(double));
    points->north_m = calloc(count + 1, sizeof(double));
    points->weight = weighted ? calloc(count + 1, sizeof(double)) : NULL;
    if (points->east_m && points->north_m && (points->weight || !weighted)) return PAPPUS_OK;
    pappus_points_clear(points);
    return pappus_fail_memory(err);
}

void pappus_points_clear(pappus_points *points)
{
    free(points->east_m);
    free(points->north_m);
    free(points->weight);
    *points = (pappus_points){0};
}

static void bounds_of(double low[2], double size[2], const pappus_cloud *cloud, size_t cells)
{
    double high[2] = {-INFINITY, -INFINITY};
    low[0] = low[1] = INFINITY;
    for (size_t i = 0; i < cloud->count; i++) {
        low[0] = fmin(low[0], cloud->east_m[i]);
        low[1] = fmin(low[1], cloud->north_m[i]);
        high[0] = fmax(high[0], cloud->east_m[i]);
        high[1] = fmax(high[1], cloud->north_m[i]);
    }
    for (int a = 0; a < 2; a++)
        size[a] = fmax((high[a] - low[a]) / (double)cells, 1e-6);
}

static size_t cell_along(double x, double low, double size, size_t cells)
{
    size_t cell = (size_t)fmax((x - low) / size, 0.0);
    return cell < cells ? cell : cells - 1;
}

/* Means of the cells, the empty ones dropped. */
static void close_cells(pappus_points *points, size_t cells)
{
    for (size_t c = 0; c < cells; c++) {
        double weight = points->weight[c];
        if (!(weight > 0.0)) continue;
        points->east_m[points->count] = points->east_m[c] / weight;
        points->north_m[points->count] = points->north_m[c] / weight;
        points->weight[points->count++] = weight;
    }
}

int pappus_points_gather(pappus_points *out, const pappus_cloud *cloud, size_t cells,
                         pappus_error *err)
{
    double low[2], size[2];
    int status = pappus_points_reserve(out, cells * cells, true, err);
    if (status != PAPPUS_OK) return status;
    bounds_of(low, size, cloud, cells);
    for (size_t i = 0; i < cloud->count; i++) {
        size_t c = cell_along(cloud->north_m[i], low[1], size[1], cells) * cells +
                   cell_along(cloud->east_m[i], low[0], size[0], cells);
        double weight = pappus_cloud_weight(cloud, i);
        out->weight[c] += weight;
        out->east_m[c] += weight * cloud->east_m[i];
        out->north_m[c] += weight * cloud->north_m[i];
    }
    close_cells(out, cells * cells);
    return PAPPUS_OK;
}

/* Distances, place after place; landings beside each other. */
typedef struct {
    size_t places, landings;
    float *distance, *weight;
    float *nearest, *second; /* of each landing among the chosen */
} matrix;

static void matrix_end(matrix *m)
{
    free(m->distance);
    free(m->weight);
    free(m->nearest);
    free(m->second);
}

static int matrix_begin(matrix *m, const pappus_points *places, const pappus_points *landings,
                        pappus_error *err)
{
    size_t n = landings->count;
    *m = (matrix){.places = places->count, .landings = n};
    m->distance = malloc((places->count * n + 1) * sizeof(float));
    m->weight = malloc((n + 1) * sizeof(float));
    m->nearest = malloc((n + 1) * sizeof(float));
    m->second = malloc((n + 1) * sizeof(float));
    if (!m->distance || !m->weight || !m->nearest || !m->second) {
        matrix_end(m);
        return pappus_fail_memory(err);
    }
    for (size_t j = 0; j < n; j++)
        m->weight[j] = (float)landings->weight[j];
    for (size_t p = 0; p < places->count; p++)
        for (size_t j = 0; j < n; j++)
            m->distance[p * n + j] = (float)hypot(places->east_m[p] - landings->east_m[j],
                                                  places->north_m[p] - landings->north_m[j]);
    return PAPPUS_OK;
}

static const float *row_of(const matrix *m, size_t place)
{
    return m->distance + place * m->landings;
}

/* Four partial sums: the order is fixed, and the processor need not wait. */
static double walk_with(const matrix *m, const float *nearest, const float *row)
{
    float sum[4] = {0};
    size_t j = 0;
    for (; j + 4 <= m->landings; j += 4)
        for (size_t l = 0; l < 4; l++) {
            float a = row[j + l], b = nearest[j + l];
            sum[l] += m->weight[j + l] * (a < b ? a : b);
        }
    for (; j < m->landings; j++)
        sum[0] += m->weight[j] * (row[j] < nearest[j] ? row[j] : nearest[j]);
    return (double)(sum[0] + sum[1]) + (double)(sum[2] + sum[3]);
}

/* The place that helps most beside those already in `nearest`. */
static size_t best_beside(const matrix *m, const float *nearest, double *walk_m)
{
    size_t best = 0;
    *walk_m = INFINITY;
    for (size_t p = 0; p < m->places; p++) {
        double walk = walk_with(m, nearest, row_of(m, p));
        if (walk < *walk_m) {
            *walk_m = walk;
            best = p;
        }
    }
    return best;
}

static void choose_one(size_t *chosen, double *walk_m, const matrix *m)
{
    for (size_t j = 0; j < m->landings; j++)
        m->nearest[j] = INFINITY;
    *chosen = best_beside(m, m->nearest, walk_m);
}

static void choose_pair(size_t chosen[2], double *walk_m, const matrix *m)
{
    *walk_m = INFINITY;
    for (size_t p = 0; p < m->places; p++)
        for (size_t q = p; q < m->places; q++) {
            double walk = walk_with(m, row_of(m, p), row_of(m, q));
            if (walk >= *walk_m) continue;
            *walk_m = walk;
            chosen[0] = p;
            chosen[1] = q;
        }
}

static void greedy(size_t *chosen, size_t k, matrix *m)
{
    double walk;
    for (size_t j = 0; j < m->landings; j++)
        m->nearest[j] = INFINITY;
    for (size_t i = 0; i < k; i++) {
        chosen[i] = best_beside(m, m->nearest, &walk);
        for (size_t j = 0; j < m->landings; j++)
            m->nearest[j] = fminf(m->nearest[j], row_of(m, chosen[i])[j]);
    }
}

/* Distance to the nearest chosen place but the left-out one. */
static void nearest_without(matrix *m, const size_t *chosen, size_t k, size_t left_out)
{
    for (size_t j = 0; j < m->landings; j++)
        m->second[j] = INFINITY;
    for (size_t i = 0; i < k; i++) {
        if (i == left_out) continue;
        const float *row = row_of(m, chosen[i]);
        for (size_t j = 0; j < m->landings; j++)
            if (row[j] < m->second[j]) m->second[j] = row[j];
    }
}

/* Exchanges one post at a time for the best place until nothing gets better. */
static double interchange(size_t *chosen, size_t k, matrix *m)
{
    double walk = INFINITY;
    for (bool better = true; better;) {
        better = false;
        for (size_t i = 0; i < k; i++) {
            double with;
            nearest_without(m, chosen, k, i);
            size_t place = best_beside(m, m->second, &with);
            if (with < walk * (1.0 - 1e-6)) {
                better = better || place != chosen[i];
                walk = with;
                chosen[i] = place;
            }
        }
    }
    return walk;
}

static int choose_many(size_t *chosen, double *walk_m, size_t k, matrix *m, pappus_error *err)
{
    size_t *trial = malloc(k * sizeof *trial);
    if (!trial) return pappus_fail_memory(err);
    greedy(chosen, k, m);
    *walk_m = interchange(chosen, k, m);
    for (size_t start = 1; start <= SPREAD_STARTS; start++) {
        for (size_t i = 0; i < k; i++)
            trial[i] = (size_t)(fmod((double)(start * k + i) * GOLDEN, 1.0) * (double)m->places);
        double walk = interchange(trial, k, m);
        if (walk >= *walk_m) continue;
        *walk_m = walk;
        memcpy(chosen, trial, k * sizeof *trial);
    }
    free(trial);
    return PAPPUS_OK;
}

int pappus_posts_choose(size_t *chosen, double *walk_m, size_t k, const pappus_points *places,
                        const pappus_points *landings, pappus_error *err)
{
    matrix m;
    int status = matrix_begin(&m, places, landings, err);
    if (status != PAPPUS_OK) return status;
    if (k == 1)
        choose_one(chosen, walk_m, &m);
    else if (k == 2 && places->count <= PAPPUS_PAIR_PLACES)
        choose_pair(chosen, walk_m, &m);
    else
        status = choose_many(chosen, walk_m, k, &m, err);
    matrix_end(&m);
    return status;
}
