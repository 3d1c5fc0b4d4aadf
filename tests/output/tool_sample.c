/* SPDX-License-Identifier: GPL-3.0-or-later
 * tool_sample FOLDER [landings=N] [text=TEXT] [crs=utm] [bare] [layers]: writes
 * the sample answer into a folder and prints its half-screen answer, for the
 * scripts that read the files back with other libraries. */
#include <pappus/pappus.h>

#include <signal.h>
#include <stdio.h>

#include "sample_answer.h"

static const char *option(int argc, char **argv, const char *name)
{
    size_t length = strlen(name);
    for (int i = 2; i < argc; i++)
        if (strncmp(argv[i], name, length) == 0) return argv[i] + length;
    return NULL;
}

static int fail(const pappus_error *error)
{
    char line[2048];
    pappus_error_line(line, sizeof line, error);
    fprintf(stderr, "%s\n", line);
    return pappus_status_exit(error->code);
}

int main(int argc, char **argv)
{
    pappus_write_options options = {0};
    pappus_error error = {0};
    char *text = NULL;
    if (argc < 2) return 2;
    signal(SIGXFSZ, SIG_IGN);
    const char *landings = option(argc, argv, "landings="), *words = option(argc, argv, "text=");
    sample_answer *sample = sample_answer_make(landings ? strtoul(landings, NULL, 10) : 2000,
                                               words ? words : "Evening flight");
    if (option(argc, argv, "bare")) sample_answer_bare(sample);
    if (option(argc, argv, "crs=utm")) options.crs = PAPPUS_CRS_UTM;
    options.layers_only = option(argc, argv, "layers") != NULL;
    pappus_text_options layout = {.columns = 78,
                                  .units = option(argc, argv, "units=si") ? PAPPUS_UNITS_SI
                                                                          : PAPPUS_UNITS_US,
                                  .colour = option(argc, argv, "colour") != NULL};
    int status = pappus_answer_write(&sample->answer, argv[1], &options, &error);
    if (status == PAPPUS_OK) status = pappus_answer_text(&text, &sample->answer, &layout, &error);
    if (text) fputs(text, stdout);
    free(text);
    sample_answer_clear(sample);
    return status == PAPPUS_OK ? 0 : fail(&error);
}
