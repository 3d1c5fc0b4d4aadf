/* SPDX-License-Identifier: GPL-3.0-or-later
 * For tests outside C: the schema, the starter plan, the key list, a plan's
 * verdict (0 read, 1 refused) and values with units, read by the library.
 *
 *   tool_plan schema | starter | keys | read PLAN | value DIMENSION < lines */
#include <pappus/pappus.h>
#include "plan_starter.h"
#include "units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int print(int make(char **, pappus_error *))
{
    char *text = NULL;
    int status = make(&text, NULL);
    if (status == PAPPUS_OK) puts(text);
    free(text);
    return status != PAPPUS_OK;
}

static int read_plan(const char *path)
{
    pappus_log log = {0};
    pappus_plan *plan;
    char line[1200];
    pappus_plan_options options = PAPPUS_PLAN_OPTIONS_INIT;
    options.needs_wind = false;
    int status = pappus_plan_read(&plan, path, &options, &log);
    for (size_t i = 0; i < log.count; i++) {
        pappus_error_line(line, sizeof line, &log.entries[i].error);
        fprintf(stderr, "%s\n", line);
    }
    pappus_plan_free(plan);
    pappus_log_clear(&log);
    return status != PAPPUS_OK;
}

static int dimension_of(const char *name)
{
    static const char *const names[] = {
#define NAME(name, family, text, example, si, us) #name,
        PAPPUS_DIMENSION_LIST(NAME)
#undef NAME
    };
    for (int i = 0; i < PAPPUS_DIMENSIONS; i++) {
        if (strcmp(names[i], name) == 0) return i;
    }
    return -1;
}

/* For each line "DIMENSION<tab>text": the SI value in 17 digits, or "refused". */
static int read_values(void)
{
    char line[300];
    pappus_units *units;
    if (pappus_units_new(&units, NULL)) return 1;
    while (fgets(line, sizeof line, stdin)) {
        double value;
        line[strcspn(line, "\n")] = '\0';
        char *tab = strchr(line, '\t');
        int dimension = -1;
        if (tab) {
            *tab = '\0';
            dimension = dimension_of(line);
        }
        if (dimension < 0) {
            puts("no such dimension");
        } else if (pappus_units_parse(&value, units, (pappus_dimension)dimension, tab + 1, NULL)) {
            puts("refused");
        } else {
            printf("%.17g\n", value);
        }
    }
    pappus_units_free(units);
    return 0;
}

int main(int count, char **arguments)
{
    const char *what = count > 1 ? arguments[1] : "";
    pappus_quiet_dependencies();
    if (strcmp(what, "schema") == 0) return print(pappus_plan_schema);
    if (strcmp(what, "starter") == 0) return print(pappus_plan_starter);
    if (strcmp(what, "keys") == 0) return print(pappus_plan_key_list);
    if (strcmp(what, "value") == 0) return read_values();
    if (strcmp(what, "read") == 0 && count > 2) return read_plan(arguments[2]);
    return 2;
}
