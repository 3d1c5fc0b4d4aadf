/* SPDX-License-Identifier: GPL-3.0-or-later
 * GSL's control of the step of an integration without memory of its own: GSL 2.7's
 * gsl_odeiv2_control_y_new writes through NULL when there is none. */
#ifndef PAPPUS_DESCENT_STEP_CONTROL_H
#define PAPPUS_DESCENT_STEP_CONTROL_H

#include <gsl/gsl_odeiv2.h>

/** The error of each step is held to tolerance (1 + |y|) in every component. Borrows the
 * tolerance; nothing to free. */
gsl_odeiv2_control pappus_step_control(double *tolerance);

#endif
