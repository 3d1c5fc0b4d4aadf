/* SPDX-License-Identifier: GPL-3.0-or-later
 * Zones whole: every figure of a zone against a plain reckoning over the same
 * landings, by GSL's sorting where it is a quantile. */
#include <pappus/zones.h>

#include "hits.h"

#include "statistics.h"
#include "contour.h"
#include "landing/clouds.h"
#include "suite.h"
#include "uncertain.h"

#include <gsl/gsl_sort.h>
#include <string.h>

static const size_t landings[PAPPUS_OUTCOMES] = {4000, 0, 500, 500, 500};
static const double probability[PAPPUS_OUTCOMES] = {0.95, 0.0, 0.02, 0.02, 0.01};

/* Columns that are easy to check: speeds spread over an interval of the outcome. */
static pappus_cloud *draw_cloud(void)
{
    pappus_cloud *cloud = cloud_new(landings, probability);
    gsl_rng *random = random_of(8);
    for (size_t i = 0; i < cloud->count; i++) {
        int h = cloud->outcome[i];
        gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, 120.0, 60.0, 20.0);
        cloud->north_m[i] += 400.0 - 90.0 * h; /* the drift's bearing lies about north */
        cloud->time_s[i] = (float)(100.0 - 15.0 * h + 10.0 * gsl_rng_uniform(random));
        cloud->vz_mps[i] = (float)(5.0 + 6.0 * h + gsl_rng_uniform(random));
        cloud->speed_mps[i] = cloud->vz_mps[i] + 1.0f;
        float load = (float)(8.0 * gsl_rng_uniform(random));
        cloud->drogue_load[i] = h == PAPPUS_MAIN_ONLY ? NAN : load;
        cloud->main_load[i] = h >= PAPPUS_NO_CANOPY ? NAN : 12.0f;
        cloud->main_full_open_m[i] = i % 10 == 0 ? 0.0f : (float)(150.0 + (double)(i % 7));
        cloud->unopened[i] = i % 10 == 0;
    }
    gsl_rng_free(random);
    return cloud;
}

static pappus_section sections[2] = {{(char *)(uintptr_t) "nose", 2.0},
                                     {(char *)(uintptr_t) "booster", 6.0}};

/* A field of two overlapping keep-outs. */
typedef struct {
    pappus_field field;
    pappus_area keep_outs[2];
    double points_m[3][8];
    pappus_ring rings[3];
    pappus_polygon polygons[3];
} field_of;

static void draw_field(field_of *f)
{
    static const double boxes_m[3][4] = {
        {-200.0, 0.0, 200.0, 600.0}, {-50.0, 300.0, 50.0, 350.0}, {0.0, 320.0, 80.0, 500.0}};
    *f = (field_of){0};
    f->field.has_boundary = true;
    f->field.boundary =
        rectangle("field", f->points_m[0], &f->rings[0], &f->polygons[0], boxes_m[0]);
    for (int k = 0; k < 2; k++)
        f->keep_outs[k] = rectangle(k == 0 ? "crowd" : "road", f->points_m[k + 1], &f->rings[k + 1],
                                    &f->polygons[k + 1], boxes_m[k + 1]);
    f->field.keep_out_count = 2;
    f->field.keep_outs = f->keep_outs;
}

static bool in_box(const double *corners_m, double e, double n)
{
    return e >= corners_m[0] && e <= corners_m[4] && n >= corners_m[1] && n <= corners_m[5];
}

typedef struct {
    pappus_cloud *cloud;
    pappus_plan plan;
    field_of field;
    pappus_hits *hits;
    pappus_zones *zones;
} fixture;

static void build(fixture *f, bool with_field, bool contours)
{
    pappus_error err = {0};
    pappus_zones_options options = PAPPUS_ZONES_OPTIONS_INIT;
    options.contours = contours;
    *f = (fixture){.cloud = draw_cloud()};
    f->plan.rocket.mass_kg = pappus_normal(8.0, 0.1);
    draw_field(&f->field);
    int status =
        pappus_hits_count(&f->hits, f->cloud, with_field ? &f->field.field : NULL, 0, &err);
    if (status == PAPPUS_OK)
        status = pappus_zones_build(&f->zones, f->cloud, &f->plan, f->hits, &options, &err);
    ck_assert_msg(status == PAPPUS_OK, "%s", err.message);
}

static void discard(fixture *f)
{
    pappus_zones_free(f->zones);
    pappus_hits_free(f->hits);
    pappus_cloud_free(f->cloud);
}

/* Least value whose cumulative weight reaches p, over the landings of one outcome (or
 * all, -1), from a sorted list. */
