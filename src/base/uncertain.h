/* SPDX-License-Identifier: GPL-3.0-or-later
 * Making uncertain values and asking them. */
#ifndef PAPPUS_BASE_UNCERTAIN_H
#define PAPPUS_BASE_UNCERTAIN_H

#include <pappus/value.h>

pappus_uncertain pappus_exact(double value);
pappus_uncertain pappus_normal(double mean, double sd);
pappus_uncertain pappus_lognormal(double mean, double sd);
pappus_uncertain pappus_uniform(double low, double high);
pappus_uncertain pappus_triangular(double low, double mode, double high);
/** Value at probability p in (0, 1); NaN when absent. */
double pappus_uncertain_quantile(pappus_uncertain value, double p);

#endif
