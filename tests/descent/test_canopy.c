/* SPDX-License-Identifier: GPL-3.0-or-later
 * Drag areas, nominal diameters and steady rates. Source letters: M value of the
 * handbook table from memory (Knacke, NWC TP 6575, 1991, tables 5-1 and 5-2),
 * P common practice of the trade, X computed from the formula beside it. */
#include "canopy.h"

#include "fall.h"
#include "suite.h"
#include "uncertain.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FOOT_M 0.3048
#define INCH_M 0.0254
#define POUND_KG 0.45359237

static pappus_canopy_plan empty(pappus_canopy_type type)
{
    return (pappus_canopy_plan){.present = true,
                                .type = type,
                                .diameter_m = NAN,
                                .area_m2 = NAN,
                                .rate_mass_kg = NAN,
                                .rate_height_msl_m = NAN,
                                .length_m = NAN,
                                .width_m = NAN};
}

static pappus_canopy resolved(pappus_canopy_plan plan)
{
    pappus_canopy canopy;
    pappus_error error = {0};
    int status = pappus_canopy_resolve(&canopy, &plan, "main", &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return canopy;
}

/* X: v = sqrt(2W / (rho CdS)), Cd 0.85, 20 ft2, 4.5 lb, 1.225 kg/m3: 14.92 ft/s. */
START_TEST(cross_canopy_comes_down_at_14_92_ft_per_s)
{
    pappus_canopy_plan plan = empty(PAPPUS_CROSS);
    plan.area_m2 = 20.0 * FOOT_M * FOOT_M;
    plan.drag_coefficient = pappus_exact(0.85);
    pappus_canopy canopy = resolved(plan);
    double cds = pappus_canopy_mean_drag_area_m2(&canopy);
    double rate = pappus_steady_rate_mps(4.5 * POUND_KG, cds, 1.225);
    ck_assert_double_eq_tol(rate / FOOT_M, 14.92, 0.005);
}
END_TEST

/* P: 10 lb at 85 ft/s, Cd 1.5, air 0.075 lb/ft3: 0.79 ft2, 12 inch. */
START_TEST(drogue_for_85_ft_per_s_is_12_inch)
{
    double density = 0.075 * POUND_KG / (FOOT_M * FOOT_M * FOOT_M);
    double cds = pappus_steady_drag_area_m2(10.0 * POUND_KG, 85.0 * FOOT_M, density);
    double area_ft2 = cds / 1.5 / (FOOT_M * FOOT_M);
    ck_assert_double_eq_tol(area_ft2, 0.79, 0.005);
    ck_assert_double_eq_tol(sqrt(4.0 * area_ft2 / M_PI) * 12.0, 12.0, 0.05);
    ck_assert_double_eq_tol(pappus_steady_rate_mps(10.0 * POUND_KG, cds, density), 85.0 * FOOT_M,
                            1e-9);
}
END_TEST

/* M: proportions of the types; nominal diameter = diameter / middle proportion,
 * air distance of the opening n D_o, C_x. */
static const struct {
    pappus_canopy_type type;
    pappus_area_basis basis;
    double proportion, fill_constant, cx;
} proportions[] = {
    {PAPPUS_FLAT_CIRCULAR, PAPPUS_NOMINAL_AREA, 1.0, 8.0, 1.7},
    {PAPPUS_FLAT_CIRCULAR, PAPPUS_PROJECTED_AREA, 0.685, 8.0, 1.7},
    {PAPPUS_EXTENDED_SKIRT, PAPPUS_CONSTRUCTED_AREA, 0.86, 10.0, 1.4},
    {PAPPUS_CROSS, PAPPUS_CONSTRUCTED_AREA, 1.17, 11.7, 1.15},
    {PAPPUS_CROSS, PAPPUS_PROJECTED_AREA, 0.69, 11.7, 1.15},
    {PAPPUS_TOROIDAL, PAPPUS_PROJECTED_AREA, 0.94, 8.0, 1.4},
    {PAPPUS_RINGSAIL, PAPPUS_CONSTRUCTED_AREA, 1.16, 7.0, 1.1},
};

START_TEST(nominal_diameter_by_the_types_proportions)
{
    pappus_canopy_plan plan = empty(proportions[_i].type);
    plan.diameter_m = 2.0;
    plan.area_basis = proportions[_i].basis;
    plan.drag_coefficient = pappus_normal(0.9, 0.1);
    pappus_canopy canopy = resolved(plan);
    double nominal = 2.0 / proportions[_i].proportion;
    ck_assert_double_eq_tol(canopy.nominal_diameter_m, nominal, 1e-9);
    ck_assert_double_eq_tol(canopy.fill_m, proportions[_i].fill_constant * nominal, 1e-9);
    ck_assert_double_eq_tol(canopy.cx, proportions[_i].cx, 1e-12);
    /* the coefficient belongs to the area of the plan's basis */
    ck_assert_double_eq_tol(pappus_canopy_mean_drag_area_m2(&canopy), 0.9 * M_PI, 1e-9);
    ck_assert(!canopy.assumed_coefficient);
}
END_TEST

START_TEST(spill_hole_takes_its_own_area_off)
{
    pappus_canopy_plan plan = empty(PAPPUS_FLAT_CIRCULAR);
    plan.diameter_m = 96.0 * INCH_M;
    plan.spill_hole_m = 9.6 * INCH_M;
    plan.drag_coefficient = pappus_exact(0.78);
    pappus_canopy canopy = resolved(plan);
    double whole = 0.78 * M_PI / 4.0 * plan.diameter_m * plan.diameter_m;
    ck_assert_double_eq_tol(pappus_canopy_mean_drag_area_m2(&canopy) / whole, 0.99, 1e-12);
    ck_assert_double_eq_tol(canopy.nominal_diameter_m, plan.diameter_m, 1e-12);
    plan.spill_hole_m = plan.diameter_m;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_canopy_resolve(&canopy, &plan, "main", &error), PAPPUS_E_PLAN);
    ck_assert_str_eq(error.key, "main");
}
END_TEST

