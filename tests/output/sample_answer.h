/* SPDX-License-Identifier: GPL-3.0-or-later
 * An answer made by hand for the tests of the writers: everything in it is
 * invented, and nothing is computed by the stages before. The zone has two
 * lobes; the 99 % contour has a hole. `text` goes wherever a user's text can be. */
#ifndef TESTS_OUTPUT_SAMPLE_ANSWER_H
#define TESTS_OUTPUT_SAMPLE_ANSWER_H

#include <pappus/pappus.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAMPLE_RING 48
#define SAMPLE_PI 3.14159265358979323846
#define SAMPLE_LATITUDE 43.5672
#define SAMPLE_LONGITUDE -116.2113

typedef struct {
    pappus_answer answer;
    pappus_plan plan;
    pappus_winds winds;
    pappus_field field;
    pappus_cloud cloud;
    pappus_hits hits;
    pappus_zones zones;
    pappus_judgement judgement;
    pappus_heights heights;
    pappus_ceiling ceiling;
    pappus_crews crews;
    pappus_sensitivity sensitivity;
    pappus_window window;
    pappus_path path;
    char *text;
    size_t block_count;
    void *blocks[512];
} sample_answer;

static inline void *sample_block(sample_answer *sample, size_t count, size_t size)
{
    void *block = calloc(count ? count : 1, size);
    if (!block || sample->block_count == 512) abort();
    sample->blocks[sample->block_count++] = block;
    return block;
}

static inline void sample_answer_clear(sample_answer *sample)
{
    for (size_t i = 0; i < sample->block_count; i++)
        free(sample->blocks[i]);
    free(sample);
}

