/* SPDX-License-Identifier: GPL-3.0-or-later
 * Where the recovery crews wait: K posts that make the expected straight walk to
 * the landing smallest, over all outcomes, on roads where there are any, else on
 * the field. A place qualifies when it
 *   - is at least the standoff away from the pad,
 *   - is on no keep-out area,
 *   - has a chance per flight of at most crews.chance that anything comes down within
 *     crews.clear of it, over all outcomes: the edge of the zone, not under it,
 *   - has a chance per flight of being hit by fast hardware of at most HIT_CHANCE: the
 *     hazard field (pappus/hazard.h) of the outcomes that touch down faster than FAST times
 *     the landing speed that is allowed: from what comes slowly one steps aside,
 *   - lies outside the 90 % contour of `no canopy` and the 50 % contours of `drogue
 *     only` and `main only`, each given that it happens.
 * Places are candidates first spaced SPACING or wider, then finer round the chosen
 * ones. A straight walk: it knows no fence, river or crop. */
#include <pappus/choice.h>

#include "bearing.h"
#include "crew_walks.h"
#include "error.h"
#include "geometry.h"
#include "hits.h"
#include "nearby.h"
#include "posts.h"
#include "run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HIT_CHANCE 1e-6 /* assumption */
/* Where it is thin the field errs by a fifth (measured), and the search for the best place
 * finds where it errs low. */
#define FIELD_ERROR 1.5
#define FAST 1.5                 /* assumption */
#define USUAL_LANDING_MPS 6.7056 /* 22 ft/s, where the plan has no limit (practice) */
#define CANDIDATES 300           /* at most, in the first round */
#define SPACING_M 10.0
#define REFINE 4 /* finer by this much, twice */
#define ROUNDS 2
#define CELLS 40

const char *pappus_post_rule_text(pappus_post_rule rule)
{
    static const char *const texts[PAPPUS_POST_RULES] = {
#define ROW(name, text) [PAPPUS_POST_##name] = text,
        PAPPUS_POST_RULE_LIST(ROW)
#undef ROW
    };
    return texts[rule];
}

static const struct {
    pappus_outcome outcome;
    pappus_level level;
} dangers[] = {{PAPPUS_NO_CANOPY, PAPPUS_LEVEL_90},
               {PAPPUS_DROGUE_ONLY, PAPPUS_LEVEL_50},
               {PAPPUS_MAIN_ONLY, PAPPUS_LEVEL_50}};
#define DANGERS (sizeof dangers / sizeof dangers[0])

/* A road to stand on, or the field's surface (points NULL). */
typedef struct {
    const pappus_road *road;
    double along_m; /* on the road */
} place;

typedef struct {
    const pappus_givens *given;
    pappus_run run;
    const pappus_cloud *cloud;
    const pappus_zones *zones;
    pappus_field_shapes *shapes;
    pappus_containment *danger[DANGERS]; /* NULL: no such zone */
    const pappus_hazard *hazard;
    bool fast[PAPPUS_OUTCOMES];
    pappus_nearby nearby;
    pappus_points landings;
    double spacing_m;
    double bounds_m[4];
} search;

/* ------------------------------------------------------------ candidates */

typedef struct {
    pappus_points points;
    place *places;
    size_t capacity;
} candidates;

static void candidates_clear(candidates *c)
{
    pappus_points_clear(&c->points);
    free(c->places);
    *c = (candidates){0};
}

static int candidates_reserve(candidates *c, size_t capacity, pappus_error *err)
{
    *c = (candidates){.capacity = capacity};
    int status = pappus_points_reserve(&c->points, capacity, false, err);
    if (status != PAPPUS_OK) return status;
    c->places = calloc(capacity + 1, sizeof *c->places);
    if (c->places) return PAPPUS_OK;
    candidates_clear(c);
    return pappus_fail_memory(err);
}

static void add(candidates *c, double east_m, double north_m, place where)
{
    if (c->points.count >= c->capacity) return;
    c->points.east_m[c->points.count] = east_m;
    c->points.north_m[c->points.count] = north_m;
    c->places[c->points.count++] = where;
}

