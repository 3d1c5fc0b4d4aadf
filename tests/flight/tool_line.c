/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads pairs of numbers and prints the robust line through them: mean time, value there,
 * slope, its standard deviation, scale; and with two lines the knot and its slopes. */
#include "robust.h"

#include <stdio.h>
#include <stdlib.h>

int main(void)
{
    static double t[100000], y[100000], room[PAPPUS_FIT_ROOM(100000)];
    size_t n = 0;
    pappus_line line;
    pappus_knot knot;
    while (n < 100000 && scanf("%lf %lf", &t[n], &y[n]) == 2)
        n++;
    if (!pappus_line_fit(&line, n, t, y, room) || !pappus_knot_fit(&knot, n, t, y, room)) return 1;
    printf("%.17g %.17g %.17g %.17g %.17g\n", line.time_s, line.value, line.slope, line.slope_sd,
           line.scale);
    printf("%.17g %.17g %.17g\n", knot.knot_s, knot.before, knot.after);
    return 0;
}
