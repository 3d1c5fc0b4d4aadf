/* SPDX-License-Identifier: GPL-3.0-or-later
 * What is said of single keep-out areas beside their outline: the chance that each may have
 * and the persons who stand there, from attributes of the file or from the plan by name, the
 * plan last. An area that is named as one of people and has no limit of its own gets a
 * caution. Which names those are is our guess; others are not told of. */
#include "outline.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A limit for all areas that is no larger was set with people in mind (our assumption). */
#define MEANT_FOR_PEOPLE 1e-4

const char *const pappus_outline_numbers[PAPPUS_OUTLINE_NUMBERS] = {"limit", "people"};

/* Bounds as the keys of the plan have them. */
static const struct {
    double low, high;
    const char *accepted;
} bounds[PAPPUS_OUTLINE_NUMBERS] = {
    {1e-7, 1.0, "the limit of an area must be a chance, a number from 1e-7 to 1"},
    {0.0, 1e6, "people must be how many are there, a number from 0 to 1000000"},
};

void pappus_outline_feature_number(pappus_outline *outline, int which, const char *text)
{
    pappus_outline_feature *feature = &outline->features[outline->feature_count - 1];
    char *end;
    text += strspn(text, " ");
    double value = strtod(text, &end);
    if (*text == '\0') return; /* an empty attribute */
    end += strspn(end, " ");
    if (*end != '\0' || !(value >= bounds[which].low && value <= bounds[which].high)) {
        pappus_outline_fault(outline, feature->number, text, "%s", bounds[which].accepted);
        return;
    }
    if (which == 0)
        feature->limit = value;
    else
        feature->people = value;
}

static void name_areas(char *out, size_t size, const pappus_field *field)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < field->keep_out_count && used < size; i++)
        used += (size_t)snprintf(out + used, size - used, "%s\"%s\"", i > 0 ? ", " : "",
                                 field->keep_outs[i].name);
}

/* The numbers of a list into out[area]. */
static int take(double *out, const pappus_field *field, const pappus_named_number *list,
                size_t count, const char *list_name, const pappus_plan *plan, pappus_log *log)
{
    int worst = PAPPUS_OK;
    for (size_t i = 0; i < count; i++) {
        size_t k = 0;
        while (k < field->keep_out_count && strcmp(field->keep_outs[k].name, list[i].name) != 0)
            k++;
        if (k < field->keep_out_count) {
            out[k] = list[i].value;
            continue;
        }
        char key[64], names[300];
        snprintf(key, sizeof key, "field.%s[%zu].name", list_name, i);
        name_areas(names, sizeof names, field);
        worst = pappus_log_add(log, PAPPUS_FAULT, PAPPUS_E_FIELD, plan->path, key, list[i].name,
                               "no keep-out area of this name; accepted is %s",
                               field->keep_out_count > 0 ? names : "none: the field has no areas");
    }
    return worst;
}

static bool sounds_like_people(const char *name)
{
    static const char *const words[] = {"crowd",   "spectator", "audience", "public", "people",
                                        "visitor", "viewing",   "camp",     "school", "playground"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcasestr(name, words[i])) return true;
    return false;
}

static void caution(const pappus_field *field, const pappus_plan *plan, pappus_log *log)
{
    double limit = plan->limits.keep_out;
    if (!(limit > MEANT_FOR_PEOPLE)) return;
    for (size_t k = 0; k < field->keep_out_count; k++) {
        bool people = field->keep_out_people[k] > 0.0;
        if (!isnan(field->keep_out_limit[k])) continue;
        if (!people && !sounds_like_people(field->keep_outs[k].name)) continue;
        pappus_log_add(log, PAPPUS_WARNING, PAPPUS_OK, plan->path, "field.limits",
                       field->keep_outs[k].name,
                       "%g %% a flight is no bound where people are: give this area a limit of its "
                       "own, agreed with the range safety officer",
                       100.0 * limit);
    }
}

int pappus_field_rules(pappus_field *field, const pappus_plan *plan, pappus_log *log)
{
    const pappus_field_source *source = &plan->field;
    int worst = take(field->keep_out_limit, field, source->limits, source->limit_count, "limits",
                     plan, log);
    int status = take(field->keep_out_people, field, source->people, source->people_count, "people",
                      plan, log);
    if (status > worst) worst = status;
    if (worst == PAPPUS_OK) caution(field, plan, log);
    return worst;
}
