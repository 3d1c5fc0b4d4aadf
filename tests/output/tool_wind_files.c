/* SPDX-License-Identifier: GPL-3.0-or-later
 * Reads a wind file and prints it: tool_wind_files csv|text|json|svg|air|surface FILE [STATION
 * [SOUNDING]]. "air" is the drawing with the air of a small plan whose surface
 * wind is 8 mph from 225 degrees at 2 m, two hours after the winds; "surface" the same
 * without the file's winds. */
#include <pappus/pappus.h>

#include "timestamp.h"
#include "uncertain.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int print_faults(const pappus_log *log)
{
    for (size_t i = 0; i < log->count; i++) {
        char line[1200];
        pappus_error_line(line, sizeof line, &log->entries[i].error);
        fprintf(stderr, "%s\n", line);
    }
    return 1;
}

static int draw_with_air(char **out, const pappus_winds *winds, pappus_log *log, pappus_error *err)
{
    pappus_plan plan = {.path = "plan",
                        .site = {.elevation_msl_m = 600.0,
                                 .temperature_k = 291.15,
                                 .pressure_pa = NAN,
                                 .declination_deg = NAN},
                        .has_wind = true};
    pappus_air *air = NULL;
    plan.wind = (pappus_wind_plan){.time_utc_s = NAN,
                                   .age_s = 7200.0,
                                   .error_mps = 1.0,
                                   .growth_mps = 1.5,
                                   .error_dof = PAPPUS_NORMAL_DOF,
                                   .ground_factor = 1.0,
                                   .top_factor = 1.0,
                                   .correlation_growth_m = 500.0,
                                   .correlation_height_m = 1000.0,
                                   .has_surface = true,
                                   .surface = {2.0, 8 * 0.44704, 225.0, 1.0},
                                   .gust_mps = NAN,
                                   .shear_exponent = 0.143};
    pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    plan.apogee.height_m = pappus_normal(1585.0, 76.0);
    plan.motor_delay_s = (pappus_uncertain){0};
    int status = pappus_air_build(&air, &plan, winds, &options, log);
    if (status == PAPPUS_OK)
        status = pappus_wind_svg_text(out, winds, air, NULL, PAPPUS_UNITS_US,
                                      winds->profile_count ? 2000.0 : NAN, err);
    pappus_air_free(air);
    return status;
}

int main(int argc, char **argv)
{
    const pappus_winds none = {.age_s = 7200.0};
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    pappus_error err = {0};
    char *text = NULL;
    if (argc < 3) return 2;
    pappus_profile_source source = {
        argv[2], argc > 3 && argv[3][0] ? argv[3] : NULL, NAN, NAN, 1, PAPPUS_WIND_SOUNDING, false};
    if (argc > 4 && pappus_time_parse(&source.sounding_utc_s, argv[4], &err) != PAPPUS_OK) return 2;
    int status = pappus_wind_file_read(&winds, &source, &log);
    if (status == PAPPUS_OK) {
        winds->age_s = none.age_s;
        if (strcmp(argv[1], "csv") == 0)
            status = pappus_wind_csv_text(&text, winds, &err);
        else if (strcmp(argv[1], "text") == 0)
            status = pappus_wind_table_text(&text, winds, PAPPUS_UNITS_SI, &log, &err);
        else if (strcmp(argv[1], "svg") == 0)
            status = pappus_wind_svg_text(&text, winds, NULL, NULL, PAPPUS_UNITS_SI, NAN, &err);
        else if (strcmp(argv[1], "json") == 0)
            status = pappus_wind_json_text(&text, winds, &err);
        else
            status = draw_with_air(&text, strcmp(argv[1], "air") == 0 ? winds : &none, &log, &err);
    }
    if (status == PAPPUS_OK) fputs(text, stdout);
    if (status != PAPPUS_OK) fprintf(stderr, "%s\n", err.message);
    int result = status == PAPPUS_OK ? 0 : print_faults(&log);
    free(text);
    pappus_winds_free(winds);
    pappus_log_clear(&log);
    return result;
}
