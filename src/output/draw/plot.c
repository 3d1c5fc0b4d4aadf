/* SPDX-License-Identifier: GPL-3.0-or-later
 * Axes and series of plots. A scale without extent has its values in the middle. */
#include "plot.h"

#include <math.h>

#define KEY_LENGTH 24.0
#define KEY_GAP 5.0
#define NEAR 1e-9 /* of a step: a tick this close to the end of a scale is on it */

double plot_at(const plot_scale *scale, double value)
{
    if (!(scale->high > scale->low)) return (scale->from + scale->to) / 2;
    return scale->from +
           (scale->to - scale->from) * (value - scale->low) / (scale->high - scale->low);
}

double plot_step(double span, double most)
{
    double power = pow(10.0, floor(log10(span / most)));
    double least = span / most / power;
    return power * (least <= 1.0 ? 1.0 : least <= 2.0 ? 2.0 : least <= 5.0 ? 5.0 : 10.0);
}

static void put_tick(pappus_xml *xml, const plot_axis *axis, double place, const char *style)
{
    for (size_t i = 0; i < axis->tick->count; i++) {
        double from = axis->tick->lines[i][0], to = axis->tick->lines[i][1];
        if (axis->upright)
            svg_line(xml, from, place, to, place, style);
        else
            svg_line(xml, place, from, place, to, style);
    }
}

static void put_label(pappus_xml *xml, const plot_axis *axis, double place, const char *text)
{
    if (axis->upright)
        svg_text(xml, axis->label_at, place + axis->label_down, axis->label, "%s", text);
    else
        svg_text(xml, place, axis->label_at + axis->label_down, axis->label, "%s", text);
}

void plot_put_axis(pappus_xml *xml, const plot_axis *axis)
{
    double first = ceil(axis->scale.low / axis->unit / axis->step - NEAR) + 0.0; /* not -0 */
    double last = floor(axis->scale.high / axis->unit / axis->step + NEAR);
    char number[64];
    for (double tick = first; tick <= last; tick++) {
        double value = tick * axis->step;
        double place = plot_at(&axis->scale, value * axis->unit);
        bool bound = axis->bound_style && fabs(value - axis->bound) < NEAR;
        put_tick(xml, axis, place, bound ? axis->bound_style : axis->tick->style);
        snprintf(number, sizeof number, "%.0f", value);
        put_label(xml, axis, place, axis->names ? axis->names[(size_t)(tick - first)] : number);
    }
}

void plot_put_series(pappus_xml *xml, const char *style, const plot_scale *x, const plot_scale *y,
                     const plot_series *series)
{
    const double *end = series->to_x ? series->to_x : series->x;
    double least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < series->count; i++) {
        least = fmin(least, series->x[i]);
        most = fmax(most, end[i]);
    }
    double shift = x->period > 0 ? x->period * ceil((x->low - most) / x->period) : 0;
    svg_trace trace;
    svg_trace_begin(&trace, xml);
    do {
        for (size_t i = 0; i < series->count; i++)
            svg_trace_to(&trace, plot_at(x, series->x[i] + shift), plot_at(y, series->y[i]));
        for (size_t i = series->to_x ? series->count : 0; i-- > 0;)
            svg_trace_to(&trace, plot_at(x, end[i] + shift), plot_at(y, series->y[i]));
        svg_trace_lift(&trace, series->to_x);
        shift += x->period;
    } while (x->period > 0 && least + shift < x->high);
    svg_trace_put(&trace, style, NULL);
}

void plot_put_key(pappus_xml *xml, double x, double y, const char *line, const char *label,
                  const char *text)
{
    svg_line(xml, x, y, x + KEY_LENGTH, y, line);
    svg_text(xml, x + KEY_LENGTH + KEY_GAP, y + 5, label, "%s", text);
}
