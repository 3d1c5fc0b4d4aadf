/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "page_value.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "both.h"
#include "error.h"
#include "utf8.h"

static const char *const quantities[PAPPUS_QUANTITIES] = {
#define NAME(name, ...) #name,
    PAPPUS_QUANTITY_LIST(NAME)
#undef NAME
};

static bool cut(char out[PAGE_VALUE_SIZE], const cJSON *value)
{
    if (!cJSON_IsString(value)) return false;
    size_t length = pappus_text_cut(out, PAGE_LONGEST, value->valuestring);
    if (strlen(value->valuestring) > length) memcpy(out + length, "\xE2\x80\xA6", 4);
    return true;
}

/* "own height", "both height" */
static bool quantity(char out[PAGE_VALUE_SIZE], double si, const char *form,
                     const page_reader *reader)
{
    bool both = strncmp(form, "both ", 5) == 0;
    if (!both && strncmp(form, "own ", 4) != 0) return false;
    for (int i = 0; i < PAPPUS_QUANTITIES; i++) {
        if (strcasecmp(quantities[i], strchr(form, ' ') + 1) != 0) continue;
        if (both)
            pappus_format_both(out, (pappus_quantity)i, si, reader->units);
        else
            pappus_format_own(out, (pappus_quantity)i, si, reader->units);
        return true;
    }
    return false;
}

static bool number(char out[PAGE_VALUE_SIZE], double value, const char *form,
                   const page_reader *reader)
{
    char text[PAPPUS_TEXT_SIZE];
    if (strcmp(form, "chance") == 0)
        pappus_keep_together(out, PAGE_VALUE_SIZE, pappus_format_chance(text, sizeof text, value));
    else if (strcmp(form, "of100") == 0)
        snprintf(out, PAGE_VALUE_SIZE, "%.0f", 100 * value);
    else if (strcmp(form, "fixed0") == 0)
        snprintf(out, PAGE_VALUE_SIZE, "%.0f", value);
    else if (strcmp(form, "fixed1") == 0)
        snprintf(out, PAGE_VALUE_SIZE, "%.1f", value);
    else if (strcmp(form, "compass") == 0)
        snprintf(out, PAGE_VALUE_SIZE, "%s", pappus_compass_point(value));
    else if (strcmp(form, "opposite") == 0)
        snprintf(out, PAGE_VALUE_SIZE, "%s", pappus_compass_point(value + 180));
    else if (strcmp(form, "bearing") == 0)
        pappus_format_bearing(out, PAGE_VALUE_SIZE, value, reader->declination_deg);
    else
        return quantity(out, value, form, reader);
    return true;
}

/* A tree that json_build made keeps numbers as their text; null is not known. */
bool page_value(char out[PAGE_VALUE_SIZE], const cJSON *value, const char *form,
                const void *context)
{
    if (strcmp(form, "cut") == 0) return cut(out, value);
    if (cJSON_IsRaw(value)) return number(out, strtod(value->valuestring, NULL), form, context);
    return cJSON_IsNull(value) && number(out, NAN, form, context);
}

int page_make(char **out, size_t *size, const char *name, const cJSON *tree,
              const page_reader *reader, pappus_error *err)
{
    return page_fill(out, size, name, page_file_text(name), tree, page_value, reader, err);
}
