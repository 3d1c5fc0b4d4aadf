/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a check found, file by file: each value as it was understood, the winds and the field
 * in numbers, and every finding. */
#include <string.h>

#include "error.h"
#include "terminal.h"

typedef struct {
    const pappus_plan *plan;
    const pappus_winds *winds;
    const pappus_field *field;
    const pappus_log *log;
} checked;

static void write_plan(FILE *stream, const pappus_plan *plan)
{
    fprintf(stream, "%s\n", plan->path);
    for (size_t i = 0; i < plan->entry_count; i++) {
        const pappus_plan_entry *entry = &plan->entries[i];
        bool both = strcmp(entry->si, entry->us) != 0;
        fprintf(stream, "  %-34s %s%s%s%s\n", entry->key, entry->si, both ? "  =  " : "",
                both ? entry->us : "", entry->assumed ? "   (assumed)" : "");
    }
}

static void write_field(FILE *stream, const pappus_field *field)
{
    fprintf(stream, "field\n  %s, %zu keep-out areas, %zu roads\n",
            field->has_boundary ? "a boundary" : "no boundary", field->keep_out_count,
            field->road_count);
    for (size_t i = 0; i < field->keep_out_count; i++)
        fprintf(stream, "  keep-out: %s\n", field->keep_outs[i].name);
}

static void write_winds(FILE *stream, const pappus_winds *winds)
{
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        fprintf(stream, "%s\n  %s: %zu levels from %zu read, %zu repaired, %zu left out\n",
                profile->path ? profile->path : "winds", profile->format, profile->level_count,
                profile->read_count, profile->repaired_count, profile->refused_count);
    }
}

static size_t write_finding(FILE *stream, const pappus_log_entry *entry)
{
    static const char *const words[] = {
        [PAPPUS_FAULT] = "error", [PAPPUS_WARNING] = "warning", [PAPPUS_NOTE] = "note"};
    pappus_error error = entry->error;
    char line[1200];
    error.file[0] = '\0';
    pappus_error_line(line, sizeof line, &error);
    fprintf(stream, "  %s: %s\n", words[entry->severity], line);
    return entry->severity == PAPPUS_FAULT;
}

/* Those of one file together, in the order of the files. Returns how many are faults. */
static size_t write_findings(FILE *stream, const pappus_log *log)
{
    size_t faults = 0;
    for (size_t i = 0; i < log->count; i++) {
        const char *file = log->entries[i].error.file;
        bool told = false;
        for (size_t j = 0; j < i && !told; j++)
            told = strcmp(log->entries[j].error.file, file) == 0;
        if (told) continue;
        fprintf(stream, "%s\n", file[0] ? file : "the flight");
        for (size_t j = i; j < log->count; j++)
            if (strcmp(log->entries[j].error.file, file) == 0)
                faults += write_finding(stream, &log->entries[j]);
    }
    return faults;
}

static void write_all(FILE *stream, const void *context)
{
    const checked *found = context;
    if (found->plan) write_plan(stream, found->plan);
    if (found->field) write_field(stream, found->field);
    if (found->winds) write_winds(stream, found->winds);
    size_t faults = write_findings(stream, found->log), others = found->log->count - faults;
    fprintf(stream, "%zu error%s, %zu warning%s or note%s\n", faults, faults == 1 ? "" : "s",
            others, others == 1 ? "" : "s", others == 1 ? "" : "s");
}

int pappus_check_text(char **out, const pappus_plan *plan, const pappus_winds *winds,
                      const pappus_field *field, const pappus_log *log, pappus_error *err)
{
    *out = NULL;
    if (log->lost) return pappus_fail_memory(err);
    return pappus_terminal_page(out, write_all, &(checked){plan, winds, field, log}, err);
}
