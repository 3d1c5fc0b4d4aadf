/* SPDX-License-Identifier: GPL-3.0-or-later
 * A season as text. */
#include "c_locale.h"
#include "error.h"
#include "season_sheet.h"
#include "sheet_text.h"

int pappus_season_text(char **out, const pappus_season_result *result,
                       const pappus_text_options *options, pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *made = season_sheet(&build, result, 1, options->units);
    int status = sheet_print(out, made, build.failed, "SEASON  ", options->columns, err);
    pappus_locale_leave(&locale);
    return status;
}
