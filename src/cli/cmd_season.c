/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus season: years of soundings as days on which it is go or not; parts of it for a
 * scheduler's jobs, and the parts together. */
#include "commands.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static int usage(const char *option, const char *found, const char *accepted)
{
    fprintf(stderr, "pappus: %s: found %s: %s\n", option, found, accepted);
    return EXIT_USAGE;
}

#define FOLDER_SIZE 4096

/* ------------------------------------------------------------------ arguments */

/* A plan is a JSON object; archives begin otherwise. False with a message when the file cannot
 * be looked at. */
static bool look(bool *is_plan, const char *path)
{
    int c = EOF;
    FILE *file = fopen(path, "rb");
    if (!file) {
        fprintf(stderr, "pappus: error: %s: cannot be opened: %s\n", path, strerror(errno));
        return false;
    }
    while ((c = fgetc(file)) == ' ' || c == '\t' || c == '\r' || c == '\n' || c == 0xEF ||
           c == 0xBB || c == 0xBF)
        continue;
    fclose(file);
    *is_plan = c == '{';
    return true;
}

typedef struct {
    const char **plans, **archives; /* one after the other in one list */
    size_t plan_count, archive_count;
} inputs;

static int sort_inputs(inputs *out, const cli_request *request)
{
    *out = (inputs){.plans = calloc(2 * request->argument_count + 1, sizeof *out->plans)};
    if (!out->plans) return EXIT_MACHINE;
    out->archives = out->plans + request->argument_count;
    for (size_t i = 0; i < request->argument_count; i++) {
        const char *path = request->arguments[i];
        bool is_plan;
        if (!look(&is_plan, path)) return EXIT_INPUT;
        if (is_plan)
            out->plans[out->plan_count++] = path;
        else
            out->archives[out->archive_count++] = path;
    }
    if (out->plan_count > 0 && out->archive_count > 0) return -1;
    return usage("season", out->plan_count ? "no archive" : "no plan",
                 "accepted are plans (JSON) and archives of soundings, e.g. pappus season "
                 "plan.json soundings.txt -o season");
}

static bool whole(size_t *out, const char **text)
{
    char *end;
    if (**text < '0' || **text > '9') return false;
    errno = 0;
    *out = strtoul(*text, &end, 10);
    *text = end;
    return errno == 0;
}

static int read_options(pappus_season_options *options, const cli_request *request)
{
    const char *at = request->shard;
    options->reading = !request->no_reading;
    options->resume = request->resume;
    if (request->age_h >= 0) options->age_s = 3600.0 * request->age_h;
    if (request->resume && !request->output)
        return usage("--resume", "no --output",
                     "accepted is --resume with the -o of the run that "
                     "was stopped");
    if (!at) return -1;
    if (!whole(&options->shard, &at) || *at++ != '/' || !whole(&options->shards, &at) || *at ||
        options->shard < 1 || options->shard > options->shards || options->shards > 1000000)
        return usage("--shard", request->shard, "accepted is K/N with K from 1 to N, e.g. 3/8");
    if (!request->output)
        return usage("--shard", "no --output", "accepted is -o with the folder for the parts");
    return -1;
}

/* ------------------------------------------------------------------------ work */

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void print_duration(double s)
{
    if (s < 90.0)
        fprintf(stderr, "%.0f s", s);
    else if (s < 5400.0)
        fprintf(stderr, "%.0f min", s / 60.0);
    else
        fprintf(stderr, "%.1f h", s / 3600.0);
}

/* What it will cost, by its first day. */
static int tell_cost(pappus_season *season, const cli_request *request, pappus_log *log)
{
    const pappus_season_head *head = pappus_season_about(season);
    size_t days = pappus_season_day_count(season), most = 0;
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    if (request->quiet) return PAPPUS_OK;
    int status = pappus_season_try(season, log); /* what is made once is made now */
    double begun = now_s();
    if (status == PAPPUS_OK) status = pappus_season_try(season, log);
    double each_s = now_s() - begun;
    if (status != PAPPUS_OK) return status;
    for (size_t p = 0; p < head->plan_count; p++)
        if (head->plans[p].height_count > most) most = head->plans[p].height_count;
    if (request->run.threads > 0) cores = request->run.threads;
    if (cores < 1) cores = 1;
    fprintf(stderr,
            "pappus: note: season: %zu of %zu days, %zu plan%s, %zu main heights, %zu landings "
            "each: about ",
            days, head->day_count, head->plan_count, head->plan_count == 1 ? "" : "s", most,
            head->landings);
    print_duration(each_s * (double)days / (double)cores);
    fprintf(stderr, " on %ld thread%s\n", cores, cores == 1 ? "" : "s");
    return PAPPUS_OK;
}

