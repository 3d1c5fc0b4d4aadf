/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card as a page to print, in the report's style: the sums of the charges
 * step by step with their units, a check list with room to write. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "c_locale.h"
#include "canopy_type.h"
#include "card.h"
#include "charge.h"
#include "error.h"
#include "page.h"

typedef struct {
    pappus_xml *xml;
    const pappus_card *card;
    pappus_unit_system units;
} page;

static void row(page_table *table, const char *name, const char *value)
{
    page_row_begin(table);
    page_cell(table, "%s", name);
    page_cell(table, "%s", value);
    page_row_end(table);
}

static const char *over(pappus_verdict verdict)
{
    return verdict == PAPPUS_BROKEN ? "OVER the limit"
           : verdict == PAPPUS_MET  ? "within the limit"
                                    : "no limit given";
}

/* ---------------------------------------------------------------- altimeters */

static void put_altimeters(const page *p)
{
    static const char *const headings[] = {"Altimeter", "First charge", "Main, to set",
                                           "True height in this air"};
    const pappus_card *card = p->card;
    char both[PAGE_BOTH_SIZE];
    page_table table;
    page_section(p->xml, "set", "Set on the altimeters");
    page_table_begin(&table, p->xml, NULL, "An altimeter shows height in standard air", headings,
                     4);
    for (size_t i = 0; i < card->altimeter_count; i++) {
        const pappus_altimeter *a = &card->altimeters[i];
        page_row_begin(&table);
        page_cell_user(&table, a->name);
        page_cell(&table, "apogee + %.1f s", a->drogue_delay_s.mean);
        if (isnan(a->main_height_m)) {
            page_cell(&table, "fires no main");
            page_cell(&table, "-");
        } else {
            page_cell(&table, "%s",
                      page_both(both, PAPPUS_SHOW_HEIGHT, a->main_height_m, p->units));
            page_cell(&table, "%s",
                      page_both(both, PAPPUS_SHOW_HEIGHT, card->altimeter_true_m[i], p->units));
        }
        page_row_end(&table);
    }
    page_table_end(&table);
    if (pappus_is_present(card->motor_delay_s))
        page_put(p->xml, "p", NULL, "The motor's own charge fires at apogee %+.1f s.",
                 card->motor_delay_s.mean);
    page_close(p->xml);
}

/* ------------------------------------------------------------------ canopies */

static void put_own_size(const page *p, page_table *table, const pappus_card_canopy *c)
{
    bool streamer = c->type == PAPPUS_STREAMER;
    double alone_m = streamer ? c->wanted_length_m : c->wanted_diameter_m;
    double flown_m = streamer ? c->wanted_flown_length_m : c->wanted_flown_diameter_m;
    char a[PAGE_BOTH_SIZE], b[PAGE_BOTH_SIZE], text[3 * PAGE_BOTH_SIZE];
    if (isnan(alone_m)) return;
    page_both(a, PAPPUS_SHOW_DIAMETER, alone_m, p->units);
    page_both(b, PAPPUS_SHOW_DIAMETER, flown_m, p->units);
    const char *measure = streamer ? "long" : card_basis_text(c->basis);
    if (isnan(flown_m))
        snprintf(text, sizeof text, "%s %s; what else is open is slow enough without it", a,
                 measure);
    else if (c->beside_drag_area_m2 > 0)
        snprintf(text, sizeof text, "%s %s alone; %s with what else is open", a, measure, b);
    else
        snprintf(text, sizeof text, "%s %s", a, measure);
    row(table, "this one, for the wanted rate", text);
}

static void put_flown(const page *p, page_table *table, const pappus_card_canopy *c)
{
    char a[PAGE_BOTH_SIZE], b[PAGE_BOTH_SIZE], text[4 * PAGE_BOTH_SIZE];
    if (isnan(c->flown_mps))
        snprintf(text, sizeof text, "no steady rate in this flight");
    else
        snprintf(text, sizeof text, "%s at %s with all that is open: %s",
                 page_both(a, PAPPUS_SHOW_SPEED, c->flown_mps, p->units),
                 c->flown_height_m > 0
                     ? page_one(b, PAPPUS_SHOW_HEIGHT, c->flown_height_m, p->units)
                     : "the ground",
                 card_advice(c));
    row(table, "as flown", text);
}

