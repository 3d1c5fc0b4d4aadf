/* SPDX-License-Identifier: GPL-3.0-or-later
 * The table of canopy types, from memory of Knacke, Parachute Recovery Systems
 * Design Manual, NWC TP 6575, 1991, tables 5-1 and 5-2. Fill constants of the
 * conical, hemispherical and toroidal types are our assumption (8, as flat
 * circular). A streamer is not in those tables: it has no range of its own, the
 * plan must give its coefficient; it is taken to open as a flat circular canopy
 * of the same cloth area without overshoot (our assumption). Cloth canopies
 * only: ribbon types grow linearly and are not here. */
#include "canopy_type.h"

#include <math.h>

#define NONE                                                                                       \
    {                                                                                              \
        NAN, NAN                                                                                   \
    }

static const pappus_canopy_type_data types[PAPPUS_CANOPY_TYPES] = {
    [PAPPUS_FLAT_CIRCULAR] =
        {"flat circular", {1.00, 1.00}, {0.67, 0.70}, {0.75, 0.80}, {1.7, 1.7}, 8.0, 2.0},
    [PAPPUS_CONICAL] = {"conical", {0.93, 0.95}, {0.70, 0.70}, {0.75, 0.90}, {1.8, 1.8}, 8.0, 2.0},
    [PAPPUS_EXTENDED_SKIRT] =
        {"extended skirt", {0.86, 0.86}, {0.66, 0.70}, {0.78, 0.87}, {1.4, 1.4}, 10.0, 2.0},
    [PAPPUS_HEMISPHERICAL] =
        {"hemispherical", {0.71, 0.71}, {0.66, 0.66}, {0.62, 0.77}, {1.6, 1.6}, 8.0, 2.0},
    [PAPPUS_TOROIDAL] =
        {"toroidal", {1.04, 1.04}, {0.94, 0.94}, {0.85, 0.95}, {1.4, 1.4}, 8.0, 2.0},
    [PAPPUS_CROSS] = {"cross", {1.15, 1.19}, {0.66, 0.72}, {0.60, 0.85}, {1.1, 1.2}, 11.7, 2.0},
    [PAPPUS_RINGSAIL] =
        {"ringsail", {1.16, 1.16}, {0.69, 0.69}, {0.75, 0.90}, {1.1, 1.1}, 7.0, 2.0},
    [PAPPUS_STREAMER] = {"streamer", NONE, NONE, NONE, {1.0, 1.0}, 8.0, 2.0},
};

const pappus_canopy_type_data *pappus_canopy_type_of(pappus_canopy_type type)
{
    return &types[(unsigned)type < PAPPUS_CANOPY_TYPES ? type : PAPPUS_FLAT_CIRCULAR];
}

double pappus_range_middle(pappus_range range)
{
    return 0.5 * (range.low + range.high);
}

pappus_range pappus_canopy_area_ratio(pappus_canopy_type type, pappus_area_basis basis)
{
    const pappus_canopy_type_data *data = pappus_canopy_type_of(type);
    pappus_range d = {1.0, 1.0};
    if (basis == PAPPUS_CONSTRUCTED_AREA) d = data->constructed;
    if (basis == PAPPUS_PROJECTED_AREA) d = data->projected;
    return (pappus_range){d.low * d.low, d.high * d.high};
}

pappus_range pappus_canopy_drag_range(pappus_canopy_type type, pappus_area_basis basis)
{
    pappus_range drag = pappus_canopy_type_of(type)->drag;
    pappus_range ratio = pappus_canopy_area_ratio(type, basis);
    return (pappus_range){drag.low / ratio.high, drag.high / ratio.low};
}
