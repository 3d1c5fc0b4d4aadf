/* SPDX-License-Identifier: GPL-3.0-or-later
 * Robust lines. One line: Huber's M-estimate (Annals of Mathematical Statistics 35:73,
 * 1964) by reweighted least squares at a fixed scale, the median absolute deviation about
 * the repeated-median line (Siegel, Biometrika 69:242, 1982) of at most 200 block medians.
 * At a fixed scale the estimate is the minimum of a convex sum, the same wherever one
 * begins. Its error: the sandwich over blocks of time (Liang & Zeger, Biometrika 73:13,
 * 1986), since neighbouring samples err alike.
 *
 * Two lines that meet: least squares of value on 1, t and (t - k)+ for every k among the
 * samples (Hudson, Journal of the American Statistical Association 61:1097, 1966), each from
 * sums over what lies behind k, reweighted as above.
 *
 * Right as long as less than a quarter or so of the samples are wrong. */
#include "robust.h"

#include <math.h>
#include <stdlib.h>

#define LEAST_SAMPLES 5
#define SWEEPS 60
#define BLOCK_S 2.0

static int by_value(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

double pappus_median_of(double *values, size_t count)
{
    if (count == 0) return NAN;
    qsort(values, count, sizeof *values, by_value);
    return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}

/* Medians of blocks of samples in a row; returns how many. */
static size_t thin(double *t, double *y, size_t count, const double *time_s, const double *value,
                   double *part)
{
    size_t blocks = count < PAPPUS_FIT_BLOCKS ? count : PAPPUS_FIT_BLOCKS;
    for (size_t b = 0; b < blocks; b++) {
        size_t from = b * count / blocks, to = (b + 1) * count / blocks;
        for (size_t i = from; i < to; i++)
            part[i - from] = time_s[i];
        t[b] = pappus_median_of(part, to - from);
        for (size_t i = from; i < to; i++)
            part[i - from] = value[i];
        y[b] = pappus_median_of(part, to - from);
    }
    return blocks;
}

/* Siegel's repeated medians: slope, then value at time 0. */
static bool repeated_medians(double *slope, double *at_zero, size_t count, const double *time_s,
                             const double *value, double *room)
{
    double *t = room, *y = t + PAPPUS_FIT_BLOCKS, *slopes = y + PAPPUS_FIT_BLOCKS;
    double *one = slopes + PAPPUS_FIT_BLOCKS;
    size_t n = thin(t, y, count, time_s, value, one + PAPPUS_FIT_BLOCKS), usable = 0;
    for (size_t i = 0; i < n; i++) {
        size_t others = 0;
        for (size_t j = 0; j < n; j++)
            if (t[j] != t[i]) one[others++] = (y[j] - y[i]) / (t[j] - t[i]);
        if (others > 0) slopes[usable++] = pappus_median_of(one, others);
    }
    *slope = pappus_median_of(slopes, usable);
    for (size_t i = 0; i < n; i++)
        one[i] = y[i] - *slope * t[i];
    *at_zero = pappus_median_of(one, n);
    return usable > 0;
}

/* 1.4826: makes it the standard deviation of a normal law. */
static double deviation(double *spare, size_t count, const double *residual)
{
    for (size_t i = 0; i < count; i++)
        spare[i] = fabs(residual[i]);
    return 1.4826 * pappus_median_of(spare, count);
}

static double huber_weight(double residual, double scale)
{
    double limit = PAPPUS_HUBER * scale;
    return fabs(residual) <= limit ? 1.0 : limit / fabs(residual);
}

/* One weighted least squares; false when the times do not differ. */
static bool weighted_line(pappus_line *line, size_t count, const double *time_s,
                          const double *value, const double *residual)
{
    double w = 0.0, wt = 0.0, wy = 0.0, tt = 0.0, ty = 0.0;
    for (size_t i = 0; i < count; i++) {
        double one = huber_weight(residual[i], line->scale);
        w += one;
        wt += one * time_s[i];
        wy += one * value[i];
    }
    for (size_t i = 0; i < count; i++) {
        double one = huber_weight(residual[i], line->scale), dt = time_s[i] - wt / w;
        tt += one * dt * dt;
        ty += one * dt * (value[i] - wy / w);
    }
    if (!(tt > 0.0)) return false;
    line->time_s = wt / w;
    line->value = wy / w;
    line->slope = ty / tt;
    return true;
}

/* Sum over blocks of the squared score, over the squared curvature. */
static double slope_error(const pappus_line *line, size_t count, const double *time_s,
                          const double *residual)
{
    double score = 0.0, meat = 0.0, bread = 0.0, began = time_s[0];
    double span_s = time_s[count - 1] - time_s[0], block_s = fmin(BLOCK_S, span_s / 8.0);
    size_t blocks = 1;
    for (size_t i = 0; i < count; i++) {
        double weight = huber_weight(residual[i], line->scale), dt = time_s[i] - line->time_s;
        if (time_s[i] - began > block_s) {
            meat += score * score;
            score = 0.0;
            began = time_s[i];
            blocks++;
        }
        score += weight * residual[i] * dt;
        if (weight == 1.0) bread += dt * dt;
    }
    meat += score * score;
    return blocks > 2 ? sqrt(meat * (double)blocks / ((double)blocks - 2.0)) / bread : INFINITY;
}

double pappus_line_at(const pappus_line *line, double time_s)
{
    return line->value + line->slope * (time_s - line->time_s);
}

bool pappus_line_fit(pappus_line *out, size_t count, const double *time_s, const double *value,
                     double *room)
{
    double slope, at_zero, *residual = room;
    bool good = count >= LEAST_SAMPLES &&
                repeated_medians(&slope, &at_zero, count, time_s, value, room + 2 * count);
    if (good) {
        *out = (pappus_line){.value = at_zero, .slope = slope};
        for (size_t i = 0; i < count; i++)
            residual[i] = value[i] - pappus_line_at(out, time_s[i]);
        out->scale = fmax(deviation(residual + count, count, residual), 1e-9);
    }
    for (int sweep = 0; good && sweep < SWEEPS; sweep++) {
        double before = out->slope;
        good = weighted_line(out, count, time_s, value, residual);
        for (size_t i = 0; good && i < count; i++)
            residual[i] = value[i] - pappus_line_at(out, time_s[i]);
        if (fabs(out->slope - before) <= 1e-13 * fabs(before)) break;
    }
    if (good) out->slope_sd = slope_error(out, count, time_s, residual);
    return good;
}

/* ---------------------------------------------------------------- two lines */

/* Weighted sums over samples behind a knot k, times from k. */
typedef struct {
    double w, t, tt, y, ty, yy;
} sums;

static void add_to(sums *s, double w, double t, double y)
{
    s->w += w;
    s->t += w * t;
    s->tt += w * t * t;
    s->y += w * y;
    s->ty += w * t * y;
    s->yy += w * y * y;
}

/* Least squares on 1, t - k and (t - k)+ from the sums of all and of those behind k, both
 * with times from a common origin. Returns the sum of squares, INFINITY when singular. */
static double solve_knot(pappus_knot *out, const sums *all, const sums *behind, double k)
{
    double t = all->t - k * all->w, tt = all->tt - 2.0 * k * all->t + k * k * all->w;
    double ty = all->ty - k * all->y, b = behind->t - k * behind->w;
    double bb = behind->tt - 2.0 * k * behind->t + k * k * behind->w;
    double by = behind->ty - k * behind->y;
    /* the constant taken out */
    double a11 = tt - t * t / all->w, a12 = bb - t * b / all->w, a22 = bb - b * b / all->w;
    double c1 = ty - t * all->y / all->w, c2 = by - b * all->y / all->w;
    double det = a11 * a22 - a12 * a12;
    if (!(det > 1e-12 * a11 * a22)) return INFINITY;
    double p = (a22 * c1 - a12 * c2) / det, q = (a11 * c2 - a12 * c1) / det;
    out->knot_s = k;
    out->value = (all->y - p * t - q * b) / all->w;
    out->before = p;
    out->after = p + q;
    return all->yy - all->y * all->y / all->w - p * c1 - q * c2;
}

/* The best knot with these weights, a few samples from either end. */
static void sweep_knots(pappus_knot *best, size_t count, const double *time_s, const double *value,
                        const double *weight, double origin_s)
{
    sums all = {0}, behind = {0};
    best->two_misfit = INFINITY;
    for (size_t i = 0; i < count; i++)
        add_to(&all, weight[i], time_s[i] - origin_s, value[i]);
    double a = all.tt - all.t * all.t / all.w, c = all.ty - all.t * all.y / all.w;
    best->one_misfit = all.yy - all.y * all.y / all.w - c * c / a;
    for (size_t i = count; i-- > 3;) {
        pappus_knot one = *best;
        add_to(&behind, weight[i], time_s[i] - origin_s, value[i]);
        if (i + 3 > count) continue;
        one.two_misfit = solve_knot(&one, &all, &behind, time_s[i - 1] - origin_s);
        if (one.two_misfit < best->two_misfit) *best = one;
    }
    best->knot_s += origin_s;
}

bool pappus_knot_fit(pappus_knot *out, size_t count, const double *time_s, const double *value,
                     double *room)
{
    double *weight = room, *residual = weight + count, *spare = residual + count;
    if (count < 2 * LEAST_SAMPLES) return false;
    double origin_s = 0.5 * (time_s[0] + time_s[count - 1]);
    *out = (pappus_knot){0};
    for (size_t i = 0; i < count; i++)
        weight[i] = 1.0;
    for (int sweep = 0; sweep < 4; sweep++) {
        sweep_knots(out, count, time_s, value, weight, origin_s);
        if (!isfinite(out->two_misfit)) break;
        for (size_t i = 0; i < count; i++) {
            double dt = time_s[i] - out->knot_s;
            residual[i] = value[i] - out->value - dt * (dt < 0.0 ? out->before : out->after);
        }
        double scale = fmax(deviation(spare, count, residual), 1e-9);
        for (size_t i = 0; i < count; i++)
            weight[i] = huber_weight(residual[i], scale);
    }
    return isfinite(out->two_misfit);
}
