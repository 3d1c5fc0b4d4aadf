/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card on the terminal, at most 100 columns wide: canopies, loads, touchdown
 * and altimeters; charges and ground test are in card_bench.c. */
#include "canopy_type.h"
#include "card.h"
#include "format.h"
#include "terminal.h"
#include "utf8.h"

#include <math.h>
#include <string.h>

#define NAME_COLUMNS 20

static const char *show(char *out, const card_sheet *sheet, pappus_quantity quantity, double si)
{
    return pappus_format(out, PAPPUS_TEXT_SIZE, quantity, si, sheet->units);
}

const char *card_basis_text(pappus_area_basis basis)
{
    static const char *const texts[] = {"nominal", "constructed", "projected"};
    return texts[basis];
}

const char *card_advice(const pappus_card_canopy *canopy)
{
    return canopy->flown_mps < canopy->usual_low_mps    ? "slower than usual: drifts further"
           : canopy->flown_mps > canopy->usual_high_mps ? "faster than usual: harder on everything"
                                                        : "in the usual band";
}

/* A name of the user's, cut and padded to its column by characters, not bytes. */
static const char *cell(char out[2 * NAME_COLUMNS + 1], const char *name)
{
    size_t length = pappus_text_cut(out, NAME_COLUMNS + 1, name), columns = 0;
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)out[i] & 0xC0) != 0x80) columns++;
    for (; columns < NAME_COLUMNS; columns++)
        out[length++] = ' ';
    out[length] = '\0';
    return out;
}

/* -------------------------------------------------------------------- head */

static void write_head(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char title[80], mass[PAPPUS_TEXT_SIZE], pad[PAPPUS_TEXT_SIZE], density[CARD_PAIR_SIZE];
    double celsius = card->temperature_k - 273.15;
    pappus_text_cut(title, sizeof title, card->title);
    fprintf(sheet->stream, "BENCH CARD  %s\n", title);
    fprintf(sheet->stream, "%s under canopy; pad at %s MSL, ",
            show(mass, sheet, PAPPUS_SHOW_MASS, card->mass_kg),
            show(pad, sheet, PAPPUS_SHOW_HEIGHT, card->elevation_msl_m));
    if (sheet->units == PAPPUS_UNITS_US)
        fprintf(sheet->stream, "%.0f degF (%.0f degC)", celsius * 1.8 + 32.0, celsius);
    else
        fprintf(sheet->stream, "%.1f degC", celsius);
    fprintf(sheet->stream, ", air %s\n",
            card_pair(density, CARD_DENSITY, card->density_kgpm3, sheet->units));
}

static void write_findings(const card_sheet *sheet)
{
    char lead[200];
    const pappus_log *findings = &sheet->card->findings;
    if (findings->count > 0) fprintf(sheet->stream, "\nOUT OF THE USUAL\n");
    for (size_t i = 0; i < findings->count; i++) {
        snprintf(lead, sizeof lead, "! %s:", findings->entries[i].error.key);
        card_write_wrapped(sheet->stream, lead, 4, findings->entries[i].error.message);
    }
}

/* ---------------------------------------------------------------- canopies */

/* Cells of the table: diameter, coefficient, and the rate where there is one. */
static void write_diameter(const card_sheet *sheet, const pappus_diameter_row *row)
{
    char diameter[PAPPUS_TEXT_SIZE], rate[PAPPUS_TEXT_SIZE] = "";
    pappus_format_number(diameter, sizeof diameter, PAPPUS_SHOW_DIAMETER, row->diameter_m,
                         sheet->units);
    if (!isnan(row->rate_mps))
        pappus_format_number(rate, sizeof rate, PAPPUS_SHOW_SPEED, row->rate_mps, sheet->units);
    fprintf(sheet->stream, "  %7s (%.3f) %6s", diameter, row->drag_coefficient, rate);
}

