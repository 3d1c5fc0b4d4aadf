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

typedef struct {
    pappus_plan *plan;   /* NULL: could not be read; so with the others */
    pappus_winds *winds;
    pappus_field *field;
    pappus_log log;
} check_work;

static void end(check_work *work)
{
    pappus_field_free(work->field);
    pappus_winds_free(work->winds);
    pappus_plan_free(work->plan);
    pappus_log_clear(&work->log);
}

/* Everything is read, whatever is wrong with the parts before it. */
static int read_all(check_work *work, const cli_request *request)
{
    const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    pappus_air *air = NULL;
    options.setting_count = request->setting_count;
    options.settings = request->settings;
    options.pad = request->pad;
    options.needs_wind = false;
    int status = pappus_plan_read(&work->plan, request->arguments[0], &options, &work->log);
    if (!work->plan) return status;
    if (work->plan->has_wind &&
        pappus_winds_read(&work->winds, work->plan, &work->log) == PAPPUS_OK)
        pappus_air_build(&air, work->plan, work->winds, &as_read, &work->log);
    pappus_field_read(&work->field, work->plan, &work->log);
    pappus_air_free(air);
    return status;
}

static void print_all(const check_work *work, bool quiet)
{
    if (work->plan && !quiet) print_plan(work->plan);
    if (work->field && !quiet) print_field(work->field);
    if (work->winds && !quiet) print_winds(work->winds);
    size_t faults = print_findings(&work->log), others = work->log.count - faults;
    printf("%zu error%s, %zu warning%s or note%s\n", faults, faults == 1 ? "" : "s", others,
           others == 1 ? "" : "s", others == 1 ? "" : "s");
}

static int print_json(const check_work *work, int exit_status)
{
    pappus_error error = {0};
    char *text = NULL;
    int status = pappus_check_json_text(&text, work->plan, work->winds, work->field, &work->log,
                                        &error);
    return status == PAPPUS_OK ? cli_print_text(text, exit_status) : cli_fault(&error);
}

int cmd_check(const cli_request *request)
{
    check_work work = {0};
    int status = pappus_status_exit(read_all(&work, request));
    for (size_t i = 0; i < work.log.count && status == EXIT_GO; i++)
        if (work.log.entries[i].severity == PAPPUS_FAULT) status = EXIT_INPUT;
    if (request->json) {
        status = print_json(&work, status);
    } else {
        print_all(&work, request->quiet);
        if (fflush(stdout) != 0) status = EXIT_MACHINE;
    }
    end(&work);
    return status;
}
