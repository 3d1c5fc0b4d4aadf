/* SPDX-License-Identifier: GPL-3.0-or-later
 * Constants of the ejection charge sum. */
#ifndef PAPPUS_BENCH_CHARGE_H
#define PAPPUS_BENCH_CHARGE_H

/* Common practice, no primary source: empirical. Real flame temperature is
 * higher, and about half of the products are solids. */
#define CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R 22.16
#define CHARGE_TEMPERATURE_R 3307.0

/** R T in J/kg. */
double charge_specific_energy_jpkg(void);
/** The plan's key of the charge "drogue" or "main"; static. */
const char *charge_key(const char *name);

#endif
