/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card in words: what to set, the sums of the charges step by step with
 * their units, the ground test, then canopies, loads and touchdown. */
#include "card_sheet.h"
#include "card_ground_test.h"

#include <math.h>
#include <string.h>

#include "bench_units.h"
#include "canopy_type.h"
#include "charge.h"
#include "si.h"

/* A measure of the bench in both units, and in the reader's own. */
static const char *pair(const sheet *s, bench_measure measure, double si)
{
    char out[BENCH_TEXT_SIZE];
    return sheet_text(s, "%s", bench_pair(out, measure, si, s->units));
}

static const char *single(const sheet *s, bench_measure measure, double si)
{
    char out[BENCH_TEXT_SIZE];
    return sheet_text(s, "%s", bench_single(out, measure, si, s->units));
}

static const char *over(pappus_verdict verdict)
{
    return verdict == PAPPUS_BROKEN ? "OVER the limit"
           : verdict == PAPPUS_MET  ? "within the limit"
                                    : "no limit given";
}

/* -------------------------------------------------------------------- head */

static void add_stamp(const sheet *s, const pappus_card *card, cJSON *root)
{
    char place[PAPPUS_TEXT_SIZE], flight[PAPPUS_TEXT_SIZE];
    pappus_format_position(place, sizeof place, card->latitude_deg, card->longitude_deg);
    pappus_format_flight(flight, sizeof flight, card->flight_utc_s);
    sheet_say(
        s, root, "lines",
        sheet_text(s, "Plan %s; pad %s; %s.", pappus_file_name(card->plan_path), place, flight));
    sheet_say(s, root, "lines", "Date ____________________  Checked by ____________________");
}

static void add_lines(const sheet *s, const pappus_card *card, cJSON *root)
{
    double celsius = card->temperature_k - PAPPUS_ZERO_DEGC_K;
    bool us = s->units == PAPPUS_UNITS_US, both = card->drogue.present && card->main.present;
    sheet_say(s, root, "lines",
              sheet_text(s, "%s under canopy; pad at %s MSL, %s, air %s.",
                         sheet_show(s, PAPPUS_SHOW_MASS, card->mass_kg),
                         sheet_show(s, PAPPUS_SHOW_HEIGHT, card->elevation_msl_m),
                         us ? sheet_text(s, "%.0f degF (%.0f degC)", celsius * 1.8 + 32.0, celsius)
                            : sheet_text(s, "%.1f degC", celsius),
                         pair(s, BENCH_DENSITY, card->density_kgpm3)));
    sheet_say(s, root, "lines",
              sheet_text(s, "Descent from %s in calm air: %s%.0f s in all%s.",
                         sheet_show(s, PAPPUS_SHOW_HEIGHT, card->apogee_m),
                         both ? sheet_text(s, "drogue %.0f s, main %.0f s, ", card->drogue_time_s,
                                           card->main_time_s)
                              : "",
                         card->total_time_s,
                         card->main_full_open_m > 0.0
                             ? sheet_text(s, "; main full open at %s",
                                          sheet_show(s, PAPPUS_SHOW_HEIGHT, card->main_full_open_m))
                             : ""));
}

static void add_findings(const sheet *s, const pappus_card *card)
{
    const pappus_log *findings = &card->findings;
    if (findings->count == 0) return;
    cJSON *to = sheet_section(
        s, (sheet_heading){.id = "findings", .text = "Out of the usual range", .list = "notes"});
    for (size_t i = 0; i < findings->count; i++) {
        const pappus_error *error = &findings->entries[i].error;
        sheet_say(s, to, "items",
                  sheet_text(s, "%s%s%s", error->key, error->key[0] ? ": " : "", error->message));
    }
}

