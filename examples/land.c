/* SPDX-License-Identifier: GPL-3.0-or-later
 * A program of one's own on the library: the chance of a landing inside the field, as
 * planned and at other readings of the wind. The situation is opened once; a new reading
 * reads no file.
 *
 *     cc land.c $(pkg-config --cflags --libs pappus) -o land
 *     ./land go_day.json "8 mph" "12 mph" "16 mph"
 */
#include <pappus/pappus.h>

#include <stdio.h>

static const char *const decisions[] = {"go", "no-go", "undecided"}; /* by pappus_decision */

static void tell(const pappus_log *log)
{
    char line[1024];
    for (size_t i = 0; i < log->count; i++) {
        if (log->entries[i].severity != PAPPUS_FAULT) continue;
        pappus_error_line(line, sizeof line, &log->entries[i].error);
        fprintf(stderr, "%s\n", line);
    }
}

static int brief(const pappus_situation *situation, const char *reading, pappus_log *log)
{
    pappus_brief_options options = PAPPUS_BRIEF_OPTIONS_INIT;
    pappus_answer *answer = NULL;
    options.parts = PAPPUS_PART_DECISION;
    int status = pappus_brief(&answer, situation, &options, log);
    if (status == PAPPUS_OK) {
        pappus_estimate inside = answer->zones->all.inside_field;
        printf("%-10s %s, inside the field %.1f %% (%.1f to %.1f)\n", reading,
               decisions[answer->judgement->decision], 100.0 * inside.value, 100.0 * inside.low,
               100.0 * inside.high);
    }
    pappus_answer_free(answer);
    return status;
}

int main(int count, char **arguments)
{
    pappus_situation *situation = NULL;
    pappus_log log = {0};
    if (count < 2) {
        fprintf(stderr, "usage: land PLAN [READING...]\n");
        return 2;
    }
    pappus_quiet_dependencies();
    int status = pappus_situation_open(&situation, arguments[1], NULL, NULL, &log);
    if (status == PAPPUS_OK) status = brief(situation, "as planned", &log);
    for (int i = 2; i < count && status == PAPPUS_OK; i++) {
        status = pappus_situation_set(situation, "wind.surface.speed", arguments[i], &log);
        if (status == PAPPUS_OK) status = brief(situation, arguments[i], &log);
    }
    tell(&log);
    pappus_log_clear(&log);
    pappus_situation_free(situation);
    return pappus_status_exit(status);
}
