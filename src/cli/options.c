/* SPDX-License-Identifier: GPL-3.0-or-later
 * Parsing by getopt_long from the one option table, and the texts made from it. */
#include "options.h"
#include "commands.h"

#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const cli_command cli_commands[] = {
    {"brief", "PLAN...", "everything for a launch decision",
     "pappus brief plan.json -o saturday", 1, 16, cmd_brief},
    {"scatter", "PLAN", "landings, ellipses and contours only",
     "pappus scatter plan.json -o cloud -n 100000", 1, 1, cmd_scatter},
    {"heights", "PLAN", "the trade over main deployment heights", "pappus heights plan.json", 1, 1,
     cmd_heights},
    {"ceiling", "PLAN", "the surface wind at which go turns to no-go",
     "pappus ceiling plan.json --units si", 1, 1, cmd_ceiling},
    {"crews", "PLAN", "posts for the recovery crews",
     "pappus crews plan.json --set crews.posts=3", 1, 1, cmd_crews},
    {"size", "PLAN", "canopies, charges, loads, altimeter settings: a bench card",
     "pappus size plan.json -o card.html", 1, 1, cmd_size},
    {"wind", "FILE...", "reads wind files, shows, converts and draws them",
     "pappus wind bulletin.txt --station DSM -o layers.csv", 1, 64, cmd_wind},
    {"skill", "ARCHIVE...", "how far earlier winds were from later ones; with --plan, how zones held",
     "pappus skill soundings.txt --plan plan.json -o learned.json", 1, 64, cmd_skill},
    {"check", "PLAN", "reads everything, reports all that is wrong, samples nothing",
     "pappus check plan.json", 1, 1, cmd_check},
    {"new", "FILE", "writes a starter plan that runs", "pappus new plan.json", 1, 1, cmd_new},
    {"manual", "PART", "prints man, keys, schema, bash or zsh: man page, plan keys, completions",
     "pappus manual man > pappus.1", 1, 1, cmd_manual},
};
const size_t cli_command_count = sizeof cli_commands / sizeof cli_commands[0];

enum { OPTION_SEED = 256, OPTION_THREADS, OPTION_SET, OPTION_UNITS, OPTION_CRS, OPTION_PAD,
       OPTION_STATION, OPTION_SOUNDING, OPTION_PLAN, OPTION_AGE, OPTION_MONTHS, OPTION_HOURS,
       OPTION_TIMINGS, OPTION_QUIET, OPTION_JSON, OPTION_VERSION };

/* The commands an option is for; NULL: all. */
#define RUNS "brief scatter heights ceiling crews"
#define PLANS RUNS " size wind check skill"

const cli_option cli_options[] = {
    {'o', "output", "PATH", "folder to write (brief, scatter) or file (size, wind, skill)",
     "brief scatter size wind skill"},
    {'n', "landings", "N", "landings to sample, instead of the plan's", RUNS " skill"},
    {OPTION_SEED, "seed", "N", "seed of the random numbers, instead of the plan's", RUNS " skill"},
    {OPTION_THREADS, "threads", "N", "threads to use; all by default; results do not depend on it",
     RUNS " skill"},
    {OPTION_SET, "set", "KEY=VALUE",
     "lays a value over the plan, e.g. wind.surface.speed='14 mph'; repeatable", PLANS},
    {OPTION_UNITS, "units", "us|si", "units to show, us by default", RUNS " size wind skill"},
    {OPTION_CRS, "crs", "wgs84|utm", "coordinates of the shapefiles, wgs84 by default",
     "brief scatter"},
    {OPTION_PAD, "pad", "NAME", "the pad of site.pads to fly from", PLANS},
    {OPTION_STATION, "station", "ID", "wind: the station of a bulletin", "wind"},
    {OPTION_SOUNDING, "sounding", "TIME", "wind: the sounding of a file, e.g. 2010-06-01T00Z",
     "wind"},
    {OPTION_PLAN, "plan", "PLAN", "skill: the plan whose zones are tried", "skill"},
    {OPTION_AGE, "age", "HOURS", "skill: pairs this old alone, 1 to 48", "skill"},
    {OPTION_MONTHS, "months", "LIST", "skill: pairs of these months alone, e.g. 4-9", "skill"},
    {OPTION_HOURS, "hours", "LIST", "skill: later winds of these hours UTC alone, e.g. 9-18", "skill"},
    {OPTION_TIMINGS, "timings", NULL, "prints how long each stage took, on stderr", RUNS},
    {OPTION_QUIET, "quiet", NULL, "no warnings and no progress, only the answer", PLANS},
    {OPTION_JSON, "json", NULL, "the answer as JSON on stdout", PLANS},
    {OPTION_VERSION, "version", NULL, "prints the version", NULL},
    {'h', "help", NULL, "this help", NULL},
};
const size_t cli_option_count = sizeof cli_options / sizeof cli_options[0];

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