static double plain_quantile(const pappus_cloud *cloud, const float *column, int outcome, double p)
{
    static double values[8000], weights[8000];
    size_t n = 0, i = 0;
    double total = 0.0, sum = 0.0;
    for (size_t k = 0; k < cloud->count; k++) {
        int h = cloud->outcome[k];
        if (isnan(column[k]) || (outcome >= 0 && h != outcome)) continue;
        values[n] = (double)column[k];
        weights[n] = probability[h] / (double)landings[h];
        total += weights[n++];
    }
    gsl_sort2(values, 1, weights, 1, n);
    for (sum = weights[0]; sum < p * total - 1e-12; sum += weights[i])
        i++;
    return values[i];
}

static void check_quantiles(const pappus_quantiles *q, const pappus_cloud *cloud,
                            const float *column, int outcome)
{
    ck_assert_double_eq(q->p05, plain_quantile(cloud, column, outcome, 0.05));
    ck_assert_double_eq(q->p50, plain_quantile(cloud, column, outcome, 0.50));
    ck_assert_double_eq(q->p95, plain_quantile(cloud, column, outcome, 0.95));
}

START_TEST(quantiles)
{
    fixture f;
    build(&f, false, false);
    for (int h = -1; h < PAPPUS_OUTCOMES; h++) {
        const pappus_zone *zone = h < 0 ? &f.zones->all : &f.zones->outcomes[h];
        if (zone->landings == 0) continue;
        check_quantiles(&zone->time_s, f.cloud, f.cloud->time_s, h);
        check_quantiles(&zone->landing_speed_mps, f.cloud, f.cloud->speed_mps, h);
        check_quantiles(&zone->landing_vz_mps, f.cloud, f.cloud->vz_mps, h);
        check_quantiles(&zone->main_full_open_m, f.cloud, f.cloud->main_full_open_m, h);
        if (h != PAPPUS_MAIN_ONLY)
            check_quantiles(&zone->drogue_load_g, f.cloud, f.cloud->drogue_load, h);
    }
    ck_assert_double_nan(f.zones->outcomes[PAPPUS_MAIN_ONLY].drogue_load_g.p50);
    ck_assert_double_nan(f.zones->outcomes[PAPPUS_NO_CANOPY].main_load_g.p50);
    ck_assert_double_eq(f.zones->outcomes[PAPPUS_NOMINAL].main_load_g.p50, 12.0);
    discard(&f);
}
END_TEST

/* Drift about north: quantiles do not fall apart at 360. Turned about north the bearings
 * are plain numbers. X: the mean is 400 m north, its standard error 120 m / sqrt(n). */
START_TEST(drift)
{
    fixture f;
    build(&f, false, false);
    const pappus_zone *zone = &f.zones->outcomes[PAPPUS_NOMINAL];
    const double p[3] = {0.05, 0.50, 0.95};
    const double bearing_deg[3] = {zone->drift_bearing_deg.p05, zone->drift_bearing_deg.p50,
                                   zone->drift_bearing_deg.p95};
    float *plain_deg = f.cloud->main_load, *plain_m = f.cloud->drogue_load;
    for (size_t i = 0; i < f.cloud->count; i++) {
        plain_deg[i] = (float)(atan2(f.cloud->east_m[i], f.cloud->north_m[i]) * 180.0 / M_PI);
        plain_m[i] = (float)hypot(f.cloud->east_m[i], f.cloud->north_m[i]);
    }
    for (int i = 0; i < 3; i++) {
        double plain = plain_quantile(f.cloud, plain_deg, PAPPUS_NOMINAL, p[i]);
        ck_assert_double_eq_tol(remainder(bearing_deg[i] - plain, 360.0), 0.0, 1e-4);
        ck_assert(bearing_deg[i] >= 0.0 && bearing_deg[i] < 360.0);
    }
    ck_assert_double_gt(bearing_deg[0], 300.0);
    ck_assert_double_lt(bearing_deg[2], 60.0);
    ck_assert_double_eq_tol(zone->drift_m.p95,
                            plain_quantile(f.cloud, plain_m, PAPPUS_NOMINAL, 0.95), 1e-4);
    ck_assert_double_eq_tol(zone->mean_north_m, 400.0, 4.0 * 120.0 / sqrt(4000.0));
    discard(&f);
}
END_TEST

/* X: energy of a section is half its mass times the vertical speed squared; without
 * sections, of the whole. */
