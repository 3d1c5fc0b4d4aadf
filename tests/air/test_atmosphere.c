/* SPDX-License-Identifier: GPL-3.0-or-later
 * The standard atmosphere against a published table, the atmosphere of a flight
 * against an integral by GSL, and the altimeter. */
#include "air/air_fixture.h"
#include "altimeter.h"
#include "atmosphere.h"
#include "suite.h"

#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>

#define FOOT_M 0.3048

/* C: Public Domain Aeronautical Software, 1976 standard atmosphere, SI table:
 * geometric height, temperature, pressure, density; last digits cut or rounded. */
static const struct {
    double km, temperature_k, pressure_pa, density_kgpm3;
} table[] = {
    {0, 288.1, 101325, 1.225}, {1, 281.7, 89876, 1.112},  {2, 275.2, 79501, 1.007},
    {3, 268.7, 70121, 0.909},  {4, 262.2, 61660, 0.819},  {5, 255.7, 54048, 0.736},
    {6, 249.2, 47217, 0.660},  {8, 236.2, 35651, 0.526},  {10, 223.3, 26499, 0.414},
    {11, 216.8, 22699, 0.365}, {12, 216.6, 19399, 0.312}, {15, 216.6, 12111, 0.195},
    {20, 216.6, 5529, 0.089},
};

START_TEST(standard_table)
{
    double h = pappus_geopotential_m(1000.0 * table[_i].km);
    double pressure = table[_i].pressure_pa, temperature = table[_i].temperature_k;
    double density = pappus_standard_density_kgpm3(1000.0 * table[_i].km);
    ck_assert_double_eq_tol(pappus_standard_temperature_k(h), temperature, 1e-3 * temperature);
    ck_assert_double_eq_tol(pappus_standard_temperature_k(h), temperature, 0.1);
    ck_assert_double_eq_tol(pappus_standard_pressure_pa(h), pressure, 1e-3 * pressure);
    ck_assert_double_eq_tol(pappus_standard_pressure_pa(h), pressure, 1.0);
    /* Three digits of density are worth 1 % aloft: those, and the gas law on the
     * table's own pressure and temperature to 0.1 %. */
    ck_assert_double_eq_tol(density, table[_i].density_kgpm3, 0.001);
    double by_gas_law = pressure / (287.053072 * temperature);
    ck_assert_double_eq_tol(density, by_gas_law, 1e-3 * by_gas_law);
    ck_assert_double_eq_tol(pappus_standard_height_m(pappus_standard_pressure_pa(h)), h, 1e-6);
    ck_assert_double_eq_tol(pappus_geometric_m(h), 1000.0 * table[_i].km, 1e-6);
}
END_TEST

/* Layers meet: to 1e-7 of the pressure at 11, 20 and 32 km. */
START_TEST(standard_is_continuous)
{
    /* M: pressures of the standard at the layers' bases. */
    const double bases[] = {11000.0, 20000.0, 32000.0};
    const double published[] = {22632.06, 5474.889, 868.0187};
    for (int i = 0; i < 3; i++) {
        double p = pappus_standard_pressure_pa(bases[i]);
        ck_assert_double_eq_tol(p, published[i], 1e-6 * p);
        double below = pappus_standard_pressure_pa(bases[i] - 1e-6);
        double above = pappus_standard_pressure_pa(bases[i] + 1e-6);
        ck_assert_double_eq_tol(below / above, 1.0, 1e-7);
    }
    /* M: the standard's pressure at 47 km geopotential, 110.91 Pa. */
    ck_assert_double_eq_tol(pappus_standard_pressure_pa(47000.0), 110.91, 0.005);
}
END_TEST

