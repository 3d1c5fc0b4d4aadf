/* SPDX-License-Identifier: GPL-3.0-or-later
 * Drag of a body whose plan does not give it. Crosswise a cylinder shows length times
 * diameter at a coefficient of 1.0; nose first its disc at 0.5 (our assumptions: about
 * what blunt bodies with fins have at these Reynolds numbers). With no size either, the
 * drag area at which its mean mass falls steadily at an assumed speed at sea level.
 *
 * Stops being right: bodies that stay flat or end on while they fall; transonic falls. */
#include "body_drag.h"

#include <math.h>

#define CROSSWISE_COEFFICIENT 1.0   /* A */
#define END_ON_COEFFICIENT 0.5      /* A */
#define TUMBLE_TERMINAL_MPS 35.0    /* A */
#define BALLISTIC_TERMINAL_MPS 90.0 /* A */
#define SEA_LEVEL_DENSITY_KGPM3 1.225
#define GRAVITY_MPS2 9.80665

static double steady_m2(double mass_kg, double speed_mps)
{
    return 2.0 * mass_kg * GRAVITY_MPS2 / (SEA_LEVEL_DENSITY_KGPM3 * speed_mps * speed_mps);
}

static bool has_size(const pappus_rocket *rocket)
{
    return rocket->length_m > 0.0 && rocket->diameter_m > 0.0;
}

double pappus_body_tumble_m2(const pappus_rocket *rocket)
{
    if (has_size(rocket)) return rocket->length_m * rocket->diameter_m * CROSSWISE_COEFFICIENT;
    return steady_m2(rocket->mass_kg.mean, TUMBLE_TERMINAL_MPS);
}

double pappus_body_ballistic_m2(const pappus_rocket *rocket)
{
    double d = rocket->diameter_m;
    if (has_size(rocket)) return 0.25 * M_PI * d * d * END_ON_COEFFICIENT;
    return steady_m2(rocket->mass_kg.mean, BALLISTIC_TERMINAL_MPS);
}
