/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus wind: what was understood of wind files, converted to the layer table, or drawn:
 * one profile, or of winds of several times a section, in which what was chosen is marked. A
 * plan in their place stands for its winds, with the band that is sampled. */
#include "commands.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    pappus_plan *plan; /* NULL: wind files */
    pappus_winds *winds;
    pappus_winds *whole; /* of every time, to be drawn; NULL: the same */
    double chosen_utc_s; /* NaN: none */
    pappus_air *air;     /* NULL without a plan */
    pappus_log log;
} wind_work;

static void end(wind_work *work)
{
    pappus_air_free(work->air);
    pappus_winds_free(work->winds);
    pappus_winds_free(work->whole);
    pappus_plan_free(work->plan);
    pappus_log_clear(&work->log);
}

static bool is_plan(const char *path)
{
    FILE *file = fopen(path, "rb");
    int c = EOF;
    if (!file) return false;
    do
        c = fgetc(file);
    while (c == ' ' || c == '\t' || c == '\r' || c == '\n' || c == 0xEF || c == 0xBB || c == 0xBF);
    fclose(file);
    return c == '{';
}

static int read_plan_winds(wind_work *work, const cli_request *request)
{
    const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    int status = pappus_plan_read(&work->plan, request->arguments[0], &request->plan, &work->log);
    if (status == PAPPUS_OK) status = pappus_winds_read(&work->winds, work->plan, &work->log);
    if (status == PAPPUS_OK)
        status = pappus_air_build(&work->air, work->plan, work->winds, &as_read, &work->log);
    return status;
}

static int read_file(pappus_winds **to, pappus_log *log, const cli_request *request,
                     const char *path, double sounding)
{
    pappus_profile_source source = {.path = (char *)(uintptr_t)path,
                                    .station = (char *)(uintptr_t)request->station,
                                    .sounding_utc_s = sounding,
                                    .valid_utc_s = NAN,
                                    .weight = 1.0};
    pappus_winds *winds = NULL;
    int status = pappus_wind_file_read_at(&winds, &source, request->at.latitude_deg,
                                          request->at.longitude_deg, log);
    if (status == PAPPUS_OK && request->member)
        status = pappus_winds_keep_member(winds, atoi(request->member), log);
    if (status != PAPPUS_OK) {
        pappus_winds_free(winds);
        return status;
    }
    if (!*to) {
        *to = winds;
        return PAPPUS_OK;
    }
    status = pappus_winds_join(*to, winds);
    pappus_winds_free(winds);
    return status;
}

/* Every file is read before a fault ends the command: all faults are told at once. */
static int read_files(wind_work *work, const cli_request *request)
{
    double sounding = NAN;
    pappus_error error = {0};
    int status = PAPPUS_OK;
    if (request->sounding && pappus_time_parse(&sounding, request->sounding, &error) != PAPPUS_OK) {
        pappus_log_add(&work->log, PAPPUS_FAULT, PAPPUS_E_WIND, NULL, "--sounding",
                       request->sounding, "%s", error.message);
        return PAPPUS_E_WIND;
    }
    for (size_t i = 0; i < request->argument_count; i++) {
        int one = read_file(&work->winds, &work->log, request, request->arguments[i], sounding);
        if (status == PAPPUS_OK) status = one;
    }
    work->chosen_utc_s = sounding;
    return status;
}

/* Of a time that was chosen all others too, to be drawn around it; a format that holds only
 * what was chosen stays as it is. */
static int read_whole(wind_work *work, const cli_request *request)
{
    pappus_log again = {0}; /* told at the first reading */
    int status = PAPPUS_OK;
    if (!request->output || !cli_ends_in(request->output, ".svg") || !request->sounding)
        return PAPPUS_OK;
    for (size_t i = 0; i < request->argument_count && status == PAPPUS_OK; i++)
        status = read_file(&work->whole, &again, request, request->arguments[i], NAN);
    pappus_log_clear(&again);
    return status;
}

/* The file named is one of those that were read, by the command line or by the plan. */
static bool is_input(const cli_request *request, const pappus_winds *winds)
{
    bool same = false;
    for (size_t i = 0; i < request->argument_count && !same; i++)
        same = cli_same_file(request->output, request->arguments[i]);
    for (size_t i = 0; i < winds->profile_count && !same; i++)
        same = cli_same_file(request->output, winds->profiles[i].path);
    return same;
}

/* Several times with heights over one ground. */
static bool has_times(const pappus_winds *winds)
{
    double first, last;
    for (size_t i = 0; i < winds->profile_count; i++)
        if (winds->profiles[i].level_count == 0 ||
            winds->profiles[i].levels[0].height_kind != winds->profiles[0].levels[0].height_kind)
            return false;
    return pappus_winds_span(&first, &last, winds) && last > first;
}

static int write_output(const cli_request *request, const wind_work *work)
{
    pappus_error error = {0};
    char *text = NULL;
    int status;
    if (is_input(request, work->winds)) return cli_refuse_input(request);
    const pappus_winds *whole = work->whole ? work->whole : work->winds;
    if (cli_ends_in(request->output, ".csv"))
        status = pappus_wind_csv_text(&text, work->winds, &error);
    else if (!work->plan && has_times(whole))
        status = pappus_wind_section_svg_text(&text, whole, work->chosen_utc_s,
                                              request->member ? atoi(request->member) : -1,
                                              cli_units(request, work->plan), NAN, &error);
    else
        status = pappus_wind_svg_text(&text, work->winds, work->air, work->plan,
                                      cli_units(request, work->plan), NAN, &error);
    if (status == PAPPUS_OK)
        status = pappus_file_write(request->output, text, strlen(text), &error);
    free(text);
    return status == PAPPUS_OK ? EXIT_GO : cli_fault(&error);
}

static int show(const cli_request *request, const wind_work *work)
{
    pappus_error error = {0};
    char *text = NULL;
    int status = request->json
                     ? pappus_wind_json_text(&text, work->winds, &error)
                     : pappus_wind_table_text(&text, work->winds, cli_units(request, work->plan),
                                              &work->log, &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

int cmd_wind(const cli_request *request)
{
    wind_work work = {.chosen_utc_s = NAN};
    if (request->output && !cli_ends_in(request->output, ".csv") &&
        !cli_ends_in(request->output, ".svg")) {
        fprintf(stderr, "pappus: --output: found %s: accepted are names ending in .csv or .svg\n",
                request->output);
        return EXIT_USAGE;
    }
    int status = request->argument_count == 1 && is_plan(request->arguments[0])
                     ? read_plan_winds(&work, request)
                     : read_files(&work, request);
    if (status == PAPPUS_OK && !work.plan) status = read_whole(&work, request);
    if (status != PAPPUS_OK) {
        cli_print_log(&work.log, request->quiet);
        status = pappus_status_exit(status);
    } else {
        status = request->output ? write_output(request, &work) : EXIT_GO;
        if (status == EXIT_GO) status = show(request, &work);
    }
    end(&work);
    return status;
}
