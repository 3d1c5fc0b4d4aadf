/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card: what is sized and set at home, from the same plan that is briefed
 * on the field and by the same physics: the falls are those of draws.c, brought down
 * by the reference integrator through this site's air with no wind.
 *
 * Two rates stand beside each other. Alone, by the handbook: v = sqrt(2 W/(rho CdS)).
 * As flown: what the fall does, with the body and every open canopy. */
#include "air.h"
#include "canopy.h"
#include "canopy_type.h"
#include "charge.h"
#include "draws.h"
#include "error.h"
#include "reference.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Usual bands (common practice, no source). */
#define DROGUE_LOW_MPS (70.0 * FOOT_M)
#define DROGUE_HIGH_MPS (100.0 * FOOT_M)
#define MAIN_LOW_MPS (17.0 * FOOT_M)
#define MAIN_HIGH_MPS (22.0 * FOOT_M)

/* Everything that the card's parts work on. */
typedef struct {
    const pappus_plan *plan;
    pappus_plan calm; /* shallow copy without wind; owns nothing */
    pappus_air *air;
    pappus_draws *draws;
    double *still;    /* no wind at the air's nodes */
    pappus_touchdown nominal;
    pappus_error error;
} bench;

static void bench_end(bench *b)
{
    free(b->still);
    pappus_draws_free(b->draws);
    pappus_air_free(b->air);
}

static int bench_begin(bench *b, const pappus_plan *plan)
{
    static const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_wind_level level = {.height_kind = PAPPUS_HEIGHT_AGL,
                               .height_m = 10.0,
                               .speed_sd_mps = NAN,
                               .temperature_k = NAN,
                               .pressure_pa = NAN};
    pappus_wind_profile profile = {.issued_utc_s = NAN, .valid_utc_s = NAN, .weight = 1.0,
                                   .station_elevation_msl_m = NAN, .level_count = 1,
                                   .levels = &level};
    pappus_winds winds = {.profile_count = 1, .profiles = &profile};
    *b = (bench){.plan = plan, .calm = *plan};
    b->calm.wind.has_surface = false;
    b->calm.wind.observation_count = 0;
    b->calm.wind.profile_count = 0;
    b->calm.wind.gust_mps = NAN;
    b->calm.wind.error_mps = b->calm.wind.growth_mps = 0.0;
    if (!(b->calm.wind.correlation_height_m > 0.0)) b->calm.wind.correlation_height_m = 1000.0;
    pappus_log log = {0};
    int status = pappus_air_build(&b->air, &b->calm, &winds, &as_read, &log);
    for (size_t i = 0; i < log.count; i++)
        if (log.entries[i].severity == PAPPUS_FAULT) b->error = log.entries[i].error;
    pappus_log_clear(&log);
    if (status == PAPPUS_OK)
        status = pappus_draws_build(&b->draws, &b->calm, b->air, (pappus_random){0}, 0.0, &b->error);
    if (status == PAPPUS_OK) {
        b->still = calloc(b->air->node_count, sizeof *b->still);
        if (!b->still) status = pappus_fail_memory(&b->error);
    }
    return status;
}

static int bring_down(pappus_touchdown *out, pappus_path *path, bench *b, const pappus_fall *fall)
{
    return pappus_reference_fall(out, path, fall, b->air, b->still, b->still,
                                 PAPPUS_REFERENCE_TOLERANCE, &b->error);
}

/* ---------------------------------------------------------------- canopies */

static double area_diameter_m(double area_m2)
{
    return sqrt(4.0 * area_m2 / M_PI);
}

/* The diameter for a drag area, for every round type on each basis, at the middle of
 * the type's range. */
static void diameter_rows(pappus_diameter_row rows[PAPPUS_DIAMETER_ROWS], double drag_area_m2)
{
    size_t row = 0;
    for (int t = 0; t < PAPPUS_CANOPY_TYPES; t++) {
        if (t == PAPPUS_STREAMER) continue;
        const pappus_canopy_type_data *type = pappus_canopy_type_of((pappus_canopy_type)t);
        for (int basis = PAPPUS_NOMINAL_AREA; basis <= PAPPUS_PROJECTED_AREA; basis++) {
            double share = basis == PAPPUS_NOMINAL_AREA       ? 1.0
                           : basis == PAPPUS_CONSTRUCTED_AREA ? pappus_range_middle(type->constructed)
                                                              : pappus_range_middle(type->projected);
            double cd = pappus_range_middle(type->drag) / (share * share);
            rows[row++] = (pappus_diameter_row){(pappus_canopy_type)t, (pappus_area_basis)basis, cd,
                                                area_diameter_m(drag_area_m2 / cd)};
        }
    }
}