static void put_rates(const page *p, const pappus_card_canopy *c)
{
    static const char *const headings[] = {"Descent rate", ""};
    char a[PAGE_BOTH_SIZE], b[PAGE_BOTH_SIZE], text[4 * PAGE_BOTH_SIZE];
    page_table table;
    snprintf(text, sizeof text, "%s, drag area CdS %s", pappus_canopy_type_of(c->type)->name,
             card_pair(a, CARD_DRAG_AREA, c->drag_area_m2, p->units));
    page_table_begin(&table, p->xml, NULL, text, headings, 2);
    page_one(b, PAPPUS_SHOW_SPEED, c->alone_low_mps, p->units);
    row(&table, "alone", page_both(a, PAPPUS_SHOW_SPEED, c->alone_mps, p->units));
    snprintf(text, sizeof text, "%s to %s", b,
             page_both(a, PAPPUS_SHOW_SPEED, c->alone_high_mps, p->units));
    row(&table, "for 95 to 5 % of its drag", text);
    put_flown(p, &table, c);
    snprintf(text, sizeof text, "%s to %s, common practice",
             page_one(a, PAPPUS_SHOW_SPEED, c->usual_low_mps, p->units),
             page_both(b, PAPPUS_SHOW_SPEED, c->usual_high_mps, p->units));
    row(&table, "usual", text);
    snprintf(text, sizeof text, "%s%s", page_both(a, PAPPUS_SHOW_SPEED, c->wanted_mps, p->units),
             c->wanted_given ? "" : ": no wanted_rate, the middle of the usual");
    row(&table, "wanted", text);
    put_own_size(p, &table, c);
    page_table_end(&table);
}

static void put_diameters(const page *p, const pappus_card_canopy *c)
{
    static const char *const headings[] = {"Type", "Nominal", "Constructed", "Projected"};
    char caption[PAGE_BOTH_SIZE + 96], speed[PAGE_BOTH_SIZE], size[PAGE_BOTH_SIZE];
    page_table table;
    snprintf(caption, sizeof caption,
             "Diameter (coefficient) for %s alone, by type and the maker's kind of area",
             page_both(speed, PAPPUS_SHOW_SPEED, c->wanted_mps, p->units));
    page_table_begin(&table, p->xml, NULL, caption, headings, 4);
    for (size_t i = 0; i + 2 < PAPPUS_DIAMETER_ROWS; i += 3) {
        page_row_begin(&table);
        page_cell(&table, "%s", pappus_canopy_type_of(c->rows[i].type)->name);
        for (size_t k = i; k < i + 3; k++)
            page_cell(&table, "%s (%.3f)",
                      page_one(size, PAPPUS_SHOW_DIAMETER, c->rows[k].diameter_m, p->units),
                      c->rows[k].drag_coefficient);
        page_row_end(&table);
    }
    page_table_end(&table);
}

static void put_canopy(const page *p, const pappus_card_canopy *c)
{
    if (!c->present) return;
    page_open(p->xml, "section", "whole");
    page_put(p->xml, "h2", NULL, "Canopy: %s", c->name);
    page_open(p->xml, "div", "columns");
    page_open(p->xml, "div", NULL);
    put_rates(p, c);
    page_close(p->xml);
    page_open(p->xml, "div", NULL);
    put_diameters(p, c);
    page_close(p->xml);
    page_close(p->xml);
    page_close(p->xml);
}

/* ------------------------------------------------------------ loads, touchdown */

