/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card as text. */
#include "c_locale.h"
#include "card_sheet.h"
#include "error.h"
#include "sheet_text.h"

int pappus_card_text(char **out, const pappus_card *card, const pappus_text_options *options,
                     pappus_error *err)
{
    json_builder build = {false};
    pappus_locale locale;
    *out = NULL;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    cJSON *made = card_sheet(&build, card, options->units, false);
    int status = sheet_print(out, made, build.failed, "BENCH CARD  ", options->columns, err);
    pappus_locale_leave(&locale);
    return status;
}
