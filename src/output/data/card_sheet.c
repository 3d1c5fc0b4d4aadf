/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card in words: what to set, the sums of the charges step by step with
 * their units, the ground test, then canopies, loads and touchdown. */
#include "card_sheet.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench_units.h"
#include "both.h"
#include "canopy_type.h"
#include "charge.h"
#include "si.h"

typedef struct {
    json_builder *build;
    const pappus_card *card;
    pappus_unit_system units;
    bool both;
    cJSON *sections;
} sheet;

static const char *const checklist[] = {
    "Local law, the range safety officer and an experienced mentor agree to the test.",
    "Final flight configuration: packed canopies, harness, wadding or blanket, shear pins, "
    "sealed bay, vent holes, altimeters or their weight. What is tested is what flies.",
    "Airframe in a cradle on soft clear ground; nobody before or behind it; eyes and ears "
    "protected; an extinguisher at hand; nothing near that can burn.",
    "Charge connected last, leads shorted until then. Fired through remote leads by the one "
    "person who holds the key, after a loud count, with everyone standing well clear.",
    "PASS: all pins sheared, full separation, canopy and harness fully out, nothing burnt or "
    "torn; twice in a row with the primary alone, then once with the backup alone.",
    "NO PASS: wait a minute, short the leads, then go near. Change one thing, write it down, "
    "test again.",
    "A configuration that has not passed its ground test does not fly.",
    NULL};

static const char caution[] =
    "These masses are a starting point for a ground test, never a setting. Leaks, vents, packing "
    "and heat loss change what a charge does. Energetic materials only under local law and with an "
    "experienced mentor. Local safety codes and the range safety officer stand above this card.";

/* -------------------------------------------------------------- vocabulary */

static const char *show(char out[PAPPUS_BOTH_SIZE], const sheet *s, pappus_quantity quantity,
                        double si)
{
    return s->both ? pappus_format_both(out, quantity, si, s->units)
                   : pappus_format(out, PAPPUS_TEXT_SIZE, quantity, si, s->units);
}

static const char *range(char out[2 * PAPPUS_BOTH_SIZE], const sheet *s, pappus_quantity quantity,
                         double low, double high)
{
    char a[PAPPUS_TEXT_SIZE], b[PAPPUS_BOTH_SIZE];
    if (!s->both) return pappus_format_range(out, PAPPUS_BOTH_SIZE, quantity, low, high, s->units);
    pappus_format_number(a, sizeof a, quantity, low, s->units);
    snprintf(out, 2 * PAPPUS_BOTH_SIZE, "%s to %s", a, show(b, s, quantity, high));
    return out;
}

/* Appends a line of text to a list. */
static void say(const sheet *s, cJSON *list, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void say(const sheet *s, cJSON *list, const char *format, ...)
{
    char *text;
    va_list arguments;
    va_start(arguments, format);
    if (vasprintf(&text, format, arguments) < 0) text = NULL;
    va_end(arguments);
    if (text)
        json_append_text(s->build, list, text);
    else
        s->build->failed = true;
    free(text);
}

static cJSON *list_of(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key);
}

static cJSON *section(const sheet *s, const char *id, const char *heading)
{
    static const char *const lists[] = {"notes", "items", "parts"};
    cJSON *to = json_append_object(s->build, s->sections);
    json_add_text(s->build, to, "id", id);
    json_add_text(s->build, to, "heading", heading);
    bool canopy = strncmp(id, "canopy-", 7) == 0;
    json_add_bool(s->build, to, "whole", canopy);
    json_add_bool(s->build, to, "columns", canopy || strcmp(id, "charges") == 0);
    bool found = strcmp(id, "findings") == 0, test = strcmp(id, "ground-test") == 0;
    json_add_text(s->build, to, "list", found ? "notes" : test ? "check" : NULL);
    json_add_text(s->build, to, "caution", test ? caution : NULL);
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        json_add_array(s->build, to, lists[i]);
    return to;
}