static void put_loads_of(const page *p, page_table *table, const pappus_card_canopy *c)
{
    char text[PAGE_BOTH_SIZE];
    for (size_t i = 0; i < c->load_count; i++) {
        const pappus_load_case *l = &c->loads[i];
        page_row_begin(table);
        page_cell(table, "%s, %s", c->name, l->name);
        page_cell(table, "%s", page_both(text, PAPPUS_SHOW_SPEED, l->airspeed_mps, p->units));
        page_cell(table, "%s", page_one(text, PAPPUS_SHOW_LOAD, l->peak_g, p->units));
        page_cell(table, "%s", page_both(text, PAPPUS_SHOW_FORCE, l->peak_n, p->units));
        page_cell(table, "%s", over(l->verdict));
        page_row_end(table);
    }
}

static void put_loads(const page *p)
{
    static const char *const headings[] = {"Opening", "Airspeed at firing", "Peak load",
                                           "Peak force", ""};
    char limit[PAGE_BOTH_SIZE];
    page_table table;
    page_section(p->xml, "loads", "Opening loads");
    if (isnan(p->card->load_limit_g))
        page_put(p->xml, "p", NULL, "The plan sets no limit.");
    else
        page_put(p->xml, "p", NULL, "Limit %s.",
                 page_one(limit, PAPPUS_SHOW_LOAD, p->card->load_limit_g, p->units));
    page_table_begin(&table, p->xml, NULL, "Peak while the canopy fills", headings, 5);
    put_loads_of(p, &table, &p->card->drogue);
    put_loads_of(p, &table, &p->card->main);
    page_table_end(&table);
    page_close(p->xml);
}

/* Rounded down: it is a bound. */
static void put_largest(const page *p, page_table *table, double mass_kg)
{
    char text[PAPPUS_TEXT_SIZE];
    if (isnan(mass_kg))
        page_cell(table, "no limit given");
    else
        page_cell(table, "%s",
                  pappus_format_down(text, sizeof text, PAPPUS_SHOW_MASS, mass_kg, p->units));
}

static void put_sections(const page *p)
{
    static const char *const headings[] = {"Section",        "Mass",         "Energy",
                                           "With weak drag", "Largest mass", ""};
    const pappus_card *card = p->card;
    char text[PAGE_BOTH_SIZE], high[PAGE_BOTH_SIZE], caption[2 * PAGE_BOTH_SIZE + 64];
    page_table table;
    snprintf(caption, sizeof caption, "At %s, with weak drag (5th percentile) %s",
             page_both(text, PAPPUS_SHOW_SPEED, card->touchdown_mps, p->units),
             page_both(high, PAPPUS_SHOW_SPEED, card->touchdown_high_mps, p->units));
    page_section(p->xml, "touchdown", "Energy at touchdown");
    page_table_begin(&table, p->xml, NULL, caption, headings, 6);
    for (size_t i = 0; i < card->section_count; i++) {
        const pappus_card_section *s = &card->sections[i];
        page_row_begin(&table);
        page_cell_user(&table, s->name);
        page_cell(&table, "%s", page_both(text, PAPPUS_SHOW_MASS, s->mass_kg, p->units));
        page_cell(&table, "%s", page_both(text, PAPPUS_SHOW_ENERGY, s->energy_j, p->units));
        page_cell(&table, "%s", page_both(text, PAPPUS_SHOW_ENERGY, s->energy_high_j, p->units));
        put_largest(p, &table, s->largest_mass_kg);
        page_cell(&table, "%s", over(s->verdict));
        page_row_end(&table);
    }
    page_table_end(&table);
    page_close(p->xml);
}

/* -------------------------------------------------------------------- charges */

static void put_step(page_table *table, const page *p, const char *what, const char *how,
                     card_measure measure, double si)
{
    char pair[CARD_PAIR_SIZE];
    page_row_begin(table);
    page_cell(table, "%s", what);
    page_cell(table, "%s", how);
    page_cell(table, "%s", card_pair(pair, measure, si, p->units));
    page_row_end(table);
}

