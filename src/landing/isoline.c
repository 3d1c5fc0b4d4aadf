/* SPDX-License-Identifier: GPL-3.0-or-later
 * Marching squares; see isoline.h.
 *
 * A crossing is named by the grid edge it lies on: 2 * node for the edge to the next
 * node of the first axis, 2 * node + 1 for that of the second. Every cell adds directed
 * pieces, the area on their left, so each crossing has one piece that begins there:
 * next[crossing] is where it leads. Following next gives the rings, shells counter-
 * clockwise and holes clockwise. */
#include "isoline.h"

#include "error.h"
#include "geometry.h"
#include "grow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define KEPT_FROM_NODES 1e-3
#define NOWHERE SIZE_MAX

typedef struct {
    const pappus_grid *grid;
    double threshold;
    size_t first_crossing; /* of the rows that are traced */
    size_t *next;          /* by crossing from there; NOWHERE: no piece begins there */
    size_t *begins;        /* crossings in the order found */
    size_t begin_count, begin_capacity;
    size_t ring_count, ring_capacity;
    pappus_ring *rings;
    double *ring_area_m2;
} tracer;

static void tracer_clear(tracer *trace)
{
    for (size_t r = 0; r < trace->ring_count; r++)
        free(trace->rings[r].points_m);
    free(trace->rings);
    free(trace->ring_area_m2);
    free(trace->begins);
    free(trace->next);
}

/* Crossing on side 0 ... 3 (bottom, right, top, left) of the cell at a node. */
static size_t crossing(const pappus_grid *grid, size_t node, int side)
{
    switch (side) {
    case 0:
        return 2 * node;
    case 1:
        return 2 * (node + 1) + 1;
    case 2:
        return 2 * (node + grid->nodes[0]);
    default:
        return 2 * node + 1;
    }
}

/* Side at which a piece that begins on `side` ends: there the walk round the cell
 * comes back in. At a saddle there are two such sides: with the middle in the area the
 * piece cuts off the corner outside that follows, else the corner inside before. */
static int end_side(const bool in[4], int side, bool middle_in)
{
    bool saddle = in[0] == in[2] && in[1] == in[3];
    if (saddle) return (side + (middle_in ? 1 : 3)) % 4;
    int end = (side + 1) % 4;
    while (in[end] || !in[(end + 1) % 4])
        end = (end + 1) % 4;
    return end;
}

static int trace_cell(tracer *trace, size_t node)
{
    size_t nx = trace->grid->nodes[0];
    const double *value = trace->grid->per_m2 + node;
    double corner[4] = {value[0], value[1], value[nx + 1], value[nx]};
    bool in[4];
    for (int c = 0; c < 4; c++)
        in[c] = corner[c] >= trace->threshold;
    if (in[0] == in[1] && in[1] == in[2] && in[2] == in[3]) return PAPPUS_OK;
    bool middle_in = corner[0] + corner[1] + corner[2] + corner[3] >= 4.0 * trace->threshold;
    for (int side = 0; side < 4; side++) {
        if (!in[side] || in[(side + 1) % 4]) continue;
        if (!PAPPUS_GROW(trace->begins, &trace->begin_capacity, trace->begin_count + 1))
            return PAPPUS_E_MEMORY;
        size_t begin = crossing(trace->grid, node, side);
        trace->begins[trace->begin_count++] = begin;
        trace->next[begin - trace->first_crossing] =
            crossing(trace->grid, node, end_side(in, side, middle_in));
    }
    return PAPPUS_OK;
}

static bool row_reaches(const tracer *trace, size_t j)
{
    size_t nx = trace->grid->nodes[0];
    const double *row = trace->grid->per_m2 + j * nx;
    for (size_t i = 0; i < nx; i++)
        if (row[i] >= trace->threshold) return true;
    return false;
}

/* Traces the rows of cells from below the first to above the last row of nodes that
 * reaches the threshold. */
static int trace_cells(tracer *trace)
{
    size_t nx = trace->grid->nodes[0], first = 0, last = trace->grid->nodes[1] - 1;
    while (first < last && !row_reaches(trace, first))
        first++;
    while (last > first && !row_reaches(trace, last))
        last--;
    if (first == last && !row_reaches(trace, first)) return PAPPUS_OK;
    first--; /* the border is under the threshold */
    size_t crossings = 2 * nx * (last - first + 2);
    trace->first_crossing = 2 * nx * first;
    trace->next = malloc(crossings * sizeof *trace->next);
    if (!trace->next) return PAPPUS_E_MEMORY;
    for (size_t e = 0; e < crossings; e++)
        trace->next[e] = NOWHERE;
    for (size_t j = first; j <= last; j++) {
        for (size_t i = 0; i + 1 < nx; i++) {
            int status = trace_cell(trace, j * nx + i);
            if (status != PAPPUS_OK) return status;
        }
    }
    return PAPPUS_OK;
}

static void crossing_point(double point_m[2], const tracer *trace, size_t at)
{
    size_t nx = trace->grid->nodes[0], node = at / 2;
    bool second_axis = at % 2 == 1;
    double here = trace->grid->per_m2[node];
    double there = trace->grid->per_m2[second_axis ? node + nx : node + 1];
    double part = (trace->threshold - here) / (there - here);
    part = fmin(fmax(part, KEPT_FROM_NODES), 1.0 - KEPT_FROM_NODES);
    pappus_grid_place(point_m, trace->grid, (double)(node % nx) + (second_axis ? 0.0 : part),
                      (double)(node / nx) + (second_axis ? part : 0.0));
}