/* This plan's own canopy, made larger or smaller: its coefficient, basis and spill
 * hole stay. */
static double own_diameter_m(const pappus_canopy_plan *plan, double drag_area_m2)
{
    if (!(plan->diameter_m > 0.0) || !pappus_is_present(plan->drag_coefficient)) return NAN;
    double hole_m2 = M_PI * plan->spill_hole_m * plan->spill_hole_m / 4.0;
    return area_diameter_m(drag_area_m2 / plan->drag_coefficient.mean +
                           (isnan(hole_m2) ? 0.0 : hole_m2));
}

static int fill_canopy(pappus_card_canopy *out, const char *name, const pappus_canopy_plan *plan,
                       bench *b)
{
    pappus_canopy canopy;
    double density = b->air->density_kgpm3[0], mass = b->plan->rocket.mass_kg.mean;
    bool drogue = strcmp(name, "drogue") == 0;
    if (!plan->present) return PAPPUS_OK;
    int status = pappus_canopy_resolve(&canopy, plan, name, &b->error);
    if (status != PAPPUS_OK) return status;
    out->present = true;
    out->name = name;
    out->type = plan->type;
    out->basis = plan->area_basis;
    out->diameter_m = plan->diameter_m > 0.0 ? plan->diameter_m : NAN;
    out->nominal_diameter_m = canopy.nominal_diameter_m;
    out->drag_area_m2 = pappus_canopy_mean_drag_area_m2(&canopy);
    out->alone_mps = pappus_steady_rate_mps(mass, out->drag_area_m2, density);
    out->alone_low_mps = pappus_steady_rate_mps(
        mass, pappus_canopy_drag_area_quantile_m2(&canopy, 0.95), density);
    out->alone_high_mps = pappus_steady_rate_mps(
        mass, pappus_canopy_drag_area_quantile_m2(&canopy, 0.05), density);
    out->usual_low_mps = drogue ? DROGUE_LOW_MPS : MAIN_LOW_MPS;
    out->usual_high_mps = drogue ? DROGUE_HIGH_MPS : MAIN_HIGH_MPS;
    out->wanted_mps = plan->wanted_rate_mps > 0.0
                          ? plan->wanted_rate_mps
                          : 0.5 * (out->usual_low_mps + out->usual_high_mps);
    out->wanted_drag_area_m2 = pappus_steady_drag_area_m2(mass, out->wanted_mps, density);
    out->wanted_diameter_m = own_diameter_m(plan, out->wanted_drag_area_m2);
    diameter_rows(out->rows, out->wanted_drag_area_m2);
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- loads */

static int add_load(pappus_card_canopy *canopy, const char *name, bool drogue,
                    const pappus_fall *fall, bench *b)
{
    pappus_touchdown landed;
    int status = bring_down(&landed, NULL, b, fall);
    if (status != PAPPUS_OK) return status;
    pappus_load_case *load = &canopy->loads[canopy->load_count++];
    *load = (pappus_load_case){.name = name};
    load->peak_n = drogue ? landed.drogue_load_n : landed.main_load_n;
    load->airspeed_mps = drogue ? landed.drogue_fire_mps : landed.main_fire_mps;
    load->fire_height_m = drogue ? NAN : landed.main_fire_m;
    load->peak_g = load->peak_n / (fall->mass_kg * PAPPUS_GRAVITY_MPS2);
    double limit = b->plan->limits.opening_load;
    load->verdict = isnan(limit)           ? PAPPUS_UNDECIDED
                    : load->peak_g > limit ? PAPPUS_BROKEN
                                           : PAPPUS_MET;
    return PAPPUS_OK;
}

/* Out as planned, and with the apogee event 1, 2 and 3 s late. */
static int drogue_loads(pappus_card_canopy *drogue, bench *b)
{
    static const char *const late[] = {"1 s late", "2 s late", "3 s late"};
    pappus_fall fall;
    if (!drogue->present) return PAPPUS_OK;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    int status = add_load(drogue, "as planned", true, &fall, b);
    for (size_t i = 0; i < 3 && status == PAPPUS_OK; i++) {
        fall.apogee_fire_s += 1.0;
        status = add_load(drogue, late[i], true, &fall, b);
    }
    return status;
}

static int main_loads(pappus_card_canopy *main_canopy, bench *b)
{
    pappus_fall fall;
    if (!main_canopy->present) return PAPPUS_OK;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    int status = add_load(main_canopy, "as planned", false, &fall, b);
    if (status == PAPPUS_OK && b->plan->drogue.present) {
        fall.drogue_cds_m2 = 0.0;
        status = add_load(main_canopy, "no drogue", false, &fall, b);
    }
    return status;
}

/* ----------------------------------------------------------- card's parts */

static int fly_nominal(pappus_card *card, bench *b)
{
    pappus_path path = {0};
    pappus_fall fall;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    path.main_fire_s = NAN;
    int status = bring_down(&b->nominal, &path, b, &fall);
    if (status != PAPPUS_OK) return status;
    bool staged = b->plan->drogue.present && b->plan->main.present && isfinite(path.main_fire_s);
    card->touchdown_mps = -b->nominal.vup_mps;
    card->total_time_s = b->nominal.time_s;
    card->drogue_time_s = staged ? path.main_fire_s : b->plan->drogue.present ? b->nominal.time_s : 0.0;
    card->main_time_s = card->total_time_s - card->drogue_time_s;
    card->main.flown_mps = card->touchdown_mps;
    card->drogue.flown_mps = staged ? b->nominal.main_fire_mps : card->touchdown_mps;
    card->drogue.flown_height_m = staged ? b->nominal.main_fire_m : 0.0;
    pappus_path_clear(&path);
    return PAPPUS_OK;
}

static int add_section(pappus_card *card, const char *name, double mass_kg)
{
    pappus_card_section *section = &card->sections[card->section_count++];
    double v2 = card->touchdown_mps * card->touchdown_mps, limit = card->energy_limit_j;
    section->name = strdup(name);
    section->mass_kg = mass_kg;
    section->energy_j = 0.5 * mass_kg * v2;
    section->largest_mass_kg = 2.0 * limit / v2;
    section->verdict = isnan(limit)               ? PAPPUS_UNDECIDED
                       : section->energy_j > limit ? PAPPUS_BROKEN
                                                   : PAPPUS_MET;
    return section->name ? PAPPUS_OK : PAPPUS_E_MEMORY;
}

static int fill_sections(pappus_card *card, const pappus_plan *plan, pappus_error *err)
{
    const pappus_rocket *rocket = &plan->rocket;
    int status = PAPPUS_OK;
    card->sections = calloc(rocket->section_count + 1, sizeof *card->sections);
    if (!card->sections) return pappus_fail_memory(err);
    for (size_t i = 0; i < rocket->section_count && status == PAPPUS_OK; i++)
        status = add_section(card, rocket->sections[i].name ? rocket->sections[i].name : "",
                             rocket->sections[i].mass_kg);
    if (rocket->section_count == 0)
        status = add_section(card, "whole rocket", rocket->mass_kg.mean);
    return status == PAPPUS_OK ? PAPPUS_OK : pappus_fail_memory(err);
}

static int fill_altimeters(pappus_card *card, bench *b)
{
    size_t count = b->plan->altimeter_count;
    card->altimeters = calloc(count + 1, sizeof *card->altimeters);
    card->altimeter_true_m = calloc(count + 1, sizeof *card->altimeter_true_m);
    if (!card->altimeters || !card->altimeter_true_m) return pappus_fail_memory(&b->error);
    for (size_t i = 0; i < count; i++) {
        card->altimeters[i] = b->plan->altimeters[i];
        card->altimeters[i].name = strdup(b->plan->altimeters[i].name ? b->plan->altimeters[i].name : "");
        card->altimeter_count = i + 1;
        if (!card->altimeters[i].name) return pappus_fail_memory(&b->error);
        double set = card->altimeters[i].main_height_m;
        card->altimeter_true_m[i] = isnan(set) ? NAN : pappus_air_true_height_m(b->air, set);
    }
    return PAPPUS_OK;
}

/* -------------------------------------------------------------- findings */

static void warn_charge(pappus_log *log, const char *file, const pappus_charge *charge)
{
    char key[48] = "charges.";
    if (!charge->present) return;
    strncat(key, charge->name, sizeof key - strlen(key) - 1);
    if (charge->pressure_pa < CHARGE_PRESSURE_LOW_PA ||
        charge->backup_pressure_pa > CHARGE_PRESSURE_HIGH_PA)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, key, NULL,
                       "the charges make %.1f psi (primary) and %.1f psi (backup); usual are %.0f "
                       "to %.0f psi",
                       charge->pressure_pa / PSI_PA, charge->backup_pressure_pa / PSI_PA,
                       CHARGE_PRESSURE_LOW_PA / PSI_PA, CHARGE_PRESSURE_HIGH_PA / PSI_PA);
    if (charge->backup_force_n > CHARGE_FORCE_HIGH_N)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, key, NULL,
                       "the backup pushes with %.0f lbf; usual is at most %.0f lbf: is the bay's "
                       "diameter right?",
                       charge->backup_force_n / POUND_FORCE_N, CHARGE_FORCE_HIGH_N / POUND_FORCE_N);
    if (charge->force_n < CHARGE_MARGIN_LOW * charge->needed_n)
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, key, NULL,
                       "the primary makes %.0f lbf and the shear pins with friction need %.0f lbf; "
                       "usual is a margin of at least %.2f",
                       charge->force_n / POUND_FORCE_N, charge->needed_n / POUND_FORCE_N,
                       CHARGE_MARGIN_LOW);
}

