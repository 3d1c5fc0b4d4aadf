/* SPDX-License-Identifier: GPL-3.0-or-later
 * report.html: the answer of a brief as one page, to read on a phone and to print. One
 * file, no network, no fonts to fetch. */
#include "report.h"

#include <stdlib.h>

#include "page_value.h"
#include "report_view.h"

int pappus_write_report(const pappus_output *output, pappus_error *err)
{
    page_reader reader = {output->options->units, output->answer->plan->site.declination_deg};
    cJSON *tree;
    char *bytes = NULL;
    size_t size;
    int status = report_view(&tree, output, err);
    if (status == PAPPUS_OK) status = page_make(&bytes, &size, "report.html", tree, &reader, err);
    if (status == PAPPUS_OK) status = pappus_output_bytes(output, "report.html", bytes, size, err);
    free(bytes);
    cJSON_Delete(tree);
    return status;
}
