/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card's ejection charges, every step of the sum with its unit and to four
 * digits, so that it can be checked by hand; and the ground test. */
#include "card.h"
#include "charge.h"

#include <math.h>
#include <string.h>

#define COLUMNS 98

const char *const card_checklist[CARD_CHECKLIST_LINES] = {
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
    "A configuration that has not passed its ground test does not fly."};

const char *const card_cautions[CARD_CAUTION_LINES] = {
    "These masses are a starting point for a ground test, never a setting.",
    "Leaks, vents, packing and heat loss change what a charge does.",
    "Energetic materials only under local law and with an experienced mentor.",
    "Local safety codes and the range safety officer stand above this card."};

void card_write_wrapped(FILE *stream, const char *lead, int indent, const char *text)
{
    int column = fprintf(stream, "%s", lead);
    while (*text) {
        int word = (int)strcspn(text, " ");
        if (column + 1 + word > COLUMNS) column = fprintf(stream, "\n%*s", indent, "") - 1;
        column += fprintf(stream, " %.*s", word, text);
        text += word + (text[word] == ' ');
    }
    fprintf(stream, "\n");
}

/* ------------------------------------------------------------------- units */

static void four_digits(char *out, size_t size, double value)
{
    double magnitude = fabs(value) > 0.0 ? floor(log10(fabs(value)) + 1e-4) : 0.0;
    int decimals = (int)fmax(0.0, fmin(9.0, 3.0 - magnitude));
    snprintf(out, size, "%.*f", decimals, value);
}

static const struct {
    const char *unit[2];
    double si[2];
} measures[] = {
#define MEASURE(name, us, us_si, si_unit, si_si) {{us, si_unit}, {us_si, si_si}},
    CARD_MEASURE_LIST(MEASURE)
#undef MEASURE
};

char *card_single(char out[CARD_PAIR_SIZE], card_measure measure, double si,
                  pappus_unit_system units)
{
    char number[24];
    int own = units == PAPPUS_UNITS_SI;
    four_digits(number, sizeof number, si / measures[measure].si[own]);
    snprintf(out, CARD_PAIR_SIZE, "%s %s", number, measures[measure].unit[own]);
    return out;
}

char *card_pair(char out[CARD_PAIR_SIZE], card_measure measure, double si, pappus_unit_system units)
{
    char other[CARD_PAIR_SIZE];
    card_single(out, measure, si, units);
    card_single(other, measure, si, units == PAPPUS_UNITS_SI ? PAPPUS_UNITS_US : PAPPUS_UNITS_SI);
    size_t used = strlen(out);
    snprintf(out + used, CARD_PAIR_SIZE - used, " (%s)", other);
    return out;
}

/* ----------------------------------------------------------------- charges */

static void step(const card_sheet *sheet, const char *what, const char *how, card_measure measure,
                 double si)
{
    char pair[CARD_PAIR_SIZE];
    fprintf(sheet->stream, "  %-9s %-44s %s\n", what, how,
            card_pair(pair, measure, si, sheet->units));
}

static void write_pins(const card_sheet *sheet, const pappus_charge *c)
{
    char how[120], each[CARD_PAIR_SIZE], friction[CARD_PAIR_SIZE];
    if (isnan(c->needed_n)) return;
    if (c->friction_n > 0.0)
        snprintf(how, sizeof how, "%d pins x %s + friction %s", c->pin_count,
                 card_single(each, CARD_FORCE, c->pin_strength_n, sheet->units),
                 card_single(friction, CARD_FORCE, c->friction_n, sheet->units));
    else
        snprintf(how, sizeof how, "%d pins x %s, no friction", c->pin_count,
                 card_single(each, CARD_FORCE, c->pin_strength_n, sheet->units));
    step(sheet, "to shear", how, CARD_FORCE, c->needed_n);
}

static void write_force(const card_sheet *sheet, const pappus_charge *c)
{
    char how[64];
    if (strcmp(c->from, "pressure") == 0) {
        step(sheet, "pressure", "as wanted", CARD_PRESSURE, c->pressure_pa);
        step(sheet, "force", "pressure x area", CARD_FORCE, c->force_n);
        return;
    }
    snprintf(how, sizeof how, "to shear x margin %.2f", c->margin);
    step(sheet, "force", strcmp(c->from, "force") == 0 ? "as wanted" : how, CARD_FORCE, c->force_n);
    step(sheet, "pressure", "force / area", CARD_PRESSURE, c->pressure_pa);
}

