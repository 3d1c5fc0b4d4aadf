/* SPDX-License-Identifier: GPL-3.0-or-later
 * The local plane is PROJ's azimuthal equidistant projection about the pad on
 * the WGS 84 ellipsoid, which solves the geodesic (Karney, J. Geodesy 87:43,
 * 2013): distance and bearing from the pad are exact; across the line of sight
 * lengths stretch by about (r/R)^2/6, 4e-7 at 10 km and 4e-5 at 100 km.
 * Datums: where PROJ has no grid for a shift it falls back to parameters or to
 * none, which can err by metres (NAD 27) or a metre or two (NAD 83 as WGS 84). */
#include "geodesy.h"
#include "error.h"
#include "c_locale.h"

#include <math.h>
#include <proj.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PLANE "+proj=aeqd +lat_0=%.12f +lon_0=%.12f +units=m "
#define PLANE_CRS PLANE "+datum=WGS84 +no_defs +type=crs"
#define TO_PLANE                                                                                   \
    "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step " PLANE "+ellps=WGS84"
#define FROM_PLANE                                                                                 \
    "+proj=pipeline +step +inv " PLANE "+ellps=WGS84 +step +proj=unitconvert +xy_in=rad "          \
    "+xy_out=deg"

struct pappus_transform {
    PJ_CONTEXT *context;
    PJ *operation;
};

struct pappus_frame {
    pappus_transform *to_local, *to_geographic;
};

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
    transform->context = context_new();
    int status =
        transform->context ? transform_make(transform, from, to, &why) : pappus_fail_memory(&why);
    if (status != PAPPUS_OK) {
        if (err && err->code == PAPPUS_OK) *err = why;
        pappus_transform_free(transform);
        return why.code;
    }
    *out = transform;
    return PAPPUS_OK;
}

void pappus_transform_run(const pappus_transform *transform, size_t count, double *xy)
{
    size_t stride = 2 * sizeof *xy;
    if (count == 0) return;
    proj_errno_reset(transform->operation);
    proj_trans_generic(transform->operation, PJ_FWD, xy, stride, count, xy + 1, stride, count, NULL,
                       0, 0, NULL, 0, 0);
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

/* The plane as a step of a pipeline and as a reference system; coordinates to 1e-12 degrees. */
static int plane_text(char *out, size_t size, const char *form, double latitude_deg,
                      double longitude_deg, pappus_error *err)
{
    pappus_locale locale;
    if (!(fabs(latitude_deg) <= 90.0) || !(fabs(longitude_deg) <= 360.0))
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, "site", NULL,
                           "latitude must be -90 to 90 and longitude -180 to 180 degrees");
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    snprintf(out, size, form, latitude_deg, longitude_deg);
    pappus_locale_leave(&locale);
    return PAPPUS_OK;
}

/* Between the plane and longitude and latitude on the same ellipsoid: no more than a formula,
 * for which PROJ need not look into its database. */
static int plane_new(pappus_transform **out, const char *form, double latitude_deg,
                     double longitude_deg, pappus_error *err)
{
    char text[256];
    *out = NULL;
    int status = plane_text(text, sizeof text, form, latitude_deg, longitude_deg, err);
    if (status != PAPPUS_OK) return status;
    pappus_transform *transform = calloc(1, sizeof *transform);
    if (!transform) return pappus_fail_memory(err);
    transform->context = context_new();
    if (transform->context) transform->operation = proj_create(transform->context, text);
    double pad[2] = {longitude_deg, latitude_deg};
    if (transform->operation) pappus_transform_run(transform, 1, pad);
    if (transform->operation && !isnan(pad[0])) {
        *out = transform;
        return PAPPUS_OK;
    }
    bool made = transform->operation != NULL;
    pappus_transform_free(transform);
    /* short of memory PROJ may make what takes no place */
    return made ? pappus_fail_memory(err) : fail_unusable(err);
}