static double road_length_m(const pappus_road *road)
{
    double length = 0.0;
    const double *p = road->points_m;
    for (size_t i = 1; i < road->point_count; i++)
        length += hypot(p[2 * i] - p[2 * i - 2], p[2 * i + 1] - p[2 * i - 1]);
    return length;
}

static void add_on_road(candidates *c, const pappus_road *road, double along_m)
{
    const double *p = road->points_m;
    double rest = fmax(along_m, 0.0);
    for (size_t i = 1; i < road->point_count; i++) {
        double east = p[2 * i] - p[2 * i - 2], north = p[2 * i + 1] - p[2 * i - 1];
        double length = hypot(east, north);
        if (rest <= length || i + 1 == road->point_count) {
            double t = length > 0.0 ? fmin(rest / length, 1.0) : 0.0;
            add(c, p[2 * i - 2] + t * east, p[2 * i - 1] + t * north, (place){road, along_m});
            return;
        }
        rest -= length;
    }
}

static int candidates_on_roads(candidates *c, search *s, pappus_error *err)
{
    const pappus_field *field = s->given->field;
    double total = 0.0;
    for (size_t r = 0; r < field->road_count; r++)
        total += road_length_m(&field->roads[r]);
    s->spacing_m = fmax(SPACING_M, total / CANDIDATES);
    int status = candidates_reserve(c, (size_t)(total / s->spacing_m) + 2 * field->road_count, err);
    if (status != PAPPUS_OK) return status;
    for (size_t r = 0; r < field->road_count; r++) {
        double length = road_length_m(&field->roads[r]);
        for (double along = 0.0; along <= length; along += s->spacing_m)
            add_on_road(c, &field->roads[r], along);
    }
    return PAPPUS_OK;
}

/* The field's extent, or without a boundary that of the nominal zone and the pad. */
static void extent(search *s)
{
    const pappus_field *field = s->given->field;
    if (field && field->has_boundary && pappus_area_bounds(s->bounds_m, &field->boundary)) return;
    const pappus_zone *zone = &s->zones->outcomes[PAPPUS_NOMINAL];
    double reach = zone->ellipses[PAPPUS_LEVELS - 1].major_m + s->given->plan->crew_standoff_m;
    s->bounds_m[0] = fmin(0.0, zone->mean_east_m) - reach;
    s->bounds_m[1] = fmin(0.0, zone->mean_north_m) - reach;
    s->bounds_m[2] = fmax(0.0, zone->mean_east_m) + reach;
    s->bounds_m[3] = fmax(0.0, zone->mean_north_m) + reach;
}

static int candidates_on_field(candidates *c, search *s, pappus_error *err)
{
    extent(s);
    const double *b = s->bounds_m;
    double side = sqrt((b[2] - b[0]) * (b[3] - b[1]) / CANDIDATES);
    s->spacing_m = fmax(SPACING_M, side);
    size_t columns = (size_t)((b[2] - b[0]) / s->spacing_m) + 1;
    size_t rows = (size_t)((b[3] - b[1]) / s->spacing_m) + 1;
    int status = candidates_reserve(c, columns * rows, err);
    if (status != PAPPUS_OK) return status;
    for (size_t j = 0; j < rows; j++)
        for (size_t i = 0; i < columns; i++)
            add(c, b[0] + ((double)i + 0.5) * s->spacing_m, b[1] + ((double)j + 0.5) * s->spacing_m,
                (place){0});
    return PAPPUS_OK;
}

static void add_around(candidates *c, const candidates *from, size_t chosen, double step_m)
{
    place at = from->places[chosen];
    double east = from->points.east_m[chosen], north = from->points.north_m[chosen];
    for (int i = -REFINE; i <= REFINE; i++) {
        if (at.road) {
            double along = at.along_m + i * step_m;
            if (along >= 0.0 && along <= road_length_m(at.road)) add_on_road(c, at.road, along);
            continue;
        }
        for (int j = -REFINE; j <= REFINE; j++)
            add(c, east + i * step_m, north + j * step_m, (place){0});
    }
}

/* ------------------------------------------------------------------ rules */

/* Chance per flight of being hit, at a place. */
static double hit_chance(const search *s, double east_m, double north_m)
{
    double chance = 0.0;
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++)
        if (s->fast[h]) chance += pappus_hazard_of(s->hazard, (pappus_outcome)h, east_m, north_m);
    return chance;
}

