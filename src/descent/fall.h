/* SPDX-License-Identifier: GPL-3.0-or-later
 * One fall: everything that the equation of motion needs for one landing, every
 * uncertain value drawn. The two integrators (reference.c, engine.c) take the
 * same pappus_fall and the same wind and must give the same pappus_touchdown.
 *
 *   m dv/dt = -m g z - 1/2 rho(z) CdA(t) |v - w| (v - w),  w = (u(z), v(z), 0)
 *   CdA = body + drogue + held + main
 *
 * body   = body_before_m2 until a canopy's event has fired, body_after_m2 after; an open
 *          canopy takes its `shields` off: the body no longer tumbles beside it.
 * drogue = 0 before apogee_fire_s, then CdS * min(1, tau/t_open)^2, or with no
 *          opening time (NaN) CdS * min(1, s/fill)^2, s the air distance since.
 * held   = held_cds_m2 from apogee_fire_s until the main fires.
 * main   = like the drogue, from the main's firing: the earliest of main_fire_s
 *          and (time of passing trigger_height_m[i]) + trigger_delay_s[i].
 *          A trigger height above the apogee counts as passed at time 0.
 * loads  = C_x max 1/2 rho s^2 CdS_own from firing to PAPPUS_LOAD_S after full open; what
 *          comes later, the slip in the wind near the ground, is no opening.
 * Times are from apogee. Ends at height 0.
 */
#ifndef PAPPUS_DESCENT_FALL_H
#define PAPPUS_DESCENT_FALL_H

#include <pappus/landings.h>
#include "air.h"
#include "si.h"

#define PAPPUS_TRIGGERS 4
#define PAPPUS_LOAD_S 2.0

typedef struct {
    double mass_kg;
    double body_before_m2, body_after_m2;
    double start_s;                   /**< 0, or the negative time of an early apogee event */
    double east_m, north_m, height_m; /**< at start_s; height_m > 0 */
    double ve_mps, vn_mps, vup_mps;   /**< at start_s */
    double apogee_m;                  /**< height at time 0 without early event */
    double apogee_fire_s;             /**< >= start_s; INFINITY: never */
    double drogue_cds_m2;             /**< 0: none, or it failed */
    double drogue_open_s;             /**< NaN: opens over drogue_fill_m */
    double drogue_fill_m;             /**< n D_o */
    double drogue_shields_m2, main_shields_m2; /**< body drag that is gone once it is open */
    double drogue_cx;
    double held_cds_m2;
    double main_cds_m2; /**< 0: none, or it failed */
    double main_open_s, main_fill_m, main_cx;
    double main_fire_s; /**< fires at this time whatever the height; INFINITY: no */
    int trigger_count;
    double trigger_height_m[PAPPUS_TRIGGERS]; /**< true heights */
    double trigger_delay_s[PAPPUS_TRIGGERS];
} pappus_fall;

typedef struct {
    double time_s; /**< from apogee */
    double east_m, north_m;
    double ve_mps, vn_mps, vup_mps;
    double drogue_fire_mps,
        main_fire_mps;                 /**< airspeed at firing; NaN: did not fire or no canopy */
    double drogue_load_n, main_load_n; /**< opening loads; NaN likewise */
    double main_fire_m;                /**< true height; NaN: never */
    double main_full_open_m;           /**< true height; 0: never before the ground */
    double time_full_open_s;           /**< NaN: never */
} pappus_touchdown;

#endif