static void put_pins(page_table *table, const page *p, const pappus_charge *c)
{
    char how[200], each[CARD_PAIR_SIZE], friction[CARD_PAIR_SIZE];
    if (isnan(c->needed_n)) return;
    snprintf(how, sizeof how, "%d pins x %s + friction %s", c->pin_count,
             card_single(each, CARD_FORCE, c->pin_strength_n, p->units),
             card_single(friction, CARD_FORCE, c->friction_n, p->units));
    put_step(table, p, "to shear", how, CARD_FORCE, c->needed_n);
}

static void put_force(page_table *table, const page *p, const pappus_charge *c)
{
    char how[64];
    snprintf(how, sizeof how, "to shear x margin %.2f", c->margin);
    if (strcmp(c->from, "pressure") == 0) {
        put_step(table, p, "pressure", "as wanted", CARD_PRESSURE, c->pressure_pa);
        put_step(table, p, "force", "pressure x area", CARD_FORCE, c->force_n);
        return;
    }
    put_step(table, p, "force", strcmp(c->from, "force") == 0 ? "as wanted" : how, CARD_FORCE,
             c->force_n);
    put_step(table, p, "pressure", "force / area", CARD_PRESSURE, c->pressure_pa);
}

static void put_charge_steps(const page *p, const pappus_charge *c)
{
    static const char *const headings[] = {"Step", "How", "Value"};
    char how[64], energy[CARD_PAIR_SIZE], caption[160];
    page_table table;
    snprintf(caption, sizeof caption, "Black powder as an ideal gas, R T = %s, empirical",
             card_pair(energy, CARD_ENERGY_PER_MASS, charge_specific_energy_jpkg(), p->units));
    page_table_begin(&table, p->xml, "dense steps", caption, headings, 3);
    put_step(&table, p, "diameter", "of the bay, d", CARD_SIZE, c->bay_diameter_m);
    put_step(&table, p, "length", "of the bay, L", CARD_SIZE, c->bay_length_m);
    put_step(&table, p, "area", "pi d2 / 4", CARD_SECTION, c->area_m2);
    put_step(&table, p, "volume", "area x L", CARD_VOLUME, c->volume_m3);
    put_pins(&table, p, c);
    put_force(&table, p, c);
    put_step(&table, p, "powder", "force x L / (R T)", CARD_POWDER, c->mass_kg);
    snprintf(how, sizeof how, "powder x %.2f", c->backup_factor);
    put_step(&table, p, "backup", how, CARD_POWDER, c->backup_mass_kg);
    page_table_end(&table);
    page_put(p->xml, "p", "big", "Primary %.2f g, backup %.2f g", c->mass_kg * 1000,
             c->backup_mass_kg * 1000);
}

static void put_charges(const page *p)
{
    const pappus_charge *charges[] = {&p->card->drogue_charge, &p->card->main_charge};
    page_section(p->xml, "charges", "Ejection charges: a start for a ground test");
    if (!charges[0]->present && !charges[1]->present)
        page_put(p->xml, "p", NULL, "None in the plan (charges.drogue, charges.main).");
    page_open(p->xml, "div", "columns");
    for (size_t i = 0; i < 2; i++) {
        if (!charges[i]->present) continue;
        page_open(p->xml, "div", NULL);
        page_put(p->xml, "h3", NULL, "%s, from %s", charges[i]->name, charges[i]->from);
        put_charge_steps(p, charges[i]);
        page_close(p->xml);
    }
    page_close(p->xml);
    page_close(p->xml);
}

/* ------------------------------------------------------------------ the whole */

static void put_findings(const page *p)
{
    char line[sizeof(pappus_error) + 64];
    if (p->card->findings.count == 0) return;
    page_section(p->xml, "findings", "Out of the usual range");
    page_open(p->xml, "ul", "notes");
    for (size_t i = 0; i < p->card->findings.count; i++) {
        const pappus_error *error = &p->card->findings.entries[i].error;
        snprintf(line, sizeof line, "%s%s%s", error->key, error->key[0] ? ": " : "",
                 error->message);
        page_put_user(p->xml, "li", NULL, line);
    }
    page_close(p->xml);
    page_close(p->xml);
}

