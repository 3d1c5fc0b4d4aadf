/* SPDX-License-Identifier: GPL-3.0-or-later
 * map.svg and, of the same drawing, map.png. */
#include <stdlib.h>

#include "drawing.h"

#define PNG_WIDTH 1440 /* pixels: three to a unit, sharp on a phone */

/* The picture may fail alone: the answer does not wait for it. */
static int write_png(const pappus_output *output, const char *svg, size_t size, pappus_error *err)
{
    unsigned char *png;
    size_t png_size;
    pappus_error why = {0};
    if (drawing_png(&png, &png_size, svg, size, PNG_WIDTH, &why) != PAPPUS_OK) {
        if (output->options->log)
            pappus_log_add(output->options->log, PAPPUS_WARNING, PAPPUS_OK, "map.png", NULL, NULL,
                           "is left out: it could not be drawn, as when memory is short");
        return PAPPUS_OK;
    }
    int status = pappus_output_bytes(output, "map.png", (const char *)png, png_size, err);
    free(png);
    return status;
}

int pappus_write_map(const pappus_output *output, pappus_error *err)
{
    drawing d = {output->answer, output->options->units, DRAWING_ZONE, true, output->flight};
    pappus_xml xml;
    char *svg;
    size_t size;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_finish(&svg, &size, &xml, drawing_map(&xml, &d, err), err);
    if (status != PAPPUS_OK) return status;
    status = pappus_output_bytes(output, "map.svg", svg, size, err);
    if (status == PAPPUS_OK) status = write_png(output, svg, size, err);
    free(svg);
    return status;
}