static void add_altimeters(const sheet *s, const pappus_card *card)
{
    cJSON *to = sheet_section(s, (sheet_heading){.id = "set", .text = "Set on the altimeters"});
    cJSON *table = sheet_part(s, to, NULL, "", "An altimeter shows height in standard air",
                              "Altimeter|First charge|Main, to set|True height in this air");
    for (size_t i = 0; i < card->altimeter_count; i++) {
        const pappus_altimeter *a = &card->altimeters[i];
        bool fires = !isnan(a->main_height_m);
        sheet_row(s, table, true, a->name, sheet_text(s, "apogee + %.1f s", a->drogue_delay_s.mean),
                  fires ? sheet_show(s, PAPPUS_SHOW_HEIGHT, a->main_height_m) : "fires no main",
                  fires ? sheet_show(s, PAPPUS_SHOW_HEIGHT, card->altimeter_true_m[i]) : "-", NULL);
    }
    if (pappus_is_present(card->motor_delay_s))
        sheet_say(s, to, "notes",
                  sheet_text(s, "The motor's own charge fires at apogee %+.1f s.",
                             card->motor_delay_s.mean));
}

/* ----------------------------------------------------------------- charges */

static void step(const sheet *s, cJSON *table, const char *what, const char *how,
                 bench_measure measure, double si)
{
    sheet_row(s, table, false, what, how, pair(s, measure, si), NULL);
}

static void add_pins(const sheet *s, cJSON *table, const pappus_charge *c)
{
    if (isnan(c->needed_n)) return;
    const char *friction =
        c->friction_n > 0.0 ? sheet_text(s, " + friction %s", single(s, BENCH_FORCE, c->friction_n))
                            : ", no friction";
    step(s, table, "to shear",
         sheet_text(s, "%d pins x %s%s", c->pin_count, single(s, BENCH_FORCE, c->pin_strength_n),
                    friction),
         BENCH_FORCE, c->needed_n);
}

static void add_force(const sheet *s, cJSON *table, const pappus_charge *c)
{
    if (strcmp(c->from, "pressure") == 0) {
        step(s, table, "pressure", "as wanted", BENCH_PRESSURE, c->pressure_pa);
        step(s, table, "force", "pressure x area", BENCH_FORCE, c->force_n);
        return;
    }
    bool wanted = strcmp(c->from, "force") == 0;
    step(s, table, "force",
         wanted ? "as wanted" : sheet_text(s, "to shear x margin %.2f", c->margin), BENCH_FORCE,
         c->force_n);
    step(s, table, "pressure", "force / area", BENCH_PRESSURE, c->pressure_pa);
}

static void add_mass(const sheet *s, cJSON *table, const char *what, double mass_kg, double force_n,
                     double pressure_pa, const pappus_charge *c)
{
    sheet_say(s, table, "totals",
              sheet_text(s, "%s %.2f g makes %s, %s%s", what, mass_kg * 1000.0,
                         single(s, BENCH_FORCE, force_n), single(s, BENCH_PRESSURE, pressure_pa),
                         isnan(c->needed_n) ? ""
                                            : sheet_text(s, ", %.2f times what shears the pins",
                                                         force_n / c->needed_n)));
}

/* Four digits, as all steps. */
static const char *grams(const sheet *s, double mass_kg)
{
    double g = 1000 * mass_kg;
    return sheet_text(s, "%.*f g", g < 1 ? 4 : g < 10 ? 3 : 2, g);
}

