/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card as JSON: SI, units in the names. */
#include "c_locale.h"
#include "canopy_type.h"
#include "card_sheet.h"
#include "error.h"
#include "format.h"

#include <math.h>

static const char *verdict_text(pappus_verdict verdict, double limit)
{
    return isnan(limit) ? NULL : pappus_verdict_text(verdict);
}

static void add_loads(json_builder *b, cJSON *to, const pappus_card_canopy *canopy, double limit_g)
{
    cJSON *loads = json_add_array(b, to, "opening_loads");
    for (size_t i = 0; i < canopy->load_count; i++) {
        const pappus_load_case *load = &canopy->loads[i];
        cJSON *item = json_append_object(b, loads);
        json_add_text(b, item, "case", load->name);
        json_add_number(b, item, "airspeed_mps", load->airspeed_mps);
        json_add_number(b, item, "fire_height_m", load->fire_height_m);
        json_add_number(b, item, "peak_n", load->peak_n);
        json_add_number(b, item, "peak_g", load->peak_g);
        json_add_text(b, item, "verdict", verdict_text(load->verdict, limit_g));
    }
}

static void add_diameters(json_builder *b, cJSON *to, const pappus_card_canopy *canopy)
{
    cJSON *rows = json_add_array(b, to, "diameters");
    for (size_t i = 0; i < PAPPUS_DIAMETER_ROWS; i++) {
        const pappus_diameter_row *row = &canopy->rows[i];
        cJSON *item = json_append_object(b, rows);
        json_add_text(b, item, "type", pappus_canopy_type_of(row->type)->name);
        json_add_text(b, item, "area_basis", card_basis_text(row->basis));
        json_add_number(b, item, "drag_coefficient", row->drag_coefficient);
        json_add_number(b, item, "diameter_m", row->diameter_m);
        json_add_number(b, item, "rate_mps", row->rate_mps);
    }
}

static void add_canopy(json_builder *b, cJSON *to, const char *key,
                       const pappus_card_canopy *canopy, double limit_g)
{
    if (!canopy->present) {
        json_add_null(b, to, key);
        return;
    }
    cJSON *item = json_add_object(b, to, key);
    json_add_text(b, item, "type", pappus_canopy_type_of(canopy->type)->name);
    json_add_text(b, item, "area_basis", card_basis_text(canopy->basis));
    json_add_number(b, item, "diameter_m", canopy->diameter_m);
    json_add_number(b, item, "nominal_diameter_m", canopy->nominal_diameter_m);
    json_add_number(b, item, "drag_area_m2", canopy->drag_area_m2);
    json_add_number(b, item, "beside_drag_area_m2", canopy->beside_drag_area_m2);
    json_add_number(b, item, "alone_mps", canopy->alone_mps);
    json_add_number(b, item, "alone_low_mps", canopy->alone_low_mps);
    json_add_number(b, item, "alone_high_mps", canopy->alone_high_mps);
    json_add_number(b, item, "flown_mps", canopy->flown_mps);
    json_add_number(b, item, "flown_height_m", canopy->flown_height_m);
    json_add_number(b, item, "usual_low_mps", canopy->usual_low_mps);
    json_add_number(b, item, "usual_high_mps", canopy->usual_high_mps);
    json_add_number(b, item, "wanted_mps", canopy->wanted_mps);
    json_add_number(b, item, "wanted_drag_area_m2", canopy->wanted_drag_area_m2);
    json_add_number(b, item, "wanted_diameter_m", canopy->wanted_diameter_m);
    json_add_number(b, item, "wanted_flown_diameter_m", canopy->wanted_flown_diameter_m);
    json_add_number(b, item, "wanted_length_m", canopy->wanted_length_m);
    json_add_number(b, item, "wanted_flown_length_m", canopy->wanted_flown_length_m);
    add_diameters(b, item, canopy);
    add_loads(b, item, canopy, limit_g);
}

