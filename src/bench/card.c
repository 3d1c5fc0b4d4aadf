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
#include "findings.h"
#include "reference.h"
#include "utf8.h"
#include "variant.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Chances that make every outcome possible; only the central falls are taken, which do
 * not depend on how likely they are. */
#define SOME_CHANCE 0.01

/* A canopy that has been out so long comes down at its steady rate (our assumption). */
#define SETTLED_S 5.0

/* Everything that the card's parts work on. */
typedef struct {
    const pappus_plan *plan;
    const pappus_winds *winds; /* whose air it is; NULL: the plan's own */
    pappus_variant sure; /* every altimeter works, and no wind; its altimeters are the bench's */
    pappus_air *air;     /* the variant's */
    pappus_draws *draws;
    double *still; /* no wind at the air's nodes */
    pappus_error error;
} bench;

static void bench_end(bench *b)
{
    free(b->still);
    free(b->sure.plan.altimeters);
    pappus_draws_free(b->draws);
    pappus_variant_end(&b->sure);
}

/* Names inside stay the plan's. */
static int make_sure(bench *b)
{
    size_t count = b->plan->altimeter_count;
    pappus_plan *sure = &b->sure.plan;
    pappus_variant_begin(&b->sure, &(pappus_givens){.plan = b->plan, .winds = b->winds});
    sure->altimeters = calloc(count + 1, sizeof *sure->altimeters);
    if (!sure->altimeters) return pappus_fail_memory(&b->error);
    for (size_t i = 0; i < count; i++) {
        sure->altimeters[i] = b->plan->altimeters[i];
        sure->altimeters[i].works = 1.0;
    }
    /* Still air has no upwind: any heading has the airspeed of the plan's own. */
    if (sure->apogee.heading.kind != PAPPUS_BEARING)
        sure->apogee.heading = (pappus_heading){PAPPUS_BEARING, 0.0};
    sure->faults = (pappus_faults){SOME_CHANCE, SOME_CHANCE, SOME_CHANCE, 0.0};
    return PAPPUS_OK;
}

