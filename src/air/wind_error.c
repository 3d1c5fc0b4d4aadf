/* SPDX-License-Identifier: GPL-3.0-or-later
 * The law of a profile's error, per component, over height z and age tau:
 *   sd = h(z) sqrt(error^2 + s (growth tau^(1/3))^2)    (tau^(1/3): Merceret, J. Appl.
 *        Meteor. 36:1567, 1997), h from ground_factor at the ground to 1 at 400 m and
 *        from 1 at 2000 m to top_factor at 4500 m and on,
 *        s = 1 + speed_share ((V / 8 m/s)^2 - 1), V the profile's mean wind vector from
 *        250 to 3250 m,
 *   correlation = exp(-|x(z1) - x(z2)|), x = z / L + decoupling (1 - exp(-z / 60 m)),
 *        L = correlation_growth sqrt(tau) (form: Hollingsworth and Loennberg, Tellus
 *        38A, 1986),
 * u and v alike, with one scale of both over all heights: a multivariate Student law
 * (Kotz and Nadarajah, Multivariate t Distributions, 2004). Sizes are covariances.
 *
 * What was measured: changes over 12, 24 and 48 h at Vienna (IGRA AUM00011035, Jan to
 * Jun 2015) and Perth (94610, 2014-15), each cut in halves by time. Largest likelihood
 * gives at both a ground factor of 0.42 to 0.52 reached at 390 to 410 m (at 24 and 48 h)
 * and, in each of the four halves, a decoupling of 0.2 over 31 to 84 m. Without it a
 * reading at the ground took too much off the error under a main: zones meant to hold
 * 90 % held 66 to 78 % with it, and hold 83 to 92 % now; without a reading 85 to 92 %.
 *
 * The daily cycle would ask for less decoupling at Perth (the sea breeze turns the lowest
 * kilometre at once) and for more at Vienna, so no term of the hour helps both: the
 * decoupling is a key, and pappus skill fits it. Its values for 12 and 24 h, 0.6 and 0.3 at
 * Vienna and 0.3 and 0.4 at Perth, make zones of 50 % with a reading that is 12 h younger
 * hold 45 % at Vienna in the place of 40 %, and 50 % at Perth in the place of 51 %.
 *
 * The change grows with the wind: in the quarter of days with the strongest wind aloft (12 to
 * 15 m/s) the mean over 200 to 2000 m changes by 1.2 to 1.6 times what it does on the calmest
 * quarter (3 to 4 m/s), at both stations and at 12 and 24 h. Each of the four fits has a
 * speed_share of its own, 0.34 and 0.29 at Vienna (0.14 to 0.54), 0.23 and 0.46 at Perth (0.17
 * to 0.52); the log-likelihood of the half that a fit has not seen rises by 8 at Vienna and by
 * 65 and 120 at Perth. With it the tails become lighter (dof 10 to 19): a part of them was windy
 * and calm days under one law. That it holds for forecasts as well is assumed. At 8 m/s the
 * default growth of 2.4 m/s, the mean over all days, is that of the four fits.
 *
 * Tried and left out: one more factor at 400 to 500 m, where the changes at both stations
 * are 1.1 to 1.25 times those at 1500 to 2000 m. Before the share it took zones of 90 % at
 * 12 h from 85 to 87 % at Vienna and from 89 to 92 % at Perth, with a reading from 90 to 93 %:
 * as far off on the other side.
 *
 * Where it stops being right: the daily cycle is not in it (a sounding of another time
 * of day errs more near the ground), nor a weather that is wilder than the station's usual
 * one but for the wind aloft and the Student scale. */
#include "wind_error.h"

#include <math.h>

#define FULL_HEIGHT_M 400.0
#define UPPER_HEIGHT_M 2000.0
#define TOP_HEIGHT_M 4500.0
#define SURFACE_LAYER_M 60.0
#define LEAST_LENGTH_M 250.0
#define GREATEST_LENGTH_M 3000.0
#define USUAL_ALOFT_MPS 8.0

static double between(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

pappus_wind_error pappus_wind_error_of(const pappus_wind_plan *plan, pappus_wind_kind kind)
{
    double usual =
        kind == PAPPUS_WIND_FORECAST ? PAPPUS_FORECAST_GROWTH_MPS : PAPPUS_SOUNDING_GROWTH_MPS;
    return (pappus_wind_error){
        .error_mps = plan->error_mps,
        .growth_mps = isnan(plan->growth_mps) ? usual : plan->growth_mps,
        .ground_factor = plan->ground_factor,
        .top_factor = plan->top_factor,
        .correlation_growth_m = plan->correlation_growth_m,
        .correlation_height_m = plan->correlation_height_m,
        .decoupling = plan->decoupling,
        .speed_share = plan->speed_share,
        .dof = plan->error_dof,
    };
}

const double pappus_aloft_heights_m[PAPPUS_ALOFT_HEIGHTS] = {500.0,  1000.0, 1500.0,
                                                             2000.0, 2500.0, 3000.0};

double pappus_wind_error_speed_factor(const pappus_wind_error *law, double aloft_mps)
{
    double over = aloft_mps / USUAL_ALOFT_MPS;
    return 1.0 + law->speed_share * (over * over - 1.0);
}

double pappus_wind_error_height_factor(const pappus_wind_error *law, double height_m)
{
    double low = between(height_m / FULL_HEIGHT_M, 0.0, 1.0);
    double high = between((height_m - UPPER_HEIGHT_M) / (TOP_HEIGHT_M - UPPER_HEIGHT_M), 0.0, 1.0);
    return law->ground_factor + (1.0 - law->ground_factor) * low + (law->top_factor - 1.0) * high;
}

double pappus_wind_error_sd_mps(const pappus_wind_error *law, double height_m, double age_h)
{
    return pappus_wind_error_height_factor(law, height_m) *
           hypot(law->error_mps, law->growth_mps * cbrt(age_h));
}

double pappus_wind_error_length_m(const pappus_wind_error *law, double age_h)
{
    if (!isnan(law->correlation_height_m)) return law->correlation_height_m;
    return between(law->correlation_growth_m * sqrt(age_h), LEAST_LENGTH_M, GREATEST_LENGTH_M);
}

double pappus_wind_error_depth(const pappus_wind_error *law, double height_m, double age_h)
{
    return height_m / pappus_wind_error_length_m(law, age_h) -
           law->decoupling * expm1(-height_m / SURFACE_LAYER_M);
}

double pappus_wind_error_correlation(const pappus_wind_error *law, double height1_m,
                                     double height2_m, double age_h)
{
    return exp(-fabs(pappus_wind_error_depth(law, height1_m, age_h) -
                     pappus_wind_error_depth(law, height2_m, age_h)));
}

double pappus_wind_error_widening(double dof, int components, double distance2)
{
    if (dof >= PAPPUS_NORMAL_DOF) return 1.0;
    return (dof - 2.0 + distance2) / (dof - 2.0 + components);
}

double pappus_wind_error_log_density(double dof, int components, double distance2,
                                     double log_determinant)
{
    if (dof >= PAPPUS_NORMAL_DOF) return -0.5 * (log_determinant + distance2);
    return -0.5 * (log_determinant + (dof + components) * log1p(distance2 / (dof - 2.0)));
}