static void write_diameters(const card_sheet *sheet, const pappus_card_canopy *c)
{
    char own[PAPPUS_TEXT_SIZE];
    fprintf(sheet->stream, "  any canopy: %s for the wanted rate (coefficient)",
            pappus_quantity_unit(PAPPUS_SHOW_DIAMETER, sheet->units));
    if (!isnan(c->diameter_m))
        fprintf(sheet->stream, ", and the rate in %s of %s",
                pappus_quantity_unit(PAPPUS_SHOW_SPEED, sheet->units),
                show(own, sheet, PAPPUS_SHOW_DIAMETER, c->diameter_m));
    fprintf(sheet->stream, "\n    %-14s  %-22s  %-22s  %s\n", "", "  nominal: cloth",
            "  constructed: flat", "  projected: mouth");
    for (size_t i = 0; i + 2 < PAPPUS_DIAMETER_ROWS; i += 3) {
        fprintf(sheet->stream, "    %-14s", pappus_canopy_type_of(c->rows[i].type)->name);
        for (size_t k = i; k < i + 3; k++)
            write_diameter(sheet, &c->rows[k]);
        fprintf(sheet->stream, "\n");
    }
}

/* This canopy made for the wanted rate, alone and with what else is open. */
static void write_own_size(const card_sheet *sheet, const pappus_card_canopy *c)
{
    bool streamer = c->type == PAPPUS_STREAMER;
    double alone_m = streamer ? c->wanted_length_m : c->wanted_diameter_m;
    double flown_m = streamer ? c->wanted_flown_length_m : c->wanted_flown_diameter_m;
    char alone[PAPPUS_TEXT_SIZE], flown[PAPPUS_TEXT_SIZE];
    if (isnan(alone_m)) return;
    fprintf(sheet->stream, "    this one: %s %s", show(alone, sheet, PAPPUS_SHOW_DIAMETER, alone_m),
            streamer ? "long" : card_basis_text(c->basis));
    if (isnan(flown_m))
        fprintf(sheet->stream, "; what else is open is slow enough without it");
    else if (c->beside_drag_area_m2 > 0.0)
        fprintf(sheet->stream, " alone, %s with what else is open",
                show(flown, sheet, PAPPUS_SHOW_DIAMETER, flown_m));
    fprintf(sheet->stream, "%s\n",
            c->spill_hole_m > 0.0 && !streamer ? "; its spill hole in proportion" : "");
}

static void write_rates(const card_sheet *sheet, const pappus_card_canopy *c)
{
    char a[PAPPUS_TEXT_SIZE], b[PAPPUS_TEXT_SIZE];
    fprintf(sheet->stream, "  %-10s %-10s in the pad's air", "alone",
            show(a, sheet, PAPPUS_SHOW_SPEED, c->alone_mps));
    if (c->alone_high_mps > c->alone_low_mps)
        fprintf(sheet->stream, "; %s (95th to 5th percentile of its drag)",
                pappus_format_range(b, sizeof b, PAPPUS_SHOW_SPEED, c->alone_low_mps,
                                    c->alone_high_mps, sheet->units));
    fprintf(sheet->stream, "\n");
    if (isnan(c->flown_mps)) {
        fprintf(sheet->stream, "  %-10s no steady rate in this flight\n", "as flown");
    } else {
        bool aloft = c->flown_height_m > 0.0;
        fprintf(sheet->stream, "  %-10s %-10s at %s with all that is open: %s\n", "as flown",
                show(a, sheet, PAPPUS_SHOW_SPEED, c->flown_mps),
                aloft ? show(b, sheet, PAPPUS_SHOW_HEIGHT, c->flown_height_m) : "the ground",
                card_advice(c));
    }
    fprintf(sheet->stream, "  %-10s %s, common practice\n", "usual",
            pappus_format_range(a, sizeof a, PAPPUS_SHOW_SPEED, c->usual_low_mps, c->usual_high_mps,
                                sheet->units));
}

static void write_canopy(const card_sheet *sheet, const pappus_card_canopy *c)
{
    char size[PAPPUS_TEXT_SIZE], area[CARD_PAIR_SIZE];
    if (!c->present) return;
    fprintf(sheet->stream, "%s: %s", c->name, pappus_canopy_type_of(c->type)->name);
    if (!isnan(c->diameter_m))
        fprintf(sheet->stream, ", %s %s", show(size, sheet, PAPPUS_SHOW_DIAMETER, c->diameter_m),
                card_basis_text(c->basis));
    fprintf(sheet->stream, ", drag area CdS %s\n",
            card_pair(area, CARD_DRAG_AREA, c->drag_area_m2, sheet->units));
    write_rates(sheet, c);
    fprintf(sheet->stream, "  %-10s %-10s takes a drag area of %s%s\n", "wanted",
            show(size, sheet, PAPPUS_SHOW_SPEED, c->wanted_mps),
            card_pair(area, CARD_DRAG_AREA, c->wanted_drag_area_m2, sheet->units),
            c->wanted_given ? "" : "; no wanted_rate: the usual middle");
    write_own_size(sheet, c);
    write_diameters(sheet, c);
}