/* Opens, tells, works; the log is printed. Returns -1, or the exit status. */
static int work(const cli_request *request, const inputs *in, const char *part,
                pappus_season_options *options)
{
    pappus_season *season = NULL;
    pappus_log log = {0};
    cli_watch watch;
    cli_watch_begin(&watch, &options->run, request);
    int status = pappus_season_open(&season, in->plans, in->plan_count, in->archives,
                                    in->archive_count, &request->plan, options, &log);
    if (status == PAPPUS_OK) status = tell_cost(season, request, &log);
    if (status == PAPPUS_OK) status = pappus_season_work(season, part, &log);
    cli_watch_end(&watch);
    pappus_season_free(season);
    cli_print_log(&log, request->quiet);
    pappus_log_clear(&log);
    return status == PAPPUS_OK ? -1 : pappus_status_exit(status);
}

/* ---------------------------------------------------------------------- result */

static int show(const cli_request *request, const pappus_season_result *result)
{
    bool asked = request->merge && request->plan.setting_count > 0; /* else the plan says it */
    pappus_text_options options = cli_text_options(request, NULL);
    pappus_error error = {0};
    char *text = NULL;
    int status = PAPPUS_OK;
    options.units = asked ? request->units : result->head.units;
    if (request->output)
        status = pappus_season_write(result, request->output, options.units, &error);
    if (status == PAPPUS_OK)
        status = request->json ? pappus_season_json_text(&text, result, &error)
                               : pappus_season_text(&text, result, &options, &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

static int merge(const cli_request *request, const char *const *paths, size_t count)
{
    pappus_season_result *result = NULL;
    pappus_log log = {0};
    int status = pappus_season_merge(&result, paths, count, &log);
    cli_print_log(&log, request->quiet);
    pappus_log_clear(&log);
    int done = status == PAPPUS_OK ? show(request, result) : pappus_status_exit(status);
    pappus_season_result_free(result);
    return done;
}

/* Where one run keeps what it has done: beside the folder to be, or nowhere to stay. */
static char *work_name(const cli_request *request, char folder[FOLDER_SIZE])
{
    const char *slash, *given = getenv("TMPDIR");
    char *name = NULL;
    folder[0] = '\0';
    if (request->output) {
        size_t length = strlen(request->output);
        while (length > 1 && request->output[length - 1] == '/')
            length--;
        slash = memrchr(request->output, '/', length);
        size_t parent = slash ? (size_t)(slash - request->output) + 1 : 0;
        if (asprintf(&name, "%.*s.%.*s.season", (int)parent, request->output,
                     (int)(length - parent), request->output + parent) < 0)
            return NULL;
        return name;
    }
    if (!given || !given[0]) given = P_tmpdir;
    if (snprintf(folder, FOLDER_SIZE, "%s/pappus-season-XXXXXX", given) >= FOLDER_SIZE) return NULL;
    if (!mkdtemp(folder) || asprintf(&name, "%s/part", folder) < 0) return NULL;
    return name;
}

static int run_whole(const cli_request *request, const inputs *in, pappus_season_options *options)
{
    char folder[FOLDER_SIZE];
    int status = cli_output_check(request);
    if (status >= 0) return status;
    char *part = work_name(request, folder);
    if (!part) {
        fprintf(stderr, "pappus: error: a folder for the work could not be made: %s\n",
                strerror(errno));
        return EXIT_MACHINE;
    }
    status = work(request, in, part, options);
    bool whole_part = status < 0;
    if (whole_part) status = merge(request, (const char *const *)&part, 1);
    if (folder[0] || (whole_part && status == EXIT_GO)) unlink(part);
    if (folder[0]) rmdir(folder);
    free(part);
    return status;
}

static int run_shard(const cli_request *request, const inputs *in, pappus_season_options *options)
{
    if (mkdir(request->output, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "pappus: error: %s: cannot be made: %s\n", request->output,
                strerror(errno));
        return EXIT_MACHINE;
    }
    char *part = pappus_season_part_name(request->output, options->shard, options->shards);
    if (!part) return EXIT_MACHINE;
    int status = work(request, in, part, options);
    free(part);
    return status < 0 ? EXIT_GO : status;
}

int cmd_season(const cli_request *request)
{
    pappus_season_options options = PAPPUS_SEASON_OPTIONS_INIT;
    inputs in = {0};
    if (request->merge) {
        int refused = request->shard ? usage("--merge", "--shard", "accepted is one of the two")
                                     : cli_output_check(request);
        return refused >= 0 ? refused
                            : merge(request, (const char *const *)request->arguments,
                                    request->argument_count);
    }
    int status = sort_inputs(&in, request);
    if (status < 0) status = read_options(&options, request);
    if (status < 0)
        status = options.shards > 1 || request->shard ? run_shard(request, &in, &options)
                                                      : run_whole(request, &in, &options);
    free(in.plans);
    return status;
}