START_TEST(energy)
{
    fixture f;
    build(&f, false, false);
    double vz = f.zones->all.landing_vz_mps.p95;
    ck_assert_uint_eq(f.zones->all.section_count, 1);
    ck_assert_double_eq_tol(f.zones->all.energy_j[0].p95, 4.0 * vz * vz, 1e-9);
    double total = f.zones->all.landing_speed_mps.p95; /* the drift in it */
    ck_assert_double_eq_tol(f.zones->all.energy_total_j[0].p95, 4.0 * total * total, 1e-9);
    pappus_zones_free(f.zones);
    f.plan.rocket.section_count = 2;
    f.plan.rocket.sections = sections;
    ck_assert_int_eq(pappus_zones_build(&f.zones, f.cloud, &f.plan, NULL, NULL, NULL), PAPPUS_OK);
    ck_assert_uint_eq(f.zones->outcomes[0].section_count, 2);
    vz = f.zones->outcomes[0].landing_vz_mps.p95;
    ck_assert_double_eq_tol(f.zones->outcomes[0].energy_j[0].p95, vz * vz, 1e-9);
    ck_assert_double_eq_tol(f.zones->outcomes[0].energy_j[1].p95, 3.0 * vz * vz, 1e-9);
    discard(&f);
}
END_TEST

/* Hits are a plain recount, to the last landing; shares follow from them. */
START_TEST(hits_and_shares_of_field_and_keep_outs)
{
    fixture f;
    build(&f, true, false);
    size_t inside[PAPPUS_OUTCOMES] = {0}, on[2][PAPPUS_OUTCOMES] = {{0}};
    double all[3] = {0.0};
    for (size_t i = 0; i < f.cloud->count; i++) {
        double e = f.cloud->east_m[i], n = f.cloud->north_m[i];
        bool in = in_box(f.field.points_m[0], e, n), first = in_box(f.field.points_m[1], e, n);
        bool second = in_box(f.field.points_m[2], e, n);
        inside[f.cloud->outcome[i]] += in;
        on[0][f.cloud->outcome[i]] += first;
        on[1][f.cloud->outcome[i]] += second;
        ck_assert_int_eq(f.hits->inside_of[i], in);
        ck_assert_int_eq(f.hits->first_keep_out[i], first ? 0 : second ? 1 : -1);
    }
    for (int h = 0; h < PAPPUS_OUTCOMES; h++) {
        const pappus_zone *zone = &f.zones->outcomes[h];
        double n = (double)landings[h];
        ck_assert_uint_eq(f.hits->count[h], landings[h]);
        ck_assert_uint_eq(f.hits->inside[h], inside[h]);
        for (int k = 0; k < 2; k++)
            ck_assert_uint_eq(f.hits->keep_out[k][h], on[k][h]);
        if (landings[h] == 0) continue;
        ck_assert_double_eq_tol(zone->inside_field.value, (double)inside[h] / n, 1e-12);
        pappus_estimate in_field = pappus_wilson((double)inside[h], n, 0.95);
        pappus_estimate on_road = pappus_wilson((double)on[1][h], n, 0.95);
        ck_assert_double_eq_tol(zone->inside_field.low, in_field.low, 1e-12);
        ck_assert_double_eq_tol(zone->keep_out[1].high, on_road.high, 1e-12);
        all[0] += probability[h] * (double)inside[h] / n;
        for (int k = 0; k < 2; k++)
            all[1 + k] += probability[h] * (double)on[k][h] / n;
    }
    ck_assert_double_eq_tol(f.zones->all.inside_field.value, all[0], 1e-12);
    ck_assert_double_eq_tol(f.zones->all.keep_out[0].value, all[1], 1e-12);
    ck_assert_double_eq_tol(f.zones->all.keep_out[1].value, all[2], 1e-12);
    ck_assert(on[0][0] > 0 && on[1][0] > 0);
    discard(&f);
}
END_TEST