static void write_canopies(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    fprintf(
        sheet->stream,
        "\nCANOPIES  v = sqrt(2 m g / (air density x CdS)), g = 32.174 ft/s2 (9.80665 m/s2)\n"
        "  A coefficient is worth nothing without the maker's own area: nominal is all the\n"
        "  cloth, constructed the disc laid flat, projected the inflated mouth. A flat circular\n"
        "  canopy of 0.775 by the cloth is 1.65 by the mouth; mixed up, the rate is wrong by\n"
        "  nearly half. Give the plan the maker's number with the maker's area.\n");
    write_canopy(sheet, &card->drogue);
    write_canopy(sheet, &card->main);
}

/* ------------------------------------------------------------- the descent */

static void write_times(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char apogee[PAPPUS_TEXT_SIZE], open[PAPPUS_TEXT_SIZE];
    fprintf(sheet->stream, "\nDESCENT  from %s in calm air: ",
            show(apogee, sheet, PAPPUS_SHOW_HEIGHT, card->apogee_m));
    if (card->drogue.present && card->main.present)
        fprintf(sheet->stream, "drogue %.0f s, main %.0f s, ", card->drogue_time_s,
                card->main_time_s);
    fprintf(sheet->stream, "total %.0f s", card->total_time_s);
    if (card->main_full_open_m > 0.0)
        fprintf(sheet->stream, "; main full open at %s",
                show(open, sheet, PAPPUS_SHOW_HEIGHT, card->main_full_open_m));
    fprintf(sheet->stream, "\n");
}

static void write_loads_of(const card_sheet *sheet, const pappus_card_canopy *c)
{
    char speed[PAPPUS_TEXT_SIZE], force[PAPPUS_TEXT_SIZE], load[PAPPUS_TEXT_SIZE];
    for (size_t i = 0; i < c->load_count; i++) {
        const pappus_load_case *l = &c->loads[i];
        fprintf(sheet->stream, "  %-7s %-11s %12s %10s %10s%s\n", c->name, l->name,
                show(speed, sheet, PAPPUS_SHOW_SPEED, l->airspeed_mps),
                show(load, sheet, PAPPUS_SHOW_LOAD, l->peak_g),
                show(force, sheet, PAPPUS_SHOW_FORCE, l->peak_n),
                l->verdict == PAPPUS_BROKEN ? "  OVER the limit" : "");
    }
}

static void write_loads(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char limit[PAPPUS_TEXT_SIZE];
    fprintf(sheet->stream, "\nOPENING LOADS  every value at its mean; ");
    if (isnan(card->load_limit_g))
        fprintf(sheet->stream, "the plan has no limits.opening_load\n");
    else
        fprintf(sheet->stream, "limit %s, which brief holds against the 95th percentile\n",
                show(limit, sheet, PAPPUS_SHOW_LOAD, card->load_limit_g));
    fprintf(sheet->stream, "  %-7s %-11s %12s %10s\n", "canopy", "fired", "airspeed", "peak");
    write_loads_of(sheet, &card->drogue);
    write_loads_of(sheet, &card->main);
    if (card->tumble_assumed)
        fprintf(sheet->stream, "  The body that tumbles without a canopy has an assumed drag; "
                               "rocket.tumble_drag_area says better.\n");
}

