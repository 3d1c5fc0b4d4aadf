/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus check: reads everything, shows each value as understood, reports all that
 * is wrong at once, and samples nothing; only the central flight is tried. */
#include "commands.h"

#include <stdlib.h>
#include <string.h>

static void print_entry(FILE *out, const pappus_plan_entry *entry)
{
    bool both = strcmp(entry->si, entry->us) != 0;
    fprintf(out, "  %-34s %s%s%s%s\n", entry->key, entry->si, both ? "  =  " : "",
            both ? entry->us : "", entry->assumed ? "   (assumed)" : "");
}

static void print_plan(FILE *out, const pappus_plan *plan)
{
    fprintf(out, "%s\n", plan->path);
    for (size_t i = 0; i < plan->entry_count; i++)
        print_entry(out, &plan->entries[i]);
}

static void print_winds(FILE *out, const pappus_winds *winds)
{
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        fprintf(out, "%s\n  %s: %zu levels from %zu read, %zu repaired, %zu left out\n",
                profile->path ? profile->path : "winds", profile->format, profile->level_count,
                profile->read_count, profile->repaired_count, profile->refused_count);
    }
}

static void print_field(FILE *out, const pappus_field *field)
{
    fprintf(out, "field\n  %s, %zu keep-out areas, %zu roads\n",
            field->has_boundary ? "a boundary" : "no boundary", field->keep_out_count,
            field->road_count);
    for (size_t i = 0; i < field->keep_out_count; i++)
        fprintf(out, "  keep-out: %s\n", field->keep_outs[i].name);
}

/* Faults and warnings, those of one file together, in the order of the files. */
static size_t print_findings(FILE *out, const pappus_log *log)
{
    static const char *const words[] = {"error", "warning", "note"};
    size_t faults = 0;
    for (size_t i = 0; i < log->count; i++) {
        const char *file = log->entries[i].error.file;
        bool told = false;
        for (size_t j = 0; j < i && !told; j++)
            told = strcmp(log->entries[j].error.file, file) == 0;
        if (told) continue;
        fprintf(out, "%s\n", file[0] ? file : "the flight");
        for (size_t j = i; j < log->count; j++) {
            pappus_error error = log->entries[j].error;
            char line[1200];
            if (strcmp(error.file, file) != 0) continue;
            error.file[0] = '\0';
            pappus_error_line(line, sizeof line, &error);
            fprintf(out, "  %s: %s\n", words[log->entries[j].severity], line);
            faults += log->entries[j].severity == PAPPUS_FAULT;
        }
    }
    return faults;
}

typedef struct {
    pappus_plan *plan; /* NULL: could not be read; so with the others */
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
    pappus_plan_options options = request->plan;
    pappus_air *air = NULL;
    options.needs_wind = false;
    int status = pappus_plan_read(&work->plan, request->arguments[0], &options, &work->log);
    if (!work->plan) return status;
    if (work->plan->has_wind &&
        pappus_winds_read(&work->winds, work->plan, &work->log) == PAPPUS_OK &&
        pappus_air_build(&air, work->plan, work->winds, &as_read, &work->log) == PAPPUS_OK)
        pappus_flight_check(work->plan, air, &work->log);
    pappus_field_read(&work->field, work->plan, &work->log);
    pappus_air_free(air);
    return status;
}

static void print_all(FILE *out, const check_work *work, bool quiet)
{
    if (work->plan && !quiet) print_plan(out, work->plan);
    if (work->field && !quiet) print_field(out, work->field);
    if (work->winds && !quiet) print_winds(out, work->winds);
    size_t faults = print_findings(out, &work->log), others = work->log.count - faults;
    fprintf(out, "%zu error%s, %zu warning%s or note%s\n", faults, faults == 1 ? "" : "s", others,
            others == 1 ? "" : "s", others == 1 ? "" : "s");
}

/* The findings as text: gathered first, so that no text of the plan reaches a terminal
 * untamed. */
static int make_text(char **text, const check_work *work, bool quiet)
{
    size_t size = 0;
    FILE *out = open_memstream(text, &size);
    if (!out) return PAPPUS_E_MEMORY;
    print_all(out, work, quiet);
    if (fclose(out) != 0 || !*text) return PAPPUS_E_MEMORY;
    pappus_text_tame(*text, '\n');
    return PAPPUS_OK;
}

int cmd_check(const cli_request *request)
{
    check_work work = {0};
    int status = pappus_status_exit(read_all(&work, request));
    for (size_t i = 0; i < work.log.count && status != EXIT_MACHINE; i++)
        if (work.log.entries[i].severity == PAPPUS_FAULT)
            status = pappus_status_exit(work.log.entries[i].error.code);
    pappus_error error = {0};
    char *text = NULL;
    int made = request->json ? pappus_check_json_text(&text, work.plan, work.winds, work.field,
                                                      &work.log, &error)
                             : make_text(&text, &work, request->quiet);
    if (made == PAPPUS_OK) {
        status = cli_print_text(text, status);
    } else {
        free(text);
        error.code = made;
        status = cli_fault(&error);
    }
    end(&work);
    return status;
}
