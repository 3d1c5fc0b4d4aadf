/* SPDX-License-Identifier: GPL-3.0-or-later
 * Posts of the crews against brute force, against the geometric median (Weiszfeld, Tohoku
 * Math. J. 43:355, 1937; iteration with the rule for hitting a point of Vardi & Zhang,
 * PNAS 97:1423, 2000), and the rules that no post may break. */
#include "posts.h"
#include "situation.h"

#include "containment.h"
#include "suite.h"

#include <stdlib.h>

#define PLACES 40
#define LANDINGS 300

/* A small generator for test points; its quality does not matter. */
static double next(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / 9007199254740992.0;
}

static void random_points(pappus_points *out, size_t count, bool weighted, uint64_t seed)
{
    pappus_error error = {0};
    ck_assert_int_eq(pappus_points_reserve(out, count, weighted, &error), PAPPUS_OK);
    out->count = count;
    for (size_t i = 0; i < count; i++) {
        double lobe = i % 3 == 0 ? 900.0 : 0.0;
        out->east_m[i] = lobe + 500.0 * next(&seed);
        out->north_m[i] = 700.0 * next(&seed) - lobe / 2.0;
        if (weighted) out->weight[i] = next(&seed);
    }
}

static double walk_of(const pappus_points *places, const pappus_points *landings,
                      const size_t *chosen, size_t k)
{
    double walk = 0.0;
    for (size_t j = 0; j < landings->count; j++) {
        double nearest = INFINITY;
        for (size_t i = 0; i < k; i++)
            nearest = fmin(nearest, hypot(places->east_m[chosen[i]] - landings->east_m[j],
                                          places->north_m[chosen[i]] - landings->north_m[j]));
        walk += landings->weight[j] * nearest;
    }
    return walk;
}

/* Every choice of k places, in order. */
static double brute_force(const pappus_points *places, const pappus_points *landings, size_t k,
                          size_t *chosen, size_t depth, size_t from)
{
    double best = INFINITY;
    if (depth == k) return walk_of(places, landings, chosen, k);
    for (size_t p = from; p < places->count; p++) {
        chosen[depth] = p;
        best = fmin(best, brute_force(places, landings, k, chosen, depth + 1, p + 1));
    }
    return best;
}

static void against_brute_force(size_t k, double tolerance)
{
    for (uint64_t seed = 1; seed <= 4; seed++) {
        pappus_points places, landings;
        pappus_error error = {0};
        size_t chosen[3], scratch[3];
        double walk;
        random_points(&places, PLACES, false, seed);
        random_points(&landings, LANDINGS, true, seed + 100);
        ck_assert_int_eq(pappus_posts_choose(chosen, &walk, k, &places, &landings, &error),
                         PAPPUS_OK);
        double best = brute_force(&places, &landings, k, scratch, 0, 0);
        double found = walk_of(&places, &landings, chosen, k);
        ck_assert_double_le(found, best * (1.0 + tolerance));
        /* distances are kept in single precision */
        ck_assert_double_eq_tol(walk, found, 1e-5 * found);
        pappus_points_clear(&places);
        pappus_points_clear(&landings);
    }
}

START_TEST(one_and_two_posts_are_exact)
{
    against_brute_force(1, 1e-6);
    against_brute_force(2, 1e-6);
}
END_TEST

/* Vertex interchange is a heuristic: exact here would be luck, 1 % is its usual
 * distance from the best on such small cases. */
START_TEST(three_posts_are_close_to_the_best)
{
    against_brute_force(3, 0.01);
}
END_TEST

static void weiszfeld(double at[2], const pappus_cloud *cloud)
{
    for (int iteration = 0; iteration < 2000; iteration++) {
        double sum[2] = {0}, total = 0.0;
        for (size_t i = 0; i < cloud->count; i++) {
            double distance = hypot(cloud->east_m[i] - at[0], cloud->north_m[i] - at[1]);
            double pull = pappus_cloud_weight(cloud, i) / fmax(distance, 1e-9);
            sum[0] += pull * cloud->east_m[i];
            sum[1] += pull * cloud->north_m[i];
            total += pull;
        }
        at[0] = sum[0] / total;
        at[1] = sum[1] / total;
    }
}

static choice_setup setup;
static pappus_cloud *cloud;
static pappus_zones *zones;

