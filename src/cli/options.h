/* SPDX-License-Identifier: GPL-3.0-or-later
 * The command line: one table of commands and one of options, from which the
 * parser, --help, the man page and the shell completions are made. */
#ifndef PAPPUS_CLI_OPTIONS_H
#define PAPPUS_CLI_OPTIONS_H

#include <pappus/pappus.h>

/** What was asked on the command line. */
typedef struct {
    const char *command;
    char **words; /**< the command line; borrowed, as are the arguments */
    size_t argument_count;
    char **arguments;   /**< borrowed from argv */
    const char *output; /**< NULL: none */
    pappus_run run;
    pappus_plan_options plan; /**< its settings are owned */
    pappus_unit_system units;
    pappus_crs crs;
    struct {
        double latitude_deg, longitude_deg; /**< NaN: not given */
    } at;
    const char *member; /**< a whole number; NULL: all */
    const char *station, *sounding, *from, *to, *step;
    const char *tried_plan, *months, *hours; /**< skill */
    const char *listen;                      /**< desk: NULL: nobody else looks */
    int port;                                /**< desk: 0: one that is free */
    bool open;                               /**< desk */
    int age_h;                               /**< negative: not given */
    const char *shard;                       /**< season: "3/8" */
    unsigned no_reading;                     /**< season: the second of its words */
    bool merge, resume;                      /**< season */
    const char *time;                        /**< debrief */
    bool add;                                /**< debrief */
    bool timings, quiet, json, compare, help, version;
    bool wind_table; /**< new: a layer table, not a plan */
    uint64_t given;  /**< a bit for each row of the option table */
} cli_request;

typedef int (*cli_run)(const cli_request *request);

/** One command. arguments: how many files it takes at least and at most. */
typedef struct {
    const char *name, *arguments, *help, *example;
    size_t least, most;
    cli_run run;
} cli_command;

extern const cli_command cli_commands[];
extern const size_t cli_command_count;

/** Exit statuses of the program (design). */
enum {
    EXIT_GO = 0,
    EXIT_INPUT = 1,
    EXIT_USAGE = 2,
    EXIT_NO_GO = 3,
    EXIT_NOT_DECIDED = 4,
    EXIT_MACHINE = 5
};

/** Fills the request, whatever was in it. Returns -1 to go on, else the exit status (a
 * message, or the help that was asked for, has been printed). To be ended either way. */
int cli_parse(cli_request *request, const cli_command **command, int argc, char **argv);
void cli_end(cli_request *request);

#endif
