/* SPDX-License-Identifier: GPL-3.0-or-later
 * The commands, one file each, and what they share. */
#ifndef PAPPUS_CLI_COMMANDS_H
#define PAPPUS_CLI_COMMANDS_H

#include "options.h"

#include <stdio.h>

/** One option of the table: everything that is to be said of it. take reads the text given
 * with it into its variable and returns -1, or the exit status after a message. */
typedef struct cli_option {
    char letter; /**< short form; 0: none */
    const char *name;
    const char *argument; /**< NULL: takes none; "us|si": these words, in the order of the enum */
    const char *help;
    const char *commands; /**< those it is for; NULL: all */
    int (*take)(void *variable, const struct cli_option *option, const char *text);
    size_t variable;    /**< offset in cli_request */
    uint64_t low, high; /**< of a number */
} cli_option;

extern const cli_option cli_options[];
extern const size_t cli_option_count;
bool cli_option_is_for(const cli_option *option, const cli_command *command);

int cmd_brief(const cli_request *request);
int cmd_scatter(const cli_request *request);
int cmd_heights(const cli_request *request);
int cmd_ceiling(const cli_request *request);
int cmd_crews(const cli_request *request);
int cmd_window(const cli_request *request);
int cmd_desk(const cli_request *request);
int cmd_size(const cli_request *request);
int cmd_wind(const cli_request *request);
int cmd_skill(const cli_request *request);
int cmd_season(const cli_request *request);
int cmd_debrief(const cli_request *request);
int cmd_check(const cli_request *request);
int cmd_new(const cli_request *request);
int cmd_manual(const cli_request *request);

/** What the machine may do to a process, as a line and EXIT_MACHINE: a file over its limit, an
 * abort inside a library, a stack too small to compute on. -1: go on. */
int cli_machine_begin(void);
/** As many threads as can be had: those asked for (0: one for each processor), or fewer. */
int cli_threads(int wanted);

/** Begins the program anew with threads that sleep while they wait, unless the user has said how
 * they wait: OpenMP looks at that as it is loaded. Comes back where they do, or it cannot. */
void cli_wait_asleep(char *const *words);

/** Help of one command, or of the program when command is NULL. */
void cli_print_help(FILE *stream, const cli_command *command);

/** Prints the log on stderr: faults always, warnings and notes unless quiet. */
void cli_print_log(const pappus_log *log, bool quiet);
/** Prints one fault on stderr; returns the exit status that goes with it. */
int cli_fault(const pappus_error *error);
bool cli_ends_in(const char *text, const char *ending);
/** True when both are there and are one file, links followed. */
bool cli_same_file(const char *one, const char *other);
/** Says that the output would overwrite what was read; EXIT_INPUT. */
int cli_refuse_input(const cli_request *request);
/** The units to show: the plan's, over which --units is laid; as asked when there is none. */
pappus_unit_system cli_units(const cli_request *request, const pappus_plan *plan);
/** Prints an owned text on stdout and frees it; EXIT_MACHINE when stdout fails. */
int cli_print_text(char *text, int exit_status);
/** Flushes stdout: EXIT_GO, or EXIT_MACHINE after a line when what was printed did not get out. */
int cli_printed(void);

/** Asks before the work whether the output folder may be written: -1, or the exit
 * status, the fault printed. */
int cli_output_check(const cli_request *request);
/** Runs pappus_brief with what the request asks, progress and timings included.
 * Returns -1 with an answer, else the exit status; the log has been printed. But for
 * the warnings when the text that follows tells_warnings on the same terminal: nobody
 * reads the same twice. picture (may be NULL): is begun as soon as it can be; may be freed
 * whatever becomes of the answer. */
int cli_answer(pappus_answer **out, const cli_request *request, const char *plan_path,
               unsigned parts, bool tells_warnings, pappus_picture **picture);
/** How text is laid out on stdout: as wide as COLUMNS or the terminal says, in colour on a
 * terminal that wants it (NO_COLOR: no-color.org; TERM=dumb has none). */
pappus_text_options cli_text_options(const cli_request *request, const pappus_plan *plan);
/** Progress after a while on a terminal, and the time of each stage. */
typedef struct {
    bool timings, bar, drawn;
    int columns;
    const char *stage;
    double started, stage_started, bar_after_s;
} cli_watch;
/** Fills *run with what the request asks, watched until the end. */
void cli_watch_begin(cli_watch *w, pappus_run *run, const cli_request *request);
void cli_watch_end(cli_watch *w);
/** The writing of files as a stage of its own, after the answer is there. */
void cli_writing_begin(cli_watch *w, const cli_request *request);

#endif
