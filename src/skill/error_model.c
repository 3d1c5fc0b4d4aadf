/* SPDX-License-Identifier: GPL-3.0-or-later
 * The wind's error as it is fitted; formulas in error_model.h. */
#include "error_model.h"

#include <math.h>

#define LOW_TOP_M 100.0
#define ONE_FROM_M 500.0
#define ONE_TO_M 2000.0
#define HIGH_FROM_M 4500.0

pappus_error_model pappus_error_model_default(bool forecast)
{
    return (pappus_error_model){1.0, forecast ? 1.5 : 2.4, 500.0, 0.7, 1.25, 8.0};
}

void pappus_factor_shares(double *low, double *high, double height_m)
{
    *low = fmin(fmax((ONE_FROM_M - height_m) / (ONE_FROM_M - LOW_TOP_M), 0.0), 1.0);
    *high = fmin(fmax((height_m - ONE_TO_M) / (HIGH_FROM_M - ONE_TO_M), 0.0), 1.0);
}

double pappus_model_factor(const pappus_error_model *model, double height_m)
{
    double low, high;
    pappus_factor_shares(&low, &high, height_m);
    return 1.0 + low * (model->factor_low - 1.0) + high * (model->factor_high - 1.0);
}

double pappus_model_length_m(const pappus_error_model *model, double age_h)
{
    return model->length_m * sqrt(age_h);
}
