/* SPDX-License-Identifier: GPL-3.0-or-later
 * Uncertain values: construction, and the value at a probability. Quantile
 * functions of the normal and lognormal by GSL; uniform and triangular in closed
 * form. */
#include "uncertain.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

pappus_uncertain pappus_exact(double value)
{
    return (pappus_uncertain){PAPPUS_EXACT, value, 0.0, value, value, value};
}

pappus_uncertain pappus_normal(double mean, double sd)
{
    return (pappus_uncertain){PAPPUS_NORMAL, mean, sd, -INFINITY, mean, INFINITY};
}

pappus_uncertain pappus_lognormal(double mean, double sd)
{
    double s2 = log1p(sd * sd / (mean * mean));
    return (pappus_uncertain){PAPPUS_LOGNORMAL, mean, sd, 0.0, mean * exp(-1.5 * s2), INFINITY};
}

pappus_uncertain pappus_uniform(double low, double high)
{
    double middle = 0.5 * (low + high);
    return (pappus_uncertain){PAPPUS_UNIFORM, middle, (high - low) / sqrt(12.0), low, middle, high};
}

pappus_uncertain pappus_triangular(double low, double mode, double high)
{
    double variance =
        (low * low + mode * mode + high * high - low * mode - low * high - mode * high) / 18.0;
    return (pappus_uncertain){
        PAPPUS_TRIANGULAR, (low + mode + high) / 3.0, sqrt(fmax(variance, 0.0)), low, mode, high};
}

bool pappus_is_present(pappus_uncertain value)
{
    return value.distribution != PAPPUS_ABSENT;
}

static double triangular_quantile(pappus_uncertain t, double p)
{
    double width = t.high - t.low;
    if (width <= 0.0) return t.mode;
    double rise = (t.mode - t.low) / width;
    if (p < rise) return t.low + sqrt(p * width * (t.mode - t.low));
    return t.high - sqrt((1.0 - p) * width * (t.high - t.mode));
}

double pappus_uncertain_quantile(pappus_uncertain value, double p)
{
    switch (value.distribution) {
    case PAPPUS_EXACT:
        return value.mean;
    case PAPPUS_NORMAL:
        return value.mean + value.sd * gsl_cdf_ugaussian_Pinv(p);
    case PAPPUS_LOGNORMAL: {
        double s2 = log1p(value.sd * value.sd / (value.mean * value.mean));
        return value.mean * exp(-0.5 * s2 + sqrt(s2) * gsl_cdf_ugaussian_Pinv(p));
    }
    case PAPPUS_UNIFORM:
        return value.low + p * (value.high - value.low);
    case PAPPUS_TRIANGULAR:
        return triangular_quantile(value, p);
    default:
        return NAN;
    }
}
