/* SPDX-License-Identifier: GPL-3.0-or-later
 * Fuzz target: any bytes as a plan. The first byte chooses whether the rest is
 * the plan or, after a fixed plan, a setting. A plan that names a base would read
 * files, so the path lies in a folder that is not there. */
#include "plan_reader.h"
#include "plan_starter.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void read_once(const char *text, size_t length, const char *setting)
{
    pappus_log log = {0};
    pappus_plan *plan;
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    options.setting_count = setting != NULL;
    options.settings = &setting;
    int status =
        pappus_plan_parse(&plan, text, length, "/nowhere/at/all/plan.json", &options, &log);
    if ((status == PAPPUS_OK) != (plan != NULL)) abort();
    if (status != PAPPUS_OK && pappus_log_faults(&log) == 0) abort();
    pappus_plan_free(plan);
    pappus_log_clear(&log);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 2) return 0;
    pappus_quiet_dependencies();
    if (data[0] & 1) {
        read_once((const char *)data + 1, size - 1, NULL);
        return 0;
    }
    char *text, *setting = malloc(size);
    if (setting && pappus_plan_starter(&text, NULL) == PAPPUS_OK) {
        memcpy(setting, data + 1, size - 1);
        setting[size - 1] = '\0';
        read_once(text, strlen(text), setting);
        free(text);
    }
    free(setting);
    return 0;
}