static int mark(unsigned *broken, uint8_t *inside, const pappus_containment *area,
                pappus_post_rule mark_as, const search *s, const pappus_points *places,
                pappus_error *err)
{
    int status = pappus_containment_test(inside, area, places->count, places->east_m,
                                         places->north_m, s->run.threads, err);
    for (size_t i = 0; i < places->count && status == PAPPUS_OK; i++)
        if (inside[i]) broken[i] |= 1U << mark_as;
    return status;
}

static int mark_areas(unsigned *broken, const search *s, const pappus_points *places,
                      pappus_error *err)
{
    uint8_t *inside = malloc(places->count + 1);
    if (!inside) return pappus_fail_memory(err);
    int status = PAPPUS_OK;
    for (size_t k = 0; k < s->shapes->keep_out_count && status == PAPPUS_OK; k++)
        status =
            mark(broken, inside, s->shapes->keep_outs[k], PAPPUS_POST_KEEP_OUT, s, places, err);
    for (size_t d = 0; d < DANGERS && status == PAPPUS_OK; d++)
        if (s->danger[d])
            status = mark(broken, inside, s->danger[d], PAPPUS_POST_CONTOUR, s, places, err);
    free(inside);
    return status;
}

/* Off the road, a post stands inside the boundary. */
static int drop_outside(unsigned *broken, const search *s, const candidates *c, pappus_error *err)
{
    uint8_t *inside = NULL;
    if (!s->shapes->boundary) return PAPPUS_OK;
    inside = malloc(c->points.count + 1);
    if (!inside) return pappus_fail_memory(err);
    int status = pappus_containment_test(inside, s->shapes->boundary, c->points.count,
                                         c->points.east_m, c->points.north_m, s->run.threads, err);
    for (size_t i = 0; i < c->points.count && status == PAPPUS_OK; i++)
        if (!c->places[i].road && !inside[i]) broken[i] |= 1U << PAPPUS_POST_OUTSIDE;
    free(inside);
    return status;
}

/* Bits of the rules that each place breaks. */
static int apply_rules(unsigned *broken, const search *s, const candidates *c, pappus_error *err)
{
    const pappus_plan *plan = s->given->plan;
    for (size_t i = 0; i < c->points.count; i++) {
        double east = c->points.east_m[i], north = c->points.north_m[i];
        broken[i] = 0;
        if (hypot(east, north) < plan->crew_standoff_m) broken[i] |= 1U << PAPPUS_POST_STANDOFF;
        if (pappus_nearby_chance(&s->nearby, east, north) > plan->crew_chance)
            broken[i] |= 1U << PAPPUS_POST_CLEAR;
        if (FIELD_ERROR * hit_chance(s, east, north) > HIT_CHANCE)
            broken[i] |= 1U << PAPPUS_POST_HIT;
    }
    int status = drop_outside(broken, s, c, err);
    return status == PAPPUS_OK ? mark_areas(broken, s, &c->points, err) : status;
}

/* What stands in the way where every place breaks a rule: the one that keeps most places
 * off by itself, or, when each breaks several, the one that most of them break. */
static pappus_post_rule in_the_way_of(const unsigned *broken, size_t count)
{
    size_t any[PAPPUS_POST_RULES] = {0}, alone[PAPPUS_POST_RULES] = {0};
    pappus_post_rule most = PAPPUS_POST_OUTSIDE, sole = PAPPUS_POST_OUTSIDE;
    for (size_t i = 0; i < count; i++)
        for (int r = PAPPUS_POST_OUTSIDE; r < PAPPUS_POST_RULES; r++) {
            any[r] += broken[i] >> r & 1U;
            alone[r] += broken[i] == 1U << r;
        }
    for (int r = PAPPUS_POST_OUTSIDE; r < PAPPUS_POST_RULES; r++) {
        if (any[r] > any[most]) most = (pappus_post_rule)r;
        if (alone[r] > alone[sole]) sole = (pappus_post_rule)r;
    }
    return alone[sole] > 0 ? sole : most;
}

