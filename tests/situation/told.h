/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a situation holds, as text, so that two of them can be compared. */
#ifndef PAPPUS_TEST_TOLD_H
#define PAPPUS_TEST_TOLD_H

#include <pappus/pappus.h>

#include "plan_keys.h"
#include "situation.h"

#include <stdio.h>
#include <stdlib.h>

static inline void print_log(FILE *out, const pappus_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        char line[1200];
        pappus_error_line(line, sizeof line, &log->entries[i].error);
        fprintf(out, "%d %s\n", log->entries[i].severity, line);
    }
}

static inline void print_area(FILE *out, const pappus_area *area)
{
    fprintf(out, "area %s\n", area->name ? area->name : "");
    for (size_t p = 0; p < area->polygon_count; p++)
        for (size_t r = 0; r < area->polygons[p].ring_count; r++)
            for (size_t i = 0; i < 2 * area->polygons[p].rings[r].point_count; i++)
                fprintf(out, "%a\n", area->polygons[p].rings[r].points_m[i]);
}

static inline void print_air(FILE *out, const pappus_air *air)
{
    for (double z = 0.0; z < 2200.0; z += 23.0) {
        double u, v;
        fprintf(out, "%a %a\n", pappus_air_temperature_k(air, z), pappus_air_pressure_pa(air, z));
        for (int prior = 0; prior < 2; prior++) {
            pappus_air_wind_quantile(air, prior, z, 0.3, &u, &v);
            fprintf(out, "%a %a\n", u, v);
        }
    }
    fprintf(out, "%a %a\n", pappus_air_surface_wind_mps(air), pappus_air_gust_mps(air));
}

/* A landing needs the air's grid, not its functions alone. */
static inline void print_flight(FILE *out, const pappus_givens *given)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_cloud *cloud = NULL;
    options.run.landings = 16;
    options.nominal_only = true;
    if (pappus_scatter(&cloud, given->plan, given->air, &options, NULL) != PAPPUS_OK) return;
    for (size_t i = 0; i < cloud->count; i++)
        fprintf(out, "%a %a\n", cloud->east_m[i], cloud->north_m[i]);
    pappus_cloud_free(cloud);
}

/* Everything that a situation holds, as text; paths: as the plan names them too. The caller
 * frees. */
static inline char *told_of(const pappus_situation *situation, bool paths)
{
    char *text = NULL;
    size_t size = 0;
    pappus_givens given = pappus_situation_givens(situation);
    FILE *out = open_memstream(&text, &size);
    fprintf(out, "%a %a %zu %llu\n", given.plan->site.latitude_deg, given.plan->site.longitude_deg,
            given.plan->landings, (unsigned long long)given.plan->seed);
    for (size_t i = 0; i < given.plan->entry_count; i++) {
        const pappus_plan_entry *e = &given.plan->entries[i];
        if (!paths && pappus_plan_key_holds_path(e->key)) continue;
        fprintf(out, "%s %s %s %d\n", e->key, e->given ? e->given : "", e->si, e->assumed);
    }
    fprintf(out, "%a\n", given.winds->age_s);
    for (size_t i = 0; i < given.winds->profile_count; i++) {
        const pappus_wind_profile *p = &given.winds->profiles[i];
        fprintf(out, "%s %a\n", p->path, p->weight);
        for (size_t k = 0; k < p->level_count; k++)
            fprintf(out, "%a %a %a\n", p->levels[k].height_m, p->levels[k].u_mps,
                    p->levels[k].v_mps);
    }
    print_area(out, &given.field->boundary);
    for (size_t i = 0; i < given.field->keep_out_count; i++)
        print_area(out, &given.field->keep_outs[i]);
    for (size_t i = 0; i < given.field->keep_out_count; i++)
        fprintf(out, "%a %a\n", given.field->keep_out_limit[i], given.field->keep_out_people[i]);
    fprintf(out, "%zu roads\n", given.field->road_count);
    print_air(out, given.air);
    print_flight(out, &given);
    pappus_log log = {0};
    pappus_situation_tell(&log, situation);
    print_log(out, &log);
    pappus_log_clear(&log);
    fclose(out);
    return text;
}

static inline char *told(const pappus_situation *situation)
{
    return told_of(situation, true);
}

static inline char *log_told(const pappus_log *log)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    print_log(out, log);
    fclose(out);
    return text;
}

#endif
