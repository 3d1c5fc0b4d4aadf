/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files of the output folder: each write and each close is checked. */
#include "writer.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"

int pappus_output_path(char **out, const pappus_output *output, const char *name, pappus_error *err)
{
    if (asprintf(out, "%s/%s", output->folder, name) < 0) {
        *out = NULL;
        return pappus_fail_memory(err);
    }
    return PAPPUS_OK;
}

int pappus_output_bytes(const pappus_output *output, const char *name, const char *bytes,
                        size_t size, pappus_error *err)
{
    char *path;
    int status = pappus_output_path(&path, output, name, err);
    if (status != PAPPUS_OK) return status;
    FILE *file = fopen(path, "wb");
    bool good = file && fwrite(bytes, 1, size, file) == size;
    int reason = errno;
    if (file && fclose(file) != 0 && good) {
        good = false;
        reason = errno;
    }
    free(path);
    if (!good)
        return pappus_fail(err, PAPPUS_E_OUTPUT, name, NULL, NULL, "cannot be written: %s",
                           strerror(reason));
    return PAPPUS_OK;
}

int pappus_text_begin(pappus_text *text, pappus_error *err)
{
    *text = (pappus_text){0};
    text->stream = open_memstream(&text->bytes, &text->size);
    return text->stream ? PAPPUS_OK : pappus_fail_memory(err);
}

int pappus_text_finish(pappus_text *text, pappus_error *err)
{
    bool failed = ferror(text->stream);
    failed |= fclose(text->stream) != 0;
    text->stream = NULL;
    if (!failed) return PAPPUS_OK;
    free(text->bytes);
    *text = (pappus_text){0};
    return pappus_fail_memory(err);
}

int pappus_text_write(pappus_text *text, int status, const pappus_output *output, const char *name,
                      pappus_error *err)
{
    int finished = pappus_text_finish(text, err);
    if (status == PAPPUS_OK) status = finished;
    if (status == PAPPUS_OK)
        status = pappus_output_bytes(output, name, text->bytes, text->size, err);
    free(text->bytes);
    *text = (pappus_text){0};
    return status;
}

int pappus_output_to_geographic(pappus_transform **out, const pappus_output *output,
                                pappus_error *err)
{
    const pappus_site *site = &output->answer->plan->site;
    return pappus_transform_from_local(out, site->latitude_deg, site->longitude_deg,
                                       PAPPUS_EPSG_WGS84, err);
}

int pappus_ring_placed(double **out_xy, const pappus_ring *ring, const pappus_transform *to_crs,
                       pappus_error *err)
{
    size_t numbers = 2 * ring->point_count;
    double *xy = malloc((numbers + 2) * sizeof *xy);
    *out_xy = NULL;
    if (!xy) return pappus_fail_memory(err);
    memcpy(xy, ring->points_m, numbers * sizeof *xy);
    pappus_transform_run(to_crs, ring->point_count, xy);
    memcpy(xy + numbers, xy, 2 * sizeof *xy);
    for (size_t i = 0; i < numbers; i++) {
        if (isfinite(xy[i])) continue;
        free(xy);
        return pappus_fail(err, PAPPUS_E_NUMERIC, NULL, NULL, NULL,
                           "a place cannot be given as latitude and longitude");
    }
    *out_xy = xy;
    return PAPPUS_OK;
}