/* headings: separated by '|'. */
static cJSON *part(const sheet *s, cJSON *to, const char *heading, const char *style,
                   const char *caption, const char *headings)
{
    cJSON *made = json_append_object(s->build, list_of(to, "parts"));
    json_add_text(s->build, made, "heading", heading);
    json_add_text(s->build, made, "style", style);
    json_add_text(s->build, made, "caption", caption);
    cJSON *list = json_add_array(s->build, made, "headings");
    for (size_t length; length = strcspn(headings, "|"), true; headings += length + 1) {
        say(s, list, "%.*s", (int)length, headings);
        if (headings[length] == '\0') break;
    }
    json_add_array(s->build, made, "rows");
    json_add_array(s->build, made, "totals");
    return made;
}

/* The row's name, user: in words of the plan; cells are added by the part's headings. */
static cJSON *row(const sheet *s, cJSON *part, const char *name, bool user)
{
    cJSON *made = json_append_object(s->build, list_of(part, "rows"));
    json_add_text(s->build, made, "name", name);
    json_add_bool(s->build, made, "user", user);
    json_add_array(s->build, made, "cells");
    return made;
}

static void cell(const sheet *s, cJSON *part, cJSON *row, const char *text)
{
    cJSON *cells = list_of(row, "cells");
    int column = cJSON_GetArraySize(cells) + 1;
    cJSON *made = json_append_object(s->build, cells);
    const cJSON *label = cJSON_GetArrayItem(list_of(part, "headings"), column);
    json_add_text(s->build, made, "label", label ? label->valuestring : "");
    json_add_text(s->build, made, "text", text);
}

static void cell_value(const sheet *s, cJSON *part, cJSON *row, pappus_quantity quantity, double si)
{
    char text[PAPPUS_BOTH_SIZE];
    cell(s, part, row, show(text, s, quantity, si));
}

static const char *over(pappus_verdict verdict)
{
    return verdict == PAPPUS_BROKEN ? "OVER the limit"
           : verdict == PAPPUS_MET  ? "within the limit"
                                    : "no limit given";
}

/* -------------------------------------------------------------------- head */

static void add_lines(const sheet *s, cJSON *root)
{
    const pappus_card *card = s->card;
    char a[PAPPUS_BOTH_SIZE], b[PAPPUS_BOTH_SIZE], density[BENCH_TEXT_SIZE], warm[64];
    cJSON *lines = json_add_array(s->build, root, "lines");
    double celsius = card->temperature_k - PAPPUS_ZERO_DEGC_K;
    if (s->units == PAPPUS_UNITS_US)
        snprintf(warm, sizeof warm, "%.0f degF (%.0f degC)", celsius * 1.8 + 32.0, celsius);
    else
        snprintf(warm, sizeof warm, "%.1f degC", celsius);
    say(s, lines, "%s under canopy; pad at %s MSL, %s, air %s.",
        show(a, s, PAPPUS_SHOW_MASS, card->mass_kg),
        show(b, s, PAPPUS_SHOW_HEIGHT, card->elevation_msl_m), warm,
        bench_pair(density, BENCH_DENSITY, card->density_kgpm3, s->units));
    char times[64] = "", open[PAPPUS_BOTH_SIZE + 32] = "";
    if (card->drogue.present && card->main.present)
        snprintf(times, sizeof times, "drogue %.0f s, main %.0f s, ", card->drogue_time_s,
                 card->main_time_s);
    if (card->main_full_open_m > 0.0)
        snprintf(open, sizeof open, "; main full open at %s",
                 show(b, s, PAPPUS_SHOW_HEIGHT, card->main_full_open_m));
    say(s, lines, "Descent from %s in calm air: %s%.0f s in all%s.",
        show(a, s, PAPPUS_SHOW_HEIGHT, card->apogee_m), times, card->total_time_s, open);
}

