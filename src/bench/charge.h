/* SPDX-License-Identifier: GPL-3.0-or-later
 * The ejection charge sum. */
#ifndef PAPPUS_BENCH_CHARGE_H
#define PAPPUS_BENCH_CHARGE_H

#include <pappus/card.h>

/* Common practice, no primary source: empirical. Real flame temperature is
 * higher, and about half of the products are solids. */
#define CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R 22.16
#define CHARGE_TEMPERATURE_R 3307.0

/** R T in J/kg. */
double charge_specific_energy_jpkg(void);
/** The plan's key of the charge "drogue" or "main"; static. */
const char *charge_key(const char *name);

/** One charge from its plan; PAPPUS_E_PLAN when it cannot be reckoned. */
int pappus_charge_size(pappus_charge *out, const char *name, const pappus_charge_plan *plan,
                       pappus_error *err);
/** Gauge pressure that a mass of black powder makes in a volume, and the mass for
 * a pressure. */
double pappus_charge_pressure_pa(double mass_kg, double volume_m3);
double pappus_charge_mass_kg(double pressure_pa, double volume_m3);

#endif
