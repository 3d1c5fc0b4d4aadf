/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a field file: as boundary, keep-out and roads; bytes that begin like
 * a shapefile are cut into .shp and .shx at their middle, with a good .prj. Nothing
 * may be read outside, leaked or hang, and a refusal must say something. */
#include <pappus/pappus.h>

#include "fuzz_file.h"

#include <math.h>

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
    pappus_plan plan = {.path = (char *)"plan.json"};
    plan.field.radius_m = NAN;
    const char *shp = fuzz_file("field.shp", data, middle);
    fuzz_file("field.shx", data + middle, size - middle);
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