static void add_findings(const sheet *s)
{
    if (s->card->findings.count == 0) return;
    cJSON *to = section(s, "findings", "Out of the usual range");
    for (size_t i = 0; i < s->card->findings.count; i++) {
        const pappus_error *error = &s->card->findings.entries[i].error;
        say(s, list_of(to, "items"), "%s%s%s", error->key, error->key[0] ? ": " : "",
            error->message);
    }
}

static void add_altimeters(const sheet *s)
{
    const pappus_card *card = s->card;
    char delay[64];
    cJSON *to = section(s, "set", "Set on the altimeters");
    cJSON *table = part(s, to, NULL, "", "An altimeter shows height in standard air",
                        "Altimeter|First charge|Main, to set|True height in this air");
    for (size_t i = 0; i < card->altimeter_count; i++) {
        const pappus_altimeter *a = &card->altimeters[i];
        cJSON *at = row(s, table, a->name, true);
        snprintf(delay, sizeof delay, "apogee + %.1f s", a->drogue_delay_s.mean);
        cell(s, table, at, delay);
        if (isnan(a->main_height_m)) {
            cell(s, table, at, "fires no main");
            cell(s, table, at, "-");
        } else {
            cell_value(s, table, at, PAPPUS_SHOW_HEIGHT, a->main_height_m);
            cell_value(s, table, at, PAPPUS_SHOW_HEIGHT, card->altimeter_true_m[i]);
        }
    }
    if (pappus_is_present(card->motor_delay_s))
        say(s, list_of(to, "notes"), "The motor's own charge fires at apogee %+.1f s.",
            card->motor_delay_s.mean);
}

/* ----------------------------------------------------------------- charges */

static void step(const sheet *s, cJSON *table, const char *what, const char *how,
                 bench_measure measure, double si)
{
    char pair[BENCH_TEXT_SIZE];
    cJSON *at = row(s, table, what, false);
    cell(s, table, at, how);
    cell(s, table, at, bench_pair(pair, measure, si, s->units));
}

static void add_pins(const sheet *s, cJSON *table, const pappus_charge *c)
{
    char how[200], each[BENCH_TEXT_SIZE], friction[BENCH_TEXT_SIZE];
    if (isnan(c->needed_n)) return;
    bench_single(each, BENCH_FORCE, c->pin_strength_n, s->units);
    bench_single(friction, BENCH_FORCE, c->friction_n, s->units);
    if (c->friction_n > 0.0)
        snprintf(how, sizeof how, "%d pins x %s + friction %s", c->pin_count, each, friction);
    else
        snprintf(how, sizeof how, "%d pins x %s, no friction", c->pin_count, each);
    step(s, table, "to shear", how, BENCH_FORCE, c->needed_n);
}

static void add_force(const sheet *s, cJSON *table, const pappus_charge *c)
{
    char how[64];
    if (strcmp(c->from, "pressure") == 0) {
        step(s, table, "pressure", "as wanted", BENCH_PRESSURE, c->pressure_pa);
        step(s, table, "force", "pressure x area", BENCH_FORCE, c->force_n);
        return;
    }
    snprintf(how, sizeof how, "to shear x margin %.2f", c->margin);
    step(s, table, "force", strcmp(c->from, "force") == 0 ? "as wanted" : how, BENCH_FORCE,
         c->force_n);
    step(s, table, "pressure", "force / area", BENCH_PRESSURE, c->pressure_pa);
}

static void add_mass(const sheet *s, cJSON *table, const char *what, double mass_kg, double force_n,
                     double pressure_pa, const pappus_charge *c)
{
    char force[BENCH_TEXT_SIZE], pressure[BENCH_TEXT_SIZE], times[64] = "";
    if (!isnan(c->needed_n))
        snprintf(times, sizeof times, ", %.2f times what shears the pins", force_n / c->needed_n);
    say(s, list_of(table, "totals"), "%s %.2f g makes %s, %s%s", what, mass_kg * 1000.0,
        bench_single(force, BENCH_FORCE, force_n, s->units),
        bench_single(pressure, BENCH_PRESSURE, pressure_pa, s->units), times);
}

