/* SPDX-License-Identifier: GPL-3.0-or-later
 * Quantiles of a component of the wind at a height: a mixture of the profiles' laws, each a
 * scaled normal one, with a normal gust added (wind_scale.h). A quantile is where the chance
 * is reached, between the least and the greatest of the parts' own. */
#include "air.h"

#include "wind_field.h"
#include "wind_scale.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

#define ROUNDS_MOST 100
#define QUANTILE_WITHIN_MPS 1e-12
#define CHANCE_WITHIN 1e-13

/* One profile's part in the distribution of a component at a height; sd is that of a
 * scale of 1/sqrt(chi-square). */
typedef struct {
    double weight, mean, sd;
} wind_part;

typedef struct {
    wind_part parts[PAPPUS_PROFILES];
    size_t count;
    double dof, gust;
    const pappus_wind_scale *scale;
} wind_mixture;

static double part_cdf(const wind_mixture *m, const wind_part *part, double x)
{
    double d = x - part->mean;
    if (m->gust > 0.0) return pappus_gusty_normal_cdf(m->scale, part->sd, m->gust, d);
    return part->sd > 0.0 ? pappus_scaled_normal_cdf(m->dof, d / part->sd) : d >= 0.0;
}

static double mixture_cdf(const wind_mixture *m, double x)
{
    double sum = 0.0;
    for (size_t k = 0; k < m->count; k++)
        sum += m->parts[k].weight * part_cdf(m, &m->parts[k], x);
    return sum;
}

/* Where the chance is p, by false position with halved ends (Dowell and Jarratt, BIT 11:168,
 * 1971): a chance takes 65 normal ones where gusts are in it, and bisection asked for 60. */
static double between(const wind_mixture *m, double p, double low, double high)
{
    double f_low = mixture_cdf(m, low) - p, f_high = mixture_cdf(m, high) - p;
    int side = 0;
    if (f_low >= 0.0) return low;
    if (f_high <= 0.0) return high;
    for (int i = 0; i < ROUNDS_MOST && high - low > QUANTILE_WITHIN_MPS; i++) {
        double x = (low * f_high - high * f_low) / (f_high - f_low), f = mixture_cdf(m, x) - p;
        if (f == 0.0) return x;
        if (f < 0.0) {
            low = x;
            f_low = f;
            if (side < 0) f_high *= 0.5;
            side = -1;
        } else {
            high = x;
            f_high = f;
            if (side > 0) f_low *= 0.5;
            side = 1;
        }
        if (fabs(f) < CHANCE_WITHIN) return x;
    }
    return 0.5 * (low + high);
}

/* The quantile lies between the least and the greatest of the parts' own; a part's with
 * a gust, between its own without and the sum of both. */
static double mixture_quantile(const wind_mixture *m, double p)
{
    double low = INFINITY, high = -INFINITY, gust = m->gust * gsl_cdf_ugaussian_Pinv(p);
    for (size_t k = 0; k < m->count; k++) {
        const wind_part *part = &m->parts[k];
        double own = part->mean + part->sd * pappus_scaled_normal_quantile(m->dof, p);
        low = fmin(low, own + fmin(gust, 0.0));
        high = fmax(high, own + fmax(gust, 0.0));
    }
    return low < high ? between(m, p, low, high) : low;
}

static double prior_weight(const pappus_wind_field *f, size_t k)
{
    double sum = 0.0;
    for (size_t i = 0; i < f->profile_count; i++)
        sum += f->profiles[i].weight;
    return f->profiles[k].weight / sum;
}

static void set_mixture(wind_mixture *m, const pappus_air *air, bool prior, double height_m,
                        bool east)
{
    const pappus_wind_field *f = air->wind;
    m->count = f->profile_count;
    m->dof = prior ? f->profiles[0].law.dof : f->scale.dof;
    m->gust = prior ? 0.0 : pappus_wind_field_gust_sd_mps(f, height_m);
    m->scale = &f->scale;
    for (size_t k = 0; k < f->profile_count; k++) {
        pappus_wind_vector mean;
        double sd;
        pappus_wind_field_moments(&mean, &sd, f, k, prior, height_m);
        m->parts[k] =
            (wind_part){prior ? prior_weight(f, k) : f->weight[k], east ? mean.u_mps : mean.v_mps,
                        sd * pappus_wind_field_spread(f, k, prior)};
    }
}

void pappus_air_wind_quantile(const pappus_air *air, bool prior, double height_m, double p,
                              double *u_mps, double *v_mps)
{
    wind_mixture m;
    set_mixture(&m, air, prior, height_m, true);
    *u_mps = mixture_quantile(&m, p);
    set_mixture(&m, air, prior, height_m, false);
    *v_mps = mixture_quantile(&m, p);
}

/* One law about both means, and the same on either side of them. */
static void mirrored_quantiles(wind_mixture *m, size_t count, double u_mean_mps, double v_mean_mps,
                               double *u_mps, double *v_mps)
{
    m->parts[0].mean = 0.0;
    for (size_t i = 0; 2 * i < count; i++) {
        double below = mixture_quantile(m, ((double)i + 0.5) / (double)count);
        u_mps[i] = u_mean_mps + below;
        v_mps[i] = v_mean_mps + below;
        u_mps[count - 1 - i] = u_mean_mps - below;
        v_mps[count - 1 - i] = v_mean_mps - below;
    }
}

void pappus_air_wind_quantiles(const pappus_air *air, bool prior, double height_m, size_t count,
                               double *u_mps, double *v_mps)
{
    wind_mixture u, v;
    set_mixture(&u, air, prior, height_m, true);
    set_mixture(&v, air, prior, height_m, false);
    if (u.count == 1) {
        mirrored_quantiles(&u, count, u.parts[0].mean, v.parts[0].mean, u_mps, v_mps);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        double p = ((double)i + 0.5) / (double)count;
        u_mps[i] = mixture_quantile(&u, p);
        v_mps[i] = mixture_quantile(&v, p);
    }
}
