/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card as a page to print: card.html. */
#include <stdlib.h>

#include "c_locale.h"
#include "card_drawing.h"
#include "card_sheet.h"
#include "error.h"
#include "page_value.h"

static int make_page(char **out, size_t *size, const pappus_card *card, pappus_unit_system units,
                     pappus_error *err)
{
    json_builder build = {false};
    page_reader reader = {.units = units};
    cJSON *tree = card_sheet(&build, card, units, true);
    int status = tree && !build.failed ? card_add_drawing(&build, tree, err) : PAPPUS_E_MEMORY;
    if (status == PAPPUS_OK && !build.failed)
        status = page_make(out, size, "card.html", tree, &reader, err);
    else
        status = pappus_fail_memory(err);
    cJSON_Delete(tree);
    return status;
}

int pappus_card_write(const pappus_card *card, const char *path, pappus_unit_system units,
                      pappus_error *err)
{
    char *bytes = NULL;
    size_t size;
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return pappus_fail_memory(err);
    int status = make_page(&bytes, &size, card, units, err);
    if (status == PAPPUS_OK) status = pappus_file_write(path, bytes, size, err);
    pappus_locale_leave(&locale);
    free(bytes);
    return status;
}
