/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"

int main(int argc, char **argv)
{
    cli_request request;
    const cli_command *command = NULL;
    int status = cli_machine_begin();
    if (status >= 0) return status;
    pappus_quiet_dependencies();
    status = cli_parse(&request, &command, argc, argv);
    if (status < 0) {
        request.run.threads = cli_threads(request.run.threads);
        status = command->run(&request);
    }
    cli_end(&request);
    return status;
}
