/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus size: the bench card, on the terminal, as JSON or as a page to print. */
#include "commands.h"

static int print_card(const cli_request *request, const pappus_plan *plan, const pappus_card *card)
{
    pappus_text_options options = cli_text_options(request, plan);
    pappus_error error = {0};
    char *text = NULL;
    int status = PAPPUS_OK;
    if (request->output) status = pappus_card_write(card, request->output, options.units, &error);
    if (status == PAPPUS_OK)
        status = request->json ? pappus_card_json(&text, card, &error)
                               : pappus_card_text(&text, card, &options, &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

/* The bench needs no wind; where one can be read its temperatures move what an altimeter
 * shows, as they do in a brief. */
static int read_air(pappus_winds **winds, pappus_plan *plan, pappus_log *log)
{
    pappus_log faults = {0};
    int status = plan->has_wind ? pappus_winds_read(winds, plan, &faults) : PAPPUS_OK;
    pappus_log_clear(&faults);
    if (status == PAPPUS_OK) return PAPPUS_OK;
    if (pappus_status_exit(status) == EXIT_MACHINE)
        return pappus_log_add(log, PAPPUS_FAULT, status, plan->path, "wind", NULL, "%s",
                              pappus_status_text(status));
    pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "wind", NULL,
                   "cannot be read: the card is for standard air at the site's temperature");
    return PAPPUS_OK;
}

int cmd_size(const cli_request *request)
{
    pappus_plan_options options = request->plan;
    pappus_plan *plan = NULL;
    pappus_card *card = NULL;
    pappus_winds *winds = NULL;
    pappus_log log = {0};
    if (request->output && !cli_ends_in(request->output, ".html")) {
        fprintf(stderr, "pappus: --output: found %s: accepted is a name ending in .html\n",
                request->output);
        return EXIT_USAGE;
    }
    if (cli_same_file(request->output, request->arguments[0])) return cli_refuse_input(request);
    options.needs_wind = false;
    int status = pappus_plan_read(&plan, request->arguments[0], &options, &log);
    if (status == PAPPUS_OK) status = read_air(&winds, plan, &log);
    if (status == PAPPUS_OK) status = pappus_card_build_in(&card, plan, winds, &log);
    cli_print_log(&log, request->quiet);
    status = status == PAPPUS_OK ? print_card(request, plan, card) : pappus_status_exit(status);
    pappus_card_free(card);
    pappus_winds_free(winds);
    pappus_plan_free(plan);
    pappus_log_clear(&log);
    return status;
}
