/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where a place lies between the points of a grid: the plane of a projection by PROJ, on
 * the sphere or ellipsoid that the grid names, from its first point and its steps.
 *
 * Latitude and longitude are taken on the model's own figure of the earth, as its points
 * are. The rows of a Gaussian grid are the zeros of the Legendre polynomial of order 2N
 * (GSL's Gauss-Legendre nodes). Where the winds are along the axes of a Lambert or polar
 * stereographic grid, north at each of the four points is the direction of its meridian on
 * the plane, over 1e-4 degree of latitude; the axes of the other grids are east and north. */
#include "grib_grid.h"

#include <gsl/gsl_integration.h>
#include <math.h>
#include <proj.h>
#include <stdio.h>
#include <stdlib.h>

#define CORNERS PAPPUS_GRIB_CORNERS
#define MERIDIAN_STEP_DEG 1e-4
#define EDGE 1e-3 /* of a cell: a place so far outside stands on the edge */
#define MAX_GAUSSIAN_N 4000

/* Index before `at` and the share of the next; false outside of the points. */
static bool between(double at, int count, int index[2], double *share)
{
    if (!(at > -EDGE && at < count - 1 + EDGE)) return false;
    at = fmin(fmax(at, 0.0), count - 1.0);
    index[0] = (int)floor(at);
    index[1] = index[0] + 1 < count ? index[0] + 1 : index[0];
    *share = at - index[0];
    return true;
}

/* ----------------------------------------------------- latitude and longitude */

/* Between the columns; from the corners where they tell it, as steps are rounded. */
static double column_step(const pappus_grib_grid *grid)
{
    double span =
        (grid->westward ? -1.0 : 1.0) * (grid->last_longitude_deg - grid->first_longitude_deg);
    if (span <= 0.0) span += 360.0;
    double step = grid->width > 1 ? span / (grid->width - 1) : NAN;
    bool rounded = fabs(step - grid->step_x) < 0.01 * step;
    return isnan(grid->step_x) || rounded ? step : grid->step_x;
}

/* Columns may go round the world. */
static bool find_column(pappus_grib_place *place, const pappus_grib_grid *grid,
                        double longitude_deg, double *share)
{
    double step = column_step(grid);
    double west = grid->first_longitude_deg - (grid->westward ? step * (grid->width - 1) : 0.0);
    double at = fmod(fmod(longitude_deg - west, 360.0) + 360.0, 360.0) / step;
    if (at > 360.0 / step - EDGE) at -= 360.0 / step;
    if (between(at, grid->width, place->column, share)) return true;
    if (!(step * grid->width > 360.0 - 0.5 * step) || !(at < grid->width)) return false;
    place->column[0] = grid->width - 1;
    place->column[1] = 0;
    *share = at - (grid->width - 1);
    return true;
}

static bool find_row(pappus_grib_place *place, const pappus_grib_grid *grid, double latitude_deg,
                     double *share)
{
    double north = fmax(grid->first_latitude_deg, grid->last_latitude_deg);
    double span = fabs(grid->last_latitude_deg - grid->first_latitude_deg);
    double step = grid->height > 1 ? span / (grid->height - 1) : NAN;
    return between((north - latitude_deg) / step, grid->height, place->row, share);
}

/* Latitudes of all rows of a Gaussian grid from the north; the caller frees. */
static double *gaussian_latitudes(int n)
{
    size_t rows = 2 * (size_t)n;
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(rows);
    double *latitude = table ? malloc(rows * sizeof *latitude) : NULL, weight;
    for (size_t i = 0; latitude && i < rows; i++) {
        gsl_integration_glfixed_point(-1.0, 1.0, rows - 1 - i, &latitude[i], &weight, table);
        latitude[i] = asin(latitude[i]) * 180.0 / M_PI;
    }
    if (table) gsl_integration_glfixed_table_free(table);
    return latitude;
}

static bool find_gaussian_row(pappus_grib_place *place, const pappus_grib_grid *grid,
                              double latitude_deg, double *share)
{
    double north = fmax(grid->first_latitude_deg, grid->last_latitude_deg);
    int rows = 2 * grid->gaussian_n, first = 0;
    if (grid->gaussian_n < 1 || grid->gaussian_n > MAX_GAUSSIAN_N) return false;
    double *latitude = gaussian_latitudes(grid->gaussian_n);
    bool found = false;
    for (int i = 1; latitude && i < rows; i++)
        if (fabs(latitude[i] - north) < fabs(latitude[first] - north)) first = i;
    for (int i = 0; latitude && i + 1 < grid->height && first + i + 1 < rows && !found; i++) {
        double upper = latitude[first + i], lower = latitude[first + i + 1];
        double at = (upper - latitude_deg) / (upper - lower);
        found = at > -EDGE && at < 1.0 + EDGE;
        place->row[0] = i;
        place->row[1] = i + 1;
        *share = fmin(fmax(at, 0.0), 1.0);
    }
    free(latitude);
    return found;
}

/* ------------------------------------------------------------------- a plane */

/* Degrees of longitude and latitude to metres on the grid's plane. */
static PJ *open_plane(PJ_CONTEXT *context, const pappus_grib_grid *grid)
{
    char projection[160], text[400];
    const double *latitude = grid->true_latitude_deg;
    if (grid->projection == PAPPUS_GRIB_LAMBERT)
        snprintf(projection, sizeof projection,
                 "lcc +lat_1=%.9g +lat_2=%.9g +lat_0=%.9g +lon_0=%.9g", latitude[0], latitude[1],
                 latitude[0], grid->meridian_deg);
    else if (grid->projection == PAPPUS_GRIB_POLAR)
        snprintf(projection, sizeof projection, "stere +lat_0=%d +lat_ts=%.9g +lon_0=%.9g",
                 grid->south ? -90 : 90, latitude[0], grid->meridian_deg);
    else
        snprintf(projection, sizeof projection, "merc +lat_ts=%.9g +lon_0=%.9g +over", latitude[0],
                 grid->first_longitude_deg);
    snprintf(text, sizeof text,
             "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
             "+step +proj=%s +a=%.9g +b=%.9g",
             projection, grid->equator_m, grid->pole_m);
    return proj_create(context, text);
}

static void to_plane(PJ *plane, double latitude_deg, double longitude_deg, double *x, double *y)
{
    PJ_COORD at = proj_trans(plane, PJ_FWD, proj_coord(longitude_deg, latitude_deg, 0.0, 0.0));
    *x = at.xy.x;
    *y = at.xy.y;
}

/* A longitude east of the first point of a Mercator grid, which has its x from there. */
static double on_grid(const pappus_grib_grid *grid, double longitude_deg)
{
    if (grid->projection != PAPPUS_GRIB_MERCATOR) return longitude_deg;
    double east = fmod(longitude_deg - grid->first_longitude_deg, 360.0);
    double edge_deg = EDGE;
    if (grid->westward) return grid->first_longitude_deg + (east > edge_deg ? east - 360.0 : east);
    return grid->first_longitude_deg + (east < -edge_deg ? east + 360.0 : east);
}

/* The direction of the meridian at x, y of the plane. */
static bool find_angle(pappus_grib_place *place, PJ *plane, int corner, double x, double y)
{
    double north_x, north_y;
    PJ_COORD at = proj_trans(plane, PJ_INV, proj_coord(x, y, 0.0, 0.0));
    to_plane(plane, at.lp.phi + MERIDIAN_STEP_DEG, at.lp.lam, &north_x, &north_y);
    double angle = atan2(north_x - x, north_y - y);
    place->cosine[corner] = cos(angle);
    place->sine[corner] = sin(angle);
    return isfinite(angle);
}

static bool find_on_plane(pappus_grib_place *place, const pappus_grib_grid *grid, PJ *plane,
                          double latitude_deg, double longitude_deg, double share[2])
{
    double x, y, west, north;
    to_plane(plane, grid->first_latitude_deg, grid->first_longitude_deg, &west, &north);
    if (grid->westward) west -= grid->step_x * (grid->width - 1);
    if (grid->northward) north += grid->step_y * (grid->height - 1);
    to_plane(plane, latitude_deg, on_grid(grid, longitude_deg), &x, &y);
    if (!between((x - west) / grid->step_x, grid->width, place->column, &share[0]) ||
        !between((north - y) / grid->step_y, grid->height, place->row, &share[1]))
        return false;
    bool turned = grid->wind_along_grid && grid->projection != PAPPUS_GRIB_MERCATOR;
    for (int i = 0; turned && i < CORNERS; i++)
        if (!find_angle(place, plane, i, west + grid->step_x * place->column[i % 2],
                        north - grid->step_y * place->row[i / 2]))
            return false;
    return true;
}

static bool locate_on_plane(pappus_grib_place *place, const pappus_grib_grid *grid,
                            double latitude_deg, double longitude_deg, double share[2])
{
    PJ_CONTEXT *context = proj_context_create();
    if (!context) return false;
    proj_log_level(context, PJ_LOG_NONE);
    PJ *plane = open_plane(context, grid);
    bool found = plane && find_on_plane(place, grid, plane, latitude_deg, longitude_deg, share);
    proj_destroy(plane);
    proj_context_destroy(context);
    return found;
}

static bool locate(pappus_grib_place *place, const pappus_grib_grid *grid, double latitude_deg,
                   double longitude_deg, double share[2])
{
    switch (grid->projection) {
    case PAPPUS_GRIB_UNKNOWN_GRID:
        return false;
    case PAPPUS_GRIB_LATLON:
        return find_row(place, grid, latitude_deg, &share[1]) &&
               find_column(place, grid, longitude_deg, &share[0]);
    case PAPPUS_GRIB_GAUSSIAN:
        return find_gaussian_row(place, grid, latitude_deg, &share[1]) &&
               find_column(place, grid, longitude_deg, &share[0]);
    default:
        return locate_on_plane(place, grid, latitude_deg, longitude_deg, share);
    }
}

bool pappus_grib_locate(pappus_grib_place *out, const pappus_grib_grid *grid, double latitude_deg,
                        double longitude_deg)
{
    double share[2] = {0.0, 0.0};
    *out = (pappus_grib_place){0};
    for (int i = 0; i < CORNERS; i++)
        out->cosine[i] = 1.0;
    if (grid->width < 1 || grid->height < 1) return false;
    if (!locate(out, grid, latitude_deg, longitude_deg, share)) return false;
    for (int i = 0; i < CORNERS; i++)
        out->weight[i] = (i % 2 ? share[0] : 1.0 - share[0]) * (i / 2 ? share[1] : 1.0 - share[1]);
    return true;
}
