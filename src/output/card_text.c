/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card on the terminal: every intermediate value with its unit, so that
 * it can be checked by hand. */
#include "c_locale.h"
#include "card.h"
#include "canopy_type.h"
#include "error.h"
#include "format.h"
#include "writer.h"

#include <math.h>

typedef struct {
    FILE *stream;
    const pappus_card *card;
    pappus_unit_system units;
} page;

static const char *show(char *out, const page *p, pappus_quantity quantity, double si)
{
    return pappus_format(out, PAPPUS_TEXT_SIZE, quantity, si, p->units);
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

static void write_canopy(const page *p, const pappus_card_canopy *c)
{
    char a[PAPPUS_TEXT_SIZE], b[PAPPUS_TEXT_SIZE], d[PAPPUS_TEXT_SIZE];
    if (!c->present) return;
    fprintf(p->stream, "%s: %s, drag area %.3f m2 (%.2f ft2)\n", c->name,
            pappus_canopy_type_of(c->type)->name, c->drag_area_m2, c->drag_area_m2 / (0.3048 * 0.3048));
    fprintf(p->stream, "  alone (handbook)  %s, %s to %s by its drag's uncertainty\n",
            show(a, p, PAPPUS_SHOW_SPEED, c->alone_mps), show(b, p, PAPPUS_SHOW_SPEED, c->alone_low_mps),
            show(d, p, PAPPUS_SHOW_SPEED, c->alone_high_mps));
    fprintf(p->stream, "  as flown          %s at %s, with the body and every open canopy: %s\n",
            show(a, p, PAPPUS_SHOW_SPEED, c->flown_mps), show(b, p, PAPPUS_SHOW_HEIGHT, c->flown_height_m),
            card_advice(c));
    fprintf(p->stream, "  usual             %s to %s (common practice)\n",
            show(a, p, PAPPUS_SHOW_SPEED, c->usual_low_mps), show(b, p, PAPPUS_SHOW_SPEED, c->usual_high_mps));
    fprintf(p->stream, "  for %s alone it takes a drag area of %.3f m2",
            show(a, p, PAPPUS_SHOW_SPEED, c->wanted_mps), c->wanted_drag_area_m2);
    if (!isnan(c->wanted_diameter_m))
        fprintf(p->stream, ": this canopy at %s %s diameter",
                show(b, p, PAPPUS_SHOW_DIAMETER, c->wanted_diameter_m), card_basis_text(c->basis));
    fprintf(p->stream, "\n  other types, diameter (coefficient) by what the maker's area is:\n");
    fprintf(p->stream, "    %-16s %20s %20s %20s\n", "", "nominal", "constructed", "projected");
    for (size_t i = 0; i + 2 < PAPPUS_DIAMETER_ROWS; i += 3) {
        fprintf(p->stream, "    %-16s", pappus_canopy_type_of(c->rows[i].type)->name);
        for (size_t k = i; k < i + 3; k++)
            fprintf(p->stream, " %12s (%.2f)", show(a, p, PAPPUS_SHOW_DIAMETER, c->rows[k].diameter_m),
                    c->rows[k].drag_coefficient);
        fprintf(p->stream, "\n");
    }
}

static void write_loads(const page *p, const pappus_card_canopy *c)
{
    char speed[PAPPUS_TEXT_SIZE], force[PAPPUS_TEXT_SIZE], load[PAPPUS_TEXT_SIZE];
    for (size_t i = 0; i < c->load_count; i++) {
        const pappus_load_case *l = &c->loads[i];
        fprintf(p->stream, "  %-7s %-11s fires at %-10s peak %-9s %8s%s\n", c->name, l->name,
                show(speed, p, PAPPUS_SHOW_SPEED, l->airspeed_mps),
                show(load, p, PAPPUS_SHOW_LOAD, l->peak_g), show(force, p, PAPPUS_SHOW_FORCE, l->peak_n),
                l->verdict == PAPPUS_BROKEN ? "  OVER the limit" : "");
    }
}

static void write_charge(const page *p, const pappus_charge *c)
{
    if (!c->present) return;
    fprintf(p->stream, "%s charge (black powder, from %s)\n", c->name, c->from);
    fprintf(p->stream, "  bay         diameter %.2f inch, length %.2f inch\n", c->bay_diameter_m / 0.0254,
            c->bay_length_m / 0.0254);
    fprintf(p->stream, "  area        pi d2/4 = %.2f in2 (%.5f m2)\n", c->area_m2 / (0.0254 * 0.0254),
            c->area_m2);
    fprintf(p->stream, "  volume      %.1f in3 (%.6f m3)\n", c->volume_m3 / (0.0254 * 0.0254 * 0.0254),
            c->volume_m3);
    if (!isnan(c->needed_n))
        fprintf(p->stream, "  needed      %d pins of %.1f lbf + friction %.1f lbf = %.1f lbf; times %.2f = %.1f lbf\n",
                c->pin_count, c->pin_strength_n / CARD_LBF_N, c->friction_n / CARD_LBF_N,
                c->needed_n / CARD_LBF_N, c->margin, c->needed_with_margin_n / CARD_LBF_N);
    fprintf(p->stream, "  force       %.1f lbf (%.0f N)\n", c->force_n / CARD_LBF_N, c->force_n);
    fprintf(p->stream, "  pressure    force / area = %.2f psi (%.0f kPa)\n", c->pressure_pa / CARD_PSI_PA,
            c->pressure_pa / 1000.0);
    fprintf(p->stream, "  mass        F L/(R T), R 22.16 ft lbf/(lb degR), T 3307 degR: %.4f lb\n",
            c->mass_kg / CARD_LB_KG);
    fprintf(p->stream, "  PRIMARY     %.2f g\n", c->mass_kg * 1000.0);
    fprintf(p->stream, "  BACKUP      %.2f g (times %.2f): %.1f lbf, %.2f psi\n",
            c->backup_mass_kg * 1000.0, c->backup_factor, c->backup_force_n / CARD_LBF_N,
            c->backup_pressure_pa / CARD_PSI_PA);
}

static void write_sections(const page *p)
{
    const pappus_card *card = p->card;
    char mass[PAPPUS_TEXT_SIZE], energy[PAPPUS_TEXT_SIZE], largest[PAPPUS_TEXT_SIZE];
    fprintf(p->stream, "\nTOUCHDOWN at %s", show(mass, p, PAPPUS_SHOW_SPEED, card->touchdown_mps));
    if (!isnan(card->energy_limit_j))
        fprintf(p->stream, ", limit %s", show(energy, p, PAPPUS_SHOW_ENERGY, card->energy_limit_j));
    fprintf(p->stream, "\n");
    for (size_t i = 0; i < card->section_count; i++) {
        const pappus_card_section *s = &card->sections[i];
        fprintf(p->stream, "  %-16.60s %9s  %13s", s->name, show(mass, p, PAPPUS_SHOW_MASS, s->mass_kg),
                show(energy, p, PAPPUS_SHOW_ENERGY, s->energy_j));
        if (!isnan(s->largest_mass_kg))
            fprintf(p->stream, "  up to %s", show(largest, p, PAPPUS_SHOW_MASS, s->largest_mass_kg));
        fprintf(p->stream, "%s\n", s->verdict == PAPPUS_BROKEN ? "  OVER the limit" : "");
    }
}

static void write_altimeters(const page *p)
{
    const pappus_card *card = p->card;
    char height[PAPPUS_TEXT_SIZE], real[PAPPUS_TEXT_SIZE];
    fprintf(p->stream, "\nSET ON THE ALTIMETERS\n");
    for (size_t i = 0; i < card->altimeter_count; i++) {
        const pappus_altimeter *a = &card->altimeters[i];
        fprintf(p->stream, "  %-16.60s drogue at apogee + %.1f s", a->name, a->drogue_delay_s.mean);
        if (!isnan(a->main_height_m))
            fprintf(p->stream, "   main at %s (true height in this air %s)",
                    show(height, p, PAPPUS_SHOW_HEIGHT, a->main_height_m),
                    show(real, p, PAPPUS_SHOW_HEIGHT, card->altimeter_true_m[i]));
        fprintf(p->stream, "\n");
    }
}

const char *const card_checklist[CARD_CHECKLIST_LINES] = {
    "Local law, the range safety officer and an experienced mentor say yes to the test.",
    "Final flight configuration: packed canopies, harness, shear pins, sealed bay, flight mass.",
    "Airframe on its side on a soft, clear lane; nobody before or behind it, ears and eyes covered.",
    "Charge armed last, by remote leads; everyone stands well clear; one person holds the key.",
    "Pass: full separation, canopy and harness fully out, no damage, no burn; twice in a row.",
    "Not a pass: change one thing, write it down, test again.",
    "A configuration that has not passed its ground test does not fly."};

const char *const card_cautions[CARD_CAUTION_LINES] = {
    "These masses are a starting point for a ground test, never a setting: leaks, vents, packing and",
    "heat loss change them. Energetic materials only under local law and with an experienced mentor.",
    "Local safety codes and the range safety officer stand above this card."};

static void write_tests(const page *p)
{
    fprintf(p->stream, "\nGROUND TEST\n");
    for (size_t i = 0; i < CARD_CHECKLIST_LINES; i++)
        fprintf(p->stream, "  [ ] %s\n", card_checklist[i]);
    fprintf(p->stream, "  date ______  bay ________  mass ______ g  pins ______  pass? ______  by ______\n");
    fprintf(p->stream, "\n");
    for (size_t i = 0; i < CARD_CAUTION_LINES; i++) fprintf(p->stream, "%s\n", card_cautions[i]);
}

static void write_card(const page *p)
{
    const pappus_card *card = p->card;
    char elevation[PAPPUS_TEXT_SIZE], mass[PAPPUS_TEXT_SIZE];
    fprintf(p->stream, "BENCH CARD  %s\n%s under canopy; pad at %s, %.1f degC, air %.3f kg/m3\n\n",
            card->title, show(mass, p, PAPPUS_SHOW_MASS, card->mass_kg),
            show(elevation, p, PAPPUS_SHOW_HEIGHT, card->elevation_msl_m),
            card->temperature_k - 273.15, card->density_kgpm3);
    fprintf(p->stream, "CANOPIES (a maker's coefficient belongs to the maker's own area: cloth, laid flat "
                       "or mouth)\n");
    write_canopy(p, &card->drogue);
    write_canopy(p, &card->main);
    fprintf(p->stream, "\nDESCENT, calm   drogue %.0f s, main %.0f s, total %.0f s\n", card->drogue_time_s,
            card->main_time_s, card->total_time_s);
    fprintf(p->stream, "\nOPENING LOADS%s\n", isnan(card->load_limit_g) ? " (no limit in the plan)" : "");
    write_loads(p, &card->drogue);
    write_loads(p, &card->main);
    write_sections(p);
    write_altimeters(p);
    fprintf(p->stream, "\nEJECTION CHARGES\n");
    write_charge(p, &card->drogue_charge);
    write_charge(p, &card->main_charge);
    if (!card->drogue_charge.present && !card->main_charge.present)
        fprintf(p->stream, "  none in the plan (charges.drogue, charges.main)\n");
    for (size_t i = 0; i < card->findings.count; i++)
        fprintf(p->stream, "%s! %s: %s\n", i == 0 ? "\n" : "", card->findings.entries[i].error.key,
                card->findings.entries[i].error.message);
    write_tests(p);
}

int pappus_card_text(char **out, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err)
{
    pappus_text text;
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = pappus_text_begin(&text, err);
    if (status == PAPPUS_OK) {
        write_card(&(page){text.stream, card, units});
        status = pappus_text_finish(&text, err);
    }
    pappus_locale_leave(&locale);
    if (status == PAPPUS_OK) *out = text.bytes;
    return status;
}
