/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parsing by getopt_long from the one option table, and the texts made from it. */
#include "options.h"
#include "commands.h"

#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const cli_command cli_commands[] = {
    {"brief", "PLAN...",
     "everything for a launch decision; several plans are the parts of one flight that come down "
     "untied, of which the worst decides, or with --compare alternatives side by side, of which "
     "the best gives the exit status",
     "pappus brief plan.json -o saturday", 1, 16, cmd_brief},
    {"scatter", "PLAN", "landings, ellipses and contours only",
     "pappus scatter plan.json -o cloud -n 100000", 1, 1, cmd_scatter},
    {"heights", "PLAN", "the trade over main deployment heights", "pappus heights plan.json", 1, 1,
     cmd_heights},
    {"ceiling", "PLAN", "the surface wind at which go turns to no-go",
     "pappus ceiling plan.json --units si", 1, 1, cmd_ceiling},
    {"crews", "PLAN", "posts for the recovery crews", "pappus crews plan.json --set crews.posts=3",
     1, 1, cmd_crews},
    {"window", "PLAN", "the decision hour by hour, the best hour first",
     "pappus window plan.json --step 30min", 1, 1, cmd_window},
    {"desk", "PLAN", "a page on this machine that answers while the wind changes",
     "pappus desk plan.json --open", 1, 1, cmd_desk},
    {"size", "PLAN", "canopies, charges, loads, altimeter settings: a bench card",
     "pappus size plan.json -o card.html", 1, 1, cmd_size},
    {"wind", "FILE...", "reads wind files, shows, converts and draws them",
     "pappus wind bulletin.txt --station DSM -o layers.csv", 1, 64, cmd_wind},
    {"skill", "ARCHIVE...",
     "how far earlier winds were from later ones; with --plan, how zones held",
     "pappus skill soundings.txt --plan plan.json -o learned.json", 1, 64, cmd_skill},
    {"season", "PLAN... ARCHIVE...",
     "how often it is go by month and hour, and with which main, over years of soundings; several "
     "plans are designs side by side; with --shard a part of it, with --merge the parts together",
     "pappus season plan.json soundings.txt -o season", 1, 4096, cmd_season},
    {"debrief", "PLAN FLIGHT...",
     "flown flights against what the plan said of them: a record of each, a folder of records, or "
     "logs alone",
     "pappus debrief plan.json flights", 2, 1000, cmd_debrief},
    {"check", "PLAN", "reads everything, reports all that is wrong, samples nothing",
     "pappus check plan.json", 1, 1, cmd_check},
    {"new", "FILE", "writes a starter plan that runs, or a wind table to fill in",
     "pappus new plan.json", 1, 1, cmd_new},
    {"manual", "PART",
     "prints man, keys, schema, wind, bash or zsh: man page, plan keys, wind table, completions",
     "pappus manual man > pappus.1", 1, 1, cmd_manual},
};
const size_t cli_command_count = sizeof cli_commands / sizeof cli_commands[0];

static int take_text(void *variable, const cli_option *option, const char *text);
static int take_flag(void *variable, const cli_option *option, const char *text);
static int take_size(void *variable, const cli_option *option, const char *text);
static int take_uint64(void *variable, const cli_option *option, const char *text);
static int take_int(void *variable, const cli_option *option, const char *text);
static int take_word(void *variable, const cli_option *option, const char *text);
static int take_place(void *variable, const cli_option *option, const char *text);
static int take_number(void *variable, const cli_option *option, const char *text);
static int take_setting(void *variable, const cli_option *option, const char *text);

/* The commands an option is for; NULL: all. */
#define RUNS "brief scatter heights ceiling crews window debrief"
#define PLANS RUNS " size wind check skill season"
#define TO(member) offsetof(cli_request, member)

