/* SPDX-License-Identifier: GPL-3.0-or-later
 * Alternatives side by side, as text. */
#include "c_locale.h"
#include "error.h"
#include "flight_sheet.h"
#include "sheet_text.h"

int pappus_alternatives_text(char **out, const pappus_answer *const *answers, size_t count,
                             const pappus_text_options *options, pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *made = flight_sheet(&build, answers, count, true, options->units, err);
    int status = made ? sheet_print(out, made, build.failed, "COMPARED  ", options->columns, err)
                      : PAPPUS_E_MEMORY;
    pappus_locale_leave(&locale);
    return status;
}
