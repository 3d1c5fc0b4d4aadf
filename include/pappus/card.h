/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card: canopies, charges, loads, altimeter settings. Conventions: pappus.h. */
#ifndef PAPPUS_CARD_H
#define PAPPUS_CARD_H

#include <pappus/winds.h>
#include <pappus/limit.h>

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/** An ejection charge, every step of its sum, so that it can be checked by hand.
 * m = F L / (R T), ideal gas with the empirical constants of common practice. A
 * starting point for a ground test, never a setting. */
typedef struct {
    bool present;
    const char *name; /**< "drogue" or "main" (static text) */
    double bay_diameter_m, bay_length_m, area_m2, volume_m3;
    const char *from; /**< what was given: "force", "pressure" or "shear pins" */
    int pin_count;
    double pin_strength_n; /**< each; NaN: none given */
    double friction_n, margin;
    double needed_n;             /**< pins and friction; NaN without pins */
    double needed_with_margin_n; /**< needed_n times margin */
    double force_n, pressure_pa; /**< that the primary makes */
    double mass_kg;              /**< primary */
    double backup_factor, backup_mass_kg, backup_force_n, backup_pressure_pa;
} pappus_charge;

typedef struct {
    const char *name;                   /**< the case, static text */
    double fire_height_m, airspeed_mps; /**< at firing */
    double peak_n, peak_g;
    pappus_verdict verdict; /**< against limits.opening_load; undecided: no limit */
} pappus_load_case;

typedef struct {
    pappus_canopy_type type;
    pappus_area_basis basis;
    double drag_coefficient, diameter_m; /**< for the wanted rate */
    double rate_mps;                     /**< of the plan's own diameter, were it this; NaN: none */
} pappus_diameter_row;

/** A diameter for every round type on its three bases. */
#define PAPPUS_DIAMETER_ROWS 21
#define PAPPUS_LOAD_CASES 5

/** One canopy: alone by the handbook, and as flown. */
typedef struct {
    bool present;
    const char *name; /**< "drogue" or "main" (static text) */
    pappus_canopy_type type;
    pappus_area_basis basis;
    double diameter_m; /**< as given; NaN when the plan gives none */
    double nominal_diameter_m, drag_area_m2;
    double drag_area_low_m2;              /**< 5th percentile */
    double spill_hole_m;                  /**< diameter, 0 for none */
    double alone_mps;                     /**< v = sqrt(2 W / (rho CdS)) */
    double alone_low_mps, alone_high_mps; /**< 5th and 95th percentile of its drag area */
    double beside_drag_area_m2; /**< what else is open then: the body, beside a main the drogue */
    double flown_mps;           /**< with the body and every open canopy; NaN: no steady rate */
    double flown_height_m;      /**< where that rate is taken: the ground for the last canopy */
    double usual_low_mps, usual_high_mps; /**< common practice */
    double wanted_mps;                    /**< the rate that the diameters below are for */
    bool wanted_given;                    /**< by the plan; else the middle of the usual */
    double wanted_drag_area_m2;
    /* This plan's own canopy made larger or smaller, spill hole in proportion, alone and
     * with what else is open; NaN: no diameter, or the others alone are slow enough. */
    double wanted_diameter_m, wanted_flown_diameter_m;
    double wanted_length_m, wanted_flown_length_m; /**< of a streamer at its width; NaN: none */
    pappus_diameter_row rows[PAPPUS_DIAMETER_ROWS];
    size_t load_count;
    pappus_load_case loads[PAPPUS_LOAD_CASES];
} pappus_card_canopy;

typedef struct {
    char *name;
    double mass_kg, energy_j;
    double energy_high_j;   /**< at touchdown_high_mps */
    double largest_mass_kg; /**< that meets the limit at this rate; NaN: no limit */
    pappus_verdict verdict;
} pappus_card_section;

typedef struct {
    char *title, *plan_path;
    double latitude_deg, longitude_deg;                            /**< of the pad */
    double flight_utc_s;                                           /**< wind.time; NaN: not given */
    double mass_kg, elevation_msl_m, temperature_k, density_kgpm3; /**< at the pad */
    pappus_card_canopy drogue, main;
    pappus_charge drogue_charge, main_charge;
    size_t section_count;
    pappus_card_section *sections;
    double touchdown_mps;
    double touchdown_high_mps; /**< with the last canopy's drag at its 5th percentile */
    double main_full_open_m;   /**< true height; 0: not before the ground; NaN: no main */
    double drogue_time_s, main_time_s, total_time_s; /**< nominal, calm */
    double apogee_m;
    double energy_limit_j, load_limit_g, speed_limit_mps;
    bool tumble_assumed; /**< a load case falls with an assumed body drag */
    size_t altimeter_count;
    pappus_altimeter *altimeters;   /**< names owned by the card */
    double *altimeter_true_m;       /**< true height at which each fires its main today; NaN */
    pappus_uncertain motor_delay_s; /**< of the motor's own charge; absent: none */
    pappus_log findings;            /**< what is out of the usual range */
} pappus_card;

/** Builds the card of a plan; wind and field are not needed. Every altimeter is taken
 * to work and every canopy to hold, so that the bad cases can be told one by one.
 * Faults go to `log`, what is out of the usual range to the card's findings. */
int pappus_card_build(pappus_card **out, const pappus_plan *plan, pappus_log *log);
/** The same in the air that a brief has: temperatures and pressures of these winds, which
 * move what an altimeter shows. Nothing blows on the bench. */
int pappus_card_build_in(pappus_card **out, const pappus_plan *plan, const pappus_winds *winds,
                         pappus_log *log);
void pappus_card_free(pappus_card *card);

#ifdef __cplusplus
}
#endif
#endif
