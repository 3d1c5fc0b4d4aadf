/* SPDX-License-Identifier: GPL-3.0-or-later
 * The quantities that are drawn for each landing. */
#ifndef PAPPUS_DESCENT_DRAWS_TABLE_H
#define PAPPUS_DESCENT_DRAWS_TABLE_H

#include "canopy.h"
#include "draws.h"

#define TRIGGER_INTERVALS 32

enum {
    MASS,
    BALLISTIC_DRAG,
    TUMBLE_DRAG,
    DROGUE_DRAG,
    MAIN_DRAG,
    HELD_DRAG,
    DROGUE_OPENING,
    MAIN_OPENING,
    APOGEE_HEIGHT,
    APOGEE_SPEED,
    MOTOR_DELAY,
    HANGING_SHARE,
    PLAIN_QUANTITIES
};
enum { DROGUE_DELAY, FIRE_APOGEE, FIRE_MAIN, HEIGHT_ERROR, PER_ALTIMETER };

_Static_assert(PLAIN_QUANTITIES + PER_ALTIMETER * PAPPUS_ALTIMETERS_MOST <= PAPPUS_QUANTITIES_MOST,
               "pappus_drawn has room for every quantity");

typedef struct {
    pappus_uncertain value;
    pappus_stream stream;
    uint32_t sub;
    double above, upto; /* physical: above < value <= upto */
} quantity;

/* True height over indicated height. */
typedef struct {
    double low_m, step_m, true_m[TRIGGER_INTERVALS + 1];
} trigger_table;

/* Unit vector; of upwind and downwind that of the expected wind. */
typedef struct {
    double east, north;
    double against; /* 1 upwind, -1 downwind, 0 another or none */
} direction;

struct pappus_draws {
    pappus_random random;
    pappus_isa isa;
    pappus_case_table cases;
    size_t quantity_count;
    quantity quantities[PAPPUS_QUANTITIES_MOST];
    size_t altimeter_count;
    double main_height_m[PAPPUS_ALTIMETERS_MOST]; /* indicated; NaN: fires no main */
    trigger_table triggers[PAPPUS_ALTIMETERS_MOST];
    bool has_drogue, has_main, held;
    pappus_canopy drogue, main;
    double distance_m, spread_m;
    direction bearing, heading;
};

/** Before the table is set: the events. */
int pappus_draws_check_events(const pappus_plan *plan, pappus_error *err);
/** After it is set. */
int pappus_draws_check(const pappus_draws *draws, const pappus_air *air, pappus_unit_system units,
                       pappus_error *err);

#endif