static void write_mass(const card_sheet *sheet, const char *what, double mass_kg, double force_n,
                       double pressure_pa, const pappus_charge *c)
{
    char force[CARD_PAIR_SIZE], pressure[CARD_PAIR_SIZE];
    fprintf(sheet->stream, "  %-9s %.2f g makes %s, %s", what, mass_kg * 1000.0,
            card_single(force, CARD_FORCE, force_n, sheet->units),
            card_single(pressure, CARD_PRESSURE, pressure_pa, sheet->units));
    if (!isnan(c->needed_n))
        fprintf(sheet->stream, ", %.2f times what shears the pins", force_n / c->needed_n);
    fprintf(sheet->stream, "\n");
}

static void write_charge(const card_sheet *sheet, const pappus_charge *c)
{
    char diameter[CARD_PAIR_SIZE], length[CARD_PAIR_SIZE], how[64];
    if (!c->present) return;
    fprintf(sheet->stream, "%s charge, from %s\n", c->name, c->from);
    fprintf(sheet->stream, "  %-9s diameter d %s, length L %s\n", "bay",
            card_pair(diameter, CARD_SIZE, c->bay_diameter_m, sheet->units),
            card_pair(length, CARD_SIZE, c->bay_length_m, sheet->units));
    step(sheet, "area", "pi d2 / 4", CARD_SECTION, c->area_m2);
    step(sheet, "volume", "area x L", CARD_VOLUME, c->volume_m3);
    write_pins(sheet, c);
    write_force(sheet, c);
    step(sheet, "powder", "force x L / (R T)", CARD_POWDER, c->mass_kg);
    snprintf(how, sizeof how, "powder x %.2f", c->backup_factor);
    step(sheet, "backup", how, CARD_POWDER, c->backup_mass_kg);
    write_mass(sheet, "PRIMARY", c->mass_kg, c->force_n, c->pressure_pa, c);
    write_mass(sheet, "BACKUP", c->backup_mass_kg, c->backup_force_n, c->backup_pressure_pa, c);
}

void card_write_charges(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char energy[CARD_PAIR_SIZE];
    fprintf(sheet->stream,
            "\nEJECTION CHARGES  black powder as an ideal gas: where a ground test starts, "
            "never a setting\n");
    if (!card->drogue_charge.present && !card->main_charge.present) {
        fprintf(sheet->stream, "  none in the plan (charges.drogue, charges.main)\n");
        return;
    }
    fprintf(sheet->stream, "  R T = %.2f ft lbf/(lb degR) x %.0f degR = %s, empirical\n",
            CHARGE_GAS_CONSTANT_FTLBF_PER_LB_R, CHARGE_TEMPERATURE_R,
            card_pair(energy, CARD_ENERGY_PER_MASS, charge_specific_energy_jpkg(), sheet->units));
    write_charge(sheet, &card->drogue_charge);
    write_charge(sheet, &card->main_charge);
}

/* ------------------------------------------------------------- ground test */

#define BLANKS "______ g   __________   ____________________   yes / no   ________"

static void write_record(const card_sheet *sheet, const char *name, const char *which,
                         double mass_kg)
{
    fprintf(sheet->stream, "  %-6s %-7s  %6.2f g   %s\n", name, which, mass_kg * 1000.0, BLANKS);
}

static void write_records(const card_sheet *sheet, const pappus_charge *c)
{
    if (!c->present) return;
    write_record(sheet, c->name, "primary", c->mass_kg);
    write_record(sheet, c->name, "backup", c->backup_mass_kg);
}

void card_write_test(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    fprintf(sheet->stream, "\nGROUND TEST\n");
    for (size_t i = 0; i < CARD_CHECKLIST_LINES; i++)
        card_write_wrapped(sheet->stream, "  [ ]", 6, card_checklist[i]);
    fprintf(sheet->stream, "  %-14s  %8s   %-10s %-12s %-22s %-10s %s\n", "charge", "card",
            "tested", "date", "what changed", "pass", "by");
    write_records(sheet, &card->drogue_charge);
    write_records(sheet, &card->main_charge);
    if (!card->drogue_charge.present && !card->main_charge.present)
        fprintf(sheet->stream, "  %-14s  %6s     %s\n", "______________", "", BLANKS);
    fprintf(sheet->stream, "\n");
    for (size_t i = 0; i < CARD_CAUTION_LINES; i++)
        fprintf(sheet->stream, "%s\n", card_cautions[i]);
}
