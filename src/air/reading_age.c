/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a measured wind is worth when it has grown old. Between two times `age` apart the wind
 * changes by growth * age^(1/3) per component, half of that at the ground: the law that was
 * measured on soundings (wind_error.c), without the error of the earlier measurement, which the
 * reading has of its own.
 *
 * Where it stops being right: two readings of one height share the change since the newer one, so
 * that they are not to be taken as independent. Below an hour the law is taken from longer
 * intervals: gusts and turns of minutes are in the reading's own error. */
#include <pappus/air.h>

#include "wind_error.h"

#include <math.h>

double pappus_reading_error_mps(const pappus_wind_plan *plan, double error_mps, double height_m,
                                double age_s)
{
    pappus_wind_error change = pappus_wind_error_of(plan, PAPPUS_WIND_SOUNDING);
    change.error_mps = 0.0;
    double age_h = fabs(age_s) / 3600.0;
    return hypot(error_mps, pappus_wind_error_sd_mps(&change, height_m, age_h));
}
