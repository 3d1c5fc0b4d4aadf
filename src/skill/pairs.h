/* SPDX-License-Identifier: GPL-3.0-or-later
 * Winds brought to common heights, and pairs of them by age.
 *
 * A wind has a value at a height of the grid when two levels stand around it no further
 * apart than a gap that grows with height; linear between them. So a sparse sounding
 * gives what it knows and no more. What averages over heights may bridge gaps that are wider.
 *
 * A pair is an earlier wind and the sounding nearest to one of the ages after it. An
 * archive that holds forecasts is asked for them: pairs are then of forecasts with the
 * soundings of their valid times, by the time since their issue. */
#ifndef PAPPUS_SKILL_PAIRS_H
#define PAPPUS_SKILL_PAIRS_H

#include <pappus/skill.h>

#define PAPPUS_GRID_HEIGHTS 15
extern const double pappus_grid_heights_m[PAPPUS_GRID_HEIGHTS];

#define PAPPUS_AGES 10
extern const double pappus_ages_h[PAPPUS_AGES];
/** The age of the list that is within its tolerance of age_h; -1: none. */
int pappus_age_of(double age_h);

/** Gaps of what is averaged over heights, a fall too, over those of a height by itself. */
#define PAPPUS_WIDE_GAPS 2.0

/** Height of a mast: of the wind near the ground that a reading stands for. */
#define PAPPUS_GROUND_M 10.0

/** u and v at the heights of the grid, and near the ground; NaN where not known. The wide ones
 * bridge wide gaps. */
typedef struct {
    float ground_u_mps, ground_v_mps;
    float u_mps[PAPPUS_GRID_HEIGHTS], v_mps[PAPPUS_GRID_HEIGHTS];
    float wide_u_mps[PAPPUS_GRID_HEIGHTS], wide_v_mps[PAPPUS_GRID_HEIGHTS];
} pappus_grid_wind;

typedef struct {
    size_t earlier, later; /**< soundings of the archive */
    double age_h;
    int age;          /**< of pappus_ages_h */
    long day;         /**< of the later wind, since 1970 */
    double aloft_mps; /**< mean of the earlier wind's known heights aloft; NaN: none is known */
} pappus_pair;

typedef struct {
    bool forecasts;
    pappus_grid_wind *winds; /**< beside the archive's soundings */
    size_t count;
    pappus_pair *pairs;    /**< by age, then time */
    size_t sounding_count; /**< of the archive that stand in a pair */
    size_t sparse_count;   /**< without a value at any height */
    double first_utc_s, last_utc_s;
} pappus_pairs;

/** The wind at a height by the rule of gaps, these `wider` times as wide; false where it
 * is not known. */
bool pappus_sounding_at(double *u_mps, double *v_mps, const pappus_sounding *sounding,
                        double height_m, double wider);

int pappus_pairs_form(pappus_pairs *out, const pappus_archive *archive,
                      const pappus_skill_options *options, pappus_error *err);
void pappus_pairs_clear(pappus_pairs *pairs);

#endif
