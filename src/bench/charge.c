/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ejection charge of black powder by ideal gas: m = p V / (R T) = F L / (R T), with
 * the force F = p A on the bay's cross section A and V = A L.
 *
 * Where it stops being right: it knows no leak, no vent, no packing, no heat lost
 * to the bay, no powder left unburnt. A starting point for a ground test in the
 * final flight configuration, never a setting. */
#include <pappus/card.h>

#include "charge.h"
#include "error.h"
#include "si.h"

#include <math.h>
#include <string.h>

const char *charge_key(const char *name)
{
    return strcmp(name, "drogue") == 0 ? "charges.drogue" : "charges.main";
}

double charge_specific_energy_jpkg(void)
{
    /* ft lbf / (lb R) * R = ft lbf / lb */
    return CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R * CHARGE_TEMPERATURE_R * PAPPUS_FOOT_M *
           PAPPUS_POUND_FORCE_N / PAPPUS_POUND_KG;
}

double pappus_charge_pressure_pa(double mass_kg, double volume_m3)
{
    return mass_kg * charge_specific_energy_jpkg() / volume_m3;
}

double pappus_charge_mass_kg(double pressure_pa, double volume_m3)
{
    return pressure_pa * volume_m3 / charge_specific_energy_jpkg();
}

static bool has_pins(const pappus_charge_plan *plan)
{
    return plan->shear_pin_count > 0 && !isnan(plan->shear_pin_strength_n);
}

/* An explicit force or pressure is what the flyer wants; pins then only say how
 * much of it is needed. */
static void choose_force(pappus_charge *charge, const pappus_charge_plan *plan)
{
    if (!isnan(plan->force_n)) {
        charge->from = "force";
        charge->force_n = plan->force_n;
    } else if (!isnan(plan->pressure_pa)) {
        charge->from = "pressure";
        charge->force_n = plan->pressure_pa * charge->area_m2;
    } else {
        charge->from = "shear pins";
        charge->force_n = charge->needed_with_margin_n;
    }
    charge->pressure_pa = charge->force_n / charge->area_m2;
}

static void need(pappus_charge *charge, const pappus_charge_plan *plan)
{
    charge->pin_count = plan->shear_pin_count;
    charge->pin_strength_n = plan->shear_pin_strength_n;
    charge->friction_n = plan->friction_n;
    charge->margin = plan->margin;
    charge->needed_n = has_pins(plan)
                           ? plan->shear_pin_count * plan->shear_pin_strength_n + plan->friction_n
                           : NAN;
    charge->needed_with_margin_n = charge->needed_n * plan->margin;
}

int pappus_charge_size(pappus_charge *out, const char *name, const pappus_charge_plan *plan,
                       pappus_error *err)
{
    pappus_charge charge = {.present = plan->present, .name = name};
    if (plan->present) {
        charge.bay_diameter_m = plan->bay_diameter_m;
        charge.bay_length_m = plan->bay_length_m;
        charge.area_m2 = M_PI * plan->bay_diameter_m * plan->bay_diameter_m / 4.0;
        charge.volume_m3 = charge.area_m2 * plan->bay_length_m;
        need(&charge, plan);
        choose_force(&charge, plan);
        charge.mass_kg = pappus_charge_mass_kg(charge.pressure_pa, charge.volume_m3);
        charge.backup_factor = plan->backup_factor;
        charge.backup_mass_kg = charge.mass_kg * plan->backup_factor;
        charge.backup_pressure_pa =
            pappus_charge_pressure_pa(charge.backup_mass_kg, charge.volume_m3);
        charge.backup_force_n = charge.backup_pressure_pa * charge.area_m2;
        if (!(charge.volume_m3 > 0.0) || !(charge.force_n > 0.0))
            return pappus_fail(err, PAPPUS_E_PLAN, NULL, charge_key(name), NULL,
                               "a charge needs bay_diameter, bay_length, and force, pressure or "
                               "shear_pins (count and strength)");
    }
    *out = charge;
    return PAPPUS_OK;
}