static void add_charge(json_builder *b, cJSON *to, const char *key, const pappus_charge *charge)
{
    if (!charge->present) {
        json_add_null(b, to, key);
        return;
    }
    cJSON *item = json_add_object(b, to, key);
    json_add_text(b, item, "from", charge->from);
    json_add_number(b, item, "bay_diameter_m", charge->bay_diameter_m);
    json_add_number(b, item, "bay_length_m", charge->bay_length_m);
    json_add_number(b, item, "area_m2", charge->area_m2);
    json_add_number(b, item, "volume_m3", charge->volume_m3);
    json_add_count(b, item, "pin_count", (uint64_t)charge->pin_count);
    json_add_number(b, item, "pin_strength_n", charge->pin_strength_n);
    json_add_number(b, item, "friction_n", charge->friction_n);
    json_add_number(b, item, "needed_n", charge->needed_n);
    json_add_number(b, item, "needed_with_margin_n", charge->needed_with_margin_n);
    json_add_number(b, item, "margin", charge->margin);
    json_add_number(b, item, "force_n", charge->force_n);
    json_add_number(b, item, "pressure_pa", charge->pressure_pa);
    json_add_number(b, item, "mass_g", charge->mass_kg * 1000.0);
    json_add_number(b, item, "backup_factor", charge->backup_factor);
    json_add_number(b, item, "backup_mass_g", charge->backup_mass_kg * 1000.0);
    json_add_number(b, item, "backup_force_n", charge->backup_force_n);
    json_add_number(b, item, "backup_pressure_pa", charge->backup_pressure_pa);
}

static void add_sections(json_builder *b, cJSON *to, const pappus_card *card)
{
    cJSON *sections = json_add_array(b, to, "sections");
    for (size_t i = 0; i < card->section_count; i++) {
        const pappus_card_section *section = &card->sections[i];
        cJSON *item = json_append_object(b, sections);
        json_add_text(b, item, "name", section->name);
        json_add_number(b, item, "mass_kg", section->mass_kg);
        json_add_number(b, item, "energy_j", section->energy_j);
        json_add_number(b, item, "energy_high_j", section->energy_high_j);
        json_add_number(b, item, "largest_mass_kg", section->largest_mass_kg);
        json_add_text(b, item, "verdict", verdict_text(section->verdict, card->energy_limit_j));
    }
}

static void add_altimeters(json_builder *b, cJSON *to, const pappus_card *card)
{
    cJSON *altimeters = json_add_array(b, to, "altimeters");
    for (size_t i = 0; i < card->altimeter_count; i++) {
        cJSON *item = json_append_object(b, altimeters);
        json_add_text(b, item, "name", card->altimeters[i].name);
        json_add_number(b, item, "drogue_delay_s", card->altimeters[i].drogue_delay_s.mean);
        json_add_number(b, item, "main_height_m", card->altimeters[i].main_height_m);
        json_add_number(b, item, "main_height_true_m", card->altimeter_true_m[i]);
    }
}

static void add_texts(json_builder *b, cJSON *to, const pappus_card *card)
{
    cJSON *warnings = json_add_array(b, to, "warnings");
    for (size_t i = 0; i < card->findings.count; i++) {
        const pappus_error *error = &card->findings.entries[i].error;
        cJSON *item = json_append_object(b, warnings);
        json_add_text(b, item, "key", error->key);
        json_add_text(b, item, "message", error->message);
    }
    json_add_text(b, to, "caution",
                  "a starting point for a ground test, never a setting; a configuration that has "
                  "not passed its ground test does not fly; local law, the range safety officer "
                  "and an experienced mentor stand above this card");
}

static cJSON *card_object(json_builder *b, const pappus_card *card)
{
    cJSON *root = cJSON_CreateObject();
    json_add_text(b, root, "pappus", pappus_version());
    json_add_text(b, root, "title", card->title);
    json_add_number(b, root, "mass_kg", card->mass_kg);
    json_add_number(b, root, "elevation_msl_m", card->elevation_msl_m);
    json_add_number(b, root, "temperature_k", card->temperature_k);
    json_add_number(b, root, "density_kgpm3", card->density_kgpm3);
    add_canopy(b, root, "drogue", &card->drogue, card->load_limit_g);
    add_canopy(b, root, "main", &card->main, card->load_limit_g);
    json_add_number(b, root, "touchdown_mps", card->touchdown_mps);
    json_add_number(b, root, "touchdown_high_mps", card->touchdown_high_mps);
    json_add_number(b, root, "main_full_open_m", card->main_full_open_m);
    json_add_number(b, root, "drogue_time_s", card->drogue_time_s);
    json_add_number(b, root, "main_time_s", card->main_time_s);
    json_add_number(b, root, "total_time_s", card->total_time_s);
    add_sections(b, root, card);
    add_altimeters(b, root, card);
    cJSON *charges = json_add_object(b, root, "charges");
    add_charge(b, charges, "drogue", &card->drogue_charge);
    add_charge(b, charges, "main", &card->main_charge);
    add_texts(b, root, card);
    return root;
}

int pappus_card_json(char **out, const pappus_card *card, pappus_error *err)
{
    json_builder builder = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = json_finish(out, &builder, card_object(&builder, card), err);
    pappus_locale_leave(&locale);
    return status;
}
