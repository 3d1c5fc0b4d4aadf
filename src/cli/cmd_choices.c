/* SPDX-License-Identifier: GPL-3.0-or-later
 * pappus heights, ceiling, crews: one choice each, without the rest of the brief. */
#include "commands.h"

#include <math.h>

typedef int (*choice_text)(char **out, const pappus_answer *answer,
                           const pappus_text_options *options, pappus_error *err);

/* exit_status: of an answer, when it could be computed. */
static int print_choice(const cli_request *request, unsigned part, choice_text text_of,
                        int (*exit_status)(const pappus_answer *answer))
{
    pappus_answer *answer = NULL;
    pappus_error error = {0};
    char *text = NULL;
    int status = cli_answer(&answer, request, request->arguments[0], part, false, NULL);
    if (status < 0) {
        pappus_text_options options = cli_text_options(request, answer->plan);
        int done = request->json ? pappus_answer_summary(&text, answer, &error)
                                 : text_of(&text, answer, &options, &error);
        status = done == PAPPUS_OK ? cli_print_text(text, exit_status(answer)) : cli_fault(&error);
    }
    pappus_answer_free(answer);
    return status;
}

static int heights_exit(const pappus_answer *answer)
{
    if (!answer->heights || !isnan(answer->heights->recommended_m)) return EXIT_GO;
    for (size_t i = 0; i < answer->heights->row_count; i++)
        if (answer->heights->rows[i].verdict == PAPPUS_UNDECIDED) return EXIT_NOT_DECIDED;
    return EXIT_NO_GO;
}

static int ceiling_exit(const pappus_answer *answer)
{
    return answer->ceiling && !pappus_ceiling_first(answer->ceiling)->planned.go ? EXIT_NO_GO
                                                                                 : EXIT_GO;
}

static int crews_exit(const pappus_answer *answer)
{
    return answer->crews && answer->crews->blocked_by != PAPPUS_POST_FREE ? EXIT_NO_GO : EXIT_GO;
}

int cmd_heights(const cli_request *request)
{
    return print_choice(request, PAPPUS_PART_HEIGHTS | PAPPUS_PART_CREWS | PAPPUS_PART_CONTOURS,
                        pappus_heights_text, heights_exit);
}

int cmd_ceiling(const cli_request *request)
{
    return print_choice(request, PAPPUS_PART_CEILING, pappus_ceiling_text, ceiling_exit);
}

int cmd_crews(const cli_request *request)
{
    return print_choice(request, PAPPUS_PART_CREWS | PAPPUS_PART_CONTOURS, pappus_crews_text,
                        crews_exit);
}
