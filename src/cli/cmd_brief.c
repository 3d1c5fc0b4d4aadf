/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus brief: the main job. Several plans are the parts of one flight that come
 * down untied: the worst decision of them is the flight's; or alternatives to compare. */
#include "commands.h"

#include <stdlib.h>

static const int exit_of[] = {
    [PAPPUS_GO] = EXIT_GO, [PAPPUS_NO_GO] = EXIT_NO_GO, [PAPPUS_NOT_DECIDED] = EXIT_NOT_DECIDED};

static int write_answers(const cli_request *request, pappus_answer **answers,
                         pappus_picture *picture)
{
    pappus_log log = {0};
    pappus_error error = {0};
    pappus_write_options options = {.units = cli_units(request, answers[0]->plan),
                                    .crs = request->crs,
                                    .alternatives = request->compare,
                                    .threads = request->run.threads,
                                    .log = &log,
                                    .picture = picture};
    cli_watch watch;
    if (!request->output) return -1;
    cli_writing_begin(&watch, request);
    int status = pappus_answers_write((const pappus_answer *const *)answers,
                                      request->argument_count, request->output, &options, &error);
    cli_watch_end(&watch);
    cli_print_log(&log, request->quiet);
    pappus_log_clear(&log);
    return status == PAPPUS_OK ? -1 : cli_fault(&error);
}

/* Of alternatives one is flown. */
static pappus_decision best_of(const pappus_answer *const *answers, size_t count)
{
    pappus_decision best = PAPPUS_NO_GO;
    for (size_t i = 0; i < count; i++) {
        pappus_decision decision = pappus_decision_of(&answers[i], 1);
        if (decision == PAPPUS_GO) return PAPPUS_GO;
        if (decision == PAPPUS_NOT_DECIDED) best = decision;
    }
    return best;
}

static int print_answers(const cli_request *request, pappus_answer **answers)
{
    pappus_decision decision =
        pappus_decision_of((const pappus_answer *const *)answers, request->argument_count);
    pappus_text_options options = cli_text_options(request, answers[0]->plan);
    pappus_error error = {0};
    char *text = NULL;
    int status;
    bool compared = request->compare && request->argument_count > 1;
    if (compared)
        decision = best_of((const pappus_answer *const *)answers, request->argument_count);
    if (request->json)
        status = (compared ? pappus_alternatives_summary : pappus_answers_summary)(
            &text, (const pappus_answer *const *)answers, request->argument_count, &error);
    else
        status = (compared ? pappus_alternatives_text
                           : pappus_answers_text)(&text, (const pappus_answer *const *)answers,
                                                  request->argument_count, &options, &error);
    return status == PAPPUS_OK ? cli_print_text(text, exit_of[decision]) : cli_fault(&error);
}

/* Of one answer the map's picture is drawn while the last stages go on. */
static int brief_all(const cli_request *request, pappus_answer **answers, pappus_picture **picture)
{
    bool early = request->output && request->argument_count == 1;
    int refused = cli_output_check(request);
    if (refused >= 0) return refused;
    for (size_t i = 0; i < request->argument_count; i++) {
        int status = cli_answer(&answers[i], request, request->arguments[i], PAPPUS_PART_ALL, true,
                                early ? picture : NULL);
        if (status >= 0) return status;
    }
    int unwritten = write_answers(request, answers, *picture);
    int printed = print_answers(request, answers);
    return unwritten >= 0 ? unwritten : printed;
}

int cmd_brief(const cli_request *request)
{
    pappus_answer **answers = calloc(request->argument_count, sizeof *answers);
    if (!answers) return EXIT_MACHINE;
    pappus_picture *picture = NULL;
    int status = brief_all(request, answers, &picture);
    pappus_picture_free(picture);
    for (size_t i = 0; i < request->argument_count; i++)
        pappus_answer_free(answers[i]);
    free(answers);
    return status;
}