static void warn_loads(pappus_log *log, const char *file, const pappus_card_canopy *canopy,
                       double limit_g)
{
    for (size_t i = 0; i < canopy->load_count; i++)
        if (canopy->loads[i].verdict == PAPPUS_BROKEN)
            pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, canopy->name, NULL,
                           "opening load %s is %.0f g; limits.opening_load is %.0f g",
                           canopy->loads[i].name, canopy->loads[i].peak_g, limit_g);
}

static void warn(pappus_card *card, const char *file)
{
    pappus_log *log = &card->findings;
    warn_charge(log, file, &card->drogue_charge);
    warn_charge(log, file, &card->main_charge);
    warn_loads(log, file, &card->drogue, card->load_limit_g);
    warn_loads(log, file, &card->main, card->load_limit_g);
    for (size_t i = 0; i < card->section_count; i++)
        if (card->sections[i].verdict == PAPPUS_BROKEN)
            pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, file, "rocket.sections",
                           card->sections[i].name,
                           "it lands with %.0f ft lbf; limits.landing_energy is %.0f ft lbf",
                           card->sections[i].energy_j / (POUND_FORCE_N * FOOT_M),
                           card->energy_limit_j / (POUND_FORCE_N * FOOT_M));
}

/* ------------------------------------------------------------------- card */

