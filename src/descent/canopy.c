/* SPDX-License-Identifier: GPL-3.0-or-later
 * A canopy as the plan gives it, resolved into drag area and opening.
 *
 * Makers reckon areas differently, so the coefficient belongs to the area of the
 * plan's basis: nominal pi D_o^2/4, the total cloth area; constructed pi D^2/4
 * laid flat; projected pi D^2/4 of the inflated mouth (Knacke, Parachute Recovery
 * Systems Design Manual, NWC TP 6575, 1991; canopy_type.c has the table). The
 * nominal diameter, which the opening scales with, follows by the middle of the
 * type's range of proportions. A spill hole takes its own area off the area that
 * the coefficient is multiplied with; a drag area or a descent rate was measured
 * with the hole in it and stays as it is.
 *
 * Stops being right: spill holes beyond about a fifth of the diameter, which
 * change the coefficient as well; clustered canopies. */
#include "canopy.h"

#include "atmosphere.h"
#include "canopy_type.h"
#include "error.h"
#include "fall.h"
#include "uncertain.h"

#include <math.h>

static double disc_m2(double diameter_m)
{
    return 0.25 * M_PI * diameter_m * diameter_m;
}

static double disc_diameter_m(double area_m2)
{
    return sqrt(4.0 * area_m2 / M_PI);
}

double pappus_steady_rate_mps(double mass_kg, double drag_area_m2, double density_kgpm3)
{
    return sqrt(2.0 * mass_kg * PAPPUS_GRAVITY_MPS2 / (density_kgpm3 * drag_area_m2));
}

double pappus_steady_drag_area_m2(double mass_kg, double rate_mps, double density_kgpm3)
{
    return 2.0 * mass_kg * PAPPUS_GRAVITY_MPS2 / (density_kgpm3 * rate_mps * rate_mps);
}

double pappus_canopy_drag_area_m2(const pappus_canopy *canopy, double value)
{
    return canopy->power == 1 ? canopy->factor * value : canopy->factor / (value * value);
}

double pappus_canopy_mean_drag_area_m2(const pappus_canopy *canopy)
{
    return pappus_canopy_drag_area_m2(canopy, canopy->value.mean);
}

double pappus_canopy_drag_area_quantile_m2(const pappus_canopy *canopy, double p)
{
    double at = canopy->power == 1 ? p : 1.0 - p;
    return pappus_canopy_drag_area_m2(canopy, pappus_uncertain_quantile(canopy->value, at));
}

/* The area that a coefficient of this basis belongs to, before the spill hole;
 * NaN: the plan gives none. */
static double reference_area_m2(const pappus_canopy_plan *plan)
{
    if (plan->type == PAPPUS_STREAMER && plan->length_m > 0.0)
        return plan->length_m * plan->width_m;
    if (plan->diameter_m > 0.0) return disc_m2(plan->diameter_m);
    return plan->area_m2 > 0.0 ? plan->area_m2 : NAN;
}

static double nominal_area_m2(const pappus_canopy_plan *plan)
{
    if (plan->type == PAPPUS_STREAMER) return reference_area_m2(plan);
    pappus_range d = {1.0, 1.0};
    const pappus_canopy_type_data *type = pappus_canopy_type_of(plan->type);
    if (plan->area_basis == PAPPUS_CONSTRUCTED_AREA) d = type->constructed;
    if (plan->area_basis == PAPPUS_PROJECTED_AREA) d = type->projected;
    double middle = pappus_range_middle(d);
    return reference_area_m2(plan) / (middle * middle);
}

static double hole_m2(const pappus_canopy_plan *plan)
{
    return plan->spill_hole_m > 0.0 ? disc_m2(plan->spill_hole_m) : 0.0;
}

static double standard_density_kgpm3(double height_msl_m)
{
    double geopotential_m = pappus_geopotential_m(height_msl_m);
    return pappus_standard_pressure_pa(geopotential_m) /
           (PAPPUS_GAS_CONSTANT_AIR * pappus_standard_temperature_k(geopotential_m));
}