const cli_option cli_options[] = {
    {'o', "output", "PATH",
     "folder to write (brief, scatter, window, season) or file (size, wind, skill, debrief)",
     "brief scatter window size wind skill season debrief", take_text, TO(output), 0, 0},
    {'n', "landings", "N", "landings to sample, instead of the plan's; season: a day, else 2000",
     RUNS " skill season desk", take_size, TO(run.landings), 100, 10000000},
    {0, "seed", "N", "seed of the random numbers, instead of the plan's", RUNS " skill season desk",
     take_uint64, TO(run.seed), 0, (UINT64_C(1) << 53) - 1},
    {0, "threads", "N", "threads to use; all by default; results do not depend on it",
     RUNS " skill season desk", take_int, TO(run.threads), 1, 1024},
    {0, "set", "KEY=VALUE",
     "lays a value over the plan, e.g. wind.surface.speed='14 mph'; repeatable", PLANS " desk",
     take_setting, TO(plan), 0, 0},
    {0, "units", "us|si", "units to show; else those of the plan, else us",
     RUNS " size wind skill season desk", take_word, TO(units), 0, 0},
    {0, "crs", "wgs84|utm", "coordinates of the shapefiles, wgs84 by default", "brief scatter desk",
     take_word, TO(crs), 0, 0},
    {0, "pad", "NAME", "the pad of site.pads to fly from", PLANS " desk", take_text, TO(plan.pad),
     0, 0},
    {0, "station", "ID", "wind: the station of a bulletin", "wind", take_text, TO(station), 0, 0},
    {0, "add", NULL, "debrief: adds a flight to the folder: pappus debrief PLAN FOLDER [LOG] --add",
     "debrief", take_flag, TO(add), 0, 0},
    {0, "time", "TIME", "debrief: when the flight that is added was; else wind.time", "debrief",
     take_text, TO(time), 0, 0},
    {0, "at", "LAT,LON",
     "the place, e.g. 41.76,-98.44: wind of a forecast on a grid; debrief of the landing",
     "wind debrief", take_place, TO(at), 0, 0},
    {0, "member", "N", "wind: the member of an ensemble, as the file numbers it", "wind",
     take_number, TO(member), 0, 999999},
    {0, "sounding", "TIME", "wind: the sounding of a file, e.g. 2010-06-01T00Z", "wind", take_text,
     TO(sounding), 0, 0},
    {0, "plan", "PLAN", "skill: the plan whose zones are tried", "skill", take_text, TO(tried_plan),
     0, 0},
    {0, "age", "HOURS",
     "skill: pairs this old alone: 1 2 3 6 9 12 18 24 36 48; season: age of the wind that each day "
     "is judged by, 6 by default, 0 for the sounding itself",
     "skill season", take_int, TO(age_h), 0, 48},
    {0, "reading", "lowest|none",
     "season: the reading on the field, by default the sounding's lowest level", "season",
     take_word, TO(no_reading), 0, 0},
    {0, "shard", "K/N", "season: part K of N alone, written into the folder of -o", "season",
     take_text, TO(shard), 0, 0},
    {0, "resume", NULL, "season: goes on with what a stopped run of the same has put down",
     "season", take_flag, TO(resume), 0, 0},
    {0, "merge", NULL, "season: puts parts together; arguments are folders with parts", "season",
     take_flag, TO(merge), 0, 0},
    {0, "months", "LIST", "skill: pairs of these months alone, e.g. 4-9", "skill", take_text,
     TO(months), 0, 0},
    {0, "hours", "LIST", "skill: later winds of these hours UTC alone, e.g. 9-18", "skill",
     take_text, TO(hours), 0, 0},
    {0, "from", "TIME", "the first hour, e.g. 2027-04-17T06Z; else that of the winds", "window",
     take_text, TO(from), 0, 0},
    {0, "to", "TIME", "the last hour", "window", take_text, TO(to), 0, 0},
    {0, "step", "TIME", "from one hour to the next, e.g. '30 min'; 1 h by default", "window",
     take_text, TO(step), 0, 0},
    {0, "compare", NULL,
     "brief: several plans are alternatives side by side, not parts of a flight", "brief",
     take_flag, TO(compare), 0, 0},
    {0, "wind", NULL, "new: writes a wind table to fill in", "new", take_flag, TO(wind_table), 0,
     0},
    {0, "open", NULL, "desk: opens the page in a browser", "desk", take_flag, TO(open), 0, 0},
    {0, "port", "N", "desk: the port of the page, else one that is free", "desk", take_int,
     TO(port), 1024, 65534},
    {0, "listen", "ADDRESS",
     "desk: lets others look, not change, at this address of the machine; not encrypted", "desk",
     take_text, TO(listen), 0, 0},
    {0, "timings", NULL, "prints how long each stage took, on stderr", RUNS " season", take_flag,
     TO(timings), 0, 0},
    {0, "quiet", NULL, "no warnings and no progress, only the answer", PLANS " desk", take_flag,
     TO(quiet), 0, 0},
    {0, "json", NULL, "the answer as JSON on stdout", PLANS, take_flag, TO(json), 0, 0},
    {0, "version", NULL, "prints the version", NULL, take_flag, TO(version), 0, 0},
    {'h', "help", NULL, "this help", NULL, take_flag, TO(help), 0, 0},
};
#define OPTIONS (sizeof cli_options / sizeof cli_options[0])
_Static_assert(OPTIONS <= 64, "cli_request.given has a bit for each");
const size_t cli_option_count = OPTIONS;

