/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus window: the decision hour by hour, the best hour first. */
#include "commands.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int refuse(const char *option, const char *found, const pappus_error *error)
{
    fprintf(stderr, "pappus: %s: found %s: %s\n", option, found, error->message);
    return EXIT_USAGE;
}

/* -1 to go on. */
static int read_options(pappus_window_options *options, const cli_request *request)
{
    pappus_error error = {0};
    if (request->from &&
        pappus_time_parse(&options->from_utc_s, request->from, &error) != PAPPUS_OK)
        return refuse("--from", request->from, &error);
    if (request->to && pappus_time_parse(&options->to_utc_s, request->to, &error) != PAPPUS_OK)
        return refuse("--to", request->to, &error);
    if (request->step &&
        pappus_duration_parse(&options->step_s, request->step, &error) != PAPPUS_OK)
        return refuse("--step", request->step, &error);
    options->contours = request->output != NULL;
    return -1;
}

static int print_window(const cli_request *request, const pappus_situation *situation,
                        const pappus_window *window)
{
    pappus_givens given = pappus_situation_givens(situation);
    pappus_unit_system units = given.plan->units;
    pappus_error error = {0};
    char *text = NULL;
    if (request->output) {
        int status = pappus_window_write(window, &given, request->output, units, &error);
        if (status != PAPPUS_OK) return cli_fault(&error);
    }
    int status = request->json ? pappus_window_json_text(&text, window, &given, &error)
                               : pappus_window_text(&text, window, &given, units, &error);
    return status == PAPPUS_OK ? cli_print_text(text, window->go ? EXIT_GO : EXIT_NO_GO)
                               : cli_fault(&error);
}

int cmd_window(const cli_request *request)
{
    pappus_window_options options = PAPPUS_WINDOW_OPTIONS_INIT;
    pappus_plan_options plan = request->plan;
    pappus_situation *situation = NULL;
    pappus_window *window = NULL;
    pappus_log log = {0};
    int status = read_options(&options, request);
    if (status >= 0) return status;
    status = cli_output_check(request);
    if (status >= 0) return status;
    plan.any_time = true;
    cli_watch watch;
    cli_watch_begin(&watch, &options.run, request);
    int done = pappus_situation_open(&situation, request->arguments[0], &plan, &options.run, &log);
    if (done == PAPPUS_OK) done = pappus_window_find(&window, situation, &options, &log);
    cli_watch_end(&watch);
    cli_print_log(done == PAPPUS_OK ? &window->log : &log, request->quiet);
    pappus_log_clear(&log);
    status =
        done == PAPPUS_OK ? print_window(request, situation, window) : pappus_status_exit(done);
    pappus_window_free(window);
    pappus_situation_free(situation);
    return status;
}