static int add_setting(cli_request *request, const char *text)
{
    const char *equals = strchr(text, '=');
    if (!equals || equals == text)
        return usage_fault("--set", text,
                           "accepted is KEY=VALUE, e.g. wind.surface.speed='14 mph'");
    const char **settings =
        realloc(request->settings, (request->setting_count + 1) * sizeof *settings);
    if (!settings) return EXIT_MACHINE;
    request->settings = settings;
    settings[request->setting_count++] = text;
    return -1;
}

static int choose(int *out, const char *option, const char *text, const char *first,
                  const char *second)
{
    char accepted[64];
    if (strcmp(text, first) == 0 || strcmp(text, second) == 0) {
        *out = strcmp(text, second) == 0;
        return -1;
    }
    snprintf(accepted, sizeof accepted, "accepted are %s and %s", first, second);
    return usage_fault(option, text, accepted);
}

static int take_number(uint64_t *number, const char *option, uint64_t low, uint64_t high)
{
    char accepted[96];
    if (whole_number(number, optarg, low, high)) return -1;
    snprintf(accepted, sizeof accepted, "accepted is a whole number from %llu to %llu",
             (unsigned long long)low, (unsigned long long)high);
    return usage_fault(option, optarg, accepted);
}

static int take_value(cli_request *request, int option)
{
    uint64_t number = 0;
    int choice = 0, status = -1;
    switch (option) {
    case 'o': request->output = optarg; break;
    case 'n':
        status = take_number(&number, "--landings", 100, 10000000);
        request->landings = (size_t)number;
        break;
    case OPTION_SEED:
        status = take_number(&request->seed, "--seed", 0, (UINT64_C(1) << 53) - 1);
        request->has_seed = true;
        break;
    case OPTION_THREADS:
        status = take_number(&number, "--threads", 1, 1024);
        request->threads = (int)number;
        break;
    case OPTION_SET: return add_setting(request, optarg);
    case OPTION_UNITS:
        status = choose(&choice, "--units", optarg, "us", "si");
        request->units = choice ? PAPPUS_UNITS_SI : PAPPUS_UNITS_US;
        break;
    case OPTION_CRS:
        status = choose(&choice, "--crs", optarg, "wgs84", "utm");
        request->crs = choice ? PAPPUS_CRS_UTM : PAPPUS_CRS_WGS84;
        break;
    case OPTION_PAD: request->pad = optarg; break;
    case OPTION_STATION: request->station = optarg; break;
    case OPTION_SOUNDING: request->sounding = optarg; break;
    case OPTION_PLAN: request->plan = optarg; break;
    case OPTION_AGE: request->age = optarg; break;
    case OPTION_MONTHS: request->months = optarg; break;
    case OPTION_HOURS: request->hours = optarg; break;
    case OPTION_TIMINGS: request->timings = true; break;
    case OPTION_QUIET: request->quiet = true; break;
    case OPTION_JSON: request->json = true; break;
    case OPTION_VERSION: request->version = true; break;
    case 'h': request->help = true; break;
    default: return EXIT_USAGE; /* getopt_long has said why */
    }
    return status;
}

static int parse_options(cli_request *request, int argc, char **argv)
{
    struct option longs[sizeof cli_options / sizeof cli_options[0] + 1] = {0};
    for (size_t i = 0; i < cli_option_count; i++)
        longs[i] = (struct option){cli_options[i].name,
                                   cli_options[i].argument ? required_argument : no_argument, NULL,
                                   cli_options[i].key};
    for (int option; (option = getopt_long(argc, argv, "o:n:h", longs, NULL)) != -1;) {
        for (size_t i = 0; i < cli_option_count; i++)
            if (cli_options[i].key == option) request->given |= 1U << i;
        int status = take_value(request, option);
        if (status >= 0) return status;
    }
    return -1;
}

static int wants_options(const cli_request *request, const cli_command *command)
{
    for (size_t i = 0; i < cli_option_count; i++) {
        if (!(request->given & 1U << i) || cli_option_is_for(&cli_options[i], command)) continue;
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

/* EXIT_GO when what was asked has reached stdout. */
static int printed(void)
{
    if (fflush(stdout) == 0 && !ferror(stdout)) return EXIT_GO;
    fprintf(stderr, "pappus: error: stdout: could not be written\n");
    return EXIT_MACHINE;
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
    int status = parse_options(request, argc, argv);
    if (status >= 0) return status;
    if (request->version) {
        printf("pappus %s\n", pappus_version());
        return printed();
    }
    if (optind >= argc) {
        cli_print_help(request->help ? stdout : stderr, NULL);
        return request->help ? printed() : EXIT_USAGE;
    }
    *command = find_command(argv[optind]);
    if (!*command) return unknown_command(argv[optind]);
    if (request->help) {
        cli_print_help(stdout, *command);
        return printed();
    }
    request->command = (*command)->name;
    request->arguments = argv + optind + 1;
    request->argument_count = (size_t)(argc - optind - 1);
    status = wants_options(request, *command);
    return status >= 0 ? status : wants_files(request, *command);
}
