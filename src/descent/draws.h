/* SPDX-License-Identifier: GPL-3.0-or-later
 * From plan and air to falls: every uncertain value drawn. */
#ifndef PAPPUS_DESCENT_DRAWS_H
#define PAPPUS_DESCENT_DRAWS_H

#include <pappus/landings.h>

#include "air.h"
#include "fall.h"
#include "outcomes.h"

/** A plan made ready for drawing. Keeps no pointer to plan or air. */
typedef struct pappus_draws pappus_draws;

/** main_shift_m moves every main height. PAPPUS_E_FLIGHT when the plan cannot fly. */
int pappus_draws_build(pappus_draws **out, const pappus_plan *plan, const pappus_air *air,
                       pappus_random random, double main_shift_m, pappus_error *err);
void pappus_draws_free(pappus_draws *draws);

/** Chance of each outcome; borrowed. */
const double *pappus_draws_probability(const pappus_draws *draws);

/** How many draws were made that could turn out not physical, and were redrawn. */
typedef struct {
    size_t drawn, redrawn;
} pappus_redraws;

/** What is drawn of one landing; the same for every shift of the main heights. */
#define PAPPUS_QUANTITIES_MOST (12 + 4 * PAPPUS_ALTIMETERS_MOST)
typedef struct {
    double value[PAPPUS_QUANTITIES_MOST]; /**< one per quantity of the plan */
    double spread_east, spread_north;     /**< standard normal */
    double which;                         /**< uniform: the case within the outcome */
    double wind_u_mps, wind_v_mps;        /**< mean of the lowest 300 m; 0, 0: as expected */
} pappus_drawn;

/** Draws for count landings; landing l has random index index[l] and outcome
 * outcome[l], of a probability above zero. Adds to *redraws. */
void pappus_draws_values(pappus_drawn *out, const pappus_draws *draws, size_t count,
                         const uint64_t *index, const uint8_t *outcome, pappus_redraws *redraws);
/** Mean and standard deviation of the horizontal speed at apogee; false when it is not
 * drawn from a normal law. */
bool pappus_draws_speed_law(double *mean_mps, double *sd_mps, const pappus_draws *draws);
/** The drawn speed; may be set. */
double *pappus_drawn_speed_mps(pappus_drawn *drawn);
/** Gives every landing the wind that "upwind" and "downwind" go by: its own. */
void pappus_draws_winds(pappus_drawn *out, const pappus_draws *draws, size_t count,
                        const pappus_air *air, const float *u_mps, const float *v_mps);
/** The falls that follow, at the main heights of these draws. */
void pappus_draws_assemble(pappus_fall *out, const pappus_draws *draws, size_t count,
                           const uint8_t *outcome, const pappus_drawn *drawn);
/** The same falls at the main heights of other draws of the plan, which differ by these alone. */
void pappus_draws_shift(pappus_fall *out, const pappus_fall *falls, const pappus_draws *draws,
                        size_t count, const uint8_t *outcome, const pappus_drawn *drawn);
/** Values and falls in one, for count <= PAPPUS_LANES, in the expected wind. */
void pappus_draws_falls(pappus_fall *out, const pappus_draws *draws, size_t count,
                        const uint64_t *index, const uint8_t *outcome, pappus_redraws *redraws);
/** The fall with every value at its mean and the outcome's likeliest combination. */
void pappus_draws_central(pappus_fall *out, const pappus_draws *draws, pappus_outcome outcome);

#endif
