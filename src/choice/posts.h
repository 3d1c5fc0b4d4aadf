/* SPDX-License-Identifier: GPL-3.0-or-later
 * The weighted k-median on a set of candidate places: which K of them make the
 * expected straight walk to the nearest smallest. */
#ifndef PAPPUS_CHOICE_POSTS_H
#define PAPPUS_CHOICE_POSTS_H

#include <pappus/choice.h>

/** Places, or landings gathered into cells. */
typedef struct {
    size_t count;
    double *east_m, *north_m;
    double *weight; /**< NULL for places */
} pappus_points;

int pappus_points_reserve(pappus_points *points, size_t count, bool weighted, pappus_error *err);
void pappus_points_clear(pappus_points *points);

/** Gathers the landings of a cloud into at most `cells` x `cells` cells, each at
 * the weighted mean of what it holds. The mean walk errs by less than a cell's
 * size; for choosing, not for reporting. */
int pappus_points_gather(pappus_points *out, const pappus_cloud *cloud, size_t cells,
                         pappus_error *err);

/** Picks k places (k <= places->count) into chosen[k]. Exact for k = 1 and, up to
 * PAPPUS_PAIR_PLACES places, for k = 2; else vertex interchange (Teitz & Bart, Oper.
 * Res. 16:955, 1968) from a greedy and several spread starts. *walk_m: the expected
 * walk. */
#define PAPPUS_PAIR_PLACES 320
int pappus_posts_choose(size_t *chosen, double *walk_m, size_t k, const pappus_points *places,
                        const pappus_points *landings, pappus_error *err);

#endif
