/* SPDX-License-Identifier: GPL-3.0-or-later
 * The grid that wind and air are laid on is fine enough: with half of every step the
 * central fall moves by less than the design's bound for the landings' quantiles. And
 * the wind at touchdown against the power law itself, not its grid. */
#include "real_air.h"

#include "reference.h"
#include "suite.h"
#include "uncertain.h"

#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>

#define BOUND 0.005 /* of a quantile, when the grid is halved (design) */
#define LOW_M 10.0
#define EXPONENT 0.143

/* 5 m/s from the south-west at 10 m, 15 m/s from the west at 4 km. */
static void sheared_setup(flight_setup *s)
{
    flight_setup_set(s);
    s->levels[0] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, LOW_M, 3.0, 4.0, NAN, NAN, NAN};
    s->levels[1] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, 4000.0, 15.0, 0.0, NAN, NAN, NAN};
}

static pappus_path_point touchdown_on(flight_setup *s, double grid_factor)
{
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_log log = {0};
    pappus_error error = {0};
    pappus_path *path = NULL;
    options.grid_factor = grid_factor;
    ck_assert_int_eq(pappus_air_build(&s->air, &s->plan, &s->winds, &options, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_reference_path(&path, &s->plan, s->air, PAPPUS_NOMINAL, &error),
                     PAPPUS_OK);
    pappus_path_point end = path->points[path->count - 1];
    pappus_path_free(path);
    pappus_air_free(s->air);
    s->air = NULL;
    pappus_log_clear(&log);
    return end;
}

static void same_within(double a, double b)
{
    ck_assert_double_eq_tol(a, b, BOUND * fabs(b));
}

START_TEST(half_the_grid_moves_nothing)
{
    flight_setup s;
    sheared_setup(&s);
    pappus_path_point a = touchdown_on(&s, 1.0), b = touchdown_on(&s, 0.5);
    same_within(hypot(a.east_m, a.north_m), hypot(b.east_m, b.north_m));
    same_within(a.time_s, b.time_s);
    same_within(a.vup_mps, b.vup_mps);
    same_within(hypot(a.ve_mps, a.vn_mps), hypot(b.ve_mps, b.vn_mps));
}
END_TEST

/* X: falling at the steady rate v, the horizontal speed follows the wind with the
 * relaxation length v^2/g, so at the ground it is the integral over z of
 * U(z) e^(-z g/v^2) g/v^2, with U(z) = U10 (z/10)^0.143. That leaves out that slip
 * makes the drag greater: by half of the square of slip over v, here under 3 %. */
static double weighed_wind(double z, void *length_m)
{
    double length = *(double *)length_m;
    return 5.0 * pow(z / LOW_M, EXPONENT) * exp(-z / length) / length;
}

START_TEST(touchdown_feels_the_power_law)
{
    flight_setup s;
    sheared_setup(&s);
    s.levels[1] = (pappus_wind_level){PAPPUS_HEIGHT_AGL, 4000.0, 3.0, 4.0, NAN, NAN, NAN};
    pappus_path_point end = touchdown_on(&s, 1.0);
    double v = -end.vup_mps, length_m = v * v / 9.80665, wind, error;
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    gsl_function f = {weighed_wind, &length_m};
    ck_assert_int_eq(
        gsl_integration_qags(&f, 0.0, 20.0 * length_m, 0.0, 1e-8, 1000, space, &wind, &error), 0);
    gsl_integration_workspace_free(space);
    ck_assert_double_eq_tol(hypot(end.ve_mps, end.vn_mps), wind, 0.03 * wind);
}
END_TEST

/* X: a canopy that is open all the way falls at v = sqrt(2 m g / (rho CdS)) and moves
 * with the wind, so it drifts by the integral of U/v over height. Levels as a sounding
 * has them: a jet at 400 m, a veer of 150 degrees above. */
static const double levels_m[] = {10.0, 150.0, 400.0, 900.0, 1600.0, 2600.0};
static const double levels_mps[][2] = {{2.0, 1.0},  {6.0, 2.0},  {13.0, 1.0},
                                       {7.0, -4.0}, {2.0, -8.0}, {-5.0, -9.0}};

typedef struct {
    const pappus_air *air;
    double mass_kg, cds_m2;
    int component;
} drifting;

static double drift_per_m(double z, void *context)
{
    const drifting *d = context;
    double wind = levels_mps[0][d->component] * pow(z / levels_m[0], EXPONENT);
    for (int i = 1; z > levels_m[0] && i < 6; i++) {
        if (z > levels_m[i]) continue;
        double share = (z - levels_m[i - 1]) / (levels_m[i] - levels_m[i - 1]);
        wind = levels_mps[i - 1][d->component] +
               share * (levels_mps[i][d->component] - levels_mps[i - 1][d->component]);
        break;
    }
    double rho = pappus_air_density_kgpm3(d->air, z);
    return wind * sqrt(rho * d->cds_m2 / (2.0 * d->mass_kg * PAPPUS_GRAVITY_MPS2));
}

static double drift_of(drifting *d, int component)
{
    double drift, error;
    gsl_function f = {drift_per_m, d};
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    d->component = component;
    ck_assert_int_eq(
        gsl_integration_qag(&f, 0.0, 2500.0, 0.0, 1e-7, 1000, 2, space, &drift, &error), 0);
    gsl_integration_workspace_free(space);
    return drift;
}

/* What that leaves out: the first seconds from rest, and the lag behind the wind; both
 * about v^2/g, 4 m of height, in 2500. */
START_TEST(open_canopy_drifts_with_the_profile)
{
    flight_setup s;
    pappus_log log = {0};
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_path *path = NULL;
    pappus_wind_level levels[6];
    for (int i = 0; i < 6; i++)
        levels[i] = (pappus_wind_level){
            PAPPUS_HEIGHT_AGL, levels_m[i], levels_mps[i][0], levels_mps[i][1], NAN, NAN, NAN};
    flight_setup_set(&s);
    s.profile.level_count = 6;
    s.profile.levels = levels;
    s.plan.main.present = false;
    s.plan.drogue.drag_area_m2 = pappus_exact(3.6);
    s.plan.drogue.opening_time_s = pappus_exact(0.01);
    s.plan.apogee.height_m = pappus_exact(2500.0);
    ck_assert_int_eq(pappus_air_build(&s.air, &s.plan, &s.winds, &options, &log), PAPPUS_OK);
    ck_assert_int_eq(pappus_reference_path(&path, &s.plan, s.air, PAPPUS_NOMINAL, NULL), PAPPUS_OK);
    const pappus_path_point *top = &path->points[0], *end = &path->points[path->count - 1];
    drifting d = {s.air, s.plan.rocket.mass_kg.mean, 3.6, 0};
    double east_m = drift_of(&d, 0), north_m = drift_of(&d, 1);
    double bound_m = 0.005 * hypot(east_m, north_m);
    ck_assert_double_eq_tol(end->east_m - top->east_m, east_m, bound_m);
    ck_assert_double_eq_tol(end->north_m - top->north_m, north_m, bound_m);
    pappus_path_free(path);
    pappus_air_free(s.air);
    pappus_log_clear(&log);
}
END_TEST

SUITE("grid")
{
    tcase_add_test(tests, half_the_grid_moves_nothing);
    tcase_add_test(tests, touchdown_feels_the_power_law);
    tcase_add_test(tests, open_canopy_drifts_with_the_profile);
}