bool cli_option_is_for(const cli_option *option, const cli_command *command)
{
    size_t length = strlen(command->name);
    const char *at = option->commands;
    if (!at) return true;
    while ((at = strstr(at, command->name)) && at[length] != ' ' && at[length] != '\0')
        at += length;
    return at != NULL;
}

static const cli_command *find_command(const char *name)
{
    for (size_t i = 0; i < cli_command_count; i++)
        if (strcmp(cli_commands[i].name, name) == 0) return &cli_commands[i];
    return NULL;
}

static int usage_fault(const char *what, const char *found, const char *accepted)
{
    fprintf(stderr, "pappus: %s: found %s: %s\n", what, found, accepted);
    return EXIT_USAGE;
}

static int option_fault(const cli_option *option, const char *found, const char *accepted)
{
    char name[32];
    snprintf(name, sizeof name, "--%s", option->name);
    return usage_fault(name, found, accepted);
}

/* ------------------------------------------------------------ kinds of option */

static int take_text(void *variable, const cli_option *option, const char *text)
{
    (void)option;
    *(const char **)variable = text;
    return -1;
}

static int take_flag(void *variable, const cli_option *option, const char *text)
{
    (void)option, (void)text;
    *(bool *)variable = true;
    return -1;
}

static bool whole_number(uint64_t *out, const char *text, uint64_t low, uint64_t high)
{
    char *end;
    if (text[0] < '0' || text[0] > '9') return false;
    errno = 0;
    unsigned long long value = strtoull(text, &end, 10);
    if (errno || *end || value < low || value > high) return false;
    *out = value;
    return true;
}

static int take_uint64(void *variable, const cli_option *option, const char *text)
{
    char accepted[96];
    if (whole_number(variable, text, option->low, option->high)) return -1;
    snprintf(accepted, sizeof accepted, "accepted is a whole number from %llu to %llu",
             (unsigned long long)option->low, (unsigned long long)option->high);
    return option_fault(option, text, accepted);
}

static int take_size(void *variable, const cli_option *option, const char *text)
{
    uint64_t number = 0;
    int status = take_uint64(&number, option, text);
    *(size_t *)variable = (size_t)number;
    return status;
}

static int take_int(void *variable, const cli_option *option, const char *text)
{
    uint64_t number = 0;
    int status = take_uint64(&number, option, text);
    *(int *)variable = (int)number;
    return status;
}

/* Kept as text: a member may be 0, and NULL is none. */
static int take_number(void *variable, const cli_option *option, const char *text)
{
    uint64_t ignored;
    int status = take_uint64(&ignored, option, text);
    *(const char **)variable = text;
    return status;
}

/* Latitude and longitude. */
static int take_place(void *variable, const cli_option *option, const char *text)
{
    double *place = variable;
    pappus_error error = {0};
    if (pappus_place_parse(&place[0], &place[1], text, &error) == PAPPUS_OK) return -1;
    return option_fault(option, text, error.message);
}

/* One of two words. */
static int take_word(void *variable, const cli_option *option, const char *text)
{
    char accepted[64];
    int first = (int)strcspn(option->argument, "|");
    const char *second = option->argument + first + 1;
    bool is_second = strcmp(text, second) == 0;
    if (is_second ||
        (strlen(text) == (size_t)first && strncmp(text, option->argument, strlen(text)) == 0)) {
        *(unsigned *)variable = is_second;
        return -1;
    }
    snprintf(accepted, sizeof accepted, "accepted are %.*s and %s", first, option->argument,
             second);
    return option_fault(option, text, accepted);
}

static int add_setting(pappus_plan_options *plan, const char *text)
{
    const char **settings =
        realloc((void *)(uintptr_t)plan->settings, (plan->setting_count + 1) * sizeof *settings);
    if (!settings) return EXIT_MACHINE;
    plan->settings = settings;
    settings[plan->setting_count++] = text;
    return -1;
}

static int take_setting(void *variable, const cli_option *option, const char *text)
{
    pappus_plan_options *plan = variable;
    const char *equals = strchr(text, '=');
    if (!equals || equals == text)
        return option_fault(option, text,
                            "accepted is KEY=VALUE, e.g. wind.surface.speed='14 mph'");
    return add_setting(plan, text);
}

