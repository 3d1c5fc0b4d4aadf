/* SPDX-License-Identifier: GPL-3.0-or-later
 * What the commands share: the log on stderr, progress, timings, one answer. */
#include "commands.h"

#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static void print_log(const pappus_log *log, bool quiet, bool told)
{
    static const char *const words[] = {"error", "warning", "note"};
    for (size_t i = 0; i < log->count; i++) {
        const pappus_log_entry *entry = &log->entries[i];
        char line[1200];
        if (quiet && entry->severity != PAPPUS_FAULT) continue;
        if (told && entry->severity == PAPPUS_WARNING) continue;
        pappus_error_line(line, sizeof line, &entry->error);
        fprintf(stderr, "pappus: %s: %s\n", words[entry->severity], line);
    }
    if (log->lost && pappus_log_faults(log) == 0)
        fprintf(stderr, "pappus: error: %s\n", pappus_status_text(PAPPUS_E_MEMORY));
}

void cli_print_log(const pappus_log *log, bool quiet)
{
    print_log(log, quiet, false);
}

int cli_fault(const pappus_error *error)
{
    char line[1200];
    pappus_error_line(line, sizeof line, error);
    fprintf(stderr, "pappus: error: %s\n", line);
    return pappus_status_exit(error->code);
}

int cli_output_check(const cli_request *request)
{
    pappus_error error = {0};
    if (!request->output) return -1;
    return pappus_output_check(request->output, &error) == PAPPUS_OK ? -1 : cli_fault(&error);
}

bool cli_ends_in(const char *text, const char *ending)
{
    size_t n = strlen(text), m = strlen(ending);
    return n >= m && strcmp(text + n - m, ending) == 0;
}

bool cli_same_file(const char *one, const char *other)
{
    struct stat a, b;
    return one && other && stat(one, &a) == 0 && stat(other, &b) == 0 && a.st_dev == b.st_dev &&
           a.st_ino == b.st_ino;
}

int cli_refuse_input(const cli_request *request)
{
    fprintf(stderr, "pappus: error: %s: is the file that was read; accepted is another name\n",
            request->output);
    return EXIT_INPUT;
}

pappus_unit_system cli_units(const cli_request *request, const pappus_plan *plan)
{
    return plan ? plan->units : request->units;
}

int cli_printed(void)
{
    if (fflush(stdout) == 0 && !ferror(stdout)) return EXIT_GO;
    fprintf(stderr, "pappus: error: stdout: the answer could not be written\n");
    return EXIT_MACHINE;
}

int cli_print_text(char *text, int exit_status)
{
    size_t length = strlen(text);
    fwrite(text, 1, length, stdout);
    if (length > 0 && text[length - 1] != '\n') fputc('\n', stdout);
    free(text);
    return cli_printed() == EXIT_GO ? exit_status : EXIT_MACHINE;
}

static bool wants_colour(void)
{
    const char *no_color = getenv("NO_COLOR"), *terminal = getenv("TERM");
    return isatty(STDOUT_FILENO) && !(no_color && no_color[0]) &&
           !(terminal && strcmp(terminal, "dumb") == 0);
}

/* Columns of what a stream leads to, COLUMNS first; 0: not known. */
static int columns_of(int stream)
{
    const char *given = getenv("COLUMNS");
    struct winsize size;
    char *end;
    long columns = given ? strtol(given, &end, 10) : 0;
    if (given && *end == '\0' && columns > 0 && columns < 10000) return (int)columns;
    return isatty(stream) && ioctl(stream, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

pappus_text_options cli_text_options(const cli_request *request, const pappus_plan *plan)
{
    return (pappus_text_options){cli_units(request, plan), columns_of(STDOUT_FILENO),
                                 wants_colour()};
}

#define STAGE_WIDTH 22
#define BAR_FRAME (STAGE_WIDTH + 10) /* all but the bar, and a column for the cursor */
#define LEAST_BAR 5

/* One second, or as a test says: whether work is long depends on the machine. */
static double bar_after_s(void)
{
    const char *given = getenv("PAPPUS_PROGRESS_AFTER");
    return given ? strtod(given, NULL) : 1.0;
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void end_stage(const cli_watch *w)
{
    if (w->timings && w->stage)
        fprintf(stderr, "%8.3f s  %s\n", now_s() - w->stage_started, w->stage);
}

static void begin_stage(void *context, const char *name)
{
    cli_watch *w = context;
    end_stage(w);
    w->stage = name;
    w->stage_started = now_s();
}

static int show_progress(void *context, double fraction)
{
    static const char full[] = "##############################";
    cli_watch *w = context;
    if (!w->bar || now_s() - w->started < w->bar_after_s) return 0;
    int width = w->columns - BAR_FRAME, most = (int)(sizeof full - 1);
    if (width > most) width = most;
    int filled = (int)(fraction * width);
    if (width < LEAST_BAR)
        fprintf(stderr, "\r%3.0f %%", 100.0 * fraction);
    else
        fprintf(stderr, "\r%-*.*s [%-*.*s] %3.0f %%", STAGE_WIDTH, STAGE_WIDTH, w->stage, width,
                filled, full, 100.0 * fraction);
    w->drawn = true;
    return 0;
}

void cli_watch_begin(cli_watch *w, pappus_run *run, const cli_request *request)
{
    *w = (cli_watch){.timings = request->timings,
                     .bar = !request->quiet && isatty(STDERR_FILENO),
                     .columns = columns_of(STDERR_FILENO),
                     .started = now_s(),
                     .bar_after_s = bar_after_s()};
    if (w->columns == 0) w->columns = 80;
    *run = request->run;
    run->progress = show_progress;
    run->progress_context = w;
    run->stage = begin_stage;
    run->stage_context = w;
}

void cli_watch_end(cli_watch *w)
{
    end_stage(w);
    w->stage = NULL;
    int wiped = w->columns - 1 < BAR_FRAME + 30 ? w->columns - 1 : BAR_FRAME + 30;
    if (w->drawn) fprintf(stderr, "\r%*s\r", wiped, "");
}

void cli_writing_begin(cli_watch *w, const cli_request *request)
{
    *w = (cli_watch){.timings = request->timings};
    begin_stage(w, "writing");
}

typedef struct {
    const cli_request *request;
    pappus_picture *begun;
} early_picture;

static void begin_picture(void *context, const pappus_answer *answer)
{
    early_picture *picture = context;
    picture->begun = pappus_picture_begin(answer, cli_units(picture->request, answer->plan));
}

int cli_answer(pappus_answer **out, const cli_request *request, const char *plan_path,
               unsigned parts, bool tells_warnings, pappus_picture **picture)
{
    early_picture early = {.request = request};
    bool told = tells_warnings && !request->json && isatty(STDOUT_FILENO) && isatty(STDERR_FILENO);
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_situation *situation = NULL;
    cli_watch w;
    pappus_log log = {0};
    cli_watch_begin(&w, &options.run, request);
    options.parts = parts;
    options.mapped = picture ? begin_picture : NULL;
    options.mapped_context = &early;
    int status = pappus_situation_open(&situation, plan_path, &request->plan, &options.run, &log);
    if (status == PAPPUS_OK) status = pappus_brief(out, situation, &options, &log);
    pappus_situation_free(situation);
    cli_watch_end(&w);
    if (status == PAPPUS_OK)
        print_log(&(*out)->log, request->quiet, told);
    else
        print_log(&log, request->quiet, false);
    pappus_log_clear(&log);
    if (picture) *picture = early.begun;
    return status == PAPPUS_OK ? -1 : pappus_status_exit(status);
}
