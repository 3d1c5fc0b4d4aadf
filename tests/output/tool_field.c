/* SPDX-License-Identifier: GPL-3.0-or-later
 * For test_field.py: tool_field LATITUDE LONGITUDE BOUNDARY POINTS
 * reads the boundary, prints its rings in local metres ("ring N", then east north
 * per line), then for each "east north" line of POINTS 1 or 0. */
#include "containment.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static int print_rings(const pappus_area *area)
{
    for (size_t i = 0; i < area->polygon_count; i++)
        for (size_t k = 0; k < area->polygons[i].ring_count; k++) {
            const pappus_ring *ring = &area->polygons[i].rings[k];
            printf("ring %zu\n", ring->point_count);
            for (size_t j = 0; j < ring->point_count; j++)
                printf("%.9f %.9f\n", ring->points_m[2 * j], ring->points_m[2 * j + 1]);
        }
    return 0;
}

static int print_flags(const pappus_area *area, const char *path)
{
    pappus_containment *containment;
    double east, north;
    uint8_t inside;
    FILE *file = fopen(path, "r");
    if (!file || pappus_containment_new(&containment, area, NULL) != PAPPUS_OK) return 1;
    printf("flags\n");
    while (fscanf(file, "%lf %lf", &east, &north) == 2) {
        if (pappus_containment_test(&inside, containment, 1, &east, &north, 1, NULL)) return 1;
        printf("%d\n", inside);
    }
    pappus_containment_free(containment);
    return fclose(file) != 0;
}

int main(int count, char **arguments)
{
    pappus_plan plan = {0};
    pappus_field *field;
    pappus_log log = {0};
    char line[1200];
    if (count != 5) return 2;
    plan.path = arguments[0];
    plan.site.latitude_deg = atof(arguments[1]);
    plan.site.longitude_deg = atof(arguments[2]);
    plan.field.radius_m = NAN;
    plan.field.boundary_path = arguments[3];
    int status = pappus_field_read(&field, &plan, &log);
    for (size_t i = 0; i < log.count; i++) {
        pappus_error_line(line, sizeof line, &log.entries[i].error);
        fprintf(stderr, "%s\n", line);
    }
    pappus_log_clear(&log);
    if (status != PAPPUS_OK) return 1;
    status = print_rings(&field->boundary) || print_flags(&field->boundary, arguments[4]);
    pappus_field_free(field);
    return status;
}