static void set_up(void)
{
    choice_setup_set(&setup);
    setup.flight.plan.crew_posts = 1;
    setup.flight.plan.crew_standoff_m = 100.0;
    setup.flight.plan.crew_walking_speed_mps = 1.3;
    cloud = NULL;
    zones = NULL;
}

static void tear_down(void)
{
    pappus_zones_free(zones);
    pappus_cloud_free(cloud);
    choice_setup_end(&setup);
}

/* On the landings and zones that are there. */
static int post_on(pappus_crews **crews, pappus_error *error)
{
    pappus_hits *hits = NULL;
    pappus_hazard *hazard = NULL;
    pappus_hazard_options options = PAPPUS_HAZARD_OPTIONS_INIT;
    options.run = setup.run;
    int status = pappus_hits_count(&hits, cloud, setup.given.field, 1, error);
    if (status == PAPPUS_OK)
        status = pappus_hazard_find(&hazard, hits, &setup.given, cloud, &options, error);
    if (status == PAPPUS_OK)
        status = pappus_crews_post(crews, &setup.given, &setup.run, cloud, zones, hazard, error);
    pappus_hazard_free(hazard);
    pappus_hits_free(hits);
    return status;
}

static pappus_crews *post(void)
{
    pappus_scatter_options options = PAPPUS_SCATTER_OPTIONS_INIT;
    pappus_zones_options zone_options = PAPPUS_ZONES_OPTIONS_INIT;
    pappus_crews *crews = NULL;
    pappus_error error = {0};
    choice_setup_build(&setup);
    options.run.landings = setup.flight.plan.landings;
    int status = pappus_scatter(&cloud, &setup.flight.plan, setup.flight.air, &options, &error);
    if (status == PAPPUS_OK)
        status = pappus_zones_build(&zones, cloud, &setup.flight.plan, NULL, &zone_options, &error);
    if (status == PAPPUS_OK) status = post_on(&crews, &error);
    ck_assert_msg(status == PAPPUS_OK, "%s", error.message);
    return crews;
}

/* One post, no rule in the way (an all but sure recovery): the geometric median, to a
 * few metres, and a walk no longer than its own by more than the spacing's share. */
START_TEST(one_post_stands_at_the_geometric_median)
{
    setup.flight.plan.faults = (pappus_faults){0, 0, 0, 0};
    setup.flight.altimeters[0].works = setup.flight.altimeters[1].works = 1.0;
    setup.flight.plan.crew_standoff_m = 0.0;
    pappus_crews *crews = post();
    double median[2] = {300.0, 400.0}, shortest = 0.0;
    ck_assert_uint_eq(crews->post_count, 1);
    weiszfeld(median, cloud);
    for (size_t i = 0; i < cloud->count; i++)
        shortest += pappus_cloud_weight(cloud, i) *
                    hypot(cloud->east_m[i] - median[0], cloud->north_m[i] - median[1]);
    ck_assert_double_lt(
        hypot(crews->posts[0].east_m - median[0], crews->posts[0].north_m - median[1]), 15.0);
    ck_assert_double_ge(crews->walk_mean_m, shortest * (1.0 - 1e-6));
    ck_assert_double_le(crews->walk_mean_m, shortest * 1.01);
    ck_assert_double_gt(crews->walk_p90_m, crews->walk_mean_m);
    ck_assert_double_eq_tol(crews->posts[0].share, 1.0, 1e-9);
    pappus_crews_free(crews);
}
END_TEST

static bool inside(const pappus_area *area, double east_m, double north_m)
{
    pappus_containment *containment = NULL;
    uint8_t hit = 0;
    pappus_error error = {0};
    ck_assert_int_eq(pappus_containment_new(&containment, area, &error), PAPPUS_OK);
    ck_assert_int_eq(pappus_containment_test(&hit, containment, 1, &east_m, &north_m, 1, &error),
                     PAPPUS_OK);
    pappus_containment_free(containment);
    return hit;
}

static int by_walk(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (x[0] > y[0]) - (x[0] < y[0]);
}