/* A label's rate comes back for the label's mass in the label's air. Density at
 * 2000 m, C: 1976 standard atmosphere, Public Domain Aeronautical Software table,
 * 1.007 kg/m3 (digits cut). */
START_TEST(rate_gives_the_drag_area_in_standard_air)
{
    static const double heights[] = {NAN, 2000.0}, densities[] = {1.225, 1.0072};
    for (int i = 0; i < 2; i++) {
        pappus_canopy_plan plan = empty(PAPPUS_FLAT_CIRCULAR);
        plan.rate_speed_mps = pappus_normal(6.0, 0.3);
        plan.rate_mass_kg = 8.0;
        plan.rate_height_msl_m = heights[i];
        plan.spill_hole_m = 0.3; /* was in it when the rate was taken */
        pappus_canopy canopy = resolved(plan);
        double cds = pappus_canopy_mean_drag_area_m2(&canopy);
        ck_assert_double_eq_tol(pappus_steady_rate_mps(8.0, cds, densities[i]), 6.0, 0.003);
        ck_assert_double_eq_tol(pappus_canopy_drag_area_m2(&canopy, 3.0), 4.0 * cds, 1e-9);
        /* the fast rate is the small area: one sd of the speed at 15.87 % (X) */
        double small = pappus_canopy_drag_area_quantile_m2(&canopy, 0.15865525393);
        ck_assert_double_eq_tol(small, cds * 36.0 / (6.3 * 6.3), 1e-6);
        /* M: middle coefficient 0.775 of a flat circular canopy gives its size */
        ck_assert_double_eq_tol(canopy.nominal_diameter_m, sqrt(4.0 * cds / 0.775 / M_PI), 1e-9);
    }
}
END_TEST

START_TEST(drag_area_outright_is_taken_as_it_is)
{
    pappus_canopy_plan plan = empty(PAPPUS_FLAT_CIRCULAR);
    plan.diameter_m = 1.0;
    plan.drag_area_m2 = pappus_normal(0.5, 0.05);
    plan.opening_time_s = pappus_exact(0.4);
    pappus_canopy canopy = resolved(plan);
    ck_assert_double_eq_tol(pappus_canopy_mean_drag_area_m2(&canopy), 0.5, 1e-12);
    ck_assert_double_eq_tol(canopy.nominal_diameter_m, 1.0, 1e-12);
    ck_assert_double_eq_tol(canopy.opening_time_s.mean, 0.4, 1e-12);
}
END_TEST