/* Follows the pieces from a crossing back to it, taking them off `next`. */
static int trace_ring(tracer *trace, size_t begin)
{
    pappus_ring ring = {0};
    size_t at = begin;
    do {
        ring.point_count++;
        at = trace->next[at - trace->first_crossing];
    } while (at != begin);
    if (!PAPPUS_GROW(trace->rings, &trace->ring_capacity, trace->ring_count + 1))
        return PAPPUS_E_MEMORY;
    ring.points_m = malloc(2 * ring.point_count * sizeof *ring.points_m);
    if (!ring.points_m) return PAPPUS_E_MEMORY;
    for (size_t p = 0; p < ring.point_count; p++) {
        size_t after = trace->next[at - trace->first_crossing];
        crossing_point(ring.points_m + 2 * p, trace, at);
        trace->next[at - trace->first_crossing] = NOWHERE;
        at = after;
    }
    trace->rings[trace->ring_count++] = ring;
    return PAPPUS_OK;
}

static int trace_rings(tracer *trace)
{
    for (size_t b = 0; b < trace->begin_count; b++) {
        size_t begin = trace->begins[b];
        if (trace->next[begin - trace->first_crossing] == NOWHERE) continue;
        int status = trace_ring(trace, begin);
        if (status != PAPPUS_OK) return status;
    }
    trace->ring_area_m2 = malloc((trace->ring_count + 1) * sizeof *trace->ring_area_m2);
    if (!trace->ring_area_m2) return PAPPUS_E_MEMORY;
    for (size_t r = 0; r < trace->ring_count; r++)
        trace->ring_area_m2[r] = pappus_ring_area_m2(&trace->rings[r]);
    return PAPPUS_OK;
}

/* By counting the edges crossed on the way out. */
static bool ring_holds(const pappus_ring *ring, const double point_m[2])
{
    bool holds = false;
    const double *a = ring->points_m + 2 * (ring->point_count - 1);
    for (size_t p = 0; p < ring->point_count; p++) {
        const double *b = ring->points_m + 2 * p;
        if ((a[1] > point_m[1]) != (b[1] > point_m[1]) &&
            point_m[0] < a[0] + (point_m[1] - a[1]) * (b[0] - a[0]) / (b[1] - a[1]))
            holds = !holds;
        a = b;
    }
    return holds;
}

/* The smallest shell around a hole: rings never touch, so one point tells. */
static size_t shell_of(const tracer *trace, size_t hole)
{
    size_t best = NOWHERE;
    for (size_t r = 0; r < trace->ring_count; r++) {
        double area_m2 = trace->ring_area_m2[r];
        if (area_m2 <= 0.0 || (best != NOWHERE && area_m2 >= trace->ring_area_m2[best])) continue;
        if (ring_holds(&trace->rings[r], trace->rings[hole].points_m)) best = r;
    }
    return best;
}

/* Appends a ring to a polygon; the ring's points move there. */
static int give_ring(pappus_polygon *polygon, pappus_ring *ring)
{
    if (!PAPPUS_GROW(polygon->rings, NULL, polygon->ring_count + 1)) return PAPPUS_E_MEMORY;
    polygon->rings[polygon->ring_count++] = *ring;
    ring->points_m = NULL;
    return PAPPUS_OK;
}

/* Shells become polygons in the order found, then each hole goes to its shell. */
static int build_polygons(pappus_area *out, tracer *trace, size_t *polygon_of)
{
    size_t shells = 0;
    for (size_t r = 0; r < trace->ring_count; r++)
        if (trace->ring_area_m2[r] > 0.0) polygon_of[r] = shells++;
    out->name = strdup("");
    out->polygons = calloc(shells + 1, sizeof *out->polygons);
    if (!out->name || !out->polygons) return PAPPUS_E_MEMORY;
    out->polygon_count = shells;
    for (int holes = 0; holes < 2; holes++) {
        for (size_t r = 0; r < trace->ring_count; r++) {
            bool is_hole = !(trace->ring_area_m2[r] > 0.0);
            if (is_hole != (holes == 1)) continue;
            size_t shell = is_hole ? polygon_of[r] : r;
            if (shell == NOWHERE) continue;
            int status = give_ring(&out->polygons[polygon_of[shell]], &trace->rings[r]);
            if (status != PAPPUS_OK) return status;
        }
    }
    return PAPPUS_OK;
}

/* polygon_of: of a shell its polygon, of a hole its shell (found while the rings still
 * have their points). */
static int nest_rings(pappus_area *out, tracer *trace)
{
    size_t *polygon_of = malloc((trace->ring_count + 1) * sizeof *polygon_of);
    if (!polygon_of) return PAPPUS_E_MEMORY;
    for (size_t r = 0; r < trace->ring_count; r++)
        polygon_of[r] = trace->ring_area_m2[r] > 0.0 ? NOWHERE : shell_of(trace, r);
    int status = build_polygons(out, trace, polygon_of);
    free(polygon_of);
    return status;
}

int pappus_isoline_area(pappus_area *out, const pappus_grid *grid, double threshold_per_m2,
                        pappus_error *err)
{
    tracer trace = {.grid = grid, .threshold = threshold_per_m2};
    *out = (pappus_area){0};
    int status = trace_cells(&trace);
    if (status == PAPPUS_OK) status = trace_rings(&trace);
    if (status == PAPPUS_OK) status = nest_rings(out, &trace);
    tracer_clear(&trace);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    pappus_area_clear(out);
    return pappus_fail_memory(err);
}