/* The 90th percentile of the walks, weights added up by hand. */
START_TEST(nine_of_ten_walks_are_shorter)
{
    pappus_crews *crews = post();
    double(*walks)[2] = malloc(cloud->count * sizeof *walks), reached = 0.0;
    size_t i = 0;
    for (; i < cloud->count; i++) {
        walks[i][0] = hypot(cloud->east_m[i] - crews->posts[0].east_m,
                            cloud->north_m[i] - crews->posts[0].north_m);
        walks[i][1] = pappus_cloud_weight(cloud, i);
    }
    qsort(walks, cloud->count, sizeof *walks, by_walk);
    for (i = 0; reached < 0.9; i++)
        reached += walks[i][1];
    ck_assert_double_eq_tol(crews->walk_p90_m, walks[i - 1][0], 0.01 * walks[i - 1][0]);
    ck_assert_double_eq(crews->posts[0].walk_p90_m, crews->walk_p90_m);
    free(walks);
    pappus_crews_free(crews);
}
END_TEST

static const struct {
    pappus_outcome outcome;
    pappus_level kept_off, next;
} danger_zones[] = {
    {PAPPUS_NO_CANOPY, PAPPUS_LEVEL_90, PAPPUS_LEVEL_99},
    {PAPPUS_DROGUE_ONLY, PAPPUS_LEVEL_50, PAPPUS_LEVEL_90},
    {PAPPUS_MAIN_ONLY, PAPPUS_LEVEL_50, PAPPUS_LEVEL_90},
};

/* A road that leads from the middle of a dangerous outcome's zone across
 * the wind: the post stands on it as near as the design's contour allows, and no farther. (The
 * outcomes are so rare that no other rule speaks.) */
START_TEST(the_contour_that_a_post_keeps_off)
{
    double line[4] = {0, 0, 1, 0};
    pappus_road road = {(char *)(uintptr_t) "track", 2, line};
    pappus_plan *plan = &setup.flight.plan;
    plan->faults = (pappus_faults){1e-4, 1e-4, 0, 0};
    setup.flight.altimeters[0].works = setup.flight.altimeters[1].works = 0.9999;
    plan->crew_standoff_m = plan->crew_clear_m = 0.0;
    pappus_crews_free(post());
    const pappus_zone *zone = &zones->outcomes[danger_zones[_i].outcome];
    double median[2] = {300.0, 400.0};
    weiszfeld(median, cloud);
    double east = zone->mean_east_m - median[0], north = zone->mean_north_m - median[1];
    double away = hypot(east, north);
    line[0] = zone->mean_east_m;
    line[1] = zone->mean_north_m;
    line[2] = line[0] - 3000.0 * north / away;
    line[3] = line[1] + 3000.0 * east / away;
    setup.field.road_count = 1;
    setup.field.roads = &road;
    pappus_crews *crews = NULL;
    pappus_error error = {0};
    ck_assert_int_eq(post_on(&crews, &error), PAPPUS_OK);
    ck_assert_uint_eq(crews->post_count, 1);
    const pappus_post *p = &crews->posts[0];
    ck_assert(!inside(&zone->contours[danger_zones[_i].kept_off].shape, p->east_m, p->north_m));
    ck_assert(inside(&zone->contours[danger_zones[_i].next].shape, p->east_m, p->north_m));
    pappus_crews_free(crews);
}
END_TEST

START_TEST(no_post_breaks_a_rule)
{
    set_boundary(&setup, -800, -800, 1200, 1500);
    add_keep_out(&setup, "crowd", 200, 250, 500, 550);
    setup.flight.plan.crew_posts = 3;
    pappus_crews *crews = post();
    double share = 0.0;
    ck_assert_int_eq(crews->blocked_by, PAPPUS_POST_FREE);
    ck_assert_uint_eq(crews->post_count, 3);
    for (size_t k = 0; k < 3; k++) {
        const pappus_post *p = &crews->posts[k];
        ck_assert_double_ge(hypot(p->east_m, p->north_m), 100.0);
        ck_assert(!inside(&setup.keep_outs[0], p->east_m, p->north_m));
        ck_assert(inside(&setup.field.boundary, p->east_m, p->north_m));
        ck_assert(!inside(&zones->outcomes[PAPPUS_NO_CANOPY].contours[PAPPUS_LEVEL_90].shape,
                          p->east_m, p->north_m));
        ck_assert(!inside(&zones->outcomes[PAPPUS_DROGUE_ONLY].contours[PAPPUS_LEVEL_50].shape,
                          p->east_m, p->north_m));
        ck_assert(!inside(&zones->outcomes[PAPPUS_MAIN_ONLY].contours[PAPPUS_LEVEL_50].shape,
                          p->east_m, p->north_m));
        share += p->share;
    }
    ck_assert_double_eq_tol(share, 1.0, 1e-9);
    pappus_crews_free(crews);
}
END_TEST

