/* SPDX-License-Identifier: GPL-3.0-or-later
 * The bench card as a page to print. */
#include "error.h"
#include "xml_text.h"

#include <libxml/xmlwriter.h>
#include <stdlib.h>
#include <string.h>

int pappus_card_write(const pappus_card *card, const char *path, pappus_unit_system units,
                      pappus_error *err)
{
    char *text = NULL;
    int status = pappus_card_text(&text, card, units, err);
    xmlChar *safe = status == PAPPUS_OK ? xmlEncodeSpecialChars(NULL, (xmlChar *)text) : NULL;
    char *page = NULL;
    if (status == PAPPUS_OK &&
        (!safe || asprintf(&page,
                           "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
                           "<title>Bench card</title></head><body><pre>%s</pre></body></html>\n",
                           (char *)safe) < 0))
        status = pappus_fail_memory(err);
    if (status == PAPPUS_OK) status = pappus_file_write(path, page, strlen(page), err);
    xmlFree(safe);
    free(page);
    free(text);
    return status;
}
