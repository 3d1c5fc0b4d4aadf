/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"

int main(int argc, char **argv)
{
    cli_request request;
    const cli_command *command = NULL;
    pappus_quiet_dependencies();
    int status = cli_parse(&request, &command, argc, argv);
    if (status < 0) status = command->run(&request);
    cli_end(&request);
    return status;
}
