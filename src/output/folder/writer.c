/* SPDX-License-Identifier: GPL-3.0-or-later
 * Files of the output folder: each write and each close is checked. */
#include "writer.h"

#include <errno.h>
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
