/* SPDX-License-Identifier: GPL-3.0-or-later
 * Values on the nodes of a grid with its axes turned, bilinear between them. */
#ifndef PAPPUS_LANDING_GRID_H
#define PAPPUS_LANDING_GRID_H

#include <stdbool.h>
#include <stddef.h>

/** Values on the nodes of a grid with its axes turned: node (i, j) lies at
 * origin + (low[0] + i step[0]) * axis + (low[1] + j step[1]) * (axis turned left). */
typedef struct {
    double origin_m[2];
    double axis[2];
    double low_m[2], step_m[2];
    size_t nodes[2];
    double *per_m2; /**< [nodes[1]][nodes[0]]; 0 on the border */
} pappus_grid;

void pappus_grid_clear(pappus_grid *grid);
/** Bilinear between nodes, 0 outside. */
double pappus_grid_at(const pappus_grid *grid, double east_m, double north_m);
/** East and north of a place in units of nodes. */
void pappus_grid_place(double east_north_m[2], const pappus_grid *grid, double i, double j);
/** Node and fractions of a place in units of nodes; false when it lies outside. */
bool grid_cell(size_t *node, double part[2], const pappus_grid *grid, const double place[2]);
/** Shares a mass out to the four nodes about a place in a cell; row: nodes in a row. */
void grid_put(double *at, size_t row, const double part[2], double mass);
/** Shares a mass out to mass[nodes[1]][nodes[0]]; what lies outside is lost. */
void grid_share(double *mass, const pappus_grid *grid, double east_m, double north_m, double share);
/** As pappus_grid_at, of a place in units of nodes. */
double grid_value(const pappus_grid *grid, const double place[2]);
/** Lays the nodes of an axis over a range and a margin: step_m, or the least that `most`
 * nodes allow. */
void grid_lay_axis(pappus_grid *grid, int axis, const double range_m[2], double margin_m,
                   double step_m, size_t most);

#endif
