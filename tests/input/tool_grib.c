/* SPDX-License-Identifier: GPL-3.0-or-later
 * Prints every value of a GRIB file at a place, for a script to compare with another
 * decoder: tool_grib FILE LATITUDE LONGITUDE. */
#include "grib_point.h"

#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv)
{
    static const char *const elements[] = {"other", "u", "v", "t", "gh", "z", "gust"};
    static const char *const levels[] = {"none", "isobaric", "above_ground", "surface"};
    pappus_grib_values values;
    pappus_error error = {0};
    char line[1200];
    if (argc != 4) return 2;
    int status = pappus_grib_read(&values, argv[1], atof(argv[2]), atof(argv[3]), &error);
    if (status != PAPPUS_OK) {
        pappus_error_line(line, sizeof line, &error);
        fprintf(stderr, "%s\n", line);
        return pappus_status_exit(status);
    }
    for (size_t i = 0; i < values.count; i++) {
        const pappus_grib_value *v = &values.values[i];
        printf("%zu %s %s %.10g %.0f %.0f %d %.9g\n", v->field, elements[v->element],
               levels[v->level_kind], v->level, v->issued_utc_s, v->valid_utc_s, v->member,
               v->value);
    }
    pappus_grib_values_clear(&values);
    return 0;
}
