/* SPDX-License-Identifier: GPL-3.0-or-later
 * A plan that is right in everything, for tests that change one thing. */
#ifndef PAPPUS_TESTS_PLAN_TEXT_H
#define PAPPUS_TESTS_PLAN_TEXT_H

#include "plan_reader.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char good_plan[] =
    "{\"title\": \"Trial\","
    " \"site\": {\"latitude\": \"41.25 deg\", \"longitude\": \"-96.5 deg\", \"elevation\": \"286 "
    "m\","
    "  \"declination\": \"3 deg\", \"temperature\": \"27 degC\", \"pressure\": \"982 hPa\"},"
    " \"field\": {\"boundary\": \"field.geojson\", \"keep_out\": \"keep_out.geojson\","
    "  \"roads\": \"roads.geojson\"},"
    " \"rocket\": {\"mass\": \"18.5 lb +/- 0.2 lb\", \"tumble_drag_area\": \"0.06 m2 +/- 20 %\","
    "  \"ballistic_drag_area\": \"0.006 m2\", \"sections\": [{\"name\": \"nose\", \"mass\": \"4 "
    "lb\"},"
    "  {\"name\": \"payload\", \"mass\": \"6 lb\"}, {\"name\": \"booster\", \"mass\": \"8.5 "
    "lb\"}]},"
    " \"apogee\": {\"height\": \"5200 ft +/- 250 ft\", \"distance\": \"300 ft\","
    "  \"bearing\": \"upwind\", \"spread\": \"120 ft\", \"speed\": \"35 ft/s +/- 15 ft/s\","
    "  \"heading\": \"WSW\"},"
    " \"drogue\": {\"diameter\": \"18 inch\", \"drag_coefficient\": \"1.5 +/- 0.15\","
    "  \"area_basis\": \"projected\", \"opening_time\": \"0.3 s +/- 0.1 s\","
    "  \"type\": \"flat circular\"},"
    " \"main\": {\"diameter\": \"96 inch\", \"drag_coefficient\": \"0.78 +/- 0.08\","
    "  \"area_basis\": \"nominal\", \"type\": \"flat circular\", \"held\": \"bay\"},"
    " \"altimeters\": [{\"name\": \"primary\", \"drogue_delay\": \"0 s\", \"main_height\": \"700 "
    "ft\"},"
    "  {\"name\": \"backup\", \"drogue_delay\": \"1 s\", \"main_height\": \"600 ft\", \"works\": "
    "0.99}],"
    " \"faults\": {\"drogue_fails\": 0.01, \"main_fails\": 0.01, \"main_early\": 0.005, "
    "\"no_power\": 0.003},"
    " \"charges\": {\"drogue\": {\"bay_diameter\": \"4 inch\", \"bay_length\": \"12 inch\","
    "  \"force\": \"200 lbf\", \"shear_pins\": {\"count\": 2, \"strength\": \"35 lbf\"}}},"
    " \"wind\": {\"profiles\": [\"evening.csv\", {\"file\": \"fb.txt\", \"station\": \"DSM\"}],"
    "  \"time\": \"2027-04-17T15:00Z\", \"age\": \"3 h\","
    "  \"surface\": {\"speed\": \"12 mph\", \"direction\": \"240 deg\", \"gust\": \"18 mph\"},"
    "  \"observations\": [{\"height\": \"150 m\", \"speed\": \"9 m/s\", \"direction\": \"255 "
    "degM\"}]},"
    " \"limits\": {\"opening_load\": \"40 g\"},"
    " \"run\": {\"landings\": 5000, \"seed\": 7}}";

/** The good plan with an RFC 7396 patch laid over it; the caller's to free. */
static inline char *patched_plan(const char *patch_text)
{
    char *text;
    cJSON *tree = cJSON_Parse(good_plan), *patch = cJSON_Parse(patch_text);
    ck_assert_msg(patch != NULL, "the test's own patch is not JSON: %s", patch_text);
    ck_assert_int_eq(pappus_json_merge(&tree, patch, NULL), PAPPUS_OK);
    ck_assert_int_eq(pappus_json_print(&text, tree, NULL), PAPPUS_OK);
    cJSON_Delete(tree);
    cJSON_Delete(patch);
    return text;
}

/** Reads the patched plan as from the file "plans/t.json". */
static inline int read_patched(pappus_plan **out, const char *patch,
                               const pappus_plan_options *options, pappus_log *log)
{
    char *text = patched_plan(patch);
    *log = (pappus_log){0};
    int status = pappus_plan_parse(out, text, strlen(text), "plans/t.json", options, log);
    free(text);
    return status;
}

static inline const pappus_plan_entry *entry_of(const pappus_plan *plan, const char *key)
{
    for (size_t i = 0; i < plan->entry_count; i++) {
        if (strcmp(plan->entries[i].key, key) == 0) return &plan->entries[i];
    }
    return NULL;
}

static inline bool has_entry(const pappus_log *log, pappus_severity severity, const char *key,
                             const char *part)
{
    for (size_t i = 0; i < log->count; i++) {
        const pappus_error *error = &log->entries[i].error;
        if (log->entries[i].severity == severity && strcmp(error->key, key) == 0 &&
            strstr(error->message, part)) {
            return true;
        }
    }
    return false;
}

static inline void show_log(const pappus_log *log)
{
    char line[1200];
    for (size_t i = 0; i < log->count; i++) {
        pappus_error_line(line, sizeof line, &log->entries[i].error);
        printf("%s\n", line);
    }
}

#endif