/* One count serves every confidence; the shapes may be prepared once for many clouds. */
START_TEST(hits_at_another_confidence)
{
    fixture f;
    pappus_hits again;
    pappus_field_shapes *shapes = NULL;
    build(&f, true, false);
    ck_assert_double_eq(pappus_hits_inside(f.hits, 0.95).high, f.zones->all.inside_field.high);
    ck_assert_double_lt(pappus_hits_inside(f.hits, 0.99).low, f.zones->all.inside_field.low);
    ck_assert_int_eq(pappus_field_shapes_new(&shapes, &f.field.field, NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_hits_of_shapes(&again, shapes, f.cloud, 0, NULL), PAPPUS_OK);
    ck_assert_mem_eq(again.keep_out, f.hits->keep_out, 2 * sizeof *again.keep_out);
    ck_assert_mem_eq(again.inside, f.hits->inside, sizeof again.inside);
    ck_assert_ptr_null(again.inside_of);
    pappus_hits_clear(&again);
    pappus_field_shapes_free(shapes);
    discard(&f);
}
END_TEST

START_TEST(no_field_and_outcomes_not_drawn)
{
    fixture f;
    build(&f, false, true);
    const pappus_zone *none = &f.zones->outcomes[PAPPUS_MAIN_AT_APOGEE];
    ck_assert_ptr_null(f.hits->inside_of);
    ck_assert_double_nan(f.zones->all.inside_field.value);
    ck_assert_double_nan(f.zones->outcomes[0].inside_field.low);
    ck_assert_uint_eq(f.zones->all.keep_out_count, 0);
    ck_assert_uint_eq(none->landings, 0);
    ck_assert_uint_eq(none->contour_count, 0);
    ck_assert_double_nan(none->mean_east_m);
    ck_assert_double_nan(none->time_s.p50);
    ck_assert_double_nan(none->ellipses[PAPPUS_LEVEL_50].major_m);
    ck_assert_double_nan(none->energy_j[0].p05);
    ck_assert_double_eq_tol(f.zones->all.probability, 1.0, 1e-12);
    ck_assert_uint_eq(f.zones->all.landings, 5500);
    ck_assert_uint_eq(f.zones->all.contour_count, PAPPUS_LEVELS);
    for (int l = 0; l < PAPPUS_LEVELS; l++) {
        ck_assert_double_eq(f.zones->outcomes[0].contours[l].level, pappus_levels[l]);
        ck_assert_double_eq_tol(f.zones->all.contours[l].share, pappus_levels[l], 0.01);
    }
    discard(&f);
}
END_TEST

/* One landing in ten is not fully open in each outcome. */
START_TEST(unopened_share)
{
    fixture f;
    build(&f, false, false);
    ck_assert_double_eq_tol(f.zones->all.unopened, 0.1, 1e-9);
    ck_assert_double_eq_tol(f.zones->outcomes[PAPPUS_DROGUE_ONLY].unopened, 0.1, 1e-9);
    ck_assert_double_eq(f.zones->outcomes[PAPPUS_NOMINAL].main_full_open_m.p05, 0.0);
    discard(&f);
}
END_TEST

/* Nominal alone: the zone of all is that of the outcome, whatever its chance. */
START_TEST(nominal_alone)
{
    pappus_plan plan = {.rocket.mass_kg = pappus_exact(8.0)};
    pappus_cloud *cloud =
        cloud_new((size_t[PAPPUS_OUTCOMES]){2000}, (double[PAPPUS_OUTCOMES]){0.9, 0.1});
    gsl_rng *random = random_of(2);
    pappus_zones *zones;
    for (size_t i = 0; i < cloud->count; i++)
        gaussian_place(&cloud->east_m[i], &cloud->north_m[i], random, 100.0, 50.0, 45.0);
    ck_assert_int_eq(pappus_zones_build(&zones, cloud, &plan, NULL, NULL, NULL), PAPPUS_OK);
    ck_assert_double_eq_tol(zones->all.mean_east_m, zones->outcomes[0].mean_east_m, 1e-9);
    ck_assert_double_eq_tol(zones->all.covariance_m2[0][1], zones->outcomes[0].covariance_m2[0][1],
                            1e-6);
    ck_assert_double_eq_tol(zones->all.ellipses[PAPPUS_LEVEL_90].share,
                            zones->outcomes[0].ellipses[PAPPUS_LEVEL_90].share, 1e-9);
    pappus_zones_free(zones);
    gsl_rng_free(random);
    pappus_cloud_free(cloud);
}
END_TEST

START_TEST(no_landings)
{
    pappus_plan plan = {.rocket.mass_kg = pappus_exact(8.0)};
    pappus_cloud *cloud = cloud_nominal(0);
    pappus_zones *zones;
    ck_assert_int_eq(pappus_zones_build(&zones, cloud, &plan, NULL, NULL, NULL), PAPPUS_OK);
    ck_assert_uint_eq(zones->all.contour_count, 0);
    ck_assert_double_nan(zones->all.mean_east_m);
    pappus_zones_free(zones);
    pappus_zones_free(NULL);
    pappus_cloud_free(cloud);
}
END_TEST

SUITE("zones")
{
    tcase_add_test(tests, quantiles);
    tcase_add_test(tests, drift);
    tcase_add_test(tests, energy);
    tcase_add_test(tests, hits_and_shares_of_field_and_keep_outs);
    tcase_add_test(tests, hits_at_another_confidence);
    tcase_add_test(tests, no_field_and_outcomes_not_drawn);
    tcase_add_test(tests, unopened_share);
    tcase_add_test(tests, nominal_alone);
    tcase_add_test(tests, no_landings);
}