static void write_section(const card_sheet *sheet, const pappus_card_section *s)
{
    char name[2 * NAME_COLUMNS + 1], mass[PAPPUS_TEXT_SIZE], energy[PAPPUS_TEXT_SIZE],
        high[PAPPUS_TEXT_SIZE], largest[PAPPUS_TEXT_SIZE] = "";
    if (!isnan(s->largest_mass_kg))
        pappus_format_down(largest, sizeof largest, PAPPUS_SHOW_MASS, s->largest_mass_kg,
                           sheet->units);
    fprintf(sheet->stream, "  %s %9s %15s %15s %12s%s\n", cell(name, s->name),
            show(mass, sheet, PAPPUS_SHOW_MASS, s->mass_kg),
            show(energy, sheet, PAPPUS_SHOW_ENERGY, s->energy_j),
            show(high, sheet, PAPPUS_SHOW_ENERGY, s->energy_high_j), largest,
            s->verdict == PAPPUS_BROKEN ? "  OVER the limit" : "");
}

static void write_touchdown(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char speed[PAPPUS_TEXT_SIZE], high[PAPPUS_TEXT_SIZE], limit[PAPPUS_TEXT_SIZE],
        column[2 * NAME_COLUMNS + 1];
    fprintf(sheet->stream, "\nTOUCHDOWN  at %s; at %s with weak drag (5th percentile)\n",
            show(speed, sheet, PAPPUS_SHOW_SPEED, card->touchdown_mps),
            show(high, sheet, PAPPUS_SHOW_SPEED, card->touchdown_high_mps));
    if (!isnan(card->speed_limit_mps))
        fprintf(sheet->stream, "  limit %s\n",
                show(limit, sheet, PAPPUS_SHOW_SPEED, card->speed_limit_mps));
    if (!isnan(card->energy_limit_j))
        fprintf(sheet->stream,
                "  limit %s for each section, m v2 / 2; largest is the mass that still meets it\n",
                show(limit, sheet, PAPPUS_SHOW_ENERGY, card->energy_limit_j));
    fprintf(sheet->stream, "  %s %9s %15s %15s %12s\n", cell(column, "section"), "mass", "energy",
            "weak drag", isnan(card->energy_limit_j) ? "" : "largest");
    for (size_t i = 0; i < card->section_count; i++)
        write_section(sheet, &card->sections[i]);
}

/* -------------------------------------------------------------- altimeters */

static void write_altimeter(const card_sheet *sheet, const pappus_altimeter *a, double true_m)
{
    char name[2 * NAME_COLUMNS + 1], set[PAPPUS_TEXT_SIZE], real[PAPPUS_TEXT_SIZE],
        delay[PAPPUS_TEXT_SIZE];
    snprintf(delay, sizeof delay, "apogee + %.1f s", a->drogue_delay_s.mean);
    fprintf(sheet->stream, "  %s %-18s", cell(name, a->name), delay);
    if (isnan(a->main_height_m))
        fprintf(sheet->stream, " no main\n");
    else
        fprintf(sheet->stream, " %-12s %s\n",
                show(set, sheet, PAPPUS_SHOW_HEIGHT, a->main_height_m),
                show(real, sheet, PAPPUS_SHOW_HEIGHT, true_m));
}

static void write_altimeters(const card_sheet *sheet)
{
    const pappus_card *card = sheet->card;
    char name[2 * NAME_COLUMNS + 1];
    fprintf(sheet->stream, "\nSET ON THE ALTIMETERS\n");
    fprintf(sheet->stream, "  %s %-18s %-12s %s\n", cell(name, "altimeter"), "first charge",
            "main set to", "true height in this air");
    for (size_t i = 0; i < card->altimeter_count; i++)
        write_altimeter(sheet, &card->altimeters[i], card->altimeter_true_m[i]);
    if (pappus_is_present(card->motor_delay_s))
        fprintf(sheet->stream, "  %s apogee %+.1f s, the motor's own charge\n", cell(name, "motor"),
                card->motor_delay_s.mean);
}

static void write_card(FILE *stream, const void *context)
{
    card_sheet sheet = *(const card_sheet *)context;
    sheet.stream = stream;
    write_head(&sheet);
    write_findings(&sheet);
    write_canopies(&sheet);
    write_times(&sheet);
    write_loads(&sheet);
    write_touchdown(&sheet);
    write_altimeters(&sheet);
    card_write_charges(&sheet);
    card_write_test(&sheet);
}

int pappus_card_text(char **out, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err)
{
    return pappus_terminal_page(out, write_card, &(card_sheet){NULL, card, units}, err);
}
