/* SPDX-License-Identifier: GPL-3.0-or-later
 * Learning from flights.
 *
 * Drag: the logarithm of the area over the plan's is normal about the canopy's own with the
 * variance of its interval and a scatter from flight to flight; the canopy's own has the plan's
 * uncertainty as its prior. Normal with normal (conjugate; Gelman et al., Bayesian Data
 * Analysis, section 2.5): precisions add, so that few flights leave what the plan says. The
 * next flight scatters about the canopy's own again.
 *
 * Wind: one factor on the standard deviation of the wind's error. The likelihood of a landing is
 * a bivariate Student law of the wind's degrees of freedom with covariance k^2 W + R; its rest R
 * (the place of the apogee, gusts) is held. The prior of ln k is normal about 0 (skill or the
 * defaults say k = 1). The posterior is summed on a net of ln k. error and growth get a factor
 * each only where the winds' ages span fourfold, for else one cannot be told from the other.
 *
 * The tails of W + R together are taken as those of the wind. Flights of one day share its
 * wind and teach less than is counted here. */
#include "learn.h"

#include "wind_error.h"

#include <math.h>

#define Z95 1.959964
#define NET 81
#define NET_REACH 1.6 /* ln of the largest factor: five */
#define SPAN_TO_SPLIT 4.0

pappus_learned_drag pappus_learn_drag(const pappus_estimate *areas_m2, size_t count,
                                      double before_m2, double before_part)
{
    double prior = fmax(before_part, 1e-3), precision = 1.0 / (prior * prior), weighted = 0.0;
    pappus_learned_drag out = {.before_m2 = before_m2, .before_sd_m2 = before_part * before_m2};
    for (size_t i = 0; i < count; i++) {
        pappus_estimate a = areas_m2[i];
        if (!(a.value > 0.0 && a.low > 0.0) || !isfinite(a.high)) continue;
        double sd = 0.5 * log(a.high / a.low) / Z95;
        double one = 1.0 / (sd * sd + PAPPUS_FLIGHT_TO_FLIGHT * PAPPUS_FLIGHT_TO_FLIGHT);
        precision += one;
        weighted += one * log(a.value / before_m2);
        out.flights++;
    }
    double mean = weighted / precision, sd = 1.0 / sqrt(precision);
    out.drag_area_m2.value = before_m2 * exp(mean);
    out.drag_area_m2.low = before_m2 * exp(mean - Z95 * sd);
    out.drag_area_m2.high = before_m2 * exp(mean + Z95 * sd);
    out.next_sd_m2 = out.drag_area_m2.value * hypot(sd, PAPPUS_FLIGHT_TO_FLIGHT);
    return out;
}

/* Logarithm of the likelihood of one landing. */
static double log_likelihood(const pappus_wind_lesson *l, double error_factor, double growth_factor)
{
    double k2 = l->error_part * error_factor * error_factor +
                (1.0 - l->error_part) * growth_factor * growth_factor;
    double a = k2 * l->wind_m2[0] + l->rest_m2[0], b = k2 * l->wind_m2[1] + l->rest_m2[1];
    double c = k2 * l->wind_m2[2] + l->rest_m2[2], det = a * c - b * b;
    double d2 = (c * l->east_m * l->east_m - 2.0 * b * l->east_m * l->north_m +
                 a * l->north_m * l->north_m) /
                det;
    return pappus_wind_error_log_density(l->dof, 2, d2, log(det));
}

static double at(int i)
{
    return NET_REACH * (2.0 * i / (NET - 1) - 1.0);
}

/* Median and limits of a law given on the net. */
static pappus_estimate of_net(const double chance[NET])
{
    static const double p[3] = {0.5, 0.025, 0.975};
    double total = 0.0, out[3] = {NAN, NAN, NAN};
    for (int i = 0; i < NET; i++)
        total += chance[i];
    for (int q = 0; q < 3; q++) {
        double sum = 0.0;
        for (int i = 0; i < NET; i++) {
            double next = sum + chance[i] / total;
            if (isnan(out[q]) && next >= p[q]) {
                double within = (p[q] - sum) / (next - sum) - 0.5;
                out[q] = exp(at(i) + within * (at(1) - at(0)));
            }
            sum = next;
        }
    }
    return (pappus_estimate){out[0], out[1], out[2]};
}

static double posterior(const pappus_wind_lesson *lessons, size_t count, double x, double y,
                        bool both)
{
    double s = PAPPUS_WIND_FACTOR_SD, sum = -0.5 * x * x / (s * s);
    if (both) sum -= 0.5 * y * y / (s * s);
    for (size_t i = 0; i < count; i++)
        sum += log_likelihood(&lessons[i], exp(x), exp(y));
    return sum;
}

pappus_estimate pappus_learn_wind_factor(const pappus_wind_lesson *lessons, size_t count)
{
    double value[NET], most = -INFINITY;
    if (count == 0) return (pappus_estimate){NAN, NAN, NAN};
    for (int i = 0; i < NET; i++) {
        value[i] = posterior(lessons, count, at(i), at(i), false);
        most = fmax(most, value[i]);
    }
    for (int i = 0; i < NET; i++)
        value[i] = exp(value[i] - most);
    return of_net(value);
}

static void learn_both(pappus_learned *out, const pappus_wind_lesson *lessons, size_t count)
{
    double error[NET] = {0}, growth[NET] = {0}, most = -INFINITY;
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < NET; i++)
            for (int j = 0; j < NET; j++) {
                double value = posterior(lessons, count, at(i), at(j), true);
                if (pass == 0) most = fmax(most, value);
                if (pass == 0) continue;
                error[i] += exp(value - most);
                growth[j] += exp(value - most);
            }
    out->error_factor = of_net(error);
    out->growth_factor = of_net(growth);
}

void pappus_learn_wind(pappus_learned *out, const pappus_wind_lesson *lessons, size_t count)
{
    double youngest = INFINITY, oldest = 0.0;
    out->wind_flights = count;
    out->wind_factor = pappus_learn_wind_factor(lessons, count);
    out->error_factor = out->growth_factor = out->wind_factor;
    if (count == 0) return;
    for (size_t i = 0; i < count; i++) {
        youngest = fmin(youngest, lessons[i].age_h);
        oldest = fmax(oldest, lessons[i].age_h);
    }
    out->split = oldest > 0.0 && oldest >= SPAN_TO_SPLIT * fmax(youngest, 0.25);
    if (out->split) learn_both(out, lessons, count);
    out->error_mps = out->error_before_mps * out->error_factor.value;
    out->growth_mps = out->growth_before_mps * out->growth_factor.value;
}