static int fill_head(pappus_card *card, bench *b)
{
    const pappus_plan *plan = b->plan;
    card->title = strdup(plan->title ? plan->title : "");
    card->mass_kg = plan->rocket.mass_kg.mean;
    card->apogee_m = plan->apogee.height_m.mean;
    card->elevation_msl_m = plan->site.elevation_msl_m;
    card->temperature_k = b->air->temperature_k[0];
    card->density_kgpm3 = b->air->density_kgpm3[0];
    card->energy_limit_j = plan->limits.landing_energy_j;
    card->load_limit_g = plan->limits.opening_load;
    card->speed_limit_mps = plan->limits.landing_speed_mps;
    return card->title ? PAPPUS_OK : pappus_fail_memory(&b->error);
}

static int fill_card(pappus_card *card, bench *b)
{
    const pappus_plan *plan = b->plan;
    int status = bench_begin(b, plan);
    if (status == PAPPUS_OK) status = fill_head(card, b);
    if (status == PAPPUS_OK) status = fill_canopy(&card->drogue, "drogue", &plan->drogue, b);
    if (status == PAPPUS_OK) status = fill_canopy(&card->main, "main", &plan->main, b);
    if (status == PAPPUS_OK) status = fly_nominal(card, b);
    if (status == PAPPUS_OK) status = drogue_loads(&card->drogue, b);
    if (status == PAPPUS_OK) status = main_loads(&card->main, b);
    if (status == PAPPUS_OK) status = fill_sections(card, plan, &b->error);
    if (status == PAPPUS_OK) status = fill_altimeters(card, b);
    if (status == PAPPUS_OK)
        status = pappus_charge_size(&card->drogue_charge, "drogue", &plan->drogue_charge, &b->error);
    if (status == PAPPUS_OK)
        status = pappus_charge_size(&card->main_charge, "main", &plan->main_charge, &b->error);
    if (status == PAPPUS_OK) warn(card, plan->path);
    return status;
}

int pappus_card_build(pappus_card **out, const pappus_plan *plan, pappus_log *log)
{
    bench b = {.plan = plan};
    *out = NULL;
    pappus_card *card = calloc(1, sizeof *card);
    int status = card ? fill_card(card, &b) : pappus_fail_memory(&b.error);
    bench_end(&b);
    if (status != PAPPUS_OK) {
        if (b.error.file[0] == '\0') pappus_text_cut(b.error.file, sizeof b.error.file, plan->path);
        pappus_log_error(log, &b.error);
        pappus_card_free(card);
        return status;
    }
    *out = card;
    return PAPPUS_OK;
}

void pappus_card_free(pappus_card *card)
{
    if (!card) return;
    for (size_t i = 0; i < card->section_count; i++) free(card->sections[i].name);
    for (size_t i = 0; i < card->altimeter_count; i++) free(card->altimeters[i].name);
    free(card->sections);
    free(card->altimeters);
    free(card->altimeter_true_m);
    free(card->title);
    pappus_log_clear(&card->findings);
    free(card);
}
