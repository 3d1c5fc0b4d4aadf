/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus new: a starter plan that runs, or a wind table to fill in. */
#include "commands.h"

static int new_wind(const char *path)
{
    pappus_error error = {0};
    if (pappus_wind_new(path, &error) != PAPPUS_OK) return cli_fault(&error);
    printf("%s: a wind table without rows. Fill it in, then: pappus wind %s\n"
           "Its layout: pappus manual wind\n", path, path);
    return EXIT_GO;
}

int cmd_new(const cli_request *request)
{
    const char *path = request->arguments[0];
    pappus_error error = {0};
    if (request->wind_table) return new_wind(path);
    if (pappus_plan_new(path, &error) != PAPPUS_OK) return cli_fault(&error);
    printf("%s: a starter plan. Change it, then: pappus check %s\n"
           "Every key is explained by: pappus manual keys\n", path, path);
    return EXIT_GO;
}
