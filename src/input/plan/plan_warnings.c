/* SPDX-License-Identifier: GPL-3.0-or-later
 * Warnings on a plan: what is allowed and yet looks wrong. The bounds are common
 * practice of the trade (drogue 70 to 100 ft/s, main 17 to 22 ft/s, main out by
 * 300 ft); rates are the handbook's v = sqrt(2 W / (rho CdS)) at the pad, in the
 * standard atmosphere of 1976 at the site's elevation, temperature and pressure
 * where given. */
#include "plan_reader.h"
#include "canopy_type.h"
#include "si.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void warn(const pappus_plan_reader *reader, const char *key, const char *value,
                 const char *message)
{
    pappus_log_add(reader->log, PAPPUS_WARNING, PAPPUS_OK,
                   pappus_plan_sources_file(reader->sources, key), key, value, "%s", message);
}

/* ---------------------------------------------------------------- sections */

static void warn_sections(const pappus_plan_reader *reader)
{
    const pappus_rocket *rocket = &reader->plan->rocket;
    double sum = 0.0;
    char value[120], mass[48];
    if (rocket->section_count == 0 && isfinite(reader->plan->limits.landing_energy_j)) {
        warn(reader, "rocket.sections", NULL,
             "none given: the energy at touchdown is that of the whole mass in one piece");
    }
    for (size_t i = 0; i < rocket->section_count; i++)
        sum += rocket->sections[i].mass_kg;
    if (rocket->section_count == 0 ||
        fabs(sum - rocket->mass_kg.mean) <= 0.03 * rocket->mass_kg.mean) {
        return;
    }
    pappus_units_format(mass, sizeof mass, PAPPUS_DIM_MASS, reader->plan->units, sum);
    snprintf(value, sizeof value, "a sum of %s", mass);
    warn(reader, "rocket.sections", value,
         "the sections do not add up to rocket.mass within 3 %; energies at touchdown use theirs");
}

static void warn_size(const pappus_plan_reader *reader)
{
    const pappus_rocket *rocket = &reader->plan->rocket;
    bool length = isfinite(rocket->length_m), diameter = isfinite(rocket->diameter_m);
    if (length == diameter || !rocket->tumble_assumed) return;
    warn(reader, length ? "rocket.length" : "rocket.diameter", NULL,
         length ? "not used without rocket.diameter: the body's drag is assumed from its mass"
                : "not used without rocket.length: the body's drag is assumed from its mass");
}

/* ---------------------------------------------------------------- canopies */

static double circle(double diameter_m)
{
    return 0.25 * M_PI * diameter_m * diameter_m;
}

/* Density of the standard troposphere, shifted by what the site knows. */
static double density_kgpm3(double elevation_m, double temperature_k, double pressure_pa)
{
    double standard_k = 288.15 - 0.0065 * elevation_m;
    double p = isfinite(pressure_pa) ? pressure_pa : 101325.0 * pow(standard_k / 288.15, 5.25588);
    return p / (287.053 * (isfinite(temperature_k) ? temperature_k : standard_k));
}

static double mean_drag_area_m2(const pappus_canopy_plan *c)
{
    if (!c->present) return 0.0;
    if (pappus_is_present(c->drag_area_m2)) return c->drag_area_m2.mean;
    if (pappus_is_present(c->rate_speed_mps)) {
        double v = c->rate_speed_mps.mean;
        return 2.0 * c->rate_mass_kg * PAPPUS_GRAVITY_MPS2 /
               (density_kgpm3(c->rate_height_msl_m, NAN, NAN) * v * v);
    }
    if (isfinite(c->length_m)) return c->drag_coefficient.mean * c->length_m * c->width_m;
    double area = isfinite(c->area_m2) ? c->area_m2 : circle(c->diameter_m);
    double coefficient = c->drag_coefficient.mean;
    if (!pappus_is_present(c->drag_coefficient)) {
        coefficient = pappus_range_middle(pappus_canopy_drag_range(c->type, c->area_basis));
    }
    return coefficient * (area - circle(c->spill_hole_m));
}

static void warn_coefficient(const pappus_plan_reader *reader, const char *name,
                             const pappus_canopy_plan *c)
{
    char key[64], value[48], message[300];
    static const char *const bases[] = {"nominal", "constructed", "projected"};
    if (!c->present || !pappus_is_present(c->drag_coefficient)) return;
    if (isfinite(c->area_m2) && !c->basis_given) return;
    pappus_range range = pappus_canopy_drag_range(c->type, c->area_basis);
    double mean = c->drag_coefficient.mean;
    if (!isfinite(range.low) || (mean >= 0.9 * range.low && mean <= 1.1 * range.high)) return;
    snprintf(key, sizeof key, "%s.drag_coefficient", name);
    pappus_units_format(value, sizeof value, PAPPUS_DIM_NUMBER, PAPPUS_UNITS_SI, mean);
    snprintf(message, sizeof message,
             "handbooks have %.2f to %.2f for a %s canopy%s on its %s area; check area_basis",
             range.low, range.high, pappus_canopy_type_of(c->type)->name,
             c->type_given ? "" : " (assumed)", bases[c->area_basis]);
    warn(reader, key, value, message);
}

static void warn_canopy(const pappus_plan_reader *reader, const char *name,
                        const pappus_canopy_plan *c)
{
    char key[64];
    if (!c->present) return;
    warn_coefficient(reader, name, c);
    if (isfinite(c->diameter_m) && !pappus_is_present(c->drag_coefficient)) {
        snprintf(key, sizeof key, "%s.drag_coefficient", name);
        warn(reader, key, NULL,
             "not given: the whole range of the type is taken; a flown or labelled rate is better");
    }
    if (c->spill_hole_m > 0.0 && !isfinite(c->diameter_m) && !isfinite(c->area_m2)) {
        snprintf(key, sizeof key, "%s.spill_hole", name);
        warn(reader, key, NULL, "not used: a drag area or rate already holds it");
    }
    if (c->spill_hole_m > 0.0 && isfinite(c->area_m2) && circle(c->spill_hole_m) >= c->area_m2) {
        snprintf(key, sizeof key, "%s.spill_hole", name);
        warn(reader, key, NULL, "the spill hole is as large as the area");
    }
}

