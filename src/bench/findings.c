/* SPDX-License-Identifier: GPL-3.0-or-later
 * What on a bench card is possible and yet out of the usual range, or over a limit of
 * the plan: each finding says what was found and what is usual.
 *
 * The usual ranges are common practice without a source (P) or our own assumption (A);
 * they are there to catch a slip of units, not to judge a design. */
#include "findings.h"
#include "charge.h"
#include "si.h"

#include <math.h>
#include <string.h>

#define USUAL_PRESSURE_LOW_PA (5.0 * PAPPUS_PSI_PA)       /* P */
#define USUAL_PRESSURE_HIGH_PA (30.0 * PAPPUS_PSI_PA)     /* P */
#define USUAL_FORCE_HIGH_N (500.0 * PAPPUS_POUND_FORCE_N) /* P */
#define USUAL_PIN_LOW_N (23.0 * PAPPUS_POUND_FORCE_N)     /* P: the weakest nylon 2-56 */
#define USUAL_PIN_HIGH_N (63.0 * PAPPUS_POUND_FORCE_N)    /* P: the strongest nylon 4-40 */
#define USUAL_PINS_HIGH 6                                 /* A */
#define USUAL_BAY_DIAMETER_LOW_M (1.0 * PAPPUS_INCH_M)    /* A */
#define USUAL_BAY_DIAMETER_HIGH_M (12.0 * PAPPUS_INCH_M)  /* A */
#define USUAL_BAY_LENGTH_LOW_M (3.0 * PAPPUS_INCH_M)      /* A */
#define USUAL_BAY_LENGTH_HIGH_M (60.0 * PAPPUS_INCH_M)    /* A */

typedef struct {
    pappus_log *log;
    const char *file;
} place;

#define FIND(at, key, ...)                                                                         \
    pappus_log_add((at).log, PAPPUS_WARNING, PAPPUS_OK, (at).file, key, NULL, __VA_ARGS__)

static bool outside(double value, double low, double high)
{
    return value < low || value > high;
}

static void find_size(place at, const char *key, const char *what, double length_m, double low_m,
                      double high_m)
{
    if (outside(length_m, low_m, high_m))
        FIND(at, key, "%s of %.1f inch (%.0f mm); usual is %.0f to %.0f inch: is the unit right?",
             what, length_m / PAPPUS_INCH_M, length_m * 1000.0, low_m / PAPPUS_INCH_M,
             high_m / PAPPUS_INCH_M);
}

static void find_pins(place at, const char *key, const pappus_charge *c)
{
    if (isnan(c->needed_n)) return;
    if (c->pin_count > USUAL_PINS_HIGH)
        FIND(at, key, "%d shear pins; usual is 2 to %d", c->pin_count, USUAL_PINS_HIGH);
    if (outside(c->pin_strength_n, USUAL_PIN_LOW_N, USUAL_PIN_HIGH_N))
        FIND(at, key,
             "a shear pin of %.0f lbf (%.0f N); nylon pins usually take 23 to 39 lbf (2-56) or 38 "
             "to 63 lbf (4-40) each",
             c->pin_strength_n / PAPPUS_POUND_FORCE_N, c->pin_strength_n);
    if (c->force_n < c->needed_n)
        FIND(at, key,
             "the primary makes %.0f lbf (%.0f N) and does NOT shear the pins: with friction they "
             "take %.0f lbf (%.0f N)",
             c->force_n / PAPPUS_POUND_FORCE_N, c->force_n, c->needed_n / PAPPUS_POUND_FORCE_N,
             c->needed_n);
    else if (c->force_n < c->needed_with_margin_n * (1.0 - 1e-9))
        FIND(at, key,
             "the primary makes %.0f lbf (%.0f N), %.2f times what pins and friction take; wanted "
             "is %.2f times",
             c->force_n / PAPPUS_POUND_FORCE_N, c->force_n, c->force_n / c->needed_n, c->margin);
}

static void find_pressure(place at, const char *key, const char *which, double pressure_pa)
{
    if (outside(pressure_pa, USUAL_PRESSURE_LOW_PA, USUAL_PRESSURE_HIGH_PA))
        FIND(at, key, "the %s makes %.1f psi (%.0f kPa); usual is %.0f to %.0f psi", which,
             pressure_pa / PAPPUS_PSI_PA, pressure_pa / 1000.0,
             USUAL_PRESSURE_LOW_PA / PAPPUS_PSI_PA, USUAL_PRESSURE_HIGH_PA / PAPPUS_PSI_PA);
}

