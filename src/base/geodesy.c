/* SPDX-License-Identifier: GPL-3.0-or-later
 * The local plane is the azimuthal equidistant projection about the pad on the WGS 84
 * ellipsoid, by PROJ's geodesics (Karney, J. Geodesy 87:43, 2013): distance and bearing from
 * the pad are exact; across the line of sight lengths stretch by about (r/R)^2/6, 4e-7 at
 * 10 km and 4e-5 at 100 km. They need no memory and none of PROJ's data.
 * Datums: where PROJ has no grid for a shift it falls back to parameters or to
 * none, which can err by metres (NAD 27) or a metre or two (NAD 83 as WGS 84). */
#include "geodesy.h"
#include "error.h"

#include <geodesic.h>
#include <math.h>
#include <proj.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* WGS 84: NGA.STND.0036, 2014, table 3.1. */
#define EQUATOR_M 6378137.0
#define FLATTENING (1.0 / 298.257223563)

#define RADIANS (3.14159265358979323846 / 180.0)

typedef struct {
    struct geod_geodesic earth;
    double latitude_deg, longitude_deg;
} plane;

struct pappus_frame {
    plane plane;
};

struct pappus_transform {
    bool from_plane; /* first */
    plane plane;
    PJ_CONTEXT *context;
    PJ *operation; /* then; NULL: none */
};

/* ------------------------------------------------------------------- plane */

static int plane_make(plane *out, double latitude_deg, double longitude_deg, pappus_error *err)
{
    if (!(fabs(latitude_deg) <= 90.0) || !(fabs(longitude_deg) <= 360.0))
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, "site", NULL,
                           "latitude must be -90 to 90 and longitude -180 to 180 degrees");
    geod_init(&out->earth, EQUATOR_M, FLATTENING);
    out->latitude_deg = latitude_deg;
    out->longitude_deg = longitude_deg;
    return PAPPUS_OK;
}

static void plane_enter(const plane *from, size_t count, double *latitude_longitude_deg)
{
    for (size_t i = 0; i < count; i++) {
        double *at = &latitude_longitude_deg[2 * i], distance_m, azimuth_deg;
        geod_inverse(&from->earth, from->latitude_deg, from->longitude_deg, at[0], at[1],
                     &distance_m, &azimuth_deg, NULL);
        at[0] = distance_m * sin(azimuth_deg * RADIANS);
        at[1] = distance_m * cos(azimuth_deg * RADIANS);
    }
}

static void plane_leave(const plane *to, size_t count, double *east_north_m)
{
    for (size_t i = 0; i < count; i++) {
        double *at = &east_north_m[2 * i], distance_m = hypot(at[0], at[1]);
        geod_direct(&to->earth, to->latitude_deg, to->longitude_deg, atan2(at[0], at[1]) / RADIANS,
                    distance_m, &at[0], &at[1], NULL);
    }
}

static void swap_pairs(size_t count, double *pairs)
{
    for (size_t i = 0; i < count; i++) {
        double first = pairs[2 * i];
        pairs[2 * i] = pairs[2 * i + 1];
        pairs[2 * i + 1] = first;
    }
}

/* -------------------------------------------------------- reference systems */

#define WGS84                                                                                      \
    "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]]" \
    ","                                                                                            \
    "PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]"
#define UTM                                                                                        \
    "PROJCS[\"WGS_1984_UTM_Zone_%d%c\"," WGS84 ",PROJECTION[\"Transverse_Mercator\"],"             \
    "PARAMETER[\"False_Easting\",500000.0],PARAMETER[\"False_Northing\",%s],"                      \
    "PARAMETER[\"Central_Meridian\",%d.0],PARAMETER[\"Scale_Factor\",0.9996],"                     \
    "PARAMETER[\"Latitude_Of_Origin\",0.0],UNIT[\"Meter\",1.0]]"

static PJ_CONTEXT *context_new(void)
{
    PJ_CONTEXT *context = proj_context_create();
    if (!context) return NULL;
    proj_log_level(context, PJ_LOG_NONE);
    proj_context_set_enable_network(context, 0);
    return context;
}

static int fail_unusable(pappus_error *err)
{
    return pappus_fail(err, PAPPUS_E_SYSTEM, NULL, NULL, NULL,
                       "PROJ cannot be used, as when memory is short");
}

/* Why a reference system, or a way to one, cannot be made. A file's own comes as WKT; ours are
 * right, and fail for want of memory or of PROJ's data. */
static int refuse_crs(PJ_CONTEXT *context, const char *text, const char *why, pappus_error *err)
{
    if (!proj_context_get_database_path(context))
        return pappus_fail(err, PAPPUS_E_SYSTEM, NULL, NULL, NULL,
                           "PROJ's data (proj.db) is not found: install proj-data, or name its "
                           "folder in PROJ_DATA");
    if (!strchr(text, '[')) return fail_unusable(err);
    return pappus_fail(err, PAPPUS_E_FIELD, NULL, NULL, text, "%s", why);
}

static PJ *crs_new(PJ_CONTEXT *context, const char *text, pappus_error *err)
{
    PJ *crs = proj_create(context, text);
    if (crs && proj_is_crs(crs)) return crs;
    proj_destroy(crs);
    refuse_crs(context, text, "is not a reference system that PROJ knows", err);
    return NULL;
}

