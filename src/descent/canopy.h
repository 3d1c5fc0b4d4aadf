/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the descent needs of a canopy: drag area, opening, opening load. */
#ifndef PAPPUS_DESCENT_CANOPY_H
#define PAPPUS_DESCENT_CANOPY_H

#include <pappus/landings.h>

/** A canopy resolved. The uncertain value is what the plan is uncertain of: the
 * drag area (or the coefficient, which is proportional to it), or the speed of a
 * stated descent rate. Drag area = factor * value^power, power 1 or -2. */
typedef struct {
    pappus_uncertain value;
    double factor;
    int power;
    double nominal_diameter_m;
    double fill_m;                   /**< n D_o: air distance of the opening */
    pappus_uncertain opening_time_s; /**< absent: opens over fill_m */
    double cx;                       /**< opening load over steady load at infinite mass */
    bool holds_body;                 /**< measured in flight, the body's drag within it */
    bool assumed_coefficient;        /**< from the type's range: deserves a warning */
} pappus_canopy;

/** key: "drogue" or "main", for the message. PAPPUS_E_PLAN when the plan does not
 * give a drag area. */
int pappus_canopy_resolve(pappus_canopy *out, const pappus_canopy_plan *plan, const char *key,
                          pappus_error *err);
/** Drag area for a value of the uncertain quantity. */
double pappus_canopy_drag_area_m2(const pappus_canopy *canopy, double value);
/** Drag area at the mean of the uncertain quantity. */
double pappus_canopy_mean_drag_area_m2(const pappus_canopy *canopy);
/** Drag area that is not exceeded with probability p in (0, 1). */
double pappus_canopy_drag_area_quantile_m2(const pappus_canopy *canopy, double p);

/** Steady descent rate v = sqrt(2 m g / (rho CdS)) and its inverse. */
double pappus_steady_rate_mps(double mass_kg, double drag_area_m2, double density_kgpm3);
double pappus_steady_drag_area_m2(double mass_kg, double rate_mps, double density_kgpm3);

#endif
