/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus debrief: flown flights against what the plan said of them. */
#include "commands.h"

#include <pappus/debrief.h>

#include <stdlib.h>

typedef struct {
    pappus_situation *situation;
    pappus_flights *flights;
    pappus_debrief *debrief;
    pappus_log log;
} debrief_work;

static void end(debrief_work *work)
{
    pappus_debrief_free(work->debrief);
    pappus_flights_free(work->flights);
    pappus_situation_free(work->situation);
    pappus_log_clear(&work->log);
}

/* What is wrong in the plan and in the records is all told at once. */
static int run(debrief_work *work, const cli_request *request)
{
    pappus_plan_options plan = request->plan;
    cli_watch watch;
    pappus_run how;
    plan.any_time = true;
    cli_watch_begin(&watch, &how, request);
    int status =
        pappus_situation_open(&work->situation, request->arguments[0], &plan, &how, &work->log);
    int read = pappus_flights_read(&work->flights, (const char *const *)request->arguments + 1,
                                   request->argument_count - 1, &work->log);
    if (status == PAPPUS_OK) status = read;
    if (status == PAPPUS_OK)
        status =
            pappus_debrief_make(&work->debrief, work->situation, work->flights, &how, &work->log);
    cli_watch_end(&watch);
    return status;
}

static int show(const cli_request *request, const debrief_work *work)
{
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    pappus_error error = {0};
    char *text = NULL;
    int status = request->json
                     ? pappus_debrief_json_text(&text, work->debrief, plan, &error)
                     : pappus_debrief_text(&text, work->debrief, plan, plan->units, &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

int cmd_debrief(const cli_request *request)
{
    debrief_work work = {0};
    int status = run(&work, request);
    cli_print_log(status == PAPPUS_OK ? &work.debrief->log : &work.log, request->quiet);
    status = status == PAPPUS_OK ? show(request, &work) : pappus_status_exit(status);
    end(&work);
    return status;
}
