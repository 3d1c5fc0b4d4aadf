/* SPDX-License-Identifier: GPL-3.0-or-later
 * What a check found as JSON (RFC 8259): the plan's values as text with their units, the
 * winds and the field in numbers, and every finding. */
#include "c_locale.h"
#include "error.h"
#include "json_build.h"

static void add_entries(json_builder *build, cJSON *root, const pappus_plan *plan)
{
    cJSON *values = json_add_array(build, root, "values");
    for (size_t i = 0; plan && i < plan->entry_count; i++) {
        const pappus_plan_entry *entry = &plan->entries[i];
        cJSON *to = json_append_object(build, values);
        json_add_text(build, to, "key", entry->key);
        json_add_text(build, to, "si", entry->si);
        json_add_text(build, to, "us", entry->us);
        json_add_bool(build, to, "assumed", entry->assumed);
    }
}

static void add_winds(json_builder *build, cJSON *root, const pappus_winds *winds)
{
    if (!winds) {
        json_add_null(build, root, "winds");
        return;
    }
    cJSON *profiles = json_add_array(build, root, "winds");
    for (size_t i = 0; i < winds->profile_count; i++) {
        const pappus_wind_profile *profile = &winds->profiles[i];
        cJSON *to = json_append_object(build, profiles);
        json_add_text(build, to, "file", profile->path);
        json_add_text(build, to, "format", profile->format);
        json_add_count(build, to, "levels_read", profile->read_count);
        json_add_count(build, to, "levels_repaired", profile->repaired_count);
        json_add_count(build, to, "levels_left_out", profile->refused_count);
    }
}

static void add_field(json_builder *build, cJSON *root, const pappus_field *field)
{
    if (!field) {
        json_add_null(build, root, "field");
        return;
    }
    cJSON *to = json_add_object(build, root, "field");
    json_add_bool(build, to, "boundary", field->has_boundary);
    json_add_count(build, to, "keep_outs", field->keep_out_count);
    json_add_count(build, to, "roads", field->road_count);
}

static size_t add_findings(json_builder *build, cJSON *root, const pappus_log *log)
{
    static const char *const words[] = {
        [PAPPUS_FAULT] = "error", [PAPPUS_WARNING] = "warning", [PAPPUS_NOTE] = "note"};
    cJSON *findings = json_add_array(build, root, "findings");
    size_t faults = 0;
    for (size_t i = 0; i < log->count; i++) {
        const pappus_error *error = &log->entries[i].error;
        cJSON *to = json_append_object(build, findings);
        json_add_text(build, to, "severity", words[log->entries[i].severity]);
        json_add_text(build, to, "file", error->file);
        json_add_text(build, to, "key", error->key);
        json_add_text(build, to, "found", error->value);
        json_add_text(build, to, "message", error->message);
        faults += log->entries[i].severity == PAPPUS_FAULT;
    }
    return faults;
}

int pappus_check_json_text(char **out, const pappus_plan *plan, const pappus_winds *winds,
                           const pappus_field *field, const pappus_log *log, pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (log->lost || !pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *root = cJSON_CreateObject();
    json_add_text(&build, root, "pappus", pappus_version());
    json_add_text(&build, root, "plan", plan ? plan->path : NULL);
    add_entries(&build, root, plan);
    add_winds(&build, root, winds);
    add_field(&build, root, field);
    size_t faults = add_findings(&build, root, log);
    json_add_count(&build, root, "errors", faults);
    int status = json_finish(out, &build, root, err);
    pappus_locale_leave(&locale);
    return status;
}
