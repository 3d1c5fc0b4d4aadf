/* SPDX-License-Identifier: GPL-3.0-or-later
 * Prints the log of an invented flight (flown.h): tool_flown [name=value ...]. */
#include <stdio.h>
#include <stdlib.h>

/* Check's assertions stand in a test only. */
#define CHECK_H
#define ck_assert(good) ck_assert_msg(good, "%s", #good)
#define ck_assert_msg(good, ...)                                                                   \
    do {                                                                                           \
        if (good) break;                                                                           \
        fprintf(stderr, __VA_ARGS__);                                                              \
        exit(1);                                                                                   \
    } while (0)

#include "flown.h"

#include <string.h>

typedef struct {
    const char *name;
    double *value;
} parameter;

static void take(const char *text, const parameter *known, size_t count)
{
    const char *equals = strchr(text, '=');
    for (size_t i = 0; equals && i < count; i++)
        if (strlen(known[i].name) == (size_t)(equals - text) &&
            strncmp(known[i].name, text, (size_t)(equals - text)) == 0) {
            *known[i].value = strtod(equals + 1, NULL);
            return;
        }
    fprintf(stderr, "tool_flown: %s\n", text);
    exit(2);
}

int main(int argc, char **argv)
{
    flown_truth t = FLOWN_TRUTH;
    double elevation_m = 0.0, temperature_k = NAN, seed = 1.0;
    const parameter known[] = {{"mass", &t.mass_kg},
                               {"body", &t.body_m2},
                               {"drogue", &t.drogue_m2},
                               {"main", &t.main_m2},
                               {"apogee", &t.apogee_m},
                               {"drogue_fire", &t.drogue_fire_s},
                               {"main_shown", &t.main_shown_m},
                               {"main_open", &t.main_open_s},
                               {"up_drogue", &t.air_up_mps[0]},
                               {"up_main", &t.air_up_mps[1]},
                               {"rate", &t.rate_hz},
                               {"noise", &t.noise_m},
                               {"pad", &t.pad_s},
                               {"rest", &t.rest_s},
                               {"seed", &seed},
                               {"elevation", &elevation_m},
                               {"temperature", &temperature_k}};
    flight_setup setup;
    pappus_flight_log log;
    for (int i = 1; i < argc; i++)
        take(argv[i], known, sizeof known / sizeof *known);
    t.seed = (uint64_t)seed;
    flight_setup_set(&setup);
    setup.plan.site.elevation_msl_m = elevation_m;
    setup.plan.site.temperature_k = temperature_k;
    setup.plan.apogee.height_m = pappus_exact(t.apogee_m + 500.0);
    flight_setup_build(&setup);
    flown_log(&log, &t, setup.air);
    printf("time_s,height_m\n");
    for (size_t i = 0; i < log.count; i++)
        printf("%.3f,%.2f\n", log.time_s[i], log.height_m[i]);
    flown_free(&log);
    pappus_air_free(setup.air);
    return 0;
}
