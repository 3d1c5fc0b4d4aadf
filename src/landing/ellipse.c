/* SPDX-License-Identifier: GPL-3.0-or-later
 * Probability ellipses; method and limits in ellipse.h. */
#include "ellipse.h"

#include <math.h>

const double pappus_levels[PAPPUS_LEVELS] = {
#define VALUE(name, level) level,
    PAPPUS_LEVEL_LIST(VALUE)
#undef VALUE
};

/* Variance along the minor axis below this part of the major one is rounding. */
#define FLAT 1e-14

pappus_axes pappus_axes_of(const double covariance_m2[2][2])
{
    double ee = covariance_m2[0][0], en = covariance_m2[0][1], nn = covariance_m2[1][1];
    double middle = 0.5 * (ee + nn), radius = hypot(0.5 * (ee - nn), en);
    /* angle of the major axis from north towards east */
    double angle = 0.5 * atan2(2.0 * en, nn - ee);
    double minor = middle - radius;
    return (pappus_axes){.major_m2 = middle + radius,
                         .minor_m2 = minor > FLAT * middle ? minor : 0.0,
                         .axis = {sin(angle), cos(angle)}};
}

double pappus_axis_bearing_deg(const double axis[2])
{
    double bearing = atan2(axis[0], axis[1]) * 180.0 / M_PI;
    if (bearing < 0.0) bearing += 180.0;
    return bearing < 180.0 ? bearing : 0.0;
}

/* Squared Mahalanobis distance; an axis without spread adds nothing. */
static double distance2(const pappus_axes *axes, double east_m, double north_m)
{
    double along = east_m * axes->axis[0] + north_m * axes->axis[1];
    double across = east_m * axes->axis[1] - north_m * axes->axis[0];
    double major = axes->major_m2 > 0.0 ? along * along / axes->major_m2 : 0.0;
    return major + (axes->minor_m2 > 0.0 ? across * across / axes->minor_m2 : 0.0);
}

void pappus_ellipses_fill(pappus_ellipse out[PAPPUS_LEVELS], const double mean_m[2],
                          const double covariance_m2[2][2], const pappus_cloud *cloud,
                          const pappus_sample *sample)
{
    pappus_axes axes = pappus_axes_of(covariance_m2);
    double inside[PAPPUS_LEVELS] = {0.0}, k2[PAPPUS_LEVELS];
    for (int l = 0; l < PAPPUS_LEVELS; l++)
        k2[l] = -2.0 * log1p(-pappus_levels[l]);
    for (size_t i = 0; i < sample->count; i++) {
        double w = pappus_sample_weight(sample, i);
        double d2 = distance2(&axes, cloud->east_m[sample->index[i]] - mean_m[0],
                              cloud->north_m[sample->index[i]] - mean_m[1]);
        for (int l = 0; l < PAPPUS_LEVELS; l++)
            inside[l] += d2 <= k2[l] ? w : 0.0;
    }
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        double major = sqrt(k2[l] * axes.major_m2), minor = sqrt(k2[l] * axes.minor_m2);
        double share = sample->total > 0.0 ? fmin(inside[l] / sample->total, 1.0) : NAN;
        out[l] = (pappus_ellipse){.level = pappus_levels[l],
                                  .share = share,
                                  .major_m = major,
                                  .minor_m = minor,
                                  .bearing_deg = pappus_axis_bearing_deg(axes.axis),
                                  .area_m2 = M_PI * major * minor};
    }
}
