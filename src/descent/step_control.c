/* SPDX-License-Identifier: GPL-3.0-or-later
 * The adjustment of GSL's standard control (GNU Scientific Library 2.7, reference manual,
 * "Adaptive Step-size Control", with a_y = 1 and a_dydt = 0): a step is made again when its
 * worst error is over the bound by a tenth, made longer when it is under half of it. */
#include "step_control.h"

#include <float.h>
#include <math.h>

#define SAFETY 0.9
#define LEAST_FACTOR 0.2
#define MOST_FACTOR 5.0

static int adjust(void *state, size_t dimension, unsigned order, const double y[],
                  const double error[], const double slope[], double *h)
{
    double tolerance = *(const double *)state, worst = DBL_MIN;
    (void)slope;
    for (size_t i = 0; i < dimension; i++)
        worst = fmax(worst, fabs(error[i]) / fabs(tolerance * fabs(y[i]) + tolerance));
    if (worst > 1.1) {
        *h *= fmax(SAFETY / pow(worst, 1.0 / order), LEAST_FACTOR);
        return GSL_ODEIV_HADJ_DEC;
    }
    if (!(worst < 0.5)) return GSL_ODEIV_HADJ_NIL;
    *h *= fmin(fmax(SAFETY / pow(worst, 1.0 / (order + 1.0)), 1.0), MOST_FACTOR);
    return GSL_ODEIV_HADJ_INC;
}

gsl_odeiv2_control pappus_step_control(double *tolerance)
{
    static const gsl_odeiv2_control_type type = {.name = "within tolerance", .hadjust = adjust};
    return (gsl_odeiv2_control){.type = &type, .state = tolerance};
}
