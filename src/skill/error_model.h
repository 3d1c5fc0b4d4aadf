/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind's error as it is fitted (DESIGN, wind error): over height z and age t in hours
 *   sd = h(z) sqrt(error^2 + (growth t^(1/3))^2), correlation exp(-|dz|/L),
 *   L = length sqrt(t), one Student scale for the whole profile. */
#ifndef PAPPUS_SKILL_ERROR_MODEL_H
#define PAPPUS_SKILL_ERROR_MODEL_H

#include <stdbool.h>

typedef struct {
    double error_mps, growth_mps;
    double length_m; /**< correlation length at 1 h */
    double factor_low, factor_high;
    double dof;
} pappus_error_model;

/** What is assumed before anything is measured. */
pappus_error_model pappus_error_model_default(bool forecast);
/** How much of the height factor at a height is the low one and how much the high one;
 * the rest is 1. */
void pappus_factor_shares(double *low, double *high, double height_m);
double pappus_model_factor(const pappus_error_model *model, double height_m);
double pappus_model_length_m(const pappus_error_model *model, double age_h);

#endif