static void add_charge(const sheet *s, cJSON *to, const pappus_charge *c)
{
    bool us = s->units == PAPPUS_UNITS_US;
    if (!c->present) return;
    cJSON *table = sheet_part(s, to, sheet_text(s, "%s charge, from %s", c->name, c->from),
                              "dense steps", "Every step, to be checked by hand", "Step|How|Value");
    step(s, table, "diameter", "of the bay, d", BENCH_SIZE, c->bay_diameter_m);
    step(s, table, "length", "of the bay, L", BENCH_SIZE, c->bay_length_m);
    step(s, table, "area", "pi d2 / 4", BENCH_SECTION, c->area_m2);
    step(s, table, "volume", "area x L", BENCH_VOLUME, c->volume_m3);
    add_pins(s, table, c);
    add_force(s, table, c);
    step(s, table, "powder",
         us ? "force x L / 12 (inch in a foot) / (R T)" : "force x L / 1000 (mm in a m) / (R T)",
         BENCH_POWDER, c->mass_kg);
    sheet_row(s, table, false, "in grams", us ? "powder x 453.59 (g in a lb)" : "powder x 1000",
              grams(s, c->mass_kg), NULL);
    sheet_row(s, table, false, "backup", sheet_text(s, "in grams x %.2f", c->backup_factor),
              grams(s, c->backup_mass_kg), NULL);
    add_mass(s, table, "PRIMARY", c->mass_kg, c->force_n, c->pressure_pa, c);
    add_mass(s, table, "BACKUP", c->backup_mass_kg, c->backup_force_n, c->backup_pressure_pa, c);
}

/* "primary apogee + 0.0 s, backup apogee + 1.0 s": what fires a canopy's charge. */
static const char *fires(const sheet *s, const pappus_card *card, bool main)
{
    const char *list = "";
    for (size_t i = 0; i < card->altimeter_count; i++) {
        const pappus_altimeter *a = &card->altimeters[i];
        if (main && isnan(a->main_height_m)) continue;
        list = sheet_text(
            s, "%s%s%s %s", list, list[0] ? ", " : "", a->name,
            main ? sheet_text(s, "at %s", sheet_show(s, PAPPUS_SHOW_HEIGHT, a->main_height_m))
                 : sheet_text(s, "apogee + %.1f s", a->drogue_delay_s.mean));
    }
    return list[0] ? list : "no altimeter";
}

static void add_bay(const sheet *s, const pappus_card *card, cJSON *table, const pappus_charge *c)
{
    char wide[PAPPUS_TEXT_SIZE], length[PAPPUS_TEXT_SIZE];
    if (!c->present) return;
    bool main = strcmp(c->name, "main") == 0;
    bool own = main && card->drogue.present; /* else the only canopy opens at apogee */
    pappus_format_number(wide, sizeof wide, PAPPUS_SHOW_DIAMETER, c->bay_diameter_m, s->units);
    sheet_row(s, table, false, c->name,
              sheet_text(s, "%s x %s", wide,
                         pappus_format(length, sizeof length, PAPPUS_SHOW_DIAMETER, c->bay_length_m,
                                       s->units)),
              c->pin_count > 0 ? sheet_text(s, "%d of %s", c->pin_count,
                                            single(s, BENCH_FORCE, c->pin_strength_n))
                               : "none given",
              sheet_text(s, "%.2f g", 1000 * c->mass_kg),
              sheet_text(s, "%.2f g", 1000 * c->backup_mass_kg), fires(s, card, own), NULL);
}

static void add_bays(const sheet *s, const pappus_card *card)
{
    if (!card_charged(card)) return;
    cJSON *to = sheet_section(s, (sheet_heading){.id = "bays", .text = "What fires when"});
    cJSON *table = sheet_part(s, to, NULL, "", "Bays, pins and charges",
                              "Charge|Bay|Shear pins|Primary|Backup|Fires");
    add_bay(s, card, table, &card->drogue_charge);
    add_bay(s, card, table, &card->main_charge);
}

static void add_charges(const sheet *s, const pappus_card *card)
{
    cJSON *to =
        sheet_section(s, (sheet_heading){.id = "charges",
                                         .text = "Ejection charges: a start for a ground test",
                                         .columns = true});
    if (!card_charged(card)) {
        sheet_say(s, to, "notes", "None in the plan (charges.drogue, charges.main).");
        return;
    }
    sheet_say(s, to, "notes",
              sheet_text(s,
                         "Black powder as an ideal gas, never a setting. "
                         "R T = %.2f ft lbf/(lb degR) x %.0f degR = %s, empirical.",
                         CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R, CHARGE_TEMPERATURE_R,
                         pair(s, BENCH_ENERGY_PER_MASS, charge_specific_energy_jpkg())));
    add_charge(s, to, &card->drogue_charge);
    add_charge(s, to, &card->main_charge);
}

