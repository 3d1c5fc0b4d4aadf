/* SPDX-License-Identifier: GPL-3.0-or-later
 * For test_wind_scipy.py: the wind drawn for many landings at a few heights, with the
 * usual law of the error.
 *
 *   tool_wind DOF READINGS GUST LANDINGS
 *
 * One profile, 4 h old: (5, 1) m/s at 50 m to (9, -2) at 3000 m. READINGS 0, or 1: 9 m/s
 * from 200 deg at 50 m and 11 m/s from 250 deg at 500 m. GUST: m/s over a surface reading,
 * 0 for none (only with READINGS 1). First row: heights; then u, v at each, per landing.
 * The last row: widening, and the quantiles 0.01, 0.3, 0.9 of u at each height. */
#include "air/air_fixture.h"
#include "air.h"

#include <stdio.h>
#include <stdlib.h>

enum { HEIGHTS = 4 };
static const double heights_m[HEIGHTS] = {10.0, 50.0, 500.0, 2500.0};

static void print_landings(const pappus_air *air, const size_t node[HEIGHTS], uint64_t blocks)
{
    float *u = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *u);
    float *v = aligned_alloc(64, air->node_count * PAPPUS_LANES * sizeof *v);
    for (uint64_t block = 0; u && v && block < blocks; block++) {
        uint64_t index[PAPPUS_LANES];
        for (uint64_t l = 0; l < PAPPUS_LANES; l++)
            index[l] = block * PAPPUS_LANES + l;
        pappus_wind_draw(air, pappus_isa_best(), (pappus_random){7, 0}, index, u, v);
        for (size_t l = 0; l < PAPPUS_LANES; l++)
            for (size_t h = 0; h < HEIGHTS; h++)
                printf("%.7g %.7g%c", u[node[h] * PAPPUS_LANES + l], v[node[h] * PAPPUS_LANES + l],
                       h + 1 < HEIGHTS ? ' ' : '\n');
    }
    free(u);
    free(v);
}

static void print_quantiles(const pappus_air *air, const size_t node[HEIGHTS])
{
    const double chances[] = {0.01, 0.3, 0.9};
    printf("%.12g", pappus_air_wind_widening(air));
    for (size_t h = 0; h < HEIGHTS; h++)
        for (int i = 0; i < 3; i++) {
            double u, v;
            pappus_air_wind_quantile(air, false, air->height_m[node[h]], chances[i], &u, &v);
            printf(" %.12g", u);
        }
    puts("");
}

int main(int argc, char **argv)
{
    if (argc != 5) return 2;
    pappus_wind_level levels[2] = {fixture_level(50.0, 5.0, 1.0), fixture_level(3000.0, 9.0, -2.0)};
    pappus_wind_profile profile = fixture_profile(levels, 2);
    pappus_winds winds = {1, &profile, 4.0 * 3600.0};
    pappus_observation readings[2] = {{50.0, 9.0, 200.0, 1.0}, {500.0, 11.0, 250.0, 0.5}};
    pappus_plan plan = fixture_plan(200.0, 2600.0);
    fixture_usual_error(&plan.wind);
    plan.wind.error_dof = atof(argv[1]);
    plan.wind.observations = readings;
    plan.wind.observation_count = atoi(argv[2]) ? 2 : 0;
    if (atof(argv[3]) > 0.0) {
        plan.wind.has_surface = true;
        plan.wind.surface = readings[0];
        plan.wind.gust_mps = readings[0].speed_mps + atof(argv[3]);
        plan.wind.observations = readings + 1;
        plan.wind.observation_count = 1;
    }
    pappus_air *air;
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    if (pappus_air_build(&air, &plan, &winds, &options, NULL) != PAPPUS_OK) return 1;
    size_t node[HEIGHTS] = {0};
    for (size_t h = 0; h < HEIGHTS; h++) {
        while (node[h] + 1 < air->node_count && air->height_m[node[h]] < heights_m[h] - 1e-6)
            node[h]++;
        printf("%.17g%c", air->height_m[node[h]], h + 1 < HEIGHTS ? ' ' : '\n');
    }
    print_landings(air, node, strtoull(argv[4], NULL, 10) / PAPPUS_LANES);
    print_quantiles(air, node);
    pappus_air_free(air);
    return 0;
}
