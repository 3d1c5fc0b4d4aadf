/* SPDX-License-Identifier: GPL-3.0-or-later
 * Texts made from the tables of options.c: help, man page, shell completions. The
 * plan's keys come from the key table of the plan reader. */
#include "commands.h"

#include <stdlib.h>
#include <string.h>

#define MANUAL_PARTS "man|keys|schema|wind|bash|zsh" /* as in cmd_manual */

static void print_option(FILE *stream, const cli_option *option)
{
    char letter[8] = "    ", flags[64];
    if (option->letter) snprintf(letter, sizeof letter, "-%c, ", option->letter);
    snprintf(flags, sizeof flags, "%s--%s %s", letter, option->name,
             option->argument ? option->argument : "");
    fprintf(stream, "  %-24s %s\n", flags, option->help);
}

static void print_exit_statuses(FILE *stream, const char *indent)
{
    static const char *const lines[] = {"0  done and go, or no decision was asked",
                                        "1  the input is wrong",
                                        "2  the command line is wrong",
                                        "3  done and no-go",
                                        "4  done and undecided: treat as no-go",
                                        "5  the machine failed (disk, memory)"};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        fprintf(stream, "%s%s\n", indent, lines[i]);
}

static void print_program_help(FILE *stream)
{
    fprintf(
        stream,
        "pappus: where a rocket under parachute will land, how sure that is,\n"
        "and what follows from it.\n\nUsage: pappus COMMAND [OPTION...] FILE...\n\nCommands:\n");
    for (size_t i = 0; i < cli_command_count; i++)
        fprintf(stream, "  %-8s %-8s %s\n", cli_commands[i].name, cli_commands[i].arguments,
                cli_commands[i].help);
}

void cli_print_help(FILE *stream, const cli_command *command)
{
    if (command)
        fprintf(stream, "pappus %s %s: %s.\n\nExample: %s\n", command->name, command->arguments,
                command->help, command->example);
    else
        print_program_help(stream);
    if (command && command->run == cmd_wind) fprintf(stream, "\n%s", pappus_wind_layout());
    fprintf(stream, "\nOptions:\n");
    for (size_t i = 0; i < cli_option_count; i++)
        if (!command || cli_option_is_for(&cli_options[i], command))
            print_option(stream, &cli_options[i]);
    fprintf(stream, "\nExit status:\n");
    print_exit_statuses(stream, "  ");
    fprintf(stream, "\nA planning estimate: the range safety officer decides.\n");
}

/* roff: a leading dot or quote would be a request, a hyphen a typographic one. */
static void print_roff(const char *text)
{
    for (const char *c = text; *c; c++) {
        if (*c == '-' || *c == '\\') putchar('\\');
        putchar(*c);
    }
}

static void print_man_option(const cli_option *option)
{
    printf(".TP\n\\fB");
    if (option->letter) printf("\\-%c\\fR, \\fB", option->letter);
    printf("\\-\\-%s\\fR", option->name);
    if (option->argument) printf(" \\fI%s\\fR", option->argument);
    printf("\n");
    print_roff(option->help);
    printf("\n");
}

static int print_man(void)
{
    printf(".TH PAPPUS 1 \"\" \"pappus %s\" \"User Commands\"\n.SH NAME\npappus \\- drift and "
           "landing zone of a high\\-power rocket under parachute\n.SH SYNOPSIS\n.B pappus\n"
           ".I COMMAND\n[\\fIOPTION\\fR]... \\fIFILE\\fR...\n.SH DESCRIPTION\n",
           pappus_version());
    printf("Samples wind, deployment timing and canopy drag, brings drogue and main down, and\n"
           "tells where the rocket lands, whether to fly, at which height to open the main and\n"
           "where the recovery crews wait. A planning estimate: the range safety officer decides.\n"
           ".SH COMMANDS\n");
    for (size_t i = 0; i < cli_command_count; i++) {
        printf(".TP\n\\fB%s\\fR \\fI%s\\fR\n", cli_commands[i].name, cli_commands[i].arguments);
        print_roff(cli_commands[i].help);
        printf(". Example: ");
        print_roff(cli_commands[i].example);
        printf("\n");
    }
    printf(".SH OPTIONS\n");
    for (size_t i = 0; i < cli_option_count; i++)
        print_man_option(&cli_options[i]);
    printf(".SH EXIT STATUS\n.nf\n");
    print_exit_statuses(stdout, "");
    printf(".fi\n.SH PLAN\nThe keys of a plan: pappus manual keys. The file format is JSON.\n"
           ".SH WIND\nThe layout of a wind table: pappus manual wind.\n");
    return PAPPUS_OK;
}

/* What may follow an option: its words, "us|si", or NULL when they are not known. */
static const char *choices_of(const cli_option *option)
{
    return option->argument && strchr(option->argument, '|') ? option->argument : NULL;
}

static void print_words(const char *choices)
{
    for (const char *c = choices; *c; c++)
        putchar(*c == '|' ? ' ' : *c);
}

/* After an option: its words, a file, or nothing that could be guessed. */
static void print_bash_case(const cli_option *option)
{
    if (!option->argument) return;
    printf("    ");
    if (option->letter) printf("-%c | ", option->letter);
    printf("--%s) COMPREPLY=(", option->name);
    if (choices_of(option)) {
        printf("$(compgen -W '");
        print_words(option->argument);
        printf("' -- \"$word\")");
    } else if (strcmp(option->argument, "PATH") == 0) {
        printf("$(compgen -f -- \"$word\")");
    }
    printf("); return ;;\n");
}

