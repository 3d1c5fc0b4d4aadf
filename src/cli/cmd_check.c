/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus check: reads everything, shows each value as understood, reports all that
 * is wrong at once, runs nothing. */
#include "commands.h"

#include <string.h>

static void print_entry(const pappus_plan_entry *entry)
{
    bool both = strcmp(entry->si, entry->us) != 0;
    printf("  %-34s %s%s%s%s\n", entry->key, entry->si, both ? "  =  " : "", both ? entry->us : "",
           entry->assumed ? "   (assumed)" : "");
}

static void print_plan(const pappus_plan *plan)
{
    printf("%s\n", plan->path);
    for (size_t i = 0; i < plan->entry_count; i++) print_entry(&plan->entries[i]);
}

static void print_winds(const pappus_winds *winds)
{
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        printf("%s\n  %s: %zu levels kept of %zu read, %zu repaired, %zu refused\n",
               profile->path ? profile->path : "winds", profile->format, profile->level_count,
               profile->read_count, profile->repaired_count, profile->refused_count);
    }
}

static void print_field(const pappus_field *field)
{
    printf("field\n  %s, %zu keep-out areas, %zu roads\n",
           field->has_boundary ? "a boundary" : "no boundary", field->keep_out_count,
           field->road_count);
    for (size_t i = 0; i < field->keep_out_count; i++)
        printf("  keep-out: %s\n", field->keep_outs[i].name);
}

/* Faults and warnings, those of one file together, in the order of the files. */
static size_t print_findings(const pappus_log *log)
{
    static const char *const words[] = {"error", "warning", "note"};
    size_t faults = 0;
    for (size_t i = 0; i < log->count; i++) {
        const char *file = log->entries[i].error.file;
        bool told = false;
        for (size_t j = 0; j < i && !told; j++) told = strcmp(log->entries[j].error.file, file) == 0;
        if (told) continue;
        printf("%s\n", file[0] ? file : "the flight");
        for (size_t j = i; j < log->count; j++) {
            pappus_error error = log->entries[j].error;
            char line[1200];
            if (strcmp(error.file, file) != 0) continue;
            error.file[0] = '\0';
            pappus_error_line(line, sizeof line, &error);
            printf("  %s: %s\n", words[log->entries[j].severity], line);
            faults += log->entries[j].severity == PAPPUS_FAULT;
        }
    }
    return faults;
}

static void read_rest(const pappus_plan *plan, bool quiet, pappus_log *log)
{
    const pappus_air_options options = PAPPUS_AIR_OPTIONS_INIT;
    pappus_winds *winds = NULL;
    pappus_field *field = NULL;
    pappus_air *air = NULL;
    int read = plan->has_wind ? pappus_winds_read(&winds, plan, log) : PAPPUS_E_WIND;
    if (read == PAPPUS_OK) pappus_air_build(&air, plan, winds, &options, log);
    if (pappus_field_read(&field, plan, log) == PAPPUS_OK && !quiet) print_field(field);
    if (winds && !quiet) print_winds(winds);
    pappus_air_free(air);
    pappus_field_free(field);
    pappus_winds_free(winds);
}

int cmd_check(const cli_request *request)
{
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_plan *plan = NULL;
    pappus_log log = {0};
    options.setting_count = request->setting_count;
    options.settings = request->settings;
    options.pad = request->pad;
    options.needs_wind = false;
    int status = pappus_plan_read(&plan, request->arguments[0], &options, &log);
    if (plan && !request->quiet) print_plan(plan);
    if (plan) read_rest(plan, request->quiet, &log);
    size_t faults = print_findings(&log);
    printf("%zu error%s, %zu warnings and notes\n", faults, faults == 1 ? "" : "s",
           log.count - faults);
    pappus_plan_free(plan);
    pappus_log_clear(&log);
    if (fflush(stdout) != 0) return EXIT_MACHINE;
    return status != PAPPUS_OK ? pappus_status_exit(status) : faults > 0 ? EXIT_INPUT : EXIT_GO;
}
