/* SPDX-License-Identifier: GPL-3.0-or-later
 * Loads GDAL by name. The handle is never closed: the process ends soon after. */
#include "gdal_calls.h"

#include "error.h"

#include <dlfcn.h>
#include <string.h>

static bool find(void *library, const char *name, void *call)
{
    void *found = dlsym(library, name);
    memcpy(call, &found, sizeof found); /* a function's address: POSIX, not ISO C */
    return found != NULL;
}

int pappus_gdal_load(pappus_gdal *gdal, int code, pappus_error *err)
{
    void *library = dlopen(PAPPUS_GDAL_LIBRARY, RTLD_NOW | RTLD_LOCAL);
    bool whole = library != NULL;
#define PAPPUS_GDAL_FIND(name) whole = whole && find(library, #name, &gdal->name);
    PAPPUS_GDAL_CALLS(PAPPUS_GDAL_FIND)
#undef PAPPUS_GDAL_FIND
    if (!whole)
        return pappus_fail(err, code, NULL, NULL, NULL,
                           "a file of this format is read with GDAL, and %s is not installed",
                           PAPPUS_GDAL_LIBRARY);
    gdal->CPLPushErrorHandler(gdal->CPLQuietErrorHandler);
    gdal->CPLSetConfigOption("GDAL_PAM_ENABLED", "NO");
    gdal->CPLSetConfigOption("GRIB_PDS_ALL_BANDS", "NO");
    gdal->CPLSetConfigOption("GDAL_DISABLE_READDIR_ON_OPEN", "EMPTY_DIR");
    gdal->CPLSetConfigOption("CPL_VSIL_CURL_ALLOWED_EXTENSIONS", "none");
    gdal->CPLSetConfigOption("GDAL_NUM_THREADS", "1");
    gdal->GDALAllRegister();
    return PAPPUS_OK;
}