/* Chance per flight of hardware without a full recovery within `reach_m` of a place, as
 * it would fall on 4 m2 of it: landings counted, no density estimated. */
static double hit_chance(double east_m, double north_m, double reach_m)
{
    static const pappus_outcome dangers[] = {PAPPUS_NO_CANOPY,
                                             PAPPUS_DROGUE_ONLY}; /* the fast ones */
    double chance = 0.0;
    for (size_t i = 0; i < cloud->count; i++)
        for (size_t d = 0; d < 2; d++)
            if (cloud->outcome[i] == dangers[d] &&
                hypot(cloud->east_m[i] - east_m, cloud->north_m[i] - north_m) < reach_m)
                chance += pappus_cloud_weight(cloud, i);
    return chance * 4.0 / (M_PI * reach_m * reach_m);
}

/* A main that fails in a third of the flights: hardware is likely to fall about the lobe
 * of `drogue only`, beyond its 50 % contour too. 1e-6 (the design's assumption) are about
 * 20 landings in the circle; their scatter is 22 %, four times that is allowed. */
START_TEST(no_post_where_hardware_is_likely_to_fall)
{
    setup.flight.plan.faults.main_fails = 0.3;
    setup.flight.plan.crew_posts = 3;
    pappus_crews *crews = post();
    const pappus_zone *drogue_only = NULL;
    double densest = 0.0;
    ck_assert_uint_eq(crews->post_count, 3);
    for (size_t k = 0; k < 3; k++)
        ck_assert_double_le(hit_chance(crews->posts[k].east_m, crews->posts[k].north_m, 40.0),
                            1.9e-6);
    /* and the rule has something to forbid outside the contours */
    drogue_only = &zones->outcomes[PAPPUS_DROGUE_ONLY];
    const pappus_ring *edge = &drogue_only->contours[PAPPUS_LEVEL_50].shape.polygons[0].rings[0];
    for (size_t i = 0; i < edge->point_count; i += 10)
        densest = fmax(densest, hit_chance(edge->points_m[2 * i], edge->points_m[2 * i + 1], 40.0));
    ck_assert_double_gt(densest, 2e-6);
    pappus_crews_free(crews);
}
END_TEST

/* Chance per flight of anything within a reach of a place, landings counted one by one. */
static double near_chance(double east_m, double north_m, double reach_m)
{
    double chance = 0.0;
    for (size_t i = 0; i < cloud->count; i++)
        if (hypot(cloud->east_m[i] - east_m, cloud->north_m[i] - north_m) <= reach_m)
            chance += pappus_cloud_weight(cloud, i);
    return chance;
}

/* The geometric median is in the middle of the zone, where much comes down: with the rule a
 * post stands at its edge, and no nearer than it must. */
START_TEST(no_post_stands_under_the_zone)
{
    setup.flight.plan.crew_posts = 2;
    setup.flight.plan.crew_clear_m = 30.48;
    setup.flight.plan.crew_chance = 0.001;
    pappus_crews *crews = post();
    double median[2] = {300.0, 400.0};
    weiszfeld(median, cloud);
    ck_assert_double_gt(near_chance(median[0], median[1], 30.48), 0.005);
    ck_assert_uint_eq(crews->post_count, 2);
    for (size_t k = 0; k < 2; k++) {
        const pappus_post *p = &crews->posts[k];
        double counted = near_chance(p->east_m, p->north_m, 30.48);
        ck_assert_double_le(counted, 0.001);
        ck_assert_double_eq_tol(p->near_chance, counted, 1e-12);
    }
    double walk_m = crews->walk_mean_m;
    pappus_crews_free(crews);
    pappus_zones_free(zones);
    pappus_cloud_free(cloud);
    setup.flight.plan.crew_clear_m = 0.0;
    crews = post();
    ck_assert_double_lt(crews->walk_mean_m, walk_m);
    pappus_crews_free(crews);
}
END_TEST