/* ---------------------------------------------------------------- canopies */

const char *card_basis_text(pappus_area_basis basis)
{
    static const char *const texts[] = {"nominal", "constructed", "projected"};
    return texts[basis];
}

static const char *advice(const pappus_card_canopy *canopy)
{
    return canopy->flown_mps < canopy->usual_low_mps    ? "slower than usual: drifts further"
           : canopy->flown_mps > canopy->usual_high_mps ? "faster than usual: harder on everything"
                                                        : "in the usual band";
}

/* This canopy made for the wanted rate, alone and with what else is open. */
static void add_own_size(const sheet *s, cJSON *table, const pappus_card_canopy *c)
{
    bool streamer = c->type == PAPPUS_STREAMER;
    double alone_m = streamer ? c->wanted_length_m : c->wanted_diameter_m;
    double flown_m = streamer ? c->wanted_flown_length_m : c->wanted_flown_diameter_m;
    const char *beside = "";
    if (isnan(alone_m)) return;
    if (isnan(flown_m))
        beside = "; what else is open is slow enough without it";
    else if (c->beside_drag_area_m2 > 0.0)
        beside = sheet_text(s, " alone, %s with what else is open",
                            sheet_show(s, PAPPUS_SHOW_DIAMETER, flown_m));
    sheet_row(
        s, table, false, "this one for it",
        sheet_text(s, "%s %s%s%s", sheet_show(s, PAPPUS_SHOW_DIAMETER, alone_m),
                   streamer ? "long" : card_basis_text(c->basis), beside,
                   c->spill_hole_m > 0.0 && !streamer ? "; its spill hole in proportion" : ""),
        NULL);
}

static const char *alone(const sheet *s, const pappus_card_canopy *c)
{
    const char *band = "";
    if (c->alone_high_mps > c->alone_low_mps)
        band = sheet_text(s, "; %s (95th to 5th percentile of its drag)",
                          sheet_range(s, PAPPUS_SHOW_SPEED, c->alone_low_mps, c->alone_high_mps));
    return sheet_text(s, "%s in the pad's air%s", sheet_show(s, PAPPUS_SHOW_SPEED, c->alone_mps),
                      band);
}

static const char *flown(const sheet *s, const pappus_card_canopy *c)
{
    bool aloft = c->flown_height_m > 0.0;
    if (isnan(c->flown_mps)) return "no steady rate in this flight";
    return sheet_text(
        s, "%s at %s with all that is open: %s", sheet_show(s, PAPPUS_SHOW_SPEED, c->flown_mps),
        aloft ? sheet_show(s, PAPPUS_SHOW_HEIGHT, c->flown_height_m) : "the ground", advice(c));
}

static const char *wanted(const sheet *s, const pappus_card_canopy *c)
{
    return sheet_text(s, "%s takes a drag area of %s%s",
                      sheet_show(s, PAPPUS_SHOW_SPEED, c->wanted_mps),
                      pair(s, BENCH_DRAG_AREA, c->wanted_drag_area_m2),
                      c->wanted_given ? "" : "; no wanted_rate: the usual middle");
}

static void add_rates(const sheet *s, cJSON *to, const pappus_card_canopy *c)
{
    const char *size = "";
    if (!isnan(c->diameter_m))
        size = sheet_text(s, ", %s %s", sheet_show(s, PAPPUS_SHOW_DIAMETER, c->diameter_m),
                          card_basis_text(c->basis));
    cJSON *table =
        sheet_part(s, to, NULL, "",
                   sheet_text(s, "%s%s, drag area CdS %s", pappus_canopy_type_of(c->type)->name,
                              size, pair(s, BENCH_DRAG_AREA, c->drag_area_m2)),
                   "Descent rate|Value");
    sheet_row(s, table, false, "alone", alone(s, c), NULL);
    sheet_row(s, table, false, "as flown", flown(s, c), NULL);
    sheet_row(s, table, false, "usual",
              sheet_text(s, "%s, common practice",
                         sheet_range(s, PAPPUS_SHOW_SPEED, c->usual_low_mps, c->usual_high_mps)),
              NULL);
    sheet_row(s, table, false, "wanted", wanted(s, c), NULL);
    add_own_size(s, table, c);
}

