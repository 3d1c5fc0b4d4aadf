/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card. Source letters: P common practice of the trade, no source; M value from
 * memory of a handbook (Knacke, NWC TP 6575, 1991); C a published rule; X computed from
 * the formula beside it; A our own assumption. */
#include "charge.h"
#include "atmosphere.h"
#include "findings.h"

#include "descent/real_air.h"
#include "suite.h"
#include "uncertain.h"

#include <pappus/pappus.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* C: international yard and pound agreement (1959), 3rd CGPM (1901) */
#define FOOT_M 0.3048
#define POUND_KG 0.45359237
#define POUND_FORCE_N (POUND_KG * 9.80665)

#define INCH_M 0.0254
#define G_MPS2 9.80665
#define R_AIR 287.053 /* J/(kg K), 1976 standard atmosphere */

static flight_setup setup;
static pappus_plan *plan;
static pappus_card *card;

/* No wind, no field: what stands in the plan is all that a card needs. */
static void set_up(void)
{
    flight_setup_set(&setup);
    plan = &setup.plan;
    plan->has_wind = false;
    plan->wind = (pappus_wind_plan){.error_mps = NAN, .growth_mps = NAN, .gust_mps = NAN};
    plan->limits = (pappus_limits){NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    plan->path = (char *)"plan.json";
    card = NULL;
}

static void tear_down(void)
{
    pappus_card_free(card);
}

static void build(void)
{
    pappus_log log = {0};
    char line[1024] = "";
    pappus_card_free(card);
    int status = pappus_card_build(&card, plan, &log);
    if (log.count > 0) pappus_error_line(line, sizeof line, &log.entries[0].error);
    ck_assert_msg(status == PAPPUS_OK, "%s", line);
    ck_assert_uint_eq(log.count, 0);
}

/* Station pressure and temperature that give this density at the pad. */
static void set_density(double kgpm3)
{
    plan->site.pressure_pa = 101325.0;
    plan->site.temperature_k = 101325.0 / (R_AIR * kgpm3);
}

static bool found(const char *key, const char *words)
{
    for (size_t i = 0; i < card->findings.count; i++) {
        const pappus_error *error = &card->findings.entries[i].error;
        if (strcmp(error->key, key) == 0 && strstr(error->message, words)) return true;
    }
    return false;
}

static void set_canopy(pappus_canopy_plan *canopy, double diameter_m, double coefficient)
{
    canopy->drag_area_m2 = (pappus_uncertain){0};
    canopy->diameter_m = diameter_m;
    canopy->drag_coefficient = pappus_exact(coefficient);
}

/* ---------------------------------------------------------------- canopies */

/* X: cross canopy, Cd 0.85, 20 ft2, 4.5 lb in standard air at the sea: 14.92 ft/s. */
START_TEST(cross_canopy_alone)
{
    plan->rocket.mass_kg = pappus_exact(4.5 * POUND_KG);
    plan->main.type = PAPPUS_CROSS;
    plan->main.drag_area_m2 = (pappus_uncertain){0};
    plan->main.area_m2 = 20.0 * FOOT_M * FOOT_M;
    plan->main.drag_coefficient = pappus_exact(0.85);
    build();
    ck_assert_double_eq_tol(card->density_kgpm3, 1.225, 0.0005);
    ck_assert_double_eq_tol(card->main.alone_mps / FOOT_M, 14.92, 0.005);
}
END_TEST

/* P: 10 lb at 85 ft/s, Cd 1.5, air of 0.075 lb/ft3: 0.79 ft2, 12 inch. */
START_TEST(drogue_for_a_wanted_rate)
{
    set_density(0.075 * POUND_KG / (FOOT_M * FOOT_M * FOOT_M));
    plan->rocket.mass_kg = pappus_exact(10.0 * POUND_KG);
    set_canopy(&plan->drogue, 20.0 * INCH_M, 1.5);
    plan->drogue.area_basis = PAPPUS_PROJECTED_AREA;
    plan->drogue.wanted_rate_mps = 85.0 * FOOT_M;
    build();
    ck_assert(card->drogue.wanted_given);
    ck_assert_double_eq_tol(card->drogue.wanted_drag_area_m2 / 1.5 / (FOOT_M * FOOT_M), 0.79,
                            0.005);
    ck_assert_double_eq_tol(card->drogue.wanted_diameter_m / INCH_M, 12.0, 0.05);
}
END_TEST

/* The canopy made as large as the card says comes down at the wanted rate. */
START_TEST(rate_to_diameter_to_rate)
{
    set_canopy(&plan->main, 2.4, 0.78);
    plan->main.spill_hole_m = 0.2;
    plan->main.wanted_rate_mps = 5.5;
    build();
    ck_assert(!card->drogue.wanted_given);
    double larger = card->main.wanted_diameter_m / 2.4;
    plan->main.diameter_m *= larger;
    plan->main.spill_hole_m *= larger;
    build();
    ck_assert_double_eq_tol(card->main.alone_mps, 5.5, 1e-9);
    ck_assert_double_eq_tol(card->main.wanted_diameter_m, plan->main.diameter_m, 1e-9);
}
END_TEST

/* The same with the drogue still out, flown: air and speed settle to 0.5 %. */
START_TEST(rate_to_diameter_to_rate_as_flown)
{
    double drogue_m2 = 0.8 * 0.25 * M_PI * 0.6 * 0.6;
    set_canopy(&plan->main, 2.4, 0.78);
    set_canopy(&plan->drogue, 0.6, 0.8);
    plan->rocket.tumble_drag_area_m2 = pappus_exact(0.12);
    plan->rocket.hanging_share = pappus_exact(0.5);
    plan->main.wanted_rate_mps = 5.5;
    build();
    ck_assert_double_eq_tol(card->main.beside_drag_area_m2, drogue_m2 + 0.06, 1e-12);
    ck_assert_double_eq_tol(card->drogue.beside_drag_area_m2, 0.06, 1e-12);
    ck_assert_double_lt(card->main.wanted_flown_diameter_m, card->main.wanted_diameter_m);
    plan->main.diameter_m = card->main.wanted_flown_diameter_m;
    build();
    ck_assert_double_eq_tol(card->main.flown_mps, 5.5, 0.005 * 5.5);
}
END_TEST

/* X: twice the length, twice the area. */
START_TEST(streamer_is_sized_by_its_length)
{
    plan->drogue.type = PAPPUS_STREAMER;
    plan->drogue.drag_area_m2 = (pappus_uncertain){0};
    plan->drogue.drag_coefficient = pappus_exact(0.2);
    plan->drogue.length_m = 3.0;
    plan->drogue.width_m = 0.2;
    build();
    plan->drogue.wanted_rate_mps = card->drogue.alone_mps / sqrt(2.0);
    build();
    ck_assert_double_eq_tol(card->drogue.wanted_length_m, 6.0, 1e-9);
    ck_assert(isnan(card->drogue.wanted_diameter_m));
}
END_TEST

/* Every row of the table is a canopy: built into the plan it does what the row says. */
START_TEST(rows_are_canopies)
{
    set_canopy(&plan->main, 2.4, 0.78);
    plan->main.wanted_rate_mps = 6.0;
    build();
    pappus_diameter_row row = card->main.rows[_i];
    plan->main.type = row.type;
    plan->main.area_basis = row.basis;
    plan->main.drag_coefficient = pappus_exact(row.drag_coefficient);
    build();
    ck_assert_double_eq_tol(card->main.alone_mps, row.rate_mps, 1e-9);
    plan->main.diameter_m = row.diameter_m;
    build();
    ck_assert_double_eq_tol(card->main.alone_mps, 6.0, 1e-9);
}
END_TEST

/* M: flat circular, Cd 0.75 to 0.80 on the cloth, mouth 0.67 to 0.70 of the nominal
 * diameter; P: about 1.6 on the mouth. */
START_TEST(flat_circular_rows)
{
    build();
    const pappus_diameter_row *rows = card->main.rows;
    ck_assert_int_eq(rows[0].type, PAPPUS_FLAT_CIRCULAR);
    ck_assert_double_eq_tol(rows[0].drag_coefficient, 0.775, 1e-12);
    ck_assert_double_eq_tol(rows[2].drag_coefficient, 1.6, 0.1);
    ck_assert_double_eq_tol(rows[2].diameter_m / rows[0].diameter_m, 0.685, 1e-12);
}
END_TEST

/* X: 5th and 95th percentile of a normal drag area lie 1.644854 sd off. */
START_TEST(band_of_the_uncertain_drag)
{
    plan->main.drag_area_m2 = pappus_normal(3.6, 0.36);
    build();
    double weight_n = 8.0 * G_MPS2, rho = card->density_kgpm3;
    ck_assert_double_eq_tol(card->main.alone_high_mps,
                            sqrt(2.0 * weight_n / (rho * (3.6 - 1.644854 * 0.36))), 1e-4);
    ck_assert_double_eq_tol(card->main.alone_low_mps,
                            sqrt(2.0 * weight_n / (rho * (3.6 + 1.644854 * 0.36))), 1e-4);
    ck_assert_double_gt(card->touchdown_high_mps, card->touchdown_mps);
}
END_TEST

/* X: at the ground all is settled, v = sqrt(2 W / (rho (body + drogue + main))); the air
 * thickens on the way, which leaves it 0.1 % fast. The body hangs with a share of its
 * tumbling drag, or within the drag area of a canopy that was measured with it. */
START_TEST(as_flown_with_all_that_is_open)
{
    bool measured = _i == 1;
    double hanging_m2 = measured ? 0.0 : 0.25 * 0.4, drogue_m2 = 0.8 * 0.25 * M_PI * 0.6 * 0.6;
    plan->rocket.tumble_drag_area_m2 = pappus_exact(0.4);
    plan->rocket.hanging_share = pappus_uniform(0.0, 0.5);
    set_canopy(&plan->drogue, 0.6, 0.8);
    if (measured) plan->drogue.drag_area_m2 = pappus_exact(drogue_m2);
    if (!measured) set_canopy(&plan->main, 2.4, 3.6 / (0.25 * M_PI * 2.4 * 2.4));
    build();
    double rate = sqrt(2.0 * 8.0 * G_MPS2 / (card->density_kgpm3 * (hanging_m2 + drogue_m2 + 3.6)));
    ck_assert_double_eq_tol(card->main.flown_mps, rate, 0.002 * rate);
    ck_assert_double_eq(card->main.flown_mps, card->touchdown_mps);
    ck_assert_double_eq_tol(card->drogue.flown_height_m, 200.0, 5.0);
    ck_assert_double_eq_tol(card->drogue_time_s + card->main_time_s, card->total_time_s, 1e-9);
}
END_TEST

/* ------------------------------------------------------------------- loads */

/* X: no drag before the drogue is fired: airspeed g t; M: a canopy that opens at once
 * takes F = C_x q CdS, C_x 1.7 of a flat circular one. */
START_TEST(late_drogue)
{
    plan->rocket.ballistic_drag_area_m2 = pappus_exact(0.0);
    plan->drogue.opening_time_s = pappus_exact(1e-4);
    build();
    ck_assert_uint_eq(card->drogue.load_count, 4);
    for (size_t late = 0; late < 4; late++) {
        const pappus_load_case *load = &card->drogue.loads[late];
        double speed = G_MPS2 * ((double)late + 0.1);
        ck_assert_double_eq_tol(load->airspeed_mps, speed, 1e-5);
        if (late < 3) continue;
        double rho = pappus_standard_density_kgpm3(1500.0 - 0.5 * speed * speed / G_MPS2);
        double force = 1.7 * 0.5 * rho * speed * speed * 0.25;
        ck_assert_double_eq_tol(load->peak_n, force, 0.005 * force);
        ck_assert_double_eq_tol(load->peak_g, force / (8.0 * G_MPS2), 0.005 * load->peak_g);
    }
}
END_TEST

/* Same plan, same number: in still air the card's loads are those of the briefed flight, the
 * speed left at apogee among them. M: a canopy that opens at once takes C_x q CdS. */
START_TEST(loads_of_a_fast_apogee_are_those_of_the_brief)
{
    pappus_path *path = NULL;
    plan->apogee.speed_mps = pappus_normal(90.0, 5.0);
    plan->apogee.heading.kind = PAPPUS_UPWIND;
    build();
    double load_n = card->drogue.loads[0].peak_n;
    plan->apogee.heading = (pappus_heading){PAPPUS_BEARING, 77.0};
    pappus_air *still = NULL;
    static const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    ck_assert_int_eq(pappus_air_build(&still, plan, NULL, &as_read, NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_reference_path(&path, plan, still, PAPPUS_NOMINAL, NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(load_n, path->drogue_load_n, 1e-6 * load_n);
    ck_assert_double_eq_tol(card->main.loads[0].peak_n, path->main_load_n, 1e-3 * load_n);
    pappus_path_free(path);
    pappus_air_free(still);
    plan->drogue.opening_time_s = pappus_exact(0.0);
    build();
    double rho = pappus_standard_density_kgpm3(1500.0), v = card->drogue.loads[0].airspeed_mps;
    ck_assert_double_eq_tol(v, 90.0, 2.0);
    ck_assert_double_eq_tol(card->drogue.loads[0].peak_n, 1.7 * 0.5 * rho * v * v * 0.25,
                            0.005 * card->drogue.loads[0].peak_n);
}
END_TEST

/* X: the body alone settles at sqrt(2 W / (rho CdA)); A: without a drag area in the
 * plan at 35 m/s in standard air at the sea. */
START_TEST(main_with_no_drogue)
{
    static const double areas_m2[] = {0.2, NAN};
    for (size_t i = 0; i < 2; i++) {
        bool given = !isnan(areas_m2[i]);
        if (given) plan->rocket.tumble_drag_area_m2 = pappus_exact(areas_m2[i]);
        if (!given) plan->rocket.tumble_drag_area_m2 = (pappus_uncertain){0};
        build();
        const pappus_load_case *load = &card->main.loads[1];
        double rho = pappus_standard_density_kgpm3(200.0);
        double speed =
            given ? sqrt(2.0 * 8.0 * G_MPS2 / (rho * areas_m2[i])) : 35.0 * sqrt(1.225 / rho);
        ck_assert_str_eq(load->name, "no drogue");
        ck_assert_double_eq_tol(load->airspeed_mps, speed, 0.01 * speed);
        ck_assert_double_gt(load->peak_n, card->main.loads[0].peak_n);
        ck_assert(card->tumble_assumed == !given);
    }
}
END_TEST

START_TEST(loads_against_their_limit)
{
    plan->limits.opening_load = 1e6;
    build();
    ck_assert_int_eq(card->main.loads[1].verdict, PAPPUS_MET);
    ck_assert(!found("main", "opening"));
    plan->limits.opening_load = 0.5 * card->main.loads[1].peak_g;
    build();
    ck_assert_int_eq(card->main.loads[1].verdict, PAPPUS_BROKEN);
    ck_assert(found("main", "opening no drogue"));
}
END_TEST

/* Chances of faults are no matter of the bench: each case is told as if it happened. */
START_TEST(chances_do_not_change_the_card)
{
    static const pappus_faults faults[] = {{0, 0, 0, 0}, {1, 1, 1, 1}, {0.01, 0.01, 0.005, 0.003}};
    build();
    double load_n = card->main.loads[1].peak_n, touchdown = card->touchdown_mps;
    for (int i = 0; i < 6; i++) {
        plan->faults = faults[i % 3];
        setup.altimeters[0].works = setup.altimeters[1].works = i < 3 ? 0.0 : 1.0;
        build();
        ck_assert_double_eq_tol(card->main.loads[1].peak_n, load_n, 1e-9 * load_n);
        ck_assert_double_eq_tol(card->touchdown_mps, touchdown, 1e-12);
    }
}
END_TEST

/* --------------------------------------------------- touchdown, altimeters */

/* X: E = m v^2 / 2. */
START_TEST(energy_of_sections)
{
    pappus_section sections[] = {{(char *)"nose", 2.0}, {(char *)"booster", 6.0}};
    plan->rocket.section_count = 2;
    plan->rocket.sections = sections;
    plan->limits.landing_energy_j = 75.0;
    build();
    double v2 = card->touchdown_mps * card->touchdown_mps;
    ck_assert_uint_eq(card->section_count, 2);
    ck_assert_double_eq_tol(card->sections[0].energy_j, 0.5 * 2.0 * v2, 1e-9);
    ck_assert_double_eq_tol(0.5 * card->sections[1].largest_mass_kg * v2, 75.0, 1e-9);
    ck_assert_int_eq(card->sections[0].verdict, PAPPUS_MET);
    ck_assert_int_eq(card->sections[1].verdict, 0.5 * 6.0 * v2 > 75.0 ? PAPPUS_BROKEN : PAPPUS_MET);
    ck_assert_int_eq(found("rocket.sections", "booster"), 0.5 * 6.0 * v2 > 75.0);
}
END_TEST

/* X: true height = indicated x T_mean / T_mean,standard: 2000 ft in air of -40 degC are
 * 2000 x 231.5 / 286.2 = 1618 ft, the means taken half-way up. */
START_TEST(altimeters_in_cold_air)
{
    setup.altimeters[0].main_height_m = 2000.0 * FOOT_M;
    build();
    ck_assert_double_eq_tol(card->altimeter_true_m[0], 2000.0 * FOOT_M, 0.5);
    plan->site.temperature_k = 273.15 - 40.0;
    build();
    ck_assert_double_eq_tol(card->altimeter_true_m[0] / FOOT_M, 1618.0, 4.0);
    setup.altimeters[1].main_height_m = NAN;
    build();
    ck_assert(isnan(card->altimeter_true_m[1]));
}
END_TEST

/* ---------------------------------------------------------- other rockets */

START_TEST(main_alone_at_apogee)
{
    plan->drogue.present = false;
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = NAN;
    build();
    ck_assert(!card->drogue.present);
    ck_assert_uint_eq(card->main.load_count, 4);
    ck_assert_double_lt(card->main.loads[0].peak_n, card->main.loads[3].peak_n);
    ck_assert_double_eq(card->main_time_s, card->total_time_s);
    ck_assert_double_eq(card->main.flown_mps, card->touchdown_mps);
}
END_TEST

/* The only canopy is the one it lands under: the band of a main, P 17 to 22 ft/s. */
START_TEST(drogue_alone)
{
    plan->main.present = false;
    build();
    ck_assert_double_eq_tol(card->drogue.usual_high_mps, 22.0 * FOOT_M, 1e-12);
    ck_assert_double_eq(card->drogue.flown_mps, card->touchdown_mps);
    ck_assert(isnan(card->main_full_open_m));
    ck_assert(found("drogue", "usual is 17 to 22 ft/s"));
}
END_TEST

START_TEST(main_alone_at_its_height)
{
    plan->drogue.present = false;
    build();
    ck_assert_uint_eq(card->main.load_count, 1);
    ck_assert_double_eq_tol(card->main.loads[0].fire_height_m, 200.0, 5.0);
}
END_TEST

START_TEST(main_too_low_to_open)
{
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = 3.0;
    build();
    ck_assert_double_eq(card->main_full_open_m, 0.0);
    ck_assert(found("main", "not fully open"));
}
END_TEST

/* Main set above the apogee: it opens with the drogue, which has no rate of its own. */
START_TEST(main_at_the_apogee_event)
{
    setup.altimeters[0].main_height_m = setup.altimeters[1].main_height_m = 3000.0;
    build();
    ck_assert(isnan(card->drogue.flown_mps));
    ck_assert_double_gt(card->main_full_open_m, 1300.0);
    ck_assert(!found("drogue", "comes down"));
}
END_TEST

START_TEST(plan_that_cannot_fly)
{
    pappus_log log = {0};
    plan->drogue.present = plan->main.present = false;
    ck_assert_int_eq(pappus_card_build(&card, plan, &log), PAPPUS_E_FLIGHT);
    ck_assert_ptr_null(card);
    ck_assert_uint_eq(pappus_log_faults(&log), 1);
    ck_assert_str_eq(log.entries[0].error.file, "plan.json");
    pappus_log_clear(&log);
}
END_TEST

/* -------------------------------------------------------------- findings */

static const struct {
    double diameter_inch, length_inch, force_lbf;
    int pins;
    double pin_lbf, backup_factor;
    const char *words; /* of the finding; NULL: none */
} charges[] = {
    {4.0, 12.0, NAN, 3, 35.0, 1.25, NULL},
    {4.0, 12.0, 200.0, 0, NAN, 1.25, NULL},
    {4.0, 144.0, NAN, 3, 35.0, 1.25, "bay length of 144.0 inch"}, /* feet for inches */
    {0.3, 12.0, 1.0, 0, NAN, 1.25, "bay diameter of 0.3 inch"},
    {4.0, 12.0, 60.0, 2, 35.0, 1.25, "does NOT shear"},
    {4.0, 12.0, 90.0, 2, 35.0, 1.25, "1.29 times"},
    {4.0, 12.0, NAN, 8, 35.0, 1.25, "8 shear pins"},
    {4.0, 12.0, NAN, 2, 157.0, 1.25, "shear pin of 157 lbf"}, /* newtons for pounds-force */
    {4.0, 12.0, 30.0, 0, NAN, 1.25, "primary makes 2.4 psi"},
    {2.0, 12.0, 100.0, 0, NAN, 1.25, "backup makes 39.8 psi"},
    {8.0, 12.0, 450.0, 0, NAN, 1.25, "backup pushes with 562 lbf"},
};

START_TEST(charges_out_of_the_usual)
{
    plan->drogue_charge =
        (pappus_charge_plan){.present = true,
                             .bay_diameter_m = charges[_i].diameter_inch * INCH_M,
                             .bay_length_m = charges[_i].length_inch * INCH_M,
                             .force_n = charges[_i].force_lbf * POUND_FORCE_N,
                             .pressure_pa = NAN,
                             .shear_pin_count = charges[_i].pins,
                             .shear_pin_strength_n = charges[_i].pin_lbf * POUND_FORCE_N,
                             .margin = 1.5,
                             .backup_factor = charges[_i].backup_factor};
    build();
    for (size_t i = 0; i < card->findings.count; i++)
        if (!charges[_i].words)
            ck_assert_str_ne(card->findings.entries[i].error.key, "charges.drogue");
    if (charges[_i].words) ck_assert(found("charges.drogue", charges[_i].words));
}
END_TEST

START_TEST(rates_out_of_the_usual)
{
    plan->main.drag_area_m2 = pappus_exact(1.0);
    plan->drogue.wanted_rate_mps = 85.0; /* m/s for ft/s */
    build();
    ck_assert(found("main", "usual is 17 to 22 ft/s"));
    ck_assert(found("drogue", "wanted rate is 278.9 ft/s"));
    plan->limits.landing_speed_mps = 5.0;
    build();
    ck_assert(found("limits.landing_speed", "the limit is 16.4 ft/s"));
}
END_TEST

SUITE("card")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, cross_canopy_alone);
    tcase_add_test(tests, drogue_for_a_wanted_rate);
    tcase_add_test(tests, rate_to_diameter_to_rate);
    tcase_add_test(tests, rate_to_diameter_to_rate_as_flown);
    tcase_add_test(tests, streamer_is_sized_by_its_length);
    tcase_add_loop_test(tests, rows_are_canopies, 0, PAPPUS_DIAMETER_ROWS);
    tcase_add_test(tests, flat_circular_rows);
    tcase_add_test(tests, band_of_the_uncertain_drag);
    tcase_add_loop_test(tests, as_flown_with_all_that_is_open, 0, 2);
    tcase_add_test(tests, loads_of_a_fast_apogee_are_those_of_the_brief);
    tcase_add_test(tests, late_drogue);
    tcase_add_test(tests, main_with_no_drogue);
    tcase_add_test(tests, loads_against_their_limit);
    tcase_add_test(tests, chances_do_not_change_the_card);
    tcase_add_test(tests, energy_of_sections);
    tcase_add_test(tests, altimeters_in_cold_air);
    tcase_add_test(tests, main_alone_at_apogee);
    tcase_add_test(tests, drogue_alone);
    tcase_add_test(tests, main_alone_at_its_height);
    tcase_add_test(tests, main_too_low_to_open);
    tcase_add_test(tests, main_at_the_apogee_event);
    tcase_add_test(tests, plan_that_cannot_fly);
    tcase_add_loop_test(tests, charges_out_of_the_usual, 0, sizeof charges / sizeof *charges);
    tcase_add_test(tests, rates_out_of_the_usual);
}