/* A chance of nothing at all leaves no place on a small field, and that rule is named. */
START_TEST(what_would_have_to_give)
{
    set_boundary(&setup, 100, 150, 500, 650);
    setup.flight.plan.crew_clear_m = 200.0;
    setup.flight.plan.crew_chance = 1e-9;
    pappus_crews *crews = post();
    ck_assert_uint_eq(crews->post_count, 0);
    ck_assert_int_eq(crews->blocked_by, PAPPUS_POST_CLEAR);
    pappus_crews_free(crews);
}
END_TEST

/* X: a right triangle: the main opens 400 m above a place 300 m east and 400 m north of the
 * post: bearing atan(3/4), elevation atan(400/500). */
START_TEST(where_to_look_and_when)
{
    pappus_post stand = {.east_m = -100, .north_m = 50};
    pappus_crews crews = {.post_count = 1, .posts = &stand};
    pappus_path_point points[] = {{.time_s = 0, .height_m = 1000},
                                  {.time_s = 60, .east_m = 180, .north_m = 430, .height_m = 440},
                                  {.time_s = 70, .east_m = 220, .north_m = 470, .height_m = 360},
                                  {.time_s = 90, .east_m = 300, .north_m = 500}};
    pappus_path path = {4, points, 0.1, 60.0, 65.0, NAN, NAN};
    pappus_crews_look(&crews, &path);
    ck_assert_double_eq_tol(stand.look_bearing_deg, 36.869898, 1e-5);
    ck_assert_double_eq_tol(stand.look_elevation_deg, 38.659808, 1e-5);
    ck_assert_double_eq(stand.look_s, 65.0);
    path.main_full_open_s = path.main_fire_s = path.drogue_fire_s = NAN;
    pappus_crews_look(&crews, &path);
    ck_assert_double_nan(stand.look_bearing_deg);
}
END_TEST

START_TEST(posts_stand_on_the_road_where_there_is_one)
{
    double line[4] = {-500, 700, 1500, 700};
    pappus_road road = {(char *)(uintptr_t) "track", 2, line};
    setup.field.road_count = 1;
    setup.field.roads = &road;
    setup.flight.plan.crew_posts = 2;
    pappus_crews *crews = post();
    ck_assert_uint_eq(crews->post_count, 2);
    for (size_t k = 0; k < 2; k++) {
        ck_assert_double_eq_tol(crews->posts[k].north_m, 700.0, 1e-6);
        ck_assert_str_eq(crews->posts[k].road, "track");
    }
    pappus_crews_free(crews);
}
END_TEST

START_TEST(the_rule_in_the_way_is_named)
{
    set_boundary(&setup, -300, -300, 300, 300);
    setup.flight.plan.crew_standoff_m = 2000.0;
    pappus_crews *crews = post();
    ck_assert_uint_eq(crews->post_count, 0);
    ck_assert_int_eq(crews->blocked_by, PAPPUS_POST_STANDOFF);
    pappus_crews_free(crews);
}
END_TEST

/* A plan that asks for no posts gets none. */
START_TEST(no_posts_asked)
{
    setup.flight.plan.crew_posts = 0;
    pappus_crews *crews = post();
    ck_assert_uint_eq(crews->post_count, 0);
    ck_assert_int_eq(crews->blocked_by, PAPPUS_POST_FREE);
    ck_assert_double_eq(crews->walk_mean_m, 0.0);
    pappus_crews_free(crews);
}
END_TEST

SUITE("crews")
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, one_and_two_posts_are_exact);
    tcase_add_test(tests, three_posts_are_close_to_the_best);
    tcase_add_test(tests, one_post_stands_at_the_geometric_median);
    tcase_add_test(tests, nine_of_ten_walks_are_shorter);
    tcase_add_loop_test(tests, the_contour_that_a_post_keeps_off, 0, 3);
    tcase_add_test(tests, no_post_breaks_a_rule);
    tcase_add_test(tests, no_post_stands_under_the_zone);
    tcase_add_test(tests, what_would_have_to_give);
    tcase_add_test(tests, where_to_look_and_when);
    tcase_add_test(tests, no_post_where_hardware_is_likely_to_fall);
    tcase_add_test(tests, posts_stand_on_the_road_where_there_is_one);
    tcase_add_test(tests, the_rule_in_the_way_is_named);
    tcase_add_test(tests, no_posts_asked);
}