static int bench_begin(bench *b)
{
    static const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    int status = make_sure(b);
    if (status == PAPPUS_OK) status = pappus_variant_air(&b->sure, &as_read, &b->error);
    if (status != PAPPUS_OK) return status;
    b->air = b->sure.air;
    status =
        pappus_draws_build(&b->draws, &b->sure.plan, b->air, (pappus_random){0}, 0.0, &b->error);
    if (status != PAPPUS_OK) return status;
    b->still = calloc(b->air->node_count, sizeof *b->still);
    return b->still ? PAPPUS_OK : pappus_fail_memory(&b->error);
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

static double share_of_nominal(const pappus_canopy_type_data *type, pappus_area_basis basis)
{
    return basis == PAPPUS_NOMINAL_AREA       ? 1.0
           : basis == PAPPUS_CONSTRUCTED_AREA ? pappus_range_middle(type->constructed)
                                              : pappus_range_middle(type->projected);
}

/* For every round type on each basis, at the middle of the type's range: the diameter
 * for the wanted rate, and the rate of the plan's diameter. */
static void diameter_rows(pappus_card_canopy *c)
{
    size_t i = 0;
    for (int t = 0; t < PAPPUS_CANOPY_TYPES; t++) {
        if (t == PAPPUS_STREAMER) continue;
        const pappus_canopy_type_data *type = pappus_canopy_type_of((pappus_canopy_type)t);
        for (int basis = PAPPUS_NOMINAL_AREA; basis <= PAPPUS_PROJECTED_AREA; basis++) {
            pappus_diameter_row *row = &c->rows[i++];
            double share = share_of_nominal(type, (pappus_area_basis)basis);
            row->type = (pappus_canopy_type)t;
            row->basis = (pappus_area_basis)basis;
            row->drag_coefficient = pappus_range_middle(type->drag) / (share * share);
            row->diameter_m = area_diameter_m(c->wanted_drag_area_m2 / row->drag_coefficient);
            row->rate_mps = c->wanted_mps * row->diameter_m / c->diameter_m;
        }
    }
}

/* This plan's own canopy made larger or smaller, spill hole in proportion, so that
 * its drag area goes with the square of its diameter: for the wanted drag area alone,
 * and less what else is open. A streamer changes its length. */
static void own_size(pappus_card_canopy *c, const pappus_canopy_plan *plan)
{
    double alone = c->wanted_drag_area_m2 / c->drag_area_m2;
    double flown = (c->wanted_drag_area_m2 - c->beside_drag_area_m2) / c->drag_area_m2;
    double diameter_m = plan->diameter_m > 0.0 ? plan->diameter_m : NAN;
    double length_m = plan->type == PAPPUS_STREAMER ? plan->length_m : NAN;
    if (!(flown > 0.0)) flown = NAN;
    c->wanted_diameter_m = diameter_m * sqrt(alone);
    c->wanted_flown_diameter_m = diameter_m * sqrt(flown);
    c->wanted_length_m = length_m * alone;
    c->wanted_flown_length_m = length_m * flown;
}

/* Under a drogue before a main it falls fast; the last canopy, whatever its name, is
 * the one that it lands under. */
static void usual_band(pappus_card_canopy *c, bool lands)
{
    c->usual_low_mps = lands ? USUAL_MAIN_LOW_MPS : USUAL_DROGUE_LOW_MPS;
    c->usual_high_mps = lands ? USUAL_MAIN_HIGH_MPS : USUAL_DROGUE_HIGH_MPS;
}

static void rates_alone(pappus_card_canopy *c, const pappus_canopy *canopy, double mass_kg,
                        double density)
{
    double high_m2 = pappus_canopy_drag_area_quantile_m2(canopy, 0.95);
    c->drag_area_m2 = pappus_canopy_mean_drag_area_m2(canopy);
    c->drag_area_low_m2 = pappus_canopy_drag_area_quantile_m2(canopy, 0.05);
    c->alone_mps = pappus_steady_rate_mps(mass_kg, c->drag_area_m2, density);
    c->alone_low_mps = pappus_steady_rate_mps(mass_kg, high_m2, density);
    c->alone_high_mps = pappus_steady_rate_mps(mass_kg, c->drag_area_low_m2, density);
}

static int fill_canopy(pappus_card_canopy *out, const char *name, const pappus_canopy_plan *plan,
                       double beside_m2, bench *b)
{
    pappus_canopy canopy;
    double density = b->air->density_kgpm3[0], mass_kg = b->plan->rocket.mass_kg.mean;
    if (!plan->present) return PAPPUS_OK;
    int status = pappus_canopy_resolve(&canopy, plan, name, &b->error);
    if (status != PAPPUS_OK) return status;
    out->present = true;
    out->name = name;
    out->type = plan->type;
    out->basis = plan->area_basis;
    out->diameter_m = plan->diameter_m > 0.0 ? plan->diameter_m : NAN;
    out->nominal_diameter_m = canopy.nominal_diameter_m;
    out->beside_drag_area_m2 = beside_m2;
    out->spill_hole_m = plan->spill_hole_m > 0.0 ? plan->spill_hole_m : 0.0;
    rates_alone(out, &canopy, mass_kg, density);
    usual_band(out, plan == &b->plan->main || !b->plan->main.present);
    out->wanted_given = plan->wanted_rate_mps > 0.0;
    out->wanted_mps = out->wanted_given ? plan->wanted_rate_mps
                                        : 0.5 * (out->usual_low_mps + out->usual_high_mps);
    out->wanted_drag_area_m2 = pappus_steady_drag_area_m2(mass_kg, out->wanted_mps, density);
    own_size(out, plan);
    diameter_rows(out);
    return PAPPUS_OK;
}

static int fill_canopies(pappus_card *card, bench *b)
{
    pappus_fall fall;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    double by_drogue_m2 = fall.body_after_m2 - fall.drogue_shields_m2;
    double by_main_m2 = by_drogue_m2 - fall.main_shields_m2 + fall.drogue_cds_m2;
    by_drogue_m2 += fall.held_cds_m2;
    int status = fill_canopy(&card->drogue, "drogue", &b->plan->drogue, by_drogue_m2, b);
    if (status != PAPPUS_OK) return status;
    return fill_canopy(&card->main, "main", &b->plan->main, by_main_m2, b);
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
static int apogee_loads(pappus_card_canopy *canopy, bool drogue, bench *b)
{
    static const char *const late[] = {"1 s late", "2 s late", "3 s late"};
    pappus_fall fall;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    int status = add_load(canopy, "as planned", drogue, &fall, b);
    for (size_t i = 0; i < 3 && status == PAPPUS_OK; i++) {
        fall.apogee_fire_s += 1.0;
        fall.main_fire_s += 1.0;
        status = add_load(canopy, late[i], drogue, &fall, b);
    }
    return status;
}

/* Out at its height as planned, and after a fall with no drogue, the body tumbling. */
static int height_loads(pappus_card_canopy *main_canopy, bench *b)
{
    pappus_fall fall;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    int status = add_load(main_canopy, "as planned", false, &fall, b);
    if (status != PAPPUS_OK || !b->plan->drogue.present) return status;
    pappus_draws_central(&fall, b->draws, PAPPUS_MAIN_ONLY);
    return add_load(main_canopy, "no drogue", false, &fall, b);
}

static int fill_loads(pappus_card *card, bench *b)
{
    pappus_fall fall;
    int status = PAPPUS_OK;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    if (card->drogue.present) status = apogee_loads(&card->drogue, true, b);
    if (!card->main.present || status != PAPPUS_OK) return status;
    card->tumble_assumed =
        !isfinite(fall.main_fire_s) &&
        (b->plan->rocket.tumble_assumed || !pappus_is_present(b->plan->rocket.tumble_drag_area_m2));
    return isfinite(fall.main_fire_s) ? apogee_loads(&card->main, false, b)
                                      : height_loads(&card->main, b);
}

/* ----------------------------------------------------------- card's parts */

/* The drogue's own rate is where the main fires, if it has had the time to settle. */
static void rates_flown(pappus_card *card, const pappus_touchdown *landed, const pappus_path *path)
{
    bool fired = isfinite(path->main_fire_s);
    bool staged = fired && card->drogue.present && card->main.present;
    card->touchdown_mps = -landed->vup_mps;
    card->total_time_s = landed->time_s;
    card->drogue_time_s = !card->drogue.present ? 0.0 : staged ? path->main_fire_s : landed->time_s;
    card->main_time_s = card->total_time_s - card->drogue_time_s;
    card->main_full_open_m = card->main.present ? landed->main_full_open_m : NAN;
    card->main.flown_mps = fired ? card->touchdown_mps : NAN;
    card->drogue.flown_mps = staged ? landed->main_fire_mps : card->touchdown_mps;
    card->drogue.flown_height_m = staged ? landed->main_fire_m : 0.0;
    if (staged && path->main_fire_s < path->drogue_fire_s + SETTLED_S) card->drogue.flown_mps = NAN;
}

static int fly_nominal(pappus_card *card, bench *b)
{
    pappus_path path = {.main_fire_s = NAN};
    pappus_touchdown landed;
    pappus_fall fall;
    pappus_draws_central(&fall, b->draws, PAPPUS_NOMINAL);
    int status = bring_down(&landed, &path, b, &fall);
    if (status == PAPPUS_OK) rates_flown(card, &landed, &path);
    pappus_path_clear(&path);
    if (status != PAPPUS_OK) return status;
    if (card->main.present)
        fall.main_cds_m2 = card->main.drag_area_low_m2;
    else
        fall.drogue_cds_m2 = card->drogue.drag_area_low_m2;
    status = bring_down(&landed, NULL, b, &fall);
    card->touchdown_high_mps = status == PAPPUS_OK ? -landed.vup_mps : NAN;
    return status;
}

static int add_section(pappus_card *card, const char *name, double mass_kg)
{
    pappus_card_section *section = &card->sections[card->section_count++];
    double v2 = card->touchdown_mps * card->touchdown_mps, limit = card->energy_limit_j;
    section->name = strdup(name);
    section->mass_kg = mass_kg;
    section->energy_j = 0.5 * mass_kg * v2;
    section->energy_high_j = 0.5 * mass_kg * card->touchdown_high_mps * card->touchdown_high_mps;
    section->largest_mass_kg = 2.0 * limit / v2;
    section->verdict = isnan(limit)                ? PAPPUS_UNDECIDED
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
        const char *name = b->plan->altimeters[i].name;
        card->altimeters[i] = b->plan->altimeters[i];
        card->altimeters[i].name = strdup(name ? name : "");
        card->altimeter_count = i + 1;
        if (!card->altimeters[i].name) return pappus_fail_memory(&b->error);
        double set = card->altimeters[i].main_height_m;
        card->altimeter_true_m[i] = isnan(set) ? NAN : pappus_air_true_height_m(b->air, set);
    }
    return PAPPUS_OK;
}

/* ------------------------------------------------------------------- card */

static int fill_head(pappus_card *card, bench *b)
{
    const pappus_plan *plan = b->plan;
    card->title = strdup(plan->title ? plan->title : "");
    card->plan_path = strdup(plan->path ? plan->path : "");
    card->latitude_deg = plan->site.latitude_deg;
    card->longitude_deg = plan->site.longitude_deg;
    card->flight_utc_s = plan->wind.time_utc_s;
    card->mass_kg = plan->rocket.mass_kg.mean;
    card->apogee_m = plan->apogee.height_m.mean;
    card->elevation_msl_m = plan->site.elevation_msl_m;
    card->temperature_k = b->air->temperature_k[0];
    card->density_kgpm3 = b->air->density_kgpm3[0];
    card->energy_limit_j = plan->limits.landing_energy_j;
    card->load_limit_g = plan->limits.opening_load;
    card->speed_limit_mps = plan->limits.landing_speed_mps;
    card->motor_delay_s = plan->motor_delay_s;
    return card->title && card->plan_path ? PAPPUS_OK : pappus_fail_memory(&b->error);
}

static int fill_charges(pappus_card *card, bench *b)
{
    const pappus_plan *plan = b->plan;
    int status =
        pappus_charge_size(&card->drogue_charge, "drogue", &plan->drogue_charge, &b->error);
    if (status != PAPPUS_OK) return status;
    return pappus_charge_size(&card->main_charge, "main", &plan->main_charge, &b->error);
}

static int fill_card(pappus_card *card, bench *b)
{
    const pappus_plan *plan = b->plan;
    int status = bench_begin(b);
    if (status == PAPPUS_OK) status = fill_head(card, b);
    if (status == PAPPUS_OK) status = fill_canopies(card, b);
    if (status == PAPPUS_OK) status = fly_nominal(card, b);
    if (status == PAPPUS_OK) status = fill_loads(card, b);
    if (status == PAPPUS_OK) status = fill_sections(card, plan, &b->error);
    if (status == PAPPUS_OK) status = fill_altimeters(card, b);
    if (status == PAPPUS_OK) status = fill_charges(card, b);
    if (status == PAPPUS_OK) pappus_card_find(card, plan->path);
    return status;
}

int pappus_card_build(pappus_card **out, const pappus_plan *plan, pappus_log *log)
{
    return pappus_card_build_in(out, plan, NULL, log);
}

int pappus_card_build_in(pappus_card **out, const pappus_plan *plan, const pappus_winds *winds,
                         pappus_log *log)
{
    bench b = {.plan = plan, .winds = winds};
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
    for (size_t i = 0; i < card->section_count; i++)
        free(card->sections[i].name);
    for (size_t i = 0; i < card->altimeter_count; i++)
        free(card->altimeters[i].name);
    free(card->sections);
    free(card->altimeters);
    free(card->altimeter_true_m);
    free(card->title);
    free(card->plan_path);
    pappus_log_clear(&card->findings);
    free(card);
}