static int resolve_rate(pappus_canopy *out, const pappus_canopy_plan *plan, const char *key,
                        pappus_error *err)
{
    if (!(plan->rate_mass_kg > 0.0))
        return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, NULL,
                           "a descent rate needs the mass it belongs to: give rate.mass");
    double height_m = isfinite(plan->rate_height_msl_m) ? plan->rate_height_msl_m : 0.0;
    out->value = plan->rate_speed_mps;
    out->power = -2;
    out->factor =
        pappus_steady_drag_area_m2(plan->rate_mass_kg, 1.0, standard_density_kgpm3(height_m));
    return PAPPUS_OK;
}

static int resolve_area(pappus_canopy *out, const pappus_canopy_plan *plan, const char *key,
                        pappus_error *err)
{
    double area_m2 = reference_area_m2(plan);
    out->power = 1;
    out->value = plan->drag_coefficient;
    if (!pappus_is_present(plan->drag_coefficient)) {
        pappus_range drag = pappus_canopy_type_of(plan->type)->drag;
        area_m2 = nominal_area_m2(plan);
        out->value = pappus_uniform(drag.low, drag.high);
        out->assumed_coefficient = true;
        if (!isfinite(drag.low))
            return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, NULL,
                               "a streamer needs a drag_coefficient: its type has no range");
    }
    out->factor = area_m2 - hole_m2(plan);
    if (out->factor > 0.0) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, NULL,
                       isfinite(area_m2)
                           ? "the spill hole is as large as the canopy: give a smaller spill_hole"
                           : "no drag area: give diameter or area with drag_coefficient, drag_area "
                             "or rate (streamer: length, width and drag_coefficient)");
}

static int resolve_drag(pappus_canopy *out, const pappus_canopy_plan *plan, const char *key,
                        pappus_error *err)
{
    if (pappus_is_present(plan->rate_speed_mps)) return resolve_rate(out, plan, key, err);
    if (!pappus_is_present(plan->drag_area_m2)) return resolve_area(out, plan, key, err);
    out->value = plan->drag_area_m2;
    out->power = 1;
    out->factor = 1.0;
    return PAPPUS_OK;
}

/* Without a size, the diameter of a canopy of this type with the same drag area;
 * a streamer's coefficient is not known then, so 1 is taken (our assumption). */
static double diameter_from_drag_m(const pappus_canopy *canopy, pappus_canopy_type type)
{
    double drag = pappus_range_middle(pappus_canopy_type_of(type)->drag);
    return disc_diameter_m(pappus_canopy_mean_drag_area_m2(canopy) / (isfinite(drag) ? drag : 1.0));
}

int pappus_canopy_resolve(pappus_canopy *out, const pappus_canopy_plan *plan, const char *key,
                          pappus_error *err)
{
    const pappus_canopy_type_data *type = pappus_canopy_type_of(plan->type);
    *out = (pappus_canopy){0};
    int status = resolve_drag(out, plan, key, err);
    if (status != PAPPUS_OK) return status;
    double nominal_m2 = nominal_area_m2(plan);
    out->nominal_diameter_m =
        isfinite(nominal_m2) ? disc_diameter_m(nominal_m2) : diameter_from_drag_m(out, plan->type);
    out->fill_m = type->fill_constant * out->nominal_diameter_m;
    out->cx = pappus_range_middle(type->opening_force);
    out->opening_time_s = plan->opening_time_s;
    out->holds_body =
        pappus_is_present(plan->rate_speed_mps) || pappus_is_present(plan->drag_area_m2);
    if (pappus_canopy_mean_drag_area_m2(out) > 0.0) return PAPPUS_OK;
    return pappus_fail(err, PAPPUS_E_PLAN, NULL, key, NULL,
                       "the drag area is not above zero: check the coefficient, drag_area or rate");
}
