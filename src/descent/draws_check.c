/* SPDX-License-Identifier: GPL-3.0-or-later
 * Whether a plan's quantities make a flight: something fires each canopy, means are
 * physical, steady rates are of a kind that the models hold for. */
#include "draws_table.h"

#include "error.h"
#include "uncertain.h"
#include "units.h"

#include <math.h>

/* Steady rate under a canopy past which drag coefficients of canopies are not
 * known; a plan that gives more has a slip in its units. */
#define STEADY_RATE_MOST_MPS 150.0

int pappus_draws_check_events(const pappus_plan *plan, pappus_error *err)
{
    size_t heights = 0;
    for (size_t a = 0; a < plan->altimeter_count; a++)
        if (isfinite(plan->altimeters[a].main_height_m)) heights++;
    if (!plan->drogue.present && !plan->main.present)
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "drogue, main", NULL,
                           "the rocket has no canopy: give drogue, main or both");
    if (plan->drogue.present && plan->main.present && heights == 0)
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "altimeters", NULL,
                           "nothing fires the main: give main_height on an altimeter");
    if (heights > PAPPUS_TRIGGERS)
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, "altimeters", NULL,
                           "%zu altimeters fire the main: at most %d can be computed", heights,
                           PAPPUS_TRIGGERS);
    return PAPPUS_OK;
}

static int check_rate(const pappus_canopy *canopy, const char *key, pappus_unit_system units,
                      double mass_kg, double density_kgpm3, pappus_error *err)
{
    char mass[48], rate[48], most[48];
    double rate_mps =
        pappus_steady_rate_mps(mass_kg, pappus_canopy_mean_drag_area_m2(canopy), density_kgpm3);
    if (rate_mps <= STEADY_RATE_MOST_MPS) return PAPPUS_OK;
    pappus_units_format(mass, sizeof mass, PAPPUS_DIM_MASS, units, mass_kg);
    pappus_units_format_whole(rate, sizeof rate, PAPPUS_DIM_SPEED, units, rate_mps);
    pappus_units_format_whole(most, sizeof most, PAPPUS_DIM_SPEED, units, STEADY_RATE_MOST_MPS);
    return pappus_fail(err, PAPPUS_E_FLIGHT, NULL, key, NULL,
                       "%s under this canopy comes down at %s, the model holds up to %s: check "
                       "its size, its coefficient and the mass",
                       mass, rate, most);
}

static int check_quantities(const pappus_draws *draws, pappus_unit_system units, pappus_error *err)
{
    static const struct {
        const char *key;
        pappus_dimension dimension;
    } plain[PLAIN_QUANTITIES] = {{"rocket.mass", PAPPUS_DIM_MASS},
                                 {"rocket.ballistic_drag_area", PAPPUS_DIM_AREA},
                                 {"rocket.tumble_drag_area", PAPPUS_DIM_AREA},
                                 {"drogue", PAPPUS_DIM_AREA},
                                 {"main", PAPPUS_DIM_AREA},
                                 {"main.held_drag_area", PAPPUS_DIM_AREA},
                                 {"drogue.opening_time", PAPPUS_DIM_TIME},
                                 {"main.opening_time", PAPPUS_DIM_TIME},
                                 {"apogee.height", PAPPUS_DIM_LENGTH},
                                 {"apogee.speed", PAPPUS_DIM_SPEED},
                                 {"motor_delay", PAPPUS_DIM_TIME},
                                 {"rocket.hanging_share", PAPPUS_DIM_NUMBER}};
    for (size_t i = 0; i < draws->quantity_count; i++) {
        const quantity *q = &draws->quantities[i];
        bool is_plain = i < PLAIN_QUANTITIES;
        double mean = q->value.mean;
        char found[48], least[48];
        /* an exact zero is a drag area or a time; a spread about zero is not */
        bool zero_counts = q->value.distribution == PAPPUS_EXACT && i != MASS && i != APOGEE_HEIGHT;
        if (!pappus_is_present(q->value) || mean > q->above) continue;
        if (zero_counts && mean == q->above) continue;
        pappus_dimension dimension = is_plain ? plain[i].dimension : PAPPUS_DIM_TIME;
        pappus_units_format(found, sizeof found, dimension, units, mean);
        pappus_units_format(least, sizeof least, dimension, units, q->above);
        return pappus_fail(err, PAPPUS_E_FLIGHT, NULL,
                           is_plain ? plain[i].key : "altimeters.fire_delay", NULL,
                           "its mean is %s and must be above %s", found, least);
    }
    return PAPPUS_OK;
}

int pappus_draws_check(const pappus_draws *draws, const pappus_air *air, pappus_unit_system units,
                       pappus_error *err)
{
    int status = check_quantities(draws, units, err);
    double mass_kg = draws->quantities[MASS].value.mean;
    double apogee_m = draws->quantities[APOGEE_HEIGHT].value.mean;
    if (status == PAPPUS_OK && draws->has_drogue)
        status = check_rate(&draws->drogue, "drogue", units, mass_kg,
                            pappus_air_density_kgpm3(air, apogee_m), err);
    if (status == PAPPUS_OK && draws->has_main)
        status = check_rate(&draws->main, "main", units, mass_kg,
                            pappus_air_density_kgpm3(air, 0.0), err);
    return status;
}
