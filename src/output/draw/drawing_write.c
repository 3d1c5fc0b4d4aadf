/* SPDX-License-Identifier: GPL-3.0-or-later
 * map.svg and, of the same drawing, map.png: its process may be begun before the answer is
 * whole. */
#include <stdlib.h>

#include "c_locale.h"
#include "drawing.h"
#include "error.h"

#define PNG_WIDTH 1440 /* pixels: three to a unit, sharp on a phone */

struct pappus_picture {
    char *svg;
    size_t size;
    bool under_way;
    pappus_isolation png;
};

/* The picture may fail alone: the answer does not wait for it. */
static void leave_out(const pappus_output *output)
{
    if (output->options->log)
        pappus_log_add(output->options->log, PAPPUS_WARNING, PAPPUS_OK, "map.png", NULL, NULL,
                       "is left out: it could not be drawn, as when memory is short");
}

static int begin(pappus_picture **out, const drawing *d, pappus_error *err)
{
    pappus_xml xml;
    pappus_error why = {0};
    pappus_picture *picture = calloc(1, sizeof *picture);
    *out = picture;
    if (!picture) return pappus_fail_memory(err);
    int status = pappus_xml_begin(&xml, err);
    if (status == PAPPUS_OK)
        status =
            pappus_xml_finish(&picture->svg, &picture->size, &xml, drawing_map(&xml, d, err), err);
    if (status == PAPPUS_OK)
        picture->under_way = drawing_png_start(&picture->png, picture->svg, picture->size,
                                               PNG_WIDTH, &why) == PAPPUS_OK;
    return status;
}

pappus_picture *pappus_picture_begin(const pappus_answer *answer, pappus_unit_system units)
{
    drawing d = {answer, units, DRAWING_ZONE, true, NULL};
    pappus_picture *picture = NULL;
    pappus_error why = {0};
    pappus_locale locale;
    if (!pappus_locale_enter(&locale)) return NULL;
    if (begin(&picture, &d, &why) != PAPPUS_OK) {
        pappus_picture_free(picture);
        picture = NULL;
    }
    pappus_locale_leave(&locale);
    return picture;
}

void pappus_picture_free(pappus_picture *picture)
{
    pappus_reply unread = {0};
    if (!picture) return;
    if (picture->under_way) pappus_isolate_finish(&unread, &picture->png, NULL);
    pappus_reply_clear(&unread);
    free(picture->svg);
    free(picture);
}

/* Takes that of the options, which its owner frees, or begins one. */
int drawing_picture_start(pappus_picture **picture, const pappus_output *output, pappus_error *err)
{
    drawing d = {output->answer, output->options->units, DRAWING_ZONE, true, output->flight};
    int status = PAPPUS_OK;
    *picture = output->options->picture;
    if (!*picture) status = begin(picture, &d, err);
    if (status == PAPPUS_OK)
        status = pappus_output_bytes(output, "map.svg", (*picture)->svg, (*picture)->size, err);
    if (status == PAPPUS_OK && !(*picture)->under_way) leave_out(output);
    return status;
}

static int write_png(pappus_picture *picture, const pappus_output *output, pappus_error *err)
{
    unsigned char *png;
    size_t size;
    pappus_error why = {0};
    if (!picture->under_way) return PAPPUS_OK;
    picture->under_way = false;
    if (drawing_png_finish(&png, &size, &picture->png, &why) != PAPPUS_OK) {
        leave_out(output);
        return PAPPUS_OK;
    }
    int status = pappus_output_bytes(output, "map.png", (const char *)png, size, err);
    free(png);
    return status;
}

int drawing_picture_finish(pappus_picture *picture, int status, const pappus_output *output,
                           pappus_error *err)
{
    if (picture && status == PAPPUS_OK) status = write_png(picture, output, err);
    if (picture != output->options->picture) pappus_picture_free(picture);
    return status;
}
