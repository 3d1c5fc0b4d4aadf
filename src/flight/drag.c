/* SPDX-License-Identifier: GPL-3.0-or-later
 * Drag area from a steady fall. With depth y = integral of sqrt(rho/2g) dz a fall whose drag
 * is its weight has dy/dt = -sqrt(m/CdS) =: -q at any height, so
 *   CdS = (m/q^2) (1 + v^2/(2 g H)),
 * the last term because a fall into denser air slows down: steady speed goes as
 * rho^(-1/2), dv/dt = -v^2/(2H), H = RT/g (X). In an altimeter's own heights this is
 * CdS = 2 m g R T_std^2/(p T v_ind^2): h_ind falls by T_std/T of the true fall.
 *
 * Interval (95 %): the air may rise or sink by 0.3 m/s over the stretch, which is what
 * matters most; CdS goes as the inverse square of the speed, so its limits are those of
 * the speed, taken through. The scatter of the line; mass; temperature and pressure of the air.
 * The last three are the same in both phases of a fall and are kept apart. Limits of a sum or
 * difference are put together as the distances from the value, in quadrature (Zou & Donner,
 * Statistics in Medicine 27:1693, 2008).
 *
 * Stops being right in air that rises or sinks more (thermals, lee of a hill), with a body
 * that swings, and where the drag depends on the speed itself. */
#include "drag.h"

#include "atmosphere.h"
#include "air.h"
#include "si.h"

#include <math.h>

#define Z95 1.959964

static double mid_density(const pappus_flown_phase *phase, const pappus_air *air)
{
    return pappus_air_density_kgpm3(air, 0.5 * (phase->top_m + phase->bottom_m));
}

/* Relative: density goes as p/T; where heights are of pressure, p is known from the reading
 * and the fall is as T of what is shown, so that the area goes as 1/T all the same. */
static double shared_part(pappus_uncertain mass_kg, const pappus_air *air)
{
    double mass = mass_kg.distribution == PAPPUS_EXACT ? 0.0 : mass_kg.sd / mass_kg.mean;
    double warmth = PAPPUS_AIR_TEMPERATURE_SD_K / pappus_air_temperature_k(air, 0.0);
    double press = PAPPUS_AIR_PRESSURE_SD_PA / pappus_air_pressure_pa(air, 0.0);
    return sqrt(mass * mass + warmth * warmth + press * press);
}

void pappus_drag_of_phase(pappus_flown_phase *phase, const pappus_line *line,
                          pappus_uncertain mass_kg, const pappus_air *air)
{
    double density = mid_density(phase, air), q = -line->slope;
    double temperature = pappus_air_temperature_k(air, 0.5 * (phase->top_m + phase->bottom_m));
    double v = q * sqrt(2.0 * PAPPUS_GRAVITY_MPS2 / density);
    double scale_m = PAPPUS_GAS_CONSTANT_AIR * temperature / PAPPUS_GRAVITY_MPS2;
    double area = mass_kg.mean / (q * q) * (1.0 + v * v / (2.0 * PAPPUS_GRAVITY_MPS2 * scale_m));
    double fit = line->slope_sd / q, air_part = PAPPUS_VERTICAL_AIR_MPS / v;
    double part = Z95 * sqrt(fit * fit + air_part * air_part);
    phase->rate_mps = (pappus_estimate){v, v * (1.0 - Z95 * fit), v * (1.0 + Z95 * fit)};
    phase->drag_area_m2.value = area;
    phase->drag_area_m2.low = area / pow(1.0 + part, 2.0);
    phase->drag_area_m2.high = part < 1.0 ? area / pow(1.0 - part, 2.0) : INFINITY;
    phase->drag_area_part = shared_part(mass_kg, air);
}

/* Adds the shared relative error to an estimate. */
static pappus_estimate with_shared(pappus_estimate e, double part)
{
    double more = Z95 * part * e.value;
    return (pappus_estimate){e.value, e.value - hypot(e.value - e.low, more),
                             e.value + hypot(e.high - e.value, more)};
}

pappus_estimate pappus_drag_whole(const pappus_flown_phase *phase)
{
    return with_shared(phase->drag_area_m2, phase->drag_area_part);
}

pappus_estimate pappus_drag_between(const pappus_flown_phase *earlier,
                                    const pappus_flown_phase *later)
{
    pappus_estimate a = earlier->drag_area_m2, b = later->drag_area_m2;
    double value = b.value - a.value;
    pappus_estimate alone = {value, value - hypot(b.value - b.low, a.high - a.value),
                             value + hypot(b.high - b.value, a.value - a.low)};
    return with_shared(alone, later->drag_area_part);
}
