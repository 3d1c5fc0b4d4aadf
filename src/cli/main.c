/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"

#include <stdlib.h>

int main(int argc, char **argv)
{
    cli_request request = {.units = PAPPUS_UNITS_US, .crs = PAPPUS_CRS_WGS84};
    const cli_command *command = NULL;
    pappus_quiet_dependencies();
    int status = cli_parse(&request, &command, argc, argv);
    if (status < 0) status = command->run(&request);
    free(request.settings);
    return status;
}