static const char *diameter(const sheet *s, const pappus_diameter_row *d)
{
    char size[PAPPUS_TEXT_SIZE], rate[PAPPUS_TEXT_SIZE];
    pappus_format_number(size, sizeof size, PAPPUS_SHOW_DIAMETER, d->diameter_m, s->units);
    if (isnan(d->rate_mps)) return sheet_text(s, "%s (%.3f)", size, d->drag_coefficient);
    pappus_format_number(rate, sizeof rate, PAPPUS_SHOW_SPEED, d->rate_mps, s->units);
    return sheet_text(s, "%s (%.3f), %s", size, d->drag_coefficient, rate);
}

static void add_diameters(const sheet *s, cJSON *to, const pappus_card_canopy *c)
{
    const char *own = "";
    if (!isnan(c->diameter_m))
        own = sheet_text(s, ", and the rate in %s that %s would give",
                         pappus_quantity_unit(PAPPUS_SHOW_SPEED, s->units),
                         sheet_show(s, PAPPUS_SHOW_DIAMETER, c->diameter_m));
    cJSON *table = sheet_part(s, to, NULL, "",
                              sheet_text(s, "Any canopy alone: %s for %s (coefficient)%s",
                                         pappus_quantity_unit(PAPPUS_SHOW_DIAMETER, s->units),
                                         sheet_show(s, PAPPUS_SHOW_SPEED, c->wanted_mps), own),
                              "Type|Nominal: cloth|Constructed: flat|Projected: mouth");
    for (size_t i = 0; i + 2 < PAPPUS_DIAMETER_ROWS; i += 3)
        sheet_row(s, table, false, pappus_canopy_type_of(c->rows[i].type)->name,
                  diameter(s, &c->rows[i]), diameter(s, &c->rows[i + 1]),
                  diameter(s, &c->rows[i + 2]), NULL);
}

static void add_canopy(const sheet *s, const pappus_card_canopy *c)
{
    if (!c->present) return;
    cJSON *to = sheet_section(s, (sheet_heading){.id = sheet_text(s, "canopy-%s", c->name),
                                                 .text = sheet_text(s, "Canopy: %s", c->name),
                                                 .whole = true,
                                                 .columns = true});
    add_rates(s, to, c);
    add_diameters(s, to, c);
}

static void add_canopies(const sheet *s, const pappus_card *card)
{
    cJSON *to = sheet_section(s, (sheet_heading){.id = "canopies", .text = "Canopies"});
    sheet_say(
        s, to, "notes",
        "v = sqrt(2 m g / (air density x CdS)), g = 32.174 ft/s2 (9.80665 m/s2). A coefficient is "
        "worth nothing without the maker's own area: nominal is all the cloth, constructed the "
        "disc laid flat, projected the inflated mouth. A flat circular canopy of 0.775 by the "
        "cloth is 1.65 by the mouth; mixed up, the rate is wrong by nearly half. Give the plan the "
        "maker's number with the maker's area.");
    add_canopy(s, &card->drogue);
    add_canopy(s, &card->main);
}

/* -------------------------------------------------------- loads, touchdown */

static void add_loads_of(const sheet *s, cJSON *table, const pappus_card_canopy *c)
{
    for (size_t i = 0; i < c->load_count; i++) {
        const pappus_load_case *l = &c->loads[i];
        sheet_row(s, table, false, sheet_text(s, "%s, %s", c->name, l->name),
                  sheet_show(s, PAPPUS_SHOW_SPEED, l->airspeed_mps),
                  sheet_show(s, PAPPUS_SHOW_LOAD, l->peak_g),
                  sheet_show(s, PAPPUS_SHOW_FORCE, l->peak_n), over(l->verdict), NULL);
    }
}