static int transform_make(pappus_transform *transform, const char *from, const char *to,
                          pappus_error *err)
{
    PJ *source = crs_new(transform->context, from, err);
    PJ *target = source ? crs_new(transform->context, to, err) : NULL;
    PJ *raw = NULL;
    if (target)
        raw = proj_create_crs_to_crs_from_pj(transform->context, source, target, NULL, NULL);
    if (raw) transform->operation = proj_normalize_for_visualization(transform->context, raw);
    proj_destroy(raw);
    proj_destroy(target);
    proj_destroy(source);
    if (transform->operation) return PAPPUS_OK;
    if (err->code != PAPPUS_OK) return err->code;
    return refuse_crs(transform->context, from, "cannot be brought to the pad's reference system",
                      err);
}

int pappus_transform_new(pappus_transform **out, const char *from, const char *to,
                         pappus_error *err)
{
    pappus_error why = {0};
    *out = NULL;
    pappus_transform *transform = calloc(1, sizeof *transform);
    if (!transform) return pappus_fail_memory(err);
    *out = transform;
    if (strcmp(from, WGS84) == 0 && strcmp(to, "EPSG:4326") == 0) return PAPPUS_OK;
    transform->context = context_new();
    int status =
        transform->context ? transform_make(transform, from, to, &why) : pappus_fail_memory(&why);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    if (err && err->code == PAPPUS_OK) *err = why;
    pappus_transform_free(transform);
    *out = NULL;
    return status;
}

void pappus_transform_run(const pappus_transform *transform, size_t count, double *xy)
{
    size_t stride = 2 * sizeof *xy;
    if (count == 0) return;
    if (transform->from_plane) {
        plane_leave(&transform->plane, count, xy);
        swap_pairs(count, xy);
    }
    if (transform->operation) {
        proj_errno_reset(transform->operation);
        proj_trans_generic(transform->operation, PJ_FWD, xy, stride, count, xy + 1, stride, count,
                           NULL, 0, 0, NULL, 0, 0);
    }
    for (size_t i = 0; i < count; i++)
        if (!isfinite(xy[2 * i]) || !isfinite(xy[2 * i + 1])) xy[2 * i] = xy[2 * i + 1] = NAN;
}

void pappus_transform_free(pappus_transform *transform)
{
    if (!transform) return;
    proj_destroy(transform->operation);
    if (transform->context) proj_context_destroy(transform->context);
    free(transform);
}

int pappus_transform_from_local(pappus_transform **out, double latitude_deg, double longitude_deg,
                                int epsg, pappus_error *err)
{
    char target[32];
    plane at_pad;
    *out = NULL;
    int status = plane_make(&at_pad, latitude_deg, longitude_deg, err);
    snprintf(target, sizeof target, "EPSG:%d", epsg);
    if (status == PAPPUS_OK) status = pappus_transform_new(out, WGS84, target, err);
    if (status != PAPPUS_OK) return status;
    (*out)->from_plane = true;
    (*out)->plane = at_pad;
    return PAPPUS_OK;
}

int pappus_utm_epsg(double latitude_deg, double longitude_deg)
{
    if (!(latitude_deg >= -80.0 && latitude_deg <= 84.0) || !isfinite(longitude_deg)) return 0;
    double east = fmod(longitude_deg + 180.0, 360.0);
    int zone = (int)((east < 0.0 ? east + 360.0 : east) / 6.0) + 1;
    return (latitude_deg < 0.0 ? 32700 : 32600) + (zone > 60 ? 60 : zone);
}

int pappus_crs_wkt(char **out, int epsg, pappus_error *err)
{
    bool south = epsg > 32700;
    int zone = epsg - (south ? 32700 : 32600);
    char text[600] = WGS84;
    *out = NULL;
    if (epsg != PAPPUS_EPSG_WGS84) {
        if (zone < 1 || zone > 60)
            return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                               "EPSG:%d is neither WGS 84 nor a UTM zone of it", epsg);
        snprintf(text, sizeof text, UTM, zone, south ? 'S' : 'N', south ? "10000000.0" : "0.0",
                 6 * zone - 183);
    }
    *out = strdup(text);
    return *out ? PAPPUS_OK : pappus_fail_memory(err);
}

/* ------------------------------------------------------------------- frame */

int pappus_frame_new(pappus_frame **out, double latitude_deg, double longitude_deg,
                     pappus_error *err)
{
    plane at_pad;
    *out = NULL;
    int status = plane_make(&at_pad, latitude_deg, longitude_deg, err);
    if (status != PAPPUS_OK) return status;
    *out = malloc(sizeof **out);
    if (!*out) return pappus_fail_memory(err);
    (*out)->plane = at_pad;
    return PAPPUS_OK;
}

static int fail_places(pappus_error *err, size_t count, const double *xy, const char *message)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(xy[2 * i]) || !isfinite(xy[2 * i + 1]))
            return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL, "point %zu %s", i + 1,
                               message);
    return PAPPUS_OK;
}

static void copy_pairs(size_t count, double *out, const double *in)
{
    if (count > 0 && out != in) memmove(out, in, 2 * count * sizeof *out);
}

int pappus_frame_to_local(const pappus_frame *frame, size_t count,
                          const double *latitude_longitude_deg, double *east_north_m,
                          pappus_error *err)
{
    copy_pairs(count, east_north_m, latitude_longitude_deg);
    plane_enter(&frame->plane, count, east_north_m);
    return fail_places(err, count, east_north_m, "is no place on the local plane of the pad");
}

int pappus_frame_to_geographic(const pappus_frame *frame, size_t count, const double *east_north_m,
                               double *latitude_longitude_deg, pappus_error *err)
{
    copy_pairs(count, latitude_longitude_deg, east_north_m);
    plane_leave(&frame->plane, count, latitude_longitude_deg);
    return fail_places(err, count, latitude_longitude_deg, "has no latitude and longitude");
}

void pappus_frame_free(pappus_frame *frame)
{
    free(frame);
}
