/* SPDX-License-Identifier: GPL-3.0-or-later
 * report.html: the answer of a brief as one page, to read on a phone and to print; and
 * flight_line.html, of the same values: a sheet of paper to work from. Each is one file, no
 * network, no fonts to fetch. */
#include "report.h"

#include <stdlib.h>

#include "page_value.h"
#include "report_view.h"

static int write_page(const pappus_output *output, const char *name, const cJSON *tree,
                      pappus_error *err)
{
    page_reader reader = {output->options->units, output->answer->plan->site.declination_deg};
    char *bytes = NULL;
    size_t size;
    int status = page_make(&bytes, &size, name, tree, &reader, err);
    if (status == PAPPUS_OK) status = pappus_output_bytes(output, name, bytes, size, err);
    free(bytes);
    return status;
}

int pappus_write_report(const pappus_output *output, pappus_error *err)
{
    static const char *const names[] = {"report.html", "flight_line.html"};
    cJSON *tree;
    int status = report_view(&tree, output, err);
    for (size_t i = 0; status == PAPPUS_OK && i < sizeof names / sizeof names[0]; i++)
        status = write_page(output, names[i], tree, err);
    cJSON_Delete(tree);
    return status;
}