static void add_charge(const sheet *s, cJSON *to, const pappus_charge *c)
{
    char text[64];
    if (!c->present) return;
    snprintf(text, sizeof text, "%s charge, from %s", c->name, c->from);
    cJSON *table =
        part(s, to, text, "dense steps", "Every step, to be checked by hand", "Step|How|Value");
    step(s, table, "diameter", "of the bay, d", BENCH_SIZE, c->bay_diameter_m);
    step(s, table, "length", "of the bay, L", BENCH_SIZE, c->bay_length_m);
    step(s, table, "area", "pi d2 / 4", BENCH_SECTION, c->area_m2);
    step(s, table, "volume", "area x L", BENCH_VOLUME, c->volume_m3);
    add_pins(s, table, c);
    add_force(s, table, c);
    step(s, table, "powder", "force x L / (R T)", BENCH_POWDER, c->mass_kg);
    snprintf(text, sizeof text, "powder x %.2f", c->backup_factor);
    step(s, table, "backup", text, BENCH_POWDER, c->backup_mass_kg);
    add_mass(s, table, "PRIMARY", c->mass_kg, c->force_n, c->pressure_pa, c);
    add_mass(s, table, "BACKUP", c->backup_mass_kg, c->backup_force_n, c->backup_pressure_pa, c);
}

static void add_charges(const sheet *s)
{
    const pappus_card *card = s->card;
    char energy[BENCH_TEXT_SIZE];
    cJSON *to = section(s, "charges", "Ejection charges: a start for a ground test");
    if (!card->drogue_charge.present && !card->main_charge.present) {
        say(s, list_of(to, "notes"), "None in the plan (charges.drogue, charges.main).");
        return;
    }
    say(s, list_of(to, "notes"),
        "Black powder as an ideal gas, never a setting. "
        "R T = %.2f ft lbf/(lb degR) x %.0f degR = %s, empirical.",
        CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R, CHARGE_TEMPERATURE_R,
        bench_pair(energy, BENCH_ENERGY_PER_MASS, charge_specific_energy_jpkg(), s->units));
    add_charge(s, to, &card->drogue_charge);
    add_charge(s, to, &card->main_charge);
}

/* A line of the record, to be filled in by hand. */
static void add_record(const sheet *s, cJSON *table, const char *name, const char *mass)
{
    cJSON *at = row(s, table, name, false);
    cell(s, table, at, mass);
    for (int i = 0; i < 5; i++)
        cell(s, table, at, "");
}

static void add_records(const sheet *s, cJSON *table, const pappus_charge *c)
{
    char name[64], mass[32];
    for (int backup = 0; c->present && backup < 2; backup++) {
        snprintf(name, sizeof name, "%s, %s", c->name, backup ? "backup" : "primary");
        snprintf(mass, sizeof mass, "%.2f g", 1000 * (backup ? c->backup_mass_kg : c->mass_kg));
        add_record(s, table, name, mass);
    }
}

