/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_units.h"

#include <math.h>
#include <stdio.h>

static const struct {
    const char *unit[2];
    double si[2];
} measures[] = {
#define MEASURE(name, us, us_si, si_unit, si_si) {{us, si_unit}, {us_si, si_si}},
    BENCH_MEASURE_LIST(MEASURE)
#undef MEASURE
};

static void four_digits(char *out, size_t size, double value)
{
    double magnitude = fabs(value) > 0.0 ? floor(log10(fabs(value)) + 1e-4) : 0.0;
    int decimals = (int)fmax(0.0, fmin(9.0, 3.0 - magnitude));
    snprintf(out, size, "%.*f", decimals, value);
}

char *bench_single(char out[BENCH_TEXT_SIZE], bench_measure measure, double si,
                   pappus_unit_system units)
{
    char number[24];
    int own = units == PAPPUS_UNITS_SI;
    four_digits(number, sizeof number, si / measures[measure].si[own]);
    snprintf(out, BENCH_TEXT_SIZE, "%s %s", number, measures[measure].unit[own]);
    return out;
}

char *bench_pair(char out[BENCH_TEXT_SIZE], bench_measure measure, double si,
                 pappus_unit_system units)
{
    char own[BENCH_TEXT_SIZE], other[BENCH_TEXT_SIZE];
    bench_single(own, measure, si, units);
    bench_single(other, measure, si, units == PAPPUS_UNITS_SI ? PAPPUS_UNITS_US : PAPPUS_UNITS_SI);
    snprintf(out, BENCH_TEXT_SIZE, "%.30s (%.30s)", own, other);
    return out;
}