static void print_long_options(const cli_command *command)
{
    for (size_t i = 0; i < cli_option_count; i++)
        if (cli_option_is_for(&cli_options[i], command)) printf("--%s ", cli_options[i].name);
}

static int print_bash(void)
{
    printf(
        "_pappus() {\n    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}\n"
        "    local IFS=$' \\t\\n'\n    case $before in\n");
    for (size_t i = 0; i < cli_option_count; i++)
        print_bash_case(&cli_options[i]);
    printf("    manual) COMPREPLY=($(compgen -W '");
    print_words(MANUAL_PARTS);
    printf("' -- \"$word\")); return ;;\n    esac\n"
           "    if [[ $word == -* ]]; then\n        case ${COMP_WORDS[1]} in\n");
    for (size_t i = 0; i < cli_command_count; i++) {
        printf("        %s) COMPREPLY=($(compgen -W '", cli_commands[i].name);
        print_long_options(&cli_commands[i]);
        printf("' -- \"$word\")) ;;\n");
    }
    printf("        *) COMPREPLY=($(compgen -W '--help --version");
    printf("' -- \"$word\")) ;;\n        esac\n    elif [[ $COMP_CWORD -eq 1 ]]; then\n        "
           "COMPREPLY=($(compgen -W '");
    for (size_t i = 0; i < cli_command_count; i++)
        printf("%s ", cli_commands[i].name);
    printf("' -- \"$word\"))\n    else\n        IFS=$'\\n'\n"
           "        COMPREPLY=($(compgen -f -- \"$word\"))\n    fi\n}\n"
           "complete -o filenames -F _pappus pappus\n");
    return PAPPUS_OK;
}

static void print_zsh_quoted(const char *text)
{
    for (const char *c = text; *c; c++) {
        if (*c == '\'')
            printf("'\\'");
        else if (*c == ':' || *c == '[' || *c == ']')
            putchar('\\');
        putchar(*c);
    }
}

static void print_zsh_option(const cli_option *option)
{
    bool repeats = strcmp(option->name, "set") == 0;
    printf("        ");
    if (repeats)
        printf("'*'");
    else if (option->letter)
        printf("'(-%c --%s)'", option->letter, option->name);
    if (option->letter)
        printf("{-%c,--%s}", option->letter, option->name);
    else
        printf("--%s", option->name);
    printf("'[");
    print_zsh_quoted(option->help);
    printf("]");
    if (option->argument) printf(":%s:", option->name);
    if (choices_of(option)) {
        printf("(");
        print_words(option->argument);
        printf(")");
    } else if (option->argument && strcmp(option->argument, "PATH") == 0) {
        printf("_files");
    }
    printf("' \\\n");
}

static int print_zsh(void)
{
    printf("#compdef pappus\n_pappus() {\n    local -a commands\n    commands=(\n");
    for (size_t i = 0; i < cli_command_count; i++) {
        printf("        '%s:", cli_commands[i].name);
        print_zsh_quoted(cli_commands[i].help);
        printf("'\n");
    }
    printf("    )\n    _arguments -S \\\n");
    for (size_t i = 0; i < cli_option_count; i++)
        print_zsh_option(&cli_options[i]);
    printf("        '1:command:{_describe command commands}' "
           "'*:file:{if [[ $words[2] == manual ]]; then compadd ");
    print_words(MANUAL_PARTS);
    printf("; else _files; fi}'\n}\n"
           "if [[ $zsh_eval_context[-1] == loadautofunc ]]; then _pappus \"$@\"; "
           "else compdef _pappus pappus; fi\n");
    return PAPPUS_OK;
}

static int print_from_table(int (*text_of)(char **out, pappus_error *err))
{
    pappus_error error = {0};
    char *text = NULL;
    int status = text_of(&text, &error);
    size_t length = status == PAPPUS_OK ? strlen(text) : 0;
    if (status == PAPPUS_OK) fputs(text, stdout);
    if (length > 0 && text[length - 1] != '\n') putchar('\n');
    free(text);
    if (status != PAPPUS_OK) cli_fault(&error);
    return status;
}

static int print_keys(void)
{
    return print_from_table(pappus_plan_key_list);
}

static int print_schema(void)
{
    return print_from_table(pappus_plan_schema);
}

static int print_wind(void)
{
    printf("%s\npappus new --wind wind.csv writes one to fill in.\n", pappus_wind_layout());
    return PAPPUS_OK;
}

int cmd_manual(const cli_request *request)
{
    static const struct {
        const char *part;
        int (*print)(void);
    } parts[] = {{"man", print_man},   {"keys", print_keys}, {"schema", print_schema},
                 {"wind", print_wind}, {"bash", print_bash}, {"zsh", print_zsh}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (strcmp(parts[i].part, request->arguments[0]) != 0) continue;
        if (parts[i].print() != PAPPUS_OK) return EXIT_MACHINE;
        return cli_printed();
    }
    fprintf(stderr,
            "pappus: manual: found %s: accepted are man, keys, schema, wind, bash and zsh\n",
            request->arguments[0]);
    return EXIT_USAGE;
}