/* A line of the record for each charge, to be filled in by hand. */
static void put_record(page_table *table, const pappus_charge *c)
{
    for (int backup = 0; c->present && backup < 2; backup++) {
        page_row_begin(table);
        page_cell(table, "%s, %s", c->name, backup ? "backup" : "primary");
        page_cell(table, "%.2f g", 1000 * (backup ? c->backup_mass_kg : c->mass_kg));
        for (int i = 0; i < 5; i++)
            page_cell(table, "\xC2\xA0");
        page_row_end(table);
    }
}

static void put_ground_test(const page *p)
{
    static const char *const blanks[] = {"Charge",       "Card",  "Tested, g", "Date",
                                         "What changed", "Pass?", "By"};
    page_table table;
    page_section(p->xml, "ground-test", "Ground test");
    page_open(p->xml, "ul", "check");
    for (size_t i = 0; i < CARD_CHECKLIST_LINES; i++)
        page_put(p->xml, "li", NULL, "%s", card_checklist[i]);
    page_close(p->xml);
    page_table_begin(&table, p->xml, "blanks", "Tests made", blanks, 7);
    put_record(&table, &p->card->drogue_charge);
    put_record(&table, &p->card->main_charge);
    page_table_end(&table);
    page_open(p->xml, "p", "caution");
    for (size_t i = 0; i < CARD_CAUTION_LINES; i++)
        page_text(p->xml, "%s%s", i ? " " : "", card_cautions[i]);
    page_close(p->xml);
    page_close(p->xml);
}

static void put_head(const page *p)
{
    const pappus_card *card = p->card;
    char mass[PAGE_BOTH_SIZE], elevation[PAGE_BOTH_SIZE], apogee[PAGE_BOTH_SIZE];
    page_put(p->xml, "h1", NULL, "Bench card");
    page_put_user(p->xml, "p", "title", card->title);
    page_put(p->xml, "p", NULL, "%s under canopy; pad at %s, %.1f degC, air %.3f kg/m3.",
             page_both(mass, PAPPUS_SHOW_MASS, card->mass_kg, p->units),
             page_both(elevation, PAPPUS_SHOW_HEIGHT, card->elevation_msl_m, p->units),
             card->temperature_k - 273.15, card->density_kgpm3);
    page_open(p->xml, "p", NULL);
    page_text(p->xml, "Descent from %s in calm air: ",
              page_both(apogee, PAPPUS_SHOW_HEIGHT, card->apogee_m, p->units));
    if (card->drogue.present && card->main.present)
        page_text(p->xml, "drogue %.0f s, main %.0f s, ", card->drogue_time_s, card->main_time_s);
    page_text(p->xml, "%.0f s in all.", card->total_time_s);
    page_close(p->xml);
}

static void put_card(const page *p)
{
    page_open(p->xml, "main", NULL);
    put_head(p);
    put_findings(p);
    put_altimeters(p);
    put_charges(p);
    put_ground_test(p);
    put_canopy(p, &p->card->drogue);
    put_canopy(p, &p->card->main);
    put_loads(p);
    put_sections(p);
    page_close(p->xml);
}

static int make_page(char **out, size_t *size, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err)
{
    pappus_xml xml;
    char title[PAGE_LONGEST + 32], cut[PAGE_LONGEST + 4];
    snprintf(title, sizeof title, "Bench card: %s", page_cut(cut, card->title));
    int status = page_begin(&xml, title, err);
    if (status != PAPPUS_OK) return status;
    put_card(&(page){&xml, card, units});
    page_end(&xml);
    return pappus_xml_finish(out, size, &xml, status, err);
}

int pappus_card_write(const pappus_card *card, const char *path, pappus_unit_system units,
                      pappus_error *err)
{
    char *bytes = NULL;
    size_t size;
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = make_page(&bytes, &size, card, units, err);
    if (status == PAPPUS_OK) status = pappus_file_write(path, bytes, size, err);
    pappus_locale_leave(&locale);
    free(bytes);
    return status;
}
