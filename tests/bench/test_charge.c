/* SPDX-License-Identifier: GPL-3.0-or-later
 * Ejection charges. Source letters: P common practice of the trade, no source; X computed
 * from the formula beside it; C exact by definition (international foot and pound).
 * Nothing here is an approved charge: the sums are what is checked, not the powder. */
#include "charge.h"
#include "suite.h"

#include <pappus/pappus.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* C: international yard and pound agreement (1959), 3rd CGPM (1901) */
#define POUND_KG 0.45359237
#define POUND_FORCE_N (POUND_KG * 9.80665)
#define PSI_PA (POUND_FORCE_N / (0.0254 * 0.0254))

#define INCH_M 0.0254
#define LBF_N 4.4482216152605

static pappus_charge_plan bay(double diameter_inch, double length_inch)
{
    return (pappus_charge_plan){.present = true,
                                .bay_diameter_m = diameter_inch * INCH_M,
                                .bay_length_m = length_inch * INCH_M,
                                .force_n = NAN,
                                .pressure_pa = NAN,
                                .shear_pin_strength_n = NAN,
                                .margin = 1.5,
                                .backup_factor = 1.25};
}

static pappus_charge sized(pappus_charge_plan plan)
{
    pappus_charge charge;
    pappus_error error = {0};
    int status = pappus_charge_size(&charge, "main", &plan, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return charge;
}

static pappus_charge by_force(double diameter_inch, double length_inch, double force_lbf)
{
    pappus_charge_plan plan = bay(diameter_inch, length_inch);
    plan.force_n = force_lbf * LBF_N;
    return sized(plan);
}

/* P: 4 inch bay, 36 inch long, 200 lbf: 12.56 in2, 0.0082 lb, 3.72 g. That sum was made
 * by hand with pi 3.14, the pounds rounded and 454 g to the pound, so: the area within
 * what pi 3.14 loses, the pounds to their last digit, the grams within the rounding of
 * the pounds (0.00005 lb, 0.023 g). */
START_TEST(four_inch_bay_of_common_practice)
{
    pappus_charge c = by_force(4.0, 36.0, 200.0);
    double pounds = c.mass_kg / POUND_KG;
    ck_assert_double_eq_tol(c.area_m2 / (INCH_M * INCH_M), 12.56, 4.0 * (M_PI - 3.14) + 1e-9);
    ck_assert_double_eq_tol(pounds, 0.0082, 0.00005);
    ck_assert_double_eq_tol(c.mass_kg * 1000.0, 3.72, 0.023);
    ck_assert_double_eq_tol(round(pounds * 1e4) / 1e4 * 454.0, 3.72, 0.005);
}
END_TEST

/* X: grams = 0.000516 F[lbf] L[inch], the constant to its three digits: 1/(22.16 * 3307
 * * 12) lb = 0.000516 g to within 0.1 %. */
START_TEST(grams_by_force_and_length)
{
    static const double cases[][3] = {{4.0, 36.0, 200.0}, {6.0, 10.0, 300.0}, {2.5, 8.0, 75.0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pappus_charge c = by_force(cases[i][0], cases[i][1], cases[i][2]);
        double grams = 0.000516 * cases[i][2] * cases[i][1];
        ck_assert_double_eq_tol(c.mass_kg * 1000.0, grams, 0.001 * grams);
    }
}
END_TEST

/* P: the 15 psi rule, X: grams = 0.00608 D^2 L [inch]; 4 x 10 inch: 0.97 g. */
START_TEST(fifteen_psi_rule)
{
    static const double bays[][2] = {{4.0, 10.0}, {3.0, 16.0}, {7.5, 24.0}};
    for (size_t i = 0; i < sizeof bays / sizeof *bays; i++) {
        pappus_charge_plan plan = bay(bays[i][0], bays[i][1]);
        plan.pressure_pa = 15.0 * PSI_PA;
        pappus_charge c = sized(plan);
        double grams = 0.00608 * bays[i][0] * bays[i][0] * bays[i][1];
        ck_assert_double_eq_tol(c.mass_kg * 1000.0, grams, 0.001 * grams);
        ck_assert_str_eq(c.from, "pressure");
    }
    pappus_charge_plan plan = bay(4.0, 10.0);
    plan.pressure_pa = 15.0 * PSI_PA;
    ck_assert_double_eq_tol(sized(plan).mass_kg * 1000.0, 0.97, 0.005);
}
END_TEST

/* C: 1 psi = 6894.757293168 Pa, 1 lbf = 4.4482216152605 N. */
START_TEST(units_are_the_exact_ones)
{
    ck_assert_double_eq_tol(PSI_PA, 6894.757293168, 1e-8);
    ck_assert_double_eq_tol(POUND_FORCE_N, 4.4482216152605, 1e-13);
}
END_TEST

/* X: 3 pins of 40 lbf and 10 lbf of friction, margin 1.5: 130 lbf to shear, 195 lbf wanted;
 * and from the grams back to the force, p V = m R T, F = p A. */
START_TEST(pins_to_force_to_grams_to_force)
{
    pappus_charge_plan plan = bay(4.0, 12.0);
    plan.shear_pin_count = 3;
    plan.shear_pin_strength_n = 40.0 * LBF_N;
    plan.friction_n = 10.0 * LBF_N;
    pappus_charge c = sized(plan);
    ck_assert_str_eq(c.from, "shear pins");
    ck_assert_double_eq_tol(c.needed_n / LBF_N, 130.0, 1e-9);
    ck_assert_double_eq_tol(c.force_n / LBF_N, 195.0, 1e-9);
    double back_n = pappus_charge_pressure_pa(c.mass_kg, c.volume_m3) * c.area_m2;
    ck_assert_double_eq_tol(back_n, c.force_n, 1e-9 * c.force_n);
    ck_assert_double_eq_tol(pappus_charge_mass_kg(c.pressure_pa, c.volume_m3), c.mass_kg, 1e-15);
}
END_TEST

/* X: at the same bay, force and pressure go with the mass. */
START_TEST(backup_is_larger_by_its_factor)
{
    pappus_charge c = by_force(4.0, 12.0, 200.0);
    ck_assert_double_eq_tol(c.backup_mass_kg / c.mass_kg, 1.25, 1e-12);
    ck_assert_double_eq_tol(c.backup_force_n / LBF_N, 250.0, 1e-9);
    ck_assert_double_eq_tol(c.backup_pressure_pa / c.pressure_pa, 1.25, 1e-12);
}
END_TEST

/* A wanted force is the flyer's; the pins only say how much of it is needed. */
START_TEST(wanted_force_is_kept_beside_pins)
{
    pappus_charge_plan plan = bay(4.0, 12.0);
    plan.force_n = 90.0 * LBF_N;
    plan.shear_pin_count = 2;
    plan.shear_pin_strength_n = 35.0 * LBF_N;
    pappus_charge c = sized(plan);
    ck_assert_double_eq_tol(c.force_n / LBF_N, 90.0, 1e-9);
    ck_assert_double_eq_tol(c.needed_with_margin_n / LBF_N, 105.0, 1e-9);
}
END_TEST

START_TEST(charge_that_cannot_be_reckoned)
{
    pappus_charge charge;
    pappus_error error = {0};
    pappus_charge_plan plan = bay(4.0, 12.0);
    ck_assert_int_eq(pappus_charge_size(&charge, "main", &plan, &error), PAPPUS_E_PLAN);
    ck_assert_str_eq(error.key, "charges.main");
    ck_assert_ptr_nonnull(strstr(error.message, "shear_pins"));
    plan.force_n = 100.0;
    plan.bay_length_m = 0.0;
    ck_assert_int_eq(pappus_charge_size(&charge, "drogue", &plan, NULL), PAPPUS_E_PLAN);
    plan.present = false;
    ck_assert_int_eq(pappus_charge_size(&charge, "drogue", &plan, NULL), PAPPUS_OK);
    ck_assert(!charge.present);
}
END_TEST

SUITE("charge")
{
    tcase_add_test(tests, four_inch_bay_of_common_practice);
    tcase_add_test(tests, grams_by_force_and_length);
    tcase_add_test(tests, fifteen_psi_rule);
    tcase_add_test(tests, units_are_the_exact_ones);
    tcase_add_test(tests, pins_to_force_to_grams_to_force);
    tcase_add_test(tests, backup_is_larger_by_its_factor);
    tcase_add_test(tests, wanted_force_is_kept_beside_pins);
    tcase_add_test(tests, charge_that_cannot_be_reckoned);
}
