/* SPDX-License-Identifier: GPL-3.0-or-later
 * A Student law is a normal one of a drawn scale: s = spread / sqrt(c), c of a
 * chi-square law, spread^2 = dof - 2 for unit variance. c rises with a normal number n,
 * c = X^-1(Phi(n)), and s(n) is a cubic between knots of n from values and slopes
 * (Hermite). Right to 1e-5 of s within 5 of n from 5 degrees of freedom on, to 3e-4 from 2.1
 * on; the words of the generator go to 6.34.
 *
 * Chances come from the same knots: the integral over n of the normal density times a
 * function, by the trapezoid rule, which is good to all digits for smooth functions
 * that vanish at both ends (Trefethen and Weideman, SIAM Review 56:385, 2014). */
#include "wind_scale.h"

#include "wind_error.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>

/* Rounds of Newton; three or four are enough from the knot beside. */
#define ROUNDS 40
#define SETTLED 1e-12
#define STEP (2.0 * PAPPUS_SCALE_WIDTH / PAPPUS_SCALE_PARTS)

static double normal_at(int knot)
{
    return STEP * knot - PAPPUS_SCALE_WIDTH;
}

/* The normal number of as rare a chance as c, from the nearer tail. */
static double normal_of(double c, double dof)
{
    return c < dof ? gsl_cdf_ugaussian_Pinv(gsl_cdf_chisq_P(c, dof))
                   : gsl_cdf_ugaussian_Qinv(gsl_cdf_chisq_Q(c, dof));
}

/* c of a normal number, from a guess above 0: Newton in the cube root of c, of which the
 * normal number is nearly linear (Wilson and Hilferty, PNAS 17:684, 1931). */
static double chi_square_of(double normal, double dof, double guess)
{
    double root = cbrt(guess);
    for (int i = 0; i < ROUNDS; i++) {
        double c = root * root * root, at = normal_of(c, dof);
        double slope = 3.0 * root * root * gsl_ran_chisq_pdf(c, dof) / gsl_ran_ugaussian_pdf(at);
        double step = (normal - at) / slope;
        root = fmax(root + step, 0.5 * root);
        if (fabs(step) < SETTLED * root) break;
    }
    return root * root * root;
}

void pappus_wind_scale_fill(pappus_wind_scale *out, double dof)
{
    double slope[PAPPUS_SCALE_PARTS + 1], c = dof;
    out->dof = dof;
    if (dof >= PAPPUS_NORMAL_DOF) return;
    for (int i = PAPPUS_SCALE_PARTS / 2; i <= PAPPUS_SCALE_PARTS; i++)
        out->knot[i] = c = chi_square_of(normal_at(i), dof, c);
    c = out->knot[PAPPUS_SCALE_PARTS / 2];
    for (int i = PAPPUS_SCALE_PARTS / 2 - 1; i >= 0; i--)
        out->knot[i] = c = chi_square_of(normal_at(i), dof, c);
    for (int i = 0; i <= PAPPUS_SCALE_PARTS; i++) {
        c = out->knot[i];
        out->chance[i] = STEP * gsl_ran_ugaussian_pdf(normal_at(i));
        double density = gsl_ran_chisq_pdf(c, dof);
        out->knot[i] = 1.0 / sqrt(c);
        slope[i] = -0.5 * out->knot[i] / c * gsl_ran_ugaussian_pdf(normal_at(i)) / density * STEP;
    }
    for (int i = 0; i < PAPPUS_SCALE_PARTS; i++) {
        double rise = out->knot[i + 1] - out->knot[i], a = slope[i], b = slope[i + 1];
        out->cubic[i][0] = (float)out->knot[i];
        out->cubic[i][1] = (float)a;
        out->cubic[i][2] = (float)(3.0 * rise - 2.0 * a - b);
        out->cubic[i][3] = (float)(a + b - 2.0 * rise);
    }
}

double pappus_scaled_normal_cdf(double dof, double x)
{
    return dof < PAPPUS_NORMAL_DOF ? gsl_cdf_tdist_P(x * sqrt(dof), dof) : gsl_cdf_ugaussian_P(x);
}

double pappus_scaled_normal_quantile(double dof, double p)
{
    return dof < PAPPUS_NORMAL_DOF ? gsl_cdf_tdist_Pinv(p, dof) / sqrt(dof)
                                   : gsl_cdf_ugaussian_Pinv(p);
}

double pappus_gusty_normal_cdf(const pappus_wind_scale *scale, double sd, double gust, double x)
{
    double sum = 0.0;
    if (scale->dof >= PAPPUS_NORMAL_DOF) return gsl_cdf_gaussian_P(x, hypot(sd, gust));
    for (int i = 0; i <= PAPPUS_SCALE_PARTS; i++) {
        double of_knot = scale->knot[i] * sd;
        sum += scale->chance[i] * gsl_cdf_gaussian_P(x, sqrt(of_knot * of_knot + gust * gust));
    }
    return sum;
}