/* Keeps the places that qualify; without any, what is in the way. */
static int keep_allowed(candidates *c, pappus_post_rule *in_the_way, const search *s,
                        pappus_error *err)
{
    size_t kept = 0;
    unsigned *broken = malloc((c->points.count + 1) * sizeof *broken);
    if (!broken) return pappus_fail_memory(err);
    int status = apply_rules(broken, s, c, err);
    *in_the_way = in_the_way_of(broken, c->points.count);
    for (size_t i = 0; i < c->points.count && status == PAPPUS_OK; i++) {
        if (broken[i] != 0) continue;
        c->points.east_m[kept] = c->points.east_m[i];
        c->points.north_m[kept] = c->points.north_m[i];
        c->places[kept++] = c->places[i];
    }
    c->points.count = kept;
    if (kept > 0) *in_the_way = PAPPUS_POST_FREE;
    free(broken);
    return status;
}

/* ----------------------------------------------------------------- search */

static void search_end(search *s)
{
    for (size_t d = 0; d < DANGERS; d++)
        pappus_containment_free(s->danger[d]);
    pappus_nearby_clear(&s->nearby);
    pappus_field_shapes_free(s->shapes);
    pappus_points_clear(&s->landings);
}

static bool is_fast(const search *s, const pappus_zone *zone)
{
    double limit_mps = s->given->plan->limits.landing_speed_mps;
    return zone->landing_vz_mps.p50 > FAST * (isnan(limit_mps) ? USUAL_LANDING_MPS : limit_mps);
}

static int search_danger(search *s, size_t d, pappus_error *err)
{
    const pappus_zone *zone = &s->zones->outcomes[dangers[d].outcome];
    if (zone->contour_count == 0) return PAPPUS_OK;
    return pappus_containment_new(&s->danger[d], &zone->contours[dangers[d].level].shape, err);
}

static int search_begin(search *s, const pappus_givens *given, const pappus_run *run,
                        const pappus_cloud *cloud, const pappus_zones *zones,
                        const pappus_hazard *hazard, pappus_error *err)
{
    *s = (search){.given = given,
                  .run = pappus_run_of_plan(run, given->plan),
                  .cloud = cloud,
                  .zones = zones,
                  .hazard = hazard};
    int status = pappus_field_shapes_new(&s->shapes, given->field, err);
    for (size_t d = 0; d < DANGERS && status == PAPPUS_OK; d++)
        status = search_danger(s, d, err);
    for (size_t h = 0; h < PAPPUS_OUTCOMES; h++)
        s->fast[h] = zones->outcomes[h].landings > 0 && is_fast(s, &zones->outcomes[h]);
    if (status == PAPPUS_OK)
        status = pappus_nearby_build(&s->nearby, cloud, given->plan->crew_clear_m, err);
    if (status == PAPPUS_OK) status = pappus_points_gather(&s->landings, cloud, CELLS, err);
    return status;
}

/* Finer candidates round the chosen ones, among which they themselves are. */
static int refine(candidates *c, size_t *chosen, double *walk_m, size_t k, const search *s,
                  double step_m, pappus_error *err)
{
    candidates finer;
    pappus_post_rule in_the_way = PAPPUS_POST_FREE;
    size_t around = (2 * REFINE + 1) * (2 * REFINE + 1);
    int status = candidates_reserve(&finer, k * around, err);
    if (status != PAPPUS_OK) return status;
    for (size_t i = 0; i < k; i++)
        add_around(&finer, c, chosen[i], step_m);
    status = keep_allowed(&finer, &in_the_way, s, err);
    if (status == PAPPUS_OK && !in_the_way)
        status = pappus_posts_choose(chosen, walk_m, k, &finer.points, &s->landings, err);
    if (status == PAPPUS_OK && !in_the_way) {
        candidates_clear(c);
        *c = finer;
        return PAPPUS_OK;
    }
    candidates_clear(&finer);
    return status;
}

static int first_candidates(candidates *c, pappus_post_rule *in_the_way, search *s,
                            pappus_error *err)
{
    const pappus_field *field = s->given->field;
    bool roads = field && field->road_count > 0;
    int status = roads ? candidates_on_roads(c, s, err) : candidates_on_field(c, s, err);
    return status == PAPPUS_OK ? keep_allowed(c, in_the_way, s, err) : status;
}

/* ------------------------------------------------------------------- posts */