static void warn_rate(const pappus_plan_reader *reader, const char *name, double drag_area_m2,
                      double low_fps, double high_fps)
{
    const pappus_plan *plan = reader->plan;
    const pappus_site *site = &plan->site;
    char value[120], message[200];
    double rho = density_kgpm3(site->elevation_msl_m, site->temperature_k, site->pressure_pa);
    double v = sqrt(2.0 * plan->rocket.mass_kg.mean * PAPPUS_GRAVITY_MPS2 / (rho * drag_area_m2));
    double fps = v / PAPPUS_FOOT_M;
    /* The range itself is rounded practice; a tenth of a foot does not matter. */
    if (!(drag_area_m2 > 0.0) || (fps >= low_fps - 0.1 && fps <= high_fps + 0.1)) return;
    snprintf(value, sizeof value, "a descent rate of %.1f ft/s (%.1f m/s) at the pad", fps, v);
    snprintf(message, sizeof message, "common practice is %.0f to %.0f ft/s", low_fps, high_fps);
    warn(reader, name, value, message);
}

static void warn_canopies(const pappus_plan_reader *reader)
{
    const pappus_plan *plan = reader->plan;
    double drogue = mean_drag_area_m2(&plan->drogue), main = mean_drag_area_m2(&plan->main);
    warn_canopy(reader, "drogue", &plan->drogue);
    warn_canopy(reader, "main", &plan->main);
    if (plan->drogue.present && plan->main.present)
        warn_rate(reader, "drogue", drogue, 70.0, 100.0);
    warn_rate(reader, plan->main.present ? "main" : "drogue", drogue + main, 17.0, 22.0);
    if (plan->main.present && pappus_is_present(plan->main.held_drag_area_m2) &&
        !plan->main.held_in_bundle) {
        warn(reader, "main.held_drag_area", NULL, "not used unless main.held is \"bundle\"");
    }
    if (plan->main.present && plan->main.held_in_bundle &&
        !pappus_is_present(plan->main.held_drag_area_m2)) {
        warn(reader, "main.held", "bundle",
             "the bundle has no main.held_drag_area: it is taken without drag until it is let go");
    }
}

/* --------------------------------------------------------------- altimeters */

static void warn_altimeter(const pappus_plan_reader *reader, size_t index)
{
    const pappus_plan *plan = reader->plan;
    const pappus_altimeter *a = &plan->altimeters[index], *primary = &plan->altimeters[0];
    char key[64], value[100];
    snprintf(key, sizeof key, "altimeters[%zu].main_height", index);
    pappus_units_format(value, sizeof value, PAPPUS_DIM_LENGTH, reader->plan->units,
                        a->main_height_m);
    if (isfinite(a->main_height_m) && !plan->main.present) {
        warn(reader, key, value, "not used: the plan has no main");
    } else {
        if (a->main_height_m < 300.0 * PAPPUS_FOOT_M - 0.01) {
            warn(reader, key, value, "lower than the 300 ft of common practice");
        }
        if (a->main_height_m > plan->apogee.height_m.mean) {
            warn(reader, key, value, "above the apogee: the main fires at apogee");
        }
        if (index > 0 && a->main_height_m > primary->main_height_m) {
            warn(reader, key, value, "fires before the primary; a backup is set lower");
        }
    }
    if (index > 0 && a->drogue_delay_s.mean < primary->drogue_delay_s.mean) {
        snprintf(key, sizeof key, "altimeters[%zu].drogue_delay", index);
        pappus_units_format(value, sizeof value, PAPPUS_DIM_TIME, PAPPUS_UNITS_SI,
                            a->drogue_delay_s.mean);
        warn(reader, key, value, "fires before the primary; a backup is set later");
    }
}

/* --------------------------------------------------------------------- site */

static bool is_assumed(const pappus_plan *plan, const char *key)
{
    for (size_t i = 0; i < plan->entry_count; i++) {
        const pappus_plan_entry *entry = &plan->entries[i];
        if (entry->key && strcmp(entry->key, key) == 0) return entry->assumed;
    }
    return false;
}

static void warn_site(const pappus_plan_reader *reader)
{
    const pappus_site *site = &reader->plan->site;
    if (is_assumed(reader->plan, "site.elevation")) {
        warn(reader, "site.elevation", NULL,
             "not given, sea level is taken: the density of the air and the heights of winds above "
             "the sea depend on it");
    }
    double standard_pa = 101325.0 * pow(1.0 - 0.0065 * site->elevation_msl_m / 288.15, 5.25588);
    if (isfinite(site->pressure_pa) && fabs(site->pressure_pa - standard_pa) > 6000.0) {
        char value[48];
        pappus_units_format(value, sizeof value, PAPPUS_DIM_PRESSURE, PAPPUS_UNITS_SI,
                            site->pressure_pa);
        warn(reader, "site.pressure", value,
             "far from the standard at this elevation; the station pressure is wanted, not the one "
             "reduced to sea level");
    }
}

void pappus_plan_warn(const pappus_plan_reader *reader)
{
    warn_site(reader);
    warn_sections(reader);
    warn_size(reader);
    warn_canopies(reader);
    for (size_t i = 0; i < reader->plan->altimeter_count; i++)
        warn_altimeter(reader, i);
}