static pappus_atmosphere *build(double elevation_m, size_t count, const double *z, const double *t,
                                double anchor_m, double anchor_pa)
{
    pappus_atmosphere *a = NULL;
    pappus_temperatures measured = {count, z, t};
    pappus_error error = {0};
    int status = pappus_atmosphere_build(&a, elevation_m, &measured, anchor_m, anchor_pa, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return a;
}

START_TEST(flight_air_without_measurements_is_standard)
{
    pappus_atmosphere *a = build(1500.0, 0, NULL, NULL, 0.0, NAN);
    for (double z = -500.0; z < 40000.0; z += 333.0) {
        double h = pappus_geopotential_m(1500.0 + z);
        double p = pappus_standard_pressure_pa(h);
        ck_assert_double_eq_tol(pappus_atmosphere_pressure_pa(a, z), p, 1e-6 * p);
        ck_assert_double_eq_tol(pappus_atmosphere_temperature_k(a, z),
                                pappus_standard_temperature_k(h), 1e-6);
        ck_assert_double_eq_tol(pappus_atmosphere_density_kgpm3(a, z),
                                pappus_standard_density_kgpm3(1500.0 + z), 2e-6);
    }
    pappus_atmosphere_free(a);
}
END_TEST

/* A morning inversion, then a dry layer: a sounding made for this test. */
static const double inversion_m[] = {0.0, 200.0, 420.0, 2000.0, 6000.0};
static const double inversion_k[] = {278.0, 284.0, 283.5, 270.0, 245.0};

static double inversion_at(double z)
{
    int i = 1;
    while (i < 4 && inversion_m[i] < z)
        i++;
    return inversion_k[i - 1] + (z - inversion_m[i - 1]) / (inversion_m[i] - inversion_m[i - 1]) *
                                    (inversion_k[i] - inversion_k[i - 1]);
}

/* g0 (dH/dz) / (R T): the hydrostatic integrand over geometric height, X. */
static double integrand(double z, void *elevation)
{
    double r = 6356766.0, radius = r + *(double *)elevation + z;
    return 9.80665 * r * r / (radius * radius) / (287.053072 * inversion_at(z));
}

START_TEST(pressure_is_the_hydrostatic_integral)
{
    double elevation = 700.0, pad_pa = 93123.0;
    pappus_atmosphere *a = build(elevation, 5, inversion_m, inversion_k, 0.0, pad_pa);
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(1000);
    gsl_function f = {integrand, &elevation};
    const double heights[] = {100.0, 333.0, 1000.0, 3050.0, 5500.0};
    for (int i = 0; i < 5; i++) {
        double sum, error;
        gsl_integration_qag(&f, 0.0, heights[i], 0.0, 1e-9, 1000, 2, work, &sum, &error);
        double expected = pad_pa * exp(-sum);
        /* Linear in H against linear in z within 50 m: 1e-7 of the pressure. */
        ck_assert_double_eq_tol(pappus_atmosphere_pressure_pa(a, heights[i]), expected,
                                1e-7 * expected);
        ck_assert_double_eq_tol(pappus_atmosphere_temperature_k(a, heights[i]),
                                inversion_at(heights[i]), 1e-4);
        ck_assert_double_eq_tol(pappus_atmosphere_height_m(a, expected), heights[i], 0.001);
    }
    ck_assert_double_eq_tol(pappus_atmosphere_pressure_pa(a, 0.0), pad_pa, 1e-6);
    gsl_integration_workspace_free(work);
    pappus_atmosphere_free(a);
}
END_TEST

/* The same air whichever of its own pressures it starts from. */
START_TEST(anchor_anywhere)
{
    pappus_atmosphere *a = build(700.0, 5, inversion_m, inversion_k, 0.0, 93123.0);
    double p = pappus_atmosphere_pressure_pa(a, 812.0);
    pappus_atmosphere *b = build(700.0, 5, inversion_m, inversion_k, 812.0, p);
    ck_assert_double_eq_tol(pappus_atmosphere_pressure_pa(b, 0.0), 93123.0, 1e-5);
    pappus_atmosphere_free(a);
    pappus_atmosphere_free(b);
}
END_TEST

/* Beyond the measured levels the nearest one's deviation holds. */
START_TEST(deviation_beyond_the_sounding)
{
    pappus_atmosphere *a = build(0.0, 5, inversion_m, inversion_k, 0.0, NAN);
    double top = pappus_standard_temperature_k(pappus_geopotential_m(6000.0));
    double high = pappus_standard_temperature_k(pappus_geopotential_m(9000.0));
    ck_assert_double_eq_tol(pappus_atmosphere_temperature_k(a, 9000.0), high + 245.0 - top, 1e-6);
    pappus_atmosphere_free(a);
    double z = 0.0, t = 303.15;
    a = build(286.0, 1, &z, &t, 0.0, NAN);
    double pad = pappus_standard_temperature_k(pappus_geopotential_m(286.0));
    double above = pappus_standard_temperature_k(pappus_geopotential_m(3286.0));
    ck_assert_double_eq_tol(pappus_atmosphere_temperature_k(a, 3000.0), above + t - pad, 1e-6);
    pappus_atmosphere_free(a);
}
END_TEST

START_TEST(impossible_air_is_refused)
{
    double z[] = {0.0, 500.0}, t[] = {288.0, 20.0};
    pappus_temperatures measured = {2, z, t};
    pappus_atmosphere *a = NULL;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_atmosphere_build(&a, 0.0, &measured, 0.0, NAN, &error), PAPPUS_E_WIND);
    ck_assert_ptr_null(a);
    ck_assert_str_ne(error.message, "");
}
END_TEST

