/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus debrief: flown flights against what the plan said of them. */
#include "commands.h"

#include <pappus/debrief.h>

#include <libgen.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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

static int usage(const char *option, const char *found, const char *accepted)
{
    fprintf(stderr, "pappus: %s: found %s: %s\n", option, found, accepted);
    return EXIT_USAGE;
}

/* What of an added flight the command line tells; -1 to go on. */
static int read_added(pappus_flight *flight, const cli_request *request)
{
    pappus_error error = {0};
    *flight = (pappus_flight){.time_utc_s = NAN,
                              .landing_latitude_deg = request->at.latitude_deg,
                              .landing_longitude_deg = request->at.longitude_deg};
    if (!request->add && (request->time || !isnan(request->at.latitude_deg)))
        return usage(request->time ? "--time" : "--at", request->time ? request->time : "a place",
                     "it is of a flight that is added; accepted with --add");
    if (!request->add) return -1;
    if (request->argument_count > 3)
        return usage("--add", "more than one log", "accepted is one log, or none with --at");
    if (request->argument_count < 3 && isnan(request->at.latitude_deg))
        return usage("--add", "neither a log nor a landing",
                     "accepted is pappus debrief PLAN FOLDER LOG --add --at 41.763,-98.440, one of "
                     "log and place may be left out");
    if (request->time && pappus_time_parse(&flight->time_utc_s, request->time, &error) != PAPPUS_OK)
        return usage("--time", request->time, error.message);
    return -1;
}

static bool same_log(const pappus_flight_log *a, const pappus_flight_log *b)
{
    return a && b && a->count == b->count &&
           memcmp(a->time_s, b->time_s, a->count * sizeof *a->time_s) == 0 &&
           memcmp(a->height_m, b->height_m, a->count * sizeof *a->height_m) == 0;
}

/* The same time and log, or without a log the same place, are the same flight. What is wrong in
 * the folder is told when it is read. */
static int refuse_twice(debrief_work *work, const char *folder, const pappus_flight *flight,
                        const pappus_flight_log *flight_log)
{
    pappus_flights *there = NULL;
    pappus_log unread = {0};
    const char *found = NULL;
    int status = PAPPUS_OK;
    pappus_flights_read(&there, &folder, 1, &unread);
    for (size_t i = 0; there && i < there->count && !found; i++) {
        const pappus_flight *one = &there->flights[i];
        bool same = flight_log
                        ? same_log(flight_log, one->log)
                        : fabs(one->landing_latitude_deg - flight->landing_latitude_deg) +
                                  fabs(one->landing_longitude_deg - flight->landing_longitude_deg) <
                              1e-9;
        if (same && fabs(one->time_utc_s - flight->time_utc_s) < 1.0) found = one->path;
    }
    if (found)
        status = pappus_log_add(&work->log, PAPPUS_FAULT, PAPPUS_E_REFUSED, found, NULL, NULL,
                                "this flight is there already; accepted is each flight once");
    pappus_flights_free(there);
    pappus_log_clear(&unread);
    return status;
}

static int add_flight(debrief_work *work, const cli_request *request, pappus_flight *flight)
{
    pappus_error error = {0};
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    const char *log_path = request->argument_count > 2 ? request->arguments[2] : NULL;
    if (isnan(flight->time_utc_s)) flight->time_utc_s = plan->wind.time_utc_s;
    if (isnan(flight->time_utc_s))
        return pappus_log_add(&work->log, PAPPUS_FAULT, PAPPUS_E_USAGE, NULL, "--time", NULL,
                              "not given, and the plan has no wind.time; accepted is the time of "
                              "the launch, as in 2027-04-17T15:10Z");
    pappus_flight_log *read = NULL;
    if (log_path) {
        int status = pappus_flight_log_read(&read, log_path, &work->log);
        if (status != PAPPUS_OK) return status;
    }
    int status = refuse_twice(work, request->arguments[1], flight, read);
    pappus_flight_log_free(read);
    if (status != PAPPUS_OK) return status;
    status = pappus_flight_keep(request->arguments[1], flight, plan, log_path, &error);
    if (status != PAPPUS_OK)
        pappus_log_add(&work->log, PAPPUS_FAULT, status, error.file, error.key, NULL, "%s",
                       error.message);
    return status;
}