static void find_charge(place at, const pappus_charge *c)
{
    if (!c->present) return;
    const char *key = charge_key(c->name);
    find_size(at, key, "a bay diameter", c->bay_diameter_m, USUAL_BAY_DIAMETER_LOW_M,
              USUAL_BAY_DIAMETER_HIGH_M);
    find_size(at, key, "a bay length", c->bay_length_m, USUAL_BAY_LENGTH_LOW_M,
              USUAL_BAY_LENGTH_HIGH_M);
    find_pins(at, key, c);
    find_pressure(at, key, "primary", c->pressure_pa);
    find_pressure(at, key, "backup", c->backup_pressure_pa);
    if (c->backup_force_n > USUAL_FORCE_HIGH_N)
        FIND(at, key,
             "the backup pushes with %.0f lbf (%.0f N); usual is at most %.0f lbf: is the bay's "
             "diameter right?",
             c->backup_force_n / PAPPUS_POUND_FORCE_N, c->backup_force_n,
             USUAL_FORCE_HIGH_N / PAPPUS_POUND_FORCE_N);
}

static void find_canopy(place at, const pappus_card_canopy *c, double load_limit_g)
{
    if (!c->present) return;
    if (outside(c->wanted_mps, c->usual_low_mps, c->usual_high_mps))
        FIND(at, c->name, "the wanted rate is %.1f ft/s (%.1f m/s); usual is %.0f to %.0f ft/s",
             c->wanted_mps / PAPPUS_FOOT_M, c->wanted_mps, c->usual_low_mps / PAPPUS_FOOT_M,
             c->usual_high_mps / PAPPUS_FOOT_M);
    if (outside(c->flown_mps, c->usual_low_mps, c->usual_high_mps))
        FIND(at, c->name, "comes down at %.1f ft/s (%.1f m/s) as flown; usual is %.0f to %.0f ft/s",
             c->flown_mps / PAPPUS_FOOT_M, c->flown_mps, c->usual_low_mps / PAPPUS_FOOT_M,
             c->usual_high_mps / PAPPUS_FOOT_M);
    for (size_t i = 0; i < c->load_count; i++)
        if (c->loads[i].verdict == PAPPUS_BROKEN)
            FIND(at, c->name,
                 "opening %s: %.0f g (%.0f lbf, %.0f N); limits.opening_load is %.0f g",
                 c->loads[i].name, c->loads[i].peak_g, c->loads[i].peak_n / PAPPUS_POUND_FORCE_N,
                 c->loads[i].peak_n, load_limit_g);
}

static void find_touchdown(place at, const pappus_card *card)
{
    if (card->touchdown_mps > card->speed_limit_mps)
        FIND(at, "limits.landing_speed", "it lands at %.1f ft/s (%.1f m/s); the limit is %.1f ft/s",
             card->touchdown_mps / PAPPUS_FOOT_M, card->touchdown_mps,
             card->speed_limit_mps / PAPPUS_FOOT_M);
    if (card->main_full_open_m == 0.0)
        FIND(at, "main", "it is not fully open when the rocket reaches the ground");
    for (size_t i = 0; i < card->section_count; i++) {
        const pappus_card_section *s = &card->sections[i];
        if (s->energy_high_j <= card->energy_limit_j || isnan(card->energy_limit_j)) continue;
        FIND(at, "rocket.sections",
             "%.60s lands with %.0f ft lbf (%.0f J)%s; limits.landing_energy is %.0f ft lbf",
             s->name,
             (s->verdict == PAPPUS_BROKEN ? s->energy_j : s->energy_high_j) / PAPPUS_FOOT_POUND_J,
             s->verdict == PAPPUS_BROKEN ? s->energy_j : s->energy_high_j,
             s->verdict == PAPPUS_BROKEN ? "" : " where the canopy is weak",
             card->energy_limit_j / PAPPUS_FOOT_POUND_J);
    }
}

void pappus_card_find(pappus_card *card, const char *file)
{
    place at = {&card->findings, file};
    find_charge(at, &card->drogue_charge);
    find_charge(at, &card->main_charge);
    find_canopy(at, &card->drogue, card->load_limit_g);
    find_canopy(at, &card->main, card->load_limit_g);
    find_touchdown(at, card);
}