/* M: flat circular 0.75 to 0.80 on the nominal area. */
START_TEST(type_alone_gives_the_types_range)
{
    pappus_canopy_plan plan = empty(PAPPUS_FLAT_CIRCULAR);
    plan.diameter_m = 2.0;
    pappus_canopy canopy = resolved(plan);
    ck_assert(canopy.assumed_coefficient);
    ck_assert_int_eq(canopy.value.distribution, PAPPUS_UNIFORM);
    ck_assert_double_eq_tol(pappus_canopy_drag_area_quantile_m2(&canopy, 1e-12), 0.75 * M_PI, 1e-6);
    ck_assert_double_eq_tol(pappus_canopy_drag_area_quantile_m2(&canopy, 1.0 - 1e-12), 0.80 * M_PI,
                            1e-6);
    plan.area_basis = PAPPUS_PROJECTED_AREA; /* a projected diameter has more cloth */
    canopy = resolved(plan);
    ck_assert_double_eq_tol(pappus_canopy_mean_drag_area_m2(&canopy),
                            0.775 * M_PI / (0.685 * 0.685), 1e-9);
}
END_TEST

START_TEST(streamer_by_length_and_width)
{
    pappus_canopy_plan plan = empty(PAPPUS_STREAMER);
    pappus_canopy canopy;
    plan.length_m = 3.0;
    plan.width_m = 0.3;
    ck_assert_int_eq(pappus_canopy_resolve(&canopy, &plan, "drogue", NULL), PAPPUS_E_PLAN);
    plan.drag_coefficient = pappus_exact(0.2);
    canopy = resolved(plan);
    ck_assert_double_eq_tol(pappus_canopy_mean_drag_area_m2(&canopy), 0.18, 1e-12);
    ck_assert_double_eq_tol(canopy.nominal_diameter_m, sqrt(4.0 * 0.9 / M_PI), 1e-12);
}
END_TEST

START_TEST(no_drag_area_is_an_error)
{
    pappus_canopy_plan plan = empty(PAPPUS_FLAT_CIRCULAR);
    pappus_canopy canopy;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_canopy_resolve(&canopy, &plan, "drogue", &error), PAPPUS_E_PLAN);
    ck_assert_ptr_nonnull(strstr(error.message, "diameter"));
    plan.rate_speed_mps = pappus_exact(6.0);
    error = (pappus_error){0};
    ck_assert_int_eq(pappus_canopy_resolve(&canopy, &plan, "drogue", &error), PAPPUS_E_PLAN);
    ck_assert_ptr_nonnull(strstr(error.message, "mass"));
    plan = empty(PAPPUS_FLAT_CIRCULAR);
    plan.diameter_m = 1.0;
    plan.drag_coefficient = pappus_exact(-0.5);
    ck_assert_int_eq(pappus_canopy_resolve(&canopy, &plan, "drogue", NULL), PAPPUS_E_PLAN);
}
END_TEST

SUITE("canopy")
{
    tcase_add_test(tests, cross_canopy_comes_down_at_14_92_ft_per_s);
    tcase_add_test(tests, drogue_for_85_ft_per_s_is_12_inch);
    tcase_add_loop_test(tests, nominal_diameter_by_the_types_proportions, 0,
                        sizeof proportions / sizeof *proportions);
    tcase_add_test(tests, spill_hole_takes_its_own_area_off);
    tcase_add_test(tests, rate_gives_the_drag_area_in_standard_air);
    tcase_add_test(tests, drag_area_outright_is_taken_as_it_is);
    tcase_add_test(tests, type_alone_gives_the_types_range);
    tcase_add_test(tests, streamer_by_length_and_width);
    tcase_add_test(tests, no_drag_area_is_an_error);
}
