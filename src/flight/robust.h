/* SPDX-License-Identifier: GPL-3.0-or-later
 * Lines through samples some of which are wrong. */
#ifndef PAPPUS_FLIGHT_ROBUST_H
#define PAPPUS_FLIGHT_ROBUST_H

#include <stdbool.h>
#include <stddef.h>

/** Huber's constant: 95 % efficient where the errors are normal. */
#define PAPPUS_HUBER 1.345

typedef struct {
    double time_s; /**< mean of the times */
    double value;  /**< there */
    double slope;
    double slope_sd; /**< from the scatter, errors alike within seconds allowed for */
    double scale;    /**< standard deviation of the samples about the line */
} pappus_line;

/** At most so many medians of blocks stand for the samples at first. */
#define PAPPUS_FIT_BLOCKS 200
/** Values that a fit of so many samples needs room for. */
#define PAPPUS_FIT_ROOM(count) (3 * ((count) + 2) + 4 * PAPPUS_FIT_BLOCKS)

/** True when there are enough samples (5) and their times differ. */
bool pappus_line_fit(pappus_line *out, size_t count, const double *time_s, const double *value,
                     double *room);
double pappus_line_at(const pappus_line *line, double time_s);

/** Two lines that meet. */
typedef struct {
    double knot_s, value, before, after; /**< value at the knot, slopes */
    double one_misfit, two_misfit;       /**< weighted sums of squares with one line, with two */
} pappus_knot;

bool pappus_knot_fit(pappus_knot *out, size_t count, const double *time_s, const double *value,
                     double *room);

/** Median; reorders the values. NaN for count 0. */
double pappus_median_of(double *values, size_t count);

#endif
