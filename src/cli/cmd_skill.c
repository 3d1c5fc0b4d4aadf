/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus skill: the wind's error measured on years of soundings, and the plan's zones held
 * against the wind that came. */
#include "commands.h"

#include <pappus/skill.h>

#include <stdlib.h>
#include <string.h>

typedef struct {
    pappus_archive *archive;
    pappus_skill *skill;
    pappus_plan *plan; /* NULL: no proof */
    pappus_field *field;
    pappus_proof *proof;
    pappus_log log;
} skill_work;

static void end(skill_work *work)
{
    pappus_proof_free(work->proof);
    pappus_field_free(work->field);
    pappus_plan_free(work->plan);
    pappus_skill_free(work->skill);
    pappus_archive_free(work->archive);
    pappus_log_clear(&work->log);
}

/* "4-9,11": bits from `first` on; false when it is not such a list. A range may go over
 * the end of the year or day: "11-2". */
static bool read_list(unsigned *out, const char *text, unsigned first, unsigned last)
{
    for (;; text++) {
        char *rest;
        if (*text < '0' || *text > '9') return false;
        unsigned long from = strtoul(text, &rest, 10), to = from;
        if (*rest == '-') {
            if (rest[1] < '0' || rest[1] > '9') return false;
            to = strtoul(rest + 1, &rest, 10);
        }
        if (from < first || from > last || to < first || to > last) return false;
        for (unsigned long i = from;; i = i == last ? first : i + 1) {
            *out |= 1U << (i - first);
            if (i == to) break;
        }
        text = rest;
        if (*text == '\0') return true;
        if (*text != ',') return false;
    }
}

static int usage(const char *option, const char *found, const char *accepted)
{
    fprintf(stderr, "pappus: %s: found %s: %s\n", option, found, accepted);
    return EXIT_USAGE;
}

static int read_choice(pappus_skill_options *choice, const cli_request *request)
{
    static const int ages[] = {1, 2, 3, 6, 9, 12, 18, 24, 36, 48};
    char text[16];
    if (request->months && !read_list(&choice->months, request->months, 1, 12))
        return usage("--months", request->months, "accepted are months 1 to 12, e.g. 4-9 or 11-2");
    if (request->hours && !read_list(&choice->hours, request->hours, 0, 23))
        return usage("--hours", request->hours,
                     "accepted are hours 0 to 23 UTC, e.g. 9-18 or 0,12");
    if (request->age_h < 0) return -1;
    choice->age_h = request->age_h;
    for (size_t i = 0; i < sizeof ages / sizeof *ages; i++)
        if (request->age_h == ages[i]) return -1;
    snprintf(text, sizeof text, "%d", request->age_h);
    return usage("--age", text, "accepted are 1, 2, 3, 6, 9, 12, 18, 24, 36 and 48 (h)");
}

static int read_plan(skill_work *work, const cli_request *request)
{
    int status = pappus_plan_read(&work->plan, request->tried_plan, &request->plan, &work->log);
    return status == PAPPUS_OK ? pappus_field_read(&work->field, work->plan, &work->log) : status;
}

/* Reads and measures; all is in `work` then. */
static int run(skill_work *work, const cli_request *request, const pappus_skill_options *choice)
{
    pappus_error error = {0};
    int status = PAPPUS_OK;
    if (request->tried_plan) status = read_plan(work, request);
    int read = pappus_archive_read(&work->archive, (const char *const *)request->arguments,
                                   request->argument_count, &work->log);
    if (status == PAPPUS_OK) status = read;
    if (status != PAPPUS_OK) return status;
    status = pappus_skill_measure(&work->skill, work->archive, choice, &error);
    if (status == PAPPUS_OK && work->plan) {
        pappus_proof_options options = PAPPUS_PROOF_OPTIONS_INIT;
        cli_watch watch;
        options.choice = *choice;
        cli_watch_begin(&watch, &options.run, request);
        options.run.stage(options.run.stage_context, "trying the zones");
        status = pappus_skill_prove(&work->proof, work->archive, work->plan, work->field, &options,
                                    &error);
        cli_watch_end(&watch);
    }
    if (status != PAPPUS_OK)
        pappus_log_add(&work->log, PAPPUS_FAULT, status, request->arguments[0], error.key, NULL,
                       "%s", error.message);
    return status;
}

static int write_output(const cli_request *request, const skill_work *work)
{
    pappus_error error = {0};
    char *text = NULL;
    for (size_t i = 0; i < request->argument_count; i++)
        if (cli_same_file(request->output, request->arguments[i])) return cli_refuse_input(request);
    if (cli_same_file(request->output, request->tried_plan)) return cli_refuse_input(request);
    int status;
    if (cli_ends_in(request->output, ".html") || cli_ends_in(request->output, ".svg")) {
        status = pappus_skill_write(work->archive, work->skill, work->proof, request->output,
                                    request->units, &error);
        return status == PAPPUS_OK ? EXIT_GO : cli_fault(&error);
    }
    status = pappus_skill_plan_text(&text, work->archive, work->skill, &error);
    if (status == PAPPUS_OK)
        status = pappus_file_write(request->output, text, strlen(text), &error);
    free(text);
    return status == PAPPUS_OK ? EXIT_GO : cli_fault(&error);
}

static int show(const cli_request *request, const skill_work *work)
{
    pappus_error error = {0};
    char *text = NULL;
    int status = request->json ? pappus_skill_json_text(&text, work->archive, work->skill,
                                                        work->proof, &error)
                               : pappus_skill_text(&text, work->archive, work->skill, work->proof,
                                                   cli_units(request, work->plan), &error);
    return status == PAPPUS_OK ? cli_print_text(text, EXIT_GO) : cli_fault(&error);
}

int cmd_skill(const cli_request *request)
{
    pappus_skill_options choice = PAPPUS_SKILL_OPTIONS_INIT;
    skill_work work = {0};
    if (request->output && !cli_ends_in(request->output, ".json") &&
        !cli_ends_in(request->output, ".html") && !cli_ends_in(request->output, ".svg"))
        return usage("--output", request->output,
                     "accepted are names ending in .json, .html and .svg");
    int status = read_choice(&choice, request);
    if (status >= 0) return status;
    status = run(&work, request, &choice);
    cli_print_log(&work.log, request->quiet || status == PAPPUS_OK);
    status = pappus_status_exit(status);
    if (work.skill && status == 0 && request->output) status = write_output(request, &work);
    if (work.skill && status == 0) status = show(request, &work);
    end(&work);
    return status;
}