/* X: h = 44330.77 m (1 - (p/p0)^0.190263), the barometric altimeter's formula. */
START_TEST(altimeter_formula)
{
    ck_assert_double_eq_tol(pappus_standard_height_m(89874.6), 1000.0, 0.05);
    ck_assert_double_eq_tol(pappus_standard_height_m(95460.8), 500.0, 0.05);
    for (double p = 60000.0; p < 101325.0; p += 1111.0) {
        double h = 44330.77 * (1.0 - pow(p / 101325.0, 0.190263));
        ck_assert_double_eq_tol(pappus_standard_height_m(p), h, 0.05);
    }
}
END_TEST

static pappus_atmosphere *surface_air(double temperature_k)
{
    double z = 0.0;
    return build(0.0, 1, &z, &temperature_k, 0.0, 101325.0);
}

/* Air of -40 degC at sea level, 55 degC colder than standard: indicated 2000 ft is
 * about 1616 ft (X: true = indicated * T_mean / T_mean,standard). */
START_TEST(altimeter_in_the_cold)
{
    pappus_atmosphere *a = surface_air(233.15);
    double height_m = pappus_altimeter_true_m(a, 2000.0 * FOOT_M);
    ck_assert_double_eq_tol(height_m / FOOT_M, 1616.0, 3.0);
    /* The same formula with each mean over its own layer: 0.2 ft. */
    double mean = 233.15 - 0.0065 * 0.5 * height_m, standard = 288.15 - 0.0065 * 0.5 * 609.6;
    ck_assert_double_eq_tol(height_m / FOOT_M, 2000.0 * mean / standard, 0.2);
    ck_assert_double_eq_tol(pappus_altimeter_indicated_m(a, height_m), 2000.0 * FOOT_M, 1e-6);
    pappus_atmosphere_free(a);
}
END_TEST

/* C: 4 % of height per 10 degC (ICAO PANS-OPS rule, rounded up from T/T: 3.5 % at
 * 15 degC, 4 % at -25 degC). Warm air: the true height is above the shown one. */
START_TEST(altimeter_rule_of_four_percent)
{
    for (double deviation = -40.0; deviation <= 40.0; deviation += 10.0) {
        if (deviation == 0.0) continue;
        pappus_atmosphere *a = surface_air(288.15 + deviation);
        double gain = pappus_altimeter_true_m(a, 300.0) / 300.0 - 1.0;
        double per_ten = gain / (deviation / 10.0);
        ck_assert_double_ge(per_ten, 0.033);
        ck_assert_double_le(per_ten, 0.041);
        pappus_atmosphere_free(a);
    }
}
END_TEST

START_TEST(altimeter_is_monotone_and_inverts)
{
    pappus_atmosphere *a = build(1400.0, 5, inversion_m, inversion_k, 0.0, 85600.0);
    double last = -1e9;
    for (double z = -50.0; z < 12000.0; z += 7.0) {
        double shown = pappus_altimeter_indicated_m(a, z);
        ck_assert_double_gt(shown, last);
        ck_assert_double_eq_tol(pappus_altimeter_true_m(a, shown), z, 1e-6);
        last = shown;
    }
    ck_assert_double_eq_tol(pappus_altimeter_indicated_m(a, 0.0), 0.0, 1e-9);
    pappus_atmosphere_free(a);
}
END_TEST

SUITE("atmosphere")
{
    tcase_add_loop_test(tests, standard_table, 0, (int)(sizeof table / sizeof table[0]));
    tcase_add_test(tests, standard_is_continuous);
    tcase_add_test(tests, flight_air_without_measurements_is_standard);
    tcase_add_test(tests, pressure_is_the_hydrostatic_integral);
    tcase_add_test(tests, anchor_anywhere);
    tcase_add_test(tests, deviation_beyond_the_sounding);
    tcase_add_test(tests, impossible_air_is_refused);
    tcase_add_test(tests, altimeter_formula);
    tcase_add_test(tests, altimeter_in_the_cold);
    tcase_add_test(tests, altimeter_rule_of_four_percent);
    tcase_add_test(tests, altimeter_is_monotone_and_inverts);
}
