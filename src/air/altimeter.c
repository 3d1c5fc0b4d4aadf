/* SPDX-License-Identifier: GPL-3.0-or-later
 * A barometric altimeter measures pressure p and shows heights of the standard
 * atmosphere: h = H_std(p) - H_std(p_pad). In warm air it shows too little, so
 * that it deploys high; in cold air it deploys low. Pressure falls strictly with
 * height, so both ways are single-valued and exact. Static-port errors are not
 * here: they belong to the plan's height_error. */
#include "altimeter.h"

static double pad_shown_m(const pappus_atmosphere *atmosphere)
{
    return pappus_standard_height_m(pappus_atmosphere_pressure_pa(atmosphere, 0.0));
}

double pappus_altimeter_indicated_m(const pappus_atmosphere *atmosphere, double height_m)
{
    return pappus_standard_height_m(pappus_atmosphere_pressure_pa(atmosphere, height_m)) -
           pad_shown_m(atmosphere);
}

double pappus_altimeter_true_m(const pappus_atmosphere *atmosphere, double indicated_m)
{
    double pressure = pappus_standard_pressure_pa(pad_shown_m(atmosphere) + indicated_m);
    return pappus_atmosphere_height_m(atmosphere, pressure);
}
