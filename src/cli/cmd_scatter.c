/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus scatter: landings, ellipses and contours, no decision. */
#include "commands.h"

static int write_layers(const cli_request *request, const pappus_answer *answer,
                        const pappus_write_options *options, pappus_error *err)
{
    cli_watch watch;
    cli_writing_begin(&watch, request);
    int status = pappus_answer_write(answer, request->output, options, err);
    cli_watch_end(&watch);
    return status;
}

static int write_and_print(const cli_request *request, const pappus_answer *answer)
{
    pappus_write_options options = {.units = cli_units(request, answer->plan),
                                    .crs = request->crs,
                                    .layers_only = true,
                                    .threads = request->run.threads};
    pappus_text_options layout = cli_text_options(request, answer->plan);
    pappus_error error = {0};
    char *text = NULL;
    int status = PAPPUS_OK;
    if (request->output) status = write_layers(request, answer, &options, &error);
    if (status == PAPPUS_OK)
        status = request->json ? pappus_answer_summary(&text, answer, &error)
                               : pappus_answer_text(&text, answer, &layout, &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

int cmd_scatter(const cli_request *request)
{
    pappus_answer *answer = NULL;
    int status = cli_output_check(request);
    if (status < 0)
        status =
            cli_answer(&answer, request, request->arguments[0], PAPPUS_PART_CONTOURS, true, NULL);
    if (answer) status = write_and_print(request, answer);
    pappus_answer_free(answer);
    return status;
}
