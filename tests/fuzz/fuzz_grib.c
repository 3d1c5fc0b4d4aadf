/* SPDX-License-Identifier: GPL-3.0-or-later
 * Any bytes as a GRIB file: its sections are scanned as they are for every forecast. (What
 * GDAL unpacks after that happens in a process of its own: test_grib has its mutations.) */
#include "grib_scan.h"

#include "fuzz_file.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *path = fuzz_file("field.grib", data, size);
    pappus_grib_fields fields;
    pappus_error error = {0};
    int status = pappus_grib_scan(&fields, path, PAPPUS_E_WIND, &error);
    if (status != PAPPUS_OK && error.message[0] == '\0') abort();
    if (status == PAPPUS_OK && fields.count == 0) abort();
    pappus_grib_fields_clear(&fields);
    return 0;
}