static void add_loads(const sheet *s, const pappus_card *card)
{
    cJSON *to = sheet_section(s, (sheet_heading){.id = "loads", .text = "Opening loads"});
    sheet_say(
        s, to, "notes",
        isnan(card->load_limit_g)
            ? "Every value at its mean; the plan has no limits.opening_load."
            : sheet_text(s,
                         "Every value at its mean; limit %s, which brief holds against the 95th "
                         "percentile.",
                         sheet_show(s, PAPPUS_SHOW_LOAD, card->load_limit_g)));
    if (card->tumble_assumed)
        sheet_say(
            s, to, "notes",
            "The body that tumbles without a canopy has an assumed drag; rocket.tumble_drag_area "
            "says better.");
    cJSON *table = sheet_part(s, to, NULL, "", "Peak while the canopy fills",
                              "Opening|Airspeed at firing|Peak load|Peak force|Limit");
    add_loads_of(s, table, &card->drogue);
    add_loads_of(s, table, &card->main);
}

/* Rounded down: it is a bound. */
static const char *largest(const sheet *s, double mass_kg)
{
    char out[PAPPUS_TEXT_SIZE];
    if (isnan(mass_kg)) return "-";
    return sheet_text(s, "%s",
                      pappus_format_down(out, sizeof out, PAPPUS_SHOW_MASS, mass_kg, s->units));
}

static void add_touchdown(const sheet *s, const pappus_card *card)
{
    cJSON *to = sheet_section(s, (sheet_heading){.id = "touchdown", .text = "Energy at touchdown"});
    if (!isnan(card->speed_limit_mps))
        sheet_say(
            s, to, "notes",
            sheet_text(s, "Limit %s.", sheet_show(s, PAPPUS_SHOW_SPEED, card->speed_limit_mps)));
    if (!isnan(card->energy_limit_j))
        sheet_say(
            s, to, "notes",
            sheet_text(
                s, "Limit %s for each section, m v2 / 2; largest is the mass that still meets it.",
                sheet_show(s, PAPPUS_SHOW_ENERGY, card->energy_limit_j)));
    cJSON *table =
        sheet_part(s, to, NULL, "",
                   sheet_text(s, "At %s; at %s with weak drag (5th percentile)",
                              sheet_show(s, PAPPUS_SHOW_SPEED, card->touchdown_mps),
                              sheet_show(s, PAPPUS_SHOW_SPEED, card->touchdown_high_mps)),
                   "Section|Mass|Energy|With weak drag|Largest mass|Limit");
    for (size_t i = 0; i < card->section_count; i++) {
        const pappus_card_section *part = &card->sections[i];
        sheet_row(s, table, true, part->name, sheet_show(s, PAPPUS_SHOW_MASS, part->mass_kg),
                  sheet_show(s, PAPPUS_SHOW_ENERGY, part->energy_j),
                  sheet_show(s, PAPPUS_SHOW_ENERGY, part->energy_high_j),
                  largest(s, part->largest_mass_kg), over(part->verdict), NULL);
    }
}

cJSON *card_sheet(json_builder *build, const pappus_card *card, pappus_unit_system units, bool both)
{
    static void (*const parts[])(const sheet *, const pappus_card *) = {
        add_findings,     add_altimeters, add_bays,  add_charges,
        card_ground_test, add_canopies,   add_loads, add_touchdown};
    sheet s;
    cJSON *root = sheet_begin(&s, build, units, both);
    json_add_text(build, root, "title", card->title);
    json_add_null(build, root, "bays_svg");
    add_stamp(&s, card, root);
    add_lines(&s, card, root);
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        parts[i](&s, card);
    sheet_end(&s);
    return root;
}