/* A number in (0, 1) from a 64-bit mix of the counter (splitmix64). */
static inline double sample_uniform(uint64_t counter)
{
    uint64_t z = (counter + 1) * 0x9E3779B97F4A7C15ULL;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return ((double)((z ^ (z >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static inline double sample_normal(uint64_t counter)
{
    return sqrt(-2 * log(sample_uniform(2 * counter))) *
           cos(2 * SAMPLE_PI * sample_uniform(2 * counter + 1));
}

/* turn: 1 counter-clockwise (shells), -1 clockwise (holes). */
static inline pappus_ring sample_disc(sample_answer *sample, double east_m, double north_m,
                                      double radius_m, int turn)
{
    pappus_ring ring = {SAMPLE_RING, sample_block(sample, 2 * SAMPLE_RING, sizeof(double))};
    for (size_t i = 0; i < SAMPLE_RING; i++) {
        double angle = turn * 2 * SAMPLE_PI * (double)i / SAMPLE_RING;
        ring.points_m[2 * i] = east_m + radius_m * cos(angle);
        ring.points_m[2 * i + 1] = north_m + radius_m * sin(angle);
    }
    return ring;
}

/* One polygon per lobe; the first has a hole when hole_m is not 0. */
static inline pappus_area sample_lobes(sample_answer *sample, double radius_m, double hole_m)
{
    pappus_area area = {sample_block(sample, 1, 1), 2,
                        sample_block(sample, 2, sizeof(pappus_polygon))};
    for (size_t i = 0; i < 2; i++) {
        double east_m = i == 0 ? 420 : -380, north_m = i == 0 ? 260 : 310;
        pappus_polygon *polygon = &area.polygons[i];
        polygon->rings = sample_block(sample, 2, sizeof(pappus_ring));
        polygon->ring_count = i == 0 && hole_m > 0 ? 2 : 1;
        polygon->rings[0] = sample_disc(sample, east_m, north_m, radius_m, 1);
        if (polygon->ring_count == 2)
            polygon->rings[1] = sample_disc(sample, east_m, north_m, hole_m, -1);
    }
    return area;
}

static inline pappus_area sample_square(sample_answer *sample, char *name, double west_m,
                                        double south_m, double east_m, double north_m)
{
    const double corners[8] = {west_m, south_m, east_m, south_m, east_m, north_m, west_m, north_m};
    pappus_area area = {name, 1, sample_block(sample, 1, sizeof(pappus_polygon))};
    area.polygons->ring_count = 1;
    area.polygons->rings = sample_block(sample, 1, sizeof(pappus_ring));
    area.polygons->rings->point_count = 4;
    area.polygons->rings->points_m = sample_block(sample, 8, sizeof(double));
    memcpy(area.polygons->rings->points_m, corners, sizeof corners);
    return area;
}

static inline pappus_quantiles sample_spread(double middle, double half)
{
    return (pappus_quantiles){middle - half, middle, middle + half};
}

static inline void sample_plan(sample_answer *sample)
{
    pappus_plan *plan = &sample->plan;
    plan->path = plan->title = sample->text;
    plan->site = (pappus_site){.latitude_deg = SAMPLE_LATITUDE,
                               .longitude_deg = SAMPLE_LONGITUDE,
                               .elevation_msl_m = 286,
                               .declination_deg = 3,
                               .temperature_k = NAN,
                               .pressure_pa = NAN};
    plan->rocket.mass_kg = (pappus_uncertain){PAPPUS_EXACT, 8.4, 0, NAN, NAN, NAN};
    plan->rocket.section_count = 2;
    plan->rocket.sections = sample_block(sample, 2, sizeof(pappus_section));
    plan->rocket.sections[0] = (pappus_section){sample->text, 3.0};
    plan->rocket.sections[1] = (pappus_section){sample->text, 5.4};
    plan->altimeter_count = 1;
    plan->altimeters = sample_block(sample, 1, sizeof(pappus_altimeter));
    plan->altimeters[0] =
        (pappus_altimeter){.name = sample->text, .main_height_m = 213.36, .works = 0.995};
    plan->has_wind = true;
    plan->wind.has_surface = true;
    plan->wind.surface = (pappus_observation){2, 5.36448, 240, 1};
    plan->wind.gust_mps = NAN;
    plan->crew_posts = 2;
    plan->crew_walking_speed_mps = 1.34112; /* 3 mph */
    plan->landings = sample->cloud.count;
    plan->seed = 1;
    plan->limits.inside_field = 0.95;
    plan->limits.keep_out = 0.01;
    plan->entry_count = 2;
    plan->entries = sample_block(sample, 2, sizeof(pappus_plan_entry));
    plan->entries[0] = (pappus_plan_entry){"faults.main_fails", NULL, "0.01", "0.01", "", true};
    plan->entries[1] =
        (pappus_plan_entry){"title", sample->text, sample->text, sample->text, "", false};
}

static inline void sample_field(sample_answer *sample)
{
    pappus_field *field = &sample->field;
    field->has_boundary = true;
    field->boundary = sample_square(sample, sample->text, -900, -800, 1000, 900);
    field->keep_out_count = 2;
    field->keep_outs = sample_block(sample, 2, sizeof(pappus_area));
    field->keep_outs[0] = sample_square(sample, sample->text, -200, -200, -100, -100);
    field->keep_outs[1] = sample_square(sample, "car park", 500, 100, 700, 200);
    field->road_count = 1;
    field->roads = sample_block(sample, 1, sizeof(pappus_road));
    field->roads[0] = (pappus_road){sample->text, 3, sample_block(sample, 6, sizeof(double))};
    const double road[6] = {-900, 150, 0, 180, 1000, 120};
    memcpy(field->roads[0].points_m, road, sizeof road);
}

static inline void sample_cloud(sample_answer *sample, size_t count)
{
    pappus_cloud *cloud = &sample->cloud;
    const double probability[PAPPUS_OUTCOMES] = {0.975, 0.005, 0.01, 0.01, 0};
    cloud->count = count;
    cloud->seed = 1;
    memcpy(cloud->probability, probability, sizeof probability);
    for (size_t i = 1; i < 4; i++)
        cloud->stratum_count[i] = count / 10;
    cloud->stratum_count[0] = count - 3 * (count / 10);
#define COLUMN(type, name) cloud->name = sample_block(sample, count, sizeof(type));
    PAPPUS_CLOUD_COLUMN_LIST(COLUMN)
#undef COLUMN
    for (size_t i = 0; i < count; i++) {
        size_t stratum = 0, from = cloud->stratum_count[0];
        while (i >= from)
            from += cloud->stratum_count[++stratum];
        bool left = sample_uniform(7 * i + 3) < 0.3;
        cloud->outcome[i] = (uint8_t)stratum;
        cloud->east_m[i] = (left ? -380 : 420) + 60 * sample_normal(2 * i);
        cloud->north_m[i] = (left ? 310 : 260) + 40 * sample_normal(2 * i + 1);
        cloud->time_s[i] = (float)(95 + 8 * sample_normal(5 * i + 1));
        cloud->vz_mps[i] = (float)(5.8 + 0.3 * sample_normal(9 * i + 2));
        cloud->speed_mps[i] = cloud->vz_mps[i] + 1.5F;
        cloud->main_full_open_m[i] = stratum == PAPPUS_DROGUE_ONLY ? 0 : 190;
    }
}

static inline void sample_zone(sample_answer *sample, pappus_zone *zone, double probability,
                               size_t landings)
{
    static const double scales[PAPPUS_LEVELS] = {1.1774, 2.1460, 2.4477, 3.0349};
    zone->probability = probability;
    zone->landings = landings;
    zone->unopened = landings > 0 ? 0.0 : NAN;
    if (landings == 0) return;
    zone->inside_field = (pappus_estimate){0.981, 0.979, 0.983};
    zone->keep_out_count = 2;
    zone->keep_out = sample_block(sample, 2, sizeof(pappus_estimate));
    zone->keep_out[0] = (pappus_estimate){0.0041, 0.0035, 0.0047};
    zone->keep_out[1] = (pappus_estimate){0.0213, 0.0199, 0.0228};
    zone->mean_east_m = 180;
    zone->mean_north_m = 275;
    const double covariance[2][2] = {{136000, -9000}, {-9000, 2100}};
    memcpy(zone->covariance_m2, covariance, sizeof covariance);
    zone->contour_count = PAPPUS_LEVELS;
    for (size_t k = 0; k < PAPPUS_LEVELS; k++) {
        double radius_m = 50 * scales[k], hole_m = k == PAPPUS_LEVEL_99 ? 30 : 0;
        zone->ellipses[k] = (pappus_ellipse){pappus_levels[k],
                                             pappus_levels[k] - 0.003,
                                             369 * scales[k],
                                             40 * scales[k],
                                             93.9,
                                             SAMPLE_PI * 369 * 40 * scales[k] * scales[k]};
        zone->contours[k] =
            (pappus_contour){pappus_levels[k], pappus_levels[k] + 0.001,
                             2 * SAMPLE_PI * radius_m * radius_m - SAMPLE_PI * hole_m * hole_m,
                             1e-7, sample_lobes(sample, radius_m, hole_m)};
    }
    zone->drift_m = sample_spread(494, 120);
    zone->drift_bearing_deg = sample_spread(58, 30);
    zone->time_s = sample_spread(95, 13);
    zone->landing_speed_mps = sample_spread(7.3, 0.5);
    zone->landing_vz_mps = sample_spread(5.8, 0.5);
    zone->drogue_load_g = sample_spread(4, 1);
    zone->main_load_g = sample_spread(11, 3);
    zone->main_full_open_m = sample_spread(190, 12);
    zone->section_count = 2;
    zone->energy_j = sample_block(sample, 2, sizeof(pappus_quantiles));
    zone->energy_total_j = sample_block(sample, 2, sizeof(pappus_quantiles));
    zone->energy_total_j[0] = sample_spread(60, 9);
    zone->energy_total_j[1] = sample_spread(110, 17);
    zone->energy_j[0] = sample_spread(50, 8);
    zone->energy_j[1] = sample_spread(91, 15);
}

static inline void sample_zones(sample_answer *sample)
{
    pappus_zones *zones = &sample->zones;
    const pappus_cloud *cloud = &sample->cloud;
    sample_zone(sample, &zones->all, 1, cloud->count);
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        sample_zone(sample, &zones->outcomes[i], cloud->probability[i], cloud->stratum_count[i]);
    pappus_hits *hits = &sample->hits;
    hits->inside_of = sample_block(sample, cloud->count, 1);
    hits->first_keep_out = sample_block(sample, cloud->count, sizeof(int32_t));
    for (size_t i = 0; i < cloud->count; i++) {
        hits->inside_of[i] = i % 50 != 0;
        hits->first_keep_out[i] = i % 250 == 3 ? 0 : i % 50 == 7 ? 1 : -1;
    }
}

static inline void sample_choice(sample_answer *sample)
{
    const pappus_estimate none = {NAN, NAN, NAN};
    const pappus_reason reasons[] = {
        {PAPPUS_LIMIT_INSIDE_FIELD, NULL, {0.981, 0.979, 0.983}, 0.95, true, PAPPUS_MET, {0}},
        {PAPPUS_LIMIT_KEEP_OUT,
         sample->text,
         {0.0041, 0.0035, 0.0047},
         0.01,
         false,
         PAPPUS_MET,
         {0}},
        {PAPPUS_LIMIT_KEEP_OUT,
         "car park",
         {0.0213, 0.0199, 0.0228},
         0.01,
         false,
         PAPPUS_BROKEN,
         {0}},
        {PAPPUS_LIMIT_SURFACE_WIND, NULL, {5.36448, NAN, NAN}, 8.9408, false, PAPPUS_MET, {0}},
        {PAPPUS_LIMIT_LANDING_ENERGY,
         sample->text,
         {106, 105, 107},
         101.686,
         false,
         PAPPUS_UNDECIDED,
         {PAPPUS_CAVEAT_UNOPENED, 3, 1000}},
        {PAPPUS_LIMIT_OPENING_LOAD, "main", none, 40, false, PAPPUS_UNDECIDED, {0}},
    };
    size_t count = sizeof reasons / sizeof reasons[0];
    pappus_judgement *judgement = &sample->judgement;
    judgement->decision = PAPPUS_NO_GO;
    judgement->reason_count = count;
    judgement->reasons = sample_block(sample, count, sizeof(pappus_reason));
    memcpy(judgement->reasons, reasons, sizeof reasons);
}

static inline void sample_heights(sample_answer *sample)
{
    pappus_heights *heights = &sample->heights;
    heights->row_count = 5;
    heights->rows = sample_block(sample, 5, sizeof(pappus_height_row));
    for (size_t i = 0; i < 5; i++) {
        pappus_height_row *row = &heights->rows[i];
        row->height_m = 30.48 * (double)(3 + 2 * i);
        row->inside_field = (pappus_estimate){0.99 - 0.012 * (double)i, 0.98 - 0.012 * (double)i,
                                              0.995 - 0.012 * (double)i};
        row->keep_out_count = 2;
        row->keep_out = sample_block(sample, 2, sizeof *row->keep_out);
        row->keep_out[0] = (pappus_estimate){0.001 * (double)(i + 1), NAN, NAN};
        row->keep_out[1] = (pappus_estimate){0.004 * (double)(i + 1), NAN, NAN};
        row->time_s = 70 + 8 * (double)i;
        row->walk_m = 240 + 20 * (double)i;
        row->full_open_p05_m = row->height_m - 25;
        row->use = fabs((double)i - 1) * 0.4 + 0.4;
        row->nearest = PAPPUS_LIMIT_KEEP_OUT;
        row->broken = i < 2 ? PAPPUS_LIMIT_NONE : PAPPUS_LIMIT_KEEP_OUT;
        row->verdict = i < 2 ? PAPPUS_MET : PAPPUS_BROKEN;
        row->contour_count = 1;
        row->contours[0] = sample->zones.all.contours[PAPPUS_LEVEL_90];
        row->mean_east_m = 150 + 10 * (double)i;
        row->mean_north_m = 270;
    }
    heights->planned_m = 213.36;
    heights->recommended_m = 152.4;
    heights->recommended_row = 1;
    heights->planned_row = 2;
    heights->shift_m = heights->recommended_m - heights->planned_m;
    heights->lower = (pappus_height_reason){PAPPUS_WHY_NOT_NO_BETTER, PAPPUS_LIMIT_NONE, 0};
    heights->higher = (pappus_height_reason){PAPPUS_WHY_NOT_BROKEN, PAPPUS_LIMIT_KEEP_OUT, 2};
}

static inline pappus_ceiling_row sample_ceiling_row(pappus_limit_kind limit, char *name,
                                                    double wind_mps, double from_deg)
{
    return (pappus_ceiling_row){.turns_limit = limit,
                                .turns_name = name,
                                .surface_wind_mps = wind_mps,
                                .wind_from_deg = from_deg,
                                .go = true,
                                .monotonic = true,
                                .reached = true};
}

static inline void sample_ceiling(sample_answer *sample)
{
    pappus_ceiling *ceiling = &sample->ceiling;
    pappus_ceiling_round *round = &ceiling->reading;
    ceiling->has_reading = true;
    round->row_count = 12;
    round->rows = sample_block(sample, 12, sizeof(pappus_ceiling_row));
    for (size_t i = 0; i < 12; i++)
        round->rows[i] = sample_ceiling_row(PAPPUS_LIMIT_KEEP_OUT, sample->text,
                                            6 + 0.2 * (double)i, 30 * (double)i);
    round->planned = sample_ceiling_row(PAPPUS_LIMIT_KEEP_OUT, "car park", 4.6, 240);
    round->worst = sample_ceiling_row(PAPPUS_LIMIT_INSIDE_FIELD, NULL, 4.1, 300);
    ceiling->whole = *round;
    ceiling->whole.planned.surface_wind_mps = 4.4;
    ceiling->top_mps = 20;
}

static inline void sample_crews(sample_answer *sample)
{
    pappus_crews *crews = &sample->crews;
    crews->post_count = 2;
    crews->posts = sample_block(sample, 2, sizeof(pappus_post));
    crews->posts[0] = (pappus_post){.latitude_deg = 43.56882004613765,
                                    .longitude_deg = -116.20758642824957,
                                    .east_m = 300,
                                    .north_m = 180,
                                    .distance_m = 349.9,
                                    .bearing_deg = 59.0,
                                    .walk_mean_m = 190,
                                    .walk_p90_m = 320,
                                    .share = 0.7,
                                    .near_chance = 0.0004,
                                    .look_bearing_deg = 81,
                                    .look_elevation_deg = 22,
                                    .look_s = 71,
                                    .served_east_m = 420,
                                    .served_north_m = 260,
                                    .road = sample->text};
    crews->posts[1] = (pappus_post){.latitude_deg = 43.5686399874262,
                                    .longitude_deg = -116.21625141425234,
                                    .east_m = -400,
                                    .north_m = 160,
                                    .distance_m = 430.8,
                                    .bearing_deg = 291.8,
                                    .walk_mean_m = 210,
                                    .walk_p90_m = 350,
                                    .share = 0.3,
                                    .served_east_m = -380,
                                    .served_north_m = 310};
    crews->walk_mean_m = 196;
    crews->walk_p90_m = 330;
}

static inline void sample_rest(sample_answer *sample)
{
    pappus_sensitivity *sensitivity = &sample->sensitivity;
    sensitivity->axis_bearing_deg = 60;
    sensitivity->sd_m = 120;
    sensitivity->driver_count = 2;
    sensitivity->drivers[0] = (pappus_driver){"winds aloft", 0.7, 0.02};
    sensitivity->drivers[1] = (pappus_driver){"drag", 0.2, 0.02};
    sample->path.count = 3;
    sample->path.points = sample_block(sample, 3, sizeof(pappus_path_point));
    for (size_t i = 0; i < 3; i++)
        sample->path.points[i] = (pappus_path_point){
            47 * (double)i, 90 * (double)i, 137 * (double)i, 1500 - 750 * (double)i, 4, 3, -20};
    sample->path.drogue_fire_s = 0;
    sample->path.main_fire_s = 80;
    sample->path.main_full_open_s = 82;
}

/* Three hours and two main heights: go, then no-go, then one that is not judged. */
static inline void sample_window(sample_answer *sample)
{
    pappus_window *window = &sample->window;
    double first_utc_s = 1807974000.0; /* 2027-04-17T15:00Z, by `date` */
    *window = (pappus_window){.step_s = 3600.0,
                              .flight_utc_s = first_utc_s,
                              .hour_count = 3,
                              .height_count = 2,
                              .planned_m = 213.36,
                              .go = true};
    window->hours = sample_block(sample, 3, sizeof *window->hours);
    window->heights_m = sample_block(sample, 2, sizeof(double));
    window->heights_m[0] = 152.4;
    window->heights_m[1] = 213.36;
    for (size_t i = 0; i < 3; i++) {
        pappus_window_hour *hour = &window->hours[i];
        hour->time_utc_s = first_utc_s + 3600.0 * (double)i;
        hour->why = i == 2 ? sample->text : NULL;
        hour->decision = i == 0 ? PAPPUS_GO : PAPPUS_NO_GO;
        hour->inside_field = (pappus_estimate){0.98 - 0.1 * (double)i, 0.8, 0.99};
        hour->limit = hour->wind_limit = PAPPUS_LIMIT_KEEP_OUT;
        hour->limit_name = sample->text;
        hour->use = hour->wind_use = 0.8 + 0.5 * (double)i;
        hour->recommended_m = 152.4;
        hour->surface_wind_mps = 4.0;
        hour->surface_from_deg = 240.0;
        hour->gust_mps = 6.5;
        hour->cells = i == 2 ? NULL : sample_block(sample, 2, sizeof *hour->cells);
        for (size_t k = 0; hour->cells && k < 2; k++)
            hour->cells[k] =
                (pappus_window_cell){i + k == 0 ? PAPPUS_MET : PAPPUS_BROKEN,
                                     0.4 + 0.4 * (double)(i + k), PAPPUS_LIMIT_KEEP_OUT, false};
    }
}

/* text: 's own copy is made. Log: one warning, added with the library's call. */
static inline sample_answer *sample_answer_make(size_t landings, const char *text)
{
    sample_answer *sample = calloc(1, sizeof *sample);
    if (!sample) abort();
    sample->text = sample_block(sample, strlen(text) + 1, 1);
    memcpy(sample->text, text, strlen(text));
    sample_cloud(sample, landings);
    sample_plan(sample);
    sample_field(sample);
    sample_zones(sample);
    sample_choice(sample);
    sample_heights(sample);
    sample_ceiling(sample);
    sample_window(sample);
    sample_crews(sample);
    sample_rest(sample);
    sample->answer = (pappus_answer){.plan = &sample->plan,
                                     .winds = &sample->winds,
                                     .field = &sample->field,
                                     .cloud = &sample->cloud,
                                     .hits = &sample->hits,
                                     .zones = &sample->zones,
                                     .judgement = &sample->judgement,
                                     .heights = &sample->heights,
                                     .ceiling = &sample->ceiling,
                                     .crews = &sample->crews,
                                     .sensitivity = &sample->sensitivity,
                                     .window = &sample->window,
                                     .path = &sample->path,
                                     .looks = 1};
    pappus_log_entry *entry = sample_block(sample, 1, sizeof *entry);
    entry->severity = PAPPUS_WARNING;
    strcpy(entry->error.key, "wind.profiles[0]");
    strncpy(entry->error.message, text, sizeof entry->error.message - 1);
    sample->answer.log = (pappus_log){.count = 1, .capacity = 1, .entries = entry};
    return sample;
}

/* Takes away all that a plan need not have. */
static inline void sample_answer_bare(sample_answer *sample)
{
    pappus_answer *answer = &sample->answer;
    answer->judgement = NULL;
    answer->heights = NULL;
    answer->ceiling = NULL;
    answer->crews = NULL;
    answer->sensitivity = NULL;
    answer->window = NULL;
    answer->log.count = 0;
    sample->field = (pappus_field){0};
    sample->hits.inside_of = NULL;
    pappus_zone *zones[PAPPUS_OUTCOMES + 1] = {&sample->zones.all};
    for (size_t i = 0; i < PAPPUS_OUTCOMES; i++)
        zones[i + 1] = &sample->zones.outcomes[i];
    for (size_t i = 0; i <= PAPPUS_OUTCOMES; i++) {
        zones[i]->inside_field = (pappus_estimate){NAN, NAN, NAN};
        zones[i]->keep_out_count = 0;
        zones[i]->contour_count = 0;
    }
    for (size_t i = 0; i < sample->cloud.count; i++)
        sample->hits.first_keep_out[i] = -1;
}

#endif
