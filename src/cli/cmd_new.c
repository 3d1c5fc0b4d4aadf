/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus new: a starter plan that runs and explains itself. */
#include "commands.h"

int cmd_new(const cli_request *request)
{
    const char *path = request->arguments[0];
    pappus_error error = {0};
    if (pappus_plan_new(path, &error) != PAPPUS_OK) return cli_fault(&error);
    printf("%s: a starter plan. Change it, then: pappus check %s\n"
           "Every key is explained by: pappus manual keys\n", path, path);
    return EXIT_GO;
}