/* -------------------------------------------------------------------- parsing */

#define LONG_ONLY 256 /* added to a row's number: what getopt_long returns for it */

/* The table as getopt_long wants it. */
static void list_options(struct option longs[OPTIONS + 1], char letters[2 * OPTIONS + 1])
{
    for (size_t i = 0; i < OPTIONS; i++) {
        const cli_option *row = &cli_options[i];
        longs[i] = (struct option){row->name, row->argument ? required_argument : no_argument, NULL,
                                   LONG_ONLY + (int)i};
        if (!row->letter) continue;
        *letters++ = row->letter;
        if (row->argument) *letters++ = ':';
    }
    longs[OPTIONS] = (struct option){0};
    *letters = '\0';
}

static const cli_option *option_of(int found)
{
    if (found >= LONG_ONLY) return &cli_options[found - LONG_ONLY];
    for (size_t i = 0; i < OPTIONS; i++)
        if (cli_options[i].letter == found) return &cli_options[i];
    return NULL;
}

/* The units asked for are laid over those of the plan, where there is one. */
static int parse_options(cli_request *request, int argc, char **argv)
{
    const char *units = NULL;
    struct option longs[OPTIONS + 1];
    char letters[2 * OPTIONS + 1];
    list_options(longs, letters);
    for (int found; (found = getopt_long(argc, argv, letters, longs, NULL)) != -1;) {
        const cli_option *option = option_of(found);
        if (!option) return EXIT_USAGE; /* getopt_long has said why */
        request->given |= UINT64_C(1) << (option - cli_options);
        int status = option->take((char *)request + option->variable, option, optarg);
        if (status >= 0) return status;
        if (option->variable == TO(units)) units = request->units ? "units=si" : "units=us";
    }
    return units ? add_setting(&request->plan, units) : -1;
}

static int wants_options(const cli_request *request, const cli_command *command)
{
    for (size_t i = 0; i < cli_option_count; i++) {
        if (!(request->given & UINT64_C(1) << i) || cli_option_is_for(&cli_options[i], command))
            continue;
        fprintf(stderr, "pappus: %s: found --%s: pappus %s --help lists the options it takes\n",
                command->name, cli_options[i].name, command->name);
        return EXIT_USAGE;
    }
    return -1;
}

static int unknown_command(const char *name)
{
    fprintf(stderr, "pappus: command: found %s: accepted are", name);
    for (size_t i = 0; i < cli_command_count; i++)
        fprintf(stderr, "%s %s", i ? "," : "", cli_commands[i].name);
    fprintf(stderr, "\n");
    return EXIT_USAGE;
}

static int wants_files(const cli_request *request, const cli_command *command)
{
    if (request->argument_count >= command->least && request->argument_count <= command->most)
        return -1;
    fprintf(stderr, "pappus: %s: found %zu arguments: accepted is pappus %s %s, e.g. %s\n",
            command->name, request->argument_count, command->name, command->arguments,
            command->example);
    return EXIT_USAGE;
}

int cli_parse(cli_request *request, const cli_command **command, int argc, char **argv)
{
    *request = (cli_request){
        .at = {NAN, NAN}, .age_h = -1, .run = PAPPUS_RUN_INIT, .plan = PAPPUS_PLAN_OPTIONS_INIT};
    *command = NULL;
    int status = parse_options(request, argc, argv);
    if (status >= 0) return status;
    if (request->version) {
        char made_of[400];
        pappus_made_of(made_of, sizeof made_of);
        printf("pappus %s\n%s\n", pappus_version(), made_of);
        return cli_printed();
    }
    if (optind >= argc) {
        cli_print_help(request->help ? stdout : stderr, NULL);
        return request->help ? cli_printed() : EXIT_USAGE;
    }
    *command = find_command(argv[optind]);
    if (!*command) return unknown_command(argv[optind]);
    if (request->help) {
        cli_print_help(stdout, *command);
        return cli_printed();
    }
    request->command = (*command)->name;
    request->words = argv;
    request->arguments = argv + optind + 1;
    request->argument_count = (size_t)(argc - optind - 1);
    status = wants_options(request, *command);
    return status >= 0 ? status : wants_files(request, *command);
}

void cli_end(cli_request *request)
{
    free((void *)(uintptr_t)request->plan.settings);
}
