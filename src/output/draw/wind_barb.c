/* SPDX-License-Identifier: GPL-3.0-or-later
 * Wind barbs as on weather charts (WMO-No. 485, Manual on the Global
 * Data-processing and Forecasting System, appendix on symbols; from memory): the
 * shaft points to where the wind comes from, with the feathers at its far end on
 * the clockwise side, which is that of low pressure in the northern hemisphere:
 * half a feather is 5 kt, a whole one 10, a pennant 50. A lone half feather
 * stands in from the end. South of the equator they would be on the other side. */
#include "wind_barb.h"
#include "si.h"

#include <math.h>
#include <stdio.h>

#define SHAFT 30.0
#define STEP 4.0     /* between feathers */
#define FEATHER 10.0 /* out from the shaft */
#define RISE 4.0     /* of a feather's tip over its foot */

pappus_barb pappus_barb_of(double speed_mps)
{
    int fives = (int)lround(fmin(speed_mps, 1000.0) / PAPPUS_KNOT_MPS / 5.0);
    return (pappus_barb){fives / 10, fives % 10 / 2, fives % 2};
}

typedef struct {
    char *out;
    size_t size, length;
} path;

static void add(path *p, const char *format, double y, double x2, double y2)
{
    size_t left = p->length < p->size ? p->size - p->length : 0;
    int n = snprintf(left ? p->out + p->length : NULL, left, format, y, x2, y2);
    if (n > 0) p->length += (size_t)n;
}

int pappus_barb_path(char *out, size_t size, pappus_barb barb)
{
    path p = {out, size, 0};
    double y = -SHAFT;
    add(&p, "M0 0V%.1f", -SHAFT, 0, 0);
    for (int i = 0; i < barb.pennants; i++, y += 2 * STEP) {
        add(&p, "M0 %.1fL%.1f %.1f", y, FEATHER, y + STEP);
        add(&p, "L0 %.1fZ", y + 2 * STEP, 0, 0);
    }
    if (barb.pennants) y += STEP / 2;
    for (int i = 0; i < barb.full; i++, y += STEP)
        add(&p, "M0 %.1fL%.1f %.1f", y, FEATHER, y - RISE);
    if (barb.half && !barb.full && !barb.pennants) y += STEP;
    if (barb.half) add(&p, "M0 %.1fL%.1f %.1f", y, FEATHER / 2, y - RISE / 2);
    return (int)p.length;
}
