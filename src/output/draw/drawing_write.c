/* SPDX-License-Identifier: GPL-3.0-or-later
 * map.svg and, of the same drawing, map.png. */
#include <stdlib.h>

#include "drawing.h"

#define PNG_WIDTH 1440 /* pixels: three to a unit, sharp on a phone */

/* The picture may fail alone: the answer does not wait for it. */
static void leave_out(const pappus_output *output)
{
    if (output->options->log)
        pappus_log_add(output->options->log, PAPPUS_WARNING, PAPPUS_OK, "map.png", NULL, NULL,
                       "is left out: it could not be drawn, as when memory is short");
}

int drawing_picture_start(drawing_picture *picture, const pappus_output *output, pappus_error *err)
{
    drawing d = {output->answer, output->options->units, DRAWING_ZONE, true, output->flight};
    pappus_xml xml;
    pappus_error why = {0};
    char *svg;
    size_t size;
    picture->under_way = false;
    int status = pappus_xml_begin(&xml, err);
    if (status != PAPPUS_OK) return status;
    status = pappus_xml_finish(&svg, &size, &xml, drawing_map(&xml, &d, err), err);
    if (status != PAPPUS_OK) return status;
    status = pappus_output_bytes(output, "map.svg", svg, size, err);
    if (status == PAPPUS_OK) {
        picture->under_way =
            drawing_png_start(&picture->png, svg, size, PNG_WIDTH, &why) == PAPPUS_OK;
        if (!picture->under_way) leave_out(output);
    }
    free(svg);
    return status;
}

int drawing_picture_finish(drawing_picture *picture, int status, const pappus_output *output,
                           pappus_error *err)
{
    unsigned char *png;
    size_t size;
    pappus_error why = {0};
    if (!picture->under_way) return status;
    picture->under_way = false;
    if (drawing_png_finish(&png, &size, &picture->png, &why) != PAPPUS_OK) {
        if (status == PAPPUS_OK) leave_out(output);
        return status;
    }
    if (status == PAPPUS_OK)
        status = pappus_output_bytes(output, "map.png", (const char *)png, size, err);
    free(png);
    return status;
}
