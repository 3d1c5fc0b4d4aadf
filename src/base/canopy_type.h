/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is known of each type of canopy: proportions, drag, opening. */
#ifndef PAPPUS_BASE_CANOPY_TYPE_H
#define PAPPUS_BASE_CANOPY_TYPE_H

#include <pappus/canopy.h>

/** A range of a handbook table; both NaN where the type has none. */
typedef struct {
    double low, high;
} pappus_range;

/** D_o is the nominal diameter, of the circle with the area S_o of all the cloth. */
typedef struct {
    const char *name;           /**< as the plan writes it */
    pappus_range constructed;   /**< D_c / D_o: laid flat */
    pappus_range projected;     /**< D_p / D_o: inflated mouth */
    pappus_range drag;          /**< coefficient on S_o */
    pappus_range opening_force; /**< C_x, peak over steady force at infinite mass */
    double fill_constant;       /**< n: opens over n D_o of air distance */
    double growth_exponent;     /**< j: drag area grows as (t / t_fill)^j */
} pappus_canopy_type_data;

/** Never NULL; an unknown type gives flat circular. */
const pappus_canopy_type_data *pappus_canopy_type_of(pappus_canopy_type type);
double pappus_range_middle(pappus_range range);
/** Area of the basis over S_o: 1, (D_c/D_o)^2 or (D_p/D_o)^2, as a range. */
pappus_range pappus_canopy_area_ratio(pappus_canopy_type type, pappus_area_basis basis);
/** What a coefficient that belongs to this basis may be for this type: the
 * type's range over the area ratio, widest combination. */
pappus_range pappus_canopy_drag_range(pappus_canopy_type type, pappus_area_basis basis);

#endif
