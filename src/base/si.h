/* SPDX-License-Identifier: GPL-3.0-or-later
 * What other units and standard gravity are in SI, by exact definition: international yard
 * and pound agreement (1959), nautical mile 1852 m (1929), standard gravity 9.80665 m/s2
 * (3rd CGPM, 1901), conventional mercury 13595.1 kg/m3. Words for them: unit_words.h. */
#ifndef PAPPUS_BASE_SI_H
#define PAPPUS_BASE_SI_H

#define PAPPUS_GRAVITY_MPS2 9.80665

#define PAPPUS_FOOT_M 0.3048
#define PAPPUS_INCH_M 0.0254
#define PAPPUS_YARD_M (3 * PAPPUS_FOOT_M)
#define PAPPUS_MILE_M 1609.344
#define PAPPUS_NAUTICAL_MILE_M 1852.0
#define PAPPUS_ACRE_M2 4046.8564224

#define PAPPUS_KNOT_MPS (PAPPUS_NAUTICAL_MILE_M / 3600.0)
#define PAPPUS_MPH_MPS (PAPPUS_MILE_M / 3600.0)
#define PAPPUS_KPH_MPS (1.0 / 3.6)

#define PAPPUS_POUND_KG 0.45359237
#define PAPPUS_POUND_FORCE_N (PAPPUS_POUND_KG * PAPPUS_GRAVITY_MPS2)
#define PAPPUS_FOOT_POUND_J (PAPPUS_FOOT_M * PAPPUS_POUND_FORCE_N)
#define PAPPUS_PSI_PA (PAPPUS_POUND_FORCE_N / (PAPPUS_INCH_M * PAPPUS_INCH_M))
#define PAPPUS_MERCURY_NPM3 (13595.1 * PAPPUS_GRAVITY_MPS2)

#define PAPPUS_ZERO_DEGC_K 273.15
#define PAPPUS_DEGF_K (5.0 / 9.0) /**< of a difference */
#define PAPPUS_ZERO_DEGF_R 459.67 /**< in degrees Rankine */

#endif