int pappus_transform_from_local(pappus_transform **out, double latitude_deg, double longitude_deg,
                                int epsg, pappus_error *err)
{
    char local[160], target[32];
    *out = NULL;
    if (epsg == PAPPUS_EPSG_WGS84)
        return plane_new(out, FROM_PLANE, latitude_deg, longitude_deg, err);
    int status = plane_text(local, sizeof local, PLANE_CRS, latitude_deg, longitude_deg, err);
    if (status != PAPPUS_OK) return status;
    snprintf(target, sizeof target, "EPSG:%d", epsg);
    return pappus_transform_new(out, local, target, err);
}

int pappus_utm_epsg(double latitude_deg, double longitude_deg)
{
    if (!(latitude_deg >= -80.0 && latitude_deg <= 84.0) || !isfinite(longitude_deg)) return 0;
    double east = fmod(longitude_deg + 180.0, 360.0);
    int zone = (int)((east < 0.0 ? east + 360.0 : east) / 6.0) + 1;
    return (latitude_deg < 0.0 ? 32700 : 32600) + (zone > 60 ? 60 : zone);
}

static char *crs_text(PJ_CONTEXT *context, int epsg)
{
    static const char *const options[] = {"MULTILINE=NO", NULL};
    char name[32];
    snprintf(name, sizeof name, "EPSG:%d", epsg);
    PJ *crs = proj_create(context, name);
    const char *text = crs ? proj_as_wkt(context, crs, PJ_WKT1_ESRI, options) : NULL;
    char *copy = text ? strdup(text) : NULL;
    proj_destroy(crs);
    return copy;
}

int pappus_crs_wkt(char **out, int epsg, pappus_error *err)
{
    PJ_CONTEXT *context = context_new();
    *out = NULL;
    if (!context) return pappus_fail_memory(err);
    *out = crs_text(context, epsg);
    proj_context_destroy(context);
    if (*out) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                       "PROJ gives no text for EPSG:%d (is its database proj.db installed?)", epsg);
}

/* ------------------------------------------------------------------- frame */

int pappus_frame_new(pappus_frame **out, double latitude_deg, double longitude_deg,
                     pappus_error *err)
{
    *out = NULL;
    pappus_frame *frame = calloc(1, sizeof *frame);
    if (!frame) return pappus_fail_memory(err);
    int status = plane_new(&frame->to_local, TO_PLANE, latitude_deg, longitude_deg, err);
    if (status == PAPPUS_OK)
        status = plane_new(&frame->to_geographic, FROM_PLANE, latitude_deg, longitude_deg, err);
    if (status != PAPPUS_OK) {
        pappus_frame_free(frame);
        return status;
    }
    *out = frame;
    return PAPPUS_OK;
}

static int fail_places(pappus_error *err, size_t count, const double *xy, const char *message)
{
    for (size_t i = 0; i < count; i++)
        if (isnan(xy[2 * i]))
            return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL, "point %zu %s", i + 1,
                               message);
    return PAPPUS_OK;
}

static void swap_pairs(size_t count, double *out, const double *in)
{
    for (size_t i = 0; i < count; i++) {
        double first = in[2 * i], second = in[2 * i + 1];
        out[2 * i] = second;
        out[2 * i + 1] = first;
    }
}

int pappus_frame_to_local(const pappus_frame *frame, size_t count,
                          const double *latitude_longitude_deg, double *east_north_m,
                          pappus_error *err)
{
    swap_pairs(count, east_north_m, latitude_longitude_deg);
    pappus_transform_run(frame->to_local, count, east_north_m);
    return fail_places(err, count, east_north_m, "is no place on the local plane of the pad");
}

int pappus_frame_to_geographic(const pappus_frame *frame, size_t count, const double *east_north_m,
                               double *latitude_longitude_deg, pappus_error *err)
{
    if (count > 0 && latitude_longitude_deg != east_north_m)
        memmove(latitude_longitude_deg, east_north_m, 2 * count * sizeof *east_north_m);
    pappus_transform_run(frame->to_geographic, count, latitude_longitude_deg);
    swap_pairs(count, latitude_longitude_deg, latitude_longitude_deg);
    return fail_places(err, count, latitude_longitude_deg, "has no latitude and longitude");
}

void pappus_frame_free(pappus_frame *frame)
{
    if (!frame) return;
    pappus_transform_free(frame->to_local);
    pappus_transform_free(frame->to_geographic);
    free(frame);
}
