/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a field file: as boundary, keep-out and roads; bytes that begin like
 * a shapefile are cut into .shp and .shx at their middle, with a good .prj. Nothing
 * may be read outside, leaked or hang, and a refusal must say something. (What GDAL
 * reads, it reads in a process of its own: test_vector has its mutations.) */
#include <pappus/pappus.h>

#include "geodesy.h"
#include "vector.h"

#include "fuzz_file.h"

#include <math.h>

/* PROJ is asked for the same plane and the same way to it over and over, which would be nearly
 * all the time spent here: the linker (--wrap) puts these in the place of the calls. */
int __wrap_pappus_frame_new(pappus_frame **, double, double, pappus_error *);
int __wrap_pappus_transform_new(pappus_transform **, const char *, const char *, pappus_error *);
int __real_pappus_frame_new(pappus_frame **, double, double, pappus_error *);
int __real_pappus_transform_new(pappus_transform **, const char *, const char *, pappus_error *);
void __wrap_pappus_frame_free(pappus_frame *);
void __wrap_pappus_transform_free(pappus_transform *);

static pappus_frame *plane;
static pappus_transform *way;

int __wrap_pappus_frame_new(pappus_frame **out, double latitude_deg, double longitude_deg,
                            pappus_error *err)
{
    if (!plane) __real_pappus_frame_new(&plane, latitude_deg, longitude_deg, err);
    *out = plane;
    return plane ? PAPPUS_OK : PAPPUS_E_SYSTEM;
}

int __wrap_pappus_transform_new(pappus_transform **out, const char *from, const char *to,
                                pappus_error *err)
{
    if (!way) __real_pappus_transform_new(&way, from, to, err);
    *out = way;
    return way ? PAPPUS_OK : PAPPUS_E_SYSTEM;
}

void __wrap_pappus_frame_free(pappus_frame *frame)
{
    (void)frame;
}

void __wrap_pappus_transform_free(pappus_transform *transform)
{
    (void)transform;
}

int LLVMFuzzerInitialize(int *count, char ***arguments);
int LLVMFuzzerInitialize(int *count, char ***arguments)
{
    static const char prj[] =
        "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,"
        "298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
    (void)count;
    (void)arguments;
    fuzz_file("field.prj", prj, sizeof prj - 1);
    return 0;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    bool shapefile = size > 8 && memcmp(data, "\0\0\x27\x0a", 4) == 0;
    size_t middle = shapefile ? size / 2 : size;
    if (!shapefile && pappus_vector_is((const char *)data, size)) return 0;
    pappus_plan plan = {.path = (char *)"plan.json"};
    plan.field.radius_m = NAN;
    const char *shp = fuzz_file("field.shp", data, middle);
    if (shapefile) fuzz_file("field.shx", data + middle, size - middle);
    for (int use = 0; use < 3; use++) {
        pappus_field *field;
        pappus_log log = {0};
        plan.field.boundary_path = use == 0 ? (char *)shp : NULL;
        plan.field.keep_out_path = use == 1 ? (char *)shp : NULL;
        plan.field.roads_path = use == 2 ? (char *)shp : NULL;
        int status = pappus_field_read(&field, &plan, &log);
        if ((status == PAPPUS_OK) != (field != NULL)) abort();
        if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
        pappus_field_free(field);
        pappus_log_clear(&log);
    }
    return 0;
}