static void add_ground_test(const sheet *s)
{
    const pappus_card *card = s->card;
    cJSON *to = section(s, "ground-test", "Ground test");
    for (const char *const *line = checklist; *line; line++)
        say(s, list_of(to, "items"), "%s", *line);
    cJSON *table = part(s, to, NULL, "blanks", "Tests made",
                        "Charge|Card|Tested, g|Date|What changed|Pass?|By");
    add_records(s, table, &card->drogue_charge);
    add_records(s, table, &card->main_charge);
    if (!card->drogue_charge.present && !card->main_charge.present) add_record(s, table, "", "");
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

static void add_pair_row(const sheet *s, cJSON *table, const char *name, const char *text)
{
    cell(s, table, row(s, table, name, false), text);
}

/* This canopy made for the wanted rate, alone and with what else is open. */
static void add_own_size(const sheet *s, cJSON *table, const pappus_card_canopy *c)
{
    bool streamer = c->type == PAPPUS_STREAMER;
    double alone_m = streamer ? c->wanted_length_m : c->wanted_diameter_m;
    double flown_m = streamer ? c->wanted_flown_length_m : c->wanted_flown_diameter_m;
    char a[PAPPUS_BOTH_SIZE], b[PAPPUS_BOTH_SIZE], text[4 * PAPPUS_BOTH_SIZE], beside[256] = "";
    if (isnan(alone_m)) return;
    if (isnan(flown_m))
        snprintf(beside, sizeof beside, "; what else is open is slow enough without it");
    else if (c->beside_drag_area_m2 > 0.0)
        snprintf(beside, sizeof beside, " alone, %s with what else is open",
                 show(b, s, PAPPUS_SHOW_DIAMETER, flown_m));
    snprintf(text, sizeof text, "%s %s%s%s", show(a, s, PAPPUS_SHOW_DIAMETER, alone_m),
             streamer ? "long" : card_basis_text(c->basis), beside,
             c->spill_hole_m > 0.0 && !streamer ? "; its spill hole in proportion" : "");
    add_pair_row(s, table, "this one for it", text);
}

static void add_alone_and_flown(const sheet *s, cJSON *table, const pappus_card_canopy *c)
{
    char a[PAPPUS_BOTH_SIZE], b[2 * PAPPUS_BOTH_SIZE], text[5 * PAPPUS_BOTH_SIZE];
    char band[3 * PAPPUS_BOTH_SIZE] = "";
    if (c->alone_high_mps > c->alone_low_mps)
        snprintf(band, sizeof band, "; %s (95th to 5th percentile of its drag)",
                 range(b, s, PAPPUS_SHOW_SPEED, c->alone_low_mps, c->alone_high_mps));
    snprintf(text, sizeof text, "%s in the pad's air%s",
             show(a, s, PAPPUS_SHOW_SPEED, c->alone_mps), band);
    add_pair_row(s, table, "alone", text);
    if (isnan(c->flown_mps))
        snprintf(text, sizeof text, "no steady rate in this flight");
    else
        snprintf(text, sizeof text, "%s at %s with all that is open: %s",
                 show(a, s, PAPPUS_SHOW_SPEED, c->flown_mps),
                 c->flown_height_m > 0.0 ? show(b, s, PAPPUS_SHOW_HEIGHT, c->flown_height_m)
                                         : "the ground",
                 advice(c));
    add_pair_row(s, table, "as flown", text);
}

static void add_rates(const sheet *s, cJSON *to, const pappus_card_canopy *c)
{
    char a[2 * PAPPUS_BOTH_SIZE], area[BENCH_TEXT_SIZE], text[4 * PAPPUS_BOTH_SIZE], size[256] = "";
    if (!isnan(c->diameter_m))
        snprintf(size, sizeof size, ", %s %s", show(a, s, PAPPUS_SHOW_DIAMETER, c->diameter_m),
                 card_basis_text(c->basis));
    snprintf(text, sizeof text, "%s%s, drag area CdS %s", pappus_canopy_type_of(c->type)->name,
             size, bench_pair(area, BENCH_DRAG_AREA, c->drag_area_m2, s->units));
    cJSON *table = part(s, to, NULL, "", text, "Descent rate|Value");
    add_alone_and_flown(s, table, c);
    snprintf(text, sizeof text, "%s, common practice",
             range(a, s, PAPPUS_SHOW_SPEED, c->usual_low_mps, c->usual_high_mps));
    add_pair_row(s, table, "usual", text);
    snprintf(text, sizeof text, "%s takes a drag area of %s%s",
             show(a, s, PAPPUS_SHOW_SPEED, c->wanted_mps),
             bench_pair(area, BENCH_DRAG_AREA, c->wanted_drag_area_m2, s->units),
             c->wanted_given ? "" : "; no wanted_rate: the usual middle");
    add_pair_row(s, table, "wanted", text);
    add_own_size(s, table, c);
}

static void add_diameter(const sheet *s, cJSON *table, cJSON *at, const pappus_diameter_row *d)
{
    char diameter[PAPPUS_TEXT_SIZE], rate[PAPPUS_TEXT_SIZE], text[3 * PAPPUS_TEXT_SIZE];
    pappus_format_number(diameter, sizeof diameter, PAPPUS_SHOW_DIAMETER, d->diameter_m, s->units);
    pappus_format_number(rate, sizeof rate, PAPPUS_SHOW_SPEED, d->rate_mps, s->units);
    bool rated = !isnan(d->rate_mps);
    snprintf(text, sizeof text, "%s (%.3f)%s%s", diameter, d->drag_coefficient, rated ? ", " : "",
             rated ? rate : "");
    cell(s, table, at, text);
}

static void add_diameters(const sheet *s, cJSON *to, const pappus_card_canopy *c)
{
    char caption[4 * PAPPUS_BOTH_SIZE], own[256] = "", a[PAPPUS_BOTH_SIZE];
    if (!isnan(c->diameter_m))
        snprintf(own, sizeof own, ", and the rate in %s that %s would give",
                 pappus_quantity_unit(PAPPUS_SHOW_SPEED, s->units),
                 show(a, s, PAPPUS_SHOW_DIAMETER, c->diameter_m));
    snprintf(caption, sizeof caption, "Any canopy alone: %s for %s (coefficient)%s",
             pappus_quantity_unit(PAPPUS_SHOW_DIAMETER, s->units),
             show(a, s, PAPPUS_SHOW_SPEED, c->wanted_mps), own);
    cJSON *table =
        part(s, to, NULL, "", caption, "Type|Nominal: cloth|Constructed: flat|Projected: mouth");
    for (size_t i = 0; i + 2 < PAPPUS_DIAMETER_ROWS; i += 3) {
        cJSON *at = row(s, table, pappus_canopy_type_of(c->rows[i].type)->name, false);
        for (size_t k = i; k < i + 3; k++)
            add_diameter(s, table, at, &c->rows[k]);
    }
}

static void add_canopy(const sheet *s, const pappus_card_canopy *c, const char *id)
{
    char heading[64];
    if (!c->present) return;
    snprintf(heading, sizeof heading, "Canopy: %s", c->name);
    cJSON *to = section(s, id, heading);
    add_rates(s, to, c);
    add_diameters(s, to, c);
}

static void add_canopies(const sheet *s)
{
    cJSON *to = section(s, "canopies", "Canopies");
    say(s, list_of(to, "notes"),
        "v = sqrt(2 m g / (air density x CdS)), g = 32.174 ft/s2 (9.80665 m/s2). A coefficient is "
        "worth nothing without the maker's own "
        "area: nominal is all the cloth, constructed the disc laid flat, projected the inflated "
        "mouth. A flat circular canopy of 0.775 by the cloth is 1.65 by the mouth; mixed up, the "
        "rate is wrong by nearly half. Give the plan the maker's number with the maker's area.");
    add_canopy(s, &s->card->drogue, "canopy-drogue");
    add_canopy(s, &s->card->main, "canopy-main");
}

/* -------------------------------------------------------- loads, touchdown */

static void add_loads_of(const sheet *s, cJSON *table, const pappus_card_canopy *c)
{
    char name[96];
    for (size_t i = 0; i < c->load_count; i++) {
        const pappus_load_case *l = &c->loads[i];
        snprintf(name, sizeof name, "%s, %s", c->name, l->name);
        cJSON *at = row(s, table, name, false);
        cell_value(s, table, at, PAPPUS_SHOW_SPEED, l->airspeed_mps);
        cell_value(s, table, at, PAPPUS_SHOW_LOAD, l->peak_g);
        cell_value(s, table, at, PAPPUS_SHOW_FORCE, l->peak_n);
        cell(s, table, at, over(l->verdict));
    }
}

static void add_loads(const sheet *s)
{
    const pappus_card *card = s->card;
    char limit[PAPPUS_BOTH_SIZE];
    cJSON *to = section(s, "loads", "Opening loads"), *notes = list_of(to, "notes");
    if (isnan(card->load_limit_g))
        say(s, notes, "Every value at its mean; the plan has no limits.opening_load.");
    else
        say(s, notes,
            "Every value at its mean; limit %s, which brief holds against the 95th percentile.",
            show(limit, s, PAPPUS_SHOW_LOAD, card->load_limit_g));
    if (card->tumble_assumed)
        say(s, notes,
            "The body that tumbles without a canopy has an assumed drag; rocket.tumble_drag_area "
            "says better.");
    cJSON *table = part(s, to, NULL, "", "Peak while the canopy fills",
                        "Opening|Airspeed at firing|Peak load|Peak force|Limit");
    add_loads_of(s, table, &card->drogue);
    add_loads_of(s, table, &card->main);
}

static void add_section_row(const sheet *s, cJSON *table, const pappus_card_section *part)
{
    char largest[PAPPUS_TEXT_SIZE];
    cJSON *at = row(s, table, part->name, true);
    cell_value(s, table, at, PAPPUS_SHOW_MASS, part->mass_kg);
    cell_value(s, table, at, PAPPUS_SHOW_ENERGY, part->energy_j);
    cell_value(s, table, at, PAPPUS_SHOW_ENERGY, part->energy_high_j);
    /* Rounded down: it is a bound. */
    if (isnan(part->largest_mass_kg))
        cell(s, table, at, "-");
    else
        cell(s, table, at,
             pappus_format_down(largest, sizeof largest, PAPPUS_SHOW_MASS, part->largest_mass_kg,
                                s->units));
    cell(s, table, at, over(part->verdict));
}

static void add_touchdown(const sheet *s)
{
    const pappus_card *card = s->card;
    char a[PAPPUS_BOTH_SIZE], b[PAPPUS_BOTH_SIZE], caption[3 * PAPPUS_BOTH_SIZE];
    cJSON *to = section(s, "touchdown", "Energy at touchdown"), *notes = list_of(to, "notes");
    if (!isnan(card->speed_limit_mps))
        say(s, notes, "Limit %s.", show(a, s, PAPPUS_SHOW_SPEED, card->speed_limit_mps));
    if (!isnan(card->energy_limit_j))
        say(s, notes,
            "Limit %s for each section, m v2 / 2; largest is the mass that still meets it.",
            show(a, s, PAPPUS_SHOW_ENERGY, card->energy_limit_j));
    snprintf(caption, sizeof caption, "At %s; at %s with weak drag (5th percentile)",
             show(a, s, PAPPUS_SHOW_SPEED, card->touchdown_mps),
             show(b, s, PAPPUS_SHOW_SPEED, card->touchdown_high_mps));
    cJSON *table =
        part(s, to, NULL, "", caption, "Section|Mass|Energy|With weak drag|Largest mass|Limit");
    for (size_t i = 0; i < card->section_count; i++)
        add_section_row(s, table, &card->sections[i]);
}

cJSON *card_sheet(json_builder *build, const pappus_card *card, pappus_unit_system units, bool both)
{
    cJSON *root = cJSON_CreateObject();
    sheet s = {build, card, units, both, NULL};
    json_add_text(build, root, "title", card->title);
    add_lines(&s, root);
    s.sections = json_add_array(build, root, "sections");
    add_findings(&s);
    add_altimeters(&s);
    add_charges(&s);
    add_ground_test(&s);
    add_canopies(&s);
    add_loads(&s);
    add_touchdown(&s);
    return root;
}
