/* SPDX-License-Identifier: GPL-3.0-or-later
 * A situation to choose in: the flight of descent/real_air.h with uncertain values,
 * limits, and a field of rectangles. All figures are our own. */
#ifndef PAPPUS_TESTS_SITUATION_H
#define PAPPUS_TESTS_SITUATION_H

#include <pappus/pappus.h>

#include "descent/real_air.h"
#include "uncertain.h"

#define RECTANGLES 4

typedef struct {
    flight_setup flight;
    double corners[RECTANGLES][8];
    pappus_ring rings[RECTANGLES];
    pappus_polygon polygons[RECTANGLES];
    pappus_area keep_outs[RECTANGLES];
    pappus_field field;
    pappus_givens given;
    pappus_run run;
} choice_setup;

static inline pappus_area rectangle(choice_setup *s, int k, const char *name, double west,
                                    double south, double east, double north)
{
    double corners[8] = {west, south, east, south, east, north, west, north};
    for (int i = 0; i < 8; i++)
        s->corners[k][i] = corners[i];
    s->rings[k] = (pappus_ring){4, s->corners[k]};
    s->polygons[k] = (pappus_polygon){1, &s->rings[k]};
    return (pappus_area){(char *)(uintptr_t)name, 1, &s->polygons[k]};
}

static inline void choice_setup_set(choice_setup *s)
{
    *s = (choice_setup){0};
    flight_setup_set(&s->flight);
    pappus_plan *plan = &s->flight.plan;
    plan->apogee.height_m = pappus_normal(1500.0, 60.0);
    plan->apogee.spread_m = 30.0;
    plan->drogue.drag_area_m2 = pappus_normal(0.25, 0.02);
    plan->main.drag_area_m2 = pappus_normal(3.6, 0.3);
    plan->wind.error_mps = 1.0;
    plan->landings = 4000;
    plan->seed = 1;
    plan->limits = (pappus_limits){.inside_field = 0.95,
                                   .keep_out = 0.01,
                                   .surface_wind_mps = NAN,
                                   .landing_speed_mps = NAN,
                                   .landing_energy_j = NAN,
                                   .opening_load = NAN,
                                   .main_height_m = NAN};
    plan->heights_from_m = 100.0;
    plan->heights_to_m = 500.0;
    plan->heights_step_m = 50.0;
    s->field.keep_outs = s->keep_outs;
    s->given = (pappus_givens){.plan = plan, .winds = &s->flight.winds, .field = &s->field};
    s->run = (pappus_run)PAPPUS_RUN_INIT;
    s->run.threads = 2;
}

static inline void set_boundary(choice_setup *s, double west, double south, double east,
                                double north)
{
    s->field.has_boundary = true;
    s->field.boundary = rectangle(s, 0, "field", west, south, east, north);
}

static inline void add_keep_out(choice_setup *s, const char *name, double west, double south,
                                double east, double north)
{
    int k = (int)s->field.keep_out_count++;
    s->keep_outs[k] = rectangle(s, k + 1, name, west, south, east, north);
}

static inline void choice_setup_build(choice_setup *s)
{
    flight_setup_build(&s->flight);
    s->given.air = s->flight.air;
}

static inline void choice_setup_end(choice_setup *s)
{
    pappus_air_free(s->flight.air);
}

#endif