/* What is wrong in the plan and in the records is all told at once. */
static int run(debrief_work *work, const cli_request *request)
{
    pappus_flight added;
    pappus_plan_options plan = request->plan;
    cli_watch watch;
    pappus_run how;
    plan.any_time = true;
    cli_watch_begin(&watch, &how, request);
    int status =
        pappus_situation_open(&work->situation, request->arguments[0], &plan, &how, &work->log);
    if (status == PAPPUS_OK && read_added(&added, request) >= 0) status = PAPPUS_E_USAGE;
    if (status == PAPPUS_OK && request->add) status = add_flight(work, request, &added);
    if (status == PAPPUS_E_USAGE || (status != PAPPUS_OK && request->add)) {
        cli_watch_end(&watch);
        return status;
    }
    int read = pappus_flights_read(&work->flights, (const char *const *)request->arguments + 1,
                                   request->add ? 1 : request->argument_count - 1, &work->log);
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

/* The plan as the one that is written would name it: by its name beside it, else from the root. */
static bool base_of(char out[PATH_MAX], const char *plan, const char *output)
{
    char real[PATH_MAX], folder[PATH_MAX], copy[PATH_MAX];
    if (!realpath(plan, real) || strlen(output) >= sizeof copy) return false;
    strcpy(copy, output);
    if (!realpath(dirname(copy), folder)) return false;
    size_t n = strlen(folder);
    bool beside = strncmp(real, folder, n) == 0 && real[n] == '/' && !strchr(real + n + 1, '/');
    strcpy(out, beside ? real + n + 1 : real);
    return true;
}

static int write_plan(const cli_request *request, const debrief_work *work)
{
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    pappus_error error = {0};
    char base[PATH_MAX], *text = NULL;
    if (!base_of(base, request->arguments[0], request->output)) {
        fprintf(stderr,
                "pappus: error: %s: its folder does not exist; accepted is a folder that "
                "does\n",
                request->output);
        return EXIT_INPUT;
    }
    int status = pappus_debrief_plan_text(&text, work->debrief, plan, base, &error);
    if (status == PAPPUS_OK)
        status = pappus_file_write(request->output, text, strlen(text), &error);
    free(text);
    return status == PAPPUS_OK ? EXIT_GO : cli_fault(&error);
}

static int write_output(const cli_request *request, const debrief_work *work)
{
    for (size_t i = 0; i < request->argument_count; i++)
        if (cli_same_file(request->output, request->arguments[i])) return cli_refuse_input(request);
    for (size_t i = 0; i < work->flights->count; i++)
        if (cli_same_file(request->output, work->flights->flights[i].path))
            return cli_refuse_input(request);
    if (!cli_ends_in(request->output, ".html")) return write_plan(request, work);
    const pappus_plan *plan = pappus_situation_givens(work->situation).plan;
    pappus_error error = {0};
    int status = pappus_debrief_write(work->debrief, plan, request->output, plan->units, &error);
    return status == PAPPUS_OK ? EXIT_GO : cli_fault(&error);
}

int cmd_debrief(const cli_request *request)
{
    debrief_work work = {0};
    if (request->output && !cli_ends_in(request->output, ".json") &&
        !cli_ends_in(request->output, ".html"))
        return usage("--output", request->output, "accepted are names ending in .json and .html");
    int status = run(&work, request);
    cli_print_log(status == PAPPUS_OK ? &work.debrief->log : &work.log, request->quiet);
    status = pappus_status_exit(status);
    if (status == 0 && request->output) status = write_output(request, &work);
    if (status == 0) status = show(request, &work);
    end(&work);
    return status;
}
