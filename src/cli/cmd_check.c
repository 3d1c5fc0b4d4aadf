/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus check: reads everything, shows each value as understood, reports all that
 * is wrong at once, and samples nothing; only the central flight is tried. */
#include "commands.h"

typedef struct {
    pappus_plan *plan; /* NULL: could not be read; so with the others */
    pappus_winds *winds;
    pappus_field *field;
    pappus_log log;
} check_work;

static void end(check_work *work)
{
    pappus_field_free(work->field);
    pappus_winds_free(work->winds);
    pappus_plan_free(work->plan);
    pappus_log_clear(&work->log);
}

/* Everything is read, whatever is wrong with the parts before it. */
static int read_all(check_work *work, const cli_request *request)
{
    const pappus_air_options as_read = PAPPUS_AIR_OPTIONS_INIT;
    pappus_plan_options options = request->plan;
    pappus_air *air = NULL;
    options.needs_wind = false;
    int status = pappus_plan_read(&work->plan, request->arguments[0], &options, &work->log);
    if (!work->plan) return status;
    if (work->plan->has_wind &&
        pappus_winds_read(&work->winds, work->plan, &work->log) == PAPPUS_OK &&
        pappus_air_build(&air, work->plan, work->winds, &as_read, &work->log) == PAPPUS_OK)
        pappus_flight_check(work->plan, air, &work->log);
    pappus_field_read(&work->field, work->plan, &work->log);
    pappus_air_free(air);
    return status;
}

/* Quiet: the findings alone. */
static int make_text(char **out, const check_work *work, const cli_request *request,
                     pappus_error *err)
{
    if (request->json)
        return pappus_check_json_text(out, work->plan, work->winds, work->field, &work->log, err);
    if (request->quiet) return pappus_check_text(out, NULL, NULL, NULL, &work->log, err);
    return pappus_check_text(out, work->plan, work->winds, work->field, &work->log, err);
}

int cmd_check(const cli_request *request)
{
    check_work work = {0};
    int status = pappus_status_exit(read_all(&work, request));
    for (size_t i = 0; i < work.log.count && status != EXIT_MACHINE; i++)
        if (work.log.entries[i].severity == PAPPUS_FAULT)
            status = pappus_status_exit(work.log.entries[i].error.code);
    pappus_error error = {0};
    char *text = NULL;
    if (make_text(&text, &work, request, &error) == PAPPUS_OK)
        status = cli_print_text(text, status);
    else
        status = cli_fault(&error);
    end(&work);
    return status;
}