static int place_on_earth(pappus_crews *crews, const pappus_site *site, pappus_error *err)
{
    pappus_frame *frame = NULL;
    int status = pappus_frame_new(&frame, site->latitude_deg, site->longitude_deg, err);
    for (size_t k = 0; k < crews->post_count && status == PAPPUS_OK; k++) {
        pappus_post *post = &crews->posts[k];
        double local[2] = {post->east_m, post->north_m}, earth[2];
        status = pappus_frame_to_geographic(frame, 1, local, earth, err);
        post->latitude_deg = earth[0];
        post->longitude_deg = earth[1];
    }
    pappus_frame_free(frame);
    return status;
}

static int fill_posts(pappus_crews *crews, const candidates *c, const size_t *chosen, size_t k,
                      const search *s, pappus_error *err)
{
    crews->posts = calloc(k, sizeof *crews->posts);
    if (!crews->posts) return pappus_fail_memory(err);
    crews->post_count = k;
    for (size_t i = 0; i < k; i++) {
        pappus_post *post = &crews->posts[i];
        post->east_m = c->points.east_m[chosen[i]];
        post->north_m = c->points.north_m[chosen[i]];
        post->distance_m = hypot(post->east_m, post->north_m);
        post->near_chance = pappus_nearby_chance(&s->nearby, post->east_m, post->north_m);
        post->look_bearing_deg = post->look_elevation_deg = post->look_s = NAN;
        post->bearing_deg = pappus_bearing_of(post->east_m, post->north_m);
        if (!c->places[chosen[i]].road) continue;
        post->road = strdup(c->places[chosen[i]].road->name ? c->places[chosen[i]].road->name : "");
        if (!post->road) return pappus_fail_memory(err);
    }
    return PAPPUS_OK;
}

static int choose_posts(pappus_crews *crews, candidates *c, size_t k, search *s, pappus_error *err)
{
    double walk_m = NAN;
    size_t *chosen = calloc(k, sizeof *chosen);
    if (!chosen) return pappus_fail_memory(err);
    double step_m = s->spacing_m / REFINE;
    int status = pappus_posts_choose(chosen, &walk_m, k, &c->points, &s->landings, err);
    for (int round = 0; round < ROUNDS && status == PAPPUS_OK; round++, step_m /= REFINE)
        status = refine(c, chosen, &walk_m, k, s, step_m, err);
    if (status == PAPPUS_OK) status = fill_posts(crews, c, chosen, k, s, err);
    free(chosen);
    return status;
}

static int find_posts(pappus_crews *crews, search *s, pappus_error *err)
{
    const pappus_plan *plan = s->given->plan;
    candidates c = {0};
    pappus_post_rule in_the_way = PAPPUS_POST_FREE;
    int status = first_candidates(&c, &in_the_way, s, err);
    crews->candidate_count = c.points.count;
    crews->blocked_by = in_the_way;
    if (status == PAPPUS_OK && !in_the_way && plan->crew_posts > 0) {
        size_t k = plan->crew_posts < c.points.count ? plan->crew_posts : c.points.count;
        status = choose_posts(crews, &c, k, s, err);
        if (status == PAPPUS_OK) status = pappus_crews_walks(crews, s->cloud, err);
        if (status == PAPPUS_OK) status = place_on_earth(crews, &plan->site, err);
    }
    candidates_clear(&c);
    return status;
}

int pappus_crews_post(pappus_crews **out, const pappus_givens *given, const pappus_run *run,
                      const pappus_cloud *cloud, const pappus_zones *zones,
                      const pappus_hazard *hazard, pappus_error *err)
{
    search s;
    *out = NULL;
    pappus_crews *crews = calloc(1, sizeof *crews);
    if (!crews) return pappus_fail_memory(err);
    int status = search_begin(&s, given, run, cloud, zones, hazard, err);
    if (status == PAPPUS_OK) status = find_posts(crews, &s, err);
    search_end(&s);
    if (status != PAPPUS_OK) {
        pappus_crews_free(crews);
        return status;
    }
    *out = crews;
    return PAPPUS_OK;
}

void pappus_crews_free(pappus_crews *crews)
{
    if (!crews) return;
    for (size_t k = 0; k < crews->post_count; k++)
        free(crews->posts[k].road);
    free(crews->posts);
    free(crews);
}
